//! What a shift of two turned shapes meets: shifts are sorted into the cells of a grid. Every cell lists the meets that enter it, in
//! their order; at the corners of cells it is known how severe the overlap is, and a cell that lies wholly in one meet is told
//! from its corners.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::nest::loosen::table::Meet;

/// Looks at a plane from a cell that making all grids may take: some tens of milliseconds.
const MOST_LOOKS: usize = 6_000_000;
/// Cells along x and along y, at the most.
const MOST_CELLS: usize = 24;

/// The cells of a pair.
#[derive(Clone, Copy, Debug)]
struct Grid {
    /// The corner of all meets, and cells a millimetre.
    from: Point,
    rate: Point,
    /// The meets of the pair.
    begin: u32,
    end: u32,
    /// Its first cell, its first height, and how many cells there are along either axis.
    cells: u32,
    heights: u32,
    across: u32,
    /// What the root of an area in common counts.
    factor: f64,
}

/// A cell: where its list begins, the length of the list first; or that nothing is met there.
type Cell = u32;
/// A cell that no meet enters.
const EMPTY: Cell = u32::MAX >> 1;
/// Marks a cell that lies wholly in a meet.
const DEEP: Cell = 1 << 31;

/// What a cell tells of a shift.
pub(super) enum Found<'a> {
    /// It meets nothing.
    Nothing,
    /// How severe the overlap is.
    Height(f64),
    /// It may lie in these meets; what the root of an area in common counts.
    Meets(&'a [u32], f64),
}

/// The grids of all pairs.
#[derive(Clone, Debug, Default)]
pub(super) struct Grids {
    grids: Vec<Grid>,
    cells: Vec<Cell>,
    lists: Vec<u32>,
    /// At the corners of cells, row by row.
    heights: Vec<f32>,
    across: usize,
}

impl Grids {
    /// No grids yet, of pairs that will have so many planes in all.
    pub(super) fn new(planes: usize) -> Self {
        let mut across = 1;
        while across < MOST_CELLS && (across + 1) * (across + 1) * planes <= MOST_LOOKS {
            across += 1;
        }
        Self {
            across,
            ..Self::default()
        }
    }

    /// A grid of the meets of a pair, the first of which is number `begin`; `sides` tells whether a cell lies outside a meet,
    /// and whether inside.
    pub(super) fn add(
        &mut self,
        begin: usize,
        (meets, factor): (&[Meet], f64),
        sides: impl Fn(&Meet, Bounds) -> (bool, bool),
    ) -> u32 {
        let bounds = meets
            .iter()
            .fold(Bounds::EMPTY, |all, meet| all.join(meet.bounds));
        let across = self.across as f64;
        let size = Point::new(bounds.width() / across, bounds.depth() / across);
        self.grids.push(Grid {
            begin: begin as u32,
            end: (begin + meets.len()) as u32,
            cells: self.cells.len() as u32,
            heights: self.heights.len() as u32,
            across: self.across as u32,
            factor,
            from: bounds.min,
            rate: Point::new(1.0 / size.x, 1.0 / size.y),
        });
        for k in 0..self.across * self.across {
            let (column, row) = ((k % self.across) as f64, (k / self.across) as f64);
            let from = bounds.min + Point::new(column * size.x, row * size.y);
            // Grown, so that rounding never finds a shift in the cell beside its own.
            let cell = Bounds::new(from, from + size).grown(1e-6 * (size.x + size.y));
            let first = self.lists.len();
            self.lists.push(0);
            let mut deep = false;
            for (k, meet) in meets.iter().enumerate() {
                if !meet.bounds.touches(cell) {
                    continue;
                }
                let (outside, inside) = sides(meet, cell);
                deep |= inside;
                if !outside {
                    self.lists.push((begin + k) as u32);
                }
            }
            let count = self.lists.len() - first - 1;
            self.lists[first] = count as u32;
            if count == 0 {
                self.lists.truncate(first);
                self.cells.push(EMPTY);
            } else {
                self.cells.push(first as u32 | if deep { DEEP } else { 0 });
            }
        }
        let nodes = (self.across + 1) * (self.across + 1);
        self.heights.resize(self.heights.len() + nodes, 0.0);
        self.grids.len() as u32 - 1
    }

