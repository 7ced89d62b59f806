//! Shapes filled by several SOLIDs or TRACEs.
//!
//! In: strands, and which of them bound such corners. Out: the same, but those that touch or cut one another have become the
//! outlines of what they cover together; and how many there were. A program that fills a shape takes three or four corners at
//! a time: the edges between them are no cuts.
//!
//! Steps: 1. those whose edges meet make a group; 2. each group is united by `geometry::boolean`, which checks what it finds;
//! 3. its rings take the place of the group's first member.
//!
//! One that lies within another without meeting it is left alone: it is a hole, as everywhere. What is left alone too, and
//! refused later with its place: one that crosses itself, those that meet in single corners only, and whatever is too dense or
//! makes no sound union.

use std::collections::BTreeSet;

use crate::drawing::duplicate::repeated;
use crate::drawing::strand::Strand;
use crate::geometry::boolean::union;
use crate::geometry::bounds::Bounds;
use crate::geometry::check::check;
use crate::geometry::crossing::edges_meet;
use crate::geometry::groups::meeting;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::COINCIDENT;

/// For so many pairs of edges that may be compared, one pair of neighbours is looked at: each may cross in sixteen places,
/// and a crossing takes a union a dozen times as long as a comparison. So the most that are united, 704 bars across one another
/// with 123,201 holes between them, take 180 MB; of twice as many pairs 370 MB, more than a drawing of that size is to take.
const PAIRS_EACH: u64 = 200;

/// What has been united.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct United {
    /// How many there were.
    pub(super) n_solids: usize,
    /// How many shapes they make.
    pub(super) n_shapes: usize,
}

/// Unites those of the strands whose origin is among `solids`.
pub(super) fn unite(
    strands: &mut Vec<(usize, Strand)>,
    solids: &BTreeSet<usize>,
    most_pairs: u64,
) -> United {
    let mut united = United::default();
    let mut places = Vec::new();
    let mut rings: Vec<Ring> = Vec::new();
    for (place, (origin, strand)) in strands.iter().enumerate() {
        if let Strand::Ring(ring) = strand
            && solids.contains(origin)
            && check(&Region::solid(ring.clone())).is_ok()
        {
            places.push(place);
            rings.push(ring.clone());
        }
    }
    let mut taken = vec![false; strands.len()];
    let mut found: Vec<(usize, Vec<Ring>)> = Vec::new();
    for group in groups(&rings, most_pairs / PAIRS_EACH) {
        let Some(regions) = together(group.iter().map(|k| &rings[*k])) else {
            continue;
        };
        united.n_solids += group.len();
        united.n_shapes += regions.len();
        group.iter().for_each(|k| taken[places[*k]] = true);
        let rings = regions.into_iter().flat_map(Region::into_rings);
        found.push((places[group[0]], rings.collect()));
    }
    if found.is_empty() {
        return united;
    }
    found.sort_by_key(|f| f.0);
    let mut found = found.into_iter().peekable();
    let before = std::mem::take(strands);
    for (place, (origin, strand)) in before.into_iter().enumerate() {
        if let Some((_, rings)) = found.next_if(|f| f.0 == place) {
            strands.extend(rings.into_iter().map(|r| (origin, Strand::Ring(r))));
        } else if !taken[place] {
            strands.push((origin, strand));
        }
    }
    united
}

/// What rings cover together; nothing where that is no less than they are by themselves.
fn together<'r>(rings: impl Iterator<Item = &'r Ring> + Clone) -> Option<Vec<Region>> {
    let again = repeated(rings.clone().map(Ring::edges));
    let regions = rings.zip(&again).filter(|(_, again)| !**again);
    let regions: Vec<Region> = regions.map(|(r, _)| Region::solid(r.clone())).collect();
    if regions.len() < 2 {
        return None;
    }
    let whole = union(&regions).ok()?;
    (whole.len() < regions.len()).then_some(whole)
}

