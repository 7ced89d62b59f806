//! Commands, options, streams and exit statuses, as scripts use them.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::program::err;

/// The job that plans fastest.
const DEMO: &str = "fixtures/jobs/key-fob-board";

fn seamwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_seamwright"));
    command
        .env_remove("NO_COLOR")
        .env_remove("FORCE_COLOR")
        .env_remove("CLICOLOR_FORCE");
    command
}

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(DEMO)
}

/// A copy of the demo in a folder of its own.
fn room() -> tempfile::TempDir {
    let room = tempfile::tempdir().unwrap();
    for name in ["job.toml", "stock.toml"] {
        std::fs::copy(demo().join(name), room.path().join(name)).unwrap();
    }
    room
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    seamwright()
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

fn out(done: &Output) -> String {
    String::from_utf8_lossy(&done.stdout).into_owned()
}

#[test]
fn alone_it_shows_its_commands_and_no_more_than_there_are() {
    let done = seamwright().output().unwrap();
    assert_eq!(done.status.code(), Some(0));
    assert!(
        out(&done).contains("seamwright plan JOB")
            && out(&done).contains("seamwright check JOB")
            && out(&done).contains("seamwright compare JOB")
            && out(&done).contains("seamwright recut OUT PIECE")
    );
    for later in ["verify", "coupon", "explain", "schema"] {
        assert!(!out(&done).contains(later), "{later} does not exist yet");
    }
    assert!(err(&done).is_empty());
}

#[test]
fn wrong_arguments_end_with_2_and_help_with_0() {
    let room = room();
    for arguments in [
        &["plan"][..],
        &["frobnicate"],
        &["plan", "job.toml", "--secnds", "3"],
        &["plan", "job.toml", "--seconds", "-1"],
        &["plan", "job.toml", "--seconds", "nan"],
        &["plan", "job.toml", "--seconds", "86401"],
        &["plan", "job.toml", "--seconds", "1", "--rounds", "1"],
        &["plan", "job.toml", "--lanes", "0"],
        &["plan", "job.toml", "--lanes", "257"],
        &["plan", "job.toml", "--rounds", "1000000001"],
        &["plan", "job.toml", "--seed", "-1"],
        &["check", "job.toml", "--color", "sometimes"],
    ] {
        let done = run(room.path(), arguments);
        assert_eq!(done.status.code(), Some(2), "{arguments:?}: {}", err(&done));
        assert!(
            out(&done).is_empty() && err(&done).starts_with("error"),
            "{arguments:?}: {}",
            err(&done)
        );
    }
    for arguments in [&["--help"][..], &["plan", "--help"], &["--version"]] {
        assert_eq!(
            run(room.path(), arguments).status.code(),
            Some(0),
            "{arguments:?}"
        );
    }
    assert!(
        out(&run(room.path(), &["--help"])).contains("130"),
        "exit statuses are told"
    );
}

#[test]
fn a_plan_goes_beside_the_job_and_is_summed_up_on_standard_output() {
    let room = room();
    let done = run(room.path(), &["plan", "job.toml", "--rounds", "0"]);
    assert_eq!(done.status.code(), Some(0), "{}", err(&done));
    assert!(room.path().join("out/plan.json").is_file());
    assert!(
        err(&done).is_empty(),
        "no progress where standard error is no terminal: {}",
        err(&done)
    );
    for line in [
        "done: ",
        "  search    0 rounds",
        "  wrote     out",
        "  repeat    --rounds 0 --seed ",
    ] {
        assert!(
            out(&done).contains(line),
            "{line:?} is missing in\n{}",
            out(&done)
        );
    }
    // A folder means its job, and a folder of ours is replaced.
    let again = run(
        Path::new("/"),
        &["plan", room.path().to_str().unwrap(), "--rounds", "0"],
    );
    assert_eq!(again.status.code(), Some(0), "{}", err(&again));
    let left: Vec<String> = std::fs::read_dir(room.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(
        left.len(),
        3,
        "job, stock and out, nothing temporary: {left:?}"
    );
}

#[test]
fn the_command_line_goes_over_the_job() {
    let room = room();
    let plan = |arguments: &[&str]| {
        let done = run(
            room.path(),
            &[
                &["plan", "job.toml", "-o", "made", "--rounds", "1"],
                arguments,
            ]
            .concat(),
        );
        assert_eq!(done.status.code(), Some(0), "{}", err(&done));
        std::fs::read_to_string(room.path().join("made/plan.json")).unwrap()
    };
    let text = plan(&["--seed", "77", "--lanes", "3"]);
    let settings: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(settings["settings"]["seed"], 77);
    assert_eq!(settings["settings"]["lanes"], 3);
    assert!(
        !room.path().join("out").exists(),
        "`-o` names another folder"
    );
}

#[test]
fn quiet_says_nothing_and_lines_says_a_line_for_each_improvement() {
    let room = room();
    let quiet = run(
        room.path(),
        &["plan", "job.toml", "--rounds", "0", "--quiet"],
    );
    assert_eq!(quiet.status.code(), Some(0));
    assert!(out(&quiet).is_empty());
    assert!(
        err(&quiet)
            .lines()
            .all(|line| line.starts_with("  finding ")),
        "{}",
        err(&quiet)
    );
    let lines = run(
        room.path(),
        &["plan", "job.toml", "--rounds", "0", "--progress", "lines"],
    );
    assert!(err(&lines).contains("what changed"), "{}", err(&lines));
    assert!(err(&lines).contains("seed 1"), "{}", err(&lines));
    assert!(
        !err(&lines).contains('\u{1b}'),
        "no cursor codes where there is no terminal"
    );
}

#[test]
fn somebody_elses_folder_is_left_alone_unless_forced() {
    let room = room();
    let theirs = room.path().join("out");
    std::fs::create_dir(&theirs).unwrap();
    std::fs::write(theirs.join("note.txt"), "keep me").unwrap();
    let done = run(room.path(), &["plan", "job.toml", "--rounds", "0"]);
    assert_eq!(done.status.code(), Some(4));
    assert!(err(&done).contains("--force"), "{}", err(&done));
    assert_eq!(
        std::fs::read_to_string(theirs.join("note.txt")).unwrap(),
        "keep me"
    );
    let forced = run(
        room.path(),
        &["plan", "job.toml", "--rounds", "0", "--force"],
    );
    assert_eq!(forced.status.code(), Some(0), "{}", err(&forced));
    assert!(theirs.join("plan.json").is_file());
}

#[test]
fn an_output_that_cannot_be_written_ends_with_4() {
    let room = room();
    std::fs::write(room.path().join("file"), "").unwrap();
    for target in ["file", "file/out"] {
        let done = run(
            room.path(),
            &["plan", "job.toml", "--rounds", "0", "-o", target],
        );
        assert_eq!(done.status.code(), Some(4), "{target}: {}", err(&done));
        assert!(err(&done).contains("-o"), "{}", err(&done));
    }
}

#[test]
fn paths_are_shown_as_the_user_typed_them() {
    let room = room();
    let sub = room.path().join("tray");
    std::fs::create_dir(&sub).unwrap();
    std::fs::write(sub.join("job.toml"), "stock = \"s.toml\"\nwrong = 1\n").unwrap();
    std::fs::write(sub.join("s.toml"), "[[sheet]]\nid = 3\n").unwrap();
    let done = run(room.path(), &["check", "tray"]);
    assert_eq!(done.status.code(), Some(2));
    assert!(
        err(&done).contains("--> tray/job.toml:2:1"),
        "{}",
        err(&done)
    );
    assert!(err(&done).contains("--> tray/s.toml:2:6"), "{}", err(&done));
    assert!(
        err(&done).contains("in 2 files; nothing was written"),
        "{}",
        err(&done)
    );
}

#[test]
fn colour_is_there_when_asked_for_and_names_never_drive_the_terminal() {
    let room = room();
    std::fs::write(
        room.path().join("bad.toml"),
        "\"a\\u001b[31m\\u202eb\" = 1 # \u{9b}31m\u{200b}\n",
    )
    .unwrap();
    let plain = run(room.path(), &["check", "bad.toml"]);
    assert!(
        !err(&plain).contains('\u{1b}')
            && !err(&plain).contains('\u{9b}')
            && !err(&plain).contains('\u{202e}')
            && !err(&plain).contains('\u{200b}')
    );
    let styled = run(room.path(), &["check", "bad.toml", "--color", "always"]);
    assert!(err(&styled).contains("\u{1b}["), "{}", err(&styled));
    let asked = seamwright()
        .args(["check", "bad.toml"])
        .env("FORCE_COLOR", "1")
        .current_dir(room.path())
        .output()
        .unwrap();
    assert!(err(&asked).contains("\u{1b}["));
    let both = seamwright()
        .args(["check", "bad.toml"])
        .env("FORCE_COLOR", "1")
        .env("NO_COLOR", "1")
        .current_dir(room.path())
        .output()
        .unwrap();
    assert!(!err(&both).contains('\u{1b}'), "NO_COLOR comes first");
}

#[test]
fn a_closed_pipe_is_no_error() {
    let room = room();
    for arguments in [
        &["check", "job.toml"][..],
        &["plan", "job.toml", "--rounds", "0", "--progress", "lines"],
        &["--help"],
        &["check", "none.toml"],
    ] {
        let mut child = seamwright()
            .args(arguments)
            .current_dir(room.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        drop(child.stderr.take());
        let status = child.wait().unwrap().code();
        assert_eq!(
            status,
            Some(if arguments.contains(&"none.toml") {
                2
            } else {
                0
            }),
            "{arguments:?}"
        );
    }
}

#[cfg(unix)]
mod stopping {
    use super::*;
    use std::time::{Duration, Instant};

    fn interrupt(child: &std::process::Child) {
        let sent = Command::new("kill")
            .args(["-INT", &child.id().to_string()])
            .status()
            .unwrap();
        assert!(sent.success());
    }

    /// Starts a long search and waits until a plan stands.
    fn searching(
        room: &Path,
    ) -> (
        std::process::Child,
        std::io::BufReader<std::process::ChildStderr>,
    ) {
        use std::io::BufRead;
        let mut child = seamwright()
            .args([
                "plan",
                "job.toml",
                "--seconds",
                "600",
                "--progress",
                "lines",
            ])
            .current_dir(room)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut talk = std::io::BufReader::new(child.stderr.take().unwrap());
        let mut line = String::new();
        while !line.contains("first plan") {
            line.clear();
            assert!(
                talk.read_line(&mut line).unwrap() > 0,
                "the search ended before a plan stood"
            );
        }
        (child, talk)
    }

    #[test]
    fn the_first_interrupt_keeps_the_best_plan() {
        let room = room();
        let start = Instant::now();
        let (mut child, talk) = searching(room.path());
        interrupt(&child);
        assert_eq!(child.wait().unwrap().code(), Some(0));
        drop(talk);
        assert!(room.path().join("out/plan.json").is_file());
        assert!(
            start.elapsed() < Duration::from_secs(300),
            "long before the 600 s that were granted"
        );
    }

    #[test]
    fn the_second_interrupt_ends_at_once_and_leaves_nothing() {
        let room = room();
        let (mut child, talk) = searching(room.path());
        interrupt(&child);
        interrupt(&child);
        let status = child.wait().unwrap().code();
        drop(talk);
        let left: Vec<String> = std::fs::read_dir(room.path())
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        // A search that ends between the two has written its plan, whole: both are right, a half is not.
        match status {
            Some(130) => assert_eq!(left.len(), 2, "job and stock: {left:?}"),
            Some(0) => assert!(
                room.path().join("out/plan.json").is_file() && left.len() == 3,
                "{left:?}"
            ),
            other => panic!("ended with {other:?}"),
        }
    }
}
