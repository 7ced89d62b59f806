//! What the source ids of edges mean.

use crate::geometry::edge::SourceId;

/// The kind of thing that an edge came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SourceKind {
    /// The outline of a generated layer.
    Outline,
    /// A drawn layer, part or blank.
    Drawn,
    /// A locating hole; the index is its place in the job.
    Locating,
    /// Room for a fastener's head; the index is its hole's place in the job.
    Relief,
    /// A pocket; the index is `row · columns + column`.
    Pocket,
    /// A finger notch; the index is that of its pocket.
    Notch,
    /// A further opening; the index counts through all of them.
    Opening,
    /// A seam; the index counts through the seams of its layer.
    Seam,
    /// The edge of a sheet.
    Sheet,
    /// A defect of a sheet; the index is its place in the stock file.
    Defect,
}

const KINDS: [SourceKind; 10] = [
    SourceKind::Outline,
    SourceKind::Drawn,
    SourceKind::Locating,
    SourceKind::Relief,
    SourceKind::Pocket,
    SourceKind::Notch,
    SourceKind::Opening,
    SourceKind::Seam,
    SourceKind::Sheet,
    SourceKind::Defect,
];

impl SourceKind {
    /// The id of the thing with this index; indices are held below 2²⁴.
    pub fn id(self, index: usize) -> SourceId {
        SourceId(((self as u32) << 24) | (index as u32 & 0x00ff_ffff))
    }
}

/// What an id means: kind and index.
pub fn meaning(id: SourceId) -> (SourceKind, usize) {
    let kind = KINDS[((id.0 >> 24) as usize).min(KINDS.len() - 1)];
    (kind, (id.0 & 0x00ff_ffff) as usize)
}

/// Whether an edge is a seam's face.
pub fn is_seam(id: SourceId) -> bool {
    meaning(id).0 == SourceKind::Seam
}
