//! One job planned with several patterns, one after the other, each with the whole budget.
//!
//! In: the job, patterns, a class of fit. Out: the files of the comparison. Each pattern takes the place of `[seams] pattern`,
//! so layers with a seam of their own keep it, and what is planned is what `plan` makes of the job with that pattern (and
//! the gap of the class). A pattern without a plan is told with its reasons; only where none has a plan there is no result.

use crate::error::Error;
use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::job;
use crate::model::comparison::{Comparison, Fit, Outcome, Sample, Tried};
use crate::model::cutter::Axis;
use crate::model::fault::Fault;
use crate::model::layer::Layer;
use crate::model::plan::SeamLimits;
use crate::model::progress::{Event, Watch};
use crate::model::seam::{LayerSplit, Pattern};
use crate::model::source::SourceKind;
use crate::output::comparison;
use crate::pipeline::{Files, begin, draw, planned};
use crate::seam;

/// Length of the seam that shows what a pattern looks like: as much as a sheet of A4 takes at 1:1.
const SAMPLE: f64 = 160.0;
/// Room beyond what teeth need, so that they stand clear of the plate's edges.
const SPARE: f64 = 1.0;

/// What is compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparing {
    /// Patterns, each once.
    pub patterns: Vec<Pattern>,
    /// The class that sets the gap; the job's gap where there is none.
    pub fit: Option<Fit>,
}

/// A finished comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// Files: names and bytes.
    pub files: Vec<(String, Vec<u8>)>,
    /// What was compared.
    pub comparison: Comparison,
    /// What the choice costs, in a sentence.
    pub choice: String,
}

/// Reads a job and plans it with each pattern.
///
/// # Errors
/// `Faults` for whatever is wrong with the files, all of it, and where no layer takes its pattern from `[seams]`; `NoPlan`
/// where no pattern has a plan, with the reasons of each; `Stopped` where the user stopped before any plan stood.
pub fn compare(
    job_name: &str,
    text: &str,
    files: Files<'_>,
    overrides: &job::Overrides,
    comparing: &Comparing,
    watch: &dyn Watch,
) -> Result<Compared, Error> {
    let mut job = job::read(job_name, text, files, &overrides.limits)?;
    overrides.apply(&mut job.search);
    if let Some(fit) = comparing.fit {
        job.seams.limits.gap = fit.gap(job.cutter.kind);
    }
    let own = own_patterns(&job);
    let open = |k: usize| job.brief.layers[k].pattern.is_some() && !own.contains(&k);
    let first = (0..job.brief.layers.len()).find(|k| open(*k));
    let first = first.ok_or_else(|| nothing_to_compare(&job))?;
    let mut tried = Vec::new();
    for (k, &pattern) in comparing.patterns.iter().enumerate() {
        let turn = format!(
            "{} of {}: {}",
            k + 1,
            comparing.patterns.len(),
            pattern.word()
        );
        tried.push(one(&job, &own, first, pattern, &turn, watch)?);
    }
    let out = Comparison {
        title: job.title.clone(),
        fit: comparing.fit,
        gap: job.seams.limits.gap,
        layers: job.brief.layers.iter().map(|l| l.name.clone()).collect(),
        own,
        seed: job.search.seed,
        lanes: job.search.lanes,
        tried,
    };
    if out.planned().next().is_none() {
        return Err(no_plan_at_all(&out));
    }
    Ok(Compared {
        files: comparison::write(&out),
        choice: comparison::choice(&out),
        comparison: out,
    })
}

/// Layers whose pattern is not that of `[seams]`, and that are not kept whole.
fn own_patterns(job: &job::Job) -> Vec<usize> {
    let layers = job.brief.layers.iter().enumerate();
    let own =
        layers.filter(|(k, l)| l.pattern.is_some() && job.places.has(&format!("layer.{k}.seam")));
    own.map(|(k, _)| k).collect()
}

fn nothing_to_compare(job: &job::Job) -> Error {
    let (what, hint) = if job.brief.layers.is_empty() {
        (
            "the job has no layer, so there are no seams to compare",
            "parts are never split: `seamwright plan` plans them; a `[[layer]]` has seams",
        )
    } else {
        (
            "every layer has a `seam` of its own, so there is no pattern to compare",
            "leave `seam` out of the layers that are to be compared: they take the pattern of `[seams]`",
        )
    };
    let fault = Fault::new("J029", what, job.places.of("layer"));
    Error::Faults(vec![fault.hint(hint)])
}

