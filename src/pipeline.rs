//! From the text of a job and a function that reads a named file to the bytes of every output file. The only caller of
//! stages besides the planner; holds no loop of a search and touches no disk.

mod compare;
mod recut;

pub use compare::{Compared, Comparing, compare};
pub use recut::{PLAN_NAME, Recutting, STOCK_NAME, recut};

use crate::cut::added::added_s;
use crate::cut::{self, PieceToCut};
use crate::error::Error;
use crate::fixture::standards::modulus;
use crate::fixture::{self, LayerSheets};
use crate::job;
use crate::job::error::ReadFault;
use crate::job::limits::Limits;
use crate::model::cut_path::SheetCut;
use crate::model::fault::Fault;
use crate::model::finding::Finding;
use crate::model::fixture::Fixture;
use crate::model::judged::Judged;
use crate::model::piece::Owner;
use crate::model::plan::{Metrics, Placement, Plan};
use crate::model::progress::{Ending, Event, Watch};
use crate::model::sheet::UsedSheet;
use crate::output;
use crate::parallel::map_in_order;
use crate::planner::error::PlannerError;
use crate::planner::options::{Budget, Options as Search};
use crate::planner::task::Task;
use crate::planner::{self, Planned};
use crate::seam;
use crate::seam::judge::{self, Made, judge, located};

/// A function that reads a named file.
pub type Files<'a> = &'a dyn Fn(&str) -> Result<Vec<u8>, ReadFault>;

/// Figures for whoever waits at the terminal.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Sheets used.
    pub sheets: usize,
    /// Cost of the stock used.
    pub cost: f64,
    /// Yield, 0 to 1.
    pub yield_: f64,
    /// No plan costs less.
    pub bound: f64,
    /// Why.
    pub bound_why: String,
    /// Rounds completed.
    pub rounds: u64,
    /// Seed.
    pub seed: u64,
    /// Why the search ended.
    pub ending: Ending,
    /// Length of all cuts.
    pub cut_length: f64,
    /// Estimate in seconds.
    pub cut_time_s: f64,
    /// Leftovers worth keeping.
    pub n_remnants: usize,
    /// Whether pieces of an earlier plan are cut once more.
    pub recut: bool,
}

/// A finished plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Finished {
    /// Files of the output folder: relative path and bytes.
    pub files: Vec<(String, Vec<u8>)>,
    /// Doubts.
    pub findings: Vec<Finding>,
    /// Figures.
    pub summary: Summary,
}

/// Reads a job and plans it.
///
/// # Errors
/// `Faults` for whatever is wrong with the files, all of it; `NoPlan` where stock and limits allow none or none was found;
/// `Stopped` where the user stopped the search before a plan stood.
pub fn plan(
    job_name: &str,
    text: &str,
    files: Files<'_>,
    overrides: &job::Overrides,
    watch: &dyn Watch,
) -> Result<Finished, Error> {
    let mut job = job::read(job_name, text, files, &overrides.limits)?;
    overrides.apply(&mut job.search);
    let (fixture, drawn) = draw(&job)?;
    watch.tell(begin(&job, &fixture));
    let (plan, ending) = planned(&job, fixture, drawn, watch)?;
    let files = output::write(&plan, &job.output, &job.inputs, &job.stock_doc);
    Ok(Finished {
        summary: summary(&plan, ending),
        findings: plan.findings,
        files,
    })
}

/// Plans a job whose fixture is drawn, with the doubts of drawing it.
fn planned(
    job: &job::Job,
    fixture: Fixture,
    drawn: Vec<Finding>,
    watch: &dyn Watch,
) -> Result<(Plan, Ending), Error> {
    let planned = planner::plan(task(job, &fixture, &moduli(&fixture)), watch).map_err(no_plan)?;
    let (cuts, narrow) = cut_all(job, &fixture, &planned)?;
    let mut findings = job.findings.clone();
    findings.extend(drawn);
    findings.extend(planned.findings.iter().cloned());
    findings.extend(fixture::check_stack(
        &job.brief,
        &fixture,
        &layer_sheets(job, &fixture, &planned),
    ));
    findings.extend(narrow);
    findings.extend(located::findings(
        &fixture.layers,
        job.copies,
        &planned.pieces,
    ));
    let ending = planned.ending;
    let (seams, doubts) = judged(job, &fixture, &planned);
    findings.extend(doubts);
    number(job, &fixture, &planned, &mut findings);
    let plan = assemble(job, fixture, planned, cuts, findings, seams);
    Ok((plan, ending))
}

