//! A sheet as small squares, each known to be taken or not known: says at once that a shape cannot lie somewhere, and leads
//! to places that no corner of contact leads to.
//!
//! A square counts as taken only where all of it lies inside the material of what is placed, or off the sheet; squares that an
//! edge crosses do not. A shape is asked by *samples*, points of its material. So a place that is refused is never free,
//! and one that is not refused still has to be tested on true edges.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::tolerance::FLAT_PICTURE;
use crate::nest::solid::solids;

/// Squares of a sheet, about.
const SQUARES: f64 = 16_384.0;
/// The most squares along a side.
const MOST: usize = 1024;
/// Squares across the box of a shape in which samples are looked for.
const ACROSS: usize = 7;
/// Samples of a shape, at the most.
const SAMPLES: usize = 40;

/// A shape for a raster: its rings as chords, and samples of its material.
#[derive(Clone, Debug, Default)]
pub(crate) struct Footprint {
    rings: Vec<Vec<Point>>,
    /// Well spread from the first one on: most places that are taken are refused by one of the first.
    pub(crate) samples: Vec<Point>,
    /// Extents of rectangles in its material.
    solids: Vec<Point>,
}

impl Footprint {
    /// The footprint of a shape, where it is.
    pub(crate) fn of(region: &Region) -> Self {
        let rings: Vec<Vec<Point>> = region.rings().map(|r| r.flatten(FLAT_PICTURE)).collect();
        let mut found: Vec<Point> = Vec::new();
        let b = region.bounds();
        for j in 0..ACROSS {
            for i in 0..ACROSS {
                let share = |k: usize| (k as f64 + 0.5) / ACROSS as f64;
                let p = Point::new(
                    b.min.x + share(i) * b.width(),
                    b.min.y + share(j) * b.depth(),
                );
                if holds(&rings, p) {
                    found.push(p);
                }
            }
        }
        let corners = region.outer().edges();
        let every = corners.len().div_ceil(2 * SAMPLES).max(1);
        found.extend(corners.iter().step_by(every).map(|e| e.start));
        Self {
            samples: spread(&found, b.center()),
            solids: solids(&rings),
            rings,
        }
    }

    /// The rings alone, for what is only laid down.
    pub(crate) fn rings_of(region: &Region) -> Self {
        Self {
            rings: region.rings().map(|r| r.flatten(FLAT_PICTURE)).collect(),
            samples: Vec::new(),
            solids: Vec::new(),
        }
    }
}

/// Points in such an order that each lies as far as can be from all before it; the first is the one nearest to the middle.
fn spread(points: &[Point], middle: Point) -> Vec<Point> {
    let nearest = |a: &&Point, b: &&Point| {
        let d = |p: &Point| (*p - middle).length_squared();
        d(a).total_cmp(&d(b))
    };
    let Some(&first) = points.iter().min_by(nearest) else {
        return Vec::new();
    };
    let mut out = vec![first];
    let mut away: Vec<f64> = points
        .iter()
        .map(|p| (*p - first).length_squared())
        .collect();
    while out.len() < SAMPLES {
        let Some(k) =
            (0..points.len()).max_by(|&a, &b| away[a].total_cmp(&away[b]).then(b.cmp(&a)))
        else {
            break;
        };
        if away[k] <= 1e-9 {
            break;
        }
        out.push(points[k]);
        for (d, p) in away.iter_mut().zip(points) {
            *d = d.min((*p - points[k]).length_squared());
        }
    }
    out
}

/// Whether a point lies inside rings (even and odd); on an edge either answer.
fn holds(rings: &[Vec<Point>], p: Point) -> bool {
    let mut inside = false;
    for ring in rings {
        let mut a = ring[ring.len() - 1];
        for &b in ring {
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                inside = !inside;
            }
            a = b;
        }
    }
    inside
}

/// The squares of one sheet.
#[derive(Clone, Debug)]
pub(crate) struct Raster {
    origin: Point,
    side: f64,
    nx: usize,
    ny: usize,
    /// Row by row; a row begins with a whole word.
    words: Vec<u64>,
    per_row: usize,
}

