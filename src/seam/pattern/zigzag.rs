//! One tooth of a zigzag: two straight flanks and a rounded point.
//!
//! In: depth a, pitch p, the least radius. Out: the tooth. Sharp points would have tan β = 2a/p. Rounded ones end
//! r·(1/cos β − 1) sooner at either side; the depth is what is asked between the outermost points of the made shape, so the
//! flank becomes steeper by as much as it takes (see `flanked`): a few degrees. The play along the seam is gap / sin β with
//! the angle that is made; rounded points and flat ends close by the gap itself, where sharp ones would by gap / cos β.
//!
//! r is the least radius and a twenty-fifth of the pitch: points that are sharp for their size chip. A zigzag locates along
//! the seam and does not hold it shut.
//!
//! Sources: flank angles of 30° to 60° are calculated from the play they leave, not published; 45° by default is a choice.

use std::f64::consts::{FRAC_PI_4, SQRT_2};

use crate::seam::pattern::flanked::{Flank, Flanked, pointed};

/// Pitch where none is asked, in mm and in thicknesses.
const PITCH: f64 = 24.0;
const PITCH_OF_THICKNESS: f64 = 6.0;
/// Share of the pitch by which corners exceed the least radius asked for.
const RADIUS_OF_PITCH: f64 = 0.04;

/// Pitch by default.
pub(crate) fn pitch(thickness: f64) -> f64 {
    PITCH.max(PITCH_OF_THICKNESS * thickness)
}

/// Depth of flanks at 45° in a pitch: half of it, less what is rounded off.
pub(crate) fn depth_in(pitch: f64, least_radius: f64) -> f64 {
    pitch / 2.0 - 2.0 * radius(pitch, least_radius) * (SQRT_2 - 1.0)
}

/// Pitch of flanks at 45° that reach a depth: the inverse.
pub(crate) fn pitch_for(depth: f64, least_radius: f64) -> f64 {
    let rounded = 2.0 * (SQRT_2 - 1.0);
    (depth + rounded * least_radius) / (0.5 - rounded * RADIUS_OF_PITCH)
}

fn radius(pitch: f64, least_radius: f64) -> f64 {
    least_radius + RADIUS_OF_PITCH * pitch
}

/// The tooth of a depth in a pitch; `None` where the least radius leaves no room for one.
pub(crate) fn tooth(depth: f64, pitch: f64, least_radius: f64) -> Option<Flanked> {
    // Exactly 45° where the depth is the one by default, so that rounding does not show.
    let of_radius = |radius: f64| {
        let usual = pitch / 2.0 - 2.0 * radius * (SQRT_2 - 1.0);
        let flank = if (depth - usual).abs() < 1e-12 * pitch {
            Flank::at(FRAC_PI_4)
        } else {
            pointed(depth, pitch, radius)?
        };
        Flanked::new(depth, pitch, radius, flank)
    };
    of_radius(radius(pitch, least_radius)).or_else(|| of_radius(least_radius))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::units;
    use crate::seam::pattern::tests::assert_sound;

    #[test]
    fn rounded_points_keep_the_depth_and_steepen_the_flank() {
        // Hardly rounded: tan β = 2 · 10 / 20, 45°, worked example of the trade's figures for play; r = 0.8, a twenty-fifth
        // of 20, asks for 10·tan β − 1.6·(1/cos β − 1) = 10: β = 47.06°, by trial.
        let sharp = pointed(10.0, 20.0, 1e-9).unwrap();
        assert!((units::degrees(sharp.angle()) - 45.0).abs() < 1e-6);
        let rounded = tooth(10.0, 20.0, 0.0).unwrap();
        let (tan, sec) = (
            rounded.flank.sin / rounded.flank.cos,
            1.0 / rounded.flank.cos,
        );
        assert!(
            (10.0 * tan - 1.6 * (sec - 1.0) - 10.0).abs() < 1e-9,
            "{rounded:?}"
        );
        assert!((units::degrees(rounded.flank.angle()) - 47.06).abs() < 0.05);
        assert_sound(&rounded, 10.0);
    }

    #[test]
    fn by_default_flanks_stand_at_45_degrees() {
        for (pitch, least) in [(24.0, 0.5), (24.0, 3.15), (12.0, 0.5)] {
            let made = tooth(depth_in(pitch, least), pitch, least).unwrap();
            assert!((units::degrees(made.flank.angle()) - 45.0).abs() < 1e-9);
            assert!(made.radius >= least);
            let back = pitch_for(depth_in(pitch, least), least);
            assert!((back - pitch).abs() < 1e-9, "{back}");
            assert_sound(&made, made.depth);
        }
        assert_eq!(tooth(6.0, 8.0, 3.0), None, "no room for the radius");
    }
}
