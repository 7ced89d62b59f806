//! One dovetail: a tail that widens upward, with flanks at a slope of 1 in 4.
//!
//! In: depth a, pitch p, the least radius. Out: the tail. Tail and the pin beside it are alike: as wide as one another at
//! half the depth and at their narrowest. r is the least radius and a fortieth of the pitch: roots that are sharp for their
//! size are where cracks start. Each side is undercut by (a − 2r)/N − 2r(1/cos γ − 1), tan γ = 1/N ("derived"); the
//! play that opens the seam is gap / sin γ = gap·√(1 + N²), 4.12 gaps. Along it flanks by themselves would allow gap / cos γ;
//! the rounded corners beside them, which turn through the seam's own way, allow the gap.
//!
//! Sources: slopes of 1:3 to 1:6 in sheet plastic with tail and pin equal and corners of 0.5 mm or more are common practice
//! without a published source. Within them 1:4 is a choice: 1:6 opens by six gaps, 1:3 has the sharpest corners. That a neck
//! is as wide as two thicknesses and 6 mm is carried over from knobs.

use crate::seam::pattern::flanked::{Flank, Flanked};

/// Length along the tail for one of width.
pub(crate) const SLOPE: f64 = 4.0;
/// Pitch where none is asked, in mm, in thicknesses, and in webs: the neck takes 0.42 of it.
const PITCH: f64 = 40.0;
const PITCH_OF_THICKNESS: f64 = 8.0;
const PITCH_OF_WEB: f64 = 2.5;
/// Depth to pitch where one of the two is not asked.
const DEPTH_OF_PITCH: f64 = 0.3;
/// Share of the pitch by which corners exceed the least radius asked for.
const RADIUS_OF_PITCH: f64 = 0.025;

/// Pitch by default.
pub(crate) fn pitch(thickness: f64, min_web: f64) -> f64 {
    PITCH
        .max(PITCH_OF_THICKNESS * thickness)
        .max(PITCH_OF_WEB * min_web)
}

/// Depth by default in a pitch.
pub(crate) fn depth_in(pitch: f64) -> f64 {
    pitch * DEPTH_OF_PITCH
}

/// Pitch by default for a depth.
pub(crate) fn pitch_for(depth: f64) -> f64 {
    depth / DEPTH_OF_PITCH
}

/// The tail of a depth in a pitch; `None` where the least radius leaves no room for one.
pub(crate) fn tooth(depth: f64, pitch: f64, least_radius: f64) -> Option<Flanked> {
    let flank = Flank::of_legs(SLOPE, -1.0);
    Flanked::new(depth, pitch, least_radius + RADIUS_OF_PITCH * pitch, flank)
        .or_else(|| Flanked::new(depth, pitch, least_radius, flank))
        .filter(|tail| tail.undercut() > 0.0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::seam::pattern::tests::assert_sound;

    #[test]
    fn tail_and_pin_are_alike_and_undercut() {
        let tail = tooth(12.0, 40.0, 0.5).unwrap();
        assert_sound(&tail, 12.0);
        // r = 1.5, cos γ = 4/√17: (12 − 3)/4 − 3·(√17/4 − 1) = 2.25 − 0.09233 = 2.15767, by hand.
        assert!((tail.undercut() - 2.15767).abs() < 1e-5, "{tail:?}");
        let pin = 40.0 - 2.0 * (tail.top + tail.radius);
        assert!((pin - tail.neck()).abs() < 1e-9, "{pin}");
        assert!((tail.width() - 20.0).abs() < 1e-9, "half a pitch");
    }

    #[test]
    fn a_radius_too_large_for_the_depth_leaves_no_tail() {
        assert_eq!(tooth(6.0, 40.0, 3.15), None);
        assert_eq!(tooth(12.0, 4.0, 1.67), None, "no neck");
    }
}
