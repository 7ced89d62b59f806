//! Booleans, offsets and distances: closed forms, symmetries, and the opinion of other libraries.
#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::f64::consts::PI;

use seamwright::geometry::{
    boolean::{Rule, combine, difference, intersection, union, union_of_rings},
    bounds::Bounds,
    check::check_with_touching,
    crossing::deviation,
    edge::{Curve, Edge, SourceId},
    offset::{draw_in, offset},
    point::Point,
    region::Region,
    ring::Ring,
    tolerance::COINCIDENT,
    transform::{Pose, Rotation},
};

/// Families of pairs of shapes.
pub(crate) mod families;
/// Random pairs against identities and other libraries.
mod opinions;
/// What booleans and offsets are known to get wrong, with closed forms.
mod traps;

const A: SourceId = SourceId(1);
const B: SourceId = SourceId(2);

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn disc(x: f64, y: f64, r: f64, source: SourceId) -> Region {
    Region::solid(Ring::circle(p(x, y), r, source))
}

fn block(x: f64, y: f64, w: f64, d: f64, r: f64, source: SourceId) -> Region {
    Region::solid(Ring::rounded_box(
        Bounds::new(p(x, y), p(x + w, y + d)),
        r,
        source,
    ))
}

fn area(regions: &[Region]) -> f64 {
    regions.iter().map(Region::area_mm2).sum()
}

#[track_caller]
fn assert_close(found: f64, expected: f64, within: f64, source: &str) {
    assert!(
        (found - expected).abs() <= within,
        "{found} for {expected} ± {within}: {source}"
    );
}

/// What every result promises: sound rings, arcs that keep to their circles.
#[track_caller]
fn assert_sound(regions: &[Region]) {
    for region in regions {
        assert_eq!(check_with_touching(region), Ok(()), "{region:?}");
        for edge in region.edges() {
            assert!(
                deviation(edge.start, edge) <= COINCIDENT
                    && deviation(edge.end, edge) <= COINCIDENT,
                "an end off its circle: {edge:?}"
            );
        }
    }
}

#[test]
fn the_lens_of_two_circles_has_its_closed_form_area() {
    let (a, b) = (disc(0.0, 0.0, 10.0, A), disc(10.0, 0.0, 10.0, B));
    // 2 r² acos(d / 2r) − d/2 √(4r² − d²), r = d = 10; the crossings are exact, so that only rounding is left.
    let lens = 200.0 * 0.5_f64.acos() - 5.0 * 300.0_f64.sqrt();
    assert_close(
        lens,
        122.8370,
        5e-5,
        "the closed form itself, as printed to four digits",
    );
    let common = intersection(std::slice::from_ref(&a), std::slice::from_ref(&b)).unwrap();
    assert_sound(&common);
    assert_close(area(&common), lens, 1e-9, "closed form of a lens");
    let sum = union(&[a.clone(), b.clone()]).unwrap();
    assert_sound(&sum);
    assert_close(
        area(&sum),
        200.0 * PI - lens,
        1e-9,
        "inclusion and exclusion",
    );
    let rest = difference(&[a], &[b]).unwrap();
    assert_sound(&rest);
    assert_close(area(&rest), 100.0 * PI - lens, 1e-9, "a lune");
    let sources: Vec<SourceId> = rest[0].edges().map(|e| e.source).collect();
    assert!(sources.contains(&A) && sources.contains(&B), "{sources:?}");
}

#[test]
fn a_pocket_with_a_notch_has_its_closed_form_area() {
    let pocket = block(0.0, 0.0, 85.0, 54.0, 3.0, A);
    assert_close(pocket.area_mm2(), 4582.2743, 5e-5, "85 · 54 − (4 − π) · 3²");
    assert_close(
        pocket.outer().length(),
        272.8496,
        5e-5,
        "2 · (85 + 54) − 8 · 3 + 2π · 3",
    );
    let notch = disc(42.5, 0.0, 10.0, B);
    let both = union(&[pocket.clone(), notch.clone()]).unwrap();
    assert_sound(&both);
    // The notch adds the half of its disc that lies before the pocket's front edge.
    assert_close(
        area(&both),
        pocket.area_mm2() + 50.0 * PI,
        1e-9,
        "half a disc, π r² / 2",
    );
}

