//! Rectangles on sets of sheets sold whole: the search over corners, one sheet after the other.
//!
//! In: a problem of rectangles, a cost. Out: a layout on two sheets or more that costs less, where one was found.
//!
//! Steps: (1) sets of sheets with area enough are told in order of cost ([`cheapest`]); effort goes to the set that had least of
//! it, to cheaper ones sooner; (2) the sheets of a set are filled one after the other, in an order that is drawn: the front-most gap of a
//! sheet takes a piece in its corner, or is closed and counts as waste; (3) what was closed so far must not exceed a share of
//! what the set has to spare, which is drawn too, so that the first sheets do not use it up; (4) each attempt has a number of branches.
//!
//! Guarantees: a function of its arguments and of the rounds before; counts branches, not seconds. That a set was given up proves nothing.

use std::sync::Arc;

use crate::geometry::point::Point;
use crate::model::nesting::{Layout, Problem, SheetUse};
use crate::nest::corner::plate::{self, Laid, Way};
use crate::nest::corner::search::{Gap, Ledge, choices, raised};
use crate::nest::corner::{ATTEMPT, BRANCHES_A_ROUND};
use crate::nest::seed::Draws;
use crate::nest::sets::{Kind, cheapest};

/// More pieces than this are left to other searches.
const MOST_PIECES: usize = 80;
/// Sheets of a set, at the most.
const MOST_SHEETS: usize = 8;
/// Branches after which a set is left for good, and the same where there is no layout at all yet, and how many sets there are then:
/// other searches have their turn.
const BRANCHES_A_SET: [u64; 2] = [20_000_000, 1_000_000];
const FIRST_SETS: usize = 4;
/// The most doublings of an attempt.
const DOUBLINGS: u32 = 9;
/// What may be closed by the end of a sheet, in parts of what its share of the set's spare area is; one is drawn.
const SHARES: [f64; 4] = [1.2, 1.6, 2.5, 6.0];
/// Looks at sums of extents, at the most.
const SUMS: u32 = 400;

/// A kind of sheet that rectangles may fill, in whole millionths.
#[derive(Clone, Debug)]
struct Room {
    stock: usize,
    length: i64,
    breadth: i64,
    origin: Point,
    ways: Vec<Vec<Way>>,
}

impl Room {
    fn read(problem: &Problem, stock: usize) -> Option<Self> {
        let [region] = problem.stock[stock].region.as_slice() else {
            return None;
        };
        let bounds = region.bounds();
        let [length, breadth] = [bounds.width(), bounds.depth()].map(|e| plate::within(problem, e));
        if !plate::fills(bounds, region.area_mm2()) || length <= 0 || breadth <= 0 {
            return None;
        }
        let margin = Point::new(problem.edge_margin, problem.edge_margin);
        Some(Self {
            stock,
            length,
            breadth,
            origin: bounds.min + margin,
            ways: plate::ways(problem, stock)?,
        })
    }

    fn area(&self) -> i128 {
        i128::from(self.length) * i128::from(self.breadth)
    }
}

/// A set of sheets, and how far the search on it is.
#[derive(Clone, Debug)]
struct Set {
    /// Kind and number of each.
    sheets: Vec<(usize, usize)>,
    cost: f64,
    spare: i128,
    branches: u64,
    attempts: u64,
}

/// A search that goes on from round to round.
#[derive(Clone, Debug)]
pub(in crate::nest) struct OnSets {
    rooms: Arc<Vec<Room>>,
    sets: Vec<Set>,
    is_first: bool,
}

impl OnSets {
    /// A search for what costs less than `below`; has no work where pieces are no rectangles of one class.
    pub(in crate::nest) fn new(problem: &Problem, below: f64) -> Self {
        let rooms = rooms(problem);
        let mut sets = sets(problem, &rooms, below);
        let is_first = below.is_infinite();
        if is_first {
            sets.truncate(FIRST_SETS);
        }
        Self {
            rooms: Arc::new(rooms),
            sets,
            is_first,
        }
    }

    /// Whether it was made for what costs less than that: with no layout yet fewer sets are looked at.
    pub(in crate::nest) fn is_for(&self, below: f64) -> bool {
        self.is_first == below.is_infinite()
    }

    fn most(&self) -> u64 {
        BRANCHES_A_SET[usize::from(self.is_first)]
    }

    /// Whether there is nothing left to look at.
    pub(in crate::nest) fn is_over(&self) -> bool {
        self.sets.iter().all(|s| s.branches >= self.most())
    }

