//! Seams and stock as one problem: what sheets can give is laid on the layers, and seams run where windows meet.
//!
//! In: the task made ready. Out: guesses whose pieces fill windows on purpose, not by chance.
//!
//! 1. `seat`: what each sheet offers: clear boxes, alone or together (`mode`), and, beside corners (`void`) and holes (`hole`,
//!    `disc`) that a layer lacks, more than those.
//! 2. `column`, `anchor`, `step` and `tiling`: for every layer the *ways* to cover it by columns of windows, least waste first; `row`
//!    knows which columns can stand side by side.
//!    Where no sheet is dear one list *favours* sheets that the others use too seldom (`favour`).
//! 3. `choice`: ways of all layers are taken together, no sheet twice, while the cost stays below a target that rises from
//!    the bound towards the best plan so far. In some rounds `weave` takes columns one by one instead, where sheets are needed.
//! 4. `order` and `lay`: orders of columns and pieces in which every seam has a legal interval and neighbouring layers can keep
//!    the lap.
//! 5. `slide`: a linear program settles the positions; `settle` makes a guess of them.
//! 6. The guess is certified as any other.
//!
//! Lists of ways depend on the task alone; what a round looks at depends on seed, lane and round. Layers of one outline,
//! class and way of turning share one list.
//!
//! Tried and left: one list that holds every tiling (of a sheet with a slanted edge or a defect there are thousands that use
//! the same sheets, and those that matter were crowded out; now a few of each set of sheets are kept); sorting a list anew in
//! every branch (twenty times slower than leaving out what cannot stand beside the ways taken); ways of the same sheets as one
//! whatever boxes of a sheet they use (of two layers that share a sheet each then stood for boxes that exclude each other);
//! columns one by one alone where every sheet is needed (of 15 sheets with tips and spoiled edges the first wrong column was never
//! left; the sets of sheets that cover one layer were 80,000 at the most, and two that go together are soon found).

mod abreast;
mod alike;
mod anchor;
mod bits;
mod choice;
mod column;
pub(crate) mod disc;
mod effort;
mod favour;
pub(crate) mod hole;
mod lay;
mod mask;
mod mode;
mod order;
mod place;
mod row;
pub(crate) mod seat;
mod settle;
mod slide;
mod step;
mod strips;
mod supply;
mod tiling;
pub(crate) mod void;
mod weave;

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use crate::model::cutter::{Axis, Turns};
use crate::parallel::map_in_order;
use crate::planner::clock::Clock;
use crate::planner::cover::alike::{Alike, Uses};
use crate::planner::cover::anchor::Beside;
use crate::planner::cover::choice::{Choice, target};
use crate::planner::cover::column::{Column, Field, columns};
use crate::planner::cover::mask::{Index, Mask};
use crate::planner::cover::order::Adds;
use crate::planner::cover::seat::{FILL, Offer, Seat};
use crate::planner::cover::strips::Strips;
use crate::planner::cover::tiling::{QUICK, Reach, THOROUGH, tilings};
use crate::planner::cover::weave::Weave;
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth};

