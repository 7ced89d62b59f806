//! A layer seen along its seams.
//!
//! In: a layer and the way its seams run. Out: its rings, locating holes and reliefs in a frame in which every base line
//! is level: u (in `Point::x`) runs along the seams, v (in `Point::y`) across them. For seams along x the frame is the
//! bed's; for seams along y the axes change places, which mirrors the layer: arcs turn the other way and rings run the
//! other way round. Nothing here relies on the sense of rings.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;
use crate::geometry::box_tree::BoxTree;
use crate::geometry::distance::{edge_edge, point_edge};
use crate::geometry::edge::{Curve, Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::spatial_index::EdgeIndex;
use crate::geometry::units;
use crate::model::cutter::Axis;
use crate::model::layer::{Hole, Layer};

/// How near a vertex may lie to a base line before the line is looked at a little aside of it. An arc's ends lie on its
/// circle to within 2e-6 mm only, so nearer than that inside and outside cannot be told by counting crossings.
const ASIDE: f64 = 1.0e-5;

/// Edges of a ring up to which all are looked at.
const FEW: usize = 32;

/// A point of the bed in the frame of seams that run this way, or back: the change is its own inverse.
pub(crate) fn turned(p: Point, runs: Axis) -> Point {
    match runs {
        Axis::X => p,
        Axis::Y => Point::new(p.y, p.x),
    }
}

/// An edge in the frame of seams that run this way, or back.
pub(crate) fn turned_edge(edge: &Edge, runs: Axis) -> Edge {
    if runs == Axis::X {
        return *edge;
    }
    let curve = match edge.curve {
        Curve::Line => Curve::Line,
        Curve::Arc {
            center,
            radius,
            ccw,
        } => Curve::Arc {
            center: turned(center, runs),
            radius,
            ccw: !ccw,
        },
    };
    Edge {
        start: turned(edge.start, runs),
        end: turned(edge.end, runs),
        curve,
        source: edge.source,
    }
}

/// A ring of the layer.
#[derive(Clone, Debug)]
pub(crate) struct GroundRing {
    /// Its edges.
    pub(crate) edges: Vec<Edge>,
    /// The box of each edge.
    pub(crate) boxes: Vec<Bounds>,
    /// The box of all.
    pub(crate) bounds: Bounds,
    /// Whether it is an outer ring: material lies inside.
    pub(crate) outer: bool,
    /// The boxes in a tree, where there are more than a few.
    tree: Option<BoxTree>,
    /// Where v is that of an edge's beginning or of the top or bottom of its circle, ascending, with the edge.
    levels: Vec<(f64, u32)>,
}

impl GroundRing {
    fn new(edges: &[Edge], outer: bool, runs: Axis) -> Self {
        let edges: Vec<Edge> = edges.iter().map(|e| turned_edge(e, runs)).collect();
        let boxes: Vec<Bounds> = edges.iter().map(Edge::bounds).collect();
        let bounds = boxes.iter().fold(Bounds::EMPTY, |b, e| b.join(*e));
        let mut levels: Vec<(f64, u32)> = edges
            .iter()
            .zip(0_u32..)
            .flat_map(|(e, k)| {
                let circle = match e.curve {
                    Curve::Line => [None; 2],
                    Curve::Arc { center, radius, .. } => {
                        [Some(center.y - radius), Some(center.y + radius)]
                    }
                };
                let all = [Some(e.start.y), circle[0], circle[1]];
                all.into_iter().flatten().map(move |v| (v, k))
            })
            .collect();
        levels.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            tree: (edges.len() > FEW).then(|| BoxTree::new(&boxes)),
            edges,
            boxes,
            bounds,
            outer,
            levels,
        }
    }

    /// Adds the edges whose boxes answer yes, and some more where there are few; a box that holds others must answer yes
    /// where one of them does.
    pub(crate) fn edges_where(&self, admits: impl Fn(Bounds) -> bool, found: &mut Vec<usize>) {
        match &self.tree {
            None => found.extend(0..self.edges.len()),
            Some(tree) => {
                tree.visit_where::<()>(admits, |k| {
                    found.push(k);
                    ControlFlow::Continue(())
                });
            }
        }
    }

    /// Asks of edges whose boxes answer yes, and of some more where there are few, until one says yes; whether one did.
    pub(crate) fn find_edge(
        &self,
        admits: impl Fn(Bounds) -> bool,
        is_it: &mut dyn FnMut(usize) -> bool,
    ) -> bool {
        match &self.tree {
            None => (0..self.edges.len()).any(is_it),
            Some(tree) => {
                let found = tree.visit_where(admits, |k| {
                    if is_it(k) {
                        ControlFlow::Break(())
                    } else {
                        ControlFlow::Continue(())
                    }
                });
                found.is_some()
            }
        }
    }

    /// Where the level line at v passes through the ring: u and the sine of the angle, ascending, an even number.
    pub(crate) fn cuts(&self, v: f64) -> Vec<Cut> {
        let mut cuts = Vec::new();
        if v <= self.bounds.min.y - ASIDE || v >= self.bounds.max.y + ASIDE {
            return cuts;
        }
        let v = self.aside(v);
        let mut passed = Vec::new();
        self.edges_where(|b| v > b.min.y && v < b.max.y, &mut passed);
        // So that of two places at one u the first edge's comes first.
        passed.sort_unstable();
        for k in passed {
            let b = &self.boxes[k];
            if v > b.min.y && v < b.max.y {
                cut_edge(&self.edges[k], k, v, &mut cuts);
            }
        }
        cuts.sort_by(|a, b| a.u.total_cmp(&b.u));
        // An odd number means that rounding lost one of a pair at a vertex: without a partner the last says nothing.
        if cuts.len() % 2 == 1 {
            cuts.pop();
        }
        cuts
    }

    fn aside(&self, v: f64) -> f64 {
        let near = |v: f64| {
            let from = self.levels.partition_point(|l| l.0 < v - 2.0 * ASIDE);
            let levels = self.levels[from..].iter();
            levels.take_while(|l| l.0 <= v + 2.0 * ASIDE).any(|(_, k)| {
                let e = &self.edges[*k as usize];
                let extreme = match e.curve {
                    Curve::Line => false,
                    Curve::Arc { center, radius, .. } => {
                        ((v - center.y).abs() - radius).abs() < ASIDE
                    }
                };
                extreme || (e.start.y - v).abs() < ASIDE
            })
        };
        let mut moved = v;
        for _ in 0..4 {
            if !near(moved) {
                break;
            }
            moved += 2.5 * ASIDE;
        }
        moved
    }
}

