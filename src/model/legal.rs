//! Where seams may run.

use crate::model::cutter::Axis;

/// An interval of positions in which a seam's base line may lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Least position.
    pub low: f64,
    /// Greatest position.
    pub high: f64,
}

/// Where the base lines of seams of one layer may lie that run one way, over one span across.
///
/// An interval says that a straight seam there keeps `keep_clear`, `min_web` and sound angles; teeth are chosen later, as
/// large as the place allows.
#[derive(Clone, Debug, PartialEq)]
pub struct LegalSpace {
    /// The way the seams run.
    pub runs: Axis,
    /// Ascending, apart.
    pub intervals: Vec<Interval>,
    /// Between which positions some were left out without a look, because a line passes an outline too often there: that
    /// none is left proves nothing then.
    pub given_up: Option<Interval>,
    /// The most that teeth reach before the base line (toward smaller positions).
    pub reach_before: f64,
    /// The most that teeth reach behind the base line.
    pub reach_after: f64,
}
