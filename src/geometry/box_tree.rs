//! Boxes in a tree: which of them touch a given one.
//!
//! Steps: 1. the boxes are sorted along a curve that fills the plane (bits of x and y in turn), so that neighbours in the
//! list are neighbours in the plane; 2. each eight of the list have a box around them, each eight of those again, up to one.
//!
//! Unlike a grid of cells the tree does not mind whether boxes are long and thin, or of very different size; what it takes
//! in memory depends on their number alone. The order of answers depends on the boxes alone.
//!
//! Source: packed trees of boxes in the order of a space-filling curve are common knowledge of computational geometry.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;

/// Boxes of a node.
const FAN: usize = 8;

/// Room for nodes still to be looked at: seven of each level but the last, and one; a tree over 2³² boxes has 11 levels.
const STACK: usize = 12 * FAN;

/// The tree.
#[derive(Clone, Debug)]
pub struct BoxTree {
    /// The boxes in the order of the curve, then those around each eight of the level before, level by level.
    levels: Vec<Vec<Bounds>>,
    /// Places in the caller's list, in the order of the curve.
    order: Vec<u32>,
}

impl BoxTree {
    /// A tree over boxes, which are known by their place in the list.
    pub fn new(boxes: &[Bounds]) -> Self {
        let all = boxes.iter().fold(Bounds::EMPTY, |b, o| b.join(*o));
        let along = |value: f64, low: f64, size: f64| {
            let share = if size > 0.0 {
                (value - low) / size
            } else {
                0.0
            };
            // A cast stops at the ends of the range; what is no number becomes 0.
            (share * f64::from(u32::MAX)) as u32
        };
        let mut keyed: Vec<(u64, u32)> = boxes
            .iter()
            .zip(0_u32..)
            .map(|(b, i)| {
                let c = b.center();
                let x = along(c.x, all.min.x, all.width());
                let y = along(c.y, all.min.y, all.depth());
                (spread(x) | spread(y) << 1, i)
            })
            .collect();
        keyed.sort_unstable();
        let order: Vec<u32> = keyed.into_iter().map(|(_, i)| i).collect();
        let mut levels = vec![order.iter().map(|i| boxes[*i as usize]).collect::<Vec<_>>()];
        while let Some(last) = levels.last()
            && last.len() > 1
        {
            let around = |eight: &[Bounds]| eight.iter().fold(Bounds::EMPTY, |b, o| b.join(*o));
            let next = last.chunks(FAN).map(around).collect();
            levels.push(next);
        }
        Self { levels, order }
    }

    /// Visits the places of all boxes that touch one, in an order of its own, until the visitor breaks off.
    pub fn visit<B>(
        &self,
        bounds: Bounds,
        visitor: impl FnMut(usize) -> ControlFlow<B>,
    ) -> Option<B> {
        self.visit_where(|b| b.touches(bounds), visitor)
    }

    /// The same for all boxes that answer yes; a box that holds others must do so where one of them does.
    pub fn visit_where<B>(
        &self,
        admits: impl Fn(Bounds) -> bool,
        mut visitor: impl FnMut(usize) -> ControlFlow<B>,
    ) -> Option<B> {
        let top = self.levels.len() - 1;
        let mut open = [(0_u32, 0_u32); STACK];
        open[0] = (top as u32, 0);
        let mut n = usize::from(!self.order.is_empty());
        while n > 0 {
            n -= 1;
            let (level, at) = (open[n].0 as usize, open[n].1 as usize);
            if !admits(self.levels[level][at]) {
                continue;
            }
            if level == 0 {
                if let ControlFlow::Break(found) = visitor(self.order[at] as usize) {
                    return Some(found);
                }
                continue;
            }
            let end = (at * FAN + FAN).min(self.levels[level - 1].len());
            for below in (at * FAN..end).rev() {
                open[n] = (level as u32 - 1, below as u32);
                n += 1;
            }
        }
        None
    }
}

/// The bits of a number with a gap after each.
fn spread(x: u32) -> u64 {
    const STEPS: [(u32, u64); 5] = [
        (16, 0x0000_ffff_0000_ffff),
        (8, 0x00ff_00ff_00ff_00ff),
        (4, 0x0f0f_0f0f_0f0f_0f0f),
        (2, 0x3333_3333_3333_3333),
        (1, 0x5555_5555_5555_5555),
    ];
    STEPS.iter().fold(u64::from(x), |bits, (shift, mask)| {
        (bits | bits << shift) & mask
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;

    fn found(tree: &BoxTree, bounds: Bounds) -> Vec<usize> {
        let mut found = Vec::new();
        tree.visit::<()>(bounds, |i| {
            found.push(i);
            ControlFlow::Continue(())
        });
        found.sort_unstable();
        found
    }

    #[test]
    fn the_boxes_found_are_those_of_a_search_through_all() {
        for n in [0, 1, 2, 7, 8, 9, 64, 65, 1000] {
            let boxes: Vec<Bounds> = (0..n)
                .map(|k| {
                    let t = f64::from(k);
                    let corner = Point::new((t * 7.13) % 40.0, (t * 3.77) % 90.0 - 25.0);
                    // Some are points, some long and thin, some hold most of the others.
                    let size = Point::new(f64::from(k % 7) * 5.0, f64::from(k % 3) * 0.1);
                    Bounds::new(corner, corner + size)
                })
                .collect();
            let tree = BoxTree::new(&boxes);
            for k in 0..100 {
                let corner = Point::new(f64::from(k) - 20.0, f64::from(k % 13) * 4.0 - 25.0);
                let window = Bounds::new(corner, corner + Point::new(f64::from(k % 5), 6.0));
                let all: Vec<usize> = (0..boxes.len())
                    .filter(|i| boxes[*i].touches(window))
                    .collect();
                assert_eq!(found(&tree, window), all, "{n} boxes, {window:?}");
            }
        }
    }

    #[test]
    fn a_visitor_that_breaks_off_is_asked_no_more() {
        let boxes = vec![Bounds::new(Point::new(0.0, 0.0), Point::new(1.0, 1.0)); 100];
        let mut n = 0;
        let found = BoxTree::new(&boxes).visit(boxes[0], |_| {
            n += 1;
            if n == 5 {
                ControlFlow::Break(n)
            } else {
                ControlFlow::Continue(())
            }
        });
        assert_eq!((found, n), (Some(5), 5));
    }
}
