//! The pairs of group code and value that a DXF file is made of, in text and in binary form.
//!
//! In: bytes. Out: pairs, one after the other, without a copy of the file. Comments (999) are left out. A text file has a
//! pair on two lines; a binary one has the code in two bytes (R13 and later) or one, and a value whose form follows from
//! the code.

use crate::format::dxf::At;
use crate::format::dxf::error::DxfError;
use crate::format::number;

/// How a binary file begins.
pub(super) const SENTINEL: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// A pair.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair<'a> {
    /// The group code.
    pub(super) code: i32,
    /// The value.
    pub(super) value: Value<'a>,
    /// Line of a text file (of the value), byte of a binary one (of the code).
    pub(super) at: At,
    /// Byte at which it begins, after a mark of UTF-8.
    pub(super) begin: usize,
}

/// A value: as text, or as the number that a binary file holds.
#[derive(Clone, Copy, Debug)]
pub(super) enum Value<'a> {
    /// Text, or a number in a text file.
    Text(&'a [u8]),
    /// A number with a fraction.
    Real(f64),
    /// A whole number.
    Whole(i64),
    /// A chunk of bytes.
    Chunk,
}

impl Pair<'_> {
    /// The value as a word of ASCII letters, blanks taken off; empty for numbers.
    pub(super) fn word(&self) -> &[u8] {
        match self.value {
            Value::Text(text) => text.trim_ascii(),
            _ => b"",
        }
    }

    /// The value as text: UTF-8, else Windows-1252 as far as it is Latin-1, with the format's escapes undone.
    pub(super) fn text(&self) -> String {
        let Value::Text(bytes) = self.value else {
            return String::new();
        };
        let bytes = bytes.trim_ascii();
        let raw = std::str::from_utf8(bytes).map_or_else(
            |_| bytes.iter().map(|b| char::from(*b)).collect(),
            str::to_owned,
        );
        unescaped(&raw)
    }

    /// The value as a whole number.
    pub(super) fn whole(&self) -> Option<i64> {
        match self.value {
            Value::Whole(number) => Some(number),
            Value::Text(text) => std::str::from_utf8(text).ok()?.trim().parse().ok(),
            _ => None,
        }
    }

    /// Whether the value is text of ASCII letters.
    pub(super) fn is_ascii(&self) -> bool {
        matches!(self.value, Value::Text(text) if text.is_ascii())
    }

    /// Whether the value is text in UTF-8.
    pub(super) fn is_letters(&self) -> bool {
        matches!(self.value, Value::Text(text) if std::str::from_utf8(text).is_ok())
    }

    /// The value as a number; what is none reads as NaN.
    pub(super) fn real(&self) -> f64 {
        match self.value {
            Value::Real(number) => number,
            Value::Whole(number) => number as f64,
            Value::Text(text) => decimal(text.trim_ascii()).unwrap_or_else(|| {
                let text = std::str::from_utf8(text).unwrap_or("");
                text.trim().parse().unwrap_or(f64::NAN)
            }),
            Value::Chunk => f64::NAN,
        }
    }
}

/// The value of a decimal that [`number::decimal`] reads; `None` where anything follows it.
fn decimal(text: &[u8]) -> Option<f64> {
    let (value, length) = number::decimal(text)?;
    (length == text.len()).then_some(value)
}

/// The number that a line of digits with blanks around is, as a group code is written.
fn code(line: &[u8]) -> Option<i32> {
    let digits = line.trim_ascii();
    if matches!(digits.len(), 1..=4) && digits.iter().all(u8::is_ascii_digit) {
        return Some(digits.iter().fold(0, |n, b| 10 * n + i32::from(b - b'0')));
    }
    std::str::from_utf8(line).ok()?.trim().parse().ok()
}

