//! The files of a plan: which there are, what stands in them, and that no name of the user's can add anything to them.

#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::collections::BTreeMap;

use seamwright::job::Overrides;
use seamwright::job::error::ReadFault;
use seamwright::model::progress::{Event, Watch};
use seamwright::pipeline;
use seamwright::planner::options::Budget;

type Files = BTreeMap<String, Vec<u8>>;

/// A watch that never asks to stop.
struct Patient;

impl Watch for Patient {
    fn elapsed_s(&self) -> f64 {
        0.0
    }
    fn stop_asked(&self) -> bool {
        false
    }
    fn tell(&self, _: Event) {}
}

/// A tray of two layers that fits no sheet whole; twelve pockets less one. `@…@` are names to fill in.
const TRAY: &str = r#"
title = "@title@"
stock = "stock.toml"
[order]
quantity = 25
[bed]
size = [320, 220]
datum = "front-right"
locating = [{ at = [24, 24], thread = "M5" }, { at = [296, 196], thread = "M5", slot = 2 }]
[fixture]
size = [300, 200]
at = [10, 10]
corner_radius = 6
[blank]
shape = { rect = [40, 30], radius = 3 }
thickness = 3
clearance = 0.2
[grid]
pitch = [64, 52]
columns = 4
rows = 3
first = [43, 43]
skip = [[3, 2]]
[[layer]]
name = "@base@"
material = "@board@"
thickness = 3
features = ["locating"]
[[layer]]
name = "@face@"
material = "acrylic"
thickness = 6
features = ["relief", "pocket"]
[seams]
min_lap = 10
min_web = 4
[cutter]
kind = "laser"
kerf = 0.2
"#;

const STOCK: &str = r#"
[[sheet]]
id = "board"
material = "@board@"
thickness = 3
size = [320, 220]
quantity = 3
[[sheet]]
id = "clear"
material = "acrylic"
thickness = 6
size = [270, 220]
quantity = 4
cost = 5.06
measured = 5.8
finish = "matte"
"#;

/// Only parts, from a roll.
const PARTS: &str = r#"
stock = "stock.toml"
[[part]]
name = "disc"
material = "felt"
thickness = 2
drawing = "disc.dxf"
quantity = 3
[cutter]
kerf = 0
"#;

const ROLL: &str = r#"
[[sheet]]
id = "roll"
material = "felt"
thickness = 2
size = [2000, 500]
sold_by = "length"
cost = 20
quantity = 2
"#;

/// A circle of radius 40 as a DXF.
const DISC: &str =
    "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n50\n20\n50\n40\n40\n0\nENDSEC\n0\nEOF\n";

const PLAIN: [(&str, &str); 4] = [
    ("title", "Tray"),
    ("base", "base"),
    ("face", "face"),
    ("board", "MDF"),
];

fn filled(text: &str, names: &[(&str, &str)]) -> String {
    names.iter().fold(text.to_owned(), |text, (key, name)| {
        // The names stand in TOML strings.
        let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
        text.replace(&format!("@{key}@"), &quoted)
    })
}

fn plan(job: &str, named: &[(&str, &str)]) -> Files {
    let files = |name: &str| -> Result<Vec<u8>, ReadFault> {
        let found = named.iter().find(|(n, _)| *n == name);
        found
            .map(|(_, text)| text.as_bytes().to_vec())
            .ok_or(ReadFault::Missing)
    };
    let rounds = Overrides {
        budget: Some(Budget::Rounds(0)),
        ..Overrides::default()
    };
    let done = pipeline::plan("job.toml", job, &files, &rounds, &Patient);
    done.unwrap_or_else(|e| panic!("{e:#?}"))
        .files
        .into_iter()
        .collect()
}

fn tray(names: &[(&str, &str)]) -> Files {
    plan(
        &filled(TRAY, names),
        &[("stock.toml", &filled(STOCK, names))],
    )
}

fn text<'f>(files: &'f Files, name: &str) -> &'f str {
    std::str::from_utf8(&files[name]).unwrap()
}

fn json(files: &Files) -> serde_json::Value {
    serde_json::from_slice(&files["plan.json"]).unwrap()
}

fn points(ring: &serde_json::Value) -> Vec<(f64, f64)> {
    let pair = |p: &serde_json::Value| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap());
    ring.as_array().unwrap().iter().map(pair).collect()
}

