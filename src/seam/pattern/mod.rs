//! The shapes of teeth: what each pattern makes of a pitch, a depth and a least radius, and how large it is by default.

pub(crate) mod dovetail;
pub(crate) mod finger;
pub(crate) mod flanked;
pub(crate) mod knob;
pub(crate) mod wave;
pub(crate) mod zigzag;

use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::point::Point;
use crate::model::seam::Pattern;
use crate::seam::pattern::flanked::Flanked;
use crate::seam::pattern::knob::Knob;

/// The shape of a tooth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Shape {
    /// A wave.
    Wave(Flanked),
    /// A tooth of a zigzag.
    Zigzag(Flanked),
    /// A dovetail's tail.
    Dovetail(Flanked),
    /// A finger.
    Finger(Flanked),
    /// A knob.
    Knob(Knob),
}

impl Shape {
    /// The tooth of a pattern with this depth and pitch; `None` where the least radius leaves no room for one, and for
    /// straight seams.
    pub(crate) fn new(pattern: Pattern, depth: f64, pitch: f64, least_radius: f64) -> Option<Self> {
        match pattern {
            Pattern::Straight => None,
            Pattern::Wave => wave::tooth(depth, pitch, least_radius).map(Self::Wave),
            Pattern::Zigzag => zigzag::tooth(depth, pitch, least_radius).map(Self::Zigzag),
            Pattern::Dovetail => dovetail::tooth(depth, pitch, least_radius).map(Self::Dovetail),
            Pattern::Finger => finger::tooth(depth, pitch, least_radius).map(Self::Finger),
            Pattern::Knob => Knob::new(depth, pitch, least_radius).map(Self::Knob),
        }
    }

    /// The pattern that it is a tooth of.
    pub(crate) fn pattern(&self) -> Pattern {
        match self {
            Self::Wave(_) => Pattern::Wave,
            Self::Zigzag(_) => Pattern::Zigzag,
            Self::Dovetail(_) => Pattern::Dovetail,
            Self::Finger(_) => Pattern::Finger,
            Self::Knob(_) => Pattern::Knob,
        }
    }

    /// Its flanks, of all but knobs.
    pub(crate) fn flanked(&self) -> Option<&Flanked> {
        match self {
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => Some(f),
            Self::Knob(_) => None,
        }
    }

    /// Half the length of base line that it takes the place of.
    pub(crate) fn foot(&self) -> f64 {
        match self {
            Self::Knob(knob) => knob.foot(),
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => f.foot,
        }
    }

    /// Half the length along the seam that it takes anywhere.
    pub(crate) fn half_width(&self) -> f64 {
        match self {
            Self::Knob(knob) => knob.foot().max(knob.head),
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => f.half_width(),
        }
    }

    /// Width where it is narrowest below its top.
    pub(crate) fn neck(&self) -> f64 {
        match self {
            Self::Knob(knob) => knob.neck(),
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => f.neck(),
        }
    }

    /// By how much it is wider above its neck, on each side; `None` of patterns that do not hold the seam shut.
    pub(crate) fn undercut(&self) -> Option<f64> {
        match self {
            Self::Knob(knob) => Some(knob.undercut()),
            Self::Dovetail(tail) => Some(tail.undercut()),
            Self::Wave(_) | Self::Zigzag(_) | Self::Finger(_) => None,
        }
    }

    /// How many times as long as wide the neck is of what holds the seam shut: of a knob from the base line to below its head,
    /// of a tail all of it.
    pub(crate) fn slenderness(&self) -> Option<f64> {
        match self {
            Self::Knob(knob) => Some((knob.depth - 2.0 * knob.head) / knob.neck()),
            Self::Dovetail(tail) => Some(tail.depth / tail.neck()),
            Self::Wave(_) | Self::Zigzag(_) | Self::Finger(_) => None,
        }
    }

    /// The width that the trade speaks of: of a knob's head, of a tail's neck, of the others at half the depth.
    pub(crate) fn width(&self) -> f64 {
        match self {
            Self::Knob(knob) => 2.0 * knob.head,
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => f.neck(),
        }
    }

    /// The least radius of its corners.
    pub(crate) fn radius(&self) -> f64 {
        match self {
            Self::Knob(knob) => knob.fillet,
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => f.radius,
        }
    }

