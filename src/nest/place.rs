//! Where one item may lie on a floor: candidates from corners of contact and from the lattice of the floor's raster, tried in
//! the order of the rule, then pushed into contact.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::nest::collision::{apart, leaves, leaving};
use crate::nest::construct::{Engine, Floor, Rule, Spot, spot_of};
use crate::nest::orientation::Orientation;
use crate::nest::pins::Cover;

/// With more items than this on a sheet, contacts are no longer combined crosswise.
const CROSSWISE: usize = 20;
/// Halvings of a push: from a metre down to a micrometre.
const HALVINGS: usize = 20;
/// Lattice places of one orientation that are tested on true edges before its looking ends.
const TESTED: usize = 150;
/// Corners of an irregular sheet that give contacts where there is a lattice too.
const FEW_CORNERS: usize = 16;

/// What was in the way of an orientation last: places near one another mostly fail by the same.
#[derive(Clone, Copy, Debug, Default)]
struct InWay {
    /// The edge of it that left the sheet.
    edge: Option<usize>,
    /// What lay there.
    spot: usize,
}

impl Engine<'_> {
    /// The best free place of one orientation (its number among those of its kind, and itself), better than `limit`.
    pub(crate) fn place(
        &self,
        floor: &mut Floor,
        item: usize,
        (number, way): (usize, &Orientation),
        rule: Rule,
        limit: Option<[f64; 2]>,
    ) -> Option<(Point, Spot)> {
        let room = self.room(floor.sheet.stock);
        if way.size.x > room.width() + 1e-6 || way.size.y > room.depth() + 1e-6 {
            return None;
        }
        let stock = floor.sheet.stock;
        let pins = &self.shapes.pins[stock];
        let cover = self.cover(item, stock, number);
        let mut corners = self.candidates(floor, way.size, room);
        corners.retain(|c| {
            limit.is_none_or(|l| less(&key(*c, way.size, rule), &l))
                && floor
                    .raster
                    .as_ref()
                    .is_none_or(|r| r.may_hold(&way.print.samples, *c))
                && cover.is_none_or(|cover| !cover.meets(pins, *c))
        });
        corners.sort_by(|a, b| {
            let (a, b) = (key(*a, way.size, rule), key(*b, way.size, rule));
            a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
        });
        corners.dedup_by(|a, b| a.distance(*b) < 1e-7);
        let mut in_way = InWay::default();
        let mut free = corners
            .into_iter()
            .find(|c| self.is_free(floor, way, *c, &mut in_way));
        if !self.shapes.boxes {
            let limit = free.map(|c| key(c, way.size, rule)).or(limit);
            let kind = (self.problem.items[item].kind, number, rule == Rule::Front);
            free = self
                .on_lattice(floor, kind, (way, cover), room, limit)
                .or(free);
        }
        let corner = self.push(floor, way, free?, room, rule);
        Some((corner, spot_of(item, way, way.at(corner))))
    }

    /// The first free place of the lattice in the order of the rule, better than `limit`.
    fn on_lattice(
        &self,
        floor: &mut Floor,
        kind: (usize, usize, bool),
        (way, cover): (&Orientation, Option<&Cover>),
        room: Bounds,
        limit: Option<[f64; 2]>,
    ) -> Option<Point> {
        let front = kind.2;
        let raster = floor.raster.as_ref()?;
        let (nx, ny) = raster.lattice(room, way.size);
        let side = raster.side();
        let stamp = raster.stamp(&way.print.samples, room.min);
        let pins = &self.shapes.pins[floor.sheet.stock];
        let open_places = |i: usize, j: usize| {
            let open = raster.open_places(&stamp, i, j);
            match cover {
                Some(cover) if open != 0 => open & !cover.pinned(pins, room.min, (i, j)),
                _ => open,
            }
        };
        let rule = if front { Rule::Front } else { Rule::Left };
        let mut at = floor.looked.get(&kind).copied().unwrap_or(0);
        // By rows places are asked as they come; by columns all at once.
        let columns: Vec<u64> = if front {
            Vec::new()
        } else {
            (0..ny)
                .flat_map(|j| (0..nx).step_by(64).map(move |i| (i, j)))
                .map(|(i, j)| open_places(i, j))
                .collect()
        };
        let per_row = nx.div_ceil(64);
        let mut open = (usize::MAX, 0);
        let mut tested = 0;
        let mut in_way = InWay::default();
        let mut found = None;
        while at < nx * ny {
            let (i, j) = if front {
                (at % nx, at / nx)
            } else {
                (at / ny, at % ny)
            };
            let corner = room.min + Point::new(i as f64 * side, j as f64 * side);
            if limit.is_some_and(|l| !less(&key(corner, way.size, rule), &l)) {
                break;
            }
            let word = j * per_row + i / 64;
            if front && open.0 != word {
                open = (word, open_places(i - i % 64, j));
            }
            let bits = if front { open.1 } else { columns[word] } >> (i % 64);
            if bits == 0 && front {
                // Nothing more in this word.
                at += (64 - i % 64).min(nx - i);
                continue;
            }
            if bits & 1 == 1 {
                if tested >= TESTED {
                    break;
                }
                tested += 1;
                if self.is_free(floor, way, corner, &mut in_way) {
                    found = Some(corner);
                    break;
                }
            }
            at += 1;
        }
        floor.looked.insert(kind, at);
        found
    }

    /// Where the box of an item may lie: the sheet's box less the margin, as far as the cutter takes it.
    pub(crate) fn room(&self, stock: usize) -> Bounds {
        let bounds = self.shapes.sheets[stock]
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
        // Among many corners the lattice finds what crossing them all would.
        let corners = &self.shapes.corners[floor.sheet.stock];
        let n = if self.shapes.boxes || corners.len() <= FEW_CORNERS {
            corners.len()
        } else {
            0
        };
        for c in &corners[..n] {
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

    /// Whether an orientation is free at a corner.
    fn is_free(&self, floor: &Floor, way: &Orientation, corner: Point, last: &mut InWay) -> bool {
        let (s, m) = (self.problem.spacing, self.problem.edge_margin);
        let pose = way.at(corner);
        let bounds = Bounds::new(corner, corner + way.size);
        // Boxes that lie in one another's middle: true shapes that avoid each other so are left to the push.
        if floor.spots.iter().any(|f| {
            f.holes.is_empty()
                && f.body.bounds.grown(-1e-6).holds(bounds.center())
                && bounds.holds_box(f.body.bounds)
        }) {
            return false;
        }
        let body = way.body.shifted(pose.shift - way.pose.shift);
        let sheets = &self.shapes.sheets[floor.sheet.stock];
        let leaves_again = last
            .edge
            .is_some_and(|edge| sheets.iter().all(|sheet| leaves(&body, edge, sheet)));
        if leaves_again {
            return false;
        }
        let n = floor.spots.len();
        let met = (0..n)
            .map(|k| (last.spot + k) % n)
            .find(|&k| !apart(&body, &floor.spots[k].body, s));
        if let Some(met) = met {
            last.spot = met;
            return false;
        }
        let mut edge = None;
        let is_in = sheets.iter().any(|sheet| {
            let left = leaving(&body, sheet, m);
            edge = left.or(edge);
            left.is_none()
        });
        if !is_in {
            last.edge = edge;
        }
        is_in
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
        let mut in_way = InWay::default();
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
                if most < 0.01 || !self.is_free(floor, way, at + toward * 0.01, &mut in_way) {
                    continue;
                }
                let (mut free, mut step) = (0.01, most);
                for _ in 0..HALVINGS {
                    let next = (free + step).min(most);
                    if free + step <= most + 1e-9
                        && self.is_free(floor, way, at + toward * next, &mut in_way)
                    {
                        free = next;
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
}

pub(crate) fn key(corner: Point, size: Point, rule: Rule) -> [f64; 2] {
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
