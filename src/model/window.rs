//! Clear boxes of a sheet, in which pieces may lie.

use crate::geometry::bounds::Bounds;

/// The clear boxes of one sheet: along the axes, in its frame, as far from its edges and defects as finished pieces must
/// stay. Each is maximal: no other clear box contains it. They may overlap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WindowSet {
    /// Largest area first.
    pub boxes: Vec<Bounds>,
}
