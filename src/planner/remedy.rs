//! What would let a plan be found, each with a number that was tried.
//!
//! In: a task without a plan, and why there is none. Out: the reasons in words, and what helps.
//!
//! 1. *Levers* are what a user can change: a setting that is lowered (`figures`: from the greatest to the least that makes
//!    sense), or more of the largest sheet of a material. Settings begin with the figure at which a layer can be split at all,
//!    where `obstacle` knows it.
//! 2. Each lever alone is moved as far as it goes; where a first plan is found then, the least change that is enough is
//!    looked for.
//! 3. Where no lever is enough alone, all are moved; then each is put back as far as may be.
//! 4. Where that is no help either, the sheets are told that take the layers whole.
//!
//! Guarantees: what is told was tried with the job's own search for a first plan, its seed and lanes, so the job finds one too.
//! It is the least change that was found; a search that was cut off counts as one that found nothing, so a lesser one may do.
//!
//! Tried and left: working a figure out from what the nearest attempt fell short by. It is a sum over pairs of seams, and seams
//! that move for the new figure change what others fall short by: 140 was told where 150 works.

use std::cell::Cell;

use crate::format::number;
use crate::model::progress::{Event, Watch};
use crate::planner::bound;
use crate::planner::divide;
use crate::planner::feasibility::{self, Reason};
use crate::planner::obstacle::{self, Setting};
use crate::planner::options::{Budget, Options};
use crate::planner::packing::Bin;
use crate::planner::prepared::{Class, Prepared};
use crate::planner::task::Task;
use crate::seam;
use crate::seam::stagger;

/// Seconds for all trials: what is left of those granted, but so many at the least; and where rounds are granted.
const LEAST_S: f64 = 10.0;
const WITHOUT_LIMIT_S: f64 = 20.0;
/// One trial may take one of so many equal shares of them; once plans were found, so many times as long as the slowest of
/// these took, and a little.
const ONE_OF: f64 = 8.0;
const AS_SLOW: f64 = 4.0;
const A_LITTLE_S: f64 = 0.1;
/// More sheets of a kind that are tried.
const MOST_SHEETS: usize = 32;
/// No web narrower is told: cuts that lie nearer burn the material between them away (laser bureaus' rules, common practice).
const LEAST_WEB: f64 = 1.0;
/// No smaller piece is told.
const LEAST_PIECE: f64 = 1.0;

/// What a user can change.
#[derive(Clone, Debug)]
enum Lever {
    /// A setting, and its figures: first as the job has it, then lower and lower. `known` says that the second one is the
    /// greatest at which every layer can be split.
    Lower {
        setting: Setting,
        figures: Vec<f64>,
        known: bool,
    },
    /// More of a sheet.
    Add { sheet: usize },
}

impl Lever {
    /// How far it goes.
    fn most(&self) -> usize {
        match self {
            Self::Lower { figures, .. } => figures.len() - 1,
            Self::Add { .. } => MOST_SHEETS,
        }
    }

    /// Steps at which it is tried before the utmost, and after it, before it is bisected.
    fn ladders(&self) -> [&'static [usize]; 2] {
        match self {
            Self::Lower { known: true, .. } => [&[1], &[]],
            Self::Lower { .. } => [&[], &[]],
            Self::Add { .. } => [&[], &[1, 2, 4, 8, 16]],
        }
    }
}

/// The reasons in words, and what was found to help.
pub(crate) fn with_remedies(
    prepared: &Prepared<'_>,
    reasons: &[Reason],
    nearest: Vec<String>,
    watch: &dyn Watch,
) -> Vec<String> {
    let mut out: Vec<String> = reasons.iter().map(|r| r.sentence(false)).collect();
    out.extend(nearest);
    if !reasons.iter().any(|r| matches!(r, Reason::Settled(_))) {
        out.extend(Trials::new(prepared, reasons, watch).told());
    }
    out
}

/// A clock that ends a trial. What a trial finds is told to nobody.
struct Limit<'a> {
    watch: &'a dyn Watch,
    until_s: f64,
}

