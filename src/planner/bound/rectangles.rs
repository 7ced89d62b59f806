//! Bounds from rectangles that lie along the axes: how many sheets they need, how long a roll.
//!
//! Two rectangles at a distance of s or more have a gap of s ÷ √2 or more along x or along y. So rectangles grown by s ÷ √2 in
//! width and depth do not overlap, in a room that is grown likewise. Their widths and depths as shares of that room are
//! counted by a *threshold*: with t ≤ ½, a share below t counts nothing, one above 1 − t counts 1, any other counts as it is.
//! Shares that add up to 1 or less then still do: beside one above 1 − t all others lie below t. A line along x crosses
//! rectangles whose shares of the width add up to 1 or less; so widths may be replaced by what they count, and after them
//! depths, and the products of both add up to no more than 1 a sheet.

use crate::format::number;
use crate::model::cutter::Cutter;
use crate::planner::bound::floored;
use crate::planner::bound::supply::{Supply, cheapest_count};
use crate::planner::bound::thing::{ROUNDED, Thing};
use crate::planner::prepared::Class;

/// Thresholds that are tried each way, at the most.
const THRESHOLDS: usize = 24;
/// With more pairs of a thing and a sheet than this only a few thresholds are tried.
const MANY: usize = 4000;

/// What a share counts by a threshold.
fn counted(share: f64, threshold: f64) -> f64 {
    if share > 1.0 - threshold {
        1.0
    } else if share < threshold {
        0.0
    } else {
        share
    }
}

/// By how much rectangles and room are grown.
fn growth(spacing: f64) -> f64 {
    spacing * std::f64::consts::FRAC_1_SQRT_2
}

/// Shares of a room that a rectangle takes lying one way; `None` where it may not lie so or is too large.
fn shares(
    thing: &Thing,
    k: usize,
    supply: &Supply<'_>,
    turned: bool,
    grown: f64,
) -> Option<[f64; 2]> {
    let [w, d] = thing.rectangle?;
    if !thing.ways[k][usize::from(turned)] || !thing.enters[k] {
        return None;
    }
    let size = if turned { [d, w] } else { [w, d] };
    let share = |i: usize| (size[i] + grown - ROUNDED) / (supply.room[i] + grown);
    let out = [share(0), share(1)];
    (out[0] <= 1.0 && out[1] <= 1.0).then_some(out)
}

/// Thresholds worth trying for shares: at each share, and just so that each of the large ones counts whole.
fn thresholds(mut of: Vec<f64>, many: bool) -> Vec<f64> {
    let mut out = vec![0.0, 1.0 / 3.0, 0.5];
    if !many {
        of.sort_by(f64::total_cmp);
        of.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let step = of.len().div_ceil(THRESHOLDS).max(1);
        out.extend(
            of.iter()
                .step_by(step)
                .map(|&x| if x <= 0.5 { x } else { 1.0 - x + 1e-9 }),
        );
        out.retain(|t| *t <= 0.5);
    }
    out
}