/// Shoelace: twice the signed area is the sum of cross products.
fn area(ring: &[(f64, f64)]) -> f64 {
    let n = ring.len();
    let cross = |i: usize| ring[i].0 * ring[(i + 1) % n].1 - ring[(i + 1) % n].0 * ring[i].1;
    (0..n).map(cross).sum::<f64>() / 2.0
}

// ---- which files, and plan.json -------------------------------------------------------------------------------------

#[test]
fn a_folder_holds_the_files_that_its_job_asks_for() {
    let files = tray(&PLAIN);
    let plan = json(&files);
    let mut want: Vec<String> = [
        "inputs/job.toml",
        "inputs/stock.toml",
        "outline.dxf",
        "outline.svg",
        "plan.json",
        "pockets.csv",
        "proof.pdf",
        "proof.svg",
        "report.html",
        "stock-after.toml",
    ]
    .map(str::to_owned)
    .to_vec();
    for sheet in plan["sheets"].as_array().unwrap() {
        want.extend(["dxf", "svg"].map(|k| sheet[k].as_str().unwrap().to_owned()));
    }
    want.sort();
    assert_eq!(files.keys().cloned().collect::<Vec<_>>(), want);
    assert!(
        files.values().all(|bytes| !bytes.is_empty()),
        "no file is empty"
    );
    assert_eq!(
        files["inputs/stock.toml"],
        filled(STOCK, &PLAIN).into_bytes(),
        "inputs as they were read"
    );

    let parts = plan_parts();
    assert!(
        [
            "proof.pdf",
            "proof.svg",
            "outline.dxf",
            "outline.svg",
            "pockets.csv"
        ]
        .iter()
        .all(|n| !parts.contains_key(*n)),
        "a job without layers has no face"
    );
    assert_eq!(parts["inputs/disc.dxf"], DISC.as_bytes());
}

fn plan_parts() -> Files {
    plan(PARTS, &[("stock.toml", ROLL), ("disc.dxf", DISC)])
}

#[test]
fn a_plan_tells_everything_in_one_order() {
    let plan = json(&tray(&PLAIN));
    let keys = |v: &serde_json::Value| v.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(
        keys(&plan)[..10],
        [
            "format",
            "settings",
            "layers",
            "parts",
            "seams",
            "pieces",
            "sheets",
            "placements",
            "pockets",
            "metrics"
        ]
    );
    assert_eq!(
        keys(&plan["settings"]),
        [
            "kind",
            "kerf",
            "seam_gap",
            "spacing",
            "edge_margin",
            "min_lap",
            "keep_clear",
            "min_piece",
            "flip",
            "turns",
            "compensate",
            "corner_relief",
            "tabs",
            "lead_in",
            "seed",
            "lanes",
            "rounds"
        ]
    );
    assert_eq!(plan["settings"]["rounds"], 0);
    assert_eq!(
        plan["pockets"].as_array().unwrap().len(),
        11,
        "4 · 3 less the one left out"
    );
    let slot = &plan["layers"][0]["locating"][1];
    assert_eq!(
        (slot["diameter"].as_f64(), slot["slot"].as_f64()),
        (Some(5.5), Some(2.0)),
        "ISO 273 medium M5; the job's slot"
    );
    assert_eq!(
        plan["layers"][1]["relief"][1]["angle"], slot["angle"],
        "reliefs of slots repeat slot and angle"
    );
    assert!(plan["layers"][0]["locating"][0].get("slot").is_none());
}

#[test]
fn outlines_run_the_right_way_and_pockets_are_as_large_as_they_should() {
    let plan = json(&tray(&PLAIN));
    let mut regions = Vec::new();
    for list in ["layers", "pieces", "sheets", "pockets"] {
        regions.extend(
            plan[list]
                .as_array()
                .unwrap()
                .iter()
                .map(|item| &item["region"]),
        );
    }
    for region in regions {
        let outer = points(&region["exterior"]);
        assert!(area(&outer) > 0.0 && outer.first() != outer.last());
        for hole in region["holes"].as_array().unwrap() {
            assert!(area(&points(hole)) < 0.0);
        }
    }
    // 40.4 × 30.4 with radius 3.2: the box less (4 − π) r². Chords lie inside the arcs by at most 0.005, over 2πr of arc.
    let exact = 40.4 * 30.4 - (4.0 - std::f64::consts::PI) * 3.2 * 3.2;
    let least = exact - 0.005 * 2.0 * std::f64::consts::PI * 3.2;
    for pocket in plan["pockets"].as_array().unwrap() {
        let told = area(&points(&pocket["region"]["exterior"]));
        assert!(
            least <= told && told <= exact + 1e-4,
            "{told} of {exact}; 1e-4: coordinates to 1e-6 along 140 mm"
        );
    }
}

