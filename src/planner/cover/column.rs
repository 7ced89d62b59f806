//! Columns: pieces one behind the other.
//!
//! In: the layer's extents, what teeth add, seats. Out: columns, those that lose least first.
//!
//! A column is a set of up to six seats whose rooms along the seams, less what teeth take, add up to the layer's extent; the
//! narrowest of them says how wide it is. Area of the windows that the layer does not need is *lost*; a column that loses
//! more than the cap is dropped at once. Seats of a column may give along the seams: they take what the others leave; how two
//! share it is settled with the positions. A column all of whose seats give across is as wide as the other columns leave it.

use std::collections::HashMap;

use crate::model::cutter::Axis;
use crate::planner::cover::seat::{Give, Kinds, Offer, Seat};
use crate::planner::cover::step::{self, Ell, Step};

/// Pieces in a column, columns in a tiling.
pub(super) const MOST_DEEP: usize = 6;
/// Columns that are kept for one way of a layer.
const MOST_COLUMNS: usize = 12_000;
/// Steps that the columns of one list may take.
const MOST_STEPS: usize = 2_500_000;
/// Columns of the same sheets are alike whose widths differ by no more, in mm.
const ALIKE_MM: f64 = 2.0;
/// Widths at which columns are looked for that a sheet with slanted edges is the narrowest of.
const WIDTHS: usize = 8;
/// Of its boxes, the largest are looked at besides: of a sheet that is a box but for a tip or a spoiled strip, it is those.
const LARGEST: usize = 4;
/// Seats of a column that may take what the others leave.
const MOST_TAKERS: usize = 2;
/// Roundings of sums of extents.
pub(super) const EPS: f64 = 1e-7;

/// The layer as tilings see it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
    /// The way the through seams run.
    pub(crate) runs: Axis,
    /// Extent across the through seams.
    pub(crate) across: f64,
    /// Extent along them.
    pub(crate) along: f64,
    /// What one seam adds to the extents of its two pieces together.
    pub(crate) add: f64,
    /// Least extent of a piece.
    pub(crate) least: f64,
    /// Whether it may be split.
    pub(crate) splits: bool,
    /// How much may be lost, in mm².
    pub(crate) cap: f64,
    /// Seats that give, at the most.
    pub(crate) gives: usize,
    /// What each of them counts as lost, in mm².
    pub(crate) per_give: f64,
    /// By how much a window may be longer or wider than its piece, in mm.
    pub(crate) near: f64,
    /// Columns that are kept of the same sheets and nearly the same width.
    pub(crate) alike: usize,
}

impl Field {
    /// Rooms that `n` pieces in a row need together to fill an extent.
    pub(super) fn need(&self, extent: f64, n: usize) -> f64 {
        extent + (n as f64 - 1.0) * self.add
    }

    /// Pieces in a column, and columns in a tiling, at the most.
    pub(super) fn most(&self) -> usize {
        if self.splits { MOST_DEEP } else { 1 }
    }
}

/// Where the low and the high side of a column may lie, from the layer's low end: from, to.
pub(super) type Sides = [(f64, f64); 2];

/// Pieces one behind the other.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Their seats.
    pub(crate) seats: Vec<Seat>,
    /// Room across.
    pub(crate) width: f64,
    /// Area in mm² of windows that the layer does not need.
    pub(crate) lost: f64,
    /// Kinds of which there is one sheet.
    pub(crate) kinds: Kinds,
    /// Whether places must be compared one by one: kinds with several sheets, or several places.
    pub(crate) several: bool,
    /// Seats that give.
    pub(super) gives: usize,
    /// By how much the seats that give along could take more than there is, together, in mm.
    pub(super) spare: f64,
    /// Whether all seats give across.
    pub(super) free: bool,
    /// Beside voids, where its sides may lie.
    pub(super) sides: Option<Sides>,
    /// Two pieces side by side, with a step in the seam between them.
    pub(crate) step: Option<Step>,
    /// The number of its set of sheets: the sum of one number for each, so that numbers of columns add up.
    pub(super) set: u64,
}

/// A column of seats that do not give.
pub(super) fn column_of(offer: &Offer, seats: Vec<Seat>, width: f64, lost: f64) -> Column {
    let mut kinds = Kinds::default();
    let mut several = false;
    for s in &seats {
        let place = &offer.places[s.place];
        if offer.sheets(s) > 1 {
            several = true;
        } else {
            kinds = kinds.with(place.kind);
            several |= place.parts > 1;
        }
    }
    Column {
        free: seats.iter().all(|s| s.give == Give::Across),
        seats,
        width,
        lost,
        kinds,
        several,
        gives: 0,
        spare: 0.0,
        sides: None,
        step: None,
        set: 0,
    }
}

