//! Columns beside voids, piece by piece from the layer's low end.
//!
//! In: a layer that lacks something (`hole`, `disc`, `void`), seats beside that and others. Out: columns with at least one seat beside a void,
//! each with where its sides may lie.
//!
//! A sheet that lacks what the layer lacks can lie in one place only, give or take what it is larger than its piece. So one such
//! seat, the *anchor*, is taken first: it says where the sides of its column lie. Then pieces are put one behind the other, and of
//! each seam and side an interval is kept; few sheets are as wide as the column, and fewer still end where the anchor begins.
//! What such a column loses is told by what its sheets offer and by the material where it stands.
//!
//! Tried and left: seats beside holes among all others when columns are looked for. What they lose was unknown there, lists were
//! full of them, and what mattered was crowded out.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::model::cutter::Axis;
use crate::planner::cover::column::{Column, EPS, Field, column_of};
use crate::planner::cover::disc::between_mm2;
use crate::planner::cover::order::Adds;
use crate::planner::cover::seat::{Give, Offer, Seat};
use crate::planner::cover::void::Corner;
use crate::planner::task::LayerShape;

/// Steps that the columns of one anchor may take: one that lacks what the layer lacks, one that only ends at the void, and one that
/// only ends in a round hole, of which it may meet the edge anywhere.
const MOST_STEPS: [usize; 3] = [200_000, 20_000, 3000];
/// By what share of them those of one number of pieces may take.
const SHARES: usize = 4;
/// Columns that are kept.
const MOST_COLUMNS: usize = 6000;
/// Columns that are kept of one anchor that only ends in a round hole.
const MOST_OF_ONE: usize = 60;

/// From where to where something may lie, in mm.
pub(super) type Span = (f64, f64);

/// A seat beside a void.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beside {
    pub(super) seat: Seat,
    /// The axis along which its piece ends at the void, across the through seams (0) or along them (1), and whether that is its high side.
    pub(super) ends: Option<(usize, bool)>,
}

/// A seat beside a void, and where the low and the high side of its piece may lie along each axis.
#[derive(Clone, Copy)]
struct Anchor {
    seat: Seat,
    ends: Option<(usize, bool)>,
    sides: [[Span; 2]; 2],
}

/// A column's place across the through seams.
#[derive(Clone, Copy)]
struct Strip {
    /// Where the seams, or ends, at its sides may lie.
    sides: [Span; 2],
    /// How wide its cells may be.
    width: Span,
    /// What seams add to its pieces at each side.
    adds: [f64; 2],
}

/// Pieces put one behind the other.
#[derive(Clone)]
struct Stacked {
    seats: Vec<Seat>,
    /// Where the seam behind them may lie.
    at: Span,
    strip: Strip,
    /// Whether the anchor is among them.
    anchored: bool,
    /// Of pieces that were put beside no void just before, the number of the last: orders of those do not matter here.
    from: usize,
}

/// Columns beside voids, looked for.
struct Search<'a> {
    offer: &'a Offer,
    field: Field,
    adds: Adds,
    /// Ends of the layer: across the through seams, along them.
    ends: [Span; 2],
    holes: Vec<[Span; 2]>,
    /// Round ones: where their middles lie across the through seams, and their radii.
    discs: Vec<(f64, f64)>,
    corners: Vec<Corner>,
    plain: Vec<Seat>,
    anchors: Vec<Anchor>,
    /// The first of the anchors that only end in a round hole; all behind it do.
    vague: usize,
    /// The longest room along the through seams.
    longest: f64,
    /// Pieces of a column.
    pieces: usize,
    /// Steps that are left for an anchor and so many pieces.
    steps: usize,
    known: BTreeSet<Vec<(usize, usize)>>,
    out: Vec<Column>,
}

