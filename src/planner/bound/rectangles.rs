//! Rows from rectangles along the axes, within what is cut: how many sheets they need.
//!
//! Shapes that keep a distance have rectangles within them that keep it too; a shape that is no rectangle stands for one within it.
//! Two rectangles at a distance of s or more have a gap of s ÷ √2 or more along x or along y. So rectangles grown by s ÷ √2 in
//! width and depth do not overlap, in a room that is grown likewise. Their widths and depths as shares of that room are
//! counted each by a way of [`Counted`]. A line along x crosses rectangles whose shares of the width add up to 1 or less; so
//! widths may be replaced by what they count, and after them depths, and the products of both add up to no more than 1 a
//! sheet.

use crate::format::number;
use crate::planner::bound::counted::{Counted, worth_trying};
use crate::planner::bound::row::{Figure, Row};
use crate::planner::bound::supply::Supply;
use crate::planner::bound::thing::{ROUNDED, Thing};

/// Ways to count of each family that are tried each way, at the most, for few and for many things on sheets.
const TRIED: [usize; 2] = [20, 2];
/// Things that are told by name.
const NAMED: usize = 12;
/// With more pairs of a thing and a sheet than this they are many.
const MANY: usize = 4000;

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

/// How many sheets the rectangles of a class need at the least.
pub(super) fn by_count(supplies: &[Supply<'_>], things: &[Thing], spacing: f64) -> Option<Row> {
    let boxes: Vec<&Thing> = things.iter().filter(|t| t.rectangle.is_some()).collect();
    if boxes.is_empty() || supplies.iter().any(|s| s.roll.is_some()) {
        return None;
    }
    let grown = spacing * std::f64::consts::FRAC_1_SQRT_2;
    let mut lists = [Vec::new(), Vec::new()];
    let mut known: Vec<Vec<[f64; 2]>> = Vec::with_capacity(boxes.len());
    for thing in &boxes {
        let ways = (0..supplies.len()).flat_map(|k| {
            [false, true]
                .into_iter()
                .filter_map(move |turned| shares(thing, k, &supplies[k], turned, grown))
        });
        let ways: Vec<[f64; 2]> = ways.collect();
        for s in &ways {
            lists[0].push(s[0]);
            lists[1].push(s[1]);
        }
        known.push(ways);
    }
    let tried = TRIED[usize::from(boxes.len() * supplies.len() > MANY)];
    let [wide, deep] = lists.map(|l| worth_trying(l, tried));
    let mut most: Option<(f64, [Counted; 2])> = None;
    for &by_width in &wide {
        for &by_depth in &deep {
            // A thing counts as it does where it counts least.
            let least = |ways: &Vec<[f64; 2]>| {
                ways.iter()
                    .map(|s| by_width.of(s[0]) * by_depth.of(s[1]))
                    .reduce(f64::min)
                    .unwrap_or(0.0)
            };
            let sum: f64 = boxes
                .iter()
                .zip(&known)
                .map(|(t, ways)| t.count as f64 * least(ways))
                .sum();
            if most.is_none_or(|m| sum > m.0 + 1e-9) {
                most = Some((sum, [by_width, by_depth]));
            }
        }
    }
    let (sum, [by_width, by_depth]) = most?;
    let mut told: Vec<String> = boxes
        .iter()
        .take(NAMED)
        .filter_map(|t| {
            let [w, d] = t
                .rectangle?
                .map(|v| number::short((v * 100.0).floor() / 100.0));
            Some(format!("{} × `{}` {w} × {d}", t.count, t.name))
        })
        .collect();
    if boxes.len() > NAMED {
        told.push(format!("{} more kinds", boxes.len() - NAMED));
    }
    let carries = (0..supplies.len())
        .map(|k| {
            if things.iter().any(|t| t.enters[k]) {
                1.0
            } else {
                0.0
            }
        })
        .collect();
    Some(Row {
        need: (sum - 1e-6).ceil().max(0.0),
        carries,
        figure: Figure::Number,
        says: format!(
            "of the rectangles in parts ({}), grown by {} both ways, take the share of the width and of the depth of the room in a sheet (within its edge margins, grown likewise); a share of the width counts {}, one of the depth {}; the products, on the sheet and turned as they are least, add up to {}",
            told.join(", "),
            number::number(grown, 4),
            by_width.told(),
            by_depth.told(),
            number::short((1e3 * sum).floor() / 1e3),
        ),
    })
}
