//! Ways to lay windows on a layer: columns of pieces side by side.
//!
//! In: the columns of a layer. Out: *tilings*: sets of up to six columns whose widths add up to the layer's extent across, within
//! the cap, without an order yet, least waste first.
//!
//! Each number of columns is looked at by itself, side by side with the others, and what they found is put together.
//!
//! What is kept is bounded at every step, what loses least first, so that time is bounded too. Where columns must fit nearly, a table of pairs
//! makes the lists all but complete: what cannot stand beside the columns taken is never looked at.

use std::collections::{HashMap, HashSet};

use crate::parallel::map_in_order;
use crate::planner::clock::Clock;
use crate::planner::cover::Level;
use crate::planner::cover::abreast::has_order;
use crate::planner::cover::alike::{Alike, Light, put_together};
use crate::planner::cover::column::{Column, EPS, Field, MOST_DEEP};
use crate::planner::cover::row::{Row, Slim, Sums};
use crate::planner::cover::seat::Offer;

/// How many combinations are looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    /// Columns that are combined, by the number of columns in a tiling.
    combined: [usize; MOST_DEEP + 1],
    /// Steps that the tilings of each number of columns may take.
    steps: usize,
    /// Columns that are kept of the same sheets and nearly the same width.
    pub(super) alike: usize,
    /// Whether a table tells which columns can stand side by side.
    tabled: bool,
}

/// Rows after which the clock is asked.
const A_LOOK: usize = 1 << 16;
/// As many words of sets of columns count as a step.
const WORDS_A_STEP: usize = 12;

/// Quick lists, and those that miss little where columns fit nearly.
pub(super) const QUICK: Reach = Reach {
    combined: [0, 12_000, 12_000, 2000, 500, 200, 120],
    steps: 2_500_000,
    alike: 2,
    tabled: false,
};
pub(super) const THOROUGH: Reach = Reach {
    combined: [0, 12_000, 12_000, 20_000, 20_000, 20_000, 20_000],
    steps: 16_000_000,
    alike: 1,
    tabled: true,
};
/// As many steps one tiling counts as whose columns beside voids have no order.
const STEPS_OF_ORDER: usize = 10;
/// Tilings that are kept of one set of sheets; beside voids, where few of them can lie, as many as there is room for, up to so many.
const MOST_ALIKE: usize = 8;
const MOST_BOUND: usize = 2000;

#[derive(Clone)]
struct Search<'a> {
    offer: &'a Offer,
    field: Field,
    reach: Reach,
    clock: Clock<'a>,
    /// Tilings that are kept.
    most: usize,
    /// Rows looked at: now and then the clock is asked.
    rows: usize,
    steps: usize,
    /// Those of pairs of free columns.
    free_steps: usize,
}

/// The tilings of a layer that lose at most the cap, those of one set of sheets together, least lost first.
pub(crate) fn tilings(
    offer: &Offer,
    field: Field,
    columns: &[Column],
    level: &Level,
    clock: Clock<'_>,
) -> Vec<Alike> {
    let mut search = Search {
        offer,
        field,
        clock,
        reach: level.reach,
        most: level.most,
        rows: 0,
        steps: 0,
        free_steps: 0,
    };
    let mut out = search.combine(columns);
    search.keep_sets(&mut out);
    put_together(offer, search.field, columns, out, level.most)
}

