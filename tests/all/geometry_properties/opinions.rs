//! Random pairs: the algebra of areas, sound outlines, symmetries, and the opinion of geo 0.33 (its engine is another
//! major version of the one in use here), on polygons of the same shapes.

use geo::{Area, BooleanOps as _};
use seamwright::geometry::{
    distance::region_region,
    predicate::{Location, point_in_region},
    transform::{Pose, Rotation},
};

use super::{
    families::{Draw, FAMILIES, Pair},
    *,
};

/// Rounds of each of the nine families. Ten thousands were run once without a failure; these keep it so.
const ROUNDS: u64 = 120;

/// What may be lost in area: each coordinate is rounded to 1e-6 mm and lines within 1.5e-6 mm are one, along all outlines;
/// and a sliver below 1e-3 mm² is dropped, rarely more than one in general position. Combs 1e-5 mm apart and 10 mm deep
/// leave one at each side of 8 teeth.
fn room(name: &str, length: f64) -> f64 {
    let slivers = if name.starts_with("combs") { 16.0 } else { 2.0 };
    2e-6 * length + 1e-3 * slivers
}

struct Results {
    union: Vec<Region>,
    common: Vec<Region>,
    rest: Vec<Region>,
    other: Vec<Region>,
}

fn results(pair: &Pair) -> Results {
    let (a, b) = (std::slice::from_ref(&pair.a), std::slice::from_ref(&pair.b));
    Results {
        union: union(&[pair.a.clone(), pair.b.clone()]).unwrap(),
        common: intersection(a, b).unwrap(),
        rest: difference(a, b).unwrap(),
        other: difference(b, a).unwrap(),
    }
}

fn length(pair: &Pair) -> f64 {
    pair.a.edges().chain(pair.b.edges()).map(Edge::length).sum()
}

#[test]
fn areas_of_random_pairs_add_up_and_outlines_are_sound() {
    for (name, family) in FAMILIES {
        for round in 0..ROUNDS {
            let pair = family(&mut Draw::new(round));
            let r = results(&pair);
            for list in [&r.union, &r.common, &r.rest, &r.other] {
                assert_sound(list);
            }
            let (a, b, room) = (
                pair.a.area_mm2(),
                pair.b.area_mm2(),
                room(name, length(&pair)),
            );
            let source = format!("{name}, round {round}");
            assert_close(
                area(&r.union) + area(&r.common),
                a + b,
                room,
                &format!("inclusion and exclusion, {source}"),
            );
            assert_close(
                area(&r.rest) + area(&r.common),
                a,
                room,
                &format!("A is A − B and A ∩ B, {source}"),
            );
            assert_close(
                area(&r.other) + area(&r.common),
                b,
                room,
                &format!("B is B − A and A ∩ B, {source}"),
            );
            let ids = |list: &[Region]| {
                list.iter()
                    .flat_map(Region::edges)
                    .all(|e| e.source == A || e.source == B)
            };
            assert!(
                ids(&r.union) && ids(&r.common) && ids(&r.rest),
                "{source}: an id from nowhere"
            );
        }
    }
}

fn polygon(region: &Region) -> geo::Polygon<f64> {
    let ring = |r: &Ring| {
        geo::LineString::from(
            r.flatten(CHORDS)
                .iter()
                .map(|p| (p.x, p.y))
                .collect::<Vec<_>>(),
        )
    };
    geo::Polygon::new(
        ring(region.outer()),
        region.holes().iter().map(ring).collect(),
    )
}

/// Chord error of the polygons that the other engine gets.
const CHORDS: f64 = 1e-4;

#[test]
fn areas_of_random_pairs_agree_with_another_engine() {
    for (name, family) in FAMILIES {
        // Every other round: the other engine works on thousands of chords where shapes are round.
        for round in (0..ROUNDS).step_by(2) {
            let pair = family(&mut Draw::new(round));
            let (a, b) = (polygon(&pair.a), polygon(&pair.b));
            let r = results(&pair);
            // Chords lie up to 1e-4 mm from their arcs, two thirds of that on average.
            let room = room(name, length(&pair)) + CHORDS * length(&pair);
            let source = format!("geo 0.33, {name}, round {round}");
            assert_close(area(&r.union), a.union(&b).unsigned_area(), room, &source);
            assert_close(
                area(&r.common),
                a.intersection(&b).unsigned_area(),
                room,
                &source,
            );
            assert_close(
                area(&r.rest),
                a.difference(&b).unsigned_area(),
                room,
                &source,
            );
        }
    }
}

/// The same ring begun at another edge.
fn begun_elsewhere(region: &Region) -> Region {
    let turned = |r: &Ring| {
        let mut edges = r.edges().to_vec();
        let half = edges.len() / 2;
        edges.rotate_left(half);
        Ring::new(edges).unwrap()
    };
    Region::new(
        turned(region.outer()),
        region.holes().iter().rev().map(turned).collect(),
    )
}

#[test]
fn turning_mirroring_and_beginning_elsewhere_change_nothing() {
    for (name, family) in FAMILIES {
        for round in 0..ROUNDS / 4 {
            let mut draw = Draw::new(round);
            let pair = family(&mut draw);
            let r = results(&pair);
            let pose = Pose {
                mirrored: true,
                rotation: Rotation::from_degrees(draw.between(0.0, 360.0)),
                shift: p(71.3, -19.9),
            };
            let others = [
                Pair {
                    a: pair.a.posed(pose),
                    b: pair.b.posed(pose),
                },
                Pair {
                    a: begun_elsewhere(&pair.a),
                    b: begun_elsewhere(&pair.b),
                },
            ];
            for other in &others {
                let s = results(other);
                let room = room(name, length(&pair));
                for (one, two) in [
                    (&r.union, &s.union),
                    (&r.common, &s.common),
                    (&r.rest, &s.rest),
                    (&r.other, &s.other),
                ] {
                    assert_close(
                        area(one),
                        area(two),
                        room,
                        &format!("{name}, round {round}"),
                    );
                }
            }
        }
    }
}

