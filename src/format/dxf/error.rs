//! What is refused while a DXF file is read, before anything is known of outlines.

use crate::format::dxf::{At, EntityName};

/// Why a file could not be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DxfError {
    /// Something that does not begin with a section.
    #[error("the file is not a DXF drawing: it does not begin with a section (0/SECTION)")]
    NotDxf,
    /// A pair of code and value that breaks the format.
    #[error("{what} at {at}")]
    Malformed {
        /// What is wrong.
        what: &'static str,
        /// Where.
        at: At,
    },
    /// No end mark.
    #[error("the file ends at {at} without its end mark (0/EOF): it is cut short")]
    Truncated {
        /// Where.
        at: At,
    },
    /// A coordinate that is none.
    #[error("{entity}: the value of group {code} at {at} is not a finite number")]
    NotFinite {
        /// Whose.
        entity: EntityName,
        /// Its group code.
        code: i32,
        /// Where.
        at: At,
    },
    /// Something else in the file breaks the format.
    #[error("{what}{}", at.map(|at| format!(" at {at}")).unwrap_or_default())]
    Broken {
        /// What is wrong.
        what: String,
        /// Where, as far as it is known.
        at: Option<At>,
    },
    /// An entity that stands in the file but makes no curve.
    #[error("{entity} could not be read: the pairs of code and value from {} on make none", entity.at)]
    Lost {
        /// Which.
        entity: EntityName,
    },
}
