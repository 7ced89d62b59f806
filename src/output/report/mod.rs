//! `report.html`: the plan for people, one self-contained page of HTML and inline SVG that needs no script and no network.
//!
//! In: the plan. Out: the text of the page. Steps: `picture` stores hatches and outlines once; `sheets` shows what is cut;
//! `fixture` what the printer's operator sets; `stack` the layers, their seams and how they are put together; `judged` what the
//! seams hold; `tables` the
//! pieces to tick, what is left, the figures, findings and cautions. `words` spells figures.
//!
//! All text of the user's is escaped by the template engine and set apart (`bdi`); none of it reaches a style, an address
//! or an id. Colour is never the only sign: every piece carries its id, every layer a hatch of its own.

mod fixture;
mod judged;
pub(super) mod picture;
mod sheets;
mod stack;
mod tables;
pub(super) mod words;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::format::stock_toml::StockDoc;
use crate::model::plan::Plan;
use crate::output::cautions;
use crate::output::pictures;
use words::{counted, duration, money, percent, plural};

const STYLE: &str = include_str!("report.css");
/// Nothing is loaded and nothing runs; the page's own style sheet is all that applies.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// The head of a page: nothing is fetched from elsewhere. `more` is style beside that of the report.
pub(super) fn head(title: &str, more: &str) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta http-equiv="Content-Security-Policy" content=(POLICY);
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light dark";
            title { (title) }
            style { (PreEscaped(STYLE)) (PreEscaped(more)) }
        }
    }
}

/// The text of `report.html`; `stock` is the stock file as written.
pub(crate) fn report(plan: &Plan, stock: &StockDoc) -> String {
    let title = plan.title.as_deref().unwrap_or("Cutting plan");
    // Of pieces that are cut once more the fixture is the one that stands.
    let layered = !plan.fixture.layers.is_empty() && !plan.recut;
    let bounds = (0..plan.sheets.len()).map(|k| pictures::sheet_bounds(plan, k));
    let u = picture::mm_per_pixel(bounds.map(|b| [b.width(), b.depth()]));
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{title} – cutting plan"), ""))
            body {
                (picture::store(plan, u))
                header {
                    p.kind { @if plan.recut { "Pieces cut once more, for a fixture that stays as it was planned" } @else { "Cutting plan" } @if layered { " of a layered fixture" } }
                    h1 { bdi { (title) } }
                    (head_figures(plan))
                    (links(layered, !plan.seams.is_empty()))
                }
                main {
                    p.caution role="note" { (cautions::FIRST) }
                    @if !plan.findings.is_empty() { (notice(plan)) }
                    (sheets::section(plan, stock, u))
                    @if layered { (fixture::section(plan)) (stack::section(plan, u)) (judged::section(plan)) }
                    (tables::pieces(plan))
                    @if layered { (stack::assembly(plan)) }
                    (tables::leftovers(plan))
                    (tables::findings(plan))
                    (tables::numbers(plan))
                    (tables::cautions_of(plan))
                }
            }
        }
    }
    .into_string()
}

fn links(layered: bool, split: bool) -> Markup {
    html! { nav aria-label="On this page" {
        a href="#sheets" { "Sheets" }
        @if layered { a href="#fixture" { "Fixture and set-up" } a href="#stack" { "Stack and seams" }
            @if split { a href="#holds" { "What the seams hold" } } }
        a href="#pieces" { "Pieces" }
        @if layered { a href="#assembly" { "Assembly" } }
        a href="#leftovers" { "Leftovers" } a href="#findings" { "Findings" } a href="#numbers" { "Numbers" } a href="#cautions" { "Cautions" }
    } }
}

/// What a cost is counted in: prices, or m² of sheet where the stock tells none.
pub(super) fn cost_word(plan: &Plan) -> &'static str {
    let priced = plan.stock.iter().any(|s| s.has_cost);
    if priced { "cost" } else { "m² of sheet" }
}

fn head_figures(plan: &Plan) -> Markup {
    let m = &plan.metrics;
    let figure = |value: String, word: String| html! { div { dt { (word) } dd { (value) } } };
    html! { dl.figures {
        (figure(plan.sheets.len().to_string(), plural(plan.sheets.len(), "sheet")))
        (figure(plan.pieces.len().to_string(), plural(plan.pieces.len(), "piece")))
        (figure(money(m.stock_cost), format!("{}, at least {}", cost_word(plan), money(m.bound.stock_cost))))
        (figure(percent(m.yield_), "yield".to_owned()))
        (figure(duration(m.cut_time_s), "cutting, estimated".to_owned()))
        (figure(plan.findings.len().to_string(), plural(plan.findings.len(), "finding")))
    } }
}

fn notice(plan: &Plan) -> Markup {
    html! { p.notice role="note" {
        a href="#findings" { (counted(plan.findings.len(), "finding")) } " to read before the first cut: "
        @for (k, f) in plan.findings.iter().take(3).enumerate() { @if k > 0 { "; " } bdi { (words::sentence(&f.what)) } }
        @if plan.findings.len() > 3 { "; and " (plan.findings.len() - 3) " more" } "."
    } }
}
