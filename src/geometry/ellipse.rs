//! Elliptic arcs.
//!
//! An ellipse is kept as its centre and two conjugate half diameters, center + u cos θ + v sin θ: any affine map sends it
//! to the ellipse of the mapped three, and θ stays.

use std::f64::consts::{FRAC_PI_2, TAU};

use crate::geometry::affine::Affine;
use crate::geometry::angle;
use crate::geometry::biarc::Smooth;
use crate::geometry::point::Point;

/// An arc of an ellipse, from one parameter to another, which may lie either way; at most a full turn apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EllipticArc {
    /// The centre.
    pub center: Point,
    /// To the point at θ = 0.
    pub u: Point,
    /// To the point at θ = 90°.
    pub v: Point,
    /// θ at its start, in radians.
    pub from: f64,
    /// θ at its end.
    pub to: f64,
}

impl EllipticArc {
    /// The whole ellipse, from θ = 0.
    pub const fn whole(center: Point, u: Point, v: Point) -> Self {
        Self {
            center,
            u,
            v,
            from: 0.0,
            to: TAU,
        }
    }

    /// The arc after an affine map.
    pub fn mapped(&self, map: &Affine) -> Self {
        Self {
            center: map.apply(self.center),
            u: map.turn(self.u),
            v: map.turn(self.v),
            ..*self
        }
    }

    /// Whether it turns all the way round, to rounding.
    pub fn is_whole(&self) -> bool {
        ((self.to - self.from).abs() - TAU).abs() <= 1e-9
    }

    /// Radius of an ellipse that is a circle, to a relative 1e-12.
    pub fn radius(&self) -> Option<f64> {
        self.radius_by([self.u.length(), self.v.length()])
    }

    /// The same where the lengths of both half axes are known.
    pub fn radius_by(&self, lengths: [f64; 2]) -> Option<f64> {
        let frame = Affine {
            x: self.u,
            y: self.v,
            shift: self.center,
        };
        frame.similarity_by(lengths)
    }
}

/// The parameter is the share of the arc's turn, 0 to 1.
impl Smooth for EllipticArc {
    fn at(&self, t: f64) -> Point {
        let (sin, cos) = angle::sin_cos(self.from + (self.to - self.from) * t);
        self.center + self.u * cos + self.v * sin
    }

    fn slope(&self, t: f64, _toward: f64) -> Point {
        let turn = self.to - self.from;
        let (sin, cos) = angle::sin_cos(self.from + turn * t);
        (self.v * cos - self.u * sin) * turn
    }

    /// At most a quarter of a turn apart, so that a whole ellipse is fitted alike all around.
    fn breaks(&self) -> Vec<f64> {
        let turn = (self.to - self.from).abs();
        let n = (turn / FRAC_PI_2 - 1e-9).ceil().max(1.0) as usize;
        (0..=n).map(|k| k as f64 / n as f64).collect()
    }
}
