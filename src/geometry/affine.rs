//! Affine maps of the plane: what blocks, groups and views of a drawing do to what they hold.
//!
//! A map is kept as the images of the two unit vectors and of the origin, so that turns by quarters and scales written in
//! decimals stay what they are.

use crate::geometry::point::Point;

/// By how much, relative to its size, a map may differ from a similarity and still be one: a turn's cosine and sine are
/// off by 1e-16, and a few dozen nested groups add up to no more than this.
const SIMILAR: f64 = 1.0e-12;

/// A map: p ↦ p.x · x + p.y · y + shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Affine {
    /// Image of the vector (1, 0).
    pub x: Point,
    /// Image of the vector (0, 1).
    pub y: Point,
    /// Image of the origin.
    pub shift: Point,
}

impl Affine {
    /// The map that changes nothing.
    pub const IDENTITY: Self = Self::scaled(1.0, 1.0);

    /// Scales along the axes.
    pub const fn scaled(x: f64, y: f64) -> Self {
        Self {
            x: Point::new(x, 0.0),
            y: Point::new(0.0, y),
            shift: Point::new(0.0, 0.0),
        }
    }

    /// Shifts.
    pub const fn shifted(by: Point) -> Self {
        Self {
            shift: by,
            ..Self::IDENTITY
        }
    }

    /// Turns counter-clockwise by the angle of a unit vector.
    pub fn turned(direction: Point) -> Self {
        Self {
            x: direction,
            y: direction.left(),
            shift: Point::default(),
        }
    }

    /// The image of a point. Adding zero turns −0 into 0.
    pub fn apply(&self, p: Point) -> Point {
        self.turn(p) + self.shift + Point::default()
    }

    /// The image of a vector: without the shift.
    pub fn turn(&self, p: Point) -> Point {
        self.x * p.x + self.y * p.y
    }

    /// The map that does this one first and then `outer`.
    pub fn then(&self, outer: &Self) -> Self {
        Self {
            x: outer.turn(self.x),
            y: outer.turn(self.y),
            shift: outer.apply(self.shift),
        }
    }

    /// By how much areas grow; negative where the map mirrors.
    pub fn determinant(&self) -> f64 {
        self.x.cross(self.y)
    }

    /// The scale of a map that keeps circles circles; `None` for others, and for those that collapse.
    pub fn similarity(&self) -> Option<f64> {
        self.similarity_by([self.x.length(), self.y.length()])
    }

    /// The same where the lengths of both axes are known.
    pub fn similarity_by(&self, [x, y]: [f64; 2]) -> Option<f64> {
        let size = x.max(y);
        let similar = size > 0.0
            && (x - y).abs() <= SIMILAR * size
            && self.x.dot(self.y).abs() <= SIMILAR * size * size;
        similar.then_some(x)
    }

    /// Whether all numbers are finite.
    pub fn is_finite(&self) -> bool {
        self.x.is_finite() && self.y.is_finite() && self.shift.is_finite()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn maps_are_done_one_after_the_other() {
        let first = Affine::turned(Point::new(0.0, 1.0));
        let then = Affine::scaled(2.0, 3.0);
        let both = first
            .then(&then)
            .then(&Affine::shifted(Point::new(5.0, 7.0)));
        // (1, 0) turns to (0, 1), grows to (0, 3), lands on (5, 10).
        assert_eq!(both.apply(Point::new(1.0, 0.0)), Point::new(5.0, 10.0));
        assert_eq!(both.determinant(), 6.0);
        assert_eq!(both.similarity(), None);
        assert_eq!(first.similarity(), Some(1.0));
        assert_eq!(Affine::scaled(-2.0, 2.0).similarity(), Some(2.0));
        assert_eq!(Affine::scaled(0.0, 0.0).similarity(), None);
    }
}
