//! Pieces that do not overlap pushed together until they touch.

use crate::geometry::point::Point;
use crate::nest::loosen::arrangement::{Arrangement, Spot, written};
use crate::nest::loosen::ground::Ground;
use crate::nest::loosen::pass::held;

/// Sweeps over all pieces, at the most.
const SWEEPS: usize = 4;

/// Pushes every piece to the left as far as it goes, the leftmost first, until nothing moves.
pub(super) fn left(a: &mut Arrangement, ground: &Ground) {
    let mut order: Vec<usize> = (0..a.len()).collect();
    for _ in 0..SWEEPS {
        order.sort_by(|&p, &q| {
            a.boxes[p]
                .min
                .x
                .total_cmp(&a.boxes[q].min.x)
                .then(p.cmp(&q))
        });
        let mut moved = false;
        for &i in &order {
            moved |= push(a, ground, i, Point::new(-1.0, 0.0));
        }
        if !moved {
            break;
        }
    }
}

/// Pushes one piece along an axis; whether it moved.
fn push(a: &mut Arrangement, ground: &Ground, i: usize, along: Point) -> bool {
    let spot = a.spots[i];
    let own = a.boxes[i];
    let room = a.slots[spot.slot].room;
    let mut free = own.min.x - room.min.x;
    for j in 0..a.len() {
        let other = a.boxes[j];
        if j == i
            || other.min.y >= own.max.y
            || other.max.y <= own.min.y
            || other.min.x >= own.max.x
        {
            continue;
        }
        let o = a.spots[j];
        free = ground
            .table
            .clear_way(o.way, spot.way, spot.at - o.at, along, free);
        if free < 1e-6 {
            return false;
        }
    }
    let slot = &a.slots[spot.slot];
    if let Some(bar) = ground.boards[slot.sheet.stock].bar {
        free = ground
            .table
            .clear_way(bar, spot.way, spot.at - slot.offset, along, free);
    }
    // Rounding may fall short of contact, never beyond.
    for rest in [0.0, 1e-6] {
        let at = spot.at + along * (free - rest);
        let at = Point::new(written(at.x), written(at.y));
        let Some(to) = held(a, ground, Spot { at, ..spot }) else {
            continue;
        };
        if to.at.distance(spot.at) >= 1e-6 && a.price(ground, i, to, f64::INFINITY) == 0.0 {
            a.put(ground, i, to);
            return true;
        }
    }
    false
}
