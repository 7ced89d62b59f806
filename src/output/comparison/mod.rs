//! A comparison of patterns as `comparison.json`, `comparison.csv` and `comparison.html`.
//!
//! In: plans of one job that differ in the pattern of their seams. Out: three files that tell the same figures, which
//! `figures` lists once: their keys, units, which way is better, and how they are read off a plan. Nothing is worked out
//! here that a plan does not hold. `choice` puts into a sentence what the choice costs; `page` draws.

mod choice;
mod figures;
mod page;

use std::fmt::Write as _;

pub use choice::choice;

use crate::format::number;
use crate::format::shown;
use crate::model::comparison::{Comparison, Tried};
use crate::output::comparison::figures::{FIGURES, Value, best};
use crate::output::plan_json::{finding, metrics, mm, object, text};

/// The format that `comparison.json` names.
const FORMAT: &str = "seamwright-comparison/1";

/// The files of a comparison: names and bytes.
pub fn write(all: &Comparison) -> Vec<(String, Vec<u8>)> {
    let file = |name: &str, text: String| (name.to_owned(), text.into_bytes());
    vec![
        file("comparison.json", json(all)),
        file("comparison.csv", csv(all)),
        file("comparison.html", page::page(all)),
    ]
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

fn lines(items: impl Iterator<Item = String>) -> String {
    format!("[\n    {}\n  ]", items.collect::<Vec<_>>().join(",\n    "))
}

/// The text of `comparison.json`.
fn json(all: &Comparison) -> String {
    let settings = object(&[
        ("seam_gap", mm(all.gap)),
        (
            "fit",
            all.fit
                .map_or_else(|| "null".to_owned(), |f| text(f.word())),
        ),
        (
            "own_pattern",
            list(all.own.iter().map(|&k| text(&all.layers[k]))),
        ),
        ("seed", all.seed.to_string()),
        ("lanes", all.lanes.to_string()),
    ]);
    let figures = FIGURES.iter().map(|f| {
        let best = best(all, f).into_iter().map(|p| text(p.word()));
        object(&[
            ("figure", text(f.key)),
            ("unit", text(f.unit.word())),
            ("better", text(f.better.word())),
            ("best", list(best)),
        ])
    });
    let mut out = String::from("{\n");
    let _ = writeln!(out, "  \"format\": {},", text(FORMAT));
    let _ = writeln!(out, "  \"settings\": {settings},");
    let _ = writeln!(out, "  \"figures\": {},", lines(figures));
    let _ = writeln!(
        out,
        "  \"patterns\": {},",
        lines(all.tried.iter().map(pattern))
    );
    let _ = writeln!(out, "  \"choice\": {}", text(&choice(all)));
    out + "}\n"
}

fn pattern(tried: &Tried) -> String {
    let mut fields = vec![
        ("pattern", text(tried.pattern.word())),
        ("outcome", text(tried.outcome.word())),
        (
            "reasons",
            list(tried.outcome.reasons().iter().map(|r| text(r))),
        ),
    ];
    if let Some(plan) = tried.outcome.plan() {
        let value = |v: Value| match v {
            Value::Number(v) => number::degrees(v),
            Value::Words(words) => text(&words),
            Value::NoLimit => text(figures::NO_LIMIT),
            Value::Nothing => "null".to_owned(),
        };
        let figures: Vec<(&str, String)> = FIGURES
            .iter()
            .map(|f| (f.key, value(f.value(plan))))
            .collect();
        fields.extend([
            ("rounds", plan.rounds.to_string()),
            ("figures", object(&figures)),
            ("metrics", metrics(plan)),
            ("findings", list(plan.findings.iter().map(finding))),
        ]);
    }
    object(&fields)
}

/// The text of `comparison.csv`: a line for each pattern.
fn csv(all: &Comparison) -> String {
    let heads = FIGURES.iter().map(figures::Figure::column);
    let mut out = ["pattern".to_owned(), "outcome".to_owned()]
        .into_iter()
        .chain(heads)
        .chain(["rounds".to_owned(), "reason".to_owned()])
        .collect::<Vec<_>>()
        .join(",");
    out.push('\n');
    for tried in &all.tried {
        let mut cells = vec![
            tried.pattern.word().to_owned(),
            tried.outcome.word().to_owned(),
        ];
        let plan = tried.outcome.plan();
        cells.extend(FIGURES.iter().map(|f| match plan.map(|p| f.value(p)) {
            Some(Value::Number(v)) => number::degrees(v),
            Some(Value::Words(words)) => words,
            Some(Value::NoLimit) => figures::NO_LIMIT.to_owned(),
            Some(Value::Nothing) | None => String::new(),
        }));
        cells.push(plan.map(|p| p.rounds.to_string()).unwrap_or_default());
        cells.push(quoted(&tried.outcome.reasons().join("; ")));
        out += &cells.join(",");
        out.push('\n');
    }
    out
}

/// Text with names of the user's as one cell: in quotes, on one line.
fn quoted(words: &str) -> String {
    if words.is_empty() {
        return String::new();
    }
    let tame = |c: char| {
        if c.is_control() || shown::is_wild(c) {
            ' '
        } else {
            c
        }
    };
    let words: String = words.chars().map(tame).collect();
    format!("\"{}\"", words.replace('"', "\"\""))
}
