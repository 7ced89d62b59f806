//! The layers from the side and from above, their seams, and how they are put together.

use maud::{Markup, html};

use crate::geometry::distance::path_path;
use crate::model::cutter::Axis;
use crate::model::piece::Owner;
use crate::model::plan::Plan;
use crate::model::seam::{Pattern, Seam};
use crate::output::cautions;
use crate::output::pictures;
use crate::output::report::picture::{WIDEST, dashes, mm_per_pixel, picture, swatch};
use crate::output::report::words::{counted, mm1, mm2};

/// Side view, layers, seams; `u` is mm per pixel of the sheets.
pub(super) fn section(plan: &Plan, u: f64) -> Markup {
    let side = pictures::side(plan);
    let height: f64 = plan.fixture.layers.iter().map(|l| l.thickness).sum();
    let names: Vec<&str> = plan
        .fixture
        .layers
        .iter()
        .map(|l| l.name.as_str())
        .collect();
    let said = format!(
        "{} from the bed up: {}",
        counted(names.len(), "layer"),
        names.join(", ")
    );
    html! { section #stack aria-labelledby="h-stack" {
        h2 #h-stack { "Stack and seams" }
        figure {
            (picture(&side, side.frame.width() / WIDEST, "The stack from the side", &said))
            figcaption { "From the side: heights to scale with one another, widths not. " (mm2(height)) " mm in all, by nominal thickness." }
        }
        (layer_table(plan))
        @for copy in 1..=plan.copies { (copy_view(plan, copy, u)) }
        (seam_table(plan))
    } }
}

/// Layers from the bed up with material, thickness told and measured.
fn layer_table(plan: &Plan) -> Markup {
    html! { div.scroll { table {
        caption { "Layers, from the bed up" }
        thead { tr { th.n scope="col" { "nr" } th scope="col" { "layer" } th scope="col" { "material" } th.n scope="col" { "thickness" } th scope="col" { "measured on its sheets" } th scope="col" { "seams" } } }
        tbody { @for (k, layer) in plan.fixture.layers.iter().enumerate() {
            tr { td.n { (k + 1) } th scope="row" { (swatch(k)) bdi { (layer.name) } } td { bdi { (layer.material) } } td.n { (mm2(layer.thickness)) }
                td { (measured(plan, k)) } td { (layer.pattern.map_or("kept whole", Pattern::word)) } }
        } }
    } } }
}

/// Least and greatest measured thickness of the sheets that a layer's pieces lie on.
fn measured(plan: &Plan, layer: usize) -> String {
    let mut range: Option<(f64, f64)> = None;
    for p in &plan.placements {
        let own = matches!(plan.pieces[p.piece].owner, Owner::Layer { layer: l, .. } if l == layer);
        let thickness = plan.stock[plan.sheets[p.sheet].sheet].measured;
        if let Some(t) = thickness.filter(|_| own) {
            range = Some(range.map_or((t, t), |(a, b)| (a.min(t), b.max(t))));
        }
    }
    match range {
        None => "–".to_owned(),
        Some((a, b)) if a == b => mm2(a),
        Some((a, b)) => format!("{} to {}", mm2(a), mm2(b)),
    }
}

/// One copy: its seams seen through one another, and each of its layers with pieces and seams.
fn copy_view(plan: &Plan, copy: usize, u: f64) -> Markup {
    let extent = pictures::fixture_extent(plan);
    let wide = mm_per_pixel([[extent.width(), extent.depth()]]);
    // Half as wide; no larger than on the sheets, so that hatches keep their grain.
    let small = (2.0 * wide).max(u);
    let of_copy = if plan.copies > 1 {
        format!(", copy {copy}")
    } else {
        String::new()
    };
    let any = plan.seams.iter().any(|s| s.copy == copy);
    html! {
        h3 { "Layers with their pieces" (of_copy) }
        div.pair { @for (k, layer) in plan.fixture.layers.iter().enumerate() {
            @let title = format!("Layer {}, {}{of_copy}", k + 1, layer.name);
            @let n = plan.pieces.iter().filter(|p| p.owner == Owner::Layer { layer: k, copy }).count();
            figure {
                (picture(&pictures::layer(plan, k, copy, small), small, &title, &format!("{title}: {}", counted(n, "piece"))))
                figcaption { (k + 1) ". " bdi { (layer.name) } ", " (counted(n, "piece")) }
            }
        } }
        @if any {
            h3 { "Seams seen through the layers" (of_copy) }
            figure {
                (picture(&pictures::seams_through(plan, copy, wide), wide, "All seams over one another", "The seams of every layer drawn over one another, in the colours and dashes of their layers"))
                figcaption.legend { @for (k, layer) in plan.fixture.layers.iter().enumerate() { span { (dashes(k)) bdi { (layer.name) } } } }
            }
        }
    }
}

