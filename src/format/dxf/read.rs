//! Reads a DXF file.
//!
//! In: bytes. Out: the document. Steps: 1. what the file lists (`scan`), plain curves read with it (`plain`); 2. the crate
//! `dxf` reads the other curves (`curves`), and each listed entity gets its own. 3. Object frames: an extrusion along −z mirrors x of arcs, circles, polylines, hatches and placed blocks (the
//! arbitrary axis algorithm gives the x axis (−1, 0, 0) there and keeps y); lines, ellipses and splines are in the drawing's
//! frame whatever their extrusion says, but an ellipse turns the other way round.

use std::f64::consts::TAU;

use dxf::Vector;
use dxf::entities::{Ellipse, EntityType, Insert as ReadInsert, Polyline};

use crate::format::dxf::error::DxfError;
use crate::format::dxf::scan::{FILLED, Listing, Record, listed, scan};
use crate::format::dxf::{At, Block, Document, Entity, Insert, Shape, Spline, Vertex};
use crate::format::dxf::{curves, hatch, quad};
use crate::geometry::angle;
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;
use crate::geometry::tolerance::GRID;

/// Reads the bytes of a DXF file, as text or binary, from R12 on.
///
/// # Errors
/// `NotDxf`, `Malformed`, `Truncated`, `NotFinite`, `Broken`, `Lost`: see [`DxfError`].
pub fn read(bytes: &[u8]) -> Result<Document, DxfError> {
    // Where anything cannot be read the crate tells what: it looks at what follows too.
    document(bytes, scan(bytes)?).or_else(|_| document(bytes, listed(bytes, false)?))
}

/// The document of a file that is listed.
pub(super) fn document(bytes: &[u8], mut listing: Listing) -> Result<Document, DxfError> {
    let mut found = curves::read(bytes, &mut listing)?;
    let mut blocks = Vec::with_capacity(listing.blocks.len());
    for block in listing.blocks {
        blocks.push(Block {
            base: block.base,
            entities: entities(block.records, Some(&block.name), &mut found)?,
            name: block.name,
        });
    }
    Ok(Document {
        unit: listing.unit,
        layers: listing.layers,
        entities: entities(listing.records, None, &mut found)?,
        blocks,
    })
}

/// The listed entities with the curves that were read.
fn entities(
    records: Vec<Record>,
    block: Option<&str>,
    found: &mut [Option<Found>],
) -> Result<Vec<Entity>, DxfError> {
    let mut entities = Vec::with_capacity(records.len());
    for record in records {
        let mut name = record.name;
        name.within = block.map(Into::into);
        let shape = match record.curve {
            Some(place) => match found.get_mut(place as usize).and_then(Option::take) {
                Some(Found::Curve(shape)) => Some(shape),
                Some(Found::Mesh(mesh)) => {
                    name.kind = mesh.into();
                    None
                }
                None => return Err(DxfError::Lost { entity: name }),
            },
            None => filled(&name.kind, &record.numbers),
        };
        entities.push(Entity {
            name,
            invisible: record.invisible,
            on_paper: record.on_paper,
            shape: match (shape, record.places) {
                // As the blocks' own names are read.
                (Some(Shape::Insert(insert)), Some(block)) => {
                    Some(Shape::Insert(Box::new(Insert { block, ..*insert })))
                }
                (shape, _) => shape,
            },
        });
    }
    Ok(entities)
}

/// The frame of an entity in its plane.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Frame {
    Upright,
    Mirrored,
    Tilted,
}

