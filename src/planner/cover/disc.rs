//! Round holes of layers, and sheets that follow them.
//!
//! In: a layer with a round hole, what sheets offer. Out: seats of pieces that end in the hole, and of pieces whose corner lies in it on
//! sheets that lack that corner; each with points that the hole must hold.
//!
//! ```text
//!      ┌───────────┐           ┌───────────┐
//!      │   piece   │           │   piece   │
//!      │           │           │           │ p
//!      p ╌╌╌╌╌╌╌╌╌ p  sheet    │        ╱ ╌╌╌╌
//!       (  hole   )   ends     └───────p   sheet's corner is cut off
//! ```
//!
//! What a convex hole does not hold of a cell beyond its sheet shows at the sheet's ends there: where both points p lie in the hole, all
//! between them does. Each point is a sum of the cell's sides along each axis, for the sheet lies at the sides away from the hole. A
//! point that lies beyond the hole's middle, seen from the piece, is in order too: then the sheet reaches farther than it must.

use crate::geometry::angle::asin;
use crate::geometry::edge::Curve;
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;
use crate::model::cutter::Axis;
use crate::model::layer::Layer;
use crate::planner::cover::anchor::{Beside, Span, both};
use crate::planner::cover::seat::{Kept, Offer};
use crate::planner::cover::void::{Corner, Keep, View, views};
use crate::planner::task::LayerShape;

/// Least diameter of a hole that counts, in mm.
const LEAST_DISC: f64 = 20.0;
/// Roundings of drawings, in mm.
const NEAR: f64 = 1e-6;

/// A round hole of a layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Disc {
    /// Its middle.
    pub(crate) center: Point,
    /// Its radius in mm.
    pub(crate) radius: f64,
}

/// A sum of positions of a cell's sides.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Affine {
    /// What each counts: by axis, across (0) or along (1) the through seams, the low side and the high one.
    pub(super) by: [[f64; 2]; 2],
    pub(super) fixed: f64,
}

/// A point that a round hole must hold.
#[derive(Clone, Copy, Debug)]
pub(super) struct Inside {
    /// Middle of the hole, across and along the through seams.
    pub(super) center: [f64; 2],
    pub(super) radius: f64,
    pub(super) point: [Affine; 2],
    /// Toward which end of an axis all is in order that lies beyond the middle, within the hole's extent along the other.
    pub(super) open: Option<(usize, bool)>,
    /// Where a sheet that fits nearly comes near the hole's edge: no farther from it than this, along the open axis.
    tight: f64,
}

/// The round holes of a layer.
pub(crate) fn discs(layer: &Layer) -> Vec<Disc> {
    let [region] = layer.shape.as_slice() else {
        return Vec::new();
    };
    region.holes().iter().filter_map(disc).collect()
}

/// The circle that a ring is.
fn disc(ring: &Ring) -> Option<Disc> {
    let of = |curve: Curve| match curve {
        Curve::Arc { center, radius, .. } => Some(Disc { center, radius }),
        Curve::Line => None,
    };
    let first = of(ring.edges().first()?.curve)?;
    let same = |d: Disc| {
        (d.center - first.center).length_squared() < NEAR * NEAR
            && (d.radius - first.radius).abs() < NEAR
    };
    let round = ring.edges().iter().all(|e| of(e.curve).is_some_and(same));
    (round && 2.0 * first.radius >= LEAST_DISC).then_some(first)
}

impl Disc {
    /// Middle and radius seen from seams that run one way: across them, then along them.
    pub(super) fn seen(&self, runs: Axis) -> [f64; 2] {
        match runs {
            Axis::Y => [self.center.x, self.center.y],
            Axis::X => [self.center.y, self.center.x],
        }
    }
}

/// Area in mm² of a circle between two parallel lines, given as positions across.
pub(super) fn between_mm2(center: f64, radius: f64, (from, to): Span) -> f64 {
    // From the middle to a line: a triangle and a sector.
    let upto = |at: f64| {
        let x = (at - center).clamp(-radius, radius);
        let half = (radius * radius - x * x).sqrt();
        x * half + radius * radius * asin(x / radius)
    };
    (upto(to) - upto(from)).max(0.0)
}

