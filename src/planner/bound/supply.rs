//! Sheets as a bound sees them, and the cheapest of them that carry an area.

use crate::format::number;

/// Sets of sheets are told apart by their area in steps of this share of the demand; the bound errs downward by it.
pub(super) const STEPS: usize = 4000;

/// A kind of sheet.
#[derive(Clone, Debug)]
pub(super) struct Supply<'a> {
    pub(super) id: &'a str,
    /// Place in the stock.
    pub(super) sheet: usize,
    pub(super) quantity: usize,
    pub(super) cost: f64,
    /// Its area drawn in by the edge margin less what pieces are grown by.
    pub(super) usable_mm2: f64,
    pub(super) by_length: bool,
    /// Extents of the box in which pieces may lie.
    pub(super) room: [f64; 2],
}

/// The least cost of some sheets by the area that they carry, in steps: `cost[d]` carries d steps or more, and `taken[d]` says how
/// many of each kind do.
struct Carried {
    cost: Vec<f64>,
    taken: Vec<Vec<u32>>,
    /// For each number of steps the number, as great or greater, that costs least.
    at_least: Vec<usize>,
}

impl Carried {
    /// All sets of whole sheets for which `which` holds. Areas are rounded up, so costs err downward.
    fn new(supplies: &[Supply<'_>], unit: f64, which: impl Fn(usize) -> bool) -> Self {
        let mut cost = vec![f64::INFINITY; STEPS + 1];
        cost[0] = 0.0;
        let mut taken: Vec<Vec<u32>> = vec![vec![0; supplies.len()]; STEPS + 1];
        for (s, supply) in supplies.iter().enumerate() {
            if supply.by_length || !which(s) {
                continue;
            }
            let steps = ((supply.usable_mm2 / unit).ceil() as usize).clamp(1, STEPS);
            for _ in 0..supply.quantity.min(STEPS.div_ceil(steps)) {
                let mut changed = false;
                for d in (0..STEPS).rev() {
                    let to = (d + steps).min(STEPS);
                    let price = cost[d] + supply.cost;
                    if price < cost[to] - 1e-12 {
                        cost[to] = price;
                        let mut list = taken[d].clone();
                        list[s] += 1;
                        taken[to] = list;
                        changed = true;
                    }
                }
                if !changed {
                    break;
                }
            }
        }
        let mut at_least = vec![STEPS; STEPS + 1];
        for d in (0..STEPS).rev() {
            let next = at_least[d + 1];
            at_least[d] = if cost[d] <= cost[next] { d } else { next };
        }
        Self {
            cost,
            taken,
            at_least,
        }
    }
}

/// The least cost of sheets whose usable areas add up to a demand, `of_it` of which only sheets carry for which `may` holds, and
/// which those are.
pub(super) fn cheapest(
    supplies: &[Supply<'_>],
    demand: f64,
    (of_it, may): (f64, &dyn Fn(usize) -> bool),
) -> (f64, String) {
    if demand <= 0.0 {
        return (0.0, "none".to_owned());
    }
    let unit = demand / STEPS as f64;
    let own = Carried::new(supplies, unit, may);
    let rest = Carried::new(supplies, unit, |s| !may(s));
    let rate = |of: &dyn Fn(usize) -> bool| {
        (0..supplies.len())
            .filter(|&s| supplies[s].by_length && of(s))
            .map(|s| supplies[s].cost / supplies[s].usable_mm2)
            .fold(f64::INFINITY, f64::min)
    };
    // What whole sheets leave is carried by the sheet sold by length that costs least a mm².
    let (own_rate, any_rate) = (rate(may), rate(&|_| true));
    let first = ((of_it / unit).floor() as usize).min(STEPS);
    let by_length = |steps: usize, rate: f64| {
        if steps == 0 {
            0.0
        } else {
            steps as f64 * unit * rate
        }
    };
    let mut least: Option<(f64, usize, usize, bool)> = None;
    for d in 0..=STEPS {
        if !own.cost[d].is_finite() {
            continue;
        }
        // The demand of its own that its whole sheets leave, then all that is left.
        let short = first.saturating_sub(d);
        let left = STEPS - (d + short).min(STEPS);
        let base = own.cost[d] + by_length(short, own_rate);
        if !base.is_finite() {
            continue;
        }
        for e in candidates(&rest, left, any_rate.is_finite()) {
            let cost = base + rest.cost[e] + by_length(left.saturating_sub(e), any_rate);
            if least.is_none_or(|l| cost < l.0 - 1e-12) {
                least = Some((cost, d, e, short > 0 || e < left));
            }
        }
    }
    let Some((cost, d, e, and_by_length)) = least.filter(|l| l.0.is_finite()) else {
        return (0.0, "any".to_owned());
    };
    let taken: Vec<u32> = own.taken[d]
        .iter()
        .zip(&rest.taken[e])
        .map(|(a, b)| a + b)
        .collect();
    (cost, told(supplies, &taken, and_by_length))
}

/// How many steps the other sheets may carry of what is left: just what is needed, or less where a roll takes the rest.
fn candidates(rest: &Carried, left: usize, has_roll: bool) -> Vec<usize> {
    if has_roll {
        (0..=STEPS).filter(|&e| rest.cost[e].is_finite()).collect()
    } else {
        vec![rest.at_least[left]]
    }
}

fn told(supplies: &[Supply<'_>], taken: &[u32], and_by_length: bool) -> String {
    let mut words: Vec<String> = taken
        .iter()
        .zip(supplies)
        .filter(|(n, _)| **n > 0)
        .map(|(n, s)| {
            format!(
                "{n} × {} ({} cm²)",
                s.id,
                number::short((s.usable_mm2 / 100.0).ceil())
            )
        })
        .collect();
    if and_by_length {
        words.push("the sheet sold by length for the rest".to_owned());
    }
    words.join(" + ")
}

/// The least cost of so many sheets of those for which `may` holds, and which; `None` where there are not so many.
pub(super) fn cheapest_count(
    supplies: &[Supply<'_>],
    count: usize,
    may: impl Fn(usize) -> bool,
) -> Option<(f64, String)> {
    let mut order: Vec<usize> = (0..supplies.len()).filter(|&s| may(s)).collect();
    order.sort_by(|&a, &b| {
        supplies[a]
            .cost
            .total_cmp(&supplies[b].cost)
            .then(a.cmp(&b))
    });
    let (mut cost, mut left) = (0.0, count);
    let mut words = Vec::new();
    for s in order {
        let n = left.min(supplies[s].quantity);
        if n > 0 {
            cost += n as f64 * supplies[s].cost;
            words.push(format!("{n} × {}", supplies[s].id));
            left -= n;
        }
    }
    (left == 0).then(|| (cost, words.join(" + ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn supply(id: &str, quantity: usize, cost: f64, usable_mm2: f64) -> Supply<'_> {
        Supply {
            id,
            sheet: 0,
            quantity,
            cost,
            usable_mm2,
            by_length: false,
            room: [1.0, 1.0],
        }
    }

    #[test]
    fn the_cheapest_set_is_found_by_hand() {
        // 100 of demand: 2 × 60 cost 8, 60 + 45 cost 7, 3 × 45 are not there; by hand, 7.
        let sheets = [supply("a", 5, 4.0, 60.0), supply("b", 1, 3.0, 45.0)];
        let (cost, which) = cheapest(&sheets, 100.0, (0.0, &|_| true));
        assert_eq!(cost, 7.0);
        assert_eq!(which, "1 × a (1 cm²) + 1 × b (1 cm²)");
    }

    #[test]
    fn what_only_one_kind_takes_is_carried_by_that_kind() {
        // 100 of demand, 70 of it on `a` alone: one `a` has 60, so 2 × a = 8; without that rule 60 + 45 would do for 7.
        let sheets = [supply("a", 5, 4.0, 60.0), supply("b", 1, 3.0, 45.0)];
        let (cost, which) = cheapest(&sheets, 100.0, (70.0, &|s| s == 0));
        assert_eq!((cost, which.as_str()), (8.0, "2 × a (1 cm²)"), "by hand");
        // 55 of it: one `a` carries that, `b` the other 40.
        let (cost, _) = cheapest(&sheets, 100.0, (55.0, &|s| s == 0));
        assert_eq!(cost, 7.0, "by hand");
    }

    #[test]
    fn the_rest_may_come_from_a_roll() {
        let roll = Supply {
            by_length: true,
            ..supply("roll", 1, 50.0, 1000.0)
        };
        // 60 of 100 from the sheet for 1, the other 40 at 0.05 a mm²: 1 + 2, by hand; steps of 1/4000 of the demand.
        let (cost, _) = cheapest(&[supply("a", 1, 1.0, 60.0), roll], 100.0, (0.0, &|_| true));
        assert!(
            (cost - 3.0).abs() <= 0.05 * 100.0 / STEPS as f64 + 1e-12,
            "one step of area at the roll's price"
        );
    }

    #[test]
    fn so_many_sheets_cost_at_least_the_cheapest() {
        let sheets = [supply("a", 5, 4.0, 60.0), supply("b", 1, 3.0, 45.0)];
        let found = cheapest_count(&sheets, 3, |_| true);
        assert_eq!(found, Some((11.0, "1 × b + 2 × a".to_owned())), "by hand");
        assert_eq!(cheapest_count(&sheets, 7, |_| true), None);
    }
}
