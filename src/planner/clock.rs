//! When a search has to end although a round is not done. What such a round brought is left aside: rounds that count are
//! complete, so that they come out the same every time.

use crate::model::progress::Watch;
use crate::planner::options::Budget;

/// Seconds that the search for a first plan may take where less is granted.
const FIRST_S: f64 = 10.0;

/// A limit of time, and the user's wish to stop.
#[derive(Clone, Copy)]
pub(crate) struct Clock<'a> {
    watch: &'a dyn Watch,
    until_s: f64,
}

impl<'a> Clock<'a> {
    /// The clock of the search.
    pub(crate) fn new(watch: &'a dyn Watch, budget: Budget) -> Self {
        let until_s = match budget {
            Budget::Seconds(s) => s,
            Budget::Rounds(_) => f64::INFINITY,
        };
        Self { watch, until_s }
    }

    /// The same for the first plan, without which there is nothing to show.
    pub(crate) fn of_first(self) -> Self {
        Self {
            until_s: self.until_s.max(FIRST_S),
            ..self
        }
    }

    /// Whether the user asked to stop.
    pub(crate) fn is_stopped(&self) -> bool {
        self.watch.stop_asked()
    }

    /// Whether it is time to end.
    pub(crate) fn is_over(&self) -> bool {
        self.is_stopped() || self.watch.elapsed_s() >= self.until_s
    }
}
