//! Entities as edges.
//!
//! In: one entity in its drawing's unit. Out: a strand, a chain of edges in mm whose ends may be loose, or a circle. Edges
//! carry the entity's place in the file.
//!
//! What has no length is left out (and counted by the caller). A bulge so flat that its radius would exceed
//! [`STRAIGHT_RADIUS`] is a line.

use crate::drawing::error::DrawingError;
use crate::format::dxf::{Entity, Shape, Vertex};
use crate::geometry::edge::{Curve, Edge, SourceId};
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::{COINCIDENT, MAX_COORDINATE};
use crate::geometry::transform::Rotation;
use crate::geometry::{angle, units};

/// Radius in mm from which an arc is a line: over a chord of 1 m it bends by 1.25e-4 mm, a fortieth of what cut geometry
/// may err. Larger circles have centres so far off that rounding there (1e9 · 2⁻⁵² ≈ 2e-7) would reach coincidence.
const STRAIGHT_RADIUS: f64 = 1.0e9;

/// By how little, in degrees, an arc may miss a full turn and still be a circle: as for angles in plans.
const FULL_TURN_SLACK_DEG: f64 = 1.0e-9;

/// What an entity contributes.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Strand {
    /// A closed curve by itself.
    Ring(Ring),
    /// Edges, each ending where the next begins, the outer ends loose.
    Open(Vec<Edge>),
    /// Nothing: it has no length.
    Nothing,
}

/// The strand of an entity; `scale` is millimetres in a unit of the drawing.
///
/// # Errors
/// `Tilted`, `NegativeRadius`, `OutOfRange`.
pub(super) fn strand(
    file: &str,
    entity: &Entity,
    scale: f64,
    source: SourceId,
) -> Result<Strand, DrawingError> {
    let name = || (file.to_owned(), entity.name.clone());
    let within = |value: f64| {
        if value.abs() <= MAX_COORDINATE {
            return Ok(value + 0.0);
        }
        let (file, entity) = name();
        Err(DrawingError::OutOfRange {
            file,
            entity,
            value: value.abs(),
            limit: MAX_COORDINATE,
        })
    };
    let scaled = |p: Point| Ok(Point::new(within(p.x * scale)?, within(p.y * scale)?));
    let sized = |radius: f64| {
        if radius >= 0.0 {
            return within(radius * scale);
        }
        let (file, entity) = name();
        Err(DrawingError::NegativeRadius {
            file,
            entity,
            radius: radius * scale,
        })
    };
    match &entity.shape {
        Some(Shape::Line { from, to }) => {
            let (from, to) = (scaled(*from)?, scaled(*to)?);
            if from.distance(to) <= COINCIDENT {
                return Ok(Strand::Nothing);
            }
            Ok(Strand::Open(vec![Edge::line(from, to, source)]))
        }
        Some(Shape::Circle { center, radius }) => {
            Ok(circle(scaled(*center)?, sized(*radius)?, source))
        }
        Some(Shape::Arc {
            center,
            radius,
            from_deg,
            to_deg,
            mirrored,
        }) => {
            let (center, radius) = (scaled(*center)?, sized(*radius)?);
            Ok(arc(center, radius, [*from_deg, *to_deg], *mirrored, source))
        }
        Some(Shape::Polyline { vertices, closed }) => {
            let vertices = vertices.iter().map(|v| {
                Ok(Vertex {
                    at: scaled(v.at)?,
                    bulge: v.bulge,
                })
            });
            let vertices: Vec<Vertex> = vertices.collect::<Result<_, _>>()?;
            Ok(polyline(&vertices, *closed, source))
        }
        Some(Shape::Tilted) => {
            let (file, entity) = name();
            Err(DrawingError::Tilted { file, entity })
        }
        None => Ok(Strand::Nothing),
    }
}

fn circle(center: Point, radius: f64, source: SourceId) -> Strand {
    if radius <= COINCIDENT {
        return Strand::Nothing;
    }
    Strand::Ring(Ring::circle(center, radius, source))
}

fn arc(center: Point, radius: f64, deg: [f64; 2], mirrored: bool, source: SourceId) -> Strand {
    let turn = deg[1] - deg[0];
    let turn = turn - 360.0 * (turn / 360.0).floor();
    if !(FULL_TURN_SLACK_DEG..=360.0 - FULL_TURN_SLACK_DEG).contains(&turn) {
        return circle(center, radius, source);
    }
    if radius * units::radians(turn) <= COINCIDENT {
        return Strand::Nothing;
    }
    let [start, end] = deg.map(|d| {
        let out = direction(d);
        let out = if mirrored {
            Point::new(-out.x, out.y)
        } else {
            out
        };
        center + out * radius
    });
    Strand::Open(vec![Edge::arc(
        start, end, center, radius, !mirrored, source,
    )])
}

/// The unit vector at an angle in degrees, exact at quarter turns.
fn direction(deg: f64) -> Point {
    if deg % 90.0 == 0.0 {
        return Rotation::from_degrees(deg).apply(Point::new(1.0, 0.0));
    }
    let (sin, cos) = angle::sin_cos(units::radians(deg));
    Point::new(cos, sin)
}

fn polyline(vertices: &[Vertex], closed: bool, source: SourceId) -> Strand {
    // Vertices that repeat the one before: the later one's bulge is that of the way onward.
    let mut kept: Vec<Vertex> = Vec::with_capacity(vertices.len());
    for vertex in vertices {
        match kept.last_mut() {
            Some(last) if last.at.distance(vertex.at) <= COINCIDENT => last.bulge = vertex.bulge,
            _ => kept.push(*vertex),
        }
    }
    if closed {
        while kept.len() > 1 && kept[0].at.distance(kept[kept.len() - 1].at) <= COINCIDENT {
            kept.pop();
        }
    }
    let n_edges = if closed {
        kept.len()
    } else {
        kept.len().saturating_sub(1)
    };
    if kept.len() < 2 {
        return Strand::Nothing;
    }
    let edges: Vec<Edge> = (0..n_edges)
        .map(|i| bulged(kept[i], kept[(i + 1) % kept.len()].at, source))
        .collect();
    if !closed {
        return Strand::Open(edges);
    }
    Ring::new(edges.clone()).map_or(Strand::Open(edges), |ring| Strand::Ring(as_circle(ring)))
}

fn bulged(from: Vertex, to: Point, source: SourceId) -> Edge {
    let edge = Edge::from_bulge(from.at, to, from.bulge, source);
    match edge.curve {
        Curve::Arc { radius, .. } if radius > STRAIGHT_RADIUS => Edge::line(from.at, to, source),
        _ => edge,
    }
}

/// The exact circle in place of a ring whose arcs are all of one circle and turn once around it.
pub(super) fn as_circle(ring: Ring) -> Ring {
    let first = ring.edges()[0];
    let Curve::Arc {
        center,
        radius,
        ccw,
    } = first.curve
    else {
        return ring;
    };
    let same = |e: &Edge| match e.curve {
        Curve::Arc {
            center: c,
            radius: r,
            ccw: turn,
        } => turn == ccw && c.distance(center) <= COINCIDENT && (r - radius).abs() <= COINCIDENT,
        Curve::Line => false,
    };
    let turns: f64 = ring.edges().iter().map(Edge::sweep).sum();
    let once = (turns.abs() - std::f64::consts::TAU).abs() * radius <= 4.0 * COINCIDENT;
    if ring.edges().iter().all(same) && once {
        return Ring::circle(center, radius, first.source);
    }
    ring
}
