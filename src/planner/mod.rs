//! Splits and placements as one problem: where the seams run, which sheets are taken, and where the pieces lie.
//!
//! In: drawn layers, parts, sheets, limits. Out: pieces, seams, sheets and placements that are certified, with a lower bound
//! of the cost. This is the one module that uses the seam, stock and nest stages; it owns the loop over the three and none
//! of their inner workings.
//!
//! Steps: (1) the task is made ready: classes of material and thickness, sheets as maximal clear boxes (*windows*), legal
//! intervals of seams for each layer and direction; (2) reasons why no plan can exist are looked for; (3) a *guess* gives
//! every layer of every copy a split and every class an order of sheets and boxes; boxes stand for pieces, teeth counted
//! with their full reach; a guess is tried in microseconds; (4) lanes change their guesses side by side, round by round:
//! seams slide to where a piece just fills a window; (5) the best guess of a round is *certified*: true seams and pieces,
//! true laps, places taken from the boxes or constructed anew by nesting, every distance checked on true lines and arcs;
//! (6) nesting betters the places of the best plan. Where there is no plan, steps 1 to 5 are gone through with other
//! settings and more sheets, so that what is told to help was tried.
//!
//! What lies in one material never bears on what lies in another, so materials of parts alone are tasks of their own (`divide`).
//!
//! Guarantees: the first plan is kept or bettered, never worsened; the result is a function of the task and the number of
//! rounds.
//!
//! Tried and left: certifying every guess (a thousand times slower than boxes, and no better after ten seconds).

mod bound;
mod boxes;
mod candidate;
mod clock;
mod cover;
mod covered;
mod divide;
pub mod error;
mod feasibility;
mod lane;
mod moves;
mod obstacle;
pub mod options;
mod packing;
mod parts;
mod prepared;
mod progress;
mod remedy;
mod rounds;
mod score;
mod state;
pub mod task;

use crate::geometry::region::Region;
use crate::model::finding::Finding;
use crate::model::nesting::{Bound, SheetUse};
use crate::model::piece::Piece;
use crate::model::plan::{Placement, Remnant};
use crate::model::progress::{Ending, Watch};
use crate::model::seam::{LayerSplit, Seam};
use crate::model::sheet::UsedSheet;
use crate::nest;
use crate::parallel::map_in_order;
use crate::planner::candidate::{Candidate, remnants};
use crate::planner::error::PlannerError;
use crate::planner::prepared::Prepared;
use crate::planner::task::Task;
use crate::seam;
use crate::stock;

/// What the planner hands on.
#[derive(Clone, Debug)]
pub struct Planned {
    /// Pieces that are placed, copy by copy, layer by layer, then parts.
    pub pieces: Vec<Piece>,
    /// How each layer of each copy is split, copy by copy, layer by layer.
    pub splits: Vec<LayerSplit>,
    /// Seams, copy by copy, layer by layer.
    pub seams: Vec<Seam>,
    /// Sheets used, in the order of the stock.
    pub sheets: Vec<UsedSheet>,
    /// Placements, by piece.
    pub placements: Vec<Placement>,
    /// Leftovers worth keeping.
    pub remnants: Vec<Remnant>,
    /// Cost of the sheets.
    pub stock_cost: f64,
    /// Area of all pieces ÷ area of the sheets used less their defects.
    pub yield_: f64,
    /// No plan costs less.
    pub bound: Bound,
    /// Rounds completed.
    pub rounds: u64,
    /// Why the search ended.
    pub ending: Ending,
    /// Doubts about the seams.
    pub findings: Vec<Finding>,
}

/// Plans a task within its budget.
///
/// # Errors
/// `Impossible` where it can be proved that no plan exists, `NotFound` where the search for a first plan gave up, `Stopped`
/// where the user stopped it before one was found.
pub fn plan(task: Task<'_>, watch: &dyn Watch) -> Result<Planned, PlannerError> {
    let prepared = Prepared::new(task);
    let reasons = feasibility::impossible(&prepared);
    if !reasons.is_empty() {
        let told = remedy::with_remedies(&prepared, &reasons, Vec::new(), watch);
        return Err(PlannerError::Impossible(told));
    }
    let bound = bound::lower_bound(&prepared);
    match divide::search(&prepared, watch, bound.stock_cost) {
        Ok((best, rounds, ending)) => Ok(planned(&prepared, best, bound, rounds, ending)),
        Err(PlannerError::NotFound(nearest)) => {
            let reasons = feasibility::unsplit(&prepared);
            let told = remedy::with_remedies(&prepared, &reasons, nearest, watch);
            Err(PlannerError::NotFound(told))
        }
        Err(stopped) => Err(stopped),
    }
}

/// What is doubtful about a task, as far as that can be told without a search.
///
/// # Errors
/// `Impossible` where it can be proved that no plan exists.
pub fn check(task: Task<'_>) -> Result<Vec<Finding>, PlannerError> {
    let prepared = Prepared::new(task);
    let reasons = feasibility::impossible(&prepared);
    if reasons.is_empty() {
        Ok(given_up(&prepared))
    } else {
        let told = reasons.iter().map(|r| r.sentence(true));
        Err(PlannerError::Impossible(told.collect()))
    }
}

fn used_sheets(candidate: &Candidate) -> Vec<SheetUse> {
    let mut used: Vec<SheetUse> = candidate.layout.placed.iter().map(|p| p.sheet).collect();
    used.sort();
    used.dedup();
    used
}