fn seam_table(plan: &Plan) -> Markup {
    html! {
        h3 { "Seams" }
        @if plan.seams.is_empty() { p { "Every layer is in one piece." } } @else {
            div.scroll { table {
                caption { "Lengths in mm along the seam. Lap: shortest way to a seam of the layer below or above that runs the same way; at least " (mm2(plan.limits.min_lap)) " is asked" }
                thead { tr {
                    th scope="col" { "layer" } @if plan.copies > 1 { th.n scope="col" { "copy" } } th scope="col" { "runs" } th.n scope="col" { "at" } th.n scope="col" { "from, to" }
                    th.n scope="col" { "length" } th scope="col" { "edge" } th.n scope="col" { "lap below" } th.n scope="col" { "lap above" }
                } }
                tbody { @for seam in &plan.seams { (seam_row(plan, seam)) } }
            } }
        }
    }
}

fn seam_row(plan: &Plan, seam: &Seam) -> Markup {
    let (a, b) = (seam.path.start(), seam.path.end());
    let (across, along) = match seam.runs {
        Axis::Y => (("x", a.x, b.x), (a.y, b.y)),
        Axis::X => (("y", a.y, b.y), (a.x, b.x)),
    };
    let at = if (across.1 - across.2).abs() < 0.005 {
        format!("{} {}", across.0, mm2(across.1))
    } else {
        format!("{} {} to {}", across.0, mm2(across.1), mm2(across.2))
    };
    let edge = match seam.pattern {
        Pattern::Straight => "straight",
        Pattern::Wave => "waves",
        Pattern::Zigzag => "zigzag",
        Pattern::Dovetail => "dovetails",
        Pattern::Knob => "knobs",
        Pattern::Finger => "fingers",
    };
    html! { tr {
        th scope="row" { (swatch(seam.layer)) bdi { (plan.fixture.layers[seam.layer].name) } }
        @if plan.copies > 1 { td.n { (seam.copy) } }
        td { "along " (seam.runs.word()) } td.n { (at) } td.n { (mm1(along.0.min(along.1))) ", " (mm1(along.0.max(along.1))) }
        td.n { (mm1(seam.path.length())) } td { (edge) }
        td.n { (lap(plan, seam, seam.layer.checked_sub(1))) } td.n { (lap(plan, seam, Some(seam.layer + 1))) }
    } }
}

/// The shortest way from a seam to those of another layer of its copy that run the same way.
fn lap(plan: &Plan, seam: &Seam, layer: Option<usize>) -> String {
    let others = plan
        .seams
        .iter()
        .filter(|s| Some(s.layer) == layer && s.copy == seam.copy && s.runs == seam.runs);
    let least = others
        .map(|s| path_path(&seam.path, &s.path))
        .fold(f64::INFINITY, f64::min);
    if least.is_finite() {
        mm1(least)
    } else {
        "–".to_owned()
    }
}

/// What to do, from the bed up, for each copy.
pub(super) fn assembly(plan: &Plan) -> Markup {
    html! { section #assembly aria-labelledby="h-assembly" {
        h2 #h-assembly { "Assembly" }
        p { "From the bed up, every piece face up with its engraved arrow toward the datum corner (" (plan.fixture.datum_word) "). Between the layers: " b { (cautions::bond_word(plan.bond)) } ". " (cautions::bond_note(plan.bond)) }
        @for copy in 1..=plan.copies {
            @if plan.copies > 1 { h3 { "Copy " (copy) } }
            ol.steps { @for (k, layer) in plan.fixture.layers.iter().enumerate() { li { (step(plan, k, copy, &layer.name)) } }
                li { span.box {} " Screws or pins through all locating holes"
                    @if plan.bond != crate::model::seam::Bond::Dry { " before the bond sets; flat plates and weights every 100 to 150 mm on top" } "." }
                li { span.box {} " Run a straight edge over every seam of the face: no step may be felt." }
            }
        }
    } }
}

fn step(plan: &Plan, layer: usize, copy: usize, name: &str) -> Markup {
    let ids: Vec<&str> = plan
        .pieces
        .iter()
        .filter(|p| p.owner == Owner::Layer { layer, copy })
        .map(|p| p.id.as_str())
        .collect();
    let carries = |pattern| {
        let mut seams = plan.seams.iter();
        seams.any(|s| s.layer == layer && s.copy == copy && s.pattern == pattern)
    };
    html! {
        span.box {} " " (swatch(layer)) b { bdi { (name) } } ": "
        @for (k, id) in ids.iter().enumerate() { @if k > 0 { ", " } bdi { (id) } }
        @if ids.len() > 1 && carries(Pattern::Knob) { "; press the knobs straight down, one piece into the next" }
        @else if ids.len() > 1 && carries(Pattern::Dovetail) { "; press the dovetails straight down, one piece into the next" }
        @else if ids.len() > 1 && (carries(Pattern::Finger) || carries(Pattern::Wave) || carries(Pattern::Zigzag)) {
            "; lay the teeth into one another from above, or slide the pieces together on the flat"
        }
        @else if ids.len() > 1 { "; push the edges together" }
        @if layer > 0 { ", on what lies below" } "."
    }
}
