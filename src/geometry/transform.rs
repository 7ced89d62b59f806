//! Moving shapes: mirror, turn, shift, in the order in which a plan writes them.

use crate::geometry::{angle, point::Point, units};

/// A turn, kept as the number that a plan writes (degrees, counter-clockwise) with its cosine and sine. Quarter turns are
/// exact. Degrees stand here because a plan is certified from the numbers as written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rotation {
    deg: f64,
    cos: f64,
    sin: f64,
}

impl Rotation {
    /// No turn.
    pub const NONE: Self = Self {
        deg: 0.0,
        cos: 1.0,
        sin: 0.0,
    };

    /// A turn by so many degrees, brought into [0, 360) and rounded to 1e-9.
    pub fn from_degrees(deg: f64) -> Self {
        let turned = deg - 360.0 * (deg / 360.0).floor();
        let rounded = (turned * 1e9).round() / 1e9;
        let deg = if rounded >= 360.0 { 0.0 } else { rounded };
        let (sin, cos) = if deg == 0.0 {
            (0.0, 1.0)
        } else if deg == 90.0 {
            (1.0, 0.0)
        } else if deg == 180.0 {
            (0.0, -1.0)
        } else if deg == 270.0 {
            (-1.0, 0.0)
        } else {
            angle::sin_cos(units::radians(deg))
        };
        Self { deg, cos, sin }
    }

    /// The turn in degrees, in [0, 360), as a plan writes it.
    pub fn degrees(self) -> f64 {
        self.deg
    }

    /// A vector after the turn.
    pub fn apply(self, p: Point) -> Point {
        Point::new(
            self.cos * p.x - self.sin * p.y,
            self.sin * p.x + self.cos * p.y,
        )
    }

    /// A vector before the turn.
    pub fn undo(self, p: Point) -> Point {
        Point::new(
            self.cos * p.x + self.sin * p.y,
            self.cos * p.y - self.sin * p.x,
        )
    }
}

/// How a piece lies on a sheet: mirror first (x → −x), then turn about the origin, then shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Whether the piece lies face down.
    pub mirrored: bool,
    /// The turn after mirroring.
    pub rotation: Rotation,
    /// The shift after turning.
    pub shift: Point,
}

impl Pose {
    /// The pose that changes nothing.
    pub const IDENTITY: Self = Self {
        mirrored: false,
        rotation: Rotation::NONE,
        shift: Point::new(0.0, 0.0),
    };

    /// A pose that only shifts.
    pub const fn shifted(by: Point) -> Self {
        Self {
            mirrored: false,
            rotation: Rotation::NONE,
            shift: by,
        }
    }

    /// A point of the piece's frame in the sheet's.
    pub fn apply(self, p: Point) -> Point {
        self.turn(p) + self.shift
    }

    /// A vector of the piece's frame in the sheet's: mirrored and turned, not shifted.
    pub fn turn(self, p: Point) -> Point {
        let p = if self.mirrored {
            Point::new(-p.x, p.y)
        } else {
            p
        };
        self.rotation.apply(p)
    }

    /// A point of the sheet's frame in the piece's.
    pub fn undo(self, p: Point) -> Point {
        let q = self.rotation.undo(p - self.shift);
        if self.mirrored {
            Point::new(-q.x, q.y)
        } else {
            q
        }
    }
}
