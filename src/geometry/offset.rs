//! Outlines moved outward or inward by a distance, with round corners, arcs kept as arcs.
//!
//! In: regions and a distance. Out: the regions of all points no farther than that from the material, or of all points
//! of the material farther than that from its edge. Steps:
//! 1. Each edge gets a *band* on the side to which it moves: a line a rectangle, an arc a sector of an annulus (down to
//!    the centre, if the arc bends towards that side by less than the distance), and each corner that opens a pie.
//! 2. One boolean unites the material with all bands, or subtracts them. The walls between bands lie inside it by
//!    construction and vanish; where bands are tangent they share their wall to the bit.
//! 3. Every corner and middle of the result, and places between them, are measured against the edges it came from, and the
//!    area compared. Where they lie off by more than a rounding, chords took one curve for another that lies less than their error beside it:
//!    the finest chords decide. A result that fails is made again by another method (crate `cavalier_contours`), and
//!    measured as well.
//!
//! Guarantees: an edge that is parallel to another has its id, an arc about a corner that of the edge before it; a circle
//! becomes a circle about the same centre, radius plus or minus the distance. Corners and middles lie no nearer to the
//! source than the distance less `MEASURED`.

use cavalier_contours::{
    polyline::{PlineSource, PlineSourceMut, PlineVertex, Polyline},
    shape_algorithms::{Shape, ShapeOffsetOptions},
};

use crate::geometry::{
    boolean::{solve_finely, solve_sources, union_of_rings},
    check::check_range,
    edge::{Curve, Edge, SourceId},
    error::GeometryError,
    overlay::Rule,
    point::Point,
    region::Region,
    ring::Ring,
    spatial_index::EdgeIndex,
    tolerance::{COINCIDENT, FLAT_BOOLEAN, GRID, MAX_COORDINATE, SLIVER_AREA_MM2},
    weld::Source,
};

/// Flatness: by how much a corner or middle of a result may fall short of the distance asked for. Curves are combined on
/// chords within `FLAT_BOOLEAN` on either side; a wrong loop is off by the order of the distance itself.
const MEASURED: f64 = 2.0 * FLAT_BOOLEAN;

/// Coincidence: by how much a corner or middle lies off that is right but for rounding, at both ends of its edge.
const ROUNDED: f64 = 2.0 * COINCIDENT;

/// Of how many places of an edge, its beginning among them, the distance is measured where the source has arcs: where an arc
/// takes another's place it may lie off by the chords' error between a corner and the middle, and right in both. Two were
/// measured once, and three of 1500 dense outlines lay off by up to 3.5e-4 mm unseen.
const PLACES_OF_BENT: usize = 8;

/// Regions grown by a distance (`by` above 0) with round corners, or shrunk (`by` below 0). Grown regions that meet become
/// one, holes that close vanish; shrunk regions may fall apart or vanish.
///
/// # Errors
/// `OutOfRange`; `Combine` or `Offset` if no method gives a result that passes its checks.
pub fn offset(regions: &[Region], by: f64) -> Result<Vec<Region>, GeometryError> {
    check_input(regions, by)?;
    if by == 0.0 || regions.is_empty() {
        return Ok(regions.to_vec());
    }
    let regions = &without_closed(regions, by);
    by_bands(regions, by).or_else(|fault| {
        by_parallels(regions, by)
            .and_then(|r| measure(regions, by, &|_| true, &r).map(|_| r))
            .map_err(|_| fault)
    })
}

/// Regions without the holes that growing closes, or without those that shrinking takes away, as far as their boxes tell:
/// every point inside of a ring lies on a chord along each axis, and so within half of the box's lesser side of its rim.
/// The bands of a dense rim would all overlap one another there, and cost minutes.
fn without_closed(regions: &[Region], by: f64) -> Vec<Region> {
    let closes = |ring: &Ring| {
        let bounds = ring.bounds();
        bounds.width().min(bounds.depth()) <= 2.0 * by.abs()
    };
    let kept = regions.iter().filter(|r| by > 0.0 || !closes(r.outer()));
    kept.map(|region| {
        let holes = region.holes().iter();
        let holes = holes.filter(|h| by < 0.0 || !closes(h)).cloned().collect();
        Region::new(region.outer().clone(), holes)
    })
    .collect()
}

/// A region of which only the edges with a picked id move inward, as if a disc of radius `by` ran along them and cleared
/// what it covers: ends are round where the neighbour that stays opens wider than a right angle.
///
/// # Errors
/// As `offset`.
pub fn draw_in(
    region: &Region,
    by: f64,
    pick: &dyn Fn(SourceId) -> bool,
) -> Result<Vec<Region>, GeometryError> {
    let regions = std::slice::from_ref(region);
    check_input(regions, by)?;
    if by <= 0.0 || !region.edges().any(|e| pick(e.source)) {
        return Ok(regions.to_vec());
    }
    let mut sources = material(regions);
    for ring in region.rings() {
        inward_bands(ring, by, pick, &mut sources);
    }
    combine_bands(&sources, regions, -by, pick)
}

