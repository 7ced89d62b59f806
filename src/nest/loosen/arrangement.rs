//! Where pieces lie while they may still overlap, and what each overlap weighs.

use std::ops::ControlFlow;

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::transform::Pose;
use crate::model::nesting::{Layout, Placed, SheetUse};
use crate::nest::loosen::ground::Ground;
use crate::nest::loosen::near::Near;
use crate::nest::loosen::table::TOUCH;

/// Factors of a weight after a pass: for a pair that overlaps between the first two, by its share of the worst overlap; for
/// one that does not the last. (Gardeyn, Vanden Berghe & Wauters 2025, guided local search.)
const GROW: (f64, f64) = (1.2, 2.0);
const FADE: f64 = 0.95;

/// A sheet in the plane in which all pieces lie.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    pub(super) sheet: SheetUse,
    /// Where the sheet's origin lies in the plane.
    pub(super) offset: Point,
    /// Where outlines may lie, in the plane.
    pub(super) room: Bounds,
}

/// A piece: how it is turned and where it lies in the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spot {
    pub(super) way: usize,
    pub(super) slot: usize,
    pub(super) at: Point,
}

/// All pieces, their overlaps and weights.
#[derive(Clone, Debug)]
pub(super) struct Arrangement {
    /// Place in the problem of each piece.
    pub(super) items: Vec<usize>,
    pub(super) slots: Vec<Slot>,
    pub(super) spots: Vec<Spot>,
    pub(super) boxes: Vec<Bounds>,
    near: Near,
    /// Pieces that each piece overlaps, itself where the bars of the sheet are.
    hits: Vec<u32>,
    /// Severity and weight of each pair, row by row; the diagonal stands for the bars of the sheet.
    severity: Vec<f64>,
    weight: Vec<f64>,
}

/// A coordinate as a plan writes it: whole millionths. Adding and taking away 1.5 · 2⁵² rounds to a whole number.
pub(super) fn written(v: f64) -> f64 {
    const WHOLE: f64 = 6_755_399_441_055_744.0;
    ((v * 1e6 + WHOLE) - WHOLE) / 1e6
}

impl Arrangement {
    pub(super) fn new(
        items: Vec<usize>,
        slots: Vec<Slot>,
        spots: Vec<Spot>,
        ground: &Ground,
    ) -> Self {
        let n = items.len();
        let mut out = Self {
            items,
            slots,
            boxes: vec![Bounds::EMPTY; n],
            near: Near::default(),
            hits: vec![0; n],
            spots,
            severity: vec![0.0; n * n],
            weight: vec![1.0; n * n],
        };
        out.measure(ground);
        out
    }

    pub(super) fn len(&self) -> usize {
        self.items.len()
    }

    /// From the low end of the first sheet's room to where the pieces end, in mm.
    pub(super) fn length(&self) -> f64 {
        let ends = self.boxes.iter().map(|b| b.max.x);
        let low = self.slots[0].room.min.x;
        ends.fold(low, f64::max) - low
    }

    /// The layout that it is.
    pub(super) fn layout(&self, ground: &Ground) -> Layout {
        let mut placed: Vec<Placed> = self
            .spots
            .iter()
            .zip(&self.items)
            .map(|(spot, &item)| {
                let (way, slot) = (&ground.ways[spot.way], &self.slots[spot.slot]);
                let at = spot.at - slot.offset;
                Placed {
                    item,
                    sheet: slot.sheet,
                    pose: Pose {
                        mirrored: way.mirrored,
                        rotation: way.rotation,
                        shift: Point::new(written(at.x), written(at.y)),
                    },
                }
            })
            .collect();
        placed.sort_by_key(|p| p.item);
        Layout { placed }
    }

    /// Measures all overlaps anew.
    pub(super) fn measure(&mut self, ground: &Ground) {
        let n = self.len();
        for i in 0..n {
            self.boxes[i] = ground.ways[self.spots[i].way]
                .bounds
                .moved(self.spots[i].at);
        }
        let rooms = self.slots.iter().map(|s| s.room);
        self.near = Near::new(rooms.fold(Bounds::EMPTY, Bounds::join), &self.boxes);
        self.severity.fill(0.0);
        self.hits.fill(0);
        for i in 0..n {
            let spot = self.spots[i];
            self.note(i, i, self.barred(ground, spot));
            let near = std::mem::take(&mut self.near);
            near.of(self.boxes[i], |j| {
                if j < i {
                    self.note(i, j, self.between(ground, j, spot, i));
                }
                ControlFlow::Continue(())
            });
            self.near = near;
        }
    }

    /// Overlap of piece `i` at a spot with piece `j`.
    fn between(&self, ground: &Ground, j: usize, spot: Spot, i: usize) -> f64 {
        if !meets(self.boxes[i], self.boxes[j]) {
            return 0.0;
        }
        let other = self.spots[j];
        ground
            .table
            .severity(other.way, spot.way, spot.at - other.at)
    }

    /// Notes how much two pieces overlap, where nothing was noted.
    fn note(&mut self, i: usize, j: usize, severity: f64) {
        if severity > 0.0 {
            let n = self.len();
            self.severity[i * n + j] = severity;
            self.severity[j * n + i] = severity;
            self.hits[i] += 1;
            if i != j {
                self.hits[j] += 1;
            }
        }
    }

