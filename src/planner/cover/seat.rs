//! What sheets offer: places, and how a piece may sit on one.
//!
//! A *place* is a clear box of a sheet that takes one piece. Places of one *mode* of a sheet can be used together, those of
//! different modes cannot: an L offers one arm whole and what is left of the other, either way round. A mode that is *parted*
//! takes pieces in a row along one axis of the sheet, which share its length as they need it. Sheets of one entry of the stock
//! are one kind with a count.

use crate::geometry::bounds::Bounds;
use crate::model::cutter::{Axis, Turns};
use crate::planner::cover::tiling::Tiling;
use crate::planner::packing::{Bin, BoxItem, may_turn, take};
use crate::planner::prepared::{Class, box_turns};

/// Kinds of sheets that are looked at.
pub(crate) const MOST_KINDS: usize = 256;
/// Ways to use one sheet that are looked at.
const MOST_MODES: usize = 160;
/// Ways of several boxes of one sheet that are looked at.
const MOST_SEVERAL: usize = 12;
/// By how much the boxes of a way of several boxes may be larger than another's and still count as the same, in mm.
const ALIKE: f64 = 4.0;

/// A set of kinds of sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Kinds([u64; MOST_KINDS / 64]);

impl Kinds {
    pub(crate) fn with(mut self, kind: usize) -> Self {
        self.0[kind / 64] |= 1 << (kind % 64);
        self
    }

    /// The first 64 of them.
    pub(crate) fn first_word(&self) -> u64 {
        self.0[0]
    }

    /// Whether a kind is in the set.
    pub(crate) fn has(&self, kind: usize) -> bool {
        self.0[kind / 64] >> (kind % 64) & 1 == 1
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

/// A clear box that takes one piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    /// Whose it is.
    pub(crate) kind: usize,
    /// Which way of using the sheet it belongs to.
    pub(crate) mode: usize,
    /// Which of the mode's boxes.
    pub(crate) part: usize,
    /// How many boxes the mode has.
    pub(crate) parts: usize,
    /// The box, on the sheet.
    pub(crate) window: Bounds,
    /// Along which axis of the sheet several pieces share the box.
    pub(crate) parted: Option<Axis>,
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
    /// Room across the through seams.
    pub(crate) across: f64,
    /// Room along them.
    pub(crate) along: f64,
    /// Where that is the most that there may be.
    pub(crate) give: Give,
}

/// Whether every box of one mode lies in another one of the other mode, but for so much.
fn holds(mode: &[Bounds], boxes: &[Bounds], but: f64) -> bool {
    let within = |b: &Bounds, m: &Bounds| {
        let m = m.grown(but);
        m.min.x <= b.min.x && m.min.y <= b.min.y && b.max.x <= m.max.x && b.max.y <= m.max.y
    };
    let mut free: Vec<&Bounds> = mode.iter().collect();
    boxes.len() <= mode.len()
        && boxes.iter().all(|b| {
            let at = free.iter().position(|m| within(b, m));
            at.map(|k| free.remove(k)).is_some()
        })
}

/// All kinds and places of all classes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Offer {
    pub(crate) kinds: Vec<Kind>,
    pub(crate) places: Vec<Place>,
    /// By kind: area in mm² that pieces can take.
    usable: Vec<f64>,
    spacing: f64,
    least: f64,
}

/// Pieces in a row on a parted place.
const MOST_IN_A_ROW: usize = 3;

