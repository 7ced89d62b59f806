//! Which side, inside or outside.
//!
//! The side of a line is decided exactly (adaptive arithmetic after J. R. Shewchuk, "Adaptive Precision Floating-Point
//! Arithmetic and Fast Robust Geometric Predicates", 1997, through the crate `robust`). Inside or outside is decided by
//! counting where a ray to the right crosses the true lines and arcs, not chords of them. Arcs are cut into pieces that
//! only rise or only fall, and each piece counts half open, so that a ray through a vertex counts once.

use crate::geometry::{
    distance::point_edge,
    edge::{Curve, Edge},
    point::Point,
    region::Region,
    ring::Ring,
    tolerance::COINCIDENT,
};

/// Where a point lies with regard to a region.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Location {
    /// In the material.
    Inside,
    /// On an edge, to within `tolerance::COINCIDENT`.
    Edge,
    /// Outside the outer ring or in a hole.
    Outside,
}

/// Twice the signed area of the triangle a, b, c; its sign is exact: positive where c lies to the left of a → b.
pub fn orient(a: Point, b: Point, c: Point) -> f64 {
    let coord = |p: Point| robust::Coord { x: p.x, y: p.y };
    robust::orient2d(coord(a), coord(b), coord(c))
}

/// Where a point lies with regard to a region, on its true lines and arcs.
pub fn point_in_region(p: Point, region: &Region) -> Location {
    if !region.bounds().grown(COINCIDENT).holds(p) {
        return Location::Outside;
    }
    locate(p, region.edges())
}

/// Where a point lies with regard to what a ring encloses, whichever way it runs.
pub fn point_in_ring(p: Point, ring: &Ring) -> Location {
    locate(p, ring.edges().iter())
}

/// Where a point lies with regard to closed chains of edges, by the parity of crossings.
pub fn locate<'a>(p: Point, edges: impl Iterator<Item = &'a Edge>) -> Location {
    let mut inside = false;
    for edge in edges {
        if is_on(p, edge) {
            return Location::Edge;
        }
        inside ^= ray_crosses(p, edge);
    }
    if inside {
        Location::Inside
    } else {
        Location::Outside
    }
}

/// Whether a point lies on an edge, to within `tolerance::COINCIDENT`.
fn is_on(p: Point, edge: &Edge) -> bool {
    // A cheap box first: most edges are far away.
    let near = match edge.curve {
        Curve::Line => {
            let (a, b) = (edge.start, edge.end);
            p.x >= a.x.min(b.x) - COINCIDENT
                && p.x <= a.x.max(b.x) + COINCIDENT
                && p.y >= a.y.min(b.y) - COINCIDENT
                && p.y <= a.y.max(b.y) + COINCIDENT
        }
        Curve::Arc { center, radius, .. } => {
            ((p - center).length() - radius).abs() <= 2.0 * COINCIDENT
        }
    };
    near && point_edge(p, edge).0 <= COINCIDENT
}

/// Whether a ray to the right crosses an edge an odd number of times.
pub(crate) fn ray_crosses(p: Point, edge: &Edge) -> bool {
    match edge.curve {
        Curve::Line => line_is_right(p, edge.start, edge.end),
        Curve::Arc {
            center,
            radius,
            ccw,
        } => {
            let mut odd = false;
            let mut from = edge.start.y;
            for y in extremes(edge, center, radius, ccw).into_iter().flatten() {
                odd ^= piece_is_right(p, from, y, center, radius, ccw);
                from = y;
            }
            odd ^ piece_is_right(p, from, edge.end.y, center, radius, ccw)
        }
    }
}

/// Whether the ray to the right of `p` crosses the line a, b; the lower end counts, the upper does not.
fn line_is_right(p: Point, a: Point, b: Point) -> bool {
    if (a.y > p.y) == (b.y > p.y) {
        return false;
    }
    let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
    if p.x < low.x.min(high.x) {
        return true;
    }
    orient(low, high, p) > 0.0
}

/// The heights of the top and bottom of the circle that an arc passes, in the order of travel.
fn extremes(edge: &Edge, center: Point, radius: f64, ccw: bool) -> [Option<f64>; 2] {
    let top = edge
        .spans(Point::new(0.0, 1.0))
        .then_some(center.y + radius);
    let bottom = edge
        .spans(Point::new(0.0, -1.0))
        .then_some(center.y - radius);
    // Counter-clockwise from the right half the top comes first; each of the two comes at most once. An arc that begins at
    // one of them passes that one first, whichever way it turns.
    let top_first = if edge.start.x == center.x {
        edge.start.y > center.y
    } else {
        (edge.start.x > center.x) == ccw
    };
    if top_first {
        [top, bottom]
    } else {
        [bottom, top]
    }
}

