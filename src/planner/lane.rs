//! One of the searches that run side by side, and what it brings home from a round.

use std::sync::Arc;

use crate::model::nesting::Problem;
use crate::nest;
use crate::planner::candidate::{Candidate, Refused, SplitCache};
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth, worth};

/// One search beside others.
#[derive(Clone, Debug)]
pub(crate) struct Lane {
    /// Which one, from 0.
    pub(crate) number: usize,
    /// Where it stands.
    pub(crate) state: State,
    /// What that is worth.
    pub(crate) worth: Worth,
    /// Guesses that were refused.
    pub(crate) refused: Vec<State>,
    /// Why the last one was.
    pub(crate) last_refusal: Option<Refused>,
    /// Splits that it made.
    pub(crate) cache: SplitCache,
    /// Its search for a first layout.
    pub(crate) founding: nest::Founding,
    /// Its search on a roll.
    pub(crate) loosening: nest::Loosening,
    /// Its search for a sheet that pieces fill.
    pub(crate) jigsaw: nest::Jigsaw,
    /// Its search on several sheets.
    pub(crate) regrouping: nest::Regrouping,
    /// The shapes of the problem that it worked on last.
    pub(crate) shapes: Option<(Arc<Problem>, Arc<nest::Shapes>)>,
}

/// What a lane brings home from a round.
pub(crate) struct Brought {
    /// The lane after the round.
    pub(crate) lane: Lane,
    /// A plan that it found.
    pub(crate) found: Option<Candidate>,
}

impl Lane {
    /// The shapes of a problem, made or remembered.
    pub(crate) fn shapes_of(&mut self, problem: &Arc<Problem>) -> Arc<nest::Shapes> {
        if let Some((known, shapes)) = &self.shapes
            && Arc::ptr_eq(known, problem)
        {
            return shapes.clone();
        }
        let shapes = Arc::new(nest::Shapes::new(problem));
        self.shapes = Some((problem.clone(), shapes.clone()));
        shapes
    }

    /// A lane that begins with a guess.
    pub(crate) fn new(prepared: &Prepared<'_>, number: usize, state: State) -> Self {
        let worth = worth(prepared, &state, None);
        Self {
            number,
            state,
            worth,
            refused: Vec::new(),
            last_refusal: None,
            cache: SplitCache::default(),
            founding: nest::Founding::new(),
            loosening: nest::Loosening::new(),
            jigsaw: nest::Jigsaw::new(),
            regrouping: nest::Regrouping::new(),
            shapes: None,
        }
    }
}
