//! Columns of all layers together, one after the other, where some sheet is needed.
//!
//! In: the columns of every group of layers, both ways; a target. Out: guesses that cost no more.
//!
//! A layer of eight pieces has more ways than any list holds, but its columns are few. So columns are taken as ways are in
//! `choice`: where stock and target are tight, a sheet is *needed*, and one of the columns that use it must be taken by some
//! layer; a layer that was begun must be filled, and few columns are as wide as what is left of it. What has the fewest
//! columns is asked first. A branch ends where its cost and what the rest costs at the least exceed the target.
//!
//! Columns of a layer are sorted by width, so that those as wide as what is left are neighbours. Layers of one group that are
//! not begun are alike: the first stands for all.
//!
//! Where no sheet is needed (stock in plenty) there is nothing to begin with, and `choice` does better.

use std::sync::Arc;

use crate::model::cutter::Axis;
use crate::nest::seed::Draws;
use crate::planner::clock::Clock;
use crate::planner::cover::abreast::has_order;
use crate::planner::cover::alike::{Tiling, tiling_of};
use crate::planner::cover::bits::Bits;
use crate::planner::cover::choice::{need, target};
use crate::planner::cover::column::{Column, EPS};
use crate::planner::cover::effort::Effort;
use crate::planner::cover::lay::{self, Chosen};
use crate::planner::cover::mask::Mask;
use crate::planner::cover::order::{Adds, Ground, Laying, some_layings};
use crate::planner::cover::seat::Kinds;
use crate::planner::cover::strips::Strips;
use crate::planner::cover::supply::Supply;
use crate::planner::cover::{Aim, Cover, slide};
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth};

/// Words of sets of columns that are gone through in a round.
const NODES: usize = 400_000_000;
/// As many words one step counts as besides.
const A_NODE: usize = 3000;
/// The same for a layer that is filled, and for a linear program.
const A_FILLED: usize = 100_000;
/// Orders of layers that are looked at to tell whether pieces fit their sheets.
const ORDERS: usize = 3;
/// The same beside voids, where few orders have what they must keep.
const BOUND_ORDERS: usize = 24;
/// Times that a round begins anew, with columns in another order: what the first few columns rule out shows late.
const STARTS: usize = 4;
/// By what share what columns lose is then disturbed.
const NOISE: f64 = 1.0;
/// Complete choices that are laid after one start.
const LEAVES: usize = 24;
/// Guesses that a round brings home.
const GUESSES: usize = 3;
/// Layers beyond which nothing is looked for.
const MOST_UNITS: usize = 16;
/// Columns of a layer that share a width.
const MOST_FREE: usize = 2;

/// A layer being filled.
#[derive(Clone)]
struct Unit {
    group: usize,
    /// Which way its through seams run: the number of its strips; `None` where it is not begun.
    runs: Option<usize>,
    columns: Vec<usize>,
    /// Of its columns, those that share a width aside.
    width: f64,
    /// How many share a width, and what they can be together.
    free: (usize, f64),
    /// The places of its pieces, with what parted ones must give at the least.
    places: Vec<(usize, f64)>,
    /// How it is filled, where it is full.
    filled: Option<Arc<Filled>>,
    /// What it may still take, by strips.
    lists: [Bits; 2],
}

/// A layer that is full.
struct Filled {
    /// One tiling.
    tilings: [Tiling; 1],
    /// Its orders, as many as are looked at to tell whether pieces fit their sheets.
    layings: Vec<Laying>,
}

/// A column that a layer may take: the layer, which strips, the column.
type Candidate = (usize, usize, usize);

/// One search through the columns of all layers.
pub(super) struct Weave<'a> {
    cover: &'a Cover,
    prepared: &'a Prepared<'a>,
    effort: Effort<'a>,
    target: f64,
    below: Option<usize>,
    /// At how many words spent this start ends.
    until: usize,
    leaves: usize,
    draws: Draws,
    supply: Supply,
    /// By group: area in mm² of its smallest layer.
    areas: Vec<f64>,
    /// By group, strips and column: what says in which order they are tried.
    keys: Vec<[Vec<f64>; 2]>,
    out: Vec<(State, Worth)>,
}

