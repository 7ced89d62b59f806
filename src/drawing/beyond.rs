//! What reaches beyond a page or viewport.
//!
//! In: strands in mm, and the viewports that hold what drew them, one inside of the other. Out: how far the strands reach out
//! of any of them that cuts off what lies outside. A viewport may be turned or sheared by a transform: it is a parallelogram,
//! and each of its sides is asked by itself.
//!
//! Nothing is cut off here: a viewer hides what lies outside, but a line is not a picture, and half of an outline is none.

use crate::drawing::strand::Strand;
use crate::format::svg::Window;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;

/// How far strands reach out of a window or one around it; nothing or less where they do not.
pub(super) fn reach(window: &Window, strands: &[Strand]) -> f64 {
    let windows = std::iter::successors(Some(window), |w| w.around.as_deref());
    let each = windows.map(|w| out_of(w.corners, strands));
    each.fold(0.0, f64::max)
}

/// How far strands reach out of a parallelogram.
fn out_of(corners: [Point; 4], strands: &[Strand]) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for (i, corner) in corners.into_iter().enumerate() {
        let along = corners[(i + 1) % 4] - corner;
        let opposite = corners[(i + 2) % 4] - corner;
        // Away from the side that lies opposite, whichever way round the corners are.
        let left = along.left() * (1.0 / along.length());
        let out = if left.dot(opposite) > 0.0 {
            -left
        } else {
            left
        };
        let farthest = strands.iter().map(|s| support(s, out));
        most = most.max(farthest.fold(f64::NEG_INFINITY, f64::max) - corner.dot(out));
    }
    most
}

/// How far a strand reaches in a direction of length 1.
fn support(strand: &Strand, out: Point) -> f64 {
    let edges: &[Edge] = match strand {
        Strand::Ring(ring) => ring.edges(),
        Strand::Open(edges) => edges,
        Strand::Nothing => &[],
    };
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
        let out = |x: f64, y: f64, radius: f64| {
            let ring = Ring::circle(Point::new(x, y), radius, SourceId::default());
            out_of(corners, &[Strand::Ring(ring)])
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
        let windows = Window {
            corners,
            around: None,
        };
        assert_eq!(reach(&windows, &[Strand::Nothing]), 0.0);
    }
}
