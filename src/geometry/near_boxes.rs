//! The boxes of edges in their order: which others touch each.
//!
//! In: boxes, those of edges that follow one another side by side. Out: for each, asked in this order, all that touch it.

use std::cell::OnceCell;
use std::ops::{ControlFlow, Range};

use crate::geometry::bounds::Bounds;
use crate::geometry::box_tree::BoxTree;
use crate::geometry::tolerance::COINCIDENT;

/// Boxes of edges, asked one after the other which others they touch. Edges that follow one another lie near one another:
/// the tree holds runs of them, and is asked once for a run. Where that brings many runs, a tree of all boxes is asked for
/// each edge.
pub(crate) struct NearBoxes<'a> {
    boxes: &'a [Bounds],
    /// Where each run begins, and one more: where the last one ends.
    starts: Vec<u32>,
    /// The box of each run.
    runs: Vec<Bounds>,
    tree: BoxTree,
    single: OnceCell<BoxTree>,
    /// The run that was asked for last, and whether it brought too many.
    run: Option<usize>,
    is_wide: bool,
    /// The runs that touch it.
    found: Vec<usize>,
}

impl<'a> NearBoxes<'a> {
    /// Edges of a run.
    const RUN: usize = 10;
    /// Edges of a ring that is one run as a whole: a small outline lies together.
    const WHOLE: usize = 24;
    /// Most runs that are looked through for the edges of a run.
    const MOST: usize = 16;

    /// `lengths` tells how many boxes belong to each ring: no run goes over from one to the next.
    pub(crate) fn new(boxes: &'a [Bounds], lengths: impl Iterator<Item = usize>) -> Self {
        let mut starts = Vec::with_capacity(boxes.len() / Self::RUN + 2);
        let mut first = 0;
        for length in lengths {
            let run = if length <= Self::WHOLE {
                length.max(1)
            } else {
                Self::RUN
            };
            starts.extend((first..first + length).step_by(run).map(|i| i as u32));
            first += length;
        }
        let around = |run: Range<usize>| {
            let boxes = boxes[run].iter();
            boxes.fold(Bounds::EMPTY, |b, o| b.join(*o))
        };
        starts.push(first as u32);
        let runs: Vec<Bounds> = starts
            .windows(2)
            .map(|ends| around(ends[0] as usize..ends[1] as usize))
            .collect();
        Self {
            boxes,
            tree: BoxTree::new(&runs),
            starts,
            runs,
            single: OnceCell::new(),
            run: None,
            is_wide: false,
            found: Vec::new(),
        }
    }

    fn range(&self, run: usize) -> Range<usize> {
        self.starts[run] as usize..self.starts[run + 1] as usize
    }

    /// Visits all boxes that touch that of an edge and come behind it. Edges are asked for in ascending order.
    pub(crate) fn visit_behind(&mut self, i: usize, mut visitor: impl FnMut(usize)) {
        let run = match self.run {
            Some(run) if self.range(run).contains(&i) => run,
            Some(run) if run + 2 < self.starts.len() && self.range(run + 1).contains(&i) => run + 1,
            _ => self.starts.partition_point(|s| *s as usize <= i) - 1,
        };
        if self.run != Some(run) {
            self.ask(run);
        }
        let own = self.boxes[i].grown(COINCIDENT);
        if self.is_wide {
            let tree = self.single.get_or_init(|| BoxTree::new(self.boxes));
            tree.visit::<()>(own, |j| {
                if j > i {
                    visitor(j);
                }
                ControlFlow::Continue(())
            });
            return;
        }
        for &other in &self.found {
            if other != run && !self.runs[other].touches(own) {
                continue;
            }
            let range = self.range(other);
            for j in range.start.max(i + 1)..range.end {
                if self.boxes[j].touches(own) {
                    visitor(j);
                }
            }
        }
    }

    /// What comes before a run has been told with it.
    fn ask(&mut self, run: usize) {
        self.found.clear();
        let found = &mut self.found;
        let broken_off = self.tree.visit(self.runs[run].grown(COINCIDENT), |other| {
            if other < run {
                return ControlFlow::Continue(());
            }
            if found.len() == Self::MOST {
                return ControlFlow::Break(());
            }
            found.push(other);
            ControlFlow::Continue(())
        });
        self.is_wide = broken_off.is_some();
        self.found.sort_unstable();
        self.run = Some(run);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;

    #[test]
    fn runs_bring_what_each_box_would_bring_alone() {
        // Small boxes along a spiral; every seventieth is as large as the drawing, so that runs with it are wide.
        let boxes: Vec<Bounds> = (0..600)
            .map(|k| {
                let t = f64::from(k);
                let corner = Point::new((t * 0.37) % 40.0, (t * 0.11) % 30.0);
                let size = if k % 70 == 6 {
                    Point::new(60.0, 30.0)
                } else {
                    Point::new(0.4, 0.3)
                };
                Bounds::new(corner, corner + size)
            })
            .collect();
        let lengths = [1, 23, 576];
        let mut near = NearBoxes::new(&boxes, lengths.into_iter());
        let (mut n_wide, mut n_narrow) = (0, 0);
        for i in 0..600 {
            let mut found = Vec::new();
            near.visit_behind(i, |j| found.push(j));
            found.sort_unstable();
            let own = boxes[i].grown(COINCIDENT);
            let all: Vec<usize> = (i + 1..600).filter(|j| boxes[*j].touches(own)).collect();
            assert_eq!(found, all, "box {i}");
            n_wide += u32::from(near.is_wide);
            n_narrow += u32::from(!near.is_wide);
        }
        let of_a_ring = |run: Range<usize>| (run.start < 1) == (run.end <= 1);
        assert!((0..near.runs.len()).all(|run| of_a_ring(near.range(run))));
        assert!(
            n_wide > 9 && n_narrow > 9,
            "{n_wide} wide, {n_narrow} narrow"
        );
    }
}