/// Area of all pieces placed ÷ area of the sheets used less their defects; one sold by length counts as far as it is used.
fn yield_of(prepared: &Prepared<'_>, candidate: &Candidate) -> f64 {
    let pieces: f64 = candidate
        .layout
        .placed
        .iter()
        .map(|p| candidate.problem.items[p.item].nominal_area_mm2)
        .sum();
    let sheets: f64 = used_sheets(candidate)
        .into_iter()
        .map(|s| used_area(prepared, candidate, s))
        .sum();
    pieces / sheets
}

/// Area of a used sheet less its defects, as far as it counts.
fn used_area(prepared: &Prepared<'_>, candidate: &Candidate, sheet: SheetUse) -> f64 {
    let stock = &candidate.problem.stock[sheet.stock];
    let whole: f64 = stock.region.iter().map(Region::area_mm2).sum();
    if stock.by_length.is_none() {
        return whole;
    }
    let outline = prepared.task.sheets[sheet.stock].outline.bounds();
    let end = outline.min.x + nest::used_length(&candidate.problem, &candidate.layout, sheet);
    crate::planner::prepared::area_left_of(&stock.region, end)
}

fn planned(
    prepared: &Prepared<'_>,
    best: Candidate,
    bound: Bound,
    rounds: u64,
    ending: Ending,
) -> Planned {
    let used = used_sheets(&best);
    let sheets: Vec<UsedSheet> = used
        .iter()
        .enumerate()
        .map(|(k, s)| UsedSheet {
            id: format!("{:02}-{}", k + 1, prepared.task.sheets[s.stock].id),
            sheet: s.stock,
            used_length: best.problem.stock[s.stock]
                .by_length
                .map(|_| nest::used_length(&best.problem, &best.layout, *s)),
        })
        .collect();
    let mut pieces: Vec<Piece> = Vec::new();
    let mut placements = Vec::new();
    let mut of_part: Vec<usize> = vec![0; prepared.task.parts.len()];
    let mut placed: Vec<_> = best.layout.placed.clone();
    placed.sort_by_key(|p| p.item);
    for p in &placed {
        let mut piece = best.pieces[p.item].clone();
        if let crate::model::piece::Owner::Part { part } = piece.owner {
            // Fill parts without a place leave no gap in the numbers.
            of_part[part] += 1;
            piece.id = format!("{}-{}", prepared.task.parts[part].name, of_part[part]);
        }
        let sheet = used.iter().position(|s| *s == p.sheet).unwrap_or_default();
        placements.push(Placement {
            piece: pieces.len(),
            sheet,
            pose: p.pose,
        });
        pieces.push(piece);
    }
    let left = map_in_order(used.iter().enumerate().collect(), |(k, s)| {
        let stock = &prepared.task.sheets[s.stock];
        let whole: f64 = stock.region.iter().map(Region::area_mm2).sum();
        let remnants = remnants(prepared, &best.problem, &best.layout, *s);
        stock::remnant::joined(remnants, prepared.task.search.remnant)
            .into_iter()
            .map(|outline| Remnant {
                sheet: k,
                cost: stock.cost * outline.area_mm2() / whole,
                outline,
            })
            .collect::<Vec<_>>()
    });
    let mut findings = best.findings.clone();
    findings.extend(between_layers(prepared, &best.seams));
    findings.extend(given_up(prepared));
    Planned {
        stock_cost: best.score.cost,
        yield_: yield_of(prepared, &best),
        pieces,
        splits: best.state.splits,
        seams: best.seams,
        sheets,
        placements,
        remnants: left.into_iter().flatten().collect(),
        bound,
        rounds,
        ending,
        findings,
    }
}

/// Layers with positions at which no seam was looked for.
fn given_up(prepared: &Prepared<'_>) -> Vec<Finding> {
    let mut out = Vec::new();
    for unit in prepared.units.iter().filter(|u| u.copy == 1) {
        let name = &prepared.task.layers[unit.layer].name;
        for space in &prepared.shapes[unit.shape].legal {
            out.extend(seam::legal::given_up(name, space));
        }
    }
    out
}

/// Findings for seams of two layers in line, copy by copy, and for laps that the bond between two layers finds too short.
fn between_layers(prepared: &Prepared<'_>, seams: &[Seam]) -> Vec<Finding> {
    let task = &prepared.task;
    let layers = task.layers;
    let limit = seam::stagger::in_line_within(layers, task.seams.limits.min_lap);
    let mut out = Vec::new();
    let mut laps = vec![f64::INFINITY; layers.len()];
    for copy in 1..=task.copies {
        let of = |layer: usize| -> Vec<Seam> {
            let own = seams.iter().filter(|s| s.copy == copy && s.layer == layer);
            own.cloned().collect()
        };
        let own: Vec<Vec<Seam>> = (0..layers.len()).map(of).collect();
        for k in 1..layers.len() {
            laps[k] = laps[k].min(seam::stagger::lap(&own[k - 1], &own[k]));
            for apart in 1..=k.min(2) {
                let (lower, upper) = (&own[k - apart], &own[k]);
                let names = [layers[k - apart].name.as_str(), layers[k].name.as_str()];
                out.extend(seam::stagger::in_line(
                    lower,
                    upper,
                    names,
                    copy,
                    limit,
                    apart == 2,
                ));
            }
        }
    }
    let modulus = |k: usize| task.moduli.get(k).copied().flatten();
    for k in 1..layers.len() {
        let (pair, moduli) = ([&layers[k - 1], &layers[k]], [modulus(k - 1), modulus(k)]);
        let bond = task.seams.bond;
        out.extend(seam::bond::finding(bond, pair, moduli, laps[k]));
    }
    out
}