/// Undoes `\U+00E4`.
fn unescaped(raw: &str) -> String {
    let mut parts = raw.split("\\U+");
    let mut text = parts.next().unwrap_or("").to_owned();
    for part in parts {
        let letter = part
            .get(..4)
            .and_then(|hex| u32::from_str_radix(hex, 16).ok())
            .and_then(char::from_u32);
        match letter {
            Some(letter) => {
                text.push(letter);
                text.push_str(&part[4..]);
            }
            None => {
                text.push_str("\\U+");
                text.push_str(part);
            }
        }
    }
    text
}

/// Walks the pairs of a file.
pub(super) struct Pairs<'a> {
    bytes: &'a [u8],
    /// The next byte.
    next: usize,
    /// The last line read, from 1, of a text file.
    line: usize,
    form: Form,
}

#[derive(Clone, Copy, PartialEq)]
enum Form {
    Text,
    /// Codes of one byte.
    Short,
    /// Codes of two bytes.
    Long,
}

impl<'a> Pairs<'a> {
    /// The pairs of a file.
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let (next, form) = match bytes.strip_prefix(SENTINEL) {
            // The first pair is 0/SECTION: a second zero byte belongs to the code.
            Some([0, 0, ..]) => (SENTINEL.len(), Form::Long),
            Some(_) => (SENTINEL.len(), Form::Short),
            None => (0, Form::Text),
        };
        Self {
            bytes,
            next,
            line: 0,
            form,
        }
    }

    /// Whether the file is a binary one.
    pub(super) fn is_binary(&self) -> bool {
        self.form != Form::Text
    }

    /// Writes a pair of a code below 128 and a text in the form of this file.
    pub(super) fn write(&self, code: u8, text: &str, out: &mut Vec<u8>) {
        match self.form {
            Form::Text => out.extend_from_slice(format!("{code}\n{text}\n").as_bytes()),
            Form::Short => out.extend([&[code], text.as_bytes(), &[0]].concat()),
            Form::Long => out.extend([&[code, 0], text.as_bytes(), &[0]].concat()),
        }
    }

    /// The line of a text file or the byte of a binary one that was reached.
    pub(super) fn at(&self) -> At {
        if self.is_binary() {
            At::Byte(self.next)
        } else {
            At::Line(self.line)
        }
    }

    fn malformed(&self, what: &'static str) -> DxfError {
        DxfError::Malformed {
            what,
            at: self.at(),
        }
    }

    fn truncated(&self) -> DxfError {
        DxfError::Truncated { at: self.at() }
    }

    fn take(&mut self, n: usize) -> Result<&'a [u8], DxfError> {
        let taken = self.bytes.get(self.next..self.next.saturating_add(n));
        let taken = taken.ok_or_else(|| self.truncated())?;
        self.next += n;
        Ok(taken)
    }

    fn array<const N: usize>(&mut self) -> Result<[u8; N], DxfError> {
        let mut array = [0; N];
        array.copy_from_slice(self.take(N)?);
        Ok(array)
    }

    /// The next line without its end.
    fn text_line(&mut self) -> Option<&'a [u8]> {
        let rest = self.bytes.get(self.next..).filter(|r| !r.is_empty())?;
        let length = rest.iter().position(|b| *b == b'\n');
        self.next += length.map_or(rest.len(), |l| l + 1);
        self.line += 1;
        let line = &rest[..length.unwrap_or(rest.len())];
        Some(line.strip_suffix(b"\r").unwrap_or(line))
    }

    fn text_pair(&mut self) -> Result<Option<Pair<'a>>, DxfError> {
        let begin = self.next;
        let Some(code) = self.text_line() else {
            return Ok(None);
        };
        if code.trim_ascii().is_empty() && self.bytes[self.next..].trim_ascii().is_empty() {
            return Ok(None);
        }
        let code = self::code(code).ok_or_else(|| self.malformed("a group code is no number"))?;
        let value = self.text_line().ok_or_else(|| self.truncated())?;
        Ok(Some(Pair {
            code,
            value: Value::Text(value),
            at: self.at(),
            begin,
        }))
    }

    fn binary_pair(&mut self) -> Result<Option<Pair<'a>>, DxfError> {
        if self.next == self.bytes.len() {
            return Ok(None);
        }
        let begin = self.next;
        let at = self.at();
        let code = if self.form == Form::Long {
            i32::from(i16::from_le_bytes(self.array()?))
        } else {
            match self.array::<1>()?[0] {
                255 => i32::from(i16::from_le_bytes(self.array()?)),
                short => i32::from(short),
            }
        };
        let value = self.binary_value(code)?;
        Ok(Some(Pair {
            code,
            value,
            at,
            begin,
        }))
    }

    fn binary_value(&mut self, code: i32) -> Result<Value<'a>, DxfError> {
        Ok(match code {
            0..=9 | 100..=109 | 300..=309 | 320..=369 | 390..=399 | 410..=419 | 430..=439 => {
                self.binary_text()?
            }
            470..=481 | 999 | 1000..=1003 | 1005..=1009 => self.binary_text()?,
            10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => {
                Value::Real(f64::from_le_bytes(self.array()?))
            }
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
                Value::Whole(i16::from_le_bytes(self.array()?).into())
            }
            90..=99 | 420..=429 | 440..=459 | 1071 => {
                Value::Whole(i32::from_le_bytes(self.array()?).into())
            }
            160..=169 => Value::Whole(i64::from_le_bytes(self.array()?)),
            290..=299 => Value::Whole(self.array::<1>()?[0].into()),
            310..=319 | 1004 => {
                let n = self.array::<1>()?[0];
                self.take(n.into())?;
                Value::Chunk
            }
            _ => return Err(self.malformed("an unknown group code")),
        })
    }

    fn binary_text(&mut self) -> Result<Value<'a>, DxfError> {
        let rest = &self.bytes[self.next..];
        let length = rest.iter().position(|b| *b == 0);
        let text = self.take(length.ok_or_else(|| self.truncated())?)?;
        self.next += 1;
        Ok(Value::Text(text))
    }

    /// The next pair that is no comment; `None` at the end of the bytes.
    pub(super) fn pair(&mut self) -> Result<Option<Pair<'a>>, DxfError> {
        loop {
            let pair = if self.is_binary() {
                self.binary_pair()
            } else {
                self.text_pair()
            };
            if !matches!(pair, Ok(Some(Pair { code: 999, .. }))) {
                return pair;
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_read_to_the_bit_as_the_standard_library_reads_them() {
        let mut n = 0_u32;
        let mut state = 7_u64;
        for i in 0..200_000 {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let digits = (state >> 11) % 10_u64.pow(i % 17);
            let mut text = format!("{digits:0>width$}", width = (i % 16) as usize + 1);
            if i % 3 > 0 {
                let at = (state >> 40) as usize % (text.len() + 1);
                text.insert(at, '.');
            }
            if i % 5 == 0 {
                text.insert(0, '-');
            }
            let expected: f64 = text.parse().unwrap();
            if let Some(value) = decimal(text.as_bytes()) {
                assert_eq!(value.to_bits(), expected.to_bits(), "{text}");
                n += 1;
            }
        }
        assert!(n > 150_000, "{n} read in the short way");
        for text in [
            "",
            "-",
            ".",
            "-.",
            "1e5",
            "+1",
            "1.2.3",
            "--1",
            "1234567890123456",
            " 1",
        ] {
            assert_eq!(decimal(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn group_codes_are_whole_numbers_with_blanks_around() {
        for (line, expected) in [
            ("0", Some(0)),
            ("  10", Some(10)),
            ("1071 ", Some(1071)),
            ("-5", Some(-5)),
            ("+3", Some(3)),
            ("00010", Some(10)),
            ("", None),
            ("1.0", None),
            ("x", None),
            ("99999999999", None),
        ] {
            assert_eq!(code(line.as_bytes()), expected, "{line:?}");
        }
    }
}
