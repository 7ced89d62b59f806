//! Rings told apart by nesting: outlines, holes, and islands in holes, which are outlines again.
//!
//! In: rings in the order of the file. Out: regions in the order of their outlines, holes in the order of the file; or the
//! place where rings cross or touch.
//!
//! A ring's depth is the number of rings around it; even ones are outlines, odd ones holes of the ring just around.

use crate::geometry::bounds::Bounds;
use crate::geometry::check::check;
use crate::geometry::crossing::edge_crossings;
use crate::geometry::error::GeometryError;
use crate::geometry::predicate::{Location, point_in_ring};
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::spatial_index::EdgeIndex;
use crate::geometry::tolerance::SLIVER_AREA_MM2;

/// Nests rings.
///
/// # Errors
/// Where rings cross or touch themselves or one another, or leave the admitted range.
pub(super) fn regions(rings: Vec<Ring>) -> Result<Vec<Region>, GeometryError> {
    check_apart(&rings)?;
    let parents = parents(&rings);
    let depth = |i: usize| std::iter::successors(parents[i], |p| parents[*p]).count();
    let is_hole: Vec<bool> = (0..rings.len()).map(|i| depth(i) % 2 == 1).collect();
    let mut holes: Vec<Vec<Ring>> = vec![Vec::new(); rings.len()];
    for (i, ring) in rings.iter().enumerate() {
        if let (true, Some(parent)) = (is_hole[i], parents[i]) {
            holes[parent].push(ring.clone());
        }
    }
    let outlines = rings.into_iter().zip(holes).zip(is_hole);
    let outlines = outlines.filter(|(_, is_hole)| !is_hole);
    Ok(outlines
        .map(|((ring, holes), _)| Region::new(ring, holes))
        .collect())
}

/// All rings against one another: a region of them all, whose holes may lie anywhere, is checked for crossings and contacts.
fn check_apart(rings: &[Ring]) -> Result<(), GeometryError> {
    let Some((first, others)) = rings.split_first() else {
        return Ok(());
    };
    match check(&Region::new(first.clone(), others.to_vec())) {
        // Comes after crossings and contacts, and says only that the first ring is not around all others.
        Err(GeometryError::StrayHole { .. }) => Ok(()),
        // A figure of eight may enclose as much one way as the other way round: then its crossing tells more.
        Err(turned @ GeometryError::Turned { .. }) => Err(own_crossing(rings).unwrap_or(turned)),
        result => result,
    }
}

/// Where a ring without area crosses itself.
fn own_crossing(rings: &[Ring]) -> Option<GeometryError> {
    let empty = rings
        .iter()
        .find(|r| r.area_mm2().abs() <= SLIVER_AREA_MM2)?;
    let n = empty.edges().len();
    let index = EdgeIndex::of_chains([empty.edges()]);
    for (i, entry) in index.entries().iter().enumerate() {
        for j in index.query(entry.bounds) {
            let apart = j > i + 1 && (j + 1) % n != i;
            let other = &index.entries()[j].edge;
            if let (true, Some(p)) = (apart, edge_crossings(&entry.edge, other).first()) {
                return Some(GeometryError::Crossing { x: p.x, y: p.y });
            }
        }
    }
    None
}

/// The smallest ring around each ring.
fn parents(rings: &[Ring]) -> Vec<Option<usize>> {
    let boxes: Vec<Bounds> = rings.iter().map(Ring::bounds).collect();
    let areas: Vec<f64> = rings.iter().map(|r| r.area_mm2().abs()).collect();
    let mut by_area: Vec<usize> = (0..rings.len()).collect();
    by_area.sort_by(|a, b| areas[*a].total_cmp(&areas[*b]).then(a.cmp(b)));
    (0..rings.len())
        .map(|i| {
            let larger = by_area.iter().copied().filter(|j| areas[*j] > areas[i]);
            larger
                .into_iter()
                .find(|j| boxes[*j].holds_box(boxes[i]) && lies_in(&rings[i], &rings[*j]))
        })
        .collect()
}

/// Whether a ring lies in another; the two do not cross, so one point that is not on the other tells.
fn lies_in(inner: &Ring, outer: &Ring) -> bool {
    let mut places = inner
        .edges()
        .iter()
        .map(|e| point_in_ring(e.at(0.5), outer));
    places.find(|l| *l != Location::Edge) == Some(Location::Inside)
}
