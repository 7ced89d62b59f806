//! What breaks XML, in words of our own and with its place.

use roxmltree::{Error, TextPos};

use crate::format::shown::shown;
use crate::format::svg::Bounds;
use crate::format::svg::entities;
use crate::format::svg::error::SvgError;

/// Declarations of different name spaces that the reader of XML can tell apart.
const MOST_NAME_SPACES: u32 = (1 << 16) - 1;

/// The error of a text that the XML reader refuses.
pub(super) fn refused(error: &Error, text: &str, limits: &Bounds) -> SvgError {
    if *error == Error::NodesLimitReached {
        return SvgError::TooMany {
            what: "nodes",
            count: None,
            limit: limits.nodes.into(),
        };
    }
    if *error == Error::NamespacesLimitReached {
        return SvgError::NameSpaces {
            limit: MOST_NAME_SPACES,
        };
    }
    let at = place(error, text);
    if let Some(name) = outside_entity(error, at, text) {
        let name = shown(name);
        let line = at.row as usize;
        return SvgError::OutsideEntity { name, line };
    }
    SvgError::Xml {
        what: format!("{} at line {}, column {}", what(error), at.row, at.col),
    }
}

/// Where: what misses its end is missed where the file ends.
fn place(error: &Error, text: &str) -> TextPos {
    match error {
        Error::UnclosedRootNode | Error::UnexpectedEndOfStream | Error::NoRootNode => {
            let text = text.trim_end();
            let last = text.rsplit('\n').next().unwrap_or("");
            let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
            TextPos::new(
                count(text.matches('\n').count() + 1),
                count(last.chars().count() + 1),
            )
        }
        other => other.pos(),
    }
}

/// The name of an entity of another file, where that is what the reader stumbled over.
fn outside_entity<'a>(error: &'a Error, at: TextPos, text: &'a str) -> Option<&'a str> {
    if let Error::UnknownEntityReference(name, _) = error {
        return entities::lies_outside(text, name).then_some(name);
    }
    // One that is to bring further declarations: `%name;`.
    let line = text.split('\n').nth(at.row as usize - 1)?;
    let from = line.char_indices().nth(at.col as usize - 1)?.0;
    let (name, _) = line[from..].strip_prefix('%')?.split_once(';')?;
    entities::lies_outside(text, name).then_some(name)
}

fn what(error: &Error) -> String {
    let quoted = |text: &str| format!("`{}`", shown(text));
    match error {
        Error::UnexpectedCloseTag(open, close, _) => format!(
            "{} stands where {} is to be closed",
            quoted(&format!("</{close}>")),
            quoted(&format!("<{open}>"))
        ),
        Error::DuplicatedAttribute(name, _) => {
            format!("the attribute {} stands twice", quoted(name))
        }
        Error::DuplicatedNamespace(name, _) => {
            format!("the name space {} is declared twice", quoted(name))
        }
        Error::UnknownNamespace(prefix, _) => {
            format!("the prefix {} is not declared", quoted(prefix))
        }
        Error::UnknownEntityReference(name, _) => {
            format!("the entity {} is not declared", quoted(name))
        }
        Error::MalformedEntityReference(_) => String::from("`&` begins no entity"),
        Error::InvalidAttributeValue(_) => String::from("`<` stands inside of an attribute"),
        Error::NonXmlChar(_, _) => String::from("a character that XML does not admit"),
        Error::InvalidName(_) => String::from("a name is expected"),
        Error::InvalidChar(expected, _, _) => {
            format!("{} is expected", quoted(&char::from(*expected).to_string()))
        }
        Error::InvalidChar2(expected, _, _) => format!("{expected} is expected"),
        Error::InvalidString(expected, _) => format!("{} is expected", quoted(expected)),
        Error::InvalidComment(_) => String::from("a comment holds `--`"),
        Error::UnexpectedDeclaration(_) => {
            String::from("an XML declaration that is not at the beginning")
        }
        Error::UnclosedRootNode | Error::UnexpectedEndOfStream => {
            String::from("the file ends before all its elements are closed,")
        }
        Error::NoRootNode => String::from("the file ends without an element"),
        _ => String::from("something that XML does not admit here"),
    }
}
