//! Orders of columns that have pieces beside voids, so that their sides may not lie anywhere.
//!
//! In: widths, and for each column where its two sides may lie, if that matters. Out: whether columns have an order at all; of two
//! columns whether they could stand in one row.

use crate::planner::cover::bits::Bits;
use crate::planner::cover::column::{Column, MOST_DEEP};
use crate::planner::cover::void::ON_SIDE;

/// Whether columns have an order in which each has its sides where they may lie.
pub(super) fn has_order<'c>(columns: impl Iterator<Item = &'c Column>, across: f64) -> bool {
    let mut abreast = Abreast {
        columns: [(0.0, None); MOST_DEEP],
        n: 0,
        total: 0.0,
        across,
        tried: 0,
    };
    for (own, c) in abreast.columns.iter_mut().zip(columns) {
        *own = (c.width, c.sides);
        abreast.n += 1;
        abreast.total += c.width;
    }
    abreast.have_order(0, 0.0)
}

/// Where the two sides of a column may lie.
pub(super) type Sides = [(f64, f64); 2];

/// Columns side by side, whose order is looked for.
struct Abreast {
    /// Widths, and where sides may lie if that matters.
    columns: [(f64, Option<Sides>); MOST_DEEP],
    n: usize,
    total: f64,
    across: f64,
    /// A bit for each set of columns that stood first and left the others no order.
    tried: u64,
}

impl Abreast {
    /// Whether those left have an order behind others, which are so wide together; `taken` has a bit for each that stands.
    fn have_order(&mut self, taken: usize, before: f64) -> bool {
        let all = (1 << self.n) - 1;
        if taken == all {
            return true;
        }
        if self.tried >> taken & 1 == 1 {
            return false;
        }
        self.tried |= 1 << taken;
        for k in (0..self.n).filter(|k| taken >> k & 1 == 0) {
            let (width, sides) = self.columns[k];
            let (with, behind) = (taken | 1 << k, before + width);
            let lies = sides.is_none_or(|[first, second]| {
                let low = self.side(before, (taken == 0).then_some(0.0));
                let high = self.side(behind, (with == all).then_some(self.across));
                meets(first, low) && meets(second, high)
            });
            if lies && self.have_order(with, behind) {
                return true;
            }
        }
        false
    }

    /// Where a side may lie before which columns are so wide.
    fn side(&self, room: f64, at: Option<f64>) -> (f64, f64) {
        match at {
            Some(at) => (at, at),
            None => (
                (self.across - (self.total - room)).max(0.0),
                room.min(self.across),
            ),
        }
    }
}

/// Whether two ranges meet, or nearly do.
fn meets(a: (f64, f64), b: (f64, f64)) -> bool {
    a.0 <= b.1 + ON_SIDE && b.0 <= a.1 + ON_SIDE
}

/// Where the sides of the columns of a list may lie.
pub(super) struct Pairs {
    sides: Vec<Option<Sides>>,
    /// Columns that may lie anywhere.
    free: Bits,
}

impl Pairs {
    pub(super) fn new(sides: Vec<Option<Sides>>) -> Self {
        let mut free = Bits::none(sides.len());
        let anywhere = (0..sides.len()).filter(|k| sides[*k].is_none());
        anywhere.for_each(|k| free.insert(k));
        Self { sides, free }
    }

    /// Columns that could come before or behind one, as far as their sides tell.
    pub(super) fn beside(&self, k: usize) -> Bits {
        let Some(own) = self.sides[k] else {
            return Bits::all(self.sides.len());
        };
        let mut out = self.free.clone();
        let behind = |a: Sides, b: Sides| a[1].0 <= b[0].1 + 2.0 * ON_SIDE;
        for (j, other) in self.sides.iter().enumerate() {
            if let Some(other) = *other
                && (behind(own, other) || behind(other, own))
            {
                out.insert(j);
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::{Abreast, Pairs, Sides, meets};
    use crate::nest::seed::Draws;
    use crate::planner::cover::column::MOST_DEEP;

    const ACROSS: f64 = 100.0;

    /// Up to five columns, some of which ask for places of their sides; every second time ones that an order meets.
    fn drawn(draws: &mut Draws) -> Abreast {
        let n = 2 + draws.below(4);
        let mut columns = [(0.0, None); MOST_DEEP];
        let mut from = 0.0;
        let honest = draws.chance(0.5);
        for (k, column) in columns.iter_mut().enumerate().take(n) {
            let width = if k + 1 == n {
                ACROSS - from
            } else {
                (ACROSS - from) * (0.2 + 0.4 * draws.unit())
            };
            let at = if honest { from } else { 80.0 * draws.unit() };
            let sides: Sides = [(at - 3.0, at + 3.0), (at + width - 3.0, at + width + 3.0)];
            *column = (width, draws.chance(0.6).then_some(sides));
            from += width;
        }
        columns[..n].reverse();
        Abreast {
            total: columns.iter().map(|c| c.0).sum(),
            columns,
            n,
            across: ACROSS,
            tried: 0,
        }
    }

    /// Whether some order of those left does, all orders tried.
    fn by_trying(a: &Abreast, left: &[usize], before: f64) -> bool {
        let at = |k: usize, end: bool, room: f64| {
            let at = match (end, before <= 0.0, left.len() == 1) {
                (false, true, _) => Some(0.0),
                (true, _, true) => Some(ACROSS),
                _ => None,
            };
            let low = (ACROSS - (a.total - room)).max(0.0);
            let range = at.map_or((low, room.min(ACROSS)), |at| (at, at));
            a.columns[k]
                .1
                .is_none_or(|s| meets(s[usize::from(end)], range))
        };
        left.is_empty()
            || left.iter().any(|&k| {
                let behind = before + a.columns[k].0;
                let rest: Vec<usize> = left.iter().copied().filter(|j| *j != k).collect();
                at(k, false, before) && at(k, true, behind) && by_trying(a, &rest, behind)
            })
    }

    #[test]
    fn an_order_is_found_where_trying_all_finds_one() {
        let mut draws = Draws::new([11, 0, 0]);
        let mut found = [0; 2];
        for _ in 0..400 {
            let mut abreast = drawn(&mut draws);
            let all: Vec<usize> = (0..abreast.n).collect();
            let expected = by_trying(&abreast, &all, 0.0);
            let pairs = Pairs::new(abreast.columns.iter().map(|c| c.1).collect());
            let told = all.iter().all(|a| {
                let beside = pairs.beside(*a);
                all.iter().all(|b| a == b || beside.has(*b))
            });
            assert_eq!(abreast.have_order(0, 0.0), expected);
            assert!(
                told || !expected,
                "what has an order is told to stand in a row"
            );
            found[usize::from(expected)] += 1;
        }
        assert!(found.iter().all(|n| *n > 80), "{found:?}");
    }
}
