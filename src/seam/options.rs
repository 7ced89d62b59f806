//! What the seam stage is told.

use crate::model::plan::SeamLimits;
pub use crate::model::seam::Bond;

/// `[seams]` in mm, the contract's defaults filled in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Length of one repeat along the seam; `None` to choose for each run.
    pub tooth: Option<f64>,
    /// Distance between the pattern's outermost points; `None` to choose for each run.
    pub depth: Option<f64>,
    /// Least radius in the pattern.
    pub corner_radius: f64,
    /// What holds the layers together: for stiffness and the lap that is advised.
    pub bond: Bond,
    /// Gap, lap, clearances.
    pub limits: SeamLimits,
}
