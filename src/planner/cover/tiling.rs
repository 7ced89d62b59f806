//! Ways to lay windows on a layer: columns of pieces side by side.
//!
//! In: the columns of a layer. Out: *tilings*: sets of up to six columns whose widths add up to the layer's extent across, within
//! the cap, without an order yet, least waste first.
//!
//! What is kept is bounded at every step, what loses least first, so that time is bounded too.

use std::collections::HashMap;

use crate::planner::cover::column::{Column, EPS, Field, MOST_DEEP};
use crate::planner::cover::order::has_order;
use crate::planner::cover::seat::{Give, Kinds, Offer};

/// Columns that are combined, by the number of columns in a tiling.
const COMBINED: [usize; MOST_DEEP + 1] = [0, 12_000, 12_000, 2000, 500, 200, 120];
/// Steps that the tilings of each number of columns may take.
const MOST_STEPS: usize = 2_500_000;
/// As many steps one tiling counts as whose columns beside voids have no order.
const STEPS_OF_ORDER: usize = 10;
/// Tilings that are kept of one set of sheets.
const MOST_ALIKE: usize = 8;
/// Room beyond its need that a seat that gives is laid with, in mm; what the sheet really has is asked when positions are
/// settled.
const GIVEN: f64 = 6.0;

/// Columns side by side.
#[derive(Clone, Debug)]
pub(crate) struct Tiling {
    pub(crate) columns: Vec<Column>,
    pub(crate) lost: f64,
    /// Kinds of which there is one sheet.
    pub(crate) kinds: Kinds,
    /// Those of them that have no other place to offer.
    pub(crate) solid: Kinds,
    /// Places beside which others of their sheet can be used.
    pub(crate) partial: Vec<usize>,
    /// Area in mm² of sheets that is left for others.
    pub(crate) left: f64,
    /// Pieces.
    pub(crate) pieces: usize,
    /// The places of all pieces, and what parted ones must give.
    pub(crate) places: Vec<(usize, f64)>,
}

/// A tiling before it is built.
struct Light {
    lost: f64,
    /// The number of its set of sheets.
    set: u64,
    columns: [u32; MOST_DEEP],
    n: usize,
}

struct Search<'a> {
    offer: &'a Offer,
    field: Field,
    /// Tilings that are kept.
    most: usize,
    steps: usize,
    /// Those of pairs of free columns.
    free_steps: usize,
}

/// The tiling of columns that were put together; `None` where sheets do not suffice.
pub(super) fn tiling_of(offer: &Offer, field: Field, columns: &[&Column]) -> Option<Tiling> {
    let search = Search {
        offer,
        field,
        most: 1,
        steps: 0,
        free_steps: 0,
    };
    let lost = columns.iter().map(|c| c.lost).sum();
    search.tiling(columns, lost)
}

/// The tilings of a layer that lose at most the cap, those of one set of sheets together, least lost first.
pub(crate) fn tilings(
    offer: &Offer,
    field: Field,
    columns: &[Column],
    most: usize,
) -> Vec<Vec<Tiling>> {
    let mut search = Search {
        offer,
        field,
        most,
        steps: 0,
        free_steps: 0,
    };
    search.combine(columns)
}

