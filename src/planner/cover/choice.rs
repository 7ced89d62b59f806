//! Ways for all layers together.
//!
//! In: lists of ways, a target. Out: guesses that cost no more. A way is taken for each layer in turn; what can no longer
//! stand beside it (sheets used up) leaves the lists of those to come. Layers that share a list take their ways in the order
//! of the list, so that no set of ways is met twice; which layer gets which is asked when they are laid. A branch ends where
//! its cost and what the rest must cost at the least, its area on the cheapest sheets left, exceed the target. Some rounds look
//! for fewer pieces at no more cost: there a branch ends where it has as many as the best plan.

use crate::nest::seed::Draws;
use crate::planner::clock::Clock;
use crate::planner::cover::order::{Laying, layings};
use crate::planner::cover::seat::Kinds;
use crate::planner::cover::settle::settle;
use crate::planner::cover::tiling::Tiling;
use crate::planner::cover::{Aim, Cover, Way, order, slide};
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth};

/// Ways that are compared in a round.
const NODES: usize = 10_000_000;
/// Ways that are compared in a round that looks for fewer pieces.
const TIDY_NODES: usize = 500_000;
/// Ways after which the clock is looked at.
const A_LOOK: usize = 100_000;
/// As many of them one counts as whose places must be compared.
const ASKED: usize = 10;
/// Complete choices that are laid in a round.
const LEAVES: usize = 12;
/// Layings of one way that are looked at.
const LAYINGS: usize = 160;
/// Pairs of layings that are compared for one choice.
const PAIRS: usize = 8000;
/// Linear programs that are solved for one choice.
const PROGRAMS: usize = 4;
/// Guesses that a round brings home.
const GUESSES: usize = 3;
/// Targets between bound and best cost, in turn.
const TARGETS: [f64; 6] = [0.02, 0.08, 0.2, 0.4, 0.7, 1.0];

/// One search through the ways of all units.
pub(super) struct Choice<'a> {
    cover: &'a Cover,
    prepared: &'a Prepared<'a>,
    clock: Clock<'a>,
    /// Whether the clock said so, and at how many ways it was asked.
    is_over: bool,
    looked: usize,
    target: f64,
    /// Fewer pieces than so many are looked for.
    below: Option<usize>,
    /// By turn: the fewest pieces of the units from this turn on; one more than turns.
    fewest: Vec<usize>,
    nodes: usize,
    leaves: usize,
    draws: Draws,
    /// By turn: the group.
    turns: Vec<usize>,
    /// By group: its ways in the order in which they are tried.
    orders: Vec<Vec<u32>>,
    /// By turn: the way taken.
    chosen: Vec<usize>,
    /// By class: kinds from the cheapest for their area, with area of all sheets and price.
    supply: Vec<Vec<Supply>>,
    /// By turn: area in mm² that the units from this turn on need, by class.
    demand: Vec<Vec<f64>>,
    out: Vec<(State, Worth)>,
}

#[derive(Clone, Copy)]
struct Supply {
    kind: usize,
    area: f64,
    price: f64,
    /// Whether there is one sheet.
    single: bool,
}

impl<'a> Choice<'a> {
    pub(super) fn new(
        cover: &'a Cover,
        prepared: &'a Prepared<'a>,
        key: [u64; 3],
        Aim { best, bound, below }: Aim,
        clock: Clock<'a>,
    ) -> Self {
        let mut draws = Draws::new([key[0] ^ 0x5eed, key[1], key[2]]);
        let share = TARGETS[((key[1] + key[2]) % TARGETS.len() as u64) as usize];
        let noise = if key[2] < TARGETS.len() as u64 && key[1] == 0 {
            0.0
        } else {
            0.25
        };
        let orders = cover
            .groups
            .iter()
            .map(|g| {
                let keys: Vec<f64> = g
                    .ways
                    .iter()
                    .map(|w| w.score * (1.0 + noise * draws.unit()))
                    .collect();
                let mut order: Vec<u32> = (0..keys.len() as u32).collect();
                order.sort_by(|a, b| {
                    let key = |k: &u32| keys[*k as usize];
                    key(a).total_cmp(&key(b)).then(a.cmp(b))
                });
                order
            })
            .collect();
        let turns: Vec<usize> = (0..cover.groups.len())
            .flat_map(|g| std::iter::repeat_n(g, cover.groups[g].units.len()))
            .collect();
        Self {
            target: match below {
                Some(_) => best + 1e-9,
                None => target(share, best, bound),
            },
            below,
            clock,
            is_over: false,
            looked: 0,
            fewest: fewest(cover, &turns),
            nodes: 0,
            leaves: 0,
            draws,
            chosen: vec![0; turns.len()],
            orders,
            supply: supply(cover, prepared),
            demand: demand(cover, prepared, &turns),
            turns,
            cover,
            prepared,
            out: Vec::new(),
        }
    }

