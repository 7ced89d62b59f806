//! A sheet, or some of a kind side by side, that the pieces may fill, and the pieces in all their turns.

use std::f64::consts::TAU;
use std::sync::Arc;

use crate::geometry::angle;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::SourceId;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::transform::{Pose, Rotation};
use crate::geometry::units;
use crate::model::cutter::Turns;
use crate::model::nesting::{Item, Problem, SheetUse, Stock};
use crate::nest::jigsaw::form::{Corner, Form};
use crate::nest::jigsaw::gap::TURN;
use crate::nest::orientation::turns;

/// More pieces than this are left to other searches.
const MOST_ITEMS: usize = 100;
/// More edges of all pieces than this as well.
const MOST_EDGES: usize = 2000;
/// Sheets of a kind that are filled together, at the most.
const MOST_SHEETS: usize = 16;
/// Room between sheets side by side, in mm.
const AISLE: f64 = 64.0;
/// Depth in mm of overlaps that are let pass at the least.
pub(super) const LEAST_SLIP: f64 = 0.01;

/// How room to spare is met.
#[derive(Clone, Copy, Debug)]
enum Spare {
    /// Pieces lie close in the front-left corner and leave it free along the back, the right, or both alike.
    Aside { right: bool, back: bool },
    /// Pieces lie anyhow: overlaps so many times as deep are let pass.
    Between(f64),
}

/// The ways that are tried.
const SPARES: [Spare; 5] = [
    Spare::Aside {
        right: true,
        back: true,
    },
    Spare::Between(1.5),
    Spare::Aside {
        right: true,
        back: false,
    },
    Spare::Aside {
        right: false,
        back: true,
    },
    Spare::Between(4.0),
];

impl Spare {
    /// Room to spare that is still looked at, as a share of the sheet's lesser extent.
    fn most(self) -> f64 {
        match self {
            Self::Aside { .. } => 0.05,
            Self::Between(_) => 0.002,
        }
    }

    /// The overlaps let pass where there is so much room.
    fn slip(self, spare: f64) -> f64 {
        match self {
            Self::Aside { .. } => LEAST_SLIP,
            Self::Between(factor) => LEAST_SLIP.max(factor * spare),
        }
    }

    /// A sheet's box without the room to spare; `None` where there is none worth leaving.
    fn left_aside(self, bounds: Bounds, needed: f64) -> Option<Bounds> {
        let Self::Aside { right, back } = self else {
            return Some(bounds);
        };
        let (w, d) = (bounds.width(), bounds.depth());
        let (dx, dy) = if right && back {
            // (w − a)(d − a) = needed.
            let sum = w + d;
            let a = (sum - (sum * sum - 4.0 * (w * d - needed)).max(0.0).sqrt()) / 2.0;
            (a, a)
        } else if right {
            (w - needed / d, 0.0)
        } else {
            (0.0, d - needed / w)
        };
        let end = bounds.max - Point::new(dx, dy);
        (dx.max(dy) > 1e-5).then(|| Bounds::new(bounds.min, end))
    }
}

/// Pieces of one shape with one set of rules.
#[derive(Clone, Debug)]
pub(super) struct Kind {
    /// The items.
    pub(super) items: Vec<usize>,
    /// Its turns; where any is allowed, unturned, face up and face down.
    pub(super) ways: Vec<Arc<Form>>,
    /// Whether any turn is allowed.
    pub(super) is_free: bool,
    /// Its rings, face up and face down.
    rings: [Vec<Ring>; 2],
    /// Its area.
    pub(super) area: f64,
}

/// Sheets and the pieces.
#[derive(Clone, Debug)]
pub(super) struct Board {
    /// Which kind of sheet.
    stock: usize,
    /// How far each sheet is shifted from where the first one lies, which is not.
    shifts: Vec<Point>,
    /// What they cost.
    pub(super) cost: f64,
    /// What surrounds the sheets, as a shape.
    pub(super) outside: Form,
    pub(super) kinds: Vec<Kind>,
    pub(super) n_items: usize,
    /// Depth of overlaps that are let pass.
    pub(super) slip: f64,
    /// Points no farther apart touch.
    pub(super) reach: f64,
    /// All angles of the pieces' corners, ascending.
    angles: Vec<f64>,
    /// Corners of ways by the direction in which an edge leaves them, ascending; those that may be turned anyhow come last.
    leaving: Vec<(f64, Leaving)>,
    n_turned: usize,
}

/// A corner of a way of a kind.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leaving {
    pub(super) kind: usize,
    pub(super) way: usize,
    pub(super) corner: usize,
}