/// The columns of a layer in which a piece lies beside a void, least lost first.
pub(super) fn columns(
    offer: &Offer,
    field: Field,
    adds: Adds,
    (shape, runs): (&LayerShape, Axis),
    (plain, beside): (&[Seat], &[Beside]),
) -> Vec<Column> {
    let seen = |of: [Span; 2]| {
        if runs == Axis::X { [of[1], of[0]] } else { of }
    };
    let mut search = Search {
        offer,
        field,
        adds,
        ends: [shape.across(runs), shape.across(runs.other())],
        holes: shape
            .holes
            .iter()
            .map(|h| seen([(h.min.x, h.max.x), (h.min.y, h.max.y)]))
            .collect(),
        discs: shape
            .discs
            .iter()
            .map(|d| (d.seen(runs)[0], d.radius))
            .collect(),
        corners: shape.corners.iter().map(|c| c.seen(runs)).collect(),
        plain: plain
            .iter()
            .filter(|s| s.bound.is_none() && s.give == Give::None)
            .copied()
            .collect(),
        anchors: beside
            .iter()
            .map(|b| anchor(offer, b, field.near))
            .collect(),
        vague: 0,
        longest: 0.0,
        pieces: 0,
        steps: 0,
        known: BTreeSet::new(),
        out: Vec::new(),
    };
    // Those that lie in one place only first.
    let rank = |a: &Anchor| {
        let clear = offer.places[a.seat.place].is_clear();
        usize::from(clear) + usize::from(clear && !offer.inside_of(&a.seat).is_empty())
    };
    search.anchors.sort_by_key(rank);
    search.vague = search.anchors.partition_point(|a| rank(a) < 2);
    let anchored = search.anchors.iter().map(|a| &a.seat);
    let longest = anchored.chain(&search.plain).map(|s| s.room(1));
    search.longest = longest.fold(0.0, f64::max);
    for first in 0..search.anchors.len() {
        let rank = rank(&search.anchors[first]);
        let before = search.out.len();
        // Columns of few pieces first: those of many are too many to see all.
        for pieces in 1..=field.most() {
            (search.pieces, search.steps) = (pieces, MOST_STEPS[rank] / SHARES);
            for ends in [[false, false], [true, false], [false, true], [true, true]] {
                if let Some(start) = search.start(first, ends) {
                    search.stack(first, &start);
                }
            }
        }
        if rank == 2 {
            search.out[before..].sort_by(|a, b| a.lost.total_cmp(&b.lost));
            search.out.truncate(before + MOST_OF_ONE);
        }
    }
    let mut out = search.out;
    out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
    out.truncate(MOST_COLUMNS);
    out
}

/// Where the sides of a seat's piece may lie; no farther from the void than its sheet reaches, less `near`.
fn anchor(offer: &Offer, beside: &Beside, near: f64) -> Anchor {
    let mut sides = [[(f64::NEG_INFINITY, f64::INFINITY); 2]; 2];
    for keep in offer.keeps_of(&beside.seat) {
        for axis in 0..2 {
            let by = keep.by[axis];
            if by != 0.0 && keep.by[1 - axis] == 0.0 {
                let side = &mut sides[axis][usize::from(keep.high[axis])];
                if by > 0.0 {
                    side.1 = side.1.min(keep.limit / by);
                } else {
                    side.0 = side.0.max(keep.limit / by);
                }
            }
        }
    }
    if let Some((axis, high)) = beside.ends {
        let far = &mut sides[axis][usize::from(!high)];
        // Beside a corner that is cut off aslant, sums of sides tell instead.
        if high && far.0.is_finite() {
            far.1 = far.1.min(far.0 + near);
        } else if !high && far.1.is_finite() {
            far.0 = far.0.max(far.1 - near);
        }
    }
    Anchor {
        seat: beside.seat,
        ends: beside.ends,
        sides,
    }
}

/// What two spans have in common.
pub(super) fn both(a: Span, b: Span) -> Span {
    (a.0.max(b.0), a.1.min(b.1))
}

impl Strip {
    /// What is left where sides keep their distance; `None` where nothing is.
    fn tightened(mut self) -> Option<Self> {
        let [low, high] = &mut self.sides;
        self.width = both(self.width, (high.0 - low.1, high.1 - low.0));
        *high = both(*high, (low.0 + self.width.0, low.1 + self.width.1));
        *low = both(*low, (high.0 - self.width.1, high.1 - self.width.0));
        let stands = |s: Span| s.0 <= s.1 + EPS;
        (stands(self.width) && self.sides.into_iter().all(stands)).then_some(self)
    }
}

