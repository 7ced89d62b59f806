//! What booleans and offsets are known to get wrong, each with its closed form: edges that coincide, in whole or in part;
//! dense outlines with noise; holes that close; arcs that are cut.

use super::{families::Draw, *};

/// How shapes are laid before they are combined: as they are, and turned so that no coordinate is round.
const TURNS: [f64; 5] = [0.0, 13.7, 45.0, 90.0, 211.1];

fn turned(region: &Region, deg: f64) -> Region {
    region.posed(Pose {
        mirrored: deg > 40.0,
        rotation: Rotation::from_degrees(deg),
        shift: p(123.4, -56.7),
    })
}

fn length(regions: &[Region]) -> f64 {
    regions
        .iter()
        .flat_map(Region::edges)
        .map(Edge::length)
        .sum()
}

/// Two shapes side by side along edges that coincide: they make one of the sum of their areas, with an outline of so much,
/// have nothing in common, and neither takes anything from the other.
#[track_caller]
fn assert_abut(a: &Region, b: &Region, outline: f64, what: &str) {
    let both = length(&[a.clone(), b.clone()]);
    // Points are rounded to 1e-6 mm, and lines within twice that are one.
    let room = COINCIDENT * both;
    for deg in TURNS {
        let what = format!("{what}, turned by {deg}");
        let (a, b) = (turned(a, deg), turned(b, deg));
        let sum = union(&[a.clone(), b.clone()]).unwrap();
        assert_sound(&sum);
        assert_eq!(sum.len(), 1, "{what}: one shape");
        assert_close(area(&sum), a.area_mm2() + b.area_mm2(), room, &what);
        assert_close(length(&sum), outline, 1e-4, &what);
        let common = intersection(std::slice::from_ref(&a), std::slice::from_ref(&b)).unwrap();
        assert_eq!(common, Vec::new(), "{what}: nothing in common");
        for (subject, clip) in [(&a, &b), (&b, &a)] {
            let rest =
                difference(std::slice::from_ref(subject), std::slice::from_ref(clip)).unwrap();
            assert_sound(&rest);
            assert_close(area(&rest), subject.area_mm2(), room, &what);
        }
    }
}

#[test]
fn shapes_with_a_whole_edge_in_common_are_one() {
    let (left, right) = (
        block(0.0, 0.0, 10.0, 6.0, 0.0, A),
        block(10.0, 0.0, 5.0, 6.0, 0.0, B),
    );
    assert_abut(&left, &right, 42.0, "2 · (15 + 6)");
    // The same, apart or overlapping by less than the grid.
    for by in [1e-12, 1e-9, 4e-7] {
        for sign in [-1.0, 1.0] {
            let right = block(10.0 + sign * by, 0.0, 5.0, 6.0, 0.0, B);
            assert_abut(&left, &right, 42.0, &format!("moved by {}", sign * by));
        }
    }
}

#[test]
fn shapes_with_a_part_of_an_edge_in_common_are_one() {
    let plate = block(0.0, 0.0, 10.0, 10.0, 0.0, A);
    for (y, outline) in [(2.0, 50.0), (0.0, 50.0), (7.0, 50.0)] {
        // 40 − 3 + 5 + 3 + 5.
        let tab = block(10.0, y, 5.0, 3.0, 0.0, B);
        assert_abut(&plate, &tab, outline, &format!("a tab at {y}"));
    }
    // Each edge longer than the other at one end: 40 + 28 − 2 · 6.
    let beside = block(10.0, 4.0, 4.0, 10.0, 0.0, B);
    assert_abut(&plate, &beside, 56.0, "shifted along the edge");
}

