//! One pass: every piece that overlaps looks for a better place, in random order, and moves at once.
//!
//! Places tried: anywhere, nearby, straight out of what it overlaps, and *contacts*: crossings of two lines along which it
//! would just touch (two neighbours, or a neighbour and the sheet's edge). The best few are refined step by step along x
//! and y. The price of a place is the weighted overlap there; adding up stops where a price exceeds the best known.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::nest::loosen::arrangement::{Arrangement, Spot, written};
use crate::nest::loosen::ground::Ground;
use crate::nest::seed::Draws;

/// How many places of each sort are tried for a piece.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Effort {
    pub(super) anywhere: usize,
    pub(super) nearby: usize,
    pub(super) contacts: usize,
    /// Of all places tried so many are refined, by so many steps at the most.
    pub(super) refined: usize,
    pub(super) steps: usize,
}

/// Tries to find a contact.
const TRIES: usize = 6;

/// Kept between moves, so that none allocates.
#[derive(Clone, Debug, Default)]
pub(super) struct Desk {
    order: Vec<usize>,
    best: Vec<(f64, Spot)>,
    /// Prices asked.
    pub(super) asked: u64,
    effort: Effort,
}

impl Desk {
    /// Moves every piece that overlaps once.
    pub(super) fn pass(
        &mut self,
        a: &mut Arrangement,
        ground: &Ground,
        draws: &mut Draws,
        effort: Effort,
    ) {
        self.effort = effort;
        self.order.clear();
        self.order.extend((0..a.len()).filter(|&i| a.overlaps(i)));
        draws.shuffle(&mut self.order);
        for k in 0..self.order.len() {
            let i = self.order[k];
            if a.overlaps(i) {
                self.move_one(a, ground, i, draws, effort);
            }
        }
    }

    fn move_one(
        &mut self,
        a: &mut Arrangement,
        ground: &Ground,
        i: usize,
        draws: &mut Draws,
        effort: Effort,
    ) {
        let here = a.spots[i];
        let burden = a.burden(i);
        self.best.clear();
        self.best.push((burden, here));
        for _ in 0..effort.anywhere {
            if let Some(spot) = anywhere(a, ground, i, draws) {
                self.ask(a, ground, i, spot);
            }
        }
        for _ in 0..effort.nearby {
            if let Some(spot) = nearby(a, ground, here, draws) {
                self.ask(a, ground, i, spot);
            }
        }
        for _ in 0..effort.contacts {
            if let Some(spot) = contact(a, ground, i, draws) {
                self.ask(a, ground, i, spot);
            }
        }
        for k in 0..self.best.len() {
            let (price, spot) = self.best[k];
            self.best[k] = self.refine(a, ground, i, spot, price);
        }
        let mut top = (burden, here);
        for &found in &self.best {
            if found.0 < top.0 {
                top = found;
            }
        }
        if top.1 != here {
            a.put(ground, i, top.1);
        }
    }

    /// Asks for the price of a place and keeps it among the best.
    fn ask(&mut self, a: &Arrangement, ground: &Ground, i: usize, spot: Spot) {
        let limit = if self.best.len() <= self.effort.refined {
            f64::INFINITY
        } else {
            self.best[self.best.len() - 1].0
        };
        let price = a.price(ground, i, spot, limit);
        self.asked += 1;
        if price >= limit {
            return;
        }
        let at = self.best.partition_point(|b| b.0 <= price);
        if at > 0 && self.best[at - 1].1 == spot {
            return;
        }
        self.best.insert(at, (price, spot));
        self.best.truncate(self.effort.refined + 1);
    }

