//! Which sheets ways and columns use: sets for quick comparisons.

use crate::planner::cover::bits::Bits;
use crate::planner::cover::seat::{Kinds, Offer};

/// The sheets of a way, or of several, for quick comparisons.
#[derive(Clone, Debug, Default)]
pub(super) struct Mask {
    /// Kinds of which there is one sheet.
    pub(super) kinds: Kinds,
    /// Those of them that have no other place to offer.
    pub(super) solid: Kinds,
    /// Of the others the mode that is used, and which of its boxes: kind, mode, a bit for each.
    parts: Vec<(u32, u32, u32)>,
    /// Whether kinds of several sheets are used, of which there must be enough.
    pub(super) several: bool,
    /// Whether pieces share the length of a box, which must suffice.
    pub(super) rows: bool,
}

/// Which ways of a group use what.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    /// By kind of which there is one sheet: ways that use it.
    pub(super) uses: Vec<Bits>,
    /// Those that leave no place on it.
    pub(super) solid: Vec<Bits>,
    /// Ways that use kinds of several sheets.
    pub(super) several: Bits,
}

impl Index {
    pub(super) fn new(masks: &[&Mask], kinds: usize) -> Self {
        let of = |has: &dyn Fn(&Mask) -> bool| {
            let mut bits = Bits::none(masks.len());
            let all = masks.iter().enumerate().filter(|(_, m)| has(m));
            all.for_each(|(k, _)| bits.insert(k));
            bits
        };
        let kinds = 0..kinds;
        Self {
            uses: kinds.clone().map(|k| of(&|m| m.kinds.has(k))).collect(),
            solid: kinds.map(|k| of(&|m| m.solid.has(k))).collect(),
            several: of(&|m| m.several),
        }
    }
}

impl Mask {
    /// That of pieces on some places.
    pub(super) fn new(offer: &Offer, used: impl Iterator<Item = usize>) -> Self {
        let mut out = Self::default();
        let mut places = Vec::new();
        for place in used.map(|p| &offer.places[p]) {
            if offer.kinds[place.kind].bins.len() > 1 {
                out.several = true;
                continue;
            }
            out.kinds = out.kinds.with(place.kind);
            if place.parts > 1 {
                out.rows |= place.parted.is_some() || place.share.is_some();
                places.push(place);
            } else {
                out.solid = out.solid.with(place.kind);
            }
        }
        for p in places {
            // Pieces in a row share a box: how many there may be is asked.
            let bit = if p.parted.is_some() { 0 } else { 1 << p.part };
            out.add_part((p.kind as u32, p.mode as u32, bit));
        }
        out
    }

    fn add_part(&mut self, part: (u32, u32, u32)) {
        match self.parts.iter_mut().find(|q| q.0 == part.0) {
            Some(known) => known.2 |= part.2,
            None => self.parts.push(part),
        }
    }

    /// Whether it uses no sheet whole that the other uses, and of one that is used in parts other boxes of the same mode.
    pub(super) fn stands_beside(&self, other: &Self) -> bool {
        !self.kinds.meets(&other.kinds)
            || !self.solid.meets(&other.kinds)
                && !other.solid.meets(&self.kinds)
                && self.parts.iter().all(|p| {
                    let known = other.parts.iter().find(|q| q.0 == p.0);
                    known.is_none_or(|q| q.1 == p.1 && q.2 & p.2 == 0)
                })
    }
}
