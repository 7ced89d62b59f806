//! The paper proof: the fixture's face at 1:1, to print and lay on the bed.
//!
//! In: the plan, the paper. Out: `proof.svg`, one picture in mm, and `proof.pdf`. Steps: the face becomes a scene (`pictures`)
//! with a measured line each way; `tiles` lays it on pages of the paper's size; `pdf` writes them.
//!
//! Guarantees: one mm of the fixture is one mm of the page; pages are exactly as large as their paper and ask not to be
//! scaled, so no viewer wants to fit them; no date, no text of the user's but the title, and that as text.

mod pdf;
mod tiles;

use crate::format::number;
use crate::format::svg::write_path::{Frame, of_path, of_ring};
use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::model::plan::Plan;
use crate::output::options::Options;
use crate::output::pictures;
use crate::output::scene::{Draw, Kind, Mark, Scene, Text};

/// Room around the fixture, for the measured lines.
const ROOM: f64 = 20.0;
/// Length of the lines that are measured.
const MEASURED: f64 = 100.0;
/// Height of a pocket's number, read from where one stands at the bed.
const NUMBER: f64 = 6.0;
/// Arms of the datum cross.
const ARM: f64 = 15.0;

/// The face in the bed's frame.
fn face(plan: &Plan) -> Scene {
    let outline = plan.fixture.outline.iter().map(Region::bounds);
    let frame = outline
        .fold(Bounds::EMPTY, Bounds::join)
        .with(plan.fixture.datum);
    let mut scene = Scene::new(frame.grown(ROOM));
    pictures::face(plan, &mut scene, NUMBER, ARM);
    scene
}

/// The face with a measured line each way beside it, the frame grown to hold both.
fn face_with_lines(plan: &Plan) -> Scene {
    let mut scene = face(plan);
    let corner = scene.frame.min;
    let (right, back) = (Point::new(MEASURED, 0.0), Point::new(0.0, MEASURED));
    let words = || format!("{MEASURED} mm");
    let along = corner + Point::new(ROOM, ROOM * 0.4);
    scene.measure(along, along + right, 4.0, words());
    let up = corner + Point::new(ROOM * 0.4, ROOM);
    scene.measure(up, up + back, 4.0, words());
    let far = Point::new(ROOM, ROOM) * 1.4;
    scene.frame = scene.frame.with(corner + right + back + far);
    scene
}

/// The bytes of `proof.pdf`.
pub(crate) fn proof_pdf(plan: &Plan, options: &Options) -> Vec<u8> {
    let title = plan.title.as_deref().unwrap_or("Fixture");
    let pages = match tiles::paper_size(options.paper) {
        Some(paper) => tiles::tiled(face(plan), paper, options, title),
        None => None,
    };
    match pages {
        Some((scene, pages)) => pdf::write(&scene, &pages, title),
        None => {
            let scene = face_with_lines(plan);
            let page = tiles::whole(&scene);
            pdf::write(&scene, &[page], title)
        }
    }
}

/// The text of `proof.svg`.
pub(crate) fn proof_svg(plan: &Plan) -> String {
    let scene = face_with_lines(plan);
    let frame = Frame::mirrored_in(scene.frame);
    let [left, top, width, height] = [
        scene.frame.min.x,
        scene.frame.min.y,
        scene.frame.width(),
        scene.frame.depth(),
    ]
    .map(number::length);
    let marks: String = scene.marks.iter().map(|m| svg_mark(m, frame)).collect();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"{left} {top} {width} {height}\" fill=\"none\" stroke=\"#000\">\n{marks}</svg>\n"
    )
}

fn svg_mark(mark: &Mark, frame: Frame) -> String {
    let ink = Ink::of(mark.kind);
    let dashes = ink
        .dashes
        .map(|[on, off]| format!(" stroke-dasharray=\"{on} {off}\""))
        .unwrap_or_default();
    let pen = format!("stroke-width=\"{}\"{dashes}", ink.width);
    match &mark.draw {
        Draw::Area(region) => {
            let d: Vec<String> = region.rings().map(|r| of_ring(r, frame)).collect();
            format!("<path d=\"{}\" {pen}/>\n", d.join(" "))
        }
        Draw::Line(path) => format!("<path d=\"{}\" {pen}/>\n", of_path(path, frame)),
        Draw::Stroke(a, b) => {
            let [x1, y1] = at(*a, frame);
            let [x2, y2] = at(*b, frame);
            format!("<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" {pen}/>\n")
        }
        Draw::Text(text) => svg_text(text, frame),
        // The proof shows no pieces.
        Draw::Shared(..) => String::new(),
    }
}

fn at(p: Point, frame: Frame) -> [String; 2] {
    let p = frame.apply(p);
    [number::length(p.x), number::length(p.y)]
}

/// All words of a proof's scene are our own: numbers and units.
fn svg_text(text: &Text, frame: Frame) -> String {
    let [x, y] = at(text.at, frame);
    let turn = if text.upright {
        format!(" transform=\"rotate(-90 {x} {y})\"")
    } else {
        String::new()
    };
    format!(
        "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" font-family=\"Helvetica, Arial, sans-serif\" text-anchor=\"middle\" \
         dominant-baseline=\"central\" fill=\"#000\" stroke=\"none\"{turn}>{}</text>\n",
        number::length(text.height),
        text.words
    )
}

/// How a line is drawn, in mm.
struct Ink {
    width: f64,
    dashes: Option<[f64; 2]>,
}

impl Ink {
    fn of(kind: Kind) -> Self {
        let (width, dashes) = match kind {
            Kind::Outline | Kind::Pocket => (0.25, None),
            Kind::Seam => (0.25, Some([4.0, 2.0])),
            Kind::Datum => (0.5, None),
            Kind::Measure => (0.2, None),
            _ => (0.12, None),
        };
        Self { width, dashes }
    }
}
