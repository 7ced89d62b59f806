//! Estimate of the time that a sheet takes.
//!
//! In: what is followed, in order, and the machine's pace. Out: seconds.
//!
//! Steps: a stroke is divided into runs at corners sharper than `STOP`; the machine stands still at both ends of a run.
//! Within one, each edge has its limit of speed (the cutting speed, on an arc also √(a·R)) and each joint the lower of its
//! neighbours'; a pass from the front and one from the back bring the speeds at the joints down to what the acceleration
//! reaches. Each edge then takes the time of a trapezoid from its entry to its exit speed. Between strokes the machine
//! travels from rest to rest at the travel speed; every cut contour is pierced once.
//!
//! An estimate, for planning a day: no machine setting follows from it.
//!
//! Source: uniformly accelerated motion; radial acceleration v²/R.

use crate::geometry::{
    angle,
    edge::{Curve, Edge},
    point::Point,
};
use crate::model::cut_path::{CutPath, Operation, Stroke};
use crate::model::cutter::Pace;

/// Turn of the direction of travel, in radians, above which a machine stops: 20°, common practice, no source.
const STOP: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// Seconds for a straight move of length `s` that enters at speed `v0` and leaves at `v1`, at most `v` fast.
///
/// # Guarantees
/// Where `v1` cannot be reached within `s`, the caller's passes have not done their work; the result is then that of the
/// peak speed held at `v`.
fn move_s(s: f64, v0: f64, v1: f64, v: f64, a: f64) -> f64 {
    // Speed at which the accelerating and the braking part of a move without a level part meet.
    let peak = ((2.0 * a * s + v0 * v0 + v1 * v1) / 2.0)
        .sqrt()
        .max(v0)
        .max(v1);
    if peak <= v {
        return (peak - v0) / a + (peak - v1) / a;
    }
    let level = s - (2.0 * v * v - v0 * v0 - v1 * v1) / (2.0 * a);
    (v - v0) / a + (v - v1) / a + level / v
}

/// Seconds for a move from rest to rest.
pub(crate) fn rest_to_rest_s(length: f64, speed: f64, acceleration: f64) -> f64 {
    move_s(length, 0.0, 0.0, speed, acceleration)
}

/// The most speed on an edge.
pub(crate) fn limit(edge: &Edge, speed: f64, acceleration: f64) -> f64 {
    match edge.curve {
        Curve::Line => speed,
        Curve::Arc { radius, .. } => speed.min((acceleration * radius).sqrt()),
    }
}

/// Seconds for edges that are followed without a stop.
fn run_s(edges: &[Edge], speed: f64, acceleration: f64) -> f64 {
    let limits: Vec<f64> = edges
        .iter()
        .map(|e| limit(e, speed, acceleration))
        .collect();
    let lengths: Vec<f64> = edges.iter().map(Edge::length).collect();
    let n = edges.len();
    let mut at = vec![0.0; n + 1];
    for i in 1..n {
        let reached: f64 = at[i - 1] * at[i - 1] + 2.0 * acceleration * lengths[i - 1];
        at[i] = reached.sqrt().min(limits[i - 1]).min(limits[i]);
    }
    for i in (1..n).rev() {
        let reached: f64 = at[i + 1] * at[i + 1] + 2.0 * acceleration * lengths[i];
        at[i] = at[i].min(reached.sqrt());
    }
    (0..n)
        .map(|i| move_s(lengths[i], at[i], at[i + 1], limits[i], acceleration))
        .sum()
}

/// Seconds for a chain of edges from rest to rest, with stops at its corners.
pub(crate) fn chain_s(edges: &[Edge], speed: f64, acceleration: f64) -> f64 {
    let mut total = 0.0;
    let mut from = 0;
    for i in 1..=edges.len() {
        if i == edges.len() || turn(&edges[i - 1], &edges[i]) > STOP {
            total += run_s(&edges[from..i], speed, acceleration);
            from = i;
        }
    }
    total
}

/// By how much the direction of travel turns from one edge to the next, unsigned.
fn turn(before: &Edge, after: &Edge) -> f64 {
    let (a, b) = (before.end_tangent(), after.start_tangent());
    angle::atan2(a.cross(b), a.dot(b)).abs()
}

