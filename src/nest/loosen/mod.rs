//! The engine that loosens: pieces may overlap at first, and are moved until none does.
//!
//! In: a problem, a layout that holds. Out: better layouts that hold.
//!
//! Steps: (1) [`Ground`] replaces every shape by an *outline* of straight edges, grown by half the spacing, in each of its
//! turns, cuts outlines into convex parts, and works out once for every two turned shapes at which shifts they meet; (2) an
//! *arrangement* knows of every two pieces how much they are in one another's way (*severity*) and what that *weighs*;
//! (3) a *pass* moves every piece that overlaps to the cheapest place it finds: anywhere, nearby, straight out, or in exact
//! contact with two others; (4) after a pass pairs that still overlap weigh more; (5) a *strip* is shortened each time that
//! nothing overlaps any longer; a *group* of sheets is left with fewer or cheaper ones. On a strip pieces also *give way* and are
//! *tightened* all at once, by linear programs.
//!
//! A price is what everything is made of, so it asks little: sets of boxes by columns and rows tell which pieces may be met,
//! a grid of shifts for every pair which parts of theirs; where a cell of that grid lies wholly in an overlap, its corners tell
//! how severe it is, and only at the rim half planes are looked at.
//!
//! Guarantees: outlines are never smaller than shapes, touching is allowed (7e-7 mm deep, of 1e-6 that a certificate
//! allows), places are whole millionths as a plan writes them; a layout is handed on only when it was certified on true
//! lines and arcs. A function of its arguments alone; what it did counts in prices asked, not in seconds.
//!
//! Sources: severity, guided weights, passes and attempts after Gardeyn, Vanden Berghe & Wauters 2025 (arXiv 2509.13329);
//! instead of their discs, depth times breadth in the sums of convex parts (Minkowski sums of convex polygons, common
//! knowledge), which are exact for touching and give the contacts.
//!
//! Tried and left (120 rounds, one lane, mean of two or three seeds on fu, blaz, shirts, albano, trousers): depth alone, without
//! breadth (shirts 0.8 and trousers 0.4 worse); without the root (0.5 worse over all); a least severity for every overlap (0.4
//! worse); steps of 0.03 % while exploring (0.6 worse); weights kept from one length to the next, 40 or 200 passes of patience,
//! one to three places refined, 6 to 20 contacts a piece (no difference beyond chance).
//!
//! Tried later and left (100 to 120 rounds, one lane, mean of three or four seeds on shapes1, blaz, shirts, trousers; such means
//! scatter by 0.2 to 0.3): half the places a piece tries (0.6 worse); steps of the length that grow after quick successes, a
//! fading of 0.9 or 0.98, growth of 1.2 to 1.5, at most 6, 20 or 24 steps of refinement, half the patience, twice as many places
//! anywhere and half as many others (no difference beyond chance); all pieces at once, overlapping pairs giving way by halves
//! for up to 160 sweeps each time that the overlap had fallen by a fifth (0.7 better in 8 runs, 0.2 worse in 16 others: chance).
//!
//! Tried with linear programs (400 rounds, one lane, four seeds of the same sets): overlaps that cost the same a mm, however deep
//! (the overlap then rose in most programs of trousers; no gain); shifts that had best stay 0, so that a program begins
//! where the pieces lie (as many steps as from a corner of all shifts, or more); one ring of pieces about those that overlap, or
//! all pieces, in place of two rings (no difference beyond chance).
//!
//! Tried against long runs that gain little (800 rounds, one lane, one seed of trousers and shapes2 only, so it says little): near
//! misses forgotten once a shorter layout is found, for most of those kept stem from longer strips; equal ones kept once; of five
//! disturbances one a strip rolled about and one all pieces anywhere (0.4 and 0.5 below). Seven sorts of disturbance, 300 rounds: two to four
//! swaps at once, a band laid anew, small pieces swapped and swaps in the best layout led to no shorter one, or to one in 20 to 26.
//!
//! Tried again by 12 runs each (850 rounds, one lane, three seeds of shapes2, shirts, trousers, fu; such a mean is known to 0.13 to 0.18, so less than 0.3
//! says little): near misses forgotten, or (8 runs) measured anew at the length now asked (no difference beyond chance); walking from one shortest layout
//! to the next by a swap on a longer strip (0.2 better on the first three, 1.0 worse on fu; every other attempt: nothing), with 60 passes of patience and
//! one strike (0.4 worse).
//!
//! A run stands still after some 3000 rounds (five times as many gained 0.03 in one of four), while seeds differ by up to 1.5; so all lanes then begin once
//! more, and share what that run finds.

