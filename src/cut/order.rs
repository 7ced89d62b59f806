//! The order of stops on a way: nearest next, then improved.
//!
//! In: points. Out: the order in which to visit them. Steps: nearest neighbour from the start; then, as long as it
//! shortens the way, turn a stretch round (2-opt) or move a stretch of up to three elsewhere, either way round.
//!
//! Guarantees: the same points give the same order; ties go to the smaller index; every move shortens the way by more
//! than rounding, so it ends.
//!
//! Source: Croes 1958 (2-opt) and Or 1976, both from memory; the shapes of their moves are derived here.

use crate::geometry::point::Point;

/// A move must shorten the way by this share of it, or rounding could go round in circles.
const GAIN: f64 = 1.0e-12;

/// The most sweeps over all moves; a few hundred contours settle in a dozen.
const MOST_SWEEPS: usize = 60;

/// The longest stretch that is moved elsewhere.
const STRETCH: usize = 3;

/// An order of all points: an open way that begins at `from` (which is not a stop itself), or with `None` a closed tour.
pub(crate) fn tour(points: &[Point], from: Option<Point>) -> Vec<usize> {
    if points.is_empty() {
        return Vec::new();
    }
    let mut way = Way {
        points,
        from,
        stops: nearest_next(points, from),
    };
    let least_gain = GAIN * way.length();
    for _ in 0..MOST_SWEEPS {
        let turned = way.turn_stretches(least_gain);
        let moved = way.move_stretches(least_gain);
        if !turned && !moved {
            break;
        }
    }
    way.stops
}

fn distance(a: Point, b: Point) -> f64 {
    (b - a).length_squared().sqrt()
}

fn nearest_next(points: &[Point], from: Option<Point>) -> Vec<usize> {
    let mut left: Vec<usize> = (0..points.len()).collect();
    let mut stops = Vec::with_capacity(points.len());
    let mut at = from.unwrap_or(points[0]);
    while !left.is_empty() {
        let mut best = 0;
        for k in 1..left.len() {
            if distance(at, points[left[k]]) < distance(at, points[left[best]]) {
                best = k;
            }
        }
        let stop = left.remove(best);
        at = points[stop];
        stops.push(stop);
    }
    stops
}

/// A way that is being improved.
struct Way<'a> {
    points: &'a [Point],
    from: Option<Point>,
    stops: Vec<usize>,
}

