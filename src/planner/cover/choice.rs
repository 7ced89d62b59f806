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
//! Sets of ways are bits by number, and what is done with them takes as long as the numbers go. Where a list of a hundred thousand is
//! down to a few thousand, those are numbered anew for everything below (a job of which the first plan came at 21 s has it at 9 s).
//!
//! Tried and left: layers always in one order (where every sheet is needed, as many ways were looked at before the first
//! complete choice as the lists are long, to the power of the layers).

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::nest::seed::Draws;
use crate::planner::clock::Clock;
use crate::planner::cover::alike::Tiling;
use crate::planner::cover::bits::Bits;
use crate::planner::cover::effort::Effort;
use crate::planner::cover::lay::{self, Chosen};
use crate::planner::cover::mask::{Index, Mask};
use crate::planner::cover::order::Ground;
use crate::planner::cover::seat::Kinds;
use crate::planner::cover::supply::Supply;
use crate::planner::cover::{Aim, Cover, Found, Group, Way, level_of};
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth};

/// Words of sets of ways that are gone through in a round, the first time that its level comes; each time twice as many, up
/// to [`NODES`]: no long search in vain keeps the other levels from their turn.
const FIRST_NODES: usize = 250_000_000;
const NODES: usize = 1_000_000_000;
/// The same in a round that looks for fewer pieces.
const TIDY_NODES: usize = 60_000_000;
/// As many words one way counts as whose places must be compared.
const ASKED: usize = 60;
/// The same for one whose parts of a sheet are compared.
const COMPARED: usize = 20;
/// As many words a set of ways taken counts as besides.
const A_NODE: usize = 8000;
/// The same for eight tilings of which is asked whether some order of theirs can lie.
const OF_EIGHT: usize = 4000;
/// As many words numbering a way anew counts as.
const A_WAY: usize = 20;
/// Ways are numbered anew where lists have so many words, and hold no more than one way in so many numbers.
const LONG_LISTS: usize = 100;
const FEW_OF: usize = 8;
/// Complete choices that are laid in a round.
const LEAVES: usize = 40;
/// Guesses that a round brings home.
const GUESSES: usize = 3;
/// Ways of a branch that are gone through, ever more, and the share of the words up to which that goes: one over so much.
const WIDTHS: [(usize, usize); 4] = [(6, 8), (24, 4), (100, 2), (usize::MAX, 1)];
/// Targets between bound and best cost, in turn.
const TARGETS: [f64; 6] = [0.02, 0.08, 0.2, 0.4, 0.7, 1.0];

/// One search through the ways of all units.
pub(super) struct Choice<'a> {
    cover: &'a Cover,
    prepared: &'a Prepared<'a>,
    effort: Effort<'a>,
    /// Words that it may go through.
    words: usize,
    target: f64,
    /// Fewer pieces than so many are looked for.
    below: Option<usize>,
    leaves: usize,
    /// Complete choices that were laid.
    laid: BTreeSet<Vec<(usize, usize)>>,
    /// Of a branch so many ways are gone through, and whether there was one with more.
    width: usize,
    is_cut: bool,
    draws: Draws,
    /// By group: what its units need at the least.
    needs: Vec<Need>,
    /// By group: units that have no way yet.
    left: Vec<usize>,
    /// Groups and ways taken.
    taken: Vec<(usize, usize)>,
    /// By group: the ways that are looked at.
    views: Vec<View<'a>>,
    /// By group and way: what says in which order they are tried.
    keys: Vec<Vec<f64>>,
    supply: Supply,
    spare: Spare,
    out: Vec<(State, Worth)>,
}

/// Ways of a group that are looked at. Of a long list few are left once some were taken: these are numbered anew, for sets of few
/// are short.
#[derive(Clone)]
struct View<'a> {
    /// Their numbers in the group's list; `None` where they are all looked at.
    ways: Option<Vec<u32>>,
    index: Cow<'a, Index>,
    /// Ways that were tried further up.
    tried: Bits,
}

impl<'a> View<'a> {
    fn all(group: &'a Group) -> Self {
        Self {
            ways: None,
            index: Cow::Borrowed(&group.index),
            tried: Bits::none(group.ways.len()),
        }
    }

