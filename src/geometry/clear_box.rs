//! Boxes along the axes that lie inside an area and keep their distance from what is in it.
//!
//! In: an area (disjoint regions), how far to stay from its edges, shapes that lie in it, how far to stay from those.
//! Out: the maximal clear boxes, that is those which no other clear box contains.
//!
//! Steps:
//! 1. Every edge becomes boxes that cover it: one for an edge along an axis (exact), a staircase for a slanted edge or an
//!    arc; runs of edges shorter than `FINE` share one. Each is grown by the distance to keep.
//! 2. All their sides make a grid; a cell is clear when it lies inside the area, outside the shapes, and under none of
//!    the boxes of step 1.
//! 3. Row by row, a stack over the columns' clear depths names every rectangle of clear cells that can grow neither left,
//!    right nor down; those that cannot grow up either are maximal. Time is one visit a cell.
//!
//! Guarantees: a box that is returned is clear. For outlines along the axes it is as large as can be, but for this: the
//! distance is kept in x and y separately, so a box whose corner could pass a protruding corner on the round is missed.
//! Along slanted edges and arcs boxes may be smaller than possible by the height of a step of the staircase.
//!
//! Source: largest rectangle under a histogram, in linear time with a stack (folklore, derived here).

use std::f64::consts::PI;

use crate::geometry::{
    bounds::Bounds,
    edge::{Curve, Edge},
    point::Point,
    region::Region,
    ring::Ring,
};

/// Runs of edges shorter than this share a covering box, as long as it measures no more than this both ways; so teeth of
/// a seam cost a few boxes and not dozens. In mm: a person who uses a leftover loses no more beside a wiggly edge.
const FINE: f64 = 6.0;

/// Height of a step of the staircase along slanted edges and large arcs, in mm.
const STEP: f64 = 4.0;

/// The most boxes that cover one edge.
const MOST_STEPS: f64 = 48.0;

/// Height of a step, and the most steps of one edge, where boxes are to be nearly as large as can be.
const FINE_STEPS: (f64, f64) = (1.0, 160.0);

/// Clear space as a grid of cells.
#[derive(Clone, Debug)]
pub struct ClearSpace {
    xs: Vec<f64>,
    ys: Vec<f64>,
    /// Row by row from the front, `xs.len() − 1` cells a row.
    clear: Vec<bool>,
}

impl ClearSpace {
    /// The space in `area` that keeps `margin` from its edges and `spacing` from the edges of `taken`, and lies outside
    /// of `taken`. Holes of `taken` shapes are space.
    pub fn new(area: &[Region], margin: f64, taken: &[Region], spacing: f64) -> Self {
        Self::stepped(area, margin, taken, spacing, (STEP, MOST_STEPS))
    }

    /// The space in `area`, along slanted edges and arcs in steps of 1 mm.
    pub fn fine(area: &[Region]) -> Self {
        Self::stepped(area, 0.0, &[], 0.0, FINE_STEPS)
    }

    fn stepped(
        area: &[Region],
        margin: f64,
        taken: &[Region],
        spacing: f64,
        step: (f64, f64),
    ) -> Self {
        let frame = area.iter().fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
        let mut cover = Vec::new();
        let (mut inside, mut outside) = (Vec::new(), Vec::new());
        for (shapes, keep, chords) in [(area, margin, &mut inside), (taken, spacing, &mut outside)]
        {
            for ring in shapes.iter().flat_map(Region::rings) {
                cover_ring(ring, keep, step, &mut cover, chords);
            }
        }
        cover.retain(|b| b.touches(frame));
        let mut space = Self::grid(frame, &cover);
        space.mark_inside(&inside, true);
        space.mark_inside(&outside, false);
        for b in &cover {
            space.block(*b);
        }
        space
    }

    fn grid(frame: Bounds, cover: &[Bounds]) -> Self {
        if frame.is_empty() {
            return Self {
                xs: Vec::new(),
                ys: Vec::new(),
                clear: Vec::new(),
            };
        }
        let axis = |low: f64, high: f64, sides: &mut dyn Iterator<Item = f64>| {
            let mut values: Vec<f64> = sides
                .filter(|v| low < *v && *v < high)
                .chain([low, high])
                .collect();
            values.sort_by(f64::total_cmp);
            values.dedup();
            values
        };
        let xs = axis(
            frame.min.x,
            frame.max.x,
            &mut cover.iter().flat_map(|b| [b.min.x, b.max.x]),
        );
        let ys = axis(
            frame.min.y,
            frame.max.y,
            &mut cover.iter().flat_map(|b| [b.min.y, b.max.y]),
        );
        let cells = xs.len().saturating_sub(1) * ys.len().saturating_sub(1);
        Self {
            xs,
            ys,
            clear: vec![false; cells],
        }
    }

