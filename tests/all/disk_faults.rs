//! The rim: what may be read, whose folder may be replaced, and that a folder is written whole or not at all.

#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};

use seamwright::disk::{MOST_BYTES, Reader, check_folder, write_folder};
use seamwright::error::Error;
use seamwright::job::error::ReadFault;

type Files = Vec<(String, Vec<u8>)>;

/// The files of a small folder of ours; `mark` tells one from another.
fn ours(mark: &str) -> Files {
    let plan = format!(
        "{{\"format\": \"seamwright-plan/1\", \"mark\": \"{mark}\", \"sheets\": [{{\"dxf\": \"sheets/01.dxf\", \"svg\": \"sheets/01.svg\"}}], \"inputs\": [\"job.toml\", \"deep/er/a.dxf\"]}}"
    );
    let names = [
        "plan.json",
        "report.html",
        "sheets/01.dxf",
        "sheets/01.svg",
        "inputs/job.toml",
        "inputs/deep/er/a.dxf",
    ];
    let text = |name: &str| {
        if name == "plan.json" {
            plan.clone()
        } else {
            format!("{mark} {name}")
        }
    };
    names
        .iter()
        .map(|n| ((*n).to_owned(), text(n).into_bytes()))
        .collect()
}

/// Everything below a folder: path and bytes; folders with nothing, links with where they point.
fn all(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut out = BTreeMap::new();
    let mut todo = vec![folder.to_path_buf()];
    while let Some(at) = todo.pop() {
        for entry in fs::read_dir(&at).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(folder).unwrap().display().to_string();
            let about = fs::symlink_metadata(&path).unwrap();
            if about.is_symlink() {
                out.insert(
                    name,
                    fs::read_link(&path)
                        .unwrap()
                        .display()
                        .to_string()
                        .into_bytes(),
                );
            } else if about.is_dir() {
                out.insert(name, Vec::new());
                todo.push(path);
            } else {
                out.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    out
}

fn only_files(of: BTreeMap<String, Vec<u8>>) -> BTreeMap<String, Vec<u8>> {
    of.into_iter()
        .filter(|(_, bytes)| !bytes.is_empty())
        .collect()
}

fn holds(folder: &Path, files: &Files) -> bool {
    only_files(all(folder)) == files.iter().cloned().collect()
}

/// Names beside each other in a folder.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn told(result: Result<impl std::fmt::Debug, Error>) -> (String, String) {
    match result.unwrap_err() {
        Error::Output { what, hint } => (what, hint),
        other => panic!("{other:?}"),
    }
}

fn elsewhere() -> &'static Path {
    Path::new("/")
}

/// Puts a folder of ours where a test wants one.
fn write(out: &Path, mark: &str) {
    check_folder(out, false, elsewhere()).unwrap();
    write_folder(out, &ours(mark), false).unwrap();
}

// ---- reading --------------------------------------------------------------------------------------------------------

#[test]
fn files_are_read_in_the_job_s_own_tree_and_nowhere_else() {
    let room = tempfile::tempdir().unwrap();
    let job = room.path().join("job");
    fs::create_dir_all(job.join("sub")).unwrap();
    fs::write(job.join("sub/a.dxf"), "inside").unwrap();
    fs::write(room.path().join("secret"), "outside").unwrap();
    symlink(room.path().join("secret"), job.join("link")).unwrap();
    symlink(job.join("sub/a.dxf"), job.join("good-link")).unwrap();
    symlink(room.path(), job.join("up")).unwrap();
    let reader = Reader::new(&job, None);
    assert_eq!(reader.read("sub/a.dxf").unwrap(), b"inside");
    assert_eq!(reader.read("sub/../sub/./a.dxf").unwrap(), b"inside");
    assert_eq!(reader.read("good-link").unwrap(), b"inside");
    let secret = room.path().join("secret").display().to_string();
    let outside = [
        "../secret",
        "sub/../../secret",
        "link",
        "up/secret",
        "up/job/../secret",
        "/etc/passwd",
        "/dev/zero",
        "/nowhere",
        "../nowhere",
        "..",
        "../..",
        "/",
        "/proc/self/environ",
        "./../secret",
        "up",
        "//etc//passwd",
        "sub/../../../../../../../../etc/passwd",
        "link/../../secret",
        "up/../secret",
        secret.as_str(),
    ];
    for name in outside {
        assert_eq!(reader.read(name), Err(ReadFault::Outside), "{name}");
    }
    assert_eq!(reader.read("nowhere"), Err(ReadFault::Missing));
    assert_eq!(reader.read("sub/a.dxf/x"), Err(ReadFault::Missing));
    let wider = Reader::new(&job, Some(room.path()));
    assert_eq!(
        wider.read("../secret").unwrap(),
        b"outside",
        "a root widens the limits"
    );
    assert_eq!(wider.read("/etc/passwd"), Err(ReadFault::Outside));
}

