//! Free corners: what is left around a point between the shapes that touch it.

use std::f64::consts::{PI, TAU};

use crate::geometry::angle;
use crate::geometry::distance::point_edge;
use crate::geometry::point::Point;
use crate::nest::jigsaw::form::{Form, Side};

/// Angles that differ by no more are one, in radians: what a millimetre's hundredth is at ten millimetres' length.
pub(super) const TURN: f64 = 1e-3;
/// The least sine of a gap whose tip is taken from its sides.
const LEAST_SINE: f64 = 0.05;

/// Free room around a point: `span` counter-clockwise from the direction `from`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gap {
    pub(super) at: Point,
    pub(super) from: f64,
    pub(super) span: f64,
    /// What bounds it: at `from`, and at its end, both walked away from the point.
    pub(super) sides: [Side; 2],
}

/// What one shape covers around a point.
#[derive(Clone, Copy)]
struct Sector {
    from: f64,
    span: f64,
    sides: [Side; 2],
    foot: Point,
}

/// What a shape covers around a point no farther than `reach` from its edge; the whole turn where the point lies inside.
fn sector(form: &Form, shift: Point, p: Point, reach: f64) -> Option<Sector> {
    let own = p - shift;
    let corner = form
        .corners
        .iter()
        .map(|c| (c.at.distance(own), c))
        .filter(|(d, _)| *d <= reach)
        .min_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, c)) = corner {
        return Some(Sector {
            from: angle::positive(c.out),
            span: c.angle,
            sides: c.sides,
            foot: c.at + shift,
        });
    }
    let near = form
        .edges
        .iter()
        .filter(|(_, b)| b.grown(reach).holds(own))
        .map(|(e, _)| (point_edge(own, e), e))
        .filter(|((d, _), _)| *d <= reach)
        .min_by(|a, b| a.0.0.total_cmp(&b.0.0));
    if let Some(((_, foot), edge)) = near {
        let side = Side::of_edge(edge);
        return Some(Sector {
            from: angle::positive(edge.tangent_at(foot).angle()),
            span: PI,
            sides: [side, side.back()],
            foot: foot + shift,
        });
    }
    form.holds(own).then_some(Sector {
        from: 0.0,
        span: TAU,
        sides: [Side::of_nothing(); 2],
        foot: p,
    })
}

/// The gaps around a point between shapes, each with its shift; `outside` is what surrounds the sheet.
pub(super) fn gaps_at<'a>(
    p: Point,
    outside: &Form,
    shapes: impl Iterator<Item = (&'a Form, Point)>,
    reach: f64,
) -> Vec<Gap> {
    let mut sectors: Vec<Sector> = Vec::new();
    let zero = Point::new(0.0, 0.0);
    match sector(outside, zero, p, reach) {
        // Where nothing of the edge is near, the point lies in the sheet: rings run the other way around.
        Some(s) if s.span < TAU => sectors.push(s),
        Some(_) => {}
        None => return Vec::new(),
    }
    for (form, shift) in shapes {
        if form.bounds.grown(reach).holds(p - shift) {
            sectors.extend(sector(form, shift, p, reach));
        }
    }
    between(p, sectors, reach)
}

fn between(p: Point, mut sectors: Vec<Sector>, reach: f64) -> Vec<Gap> {
    let mut out = Vec::new();
    if sectors.iter().any(|s| s.span >= TAU) {
        return out;
    }
    sectors.sort_by(|a, b| a.from.total_cmp(&b.from));
    let Some(first) = sectors.first().copied() else {
        return out;
    };
    // What reaches over the full turn covers the beginning.
    let mut last = first;
    let mut end = first.from + first.span;
    for s in &sectors {
        if s.from + s.span - TAU > end {
            end = s.from + s.span - TAU;
            last = *s;
        }
    }
    for k in 1..=sectors.len() {
        let next = sectors[k % sectors.len()];
        let from = if k == sectors.len() {
            next.from + TAU
        } else {
            next.from
        };
        if from - end > TURN {
            let sides = [last.sides[1], next.sides[0]];
            out.push(Gap {
                at: tip(p, (last.foot, end), (next.foot, from), reach),
                from: end,
                span: from - end,
                sides,
            });
        }
        if from + next.span > end {
            end = from + next.span;
            last = next;
        }
    }
    out
}

/// Where the sides of a gap meet, if that is near.
fn tip(p: Point, a: (Point, f64), b: (Point, f64), reach: f64) -> Point {
    let (u, v) = (Point::at_angle(a.1), Point::at_angle(b.1));
    let sine = u.cross(v);
    if sine.abs() < LEAST_SINE {
        return a.0;
    }
    let met = a.0 + u * ((b.0 - a.0).cross(v) / sine);
    if met.distance(p) <= 4.0 * reach {
        met
    } else {
        a.0
    }
}
