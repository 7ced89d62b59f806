//! DXF, the drawing exchange format: files read into neutral entities, and neutral entities written.
//!
//! In: the bytes of a file, or entities with their layers. Out: entities as drawn, in the drawing's own unit and frame, or
//! bytes. Nothing here knows what an outline is for, or chains one.
//!
//! [`read()`] walks the file: an own scanner (`pairs`, `scan`) lists every entity with its layer, handle and line, and reads
//! lines, arcs, circles and lightweight polylines as far as they are plain (`plain`). The crate `dxf` reads the geometry of
//! what else was listed (`curves`; dates of the header make it panic); both must tell the same entities in the same order, so
//! nothing is lost without a word. Outlines of filled areas, which the crate drops or of which a corner may lack, are read
//! from the scanner's pairs (`hatch`, `quad`). [`write()`] puts the tags together itself: the crate's files need repairs in a strict
//! reader (tables without
//! handles, no record that owns the entities), carry the clock and the local time zone, and cannot be opened as R12.
//!
//! Conventions: angles in degrees, as the format has them; x and y as in the file, after an extrusion along −z has been
//! undone.
//!
//! Source: Autodesk's "DXF Reference", the groups of HEADER, TABLES, BLOCKS, ENTITIES, from memory; what is written is
//! checked with ezdxf.

use crate::format::shown::shown;
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;

pub mod color_index;
mod curves;
pub mod error;
mod hatch;
pub mod insunits;
mod pairs;
mod plain;
mod quad;
mod read;
mod scan;
mod write;

pub use read::read;
pub use scan::FILLED;
pub use write::{Contour, Drawn, Layer, Output, Release, write};

/// A file as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// `$INSUNITS`: `None` where the header has none.
    pub unit: Option<i64>,
    /// The layer table.
    pub layers: Vec<LayerEntry>,
    /// The entities in the order of the file, those inside of blocks left out.
    pub entities: Vec<Entity>,
    /// The blocks in the order of the file.
    pub blocks: Vec<Block>,
}

/// A block: entities that INSERTs place.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Its name.
    pub name: Box<str>,
    /// The point that comes to lie where an INSERT says.
    pub base: Point,
    /// What it holds.
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
    /// Where it begins.
    pub at: At,
    /// The block that holds it.
    pub within: Option<Box<str>>,
}

/// A place in a file, from which something is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// A line of a text file, from 1.
    Line(usize),
    /// A byte of a binary file, from 0.
    Byte(usize),
    /// The line of an element of an XML file: told beside its name too, since editors of text find lines, while drawing
    /// programs find handles.
    Element(usize),
}

impl std::fmt::Display for At {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Line(line) | Self::Element(line) => write!(f, "line {line}"),
            Self::Byte(byte) => write!(f, "byte {byte}"),
        }
    }
}

impl std::fmt::Display for EntityName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.handle {
            Some(handle) => write!(f, "{} {}", shown(&self.kind), shown(handle))?,
            None => write!(f, "the {}", shown(&self.kind))?,
        }
        if self.handle.is_none() || matches!(self.at, At::Element(_)) {
            write!(f, " at {}", self.at)?;
        }
        if let Some(block) = &self.within {
            write!(f, " of block {}", shown(block))?;
        }
        if self.layer.is_empty() {
            return Ok(());
        }
        write!(f, " in layer {}", shown(&self.layer))
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
    /// An ellipse or an arc of one.
    Ellipse(EllipticArc),
    /// A B-spline curve.
    Spline(Box<Spline>),
    /// A block placed, once or in rows and columns.
    Insert(Box<Insert>),
    /// A filled area: for each of its outlines the curves along it.
    Filled(Vec<Vec<Shape>>),
    /// A curve that leaves the plane of the drawing.
    Tilted,
}

/// A B-spline curve as written: by control points, or by points that it goes through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spline {
    /// Its degree.
    pub degree: i64,
    /// Its knots.
    pub knots: Vec<f64>,
    /// Its control points.
    pub points: Vec<Point>,
    /// Their weights; none where all are 1.
    pub weights: Vec<f64>,
    /// Points that it goes through.
    pub fit: Vec<Point>,
    /// Whether it closes.
    pub closed: bool,
    /// Direction at its first fit point.
    pub start: Option<Point>,
    /// Direction at its last fit point.
    pub end: Option<Point>,
}

/// Where a block is placed.
#[derive(Clone, Debug, PartialEq)]
pub struct Insert {
    /// The block's name.
    pub block: Box<str>,
    /// Where its base point comes to lie, in the entity's plane.
    pub at: Point,
    /// Scale along its x and y; negative mirrors.
    pub scale: [f64; 2],
    /// Turn in degrees.
    pub deg: f64,
    /// Columns and rows.
    pub count: [usize; 2],
    /// Distances of columns and of rows, along the turned axes.
    pub spacing: [f64; 2],
    /// Whether the entity's plane is seen from below: all of it is mirrored in x at last.
    pub mirrored: bool,
}

/// A vertex of a polyline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// Where.
    pub at: Point,
    /// Of the way to the next vertex: the tangent of a quarter of its angle, positive to the left, 0 for a line.
    pub bulge: f64,
}
