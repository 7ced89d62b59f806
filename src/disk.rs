//! The rim: reads named files, writes the output folder whole or not at all. No other file touches the disk.
//!
//! *Reading.* A name is taken relative to the job's folder. With links resolved the file must lie in the job's folder tree,
//! or in the working folder's if the job lies in that, or under the root that the user adds; only regular files are read,
//! and none larger than [`MOST_BYTES`].
//!
//! *Writing.* Beside the target a private folder with a random name is made, the *room*. In it all files go into `new`, each
//! flushed to the disk. Then `new` and the old folder change places: in one step where the system can; else the old one
//! moves to `old` in the room, and `new` takes its place. At every moment the target is the old folder or the new one, or
//! the room holds both, `new` complete: then the next run puts `new` in place. The room goes, with what was replaced, when
//! all is done or a step fails; the next run removes one that was left by a run that was killed (a run that is alive holds
//! a lock on its room).
//!
//! *Whose folder.* An existing folder is replaced only where its `plan.json` or `comparison.json` is ours and it holds nothing
//! that these do not name, or where the user forces it; never where the job or the working folder lies in it. Links are not followed,
//! neither when a folder is looked at nor when one is removed.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Component, Path, PathBuf};

use crate::error::Error;
use crate::job::error::ReadFault;
use crate::output::FORMAT;

/// The largest input file: drawings are seldom over 5 MiB, and a slip of the finger must not fill the memory.
pub const MOST_BYTES: u64 = 64 << 20;
/// The largest `plan.json` that is read.
pub const MOST_PLAN_BYTES: u64 = 1 << 30;
/// Files at the top of a folder of ours.
const OURS: [&str; 8] = [
    "plan.json",
    "report.html",
    "proof.svg",
    "proof.pdf",
    "outline.svg",
    "outline.dxf",
    "pockets.csv",
    "stock-after.toml",
];
/// The format that our `comparison.json` names.
const COMPARISON_FORMAT: &str = "seamwright-comparison/1";
/// Files of a comparison.
const COMPARISON: [&str; 3] = ["comparison.json", "comparison.csv", "comparison.html"];
/// The new folder in a room.
const NEW: &str = "new";
/// The old folder in a room.
const OLD: &str = "old";

// ---- reading --------------------------------------------------------------------------------------------------------

/// Where files may be read.
#[derive(Clone, Debug)]
pub struct Reader {
    /// The job's folder, links resolved.
    folder: PathBuf,
    roots: Vec<PathBuf>,
    /// Bytes of the largest file.
    most: u64,
}

impl Reader {
    /// A reader for the files of a job: `folder` is the job's, `root` what the user widens the limits to.
    pub fn new(folder: &Path, root: Option<&Path>) -> Self {
        let folder = resolved(folder);
        let mut roots = vec![folder.clone()];
        if let Some(here) = working_folder().filter(|here| folder.starts_with(here)) {
            roots.push(here);
        }
        roots.extend(root.map(resolved));
        Self {
            folder,
            roots,
            most: MOST_BYTES,
        }
    }

    /// The same reader for files of up to so many bytes.
    pub fn admitting(self, most: u64) -> Self {
        Self { most, ..self }
    }

    /// Reads a file named in the job.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn read(&self, name: &str) -> Result<Vec<u8>, ReadFault> {
        let path = self.folder.join(name);
        let file = match path.canonicalize() {
            Ok(file) => file,
            // Outside comes first: whether a file outside exists is nobody's business.
            Err(_) if !self.allows(&would_lie(&path)) => return Err(ReadFault::Outside),
            Err(e) => return Err(read_fault(&e)),
        };
        if self.allows(&file) {
            read_regular(&file, self.most)
        } else {
            Err(ReadFault::Outside)
        }
    }

    fn allows(&self, path: &Path) -> bool {
        self.roots.iter().any(|root| path.starts_with(root))
    }
}

fn working_folder() -> Option<PathBuf> {
    std::env::current_dir().ok()?.canonicalize().ok()
}

/// A folder with links resolved, as far as it exists.
fn resolved(folder: &Path) -> PathBuf {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    let absolute = folder
        .canonicalize()
        .or_else(|_| std::path::absolute(folder));
    absolute.unwrap_or_else(|_| folder.to_path_buf())
}

