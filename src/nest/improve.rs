//! Taking items off and laying them down otherwise.
//!
//! An evaluation is one attempt: a sheet is emptied onto others, its load is moved to another sheet, a few items are taken
//! off and laid down again, or one or two sheets are laid anew in another order. What is better is kept: lower cost, more
//! fill parts, less of the sheets swept.

use crate::model::nesting::{Layout, Problem, SheetUse};
use crate::nest::construct::{Engine, Floor, Rule};
use crate::nest::cost::{cost, used};
use crate::nest::seed::Draws;
use crate::nest::shapes::Shapes;

/// Sheets that are worked on at a time, at the most.
const AT_A_TIME: usize = 8;

/// What the mover compares: cost, fill parts without a place, area swept.
type Worth = (f64, usize, f64);

/// A layout that is as good or better, after so many evaluations; a function of its arguments.
pub fn improve(problem: &Problem, layout: &Layout, seed: u64, evaluations: u64) -> Layout {
    let effort = (evaluations, &(|| false) as &dyn Fn() -> bool);
    improve_with(problem, &Shapes::new(problem), layout, seed, effort)
}

/// The same where the problem's shapes were made before. Where `is_over` says so it ends early, and what it brought is to be
/// left aside.
pub fn improve_with(
    problem: &Problem,
    shapes: &Shapes,
    layout: &Layout,
    seed: u64,
    (evaluations, is_over): (u64, &dyn Fn() -> bool),
) -> Layout {
    let engine = Engine::new(problem, shapes);
    let mut draws = Draws::new([seed, 0x6e65_7374, evaluations]);
    let (part, rest) = some_of(layout, &mut draws);
    let others = used(&rest);
    let mut floors = engine.floors(&part);
    let mut best = worth(&engine, &floors);
    for _ in 0..evaluations {
        if is_over() {
            break;
        }
        let Some(tried) = attempt(&engine, &floors, &others, &mut draws) else {
            continue;
        };
        let value = worth(&engine, &tried);
        if is_better(&value, &best) || (value == best && draws.chance(0.5)) {
            floors = tried;
            best = value;
        }
    }
    let mut found = engine.layout(&floors);
    found.placed.extend(rest.placed);
    found.placed.sort_by_key(|p| p.item);
    found
}

/// What lies on some sheets, and what lies on the others: of many sheets a few are worked on at a time.
fn some_of(layout: &Layout, draws: &mut Draws) -> (Layout, Layout) {
    let mut sheets = used(layout);
    if sheets.len() <= AT_A_TIME {
        return (layout.clone(), Layout::default());
    }
    for k in 0..AT_A_TIME {
        let j = k + draws.below(sheets.len() - k);
        sheets.swap(k, j);
    }
    sheets.truncate(AT_A_TIME);
    let (placed, others) = layout
        .placed
        .iter()
        .partition(|p| sheets.contains(&p.sheet));
    (Layout { placed }, Layout { placed: others })
}

/// Adds items that need not be placed where there is room on sheets that are used.
pub fn add_fill(problem: &Problem, layout: &Layout) -> Layout {
    let missing = missing_fill(problem, layout);
    if missing.is_empty() {
        return layout.clone();
    }
    let shapes = Shapes::new(problem);
    let engine = Engine::new(problem, &shapes);
    let mut floors = engine.floors(layout);
    lay_fill(&engine, &mut floors, &missing);
    engine.layout(&floors)
}

fn missing_fill(problem: &Problem, layout: &Layout) -> Vec<usize> {
    let mut there = vec![false; problem.items.len()];
    layout.placed.iter().for_each(|p| there[p.item] = true);
    (0..problem.items.len())
        .filter(|&k| problem.items[k].fill && !there[k])
        .collect()
}

fn lay_fill(engine: &Engine<'_>, floors: &mut [Floor], missing: &[usize]) {
    let mut left = missing.to_vec();
    for floor in floors {
        // Of equal items one after the other: where one found no room, the next of its kind finds none.
        let mut full = None;
        left.retain(|&item| {
            let kind = engine.problem.items[item].kind;
            let laid = full != Some(kind) && engine.lay(floor, item, Rule::Front);
            if !laid {
                full = Some(kind);
            }
            !laid
        });
    }
}

