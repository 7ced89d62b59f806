//! What is refused while a DXF file is read, before anything is known of outlines.

use crate::format::dxf::EntityName;

/// Why a file could not be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DxfError {
    /// A file of no bytes, or of blanks only.
    #[error("the file is empty")]
    Empty,
    /// Too large to be read.
    #[error("the file has {bytes} bytes; at most {limit} are read")]
    TooLarge {
        /// Its size.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
    /// Something else under the name of a drawing.
    #[error("the file is not a DXF drawing{}", looks_like.map(|l| format!(", it looks like {l}")).unwrap_or_default())]
    NotDxf {
        /// What its first bytes say.
        looks_like: Option<&'static str>,
    },
    /// A pair of code and value that breaks the format.
    #[error("{what} at {}", place(*at, *binary))]
    Malformed {
        /// What is wrong.
        what: &'static str,
        /// Line of a text file, byte of a binary one.
        at: usize,
        /// Whether the file is a binary one.
        binary: bool,
    },
    /// No end mark.
    #[error("the file ends at {} without its end mark (0/EOF): it is cut short", place(*at, *binary))]
    Truncated {
        /// Line of a text file, byte of a binary one.
        at: usize,
        /// Whether the file is a binary one.
        binary: bool,
    },
    /// A coordinate that is none.
    #[error("{entity}: the value of group {code} at {} is not a finite number", place(*at, *binary))]
    NotFinite {
        /// Whose.
        entity: EntityName,
        /// Its group code.
        code: i32,
        /// Line of a text file, byte of a binary one.
        at: usize,
        /// Whether the file is a binary one.
        binary: bool,
    },
    /// The reader of geometry gave up.
    #[error("the drawing could not be read")]
    Reader {
        /// What it says.
        #[source]
        source: dxf::DxfError,
    },
    /// The reader of geometry told other entities than the file lists.
    #[error("{listed} entities with a curve are listed in the file, but {read} could be read")]
    Lost {
        /// How many the file lists.
        listed: usize,
        /// How many were read, as far as they agree.
        read: usize,
    },
}

fn place(at: usize, binary: bool) -> String {
    format!("{} {at}", if binary { "byte" } else { "line" })
}
