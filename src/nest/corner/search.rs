//! Filling the front-most gap, corner by corner.
//!
//! What is laid has an outline of *ledges*, from one side of the strip to the other; the front-most ledge is a gap between two
//! walls. A piece is laid in the corner at its first wall, or the gap is closed up to the nearer wall and counts as waste.

use crate::nest::corner::plate::{Laid, Plate, Way};
use crate::nest::seed::Draws;

/// A stretch across the strip that is covered up to the same place along it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ledge {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) at: i64,
}

/// One attempt at one length.
#[derive(Debug)]
pub(super) struct Search<'a> {
    plate: &'a Plate,
    length: i64,
    waste: i128,
    left: u64,
    allowed: u64,
    noise: f64,
    free: Vec<bool>,
    laid: Vec<Laid>,
}

impl<'a> Search<'a> {
    /// An attempt to reach a length within so many branches.
    pub(super) fn new(plate: &'a Plate, length: i64, allowed: u64, draws: &mut Draws) -> Self {
        Self {
            plate,
            length,
            waste: i128::from(length) * i128::from(plate.breadth) - plate.area,
            left: allowed,
            allowed,
            noise: 3.0 * draws.unit(),
            free: vec![true; plate.ways.len()],
            laid: Vec::with_capacity(plate.ways.len()),
        }
    }

    /// Whether all pieces were laid.
    pub(super) fn run(&mut self, draws: &mut Draws) -> bool {
        let whole = Ledge {
            from: 0,
            to: self.plate.breadth,
            at: 0,
        };
        self.waste >= 0 && self.fill(vec![whole], self.waste, draws)
    }

    /// Branches that were visited.
    pub(super) fn visited(&self) -> u64 {
        self.allowed - self.left
    }

    /// What is laid.
    pub(super) fn laid(&self) -> &[Laid] {
        &self.laid
    }

    fn fill(&mut self, ledges: Vec<Ledge>, waste: i128, draws: &mut Draws) -> bool {
        if self.laid.len() == self.free.len() {
            return true;
        }
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        let Some(k) = (0..ledges.len()).min_by_key(|&k| (ledges[k].at, k)) else {
            return false;
        };
        let gap = ledges[k];
        let walls = [
            k.checked_sub(1).map_or(self.length, |b| ledges[b].at),
            ledges.get(k + 1).map_or(self.length, |l| l.at),
        ];
        if !self.can_be_filled(gap, waste) {
            return false;
        }
        let of = Gap {
            ledge: gap,
            walls,
            length: self.length,
        };
        let pieces = (&self.plate.ways[..], &self.free[..]);
        for (_, item, way) in choices(pieces, of, (self.noise, None), draws) {
            let w = &self.plate.ways[item][way];
            let next = raised(&ledges, k, w.across, gap.at + w.along);
            self.free[item] = false;
            self.laid.push(Laid {
                item,
                way,
                along: gap.at,
                across: gap.from,
            });
            if self.fill(next, waste, draws) {
                return true;
            }
            self.laid.pop();
            self.free[item] = true;
        }
        let wall = walls[0].min(walls[1]);
        let lost = i128::from(wall - gap.at) * i128::from(gap.to - gap.from);
        wall < self.length
            && lost <= waste
            && self.fill(
                raised(&ledges, k, gap.to - gap.from, wall),
                waste - lost,
                draws,
            )
    }

    /// Whether what is left can cover the gap's breadth but for the waste allowed, told by sums of extents.
    fn can_be_filled(&self, gap: Ledge, waste: i128) -> bool {
        let step = self.plate.step;
        let breadth = (gap.to - gap.from) / step;
        if breadth > 127 {
            return true;
        }
        let mut sums = 1_u128;
        for (item, _) in self.free.iter().enumerate().filter(|(_, free)| **free) {
            let before = sums;
            for w in &self.plate.ways[item] {
                let extent = w.across / step;
                if extent <= breadth {
                    sums |= before << extent;
                }
            }
        }
        let below = sums & (u128::MAX >> (127 - breadth));
        let reached = 127 - i64::from(below.leading_zeros());
        i128::from((breadth - reached) * step) * i128::from(step) <= waste
    }
}

/// A gap, the walls at its two sides, and where the sheet ends.
#[derive(Clone, Copy)]
pub(super) struct Gap {
    pub(super) ledge: Ledge,
    pub(super) walls: [i64; 2],
    pub(super) length: i64,
}

/// Pieces that fit into a gap in their ways, likeliest first; of equal extents one. What leaves no more than `slip` beside it, or
/// before the sheet's end, is as good as exact; with none nothing is but what is exact.
pub(super) fn choices(
    (ways, free): (&[Vec<Way>], &[bool]),
    gap: Gap,
    (noise, slip): (f64, Option<i64>),
    draws: &mut Draws,
) -> Vec<(f64, usize, usize)> {
    let room = gap.ledge.to - gap.ledge.from;
    let is_near = |by: i64| slip.is_some_and(|slip| (0..=slip).contains(&by));
    let mut seen: Vec<(i64, i64)> = Vec::new();
    let mut out = Vec::new();
    for (item, _) in free.iter().enumerate().filter(|(_, free)| **free) {
        for (way, w) in ways[item].iter().enumerate() {
            let size = (w.along, w.across);
            let end = gap.ledge.at + w.along;
            if w.across > room || end > gap.length || seen.contains(&size) {
                continue;
            }
            seen.push(size);
            let fills = w.across == room || is_near(room - w.across);
            let ends = gap.walls.contains(&end) || is_near(gap.length - end);
            let mut worth = w.across as f64 / room as f64 + noise * draws.unit();
            worth += f64::from(u8::from(fills));
            worth += f64::from(u8::from(ends));
            worth += w.along as f64 / gap.length as f64;
            out.push((worth, item, way));
        }
    }
    out.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    out
}

/// The outline after the first `across` of ledge `k` was raised; neighbours at one place become one.
pub(super) fn raised(ledges: &[Ledge], k: usize, across: i64, at: i64) -> Vec<Ledge> {
    let gap = ledges[k];
    let middle = gap.from + across;
    let parts = [
        Ledge {
            to: middle,
            at,
            ..gap
        },
        Ledge {
            from: middle,
            ..gap
        },
    ];
    let mut out: Vec<Ledge> = Vec::with_capacity(ledges.len() + 1);
    let after = &ledges[k + 1..];
    for l in ledges[..k].iter().chain(&parts).chain(after) {
        match out.last_mut() {
            _ if l.from == l.to => {}
            Some(last) if last.at == l.at => last.to = l.to,
            _ => out.push(*l),
        }
    }
    out
}
