//! Clear boxes of a sheet.
//!
//! In: a sheet and the margin from its edges and defects. Out: its maximal clear boxes, largest first; and which of them
//! are so far apart that both can be used.
//! Exact for outlines and defects along the axes, smaller than possible by up to 1 mm along slanted edges and by some more
//! along arcs, never larger. A sheet with slanted edges is drawn in by the margin first: there the distance is kept on the
//! round.

use crate::geometry::edge::{Curve, Edge};
use crate::geometry::{bounds::Bounds, clear_box::ClearSpace, distance::box_box, offset};
use crate::model::sheet::Sheet;
use crate::model::window::WindowSet;

/// The most boxes that are kept of a sheet; a sheet with so many has been cut to lace, and the rest is small.
const MOST: usize = 160;

/// Extent both ways beyond which an edge counts as slanted, in mm.
const SLANTED: f64 = 2.0;

/// The clear boxes of a sheet less `edge_margin`, largest first. A sheet sold by length ends where the cutter's reach
/// does.
pub fn windows(sheet: &Sheet, edge_margin: f64) -> WindowSet {
    let along_axes = || ClearSpace::new(&sheet.region, edge_margin, &[], 0.0);
    let space = if sheet.region.iter().flat_map(|r| r.edges()).any(is_slanted) {
        offset::offset(&sheet.region, -edge_margin)
            .map_or_else(|_| along_axes(), |inner| ClearSpace::fine(&inner))
    } else {
        along_axes()
    };
    let reach = if sheet.by_length {
        sheet.outline.bounds().min.x + sheet.usable_length - edge_margin
    } else {
        f64::INFINITY
    };
    let mut boxes: Vec<Bounds> = Vec::new();
    space.each_maximal(|mut b| {
        b.max.x = b.max.x.min(reach);
        if b.min.x < b.max.x && !boxes.contains(&b) {
            boxes.push(b);
        }
    });
    boxes.sort_by(|a, b| {
        let area = |b: &Bounds| b.width() * b.depth();
        area(b)
            .total_cmp(&area(a))
            .then(a.min.x.total_cmp(&b.min.x))
            .then(a.min.y.total_cmp(&b.min.y))
    });
    boxes.truncate(MOST);
    WindowSet { boxes }
}

/// Whether a straight edge runs along no axis, over more than what a corner's rounding takes.
fn is_slanted(edge: &Edge) -> bool {
    let b = edge.bounds();
    edge.curve == Curve::Line && b.width().min(b.depth()) > SLANTED
}

/// Pairs of boxes (the smaller place first) so far apart that pieces in both keep `spacing` wherever they lie.
pub fn apart(boxes: &[Bounds], spacing: f64) -> Vec<(usize, usize)> {
    let pairs = (0..boxes.len()).flat_map(|i| (i + 1..boxes.len()).map(move |j| (i, j)));
    // Boxes that share an inner point have no gap even where no spacing is asked.
    let overlap = |a: &Bounds, b: &Bounds| {
        a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
    };
    pairs
        .filter(|&(i, j)| !overlap(&boxes[i], &boxes[j]) && box_box(boxes[i], boxes[j]) >= spacing)
        .collect()
}

#[cfg(test)]
pub(in crate::stock) mod tests {
    use super::*;
    use crate::geometry::{point::Point, region::Region, ring::Ring};
    use crate::model::source::SourceKind;

    pub(in crate::stock) fn boxed(x0: f64, y0: f64, x1: f64, y1: f64) -> Bounds {
        Bounds::new(Point::new(x0, y0), Point::new(x1, y1))
    }

    pub(in crate::stock) fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        Region::solid(Ring::rounded_box(
            boxed(x0, y0, x1, y1),
            0.0,
            SourceKind::Sheet.id(0),
        ))
    }

    /// A sheet of 600 × 400.
    pub(in crate::stock) fn sheet(id: &str, material: &str, thickness: f64) -> Sheet {
        let outline = rect(0.0, 0.0, 600.0, 400.0);
        Sheet {
            id: id.to_owned(),
            material: material.to_owned(),
            thickness,
            measured: None,
            region: vec![outline.clone()],
            outline,
            quantity: 1,
            cost: 10.0,
            has_cost: true,
            by_length: false,
            grain: None,
            finish: None,
            taken: true,
            usable_length: 600.0,
        }
    }

    #[test]
    fn a_sheet_cut_apart_by_a_defect_has_two_windows_apart() {
        let mut cut = sheet("a", "acrylic", 3.0);
        cut.region = vec![rect(0.0, 0.0, 250.0, 400.0), rect(260.0, 0.0, 600.0, 400.0)];
        let set = windows(&cut, 5.0);
        assert_eq!(
            set.boxes,
            [
                boxed(265.0, 5.0, 595.0, 395.0),
                boxed(5.0, 5.0, 245.0, 395.0)
            ],
            "by hand, the larger first"
        );
        assert_eq!(apart(&set.boxes, 2.0), [(0, 1)]);
    }

    #[test]
    fn a_roll_ends_where_the_cutter_does() {
        let mut roll = sheet("r", "felt", 2.0);
        (roll.by_length, roll.usable_length) = (true, 450.0);
        assert_eq!(
            windows(&roll, 5.0).boxes,
            [boxed(5.0, 5.0, 445.0, 395.0)],
            "by hand: the margin counts from where it is cut off"
        );
    }

    #[test]
    fn boxes_are_apart_by_their_corners_too() {
        let boxes = [
            boxed(0.0, 0.0, 10.0, 10.0),
            boxed(13.0, 14.0, 20.0, 20.0),
            boxed(5.0, 5.0, 12.0, 12.0),
        ];
        // Hand: corners 3 and 4 apart, so 5; the third box overlaps the first and is √(1 + 4) from the second.
        assert_eq!(apart(&boxes, 5.0), [(0, 1)]);
        assert_eq!(apart(&boxes, 2.0), [(0, 1), (1, 2)]);
        assert_eq!(apart(&boxes, 0.0), [(0, 1), (1, 2)]);
    }
}
