//! What sheets offer: places, and how a piece may sit on one.
//!
//! A *place* is a clear box of a sheet that takes one piece. Places of one *mode* of a sheet can be used together, those of
//! different modes cannot: an L offers one arm whole and what is left of the other, either way round. A mode that is *parted*
//! takes pieces in a row along one axis of the sheet, which share its length as they need it. Sheets of one entry of the stock
//! are one kind with a count.

use crate::geometry::bounds::Bounds;
use crate::geometry::region::Region;
use crate::model::cutter::{Axis, Turns};
use crate::planner::cover::alike::Uses;
use crate::planner::cover::disc::Inside;
use crate::planner::cover::hole::{self, Fit};
use crate::planner::cover::mode::{self, MOST_NOTCHED, SHARED, notched};
use crate::planner::cover::place::{Place, Share};
use crate::planner::cover::supply;
use crate::planner::cover::void::{Corner, Keep, inner_mm2, slanted};
use crate::planner::packing::{Bin, BoxItem, may_turn};
use crate::planner::prepared::{Prepared, box_turns};

/// Kinds of sheets that are looked at.
pub(crate) const MOST_KINDS: usize = 256;
/// A set of kinds of sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Kinds([u64; MOST_KINDS / 64]);

impl Kinds {
    pub(crate) fn with(mut self, kind: usize) -> Self {
        self.0[kind / 64] |= 1 << (kind % 64);
        self
    }

    /// Whether a kind is in the set.
    pub(crate) fn has(&self, kind: usize) -> bool {
        self.0[kind / 64] >> (kind % 64) & 1 == 1
    }

    /// The set in 64 bits; the same bit stands for several kinds.
    pub(crate) fn folded(&self) -> u64 {
        self.0.iter().fold(0, |all, word| all | word)
    }

    pub(crate) fn meets(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).any(|(a, b)| a & b != 0)
    }

    pub(crate) fn or(mut self, other: &Self) -> Self {
        self.0.iter_mut().zip(&other.0).for_each(|(a, b)| *a |= b);
        self
    }
}

/// Sheets of one entry of the stock.
#[derive(Clone, Debug)]
pub(crate) struct Kind {
    /// Their class.
    pub(crate) class: usize,
    /// Their places in the class's list of bins.
    pub(crate) bins: Vec<usize>,
    /// Cost of one.
    pub(crate) cost: f64,
    /// The grain.
    pub(crate) grain: Option<Axis>,
}

/// In which direction a seat gives: how much room it has there depends on what else lies on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Give {
    /// In none.
    None,
    /// Along the through seams.
    Along,
    /// Across them.
    Across,
}

/// A place as a layer sees it whose seams run one way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seat {
    /// The place.
    pub(crate) place: usize,
    /// Whether the piece lies turned by a quarter.
    pub(crate) turned: bool,
    /// Whether it is turned by a half besides.
    pub(crate) half: bool,
    /// Room across the through seams.
    pub(crate) across: f64,
    /// Room along them.
    pub(crate) along: f64,
    /// Where that is the most that there may be.
    pub(crate) give: Give,
    /// Beside a void of the layer: the number of what it must keep, and room across and along where that allows the most.
    pub(crate) bound: Option<(usize, [f64; 2])>,
}

impl Seat {
    /// Room across the through seams (0), or along them (1), as far as it does not depend on where the piece lies.
    pub(crate) fn room(&self, axis: usize) -> f64 {
        match self.bound {
            Some((_, open)) => open[axis],
            None => [self.across, self.along][axis],
        }
    }

    /// The direction of the layer, whose through seams run one way, that lies along an axis of the sheet.
    pub(crate) fn toward(&self, axis: Axis, runs: Axis) -> Give {
        let x_is_across = (runs == Axis::Y) != self.turned;
        if (axis == Axis::X) == x_is_across {
            Give::Across
        } else {
            Give::Along
        }
    }
}

/// What a seat beside a void must keep.
#[derive(Clone, Debug)]
pub(super) struct Kept {
    pub(super) keeps: Vec<Keep>,
    /// Points that a round hole must hold.
    pub(super) inside: Vec<Inside>,
    /// How a sheet that lacks a rectangle lies in a hole.
    pub(super) fit: Option<Fit>,
}

