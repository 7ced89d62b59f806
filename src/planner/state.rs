//! A guess of the search: how every layer is split, and in which order boxes and sheets are taken; and what it is worth.

use crate::geometry::angle;
use crate::model::cutter::Axis;
use crate::model::seam::LayerSplit;
use crate::planner::boxes::cell_boxes;
use crate::planner::packing::{BoxItem, Packed, pack};
use crate::planner::prepared::{Prepared, box_turns};

/// The order in which one class is packed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Order {
    /// Bins, first to be tried first.
    pub(crate) bins: Vec<usize>,
    /// By what boxes are sorted, largest first: 0 area, 1 longer side, 2 shorter side, 3 sum of both.
    pub(crate) rule: usize,
    /// Disturbs the sorting by up to a fifth; 0 leaves it.
    pub(crate) salt: u64,
}

/// A guess.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State {
    /// By unit.
    pub(crate) splits: Vec<LayerSplit>,
    /// By class.
    pub(crate) orders: Vec<Order>,
}

/// A box and what it stands for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stand {
    pub(crate) item: BoxItem,
    pub(crate) what: StandsFor,
}

/// What a box stands for.
#[derive(Clone, Copy, Debug)]
pub(crate) enum StandsFor {
    /// A group of cells of a unit's split.
    Cell(usize, usize),
    /// One of a part.
    Part(usize),
}

/// What a guess is worth.
#[derive(Clone, Debug, Default)]
pub(crate) struct Worth {
    /// By class.
    pub(crate) packed: Vec<Packed>,
    /// Boxes, by class.
    pub(crate) pieces: Vec<usize>,
    /// Σ of what laps fall short by, in mm.
    pub(crate) lap_short: f64,
    /// What the search compares; smaller is better.
    pub(crate) energy: f64,
}

impl Worth {
    /// Whether every box has a place and every lap is kept.
    pub(crate) fn is_sound(&self) -> bool {
        self.lap_short <= 0.0 && self.packed.iter().all(|p| p.unplaced_mm2 <= 0.0)
    }

    /// Cost of the sheets used.
    pub(crate) fn cost(&self) -> f64 {
        self.packed.iter().map(|p| p.cost).sum()
    }
}

/// The boxes of a class, in the order of units and cells, then parts.
pub(crate) fn stands(prepared: &Prepared<'_>, splits: &[LayerSplit], class: usize) -> Vec<Stand> {
    let mut out = Vec::new();
    for &unit in &prepared.classes[class].units {
        let shape = &prepared.shapes[prepared.units[unit].shape];
        for (bounds, cell) in cell_boxes(shape, &splits[unit], prepared.task.seams.limits.gap) {
            let item = BoxItem {
                size: [bounds.width(), bounds.depth()],
                turns: box_turns(shape.turns),
                grain: shape.grain,
            };
            out.push(Stand {
                item,
                what: StandsFor::Cell(unit, cell),
            });
        }
    }
    out.extend(
        prepared.classes[class]
            .parts
            .iter()
            .map(|(item, part)| Stand {
                item: *item,
                what: StandsFor::Part(*part),
            }),
    );
    out
}

/// What a guess is worth. Classes that a move did not touch are taken from `before`.
pub(crate) fn worth(
    prepared: &Prepared<'_>,
    state: &State,
    before: Option<(&Worth, &[bool])>,
) -> Worth {
    let mut out = Worth::default();
    for class in 0..prepared.classes.len() {
        if let Some((old, touched)) = before
            && !touched[class]
        {
            out.packed.push(old.packed[class].clone());
            out.pieces.push(old.pieces[class]);
            continue;
        }
        let stands = stands(prepared, &state.splits, class);
        let items: Vec<BoxItem> = stands.iter().map(|s| s.item).collect();
        let order = sorted(&items, &state.orders[class]);
        let task = &prepared.task;
        let packed = pack(
            &items,
            &order,
            &prepared.classes[class].bins,
            &state.orders[class].bins,
            task.cutter.spacing,
            task.cutter.edge_margin,
            task.search.remnant,
        );
        out.packed.push(packed);
        out.pieces.push(items.len());
    }
    out.lap_short = lap_short(prepared, &state.splits);
    out.energy = energy(prepared, &out);
    out
}

