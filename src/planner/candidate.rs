//! From a guess to a plan that holds: true pieces and seams, true laps, every distance certified.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::transform::{Pose, Rotation};
use crate::model::cutter::{Axis, Turns};
use crate::model::nesting::{Item, Layout, Outcome, Placed, Problem, SheetUse, Stock};
use crate::model::piece::{Owner, Piece};
use crate::model::seam::{LayerSplit, Seam};
use crate::nest;
use crate::parallel::map_in_order;
use crate::planner::packing::Spot;
use crate::planner::prepared::Prepared;
use crate::planner::score::Score;
use crate::planner::state::{StandsFor, State, Worth, stands};
use crate::planner::task::Task;
use crate::seam;
use crate::stock;

/// How often what found no place is laid down earlier, where pieces are parts alone.
const PATIENCE: usize = 24;

/// A plan that was certified.
#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    /// Pieces, copy by copy, layer by layer, then parts; fill parts that found no place included.
    pub(crate) pieces: Vec<Piece>,
    /// Seams, copy by copy, layer by layer.
    pub(crate) seams: Vec<Seam>,
    /// Findings of the split.
    pub(crate) findings: Vec<crate::model::finding::Finding>,
    /// The problem that nesting solved.
    pub(crate) problem: Arc<Problem>,
    /// Where the pieces lie.
    pub(crate) layout: Layout,
    /// What it is worth.
    pub(crate) score: Score,
    /// By sheet used, in order, the area of its leftovers.
    pub(crate) kept: Vec<(SheetUse, f64)>,
    /// The guess it came from.
    pub(crate) state: State,
}

/// Splits that were made before, by unit; making one takes milliseconds, and most moves change one.
#[derive(Clone, Debug, Default)]
pub(crate) struct SplitCache(Vec<Option<(LayerSplit, Arc<seam::Split>)>>);

impl SplitCache {
    /// The split of a unit, made or remembered.
    fn get(
        &mut self,
        prepared: &Prepared<'_>,
        unit: usize,
        split: &LayerSplit,
    ) -> Result<Arc<seam::Split>, seam::error::SeamFault> {
        self.0.resize(prepared.units.len(), None);
        if let Some((known, made)) = &self.0[unit]
            && known == split
        {
            return Ok(made.clone());
        }
        let of = &prepared.units[unit];
        let made = Arc::new(seam::split(
            &prepared.task.layers[of.layer],
            of.layer,
            of.copy,
            split,
            prepared.task.seams,
        )?);
        self.0[unit] = Some((split.clone(), made.clone()));
        Ok(made)
    }
}

/// Where the pieces of a unit stand among all.
struct UnitPieces {
    first: usize,
    /// For each piece, the group of cells that it was cut from.
    groups: Vec<usize>,
}

/// Why a guess is no plan.
#[derive(Clone, Debug)]
pub(crate) enum Refused {
    /// A layer cannot be split so.
    Split(seam::error::SeamFault),
    /// Seams of neighbouring layers come too near: layer below, layer above, lap.
    Lap(usize, usize, f64),
    /// Pieces found no place.
    Unplaced(Vec<String>),
}

/// Makes a plan of a guess and certifies it. `thorough` lets nesting try the pieces anew beside the guess's own places.
pub(crate) fn certify(
    prepared: &Prepared<'_>,
    state: &State,
    worth: &Worth,
    cache: &mut SplitCache,
    thorough: bool,
) -> Result<Candidate, Refused> {
    let mut pieces = Vec::new();
    let mut seams: Vec<Seam> = Vec::new();
    let mut findings = Vec::new();
    let mut of_unit: Vec<UnitPieces> = Vec::new();
    let mut below: Option<Arc<seam::Split>> = None;
    for (unit, split) in state.splits.iter().enumerate() {
        let made = cache.get(prepared, unit, split).map_err(Refused::Split)?;
        if let Some(last) = &below
            && prepared.units[unit].layer > 0
        {
            let lap = seam::stagger::lap(&last.seams, &made.seams);
            if lap < prepared.task.seams.limits.min_lap - 1e-9 {
                return Err(Refused::Lap(
                    prepared.units[unit].layer - 1,
                    prepared.units[unit].layer,
                    lap,
                ));
            }
        }
        of_unit.push(UnitPieces {
            first: pieces.len(),
            groups: made.groups.clone(),
        });
        pieces.extend(made.pieces.iter().cloned());
        seams.extend(made.seams.iter().cloned());
        if prepared.units[unit].copy == 1 {
            findings.extend(made.findings.iter().cloned());
        }
        below = Some(made);
    }
    let of_part = add_parts(prepared, &mut pieces);
    let problem = Arc::new(problem(prepared, &pieces));
    let own = own_layout(prepared, state, worth, &pieces, &of_unit, &of_part);
    let layout = best_layout(&problem, own, thorough).map_err(|left| {
        Refused::Unplaced(left.into_iter().map(|k| pieces[k].id.clone()).collect())
    })?;
    let (score, kept) = score(prepared, &problem, &layout, &seams, None);
    Ok(Candidate {
        pieces,
        seams,
        findings,
        problem,
        layout,
        score,
        kept,
        state: state.clone(),
    })
}

