//! All seams of one layer: base lines checked, teeth laid, cells closed.
//!
//! 1. Base lines are checked: in order, legal beside every edge and hole.
//! 2. Through seams get their teeth; their runs end where seams across meet them, on either side, and their teeth keep
//!    clear of those seams. Then seams across get theirs, clear of the through seams' curves and of one another.
//! 3. Cells are closed from the bare base lines, run beyond the layer by a margin; what is cut along them is dressed with
//!    the teeth afterwards. Where cells are joined the through seam between them is left out, and their sides are chained to
//!    one ring.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::path::Path;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::{CERTIFIED, COINCIDENT};
use crate::model::cutter::Axis;
use crate::model::layer::Layer;
use crate::model::seam::{Cell, Joined, LayerSplit, Seam};
use crate::model::source::{SourceKind, meaning};
use crate::seam::curve::Curve;
use crate::seam::error::{Line, SeamFault};
use crate::seam::ground::{Ground, turned, turned_edge};
use crate::seam::legal::{fault_of, level};
use crate::seam::options::Options;
use crate::seam::teeth::{Bare, Tooth, depth_of};

/// By how much cells reach beyond the layer's box.
const BEYOND: f64 = 10.0;

/// All seams of a layer.
pub(crate) struct Layout {
    /// The way the through seams run.
    runs: Axis,
    through: Vec<Curve>,
    /// For each strip between through seams, the seams across it.
    across: Vec<Vec<Curve>>,
    /// The layer's box, grown, in the frame of the through seams.
    frame: Bounds,
    /// Cells, those that are one piece together.
    groups: Vec<Vec<Cell>>,
    /// For each through seam, the spans over which it runs.
    kept: Vec<Vec<(f64, f64)>>,
}

/// What curves are laid from.
struct Task<'a> {
    layer: &'a Layer,
    split: &'a LayerSplit,
    options: &'a Options,
    /// Teeth point to +: layers at even places of the stack.
    to_plus: bool,
    /// In the frame of the through seams.
    ground: Ground,
    /// In the frame of the seams across.
    cross: Ground,
}

impl Layout {
    /// Lays the seams of a split.
    pub(crate) fn new(
        layer: &Layer,
        layer_idx: usize,
        split: &LayerSplit,
        options: &Options,
    ) -> Result<Self, SeamFault> {
        if split.across.len() != split.at.len() + 1 {
            return Err(SeamFault::Lists {
                layer: layer.name.clone(),
                strips: split.at.len() + 1,
                lists: split.across.len(),
            });
        }
        if layer.pattern.is_none() {
            return Err(SeamFault::KeptWhole {
                layer: layer.name.clone(),
            });
        }
        let ground = Ground::new(layer, split.runs);
        let cross = Ground::new(layer, split.runs.other());
        let task = Task {
            layer,
            split,
            options,
            to_plus: layer_idx.is_multiple_of(2),
            ground,
            cross,
        };
        let frame = task.ground.bounds.grown(BEYOND);
        let ends = (frame.min.x, frame.max.x);
        task.have_sides(ends)?;
        let kept: Vec<Vec<(f64, f64)>> = (0..split.at.len()).map(|i| split.kept(i, ends)).collect();
        task.check(frame, &kept)?;
        let mut through: Vec<Curve> = split
            .at
            .iter()
            .enumerate()
            .map(|(i, v)| task.bare_through(i, *v, &kept[i]))
            .collect();
        let mut across: Vec<Vec<Curve>> = (0..split.across.len())
            .map(|i| {
                split.across[i]
                    .iter()
                    .map(|v| task.bare_across(*v, strip(&split.at, i, frame)))
                    .collect()
            })
            .collect();
        number(&mut through, &mut across);
        task.lay(&mut through, &mut across);
        Ok(Self {
            runs: split.runs,
            through,
            across,
            frame,
            groups: split.groups(),
            kept,
        })
    }

    /// The seams, in the order of their numbers.
    pub(crate) fn seams(&self, layer: usize, copy: usize) -> Vec<Seam> {
        let curves = self.through.iter().chain(self.across.iter().flatten());
        curves
            .flat_map(|curve| {
                curve.stretches.iter().filter_map(move |s| {
                    Path::new(curve.edges(s.0, s.1)).map(|path| Seam {
                        layer,
                        copy,
                        pattern: curve.pattern_of(*s),
                        runs: curve.runs,
                        path,
                    })
                })
            })
            .collect()
    }