/// Plans the job with one pattern.
fn one(
    job: &job::Job,
    own: &[usize],
    first: usize,
    pattern: Pattern,
    turn: &str,
    watch: &dyn Watch,
) -> Result<Tried, Error> {
    let mut job = job.clone();
    for (k, layer) in job.brief.layers.iter_mut().enumerate() {
        if layer.pattern.is_some() && !own.contains(&k) {
            layer.pattern = Some(pattern);
        }
    }
    let (fixture, drawn) = draw(&job)?;
    let tried = |outcome| Tried {
        pattern,
        sample: sample(&fixture.layers[first], first, &job.seams),
        outcome,
    };
    if watch.stop_asked() {
        return Ok(tried(Outcome::Stopped));
    }
    let Event::Begin { what, seconds } = begin(&job, &fixture) else {
        return Ok(tried(Outcome::Stopped));
    };
    watch.tell(Event::Begin {
        what: format!("{turn} · {what}"),
        seconds,
    });
    let lap = Lap {
        watch,
        from_s: watch.elapsed_s(),
    };
    let outcome = match planned(&job, fixture.clone(), drawn, &lap) {
        Ok((plan, _)) => Outcome::Planned(Box::new(plan)),
        Err(Error::NoPlan {
            proved: true,
            lines,
        }) => Outcome::Impossible(lines),
        Err(Error::NoPlan {
            proved: false,
            lines,
        }) => Outcome::NotFound(lines),
        Err(Error::Faults(faults)) => Outcome::Uncut(faults.iter().map(in_words).collect()),
        Err(_) => Outcome::Stopped,
    };
    if let [first, ..] = outcome.reasons() {
        watch.tell(Event::Without { why: first.clone() });
    }
    Ok(tried(outcome))
}

fn in_words(fault: &Fault) -> String {
    let hint = fault.hint.iter().map(|h| format!(": {h}"));
    fault.what.clone() + &hint.collect::<String>()
}

/// Why there is nothing to compare: the reasons of each pattern.
fn no_plan_at_all(all: &Comparison) -> Error {
    let stopped = |t: &Tried| t.outcome == Outcome::Stopped;
    if all.tried.iter().any(stopped) {
        return Error::Stopped;
    }
    let lines = all.tried.iter().flat_map(|t| {
        let reasons = t.outcome.reasons().iter();
        reasons.map(|r| format!("{}: {r}", t.pattern.word()))
    });
    Error::NoPlan {
        proved: all
            .tried
            .iter()
            .all(|t| matches!(t.outcome, Outcome::Impossible(_))),
        lines: lines.collect(),
    }
}

/// A watch whose clock starts with the pattern.
struct Lap<'a> {
    watch: &'a dyn Watch,
    from_s: f64,
}

impl Watch for Lap<'_> {
    fn elapsed_s(&self) -> f64 {
        self.watch.elapsed_s() - self.from_s
    }

    fn stop_asked(&self) -> bool {
        self.watch.stop_asked()
    }

    fn tell(&self, event: Event) {
        self.watch.tell(event);
    }
}

/// The layer's seam across a plain plate.
fn sample(layer: &Layer, layer_idx: usize, options: &seam::options::Options) -> Option<Sample> {
    let (before, behind) = seam::reach(layer, layer_idx, options);
    let clear = layer.min_web.max(2.0 * layer.thickness) + SPARE;
    let plate = Bounds::new(
        Point::new(0.0, -before - clear),
        Point::new(SAMPLE, behind + clear),
    );
    let outer = Ring::rounded_box(plate, 0.0, SourceKind::Outline.id(0));
    let plain = Layer {
        shape: vec![Region::solid(outer)],
        locating: Vec::new(),
        relief: Vec::new(),
        ..layer.clone()
    };
    let limits = SeamLimits {
        min_piece: 0.0,
        ..options.limits
    };
    let options = seam::options::Options { limits, ..*options };
    let split = LayerSplit {
        runs: Axis::X,
        joined: Vec::new(),
        at: vec![0.0],
        across: vec![Vec::new(); 2],
    };
    let made = seam::split(&plain, layer_idx, 1, &split, &options).ok()?;
    Some(Sample {
        layer: layer_idx,
        pieces: made.pieces.into_iter().map(|p| p.finished).collect(),
        path: made.seams.into_iter().next()?.path,
    })
}