/// Where a path that is not there would lie: links resolved as far as it exists, the rest by its words.
fn would_lie(path: &Path) -> PathBuf {
    let there = path.ancestors().find_map(|above| {
        let found = above.canonicalize().ok()?;
        Some((found, path.strip_prefix(above).ok()?))
    });
    let (mut place, rest) = there.unwrap_or((PathBuf::new(), path));
    for part in rest.components() {
        match part {
            Component::ParentDir => {
                place.pop();
            }
            Component::CurDir => {}
            other => place.push(other),
        }
    }
    place
}

fn read_fault(error: &io::Error) -> ReadFault {
    match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => ReadFault::Missing,
        ErrorKind::PermissionDenied => ReadFault::Denied,
        _ => ReadFault::Other(error.to_string()),
    }
}

/// Reads a regular file of bounded size.
///
/// # Errors
/// Why it cannot be read.
pub fn read_regular(path: &Path, most: u64) -> Result<Vec<u8>, ReadFault> {
    // Looked at before it is opened, since opening a device may do things; and after, since it may have been exchanged.
    let before = fs::metadata(path).map_err(|e| read_fault(&e))?;
    if !before.is_file() {
        return Err(ReadFault::NotAFile);
    }
    let file = open_without_waiting(path).map_err(|e| read_fault(&e))?;
    let about = file.metadata().map_err(|e| read_fault(&e))?;
    if !about.is_file() {
        return Err(ReadFault::NotAFile);
    }
    let too_large = ReadFault::TooLarge { limit: most };
    if about.len() > most {
        return Err(too_large);
    }
    let mut bytes = Vec::with_capacity(about.len() as usize);
    file.take(most.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|e| read_fault(&e))?;
    if bytes.len() as u64 > most {
        return Err(too_large);
    }
    Ok(bytes)
}

/// Opens a file for reading; a pipe that nobody writes into does not hold us up.
fn open_without_waiting(path: &Path) -> io::Result<fs::File> {
    let mut options = fs::OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.custom_flags(rustix::fs::OFlags::NONBLOCK.bits() as i32);
    }
    options.open(path)
}

// ---- whose folder ---------------------------------------------------------------------------------------------------

/// Looks, before the search, whether the output folder may be written, and completes an exchange that was cut short.
/// `job_folder` is never replaced, nor what it lies in. Gives the names of what `force` would remove though this program
/// did not write it.
///
/// # Errors
/// `Output` where the folder is somebody else's and `force` is not given, or its place cannot be written.
pub fn check_folder(out: &Path, force: bool, job_folder: &Path) -> Result<Vec<String>, Error> {
    let parent = parent_of(out)?;
    complete(out, &parent)?;
    let mut lost = Vec::new();
    match fs::symlink_metadata(out) {
        Err(e) if e.kind() == ErrorKind::NotFound => {}
        Err(e) => return Err(failed("looked at", out, &e)),
        Ok(about) if about.is_dir() => {
            holds_the_job(out, job_folder)?;
            lost = strangers(out).map_err(|e| failed("looked into", out, &e))?;
            refuse_strangers(out, &lost, force)?;
        }
        Ok(about) => {
            let what = if about.is_symlink() {
                "a link"
            } else {
                "a file"
            };
            return Err(refused(
                format!("{} is {what}, not a folder", out.display()),
                "name another folder with `-o`",
            ));
        }
    }
    // A folder that is made and removed again tells now what would else be found out after the search.
    let existing = existing_part(&parent);
    let trial = tempfile::Builder::new()
        .prefix(&prefix(out))
        .tempdir_in(&existing);
    trial
        .and_then(tempfile::TempDir::close)
        .map_err(|e| failed("written into", &existing, &e))?;
    Ok(lost)
}

fn refused(what: String, hint: &str) -> Error {
    Error::Output {
        what,
        hint: hint.to_owned(),
    }
}

/// Refuses a folder in which the job or the working folder lies: replacing it would remove them, and `--force` is not
/// meant for that.
fn holds_the_job(out: &Path, job_folder: &Path) -> Result<(), Error> {
    holds(out, "the job", job_folder)?;
    working_folder().map_or(Ok(()), |here| holds(out, "the working folder", &here))
}

/// Refuses a folder in which something lies that has to stay.
fn holds(out: &Path, word: &str, kept: &Path) -> Result<(), Error> {
    if resolved(kept).starts_with(would_lie(&resolved(out))) {
        return Err(refused(
            format!("{} is not replaced: {word} lies in it", out.display()),
            "name a folder of its own with `-o`",
        ));
    }
    Ok(())
}

