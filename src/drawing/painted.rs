//! Outlines inside of a painted area.
//!
//! In: rings, and what drew them as one area painted by the non-zero rule. Out: the rings that bound that area. A ring inside
//! of another of the same area and direction has paint on both of its sides: nothing is seen of it, and nothing is cut.
//!
//! The winding number just inside of a ring is that of the ring around it, plus or minus one by its own direction. Each ring
//! is asked of those whose boxes hold its first point. Where that takes too long the ring around each is found as for nesting;
//! of rings that cross or touch all are kept then, which is refused later.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

use crate::drawing::around::parents;
use crate::drawing::chain::entity_of;
use crate::geometry::bounds::Bounds;
use crate::geometry::box_tree::BoxTree;
use crate::geometry::check::check_rings;
use crate::geometry::predicate::{Location, point_in_ring};
use crate::geometry::ring::Ring;

/// Most edges asked of all rings of an area together; they take about a quarter of a second.
const MOST_ASKED: usize = 20_000_000;

/// Leaves out rings that bound no painted area; their number. No more than `most_pairs` of edges are compared.
pub(super) fn retain(
    rings: &mut Vec<(usize, Ring)>,
    painted: &BTreeSet<usize>,
    most_pairs: u64,
) -> usize {
    let mut areas: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (place, (_, ring)) in rings.iter().enumerate() {
        let origin = entity_of(&ring.edges()[0]);
        let alone = ring.edges().iter().all(|e| entity_of(e) == origin);
        if alone && painted.contains(&origin) {
            areas.entry(origin).or_default().push(place);
        }
    }
    let mut inside = vec![false; rings.len()];
    for places in areas.values().filter(|p| p.len() > 1) {
        let area: Vec<&Ring> = places.iter().map(|i| &rings[*i].1).collect();
        for (place, before) in places.iter().zip(windings(&area, most_pairs)) {
            let after = before + turn(&rings[*place].1);
            inside[*place] = (before != 0) == (after != 0);
        }
    }
    let mut place = 0;
    rings.retain(|_| {
        place += 1;
        !inside[place - 1]
    });
    inside.into_iter().filter(|i| *i).count()
}

/// The winding number just outside of each ring.
fn windings(area: &[&Ring], most_pairs: u64) -> Vec<i32> {
    if let Some(asked) = asked(area) {
        return asked;
    }
    let mut before = vec![0; area.len()];
    if check_rings(area, most_pairs).is_err() {
        return before;
    }
    let boxes: Vec<Bounds> = area.iter().map(|r| r.bounds()).collect();
    let parents = parents(area, &boxes);
    let mut by_size: Vec<usize> = (0..area.len()).collect();
    let sizes: Vec<f64> = area.iter().map(|r| r.area_mm2().abs()).collect();
    // What is around is larger, and known before.
    by_size.sort_by(|a, b| sizes[*b].total_cmp(&sizes[*a]));
    for i in by_size {
        if let Some(around) = parents[i] {
            before[i] = before[around] + turn(area[around]);
        }
    }
    before
}

/// The same, each ring asked of those whose boxes hold its first point; `None` where that takes too long.
fn asked(area: &[&Ring]) -> Option<Vec<i32>> {
    let tree = BoxTree::new(&area.iter().map(|r| r.bounds()).collect::<Vec<_>>());
    let mut left = MOST_ASKED;
    let winding = |i: usize| {
        let first = area[i].edges()[0].start;
        let mut sum = 0;
        let stopped = tree.visit(Bounds::of_points([first]), |j| {
            if j == i {
                return ControlFlow::Continue(());
            }
            let Some(rest) = left.checked_sub(area[j].edges().len()) else {
                return ControlFlow::Break(());
            };
            left = rest;
            if point_in_ring(first, area[j]) == Location::Inside {
                sum += turn(area[j]);
            }
            ControlFlow::Continue(())
        });
        stopped.is_none().then_some(sum)
    };
    (0..area.len()).map(winding).collect()
}

fn turn(ring: &Ring) -> i32 {
    if ring.area_mm2() > 0.0 { 1 } else { -1 }
}
