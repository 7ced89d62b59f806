//! Rows from what lies side by side on one line: how much of a sheet's width, or of a roll's length, shapes of any form take.
//!
//! A line along y crosses grown pieces in chords that add up to no more than the room's depth there (grown by half the spacing
//! too). So their shares of the depth may be counted by any way of [`Counted`], and still add up to 1 or less on each line. Added
//! up over all lines along the room's width this is: the widths of all pieces, counted so, are no more than the room's. The
//! same holds with x and y exchanged, on sheets.
//!
//! Each piece counts as it does lying the way and on the sheet where it counts least, as a share of the sheet times what
//! the sheet stands for: 1, its area or its cost; any figures would do. A layer that is split counts nothing.

use crate::format::number;
use crate::planner::bound::counted::{Counted, worth_trying};
use crate::planner::bound::row::{Figure, Row, at_least};
use crate::planner::bound::supply::Supply;
use crate::planner::bound::thing::{FORGIVEN, ROUNDED, Thing};

/// Ways to count of each family that are tried, at the most, for few things and for many.
const TRIED: [usize; 2] = [16, 3];
/// With more ways of things to lie on sheets than this they are many.
const MANY: usize = 3000;
/// Things that are told by name.
const NAMED: usize = 12;

/// Things whose least extents are looked for: the longest.
const MOST_LONG: usize = 40;

/// What a sheet stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Worth {
    One,
    Area,
    Cost,
}

/// One look at a class: along which axis chords are taken, and how they count.
struct Look<'a> {
    supplies: &'a [Supply<'a>],
    spacing: f64,
    crossed: bool,
}

impl Look<'_> {
    /// Width of a kind's grown room, across the chords, and its depth, along them. A roll's width is 1 mm.
    fn room(&self, k: usize) -> [f64; 2] {
        let supply = &self.supplies[k];
        let [w, d] = supply.room.map(|v| v + self.spacing);
        match (supply.roll, self.crossed) {
            (Some(_), _) => [1.0, d],
            (None, false) => [w, d],
            (None, true) => [d, w],
        }
    }

    fn worth(&self, k: usize, of: Worth) -> f64 {
        let [w, d] = self.room(k);
        match of {
            Worth::One => {
                w / if self.supplies[k].roll.is_some() {
                    1.0
                } else {
                    w
                }
            }
            Worth::Area => w * d,
            Worth::Cost => self.supplies[k].price(),
        }
    }

    /// The least that a thing counts on a kind of sheet, as a share of it; `None` where it cannot lie there.
    fn share(&self, thing: &Thing, k: usize, how: Counted) -> Option<f64> {
        if !thing.enters[k] {
            return None;
        }
        let [width, depth] = self.room(k);
        let of = self.supplies[k].room;
        let of = if self.crossed { [of[1], of[0]] } else { of };
        let fits = |size: [f64; 2]| size[0] <= of[0] + ROUNDED && size[1] <= of[1] + ROUNDED;
        let least = thing
            .lying(k, self.crossed)
            .filter(|l| fits(l.size))
            .map(|l| l.chords.counted(how, depth, ROUNDED) / width)
            .reduce(f64::min);
        // Not known: nothing.
        Some(least.unwrap_or(0.0))
    }

    /// The shares that longest chords are, for choosing ways to count.
    fn longest(&self, things: &[Thing]) -> Vec<f64> {
        let kinds = 0..self.supplies.len();
        let of = |thing: &Thing, k: usize| -> Vec<f64> {
            let depth = self.room(k)[1];
            let step = thing.lying(k, self.crossed).count().div_ceil(8).max(1);
            let lying = thing.lying(k, self.crossed).step_by(step);
            lying
                .map(|l| (l.chords.longest() - ROUNDED) / depth)
                .collect()
        };
        things
            .iter()
            .flat_map(|t| {
                kinds
                    .clone()
                    .filter(|&k| t.enters[k])
                    .flat_map(|k| of(t, k))
                    .collect::<Vec<_>>()
            })
            .filter(|s| *s <= 1.0)
            .collect()
    }
}

