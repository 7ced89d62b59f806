//! Each limit of a job at its figure, one above it, and one above it where that is admitted; the message gives limit, place and
//! option. The figure is put low where reaching the usual one would take long; the usual ones are held beside.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use seamwright::job::error::ReadFault;
use seamwright::job::limits::{Limit, Limits};
use seamwright::job::{self, Job};
use seamwright::model::fault::{Fault, Place};

use crate::program::{err, run};

const STOCK: &str = "[[sheet]]\nid = \"a\"\nmaterial = \"mdf\"\nthickness = 3\nsize = [600, 400]\n";
const PART: &str =
    "<svg width=\"9mm\" viewBox=\"0 0 9 9\"><circle cx=\"4\" cy=\"4\" r=\"3\"/></svg>";
const JOB: &str = "stock = \"stock.toml\"\n[fixture]\nsize = [300, 200]\n[cutter]\nkerf = 0.2\n[[layer]]\nname = \"base\"\nmaterial = \"mdf\"\nthickness = 3\n";

fn read(job: &str, stock: &str, limits: Limits) -> Result<Job, Vec<Fault>> {
    let files = |name: &str| match name {
        "stock.toml" => Ok(stock.as_bytes().to_vec()),
        "p.svg" => Ok(PART.as_bytes().to_vec()),
        _ => Err(ReadFault::Missing),
    };
    job::read("job.toml", job, &files, &limits)
}

/// Where a fault is: the file, and the text that it covers.
fn place(fault: &Fault, job: &str, stock: &str) -> (String, String) {
    match &fault.place {
        Place::File(file) => (file.clone(), String::new()),
        Place::Span { file, span } => {
            let text = if file == "job.toml" { job } else { stock };
            (file.clone(), text[span.clone()].to_owned())
        }
        other => panic!("{other:?}"),
    }
}

/// What asks for one more than a limit's `figure`: refused with the code, at the place, with the option that lets it; and let
/// by that option, and where the limit is not below it.
fn assert_refused(limit: Limit, figure: u64, job: &str, stock: &str, code: &str, at: (&str, &str)) {
    let low = Limits::default().with(limit, figure);
    let faults = read(job, stock, low).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert_eq!(faults[0].code, code, "{faults:#?}");
    let (file, covered) = place(&faults[0], job, stock);
    assert_eq!(file, at.0, "{faults:#?}");
    assert!(covered.starts_with(at.1), "{covered:?}");
    let what = &faults[0].what;
    assert!(what.contains(&figure.to_string()), "{what}");
    let option = format!("`--allow {}={}` lets it", limit.name(), figure + 1);
    let hint = faults[0].hint.clone().unwrap();
    assert!(hint.ends_with(&option), "{hint}");
    let lifted = low.with(limit, figure + 1);
    let found = read(job, stock, lifted);
    assert!(found.is_ok(), "{}: {:#?}", limit.name(), found.err());
}

/// A job that asks for as much as a figure, and one that asks for one more.
fn assert_limit(
    limit: Limit,
    figure: u64,
    of: &dyn Fn(u64) -> (String, String),
    code: &str,
    at: (&str, &str),
) {
    let (job, stock) = of(figure);
    let found = read(&job, &stock, Limits::default().with(limit, figure));
    assert!(found.is_ok(), "{}: {:#?}", limit.name(), found.err());
    let (job, stock) = of(figure + 1);
    assert_refused(limit, figure, &job, &stock, code, at);
}

fn with_job(from: &str, to: &str) -> (String, String) {
    assert!(JOB.contains(from), "{from:?}");
    (JOB.replacen(from, to, 1), STOCK.to_owned())
}

fn with_stock(from: &str, to: &str) -> (String, String) {
    assert!(STOCK.contains(from), "{from:?}");
    (JOB.to_owned(), STOCK.replacen(from, to, 1))
}

fn search(key: &str, n: u64) -> (String, String) {
    (format!("{JOB}[search]\n{key} = {n}\n"), STOCK.to_owned())
}

#[test]
fn usual_figures_are_those_that_are_told() {
    let usual = Limit::ALL.map(|limit| (limit.name(), limit.usual()));
    let told = [
        ("toml-bytes", 1 << 20),
        ("name-length", 200),
        ("pieces", 10_000),
        ("sheets", 1_000),
        ("sheets-alike", 10_000),
        ("entries", 1_000),
        ("pockets", 100_000),
        ("points", 200_000),
        ("seconds", 86_400),
        ("rounds", 1_000_000_000),
        ("lanes", 256),
    ];
    assert_eq!(usual, told);
    for limit in Limit::ALL {
        assert_eq!(Limits::default().of(limit) as u64, limit.usual());
        assert!(limit.usual() < limit.most(), "{}", limit.name());
        let raised = Limits::default().with(limit, limit.most());
        for other in Limit::ALL {
            let figure = if other == limit {
                other.most()
            } else {
                other.usual()
            };
            assert_eq!(
                raised.of(other) as u64,
                figure,
                "{} beside {}",
                other.name(),
                limit.name()
            );
        }
    }
}