/// Where a level line passes through an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Cut {
    /// Position along the line.
    pub(crate) u: f64,
    /// Sine of the angle between line and edge, not negative.
    pub(crate) sine: f64,
    /// Index of the edge in its ring.
    pub(crate) edge_idx: usize,
}

fn cut_edge(edge: &Edge, edge_idx: usize, v: f64, cuts: &mut Vec<Cut>) {
    let (a, b) = (edge.start, edge.end);
    match edge.curve {
        Curve::Line => {
            if (a.y > v) != (b.y > v) {
                let share = (v - a.y) / (b.y - a.y);
                let sine = ((b.y - a.y) / a.distance(b)).abs();
                cuts.push(Cut {
                    u: a.x + (b.x - a.x) * share,
                    sine,
                    edge_idx,
                });
            }
        }
        Curve::Arc { center, radius, .. } => {
            let dv = v - center.y;
            let half = ((radius - dv) * (radius + dv)).max(0.0).sqrt();
            for du in [-half, half] {
                if edge.spans(Point::new(du, dv)) {
                    cuts.push(Cut {
                        u: center.x + du,
                        sine: half / radius,
                        edge_idx,
                    });
                }
            }
        }
    }
}

/// A locating hole or a relief.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Round {
    core: Edge,
    radius: f64,
    /// Whether it is a locating hole, else a relief.
    pub(crate) locating: bool,
    /// Its middle on the bed.
    pub(crate) center: Point,
}

impl Round {
    fn new(hole: &Hole, locating: bool, runs: Axis) -> Self {
        let along = Point::at_angle(units::radians(hole.slot_deg)) * (hole.slot / 2.0);
        let core = Edge::line(
            hole.center - along,
            hole.center + along,
            SourceId::default(),
        );
        Self {
            core: turned_edge(&core, runs),
            radius: hole.diameter / 2.0,
            locating,
            center: hole.center,
        }
    }

