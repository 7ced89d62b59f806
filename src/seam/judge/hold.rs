//! What the joints of a layer make of its pieces.
//!
//! In: the joints of one layer. Out: for each kind of play the least that no joint need exceed in a chain of joints from any
//! piece to any other that it hangs together with: the longest edge of the least spanning tree. Two pieces that meet
//! at a corner over a millimetre of flat face are held by their other neighbours, and do not count; pieces of a row that
//! only straight faces join do.
//!
//! Source: J. B. Kruskal's way to a least spanning tree (1956, from memory): joints in ascending order, each that joins two groups
//! counts.

use crate::model::judged::{Joint, Play};

/// The play of a layer's pieces; `None` without a joint.
pub(crate) fn of_layer(joints: &[Joint]) -> Option<Play> {
    if joints.is_empty() {
        return None;
    }
    let chain = |figure: fn(&Play) -> Option<f64>| {
        let links: Vec<([usize; 2], Option<f64>)> =
            joints.iter().map(|j| (j.pieces, figure(&j.play))).collect();
        chain(&links)
    };
    Some(Play {
        along: chain(|p| p.along),
        along_most: chain(|p| p.along_most),
        closing: chain(|p| p.closing),
        opening: chain(|p| p.opening),
        turn: chain(|p| p.turn),
    })
}

/// The greatest figure that has to be taken into account to link all that is linked; `None` where that takes a link without
/// limit.
fn chain(links: &[([usize; 2], Option<f64>)]) -> Option<f64> {
    let mut limited: Vec<([usize; 2], f64)> = links
        .iter()
        .filter_map(|(ends, figure)| figure.map(|f| (*ends, f)))
        .collect();
    limited.sort_by(|a, b| a.1.total_cmp(&b.1));
    let n = links
        .iter()
        .flat_map(|l| l.0)
        .max()
        .map_or(0, |last| last + 1);
    let mut group: Vec<usize> = (0..n).collect();
    let mut most = 0.0;
    for ([a, b], figure) in limited {
        let (old, new) = (group[b], group[a]);
        if old != new {
            most = figure;
            group
                .iter_mut()
                .filter(|g| **g == old)
                .for_each(|g| *g = new);
        }
    }
    let whole = links.iter().all(|([a, b], _)| group[*a] == group[*b]);
    whole.then_some(most)
}

/// Whether two pieces hang together by some links.
pub(crate) fn are_linked(links: &[[usize; 2]], ends: [usize; 2]) -> bool {
    let links = links.iter().map(|l| (*l, Some(0.0)));
    let all: Vec<([usize; 2], Option<f64>)> = links.chain([(ends, None)]).collect();
    chain(&all).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loose_corner_counts_only_where_nothing_else_holds() {
        // Four pieces in a ring, held by 0.2, 0.3, 0.2 and 0.5; 0 and 2 touch at a corner that holds nothing.
        let ring = [
            ([0, 1], Some(0.2)),
            ([1, 2], Some(0.3)),
            ([2, 3], Some(0.2)),
            ([3, 0], Some(0.5)),
            ([0, 2], None),
        ];
        assert_eq!(
            chain(&ring),
            Some(0.3),
            "by hand: 0-1, 2-3, then 1-2 links all"
        );
        assert_eq!(chain(&[ring[0], ring[4]]), None, "2 hangs on nothing else");
        assert!(are_linked(&[[0, 1], [1, 2]], [2, 0]) && !are_linked(&[[0, 1], [2, 3]], [2, 0]));
        // Two groups that do not touch: the worse of the two.
        assert_eq!(
            chain(&[([0, 1], Some(0.2)), ([2, 3], Some(0.7))]),
            Some(0.7)
        );
    }
}
