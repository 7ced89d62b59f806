//! What is hard to split or to place is planned at the least cost, worked out by hand beside each case; a layer that cannot
//! be split is told with its obstacle and settings whose numbers work when they are put into the job.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::process::{Command, Output};

use serde_json::Value;

use crate::program::err;

/// Positions in a plan are whole millionths.
const WRITTEN: f64 = 2e-6;

/// A job and its stock.
#[derive(Clone)]
struct Case {
    /// Keys before all tables, and tables that stand before `[fixture]`.
    head: &'static str,
    size: [f64; 2],
    cutter: String,
    seams: String,
    layers: String,
    stock: String,
    /// An SVG of the fixture's outline, in place of its size.
    drawing: Option<String>,
}

impl Case {
    fn new(size: [f64; 2], layers: String, stock: String) -> Self {
        Self {
            head: "",
            size,
            cutter: "kerf = 0.16\n".to_owned(),
            seams: "pattern = \"straight\"\n".to_owned(),
            layers,
            stock,
            drawing: None,
        }
    }

    fn drawn(mut self, svg: String) -> Self {
        self.drawing = Some(svg);
        self
    }

    fn seams(mut self, lines: &str) -> Self {
        self.seams = lines.to_owned();
        self
    }

    /// The case with a setting put in place of what it says.
    fn with(&self, key: &str, value: &str) -> Self {
        let mut out = self.clone();
        let table = if key == "edge_margin" {
            &mut out.cutter
        } else {
            &mut out.seams
        };
        let kept: Vec<&str> = table
            .lines()
            .filter(|l| !l.starts_with(&format!("{key} =")))
            .collect();
        *table = format!("{}\n{key} = {value}\n", kept.join("\n"));
        out
    }

    /// Plans: the program's output, and the plan where there is one.
    fn run(&self) -> (Output, Value) {
        self.run_with(&["plan", "job.toml", "--rounds", "8"])
    }

    /// What is told without a search.
    fn checked(&self) -> String {
        let (done, _) = self.run_with(&["check", "job.toml"]);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        String::from_utf8_lossy(&done.stdout).into_owned() + &err(&done)
    }

    fn run_with(&self, arguments: &[&str]) -> (Output, Value) {
        let room = tempfile::tempdir().unwrap();
        let [width, depth] = self.size;
        let outline = match &self.drawing {
            Some(svg) => {
                std::fs::write(room.path().join("outline.svg"), svg).unwrap();
                "drawing = \"outline.svg\"".to_owned()
            }
            None => format!("size = [{width}, {depth}]"),
        };
        let job = format!(
            "stock = \"stock.toml\"\n{}\n[fixture]\n{outline}\n[cutter]\n{}[seams]\n{}{}",
            self.head, self.cutter, self.seams, self.layers
        );
        std::fs::write(room.path().join("job.toml"), job).unwrap();
        std::fs::write(room.path().join("stock.toml"), &self.stock).unwrap();
        let done = Command::new(env!("CARGO_BIN_EXE_seamwright"))
            .args(arguments)
            .current_dir(room.path())
            .output()
            .unwrap();
        let plan = std::fs::read_to_string(room.path().join("out/plan.json"))
            .map_or(Value::Null, |text| serde_json::from_str(&text).unwrap());
        (done, plan)
    }

    fn plan(&self) -> Value {
        let (done, plan) = self.run();
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        plan
    }

    /// Why there is no plan.
    fn refused(&self) -> String {
        let (done, plan) = self.run();
        assert_eq!(done.status.code(), Some(3), "{}", err(&done));
        assert_eq!(plan, Value::Null, "nothing is written");
        err(&done)
    }
}

fn layer(name: &str, thickness: f64, more: &str) -> String {
    format!("[[layer]]\nname = \"{name}\"\nmaterial = \"MDF\"\nthickness = {thickness}\n{more}\n")
}

fn sheet(id: &str, size: [f64; 2], thickness: f64, cost: f64, quantity: usize) -> String {
    format!(
        "[[sheet]]\nid = \"{id}\"\nmaterial = \"MDF\"\nthickness = {thickness}\nsize = [{}, {}]\ncost = {cost}\nquantity = {quantity}\n",
        size[0], size[1]
    )
}

fn cost(plan: &Value) -> f64 {
    plan["metrics"]["stock_cost"].as_f64().unwrap()
}

fn bound(plan: &Value) -> f64 {
    plan["metrics"]["bound"]["stock_cost"].as_f64().unwrap()
}

/// Layer, copy, way and position of each straight seam.
fn seams(plan: &Value) -> Vec<(String, u64, String, f64)> {
    let seams = plan["seams"].as_array().unwrap();
    seams
        .iter()
        .map(|s| {
            let runs = s["runs"].as_str().unwrap().to_owned();
            let at = &s["points"][0][if runs == "y" { 0 } else { 1 }];
            (
                s["layer"].as_str().unwrap().to_owned(),
                s["copy"].as_u64().unwrap(),
                runs,
                at.as_f64().unwrap(),
            )
        })
        .collect()
}