impl Watch for Limit<'_> {
    fn elapsed_s(&self) -> f64 {
        self.watch.elapsed_s()
    }

    fn stop_asked(&self) -> bool {
        self.watch.stop_asked() || self.watch.elapsed_s() >= self.until_s
    }

    fn tell(&self, _: Event) {}
}

/// Trials of a task with its levers moved.
struct Trials<'a> {
    prepared: &'a Prepared<'a>,
    watch: &'a dyn Watch,
    levers: Vec<Lever>,
    until_s: f64,
    /// Seconds for one trial.
    share_s: f64,
    /// What the slowest took that found a plan.
    slowest_s: Cell<Option<f64>>,
}

impl<'a> Trials<'a> {
    fn new(prepared: &'a Prepared<'a>, reasons: &[Reason], watch: &'a dyn Watch) -> Self {
        let now = watch.elapsed_s();
        let seconds = match prepared.task.search.budget {
            Budget::Seconds(s) => (s - now).max(LEAST_S),
            Budget::Rounds(_) => WITHOUT_LIMIT_S,
        };
        Self {
            prepared,
            watch,
            levers: levers(prepared, reasons),
            until_s: now + seconds,
            share_s: seconds / ONE_OF,
            slowest_s: Cell::new(None),
        }
    }

    /// What helps, in words.
    fn told(&self) -> Vec<String> {
        self.watch.tell(Event::Remedies {
            seconds: self.until_s - self.watch.elapsed_s(),
        });
        let none = vec![0; self.levers.len()];
        let alone: Vec<String> = (0..self.levers.len())
            .filter_map(|k| self.least(&none, k).map(|n| self.words(k, n)))
            .collect();
        match alone.len() {
            0 => {}
            1 => return vec![format!("tried: with {} a plan was found", alone[0])],
            _ => {
                return vec![format!(
                    "tried: with each of these alone a plan was found: {}",
                    alone.join("; ")
                )];
            }
        }
        if let Some(steps) = self.together() {
            let moved = (0..steps.len()).filter(|k| steps[*k] > 0);
            let told: Vec<String> = moved.map(|k| self.words(k, steps[k])).collect();
            return vec![format!(
                "tried: with {} together a plan was found",
                told.join(" and ")
            )];
        }
        self.prepared
            .classes
            .iter()
            .filter_map(|c| self.whole(c))
            .collect()
    }

