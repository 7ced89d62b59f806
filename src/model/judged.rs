//! What the seams of a plan are worth to whoever puts the fixture together and uses it.

use crate::model::cutter::Axis;

/// How far one piece can move against its neighbour before their faces touch, to first order. `None` is no limit.
///
/// The two pieces stand in the middle of their play, the gap all along between them. Lengths in mm, turns in radians; each
/// is the greater of both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Play {
    /// Along the seam, either way, while it is neither open nor turned.
    pub along: Option<f64>,
    /// Along the seam, either way, wherever it is between closed and open, not turned.
    pub along_most: Option<f64>,
    /// Towards the neighbour, not turned.
    pub closing: Option<f64>,
    /// Away from the neighbour, not turned.
    pub opening: Option<f64>,
    /// Turned, either way. A seam that can be drawn open without limit limits no turn.
    pub turn: Option<f64>,
}

impl Play {
    /// Whether the seam holds along, against closing, against opening and against turning.
    pub fn holds(&self) -> [bool; 4] {
        [self.along, self.closing, self.opening, self.turn].map(|p| p.is_some())
    }

    /// Whether it holds by itself in the plane: in every direction.
    pub fn holds_all(&self) -> bool {
        self.holds() == [true; 4]
    }

    /// The greater of both in everything.
    pub fn or_more(self, other: Self) -> Self {
        let more = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| a.max(b));
        Self {
            along: more(self.along, other.along),
            along_most: more(self.along_most, other.along_most),
            closing: more(self.closing, other.closing),
            opening: more(self.opening, other.opening),
            turn: more(self.turn, other.turn),
        }
    }
}

/// Two pieces of a layer that meet along seams.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// Places in the plan's pieces: the one in front or to the left, and the one that moves against it.
    pub pieces: [usize; 2],
    /// The way that most of what they share runs.
    pub runs: Axis,
    /// Length of the faces that they share, along the curve.
    pub length: f64,
    /// How far they can move against one another, held by each other alone.
    pub play: Play,
}

/// Bending stiffness of a section with its seams, as a share of the same section without them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stiffness {
    /// All layers as one.
    pub bonded: f64,
    /// Each layer by itself.
    pub dry: f64,
}

impl Stiffness {
    /// Of a section that no seam crosses.
    pub const WHOLE: Self = Self {
        bonded: 1.0,
        dry: 1.0,
    };

    /// The lesser of both, each for itself.
    pub fn or_less(self, other: Self) -> Self {
        Self {
            bonded: self.bonded.min(other.bonded),
            dry: self.dry.min(other.dry),
        }
    }
}

/// Figures of the seams of one layer, or of all layers of a copy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Pieces.
    pub pieces: usize,
    /// Length of the seams along their curves, where there is material; mm.
    pub length: f64,
    /// Share of their base lines that lies between the first and the last tooth of a run; `None` without a seam.
    pub toothed: Option<f64>,
    /// Narrowest material between a seam's face and a face opposite it, on the finished pieces; `None` where no face
    /// faces another.
    pub neck: Option<f64>,
    /// Play that no joint need exceed in a chain of joints from any piece to any other, each figure for itself; of a stack
    /// the worst layer's. `None` without a seam.
    pub play: Option<Play>,
    /// Least stiffness of the whole stack at the seams, of a beam along x (seams along y cut it) and of one along y.
    pub stiffness: [Stiffness; 2],
    /// Cutting time that the seams add, an estimate in s.
    pub added_s: f64,
}

/// Figures of one layer of one copy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LayerFigures {
    /// The layer's place in the stack, from 0.
    pub layer: usize,
    /// The copy, from 1.
    pub copy: usize,
    /// Its figures; its stiffness is that of the whole stack at this layer's seams.
    pub figures: Figures,
}

/// What the seams are worth.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Judged {
    /// Layer by layer, copy by copy.
    pub layers: Vec<LayerFigures>,
    /// The stack of each copy: sums, and of play, neck and stiffness the worst.
    pub stacks: Vec<Figures>,
    /// Pairs of pieces that meet, by their places.
    pub joints: Vec<Joint>,
    /// Materials without a modulus in the table, each once: where there are any, all layers count as equally stiff.
    pub no_modulus: Vec<String>,
}