#[test]
fn a_grown_pocket_has_its_closed_form_area() {
    let grown = offset(&[block(0.0, 0.0, 85.0, 54.0, 0.0, A)], 0.08).unwrap();
    assert_sound(&grown);
    // A + P d + π d² for every convex outline (Steiner); exact ends leave only rounding.
    assert_close(
        area(&grown),
        4590.0 + 278.0 * 0.08 + PI * 0.0064,
        1e-9,
        "Steiner's formula",
    );
    assert_close(
        area(&grown),
        4612.2601,
        5e-5,
        "the same, as printed to four digits",
    );
    let rounded = block(0.0, 0.0, 85.0, 54.0, 3.0, A);
    let grown = offset(std::slice::from_ref(&rounded), 0.08).unwrap();
    assert_sound(&grown);
    assert_close(
        area(&grown),
        rounded.area_mm2() + rounded.outer().length() * 0.08 + PI * 0.0064,
        1e-9,
        "Steiner's formula",
    );
    let back = offset(&grown, -0.08).unwrap();
    assert_eq!(back.len(), 1);
    assert_eq!(
        back[0].outer().edges().len(),
        8,
        "four lines and four arcs: {back:?}"
    );
    assert_close(
        area(&back),
        rounded.area_mm2(),
        1e-9,
        "growing and shrinking a convex outline by less than its radii is nothing",
    );
}

#[test]
fn a_circle_stays_one_circle_through_offsets_and_booleans_that_leave_it_alone() {
    let plate = Region::new(
        Ring::rounded_box(Bounds::new(p(0.0, 0.0), p(60.0, 40.0)), 5.0, A),
        vec![Ring::circle(p(20.1, 20.2), 3.3, B)],
    );
    for (by, radius) in [(0.08, 3.3 - 0.08), (-0.08, 3.3 + 0.08), (1.7, 3.3 - 1.7)] {
        let moved = offset(std::slice::from_ref(&plate), by).unwrap();
        assert_sound(&moved);
        let circle = moved[0].holes()[0].as_circle().unwrap();
        assert_eq!(
            circle,
            (p(20.1, 20.2), radius),
            "centre and radius to the bit"
        );
        assert!(moved[0].holes()[0].edges().iter().all(|e| e.source == B));
    }
    assert!(
        offset(std::slice::from_ref(&plate), 3.31).unwrap()[0]
            .holes()
            .is_empty(),
        "a hole of radius 3.3 closes"
    );
    let cut = difference(&[plate], &[block(50.0, -10.0, 30.0, 70.0, 0.0, A)]).unwrap();
    assert_eq!(
        cut[0].holes()[0],
        Ring::circle(p(20.1, 20.2), 3.3, B).reversed()
    );
}

#[test]
fn only_picked_edges_draw_in() {
    let drawn = draw_in(&block(0.0, 0.0, 85.0, 54.0, 0.0, A), 0.1, &|s| s == A).unwrap();
    assert_close(area(&drawn), 84.8 * 53.8, 1e-9, "all four edges by 0.1");
    // The left edge is a seam between two sharp corners: right angles leave nothing for the round ends.
    let piece = Ring::new(
        block(0.0, 0.0, 85.0, 54.0, 0.0, A)
            .edges()
            .map(|e| {
                if e.start.x == 0.0 && e.end.x == 0.0 {
                    Edge { source: B, ..*e }
                } else {
                    *e
                }
            })
            .collect(),
    )
    .unwrap();
    let drawn = draw_in(&Region::solid(piece), 0.1, &|s| s == B).unwrap();
    assert_sound(&drawn);
    assert_close(area(&drawn), 84.9 * 54.0, 1e-9, "one edge by 0.1");
    let seams: Vec<&Edge> = drawn[0].edges().filter(|e| e.source == B).collect();
    assert!(
        seams.len() == 1 && seams[0].curve == Curve::Line && (seams[0].start.x - 0.1).abs() < 1e-12,
        "{seams:?}"
    );
}

