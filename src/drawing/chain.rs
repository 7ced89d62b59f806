//! Loose ends joined into rings.
//!
//! In: strands, chains of edges with two loose ends each, in the order of the file. Out: rings, the gaps that were closed,
//! or an error for each chain that stays open.
//!
//! Steps:
//! 1. Ends that are equal to the bit, two in one place, are mates.
//! 2. Of the others, pairs no farther apart than [`JOIN`] become mates, the nearest pairs first, ties in the order of the
//!    file.
//! 3. Chains are followed from mate to mate; one that comes back to its beginning is a ring. At each join the two edges
//!    are made to meet ([`join`]).
//!
//! Guarantees: every edge of every strand is in one ring, except lines shorter than coincidence; the same strands give the
//! same rings.

use std::collections::BTreeMap;

use crate::drawing::error::{DrawingError, Spot};
use crate::drawing::faults::Faults;
use crate::drawing::join;
use crate::drawing::told::Axes;
use crate::format::dxf::EntityName;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::{COINCIDENT, GRID};
use crate::model::source;

/// Largest gap that is closed, in mm. Drawings exported with two decimals gape by up to 0.014; 0.1 is still below what a
/// laser cuts away, and a gap that was meant is larger.
pub(super) const JOIN: f64 = 0.1;

/// Width of the squares in which mates are looked for: what lies within reach is in the same or a neighbouring one.
const CELL: f64 = 2.0 * JOIN;

/// Most loose ends in a square of [`CELL`] that have no equal mate. An outline brings a few; thousands are hatching, and
/// would take hours.
const MOST_ENDS: usize = 64;

/// Most gaps that are told one by one.
const MOST_TOLD: usize = 8;

/// A gap that was closed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Gap {
    /// Its width.
    pub(super) width: f64,
    /// Where it was.
    pub(super) at: Point,
}

/// Rings, each with the place of its first strand, and gaps.
pub(super) struct Chained {
    pub(super) rings: Vec<(usize, Ring)>,
    pub(super) gaps: Vec<Gap>,
}

/// Joins strands; `names` gives the entity behind an edge's source, `axes` how places are told.
///
/// # Errors
/// `Open` for each chain that stays open, `Crowded`, `NoArea`.
pub(super) fn chain(
    file: &str,
    axes: Axes,
    strands: &[Vec<Edge>],
    names: &dyn Fn(&Edge) -> EntityName,
) -> Result<Chained, Vec<DrawingError>> {
    let ends = Ends {
        file,
        axes,
        strands,
        names,
    };
    let mut mates = vec![None; 2 * strands.len()];
    ends.mate_equal(&mut mates);
    ends.mate_near(&mut mates).map_err(|error| vec![error])?;
    if mates.contains(&None) {
        return Err(ends.open(&mates));
    }
    let mut chained = Chained {
        rings: Vec::new(),
        gaps: Vec::new(),
    };
    let mut faults = Faults::new(file);
    let mut seen = vec![false; strands.len()];
    for first in 0..strands.len() {
        if !seen[first] {
            let pieces = ends.follow(first, &mates, &mut seen);
            match closed(pieces, &mut chained.gaps) {
                Some(ring) => chained.rings.push((first, ring)),
                None => faults.push(ends.no_area(first)),
            }
        }
    }
    faults.into_result()?;
    Ok(chained)
}

/// The loose ends: 2 · strand for its start, 2 · strand + 1 for its end.
struct Ends<'a> {
    file: &'a str,
    axes: Axes,
    strands: &'a [Vec<Edge>],
    names: &'a dyn Fn(&Edge) -> EntityName,
}

