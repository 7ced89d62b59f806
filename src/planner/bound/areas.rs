//! Rows of area.
//!
//! 1. *Grown.* Each piece grown by half the spacing overlaps no other grown piece, and lies in its sheet drawn in by the edge
//!    margin less half the spacing (grown, where the margin is the lesser). So the grown areas of what is cut cannot exceed the
//!    drawn-in areas of the sheets used.
//! 2. *As they are.* Nor can the areas of pieces exceed those of the sheets drawn in by the edge margin: where a sheet takes one
//!    large piece this says more.
//! 3. *Closed.* Both again with the holes of things that nothing of the class enters ([`Thing::closed`], and locating holes and
//!    reliefs of layers, which no seam comes near) taken for material, and sheets without their inner defects, around which
//!    such a hole may lie. A piece beside a closed one is not in its hole, so it lies outside of its outer ring.
//! 4. *Fit.* What enters no more than some of the sheets must be carried by those.
//!
//! A layer counts unsplit: a seam only adds, unless its gap is wider than what both pieces are grown by; then what seams could
//! take away at the most ([`lost_to_gaps`]) is left out.

use crate::format::number;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::model::seam::Pattern;
use crate::model::source::{SourceKind, meaning};
use crate::nest::grown_area;
use crate::planner::bound::row::{Figure, Row};
use crate::planner::bound::supply::{Supply, square_cm};
use crate::planner::bound::thing::{Thing, least_entrant};
use crate::planner::bound::{enters_only, fits};
use crate::planner::prepared::{Class, Prepared};
use crate::planner::task::Unit;

/// By how much a tooth is longer than its stretch of seam, at the most, in depths: two flanks that are each less than a half circle
/// over the depth.
const FLANKS: f64 = 4.0;

/// How areas are taken: whether grown by half the spacing, and whether holes that nothing enters are closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Way {
    pub(super) grown: bool,
    pub(super) closed: bool,
}

