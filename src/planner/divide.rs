//! A task as several that have nothing to do with one another, and the loop over their rounds until the budget is spent.
//!
//! Layers of a stack depend on one another by their seams, and on parts of their materials by the sheets. Parts of any other
//! material depend on nothing else: each such material is a *share* of the task, with lanes and rounds of its own, so that it
//! is searched as if it were alone. A plan is put together of the best ones of all shares.
//!
//! A round works on one share: the one that had the fewest rounds so far, where one that costs no more than it must counts as
//! having had more, and one that is proved to be done has none. So a plan is a function of the task and the number of rounds.

use std::sync::Arc;

use crate::model::nesting::{Layout, Placed, SheetUse};
use crate::model::part::Part;
use crate::model::piece::{Owner, Piece};
use crate::model::progress::{Ending, Event, Watch};
use crate::planner::bound;
use crate::planner::candidate::{Candidate, problem, scored};
use crate::planner::clock::Clock;
use crate::planner::error::PlannerError;
use crate::planner::options::Budget;
use crate::planner::prepared::Prepared;
use crate::planner::progress::tell;
use crate::planner::rounds::Search;
use crate::planner::state::State;
use crate::planner::task::Task;

/// A share at its bound has one round where one that may cost less has so many.
const AT_BOUND: u64 = 4;

/// Parts of a task, and whether its layers belong to them.
struct Share {
    layers: bool,
    /// Places among the parts of the task.
    of: Vec<usize>,
    parts: Vec<Part>,
}

/// Searches until the budget is spent: the best plan, rounds completed, and why the search ended.
pub(crate) fn search(
    whole: &Prepared<'_>,
    watch: &dyn Watch,
    bound: f64,
) -> Result<(Candidate, u64, Ending), PlannerError> {
    let shares = shares(whole);
    let own: Vec<Prepared<'_>> = match shares.as_slice() {
        [_] => Vec::new(),
        several => several.iter().map(|s| s.prepared(&whole.task)).collect(),
    };
    let tasks: Vec<(&Prepared<'_>, f64)> = if own.is_empty() {
        vec![(whole, bound)]
    } else {
        own.iter()
            .map(|p| (p, bound::lower_bound(p).stock_cost))
            .collect()
    };
    let clock = Clock::new(watch, whole.task.search.budget);
    let mut searches = begun(&tasks, clock)?;
    let best = |searches: &[Search<'_, '_>]| match searches {
        [one] => one.best.clone(),
        several => Arc::new(joined(whole, &shares, several)),
    };
    let mut before = best(&searches);
    tell(whole, watch, 0, &before, None, bound);
    let mut rounds = 0;
    loop {
        let next = next(&searches);
        let ending = match whole.task.search.budget {
            Budget::Rounds(n) if rounds >= n => Some(Ending::Rounds),
            Budget::Seconds(s) if watch.elapsed_s() >= s => Some(Ending::Time),
            _ if watch.stop_asked() => Some(Ending::Stopped),
            _ if next.is_none() => Some(Ending::Proved),
            _ => None,
        };
        let (None, Some(next)) = (ending, next) else {
            drop(searches);
            return Ok((
                Arc::unwrap_or_clone(before),
                rounds,
                ending.unwrap_or(Ending::Proved),
            ));
        };
        let earlier = searches[next].best.clone();
        if !searches[next].round(clock) {
            continue;
        }
        rounds += 1;
        if !Arc::ptr_eq(&earlier, &searches[next].best) {
            let now = best(&searches);
            tell(whole, watch, rounds, &now, Some(&before), bound);
            before = now;
        }
        watch.tell(Event::Round { round: rounds });
    }
}

/// The first plans of all; where some are not found it is said of all of them why.
fn begun<'p, 'a>(
    tasks: &[(&'p Prepared<'a>, f64)],
    clock: Clock<'_>,
) -> Result<Vec<Search<'p, 'a>>, PlannerError> {
    let mut out = Vec::new();
    let mut missing = Vec::new();
    for (prepared, bound) in tasks {
        match Search::new(prepared, *bound, clock) {
            Ok(search) => out.push(search),
            Err(PlannerError::NotFound(why)) => missing.extend(why),
            Err(other) => return Err(other),
        }
    }
    if missing.is_empty() {
        Ok(out)
    } else {
        Err(PlannerError::NotFound(missing))
    }
}

