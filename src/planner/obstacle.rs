//! Why a layer cannot be split for the sheets there are, and by how much which setting has to give way.
//!
//! In: a layer that no sheet takes whole. Out: a sentence with what is in the way, the best place there was and its figure,
//! and settings with numbers that were tried.
//!
//! 1. `split_of` looks for one split that holds: a grid of through seams at legal places, each as far on as the room of a
//!    sheet lets it, made by the seam stage and measured piece by piece.
//! 2. Where there is none, each setting that could be in the way is lowered alone, in hundredths of a millimetre, to the
//!    greatest figure at which there is one. The seam stage says what is wrong with that split under the figures of the job:
//!    that is the obstacle at its best place.
//! 3. Where no setting alone is enough, all are lowered in one proportion, and those that need not be go back.
//!
//! Guarantees: each figure was tried with the layer and the rooms of the sheets. Whether there are sheets enough, and what other
//! layers ask, is not looked at here: `remedy` does, with whole searches.

use crate::format::number;
use crate::model::cutter::{Axis, Turns};
use crate::model::layer::Layer;
use crate::model::seam::{LayerSplit, Pattern};
use crate::planner::packing::Bin;
use crate::planner::prepared::{Class, Prepared, box_turns, ways};
use crate::planner::task::{LayerShape, Task, Unit, legal_below, nearest_legal};
use crate::seam;
use crate::seam::error::SeamFault;

/// Rooms of sheets that are tried for one figure: the largest first.
const MOST_ROOMS: usize = 12;
/// Seams of one direction that are tried.
const MOST_SEAMS: usize = 24;
/// Rounding of sums of lengths.
const ROUNDED: f64 = 1e-6;
/// So much above the figure at which a split holds, the place that decides is looked for; the last: as the job has it.
const JUST_ABOVE: [f64; 3] = [0.05, 0.2, f64::INFINITY];
/// Steps in which all settings are lowered together.
const PROPORTIONS: i64 = 200;

/// A setting that can be in the way of a seam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Setting {
    KeepClear,
    MinWeb,
    MinPiece,
    Depth,
    MinLap,
}

const SETTINGS: [Setting; 4] = [
    Setting::KeepClear,
    Setting::MinWeb,
    Setting::MinPiece,
    Setting::Depth,
];

impl Setting {
    fn key(self) -> &'static str {
        match self {
            Self::KeepClear => "keep_clear",
            Self::MinWeb => "min_web",
            Self::MinPiece => "min_piece",
            Self::Depth => "depth",
            Self::MinLap => "min_lap",
        }
    }

    /// As it is written in a job.
    pub(crate) fn told(self, figure: f64) -> String {
        format!("`{} = \"{} mm\"`", self.key(), number::short(figure))
    }
}

/// Settings with figures that let a layer be split, all of them together, and what is in the way of that split as the job is.
#[derive(Clone, Debug)]
pub(crate) struct Help {
    pub(crate) settings: Vec<(Setting, f64)>,
    obstacle: String,
}

/// A layer that cannot be split for the sheets there are.
#[derive(Clone, Debug)]
pub(crate) struct Obstacle {
    /// Which layer, its extent, the room there is.
    what: String,
    /// Each alone enough; or one of several settings.
    pub(crate) helps: Vec<Help>,
    /// The sheet that would take it whole.
    larger: String,
}

impl Obstacle {
    /// In words; `with_figures` says with which figures the layer could be split.
    pub(crate) fn sentence(&self, with_figures: bool) -> String {
        let mut out = self.what.clone();
        for help in &self.helps {
            out += &format!(". Nearest miss: {}", help.obstacle);
            if with_figures {
                let told: Vec<String> = help.settings.iter().map(|s| s.0.told(s.1)).collect();
                out += &format!("; with {} it could be split", told.join(" and "));
            }
        }
        format!("{out}. {}", self.larger)
    }
}

/// A layer with the settings that matter to it.
#[derive(Clone, Debug)]
struct Trial<'a> {
    layer: Layer,
    layer_idx: usize,
    options: seam::options::Options,
    /// Rooms of sheets as the layer may lie in them: along x, along y.
    rooms: &'a [[f64; 2]],
    class: &'a Class,
    task: Task<'a>,
}

