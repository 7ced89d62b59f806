//! Union, difference and intersection of regions of lines and arcs.
//!
//! In: regions (or doubtful rings), each edge with the id of what it came from. Out: regions that share no area, holes
//! assigned, the ids kept. Steps:
//! 1. `weld`: edges become chords on an integer grid of 1e-6 mm, so that coinciding edges have equal chords.
//! 2. `overlay`: the arrangement of the chords, winding number not zero; loops around what is kept.
//! 3. `retrace`: loops become rings of true edges again.
//! 4. Rings are checked against their loops and become regions; slivers are dropped.
//!
//! Guarantees: an arc keeps centre and radius to the bit, and its ends lie within `tolerance::COINCIDENT` of the circle;
//! a vertex that no operand moves is kept to the bit; a whole circle comes back as `Ring::circle`. Which curve lies
//! outside is decided on chords; where true curves then cross that should not, finer chords decide. Slivers below
//! `tolerance::SLIVER_AREA_MM2` are dropped one by one. Rings of a result may touch in single points where the operands do. Where edges of
//! several ids coincide, that of lesser rank keeps its id, then the subject's, then the first. The order of regions and
//! the first edge of each ring follow from their place alone.
//!
//! A result that fails its checks is computed again with finer chords in a turned frame, and in the last resort curves
//! that miss one another by less than the flatness are joined by a short line; if all fail the error tells the place.

use crate::geometry::{
    bounds::Bounds,
    check::{check_crossings, check_range},
    edge::{Edge, SourceId},
    error::GeometryError,
    overlay::{Loop, doubled_area, loops},
    point::Point,
    predicate::{Location, point_in_ring},
    region::Region,
    retrace::{Traced, rings},
    ring::Ring,
    tolerance::{COINCIDENT, FLAT_BOOLEAN, GRID, MAX_COORDINATE, SLIVER_AREA_MM2},
    weld::{Frame, Source, cut},
};

pub use crate::geometry::overlay::Rule;

/// The area covered by any of the regions.
///
/// # Errors
/// `OutOfRange`; `Combine` if no attempt passes its checks.
pub fn union(regions: &[Region]) -> Result<Vec<Region>, GeometryError> {
    combine(regions, &[], Rule::Union, &|_| 0)
}

/// The area covered by the subject and not by the clip.
///
/// # Errors
/// As `union`.
pub fn difference(subject: &[Region], clip: &[Region]) -> Result<Vec<Region>, GeometryError> {
    combine(subject, clip, Rule::Difference, &|_| 0)
}

/// The area covered by both.
///
/// # Errors
/// As `union`.
pub fn intersection(subject: &[Region], clip: &[Region]) -> Result<Vec<Region>, GeometryError> {
    combine(subject, clip, Rule::Intersection, &|_| 0)
}

/// The area around which doubtful rings wind, in sum, other than zero times: rings may cross, touch and lie in one another.
///
/// # Errors
/// As `union`.
pub fn union_of_rings(rings: Vec<Ring>) -> Result<Vec<Region>, GeometryError> {
    for ring in &rings {
        check_range(&Region::solid(ring.clone()))?;
    }
    let sources: Vec<Source> = rings
        .iter()
        .flat_map(|r| r.edges())
        .map(|e| Source {
            edge: *e,
            clip: false,
            rank: 0,
        })
        .collect();
    solve_sources(&sources, Rule::Union)
}

/// Any of the three, with a rank for ids: where edges coincide the id of lesser rank is kept, so that for instance a
/// seam's face keeps its name against an outline's.
///
/// # Errors
/// As `union`.
pub fn combine(
    subject: &[Region],
    clip: &[Region],
    rule: Rule,
    rank: &dyn Fn(SourceId) -> u32,
) -> Result<Vec<Region>, GeometryError> {
    for region in subject.iter().chain(clip) {
        check_range(region)?;
    }
    let near = near_clip(subject, clip, rule);
    if near.is_empty() && rule != Rule::Union {
        match (rule, subject) {
            (Rule::Intersection, _) => return Ok(Vec::new()),
            (_, [alone]) => return Ok(vec![alone.clone()]),
            _ => {}
        }
    }
    let of = |regions: &[&Region], clip: bool| -> Vec<Source> {
        regions
            .iter()
            .flat_map(|r| r.edges())
            .map(|e| Source {
                edge: *e,
                clip,
                rank: rank(e.source)
                    .saturating_mul(2)
                    .saturating_add(u32::from(clip)),
            })
            .collect()
    };
    let subjects: Vec<&Region> = subject.iter().collect();
    let mut sources = of(&subjects, false);
    sources.extend(of(&near, true));
    let clip: Vec<Region> = near.into_iter().cloned().collect();
    solve(&sources, rule, &expected(rule, subject, &clip))
}

/// The part of the clip that can matter: for a union all of it.
fn near_clip<'a>(subject: &[Region], clip: &'a [Region], rule: Rule) -> Vec<&'a Region> {
    if rule == Rule::Union {
        return clip.iter().collect();
    }
    let boxes: Vec<Bounds> = subject.iter().map(|r| r.bounds().grown(GRID)).collect();
    clip.iter()
        .filter(|r| boxes.iter().any(|b| b.touches(r.bounds())))
        .collect()
}

