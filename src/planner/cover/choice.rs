//! Ways for all layers together.
//!
//! In: lists of ways, a target. Out: guesses that cost no more. Ways are taken one after the other; what can no longer stand
//! beside those taken (sheets used up) leaves the lists. A branch ends where its cost and what the rest must cost at the least,
//! its area on the cheapest sheets left, exceed the target. Some rounds look for fewer pieces at no more cost: there a branch
//! ends where it has as many as the best plan.
//!
//! Where stock and target are tight, some sheet is needed: without it the rest would cost too much, or find no room. Then one of
//! the ways that use it must be taken, and the sheet with the fewest of them is asked first. Where no sheet is needed, the layers
//! with the fewest ways are asked. Ways that were tried are left out of what comes after them, so that no set is met twice; which
//! layer of one list gets which way is asked when they are laid.
//!
//! Tried and left: layers always in one order (where every sheet is needed, as many ways were looked at before the first
//! complete choice as the lists are long, to the power of the layers).

use crate::nest::seed::Draws;
use crate::planner::clock::Clock;
use crate::planner::cover::bits::Bits;
use crate::planner::cover::lay::{self, Laid};
use crate::planner::cover::order::layings;
use crate::planner::cover::seat::{Kinds, Offer};
use crate::planner::cover::{Aim, Cover, Group, Way, void};
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth};

/// Words of sets of ways that are gone through in a round.
const NODES: usize = 1_000_000_000;
/// The same in a round that looks for fewer pieces.
const TIDY_NODES: usize = 60_000_000;
/// Words after which the clock is looked at.
const A_LOOK: usize = 20_000_000;
/// As many words one way counts as whose places must be compared.
const ASKED: usize = 60;
/// As many words a set of ways taken counts as besides.
const A_NODE: usize = 4000;
/// Complete choices that are laid in a round.
const LEAVES: usize = 40;
/// Layings of one way that are looked at.
const LAYINGS: usize = 160;
/// Guesses that a round brings home.
const GUESSES: usize = 3;
/// Targets between bound and best cost, in turn.
const TARGETS: [f64; 6] = [0.02, 0.08, 0.2, 0.4, 0.7, 1.0];
/// Sheets of a class of which it is asked whether they are needed: the largest.
const ASKED_SHEETS: usize = 24;

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
    nodes: usize,
    leaves: usize,
    draws: Draws,
    /// By group: what its units need at the least.
    needs: Vec<Need>,
    /// By group: units that have no way yet.
    left: Vec<usize>,
    /// Groups and ways taken.
    taken: Vec<(usize, usize)>,
    /// By group: ways that were tried further up.
    tried: Vec<Bits>,
    /// By group and way: what says in which order they are tried.
    keys: Vec<Vec<f64>>,
    /// By class: kinds from the cheapest for their area, with area of all sheets and price.
    supply: Vec<Vec<Supply>>,
    /// By class: kinds of which there is one sheet, the largest first.
    largest: Vec<Vec<usize>>,
    out: Vec<(State, Worth)>,
}