impl Trial<'_> {
    fn figure(&self, setting: Setting) -> f64 {
        match setting {
            Setting::KeepClear => self.options.limits.keep_clear,
            Setting::MinWeb => self.layer.min_web,
            Setting::MinPiece => self.options.limits.min_piece,
            Setting::Depth => {
                let reach = seam::reach(&self.layer, self.layer_idx, &self.options);
                reach.0 + reach.1
            }
            Setting::MinLap => self.options.limits.min_lap,
        }
    }

    fn with(&self, setting: Setting, figure: f64) -> Self {
        let mut out = self.clone();
        match setting {
            Setting::KeepClear => out.options.limits.keep_clear = figure,
            Setting::MinWeb => out.layer.min_web = figure,
            Setting::MinPiece => out.options.limits.min_piece = figure,
            Setting::Depth => out.options.depth = Some(figure),
            Setting::MinLap => out.options.limits.min_lap = figure,
        }
        out
    }

    /// The least figure of a setting that is tried, in hundredths.
    fn least(&self, setting: Setting) -> Option<i64> {
        let toothed = self.layer.pattern.is_some_and(|p| p != Pattern::Straight);
        match setting {
            Setting::Depth => toothed.then_some(1),
            _ => Some(0),
        }
    }

    /// A split whose pieces the rooms take; the layer whole where a room takes that.
    fn split_of(&self) -> Option<LayerSplit> {
        let shape = LayerShape::new(&self.layer, self.layer_idx, &self.options);
        let task = Task {
            seams: &self.options,
            ..self.task
        };
        // The search begins with equal cells; where none fit it finds little.
        if ways(&shape, self.class, &task).is_empty() {
            return None;
        }
        self.rooms
            .iter()
            .take(MOST_ROOMS)
            .find_map(|room| self.grid(&shape, *room))
    }

    fn grid(&self, shape: &LayerShape, room: [f64; 2]) -> Option<LayerSplit> {
        let least = self.options.limits.min_piece;
        let columns = rows(shape, Axis::Y, room[0], least);
        let rows = rows(shape, Axis::X, room[1], least);
        let of = |runs, at: &Vec<f64>, across: &Vec<f64>| LayerSplit {
            runs,
            joined: Vec::new(),
            at: at.clone(),
            across: vec![across.clone(); at.len() + 1],
        };
        columns
            .iter()
            .flat_map(|c| rows.iter().map(move |r| (c, r)))
            .flat_map(|(c, r)| [of(Axis::Y, c, r), of(Axis::X, r, c)])
            .find(|split| self.holds(split))
    }

    /// Whether the seam stage makes the split, and every piece of it enters a room.
    fn holds(&self, split: &LayerSplit) -> bool {
        let enters = |b: crate::geometry::bounds::Bounds| {
            self.rooms
                .iter()
                .any(|r| b.width() <= r[0] + ROUNDED && b.depth() <= r[1] + ROUNDED)
        };
        if split.is_whole() {
            return self.layer.shape.iter().all(|r| enters(r.bounds()));
        }
        seam::split(&self.layer, self.layer_idx, 1, split, &self.options)
            .is_ok_and(|made| made.pieces.iter().all(|p| enters(p.finished.bounds())))
    }

    /// The greatest figure below the present one, in hundredths, at which there is a split, and that split.
    fn greatest(&self, setting: Setting) -> Option<(f64, LayerSplit)> {
        let at = |k: i64| self.with(setting, k as f64 / 100.0).split_of();
        let good = self.least(setting)?;
        let bad = (self.figure(setting) * 100.0 - ROUNDED).ceil() as i64;
        if bad <= good {
            return None;
        }
        let found = at(good)?;
        Some(bisected(good, bad, found, &at))
    }

    /// All settings lowered in one proportion, then each raised again as far as it may be: what is left to change, and the split.
    fn together(&self) -> Option<(Vec<(Setting, f64)>, LayerSplit)> {
        let settings: Vec<Setting> = SETTINGS
            .into_iter()
            .filter(|s| self.least(*s).is_some())
            .collect();
        let lowered = |share: i64| {
            settings.iter().fold(self.clone(), |t, s| {
                let figure = self.figure(*s) * share as f64 / PROPORTIONS as f64;
                let least = self.least(*s).unwrap_or(0) as f64;
                t.with(*s, (figure * 100.0).floor().max(least) / 100.0)
            })
        };
        let (mut good, mut bad) = (0, PROPORTIONS);
        lowered(good).split_of()?;
        while bad - good > 1 {
            let middle = good.midpoint(bad);
            if lowered(middle).split_of().is_some() {
                good = middle;
            } else {
                bad = middle;
            }
        }
        let mut trial = lowered(good);
        let mut kept = Vec::new();
        for setting in settings {
            let back = match setting {
                Setting::Depth => Self {
                    options: seam::options::Options {
                        depth: self.options.depth,
                        ..trial.options
                    },
                    ..trial.clone()
                },
                _ => trial.with(setting, self.figure(setting)),
            };
            if back.split_of().is_some() {
                trial = back;
                continue;
            }
            let good = (trial.figure(setting) * 100.0 + ROUNDED).floor() as i64;
            let bad = (self.figure(setting) * 100.0 - ROUNDED).ceil() as i64;
            let found = trial.split_of()?;
            let (figure, _) = bisected(good, bad, found, &|k| {
                trial.with(setting, k as f64 / 100.0).split_of()
            });
            trial = trial.with(setting, figure);
            kept.push((setting, figure));
        }
        let split = trial.split_of()?;
        Some((kept, split))
    }

    /// What is in the way of a split under the present settings, a little above the figures at which it holds: there only
    /// the place that decides is wrong. Told with the limit that the job asks for.
    fn obstacle(&self, changed: &[(Setting, f64)], split: &LayerSplit) -> String {
        let made = |by: f64| {
            let trial = changed.iter().fold(self.clone(), |t, (s, figure)| {
                t.with(*s, (figure + by).min(self.figure(*s)))
            });
            seam::split(&trial.layer, trial.layer_idx, 1, split, &trial.options).err()
        };
        let Some(mut fault) = JUST_ABOVE.into_iter().find_map(made) else {
            return format!(
                "teeth that reach {} mm past their base line make its pieces too large for the room",
                number::short(self.figure(Setting::Depth))
            );
        };
        match &mut fault {
            SeamFault::TooNear { limit, .. } => *limit = self.figure(Setting::KeepClear),
            SeamFault::ThinWeb { limit, .. } => *limit = self.figure(Setting::MinWeb),
            SeamFault::PieceTooSmall { limit, .. } => *limit = self.figure(Setting::MinPiece),
            _ => {}
        }
        fault.to_string()
    }
}

