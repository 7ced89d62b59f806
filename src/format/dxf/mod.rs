//! DXF, the drawing exchange format: files read into neutral entities, and neutral entities written.
//!
//! In: the bytes of a file, or entities with their layers. Out: entities as drawn, in the drawing's own unit and frame, or
//! bytes. Nothing here knows what an outline is for, or chains one.
//!
//! [`read()`] walks the file twice: an own scanner (`pairs`, `scan`) lists every entity with its layer, handle and line,
//! and the crate `dxf` reads the geometry; both must tell the same entities in the same order, so nothing is lost without
//! a word. [`write()`] puts the tags together itself: the crate's files need repairs in a strict reader (tables without
//! handles, no record that owns the entities), carry the clock and the local time zone, and cannot be opened as R12.
//!
//! Conventions: angles in degrees, as the format has them; x and y as in the file, after an extrusion along −z has been
//! undone.
//!
//! Source: Autodesk's "DXF Reference", the groups of HEADER, TABLES, BLOCKS, ENTITIES, from memory; what is written is
//! checked with ezdxf.

use crate::geometry::point::Point;

pub mod color_index;
pub mod error;
pub mod insunits;
mod pairs;
mod read;
mod scan;
mod write;

pub use read::read;
pub use write::{Drawn, Layer, Output, Release, write};

/// Largest file that is read, in bytes: 60,000 polylines of 20 vertices take 85 MB, far beyond any fixture, and reading
/// takes about five times the file in memory.
pub const MAX_BYTES: usize = 64 << 20;

/// A file as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// `$INSUNITS`: `None` where the header has none.
    pub unit: Option<i64>,
    /// The layer table.
    pub layers: Vec<LayerEntry>,
    /// The entities in the order of the file, those inside of blocks left out.
    pub entities: Vec<Entity>,
}

/// An entry of the layer table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayerEntry {
    /// Its name.
    pub name: String,
    /// Whether it is frozen.
    pub frozen: bool,
    /// Whether it is switched off.
    pub off: bool,
}

/// What names an entity in a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EntityName {
    /// `LINE`, `ARC` and so on.
    pub kind: Box<str>,
    /// Its handle, where the file has handles.
    pub handle: Option<Box<str>>,
    /// Its layer.
    pub layer: Box<str>,
    /// Where it begins: the line of a text file, the byte of a binary one.
    pub at: usize,
}

impl std::fmt::Display for EntityName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.handle {
            Some(handle) => write!(f, "{} {handle} in layer {}", self.kind, self.layer),
            None => write!(
                f,
                "the {} at line {} in layer {}",
                self.kind, self.at, self.layer
            ),
        }
    }
}

/// One entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Entity {
    /// How a message names it.
    pub name: EntityName,
    /// Whether it is marked as invisible.
    pub invisible: bool,
    /// Whether it lies on a paper layout, not in the model.
    pub on_paper: bool,
    /// Its curve; `None` for kinds that are not read.
    pub shape: Option<Shape>,
}

/// What an entity draws.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A straight line.
    Line {
        /// One end.
        from: Point,
        /// The other.
        to: Point,
    },
    /// A circular arc, counter-clockwise from one angle to the other unless `mirrored`.
    Arc {
        /// Centre.
        center: Point,
        /// Radius.
        radius: f64,
        /// Angle of its start, in degrees.
        from_deg: f64,
        /// Angle of its end, in degrees.
        to_deg: f64,
        /// Whether x runs to the left: angles are taken from −x, clockwise. The centre is in the drawing's frame.
        mirrored: bool,
    },
    /// A circle.
    Circle {
        /// Centre.
        center: Point,
        /// Radius.
        radius: f64,
    },
    /// A chain of lines and arcs.
    Polyline {
        /// Its vertices.
        vertices: Vec<Vertex>,
        /// Whether the last runs on to the first.
        closed: bool,
    },
    /// A curve that leaves the plane of the drawing.
    Tilted,
}

/// A vertex of a polyline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// Where.
    pub at: Point,
    /// Of the way to the next vertex: the tangent of a quarter of its angle, positive to the left, 0 for a line.
    pub bulge: f64,
}
