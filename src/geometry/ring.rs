//! Closed chains of edges.

use crate::geometry::{
    angle,
    bounds::Bounds,
    edge::{Curve, Edge, SourceId},
    point::Point,
    predicate,
    tolerance::SLIVER_AREA_MM2,
    transform::Pose,
};

/// A closed chain: every edge ends where the next begins, the last where the first begins, to the bit. At least two
/// edges. It does not cross itself; `region::check` verifies that.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    edges: Vec<Edge>,
}

impl Ring {
    /// A ring of edges; `None` unless there are two or more, all finite, each ending where the next begins.
    pub fn new(edges: Vec<Edge>) -> Option<Self> {
        Self::chained(edges).ok()
    }

    /// The same, giving back edges that make no ring.
    ///
    /// # Errors
    /// The edges.
    pub fn chained(edges: Vec<Edge>) -> Result<Self, Vec<Edge>> {
        let chained = edges.len() >= 2
            && (0..edges.len()).all(|i| {
                edges[i].end == edges[(i + 1) % edges.len()].start && edges[i].start.is_finite()
            });
        if chained {
            Ok(Self { edges })
        } else {
            Err(edges)
        }
    }

    /// A polygon, first point not repeated; `None` for fewer than three points or two equal neighbours.
    pub fn polygon(points: &[Point], source: SourceId) -> Option<Self> {
        let n = points.len();
        if n < 3 || (0..n).any(|i| points[i] == points[(i + 1) % n]) {
            return None;
        }
        Self::new(
            (0..n)
                .map(|i| Edge::line(points[i], points[(i + 1) % n], source))
                .collect(),
        )
    }

    /// A circle, counter-clockwise, as two half circles that begin at its right.
    pub fn circle(center: Point, radius: f64, source: SourceId) -> Self {
        let (right, left) = (
            center + Point::new(radius, 0.0),
            center - Point::new(radius, 0.0),
        );
        Self {
            edges: vec![
                Edge::arc(right, left, center, radius, true, source),
                Edge::arc(left, right, center, radius, true, source),
            ],
        }
    }

    /// A rectangle with rounded corners, counter-clockwise; `radius` 0 leaves them sharp and is held to half the lesser side.
    pub fn rounded_box(bounds: Bounds, radius: f64, source: SourceId) -> Self {
        let r = radius
            .min(bounds.width() / 2.0)
            .min(bounds.depth() / 2.0)
            .max(0.0);
        let (a, b) = (bounds.min, bounds.max);
        let mut edges = Vec::with_capacity(8);
        // Corner by corner counter-clockwise from front-right: its centre, and where its arc begins and ends.
        let corners = [
            (
                Point::new(b.x - r, a.y + r),
                Point::new(b.x - r, a.y),
                Point::new(b.x, a.y + r),
            ),
            (
                Point::new(b.x - r, b.y - r),
                Point::new(b.x, b.y - r),
                Point::new(b.x - r, b.y),
            ),
            (
                Point::new(a.x + r, b.y - r),
                Point::new(a.x + r, b.y),
                Point::new(a.x, b.y - r),
            ),
            (
                Point::new(a.x + r, a.y + r),
                Point::new(a.x, a.y + r),
                Point::new(a.x + r, a.y),
            ),
        ];
        for i in 0..4 {
            let (center, from, to) = corners[i];
            let next = corners[(i + 1) % 4].1;
            if r > 0.0 {
                edges.push(Edge::arc(from, to, center, r, true, source));
            }
            let from = if r > 0.0 { to } else { from };
            if from != next {
                edges.push(Edge::line(from, next, source));
            }
        }
        Self { edges }
    }

    /// The edges in order.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Signed area in mm²: positive counter-clockwise.
    pub fn area_mm2(&self) -> f64 {
        // Taken about a point of the ring, so that a small ring far from the origin keeps its digits.
        let about = self.edges[0].start;
        self.edges.iter().map(|e| e.area_about_mm2(about)).sum()
    }

    /// Length around.
    pub fn length(&self) -> f64 {
        self.edges.iter().map(Edge::length).sum()
    }

    /// The least box around it.
    pub fn bounds(&self) -> Bounds {
        self.edges
            .iter()
            .fold(Bounds::EMPTY, |b, e| b.join(e.bounds()))
    }

    /// The ring run the other way.
    pub fn reversed(&self) -> Self {
        Self {
            edges: self.edges.iter().rev().map(Edge::reversed).collect(),
        }
    }

    /// The ring counter-clockwise (`true`) or clockwise.
    pub fn oriented(&self, ccw: bool) -> Self {
        if (self.area_mm2() > 0.0) == ccw {
            self.clone()
        } else {
            self.reversed()
        }
    }

    /// The same without a copy where it already runs that way.
    pub fn into_oriented(self, ccw: bool) -> Self {
        if (self.area_mm2() > 0.0) == ccw {
            self
        } else {
            self.into_reversed()
        }
    }

