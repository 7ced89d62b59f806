//! The certificate: every rule of a layout, on true lines and arcs, from the poses as written.
//!
//! It shares no search structure with construction: shapes are posed anew from the problem, every pair on a sheet is
//! compared, turns are judged from the written degrees.

use std::collections::BTreeMap;

use crate::geometry::bounds::Bounds;
use crate::geometry::distance;
use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::tolerance::CERTIFIED;
use crate::model::cutter::Turns;
use crate::model::nesting::{Conflict, Item, Layout, Placed, Problem, SheetUse, Stock};
use crate::nest::collision::{overlap, protrusion};
use crate::nest::orientation::Body;

/// How far a written turn may lie from a whole step, in degrees: the last digit written.
const TURN: f64 = 1e-9;

/// Checks a layout.
///
/// # Errors
/// What breaks a rule: an item placed twice or not at all, a sheet of another class or more sheets than there are, a turn or
/// face that is not allowed (depth 0, no edge), a distance that falls short (its depth, and the way out).
pub fn certify(problem: &Problem, layout: &Layout) -> Result<(), Vec<Conflict>> {
    let mut found = counts(problem, layout);
    let mut on: BTreeMap<SheetUse, Vec<(usize, Region, Body)>> = BTreeMap::new();
    for p in &layout.placed {
        let (item, stock) = (&problem.items[p.item], &problem.stock[p.sheet.stock]);
        if item.class != stock.class
            || p.sheet.number >= stock.quantity
            || !turn_allowed(item, stock, p)
            || (p.pose.mirrored && !problem.flip)
        {
            found.push(rule(p.item));
        }
        let region = item.shape.posed(p.pose);
        let body = Body::new(&region);
        on.entry(p.sheet).or_default().push((p.item, region, body));
    }
    for (sheet, shapes) in &on {
        let stock = &problem.stock[sheet.stock];
        let parts: Vec<(&Region, Body)> = stock.region.iter().map(|r| (r, Body::new(r))).collect();
        for (k, (item, region, body)) in shapes.iter().enumerate() {
            found.extend(off_sheet(problem, stock, &parts, *item, region, body));
            for (other, other_region, other_body) in &shapes[..k] {
                let _ = other;
                found.extend(too_near(
                    problem.spacing,
                    *item,
                    (region, body),
                    (other_region, other_body),
                ));
            }
        }
    }
    if found.is_empty() { Ok(()) } else { Err(found) }
}

fn rule(item: usize) -> Conflict {
    Conflict {
        item,
        edge: SourceId::default(),
        depth: 0.0,
        normal: Point::default(),
    }
}

/// Items that are placed twice, or have to be placed and are not.
fn counts(problem: &Problem, layout: &Layout) -> Vec<Conflict> {
    let mut n = vec![0_usize; problem.items.len()];
    for p in &layout.placed {
        n[p.item] += 1;
    }
    n.iter()
        .enumerate()
        .filter(|(k, n)| **n > 1 || (**n == 0 && !problem.items[*k].fill))
        .map(|(k, _)| rule(k))
        .collect()
}

fn turn_allowed(item: &Item, stock: &Stock, placed: &Placed) -> bool {
    let deg = placed.pose.rotation.degrees();
    let whole = |step: f64, from: f64| {
        let off = (deg - from).rem_euclid(step);
        off.min(step - off) <= TURN
    };
    match (item.grain, stock.grain) {
        (Some(own), Some(along)) => whole(180.0, if own == along { 0.0 } else { 90.0 }),
        _ => match item.turns {
            Turns::None => whole(360.0, 0.0),
            Turns::Half => whole(180.0, 0.0),
            Turns::Quarter => whole(90.0, 0.0),
            Turns::Any => true,
        },
    }
}

/// A shape that leaves its sheet, or comes too near to its edge or to where the cutter ends.
fn off_sheet(
    problem: &Problem,
    stock: &Stock,
    parts: &[(&Region, Body)],
    item: usize,
    region: &Region,
    body: &Body,
) -> Option<Conflict> {
    let margin = problem.edge_margin;
    let left = parts
        .iter()
        .map(|(_, b)| b.bounds.min.x)
        .fold(f64::INFINITY, f64::min);
    if stock.by_length.is_some()
        && body.bounds.max.x + margin > left + stock.usable_length + CERTIFIED
    {
        return Some(rule(item));
    }
    let short = parts
        .iter()
        .map(|(part, sheet)| {
            let out = protrusion(&body.edges, &sheet.edges);
            if out > CERTIFIED || margin <= CERTIFIED {
                return out;
            }
            margin - nearest(region, part, margin).map_or(margin, |n| n.0)
        })
        .fold(f64::INFINITY, f64::min);
    (short > CERTIFIED).then(|| Conflict {
        depth: short,
        ..rule(item)
    })
}

/// The least distance of two edges, and which they are; `None` where it is no less than `limit`. Every pair is looked at, but for
/// those whose boxes lie so far apart.
fn nearest<'a>(a: &'a Region, b: &'a Region, limit: f64) -> Option<(f64, &'a Edge, &'a Edge)> {
    let boxed: Vec<(&Edge, Bounds)> = b.edges().map(|f| (f, f.bounds())).collect();
    let mut found: Option<(f64, &Edge, &Edge)> = None;
    for e in a.edges() {
        let around = e.bounds();
        for (f, bounds) in &boxed {
            let below = found.map_or(limit, |n| n.0);
            if distance::box_box(around, *bounds) >= below {
                continue;
            }
            let d = distance::edge_edge(e, f);
            if d < below {
                found = Some((d, e, f));
            }
        }
    }
    found
}

/// Two shapes nearer than the spacing.
fn too_near(
    spacing: f64,
    item: usize,
    a: (&Region, &Body),
    b: (&Region, &Body),
) -> Option<Conflict> {
    if distance::box_box(a.1.bounds, b.1.bounds) >= spacing.max(CERTIFIED) {
        return None;
    }
    let deep = overlap(&a.1.edges, &b.1.edges);
    if deep > CERTIFIED {
        return Some(Conflict {
            depth: deep + spacing,
            ..rule(item)
        });
    }
    let (d, e, f) = nearest(a.0, b.0, spacing)?;
    (d < spacing - CERTIFIED).then(|| Conflict {
        item,
        edge: e.source,
        depth: spacing - d,
        normal: (e.at(0.5) - f.at(0.5)).unit(),
    })
}
