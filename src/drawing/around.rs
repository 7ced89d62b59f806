//! Which ring lies just around each of many.
//!
//! In: rings that neither cross nor touch. Out: for each the smallest one around it.
//!
//! Two ways give the same answer. Where boxes tell nearly all, each ring is asked of those whose boxes hold its own. Where
//! they tell little, as for a thousand circles about one centre, or holes by the thousand in an outline of as many edges, a
//! line sweeps over all rings from left to right and keeps the edges that it meets in order from front to back: at a ring's
//! leftmost point the next edge in front of it tells, by its direction, whether its own ring is around or beside.
//!
//! The sweep cuts arcs where they turn back in x; lines along y never count, as what is left and right of them tells the
//! same. Its order is exact between lines; where arcs take part it is taken in the middle of what both span. Should it
//! contradict itself, which rounding may do to edges that nearly touch, boxes decide.
//!
//! Source: sweeping in the order of one coordinate with the edges met in the order of the other is the method of
//! M. I. Shamos and D. Hoey, "Geometric Intersection Problems" (1976), from memory.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::predicate::{Location, orient, point_in_ring};
use crate::geometry::ring::Ring;

/// Edges that may be asked for each edge there is before a sweep is cheaper.
const WORTH_A_SWEEP: u64 = 32;

/// The smallest ring around each ring; their boxes are known.
pub(super) fn parents(rings: &[&Ring], boxes: &[Bounds]) -> Vec<Option<usize>> {
    let cells = Cells::new(boxes, rings);
    let edges: u64 = rings.iter().map(|r| r.edges().len() as u64).sum();
    let asked = boxes.iter().map(|b| cells.edges_at(b.min));
    if asked.sum::<u64>() > WORTH_A_SWEEP * edges
        && let Some(parents) = swept(rings)
    {
        return parents;
    }
    // Most rings lie in no other's box, and their areas are never asked for.
    let mut areas: Vec<Option<f64>> = vec![None; rings.len()];
    let mut area = |i: usize| *areas[i].get_or_insert_with(|| rings[i].area_mm2().abs());
    (0..rings.len())
        .map(|i| {
            let mut around = cells.at(boxes[i].min);
            around.retain(|j| *j != i && boxes[*j].holds_box(boxes[i]) && area(*j) > area(i));
            around.sort_by(|a, b| area(*a).total_cmp(&area(*b)).then(a.cmp(b)));
            around.into_iter().find(|j| lies_in(rings[i], rings[*j]))
        })
        .collect()
}

/// Whether a ring lies in another; the two do not cross, so one point that is not on the other tells.
fn lies_in(inner: &Ring, outer: &Ring) -> bool {
    let mut places = inner
        .edges()
        .iter()
        .map(|e| point_in_ring(e.at(0.5), outer));
    places.find(|l| *l != Location::Edge) == Some(Location::Inside)
}

/// The power of the coarsest grid: 2³¹ / 1024 mm is 2,000,000 mm, the largest box within the coordinates admitted.
const LARGEST: u32 = 31;

/// Boxes found by a point that they may hold: each lies in at most four cells of a grid that is as coarse as it is large,
/// one grid for each power of two. Thousands of rings are asked for those around them without each against each.
struct Cells {
    /// By power, column and row: the boxes, and how many edges their rings have.
    cells: BTreeMap<(u32, i64, i64), (Vec<usize>, u64)>,
    /// The powers in use.
    powers: BTreeSet<u32>,
}

impl Cells {
    fn new(boxes: &[Bounds], rings: &[&Ring]) -> Self {
        let mut cells: BTreeMap<_, (Vec<usize>, u64)> = BTreeMap::new();
        let mut powers = BTreeSet::new();
        for (i, bounds) in boxes.iter().enumerate() {
            let size = bounds.width().max(bounds.depth());
            // The least power of two that is no smaller; what is tiny shares one grid.
            let power = (0..LARGEST).find(|p| cell_size(*p) >= size);
            let power = power.unwrap_or(LARGEST);
            powers.insert(power);
            let (low, high) = (cell(bounds.min, power), cell(bounds.max, power));
            for x in low.0..=high.0 {
                for y in low.1..=high.1 {
                    let here = cells.entry((power, x, y)).or_default();
                    here.0.push(i);
                    here.1 += rings[i].edges().len() as u64;
                }
            }
        }
        Self { cells, powers }
    }

    fn cells_at(&self, p: Point) -> impl Iterator<Item = &(Vec<usize>, u64)> {
        self.powers.iter().filter_map(move |power| {
            let (x, y) = cell(p, *power);
            self.cells.get(&(*power, x, y))
        })
    }

