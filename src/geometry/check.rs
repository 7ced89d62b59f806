//! Whether a region is what its type promises: rings that do not cross or touch themselves or one another, the outer one
//! counter-clockwise, holes clockwise, in the material and apart.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use crate::geometry::{
    bounds::Bounds,
    crossing::edge_crossings,
    edge::Edge,
    error::GeometryError,
    near_boxes::NearBoxes,
    plainly::{are_circles_apart, goes_on, is_aside},
    point::Point,
    predicate::{Location, point_in_ring},
    region::Region,
    ring::Ring,
    tolerance::{COINCIDENT, MAX_COORDINATE},
};

/// Faults nearer to one another than this, in mm, are at one place: where outlines touch along an edge or in a corner, several
/// pairs of edges say so.
const ONE_PLACE: f64 = 1.0e-3;

/// Checks a region on its true lines and arcs. Edges that are not neighbours may come no nearer than touching.
///
/// # Errors
/// The first fault in the order of edges: `OutOfRange`, `Turned`, `Crossing`, `Touching`, `StrayHole`.
pub fn check(region: &Region) -> Result<(), GeometryError> {
    check_as(region, false)
}

/// The same, but rings may touch themselves or one another in single points, as a result of a boolean may where its
/// operands touch.
///
/// # Errors
/// As `check`, less `Touching`.
pub fn check_with_touching(region: &Region) -> Result<(), GeometryError> {
    check_as(region, true)
}

fn check_as(region: &Region, may_touch: bool) -> Result<(), GeometryError> {
    check_range(region)?;
    check_turns(region)?;
    check_crossings(std::slice::from_ref(region), may_touch)?;
    check_holes(region)
}

/// Rings of a drawing against themselves and one another, wherever they lie: each encloses an area, and none comes nearer
/// to another, or to itself, than touching.
///
/// # Errors
/// The first fault in the order of edges: `OutOfRange`, `Turned`, `Crossing`, `Touching`; `Dense` where more than
/// `most_pairs` of edges had to be compared before one was found.
pub fn check_rings(rings: &[&Ring], most_pairs: u64) -> Result<(), GeometryError> {
    let areas: Vec<f64> = rings.iter().map(|r| r.area_mm2()).collect();
    let boxes = check_each(rings, &areas)?;
    crossings(rings, &boxes.of_edges, false, most_pairs)
}

/// The boxes of all edges, ring by ring, and of the rings.
struct Boxes {
    of_edges: Vec<Bounds>,
    of_rings: Vec<Bounds>,
}

/// Every ring in range and with an area; the boxes. Each ring is gone through once with all that is asked of it, while it is
/// near the processor: of a large drawing that is a tenth of the time.
fn check_each(rings: &[&Ring], areas_mm2: &[f64]) -> Result<Boxes, GeometryError> {
    let mut boxes = Boxes {
        of_edges: Vec::with_capacity(rings.iter().map(|r| r.edges().len()).sum()),
        of_rings: Vec::with_capacity(rings.len()),
    };
    let mut empty = None;
    for (ring, area_mm2) in rings.iter().zip(areas_mm2) {
        let mut around = Bounds::EMPTY;
        for edge in ring.edges() {
            let bounds = edge.bounds();
            check_edge_range(edge, bounds)?;
            boxes.of_edges.push(bounds);
            around = around.join(bounds);
        }
        boxes.of_rings.push(around);
        if area_mm2.is_nan() || *area_mm2 == 0.0 {
            empty = empty.or_else(|| Some(turned(ring, *area_mm2)));
        }
    }
    empty.map_or(Ok(boxes), Err)
}

/// What is found of rings.
pub struct Found {
    /// What is wrong.
    pub faults: Vec<GeometryError>,
    /// Whether there may be more.
    pub more: bool,
    /// The boxes of the rings, as far as they lie in range.
    pub boxes: Vec<Bounds>,
}

