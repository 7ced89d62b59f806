//! Whether a shape may lie where it lies: against a sheet, against another shape. Exact on true lines and arcs.

use crate::geometry::crossing::edge_crossings;
use crate::geometry::distance::{BoxedEdges, box_box, edge_edge};
use crate::geometry::edge::Edge;
use crate::geometry::point::Point;
use crate::geometry::predicate::Location;
use crate::geometry::tolerance::CERTIFIED;
use crate::geometry::transform::Pose;
use crate::nest::orientation::Body;

/// Whether two shapes lie `spacing` or more apart (short by `CERTIFIED` at the most), neither in the other's material.
pub(crate) fn apart(a: &Body, b: &Body, spacing: f64) -> bool {
    if box_box(a.bounds, b.bounds) >= spacing.max(CERTIFIED) {
        return true;
    }
    if spacing <= CERTIFIED {
        // Boxes that share no more than an edge hold nothing in common that is deeper.
        let shared = |low_a: f64, high_a: f64, low_b: f64, high_b: f64| {
            high_a.min(high_b) - low_a.max(low_b)
        };
        let (p, q) = (a.bounds, b.bounds);
        if shared(p.min.x, p.max.x, q.min.x, q.max.x)
            .min(shared(p.min.y, p.max.y, q.min.y, q.max.y))
            <= CERTIFIED
        {
            return true;
        }
        // In the frame in which the edges of `b` were made.
        let moved = a.shifted(a.shift - b.shift).placed();
        return depth(&moved, &b.edges, Location::Inside) <= CERTIFIED
            && depth(&b.edges, &moved, Location::Inside) <= CERTIFIED
            && core_depth(&moved, &b.edges) <= CERTIFIED
            && core_depth(&b.edges, &moved) <= CERTIFIED;
    }
    !nearer(a, b, spacing - CERTIFIED) && !holds(b, a) && !holds(a, b)
}

/// Whether an edge of a shape, the one of such a number, leaves a sheet: most places near one another fail by the same edge.
pub(crate) fn leaves(shape: &Body, edge: usize, sheet: &Body) -> bool {
    let Some((edge, bounds)) = shape.edges.edges().get(edge) else {
        return false;
    };
    let shift = shape.shift - sheet.shift;
    let moved = edge.posed(Pose::shifted(shift));
    samples(&moved, bounds.moved(shift), &sheet.edges)
        .into_iter()
        .any(|p| {
            sheet.edges.locate(p) == Location::Outside && sheet.edges.from_point(p) > CERTIFIED
        })
}

/// Whether a shape lies in a sheet, `margin` or more from its edge and defects (short by `CERTIFIED` at the most).
pub(crate) fn inside(shape: &Body, sheet: &Body, margin: f64) -> bool {
    leaving(shape, sheet, margin).is_none()
}

/// Where a shape does not lie in a sheet so, the edge that leaves it, or the first one where something else is in the way.
pub(crate) fn leaving(shape: &Body, sheet: &Body, margin: f64) -> Option<usize> {
    if !sheet
        .bounds
        .grown(CERTIFIED - margin)
        .holds_box(shape.bounds)
    {
        return Some(0);
    }
    if margin <= CERTIFIED {
        // In the frame in which the sheet's edges were made.
        let moved = shape.shifted(shape.shift - sheet.shift).placed();
        let (out, edge) = deepest(&moved, &sheet.edges, Location::Outside);
        if out > CERTIFIED {
            return Some(edge);
        }
        let is_on_defect = depth(&sheet.edges, &moved, Location::Inside) > CERTIFIED;
        return is_on_defect.then_some(0);
    }
    let is_in =
        !nearer(shape, sheet, margin - CERTIFIED) && holds(sheet, shape) && !covers(shape, sheet);
    (!is_in).then_some(0)
}

/// Whether a defect of the sheet lies in the material of a shape none of whose edges comes near it.
fn covers(shape: &Body, sheet: &Body) -> bool {
    let bounds = shape.edges.bounds();
    sheet.edges.edges().iter().any(|(e, _)| {
        let p = e.start + sheet.shift - shape.shift;
        bounds.holds(p) && shape.edges.locate(p) == Location::Inside
    })
}