fn check_input(regions: &[Region], by: f64) -> Result<(), GeometryError> {
    for region in regions {
        check_range(region)?;
    }
    if by.abs() <= MAX_COORDINATE {
        return Ok(());
    }
    // What is not a number comes here too.
    Err(GeometryError::OutOfRange {
        x: by,
        y: by,
        limit: MAX_COORDINATE,
    })
}

fn material(regions: &[Region]) -> Vec<Source> {
    regions
        .iter()
        .flat_map(Region::edges)
        .map(|e| Source {
            edge: *e,
            clip: false,
            rank: 0,
        })
        .collect()
}

fn by_bands(regions: &[Region], by: f64) -> Result<Vec<Region>, GeometryError> {
    let mut sources = material(regions);
    for ring in regions.iter().flat_map(Region::rings) {
        if by > 0.0 {
            Bands {
                reach: by,
                clip: false,
                id_before: true,
                out: &mut sources,
            }
            .along(ring.edges(), &|_| true);
        } else {
            inward_bands(ring, -by, &|_| true, &mut sources);
        }
    }
    combine_bands(&sources, regions, by, &|_| true)
}

/// Unites or subtracts the bands, and measures the result.
fn combine_bands(
    sources: &[Source],
    regions: &[Region],
    by: f64,
    pick: &dyn Fn(SourceId) -> bool,
) -> Result<Vec<Region>, GeometryError> {
    let rule = if by > 0.0 {
        Rule::Union
    } else {
        Rule::Difference
    };
    let result = solve_sources(sources, rule)?;
    let off = measure(regions, by, pick, &result)?;
    if off > ROUNDED
        && let Ok(fine) = solve_finely(sources, rule)
        && measure(regions, by, pick, &fine).is_ok_and(|o| o < off)
    {
        return Ok(fine);
    }
    Ok(result)
}

/// The inward side is the outward side of the ring run the other way.
fn inward_bands(ring: &Ring, reach: f64, pick: &dyn Fn(SourceId) -> bool, out: &mut Vec<Source>) {
    Bands {
        reach,
        clip: true,
        id_before: false,
        out,
    }
    .along(ring.reversed().edges(), pick);
}

/// Collects the bands to the right of chains of edges, each a counter-clockwise ring.
struct Bands<'a> {
    reach: f64,
    clip: bool,
    /// Whether the arc about a corner takes the id of the edge that comes before it on this way round, or after.
    id_before: bool,
    out: &'a mut Vec<Source>,
}

/// What happens at a vertex between two edges: where the bands' walls end.
#[derive(Clone, Copy)]
struct Joint {
    /// End of the wall of the edge before.
    before: Point,
    /// End of the wall of the edge after; the same where the edges are tangent.
    after: Point,
    opens: Opening,
}

#[derive(Clone, Copy, PartialEq)]
enum Opening {
    /// The bands overlap or share their wall.
    None,
    /// A pie lies between the bands.
    Pie,
    /// The outline turns back: all around may be open.
    Around,
}

