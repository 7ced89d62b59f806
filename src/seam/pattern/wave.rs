//! One wave: a crest between two half troughs, of equal arcs joined by short tangent lines.
//!
//! In: depth a from trough to crest, pitch p, the least radius. Out: the tooth. Its flank is as steep as a sine of the same
//! depth and pitch is at its steepest, tan β = π·a/p: so the play along the seam is that of the sine, gap / sin β, and the
//! arcs have the greatest radius which that slope allows, p·(1/2 − 1/π)·cot(β/2)/2 ("derived": half a pitch and the depth
//! are two arcs through β and a line). A wave is the zigzag with the roundest corners.
//!
//! Where that radius is below the least one, the least one is taken, and the flank becomes as steep as the depth then asks.
//! A wave locates along the seam and does not hold it shut.
//!
//! Sources: flank angles of 30° to 60° are calculated from the play they leave, not published; 45° by default is a choice.

use std::f64::consts::PI;

use crate::seam::pattern::flanked::{Flank, Flanked, pointed};

/// Pitch where none is asked, in mm and in thicknesses: half a pitch, the width at half the depth, is four thicknesses.
const PITCH: f64 = 40.0;
const PITCH_OF_THICKNESS: f64 = 8.0;

/// Pitch by default.
pub(crate) fn pitch(thickness: f64) -> f64 {
    PITCH.max(PITCH_OF_THICKNESS * thickness)
}

/// Depth of flanks at 45° in a pitch.
pub(crate) fn depth_in(pitch: f64) -> f64 {
    pitch / PI
}

/// Pitch of flanks at 45° that reach a depth.
pub(crate) fn pitch_for(depth: f64) -> f64 {
    depth * PI
}

/// The wave of a depth in a pitch; `None` where the least radius leaves no room for one.
pub(crate) fn tooth(depth: f64, pitch: f64, least_radius: f64) -> Option<Flanked> {
    let flank = Flank::of_legs(PI * depth, pitch);
    // cot(β/2) = (1 + cos β) / sin β.
    let radius = pitch * (0.5 - 1.0 / PI) * (1.0 + flank.cos) / flank.sin / 2.0;
    if radius >= least_radius {
        return Flanked::new(depth, pitch, radius, flank);
    }
    let flank = pointed(depth, pitch, least_radius)?;
    Flanked::new(depth, pitch, least_radius, flank)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::units;
    use crate::seam::pattern::tests::assert_sound;

    #[test]
    fn its_flank_is_as_steep_as_the_sine() {
        let wave = tooth(10.0, 40.0, 0.5).unwrap();
        // p 40, a 10: β = atan(π/4) = 38.146°, worked example of the trade's figures for play.
        let angle = units::degrees(wave.flank.angle());
        assert!((angle - 38.146).abs() < 5e-4, "{angle}");
        // R = 40 · 0.181690 · cot(19.073°) / 2 = 3.633802 · 2.892023 = 10.50904, by hand.
        assert!((wave.radius - 10.509).abs() < 1e-3, "{wave:?}");
        assert!(wave.top == 0.0 && wave.foot == 20.0);
        assert_sound(&wave, 10.0);
    }

    #[test]
    fn a_least_radius_above_its_own_is_kept() {
        let wave = tooth(4.0, 20.0, 6.5).unwrap();
        assert_eq!(wave.radius, 6.5, "its own would be 6.31");
        assert_sound(&wave, 4.0);
        assert_eq!(tooth(10.0, 20.0, 6.0), None);
    }
}
