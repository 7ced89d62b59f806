//! What a `plan.json` tells of its pieces, for cutting some of them once more.
//!
//! In: the text of a `plan.json`. Out: its pieces as written, with the layer or part and the sheet of each; how its layers are
//! split; its settings and inputs. Guarantees: splits are sound in themselves (a list of seams across for each strip, cells
//! that are joined exist, positions ascend), so that a layer can be split by them; nothing else is believed.
//!
//! A plan's outlines are chords, so pieces are not read from it: they are made again of the inputs and the splits, and held
//! against what is written here.

use serde_json::Value;

use crate::model::cutter::Axis;
use crate::model::seam::{Joined, LayerSplit};
use crate::output::plan_json::FORMAT;

/// What is told.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Settings, as written.
    pub settings: Value,
    /// Seed of the search.
    pub seed: u64,
    /// Searches side by side.
    pub lanes: usize,
    /// Splits: layer, copy, split; in the order written.
    pub splits: Vec<(String, usize, LayerSplit)>,
    /// Pieces, in the order written.
    pub pieces: Vec<ToldPiece>,
    /// Paths in `inputs/`, in the order of reading, the job first.
    pub inputs: Vec<String>,
}

/// What a piece is cut from, by name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ToldOwner {
    /// A layer of a copy.
    Layer(String, usize),
    /// A part.
    Part(String),
}

/// A piece.
#[derive(Clone, Debug, PartialEq)]
pub struct ToldPiece {
    /// Its id.
    pub id: String,
    /// What it is cut from.
    pub owner: ToldOwner,
    /// The stock id of the sheet that it was cut from.
    pub stock: Option<String>,
    /// All that is written of it.
    pub written: Value,
}

/// Reads what a plan tells.
///
/// # Errors
/// What is missing or has no sense, in words.
pub fn read(plan: &str) -> Result<Told, String> {
    let plan: Value = serde_json::from_str(plan).map_err(|e| format!("it is no JSON: {e}"))?;
    if plan["format"] != FORMAT {
        return Err(format!("its `format` is not `{FORMAT}`"));
    }
    let number = |key: &str| {
        let value = plan["settings"][key].as_u64();
        value.ok_or_else(|| format!("`settings` has no whole number `{key}`"))
    };
    let names = list(&plan, "inputs")?.iter();
    let names: Option<Vec<String>> = names.map(|n| n.as_str().map(str::to_owned)).collect();
    let splits = list(&plan, "splits")?.iter().enumerate();
    let pieces = list(&plan, "pieces")?.iter().enumerate();
    Ok(Told {
        seed: number("seed")?,
        lanes: usize::try_from(number("lanes")?).unwrap_or(usize::MAX),
        inputs: names.ok_or("a name under `inputs` is no text")?,
        splits: splits
            .map(|(k, s)| split(s).ok_or_else(|| format!("`splits[{k}]` is no split of a layer")))
            .collect::<Result<_, _>>()?,
        pieces: pieces
            .map(|(k, p)| piece(&plan, p).ok_or_else(|| format!("`pieces[{k}]` has no owner")))
            .collect::<Result<_, _>>()?,
        settings: plan["settings"].clone(),
    })
}

fn list<'v>(plan: &'v Value, key: &str) -> Result<&'v Vec<Value>, String> {
    let found = plan[key].as_array();
    found.ok_or_else(|| format!("it has no list `{key}`"))
}

fn text(value: &Value) -> Option<String> {
    value.as_str().map(str::to_owned)
}

fn whole(value: &Value) -> Option<usize> {
    usize::try_from(value.as_u64()?).ok()
}

fn piece(plan: &Value, of: &Value) -> Option<ToldPiece> {
    let id = text(&of["id"])?;
    let owner = match text(&of["part"]) {
        Some(part) => ToldOwner::Part(part),
        None => ToldOwner::Layer(text(&of["layer"])?, whole(&of["copy"])?),
    };
    let find = |list: &str, key: &str, value: &Value| {
        let mut all = plan[list].as_array().into_iter().flatten();
        all.find(|entry| entry[key] == *value)
    };
    let sheet = find("placements", "piece", &of["id"]).map(|p| &p["sheet"]);
    let stock = sheet.and_then(|s| find("sheets", "id", s));
    Some(ToldPiece {
        id,
        owner,
        stock: stock.and_then(|s| text(&s["stock"])),
        written: of.clone(),
    })
}

fn split(of: &Value) -> Option<(String, usize, LayerSplit)> {
    let runs = [Axis::X, Axis::Y].into_iter();
    let runs = runs.clone().find(|a| of["runs"] == a.word())?;
    let across: Option<Vec<Vec<f64>>> = of["across"].as_array()?.iter().map(positions).collect();
    let joined: Option<Vec<Joined>> = of["joined"].as_array()?.iter().map(joint).collect();
    let split = LayerSplit {
        runs,
        at: positions(&of["at"])?,
        across: across?,
        joined: joined?,
    };
    let is_sound = split.across.len() == split.at.len() + 1
        && split.joined.iter().all(|j| {
            j.seam < split.at.len()
                && j.before <= split.across[j.seam].len()
                && j.behind <= split.across[j.seam + 1].len()
        });
    is_sound.then_some(())?;
    Some((text(&of["layer"])?, whole(&of["copy"])?, split))
}

/// Positions that ascend.
fn positions(of: &Value) -> Option<Vec<f64>> {
    let at: Vec<f64> = of
        .as_array()?
        .iter()
        .map(Value::as_f64)
        .collect::<Option<_>>()?;
    let ascend = at.windows(2).all(|w| w[0] < w[1]);
    (ascend && at.iter().all(|p| p.is_finite())).then_some(at)
}

fn joint(of: &Value) -> Option<Joined> {
    let [seam, before, behind] = of.as_array()?.as_slice() else {
        return None;
    };
    Some(Joined {
        seam: whole(seam)?,
        before: whole(before)?,
        behind: whole(behind)?,
    })
}
