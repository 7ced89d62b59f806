//! A sheet sold by length: shorter and shorter.
//!
//! The sheet is cut off a little shorter than the best layout, pieces behind a line move up, and passes loosen what
//! overlaps; between passes pieces that overlap and those about them give way all at once. Where that succeeds the pieces are
//! pushed together, all of them at once too, and the next length is tried. So they are where it does not, for a layout that
//! nearly held at one length may hold at a length between that and the best one; else two large pieces of a layout that
//! nearly held change places (*exploring*), or the best layout is taken again and shortened less (*pressing*).

use crate::geometry::point::Point;
use crate::model::nesting::Layout;
use crate::nest::loosen::arrangement::{Arrangement, Spot};
use crate::nest::loosen::ground::Ground;
use crate::nest::loosen::pass::{Desk, Effort, held};
use crate::nest::loosen::slide;
use crate::nest::loosen::tighten::{give_way, tighten};
use crate::nest::seed::Draws;

/// With fewer pieces than this a pass counts so many prices, at the least.
const FEW: usize = 8;
const PRICES_OF_FEW: u64 = 1000;
/// Passes without a better total that end an attempt, exploring and pressing.
const PATIENCE: [usize; 2] = [150, 100];
/// Attempts in a row without a better total that end a separation.
const STRIKES: [usize; 2] = [2, 3];
/// Shares by which the length falls: at first, exploring, pressing from and to.
const FIRST: f64 = 0.01;
const EXPLORE: f64 = 0.001;
const PRESS: (f64, f64) = (0.0005, 0.00001);
/// Places that a piece tries.
const EFFORT: Effort = Effort {
    anywhere: 6,
    nearby: 6,
    contacts: 12,
    refined: 2,
    steps: 12,
};
/// Effort that pieces giving way all at once may take, as a share of that of passes.
const TOGETHER: f64 = 0.3;
/// Near misses that are kept.
const POOL: usize = 24;

/// A search on one strip.
#[derive(Clone, Debug)]
pub(super) struct Strip {
    pub(super) now: Arrangement,
    desk: Desk,
    /// Least overlap of this separation, and where the pieces lay.
    least: (f64, Vec<Spot>),
    start_total: f64,
    idle: usize,
    strikes: usize,
    pool: Vec<(f64, Vec<Spot>)>,
    /// The shortest layout without overlap: its length and where the pieces lie.
    pub(super) best: (f64, Vec<Spot>),
    shrink: f64,
    pressing: bool,
    press: f64,
    /// Effort in prices that shifting all pieces at once may still take.
    owed: f64,
    /// Where the pieces lay before they gave way.
    spots: Vec<Spot>,
}

impl Strip {
    /// A search that begins with an arrangement without overlap.
    pub(super) fn new(now: Arrangement, ground: &Ground) -> Self {
        let mut out = Self {
            best: (f64::INFINITY, now.spots.clone()),
            least: (0.0, now.spots.clone()),
            now,
            desk: Desk::default(),
            start_total: 0.0,
            idle: 0,
            strikes: 0,
            pool: Vec::new(),
            shrink: FIRST,
            pressing: false,
            press: PRESS.0,
            owed: 0.0,
            spots: Vec::new(),
        };
        out.held_it(ground);
        out
    }

    /// Works until so many prices were asked.
    pub(super) fn work(&mut self, ground: &Ground, draws: &mut Draws, budget: u64, pressing: bool) {
        self.desk.asked = 0;
        if pressing != self.pressing {
            self.pressing = pressing;
            self.press = PRESS.0;
            self.again(ground, draws);
        }
        while self.desk.asked < budget {
            // Few pieces are soon priced: what is done besides counts for more.
            self.desk.asked += match self.now.len() {
                few if few < FEW => PRICES_OF_FEW,
                many => many as u64,
            };
            if self.now.total() <= 0.0 {
                self.held_it(ground);
                self.tighten(ground, draws);
                self.shorten(ground, draws);
                continue;
            }
            let before = self.desk.asked;
            self.desk.pass(&mut self.now, ground, draws, EFFORT);
            self.owed += TOGETHER * (self.desk.asked - before) as f64;
            if self.owed > 0.0 && self.now.total() > 0.0 {
                self.give_way(ground, draws);
            }
            self.after_pass(ground, draws);
        }
    }

    /// Takes over what another search found.
    pub(super) fn adopt(
        &mut self,
        ground: &Ground,
        length: f64,
        spots: &[Spot],
        draws: &mut Draws,
    ) {
        self.best = (length, spots.to_vec());
        if self.pressing {
            self.again(ground, draws);
        } else {
            // Its own arrangement goes on, shortened to what is now asked: searches stay different.
            self.shorten(ground, draws);
        }
    }

    /// Shortens the best layout anew.
    fn again(&mut self, ground: &Ground, draws: &mut Draws) {
        let spots = self.best.1.clone();
        self.now.slots[0].room.max.x = self.now.slots[0].room.min.x + self.best.0;
        self.now.take(ground, &spots);
        self.shorten(ground, draws);
    }

    /// No overlap is left: pieces are pushed together, the layout is kept.
    fn held_it(&mut self, ground: &Ground) {
        slide::left(&mut self.now, ground);
        let length = self.now.length();
        if length < self.best.0 {
            self.best = (length, self.now.spots.clone());
        }
    }