/// The best row of each sort, for things that enter no other sheets than one of `sets`.
pub(super) fn rows(
    supplies: &[Supply<'_>],
    things: &[Thing],
    sets: &[Vec<bool>],
    spacing: f64,
) -> Vec<Row> {
    let has_roll = supplies.iter().any(|s| s.roll.is_some());
    let many: usize = things
        .iter()
        .map(|t| {
            (0..supplies.len())
                .map(|k| t.lying(k, false).count())
                .sum::<usize>()
        })
        .sum();
    let tried = TRIED[usize::from(many > MANY)];
    let mut out = Vec::new();
    for crossed in [false, true] {
        if crossed && has_roll {
            continue;
        }
        let look = Look {
            supplies,
            spacing,
            crossed,
        };
        let mut best: [Option<(f64, Found)>; 3] = [None, None, None];
        for how in worth_trying(look.longest(things), tried) {
            let shares: Vec<Vec<Option<f64>>> = things
                .iter()
                .map(|t| (0..supplies.len()).map(|k| look.share(t, k, how)).collect())
                .collect();
            for (at, worth) in [Worth::One, Worth::Area, Worth::Cost]
                .into_iter()
                .enumerate()
            {
                for set in sets {
                    let found = found(&look, things, &shares, (how, worth, set));
                    let cost = at_least(supplies, &found.row);
                    if cost > best[at].as_ref().map_or(0.0, |b| b.0 * (1.0 + 1e-9)) {
                        best[at] = Some((cost, found));
                    }
                }
            }
        }
        for (_, mut found) in best.into_iter().flatten() {
            found.row.says = found.says(&look, things);
            out.push(found.row);
        }
    }
    out
}

struct Found {
    row: Row,
    how: Counted,
    worth: Worth,
    each: Vec<f64>,
}

fn found(
    look: &Look<'_>,
    things: &[Thing],
    shares: &[Vec<Option<f64>>],
    (how, worth, set): (Counted, Worth, &Vec<bool>),
) -> Found {
    let worths: Vec<f64> = (0..set.len()).map(|k| look.worth(k, worth)).collect();
    let each: Vec<f64> = things
        .iter()
        .zip(shares)
        .map(|(thing, shares)| {
            if thing
                .enters
                .iter()
                .zip(set)
                .any(|(enters, of)| *enters && !of)
            {
                return 0.0;
            }
            let least = shares
                .iter()
                .zip(&worths)
                .filter_map(|(share, worth)| share.map(|s| s * worth))
                .reduce(f64::min);
            least.unwrap_or(0.0)
        })
        .collect();
    let sum: f64 = things
        .iter()
        .zip(&each)
        .map(|(t, e)| t.count as f64 * e)
        .sum();
    let whole = worth == Worth::One && !look.supplies.iter().any(|s| s.roll.is_some());
    Found {
        row: Row {
            need: if whole {
                (sum - 1e-6).ceil().max(0.0)
            } else {
                sum
            },
            carries: worths
                .iter()
                .zip(set)
                .map(|(w, of)| if *of { *w } else { 0.0 })
                .collect(),
            figure: match worth {
                Worth::Area => Figure::Area,
                _ => Figure::Number,
            },
            says: String::new(),
        },
        how,
        worth,
        each,
    }
}

impl Found {
    fn says(&self, look: &Look<'_>, things: &[Thing]) -> String {
        let figure = |v: f64| match self.worth {
            Worth::Area => number::number((v * 100.0).floor() / 1e4, 4),
            _ => number::number((v * 1e4).floor() / 1e4, 4),
        };
        let mut named: Vec<(&Thing, f64)> = things
            .iter()
            .zip(self.each.iter().copied())
            .filter(|(_, e)| *e > 0.0)
            .collect();
        let more = named.len().saturating_sub(NAMED);
        named.sort_by(|a, b| (b.1 * b.0.count as f64).total_cmp(&(a.1 * a.0.count as f64)));
        let mut list: Vec<String> = named
            .iter()
            .take(NAMED)
            .map(|(t, e)| format!("{} × {} `{}`", t.count, figure(*e), t.name))
            .collect();
        if more > 0 {
            list.push(format!("{more} more kinds"));
        }
        let (along, across) = if look.crossed { ("x", "y") } else { ("y", "x") };
        let sum: f64 = named.iter().map(|(t, e)| t.count as f64 * e).sum();
        let has_roll = look.supplies.iter().any(|s| s.roll.is_some());
        let (unit, stands) = match (self.worth, has_roll) {
            (Worth::One, false) => ("", "a share of the sheet"),
            (Worth::One, true) => ("", "mm on a roll, a share on a sheet"),
            (Worth::Area, _) => (" cm²", "a share of the room's area"),
            (Worth::Cost, _) => ("", "a share of the sheet times its cost"),
        };
        format!(
            "of each line along {along} parts grown by half the spacing ({}) take a share of the room (within edge margins less half the spacing), which counts {}; added up along {across}, turned and on the sheet as it is least, that is ({stands}) {}: {}{unit} in all",
            number::number(look.spacing / 2.0, 4),
            self.how.told(),
            list.join(", "),
            figure(sum),
        )
    }
}

/// Rows of what is longest: it lies on a sheet that it enters, or a roll is used as far as it is long.
pub(super) fn longest(supplies: &[Supply<'_>], things: &[Thing], spacing: f64) -> Vec<Row> {
    if !supplies.iter().any(|s| s.roll.is_some()) {
        return Vec::new();
    }
    let mut best: Option<(f64, Row)> = None;
    let mut longest: Vec<&Thing> = things.iter().collect();
    longest.sort_by(|a, b| b.extent().total_cmp(&a.extent()));
    for thing in longest.into_iter().take(MOST_LONG) {
        let mut words = Vec::new();
        let carries: Vec<f64> = supplies
            .iter()
            .enumerate()
            .map(|(k, s)| {
                if !thing.enters[k] {
                    return 0.0;
                }
                let Some(_) = s.roll else { return 1.0 };
                thing.least_extent(k, s.room[1]).map_or(0.0, |least| {
                    let least = (least - FORGIVEN).max(FORGIVEN);
                    words.push(number::short((least * 100.0).floor() / 100.0));
                    1.0 / (least + spacing)
                })
            })
            .collect();
        let row = Row {
            need: 1.0,
            carries,
            figure: Figure::Number,
            says: format!(
                "`{}` lies on one sheet, and along a roll it measures {} mm or more however it is turned",
                thing.name,
                words.join(", ")
            ),
        };
        let cost = at_least(supplies, &row);
        if cost.is_finite() && best.as_ref().is_none_or(|b| cost > b.0 * (1.0 + 1e-9)) {
            best = Some((cost, row));
        }
    }
    best.into_iter().map(|b| b.1).collect()
}
