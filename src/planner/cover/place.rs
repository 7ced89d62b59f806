//! Places: clear boxes of sheets that take one piece each.
//!
//! A place may lack something (a notch, a corner, a rectangle), or share its length with others; `seat` tells how pieces sit on it.

use crate::geometry::bounds::Bounds;
use crate::model::cutter::Axis;
use crate::planner::cover::mode::SHARED;
use crate::planner::cover::void::Corner;

/// A clear box that takes one piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    /// Whose it is.
    pub(crate) kind: usize,
    /// Which way of using the sheet it belongs to.
    pub(crate) mode: usize,
    /// Which of the mode's boxes.
    pub(crate) part: usize,
    /// How many boxes the mode has.
    pub(crate) parts: usize,
    /// The box, on the sheet.
    pub(crate) window: Bounds,
    /// Along which axis of the sheet several pieces share the box.
    pub(crate) parted: Option<Axis>,
    /// What is cut out of the box: then the place takes an L.
    pub(crate) notch: Option<Notch>,
    /// The length that it shares with the mode's other box.
    pub(crate) share: Option<Share>,
    /// The rectangle that the sheet lacks there: then the box is no clear one, and the place takes what lacks it too.
    pub(crate) gap: Option<Bounds>,
    /// The corner that the sheet lacks there: then the box is no clear one, and the place takes what lacks a corner too.
    pub(crate) lacks: Option<Corner>,
}

/// Two boxes side by side on a sheet that overlap a little: where one ends and the other begins is settled with the positions.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Share {
    /// Along which axis of the sheet they lie side by side.
    pub(crate) axis: Axis,
    /// What both have together.
    pub(crate) length: f64,
    /// Whether this one lies at the high end.
    pub(crate) high: bool,
    /// By how much they overlap, in mm, the spacing between their pieces included.
    pub(crate) over: f64,
}

/// A corner cut out of a box.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Notch {
    /// Whether it lies at the high end of x, and of y.
    pub(crate) high: [bool; 2],
    /// Extents.
    pub(crate) size: [f64; 2],
}

impl Share {
    /// Along which axis two boxes lie side by side that overlap by less than what one may take from the other, what they have together,
    /// and whether the first lies at the low end.
    pub(super) fn of(a: &Bounds, b: &Bounds, spacing: f64) -> Option<(Axis, f64, bool)> {
        let over = |low: f64, high: f64| (0.0..=SHARED + 1e-6).contains(&(low + spacing - high));
        if over(a.max.x, b.min.x) {
            Some((Axis::X, b.max.x - a.min.x, true))
        } else if over(b.max.x, a.min.x) {
            Some((Axis::X, a.max.x - b.min.x, false))
        } else if over(a.max.y, b.min.y) {
            Some((Axis::Y, b.max.y - a.min.y, true))
        } else if over(b.max.y, a.min.y) {
            Some((Axis::Y, a.max.y - b.min.y, false))
        } else {
            None
        }
    }
}

impl Place {
    /// Whether its piece lies at the high end of x, and of y: opposite to a corner that is cut out, and away from the other box that
    /// shares a length with it.
    pub(crate) fn anchor(&self) -> [bool; 2] {
        if let Some(notch) = self.notch {
            return notch.high.map(|h| !h);
        }
        if let Some(corner) = self.lacks {
            return corner.high.map(|h| !h);
        }
        self.share.map_or([false; 2], |share| {
            [Axis::X, Axis::Y].map(|axis| share.high && share.axis == axis)
        })
    }

    /// Whether nothing is missing of its box but a notch.
    pub(crate) fn is_clear(&self) -> bool {
        self.lacks.is_none() && self.gap.is_none()
    }

    /// Area in mm² that it takes.
    pub(super) fn area_mm2(&self) -> f64 {
        if let Some(gap) = self.gap {
            return self.window.width() * self.window.depth() - gap.width() * gap.depth();
        }
        if let Some(corner) = self.lacks {
            return corner.left_mm2([self.window.width(), self.window.depth()]);
        }
        let cut = self.notch.map_or(0.0, |n| n.size[0] * n.size[1]);
        self.window.width() * self.window.depth() - cut
    }
}
