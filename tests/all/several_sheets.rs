//! Several sheets: what lies loosely on many is brought together on fewer and cheaper ones, certified, and the same every time.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::sync::Arc;

use seamwright::geometry::bounds::Bounds;
use seamwright::geometry::edge::SourceId;
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::model::cutter::Turns;
use seamwright::model::nesting::{Item, Layout, Outcome, Placed, Problem, SheetUse, Stock};
use seamwright::nest;

fn rectangle(w: f64, d: f64) -> Region {
    Region::solid(Ring::rounded_box(
        Bounds::new(Point::new(0.0, 0.0), Point::new(w, d)),
        0.0,
        SourceId(0),
    ))
}

fn item(shape: Region, kind: usize) -> Item {
    Item {
        nominal_area_mm2: shape.area_mm2(),
        shape,
        kind,
        class: 0,
        turns: Turns::Quarter,
        grain: None,
        fill: false,
    }
}

fn stock(w: f64, d: f64, quantity: usize, cost: f64) -> Stock {
    Stock {
        region: vec![rectangle(w, d)],
        class: 0,
        quantity,
        cost,
        by_length: None,
        usable_length: w,
        grain: None,
    }
}

/// Twelve triangles, twelve bars and twelve discs, for sheets at 3 and offcuts at 1.
fn job() -> Problem {
    let triangle = Ring::polygon(
        &[
            Point::new(0.0, 0.0),
            Point::new(70.0, 0.0),
            Point::new(10.0, 50.0),
        ],
        SourceId(0),
    );
    let triangle = Region::solid(triangle.unwrap());
    let disc = Region::solid(Ring::circle(Point::new(20.0, 20.0), 20.0, SourceId(0)));
    let mut items = Vec::new();
    for _ in 0..12 {
        items.push(item(triangle.clone(), 0));
        items.push(item(rectangle(90.0, 22.0), 1));
        items.push(item(disc.clone(), 2));
    }
    Problem {
        items,
        stock: vec![stock(300.0, 200.0, 9, 3.0), stock(180.0, 120.0, 2, 1.0)],
        spacing: 2.0,
        edge_margin: 5.0,
        flip: false,
        remnant: [100.0, 100.0],
    }
}

/// A third of the items on a full sheet each: three half empty sheets.
fn loose(problem: &Problem) -> Layout {
    let mut placed = Vec::new();
    for number in 0..3 {
        let own: Vec<usize> = (0..problem.items.len())
            .filter(|k| k / 3 % 3 == number)
            .collect();
        let part = Problem {
            items: own.iter().map(|&k| problem.items[k].clone()).collect(),
            stock: vec![problem.stock[0].clone()],
            ..*problem
        };
        let Outcome::Placed(found) = nest::construct_best(&part, 0) else {
            panic!("a sheet is room enough for a third");
        };
        placed.extend(found.placed.iter().map(|p| Placed {
            item: own[p.item],
            sheet: SheetUse { stock: 0, number },
            pose: p.pose,
        }));
    }
    placed.sort_by_key(|p| p.item);
    Layout { placed }
}

fn regrouped(problem: &Problem, from: &Layout, whole: bool, rounds: u64) -> Layout {
    let market = nest::Market::new(problem);
    let ground = whole
        .then(|| nest::Ground::new(problem).map(Arc::new))
        .flatten();
    let mut lane = nest::Regrouping::new();
    let mut best = from.clone();
    for round in 1..=rounds {
        if let Some(found) = lane.round(
            &market,
            ground.as_ref(),
            problem,
            &best,
            ([1, 0, round], &|| false),
        ) {
            let (before, after) = (nest::cost(problem, &best), nest::cost(problem, &found));
            assert!(
                after < before - 1e-9,
                "round {round}: {after} after {before}"
            );
            best = found;
        }
    }
    best
}

#[test]
fn half_empty_sheets_are_brought_together() {
    let problem = job();
    let from = loose(&problem);
    assert!(nest::certify(&problem, &from).is_ok());
    assert!(
        (nest::cost(&problem, &from) - 9.0).abs() < 1e-12,
        "three sheets at 3"
    );
    let rounds = if cfg!(debug_assertions) { 4 } else { 6 };
    let found = regrouped(&problem, &from, true, rounds);
    assert_eq!(nest::certify(&problem, &found).map_err(|c| c.len()), Ok(()));
    // By hand: 12 · (1750 + 1980 + 1257) = 59,800 mm² of material; one sheet has 55,100 within its margins, one and an offcut 73,800. So 3 + 1
    // is the least that can be; what is asked is one sheet fewer, and 4 or 5 was found when this was written.
    let cost = nest::cost(&problem, &found);
    assert!((4.0..=6.0).contains(&cost), "{cost}");
    assert_eq!(
        regrouped(&problem, &from, true, rounds).placed,
        found.placed,
        "a function of its arguments"
    );
}

