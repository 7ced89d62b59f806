//! One finger: square flanks, a flat top, rounded corners.
//!
//! In: depth, pitch, the least radius. Out: the finger, as wide as the space to the next. r is the least radius and a
//! twenty-fifth of the pitch, but leaves a flank and a top: roots that are sharp for their size are where cracks start. The
//! play along the seam and that which closes it are the gap; nothing holds it shut, and it slides in flat.
//!
//! Sources: as wide as the sheet is thick or wider, in a flat seam 10 to 40 wide and as deep as wide: common practice
//! without a published source.

use crate::seam::pattern::flanked::{Flank, Flanked};

/// Width where none is asked, in mm and in thicknesses.
const WIDTH: f64 = 16.0;
const WIDTH_OF_THICKNESS: f64 = 3.0;
/// Widths that the trade advises in a flat seam.
pub(crate) const ADVISED_WIDTH: (f64, f64) = (10.0, 40.0);
/// Share of the pitch by which corners exceed the least radius asked for.
const RADIUS_OF_PITCH: f64 = 0.04;
const SQUARE: Flank = Flank { sin: 1.0, cos: 0.0 };

/// Pitch by default: two widths.
pub(crate) fn pitch(thickness: f64) -> f64 {
    let width = (WIDTH_OF_THICKNESS * thickness).clamp(WIDTH, ADVISED_WIDTH.1);
    2.0 * width.max(thickness)
}

/// Depth by default in a pitch: as deep as wide.
pub(crate) fn depth_in(pitch: f64) -> f64 {
    pitch / 2.0
}

/// Pitch by default for a depth.
pub(crate) fn pitch_for(depth: f64) -> f64 {
    2.0 * depth
}

/// The finger of a depth in a pitch; `None` where the least radius leaves no room for one.
pub(crate) fn tooth(depth: f64, pitch: f64, least_radius: f64) -> Option<Flanked> {
    let radius = least_radius + RADIUS_OF_PITCH * pitch;
    Flanked::new(depth, pitch, radius, SQUARE)
        .or_else(|| Flanked::new(depth, pitch, least_radius, SQUARE))
        .filter(|finger| finger.top > 0.0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::seam::pattern::tests::assert_sound;

    #[test]
    fn a_finger_is_as_wide_as_the_space_beside_it() {
        let finger = tooth(18.0, 36.0, 0.5).unwrap();
        assert_sound(&finger, 18.0);
        // Flanks at ± 9, corners of 0.5 + 1.44 mm: foot at 10.94, top at 7.06, by hand.
        assert!((finger.foot - 10.94).abs() < 1e-9 && (finger.top - 7.06).abs() < 1e-9);
        assert!((finger.width() - 18.0).abs() < 1e-9);
        assert_eq!(finger.undercut(), 0.0);
    }

    #[test]
    fn a_radius_of_half_the_width_leaves_no_finger() {
        assert_eq!(tooth(10.0, 12.0, 3.0), None, "no top");
        assert_eq!(tooth(6.0, 40.0, 3.15), None, "no flank");
    }
}
