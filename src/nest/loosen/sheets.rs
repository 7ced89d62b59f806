//! Several sheets: one is emptied into others, or sheets are exchanged for cheaper ones.
//!
//! A [`Target`] says which sheets go, which come and which stay in the group. The pieces of the group are laid on what stays
//! and comes, overlapping at first; passes loosen them over all these sheets at once. Where that succeeds the layout costs
//! less. An attempt goes on from round to round until it succeeds or its effort is spent; each time that a target of a sort
//! failed, the next one of the sort may spend twice as much.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::model::nesting::{Layout, Placed, Problem, SheetUse};
use crate::nest::certify::certify;
use crate::nest::cost::used_length;
use crate::nest::loosen::arrangement::{Arrangement, Slot, Spot};
use crate::nest::loosen::ground::Ground;
use crate::nest::loosen::pass::{Desk, Effort, anywhere, held};
use crate::nest::loosen::target::{Market, Sort, Target};
use crate::nest::seed::Draws;

/// Prices that a round may ask for.
pub(super) const PRICES_A_ROUND: u64 = 200_000;
/// Prices that the first attempt at a target of a sort may ask for, and how often that doubles.
const FIRST_EFFORT: u64 = 300_000;
const DOUBLINGS: u32 = 6;
/// Attempts that a round may begin.
const BEGINNINGS: usize = 8;
/// Passes without a better total that end a trial, and trials without one before pieces change places.
const PATIENCE: usize = 60;
const STRIKES: usize = 2;
/// Room between sheets side by side in the plane.
const AISLE: f64 = 4096.0;
/// Places that a piece tries.
const EFFORT: Effort = Effort {
    anywhere: 8,
    nearby: 5,
    contacts: 14,
    refined: 2,
    steps: 12,
};

/// A search that goes on from round to round.
#[derive(Clone, Debug, Default)]
pub struct Regrouping {
    attempt: Option<Box<Attempt>>,
    failed: BTreeMap<Sort, u32>,
}

impl Regrouping {
    /// A search from nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// One round: goes on with an attempt that the best layout still allows, else begins another; a cheaper layout, if one was
    /// found. It is certified where it differs from the best one. Without the ground of the whole problem every group gets
    /// one of its own. Where `is_over` says so it ends early, and what it brought is to be left aside.
    pub fn round(
        &mut self,
        market: &Market,
        whole: Option<&Arc<Ground>>,
        problem: &Problem,
        best: &Layout,
        (key, is_over): ([u64; 3], &dyn Fn() -> bool),
    ) -> Option<Layout> {
        let mut draws = Draws::new(key);
        let mut budget = PRICES_A_ROUND;
        let mut found: Option<Layout> = None;
        // Every beginning costs something, so that this ends.
        for _ in 0..BEGINNINGS {
            let from = found.as_ref().unwrap_or(best);
            if self.attempt.as_ref().is_some_and(|a| !a.stands(from)) {
                self.attempt = None;
            }
            if self.attempt.is_none() {
                let Some(target) = Target::choose(market, problem, from, &self.failed, &mut draws)
                else {
                    break;
                };
                let sort = target.sort.clone();
                let failures = self.failed.get(&sort).copied().unwrap_or(0);
                self.attempt =
                    Attempt::new(problem, whole, from, target, failures, &mut draws).map(Box::new);
                if self.attempt.is_none() {
                    *self.failed.entry(sort).or_default() += DOUBLINGS;
                    continue;
                }
            }
            let Some(attempt) = self.attempt.as_mut() else {
                break;
            };
            let spent = attempt.spent;
            let verdict = attempt.work(&mut draws, budget, is_over);
            budget = budget.saturating_sub(attempt.spent - spent);
            match verdict {
                Verdict::Going => break,
                Verdict::Failed => {
                    *self.failed.entry(attempt.target.sort.clone()).or_default() += 1;
                }
                Verdict::Done => {
                    found = attempt.layout(from).or(found);
                }
            }
            self.attempt = None;
            if budget == 0 {
                break;
            }
        }
        found
    }
}

/// How work on an attempt ended.
pub(super) enum Verdict {
    Done,
    Failed,
    Going,
}

/// The pieces of a group on the sheets that are to take them.
#[derive(Clone, Debug)]
pub(super) struct Attempt {
    target: Target,
    /// The group's pieces and sheets as a problem of their own, and what its items and stock are called in the whole one.
    part: Problem,
    items: Vec<usize>,
    stocks: Vec<usize>,
    /// Whether the ground is the group's own.
    own: bool,
    ground: Arc<Ground>,
    now: Arrangement,
    desk: Desk,
    least: (f64, Vec<Spot>),
    start_total: f64,
    idle: usize,
    strikes: usize,
    spent: u64,
    effort: u64,
}

