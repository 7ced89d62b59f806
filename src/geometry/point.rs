//! Points, which are also vectors.

use std::ops::{Add, Mul, Neg, Sub};

use crate::geometry::angle;

/// A point or a vector, in mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// To the back.
    pub y: f64,
}

impl Point {
    /// The point (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at an angle from the x axis.
    pub fn at_angle(angle: f64) -> Self {
        let (sin, cos) = angle::sin_cos(angle);
        Self::new(cos, sin)
    }

    /// Scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// z component of the cross product: positive where `other` lies to the left of `self`.
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Length of the vector.
    pub fn length(self) -> f64 {
        angle::hypot(self.x, self.y)
    }

    /// Square of the length.
    pub fn length_squared(self) -> f64 {
        self.dot(self)
    }

    /// Distance to another point.
    pub fn distance(self, other: Self) -> f64 {
        (self - other).length()
    }

    /// Whether another point is no farther away than `reach`: most that are farther are so in one coordinate.
    pub fn is_near(self, other: Self, reach: f64) -> bool {
        let way = self - other;
        way.x.abs() <= reach && way.y.abs() <= reach && way.length() <= reach
    }

    /// Angle from the x axis, in (−π, π].
    pub fn angle(self) -> f64 {
        angle::atan2(self.y, self.x)
    }

    /// The vector turned by a quarter to the left.
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The vector of length 1 in the same direction; the zero vector stays.
    pub fn unit(self) -> Self {
        let length = self.length();
        if length > 0.0 {
            self * (1.0 / length)
        } else {
            self
        }
    }

    /// The point at a share of the way to another.
    pub fn toward(self, other: Self, share: f64) -> Self {
        self + (other - self) * share
    }

    /// Whether both coordinates are finite.
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Neg for Point {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.x * by, self.y * by)
    }
}
