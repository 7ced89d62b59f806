//! Parts: what else is cut from the same stock, never split.

use crate::geometry::region::Region;
use crate::model::cutter::{Axis, Turns};

/// A part of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its name in the job.
    pub name: String,
    /// Its material as the job writes it.
    pub material: String,
    /// Nominal thickness.
    pub thickness: f64,
    /// The finished shape, in its drawing's frame.
    pub region: Region,
    /// How many are wanted.
    pub quantity: usize,
    /// Whether only as many are cut as fit on sheets that are used anyway.
    pub fill: bool,
    /// Width of the cut for this part.
    pub cut_width: f64,
    /// How it may be turned.
    pub turns: Turns,
    /// Which way its grain runs.
    pub grain: Option<Axis>,
    /// What the job says for this part alone (told in the plan).
    pub own_kerf: Option<f64>,
    /// See `own_kerf`.
    pub own_turns: Option<Turns>,
}
