//! Corners that layers lack, and sheets that lack one too.
//!
//! In: a layer with a corner cut off along a line, what sheets offer. Out: seats whose room is larger than the sheet where the
//! layer has no material, each with what the positions of the seams must then keep.
//!
//! ```text
//!        u1 ────────── 0
//!        ┌────────╲       0      A piece that reaches no farther from the corner than v1 ends
//!        │         ╲      │      at u = a·(1 − v1/b), not at the layer's end: so much may its
//!        │    cell  ╲     v1     cell be wider than the sheet. And on a sheet with a corner
//!        └───────────╲           cut off along the same slope lies a piece which its clear boxes
//!                                do not take.
//! ```
//!
//! u and v are the distances from the missing corner, a and b its extents. Both limits are linear in the far sides u1 and v1
//! of the cell, so the linear program keeps them exactly; seats are listed at samples of v1. The piece lies at the end of the
//! sheet that is opposite to the corner: there it comes nearest to it.
//!
//! Tried and left: windows without what the sheet lacks, moved until the corner comes to lie in the void, as places of their own
//! (as many as there are positions along the slope, and none at the right one).

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::offset;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::model::cutter::{Axis, Turns};
use crate::model::layer::Layer;
use crate::model::sheet::Sheet;
use crate::planner::cover::anchor::Beside;
use crate::planner::cover::place::Place;
use crate::planner::cover::seat::{Give, Kept, Offer, Seat};
use crate::planner::packing::{BoxItem, may_turn};
use crate::planner::prepared::box_turns;
use crate::planner::task::LayerShape;

/// Least extents of a corner that counts, in mm; smaller ones hardly matter.
const LEAST_CORNER: f64 = 20.0;
/// Steps in which the far end of a piece beside the void is sampled, in mm.
const STEP: f64 = 12.0;
/// Lines are parallel whose slopes differ by no more than this share.
const PARALLEL: f64 = 0.02;
/// Areas are equal that differ by no more, in mm².
const SAME_MM2: f64 = 1.0;
/// Roundings of drawings, in mm.
pub(super) const ON_SIDE: f64 = 1e-6;

/// A corner of a box that is cut off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Corner {
    /// Whether it lies at the high end of each axis.
    pub(crate) high: [bool; 2],
    /// Extents along the box's sides; they may be longer than those.
    pub(crate) size: [f64; 2],
}

/// A sum of positions of a cell's sides, one across and one along the through seams, that must not exceed a limit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Keep {
    /// Which side of each: at the high end or not.
    pub(crate) high: [bool; 2],
    /// What they count.
    pub(crate) by: [f64; 2],
    /// The limit in mm.
    pub(crate) limit: f64,
}

/// The corners that a layer lacks.
pub(crate) fn corners(layer: &Layer, around: Bounds) -> Vec<Corner> {
    let [region] = layer.shape.as_slice() else {
        return Vec::new();
    };
    let edges = region.outer().edges().iter();
    edges.filter_map(|e| corner(e, around)).collect()
}

/// The corner that an edge cuts off the box around all.
fn corner(edge: &Edge, around: Bounds) -> Option<Corner> {
    let near = |a: f64, b: f64| (a - b).abs() < ON_SIDE;
    let on_y = |p: Point| near(p.y, around.min.y) || near(p.y, around.max.y);
    let on_x = |p: Point| near(p.x, around.min.x) || near(p.x, around.max.x);
    // From the end on a side along x to the end on a side along y.
    let (a, b) = match edge.curve {
        Curve::Line if on_y(edge.start) && on_x(edge.end) => (edge.start, edge.end),
        Curve::Line if on_y(edge.end) && on_x(edge.start) => (edge.end, edge.start),
        _ => return None,
    };
    let size = [(a.x - b.x).abs(), (a.y - b.y).abs()];
    let high = [near(b.x, around.max.x), near(a.y, around.max.y)];
    (size[0].min(size[1]) >= LEAST_CORNER).then_some(Corner { high, size })
}

