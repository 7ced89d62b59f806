//! Random layers split along legal base lines: pieces tile, seams keep their distances, teeth hold.
//!
//! The rule beside edges is looked at a second way here: the true curve is sampled every 0.2 mm, and each sample's width and
//! its distance from the nearest crossing are measured against every edge.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use seamwright::geometry::boolean::{difference, intersection};
use seamwright::geometry::check::check;
use seamwright::geometry::crossing::edge_crossings;
use seamwright::geometry::distance::{point_edge, region_region};
use seamwright::geometry::edge::{Curve, Edge, SourceId};
use seamwright::geometry::path::Path;
use seamwright::geometry::point::Point;
use seamwright::geometry::predicate::{Location, point_in_region};
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::geometry::transform::Pose;
use seamwright::model::cutter::Axis;
use seamwright::model::layer::{Hole, Layer};
use seamwright::model::seam::{LayerSplit, Pattern, Seam};
use seamwright::model::source::{SourceKind, is_seam};
use seamwright::seam::bond::needed_lap;
use seamwright::seam::error::SeamFault;
use seamwright::seam::legal::legal_space;
use seamwright::seam::options::{Bond, Options};
use seamwright::seam::{Split, split, stagger};

/// All six patterns on layers of many shapes, and how far their pieces can be moved.
mod patterns;
/// Random layers and splits.
mod random;

use random::{Draws, layer, options, plate, random_layer, random_split, rect};

fn samples(path: &Path, step: f64) -> Vec<Point> {
    let along = |e: &Edge| {
        let n = (e.length() / step).ceil().max(1.0) as usize;
        (0..=n)
            .map(|k| e.at(k as f64 / n as f64))
            .collect::<Vec<Point>>()
    };
    path.edges().iter().flat_map(along).collect()
}

/// A place where the curve has less than the web beside it, seen by sampling: place and width.
fn thin(layer: &Layer, path: &Path, web: f64) -> Option<(Point, f64)> {
    let ends = [path.start(), path.end()];
    let points: Vec<Point> = samples(path, 0.2)
        .into_iter()
        .filter(|p| {
            layer
                .shape
                .iter()
                .any(|r| point_in_region(*p, r) == Location::Inside)
        })
        .collect();
    for region in &layer.shape {
        for ring in region.rings() {
            let reach = ring.bounds().grown(web);
            let mut meets: Vec<Point> = path
                .edges()
                .iter()
                .flat_map(|e| ring.edges().iter().flat_map(move |r| edge_crossings(e, r)))
                .collect();
            meets.extend(
                ends.iter()
                    .filter(|p| ring.edges().iter().any(|e| point_edge(**p, e).0 < 1e-5)),
            );
            for p in points.iter().filter(|p| reach.holds(**p)) {
                let nearest = ring
                    .edges()
                    .iter()
                    .map(|e| point_edge(*p, e))
                    .min_by(|a, b| a.0.total_cmp(&b.0))
                    .unwrap();
                let away = meets
                    .iter()
                    .map(|m| m.distance(*p))
                    .fold(f64::INFINITY, f64::min);
                let seen = || {
                    (1..20).all(|k| {
                        layer.shape.iter().any(|r| {
                            point_in_region(p.toward(nearest.1, f64::from(k) / 20.0), r)
                                != Location::Outside
                        })
                    })
                };
                // 1e-4: a crossing computed on a flat arc is that exact; nearer than that rounding decides the ratio.
                if nearest.0 < web - 1e-4 && away > (4.0 * nearest.0).max(1e-4) + 1e-4 && seen() {
                    return Some((*p, nearest.0));
                }
            }
        }
    }
    None
}

fn assert_tiles(layer: &Layer, made: &Split) {
    let whole: f64 = layer.shape.iter().map(Region::area_mm2).sum();
    let sum: f64 = made.pieces.iter().map(|p| p.region.area_mm2()).sum();
    assert!(
        (whole - sum).abs() < 1e-3,
        "areas add up: {sum} for {whole}; crossings are computed on the true curves, the rest is rounding"
    );
    for (k, a) in made.pieces.iter().enumerate() {
        assert_eq!(check(&a.region), Ok(()), "{} is one simple area", a.id);
        for b in made.pieces[..k]
            .iter()
            .filter(|b| b.region.bounds().touches(a.region.bounds()))
        {
            let common: f64 = intersection(
                std::slice::from_ref(&a.region),
                std::slice::from_ref(&b.region),
            )
            .unwrap()
            .iter()
            .map(Region::area_mm2)
            .sum();
            assert!(
                common < 0.01,
                "{} and {} overlap by {common} mm²",
                a.id,
                b.id
            );
        }
    }
}