impl Search<'_> {
    /// The tilings of each number of columns, all numbers side by side: none knows of what another found.
    fn combine(&self, columns: &[Column]) -> Vec<Light> {
        let most = self.field.most().min(self.reach.combined.len() - 1);
        // From three columns on all are looked at, wherever they lie: one table does for all.
        let tabled = (self.reach.tabled && most > 2).then(|| {
            let mut row = self.row(columns, 3);
            row.tell_pairs(self.offer.kinds.len());
            row
        });
        let found = map_in_order((1..=most).collect(), |n| {
            let mut row = match &tabled {
                Some(row) if n > 2 => row.by(n),
                _ => self.row(columns, n),
            };
            let (mut search, mut out) = (self.clone(), Vec::new());
            search.side_by_side(&mut row, 0, Sums::default(), &mut out);
            search.keep_sets(&mut out);
            out
        });
        found.into_iter().flatten().collect()
    }

    /// The columns that are combined, so many at a time.
    fn row<'c>(&self, columns: &'c [Column], n: usize) -> Row<'c> {
        // Of one or two columns each lies at an end of the layer.
        let at_end = |c: &Column| {
            c.sides.is_none_or(|[low, high]| {
                let at = [low.0 <= EPS, high.1 >= self.field.across - EPS];
                n > 2 || at[0] && at[1] || n == 2 && (at[0] || at[1])
            })
        };
        let pick = |free: bool, most: usize| -> Vec<u32> {
            let of_kind =
                (0..columns.len()).filter(|k| columns[*k].free == free && at_end(&columns[*k]));
            of_kind.take(most).map(|k| k as u32).collect()
        };
        let of = |at: u32| Slim::new(self.offer, &columns[at as usize], at);
        let most = self.reach.combined[n];
        let mut list: Vec<Slim> = pick(false, most).into_iter().map(of).collect();
        list.sort_by(|a, b| a.width.total_cmp(&b.width).then(a.at.cmp(&b.at)));
        Row::new(columns, list, pick(true, most / 4), n)
    }

    /// Notes a tiling; where there are many, what loses more than those kept is no longer looked for.
    fn note(&mut self, row: &Row<'_>, last: u32, lost: f64, out: &mut Vec<Light>) {
        let chosen = row.chosen.iter().chain([&last]);
        let chosen = chosen.map(|c| &row.columns[*c as usize]);
        let bound = chosen.clone().any(|c| c.sides.is_some());
        if bound && !has_order(chosen, self.field.across) {
            self.steps += STEPS_OF_ORDER;
            return;
        }
        let mut columns = [0; MOST_DEEP];
        columns[..row.chosen.len()].copy_from_slice(&row.chosen);
        columns[row.chosen.len()] = last;
        let numbers = columns[..row.n]
            .iter()
            .map(|c| row.columns[*c as usize].set);
        out.push(Light {
            lost,
            set: numbers.fold(0, u64::wrapping_add),
            bound,
            columns,
            n: row.n,
        });
        if out.len() >= 4 * self.most {
            self.keep_sets(out);
        }
    }

    /// Keeps what loses least, and of one set of sheets no more than a few; where what is kept is still a lot, more than
    /// its last loses is no longer looked for.
    fn keep_sets(&mut self, out: &mut Vec<Light>) {
        let sets = out.iter().map(|l| l.set).collect::<HashSet<u64>>().len();
        let room = if self.reach.tabled {
            2 * self.most / sets.max(1)
        } else {
            0
        };
        let most_bound = room.clamp(MOST_ALIKE, MOST_BOUND);
        let mut alike: HashMap<u64, usize> = HashMap::new();
        out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
        out.retain(|l| {
            let n = alike.entry(l.set).or_default();
            *n += 1;
            *n <= if l.bound { most_bound } else { MOST_ALIKE }
        });
        if out.len() > 2 * self.most {
            out.truncate(2 * self.most);
            self.field.cap = out.last().map_or(self.field.cap, |l| l.lost);
        }
    }

    /// Adds columns, narrow ones first, until there are `n`; one or two free ones come last.
    fn side_by_side(&mut self, row: &mut Row<'_>, from: usize, sums: Sums, out: &mut Vec<Light>) {
        self.rows += 1;
        if self.rows.is_multiple_of(A_LOOK) && self.clock.is_over() {
            self.steps = self.reach.steps;
        }
        let need = self.field.need(self.field.across, row.n) - sums.width;
        let left = row.n - row.chosen.len();
        if left == 1 {
            self.one_free(row, need, sums, out);
        } else if left == 2 {
            self.both_free(row, need, sums, out);
        }
        let near = self.field.near * row.n as f64;
        let slack = ((self.field.cap - sums.lost) / self.field.along).min(near);
        let low = if left == 1 { need - EPS } else { 0.0 };
        // Where a free column may still come it takes any width.
        let high = if left > 1 && !row.free.is_empty() {
            need
        } else {
            (need + slack) / left as f64 + EPS
        };
        let first = row.upto(low).max(from);
        let end = row.up_to_and_with(high);
        self.steps += row.open((first, end), self.field.cap - sums.lost, left == 1) / WORDS_A_STEP;
        let mut next = first;
        while let Some(k) = row.next(next, end) {
            next = k + 1;
            let c = row.list[k];
            self.steps += 1;
            if self.steps > self.reach.steps {
                break;
            }
            let lost = sums.lost + c.lost;
            if !row.may_join(&sums, &c)
                || lost > self.field.cap
                || sums.gives + c.gives > self.field.gives
            {
                continue;
            }
            if left == 1 {
                let over = (c.width - need).max(0.0);
                let all = lost + over * self.field.along;
                if all <= self.field.cap && over <= near {
                    self.note(row, c.at, all, out);
                }
            } else {
                let before = row.take(k);
                self.side_by_side(row, k, sums.with(&c), out);
                row.leave(before);
            }
        }
    }

    /// Adds a free column that takes what is left.
    fn one_free(&mut self, row: &Row<'_>, width: f64, sums: Sums, out: &mut Vec<Light>) {
        for &at in &row.free {
            let c = &row.columns[at as usize];
            self.steps += 1;
            if self.steps > self.reach.steps {
                break;
            }
            if width <= c.width
                && width >= self.field.least
                && sums.lost + c.lost <= self.field.cap
                && sums.gives + c.gives <= self.field.gives
                && self.may_come(row, at)
            {
                self.note(row, at, sums.lost + c.lost, out);
            }
        }
    }

    /// Adds two free columns that share a width.
    fn both_free(&mut self, row: &mut Row<'_>, width: f64, sums: Sums, out: &mut Vec<Light>) {
        let columns = row.columns;
        let Sums { lost, gives, .. } = sums;
        if width < 2.0 * self.field.least {
            return;
        }
        for k in 0..row.free.len() {
            let first = &columns[row.free[k] as usize];
            if gives + first.gives >= self.field.gives || !self.may_come(row, row.free[k]) {
                continue;
            }
            for j in k + 1..row.free.len() {
                let second = &columns[row.free[j] as usize];
                self.free_steps += 1;
                if self.free_steps > self.reach.steps.min(QUICK.steps) {
                    return;
                }
                let lost = lost + first.lost + second.lost;
                if first.width + second.width >= width
                    && lost <= self.field.cap
                    && gives + first.gives + second.gives <= self.field.gives
                    && self.may_come(row, row.free[j])
                    && self.may_stand(first, second)
                {
                    row.chosen.push(row.free[k]);
                    self.note(row, row.free[j], lost, out);
                    row.chosen.pop();
                }
            }
        }
    }

    /// Whether a free column may stand beside those of a row.
    fn may_come(&self, row: &Row<'_>, at: u32) -> bool {
        let column = &row.columns[at as usize];
        row.chosen
            .iter()
            .all(|o| self.may_stand(&row.columns[*o as usize], column))
    }

    /// Whether two columns may stand side by side.
    fn may_stand(&self, a: &Column, b: &Column) -> bool {
        if !a.kinds.meets(&b.kinds) {
            return true;
        }
        (a.several || b.several)
            && a.seats
                .iter()
                .all(|s| b.seats.iter().all(|t| self.offer.agree(s.place, t.place)))
    }
}
