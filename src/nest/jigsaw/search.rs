//! Filling free corners, the one with the fewest ways first.
//!
//! The ways to fill a free corner are looked for when it appears; of those that stay each piece laid down takes some away. Several
//! sheets are filled one after the other: the next is begun where the one before has no free corner left.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::geometry::point::Point;
use crate::nest::jigsaw::board::{Board, is_at};
use crate::nest::jigsaw::form::Form;
use crate::nest::jigsaw::gap::{Gap, TURN, gaps_at};
use crate::nest::seed::Draws;

/// A piece where it lies.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub(super) item: usize,
    pub(super) form: Arc<Form>,
    pub(super) shift: Point,
}

/// A point with free room around it.
#[derive(Clone, Debug)]
struct Spot {
    at: Point,
    /// By gap the pieces that would lie in it; `None` where it is no free corner.
    gaps: Vec<Option<Arc<Vec<Choice>>>>,
}

/// A piece that would lie in a free corner.
#[derive(Clone, Debug)]
struct Choice {
    kind: usize,
    form: Arc<Form>,
    shift: Point,
    /// Those that fill the corner first, then by area.
    key: f64,
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    /// All pieces lie.
    Found,
    /// There is no such layout.
    Exhausted,
    /// What it was allowed to look at is used up.
    Spent,
}

/// One attempt.
pub(super) struct Search<'a> {
    board: &'a Board,
    allowed: u64,
    looks: u64,
    noise: f64,
    used: Vec<usize>,
    laid: Vec<Laid>,
    accept: &'a mut dyn FnMut(&[Laid]) -> bool,
}

impl<'a> Search<'a> {
    /// An attempt that may look at so many places; `accept` is asked whether what was laid holds.
    pub(super) fn new(
        board: &'a Board,
        allowed: u64,
        noise: f64,
        accept: &'a mut dyn FnMut(&[Laid]) -> bool,
    ) -> Self {
        Self {
            board,
            allowed,
            looks: 0,
            noise,
            used: vec![0; board.kinds.len()],
            laid: Vec::with_capacity(board.n_items),
            accept,
        }
    }

    /// Runs it: how it ended, and at how many places it looked.
    pub(super) fn run(&mut self, draws: &mut Draws) -> (End, u64) {
        let end = self.fill(Vec::new(), 0, draws);
        (end, self.looks)
    }

    /// The free corners of a sheet on which nothing lies; `None` where one cannot be filled.
    fn opened(&mut self, sheet: usize) -> Option<Vec<Spot>> {
        let mut spots = Vec::new();
        for corner in self.board.corners_of(sheet) {
            self.keep(corner.at, &mut spots)?;
        }
        Some(spots)
    }

    fn gaps(&mut self, p: Point) -> Vec<Gap> {
        self.looks += 1;
        let shapes = self.laid.iter().map(|l| (&*l.form, l.shift));
        gaps_at(p, &self.board.outside, shapes, self.board.reach)
    }

    /// Goes on from free points; so many sheets have been begun.
    fn fill(&mut self, mut spots: Vec<Spot>, begun: usize, draws: &mut Draws) -> End {
        if self.laid.len() == self.board.n_items {
            return if (self.accept)(&self.laid) {
                End::Found
            } else {
                End::Exhausted
            };
        }
        if self.looks >= self.allowed {
            return End::Spent;
        }
        spots.sort_by(|a, b| (a.at.x + a.at.y).total_cmp(&(b.at.x + b.at.y)));
        let fewest = spots
            .iter()
            .flat_map(|s| s.gaps.iter().flatten())
            .min_by_key(|ways| ways.len());
        let Some(fewest) = fewest else {
            if begun == self.board.n_sheets() {
                return End::Exhausted;
            }
            return match self.opened(begun) {
                Some(more) => {
                    spots.extend(more);
                    self.fill(spots, begun + 1, draws)
                }
                None => End::Exhausted,
            };
        };
        let mut choices = fewest.to_vec();
        for c in &mut choices {
            c.key *= 1.0 + self.noise * draws.unit();
        }
        choices.sort_by(|a, b| b.key.total_cmp(&a.key));
        for choice in choices {
            let item = self.board.kinds[choice.kind].items[self.used[choice.kind]];
            self.used[choice.kind] += 1;
            self.laid.push(Laid {
                item,
                form: choice.form,
                shift: choice.shift,
            });
            if let Some(next) = self.after(&spots) {
                let end = self.fill(next, begun, draws);
                if end != End::Exhausted {
                    return end;
                }
            }
            self.laid.pop();
            self.used[choice.kind] -= 1;
        }
        End::Exhausted
    }

