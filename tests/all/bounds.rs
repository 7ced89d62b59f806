//! Lower bounds are what a calculation by hand says, and no more than a plan costs.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::process::Command;

use serde_json::Value;

use crate::program::err;

/// Plans parts (path data in mm, quantity) from one entry of stock; gives the bound and the cost.
fn planned(cutter: &str, parts: &[(&str, usize)], sheet: &str) -> (f64, f64) {
    let room = tempfile::tempdir().unwrap();
    let mut job = format!("stock = \"stock.toml\"\n[cutter]\nkerf = 0\n{cutter}\n");
    for (k, (path, quantity)) in parts.iter().enumerate() {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"500mm\" height=\"500mm\" viewBox=\"0 0 500 500\"><path d=\"{path}\" fill=\"none\" stroke=\"black\"/></svg>"
        );
        std::fs::write(room.path().join(format!("p{k}.svg")), svg).unwrap();
        job += &format!(
            "[[part]]\nname = \"p{k}\"\nmaterial = \"MDF\"\nthickness = 3\ndrawing = \"p{k}.svg\"\nquantity = {quantity}\n"
        );
    }
    let stock = format!("[[sheet]]\nid = \"sheet\"\nmaterial = \"MDF\"\nthickness = 3\n{sheet}\n");
    std::fs::write(room.path().join("job.toml"), job).unwrap();
    std::fs::write(room.path().join("stock.toml"), stock).unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_seamwright"))
        .args(["plan", "job.toml", "--rounds", "4"])
        .current_dir(room.path())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    let plan = std::fs::read_to_string(room.path().join("out/plan.json")).unwrap();
    let plan: Value = serde_json::from_str(&plan).unwrap();
    let metrics = &plan["metrics"];
    let bound = metrics["bound"]["stock_cost"].as_f64().unwrap();
    let cost = metrics["stock_cost"].as_f64().unwrap();
    assert!(
        bound <= cost + 1e-6,
        "{bound} above {cost}: {}",
        metrics["bound"]["why"]
    );
    (bound, cost)
}

const ROLL: &str = "size = [3000, 300]\ncost = 30\nsold_by = \"length\"";

#[test]
fn what_is_too_long_to_lie_across_a_roll_costs_its_length() {
    let triangle = "M 0 0 H 400 L 0 50 Z";
    let (bound, cost) = planned("spacing = 2\nedge_margin = 5", &[(triangle, 1)], ROLL);
    // 400 mm and twice the margin, at 0.01 a mm; extents are taken 1e-5 mm less than they are.
    assert!((bound - 4.1).abs() < 1e-5, "{bound}");
    assert!((cost - 4.1).abs() < 1e-5, "{cost}");
    // At any angle a corner sinks: 290 mm of depth take 400 · cos a + 50 · sin a no shorter than where 400 · sin a +
    // 50 · cos a is near 290, and the side of 403.1 mm helps a little; half of it lies well below.
    let (bound, cost) = planned(
        "spacing = 2\nedge_margin = 5\nturns = \"any\"",
        &[(triangle, 1)],
        ROLL,
    );
    assert!(bound > 2.5 && bound < cost + 1e-6, "{bound}, {cost}");
}

#[test]
fn discs_that_are_wider_than_half_a_roll_lie_behind_one_another() {
    let disc = "M 0 90 A 90 90 0 0 1 180 90 A 90 90 0 0 1 0 90 Z";
    let (bound, _) = planned("spacing = 2\nedge_margin = 5", &[(disc, 4)], ROLL);
    // Grown to a radius of 91 its chord is more than half of 292 over 2 · √(91² − 73²) = 108.67 mm; four of these, less the
    // spacing, with both margins. Outlines are drawn in by 0.041 mm at the most, which is 0.041 · 2 · 91 ÷ 54.3 of each.
    let least = 4.0 * 108.67 - 2.0 + 10.0;
    assert!(bound >= 0.01 * (least - 0.6), "{bound}, not {least}");
}

#[test]
fn a_roll_whose_margins_are_less_than_the_spacing_is_not_charged_for_room_that_it_saves() {
    let strip = "M 0 0 H 100 V 290 H 0 Z";
    let (bound, cost) = planned(
        "spacing = 20\nedge_margin = 5\nturns = \"none\"",
        &[(strip, 1)],
        ROLL,
    );
    // 100 mm and twice the margin.
    assert!((bound - 1.1).abs() < 1e-5 && (cost - 1.1).abs() < 1e-5);
}

#[test]
fn rounded_parts_of_which_no_two_fit_a_sheet_need_one_each() {
    let rounded = "M 10 0 H 290 A 10 10 0 0 1 300 10 V 190 A 10 10 0 0 1 290 200 H 10 A 10 10 0 0 1 0 190 V 10 A 10 10 0 0 1 10 0 Z";
    let (bound, cost) = planned(
        "spacing = 2\nedge_margin = 5\nturns = \"none\"",
        &[(rounded, 3)],
        "size = [500, 390]\ncost = 2\nquantity = 5",
    );
    // Wider than half of 490 and deeper than half of 380, rounding and all; by area two sheets would do.
    assert_eq!([bound, cost], [6.0, 6.0]);
}

#[test]
fn holes_that_nothing_enters_count_as_material() {
    let frame = "M 0 0 H 100 V 100 H 0 Z M 20 20 H 80 V 80 H 20 Z";
    let cutter = "spacing = 2\nedge_margin = 5";
    let sheet = "size = [220, 220]\ncost = 1\nquantity = 5";
    // Four on a sheet; by area with open holes two sheets would do for twelve: 12 · 70.4 cm² of 449.4 each.
    assert_eq!(planned(cutter, &[(frame, 12)], sheet).0, 3.0);
    // Squares of 40 lie in the holes, so nothing is closed, and three sheets are enough for both.
    let square = "M 0 0 H 40 V 40 H 0 Z";
    let (bound, cost) = planned(cutter, &[(frame, 12), (square, 12)], sheet);
    assert!(bound <= 3.0 && cost >= bound, "{bound}, {cost}");
}
