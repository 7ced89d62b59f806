//! The whole result, as the output stage writes it.

use crate::geometry::region::Region;
use crate::geometry::transform::Pose;
use crate::model::cut_path::SheetCut;
use crate::model::cutter::Cutter;
use crate::model::finding::Finding;
use crate::model::fixture::Fixture;
use crate::model::judged::Judged;
use crate::model::nesting::Bound;
use crate::model::part::Part;
use crate::model::piece::Piece;
use crate::model::seam::{Bond, LayerSplit, Seam};
use crate::model::sheet::{Sheet, UsedSheet};

/// Where a piece lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Place in `Plan::pieces`.
    pub piece: usize,
    /// Place in `Plan::sheets`.
    pub sheet: usize,
    /// How it lies.
    pub pose: Pose,
}

/// A usable leftover.
#[derive(Clone, Debug, PartialEq)]
pub struct Remnant {
    /// Place in `Plan::sheets`.
    pub sheet: usize,
    /// Its outline in that sheet's frame, without holes.
    pub outline: Region,
    /// Its share of the sheet's cost.
    pub cost: f64,
}

/// Figures of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Metrics {
    /// Cost of the sheets used; one sold by length counts in proportion.
    pub stock_cost: f64,
    /// Area of all pieces ÷ area of the sheets used less their defects.
    pub yield_: f64,
    /// Length of all entities on the cut layers.
    pub cut_length: f64,
    /// Estimate in seconds.
    pub cut_time_s: f64,
    /// No plan costs less.
    pub bound: Bound,
    /// What the seams are worth.
    pub seams: Judged,
}

/// Limits of the seams, as told in the plan's settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeamLimits {
    /// Finished clearance between mating faces.
    pub gap: f64,
    /// Least distance between seams of neighbouring layers that run the same way.
    pub min_lap: f64,
    /// Least distance from a seam to a locating hole or relief.
    pub keep_clear: f64,
    /// Least extent of a piece that seams make.
    pub min_piece: f64,
}

/// The whole result.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Title of the job.
    pub title: Option<String>,
    /// The machine.
    pub cutter: Cutter,
    /// Seam limits.
    pub limits: SeamLimits,
    /// What holds the layers together.
    pub bond: Bond,
    /// Seed of the search.
    pub seed: u64,
    /// Searches side by side.
    pub lanes: usize,
    /// Rounds completed.
    pub rounds: u64,
    /// How many fixtures.
    pub copies: usize,
    /// Whether pieces of an earlier plan are cut once more: then `pieces` are these alone, and the fixture stays as it is.
    pub recut: bool,
    /// The fixture; its layers are those of every copy.
    pub fixture: Fixture,
    /// Parts.
    pub parts: Vec<Part>,
    /// How each layer of each copy is split, copy by copy, layer by layer.
    pub splits: Vec<LayerSplit>,
    /// Seams, copy by copy, layer by layer; of pieces that are cut once more those of their layers.
    pub seams: Vec<Seam>,
    /// Pieces, copy by copy, layer by layer, then parts.
    pub pieces: Vec<Piece>,
    /// The whole stock.
    pub stock: Vec<Sheet>,
    /// Sheets used, in the order of their numbers.
    pub sheets: Vec<UsedSheet>,
    /// Placements, by piece.
    pub placements: Vec<Placement>,
    /// What is cut from each sheet, by sheet.
    pub cuts: Vec<SheetCut>,
    /// Leftovers worth keeping.
    pub remnants: Vec<Remnant>,
    /// Figures.
    pub metrics: Metrics,
    /// Doubts.
    pub findings: Vec<Finding>,
}
