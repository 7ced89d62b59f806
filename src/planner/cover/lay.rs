//! Layings for all units: one of each list, so that neighbouring layers can keep the lap.
//!
//! In: for every unit the layings that the ways taken allow. Out: a guess, or none where no choice among those looked at has
//! positions that keep all. Units are gone through from the bottom up; a way goes to one unit.

use crate::model::cutter::Axis;
use crate::nest::seed::Draws;
use crate::planner::cover::alike::Tiling;
use crate::planner::cover::column::Column;
use crate::planner::cover::order::{self, Ground, Laying, layings};
use crate::planner::cover::settle::settle;
use crate::planner::cover::{Cover, slide};
use crate::planner::prepared::Prepared;
use crate::planner::state::{State, Worth};

/// Layings of one way that are looked at.
const LAYINGS: usize = 160;
/// Of them, beside voids, those that fit their sheets.
const FITTING: usize = 12;
/// Pairs of layings that are compared for one choice.
const PAIRS: usize = 8000;
/// Linear programs that are solved for one choice.
const PROGRAMS: usize = 24;

/// A laying that a unit may get.
#[derive(Clone)]
struct Laid<'a> {
    /// Which of the ways taken it comes from.
    turn: usize,
    /// The tiling of that way.
    tiling: &'a Tiling,
    laying: Laying,
}

/// Tilings of which a unit of a group may get one.
pub(super) struct Chosen<'a> {
    pub(super) group: usize,
    /// The way their through seams run.
    pub(super) runs: Axis,
    pub(super) tilings: &'a [Tiling],
}

/// A guess of what was chosen: as many for each group as it has units.
pub(super) fn lay<'a>(
    cover: &'a Cover,
    prepared: &'a Prepared<'a>,
    chosen: &'a [Chosen<'a>],
    draws: &mut Draws,
    below: Option<usize>,
) -> Option<(State, Worth)> {
    let mut lists: Vec<Vec<Laid<'a>>> = vec![Vec::new(); prepared.units.len()];
    for (turn, chosen) in chosen.iter().enumerate() {
        for unit in &cover.groups[chosen.group].units {
            let shape = &prepared.shapes[prepared.units[*unit].shape];
            let adds = cover.adds[*unit];
            let on = Ground {
                offer: &cover.offer,
                shape,
                runs: chosen.runs,
                adds,
            };
            for tiling in chosen.tilings {
                let mut found = layings(&on, tiling, draws, LAYINGS);
                if tiling.columns.iter().any(Column::is_bound) {
                    // Beside voids few orders have room for all that they must keep.
                    let fits = |l: &Laying| slide::fits_sheets(on.offer, &[l], &[adds]);
                    found = found.into_iter().filter(fits).take(FITTING).collect();
                }
                lists[*unit].extend(found.into_iter().map(|laying| Laid {
                    turn,
                    tiling,
                    laying,
                }));
            }
        }
    }
    picked(cover, prepared, lists, below)
}

/// A guess of layings, one of the list of every unit.
fn picked<'a>(
    cover: &'a Cover,
    prepared: &'a Prepared<'a>,
    mut lists: Vec<Vec<Laid<'a>>>,
    below: Option<usize>,
) -> Option<(State, Worth)> {
    if lists.iter().any(Vec::is_empty) {
        return None;
    }
    if below.is_some() {
        lists
            .iter_mut()
            .for_each(|l| l.sort_by_key(|l| l.tiling.uses.pieces));
    }
    let runs = lists
        .iter()
        .map(|l| l.iter().map(|l| l.laying.runs_of()).collect())
        .collect();
    let mut stack = Stack {
        cover,
        prepared,
        below,
        picked: vec![0; lists.len()],
        lists,
        runs,
        pairs: 0,
        programs: 0,
    };
    stack.pick(0)
}

/// Layings for all units, picked from the bottom up.
struct Stack<'a> {
    cover: &'a Cover,
    prepared: &'a Prepared<'a>,
    /// Fewer pieces than so many are looked for.
    below: Option<usize>,
    /// By unit.
    lists: Vec<Vec<Laid<'a>>>,
    /// The seams of each.
    runs: Vec<Vec<Vec<order::Run>>>,
    picked: Vec<usize>,
    pairs: usize,
    programs: usize,
}

impl Stack<'_> {
    fn pick(&mut self, unit: usize) -> Option<(State, Worth)> {
        let (prepared, cover) = (self.prepared, self.cover);
        if unit == self.lists.len() {
            let pieces = |(l, k): (&Vec<Laid<'_>>, &usize)| l[*k].tiling.uses.pieces;
            let all: usize = self.lists.iter().zip(&self.picked).map(pieces).sum();
            if self.below.is_some_and(|below| all >= below) {
                return None;
            }
            self.programs += 1;
            let layings: Vec<&Laying> = self
                .lists
                .iter()
                .zip(&self.picked)
                .map(|(l, k)| &l[*k].laying)
                .collect();
            let splits = slide::positions(prepared, &cover.offer, &layings, &cover.adds)?;
            return settle(prepared, &cover.offer, &layings, splits);
        }
        let below = unit
            .checked_sub(1)
            .filter(|b| prepared.units[*b].copy == prepared.units[unit].copy);
        for k in 0..self.lists[unit].len() {
            if self.pairs > PAIRS || self.programs >= PROGRAMS {
                return None;
            }
            let own = &self.lists[unit][k];
            let stands = (0..unit).all(|u| {
                let other = &self.lists[u][self.picked[u]];
                other.turn != own.turn
                    && (own.tiling.uses.partial.is_empty()
                        || cover
                            .offer
                            .stand_together(&other.tiling.uses, &own.tiling.uses))
            });
            if !stands {
                continue;
            }
            self.pairs += 1;
            let fits = below.is_none_or(|b| {
                let reach = [b, unit].map(|u| prepared.shapes[prepared.units[u].shape].reach);
                let lap = prepared.task.seams.limits.min_lap;
                order::can_lap(
                    &self.runs[b][self.picked[b]],
                    &self.runs[unit][k],
                    reach,
                    lap,
                )
            });
            if fits {
                self.picked[unit] = k;
                if let Some(found) = self.pick(unit + 1) {
                    return Some(found);
                }
            }
        }
        None
    }
}
