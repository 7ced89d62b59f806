//! What of a style sheet is not read.
//!
//! In: the text of a style sheet. Out: the rules that begin with `@`, and whether the text ends inside of something. Both
//! are skipped where the sheet is read (`sheet`).
//!
//! Source: "CSS Syntax Module Level 3", §4.3 (comments, strings, at-keywords, blocks), from memory.

/// Rules with `@` that have no say in what is drawn where.
const HARMLESS: [&str; 7] = [
    "charset",
    "namespace",
    "font-face",
    "page",
    "keyframes",
    "property",
    "color-profile",
];

/// What is not read.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Unread {
    /// Rules such as `@import`, in their order.
    pub(super) rules: Vec<String>,
    /// Whether a block, a comment or a string is not closed.
    pub(super) open: bool,
}

/// Looks through a style sheet.
pub(super) fn unread(text: &str) -> Unread {
    let mut out = Unread::default();
    let mut depth = 0_usize;
    let mut rest = text;
    while let Some(at) = rest.find(['/', '"', '\'', '{', '}', '@', '\\']) {
        let (mark, behind) = rest[at..].split_at(1);
        rest = behind;
        match mark {
            "/" if behind.starts_with('*') => match behind[1..].find("*/") {
                Some(end) => rest = &behind[end + 3..],
                None => {
                    out.open = true;
                    return out;
                }
            },
            "\"" | "'" => match string_end(behind, mark) {
                Some(end) => rest = &behind[end..],
                None => {
                    out.open = true;
                    return out;
                }
            },
            "\\" => {
                let mut letters = behind.chars();
                letters.next();
                rest = letters.as_str();
            }
            "{" => depth += 1,
            "}" => depth = depth.saturating_sub(1),
            "@" if depth == 0 => {
                let is_name = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
                let end = behind.find(|c| !is_name(c)).unwrap_or(behind.len());
                let name = behind[..end].to_lowercase();
                if !HARMLESS.contains(&&*name) {
                    out.rules.push(format!("@{name}"));
                }
            }
            _ => {}
        }
    }
    out.open = depth > 0;
    out
}

/// Where a string ends, behind its closing quote.
fn string_end(text: &str, quote: &str) -> Option<usize> {
    let mut escaped = false;
    for (i, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            c if quote.starts_with(c) => return Some(i + 1),
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_that_are_not_read_are_found() {
        let found = unread(
            "@charset 'a'; @import \"b.css\"; /* @media { */ g { fill: none } @media print { @import {} }",
        );
        assert_eq!(found.rules, ["@import", "@media"]);
        assert!(!found.open);
        assert_eq!(unread("a { b: '}' } \\@c {}"), Unread::default());
    }

    #[test]
    fn what_is_not_closed_is_found() {
        for text in ["a { b: c", "a { } /* b", "a { b: \"c }", "a { b: 'c\\' }"] {
            assert!(unread(text).open, "{text}");
        }
        assert!(
            !unread("a { b: c } }").open,
            "one brace too many closes nothing"
        );
    }
}
