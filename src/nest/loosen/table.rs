//! How two shapes may lie to one another, worked out once for every pair of turned shapes.
//!
//! For convex parts P and Q the shifts at which Q meets P are the convex polygon P ⊕ −Q; a shift lies in it as deep as its
//! nearest edge is away. Two shapes meet where any two of their parts do. So one look at a few half planes says whether they
//! meet, how deep, and which way leads out; corners of these polygons and crossings of their edges are the exact contacts.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::nest::loosen::convex::{Part, signed_area};
use crate::nest::loosen::grid::{Found, Grids};

/// Depth in mm that counts as touching: less than a certificate allows (1e-6), more than shifts of 1e-6 need.
pub(super) const TOUCH: f64 = 7e-7;

/// Share of a part's width that even the narrowest overlap counts as broad.
const NARROW: f64 = 0.2;

/// Half planes are kept by so many at a time, so that the compiler reckons them side by side.
const ABREAST: usize = 4;

/// Half planes, inside where normal · shift < reach: x and y of their normals, and reaches. A group that has fewer is filled up
/// with planes inside which everything lies.
type Group = [[f64; ABREAST]; 3];

/// Inside of it everything lies.
const OPEN: Group = [[0.0; ABREAST], [0.0; ABREAST], [f64::INFINITY; ABREAST]];

/// The shifts at which two parts meet.
#[derive(Clone, Debug)]
pub(super) struct Meet {
    /// Its first group of planes, and how many planes there are.
    first: u32,
    count: u32,
    pub(super) bounds: Bounds,
    /// A width of the lesser part: makes an area of a depth.
    width: f64,
}

/// All pairs of turned shapes.
#[derive(Clone, Debug, Default)]
pub(super) struct Table {
    n: usize,
    /// For (a, b) at a · n + b: its grid; the same one for (b, a).
    pairs: Vec<u32>,
    grids: Grids,
    meets: Vec<Meet>,
    planes: Vec<Group>,
    /// Corner k begins the edge of plane k.
    corners: Vec<Point>,
}

/// A turned shape as the table sees it.
pub(super) struct Turned<'a> {
    pub(super) parts: &'a [Part],
    /// Root of the area of its hull.
    pub(super) lambda: f64,
}

/// How many half planes a table of these shapes would hold, at the most.
pub(super) fn size(shapes: &[Turned<'_>]) -> usize {
    let parts: usize = shapes.iter().map(|s| s.parts.len()).sum();
    let edges: usize = shapes.iter().flat_map(|s| s.parts).map(Vec::len).sum();
    parts * edges
}

impl Meet {
    /// Its groups of planes.
    fn groups<'a>(&self, planes: &'a [Group]) -> &'a [Group] {
        let first = self.first as usize;
        &planes[first..first + (self.count as usize).div_ceil(ABREAST)]
    }

    /// Its planes one by one.
    fn planes<'a>(&self, planes: &'a [Group]) -> impl Iterator<Item = (Point, f64)> + 'a {
        self.groups(planes)
            .iter()
            .flat_map(|[x, y, reach]| (0..ABREAST).map(move |k| (Point::new(x[k], y[k]), reach[k])))
            .take(self.count as usize)
    }

    /// Whether a box of shifts lies outside, and whether it lies inside.
    fn sides(&self, planes: &[Group], cell: Bounds) -> (bool, bool) {
        let (mut outside, mut inside) = (false, true);
        for (normal, reach) in self.planes(planes) {
            let (half, middle) = ((cell.max - cell.min) * 0.5, cell.center());
            let extent = normal.x.abs() * half.x + normal.y.abs() * half.y;
            let depth = reach - normal.dot(middle);
            outside |= depth < -extent;
            inside &= depth > extent;
        }
        (outside, inside)
    }
}

