//! How much is taken on: limits that refuse slips of the finger and what would exhaust the computer, each with its reason.
//!
//! Most are lifted from the command line, by the words of [`Limit`], as far as [`Limit::most`]. Fixed are those whose figure is
//! given from elsewhere or stands for nothing that takes time or memory; each says so.

use crate::drawing::limits::Limits as DrawingLimits;
use crate::fixture::{MAX_BLANKS, MOST_BLANKS};
use crate::geometry::tolerance::MAX_COORDINATE;

/// Bytes of a TOML file; a job of a thousand sheets has a tenth of it.
pub const MAX_TOML_BYTES: usize = 1 << 20;
/// Characters of a name: what a terminal and a label show.
pub const MAX_NAME: usize = 200;
/// Characters of a sheet's id, which becomes a file name: fixed, as file systems bound those.
pub const MAX_SHEET_ID: usize = 48;
/// Characters of a DXF layer's name: fixed, R12's limit.
pub const MAX_LAYER_NAME: usize = 31;
/// Pieces of a job: copies, parts and what is ordered of them.
pub const MAX_PIECES: usize = 10_000;
/// Entries of a stock file.
pub const MAX_SHEETS: usize = 1_000;
/// Sheets of one kind.
pub const MAX_QUANTITY: usize = 10_000;
/// Layers, parts, openings, locating holes: more of each than a fixture has.
pub const MAX_ENTRIES: usize = 1_000;
/// Pockets of a grid.
pub const MAX_POCKETS: usize = MAX_BLANKS;
/// Points of one outline: 0.01 mm chords on a 2 m outline need a tenth.
pub const MAX_POINTS: usize = 200_000;
/// Blanks of an order: fixed, as only times and loads are worked out from it, and nobody orders more.
pub const MAX_ORDER: usize = 1_000_000_000;
/// Thickness of anything, in mm: half a metre; fixed, as no cutter goes through more.
pub const MAX_THICKNESS: f64 = 500.0;
/// Width of a cut, in mm: fixed, as no tool is wider.
pub const MAX_CUT: f64 = 100.0;
/// Seconds of a search: a day.
pub const MAX_SECONDS: f64 = 86_400.0;
/// Rounds of a search.
pub const MAX_ROUNDS: usize = 1_000_000_000;
/// Searches side by side.
pub const MAX_LANES: usize = 256;
/// Cost of a sheet, in any currency: fixed, so that sums over all sheets keep the smallest coin.
pub const MAX_COST: f64 = 1.0e9;
/// Speeds in mm/s and accelerations in mm/s²: fixed, as no machine is faster.
pub const MAX_PACE: f64 = 1.0e6;
/// Margin of the proof's paper, in mm: fixed, as more leaves nothing of a letter page worth taping.
pub const MAX_PAPER_MARGIN: f64 = 60.0;

/// One of the limits that can be lifted, by the name that messages and the command line give it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// Of a job or a stock file.
    TomlBytes,
    /// Characters.
    NameLength,
    /// Of the job.
    Pieces,
    /// Entries of the stock file.
    Sheets,
    /// Sheets of one entry.
    SheetsAlike,
    /// Of any other list of tables.
    Entries,
    /// Of the grid.
    Pockets,
    /// Corners of an outline.
    Points,
    /// Of a search.
    Seconds,
    /// Of a search.
    Rounds,
    /// Of a search.
    Lanes,
}

impl Limit {
    /// All of them, in the order in which they are declared.
    pub const ALL: [Self; 11] = [
        Self::TomlBytes,
        Self::NameLength,
        Self::Pieces,
        Self::Sheets,
        Self::SheetsAlike,
        Self::Entries,
        Self::Pockets,
        Self::Points,
        Self::Seconds,
        Self::Rounds,
        Self::Lanes,
    ];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::TomlBytes => "toml-bytes",
            Self::NameLength => "name-length",
            Self::Pieces => "pieces",
            Self::Sheets => "sheets",
            Self::SheetsAlike => "sheets-alike",
            Self::Entries => "entries",
            Self::Pockets => "pockets",
            Self::Points => "points",
            Self::Seconds => "seconds",
            Self::Rounds => "rounds",
            Self::Lanes => "lanes",
        }
    }

    /// What holds where nothing is said.
    pub const fn usual(self) -> u64 {
        let usual = match self {
            Self::TomlBytes => MAX_TOML_BYTES,
            Self::NameLength => MAX_NAME,
            Self::Pieces => MAX_PIECES,
            Self::Sheets => MAX_SHEETS,
            Self::SheetsAlike => MAX_QUANTITY,
            Self::Entries => MAX_ENTRIES,
            Self::Pockets => MAX_POCKETS,
            Self::Points => MAX_POINTS,
            Self::Seconds => MAX_SECONDS as usize,
            Self::Rounds => MAX_ROUNDS,
            Self::Lanes => MAX_LANES,
        };
        usual as u64
    }

    /// What it can be raised to. A job is read up to 64 MiB; rounds are written as numbers that every reader of JSON keeps;
    /// seconds are a year; of the others, lists of this many still fit into the memory of a computer.
    pub const fn most(self) -> u64 {
        match self {
            Self::TomlBytes => 64 << 20,
            Self::NameLength => 10_000,
            Self::Pieces | Self::Sheets | Self::SheetsAlike | Self::Entries => 1_000_000,
            Self::Pockets => MOST_BLANKS as u64,
            Self::Points => 10_000_000,
            Self::Seconds => 365 * 86_400,
            Self::Rounds => 1 << 53,
            Self::Lanes => 4_096,
        }
    }
}