/// How lists of ways are made, the quick ones first.
const LEVELS: [Level; 10] = [
    Level {
        caps: &[0.03, 0.06, 0.1, 0.16, 0.25],
        enough: 8000,
        gives: 0,
        most: 24_000,
        near: f64::INFINITY,
        woven: false,
        reach: QUICK,
        fill: FILL,
    },
    Level {
        caps: &[0.06, 0.12],
        enough: 16_000,
        gives: 2,
        most: 24_000,
        near: f64::INFINITY,
        woven: false,
        reach: QUICK,
        fill: 0.0,
    },
    Level {
        caps: &[0.12],
        enough: 0,
        gives: 4,
        most: 30_000,
        near: f64::INFINITY,
        woven: false,
        reach: QUICK,
        fill: FILL,
    },
    Level {
        caps: &[0.25],
        enough: 0,
        gives: 6,
        most: 40_000,
        near: f64::INFINITY,
        woven: false,
        reach: QUICK,
        fill: FILL,
    },
    Level {
        caps: &[0.25],
        enough: 0,
        gives: 3,
        most: 40_000,
        near: NEAR_MM,
        woven: false,
        reach: QUICK,
        fill: FILL,
    },
    Level {
        caps: &[0.25],
        enough: 0,
        gives: 6,
        most: 40_000,
        near: NEAR_MM,
        woven: true,
        reach: QUICK,
        fill: FILL,
    },
    Level {
        caps: &[0.25],
        enough: 0,
        gives: 0,
        most: 40_000,
        near: NEAR_MM,
        woven: true,
        reach: QUICK,
        fill: FILL,
    },
    LONG,
    Level { fill: 0.0, ..LONG },
    LONG,
];
/// Lists that miss little.
const LONG: Level = Level {
    caps: &[0.01, 0.02, 0.04, 0.08, 0.25],
    enough: 60_000,
    gives: 0,
    most: 120_000,
    near: NEAR_MM,
    woven: false,
    reach: THOROUGH,
    fill: FILL,
};
/// The first long list, the one that takes no sheet for dear, and the one that favours sheets of which the first has few ways. Where no
/// sheet is dear the second would be the first once more, and where some are, nobody knows which should be favoured.
const FIRST_LONG: usize = 7;
const NONE_DEAR: usize = 8;
const FAVOURED: usize = 9;
/// By how much windows are larger than their pieces where stock fits nearly, in mm.
const NEAR_MM: f64 = 10.0;
/// The level of a round: levels by turns, the quick ones more often.
const TURNS: [usize; 17] = [0, 7, 6, 0, 9, 4, 5, 8, 1, 6, 7, 0, 5, 2, 8, 1, 3];
/// Rounds of the first lane that take ways in the order of their scores.
const FIRST: u64 = 6;
/// By what share the scores of others are disturbed.
const NOISE: f64 = 0.25;
/// What a seat that gives counts as lost, as a share of the layer's area.
const PER_GIVE: f64 = 0.005;

/// How the ways of a layer are listed.
struct Level {
    /// Waste that a layer may have, as a share of its area: the least that gives enough ways.
    caps: &'static [f64],
    /// Ways of one layer that are enough.
    enough: usize,
    /// Seats of one layer that may share a sheet.
    gives: usize,
    /// Ways that are kept.
    most: usize,
    /// By how much a window may be longer or wider than its piece, in mm.
    near: f64,
    /// Whether columns are taken one by one, in place of ways.
    woven: bool,
    /// How many combinations of columns are looked at for ways.
    reach: Reach,
    /// As much of the sheets used is taken to be used: sheets dearer than those which are enough then lose what their price would buy; 0
    /// where none is dear.
    fill: f64,
}

/// What guesses are for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Aim {
    /// Cost of the best plan so far: guesses cost less.
    pub(crate) best: f64,
    /// What no plan can cost less than.
    pub(crate) bound: f64,
    /// Where it is told, guesses cost no more than the best plan and have fewer pieces than this.
    pub(crate) below: Option<usize>,
}

/// The level that a round works with; `needs_all` says that no sheet is dear.
pub(crate) fn level_of(round: u64, needs_all: bool) -> usize {
    match TURNS[(round % TURNS.len() as u64) as usize] {
        NONE_DEAR if needs_all => FAVOURED,
        FAVOURED if !needs_all => FIRST_LONG,
        level => level,
    }
}

/// Where a level favours sheets, the level whose list says which.
pub(crate) fn told_by(level: usize) -> Option<usize> {
    (level == FAVOURED).then_some(FIRST_LONG)
}

/// Levels that there are.
pub(crate) const LEVEL_COUNT: usize = LEVELS.len();

/// Ways to cover a layer with the same sheets.
#[derive(Clone, Debug)]
struct Way {
    /// The way the through seams run.
    runs: Axis,
    tilings: Alike,
    /// Cost of the sheets that it opens.
    cost: f64,
    /// Cost, and half the price of what is lost.
    score: f64,
}

impl Way {
    /// What its tilings use.
    fn uses(&self) -> &Uses {
        &self.tilings.uses
    }
}

/// Units that can be covered alike.
#[derive(Clone, Debug)]
struct Group {
    class: usize,
    /// Their shape: that of the first.
    shape: usize,
    units: Vec<usize>,
    /// Least score first.
    ways: Vec<Way>,
    /// Where columns are taken one by one: those whose through seams run along Y, and along X.
    strips: Vec<Strips>,
    /// By way.
    masks: Vec<Mask>,
    index: Index,
}

/// Ways to cover every layer.
#[derive(Clone, Debug)]
pub(crate) struct Cover {
    offer: Offer,
    /// Those with the fewest ways first.
    groups: Vec<Group>,
    /// By unit.
    adds: Vec<Adds>,
    /// Up to which cost it is known that there is nothing.
    nothing: Nothing,
}

