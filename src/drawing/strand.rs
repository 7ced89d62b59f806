//! Curves as edges.
//!
//! In: one curve in its own frame, and the map from that frame to the drawing's in mm. Out: strands, chains of edges in mm
//! whose ends may be loose, or rings. Edges carry the place of what drew them.
//!
//! Lines and circular arcs stay what they are as long as the map keeps circles circles; ellipses and splines, and arcs that
//! a map makes elliptic, become arcs within `tolerance::FLAT_FIT` (`geometry::biarc`). What has no length is left out (and
//! counted by the caller). An arc so flat that its radius would exceed [`STRAIGHT_RADIUS`] is a line.

use std::cell::Cell;
use std::f64::consts::TAU;

use crate::geometry::affine::Affine;
use crate::geometry::angle;
use crate::geometry::biarc::{self, STRAIGHT_RADIUS, Smooth};
use crate::geometry::course::{Course, Step};
use crate::geometry::edge::{Curve, Edge, SourceId};
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::nurbs::Nurbs;
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::{COINCIDENT, MAX_COORDINATE};

/// What a curve contributes.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Strand {
    /// A closed curve by itself.
    Ring(Ring),
    /// Edges, each ending where the next begins, the outer ends loose.
    Open(Vec<Edge>),
    /// Nothing: it has no length.
    Nothing,
}

/// A coordinate beyond what is admitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct TooFar(pub(super) f64);

/// Maps curves and gives them their source.
pub(super) struct Frame<'a> {
    /// From the curve's frame to mm.
    pub(super) map: &'a Affine,
    /// What the edges come from.
    pub(super) source: SourceId,
    /// Set where arcs were fitted to a curve.
    pub(super) fitted: &'a Cell<bool>,
    /// How many edges fitting may still make, one more than admitted: what is beyond is left out, as the drawing is refused.
    pub(super) room: &'a Cell<u64>,
}

impl Frame<'_> {
    fn point(&self, p: Point) -> Result<Point, TooFar> {
        admitted(self.map.apply(p))
    }

    fn fit(&self, curve: &dyn Smooth) -> Result<Vec<Edge>, TooFar> {
        self.fitted.set(true);
        let most = self.room.get();
        if most == 0 {
            return Ok(Vec::new());
        }
        let edges = biarc::arcs(curve, self.source, most).ok_or(TooFar(f64::INFINITY))?;
        self.room.set(most.saturating_sub(edges.len() as u64));
        Ok(edges)
    }

    /// A straight line.
    pub(super) fn line(&self, from: Point, to: Point) -> Result<Strand, TooFar> {
        let (from, to) = (self.point(from)?, self.point(to)?);
        if from.distance(to) <= COINCIDENT {
            return Ok(Strand::Nothing);
        }
        Ok(Strand::Open(vec![Edge::line(from, to, self.source)]))
    }

    /// An arc of an ellipse, most often of a circle; `ends` are its ends where they are known better than from its angles.
    pub(super) fn arc(
        &self,
        arc: &EllipticArc,
        ends: Option<[Point; 2]>,
    ) -> Result<Strand, TooFar> {
        let ends = ends.map(|e| e.map(|p| self.map.apply(p)));
        let arc = arc.mapped(self.map);
        let size = arc.u.length().max(arc.v.length());
        admitted(arc.center)?;
        admitted(Point::new(size, 0.0))?;
        let Some(radius) = arc.radius() else {
            let edges = self.fit(&arc)?;
            return Ok(if arc.is_whole() {
                ring(edges)
            } else {
                open(edges)
            });
        };
        if radius * (arc.to - arc.from).abs() <= COINCIDENT {
            return Ok(Strand::Nothing);
        }
        if arc.is_whole() {
            return Ok(Strand::Ring(Ring::circle(arc.center, radius, self.source)));
        }
        let ends = ends.unwrap_or_else(|| [arc.at(0.0), arc.at(1.0)]);
        Ok(open(vec![self.circular(&arc, radius, ends)]))
    }

    /// A circular arc between its ends.
    fn circular(&self, arc: &EllipticArc, radius: f64, ends: [Point; 2]) -> Edge {
        if radius > STRAIGHT_RADIUS {
            return Edge::line(ends[0], ends[1], self.source);
        }
        let ccw = (arc.u.cross(arc.v) > 0.0) == (arc.to > arc.from);
        Edge::arc(ends[0], ends[1], arc.center, radius, ccw, self.source)
    }

    /// A chain of steps; closed by a line where it does not end in its beginning.
    pub(super) fn chain(&self, course: &Course) -> Result<Strand, TooFar> {
        let closed = course.closed;
        let first = self.point(course.from)?;
        let mut at = first;
        let mut edges: Vec<Edge> = Vec::with_capacity(course.steps.len() + 1);
        for step in &course.steps {
            at = self.step(at, step, &mut edges)?;
        }
        if closed && at.distance(first) > COINCIDENT {
            edges.push(Edge::line(at, first, self.source));
        }
        if edges.is_empty() {
            return Ok(Strand::Nothing);
        }
        // What is shorter than coincidence was left out: ends are joined over it, to the bit.
        for i in 1..edges.len() {
            edges[i].start = edges[i - 1].end;
        }
        if !closed {
            return Ok(Strand::Open(edges));
        }
        if let Some(last) = edges.last_mut() {
            last.end = first;
        }
        edges[0].start = first;
        Ok(ring(edges))
    }

    /// Adds the edges of a step that begins at a point of the drawing; where it ends.
    fn step(&self, at: Point, step: &Step, out: &mut Vec<Edge>) -> Result<Point, TooFar> {
        match step {
            Step::Line(to) => {
                let to = self.point(*to)?;
                if at.is_near(to, COINCIDENT) {
                    return Ok(at);
                }
                out.push(Edge::line(at, to, self.source));
                Ok(to)
            }
            Step::Arc(arc, raw) => {
                let (raw, to) = (*raw, self.point(*raw)?);
                let arc = arc.mapped(self.map);
                let lengths = [arc.u.length(), arc.v.length()];
                let size = lengths[0].max(lengths[1]);
                if size > STRAIGHT_RADIUS {
                    // As far as its ends are admitted, it is straight between them, or goes far beyond.
                    if (arc.to - arc.from).abs() * size <= 2.0 * at.distance(to) {
                        return self.step(at, &Step::Line(raw), out);
                    }
                    return Err(TooFar(size));
                }
                if let Some(radius) = arc.radius_by(lengths) {
                    if radius * (arc.to - arc.from).abs() <= COINCIDENT {
                        return Ok(at);
                    }
                    out.push(self.circular(&arc, radius, [at, to]));
                    return Ok(to);
                }
                let mut edges = self.fit(&arc)?;
                let Some(last) = edges.last_mut() else {
                    return Ok(at);
                };
                last.end = to;
                out.extend(edges);
                Ok(to)
            }
            Step::Bezier(curve) => {
                let curve = curve.mapped(self.map);
                curve
                    .0
                    .into_iter()
                    .try_for_each(|p| admitted(p).map(drop))?;
                let edges = self.fit(&curve)?;
                let end = edges.last().map_or(at, |e| e.end);
                out.extend(edges);
                Ok(end)
            }
        }
    }

    /// A B-spline curve.
    pub(super) fn spline(&self, curve: &Nurbs) -> Result<Strand, TooFar> {
        let curve = curve.mapped(self.map);
        curve
            .points()
            .iter()
            .try_for_each(|p| admitted(*p).map(drop))?;
        let edges = self.fit(&curve)?;
        let closes = closes(&edges, curve.at(curve.breaks()[0]));
        Ok(if closes { ring(edges) } else { open(edges) })
    }
}