/// The seats of a layer of a class beside its round holes; `near` is by how much a sheet that fits nearly is larger than its piece.
pub(super) fn seats(
    offer: &mut Offer,
    class: usize,
    shape: &LayerShape,
    runs: Axis,
    near: f64,
) -> Vec<Beside> {
    let mut out = Vec::new();
    for disc in &shape.discs {
        for view in views(offer, class, shape, runs) {
            let site = Site {
                center: disc.seen(runs),
                radius: disc.radius,
                rooms: view.rooms,
                near,
            };
            for axis in 0..2 {
                for high in [false, true] {
                    let decide: &[Option<bool>] = match view.lacks {
                        Some(corner) if corner.high[axis] != high => &[],
                        Some(_) => &[None],
                        None => &[Some(false), Some(true)],
                    };
                    for side in decide {
                        let inside = site.ending((axis, high), view.lacks.as_ref(), *side);
                        out.push(site.beside(offer, &view, Some((axis, high)), inside));
                    }
                }
            }
            if let Some(corner) = view.lacks {
                let inside = site.cornered(&corner);
                out.push(site.beside(offer, &view, None, inside));
            }
        }
    }
    out
}

/// A hole, and the extents of a sheet that lies beside it.
struct Site {
    center: [f64; 2],
    radius: f64,
    rooms: [f64; 2],
    near: f64,
}

impl Affine {
    /// The position of one side.
    fn side(axis: usize, high: bool) -> Self {
        let mut out = Self::default();
        out.by[axis][usize::from(high)] = 1.0;
        out
    }

    /// So much more.
    fn plus(mut self, fixed: f64) -> Self {
        self.fixed += fixed;
        self
    }

    /// Together with so many of another.
    fn with(mut self, other: &Self, times: f64) -> Self {
        for (mine, theirs) in self.by.iter_mut().flatten().zip(other.by.iter().flatten()) {
            *mine += times * theirs;
        }
        self.fixed += times * other.fixed;
        self
    }

    /// Between which values it lies, given where the sides may.
    fn span(&self, sides: &[[Span; 2]; 2]) -> Span {
        let terms = self.by.iter().flatten().zip(sides.iter().flatten());
        terms.filter(|(by, _)| **by != 0.0).fold(
            (self.fixed, self.fixed),
            |(low, high), (by, s)| {
                let (a, b) = (by * s.0, by * s.1);
                (low + a.min(b), high + a.max(b))
            },
        )
    }
}

impl Site {
    /// A seat, the points that must lie in the hole, and that its sides there do at all.
    fn beside(
        &self,
        offer: &mut Offer,
        view: &View,
        ends: Option<(usize, bool)>,
        inside: Vec<Inside>,
    ) -> Beside {
        let mut keeps = Vec::new();
        let mut within = |axis: usize, high: bool| {
            for by in [1.0, -1.0] {
                let mut keep = Keep {
                    high: [high; 2],
                    by: [0.0; 2],
                    limit: by * self.center[axis] + self.radius,
                };
                keep.by[axis] = by;
                keeps.push(keep);
            }
        };
        let mut open = view.rooms;
        match (ends, &view.lacks) {
            (Some((axis, high)), _) => {
                within(axis, high);
                within(1 - axis, false);
                within(1 - axis, true);
                open[axis] += 2.0 * self.radius;
            }
            (None, Some(corner)) => (0..2).for_each(|axis| within(axis, corner.high[axis])),
            (None, None) => {}
        }
        let kept = offer.keep(Kept {
            keeps,
            inside,
            fit: None,
        });
        let seat = view.seat(kept, open, open);
        Beside { seat, ends }
    }

    /// A point of the sheet or the cell that must lie in the hole, or beyond its middle.
    fn inside(&self, point: [Affine; 2], open: Option<(usize, bool)>, tight: f64) -> Inside {
        Inside {
            center: self.center,
            radius: self.radius,
            point,
            open,
            tight,
        }
    }

    /// Where the sheet ends along an axis, when it lies at the cell's other side.
    fn end(&self, axis: usize, high: bool) -> Affine {
        let room = if high {
            self.rooms[axis]
        } else {
            -self.rooms[axis]
        };
        Affine::side(axis, !high).plus(room)
    }