/// The box around what a sheet offers less the margin, and the corner that it lacks, where that is all that it lacks.
pub(crate) fn slanted(sheet: &Sheet, edge_margin: f64) -> Option<(Bounds, Corner)> {
    let slanted = |e: &Edge| {
        let way = e.end - e.start;
        e.curve == Curve::Line && way.x.abs().min(way.y.abs()) > ON_SIDE
    };
    if !sheet.region.iter().flat_map(|r| r.edges()).any(slanted) {
        return None;
    }
    let inner = offset::offset(&sheet.region, -edge_margin).ok()?;
    let [region] = inner.as_slice() else {
        return None;
    };
    let around = region.bounds();
    let mut slopes = region.outer().edges().iter().filter(|e| slanted(e));
    let (edge, None) = (slopes.next()?, slopes.next()) else {
        return None;
    };
    // Outward, seen from the middle of the box.
    let middle = around.center();
    let way = edge.end - edge.start;
    let at = edge.start - middle;
    let outward = (at.x * way.y - at.y * way.x).signum();
    let normal = Point::new(way.y * outward, -way.x * outward);
    let high = [normal.x > 0.0, normal.y > 0.0];
    let end = Point::new(
        if high[0] { around.max.x } else { around.min.x },
        if high[1] { around.max.y } else { around.min.y },
    );
    let beyond = normal.x * (end.x - edge.start.x) + normal.y * (end.y - edge.start.y);
    let size = [beyond / normal.x.abs(), beyond / normal.y.abs()];
    let lacks = around.width() * around.depth() - region.area_mm2();
    let corner = Corner { high, size };
    let whole = region.holes().is_empty()
        && (missing_mm2(size, [around.width(), around.depth()]) - lacks).abs() < SAME_MM2;
    (beyond > 0.0 && whole).then_some((around, corner))
}

/// Area in mm² of a sheet less the margin; all of it where that cannot be told.
pub(crate) fn inner_mm2(sheet: &Sheet, edge_margin: f64) -> f64 {
    let area = |list: &[Region]| list.iter().map(Region::area_mm2).sum();
    offset::offset(&sheet.region, -edge_margin)
        .map_or_else(|_| area(&sheet.region), |inner| area(&inner))
}

/// Area of a corner within a box of these extents.
fn missing_mm2(corner: [f64; 2], sides: [f64; 2]) -> f64 {
    let [a, b] = corner;
    let past = |k: usize| ((corner[k] - sides[k]) / corner[k]).max(0.0);
    a * b / 2.0 * (1.0 - past(0) * past(0) - past(1) * past(1))
}

impl Corner {
    /// Area in mm² of what is left of a box.
    pub(crate) fn left_mm2(&self, sides: [f64; 2]) -> f64 {
        sides[0] * sides[1] - missing_mm2(self.size, sides)
    }

    /// Turned by quarters as a piece turns from the sheet back to the layer: (x, y) → (y, −x) for each.
    fn turned_back(mut self, quarters: usize) -> Self {
        for _ in 0..quarters {
            self.high = [self.high[1], !self.high[0]];
            self.size.reverse();
        }
        self
    }

    /// The same in the frame of seams that run one way: across them, then along them.
    pub(super) fn seen(mut self, runs: Axis) -> Self {
        if runs == Axis::X {
            self.high.reverse();
            self.size.reverse();
        }
        self
    }

    /// What keeps the sum of far sides, times what they count, within a limit: all told as distances from the corner at `end`.
    fn keep(&self, end: [f64; 2], by: [f64; 2], limit: f64) -> Keep {
        let inward = self.high.map(|h| if h { 1.0 } else { -1.0 });
        Keep {
            high: self.high.map(|h| !h),
            by: [-by[0] * inward[0], -by[1] * inward[1]],
            limit: limit - by[0] * inward[0] * end[0] - by[1] * inward[1] * end[1],
        }
    }

    /// That the piece ends before the sheet does, along one axis: it reaches to the void, not to the layer's end.
    fn keep_gap(&self, axis: usize, end: [f64; 2], room: f64) -> Keep {
        let mut by = [1.0; 2];
        by[1 - axis] = self.size[axis] / self.size[1 - axis];
        self.keep(end, by, room + self.size[axis])
    }

    /// That the layer's slope lies inside the sheet's, where they are parallel.
    fn keep_slope(&self, of_sheet: &Self, end: [f64; 2], rooms: [f64; 2]) -> Option<Keep> {
        let [a, b] = of_sheet.size;
        let length = (a * a + b * b).sqrt();
        let normal = [b / length, a / length];
        let steeper = self.size[0] * b / (self.size[1] * a);
        let least = (normal[0] * self.size[0]).min(normal[1] * self.size[1]);
        let of_sheet = a * b / length;
        let limit = least - of_sheet + normal[0] * rooms[0] + normal[1] * rooms[1];
        ((steeper - 1.0).abs() < PARALLEL).then(|| self.keep(end, normal, limit))
    }
}

/// A sheet as a layer sees it: which way it lies, its extents across and along, and the corner that it lacks.
pub(super) struct View {
    pub(super) place: usize,
    pub(super) quarters: usize,
    pub(super) rooms: [f64; 2],
    pub(super) lacks: Option<Corner>,
}

impl View {
    /// The seat with what it must keep, its rooms, and rooms where that allows the most.
    pub(super) fn seat(&self, kept: usize, rooms: [f64; 2], open: [f64; 2]) -> Seat {
        Seat {
            place: self.place,
            turned: self.quarters % 2 == 1,
            half: self.quarters >= 2,
            across: rooms[0],
            along: rooms[1],
            give: Give::None,
            bound: Some((kept, open)),
        }
    }
}