fn n_pieces(plan: &Value, layer: &str) -> usize {
    let pieces = plan["pieces"].as_array().unwrap();
    pieces.iter().filter(|p| p["layer"] == layer).count()
}

/// Stock ids of the sheets used, ascending.
fn used(plan: &Value) -> Vec<String> {
    let sheets = plan["sheets"].as_array().unwrap();
    let mut out: Vec<String> = sheets
        .iter()
        .map(|s| s["stock"].as_str().unwrap().to_owned())
        .collect();
    out.sort();
    out
}

/// The settings that a message offers, in order: key and value as it stands in a job.
fn offers(message: &str) -> Vec<(String, String)> {
    let parts = message.split('`').skip(1).step_by(2);
    parts
        .filter_map(|p| p.split_once(" = \""))
        .map(|(key, value)| (key.to_owned(), format!("\"{value}")))
        .collect()
}

fn offer(message: &str, key: &str) -> String {
    let found = offers(message).into_iter().find(|(k, _)| k == key);
    found
        .unwrap_or_else(|| panic!("no number for {key}: {message}"))
        .1
}

fn millimetres(value: &str) -> f64 {
    let number = value.trim_matches('"').trim_end_matches(" mm");
    number.parse().unwrap()
}

/// The number that follows these words.
fn figure(message: &str, words: &str) -> f64 {
    let rest = message.split(words).nth(1);
    let rest = rest.unwrap_or_else(|| panic!("`{words}` is missing: {message}"));
    let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.');
    rest[..end.unwrap_or(rest.len())].parse().unwrap()
}

/// The sheet that a message asks for.
fn larger(message: &str) -> [f64; 2] {
    let text = message.split("sheet of at least ").nth(1).unwrap();
    let (w, rest) = text.split_once(" × ").unwrap();
    let d = rest.split_once(" mm").unwrap().0;
    [w.parse().unwrap(), d.parse().unwrap()]
}

fn has_all(message: &str, words: &[&str]) {
    for word in words {
        assert!(message.contains(word), "{word} is missing: {message}");
    }
}

/// A strip that is split along y only: its depth is less than two pieces.
fn strip(more: &str) -> Case {
    Case::new(
        [300.0, 80.0],
        layer("base", 3.0, more),
        sheet("half", [200.0, 100.0], 3.0, 1.0, 8),
    )
}

/// The strip with three locating holes in the way of every seam.
fn held_by_holes() -> Case {
    Case {
        head: "[bed]\nsize = [300, 80]\nlocating = [ { at = [60, 40], diameter = 6 }, { at = [150, 40], diameter = 6 }, { at = [240, 40], diameter = 6 } ]",
        ..strip("features = [\"locating\"]").seams("pattern = \"straight\"\nkeep_clear = 50\n")
    }
}

/// The strip with two rows of round openings, those of one row between those of the other.
fn held_by_webs() -> Case {
    let at: Vec<String> = (0..12)
        .map(|k| format!("[{}, {}]", 40 + 20 * k, if k % 2 == 0 { 25 } else { 55 }))
        .collect();
    let mut case = strip("features = [\"eject\"]").seams("pattern = \"straight\"\nmin_web = 16\n");
    case.layers = format!(
        "[[opening]]\nname = \"eject\"\nshape = {{ circle = 10 }}\nat = [{}]\n{}",
        at.join(", "),
        case.layers
    );
    case
}

#[test]
fn holes_in_the_way_of_every_seam_are_told_with_the_clearance_that_works() {
    let case = held_by_holes();
    let message = case.refused();
    has_all(
        &message,
        &[
            "(proved)",
            "layer `base`",
            "locating hole ",
            ", 40.00)",
            "asks for 50.00",
        ],
    );
    let best = offer(&message, "keep_clear");
    // By hand: half way between two holes 90 apart, 45 − 3 = 42; intervals are known to 0.02.
    let possible = figure(&message, " passes ");
    assert!((possible - 42.0).abs() <= 0.02, "{message}");
    let figure = millimetres(&best);
    assert!((41.95..=42.0).contains(&figure), "{message}");
    let plan = case.with("keep_clear", &best).plan();
    // At 105 and 195, since 195 is more than the room of 190.
    assert_eq!(n_pieces(&plan, "base"), 3);
    let above = format!("{}", figure + 0.1);
    has_all(&case.with("keep_clear", &above).refused(), &["(proved)"]);
}

