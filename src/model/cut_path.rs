//! What the machine follows.

use crate::geometry::{path::Path, point::Point, ring::Ring};

/// The operation, in the order of work; its word is the DXF layer's and the SVG group's default name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Operation {
    /// Engraved marks.
    Engrave,
    /// Holes.
    CutInner,
    /// Outlines.
    CutOuter,
    /// The sheet itself, for reference, not to be plotted.
    Sheet,
}

impl Operation {
    /// All of them, in their order.
    pub const ALL: [Self; 4] = [Self::Engrave, Self::CutInner, Self::CutOuter, Self::Sheet];

    /// `ENGRAVE`, `CUT_INNER`, `CUT_OUTER`, `SHEET`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Engrave => "ENGRAVE",
            Self::CutInner => "CUT_INNER",
            Self::CutOuter => "CUT_OUTER",
            Self::Sheet => "SHEET",
        }
    }
}

/// What one entity draws, in the sheet's frame.
#[derive(Clone, Debug, PartialEq)]
pub enum Stroke {
    /// A closed contour, beginning where the cut begins.
    Closed(Ring),
    /// An open line: marks.
    Open(Path),
}

/// One entity of a cut file, in the order of cutting.
#[derive(Clone, Debug, PartialEq)]
pub struct CutPath {
    /// Its operation.
    pub operation: Operation,
    /// Its curve.
    pub stroke: Stroke,
    /// The piece it belongs to (place in `Plan::pieces`); `None` for the sheet's outline.
    pub piece: Option<usize>,
}

/// All that is cut from one sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetCut {
    /// Entities in the order of work.
    pub paths: Vec<CutPath>,
    /// Length of all entities on the cut layers.
    pub cut_length: f64,
    /// Estimate in seconds.
    pub cut_time_s: f64,
}

impl Stroke {
    /// Where it begins.
    pub fn start(&self) -> Point {
        match self {
            Self::Closed(ring) => ring.edges()[0].start,
            Self::Open(path) => path.start(),
        }
    }
}
