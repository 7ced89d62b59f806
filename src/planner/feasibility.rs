//! Why there can be no plan, where that can be proved without a search; and what to say where none was found.

use crate::format::number;
use crate::model::cutter::Turns;
use crate::planner::bound;
use crate::planner::candidate::Refused;
use crate::planner::error::PlannerError;
use crate::planner::obstacle::{self, Obstacle, larger_sheet, may_enter, outer_room, whole_remedy};
use crate::planner::prepared::{Class, Prepared};
use crate::planner::state::Worth;
use crate::planner::task::Unit;

/// Areas that differ by no more than this share are one.
const ROUNDING: f64 = 1e-9;

/// A reason why there is no plan.
#[derive(Clone, Debug)]
pub(crate) enum Reason {
    /// In a sentence, which says what would help: no setting of the seams and no more sheets of the stock do.
    Settled(String),
    /// In a sentence.
    Told(String),
    /// A layer that cannot be split.
    Unsplit(Obstacle),
}

impl Reason {
    /// In a sentence; `with_figures` says with which figures a layer could be split.
    pub(crate) fn sentence(&self, with_figures: bool) -> String {
        match self {
            Self::Settled(text) | Self::Told(text) => text.clone(),
            Self::Unsplit(obstacle) => obstacle.sentence(with_figures),
        }
    }
}

/// Reasons why no plan can exist; empty where none is known.
pub(crate) fn impossible(prepared: &Prepared<'_>) -> Vec<Reason> {
    let mut out = plainly_impossible(prepared);
    if prepared.classes.iter().all(|c| !c.bins.is_empty()) {
        unsplittable(prepared, &mut out);
    }
    out
}

/// Whether reasons are known why no plan can exist, or for some layer no split was found.
pub(crate) fn is_hopeless(prepared: &Prepared<'_>) -> bool {
    let mut split = prepared
        .units
        .iter()
        .filter(|u| u.copy == 1 && prepared.shapes[u.shape].splits);
    !plainly_impossible(prepared).is_empty() || split.any(|u| !obstacle::can_be_split(prepared, u))
}

/// Reasons that sizes and areas alone give.
fn plainly_impossible(prepared: &Prepared<'_>) -> Vec<Reason> {
    let without = prepared.classes.iter().filter(|c| c.bins.is_empty());
    let mut settled: Vec<String> = without.map(|c| no_sheet(prepared, c)).collect();
    let mut told = Vec::new();
    if settled.is_empty() {
        whole_things(prepared, &mut settled);
        areas(prepared, &mut told);
    }
    settled
        .into_iter()
        .map(Reason::Settled)
        .chain(told.into_iter().map(Reason::Told))
        .collect()
}

fn no_sheet(prepared: &Prepared<'_>, class: &Class) -> String {
    let mut users: Vec<&str> = class
        .units
        .iter()
        .map(|&u| prepared.task.layers[prepared.units[u].layer].name.as_str())
        .collect();
    users.extend(
        prepared
            .task
            .parts
            .iter()
            .filter(|p| prepared.class_named(&p.material, p.thickness) == class.name)
            .map(|p| p.name.as_str()),
    );
    users.dedup();
    let large = prepared
        .task
        .sheets
        .iter()
        .any(|s| !s.taken && prepared.class_named(&s.material, s.thickness) == class.name);
    let why = if large {
        "all sheets of it are larger than the cutter's area"
    } else {
        "the stock has none"
    };
    format!(
        "no sheet of {} mm for {}: {why}",
        class.name,
        quoted(&users)
    )
}