impl Raster {
    /// The squares of a sheet: taken where there is no sheet.
    pub(crate) fn of_sheet(regions: &[Region]) -> Self {
        let b = regions
            .iter()
            .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
        let side = (b.width() * b.depth() / SQUARES)
            .sqrt()
            .max(b.width().max(b.depth()) / MOST as f64)
            .max(1e-3);
        let n = |extent: f64| (extent / side).ceil().max(1.0) as usize;
        let (nx, ny) = (n(b.width()), n(b.depth()));
        let per_row = nx.div_ceil(64);
        let mut out = Self {
            origin: b.min,
            side,
            nx,
            ny,
            words: vec![0; per_row * ny],
            per_row,
        };
        let rings: Vec<Vec<Point>> = regions
            .iter()
            .flat_map(|r| r.rings().map(|ring| ring.flatten(FLAT_PICTURE)))
            .collect();
        let plain = regions.len() == 1
            && rings.len() == 1
            && (b.width() * b.depth() - regions[0].area_mm2()).abs() < 1e-6;
        if !plain {
            out.mark(&rings, Point::new(0.0, 0.0), true);
        }
        out
    }

    /// Squares of one shape whose box begins at the origin: taken where they lie wholly in its material.
    pub(crate) fn of_shape(print: &Footprint, size: Point, side: f64) -> Self {
        let n = |extent: f64| (extent / side).ceil().max(1.0) as usize;
        let (nx, ny) = (n(size.x), n(size.y));
        let per_row = nx.div_ceil(64);
        let mut out = Self {
            origin: Point::new(0.0, 0.0),
            side,
            nx,
            ny,
            words: vec![0; per_row * ny],
            per_row,
        };
        out.take(print, out.origin);
        out
    }

    /// How many squares along x and along y.
    pub(crate) fn extent(&self) -> (usize, usize) {
        (self.nx, self.ny)
    }

    /// Takes what lies inside a shape shifted by `by`.
    pub(crate) fn take(&mut self, print: &Footprint, by: Point) {
        self.mark(&print.rings, by, false);
    }

    /// Takes squares that no edge crosses and whose middle lies inside the rings (or outside).
    fn mark(&mut self, rings: &[Vec<Point>], by: Point, outside: bool) {
        let mut b = Bounds::of_points(rings.iter().flatten().copied()).moved(by);
        if outside {
            b = Bounds::new(
                self.origin,
                self.origin + Point::new(self.nx as f64, self.ny as f64) * self.side,
            );
        }
        let column = |x: f64| ((x - self.origin.x) / self.side).floor();
        let row = |y: f64| ((y - self.origin.y) / self.side).floor();
        let clamp = |v: f64, n: usize| v.clamp(0.0, n as f64 - 1.0) as usize;
        let (i0, i1) = (
            clamp(column(b.min.x), self.nx),
            clamp(column(b.max.x), self.nx),
        );
        let (j0, j1) = (clamp(row(b.min.y), self.ny), clamp(row(b.max.y), self.ny));
        let width = i1 - i0 + 1;
        let mut crossed = vec![false; width * (j1 - j0 + 1)];
        // Chords err by the flatness, arcs lie up to that far beside them.
        let room = 1.5 * FLAT_PICTURE;
        let mut cuts: Vec<Vec<f64>> = vec![Vec::new(); j1 - j0 + 1];
        for ring in rings {
            let mut a = ring[ring.len() - 1] + by;
            for &p in ring {
                let c = p + by;
                let (low, high) = if a.y < c.y { (a, c) } else { (c, a) };
                let first = clamp(row(low.y - room), self.ny).max(j0);
                let last = clamp(row(high.y + room), self.ny).min(j1);
                for j in first..=last {
                    let (y0, y1) = (
                        self.origin.y + j as f64 * self.side,
                        self.origin.y + (j + 1) as f64 * self.side,
                    );
                    let at = |y: f64| {
                        if high.y - low.y < 1e-12 {
                            return None;
                        }
                        Some(
                            low.toward(high, ((y - low.y) / (high.y - low.y)).clamp(0.0, 1.0))
                                .x,
                        )
                    };
                    let (mut from, mut to) = match (at(y0 - room), at(y1 + room)) {
                        (Some(u), Some(v)) => (u.min(v), u.max(v)),
                        _ => (low.x.min(high.x), low.x.max(high.x)),
                    };
                    from -= room;
                    to += room;
                    if to >= b.min.x && from <= b.max.x {
                        for i in clamp(column(from), self.nx).max(i0)
                            ..=clamp(column(to), self.nx).min(i1)
                        {
                            crossed[(j - j0) * width + i - i0] = true;
                        }
                    }
                    let middle = 0.5 * (y0 + y1);
                    if (low.y > middle) != (high.y > middle) {
                        cuts[j - j0].extend(at(middle));
                    }
                }
                a = c;
            }
        }
        for (j, cuts) in cuts.iter_mut().enumerate() {
            cuts.sort_by(f64::total_cmp);
            let mut passed = 0;
            for i in 0..width {
                let x = self.origin.x + (i0 + i) as f64 * self.side + 0.5 * self.side;
                while passed < cuts.len() && cuts[passed] < x {
                    passed += 1;
                }
                if (passed % 2 == 1) != outside && !crossed[j * width + i] {
                    let k = i0 + i;
                    self.words[(j0 + j) * self.per_row + k / 64] |= 1 << (k % 64);
                }
            }
        }
    }

