//! Seams are judged as closed forms, hand calculations and moved shapes say.
//!
//! Closed forms for a gap g between faces, from the geometry of two rigid shapes and confirmed there by moving polygons until
//! they touch: a flank whose normal makes the angle β with the way across allows g / sin β along it and g / cos β across.
//! Faces of patterns are built here from their measures, not by the program.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::f64::consts::PI;

use seamwright::geometry::boolean::intersection;
use seamwright::geometry::edge::{Curve, Edge, SourceId};
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::geometry::transform::Pose;
use seamwright::model::cutter::{Axis, Turns};
use seamwright::model::finding::Finding;
use seamwright::model::judged::{Judged, Play};
use seamwright::model::layer::{Hole, Layer};
use seamwright::model::piece::Piece;
use seamwright::model::plan::SeamLimits;
use seamwright::model::seam::{Bond, LayerSplit, Pattern, Seam};
use seamwright::model::source::SourceKind;
use seamwright::seam::judge::{Made, Strip, doubts, judge, located, play, reach, rigidity};
use seamwright::seam::options::Options;
use seamwright::seam::split;

const S: SourceId = SourceId(0);
const GAP: f64 = 0.2;
/// Normals of arcs are asked every 1/128 of a turn: 1 / cos(π / 128) − 1 is 3.0e-4.
const OF_ARCS: f64 = 3.1e-4;
/// Straight faces are exact; what is left is rounding.
const OF_LINES: f64 = 1.0e-9;

fn lines(corners: &[(f64, f64)]) -> Vec<Edge> {
    let at = |c: (f64, f64)| Point::new(c.0, c.1);
    corners
        .windows(2)
        .map(|w| Edge::line(at(w[0]), at(w[1]), S))
        .collect()
}

/// Faces that run along +x with A below, as they stand in A's ring: A to the left.
fn faces_of(path: &[Edge]) -> Vec<Edge> {
    path.iter().rev().map(Edge::reversed).collect()
}

/// A seam of whole repeats between two flat ends of half a pitch.
fn repeated(pitch: f64, teeth: usize, tooth: &dyn Fn(f64) -> Vec<(f64, f64)>) -> Vec<Edge> {
    let mut corners = vec![(-pitch / 2.0, 0.0)];
    for k in 0..teeth {
        corners.extend(tooth((k as f64 + 0.5) * pitch));
    }
    corners.push(((teeth as f64 + 0.5) * pitch, 0.0));
    lines(&corners)
}

fn finger(pitch: f64, depth: f64, teeth: usize) -> Vec<Edge> {
    let q = pitch / 4.0;
    repeated(pitch, teeth, &|u| {
        vec![(u - q, 0.0), (u - q, depth), (u + q, depth), (u + q, 0.0)]
    })
}

fn zigzag(pitch: f64, depth: f64, teeth: usize) -> Vec<Edge> {
    let h = pitch / 2.0;
    repeated(pitch, teeth, &|u| {
        vec![(u - h, 0.0), (u, depth), (u + h, 0.0)]
    })
}

/// A dovetail of slope 1 : n, tail and pin equally wide at half depth.
fn dovetail(pitch: f64, depth: f64, n: f64, teeth: usize) -> Vec<Edge> {
    let (root, tip) = (pitch / 4.0 - depth / n / 2.0, pitch / 4.0 + depth / n / 2.0);
    repeated(pitch, teeth, &|u| {
        vec![
            (u - root, 0.0),
            (u - tip, depth),
            (u + tip, depth),
            (u + root, 0.0),
        ]
    })
}

/// A cosine wave of this pitch from root to tip, in chords of `1 / n` of the pitch.
fn wave(pitch: f64, depth: f64, repeats: usize, n: usize) -> Vec<Edge> {
    let at = |k: usize| {
        let u = k as f64 * pitch / n as f64;
        (u, depth / 2.0 * (1.0 - (2.0 * PI * u / pitch).cos()))
    };
    lines(&(0..=repeats * n).map(at).collect::<Vec<_>>())
}

/// Round heads of radius r on necks, each of which is the chord where the circle meets the base line.
fn knob(radius: f64, neck: f64, pitch: f64, teeth: usize) -> Vec<Edge> {
    let half = neck / 2.0;
    let rise = (radius * radius - half * half).sqrt();
    let mut out = Vec::new();
    let mut from = Point::new(0.0, 0.0);
    for k in 0..teeth {
        let u = (k as f64 + 0.5) * pitch;
        let (left, right) = (Point::new(u - half, 0.0), Point::new(u + half, 0.0));
        out.push(Edge::line(from, left, S));
        out.push(Edge::arc(
            left,
            right,
            Point::new(u, rise),
            radius,
            false,
            S,
        ));
        from = right;
    }
    out.push(Edge::line(from, Point::new(teeth as f64 * pitch, 0.0), S));
    out
}

