//! What is to be planned, and the units that the search works on: one for each layer of each copy.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Curve;
use crate::geometry::point::Point;
use crate::geometry::tolerance;
use crate::model::cutter::{Axis, Cutter, Turns};
use crate::model::layer::Layer;
use crate::model::legal::{Interval, LegalSpace};
use crate::model::part::Part;
use crate::model::sheet::Sheet;
use crate::planner::cover::disc::{self, Disc};
use crate::planner::cover::hole;
use crate::planner::cover::void::{self, Corner};
use crate::planner::options::Options;
use crate::seam;

/// Share of its box that an outline has to fill for cells to stand for what they hold: rounded corners do.
const NEARLY: f64 = 0.985;

/// All that the planner is given.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// Layers of one fixture, bottom up.
    pub layers: &'a [Layer],
    /// Each layer's modulus of elasticity in MPa, where it is known.
    pub moduli: &'a [Option<f64>],
    /// How many fixtures.
    pub copies: usize,
    /// Parts.
    pub parts: &'a [Part],
    /// The stock.
    pub sheets: &'a [Sheet],
    /// The machine.
    pub cutter: &'a Cutter,
    /// Limits of the seams.
    pub seams: &'a seam::options::Options,
    /// The search.
    pub search: &'a Options,
}

/// Material (compared without case) and thickness (to 1e-6).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct ClassKey(String, i64);

impl ClassKey {
    pub(crate) fn new(material: &str, thickness: f64) -> Self {
        Self(material.to_lowercase(), (thickness * 1e6).round() as i64)
    }
}

/// One layer of one copy.
#[derive(Clone, Debug)]
pub(crate) struct Unit {
    /// Place in the stack.
    pub(crate) layer: usize,
    /// Copy, from 1.
    pub(crate) copy: usize,
    /// Class of sheets that take it.
    pub(crate) class: usize,
    /// Place in `Prepared::layers`.
    pub(crate) shape: usize,
}

/// What the search needs of a layer; shared by the copies.
#[derive(Clone, Debug)]
pub(crate) struct LayerShape {
    /// Outer rings, flattened.
    pub(crate) outlines: Vec<Vec<Point>>,
    /// The box around all.
    pub(crate) bounds: Bounds,
    /// Whether the outline so nearly fills its box that cells may stand for what they hold.
    pub(crate) fills_box: bool,
    /// Where seams that run along x, and along y, may lie.
    pub(crate) legal: [LegalSpace; 2],
    /// Whether it may be split.
    pub(crate) splits: bool,
    /// How far teeth reach before and behind the base line.
    pub(crate) reach: (f64, f64),
    /// How it may be turned.
    pub(crate) turns: Turns,
    /// Its grain.
    pub(crate) grain: Option<Axis>,
    /// The corners that its box has and it lacks.
    pub(crate) corners: Vec<Corner>,
    /// Its rectangular holes, and rectangles that it lacks at its corners.
    pub(crate) holes: Vec<Bounds>,
    /// Its round holes.
    pub(crate) discs: Vec<Disc>,
}

impl LayerShape {
    /// Where seams may lie that run one way.
    pub(crate) fn legal(&self, runs: Axis) -> &[Interval] {
        &self.legal[runs as usize].intervals
    }

    /// Extent of the box across seams that run one way: (least, greatest) position.
    pub(crate) fn across(&self, runs: Axis) -> (f64, f64) {
        match runs {
            Axis::Y => (self.bounds.min.x, self.bounds.max.x),
            Axis::X => (self.bounds.min.y, self.bounds.max.y),
        }
    }

