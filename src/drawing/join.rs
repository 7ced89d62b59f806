//! How two edges that follow one another are made to meet.
//!
//! In: the last edge of one strand and the first of the next, their ends no farther apart than `chain::JOIN`. Out: both, with
//! one end in common, or a short line between.
//!
//! Arcs keep centre and radius. Where a line is concerned, its end moves. Two arcs meet where they cross or graze; where
//! they do neither, or an arc would be turned inside out, a line bridges the gap.

use crate::drawing::chain::JOIN;
use crate::geometry::crossing::carrier_crossings;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;

/// Two edges that meet.
pub(super) struct Joined {
    pub(super) last: Edge,
    pub(super) first: Edge,
    /// The line between them, where there is one.
    pub(super) bridge: Option<Edge>,
}

/// Makes two edges meet.
pub(super) fn joined(last: Edge, first: Edge) -> Joined {
    let is_line = |e: &Edge| e.curve == Curve::Line;
    let meeting = if last.end == first.start || (is_line(&first) && !is_line(&last)) {
        last.end
    } else if is_line(&last) && !is_line(&first) {
        first.start
    } else if is_line(&last) || last.end.distance(first.start) <= COINCIDENT {
        last.end
    } else {
        match arcs_meet(&last, &first) {
            Some(p) => p,
            None => return bridged(last, first),
        }
    };
    let (moved_last, moved_first) = (
        Edge {
            end: meeting,
            ..last
        },
        Edge {
            start: meeting,
            ..first
        },
    );
    if turned_out(&last, &moved_last) || turned_out(&first, &moved_first) {
        return bridged(last, first);
    }
    Joined {
        last: moved_last,
        first: moved_first,
        bridge: None,
    }
}

/// Leaves two edges as they are and puts a line between.
pub(super) fn bridged(last: Edge, first: Edge) -> Joined {
    let apart = last.end != first.start;
    Joined {
        last,
        first,
        bridge: apart.then(|| Edge::line(last.end, first.start, last.source)),
    }
}

/// Where two arcs meet near their loose ends: where they graze, else the nearest crossing of their circles.
fn arcs_meet(last: &Edge, first: &Edge) -> Option<Point> {
    let middle = last.end.toward(first.start, 0.5);
    let mut found = grazing(last, first);
    if found.is_none_or(|p| p.distance(middle) > JOIN) {
        let crossings = carrier_crossings(last, first);
        found = crossings
            .into_iter()
            .min_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
    }
    found.filter(|p| p.distance(middle) <= JOIN)
}

/// The point on the line of centres where two circles graze, if it lies on both to within coincidence.
fn grazing(a: &Edge, b: &Edge) -> Option<Point> {
    let (
        Curve::Arc {
            center: ca,
            radius: ra,
            ..
        },
        Curve::Arc {
            center: cb,
            radius: rb,
            ..
        },
    ) = (a.curve, b.curve)
    else {
        return None;
    };
    let between = cb - ca;
    if between.length() <= COINCIDENT {
        return None;
    }
    // Of the two points of the first circle on the line of centres, the one nearer to the gap.
    let middle = a.end.toward(b.start, 0.5);
    let way = between.unit() * ra;
    let p = [ca + way, ca - way]
        .into_iter()
        .min_by(|p, q| p.distance(middle).total_cmp(&q.distance(middle)))?;
    ((p.distance(cb) - rb).abs() <= COINCIDENT).then_some(p)
}

/// Whether moving an end has turned an arc inside out: its sweep jumped by about a full turn or changed its sense.
fn turned_out(before: &Edge, after: &Edge) -> bool {
    let (b, a) = (before.sweep(), after.sweep());
    (a - b).abs() > std::f64::consts::PI || (b != 0.0 && a * b <= 0.0)
}
