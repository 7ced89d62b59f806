//! The command line: arguments → pipeline → disk → exit status.

mod cli;

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;

use clap::Parser;
use mimalloc::MiMalloc;
use seamwright::disk::{self, Reader};
use seamwright::error::Error;
use seamwright::job::{error::ReadFault, limits::Limit};
use seamwright::model::comparison::PATTERNS;
use seamwright::model::fault::{Fault, Place as FaultPlace};
use seamwright::pipeline::{self, Comparing, Recutting};

use crate::cli::arguments::{
    Arguments, Check, Command, Compare, GREETING, Place, Plan, Recut, Run,
};
use crate::cli::exit_status::ExitStatus;
use crate::cli::progress::Progress;
use crate::cli::recut::Folder;
use crate::cli::render;
use crate::cli::sources::Sources;

/// The search makes and drops a great many small lists on several threads.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    let start = Instant::now();
    let arguments = match Arguments::try_parse().and_then(Arguments::within_limits) {
        Ok(arguments) => arguments,
        Err(e) => {
            let wrong = e.use_stderr();
            drop(e.print());
            return if wrong {
                ExitStatus::Wrong
            } else {
                ExitStatus::Done
            }
            .into();
        }
    };
    let color = render::in_color(arguments.color);
    let status = match &arguments.command {
        None => {
            render::result(GREETING);
            ExitStatus::Done
        }
        Some(Command::Plan(plan)) => run_plan(plan, start, color),
        Some(Command::Check(check)) => run_check(check, color),
        Some(Command::Compare(compare)) => run_compare(compare, start, color),
        Some(Command::Recut(recut)) => run_recut(recut, start, color),
    };
    status.into()
}

/// A job's text and what reads the files that it names; texts that were read are kept for messages.
struct Input {
    /// The job file, as typed.
    path: PathBuf,
    /// Its name in its own folder.
    name: String,
    text: String,
    reader: Reader,
    /// Bytes of the largest file that is kept for messages.
    most_text: usize,
    sources: RefCell<Sources>,
}

impl Input {
    /// Reads the job; a fault of that comes with the sources that its message needs.
    fn open(place: &Place) -> Result<Self, (Error, Sources)> {
        let path = if place.job.is_dir() {
            place.job.join("job.toml")
        } else {
            place.job.clone()
        };
        let folder = path.parent().unwrap_or(Path::new(""));
        let name = path.file_name().map_or_else(
            || path.display().to_string(),
            |name| name.to_string_lossy().into_owned(),
        );
        let mut sources = Sources::new(folder);
        let text = match Self::text(&path, &name) {
            Ok(text) => text,
            Err(fault) => return Err((Error::Faults(vec![*fault]), sources)),
        };
        sources.insert(&name, text.clone());
        let reader = Reader::new(folder, place.reading.root.as_deref())
            .admitting(place.reading.limits().drawings.bytes);
        Ok(Self {
            name,
            text,
            reader,
            most_text: place.reading.limits().of(Limit::TomlBytes),
            sources: RefCell::new(sources),
            path,
        })
    }

    fn text(path: &Path, name: &str) -> Result<String, Box<Fault>> {
        let fault = |what: String, hint: &str| {
            Box::new(Fault::new("J001", what, FaultPlace::File(name.to_owned())).hint(hint))
        };
        let bytes = disk::read_regular(path, disk::MOST_BYTES).map_err(|e| {
            fault(
                format!("the job cannot be read: {e}"),
                "name a job.toml, or a folder that holds one",
            )
        })?;
        String::from_utf8(bytes).map_err(|e| {
            fault(
                format!(
                    "the job is no text: byte {} is not UTF-8",
                    e.utf8_error().valid_up_to()
                ),
                "save it as UTF-8",
            )
        })
    }

    fn read(&self, name: &str) -> Result<Vec<u8>, ReadFault> {
        let bytes = self.reader.read(name)?;
        // Only TOML is pointed into; a drawing's text would be kept for nothing.
        if bytes.len() <= self.most_text
            && let Ok(text) = std::str::from_utf8(&bytes)
        {
            self.sources.borrow_mut().insert(name, text.to_owned());
        }
        Ok(bytes)
    }

    fn job_folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new("."))
    }

    fn folder(&self, out: Option<&PathBuf>) -> PathBuf {
        out.cloned()
            .unwrap_or_else(|| self.path.with_file_name("out"))
    }
}

fn failed(error: &Error, sources: &Sources, color: bool) -> ExitStatus {
    render::talk(&render::error(error, sources, color));
    match error {
        Error::NoPlan { .. } => ExitStatus::NoPlan,
        Error::Output { .. } => ExitStatus::Unwritten,
        Error::Stopped => ExitStatus::Stopped,
        _ => ExitStatus::Wrong,
    }
}

/// Tells how a command that searches ended.
fn ended(
    done: Result<String, Error>,
    run: &Run,
    sources: &RefCell<Sources>,
    color: bool,
) -> ExitStatus {
    match done {
        Ok(text) => {
            if !run.quiet {
                render::result(&text);
            }
            ExitStatus::Done
        }
        Err(e) => failed(&e, &sources.borrow(), color),
    }
}