impl Ends<'_> {
    fn edge(&self, end: usize) -> &Edge {
        let edges = &self.strands[end / 2];
        if end.is_multiple_of(2) {
            &edges[0]
        } else {
            &edges[edges.len() - 1]
        }
    }

    fn point(&self, end: usize) -> Point {
        let edge = self.edge(end);
        if end.is_multiple_of(2) {
            edge.start
        } else {
            edge.end
        }
    }

    fn spot(&self, end: usize) -> Spot {
        Spot {
            at: self.axes.told(self.point(end)),
            entity: (self.names)(self.edge(end)),
        }
    }

    fn length(&self, strand: usize) -> f64 {
        self.strands[strand].iter().map(Edge::length).sum()
    }

    fn mate_equal(&self, mates: &mut [Option<usize>]) {
        let mut places: BTreeMap<(u64, u64), Vec<usize>> = BTreeMap::new();
        for end in 0..mates.len() {
            let p = self.point(end);
            places
                .entry((p.x.to_bits(), p.y.to_bits()))
                .or_default()
                .push(end);
        }
        for here in places.values() {
            if let [a, b] = here[..] {
                mates[a] = Some(b);
                mates[b] = Some(a);
            }
        }
    }

    fn mate_near(&self, mates: &mut [Option<usize>]) -> Result<(), DrawingError> {
        let cell = |p: Point| ((p.x / CELL).floor() as i64, (p.y / CELL).floor() as i64);
        let mut cells: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
        for end in (0..mates.len()).filter(|e| mates[*e].is_none()) {
            cells.entry(cell(self.point(end))).or_default().push(end);
        }
        if let Some(here) = cells.values().find(|here| here.len() > MOST_ENDS) {
            return Err(self.crowded(here));
        }
        let mut pairs = Vec::new();
        for (&(x, y), here) in &cells {
            for (dx, dy) in [(0, 0), (1, 0), (-1, 1), (0, 1), (1, 1)] {
                let Some(there) = cells.get(&(x + dx, y + dy)) else {
                    continue;
                };
                for &a in here {
                    let others = there.iter().filter(|b| (dx, dy) != (0, 0) || **b > a);
                    pairs.extend(others.filter_map(|b| self.pair(a, *b)));
                }
            }
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        for (_, a, b) in pairs {
            if mates[a].is_none() && mates[b].is_none() {
                mates[a] = Some(b);
                mates[b] = Some(a);
            }
        }
        Ok(())
    }

    /// Two ends that may be joined, with their distance, the smaller one first.
    fn pair(&self, a: usize, b: usize) -> Option<(f64, usize, usize)> {
        let gap = self.point(a).distance(self.point(b));
        // A strand closes on itself only if it is long enough to go round something.
        let sensible = a / 2 != b / 2 || self.length(a / 2) > 2.0 * JOIN;
        // A gap of 0.1 as the file writes it may come out larger by rounding.
        (gap <= JOIN + GRID && sensible).then_some((gap, a.min(b), a.max(b)))
    }

    fn crowded(&self, here: &[usize]) -> DrawingError {
        let first = self.spot(here[0]);
        DrawingError::Crowded {
            file: self.file.to_owned(),
            count: here.len(),
            within: CELL,
            at: first.at,
            entity: Box::new(first.entity),
        }
    }

    /// An error for each pair of loose ends, paired with the nearest one that is left.
    fn open(&self, mates: &[Option<usize>]) -> Vec<DrawingError> {
        let mut loose: Vec<usize> = (0..mates.len()).filter(|e| mates[*e].is_none()).collect();
        let mut errors = Vec::new();
        let told = (loose.len() / 2).min(MOST_TOLD);
        while errors.len() < told {
            let from = loose.remove(0);
            let opposite = self.other_end(from, mates);
            let is_straight = self.is_straight(from, mates);
            let rank = |to: &usize| {
                let gap = self.point(from).distance(self.point(*to));
                // The other end of the same line is no way to close an outline, unless nothing else is loose.
                (opposite == *to && is_straight, gap)
            };
            let nearest = loose.iter().copied().enumerate().min_by(|(_, a), (_, b)| {
                let (a, b) = (rank(a), rank(b));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            });
            let Some((place, to)) = nearest else {
                break;
            };
            loose.remove(place);
            let last = errors.len() + 1 == told;
            errors.push(DrawingError::Open {
                file: self.file.to_owned(),
                gap: self.point(from).distance(self.point(to)),
                ends: Box::new([self.spot(from), self.spot(to)]),
                more: if last { loose.len() / 2 } else { 0 },
            });
        }
        errors
    }

    /// The loose end at the other side of a chain.
    fn other_end(&self, end: usize, mates: &[Option<usize>]) -> usize {
        let mut at = end ^ 1;
        while let Some(mate) = mates[at] {
            at = mate ^ 1;
        }
        at
    }

    /// Whether a chain is one line.
    fn is_straight(&self, end: usize, mates: &[Option<usize>]) -> bool {
        let edges = &self.strands[end / 2];
        mates[end ^ 1].is_none() && edges.len() == 1 && edges[0].curve == Curve::Line
    }

    /// The strands of a ring in order, each run the right way.
    fn follow(&self, first: usize, mates: &[Option<usize>], seen: &mut [bool]) -> Vec<Vec<Edge>> {
        let mut pieces = Vec::new();
        let mut start = 2 * first;
        while !seen[start / 2] {
            seen[start / 2] = true;
            let edges = &self.strands[start / 2];
            pieces.push(if start.is_multiple_of(2) {
                edges.clone()
            } else {
                edges.iter().rev().map(Edge::reversed).collect()
            });
            match mates[start ^ 1] {
                Some(next) => start = next,
                None => break,
            }
        }
        pieces
    }

    fn no_area(&self, strand: usize) -> DrawingError {
        let spot = self.spot(2 * strand);
        DrawingError::NoArea {
            file: self.file.to_owned(),
            at: spot.at,
            entity: Box::new(spot.entity),
        }
    }
}

/// The ring of pieces that follow one another, made to meet.
fn closed(mut pieces: Vec<Vec<Edge>>, gaps: &mut Vec<Gap>) -> Option<Ring> {
    let n = pieces.len();
    let mut bridges = vec![None; n];
    for (i, bridge) in bridges.iter_mut().enumerate() {
        let next = (i + 1) % n;
        let (last, first) = (*pieces[i].last()?, *pieces[next].first()?);
        let width = last.end.distance(first.start);
        if width > COINCIDENT {
            let at = last.end.toward(first.start, 0.5);
            gaps.push(Gap { width, at });
        }
        let same_edge = n == 1 && pieces[i].len() == 1;
        let joined = if same_edge {
            join::bridged(last, first)
        } else {
            join::joined(last, first)
        };
        *bridge = joined.bridge;
        if !same_edge {
            *pieces[i].last_mut()? = joined.last;
            *pieces[next].first_mut()? = joined.first;
        }
    }
    let mut edges = Vec::new();
    for (piece, bridge) in pieces.into_iter().zip(bridges) {
        edges.extend(piece);
        edges.extend(bridge);
    }
    let mut edges = without_short(edges);
    // Each end takes the place of the next beginning, to the bit.
    let n = edges.len();
    for i in 0..n {
        edges[i].end = edges[(i + 1) % n].start;
    }
    Ring::new(edges)
}

/// Leaves out lines that joining has made shorter than coincidence.
fn without_short(edges: Vec<Edge>) -> Vec<Edge> {
    let short = |e: &Edge| e.curve == Curve::Line && e.start.distance(e.end) <= COINCIDENT;
    edges.into_iter().filter(|e| !short(e)).collect()
}

/// The place in the file of the entity behind an edge.
pub(super) fn entity_of(edge: &Edge) -> usize {
    source::meaning(edge.source).1
}
