//! Where a straight seam may run.
//!
//! In: a layer, the way its seams run, the stretch across it that is looked at, limits. Out: the intervals of base lines
//! that keep clear of locating holes and reliefs, leave `min_web` of material beside them, and meet edges at sound angles.
//!
//! 1. Each ring bars the positions at which the line breaks a rule beside it (see `beside`). The rule is asked
//!    between the positions at which it can change (ends of edges, tops of arcs, the same `min_web` aside, the flattest
//!    angle at an arc) and at steps of 2 mm between those; where the answer changes, the place is bisected. Rings of one
//!    shape that lie wholly in the span are looked at once, and nothing is looked at that cannot break a rule (see `calm`).
//!    Where the line would pass the ring so often that all looks together took too long it is barred (see `crowd`).
//! 2. Each hole bars the positions nearer than `keep_clear`.
//! 3. What is left, drawn in by 0.01 mm at each end, is legal where the line passes through the layer at all.
//!
//! A ring bars a position even where another opening lies between: on the safe side.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;
use crate::geometry::{angle, units};
use crate::model::cutter::Axis;
use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::legal::{Interval, LegalSpace};
use crate::model::source::{SourceKind, meaning};
use crate::seam::beside::{Beside, LEAST_SINE, beside, is_broken, is_broken_but_calm};
use crate::seam::calm::{Calm, joined, touches};
use crate::seam::crowd::{self, Crowd};
use crate::seam::error::{Line, SeamFault};
use crate::seam::ground::{Ground, GroundRing, Round, turned};
use crate::seam::options::Options;
use crate::seam::teeth::depth_of;

/// Positions are looked at in steps no longer than this; a change of the rule between two of them that no edge announces
/// comes only from a ring that the end of the span cuts.
const STEP: f64 = 2.0;
/// To this the ends of intervals are bisected.
const BISECTED: f64 = 0.002;
/// An edge so near to the rim of a round hole runs along it.
const RIM: f64 = 1e-6;
/// By this intervals are drawn in at both ends.
const SAFETY: f64 = 0.01;

/// The positions in which the base line of a straight seam of the layer may lie, over the span along it.
///
/// # Guarantees
/// A straight seam at any position of an interval, from end to end of the span, keeps `keep_clear`, `min_web` and angles
/// of 14.5°. An end of the span that lies in material counts as an end on another seam and keeps `min_web` from every
/// edge. For seams across a strip the span is the strip. Intervals are found to 0.02 mm.
pub fn legal_space(layer: &Layer, runs: Axis, span: (f64, f64), options: &Options) -> LegalSpace {
    let ground = Ground::new(layer, runs);
    let mut barred: Vec<(f64, f64)> = Vec::new();
    let mut crowded: Vec<(f64, f64)> = Vec::new();
    let mut given_up: Option<Interval> = None;
    let mut known: Vec<(usize, Barred)> = Vec::new();
    for (k, ring) in ground.rings.iter().enumerate() {
        let inside = ring.bounds.min.x - layer.min_web > span.0
            && ring.bounds.max.x + layer.min_web < span.1;
        let twin = known.iter().find_map(|(of, (found, unseen))| {
            inside
                .then(|| shift(&ground.rings[*of], ring).map(|by| (by, found, unseen)))
                .flatten()
        });
        if let Some((by, found, unseen)) = twin {
            barred.extend(found.iter().map(|f| (f.0 + by, f.1 + by)));
            given_up = around_both(given_up, unseen.map(|i| interval(i.low + by, i.high + by)));
            continue;
        }
        let budget = crowd::share(ring.edges.len(), ground.index.entries().len());
        let (found, unseen) = beside_ring(ring, span, layer.min_web, budget);
        barred.extend(&found);
        given_up = around_both(given_up, unseen);
        if unseen.is_some() && ring.outer {
            crowded.extend(&found);
        }
        if inside {
            known.push((k, (found, unseen)));
        }
    }
    barred.extend(
        ground
            .rounds
            .iter()
            .filter_map(|r| too_near(r, span, options.limits.keep_clear)),
    );
    let outer: Vec<f64> = ground
        .rings
        .iter()
        .filter(|r| r.outer)
        .flat_map(|r| events(r, 0.0))
        .collect();
    crowded.sort_by(|a, b| a.0.total_cmp(&b.0));
    let crowded = joined(crowded);
    barred.extend(changes(&samples(outer), &|v| {
        touches(&crowded, (v, v)) || !ground.is_filled(v, span)
    }));
    let depth = depth_of(layer, options);
    LegalSpace {
        runs,
        intervals: between(barred, ground.bounds),
        given_up,
        reach_before: depth,
        reach_after: depth,
    }
}

