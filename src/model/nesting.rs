//! Nesting as a problem and its answers: pieces of any layers and parts, sheets, distances. Nothing here knows of seams.

use crate::geometry::{edge::SourceId, point::Point, region::Region, transform::Pose};
use crate::model::cutter::{Axis, Turns};

/// A piece to place.
#[derive(Clone, Debug)]
pub struct Item {
    /// The finished shape, in the piece's frame.
    pub shape: Region,
    /// Area of the nominal shape, for the yield, in mm².
    pub nominal_area_mm2: f64,
    /// Items of equal `kind` are copies of one shape with one set of rules.
    pub kind: usize,
    /// Material and thickness; only sheets of the same class take it.
    pub class: usize,
    /// How it may be turned (grain overrides, where both have it).
    pub turns: Turns,
    /// The way its grain runs.
    pub grain: Option<Axis>,
    /// Whether it need not be placed: only as many as fit on sheets that are used anyway.
    pub fill: bool,
}

/// A kind of sheet to place on.
#[derive(Clone, Debug)]
pub struct Stock {
    /// The sheet less its defects.
    pub region: Vec<Region>,
    /// Material and thickness.
    pub class: usize,
    /// How many there are.
    pub quantity: usize,
    /// Value of one whole sheet.
    pub cost: f64,
    /// Sold by length: charged only as far as it is used along x. Then `Some(length)` is the length of the whole sheet.
    pub by_length: Option<f64>,
    /// How far along x the cutter takes it, where sold by length; else its extent.
    pub usable_length: f64,
    /// The way its grain runs.
    pub grain: Option<Axis>,
}

/// The whole problem.
#[derive(Clone, Debug)]
pub struct Problem {
    /// Pieces.
    pub items: Vec<Item>,
    /// Sheets.
    pub stock: Vec<Stock>,
    /// Least distance between two finished pieces.
    pub spacing: f64,
    /// Least distance from a finished piece to anything that is not its sheet.
    pub edge_margin: f64,
    /// Whether pieces may lie face down.
    pub flip: bool,
    /// Least size of a leftover worth keeping, both ways.
    pub remnant: [f64; 2],
}

/// One sheet of a layout: the kind in `Problem::stock`, and which of its `quantity`, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SheetUse {
    /// Place in `Problem::stock`.
    pub stock: usize,
    /// Which of them.
    pub number: usize,
}

/// Where an item lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Place in `Problem::items`.
    pub item: usize,
    /// The sheet.
    pub sheet: SheetUse,
    /// How it lies; shift rounded to 1e-6, as a plan writes it.
    pub pose: Pose,
}

/// A layout: every item that is not `fill` placed once, certified.
#[derive(Clone, Debug, Default)]
pub struct Layout {
    /// Placements, by item.
    pub placed: Vec<Placed>,
}

/// Why a layout was not found: the nearest miss.
#[derive(Clone, Debug)]
pub struct NearMiss {
    /// What could be placed.
    pub partial: Layout,
    /// Items that found no place, by item.
    pub unplaced: Vec<usize>,
    /// Where two items meet that may not, or an item and a sheet's edge.
    pub conflicts: Vec<Conflict>,
}

/// Two edges nearer than allowed.
#[derive(Clone, Copy, Debug)]
pub struct Conflict {
    /// The item.
    pub item: usize,
    /// The edge of it that is concerned.
    pub edge: SourceId,
    /// By how much the distance falls short.
    pub depth: f64,
    /// The way in which the item would have to move, unit vector, piece's frame.
    pub normal: Point,
}

/// How a placement ended.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// All that must be placed is placed.
    Placed(Layout),
    /// Something is left over.
    NearMiss(NearMiss),
}

/// What a layout is worth, smaller is better, compared field by field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// Cost of the sheets; costs within 1e-6 count as equal.
    pub cost: f64,
    /// Less the area of leftovers worth keeping, in steps of 1 % of the stock area used, negated: fewer is better.
    pub waste_steps: i64,
    /// Pieces.
    pub pieces: usize,
    /// Seam length in steps of 10 mm.
    pub seam_steps: i64,
}

/// A lower bound and what it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// No plan costs less.
    pub stock_cost: f64,
    /// In words that let a reader compute it again.
    pub why: String,
}
