//! Where the middle of the cut runs.
//!
//! In: a finished shape, the width of the cut. Out: its contours, in the same frame: the outline grown by half the cut,
//! every hole shrunk by it; or the finished shape itself, for a machine that compensates.
//!
//! Steps: outline and holes are moved one by one, so that a hole that closes is known by its place. A full circle stays
//! one, by its radius alone. Edges keep the source of what they are parallel to.
//!
//! Guarantees: with exact moves the cut touches the finished shape everywhere and enters it nowhere. An inside corner of
//! an outline and every corner of a hole keep the radius of the cut: no tool reaches further.

use crate::geometry::{error::GeometryError, offset::offset, region::Region, ring::Ring};

/// What is cut around and in one piece.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Contours {
    /// Around the piece: one ring.
    pub(crate) outer: Vec<Ring>,
    /// In the piece: holes, and bays of the outline whose mouth is too narrow for the cut.
    pub(crate) inner: Vec<Ring>,
    /// Places of holes that are narrower than the cut, in whole or in part.
    pub(crate) lost: Vec<usize>,
    /// Whether the outline has a bay whose mouth is narrower than the cut.
    pub(crate) closed_mouth: bool,
}

/// The contours of a finished shape.
///
/// # Errors
/// What `offset` refuses.
pub(crate) fn contours(
    finished: &Region,
    cut_width: f64,
    compensate: bool,
) -> Result<Contours, GeometryError> {
    let half = cut_width / 2.0;
    if !compensate || half == 0.0 {
        return Ok(Contours {
            outer: vec![finished.outer().clone()],
            inner: finished.holes().to_vec(),
            ..Contours::default()
        });
    }
    let mut found = Contours::default();
    for region in moved(finished.outer(), half)? {
        found.closed_mouth |= !region.holes().is_empty();
        found.inner.extend(region.holes().iter().cloned());
        found.outer.push(region.outer().clone());
    }
    for (place, hole) in finished.holes().iter().enumerate() {
        let shrunk = moved(hole, -half)?;
        if shrunk.len() != 1 {
            found.lost.push(place);
        }
        found
            .inner
            .extend(shrunk.iter().map(|r| r.outer().reversed()));
    }
    Ok(found)
}

/// What a ring encloses, grown by `by`.
fn moved(ring: &Ring, by: f64) -> Result<Vec<Region>, GeometryError> {
    if let Some((center, radius)) = ring.as_circle() {
        let source = ring.edges()[0].source;
        let grown = radius + by;
        return Ok(if grown > 0.0 {
            vec![Region::solid(Ring::circle(center, grown, source))]
        } else {
            Vec::new()
        });
    }
    offset(&[Region::solid(ring.clone())], by)
}
