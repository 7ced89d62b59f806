//! Where two edges meet: line and line, line and arc, arc and arc, in closed form.
//!
//! Carriers (whole lines, whole circles) are crossed first; what lies on both edges is kept. Touching counts: an end on
//! the other edge, a line tangent to a circle, to within `tolerance::COINCIDENT`. Edges that coincide along a stretch
//! meet in the ends of that stretch.

use crate::geometry::{
    bounds::Bounds,
    edge::{Curve, Edge},
    point::Point,
    predicate::orient,
    tolerance::COINCIDENT,
};

/// Half a chord no longer than this is a touching: on a circle of radius 10 it is 3e-12 deep, and rounding alone makes
/// it up to a third as long.
const GRAZE: f64 = 4.0 * COINCIDENT;

/// None, one or two points, without an allocation.
type Few = [Option<Point>; 2];

/// The points in which two edges meet, at most two, in the order in which the first edge passes them where both are lines.
pub fn edge_crossings(a: &Edge, b: &Edge) -> Vec<Point> {
    if (a.curve, b.curve) == (Curve::Line, Curve::Line) {
        return line_line(a, b);
    }
    let mut points: Vec<Point> = carriers(a, b)
        .into_iter()
        .flatten()
        .filter(|&p| is_within(p, a) && is_within(p, b))
        .collect();
    // An end that touches, or a stretch in common, is no crossing of the carriers that one could rely on.
    for (edge, other) in [(a, b), (b, a)] {
        for p in [edge.start, edge.end] {
            if touches(p, other) {
                add(&mut points, p);
            }
        }
    }
    points.truncate(2);
    points
}

/// Whether two edges meet: `edge_crossings` has a point.
pub fn edges_meet(a: &Edge, b: &Edge) -> bool {
    if (a.curve, b.curve) == (Curve::Line, Curve::Line) {
        return lines_meet(a, b);
    }
    carriers(a, b)
        .into_iter()
        .flatten()
        .any(|p| is_within(p, a) && is_within(p, b))
        || touches(a.start, b)
        || touches(a.end, b)
        || touches(b.start, a)
        || touches(b.end, a)
}

fn touches(p: Point, edge: &Edge) -> bool {
    deviation(p, edge) <= COINCIDENT && is_within(p, edge)
}

fn add(points: &mut Vec<Point>, p: Point) {
    if points.iter().all(|q| q.distance(p) > 4.0 * COINCIDENT) {
        points.push(p);
    }
}

/// How far a point lies from the line or circle that carries an edge.
pub fn deviation(p: Point, edge: &Edge) -> f64 {
    match edge.curve {
        Curve::Line => {
            let along = edge.end - edge.start;
            let length = along.length();
            if length > 0.0 {
                ((p - edge.start).cross(along) / length).abs()
            } else {
                p.distance(edge.start)
            }
        }
        Curve::Arc { center, radius, .. } => (p.distance(center) - radius).abs(),
    }
}

/// Whether a point of an edge's carrier lies between the edge's ends, to within `tolerance::COINCIDENT`.
fn is_within(p: Point, edge: &Edge) -> bool {
    if p.is_near(edge.start, COINCIDENT) || p.is_near(edge.end, COINCIDENT) {
        return true;
    }
    match edge.curve {
        Curve::Line => {
            (p - edge.start).dot(edge.end - edge.start) >= 0.0
                && (p - edge.end).dot(edge.start - edge.end) >= 0.0
        }
        Curve::Arc { center, .. } => edge.spans(p - center),
    }
}

/// The sides of a's ends with regard to b and of b's ends with regard to a; their signs are exact.
fn sides(a: &Edge, b: &Edge) -> [f64; 4] {
    [
        orient(b.start, b.end, a.start),
        orient(b.start, b.end, a.end),
        orient(a.start, a.end, b.start),
        orient(a.start, a.end, b.end),
    ]
}

fn are_opposite(u: f64, v: f64) -> bool {
    (u < 0.0 && v > 0.0) || (u > 0.0 && v < 0.0)
}