impl Attempt {
    /// Lays a group's pieces out: where they were on sheets that stay, anywhere else. `None` where some piece enters no sheet,
    /// or shapes cannot be cut into convex parts.
    pub(super) fn new(
        problem: &Problem,
        whole: Option<&Arc<Ground>>,
        best: &Layout,
        target: Target,
        failures: u32,
        draws: &mut Draws,
    ) -> Option<Self> {
        let there: Vec<&Placed> = best
            .placed
            .iter()
            .filter(|p| target.removed.contains(&p.sheet) || target.kept.contains(&p.sheet))
            .collect();
        let sheets: Vec<SheetUse> = target.kept.iter().chain(&target.added).copied().collect();
        let (part, items, stocks) = part_of(problem, &there, &sheets);
        // Items and stock are called as in the whole problem where its ground is at hand.
        let ground = match whole {
            Some(whole) => whole.clone(),
            None => Arc::new(Ground::new(&part)?),
        };
        let called: Vec<usize> = match whole {
            Some(_) => items.clone(),
            None => (0..items.len()).collect(),
        };
        let slots = slots(
            problem,
            best,
            &ground,
            &sheets,
            whole.is_none().then_some(&stocks),
        );
        let mut spots = Vec::with_capacity(there.len());
        let mut loose = Vec::new();
        for (k, p) in there.iter().enumerate() {
            let slot = sheets.iter().position(|s| *s == p.sheet);
            let spot = slot.and_then(|slot| {
                let way = ground.way_of(slots[slot].sheet.stock, called[k], p.pose)?;
                let at = p.pose.shift + slots[slot].offset;
                Some(Spot { way, slot, at })
            });
            if spot.is_none() {
                loose.push(k);
            }
            spots.push(spot.unwrap_or(Spot {
                way: 0,
                slot: 0,
                at: Point::new(0.0, 0.0),
            }));
        }
        let mut now = Arrangement::new(called, slots, spots, &ground);
        for i in loose {
            let spot = (0..64).find_map(|_| anywhere(&now, &ground, i, draws))?;
            now.put(&ground, i, spot);
        }
        let total = now.total();
        Some(Self {
            least: (total, now.spots.clone()),
            start_total: total,
            target,
            part,
            items,
            stocks,
            own: whole.is_none(),
            ground,
            now,
            desk: Desk::default(),
            idle: 0,
            strikes: 0,
            spent: 0,
            effort: FIRST_EFFORT << failures.min(DOUBLINGS),
        })
    }

    /// Whether the best layout still has these pieces on the sheets of the group, and no others, and the new sheets are free.
    fn stands(&self, best: &Layout) -> bool {
        let mut n = 0;
        for p in &best.placed {
            if self.target.added.contains(&p.sheet) {
                return false;
            }
            if self.target.removed.contains(&p.sheet) || self.target.kept.contains(&p.sheet) {
                if self.items.binary_search(&p.item).is_err() {
                    return false;
                }
                n += 1;
            }
        }
        n == self.items.len()
    }

    /// Prices asked so far.
    pub(super) fn spent(&self) -> u64 {
        self.spent
    }

    pub(super) fn work(
        &mut self,
        draws: &mut Draws,
        budget: u64,
        is_over: &dyn Fn() -> bool,
    ) -> Verdict {
        self.desk.asked = 0;
        while self.desk.asked < budget {
            if is_over() {
                return Verdict::Going;
            }
            self.desk.asked += self.now.len() as u64;
            if self.now.total() <= 0.0 {
                self.spent += self.desk.asked;
                return Verdict::Done;
            }
            self.desk.pass(&mut self.now, &self.ground, draws, EFFORT);
            self.after_pass(draws);
        }
        self.spent += self.desk.asked;
        if self.spent >= self.effort {
            Verdict::Failed
        } else {
            Verdict::Going
        }
    }

    fn after_pass(&mut self, draws: &mut Draws) {
        let total = self.now.total();
        if total <= 0.0 {
            return;
        }
        self.idle = if total < 0.98 * self.least.0 {
            0
        } else {
            self.idle + 1
        };
        if total < self.least.0 {
            self.least.0 = total;
            self.least.1.copy_from_slice(&self.now.spots);
        }
        self.now.weigh();
        if self.idle < PATIENCE {
            return;
        }
        self.strikes = if self.least.0 < 0.98 * self.start_total {
            0
        } else {
            self.strikes + 1
        };
        self.start_total = self.least.0;
        self.idle = 0;
        let spots = std::mem::take(&mut self.least.1);
        self.now.take(&self.ground, &spots);
        self.least.1 = spots;
        if self.strikes >= STRIKES {
            self.exchange(draws);
            self.now.forget();
            let total = self.now.total();
            self.least = (total, self.now.spots.clone());
            self.start_total = total;
            self.strikes = 0;
        }
    }

