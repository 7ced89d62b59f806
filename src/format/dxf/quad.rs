//! The outline of a SOLID or TRACE: a filled area of three or four corners.
//!
//! In: its pairs of group code and number. Out: one closed chain of lines, in the drawing's unit. The corners are 10, 11, 12
//! and 13 with their y and z at 20 and 30 onward, and the outline runs 10, 11, 13, 12: the last two are written the other way
//! round, as corners of a strip. A fourth corner that lacks or repeats the third leaves a triangle.
//!
//! Source: Autodesk's "DXF Reference", SOLID and TRACE, from memory; compared with what ezdxf writes and reads.

use crate::format::dxf::read::{Frame, vertex};
use crate::format::dxf::{Shape, Vertex};
use crate::geometry::tolerance::GRID;

/// The corners in the order of the outline, as what is added to the group codes of the first.
const AROUND: [i32; 4] = [0, 1, 3, 2];

/// The outline; `None` where its corners lie at several heights.
pub(super) fn outline(numbers: &[(i32, f64)], frame: Frame) -> Option<Vec<Vec<Shape>>> {
    let last = |code: i32| {
        let found = numbers.iter().rev().find(|n| n.0 == code);
        found.map(|n| n.1)
    };
    let mut vertices: Vec<Vertex> = Vec::with_capacity(AROUND.len());
    let mut heights = Vec::with_capacity(AROUND.len());
    for corner in AROUND {
        let (Some(x), Some(y)) = (last(10 + corner), last(20 + corner)) else {
            continue;
        };
        heights.push(last(30 + corner).unwrap_or(0.0));
        vertices.push(vertex(frame, x, y, 0.0));
    }
    let first = heights.first().copied().unwrap_or(0.0);
    if heights.iter().any(|z| (z - first).abs() > GRID) {
        return None;
    }
    let polyline = Shape::Polyline {
        vertices,
        closed: true,
    };
    Some(vec![vec![polyline]])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;

    fn corners(numbers: &[(i32, f64)]) -> Vec<Point> {
        let outlines = outline(numbers, Frame::Mirrored).unwrap_or_default();
        match outlines.first().and_then(|curves| curves.first()) {
            Some(Shape::Polyline { vertices, .. }) => vertices.iter().map(|v| v.at).collect(),
            _ => Vec::new(),
        }
    }

    #[test]
    fn the_last_two_corners_change_places_and_one_may_lack() {
        let three = [
            (10, 0.0),
            (20, 0.0),
            (11, 9.0),
            (21, 0.0),
            (12, 0.0),
            (22, 5.0),
        ];
        let four = [&three[..], &[(13, 9.0), (23, 5.0)]].concat();
        let points = |all: &[(f64, f64)]| -> Vec<Point> {
            all.iter().map(|(x, y)| Point::new(*x, *y)).collect()
        };
        // The plane is seen from below: x runs to the left.
        let corner = [(0.0, 0.0), (-9.0, 0.0), (-9.0, 5.0), (0.0, 5.0)];
        assert_eq!(corners(&four), points(&corner));
        assert_eq!(corners(&three), points(&[corner[0], corner[1], corner[3]]));
        let high = [&four[..], &[(33, 1.0)]].concat();
        assert!(outline(&high, Frame::Upright).is_none());
    }
}
