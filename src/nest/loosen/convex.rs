//! Outlines cut into convex parts: ears are clipped off (holes bridged to the outside first), then triangles are joined
//! again as long as they stay convex.

use crate::geometry::point::Point;
use crate::nest::loosen::outline::Outline;

/// A convex polygon, counter-clockwise.
pub(super) type Part = Vec<Point>;

/// Convex parts that fill an outline; `None` where clipping fails (their area is compared).
pub(super) fn parts(outline: &Outline) -> Option<Vec<Part>> {
    let area: f64 = outline.0.iter().map(|r| signed_area(r)).sum();
    let ring = bridged(outline)?;
    let triangles = clipped(ring)?;
    let sum: f64 = triangles.iter().map(|t| signed_area(t)).sum();
    if (sum - area).abs() > 1e-9 * area.abs() + 1e-6 {
        return None;
    }
    Some(joined(triangles))
}

/// Signed area of a polygon, about its first point.
pub(super) fn signed_area(points: &[Point]) -> f64 {
    let about = points[0];
    (1..points.len().saturating_sub(1))
        .map(|k| 0.5 * (points[k] - about).cross(points[k + 1] - about))
        .sum()
}

/// The outer ring with every hole joined to it by a bridge that is walked both ways.
fn bridged(outline: &Outline) -> Option<Vec<Point>> {
    let mut ring = outline.0.first()?.clone();
    let mut holes: Vec<&Vec<Point>> = outline.0[1..].iter().collect();
    let right = |h: &Vec<Point>| h.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
    holes.sort_by(|a, b| right(b).total_cmp(&right(a)));
    for hole in holes {
        let k = (0..hole.len()).max_by(|&a, &b| hole[a].x.total_cmp(&hole[b].x))?;
        let from = hole[k];
        // The nearest corner that is seen from the hole's rightmost one.
        let mut seen: Vec<usize> = (0..ring.len()).collect();
        seen.sort_by(|&a, &b| {
            let d = |i: usize| (ring[i] - from).length_squared();
            d(a).total_cmp(&d(b)).then(a.cmp(&b))
        });
        let to = seen.into_iter().find(|&i| {
            let n = ring.len();
            let clear = |r: &[Point]| {
                (0..r.len()).all(|e| !crosses(from, ring[i], r[e], r[(e + 1) % r.len()]))
            };
            opens(ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n], from)
                && clear(&ring)
                && outline.0[1..].iter().all(|h| clear(h))
        })?;
        let mut way: Vec<Point> = vec![ring[to]];
        way.extend((0..=hole.len()).map(|s| hole[(k + s) % hole.len()]));
        let rest = ring.split_off(to);
        ring.extend(way);
        ring.extend(rest);
    }
    Some(ring)
}

/// Whether the way from corner `b` to `to` leads into the material between its two edges.
fn opens(a: Point, b: Point, c: Point, to: Point) -> bool {
    let (back, on, way) = (a - b, c - b, to - b);
    if on.cross(back) >= 0.0 {
        on.cross(way) >= 0.0 && way.cross(back) >= 0.0
    } else {
        !(back.cross(way) > 0.0 && way.cross(on) > 0.0)
    }
}

/// Whether two segments cross at a point that is inside both.
fn crosses(a: Point, b: Point, c: Point, d: Point) -> bool {
    if a == c || a == d || b == c || b == d {
        return false;
    }
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}

/// What is known of a corner of a ring.
#[derive(Clone, Copy, PartialEq)]
enum Known {
    Nothing,
    Ear,
    /// It opens outward: no ear.
    Inner,
    /// The corner of this number lies in its triangle.
    Barred(usize),
}

/// Triangles of a ring, ear by ear. What is known of a corner stays until a neighbour, or what bars it, is clipped off.
fn clipped(mut ring: Vec<Point>) -> Option<Vec<Part>> {
    let mut out = Vec::with_capacity(ring.len());
    let mut names: Vec<usize> = (0..ring.len()).collect();
    let mut known = vec![Known::Nothing; ring.len()];
    while ring.len() > 3 {
        let n = ring.len();
        for (k, own) in known.iter_mut().enumerate() {
            if *own == Known::Nothing {
                *own = corner_of(&ring, &names, k);
            }
        }
        // Of all ears the one with the widest least angle: parts come out less thin.
        let ear = (0..n)
            .filter(|&k| known[k] == Known::Ear)
            .max_by(|&a, &b| fatness(&ring, a).total_cmp(&fatness(&ring, b)))?;
        let t = vec![ring[(ear + n - 1) % n], ring[ear], ring[(ear + 1) % n]];
        if signed_area(&t) > 0.0 {
            out.push(t);
        }
        for k in [(ear + n - 1) % n, (ear + 1) % n] {
            known[k] = Known::Nothing;
        }
        ring.remove(ear);
        known.remove(ear);
        let gone = Known::Barred(names.remove(ear));
        for k in &mut known {
            if *k == gone {
                *k = Known::Nothing;
            }
        }
    }
    if signed_area(&ring) > 0.0 {
        out.push(ring);
    }
    Some(out)
}