/// Every face edge is some other piece's, run the other way, to the bit.
fn assert_faces_shared(made: &Split) {
    let key = |e: &Edge| {
        (
            e.start.x.to_bits(),
            e.start.y.to_bits(),
            e.end.x.to_bits(),
            e.end.y.to_bits(),
        )
    };
    for a in &made.pieces {
        for e in a.region.edges().filter(|e| is_seam(e.source)) {
            let back = key(&e.reversed());
            let twins = made
                .pieces
                .iter()
                .flat_map(|b| b.region.edges())
                .filter(|o| {
                    is_seam(o.source) && key(o) == back && o.bulge() == e.reversed().bulge()
                })
                .count();
            assert_eq!(twins, 1, "{}: {e:?}", a.id);
        }
    }
}

/// An arc's ends lie on its circle to within this, as crossings are found again from the true curves.
const ROUNDED: f64 = 2e-6;

fn assert_gap(made: &Split, gap: f64, rounded: f64) {
    for (k, a) in made.pieces.iter().enumerate() {
        for b in &made.pieces[..k] {
            let share = a.region.edges().filter(|e| is_seam(e.source)).any(|e| {
                b.region
                    .edges()
                    .any(|o| o.start == e.end && o.end == e.start)
            });
            let apart = region_region(&a.finished, &b.finished);
            if share {
                assert!(
                    (apart - gap).abs() < rounded,
                    "{} and {} are {apart} apart, gap {gap}",
                    a.id,
                    b.id
                );
            } else {
                assert!(
                    apart > gap - rounded,
                    "{} and {} are {apart} apart",
                    a.id,
                    b.id
                );
            }
        }
    }
}

fn assert_teeth(seam: &Seam, pattern: Pattern, to_plus: bool, least_radius: f64) {
    let across = |p: Point| if seam.runs == Axis::Y { p.x } else { p.y };
    let base = across(seam.path.start());
    let bounds = seam.path.bounds();
    let (low, high) = (across(bounds.min) - base, across(bounds.max) - base);
    // 1e-9: rounding of sums of coordinates below 1000.
    let (wrong, right) = if to_plus { (-low, high) } else { (high, -low) };
    assert!(
        wrong < 1e-9,
        "teeth leave the base line to one side only: {wrong}"
    );
    assert_eq!(
        seam.pattern,
        if right > 1.0 {
            pattern
        } else {
            Pattern::Straight
        },
        "named for what it carries: {right}"
    );
    for e in seam.path.edges() {
        if let Curve::Arc { radius, .. } = e.curve {
            assert!(radius >= least_radius, "radius {radius}");
        }
    }
}

/// Pieces in their order: none in front of an earlier one as a whole, none left of an earlier one in its row.
fn assert_numbered(made: &Split) {
    for (k, later) in made.pieces.iter().enumerate() {
        for first in &made.pieces[..k] {
            let (a, b) = (first.region.bounds(), later.region.bounds());
            let room = 0.2 * a.depth().min(b.depth());
            assert!(
                a.min.y < b.max.y - room,
                "{} lies behind {}",
                first.id,
                later.id
            );
            let row = (a.min.y - b.min.y).abs() <= 1.0 && (a.max.y - b.max.y).abs() <= 1.0;
            assert!(
                !(row && a.min.x > b.min.x && a.max.x > b.max.x),
                "{} lies right of {}",
                first.id,
                later.id
            );
        }
    }
}

