//! `comparison.html`: the comparison for people, in the looks of the report; one self-contained page.

use maud::{DOCTYPE, Markup, html};

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::model::comparison::{Comparison, Outcome, Sample, Tried};
use crate::model::cutter::CutterKind;
use crate::model::plan::Plan;
use crate::output::cautions;
use crate::output::comparison::choice::choice;
use crate::output::comparison::figures::{FIGURES, Figure, NONE, best};
use crate::output::pictures;
use crate::output::report::head;
use crate::output::report::picture::{
    dashes, hatches, mm_per_pixel, picture, picture_at_true_size,
};
use crate::output::report::words::{counted, mm2, sentence};
use crate::output::scene::{Draw, Kind, Scene};

/// mm of a pixel where pictures are shown at their true size: 96 to an inch.
const TRUE_PIXEL: f64 = 25.4 / 96.0;
/// What this page adds to the style of the report.
const OWN_STYLE: &str = "
.compared th, .compared td { padding: 5px 9px; } .compared tbody th.said { min-width: 15em; max-width: 19em; }
.compared td.n { white-space: normal; min-width: 8.6em; }
.best { font-weight: 650; background: color-mix(in srgb, var(--datum) 12%, transparent); }
.best small { display: block; font-size: .75rem; font-weight: 650; color: var(--datum); }
.true { overflow-x: auto; }
.pair .under { stroke-width: 3.6px !important; } .pair .over { stroke-width: 2.1px !important; }
@media print {
  section + section { break-before: page; } .true { overflow: visible; padding: 0; border: 0; }
  .compared { font-size: 8.5pt; } .compared th, .compared td { padding: 2px 4px; }
  .compared tbody th.said { min-width: 0; } .compared td.n { min-width: 0; } .compared .said .quiet { display: none; }
}
";

/// The text of the page.
pub(super) fn page(all: &Comparison) -> String {
    let title = all.title.as_deref().unwrap_or("Untitled job");
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{title} – seam patterns compared"), OWN_STYLE))
            body {
                svg.store width="0" height="0" aria-hidden="true" { defs { (hatches(all.layers.len(), TRUE_PIXEL)) } }
                header {
                    p.kind { "Seam patterns compared" }
                    h1 { bdi { (title) } }
                    nav aria-label="On this page" {
                        a href="#figures" { "Figures" } a href="#patterns" { "Patterns at 1:1" } a href="#stacks" { "Seams of each stack" } a href="#how" { "How it was compared" }
                    }
                }
                main {
                    p.caution role="note" { (cautions::FIRST) }
                    p.notice role="note" { b { "What the choice costs: " } (choice(all)) "." }
                    (figures(all))
                    (patterns(all))
                    (stacks(all))
                    (how(all))
                }
            }
        }
    }
    .into_string()
}

fn figures(all: &Comparison) -> Markup {
    html! { section #figures aria-labelledby="h-figures" {
        h2 #h-figures { "Figures" }
        (without_plan(all))
        div.scroll { table.compared {
            caption { "The best figure of each row says so; equal ones all do. Of play, neck and stiffness the worst layer counts" @if copies(all) > 1 { " of the worst copy" } }
            thead { tr { th scope="col" { "figure" } @for t in &all.tried { th.n scope="col" { (t.pattern.word()) } } } }
            tbody { @for figure in &FIGURES { (row(all, figure)) } }
        } }
    } }
}

fn row(all: &Comparison, figure: &Figure) -> Markup {
    let best = best(all, figure);
    html! { tr {
        th.said scope="row" { (figure.label) " " span.quiet { (figure.meaning) } }
        @for t in &all.tried {
            @match t.outcome.plan() {
                Some(plan) if best.contains(&t.pattern) => { td.n.best { (figure.spelt(plan)) small { "✓ best" } } }
                Some(plan) => { td.n { (figure.spelt(plan)) } }
                None => { td.n.quiet { (NONE) } }
            }
        }
    } }
}

/// Patterns without a plan, with the reasons.
fn without_plan(all: &Comparison) -> Markup {
    let none = || all.tried.iter().filter(|t| t.outcome.plan().is_none());
    html! { @if none().next().is_some() {
        h3 { "Without a plan" }
        ul { @for t in none() { li {
            b { (t.pattern.word()) } ": " (why(&t.outcome))
            @for (k, reason) in t.outcome.reasons().iter().enumerate() { @if k > 0 { "; " } bdi { (sentence(reason)) } }
        } } }
    } }
}

fn why(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Planned(_) => "",
        Outcome::Impossible(_) => "no plan is possible (proved): ",
        Outcome::NotFound(_) => "no plan was found within the budget: ",
        Outcome::Uncut(_) => "its plan cannot be cut: ",
        Outcome::Stopped => "stopped before a plan stood",
    }
}

fn patterns(all: &Comparison) -> Markup {
    html! { section #patterns aria-labelledby="h-patterns" {
        h2 #h-patterns { "Patterns at 1:1" }
        p { "Each across a plain plate of the same material, in the size that the job asks for or that is usual. Printed at 100 % the measured line is 50 mm long; if it is not, the rest is off as much." }
        @for t in &all.tried { (true_size(all, t)) }
    } }
}

