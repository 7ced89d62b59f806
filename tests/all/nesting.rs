//! Nesting on published instances: known layouts are certified, spoilt ones are refused, no bound exceeds a known optimum.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::path::Path;

use seamwright::geometry::bounds::Bounds;
use seamwright::geometry::edge::SourceId;
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::geometry::transform::{Pose, Rotation};
use seamwright::model::cutter::{Axis, Cutter, CutterKind, Pace, Turns};
use seamwright::model::nesting::{Item, Layout, Outcome, Placed, Problem, SheetUse, Stock};
use seamwright::model::part::Part;
use seamwright::model::plan::SeamLimits;
use seamwright::model::progress::{Event, Watch};
use seamwright::model::seam::Bond;
use seamwright::model::sheet::Sheet;
use seamwright::nest;
use seamwright::planner::options::{Budget, Options};
use seamwright::planner::task::Task;
use seamwright::planner::{self, Planned};

struct Quiet;

impl Watch for Quiet {
    fn elapsed_s(&self) -> f64 {
        0.0
    }
    fn stop_asked(&self) -> bool {
        false
    }
    fn tell(&self, _: Event) {}
}

fn instance(name: &str) -> serde_json::Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/nesting")
        .join(format!("{name}.json"));
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn region(outline: &serde_json::Value) -> Region {
    let points: Vec<Point> = outline
        .as_array()
        .unwrap()
        .iter()
        .map(|p| Point::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect();
    Region::solid(Ring::polygon(&points, SourceId(0)).unwrap())
}

fn rectangle(w: f64, d: f64) -> Region {
    Region::solid(Ring::rounded_box(
        Bounds::new(Point::new(0.0, 0.0), Point::new(w, d)),
        0.0,
        SourceId(0),
    ))
}

fn item(shape: Region, kind: usize, turns: Turns) -> Item {
    Item {
        nominal_area_mm2: shape.area_mm2(),
        shape,
        kind,
        class: 0,
        turns,
        grain: None,
        fill: false,
    }
}

fn problem(items: Vec<Item>, sheet: Region, spacing: f64, edge_margin: f64) -> Problem {
    let length = sheet.bounds().width();
    let stock = Stock {
        region: vec![sheet],
        class: 0,
        quantity: 1,
        cost: 1.0,
        by_length: None,
        usable_length: length,
        grain: None,
    };
    Problem {
        items,
        stock: vec![stock],
        spacing,
        edge_margin,
        flip: false,
        remnant: [100.0, 100.0],
    }
}

fn at(item: usize, x: f64, y: f64) -> Placed {
    Placed {
        item,
        sheet: SheetUse {
            stock: 0,
            number: 0,
        },
        pose: Pose::shifted(Point::new(x, y)),
    }
}

/// A squared rectangle with its solution; `shrink` draws every square in by half of it and sets the spacing to it.
fn squared(name: &str, shrink: f64) -> (Problem, Layout) {
    let data = instance(name);
    let (length, width) = (
        data["known_optimum"]["length"].as_f64().unwrap(),
        data["strip_width"].as_f64().unwrap(),
    );
    // Squares of 1 would vanish; ten times as large they do not.
    let scale = 10.0;
    let items: Vec<Item> = data["items"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(k, i)| {
            let side = region(&i["outline"]).bounds().width() * scale - shrink;
            item(rectangle(side, side), k, Turns::None)
        })
        .collect();
    let places = data["known_optimum"]["placements"].as_array().unwrap();
    let placed = places
        .iter()
        .map(|p| {
            at(
                p[0].as_u64().unwrap() as usize,
                p[1].as_f64().unwrap() * scale + shrink / 2.0,
                p[2].as_f64().unwrap() * scale + shrink / 2.0,
            )
        })
        .collect();
    (
        problem(
            items,
            rectangle(length * scale, width * scale),
            shrink,
            shrink / 2.0,
        ),
        Layout { placed },
    )
}

#[test]
fn squared_rectangles_are_valid_as_published() {
    // Bouwkamp codes, decoded and checked by exact cover; with spacing s and margin s/2 they stay tight.
    for name in ["squared_33x32", "squared_69x61"] {
        for shrink in [0.0, 2.0] {
            let (problem, layout) = squared(name, shrink);
            assert_eq!(
                nest::certify(&problem, &layout).map_err(|c| c.len()),
                Ok(()),
                "{name}, spacing {shrink}"
            );
        }
    }
}

#[test]
fn spoilt_layouts_are_refused() {
    for shrink in [0.0, 2.0] {
        let (problem, good) = squared("squared_33x32", shrink);
        for k in 0..good.placed.len() {
            for (dx, dy) in [(0.001, 0.0), (-0.001, 0.0), (0.0, 0.001), (0.0, -0.001)] {
                let mut bad = good.clone();
                bad.placed[k].pose.shift = bad.placed[k].pose.shift + Point::new(dx, dy);
                assert!(
                    nest::certify(&problem, &bad).is_err(),
                    "piece {k} moved by ({dx}, {dy}), spacing {shrink}"
                );
            }
            let mut missing = good.clone();
            missing.placed.remove(k);
            assert!(
                nest::certify(&problem, &missing).is_err(),
                "piece {k} left out"
            );
            let mut twice = good.clone();
            twice.placed.push(good.placed[k]);
            assert!(nest::certify(&problem, &twice).is_err(), "piece {k} twice");
            let mut turned = good.clone();
            turned.placed[k].pose.rotation = Rotation::from_degrees(90.0);
            turned.placed[k].pose.shift = turned.placed[k].pose.shift
                + Point::new(problem.items[k].shape.bounds().width(), 0.0);
            assert!(
                nest::certify(&problem, &turned).is_err(),
                "piece {k} turned where no turn is allowed"
            );
            let mut elsewhere = good.clone();
            elsewhere.placed[k].sheet.number = 1;
            assert!(
                nest::certify(&problem, &elsewhere).is_err(),
                "piece {k} on a second sheet of one"
            );
        }
    }
}

#[test]
fn grain_and_faces_are_held() {
    let mut along = item(rectangle(50.0, 30.0), 0, Turns::Quarter);
    along.grain = Some(Axis::X);
    let mut p = problem(vec![along], rectangle(100.0, 100.0), 2.0, 5.0);
    p.stock[0].grain = Some(Axis::Y);
    let lying = |deg: f64, x: f64| Layout {
        placed: vec![Placed {
            pose: Pose {
                mirrored: false,
                rotation: Rotation::from_degrees(deg),
                shift: Point::new(x, 10.0),
            },
            ..at(0, 0.0, 0.0)
        }],
    };
    assert!(
        nest::certify(&p, &lying(0.0, 10.0)).is_err(),
        "grain across"
    );
    assert!(nest::certify(&p, &lying(90.0, 50.0)).is_ok(), "grain along");
    let Outcome::Placed(found) = nest::construct_best(&p, 0) else {
        panic!("there is room")
    };
    assert!(
        nest::certify(&p, &found).is_ok(),
        "construction lays it along the grain"
    );
    let mut down = lying(90.0, 50.0);
    down.placed[0].pose.mirrored = true;
    assert!(nest::certify(&p, &down).is_err(), "face down without flip");
}

#[test]
fn two_pieces_fill_an_offcut_exactly() {
    // 5 + 144 + 2 + 144 + 5 = 300 and 5 + 190 + 5 = 200, by hand: no slack at all.
    let two = |w: f64| {
        problem(
            vec![
                item(rectangle(w, 190.0), 0, Turns::Quarter),
                item(rectangle(144.0, 190.0), 1, Turns::Quarter),
            ],
            rectangle(300.0, 200.0),
            2.0,
            5.0,
        )
    };
    let Outcome::Placed(found) = nest::construct_best(&two(144.0), 0) else {
        panic!("they fit")
    };
    assert!(nest::certify(&two(144.0), &found).is_ok());
    assert!(
        matches!(nest::construct_best(&two(144.01), 0), Outcome::NearMiss(_)),
        "a hundredth too wide"
    );
}

#[test]
fn a_piece_finds_the_hole_of_another() {
    let frame = Region::new(
        Ring::rounded_box(
            Bounds::new(Point::new(0.0, 0.0), Point::new(190.0, 190.0)),
            0.0,
            SourceId(0),
        ),
        vec![Ring::rounded_box(
            Bounds::new(Point::new(20.0, 20.0), Point::new(170.0, 170.0)),
            5.0,
            SourceId(0),
        )],
    );
    let p = problem(
        vec![
            item(frame, 0, Turns::Quarter),
            item(rectangle(100.0, 100.0), 1, Turns::Quarter),
        ],
        rectangle(200.0, 200.0),
        2.0,
        5.0,
    );
    let Outcome::Placed(found) = nest::construct_best(&p, 0) else {
        panic!("the hole takes it")
    };
    assert!(nest::certify(&p, &found).is_ok());
}

#[test]
fn pieces_keep_off_defects_and_out_of_the_corner_of_an_ell() {
    let ell = Ring::polygon(
        &[
            (0.0, 0.0),
            (300.0, 0.0),
            (300.0, 120.0),
            (120.0, 120.0),
            (120.0, 300.0),
            (0.0, 300.0),
        ]
        .map(|(x, y)| Point::new(x, y)),
        SourceId(0),
    )
    .unwrap();
    let sheet = Region::new(
        ell,
        vec![Ring::circle(Point::new(250.0, 60.0), 10.0, SourceId(1))],
    );
    let p = problem(
        (0..3)
            .map(|k| item(rectangle(100.0, 110.0), k, Turns::Quarter))
            .collect(),
        sheet,
        2.0,
        5.0,
    );
    let Outcome::Placed(found) = nest::construct_best(&p, 0) else {
        panic!("three fit: two up the stem, one along the foot")
    };
    assert!(nest::certify(&p, &found).is_ok());
}

#[test]
fn improving_never_worsens_and_repeats_itself() {
    let data = instance("fu");
    let items: Vec<Item> = data["items"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(k, i)| item(region(&i["outline"]), k, Turns::Quarter))
        .collect();
    let mut p = problem(items, rectangle(80.0, 38.0), 0.0, 0.0);
    p.stock[0].by_length = Some(80.0);
    let Outcome::Placed(first) = nest::construct_best(&p, 0) else {
        panic!("80 is more than twice what is needed")
    };
    let better = nest::improve(&p, &first, 7, 40);
    assert!(nest::certify(&p, &first).is_ok() && nest::certify(&p, &better).is_ok());
    assert!(nest::cost(&p, &better) <= nest::cost(&p, &first) + 1e-9);
    assert_eq!(
        nest::improve(&p, &first, 7, 40).placed,
        better.placed,
        "a function of its arguments"
    );
    // Area by the data set: 1083 on a strip 38 wide is 28.5 at the least.
    let used = nest::used_length(
        &p,
        &better,
        SheetUse {
            stock: 0,
            number: 0,
        },
    );
    assert!(
        (28.5..45.0).contains(&used),
        "used {used}; published best 30.841"
    );
}

/// Plans parts alone on one kind of sheet.
fn planned(parts: &[Part], sheet: Sheet) -> Planned {
    let cutter = Cutter {
        kind: CutterKind::Laser,
        cut_width: 0.0,
        area: None,
        pass_through: None,
        spacing: 0.0,
        edge_margin: 0.0,
        flip: false,
        turns: Turns::Quarter,
        compensate: true,
        tab_width: 4.0,
        pace: Pace {
            speed: 10.0,
            travel_speed: 100.0,
            acceleration: 500.0,
            pierce_s: 0.0,
        },
    };
    let limits = SeamLimits {
        gap: 0.0,
        min_lap: 40.0,
        keep_clear: 5.0,
        min_piece: 60.0,
    };
    let seams = seamwright::seam::options::Options {
        tooth: None,
        depth: None,
        corner_radius: 0.5,
        bond: Bond::Dry,
        limits,
    };
    let search = Options {
        budget: Budget::Rounds(0),
        seed: 1,
        lanes: 1,
        remnant: [100.0, 100.0],
    };
    planner::plan(
        Task {
            layers: &[],
            moduli: &[],
            copies: 0,
            parts,
            sheets: &[sheet],
            cutter: &cutter,
            seams: &seams,
            search: &search,
        },
        &Quiet,
    )
    .unwrap()
}

#[test]
fn no_bound_exceeds_a_known_optimum() {
    for name in [
        "squared_33x32",
        "squared_69x61",
        "dighe1",
        "c1_p1",
        "c2_p1",
        "terashima1_tn001",
    ] {
        let data = instance(name);
        let scale = 10.0;
        let scaled = |outline: &serde_json::Value| {
            let points: Vec<Point> = outline
                .as_array()
                .unwrap()
                .iter()
                .map(|p| {
                    Point::new(
                        p[0].as_f64().unwrap() * scale,
                        p[1].as_f64().unwrap() * scale,
                    )
                })
                .collect();
            Region::solid(Ring::polygon(&points, SourceId(0)).unwrap())
        };
        let parts: Vec<Part> = data["items"]
            .as_array()
            .unwrap()
            .iter()
            .enumerate()
            .map(|(k, i)| Part {
                name: format!("p{k}"),
                material: "MDF".to_owned(),
                thickness: 3.0,
                region: scaled(&i["outline"]),
                quantity: i["quantity"].as_u64().unwrap() as usize,
                fill: false,
                cut_width: 0.0,
                turns: if i["rotations"].as_array().unwrap().len() == 1 {
                    Turns::None
                } else {
                    Turns::Quarter
                },
                grain: None,
                own_kerf: None,
                own_turns: None,
            })
            .collect();
        let strip = data["strip_width"].as_f64();
        let (outline, cost, quantity) = strip.map_or_else(
            || (scaled(&data["containers"][0]["outline"]), 1.0, 20),
            |w| {
                let long = 4.0 * data["known_optimum"]["length"].as_f64().unwrap() * scale;
                (rectangle(long, w * scale), long, 1)
            },
        );
        let sheet = Sheet {
            id: "sheet".to_owned(),
            material: "MDF".to_owned(),
            thickness: 3.0,
            measured: None,
            usable_length: outline.bounds().width(),
            region: vec![outline.clone()],
            outline,
            quantity,
            cost,
            has_cost: true,
            by_length: strip.is_some(),
            grain: None,
            finish: None,
            taken: true,
        };
        let optimum = strip.map_or_else(
            || data["known_optimum"]["containers"].as_f64().unwrap(),
            |_| data["known_optimum"]["length"].as_f64().unwrap() * scale,
        );
        let plan = planned(&parts, sheet);
        assert!(
            plan.bound.stock_cost <= optimum + 1e-6,
            "{name}: bound {} above the optimum {optimum}",
            plan.bound.stock_cost
        );
        assert!(
            plan.stock_cost >= optimum - 1e-6,
            "{name}: a plan at {} below the proved optimum {optimum}",
            plan.stock_cost
        );
        // These instances fill their strips without waste, so area alone gives the optimum but for one step of the knapsack.
        assert!(
            plan.bound.stock_cost >= 0.99 * optimum - 1e-6,
            "{name}: bound {} far below {optimum}",
            plan.bound.stock_cost
        );
    }
}