impl Bands<'_> {
    fn along(&mut self, edges: &[Edge], pick: &dyn Fn(SourceId) -> bool) {
        let n = edges.len();
        let joints: Vec<Joint> = (0..n)
            .map(|i| self.joint(&edges[(i + n - 1) % n], &edges[i]))
            .collect();
        for i in 0..n {
            let (before, edge) = (&edges[(i + n - 1) % n], &edges[i]);
            let (picked_before, picked) = (pick(before.source), pick(edge.source));
            if picked {
                self.band(edge, joints[i].after, joints[(i + 1) % n].before);
            }
            let id = if picked_before == picked {
                if self.id_before {
                    before.source
                } else {
                    edge.source
                }
            } else if picked {
                edge.source
            } else {
                before.source
            };
            match joints[i].opens {
                _ if !picked && !picked_before => {}
                Opening::None if picked && picked_before => {}
                Opening::Pie if picked && picked_before => self.pie(edge.start, joints[i], id),
                _ => self.disc(edge.start, id),
            }
        }
    }

    fn joint(&self, before: &Edge, after: &Edge) -> Joint {
        let v = after.start;
        let (t, u) = (before.end_tangent(), after.start_tangent());
        // To the right of travel.
        let (n, m) = (-t.left(), -u.left());
        let (cross, dot) = (t.cross(u), t.dot(u));
        if dot > 0.0 && cross.abs() * self.reach <= GRID {
            let shared = v + (n + m).unit() * self.reach;
            return Joint {
                before: shared,
                after: shared,
                opens: Opening::None,
            };
        }
        let opens = if dot < 0.0 && cross.abs() < 1e-6 {
            Opening::Around
        } else if cross > 0.0 {
            Opening::Pie
        } else {
            Opening::None
        };
        Joint {
            before: v + n * self.reach,
            after: v + m * self.reach,
            opens,
        }
    }

    fn ring(&mut self, edges: &[Edge]) {
        let (clip, out) = (self.clip, &mut self.out);
        // The ids of edges that were there before count first where band and material coincide.
        out.extend(edges.iter().map(|e| Source {
            edge: *e,
            clip,
            rank: 1,
        }));
    }

    /// The band of an edge; `from` and `to` are where its walls end.
    fn band(&mut self, edge: &Edge, from: Point, to: Point) {
        let id = edge.source;
        let base = edge.reversed();
        let wall = |a: Point, b: Point| Edge::line(a, b, id);
        match edge.curve {
            Curve::Line => self.ring(&[
                base,
                wall(edge.start, from),
                wall(from, to),
                wall(to, edge.end),
            ]),
            Curve::Arc {
                center,
                radius,
                ccw,
            } => {
                let outer = if ccw {
                    radius + self.reach
                } else {
                    radius - self.reach
                };
                if outer > 10.0 * GRID {
                    let far = Edge::arc(from, to, center, outer, ccw, id);
                    self.ring(&[base, wall(edge.start, from), far, wall(to, edge.end)]);
                } else {
                    // Bent towards the band by no more than the reach: all of the sector is covered.
                    self.ring(&[base, wall(edge.start, center), wall(center, edge.end)]);
                }
            }
        }
    }

    fn pie(&mut self, v: Point, joint: Joint, id: SourceId) {
        let rim = Edge::arc(joint.before, joint.after, v, self.reach, true, id);
        self.ring(&[
            Edge::line(v, joint.before, id),
            rim,
            Edge::line(joint.after, v, id),
        ]);
    }

    fn disc(&mut self, v: Point, id: SourceId) {
        let circle = Ring::circle(v, self.reach, id);
        self.ring(circle.edges());
    }
}

/// Measures a result against the picked edges of its source: by how much it lies off at most, if it is sound.
fn measure(
    regions: &[Region],
    by: f64,
    pick: &dyn Fn(SourceId) -> bool,
    result: &[Region],
) -> Result<f64, GeometryError> {
    let reach = by.abs();
    let picked: Vec<Edge> = regions
        .iter()
        .flat_map(Region::edges)
        .filter(|e| pick(e.source))
        .copied()
        .collect();
    let all_move = picked.len() == regions.iter().flat_map(Region::edges).count();
    let index = EdgeIndex::of_chains([picked.as_slice()]);
    let bends = picked.iter().any(|e| e.curve != Curve::Line);
    let n_places = if bends { PLACES_OF_BENT } else { 2 };
    let mut off = 0.0_f64;
    for edge in result.iter().flat_map(Region::edges) {
        for p in (0..n_places).map(|k| match k {
            0 => edge.start,
            k => edge.at(k as f64 / n_places as f64),
        }) {
            let distance = index
                .nearest(p, reach + MEASURED)
                .map_or(f64::INFINITY, |n| n.distance);
            // Where all edges move, all of the result lies at the distance, neither nearer nor farther.
            let short = reach - distance;
            let amiss = if all_move { short.abs() } else { short };
            off = off.max(amiss);
            if amiss > MEASURED {
                return Err(GeometryError::Offset {
                    by,
                    x: p.x,
                    y: p.y,
                    distance,
                });
            }
        }
    }
    check_areas(regions, by, result)?;
    Ok(off)
}

/// Growing adds area, shrinking takes some, and neither more than outline times distance plus the corners' discs.
fn check_areas(regions: &[Region], by: f64, result: &[Region]) -> Result<(), GeometryError> {
    let area = |list: &[Region]| list.iter().map(Region::area_mm2).sum::<f64>();
    let (before, after) = (area(regions), area(result));
    let length: f64 = regions
        .iter()
        .flat_map(Region::edges)
        .map(Edge::length)
        .sum();
    let slack = FLAT_BOOLEAN * length + SLIVER_AREA_MM2;
    let grown = if by > 0.0 {
        after - before
    } else {
        before - after
    };
    // Regions that overlap count twice before; their union may be less.
    let is_monotone = grown >= -slack || (by > 0.0 && regions.len() > 1);
    if is_monotone {
        return Ok(());
    }
    let at = regions
        .first()
        .map_or(Point::default(), |r| r.outer().edges()[0].start);
    Err(GeometryError::Combine {
        x: at.x,
        y: at.y,
        found_mm2: after,
        expected_mm2: before,
    })
}