/// What one search found.
struct Found {
    guesses: Vec<(State, Worth)>,
    /// Whether everything was looked at, and nothing cost so little.
    proves_nothing: bool,
}

/// The greatest cost at which a search looked at everything and came to nothing to be laid, so that others need not look again. What the
/// lanes of a round find out counts from the next round on: within one, what is looked at may not depend on who was first.
#[derive(Clone, Debug, Default)]
struct Nothing {
    known: f64,
    /// Of this round: costs are positive, so their bits are in their order.
    found: Arc<AtomicU64>,
}

impl Nothing {
    fn holds(&self, target: f64) -> bool {
        target <= self.known
    }

    fn note(&self, target: f64) {
        self.found
            .fetch_max(target.max(0.0).to_bits(), Ordering::Relaxed);
    }

    /// Takes over what the last round found out.
    fn settle(&mut self) {
        self.known = f64::from_bits(self.found.load(Ordering::Relaxed));
    }
}

impl Cover {
    /// Lists the ways; `None` where some layer has none.
    pub(crate) fn new(
        prepared: &Prepared<'_>,
        level: usize,
        favours: Vec<f64>,
        clock: Clock<'_>,
    ) -> Option<Self> {
        let mut offer = Offer::new(prepared, LEVELS[level].fill);
        offer.favours = favours;
        if LEVELS[level].gives > 0 {
            offer.part();
        }
        let mut groups = groups(prepared);
        let mut tasks: Vec<(usize, Axis, Vec<Seat>, Vec<Beside>)> = Vec::new();
        for (g, group) in groups.iter().enumerate() {
            let shape = &prepared.shapes[group.shape];
            for runs in [Axis::Y, Axis::X] {
                let mut seats = offer.seats(group.class, shape.turns, shape.grain, runs);
                let at = void::seats(&mut offer, group.class, shape, runs);
                seats.extend(at.sampled);
                let mut beside = at.beside;
                // Where windows need not fit nearly, no seat beside a void says where its column lies.
                if LEVELS[level].near.is_finite() {
                    let near = LEVELS[level].near;
                    beside.extend(hole::seats(&mut offer, group.class, shape, runs));
                    beside.extend(disc::seats(&mut offer, group.class, shape, runs, near));
                } else {
                    beside.clear();
                }
                tasks.push((g, runs, seats, beside));
            }
        }
        let lists = map_in_order(tasks, |(g, runs, seats, beside)| {
            let seen = Seen {
                offer: &offer,
                seats,
                beside,
                runs,
            };
            if LEVELS[level].woven {
                let strips = strips(prepared, &seen, &groups[g], &LEVELS[level]);
                (Vec::new(), Some(strips))
            } else {
                let ways = ways(prepared, &seen, &groups[g], &LEVELS[level], clock);
                (ways, None)
            }
        });
        for (k, (ways, strips)) in lists.into_iter().enumerate() {
            groups[k / 2].ways.extend(ways);
            groups[k / 2].strips.extend(strips);
        }
        for group in &mut groups {
            group.ways.sort_by(|a, b| a.score.total_cmp(&b.score));
            group.ways.truncate(LEVELS[level].most);
            let mask = |w: &Way| Mask::new(&offer, w.uses().places.iter().map(|p| p.0));
            group.masks = group.ways.iter().map(mask).collect();
            let masks: Vec<&Mask> = group.masks.iter().collect();
            group.index = Index::new(&masks, offer.kinds.len());
            if group.ways.is_empty() && group.strips.iter().all(Strips::is_empty) {
                return None;
            }
        }
        groups.sort_by_key(|g| (g.ways.len(), g.shape));
        let adds = prepared
            .units
            .iter()
            .map(|u| adds(prepared, u.shape))
            .collect();
        (!groups.is_empty()).then_some(Self {
            offer,
            groups,
            adds,
            nothing: Nothing::default(),
        })
    }

    /// By how much less what is lost on sheets should count, so that ways of a list use all of them.
    pub(crate) fn favours(&self, prepared: &Prepared<'_>) -> Vec<f64> {
        let area = |g: &Group| {
            let bounds = &prepared.shapes[g.shape].bounds;
            bounds.width() * bounds.depth()
        };
        let areas: Vec<f64> = self.groups.iter().map(area).collect();
        favour::favours(&self.offer, &self.groups, &areas)
    }

