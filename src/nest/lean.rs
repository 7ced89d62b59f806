//! Turns at which an item enters a sheet that it enters along none of its edges, as a long bar enters a sheet corner to corner.
//!
//! In: a problem. Out: by kind of item such turns, none for most. An item's extents are measured at every whole degree; where
//! it exceeds a sheet's room at all turns that are tried anyway, the turn is refined at which it exceeds it least. That it
//! enters is told by boxes alone; whether it has room there the search finds.

use std::collections::BTreeMap;

use crate::geometry::region::Region;
use crate::geometry::transform::{Pose, Rotation};
use crate::geometry::{bounds::Bounds, point::Point};
use crate::model::cutter::Turns;
use crate::model::nesting::{Item, Problem};
use crate::nest::orientation::turns;

/// Degrees of a half turn: extents are the same after it.
const HALF: usize = 180;
/// Halvings of the step in which a turn is refined.
const HALVINGS: usize = 30;
/// Turns that a kind may get, at the most.
const MOST: usize = 4;

/// Turns in degrees by kind of item, beside the usual ones.
pub(crate) fn leaning(problem: &Problem) -> BTreeMap<usize, Vec<f64>> {
    let mut out: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for item in problem.items.iter().filter(|i| i.turns == Turns::Any) {
        out.entry(item.kind)
            .or_insert_with(|| of_item(problem, item));
    }
    out
}

fn of_item(problem: &Problem, item: &Item) -> Vec<f64> {
    let mut out = Vec::new();
    let mut extents: Option<Vec<Point>> = None;
    for stock in &problem.stock {
        let is_free = item.grain.is_none() || stock.grain.is_none();
        if stock.class != item.class || stock.quantity == 0 || !is_free || out.len() >= MOST {
            continue;
        }
        let box_of = stock.region.iter().map(Region::bounds);
        let sheet = box_of.fold(Bounds::EMPTY, Bounds::join);
        let margin = 2.0 * problem.edge_margin;
        let length = stock
            .by_length
            .map_or(sheet.width(), |_| stock.usable_length);
        let room = Point::new(length - margin, sheet.depth() - margin);
        let known = turns(item, stock.grain, &out);
        let enters = |deg: f64| excess(size(item, deg), room) <= 0.0;
        if known.into_iter().any(enters) {
            continue;
        }
        let extents =
            extents.get_or_insert_with(|| (0..HALF).map(|d| size(item, d as f64)).collect());
        let over: Vec<f64> = extents.iter().map(|s| excess(*s, room)).collect();
        let mut least: Option<(f64, f64)> = None;
        for d in 0..HALF {
            // Between two whole degrees an extent is bent upwards or has a corner downwards, so the least lies beside a least degree.
            if over[d] <= over[(d + HALF - 1) % HALF] && over[d] <= over[(d + 1) % HALF] {
                let found = refined(item, room, d as f64, over[d]);
                if least.is_none_or(|l| found.1 < l.1) {
                    least = Some(found);
                }
            }
        }
        if let Some((deg, e)) = least
            && e <= 0.0
        {
            out.extend([deg, deg + HALF as f64]);
        }
    }
    out
}

/// The turn near a whole degree at which an item exceeds a room least, and by how much.
fn refined(item: &Item, room: Point, deg: f64, over: f64) -> (f64, f64) {
    let mut best = (deg, over);
    let mut step = 0.5;
    for _ in 0..HALVINGS {
        for to in [best.0 - step, best.0 + step] {
            let e = excess(size(item, to), room);
            if e < best.1 {
                best = (to, e);
            }
        }
        step /= 2.0;
    }
    best
}

/// By how much an extent exceeds a room, the greater of both ways.
fn excess(size: Point, room: Point) -> f64 {
    (size.x - room.x).max(size.y - room.y)
}

/// An item's extents after a turn.
fn size(item: &Item, deg: f64) -> Point {
    let pose = Pose {
        mirrored: false,
        rotation: Rotation::from_degrees(deg),
        shift: Point::new(0.0, 0.0),
    };
    let b = item.shape.outer().posed(pose).bounds();
    Point::new(b.width(), b.depth())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::ring::Ring;
    use crate::geometry::{angle, units};
    use crate::model::nesting::Stock;

    fn bar_on(w: f64, d: f64, turns: Turns) -> Vec<f64> {
        let block = |w, d| {
            let b = Bounds::new(Point::new(0.0, 0.0), Point::new(w, d));
            Region::solid(Ring::rounded_box(b, 0.0, SourceId(0)))
        };
        let item = Item {
            shape: block(286.8, 20.0),
            nominal_area_mm2: 5736.0,
            kind: 3,
            class: 0,
            turns,
            grain: None,
            fill: false,
        };
        let stock = Stock {
            region: vec![block(w, d)],
            class: 0,
            quantity: 1,
            cost: 1.0,
            by_length: None,
            usable_length: w,
            grain: None,
        };
        let problem = Problem {
            items: vec![item],
            stock: vec![stock],
            spacing: 0.0,
            edge_margin: 0.0,
            flip: false,
            remnant: [100.0, 100.0],
        };
        leaning(&problem).remove(&3).unwrap_or_default()
    }

    #[test]
    fn a_bar_leans_where_it_enters_only_so() {
        // 286.8 × 20 turned by a: 286.8 cos a + 20 sin a ≤ 250 and 286.8 sin a + 20 cos a ≤ 190. At 36° these are 243.8 and 184.8.
        let found = bar_on(250.0, 190.0, Turns::Any);
        assert_eq!(found.len(), 2);
        let (sin, cos) = angle::sin_cos(units::radians(found[0]));
        let (sin, cos) = (sin.abs(), cos.abs());
        assert!(
            286.8 * cos + 20.0 * sin <= 250.0 && 286.8 * sin + 20.0 * cos <= 190.0,
            "{found:?}"
        );
        assert!((found[1] - found[0] - 180.0).abs() < 1e-9);
    }

    #[test]
    fn it_does_not_where_it_need_not_may_not_or_cannot() {
        assert!(
            bar_on(300.0, 190.0, Turns::Any).is_empty(),
            "enters straight"
        );
        assert!(bar_on(250.0, 190.0, Turns::Quarter).is_empty(), "may not");
        assert!(
            bar_on(200.0, 190.0, Turns::Any).is_empty(),
            "its diagonal is longer than the sheet's"
        );
    }
}
