//! How often the XML reader compares name spaces, counted before it does.
//!
//! In: the text of a file. Out: nothing, or an error where it takes more comparisons than are admitted. The reader looks
//! through all name spaces in scope for each name with a prefix; for an element that declares one it copies them, and looks
//! for each among those copied before. With n in scope that is n for each name, and n² / 2 more for an element that declares.
//! Tags in the values of entities count as often as they are referred to, as if they stood where most name spaces are in
//! scope.

use std::collections::BTreeMap;

use crate::format::svg::entities::{declared, weigh};
use crate::format::svg::error::SvgError;
use crate::format::svg::tags::{Kind, Tag, Tags};

/// Checks the name spaces of a file whose entities hold no circle.
///
/// # Errors
/// `TooMany`, `EntityLevels`.
pub(super) fn check(text: &str, limit: u64) -> Result<(), SvgError> {
    let (mut count, mut most) = (0_u64, 0_u64);
    let mut around = Vec::new();
    for tag in Tags::of(text) {
        let before = around.last().copied().unwrap_or(0);
        match tag.kind {
            Kind::Declaration => {}
            Kind::Close => {
                around.pop();
            }
            Kind::Open | Kind::Empty => {
                let scope = before + tag.declared;
                most = most.max(scope);
                count = count.saturating_add(comparisons(tag, scope));
                if tag.kind == Kind::Open {
                    around.push(scope);
                }
            }
        }
    }
    if text.contains("<!ENTITY") {
        count = count.saturating_add(of_entities(text, most)?);
    }
    if count > limit {
        return Err(SvgError::TooMany {
            what: "name-spaces",
            count: Some(count),
            limit,
        });
    }
    Ok(())
}

/// Those of an element with so many name spaces in scope.
fn comparisons(tag: Tag, scope: u64) -> u64 {
    let copied = if tag.declared > 0 {
        scope.saturating_mul(scope) / 2
    } else {
        0
    };
    copied.saturating_add(scope.saturating_mul(tag.prefixes))
}

/// Those of elements that come from entities, which can add what all of them declare to the name spaces in scope.
fn of_entities(text: &str, scope: u64) -> Result<u64, SvgError> {
    let values = declared(text);
    let tags = || values.values().flat_map(|value| Tags::of(value));
    let scope = tags().fold(scope, |sum, tag| sum + tag.declared);
    let weights: BTreeMap<&str, u64> = values
        .iter()
        .map(|(name, value)| {
            let sum = Tags::of(value).map(|tag| comparisons(tag, scope));
            (*name, sum.fold(0, u64::saturating_add))
        })
        .collect();
    weigh(text, &values, weights)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    /// The figure of a text: the lowest limit that admits it.
    fn figure(text: &str) -> u64 {
        (0..100).find(|limit| check(text, *limit).is_ok()).unwrap()
    }

    #[test]
    fn comparisons_are_counted_by_scope() {
        assert_eq!(figure("<svg><g/></svg>"), 0);
        // 2² / 2 for the root and 2 for each of its three names; one for the child's name with 2 in scope.
        assert_eq!(figure("<svg xmlns='' xmlns:a=''><g/></svg>"), 2 + 4 + 2);
        // A second name space in each of two children, not in their neighbours.
        let child = "<g xmlns:b=''/>";
        let text = format!("<svg xmlns=''>{child}<g>{child}</g><g/></svg>");
        assert_eq!(figure(&text), 1 + 2 * (2 + 4) + 2);
    }

    #[test]
    fn elements_of_entities_are_counted_as_often_as_they_are_used() {
        let used = |n| {
            format!(
                "<!DOCTYPE svg [<!ENTITY e \"<g xmlns:b=''/>\">]><svg xmlns=''>{}</svg>",
                "&e;".repeat(n)
            )
        };
        assert_eq!(figure(&used(0)), 1);
        assert_eq!(figure(&used(3)), 1 + 3 * (2 + 4));
    }
}
