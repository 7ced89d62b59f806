//! Where the seams of chosen layings lie: a linear program.
//!
//! In: a laying for every unit. Out: positions, whole hundredths of a millimetre, at which every piece fits its window and
//! every lap is kept, with as much to spare as there is (1 mm at the most), or none where that cannot be.
//!
//! A round hole that must hold a point is seen as a polygon around it, and where the program puts the point beyond the circle the tangent
//! there is added, and the program solved again.

use microlp::{ComparisonOp, OptimizationDirection, Problem, Solution, SolveOutcome, Variable};

use crate::model::seam::LayerSplit;
use crate::planner::cover::order::{Adds, Laying, Run, apart};
use crate::planner::cover::seat::{Give, Offer};
use crate::planner::cover::step::{LEAST_ARM, LEAST_STEP, Rooms, Step};
use crate::planner::prepared::Prepared;

/// To spare at the most, in mm.
const SPARE: f64 = 1.0;
/// By how much a point may lie beyond a round hole that must hold it, in mm; the plan is certified anyway.
const NEAR: f64 = 1e-3;
/// How often tangents of round holes are added.
const TANGENTS: usize = 16;
/// Directions in which a round hole has a tangent from the beginning: 3-4-5 triangles are near enough to twelve even ones.
const AROUND: [[f64; 2]; 12] = [
    [1.0, 0.0],
    [0.8, 0.6],
    [0.6, 0.8],
    [0.0, 1.0],
    [-0.6, 0.8],
    [-0.8, 0.6],
    [-1.0, 0.0],
    [-0.8, -0.6],
    [-0.6, -0.8],
    [0.0, -1.0],
    [0.6, -0.8],
    [0.8, -0.6],
];

/// A position: a variable, or fixed.
#[derive(Clone, Copy)]
enum At {
    Fixed(f64),
    Free(Variable),
}

/// A sum of positions, each added or taken away, and what of it is fixed.
#[derive(Default)]
struct Sum {
    terms: Vec<(Variable, f64)>,
    fixed: f64,
}

impl Sum {
    /// Adds the stretch from one position to another.
    fn stretch(self, from: At, to: At) -> Self {
        self.plus(to, 1.0).plus(from, -1.0)
    }

    /// Adds another sum as often as told.
    fn and(mut self, other: &Self, by: f64) -> Self {
        self.fixed += by * other.fixed;
        other
            .terms
            .iter()
            .filter(|_| by != 0.0)
            .fold(self, |sum, (x, n)| sum.plus(At::Free(*x), by * n))
    }

    /// Adds a position as often as told.
    fn plus(mut self, at: At, by: f64) -> Self {
        match at {
            At::Fixed(v) => self.fixed += by * v,
            At::Free(x) => match self.terms.iter_mut().find(|t| t.0 == x) {
                Some(t) => t.1 += by,
                None => self.terms.push((x, by)),
            },
        }
        self
    }
}

struct Program {
    problem: Problem,
    spare: Variable,
    /// Points that round holes must hold.
    inside: Vec<Held>,
}

/// A point that a round hole must hold.
struct Held {
    point: [Sum; 2],
    center: [f64; 2],
    radius: f64,
    open: Option<(usize, bool)>,
}

impl Held {
    /// Where the point lies, from the middle of the hole.
    fn at(&self, solution: &Solution) -> [f64; 2] {
        [0, 1].map(|axis| {
            let sum = &self.point[axis];
            let terms = sum.terms.iter().map(|(x, by)| by * solution[*x]);
            sum.fixed + terms.sum::<f64>() - self.center[axis]
        })
    }

    /// The direction in which the point lies too far out, if it does so.
    fn beyond(&self, solution: &Solution, spare: f64) -> Option<[f64; 2]> {
        let [x, y] = self.at(solution);
        let is_open = self.open.is_some_and(|(axis, high)| {
            let d = [x, y][axis];
            if high { d > 0.0 } else { d < 0.0 }
        });
        let far = (x * x + y * y).sqrt();
        (!is_open && far + spare > self.radius + NEAR).then(|| [x / far, y / far])
    }
}

