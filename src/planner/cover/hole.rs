//! Large rectangular holes of layers, and sheets that lack material there.
//!
//! In: a layer with a rectangular hole, or a rectangle cut out of its corner; what sheets offer. Out: seats whose room is larger
//! than the sheet where the layer has no material, or on sheets with a rectangle missing that comes to lie in the hole; each
//! with what the positions of the seams must then keep.
//!
//! ```text
//!    ┌───────┬──────────┐         ┌────────┐        ┌───────────────┐
//!    │ piece │   hole   │         │  piece └──┐     │     piece     │
//!    │       │      ┌ ─ ┤         │           │     │   ┌───────┐   │
//!    └───────┴──────────┘         └───────────┘     └───┘ missing └──┘
//!      cell ends in the hole        a corner           a side
//! ```
//!
//! Left a cell lies within the hole's extent along one axis and ends in it along the other: the piece ends where the hole
//! begins, so any such cell is filled by a sheet that reaches from its far side to the hole. In the other two the rectangle that
//! the sheet lacks must lie in the hole, or outside the cell; where the sheet then lies is settled with the positions. All that
//! is asked are limits for one side of a cell each.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::offset;
use crate::geometry::point::Point;
use crate::model::cutter::{Axis, Turns};
use crate::model::layer::Layer;
use crate::model::sheet::Sheet;
use crate::planner::cover::anchor::Beside;
use crate::planner::cover::place::Place;
use crate::planner::cover::seat::{Give, Kept, Offer, Seat};
use crate::planner::cover::void::Keep;
use crate::planner::packing::{BoxItem, may_turn};
use crate::planner::prepared::box_turns;
use crate::planner::task::LayerShape;

/// Least extents of a hole that counts, in mm; smaller ones hardly matter.
const LEAST_HOLE: f64 = 20.0;
/// Least extents of what a sheet lacks, in mm: a hole may reach into a piece by less than it is wide.
const LEAST_GAP: f64 = 4.0;
/// Roundings of drawings, in mm.
const NEAR: f64 = 1e-6;

/// A stretch along each axis.
type Box2 = [(f64, f64); 2];

/// How a sheet that lacks a rectangle lies on a layer with a hole: both in the layer's frame, along x and y.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fit {
    hole: Box2,
    /// What is missing, from the low corner of the box around the sheet.
    gap: Box2,
    /// Extents of that box.
    size: [f64; 2],
    quarters: usize,
}

/// The rectangular holes of a layer, and what is cut out of its corners.
pub(crate) fn holes(layer: &Layer, around: Bounds) -> Vec<Bounds> {
    let [region] = layer.shape.as_slice() else {
        return Vec::new();
    };
    let wide = |b: &Bounds| b.width().min(b.depth()) >= LEAST_HOLE;
    let boxes = region.holes().iter().filter_map(|ring| {
        let bounds = ring.bounds();
        let on = |e: &Edge| e.curve == Curve::Line && lies_on(e, bounds);
        ring.edges().iter().all(on).then_some(bounds)
    });
    let cut = cut_corners(region.outer().edges(), around);
    boxes.chain(cut).filter(wide).collect()
}

/// Whether an edge lies on a side of a box.
fn lies_on(edge: &Edge, bounds: Bounds) -> bool {
    let near = |a: f64, b: f64, at: f64| (a - at).abs() < NEAR && (b - at).abs() < NEAR;
    let (a, b) = (edge.start, edge.end);
    near(a.x, b.x, bounds.min.x)
        || near(a.x, b.x, bounds.max.x)
        || near(a.y, b.y, bounds.min.y)
        || near(a.y, b.y, bounds.max.y)
}

/// Rectangles that an outline lacks at the corners of the box around it.
fn cut_corners(edges: &[Edge], around: Bounds) -> Vec<Bounds> {
    let ends = |p: Point| {
        let near = |a: f64, b: f64| (a - b).abs() < NEAR;
        let x = [around.min.x, around.max.x]
            .into_iter()
            .find(|v| near(p.x, *v));
        let y = [around.min.y, around.max.y]
            .into_iter()
            .find(|v| near(p.y, *v));
        (x, y)
    };
    let straight = |e: &Edge| {
        let way = e.end - e.start;
        e.curve == Curve::Line && way.x.abs().min(way.y.abs()) < NEAR && !lies_on(e, around)
    };
    let next = edges.iter().cycle().skip(1);
    edges
        .iter()
        .zip(next)
        .filter(|(a, b)| straight(a) && straight(b))
        .filter_map(|(a, b)| {
            let corner = match (ends(a.start), ends(b.end)) {
                ((Some(x), None), (None, Some(y))) | ((None, Some(y)), (Some(x), None)) => {
                    Point::new(x, y)
                }
                _ => return None,
            };
            Some(Bounds::of_points([a.end, corner]))
        })
        .collect()
}

