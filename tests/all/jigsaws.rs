//! Pieces that fill a sheet as a jigsaw does are found: straight and round edges, any turn, spacing, sheets of any shape.
//!
//! The sheets are cut here, so a layout without waste is known to exist. `tests/outside/jigsaw.py` does the same through the
//! command line, with more pieces and more kinds, and has plans judged by a checker that shares nothing with the project.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::f64::consts::PI;
use std::fmt::Write as _;
use std::path::Path;

use seamwright::geometry::edge::{Edge, SourceId};
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::geometry::transform::{Pose, Rotation};
use seamwright::model::cutter::Turns;
use seamwright::model::nesting::{Item, Layout, Problem, SheetUse, Stock};
use seamwright::nest;
use seamwright::nest::seed::Draws;

use crate::program::{err, run};

const S: SourceId = SourceId(0);
/// Rounds of 60,000 looks that a search may take; most need one.
const ROUNDS: u64 = 20;

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// The two parts of a convex polygon, cut by the line through a point.
fn halves(points: &[Point], at: Point, angle: f64) -> [Vec<Point>; 2] {
    let normal = Point::at_angle(angle).left();
    let mut parts = [Vec::new(), Vec::new()];
    for (k, &a) in points.iter().enumerate() {
        let b = points[(k + 1) % points.len()];
        let (s, t) = ((a - at).dot(normal), (b - at).dot(normal));
        parts[usize::from(s < 0.0)].push(a);
        if (s < 0.0) != (t < 0.0) {
            let cut = a.toward(b, s / (s - t));
            parts.iter_mut().for_each(|part| part.push(cut));
        }
    }
    parts
}

/// No edge under 12 mm, no angle under 20° or over 165°.
fn is_sound(points: &[Point]) -> bool {
    let n = points.len();
    n >= 3
        && (0..n).all(|k| {
            let (a, b, c) = (points[(k + n - 1) % n], points[k], points[(k + 1) % n]);
            let turn = (c - b).unit().dot((a - b).unit()).acos();
            a.distance(b) >= 12.0 && turn > PI / 9.0 && turn < PI * 165.0 / 180.0
        })
}

/// So many convex polygons that fill a convex one.
fn cut(sheet: &[Point], n: usize, draws: &mut Draws) -> Vec<Vec<Point>> {
    let mut pieces = vec![sheet.to_vec()];
    while pieces.len() < n {
        let k = draws.below(pieces.len());
        let corner = |d: &mut Draws| pieces[k][d.below(pieces[k].len())];
        let (a, b) = (corner(draws), corner(draws));
        let parts = halves(&pieces[k], a.toward(b, draws.unit()), PI * draws.unit());
        if parts.iter().all(|part| is_sound(part)) {
            pieces.splice(k..=k, parts);
        }
    }
    pieces
}

fn polygon(points: &[Point]) -> Region {
    Region::solid(Ring::polygon(points, S).unwrap())
}

/// A polygon drawn in by 1.
fn drawn_in(q: &[Point]) -> Region {
    let n = q.len();
    let moved: Vec<Point> = (0..n)
        .map(|k| {
            let (a, b) = (
                (q[k] - q[(k + n - 1) % n]).unit().left(),
                (q[(k + 1) % n] - q[k]).unit().left(),
            );
            q[k] + (a + b) * (1.0 / (1.0 + a.dot(b)))
        })
        .collect();
    polygon(&moved)
}

/// The problem of pieces, each turned at random about the origin, on one sheet.
fn problem(pieces: &[Region], sheet: Region, turns: Turns, draws: &mut Draws) -> Problem {
    let items = pieces.iter().enumerate().map(|(kind, piece)| {
        let deg = match turns {
            Turns::None => 0.0,
            Turns::Any => 360.0 * draws.unit(),
            _ => 90.0 * draws.below(4) as f64,
        };
        let turned = piece.posed(Pose {
            rotation: Rotation::from_degrees(deg),
            ..Pose::IDENTITY
        });
        Item {
            nominal_area_mm2: turned.area_mm2(),
            shape: turned,
            kind,
            class: 0,
            turns,
            grain: None,
            fill: false,
        }
    });
    Problem {
        items: items.collect(),
        stock: vec![Stock {
            usable_length: sheet.bounds().width(),
            region: vec![sheet],
            class: 0,
            quantity: 1,
            cost: 10.0,
            by_length: None,
            grain: None,
        }],
        spacing: 0.0,
        edge_margin: 0.0,
        flip: false,
        remnant: [100.0, 100.0],
    }
}

