//! What sheets offer by area, and what that costs at the least: which sheets are needed, and which are dear.

use crate::planner::cover::seat::{Kinds, Offer};

/// Sheets of a class of which it is asked whether they are needed: the largest.
const ASKED_SHEETS: usize = 24;

/// Sheets of one kind.
#[derive(Clone, Copy)]
struct Entry {
    kind: usize,
    /// Area in mm² of all of them.
    area: f64,
    /// Cost for an mm².
    price: f64,
    /// Whether there is one sheet.
    single: bool,
}

/// What the sheets of all classes offer.
pub(super) struct Supply {
    /// By class: from the cheapest for its area.
    entries: Vec<Vec<Entry>>,
    /// By class: kinds of which there is one sheet, the largest first.
    largest: Vec<Vec<usize>>,
}

impl Supply {
    pub(super) fn new(offer: &Offer, classes: usize) -> Self {
        let mut entries: Vec<Vec<Entry>> = vec![Vec::new(); classes];
        for (k, kind) in offer.kinds.iter().enumerate() {
            let area = offer.usable_of(k);
            if area > 0.0 {
                let n = kind.bins.len();
                entries[kind.class].push(Entry {
                    kind: k,
                    area: area * n as f64,
                    price: kind.cost / area,
                    single: n == 1,
                });
            }
        }
        for list in &mut entries {
            list.sort_by(|a, b| a.price.total_cmp(&b.price).then(a.kind.cmp(&b.kind)));
        }
        Self {
            largest: entries.iter().map(|e| largest(e)).collect(),
            entries,
        }
    }

    /// What areas in mm², by class, cost at the least on sheets that are not used yet; infinite where there is not so much.
    pub(super) fn least(&self, demands: &[f64], used: &Kinds) -> f64 {
        let all = demands.iter().enumerate();
        all.map(|(c, d)| self.least_of(c, *d, used, None)).sum()
    }

    /// Kinds without which the demands cost more than there is to spend.
    pub(super) fn needed(&self, demands: &[f64], used: &Kinds, spend: f64) -> Vec<usize> {
        let costs: Vec<f64> = demands
            .iter()
            .enumerate()
            .map(|(c, d)| self.least_of(c, *d, used, None))
            .collect();
        let all: f64 = costs.iter().sum();
        let mut out = Vec::new();
        for (class, kinds) in self.largest.iter().enumerate() {
            if demands[class] <= 0.0 {
                continue;
            }
            let unused = kinds.iter().copied().filter(|k| !used.has(*k));
            out.extend(unused.take(ASKED_SHEETS).filter(|k| {
                let without = self.least_of(class, demands[class], used, Some(*k));
                all - costs[class] + without > spend
            }));
        }
        out
    }

    /// The least cost of an area of one class, without one kind.
    fn least_of(&self, class: usize, demand: f64, used: &Kinds, without: Option<usize>) -> f64 {
        let mut cost = 0.0;
        let mut rest = demand;
        for s in &self.entries[class] {
            if rest <= 0.0 {
                break;
            }
            if s.single && used.has(s.kind) || without == Some(s.kind) {
                continue;
            }
            cost += s.area.min(rest) * s.price;
            rest -= s.area;
        }
        if rest > 1e-6 * demand.max(1.0) {
            return f64::INFINITY;
        }
        cost
    }
}

/// For each kind the area in mm² that a sheet's price buys elsewhere, at the price of the last sheets that are needed, from the
/// cheapest, where such a share of them is used: more than its own where a sheet is dear. `needs` by class, in mm²; with a
/// share of 0 every sheet is needed.
pub(super) fn worth(offer: &Offer, needs: &[f64], fill: f64) -> Vec<f64> {
    let supply = Supply::new(offer, needs.len());
    let mut out = vec![0.0; offer.kinds.len()];
    for (entries, need) in supply.entries.iter().zip(needs) {
        let price = last_price(entries, need / fill);
        if price > 0.0 {
            for e in entries {
                out[e.kind] = e.price / price * offer.usable_of(e.kind);
            }
        }
    }
    out
}

/// The price for an mm² of the last sheets that so much area needs, those before it being cheaper; of the last there are, if
/// they are not enough.
fn last_price(entries: &[Entry], area: f64) -> f64 {
    let mut rest = area;
    let last = entries.iter().find(|e| {
        rest -= e.area;
        rest <= 0.0
    });
    last.or(entries.last()).map_or(0.0, |e| e.price)
}

/// Kinds of which there is one sheet, the largest first.
fn largest(entries: &[Entry]) -> Vec<usize> {
    let mut single: Vec<&Entry> = entries.iter().filter(|s| s.single).collect();
    single.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.kind.cmp(&b.kind)));
    single.iter().map(|s| s.kind).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_sheets_needed_say_what_area_is_worth() {
        let entry = |(kind, (area, price))| Entry {
            kind,
            area,
            price,
            single: true,
        };
        let entries: Vec<Entry> = [(300.0, 1.0), (200.0, 1.5), (500.0, 4.0)]
            .into_iter()
            .enumerate()
            .map(entry)
            .collect();
        for (area, price) in [
            (100.0, 1.0),
            (300.0, 1.0),
            (301.0, 1.5),
            (501.0, 4.0),
            (5000.0, 4.0),
            (f64::INFINITY, 4.0),
        ] {
            assert_eq!(last_price(&entries, area), price, "{area}");
        }
        assert_eq!(last_price(&[], 1.0), 0.0);
    }
}