    /// A piece that overlaps and one of about its size elsewhere change places: middle to middle.
    fn exchange(&mut self, draws: &mut Draws) {
        let n = self.now.len();
        let bad: Vec<usize> = (0..n).filter(|&i| self.now.overlaps(i)).collect();
        if bad.is_empty() || n < 2 {
            return;
        }
        for _ in 0..=draws.below(3) {
            let p = bad[draws.below(bad.len())];
            let area = |i: usize| self.ground.areas[self.now.items[i]];
            let mut q = draws.below(n);
            for _ in 0..12 {
                let like = area(q) > 0.4 * area(p) && area(q) < 2.5 * area(p);
                if q != p
                    && like
                    && (self.now.slots.len() < 2
                        || self.now.spots[q].slot != self.now.spots[p].slot)
                {
                    break;
                }
                q = draws.below(n);
            }
            let (from, to) = (self.now.spots[p], self.now.spots[q]);
            let (middle_p, middle_q) = (self.now.boxes[p].center(), self.now.boxes[q].center());
            for (i, slot, middle) in [(p, to.slot, middle_q), (q, from.slot, middle_p)] {
                if let Some(spot) = self.brought(i, slot, middle) {
                    self.now.put(&self.ground, i, spot);
                }
            }
        }
    }

    /// A piece with the middle of its box at a point of a slot, turned as it is where that may be.
    fn brought(&self, i: usize, slot: usize, middle: Point) -> Option<Spot> {
        let spot = self.now.spots[i];
        let ways = |slot: usize| {
            self.ground.boards[self.now.slots[slot].sheet.stock].ways[self.now.items[i]]
        };
        let ((first, n), (old, _)) = (ways(slot), ways(spot.slot));
        if n == 0 {
            return None;
        }
        let way = first + spot.way.saturating_sub(old).min(n - 1);
        let at = middle - self.ground.ways[way].bounds.center();
        held(&self.now, &self.ground, Spot { way, slot, at })
    }

    /// The best layout with the group laid anew; `None` where its certificate fails, which rounding may cause.
    pub(super) fn layout(&self, best: &Layout) -> Option<Layout> {
        let mut own = self.now.layout(&self.ground);
        if !self.own {
            for p in &mut own.placed {
                p.item = self.items.binary_search(&p.item).ok()?;
                p.sheet.stock = self.stocks.binary_search(&p.sheet.stock).ok()?;
            }
        }
        certify(&self.part, &own).ok()?;
        let mut placed: Vec<Placed> = best
            .placed
            .iter()
            .filter(|p| self.items.binary_search(&p.item).is_err())
            .copied()
            .collect();
        placed.extend(own.placed.iter().map(|p| Placed {
            item: self.items[p.item],
            sheet: SheetUse {
                stock: self.stocks[p.sheet.stock],
                ..p.sheet
            },
            pose: p.pose,
        }));
        placed.sort_by_key(|p| p.item);
        Some(Layout { placed })
    }
}

/// Pieces and sheets as a problem of their own, with the places of its items and stock in the whole one.
fn part_of(
    problem: &Problem,
    there: &[&Placed],
    sheets: &[SheetUse],
) -> (Problem, Vec<usize>, Vec<usize>) {
    let items: Vec<usize> = there.iter().map(|p| p.item).collect();
    let mut stocks: Vec<usize> = sheets.iter().map(|s| s.stock).collect();
    stocks.sort_unstable();
    stocks.dedup();
    let part = Problem {
        items: items
            .iter()
            .map(|&k| crate::model::nesting::Item {
                fill: false,
                ..problem.items[k].clone()
            })
            .collect(),
        stock: stocks.iter().map(|&s| problem.stock[s].clone()).collect(),
        ..*problem
    };
    (part, items, stocks)
}

/// The sheets side by side in one plane; one sold by length no longer than it is used.
fn slots(
    problem: &Problem,
    best: &Layout,
    ground: &Ground,
    sheets: &[SheetUse],
    stocks: Option<&Vec<usize>>,
) -> Vec<Slot> {
    let mut x = 0.0;
    let mut out = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        let own = stocks.map_or(sheet.stock, |stocks| {
            stocks.binary_search(&sheet.stock).unwrap_or_default()
        });
        let mut room = ground.boards[own].room;
        if problem.stock[sheet.stock].by_length.is_some() {
            let left = problem.stock[sheet.stock]
                .region
                .iter()
                .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()))
                .min
                .x;
            let inward = problem.edge_margin - problem.spacing / 2.0;
            room.max.x = room
                .max
                .x
                .min(left + used_length(problem, best, *sheet) - inward);
        }
        let offset = Point::new((x - room.min.x).ceil(), 0.0);
        x += room.width().ceil() + AISLE;
        out.push(Slot {
            sheet: SheetUse {
                stock: own,
                number: sheet.number,
            },
            offset,
            room: room.moved(offset),
        });
    }
    out
}