/// The seats of a layer of a class beside corners that it lacks.
#[derive(Default)]
pub(super) struct Seats {
    /// Those whose rooms are told at samples of where the piece lies.
    pub(super) sampled: Vec<Seat>,
    /// The same, each once, with what they must keep.
    pub(super) beside: Vec<Beside>,
}

/// The seats of a layer of a class beside corners that it lacks.
pub(super) fn seats(offer: &mut Offer, class: usize, shape: &LayerShape, runs: Axis) -> Seats {
    let mut out = Seats::default();
    let (across, along) = (shape.across(runs), shape.across(runs.other()));
    for corner in shape.corners.iter().map(|c| c.seen(runs)) {
        let pick = |high: bool, ends: (f64, f64)| if high { ends.1 } else { ends.0 };
        let end = [pick(corner.high[0], across), pick(corner.high[1], along)];
        for view in views(offer, class, shape, runs) {
            let slope = match view.lacks {
                None => None,
                Some(lacks) if lacks.high == corner.high => {
                    let Some(keep) = corner.keep_slope(&lacks, end, view.rooms) else {
                        continue;
                    };
                    let seat = seat(offer, &view, view.rooms, view.rooms, vec![keep]);
                    out.sampled.push(seat);
                    out.beside.push(Beside { seat, ends: None });
                    Some(keep)
                }
                Some(_) => continue,
            };
            for axis in 0..2 {
                beside(offer, &view, (&corner, axis, end), slope, &mut out);
            }
        }
    }
    out
}

/// The seats of pieces that end at the void along one axis.
fn beside(
    offer: &mut Offer,
    view: &View,
    (corner, axis, end): (&Corner, usize, [f64; 2]),
    slope: Option<Keep>,
    out: &mut Seats,
) {
    let (room, other) = (view.rooms[axis], view.rooms[1 - axis]);
    let (a, b) = (corner.size[axis], corner.size[1 - axis]);
    let mut keeps = vec![corner.keep_gap(axis, end, room)];
    keeps.extend(slope);
    let mut open = view.rooms;
    open[axis] += a;
    out.beside.push(Beside {
        seat: seat(offer, view, open, open, keeps.clone()),
        ends: Some((axis, corner.high[axis])),
    });
    // The far end of a piece at the layer's end, then of those farther in.
    let first = std::iter::once((other, 0.0));
    let least = offer.least();
    let farther = (0..).map(|k| (other + least + f64::from(k) * STEP, STEP));
    for (far, step) in first.chain(farther) {
        if far >= b {
            break;
        }
        let mut rooms = view.rooms;
        rooms[axis] += a * (1.0 - (far - step) / b);
        out.sampled
            .push(seat(offer, view, rooms, open, keeps.clone()));
    }
}

fn seat(offer: &mut Offer, view: &View, rooms: [f64; 2], open: [f64; 2], keeps: Vec<Keep>) -> Seat {
    let kept = offer.keep(Kept {
        keeps,
        inside: Vec::new(),
        fit: None,
    });
    view.seat(kept, rooms, open)
}

/// Sheets of a class that are a box, or a box that lacks one corner, each way that they may lie.
pub(super) fn views(offer: &Offer, class: usize, shape: &LayerShape, runs: Axis) -> Vec<View> {
    let item = BoxItem {
        size: [0.0, 0.0],
        turns: box_turns(shape.turns),
        grain: shape.grain,
    };
    let alone = |p: &Place| {
        let of_kind = |q: &&Place| q.kind == p.kind && q.parted.is_none() && q.gap.is_none();
        p.parts == 1
            && p.notch.is_none()
            && p.gap.is_none()
            && offer.places.iter().filter(of_kind).count() == 1
    };
    let mut out = Vec::new();
    for (k, place) in offer.places.iter().enumerate() {
        let kind = &offer.kinds[place.kind];
        if kind.class != class || place.parted.is_some() {
            continue;
        }
        // What lacks no corner looks the same after two quarters.
        let quarters = match place.lacks {
            Some(_) => 4,
            None if alone(place) => 2,
            None => continue,
        };
        for quarters in 0..quarters {
            let half = quarters >= 2 && shape.turns == Turns::None;
            if half || !may_turn(&item, kind.grain, quarters % 2 == 1) {
                continue;
            }
            let mut rooms = [place.window.width(), place.window.depth()];
            if (runs == Axis::X) != (quarters % 2 == 1) {
                rooms.reverse();
            }
            out.push(View {
                place: k,
                quarters,
                rooms,
                lacks: place.lacks.map(|c| c.turned_back(quarters).seen(runs)),
            });
        }
    }
    out
}