#[test]
fn random_layers_are_split_into_pieces_that_tile_lock_and_keep_every_distance() {
    let mut draws = Draws(20_240_611);
    let (mut made_of, mut too_small, mut with_teeth) = (0, 0, 0);
    for case in 0..160 {
        let layer = random_layer(&mut draws);
        let gap = [0.0, 0.2][draws.below(2)];
        let mut options = options(gap);
        if draws.below(3) == 0 {
            (options.tooth, options.depth) = (Some(40.0), Some(14.0));
        }
        let Some(wanted) = random_split(&layer, &options, &mut draws) else {
            continue;
        };
        let layer_idx = draws.below(2);
        let made = match split(&layer, layer_idx, 1, &wanted, &options) {
            Ok(made) => made,
            Err(SeamFault::PieceTooSmall { .. }) => {
                too_small += 1;
                continue;
            }
            Err(fault) => panic!("case {case}, {wanted:?}: {fault}"),
        };
        made_of += 1;
        with_teeth += usize::from(made.seams.iter().any(|s| s.pattern == Pattern::Knob));
        assert_tiles(&layer, &made);
        assert_faces_shared(&made);
        assert_gap(&made, gap, 1e-6);
        assert_numbered(&made);
        for seam in &made.seams {
            assert_teeth(seam, Pattern::Knob, layer_idx == 0, options.corner_radius);
            let found = thin(&layer, &seam.path, layer.min_web);
            assert_eq!(found, None, "case {case}: {wanted:?}");
            for hole in &layer.locating {
                let near = seam
                    .path
                    .edges()
                    .iter()
                    .map(|e| point_edge(hole.center, e).0)
                    .fold(f64::INFINITY, f64::min);
                assert!(
                    near - hole.diameter / 2.0 >= 8.0 - 1e-6,
                    "keep_clear: {near}"
                );
            }
        }
        if !wanted.is_whole()
            && made.seams.iter().all(|s| s.pattern == Pattern::Straight)
            && !made.seams.is_empty()
        {
            assert!(
                made.findings
                    .iter()
                    .any(|f| f.what.contains("tooth") && f.what.contains("core")),
                "{:?}",
                made.findings
            );
        }
    }
    assert!(
        made_of >= 80 && with_teeth >= 50,
        "{made_of} splits made, {with_teeth} with teeth, {too_small} with too small a piece"
    );
}

#[test]
fn legal_intervals_agree_with_sampling() {
    let mut draws = Draws(7);
    let (mut inside, mut outside) = (0, 0);
    for _ in 0..30 {
        let mut layer = random_layer(&mut draws);
        layer.pattern = Some(Pattern::Straight);
        let b = layer.shape[0].bounds();
        let space = legal_space(&layer, Axis::X, (b.min.x, b.max.x), &options(0.0));
        for _ in 0..20 {
            let v = draws.between(b.min.y + 1.0, b.max.y - 1.0);
            let edge = Edge::line(
                Point::new(b.min.x - 1.0, v),
                Point::new(b.max.x + 1.0, v),
                SourceId(0),
            );
            let path = Path::new(vec![edge]).unwrap();
            let near_hole = layer
                .locating
                .iter()
                .any(|h| (h.center.y - v).abs() < 3.3 + 8.0);
            let flat = layer.shape[0].edges().any(|e| {
                edge_crossings(&edge, e)
                    .iter()
                    .any(|p| e.tangent_at(*p).y.abs() < 0.25)
            });
            let bad = near_hole || flat || thin(&layer, &path, layer.min_web).is_some();
            if space.intervals.iter().any(|i| i.low <= v && v <= i.high) {
                assert!(!bad, "{v} of {:?}", space.intervals);
                inside += 1;
            } else if space
                .intervals
                .iter()
                .all(|i| v < i.low - 0.05 || v > i.high + 0.05)
            {
                assert!(
                    bad,
                    "{v} is legal by sampling, not in {:?}",
                    space.intervals
                );
                outside += 1;
            }
        }
    }
    assert!(
        inside > 100 && outside > 100,
        "{inside} inside, {outside} outside"
    );
}