/// Refuses to write pieces that are cut again into the folder of their plan, or over the stock file that they are cut from.
///
/// # Errors
/// `Output`, with the folder.
pub fn keep_apart(out: &Path, plan: &Path, stock: &Path) -> Result<(), Error> {
    holds(out, "the plan to cut again from", plan)?;
    holds(out, "the stock file", stock)?;
    if would_lie(&resolved(out)).starts_with(resolved(plan)) {
        return Err(refused(
            format!(
                "{} lies in the folder of the plan, which stays as it is",
                out.display()
            ),
            "name a folder beside it with `-o`",
        ));
    }
    Ok(())
}

fn refuse_strangers(out: &Path, strangers: &[String], force: bool) -> Result<(), Error> {
    let Some(first) = strangers.first().filter(|_| !force) else {
        return Ok(());
    };
    let more = match strangers.len() {
        1 => String::new(),
        n => format!(" and {} more", n - 1),
    };
    Err(refused(
        format!(
            "{} is not replaced: it holds `{first}`{more}, which this program did not write",
            out.display()
        ),
        "name another folder with `-o`, or give this one up with `--force`",
    ))
}

/// What a folder holds that this program did not write, as paths in it, sorted; nothing for an empty folder. Without our
/// `plan.json` that is everything.
fn strangers(out: &Path) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    list(out, "", &mut found)?;
    let known = written_names(out);
    // Names of folders end in `/`, and are known where a known file lies in them.
    let is_known = |name: &String| match name.strip_suffix('/') {
        Some(_) => known.iter().any(|k| k.starts_with(name.as_str())),
        None => known.contains(name),
    };
    found.retain(|name| !is_known(name));
    found.sort();
    Ok(found)
}

/// Names of files that a folder of ours holds: those of a plan, and those of a comparison.
fn written_names(out: &Path) -> BTreeSet<String> {
    let mut names = plan_names(out);
    if ours(&out.join(COMPARISON[0]), COMPARISON_FORMAT).is_some() {
        names.extend(COMPARISON.map(str::to_owned));
    }
    names
}

/// Names of files that a plan's folder holds: those at the top, drawings of its sheets, and the inputs that the plan lists.
/// Nothing where there is no plan of ours.
fn plan_names(out: &Path) -> BTreeSet<String> {
    let Some(plan) = ours(&out.join("plan.json"), FORMAT) else {
        return BTreeSet::new();
    };
    let mut names: BTreeSet<String> = OURS.iter().map(|n| (*n).to_owned()).collect();
    for sheet in plan["sheets"].as_array().into_iter().flatten() {
        let files = [&sheet["dxf"], &sheet["svg"]];
        names.extend(
            files
                .into_iter()
                .filter_map(|v| v.as_str())
                .map(str::to_owned),
        );
    }
    let inputs = plan["inputs"].as_array().into_iter().flatten();
    names.extend(
        inputs
            .filter_map(|v| v.as_str())
            .map(|n| format!("inputs/{n}")),
    );
    names
}

/// What a file of ours says, where it names the format.
fn ours(path: &Path, format: &str) -> Option<serde_json::Value> {
    let regular = fs::symlink_metadata(path).is_ok_and(|about| about.is_file());
    if !regular {
        return None;
    }
    let file = open_without_waiting(path).ok()?.take(MOST_PLAN_BYTES);
    let plan: serde_json::Value = serde_json::from_reader(io::BufReader::new(file)).ok()?;
    (plan["format"] == format).then_some(plan)
}

/// Everything below a folder, as paths from its top; folders end in `/`, what is neither a folder nor a regular file (a
/// link, a pipe) in `@`, which no name of ours does. Links are not followed.
fn list(folder: &Path, above: &str, found: &mut Vec<String>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let kind = entry.file_type()?;
        let name = format!("{above}{}", entry.file_name().to_string_lossy());
        if kind.is_dir() {
            found.push(format!("{name}/"));
            list(&entry.path(), &format!("{name}/"), found)?;
        } else if kind.is_file() {
            found.push(name);
        } else {
            found.push(format!("{name}@"));
        }
    }
    Ok(())
}

// ---- writing --------------------------------------------------------------------------------------------------------

