//! What a DXF file lists: its unit, its layers, and every entity by kind, handle and layer.
//!
//! In: bytes. Out: the list, in the order of the file: entities of the drawing, and blocks with theirs; and the bytes that
//! hold each curve. Vertices belong to the entity before them. The numbers of filled areas are kept, since nobody else reads
//! them.
//! Of the header the version is kept for the reader of geometry, as letters depend on it; dates, classes, tables and objects
//! cannot disturb it then.

use std::ops::Range;

use crate::format::dxf::error::DxfError;
use crate::format::dxf::pairs::{Pair, Pairs};
use crate::format::dxf::plain::Plain;
use crate::format::dxf::{At, EntityName, LayerEntry, Shape};
use crate::geometry::point::Point;

/// What a file lists.
#[derive(Debug, Default)]
pub(super) struct Listing {
    /// `$INSUNITS`.
    pub(super) unit: Option<i64>,
    /// The layer table.
    pub(super) layers: Vec<LayerEntry>,
    /// The entities.
    pub(super) records: Vec<Record>,
    /// The blocks.
    pub(super) blocks: Vec<ListedBlock>,
    /// The bytes of `$ACADVER` and its value.
    pub(super) version: Range<usize>,
    /// Entities with a curve, wherever they are listed: the curve as far as it was plain to read.
    pub(super) plain: Vec<Option<Shape>>,
    /// Those of them that were not: place of the kind in [`READ`], and bytes.
    pub(super) curves: Vec<(u8, Range<usize>)>,
}

impl Listing {
    /// Where entities are listed just now; `None` outside of blocks.
    fn records(&mut self, section: Section, open_block: Option<At>) -> Option<&mut Vec<Record>> {
        match section {
            Section::Entities => Some(&mut self.records),
            _ if open_block.is_some() => self.blocks.last_mut().map(|b| &mut b.records),
            _ => None,
        }
    }
}

/// A block of the list.
#[derive(Debug)]
pub(super) struct ListedBlock {
    pub(super) name: Box<str>,
    pub(super) base: Point,
    pub(super) records: Vec<Record>,
}

/// One entity of the list.
#[derive(Debug)]
pub(super) struct Record {
    pub(super) name: EntityName,
    pub(super) invisible: bool,
    pub(super) on_paper: bool,
    /// Group codes and numbers of a filled area.
    pub(super) numbers: Vec<(i32, f64)>,
    /// The block that an INSERT places.
    pub(super) places: Option<Box<str>>,
    /// Its place in `Listing::plain`.
    pub(super) curve: Option<u32>,
}

/// The kinds that the crate reads, as far as they are not plain.
pub(super) const READ: [&str; 8] = [
    "LINE",
    "ARC",
    "CIRCLE",
    "LWPOLYLINE",
    "POLYLINE",
    "ELLIPSE",
    "SPLINE",
    "INSERT",
];

/// The kinds whose numbers are kept: filled areas.
pub const FILLED: [&str; 3] = ["HATCH", "SOLID", "TRACE"];

/// Kinds that belong to the entity before them.
const SUBORDINATE: [&[u8]; 2] = [b"VERTEX", b"SEQEND"];

#[derive(Clone, Copy, PartialEq)]
enum Section {
    Outside,
    /// 0/SECTION was read, its name follows.
    Begun,
    Header,
    Tables,
    Blocks,
    Entities,
    Other,
}

/// Lists a file.
///
/// # Errors
/// `NotDxf` where it does not begin with a section, `Malformed`, `Truncated` where the end mark is missing, `NotFinite` for a
/// number of a curve.
pub(super) fn scan(bytes: &[u8]) -> Result<Listing, DxfError> {
    listed(bytes, true)
}

/// Lists a file; curves are left to the crate unless `reads_plain` is set.
pub(super) fn listed(bytes: &[u8], reads_plain: bool) -> Result<Listing, DxfError> {
    let mut pairs = Pairs::new(bytes);
    let first = pairs.pair();
    let is_dxf = matches!(&first, Ok(Some(p)) if p.code == 0 && p.word() == b"SECTION");
    if !is_dxf {
        return Err(DxfError::NotDxf);
    }
    let mut scanner = Scanner {
        listing: Listing::default(),
        section: Section::Begun,
        in_version: false,
        wants_unit: false,
        in_layer: false,
        open_block: None,
        wants_name: false,
        in_head: false,
        in_part: false,
        open: None,
        plain: None,
        reads_plain,
    };
    while let Some(pair) = pairs.pair()? {
        if pair.code == 0 && pair.word() == b"EOF" {
            if let Some(at) = scanner.open_block {
                return Err(endless(at));
            }
            scanner.close(pair.begin);
            return Ok(scanner.listing);
        }
        scanner.take(&pair)?;
    }
    Err(DxfError::Truncated { at: pairs.at() })
}