impl Column {
    /// Whether a piece of it lies beside a void.
    pub(crate) fn is_bound(&self) -> bool {
        self.seats.iter().any(|s| s.bound.is_some())
    }

    /// Room across, as far as it does not depend on where pieces lie.
    pub(crate) fn room(&self) -> f64 {
        let rooms = self.seats.iter().map(|s| s.room(0));
        if self.is_bound() {
            rooms.fold(f64::INFINITY, f64::min)
        } else {
            self.width
        }
    }

    /// By how much its seats are longer than the layer needs, together, in mm.
    pub(super) fn over(&self, field: &Field) -> f64 {
        let rooms: f64 = self.seats.iter().map(|s| s.along).sum();
        (rooms - field.need(field.along, self.seats.len())).max(0.0)
    }

    /// Tells the number of its set of sheets.
    pub(super) fn numbered(mut self, offer: &Offer) -> Self {
        self.set = set_of(offer, &self.seats, self.width, self.spare);
        self
    }
}

/// The number of a set of sheets; `spare` as in a column.
fn set_of(offer: &Offer, seats: &[Seat], width: f64, spare: f64) -> u64 {
    let number = |s: &Seat| {
        let place = &offer.places[s.place];
        let need = match s.give {
            Give::None => 0.0,
            Give::Along => s.along - spare,
            Give::Across => width,
        };
        let told = place.parted.is_some() || place.parts > 1 || offer.sheets(s) > 1;
        let what = if told { s.place } else { place.kind };
        mixed([u64::from(told), what as u64, (need / ALIKE_MM) as u64])
    };
    seats.iter().map(number).fold(0, u64::wrapping_add)
}

/// A number that hardly any other three share.
fn mixed(of: [u64; 3]) -> u64 {
    of.into_iter().fold(0x9e37_79b9_7f4a_7c15, |h, v| {
        let h = (h ^ v).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let h = (h ^ (h >> 29)).wrapping_mul(0x94d0_49bb_1331_11eb);
        h ^ (h >> 32)
    })
}

/// The boxes of a sheet that exclude each other, turned or not: narrow and long ones first.
struct Ladder {
    kind: usize,
    turned: bool,
    seats: Vec<Seat>,
}

/// A column being made.
struct Chosen {
    seats: Vec<Seat>,
    width: f64,
    sum: f64,
    lost: f64,
    gives: usize,
    /// Which of the seats take what the others leave.
    takers: Vec<usize>,
}

impl Chosen {
    /// What the seats that take what others leave can take together.
    fn taken_most(&self) -> f64 {
        self.takers.iter().map(|k| self.seats[*k].along).sum()
    }
}

struct Search<'a> {
    offer: &'a Offer,
    field: Field,
    steps: usize,
    ladders: Vec<Ladder>,
    /// Of columns alike, what the best lose, as many as are kept.
    alike: HashMap<(u64, i64), Vec<f64>>,
}

/// The columns of a layer that lose at most the cap, least lost first.
pub(super) fn columns(offer: &Offer, field: Field, seats: &[Seat], ells: &[Ell]) -> Vec<Column> {
    let mut search = Search {
        offer,
        field,
        steps: 0,
        ladders: ladders(offer, seats),
        alike: HashMap::new(),
    };
    let mut out = search.columns(seats);
    let stepped = step::columns(offer, field, ells, seats).into_iter();
    out.extend(stepped.map(|c| c.numbered(offer)));
    out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
    out
}

/// The ladders of sheets that offer several boxes one at a time.
fn ladders(offer: &Offer, seats: &[Seat]) -> Vec<Ladder> {
    let mut out: Vec<Ladder> = Vec::new();
    for s in seats
        .iter()
        .filter(|s| s.bound.is_none() && offer.places[s.place].parts == 1)
    {
        let kind = offer.places[s.place].kind;
        match out
            .iter_mut()
            .find(|l| l.kind == kind && l.turned == s.turned)
        {
            Some(ladder) => ladder.seats.push(*s),
            None => out.push(Ladder {
                kind,
                turned: s.turned,
                seats: vec![*s],
            }),
        }
    }
    for ladder in &mut out {
        ladder.seats.sort_by(|a, b| {
            a.across
                .total_cmp(&b.across)
                .then(b.along.total_cmp(&a.along))
        });
    }
    out.retain(|l| l.seats.len() > 1);
    out
}