impl Way<'_> {
    /// The point before stop `i`, where there is one.
    fn before(&self, i: usize) -> Option<Point> {
        match (i, self.from) {
            (0, Some(from)) => Some(from),
            (0, None) => self.stops.last().map(|&s| self.points[s]),
            _ => Some(self.at(i - 1)),
        }
    }

    /// The point behind stop `i`, where there is one: an open way ends at its last stop.
    fn behind(&self, i: usize) -> Option<Point> {
        if i + 1 < self.stops.len() {
            Some(self.at(i + 1))
        } else if self.from.is_none() {
            Some(self.at(0))
        } else {
            None
        }
    }

    fn at(&self, i: usize) -> Point {
        self.points[self.stops[i]]
    }

    fn length(&self) -> f64 {
        (0..self.stops.len())
            .filter_map(|i| self.before(i).map(|p| distance(p, self.at(i))))
            .sum()
    }

    /// Turns stretches round where that shortens the way.
    fn turn_stretches(&mut self, least_gain: f64) -> bool {
        let leg = |a: Option<Point>, b: Point| a.map_or(0.0, |a| distance(a, b));
        let mut better = false;
        for i in 0..self.stops.len() {
            for j in i + 1..self.stops.len() {
                if self.from.is_none() && i == 0 && j + 1 == self.stops.len() {
                    continue; // the whole of a closed tour
                }
                let (before, behind) = (self.before(i), self.behind(j));
                let old = leg(before, self.at(i)) + leg(behind, self.at(j));
                let new = leg(before, self.at(j)) + leg(behind, self.at(i));
                if new < old - least_gain {
                    self.stops[i..=j].reverse();
                    better = true;
                }
            }
        }
        better
    }

    /// Moves short stretches elsewhere where that shortens the way.
    fn move_stretches(&mut self, least_gain: f64) -> bool {
        let mut better = false;
        for n in 1..=STRETCH.min(self.stops.len().saturating_sub(1)) {
            for i in 0..=self.stops.len() - n {
                better |= self.move_stretch(i, n, least_gain);
            }
        }
        better
    }

    /// Moves the `n` stops from `i` on to where they fit best.
    fn move_stretch(&mut self, i: usize, n: usize, least_gain: f64) -> bool {
        let leg =
            |a: Option<Point>, b: Option<Point>| a.zip(b).map_or(0.0, |(a, b)| distance(a, b));
        let (first, last) = (Some(self.at(i)), Some(self.at(i + n - 1)));
        let (before, behind) = (self.before(i), self.behind(i + n - 1));
        let freed = leg(before, first) + leg(last, behind) - leg(before, behind);
        let mut rest = self.stops.clone();
        let stretch: Vec<usize> = rest.drain(i..i + n).collect();
        let rest = Way {
            points: self.points,
            from: self.from,
            stops: rest,
        };
        let mut best: Option<(f64, usize, bool)> = None;
        // Place k is before stop k of the rest; the last place of an open way is its end.
        let n_places = if self.from.is_some() {
            rest.stops.len() + 1
        } else {
            rest.stops.len()
        };
        for k in 0..n_places {
            let (a, b) = if k == rest.stops.len() {
                (rest.before(k), None)
            } else {
                (rest.before(k), Some(rest.at(k)))
            };
            for (round, head, tail) in [(false, first, last), (true, last, first)] {
                let gain = freed - (leg(a, head) + leg(tail, b) - leg(a, b));
                if gain > least_gain && best.is_none_or(|(most, ..)| gain > most) {
                    best = Some((gain, k, round));
                }
            }
        }
        let Some((_, k, round)) = best else {
            return false;
        };
        let mut stops = rest.stops;
        let mut stretch = stretch;
        if round {
            stretch.reverse();
        }
        stops.splice(k..k, stretch);
        self.stops = stops;
        true
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;

    fn length_of(points: &[Point], from: Option<Point>, stops: &[usize]) -> f64 {
        Way {
            points,
            from,
            stops: stops.to_vec(),
        }
        .length()
    }

    /// How much longer a tour is than the proved optimum, both with unrounded legs.
    fn excess(file: &str) -> f64 {
        let value: serde_json::Value = serde_json::from_str(file).unwrap();
        let points: Vec<Point> = value["points"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| Point::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
            .collect();
        let stops = tour(&points, None);
        let mut seen = stops.clone();
        seen.sort_unstable();
        assert_eq!(
            seen,
            (0..points.len()).collect::<Vec<_>>(),
            "every point once"
        );
        let optimum = value["optimum_real_metric"].as_f64().unwrap();
        let share = length_of(&points, None, &stops) / optimum - 1.0;
        assert!(
            share > -1e-6,
            "no tour beats the proved optimum, which is written to 1e-4 of some hundreds"
        );
        share
    }

    /// Source of instances and optima: TSPLIB, Reinelt 1991, with the optimum of unrounded legs. 2-opt from nearest
    /// neighbours leaves about 5 % on average (Johnson & McGeoch 1997, from memory); 8 % is this program's own limit.
    #[test]
    fn tours_of_open_instances_stay_within_eight_percent_of_their_optimum() {
        for (name, file) in [
            (
                "berlin52",
                include_str!("../../fixtures/tsplib/berlin52.json"),
            ),
            ("st70", include_str!("../../fixtures/tsplib/st70.json")),
            ("ch130", include_str!("../../fixtures/tsplib/ch130.json")),
        ] {
            let share = excess(file);
            println_to_test(name, share);
            assert!(share < 0.08, "{name}: {share:.4}");
        }
    }

    #[allow(
        clippy::print_stdout,
        reason = "the figure is shown when the test is asked for it"
    )]
    fn println_to_test(name: &str, share: f64) {
        println!("{name}: {:.2} % above the optimum", 100.0 * share);
    }

    /// Independent method: all orders of seven points.
    #[test]
    fn an_open_way_over_few_points_is_close_to_the_best_of_all_orders() {
        let at = |k: u64| Point::new((k * 37 % 101) as f64, (k * 53 % 97) as f64);
        for seed in 1..=20 {
            let points: Vec<Point> = (1..=7).map(|k| at(seed * 11 + k * k)).collect();
            let from = Some(Point::new(0.0, 0.0));
            let mut best = f64::INFINITY;
            permute(&mut (0..7).collect(), 0, &mut |order| {
                best = best.min(length_of(&points, from, order))
            });
            let got = length_of(&points, from, &tour(&points, from));
            assert!(got >= best - 1e-9, "rounding of seven sums");
            assert!(got <= 1.15 * best, "seed {seed}: {got} against {best}");
        }
    }

    fn permute(order: &mut Vec<usize>, k: usize, each: &mut dyn FnMut(&[usize])) {
        if k == order.len() {
            return each(order);
        }
        for i in k..order.len() {
            order.swap(k, i);
            permute(order, k + 1, each);
            order.swap(k, i);
        }
    }

    #[test]
    fn points_in_a_row_are_visited_in_a_row() {
        let points = [3.0, 1.0, 4.0, 2.0].map(|x| Point::new(x, 0.0));
        assert_eq!(tour(&points, Some(Point::new(0.0, 0.0))), [1, 3, 0, 2]);
        assert_eq!(tour(&points[..1], None), [0]);
        assert_eq!(tour(&[], None), [] as [usize; 0]);
    }
}