    /// The ways of a list alone.
    fn of(&self, group: &Group, list: &Bits, kinds: usize) -> View<'static> {
        let ways: Vec<u32> = list.iter().map(|k| self.way(k) as u32).collect();
        let masks: Vec<&Mask> = ways.iter().map(|w| &group.masks[*w as usize]).collect();
        View {
            index: Cow::Owned(Index::new(&masks, kinds)),
            tried: Bits::none(ways.len()),
            ways: Some(ways),
        }
    }

    /// The number of a way in the group's list.
    fn way(&self, k: usize) -> usize {
        self.ways.as_ref().map_or(k, |ways| ways[k] as usize)
    }
}

/// Room that was used and is used again: a search asks for it hundreds of thousands of times.
#[derive(Default)]
struct Spare {
    /// By set of ways taken: the lists of all groups.
    lists: Vec<Vec<Bits>>,
    branches: Vec<Vec<(usize, usize)>>,
    shares: Vec<usize>,
    rows: Vec<usize>,
    places: Vec<(usize, f64)>,
}

/// What one unit of a group needs at the least.
#[derive(Clone, Copy)]
pub(super) struct Need {
    /// Area in mm²: which of a group comes when is open, so each counts as its smallest.
    pub(super) area_mm2: f64,
    /// Pieces.
    pieces: usize,
}

impl<'a> Choice<'a> {
    pub(super) fn new(
        cover: &'a Cover,
        prepared: &'a Prepared<'a>,
        key: [u64; 3],
        Aim { best, bound, below }: Aim,
        clock: Clock<'a>,
    ) -> Self {
        let groups = cover.groups.iter();
        Self {
            target: target(&key, &Aim { best, bound, below }),
            below,
            effort: Effort::new(clock),
            words: below.map_or_else(|| nodes(key[2], cover.needs_all()), |_| TIDY_NODES),
            leaves: 0,
            laid: BTreeSet::new(),
            width: usize::MAX,
            is_cut: false,
            draws: Draws::new([key[0] ^ 0x5eed, key[1], key[2]]),
            needs: groups.clone().map(|g| need(g, prepared)).collect(),
            left: groups.clone().map(|g| g.units.len()).collect(),
            views: groups.map(View::all).collect(),
            keys: Vec::new(),
            taken: Vec::new(),
            supply: Supply::new(&cover.offer, prepared.classes.len()),
            spare: Spare::default(),
            cover,
            prepared,
            out: Vec::new(),
        }
    }

    /// Goes through the ways until the round is spent; `noise` is by how much their order is disturbed. Where lists favour sheets,
    /// the ways that belong together are among the first of them, and so the first few of each branch come before more of them.
    pub(super) fn search(mut self, noise: f64) -> Found {
        for group in &self.cover.groups {
            let draws = &mut self.draws;
            let key = |w: &Way| w.score * (1.0 + noise * draws.unit());
            self.keys.push(group.ways.iter().map(key).collect());
        }
        let groups = self.cover.groups.iter();
        let lists: Vec<Bits> = groups.map(|g| Bits::all(g.ways.len())).collect();
        let words = self.words;
        let few = if self.cover.offer.favours.is_empty() {
            &WIDTHS[WIDTHS.len() - 1..]
        } else {
            &WIDTHS
        };
        for &(width, share) in few {
            (self.width, self.words, self.is_cut) = (width, words / share, false);
            self.choose(&lists, 0.0);
            if self.has_enough() || !self.is_cut && !self.spent() {
                break;
            }
        }
        Found {
            proves_nothing: self.leaves == 0 && !self.is_cut && !self.spent(),
            guesses: self.out,
        }
    }

    /// Whether the round is at its end, however few words were gone through.
    fn has_enough(&self) -> bool {
        self.effort.is_over() || self.leaves >= LEAVES || self.out.len() >= GUESSES
    }

    fn spent(&self) -> bool {
        self.effort.words() > self.words || self.has_enough()
    }

