//! Curves that stand in a drawing twice.
//!
//! In: strands and rings. Out: the places of those that repeat an earlier one, whichever way they run and wherever they
//! begin. Two are the same if their edges' ends and middles, rounded to the grid, are.

use std::collections::BTreeSet;

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Edge;
use crate::geometry::point::Point;
use crate::geometry::tolerance::GRID;

/// An edge's ends in ascending order, and its middle.
type Key = [(i64, i64); 3];

/// Which curves repeat an earlier one. Curves of different boxes are never compared edge by edge.
pub(super) fn repeated<'a>(curves: impl Iterator<Item = &'a [Edge]>) -> Vec<bool> {
    let curves: Vec<&[Edge]> = curves.collect();
    let mut boxes: Vec<([(i64, i64); 2], usize)> = curves
        .iter()
        .enumerate()
        .map(|(i, edges)| {
            let bounds = edges.iter().fold(Bounds::EMPTY, |b, e| b.join(e.bounds()));
            ([bounds.min, bounds.max].map(on_grid), i)
        })
        .collect();
    boxes.sort_unstable();
    let mut again = vec![false; curves.len()];
    for here in boxes
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|here| here.len() > 1)
    {
        let mut seen = BTreeSet::new();
        for &(_, i) in here {
            again[i] = !seen.insert(keys(curves[i]));
        }
    }
    again
}

fn keys(edges: &[Edge]) -> Vec<Key> {
    let mut keys: Vec<Key> = edges.iter().map(key).collect();
    keys.sort_unstable();
    keys
}

fn on_grid(p: Point) -> (i64, i64) {
    ((p.x / GRID).round() as i64, (p.y / GRID).round() as i64)
}

fn key(edge: &Edge) -> Key {
    let (a, b) = (on_grid(edge.start), on_grid(edge.end));
    [a.min(b), a.max(b), on_grid(edge.at(0.5))]
}