    /// The ring counter-clockwise, and its area in mm², without a copy.
    pub fn into_counter_clockwise(self) -> (Self, f64) {
        let area_mm2 = self.area_mm2();
        if area_mm2 > 0.0 {
            return (self, area_mm2);
        }
        let ring = self.into_reversed();
        // Of next to nothing the rounding counts: as it is from where the ring begins now.
        let area_mm2 = if area_mm2 < -SLIVER_AREA_MM2 {
            -area_mm2
        } else {
            ring.area_mm2()
        };
        (ring, area_mm2)
    }

    /// The ring run the other way, without a copy.
    pub fn into_reversed(self) -> Self {
        let mut edges = self.edges;
        edges.reverse();
        for edge in &mut edges {
            *edge = edge.reversed();
        }
        Self { edges }
    }

    /// The ring in another pose. A mirrored ring is run the other way, so that its orientation stays.
    pub fn posed(&self, pose: Pose) -> Self {
        let edges: Vec<Edge> = self.edges.iter().map(|e| e.posed(pose)).collect();
        let ring = Self { edges };
        if pose.mirrored { ring.reversed() } else { ring }
    }

    /// The same ring with every edge's source replaced.
    pub fn with_source(&self, source: SourceId) -> Self {
        Self {
            edges: self.edges.iter().map(|e| Edge { source, ..*e }).collect(),
        }
    }

    /// The circle that the ring is: (centre, radius), where all its edges are arcs of one and turn all the way round.
    pub fn as_circle(&self) -> Option<(Point, f64)> {
        let Curve::Arc {
            center,
            radius,
            ccw,
        } = self.edges[0].curve
        else {
            return None;
        };
        self.edges
            .iter()
            .all(|e| {
                e.curve
                    == Curve::Arc {
                        center,
                        radius,
                        ccw,
                    }
            })
            .then_some((center, radius))
    }

    /// Whether a point lies in what the ring encloses, whichever way it runs; its edge counts as inside.
    pub fn contains(&self, p: Point) -> bool {
        predicate::point_in_ring(p, self) != predicate::Location::Outside
    }

    /// The centre of gravity of what the ring encloses.
    pub fn centroid(&self) -> Point {
        // Moments about a point of the ring: of each edge's triangle with that point, and of an arc's segment.
        let about = self.edges[0].start;
        let (mut area, mut moment) = (0.0, Point::default());
        for edge in &self.edges {
            let (a, b) = (edge.start - about, edge.end - about);
            let triangle = 0.5 * a.cross(b);
            area += triangle;
            moment = moment + (a + b) * (triangle / 3.0);
            if let Curve::Arc { center, radius, .. } = edge.curve {
                let sweep = edge.sweep();
                let (sin, _) = angle::sin_cos(sweep);
                let segment = 0.5 * radius * radius * (sweep - sin);
                // First moment of a circular segment about the centre: c³ / 12 along its axis, c the chord.
                let chord = edge.start.distance(edge.end);
                let axis = -(edge.end - edge.start).left().unit();
                area += segment;
                moment =
                    moment + (center - about) * segment + axis * (chord * chord * chord / 12.0);
            }
        }
        about + moment * (1.0 / area)
    }

    /// Points around the ring, the first not repeated, no farther than `flatness` from its curves.
    pub fn flatten(&self, flatness: f64) -> Vec<Point> {
        let mut points = Vec::with_capacity(self.edges.len());
        for edge in &self.edges {
            edge.flatten(flatness, &mut points);
        }
        points
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    const S: SourceId = SourceId(0);

    #[test]
    fn a_half_disc_balances_at_four_thirds_of_radius_over_pi() {
        let half = |ccw: bool| {
            let (a, b, o) = (
                Point::new(8.0, 7.0),
                Point::new(2.0, 7.0),
                Point::new(5.0, 7.0),
            );
            let ring =
                Ring::new(vec![Edge::arc(a, b, o, 3.0, true, S), Edge::line(b, a, S)]).unwrap();
            if ccw { ring } else { ring.reversed() }
        };
        // Closed form 4 r / 3π above the diameter; 1e-12 for a handful of roundings.
        let expected = Point::new(5.0, 7.0 + 4.0 / std::f64::consts::PI);
        assert!(half(true).centroid().distance(expected) < 1e-12);
        assert!(half(false).centroid().distance(expected) < 1e-12);
    }

    #[test]
    fn a_ring_of_lines_and_arcs_balances_like_its_dense_polygon() {
        let (a, b, c) = (
            Point::new(0.0, 0.0),
            Point::new(6.0, 0.0),
            Point::new(6.0, 8.0),
        );
        // A dent towards the inside, and three quarters of a circle bulging out.
        let ring = Ring::new(vec![
            Edge::from_bulge(a, b, -0.3, S),
            Edge::line(b, c, S),
            Edge::from_bulge(c, a, 1.8, S),
        ])
        .unwrap();
        let points = ring.flatten(1e-7);
        let dense = Ring::polygon(&points, S).unwrap();
        // Chords within 1e-7 mm shift the balance by no more than that times outline over area, below 1e-6.
        assert!(
            ring.centroid().distance(dense.centroid()) < 1e-6,
            "{:?} {:?}",
            ring.centroid(),
            dense.centroid()
        );
        assert!(ring.contains(ring.centroid()));
    }
}
