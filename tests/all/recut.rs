//! Pieces of a finished plan cut once more: they are the first ones, lie on what is left, and nothing else changes.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Output;

use geo::{BooleanOps as _, Distance as _};
use serde_json::Value;

use crate::program::{err, run};

/// Two layers with holes that fit no sheet whole, cut twice, and three drawn parts; stock and its drawing lie beside the job's folder.
const JOB: &str = r#"
title = "Two <plates>"
stock = "../shelf/stock.toml"
copies = 2
[bed]
size = [420, 260]
locating = [{ at = [20, 20], thread = "M5" }, { at = [400, 240], thread = "M5", slot = 2 }]
[fixture]
size = [420, 260]
corner_radius = 9
[[layer]]
name = "base"
material = "acrylic"
thickness = 3
features = ["locating"]
[[layer]]
name = "face"
material = "acrylic"
thickness = 3
features = ["relief"]
[[part]]
name = "washer"
material = "acrylic"
thickness = 3
drawing = "washer.svg"
quantity = 3
turns = "none"
[seams]
pattern = "knob"
gap = 0.1
[cutter]
kerf = 0.16
[marks]
labels = false
[search]
rounds = 1
lanes = 2
remnant = [90, 90]
"#;
const STOCK: &str = r#"
[[sheet]]
id = "a"
material = "acrylic"
thickness = 3
size = [300, 300]
quantity = 12
cost = 5
[[sheet]]
id = "off"
material = "acrylic"
thickness = 3
drawing = "offcut.svg"
cost = 40
"#;
const WASHER: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60"><path d="M30 5 A25 25 0 0 1 30 55 A25 25 0 0 1 30 5 Z"/><circle cx="30" cy="30" r="8"/></svg>"#;

fn sheet_svg(width: u32, depth: u32) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{depth}mm" viewBox="0 0 {width} {depth}"><rect width="{width}" height="{depth}"/></svg>"#
    )
}

/// A job that was planned, in a folder of its own: `jobs/out`.
struct Room(tempfile::TempDir);

impl Room {
    fn new() -> Self {
        let room = Self(tempfile::tempdir().unwrap());
        room.write("jobs/job.toml", JOB);
        room.write("jobs/washer.svg", WASHER);
        room.write("shelf/stock.toml", STOCK);
        room.write("shelf/offcut.svg", &sheet_svg(280, 270));
        let done = room.run(&["plan", "jobs/job.toml"]);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        room
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    fn plan(&self, folder: &str) -> Value {
        serde_json::from_str(&self.text(&format!("{folder}/plan.json"))).unwrap()
    }

    fn run(&self, arguments: &[&str]) -> Output {
        run(self.0.path(), arguments, "2")
    }

    /// Cuts again from `jobs/out`, and gives the new plan.
    fn recut(&self, arguments: &[&str]) -> Value {
        let done = self.run(&[&["recut", "jobs/out"], arguments].concat());
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        self.plan("jobs/out-recut")
    }

    /// What is said where nothing can be cut again; nothing is written.
    fn refused(&self, arguments: &[&str], status: i32) -> String {
        let before = self.all();
        let done = self.run(arguments);
        assert_eq!(done.status.code(), Some(status), "{}", err(&done));
        assert_eq!(self.all(), before, "nothing is written: {arguments:?}");
        err(&done)
    }

    /// Every file below the room, by path.
    fn all(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let mut found = BTreeMap::new();
        gather(self.0.path(), &mut found);
        found
    }
}

fn gather(folder: &Path, found: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(&path, found);
        } else {
            let bytes = std::fs::read(&path).unwrap();
            found.insert(path, bytes);
        }
    }
}

fn list<'v>(plan: &'v Value, key: &str) -> &'v Vec<Value> {
    plan[key].as_array().unwrap()
}

fn ids(plan: &Value) -> Vec<&str> {
    let pieces = list(plan, "pieces").iter();
    pieces.map(|p| p["id"].as_str().unwrap()).collect()
}

