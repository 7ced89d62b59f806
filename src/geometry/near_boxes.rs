//! The boxes of edges in their order: which others touch each.
//!
//! In: boxes, those of edges that follow one another side by side. Out: for each, asked in this order, all that touch it.

use std::ops::{ControlFlow, Range};

use crate::geometry::bounds::Bounds;
use crate::geometry::box_tree::BoxTree;
use crate::geometry::tolerance::COINCIDENT;

/// Boxes of edges, asked one after the other which others they touch. Edges that follow one another lie near one another:
/// the tree is asked once for a run of them, as far as that does not bring much more than they need.
pub(crate) struct NearBoxes<'a> {
    boxes: &'a [Bounds],
    tree: BoxTree,
    /// The run that was asked for last, and whether it brought too many.
    run: Range<usize>,
    is_wide: bool,
    /// What touches the box of the run.
    found: Vec<usize>,
}

impl<'a> NearBoxes<'a> {
    /// Edges of a run.
    const RUN: usize = 10;
    /// Most boxes that are kept for a run.
    const MOST: usize = 64;

    pub(crate) fn new(boxes: &'a [Bounds]) -> Self {
        Self {
            boxes,
            tree: BoxTree::new(boxes),
            run: 0..0,
            is_wide: false,
            found: Vec::new(),
        }
    }

    /// Visits all boxes that touch that of an edge, itself among them; `end` is where its ring ends.
    pub(crate) fn visit(
        &mut self,
        i: usize,
        end: usize,
        visitor: &mut dyn FnMut(usize, &[Bounds]),
    ) {
        if !self.run.contains(&i) {
            self.ask(i..end.min(i + Self::RUN));
        }
        let own = self.boxes[i].grown(COINCIDENT);
        if self.is_wide {
            self.tree.visit::<()>(own, |j| {
                visitor(j, self.boxes);
                ControlFlow::Continue(())
            });
            return;
        }
        for &j in &self.found {
            if self.boxes[j].touches(own) {
                visitor(j, self.boxes);
            }
        }
    }

    fn ask(&mut self, run: Range<usize>) {
        let all = self.boxes[run.clone()].iter();
        let all = all.fold(Bounds::EMPTY, |b, o| b.join(*o));
        self.found.clear();
        let found = &mut self.found;
        let broken_off = self.tree.visit(all.grown(COINCIDENT), |j| {
            if found.len() == Self::MOST {
                return ControlFlow::Break(());
            }
            found.push(j);
            ControlFlow::Continue(())
        });
        self.is_wide = broken_off.is_some();
        self.run = run;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;

    #[test]
    fn runs_bring_what_each_box_would_bring_alone() {
        // Small boxes along a spiral; every seventieth is as long as the drawing, so that runs with it are wide.
        let boxes: Vec<Bounds> = (0..600)
            .map(|k| {
                let t = f64::from(k);
                let corner = Point::new((t * 0.37) % 40.0, (t * 0.11) % 30.0);
                let size = Point::new(if k % 70 == 6 { 60.0 } else { 0.4 }, 0.3);
                Bounds::new(corner, corner + size)
            })
            .collect();
        let mut near = NearBoxes::new(&boxes);
        let (mut n_wide, mut n_narrow) = (0, 0);
        for ring in [0..1, 1..24, 24..600] {
            for i in ring.clone() {
                let mut found = Vec::new();
                near.visit(i, ring.end, &mut |j, _| found.push(j));
                found.sort_unstable();
                let own = boxes[i].grown(COINCIDENT);
                let all: Vec<usize> = (0..600).filter(|j| boxes[*j].touches(own)).collect();
                assert_eq!(found, all, "box {i}");
                assert!(near.run.end <= ring.end, "a run ends with its ring");
                n_wide += u32::from(near.is_wide);
                n_narrow += u32::from(!near.is_wide);
            }
        }
        assert!(
            n_wide > 9 && n_narrow > 9,
            "{n_wide} wide, {n_narrow} narrow"
        );
    }
}
