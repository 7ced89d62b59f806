//! No plan costs less: a lower bound of the cost, with what it rests on, so that a reader can compute it again.
//!
//! For each class of material and thickness the greatest of these:
//!
//! 1. *Area.* Each piece grown by half the spacing overlaps no other grown piece, and lies in its sheet drawn in by the edge
//!    margin less half the spacing (grown, where the margin is the lesser). On a roll that is used as far as its last piece and
//!    the margin, what a piece is grown by beyond that is not paid for: there it is grown by the margin at the most. So the grown areas of what is cut cannot exceed the
//!    drawn-in areas of the sheets used. A layer counts unsplit: a seam only adds, unless its gap is wider than the spacing;
//!    then what seams could take away at the most ([`lost_to_gaps`]) is left out. The cheapest set of sheets with area enough
//!    is found; a sheet sold by length counts by what it costs a mm².
//! 2. *Fit.* What enters no more than some of the sheets (parts and layers that stay whole) must be carried by those: the
//!    cheapest set of which these sheets alone have the area of it, and all together the area of everything.
//! 3. *Count* ([`rectangles`]). Rectangles counted by how much of a sheet's width and depth they bar: so many sheets are
//!    needed at the least, each of the cheapest.
//! 4. *Length* ([`rectangles`]). The same on the one roll that there is: what lies abreast adds up to a length.
//!
//! Sources: dual feasible functions after Fekete & Schepers 2004 (threshold functions only, formula from memory, proved in
//! [`rectangles`]); the rest is derived here.

mod rectangles;
mod supply;
mod thing;

use crate::format::number;
use crate::geometry::region::Region;
use crate::model::nesting::Bound;
use crate::model::seam::Pattern;
use crate::nest::{grown_area, room_area};
use crate::planner::bound::supply::{Supply, cheapest};
use crate::planner::bound::thing::Thing;
use crate::planner::prepared::{Class, Prepared};
use crate::planner::task::Unit;

/// By how much a tooth is longer than its stretch of seam, at the most, in depths: two flanks that are each less than a half circle
/// over the depth.
const FLANKS: f64 = 4.0;
/// Sets of sheets that some things alone enter, at the most; those with the largest demand come first.
const MOST_FITS: usize = 8;

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

fn floored(cost: f64) -> f64 {
    (cost * 1e6).floor() / 1e6
}

/// What a class asks of its sheets and what they have, each grown or drawn in by as much as the spacing and the margin say, in mm².
/// With them, in words, by how much.
pub(crate) fn areas(prepared: &Prepared<'_>, k: usize) -> (f64, f64, String) {
    let supplies = supplies(prepared, k);
    let things = thing::of_class(prepared, k, &prepared.classes[k], &supplies);
    let have = supplies
        .iter()
        .map(|s| s.quantity as f64 * s.usable_mm2)
        .sum();
    let by = growth(prepared, k);
    let need = demand(prepared, &prepared.classes[k], &things, by);
    (need, have, growth_told(prepared, by))
}

/// By how much pieces of a class are grown: half the spacing, where there is a roll no more than the edge margin.
fn growth(prepared: &Prepared<'_>, class: usize) -> f64 {
    let task = &prepared.task;
    let half = task.cutter.spacing / 2.0;
    let is_roll = task
        .sheets
        .iter()
        .any(|s| s.by_length && s.taken && prepared.class_of(&s.material, s.thickness) == class);
    if is_roll {
        half.min(task.cutter.edge_margin)
    } else {
        half
    }
}

fn growth_told(prepared: &Prepared<'_>, growth: f64) -> String {
    let what = if growth < prepared.task.cutter.spacing / 2.0 {
        "the edge margin"
    } else {
        "half the spacing"
    };
    format!("{what} ({})", number::short(growth))
}

/// Area of the layers and parts of a class, grown.
fn demand(prepared: &Prepared<'_>, class: &Class, things: &[Thing], growth: f64) -> f64 {
    let layers: f64 = class
        .units
        .iter()
        .map(|&u| {
            let unit = &prepared.units[u];
            let whole = grown_area(&prepared.task.layers[unit.layer].shape, growth);
            (whole - lost_to_gaps(prepared, unit)).max(0.0)
        })
        .sum();
    let whole_layers: f64 = things.iter().filter(|t| t.is_layer).map(Thing::need).sum();
    layers - whole_layers + things.iter().map(Thing::need).sum::<f64>()
}