/// What [`check_rings`] finds, not only the first: where it is a crossing or a touching, all of them, of each place one, in
/// the order of edges; after `most`, or as edges lie too dense, it stops. Their areas are known.
pub fn faults_of_rings(rings: &[&Ring], areas_mm2: &[f64], most_pairs: u64, most: usize) -> Found {
    let found = |faults, more, boxes| Found {
        faults,
        more,
        boxes,
    };
    let boxes = match check_each(rings, areas_mm2) {
        Ok(boxes) => boxes,
        Err(fault) => return found(vec![fault], false, Vec::new()),
    };
    let mut faults = Vec::new();
    let mut places = BTreeSet::new();
    let mut stopped = false;
    let looked = visit_crossings(rings, &boxes.of_edges, false, most_pairs, &mut |fault| {
        let (x, y) = fault.place();
        if places.insert((
            (x / ONE_PLACE).round() as i64,
            (y / ONE_PLACE).round() as i64,
        )) {
            stopped = faults.len() == most;
            faults.push(fault);
        }
        if stopped {
            return ControlFlow::Break(());
        }
        ControlFlow::Continue(())
    });
    faults.truncate(most);
    match looked {
        Err(dense) if faults.is_empty() => found(vec![dense], false, boxes.of_rings),
        Err(_) => found(faults, true, boxes.of_rings),
        Ok(()) => found(faults, stopped, boxes.of_rings),
    }
}

/// Every coordinate finite and in range.
///
/// # Errors
/// `OutOfRange` with the first point that is not.
pub fn check_range(region: &Region) -> Result<(), GeometryError> {
    region
        .edges()
        .try_for_each(|edge| check_edge_range(edge, edge.bounds()))
}

fn check_edge_range(edge: &Edge, bounds: Bounds) -> Result<(), GeometryError> {
    let fits = |p: Point| p.x.abs() <= MAX_COORDINATE && p.y.abs() <= MAX_COORDINATE;
    for p in [edge.start, bounds.min, bounds.max] {
        // A comparison with what is not a number is false, so that it is caught too.
        if !fits(p) {
            return Err(GeometryError::OutOfRange {
                x: p.x,
                y: p.y,
                limit: MAX_COORDINATE,
            });
        }
    }
    Ok(())
}

/// The boxes of all edges, ring by ring.
fn boxes(rings: &[&Ring]) -> Vec<Bounds> {
    let edges = rings.iter().map(|r| r.edges().len()).sum();
    let mut boxes = Vec::with_capacity(edges);
    boxes.extend(rings.iter().flat_map(|r| r.edges()).map(Edge::bounds));
    boxes
}

fn check_turns(region: &Region) -> Result<(), GeometryError> {
    for (i, ring) in region.rings().enumerate() {
        let area_mm2 = ring.area_mm2();
        if (area_mm2 > 0.0) != (i == 0) || area_mm2 == 0.0 {
            return Err(turned(ring, area_mm2));
        }
    }
    Ok(())
}

fn turned(ring: &Ring, area_mm2: f64) -> GeometryError {
    let Point { x, y } = ring.edges()[0].start;
    GeometryError::Turned { x, y, area_mm2 }
}

/// No edges of the regions cross, whichever rings they belong to; where `may_touch` is not set they do not touch either.
///
/// # Errors
/// `Crossing`, `Touching`.
pub(crate) fn check_crossings(regions: &[Region], may_touch: bool) -> Result<(), GeometryError> {
    let rings: Vec<&Ring> = regions.iter().flat_map(Region::rings).collect();
    crossings(&rings, &boxes(&rings), may_touch, u64::MAX)
}

fn crossings(
    rings: &[&Ring],
    boxes: &[Bounds],
    may_touch: bool,
    most_pairs: u64,
) -> Result<(), GeometryError> {
    let mut first = None;
    visit_crossings(rings, boxes, may_touch, most_pairs, &mut |fault| {
        first = Some(fault);
        ControlFlow::Break(())
    })?;
    first.map_or(Ok(()), Err)
}

