//! What reaches beyond a page or viewport.
//!
//! In: strands in mm, and the viewports that hold what drew them, one inside of the other. Out: how far the strands reach out
//! of any of them that cuts off what lies outside. A viewport may be turned or sheared by a transform: it is a parallelogram,
//! and each of its sides is asked by itself.
//!
//! Nothing is cut off here: a viewer hides what lies outside, but a line is not a picture, and half of an outline is none.

use crate::drawing::strand::Strand;
use crate::format::svg::Window;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;

/// How far strands reach out of a window or one around it; nothing or less where they do not.
pub(super) fn reach(window: &Window, strands: &[Strand]) -> f64 {
    let around = generous(strands);
    let corners = [
        around.min,
        Point::new(around.max.x, around.min.y),
        around.max,
        Point::new(around.min.x, around.max.y),
    ];
    let mut most = 0.0_f64;
    for window in std::iter::successors(Some(window), |w| w.around.as_deref()) {
        // Nearly all lie inside with all of their box, and nothing else is asked of them.
        if window
            .sides
            .iter()
            .any(|(out, at)| corners.iter().any(|c| c.dot(*out) > *at))
        {
            most = most.max(out_of(window.sides, strands));
        }
    }
    most
}

/// A box around strands, with the whole circles of their arcs.
fn generous(strands: &[Strand]) -> Bounds {
    let mut around = Bounds::EMPTY;
    for strand in strands {
        // Each edge begins where the one before ends.
        around = edges(strand).last().map_or(around, |e| around.with(e.end));
        for edge in edges(strand) {
            around = around.with(edge.start);
            if let Curve::Arc { center, radius, .. } = edge.curve {
                let reach = Point::new(radius, radius);
                around = around.with(center - reach).with(center + reach);
            }
        }
    }
    around
}

fn edges(strand: &Strand) -> &[Edge] {
    match strand {
        Strand::Ring(ring) => ring.edges(),
        Strand::Open(edges) => edges,
        Strand::Nothing => &[],
    }
}

/// How far strands reach out of a parallelogram with these sides.
fn out_of(sides: [(Point, f64); 4], strands: &[Strand]) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for (out, at) in sides {
        let farthest = strands.iter().map(|s| support(s, out));
        most = most.max(farthest.fold(f64::NEG_INFINITY, f64::max) - at);
    }
    most
}

/// How far a strand reaches in a direction of length 1.
fn support(strand: &Strand, out: Point) -> f64 {
    let edges = edges(strand);
    let mut most = edges.last().map_or(f64::NEG_INFINITY, |e| e.end.dot(out));
    for edge in edges {
        most = most.max(edge.start.dot(out));
        if let Curve::Arc { center, radius, .. } = edge.curve
            && edge.spans(out)
        {
            most = most.max(center.dot(out) + radius);
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::ring::Ring;

    #[test]
    fn a_circle_reaches_out_of_each_side_by_its_radius_less_its_distance() {
        // Sheared: the sides y = 0 and y = -20, and two of slope 2 through (0, 0) and (40, 0), whose normals are
        // (2, -1) / √5 and its opposite.
        let points = [(0.0, 0.0), (40.0, 0.0), (30.0, -20.0), (-10.0, -20.0)];
        let corners = points.map(|(x, y)| Point::new(x, y));
        let window = Window::new(corners, None);
        let out = |x: f64, y: f64, radius: f64| {
            let ring = Ring::circle(Point::new(x, y), radius, SourceId::default());
            out_of(window.sides, &[Strand::Ring(ring)])
        };
        let slope = 5.0_f64.sqrt();
        for (x, y, radius, expected) in [
            (15.0, -10.0, 5.0, -5.0),
            (15.0, -4.0, 5.0, 1.0),
            (15.0, -18.0, 5.0, 3.0),
            (35.0, -10.0, 5.0, 5.0),
            (-5.0, -10.0, 5.0, 5.0),
            (40.0, -10.0, 5.0, 5.0 + 10.0 / slope),
        ] {
            let found = out(x, y, radius);
            assert!(
                (found - expected).abs() < 1e-12,
                "{x} {y}: {found}, by hand {expected}"
            );
        }
        assert_eq!(reach(&window, &[Strand::Nothing]), 0.0);
    }
}
