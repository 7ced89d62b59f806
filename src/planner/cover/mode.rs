//! Modes: which boxes of a sheet can be used together.
//!
//! In: the clear boxes of a sheet. Out: sets of one to three of them that keep the spacing; and boxes with a corner cut out that
//! two clear boxes make. Of two side by side each is as large as it can be, so that they overlap a little: where one piece ends
//! and the other begins is settled with the positions. Those count most of which one is as long as any box is: along such a
//! line a slope begins.
//!
//! Tried and left: many lines between two boxes along a slope, a few millimetres apart (lists of ways were full of them, and
//! what fits lay between two of them still).

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::model::cutter::Axis;
use crate::planner::cover::place::{Notch, Share};
use crate::planner::packing::{Bin, take};

/// Ways to use one sheet that are looked at.
const MOST_MODES: usize = 160;
/// Ways of several boxes of one sheet that are looked at: of two side by side along x, along y, or otherwise, and of three.
const MOST_SEVERAL: [usize; 4] = [2, 2, 3, 3];
/// Boxes with a corner cut out of one sheet that are looked at.
pub(super) const MOST_NOTCHED: usize = 8;
/// Least side of a corner cut out, as a share of the least piece.
const LEAST_NOTCH: f64 = 0.3;
/// By how much one of two boxes side by side may take from the other, in mm.
pub(super) const SHARED: f64 = 13.0;
/// By how much the boxes of a way of several boxes may be larger than another's and still count as the same, in mm.
const ALIKE: f64 = 1.5;

/// Whether every box of one mode lies in another one of the other mode, but for so much.
fn holds(mode: &[Bounds], boxes: &[Bounds], but: f64) -> bool {
    let within = |b: &Bounds, m: &Bounds| {
        let m = m.grown(but);
        m.min.x <= b.min.x && m.min.y <= b.min.y && b.max.x <= m.max.x && b.max.y <= m.max.y
    };
    let mut free: Vec<&Bounds> = mode.iter().collect();
    boxes.len() <= mode.len()
        && boxes.iter().all(|b| {
            let at = free.iter().position(|m| within(b, m));
            at.map(|k| free.remove(k)).is_some()
        })
}

/// Whether one of two boxes side by side is as long as any window across the line between them: such a line begins where a
/// slope does.
fn spans(boxes: &[Bounds], windows: &[Bounds], spacing: f64) -> bool {
    let [a, b] = boxes else {
        return false;
    };
    let along = |axis: Axis, w: &Bounds| match axis {
        Axis::X => w.depth(),
        Axis::Y => w.width(),
    };
    Share::of(a, b, spacing).is_some_and(|(axis, ..)| {
        let most = windows.iter().map(|w| along(axis, w)).fold(0.0, f64::max);
        along(axis, a).max(along(axis, b)) >= most - 1e-6
    })
}

/// A box beside another one, grown toward it as far as a window allows, and the length that they then share.
fn shared(
    first: &Bounds,
    second: &Bounds,
    windows: &[Bounds],
    spacing: f64,
) -> Option<(Bounds, Axis, f64)> {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let around: Vec<&Bounds> = windows.iter().filter(|w| w.holds_box(*second)).collect();
    let room =
        |of: &dyn Fn(&Bounds) -> f64| around.iter().map(|w| of(w)).fold(0.0, f64::max).min(SHARED);
    let (a, b) = (first, second);
    let mut grown = *second;
    if near(b.min.x, a.max.x + spacing) {
        grown.min.x -= room(&|w| b.min.x - w.min.x);
        Some((grown, Axis::X, b.max.x - a.min.x))
    } else if near(b.max.x, a.min.x - spacing) {
        grown.max.x += room(&|w| w.max.x - b.max.x);
        Some((grown, Axis::X, a.max.x - b.min.x))
    } else if near(b.min.y, a.max.y + spacing) {
        grown.min.y -= room(&|w| b.min.y - w.min.y);
        Some((grown, Axis::Y, b.max.y - a.min.y))
    } else if near(b.max.y, a.min.y - spacing) {
        grown.max.y += room(&|w| w.max.y - b.max.y);
        Some((grown, Axis::Y, a.max.y - b.min.y))
    } else {
        None
    }
}

