//! Rectangles that lie in the material of a shape: what a shape takes at the least, wherever it is put.
//!
//! In: the rings of a shape as chords. Out: extents of upright rectangles inside them, none of which lies in another one.
//!
//! The shape is cut into bands along its corners and evenly between these. In a band the material is solid between edges that
//! enter it; what is solid in neighbouring bands together is as deep as these. Chords err by the flatness, so a rectangle is
//! drawn in by twice as much: it errs to the small side, and may only be used to refuse.

use crate::geometry::point::Point;
use crate::geometry::tolerance::FLAT_PICTURE;

/// Bands are no deeper than this share of the shape.
const BANDS: f64 = 10.0;
/// Bands at the most: with more corners, bands lie evenly alone.
const MOST_BANDS: usize = 28;
/// Rings with more corners than this are left alone: no rectangle is known of them.
const MOST_CORNERS: usize = 2000;

/// Widths and depths of rectangles inside rings (even and odd), the deepest first.
pub(crate) fn solids(rings: &[Vec<Point>]) -> Vec<Point> {
    if rings.iter().map(Vec::len).sum::<usize>() > MOST_CORNERS {
        return Vec::new();
    }
    let levels = levels(rings);
    let bands: Vec<Vec<(f64, f64)>> = levels
        .windows(2)
        .map(|w| solid_in_band(rings, w[0], w[1]))
        .collect();
    let mut found: Vec<Point> = Vec::new();
    for (first, band) in bands.iter().enumerate() {
        let mut solid = band.clone();
        for (last, band) in bands.iter().enumerate().skip(first) {
            if last > first {
                solid = in_both(&solid, band);
            }
            let widest = solid.iter().map(|s| s.1 - s.0).fold(0.0, f64::max);
            let size = Point::new(
                widest - 4.0 * FLAT_PICTURE,
                levels[last + 1] - levels[first] - 4.0 * FLAT_PICTURE,
            );
            if size.x <= 0.0 {
                break;
            }
            if size.y > 0.0 {
                found.push(size);
            }
        }
    }
    found.sort_by(|a, b| b.y.total_cmp(&a.y).then(b.x.total_cmp(&a.x)));
    let mut widest = 0.0;
    found.retain(|s| {
        let is_wider = s.x > widest;
        widest = if is_wider { s.x } else { widest };
        is_wider
    });
    found
}

/// Where bands begin and end.
fn levels(rings: &[Vec<Point>]) -> Vec<f64> {
    let mut corners: Vec<f64> = rings.iter().flatten().map(|p| p.y).collect();
    corners.sort_by(f64::total_cmp);
    corners.dedup_by(|a, b| *a - *b < FLAT_PICTURE);
    let (Some(&low), Some(&high)) = (corners.first(), corners.last()) else {
        return Vec::new();
    };
    if corners.len() > MOST_BANDS / 2 {
        corners = vec![low, high];
    }
    let most = (high - low) / BANDS;
    let mut out = vec![low];
    for w in corners.windows(2) {
        let n = ((w[1] - w[0]) / most).ceil().max(1.0);
        out.extend((1..=n as usize).map(|k| w[0] + (w[1] - w[0]) * k as f64 / n));
    }
    out
}

/// Intervals of x that are solid from one level to another.
fn solid_in_band(rings: &[Vec<Point>], from: f64, to: f64) -> Vec<(f64, f64)> {
    let middle = 0.5 * (from + to);
    let (mut barred, mut cuts): (Vec<(f64, f64)>, Vec<f64>) = (Vec::new(), Vec::new());
    for ring in rings {
        let mut a = ring[ring.len() - 1];
        for &b in ring {
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            a = b;
            if high.y <= from || low.y >= to {
                continue;
            }
            let at = |y: f64| {
                let share = (y - low.y) / (high.y - low.y);
                low.toward(high, share.clamp(0.0, 1.0)).x
            };
            let (u, v) = (at(from), at(to));
            // A level edge between the levels bars all of itself.
            let (u, v) = if high.y - low.y < 1e-9 {
                (low.x, high.x)
            } else {
                (u, v)
            };
            barred.push((u.min(v), u.max(v)));
            if (low.y > middle) != (high.y > middle) {
                cuts.push(at(middle));
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    barred.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for pair in cuts.chunks_exact(2) {
        let mut begin = pair[0];
        for bar in barred.iter().filter(|b| b.1 >= pair[0] && b.0 <= pair[1]) {
            if bar.0 > begin {
                out.push((begin, bar.0.min(pair[1])));
            }
            begin = begin.max(bar.1);
        }
        if begin < pair[1] {
            out.push((begin, pair[1]));
        }
    }
    out
}

/// What lies in an interval of either list.
fn in_both(a: &[(f64, f64)], b: &[(f64, f64)]) -> Vec<(f64, f64)> {
    a.iter()
        .flat_map(|p| b.iter().map(move |q| (p.0.max(q.0), p.1.min(q.1))))
        .filter(|s| s.0 < s.1)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    /// Whether some rectangle is so large, but for the flatness.
    fn has(found: &[Point], w: f64, d: f64) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= 4.0 * FLAT_PICTURE + 1e-9;
        found.iter().any(|s| near(s.x, w) && near(s.y, d))
    }

    #[test]
    fn an_ell_holds_both_its_bars() {
        // By hand: 60 × 10 below, 20 × 50 on the left.
        let ell = ring(&[
            (0.0, 0.0),
            (60.0, 0.0),
            (60.0, 10.0),
            (20.0, 10.0),
            (20.0, 50.0),
            (0.0, 50.0),
        ]);
        let found = solids(&[ell]);
        assert!(
            has(&found, 60.0, 10.0) && has(&found, 20.0, 50.0),
            "{found:?}"
        );
        assert!(
            found.iter().all(|s| s.x <= 20.0 || s.y <= 10.0),
            "nothing in the notch: {found:?}"
        );
    }

    #[test]
    fn a_frame_holds_its_rails_and_nothing_over_its_window() {
        // By hand: rails of 40 × 5 and 6 × 30 about a window of 28 × 20.
        let frame = [
            ring(&[(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)]),
            ring(&[(6.0, 5.0), (6.0, 25.0), (34.0, 25.0), (34.0, 5.0)]),
        ];
        let found = solids(&frame);
        assert!(
            has(&found, 40.0, 5.0) && has(&found, 6.0, 30.0),
            "{found:?}"
        );
        assert!(found.iter().all(|s| s.x <= 6.0 || s.y <= 5.0), "{found:?}");
    }

    #[test]
    fn a_triangle_holds_half_its_box_at_the_most() {
        // The widest rectangle on the base of a triangle b × h is b · (1 − d ÷ h) wide at a depth of d.
        let found = solids(&[ring(&[(0.0, 0.0), (50.0, 0.0), (10.0, 40.0)])]);
        assert!(has(&found, 25.0, 20.0), "{found:?}");
        for s in &found {
            assert!(s.x <= 50.0 * (1.0 - s.y / 40.0), "{s:?}");
        }
    }
}