    /// Whether no sheet is dear.
    pub(crate) fn needs_all(&self) -> bool {
        self.offer.needs_all
    }

    /// Makes ready for a round; no lane is at work meanwhile.
    pub(crate) fn begin_round(&mut self) {
        self.nothing.settle();
    }

    /// Guesses made in one round of a lane.
    pub(crate) fn guesses(
        &self,
        prepared: &Prepared<'_>,
        key: [u64; 3],
        aim: Aim,
        clock: Clock<'_>,
    ) -> Vec<(State, Worth)> {
        let first = key[2] < FIRST && key[1] == 0;
        let noise = if first { 0.0 } else { NOISE };
        if self.groups.iter().any(|g| !g.strips.is_empty()) {
            return Weave::new(self, prepared, key, aim, clock).search(noise);
        }
        let target = target(&key, &aim);
        if aim.below.is_none() && self.nothing.holds(target) {
            return Vec::new();
        }
        let found = Choice::new(self, prepared, key, aim, clock).search(noise);
        if found.proves_nothing && aim.below.is_none() {
            self.nothing.note(target);
        }
        found.guesses
    }
}

/// Units that can be covered alike, together.
fn groups(prepared: &Prepared<'_>) -> Vec<Group> {
    let mut out: Vec<Group> = Vec::new();
    let alike = |a: usize, b: usize| {
        let (a, b) = (&prepared.shapes[a], &prepared.shapes[b]);
        let grown = |r: (f64, f64)| r.0 + r.1;
        let turns = |t: Turns| matches!(t, Turns::Quarter | Turns::Any);
        (a.bounds.min - b.bounds.min).length_squared() < 1e-18
            && (a.bounds.max - b.bounds.max).length_squared() < 1e-18
            && a.splits == b.splits
            && turns(a.turns) == turns(b.turns)
            && a.grain == b.grain
            && a.corners == b.corners
            && a.holes == b.holes
            && a.discs == b.discs
            && (grown(a.reach) - grown(b.reach)).abs() < 1e-9
    };
    for (k, unit) in prepared.units.iter().enumerate() {
        match out
            .iter_mut()
            .find(|g| g.class == unit.class && alike(g.shape, unit.shape))
        {
            Some(group) => group.units.push(k),
            None => out.push(Group {
                class: unit.class,
                shape: unit.shape,
                units: vec![k],
                ways: Vec::new(),
                strips: Vec::new(),
                masks: Vec::new(),
                index: Index::default(),
            }),
        }
    }
    out
}

fn adds(prepared: &Prepared<'_>, shape: usize) -> Adds {
    let limits = &prepared.task.seams.limits;
    let reach = prepared.shapes[shape].reach;
    Adds {
        back: reach.0 - limits.gap / 2.0,
        on: reach.1 - limits.gap / 2.0,
        least: limits.min_piece,
    }
}

/// What all layers of a class together may lose, in mm²: what its sheets offer beyond what the layers need.
fn slack(prepared: &Prepared<'_>, offer: &Offer, class: usize) -> f64 {
    let kinds = (0..offer.kinds.len()).filter(|k| offer.kinds[*k].class == class);
    let offered: f64 = kinds
        .map(|k| (offer.usable_of(k) + offer.over(k)) * offer.kinds[k].bins.len() as f64)
        .sum();
    let units = prepared.classes[class].units.iter();
    let needed: f64 = units
        .flat_map(|u| &prepared.task.layers[prepared.units[*u].layer].shape)
        .map(|r| r.area_mm2())
        .sum();
    (offered - needed).max(0.0) + offer.surplus_of(class)
}

/// What sheets offer to layers whose through seams run one way.
struct Seen<'a> {
    offer: &'a Offer,
    seats: Vec<Seat>,
    beside: Vec<Beside>,
    runs: Axis,
}

impl Level {
    /// A layer of a group as its tilings see it, and what it may lose.
    fn field(
        &self,
        prepared: &Prepared<'_>,
        seen: &Seen<'_>,
        group: &Group,
        cap: f64,
    ) -> (Field, f64) {
        let shape = &prepared.shapes[group.shape];
        let adds = adds(prepared, group.shape);
        let area = shape.bounds.width() * shape.bounds.depth();
        let (across, along) = (shape.across(seen.runs), shape.across(seen.runs.other()));
        let slack = if seen.offer.favours.is_empty() {
            // What seats that give count as lost is nothing that sheets lack.
            slack(prepared, seen.offer, group.class) + self.gives as f64 * PER_GIVE * area
        } else {
            // What counts as lost is less or more than what sheets lack.
            f64::INFINITY
        };
        let field = Field {
            runs: seen.runs,
            across: across.1 - across.0,
            along: along.1 - along.0,
            add: adds.back + adds.on,
            least: adds.least,
            splits: shape.splits,
            cap: (cap * area).min(slack),
            gives: self.gives,
            per_give: PER_GIVE * area,
            near: self.near,
            alike: self.reach.alike,
        };
        (field, slack)
    }
}

