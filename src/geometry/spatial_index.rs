//! A uniform grid over edges: which are near a box, which is nearest to a point.
//!
//! Each edge is entered in every cell that its box touches; the number of cells is about that of the edges. Answers are
//! in ascending order of (ring, edge) and do not depend on the grid.

use crate::geometry::{
    bounds::Bounds, distance::point_edge, edge::Edge, point::Point, region::Region,
};

/// An edge in the index and where it came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// The edge.
    pub edge: Edge,
    /// Its box.
    pub bounds: Bounds,
    /// Index of its ring: 0 is the outer ring, holes follow; over several regions the count goes on.
    pub ring: usize,
    /// Index of the edge in its ring.
    pub edge_idx: usize,
}

/// The nearest edge to a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// How far it is.
    pub distance: f64,
    /// Its point that is nearest.
    pub point: Point,
    /// Index of its ring.
    pub ring: usize,
    /// Index of the edge in its ring.
    pub edge_idx: usize,
}

/// The index.
#[derive(Clone, Debug)]
pub struct EdgeIndex {
    entries: Vec<Entry>,
    bounds: Bounds,
    columns: usize,
    rows: usize,
    cell: f64,
    /// Where the entries of each cell begin in `members`; one longer than there are cells.
    starts: Vec<u32>,
    members: Vec<u32>,
}

