//! No plan costs less: a lower bound of the cost, with what it rests on, so that a reader can compute it again.
//!
//! In: a class of material and thickness, what is cut from it, its sheets. Out: a cost, and why.
//!
//! 1. *Rows* say what the sheets that are used must carry, each kind of sheet no more than so much of it: areas ([`areas`]),
//!    what lies side by side on one line ([`abreast`]), what is longest beside or on a roll ([`abreast::longest`]), how many
//!    sheets rectangles need ([`rectangles`]). Each row's own page proves it.
//! 2. The cheapest whole sheets that meet one row, or several at once, are found ([`row`], [`supply`]); a roll costs what it is
//!    used for. The greatest of these costs is the bound, and only the rows that it needs are told.
//!
//! A roll is used for its *stretch* (where pieces lie that are grown by half the spacing) and both edge margins less the spacing.
//! That is added once where the roll is used; where the spacing is more than both margins it is taken off for each roll.
//!
//! Sources: dual feasible functions after Fekete & Schepers 2004 ([`counted`], from memory, proved there); the rest is derived
//! here.
//!
//! What cannot be said: two hollow shapes may lie in one another, so neither hulls nor boxes of them bar anything, and what two
//! hollows close between them may be the same place; only whole holes are closed.

mod abreast;
mod areas;
mod chords;
mod counted;
mod inscribed;
mod rectangles;
mod row;
mod supply;
mod thing;

use crate::format::number;
use crate::geometry::region::Region;
use crate::model::nesting::Bound;
use crate::nest::room_area;
use crate::planner::bound::row::{Figure, Least, Row};
use crate::planner::bound::supply::{Roll, Supply};
use crate::planner::bound::thing::Thing;
use crate::planner::prepared::{Class, Prepared};

/// Sets of sheets that some things alone enter, at the most; those with the largest demand come first.
const MOST_FITS: usize = 8;
/// Such sets that are looked at.
const MOST_SETS: usize = 60;
/// Rows that are asked of sheets together, at the most.
const MOST_ROWS: usize = 10;
/// Share by which a bound has to be more for another reason.
const ALIKE: f64 = 1e-5;
/// Rows that are asked alone in steps too.
const MOST_STEPPED: usize = 4;

/// The lower bound of a task.
pub(crate) fn lower_bound(prepared: &Prepared<'_>) -> Bound {
    let mut stock_cost = 0.0;
    let mut why = Vec::new();
    for (k, class) in prepared.classes.iter().enumerate() {
        let (cost, reason) = class_bound(prepared, k, class);
        stock_cost += cost;
        why.push(reason);
    }
    Bound {
        stock_cost: floored(stock_cost),
        why: why.join("; "),
    }
}

/// To a millionth, downward; extents are taken a little less than they are, so that what lacks no more than a fifth of one is whole.
fn floored(cost: f64) -> f64 {
    (cost * 1e6 + 0.2).floor() / 1e6
}

/// What a class asks of its sheets and what they have, each grown or drawn in by as much as the spacing and the margin say, in mm².
pub(crate) fn areas(prepared: &Prepared<'_>, k: usize) -> (f64, f64) {
    let supplies = supplies(prepared, k);
    let class = &prepared.classes[k];
    let things = thing::of_class(prepared, k, class, &supplies);
    let way = areas::Way {
        grown: true,
        closed: false,
    };
    let have = supplies
        .iter()
        .map(|s| s.quantity as f64 * s.usable_mm2[0][0])
        .sum();
    (areas::demand(prepared, class, &things, way), have)
}

/// The bound of a class: of each row alone, or of all together where that is more.
fn class_bound(prepared: &Prepared<'_>, k: usize, class: &Class) -> (f64, String) {
    let spacing = prepared.task.cutter.spacing;
    let supplies = supplies(prepared, k);
    let mut things = thing::of_class(prepared, k, class, &supplies);
    thing::close_holes(prepared, class, &mut things);
    thing::take_chords(&mut things, spacing / 2.0);
    let things = things;
    let least = thing::least_entrant(prepared, class, &things);
    let mut rows: Vec<(f64, Row)> = [
        areas::rows(prepared, class, &supplies, &things),
        abreast::longest(&supplies, &things, spacing),
        abreast::rows(&supplies, &things, &fits(&things), spacing),
        rectangles::by_count(&supplies, &things, spacing)
            .into_iter()
            .collect(),
    ]
    .into_iter()
    .flatten()
    .filter(|row| row.need > 0.0)
    .map(|row| without_narrow(&supplies, least, row))
    .map(|row| (row::at_least(&supplies, &row), row))
    .filter(|(cost, _)| cost.is_finite())
    .collect();
    let mut costs: Vec<f64> = rows.iter().map(|r| r.0).collect();
    costs.sort_by(|a, b| b.total_cmp(a));
    let enough = costs.get(MOST_ROWS - 1).copied().unwrap_or(0.0);
    // Of equal rows the first is the simplest.
    rows.retain(|r| r.0 >= enough);
    rows.truncate(MOST_ROWS);
    let mut best: Option<(f64, String)> = None;
    for (at, (_, row)) in rows.iter().enumerate() {
        let searched = row::least_cost(&supplies, &[row]);
        let stepped = (searched.chosen.is_none() && at < MOST_STEPPED)
            .then(|| supply::cheapest(&supplies, row))
            .flatten();
        let least = stepped
            .filter(|s| s.cost > searched.cost)
            .unwrap_or(searched);
        // Of rows that say the same but for rounding the first is told.
        if least.cost.is_finite()
            && best
                .as_ref()
                .is_none_or(|b| least.cost > b.0 * (1.0 + ALIKE) + 1e-6)
        {
            best = Some((least.cost, told(class, &supplies, &[row], &least)));
        }
    }
    let (cost, why) = best.unwrap_or_else(|| (0.0, format!("{}: nothing is asked", class.name)));
    let mut together: Vec<&Row> = rows.iter().map(|r| &r.1).collect();
    let mut least = row::least_cost(&supplies, &together);
    if together.len() < 2 || !least.cost.is_finite() || least.cost <= cost * (1.0 + ALIKE) + 1e-6 {
        return (cost, why);
    }
    // Only what is needed for it is told.
    for at in (0..together.len()).rev() {
        let mut fewer = together.clone();
        fewer.remove(at);
        if fewer.is_empty() {
            break;
        }
        let without = row::least_cost(&supplies, &fewer);
        if without.cost >= least.cost - 1e-9 {
            (together, least) = (fewer, without);
        }
    }
    (least.cost, told(class, &supplies, &together, &least))
}