    /// Whether no sample shifted by `by` lies in a square that is taken.
    pub(crate) fn may_hold(&self, samples: &[Point], by: Point) -> bool {
        let (last_i, last_j) = (self.nx - 1, self.ny - 1);
        let (rate, from) = (1.0 / self.side, by - self.origin);
        samples.iter().all(|s| {
            // A cast cuts off what is below 0.
            let i = ((s.x + from.x) * rate) as usize;
            let j = ((s.y + from.y) * rate) as usize;
            !self.is_taken(i.min(last_i), j.min(last_j))
        })
    }

    /// The square of a point, brought onto the sheet.
    fn square(&self, p: Point) -> (usize, usize) {
        let at = |v: f64, n: usize| (v / self.side).clamp(0.0, n as f64 - 1.0) as usize;
        (
            at(p.x - self.origin.x, self.nx),
            at(p.y - self.origin.y, self.ny),
        )
    }

    /// Whether a square is taken.
    pub(crate) fn is_taken(&self, i: usize, j: usize) -> bool {
        self.words[j * self.per_row + i / 64] >> (i % 64) & 1 == 1
    }

    /// How wide, in squares, the widest rectangle is that holds no taken square, by how many rows it is deep.
    pub(crate) fn openings(&self) -> Vec<usize> {
        let mut widest = vec![0; self.ny + 1];
        let mut deep = vec![0; self.nx];
        // Rectangles that end in this row and are still open to the right: where they begin, how deep they are.
        let mut open: Vec<(usize, usize)> = Vec::new();
        for j in 0..self.ny {
            for i in 0..=self.nx {
                let depth = match deep.get_mut(i) {
                    Some(d) => {
                        *d = if self.is_taken(i, j) { 0 } else { *d + 1 };
                        *d
                    }
                    None => 0,
                };
                let mut begin = i;
                while let Some(&(from, d)) = open.last()
                    && d >= depth
                {
                    open.pop();
                    widest[d] = widest[d].max(i - from);
                    begin = from;
                }
                if depth > 0 {
                    open.push((begin, depth));
                }
            }
        }
        for d in (1..self.ny).rev() {
            widest[d] = widest[d].max(widest[d + 1]);
        }
        widest
    }

    /// Whether a shape can lie nowhere among such openings, nothing of others being nearer to it than `away`: some rectangle
    /// in its material meets at least so many squares, and there is no such opening.
    pub(crate) fn is_too_full(&self, openings: &[usize], print: &Footprint, away: f64) -> bool {
        let squares = |v: f64| (v / self.side - 1e-6).ceil().max(1.0) as usize;
        print.solids.iter().any(|s| {
            [(2.0 * away, 0.0), (0.0, 2.0 * away)].iter().any(|(w, d)| {
                let rows = squares(s.y + d);
                openings.get(rows).is_none_or(|o| *o < squares(s.x + w))
            })
        })
    }

