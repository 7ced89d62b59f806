//! How much is taken on: limits that refuse slips of the finger and what would exhaust the computer, each with its reason.

use crate::geometry::tolerance::MAX_COORDINATE;

/// Bytes of a TOML file; a job of a thousand sheets has a tenth of it.
pub const MAX_TOML_BYTES: usize = 1 << 20;
/// Characters of a name: what a terminal and a label show.
pub const MAX_NAME: usize = 200;
/// Characters of a sheet's id, which becomes a file name.
pub const MAX_SHEET_ID: usize = 48;
/// Characters of a DXF layer's name, R12's limit.
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
pub const MAX_POCKETS: usize = 100_000;
/// Points of one outline: 0.01 mm chords on a 2 m outline need a tenth.
pub const MAX_POINTS: usize = 200_000;
/// Blanks of an order.
pub const MAX_ORDER: usize = 1_000_000_000;
/// Thickness of anything, in mm: half a metre.
pub const MAX_THICKNESS: f64 = 500.0;
/// Width of a cut, in mm.
pub const MAX_CUT: f64 = 100.0;
/// Seconds of a search: a day.
pub const MAX_SECONDS: f64 = 86_400.0;
/// Rounds of a search.
pub const MAX_ROUNDS: usize = 1_000_000_000;
/// Searches side by side.
pub const MAX_LANES: usize = 256;
/// Cost of a sheet, in any currency.
pub const MAX_COST: f64 = 1.0e9;
/// Speeds in mm/s and accelerations in mm/s².
pub const MAX_PACE: f64 = 1.0e6;
/// Margin of the proof's paper, in mm: more leaves nothing of a letter page worth taping.
pub const MAX_PAPER_MARGIN: f64 = 60.0;

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
