//! One knob: a round head on a narrower neck, of lines and tangent arcs.
//!
//! In: the depth from the base line to the top of the head, the pitch, the least radius. Out: the knob's measures and its
//! edges. From the flat a fillet of radius r turns into the neck's flank (a line, of no length where the depth allows no
//! more), a second arc of the same radius turns out into the head, an arc of radius R, and so down again:
//!
//! - neck : head is 0.7 (half neck n = 0.7 R), so the undercut is 0.3 R on each side;
//! - r is the least radius asked for plus a fifth of R: a root that is sharp for its size is where cracks start;
//! - fillet and head touch from outside: (h − y)² = (R + r)² − (n + r)² for the head's centre at height h and the upper
//!   fillet's at y ≥ r ("derived": the centres lie R + r apart, n + r of it along the seam). The greatest head of a depth
//!   d = h + R has y = r: 0.81 R² − (2.4 d − 1.8 c) R + (d − c)² = 0, with c the least radius; the lesser root.
//!
//! Lengths in mm. Everything is level: u along the seam in `Point::x`, v across it in `Point::y`.
//!
//! Sources: neck : head 0.6 to 0.8, head ≥ 4 × thickness and ≥ 10, neck ≥ 2 × thickness and ≥ 6 are common practice
//! without a published source.

use crate::geometry::edge::{Curve, Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;

/// Depth where none is asked, in mm and in thicknesses: heads about 17 wide, of four thicknesses and a little.
const DEPTH: f64 = 18.0;
const DEPTH_OF_THICKNESS: f64 = 4.4;
/// Depth to pitch where one of the two is not asked.
const DEPTH_OF_PITCH: f64 = 0.3;
/// Half neck to head radius.
const NECK_TO_HEAD: f64 = 0.7;
/// Share of the head's radius by which the fillets exceed the least radius asked for.
const FILLET_SHARE: f64 = 0.2;
/// Heads take up no more than this share of the pitch: as much is left between two heads as they are wide.
const HEAD_OF_PITCH: f64 = 0.5;

/// Pitch by default: large enough for a head of four thicknesses and a neck of `min_web`.
pub(crate) fn pitch(thickness: f64, min_web: f64, least_radius: f64) -> f64 {
    let head = (2.0 * thickness).max(min_web / (2.0 * NECK_TO_HEAD));
    let needed = depth_of_head(head, least_radius);
    pitch_for(DEPTH.max(DEPTH_OF_THICKNESS * thickness).max(needed))
}

/// The least depth that a head of a radius needs: the greater root of the same equation, for the depth.
fn depth_of_head(head: f64, least_radius: f64) -> f64 {
    let (r, c) = (head, least_radius);
    c + 1.2 * r + (0.63 * r * r + 0.6 * c * r).sqrt()
}

/// Depth by default in a pitch.
pub(crate) fn depth_in(pitch: f64) -> f64 {
    pitch * DEPTH_OF_PITCH
}

/// Pitch by default for a depth.
pub(crate) fn pitch_for(depth: f64) -> f64 {
    depth / DEPTH_OF_PITCH
}

/// Measures of a knob.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Knob {
    /// From the base line to the top of the head.
    pub(crate) depth: f64,
    /// Radius of the head.
    pub(crate) head: f64,
    /// Half width of the neck.
    pub(crate) half_neck: f64,
    /// Radius of the fillets.
    pub(crate) fillet: f64,
    /// Height of the upper fillets' centres; `fillet` where there is no straight flank.
    upper: f64,
}

impl Knob {
    /// The knob of a depth in a pitch; `None` where the least radius leaves no room for one.
    pub(crate) fn new(depth: f64, pitch: f64, least_radius: f64) -> Option<Self> {
        let (d, c) = (depth, least_radius);
        let b = 2.4 * d - 1.8 * c;
        let root = b * b - 3.24 * (d - c) * (d - c);
        if d <= c || root < 0.0 {
            return None;
        }
        let head = ((b - root.sqrt()) / 1.62).min(pitch * HEAD_OF_PITCH / 2.0);
        let fillet = c + FILLET_SHARE * head;
        let half_neck = NECK_TO_HEAD * head;
        let foot = half_neck + fillet;
        let rise = ((head + fillet) * (head + fillet) - foot * foot).sqrt();
        // A flank shorter than coincidence is the rounding of the root.
        let upper = d - head - rise;
        let upper = if upper > fillet + COINCIDENT {
            upper
        } else {
            fillet
        };
        let depth = upper + rise + head;
        (head >= c && head > 0.0 && 2.0 * foot < pitch).then_some(Self {
            depth,
            head,
            half_neck,
            fillet,
            upper,
        })
    }