fn by<'v>(plan: &'v Value, key: &str, word: &str, value: &Value) -> &'v Value {
    let mut all = list(plan, key).iter();
    all.find(|e| e[word] == *value).unwrap()
}

/// A region of a plan, its points mapped.
fn polygon(region: &Value, map: impl Fn(f64, f64) -> (f64, f64)) -> geo::Polygon<f64> {
    let ring = |ring: &Value| {
        let points = ring.as_array().unwrap().iter();
        let points = points.map(|p| map(p[0].as_f64().unwrap(), p[1].as_f64().unwrap()));
        geo::LineString::from(points.collect::<Vec<_>>())
    };
    let holes = region["holes"].as_array().unwrap().iter().map(ring);
    geo::Polygon::new(ring(&region["exterior"]), holes.collect())
}

/// Pieces as they lie, each with the id of its sheet.
fn laid(plan: &Value) -> Vec<(String, geo::Polygon<f64>)> {
    let placements = list(plan, "placements").iter();
    placements
        .map(|p| {
            let piece = by(plan, "pieces", "id", &p["piece"]);
            let (sin, cos) = p["rotation"].as_f64().unwrap().to_radians().sin_cos();
            let (dx, dy) = (p["x"].as_f64().unwrap(), p["y"].as_f64().unwrap());
            assert_eq!(p["mirrored"], false);
            let map = |x: f64, y: f64| (x * cos - y * sin + dx, x * sin + y * cos + dy);
            let sheet = p["sheet"].as_str().unwrap().to_owned();
            (sheet, polygon(&piece["region"], map))
        })
        .collect()
}

/// Bulges of all contours of a plan's DXF files.
fn bulges(room: &Room, folder: &str) -> Vec<f64> {
    let plan = room.plan(folder);
    let mut found = Vec::new();
    for sheet in list(&plan, "sheets") {
        let text = room.text(&format!("{folder}/{}", sheet["dxf"].as_str().unwrap()));
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        let pairs = lines.chunks_exact(2).filter(|p| p[0] == "42");
        found.extend(pairs.map(|p| p[1].parse::<f64>().unwrap()));
    }
    found
}

#[test]
fn pieces_are_the_first_ones_and_lie_on_what_is_left() {
    let room = Room::new();
    let first = room.plan("jobs/out");
    // What is left over from sheets by name: `from` in the stock afterwards.
    let again = room.recut(&["washer-3", "base-c2-1", "washer-2"]);
    assert_eq!(ids(&again), ["base-c2-1", "washer-2", "washer-3"]);
    assert_eq!(again["recut"], true);
    for piece in list(&again, "pieces") {
        let before = by(&first, "pieces", "id", &piece["id"]);
        assert_eq!(piece, before, "the same outline to the last digit written");
    }
    // Arcs stay arcs: each bulge that is cut now was cut then, whatever the turn.
    let (now, then) = (bulges(&room, "jobs/out-recut"), bulges(&room, "jobs/out"));
    assert!(now.iter().filter(|b| b.abs() > 0.01).count() > 8, "{now:?}");
    for bulge in now {
        let known = then.iter().any(|b| (b - bulge).abs() < 1e-6);
        assert!(known, "{bulge}: coordinates of bulges are rounded to 1e-9");
    }
    let _ = on_what_is_left(&room, &first, &again);
    // A small piece takes a leftover, which is cheaper than a new sheet.
    let other = Room::new();
    let small = other.recut(&["washer-1"]);
    let n_leftovers = on_what_is_left(&other, &other.plan("jobs/out"), &small);
    assert_eq!(n_leftovers, 1, "the washer takes something left over");
}