    fn n_columns(&self) -> usize {
        self.xs.len().saturating_sub(1)
    }

    fn n_rows(&self) -> usize {
        self.ys.len().saturating_sub(1)
    }

    /// Sets the cells whose middle lies inside the rings that the chords make (even-odd).
    fn mark_inside(&mut self, chords: &[(Point, Point)], clear: bool) {
        let n_columns = self.n_columns();
        let mut crossings = vec![Vec::new(); self.n_rows()];
        for &(p, q) in chords {
            let (low, high) = if p.y < q.y { (p, q) } else { (q, p) };
            let first = self.ys.partition_point(|y| *y < low.y).saturating_sub(1);
            let rows = self.ys.windows(2).zip(&mut crossings).skip(first);
            for (y, at) in rows.map(|(w, at)| ((w[0] + w[1]) / 2.0, at)) {
                if y >= high.y {
                    break;
                }
                if low.y <= y {
                    at.push(low.x + (high.x - low.x) * ((y - low.y) / (high.y - low.y)));
                }
            }
        }
        for (row, at) in crossings.iter_mut().enumerate() {
            at.sort_by(f64::total_cmp);
            for span in at.chunks_exact(2) {
                let first = self
                    .xs
                    .windows(2)
                    .take_while(|w| (w[0] + w[1]) / 2.0 < span[0])
                    .count();
                for column in first..n_columns {
                    if (self.xs[column] + self.xs[column + 1]) / 2.0 >= span[1] {
                        break;
                    }
                    self.clear[row * n_columns + column] = clear;
                }
            }
        }
    }

    /// Takes a box whose sides are lines of the grid, or lie outside of it, off the space.
    pub fn block(&mut self, b: Bounds) {
        let n_columns = self.n_columns();
        let range = |lines: &[f64], low: f64, high: f64| {
            let n_cells = lines.len().saturating_sub(1);
            (
                lines.partition_point(|v| *v < low).min(n_cells),
                lines.partition_point(|v| *v < high).min(n_cells),
            )
        };
        let (left, right) = range(&self.xs, b.min.x, b.max.x);
        let (front, back) = range(&self.ys, b.min.y, b.max.y);
        for row in front..back {
            for cell in &mut self.clear[row * n_columns + left..row * n_columns + right.max(left)] {
                *cell = false;
            }
        }
    }

    /// Calls `each` with every maximal clear box, in a fixed order.
    pub fn each_maximal(&self, mut each: impl FnMut(Bounds)) {
        let (n_columns, n_rows) = (self.n_columns(), self.n_rows());
        // For each column, the lowest row of the run of clear cells that ends at the current row (one above it if none).
        let mut low = vec![0; n_columns];
        let mut stack: Vec<(usize, usize)> = Vec::new();
        for row in 0..n_rows {
            let cells = &self.clear[row * n_columns..(row + 1) * n_columns];
            let above = (row + 1 < n_rows)
                .then(|| &self.clear[(row + 1) * n_columns..(row + 2) * n_columns]);
            let mut last_blocked_above = None;
            for column in 0..=n_columns {
                let bottom = if column == n_columns {
                    row + 1
                } else {
                    if !cells[column] {
                        low[column] = row + 1;
                    }
                    low[column]
                };
                let mut from = column;
                while let Some(&(start, base)) = stack.last() {
                    if base >= bottom {
                        break;
                    }
                    stack.pop();
                    from = start;
                    let grows_up = above.is_some() && last_blocked_above.is_none_or(|c| c < start);
                    if !grows_up {
                        let (min, max) = (
                            Point::new(self.xs[start], self.ys[base]),
                            Point::new(self.xs[column], self.ys[row + 1]),
                        );
                        each(Bounds::new(min, max));
                    }
                }
                if bottom <= row && stack.last().is_none_or(|top| top.1 > bottom) {
                    stack.push((from, bottom));
                }
                if above.is_some_and(|a| column < n_columns && !a[column]) {
                    last_blocked_above = Some(column);
                }
            }
            stack.clear();
        }
    }