/// Sheets that the pieces would fill but for a very little, each kind with the slips that are tried.
pub(super) fn boards(problem: &Problem) -> Vec<Board> {
    let n_edges: usize = problem.items.iter().map(|i| i.shape.edges().count()).sum();
    let class = problem.items.first().map(|i| i.class);
    let is_fit = problem
        .items
        .iter()
        .all(|i| Some(i.class) == class && !i.fill);
    if !is_fit || problem.items.len() > MOST_ITEMS || n_edges > MOST_EDGES {
        return Vec::new();
    }
    let mut out = Vec::new();
    for spare in SPARES {
        for (k, stock) in problem.stock.iter().enumerate() {
            if Some(stock.class) == class && stock.quantity > 0 {
                let Some(made) = Board::new(problem, k, spare) else {
                    continue;
                };
                // Where there is nothing to spare, one way is like the other.
                if !out.iter().any(|b: &Board| b.is_like(&made)) {
                    out.push(made);
                }
            }
        }
    }
    out
}

impl Board {
    fn new(problem: &Problem, number: usize, way: Spare) -> Option<Self> {
        let stock = &problem.stock[number];
        let half = problem.spacing / 2.0;
        let shapes = problem
            .items
            .iter()
            .map(|i| grown(&i.shape, half))
            .collect::<Option<Vec<Vec<Ring>>>>()?;
        let areas: Vec<f64> = shapes.iter().map(|r| area(r)).collect();
        let needed: f64 = areas.iter().sum();
        let (sheet, shifts, spare) = sheets(stock, half - problem.edge_margin, needed, way)?;
        let shortest = shapes
            .iter()
            .flatten()
            .flat_map(|r| r.edges())
            .map(|e| e.length())
            .fold(f64::INFINITY, f64::min);
        let slip = way.slip(spare).min(shortest / 8.0);
        let outside: Vec<Ring> = sheet.iter().map(Ring::reversed).collect();
        let mut board = Self {
            stock: number,
            cost: match stock.by_length {
                // What is used of it counts, and that is not known yet.
                Some(_) => 0.0,
                None => stock.cost * shifts.len() as f64,
            },
            shifts,
            outside: Form::new(&outside, Pose::IDENTITY, slip),
            kinds: Vec::new(),
            n_items: problem.items.len(),
            slip,
            reach: 2.0 * slip,
            angles: Vec::new(),
            leaving: Vec::new(),
            n_turned: 0,
        };
        for (k, rings) in shapes.into_iter().enumerate() {
            board.add(problem, k, (rings, areas[k]));
        }
        board.angles = board
            .kinds
            .iter()
            .flat_map(|k| k.ways[0].corners.iter().map(|c| c.angle))
            .collect();
        board.angles.sort_by(f64::total_cmp);
        board.list_leaving();
        Some(board)
    }

    /// Whether two boards are searched alike.
    fn is_like(&self, other: &Self) -> bool {
        self.stock == other.stock
            && self.slip == other.slip
            && self.outside.bounds == other.outside.bounds
    }

    /// Lists corners by the direction in which an edge leaves them.
    fn list_leaving(&mut self) {
        let (mut turned, mut free) = (Vec::new(), Vec::new());
        for (k, kind) in self.kinds.iter().enumerate() {
            let list = if kind.is_free { &mut free } else { &mut turned };
            for (w, way) in kind.ways.iter().enumerate() {
                list.extend(way.corners.iter().enumerate().map(|(n, c)| {
                    let corner = Leaving {
                        kind: k,
                        way: w,
                        corner: n,
                    };
                    (angle::positive(c.out), corner)
                }));
            }
        }
        turned.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.n_turned = turned.len();
        self.leaving = turned;
        self.leaving.extend(free);
    }

    /// The corners from which an edge may leave in a direction, and some more.
    pub(super) fn leaving(&self, to: f64) -> impl Iterator<Item = Leaving> {
        let (turned, free) = self.leaving.split_at(self.n_turned);
        let to = angle::positive(to);
        let between = |low: f64, high: f64| {
            let first = turned.partition_point(|l| l.0 < low);
            let end = turned.partition_point(|l| l.0 <= high);
            &turned[first..end.max(first)]
        };
        // Directions just below a whole turn are near those just above none.
        let room = 2.0 * TURN;
        [
            between(to - room, to + room),
            between(to - room + TAU, to + room + TAU),
            between(to - room - TAU, to + room - TAU),
            free,
        ]
        .into_iter()
        .flatten()
        .map(|l| l.1)
    }

    /// A corner that was listed.
    pub(super) fn corner(&self, of: Leaving) -> Corner {
        self.kinds[of.kind].ways[of.way].corners[of.corner]
    }

    /// How many sheets there are.
    pub(super) fn n_sheets(&self) -> usize {
        self.shifts.len()
    }

    /// The corners of what surrounds one sheet.
    pub(super) fn corners_of(&self, sheet: usize) -> &[Corner] {
        let n = self.outside.corners.len() / self.shifts.len();
        &self.outside.corners[sheet * n..(sheet + 1) * n]
    }

