//! Scenes as inline SVG.
//!
//! In: a scene. Out: an `svg` with a title and a description in words. One user unit is one mm, y is mirrored about 0, so
//! that a stored shape (`symbols`) fits every picture by its pose alone. Looks are classes of the style sheet; only what
//! depends on a layer's number (fill, dashes) is an attribute.

use maud::{Markup, html};

use crate::format::number::number;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::transform::Pose;
use crate::model::plan::Plan;
use crate::output::pictures;
use crate::output::scene::{Draw, Kind, Mark, Scene, Text};

/// Fills that most people with any colour vision tell apart (Okabe and Ito, "Color Universal Design", 2008).
const TINTS: [&str; 7] = [
    "#56B4E9", "#E69F00", "#009E73", "#F0E442", "#CC79A7", "#0072B2", "#D55E00",
];
/// Dashes that tell the seams of one layer from those of another, in pixels.
const DASHES: [&str; 7] = ["none", "12 5", "3 4", "14 4 3 4", "7 7", "20 5", "2 8"];

/// How many px wide the widest picture is meant to be.
pub(in crate::output) const WIDEST: f64 = 1040.0;
/// How many px tall the tallest picture is meant to be.
pub(in crate::output) const TALLEST: f64 = 780.0;

/// How many mm one pixel shows so that all of these extents fit the page.
pub(in crate::output) fn mm_per_pixel(extents: impl IntoIterator<Item = [f64; 2]>) -> f64 {
    let need = |[width, depth]: [f64; 2]| (width / WIDEST).max(depth / TALLEST);
    extents.into_iter().map(need).fold(1e-6, f64::max)
}

/// Two decimals: a picture is looked at, not measured.
fn n(value: f64) -> String {
    number(value, 2)
}

/// The store of the page: hatches of every layer and part, and the outline of every piece once. `u` is mm per pixel of the
/// pictures that show pieces.
pub(in crate::output) fn store(plan: &Plan, u: f64) -> Markup {
    let tints = plan.fixture.layers.len() + plan.parts.len();
    html! {
        svg.store width="0" height="0" aria-hidden="true" { defs {
            (hatches(tints, u))
            pattern id="hx" width=(n(9.0 * u)) height=(n(9.0 * u)) patternUnits="userSpaceOnUse" {
                g stroke-width=(n(u)) { path.hatch d=(format!("M0 0L{0} {0}M0 {0}L{0} 0", n(9.0 * u))) {} }
            }
            @for k in pictures::shapes(plan) {
                path id=(format!("o{k}")) d=(area(&plan.pieces[k].finished)) fill-rule="evenodd" {}
            }
        } }
    }
}

/// Hatches of so many layers and parts, for pictures of `u` mm per pixel and for samples.
pub(in crate::output) fn hatches(tints: usize, u: f64) -> Markup {
    html! { @for k in 0..tints { (hatch(&format!("h{k}"), k, 11.0 * u, u)) (hatch(&format!("s{k}"), k, 11.0, 1.0)) } }
}

/// One hatch: a motif that reads the same however the piece is turned. `h…` is in mm, `s…` in pixels.
fn hatch(id: &str, k: usize, size: f64, u: f64) -> Markup {
    let size = size * (1.0 + 0.35 * (k / TINTS.len()) as f64);
    let (half, whole) = (n(size / 2.0), n(size));
    let motif = match k % TINTS.len() {
        0 => html! { path.hatch d=(format!("M0 {half}H{whole}")) {} },
        1 => html! { circle.dot cx=(half) cy=(half) r=(n(2.0 * u)) {} },
        2 => html! { path.hatch d=(format!("M0 {half}H{whole}M{half} 0V{whole}")) {} },
        3 => html! { path.hatch d=(format!("M0 0L{whole} {whole}")) {} },
        4 => html! { circle.hatch cx=(half) cy=(half) r=(n(2.6 * u)) {} },
        5 => {
            html! { path.hatch d=(format!("M0 {}H{whole}M0 {}H{whole}", n(size * 0.4), n(size * 0.6))) {} }
        }
        _ => html! { path.hatch d=(format!("M0 0L{whole} {whole}M0 {whole}L{whole} 0")) {} },
    };
    html! {
        pattern id=(id) width=(whole) height=(whole) patternUnits="userSpaceOnUse" {
            rect.wash width=(whole) height=(whole) fill=(TINTS[k % TINTS.len()]) {}
            g stroke-width=(n(u)) { (motif) }
        }
    }
}

/// A sample of a layer's or part's colour and hatch, to stand before its name.
pub(in crate::output) fn swatch(k: usize) -> Markup {
    html! { svg.swatch width="26" height="16" aria-hidden="true" { rect width="26" height="16" fill=(format!("url(#s{k})")) {} } }
}

/// A sample of the line that a layer's seams are drawn with where all are seen through.
pub(in crate::output) fn dashes(k: usize) -> Markup {
    html! { svg.swatch width="44" height="12" aria-hidden="true" {
        path.under d="M0 6H44" {} path.over d="M0 6H44" stroke=(TINTS[k % TINTS.len()]) stroke-dasharray=(DASHES[k % DASHES.len()]) {}
    } }
}