fn box_of(w: f64, d: f64) -> Vec<Point> {
    vec![p(0.0, 0.0), p(w, 0.0), p(w, d), p(0.0, d)]
}

fn searched(problem: &Problem) -> Option<Layout> {
    let mut jigsaw = nest::Jigsaw::new();
    (1..=ROUNDS).find_map(|round| jigsaw.round(problem, f64::INFINITY, [1, 0, round]))
}

/// A layout of every item, certified.
fn is_found(problem: &Problem, what: &str) {
    let found = searched(problem);
    let found = found.unwrap_or_else(|| panic!("{what}: no layout"));
    assert_eq!(found.placed.len(), problem.items.len(), "{what}");
    let faults = nest::certify(problem, &found).map_err(|c| c.len());
    assert_eq!(faults, Ok(()), "{what}");
    assert_eq!(
        Some(found.placed),
        searched(problem).map(|l| l.placed),
        "{what}: again"
    );
}

#[test]
fn straight_pieces_turned_by_quarters_fill_their_sheet() {
    for (seed, n) in [(1, 5), (2, 8), (3, 11), (4, 14)] {
        let mut draws = Draws::new([seed, 0, 0]);
        let pieces: Vec<Region> = cut(&box_of(300.0, 210.0), n, &mut draws)
            .iter()
            .map(|q| polygon(q))
            .collect();
        let problem = problem(
            &pieces,
            polygon(&box_of(300.0, 210.0)),
            Turns::Quarter,
            &mut draws,
        );
        is_found(&problem, &format!("{n} pieces"));
    }
}

#[test]
fn pieces_of_any_turn_fill_a_sheet_with_little_to_spare() {
    for (seed, n, spare) in [(5, 5, 0.0), (6, 7, 0.2), (7, 8, 3.0)] {
        let mut draws = Draws::new([seed, 0, 0]);
        let pieces: Vec<Region> = cut(&box_of(300.0, 210.0), n, &mut draws)
            .iter()
            .map(|q| polygon(q))
            .collect();
        let sheet = polygon(&box_of(300.0 + spare, 210.0 + spare));
        is_found(
            &problem(&pieces, sheet, Turns::Any, &mut draws),
            &format!("{spare} to spare"),
        );
    }
}

#[test]
fn a_little_room_that_differs_both_ways_is_shared_out() {
    // 0.1 along and 0.3 across: no corner of the sheet holds all pieces close together at once but by luck.
    let mut draws = Draws::new([8, 0, 0]);
    let pieces: Vec<Region> = cut(&box_of(300.0, 210.0), 7, &mut draws)
        .iter()
        .map(|q| polygon(q))
        .collect();
    let sheet = polygon(&box_of(300.1, 210.3));
    is_found(
        &problem(&pieces, sheet, Turns::Quarter, &mut draws),
        "0.1 and 0.3",
    );
}

#[test]
fn spacing_and_margin_lie_between_the_pieces_of_a_jigsaw() {
    let mut draws = Draws::new([9, 0, 0]);
    // Every cell is drawn in by 1; the sheet's edge lies 3 outside of the cells: spacing 2, margin 4.
    let pieces: Vec<Region> = cut(&box_of(300.0, 210.0), 8, &mut draws)
        .iter()
        .map(|q| drawn_in(q))
        .collect();
    let problem = Problem {
        spacing: 2.0,
        edge_margin: 4.0,
        ..problem(
            &pieces,
            polygon(&box_of(306.0, 216.0)),
            Turns::Quarter,
            &mut draws,
        )
    };
    is_found(&problem, "spacing 2");
}

