//! Two hundred layers, each split with all six patterns; every eighth of them where the build is not optimised. Where the
//! environment variable `SEAMWRIGHT_SEAMS` names a file, they are written to it for `tests/outside/check_seams.py`, a line
//! for each layer and pattern.
#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::f64::consts::PI;
use std::fmt::Write as _;

use rayon::prelude::*;
use seamwright::geometry::distance::region_region;
use seamwright::geometry::{
    boolean::intersection,
    distance::point_edge,
    edge::{Curve, Edge},
    point::Point,
    region::Region,
    transform::Pose,
};
use seamwright::model::cutter::Axis;
use seamwright::model::layer::Layer;
use seamwright::model::seam::{Joined, LayerSplit, Pattern, Seam};
use seamwright::model::source::is_seam;
use seamwright::seam::error::SeamFault;
use seamwright::seam::options::Options;
use seamwright::seam::{Split, reach, split};

use super::random::{Draws, layer, options, plate, random_split, varied_layer};
use super::{assert_faces_shared, assert_gap, assert_numbered, assert_teeth, assert_tiles, thin};
use crate::random_pairs::write_regions;

pub(crate) const PATTERNS: [Pattern; 6] = [
    Pattern::Straight,
    Pattern::Wave,
    Pattern::Zigzag,
    Pattern::Dovetail,
    Pattern::Knob,
    Pattern::Finger,
];
const LAYERS: u64 = 200;

/// A layer and where it is to be split.
struct Case {
    layer: Layer,
    layer_idx: usize,
    options: Options,
    wanted: LayerSplit,
}

impl Case {
    /// The layers of a number differ until one can be split with straight seams.
    fn new(number: u64) -> Self {
        let mut draws = Draws(1_000_003 * (number + 1));
        loop {
            let mut layer = varied_layer(&mut draws, number as usize);
            layer.pattern = Some(Pattern::Straight);
            let mut options = options([0.0, 0.1, 0.3][draws.below(3)]);
            // A laser, and routers with tools of 3.175 and 6 mm.
            options.corner_radius = [0.5, 1.667, 3.15][draws.below(3)];
            if draws.below(4) == 0 {
                options.tooth = Some(draws.between(24.0, 60.0));
                options.depth = options.tooth.map(|p| p * draws.between(0.3, 0.45));
            }
            let layer_idx = draws.below(2);
            let Some(wanted) = random_split(&layer, &options, &mut draws) else {
                continue;
            };
            if !wanted.is_whole() && split(&layer, layer_idx, 1, &wanted, &options).is_ok() {
                return Self {
                    layer,
                    layer_idx,
                    options,
                    wanted,
                };
            }
        }
    }

    fn split(&self, pattern: Pattern) -> Result<(Layer, Split), SeamFault> {
        let mut layer = self.layer.clone();
        layer.pattern = Some(pattern);
        let made = split(&layer, self.layer_idx, 1, &self.wanted, &self.options)?;
        Ok((layer, made))
    }

    fn judge(&self, pattern: Pattern, layer: &Layer, made: &Split) {
        let gap = self.options.limits.gap;
        assert_tiles(layer, made);
        assert_faces_shared(made);
        // Round outlines among them: where a seam meets an arc its end is only as near.
        assert_gap(made, gap, super::ROUNDED);
        assert_numbered(made);
        let reach = reach(layer, self.layer_idx, &self.options);
        for seam in &made.seams {
            assert_teeth(seam, pattern, self.layer_idx == 0, self.least_radius());
            assert_reach(seam, reach);
            assert_tangent(seam);
            let found = thin(layer, &seam.path, layer.min_web);
            assert_eq!(found, None, "{:?}", self.wanted);
            for hole in &layer.locating {
                let edges = seam.path.edges().iter();
                let near = edges.map(|e| point_edge(hole.center, e).0);
                let near = near.fold(f64::INFINITY, f64::min) - hole.diameter / 2.0;
                assert!(near >= 8.0 - 1e-6, "keep_clear: {near}");
            }
        }
        for piece in &made.pieces {
            for edge in piece.finished.edges().filter(|e| is_seam(e.source)) {
                if let Curve::Arc { center, radius, .. } = edge.curve {
                    // 1e-9: one rounding of the radius less half the gap.
                    let least = self.options.corner_radius - 1e-9;
                    // Where a seam meets an edge askew, the neighbour's end is cleared round: half the gap about it, on the seam.
                    let at_end = |s: &Seam| {
                        let mut edges = s.path.edges().iter();
                        edges.any(|e| point_edge(center, e).0 < super::ROUNDED)
                    };
                    let is_end = (radius - gap / 2.0).abs() < 1e-9 && made.seams.iter().any(at_end);
                    assert!(radius >= least || is_end, "{}: radius {radius}", piece.id);
                }
            }
        }
    }

