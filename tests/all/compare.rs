//! A job planned with each pattern of seams: what is told equals what `plan` tells, in three files that agree.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::path::PathBuf;
use std::process::Output;

use seamwright::model::comparison::Fit;
use seamwright::model::cutter::CutterKind;
use serde_json::Value;

use crate::program::{err, run};

const PATTERNS: [&str; 6] = ["straight", "wave", "zigzag", "dovetail", "knob", "finger"];

/// Two layers that fit no sheet whole. `@…@` are filled in.
const JOB: &str = r#"
title = "Two <plates>"
stock = "stock.toml"
[fixture]
size = [420, 260]
[[layer]]
name = "base"
material = "acrylic"
thickness = 3
[[layer]]
name = "face"
material = "acrylic"
thickness = 3
@face@
[seams]
pattern = "@pattern@"
gap = @gap@
@seams@
bond = "film"
[cutter]
kerf = 0.16
[search]
rounds = 1
lanes = 2
"#;
const STOCK: &str = "[[sheet]]\nid = \"a\"\nmaterial = \"acrylic\"\nthickness = 3\nsize = [300, 300]\nquantity = 4\ncost = 5\n[[sheet]]\nid = \"b\"\nmaterial = \"acrylic\"\nthickness = 3\nsize = [400, 300]\nquantity = 2\ncost = 8\n";

/// A job in a folder of its own.
struct Room(tempfile::TempDir);

impl Room {
    fn new(fill: &[(&str, &str)]) -> Self {
        let room = Self(tempfile::tempdir().unwrap());
        std::fs::write(room.path("stock.toml"), STOCK).unwrap();
        room.job("job.toml", fill);
        room
    }

