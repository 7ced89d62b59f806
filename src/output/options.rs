//! What the output stage is told.

use crate::model::cut_path::Operation;

/// Paper of the proof.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297.
    A4,
    /// 8.5 × 11 in.
    Letter,
    /// 297 × 420.
    A3,
    /// One page as large as the fixture.
    Bed,
}

/// Release of DXF to write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DxfRelease {
    /// R2000 (AC1015).
    R2000,
    /// R12 (AC1009).
    R12,
}

/// Name and colour of one operation's layer.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerStyle {
    /// The DXF layer's and SVG group's name.
    pub name: String,
    /// AutoCAD colour index 1–255 where the job sets one; else 7.
    pub color: Option<u8>,
}

/// `[output]`, the contract's defaults filled in.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Pages of the proof.
    pub paper: Paper,
    /// Margin of the pages.
    pub paper_margin: f64,
    /// Release of the DXF files.
    pub dxf: DxfRelease,
    /// Layers of engraving, inner cuts, outer cuts and the sheet, in the order of `Operation`.
    pub layers: [LayerStyle; 4],
    /// Whether bare numbers of the job, and so of `stock-after.toml`, are inches.
    pub inches: bool,
}

impl Options {
    /// Name and colour of an operation's layer.
    pub fn style(&self, operation: Operation) -> &LayerStyle {
        let [engrave, inner, outer, sheet] = &self.layers;
        match operation {
            Operation::Engrave => engrave,
            Operation::CutInner => inner,
            Operation::CutOuter => outer,
            Operation::Sheet => sheet,
        }
    }
}