    /// Of the nominal curve: half the gap is taken from it on one side.
    fn least_radius(&self) -> f64 {
        self.options.corner_radius + self.options.limits.gap / 2.0
    }

    fn line(&self, number: u64, pattern: Pattern, layer: &Layer, made: &Split) -> String {
        let limits = &self.options.limits;
        let asked = self.options.tooth.is_some();
        let mut out = format!(
            "{{\"case\":{number},\"pattern\":\"{}\",\"plus\":{},\"asked\":{asked},\"gap\":{:?},\"corner_radius\":{:?},\"min_web\":{:?},\"thickness\":{:?},\"keep_clear\":{:?}",
            pattern.word(),
            self.layer_idx == 0,
            limits.gap,
            self.options.corner_radius,
            layer.min_web,
            layer.thickness,
            limits.keep_clear,
        );
        let reach = reach(layer, self.layer_idx, &self.options);
        write!(out, ",\"depth\":{:?},\"holes\":[", reach.0.max(reach.1)).unwrap();
        for (k, hole) in layer.locating.iter().enumerate() {
            let comma = if k == 0 { "" } else { "," };
            let Point { x, y } = hole.center;
            write!(out, "{comma}[{x:?},{y:?},{:?}]", hole.diameter).unwrap();
        }
        out.push_str("],\"layer\":");
        write_regions(&mut out, &layer.shape);
        out.push_str(",\"pieces\":");
        let pieces: Vec<Region> = made.pieces.iter().map(|p| p.region.clone()).collect();
        write_regions(&mut out, &pieces);
        out.push_str(",\"finished\":");
        let finished: Vec<Region> = made.pieces.iter().map(|p| p.finished.clone()).collect();
        write_regions(&mut out, &finished);
        out.push_str(",\"seams\":[");
        for (k, seam) in made.seams.iter().enumerate() {
            let comma = if k == 0 { "" } else { "," };
            let (pattern, runs) = (seam.pattern.word(), seam.runs.word());
            write!(
                out,
                "{comma}{{\"pattern\":\"{pattern}\",\"runs\":\"{runs}\",\"edges\":["
            )
            .unwrap();
            for edge in seam.path.edges() {
                write_edge(&mut out, edge);
            }
            let Point { x, y } = seam.path.end();
            write!(out, "[{x:?},{y:?}]]}}").unwrap();
        }
        out.push_str("]}\n");
        out
    }
}

fn write_edge(out: &mut String, edge: &Edge) {
    let Point { x, y } = edge.start;
    match edge.curve {
        Curve::Line => write!(out, "[{x:?},{y:?}],").unwrap(),
        Curve::Arc {
            center: c,
            radius,
            ccw,
        } => {
            let way = if ccw { 1 } else { -1 };
            write!(out, "[{x:?},{y:?},{:?},{:?},{radius:?},{way}],", c.x, c.y).unwrap();
        }
    }
}

/// The curve turns nowhere at a point: every corner has a radius.
fn assert_tangent(seam: &Seam) {
    for pair in seam.path.edges().windows(2) {
        let turn = pair[0].end_tangent().cross(pair[1].start_tangent()).abs();
        // 1e-7: a vertex is rounded by 1e-9 at most, edges beside it are 0.01 mm long or longer.
        assert!(turn < 1e-7, "turns by {turn} at {:?}", pair[1].start);
    }
}

