//! Laying items down one after the other.
//!
//! For an item on a sheet, candidates are the corners of exact contacts: its box against the sheet's margin, against boxes of
//! what lies there at exactly the spacing, against boxes of holes that are large enough, against corners of irregular
//! sheets; and, where there are other shapes than rectangles, the lattice of the sheet's raster. Candidates are tried in the
//! order of the rule; the first that is free is pushed to the left and to the front until true shapes touch. On sheets with
//! many items only the corners beside each item are tried, so that the work stays proportional to their square.
//!
//! The raster says of most places at once that they are taken. What a kind of item found taken on a sheet stays so while
//! items are only laid down, so lattices are looked through once and full sheets are asked no more: the time for many
//! copies of few kinds grows with their number. Many kinds that have no room are refused by the rectangles in their material,
//! for which a sheet's raster has no opening: nothing is refused so that a place could be found for.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::geometry::bounds::Bounds;
use crate::geometry::region::Region;
use crate::geometry::transform::Pose;
use crate::model::cutter::Turns;
use crate::model::nesting::{Layout, NearMiss, Outcome, Placed, Problem, SheetUse};
use crate::nest::cost::{cost, used};
use crate::nest::orientation::{Body, Orientation};
use crate::nest::pins::Cover;
use crate::nest::place::key;
use crate::nest::raster::{Footprint, Raster};
use crate::nest::shapes::{Shapes, grain_key};
use crate::parallel::map_in_order;

/// With more items than this only the first order and rule are tried on every order of sheets.
const MANY: usize = 80;
/// With more items than this only the first order of sheets.
const CROWD: usize = 2000;
/// Items that find no room on a sheet, one after the other, before its openings are looked for: that takes as long as some
/// of them.
const REFUSED: usize = 2;

/// Which free place of a sheet is liked best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rule {
    /// Frontmost, then leftmost.
    Front,
    /// Leftmost, then frontmost.
    Left,
}

/// The problem and its shapes.
pub(crate) struct Engine<'a> {
    pub(crate) problem: &'a Problem,
    pub(crate) shapes: &'a Shapes,
}

/// A sheet with what lies on it.
#[derive(Clone, Debug)]
pub(crate) struct Floor {
    pub(crate) sheet: SheetUse,
    pub(crate) spots: Vec<Spot>,
    /// What is taken; made when it is first asked for, and anew after something was taken off.
    pub(crate) raster: Option<Raster>,
    /// For a kind, an orientation of it and a rule the lattice place up to which all was found taken.
    pub(crate) looked: BTreeMap<(usize, usize, bool), usize>,
    filled: f64,
    /// Openings of its raster when they were last asked for; there are none since but these, or smaller ones.
    openings: Vec<usize>,
    /// Items that found no room since something was laid down; `None` where openings are those of now.
    refused: Option<usize>,
}

impl Floor {
    /// An empty sheet.
    pub(crate) fn new(sheet: SheetUse) -> Self {
        Self {
            sheet,
            spots: Vec::new(),
            raster: None,
            looked: BTreeMap::new(),
            filled: 0.0,
            openings: Vec::new(),
            refused: Some(0),
        }
    }

    /// Takes an item off; which one it was.
    pub(crate) fn take_off(&mut self, spot: usize) -> usize {
        self.raster = None;
        self.looked.clear();
        self.openings.clear();
        self.refused = Some(0);
        let spot = self.spots.remove(spot);
        self.filled -= spot.area;
        spot.item
    }

    fn put(&mut self, spot: Spot) {
        if let Some(raster) = &mut self.raster {
            raster.take(&spot.print, spot.body.shift);
        }
        self.filled += spot.area;
        self.refused = Some(0);
        self.spots.push(spot);
    }

    /// Whether an orientation is known to have no room here, nothing being nearer to it than `away`.
    fn is_too_full(&self, way: &Orientation, away: f64) -> bool {
        !self.openings.is_empty()
            && self
                .raster
                .as_ref()
                .is_some_and(|r| r.is_too_full(&self.openings, &way.print, away))
    }

    /// Notes that an item found no room. Where many do, it is worth while to know the openings that are left.
    fn note_refused(&mut self) {
        let Some(refused) = &mut self.refused else {
            return;
        };
        *refused += 1;
        if *refused >= REFUSED
            && let Some(raster) = &self.raster
        {
            self.openings = raster.openings();
            self.refused = None;
        }
    }

    /// Takes all off.
    pub(crate) fn clear(&mut self) {
        *self = Self::new(self.sheet);
    }
}

