//! Seams, and how a layer is to be split.

use crate::geometry::path::Path;
use crate::model::cutter::Axis;

/// The pattern of a seam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// A straight line.
    Straight,
    /// Arcs and tangent lines that swing to one side and back: they locate along the seam.
    Wave,
    /// Straight flanks with rounded points: they locate along the seam.
    Zigzag,
    /// Tails that widen upward between pins that do: they lock in the plane.
    Dovetail,
    /// Round heads on narrower necks: they lock in the plane.
    Knob,
    /// Square fingers: they locate along the seam.
    Finger,
}

impl Pattern {
    /// The word of the job and the plan.
    pub fn word(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Wave => "wave",
            Self::Zigzag => "zigzag",
            Self::Dovetail => "dovetail",
            Self::Knob => "knob",
            Self::Finger => "finger",
        }
    }
}

/// A seam as cut, bed frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Seam {
    /// The layer's place in the stack, from 0.
    pub layer: usize,
    /// Which copy of the fixture, from 1.
    pub copy: usize,
    /// What it carries: a seam without a tooth is straight.
    pub pattern: Pattern,
    /// The way it runs.
    pub runs: Axis,
    /// The curve; its edges' source is a seam with this seam's index in its layer.
    pub path: Path,
}

/// How one copy of one layer is to be split: seams all the way through, and between them seams across.
///
/// With `runs = Y` the first are at x positions `at`, making `at.len() + 1` columns from left to right; `across[i]` are the
/// y positions of the seams across column i. With `runs = X` the axes change places: bands from front to back.
/// Positions are those of the seam's base line, which its teeth leave to one side; ascending.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerSplit {
    /// The way the through seams run.
    pub runs: Axis,
    /// Their base lines.
    pub at: Vec<f64>,
    /// For each strip between them, the base lines of the seams across it; `at.len() + 1` lists.
    pub across: Vec<Vec<f64>>,
}

impl LayerSplit {
    /// The split that keeps a layer whole.
    pub fn whole() -> Self {
        Self {
            runs: Axis::Y,
            at: Vec::new(),
            across: vec![Vec::new()],
        }
    }

    /// Whether nothing is split.
    pub fn is_whole(&self) -> bool {
        self.at.is_empty() && self.across.iter().all(Vec::is_empty)
    }

    /// How many cells it makes.
    pub fn cells(&self) -> usize {
        self.across.iter().map(|a| a.len() + 1).sum()
    }
}

/// What holds the layers together. Seam faces stay dry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bond {
    /// Nothing but the fasteners.
    Dry,
    /// Adhesive film.
    Film,
    /// Solvent weld.
    Weld,
    /// Glue.
    Glue,
}

impl Bond {
    /// The word of the job and the report.
    pub fn word(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::Film => "film",
            Self::Weld => "weld",
            Self::Glue => "glue",
        }
    }
}