/// The boxes with a corner cut out that two clear boxes make which cross each other, largest first.
pub(super) fn notched(windows: &[Bounds], least: f64) -> Vec<(Bounds, Notch)> {
    let mut out: Vec<(Bounds, Notch)> = Vec::new();
    for wide in windows {
        for tall in windows {
            let crosses = wide.min.x <= tall.min.x
                && tall.max.x <= wide.max.x
                && tall.min.y <= wide.min.y
                && wide.max.y <= tall.max.y;
            if !crosses {
                continue;
            }
            for high in [[false, false], [false, true], [true, false], [true, true]] {
                // The arm of each that is kept reaches toward the notch; the other end is that of the narrower box.
                let (x0, x1) = if high[0] {
                    (tall.min.x, wide.max.x)
                } else {
                    (wide.min.x, tall.max.x)
                };
                let (y0, y1) = if high[1] {
                    (wide.min.y, tall.max.y)
                } else {
                    (tall.min.y, wide.max.y)
                };
                let window = Bounds::new(Point::new(x0, y0), Point::new(x1, y1));
                let size = [window.width() - tall.width(), window.depth() - wide.depth()];
                if size[0].min(size[1]) >= LEAST_NOTCH * least {
                    out.push((window, Notch { high, size }));
                }
            }
        }
    }
    let area = |(w, n): &(Bounds, Notch)| w.width() * w.depth() - n.size[0] * n.size[1];
    out.sort_by(|a, b| area(b).total_cmp(&area(a)));
    out.truncate(MOST_NOTCHED);
    out
}

/// The modes of a sheet: those of one box first.
pub(super) fn modes(bin: &Bin, least: f64, spacing: f64) -> Vec<Vec<Bounds>> {
    let wide = |w: &Bounds| w.width() >= least && w.depth() >= least;
    let mut single: Vec<Vec<Bounds>> = Vec::new();
    let mut several: [Vec<Vec<Bounds>>; 4] = Default::default();
    let mut add = |boxes: Vec<Bounds>| {
        // Beside an arc there are many ways that hardly differ.
        let rest = if boxes.len() > 1 { ALIKE } else { 0.0 };
        let modes = match boxes[..] {
            [_] => &mut single,
            [a, b] => match Share::of(&a, &b, spacing) {
                Some((Axis::X, ..)) => &mut several[0],
                Some((Axis::Y, ..)) => &mut several[1],
                None => &mut several[2],
            },
            _ => &mut several[3],
        };
        if !modes.iter().any(|m| holds(m, &boxes, rest)) {
            modes.retain(|m| !holds(&boxes, m, 0.0));
            modes.push(boxes);
        }
    };
    for first in bin.windows.iter().filter(|w| wide(w)) {
        let mut rest = bin.windows.clone();
        take(&mut rest, first.grown(spacing));
        rest.retain(wide);
        if rest.is_empty() {
            add(vec![*first]);
        }
        for second in &rest {
            // Two large pieces are asked for as often as three.
            let grown = shared(first, second, &bin.windows, spacing);
            add(vec![*first, grown.map_or(*second, |g| g.0)]);
            let mut third = rest.clone();
            take(&mut third, second.grown(spacing));
            third.retain(wide);
            if let Some(third) = third.first() {
                add(vec![*first, *second, *third]);
            }
        }
    }
    // Those of several boxes count twice, since they can be combined: only the largest stay.
    let area = |m: &Vec<Bounds>| {
        let over = match m[..] {
            [a, b] => {
                let x = a.max.x.min(b.max.x) - a.min.x.max(b.min.x);
                let y = a.max.y.min(b.max.y) - a.min.y.max(b.min.y);
                x.max(0.0) * y.max(0.0)
            }
            _ => 0.0,
        };
        m.iter().map(|b| b.width() * b.depth()).sum::<f64>() - over
    };
    for (list, most) in several.iter_mut().zip(MOST_SEVERAL) {
        list.sort_by(|a, b| {
            let whole = |m: &Vec<Bounds>| !spans(m, &bin.windows, spacing);
            whole(a).cmp(&whole(b)).then(area(b).total_cmp(&area(a)))
        });
        list.truncate(most);
    }
    single.retain(|m| !several.iter().flatten().any(|s| holds(s, m, 0.0)));
    single.truncate(MOST_MODES);
    single
        .into_iter()
        .chain(several.into_iter().flatten())
        .collect()
}
