//! One edge: a line or a circular arc, with the id of what it came from.

use std::f64::consts::{PI, TAU};

use crate::geometry::{angle, bounds::Bounds, point::Point, transform::Pose};

/// What an edge came from; geometry only carries it. `model::source` says what the numbers mean.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(pub u32);

/// The curve between the ends of an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    /// The straight line.
    Line,
    /// A circular arc of less than a full turn; a full circle is two half circles. Both ends lie on the circle to within
    /// `tolerance::COINCIDENT`; centre and radius are the truth, the ends follow.
    Arc {
        /// Centre of the circle.
        center: Point,
        /// Radius, above 0.
        radius: f64,
        /// Whether the arc runs counter-clockwise from start to end.
        ccw: bool,
    },
}

/// A line or an arc from `start` to `end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Where it begins.
    pub start: Point,
    /// Where it ends.
    pub end: Point,
    /// What runs between the two.
    pub curve: Curve,
    /// What it came from.
    pub source: SourceId,
}

impl Edge {
    /// A straight edge.
    pub const fn line(start: Point, end: Point, source: SourceId) -> Self {
        Self {
            start,
            end,
            curve: Curve::Line,
            source,
        }
    }

    /// An arc about a centre.
    pub const fn arc(
        start: Point,
        end: Point,
        center: Point,
        radius: f64,
        ccw: bool,
        source: SourceId,
    ) -> Self {
        Self {
            start,
            end,
            curve: Curve::Arc {
                center,
                radius,
                ccw,
            },
            source,
        }
    }

    /// An edge from a DXF bulge: the tangent of a quarter of the included angle, positive counter-clockwise.
    pub fn from_bulge(start: Point, end: Point, bulge: f64, source: SourceId) -> Self {
        if bulge == 0.0 {
            return Self::line(start, end, source);
        }
        let chord = end - start;
        // The centre lies on the chord's normal; (1 − b²) / 4b of the chord to its left.
        let rise = (1.0 - bulge * bulge) / (4.0 * bulge);
        let center = start.toward(end, 0.5) + chord.left() * rise;
        let radius = chord.length() * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        Self::arc(start, end, center, radius, bulge > 0.0, source)
    }

    /// The bulge of the edge: 0 for a line.
    pub fn bulge(&self) -> f64 {
        match self.curve {
            Curve::Line => 0.0,
            Curve::Arc { .. } => angle::tan(self.sweep() / 4.0),
        }
    }

    /// The signed angle that an arc turns through, in (−2π, 2π), positive counter-clockwise; 0 for a line.
    pub fn sweep(&self) -> f64 {
        match self.curve {
            Curve::Line => 0.0,
            Curve::Arc { center, ccw, .. } => {
                let (a, b) = (self.start - center, self.end - center);
                let turned = angle::positive(angle::atan2(a.cross(b), a.dot(b)));
                if ccw {
                    turned
                } else if turned == 0.0 {
                    0.0
                } else {
                    turned - TAU
                }
            }
        }
    }

    /// Length along the edge.
    pub fn length(&self) -> f64 {
        match self.curve {
            Curve::Line => self.start.distance(self.end),
            Curve::Arc { radius, .. } => radius * self.sweep().abs(),
        }
    }

    /// The point at a share (0 to 1) of the way along.
    pub fn at(&self, share: f64) -> Point {
        match self.curve {
            Curve::Line => self.start.toward(self.end, share),
            Curve::Arc { center, radius, .. } => {
                if share <= 0.0 {
                    return self.start;
                }
                if share >= 1.0 {
                    return self.end;
                }
                center
                    + Point::at_angle((self.start - center).angle() + share * self.sweep()) * radius
            }
        }
    }

    /// Unit direction of travel at the start.
    pub fn start_tangent(&self) -> Point {
        self.tangent_at(self.start)
    }

    /// Unit direction of travel at the end.
    pub fn end_tangent(&self) -> Point {
        self.tangent_at(self.end)
    }

    /// Unit direction of travel at a point of the edge.
    pub fn tangent_at(&self, p: Point) -> Point {
        match self.curve {
            Curve::Line => (self.end - self.start).unit(),
            Curve::Arc { center, ccw, .. } => {
                let out = (p - center).unit();
                if ccw { out.left() } else { -out.left() }
            }
        }
    }

    /// Whether an arc's circle point in direction `out` (from the centre) lies on the arc, ends included.
    pub fn spans(&self, out: Point) -> bool {
        match self.curve {
            Curve::Line => false,
            Curve::Arc { center, ccw, .. } => {
                let (a, b) = if ccw {
                    (self.start - center, self.end - center)
                } else {
                    (self.end - center, self.start - center)
                };
                // Counter-clockwise from a to b.
                if a.cross(b) >= 0.0 && !(a.cross(b) == 0.0 && a.dot(b) > 0.0) {
                    a.cross(out) >= 0.0 && out.cross(b) >= 0.0
                } else {
                    a.cross(out) >= 0.0 || out.cross(b) >= 0.0
                }
            }
        }
    }