/// Groups of two rings or more in which each is reached from each over rings whose edges meet; none where more than
/// `most_pairs` of boxes touch. Each group is ascending, and they are in the order of their first members.
fn groups(rings: &[Ring], most_pairs: u64) -> Vec<Vec<usize>> {
    let boxes: Vec<Bounds> = rings.iter().map(Ring::bounds).collect();
    let meet = |a: usize, b: usize| {
        let mut edges = rings[a].edges().iter();
        edges.any(|e| rings[b].edges().iter().any(|f| edges_meet(e, f)))
    };
    let mut groups = meeting(&boxes, COINCIDENT, most_pairs, meet).unwrap_or_default();
    groups.retain(|group| group.len() > 1);
    groups
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::SourceId;
    use crate::geometry::point::Point;

    fn strand(origin: usize, points: &[(f64, f64)]) -> (usize, Strand) {
        let points: Vec<Point> = points.iter().map(|(x, y)| Point::new(*x, *y)).collect();
        let ring = Ring::polygon(&points, SourceId(origin as u32)).unwrap();
        (origin, Strand::Ring(ring))
    }

    fn square(origin: usize, x: f64, y: f64, side: f64) -> (usize, Strand) {
        strand(
            origin,
            &[(x, y), (x + side, y), (x + side, y + side), (x, y + side)],
        )
    }

    fn areas(strands: &[(usize, Strand)]) -> Vec<(usize, f64)> {
        let area = |strand: &Strand| match strand {
            Strand::Ring(ring) => ring.area_mm2().abs(),
            _ => 0.0,
        };
        let digits = |area: f64| (area * 1e6).round() / 1e6;
        let all = strands.iter().map(|(i, s)| (*i, digits(area(s))));
        all.collect()
    }

    #[test]
    fn those_that_share_an_edge_or_overlap_are_one_and_others_are_left() {
        let mut strands = vec![
            square(0, 50.0, 0.0, 5.0),
            square(1, 0.0, 0.0, 10.0),
            // Along a part of the first one's edge, and over its upper edge.
            square(2, 10.0, 2.0, 5.0),
            square(3, 4.0, 8.0, 4.0),
            // Within without meeting: a hole.
            square(4, 2.0, 2.0, 3.0),
            // By a corner only.
            square(5, 55.0, 5.0, 5.0),
            // Not one of them, though it touches.
            square(6, 15.0, 0.0, 10.0),
        ];
        let solids: BTreeSet<usize> = (0..6).collect();
        let united = unite(&mut strands, &solids, u64::MAX);
        let expected = United {
            n_solids: 3,
            n_shapes: 1,
        };
        assert_eq!(united, expected);
        // 100 + 25 + half of 16, by hand.
        let expected = [(0, 25.0), (1, 133.0), (4, 9.0), (5, 25.0), (6, 100.0)];
        assert_eq!(areas(&strands), expected);
    }

    #[test]
    fn what_stands_there_twice_crosses_itself_or_is_too_dense_is_left_alone() {
        let bow = [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 12.0)];
        let mut strands = vec![
            square(0, 50.0, 0.0, 5.0),
            square(1, 50.0, 0.0, 5.0),
            strand(2, &bow),
            square(3, 10.0, 0.0, 9.0),
        ];
        let before = strands.clone();
        let solids: BTreeSet<usize> = (0..4).collect();
        assert_eq!(unite(&mut strands, &solids, u64::MAX), United::default());
        assert_eq!(strands, before);
        let mut strands = vec![square(0, 0.0, 0.0, 5.0), square(1, 5.0, 0.0, 5.0)];
        let before = strands.clone();
        let solids: BTreeSet<usize> = (0..2).collect();
        // Each is a neighbour of itself and of the other: four pairs.
        let most = 3 * PAIRS_EACH;
        assert_eq!(unite(&mut strands, &solids, most), United::default());
        assert_eq!(strands, before);
        let united = unite(&mut strands, &solids, 4 * PAIRS_EACH);
        assert_eq!((united.n_solids, united.n_shapes), (2, 1));
    }

    #[test]
    fn four_around_a_window_leave_it_open() {
        let mut strands = vec![
            strand(0, &[(0.0, 0.0), (9.0, 0.0), (6.0, 3.0), (3.0, 3.0)]),
            strand(1, &[(9.0, 0.0), (9.0, 9.0), (6.0, 6.0), (6.0, 3.0)]),
            strand(2, &[(9.0, 9.0), (0.0, 9.0), (3.0, 6.0), (6.0, 6.0)]),
            strand(3, &[(0.0, 9.0), (0.0, 0.0), (3.0, 3.0), (3.0, 6.0)]),
        ];
        let solids: BTreeSet<usize> = (0..4).collect();
        assert_eq!(unite(&mut strands, &solids, u64::MAX).n_shapes, 1);
        assert_eq!(areas(&strands), [(0, 81.0), (0, 9.0)]);
    }
}
