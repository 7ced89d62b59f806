//! Pieces that fill sheets as a jigsaw does: an exact search over corners.
//!
//! In: a problem whose pieces would fill one sheet, or several of one kind, but for a little. Out: a layout there, where one was found.
//!
//! Steps: (1) a [`Board`] grows sheet and pieces by half the spacing, so that touching is exact, and turns every piece in all
//! ways that are allowed; of a sheet sold by length it takes what the pieces' area asks for; several sheets lie side by side, and
//! [`Joined`] joins pieces that can only lie beside one another; (2) [`gap::gaps_at`] tells what is
//! free around a point; a *gap* of less than a half turn must be filled by corners of pieces, so it is a *free corner*;
//! (3) [`Search`] takes the free corner that has the fewest ways to be filled and lays a piece's corner into it, edge to edge,
//! branch by branch; where any turn is allowed, the edge tells the turn; of several sheets one is filled after the other; (4) a branch ends where a free corner has no way
//! left: angles that do not add up, sides of another curvature, no room; (5) [`settled`] shifts the pieces apart by a linear
//! program where they overlap a little, rounds, and certifies; (6) rectangles, of which angles say nothing, are left to the
//! search of `corner` with the sheet's length as its limit, and on sets of sheets to the one that fills them one after the other.
//!
//! Room to spare: pieces may lie close in the front-left corner and leave a strip along the back and the right (up to 5 % of
//! the lesser extent: the sheet is cut down by as much as the area asks, alike both ways or one way), or anyhow (up to 0.2 %:
//! shapes within the *slip* of one another count as touching, overlaps of its depth are let pass). A branch is never ended
//! by an overlap below the slip; the program of step 5 has to mend it.
//!
//! Guarantees: a function of its arguments and of the rounds before; counts looks, not seconds. What is handed on was certified
//! on true lines and arcs. That a search ends without a layout proves nothing: other ways to share room are unknown to it.
//!
//! Limits: pieces of one sheet and one class, none of them fill; with spacing no arcs; no piece that touches a free corner by
//! an edge's middle only; corners sharper than what the slip covers. Several sheets are of one kind, and none of them has more than 0.2 %
//! to spare.
//!
//! Tried and left: free corners of all sheets at once, ways looked for anew at every piece (of three published sets cut from several sheets and
//! filled so within 0.2 s two larger ones were not within 10 s: an attempt of 2,000 looks ended at the seventh of 60 pieces); tolerance alone, without room left aside (one of eight jigsaws with arcs and 0.5 mm to spare was missed: the
//! slip hides short edges); rectangles by free corners (20 of them, sides of any length: 4 of 8
//! found, the rest given up after 6,000,000 looks on each board; by the search of `corner`, sides in whole hundredths: 8 of 8).
//!
//! Sources: to branch where the choices are fewest is the rule of Knuth's exact covers ("Dancing links", 2000; from memory); that
//! corners add up around a point is common knowledge.

mod board;
mod form;
mod gap;
mod mates;
mod search;
mod settle;

use std::sync::Arc;

use crate::geometry::bounds::Bounds;
use crate::geometry::region::Region;
use crate::geometry::tolerance::CERTIFIED;
use crate::model::nesting::{Layout, Problem, SheetUse};
use crate::nest::certify::certify;
use crate::nest::corner::{Corners, OnSets};
use crate::nest::cost::cost;
use crate::nest::jigsaw::board::{Board, boards};
use crate::nest::jigsaw::mates::Joined;
use crate::nest::jigsaw::search::{End, Search};
use crate::nest::jigsaw::settle::settled;
use crate::nest::seed::Draws;

/// Places that a round may look at.
const LOOKS_A_ROUND: u64 = 60_000;
/// The same where there is a layout already, which other searches better as well.
const LOOKS_BESIDE: u64 = 20_000;
/// Looks of the shortest attempt.
const ATTEMPT: u64 = 2_000;
/// The most doublings of it.
const DOUBLINGS: u32 = 8;
/// Looks after which a board is left for good where there is a layout already.
const LOOKS_A_BOARD: u64 = 1_000_000;
/// By how much the order of choices is disturbed from the second attempt on.
const NOISE: f64 = 2.0;

/// A search that goes on from round to round.
#[derive(Clone, Debug, Default)]
pub struct Jigsaw {
    puzzles: Option<Arc<Vec<Puzzle>>>,
    states: Vec<State>,
    next: usize,
    corners: Option<Vec<Corners>>,
    on_sets: Option<OnSets>,
}

/// A board, and where pieces are joined on it what they are joined of, and the board of the pieces themselves.
#[derive(Clone, Debug)]
struct Puzzle {
    board: Board,
    joined: Option<(Arc<Joined>, Board)>,
}

impl Puzzle {
    /// The layout of what was laid, where it holds.
    fn settled(&self, problem: &Problem, laid: &[search::Laid]) -> Option<Layout> {
        match &self.joined {
            Some((joined, board)) => settled(problem, board, &joined.parted(board, laid)),
            None => settled(problem, &self.board, laid),
        }
    }
}