#[test]
fn openings_in_the_way_of_every_seam_are_told_with_the_web_that_works() {
    let case = held_by_webs();
    let message = case.refused();
    has_all(
        &message,
        &[
            "(proved)",
            "layer `base`",
            "beside the opening ",
            "asks for 16.00",
        ],
    );
    let best = offer(&message, "min_web");
    // By hand: through the middle of one opening the next two are 20 − 5 = 15 away.
    let possible = figure(&message, " leaves ");
    assert!((possible - 15.0).abs() <= 0.02, "{message}");
    let figure = millimetres(&best);
    assert!((14.95..=15.0).contains(&figure), "{message}");
    assert_eq!(n_pieces(&case.with("min_web", &best).plan(), "base"), 2);
    let above = format!("{}", figure + 0.1);
    has_all(&case.with("min_web", &above).refused(), &["(proved)"]);
}

#[test]
fn pieces_that_may_not_be_small_enough_are_told_with_the_size_that_works() {
    let case = strip("").seams("pattern = \"straight\"\nmin_piece = 160\n");
    let message = case.refused();
    has_all(&message, &["(proved)", "layer `base`", "asks for 160.00"]);
    // A piece as large as a sheet's room lets it be, and as deep as the strip.
    has_all(&message, &["measures 190.00 × 80.00 mm"]);
    let best = offer(&message, "min_piece");
    assert_eq!(
        best, "\"80 mm\"",
        "the strip's own depth bounds every piece"
    );
    assert_eq!(n_pieces(&case.with("min_piece", &best).plan(), "base"), 2);
}

#[test]
fn teeth_too_deep_for_the_sheets_are_told_with_the_depth_that_works() {
    for pattern in ["finger", "knob", "dovetail"] {
        let case = strip("").seams(&format!("pattern = \"{pattern}\"\ndepth = 150\n"));
        let message = case.refused();
        // Flat seams would do, but the search counts teeth with their full depth: that is no proof.
        has_all(
            &message,
            &[
                "no plan was found",
                "layer `base`",
                "teeth that reach 150 mm",
                "tried: ",
            ],
        );
        assert!(!message.contains("proved"), "{message}");
        let best = offer(&message, "depth");
        // By hand: the least piece is 60, and 60 + 130 is the room within the margins; five equal cells measure as much.
        assert_eq!(best, "\"130 mm\"", "{message}");
        // Pieces may be shorter instead: 40 + 150.
        assert_eq!(offer(&message, "min_piece"), "\"40 mm\"", "{message}");
        for (key, value) in offers(&message) {
            let plan = case.with(&key, &value).plan();
            assert!(n_pieces(&plan, "base") > 1, "{pattern}: {key} splits it");
        }
    }
}

#[test]
fn where_no_setting_alone_is_enough_all_that_are_needed_are_told() {
    let case = held_by_holes().with("min_piece", "160");
    let message = case.refused();
    has_all(&message, &["(proved)", "together"]);
    let possible = figure(&message, " passes ");
    assert!((possible - 42.0).abs() <= 0.02, "{message}");
    let told = offers(&message);
    let eased = told.iter().fold(case, |c, (key, value)| c.with(key, value));
    assert_eq!(told.len(), 2, "{message}");
    // At 105 and 195, as without `min_piece`.
    assert_eq!(n_pieces(&eased.plan(), "base"), 3);
}

#[test]
fn the_sheet_that_is_asked_for_takes_the_layer() {
    for mut case in [held_by_holes(), held_by_webs()] {
        let message = case.refused();
        // By hand: 300 × 80 and twice the margin of 5.
        assert_eq!(larger(&message), [310.0, 90.0], "{message}");
        case.stock += &sheet("larger", larger(&message), 3.0, 1.0, 1);
        assert_eq!(used(&case.plan()), ["larger"]);
    }
}

#[test]
fn a_layer_that_stays_whole_is_told_the_margin_and_the_sheet_that_work() {
    let mut case = Case::new(
        [300.0, 80.0],
        layer("base", 3.0, "seam = \"none\""),
        sheet("short", [305.0, 100.0], 3.0, 1.0, 1),
    );
    let message = case.refused();
    has_all(&message, &["(proved)", "`base`", "300 × 80", "295 × 90"]);
    let best = offer(&message, "edge_margin");
    assert_eq!(best, "\"2.5 mm\"", "half of 305 − 300");
    assert_eq!(used(&case.with("edge_margin", &best).plan()), ["short"]);
    case.stock += &sheet("larger", larger(&message), 3.0, 1.0, 1);
    assert_eq!(used(&case.plan()), ["larger"]);
}

#[test]
fn every_copy_is_named_where_a_layer_cannot_be_split() {
    let mut case = held_by_holes();
    case.head = "copies = 3\n[bed]\nsize = [300, 80]\nlocating = [ { at = [60, 40], diameter = 6 }, { at = [150, 40], diameter = 6 }, { at = [240, 40], diameter = 6 } ]";
    has_all(&case.refused(), &["layer `base` of every copy"]);
}

