//! The task made ready for the search: classes of material, sheets as bins, layers as shapes, how often each must be cut.

use std::collections::BTreeMap;

use crate::geometry::boolean;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::SourceId;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::model::cutter::{Axis, Turns};
use crate::planner::packing::{Bin, BoxItem};
use crate::planner::task::{ClassKey, LayerShape, Task, Unit};
use crate::stock;

/// Sheets of one kind that are tried side by side; more of a kind than pieces are never needed.
const MOST_OF_A_KIND: usize = 64;
/// How many strips or cells a side is cut into at the most.
const MOST_STRIPS: usize = 24;
/// How many ways of cutting a layer into strips and cells are kept: the fewest cells first.
const COUNTS_KEPT: usize = 10;

/// One material and thickness.
#[derive(Clone, Debug)]
pub(crate) struct Class {
    /// As the job writes it, for messages.
    pub(crate) name: String,
    /// Sheets, cheapest for their area first.
    pub(crate) bins: Vec<Bin>,
    /// Layers of copies that are cut from it.
    pub(crate) units: Vec<usize>,
    /// Boxes of the parts that must be cut, and which part each is.
    pub(crate) parts: Vec<(BoxItem, usize)>,
    /// Extents of the windows, ascending, apart.
    pub(crate) extents: Vec<f64>,
    /// Typical cost of a sheet, for weighing.
    pub(crate) scale: f64,
    /// Typical area of a sheet.
    pub(crate) sheet_area_mm2: f64,
}

/// A way of cutting a layer: the way the through seams run, how many there are, and how many across each strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Counts {
    pub(crate) runs: Axis,
    pub(crate) through: usize,
    pub(crate) across: usize,
}

/// The task made ready.
#[derive(Clone, Debug)]
pub(crate) struct Prepared<'a> {
    pub(crate) task: Task<'a>,
    pub(crate) units: Vec<Unit>,
    pub(crate) shapes: Vec<LayerShape>,
    pub(crate) classes: Vec<Class>,
    keys: BTreeMap<ClassKey, usize>,
    /// For each shape, ways of cutting it, fewest cells first; empty where no sheet takes any.
    pub(crate) counts: Vec<Vec<Counts>>,
}

impl<'a> Prepared<'a> {
    pub(crate) fn new(task: Task<'a>) -> Self {
        let mut keys: BTreeMap<ClassKey, usize> = BTreeMap::new();
        let mut classes: Vec<Class> = Vec::new();
        let mut class_of =
            |keys: &mut BTreeMap<ClassKey, usize>, material: &str, thickness: f64| {
                *keys
                    .entry(ClassKey::new(material, thickness))
                    .or_insert_with(|| {
                        classes.push(class(&task, material, thickness));
                        classes.len() - 1
                    })
            };
        let mut units = Vec::new();
        for copy in 1..=task.copies {
            for (layer, l) in task.layers.iter().enumerate() {
                let class = class_of(&mut keys, &l.material, l.thickness);
                units.push(Unit {
                    layer,
                    copy,
                    class,
                    shape: layer,
                });
            }
        }
        let of_part: Vec<usize> = task
            .parts
            .iter()
            .map(|p| class_of(&mut keys, &p.material, p.thickness))
            .collect();
        for (k, unit) in units.iter().enumerate() {
            classes[unit.class].units.push(k);
        }
        for (k, part) in task.parts.iter().enumerate().filter(|(_, p)| !p.fill) {
            let size = part.region.bounds();
            let item = BoxItem {
                size: [size.width(), size.depth()],
                turns: box_turns(part.turns),
                grain: part.grain,
            };
            classes[of_part[k]]
                .parts
                .extend(std::iter::repeat_n((item, k), part.quantity));
        }
        let shapes: Vec<LayerShape> = task
            .layers
            .iter()
            .enumerate()
            .map(|(k, l)| LayerShape::new(l, k, task.seams))
            .collect();
        let counts = shapes
            .iter()
            .enumerate()
            .map(|(k, s)| {
                units
                    .iter()
                    .find(|u| u.shape == k)
                    .map_or_else(Vec::new, |u| ways(s, &classes[u.class], &task))
            })
            .collect();
        Self {
            task,
            units,
            shapes,
            classes,
            keys,
            counts,
        }
    }

    /// The class of a material and thickness; one past the last where nothing of the job has it.
    pub(crate) fn class_of(&self, material: &str, thickness: f64) -> usize {
        self.keys
            .get(&ClassKey::new(material, thickness))
            .copied()
            .unwrap_or(self.classes.len())
    }

    /// The name of the class of a material and thickness, for messages; empty where nothing of the job has it.
    pub(crate) fn class_named(&self, material: &str, thickness: f64) -> &str {
        self.classes
            .get(self.class_of(material, thickness))
            .map_or("", |c| &c.name)
    }
}

/// Area in mm² of what lies left of a line along y: exact for rectangles less round or polygonal defects.
pub(crate) fn area_left_of(regions: &[Region], end: f64) -> f64 {
    let mut bounds = regions
        .iter()
        .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
    bounds.max.x = bounds.max.x.min(end);
    let Some(left) = Ring::polygon(
        &[
            bounds.min,
            Point::new(bounds.max.x, bounds.min.y),
            bounds.max,
            Point::new(bounds.min.x, bounds.max.y),
        ],
        SourceId::default(),
    ) else {
        return 0.0;
    };
    boolean::intersection(regions, &[Region::solid(left)]).map_or_else(
        // The share of the box stands in where the exact area cannot be had.
        |_| {
            regions.iter().map(Region::area_mm2).sum::<f64>() * bounds.width()
                / regions
                    .iter()
                    .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()))
                    .width()
        },
        |parts| parts.iter().map(Region::area_mm2).sum(),
    )
}

