//! What the entities of a document type grow to.
//!
//! In: the text of a file. Out: nothing, or an error before a kilobyte has become a gigabyte. Only entities with a value in
//! the file count; those that lie in other files are never opened, and the XML reader refuses what refers to them.

use std::collections::BTreeMap;

use crate::format::svg::error::SvgError;

/// Most bytes that references may grow to: editors write a few name spaces as entities, some hundred bytes each.
const MOST_BYTES: u64 = 8 << 20;

/// Most times the file that they may grow to, so that small files stay small.
const MOST_TIMES: u64 = 100;

/// Checks the entities of a file, which may grow to `most` bytes where those are given.
///
/// # Errors
/// `Entities`, `EntityCycle`.
pub(super) fn check(text: &str, most: Option<u64>) -> Result<(), SvgError> {
    if !text.contains("<!ENTITY") {
        return Ok(());
    }
    let values = declared(text);
    let mut sizes: BTreeMap<&str, u64> = BTreeMap::new();
    for name in values.keys() {
        size(name, &values, &mut sizes, &mut Vec::new())?;
    }
    // Where the document type ends, its own text counted once more does no harm.
    let grown = references(text).fold(0_u64, |sum, name| {
        sum.saturating_add(sizes.get(name).copied().unwrap_or(0))
    });
    let limit = most.unwrap_or(MOST_BYTES.min(MOST_TIMES * text.len() as u64));
    if grown > limit {
        return Err(SvgError::Entities { grown, limit });
    }
    Ok(())
}

/// Whether an entity, named in a text or in its document type, is declared to lie in another file.
pub(super) fn lies_outside(text: &str, name: &str) -> bool {
    text.split("<!ENTITY").skip(1).any(|part| {
        let mut words = part.split_whitespace().peekable();
        words.next_if_eq(&"%");
        words.next() == Some(name) && matches!(words.next(), Some("SYSTEM" | "PUBLIC"))
    })
}

/// Names and values.
pub(super) fn declared(text: &str) -> BTreeMap<&str, &str> {
    let mut out = BTreeMap::new();
    for part in text.split("<!ENTITY").skip(1) {
        let part = part.trim_start();
        let Some(end) = part.find(|c: char| c.is_whitespace()) else {
            continue;
        };
        let (name, rest) = part.split_at(end);
        let rest = rest.trim_start();
        let quote = rest.chars().next().filter(|c| *c == '"' || *c == '\'');
        if let Some(quote) = quote
            && let Some(length) = rest[1..].find(quote)
        {
            // The first of a name counts.
            out.entry(name).or_insert(&rest[1..=length]);
        }
    }
    out
}

/// The names after `&`.
fn references(text: &str) -> impl Iterator<Item = &str> {
    text.split('&').skip(1).filter_map(|part| {
        let end = part.find(';')?;
        Some(&part[..end])
    })
}

fn size<'a>(
    name: &'a str,
    values: &BTreeMap<&'a str, &'a str>,
    sizes: &mut BTreeMap<&'a str, u64>,
    open: &mut Vec<&'a str>,
) -> Result<u64, SvgError> {
    if let Some(known) = sizes.get(name) {
        return Ok(*known);
    }
    let Some(value) = values.get(name) else {
        return Ok(0);
    };
    // The XML reader admits ten levels; more here would only cost room on the stack.
    if open.contains(&name) || open.len() > 64 {
        return Err(SvgError::EntityCycle {
            name: name.to_owned(),
        });
    }
    open.push(name);
    let mut grown = value.len() as u64;
    for inner in references(value) {
        grown = grown.saturating_add(size(inner, values, sizes, open)?);
    }
    open.pop();
    sizes.insert(name, grown);
    Ok(grown)
}
