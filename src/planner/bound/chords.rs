//! The chords of a shape along y, from left to right: how much of each line along y lies in it.
//!
//! In: rings, outer ones counter-clockwise, holes clockwise. Out: slabs between neighbouring vertices, in which the chord
//! changes evenly. Where they lie is forgotten: only how much of the width has which chord is asked for.

use crate::geometry::point::Point;
use crate::planner::bound::counted::Counted;

/// A stretch of x and the chords at its two ends.
#[derive(Clone, Copy, Debug)]
struct Slab {
    width: f64,
    ends: [f64; 2],
}

/// The chords of a shape.
#[derive(Clone, Debug, Default)]
pub(super) struct Chords {
    slabs: Vec<Slab>,
}

/// A side of a ring that is not along y, from its left end to its right one; `sign` is +1 above the shape, −1 below.
struct Side {
    left: Point,
    right: Point,
    sign: f64,
}

impl Side {
    fn y_at(&self, x: f64) -> f64 {
        let share = ((x - self.left.x) / (self.right.x - self.left.x)).clamp(0.0, 1.0);
        self.left.y + (self.right.y - self.left.y) * share
    }
}

impl Chords {
    /// The chords along y.
    pub(super) fn new(rings: &[Vec<Point>]) -> Self {
        let mut sides: Vec<Side> = Vec::new();
        let mut stops: Vec<f64> = Vec::new();
        for ring in rings {
            for (k, &a) in ring.iter().enumerate() {
                let b = ring[(k + 1) % ring.len()];
                stops.push(a.x);
                if a.x < b.x {
                    sides.push(Side {
                        left: a,
                        right: b,
                        sign: -1.0,
                    });
                } else if a.x > b.x {
                    sides.push(Side {
                        left: b,
                        right: a,
                        sign: 1.0,
                    });
                }
            }
        }
        stops.sort_by(f64::total_cmp);
        stops.dedup();
        sides.sort_by(|a, b| a.left.x.total_cmp(&b.left.x));
        let mut slabs = Vec::with_capacity(stops.len());
        let (mut next, mut open): (usize, Vec<usize>) = (0, Vec::new());
        for pair in stops.windows(2) {
            let &[from, to] = pair else { continue };
            open.retain(|&s| sides[s].right.x > from);
            while next < sides.len() && sides[next].left.x <= from {
                if sides[next].right.x > from {
                    open.push(next);
                }
                next += 1;
            }
            let at = |x: f64| open.iter().map(|&s| sides[s].sign * sides[s].y_at(x)).sum();
            slabs.push(Slab {
                width: to - from,
                ends: [at(from), at(to)],
            });
        }
        Self { slabs }
    }

    /// The longest chord.
    pub(super) fn longest(&self) -> f64 {
        self.slabs.iter().flat_map(|s| s.ends).fold(0.0, f64::max)
    }

    /// The widths added up, each by what its chord counts as a share of `whole`. Chords are taken `less` than they are.
    pub(super) fn counted(&self, how: Counted, whole: f64, less: f64) -> f64 {
        self.slabs
            .iter()
            .map(|slab| {
                let [a, b] = slab.ends.map(|h| ((h - less) / whole).clamp(0.0, 1.0));
                let (low, high) = (a.min(b), a.max(b));
                slab.width * mean(how, low, high)
            })
            .sum()
    }
}

/// The mean of what shares count that lie evenly from `low` to `high`.
fn mean(how: Counted, low: f64, high: f64) -> f64 {
    let span = high - low;
    if span < 1e-9 {
        return how.of(low);
    }
    // The part of the span above a level.
    let above = |level: f64| ((high - level.max(low)) / span).clamp(0.0, 1.0);
    match how {
        Counted::Threshold(t) => {
            let (from, to) = (low.max(t), high.min(1.0 - t));
            let middle = if to > from {
                (to - from) * (from + to) / 2.0 / span
            } else {
                0.0
            };
            above(1.0 - t) + middle
        }
        Counted::Steps(k) => {
            let n = f64::from(k + 1);
            (1..=k).map(|j| above(f64::from(j) / n)).sum::<f64>() / f64::from(k)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn chords_of_a_triangle_with_a_hole_add_up_to_its_area() {
        let outer = ring(&[(0.0, 0.0), (12.0, 0.0), (0.0, 6.0)]);
        let hole = ring(&[(1.0, 1.0), (1.0, 2.0), (3.0, 2.0), (3.0, 1.0)]);
        let chords = Chords::new(&[outer, hole]);
        let area = chords.counted(Counted::Threshold(0.0), 10.0, 0.0) * 10.0;
        assert!(
            (area - 34.0).abs() < 1e-9,
            "12 · 6 ÷ 2 − 2 · 1, a few roundings: {area}"
        );
        assert_eq!(chords.longest(), 6.0);
    }

    #[test]
    fn what_chords_of_a_triangle_count_is_as_by_hand() {
        // Chord 6 − x ÷ 2 over 12 mm, of a whole of 8.
        let chords = Chords::new(&[ring(&[(0.0, 0.0), (12.0, 0.0), (0.0, 6.0)])]);
        let close = |got: f64, want: f64| assert!((got - want).abs() < 1e-9, "{got}, not {want}");
        // More than half: x < 4.
        close(chords.counted(Counted::Threshold(0.5), 8.0, 0.0), 4.0);
        // From 1/4 to 3/4 (x from 0 to 8: 6 to 2 mm) as it is, mean 4 ÷ 8, and 0 behind.
        close(chords.counted(Counted::Threshold(0.25), 8.0, 0.0), 4.0);
        // Thirds of 8: two of them while x < 4/3, one while x < 20/3; each counts 1/2.
        close(
            chords.counted(Counted::Steps(2), 8.0, 0.0),
            (4.0 / 3.0 + 20.0 / 3.0) / 2.0,
        );
    }

    #[test]
    fn means_agree_with_sums_over_many_shares() {
        for how in [
            Counted::Threshold(0.2),
            Counted::Threshold(0.5),
            Counted::Steps(1),
            Counted::Steps(4),
        ] {
            for (low, high) in [(0.0, 1.0), (0.1, 0.3), (0.45, 0.9), (0.7, 0.71)] {
                let n = 100_000;
                let sum: f64 = (0..n)
                    .map(|k| how.of(low + (high - low) * (f64::from(k) + 0.5) / f64::from(n)))
                    .sum();
                let got = mean(how, low, high);
                assert!(
                    (got - sum / f64::from(n)).abs() < 1e-4,
                    "{how:?} {low} {high}: {got}, by sums {}",
                    sum / f64::from(n)
                );
            }
        }
    }
}
