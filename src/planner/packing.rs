//! Boxes on windows: a quick answer to "which sheets would these pieces take".
//!
//! In: boxes with the turns allowed, sheets as lists of maximal clear boxes (less margin), and an order of both. Out: where
//! each box lies, what is left over, what it costs. The free room of a sheet is kept as its maximal clear boxes; a box
//! laid down cuts every one that it touches, with spacing around it. Nothing here is certified: boxes stand for pieces.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::model::cutter::Axis;

/// A box to lay down.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BoxItem {
    /// Extents as drawn.
    pub(crate) size: [f64; 2],
    /// Whether it may lie as drawn, or turned by a quarter, where grain does not say otherwise.
    pub(crate) turns: [bool; 2],
    /// Its grain.
    pub(crate) grain: Option<Axis>,
}

/// One sheet.
#[derive(Clone, Debug)]
pub(crate) struct Bin {
    /// Maximal clear boxes.
    pub(crate) windows: Vec<Bounds>,
    /// Value of the whole sheet.
    pub(crate) cost: f64,
    /// Area in mm² that its value counts for.
    pub(crate) area_mm2: f64,
    /// Its length, where sold by length.
    pub(crate) by_length: Option<f64>,
    /// Its grain.
    pub(crate) grain: Option<Axis>,
    /// Place in the stock.
    pub(crate) sheet: usize,
    /// Which of its kind.
    pub(crate) number: usize,
}

/// Where a box lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    /// Place in the list of bins.
    pub(crate) bin: usize,
    /// Its front-left corner.
    pub(crate) at: Point,
    /// Whether it is turned by a quarter.
    pub(crate) turned: bool,
}

/// What a packing came to.
#[derive(Clone, Debug, Default)]
pub(crate) struct Packed {
    /// By item; `None` for what found no place.
    pub(crate) spots: Vec<Option<Spot>>,
    /// Cost of the sheets used.
    pub(crate) cost: f64,
    /// Area of what found no place.
    pub(crate) unplaced_mm2: f64,
    /// Area of the largest clear box left on each used sheet, if worth keeping, added up.
    pub(crate) kept_mm2: f64,
    /// Σ cost · (share filled)² of the used sheets: larger where sheets are either full or empty.
    pub(crate) concentration: f64,
}

/// Lays boxes down in their order, each on the first sheet of the order that takes it, where it leaves the least room
/// beside it.
pub(crate) fn pack(
    items: &[BoxItem],
    order: &[usize],
    bins: &[Bin],
    bin_order: &[usize],
    spacing: f64,
    margin: f64,
    remnant: [f64; 2],
) -> Packed {
    let mut free: Vec<Option<Vec<Bounds>>> = vec![None; bins.len()];
    let mut reach = vec![0.0_f64; bins.len()];
    let mut filled = vec![0.0_f64; bins.len()];
    let mut out = Packed {
        spots: vec![None; items.len()],
        ..Packed::default()
    };
    for &item in order {
        let found = bin_order.iter().find_map(|&b| {
            let windows = free[b].as_deref().unwrap_or(&bins[b].windows);
            best_spot(&items[item], &bins[b], windows).map(|(at, turned)| Spot {
                bin: b,
                at,
                turned,
            })
        });
        let size = items[item].size;
        let Some(spot) = found else {
            out.unplaced_mm2 += size[0] * size[1];
            continue;
        };
        let [w, d] = if spot.turned {
            [size[1], size[0]]
        } else {
            size
        };
        let taken = Bounds::new(spot.at, spot.at + Point::new(w, d));
        let windows = free[spot.bin].get_or_insert_with(|| bins[spot.bin].windows.clone());
        take(windows, taken.grown(spacing));
        reach[spot.bin] = reach[spot.bin].max(taken.max.x);
        filled[spot.bin] += w * d;
        out.spots[item] = Some(spot);
    }
    for (b, bin) in bins.iter().enumerate().filter(|(b, _)| free[*b].is_some()) {
        let share = bin
            .by_length
            .map_or(1.0, |length| ((reach[b] + margin) / length).min(1.0));
        out.cost += bin.cost * share;
        out.concentration +=
            bin.cost * (filled[b] / bin.area_mm2).min(1.0) * (filled[b] / bin.area_mm2).min(1.0);
        let fits = |w: &Bounds| {
            (w.width() >= remnant[0] && w.depth() >= remnant[1])
                || (w.width() >= remnant[1] && w.depth() >= remnant[0])
        };
        out.kept_mm2 += if bin.by_length.is_some() {
            0.0
        } else {
            free[b]
                .iter()
                .flatten()
                .filter(|w| fits(w))
                .map(|w| w.width() * w.depth())
                .fold(0.0, f64::max)
        };
    }
    out
}

