//! Pieces of a finished plan cut once more, from what is left or from a stock file that is named.
//!
//! In: `plan.json` and `inputs/` of an output folder, names of pieces and layers, a stock. Out: the files of a folder of its
//! own. Steps: (1) the job is read as it lies in `inputs/`, which tells under which name each file is kept; (2) it is read
//! again with the other stock in the place of its own; (3) the pieces are made again and held against the plan; (4) the
//! planner lays them on sheets as parts, so nothing is split anew; (5) they are cut and written as those of a plan are.
//!
//! Why pieces are made again and not read: a plan's outlines are chords, and the contours of its drawings carry the cut's width. The
//! plan tells all digits of where its seams run, and drawing and splitting are functions of their input alone, so the pieces
//! are the first ones bit by bit, with lines and arcs as they were, and every edge knows again what it came from.
//!
//! Guarantees: what is cut is what the plan says, to the last digit written; a plan, inputs or settings that say otherwise
//! are refused. The folder can be cut from again.

mod inputs;

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use crate::error::Error;
use crate::fixture::{self, LayerSheets};
use crate::job::limits::Limit;
use crate::job::{self, near};
use crate::model::fault::{Fault, Place};
use crate::model::fixture::Fixture;
use crate::model::judged::Judged;
use crate::model::part::Part;
use crate::model::piece::{Owner, Piece};
use crate::model::progress::{Event, Watch};
use crate::model::seam::{LayerSplit, Seam};
use crate::output::plan_told::{self, Told, ToldOwner, ToldPiece};
use crate::output::{self, kept_settings, piece_json};
use crate::pipeline::recut::inputs::read_twice;
use crate::pipeline::{
    Files, Finished, assemble, count, cut_all, draw, granted, layer_sheets, no_plan, summary,
};
use crate::planner::task::Task;
use crate::planner::{self, Planned};
use crate::seam;

/// The name that faults give the plan, relative to its `inputs/`.
pub const PLAN_NAME: &str = "../plan.json";
/// The name that faults give the stock that is cut from.
pub const STOCK_NAME: &str = "../stock";
/// How many names of pieces are told where none is near.
const NAMES: usize = 8;

/// What is cut once more.
#[derive(Clone, Copy)]
pub struct Recutting<'a> {
    /// The text of the plan's `plan.json`.
    pub plan: &'a str,
    /// Reads a file of its `inputs/`.
    pub inputs: Files<'a>,
    /// The text of the stock to cut from.
    pub stock: &'a str,
    /// Reads a drawing that the stock names, relative to the stock's folder; `None`: they lie among the inputs.
    pub beside: Option<Files<'a>>,
    /// Pieces by name.
    pub pieces: &'a [String],
    /// Layers, all pieces of which are meant.
    pub layers: &'a [String],
}

/// Lays pieces of a plan on sheets once more.
///
/// # Errors
/// `Faults` for names that the plan does not have, all of them, for a plan or inputs that were changed, and for whatever is
/// wrong with the stock; `NoPlan` where the stock does not take the pieces, with what is missing; `Stopped` where the user
/// stopped before they were laid.
pub fn recut(
    of: &Recutting<'_>,
    overrides: &job::Overrides,
    watch: &dyn Watch,
) -> Result<Finished, Error> {
    let told = plan_told::read(of.plan).map_err(|why| vec![unreadable(&why)])?;
    let wanted = wanted(&told, of)?;
    let (first, mut job) = read_twice(of, &told, overrides)?;
    job.search.seed = told.seed;
    job.search.lanes = told.lanes.clamp(1, overrides.limits.of(Limit::Lanes));
    overrides.apply(&mut job.search);
    same_settings(&told, &job)?;
    let (fixture, _) = draw(&job)?;
    let splits = splits(&told, &job, &fixture)?;
    let made = again(&wanted, &splits, &job, &fixture)?;
    watch.tell(begin(&job, made.pieces.len()));
    let (parts, n_of) = as_parts(&made.pieces, &job, &fixture);
    let task = Task {
        layers: &[],
        moduli: &[],
        copies: 0,
        parts: &parts,
        sheets: &job.stock,
        cutter: &job.cutter,
        seams: &job.seams,
        search: &job.search,
    };
    let planned = planner::plan(task, watch)
        .map_err(|e| by_their_names(no_plan(e), &parts, &made.pieces, &n_of))?;
    let planned = with_pieces(planned, made, splits);
    let (cuts, narrow) = cut_all(&job, &fixture, &planned)?;
    let mut findings = job.findings.clone();
    let mut sheets = layer_sheets(&job, &fixture, &planned);
    beside_the_others(&mut sheets, &told, &wanted, &first, &fixture);
    findings.extend(fixture::check_stack(&job.brief, &fixture, &sheets));
    findings.extend(narrow);
    let ending = planned.ending;
    let mut plan = assemble(&job, fixture, planned, cuts, findings, Judged::default());
    plan.recut = true;
    let files = output::write(&plan, &job.output, &job.inputs, &job.stock_doc);
    Ok(Finished {
        summary: summary(&plan, ending),
        findings: plan.findings,
        files,
    })
}

