//! What the user typed.

use std::path::PathBuf;

use seamwright::drawing::limits::Limit as DrawingLimit;
use seamwright::job::Overrides;
use seamwright::job::limits::{Limit, Limits, Most};
use seamwright::model::comparison::{Fit, PATTERNS};
use seamwright::model::seam::Pattern;
use seamwright::planner::options::Budget;

use clap::error::ErrorKind;
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

/// What `seamwright` prints without a command.
pub(crate) const GREETING: &str =
    "seamwright plans layered sheet fixtures: layers, seams, sheets, cut files.

  seamwright check JOB          reads a job and tells every fault, without a search
  seamwright plan JOB           plans it and writes the folder `out` beside it
  seamwright plan JOB -o DIR    writes DIR instead
  seamwright compare JOB        plans it with each pattern of seams and tells what each costs and holds
  seamwright recut OUT PIECE…   cuts pieces of a finished plan once more, from what is left
  seamwright plan --help        budget, seed, and the other options
  seamwright --version

JOB is a job.toml, or a folder that holds one.
";

/// Plans layered sheet fixtures.
#[derive(Debug, Parser)]
#[command(name = "seamwright", version, about = "Plans layered sheet fixtures: layers, seams, sheets, cut files.", after_help = STATUSES)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
    /// When to use colour; NO_COLOR switches it off too.
    #[arg(long, global = true, value_enum, default_value_t = When::Auto)]
    pub(crate) color: When,
}

impl Arguments {
    /// The same, unless a budget is above a limit that `--allow` has not lifted.
    pub(crate) fn within_limits(self) -> Result<Self, clap::Error> {
        let of_command = match &self.command {
            Some(Command::Plan(plan)) => Some((&plan.run, &plan.place.reading)),
            Some(Command::Compare(compare)) => Some((&compare.run, &compare.place.reading)),
            Some(Command::Recut(recut)) => Some((&recut.run, &recut.reading)),
            Some(Command::Check(_)) | None => None,
        };
        match of_command.and_then(|(run, reading)| run.beyond(&reading.limits())) {
            None => Ok(self),
            Some(why) => Err(Self::command().error(ErrorKind::ValueValidation, why)),
        }
    }
}

const STATUSES: &str = "Exit status: 0 done; 2 a file or an option is wrong; 3 no plan is possible or none was found; 4 the output could not be written; 130 stopped.";

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Plans a job and writes its output folder.
    Plan(Plan),
    /// Reads a job and tells every fault, without a search.
    Check(Check),
    /// Plans a job with each pattern of seams and writes what each costs and holds.
    Compare(Compare),
    /// Cuts pieces of a finished plan once more, from what is left.
    Recut(Recut),
}

/// Where files are.
#[derive(Debug, Args)]
pub(crate) struct Place {
    /// A job.toml, or a folder that holds one.
    pub(crate) job: PathBuf,
    #[command(flatten)]
    pub(crate) reading: Reading,
}

/// What may be read.
#[derive(Debug, Args)]
pub(crate) struct Reading {
    /// Lets files be named anywhere below this folder too.
    #[arg(long, value_name = "DIR")]
    pub(crate) root: Option<PathBuf>,
    /// Lets a job or its drawings ask for more, as in `--allow pieces=20000`; may be given again for others. Of the job: toml-bytes,
    /// name-length, pieces, sheets, sheets-alike (of one entry), entries, pockets, points (of an outline), seconds, rounds,
    /// lanes. Of a drawing: bytes, entities, depth, nodes, edges, pairs, text, matches, rules, attributes, name-spaces.
    #[arg(long, value_name = "WHAT=COUNT", value_parser = allowance)]
    pub(crate) allow: Vec<Allowance>,
}

impl Reading {
    /// How much a job and its drawings may ask for.
    pub(crate) fn limits(&self) -> Limits {
        let mut limits = Limits::default();
        for Allowance(what, count) in &self.allow {
            match what {
                Allowed::OfJob(limit) => limits = limits.with(*limit, *count),
                Allowed::OfDrawing(limit) => limits.drawings = limits.drawings.with(*limit, *count),
            }
        }
        limits
    }
}

/// A limit and what it is raised to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Allowance(Allowed, u64);