/// Moves a path by a quarter turn: x to the back, so that A lies to the left or right of a seam along y.
fn quarter(path: &[Edge], times: usize) -> Vec<Edge> {
    let rotation = seamwright::geometry::transform::Rotation::from_degrees(90.0 * times as f64);
    let pose = Pose {
        mirrored: false,
        rotation,
        shift: Point::new(31.0, -17.0),
    };
    path.iter().map(|e| e.posed(pose)).collect()
}

#[track_caller]
fn close(found: Option<f64>, expected: f64, share: f64, what: &str) {
    let found = found.unwrap_or(f64::INFINITY);
    assert!(
        (found - expected).abs() <= share * expected,
        "{what}: {found}, expected {expected}"
    );
}

/// Agrees with a figure that was worked by hand, to half a unit of its last digit.
#[track_caller]
fn by_hand(found: Option<f64>, expected: f64, last_digit: f64) {
    let found = found.unwrap_or(f64::INFINITY);
    assert!(
        (found - expected).abs() <= last_digit / 2.0,
        "worked by hand: {expected}, found {found}"
    );
}

fn of(path: &[Edge]) -> Play {
    play(&faces_of(path), Axis::X, GAP)
}

#[test]
fn a_straight_seam_holds_nothing_but_closing() {
    let p = of(&lines(&[(0.0, 0.0), (300.0, 0.0)]));
    close(p.closing, 0.2, OF_LINES, "g");
    assert_eq!(
        (p.along, p.along_most, p.opening, p.turn),
        (None, None, None, None)
    );
    assert_eq!(p.holds(), [false, true, false, false]);
}

#[test]
fn fingers_leave_the_gap_along_and_come_apart() {
    let p = of(&finger(20.0, 10.0, 8));
    close(p.along, 0.2, OF_LINES, "g");
    close(p.closing, 0.2, OF_LINES, "g");
    assert_eq!((p.opening, p.turn), (None, None));
}

#[test]
fn a_zigzag_of_45_degrees_leaves_root_two_gaps() {
    let p = of(&zigzag(20.0, 10.0, 8));
    // tan β = 2a / p = 1; g / sin β = g / cos β = 0.28284.
    close(p.along, 0.2 * 2.0_f64.sqrt(), OF_LINES, "g / sin β");
    // The flat ends of the seam touch before the flanks do.
    close(p.closing, 0.2, OF_LINES, "g, at the flat ends");
    assert_eq!(
        (p.opening, p.along_most),
        (None, None),
        "once open it slides"
    );
    let bare = &zigzag(20.0, 10.0, 8)[1..17];
    close(
        of(bare).closing,
        0.2 * 2.0_f64.sqrt(),
        OF_LINES,
        "g / cos β",
    );
}

#[test]
fn a_wave_leaves_the_gap_over_the_sine_of_its_steepest_angle() {
    let p = of(&wave(40.0, 10.0, 6, 4000));
    // tan β = π a / p: β = 38.146°, g / sin β = 0.3238. Chords of 1/4000 of the pitch are less steep by 1e-7.
    let beta = (PI * 10.0 / 40.0).atan();
    close(p.along, 0.2 / beta.sin(), 1e-6, "g / sin β");
    by_hand(p.along, 0.3238, 1e-4);
    close(p.closing, 0.2, 1e-6, "g at root and tip");
    assert_eq!((p.opening, p.turn), (None, None));
}

#[test]
fn a_dovetail_of_one_in_six_opens_by_six_gaps() {
    let p = of(&dovetail(40.0, 10.0, 6.0, 10));
    let gamma = (1.0_f64 / 6.0).atan();
    close(p.along, 0.2 / gamma.cos(), OF_LINES, "g / cos γ");
    by_hand(p.along, 0.2028, 1e-4);
    let closed_up = 0.2 * (1.0 + gamma.sin()) / gamma.cos();
    close(p.along_most, closed_up, OF_LINES, "g (1 + sin γ) / cos γ");
    close(p.closing, 0.2, OF_LINES, "g");
    close(p.opening, 0.2 * 37.0_f64.sqrt(), OF_LINES, "g √(1 + N²)");
    by_hand(p.opening, 1.21655, 1e-5);
    assert!(p.holds_all());
    let eight = of(&dovetail(40.0, 10.0, 8.0, 10));
    by_hand(eight.opening, 1.61245, 1e-5);
}