    /// Least distance of an edge from the hole; negative where it lies inside.
    pub(crate) fn distance(&self, edge: &Edge) -> f64 {
        let core = if self.core.start == self.core.end {
            point_edge(self.core.start, edge).0
        } else {
            edge_edge(&self.core, edge)
        };
        core - self.radius
    }

    /// The box of all that lies nearer than `by`.
    pub(crate) fn reach(&self, by: f64) -> Bounds {
        self.core.bounds().grown(self.radius + by)
    }
}

/// A layer in the frame of its seams.
#[derive(Clone, Debug)]
pub(crate) struct Ground {
    /// The way the seams run.
    pub(crate) runs: Axis,
    /// All rings, region by region, the outer one first.
    pub(crate) rings: Vec<GroundRing>,
    /// Locating holes, then reliefs.
    pub(crate) rounds: Vec<Round>,
    /// All edges of all rings; the numbers of rings are those of `rings`.
    pub(crate) index: EdgeIndex,
    /// The box of the layer.
    pub(crate) bounds: Bounds,
    /// The places in `rings` of the outer ones.
    outer_places: Vec<usize>,
    /// Their boxes.
    outlines: BoxTree,
}

impl Ground {
    pub(crate) fn new(layer: &Layer, runs: Axis) -> Self {
        let mut rings = Vec::new();
        for region in &layer.shape {
            rings.push(GroundRing::new(region.outer().edges(), true, runs));
            rings.extend(
                region
                    .holes()
                    .iter()
                    .map(|h| GroundRing::new(h.edges(), false, runs)),
            );
        }
        let rounds = layer
            .locating
            .iter()
            .map(|h| Round::new(h, true, runs))
            .chain(layer.relief.iter().map(|h| Round::new(h, false, runs)))
            .collect();
        let index = EdgeIndex::of_chains(rings.iter().map(|r| r.edges.as_slice()));
        let bounds = rings.iter().fold(Bounds::EMPTY, |b, r| b.join(r.bounds));
        let outer_places: Vec<usize> = (0..rings.len()).filter(|k| rings[*k].outer).collect();
        let boxes: Vec<Bounds> = outer_places.iter().map(|k| rings[*k].bounds).collect();
        Self {
            runs,
            rings,
            rounds,
            index,
            bounds,
            outer_places,
            outlines: BoxTree::new(&boxes),
        }
    }

    /// Stretches of the level line at v that lie within the outer contours, ascending and apart.
    pub(crate) fn filled(&self, v: f64, span: (f64, f64)) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = Vec::new();
        for ring in self.rings.iter().filter(|r| r.outer) {
            out.extend(
                ring.cuts(v)
                    .chunks_exact(2)
                    .map(|c| (c[0].u.max(span.0), c[1].u.min(span.1))),
            );
        }
        out.retain(|s| s.1 - s.0 > ASIDE);
        out.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined: Vec<(f64, f64)> = Vec::new();
        for s in out {
            match joined.last_mut() {
                Some(last) if s.0 <= last.1 => last.1 = last.1.max(s.1),
                _ => joined.push(s),
            }
        }
        joined
    }

    /// Whether `filled` has any stretch.
    pub(crate) fn is_filled(&self, v: f64, span: (f64, f64)) -> bool {
        let line = Bounds::new(Point::new(span.0, v), Point::new(span.1, v)).grown(2.0 * ASIDE);
        let found = self.outlines.visit(line, |k| {
            let cuts = self.rings[self.outer_places[k]].cuts(v);
            let is_long = |c: &[Cut]| c[1].u.min(span.1) - c[0].u.max(span.0) > ASIDE;
            if cuts.chunks_exact(2).any(is_long) {
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        });
        found.is_some()
    }

    /// Stretches of the level line at v that lie in material, ascending and apart.
    pub(crate) fn material(&self, v: f64, span: (f64, f64)) -> Vec<(f64, f64)> {
        let mut all: Vec<f64> = self
            .rings
            .iter()
            .flat_map(|r| r.cuts(v))
            .map(|c| c.u)
            .collect();
        all.sort_by(f64::total_cmp);
        all.chunks_exact(2)
            .map(|c| (c[0].max(span.0), c[1].min(span.1)))
            .filter(|s| s.1 - s.0 > ASIDE)
            .collect()
    }
}
