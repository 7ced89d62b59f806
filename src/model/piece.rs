//! Pieces: what lies on sheets.

use crate::geometry::region::Region;

/// What a piece is cut from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Owner {
    /// A layer (its place in the stack, from 0) of a copy (from 1).
    Layer {
        /// Place in the stack.
        layer: usize,
        /// Copy.
        copy: usize,
    },
    /// A part (its place in the job).
    Part {
        /// Place in the job.
        part: usize,
    },
}

/// One piece, bed frame (parts: their drawing's frame).
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// `base-1`, `base-c2-1`, `spacer-3`.
    pub id: String,
    /// What it is cut from.
    pub owner: Owner,
    /// The nominal shape: neighbours share the seam's curve.
    pub region: Region,
    /// The finished shape: seam faces drawn in by half the gap. Equal to `region` where the gap is 0.
    pub finished: Region,
}