#[test]
fn a_folder_that_is_named_through_a_link_tells_missing_files_as_missing() {
    let room = tempfile::tempdir().unwrap();
    fs::create_dir(room.path().join("real")).unwrap();
    symlink("real", room.path().join("link")).unwrap();
    let reader = Reader::new(&room.path().join("link"), None);
    assert_eq!(reader.read("nowhere.dxf"), Err(ReadFault::Missing));
    assert_eq!(reader.read("../nowhere.dxf"), Err(ReadFault::Outside));
}

#[test]
fn only_regular_files_of_bounded_size_are_read() {
    let room = tempfile::tempdir().unwrap();
    let reader = Reader::new(room.path(), None);
    fs::create_dir(room.path().join("folder")).unwrap();
    assert_eq!(reader.read("folder"), Err(ReadFault::NotAFile));
    assert!(
        Command::new("mkfifo")
            .arg(room.path().join("pipe"))
            .status()
            .unwrap()
            .success()
    );
    assert_eq!(
        reader.read("pipe"),
        Err(ReadFault::NotAFile),
        "and it does not wait for a writer"
    );
    for (more, fits) in [(0, true), (1, false)] {
        let file = fs::File::create(room.path().join("large")).unwrap();
        file.set_len(MOST_BYTES + more).unwrap();
        let read = reader.read("large");
        assert_eq!(read.is_ok(), fits, "{more} over the limit");
    }
}

// ---- whose folder ---------------------------------------------------------------------------------------------------

#[test]
fn a_folder_of_ours_is_replaced_and_nothing_stays_beside_it() {
    let room = tempfile::tempdir().unwrap();
    let out = room.path().join("out");
    write(&out, "one");
    assert!(holds(&out, &ours("one")));
    write(&out, "two");
    assert!(holds(&out, &ours("two")));
    assert_eq!(names(room.path()), ["out"]);
    let usual = room.path().join("usual");
    fs::create_dir(&usual).unwrap();
    let mode = |p: &Path| fs::metadata(p).unwrap().permissions().mode() & 0o777;
    assert_eq!(
        mode(&out),
        mode(&usual),
        "it has the mode of any new folder"
    );
}

#[test]
fn an_empty_folder_and_one_that_is_not_there_are_written() {
    let room = tempfile::tempdir().unwrap();
    fs::create_dir(room.path().join("empty")).unwrap();
    write(&room.path().join("empty"), "one");
    write(&room.path().join("not/there/yet"), "two");
    assert!(holds(&room.path().join("empty"), &ours("one")));
    assert!(holds(&room.path().join("not/there/yet"), &ours("two")));
}

