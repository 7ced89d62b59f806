//! Where pieces lie while they may still overlap, and what each overlap weighs.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::transform::Pose;
use crate::model::nesting::{Layout, Placed, SheetUse};
use crate::nest::loosen::ground::Ground;
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
        for i in 0..self.len() {
            self.boxes[i] = ground.ways[self.spots[i].way]
                .bounds
                .moved(self.spots[i].at);
        }
        for i in 0..self.len() {
            self.measure_one(ground, i);
        }
    }

    fn measure_one(&mut self, ground: &Ground, i: usize) {
        let n = self.len();
        let spot = self.spots[i];
        for j in 0..n {
            let s = if j == i {
                self.barred(ground, spot)
            } else if meets(self.boxes[i], self.boxes[j]) {
                let other = self.spots[j];
                ground
                    .table
                    .severity(other.way, spot.way, spot.at - other.at)
            } else {
                0.0
            };
            self.severity[i * n + j] = s;
            self.severity[j * n + i] = s;
        }
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
        self.boxes[i] = ground.ways[spot.way].bounds.moved(spot.at);
        self.measure_one(ground, i);
    }

    /// Sum of all overlaps, each once, unweighted.
    pub(super) fn total(&self) -> f64 {
        let n = self.len();
        (0..n)
            .map(|i| self.severity[i * n..=i * n + i].iter().sum::<f64>())
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
        let n = self.len();
        self.severity[i * n..(i + 1) * n].iter().any(|s| *s > 0.0)
    }

    /// Weighted overlap that a piece would have elsewhere; what reaches `limit` may be told as anything above it.
    pub(super) fn price(&self, ground: &Ground, i: usize, spot: Spot, limit: f64) -> f64 {
        let n = self.len();
        let own = ground.ways[spot.way].bounds.moved(spot.at);
        let weight = &self.weight[i * n..(i + 1) * n];
        let mut sum = weight[i] * self.barred(ground, spot);
        for (j, other) in self.boxes.iter().enumerate() {
            if !meets(own, *other) || j == i {
                continue;
            }
            let o = self.spots[j];
            let s = ground.table.severity(o.way, spot.way, spot.at - o.at);
            sum += weight[j] * s;
            if sum >= limit {
                return sum;
            }
        }
        sum
    }

    /// Makes pairs dearer that overlap, and others cheaper.
    pub(super) fn weigh(&mut self) {
        let worst = self.severity.iter().copied().fold(0.0, f64::max);
        if worst <= 0.0 {
            return;
        }
        for (w, s) in self.weight.iter_mut().zip(&self.severity) {
            let by = if *s > 0.0 {
                GROW.0 + (GROW.1 - GROW.0) * s / worst
            } else {
                FADE
            };
            *w = (*w * by).max(1.0);
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
