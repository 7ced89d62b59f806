//! Seams with a step: two pieces side by side, each or one of them an L, so that they fill sheets with a corner cut out.
//!
//! In: what L-shaped sheets and clear boxes offer. Out: columns of two pieces that share the whole length along the seams. The
//! seam between them runs along one line, then across, then along another:
//!
//! ```text
//!   far   ┌─────────┬────┐        ┌─────────┬────┐
//!         │ before  │    │        │ before  │    │
//!         │    ┌────┘ b  │        │    ┌────┴────┤
//!         │    │ behind  │        │    │ behind  │
//!   near  └────┴─────────┘        └────┴─────────┘
//!              a                       a
//! ```
//!
//! Left both are L-shaped, right the piece behind is a rectangle, and the second line lies on the column's end. Either the
//! piece before is wide at the far end, as drawn, or at the near end. In cells of a split: the strip between a and b is cut
//! across, and its cells are joined to their neighbours.

use crate::model::cutter::{Axis, Turns};
use crate::model::legal::Interval;
use crate::model::seam::Joined;
use crate::planner::cover::column::{Column, EPS, Field, column_of};
use crate::planner::cover::order::{Adds, clip};
use crate::planner::cover::seat::{Give, Offer, Seat};
use crate::planner::packing::{BoxItem, may_turn};
use crate::planner::prepared::box_turns;

/// Least arm of an L, as a share of the least piece.
pub(crate) const LEAST_ARM: f64 = 0.5;
/// Least step, likewise.
pub(crate) const LEAST_STEP: f64 = 0.4;

/// The room of a piece beside a step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rooms {
    /// Across the seams, where the piece is narrow; `None` where it is a rectangle.
    pub(crate) narrow: Option<f64>,
    /// Across the seams, where it is wide.
    pub(crate) wide: f64,
    /// Along the seams, over what is wide.
    pub(crate) along: f64,
}

/// An L-shaped sheet as a layer sees it whose through seams run one way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ell {
    seat: Seat,
    rooms: Rooms,
    area_mm2: f64,
    /// Whether its piece lies before the step, else behind it.
    before: bool,
    /// Whether the piece before the step is then wide at the far end.
    wide_far: bool,
}

/// Two pieces beside a step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    /// Whether the piece before is wide at the far end, else at the near end.
    pub(crate) wide_far: bool,
    /// The piece before.
    pub(crate) before: Rooms,
    /// The piece behind.
    pub(crate) behind: Rooms,
}

/// A step in a laying: its pieces' cells, and where its lines may lie.
pub(crate) struct Laid {
    /// Seats, strip by strip.
    pub(crate) seats: Vec<Vec<Seat>>,
    /// Seams across each strip.
    pub(crate) across: Vec<Vec<Interval>>,
    /// Through seams between the strips, with their spans.
    pub(crate) through: Vec<(Interval, (f64, f64))>,
    /// Cells that are joined; seams are numbered from the first of these.
    pub(crate) joined: Vec<Joined>,
}

/// Where a step is laid.
pub(crate) struct Site<'a> {
    /// What seams add to pieces.
    pub(crate) adds: Adds,
    /// Extents of the layer: across the through seams, along them.
    pub(crate) extents: [(f64, f64); 2],
    /// Where through seams may lie.
    pub(crate) legal: &'a [Interval],
}

/// The seats of L-shaped places for a layer of a class whose through seams run one way.
pub(crate) fn ells(
    offer: &Offer,
    class: usize,
    turns: Turns,
    grain: Option<Axis>,
    runs: Axis,
) -> Vec<Ell> {
    let item = BoxItem {
        size: [0.0, 0.0],
        turns: box_turns(turns),
        grain,
    };
    let mut out = Vec::new();
    for (k, place) in offer.places.iter().enumerate() {
        let kind = &offer.kinds[place.kind];
        let Some(notch) = place.notch.filter(|_| kind.class == class) else {
            continue;
        };
        for quarters in 0..4 {
            let (turned, half) = (quarters % 2 == 1, quarters >= 2);
            if !may_turn(&item, kind.grain, turned) || half && turns == Turns::None {
                continue;
            }
            // From the sheet back to the layer: (x, y) → (y, −x) for each quarter.
            let (mut at, mut cut) = (notch.high, notch.size);
            let mut size = [place.window.width(), place.window.depth()];
            for _ in 0..quarters {
                at = [at[1], !at[0]];
                cut.reverse();
                size.reverse();
            }
            if runs == Axis::X {
                at.reverse();
                cut.reverse();
                size.reverse();
            }
            let [before, far] = at;
            out.push(Ell {
                seat: Seat {
                    place: k,
                    turned,
                    half,
                    across: size[0],
                    along: size[1],
                    give: Give::None,
                    bound: None,
                },
                rooms: Rooms {
                    narrow: Some(size[0] - cut[0]),
                    wide: size[0],
                    along: size[1] - cut[1],
                },
                area_mm2: size[0] * size[1] - cut[0] * cut[1],
                before,
                wide_far: before != far,
            });
        }
    }
    out
}