/// The order in which boxes are laid down.
pub(crate) fn sorted(items: &[BoxItem], order: &Order) -> Vec<usize> {
    let key = |k: usize| {
        let [w, d] = items[k].size;
        let base = match order.rule {
            0 => w * d,
            1 => w.max(d),
            2 => w.min(d),
            _ => w + d,
        };
        if order.salt == 0 {
            return base;
        }
        let mut z = order
            .salt
            .wrapping_mul(0x9e37_79b9_7f4a_7c15)
            .wrapping_add((k as u64).wrapping_mul(0xbf58_476d_1ce4_e5b9));
        z = (z ^ (z >> 31)).wrapping_mul(0x94d0_49bb_1331_11eb);
        base * (0.8 + 0.4 * ((z >> 40) as f64 / 16_777_216.0))
    };
    let mut order: Vec<usize> = (0..items.len()).collect();
    order.sort_by(|&a, &b| key(b).total_cmp(&key(a)).then(a.cmp(&b)));
    order
}

/// One number to compare guesses by. What is missing weighs more than any sheet; among plans of one cost those come first
/// whose sheets are full or nearly empty, that keep larger rests and have fewer pieces.
fn energy(prepared: &Prepared<'_>, worth: &Worth) -> f64 {
    let mut total = 0.0;
    let mut scale: f64 = 0.0;
    for ((packed, class), pieces) in worth
        .packed
        .iter()
        .zip(&prepared.classes)
        .zip(&worth.pieces)
    {
        total += packed.cost;
        if packed.unplaced_mm2 > 0.0 {
            total += class.scale * (1.0 + 4.0 * packed.unplaced_mm2 / class.sheet_area_mm2);
        }
        total -= 0.05 * packed.concentration;
        total -= 0.1 * class.scale * packed.kept_mm2 / class.sheet_area_mm2;
        total += 0.004 * class.scale * *pieces as f64;
        scale = scale.max(class.scale);
    }
    if worth.lap_short > 0.0 {
        total += scale * (0.5 + worth.lap_short / prepared.task.seams.limits.min_lap.max(1.0));
    }
    total
}

/// A base line with its span: the way it runs, its position, and from where to where.
type Line = (Axis, f64, f64, f64);

fn lines(prepared: &Prepared<'_>, unit: usize, split: &LayerSplit) -> Vec<Line> {
    let shape = &prepared.shapes[prepared.units[unit].shape];
    let (first, last) = shape.across(split.runs.other());
    let (low, high) = shape.across(split.runs);
    let mut out: Vec<Line> = Vec::new();
    for (i, &p) in split.at.iter().enumerate() {
        let kept = split.kept(i, (first, last));
        out.extend(kept.iter().map(|k| (split.runs, p, k.0, k.1)));
    }
    for (i, across) in split.across.iter().enumerate() {
        let a = if i == 0 { low } else { split.at[i - 1] };
        let b = split.at.get(i).copied().unwrap_or(high);
        out.extend(across.iter().map(|&p| (split.runs.other(), p, a, b)));
    }
    out
}

/// By how much laps between neighbouring layers fall short, added up; teeth count with their full reach.
fn lap_short(prepared: &Prepared<'_>, splits: &[LayerSplit]) -> f64 {
    let mut short = 0.0;
    for below in 0..prepared.units.len().saturating_sub(1) {
        let above = below + 1;
        if prepared.units[below].copy == prepared.units[above].copy {
            short += pair_short(prepared, [below, above], [&splits[below], &splits[above]]);
        }
    }
    short
}

/// By how much the laps between two layers fall short, added up.
pub(crate) fn pair_short(
    prepared: &Prepared<'_>,
    units: [usize; 2],
    splits: [&LayerSplit; 2],
) -> f64 {
    let lap = prepared.task.seams.limits.min_lap;
    let reach = |k: usize| prepared.shapes[prepared.units[units[k]].shape].reach;
    let (ra, rb) = (reach(0), reach(1));
    let lines_b = lines(prepared, units[1], splits[1]);
    let mut short = 0.0;
    for (runs, p, from, to) in lines(prepared, units[0], splits[0]) {
        for &(other, q, c, d) in lines_b.iter().filter(|l| l.0 == runs) {
            debug_assert_eq!(other, runs, "filtered");
            let aside = if q > p {
                (q - rb.0) - (p + ra.1)
            } else {
                (p - ra.0) - (q + rb.1)
            }
            .max(0.0);
            let along = (c - to).max(from - d).max(0.0);
            short += (lap - angle::hypot(aside, along)).max(0.0);
        }
    }
    short
}