    fn job(&self, name: &str, fill: &[(&str, &str)]) {
        let usual = [
            ("pattern", "knob"),
            ("gap", "0.1"),
            ("seams", ""),
            ("face", ""),
        ];
        let text = fill
            .iter()
            .chain(&usual)
            .fold(JOB.to_owned(), |t, (k, v)| t.replace(&format!("@{k}@"), v));
        std::fs::write(self.path(name), text).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        run(self.0.path(), arguments, "2")
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    fn json(&self, name: &str) -> Value {
        serde_json::from_str(&self.text(name)).unwrap()
    }

    /// Compares, and gives what `comparison.json` tells.
    fn compared(&self, arguments: &[&str]) -> Value {
        let done = self.run(&[&["compare", "job.toml"], arguments].concat());
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        self.json("out/comparison.json")
    }
}

fn out(done: &Output) -> String {
    String::from_utf8_lossy(&done.stdout).into_owned()
}

fn words(all: &Value) -> Vec<&str> {
    let rows = all["patterns"].as_array().unwrap();
    rows.iter()
        .map(|r| r["pattern"].as_str().unwrap())
        .collect()
}

#[test]
fn patterns_that_are_wrong_are_refused_with_the_way_out() {
    let room = Room::new(&[]);
    for (told, expected) in [
        ("dovetial", "did you mean `dovetail`?"),
        ("knob,knob", "`knob` is named twice; name each pattern once"),
        (
            "knob,",
            "one of straight, wave, zigzag, dovetail, knob, finger",
        ),
        ("none", "`none` is no pattern"),
    ] {
        let done = room.run(&["compare", "job.toml", "--patterns", told]);
        assert_eq!(done.status.code(), Some(2), "{told}");
        assert!(err(&done).contains(expected), "{told}: {}", err(&done));
    }
    let done = room.run(&["compare", "job.toml", "--fit", "los"]);
    assert_eq!(done.status.code(), Some(2));
    assert!(
        err(&done).contains("did you mean `loose`?"),
        "{}",
        err(&done)
    );
    assert!(!room.path("out").exists(), "nothing was written");
    let help = out(&room.run(&["compare", "--help"]));
    for option in [
        "--patterns",
        "--fit",
        "--seconds",
        "--rounds",
        "--seed",
        "--output",
    ] {
        assert!(help.contains(option), "{option} is not in the help");
    }
}

#[test]
fn patterns_come_in_the_order_asked_for_and_all_six_without_asking() {
    let room = Room::new(&[]);
    let some = room.compared(&["--patterns", "knob, straight", "--rounds", "0"]);
    assert_eq!(words(&some), ["knob", "straight"]);
    let all = room.compared(&["--rounds", "0"]);
    assert_eq!(words(&all), PATTERNS);
}

#[test]
fn one_thread_and_two_write_the_same_bytes() {
    let room = Room::new(&[]);
    for threads in ["1", "2"] {
        let folder = format!("out{threads}");
        let arguments = ["compare", "job.toml", "--rounds", "2", "-o", &folder];
        let done = run(room.0.path(), &arguments, threads);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    }
    for name in ["comparison.json", "comparison.csv", "comparison.html"] {
        let (one, two) = (
            room.text(&format!("out1/{name}")),
            room.text(&format!("out2/{name}")),
        );
        assert!(one == two, "{name} differs");
        assert!(one.len() > 200, "{name} says something");
    }
}

#[test]
fn a_row_is_what_plan_makes_of_the_job_with_that_pattern() {
    let room = Room::new(&[]);
    let all = room.compared(&["--rounds", "1"]);
    for (row, pattern) in all["patterns"].as_array().unwrap().iter().zip(PATTERNS) {
        room.job("one.toml", &[("pattern", pattern)]);
        let done = room.run(&["plan", "one.toml", "-o", "one", "--rounds", "1"]);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        let plan = room.json("one/plan.json");
        assert_eq!(row["metrics"], plan["metrics"], "{pattern}");
        assert_eq!(row["findings"], plan["findings"], "{pattern}");
        let (figures, metrics) = (&row["figures"], &plan["metrics"]);
        let stack = &metrics["seams"]["stacks"][0];
        let pieces = plan["pieces"].as_array().unwrap().len();
        assert_eq!(figures["pieces"].as_u64(), Some(pieces as u64));
        for (figure, told) in [
            ("stock_cost", &metrics["stock_cost"]),
            ("sheets_used", &metrics["sheets_used"]),
            ("yield", &metrics["yield"]),
            ("seam_length", &stack["length"]),
            ("toothed", &stack["toothed"]),
            ("neck", &stack["neck"]),
            ("stiffness_x_bonded", &stack["stiffness"]["x"]["bonded"]),
            ("stiffness_y_dry", &stack["stiffness"]["y"]["dry"]),
            ("added_time", &stack["added_time_s"]),
        ] {
            assert_eq!(&figures[figure], told, "{pattern}: {figure}");
        }
        for (figure, told) in [
            ("play_along", "along"),
            ("play_closing", "closing"),
            ("play_opening", "opening"),
            ("play_turn", "turn"),
        ] {
            let told = &stack["play"][told];
            if told.is_null() {
                assert_eq!(figures[figure], "no limit", "{pattern}: {figure}");
            } else {
                assert_eq!(&figures[figure], told, "{pattern}: {figure}");
            }
        }
        let holds = stack["play"]["holds"].as_array().unwrap();
        let holds: Vec<&str> = holds.iter().map(|w| w.as_str().unwrap()).collect();
        assert_eq!(figures["holds"], holds.join(" "), "{pattern}");
    }
    let straight = &all["patterns"][0]["figures"];
    assert_eq!(
        straight["play_along"], "no limit",
        "nothing holds a straight seam along"
    );
    assert_eq!(
        all["patterns"][4]["figures"]["holds"], "along closing opening turn",
        "knobs"
    );
}

#[test]
fn the_best_of_each_row_is_the_least_or_the_most_of_it() {
    let room = Room::new(&[]);
    let all = room.compared(&["--rounds", "1"]);
    let mut seen = 0;
    for figure in all["figures"].as_array().unwrap() {
        let key = figure["figure"].as_str().unwrap();
        let sign = match figure["better"].as_str().unwrap() {
            "less" => -1.0,
            "more" => 1.0,
            _ => continue,
        };
        let rows = all["patterns"].as_array().unwrap();
        let values = rows
            .iter()
            .filter_map(|r| Some((r, r["figures"][key].as_f64()? * sign)));
        let values: Vec<(&Value, f64)> = values.collect();
        if values.is_empty() {
            continue;
        }
        let most = values.iter().map(|v| v.1).fold(f64::NEG_INFINITY, f64::max);
        let best = values.iter().filter(|v| v.1 == most);
        let best: Vec<Value> = best.map(|v| v.0["pattern"].clone()).collect();
        assert_eq!(figure["best"], Value::from(best), "{key}");
        seen += 1;
    }
    assert!(seen > 12, "only {seen} figures were looked at");
    let holds = all["figures"].as_array().unwrap();
    let holds = holds.iter().find(|f| f["figure"] == "holds").unwrap();
    assert_eq!(holds["best"], serde_json::json!(["dovetail", "knob"]));
}

/// A line of CSV as cells.
fn cells(line: &str) -> Vec<String> {
    let (mut out, mut quoted) = (vec![String::new()], false);
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                out.last_mut().unwrap().push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            c => out.last_mut().unwrap().push(c),
        }
    }
    out
}

