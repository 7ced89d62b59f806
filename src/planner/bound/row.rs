//! What the sheets of a class must carry in several ways at once, and the least that such sheets cost.
//!
//! A *row* says: what is cut measures `need`, one sheet of each kind carries no more than so much of it, a roll so much for
//! each mm. The least cost of whole sheets, within their quantities, that meet several rows is found by branching on the
//! number of a kind, the least bound first; what is left when the work is cut short is still a bound.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::planner::bound::supply::Supply;

/// Shares of a need that rounding may eat.
const ROUNDED: f64 = 1e-9;
/// Work of one search: looks at a kind of sheet in a row.
const WORK: usize = 400_000;
/// Kinds of rolls of which each may be used or not; with more all may be.
const MOST_ROLLS: usize = 3;

/// One demand on the sheets of a class.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// What is asked in all.
    pub(super) need: f64,
    /// By kind: what one sheet carries at the most, or a roll for each mm of its stretch.
    pub(super) carries: Vec<f64>,
    /// What these figures are.
    pub(super) figure: Figure,
    /// The demand in words.
    pub(super) says: String,
}

/// What a row counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Figure {
    /// Areas in mm².
    Area,
    /// Plain numbers.
    Number,
}

/// What sheets that meet a row cost at the least where parts of them count: quick, for choosing rows.
pub(super) fn at_least(supplies: &[Supply<'_>], row: &Row) -> f64 {
    let mut order: Vec<usize> = (0..supplies.len())
        .filter(|&s| row.carries[s] > 0.0)
        .collect();
    let rate = |s: usize| supplies[s].price() / row.carries[s];
    order.sort_by(|&a, &b| rate(a).total_cmp(&rate(b)).then(a.cmp(&b)));
    let has_sheets = order.iter().any(|&s| supplies[s].roll.is_none());
    let (mut cost, mut left) = (0.0, row.need);
    for s in order {
        if left <= row.need * ROUNDED {
            break;
        }
        let most = supplies[s]
            .roll
            .map_or(supplies[s].quantity as f64, |r| r.most);
        let number = (left / row.carries[s]).min(most);
        cost += number * supplies[s].price();
        left -= number * row.carries[s];
    }
    let heads: f64 = supplies
        .iter()
        .filter_map(|s| s.roll)
        .map(|r| r.head.min(0.0))
        .sum();
    let least = supplies
        .iter()
        .filter_map(|s| s.roll)
        .map(|r| r.head)
        .fold(f64::INFINITY, f64::min);
    if left > row.need * ROUNDED {
        f64::INFINITY
    } else if row.need > 0.0 && !has_sheets && least.is_finite() {
        (cost + heads + least.max(0.0)).max(0.0)
    } else {
        (cost + heads).max(0.0)
    }
}

/// Sheets that are enough.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Least {
    /// No sheets that meet the rows cost less.
    pub(super) cost: f64,
    /// How many of each kind cost that, and whether a roll is used; `None` where the search was cut short.
    pub(super) chosen: Option<(Vec<u32>, bool)>,
}

/// The least cost of sheets that meet rows.
pub(super) fn least_cost(supplies: &[Supply<'_>], rows: &[&Row]) -> Least {
    let rolls: Vec<usize> = (0..supplies.len())
        .filter(|&s| supplies[s].roll.is_some())
        .collect();
    let mut best = Least {
        cost: f64::INFINITY,
        chosen: None,
    };
    let each = rolls.len() <= MOST_ROLLS;
    for set in 0..if each { 1_usize << rolls.len() } else { 1 } {
        let used: Vec<bool> = (0..supplies.len())
            .map(|s| {
                rolls
                    .iter()
                    .position(|&r| r == s)
                    .is_some_and(|at| !each || set >> at & 1 == 1)
            })
            .collect();
        let heads: f64 = supplies
            .iter()
            .zip(&used)
            .filter(|(_, u)| **u)
            .filter_map(|(s, _)| s.roll)
            .map(|r| if each { r.head } else { r.head.min(0.0) })
            .sum();
        let found = search(supplies, rows, &used, best.cost - heads);
        if found.cost + heads < best.cost - 1e-12 {
            best = Least {
                cost: found.cost + heads,
                chosen: found.chosen,
            };
        }
    }
    best.cost = best.cost.max(0.0);
    best
}

/// Numbers of each kind from `low` to `high`, and what they cost at the least.
#[derive(Clone, Debug)]
struct Node {
    bound: f64,
    place: usize,
    low: Vec<u32>,
    high: Vec<u32>,
    seen: Seen,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Node {}

impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Node {
    /// The least bound, then the youngest, comes out of a heap first.
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .bound
            .total_cmp(&self.bound)
            .then(self.place.cmp(&other.place))
    }
}

/// What the dearest row says of a node: the numbers that meet it at the least cost, of which one may be no whole number.
#[derive(Clone, Debug)]
struct Seen {
    numbers: Vec<u32>,
    broken: Option<usize>,
    stretch: Vec<f64>,
}

struct Search<'a> {
    supplies: &'a [Supply<'a>],
    rows: &'a [&'a Row],
    used: &'a [bool],
    /// For each row the kinds that carry some of it, the cheapest for it first.
    order: Vec<Vec<usize>>,
}