/// All kinds and places of all classes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Offer {
    pub(crate) kinds: Vec<Kind>,
    pub(crate) places: Vec<Place>,
    /// By kind: area in mm² that pieces can take.
    usable: Vec<f64>,
    /// By kind: area in mm² that the price of a sheet buys elsewhere.
    worth: Vec<f64>,
    /// By kind, in mm²: what its pieces lose counts as so much less; empty where there are no favours.
    pub(super) favours: Vec<f64>,
    /// Whether no sheet is dear where as much of those used is used as usual.
    pub(super) needs_all: bool,
    spacing: f64,
    least: f64,
    /// What seats beside a void must keep.
    kept: Vec<Kept>,
}

/// Whether layers of a class have holes that count.
fn has_holes(prepared: &Prepared<'_>, class: usize) -> bool {
    let mut units = prepared.classes[class].units.iter();
    units.any(|u| !prepared.shapes[prepared.units[*u].shape].holes.is_empty())
}

/// Whether layers of a class lack something that sheets may lack too.
fn has_voids(prepared: &Prepared<'_>, class: usize) -> bool {
    let mut units = prepared.classes[class].units.iter();
    has_holes(prepared, class)
        || units.any(|u| {
            let shape = &prepared.shapes[prepared.units[*u].shape];
            !shape.corners.is_empty() || !shape.discs.is_empty()
        })
}

/// Area in mm² of the layers and the parts that must be cut, by class.
fn needs(prepared: &Prepared<'_>) -> Vec<f64> {
    let of_layer = |u: &usize| -> f64 {
        let layer = &prepared.task.layers[prepared.units[*u].layer];
        layer.shape.iter().map(Region::area_mm2).sum()
    };
    let of_part = |p: usize| prepared.task.parts[p].region.area_mm2();
    let classes = prepared.classes.iter();
    classes
        .map(|c| {
            let layers: f64 = c.units.iter().map(of_layer).sum();
            layers + c.parts.iter().map(|p| of_part(p.1)).sum::<f64>()
        })
        .collect()
}

/// As much of the sheets used is usually taken to be used, where it is asked which sheets are dear.
pub(super) const FILL: f64 = 0.97;
/// Pieces in a row on a parted place.
const MOST_IN_A_ROW: usize = 3;

impl Offer {
    /// What the sheets of the classes offer; sheets sold by length offer nothing here. Which of them are dear depends on the share of
    /// those used that is taken to be used.
    pub(crate) fn new(prepared: &Prepared<'_>, fill: f64) -> Self {
        let mut out = Self {
            spacing: prepared.task.cutter.spacing,
            least: prepared.task.seams.limits.min_piece,
            ..Self::default()
        };
        for (class, c) in prepared.classes.iter().enumerate() {
            for (b, bin) in c.bins.iter().enumerate() {
                if bin.by_length.is_some() {
                    continue;
                }
                let known = out
                    .kinds
                    .iter()
                    .position(|k| k.class == class && c.bins[k.bins[0]].sheet == bin.sheet);
                if let Some(k) = known {
                    out.kinds[k].bins.push(b);
                } else if out.kinds.len() < MOST_KINDS {
                    let kind = out.kinds.len();
                    out.kinds.push(Kind {
                        class,
                        bins: vec![b],
                        cost: bin.cost,
                        grain: bin.grain,
                    });
                    let sheet = &prepared.task.sheets[bin.sheet];
                    let slanted = slanted(sheet, prepared.task.cutter.edge_margin);
                    // Only a hole can take what is missing.
                    let gapped = has_holes(prepared, class)
                        .then(|| hole::gapped(sheet, prepared.task.cutter.edge_margin))
                        .flatten();
                    out.add_places(kind, bin, slanted, gapped);
                }
            }
        }
        out.usable = (0..out.kinds.len())
            .map(|k| {
                let kind = &out.kinds[k];
                let class = &prepared.classes[kind.class];
                let boxes = out.usable(k);
                // Pieces that lack a corner, or what a hole takes, may take more than any clear boxes.
                if has_voids(prepared, kind.class) {
                    let sheet = &prepared.task.sheets[class.bins[kind.bins[0]].sheet];
                    boxes.max(inner_mm2(sheet, prepared.task.cutter.edge_margin))
                } else {
                    boxes
                }
            })
            .collect();
        let needs = needs(prepared);
        let usual = supply::worth(&out, &needs, FILL);
        out.needs_all = usual.iter().zip(&out.usable).all(|(w, u)| w <= u);
        out.worth = supply::worth(&out, &needs, fill);
        out
    }

