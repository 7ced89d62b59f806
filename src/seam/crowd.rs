//! Positions at which a line would pass a ring too often to be looked at.
//!
//! In: a ring, the positions that are to be looked at, how often lines may pass the ring in all of them together. Out: up to
//! how many passes a position is looked at. What a look takes grows with the number of passes: an outline that zigzags across
//! tens of thousands of lines would take minutes. Where all looks together would take too long those with the most passes
//! are given up, and their positions are barred, which is on the safe side: a seam that passes one ring thousands of times
//! is no use to anybody.

use crate::seam::ground::GroundRing;

/// How often lines may pass the rings of a layer in all positions that are looked at one way, together: half a second's
/// worth.
pub(crate) const MOST_PASSES: u64 = 1_000_000;

/// And how often, beyond that, for each edge: no more than as much again for a drawing of 200,000 edges.
const PASSES_EACH: u64 = 4;

/// How many edges a line may pass, as far as their boxes tell.
pub(crate) struct Crowd {
    /// The lower ends of edges, ascending.
    lows: Vec<f64>,
    /// Their upper ends.
    highs: Vec<f64>,
}

impl Crowd {
    pub(crate) fn new(ring: &GroundRing) -> Self {
        let sorted = |mut all: Vec<f64>| {
            all.sort_unstable_by(f64::total_cmp);
            all
        };
        Self {
            lows: sorted(ring.boxes.iter().map(|b| b.min.y).collect()),
            highs: sorted(ring.boxes.iter().map(|b| b.max.y).collect()),
        }
    }

    /// Edges whose boxes a line at v passes within.
    pub(crate) fn passes(&self, v: f64) -> u64 {
        let begun = self.lows.partition_point(|low| *low < v);
        let ended = self.highs.partition_point(|high| *high <= v);
        begun.saturating_sub(ended) as u64
    }
}

/// What a ring of so many edges, of all the layer's, may be passed.
pub(crate) const fn share(n_edges: usize, of_all: usize) -> u64 {
    let (n, all) = (n_edges as u64, of_all as u64);
    let all = if all == 0 { 1 } else { all };
    MOST_PASSES.saturating_mul(n) / all + PASSES_EACH.saturating_mul(n)
}

/// The most passes of a position that is looked at, so that those of all such positions come to no more than `budget`; `None`
/// where all can be looked at.
pub(crate) fn most_passes(mut passes: Vec<u64>, budget: u64) -> Option<u64> {
    passes.sort_unstable();
    let mut sum = 0_u64;
    let too_many = passes.iter().find(|n| {
        sum = sum.saturating_add(**n);
        sum > budget
    })?;
    // Of positions alike all are looked at or none.
    let fewer = passes.partition_point(|n| n < too_many);
    Some(fewer.checked_sub(1).map_or(0, |k| passes[k]))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::bounds::Bounds;
    use crate::geometry::edge::SourceId;
    use crate::geometry::point::Point;
    use crate::geometry::region::Region;
    use crate::geometry::ring::Ring;
    use crate::model::cutter::Axis;
    use crate::seam::ground::Ground;
    use crate::seam::samples::layer_of;

    #[test]
    fn those_with_the_most_passes_are_given_up_first() {
        assert_eq!(most_passes(vec![2, 9, 4, 2], 17), None, "17 in all");
        assert_eq!(most_passes(vec![2, 9, 4, 2], 16), Some(4));
        assert_eq!(most_passes(vec![2, 9, 4, 2], 8), Some(4));
        assert_eq!(most_passes(vec![2, 9, 4, 2], 7), Some(2));
        assert_eq!(most_passes(vec![2, 9, 4, 2], 3), Some(0), "both or none");
        assert_eq!(most_passes(vec![0, 0, 1], 0), Some(0));
        assert_eq!(most_passes(Vec::new(), 0), None);
    }

    #[test]
    fn passes_are_no_fewer_than_the_cuts_of_straight_edges() {
        let corners = [
            (0, 0),
            (30, 0),
            (30, 20),
            (20, 3),
            (15, 20),
            (10, 5),
            (0, 20),
        ];
        let corners = corners.map(|(x, y)| Point::new(f64::from(x), f64::from(y)));
        let ring = Ring::polygon(&corners, SourceId(0)).unwrap();
        let ground = Ground::new(&layer_of(vec![Region::solid(ring)]), Axis::X);
        let one = &ground.rings[0];
        let crowd = Crowd::new(one);
        for (v, expected) in [(-1.0, 0), (1.0, 2), (4.0, 4), (10.0, 6), (21.0, 0)] {
            assert_eq!(crowd.passes(v), expected, "{v}");
            assert_eq!(one.cuts(v).len() as u64, expected, "{v}");
        }
        assert_eq!(
            one.bounds,
            Bounds::new(Point::new(0.0, 0.0), Point::new(30.0, 20.0))
        );
    }
}
