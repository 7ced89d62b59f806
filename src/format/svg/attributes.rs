//! How many attributes an element has, counted before the XML reader compares each with all before it.
//!
//! In: the text of a file. Out: nothing, or an error where a tag has more than are admitted. Values in quotes are counted, in
//! tags and in the values of entities, which may hold tags; what is no sound XML is left to the reader.

use crate::format::svg::entities::declared;
use crate::format::svg::error::SvgError;
use crate::format::svg::tags::Tags;

/// Checks the tags of a file.
///
/// # Errors
/// `TooMany`.
pub(super) fn check(text: &str, limit: u64) -> Result<(), SvgError> {
    let most_in = |text| Tags::of(text).map(|tag| tag.values).max().unwrap_or(0);
    let mut most = most_in(text);
    if text.contains("<!ENTITY") {
        let values = declared(text).into_values();
        most = values.fold(most, |most, value| most.max(most_in(value)));
    }
    if most > limit {
        return Err(SvgError::TooMany {
            what: "attributes",
            count: Some(most),
            limit,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attributes_in_the_value_of_an_entity_are_counted() {
        let hidden = "<!DOCTYPE a [<!ENTITY e \"<a b='' c='' d=''/>\">]><a>&e;</a>";
        assert!(check(hidden, 3).is_ok());
        assert!(check(hidden, 2).is_err());
    }
}