    fn way(&self, (group, way): (usize, usize)) -> &'a Way {
        &self.cover.groups[group].ways[way]
    }

    /// Chooses ways for the units that have none; `lists` holds, by group, what may still be taken.
    fn choose(&mut self, lists: &[Bits], cost: f64) {
        let branch = self.branch(lists, cost);
        self.effort.spend(A_NODE);
        let mut told = 0;
        self.is_cut |= branch.len() > self.width;
        for &(group, k) in branch.iter().take(self.width) {
            if self.spent() {
                break;
            }
            let taken = (group, self.views[group].way(k));
            let way = self.way(taken);
            self.left[group] -= 1;
            self.taken.push(taken);
            let all = if way.uses().partial.is_empty() {
                cost + way.cost
            } else {
                self.cost()
            };
            self.effort.spend(A_NODE / 40);
            if !self.has_too_many() && all + self.least() <= self.target && self.lies(group, way) {
                self.go_on(lists, all);
            }
            self.taken.pop();
            self.left[group] += 1;
            self.views[group].tried.insert(k);
            told += 1;
        }
        for &(group, k) in &branch[..told] {
            self.views[group].tried.remove(k);
        }
        self.spare.branches.push(branch);
    }

    /// Whether a way can lie on the layers of its group.
    fn lies(&mut self, group: usize, way: &Way) -> bool {
        let first = self.cover.groups[group].units[0];
        let on = Ground {
            offer: &self.cover.offer,
            shape: &self.prepared.shapes[self.prepared.units[first].shape],
            runs: way.runs,
            adds: self.cover.adds[first],
        };
        // The same whether it was asked before or not.
        let asked = if way.uses().bound {
            way.tilings.count()
        } else {
            0
        };
        self.effort.spend(OF_EIGHT * asked.div_ceil(8));
        way.tilings.lies(&on)
    }

    /// Lays the ways taken where every unit has one, else chooses on.
    fn go_on(&mut self, lists: &[Bits], cost: f64) {
        if self.left.iter().all(|n| *n == 0) {
            let mut taken = self.taken.clone();
            taken.sort_unstable();
            if !self.laid.insert(taken) {
                return;
            }
            self.leaves += 1;
            let found = self.lay();
            self.out.extend(found);
            return;
        }
        let mut next = self.spare.lists.pop().unwrap_or_default();
        next.resize_with(lists.len(), Bits::default);
        if let Some(n) = self.keep_lists(lists, &mut next) {
            let open = next.iter().zip(&self.left).filter(|(_, left)| **left > 0);
            let words: usize = open.map(|(list, _)| list.words()).sum();
            if words >= LONG_LISTS && n * FEW_OF <= words * 64 {
                self.choose_of_few(&next, cost);
            } else {
                self.choose(&next, cost);
            }
        }
        self.spare.lists.push(next);
    }

    /// The same with the ways that are left numbered anew.
    fn choose_of_few(&mut self, lists: &[Bits], cost: f64) {
        let kinds = self.cover.offer.kinds.len();
        let anew = |(g, list): (usize, &Bits)| {
            if self.left[g] > 0 {
                self.views[g].of(&self.cover.groups[g], list, kinds)
            } else {
                self.views[g].of(&self.cover.groups[g], &Bits::default(), 0)
            }
        };
        let views: Vec<View<'a>> = lists.iter().enumerate().map(anew).collect();
        let few = |v: &View<'_>| Bits::all(v.ways.as_ref().map_or(0, Vec::len));
        let few: Vec<Bits> = views.iter().map(few).collect();
        let ways: usize = views
            .iter()
            .filter_map(|v| v.ways.as_ref())
            .map(Vec::len)
            .sum();
        self.effort.spend(A_WAY * ways);
        let before = std::mem::replace(&mut self.views, views);
        self.choose(&few, cost);
        self.views = before;
    }

    /// The lists without what cannot stand beside the way taken last; how many ways are left, where every group has enough.
    fn keep_lists(&mut self, lists: &[Bits], next: &mut [Bits]) -> Option<usize> {
        let mut all = 0;
        for (group, (list, kept)) in lists.iter().zip(next).enumerate() {
            kept.set_to(list);
            let left = self.left[group];
            if left > 0 {
                self.keep_beside(group, kept);
                let n = kept.len();
                if n < left {
                    return None;
                }
                all += n;
            }
        }
        Some(all)
    }

    /// The ways of which one must be taken now: those that use a sheet which is needed, or those of one group.
    fn branch(&mut self, lists: &[Bits], cost: f64) -> Vec<(usize, usize)> {
        let mut out = self.spare.branches.pop().unwrap_or_default();
        out.clear();
        let open = (0..lists.len()).filter(|g| self.left[*g] > 0);
        let index = |g: usize| &self.views[g].index;
        let Some(fewest) = open.clone().min_by_key(|g| lists[*g].len()) else {
            return out;
        };
        let mut best = (lists[fewest].len(), None);
        for kind in self.needed(cost) {
            let uses = |g: usize| lists[g].common(&index(g).uses[kind]);
            let n = open.clone().map(uses).sum();
            if n < best.0 {
                best = (n, Some(kind));
            }
        }
        match best.1 {
            Some(kind) => {
                for g in open {
                    let uses = lists[g].both(&index(g).uses[kind]);
                    out.extend(uses.map(|k| (g, k)));
                }
            }
            None => out.extend(lists[fewest].iter().map(|k| (fewest, k))),
        }
        let key = |of: &(usize, usize)| self.keys[of.0][self.views[of.0].way(of.1)];
        out.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(key(a).total_cmp(&key(b))).then(a.cmp(b)));
        out
    }

    /// Kinds without which the rest costs too much.
    fn needed(&self, cost: f64) -> Vec<usize> {
        // What the last one needs its list tells.
        if self.left.iter().sum::<usize>() < 2 {
            return Vec::new();
        }
        self.supply
            .needed(&self.demands(), &self.used(), self.target - cost)
    }

    /// What the units without a way need of each class.
    fn demands(&self) -> Vec<f64> {
        (0..self.prepared.classes.len())
            .map(|c| self.demand(c))
            .collect()
    }

    /// Takes from a list what cannot stand beside the way taken last, and what was tried.
    fn keep_beside(&mut self, group: usize, list: &mut Bits) {
        let Some(last) = self.taken.last() else {
            return;
        };
        let groups = &self.cover.groups;
        let view = &self.views[group];
        let (index, masks) = (&view.index, &groups[group].masks);
        let mask = &groups[last.0].masks[last.1];
        list.take_away(&view.tried);
        let mut rows = std::mem::take(&mut self.spare.rows);
        rows.clear();
        let used = (0..self.cover.offer.kinds.len()).filter(|k| mask.kinds.has(*k));
        // What is told by sets first: then there is less to compare.
        let (solid, shared): (Vec<usize>, Vec<usize>) = used.partition(|k| mask.solid.has(*k));
        for &kind in &solid {
            list.take_away(&index.uses[kind]);
        }
        for &kind in &shared {
            list.take_away(&index.solid[kind]);
        }
        let sets = 2 + solid.len() + 2 * shared.len();
        self.effort.spend(sets * list.words());
        let mut shares = std::mem::take(&mut self.spare.shares);
        for kind in shared {
            shares.clear();
            list.gather(&index.uses[kind], &mut shares);
            self.effort.spend(COMPARED * shares.len());
            for &k in &shares {
                let own = &masks[view.way(k)];
                if !own.stands_beside(mask) {
                    list.remove(k);
                } else if own.rows {
                    rows.push(k);
                }
            }
        }
        list.gather(&index.several, &mut rows);
        self.keep_sufficient(group, list, &rows);
        (self.spare.shares, self.spare.rows) = (shares, rows);
    }

    /// Takes from a list those of some ways that ask for more sheets of a kind, or more of a row, than the ways taken leave.
    fn keep_sufficient(&mut self, group: usize, list: &mut Bits, asks: &[usize]) {
        let (group, view) = (&self.cover.groups[group], &self.views[group]);
        if asks.is_empty() {
            return;
        }
        let mut all = std::mem::take(&mut self.spare.places);
        all.clear();
        all.extend(self.places());
        let before = all.len();
        self.effort.spend(ASKED * asks.len());
        for &k in asks {
            all.truncate(before);
            all.extend(&group.ways[view.way(k)].uses().places);
            if !self.cover.offer.suffices(&all) {
                list.remove(k);
            }
        }
        self.spare.places = all;
    }

    /// Whether the ways taken, and the fewest pieces that the rest can have, are too many.
    fn has_too_many(&self) -> bool {
        self.below.is_some_and(|below| {
            let taken: usize = self.taken.iter().map(|t| self.way(*t).tilings.fewest).sum();
            let rest = self.left.iter().zip(&self.needs).map(|(n, g)| n * g.pieces);
            taken + rest.sum::<usize>() >= below
        })
    }

    /// Places of the ways taken.
    fn places(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let places = |t: &(usize, usize)| &self.way(*t).uses().places;
        self.taken.iter().flat_map(places).copied()
    }

    /// What the sheets of the ways taken cost.
    fn cost(&mut self) -> f64 {
        let mut all = std::mem::take(&mut self.spare.places);
        all.clear();
        all.extend(self.places());
        let cost = self.cover.offer.cost(&all);
        self.spare.places = all;
        cost
    }

    /// Kinds of which the ways taken use the one sheet.
    fn used(&self) -> Kinds {
        let kinds = |t: &(usize, usize)| &self.way(*t).uses().kinds;
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
        rest - taken.map(|t| self.way(*t).uses().left).sum::<f64>()
    }

    /// What the units without a way cost at the least: their area on the cheapest sheets that are left.
    fn least(&self) -> f64 {
        self.supply.least(&self.demands(), &self.used())
    }

    /// A guess of the ways taken.
    fn lay(&mut self) -> Option<(State, Worth)> {
        let ways: Vec<&Way> = self.taken.iter().map(|t| self.way(*t)).collect();
        let offer = &self.cover.offer;
        let tilings: Vec<Vec<Tiling>> = ways.iter().map(|w| w.tilings.tilings(offer)).collect();
        let chosen = self.taken.iter().zip(ways).zip(&tilings);
        let taken: Vec<Chosen<'_>> = chosen
            .map(|((t, way), tilings)| Chosen {
                group: t.0,
                runs: way.runs,
                tilings,
            })
            .collect();
        lay::lay(
            self.cover,
            self.prepared,
            &taken,
            &mut self.draws,
            self.below,
        )
    }
}

