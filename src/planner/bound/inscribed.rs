//! A large rectangle along the axes within a shape.
//!
//! The box of the shape is drawn in towards its middle, or the shape's centroid, until no edge crosses it, in some ways. The
//! largest of these is widened side by side as far as it goes. It need not be the largest that there is: any within the shape
//! will do.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::tolerance::FLAT_PLAN;

/// Halvings of a stretch.
const HALVINGS: usize = 24;
/// Share of the way to a point at which a box around it is nearly nothing.
const NEARLY: f64 = 0.999;

/// A rectangle within a region, or `None` where none is found.
pub(super) fn inscribed(region: &Region) -> Option<Bounds> {
    let rings: Vec<Vec<Point>> = region.rings().map(|r| r.flatten(FLAT_PLAN)).collect();
    let sides: Vec<(Point, Point)> = rings
        .iter()
        .flat_map(|ring| {
            let next = ring.iter().cycle().skip(1);
            ring.iter().copied().zip(next.copied())
        })
        .collect();
    let holds = |b: Bounds| {
        b.width() > 0.0
            && b.depth() > 0.0
            && region.outer().contains(b.center())
            && !region.holes().iter().any(|h| h.contains(b.center()))
            && !sides.iter().any(|&(p, q)| crosses(p, q, b))
    };
    let whole = region.bounds();
    let drawn = |by: [f64; 4]| {
        Bounds::new(
            Point::new(whole.min.x + by[0], whole.min.y + by[1]),
            Point::new(whole.max.x - by[2], whole.max.y - by[3]),
        )
    };
    let start = [whole.center(), region.outer().centroid()]
        .into_iter()
        .filter(|&c| whole.holds(c))
        .flat_map(|c| {
            let far = [
                c.x - whole.min.x,
                c.y - whole.min.y,
                whole.max.x - c.x,
                whole.max.y - c.y,
            ];
            let most = far.into_iter().fold(0.0, f64::max);
            // By as much on all sides, by the same share of the way, on two sides only.
            [
                least(&|t| far.map(|f| (t * most).min(NEARLY * f)), &|by| {
                    holds(drawn(by))
                }),
                least(&|t| far.map(|f| t * f), &|by| holds(drawn(by))),
                least(&|t| [t * far[0], 0.0, t * far[2], 0.0], &|by| {
                    holds(drawn(by))
                }),
                least(&|t| [0.0, t * far[1], 0.0, t * far[3]], &|by| {
                    holds(drawn(by))
                }),
            ]
        })
        .flatten()
        .reduce(|a, b| {
            let area = |by: [f64; 4]| drawn(by).width() * drawn(by).depth();
            if area(b) > area(a) { b } else { a }
        })?;
    let widened = (0..4).fold(start, |by, side| {
        let with = |t: f64| {
            let mut by = by;
            by[side] *= t;
            by
        };
        least(&with, &|by| holds(drawn(by))).unwrap_or(by)
    });
    // Chords of hollow arcs lie that much inside.
    let found = drawn(widened).grown(-2.0 * FLAT_PLAN);
    (found.width() > 0.0 && found.depth() > 0.0).then_some(found)
}

/// The insets of the least t for which a box holds; `None` where it does not even where it is nearly nothing.
fn least(insets: &dyn Fn(f64) -> [f64; 4], holds: &dyn Fn([f64; 4]) -> bool) -> Option<[f64; 4]> {
    let (mut low, mut high) = (0.0, NEARLY);
    if holds(insets(low)) {
        return Some(insets(low));
    }
    if !holds(insets(high)) {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = (low + high) / 2.0;
        if holds(insets(middle)) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(insets(high))
}

/// Whether a segment goes through the inside of a box.
fn crosses(p: Point, q: Point, b: Bounds) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let d = q - p;
    for (at, by, low, high) in [(p.x, d.x, b.min.x, b.max.x), (p.y, d.y, b.min.y, b.max.y)] {
        if by == 0.0 {
            if at <= low || at >= high {
                return false;
            }
            continue;
        }
        let (one, two) = ((low - at) / by, (high - at) / by);
        from = from.max(one.min(two));
        to = to.min(one.max(two));
    }
    from < to
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::ring::Ring;

    #[test]
    fn round_corners_are_drawn_in_by_what_they_lack() {
        let whole = Bounds::new(Point::new(0.0, 0.0), Point::new(300.0, 200.0));
        let ring = Ring::rounded_box(whole, 10.0, SourceId(0));
        let found = inscribed(&Region::solid(ring)).unwrap();
        // A rectangle that is drawn in by t on all sides touches the arcs where (10 − t)² · 2 = 100; widened it may gain.
        let least =
            (300.0 - 20.0 * (1.0 - 0.5_f64.sqrt())) * (200.0 - 20.0 * (1.0 - 0.5_f64.sqrt()));
        let area = found.width() * found.depth();
        assert!(area > least - 20.0 && area < 60_000.0, "{area}, {least}");
    }

    #[test]
    fn a_rectangle_in_a_triangle_or_beside_a_hole_lies_in_it() {
        let points = [(0.0, 0.0), (90.0, 0.0), (0.0, 60.0)].map(|(x, y)| Point::new(x, y));
        let triangle = Region::solid(Ring::polygon(&points, SourceId(0)).unwrap());
        let b = inscribed(&triangle).unwrap();
        let top = Point::new(b.max.x, b.max.y);
        assert!(top.x / 90.0 + top.y / 60.0 <= 1.0 + 1e-9 && b.min.x >= 0.0 && b.min.y >= 0.0);
        assert!(
            b.width() * b.depth() > 600.0,
            "half of the best, 90 · 60 ÷ 4"
        );
        let outer = Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(100.0, 50.0)),
            0.0,
            SourceId(0),
        );
        let hole = Ring::circle(Point::new(50.0, 25.0), 10.0, SourceId(0)).reversed();
        let holed = Region::new(outer, vec![hole]);
        if let Some(b) = inscribed(&holed) {
            let near = Point::new(
                50.0_f64.clamp(b.min.x, b.max.x),
                25.0_f64.clamp(b.min.y, b.max.y),
            );
            assert!(
                near.distance(Point::new(50.0, 25.0)) >= 10.0 - 1e-6,
                "{b:?}"
            );
        }
    }
}