fn run_plan(plan: &Plan, start: Instant, color: bool) -> ExitStatus {
    let input = match Input::open(&plan.place) {
        Ok(input) => input,
        Err((e, sources)) => return failed(&e, &sources, color),
    };
    let done = plan_and_write(plan, &input, start);
    ended(done, &plan.run, &input.sources, color)
}

fn plan_and_write(plan: &Plan, input: &Input, start: Instant) -> Result<String, Error> {
    let run = &plan.run;
    let overrides = run.overrides(plan.place.reading.limits());
    let out = writable(run, &input.folder(run.output.as_ref()), input.job_folder())?;
    let progress = Progress::new(start, run.progress, run.quiet);
    let finished = pipeline::plan(
        &input.name,
        &input.text,
        &|name| input.read(name),
        &overrides,
        &progress,
    );
    progress.finish();
    let finished = finished?;
    progress.write(|| disk::write_folder(&out, &finished.files, run.force))?;
    if run.quiet {
        render::talk(&render::findings(&finished.findings));
    }
    Ok(render::summary(&finished, &out, &lanes_told(run)))
}

/// The output folder, looked at before the search; what lies in `kept` is never replaced.
fn writable(run: &Run, out: &Path, kept: &Path) -> Result<PathBuf, Error> {
    let lost = disk::check_folder(out, run.force, kept)?;
    if !lost.is_empty() {
        render::talk(&render::given_up(out, &lost));
    }
    Ok(out.to_owned())
}

fn lanes_told(run: &Run) -> String {
    let lanes = run.lanes.map(|lanes| format!(" --lanes {lanes}"));
    lanes.unwrap_or_default()
}

fn run_compare(compare: &Compare, start: Instant, color: bool) -> ExitStatus {
    let input = match Input::open(&compare.place) {
        Ok(input) => input,
        Err((e, sources)) => return failed(&e, &sources, color),
    };
    let done = compare_and_write(compare, &input, start);
    ended(done, &compare.run, &input.sources, color)
}

fn compare_and_write(compare: &Compare, input: &Input, start: Instant) -> Result<String, Error> {
    let run = &compare.run;
    let overrides = run.overrides(compare.place.reading.limits());
    let named = compare.patterns.as_ref();
    let comparing = Comparing {
        patterns: named.map_or_else(|| PATTERNS.to_vec(), |p| p.0.clone()),
        fit: compare.fit,
    };
    let out = writable(run, &input.folder(run.output.as_ref()), input.job_folder())?;
    let progress = Progress::new(start, run.progress, run.quiet);
    let compared = pipeline::compare(
        &input.name,
        &input.text,
        &|name| input.read(name),
        &overrides,
        &comparing,
        &progress,
    );
    progress.finish();
    let compared = compared?;
    progress.write(|| disk::add_to_folder(&out, &compared.files, run.force))?;
    Ok(render::comparison(&compared, &out, &lanes_told(run)))
}

fn run_recut(recut: &Recut, start: Instant, color: bool) -> ExitStatus {
    let from = match Folder::open(recut) {
        Ok(from) => from,
        Err((e, sources)) => return failed(&e, &sources, color),
    };
    let done = recut_and_write(recut, &from, start);
    ended(done, &recut.run, &from.sources, color)
}

fn recut_and_write(recut: &Recut, from: &Folder, start: Instant) -> Result<String, Error> {
    let run = &recut.run;
    let out = from.target(run)?;
    disk::keep_apart(&out, &recut.out, &from.stock_path)?;
    let out = writable(run, &out, &recut.out)?;
    let progress = Progress::new(start, run.progress, run.quiet);
    let beside = |name: &str| from.read_beside(name);
    let finished = pipeline::recut(
        &Recutting {
            plan: &from.plan,
            inputs: &|name| from.read(name),
            stock: &from.stock,
            beside: recut.stock.is_some().then_some(&beside),
            pieces: &recut.pieces,
            layers: &recut.layer,
        },
        &run.overrides(recut.reading.limits()),
        &progress,
    );
    progress.finish();
    let finished = finished?;
    progress.write(|| disk::write_folder(&out, &finished.files, run.force))?;
    if run.quiet {
        render::talk(&render::findings(&finished.findings));
    }
    Ok(render::summary(&finished, &out, &lanes_told(run)))
}

fn run_check(check: &Check, color: bool) -> ExitStatus {
    let input = match Input::open(&check.place) {
        Ok(input) => input,
        Err((e, sources)) => return failed(&e, &sources, color),
    };
    match pipeline::check(
        &input.name,
        &input.text,
        &|name| input.read(name),
        &check.place.reading.limits(),
    ) {
        Ok(findings) => {
            render::result(&format!(
                "{}: no faults\n{}",
                render::tame(&input.path.display().to_string()),
                render::findings(&findings)
            ));
            ExitStatus::Done
        }
        Err(e) => failed(&e, &input.sources.borrow(), color),
    }
}
