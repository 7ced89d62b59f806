//! Where along a straight seam no rule beside a ring can be broken.
//!
//! In: a ring, the span of the seams, `min_web`. Out: for a position, the stretches along the line outside of which every edge
//! nearer than `min_web` is a straight one that the line passes within its ends, at more than the least angle.
//!
//! At a distance d along the line from such a meeting the edge is at least d sin α away, and α is so large that d is less
//! than four times that: the excess that `beside` looks for is nowhere above 0. What else there is lies in boxes that are
//! known beforehand: of a steep line about each of its ends, of any other edge about all of it, each `min_web` wide. Only
//! what a line meets of these boxes is looked at: a comb of fifty thousand teeth is calm but near its tips.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;
use crate::geometry::box_tree::BoxTree;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::seam::beside::LEAST_SINE;
use crate::seam::ground::GroundRing;

/// By how much, in mm, boxes are drawn out: what `GroundRing::cuts` moves a line aside is below a tenth of it.
const MARGIN: f64 = 1.0e-3;
/// How steep a line has to be: a little more than the least sine, for rounding.
const STEEP: f64 = 1.001 * LEAST_SINE;
/// Edges of a ring up to which all are looked at.
const FEW: usize = 32;

/// What of a ring is not calm.
pub(crate) struct Calm {
    boxes: Vec<Bounds>,
    tree: BoxTree,
}

impl Calm {
    /// Of a ring that the span passes from outside to outside, so that no seam ends in its material or near it; `None` of
    /// others, and where there is little to be gained.
    pub(crate) fn new(ring: &GroundRing, span: (f64, f64), min_web: f64) -> Option<Self> {
        // Outside of an outer ring there is no material; beside a hole the seam ends in it.
        let beyond = if ring.outer { 0.0 } else { min_web + MARGIN };
        let passes = span.0 <= ring.bounds.min.x - beyond && span.1 >= ring.bounds.max.x + beyond;
        if !passes || ring.edges.len() <= FEW {
            return None;
        }
        let around = |b: Bounds| b.grown(min_web + MARGIN);
        let boxes: Vec<Bounds> = ring
            .edges
            .iter()
            .zip(&ring.boxes)
            .flat_map(|(edge, bounds)| {
                let (low, high) = (bounds.min.y, bounds.max.y);
                if !is_steep(edge) || high - low <= 2.0 * MARGIN {
                    return [Some(around(*bounds)), None];
                }
                // As wide as the edge: what lies beyond its end is not passed, wherever along the line the end is.
                let all = around(*bounds);
                let below = Bounds::new(all.min, Point::new(all.max.x, low + MARGIN));
                let above = Bounds::new(Point::new(all.min.x, high - MARGIN), all.max);
                [Some(below), Some(above)]
            })
            .flatten()
            .collect();
        Some(Self {
            tree: BoxTree::new(&boxes),
            boxes,
        })
    }

    /// Whether all of a line is calm.
    pub(crate) fn holds(&self, v: f64) -> bool {
        let admits = |b: Bounds| b.min.y <= v && v <= b.max.y;
        let found = self.tree.visit_where(admits, ControlFlow::Break);
        found.is_none()
    }

    /// The stretches of a line that are not calm, ascending and apart.
    pub(crate) fn uneasy(&self, v: f64) -> Vec<(f64, f64)> {
        let mut all: Vec<(f64, f64)> = Vec::new();
        let admits = |b: Bounds| b.min.y <= v && v <= b.max.y;
        self.tree.visit_where::<()>(admits, |k| {
            all.push((self.boxes[k].min.x, self.boxes[k].max.x));
            ControlFlow::Continue(())
        });
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        joined(all)
    }
}

/// Stretches in the order of their beginnings, those that touch made one.
pub(crate) fn joined(all: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let mut joined: Vec<(f64, f64)> = Vec::new();
    for stretch in all {
        match joined.last_mut() {
            Some(last) if stretch.0 <= last.1 => last.1 = last.1.max(stretch.1),
            _ => joined.push(stretch),
        }
    }
    joined
}