fn true_size(all: &Comparison, tried: &Tried) -> Markup {
    let word = tried.pattern.word();
    html! { @match &tried.sample {
        Some(sample) => {
            @let scene = sample_scene(sample);
            @let length = mm2(sample.path.start().distance(sample.path.end()));
            figure.true {
                (picture_at_true_size(&scene, &format!("Pattern {word} at 1:1"), &format!("A {word} seam over {length} mm between two pieces, with a line of 50 mm")))
                figcaption { b { (word) } ", " (length) " mm of a seam as in layer " bdi { (all.layers[sample.layer]) } ", gap " (gap(all)) " mm, at 1:1; along its curve it measures " (mm2(sample.path.length())) " mm." }
            }
        }
        None => { p { b { (word) } ": a plain plate takes no such seam with the settings of the job." } }
    } }
}

/// Two pieces with the seam between them, and a line to measure.
fn sample_scene(sample: &Sample) -> Scene {
    let pieces = sample.pieces.iter().map(Region::bounds);
    let bounds = pieces.fold(Bounds::EMPTY, Bounds::join);
    let mut frame = bounds.grown(1.0);
    frame.min.y -= 8.0;
    let mut scene = Scene::new(frame);
    for (k, piece) in sample.pieces.iter().enumerate() {
        let kind = if k == 0 {
            Kind::Tint(sample.layer)
        } else {
            Kind::Outline
        };
        scene.add(kind, Draw::Area(piece.clone()));
    }
    let y = bounds.min.y - 6.5;
    let from = Point::new(bounds.min.x, y);
    scene.measure(from, from + Point::new(50.0, 0.0), 3.2, "50 mm".to_owned());
    scene
}

fn stacks(all: &Comparison) -> Markup {
    html! { section #stacks aria-labelledby="h-stacks" {
        h2 #h-stacks { "Seams of each stack" }
        p.legend { "All layers seen through one another: " @for (k, name) in all.layers.iter().enumerate() { span { (dashes(k)) (k + 1) ". " bdi { (name) } } } }
        div.pair { @for (pattern, plan) in all.planned() { @for copy in 1..=plan.copies { (seams(pattern.word(), plan, copy)) } } }
    } }
}

fn seams(word: &str, plan: &Plan, copy: usize) -> Markup {
    let extent = pictures::fixture_extent(plan);
    // Half as wide as the page.
    let u = 2.0 * mm_per_pixel([[extent.width(), extent.depth()]]);
    let of_copy = if plan.copies > 1 {
        format!(", copy {copy}")
    } else {
        String::new()
    };
    let n = plan.seams.iter().filter(|s| s.copy == copy).count();
    let said = format!(
        "{} of pattern {word} drawn over one another, in the colours and dashes of their layers",
        counted(n, "seam")
    );
    html! { figure {
        (picture(&pictures::seams_through(plan, copy, u), u, &format!("Seams of the stack, {word}{of_copy}"), &said))
        figcaption { b { (word) } (of_copy) ", " (counted(n, "seam")) }
    } }
}

fn copies(all: &Comparison) -> usize {
    all.planned().map(|(_, p)| p.copies).max().unwrap_or(1)
}

/// The gap to three decimals: classes of fit differ in the third.
fn gap(all: &Comparison) -> String {
    crate::format::number::number(all.gap, 3)
}

fn how(all: &Comparison) -> Markup {
    let own: Vec<&String> = all.own.iter().map(|&k| &all.layers[k]).collect();
    let rounds: Vec<String> = all
        .planned()
        .map(|(p, plan)| format!("{} {}", p.word(), plan.rounds))
        .collect();
    let kind = all.planned().next().map(|(_, p)| p.cutter.kind);
    html! { section #how aria-labelledby="h-how" {
        h2 #h-how { "How it was compared" }
        ul {
            li { "Each pattern took the place of " code { "pattern" } " in " code { "[seams]" } ", and was planned with seed " (all.seed) " and " (all.lanes) " lanes under the same budget; rounds completed: " (rounds.join(", ")) ". A longer search may change costs; stiffness, hold and play follow from where the seams came to lie." }
            li { "The gap between the faces is " b { (gap(all)) " mm" }
                @match (all.fit, kind) {
                    (Some(fit), kind) => { ", which stands for a " (fit.word()) " fit" @if kind == Some(CutterKind::Router) { " of routed board" } @else { " of laser-cut sheet" } " (common practice, no source): to cut it so, set " code { "gap = \"" (gap(all)) " mm\"" } " in " code { "[seams]" } "." }
                    (None, _) => { ", as the job says." }
                }
                @if all.gap == 0.0 { " Without a gap all play comes from the cut, so the plays are told as 0." }
            }
            @if !own.is_empty() { li { "With a seam of their own, the same in every column: " @for (k, name) in own.iter().enumerate() { @if k > 0 { ", " } bdi { (name) } } "." } }
            li { "To take a pattern, write " code { "pattern = \"…\"" } " under " code { "[seams]" } " and run " code { "seamwright plan" } " with the rounds above: its report has every sheet, piece and finding." }
        }
    } }
}
