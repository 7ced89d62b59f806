//! From true edges to chords on the integer grid, so that what coincides has equal chords.
//!
//! In: closed chains of edges, each with its side (subject or clip). Out: chords between grid nodes, each with the index
//! of its source edge. Steps:
//! 1. Vertices nearer than a rounding are welded: each takes the place of the first such vertex in order of place.
//! 2. An edge is cut where a foreign vertex lies on it: edges that overlap in part then share their cuts.
//! 3. Arcs between cuts become chords at angles that depend on the circle alone (`Edge::flatten`).
//!
//! The frame may be turned against that of the edges: a second attempt sees other roundings.

use crate::geometry::{
    bounds::Bounds,
    edge::{Curve, Edge},
    point::Point,
    tolerance::GRID,
    transform::Rotation,
};

/// A point of the grid, in steps of `tolerance::GRID`.
pub(super) type Node = (i64, i64);

/// Vertices no farther apart than this are one, and a vertex no farther from an edge lies on it: the most by which two
/// roundings of one point differ (see `tolerance::COINCIDENT`).
const WELD: f64 = 1.5 * GRID;

/// An edge that takes part, and how.
#[derive(Clone, Copy, Debug)]
pub(super) struct Source {
    /// The edge.
    pub edge: Edge,
    /// Whether it belongs to the clip, otherwise to the subject.
    pub clip: bool,
    /// Where edges coincide the lesser rank keeps its id.
    pub rank: u32,
}

/// The grid's frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    rotation: Rotation,
}

impl Frame {
    /// A frame turned by so many degrees.
    pub(super) fn turned(deg: f64) -> Self {
        Self {
            rotation: Rotation::from_degrees(deg),
        }
    }

    /// The node nearest to a point.
    pub(super) fn node(&self, p: Point) -> Node {
        let q = self.rotation.apply(p);
        ((q.x / GRID).round() as i64, (q.y / GRID).round() as i64)
    }

    /// The place of a node.
    pub(super) fn point(&self, node: Node) -> Point {
        self.rotation
            .undo(Point::new(node.0 as f64 * GRID, node.1 as f64 * GRID))
    }
}

/// A chord and the index of its source edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chord {
    /// Where it begins.
    pub a: Node,
    /// Where it ends.
    pub b: Node,
    /// Index of its source.
    pub source: u32,
}

/// The welded vertices.
#[derive(Clone, Debug)]
pub(super) struct Vertices {
    /// Every node on which a vertex fell, ascending, with the index of the vertex that stands for it.
    nodes: Vec<(Node, u32)>,
    /// The vertices that remain, ascending by node.
    kept: Vec<(Node, Point)>,
    /// Indices into `kept` by x and by y.
    by_x: Vec<(f64, u32)>,
    by_y: Vec<(f64, u32)>,
}

impl Vertices {
    fn new(sources: &[Source], frame: &Frame) -> Self {
        let mut all: Vec<(Node, usize)> = sources
            .iter()
            .enumerate()
            .map(|(i, s)| (frame.node(s.edge.start), i))
            .collect();
        all.sort_unstable();
        all.dedup_by_key(|v| v.0);
        let mut kept: Vec<(Node, Point)> = Vec::new();
        let mut nodes = Vec::with_capacity(all.len());
        for (node, i) in all {
            let standing = nearest_kept(&kept, node).unwrap_or_else(|| {
                kept.push((node, sources[i].edge.start));
                kept.len() - 1
            });
            nodes.push((node, standing as u32));
        }
        let sorted = |key: &dyn Fn(Point) -> f64| {
            let mut list: Vec<(f64, u32)> = kept
                .iter()
                .enumerate()
                .map(|(i, k)| (key(k.1), i as u32))
                .collect();
            list.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            list
        };
        let (by_x, by_y) = (sorted(&|p| p.x), sorted(&|p| p.y));
        Self {
            nodes,
            kept,
            by_x,
            by_y,
        }
    }

    /// The index of the vertex that stands for an end of an edge.
    fn standing(&self, node: Node) -> Option<u32> {
        self.nodes
            .binary_search_by_key(&node, |v| v.0)
            .ok()
            .map(|i| self.nodes[i].1)
    }

    /// The vertex at a node, to the bit as it was given.
    pub(super) fn at(&self, node: Node) -> Option<Point> {
        self.kept
            .binary_search_by_key(&node, |v| v.0)
            .ok()
            .map(|i| self.kept[i].1)
    }

