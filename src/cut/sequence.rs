//! The order of work on a sheet.
//!
//! In: the contours of all pieces (each in its piece's frame), the marks. Out: entities in order.
//!
//! Steps: lay the contours on the sheet; find which pieces lie in a hole of another (a tree); go through the pieces by
//! short ways, and within a piece through its holes likewise, cutting first what lies in a hole, then the hole, last the
//! outline. Every polyline begins at the corner nearest to where the last contour ended, among those that touch no seam
//! face, so that the mark of the start stays off the teeth. A circle begins at its right, as machines read one.

use crate::cut::PieceToCut;
use crate::cut::kerf::Contours;
use crate::cut::order::tour;
use crate::geometry::{
    edge::Edge,
    path::Path,
    point::Point,
    predicate::{Location, point_in_ring},
    ring::Ring,
};
use crate::model::cut_path::{CutPath, Operation, Stroke};
use crate::model::source::is_seam;

/// Orders marks and contours; `home` is where the machine begins.
pub(crate) fn sequence(
    pieces: &[PieceToCut],
    contours: &[Contours],
    marks: Vec<Vec<Path>>,
    home: Point,
) -> Vec<CutPath> {
    let work: Vec<Work> = pieces
        .iter()
        .zip(contours)
        .map(|(p, c)| Work::on_sheet(p, c))
        .collect();
    let mut paths = engrave(pieces, marks, home);
    let mut way = Way {
        work: &work,
        children: children(&work),
        at: home,
        paths: Vec::new(),
    };
    let roots = (0..work.len())
        .filter(|&i| way.children.parent[i].is_none())
        .collect();
    way.cut_all(roots);
    paths.append(&mut way.paths);
    paths
}

/// One piece on the sheet.
struct Work {
    piece: usize,
    outer: Vec<Ring>,
    inner: Vec<Ring>,
}

impl Work {
    fn on_sheet(p: &PieceToCut, c: &Contours) -> Self {
        let laid = |rings: &[Ring]| {
            rings
                .iter()
                .map(|r| circle_from_its_right(r.posed(p.pose)))
                .collect()
        };
        Self {
            piece: p.piece,
            outer: laid(&c.outer),
            inner: laid(&c.inner),
        }
    }
}

/// A turned circle, beginning at its right again; other rings as they are.
fn circle_from_its_right(ring: Ring) -> Ring {
    let Some((center, radius)) = ring.as_circle() else {
        return ring;
    };
    Ring::circle(center, radius, ring.edges()[0].source).oriented(ring.area_mm2() > 0.0)
}

/// Which pieces lie in which contour of which other piece.
struct Children {
    parent: Vec<Option<usize>>,
    /// For each piece and each of its inner contours, the pieces right inside.
    inside: Vec<Vec<Vec<usize>>>,
}

/// Finds for each piece the smallest hole that it lies in.
fn children(work: &[Work]) -> Children {
    let mut parent = vec![None; work.len()];
    let mut inside: Vec<Vec<Vec<usize>>> = work
        .iter()
        .map(|w| vec![Vec::new(); w.inner.len()])
        .collect();
    for (i, own) in work.iter().enumerate() {
        let Some(point) = own.outer.first().map(|r| r.edges()[0].start) else {
            continue;
        };
        let mut best: Option<(f64, usize, usize)> = None;
        for (j, other) in work.iter().enumerate().filter(|(j, _)| *j != i) {
            for (k, hole) in other.inner.iter().enumerate() {
                let b = hole.bounds();
                if b.holds(point) && point_in_ring(point, hole) != Location::Outside {
                    let area = hole.area_mm2().abs();
                    if best.is_none_or(|(least, ..)| area < least) {
                        best = Some((area, j, k));
                    }
                }
            }
        }
        if let Some((_, j, k)) = best {
            parent[i] = Some(j);
            inside[j][k].push(i);
        }
    }
    Children { parent, inside }
}

