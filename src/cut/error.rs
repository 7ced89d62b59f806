//! Why a piece cannot be cut.

use thiserror::Error;

use crate::geometry::error::GeometryError;
use crate::model::fault::{Fault, Place};

/// A failure of the cut stage.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum CutError {
    /// The middle of the cut around a piece could not be drawn.
    #[error("piece {piece}: the middle of a cut {cut_width} mm wide could not be drawn around it")]
    Contour {
        /// The piece's id.
        piece: String,
        /// Width of the cut.
        cut_width: f64,
        /// What geometry says.
        #[source]
        source: GeometryError,
    },
}

impl CutError {
    /// Code, place and remedy.
    pub fn fault(&self) -> Fault {
        match self {
            Self::Contour { source, .. } => {
                let (x, y) = source.place();
                let hint = format!(
                    "look at the drawing near ({x:.2}, {y:.2}) for a slot or web about as wide as the cut; `compensate = false` leaves the offset to the machine"
                );
                Fault::new("C101", format!("{self}: {source}"), Place::None).hint(hint)
            }
        }
    }
}