    /// The ways to fill a free corner.
    fn choices(&mut self, gap: &Gap) -> Vec<Choice> {
        let board = self.board;
        let mut out: Vec<Choice> = Vec::new();
        for way in board.leaving(gap.from) {
            let (k, corner) = (way.kind, &board.corner(way));
            let kind = &board.kinds[k];
            let rest = gap.span - corner.angle;
            let fills = rest <= TURN;
            if self.used[k] == kind.items.len()
                || rest < -TURN
                || !gap.sides[0].fits(corner.sides[0], board.slip)
                || fills && !gap.sides[1].fits(corner.sides[1], board.slip)
                || !fills && !board.can_fill(rest)
            {
                continue;
            }
            let Some(form) = board.turned(k, way.way, corner, gap.from) else {
                continue;
            };
            let shift = gap.at - form.corners[way.corner].at;
            if !self.is_free(&form, shift)
                || out
                    .iter()
                    .any(|c| c.kind == k && is_at(&c.form, &form, c.shift - shift))
            {
                continue;
            }
            out.push(Choice {
                kind: k,
                form,
                shift,
                key: kind.area * if fills { 4.0 } else { 1.0 },
            });
        }
        out
    }

    fn is_free(&mut self, form: &Form, shift: Point) -> bool {
        self.looks += 1;
        let board = self.board;
        form.lies_in(shift, &board.outside, board.slip)
            && self.laid.iter().all(|l| {
                let by = shift - l.shift;
                !form.bounds.moved(by).touches(l.form.bounds) || !form.meets(by, &l.form)
            })
    }

    /// The points with free room after the last piece was laid; `None` where some room cannot be filled.
    fn after(&mut self, spots: &[Spot]) -> Option<Vec<Spot>> {
        let last = self.laid.last()?.clone();
        if self.laid.len() == self.board.n_items {
            // Nothing is left to be filled.
            return Some(Vec::new());
        }
        let near = last.form.bounds.moved(last.shift).grown(self.board.reach);
        let mut out: Vec<Spot> = Vec::with_capacity(spots.len() + last.form.corners.len());
        for spot in spots {
            if near.holds(spot.at) {
                self.keep(spot.at, &mut out)?;
            } else {
                out.push(self.left_of(spot, &last)?);
            }
        }
        for corner in &last.form.corners {
            let at = corner.at + last.shift;
            if !out.iter().any(|s| s.at.distance(at) <= self.board.slip) {
                self.keep(at, &mut out)?;
            }
        }
        Some(out)
    }

    /// A point beside which nothing was laid, with the ways that the last piece leaves; `None` where it leaves none.
    fn left_of(&self, spot: &Spot, last: &Laid) -> Option<Spot> {
        let stays = |c: &Choice| {
            let by = c.shift - last.shift;
            self.used[c.kind] < self.board.kinds[c.kind].items.len()
                && (!c.form.bounds.moved(by).touches(last.form.bounds)
                    || !c.form.meets(by, &last.form))
        };
        let mut spot = spot.clone();
        for ways in spot.gaps.iter_mut().flatten() {
            let stay: Vec<bool> = ways.iter().map(stays).collect();
            if !stay.contains(&true) {
                return None;
            }
            if stay.contains(&false) {
                let kept = ways.iter().zip(stay).filter(|w| w.1);
                *ways = Arc::new(kept.map(|w| w.0.clone()).collect());
            }
        }
        Some(spot)
    }

    /// Adds a point where room is free around it; `None` where that cannot be filled.
    fn keep(&mut self, at: Point, out: &mut Vec<Spot>) -> Option<()> {
        let mut gaps = Vec::new();
        for gap in self.gaps(at) {
            let ways = if gap.span > PI - TURN {
                None
            } else if self.board.can_fill(gap.span) {
                Some(Arc::new(self.choices(&gap)))
            } else {
                return None;
            };
            if ways.as_ref().is_some_and(|w| w.is_empty()) {
                return None;
            }
            gaps.push(ways);
        }
        if !gaps.is_empty() {
            out.push(Spot { at, gaps });
        }
        Some(())
    }
}