/// What one unit of a group needs at the least.
#[derive(Clone, Copy)]
struct Need {
    /// Area in mm²: which of a group comes when is open, so each counts as its smallest.
    area_mm2: f64,
    /// Pieces.
    pieces: usize,
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
        let share = TARGETS[((key[1] + key[2]) % TARGETS.len() as u64) as usize];
        let groups = cover.groups.iter();
        let supply = supply(cover, prepared);
        Self {
            target: match below {
                Some(_) => best + 1e-9,
                None => target(share, best, bound),
            },
            below,
            clock,
            is_over: false,
            looked: 0,
            nodes: 0,
            leaves: 0,
            draws: Draws::new([key[0] ^ 0x5eed, key[1], key[2]]),
            needs: groups.clone().map(|g| need(g, prepared)).collect(),
            left: groups.clone().map(|g| g.units.len()).collect(),
            tried: groups.map(|g| Bits::none(g.ways.len())).collect(),
            keys: Vec::new(),
            taken: Vec::new(),
            largest: supply.iter().map(|s| largest(s)).collect(),
            supply,
            cover,
            prepared,
            out: Vec::new(),
        }
    }

    /// Goes through the ways until the round is spent; `noise` is by how much their order is disturbed.
    pub(super) fn search(mut self, noise: f64) -> Vec<(State, Worth)> {
        for group in &self.cover.groups {
            let draws = &mut self.draws;
            let key = |w: &Way| w.score * (1.0 + noise * draws.unit());
            self.keys.push(group.ways.iter().map(key).collect());
        }
        let groups = self.cover.groups.iter();
        let lists: Vec<Bits> = groups.map(|g| Bits::all(g.ways.len())).collect();
        self.choose(&lists, 0.0);
        self.out
    }

    fn spent(&self) -> bool {
        let most = self.below.map_or(NODES, |_| TIDY_NODES);
        self.nodes > most || self.is_over || self.leaves >= LEAVES || self.out.len() >= GUESSES
    }

    fn way(&self, (group, way): (usize, usize)) -> &'a Way {
        &self.cover.groups[group].ways[way]
    }

    /// Chooses ways for the units that have none; `lists` holds, by group, what may still be taken.
    fn choose(&mut self, lists: &[Bits], cost: f64) {
        let branch = self.branch(lists, cost);
        self.nodes += A_NODE;
        let mut told = 0;
        for &(group, k) in &branch {
            if self.spent() {
                break;
            }
            let way = self.way((group, k));
            self.left[group] -= 1;
            self.taken.push((group, k));
            let all = if way.first().partial.is_empty() {
                cost + way.cost
            } else {
                self.cover.offer.cost(&self.places())
            };
            self.nodes += A_NODE / 40;
            if !self.has_too_many() && all + self.least() <= self.target {
                self.go_on(lists, all);
            }
            self.taken.pop();
            self.left[group] += 1;
            self.tried[group].insert(k);
            told += 1;
        }
        for &(group, k) in &branch[..told] {
            self.tried[group].remove(k);
        }
    }

    /// Lays the ways taken where every unit has one, else chooses on.
    fn go_on(&mut self, lists: &[Bits], cost: f64) {
        if self.left.iter().all(|n| *n == 0) {
            self.leaves += 1;
            let found = self.lay();
            self.out.extend(found);
            return;
        }
        let mut next = Vec::with_capacity(lists.len());
        for (group, list) in lists.iter().enumerate() {
            let left = self.left[group];
            let mut list = list.clone();
            if left > 0 {
                self.keep_beside(group, &mut list);
                if list.len() < left {
                    return;
                }
            }
            next.push(list);
        }
        self.choose(&next, cost);
    }

    /// The ways of which one must be taken now: those that use a sheet which is needed, or those of one group.
    fn branch(&self, lists: &[Bits], cost: f64) -> Vec<(usize, usize)> {
        let open = (0..lists.len()).filter(|g| self.left[*g] > 0);
        let index = |g: usize| &self.cover.groups[g].index;
        let Some(fewest) = open.clone().min_by_key(|g| lists[*g].len()) else {
            return Vec::new();
        };
        let mut best = (lists[fewest].len(), None);
        for kind in self.needed(cost) {
            let uses = |g: usize| lists[g].common(&index(g).uses[kind]);
            let n = open.clone().map(uses).sum();
            if n < best.0 {
                best = (n, Some(kind));
            }
        }
        let mut out: Vec<(usize, usize)> = Vec::with_capacity(best.0);
        match best.1 {
            Some(kind) => {
                for g in open {
                    let uses = lists[g].both(&index(g).uses[kind]);
                    out.extend(uses.map(|k| (g, k)));
                }
            }
            None => out.extend(lists[fewest].iter().map(|k| (fewest, k))),
        }
        let key = |of: &(usize, usize)| self.keys[of.0][of.1];
        out.sort_by(|a, b| a.0.cmp(&b.0).then(key(a).total_cmp(&key(b))).then(a.cmp(b)));
        out
    }

    /// Kinds without which the rest costs too much.
    fn needed(&self, cost: f64) -> Vec<usize> {
        // What the last one needs its list tells.
        if self.left.iter().sum::<usize>() < 2 {
            return Vec::new();
        }
        let used = self.used();
        let classes = 0..self.supply.len();
        let demands: Vec<f64> = classes.clone().map(|c| self.demand(c)).collect();
        let costs: Vec<f64> = classes
            .map(|c| self.least_of(c, demands[c], &used, None))
            .collect();
        let all = cost + costs.iter().sum::<f64>();
        let mut out = Vec::new();
        for (class, kinds) in self.largest.iter().enumerate() {
            if demands[class] <= 0.0 {
                continue;
            }
            let unused = kinds.iter().copied().filter(|k| !used.has(*k));
            out.extend(unused.take(ASKED_SHEETS).filter(|k| {
                let without = self.least_of(class, demands[class], &used, Some(*k));
                all - costs[class] + without > self.target
            }));
        }
        out
    }

    /// Takes from a list what cannot stand beside the way taken last, and what was tried.
    fn keep_beside(&mut self, group: usize, list: &mut Bits) {
        let Some(last) = self.taken.last() else {
            return;
        };
        let groups = &self.cover.groups;
        let (index, masks) = (&groups[group].index, &groups[group].masks);
        let mask = &groups[last.0].masks[last.1];
        list.take_away(&self.tried[group]);
        let mut sets = 2;
        let mut rows: Vec<usize> = Vec::new();
        for kind in (0..self.cover.offer.kinds.len()).filter(|k| mask.kinds.has(*k)) {
            sets += 1;
            if mask.solid.has(kind) {
                list.take_away(&index.uses[kind]);
                continue;
            }
            list.take_away(&index.solid[kind]);
            let shares: Vec<usize> = list.both(&index.uses[kind]).collect();
            for k in shares {
                sets += 1;
                if !masks[k].stands_beside(mask) {
                    list.remove(k);
                } else if masks[k].rows {
                    rows.push(k);
                }
            }
        }
        self.nodes += sets * list.words();
        rows.extend(list.both(&index.several));
        self.keep_sufficient(group, list, &rows);
        if self.nodes - self.looked > A_LOOK {
            self.looked = self.nodes;
            self.is_over = self.clock.is_over();
        }
    }

    /// Takes from a list those of some ways that ask for more sheets of a kind, or more of a row, than the ways taken leave.
    fn keep_sufficient(&mut self, group: usize, list: &mut Bits, asks: &[usize]) {
        let group = &self.cover.groups[group];
        if asks.is_empty() {
            return;
        }
        let before = self.places();
        let mut all: Vec<(usize, f64)> = Vec::new();
        self.nodes += ASKED * asks.len();
        for &k in asks {
            all.clone_from(&before);
            all.extend(&group.ways[k].first().places);
            if !self.cover.offer.suffices(&all) {
                list.remove(k);
            }
        }
    }

    /// Whether the ways taken, and the fewest pieces that the rest can have, are too many.
    fn has_too_many(&self) -> bool {
        self.below.is_some_and(|below| {
            let taken: usize = self.taken.iter().map(|t| self.way(*t).fewest).sum();
            let rest = self.left.iter().zip(&self.needs).map(|(n, g)| n * g.pieces);
            taken + rest.sum::<usize>() >= below
        })
    }

    /// Places of the ways taken.
    fn places(&self) -> Vec<(usize, f64)> {
        let places = |t: &(usize, usize)| &self.way(*t).first().places;
        self.taken.iter().flat_map(places).copied().collect()
    }

    /// Kinds of which the ways taken use the one sheet.
    fn used(&self) -> Kinds {
        let kinds = |t: &(usize, usize)| &self.way(*t).first().kinds;
        let taken = self.taken.iter().map(kinds);
        taken.fold(Kinds::default(), |all, k| all.or(k))
    }

    /// Area in mm² that the units without a way need of a class. What is left of sheets of which a part was taken costs
    /// nothing more.
    fn demand(&self, class: usize) -> f64 {
        let groups = &self.cover.groups;
        let rest: f64 = (0..groups.len())
            .filter(|g| groups[*g].class == class)
            .map(|g| self.left[g] as f64 * self.needs[g].area_mm2)
            .sum();
        let taken = self.taken.iter().filter(|t| groups[t.0].class == class);
        rest - taken.map(|t| self.way(*t).first().left).sum::<f64>()
    }

    /// What the units without a way cost at the least: their area on the cheapest sheets that are left.
    fn least(&self) -> f64 {
        let used = self.used();
        let classes = 0..self.supply.len();
        classes
            .map(|c| self.least_of(c, self.demand(c), &used, None))
            .sum()
    }

    /// The same of one class, without one kind.
    fn least_of(&self, class: usize, demand: f64, used: &Kinds, without: Option<usize>) -> f64 {
        let mut cost = 0.0;
        let mut rest = demand;
        for s in &self.supply[class] {
            if rest <= 0.0 {
                break;
            }
            if s.single && used.has(s.kind) || without == Some(s.kind) {
                continue;
            }
            cost += s.area.min(rest) * s.price;
            rest -= s.area;
        }
        if rest > 1e-6 * demand.max(1.0) {
            return f64::INFINITY;
        }
        cost
    }

    /// A guess of the ways taken.
    fn lay(&mut self) -> Option<(State, Worth)> {
        let cover = self.cover;
        let mut lists: Vec<Vec<Laid<'a>>> = vec![Vec::new(); self.prepared.units.len()];
        for (turn, t) in self.taken.iter().enumerate() {
            let way = self.way(*t);
            for unit in &cover.groups[t.0].units {
                let shape = &self.prepared.shapes[self.prepared.units[*unit].shape];
                let adds = cover.adds[*unit];
                for tiling in &way.tilings {
                    let found = layings(shape, tiling, way.runs, adds, &mut self.draws, LAYINGS);
                    let found = found
                        .into_iter()
                        .filter(|l| void::can_keep(&cover.offer, l, adds));
                    lists[*unit].extend(found.map(|laying| Laid {
                        turn,
                        tiling,
                        laying,
                    }));
                }
            }
        }
        lay::picked(cover, self.prepared, lists, self.below)
    }
}

