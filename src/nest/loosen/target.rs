//! What a group of sheets is to become: which go, which come, which stay.

use std::collections::BTreeMap;

use crate::model::nesting::{Layout, Problem, SheetUse};
use crate::nest::area::{grown_area, room_area};
use crate::nest::cost::used_length;
use crate::nest::seed::Draws;
use crate::nest::sets::{Kind, cheapest};
use crate::parallel::map_in_order;

/// Pieces that are moved at once, at the most: overlaps are kept for every pair.
const MOST_MOVED: usize = 300;
/// Sheets that stay in a group, at the most.
const MOST_KEPT: usize = 8;
/// Targets that are drawn; the most promising is taken.
const DRAWN: usize = 48;
/// How often a set of sheets is tried, and sheets of such a set, at the most.
const OF_SETS: f64 = 0.4;
const MOST_EXCHANGED: usize = 16;
/// How much room beside what is needed a failure costs a sort of target, as a share of the room.
const PER_FAILURE: f64 = 0.04;

/// What pieces need and sheets give, in mm².
#[derive(Clone, Debug)]
pub struct Market {
    /// By item: its area grown by half the spacing.
    need: Vec<f64>,
    /// By stock: its area drawn in.
    room: Vec<f64>,
}

impl Market {
    /// Measures a problem.
    pub fn new(problem: &Problem) -> Self {
        let mut first: BTreeMap<usize, usize> = BTreeMap::new();
        for (k, item) in problem.items.iter().enumerate() {
            first.entry(item.kind).or_insert(k);
        }
        let half = problem.spacing / 2.0;
        let known: BTreeMap<usize, f64> = map_in_order(first.into_iter().collect(), |(kind, k)| {
            let shape = std::slice::from_ref(&problem.items[k].shape);
            (kind, grown_area(shape, half))
        })
        .into_iter()
        .collect();
        Self {
            need: problem
                .items
                .iter()
                .map(|i| known.get(&i.kind).copied().unwrap_or_default())
                .collect(),
            room: problem
                .stock
                .iter()
                .map(|s| room_area(&s.region, problem.edge_margin, problem.spacing))
                .collect(),
        }
    }
}

/// What targets have in common that fail alike: kinds of sheets that go and come, and how many stay.
pub(super) type Sort = (Vec<usize>, Vec<usize>, usize);

/// What a group is to become.
#[derive(Clone, Debug)]
pub(super) struct Target {
    pub(super) removed: Vec<SheetUse>,
    pub(super) added: Vec<SheetUse>,
    pub(super) kept: Vec<SheetUse>,
    pub(super) sort: Sort,
}

/// A sheet in use.
#[derive(Clone, Copy, Debug)]
struct Used {
    sheet: SheetUse,
    load: f64,
    pieces: usize,
    cost: f64,
    room: f64,
}

impl Target {
    fn new(removed: Vec<SheetUse>, added: Vec<SheetUse>, kept: Vec<SheetUse>) -> Self {
        let stocks = |of: &[SheetUse]| {
            let mut out: Vec<usize> = of.iter().map(|s| s.stock).collect();
            out.sort_unstable();
            out
        };
        Self {
            sort: (stocks(&removed), stocks(&added), kept.len()),
            removed,
            added,
            kept,
        }
    }

    /// The most promising of some that are drawn: the most room beside what is needed, those that failed put back. `None`
    /// where none of them has room enough.
    pub(super) fn choose(
        market: &Market,
        problem: &Problem,
        best: &Layout,
        failed: &BTreeMap<Sort, u32>,
        draws: &mut Draws,
    ) -> Option<Self> {
        let used = in_use(market, problem, best);
        if draws.chance(OF_SETS)
            && let Some(target) = of_set(market, problem, &used, failed, draws)
        {
            return Some(target);
        }
        let free = not_in_use(problem, &used);
        let mut top: Option<(f64, Self)> = None;
        for _ in 0..DRAWN {
            let Some((spare, target)) = drawn(market, problem, &used, &free, draws) else {
                continue;
            };
            let failures = failed.get(&target.sort).copied().unwrap_or(0);
            let value = spare - PER_FAILURE * f64::from(failures);
            if top.as_ref().is_none_or(|t| value > t.0) {
                top = Some((value, target));
            }
        }
        top.map(|t| t.1)
    }
}

fn in_use(market: &Market, problem: &Problem, best: &Layout) -> Vec<Used> {
    let mut by_sheet: BTreeMap<SheetUse, (f64, usize)> = BTreeMap::new();
    for p in &best.placed {
        let at = by_sheet.entry(p.sheet).or_default();
        at.0 += market.need[p.item];
        at.1 += 1;
    }
    by_sheet
        .into_iter()
        .map(|(sheet, (load, pieces))| {
            let stock = &problem.stock[sheet.stock];
            // Of a sheet sold by length what is used counts.
            let share = stock
                .by_length
                .map_or(1.0, |length| used_length(problem, best, sheet) / length);
            Used {
                sheet,
                load,
                pieces,
                cost: stock.cost * share,
                room: market.room[sheet.stock] * share,
            }
        })
        .collect()
}