    /// The vertices in a box, by the narrower of its two strips.
    fn in_box(&self, bounds: Bounds, mut visit: impl FnMut(u32, Point)) {
        let strip = |list: &[(f64, u32)], low: f64, high: f64| {
            (
                list.partition_point(|v| v.0 < low),
                list.partition_point(|v| v.0 <= high),
            )
        };
        let (x, y) = (
            strip(&self.by_x, bounds.min.x, bounds.max.x),
            strip(&self.by_y, bounds.min.y, bounds.max.y),
        );
        let list = if x.1 - x.0 <= y.1 - y.0 {
            &self.by_x[x.0..x.1]
        } else {
            &self.by_y[y.0..y.1]
        };
        for &(_, i) in list {
            let p = self.kept[i as usize].1;
            if bounds.holds(p) {
                visit(i, p);
            }
        }
    }
}

/// The last kept vertex whose node is no more than 1.5 steps from a node (√2 at most on the grid), nodes ascending.
fn nearest_kept(kept: &[(Node, Point)], node: Node) -> Option<usize> {
    for dx in [0, 1] {
        let first = kept.partition_point(|k| k.0 < (node.0 - dx, node.1 - 1));
        if let Some(k) = kept.get(first)
            && k.0.0 == node.0 - dx
            && k.0.1 <= node.1 + 1
        {
            return Some(first);
        }
    }
    None
}

/// Cuts all edges into chords.
pub(super) fn cut(sources: &[Source], frame: &Frame, flatness: f64) -> (Vec<Chord>, Vertices) {
    let vertices = Vertices::new(sources, frame);
    let mut chords = Vec::with_capacity(sources.len() * 4);
    let mut points = Vec::new();
    for (i, source) in sources.iter().enumerate() {
        points.clear();
        let ends = (
            vertices.standing(frame.node(source.edge.start)),
            vertices.standing(frame.node(source.edge.end)),
        );
        let (Some(from), Some(to)) = ends else {
            continue;
        };
        let last = cut_edge(&source.edge, from, to, &vertices, flatness, &mut points);
        let mut a = vertices.kept[from as usize].0;
        for (k, p) in points.iter().enumerate() {
            // The last point is a kept vertex: its node is known.
            let b = if k + 1 == points.len() {
                last
            } else {
                frame.node(*p)
            };
            if a != b {
                chords.push(Chord {
                    a,
                    b,
                    source: i as u32,
                });
            }
            a = b;
        }
    }
    (chords, vertices)
}

/// Points along an edge, without its start, that end in the vertex `to`; returns that vertex's node.
fn cut_edge(
    edge: &Edge,
    from: u32,
    to: u32,
    vertices: &Vertices,
    flatness: f64,
    points: &mut Vec<Point>,
) -> Node {
    let end = vertices.kept[to as usize];
    let mut between: Vec<(f64, Point)> = Vec::new();
    let length = edge.length();
    vertices.in_box(edge.bounds().grown(WELD), |i, p| {
        if i != from
            && i != to
            && let Some(along) = progress(edge, length, p)
        {
            between.push((along, p));
        }
    });
    between.sort_by(|a, b| a.0.total_cmp(&b.0));
    match edge.curve {
        Curve::Line => points.extend(between.iter().map(|b| b.1)),
        Curve::Arc { .. } => {
            let mut a = (0.0, vertices.kept[from as usize].1);
            if between.is_empty() && edge.sweep().abs() > 6.0 {
                // So that the chain of an arc that nearly closes keeps its way round.
                between.push((0.5 * length, edge.at(0.5)));
            }
            for &b in &between {
                flatten_part(edge, a, b, flatness, points);
                a = b;
            }
            flatten_part(edge, a, (length, end.1), flatness, points);
            return end.0;
        }
    }
    points.push(end.1);
    end.0
}