// ---- pockets and stock ----------------------------------------------------------------------------------------------

#[test]
fn the_table_of_pockets_counts_from_the_datum() {
    let files = tray(&PLAIN);
    let rows: Vec<&str> = text(&files, "pockets.csv").lines().collect();
    assert_eq!(
        rows[0],
        "column,row,corner_x,corner_y,center_x,center_y,angle,bed_center_x,bed_center_y"
    );
    assert_eq!(rows.len(), 12);
    // By hand: the first corner is (43, 43) inward, its middle 20 and 15 on, the bed 320 wide with the datum on the right.
    assert_eq!(rows[1], "0,0,43,43,63,58,0,257,58");
    assert_eq!(rows[2], "1,0,107,43,127,58,0,193,58", "one pitch of 64 on");
    assert_eq!(
        rows[5], "0,1,43,95,63,110,0,257,110",
        "one pitch of 52 back"
    );
}

#[test]
fn the_stock_afterwards_is_read_as_a_stock_file_and_nothing_is_lost() {
    let files = tray(&PLAIN);
    let plan_1 = json(&files);
    let after: toml::Table = text(&files, "stock-after.toml").parse().unwrap();
    let sheets = after["sheet"].as_array().unwrap();
    let used = |id: &str| {
        plan_1["sheets"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|s| s["stock"] == *id)
            .count() as i64
    };
    for (id, before) in [("board", 3), ("clear", 4)] {
        let entry = sheets
            .iter()
            .find(|s| s["id"].as_str() == Some(id))
            .unwrap();
        assert_eq!(
            entry["quantity"].as_integer(),
            Some(before - used(id)),
            "{id}"
        );
    }
    assert!(used("clear") > 0);
    let left: Vec<_> = sheets.iter().filter(|s| s.get("from").is_some()).collect();
    assert!(
        !left.is_empty(),
        "270 × 220 for parts of 300 × 200 leaves something over 100 × 100"
    );
    for entry in left
        .iter()
        .filter(|s| s["material"].as_str() == Some("acrylic"))
    {
        let corner = |v: &toml::Value| {
            v.as_float()
                .unwrap_or_else(|| v.as_integer().unwrap() as f64)
        };
        let ring: Vec<(f64, f64)> = entry["outline"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| (corner(&p[0]), corner(&p[1])))
            .collect();
        let share = 5.06 * area(&ring) / (270.0 * 220.0);
        assert!(
            (entry["cost"].as_float().unwrap() - share).abs() <= 1e-6,
            "its share of the cost, as costs are written"
        );
        assert_eq!(
            (entry["measured"].as_float(), entry["finish"].as_str()),
            (Some(5.8), Some("matte")),
            "what is known of a sheet is known of its rest"
        );
        assert!(
            plan_1["sheets"]
                .as_array()
                .unwrap()
                .iter()
                .any(|s| s["id"].as_str() == entry["from"].as_str())
        );
    }
    // The same job again, from what is left.
    let next = plan(
        &filled(TRAY, &PLAIN),
        &[("stock.toml", text(&files, "stock-after.toml"))],
    );
    let again: toml::Table = text(&next, "stock-after.toml").parse().unwrap();
    let ours = json(&next);
    for entry in again["sheet"].as_array().unwrap() {
        if let Some(from) = entry.get("from") {
            assert!(
                ours["sheets"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|s| s["id"].as_str() == from.as_str()),
                "`from` names sheets of this plan only"
            );
        }
    }
}

