//! Least distances between points, edges, rings, regions and paths, in closed form on the true lines and arcs.
//!
//! Two edges that do not meet are nearest either at an end of one of them, or where both have a common normal. For a
//! line and an arc that is the foot of the circle's centre on the line, for two arcs the line through the centres; only
//! the position in which the distance is least, not greatest, along both is a candidate ("derived below" at each).
//!
//! Chains of edges are compared through boxes: edges in runs of eight, runs in groups of eight, each with its box, and pairs of
//! boxes farther apart than the best so far are passed over. The result is exact whatever the boxes.

use crate::geometry::{
    bounds::Bounds,
    crossing::edges_meet,
    edge::{Curve, Edge},
    path::Path,
    point::Point,
    predicate::{Location, locate},
    region::Region,
    ring::Ring,
    tolerance::COINCIDENT,
};

/// Distance of a point from an edge, and the edge's nearest point.
pub fn point_edge(p: Point, edge: &Edge) -> (f64, Point) {
    match edge.curve {
        Curve::Line => {
            let along = edge.end - edge.start;
            let squared = along.length_squared();
            let share = if squared > 0.0 {
                ((p - edge.start).dot(along) / squared).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let foot = edge.start.toward(edge.end, share);
            (p.distance(foot), foot)
        }
        Curve::Arc { center, radius, .. } => {
            let out = p - center;
            let length = out.length();
            if length > 0.0 && edge.spans(out) {
                return ((length - radius).abs(), center + out * (radius / length));
            }
            let (a, b) = (p.distance(edge.start), p.distance(edge.end));
            if a <= b {
                (a, edge.start)
            } else {
                (b, edge.end)
            }
        }
    }
}

/// Least distance of two edges; 0 where they meet.
pub fn edge_edge(a: &Edge, b: &Edge) -> f64 {
    if edges_meet(a, b) {
        return 0.0;
    }
    let ends = point_edge(a.start, b)
        .0
        .min(point_edge(a.end, b).0)
        .min(point_edge(b.start, a).0)
        .min(point_edge(b.end, a).0);
    match (a.curve, b.curve) {
        (Curve::Line, Curve::Line) => ends,
        (Curve::Line, Curve::Arc { center, radius, .. }) => {
            ends.min(line_arc(a, b, center, radius))
        }
        (Curve::Arc { center, radius, .. }, Curve::Line) => {
            ends.min(line_arc(b, a, center, radius))
        }
        (Curve::Arc { .. }, Curve::Arc { .. }) => ends.min(arc_arc(a, b)),
    }
}

/// Distance along the common normal through the foot of the centre on the line. Where the line passes through the circle
/// the distance from inside is greatest there, and on the far side of the circle it is greatest too: neither counts.
fn line_arc(line: &Edge, arc: &Edge, center: Point, radius: f64) -> f64 {
    let along = line.end - line.start;
    let share = (center - line.start).dot(along) / along.length_squared();
    if !(0.0..=1.0).contains(&share) {
        return f64::INFINITY;
    }
    let out = line.start.toward(line.end, share) - center;
    let height = out.length();
    if height >= radius && arc.spans(out) {
        height - radius
    } else {
        f64::INFINITY
    }
}

/// Distance along the line through the centres: circles apart face one another; a circle within the other is nearest on
/// the side to which its centre is shifted. Circles that cross have no least distance on that line.
fn arc_arc(a: &Edge, b: &Edge) -> f64 {
    let (
        Curve::Arc {
            center: c,
            radius: r,
            ..
        },
        Curve::Arc {
            center: d,
            radius: s,
            ..
        },
    ) = (a.curve, b.curve)
    else {
        return f64::INFINITY;
    };
    let axis = d - c;
    let distance = axis.length();
    let (gap, from_a, from_b) = if distance >= r + s {
        (distance - r - s, axis, -axis)
    } else if distance <= r - s {
        (r - distance - s, axis, axis)
    } else if distance <= s - r {
        (s - distance - r, -axis, -axis)
    } else {
        return f64::INFINITY;
    };
    // Concentric arcs that face one another do so at an end of one of them too.
    if distance > 0.0 && a.spans(from_a) && b.spans(from_b) {
        gap
    } else {
        f64::INFINITY
    }
}

/// Least distance of two boxes; 0 where they touch.
pub fn box_box(a: Bounds, b: Bounds) -> f64 {
    box_gap_squared(a, b).sqrt()
}

fn box_gap_squared(a: Bounds, b: Bounds) -> f64 {
    let dx = (a.min.x - b.max.x).max(b.min.x - a.max.x).max(0.0);
    let dy = (a.min.y - b.max.y).max(b.min.y - a.max.y).max(0.0);
    dx * dx + dy * dy
}

/// How many edges share one box, and how many of these boxes share one.
const RUN: usize = 8;
const GROUP: usize = 8;

/// Edges with their boxes, made once where the same shape is compared often.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxedEdges {
    edges: Vec<(Edge, Bounds)>,
    runs: Vec<Bounds>,
    groups: Vec<Bounds>,
    bounds: Bounds,
}

