//! Which sheets are used too seldom by the ways of a list, and how much their ways may lose more than those of others.
//!
//! In: the ways of all groups. Out: for every kind of sheet a *favour* in mm², taken from what pieces on it lose when the next list is
//! made. Sheets differ in what is lost on them whatever they are used for: a strip a little too long, a spoiled edge. A list that is
//! cut off by what ways lose holds few ways of such sheets or none, though some layer must take them. Favours are the prices of the
//! relaxation in which every layer takes a mixture of its ways, the better the more of it, and every sheet is used once: where ways
//! of a list use a sheet more often than there are sheets, what it loses counts more, otherwise less.
//!
//! Over layers that take all sheets the favours add up to the same however the sheets are shared out; so lists change, and what is
//! best does not.

use crate::planner::cover::Group;
use crate::planner::cover::seat::Offer;

/// Ways of one group that are looked at, the best first.
const MOST_WAYS: usize = 40_000;
/// Steps toward favours.
const STEPS: usize = 60;
/// The first step, the most a favour may be, and by how much a way must lose more than the best one to count little; as shares of the
/// mean area of a layer.
const STEP: f64 = 0.002;
const MOST: f64 = 0.03;
const NEAR: f64 = 0.004;

/// A way as prices see it: what it loses, and how much it uses of which kinds.
struct Use {
    lost: f64,
    kinds: Vec<(u32, f32)>,
}

/// The sheets of a kind: how many, and the area in mm² that pieces can take of one.
struct Sheets {
    kind: usize,
    there: f64,
    usable_mm2: f64,
}

/// Layers of one class and the sheets for them; every sheet is needed.
struct Class {
    /// By group: its ways, how many layers it has, and the area of each in mm².
    lists: Vec<(Vec<Use>, f64, f64)>,
    sheets: Vec<Sheets>,
    /// Area of all its layers in mm², and the mean of one.
    area: f64,
    mean: f64,
}

/// The favours of all kinds; `areas` by group, in mm².
pub(super) fn favours(offer: &Offer, groups: &[Group], areas: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; offer.kinds.len()];
    let classes = offer.kinds.iter().map(|k| k.class + 1).max().unwrap_or(0);
    for class in 0..classes {
        let own = groups.iter().zip(areas).filter(|(g, _)| g.class == class);
        let lists: Vec<(Vec<Use>, f64, f64)> = own
            .map(|(g, area)| (uses(offer, g), g.units.len() as f64, *area))
            .collect();
        let area: f64 = lists.iter().map(|l| l.1 * l.2).sum();
        let units: f64 = lists.iter().map(|l| l.1).sum();
        if lists.is_empty() || lists.iter().any(|l| l.0.is_empty()) {
            continue;
        }
        let kinds = (0..out.len()).filter(|k| offer.kinds[*k].class == class);
        let sheets = kinds.map(|kind| Sheets {
            kind,
            there: offer.kinds[kind].bins.len() as f64,
            usable_mm2: offer.usable_of(kind),
        });
        let class = Class {
            sheets: sheets.collect(),
            mean: area / units,
            lists,
            area,
        };
        class.settle(&mut out);
    }
    out
}

impl Class {
    /// Steps towards favours with which every sheet is used once.
    fn settle(&self, out: &mut [f64]) {
        let most = MOST * self.mean;
        for step in 0..STEPS {
            let used = self.used(out);
            let by = STEP * self.mean * (STEPS - step) as f64 / STEPS as f64;
            for &Sheets { kind, there, .. } in &self.sheets {
                out[kind] = (out[kind] + by * (there - used[kind])).clamp(-most, most);
            }
        }
        // Evenly by area, so that the best ways lose nothing.
        let least = |list: &[Use]| {
            let reduced = list.iter().map(|u| u.reduced(out));
            reduced.fold(f64::INFINITY, f64::min)
        };
        let best: f64 = self.lists.iter().map(|(l, n, _)| n * least(l)).sum();
        for s in &self.sheets {
            out[s.kind] += best / self.area * s.usable_mm2;
        }
    }

    /// How often sheets of each kind are used where every layer takes a mixture of its ways.
    fn used(&self, favours: &[f64]) -> Vec<f64> {
        let mut used = vec![0.0; favours.len()];
        for (list, units, _) in &self.lists {
            let lost: Vec<f64> = list.iter().map(|u| u.reduced(favours)).collect();
            let least = lost.iter().copied().fold(f64::INFINITY, f64::min);
            let weight = |lost: f64| {
                let z = (lost - least) / (NEAR * self.mean);
                let near = 1.0 / (1.0 + z * z);
                near * near * near * near
            };
            let weights: Vec<f64> = lost.into_iter().map(weight).collect();
            let sum: f64 = weights.iter().sum();
            for (u, w) in list.iter().zip(weights) {
                for (k, n) in &u.kinds {
                    used[*k as usize] += units * w / sum * f64::from(*n);
                }
            }
        }
        used
    }
}

impl Use {
    /// What it loses, less the favours of what it uses.
    fn reduced(&self, favours: &[f64]) -> f64 {
        let used = self.kinds.iter();
        let favour = used.map(|(k, n)| f64::from(*n) * favours[*k as usize]);
        self.lost - favour.sum::<f64>()
    }
}

/// The ways of a group as prices see them.
fn uses(offer: &Offer, group: &Group) -> Vec<Use> {
    let ways = group.ways.iter().take(MOST_WAYS);
    ways.map(|w| {
        let uses = w.uses();
        let of = |p: &(usize, f64)| (offer.places[p.0].kind as u32, offer.part_of(p.0) as f32);
        Use {
            lost: uses.lost,
            kinds: uses.places.iter().map(of).collect(),
        }
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two layers of 100,000 mm² and four sheets of half of that: two that fit well, and two that lose much wherever they are used.
    fn class() -> Class {
        let way = |lost: f64, kinds: [u32; 2]| Use {
            lost,
            kinds: kinds.map(|k| (k, 1.0)).to_vec(),
        };
        let sheets = (0..4).map(|kind| Sheets {
            kind,
            there: 1.0,
            usable_mm2: 50_000.0,
        });
        Class {
            lists: vec![(
                vec![way(0.0, [0, 1]), way(1500.0, [0, 2]), way(3000.0, [2, 3])],
                2.0,
                100_000.0,
            )],
            sheets: sheets.collect(),
            area: 200_000.0,
            mean: 100_000.0,
        }
    }

    #[test]
    fn what_is_used_too_seldom_is_favoured_until_all_are_used() {
        let class = class();
        let before = class.used(&[0.0; 4]);
        assert!(before[1] > 1.9 && before[3] < 0.1, "{before:?}");
        let mut favours = vec![0.0; 4];
        class.settle(&mut favours);
        let used = class.used(&favours);
        assert!(used.iter().all(|n| (n - 1.0).abs() < 0.1), "{used:?}");
        assert!(favours[3] > favours[1] + 1000.0, "{favours:?}");
        // The best ways lose nothing then, and both partners of the one cover nearly as little.
        let reduced: Vec<f64> = class.lists[0]
            .0
            .iter()
            .map(|u| u.reduced(&favours))
            .collect();
        assert!(
            reduced[0].abs() < 200.0 && reduced[2].abs() < 200.0,
            "{reduced:?}"
        );
    }
}