#[test]
fn a_layer_larger_than_its_sheets_both_ways_is_split_both_ways() {
    let case = Case::new(
        [320.0, 240.0],
        layer("base", 3.0, ""),
        sheet("quarter", [170.0, 130.0], 3.0, 1.0, 4),
    );
    let plan = case.plan();
    let ways: Vec<String> = seams(&plan).into_iter().map(|s| s.2).collect();
    assert!(ways.contains(&"x".to_owned()) && ways.contains(&"y".to_owned()));
    // Rooms of 160 × 120 are exactly a quarter of the layer: no fewer than four.
    assert_eq!((cost(&plan), n_pieces(&plan, "base")), (4.0, 4));
}

#[test]
fn of_two_layers_and_one_large_sheet_one_stays_whole_and_its_neighbour_is_split() {
    let case = Case::new(
        [300.0, 200.0],
        layer("base", 3.0, "") + &layer("core", 3.0, ""),
        sheet("large", [310.0, 210.0], 3.0, 4.0, 1) + &sheet("half", [165.0, 210.0], 3.0, 1.0, 2),
    );
    let plan = case.plan();
    let mut pieces = [n_pieces(&plan, "base"), n_pieces(&plan, "core")];
    pieces.sort_unstable();
    assert_eq!(pieces, [1, 2]);
    // Two layers of 600 cm² and rooms of 600 and twice 310 cm²: every sheet is needed.
    assert_eq!(cost(&plan), 6.0);
}

#[test]
fn where_every_web_is_narrower_than_asked_the_seam_runs_through_the_pockets() {
    let pockets = "[blank]\nshape = { rect = [40, 40], radius = 3 }\nthickness = 3\n[grid]\npitch = [44, 44]\ncolumns = 6\nrows = 4\n";
    let case = Case::new(
        [300.0, 200.0],
        pockets.to_owned() + &layer("frame", 3.0, "features = [\"pocket\"]"),
        sheet("half", [165.0, 210.0], 3.0, 1.0, 4),
    );
    let plan = case.plan();
    // 44 − 40.4 = 3.6 between pockets, `min_web` = 2 × 3.
    let webs = plan["findings"].as_array().unwrap();
    let web = webs.iter().find(|f| f["code"] == "F102").unwrap();
    assert!((web["measured"].as_f64().unwrap() - 3.6).abs() < 1e-6);
    assert_eq!(web["limit"].as_f64(), Some(6.0));
    assert_eq!((cost(&plan), n_pieces(&plan, "frame")), (2.0, 2));
    let [(_, _, runs, at)] = &seams(&plan)[..] else {
        panic!("one seam between bridges counts once: {:?}", seams(&plan));
    };
    assert_eq!(runs, "y");
    // Middles of pockets at 150 ± 22, ± 66, ± 110; half a pocket is 20.2 wide.
    let inside = [-110.0, -66.0, -22.0, 22.0, 66.0, 110.0]
        .iter()
        .any(|m| (at - 150.0 - m).abs() < 20.2);
    assert!(inside, "the seam at {at} crosses pockets");
}

#[test]
fn four_layers_of_three_thicknesses_lie_on_sheets_of_their_own_thickness() {
    let case = Case::new(
        [300.0, 200.0],
        layer("a", 2.0, "") + &layer("b", 3.0, "") + &layer("c", 4.0, "") + &layer("d", 3.0, ""),
        [2.0, 3.0, 4.0]
            .map(|t| sheet(&format!("t{t}"), [215.0, 210.0], t, t, 4))
            .concat(),
    );
    let plan = case.plan();
    // Rooms of 205 × 200: two sheets for one layer of 300; the two of 3 mm share one for 95 + 2 + 95: 2 × 2 + 3 × 3 + 2 × 4.
    assert_eq!(cost(&plan), 21.0);
    assert_eq!(used(&plan), ["t2", "t2", "t3", "t3", "t3", "t4", "t4"]);
    let thickness = |list: &str, key: &str, value: &Value| {
        let things = plan[list].as_array().unwrap();
        let thing = things.iter().find(|t| &t[key] == value).unwrap();
        thing["thickness"].as_f64().unwrap()
    };
    for placement in plan["placements"].as_array().unwrap() {
        let pieces = plan["pieces"].as_array().unwrap();
        let piece = pieces
            .iter()
            .find(|p| p["id"] == placement["piece"])
            .unwrap();
        assert_eq!(
            thickness("layers", "name", &piece["layer"]),
            thickness("sheets", "id", &placement["sheet"])
        );
    }
    let all = seams(&plan);
    for pair in [["a", "b"], ["b", "c"], ["c", "d"]] {
        for p in all.iter().filter(|s| s.0 == pair[0]) {
            for q in all.iter().filter(|s| s.0 == pair[1] && s.2 == p.2) {
                let lap = (p.3 - q.3).abs();
                assert!(lap >= 40.0 - WRITTEN, "{pair:?}: {lap} for min_lap = 40");
            }
        }
    }
}

