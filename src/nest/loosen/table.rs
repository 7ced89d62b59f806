//! How two shapes may lie to one another, worked out once for every pair of turned shapes.
//!
//! For convex parts P and Q the shifts at which Q meets P are the convex polygon P ⊕ −Q; a shift lies in it as deep as its
//! nearest edge is away. Two shapes meet where any two of their parts do. So one look at a few half planes says whether they
//! meet, how deep, and which way leads out; corners of these polygons and crossings of their edges are the exact contacts.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::nest::loosen::convex::{Part, signed_area};

/// Depth in mm that counts as touching: less than a certificate allows (1e-6), more than shifts of 1e-6 need.
pub(super) const TOUCH: f64 = 7e-7;

/// Share of a part's width that even the narrowest overlap counts as broad.
const NARROW: f64 = 0.2;

/// One half plane: inside where normal · shift < reach.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    pub(super) normal: Point,
    pub(super) reach: f64,
}

/// The shifts at which two parts meet.
#[derive(Clone, Debug)]
struct Meet {
    first: u32,
    count: u32,
    bounds: Bounds,
    /// A width of the lesser part: makes an area of a depth.
    width: f64,
}

/// All pairs of turned shapes.
#[derive(Clone, Debug, Default)]
pub(super) struct Table {
    n: usize,
    /// For a ≤ b at a · n + b: where its meets begin and end.
    pairs: Vec<(u32, u32)>,
    meets: Vec<Meet>,
    planes: Vec<Plane>,
    /// Corner k begins the edge of plane k.
    corners: Vec<Point>,
    /// What the root of an area in common counts for a pair: √(λ · λ), λ the root of a hull's area.
    factor: Vec<f64>,
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

impl Table {
    pub(super) fn new(shapes: &[Turned<'_>]) -> Self {
        let n = shapes.len();
        let mut table = Self {
            n,
            pairs: vec![(0, 0); n * n],
            factor: vec![0.0; n * n],
            ..Self::default()
        };
        for a in 0..n {
            for b in 0..n {
                table.factor[a * n + b] = (shapes[a].lambda * shapes[b].lambda).sqrt();
            }
            for b in a..n {
                let begin = table.meets.len() as u32;
                for p in shapes[a].parts {
                    for q in shapes[b].parts {
                        table.add(p, q);
                    }
                }
                table.pairs[a * n + b] = (begin, table.meets.len() as u32);
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
            self.planes.push(Plane {
                normal,
                reach: normal.dot(corners[k]) - TOUCH,
            });
        }
        self.meets.push(Meet {
            first,
            count: n as u32,
            bounds: Bounds::of_points(corners.iter().copied()),
            width: signed_area(p).min(signed_area(q)).sqrt(),
        });
        self.corners.extend(corners);
    }

    /// Meets of the pair (a, b), and whether shifts are to be turned round.
    fn of(&self, a: usize, b: usize) -> (&[Meet], bool) {
        let (i, round) = if a <= b {
            (a * self.n + b, false)
        } else {
            (b * self.n + a, true)
        };
        let (from, to) = self.pairs[i];
        (&self.meets[from as usize..to as usize], round)
    }

    /// How much two shapes are in one another's way where `b` lies at `shift` from `a`; 0 exactly where they do not overlap.
    pub(super) fn severity(&self, a: usize, b: usize, shift: Point) -> f64 {
        let (meets, round) = self.of(a, b);
        let d = if round { -shift } else { shift };
        let mut alpha = 0.0;
        for meet in meets {
            let m = meet.bounds;
            if d.x <= m.min.x || d.x >= m.max.x || d.y <= m.min.y || d.y >= m.max.y {
                continue;
            }
            let depth = self.depth(meet, d);
            if depth.0 > 0.0 {
                alpha += depth.0 * self.broad(meet, d, depth.1);
            }
        }
        if alpha > 0.0 {
            alpha.sqrt() * self.factor[a * self.n + b]
        } else {
            0.0
        }
    }

    /// How deep a shift lies in a meet, and the plane that is nearest.
    fn depth(&self, meet: &Meet, d: Point) -> (f64, usize) {
        let mut nearest = (f64::INFINITY, 0);
        let first = meet.first as usize;
        for (k, plane) in self.planes[first..first + meet.count as usize]
            .iter()
            .enumerate()
        {
            let depth = plane.reach - plane.normal.dot(d);
            if depth < nearest.0 {
                nearest = (depth, k);
                if depth <= 0.0 {
                    break;
                }
            }
        }
        nearest
    }

    /// How broad an overlap is, square to its depth: the least way out sideways, at most the lesser part's width, and at least
    /// a share of that. Depth times breadth is about the area in common.
    fn broad(&self, meet: &Meet, d: Point, nearest: usize) -> f64 {
        let first = meet.first as usize;
        let planes = &self.planes[first..first + meet.count as usize];
        let along = planes[nearest].normal;
        let mut least = meet.width;
        for plane in planes {
            if plane.normal.dot(along).abs() < 0.7 {
                least = least.min(plane.reach - plane.normal.dot(d));
            }
        }
        NARROW * meet.width + (1.0 - NARROW) * least
    }

    /// The shortest step that takes `b` out of the deepest meet with `a`.
    pub(super) fn way_out(&self, a: usize, b: usize, shift: Point) -> Option<Point> {
        let (meets, round) = self.of(a, b);
        let d = if round { -shift } else { shift };
        let mut worst: Option<(f64, Point)> = None;
        for meet in meets {
            let m = meet.bounds;
            if d.x <= m.min.x || d.x >= m.max.x || d.y <= m.min.y || d.y >= m.max.y {
                continue;
            }
            let mut own: Option<(f64, Point)> = None;
            for plane in &self.planes[meet.first as usize..(meet.first + meet.count) as usize] {
                let depth = plane.reach - plane.normal.dot(d);
                if own.is_none_or(|o| depth < o.0) {
                    own = Some((depth, plane.normal));
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
        let (meets, round) = self.of(a, b);
        if meets.is_empty() {
            return None;
        }
        let meet = &meets[pick(meets.len())];
        let n = meet.count as usize;
        let k = pick(n);
        let from = self.corners[meet.first as usize + k];
        let to = self.corners[meet.first as usize + (k + 1) % n];
        Some(if round { (-from, -to) } else { (from, to) })
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
        let (meets, round) = self.of(a, b);
        let (d, u) = if round {
            (-shift, -along)
        } else {
            (shift, along)
        };
        let mut free = most;
        for meet in meets {
            let (mut enter, mut leave) = (f64::NEG_INFINITY, f64::INFINITY);
            for plane in &self.planes[meet.first as usize..(meet.first + meet.count) as usize] {
                let (room, rate) = (
                    plane.reach + TOUCH - plane.normal.dot(d),
                    plane.normal.dot(u),
                );
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
}
