//! Which teeth a base line carries.
//!
//! In: the layer in the frame of the seam, the base line, its runs in material (between edges, openings and other seams),
//! what is asked. Out: teeth, each with its place and measures.
//!
//! For each run sizes are tried from the largest down. Of one size whole teeth are spread over the run, in the middle of
//! their pitch, so that the ends are plain half pitches; the row is shifted as a whole, and teeth that still do not fit are
//! shifted alone or left out. A row is worth the share of its teeth that fit, a little more for larger teeth, and half where
//! heads are smaller than the trade advises. The best row is taken; where nothing fits the run stays flat.
//!
//! A tooth fits where its true curve keeps `min_web` or more from every edge of the layer (two thicknesses from edges and
//! other seams where that can be kept), `keep_clear` from locating holes and reliefs, and its foot lies in the run. Then
//! the seam meets the same edges as its base line does, and no rule of `beside` can be broken that the base line keeps.
//!
//! Sources: heads ≥ 4 × thickness and ≥ 10 mm, no tooth nearer to a corner, hole or pocket than 2 × thickness, ends on a
//! plain half pitch: common practice without a published source. The least head, 2 × thickness and 6 mm, is a choice:
//! at neck : head = 0.7 its neck is as wide as 1.4 thicknesses and it still holds 0.9 mm on each side.

use crate::geometry::bounds::Bounds;
use crate::geometry::distance::{box_box, edge_edge};
use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;
use crate::model::layer::Layer;
use crate::model::seam::Pattern;
use crate::seam::ground::{Ground, Round};
use crate::seam::options::Options;
use crate::seam::pattern::knob::{Knob, NECK_TO_HEAD};

/// Depth where none is asked, in mm: heads about 17 wide.
const DEPTH: f64 = 18.0;
/// Depth where none is asked, in thicknesses: heads of four thicknesses and a little.
const DEPTH_OF_THICKNESS: f64 = 4.4;
/// Depth to pitch where one of the two is not asked.
const DEPTH_OF_PITCH: f64 = 0.3;
/// Each size is so much of the one before.
const SMALLER: f64 = 0.88;

/// A tooth of a seam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tooth {
    /// Its middle along the base line.
    pub(crate) u: f64,
    /// Its measures.
    pub(crate) knob: Knob,
}

/// Least head that the trade advises.
pub(crate) fn advised_head(thickness: f64) -> f64 {
    (4.0 * thickness).max(10.0)
}

/// Least head that is laid at all.
pub(crate) fn least_head(thickness: f64) -> f64 {
    (2.0 * thickness).max(6.0)
}

/// The most that teeth of the layer reach; 0 where its seams are straight.
pub(crate) fn depth_of(layer: &Layer, options: &Options) -> f64 {
    match layer.pattern {
        Some(Pattern::Knob) => asked(layer, options).1,
        _ => 0.0,
    }
}

/// Pitch and depth as asked, or by default.
fn asked(layer: &Layer, options: &Options) -> (f64, f64) {
    match (options.tooth, options.depth) {
        (Some(pitch), Some(depth)) => (pitch, depth),
        (Some(pitch), None) => (pitch, pitch * DEPTH_OF_PITCH),
        (None, Some(depth)) => (depth / DEPTH_OF_PITCH, depth),
        (None, None) => {
            let depth = DEPTH.max(DEPTH_OF_THICKNESS * layer.thickness);
            (depth / DEPTH_OF_PITCH, depth)
        }
    }
}

/// Whether a knob drawn in by half the gap still has its fillets, and is wider than the socket's neck.
fn holds(knob: Knob, gap: f64) -> bool {
    (1.0 - NECK_TO_HEAD) * knob.head > gap && knob.fillet > gap
}

/// A base line whose teeth are looked for.
pub(crate) struct Bare<'a> {
    /// The layer.
    pub(crate) layer: &'a Layer,
    /// The layer in the frame of the seam.
    pub(crate) ground: &'a Ground,
    /// The base line.
    pub(crate) v: f64,
    /// Whether teeth point to +v.
    pub(crate) to_plus: bool,
    /// Other seams of the layer, in the same frame, with their boxes.
    pub(crate) others: &'a [(Edge, Bounds)],
    /// What is asked.
    pub(crate) options: &'a Options,
}

