//! A chain of curves as drawn, before it has become edges.

use crate::geometry::bezier::Bezier;
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;

/// One step along a chain: from where the last one ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Straight on to a point.
    Line(Point),
    /// Along an arc of a circle or of an ellipse, to a point; it begins where the last step ended, to rounding.
    Arc(EllipticArc, Point),
    /// Along a cubic curve that begins there.
    Bezier(Bezier),
}

impl Step {
    /// Where it ends.
    pub fn end(&self) -> Point {
        match self {
            Self::Line(to) | Self::Arc(_, to) => *to,
            Self::Bezier(curve) => curve.0[3],
        }
    }
}

/// A chain.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// Where it begins.
    pub from: Point,
    /// Its steps.
    pub steps: Vec<Step>,
    /// Whether a line runs from its end to its beginning, unless they are one point.
    pub closed: bool,
}
