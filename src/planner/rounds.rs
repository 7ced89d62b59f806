//! The search for one task: a first plan, then rounds of lanes side by side.
//!
//! The state of a lane after a round is a function of the task, the seed, the lane, the round and the states of all lanes
//! after the round before. Lanes exchange at the end of a round only. The clock and the user decide only how many rounds there
//! are; a round that is not finished when they say so is dropped.

use std::sync::Arc;

use crate::geometry::region::Region;
use crate::model::nesting::{Layout, SheetUse};
use crate::model::seam::LayerSplit;
use crate::nest;
use crate::nest::seed::Draws;
use crate::parallel::map_in_order;
use crate::planner::candidate::{Candidate, Refused, SplitCache, certify, score};
use crate::planner::clock::Clock;
use crate::planner::cover::Cover;
use crate::planner::covered::{Covers, covered};
use crate::planner::error::PlannerError;
use crate::planner::lane::{Brought, Lane};
use crate::planner::moves::{change, cut_evenly};
use crate::planner::parts::{self, Parts};
use crate::planner::prepared::Prepared;
use crate::planner::state::{Order, State, Worth, worth};

/// Boxes laid down by a lane in a round, counted over all its guesses.
const BOXES_A_ROUND: usize = 12_000;
/// Evaluations that nesting gets in a round.
const NESTING_A_ROUND: u64 = 30;
/// Bursts of all lanes that the first plan may take.
const FIRST_BURSTS: u64 = 60;
/// With more parts than this, and nothing to split, boxes are no longer guessed at.
const MOST_BOXES: usize = 400;
/// Of so many rounds, all but one loosen pieces over several sheets; in that one they are laid down one after the other,
/// which makes leftovers larger.
const LOOSE_ROUNDS: u64 = 4;
/// Rounds in a row in which one of several rolls is shortened, now and then.
const ROLL_ROUNDS: u64 = 100 * LOOSE_ROUNDS;
/// Guesses that a lane remembers as refused.
const REFUSED_KEPT: usize = 64;

/// The search for one task, which goes on from round to round.
pub(crate) struct Search<'p, 'a> {
    prepared: &'p Prepared<'a>,
    /// No plan costs less.
    bound: f64,
    lanes: Vec<Lane>,
    covers: Covers,
    fixed: Option<Fixed>,
    /// The best plan so far.
    pub(crate) best: Arc<Candidate>,
    /// Rounds that are done.
    pub(crate) rounds: u64,
}

impl<'p, 'a> Search<'p, 'a> {
    /// Finds a first plan.
    pub(crate) fn new(
        prepared: &'p Prepared<'a>,
        bound: f64,
        clock: Clock<'_>,
    ) -> Result<Self, PlannerError> {
        let mut lanes: Vec<Lane> = starts(prepared)
            .into_iter()
            .cycle()
            .take(prepared.task.search.lanes.max(1))
            .enumerate()
            .map(|(k, s)| Lane::new(prepared, k, s))
            .collect();
        let mut covers = Covers::default();
        let first = first_plan(prepared, &mut lanes, clock.of_first(), &mut covers, bound)?;
        Ok(Self {
            prepared,
            bound,
            lanes,
            covers,
            fixed: prepared.units.is_empty().then(|| Fixed::new(&first)),
            best: Arc::new(first),
            rounds: 0,
        })
    }

    /// One round of all lanes; `false` where the clock ended it, and nothing is changed.
    pub(crate) fn round(&mut self, clock: Clock<'_>) -> bool {
        let (prepared, number) = (self.prepared, self.rounds + 1);
        let cover = self.covers.of(prepared, self.rounds, clock);
        let with = (cover, self.fixed.as_ref(), self.bound);
        let best = &self.best;
        let brought = map_in_order(self.lanes.clone(), |lane| {
            round(prepared, lane, number, best, with, clock)
        });
        if clock.is_over() {
            return false;
        }
        self.rounds = number;
        self.lanes.clear();
        for b in brought {
            if let Some(found) = b.found
                && found.score.is_better(&self.best.score)
            {
                self.best = Arc::new(found);
            }
            self.lanes.push(b.lane);
        }
        exchange(prepared, &mut self.lanes, &self.best, number);
        nest::Loosening::share(self.lanes.iter_mut().map(|l| &mut l.loosening));
        true
    }

    /// Whether the best plan costs no more than it must.
    pub(crate) fn is_at_bound(&self) -> bool {
        self.best.score.cost <= self.bound + 1e-6
    }

    /// Whether nothing can be bettered.
    pub(crate) fn is_proved(&self) -> bool {
        is_proved(self.prepared, &self.best, self.bound)
    }
}