/// Writes the output folder whole or not at all; what `check_folder` asks of an existing one is asked again.
///
/// # Errors
/// `Output` where the disk refuses; what was there before is as it was, and nothing is left beside it.
pub fn write_folder(out: &Path, files: &[(String, Vec<u8>)], force: bool) -> Result<(), Error> {
    write(out, files, force, false)
}

/// Writes files into a folder as [`write_folder`] does; a plan that lies there stays with all its files.
///
/// # Errors
/// As `write_folder`.
pub fn add_to_folder(out: &Path, files: &[(String, Vec<u8>)], force: bool) -> Result<(), Error> {
    write(out, files, force, true)
}

fn write(out: &Path, files: &[(String, Vec<u8>)], force: bool, keep: bool) -> Result<(), Error> {
    let parent = parent_of(out)?;
    let made = make_folders(&parent).map_err(|e| failed("made", &parent, &e))?;
    let written = write_into(out, &parent, files, force, keep);
    if written.is_err() {
        // What was made for the sake of the folder goes again; one that is not empty any more stays.
        for folder in made.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
    written
}

fn write_into(
    out: &Path,
    parent: &Path,
    files: &[(String, Vec<u8>)],
    force: bool,
    keep: bool,
) -> Result<(), Error> {
    // Private until it is done; it goes with everything in it where a step fails.
    let room = tempfile::Builder::new()
        .prefix(&prefix(out))
        .tempdir_in(parent)
        .map_err(|e| failed("written into", parent, &e))?;
    let _alive = try_lock(room.path());
    let new = room.path().join(NEW);
    fs::create_dir(&new).map_err(|e| failed("written into", parent, &e))?;
    let mut folders = BTreeSet::from([new.clone()]);
    for (name, bytes) in files {
        write_file(&new, name, bytes, &mut folders)
            .map_err(|e| failed("written", &out.join(name), &e))?;
    }
    if keep {
        keep_plan(out, &new, &mut folders).map_err(|e| failed("read", out, &e))?;
    }
    for folder in folders.iter().rev() {
        flush_folder(folder);
    }
    if fs::symlink_metadata(out).is_ok() {
        let strange = strangers(out).map_err(|e| failed("looked into", out, &e))?;
        refuse_strangers(out, &strange, force)?;
    }
    exchange(&new, out, &room.path().join(OLD)).map_err(|e| failed("replaced", out, &e))?;
    flush_folder(parent);
    Ok(())
}

/// Copies the files of a plan that lies in the old folder into the new one.
fn keep_plan(out: &Path, new: &Path, folders: &mut BTreeSet<PathBuf>) -> io::Result<()> {
    for name in plan_names(out) {
        let path = out.join(&name);
        // What is gone or no regular file was not written by us as it stands: it is no loss.
        if fs::symlink_metadata(&path).is_ok_and(|about| about.is_file()) {
            write_file(new, &name, &fs::read(&path)?, folders)?;
        }
    }
    Ok(())
}

/// Makes a folder and those above it; gives the ones that were not there, outermost first.
fn make_folders(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let missing: Vec<PathBuf> = folder
        .ancestors()
        .take_while(|f| !f.as_os_str().is_empty() && fs::symlink_metadata(f).is_err())
        .map(Path::to_path_buf)
        .collect();
    fs::create_dir_all(folder)?;
    Ok(missing.into_iter().rev().collect())
}

/// Writes one file in the new folder and flushes it; `folders` takes the folders that were made for it.
fn write_file(
    new: &Path,
    name: &str,
    bytes: &[u8],
    folders: &mut BTreeSet<PathBuf>,
) -> io::Result<()> {
    let inside = Path::new(name)
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    if !inside {
        return Err(io::Error::new(
            ErrorKind::InvalidInput,
            "its name leads out of the folder",
        ));
    }
    let path = new.join(name);
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
        let made = folder.ancestors().take_while(|f| *f != new);
        folders.extend(made.map(Path::to_path_buf));
    }
    let mut file = fs::File::create_new(&path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Puts the new folder in the old one's place. Where it fails, the old one is where it was.
fn exchange(new: &Path, out: &Path, old: &Path) -> io::Result<()> {
    if fs::symlink_metadata(out).is_err() {
        return fs::rename(new, out);
    }
    if swap(new, out).is_ok() {
        return Ok(());
    }
    fs::rename(out, old)?;
    fs::rename(new, out).inspect_err(|_| {
        // If this fails too, the next run completes the exchange from the room.
        let _ = fs::rename(old, out);
    })
}

#[cfg(target_os = "linux")]
fn swap(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE).map_err(io::Error::from)
}

#[cfg(not(target_os = "linux"))]
fn swap(_: &Path, _: &Path) -> io::Result<()> {
    Err(ErrorKind::Unsupported.into())
}

/// Asks the disk to keep a folder's entries; a system that cannot flush a folder is left to its own pace.
fn flush_folder(folder: &Path) {
    if let Ok(handle) = fs::File::open(folder) {
        let _ = handle.sync_all();
    }
}

/// The lock on a room that tells other runs that its owner is alive; it goes with the process, however that ends. Where
/// the system has no such locks there is none, and rooms of killed runs stay.
#[cfg(unix)]
fn try_lock(room: &Path) -> Option<fs::File> {
    use rustix::fs::{FlockOperation, flock};
    let handle = fs::File::open(room).ok()?;
    flock(&handle, FlockOperation::NonBlockingLockExclusive).ok()?;
    Some(handle)
}

#[cfg(not(unix))]
fn try_lock(_: &Path) -> Option<fs::File> {
    None
}

// ---- after a run that was cut short ---------------------------------------------------------------------------------

/// Completes an exchange that was cut short, and removes rooms whose owner is gone.
fn complete(out: &Path, parent: &Path) -> Result<(), Error> {
    let Ok(entries) = fs::read_dir(parent) else {
        return Ok(());
    };
    let mut rooms: Vec<PathBuf> = entries
        .flatten()
        .filter(|e| e.file_type().is_ok_and(|t| t.is_dir()))
        .filter(|e| is_room_name(out, &e.file_name().to_string_lossy()))
        .map(|e| e.path())
        .collect();
    rooms.sort();
    for room in rooms {
        let Some(_gone) = try_lock(&room).filter(|_| holds_only_ours(&room)) else {
            continue;
        };
        let (new, old) = (room.join(NEW), room.join(OLD));
        let there = |p: &Path| fs::symlink_metadata(p).is_ok();
        if !there(out) && there(&old) {
            // The old folder is moved aside only once the new one is complete.
            let whole = if there(&new) { &new } else { &old };
            fs::rename(whole, out).map_err(|e| failed("completed", out, &e))?;
        }
        // What cannot be removed now stays for the next run; it is in nobody's way.
        let _ = fs::remove_dir_all(&room);
    }
    Ok(())
}

/// Whether a sibling of the target is called as rooms are: the prefix and six letters or digits.
fn is_room_name(out: &Path, name: &str) -> bool {
    name.strip_prefix(&prefix(out))
        .is_some_and(|tail| tail.len() == 6 && tail.bytes().all(|b| b.is_ascii_alphanumeric()))
}

/// Whether a room holds nothing but the two folders that we put into one.
fn holds_only_ours(room: &Path) -> bool {
    let ours = |e: io::Result<fs::DirEntry>| {
        e.is_ok_and(|e| [NEW, OLD].iter().any(|name| e.file_name() == *name))
    };
    fs::read_dir(room).is_ok_and(|mut entries| entries.all(ours))
}

/// How rooms of a target are called: hidden, and told apart by the target's name.
fn prefix(out: &Path) -> String {
    let name = out.file_name().unwrap_or_default();
    format!(".{}-part-", name.to_string_lossy())
}

/// The folder that a target lies in.
fn parent_of(out: &Path) -> Result<PathBuf, Error> {
    if out.file_name().is_none() {
        return Err(refused(
            format!("`{}` is no folder that can be replaced", out.display()),
            "name a folder of its own with `-o`, such as `-o out`",
        ));
    }
    Ok(match out.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    })
}

/// The innermost part of a path that is there.
fn existing_part(folder: &Path) -> PathBuf {
    let there = folder.ancestors().find(|f| f.is_dir());
    there.map_or(Path::new("."), |f| f).to_path_buf()
}

fn failed(what: &str, path: &Path, error: &io::Error) -> Error {
    let hint = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "make room on that disk, or name a folder elsewhere with `-o`"
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "name a folder that may be written with `-o`"
        }
        _ => "name another folder with `-o`",
    };
    refused(
        format!("{} could not be {what}: {error}", path.display()),
        hint,
    )
}