    /// What a seat loses besides its window, in mm²: what its sheet's price would buy elsewhere and its window does not hold. Of several
    /// boxes each bears its share; pieces in a row are taken to be two.
    pub(super) fn forgone_mm2(&self, seat: &Seat) -> f64 {
        let place = &self.places[seat.place];
        let (worth, usable) = (self.worth[place.kind], self.usable_of(place.kind));
        let part = self.part_of(seat.place);
        let lost = if place.parted.is_none() && place.parts == 1 {
            worth - place.area_mm2()
        } else {
            part * (worth - usable)
        };
        let favour = self.favours.get(place.kind).map_or(0.0, |f| part * f);
        lost.max(0.0) - favour
    }

    /// How much of its sheet a place stands for: of several boxes each for its share; pieces in a row are taken to be two.
    pub(super) fn part_of(&self, place: usize) -> f64 {
        let place = &self.places[place];
        if place.parted.is_some() {
            0.5
        } else if place.parts == 1 {
            1.0
        } else {
            (place.area_mm2() / self.usable_of(place.kind)).min(1.0)
        }
    }

    /// By how much the dear sheets of a class cost too much, in mm².
    pub(crate) fn surplus_of(&self, class: usize) -> f64 {
        let kinds = self.kinds.iter().enumerate();
        kinds
            .filter(|(_, k)| k.class == class)
            .map(|(n, k)| k.bins.len() as f64 * (self.worth[n] - self.usable[n]).max(0.0))
            .sum()
    }

    /// Area in mm² of a sheet of a kind that pieces can take: that of the mode which takes most.
    pub(crate) fn usable_of(&self, kind: usize) -> f64 {
        self.usable[kind]
    }

    /// Area in mm² by which what pieces of a kind's sheet may lose seems more than it is: of two boxes that overlap, both count whole.
    pub(crate) fn over(&self, kind: usize) -> f64 {
        let own = self.places.iter().filter(|p| p.kind == kind);
        own.filter_map(|p| {
            p.share.map(|share| match share.axis {
                Axis::X => p.window.depth(),
                Axis::Y => p.window.width(),
            })
        })
        .fold(0.0, f64::max)
            * 2.0
            * SHARED
    }

    fn add_places(
        &mut self,
        kind: usize,
        bin: &Bin,
        slanted: Option<(Bounds, Corner)>,
        gapped: Option<(Bounds, Bounds)>,
    ) {
        let (least, spacing) = (self.least, self.spacing);
        let modes = mode::modes(bin, least, spacing);
        let alone = |mode: usize, window: Bounds| Place {
            kind,
            mode,
            part: 0,
            parts: 1,
            window,
            parted: None,
            notch: None,
            share: None,
            gap: None,
            lacks: None,
        };
        for (mode, boxes) in modes.iter().enumerate() {
            let share = |part: usize| match boxes[..] {
                [a, b] => Share::of(&a, &b, spacing).map(|(axis, length, low)| {
                    let both = match axis {
                        Axis::X => a.width() + b.width(),
                        Axis::Y => a.depth() + b.depth(),
                    };
                    Share {
                        axis,
                        length,
                        high: (part == 0) != low,
                        over: (both + spacing - length).max(0.0),
                    }
                }),
                _ => None,
            };
            let parts = boxes.iter().enumerate();
            self.places.extend(parts.map(|(part, window)| Place {
                part,
                parts: boxes.len(),
                share: share(part),
                ..alone(mode, *window)
            }));
        }
        let ells = notched(&bin.windows, least).into_iter().enumerate();
        self.places.extend(ells.map(|(n, (window, notch))| Place {
            notch: Some(notch),
            ..alone(modes.len() + n, window)
        }));
        let beyond = modes.len() + MOST_NOTCHED;
        self.places.extend(gapped.map(|(window, gap)| Place {
            gap: Some(gap),
            ..alone(beyond + 1, window)
        }));
        self.places.extend(slanted.map(|(window, corner)| Place {
            lacks: Some(corner),
            ..alone(beyond, window)
        }));
    }

    /// Adds the parted places of kinds that have one sheet with one clear box.
    pub(crate) fn part(&mut self) {
        for kind in 0..self.kinds.len() {
            let own: Vec<Place> = self
                .places
                .iter()
                .filter(|p| p.kind == kind && p.notch.is_none() && p.is_clear())
                .copied()
                .collect();
            let [place] = own[..] else {
                continue;
            };
            if self.kinds[kind].bins.len() > 1 {
                continue;
            }
            let sides = [
                (Axis::X, place.window.width()),
                (Axis::Y, place.window.depth()),
            ];
            for (mode, (axis, length)) in sides.into_iter().enumerate() {
                if length >= 2.0 * self.least + self.spacing {
                    self.places.push(Place {
                        mode: mode + 1,
                        parts: MOST_IN_A_ROW,
                        parted: Some(axis),
                        ..place
                    });
                }
            }
        }
    }

