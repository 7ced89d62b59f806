//! The drawn fixture: layers, pockets and what the printer's operator needs to know.

use crate::geometry::{point::Point, region::Region};
use crate::model::layer::Layer;

/// What the fixture stage hands on.
#[derive(Clone, Debug, PartialEq)]
pub struct Fixture {
    /// The layers, bottom up, with their features cut.
    pub layers: Vec<Layer>,
    /// The pockets, row by row from the datum.
    pub pockets: Vec<Pocket>,
    /// Finger notches, each joined to a pocket: the discs as drawn, for the outline file.
    pub notches: Vec<Region>,
    /// The outline shared by the layers, without features (for drawn layers: the layers' filled outlines joined).
    pub outline: Vec<Region>,
    /// The bed, its corner at the origin.
    pub bed: [f64; 2],
    /// Whether the job has a `[bed]`.
    pub has_bed: bool,
    /// The datum corner, bed frame.
    pub datum: Point,
    /// The datum corner's word: `front-left` and so on.
    pub datum_word: &'static str,
    /// Set-up figures, where there is a blank.
    pub setup: Option<Setup>,
}

/// One pocket.
#[derive(Clone, Debug, PartialEq)]
pub struct Pocket {
    /// Column, counted away from the datum.
    pub column: usize,
    /// Row, counted away from the datum.
    pub row: usize,
    /// The pocket without notches, bed frame.
    pub region: Region,
    /// The blank's corner nearest the datum, inward from the datum.
    pub corner: Point,
    /// The blank's middle, inward from the datum.
    pub center: Point,
    /// The blank's middle, bed frame.
    pub bed_center: Point,
    /// The blank's turn in degrees, as the job writes it.
    pub angle_deg: f64,
}

/// What whoever runs the printer sets.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The blank in words: `85 × 54, radius 3`.
    pub blank: String,
    /// Extent of the blank's box after its angle.
    pub blank_size: [f64; 2],
    /// The blank's thickness.
    pub blank_thickness: f64,
    /// Clearance per side.
    pub clearance: f64,
    /// Centre to centre.
    pub pitch: [f64; 2],
    /// Columns.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Shift of every second row.
    pub shift: f64,
    /// Corner of the first blank nearest the datum, inward.
    pub first: Point,
    /// How many layers deep the pockets are, in mm (nominal).
    pub pocket_depth: f64,
    /// Height of the stack (nominal).
    pub stack_height: f64,
    /// The most that a blank stands above the face (below: negative), nominal.
    pub blank_proud: f64,
    /// Greatest fastener head height and the room that it has, where there are heads.
    pub head: Option<[f64; 2]>,
    /// Room between the face and the lowest part of whatever passes over it.
    pub head_gap: f64,
    /// The most that stack and blank may measure together, where the job tells it.
    pub clear_height: Option<f64>,
    /// Pieces ordered, loads, blanks in the last load.
    pub order: Option<[usize; 3]>,
}