/// Each piece lies within its sheet, and where that is left over from a sheet of the first plan, clear of what was cut there.
/// Returns how many lie on something left over.
fn on_what_is_left(room: &Room, first: &Value, again: &Value) -> usize {
    let stock: toml::Table = room.text("jobs/out/stock-after.toml").parse().unwrap();
    let before = laid(first);
    let spacing = again["settings"]["spacing"].as_f64().unwrap();
    let mut n_leftovers = 0;
    for (sheet, piece) in laid(again) {
        let of = by(again, "sheets", "id", &Value::from(sheet));
        let region = polygon(&of["region"], |x, y| (x, y));
        let outside = geo::Area::unsigned_area(&piece.difference(&region));
        assert!(outside < 1e-6, "{outside} mm² outside of its sheet");
        let entry = stock["sheet"].as_array().unwrap().iter();
        let entry = entry
            .clone()
            .find(|e| e["id"].as_str() == of["stock"].as_str());
        let Some(from) = entry.unwrap().get("from").and_then(toml::Value::as_str) else {
            continue;
        };
        n_leftovers += 1;
        for (_, old) in before.iter().filter(|(s, _)| s == from) {
            let gap = geo::Euclidean.distance(&piece, old);
            // Leftovers keep the spacing from what was cut; outlines are chords within 0.01 mm.
            assert!(gap > spacing - 0.02, "{gap} from a piece cut before");
        }
    }
    n_leftovers
}

#[test]
fn all_pieces_of_a_layer_are_cut_beside_pieces_that_are_named() {
    let room = Room::new();
    let first = room.plan("jobs/out");
    let again = room.recut(&["washer-1", "--layer", "face"]);
    let wanted = ids(&first).into_iter();
    let wanted = wanted.filter(|id| id.starts_with("face-") || *id == "washer-1");
    assert_eq!(ids(&again), wanted.collect::<Vec<_>>());
    assert!(ids(&again).iter().any(|id| id.starts_with("face-c2-")));
    let seams = |plan: &Value| -> Vec<Value> {
        let all = list(plan, "seams").iter();
        all.filter(|s| s["layer"] == "face").cloned().collect()
    };
    assert_eq!(seams(&again), seams(&first));
    assert_eq!(list(&again, "seams").len(), seams(&first).len());
    let area = |plan: &Value| -> f64 {
        let all = list(plan, "pieces").iter();
        all.map(|p| geo::Area::unsigned_area(&polygon(&p["region"], |x, y| (x, y))))
            .sum()
    };
    let sheets = list(&again, "sheets").iter();
    let sheets: f64 = sheets
        .map(|s| geo::Area::unsigned_area(&polygon(&s["region"], |x, y| (x, y))))
        .sum();
    let told = again["metrics"]["yield"].as_f64().unwrap();
    // Chords err by 0.01 mm along outlines of some 10 m on 0.3 m² of sheets: 3e-4.
    assert!((told - area(&again) / sheets).abs() < 5e-4, "{told}");
}

#[test]
fn the_bytes_are_the_same_for_any_threads_and_nothing_else_changes() {
    let room = Room::new();
    let before = room.all();
    for (threads, folder) in [("1", "one"), ("2", "two")] {
        let arguments = ["recut", "jobs/out", "face-1", "washer-1", "-o", folder];
        let done = run(room.0.path(), &arguments, threads);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    }
    let mut after = room.all();
    let mut of = |folder: &str| {
        let root = room.path(folder);
        let names: Vec<PathBuf> = after
            .keys()
            .filter(|p| p.starts_with(&root))
            .cloned()
            .collect();
        let files = names.into_iter().map(|p| {
            let bytes = after.remove(&p).unwrap();
            (p.strip_prefix(&root).unwrap().to_owned(), bytes)
        });
        files.collect::<BTreeMap<_, _>>()
    };
    let (one, two) = (of("one"), of("two"));
    assert_eq!(one, two);
    let names: Vec<&str> = one.keys().filter_map(|p| p.to_str()).collect();
    for name in [
        "plan.json",
        "report.html",
        "stock-after.toml",
        "inputs/job.toml",
    ] {
        assert!(names.contains(&name), "{names:?}");
    }
    assert!(
        !names.contains(&"proof.pdf"),
        "the fixture's proof stands already"
    );
    assert_eq!(
        after, before,
        "the plan, the job and the stock stay as they are"
    );
}

