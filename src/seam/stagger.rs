//! How far the seams of different layers lie apart.

use crate::geometry::distance::path_path;
use crate::model::finding::Finding;
use crate::model::seam::Seam;

/// Share of `min_lap` within which seams of layers k and k + 2 count as in line.
pub(crate) const IN_LINE: f64 = 0.25;

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

/// Tells where seams of layers k and k + 2 lie in line: nearer than a quarter of `min_lap`. Only the layer between them
/// then carries the stack across.
pub fn in_line(
    lower: &[Seam],
    upper: &[Seam],
    names: [&str; 2],
    copy: usize,
    min_lap: f64,
) -> Vec<Finding> {
    let limit = IN_LINE * min_lap;
    let Some((distance, seam, _)) = nearest(lower, upper).filter(|n| n.0 < limit) else {
        return Vec::new();
    };
    let of_copy = if copy > 1 {
        format!(" of copy {copy}")
    } else {
        String::new()
    };
    let what = format!(
        "seams of layers `{}` and `{}`{of_copy} that run along {} lie in line, {distance:.2} mm apart: there only the layer between them holds the stack together",
        names[0],
        names[1],
        seam.runs.word()
    );
    let hint = "add a sheet to the stock that lets one of them lie elsewhere, or give one layer another split";
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
        let told = in_line(&lower, &upper, ["base", "frame"], 1, 40.0);
        assert_eq!(told.len(), 1);
        assert!(
            told[0].what.contains("base") && told[0].what.contains("frame"),
            "{}",
            told[0].what
        );
        assert!(
            in_line(&lower, &upper, ["base", "frame"], 1, 8.0).is_empty(),
            "3 mm is more than a quarter of 8"
        );
    }
}
