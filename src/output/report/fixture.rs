//! The fixture from above on its bed, and what whoever runs the printer sets.

use maud::{Markup, html};

use crate::geometry::point::Point;
use crate::model::fixture::Setup;
use crate::model::layer::Hole;
use crate::model::plan::Plan;
use crate::output::pictures;
use crate::output::report::picture::{mm_per_pixel, picture};
use crate::output::report::words::{counted, mm1, mm2, plural};

/// Plan view, locating holes, set-up.
pub(super) fn section(plan: &Plan) -> Markup {
    let extent = pictures::fixture_extent(plan);
    let u = mm_per_pixel([[extent.width(), extent.depth()]]);
    let n = plan.fixture.pockets.len();
    let said = format!(
        "The fixture from above with {}; the cross marks the datum, {}",
        counted(n, "pocket"),
        plan.fixture.datum_word
    );
    html! { section #fixture aria-labelledby="h-fixture" {
        h2 #h-fixture { "Fixture and set-up" }
        figure {
            (picture(&pictures::fixture(plan, u), u, "The fixture from above", &said))
            figcaption { "Seen from above, front at the bottom. "
                @if n > 0 { "Pockets are numbered column,row from the datum corner. " }
                "The heavy cross is the datum, " b { (plan.fixture.datum_word) }
                @if plan.fixture.has_bed { " of the bed (dotted, " (mm1(plan.fixture.bed[0])) " × " (mm1(plan.fixture.bed[1])) " mm)" } "."
            }
        }
        @if let Some(setup) = &plan.fixture.setup { (setup_table(plan, setup)) }
        (screws(plan))
    } }
}

fn setup_table(plan: &Plan, s: &Setup) -> Markup {
    let row = |word: &str, value: Markup| html! { tr { th scope="row" { (word) } td { (value) } } };
    let side = |value: f64| {
        if value < 0.0 {
            "below the face"
        } else {
            "above the face"
        }
    };
    let highest = s.stack_height + s.blank_proud.max(0.0);
    html! {
        h3 { "For whoever runs the printer" }
        div.scroll { table.pairs { caption { "Lengths in mm, heights by nominal thickness" } tbody {
            (row("blank", html! { bdi { (s.blank) } ", " (mm2(s.blank_thickness)) " thick; the pocket is larger by " (mm2(s.clearance)) " on every side" }))
            (row("pockets", html! { (s.columns) " " (plural(s.columns, "column")) " × " (s.rows) " " (plural(s.rows, "row"))
                @if plan.fixture.pockets.len() != s.columns * s.rows { ", " (s.columns * s.rows - plan.fixture.pockets.len()) " of them left out" }
                ": " b { (counted(plan.fixture.pockets.len(), "blank")) " in a load" } }))
            (row("pitch", html! { b { (mm2(s.pitch[0])) " × " (mm2(s.pitch[1])) } ", centre to centre" @if s.shift != 0.0 { "; every second row moved by " (mm2(s.shift)) " along x, away from the datum" } }))
            (row("first corner", html! { b { (mm2(s.first.x)) ", " (mm2(s.first.y)) } " inward from the datum, " (plan.fixture.datum_word) }))
            (row("stack", html! { (mm2(s.stack_height)) " high" @if s.pocket_depth > 0.0 { ", pockets " (mm2(s.pocket_depth)) " deep" } }))
            @if s.pocket_depth > 0.0 { (row("top of the blank", html! { b { (mm2(highest.max(s.stack_height + s.blank_proud))) } " above the bed, "
                @if s.blank_proud == 0.0 { "level with the face" } @else { (mm2(s.blank_proud.abs())) " " (side(s.blank_proud)) } })) }
            @if let Some([head, room]) = s.head { (row("screw heads", html! { (mm2(head)) " high in room " (mm2(room)) " deep: "
                @if head == room { "level with the face" } @else { (mm2((head - room).abs())) " " (side(head - room)) } })) }
            (row("head room", html! { "what passes over the fixture is expected to clear the face by " (mm2(s.head_gap))
                @if let Some(clear) = s.clear_height { "; stack and blank may measure " (mm2(clear)) " together" } }))
            @if let Some([ordered, loads, last]) = s.order { (row("order", html! { b { (counted(loads, "load")) } " for " (ordered) " pieces, " (last) " in the last" })) }
        } } }
        p { "Measure every sheet without its film and add the thicknesses up before you trust a height. Print " code { "proof.pdf" } " at 100 %, measure its lines, and lay it on the bed before the first print." }
    }
}

/// Where the locating holes are: in the bed frame and inward from the datum, each once.
fn screws(plan: &Plan) -> Markup {
    let mut holes: Vec<Hole> = Vec::new();
    for hole in plan.fixture.layers.iter().flat_map(|l| &l.locating) {
        if !holes.contains(hole) {
            holes.push(*hole);
        }
    }
    let datum = plan.fixture.datum;
    let inward = |p: Point| Point::new((p.x - datum.x).abs(), (p.y - datum.y).abs());
    html! { @if !holes.is_empty() {
        h3 { "Locating holes" }
        div.scroll { table {
            caption { "Middles in mm, inward from the datum, " (plan.fixture.datum_word) }
            thead { tr { th scope="col" { "hole" } th.n scope="col" { "x" } th.n scope="col" { "y" } th.n scope="col" { "diameter" } th scope="col" { "slot" } } }
            tbody { @for (k, hole) in holes.iter().enumerate() {
                @let at = inward(hole.center);
                tr { th scope="row" { (k + 1) } td.n { (mm2(at.x)) } td.n { (mm2(at.y)) } td.n { (mm2(hole.diameter)) }
                    td { @if hole.slot > 0.0 { "longer by " (mm2(hole.slot)) ", at " (mm1(hole.slot_deg)) "°" } @else { "round" } } }
            } }
        } }
    } }
}