/// What a job, its stock and its drawings may ask for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Those of each drawing.
    pub drawings: DrawingLimits,
    /// The job's own, in the order of [`Limit::ALL`].
    counts: [u64; Limit::ALL.len()],
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            drawings: DrawingLimits::default(),
            counts: Limit::ALL.map(Limit::usual),
        }
    }
}

impl Limits {
    /// The figure of one of the job's own.
    pub fn of(&self, limit: Limit) -> usize {
        usize::try_from(self.counts[limit as usize]).unwrap_or(usize::MAX)
    }

    /// The same, with the limit that says so.
    pub fn most(&self, limit: Limit) -> Most {
        Most {
            count: self.of(limit),
            limit: Some(limit),
        }
    }

    /// The same with one of the job's own at another figure.
    pub fn with(mut self, limit: Limit, count: u64) -> Self {
        self.counts[limit as usize] = count;
        self
    }
}

/// How many of something are taken on, and which limit says so where it can be lifted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Most {
    /// How many.
    pub count: usize,
    /// By which limit.
    pub limit: Option<Limit>,
}

impl From<usize> for Most {
    fn from(count: usize) -> Self {
        Self { count, limit: None }
    }
}

impl Most {
    /// What admits this many, in words; nothing where the limit is fixed.
    pub fn remedy(self, asked: u64) -> Option<String> {
        let limit = self.limit?;
        let (name, most) = (limit.name(), limit.most());
        Some(if asked <= most {
            format!("a slip of the finger? Else `--allow {name}={asked}` lets it")
        } else {
            format!("`--allow {name}={most}` is the most that can be let")
        })
    }
}

/// The range of a number; both ends admitted, except that `above` leaves out the lower one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Lower end.
    pub low: f64,
    /// Whether the lower end itself is refused.
    pub above: bool,
    /// Upper end.
    pub high: f64,
}

impl Span {
    /// Any coordinate.
    pub const COORDINATE: Self = Self {
        low: -MAX_COORDINATE,
        above: false,
        high: MAX_COORDINATE,
    };
    /// A size.
    pub const SIZE: Self = Self::above_zero(MAX_COORDINATE);
    /// A distance, which may be nothing.
    pub const DISTANCE: Self = Self::from_zero(MAX_COORDINATE);
    /// A thickness.
    pub const THICKNESS: Self = Self::above_zero(MAX_THICKNESS);
    /// The width of a cut.
    pub const CUT: Self = Self::from_zero(MAX_CUT);
    /// An angle in degrees.
    pub const ANGLE_DEG: Self = Self {
        low: -360.0,
        above: false,
        high: 360.0,
    };

    /// Above 0, at most `high`.
    pub const fn above_zero(high: f64) -> Self {
        Self {
            low: 0.0,
            above: true,
            high,
        }
    }

    /// From 0 to `high`.
    pub const fn from_zero(high: f64) -> Self {
        Self {
            low: 0.0,
            above: false,
            high,
        }
    }

    /// Whether a number lies in it; what is not finite does not.
    pub fn holds(self, value: f64) -> bool {
        value.is_finite()
            && value <= self.high
            && (if self.above {
                value > self.low
            } else {
                value >= self.low
            })
    }

    /// The range in words, for the side on which a value misses it.
    pub fn words(self, value: f64, unit: &str) -> String {
        match () {
            () if !value.is_finite() => format!(
                "a finite number{}",
                if unit.is_empty() { "" } else { " of mm" }
            ),
            () if value > self.high => format!("at most {}{unit}", self.high),
            () if self.above => format!("above {}{unit}", self.low),
            () => format!("at least {}{unit}", self.low),
        }
    }
}