/// Words that a round may go through; `needs_all` says that no sheet is dear.
fn nodes(round: u64, needs_all: bool) -> usize {
    let of = |round: u64| level_of(round - 1, needs_all);
    let level = of(round.max(1));
    let before = (1..round).filter(|r| of(*r) == level).take(8);
    (FIRST_NODES << before.count()).min(NODES)
}

/// What guesses of a round may cost: so much of the way from the bound to the best cost. Without a plan to better, so much above
/// the bound, and at last whatever it costs.
pub(super) fn target(key: &[u64; 3], aim: &Aim) -> f64 {
    let share = TARGETS[((key[1] + key[2]) % TARGETS.len() as u64) as usize];
    let Aim { best, bound, below } = *aim;
    if below.is_some() {
        best + 1e-9
    } else if best.is_finite() {
        (bound + share * (best - bound)).min(best - 1e-6)
    } else if share < 1.0 {
        bound * (1.0 + share)
    } else {
        f64::MAX
    }
}

/// What one unit of a group needs at the least.
pub(super) fn need(group: &Group, prepared: &Prepared<'_>) -> Need {
    let area = |u: &usize| -> f64 {
        let layer = &prepared.task.layers[prepared.units[*u].layer];
        layer.shape.iter().map(|r| r.area_mm2()).sum()
    };
    let least = group.units.iter().map(area).fold(f64::INFINITY, f64::min);
    Need {
        area_mm2: least,
        pieces: group
            .ways
            .iter()
            .map(|w| w.tilings.fewest)
            .min()
            .unwrap_or(0),
    }
}