    /// The least step of a lever, the others held, at which a plan was found.
    fn least(&self, held: &[usize], k: usize) -> Option<usize> {
        let at = |n: usize| {
            let mut steps = held.to_vec();
            steps[k] = n;
            self.holds(&steps)
        };
        let [before, after] = self.levers[k].ladders();
        if let Some(n) = before.iter().find(|n| at(**n)) {
            return Some(*n);
        }
        let mut good = self.levers[k].most();
        if before.contains(&good) || !at(good) {
            return None;
        }
        let mut bad = before.last().copied().unwrap_or(0);
        for &n in after {
            if at(n) {
                good = n;
                break;
            }
            bad = n;
        }
        while good - bad > 1 {
            let middle = bad.midpoint(good);
            if at(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        Some(good)
    }

    /// Levers that are enough together.
    fn together(&self) -> Option<Vec<usize>> {
        let is_known = |l: &Lever| matches!(l, Lever::Lower { known: true, .. });
        let first: Vec<usize> = self
            .levers
            .iter()
            .map(|l| usize::from(is_known(l)))
            .collect();
        if first.iter().filter(|n| **n > 0).count() > 1 && self.holds(&first) {
            return Some(first);
        }
        let mut steps: Vec<usize> = self.levers.iter().map(Lever::most).collect();
        if steps.len() < 2 || !self.holds(&steps) {
            return None;
        }
        // First those that need not be moved at all; each is then held against the utmost of the others, not against a tight fit.
        for k in 0..steps.len() {
            let utmost = std::mem::take(&mut steps[k]);
            if !self.holds(&steps) {
                steps[k] = utmost;
            }
        }
        for k in (0..steps.len())
            .rev()
            .filter(|k| steps[*k] > 0)
            .collect::<Vec<_>>()
        {
            steps[k] = self.least(&steps, k).unwrap_or(steps[k]);
        }
        Some(steps)
    }

    /// Whether a first plan is found with the levers moved so far.
    fn holds(&self, steps: &[usize]) -> bool {
        let now = self.watch.elapsed_s();
        let slow = self.slowest_s.get();
        let each = slow.map_or(self.share_s, |s| self.share_s.min(AS_SLOW * s + A_LITTLE_S));
        let limit = Limit {
            watch: self.watch,
            until_s: self.until_s.min(now + each),
        };
        if limit.stop_asked() {
            return false;
        }
        let task = &self.prepared.task;
        let (mut layers, mut seams) = (task.layers.to_vec(), *task.seams);
        let mut sheets = task.sheets.to_vec();
        for (lever, &n) in self.levers.iter().zip(steps).filter(|(_, n)| **n > 0) {
            match lever {
                Lever::Add { sheet } => sheets[*sheet].quantity += n,
                Lever::Lower {
                    setting, figures, ..
                } => match setting {
                    Setting::KeepClear => seams.limits.keep_clear = figures[n],
                    Setting::MinWeb => layers.iter_mut().for_each(|l| l.min_web = figures[n]),
                    Setting::MinPiece => seams.limits.min_piece = figures[n],
                    Setting::Depth => seams.depth = Some(figures[n]),
                    Setting::MinLap => seams.limits.min_lap = figures[n],
                },
            }
        }
        let search = Options {
            budget: Budget::Rounds(0),
            ..*task.search
        };
        let prepared = Prepared::new(Task {
            layers: &layers,
            seams: &seams,
            sheets: &sheets,
            search: &search,
            ..*task
        });
        if feasibility::is_hopeless(&prepared) {
            return false;
        }
        let bound = bound::lower_bound(&prepared);
        let is_found = divide::search(&prepared, &limit, bound.stock_cost).is_ok();
        if is_found {
            let took = self.watch.elapsed_s() - now;
            self.slowest_s.set(Some(slow.map_or(took, |s| s.max(took))));
        }
        is_found
    }

    /// A lever at a step, as a user reads it.
    fn words(&self, k: usize, n: usize) -> String {
        match &self.levers[k] {
            Lever::Add { sheet } => {
                format!("{n} more of `{}`", self.prepared.task.sheets[*sheet].id)
            }
            Lever::Lower {
                setting, figures, ..
            } => {
                let told = setting.told(figures[n]);
                let in_line = stagger::in_line_within(self.prepared.task.layers, figures[n]);
                if *setting == Setting::MinLap && figures[n] < in_line {
                    format!(
                        "{told} (seams of two layers nearer than {} mm lie in line, and a stack of these two alone hinges there)",
                        number::short(in_line)
                    )
                } else {
                    told
                }
            }
        }
    }

    /// The sheets that take the layers of a class whole.
    fn whole(&self, class: &Class) -> Option<String> {
        let shapes = class
            .units
            .iter()
            .map(|&u| &self.prepared.shapes[self.prepared.units[u].shape].bounds);
        let size = shapes.fold([0.0_f64; 2], |s, b| {
            [s[0].max(b.width()), s[1].max(b.depth())]
        });
        let margins = 2.0 * self.prepared.task.cutter.edge_margin;
        let up = |v: f64| number::short(((v + margins) * 100.0 - 1e-4).ceil() / 100.0);
        let (n, sheets) = match class.units.len() {
            1 => (1, "sheet"),
            n => (n, "sheets"),
        };
        (n > 0).then(|| {
            format!(
                "no lower setting and no more sheets of the stock were found to help; {n} {sheets} of {} × {} mm or more would take the layers of {} mm whole",
                up(size[0]),
                up(size[1]),
                class.name
            )
        })
    }
}

/// What can be changed of a task; what is put back first where several have to be moved, first.
fn levers(prepared: &Prepared<'_>, reasons: &[Reason]) -> Vec<Lever> {
    let mut out = lowered(prepared, reasons);
    out.extend(prepared.classes.iter().filter_map(|c| added(prepared, c)));
    out
}

/// More of the largest sheet of a class.
fn added(prepared: &Prepared<'_>, class: &Class) -> Option<Lever> {
    let area = |s: &Bin| {
        let [w, d] = obstacle::outer_room(prepared, s);
        w * d
    };
    let first = class.bins.iter().filter(|b| b.number == 0);
    let largest = first.max_by(|a, b| area(a).total_cmp(&area(b)).then(b.sheet.cmp(&a.sheet)))?;
    Some(Lever::Add {
        sheet: largest.sheet,
    })
}

/// Settings that can be lowered.
fn lowered(prepared: &Prepared<'_>, reasons: &[Reason]) -> Vec<Lever> {
    let task = &prepared.task;
    let limits = task.seams.limits;
    let layers = task.layers.iter().filter(|l| l.pattern.is_some());
    let n_split = layers.clone().count();
    let is_held = layers
        .clone()
        .any(|l| !l.locating.is_empty() || !l.relief.is_empty());
    let web = layers.clone().map(|l| l.min_web).fold(0.0, f64::max);
    let depth = prepared
        .shapes
        .iter()
        .map(|s| s.reach.0 + s.reach.1)
        .fold(0.0, f64::max);
    let toothed: Vec<_> = layers.filter(|l| seam::has_teeth(l, task.seams)).collect();
    let keeps_teeth = |depth: f64| {
        let options = seam::options::Options {
            depth: Some(depth),
            ..*task.seams
        };
        toothed.iter().all(|l| seam::has_teeth(l, &options))
    };
    // Each with its figure now, the least that is told, and whether it matters.
    let (splits, laps) = (n_split > 0, n_split > 1);
    let settings = [
        (Setting::KeepClear, limits.keep_clear, 0.0, is_held),
        (Setting::MinWeb, web, LEAST_WEB, splits),
        (Setting::MinPiece, limits.min_piece, LEAST_PIECE, splits),
        (Setting::MinLap, limits.min_lap, 0.0, laps),
        (Setting::Depth, depth, 0.0, !toothed.is_empty()),
    ];
    let mut out = Vec::new();
    for (setting, now, least, _) in settings.into_iter().filter(|s| s.3 && s.1 > s.2) {
        let allowed = |f: &f64| setting != Setting::Depth || keeps_teeth(*f);
        let known = known(reasons, setting).filter(|k| *k >= least && *k < now && allowed(k));
        let mut figures = vec![now];
        figures.extend(known);
        figures.extend(grid(known.unwrap_or(now), now, least).filter(allowed));
        out.extend((figures.len() > 1).then_some(Lever::Lower {
            setting,
            figures,
            known: known.is_some(),
        }));
    }
    out
}

/// Figures below `from`, descending, no less than `least`: whole millimetres of a large setting, tenths of a small one.
fn grid(from: f64, now: f64, least: f64) -> impl Iterator<Item = f64> {
    let per_mm = match now {
        n if n >= 30.0 => 1.0,
        n if n >= 10.0 => 2.0,
        _ => 10.0,
    };
    let (high, low) = (
        (from * per_mm - 1e-6).ceil() as i64,
        (least * per_mm).ceil() as i64,
    );
    (low..high).rev().map(move |k| k as f64 / per_mm)
}

/// The greatest figure of a setting with which every layer that cannot be split could be.
fn known(reasons: &[Reason], setting: Setting) -> Option<f64> {
    let of = |reason: &Reason| match reason {
        Reason::Settled(_) | Reason::Told(_) => None,
        Reason::Unsplit(obstacle) => {
            let mut helps = obstacle.helps.iter().flat_map(|h| &h.settings);
            helps.find(|s| s.0 == setting).map(|s| s.1)
        }
    };
    reasons.iter().filter_map(of).reduce(f64::min)
}
