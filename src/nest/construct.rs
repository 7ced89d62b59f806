//! Laying items down one after the other.
//!
//! For an item on a sheet, candidates are the corners of exact contacts: its box against the sheet's margin, against boxes of
//! what lies there at exactly the spacing, against boxes of holes that are large enough, against corners of irregular
//! sheets. Candidates are tried in the order of the rule; the first that is free is pushed to the left and to the front
//! until true shapes touch. On sheets with many items only the corners beside each item are tried, so that the work stays
//! proportional to their square.

use std::collections::BTreeMap;

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::transform::Pose;
use crate::model::cutter::Axis;
use crate::model::nesting::{Layout, NearMiss, Outcome, Placed, Problem, SheetUse};
use crate::nest::collision::{apart, inside};
use crate::nest::cost::{cost, used};
use crate::nest::orientation::{Body, Orientation, orientations};

/// With more items than this on a sheet, contacts are no longer combined crosswise.
const CROSSWISE: usize = 20;
/// With more items than this only the first order and rule are tried on every order of sheets.
const MANY: usize = 80;
/// Corners of irregular sheets that give contacts, at the most.
const CORNERS: usize = 48;
/// Halvings of a push: from a metre down to a micrometre.
const HALVINGS: usize = 20;

/// Which free place of a sheet is liked best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rule {
    /// Frontmost, then leftmost.
    Front,
    /// Leftmost, then frontmost.
    Left,
}

/// The problem with all orientations and sheets ready for tests.
pub(crate) struct Engine<'a> {
    pub(crate) problem: &'a Problem,
    ways: BTreeMap<(usize, Option<u8>), Vec<Orientation>>,
    sheets: Vec<Vec<Body>>,
    corners: Vec<Vec<Point>>,
}

/// A sheet with what lies on it.
#[derive(Clone, Debug)]
pub(crate) struct Floor {
    pub(crate) sheet: SheetUse,
    pub(crate) spots: Vec<Spot>,
}

/// An item on a sheet.
#[derive(Clone, Debug)]
pub(crate) struct Spot {
    pub(crate) item: usize,
    pub(crate) pose: Pose,
    body: Body,
    holes: Vec<Bounds>,
}

fn grain_key(along: Option<Axis>) -> Option<u8> {
    along.map(|a| a as u8)
}

impl<'a> Engine<'a> {
    pub(crate) fn new(problem: &'a Problem) -> Self {
        let mut ways = BTreeMap::new();
        for item in &problem.items {
            for stock in problem.stock.iter().filter(|s| s.class == item.class) {
                ways.entry((item.kind, grain_key(stock.grain)))
                    .or_insert_with(|| orientations(item, stock.grain, problem.flip));
            }
        }
        let sheets = problem
            .stock
            .iter()
            .map(|s| s.region.iter().map(Body::new).collect())
            .collect();
        let corners = problem
            .stock
            .iter()
            .map(|s| irregular_corners(&s.region))
            .collect();
        Self {
            problem,
            ways,
            sheets,
            corners,
        }
    }

    fn ways(&self, item: usize, stock: usize) -> &[Orientation] {
        self.ways
            .get(&(
                self.problem.items[item].kind,
                grain_key(self.problem.stock[stock].grain),
            ))
            .map_or(&[], Vec::as_slice)
    }

    /// An item where a layout has it.
    pub(crate) fn spot(&self, item: usize, pose: Pose) -> Spot {
        let region = self.problem.items[item].shape.posed(pose);
        Spot {
            item,
            pose,
            holes: region.holes().iter().map(|h| h.bounds()).collect(),
            body: Body::new(&region),
        }
    }

    /// The floors of a layout.
    pub(crate) fn floors(&self, layout: &Layout) -> Vec<Floor> {
        let mut floors: Vec<Floor> = used(layout)
            .into_iter()
            .map(|sheet| Floor {
                sheet,
                spots: Vec::new(),
            })
            .collect();
        for p in &layout.placed {
            if let Some(floor) = floors.iter_mut().find(|f| f.sheet == p.sheet) {
                floor.spots.push(self.spot(p.item, p.pose));
            }
        }
        floors
    }

    /// Lays an item on a floor where the rule likes it best; whether there was room.
    pub(crate) fn lay(&self, floor: &mut Floor, item: usize, rule: Rule) -> bool {
        let stock = &self.problem.stock[floor.sheet.stock];
        if stock.class != self.problem.items[item].class {
            return false;
        }
        let rule = if stock.by_length.is_some() {
            Rule::Left
        } else {
            rule
        };
        let mut best: Option<([f64; 2], Spot)> = None;
        for way in self.ways(item, floor.sheet.stock) {
            let limit = best.as_ref().map(|b| b.0);
            if let Some((corner, spot)) = self.place(floor, item, way, rule, limit) {
                best = Some((key(corner, way.size, rule), spot));
            }
        }
        best.map(|(_, spot)| floor.spots.push(spot)).is_some()
    }