/// Whether nothing can be bettered: the cost is the bound, and so is every lesser aim (one piece a layer, no seam, nothing
/// left on the sheets that would be worth keeping more, or too little for any leftover at all).
fn is_proved(prepared: &Prepared<'_>, best: &Candidate, bound: f64) -> bool {
    if best.score.cost > bound + 1e-6 || !best.seams.is_empty() || best.score.fill_missing > 0 {
        return false;
    }
    let sheets = best.kept.iter().map(|k| k.0);
    let by_length = |s: SheetUse| best.problem.stock[s.stock].by_length.is_some();
    let least = prepared.task.search.remnant;
    let pieces: f64 = best
        .layout
        .placed
        .iter()
        .map(|p| best.problem.items[p.item].nominal_area_mm2)
        .sum();
    let whole: f64 = sheets
        .clone()
        .flat_map(|s| &best.problem.stock[s.stock].region)
        .map(Region::area_mm2)
        .sum();
    if best.score.waste_steps <= -100 {
        return true;
    }
    if sheets.clone().any(|s| has_other(best, s.stock)) {
        return false;
    }
    (!sheets.clone().any(by_length) && whole - pieces < least[0] * least[1])
        // A roll that is used no further than it must be leaves all that it can.
        || (sheets.clone().count() == 1 && sheets.clone().all(by_length))
}

/// Whether another kind of sheet of this one's class might take its place at the same cost, and leave more: each class costs no
/// more than it must, so a sheet that alone costs more than all that the class uses has no part in any such plan.
fn has_other(best: &Candidate, kind: usize) -> bool {
    let stock = &best.problem.stock;
    let class = stock[kind].class;
    let spent = nest::cost_of(&best.problem, &best.layout, class);
    stock.iter().enumerate().any(|(k, s)| {
        k != kind
            && s.class == class
            && s.quantity > 0
            && (s.by_length.is_some() || s.cost <= spent + 1e-6)
    })
}

/// Guesses to begin with: every layer cut evenly in the fewest cells, seams of neighbours moved apart.
fn starts(prepared: &Prepared<'_>) -> Vec<State> {
    let mut out = Vec::new();
    let lap = prepared.task.seams.limits.min_lap;
    for way in 0..4 {
        for share in [0.5, 1.0, 1.5, 0.0] {
            let splits = (0..prepared.units.len())
                .map(|u| {
                    let unit = &prepared.units[u];
                    let ways = &prepared.counts[unit.shape];
                    let reach = prepared.shapes[unit.shape].reach;
                    // Odd layers reach back and even ones out, so moving them apart by lap and both reaches keeps the lap.
                    let away = share * (lap + 2.0 * (reach.0 + reach.1)) + 0.02;
                    let shift = if unit.layer.is_multiple_of(2) {
                        -away / 2.0
                    } else {
                        away / 2.0
                    };
                    (0..ways.len())
                        .map(|k| ways[(k + way) % ways.len()])
                        .find_map(|w| cut_evenly(prepared, u, w, shift))
                        .unwrap_or_else(LayerSplit::whole)
                })
                .collect();
            let orders = prepared
                .classes
                .iter()
                .map(|c| Order {
                    bins: (0..c.bins.len()).collect(),
                    rule: way % 4,
                    salt: 0,
                })
                .collect();
            let state = State { splits, orders };
            if !out.contains(&state) {
                out.push(state);
            }
        }
    }
    out
}

