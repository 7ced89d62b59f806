//! The sheets: each to one common scale with its pieces labelled, what cannot be used hatched, what is left outlined.

use maud::{Markup, html};

use crate::format::number::number;
use crate::format::stock_toml::StockDoc;
use crate::model::cutter::CutterKind;
use crate::model::plan::Plan;
use crate::output::cautions;
use crate::output::pictures;
use crate::output::report::cost_word;
use crate::output::report::picture::{picture, swatch};
use crate::output::report::words::{counted, duration, metres, mm1, mm2, money};

/// All sheets, `u` mm of each to a pixel.
pub(super) fn section(plan: &Plan, told: &StockDoc, u: f64) -> Markup {
    let mut labels = pictures::Labels::default();
    html! { section #sheets aria-labelledby="h-sheets" {
        h2 #h-sheets { "Sheets" }
        p.quiet {
            "All to one scale, seen from above: x to the right, y to the back, in mm from the sheet's own origin. "
            "A hatch tells which layer or part a piece belongs to. Crossed: cannot be used. Dashed: a leftover worth keeping."
        }
        @for k in 0..plan.sheets.len() { (sheet(plan, told, (k, u), &mut labels)) }
    } }
}

fn sheet(
    plan: &Plan,
    told: &StockDoc,
    (k, u): (usize, f64),
    labels: &mut pictures::Labels,
) -> Markup {
    let used = &plan.sheets[k];
    let stock = &plan.stock[used.sheet];
    let from = told.sheets.get(used.sheet).and_then(|s| s.from.as_ref());
    let bounds = stock.outline.bounds();
    let on: Vec<usize> = (0..plan.placements.len())
        .filter(|&i| plan.placements[i].sheet == k)
        .collect();
    let title = format!("Sheet {} of {}", k + 1, plan.sheets.len());
    let size = format!("{} × {}", mm1(bounds.width()), mm1(bounds.depth()));
    let ids: Vec<&str> = on
        .iter()
        .map(|&i| plan.pieces[plan.placements[i].piece].id.as_str())
        .collect();
    let said = format!(
        "{title}: {} {} mm, {size} mm, with {}: {}",
        stock.material,
        mm2(stock.thickness),
        counted(on.len(), "piece"),
        ids.join(", ")
    );
    html! { article.onesheet id=(format!("sheet-{}", k + 1)) {
        h3 { (title) ": " bdi { (stock.id) } span.tick { span.box {} " cut" } }
        p { bdi { (stock.material) } " " (mm2(stock.thickness)) " mm"
            @if let Some(measured) = stock.measured { " (measured " (mm2(measured)) ")" }
            ", " (size) " mm, " (cost_word(plan)) " " (money(stock.cost))
            @if let Some(length) = used.used_length { ", used and charged as far as " (mm1(length)) " mm" }
            @if let Some(grain) = stock.grain { ", grain along " (grain.word()) }
            @if let Some(from) = from { ", once left over from " bdi { (from) } }
            ". Cut " (metres(plan.cuts[k].cut_length)) ", about " (duration(plan.cuts[k].cut_time_s)) ". "
            code { "sheets/" (used.id) ".dxf" } ", " code { ".svg" }
        }
        @if plan.cutter.kind == CutterKind::Router { p.caution role="note" { (cautions::NOTHING_HOLDS) } }
        figure { (picture(&pictures::sheet(plan, k, u, labels), u, &title, &said)) }
        (placed_table(plan, k, &on))
    } }
}

fn placed_table(plan: &Plan, k: usize, on: &[usize]) -> Markup {
    let flips = plan.cutter.flip;
    html! { div.scroll { table {
        caption { "Pieces of sheet " (k + 1) ": the corner nearest the sheet's origin of each piece's box as it lies" }
        thead { tr {
            th scope="col" { "piece" } th.n scope="col" { "x" } th.n scope="col" { "y" } th.n scope="col" { "extent" } th.n scope="col" { "turned" }
            @if flips { th scope="col" { "face" } }
        } }
        tbody { @for &i in on {
            @let p = &plan.placements[i];
            @let b = pictures::laid(plan, i).bounds();
            tr {
                th scope="row" { (swatch(pictures::tint(plan, p.piece))) bdi { (plan.pieces[p.piece].id) } }
                td.n { (mm2(b.min.x)) } td.n { (mm2(b.min.y)) } td.n { (mm1(b.width())) " × " (mm1(b.depth())) }
                td.n { (number(p.pose.rotation.degrees(), 2)) "°" }
                @if flips { td { @if p.pose.mirrored { "down" } @else { "up" } } }
            }
        } }
    } } }
}
