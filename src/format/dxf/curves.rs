//! The curves of a file that the scanner has not read itself, read by the crate `dxf` some thousand at a time.
//!
//! In: the bytes, and the list of what they hold. Out: what each listed entity with a curve turns out to be, those of blocks
//! and those that the scanner has read among them. What the crate is given is the file's version and a section of entities, copied from the file; all else, its
//! dates, tables, objects and letters, would cost time and many times its size in memory, and is never looked at. The crate
//! must tell the same entities in the same order as the list, so nothing is lost without a word.

use std::ops::Range;

use dxf::Drawing;

use crate::format::dxf::At;
use crate::format::dxf::error::DxfError;
use crate::format::dxf::pairs::{Pairs, SENTINEL};
use crate::format::dxf::read::{Found, broken, curve};
use crate::format::dxf::scan::{Listing, READ};

/// Bytes of entities that are read together: the crate takes some ten times as much.
const TOGETHER: usize = 1 << 20;

/// Reads the curves; `None` for one that the crate did not tell.
///
/// # Errors
/// `Broken`.
pub(super) fn read(bytes: &[u8], listing: &mut Listing) -> Result<Vec<Option<Found>>, DxfError> {
    let plain = std::mem::take(&mut listing.plain);
    let left = crated(bytes, listing)?;
    let mut left = left.into_iter();
    let mut found = Vec::with_capacity(plain.len());
    for shape in plain {
        found.push(match shape {
            Some(shape) => Some(Found::Curve(shape)),
            None => left.next().flatten(),
        });
    }
    Ok(found)
}

/// What the crate reads of [`Listing::curves`].
fn crated(bytes: &[u8], listing: &Listing) -> Result<Vec<Option<Found>>, DxfError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let file = File {
        bytes,
        pairs: Pairs::new(bytes),
        listing,
    };
    let head = file.head();
    let mut found = Vec::with_capacity(listing.curves.len());
    let mut text = head.clone();
    let mut begun = 0;
    for (i, (_, range)) in listing.curves.iter().enumerate() {
        text.extend_from_slice(bytes.get(range.clone()).unwrap_or(&[]));
        if text.len() - head.len() < TOGETHER && i + 1 < listing.curves.len() {
            continue;
        }
        file.pairs.write(0, "ENDSEC", &mut text);
        file.pairs.write(0, "EOF", &mut text);
        let place = |at| file.place(&head, begun..i + 1, at);
        let read = Drawing::load(&mut &text[..]).map_err(|error| broken(&error, &place))?;
        let mut read = read.entities().filter_map(|e| curve(&e.specific));
        for (kind, _) in &listing.curves[begun..=i] {
            let same = read.next();
            let same = same.filter(|(name, _)| *name == READ[usize::from(*kind)]);
            found.push(same.map(|(_, found)| found));
        }
        begun = i + 1;
        text.truncate(head.len());
    }
    Ok(found)
}

struct File<'a> {
    bytes: &'a [u8],
    pairs: Pairs<'a>,
    listing: &'a Listing,
}

impl File<'_> {
    /// What stands before entities: the mark of a binary file, the version, the beginning of a section.
    fn head(&self) -> Vec<u8> {
        let mut head = Vec::new();
        if self.pairs.is_binary() {
            head.extend_from_slice(SENTINEL);
        }
        if let Some(version) = self.bytes.get(self.listing.version.clone())
            && !version.is_empty()
        {
            self.pairs.write(0, "SECTION", &mut head);
            self.pairs.write(2, "HEADER", &mut head);
            head.extend_from_slice(version);
            self.pairs.write(0, "ENDSEC", &mut head);
        }
        self.pairs.write(0, "SECTION", &mut head);
        self.pairs.write(2, "ENTITIES", &mut head);
        head
    }

    /// Lines of a text, bytes of a binary file.
    fn units(&self, bytes: &[u8]) -> usize {
        if self.pairs.is_binary() {
            return bytes.len();
        }
        bytes.iter().filter(|b| **b == b'\n').count()
    }

    /// Where a line or byte of what the crate was given stands in the file.
    fn place(&self, head: &[u8], curves: Range<usize>, at: usize) -> At {
        let units = |range: Range<usize>| self.units(self.bytes.get(range).unwrap_or(&[]));
        let mut given = self.units(head);
        let mut place = units(0..self.listing.version.end);
        if at > given {
            let mut byte = 0;
            place = 0;
            for (_, range) in self.listing.curves.get(curves).unwrap_or(&[]) {
                place += units(byte..range.start);
                let length = units(range.clone());
                if at <= given + length {
                    place += at - given;
                    break;
                }
                (given, place, byte) = (given + length, place + length, range.end);
            }
        }
        if self.pairs.is_binary() {
            At::Byte(place)
        } else {
            At::Line(place)
        }
    }
}
