//! Runs the built program.

#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::path::Path;
use std::process::{Command, Output};

/// Runs it in a folder on so many threads.
pub(crate) fn run(folder: &Path, arguments: &[&str], threads: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_seamwright"))
        .args(arguments)
        .current_dir(folder)
        .env("RAYON_NUM_THREADS", threads)
        .output()
        .unwrap()
}

/// What it said of faults and progress.
pub(crate) fn err(done: &Output) -> String {
    String::from_utf8_lossy(&done.stderr).into_owned()
}
