//! The curves of a file, read by the crate `dxf` some thousand at a time.
//!
//! In: the bytes, and the list of what they hold. Out: the shape of each listed entity with a curve, those of blocks among
//! them. What the crate is given is the file's header and a section of entities, copied from the file; all else, its tables,
//! objects and letters, would cost time and many times its size in memory, and is never looked at. The crate must tell the
//! same entities in the same order as the list, so nothing is lost without a word.

use dxf::Drawing;

use crate::format::dxf::Shape;
use crate::format::dxf::error::DxfError;
use crate::format::dxf::pairs::{Pairs, SENTINEL};
use crate::format::dxf::read::curve;
use crate::format::dxf::scan::{Listing, READ};

/// Bytes of entities that are read together: the crate takes some ten times as much.
const TOGETHER: usize = 1 << 20;

/// Reads the curves; a mesh has none.
///
/// # Errors
/// `Reader`, `Lost`.
pub(super) fn read(bytes: &[u8], listing: &Listing) -> Result<Vec<Option<Shape>>, DxfError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let pairs = Pairs::new(bytes);
    let mut head = Vec::new();
    if pairs.is_binary() {
        head.extend_from_slice(SENTINEL);
    }
    if let Some(header) = bytes.get(listing.header.clone())
        && !header.is_empty()
    {
        head.extend_from_slice(header);
        pairs.write(0, "ENDSEC", &mut head);
    }
    pairs.write(0, "SECTION", &mut head);
    pairs.write(2, "ENTITIES", &mut head);
    let mut shapes = Vec::with_capacity(listing.curves.len());
    let mut file = head.clone();
    let mut begun = 0;
    for (i, (_, range)) in listing.curves.iter().enumerate() {
        file.extend_from_slice(bytes.get(range.clone()).unwrap_or(&[]));
        if file.len() - head.len() < TOGETHER && i + 1 < listing.curves.len() {
            continue;
        }
        pairs.write(0, "ENDSEC", &mut file);
        pairs.write(0, "EOF", &mut file);
        let read = Drawing::load(&mut &file[..]).map_err(|source| DxfError::Reader { source })?;
        let mut read = read.entities().filter_map(|e| curve(&e.specific));
        for (kind, _) in &listing.curves[begun..=i] {
            let same = read
                .next()
                .filter(|(name, _)| *name == READ[usize::from(*kind)]);
            let (_, shape) = same.ok_or(DxfError::Lost {
                listed: listing.curves.len(),
                read: shapes.len(),
            })?;
            shapes.push(shape);
        }
        begun = i + 1;
        file.truncate(head.len());
    }
    Ok(shapes)
}