#[test]
fn the_table_has_the_figures_of_the_json() {
    let room = Room::new(&[]);
    let all = room.compared(&["--rounds", "1"]);
    let text = room.text("out/comparison.csv");
    let mut lines = text.lines().map(cells);
    let head = lines.next().unwrap();
    let rows: Vec<Vec<String>> = lines.collect();
    assert_eq!(rows.len(), 6);
    let figures = all["figures"].as_array().unwrap();
    assert_eq!(
        head.len(),
        figures.len() + 4,
        "pattern, outcome, rounds, reason"
    );
    for (cells, row) in rows.iter().zip(all["patterns"].as_array().unwrap()) {
        assert_eq!(cells.len(), head.len());
        assert_eq!(row["pattern"], cells[0].as_str());
        for (k, figure) in figures.iter().enumerate() {
            let key = figure["figure"].as_str().unwrap();
            assert!(head[k + 2].starts_with(key), "{} for {key}", head[k + 2]);
            if figure["unit"] == "mm" {
                assert!(
                    head[k + 2].ends_with("_mm"),
                    "units stand in the head: {key}"
                );
            }
            match &row["figures"][key] {
                Value::Number(n) => {
                    assert_eq!(cells[k + 2].parse::<f64>().ok(), n.as_f64(), "{key}");
                }
                Value::String(words) => assert_eq!(&cells[k + 2], words, "{key}"),
                other => assert!(other.is_null() && cells[k + 2].is_empty(), "{key}"),
            }
        }
    }
}

#[test]
fn the_page_draws_every_pattern_at_its_size_and_every_stack() {
    let room = Room::new(&[]);
    let all = room.compared(&["--rounds", "0", "--fit", "loose"]);
    let page = room.text("out/comparison.html");
    for pattern in PATTERNS {
        let title = format!("<title>Pattern {pattern} at 1:1</title>");
        assert_eq!(page.matches(&title).count(), 1, "{pattern}");
        let before = &page[..page.find(&title).unwrap()];
        let svg = &before[before.rfind("<svg").unwrap()..];
        let attribute = |name: &str| {
            let from = svg.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
            svg[from..].split('"').next().unwrap().to_owned()
        };
        let view = attribute("viewBox");
        let view: Vec<f64> = view.split(' ').map(|v| v.parse().unwrap()).collect();
        for (name, size) in [("width", view[2]), ("height", view[3])] {
            let told = attribute(name);
            let told: f64 = told.strip_suffix("mm").unwrap().parse().unwrap();
            assert_eq!(told, size, "{pattern}: a unit of the drawing is a mm");
        }
        assert!(view[2] < 186.0, "A4 less two margins of 12: {}", view[2]);
        assert!(page.contains(&format!("<title>Seams of the stack, {pattern}</title>")));
    }
    // The two layers have a line each: one drawn through, one in dashes.
    assert_eq!(
        page.matches("stroke-dasharray=\"12 5\"").count(),
        page.matches("class=\"over\" d=\"").count()
            - page.matches("stroke-dasharray=\"none\"").count()
    );
    assert!(
        page.contains("✓ best"),
        "marked in words, not by colour alone"
    );
    assert!(page.contains(all["choice"].as_str().unwrap()));
    assert!(page.contains("Two &lt;plates&gt;") && !page.contains("<plates>"));
    assert!(
        page.contains("0.2 mm") && page.contains("loose fit"),
        "the gap is told"
    );
}

#[test]
fn classes_of_fit_widen_the_gap_of_the_plan() {
    for kind in [CutterKind::Laser, CutterKind::Router] {
        let [press, sliding, loose] = Fit::ALL.map(|f| f.gap(kind));
        assert!(press < sliding && sliding < loose, "{kind:?}");
    }
    let room = Room::new(&[]);
    let mut last = f64::NEG_INFINITY;
    for (fit, gap) in [("press", 0.0), ("sliding", 0.075), ("loose", 0.2)] {
        let all = room.compared(&["--rounds", "0", "--patterns", "straight", "--fit", fit]);
        assert_eq!(
            all["settings"]["seam_gap"],
            serde_json::json!(gap).as_f64().unwrap(),
            "{fit}"
        );
        assert_eq!(all["settings"]["fit"], fit);
        // A straight seam closes by its gap: c = g.
        let closing = all["patterns"][0]["figures"]["play_closing"]
            .as_f64()
            .unwrap();
        assert!(
            (closing - gap).abs() < 1e-6 && closing > last,
            "{fit}: {closing}"
        );
        last = closing;
    }
    let own = room.compared(&["--rounds", "0", "--patterns", "straight"]);
    assert_eq!(own["settings"]["seam_gap"], 0.1, "the job's");
    assert!(own["settings"]["fit"].is_null());
}