#[test]
fn names_that_the_plan_does_not_have_are_told_all_at_once_with_near_ones() {
    let room = Room::new();
    let said = room.refused(
        &[
            "recut", "jobs/out", "bse-1", "washer-1", "washer-9", "zzzzzz", "washer-1", "--layer",
            "fase",
        ],
        2,
    );
    for part in [
        "no piece `bse-1`",
        "did you mean `base-1`",
        "no piece `washer-9`",
        "did you mean `washer-1`, `washer-2`, `washer-3`",
        "no piece `zzzzzz`",
        "it has `base-1`",
        "`washer-1` is named twice",
        "no layer `fase`",
        "did you mean `base`, `face`",
        "--> jobs/out/plan.json",
        "5 errors",
    ] {
        assert!(said.contains(part), "{part} is missing in\n{said}");
    }
    let said = room.refused(&["recut", "jobs/out"], 2);
    assert!(said.contains("PIECE"), "{said}");
}

#[test]
fn a_plan_or_inputs_that_were_changed_are_refused() {
    let room = Room::new();
    let (plan, job) = (
        room.text("jobs/out/plan.json"),
        room.text("jobs/out/inputs/job.toml"),
    );
    let try_with = |plan: &str, job: &str| {
        room.write("jobs/out/plan.json", plan);
        room.write("jobs/out/inputs/job.toml", job);
        room.refused(&["recut", "jobs/out", "base-1", "washer-1"], 2)
    };
    // The first number of the first piece's outline, and the first position of a seam.
    let moved = |after: &str| {
        let at = plan.find(after).unwrap() + after.len();
        let at = at + plan[at..].find(|c: char| c.is_ascii_digit()).unwrap();
        format!("{}1{}", &plan[..at], &plan[at..])
    };
    let said = try_with(
        &moved("\"id\": \"base-1\", \"layer\": \"base\", \"copy\": 1, \"region\": "),
        &job,
    );
    assert!(
        said.contains("piece `base-1` is not what its inputs"),
        "{said}"
    );
    let said = try_with(&moved("\"at\": ["), &job);
    assert!(said.contains("changed"), "{said}");
    let said = try_with(&plan, &job.replace("kerf = 0.16", "kerf = 0.2"));
    assert!(
        said.contains("`kerf` is 0.2 by the inputs, the plan says 0.16"),
        "{said}"
    );
    let said = try_with(
        &plan,
        &job.replace("corner_radius = 9", "corner_radius = 8"),
    );
    assert!(said.contains("changed"), "{said}");
    let said = try_with(&plan.replace("\"splits\"", "\"slits\""), &job);
    assert!(said.contains("it has no list `splits`"), "{said}");
    let said = try_with(
        &plan.replace("\"across\": [", "\"across\": [[], [], [], "),
        &job,
    );
    assert!(
        said.contains("`splits[0]` is no split of a layer"),
        "{said}"
    );
    let said = try_with("{", &job);
    assert!(
        said.contains("it is no JSON") && said.contains("hint"),
        "{said}"
    );
    room.write("jobs/out/plan.json", &plan);
    room.write("jobs/out/inputs/job.toml", &job);
    room.recut(&["base-1", "washer-1"]);
}