    /// Area in mm² of the sheet that a seat takes as a whole; of one of several boxes, of that.
    pub(super) fn whole_mm2(&self, seat: &Seat) -> f64 {
        let place = &self.places[seat.place];
        if place.parts == 1 {
            self.usable_of(place.kind)
        } else {
            place.area_mm2()
        }
    }

    /// Notes what a seat must keep, and gives its number.
    pub(super) fn keep(&mut self, kept: Kept) -> usize {
        self.kept.push(kept);
        self.kept.len() - 1
    }

    /// What a seat must keep.
    pub(crate) fn keeps_of(&self, seat: &Seat) -> &[Keep] {
        seat.bound.map_or(&[], |(k, _)| &self.kept[k].keeps)
    }

    /// The points of a seat that a round hole must hold.
    pub(super) fn inside_of(&self, seat: &Seat) -> &[Inside] {
        seat.bound.map_or(&[], |(k, _)| &self.kept[k].inside)
    }

    /// How a seat's sheet, which lacks a rectangle, lies in a hole.
    pub(super) fn fit_of(&self, seat: &Seat) -> Option<&Fit> {
        seat.bound.and_then(|(k, _)| self.kept[k].fit.as_ref())
    }

    /// Least extent of a piece.
    pub(crate) fn least(&self) -> f64 {
        self.least
    }

    /// What pieces keep from each other.
    pub(crate) fn spacing(&self) -> f64 {
        self.spacing
    }

    /// The length that pieces on a parted place share, or those in boxes that overlap.
    pub(crate) fn shared_length(&self, place: usize) -> f64 {
        let place = &self.places[place];
        if let Some(share) = place.share {
            share.length
        } else if place.parted == Some(Axis::X) {
            place.window.width()
        } else {
            place.window.depth()
        }
    }

    /// The direction of the layer in which a seat's box shares its length with another box of the one sheet of its kind.
    pub(super) fn shares(&self, seat: &Seat, runs: Axis) -> Option<Give> {
        let place = &self.places[seat.place];
        let share = place.share.filter(|_| self.sheets(seat) == 1)?;
        Some(seat.toward(share.axis, runs))
    }

    /// How much of a seat's room across the other box of its sheet may take, in mm.
    pub(super) fn lent(&self, seat: &Seat, runs: Axis) -> f64 {
        let across = self.shares(seat, runs) == Some(Give::Across);
        let share = self.places[seat.place].share.filter(|_| across);
        share.map_or(0.0, |s| s.over)
    }

    /// The seats for a layer of a class whose through seams run one way.
    pub(crate) fn seats(
        &self,
        class: usize,
        turns: Turns,
        grain: Option<Axis>,
        runs: Axis,
    ) -> Vec<Seat> {
        let mut out = Vec::new();
        for (k, place) in self.places.iter().enumerate() {
            let kind = &self.kinds[place.kind];
            if kind.class != class || place.notch.is_some() || !place.is_clear() {
                continue;
            }
            let item = BoxItem {
                size: [0.0, 0.0],
                turns: box_turns(turns),
                grain,
            };
            for turned in [false, true] {
                if !may_turn(&item, kind.grain, turned) {
                    continue;
                }
                let (x, y) = (place.window.width(), place.window.depth());
                let x_is_across = (runs == Axis::Y) != turned;
                let (across, along) = if x_is_across { (x, y) } else { (y, x) };
                let mut seat = Seat {
                    place: k,
                    turned,
                    half: false,
                    across,
                    along,
                    give: Give::None,
                    bound: None,
                };
                seat.give = place
                    .parted
                    .map_or(Give::None, |axis| seat.toward(axis, runs));
                match seat.give {
                    Give::None => {}
                    Give::Across => seat.across -= self.spacing + self.least,
                    Give::Along => seat.along -= self.spacing + self.least,
                }
                out.push(seat);
            }
        }
        out
    }

    /// How many sheets of a seat's kind there are.
    pub(crate) fn sheets(&self, seat: &Seat) -> usize {
        self.kinds[self.places[seat.place].kind].bins.len()
    }

    /// What the sheets of places cost: one of which several places are used costs once.
    pub(crate) fn cost(&self, places: &[(usize, f64)]) -> f64 {
        let mut cost = 0.0;
        for (k, (p, _)) in places.iter().enumerate() {
            let kind = self.places[*p].kind;
            let several = self.kinds[kind].bins.len() > 1;
            let known = !several && places[..k].iter().any(|q| self.places[q.0].kind == kind);
            cost += if known { 0.0 } else { self.kinds[kind].cost };
        }
        cost
    }