    /// Steps along x and y, longer after a success and shorter after a failure; first straight out of an overlap.
    fn refine(
        &mut self,
        a: &Arrangement,
        ground: &Ground,
        i: usize,
        from: Spot,
        price: f64,
    ) -> (f64, Spot) {
        let mut best = (price, from);
        let size = ground.ways[from.way].bounds;
        let mut step = [0.05 * size.width(), 0.05 * size.depth()];
        let least = 1e-4 * (size.width() + size.depth());
        for k in 0..self.effort.steps {
            if best.0 <= 0.0 {
                break;
            }
            if k % 4 == 0
                && let Some(out) = self.step_out(a, ground, i, best)
            {
                best = out;
                continue;
            }
            let axis = k % 2;
            if step[axis] < least {
                if step[1 - axis] < least {
                    break;
                }
                continue;
            }
            let mut better = false;
            for sign in [1.0, -1.0] {
                let way = if axis == 0 {
                    Point::new(sign * step[0], 0.0)
                } else {
                    Point::new(0.0, sign * step[1])
                };
                let spot = Spot {
                    at: best.1.at + way,
                    ..best.1
                };
                let Some(spot) = held(a, ground, spot) else {
                    continue;
                };
                let p = a.price(ground, i, spot, best.0);
                self.asked += 1;
                if p < best.0 {
                    best = (p, spot);
                    better = true;
                    break;
                }
            }
            step[axis] *= if better { 1.2 } else { 0.4 };
        }
        best
    }

