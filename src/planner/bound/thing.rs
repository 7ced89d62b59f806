//! What stays whole, as a bound sees it: its area, its box, its chords, and the sheets that it may enter.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Curve;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::{angle, offset, tolerance};
use crate::model::cutter::{Axis, Turns};
use crate::nest::grown_area;
use crate::planner::bound::areas::Way;
use crate::planner::bound::chords::Chords;
use crate::planner::bound::inscribed::inscribed;
use crate::planner::bound::supply::Supply;
use crate::planner::prepared::{Class, Prepared, box_turns};
use crate::stock;

/// Rounding of extents, in mm: what a certificate forgives on both sides, and more.
pub(super) const ROUNDED: f64 = 1e-5;
/// The same where a length is paid for by the mm: just what a certificate forgives on both sides.
pub(super) const FORGIVEN: f64 = 2e-6;
/// Clear boxes of a sheet, at the most, for which they are taken to be all: fewer than are kept.
const ALL_BOXES: usize = 150;
/// Directions in which a shape that may lie at any angle is measured.
const DIRECTIONS: usize = 180;
/// Angles at which the chords of such a shape are taken, and for how many shapes so many.
const ANGLES: [(usize, usize); 3] = [(2, 360), (5, 120), (12, 60)];
/// Chord error of outlines whose chords are taken, as drawn and at many angles; they are grown by as much less.
const FLAT: [f64; 2] = [tolerance::FLAT_PICTURE, 0.05];
/// What a shape that is grown may lie off, above `FLAT_BOOLEAN`.
const GROWN: f64 = 0.001;
/// Things of which chords are taken, at the most: the largest.
const MOST_CHORDS: usize = 200;
/// Angle and length to which the least extent of a shape is looked for.
const FINEST: (f64, f64) = (1e-6, 0.01);

/// A way to lie: its chords along the sheet's y, grown by half the spacing, and extents that it has at the least.
#[derive(Clone, Debug)]
pub(super) struct Lying {
    pub(super) chords: Chords,
    pub(super) size: [f64; 2],
}

/// A part, or a layer that stays whole.
#[derive(Clone, Debug)]
pub(super) struct Thing {
    pub(super) name: String,
    pub(super) is_layer: bool,
    pub(super) count: usize,
    /// The shape; [`close_holes`] closes holes that nothing enters.
    shape: Region,
    /// Area of one, grown by half the spacing, and as it is.
    area_mm2: [f64; 2],
    /// The same without the holes that nothing enters.
    closed_mm2: [f64; 2],
    /// Extents of a rectangle along the axes within it, where it may lie by quarter turns only.
    pub(super) rectangle: Option<[f64; 2]>,
    /// By kind of sheet: whether it may lie as drawn, and turned by a quarter.
    pub(super) ways: Vec<[bool; 2]>,
    /// By kind of sheet: whether it may enter it.
    pub(super) enters: Vec<bool>,
    /// By kind of sheet: whether it may lie at any angle.
    pub(super) free: Vec<bool>,
    /// As drawn and turned by a quarter; empty where chords are not known.
    square: Vec<Lying>,
    /// At each of many angles, as what holds for all angles up to half way to the next ones.
    angles: Vec<Lying>,
    /// The outline, for extents at any angle.
    points: Vec<Point>,
    size: [f64; 2],
    /// It is no narrower in any way to lie.
    narrowest: f64,
}

impl Thing {
    /// Area of all of them, grown by half the spacing.
    pub(super) fn need(&self) -> f64 {
        self.area(Way {
            grown: true,
            closed: false,
        })
    }

    /// Area of all of them.
    pub(super) fn area(&self, way: Way) -> f64 {
        let of = if way.closed {
            self.closed_mm2
        } else {
            self.area_mm2
        };
        self.count as f64 * of[usize::from(!way.grown)]
    }

    /// The longer side of its box.
    pub(super) fn extent(&self) -> f64 {
        self.size[0].max(self.size[1])
    }

    /// The ways in which it may lie on a kind of sheet; seen with the sheet's x and y exchanged where `crossed`. Empty where
    /// they are not known.
    pub(super) fn lying(&self, k: usize, crossed: bool) -> impl Iterator<Item = &Lying> {
        let square = if self.free[k] {
            &[]
        } else {
            self.square.as_slice()
        };
        let angles = if self.free[k] {
            self.angles.as_slice()
        } else {
            &[]
        };
        let may = move |at: usize| self.ways[k][if crossed { 1 - at } else { at }];
        square
            .iter()
            .enumerate()
            .filter(move |(at, _)| may(*at))
            .map(|(_, l)| l)
            .chain(angles)
    }