/// How far along an edge a point lies, if it lies on it clear of both ends.
fn progress(edge: &Edge, length: f64, p: Point) -> Option<f64> {
    let along = match edge.curve {
        Curve::Line => {
            let (unit, to) = ((edge.end - edge.start) * (1.0 / length), p - edge.start);
            if unit.cross(to).abs() > WELD {
                return None;
            }
            unit.dot(to)
        }
        Curve::Arc {
            center,
            radius,
            ccw,
        } => {
            let out = p - center;
            if (out.length() - radius).abs() > WELD || !edge.spans(out) {
                return None;
            }
            Edge::arc(edge.start, p, center, radius, ccw, edge.source).length()
        }
    };
    // Nearer to an end than this, moving the end to its welded place could turn the order round.
    (along > 2.0 * WELD && along < length - 2.0 * WELD).then_some(along)
}

/// The chords of an arc between two points with their places along it.
fn flatten_part(
    edge: &Edge,
    a: (f64, Point),
    b: (f64, Point),
    flatness: f64,
    points: &mut Vec<Point>,
) {
    let part = Edge {
        start: a.1,
        end: b.1,
        ..*edge
    };
    if let Curve::Arc { radius, .. } = edge.curve {
        // Welding may have turned a minute arc round; then its chord stands for it.
        if (part.sweep().abs() * radius - (b.0 - a.0)).abs() <= radius {
            part.flatten(flatness, points);
            return;
        }
    }
    points.push(b.1);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;

    fn source(edge: Edge) -> Source {
        Source {
            edge,
            clip: false,
            rank: 0,
        }
    }

    fn nodes_of(chords: &[Chord], source: u32) -> Vec<(Node, Node)> {
        let mut list: Vec<(Node, Node)> = chords
            .iter()
            .filter(|c| c.source == source)
            .map(|c| (c.a.min(c.b), c.a.max(c.b)))
            .collect();
        list.sort_unstable();
        list
    }

    #[test]
    fn arcs_that_overlap_in_part_share_their_chords() {
        let s = SourceId(0);
        let (center, radius) = (Point::new(3.3, 4.4), 7.7);
        let at = |angle: f64| center + Point::at_angle(angle) * radius;
        let whole = Edge::arc(at(0.1), at(2.9), center, radius, true, s);
        // The same circle the other way round between 1.234 and 2.345; lines close both chains.
        let part = Edge::arc(at(2.345), at(1.234), center, radius, false, s);
        let list = [
            whole,
            Edge::line(whole.end, whole.start, s),
            part,
            Edge::line(part.end, part.start, s),
        ]
        .map(source);
        let (chords, _) = cut(&list, &Frame::turned(0.0), 0.0005);
        let (of_whole, of_part) = (nodes_of(&chords, 0), nodes_of(&chords, 2));
        assert!(
            of_part.len() > 10,
            "the arc is cut finely: {}",
            of_part.len()
        );
        assert!(
            of_part.iter().all(|c| of_whole.contains(c)),
            "every chord of the part is one of the whole"
        );
    }

    #[test]
    fn a_vertex_on_a_slanted_line_cuts_it() {
        let s = SourceId(0);
        let (a, b) = (Point::new(0.1, 0.2), Point::new(70.3, 31.7));
        let t = a.toward(b, 1.0 / 3.0);
        let foot = Point::new(50.0, -20.0);
        let list = [
            Edge::line(a, b, s),
            Edge::line(b, a, s),
            Edge::line(t, foot, s),
            Edge::line(foot, t, s),
        ]
        .map(source);
        let (chords, vertices) = cut(&list, &Frame::turned(0.0), 0.0005);
        assert_eq!(nodes_of(&chords, 0).len(), 2);
        assert_eq!(
            vertices.at(Frame::turned(0.0).node(t)),
            Some(t),
            "to the bit as it was given"
        );
    }

    #[test]
    fn vertices_a_rounding_apart_become_one() {
        let s = SourceId(0);
        let (a, b) = (Point::new(1.0, 1.0), Point::new(1.0 + 1.2e-6, 1.0));
        let (c, d) = (Point::new(5.0, 1.0), Point::new(5.0, 3.0));
        let list = [
            Edge::line(a, c, s),
            Edge::line(c, a, s),
            Edge::line(b, d, s),
            Edge::line(d, b, s),
        ]
        .map(source);
        let (chords, _) = cut(&list, &Frame::turned(0.0), 0.0005);
        assert!(
            chords
                .iter()
                .any(|c| c.source == 0 && c.a == (1_000_000, 1_000_000))
        );
        assert!(
            chords
                .iter()
                .any(|c| c.source == 2 && c.a == (1_000_000, 1_000_000))
        );
    }
}