    /// The corners of a grid's cells, row by row.
    pub(super) fn nodes(&self, grid: u32) -> impl Iterator<Item = Point> + '_ {
        let grid = self.grids[grid as usize];
        let n = grid.across + 1;
        (0..n * n).map(move |k| {
            let (column, row) = (f64::from(k % n), f64::from(k / n));
            grid.from + Point::new(column / grid.rate.x, row / grid.rate.y)
        })
    }

    /// Takes down how severe overlaps are at the corners of a grid's cells.
    pub(super) fn set_heights(&mut self, grid: u32, heights: &[f32]) {
        let first = self.grids[grid as usize].heights as usize;
        self.heights[first..first + heights.len()].copy_from_slice(heights);
    }

    /// All meets of a pair.
    pub(super) fn all(&self, grid: usize) -> std::ops::Range<usize> {
        self.grids[grid].begin as usize..self.grids[grid].end as usize
    }

    /// What the root of an area in common counts for a pair: √(λ · λ), λ the root of a hull's area.
    pub(super) fn factor(&self, grid: usize) -> f64 {
        self.grids[grid].factor
    }

    /// The meets in which a shift may lie.
    pub(super) fn list(&self, grid: usize, d: Point) -> &[u32] {
        let grid = &self.grids[grid];
        grid.place(d).map_or(&[], |(column, row, _)| {
            self.listed(grid.cell(column, row, &self.cells))
        })
    }

    fn listed(&self, cell: Cell) -> &[u32] {
        let begin = (cell & !DEEP) as usize;
        match self.lists.get(begin) {
            Some(&count) => &self.lists[begin + 1..=begin + count as usize],
            None => &[],
        }
    }

    /// What the cell of a shift tells.
    #[inline]
    pub(super) fn at(&self, grid: usize, d: Point) -> Found<'_> {
        let grid = &self.grids[grid];
        let Some((column, row, at)) = grid.place(d) else {
            return Found::Nothing;
        };
        let cell = grid.cell(column, row, &self.cells);
        if cell & DEEP != 0 {
            let n = grid.across as usize + 1;
            let first = grid.heights as usize + row * n + column;
            let low = &self.heights[first..first + 2];
            let high = &self.heights[first + n..first + n + 2];
            let (x, y) = (at.x - column as f64, at.y - row as f64);
            let along =
                |ends: &[f32]| f64::from(ends[0]) + x * (f64::from(ends[1]) - f64::from(ends[0]));
            let (low, high) = (along(low), along(high));
            return Found::Height(low + y * (high - low));
        }
        if cell == EMPTY {
            return Found::Nothing;
        }
        Found::Meets(self.listed(cell), grid.factor)
    }
}

impl Grid {
    /// Column and row of a shift, and the shift in cells; `None` outside.
    #[inline]
    fn place(&self, d: Point) -> Option<(usize, usize, Point)> {
        let x = (d.x - self.from.x) * self.rate.x;
        let y = (d.y - self.from.y) * self.rate.y;
        let across = f64::from(self.across);
        // The outermost corners lie outside by rounding at the most: no shift of a true overlap is there.
        if !(x >= 0.0 && y >= 0.0 && x <= across && y <= across) {
            return None;
        }
        let last = self.across as usize - 1;
        let (column, row) = ((x as u32 as usize).min(last), (y as u32 as usize).min(last));
        Some((column, row, Point::new(x, y)))
    }

    fn cell(&self, column: usize, row: usize, cells: &[Cell]) -> Cell {
        cells[self.cells as usize + row * self.across as usize + column]
    }
}