#[test]
fn three_copies_are_each_split_as_their_offcuts_want() {
    let offcuts: String = [150.0, 130.0, 110.0]
        .iter()
        .enumerate()
        .map(|(k, a)| {
            sheet(&format!("short-{k}"), [a + 10.0, 110.0], 3.0, 1.0, 1)
                + &sheet(&format!("long-{k}"), [310.0 - a, 110.0], 3.0, 1.0, 1)
        })
        .collect();
    let case = Case {
        head: "copies = 3",
        ..Case::new(
            [300.0, 100.0],
            layer("base", 3.0, ""),
            offcuts + &sheet("full", [310.0, 110.0], 3.0, 10.0, 3),
        )
    };
    let plan = case.plan();
    // No offcut takes a layer whole; six at 1 hold all three exactly.
    assert_eq!(cost(&plan), 6.0);
    assert!(!used(&plan).contains(&"full".to_owned()));
    let mut copies = [false; 3];
    let mut shares: Vec<f64> = Vec::new();
    for (_, copy, _, at) in seams(&plan) {
        copies[copy as usize - 1] = true;
        shares.push(at.min(300.0 - at));
    }
    shares.sort_by(f64::total_cmp);
    assert_eq!(copies, [true; 3]);
    assert_eq!(
        shares,
        [110.0, 130.0, 150.0],
        "the copies are split differently"
    );
}

#[test]
fn an_offcut_that_only_a_turned_piece_enters_is_used() {
    let mut case = Case::new(
        [300.0, 100.0],
        layer("base", 3.0, ""),
        sheet("upright", [110.0, 210.0], 3.0, 1.0, 1)
            + &sheet("square", [110.0, 110.0], 3.0, 1.0, 1)
            + &sheet("dear", [310.0, 110.0], 3.0, 5.0, 1),
    );
    let plan = case.plan();
    assert_eq!(
        (cost(&plan), used(&plan)),
        (2.0, vec!["square".to_owned(), "upright".to_owned()])
    );
    let placements = plan["placements"].as_array().unwrap();
    let upright = placements
        .iter()
        .find(|p| p["sheet"].as_str().unwrap().ends_with("upright"))
        .unwrap();
    let rotation = upright["rotation"].as_f64().unwrap();
    assert!(
        rotation == 90.0 || rotation == 270.0,
        "turned by {rotation}"
    );
    case.cutter += "turns = \"none\"\n";
    assert_eq!(
        used(&case.plan()),
        ["dear"],
        "without turning no offcut helps"
    );
}

#[test]
fn sheets_that_cost_nothing_are_taken_before_one_that_costs() {
    let case = Case::new(
        [300.0, 100.0],
        layer("base", 3.0, ""),
        sheet("paid", [310.0, 110.0], 3.0, 2.0, 1) + &sheet("free", [160.0, 110.0], 3.0, 0.0, 2),
    );
    let plan = case.plan();
    assert_eq!((cost(&plan), bound(&plan)), (0.0, 0.0));
    assert_eq!(used(&plan), ["free", "free"]);
}

#[test]
fn with_no_kerf_and_no_spacing_pieces_fill_their_sheet_to_the_last_bit() {
    let mut case = Case::new(
        [300.0, 200.0],
        layer("base", 3.0, ""),
        sheet("long", [600.0, 100.0], 3.0, 0.9, 1) + &sheet("half", [300.0, 100.0], 3.0, 1.0, 2),
    );
    case.cutter = "kerf = 0\nspacing = 0\nedge_margin = 0\n".to_owned();
    let plan = case.plan();
    // Both halves of 300 × 100 side by side on 600 × 100, nothing between them and nothing left.
    assert_eq!((cost(&plan), used(&plan)), (0.9, vec!["long".to_owned()]));
    assert!((plan["metrics"]["yield"].as_f64().unwrap() - 1.0).abs() < WRITTEN);
    let mut ends: Vec<f64> = plan["placements"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["x"].as_f64().unwrap())
        .collect();
    ends.sort_by(f64::total_cmp);
    assert!((ends[1] - ends[0] - 300.0).abs() < WRITTEN, "{ends:?}");
}

