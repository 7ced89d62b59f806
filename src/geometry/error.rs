//! What geometry refuses, with the place and the figures.

/// Why a shape was refused or an operation on shapes gave up. Coordinates are in mm.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum GeometryError {
    /// A coordinate is not a number, infinite, or beyond `tolerance::MAX_COORDINATE`.
    #[error("the point ({x}, {y}) lies outside the admitted range of ±{limit} mm")]
    OutOfRange {
        /// The point's x.
        x: f64,
        /// The point's y.
        y: f64,
        /// The largest coordinate admitted.
        limit: f64,
    },
    /// Two edges of a region cross, or a ring turns back on itself.
    #[error("the outline crosses itself at ({x:.4}, {y:.4})")]
    Crossing {
        /// Where, x.
        x: f64,
        /// Where, y.
        y: f64,
    },
    /// Two edges that are not neighbours touch.
    #[error("the outline touches itself at ({x:.4}, {y:.4})")]
    Touching {
        /// Where, x.
        x: f64,
        /// Where, y.
        y: f64,
    },
    /// Too many edges lie in the boxes of others to compare them all.
    #[error("more than {limit} pairs of edges have boxes that touch, the last at ({x:.4}, {y:.4})")]
    Dense {
        /// Where the last one lies, x.
        x: f64,
        /// Where the last one lies, y.
        y: f64,
        /// How many are compared.
        limit: u64,
    },
    /// A ring has no area, or runs the wrong way round.
    #[error(
        "the ring at ({x:.4}, {y:.4}) encloses {area_mm2:.6} mm², with the sign of the wrong way round"
    )]
    Turned {
        /// Where the ring begins, x.
        x: f64,
        /// Where the ring begins, y.
        y: f64,
        /// Its signed area.
        area_mm2: f64,
    },
    /// A hole lies outside the outer ring or inside another hole.
    #[error("the hole at ({x:.4}, {y:.4}) does not lie in the material")]
    StrayHole {
        /// A point of the hole, x.
        x: f64,
        /// A point of the hole, y.
        y: f64,
    },
    /// A union, difference or intersection failed its own checks in every attempt.
    #[error(
        "combining outlines failed at ({x:.4}, {y:.4}): the area came out as {found_mm2:.6} mm² where {expected_mm2:.6} mm² was due"
    )]
    Combine {
        /// Where, x.
        x: f64,
        /// Where, y.
        y: f64,
        /// The area that came out.
        found_mm2: f64,
        /// The area that was due.
        expected_mm2: f64,
    },
    /// An offset failed its own checks in every attempt.
    #[error(
        "moving the outline by {by:.4} mm failed at ({x:.4}, {y:.4}), which lies {distance:.4} mm from it"
    )]
    Offset {
        /// The offset asked for, negative inward.
        by: f64,
        /// Where, x.
        x: f64,
        /// Where, y.
        y: f64,
        /// The distance found there.
        distance: f64,
    },
}

impl GeometryError {
    /// Where it went wrong, in mm.
    pub fn place(&self) -> (f64, f64) {
        match *self {
            Self::OutOfRange { x, y, .. }
            | Self::Crossing { x, y }
            | Self::Touching { x, y }
            | Self::Dense { x, y, .. }
            | Self::Turned { x, y, .. }
            | Self::StrayHole { x, y }
            | Self::Combine { x, y, .. }
            | Self::Offset { x, y, .. } => (x, y),
        }
    }
}