impl Offer {
    /// What the sheets of the classes offer; sheets sold by length offer nothing here.
    pub(crate) fn new(classes: &[Class], least: f64, spacing: f64) -> Self {
        let mut out = Self {
            spacing,
            least,
            ..Self::default()
        };
        for (class, c) in classes.iter().enumerate() {
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
                    out.add_places(kind, bin);
                }
            }
        }
        out.usable = (0..out.kinds.len()).map(|k| out.usable(k)).collect();
        out
    }

    /// Area in mm² of a sheet of a kind that pieces can take: that of the mode which takes most.
    pub(crate) fn usable_of(&self, kind: usize) -> f64 {
        self.usable[kind]
    }

    fn add_places(&mut self, kind: usize, bin: &Bin) {
        let (least, spacing) = (self.least, self.spacing);
        let wide = |w: &Bounds| w.width() >= least && w.depth() >= least;
        let mut modes: Vec<Vec<Bounds>> = Vec::new();
        let mut add = |boxes: Vec<Bounds>| {
            // Beside an arc there are many ways that hardly differ.
            let rest = if boxes.len() > 1 { ALIKE } else { 0.0 };
            if !modes.iter().any(|m| holds(m, &boxes, rest)) {
                modes.retain(|m| !holds(&boxes, m, 0.0));
                modes.push(boxes);
            }
        };
        for first in bin.windows.iter().filter(|w| wide(w)) {
            let mut rest = bin.windows.clone();
            take(&mut rest, first.grown(spacing));
            rest.retain(wide);
            if rest.is_empty() {
                add(vec![*first]);
            }
            for second in &rest {
                let mut third = rest.clone();
                take(&mut third, second.grown(spacing));
                third.retain(wide);
                let boxes = [*first, *second].into_iter().chain(third.first().copied());
                add(boxes.collect());
            }
        }
        // Those of several boxes count twice, since they can be combined: only the largest stay.
        let area = |m: &Vec<Bounds>| m.iter().map(|b| b.width() * b.depth()).sum::<f64>();
        let (mut several, mut single): (Vec<_>, Vec<_>) =
            modes.into_iter().partition(|m| m.len() > 1);
        several.sort_by(|a, b| area(b).total_cmp(&area(a)));
        several.truncate(MOST_SEVERAL);
        single.truncate(MOST_MODES);
        let modes: Vec<Vec<Bounds>> = single.into_iter().chain(several).collect();
        for (mode, boxes) in modes.iter().enumerate() {
            self.places
                .extend(boxes.iter().enumerate().map(|(part, window)| Place {
                    kind,
                    mode,
                    part,
                    parts: boxes.len(),
                    window: *window,
                    parted: None,
                }));
        }
    }

    /// Adds the parted places of kinds that have one sheet with one clear box.
    pub(crate) fn part(&mut self) {
        for kind in 0..self.kinds.len() {
            let own: Vec<Place> = self
                .places
                .iter()
                .filter(|p| p.kind == kind)
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

    /// What pieces keep from each other.
    pub(crate) fn spacing(&self) -> f64 {
        self.spacing
    }

    /// The length that pieces on a parted place share.
    pub(crate) fn shared_length(&self, place: usize) -> f64 {
        let place = &self.places[place];
        if place.parted == Some(Axis::X) {
            place.window.width()
        } else {
            place.window.depth()
        }
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
            if kind.class != class {
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
                let (mut across, mut along) = if x_is_across { (x, y) } else { (y, x) };
                let give = match place.parted {
                    None => Give::None,
                    Some(axis) if (axis == Axis::X) == x_is_across => Give::Across,
                    Some(_) => Give::Along,
                };
                match give {
                    Give::None => {}
                    Give::Across => across -= self.spacing + self.least,
                    Give::Along => along -= self.spacing + self.least,
                }
                out.push(Seat {
                    place: k,
                    turned,
                    across,
                    along,
                    give,
                });
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
                .map(|p| p.window.width() * p.window.depth())
                .sum();
            best = best.max(area);
        }
        best
    }

    /// Whether two tilings use no place twice, nor places that exclude each other.
    pub(crate) fn stand_together(&self, a: &Tiling, b: &Tiling) -> bool {
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

    /// Whether places can all be used: no more of a kind than there are, and parted ones with what pieces need of them.
    pub(crate) fn suffices(&self, places: &[(usize, f64)]) -> bool {
        places.iter().enumerate().all(|(k, (p, _))| {
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
