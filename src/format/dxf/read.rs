//! Reads a DXF file.
//!
//! In: bytes. Out: the document. Steps: 1. limits and what the file lists (`scan`); 2. the crate `dxf` reads the curves
//! (`curves`), and each listed entity gets its own. 3. Object frames: an extrusion along −z mirrors x of arcs, circles, polylines, hatches and placed blocks (the
//! arbitrary axis algorithm gives the x axis (−1, 0, 0) there and keeps y); lines, ellipses and splines are in the drawing's
//! frame whatever their extrusion says, but an ellipse turns the other way round.

use std::f64::consts::TAU;

use dxf::Vector;
use dxf::entities::{Ellipse, EntityType, Insert as ReadInsert, Polyline};

use crate::format::dxf::error::DxfError;
use crate::format::dxf::scan::{HATCH, Record, scan};
use crate::format::dxf::{Block, Document, Entity, Insert, Shape, Spline, Vertex};
use crate::format::dxf::{curves, hatch};
use crate::geometry::angle;
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;
use crate::geometry::tolerance::GRID;

/// Reads the bytes of a DXF file, as text or binary, from R12 on, no more than `limit` of them.
///
/// # Errors
/// `Empty`, `TooLarge`, `NotDxf`, `Malformed`, `Truncated`, `NotFinite`, `Reader`, `Lost`: see [`DxfError`].
pub fn read(bytes: &[u8], limit: u64) -> Result<Document, DxfError> {
    if bytes.trim_ascii().is_empty() {
        return Err(DxfError::Empty);
    }
    if bytes.len() as u64 > limit {
        return Err(DxfError::TooLarge {
            bytes: bytes.len() as u64,
            limit,
        });
    }
    let listing = scan(bytes)?;
    let mut shapes = curves::read(bytes, &listing)?;
    let blocks = listing.blocks.into_iter().map(|block| Block {
        base: block.base,
        entities: entities(block.records, Some(&block.name), &mut shapes),
        name: block.name,
    });
    let blocks = blocks.collect();
    Ok(Document {
        unit: listing.unit,
        layers: listing.layers,
        entities: entities(listing.records, None, &mut shapes),
        blocks,
    })
}

/// The listed entities with the curves that were read.
fn entities(
    records: Vec<Record>,
    block: Option<&str>,
    shapes: &mut [Option<Shape>],
) -> Vec<Entity> {
    let entity = |record: Record| {
        let mut name = record.name;
        name.within = block.map(Into::into);
        let shape = match record.curve {
            Some(place) => shapes.get_mut(place as usize).and_then(Option::take),
            None => (&*name.kind == HATCH).then(|| hatched(&record.numbers)),
        };
        Entity {
            name,
            invisible: record.invisible,
            on_paper: record.on_paper,
            shape,
        }
    };
    records.into_iter().map(entity).collect()
}

/// The frame of an entity in its plane.
#[derive(Clone, Copy, PartialEq)]
enum Frame {
    Upright,
    Mirrored,
    Tilted,
}

fn frame(normal: &Vector) -> Frame {
    let across = normal.x.abs().max(normal.y.abs());
    if across > 1e-9 * normal.z.abs() {
        Frame::Tilted
    } else if normal.z < 0.0 {
        Frame::Mirrored
    } else {
        Frame::Upright
    }
}

/// A point of an entity's plane in the drawing's frame.
fn placed(frame: Frame, x: f64, y: f64) -> Point {
    // Adding zero turns −0 into 0.
    Point::new(if frame == Frame::Mirrored { -x } else { x } + 0.0, y + 0.0)
}

/// Kind and curve of an entity that is read; a mesh has no curve.
pub(super) fn curve(entity: &EntityType) -> Option<(&'static str, Option<Shape>)> {
    let kind_and_frame = match entity {
        EntityType::Line(_) => ("LINE", Frame::Upright),
        EntityType::Arc(arc) => ("ARC", frame(&arc.normal)),
        EntityType::Circle(circle) => ("CIRCLE", frame(&circle.normal)),
        EntityType::LwPolyline(chain) => ("LWPOLYLINE", frame(&chain.extrusion_direction)),
        EntityType::Polyline(chain) => ("POLYLINE", frame(&chain.normal)),
        EntityType::Ellipse(ellipse) => ("ELLIPSE", frame(&ellipse.normal)),
        EntityType::Spline(_) => ("SPLINE", Frame::Upright),
        EntityType::Insert(insert) => ("INSERT", frame(&insert.extrusion_direction)),
        _ => return None,
    };
    let (kind, frame) = kind_and_frame;
    if frame == Frame::Tilted {
        return Some((kind, Some(Shape::Tilted)));
    }
    let shape = match entity {
        EntityType::Line(line) if (line.p1.z - line.p2.z).abs() > GRID => Some(Shape::Tilted),
        EntityType::Line(line) => Some(Shape::Line {
            from: placed(frame, line.p1.x, line.p1.y),
            to: placed(frame, line.p2.x, line.p2.y),
        }),
        EntityType::Arc(arc) => Some(Shape::Arc {
            center: placed(frame, arc.center.x, arc.center.y),
            radius: arc.radius,
            from_deg: arc.start_angle,
            to_deg: arc.end_angle,
            mirrored: frame == Frame::Mirrored,
        }),
        EntityType::Circle(circle) => Some(Shape::Circle {
            center: placed(frame, circle.center.x, circle.center.y),
            radius: circle.radius,
        }),
        EntityType::LwPolyline(chain) => Some(Shape::Polyline {
            vertices: chain
                .vertices
                .iter()
                .map(|v| vertex(frame, v.x, v.y, v.bulge))
                .collect(),
            closed: chain.is_closed(),
        }),
        EntityType::Polyline(chain) => polyline(chain, frame),
        EntityType::Ellipse(ellipse) => Some(elliptic(ellipse, frame)),
        EntityType::Spline(spline) => Some(splined(spline)),
        EntityType::Insert(insert) => Some(inserted(insert, frame)),
        _ => None,
    };
    Some((kind, shape))
}