impl Program {
    /// The sum is no more than `limit`, and less by `share` of what is to spare. What is fixed was asked before.
    fn at_most(&mut self, sum: Sum, limit: f64, share: f64) {
        let mut terms = sum.terms;
        if !terms.is_empty() {
            terms.push((self.spare, share));
            let rest = limit - sum.fixed;
            self.problem.add_constraint(&terms, ComparisonOp::Le, rest);
        }
    }

    /// A point lies on the near side of the tangent of a round hole in a direction.
    fn within(&mut self, held: &Held, normal: [f64; 2]) {
        let mut sum = Sum::default();
        let mut limit = held.radius;
        for ((point, center), by) in held.point.iter().zip(held.center).zip(normal) {
            sum = sum.and(point, by);
            limit += by * center;
        }
        self.at_most(sum, limit, 1.0);
    }

    /// A round hole must hold a point.
    fn hold(&mut self, held: Held) {
        for normal in AROUND {
            let is_open = held.open.is_some_and(|(axis, high)| {
                if high {
                    normal[axis] > 0.0
                } else {
                    normal[axis] < 0.0
                }
            });
            if !is_open {
                self.within(&held, normal);
            }
        }
        self.inside.push(held);
    }

    /// Positions that keep all; `None` where there are none, or none were found.
    fn solved(mut self) -> Option<Solution> {
        for _ in 0..TANGENTS {
            let Ok(SolveOutcome::Solution(solution)) = self.problem.solve() else {
                return None;
            };
            let inside = std::mem::take(&mut self.inside);
            let mut holds = true;
            for held in &inside {
                if let Some(normal) = held.beyond(&solution, solution[self.spare]) {
                    self.within(held, normal);
                    holds = false;
                }
            }
            self.inside = inside;
            if holds {
                return Some(solution);
            }
        }
        None
    }

    /// What lies between two positions, and what teeth add, fits a room.
    fn fits(&mut self, a: At, b: At, add: f64, room: f64) {
        self.at_most(Sum::default().stretch(a, b), room - add, 1.0);
    }

    /// One position lies so far behind another, and farther by `share` of what is to spare.
    fn at_least(&mut self, a: At, b: At, least: f64, share: f64) {
        self.at_most(Sum::default().stretch(b, a), -least, share);
    }
}

/// Variables of a laying.
struct Lines {
    through: Vec<At>,
    across: Vec<Vec<At>>,
}

impl Lines {
    fn of(&self, run: &Run) -> At {
        match run.strip {
            None => self.through[run.number],
            Some(strip) => self.across[strip][run.number],
        }
    }
}

/// Positions of all seams; `None` where no positions keep all.
pub(crate) fn positions(
    prepared: &Prepared<'_>,
    offer: &Offer,
    layings: &[&Laying],
    adds: &[Adds],
) -> Option<Vec<LayerSplit>> {
    let (mut program, lines) = on_sheets(offer, layings, adds);
    for upper in 1..layings.len() {
        let lower = upper - 1;
        let (a, b) = (&prepared.units[lower], &prepared.units[upper]);
        if a.copy != b.copy {
            continue;
        }
        let reach = [
            prepared.shapes[a.shape].reach,
            prepared.shapes[b.shape].reach,
        ];
        laps(
            &mut program,
            [layings[lower], layings[upper]],
            [&lines[lower], &lines[upper]],
            reach,
            prepared.task.seams.limits.min_lap,
        );
    }
    let solution = program.solved()?;
    let value = |at: &At| match at {
        At::Fixed(v) => *v,
        At::Free(x) => (solution[*x] * 100.0).round() / 100.0,
    };
    Some(
        layings
            .iter()
            .zip(&lines)
            .map(|(laying, line)| LayerSplit {
                joined: laying.joined.clone(),
                runs: laying.runs,
                at: line.through.iter().map(value).collect(),
                across: line
                    .across
                    .iter()
                    .map(|l| l.iter().map(value).collect())
                    .collect(),
            })
            .collect(),
    )
}

/// Whether there are positions at which every piece fits its sheet, whatever becomes of the laps.
pub(super) fn fits_sheets(offer: &Offer, layings: &[&Laying], adds: &[Adds]) -> bool {
    let (program, _) = on_sheets(offer, layings, adds);
    program.solved().is_some()
}