/// Reads a job and looks for whatever can be found without a search.
///
/// # Errors
/// `Faults` for whatever is wrong with the files; `NoPlan` where it can be proved that no plan exists.
pub fn check(
    job_name: &str,
    text: &str,
    files: Files<'_>,
    limits: &Limits,
) -> Result<Vec<Finding>, Error> {
    let mut job = job::read(job_name, text, files, limits)?;
    let (fixture, drawn) = draw(&job)?;
    let doubts = planner::check(task(&job, &fixture, &moduli(&fixture))).map_err(no_plan)?;
    let mut findings = std::mem::take(&mut job.findings);
    findings.extend(drawn);
    findings.extend(doubts);
    Ok(findings)
}

fn draw(job: &job::Job) -> Result<(Fixture, Vec<Finding>), Error> {
    fixture::draw(&job.brief).map_err(|errors| {
        let faults = errors.iter().map(|e| {
            let fault = e.fault();
            Fault {
                place: job.places.fault_place(&fault.place),
                ..fault
            }
        });
        Error::Faults(faults.collect())
    })
}

/// What is about to be planned, for whoever waits.
fn begin(job: &job::Job, fixture: &Fixture) -> Event {
    let mut what = vec![job.title.clone().unwrap_or_else(|| "untitled".to_owned())];
    let things = [
        (fixture.layers.len(), "layer"),
        (fixture.pockets.len(), "pocket"),
        (job.parts.len(), "part"),
    ];
    what.extend(
        things
            .iter()
            .filter(|(n, _)| *n > 0)
            .map(|(n, word)| count(*n, word)),
    );
    let (granted, seconds) = granted(&job.search);
    what.push(granted);
    Event::Begin {
        what: what.join(" · "),
        seconds,
    }
}

fn count(n: usize, word: &str) -> String {
    if n == 1 {
        format!("1 {word}")
    } else {
        format!("{n} {word}s")
    }
}

/// What a search is granted, in words, and its seconds.
fn granted(search: &Search) -> (String, Option<f64>) {
    let (granted, seconds) = match search.budget {
        Budget::Seconds(seconds) => (format!("{seconds} s"), Some(seconds)),
        Budget::Rounds(rounds) => (
            count(usize::try_from(rounds).unwrap_or(usize::MAX), "round"),
            None,
        ),
    };
    let lanes = count(search.lanes, "lane");
    (format!("{granted}, seed {}, {lanes}", search.seed), seconds)
}

/// The modulus of each layer's material, where the table has it.
fn moduli(fixture: &Fixture) -> Vec<Option<f64>> {
    let layers = fixture.layers.iter();
    layers.map(|l| modulus(&l.material)).collect()
}

fn task<'a>(job: &'a job::Job, fixture: &'a Fixture, moduli: &'a [Option<f64>]) -> Task<'a> {
    let copies = if fixture.layers.is_empty() {
        0
    } else {
        job.copies
    };
    Task {
        layers: &fixture.layers,
        moduli,
        copies,
        parts: &job.parts,
        sheets: &job.stock,
        cutter: &job.cutter,
        seams: &job.seams,
        search: &job.search,
    }
}

fn no_plan(error: PlannerError) -> Error {
    match error {
        PlannerError::Impossible(lines) => Error::NoPlan {
            proved: true,
            lines,
        },
        PlannerError::NotFound(lines) => Error::NoPlan {
            proved: false,
            lines,
        },
        PlannerError::Stopped => Error::Stopped,
    }
}

/// The sheets on which each layer of each copy lies, for the checks of the stack.
fn layer_sheets(job: &job::Job, fixture: &Fixture, planned: &Planned) -> Vec<LayerSheets> {
    let mut out = Vec::new();
    for copy in 1..=job.copies {
        for layer in 0..fixture.layers.len() {
            let mut used: Vec<usize> = planned
                .placements
                .iter()
                .filter(|p| planned.pieces[p.piece].owner == Owner::Layer { layer, copy })
                .map(|p| planned.sheets[p.sheet].sheet)
                .collect();
            used.sort_unstable();
            used.dedup();
            let sheets = used
                .into_iter()
                .map(|s| (job.stock[s].measured, job.stock[s].finish))
                .collect();
            out.push(LayerSheets {
                layer,
                copy,
                sheets,
            });
        }
    }
    out
}

/// What is cut from each sheet, and doubts about it.
fn cut_all(
    job: &job::Job,
    fixture: &Fixture,
    planned: &Planned,
) -> Result<(Vec<SheetCut>, Vec<Finding>), Error> {
    let sheets = planned.sheets.iter().enumerate().collect();
    let made = map_in_order(sheets, |(k, sheet): (usize, &UsedSheet)| {
        let to_cut: Vec<PieceToCut<'_>> = planned
            .placements
            .iter()
            .filter(|p| p.sheet == k)
            .map(|p| to_cut(job, fixture, planned, p))
            .collect();
        cut::cut_sheet(
            &sheet.id,
            &job.stock[sheet.sheet].region,
            &to_cut,
            &job.cutter,
            &job.marks,
        )
    });
    let mut cuts = Vec::new();
    let mut findings = Vec::new();
    for sheet in made {
        let (cut, doubts) = sheet.map_err(|errors| {
            Error::Faults(errors.iter().map(cut::error::CutError::fault).collect())
        })?;
        cuts.push(cut);
        findings.extend(doubts);
    }
    Ok((cuts, findings))
}