    /// All teeth.
    pub(crate) fn teeth(&self) -> impl Iterator<Item = &Tooth> {
        let curves = self.through.iter().chain(self.across.iter().flatten());
        curves.flat_map(|c| &c.teeth)
    }

    /// What half the gap takes along the base lines, where they bridge openings as well: each stretch grown by `by`.
    pub(crate) fn bands(&self, by: f64) -> Vec<Region> {
        let curves = self.through.iter().chain(self.across.iter().flatten());
        curves
            .flat_map(|curve| {
                curve.stretches.iter().map(move |&(from, to)| {
                    let (low, high) = (
                        Point::new(from - by, curve.v - by),
                        Point::new(to + by, curve.v + by),
                    );
                    let (a, b) = (turned(low, curve.runs), turned(high, curve.runs));
                    let band = Bounds::of_points([a, b]);
                    Region::solid(Ring::rounded_box(band, by, curve.source((from + to) / 2.0)))
                })
            })
            .collect()
    }

    /// A region that was cut along bare base lines, with the teeth of its seam faces. `None` where a ring would not close.
    pub(crate) fn dressed(&self, region: &Region) -> Option<Region> {
        let ring = |ring: &Ring| {
            let edges = self.held(ring);
            let edges = edges.iter().flat_map(|e| match self.curve_of(e.source) {
                Some(curve) => curve.dressed(e),
                None => vec![*e],
            });
            Ring::new(edges.collect())
        };
        let holes: Option<Vec<Ring>> = region.holes().iter().map(ring).collect();
        Some(Region::new(ring(region.outer())?, holes?))
    }

    /// The edges of a ring, the ends of seam faces held to the places that both neighbours know.
    fn held(&self, ring: &Ring) -> Vec<Edge> {
        let mut edges = ring.edges().to_vec();
        let n = edges.len();
        for k in 0..n {
            let before = (k + n - 1) % n;
            let curves = [edges[before].source, edges[k].source].map(|s| self.curve_of(s));
            let vertex = curves
                .into_iter()
                .flatten()
                .fold(edges[k].start, |p, c| c.held(p));
            edges[before].end = vertex;
            edges[k].start = vertex;
        }
        edges
    }

    /// The curve that carries a seam.
    fn curve_of(&self, source: SourceId) -> Option<&Curve> {
        let (kind, seam) = meaning(source);
        let mut curves = self.through.iter().chain(self.across.iter().flatten());
        curves.find(|c| {
            kind == SourceKind::Seam
                && (c.first_seam..c.first_seam + c.stretches.len().max(1)).contains(&seam)
        })
    }

    /// The cells between the bare base lines, as closed rings; together they cover the layer. With each comes its number among
    /// the groups of the split.
    pub(crate) fn cells(&self) -> Vec<(usize, Ring)> {
        let ring = |group: &Vec<Cell>| {
            let sides: Vec<Edge> = group.iter().flat_map(|c| self.sides(*c)).collect();
            Ring::new(if group.len() > 1 {
                chained(sides)?
            } else {
                sides
            })
        };
        self.groups
            .iter()
            .enumerate()
            .filter_map(|(k, group)| Some((k, ring(group)?)))
            .collect()
    }

    /// The sides of one cell: below from left to right, up the right side, back above, down the left side. Where a through
    /// seam is left out there is no side.
    fn sides(&self, (i, j): Cell) -> Vec<Edge> {
        let cross = &self.across[i];
        let (left, right) = (i.checked_sub(1), (i < self.through.len()).then_some(i));
        let (below, above) = (j.checked_sub(1).map(|k| &cross[k]), cross.get(j));
        let v = [
            left.map_or(self.frame.min.y, |k| self.through[k].v),
            right.map_or(self.frame.max.y, |k| self.through[k].v),
        ];
        let u = [
            below.map_or(self.frame.min.x, |c| c.v),
            above.map_or(self.frame.max.x, |c| c.v),
        ];
        let free = |runs: Axis, at: f64, span: [f64; 2]| {
            let edge = Edge {
                source: SourceKind::Outline.id(0),
                ..level(at, (span[0], span[1]))
            };
            vec![turned_edge(&edge, runs)]
        };
        let cross = |curve: Option<&Curve>, at: f64| match curve {
            Some(curve) => curve.bare(v[0], v[1]),
            None => free(self.runs.other(), at, v),
        };
        let through = |seam: Option<usize>, at: f64| match seam {
            Some(k) => self.kept[k]
                .iter()
                .map(|kept| (kept.0.max(u[0]), kept.1.min(u[1])))
                .filter(|(from, to)| to > from)
                .flat_map(|(from, to)| self.through[k].bare(from, to))
                .collect(),
            None => free(self.runs, at, u),
        };
        let back = |edges: Vec<Edge>| edges.into_iter().rev().map(|e| e.reversed());
        let mut edges = cross(below, u[0]);
        edges.extend(through(right, v[1]));
        edges.extend(back(cross(above, u[1])));
        edges.extend(back(through(left, v[0])));
        edges
    }
}

