//! `stock-after.toml`: the stock file after this job, in the job's units.
//!
//! Steps: every entry keeps what the stock file told, its quantity less the sheets used; a used sheet's leftovers worth
//! keeping follow as entries of their own, each with `from`, its outline in that sheet's frame, and its share of the cost.
//! A sheet sold by length goes down by one and what is left of it is such a leftover.
//!
//! Leftovers are boxes along the axes, so their outlines are exact; were one curved, its chords would err by
//! `tolerance::FLAT_PLAN` at most.

use std::collections::BTreeSet;

use crate::format::stock_toml::{self, SheetDoc, SheetShape, StockDoc};
use crate::geometry::tolerance;
use crate::model::plan::{Plan, Remnant};

/// The longest id of a sheet.
const LONGEST_ID: usize = 48;

/// The text of `stock-after.toml`.
pub(crate) fn stock_after(plan: &Plan, before: &StockDoc, inches: bool) -> String {
    let mut after = before.clone();
    for (k, entry) in after.sheets.iter_mut().enumerate() {
        // `from` names a sheet of the plan that a leftover comes from; of an earlier plan it would mislead.
        entry.from = None;
        entry.quantity -= plan
            .sheets
            .iter()
            .filter(|s| s.sheet == k)
            .count()
            .min(entry.quantity);
    }
    let mut ids: BTreeSet<String> = before.sheets.iter().map(|s| s.id.to_lowercase()).collect();
    for remnant in &plan.remnants {
        let id = new_id(&plan.stock[plan.sheets[remnant.sheet].sheet].id, &ids);
        ids.insert(id.to_lowercase());
        after.sheets.push(entry(plan, before, remnant, id));
    }
    stock_toml::write(&after, inches)
}

/// `<stock id>-r1` and on, the stock's id cut short where the whole would be too long.
fn new_id(of: &str, taken: &BTreeSet<String>) -> String {
    let mut n = 1;
    loop {
        let tail = format!("-r{n}");
        let head: String = of.chars().take(LONGEST_ID - tail.len()).collect();
        let id = head + &tail;
        if !taken.contains(&id.to_lowercase()) {
            return id;
        }
        n += 1;
    }
}

fn entry(plan: &Plan, before: &StockDoc, remnant: &Remnant, id: String) -> SheetDoc {
    let used = &plan.sheets[remnant.sheet];
    let of = &before.sheets[used.sheet];
    let outline = remnant
        .outline
        .outer()
        .flatten(tolerance::FLAT_PLAN)
        .iter()
        .map(|p| [p.x, p.y])
        .collect();
    let priced = before.sheets.iter().any(|s| s.cost.is_some());
    SheetDoc {
        id,
        shape: SheetShape::Outline(outline),
        quantity: 1,
        cost: priced.then_some(remnant.cost),
        defects: Vec::new(),
        by_length: false,
        from: Some(used.id.clone()),
        ..of.clone()
    }
}