/// Whether a chain ends where it begins.
fn closes(edges: &[Edge], first: Point) -> bool {
    edges.len() > 1 && edges[edges.len() - 1].end.distance(first) <= COINCIDENT
}

/// The step of a bulge: the arc from one point to another, or the line.
pub(super) fn bulged(from: Point, to: Point, bulge: f64) -> Step {
    let edge = Edge::from_bulge(from, to, bulge, SourceId::default());
    let Curve::Arc { center, radius, .. } = edge.curve else {
        return Step::Line(to);
    };
    let start = (from - center).angle();
    let arc = EllipticArc {
        center,
        u: Point::new(radius, 0.0),
        v: Point::new(0.0, radius),
        from: start,
        to: start + 4.0 * angle::atan(bulge),
    };
    Step::Arc(arc, to)
}

/// A circle or an arc of one by angles in radians.
pub(super) fn circular(center: Point, radius: f64, from: f64, turn: f64) -> EllipticArc {
    EllipticArc {
        center,
        u: Point::new(radius, 0.0),
        v: Point::new(0.0, radius),
        from,
        to: from + turn,
    }
}

fn admitted(p: Point) -> Result<Point, TooFar> {
    let far = p.x.abs().max(p.y.abs());
    // The comparison is false for what is no number.
    if p.is_finite() && far <= MAX_COORDINATE {
        Ok(p)
    } else {
        Err(TooFar(far))
    }
}

fn open(edges: Vec<Edge>) -> Strand {
    if edges.is_empty() {
        Strand::Nothing
    } else {
        Strand::Open(edges)
    }
}

fn ring(mut edges: Vec<Edge>) -> Strand {
    let first = match edges.first() {
        Some(first) => first.start,
        None => return Strand::Nothing,
    };
    if let Some(last) = edges.last_mut() {
        last.end = first;
    }
    match Ring::chained(edges) {
        Ok(ring) => Strand::Ring(as_circle(ring)),
        Err(edges) => Strand::Open(edges),
    }
}

/// The exact circle in place of a ring whose arcs are all of one circle and turn once around it.
pub(super) fn as_circle(ring: Ring) -> Ring {
    let first = ring.edges()[0];
    let Curve::Arc {
        center,
        radius,
        ccw,
    } = first.curve
    else {
        return ring;
    };
    let same = |e: &Edge| match e.curve {
        Curve::Arc {
            center: c,
            radius: r,
            ccw: turn,
        } => turn == ccw && c.distance(center) <= COINCIDENT && (r - radius).abs() <= COINCIDENT,
        Curve::Line => false,
    };
    let once = || {
        let turns: f64 = ring.edges().iter().map(Edge::sweep).sum();
        (turns.abs() - TAU).abs() * radius <= 4.0 * COINCIDENT
    };
    if ring.edges().iter().all(same) && once() {
        return Ring::circle(center, radius, first.source);
    }
    ring
}