/// The greatest of the hundredths from `good` (where `found` holds) to below `bad` at which there is a split, and that split.
fn bisected(
    mut good: i64,
    mut bad: i64,
    mut found: LayerSplit,
    at: &dyn Fn(i64) -> Option<LayerSplit>,
) -> (f64, LayerSplit) {
    while bad - good > 1 {
        let middle = good.midpoint(bad);
        match at(middle) {
            Some(split) => (good, found) = (middle, split),
            None => bad = middle,
        }
    }
    (good as f64 / 100.0, found)
}

/// Seams across one direction: each as far on as the room lets it, and the fewest near equal shares.
fn rows(shape: &LayerShape, runs: Axis, room: f64, least: f64) -> Vec<Vec<f64>> {
    let mut out: Vec<Vec<f64>> = row(shape, runs, room, least).into_iter().collect();
    let even = (1..=MOST_SEAMS).find_map(|n| even(shape, runs, n, room, least));
    out.extend(even.filter(|e| !out.contains(e)));
    out
}

/// So many seams at the legal places nearest to equal shares; `None` where a piece is too small or too large there.
fn even(shape: &LayerShape, runs: Axis, n: usize, room: f64, least: f64) -> Option<Vec<f64>> {
    let (low, high) = shape.across(runs);
    let step = (high - low) / (n + 1) as f64;
    let at: Option<Vec<f64>> = (1..=n)
        .map(|k| nearest_legal(shape.legal(runs), low + step * k as f64))
        .collect();
    let at = at?;
    let ends: Vec<f64> = [low]
        .into_iter()
        .chain(at.iter().copied())
        .chain([high])
        .collect();
    let fits = ends.windows(2).enumerate().all(|(k, w)| {
        let back = if k > 0 { shape.reach.0 } else { 0.0 };
        let on = if k < n { shape.reach.1 } else { 0.0 };
        let own = w[1] - w[0];
        own >= least.max(0.01) - 1e-9 && own + back + on <= room + ROUNDED
    });
    fits.then_some(at)
}

/// Seams across one direction, each as far on as the room lets it; `None` where some stretch has no legal place.
fn row(shape: &LayerShape, runs: Axis, room: f64, least: f64) -> Option<Vec<f64>> {
    let (low, high) = shape.across(runs);
    let mut at: Vec<f64> = Vec::new();
    loop {
        let last = at.last().copied();
        let start = last.map_or(low, |p| p - shape.reach.0);
        if high - start <= room + ROUNDED {
            return Some(at);
        }
        if at.len() == MOST_SEAMS {
            return None;
        }
        let wish = (start + room - shape.reach.1).min(high - least);
        let next = legal_below(shape.legal(runs), wish)?;
        if next - last.unwrap_or(low) < least.max(0.01) - 1e-9 {
            return None;
        }
        at.push(next);
    }
}

