//! Columns that are put side by side: which, and what may still join them.
//!
//! In: the columns of a layer, by width. A few numbers say of each what is asked most, so that a pair is compared in a few steps; where many
//! are combined a table of all pairs says at once what may stand beside everything that was chosen, and sets by loss leave out what would
//! lose too much.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::parallel::map_in_order;
use crate::planner::cover::abreast::Pairs;
use crate::planner::cover::bits::Bits;
use crate::planner::cover::column::{Column, MOST_DEEP};
use crate::planner::cover::place::Place;
use crate::planner::cover::seat::Offer;

/// Limits of loss that sets of columns are kept for.
const LOSSES: usize = 48;
/// Kinds that have a bit of their own.
const OWN_BITS: usize = 64;

/// Of a column what is asked most.
#[derive(Clone, Copy)]
pub(super) struct Slim {
    pub(super) width: f64,
    pub(super) lost: f64,
    /// Kinds of which there is one sheet, a bit for each; the same bit for several where there are many kinds.
    kinds: u64,
    /// Those of them that have no other place to offer, where each has its own bit.
    solid: u64,
    /// The other places on kinds of one sheet: kind, mode, part.
    parts: [u32; MOST_DEEP],
    pub(super) gives: usize,
    /// Its place in the list of columns.
    pub(super) at: u32,
}

impl Slim {
    const NO_PART: u32 = u32::MAX;
    /// The part of a place that takes pieces in a row.
    const IN_A_ROW: u32 = 7;

    pub(super) fn new(offer: &Offer, column: &Column, at: u32) -> Self {
        let own_bits = offer.kinds.len() <= OWN_BITS;
        let mut out = Self {
            width: column.width,
            lost: column.lost,
            kinds: column.kinds.folded(),
            solid: 0,
            parts: [Self::NO_PART; MOST_DEEP],
            gives: column.gives,
            at,
        };
        let mut n = 0;
        for place in column.seats.iter().map(|s| &offer.places[s.place]) {
            if offer.kinds[place.kind].bins.len() > 1 {
                continue;
            }
            if own_bits && place.parts == 1 {
                out.solid |= 1 << place.kind;
            } else if let Some(part) = out.parts.get_mut(n) {
                *part = Self::part(place);
                n += 1;
            }
        }
        out
    }

    fn part(place: &Place) -> u32 {
        let part = match place.parted {
            Some(_) => Self::IN_A_ROW,
            None => place.part as u32,
        };
        (place.kind as u32) << 16 | (place.mode as u32) << 3 | part
    }

    /// The places on sheets that may offer others.
    fn parts(&self) -> impl Iterator<Item = u32> + '_ {
        self.parts
            .iter()
            .copied()
            .take_while(|p| *p != Self::NO_PART)
    }

    /// Whether a place of another column's can be used as well.
    fn stands_beside(&self, part: u32) -> bool {
        self.parts().all(|own| go_together(own, part))
    }
}

/// Whether two parts of sheets can be used together.
fn go_together(own: u32, part: u32) -> bool {
    let (differ, alone) = (own ^ part, part & 7 != Slim::IN_A_ROW);
    differ >> 16 != 0 || differ >> 3 == 0 && (differ != 0 || !alone)
}

/// What the columns chosen have together.
#[derive(Clone, Copy, Default)]
pub(super) struct Sums {
    pub(super) width: f64,
    pub(super) lost: f64,
    pub(super) gives: usize,
    kinds: u64,
    solid: u64,
}

impl Sums {
    /// The same with one more.
    pub(super) fn with(self, column: &Slim) -> Self {
        Self {
            width: self.width + column.width,
            lost: self.lost + column.lost,
            gives: self.gives + column.gives,
            kinds: self.kinds | column.kinds,
            solid: self.solid | column.solid,
        }
    }
}

