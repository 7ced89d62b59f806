//! Reads a DXF file.
//!
//! In: bytes. Out: the document. Steps: 1. limits and what the file lists (`scan`); 2. the crate `dxf` reads the curves;
//! 3. each listed entity gets its curve, in the order of the file; a difference between the two is an error. 4. Object
//! frames: an extrusion along −z mirrors x of arcs, circles and polylines (the arbitrary axis algorithm gives the x axis
//! (−1, 0, 0) there and keeps y); lines are in the drawing's frame whatever their extrusion says.

use dxf::Vector;
use dxf::entities::EntityType;

use crate::format::dxf::error::DxfError;
use crate::format::dxf::scan::{READ, scan};
use crate::format::dxf::{Document, Entity, MAX_BYTES, Shape, Vertex};
use crate::geometry::point::Point;
use crate::geometry::tolerance::GRID;

/// Reads the bytes of a DXF file, as text or binary, from R12 on.
///
/// # Errors
/// `Empty`, `TooLarge`, `NotDxf`, `Malformed`, `Truncated`, `NotFinite`, `Reader`, `Lost`: see [`DxfError`].
pub fn read(bytes: &[u8]) -> Result<Document, DxfError> {
    if bytes.trim_ascii().is_empty() {
        return Err(DxfError::Empty);
    }
    if bytes.len() > MAX_BYTES {
        return Err(DxfError::TooLarge {
            bytes: bytes.len(),
            limit: MAX_BYTES,
        });
    }
    let listing = scan(bytes)?;
    let mut file = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let drawing = dxf::Drawing::load(&mut file).map_err(|source| DxfError::Reader { source })?;
    let mut curves = drawing.entities().filter_map(|e| curve(&e.specific));
    let listed = |kind: &str| READ.contains(&kind);
    let total = listing.records.iter().filter(|r| listed(&r.name.kind));
    let total = total.count();
    let mut n_read = 0;
    let mut entities = Vec::with_capacity(listing.records.len());
    for record in listing.records {
        let mut shape = None;
        if listed(&record.name.kind) {
            let curve = curves
                .next()
                .filter(|(kind, _)| **kind == *record.name.kind);
            let (_, found) = curve.ok_or(DxfError::Lost {
                listed: total,
                read: n_read,
            })?;
            n_read += 1;
            shape = Some(found);
        }
        entities.push(Entity {
            name: record.name,
            invisible: record.invisible,
            on_paper: record.on_paper,
            shape,
        });
    }
    Ok(Document {
        unit: listing.unit,
        layers: listing.layers,
        entities,
    })
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

/// Kind and curve of an entity that is read.
fn curve(entity: &EntityType) -> Option<(&'static str, Shape)> {
    let kind_and_frame = match entity {
        EntityType::Line(_) => ("LINE", Frame::Upright),
        EntityType::Arc(arc) => ("ARC", frame(&arc.normal)),
        EntityType::Circle(circle) => ("CIRCLE", frame(&circle.normal)),
        EntityType::LwPolyline(chain) => ("LWPOLYLINE", frame(&chain.extrusion_direction)),
        _ => return None,
    };
    let (kind, frame) = kind_and_frame;
    if frame == Frame::Tilted {
        return Some((kind, Shape::Tilted));
    }
    let shape = match entity {
        EntityType::Line(line) if (line.p1.z - line.p2.z).abs() > GRID => Shape::Tilted,
        EntityType::Line(line) => Shape::Line {
            from: placed(frame, line.p1.x, line.p1.y),
            to: placed(frame, line.p2.x, line.p2.y),
        },
        EntityType::Arc(arc) => Shape::Arc {
            center: placed(frame, arc.center.x, arc.center.y),
            radius: arc.radius,
            from_deg: arc.start_angle,
            to_deg: arc.end_angle,
            mirrored: frame == Frame::Mirrored,
        },
        EntityType::Circle(circle) => Shape::Circle {
            center: placed(frame, circle.center.x, circle.center.y),
            radius: circle.radius,
        },
        EntityType::LwPolyline(chain) => Shape::Polyline {
            vertices: chain
                .vertices
                .iter()
                .map(|v| Vertex {
                    at: placed(frame, v.x, v.y),
                    bulge: if frame == Frame::Mirrored {
                        -v.bulge
                    } else {
                        v.bulge
                    },
                })
                .collect(),
            closed: chain.is_closed(),
        },
        _ => return None,
    };
    Some((kind, shape))
}
