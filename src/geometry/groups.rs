//! Boxes in groups that lie apart.
//!
//! In: boxes, and whether what lies in two of them meets. Out: groups of their places; within a group each is reached from each over
//! what meets. Where boxes that touch count as meeting, shapes of two groups share no point: what is done with shapes that may
//! overlap is done group by group.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;
use crate::geometry::box_tree::BoxTree;

/// The groups of boxes that touch, in the order of their first boxes, each ascending.
pub fn touching(boxes: &[Bounds]) -> Vec<Vec<usize>> {
    meeting(boxes, 0.0, u64::MAX, |_, _| true).unwrap_or_default()
}

/// The groups of what meets, boxes no more than `margin` apart being asked, in the order of their first members, each ascending;
/// `None` where there are more than `most_pairs` of such boxes.
pub fn meeting(
    boxes: &[Bounds],
    margin: f64,
    most_pairs: u64,
    meet: impl Fn(usize, usize) -> bool,
) -> Option<Vec<Vec<usize>>> {
    let tree = BoxTree::new(boxes);
    let mut n_pairs = 0;
    let mut is_grouped = vec![false; boxes.len()];
    let mut groups = Vec::new();
    for first in 0..boxes.len() {
        if is_grouped[first] {
            continue;
        }
        is_grouped[first] = true;
        let mut group = vec![first];
        let mut at = 0;
        while let Some(&member) = group.get(at) {
            at += 1;
            let stopped = tree.visit(boxes[member].grown(margin), |other| {
                n_pairs += 1;
                if n_pairs > most_pairs {
                    return ControlFlow::Break(());
                }
                if !is_grouped[other] && meet(member, other) {
                    is_grouped[other] = true;
                    group.push(other);
                }
                ControlFlow::Continue(())
            });
            if stopped.is_some() {
                return None;
            }
        }
        group.sort_unstable();
        groups.push(group);
    }
    Some(groups)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;

    #[test]
    fn boxes_that_touch_over_others_are_of_one_group() {
        let square = |x: f64| Bounds::new(Point::new(x, 0.0), Point::new(x + 1.0, 1.0));
        let boxes = [0.0, 5.0, 0.9, 20.0, 1.9, 6.0].map(square);
        assert_eq!(
            touching(&boxes),
            [vec![0, 2, 4], vec![1, 5], vec![3]],
            "0–1, 0.9–1.9, 1.9–2.9; 5–6, 6–7; 20–21"
        );
        assert!(touching(&[]).is_empty());
    }

    #[test]
    fn rows_of_thousands_are_found_without_recursion() {
        let square = |k: u32| {
            let x = f64::from(k % 1000);
            let y = f64::from(k / 1000) * 2.0;
            Bounds::new(Point::new(x, y), Point::new(x + 1.0, y + 1.0))
        };
        let boxes: Vec<Bounds> = (0..5000).map(square).collect();
        let groups = touching(&boxes);
        assert_eq!(groups.len(), 5);
        assert!(groups.iter().all(|g| g.len() == 1000));
    }
}
