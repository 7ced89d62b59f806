//! Which boxes may meet a box: sets of boxes by columns and rows, in bits.
//!
//! For every column there is the set of boxes that begin in it or before, and the set of those that end in it or after; for rows
//! likewise. Four sets in common are the boxes that may meet one: a few words for a hundred boxes.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;

/// Columns, and rows.
const BANDS: usize = 96;

/// Sets of boxes along one axis.
#[derive(Clone, Debug, Default)]
struct Axis {
    from: f64,
    /// Bands a millimetre.
    rate: f64,
    /// By band and word: the boxes that begin there or before; those that end there or after.
    begun: Vec<u64>,
    ending: Vec<u64>,
}

/// Sets of boxes.
#[derive(Clone, Debug, Default)]
pub(super) struct Near {
    words: usize,
    x: Axis,
    y: Axis,
}

impl Axis {
    fn new(words: usize, from: f64, to: f64) -> Self {
        Self {
            from,
            rate: BANDS as f64 / (to - from).max(1e-9),
            begun: vec![0; BANDS * words],
            ending: vec![0; BANDS * words],
        }
    }

    fn band(&self, v: f64) -> usize {
        (((v - self.from) * self.rate).max(0.0) as usize).min(BANDS - 1)
    }

    /// Turns the bits of a box round in which it differs from one that began and ended elsewhere.
    fn moved(&mut self, (words, i): (usize, usize), from: (f64, f64), to: (f64, f64)) {
        let (word, bit) = (i / 64, 1_u64 << (i % 64));
        let (a, b) = (self.band(from.0), self.band(to.0));
        for band in a.min(b)..a.max(b) {
            self.begun[band * words + word] ^= bit;
        }
        let (a, b) = (self.band(from.1), self.band(to.1));
        for band in a.min(b) + 1..=a.max(b) {
            self.ending[band * words + word] ^= bit;
        }
    }

    fn add(&mut self, words: usize, i: usize, begin: f64, end: f64) {
        let (word, bit) = (i / 64, 1_u64 << (i % 64));
        for band in self.band(begin)..BANDS {
            self.begun[band * words + word] |= bit;
        }
        for band in 0..=self.band(end) {
            self.ending[band * words + word] |= bit;
        }
    }

    /// The boxes that have begun where something ends; and those that still go on where it begins.
    fn sets(&self, words: usize, begin: f64, end: f64) -> [&[u64]; 2] {
        let (first, last) = (self.band(begin) * words, self.band(end) * words);
        [
            &self.begun[last..last + words],
            &self.ending[first..first + words],
        ]
    }
}

impl Near {
    /// The sets of boxes in a room.
    pub(super) fn new(room: Bounds, boxes: &[Bounds]) -> Self {
        let words = boxes.len().div_ceil(64);
        let mut x = Axis::new(words, room.min.x, room.max.x);
        let mut y = Axis::new(words, room.min.y, room.max.y);
        for (i, b) in boxes.iter().enumerate() {
            x.add(words, i, b.min.x, b.max.x);
            y.add(words, i, b.min.y, b.max.y);
        }
        Self { words, x, y }
    }

    /// A box has moved.
    pub(super) fn moved(&mut self, i: usize, from: Bounds, to: Bounds) {
        let of = (self.words, i);
        self.x
            .moved(of, (from.min.x, from.max.x), (to.min.x, to.max.x));
        self.y
            .moved(of, (from.min.y, from.max.y), (to.min.y, to.max.y));
    }

    /// Calls with every box that may meet another, in order, until told to end.
    pub(super) fn of(&self, own: Bounds, mut call: impl FnMut(usize) -> ControlFlow<()>) {
        let [a, b] = self.x.sets(self.words, own.min.x, own.max.x);
        let [c, d] = self.y.sets(self.words, own.min.y, own.max.y);
        for (w, (((a, b), c), d)) in a.iter().zip(b).zip(c).zip(d).enumerate() {
            let mut set = a & b & c & d;
            while set != 0 {
                let i = w * 64 + set.trailing_zeros() as usize;
                set &= set - 1;
                if call(i).is_break() {
                    return;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;
    use crate::nest::seed::Draws;

    #[test]
    fn no_box_that_meets_one_is_missed_and_few_others_are_told() {
        let mut draws = Draws::new([4, 2, 7]);
        let room = Bounds::new(Point::new(-50.0, 10.0), Point::new(950.0, 410.0));
        let mut draw = || {
            let at = Point::new(draws.unit() * 1100.0 - 100.0, draws.unit() * 400.0);
            Bounds::new(
                at,
                at + Point::new(60.0 * draws.unit(), 90.0 * draws.unit()),
            )
        };
        let mut boxes: Vec<Bounds> = (0..150).map(|_| draw()).collect();
        let mut near = Near::new(room, &boxes);
        let (mut told, mut true_ones) = (0, 0);
        for k in 0..3000 {
            let (i, to) = (k % boxes.len(), draw());
            near.moved(i, boxes[i], to);
            boxes[i] = to;
            let own = draw();
            let mut found = Vec::new();
            near.of(own, |j| {
                found.push(j);
                ControlFlow::Continue(())
            });
            for (j, b) in boxes.iter().enumerate() {
                if b.touches(own) {
                    assert!(found.contains(&j), "box {j} meets and was not told");
                    true_ones += 1;
                }
            }
            told += found.len();
        }
        assert!(told < 2 * true_ones, "{told} told, {true_ones} meet");
    }
}