#[test]
fn round_edges_meet_round_edges() {
    // A box with a wavy cut along and a straight one across each half: corners of 90° and what the arcs make of them.
    let line = |a: Point, b: Point| Edge::line(a, b, S);
    let (w, d) = (240.0, 150.0);
    let (a, b, c) = (p(0.0, 80.0), p(130.0, 70.0), p(w, 95.0));
    let wave = [
        Edge::from_bulge(a, b, 0.3, S),
        Edge::from_bulge(b, c, -0.25, S),
    ];
    let (low, high) = (p(130.0, 0.0), p(110.0, d));
    let pieces: Vec<Region> = [
        vec![
            line(p(0.0, 0.0), low),
            line(low, b),
            wave[0].reversed(),
            line(a, p(0.0, 0.0)),
        ],
        vec![
            line(low, p(w, 0.0)),
            line(p(w, 0.0), c),
            wave[1].reversed(),
            line(b, low),
        ],
        vec![
            wave[0],
            line(b, high),
            line(high, p(0.0, d)),
            line(p(0.0, d), a),
        ],
        vec![
            wave[1],
            line(c, p(w, d)),
            line(p(w, d), high),
            line(high, b),
        ],
    ]
    .into_iter()
    .map(|edges| Region::solid(Ring::new(edges).unwrap()))
    .collect();
    for (turns, spare) in [
        (Turns::Quarter, 0.0),
        (Turns::Quarter, 0.05),
        (Turns::Any, 0.05),
    ] {
        let mut draws = Draws::new([10, 0, 0]);
        let sheet = polygon(&box_of(w + spare, d + spare));
        is_found(
            &problem(&pieces, sheet, turns, &mut draws),
            &format!("{turns:?} {spare}"),
        );
    }
}

#[test]
fn a_sheet_with_a_notch_and_copies_of_one_shape_is_filled() {
    // An ell of three squares of 60, each cut along a diagonal into two equal triangles: six copies of one kind.
    let ell = [
        p(0.0, 0.0),
        p(120.0, 0.0),
        p(120.0, 60.0),
        p(60.0, 60.0),
        p(60.0, 120.0),
        p(0.0, 120.0),
    ];
    let half = polygon(&[p(0.0, 0.0), p(60.0, 0.0), p(0.0, 60.0)]);
    let mut draws = Draws::new([11, 0, 0]);
    let mut problem = problem(&vec![half; 6], polygon(&ell), Turns::Quarter, &mut draws);
    let first = problem.items[0].clone();
    problem.items.fill(first);
    is_found(&problem, "ell");
}

#[test]
fn a_published_jigsaw_is_met_exactly_on_a_roll() {
    // dighe1: sixteen pieces that fill 100 × 100, not turned (fixtures/nesting names the source).
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/nesting/dighe1.json");
    let data: serde_json::Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let pieces: Vec<Region> = data["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|i| {
            let outline = i["outline"].as_array().unwrap();
            let points: Vec<Point> = outline
                .iter()
                .map(|q| p(q[0].as_f64().unwrap(), q[1].as_f64().unwrap()))
                .collect();
            polygon(&points)
        })
        .collect();
    let mut problem = problem(
        &pieces,
        polygon(&box_of(400.0, 100.0)),
        Turns::None,
        &mut Draws::new([12, 0, 0]),
    );
    problem.stock[0].by_length = Some(400.0);
    let found = searched(&problem).unwrap();
    let used = nest::used_length(
        &problem,
        &found,
        SheetUse {
            stock: 0,
            number: 0,
        },
    );
    assert!(
        (used - 100.0).abs() < 2e-6,
        "area ÷ width = 100, found {used}"
    );
}

#[test]
fn pieces_that_cannot_fill_their_sheet_end_the_search() {
    // Two triangles of 59°, 60° and 61° have the area of a rectangle, and none of its corners.
    let a = polygon(&[p(0.0, 0.0), p(100.0, 0.0), p(50.0, 87.0)]);
    let area = 2.0 * a.area_mm2();
    let sheet = polygon(&box_of(area / 80.0, 80.0));
    let problem = problem(
        &[a.clone(), a],
        sheet,
        Turns::Quarter,
        &mut Draws::new([13, 0, 0]),
    );
    let mut jigsaw = nest::Jigsaw::new();
    assert!(jigsaw.round(&problem, f64::INFINITY, [1, 0, 1]).is_none());
    assert!(jigsaw.is_over());
}