/// A block that begins somewhere and does not end.
const fn endless(at: At) -> DxfError {
    DxfError::Malformed {
        what: "no end (0/ENDBLK) follows the block that begins",
        at,
    }
}

/// Whether the value of a group code is a number.
const fn is_number(code: i32) -> bool {
    matches!(code, 10..=79 | 90..=99 | 110..=179 | 210..=239 | 270..=299 | 370..=389 | 400..=409 | 420..=429 | 440..=469)
}

struct Scanner {
    listing: Listing,
    section: Section,
    /// The header's pairs are the version.
    in_version: bool,
    /// The header's next value is the unit.
    wants_unit: bool,
    /// The pairs belong to an entry of the layer table.
    in_layer: bool,
    /// Between 0/BLOCK and 0/ENDBLK: where the block begins.
    open_block: Option<At>,
    /// The block's name has not been read yet.
    wants_name: bool,
    /// The pairs belong to the block itself, before its first entity.
    in_head: bool,
    /// Kind and first byte of the curve whose bytes go on.
    open: Option<(u8, usize)>,
    /// The curve that is being read.
    plain: Option<Plain>,
    /// Whether curves are read at all here.
    reads_plain: bool,
    /// The pairs belong to a vertex of the entity.
    in_part: bool,
}

impl Scanner {
    fn take(&mut self, pair: &Pair<'_>) -> Result<(), DxfError> {
        self.version(pair);
        if pair.code == 0 {
            return self.begin(pair);
        }
        match self.section {
            Section::Begun if pair.code == 2 => {
                self.section = match pair.word() {
                    b"HEADER" => Section::Header,
                    b"TABLES" => Section::Tables,
                    b"BLOCKS" => Section::Blocks,
                    b"ENTITIES" => Section::Entities,
                    _ => Section::Other,
                };
            }
            Section::Header => self.header(pair),
            Section::Tables if self.in_layer => self.layer(pair),
            Section::Blocks if self.in_head => return self.head(pair),
            Section::Entities | Section::Blocks => return self.entity(pair),
            _ => {}
        }
        Ok(())
    }

    /// Notes where the header's version ends, and where it begins.
    fn version(&mut self, pair: &Pair<'_>) {
        if self.in_version && matches!(pair.code, 0 | 9) {
            self.listing.version.end = pair.begin;
            self.in_version = false;
        }
        if self.section == Section::Header && pair.code == 9 && pair.word() == b"$ACADVER" {
            self.listing.version = pair.begin..pair.begin;
            self.in_version = true;
        }
    }

    /// A pair of code 0: a section, its end, or the next thing in it.
    fn begin(&mut self, pair: &Pair<'_>) -> Result<(), DxfError> {
        let word = pair.word();
        self.in_part = SUBORDINATE.contains(&word);
        // Attributes follow an INSERT and are read with it, but listed by themselves.
        if self.in_part || word == b"ATTRIB" {
            self.plain = None;
        } else {
            self.close(pair.begin);
        }
        self.in_head = false;
        let in_blocks = self.section == Section::Blocks;
        match (word, self.open_block) {
            (b"BLOCK" | b"ENDSEC" | b"SECTION", Some(at)) => return Err(endless(at)),
            (b"ENDBLK", None) if in_blocks => {
                return Err(DxfError::Malformed {
                    what: "there is no block to end (0/ENDBLK)",
                    at: pair.at,
                });
            }
            _ => {}
        }
        match word {
            b"SECTION" => self.section = Section::Begun,
            b"ENDSEC" => self.section = Section::Outside,
            b"BLOCK" if in_blocks => {
                self.open_block = Some(pair.at);
                (self.in_head, self.wants_name) = (true, true);
                self.listing.blocks.push(ListedBlock {
                    name: "".into(),
                    base: Point::default(),
                    records: Vec::new(),
                });
            }
            b"ENDBLK" if in_blocks => self.open_block = None,
            _ if self.section == Section::Entities || in_blocks => {
                if !self.in_part {
                    self.list(pair);
                }
            }
            word => {
                self.in_layer = self.section == Section::Tables && word == b"LAYER";
                if self.in_layer {
                    self.listing.layers.push(LayerEntry {
                        name: String::new(),
                        frozen: false,
                        off: false,
                    });
                }
            }
        }
        Ok(())
    }