#[test]
fn what_somebody_else_put_into_a_folder_keeps_it() {
    type Plant = (&'static str, fn(&Path));
    let plants: [Plant; 8] = [
        ("note.txt", |out| {
            fs::write(out.join("note.txt"), "mine").unwrap()
        }),
        ("sheets/02.dxf", |out| {
            fs::write(out.join("sheets/02.dxf"), "mine").unwrap()
        }),
        ("inputs/other.toml", |out| {
            fs::write(out.join("inputs/other.toml"), "mine").unwrap()
        }),
        ("photos/", |out| fs::create_dir(out.join("photos")).unwrap()),
        ("proof.pdf@", |out| {
            symlink("/etc/passwd", out.join("proof.pdf")).unwrap()
        }),
        ("report.html@", |out| {
            fs::remove_file(out.join("report.html")).unwrap();
            symlink("../elsewhere", out.join("report.html")).unwrap();
        }),
        ("pockets.csv/", |out| {
            fs::create_dir(out.join("pockets.csv")).unwrap()
        }),
        (".hidden", |out| {
            fs::write(out.join(".hidden"), "mine").unwrap()
        }),
    ];
    for (name, plant) in plants {
        let room = tempfile::tempdir().unwrap();
        let out = room.path().join("out");
        write(&out, "one");
        plant(&out);
        let before = all(room.path());
        let (what, hint) = told(check_folder(&out, false, elsewhere()));
        assert!(
            what.contains(name) && what.contains("did not write"),
            "{name}: {what}"
        );
        assert!(hint.contains("--force"), "{hint}");
        told(write_folder(&out, &ours("two"), false));
        assert_eq!(all(room.path()), before, "{name}");
        assert_eq!(
            check_folder(&out, true, elsewhere()).unwrap(),
            [name],
            "what is given up is told"
        );
        write_folder(&out, &ours("two"), true).unwrap();
        assert!(holds(&out, &ours("two")), "{name}");
        assert_eq!(names(room.path()), ["out"]);
    }
}

#[test]
fn a_folder_without_our_plan_is_not_ours() {
    for plan in [
        None,
        Some("{}"),
        Some("{\"format\": \"other/1\", \"why\": \"\\\"format\\\": \\\"seamwright-plan/1\\\"\"}"),
        Some("\"format\": \"seamwright-plan/1\""),
    ] {
        let room = tempfile::tempdir().unwrap();
        let out = room.path().join("out");
        fs::create_dir(&out).unwrap();
        fs::write(out.join("report.html"), "somebody's").unwrap();
        if let Some(text) = plan {
            fs::write(out.join("plan.json"), text).unwrap();
        }
        let before = all(room.path());
        told(check_folder(&out, false, elsewhere()));
        told(write_folder(&out, &ours("one"), false));
        assert_eq!(all(room.path()), before, "{plan:?}");
    }
}

#[test]
fn a_file_a_link_and_no_name_are_refused_even_by_force() {
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("file"), "mine").unwrap();
    fs::create_dir(room.path().join("real")).unwrap();
    symlink("real", room.path().join("link")).unwrap();
    let before = all(room.path());
    for name in ["file", "link", "real/.."] {
        let (what, _) = told(check_folder(&room.path().join(name), true, elsewhere()));
        assert!(what.contains(name), "{what}");
    }
    told(check_folder(Path::new("/"), true, elsewhere()));
    told(check_folder(Path::new(".."), true, elsewhere()));
    assert_eq!(all(room.path()), before);
}

#[test]
fn the_folder_of_the_job_is_not_replaced_even_by_force() {
    let room = tempfile::tempdir().unwrap();
    let job = room.path().join("jobs/tray");
    fs::create_dir_all(&job).unwrap();
    fs::write(job.join("job.toml"), "mine").unwrap();
    for out in [
        job.clone(),
        room.path().join("jobs"),
        job.join("../../jobs/tray"),
    ] {
        let (what, _) = told(check_folder(&out, true, &job));
        assert!(what.contains("the job lies in it"), "{what}");
    }
    assert!(check_folder(&job.join("out"), false, &job).is_ok());
}

#[test]
fn removing_an_old_folder_follows_no_link() {
    let room = tempfile::tempdir().unwrap();
    let (out, precious) = (room.path().join("out"), room.path().join("precious"));
    fs::create_dir(&precious).unwrap();
    fs::write(precious.join("work"), "years").unwrap();
    write(&out, "one");
    symlink(&precious, out.join("sheets/inside")).unwrap();
    symlink(&precious, out.join("top")).unwrap();
    check_folder(&out, true, elsewhere()).unwrap();
    write_folder(&out, &ours("two"), true).unwrap();
    assert_eq!(fs::read(precious.join("work")).unwrap(), b"years");
    assert!(holds(&out, &ours("two")));
}