#[test]
fn a_dovetail_turns_as_far_as_moved_polygons_did() {
    // Turn of a dovetail p 40, a 10, N 6, g 0.2, found elsewhere by moving polygons; the closed form there is within 0.5 %.
    for (length, turn) in [(200.0, 0.006719), (400.0, 0.003448), (800.0, 0.001747)] {
        let teeth = (length / 40.0) as usize;
        let root = 10.0 - 10.0 / 12.0;
        // Flat halves at both ends: the first tooth's middle is half a pitch from the end of the seam.
        let mut corners = vec![(0.0, 0.0)];
        for k in 0..teeth {
            let u = (k as f64 + 0.5) * 40.0;
            let tip = root + 10.0 / 6.0;
            corners.extend([
                (u - root, 0.0),
                (u - tip, 10.0),
                (u + tip, 10.0),
                (u + root, 0.0),
            ]);
        }
        corners.push((length, 0.0));
        let p = of(&lines(&corners));
        close(p.turn, turn, 5e-3, "within 0.5 %");
        let (c, o) = (p.closing.unwrap(), p.opening.unwrap());
        assert!(
            p.turn.unwrap() <= (c + o) / length,
            "(c + o) / L is an upper bound"
        );
    }
}

#[test]
fn a_knob_opens_by_the_gap_over_the_sine_of_its_undercut() {
    let p = of(&knob(5.0, 7.0, 30.0, 8));
    let delta = (7.0_f64 / 10.0).acos();
    assert!(
        (delta.to_degrees() - 45.573).abs() < 5e-4,
        "cos δ = neck / head"
    );
    close(p.along, 0.2, OF_ARCS, "g");
    close(p.closing, 0.2, OF_ARCS, "g");
    close(p.opening, 0.2 / delta.sin(), OF_ARCS, "g / sin δ");
    close(
        p.opening,
        0.28006,
        OF_ARCS,
        "as worked by hand to five digits",
    );
    assert!(p.holds_all());
}

#[test]
fn play_is_the_same_whichever_way_the_seam_lies() {
    for path in [knob(5.0, 7.0, 30.0, 5), dovetail(40.0, 10.0, 6.0, 5)] {
        let straight = of(&path);
        for times in 1..4 {
            let turned = quarter(&faces_of(&path), times);
            let runs = if times == 2 { Axis::X } else { Axis::Y };
            let p = play(&turned, runs, GAP);
            for (a, b) in [
                (p.along, straight.along),
                (p.opening, straight.opening),
                (p.turn, straight.turn),
            ] {
                // Arcs begin at other angles, and are asked at other normals: one part in ten thousand more.
                close(a, b.unwrap(), 4e-4, "turned");
            }
        }
    }
}

#[test]
fn play_grows_with_the_gap_and_none_is_left_without_one() {
    let path = faces_of(&dovetail(40.0, 10.0, 6.0, 5));
    let (a, b, none) = (
        play(&path, Axis::X, 0.1),
        play(&path, Axis::X, 0.3),
        play(&path, Axis::X, 0.0),
    );
    close(b.opening, 3.0 * a.opening.unwrap(), 1e-12, "in proportion");
    close(b.turn, 3.0 * a.turn.unwrap(), 1e-12, "in proportion");
    assert_eq!(none.opening, Some(0.0));
    assert!(none.holds_all(), "what holds does not hang on the gap");
}

#[test]
fn three_equal_layers_lose_what_the_hand_calculation_says() {
    let stack = |through: &[bool], thickness: f64| -> Vec<Strip> {
        let strip = |t: &bool| Strip {
            width: f64::from(u8::from(*t)),
            thickness,
            modulus: 1.0,
        };
        through.iter().map(strip).collect()
    };
    // By hand, E = b = 1, t = 3: a layer 27/12 = 2.25; whole 9³/12; middle cut 2·(2.25 + 3·3²); outer cut 6³/12; one left 2.25.
    for (through, bonded, dry) in [
        ([true, true, true], 60.75, 6.75),
        ([true, false, true], 58.5, 4.5),
        ([false, true, true], 18.0, 4.5),
        ([true, true, false], 18.0, 4.5),
        ([false, false, true], 2.25, 2.25),
        ([false, false, false], 0.0, 0.0),
    ] {
        let found = rigidity(&stack(&through, 3.0));
        assert!(
            (found.bonded - bonded).abs() < 1e-12 * 60.75,
            "{through:?}: {found:?}"
        );
        assert!((found.dry - dry).abs() < 1e-12, "{through:?}: {found:?}");
    }
    // Four layers of 3: one inner cut 0.921875 of the whole, the first and the third cut 0.40625.
    let whole = rigidity(&stack(&[true; 4], 3.0));
    let inner = rigidity(&stack(&[true, false, true, true], 3.0));
    let two = rigidity(&stack(&[false, true, false, true], 3.0));
    assert!((inner.bonded / whole.bonded - 0.921875).abs() < 1e-12);
    assert!((two.bonded / whole.bonded - 0.40625).abs() < 1e-12);
    for n in 1..9 {
        let s = rigidity(&stack(&vec![true; n], 2.5));
        let squared = (n * n) as f64;
        assert!(
            (s.bonded / s.dry - squared).abs() < 1e-9,
            "bonded / dry is n²"
        );
    }
}