    /// The least box around the edge.
    pub fn bounds(&self) -> Bounds {
        let (a, b) = (self.start, self.end);
        let mut bounds = Bounds::new(
            Point::new(a.x.min(b.x), a.y.min(b.y)),
            Point::new(a.x.max(b.x), a.y.max(b.y)),
        );
        if let Curve::Arc { center, radius, .. } = self.curve {
            for out in [
                Point::new(1.0, 0.0),
                Point::new(0.0, 1.0),
                Point::new(-1.0, 0.0),
                Point::new(0.0, -1.0),
            ] {
                if self.spans(out) {
                    bounds = bounds.with(center + out * radius);
                }
            }
        }
        bounds
    }

    /// The same edge run the other way.
    pub fn reversed(&self) -> Self {
        let curve = match self.curve {
            Curve::Line => Curve::Line,
            Curve::Arc {
                center,
                radius,
                ccw,
            } => Curve::Arc {
                center,
                radius,
                ccw: !ccw,
            },
        };
        Self {
            start: self.end,
            end: self.start,
            curve,
            source: self.source,
        }
    }

    /// The edge in another pose; mirroring turns the sense of an arc, not the order of its ends.
    pub fn posed(&self, pose: Pose) -> Self {
        let curve = match self.curve {
            Curve::Line => Curve::Line,
            Curve::Arc {
                center,
                radius,
                ccw,
            } => Curve::Arc {
                center: pose.apply(center),
                radius,
                ccw: ccw != pose.mirrored,
            },
        };
        Self {
            start: pose.apply(self.start),
            end: pose.apply(self.end),
            curve,
            source: self.source,
        }
    }

    /// Signed area between the edge and the origin, the edge's share of Green's ½ ∮ (x dy − y dx), in mm².
    pub fn area_mm2(&self) -> f64 {
        let triangle = 0.5 * self.start.cross(self.end);
        match self.curve {
            Curve::Line => triangle,
            Curve::Arc { radius, .. } => {
                let sweep = self.sweep();
                let (sin, _) = angle::sin_cos(sweep);
                triangle + 0.5 * radius * radius * (sweep - sin)
            }
        }
    }

    /// The same between the edge and another point.
    pub fn area_about_mm2(&self, about: Point) -> f64 {
        let (start, end) = (self.start - about, self.end - about);
        match self.curve {
            Curve::Line => 0.5 * start.cross(end),
            Curve::Arc {
                center,
                radius,
                ccw,
            } => {
                let center = center - about;
                Self::arc(start, end, center, radius, ccw, self.source).area_mm2()
            }
        }
    }

    /// Points along the edge, the start left out and the end included, no farther than `flatness` from its curve. Arcs
    /// are cut at angles that depend on centre and radius alone, so two edges of one circle get the same chords, either
    /// way round.
    pub fn flatten(&self, flatness: f64, out: &mut Vec<Point>) {
        if let Curve::Arc {
            center,
            radius,
            ccw,
        } = self.curve
        {
            let n = chords_of_circle(radius, flatness);
            let step = TAU / n as f64;
            let from = (self.start - center).angle();
            let to = from + self.sweep();
            // Chords shorter than this share of a step are joined to their neighbour: ends that fall on a cut.
            let slack = 1e-3;
            let (mut k, last) = if ccw {
                (
                    (from / step + slack).floor() + 1.0,
                    (to / step - slack).ceil() - 1.0,
                )
            } else {
                (
                    (from / step - slack).ceil() - 1.0,
                    (to / step + slack).floor() + 1.0,
                )
            };
            while if ccw { k <= last } else { k >= last } {
                // The index is brought into [0, n), so that the same cut has the same bits whatever the arc.
                let index = k - n as f64 * (k / n as f64).floor();
                out.push(center + Point::at_angle(index * step) * radius);
                k += if ccw { 1.0 } else { -1.0 };
            }
        }
        out.push(self.end);
    }
}

/// How many chords a full circle needs, a multiple of 4 so that its extreme points are kept: the sagitta of a chord over
/// the angle 2π/n is r·(1 − cos(π/n)).
pub fn chords_of_circle(radius: f64, flatness: f64) -> usize {
    let half = if flatness < radius {
        angle::acos(1.0 - flatness / radius)
    } else {
        PI / 4.0
    };
    let n = (PI / half).ceil().clamp(8.0, 1.0e6) as usize;
    n.div_ceil(4) * 4
}
