//! The parts of a file that are read as if they were all of it, and where their lines stand in the file.

use std::io::{Read, Result};
use std::ops::Range;

use crate::format::dxf::pairs::Reached;

/// Parts of a file in their order.
#[derive(Debug, Default)]
pub(super) struct Parts(Vec<Part>);

#[derive(Debug)]
struct Part {
    bytes: Range<usize>,
    /// Lines of a text file or bytes of a binary one.
    units: Range<usize>,
}

impl Parts {
    /// Adds what lies between two places, the first of them not before the end of the last part.
    pub(super) fn add(&mut self, from: Reached, to: Reached) {
        match self.0.last_mut() {
            Some(last) if last.bytes.end == from.byte => {
                last.bytes.end = to.byte;
                last.units.end = to.before;
            }
            _ => self.0.push(Part {
                bytes: from.byte..to.byte,
                units: from.before..to.before,
            }),
        }
    }

    /// The line or byte of the file at a line or byte of its parts, behind `mark` bytes that begin a binary file.
    pub(super) fn place(&self, mark: usize, at: usize) -> usize {
        let mut before = mark;
        for part in &self.0 {
            if at <= before + part.units.len() {
                return part.units.start + at.saturating_sub(before);
            }
            before += part.units.len();
        }
        self.0.last().map_or(at, |last| last.units.end)
    }

    /// The bytes of the parts, behind the first `mark` bytes of the file.
    pub(super) fn reader<'a>(&'a self, file: &'a [u8], mark: usize) -> impl Read + 'a {
        let parts = self.0.iter().map(|part| part.bytes.clone());
        Joined {
            file,
            next: 0..mark,
            rest: parts,
        }
    }
}

struct Joined<'a, I> {
    file: &'a [u8],
    next: Range<usize>,
    rest: I,
}

impl<I: Iterator<Item = Range<usize>>> Read for Joined<'_, I> {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        while self.next.is_empty() {
            match self.rest.next() {
                Some(part) => self.next = part,
                None => return Ok(0),
            }
        }
        let n = into.len().min(self.next.len());
        let from = self.next.start;
        into[..n].copy_from_slice(&self.file[from..from + n]);
        self.next.start += n;
        Ok(n)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;

    #[test]
    fn lines_of_parts_are_lines_of_the_file() {
        let file = b"a\nb\nc\nd\ne\n";
        let at = |line: usize| Reached {
            byte: 2 * line,
            before: line,
        };
        let mut parts = Parts::default();
        parts.add(at(1), at(2));
        parts.add(at(3), at(4));
        parts.add(at(4), at(5));
        let mut text = String::new();
        parts.reader(file, 0).read_to_string(&mut text).unwrap();
        assert_eq!(text, "b\nd\ne\n");
        let places: Vec<usize> = (1..=3).map(|line| parts.place(0, line)).collect();
        assert_eq!(places, [2, 4, 5]);
    }
}
