//! Outlines inside of a painted area.
//!
//! In: rings, and what drew them as one area painted by the non-zero rule. Out: the rings that bound that area. A ring inside
//! of another of the same area and direction has paint on both of its sides: nothing is seen of it, and nothing is cut.
//!
//! The winding number just inside of a ring is that of the ring around it, plus or minus one by its own direction.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::chain::entity_of;
use crate::geometry::predicate::{Location, point_in_ring};
use crate::geometry::ring::Ring;

/// Leaves out rings that bound no painted area; their number.
pub(super) fn retain(rings: &mut Vec<(usize, Ring)>, painted: &BTreeSet<usize>) -> usize {
    let mut areas: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (place, (_, ring)) in rings.iter().enumerate() {
        let origin = entity_of(&ring.edges()[0]);
        let alone = ring.edges().iter().all(|e| entity_of(e) == origin);
        if alone && painted.contains(&origin) {
            areas.entry(origin).or_default().push(place);
        }
    }
    let mut inside = BTreeSet::new();
    for places in areas.values().filter(|p| p.len() > 1) {
        for &i in places {
            let first = rings[i].1.edges()[0].start;
            let around = places
                .iter()
                .filter(|&&j| j != i && point_in_ring(first, &rings[j].1) == Location::Inside);
            let before: i32 = around.map(|j| turn(&rings[*j].1)).sum();
            let after = before + turn(&rings[i].1);
            if (before != 0) == (after != 0) {
                inside.insert(i);
            }
        }
    }
    let mut place = 0;
    rings.retain(|_| {
        place += 1;
        !inside.contains(&(place - 1))
    });
    inside.len()
}

fn turn(ring: &Ring) -> i32 {
    if ring.area_mm2() > 0.0 { 1 } else { -1 }
}
