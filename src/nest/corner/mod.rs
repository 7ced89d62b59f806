//! Rectangles on a sheet sold by length: an exact search over corners. On sets of sheets sold whole [`OnSets`] does the same.
//!
//! In: a problem of rectangles, a layout on one strip. Out: a shorter layout, where one was found.
//!
//! Steps: (1) [`Plate`] writes strip and pieces in whole millionths, each grown by the spacing, so that touching is exact;
//! (2) a round picks a length between what the area asks for and the best layout; (3) [`search`] fills the front-most gap
//! of the pieces' outline corner by corner, branches over pieces and turns, and gives up a branch whose waste exceeds what
//! the length leaves; (4) it begins again in another order after a number of branches that doubles now and then.
//!
//! Guarantees: a function of its arguments and of the rounds before; counts branches, not seconds. That a branch is given up
//! proves nothing about lengths with waste: gaps are filled or closed as a whole, so a failed search is no bound.
//!
//! Sources: the rule of the lowest gap is that of squared rectangles' codes (Bouwkamp), the rest common knowledge.

mod on_sets;
mod plate;
mod search;

use crate::model::nesting::{Layout, Problem, SheetUse};
use crate::nest::corner::plate::Plate;
use crate::nest::corner::search::Search;
use crate::nest::seed::Draws;

pub(super) use on_sets::OnSets;

/// Branches that a round may visit.
const BRANCHES_A_ROUND: u64 = 60_000;
/// Branches of the shortest attempt.
const ATTEMPT: u64 = 400;
/// The most doublings of it.
const DOUBLINGS: u32 = 7;

/// A search that goes on from round to round.
#[derive(Clone, Debug)]
pub(super) struct Corners {
    sheet: SheetUse,
    plate: Option<Plate>,
    attempts: u64,
}

impl Corners {
    /// A search on this sheet; does nothing where sheet or pieces are not rectangles.
    pub(super) fn new(problem: &Problem, sheet: SheetUse) -> Self {
        Self {
            sheet,
            plate: Plate::read(problem, sheet),
            attempts: 0,
        }
    }

    /// The sheet that it searches.
    pub(super) fn sheet(&self) -> SheetUse {
        self.sheet
    }

    /// Whether sheet and pieces are rectangles.
    pub(super) fn has_work(&self) -> bool {
        self.plate.is_some()
    }

    /// One round: a layout shorter than `used` (mm from the sheet's end, margin included), if one was found.
    pub(super) fn round(
        &mut self,
        problem: &Problem,
        used: f64,
        draws: &mut Draws,
    ) -> Option<Layout> {
        let plate = self.plate.as_ref()?;
        let best = plate.length(problem, used);
        let mut left = BRANCHES_A_ROUND;
        while left > 0 && best > plate.least {
            self.attempts += 1;
            let allowed = ATTEMPT << self.attempts.trailing_zeros().min(DOUBLINGS);
            let target = target(plate, best, draws);
            let mut search = Search::new(plate, target, allowed.min(left), draws);
            let found = search.run(draws);
            left = left.saturating_sub(search.visited().max(1));
            if found {
                return Some(plate.layout(problem, search.laid()));
            }
        }
        None
    }
}

/// A length to try: the least one, the next shorter one, or one between them.
fn target(plate: &Plate, best: i64, draws: &mut Draws) -> i64 {
    let steps = (best - 1 - plate.least) / plate.step;
    let taken = match draws.below(4) {
        0 | 1 => 0,
        2 => steps,
        _ => draws.below(usize::try_from(steps + 1).unwrap_or(1)) as i64,
    };
    plate.least + taken * plate.step
}