/// A limit that can be lifted.
#[derive(Clone, Copy, Debug)]
enum Allowed {
    OfJob(Limit),
    OfDrawing(DrawingLimit),
}

impl Allowed {
    /// All of them.
    fn all() -> impl Iterator<Item = Self> {
        let of_job = Limit::ALL.into_iter().map(Self::OfJob);
        of_job.chain(DrawingLimit::ALL.into_iter().map(Self::OfDrawing))
    }

    const fn name(self) -> &'static str {
        match self {
            Self::OfJob(limit) => limit.name(),
            Self::OfDrawing(limit) => limit.name(),
        }
    }

    /// What it can be raised to.
    const fn most(self) -> u64 {
        match self {
            Self::OfJob(limit) => limit.most(),
            Self::OfDrawing(limit) => limit.most(),
        }
    }
}

/// `plan`.
#[derive(Debug, Args)]
pub(crate) struct Plan {
    #[command(flatten)]
    pub(crate) place: Place,
    #[command(flatten)]
    pub(crate) run: Run,
}

/// `compare`.
#[derive(Debug, Args)]
pub(crate) struct Compare {
    #[command(flatten)]
    pub(crate) place: Place,
    /// Patterns to compare, with commas between them: straight, wave, zigzag, dovetail, knob, finger; all where it is left
    /// out. Layers with a `seam` of their own keep it.
    #[arg(long, value_name = "A,B,…", value_parser = patterns)]
    pub(crate) patterns: Option<Patterns>,
    /// Sets the gap of seams by class, in place of the job's: press 0 mm; sliding 0.075 mm (router 0.125); loose 0.2 mm (router
    /// 0.3). Common practice, no source.
    #[arg(long, value_parser = fit)]
    pub(crate) fit: Option<Fit>,
    #[command(flatten)]
    pub(crate) run: Run,
}

/// `recut`.
#[derive(Debug, Args)]
#[command(override_usage = "seamwright recut [OPTIONS] <OUT> [PIECE]... [--layer <NAME>]...")]
#[command(group(clap::ArgGroup::new("what").required(true).multiple(true).args(["pieces", "layer"])))]
pub(crate) struct Recut {
    /// The output folder of a plan; it stays as it is, and the result goes to a folder beside it, named like it with `-recut`
    /// behind.
    pub(crate) out: PathBuf,
    /// Pieces to cut once more, by the names that the plan and the report give them.
    #[arg(value_name = "PIECE")]
    pub(crate) pieces: Vec<String>,
    /// Takes all pieces of this layer, of every copy; may be given again for others.
    #[arg(long, value_name = "NAME")]
    pub(crate) layer: Vec<String>,
    /// Cuts from this stock file instead of the plan's stock-after.toml.
    #[arg(long, value_name = "FILE")]
    pub(crate) stock: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) reading: Reading,
    #[command(flatten)]
    pub(crate) run: Run,
}

/// Patterns, each once.
#[derive(Clone, Debug)]
pub(crate) struct Patterns(pub(crate) Vec<Pattern>);

/// How long to search, where the result goes, what is shown.
#[derive(Debug, Args)]
pub(crate) struct Run {
    /// The output folder; where it is left out, `out` beside the job, of `recut` the plan's folder with `-recut` behind.
    #[arg(short, long, value_name = "DIR")]
    pub(crate) output: Option<PathBuf>,
    /// Seconds to search, in place of the job's budget; `compare` spends them on each pattern.
    #[arg(long, conflicts_with = "rounds", value_parser = seconds)]
    pub(crate) seconds: Option<f64>,
    /// Rounds to search, in place of the job's budget.
    #[arg(long, value_parser = clap::value_parser!(u64).range(0..=Limit::Rounds.most()))]
    pub(crate) rounds: Option<u64>,
    /// The seed, in place of the job's.
    #[arg(long)]
    pub(crate) seed: Option<u64>,
    /// Searches side by side, in place of the job's.
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=Limit::Lanes.most() as i64))]
    pub(crate) lanes: Option<u16>,
    /// Replaces the output folder even where it holds files that this program did not write.
    #[arg(long)]
    pub(crate) force: bool,
    /// Says nothing but findings and errors.
    #[arg(short, long)]
    pub(crate) quiet: bool,
    /// What is shown while it runs.
    #[arg(long, value_enum, default_value_t = Show::Auto)]
    pub(crate) progress: Show,
}