#[test]
fn a_stiff_layer_draws_the_neutral_axis_to_itself() {
    // Transformed section by hand: E 3, t 2 below E 1, t 4, width 10. Weights 60, 40; middles 1, 4; z̄ = 2.2.
    // 60·(4/12 + 1.44) + 40·(16/12 + 3.24) = 106.4 + 182.933…; dry 20 + 53.333….
    let found = rigidity(&[
        Strip {
            width: 10.0,
            thickness: 2.0,
            modulus: 3.0,
        },
        Strip {
            width: 10.0,
            thickness: 4.0,
            modulus: 1.0,
        },
    ]);
    assert!(
        (found.bonded - (106.4 + 548.8 / 3.0)).abs() < 1e-9,
        "{found:?}"
    );
    assert!((found.dry - (20.0 + 160.0 / 3.0)).abs() < 1e-9, "{found:?}");
}

// ---- whole layers ---------------------------------------------------------------------------------------------------

fn plate(name: &str, pattern: Pattern) -> Layer {
    let corners =
        [(0.0, 0.0), (600.0, 0.0), (600.0, 400.0), (0.0, 400.0)].map(|(x, y)| Point::new(x, y));
    Layer {
        name: name.to_owned(),
        material: "acrylic".to_owned(),
        thickness: 3.0,
        shape: vec![Region::solid(
            Ring::polygon(&corners, SourceKind::Outline.id(0)).unwrap(),
        )],
        locating: Vec::new(),
        relief: Vec::new(),
        cut_width: 0.16,
        turns: Turns::Quarter,
        grain: None,
        own_kerf: None,
        own_turns: None,
        pattern: Some(pattern),
        min_web: 6.0,
    }
}

fn options() -> Options {
    Options {
        tooth: None,
        depth: None,
        corner_radius: 0.5,
        bond: Bond::Film,
        limits: SeamLimits {
            gap: GAP,
            min_lap: 40.0,
            keep_clear: 8.0,
            min_piece: 60.0,
        },
    }
}

struct Stack {
    layers: Vec<Layer>,
    pieces: Vec<Piece>,
    seams: Vec<Seam>,
}

impl Stack {
    /// Layers of 600 × 400, each split along y at these places.
    fn split_at(layers: Vec<Layer>, at: &[&[f64]]) -> Self {
        let (mut pieces, mut seams) = (Vec::new(), Vec::new());
        for (k, (layer, at)) in layers.iter().zip(at).enumerate() {
            let how = LayerSplit {
                runs: Axis::Y,
                at: at.to_vec(),
                across: vec![Vec::new(); at.len() + 1],
                joined: Vec::new(),
            };
            let made = split(layer, k, 1, &how, &options()).unwrap();
            pieces.extend(made.pieces);
            seams.extend(made.seams);
        }
        Self {
            layers,
            pieces,
            seams,
        }
    }

    fn judged(&self) -> Judged {
        judge(&self.made())
    }

    /// What is doubtful of it, without what the split itself tells.
    fn doubts(&self) -> Vec<Finding> {
        doubts(&self.made(), &self.judged(), &options())
    }

    fn made(&self) -> Made<'_> {
        Made {
            layers: &self.layers,
            copies: 1,
            seams: &self.seams,
            pieces: &self.pieces,
            gap: GAP,
            min_lap: 40.0,
            moduli: &[],
            added_s: &[],
        }
    }

    /// One layer, split in one way.
    fn of(layer: Layer, how: &LayerSplit) -> Self {
        let made = split(&layer, 0, 1, how, &options()).unwrap();
        Self {
            layers: vec![layer],
            pieces: made.pieces,
            seams: made.seams,
        }
    }
}

fn three(pattern: Pattern, at: [f64; 3]) -> Judged {
    let layers = ["base", "core", "face"].map(|n| plate(n, pattern)).to_vec();
    Stack::split_at(layers, &[&at[..1], &at[1..2], &at[2..]]).judged()
}

