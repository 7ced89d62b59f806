//! Pieces shifted all at once, while every two parts stay on the sides of one another on which they are: a linear program.
//!
//! In: an arrangement, which may overlap. Out: the same pieces turned as before, shifted by little.
//!
//! Of two convex parts one lies beyond the edge of their sum from which it is farthest away (or in which it is least deep);
//! where that is asked to stay so, a shift is bound by one half plane for every two parts that are near. With all pieces
//! and the length as small as can be this is compaction of a layout that holds, and of one that nearly held it finds out at which
//! length it would. With the pieces that overlap and those about them, on a strip as long as it is, it loosens jams in
//! which no piece alone can move.
//!
//! What is left of an overlap is paid for by depth, dearer the less deep it was: a program puts up with few deep overlaps
//! rather than with many small ones, as severities do, and leaves alone what does not overlap yet.
//!
//! Source: separation and compaction by linear programs over fixed sides is common practice (translational compaction);
//! prices that follow a concave function's slope likewise.

use std::ops::ControlFlow;

use crate::geometry::point::Point;
use crate::nest::loosen::arrangement::{Arrangement, Spot};
use crate::nest::loosen::ground::Ground;
use crate::nest::loosen::pass::held;
use crate::nest::loosen::program::{Program, Row};
use crate::nest::seed::Draws;

/// How far a piece may be shifted along an axis by one program, in roots of the pieces' mean area.
const REACH: f64 = 0.25;
/// The same where pieces only give way, and how many rings of pieces about those that overlap do.
const NEARBY: f64 = 0.1;
const RINGS: usize = 2;
/// Pieces that are shifted at once, at the most: a program of twice as many takes eight times as long.
const MOST_AT_ONCE: usize = 150;
/// Programs that are solved one after the other, each from where the one before led.
const PROGRAMS: usize = 4;
/// What a mm of overlap costs, in mm of length.
const PRICE: f64 = 30.0;
/// Overlaps that are resolved or nearly so are dear, deep ones less so: a mm costs as the slope of a root. This much, in
/// reaches, keeps that finite.
const EVEN: f64 = 0.05;
/// What shifts cost, in mm of length, so that what does not matter is put to the left.
const SHIFT: f64 = 1e-4;
/// Shifts are written in whole millionths, so that two of them may differ by 1.4e-6 square to a slanting edge; less what
/// counts as touching.
const SLANTING: f64 = 8e-7;

/// Shortens an arrangement, at most to the length where its slot ends; whether it holds then. `asked` counts effort
/// in prices.
pub(super) fn tighten(
    a: &mut Arrangement,
    ground: &Ground,
    draws: &mut Draws,
    asked: &mut u64,
) -> bool {
    if a.len() > MOST_AT_ONCE {
        return false;
    }
    let all: Vec<usize> = (0..a.len()).collect();
    let reach = REACH * size(a, ground);
    let mut last = f64::INFINITY;
    for _ in 0..PROGRAMS {
        let length = shift(a, ground, (&all, reach), draws, asked);
        if last - length < 1e-5 * length {
            break;
        }
        last = length;
    }
    a.total() <= 0.0
}

/// Lets the pieces that overlap, and those about them, give way to one another all at once.
pub(super) fn give_way(a: &mut Arrangement, ground: &Ground, draws: &mut Draws, asked: &mut u64) {
    let reach = NEARBY * size(a, ground);
    let mobile = about(a, RINGS, 2.0 * reach);
    if mobile.len() > MOST_AT_ONCE {
        *asked += a.len() as u64;
        return;
    }
    shift(a, ground, (&mobile, reach), draws, asked);
}

/// The root of the pieces' mean area.
fn size(a: &Arrangement, ground: &Ground) -> f64 {
    let area: f64 = a.items.iter().map(|&i| ground.areas[i]).sum();
    (area / a.len() as f64).sqrt()
}

/// Pieces that overlap, those near them, those near these, and so on.
fn about(a: &Arrangement, rings: usize, near: f64) -> Vec<usize> {
    let n = a.len();
    let mut is_in: Vec<bool> = (0..n).map(|i| a.overlaps(i)).collect();
    let mut edge: Vec<usize> = (0..n).filter(|&i| is_in[i]).collect();
    for _ in 0..rings {
        let mut next = Vec::new();
        for i in edge {
            a.near(a.boxes[i].grown(near), |j| {
                if !is_in[j] && a.boxes[i].grown(near).touches(a.boxes[j]) {
                    is_in[j] = true;
                    next.push(j);
                }
                ControlFlow::Continue(())
            });
        }
        edge = next;
    }
    (0..n).filter(|&i| is_in[i]).collect()
}

