//! Cutting time that seams add to a layer.
//!
//! In: the layer's shape, its finished pieces, the machine's pace. Out: an estimate in seconds: the faces of all seams, each
//! chain of them from rest to rest at the pace of `time`, and a pierce for every contour that the pieces have more than the
//! layer. Both faces of a seam are cut. The travel between contours is left out: it depends on how pieces lie on sheets.

use crate::cut::time::chain_s;
use crate::geometry::edge::Edge;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::model::cutter::Pace;
use crate::model::source::is_seam;

/// Seconds that the seams between finished pieces add to cutting a layer whole; an estimate.
pub fn added_s<'a>(
    layer: &[Region],
    pieces: impl IntoIterator<Item = &'a Region>,
    pace: &Pace,
) -> f64 {
    let whole: usize = layer.iter().map(|r| r.rings().count()).sum();
    let (mut contours, mut along) = (0_usize, 0.0);
    for piece in pieces {
        for ring in piece.rings() {
            contours += 1;
            for chain in chains(ring) {
                along += chain_s(&chain, pace.speed, pace.acceleration);
            }
        }
    }
    along + (contours as f64 - whole as f64) * pace.pierce_s
}

/// The runs of seam faces around a ring.
fn chains(ring: &Ring) -> Vec<Vec<Edge>> {
    let edges = ring.edges();
    let is_other = |e: &Edge| !is_seam(e.source);
    let from = edges.iter().position(is_other).unwrap_or(0);
    let mut out: Vec<Vec<Edge>> = vec![Vec::new()];
    for k in 0..edges.len() {
        let edge = &edges[(from + k) % edges.len()];
        if is_other(edge) {
            out.push(Vec::new());
        } else if let Some(chain) = out.last_mut() {
            chain.push(*edge);
        }
    }
    out.retain(|c| !c.is_empty());
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::point::Point;
    use crate::model::source::SourceKind;

    #[test]
    fn a_straight_cut_through_a_plate_adds_both_faces_and_one_pierce() {
        let rect = |x0: f64, x1: f64, seam_at: f64| {
            let corners =
                [(x0, 0.0), (x1, 0.0), (x1, 50.0), (x0, 50.0)].map(|(x, y)| Point::new(x, y));
            let ring = Ring::polygon(&corners, SourceKind::Outline.id(0)).unwrap();
            let face = |e: &Edge| e.start.x == seam_at && e.end.x == seam_at;
            let edges = ring.edges().iter().map(|e| Edge {
                source: if face(e) {
                    SourceKind::Seam.id(0)
                } else {
                    e.source
                },
                ..*e
            });
            Region::solid(Ring::new(edges.collect()).unwrap())
        };
        let layer = [rect(0.0, 100.0, -1.0)];
        let pieces = [rect(0.0, 40.0, 40.0), rect(40.0, 100.0, 40.0)];
        let pace = Pace {
            speed: 50.0,
            travel_speed: 200.0,
            acceleration: 1000.0,
            pierce_s: 0.3,
        };
        // By hand: 50 mm at 50 mm/s and 1000 mm/s² from rest to rest take 50/50 + 50/1000 = 1.05 s; twice, and a pierce.
        let found = added_s(&layer, &pieces, &pace);
        assert!((found - (2.0 * 1.05 + 0.3)).abs() < 1e-9, "{found}");
        assert_eq!(added_s(&layer, &layer, &pace), 0.0, "no seam adds nothing");
    }
}