    /// The least extent along x with which it may lie on a kind of sheet whose room is so deep; `None` where there is none.
    pub(super) fn least_extent(&self, k: usize, depth: f64) -> Option<f64> {
        if self.free[k] {
            return least_width(&self.points, depth);
        }
        let [w, d] = self.size;
        [(w, d), (d, w)]
            .into_iter()
            .zip(self.ways[k])
            .filter(|((_, across), may)| *may && *across <= depth + ROUNDED)
            .map(|((along, _), _)| along)
            .reduce(f64::min)
    }

    /// Takes its chords.
    fn take_chords(&mut self, half: f64, angles: usize) {
        let region = &self.shape;
        if self.free.contains(&false)
            && let Some(rings) = grown_rings(region, half, FLAT[0])
        {
            let [w, d] = self.size;
            self.square = [(rings.clone(), [w, d]), (turned(&rings, 0.0, 1.0), [d, w])]
                .into_iter()
                .map(|(rings, size)| Lying {
                    chords: Chords::new(&rings),
                    size,
                })
                .collect();
        }
        if angles == 0 || !self.free.contains(&true) {
            return;
        }
        let step = std::f64::consts::PI / angles as f64;
        let middle = region.bounds().center();
        let radius = self
            .points
            .iter()
            .map(|p| p.distance(middle))
            .fold(0.0, f64::max);
        // Up to half a step more or less no point moves farther than this.
        let moved = (radius + tolerance::FLAT_PLAN) * step / 2.0;
        let Some(rings) = grown_rings(region, half - moved, FLAT[1]) else {
            return;
        };
        self.angles = (0..angles)
            .map(|k| {
                let (sin, cos) = angle::sin_cos(step * k as f64);
                let least = |v: f64| (v - 2.0 * moved).max(0.0);
                Lying {
                    chords: Chords::new(&turned(&rings, cos, sin)),
                    size: extents(&self.points, cos, sin).map(least),
                }
            })
            .collect();
    }
}

fn turned(rings: &[Vec<Point>], cos: f64, sin: f64) -> Vec<Vec<Point>> {
    let turn = |p: &Point| Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y);
    rings
        .iter()
        .map(|ring| ring.iter().map(turn).collect())
        .collect()
}

/// Extents along x and y of points that are turned.
fn extents(points: &[Point], cos: f64, sin: f64) -> [f64; 2] {
    let b = Bounds::of_points(
        points
            .iter()
            .map(|p| Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y)),
    );
    [b.width(), b.depth()]
}

/// Polygons within a region grown by `by`: chords cut corners off what bulges and bulge into what is hollow, so it is grown by
/// as much less. `None` where that cannot be had.
fn grown_rings(region: &Region, by: f64, flat: f64) -> Option<Vec<Vec<Point>>> {
    let lines = region.edges().all(|e| e.curve == Curve::Line);
    let by = if lines && by == 0.0 {
        0.0
    } else {
        by - flat - GROWN
    };
    let grown = offset::offset(std::slice::from_ref(region), by).ok()?;
    Some(
        grown
            .iter()
            .flat_map(Region::rings)
            .map(|ring| ring.flatten(flat))
            .collect(),
    )
}

/// The least extent along x of points that are turned so that they measure no more than `depth` along y.
fn least_width(points: &[Point], depth: f64) -> Option<f64> {
    let reach = points.iter().map(|p| p.distance(points[0]));
    let greatest = 2.0 * reach.fold(0.0, f64::max);
    let half = std::f64::consts::PI / (2 * DIRECTIONS) as f64;
    // Pairs of a middle and half the span; an extent changes by no more than the greatest one times the angle.
    let mut spans: Vec<(f64, f64)> = (0..DIRECTIONS)
        .map(|k| (half * (2 * k) as f64, half))
        .collect();
    // What is found is no less than this: where no less is left to find it stands.
    let mut best: Option<f64> = None;
    while let Some((middle, half)) = spans.pop() {
        let (sin, cos) = angle::sin_cos(middle);
        let [w, d] = extents(points, cos, sin);
        let (least, across) = (w - greatest * half, d - greatest * half);
        let fits = d <= depth + ROUNDED;
        if across > depth + ROUNDED || best.is_some_and(|b| least >= b) {
            continue;
        }
        if half < FINEST.0 {
            best = Some(best.map_or(least, |b: f64| b.min(least)));
            continue;
        }
        if fits && best.is_none_or(|b| w - FINEST.1 < b) {
            best = Some(w - FINEST.1);
        }
        spans.extend([
            (middle - half / 2.0, half / 2.0),
            (middle + half / 2.0, half / 2.0),
        ]);
    }
    best
}

