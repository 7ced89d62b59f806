//! What a search has spent, counted in words of sets; the clock is looked at now and then.

use crate::planner::clock::Clock;

/// Words after which the clock is looked at.
const A_LOOK: usize = 20_000_000;

/// What a search has spent.
pub(super) struct Effort<'a> {
    clock: Clock<'a>,
    words: usize,
    looked: usize,
    is_over: bool,
}

impl<'a> Effort<'a> {
    pub(super) fn new(clock: Clock<'a>) -> Self {
        Self {
            clock,
            words: 0,
            looked: 0,
            is_over: false,
        }
    }

    /// Spends so many words.
    pub(super) fn spend(&mut self, words: usize) {
        self.words += words;
        if self.words - self.looked > A_LOOK {
            self.looked = self.words;
            self.is_over = self.clock.is_over();
        }
    }

    /// Words spent.
    pub(super) fn words(&self) -> usize {
        self.words
    }

    /// Whether the clock said so when it was looked at last.
    pub(super) fn is_over(&self) -> bool {
        self.is_over
    }
}