#[test]
fn links_that_change_while_a_folder_is_replaced_lead_nowhere() {
    let room = tempfile::tempdir().unwrap();
    let (out, precious) = (room.path().join("out"), room.path().join("precious"));
    fs::create_dir(&precious).unwrap();
    fs::write(precious.join("work"), "years").unwrap();
    write(&out, "start");
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            // Somebody who turns `sheets` into a link and back, in whatever folder is there.
            while !done.load(Ordering::Relaxed) {
                let (sheets, aside) = (out.join("sheets"), out.join("sheets-aside"));
                if fs::rename(&sheets, &aside).is_ok() {
                    let _ = symlink(&precious, &sheets);
                    let _ = fs::remove_file(&sheets);
                    let _ = fs::rename(&aside, &sheets);
                }
            }
        });
        for k in 0..300 {
            let _ = write_folder(&out, &ours(&format!("{k}")), true);
        }
        done.store(true, Ordering::Relaxed);
    });
    assert_eq!(fs::read(precious.join("work")).unwrap(), b"years");
    assert_eq!(
        names(&precious),
        ["work"],
        "nothing was written through a link either"
    );
}

// ---- faults ---------------------------------------------------------------------------------------------------------

#[test]
fn a_name_that_leads_out_of_the_folder_is_written_nowhere() {
    for name in ["../x", "/tmp/x", "a/../../x", "."] {
        let room = tempfile::tempdir().unwrap();
        let out = room.path().join("deep/out");
        let files = vec![
            ("plan.json".to_owned(), b"{}".to_vec()),
            (name.to_owned(), b"x".to_vec()),
        ];
        told(write_folder(&out, &files, false));
        assert!(
            names(room.path()).is_empty(),
            "{name}: folders made on the way go again"
        );
    }
}

#[test]
fn a_file_that_cannot_be_written_leaves_the_old_folder_as_it_was() {
    let room = tempfile::tempdir().unwrap();
    let out = room.path().join("out");
    write(&out, "one");
    let mut files = ours("two");
    // The same name once as a file and once as a folder: the last of the files fails after all others were written.
    files.push(("report.html/x".to_owned(), b"x".to_vec()));
    let before = all(room.path());
    let (what, _) = told(write_folder(&out, &files, false));
    assert!(what.contains("report.html/x"), "{what}");
    assert_eq!(all(room.path()), before);
}

/// Whether this process may mount, which only the superuser may.
fn mounted(kind: &str, options: &str, at: &Path) -> bool {
    fs::create_dir_all(at).unwrap();
    let done = Command::new("mount")
        .args(["-t", kind, "-o", options, "none"])
        .arg(at)
        .output();
    done.is_ok_and(|d| d.status.success())
}

/// A mount that goes when the test ends, however it ends.
struct Mount(PathBuf);

