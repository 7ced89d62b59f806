//! Style sheets and `style` attributes taken apart.
//!
//! In: their text. Out: rules, a selector each, with the declarations that are read. The crate `simplecss` reads each selector
//! and each declaration by itself: given a whole sheet it counts the lines from its beginning for every declaration, and
//! copies all declarations for every selector.
//!
//! Blocks of `@` rules are left out. A sheet's rules stand in the order of their weight, those of one weight as written.

use simplecss::{Declaration, DeclarationTokenizer, Selector};

/// Rules with the declarations that several of them share.
#[derive(Debug, Default)]
pub(super) struct Sheet<'a> {
    /// Selectors with the place of their declarations.
    rules: Vec<(Selector<'a>, usize)>,
    blocks: Vec<Vec<Declaration<'a>>>,
}

impl<'a> Sheet<'a> {
    /// Adds the rules of a text, as far as they set what `is_read`.
    ///
    /// No more than one selector beyond `most` is kept.
    pub(super) fn add(&mut self, text: &'a str, is_read: fn(&str) -> bool, most: u64) {
        let mut rest = text;
        while self.rules.len() as u64 <= most {
            rest = without_lead(rest);
            let Some(open) = find(rest, b"{;").filter(|_| !rest.is_empty()) else {
                break;
            };
            if rest.as_bytes()[open] == b';' {
                // An `@` rule without a block, or a stray mark.
                rest = &rest[open + 1..];
                continue;
            }
            let (head, body) = (&rest[..open], &rest[open + 1..]);
            let length = block(body);
            rest = body.get(length + 1..).unwrap_or("");
            if !head.starts_with('@') {
                self.rule(head, &body[..length], is_read, most);
            }
        }
        self.rules
            .sort_by_cached_key(|(selector, _)| selector.specificity());
    }

    fn rule(&mut self, head: &'a str, body: &'a str, is_read: fn(&str) -> bool, most: u64) {
        let read: Vec<Declaration<'a>> = declarations(body).filter(|d| is_read(d.name)).collect();
        if read.is_empty() {
            return;
        }
        for part in parts(head, b",") {
            // What stands before a selector that cannot be read counts.
            let Some(selector) = Selector::parse(without_lead(part).trim_end()) else {
                break;
            };
            if self.rules.len() as u64 > most {
                break;
            }
            self.rules.push((selector, self.blocks.len()));
        }
        self.blocks.push(read);
    }

    /// How many selectors there are.
    pub(super) fn len(&self) -> usize {
        self.rules.len()
    }

    /// The rules, the weightiest last.
    pub(super) fn rules(&self) -> impl Iterator<Item = (&Selector<'a>, &[Declaration<'a>])> {
        self.rules
            .iter()
            .map(|(selector, block)| (selector, &self.blocks[*block][..]))
    }
}

/// The declarations of a block or an attribute; what is none is left out.
pub(super) fn declarations(text: &str) -> impl Iterator<Item = Declaration<'_>> {
    parts(text, b";").filter_map(|part| DeclarationTokenizer::from(part).next())
}

/// The text between marks.
fn parts<'a>(text: &'a str, marks: &'static [u8]) -> impl Iterator<Item = &'a str> {
    let mut rest = Some(text);
    std::iter::from_fn(move || {
        let text = rest?;
        let (part, after) = match find(text, marks) {
            Some(at) => (&text[..at], Some(&text[at + 1..])),
            None => (text, None),
        };
        rest = after;
        Some(part)
    })
}

/// The text without blanks and comments at its beginning.
fn without_lead(text: &str) -> &str {
    let mut rest = text.trim_start();
    while let Some(comment) = rest.strip_prefix("/*") {
        rest = comment
            .find("*/")
            .map_or("", |end| comment[end + 2..].trim_start());
    }
    rest
}

/// The length of a block up to the brace that closes it, or to the end.
fn block(text: &str) -> usize {
    let (mut at, mut depth) = (0, 0_usize);
    while let Some(ahead) = find(&text[at..], b"{}") {
        at += ahead;
        match (text.as_bytes()[at], depth) {
            (b'{', _) => depth += 1,
            (_, 0) => return at,
            _ => depth -= 1,
        }
        at += 1;
    }
    text.len()
}

/// The first of some marks outside of quotes, parentheses and comments.
fn find(text: &str, marks: &[u8]) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        let close: &[u8] = match byte {
            mark if marks.contains(mark) => return Some(at),
            b'"' => b"\"",
            b'\'' => b"'",
            b'(' => b")",
            b'/' if bytes.get(at + 1) == Some(&b'*') => b"*/",
            _ => b"",
        };
        at += 1;
        if !close.is_empty() {
            // After a comment's two letters, so that `/*/` is no whole one.
            at += close.len() - 1;
            let rest = bytes.get(at..)?;
            at += rest.windows(close.len()).position(|w| w == close)? + close.len();
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(text: &str) -> Vec<(String, String)> {
        let mut sheet = Sheet::default();
        sheet.add(text, |name| name.starts_with('f'), 99);
        let rule = |(s, d): (&Selector<'_>, &[Declaration<'_>])| {
            let values: Vec<&str> = d.iter().map(|d| d.value).collect();
            (s.to_string(), values.join(" "))
        };
        sheet.rules().map(rule).collect()
    }

    #[test]
    fn rules_are_told_apart_by_weight_and_what_is_not_read_is_left_out() {
        let text = "/* { */ @media print { rect { fill: red } } #a, .b { fill: url('};{'); color: x; font:1 }\n\
                    @import 'x;y'; rect{color:red} g rect { fill : none /* ; */ ; }";
        let expected = [
            ("g rect", "none"),
            ("[class~='b']", "url('};{') 1"),
            ("[id='a']", "url('};{') 1"),
        ];
        let found = sheet(text);
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for ((selector, values), (s, v)) in found.iter().zip(expected) {
            assert_eq!(
                (&**values, selector.replace('*', "")),
                (v, s.to_owned()),
                "{found:?}"
            );
        }
    }

    #[test]
    fn what_is_damaged_ends_the_sheet_and_nothing_more() {
        for text in [
            "", "{", "}", "rect", "rect {", "/*", "a{fill:'", "@", "@x", "((((", ";;;;",
        ] {
            assert!(sheet(text).is_empty(), "{text}: {:?}", sheet(text));
        }
        assert_eq!(sheet("rect{fill:none").len(), 1, "as if it were closed");
    }

    #[test]
    fn many_declarations_take_no_longer_for_each() {
        let body = "fill:none;".repeat(100_000);
        let mut sheet = Sheet::default();
        let text = format!("rect,g,path{{{body}}}");
        sheet.add(&text, |_| true, 99);
        assert_eq!((sheet.len(), declarations(&body).count()), (3, 100_000));
    }
}