impl<'a> Weave<'a> {
    pub(super) fn new(
        cover: &'a Cover,
        prepared: &'a Prepared<'a>,
        key: [u64; 3],
        aim: Aim,
        clock: Clock<'a>,
    ) -> Self {
        let areas = cover.groups.iter().map(|g| need(g, prepared).area_mm2);
        Self {
            target: target(&key, &aim),
            below: aim.below,
            effort: Effort::new(clock),
            until: 0,
            leaves: 0,
            draws: Draws::new([key[0] ^ 0x3ea7e, key[1], key[2]]),
            supply: Supply::new(&cover.offer, prepared.classes.len()),
            areas: areas.collect(),
            keys: Vec::new(),
            out: Vec::new(),
            cover,
            prepared,
        }
    }

    /// Goes through the columns until the round is spent; `noise` is by how much their order is disturbed.
    pub(super) fn search(mut self, noise: f64) -> Vec<(State, Worth)> {
        let groups = self.cover.groups.iter().enumerate();
        let units: Vec<Unit> = groups
            .flat_map(|(g, group)| {
                group.units.iter().map(move |_| Unit {
                    group: g,
                    runs: None,
                    columns: Vec::new(),
                    width: 0.0,
                    free: (0, 0.0),
                    places: Vec::new(),
                    filled: None,
                    lists: [0, 1].map(|s| Bits::all(group.strips[s].columns.len())),
                })
            })
            .collect();
        if units.len() > MOST_UNITS || self.needed(&units, 0.0).is_empty() {
            return self.out;
        }
        for start in 0..STARTS {
            self.draw_keys(if start == 0 { noise } else { NOISE });
            self.until = self.effort.words() + NODES / STARTS;
            self.leaves = 0;
            self.weave(units.clone(), 0.0);
            // What was not stopped has seen everything.
            if !self.spent() || self.effort.is_over() || self.out.len() >= GUESSES {
                break;
            }
        }
        self.out
    }

    /// Draws in which order columns are tried.
    fn draw_keys(&mut self, noise: f64) {
        self.keys.clear();
        for group in &self.cover.groups {
            let draws = &mut self.draws;
            self.keys.push([0, 1].map(|s| {
                let columns = group.strips[s].columns.iter();
                let key = |c: &Column| c.lost * (1.0 + noise * draws.unit());
                columns.map(key).collect()
            }));
        }
    }

    fn spent(&self) -> bool {
        self.effort.words() > self.until
            || self.effort.is_over()
            || self.leaves >= LEAVES
            || self.out.len() >= GUESSES
    }