    /// Goes through the ways until the round is spent.
    pub(super) fn search(mut self) -> Vec<(State, Worth)> {
        let first = self.orders[self.turns[0]].clone();
        self.choose(0, &first, 0.0, Kinds::default());
        self.out
    }

    fn spent(&self) -> bool {
        let most = self.below.map_or(NODES, |_| TIDY_NODES);
        self.nodes > most || self.is_over || self.leaves >= LEAVES || self.out.len() >= GUESSES
    }

    fn way(&self, turn: usize) -> &'a Way {
        &self.cover.groups[self.turns[turn]].ways[self.chosen[turn]]
    }

    /// Chooses ways for the turns from this one on; `list` holds what may still be taken for it.
    fn choose(&mut self, turn: usize, list: &[u32], cost: f64, used: Kinds) {
        let cover = self.cover;
        let ways = &cover.groups[self.turns[turn]].ways;
        for (at, k) in list.iter().enumerate() {
            if self.spent() {
                return;
            }
            self.chosen[turn] = *k as usize;
            let way = &ways[*k as usize];
            let all = if way.first().partial.is_empty() {
                cost + way.cost
            } else {
                cover.offer.cost(&self.places(turn + 1))
            };
            let used = used.or(&way.first().kinds);
            if self.has_too_many(turn + 1) {
                continue;
            }
            if all + self.least(turn + 1, &used) > self.target {
                continue;
            }
            if turn + 1 == self.turns.len() {
                self.leaves += 1;
                let found = self.lay();
                self.out.extend(found);
                continue;
            }
            let same = self.turns[turn + 1] == self.turns[turn];
            let next: Vec<u32> = if same {
                self.beside(turn, &list[at + 1..])
            } else {
                let full = std::mem::take(&mut self.orders[self.turns[turn + 1]]);
                let next = self.beside(turn, &full);
                self.orders[self.turns[turn + 1]] = full;
                next
            };
            self.choose(turn + 1, &next, all, used);
        }
    }

    /// What of a list can stand beside the ways taken up to a turn.
    fn beside(&mut self, turn: usize, list: &[u32]) -> Vec<u32> {
        let same = self.turns[turn + 1] == self.turns[turn];
        let ways = &self.cover.groups[self.turns[turn + 1]].ways;
        self.nodes += list.len();
        let offer = &self.cover.offer;
        // Where the list is the one before, ways before that were asked already.
        let first = if same { turn } else { 0 };
        let taken: Vec<&Tiling> = (first..=turn).map(|t| self.way(t).first()).collect();
        let used = taken.iter().fold(Kinds::default(), |k, t| k.or(&t.kinds));
        let group = &self.cover.groups[self.turns[turn + 1]];
        let before = self.places(turn + 1);
        let mut asked = 0;
        let mut all: Vec<(usize, f64)> = Vec::new();
        let mut shares = |k: usize| {
            asked += 1;
            let own = ways[k].first();
            taken.iter().all(|t| offer.stand_together(t, own)) && {
                all.clone_from(&before);
                all.extend(&own.places);
                offer.suffices(&all)
            }
        };
        let word = used.first_word();
        let solid = taken.iter().fold(0, |w, t| w | t.solid.first_word());
        let mut out = Vec::new();
        for k in list {
            let mask = &group.masks[*k as usize];
            let stands = if mask.asks {
                let apart = mask.word & word == 0 && !mask.more && !mask.several;
                let clash = mask.word & solid != 0 || mask.solid & word != 0;
                apart || !clash && shares(*k as usize)
            } else {
                mask.word & word == 0 && (!mask.more || !used.meets(&mask.kinds))
            };
            if stands {
                out.push(*k);
            }
        }
        self.nodes += ASKED * asked;
        if self.nodes - self.looked > A_LOOK {
            self.looked = self.nodes;
            self.is_over = self.clock.is_over();
        }
        out
    }

    /// Whether the ways taken before a turn, and the fewest pieces that the rest can have, are too many.
    fn has_too_many(&self, turn: usize) -> bool {
        self.below.is_some_and(|below| {
            let taken: usize = (0..turn).map(|t| self.way(t).fewest).sum();
            taken + self.fewest[turn] >= below
        })
    }

    /// Places of the ways taken before a turn.
    fn places(&self, turn: usize) -> Vec<(usize, f64)> {
        (0..turn)
            .flat_map(|t| &self.way(t).first().places)
            .copied()
            .collect()
    }

    /// What the units from a turn on cost at the least: their area on the cheapest sheets that are left.
    fn least(&self, turn: usize, used: &Kinds) -> f64 {
        let mut cost = 0.0;
        for (class, supply) in self.supply.iter().enumerate() {
            let mut rest = self.demand[turn][class];
            if rest <= 0.0 {
                continue;
            }
            // What is left of sheets of which a part was taken costs nothing more.
            for t in 0..turn {
                if self.cover.groups[self.turns[t]].class == class {
                    rest -= self.way(t).first().left;
                }
            }
            for s in supply {
                if rest <= 0.0 {
                    break;
                }
                if s.single && used.has(s.kind) {
                    continue;
                }
                cost += s.area.min(rest) * s.price;
                rest -= s.area;
            }
            if rest > 1e-6 * self.demand[turn][class] {
                return f64::INFINITY;
            }
        }
        cost
    }

    /// A guess of the ways taken.
    fn lay(&mut self) -> Option<(State, Worth)> {
        let units = self.prepared.units.len();
        let mut lists: Vec<Vec<Laid<'a>>> = vec![Vec::new(); units];
        for turn in 0..self.turns.len() {
            let way = self.way(turn);
            for unit in &self.cover.groups[self.turns[turn]].units {
                let shape = &self.prepared.shapes[self.prepared.units[*unit].shape];
                let adds = self.cover.adds[*unit];
                for tiling in &way.tilings {
                    let found = layings(shape, tiling, way.runs, adds, &mut self.draws, LAYINGS);
                    lists[*unit].extend(found.into_iter().map(|laying| Laid {
                        turn,
                        tiling,
                        laying,
                    }));
                }
            }
        }
        if lists.iter().any(Vec::is_empty) {
            return None;
        }
        if self.below.is_some() {
            lists
                .iter_mut()
                .for_each(|l| l.sort_by_key(|l| l.tiling.pieces));
        }
        let runs = lists
            .iter()
            .map(|l| l.iter().map(|l| l.laying.runs_of()).collect())
            .collect();
        let mut stack = Stack {
            choice: self,
            lists: &lists,
            runs,
            picked: vec![0; units],
            pairs: 0,
            programs: 0,
        };
        stack.pick(0)
    }
}