/// A row of which sheets carry nothing that are narrower than anything that is cut.
fn without_narrow(supplies: &[Supply<'_>], least: f64, mut row: Row) -> Row {
    for (carries, supply) in row.carries.iter_mut().zip(supplies) {
        if supply.room[0].min(supply.room[1]) < least - thing::ROUNDED {
            *carries = 0.0;
        }
    }
    row
}

/// Sets of sheets beside which some things enter no other, all sheets first.
fn fits(things: &[Thing]) -> Vec<Vec<bool>> {
    let Some(first) = things.first() else {
        return Vec::new();
    };
    let mut sets: Vec<(f64, Vec<bool>)> = Vec::new();
    for set in things
        .iter()
        .map(|t| &t.enters)
        .filter(|e| e.contains(&false))
    {
        if sets.iter().all(|s| &s.1 != set) && sets.len() < MOST_SETS {
            let within = things
                .iter()
                .filter(|t| enters_only(t, set))
                .map(Thing::need)
                .sum();
            sets.push((within, set.clone()));
        }
    }
    sets.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let all = vec![true; first.enters.len()];
    std::iter::once(all)
        .chain(sets.into_iter().take(MOST_FITS).map(|s| s.1))
        .collect()
}

/// Whether a thing enters no sheets but some.
fn enters_only(thing: &Thing, set: &[bool]) -> bool {
    thing
        .enters
        .iter()
        .zip(set)
        .all(|(enters, of)| !enters || *of)
}

/// A bound in words: what is asked, what each kind of sheet carries of it, the cheapest that do.
fn told(class: &Class, supplies: &[Supply<'_>], rows: &[&Row], least: &Least) -> String {
    let asked: Vec<String> = rows
        .iter()
        .map(|row| {
            let figure = |v: f64| match row.figure {
                Figure::Area => supply::square_cm(v, true),
                Figure::Number => number::number((v * 1e4).ceil() / 1e4, 4),
            };
            let carried = supply::carried(supplies, row, least.chosen.as_ref(), &figure);
            let need = match row.figure {
                Figure::Area => supply::square_cm(row.need, false),
                Figure::Number => number::number((row.need * 1e4).floor() / 1e4, 4),
            };
            format!(
                "{}; {need} must be carried, of which one sheet carries: {carried}",
                row.says
            )
        })
        .collect();
    let cost = number::short(floored(least.cost));
    let sheets = match &least.chosen {
        Some((numbers, rolled)) => {
            format!(
                "no cheaper sheets than {} do: {cost}",
                supply::told(supplies, numbers, *rolled)
            )
        }
        None => format!(
            "no sheets that do cost less than {cost} (numbers of kinds tried, the rest in parts)"
        ),
    };
    let rolls: Vec<String> = supplies
        .iter()
        .filter_map(|s| s.roll.map(|r| (s.id, r)))
        .map(|(id, r)| {
            format!(
                "{id} costs {} for each mm, and {} beyond where it is used",
                number::number(r.rate, 6),
                number::number(r.head, 4)
            )
        })
        .collect();
    let rolls = if rolls.is_empty() {
        String::new()
    } else {
        format!("; {}", rolls.join(", "))
    };
    format!(
        "{} mm: {}{rolls}; {sheets}",
        class.name,
        asked.join("; and ")
    )
}

/// The sheets of a class that may be used.
fn supplies<'a>(prepared: &Prepared<'a>, class: usize) -> Vec<Supply<'a>> {
    let task = &prepared.task;
    let margin = task.cutter.edge_margin;
    let mut out = Vec::new();
    for (k, sheet) in task.sheets.iter().enumerate() {
        if !sheet.taken
            || sheet.quantity == 0
            || prepared.class_of(&sheet.material, sheet.thickness) != class
        {
            continue;
        }
        let outline = sheet.outline.bounds();
        let length = if sheet.by_length {
            sheet.usable_length
        } else {
            outline.width()
        };
        let used: &[Region] = &sheet.region;
        let filled: Vec<Region> = used.iter().map(Region::filled).collect();
        let spacing = task.cutter.spacing;
        let roll = sheet.by_length.then(|| {
            let rate = sheet.cost / outline.width();
            let beyond = 2.0 * margin - spacing;
            let number = sheet.quantity as f64;
            Roll {
                rate,
                head: rate
                    * if beyond >= 0.0 {
                        beyond
                    } else {
                        number * beyond
                    },
                most: number * (length - 2.0 * margin + spacing),
            }
        });
        out.push(Supply {
            id: &sheet.id,
            sheet: k,
            quantity: sheet.quantity,
            cost: sheet.cost,
            usable_mm2: [used, &filled]
                .map(|r| [room_area(r, margin, spacing), room_area(r, margin, 0.0)]),
            roll,
            room: [length - 2.0 * margin, outline.depth() - 2.0 * margin],
        });
    }
    out
}
