//! What does not change while pieces move: turned shapes with their table, and the boards they lie on.

use std::collections::BTreeMap;

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::transform::{Pose, Rotation};
use crate::model::cutter::Axis;
use crate::model::nesting::{Problem, Stock};
use crate::nest::lean::leaning;
use crate::nest::loosen::convex::{Part, parts};
use crate::nest::loosen::outline::Outline;
use crate::nest::loosen::table::{Table, Turned, size};
use crate::nest::orientation::turns;

/// How far outlines may lie outside arcs, in mm, beside what the finest ones do, and half planes that a table may hold then, the
/// finest first: the fewer half planes the sooner a price is known, and 2,000,000 take about 100 MB. (24 kinds of 48 ells with
/// rounded corners on a roll, 15 s, two lanes: 1,069,000 half planes at 0.1 mm came to 540, 442,000 at 0.4 mm to 536, 311,000 at 1.6 mm to 541.)
const COARSE: [(f64, usize); 5] = [
    (0.0, 500_000),
    (0.1, 500_000),
    (0.4, 500_000),
    (0.4, 2_000_000),
    (1.6, 2_000_000),
];
/// Items and kinds of sheets whose ways are kept, at the most: 64 MB.
const MOST_WAYS: usize = 4_000_000;
/// Edges of a sheet, at the most: it is cut into nearly as many parts, each of which is paired with those of all pieces.
const MOST_EDGES: usize = 400;
/// Room between boards that lie side by side in one plane.
const AISLE: f64 = 1024.0;

/// An item mirrored and turned.
#[derive(Clone, Debug)]
pub(super) struct Way {
    pub(super) mirrored: bool,
    pub(super) rotation: Rotation,
    /// The box around its outline, unshifted.
    pub(super) bounds: Bounds,
}

/// A kind of sheet, with the ways in which each kind of item may lie on it.
#[derive(Clone, Debug)]
pub(super) struct Board {
    /// Where outlines may lie: the sheet's box less the margin, spacing allowed for.
    pub(super) room: Bounds,
    /// Place among the turned shapes of what bars a sheet that is no plain rectangle.
    pub(super) bar: Option<usize>,
    /// By item: the first of its ways and how many there are; none where its class is another.
    pub(super) ways: Vec<(usize, usize)>,
}

/// The problem, ready for moving.
#[derive(Clone, Debug)]
pub struct Ground {
    pub(super) ways: Vec<Way>,
    pub(super) table: Table,
    pub(super) boards: Vec<Board>,
    /// Area of each item's outline.
    pub(super) areas: Vec<f64>,
    pub(super) half: f64,
    /// How far outlines may lie outside arcs, beside what the finest ones do.
    coarse: f64,
}

/// A turned shape while the ground is being made.
struct Made {
    parts: Vec<Part>,
    lambda: f64,
}

impl Ground {
    /// The ground of a problem; `None` where it is too large, or a shape cannot be cut into convex parts: then construction
    /// has to do.
    pub fn new(problem: &Problem) -> Option<Self> {
        if problem.items.is_empty() || problem.items.len() * problem.stock.len() > MOST_WAYS {
            return None;
        }
        // Before any piece is turned and cut into parts for nothing.
        if problem.stock.iter().any(is_too_long) {
            return None;
        }
        let leans = leaning(problem);
        COARSE
            .iter()
            .find_map(|&(coarse, most)| Self::of(problem, &leans, coarse, most))
    }

    /// The same with outlines so coarse; `None` too where the table would have more half planes than `most`.
    fn of(
        problem: &Problem,
        leans: &BTreeMap<usize, Vec<f64>>,
        coarse: f64,
        most: usize,
    ) -> Option<Self> {
        let half = problem.spacing / 2.0;
        let mut ground = Self {
            coarse,
            ways: Vec::new(),
            table: Table::default(),
            boards: Vec::new(),
            areas: problem.items.iter().map(|i| i.shape.area_mm2()).collect(),
            half,
        };
        let mut made: Vec<Made> = Vec::new();
        let mut known: Vec<(usize, Option<Axis>, (usize, usize))> = Vec::new();
        for stock in &problem.stock {
            let mut board_ways = Vec::with_capacity(problem.items.len());
            for item in &problem.items {
                if item.class != stock.class || stock.quantity == 0 {
                    board_ways.push((0, 0));
                    continue;
                }
                let found = known
                    .iter()
                    .find(|k| k.0 == item.kind && k.1 == stock.grain);
                if let Some((_, _, range)) = found {
                    board_ways.push(*range);
                    continue;
                }
                let first = ground.ways.len();
                for mirrored in if problem.flip {
                    &[false, true][..]
                } else {
                    &[false][..]
                } {
                    let leans = leans.get(&item.kind).map_or(&[][..], Vec::as_slice);
                    for deg in turns(item, stock.grain, leans) {
                        ground.add(&item.shape, *mirrored, deg, &mut made)?;
                    }
                    // Before the others are cut into parts for nothing.
                    if size(&turned(&made)) > most {
                        return None;
                    }
                }
                let range = (first, ground.ways.len() - first);
                known.push((item.kind, stock.grain, range));
                board_ways.push(range);
            }
            ground.boards.push(Board {
                room: Bounds::EMPTY,
                bar: None,
                ways: board_ways,
            });
        }
        for (k, stock) in problem.stock.iter().enumerate() {
            ground.bar(problem, k, &stock.region, &mut made)?;
        }
        (size(&turned(&made)) <= most).then(|| {
            ground.table = Table::new(&turned(&made));
            ground
        })
    }