/// The first plan: a start that holds, or what bursts of all lanes find.
fn first_plan(
    prepared: &Prepared<'_>,
    lanes: &mut Vec<Lane>,
    clock: Clock<'_>,
    covers: &mut Covers,
    bound: f64,
) -> Result<Candidate, PlannerError> {
    let mut nearest: Option<Refused> = None;
    let mut cache = SplitCache::default();
    for state in starts(prepared) {
        let worth = worth(prepared, &state, None);
        // With nothing to split, nesting may place what boxes could not.
        if worth.is_sound()
            || prepared.units.is_empty()
            || worth.lap_short <= 0.0 && state.splits.iter().all(LayerSplit::is_whole)
        {
            match certify(
                prepared,
                &state,
                &worth,
                &mut cache,
                prepared.units.is_empty(),
            ) {
                Ok(found) => return Ok(found),
                Err(refused) => nearest = Some(refused),
            }
        }
        if prepared.units.is_empty() {
            break;
        }
    }
    let parts = prepared.units.is_empty().then(|| Parts::new(prepared));
    for burst in 1..=parts::LAST_BURST {
        let is_late = burst > FIRST_BURSTS;
        if is_late && !parts.as_ref().is_some_and(|p| p.may_be_laid(lanes, burst)) {
            break;
        }
        if clock.is_stopped() {
            return Err(PlannerError::Stopped);
        }
        if clock.is_over() {
            break;
        }
        let cover = covers.of(prepared, burst - 1, clock);
        let brought = map_in_order(std::mem::take(lanes), |mut lane| {
            if let Some(parts) = &parts
                && let Some(found) = parts.laid(prepared, &mut lane, burst, clock)
            {
                let found = Some(found);
                return Brought { lane, found };
            }
            if is_late {
                return Brought { lane, found: None };
            }
            let mut brought = anneal(prepared, lane, u64::MAX - burst, None, clock);
            if let (None, Some(cover)) = (&brought.found, cover) {
                covered(prepared, &mut brought, burst, None, (cover, bound), clock);
            }
            brought
        });
        let mut found = None;
        for b in brought {
            found = found.or(b.found);
            if b.lane.last_refusal.is_some() {
                nearest.clone_from(&b.lane.last_refusal);
            }
            lanes.push(b.lane);
        }
        if let Some(found) = found {
            return Ok(found);
        }
    }
    Err(crate::planner::feasibility::not_found(
        prepared,
        &lanes
            .iter()
            .map(|l| &l.worth)
            .min_by(|a, b| a.energy.total_cmp(&b.energy))
            .cloned()
            .unwrap_or_default(),
        nearest,
    ))
}

/// One round of a lane: guesses are changed and tried, the best that promises more than the plan so far is certified; then
/// nesting betters the places of that plan.
fn round(
    prepared: &Prepared<'_>,
    lane: Lane,
    number: u64,
    best: &Arc<Candidate>,
    (cover, fixed, bound): (Option<&Cover>, Option<&Fixed>, f64),
    clock: Clock<'_>,
) -> Brought {
    let mut brought = if prepared.units.is_empty()
        && prepared.classes.iter().all(|c| c.bins.len() < 2)
        || is_crowd(prepared, best)
    {
        Brought { lane, found: None }
    } else {
        anneal(prepared, lane, number, Some(best), clock)
    };
    if let Some(cover) = cover {
        covered(
            prepared,
            &mut brought,
            number,
            Some(&best.score),
            (cover, bound),
            clock,
        );
    }
    let Brought { lane, found } = &mut brought;
    let base = found
        .as_ref()
        .filter(|f| f.score.is_better(&best.score))
        .unwrap_or(best);
    let Some(layout) = packed_anew(prepared, lane, number, base, (fixed, bound, clock)) else {
        return brought;
    };
    // What comes after the time granted is dropped.
    if clock.is_over() || nest::cost(&base.problem, &layout) > base.score.cost + 1e-6 {
        return brought;
    }
    let (scored, kept) = score(prepared, &base.problem, &layout, &base.seams, Some(base));
    if scored.is_better(&base.score) && nest::certify(&base.problem, &layout).is_ok() {
        *found = Some(Candidate {
            layout,
            score: scored,
            kept,
            ..base.clone()
        });
    }
    brought
}

/// Whether there are so many parts, and nothing to split, that boxes are not guessed at.
fn is_crowd(prepared: &Prepared<'_>, best: &Candidate) -> bool {
    prepared.units.is_empty() && best.problem.items.len() > MOST_BOXES
}