#[test]
fn toml_bytes() {
    let padded = |text: &str, n: u64| format!("{text}#{}", "x".repeat(n as usize - text.len() - 1));
    let figure = Limit::TomlBytes.usual();
    let job = |n| (padded(JOB, n), STOCK.to_owned());
    assert_limit(Limit::TomlBytes, figure, &job, "J004", ("job.toml", ""));
    let stock = |n| (JOB.to_owned(), padded(STOCK, n));
    let at = ("job.toml", "\"stock.toml\"");
    assert_limit(Limit::TomlBytes, figure, &stock, "J004", at);
}

#[test]
fn name_length() {
    // Letters, not bytes, are counted.
    let named = |n: u64| with_job("\"base\"", &format!("\"{}\"", "ä".repeat(n as usize)));
    let at = ("job.toml", "\"ää");
    assert_limit(Limit::NameLength, 200, &named, "J024", at);
}

#[test]
fn pieces() {
    let copies = |n: u64| with_job("stock =", &format!("copies = {n}\nstock ="));
    assert_limit(
        Limit::Pieces,
        10_000,
        &copies,
        "J013",
        ("job.toml", "10001"),
    );
    let part = |n: u64| {
        let part =
            "[[part]]\nname = \"p\"\nmaterial = \"mdf\"\nthickness = 3\ndrawing = \"p.svg\"\n";
        (format!("{JOB}{part}quantity = {n}\n"), STOCK.to_owned())
    };
    let (job, stock) = part(9_999);
    let found = read(&job, &stock, Limits::default());
    assert!(found.is_ok(), "a layer and 9999 parts: {:#?}", found.err());
    let (job, stock) = part(10_000);
    let at = ("job.toml", "[[part]]");
    assert_refused(Limit::Pieces, 10_000, &job, &stock, "J026", at);
}

#[test]
fn sheets() {
    let sheets = |n: u64| {
        let each = (0..n).map(|k| STOCK.replace("\"a\"", &format!("\"a{k}\"")));
        (JOB.to_owned(), each.collect())
    };
    let at = ("stock.toml", "[[sheet]]");
    assert_limit(Limit::Sheets, 1_000, &sheets, "J026", at);
}

#[test]
fn sheets_alike() {
    let quantity = |n: u64| with_stock("size", &format!("quantity = {n}\nsize"));
    let at = ("stock.toml", "10001");
    assert_limit(Limit::SheetsAlike, 10_000, &quantity, "J013", at);
}

#[test]
fn entries() {
    let layers = |n: u64| {
        let layer = |k| format!("[[layer]]\nname = \"l{k}\"\nmaterial = \"mdf\"\nthickness = 3\n");
        let more: String = (1..n).map(layer).collect();
        (format!("{JOB}{more}"), STOCK.to_owned())
    };
    let at = ("job.toml", "[[layer]]");
    assert_limit(Limit::Entries, 1_000, &layers, "J026", at);
}

#[test]
fn pockets() {
    let grid = |columns: u64, rows: u64| {
        let grid = format!("[grid]\nspacing = [1, 1]\ncolumns = {columns}\nrows = {rows}\n");
        (format!("{JOB}{grid}"), STOCK.to_owned())
    };
    let row = |n| grid(n, 1);
    assert_limit(
        Limit::Pockets,
        100_000,
        &row,
        "J013",
        ("job.toml", "100001"),
    );
    let (job, stock) = grid(1_000, 100);
    assert!(read(&job, &stock, Limits::default()).is_ok());
    // 11 · 9091 = 100,001
    let (job, stock) = grid(11, 9_091);
    assert_refused(
        Limit::Pockets,
        100_000,
        &job,
        &stock,
        "J026",
        ("job.toml", "11"),
    );
}

#[test]
fn points() {
    let outline = |n: u64| {
        // A row of points along the upper edge of a plate; the usual figure of them would take a minute.
        let row = (0..n - 2).map(|k| format!("[{}, 400]", 600 - k));
        let corners: Vec<String> = row.collect();
        let text = format!("outline = [[0, 0], [600, 0], {}]", corners.join(", "));
        with_stock("size = [600, 400]", &text)
    };
    let at = ("stock.toml", "[[0, 0]");
    assert_limit(Limit::Points, 100, &outline, "J026", at);
}

