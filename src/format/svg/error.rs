//! What is refused while an SVG file is read, before anything is known of outlines.

use crate::format::dxf::EntityName;

/// Why a file could not be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SvgError {
    /// Something else under the name of a drawing.
    #[error("the file is not an SVG drawing: {what}")]
    NotSvg {
        /// What it is instead.
        what: String,
    },
    /// Text that is no XML.
    #[error("the file is no sound XML: {what}")]
    Xml {
        /// What is wrong, with line and column.
        what: String,
    },
    /// An entity of the document type that lies in another file.
    #[error("the entity {name:?} at line {line} lies in another file; other files are never read")]
    OutsideEntity {
        /// Its name.
        name: String,
        /// Where it is used.
        line: usize,
    },
    /// Entities that grow beyond what is admitted.
    #[error(
        "the entities of the document type grow to {grown} bytes; at most {limit} are admitted"
    )]
    Entities {
        /// Their size, expanded.
        grown: u64,
        /// The limit.
        limit: u64,
    },
    /// An entity inside of itself.
    #[error("the entity {name:?} of the document type holds itself")]
    EntityCycle {
        /// Its name.
        name: String,
    },
    /// Entities inside of entities, deeper than is admitted.
    #[error("the entity {name:?} of the document type holds others more than {limit} levels deep")]
    EntityLevels {
        /// Its name.
        name: String,
        /// The limit.
        limit: usize,
    },
    /// More nodes, levels or elements than are admitted.
    #[error("{}", too_many(what, *count, *limit))]
    TooMany {
        /// What is counted, as the limit is called.
        what: &'static str,
        /// How many, where it is known.
        count: Option<u64>,
        /// The limit.
        limit: u64,
    },
    /// More name spaces than the reader of XML can tell apart.
    #[error(
        "the drawing declares more than {limit} XML name spaces (`xmlns:…`), which is the most that can be read"
    )]
    NameSpaces {
        /// The most.
        limit: u32,
    },
    /// `use` inside of what it repeats.
    #[error("{element} repeats itself")]
    Cycle {
        /// The element.
        element: EntityName,
    },
    /// An attribute that cannot be read.
    #[error("{element}: {attribute}={value:?} {why}")]
    Attribute {
        /// The element.
        element: Box<EntityName>,
        /// Its attribute.
        attribute: String,
        /// What stands there, shortened.
        value: String,
        /// What is wrong with it.
        why: String,
    },
}

fn too_many(what: &str, count: Option<u64>, limit: u64) -> String {
    match (what, count) {
        ("attributes", Some(count)) => {
            format!("an element has {count} attributes; at most {limit} are admitted")
        }
        ("matches", Some(count)) => format!(
            "elements times rules of style sheets come to {count} matches; at most {limit} are admitted"
        ),
        ("name-spaces", Some(count)) => format!(
            "its XML name spaces (`xmlns:…`) are compared {count} times with the names of elements within; at most {limit} are \
             admitted"
        ),
        ("depth", _) => format!("elements lie more than {limit} levels deep"),
        (_, Some(count)) => {
            format!("the drawing comes to {count} {what}; at most {limit} are admitted")
        }
        (_, None) => format!("the drawing has more than the {limit} {what} that are admitted"),
    }
}