fn quoted(names: &[&str]) -> String {
    names
        .iter()
        .map(|n| format!("`{n}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// Parts, and layers that stay whole, that enter no sheet's box.
fn whole_things(prepared: &Prepared<'_>, out: &mut Vec<String>) {
    let mut things: Vec<(&str, [f64; 2], usize, Turns)> = Vec::new();
    for unit in prepared.units.iter().filter(|u| u.copy == 1) {
        let shape = &prepared.shapes[unit.shape];
        if !shape.splits {
            for region in &prepared.task.layers[unit.layer].shape {
                let b = region.bounds();
                things.push((
                    &prepared.task.layers[unit.layer].name,
                    [b.width(), b.depth()],
                    unit.class,
                    shape.turns,
                ));
            }
        }
    }
    for part in prepared.task.parts.iter().filter(|p| !p.fill) {
        let b = part.region.bounds();
        things.push((
            &part.name,
            [b.width(), b.depth()],
            prepared.class_of(&part.material, part.thickness),
            part.turns,
        ));
    }
    for (name, size, class, turns) in things.into_iter().filter(|t| t.3 != Turns::Any) {
        let class = &prepared.classes[class];
        if !may_enter(prepared, class, size, turns) {
            let largest = class
                .bins
                .iter()
                .map(|b| outer_room(prepared, b))
                .max_by(|a, b| (a[0] * a[1]).total_cmp(&(b[0] * b[1])))
                .unwrap_or([0.0; 2]);
            out.push(format!(
                "no sheet of {} mm takes `{name}`: it needs {} × {}, the largest room within the edge margin is {} × {}. {}",
                class.name,
                number::short(size[0]),
                number::short(size[1]),
                number::short(largest[0]),
                number::short(largest[1]),
                whole_remedy(prepared, class, size, turns)
            ));
        }
    }
}

/// Layers that no sheet takes whole and that no seam may split.
fn unsplittable(prepared: &Prepared<'_>, out: &mut Vec<Reason>) {
    for unit in prepared.units.iter().filter(|u| u.copy == 1) {
        if let Some(sure) = obstacle::proved(prepared, unit) {
            out.extend(obstacle::of(prepared, unit, Some(sure)).map(Reason::Unsplit));
        }
    }
}

/// Layers for which no split was found, though nothing proves that there is none.
pub(crate) fn unsplit(prepared: &Prepared<'_>) -> Vec<Reason> {
    let split = prepared
        .units
        .iter()
        .filter(|u| u.copy == 1 && prepared.shapes[u.shape].splits);
    split
        .filter_map(|u| obstacle::of(prepared, u, None))
        .map(Reason::Unsplit)
        .collect()
}

/// Classes whose sheets have less area than what is cut from them.
fn areas(prepared: &Prepared<'_>, out: &mut Vec<String>) {
    let cutter = prepared.task.cutter;
    for (k, class) in prepared.classes.iter().enumerate() {
        let (need, have) = bound::areas(prepared, k);
        // Pieces that fill their sheets to the last bit may add up to more by rounding.
        if need > have * (1.0 + ROUNDING) {
            out.push(format!(
                "{} mm: the pieces measure {} cm² in all, grown by half the spacing ({}); the sheets in stock have {} cm² within their edge margin ({}): at least {} cm² are missing",
                class.name,
                number::short(need / 100.0),
                number::short(cutter.spacing / 2.0),
                number::short(have / 100.0),
                number::short(cutter.edge_margin),
                number::short((need - have) / 100.0)
            ));
        }
    }
}

/// What came nearest where no plan was found; what would help is told by `remedy`.
pub(crate) fn not_found(
    prepared: &Prepared<'_>,
    nearest: &Worth,
    refused: Option<Refused>,
) -> PlannerError {
    let mut out = Vec::new();
    for unit in prepared.units.iter().filter(|u| u.copy == 1) {
        if !prepared.shapes[unit.shape].splits && prepared.counts[unit.shape].is_empty() {
            out.push(stays_whole(prepared, unit));
        }
    }
    for (packed, class) in nearest.packed.iter().zip(&prepared.classes) {
        let missing = packed.spots.iter().filter(|s| s.is_none()).count();
        if missing > 0 {
            out.push(format!(
                "{} mm: in the nearest attempt {missing} of {} pieces, {} cm² by their boxes, found no place",
                class.name,
                packed.spots.len(),
                number::short(packed.unplaced_mm2 / 100.0)
            ));
        }
    }
    if nearest.lap_short > 0.0 {
        let lap = prepared.task.seams.limits.min_lap;
        out.push(format!(
            "seams of neighbouring layers come nearer than `min_lap` = {} by {} in all in the nearest attempt",
            number::short(lap),
            number::short(nearest.lap_short)
        ));
    }
    match refused {
        Some(Refused::Split(fault)) => out.push(fault.to_string()),
        Some(Refused::Lap(below, above, lap)) => out.push(format!(
            "the seams of `{}` and `{}` come as near as {}; `min_lap` asks for {}",
            prepared.task.layers[below].name,
            prepared.task.layers[above].name,
            number::short(lap),
            number::short(prepared.task.seams.limits.min_lap)
        )),
        Some(Refused::Unplaced(ids)) => out.push(format!(
            "no place was found for {}",
            ids.iter()
                .take(6)
                .map(|i| format!("`{i}`"))
                .collect::<Vec<_>>()
                .join(", ")
        )),
        None => {}
    }
    if out.is_empty() {
        out.push("no arrangement of the pieces held".to_owned());
    }
    PlannerError::NotFound(out)
}

fn stays_whole(prepared: &Prepared<'_>, unit: &Unit) -> String {
    let bounds = prepared.shapes[unit.shape].bounds;
    let class = &prepared.classes[unit.class];
    let largest = class
        .bins
        .iter()
        .flat_map(|b| &b.windows)
        .max_by(|a, b| (a.width() * a.depth()).total_cmp(&(b.width() * b.depth())));
    let room = largest.map_or_else(
        || "none".to_owned(),
        |w| {
            format!(
                "{} × {}",
                number::short(w.width()),
                number::short(w.depth())
            )
        },
    );
    let size = [bounds.width(), bounds.depth()];
    format!(
        "`{}` is to stay whole and measures {} × {}; the largest clear room on a sheet of {} mm is {room}: let it have a seam. {}",
        prepared.task.layers[unit.layer].name,
        number::short(size[0]),
        number::short(size[1]),
        class.name,
        larger_sheet(prepared, unit, size)
    )
}
