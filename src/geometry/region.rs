//! Connected areas.

use crate::geometry::{bounds::Bounds, edge::Edge, ring::Ring, transform::Pose};

/// One connected area: outer ring counter-clockwise, holes clockwise, inside it and apart from one another. A shape that
/// falls into several areas is a `Vec<Region>`.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    outer: Ring,
    holes: Vec<Ring>,
}

impl Region {
    /// Its rings, the outer one first.
    pub fn into_rings(self) -> Vec<Ring> {
        let mut rings = self.holes;
        rings.insert(0, self.outer);
        rings
    }

    /// A region of an outer ring and holes, which are turned to their orientation. That holes lie inside and apart is the
    /// caller's to know; `boolean::union` of doubtful rings establishes it.
    pub fn new(outer: Ring, holes: Vec<Ring>) -> Self {
        Self {
            outer: outer.into_oriented(true),
            holes: holes.into_iter().map(|h| h.into_oriented(false)).collect(),
        }
    }

    /// The same of rings that all run counter-clockwise, as the caller knows: their areas are not asked for once more.
    pub fn of_counter_clockwise(outer: Ring, holes: Vec<Ring>) -> Self {
        Self {
            outer,
            holes: holes.into_iter().map(Ring::into_reversed).collect(),
        }
    }

    /// A region without holes.
    pub fn solid(outer: Ring) -> Self {
        Self::new(outer, Vec::new())
    }

    /// The outer ring, counter-clockwise.
    pub fn outer(&self) -> &Ring {
        &self.outer
    }

    /// The holes, clockwise.
    pub fn holes(&self) -> &[Ring] {
        &self.holes
    }

    /// All rings, the outer one first.
    pub fn rings(&self) -> impl Iterator<Item = &Ring> {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// All edges, ring by ring; material lies to the left of each.
    pub fn edges(&self) -> impl Iterator<Item = &Edge> {
        self.rings().flat_map(|r| r.edges())
    }

    /// Area less the holes, in mm².
    pub fn area_mm2(&self) -> f64 {
        self.rings().map(Ring::area_mm2).sum()
    }

    /// The least box around it.
    pub fn bounds(&self) -> Bounds {
        self.outer.bounds()
    }

    /// The region in another pose.
    pub fn posed(&self, pose: Pose) -> Self {
        Self {
            outer: self.outer.posed(pose),
            holes: self.holes.iter().map(|h| h.posed(pose)).collect(),
        }
    }

    /// The region with its holes closed.
    pub fn filled(&self) -> Self {
        Self {
            outer: self.outer.clone(),
            holes: Vec::new(),
        }
    }
}
