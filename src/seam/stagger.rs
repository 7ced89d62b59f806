//! How far the seams of different layers lie apart.

use crate::format::number;
use crate::geometry::distance::path_path;
use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::seam::Seam;

/// Share of `min_lap` within which seams of two layers count as in line.
const IN_LINE: f64 = 0.25;
/// The least lap in use, in thicknesses of the thickest layer. However little `min_lap` is, it counts as so much: how near seams must lie
/// for a stack to hinge there does not depend on what was asked. Common practice, no source.
pub const LEAST_THICKNESSES: f64 = 10.0;

/// The distance in mm within which seams of two layers lie in line; `min_lap` in mm.
pub fn in_line_within(layers: &[Layer], min_lap: f64) -> f64 {
    let thickest = layers.iter().map(|l| l.thickness).fold(0.0, f64::max);
    IN_LINE * min_lap.max(LEAST_THICKNESSES * thickest)
}

/// The least distance between seams of two layers that run the same way, teeth included; infinite where none do.
pub fn lap(lower: &[Seam], upper: &[Seam]) -> f64 {
    nearest(lower, upper).map_or(f64::INFINITY, |n| n.0)
}

fn nearest<'a>(lower: &'a [Seam], upper: &'a [Seam]) -> Option<(f64, &'a Seam, &'a Seam)> {
    let mut best: Option<(f64, &Seam, &Seam)> = None;
    for a in lower {
        for b in upper.iter().filter(|b| b.runs == a.runs) {
            let distance = path_path(&a.path, &b.path);
            if best.is_none_or(|n| distance < n.0) {
                best = Some((distance, a, b));
            }
        }
    }
    best
}

/// Tells where seams of two layers lie in line, nearer than `limit` in mm; `between` says whether there is a layer between them, which
/// alone then carries across what they carry on both sides of it. Where there is none neither of the two carries the other, and a stack
/// of no more layers hinges.
pub fn in_line(
    lower: &[Seam],
    upper: &[Seam],
    names: [&str; 2],
    copy: usize,
    limit: f64,
    between: bool,
) -> Vec<Finding> {
    let Some((distance, seam, _)) = nearest(lower, upper).filter(|n| n.0 < limit) else {
        return Vec::new();
    };
    let of_copy = if copy > 1 {
        format!(" of copy {copy}")
    } else {
        String::new()
    };
    let (then, hint) = if between {
        (
            "there only the layer between them holds the stack together",
            "add a sheet to the stock that lets one of them lie elsewhere, or give one layer another split".to_owned(),
        )
    } else {
        (
            "there neither of them carries the other, and a stack of these two alone hinges",
            format!(
                "a `min_lap` of {} or more",
                number::short((limit / IN_LINE).ceil())
            ),
        )
    };
    let what = format!(
        "seams of layers `{}` and `{}`{of_copy} that run along {} lie in line, {distance:.2} mm apart: {then}",
        names[0],
        names[1],
        seam.runs.word()
    );
    vec![
        Finding::new(
            "S101",
            what,
            format!("layers {} and {}", names[0], names[1]),
            hint,
        )
        .figures(distance, limit),
    ]
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::edge::{Edge, SourceId};
    use crate::geometry::path::Path;
    use crate::geometry::point::Point;
    use crate::model::cutter::Axis;
    use crate::model::seam::Pattern;

    fn seam(runs: Axis, from: (f64, f64), to: (f64, f64)) -> Seam {
        let edge = Edge::line(
            Point::new(from.0, from.1),
            Point::new(to.0, to.1),
            SourceId(0),
        );
        Seam {
            layer: 0,
            copy: 1,
            pattern: Pattern::Straight,
            runs,
            path: Path::new(vec![edge]).unwrap(),
        }
    }

    #[test]
    fn only_seams_that_run_the_same_way_are_measured() {
        let lower = [
            seam(Axis::Y, (100.0, 0.0), (100.0, 300.0)),
            seam(Axis::X, (0.0, 150.0), (100.0, 150.0)),
        ];
        let upper = [seam(Axis::Y, (145.0, 0.0), (145.0, 300.0))];
        assert_eq!(lap(&lower, &upper), 45.0, "by hand: x = 100 and x = 145");
        assert_eq!(lap(&lower[1..], &upper), f64::INFINITY);
    }

    #[test]
    fn seams_in_line_are_told_with_both_names() {
        let lower = [seam(Axis::Y, (100.0, 0.0), (100.0, 300.0))];
        let upper = [seam(Axis::Y, (103.0, 0.0), (103.0, 300.0))];
        let told = in_line(&lower, &upper, ["base", "frame"], 1, 10.0, true);
        assert_eq!(told.len(), 1);
        assert!(
            told[0].what.contains("base") && told[0].what.contains("frame"),
            "{}",
            told[0].what
        );
        assert!(
            in_line(&lower, &upper, ["base", "frame"], 1, 2.0, true).is_empty(),
            "they are 3 mm apart"
        );
        let told = in_line(&lower, &upper, ["base", "frame"], 1, 10.0, false);
        assert!(
            told[0].what.contains("hinges") && told[0].hint.contains("40"),
            "a quarter of 40 is 10: {} {}",
            told[0].what,
            told[0].hint
        );
    }
}