    /// The way in which an item lies on a board so; `None` where it is none of those that are known.
    pub(super) fn way_of(&self, board: usize, item: usize, pose: Pose) -> Option<usize> {
        let (first, n) = self.boards[board].ways[item];
        (first..first + n).find(|&w| {
            let way = &self.ways[w];
            way.mirrored == pose.mirrored
                && (way.rotation.degrees() - pose.rotation.degrees()).abs() < 1e-9
        })
    }

    fn add(
        &mut self,
        shape: &Region,
        mirrored: bool,
        deg: f64,
        made: &mut Vec<Made>,
    ) -> Option<()> {
        let rotation = Rotation::from_degrees(deg);
        let pose = Pose {
            mirrored,
            rotation,
            shift: Point::new(0.0, 0.0),
        };
        let outline = Outline::around(shape, self.half, pose, self.coarse)?;
        let parts = parts(&outline)?;
        let bounds = Bounds::of_points(outline.0[0].iter().copied());
        made.push(Made {
            lambda: hull_area(&outline.0[0]).sqrt(),
            parts,
        });
        self.ways.push(Way {
            mirrored,
            rotation,
            bounds,
        });
        Some(())
    }

    /// Makes room and bar of a board: what of the sheet's box is no sheet, as a shape of its own that never moves.
    fn bar(
        &mut self,
        problem: &Problem,
        k: usize,
        region: &[Region],
        made: &mut Vec<Made>,
    ) -> Option<()> {
        let inward = problem.edge_margin - self.half;
        let bounds = region.iter().fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
        let stock = &problem.stock[k];
        let mut room = bounds.grown(-inward);
        if stock.by_length.is_some() {
            room.max.x = room.max.x.min(bounds.min.x + stock.usable_length - inward);
        }
        self.boards[k].room = room;
        if is_plain(region) || stock.quantity == 0 {
            return Some(());
        }
        let [sheet] = region else {
            return None;
        };
        // Defects grow by what the margin asks; the rest is what lies between the sheet's outline and its box.
        let mut parts_of_bar: Vec<Part> = Vec::new();
        for hole in sheet.holes() {
            let solid = Region::solid(hole.oriented(true));
            parts_of_bar.extend(parts(&Outline::around(
                &solid,
                inward.max(0.0),
                Pose::IDENTITY,
                self.coarse,
            )?)?);
        }
        let filled = sheet.filled();
        let inner = Outline::around(&filled, -inward, Pose::IDENTITY, self.coarse)?;
        let frame = bounds.grown(AISLE / 4.0);
        let mut rings = vec![vec![
            frame.min,
            Point::new(frame.max.x, frame.min.y),
            frame.max,
            Point::new(frame.min.x, frame.max.y),
        ]];
        rings.push(inner.0[0].iter().rev().copied().collect());
        parts_of_bar.extend(parts(&Outline(rings))?);
        self.boards[k].bar = Some(made.len());
        made.push(Made {
            lambda: sheet.area_mm2().sqrt(),
            parts: parts_of_bar,
        });
        Some(())
    }
}

fn turned(made: &[Made]) -> Vec<Turned<'_>> {
    made.iter()
        .map(|m| Turned {
            parts: &m.parts,
            lambda: m.lambda,
        })
        .collect()
}

/// Whether a sheet is a plain rectangle.
fn is_plain(region: &[Region]) -> bool {
    let [sheet] = region else {
        return false;
    };
    let bounds = sheet.bounds();
    sheet.holes().is_empty() && (bounds.width() * bounds.depth() - sheet.area_mm2()).abs() < 1e-6
}

/// Whether a sheet has so many edges that pieces are not loosened on it.
fn is_too_long(stock: &Stock) -> bool {
    let n: usize = stock.region.iter().map(|r| r.edges().count()).sum();
    stock.quantity > 0 && !is_plain(&stock.region) && n > MOST_EDGES
}

/// Area of the convex hull of points.
fn hull_area(points: &[Point]) -> f64 {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = &Point>| {
        let mut out: Vec<Point> = Vec::new();
        for &p in points {
            while out.len() >= 2
                && (out[out.len() - 1] - out[out.len() - 2]).cross(p - out[out.len() - 1]) <= 0.0
            {
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut hull = half(&mut sorted.iter());
    hull.extend(half(&mut sorted.iter().rev()));
    if hull.len() < 3 {
        return 0.0;
    }
    crate::nest::loosen::convex::signed_area(&hull)
}
