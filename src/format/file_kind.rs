//! What a file is, as far as its first bytes tell, whatever its name says; and text in wide letters turned into UTF-8.
//!
//! Sources: ISO 32000 (`%PDF`), PNG (W3C Recommendation, §5.2), RFC 1952 (gzip), "Extensible Markup Language 1.0",
//! appendix F (letters of two and four bytes without a mark); the others from memory.

use std::borrow::Cow;

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// A DXF, as text or binary.
    Dxf,
    /// An SVG.
    Svg,
    /// XML of which the first bytes do not tell that it is an SVG.
    Xml,
    /// A PDF.
    Pdf,
    /// A DWG.
    Dwg,
    /// A ZIP archive, or one of the formats that are.
    Zip,
    /// Compressed by gzip, as SVGs are that are named `.svgz`.
    Gzip,
    /// A PNG picture.
    Png,
    /// A JPEG picture.
    Jpeg,
    /// Text in letters of two or four bytes.
    Wide(Wide),
}

/// Letters of two or four bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wide {
    n_bytes: usize,
    big_end_first: bool,
}

/// Text whose letters are none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Damaged(pub Wide);

/// How far into a file the outermost element of an SVG is looked for.
const HEAD: usize = 1000;

/// What begins a binary DXF; the rest of its mark only tells that it came through whole.
const BINARY_DXF: &[u8] = b"AutoCAD Binary DXF";

const MARKS: [(&[u8], FileKind); 7] = [
    (BINARY_DXF, FileKind::Dxf),
    (b"%PDF", FileKind::Pdf),
    (b"AC10", FileKind::Dwg),
    (b"PK\x03\x04", FileKind::Zip),
    (b"\x1f\x8b", FileKind::Gzip),
    (b"\x89PNG", FileKind::Png),
    (b"\xff\xd8\xff", FileKind::Jpeg),
];

impl FileKind {
    /// What a file is; `None` where its first bytes do not tell.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        if let Some(wide) = Wide::of(bytes) {
            return Some(Self::Wide(wide));
        }
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let begins = bytes.trim_ascii_start();
        if let Some((_, kind)) = MARKS.iter().find(|(mark, _)| begins.starts_with(mark)) {
            return Some(*kind);
        }
        let head = &begins[..begins.len().min(HEAD)];
        if begins.starts_with(b"<") {
            // With a prefix for its name space, as some programs write it, too.
            let is_svg = [&b"<svg"[..], b":svg"]
                .iter()
                .any(|mark| head.windows(4).any(|w| w == *mark));
            return Some(if is_svg { Self::Svg } else { Self::Xml });
        }
        let mut lines = head.split(|b| *b == b'\n').map(<[u8]>::trim_ascii);
        let begins = (lines.next(), lines.next());
        matches!(begins, (Some(b"0"), Some(b"SECTION")) | (Some(b"999"), _)).then_some(Self::Dxf)
    }

    /// What messages call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dxf => "a DXF",
            Self::Svg => "an SVG",
            Self::Xml => "an XML file",
            Self::Pdf => "a PDF",
            Self::Dwg => "a DWG",
            Self::Zip => "a ZIP archive",
            Self::Gzip => "a file compressed by gzip",
            Self::Png => "a PNG picture",
            Self::Jpeg => "a JPEG picture",
            Self::Wide(wide) => wide.name(),
        }
    }
}

impl Wide {
    /// The letters of a text by its mark, or by the zeros beside its first two letters where these are of ASCII.
    fn of(bytes: &[u8]) -> Option<Self> {
        let wide = |n_bytes, big_end_first| {
            Some(Self {
                n_bytes,
                big_end_first,
            })
        };
        let seen = |a: u8, b: u8| a != 0 && b != 0;
        match bytes {
            [0xff, 0xfe, 0, 0, ..] => wide(4, false),
            [0, 0, 0xfe, 0xff, ..] => wide(4, true),
            [0xff, 0xfe, ..] => wide(2, false),
            [0xfe, 0xff, ..] => wide(2, true),
            [a, 0, 0, 0, b, 0, 0, 0, ..] if seen(*a, *b) => wide(4, false),
            [0, 0, 0, a, 0, 0, 0, b, ..] if seen(*a, *b) => wide(4, true),
            [a, 0, b, 0, ..] if seen(*a, *b) => wide(2, false),
            [0, a, 0, b, ..] if seen(*a, *b) => wide(2, true),
            _ => None,
        }
    }

