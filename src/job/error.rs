//! What can be wrong with a job or its stock file. One variant a fact; `fault` adds code, caret text and remedy.

use thiserror::Error;

use crate::format::quantity::{self, QuantityError};
use crate::job::limits::Most;
use crate::model::fault::{Fault, Place};

/// Why a file that the job names was not given.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum ReadFault {
    /// There is none.
    #[error("there is no such file")]
    Missing,
    /// It lies, links resolved, outside the folders that may be read.
    #[error("it lies outside the folders that may be read")]
    Outside,
    /// It is a folder, a device, a pipe.
    #[error("it is no regular file")]
    NotAFile,
    /// It is larger than what is read.
    #[error("it is larger than the {limit} bytes that are read")]
    TooLarge {
        /// The most that is read.
        limit: u64,
    },
    /// The system refuses it.
    #[error("it may not be read")]
    Denied,
    /// Another fault of the disk, in the system's words.
    #[error("it cannot be read: {0}")]
    Other(String),
}

/// One fault of a job or stock file.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum JobError {
    /// A named file was not given.
    #[error("cannot read `{path}`: {fault}")]
    File {
        /// Its path as the job writes it.
        path: String,
        /// Why.
        #[source]
        fault: ReadFault,
    },
    /// A path that is none on every system.
    #[error("`{path}` is no path that every system understands")]
    Path {
        /// As written.
        path: String,
    },
    /// A text file that is no UTF-8.
    #[error("`{path}` is no text: byte {at} is not UTF-8")]
    NotText {
        /// Its path.
        path: String,
        /// Where the first wrong byte is.
        at: usize,
    },
    /// A text file of unreasonable size.
    #[error("`{path}` has {bytes} bytes; a TOML file may have {}", most.count)]
    LongText {
        /// Its path.
        path: String,
        /// Its size.
        bytes: usize,
        /// What is admitted.
        most: Most,
    },
    /// Not TOML.
    #[error("this is not TOML: {message}")]
    Syntax {
        /// What the reader says.
        message: String,
    },
    /// A value of another type.
    #[error("`{key}` must be {wanted}, not {found}")]
    WrongType {
        /// The key.
        key: String,
        /// What is wanted, with its article.
        wanted: &'static str,
        /// What stands there, with its article.
        found: &'static str,
    },
    /// A text that is no length.
    #[error("`{key}` is no length: {fault}")]
    Length {
        /// The key.
        key: String,
        /// Why.
        #[source]
        fault: QuantityError,
    },
    /// A number out of its range.
    #[error("`{key}` is {value}; it must be {range}")]
    Range {
        /// The key.
        key: String,
        /// The value, with its unit.
        value: String,
        /// What is admitted, in words.
        range: String,
        /// The limit that it is above and how much it asks for, where the limit can be lifted.
        above: Option<(Most, u64)>,
    },
    /// A key that nothing reads.
    #[error("unknown key `{key}` in {table}")]
    UnknownKey {
        /// The key.
        key: String,
        /// The table in words.
        table: String,
        /// The nearest known key.
        nearest: Option<&'static str>,
        /// All keys of the table.
        known: &'static [&'static str],
    },
    /// A word that is none of those admitted.
    #[error("`{key}` is {value:?}; it must be one of {words}")]
    Word {
        /// The key.
        key: String,
        /// What stands there.
        value: String,
        /// The words, listed.
        words: String,
        /// The nearest of them.
        nearest: Option<String>,
    },
    /// A required key that is not there.
    #[error("{table} has no `{key}`")]
    Missing {
        /// The key, or keys.
        key: String,
        /// The table in words.
        table: String,
        /// Why it is needed, and an example.
        hint: &'static str,
    },
    /// Two keys that exclude one another.
    #[error("{table} has both `{first}` and `{second}`")]
    Both {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// The table in words.
        table: String,
        /// Which to keep.
        hint: &'static str,
    },
    /// A key that means nothing without another, or beside another.
    #[error("`{key}` has no effect here: {why}")]
    Idle {
        /// The key.
        key: String,
        /// Why.
        why: String,
    },
    /// The width of the cut under the other machine's name.
    #[error("`{key}` belongs to a {belongs}; this cutter is a {kind}")]
    CutKey {
        /// The key that stands there.
        key: &'static str,
        /// The machine that it belongs to.
        belongs: &'static str,
        /// The machine of the job.
        kind: &'static str,
        /// The key to use.
        instead: &'static str,
    },
    /// A spacing that the cut itself would eat.
    #[error("`spacing` is {spacing} mm, less than the cut, which is {cut} mm wide")]
    Spacing {
        /// As asked.
        spacing: f64,
        /// The widest cut of the job.
        cut: f64,
    },
    /// A margin that the cut would leave.
    #[error("`edge_margin` is {margin} mm, less than half of the cut, which is {cut} mm wide")]
    EdgeMargin {
        /// As asked.
        margin: f64,
        /// The widest cut of the job.
        cut: f64,
    },
    /// A thing of the language that this version does not do.
    #[error("{what} is not yet supported")]
    NotYet {
        /// What.
        what: String,
        /// What can be done meanwhile.
        hint: &'static str,
    },
    /// A name that is used twice.
    #[error("{what} {name:?} is given twice")]
    Twice {
        /// What it names.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A name that cannot be one.
    #[error("`{key}` is no name: {why}")]
    Name {
        /// The key.
        key: String,
        /// Why.
        why: String,
    },
    /// A name that is too long.
    #[error("`{key}` is no name: it has {length} characters; at most {} are taken", most.count)]
    LongName {
        /// The key.
        key: String,
        /// How many characters it has.
        length: usize,
        /// What is admitted.
        most: Most,
    },
    /// A feature that the job has not.
    #[error("layer {layer:?} lists the unknown feature {feature:?}")]
    Feature {
        /// The layer.
        layer: String,
        /// The feature.
        feature: String,
        /// All that can be listed.
        known: String,
        /// The nearest of them.
        nearest: Option<String>,
    },
    /// More of something than is taken on.
    #[error("{n} {what}; at most {} are taken on", most.count)]
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many there are.
        n: usize,
        /// How many are taken on.
        most: Most,
    },
    /// Nothing to do.
    #[error("the job has neither a [[layer]] nor a [[part]]")]
    NothingToCut,
    /// A drawing of several shapes where one is wanted.
    #[error("`{path}` holds {n} separate shapes; {what} is one")]
    Shapes {
        /// The drawing.
        path: String,
        /// How many.
        n: usize,
        /// What wants one.
        what: &'static str,
    },
    /// A stock file without sheets.
    #[error("the stock file has no [[sheet]]")]
    EmptyStock,
    /// A polygon that is none.
    #[error("`{key}` is no outline: {why}")]
    Outline {
        /// The key.
        key: String,
        /// Why.
        why: String,
    },
    /// Defects that leave nothing.
    #[error("the defects of sheet {id:?} leave nothing of it")]
    NothingLeft {
        /// The sheet.
        id: String,
    },
}

