//! A shape in one of its turns, ready for fitting: its corners, and flat outlines for tests of overlap.

use crate::geometry::angle;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;
use crate::geometry::transform::Pose;

/// The cosine of the sharpest corner that is drawn in by its whole mitre, less one: sharper ones are drawn in by less.
const SHARPEST: f64 = 0.02;

/// What runs away from a corner.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// Curvature, positive where it bends to the left as one walks away; 0 for a line.
    pub(super) bend: f64,
    /// Length of the edge.
    pub(super) length: f64,
}

impl Side {
    /// An edge, walked its own way.
    pub(super) fn of_edge(edge: &Edge) -> Self {
        let bend = match edge.curve {
            Curve::Line => 0.0,
            Curve::Arc { radius, ccw, .. } if ccw => 1.0 / radius,
            Curve::Arc { radius, .. } => -1.0 / radius,
        };
        Self {
            bend,
            length: edge.length(),
        }
    }

    /// No side at all.
    pub(super) fn of_nothing() -> Self {
        Self {
            bend: 0.0,
            length: 0.0,
        }
    }

    /// The same, walked the other way.
    pub(super) fn back(self) -> Self {
        Self {
            bend: -self.bend,
            ..self
        }
    }

    /// Whether two sides that leave one point the same way stay within `limit` of one another.
    pub(super) fn fits(self, other: Self, limit: f64) -> bool {
        let reach = self.length.min(other.length);
        // A chord's rise is its square times the curvature over 8; two curves that share a tangent part four times as fast.
        (self.bend - other.bend).abs() * reach * reach / 2.0 <= limit
    }
}

/// Where two edges meet: material fills `angle` counter-clockwise from the direction `out`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub(super) at: Point,
    pub(super) out: f64,
    pub(super) angle: f64,
    /// The edge that leaves, and the one that arrives walked back.
    pub(super) sides: [Side; 2],
}

/// Rings with material on their left.
#[derive(Clone, Debug)]
pub(super) struct Form {
    /// Mirror and turn that made it of the item's shape; no shift.
    pub(super) pose: Pose,
    pub(super) edges: Vec<(Edge, Bounds)>,
    pub(super) corners: Vec<Corner>,
    /// The rings as points.
    pub(super) rings: Vec<Vec<Point>>,
    /// The same drawn in by what overlaps are let pass.
    pub(super) inner: Vec<Vec<Point>>,
    pub(super) bounds: Bounds,
}

impl Form {
    /// Makes it of rings that lie as told; `slip` is the depth of overlaps that are let pass.
    pub(super) fn new(rings: &[Ring], pose: Pose, slip: f64) -> Self {
        let mut edges = Vec::new();
        let mut corners = Vec::new();
        for ring in rings {
            let n = ring.edges().len();
            for (k, edge) in ring.edges().iter().enumerate() {
                let before = &ring.edges()[(k + n - 1) % n];
                let out = edge.start_tangent().angle();
                let back = (-before.end_tangent()).angle();
                corners.push(Corner {
                    at: edge.start,
                    out,
                    angle: angle::positive(back - out),
                    sides: [Side::of_edge(edge), Side::of_edge(before).back()],
                });
                edges.push((*edge, edge.bounds()));
            }
        }
        let flat: Vec<Vec<Point>> = rings.iter().map(|r| r.flatten(slip / 4.0)).collect();
        Self {
            pose,
            bounds: edges.iter().fold(Bounds::EMPTY, |b, e| b.join(e.1)),
            inner: flat.iter().map(|r| drawn_in(r, slip)).collect(),
            rings: flat,
            edges,
            corners,
        }
    }

    /// Whether a point (in the frame of the edges) lies within an odd number of rings.
    pub(super) fn holds(&self, p: Point) -> bool {
        self.bounds.holds(p) && within(p, &self.rings)
    }

    /// Whether this form, shifted by `by`, overlaps another one by more than the slip.
    pub(super) fn meets(&self, by: Point, other: &Self) -> bool {
        crosses(&self.inner, by, &other.rings, other.bounds)
            || self.inner.iter().any(|r| other.holds(r[0] + by))
            || other.rings.iter().any(|r| within(r[0] - by, &self.inner))
    }

    /// Whether this form, shifted by `by`, lies in a sheet whose surroundings are `outside`, but for the slip.
    pub(super) fn lies_in(&self, by: Point, outside: &Self, slip: f64) -> bool {
        outside.bounds.grown(slip).holds_box(self.bounds.moved(by))
            && !crosses(&self.inner, by, &outside.rings, outside.bounds)
            && self.inner.iter().all(|r| within(r[0] + by, &outside.rings))
            && !outside.rings.iter().any(|r| within(r[0] - by, &self.inner))
    }
}

/// Points moved to the left of the way around by `by`.
fn drawn_in(points: &[Point], by: f64) -> Vec<Point> {
    let n = points.len();
    (0..n)
        .map(|k| {
            let (a, b, c) = (points[(k + n - 1) % n], points[k], points[(k + 1) % n]);
            let (m, n) = ((b - a).unit().left(), (c - b).unit().left());
            b + (m + n) * (by / (1.0 + m.dot(n)).max(SHARPEST))
        })
        .collect()
}

/// Whether a point lies within an odd number of rings.
fn within(p: Point, rings: &[Vec<Point>]) -> bool {
    let mut odd = false;
    for ring in rings {
        let mut a = ring[ring.len() - 1];
        for &b in ring {
            if (a.y > p.y) != (b.y > p.y) {
                let side = (b - a).cross(p - a);
                if (side > 0.0) == (b.y > a.y) {
                    odd = !odd;
                }
            }
            a = b;
        }
    }
    odd
}

/// Whether edges of rings, shifted by `by`, cross edges of others.
fn crosses(rings: &[Vec<Point>], by: Point, others: &[Vec<Point>], bounds: Bounds) -> bool {
    for ring in rings {
        let mut a = ring[ring.len() - 1] + by;
        for &p in ring {
            let b = p + by;
            let low = Point::new(a.x.min(b.x), a.y.min(b.y));
            let high = Point::new(a.x.max(b.x), a.y.max(b.y));
            if bounds.touches(Bounds::new(low, high)) && crossed(a, b, (low, high), others) {
                return true;
            }
            a = b;
        }
    }
    false
}

fn crossed(a: Point, b: Point, (low, high): (Point, Point), others: &[Vec<Point>]) -> bool {
    let way = b - a;
    for other in others {
        let mut c = other[other.len() - 1];
        for &d in other {
            let apart = c.x.min(d.x) > high.x
                || c.x.max(d.x) < low.x
                || c.y.min(d.y) > high.y
                || c.y.max(d.y) < low.y;
            if !apart {
                let (s, t) = (way.cross(c - a), way.cross(d - a));
                let along = d - c;
                let (u, v) = (along.cross(a - c), along.cross(b - c));
                if (s > 0.0) != (t > 0.0) && (u > 0.0) != (v > 0.0) {
                    return true;
                }
            }
            c = d;
        }
    }
    false
}