#[test]
fn a_group_with_a_ground_of_its_own_is_brought_together_too() {
    let problem = job();
    let from = loose(&problem);
    // An attempt that fails takes a round and a half.
    let found = regrouped(&problem, &from, false, 4);
    assert_eq!(nest::certify(&problem, &found).map_err(|c| c.len()), Ok(()));
    assert!(nest::cost(&problem, &found) <= 6.0 + 1e-9);
}

#[test]
fn three_offcuts_take_the_place_of_one_dear_sheet() {
    // Two bars fill each offcut of its own breadth but for the spacing; no two offcuts have the area of all: 2 · 170 · (60 + 50 + 40) = 51,000 mm², the
    // offcuts 22,320 + 18,620 + 14,960.
    let breadths = [60.0, 50.0, 40.0];
    let items = breadths
        .iter()
        .enumerate()
        .flat_map(|(kind, &b)| {
            [
                item(rectangle(170.0, b), kind),
                item(rectangle(170.0, b), kind),
            ]
        })
        .collect();
    let mut sheets = vec![stock(400.0, 300.0, 1, 36.0)];
    sheets.extend(breadths.map(|b| stock(180.0, 2.0 * b + 4.0, 1, 5.0)));
    let problem = Problem {
        items,
        stock: sheets,
        spacing: 2.0,
        edge_margin: 1.0,
        ..job()
    };
    let dear = Problem {
        stock: problem.stock[..1].to_vec(),
        ..problem.clone()
    };
    let Outcome::Placed(from) = nest::construct_best(&dear, 0) else {
        panic!("the dear sheet takes all");
    };
    assert!(nest::certify(&problem, &from).is_ok());
    let found = regrouped(
        &problem,
        &from,
        true,
        if cfg!(debug_assertions) { 4 } else { 12 },
    );
    assert_eq!(nest::certify(&problem, &found).map_err(|c| c.len()), Ok(()));
    assert!((nest::cost(&problem, &found) - 15.0).abs() < 1e-9);
}

/// Rectangles that fill a box but for `slack` both ways: the largest is cut in two, again and again, at a share of its longer
/// side; each keeps half the spacing to its rim.
fn boxes(sheet: [f64; 2], slack: f64, shares: &[f64]) -> Vec<Region> {
    let mut all = vec![sheet.map(|e| e - 2.0 * 3.0 + 2.0 - slack)];
    for share in shares {
        all.sort_by(|a, b| (a[0] * a[1]).total_cmp(&(b[0] * b[1])));
        let [w, d] = all.pop().unwrap();
        let cut = |e: f64| (e * share * 100.0).round() / 100.0;
        all.extend(if w >= d {
            [[cut(w), d], [w - cut(w), d]]
        } else {
            [[w, cut(d)], [w, d - cut(d)]]
        });
    }
    all.iter()
        .map(|b| rectangle(b[0] - 2.0, b[1] - 2.0))
        .collect()
}

#[test]
fn rectangles_find_the_offcuts_that_they_were_cut_from() {
    let cuts: [([f64; 2], &[f64]); 4] = [
        ([260.0, 190.0], &[0.37, 0.61, 0.44, 0.29, 0.52]),
        ([210.0, 170.0], &[0.58, 0.33, 0.47, 0.71]),
        ([230.0, 140.0], &[0.26, 0.66, 0.41]),
        ([180.0, 160.0], &[0.63, 0.38, 0.55, 0.31]),
    ];
    let shapes: Vec<Region> = cuts.iter().flat_map(|(s, by)| boxes(*s, 1.0, by)).collect();
    let mut stocks: Vec<Stock> = cuts
        .iter()
        .map(|([w, d], _)| stock(*w, *d, 1, w * d * 1e-4))
        .collect();
    // Near them lie others that would do, at more.
    stocks.extend([
        stock(250.0, 200.0, 1, 7.1),
        stock(220.0, 165.0, 1, 5.6),
        stock(600.0, 400.0, 2, 36.0),
    ]);
    let problem = Problem {
        items: shapes
            .into_iter()
            .enumerate()
            .map(|(k, s)| item(s, k))
            .collect(),
        stock: stocks,
        spacing: 2.0,
        edge_margin: 3.0,
        ..job()
    };
    let planted: f64 = problem.stock[..4].iter().map(|s| s.cost).sum();
    let mut search = nest::Jigsaw::new();
    let mut below = 36.0;
    for round in 0..400 {
        if below <= planted + 1e-9 {
            break;
        }
        if let Some(found) = search.round(&problem, below, [5, 0, round]) {
            nest::certify(&problem, &found).unwrap();
            below = nest::cost(&problem, &found);
        }
    }
    assert!(below <= planted + 1e-9, "{below}, not {planted}");
}
