//! The machine that cuts.

/// Laser or router.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutterKind {
    /// A laser, or a knife with kerf 0.
    Laser,
    /// A router.
    Router,
}

/// How a piece may be turned on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turns {
    /// As drawn only.
    None,
    /// By half turns.
    Half,
    /// By quarter turns.
    Quarter,
    /// By any angle.
    Any,
}

/// x or y: the way a seam runs, grain lies, or a sheet passes through.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Axis {
    /// Along x.
    X,
    /// Along y.
    Y,
}

impl Axis {
    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Self::X => Self::Y,
            Self::Y => Self::X,
        }
    }

    /// `"x"` or `"y"`, as files write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::X => "x",
            Self::Y => "y",
        }
    }
}

/// What the job says of the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Cutter {
    /// Laser or router.
    pub kind: CutterKind,
    /// Width of the cut: kerf or tool diameter, ≥ 0. A layer or part may have its own.
    pub cut_width: f64,
    /// Largest sheet that the machine takes: along its x, along its y. A sheet may be turned by a quarter to fit.
    pub area: Option<[f64; 2]>,
    /// The way along which sheets may be of any length.
    pub pass_through: Option<Axis>,
    /// Least distance between two finished pieces.
    pub spacing: f64,
    /// Least distance from a finished piece to the edge of the sheet or of a defect.
    pub edge_margin: f64,
    /// Whether pieces may be cut face down.
    pub flip: bool,
    /// How pieces may be turned, where layer or part do not say otherwise.
    pub turns: Turns,
    /// Whether contours are where the middle of the cut runs (else the finished shape).
    pub compensate: bool,
    /// Width of a tab's narrowest place; told in the plan, without effect while `tabs.count` is 0.
    pub tab_width: f64,
    /// Speeds for the estimate of time.
    pub pace: Pace,
}

/// Speeds for the estimate of time only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Cutting speed in mm/s.
    pub speed: f64,
    /// Speed between cuts in mm/s.
    pub travel_speed: f64,
    /// Acceleration in mm/s².
    pub acceleration: f64,
    /// Time to pierce, in s.
    pub pierce_s: f64,
}