/// Distances with a sign: negative inside, from all regions.
fn signed_distance(q: Point, regions: &[Region]) -> f64 {
    let to_edge = regions
        .iter()
        .map(|r| seamwright::geometry::distance::point_region_boundary(q, r).0)
        .fold(f64::INFINITY, f64::min);
    if is_inside(q, regions) {
        -to_edge
    } else {
        to_edge
    }
}

fn is_inside(q: Point, regions: &[Region]) -> bool {
    regions
        .iter()
        .any(|r| point_in_region(q, r) != Location::Outside)
}

#[test]
fn offsets_of_random_shapes_hold_the_points_that_their_definition_names() {
    for (name, family) in FAMILIES {
        for round in 0..ROUNDS / 2 {
            let mut draw = Draw::new(round);
            let pair = family(&mut draw);
            let (a, b) = (std::slice::from_ref(&pair.a), std::slice::from_ref(&pair.b));
            let shape = if round % 2 == 0 {
                union(&[pair.a.clone(), pair.b.clone()]).unwrap()
            } else {
                difference(a, b).unwrap()
            };
            let by = [0.01, 0.08, 0.5, 1.5, 3.0, 25.0][draw.below(6) as usize]
                * [1.0, -1.0][draw.below(2) as usize];
            let moved = offset(&shape, by).unwrap();
            assert_sound(&moved);
            let bounds = shape
                .iter()
                .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()))
                .grown(by.max(0.0) * 1.2);
            for _ in 0..if shape.is_empty() { 0 } else { 100 } {
                let q = p(
                    draw.between(bounds.min.x, bounds.max.x),
                    draw.between(bounds.min.y, bounds.max.y),
                );
                let distance = signed_distance(q, &shape);
                // Nearer than 1e-3 mm to the new edge, which is measured to that, a point says nothing.
                if (distance - by).abs() > 1e-3 {
                    assert_eq!(
                        is_inside(q, &moved),
                        distance < by,
                        "{name}, round {round} by {by}: {q:?} at {distance}"
                    );
                }
            }
        }
    }
}

#[test]
fn drawn_in_shapes_keep_the_points_that_no_picked_edge_reaches() {
    for round in 0..ROUNDS {
        let mut draw = Draw::new(round);
        let pair = FAMILIES[(round % 9) as usize].1(&mut draw);
        let by = [0.05, 0.3, 1.5][draw.below(3) as usize];
        // Cut by the other shape, the piece has its own edges and those of the cut.
        for piece in
            difference(std::slice::from_ref(&pair.a), std::slice::from_ref(&pair.b)).unwrap()
        {
            let drawn = draw_in(&piece, by, &|s| s == B).unwrap();
            assert_sound(&drawn);
            let cut: Vec<&Edge> = piece.edges().filter(|e| e.source == B).collect();
            let bounds = piece.bounds();
            for _ in 0..60 {
                let q = p(
                    draw.between(bounds.min.x, bounds.max.x),
                    draw.between(bounds.min.y, bounds.max.y),
                );
                let reach = cut
                    .iter()
                    .map(|e| seamwright::geometry::distance::point_edge(q, e).0)
                    .fold(f64::INFINITY, f64::min);
                let own = seamwright::geometry::distance::point_region_boundary(q, &piece).0;
                if (reach - by).abs() > 1e-3
                    && own > 1e-3
                    && is_inside(q, std::slice::from_ref(&piece))
                {
                    // A picked edge reaches through its own side only; a point behind a slot keeps its place where the
                    // slot's other side is not picked, so that only nearness to a picked edge in sight takes it away.
                    let kept = is_inside(q, &drawn);
                    assert!(
                        kept || reach < by,
                        "round {round}: {q:?} at {reach} was taken"
                    );
                    assert!(
                        !kept || reach > by || is_behind(q, &cut, by, &piece),
                        "round {round}: {q:?} at {reach} was kept"
                    );
                }
            }
        }
    }
}

/// Whether every picked edge within reach of a point has the point on its other side.
fn is_behind(q: Point, cut: &[&Edge], by: f64, piece: &Region) -> bool {
    cut.iter().all(|e| {
        let (distance, foot) = seamwright::geometry::distance::point_edge(q, e);
        distance >= by || !is_inside(foot.toward(q, 1e-4), std::slice::from_ref(piece))
    })
}

#[test]
fn parts_of_a_whole_touch_and_unite_to_the_whole() {
    for (name, family) in FAMILIES {
        for round in 0..ROUNDS / 2 {
            let pair = family(&mut Draw::new(round));
            let r = results(&pair);
            let mut parts = r.rest.clone();
            parts.extend(r.common.iter().cloned());
            let whole = union(&parts).unwrap();
            assert_sound(&whole);
            assert_close(
                area(&whole),
                pair.a.area_mm2(),
                room(name, length(&pair)),
                &format!("{name}, round {round}: A − B and A ∩ B make A"),
            );
            // Where both parts have area and A is one region, they share an edge.
            if r.rest.len() == 1 && r.common.len() == 1 {
                let apart = region_region(&r.rest[0], &r.common[0]);
                assert!(
                    apart <= COINCIDENT,
                    "{name}, round {round}: parts {apart} apart"
                );
            }
        }
    }
}