impl BoxedEdges {
    /// Boxes for edges; neighbours in order should be neighbours in place.
    pub fn new<'a>(edges: impl IntoIterator<Item = &'a Edge>) -> Self {
        let edges: Vec<(Edge, Bounds)> = edges.into_iter().map(|e| (*e, e.bounds())).collect();
        let runs: Vec<Bounds> = edges
            .chunks(RUN)
            .map(|c| c.iter().fold(Bounds::EMPTY, |b, e| b.join(e.1)))
            .collect();
        let groups: Vec<Bounds> = runs
            .chunks(GROUP)
            .map(|c| c.iter().fold(Bounds::EMPTY, |b, r| b.join(*r)))
            .collect();
        let bounds = groups.iter().fold(Bounds::EMPTY, |b, g| b.join(*g));
        Self {
            edges,
            runs,
            groups,
            bounds,
        }
    }

    /// The edges with their boxes.
    pub fn edges(&self) -> &[(Edge, Bounds)] {
        &self.edges
    }

    /// The box around all.
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// The edges whose boxes touch a box, with their boxes.
    pub fn near(&self, to: Bounds) -> impl Iterator<Item = &(Edge, Bounds)> {
        self.runs_where(move |b| b.touches(to))
            .flat_map(|k| self.run(k))
            .filter(move |e| e.1.touches(to))
    }

    /// The runs whose boxes, and the boxes of whose groups, are wanted.
    fn runs_where(&self, is_wanted: impl Fn(&Bounds) -> bool) -> impl Iterator<Item = usize> {
        let mut k = 0;
        std::iter::from_fn(move || {
            while let Some(run) = self.runs.get(k) {
                if k % GROUP == 0 && !is_wanted(&self.groups[k / GROUP]) {
                    k += GROUP;
                    continue;
                }
                k += 1;
                if is_wanted(run) {
                    return Some(k - 1);
                }
            }
            None
        })
    }

    /// Where a point lies with regard to these edges, which are closed chains; the same as `predicate::locate` tells.
    pub fn locate(&self, p: Point) -> Location {
        let room = 4.0 * COINCIDENT;
        // A ray to the right meets nothing that ends left of the point, above it or below it.
        let met =
            |b: &Bounds| b.max.x >= p.x - room && b.min.y <= p.y + room && b.max.y >= p.y - room;
        let edges = self
            .runs_where(met)
            .flat_map(|k| self.run(k))
            .filter(|e| met(&e.1))
            .map(|e| &e.0);
        locate(p, edges)
    }

    /// Least distance from a point to an edge.
    pub fn from_point(&self, p: Point) -> f64 {
        let at = Bounds::new(p, p);
        let mut best = f64::INFINITY;
        for (g, group) in self.groups.iter().enumerate() {
            if box_gap_squared(*group, at) >= best * best {
                continue;
            }
            for k in g * GROUP..((g + 1) * GROUP).min(self.runs.len()) {
                if box_gap_squared(self.runs[k], at) >= best * best {
                    continue;
                }
                for (edge, bounds) in self.run(k) {
                    if box_gap_squared(*bounds, at) < best * best {
                        best = best.min(point_edge(p, edge).0);
                    }
                }
            }
        }
        best
    }

    fn run(&self, k: usize) -> &[(Edge, Bounds)] {
        &self.edges[k * RUN..((k + 1) * RUN).min(self.edges.len())]
    }

    /// Least distance to other edges where it is below `limit`, otherwise `limit`. Never looks at pairs that cannot be nearer.
    pub fn distance_below(&self, other: &Self, limit: f64) -> f64 {
        let mut best = limit;
        if box_gap_squared(self.bounds, other.bounds) >= best * best {
            return best;
        }
        for (i, run) in self.runs.iter().enumerate() {
            if box_gap_squared(*run, other.bounds) >= best * best {
                continue;
            }
            for (j, facing) in other.runs.iter().enumerate() {
                if box_gap_squared(*run, *facing) < best * best {
                    best = best.min(self.run_distance(i, other, j, best));
                    if best == 0.0 {
                        return 0.0;
                    }
                }
            }
        }
        best
    }

    fn run_distance(&self, run: usize, other: &Self, facing: usize, mut best: f64) -> f64 {
        let mine = &self.edges[run * RUN..((run + 1) * RUN).min(self.edges.len())];
        let theirs = &other.edges[facing * RUN..((facing + 1) * RUN).min(other.edges.len())];
        for (a, a_box) in mine {
            if box_gap_squared(*a_box, other.runs[facing]) >= best * best {
                continue;
            }
            for (b, b_box) in theirs {
                if box_gap_squared(*a_box, *b_box) < best * best {
                    best = best.min(edge_edge(a, b));
                }
            }
        }
        best
    }
}