fn is_in_box(p: Point, edge: &Edge) -> bool {
    let (a, b) = (edge.start, edge.end);
    p.x >= a.x.min(b.x) && p.x <= a.x.max(b.x) && p.y >= a.y.min(b.y) && p.y <= a.y.max(b.y)
}

/// Whether two straight edges cross or touch is decided exactly, without a tolerance.
fn lines_meet(a: &Edge, b: &Edge) -> bool {
    let (a_box, b_box) = (
        Bounds::of_points([a.start, a.end]),
        Bounds::of_points([b.start, b.end]),
    );
    if !a_box.touches(b_box) {
        return false;
    }
    let [a0, a1, b0, b1] = sides(a, b);
    (are_opposite(a0, a1) && are_opposite(b0, b1))
        || (a0 == 0.0 && is_in_box(a.start, b))
        || (a1 == 0.0 && is_in_box(a.end, b))
        || (b0 == 0.0 && is_in_box(b.start, a))
        || (b1 == 0.0 && is_in_box(b.end, a))
}

fn line_line(a: &Edge, b: &Edge) -> Vec<Point> {
    let [a0, a1, b0, b1] = sides(a, b);
    if are_opposite(a0, a1) && are_opposite(b0, b1) {
        return vec![a.start.toward(a.end, a0 / (a0 - a1))];
    }
    let mut points = Vec::new();
    for (side, p, other) in [
        (a0, a.start, b),
        (a1, a.end, b),
        (b0, b.start, a),
        (b1, b.end, a),
    ] {
        if side == 0.0 && is_in_box(p, other) && !points.contains(&p) {
            points.push(p);
        }
    }
    let along = a.end - a.start;
    points.sort_by(|p, q| {
        (*p - a.start)
            .dot(along)
            .total_cmp(&(*q - a.start).dot(along))
    });
    if points.len() > 2 {
        vec![points[0], points[points.len() - 1]]
    } else {
        points
    }
}

/// Where the whole lines and circles that carry two edges cross: none, one or two points. A touching within
/// `tolerance::COINCIDENT` is one point; equal carriers and parallel lines have none.
pub fn carrier_crossings(a: &Edge, b: &Edge) -> Vec<Point> {
    carriers(a, b).into_iter().flatten().collect()
}

fn carriers(a: &Edge, b: &Edge) -> Few {
    match (a.curve, b.curve) {
        (Curve::Line, Curve::Line) => {
            let (u, v) = (a.end - a.start, b.end - b.start);
            let cross = u.cross(v);
            if cross == 0.0 {
                return [None, None];
            }
            [
                Some(a.start + u * ((b.start - a.start).cross(v) / cross)),
                None,
            ]
        }
        (Curve::Line, Curve::Arc { center, radius, .. }) => line_circle(a, center, radius),
        (Curve::Arc { center, radius, .. }, Curve::Line) => line_circle(b, center, radius),
        (
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
        ) => circle_circle(c, r, d, s),
    }
}

/// Two points on either side of a foot, or the foot where they touch.
fn around(foot: Point, unit: Point, half: f64) -> Few {
    if half <= GRAZE {
        [Some(foot), None]
    } else {
        [Some(foot - unit * half), Some(foot + unit * half)]
    }
}

fn line_circle(line: &Edge, center: Point, radius: f64) -> Few {
    let along = (line.end - line.start).unit();
    let foot = line.start + along * (center - line.start).dot(along);
    let height = foot.distance(center);
    if height > radius + COINCIDENT {
        return [None, None];
    }
    around(
        foot,
        along,
        ((radius - height).max(0.0) * (radius + height)).sqrt(),
    )
}

