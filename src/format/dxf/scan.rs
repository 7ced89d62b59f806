//! What a DXF file lists: its unit, its layers, and every entity by kind, handle and layer.
//!
//! In: bytes. Out: the list, in the order of the file: entities of the drawing, and blocks with theirs. Vertices
//! belong to the entity before them. The numbers of a HATCH are kept, since nobody else reads them. The parts that the reader
//! of geometry needs are listed too: version, blocks and entities. Dates, classes, tables and objects cannot disturb it then.

use crate::format::dxf::error::DxfError;
use crate::format::dxf::pairs::{Pair, Pairs, Reached};
use crate::format::dxf::parts::Parts;
use crate::format::dxf::{At, EntityName, LayerEntry};

/// What a file lists.
#[derive(Debug, Default)]
pub(super) struct Listing {
    /// `$INSUNITS`.
    pub(super) unit: Option<i64>,
    /// The layer table.
    pub(super) layers: Vec<LayerEntry>,
    /// The entities.
    pub(super) records: Vec<Record>,
    /// The blocks with their entities.
    pub(super) blocks: Vec<(Box<str>, Vec<Record>)>,
    /// What of the file the reader of geometry is given.
    pub(super) parts: Parts,
}

/// One entity of the list.
#[derive(Debug)]
pub(super) struct Record {
    pub(super) name: EntityName,
    pub(super) invisible: bool,
    pub(super) on_paper: bool,
    /// Group codes and numbers of a HATCH.
    pub(super) numbers: Vec<(i32, f64)>,
}

/// The kinds that the crate reads for us.
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

/// The kind whose numbers are kept.
pub(super) const HATCH: &str = "HATCH";

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
    let mut pairs = Pairs::new(bytes);
    let begun = pairs.reached();
    let first = pairs.pair();
    let is_dxf = matches!(&first, Ok(Some(p)) if p.code == 0 && p.word() == b"SECTION");
    if !is_dxf {
        return Err(DxfError::NotDxf);
    }
    let mut scanner = Scanner {
        listing: Listing::default(),
        section: Section::Begun,
        begun,
        in_version: false,
        wants_unit: false,
        in_layer: false,
        open_block: None,
        wants_name: false,
        in_part: false,
    };
    let mut from = pairs.reached();
    while let Some(pair) = pairs.pair()? {
        let to = pairs.reached();
        if pair.code == 0 && pair.word() == b"EOF" {
            scanner.listing.parts.add(from, to);
            return Ok(scanner.listing);
        }
        let before = scanner.section;
        scanner.take(&pair)?;
        match (before, scanner.section) {
            (_, Section::Begun) if pair.code == 0 => scanner.begun = from,
            (Section::Begun, Section::Header | Section::Blocks | Section::Entities) => {
                scanner.listing.parts.add(scanner.begun, to);
            }
            // Of the header the version alone: how letters are written depends on it.
            (Section::Header, Section::Header) if !scanner.in_version => {}
            (Section::Header | Section::Blocks | Section::Entities, _) => {
                scanner.listing.parts.add(from, to);
            }
            _ => {}
        }
        from = to;
    }
    Err(DxfError::Truncated { at: pairs.at() })
}

/// Whether the value of a group code is a number.
const fn is_number(code: i32) -> bool {
    matches!(code, 10..=79 | 90..=99 | 110..=179 | 210..=239 | 270..=299 | 370..=389 | 400..=409 | 420..=429 | 440..=469)
}

struct Scanner {
    listing: Listing,
    section: Section,
    /// Where the section begins.
    begun: Reached,
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
    /// The pairs belong to a vertex of the entity.
    in_part: bool,
}

impl Scanner {
    fn take(&mut self, pair: &Pair<'_>) -> Result<(), DxfError> {
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
            Section::Blocks if self.wants_name && pair.code == 2 => {
                if let Some(block) = self.listing.blocks.last_mut() {
                    block.0 = pair.text().into();
                }
                self.wants_name = false;
            }
            Section::Entities | Section::Blocks => return self.entity(pair),
            _ => {}
        }
        Ok(())
    }

    /// A pair of code 0: a section, its end, or the next thing in it.
    fn begin(&mut self, pair: &Pair<'_>) -> Result<(), DxfError> {
        let malformed = |what, at| Err(DxfError::Malformed { what, at });
        let in_blocks = self.section == Section::Blocks;
        match (pair.word(), self.open_block) {
            (b"BLOCK" | b"ENDSEC" | b"SECTION", Some(at)) => {
                return malformed("no end (0/ENDBLK) follows the block that begins", at);
            }
            (b"ENDBLK", None) if in_blocks => {
                return malformed("there is no block to end (0/ENDBLK)", pair.at);
            }
            _ => {}
        }
        match pair.word() {
            b"SECTION" => self.section = Section::Begun,
            b"ENDSEC" => self.section = Section::Outside,
            b"BLOCK" if in_blocks => {
                (self.open_block, self.wants_name) = (Some(pair.at), true);
                self.listing.blocks.push(("".into(), Vec::new()));
            }
            b"ENDBLK" if in_blocks => self.open_block = None,
            word if self.section == Section::Entities || in_blocks => {
                self.wants_name = false;
                self.in_part = SUBORDINATE.contains(&word);
                if self.in_part {
                    return Ok(());
                }
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
                };
                if let Some(records) = self.records() {
                    records.push(record);
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

    /// Where entities are listed just now; `None` outside of blocks.
    fn records(&mut self) -> Option<&mut Vec<Record>> {
        match self.section {
            Section::Entities => Some(&mut self.listing.records),
            _ if self.open_block.is_some() => self.listing.blocks.last_mut().map(|b| &mut b.1),
            _ => None,
        }
    }

    fn header(&mut self, pair: &Pair<'_>) {
        if pair.code == 9 {
            self.wants_unit = pair.word() == b"$INSUNITS";
            self.in_version = pair.word() == b"$ACADVER";
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
        let Some(record) = self.records().and_then(|r| r.last_mut()) else {
            return Ok(());
        };
        let kind = &*record.name.kind;
        let is_hatch = kind == HATCH;
        if is_number(pair.code) && (is_hatch || READ.contains(&kind)) && !pair.is_finite() {
            return Err(DxfError::NotFinite {
                entity: record.name.clone(),
                code: pair.code,
                at: pair.at,
            });
        }
        match pair.code {
            5 | 8 | 60 | 67 if in_part => {}
            5 if record.name.handle.is_none() => record.name.handle = Some(pair.text().into()),
            8 => record.name.layer = pair.text().into(),
            60 => record.invisible = pair.whole() == Some(1),
            67 => record.on_paper = pair.whole() == Some(1),
            code @ (10..=59 | 70..=99 | 210..=239) if is_hatch => {
                record.numbers.push((code, pair.real()));
            }
            _ => {}
        }
        Ok(())
    }
}
