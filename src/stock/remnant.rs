//! Leftovers worth keeping.
//!
//! In: a used sheet and the finished pieces on it. Out: outlines to keep, in the sheet's frame.
//!
//! Steps: take the largest clear box along the axes, cut it off, repeat, at most `MOST` times. Of a sheet sold by length
//! the one leftover is what lies beyond the used length.
//!
//! Guarantees: every remnant lies inside the sheet less its defects, `spacing` or more from every piece, apart from the
//! other remnants, without holes, and its box measures at least the least size, either way round. [`joined`] makes one
//! of those that hang together by an edge of the least size.
//!
//! Few large rectangles are kept rather than many scraps: each has to be stored, found and handled, and a rectangle is
//! what the next job can use.

use crate::geometry::{
    boolean, bounds::Bounds, clear_box::ClearSpace, point::Point, region::Region, ring::Ring,
    tolerance::COINCIDENT,
};
use crate::model::source::SourceKind;

/// The most leftovers that are kept of one sheet.
pub const MOST: usize = 4;

/// Leftovers of one sheet: `sheet` is the sheet less its defects, `used_length` tells (in the sheet's frame, from its left
/// end) how far one sold by length is used, `placed` are finished pieces in the sheet's frame.
pub fn remnants(
    sheet: &[Region],
    used_length: Option<f64>,
    placed: &[Region],
    spacing: f64,
    least: [f64; 2],
) -> Vec<Region> {
    let frame = sheet.iter().fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
    let (short, long) = (least[0].min(least[1]), least[0].max(least[1]));
    let mut taken: Vec<Region> = placed
        .iter()
        .map(|p| without_small_holes(p, short + 2.0 * spacing))
        .collect();
    let mut most = MOST;
    if let Some(length) = used_length {
        // The next cut starts beyond the used length, and no nearer to a piece than pieces lie to one another.
        let rightmost = placed
            .iter()
            .map(|p| p.bounds().max.x)
            .fold(frame.min.x, f64::max);
        let from = (frame.min.x + length).max(rightmost + spacing);
        let used = Bounds::new(
            frame.min - Point::new(1.0 + spacing, 1.0 + spacing),
            Point::new(from - spacing, frame.max.y + 1.0 + spacing),
        );
        taken = if used.max.x > used.min.x {
            vec![Region::solid(Ring::rounded_box(
                used,
                0.0,
                SourceKind::Sheet.id(0),
            ))]
        } else {
            Vec::new()
        };
        most = 1;
    }
    let mut space = ClearSpace::new(sheet, 0.0, &taken, spacing);
    let mut kept = Vec::new();
    while kept.len() < most {
        let large =
            |b: Bounds| b.width().min(b.depth()) >= short && b.width().max(b.depth()) >= long;
        let Some(b) = space.best(|b| large(b).then(|| b.width() * b.depth())) else {
            break;
        };
        space.block(b);
        kept.push(Region::solid(Ring::rounded_box(
            b,
            0.0,
            SourceKind::Sheet.id(0),
        )));
    }
    kept
}

/// Leftovers of one sheet that meet along an edge of the least size as one: they hang together, and one sheet of odd shape is kept
/// and found more easily than two, and takes what neither of the two would. What would have a hole stays apart.
pub fn joined(kept: Vec<Region>, least: [f64; 2]) -> Vec<Region> {
    let short = least[0].min(least[1]).max(1.0);
    let mut out: Vec<(Region, Vec<Bounds>)> = Vec::new();
    for region in kept {
        let own = region.bounds();
        let mut one = (region, vec![own]);
        let mut k = 0;
        while k < out.len() {
            let meet = out[k]
                .1
                .iter()
                .any(|b| one.1.iter().any(|c| shared_edge(*b, *c) >= short));
            let both = if meet {
                boolean::union(&[out[k].0.clone(), one.0.clone()]).ok()
            } else {
                None
            };
            match both.as_deref() {
                Some([both]) if both.holes().is_empty() => {
                    let (_, boxes) = out.remove(k);
                    one.1.extend(boxes);
                    one.0 = both.clone();
                    // It may meet now what it did not before.
                    k = 0;
                }
                _ => k += 1,
            }
        }
        out.push(one);
    }
    out.into_iter().map(|o| o.0).collect()
}