/// Rooms of the sheets of a class as a layer may lie in them, largest first; those within others are left out.
fn rooms(shape: &LayerShape, class: &Class) -> Vec<[f64; 2]> {
    let mut out: Vec<[f64; 2]> = Vec::new();
    for bin in class.bins.iter().filter(|b| b.number == 0) {
        let [straight, turned] = match (shape.grain, bin.grain) {
            (Some(own), Some(along)) => [own == along, own != along],
            _ => box_turns(shape.turns),
        };
        for w in &bin.windows {
            out.extend(straight.then_some([w.width(), w.depth()]));
            out.extend(turned.then_some([w.depth(), w.width()]));
        }
    }
    let area = |r: &[f64; 2]| r[0] * r[1];
    out.sort_by(|a, b| area(b).total_cmp(&area(a)).then(b[0].total_cmp(&a[0])));
    // What enters a room enters one that is no smaller either way.
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for r in out {
        if !kept.iter().any(|k| k[0] >= r[0] && k[1] >= r[1]) {
            kept.push(r);
        }
    }
    kept
}

/// The room of a bin's sheet within its edge margin, defects and slanted edges not looked at: no piece measures more.
pub(crate) fn outer_room(prepared: &Prepared<'_>, bin: &Bin) -> [f64; 2] {
    let margin = prepared.task.cutter.edge_margin;
    let sheet = &prepared.task.sheets[bin.sheet];
    let outline = sheet.outline.bounds();
    let length = if sheet.by_length {
        sheet.usable_length
    } else {
        outline.width()
    };
    [length - 2.0 * margin, outline.depth() - 2.0 * margin]
}

/// Whether a box may enter the room of some sheet of a class; grain may turn what `turns` does not, so either way round
/// counts as possible where a sheet has grain.
pub(crate) fn may_enter(
    prepared: &Prepared<'_>,
    class: &Class,
    [w, d]: [f64; 2],
    turns: Turns,
) -> bool {
    let turned = turns == Turns::Quarter || class.bins.iter().any(|b| b.grain.is_some());
    class.bins.iter().any(|b| {
        let r = outer_room(prepared, b);
        (w <= r[0] + ROUNDED && d <= r[1] + ROUNDED)
            || (turned && d <= r[0] + ROUNDED && w <= r[1] + ROUNDED)
    })
}

/// Why a layer that has to be split has no split, where that is sure: no seam may run straight through it either way, or no
/// sheet takes a piece of the least size.
pub(crate) fn proved(prepared: &Prepared<'_>, unit: &Unit) -> Option<String> {
    let shape = &prepared.shapes[unit.shape];
    let class = &prepared.classes[unit.class];
    let layer = &prepared.task.layers[unit.layer];
    // A piece at an odd angle measures less along a sheet than along the bed.
    let has_to = shape.splits
        && shape.turns != Turns::Any
        && layer.shape.iter().any(|r| {
            let b = r.bounds();
            !may_enter(prepared, class, [b.width(), b.depth()], shape.turns)
        });
    if !has_to {
        return None;
    }
    let options = prepared.task.seams;
    let least = options.limits.min_piece;
    if !may_enter(prepared, class, [least, least], shape.turns) {
        return Some(format!(
            "no sheet takes a piece that measures `min_piece` = {} both ways",
            number::short(least)
        ));
    }
    let barred = |runs: Axis| {
        let (low, high) = shape.across(runs);
        let (first, last) = shape.across(runs.other());
        let space = seam::legal::legal_space(layer, runs, (first, last), options);
        space.given_up.is_none()
            && space.intervals.iter().all(|i| {
                i.high + shape.reach.1 < low + least || i.low - shape.reach.0 > high - least
            })
    };
    (barred(Axis::X) && barred(Axis::Y)).then(|| {
        "no seam can run straight through it from edge to edge, along x or along y, and a seam gets a step only between lines on which it could run through".to_owned()
    })
}

/// A unit's layer with the settings of the job.
fn trial<'a>(prepared: &'a Prepared<'a>, unit: &Unit, rooms: &'a [[f64; 2]]) -> Trial<'a> {
    Trial {
        layer: prepared.task.layers[unit.layer].clone(),
        layer_idx: unit.layer,
        options: *prepared.task.seams,
        rooms,
        class: &prepared.classes[unit.class],
        task: prepared.task,
    }
}