/// Tells that somewhere no seam was looked for, because the outline is so crowded there.
pub fn given_up(layer: &str, space: &LegalSpace) -> Option<Finding> {
    let Interval { low, high } = space.given_up?;
    let what = format!(
        "layer `{layer}`: seams along {} were not looked for at places between {} = {low:.1} and {high:.1}: a line there passes an outline thousands of times",
        space.runs.word(),
        space.runs.other().word(),
    );
    let hint = "draw the outline with fewer strokes or curves where the layer is to be split";
    let place = format!("layer {layer}");
    Some(Finding::new("S115", what, place, hint))
}

const fn interval(low: f64, high: f64) -> Interval {
    Interval { low, high }
}

/// The least interval around two.
fn around_both(a: Option<Interval>, b: Option<Interval>) -> Option<Interval> {
    match (a, b) {
        (Some(a), Some(b)) => Some(interval(a.low.min(b.low), a.high.max(b.high))),
        (a, b) => a.or(b),
    }
}

/// What a ring bars: from and to which positions, and between which some were not looked at.
type Barred = (Vec<(f64, f64)>, Option<Interval>);

/// The positions that a ring bars, and between which some are barred because a line passes it too often there.
fn beside_ring(ring: &GroundRing, span: (f64, f64), min_web: f64, budget: u64) -> Barred {
    let calm = Calm::new(ring, span, min_web);
    let is_calm = |v: f64| calm.as_ref().is_some_and(|calm| calm.holds(v));
    let is_barred = |v: f64| match &calm {
        None => is_broken(ring, v, span, min_web),
        Some(calm) => is_broken_but_calm(ring, v, span, min_web, calm),
    };
    let samples = samples(events(ring, min_web));
    if samples.len() as u64 * ring.edges.len() as u64 <= budget {
        return (changes(&samples, &is_barred), None);
    }
    let crowd = Crowd::new(ring);
    let passes = |v: &f64| if is_calm(*v) { 0 } else { crowd.passes(*v) };
    let Some(most) = crowd::most_passes(samples.iter().map(passes).collect(), budget) else {
        return (changes(&samples, &is_barred), None);
    };
    let unseen = samples.iter().filter(|v| passes(v) > most);
    let unseen = unseen
        .map(|v| Some(interval(*v, *v)))
        .fold(None, around_both);
    let found = changes(&samples, &|v| passes(&v) > most || is_barred(v));
    (found, unseen)
}

/// What is left of the layer's extent across the seams, drawn in.
fn between(mut barred: Vec<(f64, f64)>, bounds: Bounds) -> Vec<Interval> {
    barred.sort_by(|a, b| a.0.total_cmp(&b.0));
    barred.push((bounds.max.y, f64::INFINITY));
    let mut out = Vec::new();
    let mut from = bounds.min.y;
    for (low, high) in barred {
        let interval = Interval {
            low: from + SAFETY,
            high: low.min(bounds.max.y) - SAFETY,
        };
        if interval.high > interval.low {
            out.push(interval);
        }
        from = from.max(high);
    }
    out
}