/// Columns to choose from, and those chosen.
pub(super) struct Row<'c> {
    pub(super) columns: &'c [Column],
    /// By width.
    pub(super) list: Vec<Slim>,
    /// Their widths, and by whole mm how many are narrower than that: they are looked up more often than anything else.
    widths: Vec<f64>,
    narrower: Vec<usize>,
    pub(super) free: Vec<u32>,
    pub(super) n: usize,
    pub(super) chosen: Vec<u32>,
    /// Of those chosen the places on sheets that may offer others.
    parts: Vec<u32>,
    /// Where a table tells pairs: their numbers in the list.
    numbers: Vec<usize>,
    table: Option<Table>,
}

/// Which columns can stand side by side.
struct Told {
    /// By column of the list: the others that can.
    beside: Vec<Bits>,
    /// Those that lose no more than so much: ever more, at last all.
    cheap: Vec<(f64, Bits)>,
}

/// What is told of pairs, shared by rows of different numbers.
struct Table {
    told: Arc<Told>,
    /// By how many are chosen: what can stand beside them all, between the numbers looked at.
    open: Vec<Bits>,
}

impl<'c> Row<'c> {
    pub(super) fn new(columns: &'c [Column], list: Vec<Slim>, free: Vec<u32>, n: usize) -> Self {
        let widths: Vec<f64> = list.iter().map(|c| c.width).collect();
        let mut narrower = vec![0];
        for (k, width) in widths.iter().enumerate() {
            while narrower.len() as f64 <= *width {
                narrower.push(k);
            }
        }
        Self {
            columns,
            list,
            widths,
            narrower,
            free,
            n,
            chosen: Vec::new(),
            parts: Vec::new(),
            numbers: Vec::new(),
            table: None,
        }
    }

    /// The same columns, so many at a time, none chosen.
    pub(super) fn by(&self, n: usize) -> Self {
        Self {
            columns: self.columns,
            list: self.list.clone(),
            widths: self.widths.clone(),
            narrower: self.narrower.clone(),
            free: self.free.clone(),
            n,
            chosen: Vec::new(),
            parts: Vec::new(),
            numbers: Vec::new(),
            table: self.table.as_ref().map(|t| Table {
                told: t.told.clone(),
                open: vec![Bits::none(self.list.len()); n],
            }),
        }
    }

    /// How many are narrower.
    pub(super) fn upto(&self, width: f64) -> usize {
        self.until(width, |w| w < width)
    }

    /// How many are not wider.
    pub(super) fn up_to_and_with(&self, width: f64) -> usize {
        self.until(width, |w| w <= width)
    }

    /// How many widths come first, all near one width.
    fn until(&self, width: f64, is_first: impl Fn(f64) -> bool) -> usize {
        let mm = width.max(0.0) as usize;
        let n = self.widths.len();
        let from = self.narrower.get(mm).copied().unwrap_or(n);
        let to = self.narrower.get(mm + 1).copied().unwrap_or(n);
        from + self.widths[from..to].partition_point(|w| is_first(*w))
    }