/// Whether one of some stretches, ascending and apart, touches another one.
pub(crate) fn touches(stretches: &[(f64, f64)], other: (f64, f64)) -> bool {
    let after = stretches.partition_point(|s| s.0 <= other.1);
    after
        .checked_sub(1)
        .is_some_and(|k| stretches[k].1 >= other.0)
}

fn is_steep(edge: &Edge) -> bool {
    let along = edge.end - edge.start;
    edge.curve == Curve::Line && along.y.abs() >= STEEP * along.length()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::region::Region;
    use crate::geometry::ring::Ring;
    use crate::model::cutter::Axis;
    use crate::seam::beside::{is_broken, is_broken_but_calm};
    use crate::seam::ground::Ground;
    use crate::seam::samples::layer_of;

    const S: SourceId = SourceId(0);

    /// A comb whose teeth lean, differ in height and are rounded here and there.
    fn comb(teeth: u32, pitch: f64, lean: f64) -> Ring {
        let mut points: Vec<Point> = Vec::new();
        for k in 0..teeth {
            let x = f64::from(k) * pitch;
            let top = 60.0 + f64::from(k * 7 % 11) * 1.3;
            let bottom = 15.0 + f64::from(k * 5 % 7) * 0.9;
            points.extend([Point::new(x, bottom), Point::new(x + lean, top)]);
            points.extend([
                Point::new(x + lean + pitch / 2.0, top + 0.2),
                Point::new(x + pitch / 2.0, bottom),
            ]);
        }
        let wide = f64::from(teeth) * pitch;
        points.extend([Point::new(wide, 0.0), Point::new(0.0, 0.0)]);
        let n = points.len();
        let edge = |k: usize| {
            let bulge = if k % 29 == 1 { -0.3 } else { 0.0 };
            Edge::from_bulge(points[k], points[(k + 1) % n], bulge, S)
        };
        Ring::new((0..n).map(edge).collect()).unwrap()
    }

    #[test]
    fn what_is_calm_is_what_the_whole_look_finds_sound() {
        for (teeth, pitch, lean) in [
            (60, 4.0, 3.0),
            (60, 4.0, 20.0),
            (200, 0.9, -7.0),
            (30, 20.0, 0.0),
        ] {
            let ring = comb(teeth, pitch, lean);
            for runs in [Axis::X, Axis::Y] {
                let ground = Ground::new(&layer_of(vec![Region::solid(ring.clone())]), runs);
                let one = &ground.rings[0];
                let span = (one.bounds.min.x, one.bounds.max.x);
                let calm = Calm::new(one, span, 6.0).unwrap();
                let (mut n_broken, mut n_spared) = (0, 0);
                for k in 0..3000 {
                    let share = f64::from(k) / 2999.0;
                    let v = one.bounds.min.y + share * one.bounds.depth();
                    let whole = is_broken(one, v, span, 6.0);
                    let told = is_broken_but_calm(one, v, span, 6.0, &calm);
                    assert_eq!(
                        told, whole,
                        "{teeth} teeth that lean by {lean}, {runs:?}, {v}"
                    );
                    n_broken += u32::from(whole);
                    n_spared += u32::from(calm.holds(v));
                }
                let comb_is_passed = runs == Axis::X && lean.abs() < 10.0;
                assert!(
                    !comb_is_passed || n_broken > 100 && n_spared > 100,
                    "{n_broken}, {n_spared}"
                );
            }
        }
    }

    #[test]
    fn a_ring_that_the_span_does_not_pass_is_looked_at_as_a_whole() {
        let ring = comb(60, 4.0, 0.0);
        let ground = Ground::new(&layer_of(vec![Region::solid(ring)]), Axis::X);
        let one = &ground.rings[0];
        let (from, to) = (one.bounds.min.x, one.bounds.max.x);
        assert!(Calm::new(one, (from + 1.0, to), 6.0).is_none());
        assert!(Calm::new(one, (from, to), 6.0).is_some());
    }
}