fn vertex(frame: Frame, x: f64, y: f64, bulge: f64) -> Vertex {
    Vertex {
        at: placed(frame, x, y),
        bulge: if frame == Frame::Mirrored {
            -bulge
        } else {
            bulge
        },
    }
}

/// Flags of a POLYLINE and of its vertices.
mod flag {
    pub(super) const CLOSED: i32 = 1;
    pub(super) const IN_SPACE: i32 = 8;
    pub(super) const MESH: i32 = 16 | 64;
    /// Of a vertex: a control point of a curve that was fitted through others.
    pub(super) const CONTROL: i32 = 16;
}

/// A chain of vertices. Of one that a curve was fitted through only the curve's own vertices count, not the frame of its
/// control points.
fn polyline(chain: &Polyline, frame: Frame) -> Option<Shape> {
    if chain.flags & flag::MESH != 0 {
        return None;
    }
    let kept = || chain.vertices().filter(|v| v.flags & flag::CONTROL == 0);
    if chain.flags & flag::IN_SPACE != 0 {
        let mut heights = kept().map(|v| v.location.z);
        let first = heights.next().unwrap_or(0.0);
        if heights.any(|z| (z - first).abs() > GRID) {
            return Some(Shape::Tilted);
        }
    }
    Some(Shape::Polyline {
        vertices: kept()
            .map(|v| vertex(frame, v.location.x, v.location.y, v.bulge))
            .collect(),
        closed: chain.flags & flag::CLOSED != 0,
    })
}

fn elliptic(ellipse: &Ellipse, frame: Frame) -> Shape {
    let axis = Point::new(ellipse.major_axis.x, ellipse.major_axis.y);
    // The minor axis is the extrusion × the major one.
    let sense = if frame == Frame::Mirrored { -1.0 } else { 1.0 };
    let turn = ellipse.end_parameter - ellipse.start_parameter;
    let whole = turn != 0.0 && (turn.abs() - TAU).abs() <= 1e-9 || turn == 0.0;
    let turn = if whole { TAU } else { angle::positive(turn) };
    Shape::Ellipse(EllipticArc {
        center: Point::new(ellipse.center.x, ellipse.center.y),
        u: axis,
        v: axis.left() * (ellipse.minor_axis_ratio * sense),
        from: ellipse.start_parameter,
        to: ellipse.start_parameter + turn,
    })
}

fn splined(spline: &dxf::entities::Spline) -> Shape {
    let points = |points: &[dxf::Point]| points.iter().map(|p| Point::new(p.x, p.y)).collect();
    let direction = |p: &dxf::Point| {
        let direction = Point::new(p.x, p.y);
        (direction.length() > 0.0).then_some(direction)
    };
    let all = || spline.control_points.iter().chain(&spline.fit_points);
    let first = all().next().map_or(0.0, |p| p.z);
    if all().any(|p| (p.z - first).abs() > GRID) {
        return Shape::Tilted;
    }
    Shape::Spline(Box::new(Spline {
        degree: spline.degree_of_curve.into(),
        knots: spline.knot_values.clone(),
        points: points(&spline.control_points),
        weights: spline.weight_values.clone(),
        fit: points(&spline.fit_points),
        closed: spline.is_closed(),
        start: direction(&spline.start_tangent),
        end: direction(&spline.end_tangent),
    }))
}

fn inserted(insert: &ReadInsert, frame: Frame) -> Shape {
    let count = |n: i16| usize::try_from(n).unwrap_or(0).max(1);
    Shape::Insert(Box::new(Insert {
        block: insert.name.as_str().into(),
        at: Point::new(insert.location.x, insert.location.y),
        scale: [insert.x_scale_factor, insert.y_scale_factor],
        deg: insert.rotation,
        count: [count(insert.column_count), count(insert.row_count)],
        spacing: [insert.column_spacing, insert.row_spacing],
        mirrored: frame == Frame::Mirrored,
    }))
}

/// The outlines of a hatch, or none of its plane where it is not that of the drawing.
fn hatched(numbers: &[(i32, f64)]) -> Shape {
    let last = |code: i32| {
        let found = numbers.iter().rev().find(|n| n.0 == code);
        found.map(|n| n.1)
    };
    let normal = Vector {
        x: last(210).unwrap_or(0.0),
        y: last(220).unwrap_or(0.0),
        z: last(230).unwrap_or(1.0),
    };
    match frame(&normal) {
        Frame::Tilted => Shape::Tilted,
        frame => Shape::Hatch(hatch::outlines(numbers, frame == Frame::Mirrored)),
    }
}