    /// The sheet on which a shape lies, and how far that is shifted.
    pub(super) fn sheet_of(&self, bounds: Bounds) -> (SheetUse, Point) {
        let middle = bounds.center().x;
        let last = self.shifts.partition_point(|s| {
            s.x <= 0.0 || middle >= self.outside.bounds.min.x + s.x - AISLE / 2.0
        });
        let number = last.saturating_sub(1);
        let sheet = SheetUse {
            stock: self.stock,
            number,
        };
        (sheet, self.shifts[number])
    }

    /// Adds an item to its kind, or makes one.
    fn add(&mut self, problem: &Problem, item: usize, (rings, area): (Vec<Ring>, f64)) {
        let of = &problem.items[item];
        let like = |k: &&mut Kind| {
            let other = &problem.items[k.items[0]];
            other.kind == of.kind
                || other.turns == of.turns
                    && other.grain == of.grain
                    && is_same(&k.rings[0], &rings)
        };
        if let Some(kind) = self.kinds.iter_mut().find(like) {
            kind.items.push(item);
            return;
        }
        let stock = &problem.stock[self.stock];
        let is_free = is_free(of, stock);
        let back: Vec<Ring> = rings.iter().map(|r| r.posed(pose(true, 0.0))).collect();
        let rings = [rings, back];
        let mut ways: Vec<Arc<Form>> = Vec::new();
        for mirrored in [false, true] {
            if mirrored && !problem.flip {
                continue;
            }
            let degrees = if is_free {
                vec![0.0]
            } else {
                turns(of, stock.grain, &[])
            };
            for deg in degrees {
                let form = self.form(&rings, mirrored, Rotation::from_degrees(deg));
                // Turns that look alike are one; where any is allowed, a face that is a turn of the other one is found alike later.
                if is_free || !ways.iter().any(|w| looks_like(w, &form)) {
                    ways.push(Arc::new(form));
                }
            }
        }
        self.kinds.push(Kind {
            items: vec![item],
            ways,
            is_free,
            rings,
            area,
        });
    }

    fn form(&self, rings: &[Vec<Ring>; 2], mirrored: bool, rotation: Rotation) -> Form {
        let turn = Pose {
            rotation,
            ..Pose::IDENTITY
        };
        let posed: Vec<Ring> = rings[usize::from(mirrored)]
            .iter()
            .map(|r| r.posed(turn))
            .collect();
        let pose = Pose { mirrored, ..turn };
        Form::new(&posed, pose, self.slip)
    }

    /// A piece turned, face up.
    pub(super) fn form_of(&self, item: usize, rotation: Rotation) -> Form {
        let kind = self.kinds.iter().find(|k| k.items.contains(&item));
        kind.map_or_else(
            || Form::new(&[], Pose::IDENTITY, self.slip),
            |k| self.form(&k.rings, false, rotation),
        )
    }

    /// Whether another board is of as many sheets of the same kind.
    pub(super) fn has_sheets_of(&self, other: &Self) -> bool {
        self.stock == other.stock && self.shifts.len() == other.shifts.len()
    }

    /// A way of a kind so turned that what leaves a corner leaves in a direction; `None` where that is not allowed.
    pub(super) fn turned(
        &self,
        kind: usize,
        way: usize,
        corner: &Corner,
        to: f64,
    ) -> Option<Arc<Form>> {
        let kind = &self.kinds[kind];
        let form = &kind.ways[way];
        let by = angle::signed(to - corner.out);
        if !kind.is_free {
            return (by.abs() <= TURN).then(|| form.clone());
        }
        let rotation = Rotation::from_degrees(units::degrees(by));
        Some(Arc::new(self.form(
            &kind.rings,
            form.pose.mirrored,
            rotation,
        )))
    }

    /// Whether corners of pieces may add up to an angle.
    pub(super) fn can_fill(&self, span: f64) -> bool {
        let Some(&least) = self.angles.first() else {
            return false;
        };
        let has = |a: f64| {
            let k = self.angles.partition_point(|x| *x < a - TURN);
            self.angles.get(k).is_some_and(|x| *x <= a + TURN)
        };
        span >= 3.0 * least - TURN
            || has(span)
            || self
                .angles
                .iter()
                .take_while(|x| **x <= span / 2.0 + TURN)
                .any(|x| has(span - x))
    }
}

fn pose(mirrored: bool, deg: f64) -> Pose {
    Pose {
        mirrored,
        rotation: Rotation::from_degrees(deg),
        shift: Point::new(0.0, 0.0),
    }
}

fn is_free(item: &Item, stock: &Stock) -> bool {
    item.turns == Turns::Any && (item.grain.is_none() || stock.grain.is_none())
}

fn area(rings: &[Ring]) -> f64 {
    rings.iter().map(Ring::area_mm2).sum()
}

