//! A first plan of parts alone, where laying them down one after the other found none.
//!
//! Burst by burst a lane looks for a sheet that the parts fill as a jigsaw, and eliminates overlaps from nothing.

use std::sync::Arc;

use crate::model::nesting::Problem;
use crate::model::piece::Piece;
use crate::nest;
use crate::planner::candidate::{Candidate, of_parts, parts_alone};
use crate::planner::clock::Clock;
use crate::planner::lane::Lane;
use crate::planner::prepared::Prepared;

/// Bursts in which overlaps are eliminated from nothing.
const FOUNDING_BURSTS: u64 = 120;
/// Bursts at the most: the parts would fill a sheet, and not all ways to do so were tried.
pub(crate) const LAST_BURST: u64 = 600;

/// The parts, and what nesting makes of them once.
pub(crate) struct Parts {
    pieces: Vec<Piece>,
    problem: Arc<Problem>,
    ground: Option<Arc<nest::Ground>>,
}

impl Parts {
    pub(crate) fn new(prepared: &Prepared<'_>) -> Self {
        let (pieces, problem) = parts_alone(prepared);
        Self {
            ground: nest::Ground::new(&problem).map(Arc::new),
            pieces,
            problem,
        }
    }

    /// Whether a burst may still bring a plan where guesses at boxes no longer do.
    pub(crate) fn may_be_laid(&self, lanes: &[Lane], burst: u64) -> bool {
        let is_founding = burst <= FOUNDING_BURSTS && self.ground.is_some();
        lanes
            .iter()
            .any(|l| is_founding && !l.founding.is_over() || !l.jigsaw.is_over())
    }

    /// What a burst of a lane brings.
    pub(crate) fn laid(
        &self,
        prepared: &Prepared<'_>,
        lane: &mut Lane,
        burst: u64,
        clock: Clock<'_>,
    ) -> Option<Candidate> {
        let key = [prepared.task.search.seed, lane.number as u64, burst];
        let fitted = lane.jigsaw.round(&self.problem, f64::INFINITY, key);
        let ground = self.ground.as_ref().filter(|_| burst <= FOUNDING_BURSTS);
        let layout = fitted.or_else(|| {
            let is_over = || clock.is_over();
            lane.founding.round(ground?, &self.problem, key, &is_over)
        })?;
        let of = (self.pieces.clone(), self.problem.clone());
        Some(of_parts(prepared, of, layout, &lane.state))
    }
}