mod arrangement;
mod convex;
mod founding;
mod grid;
mod ground;
mod near;
mod outline;
mod pass;
mod program;
mod sheets;
mod slide;
mod strip;
mod table;
mod target;
mod tighten;

use crate::geometry::point::Point;
use crate::model::nesting::{Layout, Placed, Problem, SheetUse};
use crate::nest::certify::certify;
use crate::nest::corner::Corners;
use crate::nest::cost::{used, used_length};
use crate::nest::loosen::arrangement::{Arrangement, Slot, Spot};
use crate::nest::loosen::strip::Strip;
use crate::nest::seed::Draws;

pub use founding::Founding;
pub use ground::Ground;
pub use sheets::Regrouping;
pub use target::Market;

/// Prices that a round may ask for.
const PRICES_A_ROUND: u64 = 200_000;

/// Pieces that a strip may have, at the most: overlaps are kept for every pair.
const MOST_ITEMS: usize = 1000;

/// Rounds after which a search begins once more, from the layout that it began with: nine blocks (see [`pressing`]). Later ones hardly gain.
const RUN: u64 = 2986;

/// A search that goes on from round to round.
#[derive(Clone, Debug)]
pub struct Loosening {
    strip: Option<Box<Strip>>,
    corners: Option<Box<Corners>>,
    /// Runs that ended, rounds of the one that goes on, and how many rounds a run has.
    runs: u64,
    rounds: u64,
    run: u64,
    /// Where the pieces lay at first, and the sheet's length then.
    first: (f64, Vec<Spot>),
    /// The shortest layout of this run that any lane had at the end of the last round.
    shared: Option<(f64, Vec<Spot>)>,
    /// The sheet that it works on, and the items on it.
    on: Option<(SheetUse, Vec<usize>)>,
}

impl Loosening {
    /// A search from nothing yet.
    pub fn new() -> Self {
        Self::of_runs(RUN)
    }

    /// A search from nothing yet that begins once more after so many rounds, at least one.
    pub fn of_runs(run: u64) -> Self {
        Self {
            strip: None,
            corners: None,
            runs: 0,
            rounds: 0,
            run,
            first: (0.0, Vec::new()),
            shared: None,
            on: None,
        }
    }

    /// Length in mm of the shortest layout that this run has; `None` before the first round.
    pub fn length(&self) -> Option<f64> {
        self.strip.as_ref().map(|s| s.best.0)
    }