#[test]
fn a_disc_fills_its_own_hole_and_a_sector_a_part_of_it() {
    let plate = block(-20.0, -20.0, 40.0, 40.0, 0.0, A);
    let plug = disc(0.0, 0.0, 10.0, B);
    let pierced = difference(&[plate], std::slice::from_ref(&plug)).unwrap();
    assert_abut(&pierced[0], &plug, 160.0, "no hole is left");
    // A quarter of a disc in a half-round notch: the arcs coincide along half of the notch's.
    let half = block(-20.0, -20.0, 40.0, 20.0, 0.0, A);
    let notched = difference(&[half], &[plug]).unwrap();
    let quarter = Ring::new(vec![
        Edge::line(p(0.0, 0.0), p(0.0, -10.0), B),
        Edge::arc(p(0.0, -10.0), p(10.0, 0.0), p(0.0, 0.0), 10.0, true, B),
        Edge::line(p(10.0, 0.0), p(0.0, 0.0), B),
    ]);
    let quarter = Region::solid(quarter.unwrap());
    assert_close(quarter.area_mm2(), 25.0 * PI, 1e-12, "π r² / 4, r = 10");
    // The rim of 40 × 20, its rear edge shorter by the open half of the notch; that notch's quarter arc, the sector's side.
    let outline = 120.0 - 10.0 + 5.0 * PI + 10.0;
    assert_abut(&notched[0], &quarter, outline, "a sector in a notch");
}

/// A square outline of so many points, each off by up to 1e-4 mm: its area lies between those of the squares within and
/// without.
fn noisy_square(side: f64, n: u32, seed: u64, source: SourceId) -> Ring {
    let mut draw = Draw::new(seed);
    let points: Vec<Point> = (0..n)
        .map(|k| {
            let t = 4.0 * f64::from(k) / f64::from(n);
            let (leg, s) = (t.floor() as usize, t.fract() * side);
            let q = [p(s, 0.0), p(side, s), p(side - s, side), p(0.0, side - s)][leg];
            q + p(draw.between(-NOISE, NOISE), draw.between(-NOISE, NOISE))
        })
        .collect();
    Ring::polygon(&points, source).unwrap()
}

const NOISE: f64 = 1e-4;

#[track_caller]
fn assert_between(found: f64, least: f64, most: f64, what: &str) {
    assert!(
        found > least && found < most,
        "{what}: {found}, expected between {least} and {most}"
    );
}

#[test]
fn offsets_of_dense_noisy_outlines_lie_between_those_of_smooth_ones() {
    let side = 162.5;
    let n = 4000;
    let outer = noisy_square(side, n, 11, A);
    // A round hole of 500 points, 26 per mm.
    let mut draw = Draw::new(111);
    let hole: Vec<Point> = (0..500)
        .map(|k| {
            let radius = 3.0 + draw.between(-NOISE, NOISE);
            p(80.0, 80.0) + Point::at_angle(f64::from(k) / 250.0 * PI) * radius
        })
        .collect();
    let hole = Ring::polygon(&hole, B).unwrap().reversed();
    let plate = Region::new(outer, vec![hole]);
    for by in [0.1, -0.1, 2.9, 3.1, -3.0] {
        let moved = offset(std::slice::from_ref(&plate), by).unwrap();
        assert_sound(&moved);
        assert_eq!(moved.len(), 1, "by {by}");
        assert_eq!(moved[0].holes().len(), usize::from(by < 3.0), "by {by}");
        // Squares by Steiner's formula, or drawn in; circles by their radius. Chords of the hole lie inside of it by
        // r (1 − cos(π / 500)), below 6e-5 for a radius of 3, and no more where it has shrunk or grown to 6.
        let square = |side: f64| {
            if by > 0.0 {
                side * side + 4.0 * side * by + PI * by * by
            } else {
                (side + 2.0 * by) * (side + 2.0 * by)
            }
        };
        let round = |r: f64| PI * (r - by).max(0.0) * (r - by).max(0.0);
        assert_between(
            area(&moved),
            square(side - 2.0 * NOISE) - round(3.0 + NOISE),
            square(side + 2.0 * NOISE) - round(3.0 - NOISE - 6e-5),
            &format!("by {by}"),
        );
    }
}

