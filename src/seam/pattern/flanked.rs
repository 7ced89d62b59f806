//! A tooth between two straight flanks: what wave, zigzag, dovetail and finger have in common.
//!
//! In: depth, pitch, the radius of its corners, the angle of its flanks. Out: its measures and its edges. From the flat an
//! arc of radius r turns into the flank, a line at the flank angle β from the base line (below 90° the tooth narrows upward,
//! above it is undercut); a second arc of the same radius turns back into the level, the top is flat or the two upper arcs
//! are one; and so down again. Tooth and the space to the next tooth are alike, so that both faces are as strong:
//!
//! - the flank is (d − 2r(1 − cos β)) / sin β long, and foot and top lie 2r·sin β + flank·cos β apart along the seam;
//! - foot and top lie as far on either side of a quarter pitch: half a pitch wide at half the depth, like the space beside
//!   it ("derived", as is what follows);
//! - where the tops are points ([`pointed`]), a quarter pitch is half that distance, which fixes β: with A = p/2 and
//!   B = 2r − d the angle solves A·sin β + B·cos β = 2r, the lesser root.
//!
//! A tooth whose top is a point takes the whole pitch: neighbours join where their arcs are level. Every join is tangent.
//! Lengths in mm; u along the seam in `Point::x`, v across it in `Point::y`.

use crate::geometry::angle::{asin, atan2, hypot, sin_cos};
use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;

/// The angle of a flank from the base line, as sine and cosine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Flank {
    /// Above 0.
    pub(crate) sin: f64,
    /// Below 0 where the tooth is undercut.
    pub(crate) cos: f64,
}

impl Flank {
    /// From the angle.
    pub(crate) fn at(angle: f64) -> Self {
        let (sin, cos) = sin_cos(angle);
        Self { sin, cos }
    }

    /// From the two legs of a triangle that lies on the flank: across the seam, above 0, and along it.
    pub(crate) fn of_legs(across: f64, along: f64) -> Self {
        let length = hypot(across, along);
        Self {
            sin: across / length,
            cos: along / length,
        }
    }

    /// The angle.
    pub(crate) fn angle(self) -> f64 {
        atan2(self.sin, self.cos)
    }
}

/// The flank of pointed teeth whose corners have a radius; `None` where it leaves no straight flank or none below 90°.
pub(crate) fn pointed(depth: f64, pitch: f64, radius: f64) -> Option<Flank> {
    let (a, b) = (pitch / 2.0, 2.0 * radius - depth);
    let sine = 2.0 * radius / hypot(a, b);
    if sine > 1.0 {
        return None;
    }
    let flank = Flank::at(asin(sine) - atan2(b, a));
    (flank.cos > 0.0 && flank.sin > 0.0).then_some(flank)
}

/// Measures of a tooth between flanks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Flanked {
    /// From the base line to the top.
    pub(crate) depth: f64,
    /// Half the length of base line that the tooth takes the place of.
    pub(crate) foot: f64,
    /// Half the length of the flat top; 0 where it is a point.
    pub(crate) top: f64,
    /// Radius of the corners.
    pub(crate) radius: f64,
    /// Its flanks.
    pub(crate) flank: Flank,
}

impl Flanked {
    /// A tooth as wide as the space to the next; `None` where the radius leaves no room for it.
    pub(crate) fn new(depth: f64, pitch: f64, radius: f64, flank: Flank) -> Option<Self> {
        let length = (depth - 2.0 * radius * (1.0 - flank.cos)) / flank.sin;
        let apart = 2.0 * radius * flank.sin + length * flank.cos;
        let (foot, top) = (pitch / 4.0 + apart / 2.0, pitch / 4.0 - apart / 2.0);
        // A flank or top shorter than coincidence is rounding.
        if !(radius > 0.0 && length > -COINCIDENT && top > -COINCIDENT && foot > 0.0) {
            return None;
        }
        let is_point = top < COINCIDENT;
        let made = Self {
            depth,
            foot: if is_point { pitch / 2.0 } else { foot },
            top: if is_point { 0.0 } else { top },
            radius,
            flank,
        };
        (made.neck() > 0.0).then_some(made)
    }

    /// Width at half the depth.
    pub(crate) fn width(&self) -> f64 {
        self.foot + self.top
    }

    /// Width where it is narrowest below its top, and that of the space beside it: at half the depth, unless undercut.
    pub(crate) fn neck(&self) -> f64 {
        if self.flank.cos < 0.0 {
            2.0 * (self.foot - self.radius)
        } else {
            self.width()
        }
    }

    /// By how much it is wider above than at its neck, on each side.
    pub(crate) fn undercut(&self) -> f64 {
        if self.flank.cos < 0.0 {
            self.top - self.foot + 2.0 * self.radius
        } else {
            0.0
        }
    }

    /// Half its greatest width.
    pub(crate) fn half_width(&self) -> f64 {
        self.foot.max(self.top + self.radius)
    }

    /// Whether a point lies in it: `du` from its middle along the seam, `dv` from the base line toward its top.
    pub(crate) fn contains(&self, du: f64, dv: f64) -> bool {
        let r = self.radius;
        let bend = r * (1.0 - self.flank.cos);
        if dv <= 0.0 || dv >= self.depth {
            return false;
        }
        let half = if dv < bend {
            self.foot - (dv * (2.0 * r - dv)).max(0.0).sqrt()
        } else if dv > self.depth - bend {
            let down = self.depth - dv;
            self.top + (down * (2.0 * r - down)).max(0.0).sqrt()
        } else {
            self.foot - r * self.flank.sin - (dv - bend) * self.flank.cos / self.flank.sin
        };
        du.abs() < half
    }

    /// The tooth's edges from the base line and back to it, ascending along u, its middle at `middle` on the base line;
    /// `to_plus` when it points to +v.
    pub(crate) fn edges(&self, middle: Point, to_plus: bool, source: SourceId) -> Vec<Edge> {
        let side = if to_plus { 1.0 } else { -1.0 };
        let at = |u: f64, v: f64| Point::new(middle.x + u, middle.y + side * v);
        let (r, foot, top, d) = (self.radius, self.foot, self.top, self.depth);
        let (sin, cos) = (self.flank.sin, self.flank.cos);
        let root = |way: f64| at(way * foot, r);
        let tip = |way: f64| at(way * top, d - r);
        let low = |way: f64| at(way * (foot - r * sin), r * (1.0 - cos));
        let high = |way: f64| at(way * (top + r * sin), d - r * (1.0 - cos));
        let has_flank = low(1.0).distance(high(1.0)) > COINCIDENT;
        let upper = |way: f64| if has_flank { high(way) } else { low(way) };
        let arc = |a, b, center, out: bool| Edge::arc(a, b, center, r, out == to_plus, source);
        let mut edges = vec![arc(at(-foot, 0.0), low(-1.0), root(-1.0), true)];
        if has_flank {
            edges.push(Edge::line(low(-1.0), high(-1.0), source));
        }
        if top > 0.0 {
            edges.push(arc(upper(-1.0), at(-top, d), tip(-1.0), false));
            edges.push(Edge::line(at(-top, d), at(top, d), source));
            edges.push(arc(at(top, d), upper(1.0), tip(1.0), false));
        } else {
            edges.push(arc(upper(-1.0), upper(1.0), tip(0.0), false));
        }
        if has_flank {
            edges.push(Edge::line(high(1.0), low(1.0), source));
        }
        edges.push(arc(low(1.0), at(foot, 0.0), root(1.0), true));
        edges
    }
}