/// A laying that a unit may get.
#[derive(Clone)]
struct Laid<'a> {
    /// The turn whose way it is.
    turn: usize,
    /// The tiling of that way.
    tiling: &'a Tiling,
    laying: Laying,
}

/// Layings for all units, picked from the bottom up.
struct Stack<'s, 'a> {
    choice: &'s Choice<'a>,
    /// By unit.
    lists: &'s [Vec<Laid<'a>>],
    runs: Vec<Vec<Vec<order::Run>>>,
    picked: Vec<usize>,
    pairs: usize,
    programs: usize,
}

impl Stack<'_, '_> {
    fn pick(&mut self, unit: usize) -> Option<(State, Worth)> {
        let prepared = self.choice.prepared;
        let cover = self.choice.cover;
        if unit == self.lists.len() {
            let pieces = |(l, k): (&Vec<Laid<'_>>, &usize)| l[*k].tiling.pieces;
            let all: usize = self.lists.iter().zip(&self.picked).map(pieces).sum();
            if self.choice.below.is_some_and(|below| all >= below) {
                return None;
            }
            self.programs += 1;
            let layings: Vec<&Laying> = self
                .lists
                .iter()
                .zip(&self.picked)
                .map(|(l, k)| &l[*k].laying)
                .collect();
            let splits = slide::positions(prepared, &cover.offer, &layings, &cover.adds)?;
            return settle(prepared, &cover.offer, &layings, splits);
        }
        let below = unit
            .checked_sub(1)
            .filter(|b| prepared.units[*b].copy == prepared.units[unit].copy);
        for k in 0..self.lists[unit].len() {
            if self.pairs > PAIRS || self.programs >= PROGRAMS {
                return None;
            }
            let own = &self.lists[unit][k];
            let stands = (0..unit).all(|u| {
                let other = &self.lists[u][self.picked[u]];
                other.turn != own.turn
                    && (own.tiling.partial.is_empty()
                        || cover.offer.stand_together(other.tiling, own.tiling))
            });
            if !stands {
                continue;
            }
            self.pairs += 1;
            let fits = below.is_none_or(|b| {
                let reach = [b, unit].map(|u| prepared.shapes[prepared.units[u].shape].reach);
                let lap = prepared.task.seams.limits.min_lap;
                order::can_lap(
                    &self.runs[b][self.picked[b]],
                    &self.runs[unit][k],
                    reach,
                    lap,
                )
            });
            if fits {
                self.picked[unit] = k;
                if let Some(found) = self.pick(unit + 1) {
                    return Some(found);
                }
            }
        }
        None
    }
}

/// What guesses may cost: so much of the way from the bound to the best cost. Without a plan to better, so much above the
/// bound, and at last whatever it costs.
fn target(share: f64, best: f64, bound: f64) -> f64 {
    if best.is_finite() {
        (bound + share * (best - bound)).min(best - 1e-6)
    } else if share < 1.0 {
        bound * (1.0 + share)
    } else {
        f64::MAX
    }
}

/// The fewest pieces of the units from each turn on; one more than turns.
fn fewest(cover: &Cover, turns: &[usize]) -> Vec<usize> {
    let mut out = vec![0];
    for g in turns.iter().rev() {
        let least = cover.groups[*g].ways.iter().map(|w| w.fewest).min();
        out.push(out[out.len() - 1] + least.unwrap_or(0));
    }
    out.reverse();
    out
}

/// What the sheets of each class offer, cheapest for their area first.
fn supply(cover: &Cover, prepared: &Prepared<'_>) -> Vec<Vec<Supply>> {
    let mut out: Vec<Vec<Supply>> = vec![Vec::new(); prepared.classes.len()];
    for (k, kind) in cover.offer.kinds.iter().enumerate() {
        let area = cover.offer.usable_of(k);
        if area > 0.0 {
            let n = kind.bins.len();
            out[kind.class].push(Supply {
                kind: k,
                area: area * n as f64,
                price: kind.cost / area,
                single: n == 1,
            });
        }
    }
    for list in &mut out {
        list.sort_by(|a, b| a.price.total_cmp(&b.price).then(a.kind.cmp(&b.kind)));
    }
    out
}

/// Area that the units from each turn on need, by class, at the least: which of a group comes when is open, so each counts as
/// its smallest. One list more than turns.
fn demand(cover: &Cover, prepared: &Prepared<'_>, turns: &[usize]) -> Vec<Vec<f64>> {
    let mut out = vec![vec![0.0; prepared.classes.len()]];
    for g in turns.iter().rev() {
        let group = &cover.groups[*g];
        let area = |u: &usize| -> f64 {
            let layer = &prepared.task.layers[prepared.units[*u].layer];
            layer.shape.iter().map(|r| r.outer().area_mm2()).sum()
        };
        let least = group.units.iter().map(area).fold(f64::INFINITY, f64::min);
        let mut next = out[0].clone();
        next[group.class] += least;
        out.insert(0, next);
    }
    out
}
