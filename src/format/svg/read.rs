//! Reads an SVG file.

use std::borrow::Cow;
use std::collections::BTreeMap;

use roxmltree::{Error, Node, NodeId, ParsingOptions};

use crate::format::dxf::EntityName;
use crate::format::shown::shown;
use crate::format::svg::error::SvgError;
use crate::format::svg::{Bounds, Document, attributes, count, entities, walk};

/// Reads the bytes of an SVG file: UTF-8, UTF-16 with its mark, or Latin-1.
///
/// # Errors
/// All that is wrong, as far as one fault does not hide the next: see [`SvgError`].
pub fn read(bytes: &[u8], limits: &Bounds) -> Result<Document, Vec<SvgError>> {
    if bytes.trim_ascii().is_empty() {
        return Err(vec![SvgError::Empty]);
    }
    if bytes.len() as u64 > limits.bytes {
        return Err(vec![SvgError::TooLarge {
            bytes: bytes.len() as u64,
            limit: limits.bytes,
        }]);
    }
    let text = decoded(bytes).map_err(|error| vec![error])?;
    entities::check(&text, limits.text).map_err(|error| vec![error])?;
    attributes::check(&text, limits.attributes).map_err(|error| vec![error])?;
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: limits.nodes,
        ..ParsingOptions::default()
    };
    let doc = roxmltree::Document::parse_with_options(&text, options);
    let doc = doc.map_err(|error| vec![refused(&error, limits)])?;
    let root = doc.root_element();
    if root.tag_name().name() != "svg" {
        let what = format!(
            "its outermost element is {:?}",
            shown(root.tag_name().name())
        );
        return Err(vec![SvgError::NotSvg { what }]);
    }
    let mut ids = BTreeMap::new();
    for node in doc.descendants().filter(Node::is_element) {
        if let Some(id) = node.attribute("id") {
            // The first of a name counts.
            ids.entry(id).or_insert(node.id());
        }
    }
    let lines = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1));
    let text = Text {
        doc: &doc,
        ids,
        lines: lines.collect(),
    };
    count::check(&text, limits).map_err(|error| vec![error])?;
    walk::document(&text, limits)
}

/// A file with what its elements are looked up by.
pub(super) struct Text<'t, 'i> {
    pub(super) doc: &'t roxmltree::Document<'i>,
    pub(super) ids: BTreeMap<&'t str, NodeId>,
    /// Bytes at which lines begin.
    lines: Vec<usize>,
}

impl Text<'_, '_> {
    /// What names an element in a message.
    pub(super) fn name(&self, node: Node<'_, '_>) -> EntityName {
        EntityName {
            kind: node.tag_name().name().into(),
            handle: node.attribute("id").map(Into::into),
            layer: "".into(),
            at: self.lines.partition_point(|at| *at <= node.range().start),
            within: None,
        }
    }
}

/// The id that a `use` refers to, where it lies in the same file.
pub(super) fn href<'t>(node: Node<'t, '_>) -> Option<&'t str> {
    let found = node.attributes().find(|a| a.name() == "href");
    found?.value().trim().strip_prefix('#')
}

fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, SvgError> {
    let wide = |swap: bool| {
        let units = bytes[2..].chunks_exact(2).map(|pair| {
            if swap {
                u16::from_be_bytes([pair[0], pair[1]])
            } else {
                u16::from_le_bytes([pair[0], pair[1]])
            }
        });
        char::decode_utf16(units)
            .collect::<Result<String, _>>()
            .map(Cow::Owned)
            .map_err(|_| SvgError::NotSvg {
                what: String::from("its UTF-16 is damaged"),
            })
    };
    if bytes.starts_with(b"\xff\xfe") {
        return wide(false);
    }
    if bytes.starts_with(b"\xfe\xff") {
        return wide(true);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let begins = bytes.trim_ascii_start();
    if !begins.starts_with(b"<") {
        let marks: [(&[u8], &str); 7] = [
            (b"%PDF", "it looks like a PDF"),
            (b"PK\x03\x04", "it looks like a ZIP archive"),
            (b"\x89PNG", "it looks like a PNG picture"),
            (b"\xff\xd8\xff", "it looks like a JPEG picture"),
            (b"\x1f\x8b", "it is compressed"),
            (b"0", "it looks like a DXF"),
            (b"AC10", "it looks like a DWG"),
        ];
        let known = marks.iter().find(|(mark, _)| begins.starts_with(mark));
        let what = known.map_or("it does not begin with an element", |(_, what)| what);
        return Err(SvgError::NotSvg {
            what: what.to_owned(),
        });
    }
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        // What declares Latin-1, or nothing, and is no UTF-8: each byte is a letter.
        Err(_) => Cow::Owned(bytes.iter().map(|b| char::from(*b)).collect()),
    })
}

fn refused(error: &Error, limits: &Bounds) -> SvgError {
    match error {
        Error::NodesLimitReached => SvgError::TooMany {
            what: "nodes",
            count: None,
            limit: limits.nodes.into(),
        },
        other => SvgError::Xml {
            what: shortened(&other.to_string()),
        },
    }
}

/// What the XML reader says quotes names of the file.
fn shortened(text: &str) -> String {
    let words: Vec<String> = text.split(' ').map(shown).collect();
    words.join(" ")
}