    /// The maximal clear box that is worth most; of equals the first. `worth` says `None` to what is of no use.
    pub fn best(&self, worth: impl Fn(Bounds) -> Option<f64>) -> Option<Bounds> {
        let mut best: Option<(f64, Bounds)> = None;
        self.each_maximal(|b| {
            if let Some(value) = worth(b)
                && best.is_none_or(|(most, _)| value > most)
            {
                best = Some((value, b));
            }
        });
        best.map(|(_, b)| b)
    }
}

/// Adds boxes that cover a ring, grown by `keep`, and the chords between the points at which its edges were divided.
fn cover_ring(
    ring: &Ring,
    keep: f64,
    step: (f64, f64),
    cover: &mut Vec<Bounds>,
    chords: &mut Vec<(Point, Point)>,
) {
    let mut run = Bounds::EMPTY;
    for edge in ring.edges() {
        let n = n_steps(edge, step);
        let mut start = edge.start;
        for k in 1..=n {
            let end = if k == n {
                edge.end
            } else {
                edge.at(k as f64 / n as f64)
            };
            let part = Edge {
                start,
                end,
                ..*edge
            };
            chords.push((start, end));
            let b = part.bounds();
            let joined = run.join(b);
            if joined.width() <= FINE && joined.depth() <= FINE {
                run = joined;
            } else {
                if !run.is_empty() {
                    cover.push(run.grown(keep));
                }
                let small = b.width() <= FINE && b.depth() <= FINE;
                run = if small { b } else { Bounds::EMPTY };
                if !small {
                    cover.push(b.grown(keep));
                }
            }
            start = end;
        }
    }
    if !run.is_empty() {
        cover.push(run.grown(keep));
    }
}

