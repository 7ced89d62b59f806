//! Writes a DXF file.
//!
//! In: layers, and entities in the order in which they are to stand. Out: bytes, the same every time: no clock, no random
//! ids, numbers through [`number`].
//!
//! R2000 has all its sections, every table entry and entity with a handle and its owner, and one extent for viewers. R12
//! has tables and entities, and POLYLINE for LWPOLYLINE; it knows no unit and no mark that keeps a layer from being
//! plotted. Entities carry no colour or line type of their own: both are by layer.

use crate::format::dxf::Vertex;
use crate::format::number::{FINE_DECIMALS, number};
use crate::geometry::angle;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Edge;
use crate::geometry::path::Path;
use crate::geometry::point::Point;
use crate::geometry::ring::Ring;

/// Decimals of a bulge: on a chord of 10 m, half of the last one moves the middle of the arc by 2.5e-9 mm.
const BULGE_DECIMALS: usize = 12;

/// The largest bulge that is written; an arc beyond it is written as two halves. It stands for 304°: closer to a full turn
/// the chord is so short that its rounding would show in the radius.
const MAX_BULGE: f64 = 4.0;

/// The release of the format.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Release {
    /// R2000 (AC1015).
    R2000,
    /// R12 (AC1009).
    R12,
}

/// A layer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layer {
    /// Its name.
    pub name: String,
    /// Its colour index, 1 to 255; 7 is black or white, whichever shows.
    pub color: u8,
    /// Whether it is plotted.
    pub plotted: bool,
}

/// An entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// The name of its layer.
    pub layer: String,
    /// Its curve: a circle, a polyline or a line; others are left out.
    pub shape: Contour,
}

/// What is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// The release.
    pub release: Release,
    /// The layers. One name stands once: the first that has it decides.
    pub layers: Vec<Layer>,
    /// The entities in order.
    pub entities: Vec<Drawn>,
}

/// What is written.
#[derive(Clone, Debug, PartialEq)]
pub enum Contour {
    /// A straight line.
    Line {
        /// One end.
        from: Point,
        /// The other.
        to: Point,
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
}

impl Contour {
    /// The shape of a ring: a circle where it is one, else a closed polyline.
    pub fn of_ring(ring: &Ring) -> Self {
        match ring.as_circle() {
            Some((center, radius)) => Self::Circle { center, radius },
            None => Self::closed_polyline(ring),
        }
    }

    /// A ring as a closed polyline, a circle as one of two half circles.
    pub fn closed_polyline(ring: &Ring) -> Self {
        Self::Polyline {
            vertices: vertices(ring.edges()),
            closed: true,
        }
    }