fn corner(ring: &[Point], k: usize) -> [Point; 3] {
    let n = ring.len();
    [ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]]
}

fn fatness(ring: &[Point], k: usize) -> f64 {
    let [a, b, c] = corner(ring, k);
    let longest = (b - a)
        .length_squared()
        .max((c - b).length_squared())
        .max((a - c).length_squared());
    (b - a).cross(c - b) / longest.max(1e-300)
}

/// Whether a corner is an ear, and else why not.
fn corner_of(ring: &[Point], names: &[usize], k: usize) -> Known {
    let [a, b, c] = corner(ring, k);
    let area = (b - a).cross(c - b);
    if area < 0.0 {
        return Known::Inner;
    }
    if area == 0.0 {
        // A point in line with its neighbours, or the end of a bridge walked both ways.
        return Known::Ear;
    }
    let bars = ring.iter().position(|&p| {
        !(p == a
            || p == b
            || p == c
            || (b - a).cross(p - a) < 0.0
            || (c - b).cross(p - b) < 0.0
            || (a - c).cross(p - c) < 0.0)
    });
    bars.map_or(Known::Ear, |at| Known::Barred(names[at]))
}

/// Joins parts that share an edge as long as what comes out is convex.
fn joined(mut parts: Vec<Part>) -> Vec<Part> {
    let mut k = 0;
    while k < parts.len() {
        let partner =
            (k + 1..parts.len()).find_map(|j| join(&parts[k], &parts[j]).map(|both| (j, both)));
        match partner {
            Some((j, both)) => {
                parts[k] = both;
                parts.remove(j);
            }
            None => k += 1,
        }
    }
    parts
}

fn join(a: &[Point], b: &[Point]) -> Option<Part> {
    let (n, m) = (a.len(), b.len());
    for i in 0..n {
        let (p, q) = (a[i], a[(i + 1) % n]);
        let Some(j) = (0..m).find(|&j| b[j] == q && b[(j + 1) % m] == p) else {
            continue;
        };
        let mut both: Part = (1..=n).map(|s| a[(i + s) % n]).collect();
        both.extend((2..m).map(|s| b[(j + s) % m]));
        let len = both.len();
        let convex = (0..len).all(|k| {
            let [x, y, z] = corner(&both, k);
            let (s, t) = (y - x, z - y);
            s.cross(t) >= -1e-12 * s.length() * t.length()
        });
        if !convex {
            continue;
        }
        let kept: Part = (0..len)
            .filter(|&k| {
                let [x, y, z] = corner(&both, k);
                let (s, t) = (y - x, z - y);
                s.cross(t) > 1e-12 * s.length() * t.length()
            })
            .map(|k| both[k])
            .collect();
        if kept.len() >= 3 {
            return Some(kept);
        }
    }
    None
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|p| Point::new(p.0, p.1)).collect()
    }

    #[test]
    fn an_ell_is_two_parts_and_a_frame_with_two_holes_is_filled() {
        let ell = Outline(vec![ring(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 1.0),
            (1.0, 1.0),
            (1.0, 4.0),
            (0.0, 4.0),
        ])]);
        assert_eq!(parts(&ell).unwrap().len(), 2, "one inner corner, one cut");
        let frame = Outline(vec![
            ring(&[(0.0, 0.0), (9.0, 0.0), (9.0, 5.0), (0.0, 5.0)]),
            ring(&[(1.0, 1.0), (1.0, 4.0), (4.0, 4.0), (4.0, 1.0)]),
            ring(&[(5.0, 1.0), (5.0, 4.0), (8.0, 4.0), (8.0, 1.0)]),
        ]);
        let area: f64 = parts(&frame).unwrap().iter().map(|p| signed_area(p)).sum();
        assert!(
            (area - 27.0).abs() < 1e-12,
            "45 − 9 − 9 by hand, got {area}"
        );
    }
}
