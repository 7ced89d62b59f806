//! How a guess is changed: seams slid to where a piece just fills a window, layers cut otherwise, sheets tried earlier or
//! later.

use crate::model::legal::Interval;
use crate::model::seam::LayerSplit;
use crate::nest::seed::Draws;
use crate::planner::prepared::{Class, Counts, Prepared};
use crate::planner::state::{Order, State};
use crate::planner::task::{LayerShape, legal_above, legal_below, nearest_legal};

/// Changes a state; tells which classes it touched. A change that leads nowhere leaves the state as it was.
pub(crate) fn change(prepared: &Prepared<'_>, state: &mut State, draws: &mut Draws) -> Vec<bool> {
    let mut touched = vec![false; prepared.classes.len()];
    let split: Vec<usize> = (0..prepared.units.len())
        .filter(|&u| {
            !prepared.counts[prepared.units[u].shape].is_empty()
                && prepared.shapes[prepared.units[u].shape].splits
        })
        .collect();
    let dice = draws.unit();
    if !split.is_empty() && dice < 0.55 {
        let unit = split[draws.below(split.len())];
        slide(prepared, &mut state.splits[unit], unit, draws);
        touched[prepared.units[unit].class] = true;
    } else if !split.is_empty() && dice < 0.72 {
        let unit = split[draws.below(split.len())];
        if let Some(made) = cut_anew(prepared, unit, draws) {
            state.splits[unit] = made;
        }
        touched[prepared.units[unit].class] = true;
    } else {
        let class = draws.below(prepared.classes.len());
        reorder(&mut state.orders[class], draws);
        touched[class] = true;
    }
    touched
}

fn reorder(order: &mut Order, draws: &mut Draws) {
    let n = order.bins.len();
    match draws.below(5) {
        0 => order.rule = draws.below(4),
        1 => {
            order.salt = if draws.chance(0.3) {
                0
            } else {
                1 + draws.below(1 << 20) as u64
            }
        }
        2 if n > 1 => {
            let bin = order.bins.remove(draws.below(n));
            order.bins.insert(0, bin);
        }
        3 if n > 1 => {
            let bin = order.bins.remove(draws.below(n));
            order.bins.push(bin);
        }
        _ if n > 1 => {
            let (a, b) = (draws.below(n), draws.below(n));
            order.bins.swap(a, b);
        }
        _ => {}
    }
}

/// Slides one seam of a split.
fn slide(prepared: &Prepared<'_>, split: &mut LayerSplit, unit: usize, draws: &mut Draws) {
    let shape = &prepared.shapes[prepared.units[unit].shape];
    let class = &prepared.classes[prepared.units[unit].class];
    let n_across: usize = split.across.iter().map(Vec::len).sum();
    let total = split.at.len() + n_across;
    if total == 0 {
        return;
    }
    let pick = draws.below(total);
    if pick < split.at.len() {
        let (low, high) = shape.across(split.runs);
        let line = Row {
            intervals: shape.legal(split.runs),
            low,
            high,
            shape,
            class,
            prepared,
        };
        line.slide(&mut split.at, pick, draws);
        return;
    }
    let mut rest = pick - split.at.len();
    for strip in &mut split.across {
        if rest < strip.len() {
            let runs = split.runs.other();
            let (low, high) = shape.across(runs);
            let line = Row {
                intervals: shape.legal(runs),
                low,
                high,
                shape,
                class,
                prepared,
            };
            line.slide(strip, rest, draws);
            return;
        }
        rest -= strip.len();
    }
}

/// Cuts a layer anew: another number of seams, or the same elsewhere.
fn cut_anew(prepared: &Prepared<'_>, unit: usize, draws: &mut Draws) -> Option<LayerSplit> {
    let ways = &prepared.counts[prepared.units[unit].shape];
    // The first ways have the fewest cells; the lesser of two draws leans toward them.
    let way = ways[draws.below(ways.len()).min(draws.below(ways.len()))];
    cut(prepared, unit, way, &mut |line, n| line.draw(n, draws))
}

/// Cuts a layer in equal strips, every seam moved to the legal place nearest to `shift` off its equal share.
pub(crate) fn cut_evenly(
    prepared: &Prepared<'_>,
    unit: usize,
    way: Counts,
    shift: f64,
) -> Option<LayerSplit> {
    cut(prepared, unit, way, &mut |line, n| line.even(n, shift))
}

