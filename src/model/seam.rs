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
///
/// Cells on either side of a through seam may be joined to one piece: there the through seam is left out, and it begins again
/// where the cells end. So a seam gets a step: with `at = [a, b]`, a seam across the strip between them and the parts of that
/// strip joined to either side, it runs along a, then across, then along b.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerSplit {
    /// The way the through seams run.
    pub runs: Axis,
    /// Their base lines.
    pub at: Vec<f64>,
    /// For each strip between them, the base lines of the seams across it; `at.len() + 1` lists.
    pub across: Vec<Vec<f64>>,
    /// Cells that are one piece across a through seam.
    pub joined: Vec<Joined>,
}

/// Two cells on either side of a through seam that are one piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Joined {
    /// The through seam, from 0.
    pub seam: usize,
    /// Which cell of the strip before it, from 0.
    pub before: usize,
    /// Which cell of the strip behind it.
    pub behind: usize,
}

/// A cell of a split: the strip and the place in it, both from 0.
pub type Cell = (usize, usize);

impl LayerSplit {
    /// The split that keeps a layer whole.
    pub fn whole() -> Self {
        Self {
            runs: Axis::Y,
            at: Vec::new(),
            across: vec![Vec::new()],
            joined: Vec::new(),
        }
    }

    /// Whether nothing is split.
    pub fn is_whole(&self) -> bool {
        self.at.is_empty() && self.across.iter().all(Vec::is_empty)
    }

    /// The cells, those that are joined together: by strips, within a strip from the front or the left, each group at its
    /// first cell.
    pub fn groups(&self) -> Vec<Vec<Cell>> {
        let mut groups: Vec<Vec<Cell>> = Vec::new();
        for (i, across) in self.across.iter().enumerate() {
            for j in 0..=across.len() {
                // A cell joins the groups of the strip before it; where it brings two together, they become one.
                let mut own: Vec<Cell> = vec![(i, j)];
                let mut first = groups.len();
                for joint in self
                    .joined
                    .iter()
                    .filter(|s| s.seam + 1 == i && s.behind == j)
                {
                    let with = (joint.seam, joint.before);
                    if let Some(k) = groups.iter().position(|g| g.contains(&with)) {
                        first = first.min(k);
                        own.splice(0..0, std::mem::take(&mut groups[k]));
                    }
                }
                if first == groups.len() {
                    groups.push(own);
                } else {
                    groups[first] = own;
                }
            }
        }
        groups.retain(|g| !g.is_empty());
        groups
    }

    /// The span of a cell along the through seams, where the layer reaches from `ends.0` to `ends.1`.
    pub fn span_of(&self, (i, j): Cell, ends: (f64, f64)) -> (f64, f64) {
        let across = &self.across[i];
        (
            j.checked_sub(1).map_or(ends.0, |k| across[k]),
            across.get(j).copied().unwrap_or(ends.1),
        )
    }

    /// The spans over which a through seam runs, ascending: all between `ends` but where cells are joined across it.
    pub fn kept(&self, seam: usize, ends: (f64, f64)) -> Vec<(f64, f64)> {
        let mut left_out: Vec<(f64, f64)> = self
            .joined
            .iter()
            .filter(|s| s.seam == seam)
            .map(|s| {
                let (a, b) = (
                    self.span_of((seam, s.before), ends),
                    self.span_of((seam + 1, s.behind), ends),
                );
                (a.0.max(b.0), a.1.min(b.1))
            })
            .collect();
        left_out.sort_by(|a, b| a.0.total_cmp(&b.0));
        left_out.push((ends.1, ends.1));
        let mut kept = Vec::new();
        let mut from = ends.0;
        for (low, high) in left_out {
            if low > from {
                kept.push((from, low));
            }
            from = from.max(high);
        }
        kept
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