/// Into how many parts an edge is divided, so that each part's box is a small step of a staircase.
fn n_steps(edge: &Edge, (height, most): (f64, f64)) -> usize {
    let b = edge.bounds();
    let steps = (b.width().min(b.depth()) / height).ceil();
    let turns = match edge.curve {
        Curve::Line => 1.0,
        // A sixteenth of a circle and its box part by at most 8 % of the radius.
        Curve::Arc { .. } => (edge.sweep().abs() / (PI / 8.0) - 1e-9).ceil(),
    };
    steps.max(turns).clamp(1.0, most) as usize
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;

    const NO_SOURCE: SourceId = SourceId(0);

    fn boxed(x0: f64, y0: f64, x1: f64, y1: f64) -> Bounds {
        Bounds::new(Point::new(x0, y0), Point::new(x1, y1))
    }

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        Region::solid(Ring::rounded_box(boxed(x0, y0, x1, y1), 0.0, NO_SOURCE))
    }

    fn polygon(points: &[(f64, f64)]) -> Region {
        let points: Vec<Point> = points.iter().map(|p| Point::new(p.0, p.1)).collect();
        Region::solid(Ring::polygon(&points, NO_SOURCE).unwrap())
    }

    fn maximal(space: &ClearSpace) -> Vec<Bounds> {
        let mut found = Vec::new();
        space.each_maximal(|b| found.push(b));
        found.sort_by(|a, b| {
            a.min
                .x
                .total_cmp(&b.min.x)
                .then(a.min.y.total_cmp(&b.min.y))
                .then(a.max.x.total_cmp(&b.max.x))
        });
        found
    }

    #[test]
    fn an_empty_rectangle_is_one_box_less_its_margin() {
        let space = ClearSpace::new(&[rect(0.0, 0.0, 600.0, 400.0)], 5.0, &[], 0.0);
        assert_eq!(maximal(&space), [boxed(5.0, 5.0, 595.0, 395.0)], "by hand");
    }

    #[test]
    fn an_l_has_its_two_bars() {
        let l = polygon(&[
            (0.0, 0.0),
            (300.0, 0.0),
            (300.0, 100.0),
            (120.0, 100.0),
            (120.0, 250.0),
            (0.0, 250.0),
        ]);
        let space = ClearSpace::new(&[l], 5.0, &[], 0.0);
        assert_eq!(
            maximal(&space),
            [boxed(5.0, 5.0, 115.0, 245.0), boxed(5.0, 5.0, 295.0, 95.0)],
            "by hand"
        );
    }

    #[test]
    fn a_box_in_the_middle_leaves_four() {
        let space = ClearSpace::new(
            &[rect(0.0, 0.0, 100.0, 80.0)],
            0.0,
            &[rect(40.0, 30.0, 60.0, 50.0)],
            2.0,
        );
        let hand = [
            boxed(0.0, 0.0, 38.0, 80.0),
            boxed(0.0, 0.0, 100.0, 28.0),
            boxed(0.0, 52.0, 100.0, 80.0),
            boxed(62.0, 0.0, 100.0, 80.0),
        ];
        let mut hand = hand.to_vec();
        hand.sort_by(|a, b| {
            a.min
                .x
                .total_cmp(&b.min.x)
                .then(a.min.y.total_cmp(&b.min.y))
                .then(a.max.x.total_cmp(&b.max.x))
        });
        assert_eq!(maximal(&space), hand);
    }

    #[test]
    fn a_round_defect_is_passed_at_its_extreme_points() {
        let disc = Ring::circle(Point::new(50.0, 40.0), 10.0, NO_SOURCE);
        let sheet = Region::new(
            Ring::rounded_box(boxed(0.0, 0.0, 100.0, 80.0), 0.0, NO_SOURCE),
            vec![disc],
        );
        let space = ClearSpace::new(&[sheet], 5.0, &[], 0.0);
        let widest = space.best(|b| Some(b.width() * b.depth())).unwrap();
        // By hand: left of the disc less twice the margin, 5 to 35, the whole depth.
        assert_eq!(widest, boxed(5.0, 5.0, 35.0, 75.0));
    }

    /// Independent method: every cell of a coarse raster is tested one by one, and every rectangle of it enumerated.
    #[test]
    fn maximal_boxes_are_those_of_plain_enumeration() {
        let mut state = 12345_u64;
        let mut next = |n: u64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 33) % n) as usize
        };
        for _ in 0..40 {
            let n = 9;
            let taken: Vec<(usize, usize, usize, usize)> = (0..4)
                .map(|_| (next(8), next(8), 1 + next(3), 1 + next(3)))
                .collect();
            let blocked = |x: usize, y: usize| {
                taken
                    .iter()
                    .any(|t| t.0 <= x && x < t.0 + t.2 && t.1 <= y && y < t.1 + t.3)
            };
            let free = |x0: usize, y0: usize, x1: usize, y1: usize| {
                (x0..x1).all(|x| (y0..y1).all(|y| !blocked(x, y)))
            };
            let mut hand = Vec::new();
            for (x0, y0) in (0..n).flat_map(|x| (0..n).map(move |y| (x, y))) {
                for (x1, y1) in (x0 + 1..=n).flat_map(|x| (y0 + 1..=n).map(move |y| (x, y))) {
                    let grows = (x0 > 0 && free(x0 - 1, y0, x1, y1))
                        || (x1 < n && free(x0, y0, x1 + 1, y1));
                    let grows = grows
                        || (y0 > 0 && free(x0, y0 - 1, x1, y1))
                        || (y1 < n && free(x0, y0, x1, y1 + 1));
                    if free(x0, y0, x1, y1) && !grows {
                        hand.push(boxed(
                            x0 as f64 * 10.0,
                            y0 as f64 * 10.0,
                            x1 as f64 * 10.0,
                            y1 as f64 * 10.0,
                        ));
                    }
                }
            }
            let shapes: Vec<Region> = taken
                .iter()
                .map(|t| {
                    rect(
                        t.0 as f64 * 10.0,
                        t.1 as f64 * 10.0,
                        (t.0 + t.2) as f64 * 10.0,
                        (t.1 + t.3) as f64 * 10.0,
                    )
                })
                .collect();
            // Overlapping shapes are taken one by one, as even-odd counting would open where two overlap.
            let mut space = ClearSpace::new(&[rect(0.0, 0.0, 90.0, 90.0)], 0.0, &shapes, 0.0);
            for s in &shapes {
                space.block(s.bounds());
            }
            let key = |b: &Bounds| [b.min.x, b.min.y, b.max.x, b.max.y].map(|v| v as i64);
            let (mut found, mut hand): (Vec<_>, Vec<_>) = (
                maximal(&space).iter().map(key).collect(),
                hand.iter().map(key).collect(),
            );
            found.sort_unstable();
            hand.sort_unstable();
            assert_eq!(found, hand, "taken {taken:?}");
        }
    }

    #[test]
    fn no_area_has_no_boxes() {
        assert!(maximal(&ClearSpace::new(&[], 5.0, &[], 0.0)).is_empty());
        assert!(maximal(&ClearSpace::new(&[rect(0.0, 0.0, 8.0, 8.0)], 5.0, &[], 0.0)).is_empty());
    }
}
