//! One job planned with several patterns, and how tight its seams are asked to fit.

use crate::geometry::path::Path;
use crate::geometry::region::Region;
use crate::model::cutter::CutterKind;
use crate::model::plan::Plan;
use crate::model::seam::Pattern;

/// Every pattern, in the order in which they are compared.
pub const PATTERNS: [Pattern; 6] = [
    Pattern::Straight,
    Pattern::Wave,
    Pattern::Zigzag,
    Pattern::Dovetail,
    Pattern::Knob,
    Pattern::Finger,
];

/// How tight the faces of a seam fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    /// Faces touch: pieces are pressed together.
    Press,
    /// Pieces go together by hand pressure.
    Sliding,
    /// Pieces drop in; another layer has to locate them.
    Loose,
}

impl Fit {
    /// Every class, from tight to loose.
    pub const ALL: [Self; 3] = [Self::Press, Self::Sliding, Self::Loose];

    /// The word of the command line and the page.
    pub fn word(self) -> &'static str {
        match self {
            Self::Press => "press",
            Self::Sliding => "sliding",
            Self::Loose => "loose",
        }
    }

    /// The gap that the class stands for, in mm.
    ///
    /// # Source
    /// Common practice, no source. Sliding and loose are the middles of the ranges in use: laser-cut plastic 0.05 to 0.10 and
    /// 0.15 to 0.25, routed board 0.10 to 0.15 and 0.20 to 0.40. Press is the loose end of its range, where the faces just
    /// touch: an overlap cracks sheets at the roots of teeth, and a job takes no gap below 0.
    pub fn gap(self, kind: CutterKind) -> f64 {
        match (self, kind) {
            (Self::Press, _) => 0.0,
            (Self::Sliding, CutterKind::Laser) => 0.075,
            (Self::Sliding, CutterKind::Router) => 0.125,
            (Self::Loose, CutterKind::Laser) => 0.2,
            (Self::Loose, CutterKind::Router) => 0.3,
        }
    }
}

/// A pattern's seam across a plain plate of a layer's material: what the pattern looks like where nothing is in its way.
///
/// The seam runs along x from 0 to the plate's width, its base line at y = 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// The layer's place in the stack, from 0.
    pub layer: usize,
    /// The two finished pieces, the gap drawn in.
    pub pieces: Vec<Region>,
    /// The seam's middle line.
    pub path: Path,
}

/// What became of a pattern.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// It is planned.
    Planned(Box<Plan>),
    /// It is proved that no plan exists; why, a sentence each.
    Impossible(Vec<String>),
    /// No plan was found within the budget; what came nearest and what would help, a sentence each.
    NotFound(Vec<String>),
    /// A plan stood but could not be cut; why, a sentence each.
    Uncut(Vec<String>),
    /// The user stopped before a plan stood.
    Stopped,
}

impl Outcome {
    /// The plan, where there is one.
    pub fn plan(&self) -> Option<&Plan> {
        match self {
            Self::Planned(plan) => Some(plan),
            _ => None,
        }
    }

    /// The word of files.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Planned(_) => "planned",
            Self::Impossible(_) => "impossible",
            Self::NotFound(_) => "not found",
            Self::Uncut(_) => "not cut",
            Self::Stopped => "stopped",
        }
    }

    /// Why there is no plan; empty where there is one.
    pub fn reasons(&self) -> &[String] {
        match self {
            Self::Impossible(lines) | Self::NotFound(lines) | Self::Uncut(lines) => lines,
            Self::Planned(_) | Self::Stopped => &[],
        }
    }
}

/// A pattern and what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// The pattern of `[seams]`.
    pub pattern: Pattern,
    /// What it looks like; `None` where the plate takes no seam.
    pub sample: Option<Sample>,
    /// What became of it.
    pub outcome: Outcome,
}

/// A job planned with several patterns under the same budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Title of the job.
    pub title: Option<String>,
    /// The class of fit where one was asked for; else the gap is the job's.
    pub fit: Option<Fit>,
    /// Finished clearance between mating faces.
    pub gap: f64,
    /// Names of layers, bottom up.
    pub layers: Vec<String>,
    /// Layers that keep a pattern of their own, by their places.
    pub own: Vec<usize>,
    /// Seed of the searches.
    pub seed: u64,
    /// Searches side by side.
    pub lanes: usize,
    /// What was tried, in the order asked for.
    pub tried: Vec<Tried>,
}

impl Comparison {
    /// Patterns with their plans, in order.
    pub fn planned(&self) -> impl Iterator<Item = (Pattern, &Plan)> {
        let tried = self.tried.iter();
        tried.filter_map(|t| t.outcome.plan().map(|p| (t.pattern, p)))
    }
}
