//! From pieces that lie in one another's corners to a layout that holds.
//!
//! Pieces were laid edge to edge, overlaps up to the slip let pass. A linear program shifts them until every corner that is
//! near another shape lies outside it, by as much as there is room for; then shifts are rounded to what a plan writes.

use std::f64::consts::PI;

use microlp::{ComparisonOp, OptimizationDirection, Problem as Program, SolveOutcome, Variable};

use crate::geometry::angle;
use crate::geometry::distance::point_edge;
use crate::geometry::point::Point;
use crate::geometry::transform::Pose;
use crate::model::nesting::{Layout, Placed, Problem};
use crate::nest::certify::certify;
use crate::nest::collision::{apart, inside};
use crate::nest::jigsaw::board::Board;
use crate::nest::jigsaw::form::{Corner, Form};
use crate::nest::jigsaw::gap::TURN;
use crate::nest::jigsaw::search::Laid;
use crate::nest::orientation::Body;

/// Linear programs that are solved one after the other, each from where the one before led.
const PROGRAMS: usize = 3;
/// Shifts that are changed by a last digit, at the most.
const REPAIRS: usize = 60;
/// The last digit of a shift.
const DIGIT: f64 = 1e-6;

/// The layout, where it holds.
pub(super) fn settled(problem: &Problem, board: &Board, laid: &[Laid]) -> Option<Layout> {
    if let Some(layout) = rounded(problem, board, laid) {
        return Some(layout);
    }
    let mut laid = laid.to_vec();
    for _ in 0..PROGRAMS {
        laid = shifted(board, &laid)?;
        if let Some(layout) = rounded(problem, board, &laid) {
            return Some(layout);
        }
    }
    None
}

/// The pieces shifted so that corners lie outside of other shapes; `None` where the program has no solution.
fn shifted(board: &Board, laid: &[Laid]) -> Option<Vec<Laid>> {
    let far = 4.0 * board.reach;
    let mut program = Program::new(OptimizationDirection::Maximize);
    let spare = program.add_var(1.0, (-far, board.slip));
    let moves: Vec<[Variable; 2]> = laid
        .iter()
        .map(|_| {
            [
                program.add_var(0.0, (-far, far)),
                program.add_var(0.0, (-far, far)),
            ]
        })
        .collect();
    let none = Point::new(0.0, 0.0);
    let bodies: Vec<(&Form, Point)> = laid
        .iter()
        .map(|l| (&*l.form, l.shift))
        .chain([(&board.outside, none)])
        .collect();
    let mut add = |(moved, still): (usize, usize), normal: Point, room: f64| {
        let mut terms = vec![(spare, -1.0)];
        for (body, sign) in [(moved, 1.0), (still, -1.0)] {
            if let Some(m) = moves.get(body) {
                terms.push((m[0], sign * normal.x));
                terms.push((m[1], sign * normal.y));
            }
        }
        program.add_constraint(&terms, ComparisonOp::Ge, -room);
    };
    for a in 0..bodies.len() {
        for b in 0..bodies.len() {
            let near = bodies[b].0.bounds.moved(bodies[b].1).grown(board.reach);
            if a == b || !near.touches(bodies[a].0.bounds.moved(bodies[a].1)) {
                continue;
            }
            for (q, corner) in bodies[a].0.corners.iter().map(|c| (c.at + bodies[a].1, c)) {
                if near.holds(q) {
                    rows_of(corner, q, bodies[b], board.reach, (a, b), &mut add);
                }
            }
        }
    }
    let Ok(SolveOutcome::Solution(solution)) = program.solve() else {
        return None;
    };
    Some(
        laid.iter()
            .zip(&moves)
            .map(|(l, m)| Laid {
                shift: l.shift + Point::new(solution[m[0]], solution[m[1]]),
                ..l.clone()
            })
            .collect(),
    )
}

