//! The narrowest material beside a seam: the neck of a tooth, or the web between a face and what lies opposite.
//!
//! In: a finished piece. Out: the least distance, across material, from a seam's face to another place of the outline, among
//! those from which it grows whichever way one goes along the outline. So the tip of an acute corner is no neck, and
//! a tooth that only tapers (a zigzag, a wave) has none.
//!
//! Two edges are such a place where both have a common normal, or at corners. Ends are dropped on the other edge, the middle
//! of where parallel lines face one another, the centre of an arc on a line; of two arcs the line through the centres is
//! taken ("derived": the distance of two smooth curves is stationary only along a common normal).

use crate::geometry::bounds::Bounds;
use crate::geometry::distance::{box_box, point_edge};
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::predicate::{Location, point_in_region};
use crate::geometry::region::Region;
use crate::geometry::tolerance::COINCIDENT;
use crate::model::source::is_seam;

/// Cosine of the angle by which an outline may seem to lead towards the opposite side at a neck: 1°, for tangents of
/// small arcs.
const LEVEL: f64 = 0.017;
/// Two places nearer than this are one corner.
const ONE: f64 = 4.0 * COINCIDENT;

/// An edge with its neighbours on the ring.
struct Side {
    edge: Edge,
    bounds: Bounds,
    /// Direction in which the outline goes on from its end, and goes back from its start.
    on: Point,
    back: Point,
}

/// The narrowest neck of a piece and its middle, if it is narrower than `below`.
pub(crate) fn narrowest(piece: &Region, below: f64) -> Option<(f64, Point)> {
    let sides: Vec<Side> = piece.rings().flat_map(|r| sides(r.edges())).collect();
    let mut best = below;
    let mut at = Point::default();
    for (k, a) in sides.iter().enumerate() {
        if !is_seam(a.edge.source) {
            continue;
        }
        for (j, b) in sides.iter().enumerate() {
            // A pair of two faces is looked at once.
            if (is_seam(b.edge.source) && j <= k) || box_box(a.bounds, b.bounds) >= best {
                continue;
            }
            for (p, q) in places(&a.edge, &b.edge) {
                let d = p.distance(q);
                if d > ONE && d < best && grows(a, p, q) && grows(b, q, p) && within(piece, p, q) {
                    best = d;
                    at = p.toward(q, 0.5);
                }
            }
        }
    }
    (best < below).then_some((best, at))
}

fn sides(edges: &[Edge]) -> Vec<Side> {
    let n = edges.len();
    (0..n)
        .map(|i| Side {
            edge: edges[i],
            bounds: edges[i].bounds(),
            on: edges[(i + 1) % n].start_tangent(),
            back: -edges[(i + n - 1) % n].end_tangent(),
        })
        .collect()
}

/// Pairs of places at which the distance of two edges can be least.
fn places(a: &Edge, b: &Edge) -> Vec<(Point, Point)> {
    let onto_b = |p: Point| (p, point_edge(p, b).1);
    let onto_a = |q: Point| (point_edge(q, a).1, q);
    let mut out = vec![
        onto_b(a.start),
        onto_b(a.end),
        onto_a(b.start),
        onto_a(b.end),
    ];
    let foot = |line: &Edge, center: Point| {
        let along = (line.end - line.start).unit();
        line.start + along * along.dot(center - line.start)
    };
    match (a.curve, b.curve) {
        (Curve::Line, Curve::Line) => {
            // Of parallel lines any place where they face one another will do: the middle of those.
            let (along, length) = ((a.end - a.start).unit(), a.length());
            let on_a = |q: Point| along.dot(q - a.start).clamp(0.0, length);
            let middle = (on_a(b.start) + on_a(b.end)) / 2.0;
            out.push(onto_b(a.start + along * middle));
        }
        (Curve::Line, Curve::Arc { center, .. }) => {
            out.push(onto_b(point_edge(foot(a, center), a).1))
        }
        (Curve::Arc { center, .. }, Curve::Line) => {
            out.push(onto_a(point_edge(foot(b, center), b).1))
        }
        (
            Curve::Arc {
                center: c,
                radius: r,
                ..
            },
            Curve::Arc { center: d, .. },
        ) => {
            // Two arcs about one centre have no such line; they are equally far apart all along.
            let way = (d - c).unit();
            for side in [way, -way] {
                if c.distance(d) > ONE && a.spans(side) {
                    out.push(onto_b(c + side * r));
                }
            }
        }
    }
    out
}