    /// The best free place of one orientation, better than `limit`.
    fn place(
        &self,
        floor: &Floor,
        item: usize,
        way: &Orientation,
        rule: Rule,
        limit: Option<[f64; 2]>,
    ) -> Option<(Point, Spot)> {
        let room = self.room(floor.sheet.stock);
        if way.size.x > room.width() + 1e-6 || way.size.y > room.depth() + 1e-6 {
            return None;
        }
        let mut corners = self.candidates(floor, way.size, room);
        corners.retain(|c| limit.is_none_or(|l| less(&key(*c, way.size, rule), &l)));
        corners.sort_by(|a, b| {
            let (a, b) = (key(*a, way.size, rule), key(*b, way.size, rule));
            a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
        });
        corners.dedup_by(|a, b| a.distance(*b) < 1e-7);
        let free = corners
            .into_iter()
            .find_map(|c| self.body_at(floor, way, c).map(|_| c))?;
        let corner = self.push(floor, way, free, room, rule);
        let pose = way.at(corner);
        let shift = pose.shift - way.pose.shift;
        let holes = way.holes.iter().map(|h| h.moved(shift)).collect();
        Some((
            corner,
            Spot {
                item,
                pose,
                body: way.body.shifted(shift),
                holes,
            },
        ))
    }

    /// Where the box of an item may lie: the sheet's box less the margin, as far as the cutter takes it.
    fn room(&self, stock: usize) -> Bounds {
        let bounds = self.sheets[stock]
            .iter()
            .fold(Bounds::EMPTY, |b, s| b.join(s.bounds));
        let s = &self.problem.stock[stock];
        let end = if s.by_length.is_some() {
            bounds.max.x.min(bounds.min.x + s.usable_length)
        } else {
            bounds.max.x
        };
        Bounds::new(bounds.min, Point::new(end, bounds.max.y)).grown(-self.problem.edge_margin)
    }

    fn candidates(&self, floor: &Floor, size: Point, room: Bounds) -> Vec<Point> {
        let (s, m) = (self.problem.spacing, self.problem.edge_margin);
        let mut out = vec![room.min];
        let fits = |p: &Point| {
            p.x >= room.min.x - 1e-7
                && p.y >= room.min.y - 1e-7
                && p.x + size.x <= room.max.x + 1e-6
                && p.y + size.y <= room.max.y + 1e-6
        };
        if floor.spots.len() > CROSSWISE {
            for b in floor.spots.iter().map(|f| f.body.bounds) {
                let (right, back) = (b.max.x + s, b.max.y + s);
                out.extend([
                    Point::new(right, b.min.y),
                    Point::new(b.min.x, back),
                    Point::new(right, room.min.y),
                    Point::new(room.min.x, back),
                    Point::new(right, back),
                ]);
            }
            out.retain(fits);
            return out;
        }
        let (mut xs, mut ys) = (
            vec![room.min.x, room.max.x - size.x],
            vec![room.min.y, room.max.y - size.y],
        );
        for b in floor.spots.iter().map(|f| f.body.bounds) {
            xs.extend([b.max.x + s, b.min.x - s - size.x, b.min.x, b.max.x - size.x]);
            ys.extend([b.max.y + s, b.min.y - s - size.y, b.min.y, b.max.y - size.y]);
        }
        for c in &self.corners[floor.sheet.stock] {
            xs.extend([c.x + m, c.x - m - size.x]);
            ys.extend([c.y + m, c.y - m - size.y]);
        }
        for hole in floor
            .spots
            .iter()
            .flat_map(|f| &f.holes)
            .filter(|h| h.width() >= size.x + 2.0 * s && h.depth() >= size.y + 2.0 * s)
        {
            let h = hole.grown(-s);
            out.extend([
                h.min,
                Point::new(h.max.x - size.x, h.min.y),
                Point::new(h.center().x - size.x / 2.0, h.center().y - size.y / 2.0),
            ]);
        }
        for list in [&mut xs, &mut ys] {
            list.sort_by(f64::total_cmp);
            list.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
        }
        out.extend(
            xs.iter()
                .flat_map(|&x| ys.iter().map(move |&y| Point::new(x, y))),
        );
        out.retain(fits);
        out
    }

