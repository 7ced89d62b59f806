//! Where the time granted ends within a round, that round leaves nothing behind: the plan is that of the rounds completed.
//!
//! The clock is one of its own that goes on by a little whenever it is asked, so rounds are cut off at many places of their work,
//! however fast the computer is.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::fmt::Write as _;
use std::sync::atomic::{AtomicU64, Ordering};

use seamwright::job::Overrides;
use seamwright::job::error::ReadFault;
use seamwright::model::progress::{Event, Watch};
use seamwright::pipeline::{self, Finished};
use seamwright::planner::options::Budget;

/// A clock that goes on by a hundredth whenever it is asked.
struct Asked(AtomicU64);

impl Watch for Asked {
    fn elapsed_s(&self) -> f64 {
        self.0.fetch_add(1, Ordering::Relaxed) as f64 / 100.0
    }
    fn stop_asked(&self) -> bool {
        false
    }
    fn tell(&self, _: Event) {}
}

/// Parts of three shapes, more of them than one sheet takes.
fn parts() -> String {
    let mut job = "stock = \"stock.toml\"\n[cutter]\nkind = \"laser\"\nkerf = 0.2\nspacing = 2\nedge_margin = 2\n".to_owned();
    for (name, n) in [("ell", 6), ("wedge", 9), ("bar", 5)] {
        write!(job, "[[part]]\nname = \"{name}\"\nmaterial = \"felt\"\nthickness = 2\ndrawing = \"{name}.svg\"\nquantity = {n}\n").unwrap();
    }
    job + "[search]\nseed = 4\n"
}

fn file(name: &str) -> Result<Vec<u8>, ReadFault> {
    let path = match name {
        "stock.toml" => {
            let sheet = |id: &str, size: &str, cost: f64| {
                format!(
                    "[[sheet]]\nid = \"{id}\"\nmaterial = \"felt\"\nthickness = 2\nsize = {size}\nquantity = 4\ncost = {cost}\n"
                )
            };
            let stock = sheet("large", "[300, 200]", 5.0) + &sheet("small", "[180, 140]", 2.5);
            return Ok(stock.into_bytes());
        }
        "ell.svg" => "M 0 0 L 90 0 L 90 25 L 30 25 L 30 70 L 0 70 Z",
        "wedge.svg" => "M 0 0 L 80 10 L 25 65 Z",
        _ => "M 0 0 L 110 0 L 110 30 L 0 30 Z",
    };
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"120mm\" height=\"80mm\" viewBox=\"0 0 120 80\"><path d=\"{path}\" fill=\"none\" stroke=\"black\"/></svg>"
    )
    .into_bytes())
}

fn plan(budget: Budget, lanes: usize) -> Finished {
    let overrides = Overrides {
        budget: Some(budget),
        lanes: Some(lanes),
        ..Overrides::default()
    };
    let watch = Asked(AtomicU64::new(0));
    let done = pipeline::plan("job.toml", &parts(), &file, &overrides, &watch);
    done.unwrap_or_else(|e| panic!("{e:#?}"))
}

fn rounds(done: &Finished) -> u64 {
    let plan = done.files.iter().find(|f| f.0 == "plan.json").unwrap();
    let plan: serde_json::Value = serde_json::from_slice(&plan.1).unwrap();
    plan["settings"]["rounds"].as_u64().unwrap()
}

#[test]
fn a_round_that_is_cut_off_leaves_nothing_behind() {
    let mut seen = Vec::new();
    for lanes in [1, 2] {
        for seconds in [0.5, 3.0, 11.0, 17.0, 29.0, 47.0, 83.0] {
            let cut = plan(Budget::Seconds(seconds), lanes);
            let n = rounds(&cut);
            let whole = plan(Budget::Rounds(n), lanes);
            assert!(
                cut.files == whole.files,
                "{seconds} s on {lanes} lanes is not {n} rounds"
            );
            seen.push(n);
        }
    }
    seen.sort_unstable();
    seen.dedup();
    assert!(
        seen.len() >= 3,
        "the clock cut off too few rounds to tell: {seen:?}"
    );
}