/// Whether a split of a layer was found whose pieces the sheets take, or they take it whole.
pub(crate) fn can_be_split(prepared: &Prepared<'_>, unit: &Unit) -> bool {
    let rooms = rooms(&prepared.shapes[unit.shape], &prepared.classes[unit.class]);
    trial(prepared, unit, &rooms).split_of().is_some()
}

/// What is in the way of splitting a layer, and with which figures it could be split; `None` where it can be.
pub(crate) fn of(prepared: &Prepared<'_>, unit: &Unit, sure: Option<String>) -> Option<Obstacle> {
    let shape = &prepared.shapes[unit.shape];
    let class = &prepared.classes[unit.class];
    let layer = &prepared.task.layers[unit.layer];
    let rooms = rooms(shape, class);
    let trial = trial(prepared, unit, &rooms);
    if sure.is_none() && trial.split_of().is_some() {
        return None;
    }
    let copies = if prepared.task.copies > 1 {
        " of every copy"
    } else {
        ""
    };
    let what = format!(
        "layer `{}`{copies} measures {} × {}; the largest clear room on a sheet of {} mm is {}; {}",
        layer.name,
        number::short(shape.bounds.width()),
        number::short(shape.bounds.depth()),
        class.name,
        rooms.first().map_or_else(
            || "none".to_owned(),
            |r| format!("{} × {}", number::short(r[0]), number::short(r[1]))
        ),
        sure.unwrap_or_else(|| {
            "no legal split was found whose pieces the sheets take".to_owned()
        })
    );
    let size = [shape.bounds.width(), shape.bounds.depth()];
    Some(Obstacle {
        what,
        helps: helps(&trial),
        larger: larger_sheet(prepared, unit, size),
    })
}

/// What stands in the way at the best place, and the figures that would let it.
fn helps(trial: &Trial<'_>) -> Vec<Help> {
    let help = |settings: Vec<(Setting, f64)>, split: &LayerSplit| Help {
        obstacle: trial.obstacle(&settings, split),
        settings,
    };
    let alone: Vec<Help> = SETTINGS
        .into_iter()
        .filter_map(|s| trial.greatest(s).map(|(figure, split)| (s, figure, split)))
        .map(|(s, figure, split)| help(vec![(s, figure)], &split))
        .collect();
    if !alone.is_empty() {
        return alone;
    }
    let together = trial.together();
    together
        .into_iter()
        .map(|(changed, split)| help(changed, &split))
        .collect()
}

/// A sheet, or an edge margin, that would take a thing whole.
pub(crate) fn larger_sheet(prepared: &Prepared<'_>, unit: &Unit, size: [f64; 2]) -> String {
    let class = &prepared.classes[unit.class];
    whole_remedy(prepared, class, size, prepared.shapes[unit.shape].turns)
}

/// The sheet that would take a box, and the edge margin where that is enough.
pub(crate) fn whole_remedy(
    prepared: &Prepared<'_>,
    class: &Class,
    [w, d]: [f64; 2],
    turns: Turns,
) -> String {
    let cutter = &prepared.task.cutter;
    let up = |v: f64| number::short(((v + 2.0 * cutter.edge_margin) * 100.0 - 1e-4).ceil() / 100.0);
    let mut out = format!(
        "A sheet of at least {} × {} mm would take it whole",
        up(w),
        up(d)
    );
    let widest = prepared
        .task
        .layers
        .iter()
        .map(|l| l.cut_width)
        .chain(prepared.task.parts.iter().map(|p| p.cut_width))
        .fold(cutter.cut_width, f64::max);
    let margins = class.bins.iter().flat_map(|b| {
        let room = outer_room(prepared, b);
        let sheet = &prepared.task.sheets[b.sheet];
        let filled: f64 = sheet.region.iter().map(|r| r.area_mm2()).sum();
        let bounds = sheet.outline.bounds();
        let plain = filled >= bounds.width() * bounds.depth() - ROUNDED;
        let margin = |x: f64, y: f64| ((room[0] - x).min(room[1] - y)) / 2.0 + cutter.edge_margin;
        let turned = (turns == Turns::Quarter && b.grain.is_none()).then(|| margin(d, w));
        [plain.then(|| margin(w, d)), turned.filter(|_| plain)]
    });
    let margin = margins.flatten().fold(f64::NEG_INFINITY, f64::max);
    let margin = (margin * 100.0 + 1e-4).floor() / 100.0;
    if margin >= widest / 2.0 && margin < cutter.edge_margin {
        out += &format!(
            ", and so would `edge_margin = \"{} mm\"`",
            number::short(margin)
        );
    }
    out
}