/// Where the machine is while the order is made.
struct Way<'a> {
    work: &'a [Work],
    children: Children,
    at: Point,
    paths: Vec<CutPath>,
}

impl Way<'_> {
    /// Cuts pieces of one level, each with all that lies in it.
    fn cut_all(&mut self, members: Vec<usize>) {
        let middles: Vec<Point> = members
            .iter()
            .map(|&i| middle(&self.work[i].outer))
            .collect();
        for k in tour(&middles, Some(self.at)) {
            self.cut_one(members[k]);
        }
    }

    fn cut_one(&mut self, i: usize) {
        let own = &self.work[i];
        let middles: Vec<Point> = own.inner.iter().map(|r| r.bounds().center()).collect();
        for k in tour(&middles, Some(self.at)) {
            let inside = std::mem::take(&mut self.children.inside[i][k]);
            self.cut_all(inside);
            self.cut(&own.inner[k], Operation::CutInner, own.piece);
        }
        for ring in &own.outer {
            self.cut(ring, Operation::CutOuter, own.piece);
        }
    }

    fn cut(&mut self, ring: &Ring, operation: Operation, piece: usize) {
        let ring = begun_near(ring, self.at);
        self.at = ring.edges()[0].start;
        self.paths.push(CutPath {
            operation,
            stroke: Stroke::Closed(ring),
            piece: Some(piece),
        });
    }
}

fn middle(rings: &[Ring]) -> Point {
    rings
        .first()
        .map_or(Point::default(), |r| r.bounds().center())
}

/// The ring, beginning at the corner nearest to a point among those that lie best: on no seam face, else at the end of
/// one, else where two seams meet, and only then inside a seam face.
fn begun_near(ring: &Ring, near: Point) -> Ring {
    if ring.as_circle().is_some() {
        return ring.clone();
    }
    let edges = ring.edges();
    let n = edges.len();
    let faces = |i: usize| {
        let (before, after) = (edges[(i + n - 1) % n].source, edges[i].source);
        match (is_seam(before), is_seam(after)) {
            (false, false) => 0,
            (true, true) => 2 + usize::from(before == after),
            _ => 1,
        }
    };
    let fewest = (0..n).map(faces).min().unwrap_or(0);
    let distance = |i: usize| (edges[i].start - near).length_squared();
    let best = (0..n)
        .filter(|&i| faces(i) == fewest)
        .min_by(|&a, &b| distance(a).total_cmp(&distance(b)));
    let first = best.unwrap_or(0);
    let turned: Vec<Edge> = edges[first..]
        .iter()
        .chain(&edges[..first])
        .copied()
        .collect();
    Ring::new(turned).unwrap_or_else(|| ring.clone())
}

