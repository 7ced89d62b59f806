//! What `use` would repeat, counted before it is repeated.
//!
//! In: the tree. Out: how many elements it comes to and how deep, or an error: a kilobyte can ask for a billion elements, or
//! for an element inside of itself.

use std::collections::BTreeMap;

use roxmltree::{Node, NodeId};

use crate::format::svg::Bounds;
use crate::format::svg::error::SvgError;
use crate::format::svg::read::{Text, href};

/// Elements and levels.
#[derive(Clone, Copy)]
struct Size {
    elements: u64,
    levels: usize,
}

/// Checks what a tree comes to; what would repeat itself, a `Cycle` for each, is given back.
///
/// # Errors
/// `TooMany`.
pub(super) fn check(text: &Text<'_, '_>, limits: &Bounds) -> Result<Vec<SvgError>, SvgError> {
    let too_deep = SvgError::TooMany {
        what: "depth",
        count: None,
        limit: limits.depth as u64,
    };
    // Levels of the file itself, without recursion.
    let (mut node, mut level) = (text.doc.root_element(), 1_usize);
    'walk: loop {
        if level > limits.depth {
            return Err(too_deep);
        }
        if let Some(child) = node.first_element_child() {
            (node, level) = (child, level + 1);
            continue;
        }
        loop {
            if let Some(next) = node.next_sibling_element() {
                node = next;
                break;
            }
            match node.parent_element() {
                Some(parent) => (node, level) = (parent, level - 1),
                None => break 'walk,
            }
        }
    }
    let mut work = Work {
        text,
        limits,
        known: BTreeMap::new(),
        open: Vec::new(),
        cycles: Vec::new(),
    };
    let size = work.size(text.doc.root_element())?;
    if size.levels > limits.depth {
        return Err(too_deep);
    }
    if size.elements > limits.elements {
        return Err(SvgError::TooMany {
            what: "entities",
            count: Some(size.elements),
            limit: limits.elements,
        });
    }
    Ok(work.cycles)
}

/// What repeats nothing.
const NOTHING: Size = Size {
    elements: 0,
    levels: 0,
};

struct Work<'a, 't, 'i> {
    text: &'a Text<'t, 'i>,
    limits: &'a Bounds,
    /// What `use` repeats, as far as it is counted.
    known: BTreeMap<u32, Size>,
    /// What is being counted.
    open: Vec<NodeId>,
    cycles: Vec<SvgError>,
}

impl<'t> Work<'_, 't, '_> {
    fn size(&mut self, node: Node<'t, '_>) -> Result<Size, SvgError> {
        let mut size = Size {
            elements: 1,
            levels: 1,
        };
        let mut add = |inner: Size| {
            size.elements = size.elements.saturating_add(inner.elements);
            size.levels = size.levels.max(inner.levels.saturating_add(1));
        };
        for child in node.children().filter(Node::is_element) {
            add(self.size(child)?);
        }
        if node.tag_name().name() == "use"
            && let Some(target) = href(node).and_then(|id| self.text.ids.get(id).copied())
        {
            add(self.target(node, target)?);
        }
        Ok(size)
    }

    fn target(&mut self, user: Node<'t, '_>, target: NodeId) -> Result<Size, SvgError> {
        if let Some(known) = self.known.get(&target.get()) {
            return Ok(*known);
        }
        let around = |id: NodeId| user.ancestors().any(|a| a.id() == id);
        if self.open.contains(&target) || around(target) {
            self.cycles.push(SvgError::Cycle {
                element: self.text.name(user),
            });
            return Ok(NOTHING);
        }
        if self.open.len() >= self.limits.depth {
            return Err(SvgError::TooMany {
                what: "depth",
                count: None,
                limit: self.limits.depth as u64,
            });
        }
        let Some(node) = self.text.doc.get_node(target) else {
            return Ok(NOTHING);
        };
        self.open.push(target);
        let size = self.size(node)?;
        self.open.pop();
        self.known.insert(target.get(), size);
        Ok(size)
    }
}