/// Tells crossings and touchings in the order of edges until the visitor breaks off.
///
/// # Errors
/// `Dense`.
fn visit_crossings(
    rings: &[&Ring],
    boxes: &[Bounds],
    may_touch: bool,
    most_pairs: u64,
    visitor: &mut dyn FnMut(GeometryError) -> ControlFlow<()>,
) -> Result<(), GeometryError> {
    let mut edges: Vec<&Edge> = Vec::with_capacity(boxes.len());
    edges.extend(rings.iter().flat_map(|r| r.edges()));
    let mut near_boxes = NearBoxes::new(boxes, rings.iter().map(|r| r.edges().len()));
    let mut near: Vec<usize> = Vec::new();
    let mut n_pairs = 0_u64;
    let mut first = 0;
    for ring in rings {
        let end = first + ring.edges().len();
        for i in first..end {
            near.clear();
            near_boxes.visit_behind(i, |j| {
                n_pairs += 1;
                let (a, b) = (edges[i], edges[j]);
                let way = way(i, j, first, end);
                let goes_on = way.0 && goes_on(a, b) || way.1 && goes_on(b, a);
                let is_aside = || is_aside(a, boxes[j]) || is_aside(b, boxes[i]);
                if !goes_on && !is_aside() && !are_circles_apart(a, b) {
                    near.push(j);
                }
            });
            if n_pairs > most_pairs {
                let Point { x, y } = edges[i].start;
                return Err(GeometryError::Dense {
                    x,
                    y,
                    limit: most_pairs,
                });
            }
            near.sort_unstable();
            for &j in &near {
                let way = way(i, j, first, end);
                if check_pair(edges[i], edges[j], way, may_touch, visitor).is_break() {
                    return Ok(());
                }
            }
        }
        first = end;
    }
    Ok(())
}

/// Whether the second of two edges follows the first, and whether it leads to it, around a ring from `first` to `end`.
const fn way(i: usize, j: usize, first: usize, end: usize) -> (bool, bool) {
    (j == i + 1 && j < end, i == first && j + 1 == end)
}

/// Neighbours share a vertex and nothing else; others share nothing.
pub(super) fn check_pair(
    a: &Edge,
    b: &Edge,
    (follows, leads): (bool, bool),
    may_touch: bool,
    visitor: &mut dyn FnMut(GeometryError) -> ControlFlow<()>,
) -> ControlFlow<()> {
    for p in edge_crossings(a, b) {
        let near = |q: Point| p.is_near(q, 4.0 * COINCIDENT);
        if (follows && near(a.end)) || (leads && near(a.start)) {
            continue;
        }
        let at_end = [a.start, a.end, b.start, b.end].into_iter().any(near);
        if !at_end && !is_tangent(a, b, p) {
            visitor(GeometryError::Crossing { x: p.x, y: p.y })?;
        } else if !may_touch {
            visitor(GeometryError::Touching { x: p.x, y: p.y })?;
        }
    }
    if follows && turns_back(a, b) {
        let Point { x, y } = a.end;
        visitor(GeometryError::Crossing { x, y })?;
    }
    ControlFlow::Continue(())
}

/// Whether two edges graze one another at a point: how far they part over a length of 1e-3 mm is below coincidence.
fn is_tangent(a: &Edge, b: &Edge, p: Point) -> bool {
    a.tangent_at(p).cross(b.tangent_at(p)).abs() * 1e-3 < COINCIDENT
}

/// Whether the second edge runs back over the first.
fn turns_back(a: &Edge, b: &Edge) -> bool {
    let (out, back) = (a.end_tangent(), b.start_tangent());
    if out.dot(back) >= 0.0 || out.cross(back).abs() > 1e-9 {
        return false;
    }
    // Opposite directions: a cusp between an arc and its tangent is allowed, a line or arc run twice is not.
    let step = 0.5 * a.length().min(b.length());
    let p = b.at(step / b.length());
    crate::geometry::distance::point_edge(p, a).0 <= COINCIDENT
}