/// By how much one ring lies further across the seams than another of the same shape; `None` where shapes differ.
fn shift(of: &GroundRing, ring: &GroundRing) -> Option<f64> {
    let by = ring.bounds.min - of.bounds.min;
    let near = |a: Point, b: Point| (a + by - b).length_squared() < COINCIDENT * COINCIDENT;
    let same = of.outer == ring.outer
        && of.edges.len() == ring.edges.len()
        && of.edges.iter().zip(&ring.edges).all(|(a, b)| {
            near(a.start, b.start)
                && match (a.curve, b.curve) {
                    (Curve::Line, Curve::Line) => true,
                    (
                        Curve::Arc {
                            center: c,
                            radius: r,
                            ccw: x,
                        },
                        Curve::Arc {
                            center: d,
                            radius: s,
                            ccw: y,
                        },
                    ) => near(c, d) && (r - s).abs() < COINCIDENT && x == y,
                    _ => false,
                }
        });
    same.then_some(by.y)
}

/// Positions at which a rule beside a ring can change, ascending.
fn events(ring: &GroundRing, web: f64) -> Vec<f64> {
    let mut out = Vec::new();
    let mut add = |v: f64| {
        out.push(v);
        if web > 0.0 {
            out.extend([v - web, v + web]);
        }
    };
    // cos 14.5°: across the seam an arc is met at that angle so many radii from its centre.
    let flattest = (1.0 - LEAST_SINE * LEAST_SINE).sqrt();
    for edge in &ring.edges {
        add(edge.start.y);
        if let Curve::Arc { center, radius, .. } = edge.curve {
            for r in [radius, radius * flattest] {
                add(center.y - r);
                add(center.y + r);
            }
        }
    }
    out
}

/// Positions between those at which a rule can change, and beyond them, ascending.
fn samples(events: Vec<f64>) -> Vec<f64> {
    let mut at = events;
    at.sort_unstable_by(f64::total_cmp);
    at.dedup_by(|a, b| *a - *b < BISECTED);
    let mut out = Vec::new();
    if let (Some(first), Some(last)) = (at.first(), at.last()) {
        out.push(first - STEP);
        for pair in at.windows(2) {
            let n = ((pair[1] - pair[0]) / STEP).ceil().max(1.0);
            let place = |k: usize| pair[0] + (pair[1] - pair[0]) * (k as f64 + 0.5) / n;
            out.extend((0..n as usize).map(place));
        }
        out.push(last + STEP);
    }
    out
}

/// The intervals in which a rule says yes, from positions between which it changes once at most.
fn changes(samples: &[f64], barred: &dyn Fn(f64) -> bool) -> Vec<(f64, f64)> {
    let samples: Vec<(f64, bool)> = samples.iter().map(|v| (*v, barred(*v))).collect();
    let mut out = Vec::new();
    let mut from = f64::NEG_INFINITY;
    for pair in samples.windows(2) {
        if pair[0].1 != pair[1].1 {
            let (no, yes) = if pair[0].1 {
                (pair[1].0, pair[0].0)
            } else {
                (pair[0].0, pair[1].0)
            };
            let end = bisect(no, yes, barred);
            if pair[0].1 {
                out.push((from, end));
            } else {
                from = end;
            }
        }
    }
    if samples.last().is_some_and(|s| s.1) {
        out.push((from, f64::INFINITY));
    }
    out
}