/// The sheets of a way, or of several, for quick comparisons.
#[derive(Clone, Debug, Default)]
pub(super) struct Mask {
    /// Kinds of which there is one sheet.
    kinds: Kinds,
    /// Those of them that have no other place to offer.
    solid: Kinds,
    /// Of the others the mode that is used, and which of its boxes: kind, mode, a bit for each.
    parts: Vec<(u32, u32, u32)>,
    /// Whether kinds of several sheets are used, of which there must be enough.
    several: bool,
    /// Whether pieces share the length of a box, which must suffice.
    rows: bool,
}

/// Which ways of a group use what.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    /// By kind of which there is one sheet: ways that use it.
    uses: Vec<Bits>,
    /// Those that leave no place on it.
    solid: Vec<Bits>,
    /// Ways that use kinds of several sheets.
    several: Bits,
}

impl Index {
    pub(super) fn new(masks: &[Mask], kinds: usize) -> Self {
        let of = |has: &dyn Fn(&Mask) -> bool| {
            let mut bits = Bits::none(masks.len());
            let all = masks.iter().enumerate().filter(|(_, m)| has(m));
            all.for_each(|(k, _)| bits.insert(k));
            bits
        };
        let kinds = 0..kinds;
        Self {
            uses: kinds.clone().map(|k| of(&|m| m.kinds.has(k))).collect(),
            solid: kinds.map(|k| of(&|m| m.solid.has(k))).collect(),
            several: of(&|m| m.several),
        }
    }
}