    /// Pieces that overlap and those about them give way all at once, where that makes their overlaps weigh less.
    fn give_way(&mut self, ground: &Ground, draws: &mut Draws) {
        let before = self.now.weighted_total();
        self.spots.clone_from(&self.now.spots);
        let mut asked = 0;
        give_way(&mut self.now, ground, draws, &mut asked);
        self.owed -= asked as f64;
        self.desk.asked += asked;
        if self.now.weighted_total() > before {
            self.now.take(ground, &self.spots);
        }
    }

    /// Shifts all pieces at once, on a strip as long as the best layout; whether that made a shorter one.
    fn tighten(&mut self, ground: &Ground, draws: &mut Draws) -> bool {
        let before = self.best.0;
        let room = &mut self.now.slots[0].room;
        room.max.x = room.min.x + before;
        if tighten(&mut self.now, ground, draws, &mut self.desk.asked) {
            self.held_it(ground);
        }
        self.best.0 < before
    }

    /// Cuts the strip off shorter than the best layout.
    fn shorten(&mut self, ground: &Ground, draws: &mut Draws) {
        let by = if self.pressing {
            self.press
        } else {
            self.shrink
        };
        let room = self.now.slots[0].room;
        let length = self.best.0 * (1.0 - by);
        let step = self.now.length() - length;
        let line = room.min.x + draws.unit() * length;
        self.now.slots[0].room.max.x = room.min.x + length;
        for i in 0..self.now.len() {
            let mut spot = self.now.spots[i];
            if self.now.boxes[i].center().x > line {
                spot.at = spot.at - Point::new(step, 0.0);
            }
            if let Some(spot) = held(&self.now, ground, spot) {
                self.now.spots[i] = spot;
            }
        }
        self.now.measure(ground);
        self.now.forget();
        self.begin();
    }

    fn begin(&mut self) {
        let total = self.now.total();
        self.least = (total, self.now.spots.clone());
        self.start_total = total;
        self.idle = 0;
        self.strikes = 0;
    }

    fn after_pass(&mut self, ground: &Ground, draws: &mut Draws) {
        let total = self.now.total();
        if total <= 0.0 {
            return;
        }
        let mode = usize::from(self.pressing);
        if total < 0.98 * self.least.0 {
            self.idle = 0;
        } else {
            self.idle += 1;
        }
        if total < self.least.0 {
            self.least.0 = total;
            self.least.1.copy_from_slice(&self.now.spots);
        }
        self.now.weigh();
        if self.idle < PATIENCE[mode] {
            return;
        }
        if self.least.0 < 0.98 * self.start_total {
            self.strikes = 0;
        } else {
            self.strikes += 1;
        }
        self.start_total = self.least.0;
        self.idle = 0;
        let spots = std::mem::take(&mut self.least.1);
        self.now.take(ground, &spots);
        let room = self.now.slots[0].room;
        if self.tighten(ground, draws) {
            self.least.1 = spots;
            self.shorten(ground, draws);
            return;
        }
        self.now.slots[0].room = room;
        self.now.take(ground, &spots);
        self.least.1 = spots;
        if self.strikes >= STRIKES[mode] {
            self.failed(ground, draws);
        }
    }

    /// The separation is given up.
    fn failed(&mut self, ground: &Ground, draws: &mut Draws) {
        if self.pressing {
            self.press = (self.press * 0.7).max(PRESS.1);
            self.again(ground, draws);
            return;
        }
        if self.shrink > EXPLORE {
            self.shrink = (self.shrink * 0.3).max(EXPLORE);
            self.again(ground, draws);
            return;
        }
        let miss = (self.least.0, self.least.1.clone());
        let at = self.pool.partition_point(|p| p.0 <= miss.0);
        self.pool.insert(at, miss);
        self.pool.truncate(POOL);
        // Small overlaps are favoured: the product of two draws.
        let k = ((draws.unit() * draws.unit()) * self.pool.len() as f64) as usize;
        let spots = self.pool[k.min(self.pool.len() - 1)].1.clone();
        for (i, spot) in spots.into_iter().enumerate() {
            // It may come from a longer strip.
            self.now.spots[i] = held(&self.now, ground, spot).unwrap_or(spot);
        }
        self.now.measure(ground);
        self.swap_large(ground, draws);
        self.now.forget();
        self.begin();
    }

    /// Two large pieces change places: middle to middle.
    fn swap_large(&mut self, ground: &Ground, draws: &mut Draws) {
        let n = self.now.len();
        let mut order: Vec<usize> = (0..n).collect();
        let area = |i: &usize| ground.areas[self.now.items[*i]];
        order.sort_by(|a, b| area(b).total_cmp(&area(a)).then(a.cmp(b)));
        let large = n.div_ceil(3).max(2).min(n);
        if n < 2 {
            return;
        }
        let p = order[draws.below(large)];
        let mut q = order[draws.below(large)];
        for _ in 0..8 {
            if q != p && (area(&q) - area(&p)).abs() > 1e-9 {
                break;
            }
            q = order[draws.below(n)];
        }
        let (cp, cq) = (self.now.boxes[p].center(), self.now.boxes[q].center());
        for (i, to) in [(p, cq), (q, cp)] {
            let spot = self.now.spots[i];
            let moved = Spot {
                at: spot.at + (to - self.now.boxes[i].center()),
                ..spot
            };
            if let Some(moved) = held(&self.now, ground, moved) {
                self.now.put(ground, i, moved);
            }
        }
    }

    /// The best layout.
    pub(super) fn layout(&self, ground: &Ground) -> Layout {
        let mut best = self.now.clone();
        best.spots.copy_from_slice(&self.best.1);
        best.layout(ground)
    }
}
