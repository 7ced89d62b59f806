//! Which teeth a base line carries.
//!
//! In: the layer in the frame of the seam, the base line, its runs in material (between edges, openings and other seams),
//! what is asked. Out: teeth, each with its place and measures.
//!
//! For each run sizes are tried from the largest down. Of one size whole teeth are spread over the run, in the middle of
//! their pitch, so that the ends are plain half pitches; of patterns whose teeth join, a whole half pitch stays flat at
//! either end. Where nothing is asked the pitch is drawn together by up to a fifth so that a run is a whole number of them, unless
//! that makes the smallest teeth too small; knobs keep their size and are drawn apart instead. The row is shifted as a whole, and teeth that still do not fit are
//! shifted alone or left out. A row is worth the share of its teeth that fit, a little more for larger teeth, and half where
//! they are narrower than the trade advises. The best row is taken; where nothing fits the run stays flat.
//!
//! A tooth fits where its true curve keeps `min_web` or more from every edge of the layer (two thicknesses from edges and
//! other seams where that can be kept), `keep_clear` from locating holes and reliefs, and its foot lies in the run. Then
//! the seam meets the same edges as its base line does, and no rule of `beside` can be broken that the base line keeps.
//!
//! A size that is asked is laid wherever it fits, whatever the trade says of it; smaller ones must be strong enough: no neck
//! below `min_web`, no tooth narrower than half of what is advised. No radius is below the least one, even after half the
//! gap has been taken from it, and what is undercut holds although the gap is open.
//!
//! Sources: no tooth nearer to a corner, hole or pocket than 2 × thickness, ends on a plain half pitch: common practice
//! without a published source. Sizes: see `pattern`.

use crate::geometry::bounds::Bounds;
use crate::geometry::distance::{box_box, edge_edge};
use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;
use crate::model::layer::Layer;
use crate::model::seam::Pattern;
use crate::seam::ground::{Ground, Round};
use crate::seam::options::Options;
use crate::seam::pattern::{
    Shape, advised_width, depth_in, joins, least_width, pitch_for, usual_pitch,
};

/// Each size is so much of the one before.
const SMALLER: f64 = 0.88;
/// Least share of the usual pitch to which it is drawn together for a run.
const LEAST_SHARE: f64 = 0.8;
/// Nearer than this share of a step no two teeth of a row come.
const APART: f64 = 0.7;
/// No tooth comes nearer to an edge than so many thicknesses where that can be kept.
pub(crate) const CLEAR_OF_THICKNESS: f64 = 2.0;

/// A tooth of a seam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tooth {
    /// Its middle along the base line.
    pub(crate) u: f64,
    /// Its shape.
    pub(crate) shape: Shape,
    /// Its distance from the nearest edge of the layer; infinite where it keeps two thicknesses.
    pub(crate) near: f64,
}

/// The most that teeth of the layer reach; 0 where its seams are straight.
pub(crate) fn depth_of(layer: &Layer, options: &Options) -> f64 {
    Wanted::new(layer, options).map_or(0.0, |w| w.depth)
}

/// The least length of a run in material that takes a tooth with its distances from the run's ends; `None` where no tooth is
/// strong enough, or the layer's seams are straight.
pub(crate) fn least_run(layer: &Layer, options: &Options) -> Option<f64> {
    let wanted = Wanted::new(layer, options)?;
    let clear = layer.min_web.max(layer.thickness.max(1.0));
    let pitches = std::iter::successors(Some(wanted.pitch), |p| Some(p * SMALLER));
    let smallest = pitches.map_while(|p| wanted.shape(p)).last()?;
    Some(2.0 * (clear + smallest.foot()))
}

/// Pitch and depth of the teeth that a layer is to have where there is room; `None` where its seams are straight.
pub(crate) fn size(layer: &Layer, options: &Options) -> Option<(f64, f64)> {
    Wanted::new(layer, options).map(|w| (w.pitch, w.depth))
}

/// The tooth that a layer is to have where there is room, if it can be made and holds.
pub(crate) fn shape(layer: &Layer, options: &Options) -> Option<Shape> {
    let wanted = Wanted::new(layer, options)?;
    wanted.shape(wanted.pitch)
}

/// The teeth that a layer is to have where there is room.
#[derive(Clone, Copy, Debug)]
struct Wanted {
    pattern: Pattern,
    /// Pitch as asked or by default.
    pitch: f64,
    /// Depth as asked or by default.
    depth: f64,
    /// Whether pitch or depth is asked.
    is_asked: bool,
    /// Whether both are: then they are scaled together.
    is_given: bool,
    /// Least radius: what is asked, after half the gap has been taken from it.
    radius: f64,
    /// Least neck of teeth that are made smaller.
    neck: f64,
    /// Least width of teeth that are made smaller.
    width: f64,
    /// Least width that the trade advises.
    advised: f64,
    gap: f64,
}