/// The length of the edge that two boxes side by side have in common.
fn shared_edge(a: Bounds, b: Bounds) -> f64 {
    let over =
        |low_a: f64, high_a: f64, low_b: f64, high_b: f64| high_a.min(high_b) - low_a.max(low_b);
    let x = over(a.min.x, a.max.x, b.min.x, b.max.x);
    let y = over(a.min.y, a.max.y, b.min.y, b.max.y);
    if x.abs() <= COINCIDENT {
        y
    } else if y.abs() <= COINCIDENT {
        x
    } else {
        0.0
    }
}

/// A piece without the holes that no leftover fits into: most have many, and they would only cost time.
fn without_small_holes(piece: &Region, least: f64) -> Region {
    let large = piece
        .holes()
        .iter()
        .filter(|h| h.bounds().width().min(h.bounds().depth()) >= least);
    Region::new(piece.outer().clone(), large.cloned().collect())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;
    use crate::geometry::{
        boolean::difference,
        distance::region_region,
        predicate::{Location, point_in_region},
        transform::{Pose, Rotation},
    };
    use crate::stock::window::tests::{boxed, rect};

    fn boxes(of: &[Region]) -> Vec<Bounds> {
        of.iter().map(Region::bounds).collect()
    }

    #[test]
    fn an_empty_corner_leaves_the_larger_strip_first() {
        let kept = remnants(
            &[rect(0.0, 0.0, 600.0, 400.0)],
            None,
            &[rect(5.0, 5.0, 305.0, 205.0)],
            2.0,
            [100.0, 100.0],
        );
        // By hand: behind the piece 600 × 193 (115800), beside it 293 × 400 (117200), which is more; then what is left behind.
        assert_eq!(
            boxes(&kept),
            [
                boxed(307.0, 0.0, 600.0, 400.0),
                boxed(0.0, 207.0, 307.0, 400.0)
            ]
        );
    }

    #[test]
    fn leftovers_that_meet_are_one_and_a_ring_stays_open() {
        let ell = joined(
            vec![
                rect(307.0, 0.0, 600.0, 400.0),
                rect(0.0, 207.0, 307.0, 400.0),
            ],
            [100.0, 100.0],
        );
        assert_eq!(ell.len(), 1, "they share 193 of an edge");
        // By hand: 293 · 400 + 307 · 193; six corners.
        assert!((ell[0].area_mm2() - 176_451.0).abs() < 1e-6);
        assert_eq!(ell[0].outer().edges().len(), 6);
        let narrow = vec![
            rect(0.0, 0.0, 200.0, 200.0),
            rect(200.0, 120.0, 400.0, 320.0),
        ];
        assert_eq!(
            joined(narrow.clone(), [100.0, 100.0]).len(),
            2,
            "80 in common"
        );
        assert_eq!(joined(narrow, [80.0, 300.0]).len(), 1);
        let around = vec![
            rect(0.0, 0.0, 100.0, 400.0),
            rect(300.0, 0.0, 400.0, 400.0),
            rect(100.0, 0.0, 300.0, 100.0),
            rect(100.0, 300.0, 300.0, 400.0),
        ];
        let kept = joined(around, [100.0, 100.0]);
        assert_eq!(kept.len(), 2, "the fourth would close a ring");
        assert!(kept.iter().all(|r| r.holes().is_empty()));
    }

    #[test]
    fn least_size_counts_either_way_round() {
        let sheet = [rect(0.0, 0.0, 300.0, 90.0)];
        assert_eq!(remnants(&sheet, None, &[], 2.0, [80.0, 250.0]).len(), 1);
        assert_eq!(remnants(&sheet, None, &[], 2.0, [250.0, 80.0]).len(), 1);
        assert_eq!(remnants(&sheet, None, &[], 2.0, [100.0, 100.0]).len(), 0);
    }

    #[test]
    fn the_rest_of_a_roll_is_one_piece_of_full_width() {
        let roll = [rect(0.0, 0.0, 3000.0, 900.0)];
        let kept = remnants(
            &roll,
            Some(505.0),
            &[rect(5.0, 5.0, 500.0, 300.0)],
            2.0,
            [100.0, 100.0],
        );
        assert_eq!(boxes(&kept), [boxed(505.0, 0.0, 3000.0, 900.0)], "by hand");
        let near = remnants(
            &roll,
            Some(501.0),
            &[rect(5.0, 5.0, 500.0, 300.0)],
            4.0,
            [100.0, 100.0],
        );
        assert_eq!(
            boxes(&near),
            [boxed(504.0, 0.0, 3000.0, 900.0)],
            "by hand: spacing above the margin"
        );
        assert!(
            remnants(
                &roll,
                Some(2950.0),
                &[rect(5.0, 5.0, 2945.0, 300.0)],
                2.0,
                [100.0, 100.0]
            )
            .is_empty()
        );
    }

    #[test]
    fn a_large_hole_of_a_piece_is_a_leftover_and_a_small_one_is_not() {
        let frame = |h: Bounds| {
            Region::new(
                rect(0.0, 0.0, 400.0, 400.0).outer().clone(),
                vec![Ring::rounded_box(h, 0.0, SourceKind::Pocket.id(0))],
            )
        };
        let sheet = [rect(-5.0, -5.0, 405.0, 405.0)];
        let kept = remnants(
            &sheet,
            None,
            &[frame(boxed(100.0, 100.0, 300.0, 300.0))],
            2.0,
            [100.0, 100.0],
        );
        assert_eq!(boxes(&kept), [boxed(102.0, 102.0, 298.0, 298.0)], "by hand");
        assert!(
            remnants(
                &sheet,
                None,
                &[frame(boxed(100.0, 100.0, 203.0, 300.0))],
                2.0,
                [100.0, 100.0]
            )
            .is_empty()
        );
    }

    /// Independent method: true distances between edges, points tried one by one.
    #[test]
    fn remnants_are_free_on_an_l_with_defects_whatever_lies_there() {
        let ell = difference(
            &[rect(0.0, 0.0, 570.0, 400.0)],
            &[
                rect(430.0, 330.0, 600.0, 500.0),
                Region::solid(Ring::circle(
                    Point::new(200.0, 150.0),
                    12.0,
                    SourceKind::Defect.id(0),
                )),
            ],
        )
        .unwrap();
        let mut state = 7_u64;
        let mut next = |n: f64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(1_u32 << 31) * n
        };
        let mut n_kept = 0;
        for case in 0..60 {
            let mut placed: Vec<Region> = Vec::new();
            for _ in 0..8 {
                let at = Point::new(40.0 + next(480.0), 40.0 + next(240.0));
                let turned = Pose {
                    mirrored: false,
                    rotation: Rotation::from_degrees(next(360.0)),
                    shift: at,
                };
                let piece = if next(2.0) < 1.0 {
                    Region::solid(Ring::circle(
                        at,
                        10.0 + next(25.0),
                        SourceKind::Outline.id(0),
                    ))
                } else {
                    rect(-20.0, -next(20.0) - 1.0, 15.0, 10.0).posed(turned)
                };
                if placed.iter().all(|p| region_region(p, &piece) > 3.0) {
                    placed.push(piece);
                }
            }
            let kept = remnants(&ell, None, &placed, 3.0, [60.0, 90.0]);
            n_kept += kept.len();
            for (i, k) in kept.iter().enumerate() {
                let b = k.bounds();
                assert!(
                    b.width().min(b.depth()) >= 60.0 && b.width().max(b.depth()) >= 90.0,
                    "case {case}: {b:?}"
                );
                assert!(
                    placed.iter().all(|p| region_region(p, k) >= 3.0 - 1e-9),
                    "case {case}: rounding of a sum near 500"
                );
                let inner = b.grown(-1e-6);
                for share in 0..=20 {
                    for p in [
                        inner.min.toward(inner.max, f64::from(share) / 20.0),
                        Point::new(inner.min.x, inner.max.y).toward(
                            Point::new(inner.max.x, inner.min.y),
                            f64::from(share) / 20.0,
                        ),
                    ] {
                        assert_ne!(
                            point_in_region(p, &ell[0]),
                            Location::Outside,
                            "case {case}: {p:?}"
                        );
                    }
                }
                let overlaps = |o: Bounds| {
                    o.min.x < inner.max.x
                        && inner.min.x < o.max.x
                        && o.min.y < inner.max.y
                        && inner.min.y < o.max.y
                };
                assert!(
                    kept[..i].iter().all(|o| !overlaps(o.bounds())),
                    "case {case}"
                );
            }
        }
        assert!(
            n_kept > 60,
            "{n_kept}: there is room for one and more on most"
        );
    }
}
