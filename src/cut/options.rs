//! What the cut stage is told.

/// `[marks]` in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marks {
    /// Whether to engrave each piece's id, and an arrow to the datum corner.
    pub labels: bool,
    /// Height of the letters.
    pub text_height: f64,
}