    /// One round: a layout that costs less than `below`, if one was found. Not certified.
    pub(in crate::nest) fn round(&mut self, below: f64, draws: &mut Draws) -> Option<Layout> {
        let (rooms, most) = (self.rooms.clone(), self.most());
        let mut left = BRANCHES_A_ROUND;
        while left > 0 {
            let (_, set) = self
                .sets
                .iter_mut()
                .enumerate()
                .filter(|(_, s)| s.cost < below - 1e-9 && s.branches < most)
                .min_by_key(|(rank, s)| s.branches * (*rank as u64 + 2))?;
            set.attempts += 1;
            let allowed = (ATTEMPT << set.attempts.trailing_zeros().min(DOUBLINGS)).min(left);
            let mut filling = Filling::new(&rooms, set, allowed, draws);
            let found = filling.run(draws);
            let visited = filling.visited().max(1);
            let layout = found.then(|| filling.layout());
            left = left.saturating_sub(visited);
            set.branches += visited;
            if layout.is_some() {
                return layout;
            }
        }
        None
    }
}

fn rooms(problem: &Problem) -> Vec<Room> {
    let class = problem.items.first().map(|i| i.class);
    let mut items = problem.items.iter();
    if problem.items.len() > MOST_PIECES || !items.all(|i| Some(i.class) == class && !i.fill) {
        return Vec::new();
    }
    (0..problem.stock.len())
        .filter(|&k| {
            let stock = &problem.stock[k];
            Some(stock.class) == class && stock.quantity > 0 && stock.by_length.is_none()
        })
        .filter_map(|k| Room::read(problem, k))
        .collect()
}

/// Sets of two sheets or more, the cheapest first.
fn sets(problem: &Problem, rooms: &[Room], below: f64) -> Vec<Set> {
    let Some(first) = rooms.first() else {
        return Vec::new();
    };
    let area: i128 = first
        .ways
        .iter()
        .map(|w| i128::from(w[0].along) * i128::from(w[0].across))
        .sum();
    let kinds: Vec<Kind> = rooms
        .iter()
        .map(|r| Kind {
            quantity: problem.stock[r.stock].quantity.min(MOST_SHEETS),
            cost: problem.stock[r.stock].cost,
            room: r.area() as f64,
        })
        .collect();
    cheapest(&kinds, area as f64, below)
        .into_iter()
        .map(|counts| {
            let of = |k: usize| (0..counts[k]).map(move |number| (k, number));
            let sheets: Vec<(usize, usize)> = (0..rooms.len()).flat_map(of).collect();
            let all: i128 = sheets.iter().map(|s| rooms[s.0].area()).sum();
            Set {
                cost: sheets.iter().map(|s| kinds[s.0].cost).sum(),
                spare: all - area,
                sheets,
                branches: 0,
                attempts: 0,
            }
        })
        .filter(|s| (2..=MOST_SHEETS).contains(&s.sheets.len()) && s.spare >= 0)
        .collect()
}

/// One attempt to fill the sheets of a set.
struct Filling<'a> {
    /// Sheets in the order in which they are filled, and what may be closed by the end of each.
    sheets: Vec<(&'a Room, usize, i128)>,
    allowed: u64,
    left: u64,
    noise: f64,
    /// What leaves so little beside it is as good as exact.
    slip: i64,
    free: Vec<bool>,
    laid: Vec<(usize, Laid)>,
}

impl<'a> Filling<'a> {
    fn new(rooms: &'a [Room], set: &Set, allowed: u64, draws: &mut Draws) -> Self {
        let mut order = set.sheets.clone();
        let is_first = set.attempts == 1;
        if is_first {
            order.sort_by_key(|s| (rooms[s.0].area(), *s));
        } else {
            draws.shuffle(&mut order);
        }
        let share = SHARES[if is_first {
            0
        } else {
            draws.below(SHARES.len())
        }];
        let all: i128 = order.iter().map(|s| rooms[s.0].area()).sum();
        let rims: i128 = order
            .iter()
            .map(|s| i128::from(rooms[s.0].length + rooms[s.0].breadth))
            .sum();
        let last = order.len() - 1;
        let mut behind = 0;
        let sheets = order
            .iter()
            .enumerate()
            .map(|(at, s)| {
                let room = &rooms[s.0];
                behind += room.area();
                let part = set.spare as f64 * (behind as f64 / all as f64 * share).min(1.0);
                let may = if at == last { set.spare } else { part as i128 };
                (room, s.1, may)
            })
            .collect();
        Self {
            sheets,
            allowed,
            left: allowed,
            noise: if is_first { 0.0 } else { 2.0 * draws.unit() },
            slip: i64::try_from(set.spare / rims.max(1)).unwrap_or(i64::MAX),
            free: vec![true; rooms[0].ways.len()],
            laid: Vec::new(),
        }
    }

    fn run(&mut self, draws: &mut Draws) -> bool {
        self.fill(0, vec![whole(self.sheets[0].0)], 0, draws)
    }

    fn visited(&self) -> u64 {
        self.allowed - self.left
    }