#[test]
fn knobs_hold_when_pushed_apart_and_a_straight_seam_does_not() {
    let mut whole = layer(vec![plate(300.0, 200.0, 5.0)], 3.0);
    let wanted = LayerSplit {
        runs: Axis::Y,
        at: vec![140.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let push = |made: &Split, by: Point| -> f64 {
        let moved = made.pieces[1].finished.posed(Pose::shifted(by));
        intersection(std::slice::from_ref(&made.pieces[0].finished), &[moved])
            .unwrap()
            .iter()
            .map(Region::area_mm2)
            .sum()
    };
    for (layer_idx, gap) in [(0, 0.0), (1, 0.2)] {
        let made = split(&whole, layer_idx, 1, &wanted, &options(gap)).unwrap();
        assert_eq!(made.pieces.len(), 2);
        for (x, y) in [(1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            let area = push(&made, Point::new(x, y));
            assert!(
                area > 1.0,
                "a push of 1 mm along ({x}, {y}) drives faces into one another: {area} mm²"
            );
        }
    }
    whole.pattern = Some(Pattern::Straight);
    let made = split(&whole, 0, 1, &wanted, &options(0.0)).unwrap();
    assert!(
        push(&made, Point::new(1.0, 0.0)) < 1e-6,
        "nothing holds a straight seam"
    );
}

#[test]
fn every_web_between_round_pockets_carries_a_tooth() {
    // Pockets of 90.4 every 130 by 118 mm in 3 mm sheet: the webs along a column's middle are 27.6 mm long. A head of
    // 12 mm and twice 6 mm of clearance need 24.
    let mut cut = Vec::new();
    for (i, j) in (0..3).flat_map(|i| (0..4).map(move |j| (i, j))) {
        let center = Point::new(100.0 + 130.0 * f64::from(i), 80.0 + 118.0 * f64::from(j));
        cut.push(Region::solid(Ring::circle(
            center,
            45.2,
            SourceKind::Pocket.id((i + 3 * j) as usize),
        )));
    }
    let rim = layer(difference(&[plate(460.0, 514.0, 10.0)], &cut).unwrap(), 3.0);
    let wanted = LayerSplit {
        runs: Axis::Y,
        at: vec![230.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let made = split(&rim, 0, 1, &wanted, &options(0.0)).unwrap();
    let heads = made.seams[0]
        .path
        .edges()
        .iter()
        .filter(|e| matches!(e.curve, Curve::Arc { radius, .. } if radius >= 6.0))
        .count();
    assert!(
        heads >= 5,
        "three webs and two rims, each with a head of 12 mm or more: {heads}"
    );
}

#[test]
fn a_seam_that_leaves_the_contour_is_several_seams() {
    // A U: the seam along x at y = 300 crosses both arms, not the gap between them.
    let corners = [
        (0.0, 0.0),
        (500.0, 0.0),
        (500.0, 400.0),
        (350.0, 400.0),
        (350.0, 150.0),
        (150.0, 150.0),
        (150.0, 400.0),
        (0.0, 400.0),
    ];
    let u = Ring::polygon(
        &corners.map(|(x, y)| Point::new(x, y)),
        SourceKind::Drawn.id(0),
    )
    .unwrap();
    let layer = layer(vec![Region::solid(u)], 3.0);
    let wanted = LayerSplit {
        runs: Axis::X,
        at: vec![300.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let made = split(&layer, 0, 2, &wanted, &options(0.0)).unwrap();
    let ends: Vec<(f64, f64)> = made
        .seams
        .iter()
        .map(|s| (s.path.start().x, s.path.end().x))
        .collect();
    assert_eq!(ends, [(0.0, 150.0), (350.0, 500.0)], "the arms, by hand");
    let ids: Vec<&str> = made.pieces.iter().map(|p| p.id.as_str()).collect();
    assert_eq!(
        ids,
        ["core-c2-1", "core-c2-2", "core-c2-3"],
        "the body, then the arms from the left"
    );
    assert!(made.pieces[1].region.bounds().max.x < made.pieces[2].region.bounds().min.x);
}

#[test]
fn seams_across_end_on_the_through_seam_and_its_teeth_keep_away() {
    let layer = layer(vec![plate(600.0, 400.0, 8.0)], 3.0);
    let wanted = LayerSplit {
        runs: Axis::Y,
        at: vec![290.0],
        across: vec![vec![150.0], vec![230.0]],
        joined: Vec::new(),
    };
    let made = split(&layer, 0, 1, &wanted, &options(0.0)).unwrap();
    assert_eq!((made.pieces.len(), made.seams.len()), (4, 3));
    assert_eq!(made.seams[1].path.end(), Point::new(290.0, 150.0));
    assert_eq!(made.seams[2].path.start(), Point::new(290.0, 230.0));
    for y in [150.0, 230.0] {
        let flat = made.seams[0]
            .path
            .edges()
            .iter()
            .filter(|e| e.curve == Curve::Line)
            .any(|e| e.start.y < y && y <= e.end.y);
        assert!(flat, "the through seam runs straight at y = {y}");
    }
    let tooth_to_seam = made.seams[0]
        .path
        .edges()
        .iter()
        .filter(|e| e.curve != Curve::Line)
        .map(|e| point_edge(Point::new(290.0, 230.0), e).0)
        .fold(f64::INFINITY, f64::min);
    assert!(
        tooth_to_seam >= 6.0,
        "two thicknesses from the junction: {tooth_to_seam}"
    );
}

#[test]
fn faults_name_obstacle_place_and_figures() {
    let mut whole = layer(vec![plate(300.0, 200.0, 0.0)], 3.0);
    whole.locating.push(Hole {
        center: Point::new(150.0, 100.0),
        diameter: 6.6,
        slot: 4.0,
        slot_deg: 90.0,
    });
    let at = |x: f64| LayerSplit {
        runs: Axis::Y,
        at: vec![x],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let fault = |x: f64| split(&whole, 0, 1, &at(x), &options(0.0)).unwrap_err();
    // x = 160 lies 10 − 3.3 = 6.7 mm from the slot, which stands along y.
    assert!(
        matches!(fault(160.0), SeamFault::TooNear { measured, limit, .. } if (measured - 6.7).abs() < 1e-9 && limit == 8.0)
    );
    assert!(
        fault(160.0)
            .to_string()
            .contains("6.70 mm from the locating hole at (150.00, 100.00)"),
        "{}",
        fault(160.0)
    );
    assert!(
        matches!(fault(4.0), SeamFault::ThinWeb { measured, .. } if (measured - 4.0).abs() < 1e-6),
        "{}",
        fault(4.0)
    );
    assert!(
        matches!(fault(40.0), SeamFault::PieceTooSmall { width, .. } if width < 60.0),
        "{}",
        fault(40.0)
    );
    assert!(
        matches!(fault(-40.0), SeamFault::Idle { .. }),
        "{}",
        fault(-40.0)
    );
    whole.pattern = None;
    assert!(matches!(
        split(&whole, 0, 1, &at(160.0), &options(0.0)),
        Err(SeamFault::KeptWhole { .. })
    ));
    assert_eq!(
        split(&whole, 0, 1, &LayerSplit::whole(), &options(0.0))
            .unwrap()
            .pieces
            .len(),
        1
    );
}

#[test]
fn teeth_of_the_size_asked_point_the_way_of_the_layer() {
    let layer = layer(vec![plate(400.0, 300.0, 0.0)], 3.0);
    let wanted = LayerSplit {
        runs: Axis::X,
        at: vec![140.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let asked = Options {
        tooth: Some(50.0),
        depth: Some(16.0),
        corner_radius: 1.0,
        ..options(0.0)
    };
    for (layer_idx, low, high) in [(0, 140.0, 156.0), (1, 124.0, 140.0)] {
        let made = split(&layer, layer_idx, 1, &wanted, &asked).unwrap();
        let b = made.seams[0].path.bounds();
        // 1e-9: a handful of roundings of coordinates below 1000.
        assert!(
            (b.min.y - low).abs() < 1e-9 && (b.max.y - high).abs() < 1e-9,
            "{b:?}"
        );
        let heads = made.seams[0]
            .path
            .edges()
            .iter()
            .filter(|e| matches!(e.curve, Curve::Arc { radius, .. } if radius > 5.0))
            .count();
        assert_eq!(heads, 8, "400 / 50 whole teeth");
    }
    assert_eq!(seamwright::seam::reach(&layer, 1, &asked), (16.0, 0.0));
}

#[test]
fn lap_counts_the_teeth() {
    let layer = layer(vec![plate(400.0, 300.0, 0.0)], 3.0);
    let at = |y: f64| LayerSplit {
        runs: Axis::X,
        at: vec![y],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    let asked = Options {
        tooth: Some(50.0),
        depth: Some(16.0),
        ..options(0.0)
    };
    let lower = split(&layer, 0, 1, &at(100.0), &asked).unwrap();
    let upper = split(&layer, 1, 1, &at(180.0), &asked).unwrap();
    // Teeth of both reach 16 mm toward one another at the same places along the seam: 180 − 16 − (100 + 16) = 48.
    let lap = stagger::lap(&lower.seams, &upper.seams);
    assert!((lap - 48.0).abs() < 1e-9, "{lap}");
}

#[test]
fn a_soft_bond_asks_for_a_longer_lap() {
    let plate = |thickness: f64| layer(vec![plate(400.0, 300.0, 0.0)], thickness);
    let lap = |bond: Bond, lower: f64, upper: f64, moduli: [Option<f64>; 2]| {
        needed_lap(bond, [&plate(lower), &plate(upper)], moduli)
    };
    let near = |lap: Option<f64>, by_hand: f64| {
        assert!(
            (lap.unwrap() - by_hand).abs() < 0.005 * by_hand.min(2.0),
            "{lap:?}, {by_hand}"
        );
    };
    // λ² = (0.5 / 0.13) · 2 / (3300 · 3) = 7.770e-4 per mm², 3 / λ = 107.62, by hand.
    near(lap(Bond::Film, 3.0, 3.0, [None; 2]), 107.62);
    // λ² = (0.5 / 0.13) · (1 / (3300 · 3) + 1 / (3300 · 4)) = 6.799e-4, 3 / λ = 115.05, by hand.
    near(lap(Bond::Film, 3.0, 4.0, [Some(3300.0), None]), 115.05);
    // λ² = (1200 / 0.05) · 2 / (3300 · 3) = 4.848 per mm², 3 / λ = 1.3625, by hand.
    near(lap(Bond::Weld, 3.0, 3.0, [None; 2]), 1.3625);
    // λ² = (0.5 / 0.13) · (1 / (2700 · 3) + 1 / (3300 · 3)) = 8.633e-4, 3 / λ = 102.10, by hand.
    near(
        lap(Bond::Film, 3.0, 3.0, [Some(2700.0), Some(3300.0)]),
        102.10,
    );
    for bond in [Bond::Dry, Bond::Glue] {
        assert_eq!(lap(bond, 3.0, 3.0, [None; 2]), None, "no figure");
    }
}

#[test]
fn a_seam_across_does_not_end_beside_a_pocket() {
    // The through seam passes the round pocket at x = 100; at y = 111.5 it has just left it, and a seam that ends on it
    // there would cut off a sliver between the two and the pocket.
    let pocket = Ring::circle(Point::new(100.0, 80.0), 31.0, SourceKind::Pocket.id(0));
    let cut = difference(&[plate(300.0, 250.0, 0.0)], &[Region::solid(pocket)]).unwrap();
    let layer = layer(cut, 3.0);
    let wanted = |y: f64| LayerSplit {
        runs: Axis::Y,
        at: vec![100.0],
        across: vec![vec![y], Vec::new()],
        joined: Vec::new(),
    };
    let fault = split(&layer, 0, 1, &wanted(111.5), &options(0.0)).unwrap_err();
    assert!(
        matches!(fault, SeamFault::ThinWeb { measured, .. } if (measured - 0.5).abs() < 1e-6),
        "{fault}"
    );
    assert_eq!(
        split(&layer, 0, 1, &wanted(117.1), &options(0.0))
            .unwrap()
            .pieces
            .len(),
        3,
        "6.1 mm beside it"
    );
    let space = legal_space(&layer, Axis::X, (0.0, 100.0), &options(0.0));
    let legal = |y: f64| space.intervals.iter().any(|i| i.low <= y && y <= i.high);
    assert!(
        !legal(111.5) && !legal(116.9) && legal(117.1),
        "{:?}",
        space.intervals
    );
}

#[test]
fn an_island_in_a_pocket_is_not_lost() {
    let hole = Ring::rounded_box(
        rect(60.0, 60.0, 160.0, 160.0),
        0.0,
        SourceKind::Pocket.id(0),
    );
    let island = Region::solid(Ring::circle(
        Point::new(110.0, 110.0),
        20.0,
        SourceKind::Drawn.id(0),
    ));
    let frame = difference(&[plate(400.0, 220.0, 0.0)], &[Region::solid(hole)]).unwrap();
    let layer = layer(frame.into_iter().chain([island]).collect(), 3.0);
    let wanted = LayerSplit {
        runs: Axis::Y,
        at: vec![250.0],
        across: vec![Vec::new(), Vec::new()],
        joined: Vec::new(),
    };
    assert_eq!(
        split(&layer, 0, 1, &wanted, &options(0.0))
            .unwrap()
            .pieces
            .len(),
        3,
        "two halves and the island"
    );
}