/// How many sheets the rectangles of a class need at the least, and what so many cost.
pub(super) fn by_count(
    class: &Class,
    supplies: &[Supply<'_>],
    things: &[Thing],
    spacing: f64,
) -> Option<(f64, String)> {
    let boxes: Vec<&Thing> = things.iter().filter(|t| t.rectangle.is_some()).collect();
    if boxes.is_empty() || supplies.iter().any(|s| s.by_length) {
        return None;
    }
    let grown = growth(spacing);
    let mut lists = [Vec::new(), Vec::new()];
    let mut known: Vec<Vec<Vec<[f64; 2]>>> = Vec::with_capacity(boxes.len());
    for thing in &boxes {
        let of = |k: usize| -> Vec<[f64; 2]> {
            [false, true]
                .into_iter()
                .filter_map(|turned| shares(thing, k, &supplies[k], turned, grown))
                .collect()
        };
        let by_sheet: Vec<Vec<[f64; 2]>> = (0..supplies.len()).map(of).collect();
        for s in by_sheet.iter().flatten() {
            lists[0].push(s[0]);
            lists[1].push(s[1]);
        }
        known.push(by_sheet);
    }
    let many = boxes.len() * supplies.len() > MANY;
    let [wide, deep] = lists;
    let (wide, deep) = (thresholds(wide, many), thresholds(deep, many));
    let mut most: Option<(usize, f64, [f64; 2])> = None;
    for &t in &wide {
        for &u in &deep {
            // A thing counts as it does where it counts least.
            let sum: f64 = boxes
                .iter()
                .zip(&known)
                .map(|(thing, by_sheet)| {
                    let least = by_sheet
                        .iter()
                        .flatten()
                        .map(|s| counted(s[0], t) * counted(s[1], u))
                        .fold(f64::INFINITY, f64::min);
                    if least.is_finite() {
                        thing.count as f64 * least
                    } else {
                        0.0
                    }
                })
                .sum();
            let n = (sum - 1e-6).ceil().max(0.0) as usize;
            if most.is_none_or(|m| n > m.0 || (n == m.0 && sum > m.1)) {
                most = Some((n, sum, [t, u]));
            }
        }
    }
    let (n, sum, [t, u]) = most?;
    let (cost, chosen) = cheapest_count(supplies, n, |s| things.iter().any(|t| t.enters[s]))?;
    let whole = |t: f64| number::short((1e4 * (1.0 - t)).floor() / 1e4);
    let none = |t: f64| number::short((1e4 * t).ceil() / 1e4);
    Some((
        cost,
        format!(
            "{} mm: of each rectangle, grown by {} both ways, take the share of the width and of the depth of the room in a sheet (within its edge margins, grown likewise); a share of the width counts 1 above {} and 0 below {}, one of the depth 1 above {} and 0 below {}; the products, on the sheet and turned as they are least, add up to {}, so {n} sheets are needed, and no {n} cost less than {chosen}: {}",
            class.name,
            number::short((1e4 * grown).floor() / 1e4),
            whole(t),
            none(t),
            whole(u),
            none(u),
            number::short((1e3 * sum).floor() / 1e3),
            number::short(floored(cost))
        ),
    ))
}

/// How long the one roll of a class has to be for its rectangles, or for its longest piece.
pub(super) fn by_length(
    class: &Class,
    supplies: &[Supply<'_>],
    things: &[Thing],
    cutter: &Cutter,
) -> Option<(f64, String)> {
    let [roll] = supplies else {
        return None;
    };
    let (grown, margin) = (growth(cutter.spacing), cutter.edge_margin);
    if !roll.by_length || 2.0 * margin < grown {
        return None;
    }
    let whole_length = class.bins.first()?.by_length?;
    let rate = roll.cost / whole_length;
    let depth = roll.room[1] + grown;
    let mut deep = Vec::new();
    let mut laid: Vec<(f64, Vec<[f64; 2]>)> = Vec::new();
    for thing in things {
        let ways: Vec<[f64; 2]> = [false, true]
            .into_iter()
            .filter(|&turned| shares(thing, 0, roll, turned, grown).is_some())
            .filter_map(|turned| {
                let [w, d] = thing.rectangle?;
                Some(if turned {
                    [d + grown, w + grown]
                } else {
                    [w + grown, d + grown]
                })
            })
            .collect();
        deep.extend(ways.iter().map(|s| (s[1] - ROUNDED) / depth));
        if !ways.is_empty() {
            laid.push((thing.count as f64, ways));
        }
    }
    let mut most = (0.0, 0.0);
    for t in thresholds(deep, false) {
        let sum: f64 = laid
            .iter()
            .map(|(count, ways)| {
                let least = ways
                    .iter()
                    .map(|s| (s[0] - ROUNDED) * counted((s[1] - ROUNDED) / depth, t))
                    .fold(f64::INFINITY, f64::min);
                count * least
            })
            .sum();
        if sum > most.0 {
            most = (sum, t);
        }
    }
    let (sum, t) = most;
    let length = sum - grown + 2.0 * margin;
    (sum > 0.0).then(|| {
        let cost = rate * length;
        (
            cost,
            format!(
                "{} mm: of each rectangle, grown by {} both ways, take its length times the share of the roll's depth within its edge margins (grown likewise) that lies across; a share counts 1 above {} and 0 below {}; turned as they are least these add up to {} mm, so the roll is used for {} mm or more: {}",
                class.name,
                number::short((1e4 * grown).floor() / 1e4),
                number::short((1e4 * (1.0 - t)).floor() / 1e4),
                number::short((1e4 * t).ceil() / 1e4),
                number::short(sum.floor()),
                number::short(length.floor()),
                number::short(floored(cost))
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thresholds_count_no_more_than_one_for_shares_that_add_up_to_one() {
        // Random shares of sum 1 (a broken stick), from a congruential generator.
        let mut state = 11_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(1_u32 << 31)
        };
        for _ in 0..2000 {
            let mut cuts: Vec<f64> = (0..4).map(|_| next()).collect();
            cuts.extend([0.0, 1.0]);
            cuts.sort_by(f64::total_cmp);
            let t = 0.5 * next();
            let sum: f64 = cuts.windows(2).map(|p| counted(p[1] - p[0], t)).sum();
            assert!(sum <= 1.0 + 1e-12, "{cuts:?} by {t}: {sum}");
        }
        assert_eq!(counted(0.51, 0.5), 1.0, "more than half counts whole");
    }
}