impl Table {
    pub(super) fn new(shapes: &[Turned<'_>]) -> Self {
        let n = shapes.len();
        let mut table = Self {
            n,
            pairs: vec![0; n * n],
            grids: Grids::new(size(shapes)),
            ..Self::default()
        };
        for a in 0..n {
            for b in a..n {
                let begin = table.meets.len();
                for p in shapes[a].parts {
                    for q in shapes[b].parts {
                        table.add(p, q);
                    }
                }
                let factor = (shapes[a].lambda * shapes[b].lambda).sqrt();
                table.grid(begin, a, b, factor);
            }
        }
        table
    }

    fn add(&mut self, p: &Part, q: &Part) {
        let corners = met(p, q);
        let first = self.planes.len() as u32;
        let n = corners.len();
        for k in 0..n {
            let way = (corners[(k + 1) % n] - corners[k]).unit();
            let normal = -way.left();
            if k.is_multiple_of(ABREAST) {
                self.planes.push(OPEN);
            }
            if let Some([x, y, reach]) = self.planes.last_mut() {
                x[k % ABREAST] = normal.x;
                y[k % ABREAST] = normal.y;
                reach[k % ABREAST] = normal.dot(corners[k]) - TOUCH;
            }
        }
        self.meets.push(Meet {
            first,
            count: n as u32,
            bounds: Bounds::of_points(corners.iter().copied()),
            width: signed_area(p).min(signed_area(q)).sqrt(),
        });
        self.corners.extend(corners);
        self.corners
            .resize(self.planes.len() * ABREAST, Point::new(0.0, 0.0));
    }

    /// A grid of the meets of the pair (a, b), which are those from `begin` on.
    fn grid(&mut self, begin: usize, a: usize, b: usize, factor: f64) {
        let (meets, planes) = (&self.meets, &self.planes);
        let grid = self
            .grids
            .add(begin, (&meets[begin..], factor), |meet, cell| {
                meet.sides(planes, cell)
            });
        self.pairs[a * self.n + b] = grid;
        self.pairs[b * self.n + a] = grid;
        let heights: Vec<f32> = self
            .grids
            .nodes(grid)
            .map(|d| self.exact(a, b, d, f64::INFINITY) as f32)
            .collect();
        self.grids.set_heights(grid, &heights);
    }

    /// The grid of the pair (a, b), and a shift as it sees it, with whether that was turned round.
    fn of(&self, a: usize, b: usize, shift: Point) -> (usize, Point, bool) {
        let round = a > b;
        let grid = self.pairs[a * self.n + b] as usize;
        (grid, if round { -shift } else { shift }, round)
    }

    /// How much two shapes are in one another's way where `b` lies at `shift` from `a`; 0 exactly where they do not overlap.
    pub(super) fn severity(&self, a: usize, b: usize, shift: Point) -> f64 {
        self.weighed(a, b, shift, (1.0, f64::INFINITY))
    }

    /// The same times a weight; what is more than `limit` may be told as anything above it. Where a cell lies in a meet as a
    /// whole, the severity is that of its corners, weighed by how near they are.
    #[inline]
    pub(super) fn weighed(&self, a: usize, b: usize, shift: Point, by: (f64, f64)) -> f64 {
        let (grid, d, _) = self.of(a, b, shift);
        match self.grids.at(grid, d) {
            Found::Nothing => 0.0,
            Found::Height(height) => by.0 * height,
            Found::Meets(list, factor) => self.summed(list, d, by.0 * factor, by.1),
        }
    }

    /// The same without asking corners of cells.
    fn exact(&self, a: usize, b: usize, shift: Point, limit: f64) -> f64 {
        let (grid, d, _) = self.of(a, b, shift);
        let list = self.grids.list(grid, d);
        self.summed(list, d, self.grids.factor(grid), limit)
    }

    /// The severity at a shift that lies in none but the meets listed.
    fn summed(&self, list: &[u32], d: Point, factor: f64, limit: f64) -> f64 {
        let most = limit / factor;
        let most = most * most * (1.0 + 1e-9);
        let mut alpha = 0.0;
        for &meet in list {
            let meet = &self.meets[meet as usize];
            let m = meet.bounds;
            if d.x <= m.min.x || d.x >= m.max.x || d.y <= m.min.y || d.y >= m.max.y {
                continue;
            }
            let depth = self.depth(meet, d);
            if depth > 0.0 {
                alpha += depth * self.broad(meet, d, depth);
                if alpha > most {
                    break;
                }
            }
        }
        if alpha > 0.0 {
            alpha.sqrt() * factor
        } else {
            0.0
        }
    }

    /// How deep a shift lies in a meet.
    fn depth(&self, meet: &Meet, d: Point) -> f64 {
        let mut least = [f64::INFINITY; ABREAST];
        for [x, y, reach] in meet.groups(&self.planes) {
            for k in 0..ABREAST {
                let depth = reach[k] - (x[k] * d.x + y[k] * d.y);
                least[k] = lesser(depth, least[k]);
            }
        }
        least.into_iter().fold(f64::INFINITY, lesser)
    }

    /// How broad an overlap is, square to its depth: the least way out sideways, at most the lesser part's width, and at least
    /// a share of that. Depth times breadth is about the area in common.
    fn broad(&self, meet: &Meet, d: Point, depth: f64) -> f64 {
        let along = meet
            .planes(&self.planes)
            .find(|(normal, reach)| reach - normal.dot(d) == depth)
            .map_or(Point::new(0.0, 0.0), |(normal, _)| normal);
        let mut least = [meet.width; ABREAST];
        for [x, y, reach] in meet.groups(&self.planes) {
            for k in 0..ABREAST {
                let depth = reach[k] - (x[k] * d.x + y[k] * d.y);
                let aside = (x[k] * along.x + y[k] * along.y).abs() < 0.7;
                least[k] = lesser(if aside { depth } else { f64::INFINITY }, least[k]);
            }
        }
        let least = least.into_iter().fold(meet.width, lesser);
        NARROW * meet.width + (1.0 - NARROW) * least
    }

    /// The shortest step that takes `b` out of the deepest meet with `a`.
    pub(super) fn way_out(&self, a: usize, b: usize, shift: Point) -> Option<Point> {
        let (grid, d, round) = self.of(a, b, shift);
        let mut worst: Option<(f64, Point)> = None;
        for &meet in self.grids.list(grid, d) {
            let meet = &self.meets[meet as usize];
            let m = meet.bounds;
            if d.x <= m.min.x || d.x >= m.max.x || d.y <= m.min.y || d.y >= m.max.y {
                continue;
            }
            let mut own: Option<(f64, Point)> = None;
            for (normal, reach) in meet.planes(&self.planes) {
                let depth = reach - normal.dot(d);
                if own.is_none_or(|o| depth < o.0) {
                    own = Some((depth, normal));
                }
            }
            if let Some((depth, normal)) = own
                && depth > 0.0
                && worst.is_none_or(|w| depth > w.0)
            {
                worst = Some((depth, normal));
            }
        }
        worst.map(|(depth, normal)| {
            let step = normal * (depth + TOUCH);
            if round { -step } else { step }
        })
    }

    /// An edge of a meet: its ends as shifts of `b` from `a`. `pick` gives a whole number below another.
    pub(super) fn contact(
        &self,
        a: usize,
        b: usize,
        mut pick: impl FnMut(usize) -> usize,
    ) -> Option<(Point, Point)> {
        let (grid, _, round) = self.of(a, b, Point::new(0.0, 0.0));
        let meets = &self.meets[self.grids.all(grid)];
        if meets.is_empty() {
            return None;
        }
        let meet = &meets[pick(meets.len())];
        let n = meet.count as usize;
        let k = pick(n);
        let first = meet.first as usize * ABREAST;
        let from = self.corners[first + k];
        let to = self.corners[first + (k + 1) % n];
        Some(if round { (-from, -to) } else { (from, to) })
    }

    /// Calls for every two parts of `a` and `b` that are nearer than `most` with the outward edge of their sum beyond which `b`
    /// is farthest, and how far that is: less than 0 where they overlap.
    pub(super) fn beyond(
        &self,
        (a, b, shift, most): (usize, usize, Point, f64),
        mut call: impl FnMut(Point, f64),
    ) {
        let (grid, d, round) = self.of(a, b, shift);
        for meet in &self.meets[self.grids.all(grid)] {
            if !meet.bounds.grown(most).holds(d) {
                continue;
            }
            let mut far: Option<(f64, Point)> = None;
            for (normal, reach) in meet.planes(&self.planes) {
                let gap = normal.dot(d) - reach - TOUCH;
                if far.is_none_or(|f| gap > f.0) {
                    far = Some((gap, normal));
                }
            }
            if let Some((gap, normal)) = far
                && gap < most
            {
                call(if round { -normal } else { normal }, gap);
            }
        }
    }

    /// How far `b` may go from `shift` along a unit direction, at most `most`, before it meets `a`.
    pub(super) fn clear_way(
        &self,
        a: usize,
        b: usize,
        shift: Point,
        along: Point,
        most: f64,
    ) -> f64 {
        let (grid, d, round) = self.of(a, b, shift);
        let u = if round { -along } else { along };
        let mut free = most;
        for meet in &self.meets[self.grids.all(grid)] {
            let (mut enter, mut leave) = (f64::NEG_INFINITY, f64::INFINITY);
            for (normal, reach) in meet.planes(&self.planes) {
                let (room, rate) = (reach + TOUCH - normal.dot(d), normal.dot(u));
                if rate.abs() < 1e-12 {
                    if room <= TOUCH {
                        leave = f64::NEG_INFINITY;
                    }
                } else if rate < 0.0 {
                    enter = enter.max(room / rate);
                } else {
                    leave = leave.min(room / rate);
                }
            }
            if enter < leave && leave > 2.0 * TOUCH {
                free = free.min(enter.max(0.0));
            }
        }
        free
    }
}

/// The lesser of two numbers; the second where they cannot be compared.
fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// P ⊕ −Q of two convex polygons: both counter-clockwise, so is the result; edges merged by direction.
fn met(p: &[Point], q: &[Point]) -> Vec<Point> {
    let turned: Vec<Point> = q.iter().map(|&v| -v).collect();
    let low = |r: &[Point]| {
        (0..r.len())
            .min_by(|&a, &b| r[a].y.total_cmp(&r[b].y).then(r[a].x.total_cmp(&r[b].x)))
            .unwrap_or(0)
    };
    let (n, m) = (p.len(), turned.len());
    let (i0, j0) = (low(p), low(&turned));
    let (mut i, mut j) = (0, 0);
    let mut at = p[i0] + turned[j0];
    let mut out: Vec<Point> = Vec::with_capacity(n + m);
    while i < n || j < m {
        out.push(at);
        let e = p[(i0 + i + 1) % n] - p[(i0 + i) % n];
        let f = turned[(j0 + j + 1) % m] - turned[(j0 + j) % m];
        let cross = e.cross(f);
        let level = cross.abs() <= 1e-12 * e.length() * f.length();
        if i < n && j < m && level {
            (i, j) = (i + 1, j + 1);
        } else if j >= m || (i < n && cross > 0.0) {
            i += 1;
        } else {
            j += 1;
        }
        at = p[(i0 + i) % n] + turned[(j0 + j) % m];
    }
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    fn square(side: f64) -> Part {
        [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec()
    }

    #[test]
    fn squares_touch_at_their_sides_and_the_way_out_is_the_shortest() {
        let parts = [vec![square(10.0)], vec![square(4.0)]];
        let turned: Vec<Turned<'_>> = parts
            .iter()
            .map(|p| Turned {
                parts: p,
                lambda: 1.0,
            })
            .collect();
        let table = Table::new(&turned);
        assert_eq!(
            table.severity(0, 1, Point::new(10.0, 3.0)),
            0.0,
            "side to side"
        );
        assert_eq!(
            table.severity(0, 1, Point::new(-4.0, -4.0)),
            0.0,
            "corner to corner"
        );
        assert!(
            table.severity(0, 1, Point::new(9.9, 3.0)) > 0.0,
            "a tenth deep"
        );
        assert!(
            table.severity(1, 0, Point::new(-9.9, -3.0)) > 0.0,
            "the other way round"
        );
        let out = table.way_out(0, 1, Point::new(9.0, 3.0)).unwrap();
        assert!((out.x - 1.0).abs() < 1e-9 && out.y.abs() < 1e-9, "{out:?}");
        let free = table.clear_way(0, 1, Point::new(15.0, 3.0), Point::new(-1.0, 0.0), 50.0);
        assert!((free - 5.0).abs() < 1e-9, "5 to the side, got {free}");
    }

    #[test]
    fn cells_tell_an_overlap_where_there_is_one_and_about_as_severe() {
        let bar = |x: f64, y: f64, w: f64, h: f64| -> Part {
            [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec()
        };
        // An ell and a wedge: lists of one and two meets, and a slope.
        let ell = vec![bar(0.0, 0.0, 30.0, 8.0), bar(0.0, 8.0, 8.0, 22.0)];
        let wedge = vec![
            [(0.0, 0.0), (20.0, 3.0), (4.0, 17.0)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec(),
        ];
        let turned = [&ell, &wedge].map(|parts| Turned { parts, lambda: 5.0 });
        let table = Table::new(&turned);
        let mut draws = crate::nest::seed::Draws::new([3, 1, 4]);
        let (mut met, mut free) = (0, 0);
        for _ in 0..20_000 {
            let d = Point::new(draws.unit() * 60.0 - 25.0, draws.unit() * 60.0 - 25.0);
            for (a, b) in [(0, 1), (1, 0), (0, 0)] {
                let (grid, turned, _) = table.of(a, b, d);
                let all: Vec<u32> = table.grids.all(grid).map(|k| k as u32).collect();
                let factor = table.grids.factor(grid);
                let exact = table.summed(&all, turned, factor, f64::INFINITY);
                let told = table.severity(a, b, d);
                assert_eq!(told > 0.0, exact > 0.0, "{d:?}: {told} for {exact}");
                assert!(
                    (told - exact).abs() < 0.1 * exact + 3.0,
                    "{d:?}: {told} for {exact}"
                );
                if exact > 0.0 { met += 1 } else { free += 1 }
            }
        }
        assert!(met > 5000 && free > 5000, "{met} met, {free} free");
    }
}