#[test]
fn a_roll_goes_down_by_one_and_its_rest_is_a_sheet() {
    let files = plan_parts();
    let after: toml::Table = text(&files, "stock-after.toml").parse().unwrap();
    let sheets = after["sheet"].as_array().unwrap();
    assert_eq!(sheets[0]["quantity"].as_integer(), Some(1));
    assert_eq!(sheets[0]["sold_by"].as_str(), Some("length"));
    let rest = &sheets[1];
    assert!(rest.get("sold_by").is_none() && rest["id"].as_str() == Some("roll-r1"));
    let used = json(&files)["sheets"][0]["used_length"].as_f64().unwrap();
    let x = |k: usize| {
        rest["outline"][k][0]
            .as_float()
            .unwrap_or_else(|| rest["outline"][k][0].as_integer().unwrap() as f64)
    };
    let left = (0..4).map(x).fold(f64::INFINITY, f64::min);
    assert!(
        (left - used).abs() < 1e-6 && (0..4).map(x).fold(0.0, f64::max) == 2000.0,
        "from {left}, used as far as {used}"
    );
}

// ---- names ----------------------------------------------------------------------------------------------------------

/// Names that would do something if a writer forgot to escape them.
const HOSTILE: [&str; 14] = [
    "</title><script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "' onmouseover='alert(1)",
    "<!--",
    "-->",
    "]]>",
    "</style><b>",
    "&lt;script&gt;",
    "=1+1",
    "(a) Tj ET Q",
    "\\) Tj",
    "\"\"\"\\n[[sheet]]",
    "{x} url(#h0) javascript:alert(1)",
    "a\u{202e}b\u{200f}ü…😀",
];

/// The names of a page's elements and their attributes, in order, text left out.
fn tags(page: &str) -> Vec<String> {
    let mut out = Vec::new();
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        let end = rest[at..].find('>').unwrap() + at;
        let tag = &rest[at + 1..end];
        let mut words = vec![
            tag.split([' ', '/'])
                .find(|w| !w.is_empty())
                .unwrap_or("")
                .to_owned(),
        ];
        // Attribute names stand before `="`; a value holds no raw quote.
        let mut values = tag.split('"');
        while let (Some(name), Some(_)) = (values.next(), values.next()) {
            words.push(name.rsplit(' ').next().unwrap_or("").to_owned());
        }
        out.push(words.join(" "));
        rest = &rest[end + 1..];
    }
    out
}

/// Elements alone; labels may turn and so gain a `transform`.
fn elements(page: &str) -> Vec<String> {
    tags(page)
        .iter()
        .map(|t| t.split(' ').next().unwrap_or("").to_owned())
        .collect()
}

fn named(name: &str) -> Vec<(&'static str, String)> {
    ["title", "base", "face", "board"]
        .iter()
        .map(|k| (*k, format!("{name}{}", &k[..1])))
        .collect()
}

fn hostile_tray(name: &str) -> Files {
    let names = named(name);
    let names: Vec<(&str, &str)> = names.iter().map(|(k, n)| (*k, n.as_str())).collect();
    tray(&names)
}

#[test]
fn no_name_adds_an_element_to_the_report_or_a_drawing() {
    let plain = hostile_tray("plain name");
    let known: std::collections::BTreeSet<String> = tags(text(&plain, "report.html"))
        .into_iter()
        .flat_map(|t| t.split(' ').map(str::to_owned).collect::<Vec<_>>())
        .collect();
    for name in HOSTILE {
        let files = hostile_tray(name);
        let report = text(&files, "report.html");
        assert_eq!(
            elements(report),
            elements(text(&plain, "report.html")),
            "{name}"
        );
        let words = tags(report)
            .into_iter()
            .flat_map(|t| t.split(' ').map(str::to_owned).collect::<Vec<_>>());
        let strange: Vec<String> = words
            .filter(|w| !known.contains(w) && w != "transform")
            .collect();
        assert!(strange.is_empty(), "{name}: {strange:?}");
        assert!(!report.contains("<script"), "{name}");
        // Shown as typed: the escaped text stands in the heading.
        let shown = format!("{name}t")
            .replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
            .replace('"', "&quot;");
        assert!(
            report.contains(&format!("<h1><bdi>{shown}</bdi></h1>")),
            "{name}"
        );
        for drawing in plain.keys().filter(|n| n.ends_with(".svg")) {
            // An id is engraved with more or fewer strokes: runs of one element count as one.
            let [mut a, mut b] = [&files, &plain].map(|f| elements(text(f, drawing)));
            a.dedup();
            b.dedup();
            assert_eq!(a, b, "{name}: {drawing}");
        }
        assert_eq!(
            files["pockets.csv"], plain["pockets.csv"],
            "{name}: no text of the user's in the table"
        );
    }
}