#[test]
fn offsets_whose_webs_close_exactly_agree_with_another_library() {
    // Six openings 18 apart and 10 wide, 5 from the rim of 3 mm corners: webs of 8 and 5 mm, holes of radius 5 and corners
    // of 3 close exactly at some of these distances.
    let outer = Ring::rounded_box(Bounds::new(p(0.0, 0.0), p(60.0, 40.0)), 3.0, A);
    let hole = |k: i32| {
        let corner = p(5.0 + 18.0 * f64::from(k % 3), 5.0 + 18.0 * f64::from(k / 3));
        let center = corner + p(5.0, 5.0);
        if k % 2 == 0 {
            Ring::rounded_box(Bounds::new(corner, corner + p(10.0, 10.0)), 3.0, B)
        } else {
            Ring::circle(center, 5.0, B)
        }
    };
    let plate = Region::new(outer, (0..6).map(hole).collect());
    // shapely 2.2.0 (GEOS 3.14.1), buffer with 2,000 chords to the quarter circle. It works on chords throughout and simplifies its input
    // before it buffers (the latter from memory), so that 0.01 mm² is what it can tell.
    for (by, expected) in [
        (7.5, 4030.3604926736994),
        (6.0, 3674.4689293574984),
        (5.0, 3445.0618679735157),
        (4.0, 3200.5174020642194),
        (3.0, 2919.39967830068),
        (2.5, 2765.774272938983),
        (-1.0, 1470.4777729788286),
        (-2.0, 1029.7062187601728),
        (-3.0, 593.4907647169354),
        (-4.0, 237.38757029397598),
    ] {
        for deg in [0.0, 13.7, 45.0, 211.1] {
            let pose = Pose {
                mirrored: deg > 40.0,
                rotation: Rotation::from_degrees(deg),
                shift: p(123.4, -56.7),
            };
            let moved = offset(&[plate.posed(pose)], by).unwrap();
            assert_sound(&moved);
            assert_close(
                area(&moved),
                expected,
                0.01,
                &format!("shapely, by {by} turned {deg}"),
            );
        }
    }
}

#[test]
fn shapes_that_vanish_exactly_vanish() {
    for (region, by) in [
        (block(0.0, 0.0, 20.0, 10.0, 0.0, A), -5.0),
        (block(0.0, 0.0, 20.0, 10.0, 3.0, A), -5.0),
        (block(0.0, 0.0, 20.0, 10.0, 5.0, A), -5.0),
        (disc(0.0, 0.0, 3.0, A), -3.0),
        (disc(0.0, 0.0, 3.0, A), -7.0),
    ] {
        assert_eq!(
            offset(std::slice::from_ref(&region), by),
            Ok(Vec::new()),
            "{region:?}"
        );
    }
    // Corners of radius 3 shrink to sharp ones: 14 · 4.
    let sharp = offset(&[block(0.0, 0.0, 20.0, 10.0, 3.0, A)], -3.0).unwrap();
    assert_close(area(&sharp), 56.0, 1e-9, "(20 − 6) · (10 − 6)");
    assert_eq!(sharp[0].outer().edges().len(), 4, "{sharp:?}");
}