/// Between what areas a result must lie, in mm², and the length of all operands' edges, for the slack of flattening.
struct Expected {
    least: f64,
    most: f64,
    length: f64,
}

impl Expected {
    /// Nothing is known beforehand.
    const ANYTHING: Self = Self {
        least: 0.0,
        most: f64::INFINITY,
        length: 0.0,
    };
}

fn expected(rule: Rule, subject: &[Region], clip: &[Region]) -> Expected {
    let areas = |regions: &[Region]| {
        regions
            .iter()
            .map(Region::area_mm2)
            .fold((0.0_f64, 0.0_f64), |(sum, most), a| (sum + a, most.max(a)))
    };
    let ((a, a_most), (b, b_most)) = (areas(subject), areas(clip));
    let length = subject
        .iter()
        .chain(clip)
        .flat_map(Region::edges)
        .map(Edge::length)
        .sum();
    let (least, most) = match rule {
        Rule::Union => (a_most.max(b_most), a + b),
        Rule::Difference => (a_most - b, a),
        Rule::Intersection => (0.0, a.min(b)),
    };
    Expected {
        least,
        most,
        length,
    }
}

/// An attempt: how fine the chords are, how the frame is turned, whether curves that miss one another may be joined.
struct Attempt {
    flatness: f64,
    turned_deg: f64,
    lenient: bool,
}

/// The angles are odd so that no line of an ordinary drawing falls on the grid's directions. The finest chords, two grid
/// steps off their arcs, part what the check of crossings can still tell apart.
const ATTEMPTS: [Attempt; 5] = [
    Attempt {
        flatness: FLAT_BOOLEAN,
        turned_deg: 0.0,
        lenient: false,
    },
    Attempt {
        flatness: FLAT_BOOLEAN / 4.0,
        turned_deg: 17.31,
        lenient: false,
    },
    Attempt {
        flatness: FLAT_BOOLEAN / 16.0,
        turned_deg: 61.87,
        lenient: false,
    },
    Attempt {
        flatness: COINCIDENT,
        turned_deg: 17.31,
        lenient: false,
    },
    Attempt {
        flatness: FLAT_BOOLEAN / 16.0,
        turned_deg: 17.31,
        lenient: true,
    },
];

/// Runs the attempts until one passes its checks.
pub(super) fn solve_sources(sources: &[Source], rule: Rule) -> Result<Vec<Region>, GeometryError> {
    solve(sources, rule, &Expected::ANYTHING)
}

/// The same with the finest chords alone.
pub(super) fn solve_finely(sources: &[Source], rule: Rule) -> Result<Vec<Region>, GeometryError> {
    let attempts = ATTEMPTS.iter().filter(|a| a.flatness <= COINCIDENT);
    run(sources, rule, &Expected::ANYTHING, attempts)
}

fn solve(
    sources: &[Source],
    rule: Rule,
    expected: &Expected,
) -> Result<Vec<Region>, GeometryError> {
    run(sources, rule, expected, ATTEMPTS.iter())
}

fn run<'a>(
    sources: &[Source],
    rule: Rule,
    expected: &Expected,
    attempts: impl Iterator<Item = &'a Attempt>,
) -> Result<Vec<Region>, GeometryError> {
    let mut first_fault = None;
    for attempt in attempts {
        match try_once(sources, rule, attempt, expected) {
            Ok(regions) => return Ok(regions),
            Err(fault) => first_fault = first_fault.or(Some(fault)),
        }
    }
    Err(first_fault.unwrap_or(GeometryError::OutOfRange {
        x: 0.0,
        y: 0.0,
        limit: MAX_COORDINATE,
    }))
}

fn fault(at: Point, found_mm2: f64, expected_mm2: f64) -> GeometryError {
    GeometryError::Combine {
        x: at.x,
        y: at.y,
        found_mm2,
        expected_mm2,
    }
}

/// A ring with its figures.
struct Outlined {
    ring: Ring,
    area_mm2: f64,
    bounds: Bounds,
}