/// Whether some edge of one lies nearer than `limit` to one of the other.
fn nearer(a: &Body, b: &Body, limit: f64) -> bool {
    // All in the frame in which the edges of `b` were made.
    let shift = a.shift - b.shift;
    let reach = b.edges.bounds().grown(limit);
    let moved = Pose::shifted(shift);
    a.edges.edges().iter().any(|(e, bounds)| {
        let bounds = bounds.moved(shift);
        if !bounds.touches(reach) {
            return false;
        }
        let near = bounds.grown(limit);
        let mut placed = None;
        b.edges
            .near(near)
            .any(|(f, _)| edge_edge(placed.get_or_insert_with(|| e.posed(moved)), f) < limit)
    })
}

/// Whether a point of `inner` lies in the material of `outer`; tells all where their edges do not meet.
fn holds(outer: &Body, inner: &Body) -> bool {
    inner.edges.edges().first().is_some_and(|(e, _)| {
        let p = e.start + inner.shift - outer.shift;
        outer.edges.bounds().holds(p) && outer.edges.locate(p) == Location::Inside
    })
}

/// How deep two shapes lie in one another: the greatest distance to the other's edge of a point of one (ends and middles of
/// its edges, cut where they cross the other's) that lies in the other. Exact for what touches: 0, or under 2e-6.
pub(crate) fn overlap(a: &BoxedEdges, b: &BoxedEdges) -> f64 {
    let (mut ab, mut ba) = (depth(a, b, Location::Inside), depth(b, a, Location::Inside));
    if ab <= CERTIFIED && ba <= CERTIFIED {
        // Equal outlines, or one fitted into the other: a point well inside tells.
        ab = ab.max(core_depth(a, b));
        ba = ba.max(core_depth(b, a));
    }
    ab.max(ba)
}

/// How far a shape sticks out of a sheet.
pub(crate) fn protrusion(shape: &BoxedEdges, sheet: &BoxedEdges) -> f64 {
    let out = depth(shape, sheet, Location::Outside);
    // A defect inside the shape meets none of its edges.
    let hole = depth(sheet, shape, Location::Inside);
    out.max(hole)
}

/// The greatest distance to `other`'s edges of points of `of` that lie on the bad side of them.
fn depth(of: &BoxedEdges, other: &BoxedEdges, bad: Location) -> f64 {
    deepest(of, other, bad).0
}

/// The same, and which of the edges looked at has that point.
fn deepest(of: &BoxedEdges, other: &BoxedEdges, bad: Location) -> (f64, usize) {
    let mut worst = (0.0, 0);
    // Where a chain of edges that come near none of the others ends, if its points lie on the good side.
    let mut good_until: Option<Point> = None;
    // What lies beside the other shape is not inside it.
    let reach = if bad == Location::Inside {
        other.bounds().grown(CERTIFIED)
    } else {
        of.bounds()
    };
    for (number, (edge, bounds)) in of.near(reach).enumerate() {
        let is_far = other.near(bounds.grown(CERTIFIED)).next().is_none();
        if is_far && good_until == Some(edge.start) {
            good_until = Some(edge.end);
            continue;
        }
        good_until = is_far.then_some(edge.end);
        for p in samples(edge, *bounds, other) {
            if other.locate(p) == bad {
                let away = other.from_point(p);
                if away > worst.0 {
                    worst = (away, number);
                }
                if away > 1e-3 {
                    return worst;
                }
                good_until = None;
            }
            if is_far {
                // Neither side changes along it.
                break;
            }
        }
    }
    worst
}

/// Ends and middles of the pieces into which an edge is cut where it crosses others.
fn samples(edge: &Edge, bounds: crate::geometry::bounds::Bounds, other: &BoxedEdges) -> Vec<Point> {
    let mut shares = vec![0.0, 1.0];
    for (f, _) in other.near(bounds.grown(CERTIFIED)) {
        shares.extend(edge_crossings(edge, f).into_iter().map(|p| share(edge, p)));
    }
    shares.sort_by(f64::total_cmp);
    let mut out = Vec::with_capacity(shares.len() + 1);
    for pair in shares.windows(2) {
        out.push(edge.at(pair[0]));
        if pair[1] - pair[0] > 1e-12 {
            out.push(edge.at(0.5 * (pair[0] + pair[1])));
        }
    }
    out.push(edge.end);
    out
}

/// The share of the way along an edge at which a point of it lies.
fn share(edge: &Edge, p: Point) -> f64 {
    let sweep = edge.sweep();
    let share = match edge.curve {
        crate::geometry::edge::Curve::Line => {
            let way = edge.end - edge.start;
            (p - edge.start).dot(way) / way.length_squared()
        }
        crate::geometry::edge::Curve::Arc { center, .. } => {
            let (a, b) = (edge.start - center, p - center);
            let turned = crate::geometry::angle::positive(crate::geometry::angle::atan2(
                a.cross(b),
                a.dot(b),
            ));
            if sweep >= 0.0 {
                turned / sweep
            } else {
                (turned - std::f64::consts::TAU) / sweep
            }
        }
    };
    share.clamp(0.0, 1.0)
}