#[test]
fn a_stack_keeps_what_its_weakest_section_keeps() {
    let apart = three(Pattern::Straight, [150.0, 300.0, 450.0]);
    let of = |j: &Judged, k: usize| j.layers[k].figures.stiffness[0];
    assert!(
        (of(&apart, 0).bonded - 18.0 / 60.75).abs() < 1e-9,
        "one outer cut"
    );
    assert!(
        (of(&apart, 1).bonded - 58.5 / 60.75).abs() < 1e-9,
        "the middle cut"
    );
    assert!((of(&apart, 1).dry - 2.0 / 3.0).abs() < 1e-9, "two of three");
    let stack = apart.stacks[0];
    assert!(
        (stack.stiffness[0].bonded - 18.0 / 60.75).abs() < 1e-9,
        "the worst"
    );
    assert_eq!(stack.stiffness[1].bonded, 1.0, "no seam runs along x");
    // Seams of layers 1 and 3 in line, 5 mm apart: one layer is left.
    let line = three(Pattern::Straight, [150.0, 300.0, 155.0]);
    assert!((of(&line, 0).bonded - 2.25 / 60.75).abs() < 1e-9, "0.037");
    let beside = three(Pattern::Straight, [150.0, 300.0, 161.0]);
    assert!(
        (of(&beside, 0).bonded - 18.0 / 60.75).abs() < 1e-9,
        "11 mm are more than a quarter of 40"
    );
}

#[test]
fn a_straight_split_is_told_with_its_lengths_and_without_hold() {
    let judged = three(Pattern::Straight, [150.0, 300.0, 450.0]);
    let f = judged.layers[0].figures;
    assert_eq!((f.pieces, f.toothed), (2, Some(0.0)));
    assert!((f.length - 400.0).abs() < 1e-9, "from edge to edge: {f:?}");
    // The pieces are 150 and 450 wide, less half the gap.
    assert!((f.neck.unwrap() - 149.9).abs() < 1e-6, "{f:?}");
    assert_eq!(f.play.unwrap().holds(), [false, true, false, false]);
    assert!((judged.stacks[0].length - 1200.0).abs() < 1e-9);
    assert_eq!(judged.stacks[0].pieces, 6);
    assert_eq!(judged.joints.len(), 3);
}

#[test]
fn knobs_are_told_as_they_were_made() {
    let stack = Stack::split_at(vec![plate("base", Pattern::Knob)], &[&[150.0]]);
    let f = stack.judged().layers[0].figures;
    let p = f.play.unwrap();
    assert!(p.holds_all(), "{p:?}");
    // Head R and fillet r touch where the line through their centres, (0.7 R + r) apart along the seam and R + r in all,
    // is steepest: cos δ = (0.7 R + r) / (R + r), and the seam opens by g / sin δ.
    let radii = stack.seams[0]
        .path
        .edges()
        .iter()
        .filter_map(|e| match e.curve {
            Curve::Arc { radius, .. } => Some(radius),
            Curve::Line => None,
        });
    let (r, head) = radii.fold((f64::INFINITY, 0.0), |(a, b): (f64, f64), v| {
        (a.min(v), b.max(v))
    });
    let delta = ((0.7 * head + r) / (head + r)).acos();
    close(p.opening, 0.2 / delta.sin(), OF_ARCS, "g / sin δ");
    close(p.closing, 0.2, OF_ARCS, "g");
    close(p.along, 0.2, OF_ARCS, "g");
    let share = f.toothed.unwrap();
    assert!(share > 0.5 && share < 1.0, "{share}");
    // The neck of a head of radius R is 1.4 R as drawn, less the gap; the sockets between heads are wider than that.
    close(f.neck, 1.4 * head - GAP, 1e-6, "1.4 R − g");
}

/// Area of the overlap of two finished pieces, the second one moved.
fn overlap(a: &Region, b: &Region, by: Point) -> f64 {
    let moved = b.posed(Pose::shifted(by));
    let common = intersection(std::slice::from_ref(a), &[moved]).unwrap();
    common.iter().map(Region::area_mm2).sum()
}

