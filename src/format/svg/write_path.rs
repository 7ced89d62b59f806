//! Curves as the `d` of an SVG path.
//!
//! In: rings and paths in mm, y up. Out: text in mm, y down. SVG has lines and arcs of its own, so nothing is flattened. An
//! arc that turns through more than a half is written as two, because an arc command whose ends nearly coincide loses its
//! centre to rounding.
//!
//! Source: W3C Recommendation "Scalable Vector Graphics (SVG) 1.1", 8.3 "Path data", from memory.

use std::f64::consts::PI;

use crate::format::number;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::path::Path;
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;

/// Where a drawing's points come to lie: x as it is, y mirrored.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// y in the file is `sum` − y.
    sum: f64,
}

impl Frame {
    /// The frame in which a box keeps its place and its content is turned upside down.
    pub fn mirrored_in(bounds: Bounds) -> Self {
        Self {
            sum: bounds.min.y + bounds.max.y,
        }
    }

    /// A point in the file.
    pub fn apply(self, p: Point) -> Point {
        Point::new(p.x, self.sum - p.y)
    }
}

/// The `d` of a closed contour.
pub fn of_ring(ring: &Ring, frame: Frame) -> String {
    let mut d = of_edges(ring.edges(), frame, true);
    d.push_str(" Z");
    d
}

/// The `d` of an open line.
pub fn of_path(path: &Path, frame: Frame) -> String {
    of_edges(path.edges(), frame, false)
}

fn of_edges(edges: &[Edge], frame: Frame, closed: bool) -> String {
    let mut d = String::new();
    if let Some(first) = edges.first() {
        d.push_str(&format!("M {}", point(first.start, frame)));
    }
    for (i, edge) in edges.iter().enumerate() {
        match edge.curve {
            // Closing draws the last line.
            Curve::Line if closed && i + 1 == edges.len() => {}
            Curve::Line => d.push_str(&format!(" L {}", point(edge.end, frame))),
            Curve::Arc { radius, ccw, .. } => {
                let middle = (edge.sweep().abs() > PI).then(|| edge.at(0.5));
                // Counter-clockwise with y up is the negative sense with y down: sweep flag 0.
                let sweep = u8::from(!ccw);
                let r = number::length(radius);
                for end in middle.into_iter().chain([edge.end]) {
                    d.push_str(&format!(" A {r} {r} 0 0 {sweep} {}", point(end, frame)));
                }
            }
        }
    }
    d
}

fn point(p: Point, frame: Frame) -> String {
    let p = frame.apply(p);
    format!("{} {}", number::length(p.x), number::length(p.y))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;

    #[test]
    fn a_rounded_corner_runs_the_right_way() {
        let s = SourceId(0);
        let (a, b, c) = (
            Point::new(0.0, 0.0),
            Point::new(10.0, 0.0),
            Point::new(0.0, 10.0),
        );
        let quarter = Edge::arc(b, c, a, 10.0, true, s);
        let ring = Ring::new(vec![Edge::line(a, b, s), quarter, Edge::line(c, a, s)]).unwrap();
        let frame = Frame::mirrored_in(Bounds::new(a, Point::new(20.0, 20.0)));
        // By hand: y' = 20 − y; counter-clockwise on paper is the direction of falling angles on a screen.
        assert_eq!(of_ring(&ring, frame), "M 0 20 L 10 20 A 10 10 0 0 0 0 10 Z");
    }

    #[test]
    fn more_than_a_half_turn_is_written_as_two_arcs() {
        let s = SourceId(0);
        let edge = Edge::arc(
            Point::new(1.0, 0.0),
            Point::new(0.0, -1.0),
            Point::new(0.0, 0.0),
            1.0,
            true,
            s,
        );
        let path = Path::new(vec![edge]).unwrap();
        let frame = Frame::mirrored_in(Bounds::new(Point::new(-1.0, -1.0), Point::new(1.0, 1.0)));
        // The middle of three quarters lies at 135°: (−√½, √½).
        assert_eq!(
            of_path(&path, frame),
            "M 1 0 A 1 1 0 0 0 -0.707107 -0.707107 A 1 1 0 0 0 0 1"
        );
    }
}