/// What a problem's pieces may fill: joined pieces first.
fn puzzles(problem: &Problem) -> Vec<Puzzle> {
    let plain = boards(problem);
    let mut out = Vec::new();
    let joined = if plain.is_empty() {
        None
    } else {
        Joined::new(problem).map(Arc::new)
    };
    if let Some(joined) = joined {
        for board in boards(&joined.problem) {
            let own = plain.iter().find(|p| p.has_sheets_of(&board)).cloned();
            out.extend(own.map(|own| Puzzle {
                board,
                joined: Some((joined.clone(), own)),
            }));
        }
    }
    out.extend(plain.into_iter().map(|board| Puzzle {
        board,
        joined: None,
    }));
    out
}

/// How far the search on a board is.
#[derive(Clone, Copy, Debug, Default)]
struct State {
    attempts: u64,
    looks: u64,
    is_over: bool,
}

impl Jigsaw {
    /// A search from nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Whether there is nothing left to look at.
    pub fn is_over(&self) -> bool {
        self.puzzles.is_some()
            && self.states.iter().all(|s| s.is_over)
            && self.corners.as_ref().is_some_and(Vec::is_empty)
            && self.on_sets.as_ref().is_some_and(OnSets::is_over)
    }

    /// One round: a layout that costs less than `below`, if one was found. The problem is the same from round to round.
    pub fn round(&mut self, problem: &Problem, below: f64, key: [u64; 3]) -> Option<Layout> {
        let puzzles = self
            .puzzles
            .get_or_insert_with(|| Arc::new(puzzles(problem)))
            .clone();
        self.states.resize(puzzles.len(), State::default());
        let mut draws = Draws::new([key[0] ^ 0x6a69_6773, key[1], key[2]]);
        let is_first = below.is_infinite();
        let mut left = if is_first {
            LOOKS_A_ROUND
        } else {
            LOOKS_BESIDE
        };
        while left > 0 {
            let n = puzzles.len();
            let Some(at) = (0..n)
                .map(|k| (self.next + k) % n)
                .find(|&k| !self.states[k].is_over && puzzles[k].board.cost < below - 1e-9)
            else {
                break;
            };
            self.next = at + 1;
            let (puzzle, state) = (&puzzles[at], &mut self.states[at]);
            let board = &puzzle.board;
            state.attempts += 1;
            let allowed = ATTEMPT << state.attempts.trailing_zeros().min(DOUBLINGS);
            let noise = if state.attempts == 1 { 0.0 } else { NOISE };
            let mut found = None;
            let mut accept = |laid: &[search::Laid]| {
                found = puzzle
                    .settled(problem, laid)
                    .filter(|layout| cost(problem, layout) < below - 1e-9);
                found.is_some()
            };
            let (end, looks) =
                Search::new(board, allowed.min(left), noise, &mut accept).run(&mut draws);
            left = left.saturating_sub(looks.max(1));
            state.looks += looks;
            state.is_over = end != End::Spent || !is_first && state.looks > LOOKS_A_BOARD;
            if found.is_some() {
                return found;
            }
        }
        self.by_corners(problem, below, &mut draws)
    }

    /// The same for rectangles, by the search that fills rolls: angles tell little of them.
    fn by_corners(&mut self, problem: &Problem, below: f64, draws: &mut Draws) -> Option<Layout> {
        let all = self.corners.get_or_insert_with(|| fixed_sheets(problem));
        for corners in all {
            let stock = &problem.stock[corners.sheet().stock];
            let bounds = stock
                .region
                .iter()
                .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
            let end = bounds.width() + CERTIFIED;
            if stock.cost < below - 1e-9
                && let Some(layout) = corners.round(problem, end, draws)
                && certify(problem, &layout).is_ok()
            {
                return Some(layout);
            }
        }
        let on_sets = self.on_sets.take().filter(|s| s.is_for(below));
        let sets = self
            .on_sets
            .insert(on_sets.unwrap_or_else(|| OnSets::new(problem, below)));
        sets.round(below, draws)
            .filter(|layout| cost(problem, layout) < below - 1e-9)
            .filter(|layout| certify(problem, layout).is_ok())
    }
}

/// Searches on the sheets sold whole that rectangles may fill.
fn fixed_sheets(problem: &Problem) -> Vec<Corners> {
    let class = problem.items.first().map(|i| i.class);
    let is_alike = problem
        .items
        .iter()
        .all(|i| Some(i.class) == class && !i.fill);
    let needed: f64 = problem.items.iter().map(|i| i.shape.area_mm2()).sum();
    (0..problem.stock.len())
        .filter(|&k| {
            let stock = &problem.stock[k];
            let area: f64 = stock.region.iter().map(Region::area_mm2).sum();
            is_alike
                && Some(stock.class) == class
                && stock.quantity > 0
                && stock.by_length.is_none()
                && needed <= area * (1.0 + 1e-9)
        })
        .map(|stock| Corners::new(problem, SheetUse { stock, number: 0 }))
        .filter(Corners::has_work)
        .collect()
}
