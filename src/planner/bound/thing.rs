//! What stays whole, as a bound sees it: its grown area, its box, and the sheets that it may enter.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Curve;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::model::cutter::{Axis, Turns};
use crate::nest::grown_area;
use crate::planner::bound::growth;
use crate::planner::bound::supply::Supply;
use crate::planner::prepared::{Class, Prepared, box_turns};
use crate::stock;

/// Rounding of extents, in mm: what a certificate forgives on both sides, and more.
pub(super) const ROUNDED: f64 = 1e-5;
/// Clear boxes of a sheet, at the most, for which they are taken to be all: fewer than are kept.
const ALL_BOXES: usize = 150;
/// Directions in which a shape that may lie at any angle is measured.
const DIRECTIONS: usize = 180;

/// A part, or a layer that stays whole.
#[derive(Clone, Debug)]
pub(super) struct Thing {
    pub(super) name: String,
    pub(super) is_layer: bool,
    pub(super) count: usize,
    /// Area of one, grown.
    grown_mm2: f64,
    /// Extents, where it is a rectangle that lies along the axes.
    pub(super) rectangle: Option<[f64; 2]>,
    /// By kind of sheet: whether it may lie as drawn, and turned by a quarter.
    pub(super) ways: Vec<[bool; 2]>,
    /// By kind of sheet: whether it may enter it.
    pub(super) enters: Vec<bool>,
}

impl Thing {
    /// Area of all of them, grown.
    pub(super) fn need(&self) -> f64 {
        self.count as f64 * self.grown_mm2
    }
}

/// Parts that must be cut and layers that stay whole in one region.
pub(super) fn of_class(
    prepared: &Prepared<'_>,
    k: usize,
    class: &Class,
    supplies: &[Supply<'_>],
) -> Vec<Thing> {
    let by = growth(prepared, k);
    let mut out = Vec::new();
    for &u in &class.units {
        let unit = &prepared.units[u];
        let layer = &prepared.task.layers[unit.layer];
        if let [one] = layer.shape.as_slice()
            && !prepared.shapes[unit.shape].splits
        {
            let told = (layer.name.clone(), true, 1);
            out.push(thing(
                prepared,
                supplies,
                told,
                one,
                (layer.turns, layer.grain),
                by,
            ));
        }
    }
    for part in prepared.task.parts {
        if !part.fill && part.quantity > 0 && prepared.class_of(&part.material, part.thickness) == k
        {
            let told = (part.name.clone(), false, part.quantity);
            out.push(thing(
                prepared,
                supplies,
                told,
                &part.region,
                (part.turns, part.grain),
                by,
            ));
        }
    }
    out
}

fn thing(
    prepared: &Prepared<'_>,
    supplies: &[Supply<'_>],
    (name, is_layer, count): (String, bool, usize),
    region: &Region,
    (turns, grain): (Turns, Option<Axis>),
    growth: f64,
) -> Thing {
    let task = &prepared.task;
    let b = region.bounds();
    let size = [b.width(), b.depth()];
    let is_box = region.holes().is_empty() && (size[0] * size[1] - region.area_mm2()).abs() < 1e-6;
    let ways: Vec<[bool; 2]> = supplies
        .iter()
        .map(|s| match (grain, task.sheets[s.sheet].grain) {
            (Some(own), Some(along)) => [own == along, own != along],
            _ => box_turns(turns),
        })
        .collect();
    let free = |s: &Supply<'_>| {
        turns == Turns::Any && (grain.is_none() || task.sheets[s.sheet].grain.is_none())
    };
    let enters = supplies
        .iter()
        .zip(&ways)
        .map(|(s, ways)| {
            if free(s) {
                may_enter_turned(region, s.room)
            } else {
                fits(size, *ways, s.room) && (!is_box || in_clear_box(prepared, s, size, *ways))
            }
        })
        .collect();
    let turned = supplies.iter().any(free);
    Thing {
        name,
        is_layer,
        count,
        grown_mm2: grown_area(std::slice::from_ref(region), growth),
        rectangle: (is_box && !turned).then_some(size),
        ways,
        enters,
    }
}

fn fits(size: [f64; 2], ways: [bool; 2], room: [f64; 2]) -> bool {
    let [w, d] = size;
    let within = |w: f64, d: f64| w <= room[0] + ROUNDED && d <= room[1] + ROUNDED;
    (ways[0] && within(w, d)) || (ways[1] && within(d, w))
}

/// Whether a rectangle lies in some clear box of a sheet whose edges all run along the axes, where these boxes are exact; true for
/// other sheets.
fn in_clear_box(
    prepared: &Prepared<'_>,
    supply: &Supply<'_>,
    size: [f64; 2],
    ways: [bool; 2],
) -> bool {
    let sheet = &prepared.task.sheets[supply.sheet];
    let square = sheet.region.iter().flat_map(Region::edges).all(|e| {
        let b = e.bounds();
        e.curve == Curve::Line && (b.width() == 0.0 || b.depth() == 0.0)
    });
    // Round corners of the margin around defects leave more than boxes say.
    if !square
        || (sheet.region.iter().any(|r| r.edges().count() != 4)
            && prepared.task.cutter.edge_margin > 0.0)
    {
        return true;
    }
    let boxes = stock::windows(sheet, prepared.task.cutter.edge_margin).boxes;
    let extent = |b: &Bounds| [b.width(), b.depth()];
    boxes.len() >= ALL_BOXES || boxes.iter().any(|b| fits(size, ways, extent(b)))
}

/// Whether a shape that may lie at any angle may enter a box: its least width, and its greatest, must.
fn may_enter_turned(region: &Region, room: [f64; 2]) -> bool {
    let points = region
        .outer()
        .flatten(crate::geometry::tolerance::FLAT_PLAN);
    let mut widths = Vec::with_capacity(DIRECTIONS);
    for k in 0..DIRECTIONS {
        let turn = std::f64::consts::PI * k as f64 / DIRECTIONS as f64;
        let (sin, cos) = crate::geometry::angle::sin_cos(turn);
        let along = Point::new(cos, sin);
        let (low, high) =
            points
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
                    let v = p.dot(along);
                    (low.min(v), high.max(v))
                });
        widths.push(high - low);
    }
    // Between two directions a width changes by no more than the greatest extent times their angle.
    let greatest = widths.iter().copied().fold(0.0, f64::max);
    let least = widths.iter().copied().fold(f64::INFINITY, f64::min)
        - greatest * std::f64::consts::PI / DIRECTIONS as f64;
    let diagonal = (room[0] * room[0] + room[1] * room[1]).sqrt();
    least <= room[0].min(room[1]) + ROUNDED && greatest <= diagonal + ROUNDED
}