#[test]
fn a_gap_wider_than_the_spacing_lets_sheets_be_smaller_than_the_layer() {
    let case = |width: f64| {
        let mut case = Case::new(
            [600.0, 400.0],
            layer("base", 3.0, ""),
            sheet("half", [width, 400.0], 3.0, 1.0, 2),
        );
        case.cutter = "kerf = 0\nspacing = 0\nedge_margin = 0\n".to_owned();
        case.seams = "pattern = \"straight\"\ngap = 0.2\n".to_owned();
        case
    };
    // Each face is drawn in by half the gap, so two pieces of 299.9 make 600.
    let plan = case(299.9).plan();
    assert_eq!(cost(&plan), 2.0);
    assert!(bound(&plan) <= 2.0);
    // With two seams 0.4 mm less is asked of the sheets; with as many as there can be, not 8000 mm² less.
    assert_eq!(cost(&case(299.8).plan()), 2.0);
    has_all(&case(290.0).refused(), &["(proved)"]);
}

#[test]
fn sheets_too_small_by_their_margins_are_told_with_the_area_that_is_missing() {
    let halves = |size: [f64; 2]| {
        let mut case = Case::new(
            [600.0, 400.0],
            layer("base", 3.0, ""),
            sheet("half", size, 3.0, 1.0, 2),
        );
        case.cutter = "kerf = 0.2\nspacing = 2\nedge_margin = 3\n".to_owned();
        case
    };
    // Grown by 1, without its rounded corners: 602 × 402 − (4 − π) = 242003.1 mm²; two of 304 × 404, drawn in by 2: 240000.
    let told = halves([304.0, 404.0]).refused();
    has_all(&told, &["(proved)", "2420.03 cm²", "2400 cm²", "20.03 cm²"]);
    assert_eq!(cost(&halves([306.0, 406.0]).plan()), 2.0);
    // A sheet of that area alone takes no piece; what is told does.
    assert_eq!(figure(&told, "with "), 1.0, "{told}");
    has_all(&told, &["1 more of `half`"]);
    let mut more = halves([304.0, 404.0]);
    more.stock = more.stock.replace("quantity = 2", "quantity = 3");
    assert!(n_pieces(&more.plan(), "base") > 1);
}

/// Two layers on boards of one size.
fn two_layers(size: [f64; 2], board: [f64; 2], n: usize, lines: &str) -> Case {
    let layers = layer("lower", 3.0, "") + &layer("upper", 3.0, "");
    Case::new(size, layers, sheet("board", board, 3.0, 1.0, n)).seams(lines)
}

#[test]
#[cfg_attr(
    debug_assertions,
    ignore = "a search of seconds, which takes ten times as long without optimisation"
)]
fn deep_teeth_of_neighbours_are_told_with_the_depth_that_works() {
    for pattern in ["knob", "dovetail", "finger"] {
        let lines = format!("pattern = \"{pattern}\"\ndepth = 150\n");
        let case = two_layers([500.0, 300.0], [320.0, 330.0], 12, &lines);
        let message = case.refused();
        assert!(!message.contains("(proved)"), "{message}");
        let depth = offer(&message, "depth");
        // By hand: each layer alone in two halves, one along x and one along y, needs no lap, but seams along x leave 150 mm
        // of 300; with depths of 60 the search finds a plan.
        assert!(millimetres(&depth) >= 60.0, "{message}");
        // Every number works when it alone is put into the job.
        for (key, value) in offers(&message) {
            case.with(&key, &value).plan();
        }
    }
}

#[test]
#[cfg_attr(
    debug_assertions,
    ignore = "a search of seconds, which takes ten times as long without optimisation"
)]
fn seams_too_near_are_told_with_the_lap_that_works() {
    // By hand: rooms of 325 × 300, so where a layer has one seam along y it lies between 175 and 325: 150 apart. Seams with a
    // step, or two of them, may do more.
    let lines = "pattern = \"straight\"\nmin_lap = 200\n";
    for n in [4, 8] {
        let case = two_layers([500.0, 300.0], [335.0, 310.0], n, lines);
        let message = case.refused();
        let lap = offer(&message, "min_lap");
        assert!(millimetres(&lap) >= 150.0, "{message}");
        case.with("min_lap", &lap).plan();
    }
    // A strip that only seams along y split: two seams of one layer, no more than 325 apart, around one of the other.
    let case = two_layers([500.0, 100.0], [335.0, 110.0], 4, lines);
    let message = case.refused();
    let lap = offer(&message, "min_lap");
    // The search for a first plan need not find the last millimetres.
    let figure = millimetres(&lap);
    assert!((150.0..=162.5).contains(&figure), "half of 325: {message}");
    case.with("min_lap", &lap).plan();
    case.with("min_lap", "\"163 mm\"").refused();
}