/// The other method: parallel curves, trimmed where they cross. Ids are those of the nearest source edges.
fn by_parallels(regions: &[Region], by: f64) -> Result<Vec<Region>, GeometryError> {
    let mut rings = Vec::new();
    for region in regions {
        let index = EdgeIndex::new([region]);
        let ids: Vec<SourceId> = index.entries().iter().map(|e| e.edge.source).collect();
        let starts: Vec<usize> = region
            .rings()
            .scan(0, |sum, r| {
                Some(std::mem::replace(sum, *sum + r.edges().len()))
            })
            .collect();
        let shape = Shape::from_plines(region.rings().map(polyline));
        let moved = shape.parallel_offset(-by, &ShapeOffsetOptions::new());
        for line in moved.ccw_plines.iter().chain(&moved.cw_plines) {
            let id = |p: Point| {
                index
                    .nearest(p, by.abs() + 1.0)
                    .map_or(SourceId(0), |n| ids[starts[n.ring] + n.edge_idx])
            };
            rings.extend(ring_of(&line.polyline, &id));
        }
    }
    // Grown regions may meet.
    union_of_rings(rings)
}

fn polyline(ring: &Ring) -> Polyline<f64> {
    let mut line = Polyline::new_closed();
    for edge in ring.edges() {
        line.add(edge.start.x, edge.start.y, edge.bulge());
    }
    line
}

fn ring_of(line: &Polyline<f64>, id: &dyn Fn(Point) -> SourceId) -> Option<Ring> {
    let vertices: Vec<PlineVertex<f64>> = line.iter_vertexes().collect();
    let n = vertices.len();
    let edges = (0..n)
        .map(|i| {
            let (v, w) = (vertices[i], vertices[(i + 1) % n]);
            let edge = Edge::from_bulge(
                Point::new(v.x, v.y),
                Point::new(w.x, w.y),
                v.bulge,
                SourceId(0),
            );
            Edge {
                source: id(edge.at(0.5)),
                ..edge
            }
        })
        .filter(|e| e.start != e.end)
        .collect();
    Ring::new(edges)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::bounds::Bounds;

    const A: SourceId = SourceId(1);
    const B: SourceId = SourceId(2);

    fn plate() -> Region {
        let outer = Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(60.0, 40.0)),
            3.0,
            A,
        );
        let notch = Ring::polygon(
            &[
                Point::new(10.0, 10.0),
                Point::new(20.0, 10.0),
                Point::new(20.0, 30.0),
            ],
            B,
        );
        Region::new(
            outer,
            vec![notch.unwrap(), Ring::circle(Point::new(40.0, 20.0), 5.0, B)],
        )
    }

    #[test]
    fn both_methods_agree_in_area_and_ids() {
        let regions = [plate()];
        for by in [0.08, 1.0, 2.5, -0.08, -1.0, -2.5] {
            let (bands, parallels) = (
                by_bands(&regions, by).unwrap(),
                by_parallels(&regions, by).unwrap(),
            );
            let area = |list: &[Region]| list.iter().map(Region::area_mm2).sum::<f64>();
            let length = |list: &[Region], id: SourceId| -> f64 {
                let edges = list.iter().flat_map(Region::edges);
                edges.filter(|e| e.source == id).map(Edge::length).sum()
            };
            // The other method joins points nearer than 1e-5 mm, along outlines of less than 500 mm.
            assert!(
                (area(&bands) - area(&parallels)).abs() < 5e-3,
                "by {by}: {} and {}",
                area(&bands),
                area(&parallels)
            );
            for id in [A, B] {
                let (one, two) = (length(&bands, id), length(&parallels, id));
                assert!(
                    (one - two).abs() < 1e-3,
                    "by {by}: {one} and {two} of {id:?}"
                );
            }
            assert!(measure(&regions, by, &|_| true, &parallels).is_ok());
        }
    }

    #[test]
    fn a_result_that_is_off_is_refused() {
        let regions = [plate()];
        let wrong = by_bands(&regions, 1.1).unwrap();
        assert!(matches!(
            measure(&regions, 1.0, &|_| true, &wrong),
            Err(GeometryError::Offset { .. })
        ));
        assert!(matches!(
            measure(&regions, 1.0, &|_| true, &[]),
            Err(GeometryError::Combine { .. })
        ));
        assert!(offset(&regions, f64::NAN).is_err());
    }
}
