//! Small defects in the way of large items: points that no item may cover, asked for 64 places of a lattice at once.
//!
//! A defect smaller than a raster's square leaves no square taken, and yet most places of a large item cover some defect.
//! So corners of defects are *pins*. A *cover* is what an orientation covers for certain: squares as large as the sheet's, from
//! the corner of its own box, that lie wholly in its material. Where a pin falls into such a square the place is taken; what is
//! refused is never free.

use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::nest::raster::{Footprint, Raster, bits};

/// Corners of one defect that are pins, at the most.
const CORNERS: usize = 6;
/// Pins of a sheet, at the most.
const PINS: usize = 256;

/// Corners of a sheet's defects, well spread over each of them.
pub(crate) fn pins(region: &[Region]) -> Vec<Point> {
    let mut out: Vec<Point> = region
        .iter()
        .flat_map(Region::holes)
        .flat_map(|hole| {
            let every = hole.edges().len().div_ceil(CORNERS);
            hole.edges().iter().step_by(every.max(1)).map(|e| e.start)
        })
        .collect();
    out.truncate(PINS);
    out
}

/// Squares wholly in the material of an orientation, whose box begins at the origin.
#[derive(Clone, Debug)]
pub(crate) struct Cover {
    side: f64,
    nx: usize,
    ny: usize,
    /// Row by row, from right to left; a row begins with a whole word.
    words: Vec<u64>,
    per_row: usize,
}

impl Cover {
    /// The cover of a shape for a raster with squares of such a side.
    pub(crate) fn new(print: &Footprint, size: Point, side: f64) -> Self {
        let raster = Raster::of_shape(print, size, side);
        let (nx, ny) = raster.extent();
        let per_row = nx.div_ceil(64);
        let mut words = vec![0; per_row * ny];
        for j in 0..ny {
            for i in (0..nx).filter(|&i| raster.is_taken(i, j)) {
                let k = nx - 1 - i;
                words[j * per_row + k / 64] |= 1 << (k % 64);
            }
        }
        Self {
            side,
            nx,
            ny,
            words,
            per_row,
        }
    }

    /// Whether a pin is covered for certain where the box begins at `corner`.
    pub(crate) fn meets(&self, pins: &[Point], corner: Point) -> bool {
        pins.iter().any(|&p| {
            let (i, j) = self.square(p - corner);
            i >= 0
                && i < self.nx as isize
                && self.row(j).is_some_and(|row| {
                    let k = self.nx - 1 - i as usize;
                    row[k / 64] >> (k % 64) & 1 == 1
                })
        })
    }

    /// Of 64 places, shifted from `corner` by `j` squares along y and by `i`, `i` + 1, … along x, those at which a pin is covered.
    pub(crate) fn pinned(&self, pins: &[Point], corner: Point, (i, j): (usize, usize)) -> u64 {
        let mut out = 0;
        for &p in pins {
            let (a, b) = self.square(p - corner);
            let Some(row) = self.row(b - j as isize) else {
                continue;
            };
            // The pin lies in square a − i − k of place i + k, which is bit nx − 1 − a + i + k of the row.
            let first = self.nx as isize - 1 - a + i as isize;
            out |= bits_around(row, first);
        }
        out
    }

    /// Whether nothing is covered for certain.
    pub(crate) fn is_empty(&self) -> bool {
        self.words.iter().all(|w| *w == 0)
    }

    fn square(&self, p: Point) -> (isize, isize) {
        (
            (p.x / self.side).floor() as isize,
            (p.y / self.side).floor() as isize,
        )
    }

    fn row(&self, j: isize) -> Option<&[u64]> {
        let j = usize::try_from(j).ok().filter(|&j| j < self.ny)?;
        Some(&self.words[j * self.per_row..(j + 1) * self.per_row])
    }
}

/// 64 bits of a row from any place on, before it too; none lie beyond its ends.
fn bits_around(row: &[u64], first: isize) -> u64 {
    usize::try_from(first).map_or_else(
        |_| {
            let before = u32::try_from(first.unsigned_abs()).ok();
            before
                .and_then(|n| bits(row, 0).checked_shl(n))
                .unwrap_or(0)
        },
        |first| bits(row, first),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::predicate::{Location, point_in_region};
    use crate::geometry::ring::Ring;

    /// Independent method: the exact predicate, pin by pin.
    #[test]
    fn a_place_is_pinned_only_where_a_pin_lies_inside_and_mostly_then() {
        let points = [(0.0, 0.0), (230.0, 20.0), (170.0, 110.0), (30.0, 140.0)];
        let points = points.map(|(x, y)| Point::new(x, y));
        let shape = Region::solid(Ring::polygon(&points, SourceId(0)).unwrap().oriented(true));
        let cover = Cover::new(&Footprint::of(&shape), Point::new(230.0, 140.0), 3.0);
        let pins = [Point::new(200.0, 150.0), Point::new(311.0, 97.5)];
        let from = Point::new(5.0, 5.0);
        let (mut pinned, mut inside) = (0, 0);
        for j in 0..60 {
            for i in 0..130 {
                let corner = from + Point::new(i as f64, j as f64) * 3.0;
                let told = cover.pinned(&pins, from, (i - i % 64, j)) >> (i % 64) & 1 == 1;
                assert_eq!(told, cover.meets(&pins, corner), "place {i}, {j}");
                let is_in = pins
                    .iter()
                    .any(|p| point_in_region(*p - corner, &shape) == Location::Inside);
                assert!(is_in || !told, "refused at {i}, {j}, where it is free");
                pinned += usize::from(told);
                inside += usize::from(is_in);
            }
        }
        assert!(
            pinned > 1000 && 10 * pinned > 8 * inside,
            "{pinned} of {inside}"
        );
    }
}