/// Parts that must be cut and layers that stay whole in one region.
pub(super) fn of_class(
    prepared: &Prepared<'_>,
    k: usize,
    class: &Class,
    supplies: &[Supply<'_>],
) -> Vec<Thing> {
    let mut out: Vec<Thing> = Vec::new();
    for &u in &class.units {
        let unit = &prepared.units[u];
        let layer = &prepared.task.layers[unit.layer];
        if let [one] = layer.shape.as_slice()
            && !prepared.shapes[unit.shape].splits
        {
            let told = (layer.name.clone(), true, 1);
            out.push(thing(
                prepared,
                supplies,
                told,
                one,
                (layer.turns, layer.grain),
            ));
        }
    }
    for part in prepared.task.parts {
        if !part.fill && part.quantity > 0 && prepared.class_of(&part.material, part.thickness) == k
        {
            let told = (part.name.clone(), false, part.quantity);
            out.push(thing(
                prepared,
                supplies,
                told,
                &part.region,
                (part.turns, part.grain),
            ));
        }
    }
    out
}

/// The least width of anything that is cut from a class: of a thing, or of a piece that seams make.
pub(super) fn least_entrant(prepared: &Prepared<'_>, class: &Class, things: &[Thing]) -> f64 {
    let limits = &prepared.task.seams.limits;
    let pieces = class.units.iter().flat_map(|&u| {
        let unit = &prepared.units[u];
        let layer = &prepared.task.layers[unit.layer];
        let teeth = prepared.shapes[unit.shape].reach;
        // A gap draws a face in by half of it, a tip of 14.5° or more by twice it, a tooth by no more than its depth besides.
        let lost = if limits.gap > 0.0 {
            4.0 * limits.gap + teeth.0 + teeth.1
        } else {
            0.0
        };
        layer.shape.iter().map(move |region| {
            let b = region.bounds();
            let own = b.width().min(b.depth());
            match layer.turns {
                // A slanting piece may be as narrow as any.
                Turns::Any => 0.0,
                _ if layer.pattern.is_some() => own.min(limits.min_piece - lost),
                _ => own,
            }
        })
    });
    pieces
        .chain(things.iter().map(|t| t.narrowest))
        .fold(f64::INFINITY, f64::min)
        - ROUNDED
}

/// Closes the holes of things into which nothing of the class goes: narrower one way than anything is and the spacing at both
/// sides.
pub(super) fn close_holes(prepared: &Prepared<'_>, class: &Class, things: &mut [Thing]) {
    if things.iter().all(|t| t.shape.holes().is_empty()) {
        return;
    }
    let spacing = prepared.task.cutter.spacing;
    let least = least_entrant(prepared, class, things) + 2.0 * spacing;
    for thing in things.iter_mut() {
        let is_open = |ring: &&Ring| {
            let b = ring.bounds();
            b.width().min(b.depth()) >= least
        };
        let open: Vec<Ring> = thing
            .shape
            .holes()
            .iter()
            .filter(is_open)
            .cloned()
            .collect();
        if open.len() < thing.shape.holes().len() {
            thing.shape = Region::new(thing.shape.outer().clone(), open);
            thing.closed_mm2 = areas_of(&thing.shape, spacing);
        }
    }
}

/// Takes the chords of the largest things, and rectangles within them.
pub(super) fn take_chords(things: &mut [Thing], half: f64) {
    let mut order: Vec<usize> = (0..things.len()).collect();
    order.sort_by(|&a, &b| {
        things[b]
            .need()
            .total_cmp(&things[a].need())
            .then(a.cmp(&b))
    });
    let n_free = things.iter().filter(|t| t.free.contains(&true)).count();
    let angles = ANGLES
        .iter()
        .find(|(most, _)| n_free <= *most)
        .map_or(0, |(_, angles)| *angles);
    for at in order.into_iter().take(MOST_CHORDS) {
        things[at].take_chords(half, angles);
        if things[at].rectangle.is_none() && !things[at].free.contains(&true) {
            things[at].rectangle = inscribed(&things[at].shape).map(|b| [b.width(), b.depth()]);
        }
    }
}

/// Area grown by half the spacing, and as it is.
fn areas_of(region: &Region, spacing: f64) -> [f64; 2] {
    [
        grown_area(std::slice::from_ref(region), spacing / 2.0),
        region.area_mm2(),
    ]
}

fn thing(
    prepared: &Prepared<'_>,
    supplies: &[Supply<'_>],
    (name, is_layer, count): (String, bool, usize),
    region: &Region,
    (turns, grain): (Turns, Option<Axis>),
) -> Thing {
    let task = &prepared.task;
    let b = region.bounds();
    let size = [b.width(), b.depth()];
    let is_box = region.holes().is_empty() && (size[0] * size[1] - region.area_mm2()).abs() < 1e-6;
    let ways: Vec<[bool; 2]> = supplies
        .iter()
        .map(|s| match (grain, task.sheets[s.sheet].grain) {
            (Some(own), Some(along)) => [own == along, own != along],
            _ => box_turns(turns),
        })
        .collect();
    let free = |s: &Supply<'_>| {
        turns == Turns::Any && (grain.is_none() || task.sheets[s.sheet].grain.is_none())
    };
    let points = region.outer().flatten(tolerance::FLAT_PLAN);
    let widths = if turns == Turns::Any {
        widths(&points)
    } else {
        size
    };
    let enters = supplies
        .iter()
        .zip(&ways)
        .map(|(s, ways)| {
            if free(s) {
                may_enter_turned(widths, s.room)
            } else {
                fits(size, *ways, s.room) && (!is_box || in_clear_box(prepared, s, size, *ways))
            }
        })
        .collect();
    let free: Vec<bool> = supplies.iter().map(free).collect();
    let area_mm2 = areas_of(region, task.cutter.spacing);
    Thing {
        name,
        is_layer,
        count,
        shape: region.clone(),
        area_mm2,
        closed_mm2: area_mm2,
        rectangle: (is_box && !free.contains(&true)).then_some(size),
        ways,
        enters,
        free,
        square: Vec::new(),
        angles: Vec::new(),
        narrowest: if turns == Turns::Any {
            widths[0]
        } else {
            size[0].min(size[1])
        },
        points,
        size,
    }
}

fn fits(size: [f64; 2], ways: [bool; 2], room: [f64; 2]) -> bool {
    let [w, d] = size;
    let within = |w: f64, d: f64| w <= room[0] + ROUNDED && d <= room[1] + ROUNDED;
    (ways[0] && within(w, d)) || (ways[1] && within(d, w))
}

/// Whether a rectangle lies in some clear box of a sheet whose edges all run along the axes, where these boxes are exact; true for
/// other sheets.
fn in_clear_box(
    prepared: &Prepared<'_>,
    supply: &Supply<'_>,
    size: [f64; 2],
    ways: [bool; 2],
) -> bool {
    let sheet = &prepared.task.sheets[supply.sheet];
    let square = sheet.region.iter().flat_map(Region::edges).all(|e| {
        let b = e.bounds();
        e.curve == Curve::Line && (b.width() == 0.0 || b.depth() == 0.0)
    });
    // Round corners of the margin around defects leave more than boxes say.
    if !square
        || (sheet.region.iter().any(|r| r.edges().count() != 4)
            && prepared.task.cutter.edge_margin > 0.0)
    {
        return true;
    }
    let boxes = stock::windows(sheet, prepared.task.cutter.edge_margin).boxes;
    let extent = |b: &Bounds| [b.width(), b.depth()];
    boxes.len() >= ALL_BOXES || boxes.iter().any(|b| fits(size, ways, extent(b)))
}

/// The least width of a shape that may lie at any angle, or less, and the greatest.
fn widths(points: &[Point]) -> [f64; 2] {
    let step = std::f64::consts::PI / DIRECTIONS as f64;
    let widths = (0..DIRECTIONS).map(|k| {
        let (sin, cos) = angle::sin_cos(step * k as f64);
        extents(points, cos, sin)[0]
    });
    let (least, greatest) = widths.fold((f64::INFINITY, 0.0_f64), |(least, greatest), w| {
        (least.min(w), greatest.max(w))
    });
    // Between two directions a width changes by no more than the greatest extent times their angle.
    [least - greatest * step, greatest]
}

/// Whether a shape of such widths may enter a box: both must.
fn may_enter_turned([least, greatest]: [f64; 2], room: [f64; 2]) -> bool {
    let diagonal = (room[0] * room[0] + room[1] * room[1]).sqrt();
    least <= room[0].min(room[1]) + ROUNDED && greatest <= diagonal + ROUNDED
}
