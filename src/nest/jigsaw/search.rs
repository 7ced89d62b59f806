//! Filling free corners, the one with the fewest ways first.

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
    gaps: Vec<Gap>,
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
        let mut spots = Vec::new();
        for corner in &self.board.outside.corners {
            let gaps = self.gaps(corner.at);
            spots.push(Spot {
                at: corner.at,
                gaps,
            });
        }
        let end = self.fill(spots, draws);
        (end, self.looks)
    }

    fn gaps(&mut self, p: Point) -> Vec<Gap> {
        self.looks += 1;
        let shapes = self.laid.iter().map(|l| (&*l.form, l.shift));
        gaps_at(p, &self.board.outside, shapes, self.board.reach)
    }

    fn fill(&mut self, mut spots: Vec<Spot>, draws: &mut Draws) -> End {
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
        let Some(mut choices) = self.fewest(&spots) else {
            return End::Exhausted;
        };
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
                let end = self.fill(next, draws);
                if end != End::Exhausted {
                    return end;
                }
            }
            self.laid.pop();
            self.used[choice.kind] -= 1;
        }
        End::Exhausted
    }

    /// The ways to fill the free corner that has the fewest; `None` where one has none at all.
    fn fewest(&mut self, spots: &[Spot]) -> Option<Vec<Choice>> {
        let mut best: Option<Vec<Choice>> = None;
        for gap in spots.iter().flat_map(|s| &s.gaps) {
            if gap.span > PI - TURN {
                continue;
            }
            let most = best.as_ref().map_or(usize::MAX, Vec::len);
            let choices = self.choices(gap, most);
            if choices.is_empty() {
                return None;
            }
            if choices.len() < most {
                best = Some(choices);
            }
        }
        best
    }

    /// The ways to fill a free corner, as soon as there are `most` no more.
    fn choices(&mut self, gap: &Gap, most: usize) -> Vec<Choice> {
        let board = self.board;
        let mut out: Vec<Choice> = Vec::new();
        for (k, kind) in board.kinds.iter().enumerate() {
            if self.used[k] == kind.items.len() {
                continue;
            }
            for (w, way) in kind.ways.iter().enumerate() {
                for (n, corner) in way.corners.iter().enumerate() {
                    let rest = gap.span - corner.angle;
                    let fills = rest <= TURN;
                    if rest < -TURN
                        || !gap.sides[0].fits(corner.sides[0], board.slip)
                        || fills && !gap.sides[1].fits(corner.sides[1], board.slip)
                        || !fills && !board.can_fill(rest)
                    {
                        continue;
                    }
                    let Some(form) = board.turned(k, w, corner, gap.from) else {
                        continue;
                    };
                    let shift = gap.at - form.corners[n].at;
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
                    if out.len() >= most {
                        return out;
                    }
                }
            }
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
        let near = last.form.bounds.moved(last.shift).grown(self.board.reach);
        let mut out: Vec<Spot> = Vec::with_capacity(spots.len() + last.form.corners.len());
        for spot in spots {
            if near.holds(spot.at) {
                self.keep(spot.at, &mut out)?;
            } else {
                out.push(spot.clone());
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

    fn keep(&mut self, at: Point, out: &mut Vec<Spot>) -> Option<()> {
        let gaps = self.gaps(at);
        if gaps
            .iter()
            .any(|g| g.span < PI - TURN && !self.board.can_fill(g.span))
        {
            return None;
        }
        if !gaps.is_empty() {
            out.push(Spot { at, gaps });
        }
        Some(())
    }
}