#[test]
fn pieces_that_are_too_large_for_short_sheets_are_told_with_the_size_that_works() {
    // By hand: 300 = 200 + 100 on one long sheet; the rest of 100 fits short sheets of 50 only in halves.
    let lines = "pattern = \"straight\"\nmin_piece = 60\n";
    let stock =
        sheet("long", [210.0, 110.0], 3.0, 1.0, 1) + &sheet("short", [60.0, 110.0], 3.0, 1.0, 4);
    let case = Case::new([300.0, 100.0], layer("base", 3.0, ""), stock).seams(lines);
    let message = case.refused();
    assert_eq!(offer(&message, "min_piece"), "\"50 mm\"", "{message}");
    case.with("min_piece", "\"50 mm\"").plan();
    case.with("min_piece", "\"51 mm\"").refused();
    has_all(&message, &["1 more of `long`"]);
    let mut more = case.clone();
    more.stock = more.stock.replacen("quantity = 1", "quantity = 2", 1);
    assert_eq!(n_pieces(&more.plan(), "base"), 2);
}

#[test]
fn what_helps_only_together_is_told_together() {
    // Too few boards for the area, and teeth too deep for those there are.
    let lines = "pattern = \"knob\"\ndepth = 150\nmin_lap = 100\n";
    let case = two_layers([500.0, 300.0], [320.0, 330.0], 2, lines);
    let message = case.refused();
    has_all(&message, &["(proved)", "together", "more of `board`"]);
    let more = figure(&message, "and ");
    let told = offers(&message);
    let mut eased = told.iter().fold(case, |c, (key, value)| c.with(key, value));
    assert!(!told.is_empty(), "{message}");
    eased.refused();
    let stock = format!("quantity = {}", 2.0 + more);
    eased.stock = eased.stock.replace("quantity = 2", &stock);
    eased.plan();
}

#[test]
fn cells_at_the_ends_of_a_strip_ask_the_reach_of_teeth_on_one_side_only() {
    let case = Case::new(
        [300.0, 80.0],
        layer("base", 6.0, ""),
        sheet("offcut", [200.0, 100.0], 6.0, 10.0, 3),
    )
    .seams("pattern = \"finger\"\ndepth = 100\n");
    // By hand: within the margins a sheet holds 190 or more, equal thirds with a tooth of 100 measure 200; thirds of equal
    // measure, teeth included, (300 + 2 · 100) / 3 = 166.7.
    let plan = case.plan();
    assert!((2..=3).contains(&n_pieces(&plan, "base")));
}

/// An outline 300 mm wide whose back edge zigzags in so many strokes from about `depth` − 65 to `depth`, the ends of all in
/// other places, so that a line along x between passes all of them.
fn zigzag(n: usize, depth: f64) -> String {
    let end = |k: usize| 3.0 * ((k * 7919 % n) as f64) / n as f64;
    let x = |k: usize| 300.0 * k as f64 / n as f64;
    let strokes = (0..n).map(|k| {
        // y runs down in the drawing.
        let y = 2.0 + end(k) + (k % 2) as f64 * 60.0;
        format!("{:.4},{y:.4} ", x(k))
    });
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"{depth}mm\" viewBox=\"0 0 300 {depth}\"><polygon points=\"{} {:.4},{depth} 0,{depth}\"/></svg>",
        strokes.collect::<String>(),
        x(n - 1),
    )
}

/// The strip with stars for holes, each of so many points, where `held_by_webs` has openings.
fn starry_plate(n: usize) -> String {
    let star = |cx: f64, cy: f64| -> String {
        // Around a circle of radius 5 by its rational parameters, every other corner drawn in to 4.
        let corner = |k: usize| {
            let t = 2.0 * ((k % n) as f64 + 0.5) / n as f64 - 1.0;
            let (x, y) = ((1.0 - t * t) / (1.0 + t * t), 2.0 * t / (1.0 + t * t));
            let r = if k.is_multiple_of(2) { 5.0 } else { 4.0 };
            let side = if k < n { r } else { -r };
            format!("{:.6} {:.6} ", cx + side * x, cy + side * y)
        };
        (0..2 * n).map(corner).collect()
    };
    let holes: String = (0..12)
        .map(|k| {
            let cy = if k % 2 == 0 { 25.0 } else { 55.0 };
            format!("M{}Z", star(40.0 + 20.0 * f64::from(k), cy))
        })
        .collect();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"80mm\" viewBox=\"0 0 300 80\"><path fill-rule=\"evenodd\" d=\"M0 0H300V80H0Z{holes}\"/></svg>"
    )
}

#[test]
#[cfg_attr(
    debug_assertions,
    ignore = "a search of seconds, which takes ten times as long without optimisation"
)]
fn what_was_not_looked_at_is_not_told_as_impossible() {
    let case = |n: usize| {
        strip("")
            .drawn(starry_plate(n))
            .seams("pattern = \"straight\"\nmin_web = 16\n")
    };
    let told = case(8).refused();
    assert!(
        told.contains("(proved)"),
        "all places are looked at: {told}"
    );
    // Without a search, which takes a minute here and finds nothing either: what can be proved ends with 3.
    let told = case(600).checked();
    assert!(
        told.contains("were not looked for"),
        "places are given up: {told}"
    );
    assert!(!told.contains("(proved)"), "{told}");
}

