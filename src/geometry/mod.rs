//! Plane geometry of lines and circular arcs, exact where it can be.
//!
//! In: numbers in millimetres and radians. Out: regions whose edges are lines or circular arcs and carry the id of
//! what they came from, and the operations on them. Nothing here knows of layers, seams, pieces or sheets.
//!
//! Words: an *edge* is one line or arc; a *ring* is a closed chain of edges; a *region* is one connected area with an
//! outer ring (counter-clockwise) and holes (clockwise); a *path* is an open chain of edges.

pub mod affine;
pub mod angle;
pub mod bezier;
pub mod biarc;
pub mod boolean;
pub mod bounds;
pub mod box_tree;
pub mod check;
pub mod clear_box;
pub mod course;
pub mod crossing;
pub mod distance;
pub mod edge;
pub mod ellipse;
pub mod error;
pub mod groups;
pub mod label;
pub(crate) mod near_boxes;
pub mod nurbs;
pub mod offset;
pub mod path;
pub mod point;
pub mod predicate;
pub mod region;
pub mod ring;
pub mod spatial_index;
pub mod tolerance;
pub mod transform;
pub mod units;

mod overlay;
mod plainly;
mod retrace;
mod weld;
