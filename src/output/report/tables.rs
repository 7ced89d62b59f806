//! Pieces to tick, leftovers, findings, numbers, cautions.

use maud::{Markup, html};

use crate::format::number::number;
use crate::geometry::bounds::Bounds;
use crate::geometry::clear_box::ClearSpace;
use crate::geometry::region::Region;
use crate::model::cutter::{CutterKind, Turns};
use crate::model::piece::Owner;
use crate::model::plan::{Placement, Plan};
use crate::output::cautions;
use crate::output::pictures;
use crate::output::report::cost_word;
use crate::output::report::picture::swatch;
use crate::output::report::words::{duration, metres, mm1, mm2, money, percent, sentence};

/// Every piece, with boxes to tick by pen.
pub(super) fn pieces(plan: &Plan) -> Markup {
    html! { section #pieces aria-labelledby="h-pieces" {
        h2 #h-pieces { "Pieces" }
        div.scroll { table {
            caption { "Extent in mm as it lies in the fixture, or as its part is drawn" }
            thead { tr {
                th scope="col" { "piece" } th scope="col" { "layer or part" } th scope="col" { "material" } th.n scope="col" { "extent" } th.n scope="col" { "sheet" }
                th.mark scope="col" { "cut" } th.mark scope="col" { "cleaned" } th.mark scope="col" { "in place" }
            } }
            tbody { @for placement in &plan.placements { (piece_row(plan, placement)) } }
        } }
    } }
}

fn piece_row(plan: &Plan, placement: &Placement) -> Markup {
    let piece = &plan.pieces[placement.piece];
    let b = piece.finished.bounds();
    let (from, material, thickness) = match piece.owner {
        Owner::Layer { layer, .. } => {
            let layer = &plan.fixture.layers[layer];
            (&layer.name, &layer.material, layer.thickness)
        }
        Owner::Part { part } => {
            let part = &plan.parts[part];
            (&part.name, &part.material, part.thickness)
        }
    };
    let copy = match piece.owner {
        Owner::Layer { copy, .. } if plan.copies > 1 => format!(", copy {copy}"),
        _ => String::new(),
    };
    let sheet = placement.sheet + 1;
    html! { tr {
        th scope="row" { (swatch(pictures::tint(plan, placement.piece))) bdi { (piece.id) } }
        td { bdi { (from) } (copy) } td { bdi { (material) } " " (mm2(thickness)) }
        td.n { (mm1(b.width())) " × " (mm1(b.depth())) } td.n { a href=(format!("#sheet-{sheet}")) { (sheet) } }
        td.mark { span.box {} } td.mark { span.box {} } td.mark { span.box {} }
    } }
}

/// What is left and worth keeping.
pub(super) fn leftovers(plan: &Plan) -> Markup {
    html! { section #leftovers aria-labelledby="h-leftovers" {
        h2 #h-leftovers { "Leftovers worth keeping" }
        @if plan.remnants.is_empty() { p { "None as large as the job asks." } } @else {
            div.scroll { table {
                thead { tr { th.n scope="col" { "sheet" } th scope="col" { "material" } th.n scope="col" { "extent" } th.n scope="col" { (cost_word(plan)) } th.mark scope="col" { "on the shelf" } } }
                tbody { @for r in &plan.remnants {
                    @let stock = &plan.stock[plan.sheets[r.sheet].sheet];
                    @let b = r.outline.bounds();
                    tr { td.n { a href=(format!("#sheet-{}", r.sheet + 1)) { (r.sheet + 1) } } td { bdi { (stock.material) } " " (mm2(stock.thickness)) }
                        td.n { (mm1(b.width())) " × " (mm1(b.depth())) @if let Some(clear) = largest_clear(&r.outline) { ", of it " (mm1(clear.width())) " × " (mm1(clear.depth())) " clear" } }
                        td.n { (money(r.cost)) } td.mark { span.box {} } }
                } }
            } }
            p { code { "stock-after.toml" } " lists them as sheets; it takes the place of the stock file once everything is cut." }
        }
    } }
}

/// The largest rectangle in a leftover that is none itself.
fn largest_clear(outline: &Region) -> Option<Bounds> {
    let whole = outline.bounds();
    let space = ClearSpace::new(std::slice::from_ref(outline), 0.0, &[], 0.0);
    space
        .best(|b| Some(b.width() * b.depth()))
        .filter(|b| b.width() * b.depth() < 0.999 * whole.width() * whole.depth())
}

