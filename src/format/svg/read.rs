//! Reads an SVG file.

use std::collections::BTreeMap;

use roxmltree::{Node, NodeId, ParsingOptions};

use crate::format::dxf::{At, EntityName};
use crate::format::file_kind::decoded;
use crate::format::shown::shown;
use crate::format::svg::error::SvgError;
use crate::format::svg::xml_fault::refused;
use crate::format::svg::{Bounds, Document, Shape, attributes, count, entities, name_spaces, walk};

/// Reads the bytes of an SVG file: UTF-8, UTF-16, UTF-32 or Latin-1. What it draws is handed to `take`, in the order in which
/// it is painted; what is wrong with single elements is told in the document.
///
/// # Errors
/// What is wrong with the file as a whole: see [`SvgError`].
pub fn read(
    bytes: &[u8],
    limits: &Bounds,
    take: &mut dyn FnMut(Shape),
) -> Result<Document, SvgError> {
    let text = decoded(bytes).map_err(|damaged| SvgError::NotSvg {
        what: format!("it looks like {}, but is damaged", damaged.0.name()),
    })?;
    if !text.trim_ascii_start().starts_with('<') {
        return Err(SvgError::NotSvg {
            what: String::from("it does not begin with an element"),
        });
    }
    let cycles = entities::check(&text, limits.text)?;
    if !cycles.is_empty() {
        return Ok(Document {
            cycles,
            ..Document::default()
        });
    }
    attributes::check(&text, limits.attributes)?;
    name_spaces::check(&text, limits.name_spaces)?;
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: limits.nodes,
        ..ParsingOptions::default()
    };
    let doc = roxmltree::Document::parse_with_options(&text, options);
    let doc = doc.map_err(|error| refused(&error, &text, limits))?;
    let root = doc.root_element();
    if root.tag_name().name() != "svg" {
        let what = format!(
            "its outermost element is {:?}",
            shown(root.tag_name().name())
        );
        return Err(SvgError::NotSvg { what });
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
    let cycles = count::check(&text, limits)?;
    if !cycles.is_empty() {
        return Ok(Document {
            cycles,
            ..Document::default()
        });
    }
    walk::document(&text, limits, take)
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
            at: At::Element(self.line(node)),
            within: None,
        }
    }

    /// The line in which an element begins, from 1.
    pub(super) fn line(&self, node: Node<'_, '_>) -> usize {
        self.lines.partition_point(|at| *at <= node.range().start)
    }
}

/// The id that a `use` refers to, where it lies in the same file.
pub(super) fn href<'t>(node: Node<'t, '_>) -> Option<&'t str> {
    let found = node.attributes().find(|a| a.name() == "href");
    found?.value().trim().strip_prefix('#')
}