    /// Straight out of the deepest overlap with one of the pieces met there, where that is better.
    fn step_out(
        &mut self,
        a: &Arrangement,
        ground: &Ground,
        i: usize,
        from: (f64, Spot),
    ) -> Option<(f64, Spot)> {
        let own = ground.ways[from.1.way].bounds.moved(from.1.at);
        let mut found = None;
        a.near(own, |j| {
            if j == i {
                return ControlFlow::Continue(());
            }
            let o = a.spots[j];
            let step = ground.table.way_out(o.way, from.1.way, from.1.at - o.at);
            let Some(spot) = step.and_then(|step| {
                let at = from.1.at + step;
                held(a, ground, Spot { at, ..from.1 })
            }) else {
                return ControlFlow::Continue(());
            };
            let p = a.price(ground, i, spot, from.0);
            self.asked += 1;
            if p < from.0 {
                found = Some((p, spot));
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        });
        found
    }
}

/// Where a way's origin may lie on a slot.
fn range(a: &Arrangement, ground: &Ground, slot: usize, way: usize) -> Option<Bounds> {
    let (room, own) = (a.slots[slot].room, ground.ways[way].bounds);
    let range = Bounds::new(room.min - own.min, room.max - own.max);
    // A piece as large as the room has one place, whatever the rounding.
    let mut fixed = range;
    if fixed.width() < 0.0 {
        if fixed.width() < -1e-6 {
            return None;
        }
        fixed.max.x = fixed.min.x;
    }
    if fixed.depth() < 0.0 {
        if fixed.depth() < -1e-6 {
            return None;
        }
        fixed.max.y = fixed.min.y;
    }
    Some(fixed)
}

/// A spot brought into its room, its place as a plan writes it.
pub(super) fn held(a: &Arrangement, ground: &Ground, spot: Spot) -> Option<Spot> {
    let range = range(a, ground, spot.slot, spot.way)?;
    let at = Point::new(
        written(spot.at.x.clamp(range.min.x, range.max.x)),
        written(spot.at.y.clamp(range.min.y, range.max.y)),
    );
    Some(Spot { at, ..spot })
}

/// A slot and a way for a piece.
fn drawn_way(
    a: &Arrangement,
    ground: &Ground,
    i: usize,
    draws: &mut Draws,
) -> Option<(usize, usize)> {
    let slot = if a.slots.len() > 1 {
        draws.below(a.slots.len())
    } else {
        0
    };
    let (first, n) = ground.boards[a.slots[slot].sheet.stock].ways[a.items[i]];
    (n > 0).then(|| (slot, first + if n > 1 { draws.below(n) } else { 0 }))
}

/// A place anywhere.
pub(super) fn anywhere(
    a: &Arrangement,
    ground: &Ground,
    i: usize,
    draws: &mut Draws,
) -> Option<Spot> {
    let (slot, way) = drawn_way(a, ground, i, draws)?;
    let r = range(a, ground, slot, way)?;
    let at = Point::new(
        r.min.x + draws.unit() * r.width(),
        r.min.y + draws.unit() * r.depth(),
    );
    held(a, ground, Spot { way, slot, at })
}

/// A place near the one where it lies.
fn nearby(a: &Arrangement, ground: &Ground, here: Spot, draws: &mut Draws) -> Option<Spot> {
    let size = ground.ways[here.way].bounds;
    let reach = if draws.chance(0.5) { 0.1 } else { 0.5 };
    let at = here.at
        + Point::new(
            (draws.unit() - 0.5) * 2.0 * reach * size.width(),
            (draws.unit() - 0.5) * 2.0 * reach * size.depth(),
        );
    held(a, ground, Spot { at, ..here })
}

/// A place where the piece just touches two things.
fn contact(a: &Arrangement, ground: &Ground, i: usize, draws: &mut Draws) -> Option<Spot> {
    let n = a.len();
    let (slot, way) = if draws.chance(0.5) {
        (a.spots[i].slot, a.spots[i].way)
    } else {
        drawn_way(a, ground, i, draws)?
    };
    let r = range(a, ground, slot, way)?;
    if n < 2 {
        return None;
    }
    for _ in 0..TRIES {
        let c = draws.below(n);
        if c == i || a.spots[c].slot != slot {
            continue;
        }
        let Some(first) = line(a, ground, c, way, draws) else {
            continue;
        };
        let at = if draws.chance(0.3) {
            at_edge(first, r, draws)
        } else {
            second(a, ground, [i, c], way, draws)
                .and_then(|d| line(a, ground, d, way, draws))
                .and_then(|s| crossing(first, s))
                .or(Some(first.0))
        };
        if let Some(at) = at
            && r.grown(1e-6).holds(at)
        {
            return held(a, ground, Spot { way, slot, at });
        }
    }
    None
}

/// An edge along which a piece turned so just touches another.
fn line(
    a: &Arrangement,
    ground: &Ground,
    c: usize,
    way: usize,
    draws: &mut Draws,
) -> Option<(Point, Point)> {
    let spot = a.spots[c];
    let (from, to) = ground.table.contact(spot.way, way, |n| draws.below(n))?;
    Some((from + spot.at, to + spot.at))
}

/// A neighbour of `c` that a piece touching `c` may touch too.
fn second(
    a: &Arrangement,
    ground: &Ground,
    not: [usize; 2],
    way: usize,
    draws: &mut Draws,
) -> Option<usize> {
    let own = ground.ways[way].bounds;
    let near = Bounds::new(
        a.boxes[not[1]].min - Point::new(own.width(), own.depth()),
        a.boxes[not[1]].max + Point::new(own.width(), own.depth()),
    );
    (0..TRIES).find_map(|_| {
        let d = draws.below(a.len());
        (!not.contains(&d) && a.boxes[d].touches(near)).then_some(d)
    })
}

/// Where an edge crosses a side of the range; else one of its ends brought to that side.
fn at_edge(first: (Point, Point), r: Bounds, draws: &mut Draws) -> Option<Point> {
    let side = draws.below(4);
    let (p, q) = first;
    let share = match side {
        0 => (r.min.y - p.y) / (q.y - p.y),
        1 => (r.max.y - p.y) / (q.y - p.y),
        2 => (r.min.x - p.x) / (q.x - p.x),
        _ => (r.max.x - p.x) / (q.x - p.x),
    };
    (0.0..=1.0).contains(&share).then(|| p.toward(q, share))
}

/// Where two segments cross.
fn crossing(a: (Point, Point), b: (Point, Point)) -> Option<Point> {
    let (u, v) = (a.1 - a.0, b.1 - b.0);
    let cross = u.cross(v);
    if cross.abs() < 1e-9 * (u.length_squared() + v.length_squared()) {
        return None;
    }
    let s = (b.0 - a.0).cross(v) / cross;
    let t = (b.0 - a.0).cross(u) / cross;
    let within = |k: f64| (-1e-9..=1.0 + 1e-9).contains(&k);
    (within(s) && within(t)).then(|| a.0.toward(a.1, s))
}
