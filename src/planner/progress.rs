//! What is told of the search while it goes on.

use crate::model::progress::{Event, Watch};
use crate::planner::candidate::Candidate;
use crate::planner::prepared::Prepared;

/// Tells of a better plan, and what changed.
pub(crate) fn tell(
    prepared: &Prepared<'_>,
    watch: &dyn Watch,
    round: u64,
    best: &Candidate,
    before: Option<&Candidate>,
    bound: f64,
) {
    let sheets = sheets_used(best);
    let what = before.map_or_else(|| "first plan".to_owned(), |b| what_changed(b, best));
    watch.tell(Event::Better {
        round,
        sheets,
        cost: best.score.cost,
        bound,
        yield_: crate::planner::yield_of(prepared, best),
        what,
    });
}

fn sheets_used(candidate: &Candidate) -> usize {
    let mut used: Vec<_> = candidate.layout.placed.iter().map(|p| p.sheet).collect();
    used.sort();
    used.dedup();
    used.len()
}

fn what_changed(before: &Candidate, after: &Candidate) -> String {
    let (a, b) = (sheets_used(before), sheets_used(after));
    if b < a {
        format!("{} fewer", count(a - b, "sheet"))
    } else if after.score.cost < before.score.cost - 1e-6 {
        if b > a {
            format!("cheaper, on {} more", count(b - a, "sheet"))
        } else {
            "cheaper sheets".to_owned()
        }
    } else if after.score.waste_steps < before.score.waste_steps {
        "larger leftovers".to_owned()
    } else if after.score.pieces < before.score.pieces {
        format!(
            "{} fewer",
            count(before.score.pieces - after.score.pieces, "piece")
        )
    } else {
        "shorter seams".to_owned()
    }
}

fn count(n: usize, word: &str) -> String {
    if n == 1 {
        format!("one {word}")
    } else {
        format!("{n} {word}s")
    }
}