    /// Makes the table of pairs.
    pub(super) fn tell_pairs(&mut self, kinds: usize) {
        let n = self.list.len();
        let sets = |bits: &dyn Fn(&Slim) -> u64| -> Vec<Bits> {
            let mut out = vec![Bits::none(n); OWN_BITS.min(kinds)];
            for (k, c) in self.list.iter().enumerate() {
                ones(bits(c)).for_each(|kind| out[kind].insert(k));
            }
            out
        };
        let (uses, solid) = (sets(&|c| c.kinds), sets(&|c| c.solid));
        // Columns share few different parts of sheets: what each keeps away is told once.
        let mut having: BTreeMap<u32, Bits> = BTreeMap::new();
        for (k, c) in self.list.iter().enumerate() {
            for part in c.parts() {
                let having = having.entry(part).or_insert_with(|| Bits::none(n));
                having.insert(k);
            }
        }
        let mut away: BTreeMap<u32, Bits> = BTreeMap::new();
        for &part in having.keys() {
            let mut all = Bits::none(n);
            let kept = having
                .iter()
                .filter(|(other, _)| !go_together(part, **other));
            kept.for_each(|(_, columns)| all.add(columns));
            away.insert(part, all);
        }
        let sides = |c: &Slim| self.columns.get(c.at as usize).and_then(|c| c.sides);
        let pairs = Pairs::new(self.list.iter().map(sides).collect());
        let numbered: Vec<(usize, &Slim)> = self.list.iter().enumerate().collect();
        let beside = map_in_order(numbered, |(k, c)| {
            let mut open = pairs.beside(k);
            ones(c.solid).for_each(|kind| open.take_away(&uses[kind]));
            ones(c.kinds & !c.solid).for_each(|kind| open.take_away(&solid[kind]));
            c.parts()
                .filter_map(|part| away.get(&part))
                .for_each(|columns| open.take_away(columns));
            open
        });
        self.table = Some(Table {
            told: Arc::new(Told {
                beside,
                cheap: self.cheap(),
            }),
            open: vec![Bits::none(n); self.n],
        });
    }

    /// Sets of columns that lose no more than some of them do.
    fn cheap(&self) -> Vec<(f64, Bits)> {
        let n = self.list.len();
        let mut by_loss: Vec<usize> = (0..n).collect();
        by_loss.sort_by(|a, b| self.list[*a].lost.total_cmp(&self.list[*b].lost));
        let mut all = Bits::none(n);
        let mut out = Vec::with_capacity(LOSSES + 1);
        for some in by_loss.chunks(n.div_ceil(LOSSES).max(1)) {
            some.iter().for_each(|k| all.insert(*k));
            let limit = some.last().map_or(0.0, |k| self.list[*k].lost);
            out.push((limit, all.clone()));
        }
        out.push((f64::INFINITY, all));
        out
    }

    /// Makes ready what may join those chosen and loses hardly more than so much, between two numbers of the list or, where more
    /// are to come, from the first on; how many words that takes.
    pub(super) fn open(&mut self, (first, end): (usize, usize), lost: f64, is_last: bool) -> usize {
        let Some(table) = &mut self.table else {
            return 0;
        };
        let depth = self.numbers.len();
        let end = if is_last { end } else { self.list.len() };
        let Some(last) = self.numbers.last() else {
            table.open[0] = Bits::all(self.list.len());
            return 0;
        };
        let told = &table.told;
        let k = told.cheap.partition_point(|(limit, _)| *limit < lost);
        let cheap = &told.cheap[k.min(told.cheap.len() - 1)].1;
        let (before, own) = table.open.split_at_mut(depth);
        own[0].meet([&before[depth - 1], &told.beside[*last], cheap], first, end)
    }

    /// The next column that may join, of those made ready.
    pub(super) fn next(&self, from: usize, end: usize) -> Option<usize> {
        match &self.table {
            Some(table) => table.open[self.numbers.len()].next(from, end),
            None => (from < end).then_some(from),
        }
    }

    /// Whether a column may stand beside those chosen.
    pub(super) fn may_join(&self, sums: &Sums, column: &Slim) -> bool {
        let uses_whole = sums.solid & column.kinds | sums.kinds & column.solid != 0;
        self.table.is_some()
            || !uses_whole
                && (sums.kinds & column.kinds == 0
                    || self.parts.iter().all(|p| column.stands_beside(*p)))
    }

    /// Chooses one; what to tell where it is left again.
    pub(super) fn take(&mut self, number: usize) -> usize {
        let before = self.parts.len();
        self.chosen.push(self.list[number].at);
        self.numbers.push(number);
        self.parts.extend(self.list[number].parts());
        before
    }

    /// Leaves the one chosen last.
    pub(super) fn leave(&mut self, before: usize) {
        self.chosen.pop();
        self.numbers.pop();
        self.parts.truncate(before);
    }
}

