//! The figures that a job need not tell. All in mm, whatever the job's unit: a default is a length, not a number.

use crate::model::cutter::{CutterKind, Turns};
use crate::model::seam::Pattern;
use crate::seam::stagger::LEAST_THICKNESSES;

/// Room around a fastener's head, each side: a key fits.
pub(crate) const REACH: f64 = 1.5;
/// Clearance of a pocket, per side.
pub(crate) const CLEARANCE: f64 = 0.2;
/// Least distance from what is cut at a blank to the fixture's edge.
pub(crate) const MARGIN: f64 = 10.0;
/// Finished clearance between mating faces.
pub(crate) const GAP: f64 = 0.0;
/// Pattern of seams.
pub(crate) const PATTERN: Pattern = Pattern::Straight;
/// Turns of pieces.
pub(crate) const TURNS: Turns = Turns::Quarter;
/// Narrowest place of a tab.
pub(crate) const TAB_WIDTH: f64 = 4.0;
/// Speeds and times of the estimate: mm/s, mm/s, mm/s², s. Common practice for a small machine, no source.
pub(crate) const SPEED: f64 = 12.0;
/// See `SPEED`.
pub(crate) const TRAVEL_SPEED: f64 = 200.0;
/// See `SPEED`.
pub(crate) const ACCELERATION: f64 = 1000.0;
/// See `SPEED`.
pub(crate) const PIERCE_S: f64 = 0.3;
/// Height of engraved letters.
pub(crate) const TEXT_HEIGHT: f64 = 6.0;
/// Margin of the proof's paper.
pub(crate) const PAPER_MARGIN: f64 = 12.0;
/// Seconds of a search.
pub(crate) const SECONDS: f64 = 10.0;
/// Seed of a search.
pub(crate) const SEED: u64 = 1;
/// Searches side by side.
pub(crate) const LANES: usize = 8;
/// Least size of a leftover worth keeping.
pub(crate) const REMNANT: [f64; 2] = [100.0, 100.0];

/// Least distance between two finished pieces.
pub(crate) fn spacing(widest_cut: f64) -> f64 {
    f64::max(2.0, 1.5 * widest_cut)
}

/// Least distance from a finished piece to the edge of its sheet.
pub(crate) fn edge_margin(widest_cut: f64) -> f64 {
    f64::max(5.0, widest_cut)
}

/// Least radius in a seam's pattern.
pub(crate) fn corner_radius(kind: CutterKind, cut_width: f64) -> f64 {
    match kind {
        CutterKind::Laser => 0.5,
        CutterKind::Router => cut_width / 2.0 * 1.05,
    }
}

/// Least distance between the seams of neighbouring layers.
pub(crate) fn min_lap(thickest: f64) -> f64 {
    f64::max(40.0, LEAST_THICKNESSES * thickest)
}

/// Least distance from a seam to a locating hole or a relief.
pub(crate) fn keep_clear(thickest: f64) -> f64 {
    f64::max(5.0, 2.0 * thickest)
}

/// Least extent of a piece that seams make.
pub(crate) fn min_piece(thickest: f64) -> f64 {
    f64::max(60.0, 10.0 * thickest)
}

/// Least width of material beside a seam, of a layer this thick.
pub(crate) fn min_web(thickness: f64) -> f64 {
    2.0 * thickness
}