    /// Whether a point lies in it: `du` from its middle along the seam, `dv` from the base line toward its top.
    pub(crate) fn contains(&self, du: f64, dv: f64) -> bool {
        match self {
            Self::Knob(knob) => knob.contains(du, dv),
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => {
                f.contains(du, dv)
            }
        }
    }

    /// Its edges from the base line and back to it, ascending along u, its middle at `middle` on the base line; `to_plus`
    /// when it points to +v.
    pub(crate) fn edges(&self, middle: Point, to_plus: bool, source: SourceId) -> Vec<Edge> {
        match self {
            Self::Knob(knob) => knob.edges(middle, to_plus, source),
            Self::Wave(f) | Self::Zigzag(f) | Self::Dovetail(f) | Self::Finger(f) => {
                f.edges(middle, to_plus, source)
            }
        }
    }
}

/// Whether neighbouring teeth of a pattern join, with no flat between them.
pub(crate) fn joins(pattern: Pattern) -> bool {
    matches!(pattern, Pattern::Wave | Pattern::Zigzag)
}

/// Pitch by default, of a layer this thick with webs of `min_web`.
pub(crate) fn usual_pitch(
    pattern: Pattern,
    thickness: f64,
    min_web: f64,
    least_radius: f64,
) -> f64 {
    match pattern {
        Pattern::Straight => 0.0,
        Pattern::Wave => wave::pitch(thickness),
        Pattern::Zigzag => zigzag::pitch(thickness),
        Pattern::Dovetail => dovetail::pitch(thickness, min_web),
        Pattern::Finger => finger::pitch(thickness),
        Pattern::Knob => knob::pitch(thickness, min_web, least_radius),
    }
}

/// Depth by default in a pitch.
pub(crate) fn depth_in(pattern: Pattern, pitch: f64, least_radius: f64) -> f64 {
    match pattern {
        Pattern::Straight => 0.0,
        Pattern::Wave => wave::depth_in(pitch),
        Pattern::Zigzag => zigzag::depth_in(pitch, least_radius),
        Pattern::Dovetail => dovetail::depth_in(pitch),
        Pattern::Finger => finger::depth_in(pitch),
        Pattern::Knob => knob::depth_in(pitch),
    }
}

/// Pitch by default for a depth.
pub(crate) fn pitch_for(pattern: Pattern, depth: f64, least_radius: f64) -> f64 {
    match pattern {
        Pattern::Straight => 0.0,
        Pattern::Wave => wave::pitch_for(depth),
        Pattern::Zigzag => zigzag::pitch_for(depth, least_radius),
        Pattern::Dovetail => dovetail::pitch_for(depth),
        Pattern::Finger => finger::pitch_for(depth),
        Pattern::Knob => knob::pitch_for(depth),
    }
}

/// Least [`Shape::width`] that the trade advises for a thickness: heads of four thicknesses and 10 mm, necks of two and 6 mm,
/// fingers of one and 10 mm. For waves and zigzags it names none.
pub(crate) fn advised_width(pattern: Pattern, thickness: f64) -> f64 {
    match pattern {
        Pattern::Straight | Pattern::Wave | Pattern::Zigzag => 0.0,
        Pattern::Dovetail => (2.0 * thickness).max(6.0),
        Pattern::Finger => thickness.max(finger::ADVISED_WIDTH.0),
        Pattern::Knob => (4.0 * thickness).max(10.0),
    }
}