#[test]
fn booleans_of_two_noisy_outlines_of_one_square_lose_and_leave_nothing() {
    let side = 162.5;
    let a = Region::solid(noisy_square(side, 4000, 21, A));
    let b = Region::solid(noisy_square(side, 4000, 22, B));
    let (a, b) = (std::slice::from_ref(&a), std::slice::from_ref(&b));
    let (least, most) = (side - 2.0 * NOISE, side + 2.0 * NOISE);
    let common = intersection(a, b).unwrap();
    assert_sound(&common);
    assert_between(area(&common), least * least, most * most, "in common");
    let sum = union(&[a[0].clone(), b[0].clone()]).unwrap();
    assert_sound(&sum);
    assert_eq!(sum.len(), 1);
    assert_eq!(
        sum[0].holes(),
        [],
        "between the two outlines lies nothing but slivers"
    );
    assert_between(area(&sum), least * least, most * most, "together");
    let rest = difference(a, b).unwrap();
    assert_sound(&rest);
    assert_between(
        area(&rest),
        -1e-12,
        most * most - least * least,
        "one without the other",
    );
    // |A| + |B| = |A ∪ B| + |A ∩ B|: points rounded to 1e-6 mm along both outlines. Slivers that are dropped make A ∪ B no
    // smaller and A ∩ B no larger than they are.
    assert_close(
        area(&sum) + area(&common),
        area(a) + area(b),
        COINCIDENT * (length(a) + length(b)),
        "inclusion and exclusion",
    );
    // A clean cut through both edges of the outline takes just its half.
    let half = block(side / 2.0, -10.0, side, side + 20.0, 0.0, B);
    let cut = difference(a, &[half]).unwrap();
    assert_sound(&cut);
    assert_eq!(cut.len(), 1);
    assert_between(
        area(&cut),
        (side / 2.0 - NOISE) * least,
        (side / 2.0 + NOISE) * most,
        "half",
    );
}

/// A plate of 200 × 100 with holes.
fn plate(holes: impl IntoIterator<Item = Region>) -> Region {
    let holes: Vec<Ring> = holes
        .into_iter()
        .map(|h| h.outer().oriented(false))
        .collect();
    let outer = Ring::rounded_box(Bounds::new(p(-100.0, -50.0), p(100.0, 50.0)), 0.0, A);
    Region::new(outer, holes)
}

/// What is open in a plate that has grown.
fn open_area(plate: &Region, by: f64, deg: f64) -> (usize, f64) {
    let moved = offset(&[turned(plate, deg)], by).unwrap();
    assert_sound(&moved);
    assert_eq!(moved.len(), 1);
    let holes = moved[0].holes();
    let open: f64 = holes.iter().map(|h| h.area_mm2().abs()).sum();
    (holes.len(), open)
}

#[test]
fn a_slot_closes_at_half_its_width_and_not_before() {
    let sharp = plate([block(-10.0, -3.0, 20.0, 6.0, 0.0, B)]);
    let round = plate([block(-10.0, -3.0, 20.0, 6.0, 3.0, B)]);
    for deg in TURNS {
        for by in [0.5, 2.0, 2.9, 2.99, 3.0, 3.01, 7.0] {
            let (w, h): (f64, f64) = (20.0 - 2.0 * by, 6.0 - 2.0 * by);
            let what = format!("by {by}, turned by {deg}");
            let expected = if h > 0.0 { w * h } else { 0.0 };
            let (n, open) = open_area(&sharp, by, deg);
            assert_eq!(n, usize::from(h > 0.0), "sharp {what}");
            // Points are rounded to 1e-6 mm, along 52 mm.
            assert_close(open, expected, 5e-5, &format!("sharp {what}"));
            // Half circles of radius 3 − by at both ends of 14.
            let r = (3.0 - by).max(0.0);
            let expected = 14.0 * 2.0 * r + PI * r * r;
            let (n, open) = open_area(&round, by, deg);
            assert_eq!(n, usize::from(h > 0.0), "round {what}");
            assert_close(open, expected, 5e-5, &format!("round {what}"));
        }
    }
}