impl Drop for Mount {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

/// Says aloud that a test could not be run here.
#[allow(clippy::print_stderr, reason = "a test that is left out is told")]
fn skipped(what: &str) {
    eprintln!("SKIPPED: {what}: this user may not mount");
}

#[test]
fn a_full_disk_is_told_and_the_old_folder_stays() {
    let room = tempfile::tempdir().unwrap();
    let disk = room.path().join("disk");
    if !mounted("tmpfs", "size=1m", &disk) {
        return skipped("a full disk");
    }
    let _mount = Mount(disk.clone());
    let out = disk.join("out");
    write(&out, "one");
    // Files that fill the disk at the first, at a middle and at the last one.
    for large in [0, 2, 5] {
        let mut files = ours("two");
        files[large].1 = vec![b'x'; 2 << 20];
        let (what, hint) = told(write_folder(&out, &files, false));
        assert!(what.contains(&files[large].0), "{what}");
        assert!(hint.contains("make room"), "{hint}");
        assert!(holds(&out, &ours("one")));
        assert_eq!(names(&disk), ["out"], "nothing is left beside it");
    }
    write(&out, "three");
    assert!(
        holds(&out, &ours("three")),
        "and it goes on once there is room"
    );
}

#[test]
fn a_read_only_disk_is_told_before_the_search() {
    let room = tempfile::tempdir().unwrap();
    let disk = room.path().join("disk");
    if !mounted("tmpfs", "size=1m", &disk) {
        return skipped("a read-only disk");
    }
    let _mount = Mount(disk.clone());
    let out = disk.join("out");
    write(&out, "one");
    let remounted = Command::new("mount")
        .args(["-o", "remount,ro"])
        .arg(&disk)
        .status()
        .unwrap();
    assert!(remounted.success());
    let (what, hint) = told(check_folder(&out, false, elsewhere()));
    assert!(
        what.contains("could not be written into") && hint.contains("`-o`"),
        "{what}; {hint}"
    );
    told(write_folder(&out, &ours("two"), false));
    assert!(holds(&out, &ours("one")));
}

// ---- after a run that was cut short ---------------------------------------------------------------------------------

/// A room as a killed run leaves it.
fn room_beside(out: &Path, tail: &str) -> PathBuf {
    let name = format!(
        ".{}-part-{tail}",
        out.file_name().unwrap().to_string_lossy()
    );
    let room = out.with_file_name(name);
    fs::create_dir(&room).unwrap();
    room
}

fn put(folder: &Path, files: &Files) {
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
}

#[test]
fn an_exchange_that_was_cut_short_is_completed() {
    let room = tempfile::tempdir().unwrap();
    let out = room.path().join("out");
    // Killed between the two renames: the old folder is aside, the new one complete.
    let left = room_beside(&out, "aB3xY9");
    put(&left.join("old"), &ours("one"));
    put(&left.join("new"), &ours("two"));
    check_folder(&out, false, elsewhere()).unwrap();
    assert!(holds(&out, &ours("two")));
    assert_eq!(names(room.path()), ["out"]);
}

#[test]
fn rooms_of_killed_runs_go_and_those_of_others_stay() {
    let room = tempfile::tempdir().unwrap();
    let out = room.path().join("out");
    write(&out, "one");
    // Killed while writing, and after the exchange.
    put(&room_beside(&out, "aaaaaa").join("new"), &ours("half"));
    put(&room_beside(&out, "bbbbbb").join("new"), &ours("replaced"));
    // Not rooms: another length, another target, other content.
    put(&room_beside(&out, "longer-tail"), &ours("x"));
    put(
        &room_beside(&room.path().join("other"), "cccccc").join("new"),
        &ours("x"),
    );
    put(&room_beside(&out, "dddddd"), &ours("x"));
    check_folder(&out, false, elsewhere()).unwrap();
    assert!(holds(&out, &ours("one")));
    assert_eq!(
        names(room.path()),
        [
            ".other-part-cccccc",
            ".out-part-dddddd",
            ".out-part-longer-tail",
            "out"
        ]
    );
}

#[test]
fn the_room_of_a_run_that_is_alive_is_let_be() {
    use rustix::fs::{FlockOperation, flock};
    let room = tempfile::tempdir().unwrap();
    let out = room.path().join("out");
    let alive = room_beside(&out, "eeeeee");
    put(&alive.join("new"), &ours("half"));
    let handle = fs::File::open(&alive).unwrap();
    flock(&handle, FlockOperation::NonBlockingLockExclusive).unwrap();
    check_folder(&out, false, elsewhere()).unwrap();
    assert!(alive.join("new/plan.json").exists());
    drop(handle);
    check_folder(&out, false, elsewhere()).unwrap();
    assert!(!alive.exists(), "it goes once its owner is gone");
}

#[test]
fn a_run_killed_at_any_moment_leaves_the_old_folder_or_the_new_one() {
    let room = tempfile::tempdir().unwrap();
    let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/jobs/key-fob-board/job.toml");
    let out = room.path().join("out");
    let run = |seed: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_seamwright"));
        command
            .arg("plan")
            .arg(&job)
            .arg("-o")
            .arg(&out)
            .args(["--rounds", "0", "--quiet", "--seed", seed]);
        command
    };
    let whole = |seed: &str| {
        let started = std::time::Instant::now();
        assert!(run(seed).output().unwrap().status.success());
        (only_files(all(&out)), started.elapsed())
    };
    let (one, _) = whole("1");
    let (two, time) = whole("2");
    assert!(one != two, "the seed is told in the plan at least");
    // Twenty moments, most of them toward the end, where the writing is.
    for k in 1..=20_u32 {
        let share = f64::from(k) / 20.0;
        let mut child = run(if k % 2 == 0 { "2" } else { "1" }).spawn().unwrap();
        std::thread::sleep(time.mul_f64(share.sqrt()));
        child.kill().unwrap();
        child.wait().unwrap();
        let now = only_files(all(&out));
        assert!(now == one || now == two, "killed after {share:.2} of a run");
    }
    whole("1");
    assert_eq!(names(room.path()), ["out"], "the next run clears up");
}