    /// Lattice places for samples whose box begins at the lattice's own corner: how many along x and y.
    pub(crate) fn lattice(&self, room: Bounds, size: Point) -> (usize, usize) {
        let n = |free: f64| {
            if free < -1e-6 {
                0
            } else {
                (free.max(0.0) / self.side) as usize + 1
            }
        };
        (n(room.width() - size.x), n(room.depth() - size.y))
    }

    /// The side of a square.
    pub(crate) fn side(&self) -> f64 {
        self.side
    }

    /// Places of samples as whole squares, for a box at `corner`; asked with `is_open` shifted by whole squares.
    pub(crate) fn stamp(&self, samples: &[Point], corner: Point) -> Vec<(usize, usize)> {
        let mut out: Vec<(usize, usize)> = Vec::with_capacity(samples.len());
        for s in samples {
            let square = self.square(*s + corner);
            if !out.contains(&square) {
                out.push(square);
            }
        }
        out
    }

    /// Which of 64 places a stamp may have, shifted by `j` squares along y and by `i`, `i` + 1, … along x: bit k stands for `i` + k.
    /// What lies beyond the last square is left to the test on true edges.
    pub(crate) fn open_places(&self, stamp: &[(usize, usize)], i: usize, j: usize) -> u64 {
        let mut taken = 0;
        for &(a, b) in stamp {
            let (first, row) = (a + i, b + j);
            if row >= self.ny {
                continue;
            }
            let words = &self.words[row * self.per_row..(row + 1) * self.per_row];
            taken |= bits(words, first);
            if taken == u64::MAX {
                return 0;
            }
        }
        !taken
    }
}

