//! Boxes in place of pieces: what a split would give, fast enough to try thousands.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::model::cutter::Axis;
use crate::model::seam::LayerSplit;
use crate::planner::task::LayerShape;

/// The boxes of the pieces of a split, teeth counted with their full reach, seam faces drawn in by half the gap. A cell
/// that holds no material gives none. Cells that are joined give one box. With each comes the number of the group of cells
/// that it stands for.
pub(crate) fn cell_boxes(layer: &LayerShape, split: &LayerSplit, gap: f64) -> Vec<(Bounds, usize)> {
    let (low, high) = layer.across(split.runs);
    let other = split.runs.other();
    let (first, last) = layer.across(other);
    let groups = split.groups();
    let mut out = Vec::with_capacity(groups.len());
    for (number, group) in groups.iter().enumerate() {
        let mut around = Bounds::EMPTY;
        for &(i, j) in group {
            let across = &split.across[i];
            let a = if i == 0 { low } else { split.at[i - 1] };
            let b = split.at.get(i).copied().unwrap_or(high);
            let (c, d) = split.span_of((i, j), (first, last));
            let cell = match split.runs {
                Axis::Y => Bounds::new(Point::new(a, c), Point::new(b, d)),
                Axis::X => Bounds::new(Point::new(c, a), Point::new(d, b)),
            };
            let Some(held) = material_in(layer, cell) else {
                continue;
            };
            // On which sides of the cell the seams run, in the order low, high along the strips and across them.
            let seams = [i > 0, i + 1 < split.across.len(), j > 0, j < across.len()];
            around = around.join(with_teeth(held, cell, seams, split.runs, layer.reach, gap));
        }
        if !around.is_empty() {
            out.push((around, number));
        }
    }
    out
}

fn with_teeth(
    held: Bounds,
    cell: Bounds,
    seams: [bool; 4],
    runs: Axis,
    reach: (f64, f64),
    gap: f64,
) -> Bounds {
    let grown = |low: f64, high: f64, from: f64, to: f64, before: bool, after: bool| {
        // Teeth of the seam before reach back into the neighbour, teeth of the seam behind reach out.
        let low = if before && low <= from + 1e-9 {
            from - reach.0 + gap / 2.0
        } else {
            low
        };
        let high = if after && high >= to - 1e-9 {
            to + reach.1 - gap / 2.0
        } else {
            high
        };
        (low, high)
    };
    let [b, a, d, c] = match runs {
        Axis::Y => seams,
        Axis::X => [seams[2], seams[3], seams[0], seams[1]],
    };
    let (x0, x1) = grown(held.min.x, held.max.x, cell.min.x, cell.max.x, b, a);
    let (y0, y1) = grown(held.min.y, held.max.y, cell.min.y, cell.max.y, d, c);
    Bounds::new(Point::new(x0, y0), Point::new(x1, y1))
}

/// The box of the material that a cell holds; `None` where it holds none.
fn material_in(layer: &LayerShape, cell: Bounds) -> Option<Bounds> {
    if layer.fills_box {
        return Some(cell);
    }
    let mut held = Bounds::EMPTY;
    for outline in &layer.outlines {
        let mut points = outline.clone();
        for (axis, limit, keep_above) in [
            (Axis::X, cell.min.x, true),
            (Axis::X, cell.max.x, false),
            (Axis::Y, cell.min.y, true),
            (Axis::Y, cell.max.y, false),
        ] {
            points = half_plane(&points, axis, limit, keep_above);
        }
        held = points.into_iter().fold(held, Bounds::with);
    }
    (!held.is_empty() && held.width() > 1e-6 && held.depth() > 1e-6).then_some(held)
}

/// The part of a polygon on one side of a line along an axis (Sutherland and Hodgman 1974).
fn half_plane(points: &[Point], axis: Axis, limit: f64, keep_above: bool) -> Vec<Point> {
    let value = |p: Point| {
        let v = if axis == Axis::X { p.x } else { p.y } - limit;
        if keep_above { v } else { -v }
    };
    let mut out = Vec::with_capacity(points.len() + 4);
    for (k, &p) in points.iter().enumerate() {
        let q = points[(k + 1) % points.len()];
        let (a, b) = (value(p), value(q));
        if a >= 0.0 {
            out.push(p);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            out.push(p.toward(q, a / (a - b)));
        }
    }
    out
}