/// The frame that belongs to a normal.
pub(super) fn frame(normal: &Vector) -> Frame {
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
pub(super) fn placed(frame: Frame, x: f64, y: f64) -> Point {
    // Adding zero turns −0 into 0.
    Point::new(if frame == Frame::Mirrored { -x } else { x } + 0.0, y + 0.0)
}

/// What the reader of geometry says is wrong, in words that need no knowledge of it.
pub(super) fn broken(error: &dxf::DxfError, place: &dyn Fn(usize) -> At) -> DxfError {
    use dxf::DxfError as E;
    let of_pair;
    let (what, at) = match error {
        E::ParseFloatError(_, at) => ("a number is expected", Some(*at)),
        E::ParseIntError(_, at) => ("a whole number is expected", Some(*at)),
        E::UnexpectedEnumValue(at) => ("a value that the format does not have", Some(*at)),
        E::ExpectedTableType(at) => ("a table without a name (group 2)", Some(*at)),
        E::WrongValueType(at) => (
            "a value of another kind than its group code asks for",
            Some(*at),
        ),
        E::UnexpectedByte(_, at) | E::ParseError(at) => ("a value that cannot be read", Some(*at)),
        E::UnexpectedCode(code, at) => {
            of_pair = format!("a value that the format does not have, just before group {code}");
            (of_pair.as_str(), Some(*at))
        }
        E::UnexpectedCodePair(pair, _) => {
            of_pair = format!(
                "a value that the format does not have, just before group {}",
                pair.code
            );
            (of_pair.as_str(), Some(pair.offset))
        }
        E::UnexpectedEndOfInput => ("the file ends inside of a section", None),
        _ => (
            "the file holds text or bytes that are none of the format's",
            None,
        ),
    };
    DxfError::Broken {
        what: what.to_owned(),
        at: at.map(place),
    }
}

/// What an entity that is read turns out to be.
pub(super) enum Found {
    Curve(Shape),
    /// A surface; what messages call it.
    Mesh(&'static str),
}

/// Kind and curve of an entity that is read.
pub(super) fn curve(entity: &EntityType) -> Option<(&'static str, Found)> {
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
        return Some((kind, Found::Curve(Shape::Tilted)));
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
        EntityType::Polyline(chain) => match mesh(chain) {
            Some(mesh) => return Some((kind, Found::Mesh(mesh))),
            None => Some(polyline(chain, frame)),
        },
        EntityType::Ellipse(ellipse) => Some(elliptic(ellipse, frame)),
        EntityType::Spline(spline) => Some(splined(spline)),
        EntityType::Insert(insert) => Some(inserted(insert, frame)),
        _ => None,
    };
    Some((kind, Found::Curve(shape?)))
}

/// A vertex of an entity's plane in the drawing's frame.
pub(super) fn vertex(frame: Frame, x: f64, y: f64, bulge: f64) -> Vertex {
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
    pub(super) const MESH: i32 = 16;
    pub(super) const POLYFACE: i32 = 64;
    /// Of a vertex: a control point of a curve that was fitted through others.
    pub(super) const CONTROL: i32 = 16;
}

/// A chain of vertices. Of one that a curve was fitted through only the curve's own vertices count, not the frame of its
/// control points.
fn polyline(chain: &Polyline, frame: Frame) -> Shape {
    let kept = || chain.vertices().filter(|v| v.flags & flag::CONTROL == 0);
    if chain.flags & flag::IN_SPACE != 0 {
        let mut heights = kept().map(|v| v.location.z);
        let first = heights.next().unwrap_or(0.0);
        if heights.any(|z| (z - first).abs() > GRID) {
            return Shape::Tilted;
        }
    }
    Shape::Polyline {
        vertices: kept()
            .map(|v| vertex(frame, v.location.x, v.location.y, v.bulge))
            .collect(),
        closed: chain.flags & flag::CLOSED != 0,
    }
}

/// What a POLYLINE is called that is no chain but a surface.
fn mesh(chain: &Polyline) -> Option<&'static str> {
    let has = |flag: i32| chain.flags & flag != 0;
    if has(flag::POLYFACE) {
        Some("POLYLINE (polyface mesh)")
    } else {
        has(flag::MESH).then_some("POLYLINE (mesh)")
    }
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

/// The outlines of a filled area, or none of its plane where it is not that of the drawing; `None` for other kinds.
fn filled(kind: &str, numbers: &[(i32, f64)]) -> Option<Shape> {
    if !FILLED.contains(&kind) {
        return None;
    }
    let last = |code: i32| {
        let found = numbers.iter().rev().find(|n| n.0 == code);
        found.map(|n| n.1)
    };
    let normal = Vector {
        x: last(210).unwrap_or(0.0),
        y: last(220).unwrap_or(0.0),
        z: last(230).unwrap_or(1.0),
    };
    let outlines = match frame(&normal) {
        Frame::Tilted => None,
        frame if kind == "HATCH" => Some(hatch::outlines(numbers, frame == Frame::Mirrored)),
        frame => quad::outline(numbers, frame),
    };
    Some(outlines.map_or(Shape::Tilted, Shape::Filled))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    #[test]
    fn an_entity_that_only_the_scanner_knows_is_named_with_its_line() {
        let text = "0\nSECTION\n2\nENTITIES\n0\nLINE\n5\n2F\n8\nFACE\n0\nENDSEC\n0\nEOF\n";
        let records = scan(text.as_bytes()).unwrap().records;
        let error = entities(records, None, &mut [None]).unwrap_err();
        assert_eq!(
            error.to_string(),
            "LINE 2F in layer FACE could not be read: the pairs of code and value from line 6 on make none"
        );
    }
}
