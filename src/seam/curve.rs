//! A base line with its teeth, as chains of edges.
//!
//! The bare base line runs on beyond the seams that lie on it: cells are closed with it, and what lies outside the outer
//! contour cuts nothing. Since teeth meet no edge of the layer, a layer is cut along bare lines first; then every straight
//! edge that lies on a base line, or beside it by half the gap, is *dressed* with the teeth of its stretch. Both faces of a
//! seam and the seam itself get their edges from here, so that they share them to the bit.

use crate::geometry::edge::{Curve as Bend, Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;
use crate::model::cutter::Axis;
use crate::model::seam::Pattern;
use crate::model::source::SourceKind;
use crate::seam::ground::{turned, turned_edge};
use crate::seam::teeth::Tooth;

/// A base line, the seams on it and their teeth, in the frame of the seams.
#[derive(Clone, Debug)]
pub(crate) struct Curve {
    /// The way its seams run.
    pub(crate) runs: Axis,
    /// The base line.
    pub(crate) v: f64,
    /// Whether teeth point to +v.
    pub(crate) to_plus: bool,
    /// Where its seams begin and end, ascending.
    pub(crate) stretches: Vec<(f64, f64)>,
    /// Number of its first seam in the layer; the others follow.
    pub(crate) first_seam: usize,
    /// Its teeth, ascending.
    pub(crate) teeth: Vec<Tooth>,
    /// Where other seams meet it, ascending: a vertex stands there.
    pub(crate) meets: Vec<f64>,
    /// Where it passes an edge of the layer, ascending.
    pub(crate) cuts: Vec<f64>,
}

impl Curve {
    /// The bare base line from one place to another, in the bed frame.
    pub(crate) fn bare(&self, from: f64, to: f64) -> Vec<Edge> {
        let mut out = Vec::new();
        self.flat(from, to, &mut out);
        out.iter().map(|e| turned_edge(e, self.runs)).collect()
    }

    /// The edges with teeth from one place on the base line to another, ascending along it, in the bed frame.
    pub(crate) fn edges(&self, from: f64, to: f64) -> Vec<Edge> {
        self.level_edges(from, to)
            .iter()
            .map(|e| turned_edge(e, self.runs))
            .collect()
    }

    /// An edge of a piece that lies on the base line or is parallel to it, with the teeth of its stretch: the curve at
    /// the edge's distance from the base line. Ends and source stay; an edge that is not parallel stays as it is.
    pub(crate) fn dressed(&self, edge: &Edge) -> Vec<Edge> {
        let level = turned_edge(edge, self.runs);
        if level.curve != Bend::Line || (level.start.y - level.end.y).abs() > 2.0 * COINCIDENT {
            return vec![*edge];
        }
        let forward = level.start.x <= level.end.x;
        let (from, to) = if forward {
            (level.start, level.end)
        } else {
            (level.end, level.start)
        };
        let aside = (from.y + to.y) / 2.0 - self.v;
        let mut edges = self.level_edges(from.x, to.x);
        if aside.abs() > 2.0 * COINCIDENT {
            edges = edges.iter().map(|e| beside(e, aside)).collect();
        }
        // Rounding must not open the chain.
        let mut at = from;
        for e in &mut edges {
            e.start = at;
            e.source = edge.source;
            at = e.end;
        }
        if let Some(last) = edges.last_mut() {
            last.end = to;
        }
        let back = edges.iter().map(|e| turned_edge(e, self.runs));
        if forward {
            back.collect()
        } else {
            back.rev().map(|e| e.reversed()).collect()
        }
    }

    /// The vertex of a piece, held to where the seam passes an edge or meets another seam: booleans of two neighbours may
    /// find the same crossing a rounding apart.
    pub(crate) fn held(&self, vertex: Point) -> Point {
        let level = turned(vertex, self.runs);
        let near = |a: f64, b: f64| (a - b).abs() <= 2.0 * COINCIDENT;
        if !near(level.y, self.v) {
            return vertex;
        }
        let known = self
            .cuts
            .iter()
            .chain(&self.meets)
            .find(|u| near(**u, level.x));
        known.map_or(vertex, |u| turned(Point::new(*u, self.v), self.runs))
    }

    fn level_edges(&self, from: f64, to: f64) -> Vec<Edge> {
        let mut out: Vec<Edge> = Vec::new();
        let mut at = from;
        for tooth in self.teeth.iter().filter(|t| t.u > from && t.u < to) {
            let middle = Point::new(tooth.u, self.v);
            let source = self.source(tooth.u);
            let mut edges = tooth.shape.edges(middle, self.to_plus, source);
            // Teeth that join leave no flat between them, not even one of rounding.
            match out.last() {
                Some(last) if edges[0].start.x - at < COINCIDENT => edges[0].start = last.end,
                _ => self.flat(at, edges[0].start.x, &mut out),
            }
            at = edges[edges.len() - 1].end.x;
            out.extend(edges);
        }
        self.flat(at, to, &mut out);
        out
    }

    /// Straight edges along the base line, with a vertex at every place where another seam meets it.
    fn flat(&self, from: f64, to: f64, out: &mut Vec<Edge>) {
        let mut at = from;
        let gaps = self.stretches.windows(2).map(|w| (w[0].1 + w[1].0) / 2.0);
        let mut stops: Vec<f64> = self
            .meets
            .iter()
            .copied()
            .chain(gaps)
            .filter(|u| *u > from && *u < to)
            .collect();
        stops.push(to);
        stops.sort_by(f64::total_cmp);
        for stop in stops {
            if stop > at {
                out.push(Edge::line(
                    Point::new(at, self.v),
                    Point::new(stop, self.v),
                    self.source((at + stop) / 2.0),
                ));
                at = stop;
            }
        }
    }

    /// The seam at a place; outside the contour, the nearest one.
    pub(crate) fn source(&self, u: f64) -> SourceId {
        let passed = self
            .stretches
            .windows(2)
            .filter(|w| u > (w[0].1 + w[1].0) / 2.0)
            .count();
        SourceKind::Seam.id(self.first_seam + passed)
    }

    /// What one of its seams carries: without a tooth it is straight.
    pub(crate) fn pattern_of(&self, stretch: (f64, f64)) -> Pattern {
        let mut teeth = self.teeth.iter();
        teeth
            .find(|t| t.u > stretch.0 && t.u < stretch.1)
            .map_or(Pattern::Straight, |t| t.shape.pattern())
    }
}

/// The edge parallel to one that ascends along a seam, moved toward +v, which lies to its left.
fn beside(edge: &Edge, by: f64) -> Edge {
    match edge.curve {
        Bend::Line => {
            let aside = (edge.end - edge.start).unit().left() * by;
            Edge::line(edge.start + aside, edge.end + aside, edge.source)
        }
        Bend::Arc {
            center,
            radius,
            ccw,
        } => {
            let moved = if ccw { radius - by } else { radius + by };
            let out = |p: Point| center + (p - center) * (moved / radius);
            Edge::arc(
                out(edge.start),
                out(edge.end),
                center,
                moved,
                ccw,
                edge.source,
            )
        }
    }
}
