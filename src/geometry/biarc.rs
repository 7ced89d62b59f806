//! Smooth curves as chains of arcs.
//!
//! In: a curve with a position and a direction for each parameter. Out: lines and circular arcs from its start to its end,
//! nowhere farther than `tolerance::FLAT_FIT` from it, which turn smoothly into one another where the curve is smooth.
//!
//! Steps, for each stretch between two breaks of the curve:
//! 1. What bends by less than coincidence is one line.
//! 2. Else two arcs that leave along the curve's directions at both ends and meet in a common tangent, both with tangents
//!    of one length.
//! 3. The curve is asked at fifteen places between; where it is farther off than the budget the stretch is halved.
//!
//! Between probes the distance has at most a few humps, so it exceeds what was seen by a few percent; the budget is taken
//! with a tenth in hand.
//!
//! Source: the construction from two points, two tangents and tangents of one length is common knowledge of biarcs; the
//! quadratic for that length is derived in `pair`.

use crate::geometry::distance::point_edge;
use crate::geometry::edge::{Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::{COINCIDENT, FLAT_FIT};

/// Places of a stretch at which the distance is measured.
const PROBES: usize = 15;

/// Share of the budget that probes may see.
const IN_HAND: f64 = 0.9;

/// Most edges for one stretch between two breaks: a curve of a kilometre takes some thousand.
const MOST_EDGES: usize = 20_000;

/// Radius in mm from which an arc is a line: over a chord of 1 m it bends by 1.25e-4 mm, a fortieth of what cut geometry
/// may err. Larger circles have centres so far off that rounding there (1e9 · 2⁻⁵² ≈ 2e-7) would reach coincidence.
pub const STRAIGHT_RADIUS: f64 = 1.0e9;

/// A curve that is smooth between its breaks.
pub trait Smooth {
    /// The point at a parameter.
    fn at(&self, t: f64) -> Point;
    /// The derivative there, in the direction of a growing parameter, on the side on which `toward` lies; may vanish at a
    /// cusp.
    fn slope(&self, t: f64, toward: f64) -> Point;
    /// The parameters between which it is smooth: ascending, two or more, its ends first and last.
    fn breaks(&self) -> Vec<f64>;
}

/// Lines and arcs along a curve, in mm; a curve without length gives none. `None` where the curve is not finite, or would
/// take more than 20,000 edges for one stretch. With more than `most` edges in all the rest of the curve is left out.
pub fn arcs(curve: &dyn Smooth, source: SourceId, most: u64) -> Option<Vec<Edge>> {
    let mut out = Vec::new();
    let breaks = curve.breaks();
    for pair in breaks.windows(2) {
        if out.len() as u64 > most {
            break;
        }
        let fit = Fit { curve, source };
        let (from, to) = (fit.end(pair[0], pair[1]), fit.end(pair[1], pair[0]));
        let most = out.len() + MOST_EDGES;
        fit.stretch(from, to, most, &mut out)?;
    }
    Some(out)
}

/// An end of a stretch.
#[derive(Clone, Copy)]
struct End {
    t: f64,
    at: Point,
    /// Unit direction of travel.
    along: Point,
}

struct Fit<'a> {
    curve: &'a dyn Smooth,
    source: SourceId,
}

impl Fit<'_> {
    /// The end of a stretch at `t` that goes on to `other`.
    fn end(&self, t: f64, other: f64) -> End {
        let at = self.curve.at(t);
        let span = other - t;
        let slope = self.curve.slope(t, other);
        let reach = self.curve.at(other).distance(at);
        let along = if slope.length() * span.abs() > 1e-6 * reach {
            slope.unit()
        } else {
            // A cusp: the direction is that of the way a little further on, forward in the parameter.
            let near = self.curve.at(t + 1e-4 * span);
            (near - at).unit() * span.signum()
        };
        End { t, at, along }
    }

    /// `most` is how many edges there may be in all.
    fn stretch(&self, from: End, to: End, most: usize, out: &mut Vec<Edge>) -> Option<()> {
        let probes: [Point; PROBES] = std::array::from_fn(|k| {
            let share = (k + 1) as f64 / (PROBES + 1) as f64;
            self.curve.at(from.t + (to.t - from.t) * share)
        });
        let length: f64 = {
            let ends = [to.at];
            let mut last = from.at;
            probes
                .iter()
                .chain(&ends)
                .map(|p| {
                    let step = p.distance(last);
                    last = *p;
                    step
                })
                .sum()
        };
        if !length.is_finite() || out.len() >= most {
            return None;
        }
        if length <= COINCIDENT {
            return Some(());
        }
        let line = Edge::line(from.at, to.at, self.source);
        let within = |edges: &[Edge], budget: f64| {
            // The middle first: it is most often the place that is farthest off.
            let (before, after) = probes.split_at(PROBES / 2);
            after.iter().chain(before).all(|p| {
                let nearest = edges.iter().map(|e| point_edge(*p, e).0);
                nearest.fold(f64::INFINITY, f64::min) <= budget
            })
        };
        // A line is only for what is one, or is too short to bend.
        let budget = if length <= FLAT_FIT {
            f64::INFINITY
        } else {
            0.5 * COINCIDENT
        };
        if within(&[line], budget) {
            if from.at.distance(to.at) > COINCIDENT {
                out.push(line);
                return Some(());
            }
            if budget.is_infinite() {
                // The next stretch begins where this one began: no gap beyond coincidence.
                return Some(());
            }
        }
        let pair = pair(from, to, self.source);
        if let Some(pair) = &pair
            && within(pair, IN_HAND * FLAT_FIT)
        {
            out.extend(pair);
            return Some(());
        }
        let t = (from.t + to.t) / 2.0;
        let middle = self.end(t, to.t);
        self.stretch(from, middle, most, out)?;
        self.stretch(middle, to, most, out)
    }
}

/// Two arcs that leave along the ends' directions and meet in a common tangent.
///
/// With v from start to end, t and u the directions, and d the length of both tangents, the joint lies in the middle of
/// the tangents' tips, which are 2 d apart: |v − d (t + u)|² = 4 d². So d = v² / (v·(t + u) + √((v·(t + u))² + v² (4 − |t + u|²))).
fn pair(from: End, to: End, source: SourceId) -> Option<[Edge; 2]> {
    let (v, w) = (to.at - from.at, from.along + to.along);
    let (vv, vw) = (v.length_squared(), v.dot(w));
    let root = (vw * vw + vv * (4.0 - w.length_squared()).max(0.0)).sqrt();
    let d = vv / (vw + root);
    if !d.is_finite() || d <= 0.0 {
        return None;
    }
    let joint = (from.at + from.along * d).toward(to.at - to.along * d, 0.5);
    let first = tangent_arc(from.at, from.along, joint, source)?;
    // The second is found from its end, backwards.
    let second = tangent_arc(to.at, -to.along, joint, source)?.reversed();
    Some([first, second])
}

/// The arc that leaves a point in a direction and goes through another, or the line.
fn tangent_arc(at: Point, along: Point, through: Point, source: SourceId) -> Option<Edge> {
    let chord = through - at;
    let length = chord.length();
    if length <= COINCIDENT {
        return None;
    }
    let aside = along.left().dot(chord);
    // |c|² = 2 r (n·c): the centre lies at r n.
    if aside == 0.0 || length * length > 2.0 * STRAIGHT_RADIUS * aside.abs() {
        return (along.dot(chord) > 0.0).then(|| Edge::line(at, through, source));
    }
    let r = length * length / (2.0 * aside);
    let center = at + along.left() * r;
    Some(Edge::arc(at, through, center, r.abs(), r > 0.0, source))
}
