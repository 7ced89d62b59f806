//! Pairs of edges that plainly neither cross nor touch, told by a few products: of the pairs whose boxes meet in a large drawing
//! they are nearly all, and a close look at each takes many times as long.
//!
//! In: two edges. Out: whether they are known to be sound; where that is not plain, `false`, and a close look decides.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;

/// Whether an edge follows another without turning back, so that they plainly share their vertex and nothing else. Of vectors
/// of lines in opposite directions no product of coordinates is above zero, and one is below: rounding cannot hide that.
pub(super) fn goes_on(a: &Edge, b: &Edge) -> bool {
    if a.end != b.start {
        return false;
    }
    match (a.curve, b.curve) {
        (Curve::Line, Curve::Line) => {
            let is_long = |e: &Edge| e.start != e.end;
            is_long(a) && is_long(b) && (a.end - a.start).dot(b.end - b.start) >= 0.0
        }
        (
            Curve::Line,
            Curve::Arc {
                center,
                radius,
                ccw,
            },
        ) => ends_on([a.start, a.end, b.end], center, radius, ccw),
        (
            Curve::Arc {
                center,
                radius,
                ccw,
            },
            Curve::Line,
        ) => ends_on([b.end, b.start, a.start], center, radius, !ccw),
        _ => false,
    }
}

/// Lines and arcs shorter than this, in mm, and circles that a line leaves again so soon, are looked at closely. At an angle of
/// [`STEEP`] or more, what is within coincidence of both line and circle lies within a tenth of it around where they meet.
const PLAIN: f64 = 1.0e-3;

/// Sine of the least angle between a line and a circle at which they plainly meet in a point.
const STEEP: f64 = 0.05;

/// Whether a line meets a circle at a vertex, and nowhere before, and an arc goes on from there, not turning back. `way` is
/// where the line begins, the vertex, and where the arc ends.
fn ends_on(way: [Point; 3], center: Point, radius: f64, ccw: bool) -> bool {
    let [from, vertex, to] = way;
    let (along, out) = (vertex - from, vertex - center);
    let (inward, length_squared) = (-out.dot(along), along.length_squared());
    let turn = out.cross(along);
    // The line goes on to meet the circle again by 2 · inward / length behind the vertex, or has met it by as much before.
    let apart = if inward > 0.0 {
        2.0 * inward
    } else {
        -2.0 * inward - length_squared
    };
    // The second: where it begins, inside, it is farther from the circle than coincidence.
    apart > 0.0
        && (inward > 0.0 || apart > 4.0 * COINCIDENT * radius)
        && length_squared > PLAIN * PLAIN
        && inward * inward > STEEP * STEEP * length_squared * radius * radius
        && apart * apart > PLAIN * PLAIN * length_squared
        && (if ccw { turn >= 0.0 } else { turn <= 0.0 })
        && !to.is_near(vertex, PLAIN)
}

/// Whether a line has all of a box on one side, farther away than touching. Long lines that run aslant have large boxes
/// with little in them.
pub(super) fn is_aside(edge: &Edge, bounds: Bounds) -> bool {
    if edge.curve != Curve::Line {
        return false;
    }
    let along = edge.end - edge.start;
    let reach = 0.5 * (along.x.abs() * bounds.depth() + along.y.abs() * bounds.width());
    let margin = 4.0 * COINCIDENT * (along.x.abs() + along.y.abs());
    along.cross(bounds.center() - edge.start).abs() > reach + margin
}

/// Whether two arcs lie on circles that do not come as near as touching: beside one another, or one inside of the other.
pub(super) fn are_circles_apart(a: &Edge, b: &Edge) -> bool {
    let (
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
    ) = (a.curve, b.curve)
    else {
        return false;
    };
    // Rounding of large radii is left room too.
    let margin = 4.0 * COINCIDENT + 1e-12 * (r + s);
    let (least, most) = ((r - s).abs() - margin, r + s + margin);
    let between = (d - c).length_squared();
    between > most * most || (least > 0.0 && between < least * least)
}

#[cfg(test)]
mod tests {
    use std::ops::ControlFlow;

    use super::*;
    use crate::geometry::check::check_pair;
    use crate::geometry::edge::SourceId;

    const S: SourceId = SourceId(0);

    #[test]
    fn what_plainly_goes_on_is_what_a_close_look_finds_to_share_a_vertex_only() {
        // A line and an arc that follow one another, at all angles, of many lengths and radii, either way round.
        let turned = |deg: i32, by: f64| {
            let (sin, cos) = crate::geometry::angle::sin_cos(f64::from(deg).to_radians());
            Point::new(by * cos, by * sin)
        };
        let vertex = Point::new(120.0, -35.0);
        let (mut n_plain, mut n_close) = (0, 0);
        for length in [1e-5, 2e-3, 0.3, 5.0, 40.0] {
            for radius in [2e-3, 0.5, 5.0, 20.0, 3e4] {
                for deg in (0..360).step_by(3) {
                    for (sweep, ccw) in [(3, true), (100, true), (359, true), (40, false)] {
                        let line = Edge::line(vertex - Point::new(length, 0.0), vertex, S);
                        let center = vertex - turned(deg, radius);
                        let to =
                            center + turned(if ccw { deg + sweep } else { deg - sweep }, radius);
                        let arc = Edge::arc(vertex, to, center, radius, ccw, S);
                        let back = (arc.reversed(), line.reversed());
                        for (a, b) in [(line, arc), back] {
                            let mut is_sound = true;
                            let _ = check_pair(&a, &b, (true, false), false, &mut |_| {
                                is_sound = false;
                                ControlFlow::Continue(())
                            });
                            n_plain += u32::from(goes_on(&a, &b));
                            n_close += u32::from(is_sound);
                            assert!(is_sound || !goes_on(&a, &b), "{a:?} {b:?}");
                        }
                    }
                }
            }
        }
        assert!(
            n_plain > 5000 && n_close > n_plain,
            "{n_plain} of {n_close}"
        );
    }
}
