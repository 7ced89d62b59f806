//! The same job gives the same bytes: whatever the number of threads, the folder, the locale, the time zone, and whether
//! the budget was told in rounds or in seconds.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

const JOBS: [&str; 3] = ["coaster-tray", "key-fob-board", "gauge-cradle"];

fn job(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/jobs")
        .join(name)
        .join("job.toml")
}

/// Every file of a folder, by its path in it.
fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut out = BTreeMap::new();
    let mut todo = vec![folder.to_path_buf()];
    while let Some(at) = todo.pop() {
        for entry in std::fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                todo.push(path);
            } else {
                out.insert(
                    path.strip_prefix(folder).unwrap().display().to_string(),
                    std::fs::read(&path).unwrap(),
                );
            }
        }
    }
    out
}

fn plan(
    job: &Path,
    out: &Path,
    arguments: &[&str],
    environment: &[(&str, &str)],
) -> BTreeMap<String, Vec<u8>> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_seamwright"));
    command
        .arg("plan")
        .arg(job)
        .arg("-o")
        .arg(out)
        .args(arguments)
        .envs(environment.iter().copied());
    let done = command.output().unwrap();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    bytes(out)
}

fn assert_same(a: &BTreeMap<String, Vec<u8>>, b: &BTreeMap<String, Vec<u8>>, what: &str) {
    assert_eq!(
        a.keys().collect::<Vec<_>>(),
        b.keys().collect::<Vec<_>>(),
        "{what}: other files"
    );
    for (name, bytes) in a {
        assert!(bytes == &b[name], "{what}: {name} differs");
    }
}

#[test]
fn threads_locale_zone_and_folder_change_no_byte() {
    for name in JOBS {
        let room = tempfile::tempdir().unwrap();
        let first = plan(
            &job(name),
            &room.path().join("a"),
            &["--rounds", "3"],
            &[("RAYON_NUM_THREADS", "1")],
        );
        for (threads, more) in [
            ("2", ("LC_ALL", "de_DE.UTF-8")),
            ("7", ("TZ", "Asia/Kathmandu")),
        ] {
            let again = plan(
                &job(name),
                &room.path().join(threads),
                &["--rounds", "3"],
                &[("RAYON_NUM_THREADS", threads), more],
            );
            assert_same(&first, &again, &format!("{name} on {threads} threads"));
        }
        let elsewhere = room.path().join("moved here");
        copy(job(name).parent().unwrap(), &elsewhere);
        let moved = plan(
            &elsewhere.join("job.toml"),
            &elsewhere.join("out"),
            &["--rounds", "3"],
            &[],
        );
        assert_same(&first, &moved, &format!("{name} in another folder"));
    }
}

#[test]
fn rounds_repeat_what_seconds_found() {
    let room = tempfile::tempdir().unwrap();
    let timed = plan(
        &job(JOBS[0]),
        &room.path().join("timed"),
        &["--seconds", "2"],
        &[],
    );
    let told: serde_json::Value = serde_json::from_slice(&timed["plan.json"]).unwrap();
    let rounds = told["settings"]["rounds"].as_u64().unwrap();
    let again = plan(
        &job(JOBS[0]),
        &room.path().join("again"),
        &["--rounds", &rounds.to_string()],
        &[],
    );
    assert_same(&timed, &again, &format!("{rounds} rounds"));
}

#[test]
fn another_seed_is_another_search() {
    let room = tempfile::tempdir().unwrap();
    let one = plan(
        &job(JOBS[0]),
        &room.path().join("one"),
        &["--rounds", "3", "--seed", "1"],
        &[],
    );
    let two = plan(
        &job(JOBS[0]),
        &room.path().join("two"),
        &["--rounds", "3", "--seed", "2"],
        &[],
    );
    assert!(
        one["plan.json"] != two["plan.json"],
        "the seed is told in the plan at least"
    );
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            if path.file_name().unwrap() != "out" {
                copy(&path, &target);
            }
        } else {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}
