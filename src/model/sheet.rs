//! Sheets in stock.

use crate::geometry::region::Region;
use crate::model::cutter::Axis;

/// What a sheet's face looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    /// Matte.
    Matte,
    /// Gloss: reflects.
    Gloss,
    /// Mirror: reflects.
    Mirror,
}

impl Finish {
    /// The word of a stock file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Matte => "matte",
            Self::Gloss => "gloss",
            Self::Mirror => "mirror",
        }
    }
}

/// One entry of the stock file.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its id in the stock file.
    pub id: String,
    /// Its material as the stock file writes it.
    pub material: String,
    /// Nominal thickness.
    pub thickness: f64,
    /// What the caliper says.
    pub measured: Option<f64>,
    /// The whole sheet, defects not taken off, in its own frame.
    pub outline: Region,
    /// The sheet less its defects: several regions where one at the edge cuts it apart.
    pub region: Vec<Region>,
    /// How many there are.
    pub quantity: usize,
    /// Value of one whole sheet: as told, or by the rule for sheets without a cost.
    pub cost: f64,
    /// Whether the stock file tells the cost.
    pub has_cost: bool,
    /// Whether it is charged only as far as it is used along x; then it is a rectangle whose left edge is at x = 0.
    pub by_length: bool,
    /// Which way its grain runs.
    pub grain: Option<Axis>,
    /// Its face.
    pub finish: Option<Finish>,
    /// Whether the cutter takes it (`area`, `pass_through`); one sold by length may be taken as far as `usable_length`.
    pub taken: bool,
    /// For a sheet sold by length: how much of its length the cutter takes; else its length.
    pub usable_length: f64,
}

/// One sheet that a plan uses.
#[derive(Clone, Debug, PartialEq)]
pub struct UsedSheet {
    /// `01-cast-600x400`: its number in the plan and its stock id.
    pub id: String,
    /// Place in the stock.
    pub sheet: usize,
    /// For a sheet sold by length: from its left end to the rightmost finished point plus the margin, at most its length.
    pub used_length: Option<f64>,
}