    /// Half the length of base line that the knob takes the place of.
    pub(crate) fn foot(&self) -> f64 {
        self.half_neck + self.fillet
    }

    /// Width of the neck.
    pub(crate) fn neck(&self) -> f64 {
        2.0 * self.half_neck
    }

    /// By how much the head is wider than the neck, on each side.
    pub(crate) fn undercut(&self) -> f64 {
        self.head - self.half_neck
    }

    /// Whether a point lies in head or neck: `du` from its middle along the seam, `dv` from the base line toward its top.
    /// The corners between flat and neck are left out, less than a fillet from the curve.
    pub(crate) fn contains(&self, du: f64, dv: f64) -> bool {
        let rise = dv - (self.depth - self.head);
        (du * du + rise * rise < self.head * self.head)
            || (du.abs() < self.half_neck && dv > 0.0 && rise < 0.0)
    }

    /// The knob's edges from the base line and back to it, ascending along u, its middle at `middle` on the base line;
    /// `to_plus` when it points to +v.
    pub(crate) fn edges(&self, middle: Point, to_plus: bool, source: SourceId) -> Vec<Edge> {
        let side = if to_plus { 1.0 } else { -1.0 };
        let at = |u: f64, v: f64| Point::new(middle.x + u, middle.y + side * v);
        let (r, foot, n) = (self.fillet, self.foot(), self.half_neck);
        let top = at(0.0, self.depth - self.head);
        let half = |way: f64| {
            let (lower, upper) = (at(way * foot, r), at(way * foot, self.upper));
            let touch = upper + (top - upper) * (r / (r + self.head));
            let base = at(way * foot, 0.0);
            if self.upper > r {
                let (low, high) = (at(way * n, r), at(way * n, self.upper));
                vec![
                    Edge::arc(base, low, lower, r, to_plus, source),
                    Edge::line(low, high, source),
                    Edge::arc(high, touch, upper, r, to_plus, source),
                ]
            } else {
                vec![Edge::arc(base, touch, lower, r, to_plus, source)]
            }
        };
        let mut edges = half(-1.0);
        // Run from the head downward, the fillets of the far side turn the same way as those of the near side.
        let down = |e: &Edge| match e.curve {
            Curve::Arc { center, radius, .. } => {
                Edge::arc(e.end, e.start, center, radius, to_plus, source)
            }
            Curve::Line => e.reversed(),
        };
        let far: Vec<Edge> = half(1.0).iter().rev().map(down).collect();
        let (from, to) = (edges[edges.len() - 1].end, far[0].start);
        edges.push(Edge::arc(from, to, top, self.head, !to_plus, source));
        edges.extend(far);
        edges
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::seam::pattern::tests::{MIDDLE, assert_chain};

    #[test]
    fn lines_and_arcs_are_tangent_and_reach_the_depth() {
        for (depth, pitch, least) in [
            (18.0, 60.0, 0.5),
            (18.0, 60.0, 1.667),
            (18.0, 24.0, 0.5),
            (7.0, 30.0, 0.5),
        ] {
            let knob = Knob::new(depth, pitch, least).unwrap();
            assert!((knob.depth - depth).abs() < 1e-9, "{knob:?}");
            assert!(knob.fillet >= least && knob.head >= least);
            for to_plus in [true, false] {
                let edges = knob.edges(MIDDLE, to_plus, SourceId(0));
                let half_width = knob.foot().max(knob.head);
                assert_chain(&edges, to_plus, depth, half_width, knob.fillet);
            }
        }
    }

    #[test]
    fn a_head_without_flank_solves_the_quadratic() {
        // c = 0, d = 18: R = (43.2 − √(43.2² − 3.24 · 18²)) / 1.62 = (43.2 − √816.48) / 1.62 = 9.02832, by hand.
        let knob = Knob::new(18.0, 60.0, 0.0).unwrap();
        assert!((knob.head - 9.02832).abs() < 1e-5, "{knob:?}");
        assert!((knob.upper - knob.fillet).abs() < 1e-9, "no straight flank");
    }

    #[test]
    fn the_depth_of_a_head_is_the_inverse() {
        for (head, least) in [(6.0, 0.5), (10.0, 1.667), (12.0, 3.15)] {
            let knob = Knob::new(depth_of_head(head, least), 100.0, least).unwrap();
            assert!((knob.head - head).abs() < 1e-9, "{knob:?}");
        }
    }

    #[test]
    fn a_radius_too_large_for_the_depth_leaves_no_knob() {
        assert_eq!(Knob::new(4.0, 60.0, 3.0), None);
        assert_eq!(Knob::new(18.0, 4.0, 1.9), None, "no room between the feet");
    }
}
