//! What the planner is told.

/// How long to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Budget {
    /// Seconds from the start of the program.
    Seconds(f64),
    /// Rounds.
    Rounds(u64),
}

/// `[search]`, the contract's defaults filled in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// How long.
    pub budget: Budget,
    /// Seed.
    pub seed: u64,
    /// Searches side by side.
    pub lanes: usize,
    /// Least size of a leftover worth keeping.
    pub remnant: [f64; 2],
}