/// Area that gaps wider than the spacing could take from a layer, at the most: pieces keep their least extent, so across and
/// along there are no more seams than pieces of that extent less the teeth; a step makes a seam no more than twice as long.
fn lost_to_gaps(prepared: &Prepared<'_>, unit: &Unit) -> f64 {
    let shape = &prepared.shapes[unit.shape];
    let limits = &prepared.task.seams.limits;
    let excess = limits.gap - prepared.task.cutter.spacing;
    if !shape.splits || excess <= 0.0 {
        return 0.0;
    }
    let teeth = shape.reach.0 + shape.reach.1;
    let least = (limits.min_piece - teeth).max(1.0);
    let stretch = if prepared.task.layers[unit.layer].pattern == Some(Pattern::Straight) {
        1.0
    } else {
        // No deeper than long, unless both are asked for.
        let asked = prepared.task.seams.depth.zip(prepared.task.seams.tooth);
        1.0 + FLANKS * asked.map_or(1.0, |(depth, tooth)| (depth / tooth).max(1.0))
    };
    let [width, depth] = [shape.bounds.width(), shape.bounds.depth()];
    let seams = width * (depth / least).floor() + depth * (width / least).floor();
    excess * 2.0 * stretch * seams
}

fn class_bound(prepared: &Prepared<'_>, k: usize, class: &Class) -> (f64, String) {
    let supplies = supplies(prepared, k);
    let things = thing::of_class(prepared, k, class, &supplies);
    let by = growth(prepared, k);
    let demand = demand(prepared, class, &things, by);
    let told = growth_told(prepared, by);
    let mut best = by_area(class, &supplies, demand, &told);
    let others = by_fit(class, &supplies, &things, demand, &told)
        .into_iter()
        .chain(rectangles::by_count(
            class,
            &supplies,
            &things,
            prepared.task.cutter.spacing,
        ))
        .chain(rectangles::by_length(
            class,
            &supplies,
            &things,
            prepared.task.cutter,
        ));
    for (cost, why) in others {
        // What a thousandth more would say is not worth another reason.
        if cost > best.0 * 1.001 + 1e-6 {
            best = (cost, why);
        }
    }
    best
}

fn by_area(class: &Class, supplies: &[Supply<'_>], demand: f64, by: &str) -> (f64, String) {
    let (cost, chosen) = cheapest(supplies, demand, (0.0, &|_| true));
    let reason = format!(
        "{} mm: layers and parts grown by {by} measure {} cm²; no cheaper sheets than {chosen} have as much within their edge margins: {}",
        class.name,
        number::short((demand / 100.0).floor()),
        number::short(floored(cost))
    );
    (cost, reason)
}

/// For each set of sheets that is all that some things enter, what these things ask of it.
fn by_fit(
    class: &Class,
    supplies: &[Supply<'_>],
    things: &[Thing],
    demand: f64,
    by: &str,
) -> Vec<(f64, String)> {
    let mut sets: Vec<&Vec<bool>> = things
        .iter()
        .map(|t| &t.enters)
        .filter(|e| e.contains(&false))
        .collect();
    sets.sort();
    sets.dedup();
    let within =
        |set: &[bool], t: &Thing| t.enters.iter().zip(set).all(|(enters, of)| !enters || *of);
    let mut asked: Vec<(f64, &Vec<bool>)> = sets
        .into_iter()
        .map(|set| {
            let of_it = things
                .iter()
                .filter(|t| within(set, t))
                .map(Thing::need)
                .sum();
            (of_it, set)
        })
        .collect();
    asked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    asked
        .into_iter()
        .take(MOST_FITS)
        .map(|(of_it, set)| {
            let (cost, chosen) = cheapest(supplies, demand, (of_it, &|s| set[s]));
            let ids: Vec<&str> = supplies
                .iter()
                .zip(set)
                .filter(|(_, of)| **of)
                .map(|(s, _)| s.id)
                .collect();
            let names: Vec<String> = things
                .iter()
                .filter(|t| within(set, t))
                .map(|t| format!("`{}`", t.name))
                .collect();
            let reason = format!(
                "{} mm: layers and parts grown by {by} measure {} cm², and {} cm² of it ({}) enter no other sheets than {}; no cheaper sheets than {chosen} have as much within their edge margins: {}",
                class.name,
                        number::short((demand / 100.0).floor()),
                number::short((of_it / 100.0).floor()),
                names.join(", "),
                ids.join(", "),
                number::short(floored(cost))
            );
            (cost, reason)
        })
        .collect()
}

/// The sheets of a class that may be used.
fn supplies<'a>(prepared: &Prepared<'a>, class: usize) -> Vec<Supply<'a>> {
    let task = &prepared.task;
    let margin = task.cutter.edge_margin;
    let by = growth(prepared, class);
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
        out.push(Supply {
            id: &sheet.id,
            sheet: k,
            quantity: sheet.quantity,
            cost: sheet.cost,
            usable_mm2: room_area(used, margin, 2.0 * by),
            by_length: sheet.by_length,
            room: [length - 2.0 * margin, outline.depth() - 2.0 * margin],
        });
    }
    out
}
