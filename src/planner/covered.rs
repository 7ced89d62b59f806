//! A round of a lane with the lists of ways: guesses are asked for, and certified.
//!
//! In: what the lane has found so far, the best plan. Out: a plan that is better, if one was. Every few rounds, and always once
//! the bound is met, fewer pieces are looked for at no more cost.

use crate::planner::candidate::certify;
use crate::planner::clock::Clock;
use crate::planner::cover::{Aim, Cover, LEVEL_COUNT, level_of, told_by};
use crate::planner::lane::Brought;
use crate::planner::prepared::Prepared;
use crate::planner::score::Score;

/// Of so many rounds a lane looks for fewer pieces at no more cost in one, each lane in another.
const TIDY_EVERY: u64 = 5;

/// Lists of ways to cover the layers, made when they are first asked for.
#[derive(Default)]
pub(crate) struct Covers([Option<Option<Cover>>; LEVEL_COUNT]);

impl Covers {
    /// The lists that a round works with; `None` where they hold nothing.
    pub(crate) fn of(
        &mut self,
        prepared: &Prepared<'_>,
        round: u64,
        clock: Clock<'_>,
    ) -> Option<&Cover> {
        if prepared.units.is_empty() {
            // What sheets offer takes seconds to list where they have many corners, and nobody asks for it.
            return None;
        }
        // Whether a sheet is dear is known once some list was made.
        let needs_all = self.0.iter().flatten().flatten().any(Cover::needs_all);
        let level = level_of(round, needs_all);
        if self.0[level].is_none() {
            let telling = told_by(level).and_then(|k| self.0[k].as_ref()?.as_ref());
            let favours = telling.map_or(Vec::new(), |c| c.favours(prepared));
            self.0[level] = Some(Cover::new(prepared, level, favours, clock));
        }
        let cover = self.0[level].as_mut()?.as_mut()?;
        cover.begin_round();
        Some(cover)
    }
}

/// Certifies what covering the layers with windows gives, and keeps the best of it.
pub(crate) fn covered(
    prepared: &Prepared<'_>,
    brought: &mut Brought,
    number: u64,
    best: Option<&Score>,
    (cover, bound): (&Cover, f64),
    clock: Clock<'_>,
) {
    let mut top = best.copied();
    if let Some(found) = &brought.found
        && top.as_ref().is_none_or(|t| found.score.is_better(t))
    {
        top = Some(found.score);
    }
    let lane = &mut brought.lane;
    let key = [prepared.task.search.seed, lane.number as u64, number];
    let cost = top.as_ref().map_or(f64::INFINITY, |t| t.cost);
    // At the bound nothing is left but to do with fewer pieces.
    let turn = number + lane.number as u64;
    let tidy = cost <= bound + 1e-6 || turn % TIDY_EVERY == TIDY_EVERY - 1;
    let below = top.as_ref().filter(|_| tidy).map(|t| t.pieces);
    // Pieces of parts count in the score and not among those of layers.
    let parts: usize = prepared.classes.iter().map(|c| c.parts.len()).sum();
    let below = below.map(|n| n.saturating_sub(parts));
    let aim = Aim {
        best: cost,
        bound,
        below,
    };
    for (state, worth) in cover.guesses(prepared, key, aim, clock) {
        let cheaper = |t: &Score| worth.cost() < t.cost - 1e-6;
        let as_cheap = |t: &Score| below.is_some() && worth.cost() < t.cost + 1e-6;
        if !top.as_ref().is_none_or(|t| cheaper(t) || as_cheap(t)) {
            continue;
        }
        match certify(prepared, &state, &worth, &mut lane.cache, false) {
            Ok(found) if top.as_ref().is_none_or(|t| found.score.is_better(t)) => {
                top = Some(found.score);
                brought.found = Some(found);
            }
            Ok(_) => {}
            Err(refused) => lane.last_refusal = Some(refused),
        }
    }
}