/// Teeth reach no farther than a plan is told.
fn assert_reach(seam: &Seam, (before, behind): (f64, f64)) {
    let across = |p: Point| if seam.runs == Axis::Y { p.x } else { p.y };
    let (base, bounds) = (across(seam.path.start()), seam.path.bounds());
    // 1e-9: rounding of sums of coordinates below 1000.
    assert!(base - across(bounds.min) <= before + 1e-9);
    assert!(across(bounds.max) - base <= behind + 1e-9);
}

#[test]
fn every_pattern_tiles_and_keeps_its_distances_on_layers_of_many_shapes() {
    let file = std::env::var_os("SEAMWRIGHT_SEAMS");
    let step = if cfg!(debug_assertions) && file.is_none() {
        8
    } else {
        1
    };
    let numbers: Vec<u64> = (0..LAYERS).step_by(step).collect();
    let judged: Vec<(String, [usize; 6])> = numbers
        .par_iter()
        .map(|&number| {
            let case = Case::new(number);
            let mut lines = String::new();
            let mut toothed = [0; 6];
            for (k, pattern) in PATTERNS.into_iter().enumerate() {
                let (layer, made) = case
                    .split(pattern)
                    .unwrap_or_else(|fault| panic!("case {number}, {pattern:?}: {fault}"));
                case.judge(pattern, &layer, &made);
                toothed[k] = usize::from(made.seams.iter().any(|s| s.pattern == pattern));
                if file.is_some() {
                    lines.push_str(&case.line(number, pattern, &layer, &made));
                }
            }
            (lines, toothed)
        })
        .collect();
    for (k, pattern) in PATTERNS.into_iter().enumerate() {
        let toothed: usize = judged.iter().map(|j| j.1[k]).sum();
        let of = numbers.len();
        assert!(
            10 * toothed >= 7 * of,
            "{pattern:?}: teeth on {toothed} of {of} layers"
        );
    }
    if let Some(path) = file {
        let lines: String = judged.into_iter().map(|j| j.0).collect();
        std::fs::write(path, lines).unwrap();
    }
}