/// An item on a sheet.
#[derive(Clone, Debug)]
pub(crate) struct Spot {
    pub(crate) item: usize,
    pub(crate) pose: Pose,
    pub(crate) body: Body,
    pub(crate) print: Arc<Footprint>,
    pub(crate) holes: Vec<Bounds>,
    pub(crate) area: f64,
}

impl<'a> Engine<'a> {
    pub(crate) fn new(problem: &'a Problem, shapes: &'a Shapes) -> Self {
        Self { problem, shapes }
    }

    fn ways(&self, item: usize, stock: usize) -> &[Orientation] {
        self.shapes
            .ways
            .get(&(
                self.problem.items[item].kind,
                grain_key(self.problem.stock[stock].grain),
            ))
            .map_or(&[], Vec::as_slice)
    }

    /// What an orientation covers for certain on a sheet with pins, if it covers any square there.
    pub(crate) fn cover(&self, item: usize, stock: usize, number: usize) -> Option<&Cover> {
        let kind = self.problem.items[item].kind;
        let way = &self.ways(item, stock)[number];
        self.shapes
            .covers
            .get(&(kind, stock))
            .and_then(|covers| covers.get(number))
            .map(|cover| {
                let side = self.shapes.rasters[stock].side();
                cover.get_or_init(|| Cover::new(&way.print, way.size, side))
            })
            .filter(|cover| !cover.is_empty())
    }

    /// An item where a layout has it.
    fn spot(&self, placed: &Placed) -> Spot {
        let Placed { item, sheet, pose } = *placed;
        let known = self
            .ways(item, sheet.stock)
            .iter()
            .find(|w| w.pose.mirrored == pose.mirrored && w.pose.rotation == pose.rotation);
        if let Some(way) = known {
            return spot_of(item, way, pose);
        }
        let region = self.problem.items[item].shape.posed(pose);
        Spot {
            item,
            pose,
            holes: region.holes().iter().map(|h| h.bounds()).collect(),
            body: Body::new(&region),
            print: Arc::new(Footprint::rings_of(&region)),
            area: region.area_mm2(),
        }
    }

    /// The floors of a layout.
    pub(crate) fn floors(&self, layout: &Layout) -> Vec<Floor> {
        let mut floors: BTreeMap<SheetUse, Floor> = used(layout)
            .into_iter()
            .map(|sheet| (sheet, Floor::new(sheet)))
            .collect();
        for p in &layout.placed {
            if let Some(floor) = floors.get_mut(&p.sheet) {
                floor.put(self.spot(p));
            }
        }
        floors.into_values().collect()
    }

    /// Lays an item on a floor where the rule likes it best; whether there was room.
    pub(crate) fn lay(&self, floor: &mut Floor, item: usize, rule: Rule) -> bool {
        let stock = &self.problem.stock[floor.sheet.stock];
        if stock.class != self.problem.items[item].class {
            return false;
        }
        let ways = self.ways(item, floor.sheet.stock);
        let area = ways.first().map_or(0.0, |w| w.area);
        if floor.filled + area > self.shapes.usable[floor.sheet.stock] * (1.0 + 1e-9) + 1e-6 {
            return false;
        }
        let rule = if stock.by_length.is_some() {
            Rule::Left
        } else {
            rule
        };
        self.make_raster(floor);
        // Less what certified distances may fall short, and some more.
        let away = self.problem.spacing.min(self.problem.edge_margin) - 1e-3;
        let mut best: Option<([f64; 2], Spot)> = None;
        for (k, way) in ways.iter().enumerate() {
            if floor.is_too_full(way, away.max(0.0)) {
                continue;
            }
            let limit = best.as_ref().map(|b| b.0);
            if let Some((corner, spot)) = self.place(floor, item, (k, way), rule, limit) {
                best = Some((key(corner, way.size, rule), spot));
            }
        }
        match best {
            Some((_, spot)) => {
                floor.put(spot);
                true
            }
            None => {
                floor.note_refused();
                false
            }
        }
    }

    fn make_raster(&self, floor: &mut Floor) {
        if floor.raster.is_none() {
            let mut raster = self.shapes.rasters[floor.sheet.stock].clone();
            for spot in &floor.spots {
                raster.take(&spot.print, spot.body.shift);
            }
            floor.raster = Some(raster);
        }
    }

    /// A layout of floors.
    pub(crate) fn layout(&self, floors: &[Floor]) -> Layout {
        let mut placed: Vec<Placed> = floors
            .iter()
            .flat_map(|f| {
                f.spots.iter().map(|s| Placed {
                    item: s.item,
                    sheet: f.sheet,
                    pose: s.pose,
                })
            })
            .collect();
        placed.sort_by_key(|p| p.item);
        Layout { placed }
    }

