//! Spelling, not meaning: how lengths, numbers, drawings and stock are written in files, both ways.
//!
//! In: text or values. Out: values or text. Nothing here knows what a layer, a seam or a plan is for.

pub mod dxf;
pub mod file_kind;
pub mod number;
pub mod quantity;
pub mod shown;
pub mod stock_toml;
pub mod svg;