fn worth(engine: &Engine<'_>, floors: &[Floor]) -> Worth {
    let placed: usize = floors.iter().map(|f| f.spots.len()).sum();
    (
        cost(engine.problem, &engine.layout(floors)),
        engine.problem.items.len() - placed,
        engine.swept(floors),
    )
}

fn is_better(a: &Worth, b: &Worth) -> bool {
    if (a.0 - b.0).abs() > 1e-9 {
        return a.0 < b.0;
    }
    if a.1 != b.1 {
        a.1 < b.1
    } else {
        a.2 < b.2 - 1e-6
    }
}

/// One attempt; `None` where something that must be placed found no place.
fn attempt(
    engine: &Engine<'_>,
    floors: &[Floor],
    others: &[SheetUse],
    draws: &mut Draws,
) -> Option<Vec<Floor>> {
    if floors.is_empty() {
        return None;
    }
    let rule = if draws.chance(0.5) {
        Rule::Front
    } else {
        Rule::Left
    };
    let mut tried = floors.to_vec();
    let k = draws.below(tried.len());
    match draws.below(6) {
        0 => {
            let load = tried.remove(k);
            spread(
                engine,
                &mut tried,
                shuffled(engine, items(&load), draws),
                rule,
            )
            .then_some(tried)
        }
        1 => {
            let other = unused(engine, &tried, others, tried[k].sheet, draws)?;
            let load = items(&tried[k]);
            tried[k] = Floor::new(other);
            spread(engine, &mut tried, shuffled(engine, load, draws), rule).then_some(tried)
        }
        2 | 3 => {
            let mut taken = Vec::new();
            for _ in 0..=draws.below(3) {
                let floor = draws.below(tried.len());
                if !tried[floor].spots.is_empty() {
                    let spot = draws.below(tried[floor].spots.len());
                    taken.push(tried[floor].take_off(spot));
                }
            }
            let done = spread(engine, &mut tried, shuffled(engine, taken, draws), rule);
            tried.retain(|f| !f.spots.is_empty());
            done.then_some(tried)
        }
        _ => {
            let j = draws.below(tried.len());
            let mut load = items(&tried[k]);
            tried[k].clear();
            if j != k {
                load.extend(items(&tried[j]));
                tried[j].clear();
            }
            let done = spread(engine, &mut tried, shuffled(engine, load, draws), rule);
            tried.retain(|f| !f.spots.is_empty());
            done.then_some(tried)
        }
    }
}

fn items(floor: &Floor) -> Vec<usize> {
    floor.spots.iter().map(|s| s.item).collect()
}

/// Larger items first, their areas disturbed by up to a third either way.
fn shuffled(engine: &Engine<'_>, items: Vec<usize>, draws: &mut Draws) -> Vec<usize> {
    let mut keyed: Vec<(f64, usize)> = items
        .into_iter()
        .map(|k| {
            (
                engine.problem.items[k].shape.area_mm2() * (0.67 + 0.66 * draws.unit()),
                k,
            )
        })
        .collect();
    keyed.sort_by(|a, b| {
        engine.problem.items[a.1]
            .fill
            .cmp(&engine.problem.items[b.1].fill)
            .then(b.0.total_cmp(&a.0))
            .then(a.1.cmp(&b.1))
    });
    keyed.into_iter().map(|(_, k)| k).collect()
}

/// Lays items on floors in use; whether all that must be placed were.
fn spread(engine: &Engine<'_>, floors: &mut [Floor], items: Vec<usize>, rule: Rule) -> bool {
    items.into_iter().all(|item| {
        floors.iter_mut().any(|f| engine.lay(f, item, rule)) || engine.problem.items[item].fill
    })
}

/// A sheet of the same class that is not in use.
fn unused(
    engine: &Engine<'_>,
    floors: &[Floor],
    others: &[SheetUse],
    of: SheetUse,
    draws: &mut Draws,
) -> Option<SheetUse> {
    let stock = &engine.problem.stock;
    let free: Vec<SheetUse> = (0..stock.len())
        .filter(|&s| stock[s].class == stock[of.stock].class)
        .filter_map(|s| {
            (0..stock[s].quantity.min(floors.len() + others.len() + 1))
                .map(|number| SheetUse { stock: s, number })
                .find(|u| floors.iter().all(|f| f.sheet != *u) && !others.contains(u))
        })
        .collect();
    (!free.is_empty()).then(|| free[draws.below(free.len())])
}