impl Wanted {
    /// `None` for layers whose seams are straight.
    fn new(layer: &Layer, options: &Options) -> Option<Self> {
        let pattern = layer.pattern.filter(|p| *p != Pattern::Straight)?;
        let (t, gap) = (layer.thickness, options.limits.gap);
        let radius = options.corner_radius + gap / 2.0;
        let pitch = options.tooth.unwrap_or_else(|| match options.depth {
            Some(depth) => pitch_for(pattern, depth, radius),
            None => usual_pitch(pattern, t, layer.min_web, radius),
        });
        let depth = options
            .depth
            .unwrap_or_else(|| depth_in(pattern, pitch, radius));
        Some(Self {
            pattern,
            pitch,
            depth,
            is_asked: options.tooth.is_some() || options.depth.is_some(),
            is_given: options.tooth.is_some() && options.depth.is_some(),
            radius,
            neck: layer.min_web,
            width: least_width(pattern, t),
            advised: advised_width(pattern, t),
            gap,
        })
    }

    /// The tooth of a pitch. `None` where there is none, where it is not strong enough, or would not hold over the gap.
    fn shape(&self, pitch: f64) -> Option<Shape> {
        let scale = pitch / self.pitch;
        let as_told = self.is_given || scale == 1.0;
        let depth = if as_told {
            self.depth * scale
        } else {
            depth_in(self.pattern, pitch, self.radius)
        };
        let shape = Shape::new(self.pattern, depth, pitch, self.radius)?;
        let undercut = shape.undercut();
        let holds = undercut.is_none_or(|by| by > self.gap);
        let strong =
            shape.width() >= self.width && (undercut.is_none() || shape.neck() >= self.neck);
        (holds && (strong || self.is_asked && scale == 1.0)).then_some(shape)
    }

    /// How many teeth a run takes at a scale, their pitch and the step from one to the next.
    fn divide(&self, length: f64, scale: f64) -> (f64, f64, f64) {
        let pitch = scale * self.pitch;
        let (n, pitch, step) = if self.is_asked {
            ((length / pitch + 1e-9).floor(), pitch, pitch)
        } else if self.pattern == Pattern::Knob {
            let n = (length / pitch).round().max(1.0);
            (n, pitch, length / n)
        } else {
            let whole = (length / pitch).ceil();
            let (whole, pitch) = if length / whole >= LEAST_SHARE * pitch {
                (whole, length / whole)
            } else {
                ((length / pitch).floor(), pitch)
            };
            // Teeth that join leave half a pitch flat at either end.
            let flat = if joins(self.pattern) { 1.0 } else { 0.0 };
            (whole - flat, pitch, pitch)
        };
        (n.max(1.0), pitch, step)
    }