    /// Ends the curve that was begun.
    fn close(&mut self, end: usize) {
        let shape = self.plain.take().and_then(Plain::finish);
        let Some((kind, begin)) = self.open.take() else {
            return;
        };
        if shape.is_none() {
            self.listing.curves.push((kind, begin..end));
        }
        self.listing.plain.push(shape);
    }

    /// Lists an entity.
    fn list(&mut self, pair: &Pair<'_>) {
        let kind = READ
            .iter()
            .zip(0_u8..)
            .find(|(kind, _)| kind.as_bytes() == pair.word());
        let curve = kind.map(|(_, kind)| (kind, pair.begin));
        let n = self.listing.plain.len() as u32;
        let record = Record {
            name: EntityName {
                kind: pair.text().into(),
                handle: None,
                layer: "0".into(),
                at: pair.at,
                within: None,
            },
            invisible: false,
            on_paper: false,
            numbers: Vec::new(),
            places: None,
            curve: curve.is_some().then_some(n),
        };
        let records = self.listing.records(self.section, self.open_block);
        if let Some(records) = records {
            records.push(record);
            self.open = self.open.or(curve);
            self.plain = self.reads_plain.then(|| Plain::new(pair.word())).flatten();
        }
    }

    /// A pair of a block itself: its name, and the point that comes to lie where it is placed.
    fn head(&mut self, pair: &Pair<'_>) -> Result<(), DxfError> {
        if matches!(pair.code, 10 | 20) && !pair.real().is_finite() {
            return Err(DxfError::Malformed {
                what: "the base point of a block is no finite number",
                at: pair.at,
            });
        }
        let wants_name = self.wants_name;
        let Some(block) = self.listing.blocks.last_mut() else {
            return Ok(());
        };
        match pair.code {
            2 if wants_name => {
                block.name = pair.text().into();
                self.wants_name = false;
            }
            10 => block.base.x = pair.real(),
            20 => block.base.y = pair.real(),
            _ => {}
        }
        Ok(())
    }

    fn header(&mut self, pair: &Pair<'_>) {
        if pair.code == 9 {
            self.wants_unit = pair.word() == b"$INSUNITS";
        } else if self.wants_unit {
            self.listing.unit = pair.whole();
            self.wants_unit = false;
        }
    }

    fn layer(&mut self, pair: &Pair<'_>) {
        let Some(layer) = self.listing.layers.last_mut() else {
            return;
        };
        match pair.code {
            2 => layer.name = pair.text(),
            // Bit 1: frozen; a negative colour: off.
            70 => layer.frozen = pair.whole().is_some_and(|flags| flags & 1 != 0),
            62 => layer.off = pair.whole().is_some_and(|color| color < 0),
            _ => {}
        }
    }

    fn entity(&mut self, pair: &Pair<'_>) -> Result<(), DxfError> {
        let in_part = self.in_part;
        let records = self.listing.records(self.section, self.open_block);
        let Some(record) = records.and_then(|r| r.last_mut()) else {
            return Ok(());
        };
        let is_filled = FILLED.contains(&&*record.name.kind);
        let counts = is_number(pair.code) && (is_filled || record.curve.is_some());
        let number = counts.then(|| pair.real());
        if number.is_some_and(|n| !n.is_finite()) {
            return Err(DxfError::NotFinite {
                entity: record.name.clone(),
                code: pair.code,
                at: pair.at,
            });
        }
        if let Some(plain) = &mut self.plain {
            plain.take(pair, number);
        }
        match pair.code {
            5 | 8 | 60 | 67 if in_part => {}
            5 if record.name.handle.is_none() => record.name.handle = Some(pair.text().into()),
            8 => record.name.layer = pair.text().into(),
            2 if &*record.name.kind == "INSERT" && !in_part => {
                record.places = Some(pair.text().into());
            }
            60 => record.invisible = pair.whole() == Some(1),
            67 => record.on_paper = pair.whole() == Some(1),
            code @ (10..=59 | 70..=99 | 210..=239) if is_filled => {
                record.numbers.push((code, number.unwrap_or(f64::NAN)));
            }
            _ => {}
        }
        Ok(())
    }
}