/// The pieces of a task without layers, and the problem that they are.
pub(crate) fn parts_alone(prepared: &Prepared<'_>) -> (Vec<Piece>, Arc<Problem>) {
    let mut pieces = Vec::new();
    add_parts(prepared, &mut pieces);
    let problem = Arc::new(problem(prepared, &pieces));
    (pieces, problem)
}

/// The plan of a task without layers whose pieces lie so; the layout was certified.
pub(crate) fn of_parts(
    prepared: &Prepared<'_>,
    (pieces, problem): (Vec<Piece>, Arc<Problem>),
    layout: Layout,
    state: &State,
) -> Candidate {
    let layout = filled(&problem, layout);
    let (score, kept) = score(prepared, &problem, &layout, &[], None);
    Candidate {
        pieces,
        seams: Vec::new(),
        findings: Vec::new(),
        problem,
        layout,
        score,
        kept,
        state: state.clone(),
    }
}

/// The better of the guess's own layout and what nesting constructs, each where it holds; the items left over where neither
/// does.
fn best_layout(
    problem: &Problem,
    own: Option<Layout>,
    thorough: bool,
) -> Result<Layout, Vec<usize>> {
    let holds = |layout: &Layout| nest::certify(problem, layout).is_ok();
    let own = own.filter(&holds);
    let own = match own {
        Some(own) if !thorough => return Ok(filled(problem, own)),
        own => own,
    };
    let built = match nest::construct_best(problem, if thorough { PATIENCE } else { 0 }) {
        Outcome::Placed(layout) if holds(&layout) => Ok(layout),
        Outcome::Placed(_) => Err(Vec::new()),
        Outcome::NearMiss(miss) => Err(miss.unplaced),
    };
    match (own, built) {
        (Some(own), Ok(built))
            if nest::cost(problem, &built) < nest::cost(problem, &own) - 1e-6 =>
        {
            Ok(built)
        }
        (Some(own), _) => Ok(filled(problem, own)),
        (None, built) => built,
    }
}

/// A layout with fill parts, which come last: what holds without them is kept where it does not hold with them.
fn filled(problem: &Problem, own: Layout) -> Layout {
    let with_fill = nest::add_fill(problem, &own);
    if with_fill.placed == own.placed || nest::certify(problem, &with_fill).is_err() {
        own
    } else {
        with_fill
    }
}

/// Adds the parts' pieces; gives for each part the places of its pieces.
fn add_parts(prepared: &Prepared<'_>, pieces: &mut Vec<Piece>) -> Vec<std::ops::Range<usize>> {
    let mut out = Vec::new();
    for (k, part) in prepared.task.parts.iter().enumerate() {
        let first = pieces.len();
        for n in 1..=part.quantity {
            pieces.push(Piece {
                id: format!("{}-{n}", part.name),
                owner: Owner::Part { part: k },
                region: part.region.clone(),
                finished: part.region.clone(),
            });
        }
        out.push(first..pieces.len());
    }
    out
}