/// Whether the distance to `far` grows, or stays, whichever way one goes along the outline from a place on an edge.
fn grows(side: &Side, at: Point, far: Point) -> bool {
    let toward = (far - at).unit();
    let ahead = side.edge.tangent_at(at);
    let on = if at.distance(side.edge.end) < ONE {
        side.on
    } else {
        ahead
    };
    let back = if at.distance(side.edge.start) < ONE {
        side.back
    } else {
        -ahead
    };
    toward.dot(on) <= LEVEL && toward.dot(back) <= LEVEL
}

/// Whether the way between two places of the outline leads through material.
fn within(piece: &Region, p: Point, q: Point) -> bool {
    [0.05, 0.5, 0.95]
        .iter()
        .all(|share| point_in_region(p.toward(q, *share), piece) == Location::Inside)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::ring::Ring;
    use crate::model::source::SourceKind;

    /// A polygon whose edges from one corner to another are a seam's face.
    fn piece(corners: &[(f64, f64)], face: std::ops::Range<usize>) -> Region {
        let points: Vec<Point> = corners.iter().map(|c| Point::new(c.0, c.1)).collect();
        let ring = Ring::polygon(&points, SourceKind::Outline.id(0)).unwrap();
        let source = |k: usize| -> SourceId {
            if face.contains(&k) {
                SourceKind::Seam.id(0)
            } else {
                SourceKind::Outline.id(0)
            }
        };
        let edges = ring
            .edges()
            .iter()
            .enumerate()
            .map(|(k, e)| Edge {
                source: source(k),
                ..*e
            })
            .collect();
        Region::solid(Ring::new(edges).unwrap())
    }

    #[test]
    fn a_tail_is_narrowest_at_its_root() {
        // A plate of 100 × 60 with a tail on its upper side, 20 wide at the root and 30 at its tip, 15 deep.
        let corners = [
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 60.0),
            (60.0, 60.0),
            (65.0, 75.0),
            (35.0, 75.0),
            (40.0, 60.0),
            (0.0, 60.0),
        ];
        let (found, _) = narrowest(&piece(&corners, 2..7), 1000.0).unwrap();
        assert!((found - 20.0).abs() < 1e-9, "as drawn: {found}");
        assert_eq!(
            narrowest(&piece(&corners, 2..7), 20.0),
            None,
            "none narrower"
        );
    }

    #[test]
    fn a_point_of_two_arcs_about_one_centre_is_no_neck() {
        // A plate of 100 × 60 whose upper side is one wave up: its top is two arcs of radius 20 about (50, 60).
        let seam = SourceKind::Seam.id(0);
        let (o, p) = (Point::new(50.0, 60.0), |x, y| Point::new(x, y));
        let mut edges: Vec<Edge> = [
            (p(0.0, 60.0), p(0.0, 0.0)),
            (p(0.0, 0.0), p(100.0, 0.0)),
            (p(100.0, 0.0), p(100.0, 60.0)),
            (p(100.0, 60.0), p(70.0, 60.0)),
        ]
        .map(|(a, b)| Edge::line(a, b, SourceKind::Outline.id(0)))
        .to_vec();
        edges.push(Edge::arc(p(70.0, 60.0), p(50.0, 80.0), o, 20.0, true, seam));
        edges.push(Edge::arc(p(50.0, 80.0), p(30.0, 60.0), o, 20.0, true, seam));
        edges.push(Edge::line(p(30.0, 60.0), p(0.0, 60.0), seam));
        let (found, _) = narrowest(&Region::solid(Ring::new(edges).unwrap()), 1000.0).unwrap();
        // The foot of the half disc is 40 wide, the plate 60 and more.
        assert!((found - 40.0).abs() < 1e-9, "{found}");
    }

    #[test]
    fn a_taper_and_an_acute_corner_are_no_necks() {
        // A tooth that tapers from 40 to nothing; the plate below it is 60 across.
        let corners = [
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 60.0),
            (70.0, 60.0),
            (50.0, 80.0),
            (30.0, 60.0),
            (0.0, 60.0),
        ];
        let (found, _) = narrowest(&piece(&corners, 2..6), 1000.0).unwrap();
        assert!((found - 60.0).abs() < 1e-9, "the plate: {found}");
        // A seam that ends on a side at 15°.
        let acute = [(0.0, 0.0), (200.0, 0.0), (0.0, 53.589_838)];
        assert_eq!(narrowest(&piece(&acute, 1..2), 1000.0), None);
    }
}