impl Run {
    /// What of it is above its limit, in words.
    fn beyond(&self, limits: &Limits) -> Option<String> {
        let asked = [
            (Limit::Seconds, self.seconds.map(|s| s.ceil() as u64)),
            (Limit::Rounds, self.rounds),
            (Limit::Lanes, self.lanes.map(u64::from)),
        ];
        asked.into_iter().find_map(|(limit, asked)| {
            let (asked, most): (u64, Most) = (asked?, limits.most(limit));
            let name = limit.name();
            let remedy = (asked > most.count as u64).then(|| most.remedy(asked))??;
            Some(format!(
                "`--{name} {asked}` is above {}, the most that is taken on: {remedy}",
                most.count
            ))
        })
    }

    /// What goes over the job.
    pub(crate) fn overrides(&self, limits: Limits) -> Overrides {
        let seconds = self.seconds.map(Budget::Seconds);
        Overrides {
            budget: seconds.or(self.rounds.map(Budget::Rounds)),
            seed: self.seed,
            lanes: self.lanes.map(usize::from),
            limits,
        }
    }
}

/// `check`.
#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    pub(crate) place: Place,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum When {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What is shown while a plan is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Show {
    /// A line for each improvement and a moving one on a terminal, else nothing.
    Auto,
    /// A line for each improvement, wherever it goes.
    Lines,
    /// Nothing.
    None,
}

/// Patterns with commas between them.
fn patterns(text: &str) -> Result<Patterns, String> {
    let mut out: Vec<Pattern> = Vec::new();
    for word in text.split(',').map(str::trim) {
        let pattern = one_of(word, &PATTERNS, Pattern::word, "pattern")?;
        if out.contains(&pattern) {
            return Err(format!("`{word}` is named twice; name each pattern once"));
        }
        out.push(pattern);
    }
    Ok(Patterns(out))
}

fn fit(text: &str) -> Result<Fit, String> {
    one_of(text.trim(), &Fit::ALL, Fit::word, "class of fit")
}

/// The one that a word names; else a message with the nearest one and all of them.
fn one_of<T: Copy>(
    text: &str,
    all: &[T],
    word: fn(T) -> &'static str,
    what: &str,
) -> Result<T, String> {
    let lower = text.to_lowercase();
    let found = all.iter().find(|t| word(**t) == lower);
    found.copied().ok_or_else(|| {
        let words: Vec<&str> = all.iter().map(|t| word(*t)).collect();
        let near = words.iter().map(|w| (strsim::jaro_winkler(&lower, w), w));
        let near = near
            .filter(|n| n.0 > 0.75)
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let near = near.map_or_else(String::new, |n| format!("did you mean `{}`? ", n.1));
        format!("`{text}` is no {what}: {near}one of {}", words.join(", "))
    })
}

fn allowance(text: &str) -> Result<Allowance, String> {
    let names = || {
        Allowed::all()
            .map(Allowed::name)
            .collect::<Vec<_>>()
            .join(", ")
    };
    let (name, count) = text
        .split_once('=')
        .ok_or_else(|| format!("one of {}, `=`, and a count", names()))?;
    let limit = Allowed::all().find(|l| l.name() == name);
    let limit = limit.ok_or_else(|| format!("{name:?} is none of {}", names()))?;
    let count: u64 = count
        .parse()
        .map_err(|_| format!("{count:?} is no count"))?;
    if (1..=limit.most()).contains(&count) {
        Ok(Allowance(limit, count))
    } else {
        Err(format!("1 to {} {name}", limit.most()))
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    let value: f64 = text
        .parse()
        .map_err(|_| "a number of seconds, such as `10` or `2.5`".to_owned())?;
    let most = Limit::Seconds.most();
    if (0.0..=most as f64).contains(&value) {
        Ok(value)
    } else {
        Err(format!(
            "0 to {} seconds, or with `--allow seconds={most}` to {most}",
            Limit::Seconds.usual()
        ))
    }
}
