//! `pockets.csv`: every pocket, for whoever places artwork. Numbers only, no text of the user's.

use std::fmt::Write as _;

use crate::format::number;
use crate::model::fixture::Pocket;

/// The columns, in order.
pub(crate) const COLUMNS: &str =
    "column,row,corner_x,corner_y,center_x,center_y,angle,bed_center_x,bed_center_y";

/// The text of `pockets.csv`: corner and middle of the blank inward from the datum, its turn, its middle in the bed frame.
pub(crate) fn pockets_csv(pockets: &[Pocket]) -> String {
    let mut out = format!("{COLUMNS}\n");
    for p in pockets {
        let figures = [
            p.corner.x,
            p.corner.y,
            p.center.x,
            p.center.y,
            p.angle_deg,
            p.bed_center.x,
            p.bed_center.y,
        ];
        let figures: Vec<String> = figures.iter().map(|v| number::length(*v)).collect();
        let _ = writeln!(out, "{},{},{}", p.column, p.row, figures.join(","));
    }
    out
}
