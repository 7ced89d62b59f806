//! Booleans beside two other engines: geo 0.33 (its engine is another major version of the one that we use) and
//! geo-booleanop 0.3.2, which is known to fail on coinciding edges and is asked only about outlines in general position.
//! A difference between engines is a question, so the area identities are asked too.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use geo::{Area, BooleanOps as _};
use seamwright::geometry::boolean::{difference, intersection, union};
use seamwright::geometry::edge::SourceId;
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;

/// Random stars: `n` corners at equal angles about a centre, radii drawn between a third and the whole of 50.
fn star(state: &mut u64, center: Point, n: usize) -> Vec<Point> {
    let mut draw = || {
        *state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (*state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let turn = draw();
    (0..n)
        .map(|k| {
            let angle = std::f64::consts::TAU * (k as f64 + turn) / n as f64;
            let radius = 50.0 * (1.0 / 3.0 + 2.0 / 3.0 * draw());
            // Coordinates are rounded to our grid first, so that all engines are asked the same.
            let round = |v: f64| (v * 1e6).round() / 1e6;
            Point::new(
                round(center.x + radius * angle.cos()),
                round(center.y + radius * angle.sin()),
            )
        })
        .collect()
}

fn area(regions: &[Region]) -> f64 {
    regions.iter().map(Region::area_mm2).sum()
}

fn geo_polygon(points: &[Point]) -> geo::Polygon<f64> {
    geo::Polygon::new(
        geo::LineString::from(points.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>()),
        Vec::new(),
    )
}

/// Areas of union, intersection and difference from geo-booleanop; `None` where it panics.
fn third_opinion(a: &[Point], b: &[Point]) -> Option<[f64; 3]> {
    use geo_booleanop::boolean::BooleanOp;
    let polygon = |points: &[Point]| {
        let ring: Vec<geo_types_06::Coordinate<f64>> = points
            .iter()
            .map(|p| geo_types_06::Coordinate { x: p.x, y: p.y })
            .collect();
        geo_types_06::Polygon::new(geo_types_06::LineString(ring), Vec::new())
    };
    let ring_area = |ring: &geo_types_06::LineString<f64>| {
        let p = &ring.0;
        (0..p.len())
            .map(|i| p[i].x * p[(i + 1) % p.len()].y - p[(i + 1) % p.len()].x * p[i].y)
            .sum::<f64>()
            .abs()
            / 2.0
    };
    let whole = |shape: &geo_types_06::MultiPolygon<f64>| {
        shape
            .0
            .iter()
            .map(|p| ring_area(p.exterior()) - p.interiors().iter().map(ring_area).sum::<f64>())
            .sum()
    };
    let (a, b) = (polygon(a), polygon(b));
    std::panic::catch_unwind(|| {
        [
            whole(&a.union(&b)),
            whole(&a.intersection(&b)),
            whole(&a.difference(&b)),
        ]
    })
    .ok()
}

#[test]
fn areas_agree_with_two_other_engines_on_outlines_in_general_position() {
    let mut state = 20_261_125;
    let (mut asked, mut silent) = (0, 0);
    for k in 0..300 {
        let n = 3 + k % 30;
        let a = star(&mut state, Point::new(0.0, 0.0), n);
        let b = star(&mut state, Point::new(30.0, 7.0), n + 2);
        let region = |p: &[Point]| Region::solid(Ring::polygon(p, SourceId(0)).unwrap());
        let (ra, rb) = ([region(&a)], [region(&b)]);
        let ours = [
            area(&union(&[ra[0].clone(), rb[0].clone()]).unwrap()),
            area(&intersection(&ra, &rb).unwrap()),
            area(&difference(&ra, &rb).unwrap()),
        ];
        // Crossings are rounded to 1e-6 mm along outlines of less than 6,000 mm in all; slivers under 1e-3 mm² are dropped.
        let room = 6e-3 + 2e-3;
        let (ga, gb) = (geo_polygon(&a), geo_polygon(&b));
        let second = [
            ga.union(&gb).unsigned_area(),
            ga.intersection(&gb).unsigned_area(),
            ga.difference(&gb).unsigned_area(),
        ];
        for (mine, other) in ours.iter().zip(second) {
            assert!(
                (mine - other).abs() < room,
                "pair {k}: {mine} and {other} by geo 0.33"
            );
        }
        assert!(
            (ours[0] + ours[1] - area(&ra) - area(&rb)).abs() < room,
            "pair {k}: union and intersection add up to both"
        );
        assert!(
            (ours[1] + ours[2] - area(&ra)).abs() < room,
            "pair {k}: intersection and difference add up to the first"
        );
        match third_opinion(&a, &b) {
            Some(third) => {
                asked += 1;
                for (mine, other) in ours.iter().zip(third) {
                    assert!(
                        (mine - other).abs() < room,
                        "pair {k}: {mine} and {other} by geo-booleanop 0.3.2"
                    );
                }
            }
            None => silent += 1,
        }
    }
    assert!(
        asked > 250,
        "geo-booleanop answered {asked} times and gave up {silent} times"
    );
}
