//! What the seams are worth, as `metrics.seams` of `plan.json`.
//!
//! In: the plan. Out: JSON: `layers`, `stacks` (one a copy) and `joints` (pairs of pieces that meet). In a `play`, `null` is no
//! limit and `turn` is in degrees; elsewhere `null` says that there is nothing to measure. `holds` names what a seam holds
//! by itself. `stiffness` is a share of the same section without seams, for a beam along x and one along y.

use crate::format::number;
use crate::geometry::units;
use crate::model::judged::{Figures, Joint, Judged, LayerFigures, Play, Stiffness};
use crate::model::plan::Plan;
use crate::output::plan_json::{mm, object, text};

/// Decimals of shares.
const SHARE_DECIMALS: usize = 6;

/// The object under `metrics.seams`.
pub(crate) fn judged(plan: &Plan) -> String {
    let Judged {
        layers,
        stacks,
        joints,
        no_modulus,
    } = &plan.metrics.seams;
    let stack = |(k, f): (usize, &Figures)| {
        let mut fields = vec![("copy", (k + 1).to_string())];
        fields.extend(figures(f));
        object(&fields)
    };
    object(&[
        ("layers", lines(layers.iter().map(|l| layer(plan, l)))),
        ("stacks", lines(stacks.iter().enumerate().map(stack))),
        ("joints", lines(joints.iter().map(|j| joint(plan, j)))),
        ("no_modulus", list(no_modulus.iter().map(|n| text(n)))),
    ])
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

/// A list with an item a line.
fn lines(items: impl Iterator<Item = String>) -> String {
    let items: Vec<String> = items.map(|i| format!("\n      {i}")).collect();
    format!("[{}]", items.join(","))
}

fn or_null(value: Option<f64>, spell: fn(f64) -> String) -> String {
    value.map_or_else(|| "null".to_owned(), spell)
}

fn share(value: f64) -> String {
    number::number(value, SHARE_DECIMALS)
}

fn layer(plan: &Plan, of: &LayerFigures) -> String {
    let mut fields = vec![
        ("layer", text(&plan.fixture.layers[of.layer].name)),
        ("copy", of.copy.to_string()),
    ];
    fields.extend(figures(&of.figures));
    object(&fields)
}

fn figures(f: &Figures) -> Vec<(&'static str, String)> {
    let stiff = |s: Stiffness| object(&[("bonded", share(s.bonded)), ("dry", share(s.dry))]);
    vec![
        ("pieces", f.pieces.to_string()),
        ("length", mm(f.length)),
        ("toothed", or_null(f.toothed, share)),
        ("neck", or_null(f.neck, mm)),
        (
            "play",
            f.play.as_ref().map_or_else(|| "null".to_owned(), play),
        ),
        (
            "stiffness",
            object(&[("x", stiff(f.stiffness[0])), ("y", stiff(f.stiffness[1]))]),
        ),
        ("added_time_s", mm(f.added_s)),
    ]
}

fn joint(plan: &Plan, joint: &Joint) -> String {
    let ids = joint.pieces.iter().map(|&k| text(&plan.pieces[k].id));
    object(&[
        ("pieces", list(ids)),
        ("runs", text(joint.runs.word())),
        ("length", mm(joint.length)),
        ("play", play(&joint.play)),
    ])
}

fn play(p: &Play) -> String {
    let words = ["along", "closing", "opening", "turn"];
    let holds = words.iter().zip(p.holds()).filter(|(_, holds)| *holds);
    object(&[
        ("along", or_null(p.along, mm)),
        ("along_most", or_null(p.along_most, mm)),
        ("closing", or_null(p.closing, mm)),
        ("opening", or_null(p.opening, mm)),
        (
            "turn",
            or_null(p.turn, |t| number::degrees(units::degrees(t))),
        ),
        ("holds", list(holds.map(|(word, _)| text(word)))),
    ])
}