/// Depth in `other` of a point a little to the left of an edge of `of`, where material lies.
fn core_depth(of: &BoxedEdges, other: &BoxedEdges) -> f64 {
    let mut worst: f64 = 0.0;
    // Such a point lies half a millimetre from its edge at the most.
    for (edge, _) in of.near(other.bounds().grown(1.0)) {
        let step = (edge.length() * 0.25).min(0.5);
        let p = edge.at(0.5) + edge.tangent_at(edge.at(0.5)).left() * step;
        if !other.bounds().holds(p) {
            continue;
        }
        let both = [other, of].iter().all(|s| s.locate(p) == Location::Inside);
        if both {
            worst = worst.max(other.from_point(p).min(of.from_point(p)));
            if worst > 1e-3 {
                return worst;
            }
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::bounds::Bounds;
    use crate::geometry::edge::SourceId;
    use crate::geometry::region::Region;
    use crate::geometry::ring::Ring;

    fn square(x: f64, y: f64, side: f64) -> Body {
        Body::new(&Region::solid(Ring::rounded_box(
            Bounds::new(Point::new(x, y), Point::new(x + side, y + side)),
            0.0,
            SourceId::default(),
        )))
    }

    #[test]
    fn squares_that_touch_do_not_overlap_and_equal_ones_do() {
        assert!(
            apart(&square(0.0, 0.0, 10.0), &square(10.0, 3.0, 10.0), 0.0),
            "one edge in common"
        );
        assert!(
            !apart(&square(0.0, 0.0, 10.0), &square(0.0, 0.0, 10.0), 0.0),
            "the same place"
        );
        assert!(
            !apart(&square(0.0, 0.0, 10.0), &square(2.0, 0.0, 4.0), 0.0),
            "one in the other, an edge in common"
        );
        assert!(
            !apart(&square(0.0, 0.0, 10.0), &square(9.999, 0.0, 10.0), 0.0),
            "a thousandth too near"
        );
    }

    #[test]
    fn a_defect_in_the_middle_of_a_shape_is_not_covered() {
        let board = Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(100.0, 100.0)),
            0.0,
            SourceId::default(),
        );
        let defect = Ring::circle(Point::new(50.0, 50.0), 4.0, SourceId::default());
        let sheet = Body::new(&Region::new(board, vec![defect]));
        for margin in [0.0, 5.0] {
            assert!(!inside(&square(10.0, 10.0, 80.0), &sheet, margin));
            assert!(inside(&square(10.0, 10.0, 30.0), &sheet, margin), "beside");
            // The defect lies in a hole of the shape, 16 from its edge.
            let outer = square(10.0, 10.0, 80.0);
            let hole = Ring::circle(Point::new(50.0, 50.0), 20.0, SourceId::default());
            let outline = outer.edges.edges().iter().map(|e| e.0).collect();
            let frame = Ring::new(outline).map(|ring| Region::new(ring, vec![hole]));
            assert!(frame.is_some_and(|f| inside(&Body::new(&f), &sheet, margin)));
        }
    }

    #[test]
    fn spacing_is_kept_to_a_millionth() {
        assert!(apart(
            &square(0.0, 0.0, 10.0),
            &square(12.0, 0.0, 10.0),
            2.0
        ));
        assert!(!apart(
            &square(0.0, 0.0, 10.0),
            &square(11.99, 0.0, 10.0),
            2.0
        ));
        assert!(
            !apart(&square(0.0, 0.0, 10.0), &square(4.0, 4.0, 2.0), 2.0),
            "inside, far from every edge"
        );
    }

    #[test]
    fn a_shape_may_fill_a_sheet_without_margin() {
        assert!(inside(
            &square(0.0, 0.0, 10.0),
            &square(0.0, 0.0, 10.0),
            0.0
        ));
        assert!(!inside(
            &square(0.01, 0.0, 10.0),
            &square(0.0, 0.0, 10.0),
            0.0
        ));
        assert!(inside(
            &square(5.0, 5.0, 10.0),
            &square(0.0, 0.0, 20.0),
            5.0
        ));
        assert!(!inside(
            &square(4.9, 5.0, 10.0),
            &square(0.0, 0.0, 20.0),
            5.0
        ));
    }
}