/// The box around what a sheet offers less the margin, and the rectangle that it lacks, where that is all that it lacks.
pub(crate) fn gapped(sheet: &Sheet, edge_margin: f64) -> Option<(Bounds, Bounds)> {
    if sheet.region.iter().flat_map(|r| r.edges()).count() < 6 {
        return None;
    }
    let inner = offset::offset(&sheet.region, -edge_margin).ok()?;
    let [region] = inner.as_slice() else {
        return None;
    };
    let around = region.bounds();
    // Corners that point in are round after the offset: what lies between their ends counts as missing.
    let inside: Vec<&Edge> = region.edges().filter(|e| !lies_on(e, around)).collect();
    let mut gap = Bounds::EMPTY;
    for edge in &inside {
        gap = gap.with(edge.start).with(edge.end);
    }
    let parallel = |e: &Edge| {
        let way = e.end - e.start;
        e.curve != Curve::Line || way.x.abs().min(way.y.abs()) < NEAR && lies_on(e, gap)
    };
    let lines = inside.iter().filter(|e| e.curve == Curve::Line).count();
    let around_hole =
        region.holes().is_empty() && lines > 1 && inside.iter().copied().all(parallel);
    // A rectangle in the midst would part the sheet.
    let open = [
        (gap.min.x - around.min.x, around.max.x - gap.max.x),
        (gap.min.y - around.min.y, around.max.y - gap.max.y),
    ];
    let touches = open
        .iter()
        .map(|o| usize::from(o.0 < NEAR) + usize::from(o.1 < NEAR));
    let once = touches.clone().all(|n| n < 2) && touches.sum::<usize>() > 0;
    let lacks = around.width() * around.depth() - region.area_mm2();
    let rounded = edge_margin * edge_margin;
    let same =
        lacks <= gap.width() * gap.depth() + NEAR && lacks + rounded >= gap.width() * gap.depth();
    (around_hole && once && same && gap.width().min(gap.depth()) >= LEAST_GAP)
        .then_some((around, gap))
}

/// The seats of a layer of a class beside its holes.
pub(super) fn seats(
    offer: &mut Offer,
    class: usize,
    shape: &LayerShape,
    runs: Axis,
) -> Vec<Beside> {
    let mut out = Vec::new();
    for hole in &shape.holes {
        let hole = [(hole.min.x, hole.max.x), (hole.min.y, hole.max.y)];
        for k in 0..offer.places.len() {
            let place = offer.places[k];
            if offer.kinds[place.kind].class != class || place.notch.is_some() {
                continue;
            }
            if let Some(gap) = place.gap {
                around_gap(offer, (k, &gap), hole, shape, runs, &mut out);
            } else if place.parts == 1 && place.lacks.is_none() {
                ending(offer, k, hole, shape, runs, &mut out);
            }
        }
    }
    out
}

/// Whether a piece of a layer may lie on a sheet turned by quarters.
fn may_lie(offer: &Offer, place: &Place, shape: &LayerShape, quarters: usize) -> bool {
    let item = BoxItem {
        size: [0.0, 0.0],
        turns: box_turns(shape.turns),
        grain: shape.grain,
    };
    let half = quarters >= 2 && shape.turns == Turns::None;
    !half && may_turn(&item, offer.kinds[place.kind].grain, quarters % 2 == 1)
}

/// Limits of one side of a cell, and what they ask.
struct Limits {
    keeps: Vec<Keep>,
    /// Which axis of the layer, x (0) or y (1), lies across the through seams.
    across: usize,
}

impl Limits {
    fn new(runs: Axis) -> Self {
        Self {
            keeps: Vec::new(),
            across: usize::from(runs == Axis::X),
        }
    }

    /// A side of the cell lies at or before a position.
    fn at_most(&mut self, axis: usize, high: bool, limit: f64) {
        self.add(axis, high, 1.0, limit);
    }

    /// A side of the cell lies at or behind a position.
    fn at_least(&mut self, axis: usize, high: bool, limit: f64) {
        self.add(axis, high, -1.0, -limit);
    }

    fn add(&mut self, axis: usize, high: bool, by: f64, limit: f64) {
        let along = usize::from(axis != self.across);
        let mut keep = Keep {
            high: [high; 2],
            by: [0.0; 2],
            limit,
        };
        keep.by[along] = by;
        self.keeps.push(keep);
    }

    /// All that was asked, and how a sheet lies in the hole.
    fn kept(self, fit: Option<Fit>) -> Kept {
        Kept {
            keeps: self.keeps,
            inside: Vec::new(),
            fit,
        }
    }

    /// What is told along x and y, across the through seams and along them.
    fn seen<T: Copy>(&self, of: [T; 2]) -> [T; 2] {
        [of[self.across], of[1 - self.across]]
    }
}

