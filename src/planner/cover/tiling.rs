//! Ways to lay windows on a layer: columns of pieces side by side.
//!
//! In: the layer's extents, what teeth add, seats. Out: *tilings*, that is columns each of which holds pieces one behind the
//! other, without an order yet, least waste first.
//!
//! 1. *Columns*: sets of up to six seats whose rooms along the seams, less what teeth take, add up to the layer's extent;
//!    the narrowest of them says how wide the column is. Area of the windows that the layer does not need is *lost*; a
//!    column that loses more than the cap is dropped at once. One seat of a column may give along the seams: it takes what
//!    the others leave. A column all of whose seats give across is as wide as the other columns leave it.
//! 2. *Tilings*: sets of up to six columns whose widths add up to the layer's extent across, within the cap.
//!
//! What is kept is bounded at every step, columns that lose least first, so that time is bounded too.

use std::collections::BTreeMap;

use crate::planner::cover::seat::{Give, Kinds, Offer, Seat};

/// Pieces in a column, columns in a tiling.
const MOST_DEEP: usize = 6;
/// Columns that are kept for one way of a layer.
const MOST_COLUMNS: usize = 12_000;
/// Columns that are combined, by the number of columns in a tiling.
const COMBINED: [usize; MOST_DEEP + 1] = [0, 12_000, 12_000, 2000, 500, 200, 120];
/// Steps that the columns of one list may take, and the tilings of each number of columns.
const MOST_STEPS: usize = 2_500_000;
/// Tilings that are kept of one set of sheets.
const MOST_ALIKE: usize = 8;
/// Pieces on a sheet used in parts are alike whose windows differ by no more, in mm².
const ALIKE_MM2: f64 = 10_000.0;
/// Columns of the same sheets are alike whose widths differ by no more, in mm.
const ALIKE_MM: f64 = 2.0;
/// Widths at which columns are looked for that a sheet with slanted edges is the narrowest of.
const WIDTHS: usize = 8;
/// Roundings of sums of extents.
const EPS: f64 = 1e-7;
/// Room beyond its need that a seat that gives is laid with, in mm; what the sheet really has is asked when positions are
/// settled.
const GIVEN: f64 = 6.0;

/// The layer as tilings see it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
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
}

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
    gives: usize,
    /// Whether all seats give across.
    free: bool,
}

/// Columns side by side.
#[derive(Clone, Debug)]
pub(crate) struct Tiling {
    pub(crate) columns: Vec<Column>,
    pub(crate) lost: f64,
    /// Kinds of which there is one sheet.
    pub(crate) kinds: Kinds,
    /// Those of them that have no other place to offer.
    pub(crate) solid: Kinds,
    /// Places beside which others of their sheet can be used.
    pub(crate) partial: Vec<usize>,
    /// Whether kinds of several sheets are used.
    pub(crate) several: bool,
    /// Area in mm² of sheets that is left for others.
    pub(crate) left: f64,
    /// The places of all pieces, and what parted ones must give.
    pub(crate) places: Vec<(usize, f64)>,
}

struct Search<'a> {
    offer: &'a Offer,
    field: Field,
    /// Tilings that are kept.
    most: usize,
    steps: usize,
    ladders: Vec<Ladder>,
}

/// The boxes of a sheet that exclude each other, turned or not: narrow and long ones first.
struct Ladder {
    kind: usize,
    turned: bool,
    seats: Vec<Seat>,
}

/// A tiling before it is built.
struct Light {
    lost: f64,
    columns: [u32; MOST_DEEP],
    n: usize,
}

/// What tells sets of sheets apart: kinds of which there is one sheet, and places with how much of them is used.
type SetKey = (Kinds, Vec<(usize, i64)>);

/// A column being made.
struct Chosen {
    seats: Vec<Seat>,
    width: f64,
    sum: f64,
    lost: f64,
    gives: usize,
    /// Which of the seats takes what the others leave.
    taker: Option<usize>,
}

/// The tilings of a layer that lose at most the cap, those of one set of sheets together, least lost first.
pub(crate) fn tilings(
    offer: &Offer,
    field: Field,
    seats: &[Seat],
    most: usize,
) -> Vec<Vec<Tiling>> {
    let mut search = Search {
        offer,
        field,
        most,
        steps: 0,
        ladders: ladders(offer, seats),
    };
    let columns = search.columns(seats);
    search.combine(&columns)
}