#[test]
fn no_name_adds_a_key_to_the_stock_or_an_operator_to_the_proof() {
    let plain = hostile_tray("plain name");
    let keys = |files: &Files| -> Vec<Vec<String>> {
        let stock: toml::Table = text(files, "stock-after.toml").parse().unwrap();
        stock["sheet"]
            .as_array()
            .unwrap()
            .iter()
            .map(|s| s.as_table().unwrap().keys().cloned().collect())
            .collect()
    };
    for name in HOSTILE {
        let files = hostile_tray(name);
        assert_eq!(keys(&files), keys(&plain), "{name}");
        let stock: toml::Table = text(&files, "stock-after.toml").parse().unwrap();
        assert_eq!(
            stock["sheet"][0]["material"].as_str(),
            Some(format!("{name}b").as_str())
        );
        let (a, b) = (proof(&files["proof.pdf"]), proof(&plain["proof.pdf"]));
        assert_eq!(a.len(), b.len(), "{name}: pages");
        for (page, like) in a.iter().zip(&b) {
            assert_eq!(page.operators, like.operators, "{name}");
        }
        let plan = json(&files);
        assert_eq!(
            plan["layers"][0]["name"].as_str(),
            Some(format!("{name}b").as_str()),
            "{name}"
        );
    }
}

// ---- the report -----------------------------------------------------------------------------------------------------

#[test]
fn the_report_stands_alone_and_says_what_is_on_it() {
    let files = tray(&PLAIN);
    let report = text(&files, "report.html");
    for loads in [
        "http:", "https:", " src=", "@import", "url(\"", "url('", "<link", "<script", "<iframe",
        " on",
    ] {
        let found = report.match_indices(loads).any(|(at, _)| {
            loads != " on"
                || report[at + 3..]
                    .split('=')
                    .next()
                    .is_some_and(|w| w.len() < 12 && w.chars().all(char::is_alphabetic))
        });
        assert!(!found, "{loads}");
    }
    // Every address is a place on the page itself, and it is there.
    for at in report
        .split("href=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
    {
        assert!(
            at.starts_with('#') && report.contains(&format!("id=\"{}\"", &at[1..])),
            "{at}"
        );
    }
    assert!(
        report.contains("<html lang=\"en\">")
            && report.contains("<main>")
            && report.contains("default-src 'none'")
    );
    let first = report.find("class=\"caution\"").unwrap();
    assert!(
        first < report.find("<section").unwrap(),
        "the caution comes before the first section"
    );
    for picture in report.split("<svg role=\"img\"").skip(1) {
        let inside = picture.split("</svg>").next().unwrap();
        assert!(
            inside.contains("<title>") && inside.contains("<desc>"),
            "every picture says what it shows"
        );
    }
    // By hand: 25 blanks in trays of 11 are 3 loads, 3 in the last; 3 + 6 high; the blank of 3 lies 3 below the face.
    for words in [
        "3 loads",
        "25 pieces, 3 in the last",
        "9 high, pockets 6 deep",
        "3 below the face",
        "64 × 52",
        "43, 43",
    ] {
        assert!(report.contains(words), "{words}");
    }
    let pieces = json(&files)["pieces"].as_array().unwrap().len();
    assert_eq!(
        report.matches("<path id=\"o").count(),
        pieces,
        "each outline is stored once"
    );
}

#[test]
fn only_a_router_without_tabs_is_told_that_nothing_holds_the_pieces() {
    let words = "Nothing holds the pieces";
    let files = tray(&PLAIN);
    assert!(!text(&files, "report.html").contains(words));
    let job = filled(TRAY, &PLAIN).replace(
        "kind = \"laser\"\nkerf = 0.2",
        "kind = \"router\"\ntool_diameter = 3",
    );
    let routed = plan(&job, &[("stock.toml", &filled(STOCK, &PLAIN))]);
    let sheets = json(&routed)["sheets"].as_array().unwrap().len();
    assert_eq!(
        text(&routed, "report.html").matches(words).count(),
        sheets,
        "above each sheet"
    );
}

// ---- the proof ------------------------------------------------------------------------------------------------------

/// What a page of a PDF draws.
struct Page {
    media: [f64; 4],
    trim: [f64; 4],
    /// Straight strokes in points: (from, to).
    strokes: Vec<([f64; 2], [f64; 2])>,
    operators: Vec<String>,
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter_map(|t| t.parse().ok())
        .collect()
}

fn after<'t>(text: &'t str, key: &str) -> &'t str {
    &text[text.find(key).unwrap_or_else(|| panic!("{key} is missing")) + key.len()..]
}