/// What keeps one corner of a shape out of another one: the shape that moves along a normal, the one it moves away from, the
/// normal, and how far apart the two are along it.
fn rows_of(
    corner: &Corner,
    q: Point,
    (form, shift): (&Form, Point),
    reach: f64,
    (own, other): (usize, usize),
    add: &mut impl FnMut((usize, usize), Point, f64),
) {
    let mut is_at_corner = false;
    for c in &form.corners {
        let w = c.at + shift;
        if w.distance(q) > reach {
            continue;
        }
        is_at_corner = true;
        if c.angle > PI {
            // In a notch both edges hold it back.
            for n in lines(c, corner).into_iter().flatten() {
                add((own, other), n, n.dot(q - w));
            }
            continue;
        }
        if corner.angle > PI {
            continue;
        }
        let ours = lines(corner, c)
            .into_iter()
            .flatten()
            .map(|n| (n.dot(w - q), n, true));
        let others = lines(c, corner)
            .into_iter()
            .flatten()
            .map(|n| (n.dot(q - w), n, false));
        if let Some((room, n, is_own)) = ours.chain(others).max_by(|x, y| x.0.total_cmp(&y.0)) {
            let pair = if is_own { (other, own) } else { (own, other) };
            add(pair, n, room);
        }
    }
    if is_at_corner {
        return;
    }
    for (edge, bounds) in &form.edges {
        let p = q - shift;
        if !bounds.grown(reach).holds(p) {
            continue;
        }
        let (d, foot) = point_edge(p, edge);
        if d <= reach {
            let n = -edge.tangent_at(foot).left();
            add((own, other), n, n.dot(p - foot));
        }
    }
}

/// Outward normals of the two edges at a corner, each where the other corner lies beyond that edge's line.
fn lines(of: &Corner, against: &Corner) -> [Option<Point>; 2] {
    let ends = [of.out, of.out + of.angle + PI];
    ends.map(|way| {
        // The material of `of` is to the left of the way; the other's has to be to the right.
        let from = angle::signed(against.out - (way - PI));
        let is_beyond = from >= -TURN && from + against.angle <= PI + TURN;
        is_beyond.then(|| -Point::at_angle(way).left())
    })
}

/// The layout with shifts as a plan writes them, last digits changed where pieces come too near; `None` where that does not help.
fn rounded(problem: &Problem, board: &Board, laid: &[Laid]) -> Option<Layout> {
    let mut placed: Vec<Placed> = laid
        .iter()
        .map(|l| {
            let (sheet, by) = board.sheet_of(l.form.bounds.moved(l.shift));
            let shift = l.shift - by;
            Placed {
                item: l.item,
                sheet,
                pose: Pose {
                    shift: Point::new(digits(shift.x), digits(shift.y)),
                    ..l.form.pose
                },
            }
        })
        .collect();
    placed.sort_by_key(|p| p.item);
    let mut layout = Layout { placed };
    for _ in 0..REPAIRS {
        let Err(conflicts) = certify(problem, &layout) else {
            return Some(layout);
        };
        // What is deeper than digits is not mended by them.
        if conflicts
            .iter()
            .any(|c| c.depth > 4.0 * DIGIT || c.depth == 0.0)
        {
            return None;
        }
        let item = conflicts.first()?.item;
        mend(problem, &mut layout, item);
    }
    None
}

fn digits(v: f64) -> f64 {
    (v * 1e6).round() / 1e6
}

/// Changes the last digits of a shift so that its piece comes too near to as few others as can be.
fn mend(problem: &Problem, layout: &mut Layout, item: usize) {
    let body = |p: &Placed| Body::new(&problem.items[p.item].shape.posed(p.pose));
    let Some(k) = layout.placed.iter().position(|p| p.item == item) else {
        return;
    };
    let own = layout.placed[k];
    let others: Vec<Body> = layout
        .placed
        .iter()
        .filter(|p| p.item != item && p.sheet == own.sheet)
        .map(body)
        .collect();
    let sheets: Vec<Body> = problem.stock[own.sheet.stock]
        .region
        .iter()
        .map(Body::new)
        .collect();
    let mut best: Option<(usize, Placed)> = None;
    for (dx, dy) in [
        (-1, 0),
        (0, -1),
        (1, 0),
        (0, 1),
        (-1, -1),
        (1, -1),
        (-1, 1),
        (1, 1),
    ] {
        let mut moved = own;
        moved.pose.shift = Point::new(
            digits(own.pose.shift.x + f64::from(dx) * DIGIT),
            digits(own.pose.shift.y + f64::from(dy) * DIGIT),
        );
        let at = body(&moved);
        let near = others
            .iter()
            .filter(|o| !apart(&at, o, problem.spacing))
            .count()
            + usize::from(!sheets.iter().any(|s| inside(&at, s, problem.edge_margin)));
        if best.as_ref().is_none_or(|b| near < b.0) {
            best = Some((near, moved));
        }
    }
    if let Some((_, moved)) = best {
        layout.placed[k] = moved;
    }
}