/// The nesting problem of the pieces.
pub(crate) fn problem(prepared: &Prepared<'_>, pieces: &[Piece]) -> Problem {
    let task = &prepared.task;
    let n_layers = pieces.len();
    let item = |(k, piece): (usize, &Piece)| {
        let (turns, grain, fill, kind, material, thickness): (
            Turns,
            Option<Axis>,
            bool,
            usize,
            &str,
            f64,
        ) = match piece.owner {
            Owner::Layer { layer, .. } => {
                let l = &task.layers[layer];
                (l.turns, l.grain, false, k, &l.material, l.thickness)
            }
            Owner::Part { part } => {
                let p = &task.parts[part];
                (
                    p.turns,
                    p.grain,
                    p.fill,
                    n_layers + part,
                    &p.material,
                    p.thickness,
                )
            }
        };
        Item {
            shape: piece.finished.clone(),
            nominal_area_mm2: piece.region.area_mm2(),
            kind,
            class: prepared.class_of(material, thickness),
            turns,
            grain,
            fill,
        }
    };
    Problem {
        items: pieces.iter().enumerate().map(item).collect(),
        stock: task
            .sheets
            .iter()
            .map(|s| Stock {
                region: s.region.clone(),
                class: prepared.class_of(&s.material, s.thickness),
                quantity: if s.taken { s.quantity } else { 0 },
                cost: s.cost,
                by_length: s.by_length.then(|| s.outline.bounds().width()),
                usable_length: s.usable_length,
                grain: s.grain,
            })
            .collect(),
        spacing: task.cutter.spacing,
        edge_margin: task.cutter.edge_margin,
        flip: task.cutter.flip,
        remnant: task.search.remnant,
    }
}

/// The guess's own places, as poses of the true pieces; `None` where a cell is not one group of pieces.
fn own_layout(
    prepared: &Prepared<'_>,
    state: &State,
    worth: &Worth,
    pieces: &[Piece],
    of_unit: &[UnitPieces],
    of_part: &[std::ops::Range<usize>],
) -> Option<Layout> {
    let mut placed: Vec<Placed> = Vec::new();
    let mut next_of_part: Vec<usize> = of_part.iter().map(|r| r.start).collect();
    for (class, packed) in worth.packed.iter().enumerate() {
        let stands = stands(prepared, &state.splits, class);
        for (stand, spot) in stands.iter().zip(&packed.spots) {
            let spot = (*spot)?;
            let bin = &prepared.classes[class].bins[spot.bin];
            let sheet = SheetUse {
                stock: bin.sheet,
                number: bin.number,
            };
            match stand.what {
                StandsFor::Part(part) => {
                    let k = next_of_part[part];
                    next_of_part[part] += 1;
                    placed.push(Placed {
                        item: k,
                        sheet,
                        pose: pose(&[&pieces[k].finished], spot),
                    });
                }
                StandsFor::Cell(unit, cell) => {
                    let own = &of_unit[unit];
                    let group: Vec<usize> = (0..own.groups.len())
                        .filter(|&k| own.groups[k] == cell)
                        .map(|k| own.first + k)
                        .collect();
                    let shapes: Vec<&Region> = group.iter().map(|&k| &pieces[k].finished).collect();
                    let pose = pose(&shapes, spot);
                    placed.extend(group.into_iter().map(|item| Placed { item, sheet, pose }));
                }
            }
        }
    }
    placed.sort_by_key(|p| p.item);
    let once = placed.windows(2).all(|w| w[0].item != w[1].item);
    once.then_some(Layout { placed })
}

/// The pose that lays the box around shapes on a spot, its shift whole millionths of a millimetre, rounded away from the edge.
fn pose(shapes: &[&Region], spot: Spot) -> Pose {
    let quarters = u32::from(spot.turned) + 2 * u32::from(spot.half);
    let rotation = Rotation::from_degrees(90.0 * f64::from(quarters));
    let turned = Pose {
        mirrored: false,
        rotation,
        shift: Point::new(0.0, 0.0),
    };
    let bounds = shapes
        .iter()
        .fold(Bounds::EMPTY, |b, s| b.join(s.posed(turned).bounds()));
    let inward = |v: f64, high: bool| {
        if high {
            (v * 1e6 + 1e-3).floor() / 1e6
        } else {
            (v * 1e6 - 1e-3).ceil() / 1e6
        }
    };
    let from = |high: bool, low_end: f64, high_end: f64| if high { high_end } else { low_end };
    let [x, y] = spot.high;
    let corner = Point::new(
        from(x, bounds.min.x, bounds.max.x),
        from(y, bounds.min.y, bounds.max.y),
    );
    let shift = spot.at - corner;
    Pose {
        shift: Point::new(inward(shift.x, x), inward(shift.y, y)),
        ..turned
    }
}