#[test]
fn pieces_moved_by_twice_their_play_overlap_and_by_nine_tenths_do_not() {
    for pattern in [Pattern::Straight, Pattern::Knob] {
        let stack = Stack::split_at(vec![plate("base", pattern)], &[&[300.0]]);
        let [a, b] = [&stack.pieces[0], &stack.pieces[1]];
        let faces: Vec<Edge> = a
            .region
            .edges()
            .filter(|e| e.source == SourceKind::Seam.id(0))
            .copied()
            .collect();
        let mut held = 0;
        for k in 0..16 {
            let way = Point::at_angle(2.0 * PI * f64::from(k) / 16.0);
            let Some(free) = reach(&faces, way, GAP) else {
                assert_eq!(pattern, Pattern::Straight, "knobs hold every way");
                assert!(
                    overlap(&a.finished, &b.finished, way * 5.0) < 1e-3,
                    "{k}: free"
                );
                continue;
            };
            held += 1;
            let far = overlap(&a.finished, &b.finished, way * (2.0 * free));
            assert!(far > 0.1, "{pattern:?}, {k}: {far} mm² at twice {free}");
            let near = overlap(&a.finished, &b.finished, way * (0.9 * free));
            assert!(
                near < 1e-3,
                "{pattern:?}, {k}: {near} mm² at nine tenths of {free}"
            );
        }
        let expected = if pattern == Pattern::Knob { 16 } else { 7 };
        assert_eq!(
            held, expected,
            "{pattern:?}: 7 of 16 ways lead into a straight seam"
        );
    }
}

// ---- what nothing locates -------------------------------------------------------------------------------------------

fn with_hole(mut layer: Layer, at: Point) -> Layer {
    let hole = Ring::circle(at, 3.3, SourceKind::Locating.id(0));
    let outer = layer.shape[0].outer().clone();
    layer.shape = vec![Region::new(outer, vec![hole])];
    layer.locating = vec![Hole {
        center: at,
        diameter: 6.6,
        slot: 0.0,
        slot_deg: 0.0,
    }];
    layer
}

fn loose(stack: &Stack) -> Vec<Finding> {
    located::findings(&stack.layers, 1, &stack.pieces)
}

#[test]
fn pieces_without_a_hole_are_told_once_for_each_layer() {
    let holed = |name: &str| with_hole(plate(name, Pattern::Straight), Point::new(30.0, 30.0));
    let stack = Stack::split_at(vec![holed("base"), holed("face")], &[&[150.0, 400.0], &[]]);
    let told = loose(&stack);
    assert_eq!(told.len(), 1, "face is whole: {told:?}");
    assert_eq!(told[0].code, "S121");
    assert_eq!(told[0].where_, "layer base");
    assert!(told[0].what.contains("base-2, base-3:"), "{}", told[0].what);
    assert!(!told[0].what.contains("base-1"), "it has the hole");
}

#[test]
fn without_any_hole_in_the_stack_that_is_told_once() {
    let plates = || {
        vec![
            plate("base", Pattern::Straight),
            plate("face", Pattern::Straight),
        ]
    };
    let told = loose(&Stack::split_at(plates(), &[&[150.0], &[300.0]]));
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(
        (told[0].code, told[0].where_.as_str()),
        ("S121", "layers base, face")
    );
    // A layer in one piece needs nothing that locates its pieces.
    let told = loose(&Stack::split_at(plates(), &[&[150.0], &[]]));
    assert_eq!(told[0].where_, "layer base");
    assert!(loose(&Stack::split_at(plates(), &[&[], &[]])).is_empty());
}

// ---- what is doubtful -----------------------------------------------------------------------------------------------

/// A seam along x at 200, seams along y before it and behind it.
fn crossing(before: &[f64], behind: &[f64]) -> LayerSplit {
    LayerSplit {
        runs: Axis::X,
        at: vec![200.0],
        across: vec![before.to_vec(), behind.to_vec()],
        joined: Vec::new(),
    }
}

fn of_code<'a>(all: &'a [Finding], code: &str) -> Vec<&'a Finding> {
    all.iter().filter(|f| f.code == code).collect()
}

#[test]
fn pieces_that_meet_over_a_fraction_of_a_millimetre_are_told_as_not_held_there() {
    let stack = Stack::of(plate("base", Pattern::Knob), &crossing(&[300.0], &[300.29]));
    let told = stack.doubts();
    let told = of_code(&told, "S122");
    assert_eq!(told.len(), 1, "{told:?}");
    // By hand: from 300 to 300.29 the one in front on the right meets the one behind on the left.
    assert!((told[0].measured.unwrap() - 0.29).abs() < 1e-9);
    assert!(
        told[0]
            .what
            .contains("base-2 and base-3 along 0.29 mm; their other neighbours hold them"),
        "{}",
        told[0].what
    );
    // A head of 10 mm, the least that is laid, takes more than itself and twice `min_web`.
    assert!(told[0].limit.unwrap() > 10.0 / 2.0 + 12.0, "{told:?}");
    // The finding is no news of seams that meet in one line, of long joints, or of straight ones.
    for (pattern, behind) in [
        (Pattern::Knob, 300.0),
        (Pattern::Knob, 420.0),
        (Pattern::Straight, 300.29),
    ] {
        let stack = Stack::of(plate("base", pattern), &crossing(&[300.0], &[behind]));
        assert_eq!(
            of_code(&stack.doubts(), "S122"),
            Vec::<&Finding>::new(),
            "{pattern:?}, {behind}"
        );
    }
}