/// Solves one program and shifts the pieces; the length it found.
fn shift(
    a: &mut Arrangement,
    ground: &Ground,
    (mobile, reach): (&[usize], f64),
    draws: &mut Draws,
    asked: &mut u64,
) -> f64 {
    let program = made(a, ground, (mobile, reach), draws);
    let n = program.cost.len();
    let (x, steps) = program.solve(6 * n + 100);
    *asked += (steps * (n * n / 3 + 6 * program.rows.len()) / 600) as u64;
    for (k, &i) in mobile.iter().enumerate() {
        let spot = a.spots[i];
        let at = spot.at + Point::new(x[2 * k], x[2 * k + 1]);
        if let Some(spot) = held(a, ground, Spot { at, ..spot }) {
            a.spots[i] = spot;
        }
    }
    a.measure(ground);
    x[n - 1]
}

/// The program of an arrangement: shifts of mobile pieces along x and y, then the length.
fn made(
    a: &Arrangement,
    ground: &Ground,
    (mobile, reach): (&[usize], f64),
    draws: &mut Draws,
) -> Program {
    let n = mobile.len();
    let room = a.slots[0].room;
    let right = a.boxes.iter().map(|b| b.max.x).fold(room.min.x, f64::max);
    let up = if draws.chance(0.5) { SHIFT } else { -SHIFT } / n as f64;
    let mut program = Program {
        cost: vec![1.0; 2 * n + 1],
        low: vec![0.0; 2 * n + 1],
        high: vec![0.0; 2 * n + 1],
        rows: Vec::new(),
    };
    let mut place = vec![None; a.len()];
    program.low[2 * n] = right - room.min.x - reach;
    program.high[2 * n] = (room.max.x - room.min.x).max(right - room.min.x);
    for (k, &i) in mobile.iter().enumerate() {
        place[i] = Some(k);
        let b = a.boxes[i];
        program.cost[2 * k] = SHIFT / n as f64 * (1.0 + 0.1 * draws.unit());
        program.cost[2 * k + 1] = up * (1.0 + 0.1 * draws.unit());
        let low = room.min - b.min;
        let high = room.max - b.max;
        program.low[2 * k] = low.x.max(-reach).min(0.0);
        program.low[2 * k + 1] = low.y.max(-reach).min(0.0);
        program.high[2 * k] = high.x.min(reach).max(0.0);
        program.high[2 * k + 1] = high.y.min(reach).max(0.0);
        if b.max.x > right - 2.0 * reach {
            program.rows.push(Row {
                terms: [(2 * n, 1.0), (2 * k, -1.0), (0, 0.0), (0, 0.0)],
                least: b.max.x - room.min.x,
                price: f64::INFINITY,
            });
        }
    }
    for (i, b) in a.boxes.iter().enumerate() {
        if place[i].is_none() {
            program.low[2 * n] = program.low[2 * n].max(b.max.x - room.min.x);
        }
    }
    for &i in mobile {
        let (spot, own) = (a.spots[i], a.boxes[i].grown(2.0 * reach));
        let mut keep = |way, at: Point, other: usize| {
            let weight = PRICE * a.weight(i, other);
            let beyond = (way, spot.way, spot.at - at, 3.0 * reach);
            ground.table.beyond(beyond, |normal, gap| {
                let pieces = [place[i], place[other].filter(|_| other != i)];
                let price = weight / (EVEN + (-gap).max(0.0) / reach).sqrt();
                program.rows.push(row(pieces, normal, gap, price));
            });
        };
        a.near(own, |j| {
            if j != i && (j < i || place[j].is_none()) && own.touches(a.boxes[j]) {
                keep(a.spots[j].way, a.spots[j].at, j);
            }
            ControlFlow::Continue(())
        });
        let slot = &a.slots[spot.slot];
        if let Some(bar) = ground.boards[slot.sheet.stock].bar {
            keep(bar, slot.offset, i);
        }
    }
    program
}

