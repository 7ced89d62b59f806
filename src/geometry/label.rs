//! Where a label goes: the middle of the largest disc that lies in a region.
//!
//! Squares that cover the region are halved twice over; the one that may still hold the best centre comes first, and a
//! square is dropped when its middle's distance from the edges plus its half diagonal cannot beat the best found. The
//! distance is that from the true lines and arcs.

use std::{cmp::Ordering, collections::BinaryHeap};

use crate::geometry::{
    bounds::Bounds,
    point::Point,
    predicate::{Location, locate},
    region::Region,
    spatial_index::EdgeIndex,
};

/// A square of the search. Ordered by the best radius it may hold, then by place, so that the search is the same always.
struct Square {
    middle: Point,
    half: f64,
    radius: f64,
    most: f64,
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Square {}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        let place = |s: &Self| (s.middle.x, s.middle.y);
        self.most
            .total_cmp(&other.most)
            .then_with(|| place(other).0.total_cmp(&place(self).0))
            .then_with(|| place(other).1.total_cmp(&place(self).1))
    }
}

/// Share of the region's lesser extent to which the radius is found.
const PRECISION: f64 = 0.002;

/// No more squares than this are looked at; far beyond what real shapes need (some hundreds).
const MOST_SQUARES: usize = 20_000;

/// The pole of inaccessibility: the point of a region farthest from its edges, and the distance. The radius falls short
/// of the best by no more than 0.2 % of the region's lesser extent. It is the radius of a disc that lies in the region.
pub fn inner_point(region: &Region) -> (Point, f64) {
    let index = EdgeIndex::new([region]);
    let bounds = region.bounds();
    let square = |middle: Point, half: f64| {
        let distance = index
            .nearest(middle, f64::INFINITY)
            .map_or(0.0, |n| n.distance);
        let radius = if locate(middle, region.edges()) == Location::Inside {
            distance
        } else {
            -distance
        };
        Square {
            middle,
            half,
            radius,
            most: radius + half * std::f64::consts::SQRT_2,
        }
    };
    let lesser = bounds.width().min(bounds.depth());
    let mut heap = cover(bounds, lesser, &square);
    let mut best = square(bounds.center(), 0.0);
    let mut looked_at = heap.len();
    while let Some(next) = heap.pop() {
        if next.radius > best.radius {
            best = Square { half: 0.0, ..next };
        }
        if next.most - best.radius <= PRECISION * lesser || looked_at > MOST_SQUARES {
            // Squares come in descending order of what they may hold; but until a point inside is known, go on.
            if best.radius > 0.0 || looked_at > MOST_SQUARES {
                break;
            }
        }
        let half = next.half / 2.0;
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            heap.push(square(next.middle + Point::new(x, y) * half, half));
        }
        looked_at += 4;
    }
    (best.middle, best.radius.max(0.0))
}

fn cover(bounds: Bounds, lesser: f64, square: &dyn Fn(Point, f64) -> Square) -> BinaryHeap<Square> {
    // A long strip is covered by no more than 64 squares along it.
    let side = lesser.max(bounds.width().max(bounds.depth()) / 64.0);
    let mut heap = BinaryHeap::new();
    if side <= 0.0 {
        return heap;
    }
    let (columns, rows) = (
        (bounds.width() / side).ceil().max(1.0) as usize,
        (bounds.depth() / side).ceil().max(1.0) as usize,
    );
    for row in 0..rows {
        for column in 0..columns {
            heap.push(square(
                bounds.min + Point::new(column as f64 + 0.5, row as f64 + 0.5) * side,
                side / 2.0,
            ));
        }
    }
    heap
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::{edge::SourceId, ring::Ring};

    const S: SourceId = SourceId(0);

    fn assert_radius(region: &Region, expected: f64, source: &str) {
        let (p, radius) = inner_point(region);
        let lesser = region.bounds().width().min(region.bounds().depth());
        assert_eq!(locate(p, region.edges()), Location::Inside, "{source}");
        assert!(
            radius <= expected + 1e-9 && radius >= expected - PRECISION * lesser,
            "{radius} for {expected}: {source}"
        );
        let nearest = crate::geometry::distance::point_region_boundary(p, region).0;
        assert!(
            (nearest - radius).abs() < 1e-12,
            "the disc touches the edge: {nearest} for {radius}"
        );
    }

    #[test]
    fn the_largest_disc_has_its_closed_form_radius() {
        let rectangle = Region::solid(Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(85.0, 54.0)),
            3.0,
            S,
        ));
        assert_radius(&rectangle, 27.0, "half the lesser side");
        let disc = Region::solid(Ring::circle(Point::new(3.0, 4.0), 12.0, S));
        assert_radius(&disc, 12.0, "the disc itself");
        let washer = Region::new(
            Ring::circle(Point::new(0.0, 0.0), 20.0, S),
            vec![Ring::circle(Point::new(3.0, 0.0), 8.0, S)],
        );
        assert_radius(
            &washer,
            7.5,
            "the wide side of an eccentric washer, (20 + 3 − 8) / 2",
        );
        let triangle = Region::solid(
            Ring::polygon(
                &[
                    Point::new(0.0, 0.0),
                    Point::new(30.0, 0.0),
                    Point::new(0.0, 40.0),
                ],
                S,
            )
            .unwrap(),
        );
        assert_radius(
            &triangle,
            10.0,
            "incircle of the 30-40-50 triangle, (30 + 40 − 50) / 2",
        );
        let strip = Region::solid(Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(2000.0, 2.0)),
            0.0,
            S,
        ));
        assert_radius(&strip, 1.0, "half the width of a strip");
    }
}
