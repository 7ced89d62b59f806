//! The few properties of style that decide what is drawn: `display`, `visibility`, `fill`, `fill-rule`; those that tell of
//! something cut off: `clip-path`, `mask`, `overflow`; and those that move or size an element in the place of its attributes,
//! which are refused: `transform`, `r`, `width` and the like, of pages too.
//!
//! Order of weight, as in CSS: what is inherited, the attribute, the rules of style sheets by weight of their selectors, the
//! `style` attribute; and `!important` above all.

use roxmltree::Node;
use simplecss::{AttributeOperator, Element, PseudoClass};

use crate::format::svg::frame::page;
use crate::format::svg::sheet::{Sheet, declarations};

/// Properties that are read, and those that tell that something is not followed.
const READ: [&str; 18] = [
    "display",
    "visibility",
    "fill",
    "fill-rule",
    "clip-path",
    "mask",
    "overflow",
    "transform",
    "x",
    "y",
    "width",
    "height",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "d",
];

/// How many of them are read as attributes of the same name too.
const ATTRIBUTES: usize = 7;

/// Sizes of an element, which a style sets in the place of its attributes as of SVG 2.
const fn sizes(element: &str) -> &'static [&'static str] {
    match element.as_bytes() {
        b"circle" => &["cx", "cy", "r"],
        b"ellipse" => &["cx", "cy", "rx", "ry"],
        b"rect" => &["x", "y", "width", "height", "rx", "ry"],
        b"use" | b"svg" | b"symbol" => &["x", "y", "width", "height"],
        b"path" => &["d"],
        _ => &[],
    }
}

/// What an element has of them.
#[derive(Clone, Debug, Default)]
pub(super) struct Style<'a> {
    values: [Option<(&'a str, u8)>; READ.len()],
}

impl<'a> Style<'a> {
    /// The properties of an element itself, without what it inherits.
    pub(super) fn of(node: Node<'a, '_>, sheet: &Sheet<'a>) -> Self {
        let mut style = Self::default();
        for (i, name) in READ.iter().enumerate().take(ATTRIBUTES) {
            if let Some(value) = node.attribute(*name) {
                style.values[i] = Some((value, 0));
            }
        }
        for (selector, declarations) in sheet.rules() {
            if selector.matches(&Met(node)) {
                for d in declarations {
                    style.set(d.name, d.value, if d.important { 3 } else { 1 });
                }
            }
        }
        if let Some(own) = node.attribute("style") {
            for d in declarations(own) {
                style.set(d.name, d.value, if d.important { 4 } else { 2 });
            }
        }
        style
    }

    fn set(&mut self, name: &str, value: &'a str, weight: u8) {
        let found = READ.iter().position(|read| name.eq_ignore_ascii_case(read));
        if let Some(i) = found
            && self.values[i].is_none_or(|(_, before)| before <= weight)
        {
            self.values[i] = Some((value, weight));
        }
    }

    /// A property, `inherit` and unknown ones left out.
    pub(super) fn get(&self, name: &str) -> Option<&'a str> {
        let i = READ.iter().position(|read| *read == name)?;
        self.values[i]
            .map(|(value, _)| value.trim())
            .filter(|v| *v != "inherit")
    }
}

/// A size that a style gives an element otherwise than its attribute does: its name and value.
pub(super) fn sized_otherwise<'a>(
    node: Node<'a, '_>,
    style: &Style<'a>,
) -> Option<(&'static str, &'a str)> {
    if node.parent().is_some_and(|parent| parent.is_root()) {
        return page_sized_otherwise(node, style);
    }
    let bare = |value: &'a str| value.trim().trim_end_matches("px");
    let mut set = sizes(node.tag_name().name())
        .iter()
        .filter_map(|name| Some((*name, style.get(name)?)));
    set.find(|(name, value)| node.attribute(*name).map(bare) != Some(bare(value)))
}

/// The same for the outermost page: what counts is how large it becomes. Its corner has no say in where it lies.
fn page_sized_otherwise<'a>(
    node: Node<'a, '_>,
    style: &Style<'a>,
) -> Option<(&'static str, &'a str)> {
    let mut set = ["width", "height"]
        .into_iter()
        .filter_map(|name| Some((name, style.get(name)?)));
    set.find(|(name, value)| {
        let side = page(Some(value));
        side.is_err() || side != page(node.attribute(*name))
    })
}

/// Whether a property is read.
pub(super) fn is_read(name: &str) -> bool {
    READ.iter().any(|r| name.eq_ignore_ascii_case(r))
}

/// An element as selectors see it.
struct Met<'a, 'i>(Node<'a, 'i>);

impl Element for Met<'_, '_> {
    fn parent_element(&self) -> Option<Self> {
        self.0.parent_element().map(Met)
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        self.0.prev_sibling_element().map(Met)
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.0.tag_name().name() == name
    }

    fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
        self.0.attribute(name).is_some_and(|v| operator.matches(v))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        class == PseudoClass::FirstChild && self.0.prev_sibling_element().is_none()
    }
}
