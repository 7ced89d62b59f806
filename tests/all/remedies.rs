//! What findings about teeth advise does away with them when it is put into the job.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use serde_json::Value;

use crate::program::{err, run};

/// A job of one layer that its sheets take in two pieces: its size, thickness, the cutter, `[seams]`.
#[derive(Clone)]
struct Case {
    size: [f64; 2],
    thickness: f64,
    cutter: &'static str,
    seams: String,
}

const LASER: &str = "kerf = 0.16";

/// Less deep than two pieces, so that seams run along y only and a new search lays them alike.
fn case(seams: &str) -> Case {
    Case {
        size: [300.0, 110.0],
        thickness: 3.0,
        cutter: LASER,
        seams: seams.to_owned(),
    }
}

impl Case {
    /// With settings in place of those it has.
    fn with(&self, settings: &[(String, String)]) -> Self {
        let is_kept = |line: &&str| {
            let key = line.split(" =").next().unwrap();
            settings.iter().all(|s| s.0 != key)
        };
        let kept: Vec<&str> = self.seams.lines().filter(is_kept).collect();
        let more = settings.iter().map(|(k, v)| format!("\n{k} = {v}"));
        Self {
            seams: kept.join("\n") + &more.collect::<String>(),
            ..self.clone()
        }
    }

    /// Writes the job, runs a command, and gives its folder with what it said.
    fn run(&self, arguments: &[&str]) -> (tempfile::TempDir, std::process::Output) {
        let room = tempfile::tempdir().unwrap();
        let ([w, d], t) = (self.size, self.thickness);
        let job = format!(
            "stock = \"stock.toml\"\n[fixture]\nsize = [{w}, {d}]\n[cutter]\n{}\n[seams]\n{}\n[[layer]]\nname = \"base\"\nmaterial = \"MDF\"\nthickness = {t}\n",
            self.cutter, self.seams
        );
        let stock = format!(
            "[[sheet]]\nid = \"board\"\nmaterial = \"MDF\"\nthickness = {t}\nsize = [{}, {}]\nquantity = 4\n",
            w * 0.8,
            d + 40.0
        );
        std::fs::write(room.path().join("job.toml"), job).unwrap();
        std::fs::write(room.path().join("stock.toml"), stock).unwrap();
        let done = run(room.path(), arguments, "2");
        (room, done)
    }

    fn findings(&self) -> Vec<Value> {
        let (room, done) = self.run(&["plan", "job.toml", "--rounds", "4"]);
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        let plan = std::fs::read_to_string(room.path().join("out/plan.json")).unwrap();
        let plan: Value = serde_json::from_str(&plan).unwrap();
        plan["findings"].as_array().unwrap().clone()
    }

    fn finding(&self, code: &str) -> Option<Value> {
        self.findings().into_iter().find(|f| f["code"] == code)
    }
}

/// Settings between back ticks, each as key and value.
fn settings(hint: &str) -> Vec<(String, String)> {
    let parts = hint.split('`').skip(1).step_by(2);
    let pairs = parts.filter_map(|p| p.split_once(" = "));
    pairs.map(|(k, v)| (k.to_owned(), v.to_owned())).collect()
}

/// That a finding is there, and gone with what it advises, without another about teeth; the settings.
fn cured(case: &Case, code: &str) -> Vec<(String, String)> {
    let found = case.finding(code);
    let found = found.unwrap_or_else(|| panic!("{code} is missing: {:?}", case.findings()));
    let hint = found["hint"].as_str().unwrap();
    let told = settings(hint);
    assert!(!told.is_empty(), "no number: {hint}");
    let left = case.with(&told).findings();
    let about = ["S102", "S103", "S104", "S111", "S112", "S114", "S122"];
    let is_about = |f: &&Value| about.iter().any(|c| f["code"] == *c);
    assert_eq!(left.iter().find(is_about), None, "{hint}");
    told
}

fn millimetres(told: &[(String, String)], key: &str) -> f64 {
    let value = &told.iter().find(|s| s.0 == key).unwrap().1;
    value
        .trim_matches('"')
        .trim_end_matches(" mm")
        .parse()
        .unwrap()
}

