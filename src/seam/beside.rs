//! The width of material beside a straight seam.
//!
//! A point of the seam in material that lies nearer than `min_web` to a ring's edge is too near, unless the seam meets
//! that same ring within four times the width: there the two simply come together, at sin⁻¹(1/4) = 14.5° or more.
//!
//! Where the seam ends in material, on another seam, that is no excuse: with an edge nearer than `min_web` the two seams
//! would cut off a sliver.
//!
//! For one edge of the ring the excess, distance from the nearest meeting less four widths, is looked at only where it can
//! be greatest. Between two meetings the distance from the nearer one is a tent, and the distance from a line, a point or
//! a circle seen from outside is convex along the seam: the excess is concave on each piece, greatest at the piece's ends
//! or where its slope is zero, which is at |v|/√15 from the foot of a point or a centre. Seen from inside a circle the
//! excess is convex, greatest at the ends. The ends are those of the stretch, the top of the tent, the places where the
//! distance equals `min_web` and where the nearest point passes an end of the edge.
//!
//! Edges are left out unseen where no excess can be: those farther from a stretch than a quarter of the farthest that one of
//! its points lies from a meeting, and those in the cone about a meeting in which their distance from the line, |v|, is at
//! least 1/√15 of how far along they reach from it, as far as they lie between the meetings.

use crate::geometry::bounds::Bounds;
use crate::geometry::distance::point_edge;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::seam::calm::{Calm, touches};
use crate::seam::ground::{Cut, GroundRing};

/// Within so many widths of a meeting the width is that of the meeting itself.
pub(crate) const WIDTHS: f64 = 4.0;
/// Sine of the least angle at which a seam may meet an edge, 14.5°: 0.250380.
pub(crate) const LEAST_SINE: f64 = 0.250_380_004_054_440_7;
/// Rounding of a width or a place, far below what is told of a plan.
const ROUNDING: f64 = 1.0e-6;
/// An end of the span nearer than this to where the line passes the ring is an end on that ring.
const JOINED: f64 = 1.0e-4;
/// Rounding of one computed distance: places at which it equals the web must be found at the web.
const SLACK: f64 = 1.0e-9;

/// From so many cuts on it is asked beforehand which stretches between them are calm.
const MANY_CUTS: usize = 64;

/// By how much more than the stretch between two meetings is looked at: many times what a place of meeting may be off.
const CLIPPED: f64 = 1.0e-3;

/// What is wrong beside a straight seam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Beside {
    /// Too little material: place along the seam, width, edge.
    Narrow(f64, f64, usize),
    /// Too flat an angle: place along the seam, its sine, edge.
    Flat(f64, f64, usize),
}

/// Looks at the level line at v over a span beside one ring; the narrowest place, or the flattest angle, where the rule
/// is broken.
pub(crate) fn beside(ring: &GroundRing, v: f64, span: (f64, f64), min_web: f64) -> Option<Beside> {
    look(ring, v, span, min_web, Wanted::Worst)
}

/// Whether the rule is broken anywhere.
pub(crate) fn is_broken(ring: &GroundRing, v: f64, span: (f64, f64), min_web: f64) -> bool {
    look(ring, v, span, min_web, Wanted::Any(None)).is_some()
}

/// The same where it is known what of the ring is calm.
pub(crate) fn is_broken_but_calm(
    ring: &GroundRing,
    v: f64,
    span: (f64, f64),
    min_web: f64,
    calm: &Calm,
) -> bool {
    !calm.holds(v) && look(ring, v, span, min_web, Wanted::Any(Some(calm))).is_some()
}

/// What is looked for.
#[derive(Clone, Copy)]
enum Wanted<'a> {
    /// The worst place.
    Worst,
    /// Any place; what is calm need not be looked at.
    Any(Option<&'a Calm>),
}

impl Wanted<'_> {
    const fn is_any(self) -> bool {
        matches!(self, Self::Any(_))
    }

    /// The stretches to look at, where that is worth to be known: with so many cuts.
    fn uneasy(self, v: f64, n_cuts: usize) -> Option<Vec<(f64, f64)>> {
        match self {
            Self::Any(Some(calm)) if n_cuts > MANY_CUTS => Some(calm.uneasy(v)),
            _ => None,
        }
    }
}

