//! The style sheets of a file, as one list of rules.
//!
//! In: the tree. Out: the rules of all `style` elements in their order, no more of them, and of comparisons with elements, than
//! are admitted. Other files are never read: that a sheet names one is told.

use roxmltree::Node;

use crate::format::svg::error::SvgError;
use crate::format::svg::read::Text;
use crate::format::svg::sheet::Sheet;
use crate::format::svg::style::is_read;
use crate::format::svg::unread::unread;
use crate::format::svg::walk::SVG;
use crate::format::svg::{Bounds, Document};

/// Reads them all; what of them is not read is told in the document.
///
/// # Errors
/// `TooMany` rules, or matches with elements.
pub(super) fn style_sheets<'t>(
    text: &Text<'t, '_>,
    limits: &Bounds,
    out: &mut Document,
) -> Result<Sheet<'t>, SvgError> {
    let root = text.doc.root_element();
    let mut sheet = Sheet::default();
    let styles = root
        .descendants()
        .filter(|n| n.has_tag_name("style") || n.has_tag_name((SVG, "style")));
    for style in styles {
        for part in style.children().filter_map(|n| n.text()) {
            sheet.add(part, is_read, limits.rules);
            if sheet.len() as u64 > limits.rules {
                return Err(SvgError::TooMany {
                    what: "rules",
                    count: None,
                    limit: limits.rules,
                });
            }
            let unread = unread(part);
            for rule in unread.rules {
                *out.unread.entry(rule).or_insert(0) += 1;
            }
            if unread.open && out.open_sheet.is_none() {
                out.open_sheet = Some(text.line(style));
            }
        }
    }
    let named = |n: &Node<'_, '_>| n.pi().is_some_and(|pi| pi.target == "xml-stylesheet");
    let n_linked = text.doc.root().children().filter(named).count();
    if n_linked > 0 {
        out.unread.insert(String::from("xml-stylesheet"), n_linked);
    }
    let elements = root.descendants().filter(Node::is_element).count() as u64;
    let matches = elements.saturating_mul(sheet.len() as u64);
    if matches > limits.matches {
        return Err(SvgError::TooMany {
            what: "matches",
            count: Some(matches),
            limit: limits.matches,
        });
    }
    Ok(sheet)
}