/// Other places for the pieces of a plan: by eliminating overlaps, on a roll or over several sheets in most rounds; else one
/// piece after the other. Not certified.
fn packed_anew(
    prepared: &Prepared<'_>,
    lane: &mut Lane,
    number: u64,
    base: &Candidate,
    (fixed, bound, clock): (Option<&Fixed>, f64, Clock<'_>),
) -> Option<Layout> {
    let seed = prepared.task.search.seed;
    let key = [seed, lane.number as u64, number];
    if fixed.is_some()
        && base.score.cost > bound + 1e-6
        && let Some(found) = lane.jigsaw.round(&base.problem, base.score.cost, key)
    {
        return Some(found);
    }
    let turn = number + lane.number as u64;
    let is_loose = !turn.is_multiple_of(LOOSE_ROUNDS) && base.score.cost > bound + 1e-6;
    if let Some(ground) = fixed.and_then(|f| f.ground.as_deref())
        && let Some(roll) = roll_of(base, turn, is_loose)
    {
        return lane
            .loosening
            .round(ground, &base.problem, &base.layout, (roll, key));
    }
    if let Some(fixed) = fixed
        && is_loose
    {
        let found = lane.regrouping.round(
            &fixed.market,
            fixed.ground.as_ref(),
            &base.problem,
            &base.layout,
            (key, &|| clock.is_over()),
        );
        if found.is_some() {
            return found;
        }
    }
    let key = (seed.wrapping_mul(0x9e37_79b9) ^ number)
        .wrapping_mul(0x1000_0001)
        .wrapping_add(lane.number as u64);
    let shapes = lane.shapes_of(&base.problem);
    let effort = (NESTING_A_ROUND, &(|| clock.is_over()) as &dyn Fn() -> bool);
    let layout = nest::improve_with(&base.problem, &shapes, &base.layout, key, effort);
    (layout.placed != base.layout.placed).then_some(layout)
}

/// The roll that is to be shortened: the one on which all lies, where it does and nothing is missing; else, in one of the rounds
/// that loosen, one of those in use.
fn roll_of(base: &Candidate, turn: u64, is_loose: bool) -> Option<SheetUse> {
    let rolls = nest::rolls(&base.problem, &base.layout);
    if let [roll] = rolls[..]
        && base.layout.placed.len() == base.problem.items.len()
        && base.layout.placed.iter().all(|p| p.sheet == roll)
    {
        return Some(roll);
    }
    let is_turn = is_loose && turn % LOOSE_ROUNDS == 1 && !rolls.is_empty();
    // A search begins anew on another roll, so each has many rounds in a row.
    is_turn.then(|| rolls[(turn / ROLL_ROUNDS) as usize % rolls.len()])
}

/// What is made once where nothing is split: then pieces and problem stay the same from plan to plan.
struct Fixed {
    ground: Option<Arc<nest::Ground>>,
    market: nest::Market,
}

impl Fixed {
    fn new(best: &Candidate) -> Self {
        Self {
            ground: nest::Ground::new(&best.problem).map(Arc::new),
            market: nest::Market::new(&best.problem),
        }
    }
}

/// Changes a lane's guess again and again, now and then for the worse; the best guess of the round is certified where it
/// promises more than the plan so far. Where the clock is over it ends early, and what it brought is to be left aside.
fn anneal(
    prepared: &Prepared<'_>,
    mut lane: Lane,
    number: u64,
    best: Option<&Arc<Candidate>>,
    clock: Clock<'_>,
) -> Brought {
    let mut draws = Draws::new([prepared.task.search.seed, lane.number as u64, number]);
    let boxes: usize = lane.worth.pieces.iter().sum::<usize>() + 8;
    let guesses = (BOXES_A_ROUND / boxes).clamp(40, 1500);
    let scale = prepared.classes.iter().map(|c| c.scale).fold(0.0, f64::max);
    let heat = scale * [0.02, 0.06, 0.15, 0.4][draws.below(4)];
    let mut top: Option<(State, Worth)> = None;
    for k in 0..guesses {
        if clock.is_over() {
            return Brought { lane, found: None };
        }
        let mut state = lane.state.clone();
        let mut touched = change(prepared, &mut state, &mut draws);
        while draws.chance(0.3) {
            let more = change(prepared, &mut state, &mut draws);
            touched.iter_mut().zip(more).for_each(|(a, b)| *a |= b);
        }
        let tried = worth(prepared, &state, Some((&lane.worth, &touched)));
        let left = 1.0 - k as f64 / guesses as f64;
        let accepted =
            tried.energy <= lane.worth.energy + heat * left * left * draws.unit() * draws.unit();
        if accepted {
            if tried.is_sound()
                && top.as_ref().is_none_or(|(_, t)| tried.energy < t.energy)
                && !lane.refused.contains(&state)
            {
                top = Some((state.clone(), tried.clone()));
            }
            lane.state = state;
            lane.worth = tried;
        }
    }
    let found = top.and_then(|(state, worth)| {
        let promising = best.is_none_or(|b| worth.cost() < b.score.cost + 1e-6 && state != b.state);
        if !promising {
            return None;
        }
        let certified = certify(prepared, &state, &worth, &mut lane.cache, false);
        match certified {
            Ok(found) => Some(found),
            Err(refused) => {
                lane.last_refusal = Some(refused);
                if lane.refused.len() == REFUSED_KEPT {
                    lane.refused.remove(0);
                }
                lane.refused.push(state);
                None
            }
        }
    });
    Brought { lane, found }
}

/// Every few rounds some lanes go on from the best plan, in turn.
fn exchange(prepared: &Prepared<'_>, lanes: &mut [Lane], best: &Candidate, rounds: u64) {
    let n = lanes.len() as u64;
    for lane in lanes.iter_mut() {
        if (rounds + lane.number as u64).is_multiple_of(n + 2) {
            lane.state = best.state.clone();
            if !is_crowd(prepared, best) {
                lane.worth = worth(prepared, &lane.state, None);
            }
        }
    }
}
