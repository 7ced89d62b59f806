//! Orders of the columns of a tiling and of the pieces in them, and where the seams may then lie.
//!
//! In: a tiling. Out: *layings*: columns and pieces in an order, each seam with the interval in which it may slide: not so
//! far to either side that the windows before or behind it no longer suffice, and within what is legal. Layings of
//! neighbouring layers are taken together where every pair of seams that run the same way can keep the lap.

use crate::model::cutter::Axis;
use crate::model::legal::Interval;
use crate::model::seam::Joined;
use crate::nest::seed::Draws;
use crate::planner::cover::alike::Tiling;
use crate::planner::cover::column::Column;
use crate::planner::cover::seat::{Offer, Seat};
use crate::planner::cover::step::{Site, Step};
use crate::planner::cover::void::ON_SIDE;
use crate::planner::task::LayerShape;

/// Orders that are looked at of one tiling.
const MOST_TRIED: usize = 1500;
/// By how much spans of seams may shift along when positions are settled, in mm.
const SHIFT: f64 = 2.0;

/// The pieces of a column in an order, and where the seams between them may lie.
type InOrder = (Vec<Seat>, Vec<Interval>);

/// An order of a tiling.
#[derive(Clone, Debug)]
pub(crate) struct Laying {
    /// The way the through seams run.
    pub(crate) runs: Axis,
    /// Where they may lie.
    pub(crate) through: Vec<Interval>,
    /// Seats of the strips between them, strip by strip.
    pub(crate) seats: Vec<Vec<Seat>>,
    /// Where the seams across each strip may lie.
    pub(crate) across: Vec<Vec<Interval>>,
    /// Extents: across the through seams, along them.
    pub(crate) extents: [(f64, f64); 2],
    /// The span of each through seam.
    pub(crate) spans: Vec<(f64, f64)>,
    /// Cells that are one piece.
    pub(crate) joined: Vec<Joined>,
    /// Steps, each with the number of its first strip.
    pub(crate) steps: Vec<(usize, Step)>,
}

impl Laying {
    /// A laying without strips.
    fn new(runs: Axis, extents: [(f64, f64); 2]) -> Self {
        Self {
            runs,
            extents,
            through: Vec::new(),
            seats: Vec::new(),
            across: Vec::new(),
            spans: Vec::new(),
            joined: Vec::new(),
            steps: Vec::new(),
        }
    }

    /// Columns side by side, each with its pieces in an order; `through` are the seams between them. `None` where a step has no
    /// legal place.
    fn of<'c>(
        columns: impl Iterator<Item = (&'c Column, &'c InOrder)>,
        through: &[Interval],
        runs: Axis,
        adds: Adds,
        shape: &LayerShape,
    ) -> Option<Self> {
        let extents = [shape.across(runs), shape.across(runs.other())];
        let mut laying = Self::new(runs, extents);
        let fixed = |at: f64| (Interval { low: at, high: at }, false);
        let seam = |i: usize| through.get(i).map(|t| (*t, true));
        for (i, (column, (seats, across))) in columns.enumerate() {
            let before = i.checked_sub(1).and_then(seam);
            if let Some(before) = before {
                laying.through.push(before.0);
                laying.spans.push(extents[1]);
            }
            let Some(step) = column.step else {
                laying.seats.push(seats.clone());
                laying.across.push(across.clone());
                continue;
            };
            let ends = [
                before.unwrap_or(fixed(extents[0].0)),
                seam(i).unwrap_or(fixed(extents[0].1)),
            ];
            if !laying.add_step(step, seats, across[0], ends, adds, shape.legal(runs)) {
                return None;
            }
        }
        Some(laying)
    }

    /// Whether a strip belongs to a step.
    pub(crate) fn is_stepped(&self, strip: usize) -> bool {
        let of = |(first, step): &(usize, Step)| (*first..first + step.strips()).contains(&strip);
        self.steps.iter().any(of)
    }

    /// Where a side of a cell may lie, across (0) or along (1) the through seams, and by how much its piece reaches beyond.
    pub(crate) fn side(
        &self,
        axis: usize,
        (strip, number): (usize, usize),
        high: bool,
        adds: Adds,
    ) -> (Interval, f64) {
        let (list, k) = if axis == 0 {
            (&self.through, strip)
        } else {
            (&self.across[strip], number)
        };
        side_of((k, list), high, self.extents[axis], adds)
    }

    /// Adds a column with a step; false where its lines have no legal place.
    fn add_step(
        &mut self,
        step: Step,
        seats: &[Seat],
        across: Interval,
        ends: [(Interval, bool); 2],
        adds: Adds,
        legal: &[Interval],
    ) -> bool {
        let first = self.seats.len();
        let site = Site {
            adds,
            extents: self.extents,
            legal,
        };
        let Some(laid) = step.lay(seats, first, ends, across, &site) else {
            return false;
        };
        self.seats.extend(laid.seats);
        self.across.extend(laid.across);
        for (at, span) in laid.through {
            self.through.push(at);
            self.spans.push(span);
        }
        self.joined.extend(laid.joined);
        self.steps.push((first, step));
        true
    }
}

