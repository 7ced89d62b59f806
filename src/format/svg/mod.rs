//! SVG, scalable vector graphics: files read into neutral shapes, and the curves of what is written.
//!
//! In: the bytes of a file. Out: what it draws, shape by shape, each with the map from its own frame to mm, y up; or text.
//! Shapes are handed over one after the other and kept by nobody here: all of a large drawing's take more room than its edges.
//! Nothing here knows what an outline is for, or chains one.
//!
//! Steps of [`read()`]: 1. `entities`: what a document type's entities would grow to, before they are expanded, and
//! `attributes`, `name_spaces` (both by `tags`): what elements have and declare, before that is compared; 2. the crate `roxmltree` reads the
//! XML; 3. `count`: what `use` would repeat, before it is repeated; 4. `walk`: elements in the order of the file, with their
//! maps (`frame`, `pages`), styles (`style`, `style_sheets`, `sheet`, `unread`) and curves (`shape`, `path_data`).
//!
//! Conventions: a page's upper left corner is the origin, x runs right and y up; a user unit without a size of the page is a
//! CSS pixel, 96 to the inch. Nothing outside of the file is ever opened.
//!
//! Source: W3C Recommendation "Scalable Vector Graphics (SVG) 1.1 (Second Edition)", chapters 5 (structure), 7 (coordinate
//! systems), 8 (paths), 9 (basic shapes), F.6 (elliptical arcs), and "CSS Values and Units", absolute lengths; from memory.

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::format::dxf::EntityName;
use crate::geometry::affine::Affine;
use crate::geometry::course::Course;
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;

mod attributes;
mod context;
mod count;
mod entities;
pub mod error;
mod frame;
mod name_spaces;
mod pages;
mod path_data;
mod plain_path;
mod read;
mod shape;
mod sheet;
mod style;
mod style_sheets;
mod tags;
mod unread;
mod walk;
pub mod write_path;
mod xml_fault;

pub use frame::MM_PER_PX;
pub use read::read;

/// How much a file may ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// Nodes of the XML tree.
    pub nodes: u32,
    /// Levels of elements, those that `use` repeats counted.
    pub depth: usize,
    /// Elements after `use` has repeated them.
    pub elements: u64,
    /// Bytes to which entities grow; `None` for 8 MiB, or a hundred times the file where that is less.
    pub text: Option<u64>,
    /// Comparisons of elements with rules of style sheets.
    pub matches: u64,
    /// Selectors of style sheets.
    pub rules: u64,
    /// Attributes of one element.
    pub attributes: u64,
    /// Comparisons of XML name spaces.
    pub name_spaces: u64,
}

/// A file as read.
#[derive(Clone, Debug, Default)]
pub struct Document {
    /// How often elements that draw no outline are met, by name.
    pub left_out: BTreeMap<String, usize>,
    /// Branches of `switch` elements beside the one that is drawn, by name of their elements.
    pub other_branches: BTreeMap<String, usize>,
    /// Elements that cut off or repeat what others draw (`clip-path`, `mask`), which are not followed.
    pub not_followed: BTreeMap<String, usize>,
    /// Elements that have no width, no radius or the like, by name: there is nothing of them.
    pub empty: BTreeMap<String, usize>,
    /// `use` elements whose target is not in the file, the first few of them.
    pub without_target: Vec<String>,
    /// How many there are.
    pub n_without_target: usize,
    /// Style sheets and rules of them that are not read, by name.
    pub unread: BTreeMap<String, usize>,
    /// The first style sheet that is not closed: its line.
    pub open_sheet: Option<usize>,
    /// How many outlines are defined, but drawn nowhere; counted where nothing is drawn.
    pub n_defined: usize,
    /// Elements that are refused, the first [`MOST_TOLD`](crate::format::shown::MOST_TOLD) of them; they are not among the shapes.
    pub faults: Vec<error::SvgError>,
    /// How many more.
    pub n_more_faults: usize,
    /// `use` elements, or entities of the document type, that would repeat themselves; where there are any, nothing else of the file is told.
    pub cycles: Vec<error::SvgError>,
    /// Whether the page has a size in absolute units.
    pub sized: bool,
    /// Names of groups.
    pub groups: Vec<String>,
}

/// A group, and those around it.
#[derive(Clone, Debug)]
pub struct Group {
    /// Its `id` and its label, where it has them.
    pub names: [Option<Box<str>>; 2],
    /// The one around it.
    pub parent: Option<Rc<Group>>,
    /// How many are around it.
    pub depth: usize,
}

/// A page or viewport that cuts off what lies outside of it.
#[derive(Clone, Debug)]
pub struct Window {
    /// Its sides, asked for by every shape: the direction out of it, of length 1, and how far in mm the side lies in that
    /// direction from the origin.
    pub sides: [(Point, f64); 4],
    /// The one around it.
    pub around: Option<Rc<Window>>,
}

impl Window {
    /// One with corners in mm, one after the other: it may be turned or sheared, and is a parallelogram.
    pub fn new(corners: [Point; 4], around: Option<Rc<Self>>) -> Self {
        let sides = [0, 1, 2, 3].map(|i: usize| {
            let along = corners[(i + 1) % 4] - corners[i];
            let opposite = corners[(i + 2) % 4] - corners[i];
            // Away from the side that lies opposite, whichever way round the corners are.
            let left = along.left() * (1.0 / along.length());
            let out = if left.dot(opposite) > 0.0 {
                -left
            } else {
                left
            };
            (out, corners[i].dot(out))
        });
        Self { sides, around }
    }
}

/// What one element draws.
#[derive(Clone, Debug)]
pub struct Shape {
    /// How a message names it.
    pub name: EntityName,
    /// From its frame to mm.
    pub map: Affine,
    /// Its curves.
    pub curves: Vec<Curve>,
    /// Whether its inside is painted by the non-zero rule.
    pub nonzero: bool,
    /// The group that holds it.
    pub group: Option<Rc<Group>>,
    /// The page or viewport around it that cuts off what lies outside.
    pub window: Option<Rc<Window>>,
    /// If it is not shown: the depth of the group that hides it, or of itself.
    pub hidden_at: Option<usize>,
}

/// A curve of a shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Curve {
    /// A whole ellipse or circle.
    Ellipse(EllipticArc),
    /// A chain.
    Course(Course),
}
