//! A first layout where laying down one piece after the other found none: all pieces anywhere, loosened.
//!
//! Sheets are taken whole, the largest first, until they have half as much room again as the pieces need, or there are no
//! more. Pieces lie anywhere at first; passes loosen them as those of a group of sheets. An attempt that fails is followed by
//! another one that may spend twice as much.

use std::sync::Arc;

use crate::geometry::region::Region;
use crate::geometry::transform::Pose;
use crate::model::nesting::{Layout, Placed, Problem, SheetUse};
use crate::nest::certify::certify;
use crate::nest::loosen::ground::Ground;
use crate::nest::loosen::sheets::{Attempt, PRICES_A_ROUND, Verdict};
use crate::nest::loosen::target::Target;
use crate::nest::seed::Draws;

/// Pieces that are moved at once, at the most: overlaps are kept for every pair.
const MOST_MOVED: usize = 300;
/// Area of sheets that is enough, in that of the pieces.
const ENOUGH: f64 = 1.5;
/// Prices that the search may ask for in all, for every three pieces: few pieces are soon tried in every way.
const PRICES_A_THREE: u64 = 40_000;
/// Where a piece lies that lies nowhere yet.
const NOWHERE: SheetUse = SheetUse {
    stock: usize::MAX,
    number: 0,
};

/// A search that goes on from round to round.
#[derive(Clone, Debug, Default)]
pub struct Founding {
    attempt: Option<Box<Attempt>>,
    failures: u32,
    spent: u64,
    is_over: bool,
}

impl Founding {
    /// A search from nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Whether it has been given up.
    pub fn is_over(&self) -> bool {
        self.is_over
    }

    /// One round: a certified layout of all that must be placed, if one was found. The problem is the same from round to
    /// round. Where `is_over` says so it ends early, and what it brought is to be left aside.
    pub fn round(
        &mut self,
        ground: &Arc<Ground>,
        problem: &Problem,
        key: [u64; 3],
        is_over: &dyn Fn() -> bool,
    ) -> Option<Layout> {
        let mut draws = Draws::new([key[0] ^ 0x666f_756e, key[1], key[2]]);
        let nowhere = nowhere(problem);
        let n = nowhere.placed.len() as u64;
        self.is_over |= n as usize > MOST_MOVED || self.spent > PRICES_A_THREE * n * n * n;
        if self.is_over {
            return None;
        }
        if self.attempt.is_none() {
            self.attempt = target(problem, &nowhere)
                .and_then(|target| {
                    let (whole, failures) = (Some(ground), self.failures);
                    Attempt::new(problem, whole, &nowhere, target, failures, &mut draws)
                })
                .map(Box::new);
        }
        let Some(attempt) = self.attempt.as_mut() else {
            self.is_over = true;
            return None;
        };
        let spent = attempt.spent();
        let verdict = attempt.work(&mut draws, PRICES_A_ROUND, is_over);
        self.spent += attempt.spent() - spent;
        let found = match verdict {
            Verdict::Going => return None,
            Verdict::Failed => None,
            Verdict::Done => attempt.layout(&nowhere),
        };
        self.failures += 1;
        self.attempt = None;
        found.filter(|layout| certify(problem, layout).is_ok())
    }
}

/// All that must be placed, on no sheet.
fn nowhere(problem: &Problem) -> Layout {
    let placed = (0..problem.items.len())
        .filter(|&k| !problem.items[k].fill)
        .map(|item| Placed {
            item,
            sheet: NOWHERE,
            pose: Pose::IDENTITY,
        })
        .collect();
    Layout { placed }
}

/// The sheets that are to take all; `None` where there is nothing to lay, or no sheet sold whole.
fn target(problem: &Problem, nowhere: &Layout) -> Option<Target> {
    let items = || nowhere.placed.iter().map(|p| &problem.items[p.item]);
    if nowhere.placed.is_empty() {
        return None;
    }
    let mut classes: Vec<usize> = items().map(|i| i.class).collect();
    classes.sort_unstable();
    classes.dedup();
    let area = |s: usize| -> f64 { problem.stock[s].region.iter().map(Region::area_mm2).sum() };
    let mut added = Vec::new();
    for class in classes {
        let need: f64 = items()
            .filter(|i| i.class == class)
            .map(|i| i.shape.area_mm2())
            .sum();
        let mut kinds: Vec<usize> = (0..problem.stock.len())
            .filter(|&s| problem.stock[s].class == class && problem.stock[s].by_length.is_none())
            .collect();
        kinds.sort_by(|&a, &b| area(b).total_cmp(&area(a)).then(a.cmp(&b)));
        let mut left = ENOUGH * need;
        for stock in kinds {
            for number in 0..problem.stock[stock].quantity {
                if left <= 0.0 {
                    break;
                }
                left -= area(stock);
                added.push(SheetUse { stock, number });
            }
        }
        if left >= ENOUGH * need {
            return None;
        }
    }
    Some(Target {
        removed: vec![NOWHERE],
        added,
        kept: Vec::new(),
        sort: (Vec::new(), Vec::new(), 0),
    })
}