/// The edges in the order of one closed chain; `None` where they are none, or more than one. Ends that meet are equal to the
/// bit: they are positions of the split and corners of the frame.
fn chained(mut edges: Vec<Edge>) -> Option<Vec<Edge>> {
    let mut out = vec![edges.pop()?];
    while !edges.is_empty() {
        let end = out.last()?.end;
        let next = edges.iter().position(|e| e.start == end)?;
        out.push(edges.swap_remove(next));
    }
    (out.last()?.end == out[0].start).then_some(out)
}

/// The strip before through seam i, as a span along the seams across it.
fn strip(at: &[f64], i: usize, frame: Bounds) -> (f64, f64) {
    (
        i.checked_sub(1).map_or(frame.min.y, |k| at[k]),
        at.get(i).copied().unwrap_or(frame.max.y),
    )
}

/// Numbers the seams: through seams first, then strip by strip.
fn number(through: &mut [Curve], across: &mut [Vec<Curve>]) {
    let mut next = 0;
    for curve in through.iter_mut().chain(across.iter_mut().flatten()) {
        curve.first_seam = next;
        next += curve.stretches.len();
    }
}

impl Task<'_> {
    /// The first fault of the base lines.
    fn check(&self, frame: Bounds, kept: &[Vec<(f64, f64)>]) -> Result<(), SeamFault> {
        let (at, runs) = (&self.split.at, self.split.runs);
        in_order(at, self.layer, runs)?;
        for (v, spans) in at.iter().zip(kept) {
            let faults = spans
                .iter()
                .map(|s| fault_of(self.layer, &self.ground, *v, *s, self.options));
            let mut idle = None;
            let mut runs = false;
            for fault in faults {
                match fault {
                    // A seam with a step may pass an opening with one of its parts.
                    Some(SeamFault::Idle { .. }) => idle = fault,
                    Some(fault) => return Err(fault),
                    None => runs = true,
                }
            }
            if let Some(fault) = idle.filter(|_| !runs) {
                return Err(fault);
            }
        }
        for (i, across) in self.split.across.iter().enumerate() {
            in_order(across, self.layer, runs.other())?;
            for v in across {
                match fault_of(
                    self.layer,
                    &self.cross,
                    *v,
                    strip(at, i, frame),
                    self.options,
                ) {
                    // A strip that is empty there has nothing to be cut.
                    None | Some(SeamFault::Idle { .. }) => {}
                    Some(fault) => return Err(fault),
                }
            }
        }
        Ok(())
    }

    /// Whether all cells that are joined have a side in common that makes no neck narrower than `min_web`.
    fn have_sides(&self, ends: (f64, f64)) -> Result<(), SeamFault> {
        let split = self.split;
        let has = |s: &&Joined| {
            let (before, behind) = ((s.seam, s.before), (s.seam + 1, s.behind));
            let there = |(i, j): Cell| split.across.get(i).is_some_and(|a| j <= a.len());
            there(before) && there(behind) && {
                let (a, b) = (split.span_of(before, ends), split.span_of(behind, ends));
                let common = a.1.min(b.1) - a.0.max(b.0);
                common > COINCIDENT && common >= self.layer.min_web - CERTIFIED
            }
        };
        match split.joined.iter().find(|s| !has(s)) {
            None => Ok(()),
            Some(s) => Err(SeamFault::NoSide {
                layer: self.layer.name.clone(),
                seam: s.seam + 1,
                before: s.before + 1,
                behind: s.behind + 1,
                least: self.layer.min_web,
            }),
        }
    }

    /// A curve without teeth over spans that ascend.
    fn bare(&self, runs: Axis, v: f64, spans: &[(f64, f64)], meets: Vec<f64>) -> Curve {
        let ground = if runs == self.split.runs {
            &self.ground
        } else {
            &self.cross
        };
        let cuts = spans
            .iter()
            .flat_map(|s| ground.material(v, *s))
            .flat_map(|m| [m.0, m.1])
            .collect();
        let stretches = spans.iter().flat_map(|s| ground.filled(v, *s)).collect();
        Curve {
            runs,
            v,
            to_plus: self.to_plus,
            stretches,
            first_seam: 0,
            teeth: Vec::new(),
            meets,
            cuts,
        }
    }

    fn bare_through(&self, i: usize, v: f64, kept: &[(f64, f64)]) -> Curve {
        let across = &self.split.across;
        let mut meets: Vec<f64> = across[i].iter().chain(&across[i + 1]).copied().collect();
        meets.sort_by(f64::total_cmp);
        meets.dedup();
        self.bare(self.split.runs, v, kept, meets)
    }

    fn bare_across(&self, v: f64, span: (f64, f64)) -> Curve {
        self.bare(self.split.runs.other(), v, &[span], Vec::new())
    }

    /// Lays the teeth.
    fn lay(&self, through: &mut [Curve], across: &mut [Vec<Curve>]) {
        let lines: Vec<Edge> = across.iter().flatten().flat_map(seam_edges).collect();
        let mut laid: Vec<Edge> = Vec::new();
        for curve in through.iter_mut() {
            let others: Vec<Edge> = lines.iter().chain(&laid).copied().collect();
            self.lay_on(curve, &self.ground, &others);
            laid.extend(seam_edges(curve));
        }
        for strip in across {
            for k in 0..strip.len() {
                let mut others = laid.clone();
                others.extend(
                    strip
                        .iter()
                        .enumerate()
                        .filter(|(o, _)| *o != k)
                        .flat_map(|(_, c)| seam_edges(c)),
                );
                self.lay_on(&mut strip[k], &self.cross, &others);
            }
        }
    }

    /// Lays the teeth of one curve.
    fn lay_on(&self, curve: &mut Curve, ground: &Ground, others: &[Edge]) {
        let band = depth_band(curve, self);
        let others: Vec<(Edge, Bounds)> = others
            .iter()
            .map(|e| turned_edge(e, curve.runs))
            .map(|e| (e, e.bounds()))
            .filter(|(_, b)| b.min.y <= band.1 && b.max.y >= band.0)
            .collect();
        let runs = runs(curve);
        let bare = Bare {
            layer: self.layer,
            ground,
            v: curve.v,
            to_plus: curve.to_plus,
            others: &others,
            options: self.options,
        };
        curve.teeth = bare.teeth(&runs);
    }
}