/// The program without laps, and its variables.
fn on_sheets(offer: &Offer, layings: &[&Laying], adds: &[Adds]) -> (Program, Vec<Lines>) {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let spare = problem.add_var(1.0, (0.0, SPARE));
    let mut program = Program {
        problem,
        spare,
        inside: Vec::new(),
    };
    let mut lines: Vec<Lines> = Vec::new();
    for laying in layings {
        let mut free = |i: &crate::model::legal::Interval| {
            At::Free(program.problem.add_var(0.0, (i.low, i.high)))
        };
        let through = laying.through.iter().map(&mut free).collect();
        let across = laying
            .across
            .iter()
            .map(|list| list.iter().map(&mut free).collect())
            .collect();
        lines.push(Lines { through, across });
    }
    for ((laying, line), adds) in layings.iter().zip(&lines).zip(adds) {
        rooms(&mut program, laying, line, *adds);
    }
    shares(&mut program, offer, layings, &lines, adds);
    for ((laying, line), adds) in layings.iter().zip(&lines).zip(adds) {
        keeps(&mut program, offer, laying, line, *adds);
    }
    (program, lines)
}

/// The two positions between which a piece of a strip, or a strip, lies.
fn side(list: &[At], k: usize, (from, to): (f64, f64)) -> (At, At) {
    let a = k.checked_sub(1).map_or(At::Fixed(from), |i| list[i]);
    let b = list.get(k).copied().unwrap_or(At::Fixed(to));
    (a, b)
}

/// A piece in a row: the positions between which it lies, and what teeth add.
type InRow = (At, At, f64);

/// Pieces in a row on a parted place share its length, and so do two in boxes that overlap.
fn shares(
    program: &mut Program,
    offer: &Offer,
    layings: &[&Laying],
    lines: &[Lines],
    adds: &[Adds],
) {
    let mut rows: Vec<(usize, Vec<InRow>)> = Vec::new();
    for ((laying, line), adds) in layings.iter().zip(lines).zip(adds) {
        let n = laying.seats.len();
        for (i, seats) in laying.seats.iter().enumerate() {
            for (j, seat) in seats.iter().enumerate() {
                let share = offer.places[seat.place].share;
                let (give, row) = match share {
                    Some(share) => (
                        seat.toward(share.axis, laying.runs),
                        seat.place - offer.places[seat.place].part,
                    ),
                    None => (seat.give, seat.place),
                };
                let (list, k, extent, add) = match give {
                    Give::None => continue,
                    Give::Across => (&line.through, i, laying.extents[0], adds.of(i, n)),
                    Give::Along => (
                        &line.across[i],
                        j,
                        laying.extents[1],
                        adds.of(j, seats.len()),
                    ),
                };
                let (a, b) = side(list, k, extent);
                match rows.iter_mut().find(|r| r.0 == row) {
                    Some(row) => row.1.push((a, b, add)),
                    None => rows.push((row, vec![(a, b, add)])),
                }
            }
        }
    }
    for (place, pieces) in rows {
        let gaps = (pieces.len() as f64 - 1.0) * offer.spacing();
        let added: f64 = pieces.iter().map(|p| p.2).sum();
        let sum = pieces
            .iter()
            .fold(Sum::default(), |sum, (a, b, _)| sum.stretch(*a, *b));
        program.at_most(sum, offer.shared_length(place) - gaps - added, 1.0);
    }
}

/// Pieces beside a void keep what they must.
fn keeps(program: &mut Program, offer: &Offer, laying: &Laying, line: &Lines, adds: Adds) {
    for (i, seats) in laying.seats.iter().enumerate() {
        for (j, seat) in seats.iter().enumerate() {
            let sides = [
                side(&line.through, i, laying.extents[0]),
                side(&line.across[i], j, laying.extents[1]),
            ];
            for keep in offer.keeps_of(seat) {
                let mut sum = Sum::default();
                for (axis, (low, high)) in sides.into_iter().enumerate() {
                    let (_, add) = laying.side(axis, (i, j), keep.high[axis], adds);
                    let at = if keep.high[axis] { high } else { low };
                    sum = sum.plus(at, keep.by[axis]);
                    sum.fixed += keep.by[axis] * add;
                }
                program.at_most(sum, keep.limit, 1.0);
            }
            for inside in offer.inside_of(seat) {
                let point = inside.point.map(|affine| {
                    let mut sum = Sum {
                        fixed: affine.fixed,
                        ..Sum::default()
                    };
                    for (axis, (low, high)) in sides.into_iter().enumerate() {
                        for (k, at) in [low, high].into_iter().enumerate() {
                            let (_, add) = laying.side(axis, (i, j), k == 1, adds);
                            sum = sum.plus(at, affine.by[axis][k]);
                            sum.fixed += affine.by[axis][k] * add;
                        }
                    }
                    sum
                });
                program.hold(Held {
                    point,
                    center: inside.center,
                    radius: inside.radius,
                    open: inside.open,
                });
            }
        }
    }
}