/// The columns of a layer in which no piece lies beside a void, those that lose least first.
fn plain_columns(
    prepared: &Prepared<'_>,
    seen: &Seen<'_>,
    group: &Group,
    field: Field,
) -> Vec<Column> {
    let shape = &prepared.shapes[group.shape];
    let ells = step::ells(seen.offer, group.class, shape.turns, shape.grain, seen.runs);
    columns(seen.offer, field, &seen.seats, &ells)
}

/// Those in which one does.
fn columns_beside(
    prepared: &Prepared<'_>,
    seen: &Seen<'_>,
    group: &Group,
    field: Field,
) -> Vec<Column> {
    anchor::columns(
        seen.offer,
        field,
        adds(prepared, group.shape),
        (&prepared.shapes[group.shape], seen.runs),
        (&seen.seats, &seen.beside),
    )
}

/// The columns of a group whose through seams run one way.
fn strips(prepared: &Prepared<'_>, seen: &Seen<'_>, group: &Group, level: &Level) -> Strips {
    let cap = level.caps.iter().copied().fold(0.0, f64::max);
    let (field, _) = level.field(prepared, seen, group, cap);
    let mut columns = plain_columns(prepared, seen, group, field);
    columns.extend(columns_beside(prepared, seen, group, field));
    columns.sort_by(|a, b| a.lost.total_cmp(&b.lost));
    Strips::new(seen.offer, field, seen.runs, columns)
}

/// The ways of a group whose through seams run one way.
fn ways(
    prepared: &Prepared<'_>,
    seen: &Seen<'_>,
    group: &Group,
    level: &Level,
    clock: Clock<'_>,
) -> Vec<Way> {
    let (offer, runs) = (seen.offer, seen.runs);
    let shape = &prepared.shapes[group.shape];
    let area = shape.bounds.width() * shape.bounds.depth();
    let class = &prepared.classes[group.class];
    let price = class.scale / class.sheet_area_mm2;
    let mut out: Vec<Way> = Vec::new();
    let mut known: BTreeMap<Vec<(usize, i64)>, usize> = BTreeMap::new();
    // They are the same for every cap, but for those that lose more.
    let most = level.caps.iter().copied().fold(0.0, f64::max);
    let (field, _) = level.field(prepared, seen, group, most);
    let beside = columns_beside(prepared, seen, group, field);
    for cap in level.caps {
        let (field, slack) = level.field(prepared, seen, group, *cap);
        let mut columns = plain_columns(prepared, seen, group, field);
        columns.extend(beside.iter().filter(|c| c.lost <= field.cap).cloned());
        columns.sort_by(|a, b| a.lost.total_cmp(&b.lost));
        for tilings in tilings(offer, field, &columns, level, clock) {
            let uses = &tilings.uses;
            let places = uses.places.iter();
            let rough = |p: usize, need: f64| match offer.places[p].share {
                Some(_) => 0,
                None => (need / 4.0) as i64,
            };
            let mut places: Vec<(usize, i64)> =
                places.map(|(p, need)| (*p, rough(*p, *need))).collect();
            places.sort_unstable();
            // Lists of a greater cap are cut off where they grow long; what was found before stays, and what is added are ways of
            // other sheets, and more tilings of the same.
            match known.entry(places) {
                Entry::Vacant(entry) => {
                    entry.insert(out.len());
                    let cost = offer.cost(&uses.places);
                    out.push(Way {
                        runs,
                        cost,
                        score: cost + 0.5 * price * uses.lost,
                        tilings,
                    });
                }
                Entry::Occupied(entry) => {
                    let before = &mut out[*entry.get()].tilings;
                    if tilings.count() > before.count() {
                        *before = tilings;
                    }
                }
            }
        }
        if out.len() >= level.enough || cap * area >= slack || clock.is_over() {
            break;
        }
    }
    out.sort_by(|a, b| a.score.total_cmp(&b.score));
    out.truncate(level.most);
    out
}
