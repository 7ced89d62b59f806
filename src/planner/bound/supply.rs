//! Sheets as a bound sees them, and the cheapest of them that carry what one row asks.

use crate::format::number;
use crate::planner::bound::row::{Figure, Least, Row};

/// Sets of sheets are told apart by what they carry in steps of this share of the need; the bound errs downward by it.
const STEPS: usize = 4000;
/// Kinds of sheets that are all told.
const NAMED: usize = 12;
/// Kinds of sheets for which that is done, at the most.
const MOST_KINDS: usize = 200;

/// A sheet sold by length. Its *stretch* is the length within which pieces lie that are grown by half the spacing: the used
/// length less both edge margins and with half the spacing at both ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roll {
    /// Cost of a mm.
    pub(super) rate: f64,
    /// What is to be paid beyond the stretch where rolls are used; below 0 where the spacing is more than both margins.
    pub(super) head: f64,
    /// The longest stretch of all of the kind together.
    pub(super) most: f64,
}

/// A kind of sheet.
#[derive(Clone, Debug)]
pub(super) struct Supply<'a> {
    pub(super) id: &'a str,
    /// Place in the stock.
    pub(super) sheet: usize,
    pub(super) quantity: usize,
    /// Cost of a whole sheet.
    pub(super) cost: f64,
    /// Its area, and that without inner defects: drawn in by the edge margin less half the spacing, and by the edge margin.
    pub(super) usable_mm2: [[f64; 2]; 2],
    pub(super) roll: Option<Roll>,
    /// Extents of the box in which pieces may lie.
    pub(super) room: [f64; 2],
}

impl Supply<'_> {
    /// Cost of a whole sheet, or of a mm of a roll.
    pub(super) fn price(&self) -> f64 {
        self.roll.map_or(self.cost, |r| r.rate)
    }
}

/// The least cost of whole sheets by what they carry, in steps: `cost[d]` carries d steps or more, and `taken[d]` says how many
/// of each kind do.
struct Carried {
    cost: Vec<f64>,
    taken: Vec<Vec<u32>>,
}

impl Carried {
    /// All sets of whole sheets. What they carry is rounded up, so costs err downward.
    fn new(supplies: &[Supply<'_>], row: &Row) -> Self {
        let unit = row.need / STEPS as f64;
        let mut cost = vec![f64::INFINITY; STEPS + 1];
        cost[0] = 0.0;
        let mut taken: Vec<Vec<u32>> = vec![vec![0; supplies.len()]; STEPS + 1];
        for (s, supply) in supplies.iter().enumerate() {
            if supply.roll.is_some() || row.carries[s] <= 0.0 {
                continue;
            }
            let steps = ((row.carries[s] / unit).ceil() as usize).clamp(1, STEPS);
            for _ in 0..supply.quantity.min(STEPS.div_ceil(steps)) {
                let mut changed = false;
                for d in (0..STEPS).rev() {
                    let to = (d + steps).min(STEPS);
                    let price = cost[d] + supply.cost;
                    if price < cost[to] - 1e-12 {
                        cost[to] = price;
                        let mut list = taken[d].clone();
                        list[s] += 1;
                        taken[to] = list;
                        changed = true;
                    }
                }
                if !changed {
                    break;
                }
            }
        }
        Self { cost, taken }
    }
}

/// The least cost of sheets that carry what a row asks; `None` where there are no such sheets, or too many kinds.
pub(super) fn cheapest(supplies: &[Supply<'_>], row: &Row) -> Option<Least> {
    if row.need <= 0.0 || supplies.len() > MOST_KINDS {
        return None;
    }
    let whole = Carried::new(supplies, row);
    let rolls = || {
        supplies
            .iter()
            .zip(&row.carries)
            .filter_map(|(s, c)| s.roll.map(|r| (r, *c)))
            .filter(|(_, c)| *c > 0.0)
    };
    let rate = rolls()
        .map(|(r, c)| r.rate / c)
        .fold(f64::INFINITY, f64::min);
    // One roll is used at the least; each that the spacing makes cheaper may be.
    let saved: f64 = rolls().map(|(r, _)| r.head.min(0.0)).sum();
    let head = rolls()
        .map(|(r, _)| r.head.max(0.0))
        .fold(f64::INFINITY, f64::min);
    let mut least: Option<(f64, usize)> = None;
    for (d, cost) in whole.cost.iter().enumerate().filter(|(_, c)| c.is_finite()) {
        let left = (STEPS - d) as f64 / STEPS as f64 * row.need;
        let rest = if d == STEPS {
            0.0
        } else {
            (left * rate + head + saved).max(0.0)
        };
        if least.is_none_or(|l| cost + rest < l.0 - 1e-12) {
            least = Some((cost + rest, d));
        }
    }
    let (cost, d) = least.filter(|l| l.0.is_finite())?;
    Some(Least {
        cost,
        chosen: Some((whole.taken[d].clone(), d < STEPS)),
    })
}

/// Sheets in words.
pub(super) fn told(supplies: &[Supply<'_>], numbers: &[u32], and_by_length: bool) -> String {
    let mut words: Vec<String> = numbers
        .iter()
        .zip(supplies)
        .filter(|(n, _)| **n > 0)
        .map(|(n, s)| format!("{n} × {}", s.id))
        .collect();
    if and_by_length {
        words.push(
            if words.is_empty() {
                "the sheet sold by length"
            } else {
                "the sheet sold by length for the rest"
            }
            .to_owned(),
        );
    }
    words.join(" + ")
}

/// What one sheet carries of each kind that is chosen, and of the others where they are few, in words.
pub(super) fn carried(
    supplies: &[Supply<'_>],
    row: &Row,
    chosen: Option<&(Vec<u32>, bool)>,
    figure: &dyn Fn(f64) -> String,
) -> String {
    let is_told = |s: usize| {
        supplies.len() <= NAMED || supplies[s].roll.is_some() || chosen.is_some_and(|c| c.0[s] > 0)
    };
    let words: Vec<String> = (0..supplies.len())
        .filter(|&s| is_told(s) && row.carries[s] > 0.0)
        .map(|s| {
            let each = row.carries[s];
            match (supplies[s].roll.is_some(), row.figure) {
                (true, Figure::Area) => {
                    format!("{} {} mm² a mm", supplies[s].id, number::short(each))
                }
                (true, Figure::Number) => {
                    format!("{} {} a mm", supplies[s].id, number::number(each, 9))
                }
                (false, _) => format!("{} {}", supplies[s].id, figure(each)),
            }
        })
        .collect();
    words.join(", ")
}

/// An area in cm², rounded down or up to a hundredth.
pub(super) fn square_cm(area_mm2: f64, up: bool) -> String {
    let rounded = if up {
        area_mm2.ceil()
    } else {
        area_mm2.floor()
    };
    format!("{} cm²", number::short(rounded / 100.0))
}