    /// The boxes that may hold a point.
    fn at(&self, p: Point) -> Vec<usize> {
        self.cells_at(p).flat_map(|(b, _)| b).copied().collect()
    }

    /// How many edges the rings of those boxes have.
    fn edges_at(&self, p: Point) -> u64 {
        self.cells_at(p).map(|(_, edges)| edges).sum()
    }
}

/// From a thousandth of a millimetre up, doubling.
fn cell_size(power: u32) -> f64 {
    (1_u64 << power) as f64 / 1024.0
}

fn cell(p: Point, power: u32) -> (i64, i64) {
    let size = cell_size(power);
    ((p.x / size).floor() as i64, (p.y / size).floor() as i64)
}

/// A part of an edge that runs in x without turning back.
struct Span {
    left: Point,
    right: Point,
    /// Of an arc: centre, radius, and whether it is of the circle's back half.
    arc: Option<(Point, f64, bool)>,
    ring: usize,
    /// Whether the ring's inside lies at the back of it.
    inside_back: bool,
}

impl Span {
    /// y at an x that it spans.
    fn y(&self, x: f64) -> f64 {
        match self.arc {
            Some((center, radius, back)) => {
                let along = x - center.x;
                let rise = ((radius - along) * (radius + along)).max(0.0).sqrt();
                center.y + if back { rise } else { -rise }
            }
            None => {
                let share = (x - self.left.x) / (self.right.x - self.left.x);
                self.left.toward(self.right, share).y
            }
        }
    }

    /// How it lies to another that the sweep meets at the same time: `Less` in front of it.
    fn compare(&self, other: &Self) -> Ordering {
        if self.arc.is_none() && other.arc.is_none() {
            // Where the one that begins later begins or, from a common beginning, goes, seen along the other.
            let swap = self.left.x < other.left.x;
            let (late, early) = if swap { (other, self) } else { (self, other) };
            let side = |p: Point| orient(early.left, early.right, p);
            let found = [late.left, late.right].map(side);
            let side = found.into_iter().find(|s| *s != 0.0).unwrap_or(0.0);
            let order = side.total_cmp(&0.0);
            return if swap { order.reverse() } else { order };
        }
        let low = self.left.x.max(other.left.x);
        let high = self.right.x.min(other.right.x);
        let x = low + (high - low) / 2.0;
        self.y(x).total_cmp(&other.y(x))
    }
}

/// A span that the sweep meets, in the order from front to back.
struct Met<'a>(&'a [Span], usize);

impl PartialEq for Met<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.1 == other.1
    }
}

impl Eq for Met<'_> {}

impl PartialOrd for Met<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Met<'_> {
    fn cmp(&self, other: &Self) -> Ordering {
        if self.1 == other.1 {
            return Ordering::Equal;
        }
        let order = self.0[self.1].compare(&self.0[other.1]);
        order.then(self.1.cmp(&other.1))
    }
}

/// What the sweep does at an x, in this order: what ends makes room before what goes on from there takes it, and rings
/// begin when all that spans their leftmost point is there.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    Ends,
    GoesOn,
    Begins,
}

/// The parents by a sweep; `None` where its order contradicts itself.
fn swept(rings: &[&Ring]) -> Option<Vec<Option<usize>>> {
    let mut spans = Vec::new();
    let mut events: Vec<(f64, Event, usize)> = Vec::new();
    for (i, ring) in rings.iter().enumerate() {
        let first = spans.len();
        let ccw = ring.area_mm2() > 0.0;
        for edge in ring.edges() {
            cut(edge, i, ccw, &mut spans);
        }
        let leftmost = spans[first..]
            .iter()
            .fold(f64::INFINITY, |x, s| x.min(s.left.x));
        for (k, span) in spans.iter().enumerate().skip(first) {
            let begins = if span.left.x > leftmost {
                Event::GoesOn
            } else {
                Event::Begins
            };
            events.push((span.left.x, begins, k));
            events.push((span.right.x, Event::Ends, k));
        }
    }
    events.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut met: BTreeSet<Met<'_>> = BTreeSet::new();
    let mut parents: Vec<Option<Option<usize>>> = vec![None; rings.len()];
    for (_, event, k) in events {
        let own = Met(&spans, k);
        let ring = spans[k].ring;
        if event == Event::Ends {
            if !met.remove(&own) {
                return None;
            }
            continue;
        }
        if parents[ring].is_none() {
            parents[ring] = Some(match met.range(..&own).next_back() {
                None => None,
                Some(front) if spans[front.1].inside_back => Some(spans[front.1].ring),
                Some(front) => parents[spans[front.1].ring]?,
            });
        }
        met.insert(own);
    }
    parents.into_iter().collect()
}