/// What seams add to the pieces before and behind them, and the least extent of a piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Adds {
    /// To the piece behind a seam: teeth that point back.
    pub(crate) back: f64,
    /// To the piece before a seam: teeth that point on.
    pub(crate) on: f64,
    /// Least extent.
    pub(crate) least: f64,
}

impl Adds {
    /// What the seams beside piece `k` of `n` add to it.
    pub(crate) fn of(&self, k: usize, n: usize) -> f64 {
        (if k > 0 { self.back } else { 0.0 }) + (if k + 1 < n { self.on } else { 0.0 })
    }
}

/// The widest legal interval between two positions.
pub(super) fn clip(legal: &[Interval], least: f64, most: f64) -> Option<Interval> {
    legal
        .iter()
        .map(|i| Interval {
            low: i.low.max(least),
            high: i.high.min(most),
        })
        .filter(|i| i.high >= i.low)
        .max_by(|a, b| (a.high - a.low).total_cmp(&(b.high - b.low)))
}

/// The intervals of the seams between pieces that have so much room, from `from` to `to`; `None` where one has no legal place.
fn intervals(
    rooms: &[f64],
    adds: Adds,
    (from, to): (f64, f64),
    legal: &[Interval],
) -> Option<Vec<Interval>> {
    let n = rooms.len();
    let base = |k: usize| rooms[k] - adds.of(k, n);
    let mut out = Vec::with_capacity(n - 1);
    let mut low = vec![to; n];
    for k in (1..n).rev() {
        low[k - 1] = low[k] - base(k);
    }
    let mut high = from;
    for (k, lowest) in low.iter().enumerate().take(n - 1) {
        high += base(k);
        let least = (lowest - 1e-6).max(from + adds.least * (k + 1) as f64);
        let most = (high + 1e-6).min(to - adds.least * (n - 1 - k) as f64);
        out.push(clip(legal, least, most)?);
    }
    Some(out)
}

/// What layings are made on.
#[derive(Clone, Copy)]
pub(crate) struct Ground<'a> {
    pub(crate) offer: &'a Offer,
    pub(crate) shape: &'a LayerShape,
    /// The way the through seams run.
    pub(crate) runs: Axis,
    pub(crate) adds: Adds,
}

/// A piece's number among those in a row along one axis, and the seams between them.
type InRow<'a> = (usize, &'a [Interval]);

/// Where one side of a piece in a row between two ends may lie, and by how much the piece reaches beyond.
fn side_of(
    (k, seams): InRow<'_>,
    high: bool,
    (from, to): (f64, f64),
    adds: Adds,
) -> (Interval, f64) {
    let seam = if high {
        seams.get(k)
    } else {
        k.checked_sub(1).map(|k| &seams[k])
    };
    let at = if high { to } else { from };
    let end = Interval { low: at, high: at };
    let reach = if high { adds.on } else { -adds.back };
    seam.map_or((end, 0.0), |s| (*s, reach))
}

