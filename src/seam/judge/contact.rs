//! Which pieces of a layer meet, and the faces that they share.
//!
//! In: pieces of one copy of one layer. Out: each pair that shares seam faces, as edges of the first piece. Neighbours have
//! the edges of their seam in common; where a corner of a third piece cuts an edge short on one side only, the common part
//! counts. Faces on several seams of one pair act together.

use crate::geometry::edge::{Curve, Edge};
use crate::geometry::tolerance::COINCIDENT;
use crate::model::cutter::Axis;
use crate::model::piece::Piece;
use crate::model::seam::Seam;
use crate::model::source::is_seam;
use crate::seam::judge::play::is_ahead;

/// How far computed points may lie apart that are one: both may be rounded.
const ONE: f64 = 2.0 * COINCIDENT;

/// Two pieces that meet.
#[derive(Clone, Debug)]
pub(crate) struct Contact {
    /// Places among the pieces given: A in front or to the left, then B.
    pub(crate) pieces: [usize; 2],
    /// The way that most of the faces run.
    pub(crate) runs: Axis,
    /// The faces, with A to their left.
    pub(crate) faces: Vec<Edge>,
}

/// Finds all pairs that meet, by their places. `seams` are those of the layer.
pub(crate) fn contacts(pieces: &[&Piece], seams: &[&Seam]) -> Vec<Contact> {
    let edges: Vec<Vec<Edge>> = pieces
        .iter()
        .map(|p| {
            p.region
                .edges()
                .filter(|e| is_seam(e.source))
                .copied()
                .collect()
        })
        .collect();
    let mut out = Vec::new();
    for a in 0..pieces.len() {
        let bounds = pieces[a].region.bounds().grown(ONE);
        for b in a + 1..pieces.len() {
            if bounds.touches(pieces[b].region.bounds()) {
                out.extend(contact([a, b], &edges[a], &edges[b], seams));
            }
        }
    }
    out
}

fn contact(pieces: [usize; 2], a: &[Edge], b: &[Edge], seams: &[&Seam]) -> Option<Contact> {
    let mut faces: Vec<Edge> = Vec::new();
    for e in a {
        let bounds = e.bounds().grown(ONE);
        let near = b
            .iter()
            .filter(|f| f.source == e.source && bounds.touches(f.bounds()));
        faces.extend(near.filter_map(|f| shared(e, f)));
    }
    if faces.is_empty() {
        return None;
    }
    let along_x: f64 = faces.iter().map(|f| signed_length(f, seams)).sum();
    let runs = if along_x > 0.0 { Axis::X } else { Axis::Y };
    if is_ahead(&faces, runs) {
        return Some(Contact {
            pieces,
            runs,
            faces,
        });
    }
    Some(Contact {
        pieces: [pieces[1], pieces[0]],
        runs,
        faces: faces.iter().rev().map(Edge::reversed).collect(),
    })
}

/// The length of a face, negative where its seam runs along y.
fn signed_length(face: &Edge, seams: &[&Seam]) -> f64 {
    let of = seams
        .iter()
        .find(|s| s.path.edges().first().map(|e| e.source) == Some(face.source));
    match of.map(|s| s.runs) {
        Some(Axis::Y) => -face.length(),
        _ => face.length(),
    }
}

/// The part of an edge that another runs along the other way.
fn shared(e: &Edge, f: &Edge) -> Option<Edge> {
    let f = f.reversed();
    let holds: &dyn Fn(&Edge, &Edge, bool) -> bool = match (e.curve, f.curve) {
        (Curve::Line, Curve::Line) => {
            let (way, unit) = (e.end - e.start, (e.end - e.start).unit());
            let beside = [f.start, f.end].map(|p| unit.cross(p - e.start).abs());
            if way.dot(f.end - f.start) <= 0.0 || beside[0].max(beside[1]) > ONE {
                return None;
            }
            &|of: &Edge, other: &Edge, start: bool| {
                let p = if start { other.start } else { other.end };
                let unit = (of.end - of.start).unit();
                unit.dot(p - of.start) >= -ONE && unit.dot(p - of.end) <= ONE
            }
        }
        (
            Curve::Arc {
                center: c,
                radius: r,
                ccw: x,
            },
            Curve::Arc {
                center: d,
                radius: s,
                ccw: y,
            },
        ) if x == y && c.distance(d) <= ONE && (r - s).abs() <= ONE => {
            &|of: &Edge, other: &Edge, start: bool| {
                let p = if start { other.start } else { other.end };
                let near = p.distance(of.start).min(p.distance(of.end)) <= ONE;
                let Curve::Arc { center, .. } = of.curve else {
                    return false;
                };
                near || of.spans(p - center)
            }
        }
        _ => return None,
    };
    let pick = |start: bool| {
        if holds(&f, e, start) {
            Some(if start { e.start } else { e.end })
        } else if holds(e, &f, start) {
            Some(if start { f.start } else { f.end })
        } else {
            None
        }
    };
    let common = Edge {
        start: pick(true)?,
        end: pick(false)?,
        ..*e
    };
    (common.start.distance(common.end) > ONE).then_some(common)
}