/// The band across a seam outside which nothing is near its teeth.
fn depth_band(curve: &Curve, task: &Task<'_>) -> (f64, f64) {
    let depth = depth_of(task.layer, task.options);
    let by = depth + task.layer.min_web.max(2.0 * task.layer.thickness) + 1.0;
    (curve.v - by, curve.v + by)
}

/// Stretches of a base line in material between edges, openings and other seams.
fn runs(curve: &Curve) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    for material in curve.cuts.chunks_exact(2) {
        let mut at = material[0];
        for meet in curve
            .meets
            .iter()
            .filter(|m| **m > material[0] && **m < material[1])
        {
            out.push((at, *meet));
            at = *meet;
        }
        out.push((at, material[1]));
    }
    out
}

/// The edges of the seams on a curve, bed frame.
fn seam_edges(curve: &Curve) -> Vec<Edge> {
    curve
        .stretches
        .iter()
        .flat_map(|s| curve.edges(s.0, s.1))
        .collect()
}

/// Whether positions ascend.
fn in_order(at: &[f64], layer: &Layer, runs: Axis) -> Result<(), SeamFault> {
    let bad = at.iter().find(|v| !v.is_finite()).or_else(|| {
        at.windows(2)
            .find(|w| w[1] - w[0] <= COINCIDENT)
            .map(|w| &w[1])
    });
    bad.map_or(Ok(()), |v| {
        Err(SeamFault::Idle {
            line: Line {
                layer: layer.name.clone(),
                runs,
                at: *v,
            },
        })
    })
}