    fn layout(&self) -> Layout {
        let mut placed: Vec<_> = self
            .laid
            .iter()
            .map(|(at, laid)| {
                let (room, number, _) = self.sheets[*at];
                let sheet = SheetUse {
                    stock: room.stock,
                    number,
                };
                laid.placed(&room.ways, (sheet, room.origin))
            })
            .collect();
        placed.sort_by_key(|p| p.item);
        Layout { placed }
    }

    /// Fills the sheet at a place of the order, and those behind it.
    fn fill(&mut self, at: usize, ledges: Vec<Ledge>, closed: i128, draws: &mut Draws) -> bool {
        if self.laid.len() == self.free.len() {
            return true;
        }
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        let (room, _, may_close) = self.sheets[at];
        let Some(k) = (0..ledges.len()).min_by_key(|&k| (ledges[k].at, k)) else {
            return false;
        };
        let gap = ledges[k];
        if gap.at >= room.length {
            let next = self.sheets.get(at + 1).map(|s| whole(s.0));
            return next.is_some_and(|ledge| self.fill(at + 1, vec![ledge], closed, draws));
        }
        let walls = [
            k.checked_sub(1).map_or(room.length, |b| ledges[b].at),
            ledges.get(k + 1).map_or(room.length, |l| l.at),
        ];
        let left = may_close - closed;
        let wall = walls[0].min(walls[1]);
        let lost = i128::from(wall - gap.at) * i128::from(gap.to - gap.from);
        if lost > left && !self.can_be_covered(room, gap, wall, left) {
            return false;
        }
        let of = Gap {
            ledge: gap,
            walls,
            length: room.length,
        };
        let pieces = (&room.ways[..], &self.free[..]);
        for (_, item, way) in choices(pieces, of, (self.noise, Some(self.slip)), draws) {
            let w = &room.ways[item][way];
            let next = raised(&ledges, k, w.across, gap.at + w.along);
            self.free[item] = false;
            let (along, across) = (gap.at, gap.from);
            self.laid.push((
                at,
                Laid {
                    item,
                    way,
                    along,
                    across,
                },
            ));
            if self.fill(at, next, closed, draws) {
                return true;
            }
            self.laid.pop();
            self.free[item] = true;
        }
        lost <= left && {
            let next = raised(&ledges, k, gap.to - gap.from, wall);
            self.fill(at, next, closed + lost, draws)
        }
    }

    /// Whether pieces that are free can cover a gap but for what may still be closed, told by sums of extents.
    fn can_be_covered(&self, room: &Room, gap: Ledge, wall: i64, may_close: i128) -> bool {
        let breadth = gap.to - gap.from;
        let mut extents: Vec<[i64; 2]> = Vec::new();
        let mut depth = wall - gap.at;
        for (item, _) in self.free.iter().enumerate().filter(|(_, free)| **free) {
            let fitting = room.ways[item]
                .iter()
                .filter(|w| w.across <= breadth && gap.at + w.along <= room.length);
            let mut own: Option<[i64; 2]> = None;
            for w in fitting {
                depth = depth.min(w.along);
                let (low, high) = own.map_or((w.across, w.across), |o| (o[0], o[1]));
                own = Some([low.min(w.across), high.max(w.across)]);
            }
            extents.extend(own);
        }
        // What is left open beside the pieces is closed at least as far as the shortest of them reaches.
        let slack = i64::try_from(may_close / i128::from(depth.max(1))).unwrap_or(i64::MAX);
        extents.sort_by(|a, b| b[1].cmp(&a[1]));
        let mut looks = SUMS;
        reaches(&extents, breadth, slack, &mut looks)
    }
}

fn whole(room: &Room) -> Ledge {
    Ledge {
        from: 0,
        to: room.breadth,
        at: 0,
    }
}

/// Whether some of the extents, each by its one or its other, add up to a breadth but for a slack, or that took too long to tell.
fn reaches(extents: &[[i64; 2]], breadth: i64, slack: i64, looks: &mut u32) -> bool {
    if breadth <= slack || *looks == 0 {
        return true;
    }
    *looks -= 1;
    let [first, rest @ ..] = extents else {
        return false;
    };
    let most: i64 = extents.iter().map(|e| e[1]).sum();
    if most < breadth - slack {
        return false;
    }
    let (low, high) = (first[0], first[1]);
    high <= breadth && reaches(rest, breadth - high, slack, looks)
        || low < high && low <= breadth && reaches(rest, breadth - low, slack, looks)
        || reaches(rest, breadth, slack, looks)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_of_extents_are_told() {
        let all = [[70, 70], [30, 50], [20, 25]];
        let can = |breadth, slack| reaches(&all, breadth, slack, &mut 1000);
        // 70 + 30 = 100, 30 + 25 = 55, 70 + 50 + 25 = 145.
        assert!(can(100, 0) && can(55, 0) && can(145, 0));
        assert!(!can(60, 0), "50 + 20 is too much, 30 + 25 too little");
        assert!(can(60, 5) && !can(60, 4));
        assert!(!can(150, 4) && can(150, 5));
    }
}