/// The numbers of the ones among bits.
fn ones(mut bits: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (bits != 0).then(|| {
            let bit = bits.trailing_zeros() as usize;
            bits &= bits - 1;
            bit
        })
    })
}

#[cfg(test)]
mod tests {
    use super::{Row, Slim, Sums};
    use crate::nest::seed::Draws;
    use crate::planner::cover::column::MOST_DEEP;

    /// A column of up to three pieces on six kinds of sheets: whole, or a part of one of two modes.
    fn drawn(draws: &mut Draws, at: u32) -> Slim {
        let mut out = Slim {
            width: f64::from(at),
            lost: 0.0,
            kinds: 0,
            solid: 0,
            parts: [Slim::NO_PART; MOST_DEEP],
            gives: 0,
            at,
        };
        let mut n = 0;
        for _ in 0..1 + draws.below(3) {
            let kind = draws.below(6);
            if out.kinds >> kind & 1 == 1 {
                continue;
            }
            out.kinds |= 1 << kind;
            if draws.chance(0.5) {
                out.solid |= 1 << kind;
            } else {
                let part = [0, 1, Slim::IN_A_ROW][draws.below(3)];
                out.parts[n] = (kind as u32) << 16 | (draws.below(2) as u32) << 3 | part;
                n += 1;
            }
        }
        out
    }

    #[test]
    fn the_table_says_what_comparing_says() {
        let mut draws = Draws::new([7, 0, 0]);
        let list: Vec<Slim> = (0..150).map(|k| drawn(&mut draws, k)).collect();
        let (mut plain, mut told) = (
            Row::new(&[], list.clone(), Vec::new(), 3),
            Row::new(&[], list.clone(), Vec::new(), 3),
        );
        told.tell_pairs(6);
        let mut beside = 0;
        for first in (0..150).step_by(11) {
            for second in 0..150 {
                told.open((0, 150), f64::INFINITY, false);
                let before = plain.take(first);
                told.take(first);
                told.open((0, 150), f64::INFINITY, false);
                let sums = Sums::default().with(&list[first]);
                let joins = plain.may_join(&sums, &list[second]);
                assert_eq!(told.next(second, second + 1).is_some(), joins);
                if joins {
                    let before = plain.take(second);
                    told.take(second);
                    told.open((0, 150), f64::INFINITY, true);
                    let sums = sums.with(&list[second]);
                    for (third, column) in list.iter().enumerate() {
                        let joins = plain.may_join(&sums, column);
                        assert_eq!(told.next(third, third + 1).is_some(), joins);
                        beside += usize::from(joins);
                    }
                    plain.leave(before);
                    told.leave(before);
                }
                plain.leave(before);
                told.leave(before);
            }
        }
        assert!(beside > 100, "{beside} columns stand beside two others");
    }

    #[test]
    fn what_loses_little_enough_is_not_left_out() {
        let mut draws = Draws::new([8, 0, 0]);
        let list: Vec<Slim> = (0..300)
            .map(|k| Slim {
                lost: 100.0 * draws.unit(),
                ..drawn(&mut draws, k)
            })
            .collect();
        let mut row = Row::new(&[], list.clone(), Vec::new(), 2);
        row.tell_pairs(6);
        row.open((0, 300), f64::INFINITY, false);
        row.take(7);
        row.open((0, 300), f64::INFINITY, true);
        let all: Vec<usize> = (0..300).filter(|k| row.next(*k, k + 1).is_some()).collect();
        let mut left_out = 0;
        for limit in [0.0, 3.0, 20.0, 99.0, 101.0] {
            row.open((0, 300), limit, true);
            for &k in &all {
                let kept = row.next(k, k + 1).is_some();
                assert!(kept || list[k].lost > limit, "{} of {limit}", list[k].lost);
                left_out += usize::from(!kept);
            }
        }
        assert!(left_out > 100, "{left_out} left out of {}", all.len());
    }
}
