//! Pieces on sheets.
//!
//! In: a `Problem` of items, sheets and distances; nothing here knows of seams. Out: a certified `Layout`, its cost, or what
//! found no place.
//!
//! Steps: [`construct_best`] lays items down in several orders and by several rules, each at the corner of exact contacts that
//! the rule likes best, on sheets in several orders; [`improve()`] takes items off again and lays them down otherwise, and
//! keeps what is better; on a sheet sold by length ([`rolls`]) [`Loosening`] lets items overlap and moves them until none
//! does, shorter and shorter, and where all are rectangles on one such sheet fills gaps corner by corner first; over several sheets [`Regrouping`] does the
//! same with fewer or cheaper ones; [`add_fill`] adds items that need not be placed, on sheets that are used anyway; where nothing could be laid so, [`Jigsaw`]
//! looks for a sheet that the items fill and [`Founding`] loosens them from nothing; [`certify()`] checks
//! every distance on true lines and arcs from the numbers as written, on a code path of its own.
//!
//! Sheets sold by length and jobs of parts alone come here as they are: an item for each part, a `Stock` with `by_length`
//! whose cost falls with the length used. The problem stays the same from round to round, so what [`Ground`] works out of it
//! is made once, and so are [`Shapes`] and [`Market`]; a [`Loosening`] and a [`Regrouping`] belong to a lane and go on from
//! round to round.
//!
//! Guarantees: all functions depend on their arguments alone; `improve` never returns a worse layout; a layout that is
//! returned was tested with the same limits as `certify` has.
//!
//! Words: an *orientation* is a kind of item mirrored and turned in a way that is allowed; a *spot* is an item on a sheet.

mod area;
mod certify;
mod collision;
mod construct;
mod corner;
mod cost;
mod improve;
mod jigsaw;
mod lean;
mod loosen;
mod orientation;
mod pins;
mod place;
mod raster;
pub mod seed;
mod sets;
mod shapes;
mod solid;

pub use area::{grown_area, room_area};
pub use certify::certify;
pub use construct::construct_best;
pub use cost::{cost, cost_of, used_length};
pub use improve::{add_fill, improve, improve_with};
pub use jigsaw::Jigsaw;
pub use loosen::{Founding, Ground, Loosening, Market, Regrouping, rolls};
pub use shapes::Shapes;