fn cut(
    prepared: &Prepared<'_>,
    unit: usize,
    way: Counts,
    place: &mut dyn FnMut(&Row<'_>, usize) -> Option<Vec<f64>>,
) -> Option<LayerSplit> {
    let shape = &prepared.shapes[prepared.units[unit].shape];
    let class = &prepared.classes[prepared.units[unit].class];
    let row = |runs| {
        let (low, high) = shape.across(runs);
        Row {
            intervals: shape.legal(runs),
            low,
            high,
            shape,
            class,
            prepared,
        }
    };
    let at = place(&row(way.runs), way.through)?;
    let across_row = row(way.runs.other());
    let first = place(&across_row, way.across)?;
    let mut across = vec![first; at.len() + 1];
    for strip in across.iter_mut().skip(1) {
        // Seams of all strips in one line to begin with more often than not; slides part them.
        if let Some(own) = place(&across_row, way.across) {
            *strip = own;
        }
    }
    Some(LayerSplit {
        joined: Vec::new(),
        runs: way.runs,
        at,
        across,
    })
}

/// Where the seams of one row (all through seams, or those across one strip) may lie.
pub(crate) struct Row<'a> {
    intervals: &'a [Interval],
    low: f64,
    high: f64,
    shape: &'a LayerShape,
    class: &'a Class,
    prepared: &'a Prepared<'a>,
}

impl Row<'_> {
    fn min_piece(&self) -> f64 {
        self.prepared.task.seams.limits.min_piece
    }

    /// Moves one seam of the row; keeps it where the new place is not legal beside its neighbours.
    fn slide(&self, at: &mut [f64], k: usize, draws: &mut Draws) {
        let before = if k == 0 { self.low } else { at[k - 1] };
        let after = at.get(k + 1).copied().unwrap_or(self.high);
        let wish = match draws.below(8) {
            0..=2 => self.filling_before(before, k > 0, draws),
            3..=5 => self.filling_after(after, k + 1 < at.len(), draws),
            6 => nearest_legal(self.intervals, before + draws.unit() * (after - before)),
            _ => nearest_legal(self.intervals, at[k] + (draws.unit() - 0.5) * 40.0),
        };
        if let Some(p) = wish
            && p - before >= self.min_piece()
            && after - p >= self.min_piece()
        {
            at[k] = p;
        }
    }

    /// The greatest legal place at which the piece before it fills some window's extent.
    fn filling_before(&self, before: f64, seam_before: bool, draws: &mut Draws) -> Option<f64> {
        let extent = self.extent(draws)?;
        let half_gap = self.prepared.task.seams.limits.gap / 2.0;
        let from = if seam_before {
            before - self.shape.reach.0 + half_gap
        } else {
            before
        };
        legal_below(
            self.intervals,
            from + extent - self.shape.reach.1 + half_gap,
        )
    }

    /// The least legal place at which the piece behind it fills some window's extent.
    fn filling_after(&self, after: f64, seam_after: bool, draws: &mut Draws) -> Option<f64> {
        let extent = self.extent(draws)?;
        let half_gap = self.prepared.task.seams.limits.gap / 2.0;
        let to = if seam_after {
            after + self.shape.reach.1 - half_gap
        } else {
            after
        };
        legal_above(self.intervals, to - extent + self.shape.reach.0 - half_gap)
    }

    fn extent(&self, draws: &mut Draws) -> Option<f64> {
        let extents = &self.class.extents;
        (!extents.is_empty()).then(|| extents[draws.below(extents.len())])
    }

    /// `n` seams at drawn places.
    fn draw(&self, n: usize, draws: &mut Draws) -> Option<Vec<f64>> {
        if n == 0 {
            return Some(Vec::new());
        }
        if draws.chance(0.2) {
            return self.even(
                n,
                (draws.unit() - 0.5) * 2.0 * self.prepared.task.seams.limits.min_lap,
            );
        }
        let from_front = draws.chance(0.5);
        let mut at = Vec::with_capacity(n);
        let mut edge = if from_front { self.low } else { self.high };
        for k in 0..n {
            let wish = if draws.chance(0.7) {
                if from_front {
                    self.filling_before(edge, k > 0, draws)
                } else {
                    self.filling_after(edge, k > 0, draws)
                }
            } else {
                let left = if from_front {
                    self.high - edge
                } else {
                    edge - self.low
                };
                let step = left / (n - k + 1) as f64 * (0.6 + 0.8 * draws.unit());
                nearest_legal(
                    self.intervals,
                    if from_front { edge + step } else { edge - step },
                )
            };
            edge = wish?;
            at.push(edge);
        }
        if !from_front {
            at.reverse();
        }
        self.spaced(&at).then_some(at)
    }

    /// `n` seams at equal shares, moved by `shift`, each at the legal place nearest to that.
    fn even(&self, n: usize, shift: f64) -> Option<Vec<f64>> {
        let step = (self.high - self.low) / (n + 1) as f64;
        let at: Option<Vec<f64>> = (1..=n)
            .map(|k| nearest_legal(self.intervals, self.low + step * k as f64 + shift))
            .collect();
        at.filter(|at| self.spaced(at))
    }

    fn spaced(&self, at: &[f64]) -> bool {
        let mut before = self.low;
        at.iter().chain(std::iter::once(&self.high)).all(|&p| {
            let wide = p - before >= self.min_piece() - 1e-9;
            before = p;
            wide
        })
    }
}
