//! Conversion factors; they stand here and nowhere else.

use std::f64::consts::PI;

/// Millimetres in an inch (exact by definition, 1959).
pub const MM_PER_INCH: f64 = 25.4;
/// Points of 1/72 inch in a millimetre: the unit of PDF.
pub const POINTS_PER_MM: f64 = 72.0 / MM_PER_INCH;

/// Degrees to radians.
pub fn radians(deg: f64) -> f64 {
    deg * (PI / 180.0)
}

/// Radians to degrees.
pub fn degrees(angle: f64) -> f64 {
    angle * (180.0 / PI)
}
