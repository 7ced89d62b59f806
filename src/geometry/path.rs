//! Open chains of edges: seams before they cut, tool paths with tabs.

use crate::geometry::{bounds::Bounds, edge::Edge, point::Point, transform::Pose};

/// An open chain: every edge ends where the next begins, to the bit. At least one edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    edges: Vec<Edge>,
}

impl Path {
    /// A path of edges; `None` unless there is one or more, each ending where the next begins.
    pub fn new(edges: Vec<Edge>) -> Option<Self> {
        let chained = !edges.is_empty()
            && edges.windows(2).all(|w| w[0].end == w[1].start)
            && edges
                .iter()
                .all(|e| e.start.is_finite() && e.end.is_finite());
        chained.then_some(Self { edges })
    }

    /// The edges in order.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Where it begins.
    pub fn start(&self) -> Point {
        self.edges[0].start
    }

    /// Where it ends.
    pub fn end(&self) -> Point {
        self.edges[self.edges.len() - 1].end
    }

    /// Length along it.
    pub fn length(&self) -> f64 {
        self.edges.iter().map(Edge::length).sum()
    }

    /// The least box around it.
    pub fn bounds(&self) -> Bounds {
        self.edges
            .iter()
            .fold(Bounds::EMPTY, |b, e| b.join(e.bounds()))
    }

    /// The path run the other way.
    pub fn reversed(&self) -> Self {
        Self {
            edges: self.edges.iter().rev().map(Edge::reversed).collect(),
        }
    }

    /// The path in another pose.
    pub fn posed(&self, pose: Pose) -> Self {
        Self {
            edges: self.edges.iter().map(|e| e.posed(pose)).collect(),
        }
    }

    /// Points along it, first and last included, no farther than `flatness` from its curves.
    pub fn flatten(&self, flatness: f64) -> Vec<Point> {
        let mut points = vec![self.start()];
        for edge in &self.edges {
            edge.flatten(flatness, &mut points);
        }
        points
    }
}