impl Search<'_> {
    /// A column without pieces that has its sides at the layer's ends, or not, and room for an anchor.
    fn start(&self, first: usize, at_end: [bool; 2]) -> Option<Stacked> {
        let (low, high) = self.ends[0];
        let least = self.field.least;
        if !self.field.splits && at_end != [true; 2] {
            return None;
        }
        let side = |k: usize| {
            let end = [low, high][k];
            if at_end[k] {
                (end, end)
            } else {
                (low + least, high - least)
            }
        };
        let strip = Strip {
            sides: [side(0), side(1)],
            width: (least.min(high - low), high - low),
            adds: [
                if at_end[0] { 0.0 } else { self.adds.back },
                if at_end[1] { 0.0 } else { self.adds.on },
            ],
        };
        let anchor = self.anchors[first];
        Some(Stacked {
            seats: Vec::new(),
            at: (self.ends[1].0, self.ends[1].0),
            strip: self.narrowed(strip.tightened()?, &anchor.seat, Some(&anchor))?,
            anchored: false,
            from: 0,
        })
    }

    /// A strip in which a seat stands besides.
    fn narrowed(&self, strip: Strip, seat: &Seat, anchor: Option<&Anchor>) -> Option<Strip> {
        let mut next = strip;
        if anchor.is_none_or(|a| a.ends.is_none_or(|e| e.0 != 0)) {
            let room = seat.room(0) - strip.adds[0] - strip.adds[1];
            next.width = both(next.width, (room - self.field.near, room + EPS));
        }
        if let Some(anchor) = anchor {
            let [low, high] = anchor.sides[0];
            let [back, on] = strip.adds;
            next.sides[0] = both(next.sides[0], (low.0 + back, low.1 + back));
            next.sides[1] = both(next.sides[1], (high.0 - on, high.1 - on));
        }
        next.tightened()
    }

    /// Puts one more piece behind others, and goes on.
    fn stack(&mut self, first: usize, stacked: &Stacked) {
        let left = self.pieces - stacked.seats.len();
        if self.ends[1].1 - stacked.at.1 > left as f64 * self.longest {
            return;
        }
        if left == 1 && !stacked.anchored {
            self.stand(first, stacked, first..first + 1);
            return;
        }
        self.stand(first, stacked, first..self.vague.max(first + 1));
        for k in stacked.from..self.plain.len() {
            let seat = self.plain[k];
            self.put((first, stacked.anchored, k), stacked, &seat, None);
        }
        self.stand(
            first,
            stacked,
            self.vague.max(first + 1)..self.anchors.len(),
        );
    }

    /// Puts one more anchor behind others, and goes on.
    fn stand(&mut self, first: usize, stacked: &Stacked, anchors: Range<usize>) {
        for k in anchors {
            if stacked.anchored && k == first {
                continue;
            }
            let anchor = self.anchors[k];
            let anchored = stacked.anchored || k == first;
            self.put((first, anchored, 0), stacked, &anchor.seat, Some(&anchor));
        }
    }

    /// Puts a piece behind others: behind it lies a seam, or the layer's end. Told are the anchor that is looked for, whether it is there
    /// then, and from which plain seat on others may follow.
    fn put(
        &mut self,
        (first, anchored, from): (usize, bool, usize),
        stacked: &Stacked,
        seat: &Seat,
        anchor: Option<&Anchor>,
    ) {
        if self.steps == 0 {
            return;
        }
        self.steps -= 1;
        let stands = |s: &Seat| self.offer.agree(s.place, seat.place);
        if !stacked.seats.iter().all(stands) || !self.enough(stacked, seat) {
            return;
        }
        let Some(strip) = self.narrowed(stacked.strip, seat, anchor) else {
            return;
        };
        let (begins, last) = (
            stacked.seats.is_empty(),
            stacked.seats.len() + 1 == self.pieces,
        );
        let behind = self.behind(stacked.at, (begins, last), seat, anchor, strip);
        let Some((at, strip)) = behind else {
            return;
        };
        let mut seats = Vec::with_capacity(stacked.seats.len() + 1);
        seats.extend_from_slice(&stacked.seats);
        seats.push(*seat);
        let next = Stacked {
            seats,
            at,
            strip,
            anchored,
            from,
        };
        if last {
            self.note(&next);
        } else {
            self.stack(first, &next);
        }
    }

    /// Where the seam behind a piece may lie, and its strip; the layer's end where it is the last.
    fn behind(
        &self,
        before: Span,
        (begins, last): (bool, bool),
        seat: &Seat,
        anchor: Option<&Anchor>,
        strip: Strip,
    ) -> Option<(Span, Strip)> {
        let end = self.ends[1].1;
        let back = if begins { 0.0 } else { self.adds.back };
        let on = if last { 0.0 } else { self.adds.on };
        let mut low = before;
        let mut high = if last {
            (end, end)
        } else {
            (low.0 + self.field.least, end - self.field.least)
        };
        if let Some(anchor) = anchor {
            let [a, b] = anchor.sides[1];
            low = both(low, (a.0 + back, a.1 + back));
            high = both(high, (b.0 - on, b.1 - on));
        }
        if anchor.is_none_or(|a| a.ends.is_none_or(|e| e.0 != 1)) {
            let room = seat.room(1) - back - on;
            let least = (room - self.field.near).max(self.field.least.min(room));
            high = both(high, (low.0 + least, low.1 + room));
        }
        let fits = low.0 <= low.1 + EPS && high.0 <= high.1 + EPS && high.1 >= low.0;
        let strip = self.keeping(strip, seat, [low, high], [back, on])?;
        fits.then_some((high, strip))
    }

    /// A strip in which sums of sides are within their limits, and come near them; `along` is where the sides of the piece lie
    /// along the through seams, `adds` what seams add to it there.
    fn keeping(
        &self,
        mut strip: Strip,
        seat: &Seat,
        along: [Span; 2],
        adds: [f64; 2],
    ) -> Option<Strip> {
        for keep in self.offer.keeps_of(seat) {
            let pick = |axis: usize, adds: [f64; 2]| {
                let k = usize::from(keep.high[axis]);
                (k, if k == 1 { adds[1] } else { -adds[0] })
            };
            let [by, other] = keep.by;
            if by == 0.0 {
                continue;
            }
            let (k, add) = pick(1, adds);
            let (a, b) = (other * (along[k].0 + add), other * (along[k].1 + add));
            // What the side across may count.
            let most = keep.limit - a.min(b);
            let least = if other == 0.0 {
                f64::NEG_INFINITY
            } else {
                keep.limit - self.field.near - a.max(b)
            };
            let (k, add) = pick(0, strip.adds);
            let span = if by > 0.0 {
                (least / by, most / by)
            } else {
                (most / by, least / by)
            };
            strip.sides[k] = both(strip.sides[k], (span.0 - add - EPS, span.1 - add + EPS));
        }
        // How far the piece reaches beyond its seams.
        let shifted = |of: [Span; 2], [back, on]: [f64; 2], by: f64| {
            let [low, high] = of;
            let (back, on) = (by * back, by * on);
            [(low.0 - back, low.1 - back), (high.0 + on, high.1 + on)]
        };
        for inside in self.offer.inside_of(seat) {
            let sides = [
                shifted(strip.sides, strip.adds, 1.0),
                shifted(along, adds, 1.0),
            ];
            let next = shifted(inside.narrowed(sides)?, strip.adds, -1.0);
            for (side, next) in strip.sides.iter_mut().zip(next) {
                *side = both(*side, (next.0 - EPS, next.1 + EPS));
            }
        }
        strip.tightened()
    }

    /// Whether one more sheet of a seat's kind is there.
    fn enough(&self, next: &Stacked, seat: &Seat) -> bool {
        let kind = |s: &Seat| self.offer.places[s.place].kind;
        let sheets = self.offer.sheets(seat);
        let alike = next.seats.iter().filter(|s| kind(s) == kind(seat));
        alike.count() < sheets
    }

    /// Notes a column that loses little enough.
    fn note(&mut self, next: &Stacked) {
        let strip = &next.strip;
        let offered: f64 = next.seats.iter().map(|s| self.offer.whole_mm2(s)).sum();
        let forgone: f64 = next.seats.iter().map(|s| self.offer.forgone_mm2(s)).sum();
        let lost = (offered - self.material_mm2(strip)).max(0.0) + forgone;
        if lost > self.field.cap {
            return;
        }
        let from = self.ends[0].0;
        let at = |k: usize| (next.strip.sides[k].0.max(0.0) * 0.5) as usize;
        let mut key: Vec<(usize, usize)> = next
            .seats
            .iter()
            .map(|s| (s.place, s.bound.map_or(0, |b| b.0 + 1)))
            .collect();
        key.sort_unstable();
        key.push((at(0), at(1)));
        if !self.known.insert(key) {
            return;
        }
        let width = strip.width.1 + strip.adds[0] + strip.adds[1];
        let mut column = column_of(self.offer, next.seats.clone(), width, lost);
        column.sides = Some(strip.sides.map(|s| (s.0 - from, s.1 - from)));
        self.out.push(column.numbered(self.offer));
    }

    /// How much material of the layer a column has at the most, in mm².
    fn material_mm2(&self, strip: &Strip) -> f64 {
        let (from, to) = (strip.sides[0].1, strip.sides[1].0);
        let along = self.ends[1].1 - self.ends[1].0;
        let overlap = |h: &[Span; 2]| {
            let across = (h[0].1.min(to) - h[0].0.max(from)).max(0.0);
            across * (h[1].1 - h[1].0)
        };
        let cut = |c: &Corner| {
            let (low, high) = self.ends[0];
            let [a, b] = c.size;
            let (u0, u1) = if c.high[0] {
                (high - to, high - from)
            } else {
                (from - low, to - low)
            };
            let (u0, u1) = (u0.clamp(0.0, a), u1.clamp(0.0, a));
            b * ((u1 - u0) - (u1 * u1 - u0 * u0) / (2.0 * a)).max(0.0)
        };
        let holes: f64 = self.holes.iter().map(overlap).sum();
        let corners: f64 = self.corners.iter().map(cut).sum();
        // Where it lies as far to one side as it can, or to the other, the least of a round hole lies in it.
        let [low, high] = [strip.sides[0].0, strip.sides[1].1];
        let width = strip.width.1;
        let least = |d: &(f64, f64)| {
            let at = |from: f64| between_mm2(d.0, d.1, (from, from + width));
            at(low).min(at(high - width))
        };
        let discs = self.discs.iter().map(least);
        strip.width.1 * along - holes - corners - discs.sum::<f64>()
    }
}