/// Seconds for all paths of a sheet in their order, beginning at `home`.
pub(crate) fn sheet_s(paths: &[CutPath], home: Point, pace: &Pace) -> f64 {
    let mut at = home;
    let mut total = 0.0;
    for path in paths.iter().filter(|p| p.operation != Operation::Sheet) {
        let start = path.stroke.start();
        total += rest_to_rest_s(at.distance(start), pace.travel_speed, pace.acceleration);
        let (edges, end) = match &path.stroke {
            Stroke::Closed(ring) => (ring.edges(), start),
            Stroke::Open(open) => (open.edges(), open.end()),
        };
        if path.operation != Operation::Engrave {
            total += pace.pierce_s;
        }
        total += chain_s(edges, pace.speed, pace.acceleration);
        at = end;
    }
    total
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;
    use crate::geometry::{bounds::Bounds, edge::SourceId, path::Path, ring::Ring};

    fn rectangle(w: f64, h: f64) -> Ring {
        Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(w, h)),
            0.0,
            SourceId(0),
        )
    }

    #[test]
    fn long_just_long_enough_and_short_moves_take_their_closed_forms() {
        // s ≥ v²/a: s/v + v/a; else 2·√(s/a); v = 50, a = 1000, so v²/a = 2.5. By hand: 2.05, 0.1, 2·√0.001.
        for (s, want) in [(100.0, 2.05), (2.5, 0.1), (1.0, 0.063_245_553_203_367_58)] {
            let got = rest_to_rest_s(s, 50.0, 1000.0);
            assert!(
                (got - want).abs() < 1e-12,
                "{s}: {got}, rounding of a few sums near 2"
            );
        }
    }

    #[test]
    fn arcs_are_held_to_the_radial_acceleration() {
        let arc = Edge::arc(
            Point::new(1.0, 0.0),
            Point::new(-1.0, 0.0),
            Point::new(0.0, 0.0),
            1.0,
            true,
            SourceId(0),
        );
        // √(1000 · 1) = 31.6227766…
        assert!(
            (limit(&arc, 100.0, 1000.0) - 31.622_776_601_683_793).abs() < 1e-12,
            "closed form; one rounding of √"
        );
        assert_eq!(limit(&arc, 12.0, 1000.0), 12.0);
    }

    #[test]
    fn a_rectangle_with_a_stop_at_each_corner_takes_four_moves() {
        let got = chain_s(rectangle(85.16, 54.16).edges(), 12.0, 500.0);
        // By hand: (2·85.16 + 2·54.16)/12 + 4·12/500 = 23.22 + 0.096 = 23.316.
        assert!((got - (278.64 / 12.0 + 0.096)).abs() < 1e-9, "{got}");
        assert!((got - 23.316).abs() < 5e-4, "{got}");
    }

    /// Independent method: small steps of time, speed held to what still lets the machine brake for all that comes.
    #[test]
    fn a_run_over_small_arcs_agrees_with_stepping_through_it() {
        let r = 2.0;
        let line = |a: (f64, f64), b: (f64, f64)| {
            Edge::line(Point::new(a.0, a.1), Point::new(b.0, b.1), SourceId(0))
        };
        let edges = [
            line((0.0, 0.0), (30.0, 0.0)),
            Edge::arc(
                Point::new(30.0, 0.0),
                Point::new(32.0, 2.0),
                Point::new(30.0, 2.0),
                r,
                true,
                SourceId(0),
            ),
            line((32.0, 2.0), (32.0, 3.0)),
            Edge::arc(
                Point::new(32.0, 3.0),
                Point::new(34.0, 5.0),
                Point::new(34.0, 3.0),
                r,
                false,
                SourceId(0),
            ),
            line((34.0, 5.0), (60.0, 5.0)),
        ];
        let (speed, a) = (80.0, 600.0);
        let got = chain_s(&edges, speed, a);
        let mut ends = vec![0.0];
        ends.extend(edges.iter().scan(0.0, |sum, e| {
            *sum += e.length();
            Some(*sum)
        }));
        let total: f64 = *ends.last().unwrap();
        let limits: Vec<f64> = edges.iter().map(|e| limit(e, speed, a)).collect();
        let allowed = |s: f64| {
            let mut v = (2.0 * a * (total - s)).max(0.0).sqrt();
            for i in 0..edges.len() {
                if s < ends[i + 1] {
                    v = v.min((limits[i] * limits[i] + 2.0 * a * (ends[i] - s).max(0.0)).sqrt());
                }
            }
            v
        };
        let (mut s, mut v, mut t): (f64, f64, f64) = (0.0, 0.0, 0.0);
        let dt = 1e-5;
        while s < total - 1e-3 {
            v = (v + a * dt).min(allowed(s)).max(1e-2);
            s += v * dt;
            t += dt;
        }
        // The steps stop 1e-3 mm short at √(2·600·1e-3) mm/s, 1.8 ms from rest, and follow each limit a step late.
        assert!((got - t).abs() < 4e-3, "{got} {t}");
    }

    #[test]
    fn a_sheet_adds_pierces_and_rapids_and_leaves_its_outline_out() {
        let pace = Pace {
            speed: 12.0,
            travel_speed: 50.0,
            acceleration: 500.0,
            pierce_s: 0.3,
        };
        let cut = |operation, stroke| CutPath {
            operation,
            stroke,
            piece: None,
        };
        let mark = Path::new(vec![Edge::line(
            Point::new(10.0, 10.0),
            Point::new(34.0, 10.0),
            SourceId(0),
        )])
        .unwrap();
        let paths = [
            cut(Operation::Engrave, Stroke::Open(mark)),
            cut(Operation::CutOuter, Stroke::Closed(rectangle(85.16, 54.16))),
            cut(Operation::Sheet, Stroke::Closed(rectangle(600.0, 400.0))),
        ];
        let got = sheet_s(&paths, Point::new(0.0, 0.0), &pace);
        // The rectangle begins at its front right corner, (85.16, 0).
        let rapids = rest_to_rest_s(200.0_f64.sqrt(), 50.0, 500.0)
            + rest_to_rest_s((51.16_f64 * 51.16 + 100.0).sqrt(), 50.0, 500.0);
        let hand = rapids + (24.0 / 12.0 + 12.0 / 500.0) + 0.3 + 23.316;
        assert!(
            (got - hand).abs() < 1e-9,
            "{got} {hand}: sums of the closed forms"
        );
    }
}