/// A plate with round openings whose middles lie along x = 300.
fn with_openings(pattern: Pattern, radius: f64, at: &[f64]) -> Layer {
    let mut layer = plate("base", pattern);
    let ring = |y: &f64| Ring::circle(Point::new(300.0, *y), radius, SourceKind::Opening.id(0));
    let outer = layer.shape[0].outer().clone();
    layer.shape = vec![Region::new(outer, at.iter().map(ring).collect())];
    layer
}

#[test]
fn a_piece_that_no_tooth_holds_is_told_as_held_by_nothing() {
    // Six openings of 64 mm along x = 300 leave webs of 2.3 mm: the seam there carries no tooth, the one at 480 does.
    let at: Vec<f64> = (0..6).map(|k| 34.3 + 66.3 * f64::from(k)).collect();
    let how = LayerSplit {
        runs: Axis::Y,
        at: vec![300.0, 480.0],
        across: vec![Vec::new(); 3],
        joined: Vec::new(),
    };
    let told = Stack::of(with_openings(Pattern::Knob, 32.0, &at), &how).doubts();
    let told = of_code(&told, "S122");
    assert_eq!(told.len(), 1, "{told:?}");
    // By hand: five webs of 2.3 and 2.3 and 2.2 at the ends.
    assert!((told[0].measured.unwrap() - 16.0).abs() < 1e-6, "{told:?}");
    let words = "between base-1 and base-2 no other seam holds either";
    assert!(told[0].what.contains(words), "{}", told[0].what);
}

#[test]
fn a_web_that_lets_teeth_hold_a_piece_is_told() {
    // Five openings of 60 mm leave six webs of 16.67 mm, too little for a knob with the usual web of 6 on either side.
    let at: Vec<f64> = (0..5).map(|k| 46.67 + 76.665 * f64::from(k)).collect();
    let how = LayerSplit {
        runs: Axis::Y,
        at: vec![300.0, 480.0],
        across: vec![Vec::new(); 3],
        joined: Vec::new(),
    };
    let asked = |min_web: Option<f64>| {
        let mut layer = with_openings(Pattern::Knob, 30.0, &at);
        layer.min_web = min_web.unwrap_or(layer.min_web);
        let stack = Stack::of(layer, &how);
        let mut told = stack.doubts();
        seamwright::seam::remedy::with_numbers(
            &stack.made(),
            std::slice::from_ref(&how),
            &options(),
            &mut told,
        );
        told
    };
    let told = asked(None);
    let Some(found) = told.iter().find(|f| f.code == "S122") else {
        // Where a smaller knob holds there is nothing to tell.
        panic!("{told:?}");
    };
    let web = found
        .hint
        .split("`min_web = \"")
        .nth(1)
        .unwrap_or_else(|| panic!("{found:?}"));
    let web: f64 = web.split(" mm").next().unwrap().parse().unwrap();
    assert!(of_code(&asked(Some(web)), "S122").is_empty(), "{web}");
}