/// The columns with a step of a layer that lose at most the cap.
pub(super) fn columns(offer: &Offer, field: Field, ells: &[Ell], seats: &[Seat]) -> Vec<Column> {
    let mut out = Vec::new();
    if !field.splits {
        return out;
    }
    let long = |e: &&Ell| e.seat.along >= field.along - EPS;
    for ell in ells.iter().filter(long) {
        if ell.before {
            let others = ells
                .iter()
                .filter(long)
                .filter(|o| !o.before && o.wide_far == ell.wide_far);
            for other in others {
                let step = Step {
                    wide_far: ell.wide_far,
                    before: ell.rooms,
                    behind: other.rooms,
                };
                let area = ell.area_mm2 + other.area_mm2;
                out.extend(column(offer, field, step, [ell.seat, other.seat], area));
            }
        }
        for seat in seats
            .iter()
            .filter(|s| s.give == Give::None && s.bound.is_none())
        {
            let rect = Rooms {
                narrow: None,
                wide: seat.across,
                along: seat.along,
            };
            let (rooms, both) = if ell.before {
                ([ell.rooms, rect], [ell.seat, *seat])
            } else {
                ([rect, ell.rooms], [*seat, ell.seat])
            };
            let step = Step {
                wide_far: ell.wide_far,
                before: rooms[0],
                behind: rooms[1],
            };
            let area = ell.area_mm2 + seat.across * seat.along;
            out.extend(column(offer, field, step, both, area));
        }
    }
    out
}

/// The column of two seats beside a step, where it loses no more than the cap.
fn column(
    offer: &Offer,
    field: Field,
    step: Step,
    seats: [Seat; 2],
    area_mm2: f64,
) -> Option<Column> {
    let [a, b] = seats;
    let several = [a, b].iter().any(|s| offer.sheets(s) > 1);
    let same = offer.places[a.place].kind == offer.places[b.place].kind;
    if !offer.agree(a.place, b.place) || same && offer.sheets(&a) < 2 {
        return None;
    }
    if step.before.along + step.behind.along < field.along + field.add - EPS {
        return None;
    }
    // Where one of them is wide the other is narrow; what has no narrow part lies beside nothing there.
    let beside = |wide: f64, narrow: Option<f64>| narrow.map_or(wide + field.add, |n| wide + n);
    let width = beside(step.behind.wide, step.before.narrow)
        .min(beside(step.before.wide, step.behind.narrow))
        - field.add;
    let forgone = offer.forgone_mm2(&a) + offer.forgone_mm2(&b);
    let lost = (area_mm2 - width * field.along).max(0.0) + forgone;
    if width < 2.0 * LEAST_ARM * field.least || lost > field.cap {
        return None;
    }
    let mut column = column_of(offer, seats.to_vec(), width, lost);
    column.several |= several;
    column.step = Some(step);
    Some(column)
}

impl Step {
    /// Strips that it takes.
    pub(crate) fn strips(&self) -> usize {
        if self.before.narrow.is_some() && self.behind.narrow.is_some() {
            3
        } else {
            2
        }
    }

    /// Where the seam across may lie.
    pub(crate) fn across(
        &self,
        adds: Adds,
        (from, to): (f64, f64),
        legal: &[Interval],
    ) -> Option<Interval> {
        let (near, far) = self.near_far();
        let least = LEAST_ARM * adds.least;
        clip(
            legal,
            (to - far.along + adds.back).max(from + least),
            (from + near.along - adds.on).min(to - least),
        )
    }

    /// The piece that is wide at the near end, and the one that is at the far end.
    pub(crate) fn near_far(&self) -> (Rooms, Rooms) {
        if self.wide_far {
            (self.behind, self.before)
        } else {
            (self.before, self.behind)
        }
    }

    /// Lays it between two lines, each with where it may lie and whether a seam runs there. `strip` is the number of its
    /// first strip.
    pub(crate) fn lay(
        &self,
        seats: &[Seat],
        strip: usize,
        ends: [(Interval, bool); 2],
        across: Interval,
        site: &Site<'_>,
    ) -> Option<Laid> {
        let (adds, extents) = (site.adds, site.extents);
        let (a, b) = (seats[0], seats[1]);
        let [(start, after), (end, ahead)] = ends;
        let out = |seam: bool, by: f64| if seam { by } else { 0.0 };
        // So far a line may lie behind the start, and before the end.
        let reach = |room: f64| start.high + room - adds.on - out(after, adds.back);
        let back = |room: f64| end.low - room + adds.back + out(ahead, adds.on);
        let arm = LEAST_ARM * adds.least;
        let line = |before: f64, behind: f64| {
            clip(
                site.legal,
                back(behind).max(start.low + arm),
                reach(before).min(end.high - arm),
            )
        };
        let two = if self.wide_far {
            vec![b, a]
        } else {
            vec![a, b]
        };
        let spans = [(extents[1].0, across.high), (across.low, extents[1].1)];
        let (of_first, of_second) = if self.wide_far {
            (spans[0], spans[1])
        } else {
            (spans[1], spans[0])
        };
        let first = |narrow: f64| line(narrow, self.behind.wide).map(|i| (i, of_first));
        let second = |narrow: f64| line(self.before.wide, narrow).map(|i| (i, of_second));
        let (far, near) = (usize::from(self.wide_far), usize::from(!self.wide_far));
        let mut laid = Laid {
            seats: vec![two],
            across: vec![vec![across]],
            through: Vec::new(),
            joined: Vec::new(),
        };
        if let Some(narrow) = self.before.narrow {
            laid.seats.insert(0, vec![a]);
            laid.across.insert(0, Vec::new());
            laid.through.push(first(narrow)?);
            laid.joined.push(Joined {
                seam: strip,
                before: 0,
                behind: far,
            });
        }
        if let Some(narrow) = self.behind.narrow {
            laid.joined.push(Joined {
                seam: strip + laid.through.len(),
                before: near,
                behind: 0,
            });
            laid.seats.push(vec![b]);
            laid.across.push(Vec::new());
            laid.through.push(second(narrow)?);
        }
        Some(laid)
    }
}