impl Search<'_> {
    fn combine(&mut self, columns: &[Column]) -> Vec<Vec<Tiling>> {
        let mut out = Vec::new();
        for (n, most) in COMBINED
            .into_iter()
            .enumerate()
            .take(self.field.most() + 1)
            .skip(1)
        {
            (self.steps, self.free_steps) = (0, 0);
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
            let mut list = pick(false, most);
            list.sort_by(|a, b| {
                columns[*a as usize]
                    .width
                    .total_cmp(&columns[*b as usize].width)
            });
            let mut row = Row {
                columns,
                widths: list.iter().map(|c| columns[*c as usize].width).collect(),
                list,
                free: pick(true, most / 4),
                n,
                chosen: Vec::new(),
            };
            self.side_by_side(&mut row, 0, 0.0, 0.0, &mut out);
        }
        self.keep_sets(&mut out);
        let mut sets: HashMap<u64, usize> = HashMap::new();
        let mut found: Vec<Vec<Tiling>> = Vec::new();
        for light in &out {
            let chosen: Vec<&Column> = light.columns[..light.n]
                .iter()
                .map(|c| &columns[*c as usize])
                .collect();
            let Some(tiling) = self.tiling(&chosen, light.lost) else {
                continue;
            };
            let next = found.len();
            let at = *sets.entry(light.set).or_insert(next);
            if at == next {
                found.push(Vec::new());
            }
            found[at].push(tiling);
        }
        found.truncate(self.most);
        found
    }

    /// Notes a tiling; where there are many, what loses more than those kept is no longer looked for.
    fn note(&mut self, row: &Row<'_>, last: u32, lost: f64, out: &mut Vec<Light>) {
        let chosen = row.chosen.iter().chain([&last]);
        let chosen = chosen.map(|c| &row.columns[*c as usize]);
        if chosen.clone().any(|c| c.sides.is_some())
            && !has_order(&chosen.collect::<Vec<_>>(), self.field.across)
        {
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
        let mut alike: HashMap<u64, usize> = HashMap::new();
        out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
        out.retain(|l| {
            let n = alike.entry(l.set).or_default();
            *n += 1;
            *n <= MOST_ALIKE
        });
        if out.len() > 2 * self.most {
            out.truncate(2 * self.most);
            self.field.cap = out.last().map_or(self.field.cap, |l| l.lost);
        }
    }

    /// Adds columns, narrow ones first, until there are `n`; one or two free ones come last.
    fn side_by_side(
        &mut self,
        row: &mut Row<'_>,
        from: usize,
        sum: f64,
        lost: f64,
        out: &mut Vec<Light>,
    ) {
        let columns = row.columns;
        let need = self.field.need(self.field.across, row.n);
        let left = row.n - row.chosen.len();
        let near = self.field.near * row.n as f64;
        let slack = ((self.field.cap - lost) / self.field.along).min(near);
        let gives: usize = row.chosen.iter().map(|c| columns[*c as usize].gives).sum();
        if left == 1 {
            for k in 0..row.free.len() {
                let c = &columns[row.free[k] as usize];
                self.steps += 1;
                let width = need - sum;
                if self.steps > MOST_STEPS {
                    break;
                }
                if width <= c.width
                    && width >= self.field.least
                    && lost + c.lost <= self.field.cap
                    && gives + c.gives <= self.field.gives
                    && self.may_join(row, c)
                {
                    self.note(row, row.free[k], lost + c.lost, out);
                }
            }
        } else if left == 2 {
            self.both_free(row, need - sum, lost, out);
        }
        let low = if left == 1 { need - sum - EPS } else { 0.0 };
        // Where a free column may still come it takes any width.
        let high = if left > 1 && !row.free.is_empty() {
            need - sum
        } else {
            (need - sum + slack) / left as f64 + EPS
        };
        let first = row.widths.partition_point(|w| *w < low).max(from);
        for k in first..row.list.len() {
            let c = &columns[row.list[k] as usize];
            self.steps += 1;
            if c.width > high || self.steps > MOST_STEPS {
                break;
            }
            if lost + c.lost > self.field.cap
                || gives + c.gives > self.field.gives
                || !self.may_join(row, c)
            {
                continue;
            }
            if left == 1 {
                let over = (sum + c.width - need).max(0.0);
                let all = lost + c.lost + over * self.field.along;
                if all <= self.field.cap && over <= near {
                    self.note(row, row.list[k], all, out);
                }
            } else {
                row.chosen.push(row.list[k]);
                self.side_by_side(row, k, sum + c.width, lost + c.lost, out);
                row.chosen.pop();
            }
        }
    }

    /// Adds two free columns that share a width.
    fn both_free(&mut self, row: &mut Row<'_>, width: f64, lost: f64, out: &mut Vec<Light>) {
        let columns = row.columns;
        let gives: usize = row.chosen.iter().map(|c| columns[*c as usize].gives).sum();
        if width < 2.0 * self.field.least {
            return;
        }
        for k in 0..row.free.len() {
            let first = &columns[row.free[k] as usize];
            if gives + first.gives >= self.field.gives || !self.may_join(row, first) {
                continue;
            }
            for j in k + 1..row.free.len() {
                let second = &columns[row.free[j] as usize];
                self.free_steps += 1;
                if self.free_steps > MOST_STEPS {
                    return;
                }
                let lost = lost + first.lost + second.lost;
                if first.width + second.width >= width
                    && lost <= self.field.cap
                    && gives + first.gives + second.gives <= self.field.gives
                    && self.may_join(row, second)
                    && self.may_stand(first, second)
                {
                    row.chosen.push(row.free[k]);
                    self.note(row, row.free[j], lost, out);
                    row.chosen.pop();
                }
            }
        }
    }

    /// Whether a column may stand beside those of a row.
    fn may_join(&self, row: &Row<'_>, column: &Column) -> bool {
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

    fn tiling(&self, chosen: &[&Column], lost: f64) -> Option<Tiling> {
        let mut columns: Vec<Column> = chosen.iter().map(|c| (*c).clone()).collect();
        let need = self.field.need(self.field.across, columns.len());
        let sum: f64 = columns.iter().filter(|c| !c.free).map(|c| c.width).sum();
        let mut places = Vec::new();
        let mut taken = 0.0;
        // What the free ones share: each may be so wide that the others have the least.
        let open: Vec<f64> = columns.iter().filter(|c| c.free).map(|c| c.width).collect();
        let others = (open.len() as f64 - 1.0) * self.field.least;
        let most: f64 = open.iter().map(|w| w.min(need - sum - others)).sum();
        for c in &mut columns {
            // The least that the column is wide.
            let least = if c.free {
                let wide = c.width.min(need - sum - others);
                c.width = wide + GIVEN;
                (wide - (most - (need - sum))).max(self.field.least)
            } else {
                c.width - (sum - need).max(0.0)
            };
            for s in &mut c.seats {
                let parts = self.offer.places[s.place].parts > 1;
                match s.give {
                    Give::None => {
                        places.push((s.place, 0.0));
                        taken += if parts { s.across * s.along } else { 0.0 };
                    }
                    Give::Along => {
                        places.push((s.place, (s.along - c.spare).max(self.field.least)));
                        taken += s.along * least;
                        s.along += GIVEN;
                    }
                    Give::Across => {
                        places.push((s.place, least));
                        taken += s.along * least;
                        s.across = c.width + GIVEN;
                    }
                }
            }
        }
        let (mut solid, mut partial, mut several) = (Kinds::default(), Vec::new(), false);
        let mut left = -taken;
        for (place, _) in &places {
            let p = &self.offer.places[*place];
            if self.offer.kinds[p.kind].bins.len() > 1 {
                several = true;
            } else if p.parts > 1 {
                partial.push(*place);
                left += self.offer.usable_of(p.kind);
            } else {
                solid = solid.with(p.kind);
            }
        }
        let asks = several || !partial.is_empty();
        let tiling = Tiling {
            solid,
            partial,
            left,
            lost,
            kinds: columns.iter().fold(Kinds::default(), |k, c| k.or(&c.kinds)),
            pieces: places.len(),
            columns,
            places,
        };
        (!asks || self.offer.suffices(&tiling.places)).then_some(tiling)
    }
}

/// Columns to choose from, and those chosen.
struct Row<'c> {
    columns: &'c [Column],
    /// By width.
    list: Vec<u32>,
    widths: Vec<f64>,
    free: Vec<u32>,
    n: usize,
    chosen: Vec<u32>,
}