fn search(supplies: &[Supply<'_>], rows: &[&Row], used: &[bool], enough: f64) -> Least {
    let order = rows
        .iter()
        .map(|row| {
            let mut kinds: Vec<usize> = (0..supplies.len())
                .filter(|&s| row.carries[s] > 0.0 && (supplies[s].roll.is_none() || used[s]))
                .collect();
            kinds.sort_by(|&a, &b| {
                let rate = |s: usize| supplies[s].price() / row.carries[s];
                rate(a).total_cmp(&rate(b)).then(a.cmp(&b))
            });
            kinds
        })
        .collect();
    let task = Search {
        supplies,
        rows,
        used,
        order,
    };
    let high: Vec<u32> = supplies
        .iter()
        .map(|s| {
            if s.roll.is_some() {
                0
            } else {
                u32::try_from(s.quantity).unwrap_or(u32::MAX)
            }
        })
        .collect();
    let nothing = Least {
        cost: f64::INFINITY,
        chosen: None,
    };
    let mut heap = BinaryHeap::new();
    heap.extend(task.node(0, vec![0; supplies.len()], high));
    let most = WORK / (rows.len().max(1) * supplies.len().max(1)).max(20);
    let mut made = 1;
    while let Some(node) = heap.pop() {
        if node.bound >= enough {
            return nothing;
        }
        let Some(kind) = task.branch(&node) else {
            let rolled = node.seen.stretch.iter().any(|x| *x > 0.0);
            return Least {
                cost: node.bound,
                chosen: Some((node.seen.numbers, rolled)),
            };
        };
        if made > most {
            return Least {
                cost: node.bound,
                chosen: None,
            };
        }
        let at = node.seen.numbers[kind]
            .min(node.high[kind] - 1)
            .max(node.low[kind]);
        for (low, high) in [(node.low[kind], at), (at + 1, node.high[kind])] {
            let (mut lows, mut highs) = (node.low.clone(), node.high.clone());
            (lows[kind], highs[kind]) = (low, high);
            heap.extend(task.node(made, lows, highs));
            made += 1;
        }
    }
    nothing
}

impl Search<'_> {
    /// A node; `None` where some row cannot be met.
    fn node(&self, place: usize, low: Vec<u32>, high: Vec<u32>) -> Option<Node> {
        let base: f64 = (0..low.len())
            .map(|s| f64::from(low[s]) * self.supplies[s].cost)
            .sum();
        let mut best: Option<(f64, Seen)> = None;
        for (row, order) in self.rows.iter().zip(&self.order) {
            let (cost, seen) = self.filled(row, order, &low, &high)?;
            if best.as_ref().is_none_or(|b| cost > b.0 + 1e-12) {
                best = Some((cost, seen));
            }
        }
        let (cost, seen) = best?;
        Some(Node {
            bound: base + cost,
            place,
            low,
            high,
            seen,
        })
    }

    /// The least cost beyond that of `low` to meet one row, parts of sheets allowed.
    fn filled(&self, row: &Row, order: &[usize], low: &[u32], high: &[u32]) -> Option<(f64, Seen)> {
        let done = row.need * ROUNDED;
        let carried: f64 = low
            .iter()
            .zip(&row.carries)
            .map(|(n, c)| if *n > 0 { f64::from(*n) * c } else { 0.0 })
            .sum();
        let mut left = row.need - carried;
        let mut seen = Seen {
            numbers: low.to_vec(),
            broken: None,
            stretch: vec![0.0; low.len()],
        };
        let mut cost = 0.0;
        for &s in order {
            if left <= done {
                break;
            }
            let (supply, each) = (&self.supplies[s], row.carries[s]);
            let most = supply
                .roll
                .map_or_else(|| f64::from(high[s] - low[s]), |r| r.most);
            let number = (left / each).min(most);
            cost += number * supply.price();
            left -= number * each;
            if supply.roll.is_some() {
                seen.stretch[s] = number;
            } else {
                // What is a whole number but for rounding is one.
                let whole = (number + ROUNDED).floor();
                seen.numbers[s] += whole as u32;
                if number - whole > ROUNDED {
                    seen.broken = Some(s);
                }
            }
        }
        (left <= done).then_some((cost, seen))
    }

    /// The kind on which a node is to be branched; `None` where its numbers are whole and meet every row, or are settled.
    fn branch(&self, node: &Node) -> Option<usize> {
        if node.seen.broken.is_some() {
            return node.seen.broken;
        }
        let missed = self.rows.iter().zip(&self.order).find(|(row, _)| {
            let carried: f64 = (0..self.supplies.len())
                .map(|s| match self.supplies[s].roll {
                    Some(_) if self.used[s] => node.seen.stretch[s] * row.carries[s],
                    Some(_) => 0.0,
                    None => f64::from(node.seen.numbers[s]) * row.carries[s],
                })
                .sum();
            carried < row.need * (1.0 - ROUNDED)
        });
        let (_, order) = missed?;
        let is_open = |s: &&usize| node.low[**s] < node.high[**s];
        order
            .iter()
            .filter(is_open)
            .find(|s| node.seen.numbers[**s] < node.high[**s])
            .or_else(|| order.iter().find(is_open))
            .copied()
            .or_else(|| (0..node.low.len()).find(|&s| node.low[s] < node.high[s]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planner::bound::supply::{Roll, cheapest};

    fn supply(id: &str, quantity: usize, cost: f64) -> Supply<'_> {
        Supply {
            id,
            sheet: 0,
            quantity,
            cost,
            usable_mm2: [[0.0; 2]; 2],
            roll: None,
            room: [1.0, 1.0],
        }
    }

    fn row(need: f64, carries: &[f64]) -> Row {
        Row {
            need,
            carries: carries.to_vec(),
            figure: Figure::Number,
            says: String::new(),
        }
    }

    fn whole(cost: f64, numbers: &[u32]) -> Least {
        Least {
            cost,
            chosen: Some((numbers.to_vec(), false)),
        }
    }

    #[test]
    fn the_cheapest_set_is_found_by_hand() {
        // 100 asked: 2 × 60 cost 8, 60 + 45 cost 7, 3 × 45 are not there; by hand, 7.
        let sheets = [supply("a", 5, 4.0), supply("b", 1, 3.0)];
        let asked = row(100.0, &[60.0, 45.0]);
        assert_eq!(least_cost(&sheets, &[&asked]), whole(7.0, &[1, 1]));
        assert_eq!(cheapest(&sheets, &asked), Some(whole(7.0, &[1, 1])));
        // Of 70 that `a` alone carries one is not enough; 7 sheets are not there.
        let own = row(70.0, &[60.0, 0.0]);
        assert_eq!(least_cost(&sheets, &[&asked, &own]), whole(8.0, &[2, 0]));
        assert!(
            least_cost(&sheets, &[&row(7.0, &[1.0, 1.0])])
                .cost
                .is_infinite()
        );
    }

    #[test]
    fn the_rest_comes_from_a_roll_which_costs_its_head_too() {
        let mut roll = supply("roll", 1, 50.0);
        roll.roll = Some(Roll {
            rate: 0.05,
            head: 0.5,
            most: 1000.0,
        });
        let sheets = [supply("a", 1, 1.0), roll];
        // 60 of 100 from the sheet for 1, the other 40 mm at 0.05 and 0.5 beyond: 3.5, by hand.
        let asked = row(100.0, &[60.0, 1.0]);
        let least = least_cost(&sheets, &[&asked]);
        assert!((least.cost - 3.5).abs() < 1e-9, "{least:?}");
        let stepped = cheapest(&sheets, &asked).map_or(0.0, |l| l.cost);
        assert!(
            (stepped - 3.5).abs() < 100.0 / 4000.0 * 0.05 + 1e-9,
            "to one step: {stepped}"
        );
        // Where the sheet is enough the roll's head is not paid.
        assert_eq!(
            least_cost(&sheets, &[&row(60.0, &[60.0, 1.0])]),
            whole(1.0, &[1, 0])
        );
    }

    #[test]
    fn no_set_of_sheets_that_meets_two_rows_costs_less() {
        // Random kinds and rows from a congruential generator, against all sets.
        let mut state = 5_u64;
        let mut next = |n: u64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % n
        };
        for _ in 0..300 {
            let kinds = 1 + next(4) as usize;
            let sheets: Vec<Supply<'_>> = (0..kinds)
                .map(|_| supply("s", 1 + next(3) as usize, (1 + next(20)) as f64))
                .collect();
            let rows: Vec<Row> = (0..2)
                .map(|_| {
                    let carries: Vec<f64> = (0..kinds).map(|_| next(12) as f64).collect();
                    row((1 + next(30)) as f64, &carries)
                })
                .collect();
            let mut by_hand = f64::INFINITY;
            for code in 0..4_usize.pow(kinds as u32) {
                let number = |s: usize| (code / 4_usize.pow(s as u32)) % 4;
                let all = 0..kinds;
                let meets = all.clone().all(|s| number(s) <= sheets[s].quantity)
                    && rows.iter().all(|r| {
                        all.clone()
                            .map(|s| number(s) as f64 * r.carries[s])
                            .sum::<f64>()
                            >= r.need
                    });
                if meets {
                    by_hand = by_hand.min(all.map(|s| number(s) as f64 * sheets[s].cost).sum());
                }
            }
            let least = least_cost(&sheets, &[&rows[0], &rows[1]]);
            assert_eq!(least.cost, by_hand, "whole numbers add up exactly");
            assert_eq!(least.chosen.is_some(), by_hand.is_finite());
        }
    }
}
