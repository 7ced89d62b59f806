//! Curves that stand in a drawing twice.
//!
//! In: strands and rings. Out: the places of those that repeat an earlier one, whichever way they run and wherever they
//! begin. Two are the same if their edges' ends and middles, rounded to the grid, are.

use std::collections::BTreeSet;

use crate::geometry::edge::Edge;
use crate::geometry::point::Point;
use crate::geometry::tolerance::GRID;

/// An edge's ends in ascending order, and its middle.
type Key = [(i64, i64); 3];

/// Remembers curves and tells those that come again.
#[derive(Default)]
pub(super) struct Seen(BTreeSet<Vec<Key>>);

impl Seen {
    /// Whether the same edges came before.
    pub(super) fn again(&mut self, edges: &[Edge]) -> bool {
        let mut keys: Vec<Key> = edges.iter().map(key).collect();
        keys.sort_unstable();
        !self.0.insert(keys)
    }
}

fn key(edge: &Edge) -> Key {
    let on_grid = |p: Point| ((p.x / GRID).round() as i64, (p.y / GRID).round() as i64);
    let (a, b) = (on_grid(edge.start), on_grid(edge.end));
    [a.min(b), a.max(b), on_grid(edge.at(0.5))]
}