#[test]
fn where_the_tool_leaves_no_room_for_a_tooth_a_larger_one_is_told() {
    let mut thick = case("pattern = \"dovetail\"");
    (thick.cutter, thick.thickness) = ("kind = \"router\"\ntool_diameter = 12.7", 6.0);
    let told = cured(&thick, "S102");
    // By hand: corners of 6.35 · 1.05 = 6.67 on either end of a flank: less than twice that is no depth.
    assert!(millimetres(&told, "depth") > 2.0 * 6.67, "{told:?}");
    assert!(
        millimetres(&told, "tooth") > 40.0,
        "the usual one: {told:?}"
    );
}

#[test]
fn teeth_too_narrow_or_too_wide_are_told_with_a_size_that_is_neither() {
    for (pattern, tooth, depth) in [
        ("finger", 16, 8),
        ("finger", 90, 45),
        ("dovetail", 12, 5),
        ("knob", 16, 9),
    ] {
        let lines = format!("pattern = \"{pattern}\"\ntooth = {tooth}\ndepth = {depth}");
        cured(&case(&lines), "S103");
    }
}

#[test]
fn flanks_too_flat_or_too_steep_are_told_with_a_size_that_is_neither() {
    for (pattern, tooth, depth) in [
        ("wave", 40, 4),
        ("wave", 40, 24),
        ("zigzag", 40, 5),
        ("finger", 40, 10),
    ] {
        let lines = format!("pattern = \"{pattern}\"\ntooth = {tooth}\ndepth = {depth}");
        cured(&case(&lines), "S111");
    }
}

#[test]
fn knobs_and_tails_on_slender_necks_are_told_with_their_figure() {
    let slender = case("pattern = \"knob\"\ntooth = 60\ndepth = 80");
    let found = slender.finding("S111").unwrap();
    // By hand: a head of half a pitch, 30 wide, on a neck of 0.7 · 30 = 21: (80 − 30) / 21 = 2.381 times as long as wide.
    let measured = found["measured"].as_f64().unwrap();
    assert!((measured - 50.0 / 21.0).abs() < 1e-4, "{found}");
    cured(&slender, "S111");
    cured(
        &case("pattern = \"dovetail\"\ntooth = 40\ndepth = 40"),
        "S111",
    );
    // The usual ones are not told.
    for pattern in ["knob", "dovetail"] {
        assert_eq!(
            case(&format!("pattern = \"{pattern}\"")).finding("S111"),
            None
        );
    }
}

#[test]
fn where_nothing_locates_any_piece_that_is_told() {
    let found = case("pattern = \"knob\"").finding("S121").unwrap();
    assert!(
        found["what"]
            .as_str()
            .unwrap()
            .contains("no layer has a locating hole"),
        "{found}"
    );
}

#[test]
fn a_job_of_parts_alone_is_told_that_there_is_nothing_to_compare() {
    let room = tempfile::tempdir().unwrap();
    let part = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40mm\" height=\"30mm\" viewBox=\"0 0 40 30\"><path d=\"M0 0H40V30H0Z\"/></svg>";
    let job = "stock = \"stock.toml\"\n[cutter]\nkerf = 0.1\n[[part]]\nname = \"tag\"\nmaterial = \"MDF\"\nthickness = 3\ndrawing = \"tag.svg\"\n";
    let stock = "[[sheet]]\nid = \"board\"\nmaterial = \"MDF\"\nthickness = 3\nsize = [200, 100]\n";
    for (name, text) in [("tag.svg", part), ("job.toml", job), ("stock.toml", stock)] {
        std::fs::write(room.path().join(name), text).unwrap();
    }
    let done = run(room.path(), &["compare", "job.toml"], "1");
    assert_eq!(done.status.code(), Some(2));
    let told = err(&done);
    assert!(
        told.contains("J029") && told.contains("`seamwright plan` plans them"),
        "{told}"
    );
    assert!(!told.contains("leave `seam` out"), "{told}");
    let done = run(room.path(), &["plan", "job.toml", "--rounds", "0"], "1");
    assert_eq!(done.status.code(), Some(0), "as told: {}", err(&done));
}

#[test]
fn settings_in_findings_are_code_in_the_report() {
    let (room, done) = case("pattern = \"finger\"\ntooth = 16\ndepth = 8")
        .run(&["plan", "job.toml", "--rounds", "0"]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    let page = std::fs::read_to_string(room.path().join("out/report.html")).unwrap();
    assert!(page.contains("<code>tooth = &quot;") && page.contains("layer <code>base</code>"));
    assert!(!page.contains("`base`"));
}