    /// How much of the used sheets is swept by what lies on them: the lesser of its reach along x and along y times the
    /// sheet's extent across, added up. Less leaves larger clean rests.
    pub(crate) fn swept(&self, floors: &[Floor]) -> f64 {
        floors
            .iter()
            .map(|f| {
                let room = self.room(f.sheet.stock);
                let reach = f
                    .spots
                    .iter()
                    .fold(Bounds::EMPTY, |b, s| b.join(s.body.bounds));
                ((reach.max.x - room.min.x) * room.depth())
                    .min((reach.max.y - room.min.y) * room.width())
            })
            .sum()
    }

    /// Sheets of the problem, each of a kind, in an order: by cost for their area, by cost, or largest first.
    fn sheet_order(&self, by: usize) -> Vec<SheetUse> {
        let area = |s: usize| {
            self.problem.stock[s]
                .region
                .iter()
                .map(Region::area_mm2)
                .sum::<f64>()
        };
        let mut kinds: Vec<(f64, usize)> = (0..self.problem.stock.len())
            .map(|s| {
                let stock = &self.problem.stock[s];
                let key = match by {
                    0 => stock.cost / area(s),
                    1 => stock.cost,
                    _ => -area(s),
                };
                (key, s)
            })
            .collect();
        kinds.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        kinds
            .into_iter()
            .flat_map(|(_, stock)| {
                (0..self.problem.stock[stock]
                    .quantity
                    .min(self.problem.items.len()))
                    .map(move |number| SheetUse { stock, number })
            })
            .collect()
    }

    /// Lays items down in an order, on floors that are in use first, then on new sheets in their order; what found no place.
    fn lay_all(
        &self,
        items: &[usize],
        sheets: &[SheetUse],
        rule: Rule,
    ) -> (Vec<Floor>, Vec<usize>) {
        let mut floors: Vec<Floor> = Vec::new();
        let mut left = Vec::new();
        // What a kind of item found no room on stays full for it: nothing is taken off here.
        let mut full: BTreeMap<(usize, SheetUse), usize> = BTreeMap::new();
        for &item in items {
            let kind = self.problem.items[item].kind;
            let mut done = false;
            for floor in &mut floors {
                if full.contains_key(&(kind, floor.sheet)) {
                    continue;
                }
                done = self.lay(floor, item, rule);
                if done {
                    break;
                }
                full.insert((kind, floor.sheet), 0);
            }
            if !done {
                done = self.open(&mut floors, item, sheets, rule);
            }
            if !done {
                left.push(item);
            }
        }
        (floors, left)
    }

    fn open(&self, floors: &mut Vec<Floor>, item: usize, sheets: &[SheetUse], rule: Rule) -> bool {
        if self.problem.items[item].fill {
            return false;
        }
        let mut tried: Option<usize> = None;
        for &sheet in sheets {
            if tried == Some(sheet.stock) || floors.iter().any(|f| f.sheet == sheet) {
                continue;
            }
            tried = Some(sheet.stock);
            let mut floor = Floor::new(sheet);
            if self.lay(&mut floor, item, rule) {
                floors.push(floor);
                return true;
            }
        }
        false
    }
}

/// An orientation in its place.
pub(crate) fn spot_of(item: usize, way: &Orientation, pose: Pose) -> Spot {
    let shift = pose.shift - way.pose.shift;
    Spot {
        item,
        pose,
        body: way.body.shifted(shift),
        print: way.print.clone(),
        holes: way.holes.iter().map(|h| h.moved(shift)).collect(),
        area: way.area,
    }
}

/// Items in an order, those that must be placed first: by area, by longer side, by both sides added.
fn item_order(problem: &Problem, by: usize) -> Vec<usize> {
    let key = |k: &usize| {
        let b = problem.items[*k].shape.bounds();
        match by {
            0 => problem.items[*k].shape.area_mm2(),
            1 => b.width().max(b.depth()),
            _ => b.width() + b.depth(),
        }
    };
    let mut order: Vec<usize> = (0..problem.items.len()).collect();
    order.sort_by(|a, b| {
        problem.items[*a]
            .fill
            .cmp(&problem.items[*b].fill)
            .then(key(b).total_cmp(&key(a)))
            .then(a.cmp(b))
    });
    order
}

/// Floors that were laid, and what it came to: items that must be placed and are not, cost, area swept.
struct Laid {
    missing: usize,
    cost: f64,
    swept: f64,
    floors: Vec<Floor>,
    left: Vec<usize>,
}