    /// Forgets what a piece overlaps.
    fn clear(&mut self, i: usize) {
        let n = self.len();
        if self.hits[i] == 0 {
            return;
        }
        self.hits[i] = 0;
        for j in 0..n {
            if self.severity[i * n + j] > 0.0 {
                self.severity[i * n + j] = 0.0;
                self.severity[j * n + i] = 0.0;
                if j != i {
                    self.hits[j] -= 1;
                }
            }
        }
    }

    fn measure_one(&mut self, ground: &Ground, i: usize) {
        self.clear(i);
        let spot = self.spots[i];
        self.note(i, i, self.barred(ground, spot));
        let near = std::mem::take(&mut self.near);
        near.of(self.boxes[i], |j| {
            if j != i {
                self.note(i, j, self.between(ground, j, spot, i));
            }
            ControlFlow::Continue(())
        });
        self.near = near;
    }

    /// Calls with the pieces whose boxes may meet a box, in order, until told to end.
    pub(super) fn near(&self, own: Bounds, call: impl FnMut(usize) -> ControlFlow<()>) {
        self.near.of(own, call);
    }

    /// Overlap with what bars the sheet.
    fn barred(&self, ground: &Ground, spot: Spot) -> f64 {
        let slot = &self.slots[spot.slot];
        let board = &ground.boards[slot.sheet.stock];
        board.bar.map_or(0.0, |bar| {
            ground.table.severity(bar, spot.way, spot.at - slot.offset)
        })
    }

    /// Moves a piece.
    pub(super) fn put(&mut self, ground: &Ground, i: usize, spot: Spot) {
        self.spots[i] = spot;
        let own = ground.ways[spot.way].bounds.moved(spot.at);
        self.near.moved(i, self.boxes[i], own);
        self.boxes[i] = own;
        self.measure_one(ground, i);
    }

    /// Sum of all overlaps, each once, unweighted.
    pub(super) fn total(&self) -> f64 {
        let n = self.len();
        (0..n)
            .filter(|&i| self.hits[i] > 0)
            .map(|i| self.severity[i * n..=i * n + i].iter().sum::<f64>())
            .sum()
    }

    /// What the overlap of two pieces weighs.
    pub(super) fn weight(&self, i: usize, j: usize) -> f64 {
        self.weight[i * self.len() + j]
    }

    /// Sum of all overlaps, each once, weighted.
    pub(super) fn weighted_total(&self) -> f64 {
        let n = self.len();
        (0..n)
            .filter(|&i| self.hits[i] > 0)
            .map(|i| {
                let row = i * n..=i * n + i;
                self.severity[row.clone()]
                    .iter()
                    .zip(&self.weight[row])
                    .map(|(s, w)| s * w)
                    .sum::<f64>()
            })
            .sum()
    }

    /// Weighted overlap of a piece where it lies.
    pub(super) fn burden(&self, i: usize) -> f64 {
        let n = self.len();
        let row = i * n..(i + 1) * n;
        self.severity[row.clone()]
            .iter()
            .zip(&self.weight[row])
            .map(|(s, w)| s * w)
            .sum()
    }

    pub(super) fn overlaps(&self, i: usize) -> bool {
        self.hits[i] > 0
    }

    /// Weighted overlap that a piece would have elsewhere; what reaches `limit` may be told as anything above it.
    pub(super) fn price(&self, ground: &Ground, i: usize, spot: Spot, limit: f64) -> f64 {
        let n = self.len();
        let own = ground.ways[spot.way].bounds.moved(spot.at);
        let weight = &self.weight[i * n..(i + 1) * n];
        let mut sum = weight[i] * self.barred(ground, spot);
        self.near.of(own, |j| {
            if j == i || !meets(own, self.boxes[j]) {
                return ControlFlow::Continue(());
            }
            let o = self.spots[j];
            let by = (weight[j], limit - sum);
            sum += ground.table.weighed(o.way, spot.way, spot.at - o.at, by);
            if sum >= limit {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        sum
    }

    /// Makes pairs dearer that overlap, and others cheaper.
    pub(super) fn weigh(&mut self) {
        let n = self.len();
        let worst = (0..n)
            .filter(|&i| self.hits[i] > 0)
            .flat_map(|i| &self.severity[i * n..=i * n + i])
            .fold(0.0, |worst, &s| if s > worst { s } else { worst });
        if worst <= 0.0 {
            return;
        }
        let rate = (GROW.1 - GROW.0) / worst;
        for (w, &s) in self.weight.iter_mut().zip(&self.severity) {
            let by = if s > 0.0 { GROW.0 + rate * s } else { FADE };
            let next = *w * by;
            *w = if next > 1.0 { next } else { 1.0 };
        }
    }

    /// All weights as at the beginning.
    pub(super) fn forget(&mut self) {
        self.weight.fill(1.0);
    }

    /// Takes spots over, and measures.
    pub(super) fn take(&mut self, ground: &Ground, spots: &[Spot]) {
        self.spots.copy_from_slice(spots);
        self.measure(ground);
    }
}

/// Whether boxes have more than an edge in common.
fn meets(a: Bounds, b: Bounds) -> bool {
    a.min.x + TOUCH < b.max.x
        && b.min.x + TOUCH < a.max.x
        && a.min.y + TOUCH < b.max.y
        && b.min.y + TOUCH < a.max.y
}