#[test]
fn seconds_rounds_and_lanes() {
    for (limit, key) in [
        (Limit::Seconds, "seconds"),
        (Limit::Rounds, "rounds"),
        (Limit::Lanes, "lanes"),
    ] {
        let above = (limit.usual() + 1).to_string();
        let of = |n| search(key, n);
        assert_limit(limit, limit.usual(), &of, "J013", ("job.toml", &above));
    }
    // Half a second more asks for a whole one.
    let job = format!("{JOB}[search]\nseconds = 86400.5\n");
    let at = ("job.toml", "86400.5");
    assert_refused(Limit::Seconds, 86_400, &job, STOCK, "J013", at);
}

#[test]
fn what_is_above_all_that_can_be_let_is_told() {
    for (n, hint) in [
        ("1000001", "`--allow pieces=1000000` is the most"),
        (
            "99999999999999999999",
            "`--allow pieces=1000000` is the most",
        ),
    ] {
        let (job, stock) = with_job("stock =", &format!("copies = {n}\nstock ="));
        let faults = read(&job, &stock, Limits::default()).unwrap_err();
        assert!(
            faults[0].hint.as_ref().unwrap().contains(hint),
            "{faults:#?}"
        );
    }
    let (job, stock) = with_job("stock =", "copies = 0\nstock =");
    let faults = read(&job, &stock, Limits::default()).unwrap_err();
    assert_eq!(faults[0].hint, None, "nothing lets a job without copies");
}

#[test]
fn every_command_lets_what_is_admitted_and_refuses_words_that_are_none() {
    let room = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(room.path().join(name), text).unwrap();
    let long = format!("{JOB}#{}\n", "x".repeat(1 << 20));
    write(
        "job.toml",
        &long.replace("\"base\"", &format!("\"{}\"", "b".repeat(201))),
    );
    write("stock.toml", STOCK);
    let bytes = std::fs::metadata(room.path().join("job.toml"))
        .unwrap()
        .len();
    let toml = format!("toml-bytes={bytes}");
    let ask = |arguments: &[&str], status: i32, words: &[&str]| {
        let done = run(room.path(), arguments, "1");
        let said = err(&done);
        assert_eq!(done.status.code(), Some(status), "{arguments:?}: {said}");
        for word in words {
            assert!(said.contains(word), "{arguments:?}: no {word:?} in {said}");
        }
    };
    let both = ["--allow", &toml, "--allow", "name-length=201"];
    let of = |command: &[&'static str], more: &[&str]| -> Vec<String> {
        let all = command.iter().chain(more);
        all.map(|word| (*word).to_owned()).collect()
    };
    for command in [
        &["check", "job.toml"][..],
        &["plan", "job.toml", "-o", "out", "--rounds", "0"],
        &[
            "compare",
            "job.toml",
            "-o",
            "seen",
            "--rounds",
            "0",
            "--patterns",
            "wave",
        ],
        &[
            "recut", "out", "--layer", "LAYER", "-o", "again", "--rounds", "0",
        ],
    ] {
        let long = "b".repeat(201);
        let command = of(command, &[]);
        let command: Vec<&str> = command
            .iter()
            .map(|word| if word == "LAYER" { &*long } else { word })
            .collect();
        let with = |more: &[&'static str]| [&command[..], more].concat();
        ask(&with(&[]), 2, &["[J004]", &format!("--allow {toml}")]);
        let name = [&command[..], &both[..2]].concat();
        ask(&name, 2, &["[J024]", "`--allow name-length=201` lets it"]);
        ask(&[&command[..], &both].concat(), 0, &[]);
        let none = "name-length, pieces, sheets, sheets-alike, entries, pockets, points, seconds, rounds, lanes, bytes, entities, depth";
        ask(
            &with(&["--allow", "people=3"]),
            2,
            &["\"people\" is none of", none],
        );
        ask(&with(&["--allow", "pieces=0"]), 2, &["1 to 1000000 pieces"]);
    }
}

#[test]
fn budgets_of_the_command_line_are_lifted_too() {
    let room = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(room.path().join(name), text).unwrap();
    write("stock.toml", STOCK);
    for (option, above) in [
        ("seconds", "86401"),
        ("rounds", "1000000001"),
        ("lanes", "257"),
    ] {
        let job = JOB.replace("stock.toml", "none.toml");
        write("job.toml", &job);
        let asked = format!("--{option}");
        let plan = ["plan", "job.toml", &asked, above];
        let done = run(room.path(), &plan, "1");
        let remedy = format!("`--allow {option}={above}` lets it");
        assert_eq!(done.status.code(), Some(2));
        assert!(err(&done).contains(&remedy), "{}", err(&done));
        // The option taken, what is wrong is that there is no stock.
        let lifted = format!("{option}={above}");
        let done = run(
            room.path(),
            &[&plan[..], &["--allow", &lifted]].concat(),
            "1",
        );
        assert!(err(&done).contains("none.toml"), "{}", err(&done));
    }
}
