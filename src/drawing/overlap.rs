//! Lines and arcs that run along one another.
//!
//! In: strands and rings. Out: strands in which no single line or arc runs along another: what covers one another is one
//! curve from the first end to the last, and what a ring covers is left out.
//!
//! Steps: 1. strands that run along another somewhere fall apart into single edges; 2. of one that lies along an edge of a
//! ring, within its ends, nothing is left; 3. those on one carrier, a line or a circle, that overlap by more than
//! `chain::JOIN` become one; where two arcs go all the way round, the second keeps what the first has not.
//!
//! Edges are on one carrier if neither strays from the other's by more than [`ALIKE`]. Overlaps shorter than a gap that
//! would be closed are left to joining.

use std::f64::consts::TAU;
use std::ops::ControlFlow;

use crate::drawing::chain::JOIN;
use crate::geometry::angle;
use crate::geometry::box_tree::BoxTree;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;

/// By how much, in mm, one of two edges may stray from the other and still run along it: drawings with three decimals stray
/// by half of it.
const ALIKE: f64 = 1.0e-3;

/// Most edges near to one for which overlaps are looked for. An outline has a few; with more it is hatching, which joining
/// refuses, and comparing each with each would take minutes.
const MOST_NEAR: usize = 256;

/// Merges strands; how many were left out or trimmed.
pub(super) fn merge(open: &mut Vec<(usize, Vec<Edge>)>, rings: &[(usize, Ring)]) -> usize {
    if open.is_empty() {
        return 0;
    }
    let touched = Near::new(open, rings).touched(open);
    if touched.iter().all(|t| !t) {
        return 0;
    }
    // Strands of several edges fall apart where one of those runs along another's; joining puts them together again.
    let mut single = Vec::with_capacity(open.len());
    for ((origin, edges), touched) in std::mem::take(open).into_iter().zip(touched) {
        if touched {
            single.extend(edges.into_iter().map(|e| (origin, vec![e])));
        } else {
            single.push((origin, edges));
        }
    }
    let n = Near::new(&single, rings).merged(&mut single);
    *open = single;
    n
}

/// All edges, to be found by place.
struct Near {
    tree: BoxTree,
    edges: Vec<Edge>,
    /// Strand of each edge; those of rings come after the open ones.
    owner: Vec<usize>,
    is_single: Vec<bool>,
}

/// What is to be done where two edges run along one another.
enum Along {
    /// The other covers this one.
    Covered,
    /// Both are this one.
    One(Edge),
    /// Together they are a circle: this much is left of the other.
    Rest(Edge),
}

impl Near {
    fn new(open: &[(usize, Vec<Edge>)], rings: &[(usize, Ring)]) -> Self {
        let chains: Vec<&[Edge]> = open
            .iter()
            .map(|(_, edges)| &edges[..])
            .chain(rings.iter().map(|(_, ring)| ring.edges()))
            .collect();
        let edges: Vec<Edge> = chains.iter().copied().flatten().copied().collect();
        let numbered = chains.iter().enumerate();
        Self {
            owner: numbered
                .clone()
                .flat_map(|(i, edges)| std::iter::repeat_n(i, edges.len()))
                .collect(),
            is_single: numbered
                .map(|(i, edges)| i < open.len() && edges.len() == 1)
                .collect(),
            tree: BoxTree::new(&edges.iter().map(Edge::bounds).collect::<Vec<_>>()),
            edges,
        }
    }