/// The position nearest to `yes` at which the rule is known to say no.
fn bisect(mut no: f64, mut yes: f64, barred: &dyn Fn(f64) -> bool) -> f64 {
    while (yes - no).abs() > BISECTED {
        let middle = (no + yes) / 2.0;
        if barred(middle) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    no
}

/// The positions nearer to a hole than `keep_clear`: an interval, since hole and span are convex.
fn too_near(round: &Round, span: (f64, f64), keep_clear: f64) -> Option<(f64, f64)> {
    let reach = round.reach(keep_clear);
    if span.1 < reach.min.x || span.0 > reach.max.x {
        return None;
    }
    if span.0 <= reach.min.x + keep_clear && span.1 >= reach.max.x - keep_clear {
        return Some((reach.min.y, reach.max.y));
    }
    let near = |v: f64| round.distance(&level(v, span)) < keep_clear;
    let n = ((reach.max.y - reach.min.y) / 0.25).ceil();
    let at = |k: f64| reach.min.y + (reach.max.y - reach.min.y) * k / n;
    let first = (0..=n as usize).map(|k| at(k as f64)).find(|v| near(*v))?;
    let last = (0..=n as usize)
        .rev()
        .map(|k| at(k as f64))
        .find(|v| near(*v))?;
    Some((
        bisect(first - 0.25, first, &near),
        bisect(last + 0.25, last, &near),
    ))
}

/// The level line over a span.
pub(crate) fn level(v: f64, span: (f64, f64)) -> Edge {
    Edge::line(
        Point::new(span.0, v),
        Point::new(span.1, v),
        SourceId::default(),
    )
}

/// What is wrong with a straight seam of the layer on this base line, over the span.
pub(crate) fn fault_of(
    layer: &Layer,
    ground: &Ground,
    v: f64,
    span: (f64, f64),
    options: &Options,
) -> Option<SeamFault> {
    let line = Line {
        layer: layer.name.clone(),
        runs: ground.runs,
        at: v,
    };
    let stretches = ground.filled(v, span);
    if stretches.is_empty() {
        return Some(SeamFault::Idle { line });
    }
    let limit = options.limits.keep_clear;
    for round in &ground.rounds {
        let measured = stretches
            .iter()
            .map(|s| round.distance(&level(v, *s)))
            .fold(f64::INFINITY, f64::min);
        if measured < limit - COINCIDENT {
            let what = round_word(ground, round);
            return Some(SeamFault::TooNear {
                line,
                what,
                place: round.center,
                measured,
                limit,
            });
        }
    }
    let (ring, found) = ground
        .rings
        .iter()
        .find_map(|r| beside(r, v, span, layer.min_web).map(|b| (r, b)))?;
    let place = |u: f64| turned(Point::new(u, v), ground.runs);
    let what = |edge: usize| word(ring.edges[edge].source);
    Some(match found {
        Beside::Narrow(u, measured, edge) => SeamFault::ThinWeb {
            line,
            what: what(edge),
            place: place(u),
            measured,
            limit: layer.min_web,
        },
        Beside::Flat(u, sine, edge) => SeamFault::FlatAngle {
            line,
            what: what(edge),
            place: place(u),
            measured: units::degrees(angle::asin(sine)),
            limit: units::degrees(angle::asin(LEAST_SINE)),
        },
    })
}

/// What an edge came from, for a message, with its number where the job has several: locating holes and reliefs in the order
/// of the job, pockets row by row from the front left, openings in the order of the job.
pub(crate) fn word(source: SourceId) -> String {
    let (kind, index) = meaning(source);
    match kind {
        SourceKind::Outline => "outline".to_owned(),
        SourceKind::Drawn => "drawn edge".to_owned(),
        SourceKind::Locating => format!("locating hole {}", index + 1),
        SourceKind::Relief => format!("relief {}", index + 1),
        SourceKind::Pocket => format!("pocket {}", index + 1),
        SourceKind::Notch => format!("notch of pocket {}", index + 1),
        SourceKind::Opening => format!("opening {}", index + 1),
        _ => "edge".to_owned(),
    }
}

/// What a locating hole or relief is called: by the edge of the layer that runs along its rim, which knows its number.
fn round_word(ground: &Ground, round: &Round) -> String {
    let kind = if round.locating {
        SourceKind::Locating
    } else {
        SourceKind::Relief
    };
    let rim = |e: &Edge| meaning(e.source).0 == kind && round.distance(e).abs() < RIM;
    let entries = ground.index.entries();
    entries.iter().find(|e| rim(&e.edge)).map_or_else(
        || {
            if round.locating {
                "locating hole"
            } else {
                "relief"
            }
            .to_owned()
        },
        |e| word(e.edge.source),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::region::Region;
    use crate::geometry::ring::Ring;
    use crate::seam::samples::layer_of;

    /// Forty teeth of 20 mm, 20 mm apart, of eleven heights.
    fn comb() -> Ring {
        let mut points: Vec<Point> = Vec::new();
        for k in 0..40 {
            let x = 40.0 * f64::from(k);
            let top = 100.0 + 3.0 * f64::from(k * 7 % 11);
            let tooth = [(x, 20.0), (x, top), (x + 20.0, top), (x + 20.0, 20.0)];
            points.extend(tooth.map(|(u, v)| Point::new(u, v)));
        }
        points.extend([Point::new(1580.0, 0.0), Point::new(0.0, 0.0)]);
        Ring::polygon(&points, SourceId(0)).unwrap()
    }

    #[test]
    fn what_is_not_looked_at_is_barred_and_the_rest_is_as_it_was() {
        let ground = Ground::new(&layer_of(vec![Region::solid(comb())]), Axis::X);
        let ring = &ground.rings[0];
        let span = (ring.bounds.min.x, ring.bounds.max.x);
        let (all, none_given_up) = beside_ring(ring, span, 6.0, u64::MAX);
        let (fewer, some_given_up) = beside_ring(ring, span, 6.0, 500);
        assert!(none_given_up.is_none() && some_given_up.is_some());
        let holds = |found: &[(f64, f64)], v: f64| found.iter().any(|f| f.0 <= v && v <= f.1);
        let is_end = |v: f64| {
            let mut ends = all.iter().chain(&fewer).flat_map(|f| [f.0, f.1]);
            ends.any(|end| (end - v).abs() < 2.0 * BISECTED)
        };
        let (mut n_more, mut n_free) = (0, 0);
        for k in 0..4000 {
            let v = ring.bounds.max.y * f64::from(k) / 4000.0;
            if is_end(v) {
                continue;
            }
            let (before, after) = (holds(&all, v), holds(&fewer, v));
            assert!(after || !before, "barred at {v} no more");
            n_more += u32::from(after && !before);
            n_free += u32::from(!after);
        }
        assert!(n_more > 50 && n_free > 50, "{n_more} more, {n_free} free");
    }

    #[test]
    fn hundreds_of_strokes_are_looked_at_and_thousands_are_not() {
        // Strokes across a band of 60 mm, side by side: a line passes all of them, and all end in other places.
        let zigzag = |n: usize| {
            let end = |k: usize| 3.0 * ((k * 7919 % n) as f64) / n as f64;
            let up =
                (0..n).map(|k| Point::new(0.05 * k as f64, 5.0 + end(k) + (k % 2) as f64 * 60.0));
            let last = 0.05 * n as f64;
            let below = [Point::new(last, 0.0), Point::new(0.0, 0.0)];
            Ring::polygon(&up.chain(below).collect::<Vec<_>>(), SourceId(0)).unwrap()
        };
        for (n, gives_up) in [(200, false), (6000, true)] {
            let ground = Ground::new(&layer_of(vec![Region::solid(zigzag(n))]), Axis::X);
            let ring = &ground.rings[0];
            let span = (ring.bounds.min.x, ring.bounds.max.x);
            let budget = crowd::share(ring.edges.len(), ring.edges.len());
            let (_, unseen) = beside_ring(ring, span, 6.0, budget);
            assert_eq!(unseen.is_some(), gives_up, "{n} strokes");
            // All strokes reach from 8 to 65 at least, and no farther than from 5 to 68.
            let within = |i: Interval| i.low > 4.9 && i.low < 9.0 && i.high > 64.0 && i.high < 68.1;
            assert!(unseen.is_none_or(within), "{unseen:?}");
        }
    }
}