/// The marks, piece by piece on a short way.
fn engrave(pieces: &[PieceToCut], marks: Vec<Vec<Path>>, home: Point) -> Vec<CutPath> {
    let marked: Vec<(usize, Vec<Path>)> = pieces
        .iter()
        .zip(marks)
        .filter(|(_, m)| !m.is_empty())
        .map(|(p, m)| (p.piece, m))
        .collect();
    let middles: Vec<Point> = marked.iter().map(|(_, m)| m[0].start()).collect();
    let mut paths = Vec::new();
    for k in tour(&middles, Some(home)) {
        let (piece, lines) = &marked[k];
        paths.extend(lines.iter().map(|line| CutPath {
            operation: Operation::Engrave,
            stroke: Stroke::Open(line.clone()),
            piece: Some(*piece),
        }));
    }
    paths
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;
    use crate::geometry::{bounds::Bounds, edge::SourceId, region::Region, transform::Pose};
    use crate::model::source::SourceKind;

    fn boxed(x0: f64, y0: f64, x1: f64, y1: f64) -> Ring {
        Ring::rounded_box(
            Bounds::new(Point::new(x0, y0), Point::new(x1, y1)),
            0.0,
            SourceId(0),
        )
    }

    /// Sequence of pieces given by their rings, the outline first, as (piece, whether outer).
    fn order(rings: &[Vec<Ring>]) -> Vec<(usize, bool)> {
        let regions: Vec<Region> = rings
            .iter()
            .map(|r| Region::new(r[0].clone(), r[1..].to_vec()))
            .collect();
        let piece = |(i, finished)| PieceToCut {
            piece: i,
            id: "p",
            finished,
            pose: Pose::IDENTITY,
            cut_width: 0.0,
            datum: None,
        };
        let pieces: Vec<PieceToCut> = regions.iter().enumerate().map(piece).collect();
        let whole = |r: &Region| Contours {
            outer: vec![r.outer().clone()],
            inner: r.holes().to_vec(),
            ..Contours::default()
        };
        let contours: Vec<Contours> = regions.iter().map(whole).collect();
        let paths = sequence(
            &pieces,
            &contours,
            vec![Vec::new(); pieces.len()],
            Point::new(0.0, 0.0),
        );
        paths
            .iter()
            .map(|p| (p.piece.unwrap(), p.operation == Operation::CutOuter))
            .collect()
    }

    #[test]
    fn what_lies_inside_is_cut_first_at_every_depth() {
        // A frame, in its hole a smaller frame, in that one's hole a disc; beside them a plain piece nearer to home.
        let frame = vec![
            boxed(100.0, 0.0, 300.0, 200.0),
            boxed(110.0, 10.0, 290.0, 190.0),
        ];
        let inner = vec![
            boxed(120.0, 20.0, 280.0, 180.0),
            boxed(150.0, 50.0, 250.0, 150.0),
        ];
        let disc = vec![Ring::circle(Point::new(200.0, 100.0), 20.0, SourceId(0))];
        let plain = vec![boxed(0.0, 0.0, 50.0, 50.0)];
        let want = [
            (3, true),
            (2, true),
            (1, false),
            (1, true),
            (0, false),
            (0, true),
        ];
        assert_eq!(order(&[frame, inner, disc, plain]), want, "by hand");
    }

    #[test]
    fn a_contour_begins_off_the_seam_faces_where_it_can() {
        let mut edges = boxed(0.0, 0.0, 100.0, 80.0).edges().to_vec();
        // From (100, 0): the right side, the back, the left, the front. Right and back are seams.
        edges[0].source = SourceKind::Seam.id(0);
        edges[1].source = SourceKind::Seam.id(1);
        let ring = Ring::new(edges.clone()).unwrap();
        assert_eq!(
            begun_near(&ring, Point::new(100.0, 80.0)).edges()[0].start,
            Point::new(0.0, 0.0),
            "the only corner without a seam"
        );
        for edge in &mut edges[2..] {
            edge.source = SourceKind::Seam.id(2);
        }
        let ring = Ring::new(edges).unwrap();
        let begun = begun_near(&ring, Point::new(-5.0, -5.0));
        assert_ne!(
            begun.edges()[0].start,
            Point::new(0.0, 0.0),
            "the nearest corner lies inside seam 2"
        );
        assert_eq!(
            begun.edges()[0].start,
            Point::new(0.0, 80.0),
            "by hand: of the corners between two seams, the nearest"
        );
        assert_eq!(begun.area_mm2(), ring.area_mm2());
    }

    #[test]
    fn a_turned_circle_still_begins_at_its_right() {
        let circle = Ring::circle(Point::new(10.0, 0.0), 3.0, SourceId(0)).reversed();
        let pose = Pose {
            mirrored: false,
            rotation: crate::geometry::transform::Rotation::from_degrees(90.0),
            shift: Point::default(),
        };
        let laid = circle_from_its_right(circle.posed(pose));
        assert_eq!(
            laid.edges()[0].start,
            Point::new(3.0, 10.0),
            "centre (0, 10), radius 3"
        );
        assert!(laid.area_mm2() < 0.0, "still clockwise");
    }
}