#[test]
fn a_hole_with_a_waist_becomes_two() {
    // Two discs of radius 5, 30 apart, with a channel 4 wide between them.
    let parts = [
        disc(-15.0, 0.0, 5.0, B),
        disc(15.0, 0.0, 5.0, B),
        block(-15.0, -2.0, 30.0, 4.0, 0.0, B),
    ];
    let hole = union(&parts).unwrap();
    let plate = plate(hole);
    for deg in TURNS {
        let (n, _) = open_area(&plate, 1.9, deg);
        assert_eq!(n, 1, "the channel is still 0.2 wide, turned by {deg}");
        for by in [2.0, 2.1, 4.9] {
            let what = format!("by {by}, turned by {deg}");
            let (n, open) = open_area(&plate, by, deg);
            assert_eq!(n, 2, "{what}");
            // Open are a disc of radius 5 − d, and between it and the circles of radius d about the two corners of the
            // channel's mouth, (√21, ±2) from its centre, a cusp that ends where these circles meet, at √21 − √(d² − 4):
            // the kite of centre, corners and that point without its three sectors.
            let (mouth, reach) = (f64::sqrt(21.0), f64::sqrt(by * by - 4.0));
            let kite = 2.0 * (mouth - reach);
            let (at_center, at_corner) = (
                f64::atan2(2.0, mouth),
                f64::atan2(mouth, 2.0) - f64::atan2(reach, 2.0),
            );
            let cusp = kite - (5.0 - by) * (5.0 - by) * at_center - by * by * at_corner;
            let expected = 2.0 * (PI * (5.0 - by) * (5.0 - by) + cusp);
            assert_close(open, expected, 1e-4, &what);
        }
        assert_eq!(
            open_area(&plate, 5.0, deg).0,
            0,
            "all is closed, turned by {deg}"
        );
    }
}

#[test]
fn of_many_holes_those_close_that_are_small_enough() {
    let radius = |k: i32| 0.5 + 0.25 * f64::from(k);
    let center = |k: i32| {
        p(
            -80.0 + 20.0 * f64::from(k % 9),
            -20.0 + 40.0 * f64::from(k / 9),
        )
    };
    let plate = plate((0..18).map(|k| disc(center(k).x, center(k).y, radius(k), B)));
    for by in [0.3, 0.5, 1.0, 2.6, 4.75] {
        for deg in TURNS {
            let left = || (0..18).map(|k| radius(k) - by).filter(|r| *r > 0.0);
            let (n, open) = open_area(&plate, by, deg);
            assert_eq!(n, left().count(), "by {by}, turned by {deg}");
            let expected: f64 = left().map(|r| PI * r * r).sum();
            assert_close(open, expected, 1e-9, "Σ π (r − d)²; circles stay exact");
        }
    }
}

/// The arcs of one source in regions, each with the circle it has to keep and the places where it has to end.
#[track_caller]
fn assert_cut(regions: &[Region], source: SourceId, circle: (Point, f64), ends: &[Point]) {
    assert_sound(regions);
    let mut n = 0;
    let mut met = vec![false; ends.len()];
    for edge in regions.iter().flat_map(Region::edges) {
        let Curve::Arc { center, radius, .. } = edge.curve else {
            continue;
        };
        if edge.source != source {
            continue;
        }
        n += 1;
        assert!(
            center.distance(circle.0) <= 1e-9 && (radius - circle.1).abs() <= 1e-9,
            "{edge:?} has left its circle {circle:?}"
        );
        for end in [edge.start, edge.end] {
            for (place, met) in ends.iter().zip(&mut met) {
                *met |= end.distance(*place) <= COINCIDENT;
            }
        }
    }
    assert!(n > 0, "an arc of {source:?} is left");
    assert!(
        met.iter().all(|m| *m),
        "no arc ends within 2e-6 of each of {ends:?}: {regions:?}"
    );
}

#[test]
fn an_arc_cut_by_a_line_keeps_its_circle_and_ends_on_both() {
    for (r, h) in [(0.5, 0.2), (10.0, 3.0), (10.0, -9.9), (300.0, 123.456)] {
        // A block whose lower edge runs at height h: it meets the circle at ±√(r² − h²), in closed form.
        let half = f64::sqrt(r * r - h * h);
        let (round, cutter) = (
            disc(0.0, 0.0, r, A),
            block(-2.0 * r, h, 4.0 * r, 2.0 * r, 0.0, B),
        );
        for deg in TURNS {
            let pose = |q: Point| turned_point(q, deg);
            let ends = [pose(p(half, h)), pose(p(-half, h))];
            let circle = (pose(p(0.0, 0.0)), r);
            let (round, cutter) = ([turned(&round, deg)], [turned(&cutter, deg)]);
            for cut in [
                difference(&round, &cutter),
                intersection(&round, &cutter),
                union(&[round[0].clone(), cutter[0].clone()]),
            ] {
                let cut = cut.unwrap();
                assert_cut(&cut, A, circle, &ends);
                // The ends lie on the line too: 2e-6 from the closed form along both sources.
                for edge in cut.iter().flat_map(Region::edges).filter(|e| e.source == A) {
                    for end in [edge.start, edge.end] {
                        let on_line = cutter[0].edges().any(|e| deviation(end, e) <= COINCIDENT);
                        // Where an arc of more than half a turn is parted, it goes on.
                        let here = |q: Point| q.distance(end) <= COINCIDENT;
                        let arcs = cut.iter().flat_map(Region::edges);
                        let arcs = arcs.filter(|e| e.source == A && (here(e.start) || here(e.end)));
                        let own = arcs.count() == 2;
                        assert!(on_line || own, "{end:?} is on the circle alone");
                    }
                }
            }
        }
    }
}