#[test]
fn stock_that_is_not_enough_ends_with_3_and_what_is_missing() {
    let room = Room::new();
    let sheet = |size: &str| {
        format!("[[sheet]]\nid = \"s\"\nmaterial = \"acrylic\"\nthickness = 3\nsize = {size}\n")
    };
    room.write("small.toml", &sheet("[80, 70]"));
    let said = room.refused(&["recut", "jobs/out", "base-1", "--stock", "small.toml"], 3);
    assert!(
        said.contains("proved") && said.contains("no sheet of acrylic 3 mm takes `base-1`"),
        "{said}"
    );
    // Washers of 50 mm keep 5 mm from edges and 2 mm from each other: two find room on 120 mm, three do not; by hand.
    room.write("short.toml", &sheet("[120, 70]"));
    let said = room.refused(
        &[
            "recut",
            "jobs/out",
            "washer-1",
            "washer-2",
            "washer-3",
            "--stock",
            "short.toml",
            "--rounds",
            "1",
        ],
        3,
    );
    assert!(
        said.contains("`washer-3`") || said.contains("1 of 3 pieces"),
        "{said}"
    );
    room.write("felt.toml", &sheet("[900, 900]").replace("acrylic", "felt"));
    let said = room.refused(&["recut", "jobs/out", "base-1", "--stock", "felt.toml"], 3);
    assert!(said.contains("acrylic"), "{said}");
}

#[test]
fn a_stock_file_that_is_named_is_cut_from_with_its_own_drawings() {
    let room = Room::new();
    let sheet = |drawing: &str| {
        format!(
            "[[sheet]]\nid = \"odd\"\nmaterial = \"acrylic\"\nthickness = 3\ndrawing = \"{drawing}\"\n"
        )
    };
    room.write("else/rest.toml", &sheet("rest.svg"));
    room.write("else/rest.svg", &sheet_svg(310, 290));
    let again = room.recut(&["face-1", "--stock", "else/rest.toml"]);
    assert_eq!(list(&again, "sheets")[0]["stock"], "odd");
    // What was cut again can be cut again, from what is left then or from elsewhere.
    room.write("third.toml", &sheet("rest.svg"));
    room.write("rest.svg", &sheet_svg(320, 300));
    for more in [&[][..], &["--stock", "third.toml"]] {
        let done =
            room.run(&[&["recut", "jobs/out-recut", "face-1", "-o", "third"], more].concat());
        if more.is_empty() {
            assert_eq!(
                done.status.code(),
                Some(3),
                "the only sheet is used: {}",
                err(&done)
            );
        } else {
            // `rest.svg` of the recut is another drawing than this one: it would take its place.
            assert_eq!(done.status.code(), Some(2), "{}", err(&done));
            assert!(
                err(&done).contains("another one than the plan's"),
                "{}",
                err(&done)
            );
        }
    }
    room.write("third.toml", &sheet("third.svg"));
    room.write("third.svg", &sheet_svg(320, 300));
    let done = room.run(&[
        "recut",
        "jobs/out-recut",
        "face-1",
        "-o",
        "third",
        "--stock",
        "third.toml",
    ]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    let third = room.plan("third");
    assert_eq!(list(&third, "pieces"), list(&again, "pieces"));
    // A fault of the stock is told at its place in the file that was named.
    room.write(
        "third.toml",
        &sheet("third.svg").replace("thickness = 3", "thickness = 3\nwidht = 5"),
    );
    let said = room.refused(&["recut", "jobs/out", "face-1", "--stock", "third.toml"], 2);
    assert!(said.contains("third.toml:5:1"), "{said}");
}

#[test]
fn the_plan_and_the_stock_file_are_never_written_over() {
    let room = Room::new();
    for (target, part) in [
        ("jobs/out", "the plan to cut again from lies in it"),
        ("jobs", "the plan to cut again from lies in it"),
        ("jobs/out/more/again", "which stays as it is"),
    ] {
        let said = room.refused(&["recut", "jobs/out", "face-1", "--force", "-o", target], 4);
        assert!(said.contains(part), "{target}: {said}");
    }
    room.recut(&["face-1"]);
    let stock = "jobs/out-recut/stock-after.toml";
    let said = room.refused(&["recut", "jobs/out", "washer-1", "--stock", stock], 4);
    assert!(said.contains("the stock file lies in it"), "{said}");
    let done = room.run(&[
        "recut", "jobs/out", "washer-1", "--stock", stock, "-o", "next",
    ]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert_eq!(ids(&room.plan("next")), ["washer-1"]);
}