/// 64 bits of a row from a place on; none lie beyond its end.
pub(crate) fn bits(row: &[u64], first: usize) -> u64 {
    let (word, bit) = (first / 64, first % 64);
    let low = row.get(word).copied().unwrap_or(0) >> bit;
    let high = match bit {
        0 => 0,
        _ => row.get(word + 1).copied().unwrap_or(0) << (64 - bit),
    };
    low | high
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::predicate::{Location, point_in_region};
    use crate::geometry::ring::Ring;

    fn triangle(points: [(f64, f64); 3]) -> Region {
        let points = points.map(|(x, y)| Point::new(x, y));
        Region::solid(Ring::polygon(&points, SourceId(0)).unwrap().oriented(true))
    }

    /// Independent method: the exact predicate, point by point.
    #[test]
    fn what_is_refused_lies_in_material_or_off_the_sheet() {
        let disc = Ring::circle(Point::new(160.0, 90.0), 12.0, SourceId(0));
        let sheet = Region::new(
            Ring::rounded_box(
                Bounds::new(Point::new(0.0, 0.0), Point::new(300.0, 180.0)),
                30.0,
                SourceId(0),
            ),
            vec![disc],
        );
        let placed = [
            triangle([(20.0, 20.0), (110.0, 31.0), (40.0, 97.0)]),
            Region::new(
                Ring::circle(Point::new(240.0, 90.0), 40.0, SourceId(0)),
                vec![Ring::circle(Point::new(240.0, 90.0), 20.0, SourceId(0))],
            ),
        ];
        let mut raster = Raster::of_sheet(std::slice::from_ref(&sheet));
        for shape in &placed {
            raster.take(&Footprint::of(shape), Point::new(0.0, 0.0));
        }
        let probe = triangle([(0.0, 0.0), (14.0, 3.0), (2.0, 11.0)]);
        let print = Footprint::of(&probe);
        let (mut refused, mut open) = (0, 0);
        for j in 0..56 {
            for i in 0..95 {
                let by = Point::new(f64::from(i) * 3.0, f64::from(j) * 3.0);
                if raster.may_hold(&print.samples, by) {
                    open += 1;
                    continue;
                }
                refused += 1;
                let bad = print.samples.iter().any(|s| {
                    point_in_region(*s + by, &sheet) == Location::Outside
                        || placed
                            .iter()
                            .any(|r| point_in_region(*s + by, r) == Location::Inside)
                });
                assert!(bad, "refused at {by:?}, where it is free");
            }
        }
        assert!(
            refused > 800 && open > 800,
            "{refused} refused, {open} open"
        );
    }

    #[test]
    fn openings_are_as_wide_as_counting_all_rectangles_tells() {
        let b = Bounds::new(Point::new(0.0, 0.0), Point::new(30.0, 20.0));
        let sheet = Region::solid(Ring::rounded_box(b, 0.0, SourceId(0)));
        let mut raster = Raster::of_sheet(std::slice::from_ref(&sheet));
        // A coarse one, so that all its rectangles can be counted.
        (raster.nx, raster.ny, raster.per_row, raster.side) = (15, 10, 1, 2.0);
        raster.words = vec![0; 10];
        let mut draws = crate::nest::seed::Draws::new([2, 7, 1]);
        for taken in [0, 5, 20, 60] {
            for _ in 0..taken {
                let (i, j) = (
                    (draws.unit() * 15.0) as usize,
                    (draws.unit() * 10.0) as usize,
                );
                raster.words[j] |= 1 << i;
            }
            let free = |i: usize, j: usize, w: usize, d: usize| {
                (j..j + d).all(|j| (i..i + w).all(|i| !raster.is_taken(i, j)))
            };
            let openings = raster.openings();
            for (d, &told) in openings.iter().enumerate().skip(1) {
                let counted = (0..=10 - d)
                    .flat_map(|j| (0..15).map(move |i| (i, j)))
                    .flat_map(|(i, j)| (1..=15 - i).map(move |w| (i, j, w)))
                    .filter(|&(i, j, w)| free(i, j, w, d))
                    .map(|(_, _, w)| w)
                    .max();
                assert_eq!(told, counted.unwrap_or(0), "{taken} taken, {d} deep");
            }
        }
    }

    /// Independent method: the test on true edges, place by place.
    #[test]
    fn a_sheet_that_is_too_full_for_a_shape_holds_it_nowhere() {
        let block = |w: f64, d: f64| {
            let b = Bounds::new(Point::new(0.0, 0.0), Point::new(w, d));
            Region::solid(Ring::rounded_box(b, 0.0, SourceId(0)))
        };
        let sheet = block(300.0, 180.0);
        let mut raster = Raster::of_sheet(std::slice::from_ref(&sheet));
        // By hand: a bar across leaves 300 × 90 and 300 × 60, less 2 at every side.
        raster.take(&Footprint::of(&block(300.0, 30.0)), Point::new(0.0, 90.0));
        let openings = raster.openings();
        let is_full = |w, d| raster.is_too_full(&openings, &Footprint::of(&block(w, d)), 2.0);
        for (w, d) in [(100.0, 86.0), (296.0, 56.0), (20.0, 85.0)] {
            assert!(!is_full(w, d), "{w} × {d} has room");
        }
        // A square is 1.8 mm wide: what has no room by two squares is refused.
        for (w, d) in [(100.0, 94.0), (20.0, 120.0), (5.0, 179.0)] {
            assert!(is_full(w, d), "{w} × {d} has no room");
        }
    }

    #[test]
    fn stamps_find_the_places_that_samples_find() {
        let sheet = Region::solid(Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(300.0, 180.0)),
            0.0,
            SourceId(0),
        ));
        let mut raster = Raster::of_sheet(std::slice::from_ref(&sheet));
        let shape = triangle([(20.0, 20.0), (210.0, 31.0), (40.0, 157.0)]);
        raster.take(&Footprint::of(&shape), Point::new(0.0, 0.0));
        let print = Footprint::of(&triangle([(0.0, 0.0), (34.0, 3.0), (2.0, 21.0)]));
        let room = sheet.bounds();
        let stamp = raster.stamp(&print.samples, room.min);
        let (nx, ny) = raster.lattice(room, Point::new(34.0, 21.0));
        let mut taken = 0;
        for j in 0..ny {
            for i in 0..nx {
                let bit = raster.open_places(&stamp, i - i % 64, j) >> (i % 64) & 1 == 1;
                let by = Point::new(i as f64, j as f64) * raster.side();
                // A hair to the inside: on the border of two squares either may be meant.
                let near =
                    [1e-6, -1e-6].map(|d| raster.may_hold(&print.samples, by + Point::new(d, d)));
                assert!(near.contains(&bit), "place {i}, {j}");
                taken += usize::from(!bit);
            }
        }
        assert!(taken > 500, "{taken} places are taken");
    }
}