fn circle_circle(c: Point, r: f64, d: Point, s: f64) -> Few {
    // In one order always, so that the points have the same bits whichever circle comes first.
    if (d.x, d.y, s) < (c.x, c.y, r) {
        return circle_circle(d, s, c, r);
    }
    let between = d - c;
    let distance = between.length();
    if distance > r + s + COINCIDENT || distance < (r - s).abs() - COINCIDENT || distance == 0.0 {
        return [None, None];
    }
    let axis = between * (1.0 / distance);
    // From c to the common chord: (D² + r² − s²) / 2D, written so that near-equal radii keep their digits.
    let along = 0.5 * (distance + (r - s) * (r + s) / distance);
    let along = along.clamp(-r, r);
    let half = ((r - along) * (r + along)).max(0.0).sqrt();
    around(c + axis * along, axis.left(), half)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;

    const S: SourceId = SourceId(0);

    fn line(ax: f64, ay: f64, bx: f64, by: f64) -> Edge {
        Edge::line(Point::new(ax, ay), Point::new(bx, by), S)
    }

    fn upper_half(cx: f64, cy: f64, r: f64) -> Edge {
        Edge::arc(
            Point::new(cx + r, cy),
            Point::new(cx - r, cy),
            Point::new(cx, cy),
            r,
            true,
            S,
        )
    }

    fn assert_points(found: &[Point], expected: &[(f64, f64)], source: &str) {
        assert_eq!(found.len(), expected.len(), "{found:?} for {expected:?}");
        for &(x, y) in expected {
            // 1e-12: a handful of roundings of coordinates of 10.
            assert!(
                found.iter().any(|p| p.distance(Point::new(x, y)) < 1e-12),
                "{found:?} lacks ({x}, {y}): {source}"
            );
        }
    }

    #[test]
    fn lines_cross_touch_overlap_or_miss() {
        assert_points(
            &edge_crossings(&line(0.0, 0.0, 4.0, 4.0), &line(0.0, 4.0, 4.0, 0.0)),
            &[(2.0, 2.0)],
            "diagonals of a square",
        );
        assert_points(
            &edge_crossings(&line(0.0, 0.0, 4.0, 0.0), &line(1.0, 0.0, 1.0, 3.0)),
            &[(1.0, 0.0)],
            "a T",
        );
        assert_points(
            &edge_crossings(&line(0.0, 0.0, 4.0, 0.0), &line(6.0, 0.0, 1.0, 0.0)),
            &[(1.0, 0.0), (4.0, 0.0)],
            "common stretch",
        );
        assert_points(
            &edge_crossings(&line(0.0, 0.0, 4.0, 0.0), &line(1.0, 1e-300, 1.0, 3.0)),
            &[],
            "misses by 1e-300",
        );
    }

    #[test]
    fn a_line_meets_an_arc_in_closed_form() {
        assert_points(
            &edge_crossings(&line(-9.0, 3.0, 9.0, 3.0), &upper_half(0.0, 0.0, 5.0)),
            &[(-4.0, 3.0), (4.0, 3.0)],
            "3-4-5 triangle",
        );
        assert_points(
            &edge_crossings(&line(-9.0, -3.0, 9.0, -3.0), &upper_half(0.0, 0.0, 5.0)),
            &[],
            "below the half circle",
        );
        assert_points(
            &edge_crossings(&line(-9.0, 5.0, 9.0, 5.0), &upper_half(0.0, 0.0, 5.0)),
            &[(0.0, 5.0)],
            "tangent at the top",
        );
        assert_points(
            &edge_crossings(&line(5.0, 0.0, 9.0, 0.0), &upper_half(0.0, 0.0, 5.0)),
            &[(5.0, 0.0)],
            "end on end",
        );
    }

    #[test]
    fn arcs_meet_in_closed_form() {
        // Two circles of radius 10, centres 10 apart: x = 5, y = ±√75.
        assert_points(
            &edge_crossings(&upper_half(0.0, 0.0, 10.0), &upper_half(10.0, 0.0, 10.0)),
            &[(5.0, 75.0_f64.sqrt())],
            "common chord",
        );
        assert_points(
            &edge_crossings(&upper_half(0.0, 0.0, 5.0), &upper_half(10.0, 0.0, 5.0)),
            &[(5.0, 0.0)],
            "circles touching at (5, 0)",
        );
        assert_points(
            &edge_crossings(&upper_half(0.0, 0.0, 5.0), &upper_half(1.0, 0.0, 3.0)),
            &[],
            "one inside the other",
        );
    }
}