/// Rings of as many sheets as the pieces fill, how far each is shifted, and how much room one has to spare.
fn sheets(stock: &Stock, by: f64, needed: f64, way: Spare) -> Option<(Vec<Ring>, Vec<Point>, f64)> {
    if let Some((rings, spare)) = sheet_rings(stock, by, needed, way) {
        return Some((rings, vec![Point::default()], spare));
    }
    if stock.by_length.is_some() || !matches!(way, Spare::Between(_)) {
        return None;
    }
    let area: f64 = stock.region.iter().map(Region::area_mm2).sum();
    // Pieces and sheets were grown, each by its own.
    let about = (needed / area).floor().min(MOST_SHEETS as f64) as usize;
    let most = stock.quantity.min(MOST_SHEETS).min(about + 1);
    let (n, (rings, spare)) = (about.max(2)..=most)
        .find_map(|n| sheet_rings(stock, by, needed / n as f64, way).map(|made| (n, made)))?;
    let bounds = rings.iter().fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
    let step = (bounds.width() + AISLE).ceil();
    let shifts: Vec<Point> = (0..n).map(|k| Point::new(k as f64 * step, 0.0)).collect();
    let all = shifts
        .iter()
        .flat_map(|s| rings.iter().map(|r| r.posed(Pose::shifted(*s))))
        .collect();
    Some((all, shifts, spare))
}

/// Rings of a sheet grown by `by`, and how much room it has to spare; of one sold by length a rectangle that the pieces fill.
fn sheet_rings(stock: &Stock, by: f64, needed: f64, way: Spare) -> Option<(Vec<Ring>, f64)> {
    let [region] = stock.region.as_slice() else {
        return None;
    };
    let is_plain =
        (region.bounds().width() * region.bounds().depth() - region.area_mm2()).abs() < 1e-6;
    let mut bounds = region.bounds().grown(by);
    let ring = |b: Bounds| vec![Ring::rounded_box(b, 0.0, SourceId::default())];
    if stock.by_length.is_some() {
        let length = needed / bounds.depth();
        bounds.max.x = bounds.min.x + length;
        let fits = is_plain && length <= stock.usable_length + 2.0 * by;
        return (fits && matches!(way, Spare::Between(_))).then(|| (ring(bounds), 0.0));
    }
    let rings = if is_plain {
        ring(bounds)
    } else {
        grown(region, by)?
    };
    let spare = (area(&rings) - needed) / (bounds.width() + bounds.depth());
    if spare < -1e-6 || spare > way.most() * bounds.width().min(bounds.depth()) {
        return None;
    }
    if is_plain {
        return Some((ring(way.left_aside(bounds, needed)?), spare));
    }
    matches!(way, Spare::Between(_)).then_some((rings, spare))
}

/// Rings of a region, grown by `by` with mitred corners; `None` for arcs that would have to grow.
pub(super) fn grown(region: &Region, by: f64) -> Option<Vec<Ring>> {
    if by == 0.0 {
        return Some(region.rings().cloned().collect());
    }
    region.rings().map(|r| mitred(r, by)).collect()
}

fn mitred(ring: &Ring, by: f64) -> Option<Ring> {
    let edges = ring.edges();
    if edges.iter().any(|e| e.bulge() != 0.0) {
        return None;
    }
    let n = edges.len();
    let points: Vec<Point> = (0..n)
        .map(|k| {
            let (a, b) = (&edges[(k + n - 1) % n], &edges[k]);
            let (m, n) = (a.end_tangent().left(), b.start_tangent().left());
            b.start - (m + n) * (by / (1.0 + m.dot(n)).max(1e-3))
        })
        .collect();
    Ring::polygon(&points, SourceId::default())
}

/// Whether two shapes are one, corner by corner in order, where they lie.
fn is_same(a: &[Ring], b: &[Ring]) -> bool {
    a.len() == b.len()
        && a.iter().zip(b).all(|(p, q)| {
            p.edges().len() == q.edges().len()
                && p.edges().iter().zip(q.edges()).all(|(e, f)| {
                    e.start.distance(f.start) < 1e-6 && e.at(0.5).distance(f.at(0.5)) < 1e-6
                })
        })
}

/// Whether two forms look alike but for a shift.
fn looks_like(a: &Form, b: &Form) -> bool {
    let by = b.bounds.min - a.bounds.min;
    is_at(a, b, by)
}

/// Whether every corner of one form, shifted, is one of the other, and edges' middles agree.
pub(super) fn is_at(a: &Form, b: &Form, by: Point) -> bool {
    a.edges.len() == b.edges.len()
        && a.edges.iter().all(|(e, _)| {
            b.edges.iter().any(|(f, _)| {
                (e.start + by).distance(f.start) < 1e-6
                    && (e.at(0.5) + by).distance(f.at(0.5)) < 1e-6
            })
        })
}