/// Cuts an edge into spans.
fn cut(edge: &Edge, ring: usize, ccw: bool, spans: &mut Vec<Span>) {
    let mut add = |from: Point, to: Point, arc: Option<(Point, f64, bool)>| {
        let rightward = to.x > from.x;
        let (left, right) = if rightward { (from, to) } else { (to, from) };
        let turns = arc.map(|(center, radius, turns)| (center, radius, turns != rightward));
        if left.x < right.x {
            spans.push(Span {
                left,
                right,
                arc: turns,
                ring,
                inside_back: rightward == ccw,
            });
        }
    };
    let Curve::Arc {
        center,
        radius,
        ccw: turns,
    } = edge.curve
    else {
        add(edge.start, edge.end, None);
        return;
    };
    let side = Point::new(radius, 0.0);
    let right = edge.spans(side).then_some(center + side);
    let left = edge.spans(-side).then_some(center - side);
    // Counter-clockwise from the back half the left side comes first; each of the two comes at most once.
    let passed = if (edge.start.y >= center.y) == turns {
        [left, right]
    } else {
        [right, left]
    };
    let mut from = edge.start;
    for p in passed.into_iter().flatten() {
        add(from, p, Some((center, radius, turns)));
        from = p;
    }
    add(from, edge.end, Some((center, radius, turns)));
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;

    const S: SourceId = SourceId(0);

    fn boxes(rings: &[&Ring]) -> Vec<Bounds> {
        rings.iter().map(|r| r.bounds()).collect()
    }

    /// By a point of each and every other ring.
    fn slow(rings: &[&Ring]) -> Vec<Option<usize>> {
        let area = |i: &usize| rings[*i].area_mm2().abs();
        (0..rings.len())
            .map(|i| {
                let around = (0..rings.len()).filter(|j| area(j) > area(&i));
                around
                    .filter(|j| lies_in(rings[i], rings[*j]))
                    .min_by(|a, b| area(a).total_cmp(&area(b)))
            })
            .collect()
    }

    fn star(center: Point, radius: f64, n: usize, bulge: f64) -> Ring {
        let points: Vec<Point> = (0..n)
            .map(|k| {
                let turn =
                    crate::geometry::angle::sin_cos(k as f64 / n as f64 * std::f64::consts::TAU);
                let reach = radius * if k % 2 == 0 { 1.0 } else { 0.8 };
                center + Point::new(turn.1, turn.0) * reach
            })
            .collect();
        let edge = |k: usize| Edge::from_bulge(points[k], points[(k + 1) % n], bulge, S);
        Ring::new((0..n).map(edge).collect()).unwrap()
    }

    #[test]
    fn the_sweep_and_the_boxes_agree_with_asking_all() {
        let mut rings = Vec::new();
        for k in 0..400_u32 {
            let at = Point::new(f64::from(k % 20) * 50.0, f64::from(k / 20) * 50.0);
            // Aligned squares, circles, stars of lines and of arcs, up to five deep, some run clockwise.
            for level in 0..=k % 5 {
                let r = 24.0 * [1.0, 0.6, 0.36, 0.2, 0.1][level as usize];
                let d = Point::new(r * 0.7, r * 0.7);
                let ring = match (k + level) % 4 {
                    0 => Ring::rounded_box(Bounds::new(at - d, at + d), 0.0, S),
                    1 => Ring::circle(at, r, S),
                    2 => star(at, r, 8, 0.0),
                    _ => star(at, r, 12, 0.1),
                };
                rings.push(if k % 3 == 0 { ring.reversed() } else { ring });
            }
        }
        // One around them all, last of all.
        rings.push(star(Point::new(475.0, 475.0), 1200.0, 64, -0.05));
        let rings: Vec<&Ring> = rings.iter().collect();
        let expected = slow(&rings);
        assert!(swept(&rings).unwrap() == expected, "by the sweep");
        assert!(parents(&rings, &boxes(&rings)) == expected, "by boxes");
        assert!(expected.iter().filter(|p| p.is_none()).count() == 1);
    }

    #[test]
    fn circles_about_one_centre_lie_each_in_the_next() {
        let rings: Vec<Ring> = (0..3000)
            .map(|k| Ring::circle(Point::new(3.0, -7.0), 1.0 + 0.01 * f64::from(k), S))
            .collect();
        let rings: Vec<&Ring> = rings.iter().collect();
        let found = parents(&rings, &boxes(&rings));
        let expected: Vec<Option<usize>> = (1..3000).map(Some).chain([None]).collect();
        assert!(found == expected);
    }
}