fn to_cut<'a>(
    job: &job::Job,
    fixture: &Fixture,
    planned: &'a Planned,
    placement: &Placement,
) -> PieceToCut<'a> {
    let piece = &planned.pieces[placement.piece];
    let (cut_width, datum) = match piece.owner {
        Owner::Layer { layer, .. } => (fixture.layers[layer].cut_width, Some(fixture.datum)),
        Owner::Part { part } => (job.parts[part].cut_width, None),
    };
    PieceToCut {
        piece: placement.piece,
        id: &piece.id,
        finished: &piece.finished,
        pose: placement.pose,
        cut_width,
        datum,
    }
}

/// What the seams of a plan are worth.
fn judged(job: &job::Job, fixture: &Fixture, planned: &Planned) -> (Judged, Vec<Finding>) {
    let layers = &fixture.layers;
    let copies = if layers.is_empty() { 0 } else { job.copies };
    let mut added = Vec::new();
    for copy in 1..=copies {
        for (layer, of) in layers.iter().enumerate() {
            let own = planned
                .pieces
                .iter()
                .filter(|p| p.owner == Owner::Layer { layer, copy });
            let finished = own.map(|p| &p.finished);
            added.push(added_s(&of.shape, finished, &job.cutter.pace));
        }
    }
    let moduli: Vec<Option<f64>> = layers.iter().map(|l| modulus(&l.material)).collect();
    let made = made(job, fixture, planned, (&moduli, &added));
    let judged = judge(&made);
    let doubts = judge::doubts(&made, &judged, &job.seams);
    (judged, doubts)
}

/// What was made, as seams are judged; moduli and times by layer where they matter.
fn made<'a>(
    job: &job::Job,
    fixture: &'a Fixture,
    planned: &'a Planned,
    (moduli, added_s): (&'a [Option<f64>], &'a [f64]),
) -> Made<'a> {
    Made {
        layers: &fixture.layers,
        copies: if fixture.layers.is_empty() {
            0
        } else {
            job.copies
        },
        seams: &planned.seams,
        pieces: &planned.pieces,
        gap: job.seams.limits.gap,
        min_lap: job.seams.limits.min_lap,
        moduli,
        added_s,
    }
}

/// Puts numbers that work into what is told of teeth.
fn number(job: &job::Job, fixture: &Fixture, planned: &Planned, findings: &mut [Finding]) {
    let made = made(job, fixture, planned, (&[], &[]));
    seam::remedy::with_numbers(&made, &planned.splits, &job.seams, findings);
}

fn assemble(
    job: &job::Job,
    fixture: Fixture,
    planned: Planned,
    cuts: Vec<SheetCut>,
    findings: Vec<Finding>,
    seams: Judged,
) -> Plan {
    let metrics = Metrics {
        stock_cost: planned.stock_cost,
        yield_: planned.yield_,
        cut_length: cuts.iter().map(|c| c.cut_length).sum(),
        cut_time_s: cuts.iter().map(|c| c.cut_time_s).sum(),
        seams,
        bound: planned.bound,
    };
    Plan {
        title: job.title.clone(),
        cutter: job.cutter.clone(),
        limits: job.seams.limits,
        bond: job.seams.bond,
        seed: job.search.seed,
        lanes: job.search.lanes,
        rounds: planned.rounds,
        copies: job.copies,
        recut: false,
        fixture,
        parts: job.parts.clone(),
        splits: planned.splits,
        seams: planned.seams,
        pieces: planned.pieces,
        stock: job.stock.clone(),
        sheets: planned.sheets,
        placements: planned.placements,
        cuts,
        remnants: planned.remnants,
        metrics,
        findings,
    }
}

fn summary(plan: &Plan, ending: Ending) -> Summary {
    Summary {
        sheets: plan.sheets.len(),
        cost: plan.metrics.stock_cost,
        yield_: plan.metrics.yield_,
        bound: plan.metrics.bound.stock_cost,
        bound_why: plan.metrics.bound.why.clone(),
        rounds: plan.rounds,
        seed: plan.seed,
        ending,
        cut_length: plan.metrics.cut_length,
        cut_time_s: plan.metrics.cut_time_s,
        n_remnants: plan.remnants.len(),
        recut: plan.recut,
    }
}