/// Every piece fits its window, and none is smaller than the least.
fn rooms(program: &mut Program, laying: &Laying, line: &Lines, adds: Adds) {
    let n = laying.seats.len();
    for (first, step) in &laying.steps {
        beside_step(program, laying, line, adds, *first, step);
    }
    for (i, seats) in laying.seats.iter().enumerate() {
        if laying.is_stepped(i) {
            continue;
        }
        let (a, b) = side(&line.through, i, laying.extents[0]);
        let room = seats
            .iter()
            .map(|s| s.room(0))
            .fold(f64::INFINITY, f64::min);
        program.fits(a, b, adds.of(i, n), room);
        if n > 1 {
            program.at_least(a, b, adds.least, 0.0);
        }
        let m = seats.len();
        for (j, seat) in seats.iter().enumerate() {
            let (a, b) = side(&line.across[i], j, laying.extents[1]);
            program.fits(a, b, adds.of(j, m), seat.room(1));
            if m > 1 {
                program.at_least(a, b, adds.least, 0.0);
            }
        }
    }
}

/// Both pieces beside a step fit their windows, where they are narrow and where they are wide.
fn beside_step(
    program: &mut Program,
    laying: &Laying,
    line: &Lines,
    adds: Adds,
    first: usize,
    step: &Step,
) {
    let n = step.strips();
    let last = first + n - 1;
    let (from, _) = side(&line.through, first, laying.extents[0]);
    let (_, to) = side(&line.through, last, laying.extents[0]);
    // The lines of the step: what is missing lies on the column's end.
    let a = if step.before.narrow.is_some() {
        line.through[first]
    } else {
        from
    };
    let b = if step.behind.narrow.is_some() {
        line.through[last - 1]
    } else {
        to
    };
    let add = |at: At, by: f64| match at {
        At::Fixed(_) => 0.0,
        At::Free(_) => by,
    };
    let (arm, whole) = (LEAST_ARM * adds.least, adds.least);
    let mut piece = |p: At, q: At, room: f64, least: f64| {
        program.fits(p, q, add(p, adds.back) + add(q, adds.on), room);
        program.at_least(p, q, least, 0.0);
    };
    if let Some(narrow) = step.before.narrow {
        piece(from, a, narrow, arm);
    }
    if let Some(narrow) = step.behind.narrow {
        piece(b, to, narrow, arm);
    }
    piece(from, b, step.before.wide, whole);
    piece(a, to, step.behind.wide, whole);
    let strip = if n == 3 || step.behind.narrow.is_none() {
        first + 1
    } else {
        first
    };
    let at = line.across[strip][0];
    let (near, far) = step.near_far();
    let rect = |rooms: Rooms| if rooms.narrow.is_some() { arm } else { whole };
    piece(At::Fixed(laying.extents[1].0), at, near.along, rect(near));
    piece(at, At::Fixed(laying.extents[1].1), far.along, rect(far));
    program.at_least(a, b, LEAST_STEP * adds.least, 0.0);
}

/// Every lap of two neighbouring layers is kept, on the side where there is more room for it.
fn laps(
    program: &mut Program,
    layings: [&Laying; 2],
    lines: [&Lines; 2],
    reach: [(f64, f64); 2],
    lap: f64,
) {
    let uppers = layings[1].runs_of();
    for lower in layings[0].runs_of() {
        for upper in &uppers {
            let Some(d) = apart(&lower, upper, reach, lap) else {
                continue;
            };
            let (p, q) = (lines[0].of(&lower), lines[1].of(upper));
            let behind = upper.at.high - lower.at.low - d.behind;
            let before = lower.at.high - upper.at.low - d.before;
            if behind >= before {
                program.at_least(p, q, d.behind, 1.0);
            } else {
                program.at_least(q, p, d.before, 1.0);
            }
        }
    }
}