/// Adds the sheets of the pieces that stay: the faces of one layer are to be as thick as each other.
fn beside_the_others(
    sheets: &mut [LayerSheets],
    told: &Told,
    wanted: &[&ToldPiece],
    first: &job::Job,
    fixture: &Fixture,
) {
    for used in sheets {
        let name = fixture.layers[used.layer].name.clone();
        let owner = ToldOwner::Layer(name, used.copy);
        let stay = |p: &&ToldPiece| p.owner == owner && wanted.iter().all(|w| w.id != p.id);
        let stay = told.pieces.iter().filter(stay);
        let ids: BTreeSet<&str> = stay.filter_map(|p| p.stock.as_deref()).collect();
        let stock = first.stock.iter().filter(|s| ids.contains(s.id.as_str()));
        used.sheets.extend(stock.map(|s| (s.measured, s.finish)));
    }
}

fn begin(job: &job::Job, n_pieces: usize) -> Event {
    let (granted, seconds) = granted(&job.search);
    let title = job.title.clone().unwrap_or_else(|| "untitled".to_owned());
    Event::Begin {
        what: format!(
            "{title} · {} once more · {granted}",
            count(n_pieces, "piece")
        ),
        seconds,
    }
}

// ---- what is wanted -------------------------------------------------------------------------------------------------