impl EdgeIndex {
    /// An index over all edges of regions.
    pub fn new<'a>(regions: impl IntoIterator<Item = &'a Region>) -> Self {
        let rings = regions
            .into_iter()
            .flat_map(|r| r.rings().map(|ring| ring.edges()));
        Self::of_chains(rings)
    }

    /// An index over chains of edges; each chain counts as one ring.
    pub fn of_chains<'a>(chains: impl IntoIterator<Item = &'a [Edge]>) -> Self {
        let mut entries = Vec::new();
        for (ring, edges) in chains.into_iter().enumerate() {
            entries.extend(edges.iter().enumerate().map(|(edge_idx, edge)| Entry {
                edge: *edge,
                bounds: edge.bounds(),
                ring,
                edge_idx,
            }));
        }
        entries.shrink_to_fit();
        let bounds = entries.iter().fold(Bounds::EMPTY, |b, e| b.join(e.bounds));
        let mut index = Self {
            entries,
            bounds,
            columns: 1,
            rows: 1,
            cell: 1.0,
            starts: Vec::new(),
            members: Vec::new(),
        };
        index.lay_grid();
        index
    }

    fn lay_grid(&mut self) {
        if !self.entries.is_empty() {
            let (w, d) = (self.bounds.width(), self.bounds.depth());
            let n = self.entries.len() as f64;
            // Square cells, about as many as edges, and no more than that along a thin strip.
            self.cell = (w * d / n).sqrt().max(w.max(d) / n).max(1e-9);
            self.columns = (w / self.cell) as usize + 1;
            self.rows = (d / self.cell) as usize + 1;
        }
        self.coarsen();
        let mut counts = vec![0_u32; self.columns * self.rows + 1];
        for entry in &self.entries {
            self.for_cells(entry.bounds, |cell| counts[cell + 1] += 1);
        }
        for i in 1..counts.len() {
            counts[i] += counts[i - 1];
        }
        let mut members = vec![0_u32; counts[counts.len() - 1] as usize];
        let mut next = counts.clone();
        for (i, entry) in self.entries.iter().enumerate() {
            self.for_cells(entry.bounds, |cell| {
                members[next[cell] as usize] = i as u32;
                next[cell] += 1;
            });
        }
        self.starts = counts;
        self.members = members;
    }

    /// Makes cells larger until edges lie in few of them on average: long ones over many short ones would fill memory.
    fn coarsen(&mut self) {
        const MOST_CELLS_EACH: usize = 16;
        loop {
            let cells = |b: &Bounds| {
                (self.column(b.max.x) - self.column(b.min.x) + 1)
                    * (self.row(b.max.y) - self.row(b.min.y) + 1)
            };
            let sum: usize = self.entries.iter().map(|e| cells(&e.bounds)).sum();
            if sum <= MOST_CELLS_EACH * self.entries.len() || self.columns * self.rows == 1 {
                return;
            }
            self.cell *= 2.0;
            self.columns = (self.bounds.width() / self.cell) as usize + 1;
            self.rows = (self.bounds.depth() / self.cell) as usize + 1;
        }
    }

    fn column(&self, x: f64) -> usize {
        (((x - self.bounds.min.x) / self.cell).max(0.0) as usize).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.bounds.min.y) / self.cell).max(0.0) as usize).min(self.rows - 1)
    }

    fn for_cells(&self, bounds: Bounds, mut visit: impl FnMut(usize)) {
        let (left, right) = (self.column(bounds.min.x), self.column(bounds.max.x));
        for row in self.row(bounds.min.y)..=self.row(bounds.max.y) {
            for column in left..=right {
                visit(row * self.columns + column);
            }
        }
    }

    /// All edges with their boxes, ring by ring.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The edges whose boxes touch a box, as indices into `entries`, ascending.
    pub fn query(&self, bounds: Bounds) -> Vec<usize> {
        let mut found = Vec::new();
        if !self.bounds.touches(bounds) {
            return found;
        }
        self.for_cells(bounds, |cell| {
            for &i in &self.members[self.starts[cell] as usize..self.starts[cell + 1] as usize] {
                if self.entries[i as usize].bounds.touches(bounds) {
                    found.push(i as usize);
                }
            }
        });
        found.sort_unstable();
        found.dedup();
        found
    }

    /// The edge nearest to a point, if one is no farther than `radius`; of equally near ones the first.
    pub fn nearest(&self, p: Point, radius: f64) -> Option<Nearest> {
        if self.entries.is_empty() {
            return None;
        }
        // Squares of cells around the point, doubled until the best found lies within what was searched.
        let reach = self.bounds.join(Bounds::new(p, p));
        let farthest = reach.width() + reach.depth();
        let mut searched = self.cell.min(radius);
        loop {
            let best = self.nearest_in(p, Bounds::new(p, p).grown(searched));
            match best {
                Some(found) if found.distance <= searched => {
                    return (found.distance <= radius).then_some(found);
                }
                _ if searched >= radius || searched > farthest => {
                    return best.filter(|f| f.distance <= radius);
                }
                Some(found) => searched = found.distance.min(radius).max(searched * 1.000_001),
                None => searched = (searched * 2.0).min(radius),
            }
        }
    }

    fn nearest_in(&self, p: Point, window: Bounds) -> Option<Nearest> {
        if !self.bounds.touches(window) {
            return None;
        }
        let mut best: Option<(f64, usize, Point)> = None;
        self.for_cells(window, |cell| {
            for &i in &self.members[self.starts[cell] as usize..self.starts[cell + 1] as usize] {
                let entry = &self.entries[i as usize];
                if !entry.bounds.touches(window) {
                    continue;
                }
                let (distance, point) = point_edge(p, &entry.edge);
                if best.is_none_or(|(d, k, _)| distance < d || (distance == d && (i as usize) < k))
                {
                    best = Some((distance, i as usize, point));
                }
            }
        });
        best.map(|(distance, i, point)| Nearest {
            distance,
            point,
            ring: self.entries[i].ring,
            edge_idx: self.entries[i].edge_idx,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{edge::SourceId, ring::Ring};

    const S: SourceId = SourceId(0);

    fn plate() -> Region {
        let outer = Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(300.0, 40.0)),
            5.0,
            S,
        );
        let holes = (0..25)
            .map(|k| Ring::circle(Point::new(10.0 + 11.5 * f64::from(k), 20.0), 3.0, S))
            .collect();
        Region::new(outer, holes)
    }

    #[test]
    fn the_nearest_edge_is_that_of_a_search_through_all() {
        let region = plate();
        let index = EdgeIndex::new([&region]);
        for k in 0..2000 {
            let t = f64::from(k);
            let p = Point::new((t * 7.13) % 400.0 - 50.0, (t * 3.77) % 90.0 - 25.0);
            let all = region
                .edges()
                .map(|e| point_edge(p, e).0)
                .fold(f64::INFINITY, f64::min);
            assert_eq!(
                index.nearest(p, 1000.0).map(|n| n.distance),
                Some(all),
                "{p:?}"
            );
            assert_eq!(
                index.nearest(p, 2.0).map(|n| n.distance),
                (all <= 2.0).then_some(all),
                "{p:?} within 2"
            );
        }
    }

    #[test]
    fn a_query_gives_the_edges_whose_boxes_touch_in_order() {
        let region = plate();
        let index = EdgeIndex::new([&region]);
        for k in 0..200 {
            let corner = Point::new(f64::from(k) * 1.7 - 20.0, f64::from(k % 13) * 4.0 - 5.0);
            let window = Bounds::new(corner, corner + Point::new(f64::from(k % 7) * 9.0, 6.0));
            let expected: Vec<usize> = (0..index.entries().len())
                .filter(|&i| index.entries()[i].bounds.touches(window))
                .collect();
            assert_eq!(index.query(window), expected, "{window:?}");
        }
    }
}