/// Rows of the area of everything, and of what enters no other sheets than some.
pub(super) fn rows(
    prepared: &Prepared<'_>,
    class: &Class,
    supplies: &[Supply<'_>],
    things: &[Thing],
) -> Vec<Row> {
    let mut out: Vec<Row> = Vec::new();
    for grown in [true, false] {
        for closed in [false, true] {
            let way = Way { grown, closed };
            let row = whole_row(prepared, class, supplies, things, way);
            if !closed
                || out
                    .last()
                    .is_none_or(|open| row.need > open.need * (1.0 + 1e-9))
            {
                out.push(row);
            }
        }
    }
    let way = Way {
        grown: true,
        closed: true,
    };
    let sets = fits(things);
    for set in sets.iter().filter(|s| s.contains(&false)) {
        let within: Vec<&Thing> = things.iter().filter(|t| enters_only(t, set)).collect();
        let names: Vec<String> = within.iter().map(|t| format!("`{}`", t.name)).collect();
        let need = within.iter().map(|t| t.area(way)).sum();
        let carries = carried(prepared, supplies, way).into_iter().zip(set);
        out.push(Row {
            need,
            carries: carries.map(|(c, of)| if *of { c } else { 0.0 }).collect(),
            figure: Figure::Area,
            says: format!(
                "{} {} measure {} and enter no other sheets",
                names.join(", "),
                words(prepared, way),
                square_cm(need, false)
            ),
        });
    }
    out
}

fn whole_row(
    prepared: &Prepared<'_>,
    class: &Class,
    supplies: &[Supply<'_>],
    things: &[Thing],
    way: Way,
) -> Row {
    let need = demand(prepared, class, things, way);
    Row {
        need,
        carries: carried(prepared, supplies, way),
        figure: Figure::Area,
        says: format!(
            "layers and parts {} measure {}",
            words(prepared, way),
            square_cm(need, false)
        ),
    }
}

fn words(prepared: &Prepared<'_>, way: Way) -> String {
    let half = number::number(prepared.task.cutter.spacing / 2.0, 4);
    match (way.grown, way.closed) {
        (true, false) => format!("grown by half the spacing ({half}; sheets drawn in by the edge margin less that)"),
        (true, true) => format!("without holes that nothing enters, grown by half the spacing ({half}; sheets without inner defects drawn in by the edge margin less that)"),
        (false, false) => "as they are (sheets drawn in by the edge margin)".to_owned(),
        (false, true) => "without holes that nothing enters (sheets without inner defects drawn in by the edge margin)".to_owned(),
    }
}

fn carried(prepared: &Prepared<'_>, supplies: &[Supply<'_>], way: Way) -> Vec<f64> {
    let more = if way.grown {
        prepared.task.cutter.spacing
    } else {
        0.0
    };
    supplies
        .iter()
        .map(|s| match s.roll {
            Some(_) => s.room[1] + more,
            None => s.usable_mm2[usize::from(way.closed)][usize::from(!way.grown)],
        })
        .collect()
}

/// Area of the layers and parts of a class.
pub(super) fn demand(prepared: &Prepared<'_>, class: &Class, things: &[Thing], way: Way) -> f64 {
    let by = if way.grown {
        prepared.task.cutter.spacing / 2.0
    } else {
        0.0
    };
    let is_thing = |unit: &Unit| {
        things
            .iter()
            .any(|t| t.is_layer && t.name == prepared.task.layers[unit.layer].name)
    };
    let mut known: Vec<(usize, f64)> = Vec::new();
    let mut sum: f64 = things.iter().map(|t| t.area(way)).sum();
    for unit in class
        .units
        .iter()
        .map(|&u| &prepared.units[u])
        .filter(|u| !is_thing(u))
    {
        // Copies measure the same.
        let of = known.iter().find(|k| k.0 == unit.layer).map(|k| k.1);
        let area = of.unwrap_or_else(|| {
            let shape = &prepared.task.layers[unit.layer].shape;
            let whole = if way.closed {
                grown_area(&closed(prepared, class, things, shape), by)
            } else {
                grown_area(shape, by)
            };
            (whole - lost_to_gaps(prepared, unit, by)).max(0.0)
        });
        known.push((unit.layer, area));
        sum += area;
    }
    sum
}

/// A layer without the locating holes and reliefs that nothing of the class enters.
fn closed(
    prepared: &Prepared<'_>,
    class: &Class,
    things: &[Thing],
    shape: &[Region],
) -> Vec<Region> {
    if prepared.task.seams.limits.keep_clear <= 0.0 {
        return shape.to_vec();
    }
    let least = least_entrant(prepared, class, things) + 2.0 * prepared.task.cutter.spacing;
    let of_screw = |ring: &Ring| {
        ring.edges().iter().all(|e| {
            matches!(
                meaning(e.source).0,
                SourceKind::Locating | SourceKind::Relief
            )
        })
    };
    let stays = |ring: &&Ring| {
        let b = ring.bounds();
        !of_screw(ring) || b.width().min(b.depth()) >= least
    };
    shape
        .iter()
        .map(|r| {
            Region::new(
                r.outer().clone(),
                r.holes().iter().filter(stays).cloned().collect(),
            )
        })
        .collect()
}

/// Area that gaps could take from a layer whose pieces are grown, at the most: pieces keep their least extent, so across and
/// along there are no more seams than pieces of that extent less the teeth; a step makes a seam no more than twice as long.
fn lost_to_gaps(prepared: &Prepared<'_>, unit: &Unit, grown: f64) -> f64 {
    let shape = &prepared.shapes[unit.shape];
    let limits = &prepared.task.seams.limits;
    let excess = limits.gap - 2.0 * grown;
    if !shape.splits || excess <= 0.0 {
        return 0.0;
    }
    let teeth = shape.reach.0 + shape.reach.1;
    let least = (limits.min_piece - teeth).max(1.0);
    let stretch = if prepared.task.layers[unit.layer].pattern == Some(Pattern::Straight) {
        1.0
    } else {
        // No deeper than long, unless both are asked for.
        let asked = prepared.task.seams.depth.zip(prepared.task.seams.tooth);
        1.0 + FLANKS * asked.map_or(1.0, |(depth, tooth)| (depth / tooth).max(1.0))
    };
    let [width, depth] = [shape.bounds.width(), shape.bounds.depth()];
    let seams = width * (depth / least).floor() + depth * (width / least).floor();
    excess * 2.0 * stretch * seams
}