#[test]
fn a_dense_noisy_outline_is_moved_soundly() {
    // 5,000 points along a square of 162.5, each off by up to 0.01.
    let mut draw = families::Draw::new(7);
    let side = 162.5;
    let points: Vec<Point> = (0..5000)
        .map(|k| {
            let t = 4.0 * f64::from(k) / 5000.0;
            let (leg, s) = (t.floor() as i32, t.fract() * side);
            let q = [p(s, 0.0), p(side, s), p(side - s, side), p(0.0, side - s)][leg as usize];
            q + p(draw.between(-0.01, 0.01), draw.between(-0.01, 0.01))
        })
        .collect();
    let region = Region::solid(Ring::polygon(&points, A).unwrap());
    for by in [0.1, 3.0, -3.0] {
        let moved = offset(std::slice::from_ref(&region), by).unwrap();
        assert_sound(&moved);
        // Between the offsets of the squares 0.01 within and without: closed forms.
        let of = |side: f64| {
            if by > 0.0 {
                side * side + 4.0 * side * by + PI * by * by
            } else {
                (side + 2.0 * by) * (side + 2.0 * by)
            }
        };
        let found = area(&moved);
        assert!(
            found > of(side - 0.02) && found < of(side + 0.02),
            "by {by}: {found}"
        );
    }
}

#[test]
fn seam_faces_keep_their_name_where_they_coincide_with_an_outline() {
    let (left, right) = (
        block(0.0, 0.0, 10.0, 10.0, 0.0, A),
        block(10.0, 2.0, 5.0, 3.0, 0.0, B),
    );
    let name = |rank: &dyn Fn(SourceId) -> u32| {
        let rest = combine(
            std::slice::from_ref(&left),
            std::slice::from_ref(&right),
            Rule::Difference,
            rank,
        )
        .unwrap();
        assert_eq!(area(&rest), 100.0);
        rest[0]
            .edges()
            .filter(|e| e.source == B)
            .map(Edge::length)
            .sum::<f64>()
    };
    assert_eq!(name(&|_| 0), 0.0, "the subject's id by default");
    assert_close(
        name(&|s| u32::from(s != B)),
        3.0,
        1e-9,
        "the face of 3 mm that both share",
    );
}

#[test]
fn rings_that_cross_and_nest_unite_by_winding() {
    let rings = vec![
        Ring::circle(p(0.0, 0.0), 10.0, A),
        Ring::circle(p(0.0, 0.0), 5.0, B),
        Ring::circle(p(40.0, 0.0), 10.0, A),
        Ring::circle(p(40.0, 0.0), 5.0, B).reversed(),
    ];
    let regions = union_of_rings(rings).unwrap();
    assert_sound(&regions);
    assert_close(
        area(&regions),
        100.0 * PI + 75.0 * PI,
        1e-9,
        "a ring run the same way fills, run the other way makes a hole",
    );
    // A ring that crosses itself: both lobes of the eight wind once, one of them backward.
    let eight =
        Ring::polygon(&[p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 10.0)], A).unwrap();
    let lobes = union_of_rings(vec![eight]).unwrap();
    assert_eq!(lobes.len(), 2);
    assert_close(area(&lobes), 50.0, 1e-9, "two triangles of 10 · 5 / 2");
}

#[test]
fn curves_that_barely_cross_are_parted_truly() {
    // Two discs overlap by ever less than the first chords, 5e-4 off, can tell.
    for depth in [1e-3, 3e-4, 1e-4, 3e-5, 1e-5] {
        let (a, b) = (disc(0.0, 0.0, 7.0, A), disc(12.0 - depth, 0.0, 5.0, B));
        let turned = Pose {
            mirrored: false,
            rotation: Rotation::from_degrees(33.3),
            shift: p(5.0, 6.0),
        };
        let (a, b) = (a.posed(turned), b.posed(turned));
        let sum = union(&[a.clone(), b.clone()]).unwrap();
        assert_sound(&sum);
        assert_eq!(sum.len(), 1, "{depth} mm in common join the discs");
        let rest = difference(&[a], &[b]).unwrap();
        assert_sound(&rest);
    }
}
