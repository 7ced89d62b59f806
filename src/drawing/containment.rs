//! Rings told apart by nesting: outlines, holes, and islands in holes, which are outlines again.
//!
//! In: rings in the order of the file. Out: regions in the order of their outlines, holes in the order of the file; or the
//! place where rings cross or touch.
//!
//! A ring's depth is the number of rings around it; even ones are outlines, odd ones holes of the ring just around.

use std::collections::{BTreeMap, BTreeSet};

use crate::geometry::bounds::Bounds;
use crate::geometry::check::check;
use crate::geometry::crossing::edge_crossings;
use crate::geometry::error::GeometryError;
use crate::geometry::point::Point;
use crate::geometry::predicate::{Location, point_in_ring};
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::spatial_index::EdgeIndex;
use crate::geometry::tolerance::SLIVER_AREA_MM2;

/// Rings that make no regions.
pub(super) struct Refused {
    /// Why, with the place.
    pub(super) error: GeometryError,
    /// The rings.
    pub(super) rings: Vec<Ring>,
}

/// Nests rings.
///
/// # Errors
/// Where rings cross or touch themselves or one another, or leave the admitted range.
pub(super) fn regions(rings: Vec<Ring>) -> Result<Vec<Region>, Box<Refused>> {
    let rings = check_apart(rings)?;
    let parents = parents(&rings);
    let depth = |i: usize| std::iter::successors(parents[i], |p| parents[*p]).count();
    let is_hole: Vec<bool> = (0..rings.len()).map(|i| depth(i) % 2 == 1).collect();
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
        .filter_map(|(ring, holes)| Some(Region::new(ring?, holes)))
        .collect())
}

/// All rings against one another: a region of them all, whose holes may lie anywhere, is checked for crossings and contacts.
fn check_apart(rings: Vec<Ring>) -> Result<Vec<Ring>, Box<Refused>> {
    let mut rings = rings.into_iter();
    let Some(first) = rings.next() else {
        return Ok(Vec::new());
    };
    let all = Region::new(first, rings.collect());
    let found = check(&all);
    let rings = all.into_rings();
    let error = match found {
        // Comes after crossings and contacts, and says only that the first ring is not around all others.
        Ok(()) | Err(GeometryError::StrayHole { .. }) => return Ok(rings),
        // A figure of eight may enclose as much one way as the other way round: then its crossing tells more.
        Err(turned @ GeometryError::Turned { .. }) => own_crossing(&rings).unwrap_or(turned),
        Err(error) => error,
    };
    Err(Box::new(Refused { error, rings }))
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
    let cells = Cells::new(&boxes);
    (0..rings.len())
        .map(|i| {
            let mut around = cells.at(boxes[i].min);
            around.retain(|j| areas[*j] > areas[i] && boxes[*j].holds_box(boxes[i]));
            around.sort_by(|a, b| areas[*a].total_cmp(&areas[*b]).then(a.cmp(b)));
            around.into_iter().find(|j| lies_in(&rings[i], &rings[*j]))
        })
        .collect()
}

/// The power of the coarsest grid: 2³¹ / 1024 mm is 2,000,000 mm, the largest box within the coordinates admitted.
const LARGEST: u32 = 31;

/// Boxes found by a point that they may hold: each lies in at most four cells of a grid that is as coarse as it is large,
/// one grid for each power of two. Thousands of rings are asked for those around them without each against each.
struct Cells {
    /// By power, column and row.
    cells: BTreeMap<(u32, i64, i64), Vec<usize>>,
    /// The powers in use.
    powers: BTreeSet<u32>,
}

impl Cells {
    fn new(boxes: &[Bounds]) -> Self {
        let mut cells: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        let mut powers = BTreeSet::new();
        for (i, bounds) in boxes.iter().enumerate() {
            let size = bounds.width().max(bounds.depth());
            // The least power of two that is no smaller; what is tiny shares one grid.
            let power = (0..LARGEST).find(|p| cell_size(*p) >= size);
            let power = power.unwrap_or(LARGEST);
            powers.insert(power);
            let (low, high) = (cell(bounds.min, power), cell(bounds.max, power));
            for x in low.0..=high.0 {
                for y in low.1..=high.1 {
                    cells.entry((power, x, y)).or_default().push(i);
                }
            }
        }
        Self { cells, powers }
    }

    /// The boxes that may hold a point.
    fn at(&self, p: Point) -> Vec<usize> {
        let found = self.powers.iter().filter_map(|power| {
            let (x, y) = cell(p, *power);
            self.cells.get(&(*power, x, y))
        });
        found.flatten().copied().collect()
    }
}

/// From a thousandth of a millimetre up, doubling.
fn cell_size(power: u32) -> f64 {
    (1_u64 << power) as f64 / 1024.0
}

fn cell(p: Point, power: u32) -> (i64, i64) {
    let size = cell_size(power);
    ((p.x / size).floor() as i64, (p.y / size).floor() as i64)
}

/// Whether a ring lies in another; the two do not cross, so one point that is not on the other tells.
fn lies_in(inner: &Ring, outer: &Ring) -> bool {
    let mut places = inner
        .edges()
        .iter()
        .map(|e| point_in_ring(e.at(0.5), outer));
    places.find(|l| *l != Location::Edge) == Some(Location::Inside)
}