/// Least distance between the edges of two rings; 0 where they meet. What they enclose does not matter.
pub fn ring_ring(a: &Ring, b: &Ring) -> f64 {
    BoxedEdges::new(a.edges()).distance_below(&BoxedEdges::new(b.edges()), f64::INFINITY)
}

/// Least distance of two regions; 0 where they overlap or touch.
pub fn region_region(a: &Region, b: &Region) -> f64 {
    regions_within(a, b, f64::INFINITY)
}

/// Least distance of two regions where it is below `limit`, otherwise `limit`; 0 where they overlap or touch.
pub fn regions_within(a: &Region, b: &Region, limit: f64) -> f64 {
    let (boxes_a, boxes_b) = (a.bounds(), b.bounds());
    if box_gap_squared(boxes_a, boxes_b) >= limit * limit {
        return limit;
    }
    boxed_within(
        &BoxedEdges::new(a.edges()),
        &BoxedEdges::new(b.edges()),
        limit,
    )
}

/// The same for regions whose boxes were made before (all edges of each, its outer ring's first).
pub fn boxed_within(a: &BoxedEdges, b: &BoxedEdges, limit: f64) -> f64 {
    if box_gap_squared(a.bounds, b.bounds) >= limit * limit {
        return limit;
    }
    let apart = a.distance_below(b, limit);
    if apart == 0.0 {
        return 0.0;
    }
    // Boundaries that do not meet: one region may lie wholly in the other.
    let is_in = |inner: &BoxedEdges, outer: &BoxedEdges| {
        inner.edges.first().is_some_and(|e| {
            outer.bounds.holds(e.0.start)
                && locate(e.0.start, outer.edges.iter().map(|e| &e.0)) != Location::Outside
        })
    };
    if is_in(a, b) || is_in(b, a) {
        0.0
    } else {
        apart
    }
}

/// Least distance of two paths; 0 where they meet.
pub fn path_path(a: &Path, b: &Path) -> f64 {
    BoxedEdges::new(a.edges()).distance_below(&BoxedEdges::new(b.edges()), f64::INFINITY)
}

/// Least distance of a path from the edges of a region, whether it runs inside or outside; 0 where they meet.
pub fn path_region_boundary(path: &Path, region: &Region) -> f64 {
    BoxedEdges::new(path.edges()).distance_below(&BoxedEdges::new(region.edges()), f64::INFINITY)
}

/// Distance of a point from the nearest edge of a region, and that edge's nearest point.
pub fn point_region_boundary(p: Point, region: &Region) -> (f64, Point) {
    region
        .edges()
        .map(|e| point_edge(p, e))
        .fold((f64::INFINITY, p), |best, found| {
            if found.0 < best.0 { found } else { best }
        })
}