    /// By how much the sheet ends before its box does along an axis, for a position along the other.
    fn slope(&self, corner: &Corner, axis: usize, at: &Affine) -> Affine {
        let other = 1 - axis;
        let by = corner.size[axis] / corner.size[other];
        let toward = if corner.high[other] { 1.0 } else { -1.0 };
        // How far the position lies from the end of the box.
        let from_end = Affine::default()
            .with(&self.end(other, corner.high[other]), toward)
            .with(at, -toward);
        Affine::default()
            .plus(corner.size[axis])
            .with(&from_end, -by)
    }

    /// A piece that ends in the hole with its whole width. A sheet without a corner cut off reaches as far as it must on one side
    /// alone, the one that `decides`.
    fn ending(
        &self,
        (axis, high): (usize, bool),
        lacks: Option<&Corner>,
        decides: Option<bool>,
    ) -> Vec<Inside> {
        let other = 1 - axis;
        let back = if high { -1.0 } else { 1.0 };
        let end = self.end(axis, high);
        let mut out = Vec::new();
        let mut add = |along: Affine, side: bool, open: bool, tight: f64| {
            let mut point = [along; 2];
            point[other] = Affine::side(other, side);
            out.push(self.inside(point, Some((axis, open)), tight));
        };
        for side in [false, true] {
            // The cell ends before the hole does.
            add(Affine::side(axis, high), side, !high, f64::INFINITY);
            let Some(corner) = lacks else {
                let tight = if decides == Some(side) {
                    self.near
                } else {
                    f64::INFINITY
                };
                add(end, side, high, tight);
                continue;
            };
            let [a, b] = [corner.size[axis], corner.size[other]];
            let tight = self.near * (a * a + b * b).sqrt() / b;
            let cut = if side == corner.high[other] {
                self.slope(corner, axis, &Affine::side(other, side))
            } else {
                // At the side at which the sheet lies.
                Affine::default().plus((a * (1.0 - self.rooms[other] / b)).max(0.0))
            };
            add(end.with(&cut, back), side, high, tight);
        }
        out
    }

    /// A piece whose corner lies in the hole, on a sheet that lacks that corner.
    fn cornered(&self, corner: &Corner) -> Vec<Inside> {
        let cell = [0, 1].map(|axis| Affine::side(axis, corner.high[axis]));
        let [a, b] = corner.size;
        let length = (a * a + b * b).sqrt();
        let mut out = vec![self.inside(cell, None, f64::INFINITY)];
        for axis in 0..2 {
            let other = 1 - axis;
            let back = if corner.high[axis] { -1.0 } else { 1.0 };
            let cut = self.slope(corner, axis, &cell[other]);
            let mut point = cell;
            point[axis] = self.end(axis, corner.high[axis]).with(&cut, back);
            let tight = self.near * length / corner.size[other];
            out.push(self.inside(point, Some((axis, corner.high[axis])), tight));
        }
        out
    }
}

impl Inside {
    /// Half the chord of the hole at the best and at the worst position of a span, by distance from its middle.
    fn chords(&self, axis: usize, span: Span) -> (f64, f64) {
        let c = self.center[axis];
        let nearest = (span.0 - c).max(c - span.1).max(0.0);
        let farthest = (span.1 - c).max(c - span.0);
        let half = |d: f64| (self.radius * self.radius - d * d).max(0.0).sqrt();
        (half(nearest), half(farthest))
    }

    /// Where the point may lie along an axis, given its span along the other; an empty span where it may nowhere.
    fn allowed(&self, axis: usize, own: Span, other: Span) -> Span {
        let (c, r) = (self.center[axis], self.radius);
        let across = 1 - axis;
        let far = both(other, (self.center[across] - r, self.center[across] + r));
        if far.0 > far.1 {
            return (f64::INFINITY, f64::NEG_INFINITY);
        }
        match self.open {
            Some((open, high)) if open == axis => {
                let (best, worst) = self.chords(across, far);
                let edge = self.tight - worst;
                if high {
                    (c - best, c + edge)
                } else {
                    (c - edge, c + best)
                }
            }
            Some((open, high)) => {
                // Along the open axis, seen from the middle toward the piece.
                let toward = |at: f64| {
                    if high {
                        self.center[open] - at
                    } else {
                        at - self.center[open]
                    }
                };
                let depths = (toward(other.0), toward(other.1));
                let (least, most) = (depths.0.min(depths.1).max(0.0), depths.0.max(depths.1));
                let half = |d: f64| (r * r - d * d).max(0.0).sqrt();
                let mut span = (c - half(least), c + half(least));
                // No farther from the edge than it may be.
                let gone = most + self.tight;
                if gone < r {
                    let least = half(gone.max(0.0));
                    if own.1 < c + least {
                        span.1 = span.1.min(c - least);
                    } else if own.0 > c - least {
                        span.0 = span.0.max(c + least);
                    }
                }
                span
            }
            None => {
                let (best, _) = self.chords(across, far);
                (c - best, c + best)
            }
        }
    }