    fn strips(&self, group: usize, runs: usize) -> &'a Strips {
        &self.cover.groups[group].strips[runs]
    }

    /// Takes columns for the layers that are not full, given what the sheets used cost.
    fn weave(&mut self, mut units: Vec<Unit>, cost: f64) {
        self.effort.spend(A_NODE);
        if units.iter().all(|u| u.filled.is_some()) {
            self.leaves += 1;
            let found = self.lay(&units);
            self.out.extend(found);
            return;
        }
        for (u, s, c) in self.branch(&units, cost) {
            if self.spent() {
                return;
            }
            self.take(&units, (u, s, c));
            // Whatever comes after does without it.
            let (group, begun) = (units[u].group, units[u].runs.is_some());
            let alike = |other: &Unit| other.group == group && other.runs.is_none();
            let rest = units.iter_mut().enumerate();
            let rest = rest.filter(|(k, other)| *k == u || !begun && alike(other));
            rest.for_each(|(_, other)| other.lists[s].remove(c));
        }
    }

    /// Takes one column, and goes on.
    fn take(&mut self, units: &[Unit], (u, s, c): Candidate) {
        let strips = self.strips(units[u].group, s);
        let mask = &strips.masks[c];
        let mut next = units.to_vec();
        let unit = &mut next[u];
        unit.places.extend(&strips.places[c]);
        unit.runs = Some(s);
        unit.lists[1 - s] = Bits::none(0);
        unit.columns.push(c);
        let (column, field) = (&strips.columns[c], &strips.field);
        if column.free {
            unit.free = (unit.free.0 + 1, unit.free.1 + column.width);
        } else {
            unit.width += column.width;
        }
        let n = unit.columns.len();
        let rest = field.need(field.across, n) - unit.width;
        let (free, wide) = unit.free;
        let shared = free as f64 * field.least;
        let can_end = if free > 0 {
            rest <= wide + EPS && rest >= shared
        } else {
            rest <= EPS
        };
        let goes_on = rest + field.add - shared >= field.least && n < field.most();
        let all = places_of(&next);
        if (mask.several || mask.rows) && !self.cover.offer.suffices(&all) {
            return;
        }
        let cost = self.cover.offer.cost(&all);
        for full in [true, false] {
            if full && !can_end || !full && !goes_on {
                continue;
            }
            let mut next = next.clone();
            if full {
                let unit = &mut next[u];
                let Some(filled) = self.filled(unit, s) else {
                    continue;
                };
                unit.places.clone_from(&filled.tilings[0].uses.places);
                unit.filled = Some(Arc::new(filled));
                unit.lists = [Bits::none(0), Bits::none(0)];
                if !self.can_share(&next) {
                    continue;
                }
            }
            if cost + self.least(&next) > self.target {
                continue;
            }
            self.keep_beside(&mut next, mask);
            self.weave(next, cost);
        }
    }

    /// Takes from all lists what cannot stand beside a column.
    fn keep_beside(&mut self, units: &mut [Unit], mask: &Mask) {
        let kinds: Vec<usize> = (0..self.cover.offer.kinds.len())
            .filter(|k| mask.kinds.has(*k))
            .collect();
        for unit in units.iter_mut().filter(|u| u.filled.is_none()) {
            for s in 0..2 {
                if unit.runs.is_some_and(|r| r != s) {
                    continue;
                }
                let strips = self.strips(unit.group, s);
                let list = &mut unit.lists[s];
                for kind in &kinds {
                    self.effort.spend(2 * list.words());
                    if mask.solid.has(*kind) {
                        list.take_away(&strips.index.uses[*kind]);
                        continue;
                    }
                    list.take_away(&strips.index.solid[*kind]);
                    let shares: Vec<usize> = list.both(&strips.index.uses[*kind]).collect();
                    let beside = |k: &usize| strips.masks[*k].stands_beside(mask);
                    let gone = shares.into_iter().filter(|k| !beside(k));
                    gone.for_each(|k| list.remove(k));
                }
            }
        }
    }

    /// The columns of which one must be taken now: those that use a needed sheet, or that a layer which was begun can take.
    fn branch(&mut self, units: &[Unit], cost: f64) -> Vec<Candidate> {
        let mut best: Option<Vec<Candidate>> = None;
        let begun = |u: &&Unit| u.runs.is_some() && u.filled.is_none();
        for (u, unit) in units.iter().enumerate().filter(|(_, u)| begun(u)) {
            let s = unit.runs.unwrap_or(0);
            let found = self.fillers(unit, s);
            self.effort.spend(found.len());
            if best.as_ref().is_none_or(|b| found.len() < b.len()) {
                best = Some(found.into_iter().map(|c| (u, s, c)).collect());
            }
        }
        let firsts: Vec<usize> = (0..units.len())
            .filter(|u| units[*u].filled.is_none() && is_first(units, *u))
            .collect();
        for kind in self.needed(units, cost) {
            let most = best.as_ref().map_or(usize::MAX, Vec::len);
            let found = self.users(units, &firsts, kind, most);
            if found.len() < most {
                best = Some(found);
            }
        }
        let mut out = best.unwrap_or_default();
        let key = |of: &Candidate| self.keys[units[of.0].group][of.1][of.2];
        out.sort_by(|a, b| key(a).total_cmp(&key(b)).then(a.cmp(b)));
        out
    }

    /// The columns that fit into what is left of a layer.
    fn fillers(&self, unit: &Unit, s: usize) -> Vec<usize> {
        let strips = self.strips(unit.group, s);
        let field = &strips.field;
        let list = &unit.lists[s];
        let n = unit.columns.len() + 1;
        let rest = field.need(field.across, n) - unit.width;
        let (free, wide) = unit.free;
        let mut out = Vec::new();
        let mut add = |low: f64, high: f64| {
            let (low, high) = strips.between(low, high);
            out.extend(list.within(low, high).filter(|c| !strips.free.has(*c)));
        };
        let most = if free > 0 {
            rest - free as f64 * field.least
        } else {
            rest - EPS
        };
        // What fills the layer, and what leaves room for more.
        let after = if n < field.most() {
            rest + field.add - (free + 1) as f64 * field.least
        } else {
            f64::NEG_INFINITY
        };
        if free > 0 {
            let least = if n < field.most() { 0.0 } else { rest - wide };
            add(least, most);
        } else {
            add(0.0, after.min(rest - EPS));
            add(rest - EPS, rest + field.near * n as f64);
        }
        if free < MOST_FREE {
            let able = |c: &usize| n < field.most() || strips.columns[*c].width + wide >= rest;
            out.extend(list.both(&strips.free).filter(able));
        }
        out
    }

    /// The columns that use a sheet; no more than told are looked for.
    fn users(
        &mut self,
        units: &[Unit],
        firsts: &[usize],
        kind: usize,
        most: usize,
    ) -> Vec<Candidate> {
        let mut out = Vec::new();
        for &u in firsts {
            for s in 0..2 {
                let unit = &units[u];
                if unit.runs.is_some_and(|r| r != s) {
                    continue;
                }
                let strips = self.strips(unit.group, s);
                let uses = &strips.index.uses[kind];
                self.effort.spend(unit.lists[s].words());
                match unit.runs {
                    None => out.extend(unit.lists[s].both(uses).map(|c| (u, s, c))),
                    Some(_) => {
                        let fits = self.fillers(unit, s).into_iter();
                        out.extend(fits.filter(|c| uses.has(*c)).map(|c| (u, s, c)));
                    }
                }
                if out.len() >= most {
                    return out;
                }
            }
        }
        out
    }

    /// Kinds without which the rest costs too much.
    fn needed(&self, units: &[Unit], cost: f64) -> Vec<usize> {
        let places = places_of(units);
        let used = self.used(&places);
        self.supply
            .needed(&self.demands(units, &places), &used, self.target - cost)
    }

    /// What layers that are not full cost more at the least.
    fn least(&self, units: &[Unit]) -> f64 {
        let places = places_of(units);
        self.supply
            .least(&self.demands(units, &places), &self.used(&places))
    }

    /// Kinds of which the one sheet is used.
    fn used(&self, places: &[(usize, f64)]) -> Kinds {
        let offer = &self.cover.offer;
        let single = |k: &usize| offer.kinds[*k].bins.len() == 1;
        let kinds = places.iter().map(|p| offer.places[p.0].kind);
        kinds.filter(single).fold(Kinds::default(), Kinds::with)
    }

    /// Area in mm², by class, that layers still need beyond what is left of sheets of which a part was taken.
    fn demands(&self, units: &[Unit], places: &[(usize, f64)]) -> Vec<f64> {
        let mut out = vec![0.0; self.prepared.classes.len()];
        for unit in units.iter().filter(|u| u.filled.is_none()) {
            let group = &self.cover.groups[unit.group];
            let taken = unit.runs.map_or(0.0, |s| {
                let field = &group.strips[s].field;
                let free = unit.free.1;
                (unit.width + free) * field.along
            });
            out[group.class] += (self.areas[unit.group] - taken).max(0.0);
        }
        let offer = &self.cover.offer;
        let mut left: Vec<(usize, f64)> = Vec::new();
        for (p, need) in places {
            let place = &offer.places[*p];
            if place.parts < 2 || offer.kinds[place.kind].bins.len() > 1 {
                continue;
            }
            let taken = match place.parted {
                Some(Axis::X) => need * place.window.depth(),
                Some(Axis::Y) => need * place.window.width(),
                None => place.window.width() * place.window.depth() - offer.over(place.kind) / 2.0,
            };
            match left.iter_mut().find(|l| l.0 == place.kind) {
                Some(l) => l.1 -= taken,
                None => left.push((place.kind, offer.usable_of(place.kind) - taken)),
            }
        }
        for (kind, area) in left {
            out[offer.kinds[kind].class] -= area.max(0.0);
        }
        out
    }

    /// A layer all of whose columns are there; `None` where they have no order with legal seams.
    fn filled(&mut self, unit: &Unit, s: usize) -> Option<Filled> {
        let strips = self.strips(unit.group, s);
        let columns: Vec<&Column> = unit.columns.iter().map(|c| &strips.columns[*c]).collect();
        if !has_order(columns.iter().copied(), strips.field.across) {
            return None;
        }
        let tiling = tiling_of(&self.cover.offer, strips.field, &columns)?;
        let first = self.cover.groups[unit.group].units[0];
        let shape = &self.prepared.shapes[self.prepared.units[first].shape];
        let adds = self.cover.adds[first];
        let on = Ground {
            offer: &self.cover.offer,
            shape,
            runs: strips.runs,
            adds,
        };
        self.effort.spend(A_FILLED);
        let found = if columns.iter().any(|c| c.is_bound()) {
            let orders = some_layings(&on, &tiling, &mut self.draws, BOUND_ORDERS);
            let fits = |l: &Laying| {
                self.effort.spend(A_FILLED);
                slide::fits_sheets(&self.cover.offer, &[l], &[adds])
            };
            orders.into_iter().filter(fits).take(ORDERS).collect()
        } else {
            some_layings(&on, &tiling, &mut self.draws, ORDERS)
        };
        (!found.is_empty()).then_some(Filled {
            tilings: [tiling],
            layings: found,
        })
    }

    /// Whether what full layers use of the same sheets suffices, and the seams can lie so that all pieces find room.
    fn can_share(&mut self, units: &[Unit]) -> bool {
        let offer = &self.cover.offer;
        let full: Vec<&Unit> = units.iter().filter(|u| u.filled.is_some()).collect();
        let places: Vec<(usize, f64)> = full.iter().flat_map(|u| &u.places).copied().collect();
        let shares = |p: &(usize, f64)| {
            let place = &offer.places[p.0];
            place.parted.is_some() || place.share.is_some()
        };
        if !places.iter().any(shares) {
            return true;
        }
        let adds: Vec<Adds> = full
            .iter()
            .map(|u| self.cover.adds[self.cover.groups[u.group].units[0]])
            .collect();
        self.effort.spend(ORDERS * A_FILLED);
        offer.suffices(&places_of(units))
            && (0..ORDERS).any(|k| {
                let layings: Vec<&Laying> = full
                    .iter()
                    .filter_map(|u| u.filled.as_ref())
                    .map(|f| &f.layings[k % f.layings.len()])
                    .collect();
                slide::fits_sheets(offer, &layings, &adds)
            })
    }

    /// A guess of full layers.
    fn lay(&mut self, units: &[Unit]) -> Option<(State, Worth)> {
        let filled: Vec<&Filled> = units.iter().filter_map(|u| u.filled.as_deref()).collect();
        let pieces: usize = filled.iter().map(|f| f.tilings[0].uses.pieces).sum();
        if self.below.is_some_and(|below| pieces >= below) {
            return None;
        }
        let chosen: Vec<Chosen<'_>> = units
            .iter()
            .zip(&filled)
            .map(|(unit, filled)| Chosen {
                group: unit.group,
                runs: filled.layings[0].runs,
                tilings: &filled.tilings,
            })
            .collect();
        lay::lay(
            self.cover,
            self.prepared,
            &chosen,
            &mut self.draws,
            self.below,
        )
    }
}

/// The places of all pieces so far.
fn places_of(units: &[Unit]) -> Vec<(usize, f64)> {
    units.iter().flat_map(|u| &u.places).copied().collect()
}

/// Whether a layer is begun, or the first of those of its group that are not.
fn is_first(units: &[Unit], u: usize) -> bool {
    let unit = &units[u];
    let alike = |other: &Unit| other.group == unit.group && other.runs.is_none();
    unit.runs.is_some() || !units[..u].iter().any(alike)
}