/// Least [`Shape::width`] of teeth that are made smaller than asked or usual. A choice: heads of two thicknesses and 6 mm,
/// of which each side holds 0.9 mm; others of one and a half, waves and zigzags also 8 mm, which then stand 5 mm high, the rest
/// 6 mm.
pub(crate) fn least_width(pattern: Pattern, thickness: f64) -> f64 {
    match pattern {
        Pattern::Knob => (2.0 * thickness).max(6.0),
        Pattern::Wave | Pattern::Zigzag => (1.5 * thickness).max(8.0),
        Pattern::Straight | Pattern::Dovetail | Pattern::Finger => (1.5 * thickness).max(6.0),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
pub(crate) mod tests {
    use super::*;
    use crate::geometry::bounds::Bounds;
    use crate::geometry::edge::Curve;
    use crate::geometry::predicate::{Location, point_in_ring};
    use crate::geometry::ring::Ring;

    pub(crate) const MIDDLE: Point = Point { x: 50.0, y: 7.0 };

    /// Edges of a tooth at `MIDDLE`: chained to the bit, tangent, level at both ends, as large as told, round enough.
    pub(crate) fn assert_chain(
        edges: &[Edge],
        to_plus: bool,
        depth: f64,
        half_width: f64,
        radius: f64,
    ) {
        for pair in edges.windows(2) {
            assert_eq!(pair[0].end, pair[1].start, "chained to the bit");
            let turn = pair[0].end_tangent().cross(pair[1].start_tangent()).abs();
            // 1e-9: tangents of circles of 1 mm and more through points rounded to 1e-14.
            assert!(
                turn < 1e-9 && pair[0].end_tangent().dot(pair[1].start_tangent()) > 0.0,
                "tangent: {turn}"
            );
        }
        for level in [
            edges[0].start_tangent(),
            edges[edges.len() - 1].end_tangent(),
        ] {
            assert!(
                (level.x - 1.0).abs() < 1e-9,
                "leaves the base line along it and comes back so: {level:?}"
            );
        }
        for edge in edges {
            if let Curve::Arc {
                center, radius: r, ..
            } = edge.curve
            {
                assert!(r >= radius);
                for p in [edge.start, edge.end] {
                    let off = (p.distance(center) - r).abs();
                    assert!(off < 1e-9, "ends lie on the circle: {off}");
                }
                let sweep = edge.sweep();
                assert!(sweep.abs() < 5.0, "an arc the wrong way round: {sweep}");
            }
        }
        let bounds = edges.iter().fold(Bounds::EMPTY, |b, e| b.join(e.bounds()));
        let (low, high) = if to_plus {
            (MIDDLE.y, MIDDLE.y + depth)
        } else {
            (MIDDLE.y - depth, MIDDLE.y)
        };
        assert!(
            (bounds.min.y - low).abs() < 1e-9 && (bounds.max.y - high).abs() < 1e-9,
            "{bounds:?}"
        );
        assert!((bounds.width() - 2.0 * half_width).abs() < 1e-9);
    }

    /// A tooth both ways, and what it contains against its outline.
    pub(crate) fn assert_sound(made: &Flanked, depth: f64) {
        for to_plus in [true, false] {
            let edges = made.edges(MIDDLE, to_plus, SourceId(0));
            assert_chain(&edges, to_plus, depth, made.half_width(), made.radius);
            let mut closed = edges.clone();
            let (last, first) = (edges[edges.len() - 1].end, edges[0].start);
            closed.push(Edge::line(last, first, SourceId(0)));
            let ring = Ring::new(closed).unwrap();
            for k in 0..400 {
                // A grid askew to the tooth, so that no point lies on its curve.
                let du = (f64::from(k % 20) - 9.7) / 9.0 * made.half_width();
                let dv = (f64::from(k / 20) - 1.9) / 16.0 * depth;
                let up = if to_plus { dv } else { -dv };
                let p = Point::new(MIDDLE.x + du, MIDDLE.y + up);
                let inside = point_in_ring(p, &ring) == Location::Inside;
                assert_eq!(made.contains(du, dv), inside, "{du}, {dv} of {made:?}");
            }
        }
    }

    #[test]
    fn teeth_of_the_usual_size_keep_what_the_trade_advises() {
        for t in [2.0, 3.0, 5.0, 6.0, 10.0] {
            for pattern in [
                Pattern::Wave,
                Pattern::Zigzag,
                Pattern::Dovetail,
                Pattern::Finger,
                Pattern::Knob,
            ] {
                for least in [0.5, 3.175 / 2.0 * 1.05] {
                    let pitch = usual_pitch(pattern, t, 2.0 * t, least);
                    let depth = depth_in(pattern, pitch, least);
                    let made = Shape::new(pattern, depth, pitch, least).unwrap();
                    assert!(
                        made.width() >= advised_width(pattern, t),
                        "{pattern:?} for {t}: {made:?}"
                    );
                    assert!(made.neck() >= 2.0 * t || joins(pattern), "{made:?}");
                    assert!(made.radius() >= least);
                    let back = pitch_for(pattern, depth, least);
                    assert!((back - pitch).abs() < 1e-9, "{pattern:?}: {back}");
                }
            }
        }
    }
}
