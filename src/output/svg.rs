//! SVG files of sheets and of the fixture's outline.
//!
//! In: what is cut from a sheet, or the fixture. Out: text. Width and height in mm equal the view box, so one user unit is
//! one mm; y runs down, so the drawing is mirrored in its box, which keeps its place. One group for each operation, its id
//! the DXF layer's name; circles are circles, arcs arcs. Black lines of 0.1 mm without filling, a colour only where the job
//! sets one.

use svg::Document;
use svg::node::element::{Circle, Group, Path};

use crate::format::dxf::color_index;
use crate::format::number;
use crate::format::svg::write_path::{self, Frame};
use crate::geometry::bounds::Bounds;
use crate::geometry::path;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::model::cut_path::{Operation, SheetCut, Stroke};
use crate::model::fixture::Fixture;
use crate::output::options::Options;
use crate::output::outline::{self, Part};

/// Width of lines in mm.
const LINE: &str = "0.1";

/// The cut file of a sheet, in the sheet's frame mirrored in its box; `sheet` is the sheet less its defects.
pub fn sheet_svg(cut: &SheetCut, sheet: &[Region], options: &Options) -> String {
    let boxes = sheet.iter().map(Region::bounds);
    let page = boxes.fold(Bounds::EMPTY, Bounds::join);
    // Operations that the job gives one name share a group: an id stands once.
    let mut names: Vec<&str> = Vec::new();
    let mut groups: Vec<Group> = Vec::new();
    let frame = Frame::mirrored_in(page);
    for operation in Operation::ALL {
        let style = options.style(operation);
        if names.contains(&style.name.as_str()) {
            continue;
        }
        names.push(&style.name);
        let own = cut
            .paths
            .iter()
            .filter(|p| options.style(p.operation).name == style.name);
        let group = group(&style.name, style.color);
        groups.push(own.fold(group, |g, p| with(g, &p.stroke, frame)));
    }
    text(page, groups)
}

/// The fixture as whoever places artwork needs it, as large as the bed.
pub fn outline_svg(fixture: &Fixture) -> String {
    let [width, depth] = fixture.bed;
    let page = Bounds::new(Point::new(0.0, 0.0), Point::new(width, depth));
    let frame = Frame::mirrored_in(page);
    let strokes = outline::strokes(fixture);
    let groups = Part::ALL.map(|part| {
        let own = strokes.iter().filter(|(p, _)| *p == part);
        own.fold(group(part.word(), None), |g, (_, stroke)| {
            with(g, stroke, frame)
        })
    });
    text(page, groups.to_vec())
}

fn group(id: &str, color: Option<u8>) -> Group {
    let stroke = color.map_or_else(|| String::from("#000"), color_index::hex);
    Group::new()
        .set("id", id)
        .set("fill", "none")
        .set("stroke", stroke)
        .set("stroke-width", LINE)
}

fn with(group: Group, stroke: &Stroke, frame: Frame) -> Group {
    match stroke {
        Stroke::Closed(ring) => match ring.as_circle() {
            Some((center, radius)) => group.add(circle(frame.apply(center), radius)),
            None => group.add(closed(ring, frame)),
        },
        Stroke::Open(path) => group.add(open(path, frame)),
    }
}

fn circle(center: Point, radius: f64) -> Circle {
    Circle::new()
        .set("cx", number::length(center.x))
        .set("cy", number::length(center.y))
        .set("r", number::length(radius))
}

fn closed(ring: &Ring, frame: Frame) -> Path {
    Path::new().set("d", write_path::of_ring(ring, frame))
}

fn open(path: &path::Path, frame: Frame) -> Path {
    Path::new().set("d", write_path::of_path(path, frame))
}

/// The file: groups on a page of true size.
fn text(page: Bounds, groups: Vec<Group>) -> String {
    let [left, front, width, depth] =
        [page.min.x, page.min.y, page.width(), page.depth()].map(number::length);
    let document = Document::new()
        .set("width", format!("{width}mm"))
        .set("height", format!("{depth}mm"))
        .set("viewBox", format!("{left} {front} {width} {depth}"));
    let document = groups.into_iter().fold(document, Document::add);
    let mut text = document.to_string();
    text.push('\n');
    text
}