/// Whether a piece keeps what it must, as far as rows are told.
fn keeps_in(on: &Ground<'_>, seat: &Seat, rows: [Option<InRow<'_>>; 2]) -> bool {
    let ends = [on.shape.across(on.runs), on.shape.across(on.runs.other())];
    on.offer.keeps_of(seat).iter().all(|keep| {
        let mut least = 0.0;
        for (axis, row) in rows.into_iter().enumerate() {
            let by = keep.by[axis];
            if by != 0.0 {
                let Some(row) = row else {
                    return true;
                };
                let (at, add) = side_of(row, keep.high[axis], ends[axis], on.adds);
                least += by * (if by > 0.0 { at.low } else { at.high } + add);
            }
        }
        least <= keep.limit + ON_SIDE
    })
}

/// Legal orders of a tiling, at most `most`, in a drawn order, in which pieces beside voids keep what they must.
pub(crate) fn layings(
    on: &Ground<'_>,
    tiling: &Tiling,
    draws: &mut Draws,
    most: usize,
) -> Vec<Laying> {
    let mut out = some_layings(on, tiling, draws, usize::MAX);
    // Drawn order, so that neighbours meet different layings first.
    draws.shuffle(&mut out);
    out.truncate(most);
    out
}

/// The first legal orders of a tiling that are found.
pub(crate) fn some_layings(
    on: &Ground<'_>,
    tiling: &Tiling,
    draws: &mut Draws,
    enough: usize,
) -> Vec<Laying> {
    let (shape, runs, adds) = (on.shape, on.runs, on.adds);
    let extents = [shape.across(runs), shape.across(runs.other())];
    let mut out = Vec::new();
    // The orders within a column do not depend on where it stands.
    let within: Vec<Vec<InOrder>> = tiling
        .columns
        .iter()
        .map(|c| column_orders(on, c, draws))
        .collect();
    if within.iter().any(Vec::is_empty) {
        return out;
    }
    let n = tiling.columns.len();
    let permutations = (1..=n).product::<usize>();
    let per_order = (MOST_TRIED / permutations).max(1);
    // Where a few orders are enough, another start shows others.
    let mut base: Vec<usize> = (0..n).collect();
    draws.shuffle(&mut base);
    let mut order: Vec<usize> = (0..n).collect();
    let mut first = true;
    while first || next_permutation(&mut order) {
        first = false;
        let columns: Vec<usize> = order.iter().map(|k| base[*k]).collect();
        let rooms: Vec<f64> = columns.iter().map(|k| tiling.columns[*k].room()).collect();
        let Some(through) = intervals(&rooms, adds, extents[0], shape.legal(runs)) else {
            continue;
        };
        let keeping: Vec<Vec<&InOrder>> = columns
            .iter()
            .enumerate()
            .map(|(i, k)| {
                let all = within[*k].iter();
                all.filter(|o| keeps_all(on, o, (i, &through))).collect()
            })
            .collect();
        let combos: usize = keeping.iter().map(Vec::len).product();
        for number in 0..combos.min(per_order) {
            let mut rest = if combos <= per_order {
                number
            } else {
                draws.below(combos)
            };
            let picked = columns.iter().zip(&keeping).map(|(k, list)| {
                let picked = list[rest % list.len()];
                rest /= list.len();
                (&tiling.columns[*k], picked)
            });
            let laying = Laying::of(picked, &through, runs, adds, shape);
            out.extend(laying);
            if out.len() >= enough {
                return out;
            }
        }
    }
    out
}

/// Whether all pieces of a column keep what they must.
fn keeps_all(on: &Ground<'_>, column: &InOrder, across: InRow<'_>) -> bool {
    let (seats, along) = column;
    seats
        .iter()
        .enumerate()
        .all(|(j, s)| s.bound.is_none() || keeps_in(on, s, [Some(across), Some((j, along))]))
}

