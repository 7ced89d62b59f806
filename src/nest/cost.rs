//! What a layout costs.

use crate::geometry::bounds::Bounds;
use crate::model::nesting::{Layout, Problem, SheetUse};

/// Sheets that a layout uses, ascending.
pub(crate) fn used(layout: &Layout) -> Vec<SheetUse> {
    let mut used: Vec<SheetUse> = layout.placed.iter().map(|p| p.sheet).collect();
    used.sort();
    used.dedup();
    used
}

/// How far a sheet is used along x: from its left end to the rightmost finished point plus the margin, at most its length.
pub fn used_length(problem: &Problem, layout: &Layout, sheet: SheetUse) -> f64 {
    let bounds = problem.stock[sheet.stock]
        .region
        .iter()
        .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
    let right = layout
        .placed
        .iter()
        .filter(|p| p.sheet == sheet)
        .map(|p| problem.items[p.item].shape.posed(p.pose).bounds().max.x)
        .fold(bounds.min.x, f64::max);
    let length = problem.stock[sheet.stock]
        .by_length
        .unwrap_or_else(|| bounds.width());
    (right - bounds.min.x + problem.edge_margin).min(length)
}

/// Cost of the sheets used; one sold by length in the proportion of its used length.
pub fn cost(problem: &Problem, layout: &Layout) -> f64 {
    cost_where(problem, layout, |_| true)
}

/// The same for the sheets of one class.
pub fn cost_of(problem: &Problem, layout: &Layout, class: usize) -> f64 {
    cost_where(problem, layout, |s| problem.stock[s.stock].class == class)
}

fn cost_where(problem: &Problem, layout: &Layout, counts: impl Fn(&SheetUse) -> bool) -> f64 {
    used(layout)
        .into_iter()
        .filter(counts)
        .map(|sheet| {
            let stock = &problem.stock[sheet.stock];
            stock.by_length.map_or(stock.cost, |length| {
                stock.cost * used_length(problem, layout, sheet) / length
            })
        })
        .sum()
}