fn four(page: &str, key: &str) -> [f64; 4] {
    let inside = after(page, key).split(']').next().unwrap();
    numbers(inside).try_into().unwrap()
}

/// Reads back what `proof.pdf` draws: its streams are not compressed.
fn proof(bytes: &[u8]) -> Vec<Page> {
    // One byte, one letter, so that places agree.
    let file: String = bytes.iter().map(|b| char::from(*b)).collect();
    let mut pages = Vec::new();
    for page in file.split("/Type /Page\n").skip(1) {
        let content = after(after(page, "stream"), "\n")
            .split("endstream")
            .next()
            .unwrap();
        let (mut strokes, mut operators, mut at) = (Vec::new(), Vec::new(), [0.0; 2]);
        let mut line = Vec::new();
        for operation in content.lines() {
            let operator = operation.rsplit(' ').next().unwrap_or("");
            // A shown text may hold anything; only that it is shown counts.
            let shows = operation.ends_with("Tj");
            operators.push(if shows { "Tj" } else { operator }.to_owned());
            let figures = if shows {
                Vec::new()
            } else {
                numbers(operation)
            };
            match (operator, figures.as_slice()) {
                ("m", [x, y]) => at = [*x, *y],
                ("c", [.., x, y]) => at = [*x, *y],
                ("l", [x, y]) => {
                    line.push((at, [*x, *y]));
                    at = [*x, *y];
                }
                ("S", _) => strokes.append(&mut line),
                _ => {}
            }
        }
        pages.push(Page {
            media: four(page, "/MediaBox ["),
            trim: four(page, "/TrimBox ["),
            strokes,
            operators,
        });
    }
    pages
}

/// 100 mm in points of 1/72 inch.
const HUNDRED: f64 = 100.0 * 72.0 / 25.4;

fn measured(page: &Page) -> [usize; 2] {
    // A coordinate is a float of 24 bits: at 3,000 points a step is 2.4e-4.
    let is = |a: f64, b: f64| (a - b).abs() < 1e-3;
    let across = page
        .strokes
        .iter()
        .filter(|(a, b)| is(a[1], b[1]) && is((a[0] - b[0]).abs(), HUNDRED))
        .count();
    let up = page
        .strokes
        .iter()
        .filter(|(a, b)| is(a[0], b[0]) && is((a[1] - b[1]).abs(), HUNDRED))
        .count();
    [across, up]
}

#[test]
fn every_page_of_the_proof_is_its_paper_and_carries_a_measured_line_each_way() {
    for (paper, size) in [
        ("a4", [210.0, 297.0]),
        ("letter", [215.9, 279.4]),
        ("a3", [297.0, 420.0]),
    ] {
        let job = filled(TRAY, &PLAIN) + &format!("[output]\npaper = \"{paper}\"\n");
        let files = plan(&job, &[("stock.toml", &filled(STOCK, &PLAIN))]);
        let raw = String::from_utf8_lossy(&files["proof.pdf"]).into_owned();
        assert!(raw.contains("/PrintScaling /None"));
        assert!(!raw.contains("Date"), "no date is told");
        let pages = proof(&files["proof.pdf"]);
        assert!(pages.len() > 2, "the first page and more than one tile");
        for page in &pages {
            for (k, side) in size.iter().enumerate() {
                // 1e-3 of a point: see `measured`.
                assert!(
                    (page.media[2 + k] - side * 72.0 / 25.4).abs() < 1e-3,
                    "{paper}"
                );
            }
            let [across, up] = measured(page);
            assert!(across >= 1 && up >= 1, "{paper}: {across} across, {up} up");
            assert!(page.trim[0] >= page.media[0] && page.trim[3] <= page.media[3]);
        }
    }
}

