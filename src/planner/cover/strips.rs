//! The columns of layers, ready to be taken one by one.

use crate::model::cutter::Axis;
use crate::planner::cover::bits::Bits;
use crate::planner::cover::column::{Column, Field};
use crate::planner::cover::mask::{Index, Mask};
use crate::planner::cover::seat::{Give, Offer};

/// The columns of a group of layers whose through seams run one way, narrow ones first.
#[derive(Clone, Debug)]
pub(super) struct Strips {
    pub(super) runs: Axis,
    pub(super) field: Field,
    pub(super) columns: Vec<Column>,
    /// By column: the places of its pieces, with what parted ones must give at the least.
    pub(super) places: Vec<Vec<(usize, f64)>>,
    pub(super) masks: Vec<Mask>,
    pub(super) index: Index,
    /// Those that share a width with others.
    pub(super) free: Bits,
}

impl Strips {
    pub(super) fn new(offer: &Offer, field: Field, runs: Axis, mut columns: Vec<Column>) -> Self {
        columns.sort_by(|a, b| a.width.total_cmp(&b.width).then(a.lost.total_cmp(&b.lost)));
        let mut free = Bits::none(columns.len());
        let taken = columns.iter().enumerate().filter(|c| c.1.free);
        taken.for_each(|(k, _)| free.insert(k));
        let of = |c: &Column| c.seats.iter().map(|s| s.place).collect::<Vec<_>>();
        let masks: Vec<Mask> = columns
            .iter()
            .map(|c| Mask::new(offer, of(c).into_iter()))
            .collect();
        Self {
            runs,
            field,
            places: columns.iter().map(|c| places(c, &field)).collect(),
            index: Index::new(&masks.iter().collect::<Vec<_>>(), offer.kinds.len()),
            masks,
            free,
            columns,
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.columns.is_empty()
    }

    /// The numbers of the columns of these widths.
    pub(super) fn between(&self, low: f64, high: f64) -> (usize, usize) {
        let upto = |w: f64| self.columns.partition_point(|c| c.width < w);
        (upto(low), upto(high))
    }
}

/// The places of a column's pieces, and what parted ones must give at the least.
fn places(column: &Column, field: &Field) -> Vec<(usize, f64)> {
    let need = |give: Give, along: f64| match give {
        Give::None => 0.0,
        Give::Along => (along - column.spare).max(field.least),
        Give::Across if column.free => field.least,
        Give::Across => column.width,
    };
    let seats = column.seats.iter();
    seats.map(|s| (s.place, need(s.give, s.along))).collect()
}