#[test]
fn a_pattern_without_a_plan_is_a_row_with_its_reason() {
    // Four sheets that take 236 of a layer 420 wide: two pieces a layer, of which teeth 150 deep would make one 150 wider.
    let room = Room::new(&[("seams", "tooth = 120\ndepth = 150")]);
    let stock = STOCK
        .split("[[sheet]]")
        .nth(1)
        .unwrap()
        .replace("300, 300", "246, 280");
    std::fs::write(room.path("stock.toml"), format!("[[sheet]]{stock}")).unwrap();
    let done = room.run(&[
        "compare",
        "job.toml",
        "--rounds",
        "0",
        "--patterns",
        "straight,finger",
    ]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    let all = room.json("out/comparison.json");
    let [straight, finger] = [0, 1].map(|k| &all["patterns"][k]);
    assert_eq!(straight["outcome"], "planned");
    assert_ne!(finger["outcome"], "planned", "{finger}");
    let reason = finger["reasons"][0].as_str().unwrap();
    assert!(!reason.is_empty() && finger["figures"].is_null());
    assert!(out(&done).contains("finger    no plan ("), "{}", out(&done));
    let page = room.text("out/comparison.html");
    assert!(page.contains("Without a plan"));
    let line = room.text("out/comparison.csv");
    let line = cells(line.lines().last().unwrap());
    assert!(line.last().unwrap().starts_with(reason), "{line:?}");
    // Alone it is a job without a plan.
    let alone = room.run(&[
        "compare",
        "job.toml",
        "--rounds",
        "0",
        "--patterns",
        "finger",
        "-o",
        "x",
    ]);
    assert_eq!(alone.status.code(), Some(3), "{}", err(&alone));
    assert!(
        err(&alone).contains("finger: ") && !room.path("x").exists(),
        "{}",
        err(&alone)
    );
}

#[test]
fn layers_with_a_seam_of_their_own_keep_it() {
    let room = Room::new(&[("face", "seam = \"straight\"")]);
    let all = room.compared(&["--rounds", "0", "--patterns", "straight,knob"]);
    assert_eq!(all["settings"]["own_pattern"], serde_json::json!(["face"]));
    let toothed =
        |layer: usize| &all["patterns"][1]["metrics"]["seams"]["layers"][layer]["toothed"];
    assert!(toothed(0).as_f64().unwrap() > 0.5, "knobs");
    assert_eq!(toothed(1).as_f64(), Some(0.0), "straight");
    let text = room
        .text("job.toml")
        .replace("name = \"base\"", "name = \"base\"\nseam = \"none\"");
    std::fs::write(room.path("job.toml"), text).unwrap();
    let none = room.run(&["compare", "job.toml", "--rounds", "0"]);
    assert_eq!(none.status.code(), Some(2), "nothing is left to compare");
    assert!(
        err(&none).contains("error[J029]") && err(&none).contains("leave `seam` out"),
        "{}",
        err(&none)
    );
}

#[test]
fn a_plan_in_the_folder_stays_and_the_next_plan_replaces_both() {
    let room = Room::new(&[]);
    let plan = ["plan", "job.toml", "--rounds", "0"];
    assert_eq!(room.run(&plan).status.code(), Some(0));
    let before = room.text("out/plan.json");
    for _ in 0..2 {
        room.compared(&["--rounds", "0", "--patterns", "straight"]);
        assert!(room.text("out/plan.json") == before && room.path("out/report.html").is_file());
        assert!(room.path("out/inputs/stock.toml").is_file());
    }
    let done = room.run(&plan);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(
        !room.path("out/comparison.json").exists(),
        "it told of another plan"
    );
    std::fs::write(room.path("out/note.txt"), "keep me").unwrap();
    let done = room.run(&[
        "compare",
        "job.toml",
        "--rounds",
        "0",
        "--patterns",
        "straight",
    ]);
    assert_eq!(
        done.status.code(),
        Some(4),
        "somebody else's file is left alone"
    );
    assert_eq!(room.text("out/note.txt"), "keep me");
}

#[test]
fn progress_and_summary_name_each_pattern() {
    let room = Room::new(&[]);
    let arguments = [
        "compare",
        "job.toml",
        "--rounds",
        "0",
        "--patterns",
        "wave,knob",
    ];
    let done = room.run(&[&arguments[..], &["--progress", "lines"]].concat());
    assert!(
        err(&done).contains(" 1 of 2: wave · ") && err(&done).contains(" 2 of 2: knob · "),
        "{}",
        err(&done)
    );
    for line in [
        "compared: 2 patterns, gap 0.1 mm",
        "  wave  ",
        "  choice    ",
        "--rounds 0 --seed 1 gives the same bytes",
    ] {
        assert!(
            out(&done).contains(line),
            "{line:?} is missing in\n{}",
            out(&done)
        );
    }
    let quiet = room.run(&[&arguments[..], &["--quiet"]].concat());
    assert!(out(&quiet).is_empty() && err(&quiet).is_empty());
}
