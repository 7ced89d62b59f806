//! Rings told apart by nesting: outlines, holes, and islands in holes, which are outlines again.
//!
//! In: rings in the order of the file. Out: regions in the order of their outlines, holes in the order of the file; or the
//! place where rings cross or touch.
//!
//! A ring's depth is the number of rings around it; even ones are outlines, odd ones holes of the ring just around.

use crate::drawing::around::parents;
use crate::geometry::bounds::Bounds;
use crate::geometry::check::faults_of_rings;
use crate::geometry::crossing::edge_crossings;
use crate::geometry::error::GeometryError;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::spatial_index::EdgeIndex;
use crate::geometry::tolerance::SLIVER_AREA_MM2;

/// Most crossings and contacts that are looked for: many more than are told one by one, so that a drawing laid upon itself
/// takes no longer than others.
const MOST_FAULTS: usize = 1000;

/// Rings that make no regions.
pub(super) struct Refused {
    /// Why, each with its place: one or more.
    pub(super) faults: Vec<GeometryError>,
    /// Whether there may be more.
    pub(super) more: bool,
    /// The rings.
    pub(super) rings: Vec<Ring>,
}

/// Nests rings.
///
/// # Errors
/// Where rings cross or touch themselves or one another, or leave the admitted range, or more pairs of edges would have to be
/// compared than are admitted.
pub(super) fn regions(rings: Vec<Ring>, most_pairs: u64) -> Result<Vec<Region>, Box<Refused>> {
    let (rings, boxes) = check_apart(rings, most_pairs)?;
    let parents = parents(&rings.iter().collect::<Vec<_>>(), &boxes);
    let is_hole = odd(&parents);
    let mut outlines: Vec<Option<Ring>> = Vec::with_capacity(rings.len());
    let mut holes: Vec<Vec<Ring>> = vec![Vec::new(); rings.len()];
    for (i, ring) in rings.into_iter().enumerate() {
        match (is_hole[i], parents[i]) {
            (true, Some(parent)) => {
                holes[parent].push(ring);
                outlines.push(None);
            }
            _ => outlines.push(Some(ring)),
        }
    }
    let outlines = outlines.into_iter().zip(holes);
    Ok(outlines
        .filter_map(|(ring, holes)| Some(Region::of_counter_clockwise(ring?, holes)))
        .collect())
}

/// Which rings lie in an odd number of others.
fn odd(parents: &[Option<usize>]) -> Vec<bool> {
    let mut known: Vec<Option<bool>> = vec![None; parents.len()];
    let mut way = Vec::new();
    for i in 0..parents.len() {
        let mut at = Some(i);
        // Up to what is known, and back again.
        let mut is_odd = loop {
            match at {
                None => break true,
                Some(ring) => match known[ring] {
                    Some(is_odd) => break is_odd,
                    None => {
                        way.push(ring);
                        at = parents[ring];
                    }
                },
            }
        };
        while let Some(ring) = way.pop() {
            is_odd = !is_odd;
            known[ring] = Some(is_odd);
        }
    }
    known.into_iter().map(|k| k == Some(true)).collect()
}

/// All rings against one another; they run counter-clockwise then. Also their boxes.
fn check_apart(
    rings: Vec<Ring>,
    most_pairs: u64,
) -> Result<(Vec<Ring>, Vec<Bounds>), Box<Refused>> {
    // Faults are told in one order, whichever way the outlines were drawn; and outlines need not be turned round later.
    let mut areas_mm2 = Vec::with_capacity(rings.len());
    let turned = rings.into_iter().map(|ring| {
        let (ring, area_mm2) = ring.into_counter_clockwise();
        areas_mm2.push(area_mm2);
        ring
    });
    let rings: Vec<Ring> = turned.collect();
    let of = rings.iter().collect::<Vec<_>>();
    // Asked once: a drawing that is refused takes no longer than another.
    let found = faults_of_rings(&of, &areas_mm2, most_pairs, MOST_FAULTS);
    let (mut faults, more) = (found.faults, found.more);
    // A figure of eight may enclose as much one way as the other way round: then its crossing tells more.
    match &mut faults[..] {
        [] => return Ok((rings, found.boxes)),
        [turned @ GeometryError::Turned { .. }, ..] => {
            if let Some(crossing) = own_crossing(&rings) {
                *turned = crossing;
            }
        }
        _ => {}
    }
    Err(Box::new(Refused {
        faults,
        more,
        rings,
    }))
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
