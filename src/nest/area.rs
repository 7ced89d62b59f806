//! Areas that bound what fits: pieces grown by half the spacing overlap no other grown piece, and lie in their sheet drawn in by
//! the edge margin less half the spacing.

use crate::geometry::offset;
use crate::geometry::region::Region;

/// Area of regions grown by `by`; where that cannot be had their own area, which is less.
pub fn grown_area(regions: &[Region], by: f64) -> f64 {
    let own = || regions.iter().map(Region::area_mm2).sum();
    if by <= 0.0 {
        return own();
    }
    offset::offset(regions, by)
        .map_or_else(|_| own(), |grown| grown.iter().map(Region::area_mm2).sum())
}

/// Area of a sheet drawn in by the edge margin less half the spacing (grown where that is negative), a billionth more for
/// rounding. Where that cannot be had it is the whole sheet's, or infinite where it would have to grow: more than is true,
/// so that bounds stay bounds.
pub fn room_area(sheet: &[Region], edge_margin: f64, spacing: f64) -> f64 {
    let inward = edge_margin - spacing / 2.0;
    let whole: f64 = sheet.iter().map(Region::area_mm2).sum();
    let room = if inward == 0.0 {
        whole
    } else {
        offset::offset(sheet, -inward)
            .map_or(if inward >= 0.0 { whole } else { f64::INFINITY }, |r| {
                r.iter().map(Region::area_mm2).sum()
            })
    };
    room * (1.0 + 1e-9)
}