impl Bare<'_> {
    /// The teeth of the line's runs, ascending.
    pub(crate) fn teeth(&self, runs: &[(f64, f64)]) -> Vec<Tooth> {
        if self.layer.pattern != Some(Pattern::Knob) {
            return Vec::new();
        }
        let t = self.layer.thickness;
        let wide = self.layer.min_web.max(2.0 * t);
        let narrow = self.layer.min_web.max(t.max(1.0));
        let mut out = Vec::new();
        for run in runs {
            let mut row = self.row(*run, wide);
            if row.is_empty() && narrow < wide {
                row = self.row(*run, narrow);
            }
            out.extend(row);
        }
        out
    }

    /// The best row of teeth of a run that keep `clear` from edges and other seams.
    fn row(&self, run: (f64, f64), clear: f64) -> Vec<Tooth> {
        let length = run.1 - run.0;
        let (pitch, depth) = asked(self.layer, self.options);
        let is_asked = self.options.tooth.is_some() || self.options.depth.is_some();
        let t = self.layer.thickness;
        let mut scale = if is_asked {
            (length / pitch).min(1.0)
        } else {
            1.0
        };
        let mut best: (f64, Vec<Tooth>) = (0.0, Vec::new());
        while let Some(knob) = Knob::new(scale * depth, scale * pitch, self.options.corner_radius) {
            if 2.0 * knob.head < least_head(t) || !holds(knob, self.options.limits.gap) {
                break;
            }
            let advised = if 2.0 * knob.head < advised_head(t) {
                0.5
            } else {
                1.0
            };
            let worth = advised * (0.6 + 0.4 * scale);
            if best.0 >= worth {
                break;
            }
            let n = if is_asked {
                (length / (scale * pitch) + 1e-9).floor()
            } else {
                (length / (scale * pitch)).round()
            }
            .max(1.0);
            let step = if is_asked { scale * pitch } else { length / n };
            let row = self.spread(run, knob, n as usize, step, clear);
            let worth = worth * row.len() as f64 / n;
            if worth > best.0 {
                best = (worth, row);
            }
            scale *= SMALLER;
        }
        best.1
    }

    /// Teeth of one size at equal steps about the middle of the run, as many as fit.
    fn spread(&self, run: (f64, f64), knob: Knob, n: usize, step: f64, clear: f64) -> Vec<Tooth> {
        let first = (run.0 + run.1) / 2.0 - step * (n as f64 - 1.0) / 2.0;
        let at = |k: usize, shift: f64| first + step * (k as f64 + shift);
        let fits = |u: f64| self.fits(run, u, knob, clear);
        let mut best: Vec<Option<f64>> = vec![None; n];
        let count = |row: &[Option<f64>]| row.iter().flatten().count();
        for shift in [0.0, 0.125, -0.125, 0.25, -0.25, 0.375, -0.375, 0.5] {
            let row: Vec<Option<f64>> = (0..n)
                .map(|k| Some(at(k, shift)).filter(|u| fits(*u)))
                .collect();
            if count(&row) > count(&best) {
                best = row;
            }
            if count(&best) == n {
                break;
            }
        }
        for k in 0..n {
            if best[k].is_none() {
                best[k] = self.alone(&best, k, &at, step, &fits);
            }
        }
        best.into_iter()
            .flatten()
            .map(|u| Tooth { u, knob })
            .collect()
    }

    /// A place for one tooth of a row, near its own and not much nearer than a step to its neighbours.
    fn alone(
        &self,
        row: &[Option<f64>],
        k: usize,
        at: &dyn Fn(usize, f64) -> f64,
        step: f64,
        fits: &dyn Fn(f64) -> bool,
    ) -> Option<f64> {
        let apart = |u: f64| row.iter().flatten().all(|o| (o - u).abs() > 0.7 * step);
        (1..=12)
            .flat_map(|i| [f64::from(i) / 32.0, -f64::from(i) / 32.0])
            .map(|shift| at(k, shift))
            .find(|u| apart(*u) && fits(*u))
    }

    /// Whether a tooth may stand at `u`.
    fn fits(&self, run: (f64, f64), u: f64, knob: Knob, clear: f64) -> bool {
        let end = knob.foot() + clear.min(knob.fillet);
        if u - end < run.0 || u + end > run.1 {
            return false;
        }
        let edges = knob.edges(Point::new(u, self.v), self.to_plus, SourceId::default());
        let bounds = edges.iter().fold(Bounds::EMPTY, |b, e| b.join(e.bounds()));
        self.is_clear(&edges, bounds, clear) && self.is_solid(u, knob, bounds)
    }

    /// Whether a tooth's curve keeps clear of other seams, of locating holes and reliefs, and of all edges.
    fn is_clear(&self, edges: &[Edge], bounds: Bounds, clear: f64) -> bool {
        let near = bounds.grown(clear);
        let far = |other: &Edge, b: Bounds| {
            edges.iter().all(|e| {
                box_box(e.bounds(), b) > clear || edge_edge(e, other) >= clear + COINCIDENT
            })
        };
        let keep = self.options.limits.keep_clear;
        let kept = |r: &Round| edges.iter().all(|e| r.distance(e) >= keep + COINCIDENT);
        let entries = self.ground.index.entries();
        let mut others = self.others.iter().filter(|o| o.1.touches(near));
        let mut rounds = self
            .ground
            .rounds
            .iter()
            .filter(|r| r.reach(keep).touches(bounds));
        others.all(|o| far(&o.0, o.1))
            && rounds.all(kept)
            && self
                .ground
                .index
                .query(near)
                .into_iter()
                .all(|i| far(&entries[i].edge, entries[i].bounds))
    }

    /// Whether no opening lies in the tooth. Its curve is clear of all edges, so an opening lies in it as a whole.
    fn is_solid(&self, u: f64, knob: Knob, bounds: Bounds) -> bool {
        let up = if self.to_plus { 1.0 } else { -1.0 };
        let within = |p: Point| {
            let (du, dv) = (p.x - u, up * (p.y - self.v));
            let rise = dv - (knob.depth - knob.head);
            (du * du + rise * rise < knob.head * knob.head)
                || (du.abs() < knob.half_neck && dv > 0.0 && rise < 0.0)
        };
        let entries = self.ground.index.entries();
        self.ground
            .index
            .query(bounds)
            .into_iter()
            .all(|i| !within(entries[i].edge.start))
    }
}
