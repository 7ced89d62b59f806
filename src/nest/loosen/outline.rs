//! Outlines of straight edges that stand for true shapes: never smaller than those.

use crate::geometry::edge::{Curve, Edge};
use crate::geometry::offset;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::transform::Pose;

/// Widest turn of one tangent of an arc, in radians: the outline lies at most r·(1 ÷ cos(turn ÷ 2) − 1) outside, 0.5 %.
const TURN: f64 = 0.2;

/// The same of one chord of an arc that bulges into the material, as round holes do: each chord is a convex part more. Holes come
/// out narrower by 3 % of their radius.
const HOLLOW_TURN: f64 = 0.5;

/// Widest turn of all, however coarse an outline is: a little more than a quarter. Of less than a half turn tangents meet.
const WIDEST: f64 = 1.6;

/// Outer outline (counter-clockwise) and holes (clockwise) as points, material on the left.
#[derive(Clone, Debug)]
pub(super) struct Outline(pub(super) Vec<Vec<Point>>);

impl Outline {
    /// The outline of a shape grown by `by` (shrunk where it is negative) and posed, up to `coarse` mm off its arcs, or as far as
    /// the finest outline is; `None` where it cannot be grown or falls apart.
    pub(super) fn around(region: &Region, by: f64, pose: Pose, coarse: f64) -> Option<Self> {
        if by == 0.0 {
            return Some(Self::of(&region.posed(pose), coarse));
        }
        let grown = offset::offset(std::slice::from_ref(region), by).ok()?;
        match grown.as_slice() {
            [one] => Some(Self::of(&one.posed(pose), coarse)),
            _ => None,
        }
    }

    fn of(region: &Region, coarse: f64) -> Self {
        Self(region.rings().map(|r| points_around(r, coarse)).collect())
    }
}

/// Corners of a ring, arcs replaced so that material only grows: by tangents where they bulge out of it, by chords where
/// they bulge into it.
fn points_around(ring: &Ring, coarse: f64) -> Vec<Point> {
    let mut out: Vec<Point> = Vec::new();
    for edge in ring.edges() {
        out.push(edge.start);
        if let Curve::Arc { ccw, radius, .. } = edge.curve {
            let turn = if ccw { TURN } else { HOLLOW_TURN };
            // A tangent that turns by 2a lies r(1 ÷ cos a − 1) outside, and a chord r(1 − cos a) inside: less than 0.69 · ra² both
            // where 2a is no more than the widest turn.
            let turn = turn.max((5.8 * coarse / radius).sqrt()).min(WIDEST);
            along_arc(edge, ccw, turn, &mut out);
        }
    }
    let n = out.len();
    // Points that hardly differ, and those in line with their neighbours, only cost time.
    (0..n)
        .filter(|&k| {
            let (a, b, c) = (out[(k + n - 1) % n], out[k], out[(k + 1) % n]);
            b.distance(c) > 1e-9
                && ((b - a).cross(c - b).abs() > 1e-9 * (b - a).length() * (c - b).length()
                    || (b - a).dot(c - b) < 0.0)
        })
        .map(|k| out[k])
        .collect()
}

fn along_arc(edge: &Edge, outward: bool, turn: f64, out: &mut Vec<Point>) {
    let n = (edge.sweep().abs() / turn).ceil().max(1.0);
    let pieces = n as usize;
    if !outward {
        out.extend((1..pieces).map(|k| edge.at(k as f64 / n)));
        return;
    }
    for k in 0..pieces {
        let (a, b) = (edge.at(k as f64 / n), edge.at((k + 1) as f64 / n));
        let (s, t) = (edge.tangent_at(a), edge.tangent_at(b));
        let across = s.cross(t);
        if across.abs() > 1e-12 {
            out.push(a + s * ((b - a).cross(t) / across));
        }
        if k + 1 < pieces {
            out.push(b);
        }
    }
}