#[test]
#[cfg_attr(
    debug_assertions,
    ignore = "a search of seconds, which takes ten times as long without optimisation"
)]
fn places_at_which_no_seam_was_looked_for_are_told() {
    let case = |n: usize| {
        let sheets = sheet("MDF-3", [310.0, 150.0], 3.0, 1.0, 4);
        Case::new([300.0, 220.0], layer("core", 3.0, ""), sheets).drawn(zigzag(n, 220.0))
    };
    let told = |n: usize| {
        let plan = case(n).plan();
        let findings = plan["findings"].as_array().unwrap().clone();
        findings
            .into_iter()
            .filter(|f| f["code"] == "S115")
            .collect::<Vec<_>>()
    };
    assert_eq!(told(100), Vec::<Value>::new());
    let found = told(1500);
    assert_eq!(found.len(), 1, "{found:?}");
    let text = found[0].to_string();
    assert!(text.contains("layer core"), "{text}");
    assert!(text.contains("seams along x"), "{text}");
    let told = "seams along x were not looked for at places between y";
    assert!(case(1500).checked().contains(told), "without a search");
    assert!(!case(100).checked().contains("were not looked for"));
}

#[test]
fn a_seam_may_lie_where_both_pieces_enter_their_sheets_and_nowhere_else() {
    // By hand: 880 long, room of 600 − 2 · 5 = 590, so the seam lies at 290 to 590 and the other piece measures 290 or more. Fingers that
    // reach 20 to one side take 20 from that: 310 or more.
    let case = |rest: f64, lines: &str| {
        let sheets = sheet("large", [600.0, 110.0], 3.0, 2.0, 1)
            + &sheet("rest", [rest + 10.0, 110.0], 3.0, 1.0, 1);
        Case::new([880.0, 100.0], layer("base", 3.0, ""), sheets).seams(lines)
    };
    for (lines, least) in [
        ("pattern = \"straight\"\n", 290.0),
        ("pattern = \"finger\"\ntooth = 40\ndepth = 20\n", 310.0),
    ] {
        let plan = case(least, lines).plan();
        let [(_, _, runs, at)] = &seams(&plan)[..] else {
            panic!("one seam: {:?}", seams(&plan));
        };
        assert_eq!(runs, "y");
        // The seam is known to 0.02.
        assert!(
            (at - 290.0).abs() < 0.03 || (at - 570.0).abs() < 0.03 || (at - 590.0).abs() < 0.03,
            "{at}"
        );
        case(least - 0.1, lines).refused();
    }
}

#[test]
fn a_stack_that_hinges_is_told_whatever_lap_was_asked() {
    // Of 500 mm the halves fit sheets of 253 only where both seams lie between 247 and 253: 6 mm apart at the most, nearer than
    // a quarter of ten thicknesses.
    let layers = layer("base", 3.0, "") + &layer("face", 3.0, "");
    let mut case = Case::new(
        [500.0, 300.0],
        layers,
        sheet("half", [253.0, 300.0], 3.0, 1.0, 4),
    )
    .seams("pattern = \"straight\"\nmin_lap = 0\nbond = \"film\"\n");
    case.cutter = "kerf = 0\nedge_margin = 0\nspacing = 0\n".to_owned();
    let plan = case.plan();
    let findings = plan["findings"].as_array().unwrap();
    let of = |code: &str| findings.iter().find(|f| f["code"] == code).unwrap();
    let hinge = of("S101")["what"].as_str().unwrap();
    assert!(
        hinge.contains("`base` and `face`") && hinge.contains("hinges"),
        "{hinge}"
    );
    // Both layers are cut through there: nothing carries bending along x.
    let stiffness = &plan["metrics"]["seams"]["stacks"][0]["stiffness"]["x"];
    assert_eq!(
        (stiffness["bonded"].as_f64(), stiffness["dry"].as_f64()),
        (Some(0.0), Some(0.0))
    );
    // λ² = (0.5 / 0.13) · 2 / (2700 · 3) = 9.497e-4 per mm² for MDF at 2700 MPa, 3 / λ = 97.35, by hand.
    let bond = of("S105");
    assert!(
        (bond["limit"].as_f64().unwrap() - 97.35).abs() < 0.01,
        "{bond}"
    );
    assert!(bond["measured"].as_f64().unwrap() <= 6.0, "{bond}");
    // Seams that lie far enough apart are not told, however little was asked.
    let roomy = Case {
        stock: sheet("half", [300.0, 300.0], 3.0, 1.0, 4),
        ..case
    };
    let plan = roomy.with("min_lap", "\"60 mm\"").plan();
    let findings = plan["findings"].as_array().unwrap();
    assert!(findings.iter().all(|f| f["code"] != "S101"), "{findings:?}");
}