/// Distance of a point from a region; 0 inside and on its edge.
pub fn point_region(p: Point, region: &Region) -> f64 {
    if locate(p, region.edges()) == Location::Outside {
        point_region_boundary(p, region).0
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;

    const S: SourceId = SourceId(0);

    fn line(ax: f64, ay: f64, bx: f64, by: f64) -> Edge {
        Edge::line(Point::new(ax, ay), Point::new(bx, by), S)
    }

    fn arc(center: Point, radius: f64, from_deg: f64, to_deg: f64) -> Edge {
        let at = |deg: f64| center + Point::at_angle(crate::geometry::units::radians(deg)) * radius;
        Edge::arc(
            at(from_deg),
            at(to_deg),
            center,
            radius,
            to_deg > from_deg,
            S,
        )
    }

    fn assert_distance(a: &Edge, b: &Edge, expected: f64, source: &str) {
        for (a, b) in [(*a, *b), (*b, *a), (a.reversed(), *b), (*a, b.reversed())] {
            let found = edge_edge(&a, &b);
            // 1e-12: a handful of roundings of coordinates of 10.
            assert!(
                (found - expected).abs() < 1e-12,
                "{found} for {expected}: {source}"
            );
        }
    }

    #[test]
    fn edges_have_their_closed_form_distances() {
        assert_distance(
            &line(0.0, 0.0, 10.0, 0.0),
            &line(12.0, 1.0, 15.0, 5.0),
            5.0_f64.sqrt(),
            "end to end, √(2² + 1²)",
        );
        assert_distance(
            &line(0.0, 0.0, 10.0, 0.0),
            &line(5.0, 2.0, 5.0, 9.0),
            2.0,
            "end to foot",
        );
        let o = Point::new(0.0, 0.0);
        assert_distance(
            &line(-9.0, 7.0, 9.0, 7.0),
            &arc(o, 5.0, 0.0, 180.0),
            2.0,
            "7 − 5 over the top",
        );
        assert_distance(
            &line(-9.0, 7.0, 9.0, 7.0),
            &arc(o, 5.0, 180.0, 360.0),
            7.0,
            "the lower half is nearest at its ends",
        );
        assert_distance(
            &line(-1.0, 0.0, 1.0, 0.0),
            &arc(o, 5.0, -170.0, 170.0),
            4.0,
            "inside the circle, 5 − 1",
        );
        assert_distance(
            &arc(o, 5.0, -90.0, 90.0),
            &arc(Point::new(13.0, 0.0), 6.0, 90.0, 270.0),
            2.0,
            "13 − 5 − 6",
        );
        assert_distance(
            &arc(o, 5.0, 90.0, 270.0),
            &arc(Point::new(13.0, 0.0), 6.0, 90.0, 270.0),
            194.0_f64.sqrt() - 6.0,
            "the end (0, 5) from the facing arc, √(13² + 5²) − 6",
        );
        assert_distance(
            &arc(o, 5.0, -90.0, 90.0),
            &arc(Point::new(1.0, 0.0), 3.0, -45.0, 45.0),
            1.0,
            "5 − 1 − 3",
        );
        assert_distance(
            &arc(o, 5.0, 0.0, 90.0),
            &arc(o, 3.0, 45.0, 200.0),
            2.0,
            "concentric, 5 − 3",
        );
    }

    #[test]
    fn closed_form_distances_agree_with_dense_sampling() {
        // An independent method: 2,000 points of one edge against the other, an upper bound that is at most a step's
        // half (longest edge 30 / 2,000 / 2 = 0.0075) above the least distance in the worst case.
        let mut state = 12345_u64;
        let mut draw = |span: f64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * span
        };
        for round in 0..400 {
            let mut edge = |curved: bool| {
                let p = Point::new(draw(20.0), draw(20.0));
                if curved {
                    arc(p, 0.5 + draw(1.0).abs() * 8.0, draw(360.0), draw(360.0))
                } else {
                    Edge::line(p, Point::new(draw(20.0), draw(20.0)), S)
                }
            };
            let (a, b) = (edge(round % 2 == 0), edge(round % 3 == 0));
            let sampled = (0..=2000)
                .map(|k| point_edge(a.at(f64::from(k) / 2000.0), &b).0)
                .fold(f64::INFINITY, f64::min);
            let found = edge_edge(&a, &b);
            assert!(
                found <= sampled + 1e-9 && sampled - found < 0.0075,
                "round {round}: {found} against {sampled}, {a:?} {b:?}"
            );
        }
    }

    #[test]
    fn a_region_inside_another_is_at_no_distance_but_one_in_its_hole_is() {
        let disc = |x: f64, r: f64| Region::solid(Ring::circle(Point::new(x, 0.0), r, S));
        let washer = Region::new(
            Ring::circle(Point::new(0.0, 0.0), 20.0, S),
            vec![Ring::circle(Point::new(0.0, 0.0), 10.0, S)],
        );
        assert_eq!(region_region(&disc(0.0, 20.0), &disc(1.0, 2.0)), 0.0);
        assert_eq!(region_region(&disc(15.0, 2.0), &washer), 0.0);
        assert!(
            (region_region(&washer, &disc(1.0, 2.0)) - 7.0).abs() < 1e-12,
            "10 − 1 − 2"
        );
        assert!(
            (region_region(&disc(30.0, 2.0), &disc(0.0, 20.0)) - 8.0).abs() < 1e-12,
            "30 − 2 − 20"
        );
        assert_eq!(regions_within(&disc(30.0, 2.0), &disc(0.0, 20.0), 5.0), 5.0);
    }
}
