//! How long seams are, and how much of them carries teeth.
//!
//! In: a layer, its seams. Out: the length of their curves, the length of their base lines, and the part of the base lines
//! that carries teeth, all of it where there is material only. In a run from edge to edge the teeth go from the first
//! foot to the last; a run without a tooth carries none, and one with a single tooth as much as that is wide. A straight edge on the
//! base line is flat, whatever else is a tooth.

use crate::geometry::edge::{Curve, Edge};
use crate::geometry::tolerance::COINCIDENT;
use crate::model::cutter::Axis;
use crate::model::layer::Layer;
use crate::model::seam::Seam;
use crate::seam::ground::{Ground, turned_edge};

/// Lengths of seams in material, in mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Lengths {
    /// Along the curves.
    pub(crate) curve: f64,
    /// Along the base lines.
    pub(crate) base: f64,
    /// Of the base lines, from the first tooth of each run to its last.
    pub(crate) teeth: f64,
}

impl Lengths {
    /// The lengths of the seams of one layer.
    pub(crate) fn of(layer: &Layer, seams: &[&Seam]) -> Self {
        let mut out = Self::default();
        for runs in [Axis::X, Axis::Y] {
            let own: Vec<&&Seam> = seams.iter().filter(|s| s.runs == runs).collect();
            if own.is_empty() {
                continue;
            }
            let ground = Ground::new(layer, runs);
            for seam in own {
                out.add(of_seam(&ground, seam));
            }
        }
        out
    }

    /// Adds other lengths.
    pub(crate) fn add(&mut self, other: Self) {
        self.curve += other.curve;
        self.base += other.base;
        self.teeth += other.teeth;
    }

    /// The share of the base lines that carries teeth; `None` where there is no base line.
    pub(crate) fn toothed(&self) -> Option<f64> {
        (self.base > 0.0).then(|| (self.teeth / self.base).min(1.0))
    }
}

fn of_seam(ground: &Ground, seam: &Seam) -> Lengths {
    let edges: Vec<Edge> = seam
        .path
        .edges()
        .iter()
        .map(|e| turned_edge(e, seam.runs))
        .collect();
    let base = edges[0].start.y;
    let is_flat = |e: &Edge| {
        e.curve == Curve::Line
            && (e.start.y - base).abs() <= COINCIDENT
            && (e.end.y - base).abs() <= COINCIDENT
    };
    let ends = [edges[0].start.x, edges[edges.len() - 1].end.x];
    let span = (ends[0].min(ends[1]), ends[0].max(ends[1]));
    let mut out = Lengths::default();
    for (from, to) in ground.material(base, span) {
        out.base += to - from;
        let (mut first, mut last) = (f64::INFINITY, f64::NEG_INFINITY);
        let (mut foot, mut curve) = (0.0, 0.0);
        let middle = |e: &Edge| (e.start.x + e.end.x) / 2.0;
        for e in edges.iter().filter(|e| !is_flat(e)) {
            if middle(e) > from && middle(e) < to {
                // A tooth may bulge beyond its feet, so only what lies on the base line bounds it.
                for p in [e.start, e.end] {
                    if (p.y - base).abs() <= COINCIDENT {
                        (first, last) = (first.min(p.x), last.max(p.x));
                    }
                }
                foot += e.end.x - e.start.x;
                curve += e.length();
            }
        }
        out.teeth += (last - first).max(0.0);
        // The curve takes the place of what lies under its feet.
        out.curve += to - from + curve - foot.abs();
    }
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::bounds::Bounds;
    use crate::geometry::path::Path;
    use crate::geometry::point::Point;
    use crate::geometry::region::Region;
    use crate::geometry::ring::Ring;
    use crate::model::seam::Pattern;
    use crate::model::source::SourceKind;
    use crate::seam::samples::layer_of;

    #[test]
    fn teeth_are_counted_from_first_to_last_in_each_run_of_material() {
        let rect = |x0, y0, x1, y1, kind: SourceKind| {
            let bounds = Bounds::new(Point::new(x0, y0), Point::new(x1, y1));
            Ring::rounded_box(bounds, 0.0, kind.id(0))
        };
        let hole = rect(100.0, 30.0, 160.0, 70.0, SourceKind::Pocket);
        let plate = Region::new(
            rect(0.0, 0.0, 300.0, 100.0, SourceKind::Outline),
            vec![hole],
        );
        // Along y = 50: two fingers of 10 × 10 at 30 and 60 in the first run, none in the second, 160 to 300.
        let corners = [
            (0.0, 50.0),
            (30.0, 50.0),
            (30.0, 60.0),
            (40.0, 60.0),
            (40.0, 50.0),
            (60.0, 50.0),
            (60.0, 60.0),
            (70.0, 60.0),
            (70.0, 50.0),
            (300.0, 50.0),
        ];
        let points: Vec<Point> = corners.iter().map(|c| Point::new(c.0, c.1)).collect();
        let edges = points
            .windows(2)
            .map(|w| Edge::line(w[0], w[1], SourceKind::Seam.id(0)))
            .collect();
        let seam = Seam {
            layer: 0,
            copy: 1,
            pattern: Pattern::Knob,
            runs: Axis::X,
            path: Path::new(edges).unwrap(),
        };
        let found = Lengths::of(&layer_of(vec![plate]), &[&seam]);
        // By hand: 100 + 140 of material; teeth from 30 to 70; each finger adds its two flanks of 10.
        assert!((found.base - 240.0).abs() < 1e-9, "{found:?}");
        assert!((found.teeth - 40.0).abs() < 1e-9, "{found:?}");
        assert!((found.curve - 280.0).abs() < 1e-9, "{found:?}");
    }
}