impl Mask {
    pub(super) fn new(offer: &Offer, way: &Way) -> Self {
        let tiling = way.first();
        let places = tiling.partial.iter().map(|p| &offer.places[*p]);
        let mut out = Self {
            kinds: tiling.kinds,
            solid: tiling.solid,
            parts: Vec::new(),
            several: tiling.several,
            rows: places.clone().any(|p| p.parted.is_some()),
        };
        for p in places {
            // Pieces in a row share a box: how many there may be is asked.
            let bit = if p.parted.is_some() { 0 } else { 1 << p.part };
            out.add_part((p.kind as u32, p.mode as u32, bit));
        }
        out
    }

    fn add_part(&mut self, part: (u32, u32, u32)) {
        match self.parts.iter_mut().find(|q| q.0 == part.0) {
            Some(known) => known.2 |= part.2,
            None => self.parts.push(part),
        }
    }

    /// Whether it uses no sheet whole that the other uses, and of one that is used in parts other boxes of the same mode.
    fn stands_beside(&self, other: &Self) -> bool {
        !self.kinds.meets(&other.kinds)
            || !self.solid.meets(&other.kinds)
                && !other.solid.meets(&self.kinds)
                && self.parts.iter().all(|p| {
                    let known = other.parts.iter().find(|q| q.0 == p.0);
                    known.is_none_or(|q| q.1 == p.1 && q.2 & p.2 == 0)
                })
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

/// Kinds of which there is one sheet, the largest first.
fn largest(supply: &[Supply]) -> Vec<usize> {
    let mut single: Vec<&Supply> = supply.iter().filter(|s| s.single).collect();
    single.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.kind.cmp(&b.kind)));
    single.iter().map(|s| s.kind).collect()
}

/// What one unit of a group needs at the least.
fn need(group: &Group, prepared: &Prepared<'_>) -> Need {
    let area = |u: &usize| -> f64 {
        let layer = &prepared.task.layers[prepared.units[*u].layer];
        layer.shape.iter().map(|r| r.area_mm2()).sum()
    };
    let least = group.units.iter().map(area).fold(f64::INFINITY, f64::min);
    Need {
        area_mm2: least,
        pieces: group.ways.iter().map(|w| w.fewest).min().unwrap_or(0),
    }
}