    /// Tells all lanes the shortest layout of their run.
    pub fn share<'a>(lanes: impl Iterator<Item = &'a mut Self>) {
        let mut lanes: Vec<&mut Self> = lanes.collect();
        let last = lanes.iter().map(|l| l.runs).max().unwrap_or(0);
        lanes.retain(|l| l.runs == last && l.runs > 0);
        let found = lanes
            .iter()
            .filter_map(|l| Some((l.strip.as_ref()?.best.clone(), l.on.clone())));
        let Some((best, on)) = found.min_by(|a, b| a.0.0.total_cmp(&b.0.0)) else {
            return;
        };
        // Lanes that work on another roll have other pieces.
        for lane in lanes.into_iter().filter(|l| l.on == on) {
            lane.shared = Some(best.clone());
        }
    }

    /// What a run begins with: in the first one the best layout there is, later on the one that the first began with.
    fn beginning(&self, ground: &Ground, theirs: Arrangement) -> Arrangement {
        if self.runs == 0 {
            return theirs;
        }
        let mut first = theirs;
        first.slots[0].room.max.x = first.slots[0].room.min.x + self.first.0;
        first.take(ground, &self.first.1);
        first
    }

    /// One round on one of [`rolls`]: goes on, from the best layout where that is better than its own; the best layout with this
    /// sheet laid shorter, if that was found. Begins anew where other items lie there than in the round before.
    pub fn round(
        &mut self,
        ground: &Ground,
        problem: &Problem,
        best: &Layout,
        (sheet, key): (SheetUse, [u64; 3]),
    ) -> Option<Layout> {
        let items: Vec<usize> = on_sheet(best, sheet).map(|p| p.item).collect();
        if items.is_empty() || items.len() > MOST_ITEMS {
            return None;
        }
        let on = Some((sheet, items));
        if self.on != on {
            *self = Self::of_runs(self.run);
            self.on = on;
        }
        let before = used_length(problem, best, sheet);
        if let Some(found) = self.by_corners(problem, best, (sheet, before), key) {
            return Some(found);
        }
        let mut draws = Draws::new(key);
        let theirs = arranged(ground, best, sheet)?;
        if self.first.1.is_empty() {
            self.first = (theirs.length(), theirs.spots.clone());
        }
        self.rounds += 1;
        if self.rounds > self.run {
            (self.runs, self.rounds) = (self.runs + 1, 1);
            (self.strip, self.shared) = (None, None);
        }
        // The first run goes on from the best layout there is, later ones from the best of their own: else all would end where the first
        // one did.
        let shared = if self.runs == 0 {
            Some((theirs.length(), theirs.spots.clone()))
        } else {
            self.shared.take()
        };
        if self.strip.is_none() {
            let beginning = self.beginning(ground, theirs);
            self.strip = Some(Box::new(Strip::new(beginning, ground)));
        }
        let strip = self.strip.as_mut()?;
        if let Some((length, spots)) = shared
            && length < strip.best.0 - 1e-9
        {
            strip.adopt(ground, length, &spots, &mut draws);
        }
        strip.work(ground, &mut draws, PRICES_A_ROUND, pressing(self.rounds));
        let mut found = strip.layout(ground);
        found
            .placed
            .extend(best.placed.iter().filter(|p| p.sheet != sheet));
        found.placed.sort_by_key(|p| p.item);
        if certify(problem, &found).is_err() {
            // Rounding was against it: begin again from what holds.
            self.strip = None;
            return None;
        }
        (used_length(problem, &found, sheet) < before - 1e-9).then_some(found)
    }

    /// A layout shorter than `before` by the search that fills gaps corner by corner, where all are rectangles and lie on this sheet.
    fn by_corners(
        &mut self,
        problem: &Problem,
        best: &Layout,
        (sheet, before): (SheetUse, f64),
        key: [u64; 3],
    ) -> Option<Layout> {
        if on_sheet(best, sheet).count() < problem.items.len() {
            return None;
        }
        let corners = self
            .corners
            .get_or_insert_with(|| Box::new(Corners::new(problem, sheet)));
        let mut draws = Draws::new([key[0] ^ 0x636f_726e, key[1], key[2]]);
        corners
            .round(problem, before, &mut draws)
            .filter(|found| used_length(problem, found, sheet) < before - 1e-9)
            .filter(|found| certify(problem, found).is_ok())
    }
}

impl Default for Loosening {
    fn default() -> Self {
        Self::new()
    }
}

/// The last fifth of blocks of rounds, each half as long again as the one before, is for pressing.
fn pressing(round: u64) -> bool {
    let (mut begin, mut length) = (0, 40);
    while round > begin + length {
        begin += length;
        length += length / 2;
    }
    round - begin > length - length / 5
}

/// What lies on a sheet.
fn on_sheet(layout: &Layout, sheet: SheetUse) -> impl Iterator<Item = &Placed> {
    layout.placed.iter().filter(move |p| p.sheet == sheet)
}

/// The sheets in use that are sold by length, and have no more pieces than can be loosened at once.
pub fn rolls(problem: &Problem, layout: &Layout) -> Vec<SheetUse> {
    used(layout)
        .into_iter()
        .filter(|s| problem.stock[s.stock].by_length.is_some())
        .filter(|s| on_sheet(layout, *s).count() <= MOST_ITEMS)
        .collect()
}

/// What lies on a sheet, as an arrangement; `None` where a piece lies in no known way.
fn arranged(ground: &Ground, layout: &Layout, sheet: SheetUse) -> Option<Arrangement> {
    let board = &ground.boards[sheet.stock];
    let mut items = Vec::with_capacity(layout.placed.len());
    let mut spots = Vec::with_capacity(layout.placed.len());
    for p in on_sheet(layout, sheet) {
        let way = ground.way_of(sheet.stock, p.item, p.pose)?;
        items.push(p.item);
        spots.push(Spot {
            way,
            slot: 0,
            at: p.pose.shift,
        });
    }
    let slot = Slot {
        sheet,
        offset: Point::new(0.0, 0.0),
        room: board.room,
    };
    Some(Arrangement::new(items, vec![slot], spots, ground))
}