    /// The scale of the largest teeth that a run may take.
    fn greatest_scale(&self, length: f64, clear: f64) -> f64 {
        if !self.is_asked {
            return 1.0;
        }
        let ends = if joins(self.pattern) {
            2.0 * clear
        } else {
            0.0
        };
        ((length - ends) / self.pitch).min(1.0)
    }
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
        let Some(wanted) = Wanted::new(self.layer, self.options) else {
            return Vec::new();
        };
        let t = self.layer.thickness;
        let wide = self.layer.min_web.max(CLEAR_OF_THICKNESS * t);
        let narrow = self.layer.min_web.max(t.max(1.0));
        let mut out = Vec::new();
        for run in runs {
            let mut row = self.row(&wanted, *run, wide);
            if row.is_empty() && narrow < wide {
                row = self.row(&wanted, *run, narrow);
                row.iter_mut().for_each(|tooth| self.measure(tooth, wide));
            }
            out.extend(row);
        }
        out
    }

    /// The best row of teeth of a run that keep `clear` from edges and other seams.
    fn row(&self, wanted: &Wanted, run: (f64, f64), clear: f64) -> Vec<Tooth> {
        let length = run.1 - run.0;
        let mut scale = wanted.greatest_scale(length, clear);
        let mut best: (f64, Vec<Tooth>) = (0.0, Vec::new());
        while scale > 0.0 {
            let (n, pitch, step) = wanted.divide(length, scale);
            // Drawn together teeth may become too small where those of the plain pitch are not.
            let plain = || {
                let pitch = scale * wanted.pitch;
                let n = (length / pitch).floor().max(1.0);
                wanted.shape(pitch).map(|s| (n, pitch, s))
            };
            let drawn = wanted.shape(pitch).map(|s| (n, step, s));
            let Some((n, step, shape)) = drawn.or_else(plain) else {
                break;
            };
            let advised = if shape.width() < wanted.advised {
                0.5
            } else {
                1.0
            };
            let worth = advised * (0.6 + 0.4 * scale);
            if best.0 >= worth {
                break;
            }
            // No more than keep clear of what lies at the run's ends. Where the size is asked that is no loss.
            let room = (length - 2.0 * (clear + shape.foot())) / step + 1e-9;
            let held = n.min(room.floor() + 1.0).max(1.0);
            let row = self.spread(run, shape, held as usize, step, clear);
            let worth = worth * row.len() as f64 / if wanted.is_asked { held } else { n };
            if worth > best.0 {
                best = (worth, row);
            }
            scale *= SMALLER;
        }
        best.1
    }

    /// Teeth of one size at equal steps about the middle of the run, as many as fit.
    fn spread(&self, run: (f64, f64), shape: Shape, n: usize, step: f64, clear: f64) -> Vec<Tooth> {
        let first = (run.0 + run.1) / 2.0 - step * (n as f64 - 1.0) / 2.0;
        let at = |k: usize, shift: f64| first + step * (k as f64 + shift);
        let fits = |u: f64| self.fits(run, u, shape, clear);
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
        // What is left between two teeth is at least as wide as a neck, unless a step leaves less.
        let apart = (APART * step).max(2.0 * shape.half_width() + shape.neck());
        for k in 0..n {
            if best[k].is_none() {
                best[k] = alone(&best, k, &at, apart.min(step), &fits);
            }
        }
        let tooth = |u| Tooth {
            u,
            shape,
            near: f64::INFINITY,
        };
        best.into_iter().flatten().map(tooth).collect()
    }

    /// Whether a tooth may stand at `u`.
    fn fits(&self, run: (f64, f64), u: f64, shape: Shape, clear: f64) -> bool {
        let end = shape.foot() + clear.min(shape.radius());
        if u - end < run.0 || u + end > run.1 {
            return false;
        }
        let (edges, bounds) = self.outline(u, shape);
        self.is_clear(&edges, bounds, clear) && self.is_solid(u, shape, bounds)
    }

    /// The edges of a tooth at `u`, and their box.
    fn outline(&self, u: f64, shape: Shape) -> (Vec<Edge>, Bounds) {
        let edges = shape.edges(Point::new(u, self.v), self.to_plus, SourceId::default());
        let bounds = edges.iter().fold(Bounds::EMPTY, |b, e| b.join(e.bounds()));
        (edges, bounds)
    }

    /// Measures how near a tooth comes to the layer's edges, where that is nearer than `limit`.
    fn measure(&self, tooth: &mut Tooth, limit: f64) {
        let (edges, bounds) = self.outline(tooth.u, tooth.shape);
        let entries = self.ground.index.entries();
        let near = self.ground.index.query(bounds.grown(limit)).into_iter();
        tooth.near = near
            .flat_map(|i| edges.iter().map(move |e| edge_edge(e, &entries[i].edge)))
            .filter(|d| *d < limit)
            .fold(f64::INFINITY, f64::min);
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
    fn is_solid(&self, u: f64, shape: Shape, bounds: Bounds) -> bool {
        let up = if self.to_plus { 1.0 } else { -1.0 };
        let within = |p: Point| shape.contains(p.x - u, up * (p.y - self.v));
        let entries = self.ground.index.entries();
        self.ground
            .index
            .query(bounds)
            .into_iter()
            .all(|i| !within(entries[i].edge.start))
    }
}

/// A place for one tooth of a row, near its own and so far `apart` from the others.
fn alone(
    row: &[Option<f64>],
    k: usize,
    at: &dyn Fn(usize, f64) -> f64,
    apart: f64,
    fits: &dyn Fn(f64) -> bool,
) -> Option<f64> {
    let keeps = |u: f64| {
        let near = |other: &f64| (other - u).abs() < apart - COINCIDENT;
        !row.iter().flatten().any(near)
    };
    (1..=12)
        .flat_map(|i| [f64::from(i) / 32.0, -f64::from(i) / 32.0])
        .map(|shift| at(k, shift))
        .find(|u| keeps(*u) && fits(*u))
}