#[test]
fn a_jigsaw_is_planned_the_same_by_any_number_of_threads() {
    let room = tempfile::tempdir().unwrap();
    let mut draws = Draws::new([14, 0, 0]);
    let mut job = "stock = \"stock.toml\"\n[cutter]\nkind = \"laser\"\nkerf = 0\nspacing = 0\nedge_margin = 0\n".to_owned();
    for (k, piece) in cut(&box_of(300.0, 210.0), 9, &mut draws).iter().enumerate() {
        let path: Vec<String> = piece.iter().map(|q| format!("{} {}", q.x, q.y)).collect();
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"210mm\" viewBox=\"0 0 300 210\"><path d=\"M {} Z\" fill=\"none\" stroke=\"black\"/></svg>",
            path.join(" L ")
        );
        std::fs::write(room.path().join(format!("piece{k}.svg")), text).unwrap();
        writeln!(job, "[[part]]\nname = \"piece{k}\"\nmaterial = \"felt\"\nthickness = 2\ndrawing = \"piece{k}.svg\"\nturns = \"any\"").unwrap();
    }
    job += "[marks]\nlabels = false\n[search]\nlanes = 3\n";
    std::fs::write(room.path().join("job.toml"), job).unwrap();
    let stock =
        "[[sheet]]\nid = \"sheet\"\nmaterial = \"felt\"\nthickness = 2\nsize = [300, 210]\n";
    std::fs::write(room.path().join("stock.toml"), stock).unwrap();
    let plan = |threads: &str| {
        let out = format!("out{threads}");
        let done = run(
            room.path(),
            &["plan", ".", "-o", &out, "--rounds", "3"],
            threads,
        );
        assert!(done.status.success(), "{}", err(&done));
        std::fs::read(room.path().join(out).join("plan.json")).unwrap()
    };
    let one = plan("1");
    for threads in ["2", "7"] {
        assert!(one == plan(threads), "{threads} threads");
    }
}

#[test]
fn pieces_cut_from_several_sheets_fill_as_many_again() {
    for (seed, sheets, n) in [(15, 2, 9), (16, 3, 7), (17, 5, 4)] {
        let mut draws = Draws::new([seed, 0, 0]);
        let pieces: Vec<Region> = (0..sheets)
            .flat_map(|_| cut(&box_of(300.0, 210.0), n, &mut draws))
            .map(|q| polygon(&q))
            .collect();
        let sheet = polygon(&box_of(300.0, 210.0));
        let mut problem = problem(&pieces, sheet, Turns::Quarter, &mut draws);
        problem.stock[0].quantity = sheets + 2;
        is_found(&problem, &format!("{n} pieces of each of {sheets} sheets"));
        let found = searched(&problem).unwrap();
        let last = found.placed.iter().map(|p| p.sheet.number).max();
        assert_eq!(
            last,
            Some(sheets - 1),
            "so many sheets were cut, without waste"
        );
    }
}

#[test]
fn spacing_lies_between_the_pieces_of_two_sheets() {
    let mut draws = Draws::new([18, 0, 0]);
    let pieces: Vec<Region> = (0..2)
        .flat_map(|_| cut(&box_of(300.0, 210.0), 7, &mut draws))
        .map(|q| drawn_in(&q))
        .collect();
    let sheet = polygon(&box_of(306.0, 216.0));
    let mut problem = Problem {
        spacing: 2.0,
        edge_margin: 4.0,
        ..problem(&pieces, sheet, Turns::Quarter, &mut draws)
    };
    problem.stock[0].quantity = 2;
    is_found(&problem, "spacing 2, two sheets");
}

/// Source: Terashima-Marín et al. 2010, set TN001 (`fixtures/nesting`): 60 pieces that were cut from two squares.
#[test]
fn a_published_jigsaw_of_two_sheets_is_met() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/nesting/terashima1_tn001.json");
    let data: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let points = |outline: &serde_json::Value| -> Vec<Point> {
        let corners = outline.as_array().unwrap().iter();
        corners
            .map(|c| p(c[0].as_f64().unwrap(), c[1].as_f64().unwrap()))
            .collect()
    };
    let pieces: Vec<Region> = data["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|i| polygon(&points(&i["outline"])))
        .collect();
    assert_eq!(pieces.len(), 60, "as published");
    let sheet = polygon(&points(&data["containers"][0]["outline"]));
    let mut draws = Draws::new([19, 0, 0]);
    let mut problem = problem(&pieces, sheet, Turns::Quarter, &mut draws);
    problem.stock[0].quantity = 60;
    is_found(&problem, "TN001");
    let known = data["known_optimum"]["containers"].as_u64().unwrap() as usize;
    let found = searched(&problem).unwrap();
    let used = found.placed.iter().map(|p| p.sheet.number).max().unwrap() + 1;
    assert_eq!(used, known, "the number of squares that were cut");
}
