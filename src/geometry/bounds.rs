//! Boxes along the axes.

use crate::geometry::point::Point;

/// A box along the axes; `min` is its front-left corner. The empty box has `min` at +∞ and `max` at −∞.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Front-left corner.
    pub min: Point,
    /// Back-right corner.
    pub max: Point,
}

impl Bounds {
    /// The box that holds nothing.
    pub const EMPTY: Self = Self {
        min: Point::new(f64::INFINITY, f64::INFINITY),
        max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// The box with these corners.
    pub const fn new(min: Point, max: Point) -> Self {
        Self { min, max }
    }

    /// The least box around points.
    pub fn of_points(points: impl IntoIterator<Item = Point>) -> Self {
        points.into_iter().fold(Self::EMPTY, Self::with)
    }

    /// The box, grown as far as needed to hold a point.
    pub fn with(self, p: Point) -> Self {
        Self::new(
            Point::new(self.min.x.min(p.x), self.min.y.min(p.y)),
            Point::new(self.max.x.max(p.x), self.max.y.max(p.y)),
        )
    }

    /// The least box around both.
    pub fn join(self, other: Self) -> Self {
        Self::new(
            Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        )
    }

    /// The box grown by `by` on all sides.
    pub fn grown(self, by: f64) -> Self {
        let d = Point::new(by, by);
        Self::new(self.min - d, self.max + d)
    }

    /// The box moved by a vector.
    pub fn moved(self, by: Point) -> Self {
        Self::new(self.min + by, self.max + by)
    }

    /// Extent along x.
    pub fn width(self) -> f64 {
        self.max.x - self.min.x
    }

    /// Extent along y.
    pub fn depth(self) -> f64 {
        self.max.y - self.min.y
    }

    /// The middle.
    pub fn center(self) -> Point {
        self.min.toward(self.max, 0.5)
    }

    /// Whether the boxes share a point, their edges included.
    pub fn touches(self, other: Self) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }

    /// Whether a point lies in the box, its edges included.
    pub fn holds(self, p: Point) -> bool {
        self.min.x <= p.x && p.x <= self.max.x && self.min.y <= p.y && p.y <= self.max.y
    }

    /// Whether another box lies in this one, edges included.
    pub fn holds_box(self, other: Self) -> bool {
        self.holds(other.min) && self.holds(other.max)
    }

    /// Whether nothing was ever put in.
    pub fn is_empty(self) -> bool {
        self.min.x > self.max.x
    }
}