/// What lies on each sheet used, in order.
fn by_sheet(layout: &Layout) -> BTreeMap<SheetUse, Vec<Placed>> {
    let mut out: BTreeMap<SheetUse, Vec<Placed>> = BTreeMap::new();
    for p in &layout.placed {
        out.entry(p.sheet).or_default().push(*p);
    }
    out
}

/// What a layout is worth, and by sheet the area of its leftovers. Of sheets on which all lies as in an earlier candidate of the
/// same problem they are not worked out again.
pub(crate) fn score(
    prepared: &Prepared<'_>,
    problem: &Problem,
    layout: &Layout,
    seams: &[Seam],
    before: Option<&Candidate>,
) -> (Score, Vec<(SheetUse, f64)>) {
    let known = before.map(|b| by_sheet(&b.layout)).unwrap_or_default();
    let area: Vec<(SheetUse, f64)> = map_in_order(
        by_sheet(layout).into_iter().collect(),
        |(sheet, placed): (SheetUse, Vec<Placed>)| {
            if let Some(before) = before
                && known.get(&sheet) == Some(&placed)
                && let Ok(at) = before.kept.binary_search_by_key(&sheet, |k| k.0)
            {
                return before.kept[at];
            }
            let left = remnants(prepared, problem, &Layout { placed }, sheet);
            (sheet, left.iter().map(Region::area_mm2).sum())
        },
    );
    (scored(prepared, problem, layout, seams, &area), area)
}

/// What a layout is worth of which the leftovers' area is known, by sheet.
pub(crate) fn scored(
    prepared: &Prepared<'_>,
    problem: &Problem,
    layout: &Layout,
    seams: &[Seam],
    area: &[(SheetUse, f64)],
) -> Score {
    let kept: f64 = area.iter().map(|k| k.1).sum();
    let whole: f64 = area
        .iter()
        .flat_map(|k| &prepared.task.sheets[k.0.stock].region)
        .map(Region::area_mm2)
        .sum();
    let length: f64 = seams.iter().map(|s| s.path.length()).sum();
    let n_fill = problem.items.iter().filter(|i| i.fill).count();
    let n_required = problem.items.len() - n_fill;
    Score {
        cost: (nest::cost(problem, layout) * 1e6).round() / 1e6,
        fill_missing: problem.items.len() - layout.placed.len(),
        waste_steps: if whole > 0.0 {
            -(100.0 * kept / whole).floor() as i64
        } else {
            0
        },
        pieces: n_required,
        seam_steps: (length / 10.0).round() as i64,
        stiffness_steps: stiffness_steps(&prepared.task, seams),
    }
}

/// Bonded stiffness at the weakest section, in steps of 1 %, negated: the greater share is the lesser figure.
fn stiffness_steps(task: &Task<'_>, seams: &[Seam]) -> i64 {
    let limits = &task.seams.limits;
    let least = (1..=task.copies)
        .map(|copy| seam::judge::weakest(task.layers, task.moduli, seams, copy, limits.min_lap))
        .map(|beams| beams[0].or_less(beams[1]).bonded)
        .fold(1.0, f64::min);
    -(100.0 * least).round() as i64
}

/// Leftovers of a sheet that are worth keeping.
pub(crate) fn remnants(
    prepared: &Prepared<'_>,
    problem: &Problem,
    layout: &Layout,
    sheet: SheetUse,
) -> Vec<Region> {
    let finished: Vec<Region> = layout
        .placed
        .iter()
        .filter(|p| p.sheet == sheet)
        .map(|p| problem.items[p.item].shape.posed(p.pose))
        .collect();
    let used = problem.stock[sheet.stock]
        .by_length
        .map(|_| nest::used_length(problem, layout, sheet));
    stock::remnant::remnants(
        &problem.stock[sheet.stock].region,
        used,
        &finished,
        problem.spacing,
        prepared.task.search.remnant,
    )
}