/// The seats of pieces that end at the hole, on a sheet without anything missing.
fn ending(
    offer: &mut Offer,
    k: usize,
    hole: Box2,
    shape: &LayerShape,
    runs: Axis,
    out: &mut Vec<Beside>,
) {
    let place = offer.places[k];
    for turned in [false, true] {
        if !may_lie(offer, &place, shape, usize::from(turned)) {
            continue;
        }
        let mut size = [place.window.width(), place.window.depth()];
        if turned {
            size.reverse();
        }
        for axis in 0..2 {
            let other = 1 - axis;
            for high in [false, true] {
                let mut limits = Limits::new(runs);
                limits.at_least(other, false, hole[other].0);
                limits.at_most(other, true, hole[other].1);
                if high {
                    limits.at_most(axis, true, hole[axis].1);
                    limits.at_least(axis, true, hole[axis].0);
                    limits.at_least(axis, false, hole[axis].0 - size[axis]);
                } else {
                    limits.at_least(axis, false, hole[axis].0);
                    limits.at_most(axis, false, hole[axis].1);
                    limits.at_most(axis, true, hole[axis].1 + size[axis]);
                }
                let mut rooms = size;
                rooms[axis] += hole[axis].1 - hole[axis].0;
                rooms[other] = rooms[other].min(hole[other].1 - hole[other].0);
                let rooms = limits.seen(rooms);
                let ends = Some((usize::from(axis != limits.across), high));
                let mut seat = seat(k, rooms, offer.keep(limits.kept(None)));
                seat.turned = turned;
                out.push(Beside { seat, ends });
            }
        }
    }
}

/// The seats of a sheet that lacks a rectangle, each way that this may lie in the hole.
fn around_gap(
    offer: &mut Offer,
    (k, gap): (usize, &Bounds),
    hole: Box2,
    shape: &LayerShape,
    runs: Axis,
    out: &mut Vec<Beside>,
) {
    let place = offer.places[k];
    let corner = place.window.min;
    for quarters in 0..4 {
        if !may_lie(offer, &place, shape, quarters) {
            continue;
        }
        let mut size = [place.window.width(), place.window.depth()];
        let mut gap: Box2 = [
            (gap.min.x - corner.x, gap.max.x - corner.x),
            (gap.min.y - corner.y, gap.max.y - corner.y),
        ];
        // From the sheet back to the layer: (x, y) → (y, −x) for each quarter.
        for _ in 0..quarters {
            gap = [gap[1], (size[0] - gap[0].1, size[0] - gap[0].0)];
            size.reverse();
        }
        let fit = Fit {
            hole,
            gap,
            size,
            quarters,
        };
        let mut limits = Limits::new(runs);
        if !(0..2).all(|axis| fit.ask(axis, &mut limits)) {
            continue;
        }
        let rooms = limits.seen(size);
        let mut seat = seat(k, rooms, offer.keep(limits.kept(Some(fit))));
        (seat.turned, seat.half) = (quarters % 2 == 1, quarters >= 2);
        out.push(Beside { seat, ends: None });
    }
}

fn seat(place: usize, rooms: [f64; 2], kept: usize) -> Seat {
    Seat {
        place,
        turned: false,
        half: false,
        across: rooms[0],
        along: rooms[1],
        give: Give::None,
        bound: Some((kept, rooms)),
    }
}

impl Fit {
    /// Where the low side of the box around the sheet may lie, that the gap keeps within the hole.
    fn stretch(&self, axis: usize) -> (f64, f64) {
        let (hole, gap) = (self.hole[axis], self.gap[axis]);
        let low = if gap.0 > NEAR {
            hole.0 - gap.0
        } else {
            f64::NEG_INFINITY
        };
        let high = if gap.1 < self.size[axis] - NEAR {
            hole.1 - gap.1
        } else {
            f64::INFINITY
        };
        (low, high)
    }

    /// Asks along one axis that the gap can lie in the hole, or outside the cell, while the sheet covers the cell; false
    /// where it is too long.
    fn ask(&self, axis: usize, limits: &mut Limits) -> bool {
        let (low, high) = self.stretch(axis);
        if low > high {
            return false;
        }
        // The sheet begins at or before the cell and ends at or behind it; where the gap is open the cell ends in the hole.
        if low.is_finite() {
            limits.at_least(axis, false, low);
        } else {
            limits.at_least(axis, false, self.hole[axis].0);
        }
        if high.is_finite() {
            limits.at_most(axis, true, high + self.size[axis]);
        } else {
            limits.at_most(axis, true, self.hole[axis].1);
        }
        true
    }

    /// How far from the corner of the sheet's box that is low on both of its axes a cell lies, along these.
    pub(super) fn shift(&self, cell: Bounds) -> [f64; 2] {
        let cell = [(cell.min.x, cell.max.x), (cell.min.y, cell.max.y)];
        let mut gaps = [(0.0, 0.0); 2];
        for axis in 0..2 {
            let (low, high) = self.stretch(axis);
            let size = self.size[axis];
            let from = low.max(cell[axis].1 - size);
            let to = high.min(cell[axis].0);
            let at = (from + to) / 2.0;
            gaps[axis] = (cell[axis].0 - at, at + size - cell[axis].1);
        }
        // The layer's corner that lies at the low corner of the sheet.
        let mut corner = [false; 2];
        for _ in 0..self.quarters {
            corner = [corner[1], !corner[0]];
        }
        let of = |axis: usize| {
            let axis = if self.quarters % 2 == 1 {
                1 - axis
            } else {
                axis
            };
            let (low, high) = gaps[axis];
            (if corner[axis] { high } else { low }).max(0.0)
        };
        [of(0), of(1)]
    }
}
