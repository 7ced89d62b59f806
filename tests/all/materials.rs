//! Parts of a material that no layer shares are searched as if they were alone, whatever else the job holds, and come out where
//! the job has them.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::program::err;

const SHAPES: [(&str, &str, usize); 3] = [
    ("wedge", "M 0 0 L 80 0 L 0 45 Z", 6),
    ("ell", "M 0 0 L 70 0 L 70 20 L 20 20 L 20 60 L 0 60 Z", 5),
    ("kite", "M 0 30 L 25 0 L 90 30 L 25 60 Z", 4),
];
const ROLL: &str = "[[sheet]]\nid = \"roll\"\nmaterial = \"felt\"\nthickness = 2\nsize = [1500, 200]\nsold_by = \"length\"\ncost = 30\n";
const BOARD: &str = "[[sheet]]\nid = \"board\"\nmaterial = \"mdf\"\nthickness = 3\nsize = [300, 220]\ncost = 7\nquantity = 9\n";

fn drawing(folder: &Path, name: &str, path: &str) {
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400mm\" height=\"400mm\" viewBox=\"0 0 400 400\"><path d=\"{path}\" fill=\"none\" stroke=\"black\"/></svg>"
    );
    std::fs::write(folder.join(format!("{name}.svg")), svg).unwrap();
}

fn part(name: &str, material: &str, thickness: f64, quantity: usize) -> String {
    format!(
        "[[part]]\nname = \"{name}\"\nmaterial = \"{material}\"\nthickness = {thickness}\ndrawing = \"{name}.svg\"\nquantity = {quantity}\n"
    )
}

/// Plans a job of felt parts on a roll with these tables before and between them.
fn plan(before: &str, between: &str, rounds: usize) -> Value {
    let room = tempfile::tempdir().unwrap();
    let mut job = format!(
        "stock = \"stock.toml\"\n{before}[cutter]\nkind = \"laser\"\nkerf = 0.2\nedge_margin = 3\n[search]\nlanes = 2\n"
    );
    for (k, (name, path, quantity)) in SHAPES.into_iter().enumerate() {
        drawing(room.path(), name, path);
        if k == 1 {
            job += between;
        }
        write!(job, "{}", part(name, "felt", 2.0, quantity)).unwrap();
    }
    drawing(room.path(), "slab", "M 0 0 H 294 V 214 H 0 Z");
    drawing(room.path(), "chip", "M 0 0 L 120 0 L 0 70 Z");
    planned(room.path(), &job, &format!("{BOARD}{ROLL}"), rounds)
}

