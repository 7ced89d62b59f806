//! How many attributes an element has, counted before the XML reader compares each with all before it.
//!
//! In: the text of a file. Out: nothing, or an error where a tag has more than are admitted. Values in quotes are counted, in
//! tags and in the values of entities, which may hold tags; what is no sound XML is left to the reader.

use crate::format::svg::entities::declared;
use crate::format::svg::error::SvgError;

/// Checks the tags of a file.
///
/// # Errors
/// `TooMany`.
pub(super) fn check(text: &str, limit: u64) -> Result<(), SvgError> {
    let mut most = most_in(text.as_bytes());
    if text.contains("<!ENTITY") {
        let values = declared(text).into_values();
        most = values.fold(most, |most, value| most.max(most_in(value.as_bytes())));
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

/// The most values in quotes of one tag.
fn most_in(text: &[u8]) -> u64 {
    const PASSAGES: [(&[u8], &[u8]); 3] =
        [(b"<!--", b"-->"), (b"<![CDATA[", b"]]>"), (b"<?", b"?>")];
    let mut most = 0;
    let mut at = 0;
    while let Some(ahead) = text[at..].iter().position(|b| *b == b'<') {
        at += ahead;
        let passage = PASSAGES
            .iter()
            .find(|(open, _)| text[at..].starts_with(open));
        if let Some((open, close)) = passage {
            let rest = &text[at + open.len()..];
            let end = rest.windows(close.len()).position(|w| w == *close);
            at += end.map_or(open.len(), |end| open.len() + end + close.len());
            continue;
        }
        let mut count = 0;
        at += 1;
        while let Some(byte) = text.get(at) {
            at += 1;
            match byte {
                b'"' | b'\'' => {
                    count += 1;
                    let end = text[at..].iter().position(|b| b == byte);
                    at = end.map_or(text.len(), |end| at + end + 1);
                }
                b'>' => break,
                b'<' => {
                    at -= 1;
                    break;
                }
                _ => {}
            }
        }
        most = most.max(count);
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_of_one_tag_are_counted_wherever_it_stands() {
        for (text, expected) in [
            ("", 0),
            ("<a/>", 0),
            ("<a b='1' c=\"2>'\"/><d e='<'/>", 2),
            ("<!-- <a b='' c='' d=''> --><a b=''/>", 1),
            ("<![CDATA[<a b='' c=''>]]><a/>", 0),
            ("<?xml version='1.0' encoding='UTF-8'?><a/>", 0),
            ("<a b='unclosed", 1),
        ] {
            assert_eq!(most_in(text.as_bytes()), expected, "{text}");
        }
        let hidden = "<!DOCTYPE a [<!ENTITY e \"<a b='' c='' d=''/>\">]><a>&e;</a>";
        assert!(check(hidden, 3).is_ok());
        assert!(check(hidden, 2).is_err());
    }
}
