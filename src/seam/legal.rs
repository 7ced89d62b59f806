//! Where a straight seam may run.
//!
//! In: a layer, the way its seams run, the stretch across it that is looked at, limits. Out: the intervals of base lines
//! that keep clear of locating holes and reliefs, leave `min_web` of material beside them, and meet edges at sound angles.
//!
//! 1. Each ring bars the positions at which the line breaks a rule beside it (see `beside`). The rule is asked
//!    between the positions at which it can change (ends of edges, tops of arcs, the same `min_web` aside, the flattest
//!    angle at an arc) and at steps of 2 mm between those; where the answer changes, the place is bisected. Rings of one
//!    shape that lie wholly in the span are looked at once, and nothing is looked at that cannot break a rule (see `calm`).
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
use crate::model::layer::Layer;
use crate::model::legal::{Interval, LegalSpace};
use crate::model::source::{SourceKind, meaning};
use crate::seam::beside::{Beside, LEAST_SINE, beside, is_broken, is_broken_but_calm};
use crate::seam::calm::Calm;
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
    let mut known: Vec<(usize, Vec<(f64, f64)>)> = Vec::new();
    for (k, ring) in ground.rings.iter().enumerate() {
        let inside = ring.bounds.min.x - layer.min_web > span.0
            && ring.bounds.max.x + layer.min_web < span.1;
        let twin = known.iter().find_map(|(of, found)| {
            inside
                .then(|| shift(&ground.rings[*of], ring).map(|by| (by, found)))
                .flatten()
        });
        if let Some((by, found)) = twin {
            barred.extend(found.iter().map(|f| (f.0 + by, f.1 + by)));
            continue;
        }
        let calm = Calm::new(ring, span, layer.min_web);
        let found = changes(&events(ring, layer.min_web), &|v| match &calm {
            None => is_broken(ring, v, span, layer.min_web),
            Some(calm) => is_broken_but_calm(ring, v, span, layer.min_web, calm),
        });
        barred.extend(&found);
        if inside {
            known.push((k, found));
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
    barred.extend(changes(&outer, &|v| !ground.is_filled(v, span)));
    let depth = depth_of(layer, options);
    LegalSpace {
        runs,
        intervals: between(barred, ground.bounds),
        reach_before: depth,
        reach_after: depth,
    }
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
    let mut add = |v: f64| out.extend([v - web, v, v + web]);
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

/// The intervals in which a rule says yes, from the positions at which it can change.
fn changes(events: &[f64], barred: &dyn Fn(f64) -> bool) -> Vec<(f64, f64)> {
    let mut at = events.to_vec();
    at.sort_by(f64::total_cmp);
    at.dedup_by(|a, b| *a - *b < BISECTED);
    let mut samples: Vec<(f64, bool)> = Vec::new();
    let mut look = |v: f64| samples.push((v, barred(v)));
    if let (Some(first), Some(last)) = (at.first(), at.last()) {
        look(first - STEP);
        for pair in at.windows(2) {
            let n = ((pair[1] - pair[0]) / STEP).ceil().max(1.0);
            (0..n as usize)
                .for_each(|k| look(pair[0] + (pair[1] - pair[0]) * (k as f64 + 0.5) / n));
        }
        look(last + STEP);
    }
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
fn word(source: SourceId) -> String {
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