/// A scene as inline SVG, `u` mm of it to a pixel; title and description say in words what is seen.
pub(in crate::output) fn picture(scene: &Scene, u: f64, title: &str, description: &str) -> Markup {
    let (width, depth) = (scene.frame.width(), scene.frame.depth());
    let view = format!(
        "{} {} {} {}",
        n(scene.frame.min.x),
        n(-scene.frame.max.y),
        n(width),
        n(depth)
    );
    html! {
        svg role="img" viewBox=(view) style=(format!("max-width:{}px", n(width / u))) {
            title { (title) } desc { (description) }
            @for mark in &scene.marks { (draw(mark)) }
        }
    }
}

/// A scene as inline SVG that is as large on paper as what it shows.
pub(in crate::output) fn picture_at_true_size(
    scene: &Scene,
    title: &str,
    description: &str,
) -> Markup {
    let (width, depth) = (n(scene.frame.width()), n(scene.frame.depth()));
    let view = format!(
        "{} {} {width} {depth}",
        n(scene.frame.min.x),
        n(-scene.frame.max.y)
    );
    // The page's style sheet fits pictures to the page; this one keeps its size.
    let size = format!("width:{width}mm;height:{depth}mm;max-width:none;max-height:none;margin:0");
    html! {
        svg role="img" viewBox=(view) width=(format!("{width}mm")) height=(format!("{depth}mm")) style=(size) {
            title { (title) } desc { (description) }
            @for mark in &scene.marks { (draw(mark)) }
        }
    }
}

fn class(kind: Kind) -> &'static str {
    match kind {
        Kind::Sheet => "sheet",
        Kind::Defect => "defect",
        Kind::Remnant => "remnant",
        Kind::Tint(_) => "piece",
        Kind::Outline => "outline",
        Kind::Pocket => "pocket",
        Kind::Blank => "blank",
        Kind::Hole => "hole",
        Kind::Screw => "screw",
        Kind::Seam => "seam",
        Kind::Bed => "bed",
        Kind::Datum => "datum",
        Kind::Measure => "measure",
        Kind::Fine => "fine",
    }
}

fn draw(mark: &Mark) -> Markup {
    let class = class(mark.kind);
    match (&mark.draw, mark.kind) {
        (Draw::Area(region), Kind::Tint(k)) => {
            html! { path class=(class) d=(area(region)) fill=(format!("url(#h{k})")) fill-rule="evenodd" {} }
        }
        (Draw::Area(region), Kind::Defect) => {
            let d = area(region);
            html! { path.void d=(d) fill-rule="evenodd" {} path class=(class) d=(d) fill="url(#hx)" fill-rule="evenodd" {} }
        }
        (Draw::Area(region), _) => {
            html! { path class=(class) d=(area(region)) fill-rule="evenodd" {} }
        }
        (Draw::Shared(shape, pose), Kind::Tint(k)) => {
            html! { use class=(class) href=(format!("#o{shape}")) transform=[matrix(*pose)] fill=(format!("url(#h{k})")) {} }
        }
        (Draw::Shared(shape, pose), _) => {
            html! { use class=(class) href=(format!("#o{shape}")) transform=[matrix(*pose)] {} }
        }
        (Draw::Line(path), Kind::Tint(k)) => {
            let d = edges(path.edges());
            html! { path.under d=(d) {} path.over d=(d) stroke=(TINTS[k % TINTS.len()]) stroke-dasharray=(DASHES[k % DASHES.len()]) {} }
        }
        (Draw::Line(path), _) => html! { path class=(class) d=(edges(path.edges())) {} },
        (Draw::Stroke(a, b), _) => {
            html! { path class=(class) d=(format!("M{}L{}", point(*a), point(*b))) {} }
        }
        (Draw::Text(text), _) => words(class, text),
    }
}

fn words(class: &str, text: &Text) -> Markup {
    let (x, y) = (n(text.at.x), n(-text.at.y));
    let turn = text.upright.then(|| format!("rotate(-90 {x} {y})"));
    html! { text class=(class) x=(x) y=(y) font-size=(n(text.height)) transform=[turn] { (text.words) } }
}

/// A pose as the matrix that does the same with y mirrored; none where nothing moves.
fn matrix(pose: Pose) -> Option<String> {
    if pose == Pose::IDENTITY {
        return None;
    }
    let (right, back) = (
        pose.turn(Point::new(1.0, 0.0)),
        pose.turn(Point::new(0.0, 1.0)),
    );
    let m = |v: f64| number(v, 6);
    Some(format!(
        "matrix({} {} {} {} {} {})",
        m(right.x),
        m(-right.y),
        m(-back.x),
        m(back.y),
        n(pose.shift.x),
        n(-pose.shift.y)
    ))
}

fn point(p: Point) -> String {
    format!("{} {}", n(p.x), n(-p.y))
}

/// The path data of an area, arcs kept.
fn area(region: &Region) -> String {
    let rings = region.rings().map(|r| edges(r.edges()) + "Z");
    rings.collect()
}

fn edges(edges: &[Edge]) -> String {
    let mut d = String::new();
    if let Some(first) = edges.first() {
        d += &format!("M{}", point(first.start));
    }
    for edge in edges {
        match edge.curve {
            Curve::Line => d += &format!("L{}", point(edge.end)),
            Curve::Arc { radius, ccw, .. } => {
                // y is mirrored, so counter-clockwise is SVG's sweep 0. An arc of more than a half is drawn as two.
                let large = edge.sweep().abs() > std::f64::consts::PI;
                let middle = large.then(|| edge.at(0.5));
                let (r, sweep) = (number(radius, 3), u8::from(!ccw));
                for end in middle.into_iter().chain([edge.end]) {
                    d += &format!("A{r} {r} 0 0 {sweep} {}", point(end));
                }
            }
        }
    }
    d
}