/// Asks the first of two pieces to stay beyond an edge of the second, from which it is so far now; what is not mobile
/// lies still.
fn row(pieces: [Option<usize>; 2], normal: Point, gap: f64, price: f64) -> Row {
    let is_slanting = normal.x.abs() > 1e-9 && normal.y.abs() > 1e-9;
    let [own, other] = pieces.map(|k| k.map_or((0, 0.0), |k| (2 * k, 1.0)));
    Row {
        terms: [
            (own.0, own.1 * normal.x),
            (own.0 + 1, own.1 * normal.y),
            (other.0, -other.1 * normal.x),
            (other.0 + 1, -other.1 * normal.y),
        ],
        least: if is_slanting { SLANTING } else { 0.0 } - gap,
        price,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::bounds::Bounds;
    use crate::geometry::edge::SourceId;
    use crate::geometry::region::Region;
    use crate::geometry::ring::Ring;
    use crate::model::cutter::Turns;
    use crate::model::nesting::{Item, Problem, SheetUse, Stock};
    use crate::nest::loosen::arrangement::Slot;

    /// Shifts are written in whole millionths, and TOUCH counts as touching.
    const WRITTEN: f64 = 2e-6;

    fn block(w: f64, d: f64) -> Region {
        let b = Bounds::new(Point::new(0.0, 0.0), Point::new(w, d));
        Region::solid(Ring::rounded_box(b, 0.0, SourceId(0)))
    }

    /// Squares with sides of 40 on a strip 400 long, with their front-left corners there.
    fn squares(depth: f64, corners: &[(f64, f64)]) -> (Arrangement, Ground) {
        let item = Item {
            shape: block(40.0, 40.0),
            nominal_area_mm2: 1600.0,
            kind: 0,
            class: 0,
            turns: Turns::None,
            grain: None,
            fill: false,
        };
        let problem = Problem {
            items: vec![item; corners.len()],
            stock: vec![Stock {
                region: vec![block(400.0, depth)],
                class: 0,
                quantity: 1,
                cost: 400.0,
                by_length: Some(400.0),
                usable_length: 400.0,
                grain: None,
            }],
            spacing: 0.0,
            edge_margin: 0.0,
            flip: false,
            remnant: [100.0, 100.0],
        };
        let ground = Ground::new(&problem).unwrap();
        let slot = Slot {
            sheet: SheetUse {
                stock: 0,
                number: 0,
            },
            offset: Point::new(0.0, 0.0),
            room: ground.boards[0].room,
        };
        let way = ground.boards[0].ways[0].0;
        let spot = |&(x, y): &(f64, f64)| Spot {
            way,
            slot: 0,
            at: Point::new(x, y),
        };
        let spots = corners.iter().map(spot).collect();
        let items = (0..corners.len()).collect();
        let a = Arrangement::new(items, vec![slot], spots, &ground);
        (a, ground)
    }

    fn assert_at(a: &Arrangement, i: usize, x: f64, y: f64) {
        let at = a.spots[i].at;
        assert!(
            (at.x - x).abs() <= WRITTEN && (at.y - y).abs() <= WRITTEN,
            "{i} by hand at {x}, {y}, got {at:?}"
        );
    }

    #[test]
    fn squares_apart_are_pushed_together_and_end_in_contact() {
        // By hand: the first goes to the end of the strip, the second to its side, 40 from there: 80 long. One program shifts
        // by 10 at the most, so it takes three.
        let (mut a, ground) = squares(100.0, &[(6.0, 10.0), (61.0, 25.0)]);
        let holds = tighten(&mut a, &ground, &mut Draws::new([1, 2, 3]), &mut 0);
        assert!(holds, "{} overlap", a.total());
        let x = [a.spots[0].at.x, a.spots[1].at.x];
        assert!(x[0].abs() <= WRITTEN, "{x:?}");
        assert!((x[1] - 40.0).abs() <= WRITTEN, "{x:?}");
    }

    #[test]
    fn what_is_locked_stays_while_another_one_comes_to_it() {
        // A strip as deep as the squares: two fill its beginning, the third is 15 off.
        let (mut a, ground) = squares(40.0, &[(0.0, 0.0), (40.0, 0.0), (95.0, 0.0)]);
        let mut asked = 0;
        let holds = tighten(&mut a, &ground, &mut Draws::new([1, 2, 3]), &mut asked);
        assert!(holds && asked < 1000, "{asked} asked");
        for (i, x) in [0.0, 40.0, 80.0].into_iter().enumerate() {
            assert_at(&a, i, x, 0.0);
        }
    }

    #[test]
    fn an_overlap_is_given_way_to_by_as_much_as_it_is_deep() {
        // 2 deep against a square at the strip's end; the third lies farther off than twice the reach of 4.
        let (mut a, ground) = squares(40.0, &[(0.0, 0.0), (38.0, 0.0), (90.0, 0.0)]);
        assert!(a.total() > 0.0);
        give_way(&mut a, &ground, &mut Draws::new([1, 2, 3]), &mut 0);
        assert_eq!(a.total(), 0.0);
        assert_at(&a, 0, 0.0, 0.0);
        assert_at(&a, 1, 40.0, 0.0);
        assert_eq!(a.spots[2].at, Point::new(90.0, 0.0), "it was not concerned");
    }

    #[test]
    fn a_deep_overlap_is_lessened_by_the_reach() {
        // 20 deep: a tenth of a root of the mean area is 4, and a mm of depth is dearer than one of length.
        let (mut a, ground) = squares(40.0, &[(0.0, 0.0), (20.0, 0.0)]);
        let before = a.total();
        give_way(&mut a, &ground, &mut Draws::new([1, 2, 3]), &mut 0);
        assert!(0.0 < a.total() && a.total() < before);
        assert_at(&a, 0, 0.0, 0.0);
        assert_at(&a, 1, 24.0, 0.0);
    }
}
