//! Layers as the fixture stage draws them.

use crate::geometry::{point::Point, region::Region};
use crate::model::cutter::{Axis, Turns};
use crate::model::seam::Pattern;

/// A round hole or a slot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// Its middle, bed frame.
    pub center: Point,
    /// Its diameter; of a slot, the diameter of its ends.
    pub diameter: f64,
    /// By how much a slot is longer than its diameter; 0 for a round hole.
    pub slot: f64,
    /// The way a slot's length points, in degrees as a plan writes them; 0 for a round hole.
    pub slot_deg: f64,
}

/// One layer of the fixture, bed frame. Layers are listed bottom up; every copy has the same ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Its name in the job.
    pub name: String,
    /// Its material as the job writes it.
    pub material: String,
    /// Nominal thickness.
    pub thickness: f64,
    /// The finished shape: one region, or several where the outline falls apart.
    pub shape: Vec<Region>,
    /// Locating holes that are cut in it.
    pub locating: Vec<Hole>,
    /// Reliefs that are cut in it.
    pub relief: Vec<Hole>,
    /// Width of the cut for this layer.
    pub cut_width: f64,
    /// How its pieces may be turned.
    pub turns: Turns,
    /// Which way its grain runs.
    pub grain: Option<Axis>,
    /// What the job says for this layer alone (told in the plan): kerf, turns.
    pub own_kerf: Option<f64>,
    /// See `own_kerf`.
    pub own_turns: Option<Turns>,
    /// The pattern of its seams; `None` keeps it whole.
    pub pattern: Option<Pattern>,
    /// Least width of material beside a seam and between openings.
    pub min_web: f64,
}