impl JobError {
    /// The stable code.
    pub fn code(&self) -> &'static str {
        match self {
            Self::File { .. } => "J001",
            Self::Path { .. } => "J002",
            Self::NotText { .. } => "J003",
            Self::LongText { .. } => "J004",
            Self::Syntax { .. } => "J010",
            Self::WrongType { .. } => "J011",
            Self::Length { .. } => "J012",
            Self::Range { .. } => "J013",
            Self::UnknownKey { .. } => "J014",
            Self::Word { .. } => "J015",
            Self::Missing { .. } => "J016",
            Self::Both { .. } => "J017",
            Self::Idle { .. } => "J018",
            Self::CutKey { .. } => "J019",
            Self::Spacing { .. } => "J020",
            Self::EdgeMargin { .. } => "J021",
            Self::NotYet { .. } => "J022",
            Self::Twice { .. } => "J023",
            Self::Name { .. } | Self::LongName { .. } => "J024",
            Self::Feature { .. } => "J025",
            Self::TooMany { .. } => "J026",
            Self::NothingToCut => "J027",
            Self::Shapes { .. } => "J028",
            Self::EmptyStock => "K001",
            Self::Outline { .. } => "K002",
            Self::NothingLeft { .. } => "K003",
        }
    }

    /// The fault at a place.
    pub fn fault(&self, place: Place) -> Fault {
        let mut fault = Fault::new(self.code(), self.to_string(), place).label(self.label());
        fault.hint = self.hint();
        fault
    }

    /// What stands under the caret.
    fn label(&self) -> String {
        match self {
            Self::UnknownKey {
                nearest: Some(near),
                ..
            } => format!("did you mean `{near}`?"),
            Self::Word {
                nearest: Some(near),
                ..
            }
            | Self::Feature {
                nearest: Some(near),
                ..
            } => format!("did you mean {near:?}?"),
            Self::WrongType { wanted, .. } => format!("{wanted} is wanted"),
            Self::Range { range, .. } => format!("must be {range}"),
            Self::Both { second, .. } => format!("`{second}` stands here as well"),
            Self::Spacing { cut, .. } => format!("at least {cut} mm"),
            Self::EdgeMargin { cut, .. } => format!("at least {} mm", cut / 2.0),
            Self::Twice { .. } => String::from("again here"),
            Self::CutKey { instead, .. } => format!("use `{instead}`"),
            _ => String::new(),
        }
    }

    /// What to do.
    fn hint(&self) -> Option<String> {
        match self {
            Self::File { fault, .. } => Some(file_hint(fault)),
            Self::Path { .. } => Some("separate folders by `/`, and leave out control characters".into()),
            Self::NotText { .. } => Some("save the file as UTF-8".into()),
            Self::Length { fault: QuantityError::Comma { better }, .. } => Some(format!("write {better:?}")),
            Self::Length { .. } | Self::WrongType { wanted: "a length", .. } => {
                Some(format!("lengths are written {}", quantity::FORMS))
            }
            Self::UnknownKey { nearest: None, known, .. } => Some(format!("known here: {}", known.join(", "))),
            Self::Feature { nearest: None, known, .. } => Some(format!("known here: {known}")),
            Self::Missing { hint, .. } | Self::Both { hint, .. } | Self::NotYet { hint, .. } => {
                Some((*hint).to_owned()).filter(|h| !h.is_empty())
            }
            Self::Idle { .. } => Some("leave it out".into()),
            Self::CutKey { instead, kind, .. } => Some(format!("give `{instead}`, the width that this {kind} cuts")),
            Self::Spacing { cut, .. } => Some(format!("`spacing = \"{cut} mm\"` is the least; the default leaves half as much again")),
            Self::EdgeMargin { cut, .. } => Some(format!("`edge_margin = \"{} mm\"` is the least", cut / 2.0)),
            Self::LongText { bytes: n, most, .. } | Self::LongName { length: n, most, .. } | Self::TooMany { n, most, .. } => {
                most.remedy(*n as u64)
            }
            Self::Range { above: Some((most, asked)), .. } => most.remedy(*asked),
            Self::Twice { .. } => Some("give each a name of its own".into()),
            Self::NothingToCut => Some("add a [[layer]] with `name`, `material` and `thickness`".into()),
            Self::Shapes { .. } => Some("take one layer of the drawing by `drawing_layer`, or draw each shape in a file of its own".into()),
            Self::EmptyStock => Some("add a [[sheet]] with `id`, `material`, `thickness` and `size`".into()),
            Self::NothingLeft { .. } => Some("take the sheet out of the file, or give it `quantity = 0`".into()),
            _ => None,
        }
    }
}

fn file_hint(fault: &ReadFault) -> String {
    let text = match fault {
        ReadFault::Missing => {
            "paths are relative to the file that names them; mind upper and lower case"
        }
        ReadFault::Outside => {
            "move the file into the job's folder, or name a folder that holds both by `--root DIR`"
        }
        ReadFault::NotAFile => "give the path of a file; devices, pipes and folders are not read",
        ReadFault::TooLarge { .. } => "simplify the drawing, or take out what is not needed",
        ReadFault::Denied => "give yourself the right to read it",
        ReadFault::Other(_) => "see that the disk is there and sound",
    };
    text.to_owned()
}