#[test]
fn openings_crossed_at_a_flat_angle_are_told_with_place_and_angle() {
    // A seam along y at 300 + 40 · cos 20°: it crosses the circles of radius 40 at 20°.
    let (cos, sin) = ((20.0 * PI / 180.0).cos(), (20.0 * PI / 180.0).sin());
    let split_at = |x: f64| LayerSplit {
        runs: Axis::Y,
        at: vec![x],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    for pattern in [Pattern::Straight, Pattern::Knob] {
        let layer = || with_openings(pattern, 40.0, &[120.0, 280.0]);
        let told = Stack::of(layer(), &split_at(300.0 + 40.0 * cos)).doubts();
        let told = of_code(&told, "S113");
        assert_eq!(told.len(), 1, "{told:?}");
        assert!((told[0].measured.unwrap() - 20.0).abs() < 1e-6, "{told:?}");
        assert_eq!(told[0].limit, Some(30.0));
        let place = format!("({:.2}, ", 300.0 + 40.0 * cos);
        assert!(
            told[0].what.contains(&place) && told[0].what.contains("opening 1"),
            "{told:?}"
        );
        assert!(
            told[0].what.contains("at 3 more places"),
            "two circles, each crossed twice: {told:?}"
        );
        let ys = [120.0, 280.0].map(|y| [y - 40.0 * sin, y + 40.0 * sin]);
        assert!(
            ys.concat()
                .iter()
                .any(|y| told[0].what.contains(&format!(", {y:.2})")))
        );
        // At 31° nothing is told.
        let steeper = 300.0 + 40.0 * (31.0 * PI / 180.0).cos();
        assert_eq!(
            of_code(&Stack::of(layer(), &split_at(steeper)).doubts(), "S113"),
            Vec::<&Finding>::new()
        );
    }
}

#[test]
fn a_neck_between_two_seams_below_the_web_is_told_with_its_place() {
    // Two straight seams along y, 63 apart; held against a web of 70 the piece between them is narrow.
    let how = LayerSplit {
        runs: Axis::Y,
        at: vec![300.0, 363.0],
        across: vec![Vec::new(); 3],
        joined: Vec::new(),
    };
    let mut stack = Stack::of(plate("base", Pattern::Straight), &how);
    assert!(of_code(&stack.doubts(), "S114").is_empty());
    stack.layers[0].min_web = 70.0;
    let told = stack.doubts();
    let told = of_code(&told, "S114");
    assert_eq!(told.len(), 1, "{told:?}");
    // Each face is drawn in by half the gap.
    assert!(
        (told[0].measured.unwrap() - (63.0 - GAP)).abs() < 1e-9,
        "{told:?}"
    );
    assert_eq!(told[0].limit, Some(70.0));
    assert!(
        told[0].what.contains("base-2") && told[0].what.contains("at (331.50, 200.00)"),
        "{told:?}"
    );
}

#[test]
fn teeth_near_an_edge_are_told_with_the_web_that_leaves_the_place_flat() {
    // One opening of 72 mm leaves webs of 16 and 312 mm: in the short one a tooth fits only nearer than 6 mm to both edges.
    let how = LayerSplit {
        runs: Axis::Y,
        at: vec![300.0],
        across: vec![Vec::new(); 2],
        joined: Vec::new(),
    };
    let told = |min_web: f64| {
        let mut layer = with_openings(Pattern::Finger, 36.0, &[52.0]);
        layer.min_web = min_web;
        let mut told = split(&layer, 0, 1, &how, &options()).unwrap().findings;
        let stack = Stack::of(layer, &how);
        let splits = [how.clone()];
        seamwright::seam::remedy::with_numbers(&stack.made(), &splits, &options(), &mut told);
        told
    };
    let near = told(1.0);
    let near = of_code(&near, "S112");
    assert_eq!(near.len(), 1, "{near:?}");
    assert!(
        near[0].hint.starts_with("`min_web = \"6 mm\"` would do"),
        "{near:?}"
    );
    assert!(told(6.0).is_empty(), "two thicknesses");
}

/// A strip so deep, split along y in the middle, whatever is told of it.
fn strip_of(pattern: Pattern, depth: f64) -> (bool, Vec<Finding>) {
    let corners =
        [(0.0, 0.0), (400.0, 0.0), (400.0, depth), (0.0, depth)].map(|(x, y)| Point::new(x, y));
    let ring = Ring::polygon(&corners, SourceKind::Outline.id(0)).unwrap();
    let mut layer = plate("base", pattern);
    layer.shape = vec![Region::solid(ring)];
    let how = LayerSplit {
        runs: Axis::Y,
        at: vec![200.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let mut asked = options();
    asked.limits.min_piece = 5.0;
    let made = split(&layer, 0, 1, &how, &asked).unwrap();
    (made.seams[0].pattern == pattern, made.findings)
}

#[test]
fn a_seam_too_short_for_a_tooth_is_told_with_the_length_that_takes_one() {
    for pattern in [
        Pattern::Wave,
        Pattern::Zigzag,
        Pattern::Dovetail,
        Pattern::Knob,
        Pattern::Finger,
    ] {
        let (has_teeth, told) = strip_of(pattern, 14.0);
        assert!(
            !has_teeth,
            "{pattern:?}: 14 mm less twice the web of 6 are no room"
        );
        let told = of_code(&told, "S102");
        assert_eq!(told.len(), 1, "{pattern:?}: {told:?}");
        assert!((told[0].measured.unwrap() - 14.0).abs() < 1e-9, "{told:?}");
        // The number works, and less does not.
        let needed = told[0].limit.unwrap();
        let (has_teeth, told) = strip_of(pattern, needed + 0.01);
        assert!(has_teeth, "{pattern:?}: {needed} mm take a tooth");
        assert_eq!(of_code(&told, "S102"), Vec::<&Finding>::new());
        assert!(
            !strip_of(pattern, needed - 0.5).0,
            "{pattern:?}: less than {needed} take a tooth"
        );
    }
}