    /// What messages call a text in such letters.
    pub const fn name(self) -> &'static str {
        match self.n_bytes {
            4 => "text in UTF-32",
            _ => "text in UTF-16",
        }
    }

    fn letters(self, bytes: &[u8]) -> Option<String> {
        // Half a letter at the end is a letter that is none.
        if !bytes.len().is_multiple_of(self.n_bytes) {
            return None;
        }
        let letters = bytes.chunks_exact(self.n_bytes).map(|letter| {
            let add = |sum: u32, byte: &u8| sum << 8 | u32::from(*byte);
            match self.big_end_first {
                true => letter.iter().fold(0, add),
                false => letter.iter().rev().fold(0, add),
            }
        });
        let text: Option<String> = if self.n_bytes == 4 {
            letters.map(char::from_u32).collect()
        } else {
            // Two bytes make no more than 16 bits.
            char::decode_utf16(letters.map(|l| l as u16))
                .collect::<Result<_, _>>()
                .ok()
        };
        text.map(|t| t.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(t))
    }
}

/// The text of a file: UTF-8, UTF-16 or UTF-32; else each byte is a letter, as in Latin-1.
///
/// # Errors
/// `Damaged` where letters of two or four bytes are none.
pub fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, Damaged> {
    if let Some(wide) = Wide::of(bytes) {
        return wide.letters(bytes).map(Cow::Owned).ok_or(Damaged(wide));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|b| char::from(*b)).collect()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A text in letters of so many bytes, without a mark.
    fn wide(text: &str, n_bytes: usize, big_end_first: bool) -> Vec<u8> {
        let units = text.encode_utf16().map(u32::from);
        let units: Vec<u32> = if n_bytes == 4 {
            text.chars().map(u32::from).collect()
        } else {
            units.collect()
        };
        let bytes = units.into_iter().flat_map(|u| {
            let mut bytes = u.to_le_bytes()[..n_bytes].to_vec();
            if big_end_first {
                bytes.reverse();
            }
            bytes
        });
        bytes.collect()
    }

    #[test]
    fn wide_letters_are_read_with_and_without_a_mark() {
        let text = "<svg/>ü𝄞";
        for n_bytes in [2, 4] {
            for big_end_first in [false, true] {
                for mark in ["", "\u{feff}"] {
                    let bytes = wide(&format!("{mark}{text}"), n_bytes, big_end_first);
                    assert_eq!(decoded(&bytes).as_deref(), Ok(text), "{n_bytes} {mark:?}");
                    let cut = &bytes[..bytes.len() - 1];
                    assert!(decoded(cut).is_err(), "{n_bytes}: half a letter");
                }
            }
        }
    }

    #[test]
    fn a_file_is_told_by_how_it_begins() {
        let kind = |bytes: &[u8]| FileKind::of(bytes).map(FileKind::name);
        assert_eq!(kind(b"  0\r\nSECTION\r\n  2\r\n"), Some("a DXF"));
        assert_eq!(kind(b"999\nwritten by hand\n0\nSECTION\n"), Some("a DXF"));
        assert_eq!(
            kind(b"\xef\xbb\xbf\n<?xml version='1.0'?><svg>"),
            Some("an SVG")
        );
        assert_eq!(kind(b"<s:svg xmlns:s=''>"), Some("an SVG"));
        assert_eq!(kind(b"<drawing/>"), Some("an XML file"));
        assert_eq!(kind(b"%PDF-1.7"), Some("a PDF"));
        assert_eq!(kind(b"0\nLINE\n"), None);
        assert_eq!(kind(b""), None);
    }
}
