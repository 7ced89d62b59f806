//! Seams: where layers are split, and the teeth along them.
//!
//! In: a layer as drawn, and a split that says where its seams run. Out: pieces that tile the layer, with neighbours
//! sharing the seam's curve, and finished pieces whose seam faces are drawn in by half the gap; the seams; doubts.
//!
//! 1. Base lines are checked against what [`legal`] allows.
//! 2. They are split into seams where they leave the outer contour, and get whole teeth in each run between edges, openings
//!    and other seams, as large as the place allows; what is too short stays flat.
//! 3. The layer is cut along the bare base lines, and the faces are dressed with the teeth.
//! 4. [`stagger`] tells how far the seams of other layers lie apart.
//!
//! Guarantees: a seam never leaves the outer contour, ends on an edge or with a flat run on another seam, keeps
//! `keep_clear` and `min_web`; teeth of layers at even places (the bottom is 0) point to +x or +y, at odd places to −x or
//! −y, and leave the base line to that side only; no piece that a seam touches is smaller than `min_piece`.

mod advice;
mod beside;
pub mod bond;
mod calm;
mod crowd;
mod curve;
pub mod error;
mod ground;
pub mod judge;
mod layout;
pub mod legal;
pub mod options;
mod pattern;
mod pieces;
pub mod remedy;
#[cfg(test)]
mod samples;
pub mod stagger;
mod teeth;

use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::piece::{Owner, Piece};
use crate::model::seam::{LayerSplit, Seam};
use crate::seam::error::SeamFault;
use crate::seam::layout::Layout;
use crate::seam::options::Options;

/// What a split makes of a layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Split {
    /// The pieces, numbered by rows from the front, within a row from the left.
    pub pieces: Vec<Piece>,
    /// For each piece, which of the split's groups of cells it was cut from.
    pub groups: Vec<usize>,
    /// The seams.
    pub seams: Vec<Seam>,
    /// Doubts.
    pub findings: Vec<Finding>,
}

/// Splits one copy of a layer along its seams.
///
/// # Guarantees
/// The areas of the pieces add up to the layer's; each piece is connected; neighbours share the edges of their seam.
///
/// # Errors
/// The first limit that the split breaks, or `Shape` and `Lost` where the pieces could not be cut out.
pub fn split(
    layer: &Layer,
    layer_idx: usize,
    copy: usize,
    split: &LayerSplit,
    options: &Options,
) -> Result<Split, SeamFault> {
    let owner = Owner::Layer {
        layer: layer_idx,
        copy,
    };
    if split.is_whole() {
        let (pieces, groups) = pieces::pieces(layer, owner, None, options)?;
        return Ok(Split {
            pieces,
            groups,
            seams: Vec::new(),
            findings: Vec::new(),
        });
    }
    let layout = Layout::new(layer, layer_idx, split, options)?;
    let (pieces, groups) = pieces::pieces(layer, owner, Some(&layout), options)?;
    let seams = layout.seams(layer_idx, copy);
    let findings = advice::findings(layer, &layout, &seams, options);
    Ok(Split {
        pieces,
        groups,
        seams,
        findings,
    })
}

/// The most that teeth of a layer reach: before the base line (toward smaller positions) and behind it.
pub fn reach(layer: &Layer, layer_idx: usize, options: &Options) -> (f64, f64) {
    let depth = teeth::depth_of(layer, options);
    if layer_idx.is_multiple_of(2) {
        (0.0, depth)
    } else {
        (depth, 0.0)
    }
}

/// Whether a layer's seams carry teeth where a run is long enough; straight ones do not.
pub fn has_teeth(layer: &Layer, options: &Options) -> bool {
    teeth::least_run(layer, options).is_some()
}