/// Whether a box may lie as drawn, or turned by a quarter.
pub(crate) fn box_turns(turns: Turns) -> [bool; 2] {
    [true, matches!(turns, Turns::Quarter | Turns::Any)]
}

fn class(task: &Task<'_>, material: &str, thickness: f64) -> Class {
    let key = ClassKey::new(material, thickness);
    let mut bins = Vec::new();
    for (k, sheet) in task.sheets.iter().enumerate() {
        if ClassKey::new(&sheet.material, sheet.thickness) != key || !sheet.taken {
            continue;
        }
        let windows = windows_of(task, k);
        let area_mm2: f64 = sheet.region.iter().map(|r| r.area_mm2()).sum();
        for number in 0..sheet.quantity.min(MOST_OF_A_KIND) {
            let length = sheet.outline.bounds().width();
            bins.push(Bin {
                windows: windows.clone(),
                cost: sheet.cost,
                area_mm2,
                by_length: sheet.by_length.then_some(length),
                grain: sheet.grain,
                sheet: k,
                number,
            });
        }
    }
    bins.sort_by(|a, b| {
        (a.cost / a.area_mm2)
            .total_cmp(&(b.cost / b.area_mm2))
            .then(a.sheet.cmp(&b.sheet))
            .then(a.number.cmp(&b.number))
    });
    let mut extents: Vec<f64> = bins
        .iter()
        .filter(|b| b.number == 0)
        .flat_map(|b| b.windows.iter().flat_map(|w| [w.width(), w.depth()]))
        .collect();
    extents.sort_by(f64::total_cmp);
    extents.dedup_by(|a, b| (*a - *b).abs() < 0.01);
    let n = bins.len().max(1) as f64;
    let scale = (bins.iter().map(|b| b.cost).sum::<f64>() / n).max(1e-9);
    let sheet_area_mm2 = (bins.iter().map(|b| b.area_mm2).sum::<f64>() / n).max(1.0);
    Class {
        name: format!("{material} {}", crate::format::number::length(thickness)),
        bins,
        units: Vec::new(),
        parts: Vec::new(),
        extents,
        scale,
        sheet_area_mm2,
    }
}

fn windows_of(task: &Task<'_>, sheet: usize) -> Vec<Bounds> {
    let s = &task.sheets[sheet];
    let windows = stock::windows(s, task.cutter.edge_margin).boxes;
    if !s.by_length {
        return windows;
    }
    let end = s.outline.bounds().min.x + s.usable_length - task.cutter.edge_margin;
    windows
        .into_iter()
        .map(|w| Bounds::new(w.min, Point::new(w.max.x.min(end), w.max.y)))
        .filter(|w| w.width() > 0.0)
        .collect()
}

/// What a row of `n` cells measures across on the average, teeth included: only sides with a seam carry them, and the outer
/// cells, which have one such side less, can be drawn the wider.
fn mean_cell(extent: f64, n: usize, reach: f64) -> f64 {
    (extent + (n - 1) as f64 * reach) / n as f64
}

/// Ways of cutting a layer so that cells of equal measure, teeth included, fit some window; those with room to move seams
/// first, then fewest cells.
pub(crate) fn ways(shape: &LayerShape, class: &Class, task: &Task<'_>) -> Vec<Counts> {
    let (width, depth) = (shape.bounds.width(), shape.bounds.depth());
    let reach = shape.reach.0 + shape.reach.1;
    let least = task.seams.limits.min_piece;
    let strips = |extent: f64| {
        if shape.splits {
            ((extent / least.max(1.0)).floor() as usize).clamp(1, MOST_STRIPS)
        } else {
            1
        }
    };
    let mut found: Vec<((bool, usize), Counts)> = Vec::new();
    for nx in 1..=strips(width) {
        for ny in 1..=strips(depth) {
            let room = 1e-6;
            let fit = |[w, d]: [f64; 2]| {
                class.bins.iter().filter(|b| b.number == 0).any(|b| {
                    b.windows.iter().any(|win| {
                        let (ww, wd) = (win.width() + room, win.depth() + room);
                        let [straight, turned] = match (shape.grain, b.grain) {
                            (Some(own), Some(along)) => [own == along, own != along],
                            _ => box_turns(shape.turns),
                        };
                        (straight && w <= ww && d <= wd) || (turned && d <= ww && w <= wd)
                    })
                })
            };
            let fits = fit([mean_cell(width, nx, reach), mean_cell(depth, ny, reach)]);
            let inner = |extent: f64, n: usize| extent / n as f64 + if n > 1 { reach } else { 0.0 };
            // Where a cell that has teeth on both sides fits too, seams need not lie at one place alone.
            let tight = !fit([inner(width, nx), inner(depth, ny)]);
            if fits {
                found.push((
                    (tight, nx * ny),
                    Counts {
                        runs: Axis::Y,
                        through: nx - 1,
                        across: ny - 1,
                    },
                ));
                if nx > 1 && ny > 1 {
                    found.push((
                        (tight, nx * ny),
                        Counts {
                            runs: Axis::X,
                            through: ny - 1,
                            across: nx - 1,
                        },
                    ));
                }
            }
        }
    }
    found.sort_by_key(|(rank, c)| (*rank, c.through.abs_diff(c.across), c.runs));
    found
        .into_iter()
        .map(|(_, c)| c)
        .take(COUNTS_KEPT)
        .collect()
}