fn check_holes(region: &Region) -> Result<(), GeometryError> {
    let boxes: Vec<Bounds> = region.holes().iter().map(|h| h.bounds()).collect();
    for (i, hole) in region.holes().iter().enumerate() {
        // No ring crosses another here, so one point that is not on the other ring tells for all.
        let lies_in = |ring: &Ring| {
            let points = hole.edges().iter().flat_map(|e| [e.at(0.5), e.start]);
            points
                .map(|p| point_in_ring(p, ring))
                .find(|l| *l != Location::Edge)
                .unwrap_or(Location::Outside)
                == Location::Inside
        };
        let p = hole.edges()[0].start;
        let stray = GeometryError::StrayHole { x: p.x, y: p.y };
        if !lies_in(region.outer()) {
            return Err(stray);
        }
        for (j, other) in region.holes().iter().enumerate() {
            if i != j && boxes[j].grown(COINCIDENT).holds_box(boxes[i]) && lies_in(other) {
                return Err(stray);
            }
        }
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::{edge::SourceId, ring::Ring};

    const S: SourceId = SourceId(0);

    fn polygon(points: &[(f64, f64)]) -> Ring {
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        Ring::polygon(&points, S).unwrap()
    }

    fn square() -> Ring {
        polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    }

    #[test]
    fn a_plate_with_holes_apart_is_sound() {
        let holes = vec![
            Ring::circle(Point::new(3.0, 3.0), 1.0, S),
            Ring::rounded_box(
                Bounds::new(Point::new(5.0, 5.0), Point::new(9.0, 8.0)),
                1.0,
                S,
            ),
        ];
        assert_eq!(check(&Region::new(square(), holes)), Ok(()));
    }

    #[test]
    fn a_bow_tie_names_the_crossing() {
        let tie = Region::solid(polygon(&[
            (0.0, 0.0),
            (10.0, 10.0),
            (10.0, 0.0),
            (0.0, 12.0),
        ]));
        // x = y and y = 12 − 1.2 x meet in x = 12 / 2.2 (hand calculation).
        let Err(GeometryError::Crossing { x, y }) = check(&tie) else {
            panic!("{:?}", check(&tie))
        };
        assert!(
            (x - 12.0 / 2.2).abs() < 1e-9 && (y - x).abs() < 1e-9,
            "({x}, {y})"
        );
    }

    #[test]
    fn faults_of_holes_are_found() {
        let at = |x: f64, r: f64| Ring::circle(Point::new(x, 5.0), r, S);
        let fault = |holes: Vec<Ring>| check(&Region::new(square(), holes)).unwrap_err();
        assert!(matches!(
            fault(vec![at(20.0, 1.0)]),
            GeometryError::StrayHole { .. }
        ));
        assert!(matches!(
            fault(vec![at(5.0, 3.0), at(5.0, 1.0)]),
            GeometryError::StrayHole { .. }
        ));
        assert!(matches!(
            fault(vec![at(1.0, 3.0)]),
            GeometryError::Crossing { .. }
        ));
        assert!(
            matches!(fault(vec![at(1.0, 1.0)]), GeometryError::Touching { .. }),
            "hole touching the rim"
        );
        assert!(
            matches!(
                fault(vec![at(3.0, 1.0), at(5.0, 1.0)]),
                GeometryError::Touching { .. }
            ),
            "holes touching"
        );
        assert_eq!(
            check_with_touching(&Region::new(square(), vec![at(3.0, 1.0), at(5.0, 1.0)])),
            Ok(())
        );
    }

    #[test]
    fn a_ring_that_turns_back_or_touches_itself_is_found() {
        let spike = Region::solid(polygon(&[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 10.0),
            (5.0, 10.0),
            (5.0, 14.0),
            (5.0, 10.0),
            (0.0, 10.0),
        ]));
        assert!(check(&spike).is_err());
        let pinched = Region::solid(polygon(&[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 10.0),
            (5.0, 0.0),
            (0.0, 10.0),
        ]));
        assert!(matches!(
            check(&pinched),
            Err(GeometryError::Touching { .. })
        ));
    }

    #[test]
    fn numbers_out_of_range_are_refused() {
        let far = Region::solid(Ring::circle(Point::new(999_999.0, 0.0), 2.0, S));
        assert!(matches!(check(&far), Err(GeometryError::OutOfRange { .. })));
    }
}