fn look(
    ring: &GroundRing,
    v: f64,
    span: (f64, f64),
    min_web: f64,
    wanted: Wanted<'_>,
) -> Option<Beside> {
    let b = ring.bounds;
    if v < b.min.y - min_web
        || v > b.max.y + min_web
        || span.1 < b.min.x - min_web
        || span.0 > b.max.x + min_web
    {
        return None;
    }
    let cuts = ring.cuts(v);
    let meets: Vec<Cut> = cuts
        .iter()
        .copied()
        .filter(|c| c.u >= span.0 - ROUNDING && c.u <= span.1 + ROUNDING)
        .collect();
    if let Some(flat) = meets
        .iter()
        .filter(|c| c.sine < LEAST_SINE)
        .min_by(|a, b| a.sine.total_cmp(&b.sine))
    {
        return Some(Beside::Flat(flat.u, flat.sine, flat.edge_idx));
    }
    let place = Place {
        ring,
        v,
        meets: &meets,
        need: min_web - ROUNDING,
    };
    let uneasy = wanted.uneasy(v, cuts.len());
    let mut worst: Option<(f64, f64, usize)> = None;
    for stretch in material(&cuts, ring.outer, span) {
        if uneasy.as_ref().is_some_and(|u| !touches(u, stretch)) {
            continue;
        }
        let mut ends = vec![stretch.0, stretch.1];
        ends.retain(|u| nearest(&cuts, *u) > JOINED);
        if wanted.is_any() {
            worst = place.any(stretch, &ends);
            if worst.is_some() {
                break;
            }
        } else {
            place.all(stretch, &ends, &mut worst);
        }
    }
    worst.map(|(u, width, k)| Beside::Narrow(u, width, k))
}

/// A line beside a ring.
struct Place<'a> {
    ring: &'a GroundRing,
    v: f64,
    meets: &'a [Cut],
    need: f64,
}

impl Place<'_> {
    /// The narrowest place beside a stretch, if it is narrower than the worst so far; of those of one width that on the first
    /// edge counts.
    fn all(&self, stretch: (f64, f64), ends: &[f64], worst: &mut Option<(f64, f64, usize)>) {
        let mut found = Vec::new();
        self.visit(stretch, ends, &mut |k| {
            found.push(k);
            false
        });
        found.sort_unstable();
        found.dedup();
        for k in found {
            self.narrower(k, stretch, ends, worst);
        }
    }

    /// Any place that is too narrow.
    fn any(&self, stretch: (f64, f64), ends: &[f64]) -> Option<(f64, f64, usize)> {
        let mut worst = None;
        self.visit(stretch, ends, &mut |k| {
            self.narrower(k, stretch, ends, &mut worst);
            worst.is_some()
        });
        worst
    }

    fn narrower(
        &self,
        k: usize,
        stretch: (f64, f64),
        ends: &[f64],
        worst: &mut Option<(f64, f64, usize)>,
    ) {
        let (edge, v, need) = (&self.ring.edges[k], self.v, self.need);
        let near = self.ring.boxes[k].grown(need);
        let is_near = near.min.y <= v
            && v <= near.max.y
            && near.min.x <= stretch.1
            && stretch.0 <= near.max.x;
        if !is_near {
            return;
        }
        narrowest(edge, k, v, stretch, self.meets, need, worst);
        for u in ends {
            let width = point_edge(Point::new(*u, v), edge).0;
            if width <= need && worst.is_none_or(|w| width < w.1) {
                *worst = Some((*u, width, k));
            }
        }
    }

    /// Visits the edges beside a stretch, without most of those that cannot be too near, until the visitor says yes.
    fn visit(&self, stretch: (f64, f64), ends: &[f64], visitor: &mut dyn FnMut(usize) -> bool) {
        let (v, meets, need) = (self.v, self.meets, self.need);
        let after = meets.partition_point(|c| c.u < (stretch.0 + stretch.1) / 2.0);
        let low = after.checked_sub(1).and_then(|k| meets.get(k));
        let low = low.map_or(f64::NEG_INFINITY, |c| c.u);
        let high = meets.get(after).map_or(f64::INFINITY, |c| c.u);
        // No place of the stretch lies farther from a meeting.
        let away = ((high - low) / 2.0)
            .min(stretch.1 - low)
            .min(high - stretch.0);
        let reach = need.min(away / WIDTHS) + ROUNDING;
        let line = Bounds::new(Point::new(stretch.0, v), Point::new(stretch.1, v)).grown(reach);
        let cone = 15.0_f64.sqrt();
        let admits = |b: Bounds| {
            // What is nearest to a place too narrow lies between the meetings, too.
            let (from, to) = (b.min.x.max(low - CLIPPED), b.max.x.min(high + CLIPPED));
            let along = |m: f64| (from - m).abs().max((to - m).abs());
            let aside = (b.min.y - v).max(v - b.max.y).max(0.0);
            from <= to && b.touches(line) && along(low).min(along(high)) > cone * aside
        };
        if self.ring.find_edge(admits, &mut *visitor) {
            return;
        }
        for u in ends {
            let place = Point::new(*u, v);
            let around = Bounds::new(place, place).grown(need + ROUNDING);
            if self.ring.find_edge(|b| b.touches(around), &mut *visitor) {
                return;
            }
        }
    }
}

/// How far a place is from the nearest of some that ascend.
fn nearest(cuts: &[Cut], u: f64) -> f64 {
    let after = cuts.partition_point(|c| c.u < u);
    let both = &cuts[after.saturating_sub(1)..(after + 1).min(cuts.len())];
    both.iter()
        .map(|c| (c.u - u).abs())
        .fold(f64::INFINITY, f64::min)
}