/// The pieces that are named and those of layers that are named, in the order of the plan.
fn wanted<'t>(told: &'t Told, of: &Recutting<'_>) -> Result<Vec<&'t ToldPiece>, Vec<Fault>> {
    let layer = |p: &'t ToldPiece| match &p.owner {
        ToldOwner::Layer(name, _) => Some(name.as_str()),
        ToldOwner::Part(_) => None,
    };
    let ids: Vec<&str> = told.pieces.iter().map(|p| p.id.as_str()).collect();
    let mut layers: Vec<&str> = Vec::new();
    for name in told.pieces.iter().filter_map(layer) {
        if !layers.contains(&name) {
            layers.push(name);
        }
    }
    let mut faults = Vec::new();
    for (what, asked, known) in [("piece", of.pieces, &ids), ("layer", of.layers, &layers)] {
        for (k, name) in asked.iter().enumerate() {
            if !known.contains(&name.as_str()) {
                faults.push(unknown(what, name, known));
            } else if asked[..k].contains(name) {
                let told = format!("the {what} `{name}` is named twice");
                let fault = Fault::new("J031", told, Place::None);
                faults.push(fault.hint(
                    "name it once; for another one run `recut` again with `-o` and `--stock`",
                ));
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let is_named = |name: &str, asked: &[String]| asked.iter().any(|a| a == name);
    let all = told.pieces.iter();
    Ok(all
        .filter(|p| is_named(&p.id, of.pieces) || layer(p).is_some_and(|l| is_named(l, of.layers)))
        .collect())
}

fn unknown(what: &str, name: &str, known: &[&str]) -> Fault {
    let quoted = |names: &[&str]| {
        let names: Vec<String> = names.iter().map(|n| format!("`{n}`")).collect();
        names.join(", ")
    };
    let close = near(name, known.iter().copied());
    let hint = if close.is_empty() {
        let more = if known.len() > NAMES { " and more" } else { "" };
        format!("it has {}{more}", quoted(&known[..known.len().min(NAMES)]))
    } else {
        format!("did you mean {}?", quoted(&close[..close.len().min(NAMES)]))
    };
    let told = format!("the plan has no {what} `{name}`");
    Fault::new("J030", told, Place::File(PLAN_NAME.to_owned())).hint(hint)
}

// ---- reading --------------------------------------------------------------------------------------------------------

fn unreadable(why: &str) -> Fault {
    Fault::new(
        "J032",
        format!("pieces cannot be cut again from this plan: {why}"),
        Place::File(PLAN_NAME.to_owned()),
    )
    .hint("name a folder that `plan` or `recut` wrote; one of an earlier version has to be planned again")
}

// ---- the pieces -----------------------------------------------------------------------------------------------------

/// Pieces made again, in the order of the plan, and the seams of their layers.
struct Made {
    pieces: Vec<Piece>,
    seams: Vec<Seam>,
}

fn changed(what: String) -> Error {
    let hint = "cut again from the folder as it was written; or plan `inputs/` anew for a folder that holds";
    let fault = Fault::new("J034", what, Place::File(PLAN_NAME.to_owned())).hint(hint);
    Error::Faults(vec![fault])
}

fn same_settings(told: &Told, job: &job::Job) -> Result<(), Error> {
    for (key, value) in kept_settings(&job.cutter, &job.seams.limits) {
        let ours: Option<Value> = serde_json::from_str(&value).ok();
        if ours.as_ref() != told.settings.get(key) {
            let says = told
                .settings
                .get(key)
                .map_or("nothing".to_owned(), Value::to_string);
            return Err(changed(format!(
                "the plan or its inputs were changed: `{key}` is {value} by the inputs, the plan says {says}"
            )));
        }
    }
    Ok(())
}

/// How each layer of each copy is split, copy by copy, layer by layer.
fn splits(told: &Told, job: &job::Job, fixture: &Fixture) -> Result<Vec<LayerSplit>, Error> {
    let copies = if fixture.layers.is_empty() {
        0
    } else {
        job.copies
    };
    let mut out = Vec::new();
    for copy in 1..=copies {
        for layer in &fixture.layers {
            let found = told
                .splits
                .iter()
                .find(|s| s.0 == layer.name && s.1 == copy);
            let (_, _, split) = found.ok_or_else(|| {
                changed(format!(
                    "the plan or its inputs were changed: it does not tell how layer `{}` of copy {copy} is split",
                    layer.name
                ))
            })?;
            out.push(split.clone());
        }
    }
    Ok(out)
}

/// Makes the pieces again, and holds each against what the plan says of it.
fn again(
    wanted: &[&ToldPiece],
    splits: &[LayerSplit],
    job: &job::Job,
    fixture: &Fixture,
) -> Result<Made, Error> {
    let layers = &fixture.layers;
    let mut units: BTreeMap<usize, seam::Split> = BTreeMap::new();
    let mut pieces = Vec::new();
    for piece in wanted {
        let made = match &piece.owner {
            ToldOwner::Part(name) => {
                let part = job.parts.iter().position(|p| p.name == *name);
                part.map(|part| of_part(&piece.id, part, job))
            }
            ToldOwner::Layer(name, copy) => {
                let layer = layers.iter().position(|l| l.name == *name);
                let unit = layer.and_then(|l| Some((l, copy.checked_sub(1)? * layers.len() + l)));
                match unit.filter(|(_, unit)| *unit < splits.len()) {
                    None => None,
                    Some((layer, unit)) => {
                        if let Entry::Vacant(free) = units.entry(unit) {
                            free.insert(split_again(job, fixture, (layer, *copy), &splits[unit])?);
                        }
                        let all = units.get(&unit).map(|made| made.pieces.iter());
                        all.into_iter()
                            .flatten()
                            .find(|p| p.id == piece.id)
                            .cloned()
                    }
                }
            }
        };
        pieces.push(made.filter(|made| is_as_told(made, piece, job, fixture)).ok_or_else(|| {
            changed(format!(
                "the plan or its inputs were changed: piece `{}` is not what its inputs and seams make",
                piece.id
            ))
        })?);
    }
    let seams = units.into_values().flat_map(|made| made.seams).collect();
    Ok(Made { pieces, seams })
}

fn of_part(id: &str, part: usize, job: &job::Job) -> Piece {
    Piece {
        id: id.to_owned(),
        owner: Owner::Part { part },
        region: job.parts[part].region.clone(),
        finished: job.parts[part].region.clone(),
    }
}

/// Whether a piece is written as the plan has it.
fn is_as_told(made: &Piece, told: &ToldPiece, job: &job::Job, fixture: &Fixture) -> bool {
    let text = piece_json(&fixture.layers, &job.parts, made);
    serde_json::from_str(&text).is_ok_and(|ours: Value| ours == told.written)
}

fn split_again(
    job: &job::Job,
    fixture: &Fixture,
    (layer, copy): (usize, usize),
    split: &LayerSplit,
) -> Result<seam::Split, Error> {
    let of = &fixture.layers[layer];
    seam::split(of, layer, copy, split, &job.seams).map_err(|e| {
        changed(format!(
            "the plan or its inputs were changed: layer `{}` cannot be split as the plan says: {e}",
            of.name
        ))
    })
}

/// The pieces as parts that are never split: one for each piece of a layer, one for all pieces of a part. For each of them the
/// places of its pieces.
fn as_parts(pieces: &[Piece], job: &job::Job, fixture: &Fixture) -> (Vec<Part>, Vec<Vec<usize>>) {
    let mut parts: Vec<Part> = Vec::new();
    let mut of: Vec<Vec<usize>> = Vec::new();
    for (k, piece) in pieces.iter().enumerate() {
        let (part, is_next) = match piece.owner {
            Owner::Layer { layer, .. } => {
                let l = &fixture.layers[layer];
                let part = Part {
                    name: piece.id.clone(),
                    material: l.material.clone(),
                    thickness: l.thickness,
                    region: piece.finished.clone(),
                    quantity: 1,
                    fill: false,
                    cut_width: l.cut_width,
                    turns: l.turns,
                    grain: l.grain,
                    own_kerf: l.own_kerf,
                    own_turns: l.own_turns,
                };
                (part, false)
            }
            Owner::Part { part } => (
                Part {
                    quantity: 1,
                    fill: false,
                    ..job.parts[part].clone()
                },
                k > 0 && pieces[k - 1].owner == piece.owner,
            ),
        };
        match (parts.last_mut(), of.last_mut()) {
            (Some(last), Some(places)) if is_next => {
                last.quantity += 1;
                places.push(k);
            }
            _ => {
                parts.push(part);
                of.push(vec![k]);
            }
        }
    }
    (parts, of)
}

/// The planner numbers the pieces of a part; here they have their names from the plan.
fn by_their_names(error: Error, parts: &[Part], pieces: &[Piece], of: &[Vec<usize>]) -> Error {
    let Error::NoPlan { proved, mut lines } = error else {
        return error;
    };
    for (part, places) in parts.iter().zip(of) {
        for (n, k) in places.iter().enumerate().rev() {
            let numbered = format!("`{}-{}`", part.name, n + 1);
            let named = format!("`{}`", pieces[*k].id);
            for line in &mut lines {
                *line = line.replace(&numbered, &named);
            }
        }
    }
    Error::NoPlan { proved, lines }
}

/// What the planner placed, as the pieces that they are.
fn with_pieces(planned: Planned, made: Made, splits: Vec<LayerSplit>) -> Planned {
    let area = |of: fn(&Piece) -> f64| made.pieces.iter().map(of).sum::<f64>();
    // The planner knows finished shapes only; the yield counts nominal ones.
    let nominal = area(|p| p.region.area_mm2()) / area(|p| p.finished.area_mm2());
    Planned {
        yield_: planned.yield_ * nominal,
        pieces: made.pieces,
        seams: made.seams,
        splits,
        ..planned
    }
}