/// The corner of the window that an item fills best: least room left on its tighter side, then frontmost, then leftmost;
/// on a sheet sold by length leftmost first.
fn best_spot(item: &BoxItem, bin: &Bin, windows: &[Bounds]) -> Option<(Point, bool)> {
    let mut best: Option<([f64; 3], Point, bool)> = None;
    for turned in [false, true] {
        if !may_turn(item, bin.grain, turned) {
            continue;
        }
        let [w, d] = if turned {
            [item.size[1], item.size[0]]
        } else {
            item.size
        };
        for window in windows {
            let (over_x, over_y) = (window.width() - w, window.depth() - d);
            if over_x < -1e-9 || over_y < -1e-9 {
                continue;
            }
            let key = if bin.by_length.is_some() {
                [window.min.x + w, window.min.y, over_y]
            } else {
                [over_x.min(over_y), window.min.y, window.min.x]
            };
            if best.as_ref().is_none_or(|(k, _, _)| less(&key, k)) {
                best = Some((key, window.min, turned));
            }
        }
    }
    best.map(|(_, at, turned)| (at, turned))
}

/// Whether an item may lie as drawn (`turned` false) or turned by a quarter on a sheet of this grain.
pub(crate) fn may_turn(item: &BoxItem, along: Option<Axis>, turned: bool) -> bool {
    match (item.grain, along) {
        (Some(own), Some(sheet)) => (own == sheet) != turned,
        _ => item.turns[usize::from(turned)],
    }
}

fn less(a: &[f64; 3], b: &[f64; 3]) -> bool {
    a.iter()
        .zip(b)
        .find(|(x, y)| (*x - *y).abs() > 1e-9)
        .is_some_and(|(x, y)| x < y)
}

/// Takes a box out of the clear boxes: each that it meets is cut into the up to four that stay beside it; those inside
/// another go.
pub(crate) fn take(windows: &mut Vec<Bounds>, taken: Bounds) {
    let mut made = Vec::new();
    windows.retain(|w| {
        let meets = taken.min.x < w.max.x
            && w.min.x < taken.max.x
            && taken.min.y < w.max.y
            && w.min.y < taken.max.y;
        if meets {
            let sides = [
                Bounds::new(w.min, Point::new(taken.min.x, w.max.y)),
                Bounds::new(Point::new(taken.max.x, w.min.y), w.max),
                Bounds::new(w.min, Point::new(w.max.x, taken.min.y)),
                Bounds::new(Point::new(w.min.x, taken.max.y), w.max),
            ];
            made.extend(
                sides
                    .into_iter()
                    .filter(|s| s.width() > 1.0 && s.depth() > 1.0),
            );
        }
        !meets
    });
    for (k, one) in made.iter().enumerate() {
        let inside = windows.iter().any(|w| w.holds_box(*one))
            || made
                .iter()
                .enumerate()
                .any(|(j, w)| j != k && w.holds_box(*one) && (j < k || w != one));
        if !inside {
            windows.push(*one);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bin(w: f64, d: f64, cost: f64) -> Bin {
        Bin {
            windows: vec![Bounds::new(
                Point::new(5.0, 5.0),
                Point::new(w - 5.0, d - 5.0),
            )],
            cost,
            area_mm2: w * d,
            by_length: None,
            grain: None,
            sheet: 0,
            number: 0,
        }
    }

    fn item(w: f64, d: f64) -> BoxItem {
        BoxItem {
            size: [w, d],
            turns: [true, true],
            grain: None,
        }
    }

    #[test]
    fn two_boxes_and_the_spacing_fill_a_window_exactly() {
        // 5 + 144 + 2 + 144 + 5 = 300, by hand.
        let packed = pack(
            &[item(144.0, 190.0), item(144.0, 190.0)],
            &[0, 1],
            &[bin(300.0, 200.0, 3.0)],
            &[0],
            2.0,
            5.0,
            [100.0, 100.0],
        );
        assert_eq!(packed.unplaced_mm2, 0.0);
        assert_eq!(packed.spots[1].map(|s| s.at), Some(Point::new(151.0, 5.0)));
        let tight = pack(
            &[item(144.0, 190.0), item(144.1, 190.0)],
            &[0, 1],
            &[bin(300.0, 200.0, 3.0)],
            &[0],
            2.0,
            5.0,
            [100.0, 100.0],
        );
        assert_eq!(tight.spots[1], None, "a tenth of a millimetre too wide");
    }

    #[test]
    fn grain_on_both_overrides_turns() {
        let along = BoxItem {
            grain: Some(Axis::X),
            ..item(150.0, 90.0)
        };
        let across = Bin {
            grain: Some(Axis::Y),
            ..bin(200.0, 200.0, 1.0)
        };
        let packed = pack(&[along], &[0], &[across], &[0], 2.0, 5.0, [100.0, 100.0]);
        assert_eq!(
            packed.spots[0].map(|s| s.turned),
            Some(true),
            "x of the piece lies along y of the sheet"
        );
    }

    #[test]
    fn a_sheet_sold_by_length_costs_what_is_used() {
        let roll = Bin {
            by_length: Some(1000.0),
            ..bin(1000.0, 200.0, 10.0)
        };
        let packed = pack(
            &[item(100.0, 190.0)],
            &[0],
            &[roll],
            &[0],
            2.0,
            5.0,
            [100.0, 100.0],
        );
        // 5 + 100 + 5 = 110 of 1000.
        assert!(
            (packed.cost - 1.1).abs() < 1e-12,
            "10 · 110 / 1000; one rounding"
        );
    }
}
