//! From pieces that lie on a sheet to what the machine follows.
//!
//! In: the finished pieces of one sheet with their poses, the sheet, the machine. Out: every entity of the sheet's cut
//! file in the order of work, its length and an estimate of its time; findings where something cannot be cut.
//!
//! Steps:
//! 1. `kerf`: the middle of the cut around each piece and in its holes, in the piece's own frame, then laid on the sheet.
//! 2. `mark`: id and arrow, in the letters of `font`.
//! 3. `sequence`: all marks first, while the sheet is whole; then what lies inside a contour before the contour, at
//!    every depth, with short ways between (`order`), and each contour beginning where the last one ended, away from
//!    seam faces.
//! 4. `time`: the estimate.
//!
//! Guarantees: contours on the cut layers are closed; outlines run counter-clockwise, holes clockwise, on all pieces
//! alike, so that mating faces get the same taper; the same input gives the same entities.

use crate::cut::error::CutError;
use crate::cut::options::Marks;
use crate::geometry::{bounds::Bounds, point::Point, region::Region, transform::Pose};
use crate::model::cut_path::{CutPath, Operation, SheetCut, Stroke};
use crate::model::cutter::Cutter;
use crate::model::finding::Finding;

pub mod added;
pub mod error;
mod font;
mod kerf;
mod mark;
pub mod options;
mod order;
mod sequence;
mod time;

/// A piece as it lies on the sheet.
#[derive(Clone, Copy, Debug)]
pub struct PieceToCut<'a> {
    /// Its place in `Plan::pieces`.
    pub piece: usize,
    /// Its id, for the mark and for messages.
    pub id: &'a str,
    /// The finished shape, in the piece's frame.
    pub finished: &'a Region,
    /// How it lies.
    pub pose: Pose,
    /// Width of its cut.
    pub cut_width: f64,
    /// The datum corner in the piece's frame; `None` for parts, which have none.
    pub datum: Option<Point>,
}

/// All that is done to one sheet: `sheet` is the sheet less its defects, `name` its id in findings.
///
/// # Errors
/// One [`CutError`] for each piece whose contours could not be drawn.
pub fn cut_sheet(
    name: &str,
    sheet: &[Region],
    pieces: &[PieceToCut],
    cutter: &Cutter,
    marks: &Marks,
) -> Result<(SheetCut, Vec<Finding>), Vec<CutError>> {
    let mut findings = Vec::new();
    let mut contours = Vec::new();
    let mut errors = Vec::new();
    for p in pieces {
        match kerf::contours(p.finished, p.cut_width, cutter.compensate) {
            Ok(c) => contours.push(c),
            Err(source) => errors.push(CutError::Contour {
                piece: p.id.to_owned(),
                cut_width: p.cut_width,
                source,
            }),
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    for (p, c) in pieces.iter().zip(&contours) {
        findings.extend(narrow(p, c));
    }
    let mut lines = Vec::new();
    if marks.labels {
        let mut bare = Vec::new();
        for p in pieces {
            let mark = mark::Mark {
                text: p.id,
                toward: p.datum,
                height: marks.text_height,
            };
            let drawn = mark::lines(p.finished, p.pose, &mark);
            if drawn.is_empty() {
                bare.push(p.id);
            }
            lines.push(drawn);
        }
        if !bare.is_empty() {
            let what = format!(
                "no room for a mark on {}: write on the masking film, or sort by the report's picture",
                bare.join(", ")
            );
            findings.push(Finding::new(
                "C103",
                what,
                format!("sheet {name}"),
                "`labels = false` under [marks] leaves all marks out",
            ));
        }
    }
    let home = sheet
        .iter()
        .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()))
        .min;
    let mut paths = sequence::sequence(pieces, &contours, lines, home);
    let cut_time_s = time::sheet_s(&paths, home, &cutter.pace);
    let outline = sheet.iter().flat_map(Region::rings);
    paths.extend(outline.map(|ring| CutPath {
        operation: Operation::Sheet,
        stroke: Stroke::Closed(ring.clone()),
        piece: None,
    }));
    let cut_length = paths.iter().map(length_if_cut).sum();
    Ok((
        SheetCut {
            paths,
            cut_length,
            cut_time_s,
        },
        findings,
    ))
}

fn length_if_cut(path: &CutPath) -> f64 {
    match (path.operation, &path.stroke) {
        (Operation::CutInner | Operation::CutOuter, Stroke::Closed(ring)) => ring.length(),
        (Operation::CutInner | Operation::CutOuter, Stroke::Open(open)) => open.length(),
        (Operation::Engrave | Operation::Sheet, _) => 0.0,
    }
}

/// What the cut is too wide for in a piece.
fn narrow(p: &PieceToCut, contours: &kerf::Contours) -> Vec<Finding> {
    let mut findings = Vec::new();
    let hint = "widen it, or cut the sheet with a narrower kerf or tool";
    for &hole in &contours.lost {
        let at = p.finished.holes()[hole].bounds().center();
        let what = format!(
            "piece {}: the hole at ({:.2}, {:.2}) is narrower than the cut of {} mm, so it is left out where the cut does not fit",
            p.id, at.x, at.y, p.cut_width
        );
        findings.push(
            Finding::new("C101", what, format!("piece {}", p.id), hint)
                .figures(narrowest(p.finished, hole), p.cut_width),
        );
    }
    if contours.closed_mouth {
        let what = format!(
            "piece {}: the outline has a bay whose mouth is narrower than the cut of {} mm, so the mouth stays closed",
            p.id, p.cut_width
        );
        findings.push(Finding::new("C102", what, format!("piece {}", p.id), hint));
    }
    findings
}

/// The lesser extent of a hole's box: no hole is narrower than that somewhere, and round and straight ones not wider.
fn narrowest(finished: &Region, hole: usize) -> f64 {
    let b = finished.holes()[hole].bounds();
    b.width().min(b.depth())
}