    /// The shape of a path: an open polyline.
    pub fn of_path(path: &Path) -> Self {
        let mut vertices = vertices(path.edges());
        vertices.push(Vertex {
            at: path.end(),
            bulge: 0.0,
        });
        Self::Polyline {
            vertices,
            closed: false,
        }
    }
}

/// A vertex for the beginning of every edge, and in the middle of those that turn almost all the way round.
fn vertices(edges: &[Edge]) -> Vec<Vertex> {
    let mut vertices = Vec::with_capacity(edges.len());
    for edge in edges {
        let bulge = edge.bulge();
        if bulge.abs() <= MAX_BULGE {
            vertices.push(Vertex {
                at: edge.start,
                bulge,
            });
        } else {
            let half = angle::tan(edge.sweep() / 8.0);
            for at in [edge.start, edge.at(0.5)] {
                vertices.push(Vertex { at, bulge: half });
            }
        }
    }
    vertices
}

/// The bytes of a file.
pub fn write(output: &Output) -> Vec<u8> {
    let mut layers: Vec<Layer> = Vec::new();
    for layer in &output.layers {
        let name = layer_name(&layer.name);
        if !layers.iter().any(|l| same_name(&l.name, &name)) {
            layers.push(Layer { name, ..*layer });
        }
    }
    layers.retain(|l| l.name != "0");
    let bounds = output
        .entities
        .iter()
        .fold(Bounds::EMPTY, |b, e| b.join(extent(&e.shape)));
    let mut tags = Tags::default();
    match output.release {
        Release::R2000 => r2000(&mut tags, &layers, &output.entities, bounds),
        Release::R12 => r12(&mut tags, &layers, &output.entities, bounds),
    }
    tags.text.chars().map(letter).collect()
}

/// A letter in the code page of the file, Windows-1252, where it is that of Latin-1; names hold no others.
fn letter(c: char) -> u8 {
    u8::try_from(u32::from(c)).unwrap_or(b'_')
}

/// Whether two names are one layer: names are compared without case.
fn same_name(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

/// A layer's name as the format can hold it: letters beyond Latin-1 escaped, and what the format forbids as `_`.
fn layer_name(name: &str) -> String {
    let mut written = String::new();
    for c in name.trim().chars() {
        match c {
            '<' | '>' | '/' | '\\' | '"' | ':' | ';' | '?' | '*' | '|' | '=' | '`' | ',' => {
                written.push('_');
            }
            c if c.is_control() => written.push('_'),
            c if c.is_ascii() || ('\u{a0}'..='\u{ff}').contains(&c) => written.push(c),
            c => {
                let mut units = [0; 2];
                for unit in c.encode_utf16(&mut units) {
                    written.push_str(&format!("\\U+{unit:04X}"));
                }
            }
        }
    }
    if written.is_empty() {
        written.push('0');
    }
    written
}

/// The box around the points of a shape; of a polyline, its vertices and the middles of its arcs, which is what viewers need.
fn extent(shape: &Contour) -> Bounds {
    match shape {
        Contour::Circle { center, radius } => Bounds::of_points([*center]).grown(radius.abs()),
        Contour::Line { from, to } => Bounds::of_points([*from, *to]),
        Contour::Polyline { vertices, .. } => {
            let middles = vertices.iter().zip(vertices.iter().cycle().skip(1));
            let middles = middles.map(|(a, b)| {
                let chord = b.at - a.at;
                a.at.toward(b.at, 0.5) - chord.left() * (0.5 * a.bulge)
            });
            Bounds::of_points(vertices.iter().map(|v| v.at).chain(middles))
        }
    }
}

/// Tags as they are put together.
#[derive(Default)]
struct Tags {
    text: String,
    /// The last handle given.
    last: u32,
}

impl Tags {
    fn tag(&mut self, code: u16, value: &str) {
        self.text.push_str(&format!("{code:>3}\n{value}\n"));
    }

    fn tags(&mut self, tags: &[(u16, &str)]) {
        for (code, value) in tags {
            self.tag(*code, value);
        }
    }

    fn whole(&mut self, code: u16, value: usize) {
        self.tag(code, &value.to_string());
    }

    fn real(&mut self, code: u16, value: f64, decimals: usize) {
        let text = number(value, decimals);
        // Some readers take a number without a point for a whole one.
        let point = if text.contains('.') { "" } else { ".0" };
        self.tag(code, &format!("{text}{point}"));
    }

    fn length(&mut self, code: u16, value: f64) {
        self.real(code, value, FINE_DECIMALS);
    }

    fn point(&mut self, code: u16, p: Point) {
        self.length(code, p.x);
        self.length(code + 10, p.y);
    }

    fn point_in_space(&mut self, code: u16, p: Point) {
        self.point(code, p);
        self.length(code + 20, 0.0);
    }

    /// A new handle under a code.
    fn handle(&mut self, code: u16) -> String {
        self.last += 1;
        let handle = format!("{:X}", self.last);
        self.tag(code, &handle);
        handle
    }

    fn section(&mut self, name: &str) {
        self.tags(&[(0, "SECTION"), (2, name)]);
    }

    fn header(&mut self, variable: &str, code: u16, value: &str) {
        self.tags(&[(9, variable), (code, value)]);
    }

    fn extents(&mut self, bounds: Bounds) {
        let bounds = if bounds.is_empty() {
            Bounds::of_points([Point::new(0.0, 0.0)])
        } else {
            bounds
        };
        for (variable, corner) in [("$EXTMIN", bounds.min), ("$EXTMAX", bounds.max)] {
            self.tag(9, variable);
            self.point_in_space(10, corner);
        }
    }
}

/// R12: header, tables, no blocks, entities.
fn r12(tags: &mut Tags, layers: &[Layer], entities: &[Drawn], bounds: Bounds) {
    tags.section("HEADER");
    tags.header("$ACADVER", 1, "AC1009");
    tags.header("$DWGCODEPAGE", 3, "ANSI_1252");
    tags.extents(bounds);
    tags.tag(0, "ENDSEC");
    tags.section("TABLES");
    tags.tags(&[(0, "TABLE"), (2, "LTYPE"), (70, "1"), (0, "LTYPE")]);
    tags.tags(&[(2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65")]);
    tags.tags(&[(73, "0"), (40, "0.0"), (0, "ENDTAB"), (0, "TABLE")]);
    tags.tag(2, "LAYER");
    tags.whole(70, layers.len() + 1);
    let zero = Layer {
        name: String::from("0"),
        color: 7,
        plotted: true,
    };
    for layer in std::iter::once(&zero).chain(layers) {
        tags.tags(&[(0, "LAYER"), (2, &layer.name), (70, "0")]);
        tags.whole(62, layer.color.into());
        tags.tag(6, "CONTINUOUS");
    }
    tags.tags(&[(0, "ENDTAB"), (0, "ENDSEC")]);
    tags.section("BLOCKS");
    tags.tag(0, "ENDSEC");
    tags.section("ENTITIES");
    for entity in entities {
        r12_entity(tags, &layer_name(&entity.layer), &entity.shape);
    }
    tags.tags(&[(0, "ENDSEC"), (0, "EOF")]);
}

fn r12_entity(tags: &mut Tags, layer: &str, shape: &Contour) {
    match shape {
        Contour::Circle { center, radius } => {
            tags.tags(&[(0, "CIRCLE"), (8, layer)]);
            tags.point_in_space(10, *center);
            tags.length(40, *radius);
        }
        Contour::Line { from, to } => {
            tags.tags(&[(0, "LINE"), (8, layer)]);
            tags.point_in_space(10, *from);
            tags.point_in_space(11, *to);
        }
        Contour::Polyline { vertices, closed } => {
            tags.tags(&[(0, "POLYLINE"), (8, layer), (66, "1")]);
            tags.point_in_space(10, Point::new(0.0, 0.0));
            tags.whole(70, usize::from(*closed));
            for vertex in vertices {
                tags.tags(&[(0, "VERTEX"), (8, layer)]);
                tags.point_in_space(10, vertex.at);
                if vertex.bulge != 0.0 {
                    tags.real(42, vertex.bulge, BULGE_DECIMALS);
                }
            }
            tags.tags(&[(0, "SEQEND"), (8, layer)]);
        }
    }
}

/// Handles that entities and blocks refer to.
struct Spaces {
    model: String,
    paper: String,
}

fn r2000(tags: &mut Tags, layers: &[Layer], entities: &[Drawn], bounds: Bounds) {
    // The header tells the first free handle, which is known at the end: it is put together last and stands first.
    let mut rest = Tags::default();
    rest.section("CLASSES");
    rest.tag(0, "ENDSEC");
    let spaces = r2000_tables(&mut rest, layers, bounds);
    rest.section("BLOCKS");
    for (name, owner, on_paper) in [
        ("*Model_Space", &spaces.model, false),
        ("*Paper_Space", &spaces.paper, true),
    ] {
        r2000_block(&mut rest, name, owner, on_paper);
    }
    rest.tag(0, "ENDSEC");
    rest.section("ENTITIES");
    for entity in entities {
        let layer = layer_name(&entity.layer);
        r2000_entity(&mut rest, &layer, &spaces.model, &entity.shape);
    }
    rest.tag(0, "ENDSEC");
    r2000_objects(&mut rest);
    rest.tag(0, "EOF");

    tags.section("HEADER");
    tags.header("$ACADVER", 1, "AC1015");
    tags.header("$DWGCODEPAGE", 3, "ANSI_1252");
    tags.header("$HANDSEED", 5, &format!("{:X}", rest.last + 1));
    tags.header("$INSUNITS", 70, "4");
    tags.header("$MEASUREMENT", 70, "1");
    tags.extents(bounds);
    tags.tag(0, "ENDSEC");
    tags.text.push_str(&rest.text);
}

/// A table with its entries; each entry adds its own tags after the common ones. Gives the entries' handles.
fn table(
    tags: &mut Tags,
    name: &str,
    class: &str,
    entries: &[&str],
    mut fill: impl FnMut(&mut Tags, usize),
) -> Vec<String> {
    tags.tags(&[(0, "TABLE"), (2, name)]);
    let own = tags.handle(5);
    tags.tags(&[(330, "0"), (100, "AcDbSymbolTable")]);
    tags.whole(70, entries.len());
    if name == "DIMSTYLE" {
        tags.tags(&[(100, "AcDbDimStyleTable"), (71, "0")]);
    }
    let mut handles = Vec::new();
    for (i, entry) in entries.iter().enumerate() {
        tags.tag(0, name);
        handles.push(tags.handle(if name == "DIMSTYLE" { 105 } else { 5 }));
        tags.tags(&[(330, &own), (100, "AcDbSymbolTableRecord")]);
        tags.tags(&[(100, class), (2, entry)]);
        if name != "BLOCK_RECORD" {
            tags.tag(70, "0");
        }
        fill(tags, i);
    }
    tags.tag(0, "ENDTAB");
    handles
}

fn r2000_tables(tags: &mut Tags, layers: &[Layer], bounds: Bounds) -> Spaces {
    tags.section("TABLES");
    table(
        tags,
        "VPORT",
        "AcDbViewportTableRecord",
        &["*Active"],
        |t, _| {
            view(t, bounds);
        },
    );
    let types = ["ByBlock", "ByLayer", "Continuous"];
    table(tags, "LTYPE", "AcDbLinetypeTableRecord", &types, |t, i| {
        t.tag(3, if i == 2 { "Solid line" } else { "" });
        t.tags(&[(72, "65"), (73, "0"), (40, "0.0")]);
    });
    let mut names = vec!["0"];
    names.extend(layers.iter().map(|l| l.name.as_str()));
    table(tags, "LAYER", "AcDbLayerTableRecord", &names, |t, i| {
        let own = i.checked_sub(1).and_then(|k| layers.get(k));
        t.whole(62, own.map_or(7, |l| l.color.into()));
        t.tag(6, "Continuous");
        t.whole(290, own.is_none_or(|l| l.plotted).into());
        t.tag(370, "-3");
    });
    table(
        tags,
        "STYLE",
        "AcDbTextStyleTableRecord",
        &["Standard"],
        |t, _| {
            t.tags(&[(40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0")]);
            t.tags(&[(42, "2.5"), (3, "txt"), (4, "")]);
        },
    );
    table(tags, "VIEW", "", &[], |_, _| {});
    table(tags, "UCS", "", &[], |_, _| {});
    table(tags, "APPID", "AcDbRegAppTableRecord", &["ACAD"], |_, _| {});
    table(
        tags,
        "DIMSTYLE",
        "AcDbDimStyleTableRecord",
        &["Standard"],
        |_, _| {},
    );
    let spaces = ["*Model_Space", "*Paper_Space"];
    let mut handles = table(
        tags,
        "BLOCK_RECORD",
        "AcDbBlockTableRecord",
        &spaces,
        |_, _| {},
    );
    tags.tag(0, "ENDSEC");
    let paper = handles.pop().unwrap_or_default();
    let model = handles.pop().unwrap_or_default();
    Spaces { model, paper }
}

/// The view that a viewer opens with: all of the drawing, with a little room around.
fn view(tags: &mut Tags, bounds: Bounds) {
    let shown = if bounds.is_empty() {
        Bounds::of_points([Point::new(0.0, 0.0)]).grown(100.0)
    } else {
        bounds.grown(0.05 * bounds.width().max(bounds.depth()).max(1.0))
    };
    tags.point(10, Point::new(0.0, 0.0));
    tags.point(11, Point::new(1.0, 1.0));
    tags.point(12, shown.center());
    tags.point(13, Point::new(0.0, 0.0));
    tags.point(14, Point::new(10.0, 10.0));
    tags.point(15, Point::new(10.0, 10.0));
    tags.tags(&[(16, "0.0"), (26, "0.0"), (36, "1.0")]);
    tags.point_in_space(17, Point::new(0.0, 0.0));
    tags.length(40, shown.depth().max(shown.width() / 1.5));
    tags.tags(&[(41, "1.5"), (42, "50.0"), (43, "0.0"), (44, "0.0")]);
    tags.tags(&[(50, "0.0"), (51, "0.0"), (71, "0"), (72, "100"), (73, "1")]);
    tags.tags(&[(74, "3"), (75, "0"), (76, "0"), (77, "0"), (78, "0")]);
}

fn r2000_block(tags: &mut Tags, name: &str, owner: &str, on_paper: bool) {
    for (kind, class) in [("BLOCK", "AcDbBlockBegin"), ("ENDBLK", "AcDbBlockEnd")] {
        tags.tag(0, kind);
        tags.handle(5);
        tags.tags(&[(330, owner), (100, "AcDbEntity")]);
        if on_paper {
            tags.tag(67, "1");
        }
        tags.tags(&[(8, "0"), (100, class)]);
        if kind == "BLOCK" {
            tags.tags(&[(2, name), (70, "0")]);
            tags.point_in_space(10, Point::new(0.0, 0.0));
            tags.tags(&[(3, name), (1, "")]);
        }
    }
}

fn r2000_entity(tags: &mut Tags, layer: &str, owner: &str, shape: &Contour) {
    let (kind, class) = match shape {
        Contour::Circle { .. } => ("CIRCLE", "AcDbCircle"),
        Contour::Line { .. } => ("LINE", "AcDbLine"),
        Contour::Polyline { .. } => ("LWPOLYLINE", "AcDbPolyline"),
    };
    tags.tag(0, kind);
    tags.handle(5);
    tags.tags(&[(330, owner), (100, "AcDbEntity"), (8, layer), (100, class)]);
    match shape {
        Contour::Circle { center, radius } => {
            tags.point_in_space(10, *center);
            tags.length(40, *radius);
        }
        Contour::Line { from, to } => {
            tags.point_in_space(10, *from);
            tags.point_in_space(11, *to);
        }
        Contour::Polyline { vertices, closed } => {
            tags.whole(90, vertices.len());
            tags.whole(70, usize::from(*closed));
            tags.tag(43, "0.0");
            for vertex in vertices {
                tags.point(10, vertex.at);
                if vertex.bulge != 0.0 {
                    tags.real(42, vertex.bulge, BULGE_DECIMALS);
                }
            }
        }
    }
}

/// The root dictionary with its one required entry.
fn r2000_objects(tags: &mut Tags) {
    tags.section("OBJECTS");
    tags.tag(0, "DICTIONARY");
    let root = tags.handle(5);
    let groups = format!("{:X}", tags.last + 1);
    tags.tags(&[(330, "0"), (100, "AcDbDictionary"), (281, "1")]);
    tags.tags(&[(3, "ACAD_GROUP"), (350, &groups), (0, "DICTIONARY")]);
    tags.handle(5);
    tags.tags(&[
        (330, &root),
        (100, "AcDbDictionary"),
        (281, "1"),
        (0, "ENDSEC"),
    ]);
}