#[test]
fn an_arc_cut_by_an_arc_keeps_its_circle_and_ends_on_both() {
    for (r, s, d) in [(10.0, 7.0, 12.0), (10.0, 10.0, 0.5), (250.0, 3.0, 249.0)] {
        // Two circles at distance d meet at x = (d² + r² − s²) / 2d, y = ±√(r² − x²).
        let x = (d * d + r * r - s * s) / (2.0 * d);
        let y = f64::sqrt(r * r - x * x);
        let (a, b) = (disc(0.0, 0.0, r, A), disc(d, 0.0, s, B));
        for deg in TURNS {
            let ends = [p(x, y), p(x, -y)].map(|q| turned_point(q, deg));
            let circles = [(p(0.0, 0.0), r), (p(d, 0.0), s)]
                .map(|(center, radius)| (turned_point(center, deg), radius));
            let (a, b) = ([turned(&a, deg)], [turned(&b, deg)]);
            for cut in [
                difference(&a, &b),
                intersection(&a, &b),
                union(&[a[0].clone(), b[0].clone()]),
            ] {
                let cut = cut.unwrap();
                assert_cut(&cut, A, circles[0], &ends);
                assert_cut(&cut, B, circles[1], &ends);
            }
        }
    }
}

#[test]
fn an_offset_arc_that_is_cut_keeps_centre_and_moved_radius() {
    // A plate with corners of radius 8 grows by 1.5, then loses what lies right of x = 56: the line meets the arc of radius
    // 9.5 about (52, 32) at y = 32 + √(9.5² − 4²).
    let rounded = block(0.0, 0.0, 60.0, 40.0, 8.0, A);
    let cutter = block(56.0, -20.0, 40.0, 80.0, 0.0, B);
    let y = f64::sqrt(9.5 * 9.5 - 16.0);
    for deg in TURNS {
        let grown = offset(&[turned(&rounded, deg)], 1.5).unwrap();
        let cut = difference(&grown, &[turned(&cutter, deg)]).unwrap();
        assert_sound(&cut);
        let mut n = 0;
        for edge in cut.iter().flat_map(Region::edges) {
            let Curve::Arc { center, radius, .. } = edge.curve else {
                continue;
            };
            assert_close(radius, 9.5, 1e-9, "8 + 1.5");
            let corners = [p(8.0, 8.0), p(52.0, 8.0), p(52.0, 32.0), p(8.0, 32.0)];
            let off = corners.map(|c| turned_point(c, deg).distance(center));
            assert!(off.into_iter().any(|o| o <= 1e-9), "{edge:?}");
            n += 1;
        }
        assert_eq!(n, 4, "four corners, turned by {deg}");
        for end in [p(56.0, 32.0 + y), p(56.0, 8.0 - y)].map(|q| turned_point(q, deg)) {
            let near = |e: &Edge| e.start.distance(end) <= COINCIDENT;
            assert!(cut[0].edges().any(near), "no vertex at {end:?}");
        }
    }
}

/// Where a point comes to lie as [`turned`] lays shapes.
fn turned_point(q: Point, deg: f64) -> Point {
    let q = if deg > 40.0 { p(-q.x, q.y) } else { q };
    Rotation::from_degrees(deg).apply(q) + p(123.4, -56.7)
}