/// A plain plate split along x with a gap; the upper piece is the second.
fn mated(pattern: Pattern, options: &Options) -> Split {
    let mut whole = layer(vec![plate(400.0, 240.0, 5.0)], 3.0);
    whole.pattern = Some(pattern);
    let wanted = LayerSplit {
        runs: Axis::X,
        at: vec![115.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    split(&whole, 0, 1, &wanted, options).unwrap()
}

/// Area in which the pieces overlap when the upper one is moved.
fn overlap(made: &Split, by: Point) -> f64 {
    let moved = made.pieces[1].finished.posed(Pose::shifted(by));
    let common = intersection(std::slice::from_ref(&made.pieces[0].finished), &[moved]);
    common.unwrap().iter().map(Region::area_mm2).sum()
}

/// How far the upper piece goes before it meets the lower one; `None` if more than 4 mm.
fn play(made: &Split, way: Point) -> Option<f64> {
    // Flanks that meet along 10 mm and more overlap by 1e-3 mm² after 1e-4 mm.
    let meets = |by: f64| overlap(made, way * by) > 1e-3;
    let (mut free, mut met) = (0.0, 4.0);
    if !meets(met) {
        return None;
    }
    while met - free > 1e-5 {
        let middle = (free + met) / 2.0;
        if meets(middle) {
            met = middle;
        } else {
            free = middle;
        }
    }
    Some(free)
}

const GAP: f64 = 0.2;

/// Pattern, pitch, depth, and the play along, closing and opening for a gap of 0.2 as the trade's closed forms have it: along
/// g / sin β where flanks stand at β below 90°, opening g·√(1 + N²). Zigzag: sharp points would stand at 45°; rounded ones,
/// r = 0.6 + 0.8, solve 10·tan β − 2.8·(1/cos β − 1) = 10: β = 48.88°, by trial. Rounded points and flat ends close by the
/// gap. Wave: the worked example. Dovetail: N = 4; its rounded corners hold along the seam before its flanks, by the gap.
const FORMS: [(Pattern, f64, f64, f64, f64, Option<f64>); 4] = [
    (Pattern::Finger, 20.0, 10.0, 0.2, 0.2, None),
    (Pattern::Zigzag, 20.0, 10.0, 0.2655, 0.2, None),
    (Pattern::Wave, 40.0, 10.0, 0.3238, 0.2, None),
    (Pattern::Dovetail, 40.0, 10.0, 0.2, 0.2, Some(0.8246)),
];

#[test]
fn pieces_move_as_far_as_the_closed_forms_of_play_say() {
    for (pattern, tooth, depth, along, closing, opening) in FORMS {
        let asked = Options {
            tooth: Some(tooth),
            depth: Some(depth),
            ..options(GAP)
        };
        let made = mated(pattern, &asked);
        let measured = |x: f64, y: f64| play(&made, Point::new(x, y));
        // 3e-3: that far go arcs of hardly different radius before they overlap by what is looked for.
        let near = |a: Option<f64>, b: f64| a.is_some_and(|a| (a - b).abs() < 3e-3);
        for way in [-1.0, 1.0] {
            let found = measured(way, 0.0);
            assert!(near(found, along), "{pattern:?} along: {found:?}");
        }
        let (shut, open) = (measured(0.0, -1.0), measured(0.0, 1.0));
        assert!(near(shut, closing), "{pattern:?} closing: {shut:?}");
        match opening {
            Some(opening) => assert!(near(open, opening), "{pattern:?} opening: {open:?}"),
            None => assert_eq!(open, None, "{pattern:?}"),
        }
    }
}

#[test]
fn a_knob_opens_as_far_as_its_circles_let_it() {
    // Head R and the lip of its socket, of radius r, are tangent as drawn: their centres lie R + r apart, (0.7 R + r) of that along
    // the seam. With half the gap taken from both they touch when they are R + r − g apart. By hand, h² = (R + r)² − (0.7 R + r)²:
    // the seam opens by h − √(h² − 2 (R + r) g + g²); to first order, g / sin δ with sin δ = h / (R + r), it is less.
    let made = mated(Pattern::Knob, &options(GAP));
    let radii = made.seams[0]
        .path
        .edges()
        .iter()
        .filter_map(|e| match e.curve {
            Curve::Arc { radius, .. } => Some(radius),
            Curve::Line => None,
        });
    let (lip, head) = radii.fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    let h = ((head + lip).powi(2) - (0.7 * head + lip).powi(2)).sqrt();
    let exact = h - (h * h - 2.0 * (head + lip) * GAP + GAP * GAP).sqrt();
    let first_order = GAP * (head + lip) / h;
    // Ends of arcs lie on their circles to 2e-6, and the seam opens at a sine of about 0.6 to where they touch: 1e-5.
    let touch = |by: f64| {
        let moved = made.pieces[1]
            .finished
            .posed(Pose::shifted(Point::new(0.0, by)));
        region_region(&made.pieces[0].finished, &moved) < 1e-9
    };
    let (mut free, mut met) = (0.0, 1.0);
    assert!(!touch(free) && touch(met));
    while met - free > 1e-9 {
        let middle = (free + met) / 2.0;
        if touch(middle) {
            met = middle;
        } else {
            free = middle;
        }
    }
    assert!((free - exact).abs() < 1e-5, "{free} for {exact}");
    assert!(
        exact > first_order + 1e-3,
        "{exact} and {first_order} can be told apart"
    );
}

/// The share of a way that runs against the faces: greatest −n·way over the normals of the seam, from the lower piece to the
/// upper one.
fn against(seam: &Seam, way: Point) -> f64 {
    let sample = |e: &Edge| {
        (0..=200)
            .map(|k| e.tangent_at(e.at(f64::from(k) / 200.0)))
            .map(|tangent| -tangent.left().dot(way))
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let edges = seam.path.edges().iter();
    edges.map(sample).fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn pushed_apart_by_twice_their_play_pieces_overlap_in_every_direction_that_holds() {
    for pattern in PATTERNS {
        let made = mated(pattern, &options(GAP));
        let mut held = Vec::new();
        for k in 0..16 {
            let angle = f64::from(k) * PI / 8.0;
            let way = Point::new(angle.cos(), angle.sin());
            let share = against(&made.seams[0], way);
            // Nothing runs against it but by rounding, or by the sampling of arcs.
            if share < 0.02 {
                let area = overlap(&made, way * 3.0);
                assert!(area < 1e-6, "{pattern:?} is not free at {angle}: {area}");
                continue;
            }
            held.push(k);
            let stated = GAP / share;
            let (free, met) = (
                overlap(&made, way * (0.97 * stated)),
                overlap(&made, way * (2.0 * stated)),
            );
            assert!(
                free < 1e-6,
                "{pattern:?} is held at {angle} before {stated}: {free}"
            );
            assert!(
                met > 0.05,
                "{pattern:?} is not held at {angle} by {stated}: {met}"
            );
        }
        // Sixteenths of a turn from the seam's own way; 4 opens it, 12 closes it.
        let expected: Vec<i32> = match pattern {
            Pattern::Straight => (9..16).collect(),
            // Flanks at 45°: what opens by more than that is free.
            Pattern::Wave | Pattern::Zigzag => vec![0, 1, 7, 8, 9, 10, 11, 12, 13, 14, 15],
            Pattern::Finger => vec![0, 1, 2, 3, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15],
            Pattern::Dovetail | Pattern::Knob => (0..16).collect(),
        };
        assert_eq!(held, expected, "{pattern:?}");
    }
}

/// What is told of teeth asked in a plain plate of 3 mm: code, measured, limit.
fn told(pattern: Pattern, options: &Options) -> Vec<(&'static str, f64, f64)> {
    let figures = mated(pattern, options).findings;
    let figures = figures.iter();
    figures
        .map(|f| (f.code, f.measured.unwrap_or(-1.0), f.limit.unwrap_or(-1.0)))
        .collect()
}

#[test]
fn what_breaks_a_rule_of_the_trade_is_told_with_its_figure() {
    let asked = |tooth, depth| Options {
        tooth: Some(tooth),
        depth: Some(depth),
        ..options(0.0)
    };
    for pattern in PATTERNS {
        assert_eq!(told(pattern, &options(0.0)), [], "usual {pattern:?}");
    }
    let one = |pattern, options: &Options| {
        let all = told(pattern, options);
        assert_eq!(all.len(), 1, "{pattern:?}: {all:?}");
        all[0]
    };
    // tan β = π · 4 / 40: 17.441°.
    let (code, measured, limit) = one(Pattern::Wave, &asked(40.0, 4.0));
    assert_eq!((code, limit), ("S111", 30.0));
    assert!((measured - 17.441).abs() < 1e-3, "{measured}");
    // tan β = π · 24 / 40: 62.053°.
    let (code, measured, limit) = one(Pattern::Wave, &asked(40.0, 24.0));
    assert_eq!((code, limit), ("S111", 60.0));
    assert!((measured - 62.053).abs() < 1e-3, "{measured}");
    // Sharp points would stand at tan β = 2 · 5 / 40: 14.04°; rounded by r = 2.1 hardly more.
    let (code, measured, limit) = one(Pattern::Zigzag, &asked(40.0, 5.0));
    assert_eq!((code, limit), ("S111", 30.0));
    assert!(measured > 14.04 && measured < 14.6, "{measured}");
    assert_eq!(one(Pattern::Finger, &asked(16.0, 8.0)), ("S103", 8.0, 10.0));
    assert_eq!(
        one(Pattern::Finger, &asked(90.0, 45.0)),
        ("S103", 45.0, 40.0)
    );
    assert_eq!(one(Pattern::Finger, &asked(40.0, 10.0)), ("S111", 0.5, 1.0));
    // The neck is half a pitch less one undercut, with r = 0.5 + 0.3: 6 − (5 − 1.6)/4 + 1.6·(√17/4 − 1) = 5.19924, by hand.
    let (code, measured, limit) = one(Pattern::Dovetail, &asked(12.0, 5.0));
    assert_eq!((code, limit), ("S103", 6.0));
    assert!((measured - 5.19924).abs() < 1e-4, "{measured}");
    let sharp = Options {
        corner_radius: 0.2,
        ..options(0.0)
    };
    for pattern in &PATTERNS[1..] {
        assert_eq!(one(*pattern, &sharp), ("S104", 0.2, 0.5), "{pattern:?}");
    }
}

#[test]
fn a_tool_too_thick_for_the_corners_is_told() {
    let mut whole = layer(vec![plate(400.0, 240.0, 5.0)], 3.0);
    // A tool of 6 mm: 3 mm and 5 % to spare; 13 fingers in 400 mm have corners of
    // 0.5 and a twenty-fifth of the pitch.
    (whole.pattern, whole.cut_width) = (Some(Pattern::Finger), 6.0);
    let wanted = LayerSplit {
        runs: Axis::X,
        at: vec![115.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let made = split(&whole, 0, 1, &wanted, &options(0.0)).unwrap();
    assert_eq!(made.findings.len(), 1);
    let found = &made.findings[0];
    // 1e-12: one rounding of 3 · 1.05.
    assert!(found.code == "S104" && found.limit.is_some_and(|l| (l - 3.15).abs() < 1e-12));
    assert!(
        found
            .measured
            .is_some_and(|r| (r - 0.5 - 16.0 / 13.0).abs() < 1e-9)
    );
    let round = Options {
        corner_radius: 3.15,
        ..options(0.0)
    };
    let made = split(&whole, 0, 1, &wanted, &round).unwrap();
    assert_eq!(made.findings, []);
}

#[test]
fn runs_carry_whole_teeth_of_the_size_asked_and_flat_ends() {
    for (pattern, n) in [
        // 400 long, of which 6 stay clear at either end: 388 hold 19 whole teeth of 20 that join; 20 fingers need
        // 19 · 20 + 2 · 6.3, their feet half a width and a corner of 1.3 mm wide, which is 4.6 too much.
        (Pattern::Finger, 19),
        (Pattern::Zigzag, 19),
        (Pattern::Wave, 19),
    ] {
        let asked = Options {
            tooth: Some(20.0),
            depth: Some(8.0),
            ..options(0.0)
        };
        let made = mated(pattern, &asked);
        let edges = made.seams[0].path.edges();
        let tops = edges
            .iter()
            .filter(|e| (e.bounds().max.y - 123.0).abs() < 1e-9);
        assert!((edges[0].length() - edges[edges.len() - 1].length()).abs() < 1e-9);
        // A finger's top is an arc, a line and an arc.
        let per_tooth = if pattern == Pattern::Finger { 3 } else { 1 };
        assert_eq!(tops.count(), n * per_tooth, "{pattern:?}");
        for end in [&edges[0], &edges[edges.len() - 1]] {
            assert_eq!(end.curve, Curve::Line, "{pattern:?} ends flat");
            assert!((end.start.y, end.end.y) == (115.0, 115.0) && end.length() >= 6.0);
        }
        let flats = edges.iter().filter(|e| e.bounds().max.y - 115.0 < 1e-9);
        let n_flats = if pattern == Pattern::Finger { n + 1 } else { 2 };
        assert_eq!(
            flats.count(),
            n_flats,
            "{pattern:?}: teeth that join leave no flat between them"
        );
    }
}

/// A plate of 400 × 400 whose seam steps from 140 to 270 at 190, or back.
fn stepped(pattern: Pattern, far: usize, runs: Axis, options: &Options) -> Split {
    let mut whole = layer(vec![plate(400.0, 400.0, 5.0)], 3.0);
    whole.pattern = Some(pattern);
    let wanted = LayerSplit {
        runs,
        at: vec![140.0, 270.0],
        across: vec![Vec::new(), vec![190.0], Vec::new()],
        joined: vec![
            Joined {
                seam: 0,
                before: 0,
                behind: far,
            },
            Joined {
                seam: 1,
                before: 1 - far,
                behind: 0,
            },
        ],
    };
    split(&whole, 0, 1, &wanted, options).unwrap()
}

#[test]
fn a_seam_with_a_step_makes_two_l_shaped_pieces_that_mate() {
    for pattern in PATTERNS {
        for far in [0, 1] {
            for runs in [Axis::X, Axis::Y] {
                let made = stepped(pattern, far, runs, &options(GAP));
                let name = format!("{pattern:?}, {far}, {runs:?}");
                assert_eq!(made.pieces.len(), 2, "{name}");
                let ways: Vec<Axis> = made.seams.iter().map(|s| s.runs).collect();
                assert_eq!(ways, [runs, runs, runs.other()], "{name}");
                // By hand, for straight seams: 140 × 190 + 270 × 210 = 83,300, or with 190 and 210 exchanged 80,700; teeth take
                // from one what they give to the other.
                let area: f64 = made.pieces.iter().map(|p| p.region.area_mm2()).sum();
                // The plate of 400 × 400 with corners of 5: 160,000 − (4 − π)·25.
                assert!(
                    (area - (160_000.0 - (4.0 - PI) * 25.0)).abs() < 1e-6,
                    "{name}: {area}"
                );
                if pattern == Pattern::Straight {
                    let first = made.pieces.iter().map(|p| p.region.area_mm2());
                    let least = first.fold(f64::INFINITY, f64::min);
                    let corners = (4.0 - PI) * 25.0 / 2.0;
                    let by_hand: f64 = if far == 1 { 76_700.0 } else { 79_300.0 };
                    assert!(
                        (least - (by_hand - corners)).abs() < 1e-6,
                        "{name}: {least}"
                    );
                } else {
                    let toothed = made.seams.iter().filter(|s| s.pattern == pattern).count();
                    assert!(toothed >= 2, "{name}: teeth on {toothed} of 3 seams");
                }
                let apart = region_region(&made.pieces[0].finished, &made.pieces[1].finished);
                assert!((apart - GAP).abs() < 2e-6, "{name}: {apart} apart");
            }
        }
    }
}

#[test]
fn cells_without_a_common_side_are_not_joined() {
    let whole = layer(vec![plate(400.0, 400.0, 5.0)], 3.0);
    let wanted = |joined: Joined| LayerSplit {
        runs: Axis::Y,
        at: vec![200.0],
        across: vec![vec![100.0], vec![200.0]],
        joined: vec![joined],
    };
    let of = |before: usize, behind: usize| {
        let joined = Joined {
            seam: 0,
            before,
            behind,
        };
        split(&whole, 0, 1, &wanted(joined), &options(0.0))
    };
    assert!(
        matches!(of(0, 1), Err(SeamFault::NoSide { .. })),
        "0–100 beside 200–400"
    );
    assert!(
        matches!(of(2, 0), Err(SeamFault::NoSide { .. })),
        "no third cell"
    );
    assert_eq!(
        of(1, 0).map(|m| m.pieces.len()).ok(),
        Some(3),
        "100–400 beside 0–200"
    );
    // 100 − 94 = 6 mm, the layer's `min_web`, and one hundredth less.
    for (at, joins) in [(94.0, true), (94.01, false)] {
        let mut wanted = wanted(Joined {
            seam: 0,
            before: 0,
            behind: 1,
        });
        wanted.across[1] = vec![at];
        let made = split(&whole, 0, 1, &wanted, &options(0.0));
        let refused = matches!(made, Err(SeamFault::NoSide { .. }));
        assert_eq!(made.is_ok(), joins, "a neck of {} mm", 100.0 - at);
        assert_eq!(refused, !joins, "a neck of {} mm", 100.0 - at);
    }
}