/// The legal orders of the pieces in a column.
fn column_orders(on: &Ground<'_>, column: &Column, draws: &mut Draws) -> Vec<InOrder> {
    const MOST: usize = 120;
    let (shape, runs, adds) = (on.shape, on.runs, on.adds);
    if let Some(step) = column.step {
        let other = runs.other();
        return step
            .across(adds, shape.across(other), shape.legal(other))
            .map(|across| (column.seats.clone(), vec![across]))
            .into_iter()
            .collect();
    }
    let mut order: Vec<usize> = (0..column.seats.len()).collect();
    let extent = shape.across(runs.other());
    let legal = shape.legal(runs.other());
    let mut out = Vec::new();
    let mut first = true;
    while first || next_permutation(&mut order) {
        first = false;
        let seats: Vec<Seat> = order.iter().map(|k| column.seats[*k]).collect();
        let rooms: Vec<f64> = seats.iter().map(|s| s.room(1)).collect();
        if let Some(found) = intervals(&rooms, adds, extent, legal) {
            let keeps =
                |(j, s): (usize, &Seat)| keeps_in(on, s, [None, Some((j, found.as_slice()))]);
            if seats.iter().enumerate().all(keeps) {
                out.push((seats, found));
            }
        }
    }
    draws.shuffle(&mut out);
    out.truncate(MOST);
    out
}

/// The next order in lexicographic sequence; false after the last.
fn next_permutation(order: &mut [usize]) -> bool {
    let Some(k) = (1..order.len()).rev().find(|&k| order[k - 1] < order[k]) else {
        return false;
    };
    let pivot = order[k - 1];
    let other = (k..order.len())
        .rev()
        .find(|&j| order[j] > pivot)
        .unwrap_or(k);
    order.swap(k - 1, other);
    order[k..].reverse();
    true
}

/// A seam of a laying: the way it runs, where it may lie, its span, and which it is: strip and number; strip 0 and through
/// seams share a list by `strip = None`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Run {
    pub(crate) runs: Axis,
    pub(crate) at: Interval,
    pub(crate) span: (f64, f64),
    pub(crate) strip: Option<usize>,
    pub(crate) number: usize,
}

impl Laying {
    /// All seams.
    pub(crate) fn runs_of(&self) -> Vec<Run> {
        let middle = |i: &Interval| (i.low + i.high) / 2.0;
        let mut out: Vec<Run> = self
            .through
            .iter()
            .enumerate()
            .map(|(number, at)| Run {
                runs: self.runs,
                at: *at,
                span: self.spans[number],
                strip: None,
                number,
            })
            .collect();
        for (strip, list) in self.across.iter().enumerate() {
            let from = strip
                .checked_sub(1)
                .map_or(self.extents[0].0, |k| middle(&self.through[k]));
            let to = self.through.get(strip).map_or(self.extents[0].1, middle);
            out.extend(list.iter().enumerate().map(|(number, at)| Run {
                runs: self.runs.other(),
                at: *at,
                span: (from, to),
                strip: Some(strip),
                number,
            }));
        }
        out
    }
}

/// What two seams of neighbouring layers must keep.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Apart {
    /// How far the upper one must lie behind the lower one, base line to base line.
    pub(crate) behind: f64,
    /// How far it must lie before it.
    pub(crate) before: f64,
}

/// The distances that a seam of the lower and one of the upper layer must keep across; `None` where they cannot come near.
pub(crate) fn apart(lower: &Run, upper: &Run, reach: [(f64, f64); 2], lap: f64) -> Option<Apart> {
    if lower.runs != upper.runs {
        return None;
    }
    let gap = (upper.span.0 - lower.span.1).max(lower.span.0 - upper.span.1) - SHIFT;
    if gap >= lap {
        return None;
    }
    let across = if gap > 0.0 {
        (lap * lap - gap * gap).sqrt()
    } else {
        lap
    };
    Some(Apart {
        behind: across + reach[1].0 + reach[0].1,
        before: across + reach[0].0 + reach[1].1,
    })
}

/// Whether the layings of two neighbouring layers can keep the lap, seam by seam.
pub(crate) fn can_lap(lower: &[Run], upper: &[Run], reach: [(f64, f64); 2], lap: f64) -> bool {
    lower.iter().all(|a| {
        upper.iter().all(|b| {
            apart(a, b, reach, lap).is_none_or(|d| {
                b.at.high - a.at.low >= d.behind || a.at.high - b.at.low >= d.before
            })
        })
    })
}