    /// What lies near an edge; nothing where it is too much.
    fn near(&self, edge: &Edge) -> Vec<usize> {
        let mut near = Vec::new();
        let bounds = edge.bounds().grown(ALIKE);
        let too_many = self.tree.visit(bounds, |k| {
            near.push(k);
            if near.len() > MOST_NEAR {
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        });
        if too_many.is_some() {
            return Vec::new();
        }
        near.sort_unstable();
        near
    }

    /// Which open strands run along another strand somewhere.
    fn touched(&self, open: &[(usize, Vec<Edge>)]) -> Vec<bool> {
        let mut touched = vec![false; open.len()];
        for (i, (_, edges)) in open.iter().enumerate() {
            for edge in edges {
                for k in self.near(edge) {
                    let j = self.owner[k];
                    if j != i && along(edge, &self.edges[k], true).is_some() {
                        touched[i] = true;
                        if j < open.len() {
                            touched[j] = true;
                        }
                    }
                }
            }
        }
        touched
    }

    /// Merges strands of single edges.
    fn merged(&self, open: &mut Vec<(usize, Vec<Edge>)>) -> usize {
        let mut gone = vec![false; open.len()];
        let mut changed: Vec<Option<Edge>> = vec![None; open.len()];
        let mut n = 0;
        for i in 0..open.len() {
            if gone[i] || !self.is_single[i] {
                continue;
            }
            let mut edge = changed[i].unwrap_or(open[i].1[0]);
            // Each merge may bring further ones within reach.
            loop {
                let next = self.near(&edge).into_iter().find_map(|k| {
                    let j = self.owner[k];
                    if j == i || gone.get(j) == Some(&true) {
                        return None;
                    }
                    let other = match changed.get(j) {
                        Some(Some(changed)) => *changed,
                        _ => self.edges[k],
                    };
                    along(&edge, &other, self.is_single[j]).map(|found| (j, found))
                });
                match next {
                    Some((j, Along::One(union))) => {
                        gone[j] = true;
                        edge = union;
                        changed[i] = Some(union);
                    }
                    Some((j, Along::Rest(rest))) => changed[j] = Some(rest),
                    Some((_, Along::Covered)) => {
                        gone[i] = true;
                        n += 1;
                        break;
                    }
                    None => break,
                }
                n += 1;
            }
        }
        for (strand, edge) in open.iter_mut().zip(changed) {
            if let Some(edge) = edge {
                strand.1 = vec![edge];
            }
        }
        let mut place = 0;
        open.retain(|_| {
            place += 1;
            !gone[place - 1]
        });
        n
    }
}

/// How an edge runs along another, where it does; only one that `joins` is changed.
fn along(edge: &Edge, other: &Edge, joins: bool) -> Option<Along> {
    match (edge.curve, other.curve) {
        (Curve::Line, Curve::Line) => along_line(edge, other, joins),
        (
            Curve::Arc { center, radius, .. },
            Curve::Arc {
                center: c,
                radius: r,
                ..
            },
        ) if center.distance(c) + (radius - r).abs() <= ALIKE => {
            along_circle(edge, other, center, radius, joins)
        }
        _ => None,
    }
}

fn along_line(edge: &Edge, other: &Edge, joins: bool) -> Option<Along> {
    let size = edge.length();
    let (long, short) = if size >= other.length() {
        (edge, other)
    } else {
        (other, edge)
    };
    let across = (long.end - long.start).unit().left();
    let stray = |p| across.dot(p - long.start).abs();
    if stray(short.start).max(stray(short.end)) > ALIKE {
        return None;
    }
    let direction = (edge.end - edge.start).unit();
    let ends = ends_along(edge, other);
    let at = ends.map(|p| direction.dot(p - edge.start));
    one(edge, ends, at, size, joins)
}

fn along_circle(
    edge: &Edge,
    other: &Edge,
    center: Point,
    radius: f64,
    joins: bool,
) -> Option<Along> {
    let sense = edge.sweep().signum();
    let ends = ends_along(edge, other);
    let (turn, others) = (edge.sweep().abs(), other.sweep().abs());
    let angle_of = |p: Point| (p - center).angle();
    let from = angle::positive(sense * (angle_of(ends[0]) - angle_of(edge.start)));
    // The other begins after this one's beginning, or, a turn earlier, before it.
    let overlap = |from: f64| (from + others).min(turn) - from.max(0.0);
    let (after, before) = (overlap(from), overlap(from - TAU));
    if after.max(before) * radius <= JOIN {
        return None;
    }
    let from = if after >= before { from } else { from - TAU };
    let together = (from + others).max(turn) - from.min(0.0);
    if after.min(before) * radius > JOIN || together * radius > TAU * radius - ALIKE {
        let covers = from * radius <= ALIKE && (from + others - turn) * radius >= -ALIKE;
        if covers {
            return Some(Along::Covered);
        }
        let (start, end) = (edge.end, edge.start);
        return joins.then_some(Along::Rest(Edge {
            start,
            end,
            ..*edge
        }));
    }
    let at = [from * radius, (from + others) * radius];
    one(edge, ends, at, turn * radius, joins)
}

/// Along an edge from 0 to its length, another runs from `at[0]` to `at[1]` between its ends.
fn one(edge: &Edge, ends: [Point; 2], at: [f64; 2], size: f64, joins: bool) -> Option<Along> {
    if at[1].min(size) - at[0].max(0.0) <= JOIN {
        return None;
    }
    if at[0] <= ALIKE && at[1] >= size - ALIKE {
        return Some(Along::Covered);
    }
    if !joins {
        return None;
    }
    let start = if at[0] < 0.0 { ends[0] } else { edge.start };
    let end = if at[1] > size { ends[1] } else { edge.end };
    Some(Along::One(Edge {
        start,
        end,
        ..*edge
    }))
}

/// The ends of the other edge, in the direction of this one.
fn ends_along(edge: &Edge, other: &Edge) -> [Point; 2] {
    let same = match (edge.curve, other.curve) {
        (Curve::Arc { ccw, .. }, Curve::Arc { ccw: o, .. }) => ccw == o,
        _ => (edge.end - edge.start).dot(other.end - other.start) > 0.0,
    };
    if same {
        [other.start, other.end]
    } else {
        [other.end, other.start]
    }
}