#[test]
fn the_proof_on_one_page_shows_the_pockets_at_their_true_places() {
    let job = filled(TRAY, &PLAIN) + "[output]\npaper = \"bed\"\n";
    let files = plan(&job, &[("stock.toml", &filled(STOCK, &PLAIN))]);
    let pages = proof(&files["proof.pdf"]);
    assert_eq!(pages.len(), 1);
    let [across, up] = measured(&pages[0]);
    assert!(across >= 1 && up >= 1);
    // The straight sides of the pockets, 40.4 less two radii of 3.2 long: as many as 11 pockets have that no seam cuts off.
    // Their x are those of the table, moved by the page's one shift.
    let length = (40.4 - 6.4) * 72.0 / 25.4;
    let sides = pages[0]
        .strokes
        .iter()
        .filter(|(a, b)| (a[1] - b[1]).abs() < 1e-3 && ((a[0] - b[0]).abs() - length).abs() < 1e-3);
    let middles: Vec<[f64; 2]> = sides
        .map(|(a, b)| [(a[0] + b[0]) / 2.0 * 25.4 / 72.0, a[1] * 25.4 / 72.0])
        .collect();
    assert_eq!(middles.len(), 22, "a front and a back side each");
    let table: Vec<Vec<f64>> = text(&files, "pockets.csv")
        .lines()
        .skip(1)
        .map(|l| l.split(',').map(|v| v.parse().unwrap()).collect())
        .collect();
    let lowest = middles.iter().map(|m| m[1]).fold(f64::INFINITY, f64::min);
    let leftmost = middles.iter().map(|m| m[0]).fold(f64::INFINITY, f64::min);
    let (x0, y0) = (
        table.iter().map(|r| r[7]).fold(f64::INFINITY, f64::min),
        table.iter().map(|r| r[8]).fold(f64::INFINITY, f64::min),
    );
    for row in &table {
        // A front side lies 15.2 before the middle: half of 30.4.
        let want = [row[7] - x0 + leftmost, row[8] - y0 + lowest];
        let near = middles
            .iter()
            .any(|m| (m[0] - want[0]).abs() < 1e-3 && (m[1] - want[1]).abs() < 1e-3);
        assert!(near, "{want:?}");
    }
}

#[test]
fn a_proof_in_svg_is_as_large_as_it_says() {
    let files = tray(&PLAIN);
    let proof = text(&files, "proof.svg");
    let attribute = |key: &str| {
        after(proof, &format!("{key}=\""))
            .split('"')
            .next()
            .unwrap()
            .to_owned()
    };
    let view = numbers(&attribute("viewBox"));
    assert_eq!(attribute("width"), format!("{}mm", view[2]));
    assert_eq!(attribute("height"), format!("{}mm", view[3]));
    // The fixture of 300 × 200 and the datum 10 off it, 20 of room on each side.
    assert_eq!((view[2], view[3]), (350.0, 250.0));
}

#[test]
fn every_pattern_of_a_job_is_told_in_the_plan_and_the_report() {
    // Boards too small for the base, which has room for teeth of every kind.
    let stock = filled(STOCK, &PLAIN).replace(
        "thickness = 3\nsize = [320, 220]\nquantity = 3",
        "thickness = 3\nsize = [200, 220]\nquantity = 4",
    );
    for (word, told) in [
        ("straight", "push the edges together"),
        ("wave", "slide the pieces together on the flat"),
        ("zigzag", "slide the pieces together on the flat"),
        ("dovetail", "press the dovetails straight down"),
        ("knob", "press the knobs straight down"),
        ("finger", "slide the pieces together on the flat"),
    ] {
        let seams = format!("[seams]\npattern = \"{word}\"");
        let job = filled(TRAY, &PLAIN).replace("[seams]", &seams);
        let files = plan(&job, &[("stock.toml", &stock)]);
        let plan = json(&files);
        let all = plan["seams"].as_array().unwrap();
        let base: Vec<&str> = all
            .iter()
            .filter(|s| s["layer"] == "base")
            .map(|s| s["pattern"].as_str().unwrap())
            .collect();
        assert!(
            !base.is_empty() && base.iter().all(|p| *p == word),
            "{word}: {base:?}"
        );
        assert!(text(&files, "report.html").contains(told), "{word}: {told}");
    }
}
