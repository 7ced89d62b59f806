//! Does the search better the first plan? Twenty generated jobs, each planned with no round and with a budget of seconds;
//! prints cost, leftovers and pieces of both, as a table.
//!
//! `cargo bench --bench search [-- --seconds 10 --jobs 20 --only 7 --keep FOLDER]`
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark stops where its surroundings fail it, and prints its figures"
)]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

/// Draws of a linear congruential generator (Knuth's MMIX constants), so that jobs stay the same for ever.
struct Draws(u64);

impl Draws {
    fn next(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    /// A multiple of `step` from `low` to `high`.
    fn length(&mut self, low: u64, high: u64, step: u64) -> u64 {
        low + self.next((high - low) / step + 1) * step
    }
}

/// Job and stock number `k`: two to four layers of one or two materials, larger than most sheets; offcuts at two thirds of
/// the price of their area, and enough full sheets to fall back on.
fn generate(k: u64) -> (String, String) {
    let mut d = Draws(k.wrapping_mul(0x9e37_79b9_7f4a_7c15) + 12345);
    for _ in 0..4 {
        d.next(2);
    }
    let (w, h) = (d.length(520, 900, 20), d.length(360, 620, 20));
    let layers = 2 + d.next(3);
    let pattern = if k.is_multiple_of(2) {
        "knob"
    } else {
        "straight"
    };
    let two = d.next(2) == 0;
    let mut job = format!(
        "stock = \"stock.toml\"\n[bed]\nsize = [{}, {}]\nlocating = [ {{ at = [30, 30], thread = \"M6\" }}, {{ at = [{}, {}], thread = \"M6\", slot = 3 }} ]\n\
         [fixture]\nsize = [{w}, {h}]\nat = [10, 10]\ncorner_radius = 6\n[blank]\nshape = {{ rect = [70, 44], radius = 3 }}\nthickness = 3\n\
         [grid]\nspacing = [34, 30]\nmargin = 44\n[seams]\npattern = \"{pattern}\"\n[cutter]\nkind = \"laser\"\nkerf = 0.16\n",
        w + 20,
        h + 20,
        w - 10,
        h - 10
    );
    for l in 0..layers {
        let material = if two && l + 1 == layers {
            "acrylic"
        } else {
            "MDF"
        };
        let features = if l == 0 {
            "\"locating\""
        } else if l + 1 == layers {
            "\"relief\", \"pocket\""
        } else {
            "\"relief\""
        };
        writeln!(job, "[[layer]]\nname = \"layer{l}\"\nmaterial = \"{material}\"\nthickness = 3\nfeatures = [{features}]").unwrap();
    }
    let mut stock = String::new();
    for material in if two {
        &["MDF", "acrylic"][..]
    } else {
        &["MDF"][..]
    } {
        for n in 0..6 + d.next(4) {
            let (a, b) = (d.length(240, 560, 10), d.length(200, 420, 10));
            let cost = (a * b) as f64 * 20e-6;
            writeln!(stock, "[[sheet]]\nid = \"{material}-offcut-{n}\"\nmaterial = \"{material}\"\nthickness = 3\nsize = [{a}, {b}]\ncost = {cost:.2}\nquantity = {}", 1 + d.next(2)).unwrap();
        }
        writeln!(stock, "[[sheet]]\nid = \"{material}-full\"\nmaterial = \"{material}\"\nthickness = 3\nsize = [600, 400]\ncost = 7.20\nquantity = 30").unwrap();
    }
    (job, stock)
}

/// Cost, area of the remnants in m², pieces, rounds, bound of a plan.
fn figures(out: &Path) -> (f64, f64, usize, u64, f64) {
    let plan: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("plan.json")).unwrap()).unwrap();
    let after: toml::Table = std::fs::read_to_string(out.join("stock-after.toml"))
        .unwrap()
        .parse()
        .unwrap();
    let number = |v: &toml::Value| v.as_float().or(v.as_integer().map(|i| i as f64)).unwrap();
    let area = |outline: &toml::Value| {
        let p: Vec<(f64, f64)> = outline
            .as_array()
            .unwrap()
            .iter()
            .map(|q| (number(&q[0]), number(&q[1])))
            .collect();
        (0..p.len())
            .map(|i| p[i].0 * p[(i + 1) % p.len()].1 - p[(i + 1) % p.len()].0 * p[i].1)
            .sum::<f64>()
            .abs()
            / 2e6
    };
    let left = after["sheet"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|s| s.get("from").is_some())
        .map(|s| area(&s["outline"]))
        .sum();
    let metrics = &plan["metrics"];
    (
        metrics["stock_cost"].as_f64().unwrap(),
        left,
        plan["pieces"].as_array().unwrap().len(),
        plan["settings"]["rounds"].as_u64().unwrap(),
        metrics["bound"]["stock_cost"].as_f64().unwrap(),
    )
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let told = |name: &str| {
        arguments
            .iter()
            .position(|a| a == name)
            .and_then(|i| arguments.get(i + 1))
            .cloned()
    };
    let seconds = told("--seconds").unwrap_or_else(|| "10".to_owned());
    let jobs: u64 = told("--jobs").map_or(20, |n| n.parse().unwrap());
    let only: Option<u64> = told("--only").map(|n| n.parse().unwrap());
    let room = tempfile::tempdir().unwrap();
    let room = told("--keep").map_or_else(|| room.path().to_path_buf(), std::path::PathBuf::from);
    println!(
        "job,cost_0,cost_{seconds},left_0_m2,left_{seconds}_m2,pieces_0,pieces_{seconds},rounds,bound,verdict"
    );
    let (mut better, mut worse) = (0, 0);
    for k in (0..jobs).filter(|k| only.is_none_or(|o| o == *k)) {
        let folder = room.join(format!("job{k}"));
        std::fs::create_dir_all(&folder).unwrap();
        let (job, stock) = generate(k);
        std::fs::write(folder.join("job.toml"), job).unwrap();
        std::fs::write(folder.join("stock.toml"), stock).unwrap();
        let run = |name: &str, budget: [&str; 2]| {
            let out = folder.join(name);
            let done = Command::new(env!("CARGO_BIN_EXE_seamwright"))
                .arg("plan")
                .arg(&folder)
                .arg("-o")
                .arg(&out)
                .args(budget)
                .output()
                .unwrap();
            if !done.status.success() {
                println!(
                    "{k}: exit {:?}: {}",
                    done.status.code(),
                    String::from_utf8_lossy(&done.stderr)
                );
            }
            done.status.success().then(|| figures(&out))
        };
        let (Some(a), Some(b)) = (
            run("first", ["--rounds", "0"]),
            run("searched", ["--seconds", &seconds]),
        ) else {
            worse += 1;
            continue;
        };
        let verdict = if b.0 < a.0 - 1e-6 || ((b.0 - a.0).abs() <= 1e-6 && b.1 > a.1 + 1e-6) {
            better += 1;
            "better"
        } else if b.0 > a.0 + 1e-6 {
            worse += 1;
            "worse"
        } else {
            "same"
        };
        println!(
            "{k},{:.2},{:.2},{:.3},{:.3},{},{},{},{:.2},{verdict}",
            a.0, b.0, a.1, b.1, a.2, b.2, b.3, a.4
        );
    }
    println!("better {better}, worse {worse}");
}
