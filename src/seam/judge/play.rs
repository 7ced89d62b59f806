//! How far two pieces can move against one another.
//!
//! In: the faces that they share, the gap. Out: the play in every direction, to first order.
//!
//! One piece, A, stands still; the other, B, moves by x along the seam, by w across it (w > 0 opens it) and turns by φ
//! about the middle of the seam. At a point (s, t) of the faces with the normal n from A to B, B comes no nearer than the
//! gap g allows: n · (x − φt, w + φs) ≥ −g. All these half spaces together are a polytope in (x, w, φ) that grows with g,
//! so it is looked at with g = 1; `most` finds how far it reaches: across and along with φ = 0, so that a figure in mm holds
//! all along the seam, and then in φ. Of straight faces both ends are asked.
//!
//! Along an arc about (sᶜ, tᶜ) the left side is n · (x − φtᶜ, w + φsᶜ), because the part along n does not count in a turn:
//! a cosine of the normal's angle. So an arc that is asked every `STEP` of its angle lets at most 1 / cos(STEP / 2) of what
//! is true pass, 0.03 % too much and never too little; its points with normals along and across the seam are asked too.
//!
//! First order: the true figure for a motion of a few gaps differs by about the square of the motion divided by the
//! tightest radius, or the depth of a tooth.

use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::model::cutter::Axis;
use crate::model::judged::Play;
use crate::seam::judge::program::{NO_LIMIT, Vector, most};

/// How far apart the normals of an arc are asked: 1/128 of a turn.
const STEP: f64 = std::f64::consts::TAU / 128.0;

/// A point of the faces, in the frame of the seam: s in `x`, t in `y`.
#[derive(Clone, Copy, Debug)]
struct Touch {
    at: Point,
    normal: Point,
}

/// How far B can move against A, with this finished clearance between the faces that they share.
///
/// `faces` are edges with A to their left and B to their right, as in the rings of A, in any order; `runs` is the way that the seam runs.
/// None at all leave every motion without limit.
pub fn play(faces: &[Edge], runs: Axis, gap: f64) -> Play {
    let (touches, half) = touches(faces, runs);
    let plane = |turning: f64| {
        move |p: &Touch| -> Vector {
            let (n, at) = (p.normal, p.at);
            [-n.x, -n.y, -turning * at.cross(n) / half]
        }
    };
    let free: Vec<Vector> = touches.iter().map(plane(1.0)).collect();
    let unturned: Vec<Vector> = touches.iter().map(plane(0.0)).collect();
    // Both ways: the greater, and no limit where one of them has none.
    let both = |of: &dyn Fn(f64) -> Option<f64>| of(-1.0).zip(of(1.0)).map(|(a, b)| a.max(b) * gap);
    let opening = most(&unturned, [0.0, 1.0, 0.0]).map(|v| v * gap);
    let drawn_off = opening.is_none();
    Play {
        along: both(&|way| straight(&touches, Point::new(way, 0.0))),
        along_most: both(&|way| most(&unturned, [way, 0.0, 0.0])).filter(|_| !drawn_off),
        closing: most(&unturned, [0.0, -1.0, 0.0]).map(|v| v * gap),
        opening,
        turn: both(&|way| most(&free, [0.0, 0.0, way]).map(|v| v / half)).filter(|_| !drawn_off),
    }
}

/// How far B can move straight in a direction of the bed, without a turn; `None` for no limit.
pub fn reach(faces: &[Edge], toward: Point, gap: f64) -> Option<f64> {
    let (touches, _) = touches(faces, Axis::X);
    // The frame of seams along x is the bed's, but for a half turn where A lies behind.
    let way = if is_ahead(faces, Axis::X) {
        toward
    } else {
        -toward
    };
    straight(&touches, way.unit()).map(|v| v * gap)
}

/// How many gaps B can move straight in a direction before a face stops it.
fn straight(touches: &[Touch], toward: Point) -> Option<f64> {
    let against = touches
        .iter()
        .map(|p| -p.normal.dot(toward))
        .fold(0.0, f64::max);
    (against > 1.0 / NO_LIMIT).then(|| 1.0 / against)
}

/// Whether B lies ahead of A across the seam, towards +x or +y: the normals of a chain add up to that of its chord.
pub(crate) fn is_ahead(faces: &[Edge], runs: Axis) -> bool {
    let chord = faces
        .iter()
        .fold(Point::default(), |sum, e| sum + (e.end - e.start));
    let toward = -chord.left();
    match runs {
        Axis::X => toward.y >= 0.0,
        Axis::Y => toward.x >= 0.0,
    }
}

/// The points to ask, about the middle of the seam, and half the seam's extent along itself (1 mm at least).
fn touches(faces: &[Edge], runs: Axis) -> (Vec<Touch>, f64) {
    // Right-handed, t from A to B.
    let level = |p: Point| match (runs, is_ahead(faces, runs)) {
        (Axis::X, true) => p,
        (Axis::X, false) => -p,
        (Axis::Y, true) => Point::new(-p.y, p.x),
        (Axis::Y, false) => Point::new(p.y, -p.x),
    };
    let mut out: Vec<Touch> = Vec::new();
    for edge in faces {
        ask(edge, &mut |at, normal| {
            out.push(Touch {
                at: level(at),
                normal: level(normal),
            });
        });
    }
    let (low, high) = out.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |r, p| {
        (r.0.min(p.at.x), r.1.max(p.at.x))
    });
    let base = out.first().map_or(0.0, |p| p.at.y);
    let middle = Point::new((low + high) / 2.0, base);
    for p in &mut out {
        p.at = p.at - middle;
    }
    (out, ((high - low) / 2.0).max(1.0))
}

/// Tells the points of an edge to ask, with the normal to its right.
fn ask(edge: &Edge, tell: &mut dyn FnMut(Point, Point)) {
    match edge.curve {
        Curve::Line => {
            let normal = -(edge.end - edge.start).unit().left();
            tell(edge.start, normal);
            tell(edge.end, normal);
        }
        Curve::Arc {
            center,
            radius,
            ccw,
        } => {
            let side = if ccw { 1.0 } else { -1.0 };
            let mut at = |out: Point| tell(center + out * radius, out * side);
            let (from, sweep) = ((edge.start - center).angle(), edge.sweep());
            let n = (sweep.abs() / STEP).ceil().max(1.0);
            for k in 0..=n as usize {
                at(Point::at_angle(from + sweep * k as f64 / n));
            }
            for out in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
                let out = Point::new(out.0, out.1);
                if edge.spans(out) {
                    at(out);
                }
            }
        }
    }
}