fn try_once(
    sources: &[Source],
    rule: Rule,
    attempt: &Attempt,
    expected: &Expected,
) -> Result<Vec<Region>, GeometryError> {
    let frame = Frame::turned(attempt.turned_deg);
    let (chords, vertices) = cut(sources, &frame, attempt.flatness);
    let found = loops(&chords, sources, rule).map_err(|node| fault(frame.point(node), 0.0, 0.0))?;
    let (mut outers, mut holes) = (Vec::new(), Vec::new());
    for nodes in found {
        // Of the loop: its area, and its length for the slack that flattening and rounding are entitled to.
        let due = doubled_area(&nodes) as f64 * (0.5 * GRID * GRID);
        let length = loop_length(&nodes);
        if is_sliver(due, length) {
            continue;
        }
        let at = frame.point(nodes[0].0);
        let traced = match rings(&nodes, sources, &vertices, &frame, attempt.lenient) {
            Traced::Rings(traced) => traced,
            Traced::Nothing => return Err(fault(at, 0.0, due)),
            Traced::Doubtful(place) => return Err(fault(place, f64::NAN, due)),
        };
        // A circle that stands for the whole loop may have lost its way round.
        let traced = if let [ring] = traced.as_slice() {
            vec![ring.oriented(due > 0.0)]
        } else {
            traced
        };
        let area_mm2: f64 = traced.iter().map(Ring::area_mm2).sum();
        // A ring turned round against its loop, or an arc run the wrong way, is off by far more than this.
        let is_due = (area_mm2 - due).abs() <= (attempt.flatness + 4.0 * GRID) * length;
        if !is_due {
            return Err(fault(at, area_mm2, due));
        }
        for ring in traced {
            let (area_mm2, bounds) = (ring.area_mm2(), ring.bounds());
            if !is_sliver(area_mm2, ring.length()) {
                let list = if area_mm2 > 0.0 {
                    &mut outers
                } else {
                    &mut holes
                };
                list.push(Outlined {
                    ring,
                    area_mm2,
                    bounds,
                });
            }
        }
    }
    let regions = assign(outers, holes)?;
    check_area(&regions, expected, attempt.flatness)?;
    check_crossings(&regions, true)?;
    Ok(regions)
}

fn loop_length(nodes: &Loop) -> f64 {
    let point = |i: usize| Point::new(nodes[i].0.0 as f64 * GRID, nodes[i].0.1 as f64 * GRID);
    (0..nodes.len())
        .map(|i| point(i).distance(point((i + 1) % nodes.len())))
        .sum()
}

/// Whether an area is only rounding: below the sliver's limit, or on average no wider than a few steps of the grid.
fn is_sliver(area_mm2: f64, length: f64) -> bool {
    area_mm2.abs() < SLIVER_AREA_MM2 || 2.0 * area_mm2.abs() < 4.0 * GRID * length
}

/// Gives each hole to the least outer ring around it.
fn assign(
    mut outers: Vec<Outlined>,
    mut holes: Vec<Outlined>,
) -> Result<Vec<Region>, GeometryError> {
    let by_place = |a: &Outlined, b: &Outlined| {
        let key = |o: &Outlined| {
            [
                o.bounds.min.x,
                o.bounds.min.y,
                o.bounds.max.x,
                o.bounds.max.y,
                o.area_mm2,
            ]
        };
        key(a)
            .iter()
            .zip(key(b))
            .map(|(x, y)| x.total_cmp(&y))
            .find(|o| o.is_ne())
            .unwrap_or(std::cmp::Ordering::Equal)
    };
    outers.sort_by(by_place);
    holes.sort_by(by_place);
    let mut of: Vec<Vec<Ring>> = outers.iter().map(|_| Vec::new()).collect();
    for hole in holes {
        let mut around: Vec<usize> = (0..outers.len())
            .filter(|&i| {
                outers[i].bounds.grown(FLAT_BOOLEAN).holds_box(hole.bounds)
                    && outers[i].area_mm2 > -hole.area_mm2
            })
            .collect();
        around.sort_by(|&a, &b| outers[a].area_mm2.total_cmp(&outers[b].area_mm2));
        let place = if around.len() == 1 {
            around.first().copied()
        } else {
            around.into_iter().find(|&i| encloses(&outers[i], &hole))
        };
        match place {
            Some(i) => of[i].push(hole.ring),
            // A hole of a sliver that was dropped is of no account; any other has lost its outer ring.
            None if hole.area_mm2.abs() <= 2.0 * SLIVER_AREA_MM2 => {}
            None => return Err(fault(hole.ring.edges()[0].start, 0.0, hole.area_mm2)),
        }
    }
    Ok(outers
        .into_iter()
        .zip(of)
        .map(|(outer, holes)| Region::new(outer.ring, holes))
        .collect())
}

/// Whether a hole lies in an outer ring; no ring crosses another, so one point that is not on the other ring tells.
fn encloses(outer: &Outlined, hole: &Outlined) -> bool {
    let points = hole.ring.edges().iter().flat_map(|e| [e.start, e.at(0.5)]);
    points
        .map(|p| point_in_ring(p, &outer.ring))
        .find(|l| *l != Location::Edge)
        == Some(Location::Inside)
}

fn check_area(regions: &[Region], expected: &Expected, flatness: f64) -> Result<(), GeometryError> {
    let area: f64 = regions.iter().map(Region::area_mm2).sum();
    // Flattening of all edges, and a handful of slivers that were dropped.
    let slack = 2.0 * flatness * expected.length + 10.0 * SLIVER_AREA_MM2;
    let due = if area > expected.most + slack {
        expected.most
    } else if area < expected.least - slack {
        expected.least
    } else {
        return Ok(());
    };
    let at = regions
        .first()
        .map_or(Point::default(), |r| r.outer().edges()[0].start);
    Err(fault(at, area, due))
}