/// The search that has the next round; `None` where nothing can be bettered.
fn next(searches: &[Search<'_, '_>]) -> Option<usize> {
    let had = |s: &Search<'_, '_>| s.rounds * if s.is_at_bound() { AT_BOUND } else { 1 };
    (0..searches.len())
        .filter(|&k| !searches[k].is_proved())
        .min_by_key(|&k| (had(&searches[k]), k))
}

/// The layers with all parts of their materials, then each other material. What need not be placed needs a sheet that something
/// else takes, so a material of such parts alone is no share of its own.
fn shares(whole: &Prepared<'_>) -> Vec<Share> {
    let class = |part: &Part| whole.class_of(&part.material, part.thickness);
    let has_own = |k: usize| {
        let class = &whole.classes[k];
        class.units.is_empty() && !class.parts.is_empty()
    };
    let mut out = Vec::new();
    let all = |is_in: &dyn Fn(usize) -> bool| -> Vec<usize> {
        let parts = &whole.task.parts;
        (0..parts.len())
            .filter(|&k| is_in(class(&parts[k])))
            .collect()
    };
    let mut first = all(&|k| !has_own(k));
    let own: Vec<usize> = (0..whole.classes.len()).filter(|&k| has_own(k)).collect();
    for (nth, k) in own.into_iter().enumerate() {
        let mut of = all(&|class| class == k);
        if nth == 0 && whole.units.is_empty() {
            of.append(&mut first);
            of.sort_unstable();
        }
        out.push(Share::new(whole, false, of));
    }
    if !whole.units.is_empty() || out.is_empty() {
        out.insert(0, Share::new(whole, true, first));
    }
    out
}

impl Share {
    fn new(whole: &Prepared<'_>, layers: bool, of: Vec<usize>) -> Self {
        let parts = of.iter().map(|&k| whole.task.parts[k].clone()).collect();
        Self { layers, of, parts }
    }

    fn prepared<'s>(&'s self, task: &Task<'s>) -> Prepared<'s> {
        let (layers, moduli) = if self.layers {
            (task.layers, task.moduli)
        } else {
            Default::default()
        };
        Prepared::new(Task {
            layers,
            moduli,
            parts: &self.parts,
            ..*task
        })
    }
}

/// The best plans of all shares as one. Sheets are called alike in all of them, and no two take the same one.
fn joined(whole: &Prepared<'_>, shares: &[Share], searches: &[Search<'_, '_>]) -> Candidate {
    // (owner, share, place there): layers come before parts, and parts as the task has them.
    let mut order: Vec<(usize, usize, usize)> = Vec::new();
    for (s, (share, search)) in shares.iter().zip(searches).enumerate() {
        order.extend(search.best.pieces.iter().enumerate().map(|(k, p)| {
            let owner = match p.owner {
                Owner::Layer { .. } => 0,
                Owner::Part { part } => share.of[part] + 1,
            };
            (owner, s, k)
        }));
    }
    order.sort_unstable();
    let mut pieces: Vec<Piece> = Vec::new();
    let mut called: Vec<Vec<usize>> = searches
        .iter()
        .map(|s| vec![0; s.best.pieces.len()])
        .collect();
    for &(owner, s, k) in &order {
        let mut piece = searches[s].best.pieces[k].clone();
        if let Owner::Part { part } = &mut piece.owner {
            *part = owner - 1;
        }
        called[s][k] = pieces.len();
        pieces.push(piece);
    }
    let mut layout = Layout::default();
    let mut kept: Vec<(SheetUse, f64)> = Vec::new();
    for (search, called) in searches.iter().zip(&called) {
        let placed = search.best.layout.placed.iter();
        layout.placed.extend(placed.map(|p| Placed {
            item: called[p.item],
            ..*p
        }));
        kept.extend(&search.best.kept);
    }
    layout.placed.sort_by_key(|p| p.item);
    kept.sort_by_key(|k| k.0);
    let first = &searches[0].best;
    let problem = Arc::new(problem(whole, &pieces));
    Candidate {
        score: scored(whole, &problem, &layout, &first.seams, &kept),
        seams: first.seams.clone(),
        findings: first.findings.clone(),
        state: State {
            splits: first.state.splits.clone(),
            orders: Vec::new(),
        },
        pieces,
        problem,
        layout,
        kept,
    }
}