/// Stretches of the line on the material side of the ring, within the span.
fn material(cuts: &[Cut], outer: bool, span: (f64, f64)) -> Vec<(f64, f64)> {
    let mut ends: Vec<f64> = cuts.iter().map(|c| c.u).collect();
    if !outer {
        ends.insert(0, f64::NEG_INFINITY);
        ends.push(f64::INFINITY);
    }
    ends.chunks_exact(2)
        .map(|c| (c[0].max(span.0), c[1].min(span.1)))
        .filter(|s| s.1 > s.0)
        .collect()
}

fn narrowest(
    edge: &Edge,
    k: usize,
    v: f64,
    stretch: (f64, f64),
    meets: &[Cut],
    need: f64,
    worst: &mut Option<(f64, f64, usize)>,
) {
    let mut places = vec![stretch.0, stretch.1, (stretch.0 + stretch.1) / 2.0];
    for end in [edge.start, edge.end] {
        of_circle(end, v - end.y, need, &mut places);
    }
    match edge.curve {
        Curve::Line => of_line(edge, v, need, &mut places),
        Curve::Arc { center, radius, .. } => {
            let dv = v - center.y;
            of_circle(center, dv, radius + need, &mut places);
            of_circle(center, dv, radius - need, &mut places);
            for end in [edge.start, edge.end] {
                // Where the ray from the centre through the end meets the line.
                let out = end - center;
                if out.y != 0.0 {
                    places.push(center.x + dv * out.x / out.y);
                }
            }
        }
    }
    for u in places {
        if !(stretch.0..=stretch.1).contains(&u) {
            continue;
        }
        let width = point_edge(Point::new(u, v), edge).0;
        let away = nearest(meets, u);
        if width <= need + SLACK
            && away > WIDTHS * width + ROUNDING
            && worst.is_none_or(|w| width < w.1)
        {
            *worst = Some((u, width, k));
        }
    }
}

/// Places where the distance from a point is `distance`, and where it grows by a quarter along the line.
fn of_circle(center: Point, dv: f64, distance: f64, places: &mut Vec<f64>) {
    let squared = distance * distance - dv * dv;
    if distance > 0.0 && squared >= 0.0 {
        let half = squared.sqrt();
        places.extend([center.x - half, center.x + half]);
    }
    let slope = dv.abs() / 15.0_f64.sqrt();
    places.extend([center.x - slope, center.x, center.x + slope]);
}

/// Places where the distance from a straight edge is `need`, and where its nearest point passes an end.
fn of_line(edge: &Edge, v: f64, need: f64, places: &mut Vec<f64>) {
    let along = (edge.end - edge.start).unit();
    if along.y != 0.0 {
        // n·(p − start) = ±need with n = (−along.y, along.x).
        for side in [-need, need] {
            places.push(edge.start.x + ((v - edge.start.y) * along.x - side) / along.y);
        }
    }
    if along.x != 0.0 {
        for end in [edge.start, edge.end] {
            places.push(end.x - (v - end.y) * along.y / along.x);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{bounds::Bounds, region::Region, ring::Ring};
    use crate::model::cutter::Axis;
    use crate::seam::ground::Ground;
    use crate::seam::samples::layer_of;

    const S: crate::geometry::edge::SourceId = crate::geometry::edge::SourceId(0);

    fn plate_with(hole: Ring) -> Ground {
        let outer = Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(300.0, 200.0)),
            0.0,
            S,
        );
        Ground::new(&layer_of(vec![Region::new(outer, vec![hole])]), Axis::X)
    }

    fn worst(ground: &Ground, v: f64) -> Option<Beside> {
        ground
            .rings
            .iter()
            .find_map(|r| beside(r, v, (0.0, 300.0), 6.0))
    }

    #[test]
    fn a_seam_beside_a_hole_needs_the_web() {
        let ground = plate_with(Ring::circle(Point::new(150.0, 100.0), 20.0, S));
        assert_eq!(
            worst(&ground, 126.001),
            None,
            "6.001 mm from the hole's top at 120"
        );
        assert_eq!(
            worst(&ground, 125.9).map(|b| matches!(b, Beside::Narrow(..))),
            Some(true),
            "5.9 mm"
        );
        assert_eq!(
            worst(&ground, 119.5).map(|b| matches!(b, Beside::Flat(..))),
            Some(true),
            "sin = √(1 − 0.975²) = 0.222, below 1/4"
        );
        assert_eq!(
            worst(&ground, 119.3),
            None,
            "sin = √(1 − 0.965²) = 0.262, above 1/4"
        );
        assert_eq!(worst(&ground, 6.001), None, "beside the layer's edge");
        assert!(
            worst(&ground, 5.9).is_some(),
            "5.9 mm from the layer's edge, which it meets only at its ends"
        );
    }

    #[test]
    fn a_seam_through_a_pocket_with_sharp_corners_may_pass_close_to_its_side() {
        let ground = plate_with(Ring::rounded_box(
            Bounds::new(Point::new(100.0, 50.0), Point::new(200.0, 150.0)),
            0.0,
            S,
        ));
        assert_eq!(
            worst(&ground, 149.0),
            None,
            "inside the pocket; it meets both sides squarely"
        );
        assert!(worst(&ground, 151.0).is_some(), "1 mm beside the pocket");
    }
}