    pub(crate) fn new(layer: &Layer, index: usize, options: &seam::options::Options) -> Self {
        let outlines: Vec<Vec<Point>> = layer
            .shape
            .iter()
            .map(|r| r.outer().flatten(tolerance::FLAT_PICTURE))
            .collect();
        let bounds = layer
            .shape
            .iter()
            .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
        let filled: f64 = layer.shape.iter().map(|r| r.outer().area_mm2()).sum();
        let corners = void::corners(layer, bounds);
        let fills_box = corners.is_empty() && filled >= NEARLY * bounds.width() * bounds.depth();
        let splits = layer.pattern.is_some();
        let space = |runs: Axis| {
            let span = match runs {
                Axis::X => (bounds.min.x, bounds.max.x),
                Axis::Y => (bounds.min.y, bounds.max.y),
            };
            if splits {
                off_flat_crossings(layer, seam::legal::legal_space(layer, runs, span, options))
            } else {
                LegalSpace {
                    runs,
                    intervals: Vec::new(),
                    given_up: None,
                    reach_before: 0.0,
                    reach_after: 0.0,
                }
            }
        };
        let legal = [space(Axis::X), space(Axis::Y)];
        Self {
            outlines,
            bounds,
            fills_box,
            legal,
            splits,
            reach: seam::reach(layer, index, options),
            turns: layer.turns,
            grain: layer.grain,
            corners,
            holes: hole::holes(layer, bounds),
            discs: disc::discs(layer),
        }
    }
}

/// Takes positions away at which a seam would cross an arc at hardly more than the least angle: in a flattened outline chords
/// tilt by up to 1.2° (FLAT_PLAN on a radius of 45), and whoever measures there would find less. Least angle 14.5°,
/// cos = 0.9681; with the tilt and a rest 17°, cos = 0.9563.
fn off_flat_crossings(layer: &Layer, mut space: LegalSpace) -> LegalSpace {
    const COSINES: [f64; 2] = [0.9563, 0.9690];
    let mut bands: Vec<(f64, f64)> = Vec::new();
    for edge in layer.shape.iter().flat_map(|r| r.edges()) {
        if let Curve::Arc { center, radius, .. } = edge.curve {
            let c = if space.runs == Axis::X {
                center.y
            } else {
                center.x
            };
            bands.push((c + COSINES[0] * radius, c + COSINES[1] * radius));
            bands.push((c - COSINES[1] * radius, c - COSINES[0] * radius));
        }
    }
    bands.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    bands.dedup();
    for (from, to) in bands {
        let mut kept = Vec::with_capacity(space.intervals.len() + 1);
        for i in space.intervals {
            if i.high <= from || i.low >= to {
                kept.push(i);
                continue;
            }
            kept.extend((i.low < from).then_some(Interval {
                low: i.low,
                high: from,
            }));
            kept.extend((i.high > to).then_some(Interval {
                low: to,
                high: i.high,
            }));
        }
        space.intervals = kept;
    }
    space
}

/// The legal position nearest to a wish; positions are whole hundredths of a millimetre.
pub(crate) fn nearest_legal(intervals: &[Interval], wish: f64) -> Option<f64> {
    intervals
        .iter()
        .filter_map(|i| within(i, wish))
        .min_by(|a, b| (a - wish).abs().total_cmp(&(b - wish).abs()))
}

/// The greatest legal position that is no greater than a wish.
pub(crate) fn legal_below(intervals: &[Interval], wish: f64) -> Option<f64> {
    intervals
        .iter()
        .rev()
        .find(|i| i.low <= wish)
        .and_then(|i| within(i, wish))
        .filter(|p| *p <= wish + 1e-9)
}

/// The least legal position that is no less than a wish.
pub(crate) fn legal_above(intervals: &[Interval], wish: f64) -> Option<f64> {
    intervals
        .iter()
        .find(|i| i.high >= wish)
        .and_then(|i| within(i, wish))
        .filter(|p| *p >= wish - 1e-9)
}

fn within(interval: &Interval, wish: f64) -> Option<f64> {
    let (low, high) = (
        (interval.low * 100.0 - 1e-6).ceil(),
        (interval.high * 100.0 + 1e-6).floor(),
    );
    (low <= high).then(|| (wish * 100.0).round().clamp(low, high) / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn legal_places_are_hundredths_within_the_interval() {
        let intervals = [
            Interval {
                low: 10.004,
                high: 20.0,
            },
            Interval {
                low: 30.0,
                high: 31.0,
            },
        ];
        assert_eq!(nearest_legal(&intervals, 3.0), Some(10.01));
        assert_eq!(nearest_legal(&intervals, 26.0), Some(30.0));
        assert_eq!(legal_below(&intervals, 29.0), Some(20.0));
        assert_eq!(legal_below(&intervals, 10.0), None);
        assert_eq!(legal_above(&intervals, 20.5), Some(30.0));
        assert_eq!(legal_above(&intervals, 31.5), None);
    }
}