/// Plans a job with its stock, in a folder with its drawings.
fn planned(room: &Path, job: &str, stock: &str, rounds: usize) -> Value {
    std::fs::write(room.join("job.toml"), job).unwrap();
    std::fs::write(room.join("stock.toml"), stock).unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_seamwright"))
        .args(["plan", "job.toml", "--rounds", &rounds.to_string()])
        .current_dir(room)
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    let text = std::fs::read_to_string(room.join("out/plan.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn list<'a>(plan: &'a Value, key: &str) -> &'a Vec<Value> {
    plan[key].as_array().unwrap()
}

/// How much of the roll is used.
fn used(plan: &Value) -> f64 {
    let roll = list(plan, "sheets").iter().find(|s| s["stock"] == "roll");
    roll.unwrap()["used_length"].as_f64().unwrap()
}

/// Places of all pieces of felt: name, turn, corner.
fn felt(plan: &Value) -> Vec<String> {
    let name = |p: &Value| p["piece"].as_str().unwrap().to_owned();
    let mut out: Vec<String> = list(plan, "placements")
        .iter()
        .filter(|p| SHAPES.iter().any(|s| name(p).starts_with(s.0)))
        .map(|p| format!("{} {} {} {}", name(p), p["rotation"], p["x"], p["y"]))
        .collect();
    out.sort();
    out
}

fn rounds() -> usize {
    if cfg!(debug_assertions) { 2 } else { 8 }
}

#[test]
fn a_roll_is_shortened_as_if_alone_beside_a_part_of_another_material() {
    let (first, alone) = (plan("", "", 0), plan("", "", rounds()));
    assert!(used(&alone) < used(&first) - 1.0, "rounds shorten the roll");
    // The slab fills its sheet, so it has no rounds. It stands between the felt parts in the job, and in the plan.
    let beside = plan("", &part("slab", "mdf", 3.0, 1), rounds());
    assert_eq!(felt(&beside), felt(&alone));
    assert!((used(&beside) - used(&alone)).abs() < 1e-9);
    let names: Vec<&str> = list(&beside, "pieces")
        .iter()
        .map(|p| p["id"].as_str().unwrap().split('-').next().unwrap())
        .collect();
    let mut order = names.clone();
    order.dedup();
    assert_eq!(order, ["wedge", "slab", "ell", "kite"]);
    let cost = |p: &Value| p["metrics"]["stock_cost"].as_f64().unwrap();
    assert!((cost(&beside) - cost(&alone) - 7.0).abs() < 1e-5);
}

#[test]
fn two_materials_share_the_rounds_and_both_are_bettered() {
    // Chips of 120 × 70: twelve go on one board by area (they measure 504 of 660 cm²).
    let alone = plan("", "", rounds());
    let both = plan("", &part("chip", "mdf", 3.0, 12), 2 * rounds() + 1);
    assert!(
        used(&both) <= used(&alone) + 1e-6,
        "{} {}",
        used(&both),
        used(&alone)
    );
    let boards = list(&both, "sheets")
        .iter()
        .filter(|s| s["stock"] == "board")
        .count();
    assert!(boards <= 2, "{boards} boards");
}

#[test]
fn a_roll_is_shortened_beside_the_layers_of_a_stack() {
    let stack = "[fixture]\nsize = [400, 200]\n[[layer]]\nname = \"base\"\nmaterial = \"mdf\"\nthickness = 3\n\
        [[layer]]\nname = \"top\"\nmaterial = \"mdf\"\nthickness = 3\n[seams]\npattern = \"straight\"\n";
    let alone = plan("", "", rounds());
    let beside = plan(stack, "", 2 * rounds() + 1);
    assert!(
        used(&beside) <= used(&alone) + 1e-6,
        "{} {}",
        used(&beside),
        used(&alone)
    );
    // 400 × 200 takes two boards of 300 × 220 a layer, or two halves on one: three boards by area and margin, four at the most.
    let boards = list(&beside, "sheets")
        .iter()
        .filter(|s| s["stock"] == "board")
        .count();
    assert!((3..=4).contains(&boards), "{boards} boards");
    assert!(!list(&beside, "seams").is_empty());
}

#[test]
fn a_bound_does_not_count_room_behind_the_last_part_of_a_roll() {
    // Without a margin a bar of 100 × 50 takes 100 mm of a roll 50 wide, at 1 a mm. Grown by half the spacing of 2 it would have 52 · 102 − 0.86 = 5303 mm² on a
    // room 52 wide, which is the area of 101.99 mm.
    let room = tempfile::tempdir().unwrap();
    drawing(room.path(), "bar", "M 0 0 H 100 V 50 H 0 Z");
    let job = format!(
        "stock = \"stock.toml\"\n[cutter]\nkind = \"laser\"\nkerf = 0\nspacing = 2\nedge_margin = 0\n{}",
        part("bar", "felt", 2.0, 1)
    );
    let stock = "[[sheet]]\nid = \"roll\"\nmaterial = \"felt\"\nthickness = 2\nsize = [1000, 50]\nsold_by = \"length\"\ncost = 1000\n";
    let plan = planned(room.path(), &job, stock, 1);
    let metrics = &plan["metrics"];
    assert!((metrics["stock_cost"].as_f64().unwrap() - 100.0).abs() < 1e-5);
    let bound = metrics["bound"]["stock_cost"].as_f64().unwrap();
    assert!(bound <= 100.0 && bound > 99.0, "{bound}");
    let why = metrics["bound"]["why"].as_str().unwrap();
    assert!(why.contains("roll costs 1 for each mm"), "{why}");
}

#[test]
fn two_rolls_are_both_shortened() {
    // Each shape on a roll of its own: one roll is too short for all, and so is the cutter.
    let room = tempfile::tempdir().unwrap();
    let mut job = "stock = \"stock.toml\"\n[cutter]\nkind = \"laser\"\nkerf = 0.2\nedge_margin = 3\n[search]\nlanes = 2\n".to_owned();
    for (name, path, quantity) in SHAPES {
        drawing(room.path(), name, path);
        job += &part(name, "felt", 2.0, 2 * quantity);
    }
    let stock = ROLL.replace("1500", "320") + "quantity = 3\n";
    let length = |rounds: usize| -> f64 {
        let plan = planned(room.path(), &job, &stock, rounds);
        std::fs::remove_dir_all(room.path().join("out")).unwrap();
        assert!(list(&plan, "sheets").len() > 1);
        let used = list(&plan, "sheets")
            .iter()
            .map(|s| s["used_length"].as_f64().unwrap());
        used.sum()
    };
    let (first, later) = (length(0), length(3 * rounds()));
    assert!(later < first - 1.0, "{later} after {first}");
}
