//! What a search tells while it runs, and how it is told to stop.

/// An event of the search.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// The search begins.
    Begin {
        /// What is planned, in words: title, layers, pockets, seed, lanes.
        what: String,
        /// Seconds granted; `None` where rounds are.
        seconds: Option<f64>,
    },
    /// The search ended without a plan, and others follow.
    Without {
        /// Why, in a sentence.
        why: String,
    },
    /// There is no plan, and what would help is looked for.
    Remedies {
        /// Seconds that it may take.
        seconds: f64,
    },
    /// A plan stands, or a better one: the round, its figures, and what changed in words.
    Better {
        /// Rounds completed when it was found; 0 for the first plan.
        round: u64,
        /// Sheets used.
        sheets: usize,
        /// Cost of the stock used.
        cost: f64,
        /// Lower bound of the cost.
        bound: f64,
        /// Yield, 0 to 1.
        yield_: f64,
        /// What changed.
        what: String,
    },
    /// A round is done.
    Round {
        /// Rounds completed.
        round: u64,
    },
}

/// Why a search ended; told on the terminal and in no file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The granted time is used.
    Time,
    /// The granted rounds are done.
    Rounds,
    /// The cost is the bound and nothing lesser can be bettered: proved.
    Proved,
    /// The user stopped it.
    Stopped,
}

/// What a search asks between rounds, and whom it tells. The only way in which the clock or the user reaches a search.
pub trait Watch: Sync {
    /// Seconds since the start of the program.
    fn elapsed_s(&self) -> f64;
    /// Whether the user asked to stop.
    fn stop_asked(&self) -> bool;
    /// Takes an event.
    fn tell(&self, event: Event);
}