    /// The body of an orientation at a corner, where it is free.
    fn body_at(&self, floor: &Floor, way: &Orientation, corner: Point) -> Option<Body> {
        let (s, m) = (self.problem.spacing, self.problem.edge_margin);
        let pose = way.at(corner);
        let bounds = Bounds::new(corner, corner + way.size);
        // Boxes that lie in one another's middle: true shapes that avoid each other so are left to the push.
        if floor.spots.iter().any(|f| {
            f.holes.is_empty()
                && f.body.bounds.grown(-1e-6).holds(bounds.center())
                && bounds.holds_box(f.body.bounds)
        }) {
            return None;
        }
        let body = way.body.shifted(pose.shift - way.pose.shift);
        let sheets = &self.sheets[floor.sheet.stock];
        (sheets.iter().any(|sheet| inside(&body, sheet, m))
            && floor.spots.iter().all(|f| apart(&body, &f.body, s)))
        .then_some(body)
    }

    /// Pushes a free item to the left and to the front, in turn, as far as halved steps find it free.
    fn push(
        &self,
        floor: &Floor,
        way: &Orientation,
        from: Point,
        room: Bounds,
        rule: Rule,
    ) -> Point {
        let mut at = from;
        let ways = if rule == Rule::Front {
            [Point::new(0.0, -1.0), Point::new(-1.0, 0.0)]
        } else {
            [Point::new(-1.0, 0.0), Point::new(0.0, -1.0)]
        };
        for _ in 0..2 {
            let before = at;
            for toward in ways {
                let most = if toward.x < 0.0 {
                    at.x - room.min.x
                } else {
                    at.y - room.min.y
                };
                // A hundredth that is not free means contact: most pushes end here.
                if most < 0.01 || self.body_at(floor, way, at + toward * 0.01).is_none() {
                    continue;
                }
                let (mut free, mut step) = (0.01, most);
                for _ in 0..HALVINGS {
                    if free + step <= most + 1e-9
                        && self
                            .body_at(floor, way, at + toward * (free + step).min(most))
                            .is_some()
                    {
                        free = (free + step).min(most);
                    }
                    step *= 0.5;
                }
                at = at + toward * free;
            }
            if at.distance(before) < 1e-6 {
                break;
            }
        }
        at
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
                .map(crate::geometry::region::Region::area_mm2)
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
            let mut floor = Floor {
                sheet,
                spots: Vec::new(),
            };
            if self.lay(&mut floor, item, rule) {
                floors.push(floor);
                return true;
            }
        }
        false
    }
}

/// Corners of sheets that are no plain rectangles.
fn irregular_corners(region: &[crate::geometry::region::Region]) -> Vec<Point> {
    let mut out: Vec<Point> = Vec::new();
    for r in region {
        let b = r.bounds();
        let plain = (b.width() * b.depth() - r.area_mm2()).abs() < 1e-6;
        if !plain {
            out.extend(r.edges().map(|e| e.start).take(CORNERS));
            out.extend(
                r.holes()
                    .iter()
                    .flat_map(|h| [h.bounds().min, h.bounds().max]),
            );
        }
    }
    out.truncate(CORNERS);
    out
}

fn key(corner: Point, size: Point, rule: Rule) -> [f64; 2] {
    match rule {
        Rule::Front => [corner.y + size.y, corner.x + size.x],
        Rule::Left => [corner.x + size.x, corner.y + size.y],
    }
}

fn less(a: &[f64; 2], b: &[f64; 2]) -> bool {
    if (a[0] - b[0]).abs() > 1e-9 {
        a[0] < b[0]
    } else {
        a[1] < b[1] - 1e-9
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

/// The best of several orders of items and sheets and both rules.
pub fn construct_best(problem: &Problem) -> Outcome {
    let engine = Engine::new(problem);
    let mut best: Option<Laid> = None;
    let orders = if problem.items.len() > MANY { 1 } else { 3 };
    for sheets in 0..3 {
        let sheets = engine.sheet_order(sheets);
        for by in 0..orders {
            let items = item_order(problem, by);
            for rule in [Rule::Front, Rule::Left].into_iter().take(orders.min(2)) {
                let (floors, left) = engine.lay_all(&items, &sheets, rule);
                let missing = left.iter().filter(|k| !problem.items[**k].fill).count();
                let laid = Laid {
                    missing,
                    cost: cost(problem, &engine.layout(&floors)),
                    swept: engine.swept(&floors),
                    floors,
                    left,
                };
                if best.as_ref().is_none_or(|b| laid.is_better(b)) {
                    best = Some(laid);
                }
            }
        }
    }
    let Some(best) = best else {
        return Outcome::Placed(Layout::default());
    };
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
