//! No plan costs less: a lower bound of the cost, with what it rests on, so that a reader can compute it again.
//!
//! Each piece grown by half the spacing overlaps no other grown piece, and lies in its sheet drawn in by the edge margin less
//! half the spacing (grown, where the margin is the lesser). So the grown areas of what is cut from one material and
//! thickness cannot exceed the drawn-in areas of the sheets used for it. A layer counts unsplit: a seam only adds. For each
//! class the cheapest set of sheets with area enough is found; a sheet sold by length counts by what it costs a mm².
//! What enters no more than some of the sheets (parts and layers that stay whole) must be carried by those alone; the
//! greater of both figures counts.

use crate::format::number;
use crate::geometry::offset;
use crate::geometry::region::Region;
use crate::model::nesting::Bound;
use crate::planner::prepared::{Class, Prepared};

/// Sets of sheets are told apart by their area in steps of this share of the demand; the bound errs downward by it.
const STEPS: usize = 4000;

/// A kind of sheet as the bound sees it.
struct Supply<'a> {
    id: &'a str,
    quantity: usize,
    cost: f64,
    usable_mm2: f64,
    by_length: bool,
}

/// The lower bound of a task.
pub(crate) fn lower_bound(prepared: &Prepared<'_>) -> Bound {
    let mut stock_cost = 0.0;
    let mut why = Vec::new();
    for (k, class) in prepared.classes.iter().enumerate() {
        let (cost, reason) = class_bound(prepared, k, class);
        stock_cost += cost;
        why.push(reason);
    }
    Bound {
        stock_cost: (stock_cost * 1e6).floor() / 1e6,
        why: why.join("; "),
    }
}

fn class_bound(prepared: &Prepared<'_>, k: usize, class: &Class) -> (f64, String) {
    let half = prepared.task.cutter.spacing / 2.0;
    let layers: f64 = class
        .units
        .iter()
        .map(|&u| grown_area(&prepared.task.layers[prepared.units[u].layer].shape, half))
        .sum();
    let parts: f64 = class
        .parts
        .iter()
        .map(|(_, p)| grown_area(std::slice::from_ref(&prepared.task.parts[*p].region), half))
        .sum();
    let supplies = supplies(prepared, k, half);
    let demand = layers + parts;
    let (cost, chosen) = cheapest(&supplies, demand);
    let reason = format!(
        "{} mm: layers and parts grown by half the spacing ({}) measure {} cm²; no cheaper sheets than {chosen} have as much within their edge margins: {}",
        class.name,
        number::short(half),
        number::short((demand / 100.0).floor()),
        number::short((cost * 1e6).floor() / 1e6)
    );
    (cost, reason)
}

/// Area of regions grown by `by`; where that cannot be had their own area, which is less.
fn grown_area(regions: &[Region], by: f64) -> f64 {
    let own = || regions.iter().map(Region::area_mm2).sum();
    if by <= 0.0 {
        return own();
    }
    offset::offset(regions, by)
        .map_or_else(|_| own(), |grown| grown.iter().map(Region::area_mm2).sum())
}

/// What the sheets of a class can carry: their area drawn in by the edge margin less half the spacing.
fn supplies<'a>(prepared: &Prepared<'a>, class: usize, half: f64) -> Vec<Supply<'a>> {
    let task = &prepared.task;
    let inward = task.cutter.edge_margin - half;
    let mut out = Vec::new();
    for sheet in task.sheets {
        if !sheet.taken
            || sheet.quantity == 0
            || prepared.class_of(&sheet.material, sheet.thickness) != class
        {
            continue;
        }
        let whole: f64 = sheet.region.iter().map(Region::area_mm2).sum();
        // Where drawing in fails the whole area stands in: it is more, so the bound stays true.
        let usable = offset::offset(&sheet.region, -inward)
            .map_or(if inward >= 0.0 { whole } else { f64::INFINITY }, |r| {
                r.iter().map(Region::area_mm2).sum()
            });
        let usable_mm2 = usable * (1.0 + 1e-9);
        out.push(Supply {
            id: &sheet.id,
            quantity: sheet.quantity,
            cost: sheet.cost,
            usable_mm2,
            by_length: sheet.by_length,
        });
    }
    out
}

/// The least cost of sheets whose usable areas add up to a demand, and which those are.
fn cheapest(supplies: &[Supply<'_>], demand: f64) -> (f64, String) {
    if demand <= 0.0 {
        return (0.0, "none".to_owned());
    }
    let unit = demand / STEPS as f64;
    // best[d]: the least cost to carry d steps, and the choice that led there. Areas are rounded up, so the bound errs downward.
    let mut best: Vec<(f64, Option<(usize, usize)>)> = vec![(f64::INFINITY, None); STEPS + 1];
    best[0] = (0.0, None);
    let mut taken: Vec<Vec<u32>> = vec![vec![0; supplies.len()]; STEPS + 1];
    for (s, supply) in supplies.iter().enumerate() {
        let steps = ((supply.usable_mm2 / unit).ceil() as usize).clamp(1, STEPS);
        if supply.by_length {
            continue;
        }
        for _ in 0..supply.quantity.min(STEPS.div_ceil(steps)) {
            let mut changed = false;
            for d in (0..STEPS).rev() {
                let to = (d + steps).min(STEPS);
                let cost = best[d].0 + supply.cost;
                if cost < best[to].0 - 1e-12 {
                    best[to] = (cost, Some((d, s)));
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
    // What whole sheets leave is carried by the sheet sold by length that costs least a mm².
    let rate = supplies
        .iter()
        .filter(|s| s.by_length)
        .map(|s| s.cost / s.usable_mm2)
        .fold(f64::INFINITY, f64::min);
    let mut least = (f64::INFINITY, STEPS);
    for (d, (whole, _)) in best.iter().enumerate() {
        let rest = (STEPS - d) as f64 * unit;
        let cost = whole + if d == STEPS { 0.0 } else { rest * rate };
        if cost < least.0 - 1e-12 {
            least = (cost, d);
        }
    }
    if !least.0.is_finite() {
        return (0.0, "any".to_owned());
    }
    (least.0, told(supplies, &taken[least.1], least.1 < STEPS))
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

#[cfg(test)]
mod tests {
    use super::*;

    fn supply(id: &str, quantity: usize, cost: f64, usable_mm2: f64) -> Supply<'_> {
        Supply {
            id,
            quantity,
            cost,
            usable_mm2,
            by_length: false,
        }
    }

    #[test]
    fn the_cheapest_set_is_found_by_hand() {
        // 100 of demand: 2 × 60 cost 8, 60 + 45 cost 7, 3 × 45 are not there; by hand, 7.
        let sheets = [supply("a", 5, 4.0, 60.0), supply("b", 1, 3.0, 45.0)];
        let (cost, which) = cheapest(&sheets, 100.0);
        assert_eq!(cost, 7.0);
        assert_eq!(which, "1 × a (1 cm²) + 1 × b (1 cm²)");
    }

    #[test]
    fn the_rest_may_come_from_a_roll() {
        let roll = Supply {
            by_length: true,
            ..supply("roll", 1, 50.0, 1000.0)
        };
        // 60 of 100 from the sheet for 1, the other 40 at 0.05 a mm²: 1 + 2, by hand; steps of 1/4000 of the demand.
        let (cost, _) = cheapest(&[supply("a", 1, 1.0, 60.0), roll], 100.0);
        assert!(
            (cost - 3.0).abs() <= 0.05 * 100.0 / STEPS as f64 + 1e-12,
            "one step of area at the roll's price"
        );
    }
}