/// Doubts that did not stop the work.
pub(super) fn findings(plan: &Plan) -> Markup {
    let figure = |v: Option<f64>| v.map(mm2).unwrap_or_default();
    html! { section #findings aria-labelledby="h-findings" {
        h2 #h-findings { "Findings" }
        @if plan.findings.is_empty() { p { "None." } } @else {
            div.scroll { table {
                thead { tr { th scope="col" { "code" } th scope="col" { "what" } th scope="col" { "where" } th.n scope="col" { "measured" } th.n scope="col" { "limit" } th scope="col" { "what to do" } } }
                tbody { @for f in &plan.findings { tr {
                    th scope="row" { code { (f.code) } } td { bdi { (sentence(&f.what)) } } td { bdi { (f.where_) } }
                    td.n { (figure(f.measured)) } td.n { (figure(f.limit)) } td { bdi { (sentence(&f.hint)) } }
                } } }
            } }
        }
    } }
}

/// Figures of the plan and what it was made with.
pub(super) fn numbers(plan: &Plan) -> Markup {
    let row = |word: &str, value: String| html! { tr { th scope="row" { (word) } td { bdi { (value) } } } };
    let (m, c, l) = (&plan.metrics, &plan.cutter, &plan.limits);
    let width = match c.kind {
        CutterKind::Laser => "kerf",
        CutterKind::Router => "tool diameter",
    };
    let own = plan
        .fixture
        .layers
        .iter()
        .map(|o| (&o.name, o.own_kerf))
        .chain(plan.parts.iter().map(|o| (&o.name, o.own_kerf)));
    let own: Vec<String> = own
        .filter_map(|(name, kerf)| kerf.map(|k| format!("{name} {}", mm2(k))))
        .collect();
    let own = if own.is_empty() {
        String::new()
    } else {
        format!("; {}", own.join(", "))
    };
    html! { section #numbers aria-labelledby="h-numbers" {
        h2 #h-numbers { "Numbers" }
        div.scroll { table.pairs { caption { "Lengths in mm" } tbody {
            (row(&format!("{} of the sheets used", cost_word(plan)), money(m.stock_cost)))
            (row("no plan can cost less than", format!("{}: {}", money(m.bound.stock_cost), m.bound.why)))
            (row("yield", format!("{} of the sheets used, defects left out, is pieces", percent(m.yield_))))
            (row("all cuts", format!("{}, about {}", metres(m.cut_length), duration(m.cut_time_s))))
            (row(width, format!("{}{own}", mm2(c.cut_width))))
            (row("contours", if c.compensate { "the middle of the cut: no further compensation in the machine".to_owned() } else { "the finished shape: the machine has to compensate".to_owned() }))
            (row("least distances", format!("{} between pieces, {} to a sheet's edge or a defect", mm2(c.spacing), mm2(c.edge_margin))))
            (row("seams", format!("gap {}, lap at least {}, {} clear of screws, pieces at least {}", mm2(l.gap), mm2(l.min_lap), mm2(l.keep_clear), mm2(l.min_piece))))
            (row("pieces may be turned", format!("{}{}", turned(c.turns), if c.flip { ", and cut face down" } else { "; all are cut face up" })))
            (row("to make it again", format!("seed {}, {} lanes, {} rounds give the same files", plan.seed, plan.lanes, number(plan.rounds as f64, 0))))
        } } }
    } }
}

fn turned(turns: Turns) -> &'static str {
    match turns {
        Turns::None => "not at all",
        Turns::Half => "by half turns",
        Turns::Quarter => "by quarter turns",
        Turns::Any => "by any angle",
    }
}

/// What can hurt, and what comes before this page.
pub(super) fn cautions_of(plan: &Plan) -> Markup {
    let printing = !plan.fixture.pockets.is_empty();
    html! { section #cautions aria-labelledby="h-cautions" {
        h2 #h-cautions { "Cautions" }
        p.caution { (cautions::FIRST) }
        dl.cautions { @for (word, text) in cautions::of(plan.cutter.kind, plan.bond, printing) { dt { (word) } dd { (text) } } }
    } }
}