impl Search<'_> {
    fn columns(&mut self, seats: &[Seat]) -> Vec<Column> {
        let least = self
            .field
            .least
            .min(self.field.along)
            .min(self.field.across);
        let useful: Vec<Seat> = seats
            .iter()
            .copied()
            .filter(|s| s.across >= least && s.along >= least)
            .collect();
        let firsts: Vec<(Seat, Vec<Seat>)> = (0..useful.len())
            .filter(|i| self.is_looked_at(&useful[*i]))
            .filter(|i| useful[*i].give == Give::None || self.field.gives > 0)
            .map(|i| (useful[i], self.others(&useful, i)))
            .collect();
        let mut out = Vec::new();
        // Columns of few pieces first: there are not so many of them, and they are worth more.
        for n in 1..=self.field.most() {
            self.steps = 0;
            for (narrow, others) in &firsts {
                let takes = narrow.give == Give::Along;
                let gives = usize::from(narrow.give != Give::None);
                let mut chosen = Chosen {
                    seats: vec![*narrow],
                    width: narrow.across,
                    sum: if takes { 0.0 } else { narrow.along },
                    lost: gives as f64 * self.field.per_give + self.offer.forgone_mm2(narrow),
                    gives,
                    takers: if takes { vec![0] } else { Vec::new() },
                };
                self.stack(others, 0, n, &mut chosen, &mut out);
            }
        }
        self.keep_columns(&mut out);
        out.truncate(MOST_COLUMNS);
        out
    }

    /// The seats that may stand in a column of which one is the narrowest, the longest first.
    fn others(&self, useful: &[Seat], i: usize) -> Vec<Seat> {
        let narrow = &useful[i];
        let mut others: Vec<Seat> = useful
            .iter()
            .enumerate()
            .filter(|(j, s)| {
                let wider = s.across > narrow.across || (s.across == narrow.across && *j >= i);
                let also = *j != i || self.offer.sheets(s) > 1;
                let over = (s.across - narrow.across) * s.along;
                // What another box may take is not too wide.
                let near = self.field.near + self.offer.lent(s, self.field.runs);
                let fits = over <= self.field.cap && s.across - narrow.across <= near;
                // A free column holds seats that give across, and no others.
                let kind = match (narrow.give, s.give) {
                    (Give::Across, give) => give == Give::Across,
                    (_, Give::Across) => true,
                    // A rung stands for its ladder.
                    _ => fits || self.ladder(s).is_some(),
                };
                let may = self.field.gives > 0 || s.give == Give::None;
                wider && also && kind && may && self.offer.agree(s.place, narrow.place)
            })
            .map(|(_, s)| *s)
            .collect();
        others.sort_by(|a, b| b.along.total_cmp(&a.along));
        self.keep_longest(&mut others);
        others
    }

    /// Sorts columns, and keeps of those of the same sheets and nearly the same width the best.
    fn keep_columns(&self, out: &mut Vec<Column>) {
        let mut alike: HashMap<(u64, i64), usize> = HashMap::new();
        out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
        out.retain(|c| {
            let key = (c.set, (c.width / ALIKE_MM) as i64);
            let n = alike.entry(key).or_default();
            *n += 1;
            *n <= self.field.alike
        });
    }

    /// Whether columns are looked for that this seat is the narrowest of: of a ladder, a few rungs are enough, since columns
    /// are widened afterwards.
    fn is_looked_at(&self, seat: &Seat) -> bool {
        let Some(ladder) = self.ladder(seat) else {
            return true;
        };
        let n = ladder.seats.len();
        let at = ladder.seats.iter().position(|s| s.place == seat.place);
        let larger = ladder
            .seats
            .iter()
            .filter(|s| s.across * s.along > seat.across * seat.along)
            .count();
        n <= WIDTHS
            || larger < LARGEST
            || at.is_some_and(|k| (k * WIDTHS / n) != ((k + 1) * WIDTHS / n))
    }

    fn ladder(&self, seat: &Seat) -> Option<&Ladder> {
        let place = &self.offer.places[seat.place];
        self.ladders.iter().find(|l| {
            seat.bound.is_none()
                && place.parts == 1
                && l.kind == place.kind
                && l.turned == seat.turned
        })
    }

    /// Makes a column as wide as its seats allow: those of sheets with several boxes move on to wider and shorter ones as
    /// long as the column stays long enough.
    fn widened(&self, mut column: Column) -> Column {
        let Some(widest) = column
            .seats
            .iter()
            .filter(|s| s.give != Give::Across)
            .map(|s| {
                self.ladder(s)
                    .map_or(s.across, |l| l.seats[l.seats.len() - 1].across)
            })
            .min_by(f64::total_cmp)
        else {
            return column;
        };
        let need = self.field.need(self.field.along, column.seats.len());
        let at = |width: f64| -> Option<Vec<Seat>> {
            let seats: Vec<Seat> = column
                .seats
                .iter()
                .map(|s| match self.ladder(s) {
                    Some(l) => l
                        .seats
                        .iter()
                        .filter(|t| t.across >= width)
                        .max_by(|a, b| a.along.total_cmp(&b.along))
                        .copied(),
                    None => Some(*s),
                })
                .collect::<Option<Vec<Seat>>>()?;
            let sum: f64 = seats.iter().map(|s| s.along).sum();
            (sum >= need - EPS).then_some(seats)
        };
        let mut widths: Vec<f64> = column
            .seats
            .iter()
            .flat_map(|s| self.ladder(s).map_or(&[][..], |l| &l.seats))
            .map(|s| s.across)
            .chain([widest])
            .filter(|w| *w > column.width && *w <= widest)
            .collect();
        widths.sort_by(|a, b| b.total_cmp(a));
        if let Some((width, seats)) = widths.into_iter().find_map(|w| at(w).map(|s| (w, s))) {
            column.lost = (column.lost - (width - column.width) * self.field.along).max(0.0);
            column.width = width;
            column.seats = seats;
        }
        column
    }

    /// Of the boxes of a sheet that exclude each other, the longest that is wide enough says all: a piece may be shorter.
    fn keep_longest(&self, sorted: &mut Vec<Seat>) {
        let mut seen: Vec<(usize, bool)> = Vec::new();
        sorted.retain(|s| {
            let place = &self.offer.places[s.place];
            if place.parts > 1 || s.bound.is_some() {
                return true;
            }
            let key = (place.kind, s.turned);
            let first = !seen.contains(&key);
            seen.push(key);
            first
        });
    }

    /// Adds seats to a column, long ones first, until there are `n` and they are long enough.
    fn stack(
        &mut self,
        others: &[Seat],
        from: usize,
        n: usize,
        chosen: &mut Chosen,
        out: &mut Vec<Column>,
    ) {
        self.steps += 1;
        let left = n - chosen.seats.len();
        let rest = self.field.need(self.field.along, n) - chosen.sum;
        if left == 0 {
            self.note(rest, chosen, out);
            return;
        }
        let slack = ((self.field.cap - chosen.lost) / chosen.width).min(self.field.near * n as f64);
        let takers = chosen.takers.len();
        let tallest = if takers > 0 {
            rest - self.field.least * takers as f64
        } else {
            rest + slack
        };
        // The others are no longer than the next one.
        let lowest = (rest - chosen.taken_most()) / left as f64;
        // What gives may be as long as it likes: it takes what is left.
        let first = if self.field.gives > chosen.gives {
            from
        } else {
            others.partition_point(|s| s.along > tallest).max(from)
        };
        for k in first..others.len() {
            let s = others[k];
            self.steps += 1;
            if s.along < lowest - EPS || self.steps > MOST_STEPS {
                break;
            }
            if s.along > tallest && s.give != Give::Along || !self.may_add(chosen, &s) {
                continue;
            }
            let next = if self.offer.sheets(&s) > 1 { k } else { k + 1 };
            let before = (chosen.sum, chosen.lost, chosen.gives);
            if s.give == Give::Along {
                chosen.takers.push(chosen.seats.len());
            } else {
                chosen.sum += s.along;
            }
            chosen.lost += self.more(chosen, &s);
            chosen.gives += usize::from(s.give != Give::None);
            chosen.seats.push(s);
            self.stack(others, next, n, chosen, out);
            chosen.seats.pop();
            chosen.takers.truncate(takers);
            (chosen.sum, chosen.lost, chosen.gives) = before;
        }
    }

    /// What one more seat makes a column lose.
    fn more(&self, chosen: &Chosen, seat: &Seat) -> f64 {
        let over = match seat.give {
            Give::None => (seat.across - chosen.width) * seat.along,
            Give::Along | Give::Across => self.field.per_give,
        };
        over + self.offer.forgone_mm2(seat)
    }

    /// Whether one more seat may stand in a column.
    fn may_add(&self, chosen: &Chosen, seat: &Seat) -> bool {
        let gives = usize::from(seat.give != Give::None);
        (seat.give != Give::Along || chosen.takers.len() < MOST_TAKERS)
            && chosen.gives + gives <= self.field.gives.min(3)
            && chosen.lost + self.more(chosen, seat) <= self.field.cap
            && chosen
                .seats
                .iter()
                .all(|c| self.offer.agree(c.place, seat.place))
            && self.enough(&chosen.seats, seat)
    }

    /// Notes a column that has all its seats, where they are long enough and lose little enough; `rest` is what is missing.
    fn note(&mut self, rest: f64, chosen: &Chosen, out: &mut Vec<Column>) {
        if !chosen.takers.is_empty() {
            self.note_taken(rest, chosen, out);
            return;
        }
        let lost = chosen.lost + (-rest).max(0.0) * chosen.width;
        if rest > EPS
            || lost > self.field.cap
            || -rest > self.field.near * chosen.seats.len() as f64
        {
            return;
        }
        if chosen.seats.iter().any(|s| self.ladder(s).is_some()) {
            let column = self.widened(self.column(chosen, lost));
            self.put(column.numbered(self.offer), out);
            return;
        }
        // Most are of no use: that is told before they are made.
        let set = set_of(self.offer, &chosen.seats, chosen.width, 0.0);
        if self.is_among_best((set, chosen.width), lost) {
            let column = self.column(chosen, lost);
            self.keep(Column { set, ..column }, out);
        }
    }

    /// Whether a column of this set of sheets and this width is among the best of those alike so far; if so it counts as one of them.
    fn is_among_best(&mut self, (set, width): (u64, f64), lost: f64) -> bool {
        let most = self.field.alike;
        let best = self.alike.entry((set, (width / ALIKE_MM) as i64));
        let best = best.or_default();
        let at = best.partition_point(|l| *l <= lost);
        if at >= most {
            return false;
        }
        best.insert(at, lost);
        best.truncate(most);
        true
    }

    /// Adds a column if it is among the best of those alike.
    fn put(&mut self, column: Column, out: &mut Vec<Column>) {
        if self.is_among_best((column.set, column.width), column.lost) {
            self.keep(column, out);
        }
    }

    /// Adds a column; where there are many, what loses more than those kept is no longer looked for.
    fn keep(&mut self, column: Column, out: &mut Vec<Column>) {
        out.push(column);
        if out.len() >= 6 * MOST_COLUMNS {
            self.keep_columns(out);
            if out.len() > 3 * MOST_COLUMNS {
                out.truncate(3 * MOST_COLUMNS);
                // What loses more than all that are kept is no longer looked for.
                self.field.cap = out.last().map_or(self.field.cap, |c| c.lost);
            }
        }
    }

    /// Notes a column some of whose seats take the rest: each may take so much that the others have the least.
    fn note_taken(&mut self, rest: f64, chosen: &Chosen, out: &mut Vec<Column>) {
        let (n, least) = (chosen.takers.len() as f64, self.field.least);
        let most = rest - (n - 1.0) * least;
        let takes = |k: &usize| chosen.seats[*k].along.min(most);
        let over = |k: &usize| (chosen.seats[*k].across - chosen.width).max(0.0) * rest / n;
        let lost = chosen.lost + chosen.takers.iter().map(over).sum::<f64>();
        let all: f64 = chosen.takers.iter().map(takes).sum();
        if most >= least && rest <= chosen.taken_most() && lost <= self.field.cap {
            let mut column = self.column(chosen, lost);
            for k in &chosen.takers {
                column.seats[*k].along = takes(k);
            }
            column.spare = all - rest;
            self.put(column.numbered(self.offer), out);
        }
    }

    /// Whether one more seat of a kind is there.
    fn enough(&self, chosen: &[Seat], seat: &Seat) -> bool {
        let sheets = self.offer.sheets(seat);
        let kind = |s: &Seat| self.offer.places[s.place].kind;
        sheets == 1 || chosen.iter().filter(|c| kind(c) == kind(seat)).count() < sheets
    }

    fn column(&self, chosen: &Chosen, lost: f64) -> Column {
        let mut column = column_of(self.offer, chosen.seats.clone(), chosen.width, lost);
        column.gives = chosen.gives;
        column
    }
}
