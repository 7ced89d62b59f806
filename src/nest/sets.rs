//! Sets of sheets that might carry all pieces of a class at less cost, in order of cost.
//!
//! In: what each kind of sheet costs and holds, what the pieces need. Out: for each set how many of each kind. Best first: a set that
//! is begun is worth what it costs and what the rest of the area costs on the cheapest kinds that may still come; so sets are
//! told in order of cost, those without area enough never.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Sets that are told, at the most.
const MOST_SETS: usize = 32;
/// Sets that are begun, at the most.
const MOST_BEGUN: usize = 4000;

/// A kind of sheet: how many there are, what one costs and how much area it has for pieces, in mm².
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
    pub(super) quantity: usize,
    pub(super) cost: f64,
    pub(super) room: f64,
}

/// A set that was begun: kinds before `next` are decided.
#[derive(Clone, Debug)]
struct Begun {
    /// Cost in millionths, that of the area that is missing included: sets are compared by it.
    least: i64,
    counts: Vec<usize>,
    next: usize,
    cost: f64,
    room: f64,
}

impl PartialEq for Begun {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Begun {}

impl PartialOrd for Begun {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Begun {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        (self.least, &self.counts, self.next).cmp(&(other.least, &other.counts, other.next))
    }
}

/// How many sheets of each kind, for the cheapest sets that cost less than `below` and have room enough.
pub(super) fn cheapest(kinds: &[Kind], need: f64, below: f64) -> Vec<Vec<usize>> {
    let per_area = |k: usize| kinds[k].cost / kinds[k].room;
    let mut order: Vec<usize> = (0..kinds.len())
        .filter(|&k| kinds[k].room > 0.0 && kinds[k].quantity > 0)
        .collect();
    order.sort_by(|&a, &b| per_area(a).total_cmp(&per_area(b)).then(a.cmp(&b)));
    let least = |next: usize, cost: f64, room: f64| -> Option<i64> {
        let missing = (need - room).max(0.0);
        let rest = if missing > 0.0 {
            missing * per_area(*order.get(next)?)
        } else {
            0.0
        };
        (cost + rest < below - 1e-6).then(|| ((cost + rest) * 1e6).floor() as i64)
    };
    let mut heap = BinaryHeap::new();
    heap.extend(least(0, 0.0, 0.0).map(|least| {
        Reverse(Begun {
            least,
            counts: vec![0; kinds.len()],
            next: 0,
            cost: 0.0,
            room: 0.0,
        })
    }));
    let mut out = Vec::new();
    for _ in 0..MOST_BEGUN {
        let Some(Reverse(set)) = heap.pop() else {
            break;
        };
        // Told when all kinds are decided, so once.
        let Some(&kind) = order.get(set.next) else {
            out.push(set.counts);
            if out.len() == MOST_SETS {
                break;
            }
            continue;
        };
        let of = kinds[kind];
        for n in 0..=of.quantity {
            let (cost, room) = (set.cost + of.cost * n as f64, set.room + of.room * n as f64);
            if cost >= below - 1e-6 {
                break;
            }
            if let Some(least) = least(set.next + 1, cost, room) {
                let mut counts = set.counts.clone();
                counts[kind] = n;
                heap.push(Reverse(Begun {
                    least,
                    counts,
                    next: set.next + 1,
                    cost,
                    room,
                }));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_come_in_order_of_cost_and_none_is_left_out() {
        let kind = |quantity, cost, room| Kind {
            quantity,
            cost,
            room,
        };
        let kinds = [kind(2, 3.0, 10.0), kind(1, 2.5, 6.0), kind(3, 1.0, 2.0)];
        let (need, below) = (15.0, 8.6);
        // All of them, by counting.
        let mut all = Vec::new();
        for a in 0..=2 {
            for b in 0..=1 {
                for c in 0..=3 {
                    let n = [a, b, c];
                    let sum = |f: &dyn Fn(&Kind) -> f64| -> f64 {
                        kinds.iter().zip(n).map(|(k, n)| f(k) * n as f64).sum()
                    };
                    let (cost, room) = (sum(&|k| k.cost), sum(&|k| k.room));
                    if room >= need && cost < below {
                        all.push((cost, n.to_vec()));
                    }
                }
            }
        }
        let found = cheapest(&kinds, need, below);
        let cost =
            |n: &[usize]| -> f64 { kinds.iter().zip(n).map(|(k, n)| k.cost * *n as f64).sum() };
        assert!(
            found.windows(2).all(|w| cost(&w[0]) <= cost(&w[1]) + 1e-6),
            "{found:?}"
        );
        let mut sorted: Vec<Vec<usize>> = all.into_iter().map(|a| a.1).collect();
        let mut told = found.clone();
        sorted.sort();
        told.sort();
        assert!(!told.is_empty());
        assert_eq!(told, sorted);
    }

    #[test]
    fn a_sheet_at_no_cost_may_be_in_any_set() {
        let kinds = [
            Kind {
                quantity: 1,
                cost: 0.0,
                room: 5.0,
            },
            Kind {
                quantity: 2,
                cost: 4.0,
                room: 9.0,
            },
        ];
        assert_eq!(
            cheapest(&kinds, 10.0, 9.0),
            [vec![1, 1], vec![0, 2], vec![1, 2]]
        );
    }
}