/// The ladders of sheets that offer several boxes one at a time.
fn ladders(offer: &Offer, seats: &[Seat]) -> Vec<Ladder> {
    let mut out: Vec<Ladder> = Vec::new();
    for s in seats.iter().filter(|s| offer.places[s.place].parts == 1) {
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
    /// Rooms that `n` pieces in a row need together.
    fn need(&self, extent: f64, n: usize) -> f64 {
        extent + (n as f64 - 1.0) * self.field.add
    }

    fn most(&self) -> usize {
        if self.field.splits { MOST_DEEP } else { 1 }
    }

    fn sheets(&self, seat: &Seat) -> usize {
        self.offer.kinds[self.offer.places[seat.place].kind]
            .bins
            .len()
    }

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
        let mut out = Vec::new();
        for (i, narrow) in useful.iter().enumerate() {
            if !self.is_looked_at(narrow) {
                continue;
            }
            let free = narrow.give == Give::Across;
            let mut others: Vec<Seat> = useful
                .iter()
                .enumerate()
                .filter(|(j, s)| {
                    let wider = s.across > narrow.across || (s.across == narrow.across && *j >= i);
                    let also = *j != i || self.sheets(s) > 1;
                    let over = (s.across - narrow.across) * s.along;
                    // A free column holds seats that give across, and no others.
                    let kind = if free {
                        s.give == Give::Across
                    } else {
                        s.give == Give::Across || s.give == Give::Along || over <= self.field.cap
                    };
                    let may = self.field.gives > 0 || s.give == Give::None;
                    wider && also && kind && may && self.offer.agree(s.place, narrow.place)
                })
                .map(|(_, s)| *s)
                .collect();
            if narrow.give != Give::None && self.field.gives == 0 {
                continue;
            }
            others.sort_by(|a, b| b.along.total_cmp(&a.along));
            self.keep_longest(&mut others);
            let takes = narrow.give == Give::Along;
            let gives = usize::from(narrow.give != Give::None);
            let mut chosen = Chosen {
                seats: vec![*narrow],
                width: narrow.across,
                sum: if takes { 0.0 } else { narrow.along },
                lost: gives as f64 * self.field.per_give,
                gives,
                taker: takes.then_some(0),
            };
            self.stack(&others, 0, &mut chosen, &mut out);
        }
        self.keep_columns(&mut out);
        out.truncate(MOST_COLUMNS);
        out
    }

    /// Sorts columns, and keeps of those of the same sheets and nearly the same width the best.
    fn keep_columns(&self, out: &mut Vec<Column>) {
        let mut alike: BTreeMap<(SetKey, i64), usize> = BTreeMap::new();
        out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
        out.retain(|c| {
            let mut more = Vec::new();
            self.tell_apart(c, &mut more);
            more.sort_unstable();
            let n = alike
                .entry(((c.kinds, more), (c.width / ALIKE_MM) as i64))
                .or_default();
            *n += 1;
            *n <= 2
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
        n <= WIDTHS || at.is_some_and(|k| (k * WIDTHS / n) != ((k + 1) * WIDTHS / n))
    }

    fn ladder(&self, seat: &Seat) -> Option<&Ladder> {
        let place = &self.offer.places[seat.place];
        self.ladders
            .iter()
            .find(|l| place.parts == 1 && l.kind == place.kind && l.turned == seat.turned)
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
        let need = self.need(self.field.along, column.seats.len());
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
            if place.parts > 1 {
                return true;
            }
            let key = (place.kind, s.turned);
            let first = !seen.contains(&key);
            seen.push(key);
            first
        });
    }

    /// Adds seats to a column until it is long enough.
    fn stack(&mut self, others: &[Seat], from: usize, chosen: &mut Chosen, out: &mut Vec<Column>) {
        self.steps += 1;
        let n = chosen.seats.len();
        let rest = self.need(self.field.along, n) - chosen.sum;
        match chosen.taker {
            Some(taker) => {
                let seat = chosen.seats[taker];
                if rest < self.field.least {
                    return;
                }
                if rest <= seat.along {
                    let lost = chosen.lost + (seat.across - chosen.width).max(0.0) * rest;
                    if lost <= self.field.cap {
                        out.push(self.column(chosen, lost, Some((taker, rest))));
                    }
                }
            }
            None if rest <= EPS => {
                let lost = chosen.lost + (-rest).max(0.0) * chosen.width;
                if lost <= self.field.cap {
                    let column = self.column(chosen, lost, None);
                    let slanted = column.seats.iter().any(|s| self.ladder(s).is_some());
                    out.push(if slanted {
                        self.widened(column)
                    } else {
                        column
                    });
                    if out.len() >= 6 * MOST_COLUMNS {
                        self.keep_columns(out);
                        out.truncate(3 * MOST_COLUMNS);
                    }
                }
                return;
            }
            None => {}
        }
        if n >= self.most() || self.steps > MOST_STEPS {
            return;
        }
        let rest = self.need(self.field.along, n + 1) - chosen.sum;
        let slack = (self.field.cap - chosen.lost) / chosen.width;
        for k in from..others.len() {
            let s = others[k];
            self.steps += 1;
            let left = (self.most() - n) as f64;
            if self.field.gives == 0 && s.along * left < rest - left * self.field.add.abs() {
                break;
            }
            let takes = s.give == Give::Along;
            if takes && chosen.taker.is_some() {
                continue;
            }
            let tallest = if chosen.taker.is_some() {
                rest - self.field.least
            } else {
                rest + slack
            };
            if !takes && s.along > tallest {
                continue;
            }
            let gives = usize::from(s.give != Give::None);
            let more = match s.give {
                Give::None => (s.across - chosen.width) * s.along,
                Give::Along | Give::Across => self.field.per_give,
            };
            if chosen.gives + gives > self.field.gives.min(3)
                || chosen.lost + more > self.field.cap
                || !chosen
                    .seats
                    .iter()
                    .all(|c| self.offer.agree(c.place, s.place))
                || !self.enough(&chosen.seats, &s)
            {
                continue;
            }
            let next = if self.sheets(&s) > 1 { k } else { k + 1 };
            let before = (chosen.sum, chosen.lost, chosen.gives, chosen.taker);
            if takes {
                chosen.taker = Some(n);
            } else {
                chosen.sum += s.along;
            }
            chosen.lost += more;
            chosen.gives += gives;
            chosen.seats.push(s);
            self.stack(others, next, chosen, out);
            chosen.seats.pop();
            (chosen.sum, chosen.lost, chosen.gives, chosen.taker) = before;
        }
    }

    /// Whether one more seat of a kind is there.
    fn enough(&self, chosen: &[Seat], seat: &Seat) -> bool {
        let sheets = self.sheets(seat);
        let kind = |s: &Seat| self.offer.places[s.place].kind;
        sheets == 1 || chosen.iter().filter(|c| kind(c) == kind(seat)).count() < sheets
    }

    fn column(&self, chosen: &Chosen, lost: f64, taken: Option<(usize, f64)>) -> Column {
        let mut kinds = Kinds::default();
        let mut several = false;
        let mut seats = chosen.seats.clone();
        for s in &seats {
            let place = &self.offer.places[s.place];
            if self.sheets(s) > 1 {
                several = true;
            } else {
                kinds = kinds.with(place.kind);
                several |= place.parts > 1;
            }
        }
        if let Some((k, rest)) = taken {
            seats[k].along = rest;
        }
        Column {
            free: seats.iter().all(|s| s.give == Give::Across),
            seats,
            width: chosen.width,
            lost,
            kinds,
            several,
            gives: chosen.gives,
        }
    }

    fn combine(&mut self, columns: &[Column]) -> Vec<Vec<Tiling>> {
        let mut out = Vec::new();
        for (n, most) in COMBINED
            .into_iter()
            .enumerate()
            .take(self.most() + 1)
            .skip(1)
        {
            self.steps = 0;
            let pick = |free: bool, most: usize| -> Vec<u32> {
                let of_kind = (0..columns.len()).filter(|k| columns[*k].free == free);
                of_kind.take(most).map(|k| k as u32).collect()
            };
            let mut list = pick(false, most);
            list.sort_by(|a, b| {
                columns[*a as usize]
                    .width
                    .total_cmp(&columns[*b as usize].width)
            });
            let mut row = Row {
                columns,
                widths: list.iter().map(|c| columns[*c as usize].width).collect(),
                list,
                free: pick(true, most / 4),
                n,
                chosen: Vec::new(),
            };
            self.side_by_side(&mut row, 0, 0.0, 0.0, &mut out);
        }
        self.keep_sets(columns, &mut out);
        let mut sets: BTreeMap<SetKey, usize> = BTreeMap::new();
        let mut found: Vec<Vec<Tiling>> = Vec::new();
        for light in &out {
            let chosen: Vec<&Column> = light.columns[..light.n]
                .iter()
                .map(|c| &columns[*c as usize])
                .collect();
            let Some(tiling) = self.tiling(&chosen, light.lost) else {
                continue;
            };
            let next = found.len();
            let at = *sets.entry(self.set_of(columns, light)).or_insert(next);
            if at == next {
                found.push(Vec::new());
            }
            found[at].push(tiling);
        }
        found.truncate(self.most);
        found
    }

    /// Notes a tiling; where there are many, what loses more than those kept is no longer looked for.
    fn note(&mut self, row: &Row<'_>, last: u32, lost: f64, out: &mut Vec<Light>) {
        let mut columns = [0; MOST_DEEP];
        columns[..row.chosen.len()].copy_from_slice(&row.chosen);
        columns[row.chosen.len()] = last;
        out.push(Light {
            lost,
            columns,
            n: row.n,
        });
        if out.len() >= 4 * self.most {
            self.keep_sets(row.columns, out);
        }
    }

    /// Keeps what loses least, and of one set of sheets no more than a few; where what is kept is still a lot, more than
    /// its last loses is no longer looked for.
    fn keep_sets(&mut self, columns: &[Column], out: &mut Vec<Light>) {
        let mut alike: BTreeMap<SetKey, usize> = BTreeMap::new();
        out.sort_by(|a, b| a.lost.total_cmp(&b.lost));
        out.retain(|l| {
            let n = alike.entry(self.set_of(columns, l)).or_default();
            *n += 1;
            *n <= MOST_ALIKE
        });
        if out.len() > 2 * self.most {
            out.truncate(2 * self.most);
            self.field.cap = out.last().map_or(self.field.cap, |l| l.lost);
        }
    }

    /// What must be told apart of the sheets of a column beyond which they are.
    fn tell_apart(&self, column: &Column, more: &mut Vec<(usize, i64)>) {
        for s in column.seats.iter().filter(|_| column.several) {
            let place = &self.offer.places[s.place];
            let need = match s.give {
                Give::None => 0.0,
                Give::Along => s.along,
                Give::Across => column.width,
            };
            if place.parted.is_some() || self.sheets(s) > 1 {
                more.push((s.place, (need / 4.0) as i64));
            } else if place.parts > 1 {
                // Of a sheet used in parts it matters how much is taken, not so much which.
                more.push((place.kind, -1 - (s.across * s.along / ALIKE_MM2) as i64));
            }
        }
    }

    /// The sheets of a tiling: those of which there is one, and what else must be told apart.
    fn set_of(&self, columns: &[Column], light: &Light) -> SetKey {
        let mut kinds = Kinds::default();
        let mut more = Vec::new();
        for c in &light.columns[..light.n] {
            let column = &columns[*c as usize];
            kinds = kinds.or(&column.kinds);
            self.tell_apart(column, &mut more);
        }
        more.sort_unstable();
        (kinds, more)
    }

    /// Adds columns, narrow ones first, until there are `n`; a free one comes last.
    fn side_by_side(
        &mut self,
        row: &mut Row<'_>,
        from: usize,
        sum: f64,
        lost: f64,
        out: &mut Vec<Light>,
    ) {
        let columns = row.columns;
        let need = self.need(self.field.across, row.n);
        let left = row.n - row.chosen.len();
        let slack = (self.field.cap - lost) / self.field.along;
        let gives: usize = row.chosen.iter().map(|c| columns[*c as usize].gives).sum();
        if left == 1 {
            for k in 0..row.free.len() {
                let c = &columns[row.free[k] as usize];
                self.steps += 1;
                let width = need - sum;
                if self.steps > MOST_STEPS {
                    break;
                }
                if width <= c.width
                    && width >= self.field.least
                    && lost + c.lost <= self.field.cap
                    && gives + c.gives <= self.field.gives
                    && self.may_join(row, c)
                {
                    self.note(row, row.free[k], lost + c.lost, out);
                }
            }
        }
        let low = if left == 1 { need - sum - EPS } else { 0.0 };
        // Where a free column may still come it takes any width.
        let high = if left > 1 && !row.free.is_empty() {
            need - sum
        } else {
            (need - sum + slack) / left as f64 + EPS
        };
        let first = row.widths.partition_point(|w| *w < low).max(from);
        for k in first..row.list.len() {
            let c = &columns[row.list[k] as usize];
            self.steps += 1;
            if c.width > high || self.steps > MOST_STEPS {
                break;
            }
            if lost + c.lost > self.field.cap
                || gives + c.gives > self.field.gives
                || !self.may_join(row, c)
            {
                continue;
            }
            if left == 1 {
                let over = (sum + c.width - need).max(0.0);
                let all = lost + c.lost + over * self.field.along;
                if all <= self.field.cap {
                    self.note(row, row.list[k], all, out);
                }
            } else {
                row.chosen.push(row.list[k]);
                self.side_by_side(row, k, sum + c.width, lost + c.lost, out);
                row.chosen.pop();
            }
        }
    }

    /// Whether a column may stand beside those of a row.
    fn may_join(&self, row: &Row<'_>, column: &Column) -> bool {
        row.chosen
            .iter()
            .all(|o| self.may_stand(&row.columns[*o as usize], column))
    }

    /// Whether two columns may stand side by side.
    fn may_stand(&self, a: &Column, b: &Column) -> bool {
        if !a.kinds.meets(&b.kinds) {
            return true;
        }
        (a.several || b.several)
            && a.seats
                .iter()
                .all(|s| b.seats.iter().all(|t| self.offer.agree(s.place, t.place)))
    }

    fn tiling(&self, chosen: &[&Column], lost: f64) -> Option<Tiling> {
        let mut columns: Vec<Column> = chosen.iter().map(|c| (*c).clone()).collect();
        let need = self.need(self.field.across, columns.len());
        let sum: f64 = columns.iter().filter(|c| !c.free).map(|c| c.width).sum();
        let mut places = Vec::new();
        let mut taken = 0.0;
        for c in &mut columns {
            // The least that the column is wide.
            let least = if c.free {
                need - sum
            } else {
                c.width - (sum - need).max(0.0)
            };
            if c.free {
                c.width = least + GIVEN;
            }
            for s in &mut c.seats {
                let parts = self.offer.places[s.place].parts > 1;
                match s.give {
                    Give::None => {
                        places.push((s.place, 0.0));
                        taken += if parts { s.across * s.along } else { 0.0 };
                    }
                    Give::Along => {
                        places.push((s.place, s.along));
                        taken += s.along * least;
                        s.along += GIVEN;
                    }
                    Give::Across => {
                        places.push((s.place, least));
                        taken += s.along * least;
                        s.across = c.width + GIVEN;
                    }
                }
            }
        }
        let (mut solid, mut partial, mut several) = (Kinds::default(), Vec::new(), false);
        let mut left = -taken;
        for (place, _) in &places {
            let p = &self.offer.places[*place];
            if self.offer.kinds[p.kind].bins.len() > 1 {
                several = true;
            } else if p.parts > 1 {
                partial.push(*place);
                left += self.offer.usable_of(p.kind);
            } else {
                solid = solid.with(p.kind);
            }
        }
        let asks = several || !partial.is_empty();
        let tiling = Tiling {
            solid,
            partial,
            left,
            lost,
            kinds: columns.iter().fold(Kinds::default(), |k, c| k.or(&c.kinds)),
            several,
            columns,
            places,
        };
        (!asks || self.offer.suffices(&tiling.places)).then_some(tiling)
    }
}

/// Columns to choose from, and those chosen.
struct Row<'c> {
    columns: &'c [Column],
    /// By width.
    list: Vec<u32>,
    widths: Vec<f64>,
    free: Vec<u32>,
    n: usize,
    chosen: Vec<u32>,
}