    /// Where the sides across the through seams may lie, so that the point can lie where it must; `None` where it cannot.
    pub(super) fn narrowed(&self, mut sides: [[Span; 2]; 2]) -> Option<[Span; 2]> {
        for axis in 0..2 {
            let spans = [0, 1].map(|a| self.point[a].span(&sides));
            let allowed = self.allowed(axis, spans[axis], spans[1 - axis]);
            for k in 0..2 {
                let by = self.point[axis].by[0][k];
                if by == 0.0 {
                    continue;
                }
                let mut rest = self.point[axis];
                rest.by[0][k] = 0.0;
                let rest = rest.span(&sides);
                let (a, b) = ((allowed.0 - rest.1) / by, (allowed.1 - rest.0) / by);
                sides[0][k] = both(sides[0][k], (a.min(b), a.max(b)));
                if sides[0][k].0 > sides[0][k].1 + NEAR {
                    return None;
                }
            }
            let now = self.point[axis].span(&sides);
            let common = both(now, allowed);
            if common.0 > common.1 + NEAR {
                return None;
            }
        }
        Some(sides[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn area_of_a_circle_between_lines() {
        // A whole circle, half of one, and a segment: r²·(acos(h/r) − (h/r)·√(1 − (h/r)²)), 614.184849304… for r = 50, h = 30
        // by hand: 2500·(0.9272952180016123 − 0.6·0.8).
        let pi = std::f64::consts::PI;
        assert!((between_mm2(10.0, 50.0, (-100.0, 100.0)) - 2500.0 * pi).abs() < 1e-9);
        assert!((between_mm2(10.0, 50.0, (10.0, 100.0)) - 1250.0 * pi).abs() < 1e-9);
        let segment = 2500.0 * (0.927_295_218_001_612_3 - 0.48);
        assert!((between_mm2(10.0, 50.0, (40.0, 60.0)) - segment).abs() < 1e-9);
        assert_eq!(between_mm2(10.0, 50.0, (61.0, 70.0)), 0.0);
    }

    #[test]
    fn a_cell_with_its_corner_in_a_hole_is_told_where_it_may_lie() {
        // A hole of 246.47 at (167.82, 386.32); a cell from (0, 335.26) to (161.78, 691), and a sheet of 165.59 × 359.55 that lacks
        // the corner of 106.94 × 175.5 there: it ends 3.8 mm beyond the cell, 5.3 and 8.7 mm within the hole.
        let corner = Corner {
            high: [true, false],
            size: [106.94, 175.5],
        };
        let site = Site {
            center: [167.82, 386.32],
            radius: 123.235,
            rooms: [165.59, 359.55],
            near: 10.0,
        };
        let at = |v: f64| (v, v);
        let points = site.cornered(&corner);
        let fits = |sides: [[Span; 2]; 2]| points.iter().all(|p| p.narrowed(sides).is_some());
        assert!(fits([[at(0.0), at(161.78)], [at(335.26), at(691.0)]]));
        // With its far sides 15 mm farther from the hole the sheet does not reach it, nor is there one so much nearer that fits nearly.
        assert!(!fits([[at(-15.0), at(161.78)], [at(335.26), at(706.0)]]));
        assert!(!fits([[at(25.0), at(161.78)], [at(335.26), at(666.0)]]));
        // Where the seam across may lie follows from where the one along does.
        let side = points.iter().try_fold((100.0, 200.0), |side, p| {
            let sides = [[at(0.0), side], [at(335.26), at(691.0)]];
            p.narrowed(sides).map(|s| s[1])
        });
        let side = side.expect("it may lie somewhere");
        assert!(side.0 < 161.78 && side.1 > 161.78, "{side:?}");
    }
}
