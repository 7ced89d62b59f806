//! The transcendental functions, from a portable implementation, so that results agree to the last bit on every computer.

use std::f64::consts::{PI, TAU};

/// Sine and cosine of an angle in radians.
pub fn sin_cos(angle: f64) -> (f64, f64) {
    libm::sincos(angle)
}

/// The angle of the vector (x, y), in (−π, π].
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Tangent.
pub fn tan(angle: f64) -> f64 {
    libm::tan(angle)
}

/// Inverse tangent, in (−π/2, π/2).
pub fn atan(value: f64) -> f64 {
    libm::atan(value)
}

/// Inverse cosine of a value that is first held to [−1, 1], in [0, π].
pub fn acos(value: f64) -> f64 {
    libm::acos(value.clamp(-1.0, 1.0))
}

/// Inverse sine of a value that is first held to [−1, 1], in [−π/2, π/2].
pub fn asin(value: f64) -> f64 {
    libm::asin(value.clamp(-1.0, 1.0))
}

/// Length of the vector (x, y).
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// The angle brought into [0, 2π).
pub fn positive(angle: f64) -> f64 {
    let turned = angle - TAU * libm::floor(angle / TAU);
    if turned >= TAU { 0.0 } else { turned }
}

/// The angle brought into (−π, π].
pub fn signed(angle: f64) -> f64 {
    let turned = positive(angle);
    if turned > PI { turned - TAU } else { turned }
}