/// All sheets of a class exchanged for a set that costs less: of the cheapest sets the one that failed least often, the cheapest
/// or the roomiest first. `None` where there is none, or too many pieces or sheets to move at once, or a roll is in use.
fn of_set(
    market: &Market,
    problem: &Problem,
    used: &[Used],
    failed: &BTreeMap<Sort, u32>,
    draws: &mut Draws,
) -> Option<Target> {
    let class = |s: SheetUse| problem.stock[s.stock].class;
    let of = class(used.get(draws.below(used.len().max(1)))?.sheet);
    let there: Vec<&Used> = used.iter().filter(|u| class(u.sheet) == of).collect();
    let pieces: usize = there.iter().map(|u| u.pieces).sum();
    let is_roll = |u: &&Used| problem.stock[u.sheet.stock].by_length.is_some();
    if pieces > MOST_MOVED || there.len() > MOST_EXCHANGED || there.iter().any(is_roll) {
        return None;
    }
    let kinds: Vec<Kind> = problem
        .stock
        .iter()
        .zip(&market.room)
        .map(|(stock, &room)| Kind {
            quantity: if stock.class == of && stock.by_length.is_none() {
                stock.quantity.min(MOST_EXCHANGED)
            } else {
                0
            },
            cost: stock.cost,
            room,
        })
        .collect();
    let need = there.iter().map(|u| u.load).sum();
    let cost = there.iter().map(|u| u.cost).sum();
    let room = |counts: &[usize]| -> f64 {
        let all = kinds.iter().zip(counts);
        all.map(|(k, n)| k.room * *n as f64).sum()
    };
    let mut sets = cheapest(&kinds, need, cost);
    if draws.chance(0.5) {
        // The roomiest succeed soonest.
        sets.sort_by(|a, b| room(b).total_cmp(&room(a)));
    }
    let targets = sets.into_iter().map(|counts| exchanged(&there, &counts));
    targets.min_by_key(|t| failed.get(&t.sort).copied().unwrap_or(0))
}

/// The sheets in use exchanged for so many of each kind: those that are in use anyway stay.
fn exchanged(used: &[&Used], counts: &[usize]) -> Target {
    let (mut kept, mut removed, mut added) = (Vec::new(), Vec::new(), Vec::new());
    let mut left = counts.to_vec();
    for u in used {
        if left[u.sheet.stock] > 0 {
            left[u.sheet.stock] -= 1;
            kept.push(u.sheet);
        } else {
            removed.push(u.sheet);
        }
    }
    for (stock, n) in left.into_iter().enumerate() {
        let sheets = (0..).map(|number| SheetUse { stock, number });
        added.extend(
            sheets
                .filter(|s| used.iter().all(|u| u.sheet != *s))
                .take(n),
        );
    }
    Target::new(removed, added, kept)
}

/// The first sheet of each kind that is not in use; sheets sold by length stay as they are.
fn not_in_use(problem: &Problem, used: &[Used]) -> Vec<SheetUse> {
    let mut taken: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for u in used {
        taken.entry(u.sheet.stock).or_default().push(u.sheet.number);
    }
    (0..problem.stock.len())
        .filter(|&s| problem.stock[s].by_length.is_none())
        .filter_map(|stock| {
            let numbers = taken.get(&stock);
            (0..problem.stock[stock].quantity)
                .find(|n| numbers.is_none_or(|t| !t.contains(n)))
                .map(|number| SheetUse { stock, number })
        })
        .collect()
}

/// One target, and the share of its room that is not needed.
fn drawn(
    market: &Market,
    problem: &Problem,
    used: &[Used],
    free: &[SheetUse],
    draws: &mut Draws,
) -> Option<(f64, Target)> {
    if used.is_empty() {
        return None;
    }
    let class = |s: SheetUse| problem.stock[s.stock].class;
    let first = used[draws.below(used.len())];
    let mut removed = vec![first];
    while removed.len() < 3 && draws.chance(0.35) {
        let next = used[draws.below(used.len())];
        if class(next.sheet) == class(first.sheet) && removed.iter().all(|r| r.sheet != next.sheet)
        {
            removed.push(next);
        }
    }
    let cost: f64 = removed.iter().map(|r| r.cost).sum();
    let mut added: Vec<SheetUse> = Vec::new();
    let mut price = 0.0;
    while !free.is_empty() && added.len() < 2 && draws.chance(0.5) {
        let next = free[draws.below(free.len())];
        let own = problem.stock[next.stock].cost;
        if class(next) == class(first.sheet) && price + own < cost - 1e-6 && !added.contains(&next)
        {
            added.push(next);
            price += own;
        }
    }
    if price >= cost - 1e-6 {
        return None;
    }
    let need: f64 = removed.iter().map(|r| r.load).sum();
    let come: f64 = added.iter().map(|s| market.room[s.stock]).sum();
    let mut pieces: usize = removed.iter().map(|r| r.pieces).sum();
    let mut others: Vec<(f64, Used)> = used
        .iter()
        .filter(|u| {
            class(u.sheet) == class(first.sheet) && removed.iter().all(|r| r.sheet != u.sheet)
        })
        .map(|u| ((u.room - u.load) * (0.5 + draws.unit()), *u))
        .collect();
    others.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.sheet.cmp(&b.1.sheet)));
    let (mut spare, mut room) = (come - need, come);
    let mut kept = Vec::new();
    let most = draws.below(MOST_KEPT) + 1;
    for (_, u) in others {
        if kept.len() == most || pieces + u.pieces > MOST_MOVED {
            break;
        }
        pieces += u.pieces;
        spare += u.room - u.load;
        room += u.room;
        kept.push(u.sheet);
    }
    if spare < -1e-6 || kept.len() + added.len() == 0 || pieces > MOST_MOVED {
        return None;
    }
    let removed = removed.into_iter().map(|r| r.sheet).collect();
    Some((spare / room, Target::new(removed, added, kept)))
}
