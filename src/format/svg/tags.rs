//! The tags of an XML text, told apart before the XML reader works on them.
//!
//! In: the bytes of a text. Out: its tags in order, with what is counted of them. Comments, CDATA and processing instructions
//! are passed over, and so are values in quotes. What is no sound XML is left to the reader.

/// What is counted of a tag.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Tag {
    /// Where it begins.
    pub(super) at: usize,
    pub(super) kind: Kind,
    /// Values in quotes.
    pub(super) values: u64,
    /// Names that may have a prefix: its own, and each colon outside of quotes.
    pub(super) prefixes: u64,
    /// Name spaces that it declares.
    pub(super) declared: u64,
}

/// Whether elements begin or end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Kind {
    /// An element that holds what follows.
    #[default]
    Open,
    /// An element that holds nothing.
    Empty,
    /// The end of an element.
    Close,
    /// A declaration of the document type.
    Declaration,
}

/// The tags of a text.
pub(super) struct Tags<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Tags<'t> {
    pub(super) fn of(text: &'t str) -> Self {
        Self { text, at: 0 }
    }

    /// What goes on behind the `<` at the place reached, if that is no tag: passed over.
    fn pass(&mut self) -> bool {
        const PASSAGES: [(&[u8], &[u8]); 3] =
            [(b"<!--", b"-->"), (b"<![CDATA[", b"]]>"), (b"<?", b"?>")];
        let rest = &self.text.as_bytes()[self.at..];
        let passage = PASSAGES.iter().find(|(open, _)| rest.starts_with(open));
        let Some((open, close)) = passage else {
            return false;
        };
        let rest = &rest[open.len()..];
        let end = rest.windows(close.len()).position(|w| w == *close);
        self.at += end.map_or(open.len(), |end| open.len() + end + close.len());
        true
    }
}

/// How far behind a place an ASCII letter stands. The standard library looks for one in a text at several letters a step.
fn find(text: &str, at: usize, letter: u8) -> Option<usize> {
    match text.get(at..) {
        Some(rest) => rest.find(char::from(letter)),
        // Within a letter of several bytes.
        None => text.as_bytes().get(at..)?.iter().position(|b| *b == letter),
    }
}

impl Iterator for Tags<'_> {
    type Item = Tag;

    fn next(&mut self) -> Option<Tag> {
        let text = self.text.as_bytes();
        loop {
            self.at += find(self.text, self.at, b'<')?;
            if !self.pass() {
                break;
            }
        }
        let mut tag = Tag {
            at: self.at,
            kind: match text.get(self.at + 1) {
                Some(b'/') => Kind::Close,
                Some(b'!') => Kind::Declaration,
                _ => Kind::Open,
            },
            prefixes: 1,
            ..Tag::default()
        };
        self.at += 1;
        while let Some(byte) = text.get(self.at) {
            match byte {
                b'"' | b'\'' => {
                    tag.values += 1;
                    let end = find(self.text, self.at + 1, *byte);
                    self.at += end.unwrap_or(text.len() - self.at - 1) + 1;
                }
                b':' => tag.prefixes += 1,
                b'x' if text[self.at..].starts_with(b"xmlns") => tag.declared += 1,
                b'>' => {
                    if tag.kind == Kind::Open && text[self.at - 1] == b'/' {
                        tag.kind = Kind::Empty;
                    }
                    break;
                }
                b'<' => return Some(tag),
                _ => {}
            }
            self.at = (self.at + 1).min(text.len());
        }
        Some(tag)
    }
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
            ("<", 0),
            ("<a b='1'<c d='' e=''", 2),
        ] {
            let most = Tags::of(text).map(|tag| tag.values).max().unwrap_or(0);
            assert_eq!(most, expected, "{text}");
        }
    }

    #[test]
    fn tags_open_and_close_and_declare() {
        let text = "<!DOCTYPE a><a xmlns='' xmlns:b='xmlns'><b:c d:e='/'/></a>";
        let found: Vec<_> = Tags::of(text)
            .map(|t| (t.kind, t.prefixes, t.declared))
            .collect();
        let expected = [
            (Kind::Declaration, 1, 0),
            (Kind::Open, 2, 2),
            (Kind::Empty, 3, 0),
            (Kind::Close, 1, 0),
        ];
        assert_eq!(found, expected);
    }
}