    fn usable(&self, kind: usize) -> f64 {
        let mut best: f64 = 0.0;
        let own = || {
            self.places
                .iter()
                .filter(|p| p.kind == kind && p.parted.is_none())
        };
        for first in own().filter(|p| p.part == 0) {
            let area = own()
                .filter(|p| p.mode == first.mode)
                .map(Place::area_mm2)
                .sum();
            best = best.max(area);
        }
        best
    }

    /// Whether two tilings use no place twice, nor places that exclude each other.
    pub(crate) fn stand_together(&self, a: &Uses, b: &Uses) -> bool {
        !a.kinds.meets(&b.kinds)
            || !a.solid.meets(&b.kinds)
                && !b.solid.meets(&a.kinds)
                && a.partial
                    .iter()
                    .all(|p| b.partial.iter().all(|q| self.agree(*p, *q)))
    }

    /// Whether two places can be used beside each other, as far as kinds and modes say.
    pub(crate) fn agree(&self, a: usize, b: usize) -> bool {
        let (p, q) = (&self.places[a], &self.places[b]);
        p.kind != q.kind
            || self.kinds[p.kind].bins.len() > 1
            || (p.mode == q.mode && (p.part != q.part || p.parted.is_some()))
    }

    /// Whether two boxes of a sheet that share a length have what pieces need of it.
    fn halves_suffice(&self, places: &[(usize, f64)], (p, need): (usize, f64)) -> bool {
        let place = &self.places[p];
        let other = |q: &&(usize, f64)| {
            let other = &self.places[q.0];
            (other.kind, other.mode) == (place.kind, place.mode) && other.part != place.part
        };
        places
            .iter()
            .filter(other)
            .all(|(_, rest)| need + rest + self.spacing <= self.shared_length(p) + 1e-6)
    }

    /// Whether places can all be used: no more of a kind than there are, and lengths that are shared with what pieces need of them.
    pub(crate) fn suffices(&self, places: &[(usize, f64)]) -> bool {
        places.iter().enumerate().all(|(k, (p, need))| {
            let place = &self.places[*p];
            let sheets = self.kinds[place.kind].bins.len();
            if place.parted.is_some() {
                let alike = || places.iter().filter(|q| q.0 == *p);
                let first = places[..k].iter().all(|q| q.0 != *p);
                !first || {
                    let n = alike().count();
                    let need: f64 = alike().map(|q| q.1).sum();
                    n <= MOST_IN_A_ROW
                        && need + (n as f64 - 1.0) * self.spacing <= self.shared_length(*p) + 1e-6
                }
            } else if place.share.is_some() && sheets == 1 {
                self.halves_suffice(&places[..k], (*p, *need))
            } else {
                sheets == 1
                    || places
                        .iter()
                        .filter(|q| self.places[q.0].kind == place.kind)
                        .count()
                        <= sheets
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point::Point;

    /// A sheet of 200 × 100 with two boxes side by side along x that overlap by 10: with the spacing of 2 one may take 12 from the other.
    fn offer() -> Offer {
        let boxes = [(0.0, 110.0), (100.0, 200.0)]
            .map(|(from, to)| Bounds::new(Point::new(from, 0.0), Point::new(to, 100.0)));
        let place = |part: usize| Place {
            kind: 0,
            mode: 0,
            part,
            parts: 2,
            window: boxes[part],
            parted: None,
            notch: None,
            share: Some(Share {
                axis: Axis::X,
                length: 200.0,
                high: part == 1,
                over: 12.0,
            }),
            gap: None,
            lacks: None,
        };
        Offer {
            kinds: vec![Kind {
                class: 0,
                bins: vec![0],
                cost: 1.0,
                grain: None,
            }],
            places: vec![place(0), place(1)],
            spacing: 2.0,
            ..Offer::default()
        }
    }

    #[test]
    fn two_boxes_that_share_a_length_hold_no_more_than_it() {
        let offer = offer();
        for (needs, holds) in [
            ([98.0, 100.0], true),
            ([110.0, 88.0], true),
            ([110.0, 88.1], false),
            ([99.0, 100.0], false),
        ] {
            let both = [(0, needs[0]), (1, needs[1])];
            assert_eq!(offer.suffices(&both), holds, "{needs:?}");
            assert!(offer.suffices(&both[..1]) && offer.suffices(&both[1..]));
        }
    }
}