impl Laid {
    fn new(engine: &Engine<'_>, items: &[usize], sheets: usize, rule: Rule) -> Self {
        let problem = engine.problem;
        let (floors, left) = engine.lay_all(items, &engine.sheet_order(sheets), rule);
        Self {
            missing: left.iter().filter(|k| !problem.items[**k].fill).count(),
            cost: cost(problem, &engine.layout(&floors)),
            swept: engine.swept(&floors),
            floors,
            left,
        }
    }

    fn is_better(&self, other: &Self) -> bool {
        if self.missing != other.missing {
            return self.missing < other.missing;
        }
        if (self.cost - other.cost).abs() > 1e-9 {
            return self.cost < other.cost;
        }
        self.swept < other.swept - 1e-6
    }
}

/// The best of several orders of items and sheets and both rules. Where something finds no place, it is laid down earlier, up to
/// `patience` times; where any turn is allowed, seldom so, then twice as often with more turns.
pub fn construct_best(problem: &Problem, patience: usize) -> Outcome {
    let shapes = Shapes::new(problem);
    let engine = Engine::new(problem, &shapes);
    let n = problem.items.len();
    let orders = if n > MANY { 1 } else { 3 };
    let mut tries = Vec::new();
    let mut known: Vec<Vec<SheetUse>> = Vec::new();
    for sheets in 0..if n > CROWD { 1 } else { 3 } {
        // Where all sheets cost the same, two orders are one.
        let order = engine.sheet_order(sheets);
        if known.contains(&order) {
            continue;
        }
        known.push(order);
        for by in 0..orders {
            for rule in [Rule::Front, Rule::Left].into_iter().take(orders.min(2)) {
                tries.push((sheets, by, rule));
            }
        }
    }
    let laid = map_in_order(tries.clone(), |(sheets, by, rule)| {
        Laid::new(&engine, &item_order(problem, by), sheets, rule)
    });
    let Some((first, mut best)) = laid.into_iter().enumerate().reduce(|best, next| {
        if next.1.is_better(&best.1) {
            next
        } else {
            best
        }
    }) else {
        return Outcome::Placed(Layout::default());
    };
    let (sheets, by, rule) = tries[first];
    // Large items that may lie at any turn find places between defects that the turns of their long edges do not lead to.
    let smallest = best
        .left
        .iter()
        .map(|k| &problem.items[*k])
        .filter(|i| !i.fill && i.turns == Turns::Any)
        .map(|i| i.shape.area_mm2())
        .fold(f64::INFINITY, f64::min);
    let may_turn = patience > 0 && smallest.is_finite();
    let first = if may_turn { patience / 4 } else { patience };
    best = insist(&engine, best, by, &vec![(sheets, rule); first]);
    if may_turn && best.missing > 0 {
        let shapes = Shapes::with(problem, smallest - 1e-6);
        let ways: Vec<(usize, Rule)> = (0..2 * patience)
            .map(|k| ((sheets + k) % 3, [Rule::Front, Rule::Left][k / 3 % 2]))
            .collect();
        best = insist(&Engine::new(problem, &shapes), best, by, &ways);
    }
    if best.missing == 0 {
        return Outcome::Placed(engine.layout(&best.floors));
    }
    let unplaced = best
        .left
        .into_iter()
        .filter(|k| !problem.items[*k].fill)
        .collect();
    Outcome::NearMiss(NearMiss {
        partial: engine.layout(&best.floors),
        unplaced,
        conflicts: Vec::new(),
    })
}

/// Lays what found no place down earlier, once for every order of sheets and rule that is given.
fn insist(engine: &Engine<'_>, mut best: Laid, by: usize, ways: &[(usize, Rule)]) -> Laid {
    let mut order = item_order(engine.problem, by);
    let mut left = best.left.clone();
    for &(sheets, rule) in ways {
        if best.missing == 0 {
            break;
        }
        bring_forward(engine.problem, &mut order, &left);
        let laid = Laid::new(engine, &order, sheets, rule);
        left.clone_from(&laid.left);
        if laid.is_better(&best) {
            best = laid;
        }
    }
    best
}

/// Items that found no place move half way to the front of the order.
fn bring_forward(problem: &Problem, order: &mut Vec<usize>, left: &[usize]) {
    for &item in left.iter().filter(|k| !problem.items[**k].fill) {
        if let Some(at) = order.iter().position(|k| *k == item) {
            order.remove(at);
            order.insert(at / 2, item);
        }
    }
}