/// Whether the ray to the right of `p` crosses a piece of an arc that only rises or only falls between two heights.
fn piece_is_right(p: Point, from: f64, to: f64, center: Point, radius: f64, ccw: bool) -> bool {
    if (from > p.y) == (to > p.y) {
        return false;
    }
    let dy = p.y - center.y;
    let half = (radius * radius - dy * dy).max(0.0).sqrt();
    // A counter-clockwise arc rises on the right half and falls on the left.
    let x = if (to > from) == ccw {
        center.x + half
    } else {
        center.x - half
    };
    p.x < x
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::{bounds::Bounds, edge::SourceId};

    const S: SourceId = SourceId(0);

    #[test]
    fn orientation_is_exact_where_rounding_would_decide() {
        // (0.5, 0.5), (12, 12), (24, 24) lie on x = y; one ulp of 0.5 to the right of it must count as the right.
        let (b, c) = (Point::new(12.0, 12.0), Point::new(24.0, 24.0));
        assert_eq!(
            orient(Point::new(0.5, 0.5), b, c),
            0.0,
            "exactly on the diagonal"
        );
        assert!(orient(b, c, Point::new(0.5 + f64::EPSILON / 2.0, 0.5)) < 0.0);
        assert!(orient(b, c, Point::new(0.5 - f64::EPSILON / 4.0, 0.5)) > 0.0);
    }

    #[test]
    fn points_of_a_slot_whose_ends_are_half_circles_are_told_apart() {
        // Caps of radius 5 about (0, 0) and (20, 0), each one arc that begins and ends at the top and bottom of its circle.
        let slot = [
            Edge::line(Point::new(0.0, -5.0), Point::new(20.0, -5.0), S),
            Edge::arc(
                Point::new(20.0, -5.0),
                Point::new(20.0, 5.0),
                Point::new(20.0, 0.0),
                5.0,
                true,
                S,
            ),
            Edge::line(Point::new(20.0, 5.0), Point::new(0.0, 5.0), S),
            Edge::arc(
                Point::new(0.0, 5.0),
                Point::new(0.0, -5.0),
                Point::new(0.0, 0.0),
                5.0,
                true,
                S,
            ),
        ];
        let back: Vec<Edge> = slot.iter().rev().map(Edge::reversed).collect();
        for (x, y) in [
            (-3.0, 3.0),
            (-3.0, -3.0),
            (23.0, 3.0),
            (23.0, -3.0),
            (10.0, 1.0),
        ] {
            let p = Point::new(x, y);
            assert_eq!(locate(p, slot.iter()), Location::Inside, "({x}, {y})");
            assert_eq!(locate(p, back.iter()), Location::Inside, "({x}, {y})");
        }
        for (x, y) in [(-4.0, 4.0), (24.0, -4.0), (-6.0, 1.0), (26.0, 1.0)] {
            let p = Point::new(x, y);
            assert_eq!(locate(p, slot.iter()), Location::Outside, "({x}, {y})");
            assert_eq!(locate(p, back.iter()), Location::Outside, "({x}, {y})");
        }
    }

    #[test]
    fn points_of_a_ring_with_a_round_hole_are_told_apart() {
        let outer = Ring::rounded_box(
            Bounds::new(Point::new(-10.0, -10.0), Point::new(10.0, 10.0)),
            3.0,
            S,
        );
        let region = Region::new(outer, vec![Ring::circle(Point::new(0.0, 0.0), 4.0, S)]);
        // Distance from the corner's centre (7, 7): √(2·2.1²) = 2.97 inside, √(2·2.2²) = 3.11 outside (hand calculation).
        for (x, y, expected) in [
            (0.0, 0.0, Location::Outside),
            (4.0, 0.0, Location::Edge),
            (0.0, -4.0, Location::Edge),
            (4.1, 0.0, Location::Inside),
            (9.1, 9.1, Location::Inside),
            (9.2, 9.2, Location::Outside),
            (10.0, 0.0, Location::Edge),
            (-12.0, 4.0, Location::Outside),
            (-12.0, -4.0, Location::Outside),
            (-12.0, 10.0, Location::Outside),
            (-12.0, 7.0, Location::Outside),
            (-9.0, 4.0, Location::Inside),
        ] {
            assert_eq!(
                point_in_region(Point::new(x, y), &region),
                expected,
                "({x}, {y})"
            );
        }
    }

    #[test]
    fn an_arc_over_three_quarters_is_counted_by_its_pieces() {
        // Three quarters of a circle of radius 1 closed by two lines through the centre.
        let (o, a, b) = (
            Point::new(0.0, 0.0),
            Point::new(1.0, 0.0),
            Point::new(0.0, -1.0),
        );
        let ring = Ring::new(vec![
            Edge::arc(a, b, o, 1.0, true, S),
            Edge::line(b, o, S),
            Edge::line(o, a, S),
        ])
        .unwrap();
        for k in 0..360 {
            let angle = std::f64::consts::TAU * (f64::from(k) + 0.5) / 360.0;
            for (rho, within) in [(0.5, true), (0.999, true), (1.001, false)] {
                let expected = if within && k < 270 {
                    Location::Inside
                } else {
                    Location::Outside
                };
                assert_eq!(
                    point_in_ring(Point::at_angle(angle) * rho, &ring),
                    expected,
                    "{k}° at {rho}"
                );
            }
        }
    }
}
