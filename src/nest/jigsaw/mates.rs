//! Pieces that can only lie beside one another: their slanted edges have no other match.
//!
//! In: a problem whose pieces fill sheets without a gap. Out: the same with such pieces joined to one, and where each lies in it.
//!
//! Where pieces may be turned by quarters alone, an edge that runs as no edge of a sheet does is covered from its other side by
//! edges that run as it does, but for a quarter turn. If there is one such edge alone, and it is as long, the two lie on one another
//! from end to end. Joined pieces have new edges, of which two may be one, so this is looked for again until nothing is left to be
//! joined. Few pieces are then left of many, and what cannot lie together is found out by the first of them.
//!
//! With room to spare two such edges need not lie on one another: what is found so is a layout all the same, and
//! the pieces are tried one by one too.

use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::Arc;

use crate::geometry::angle;
use crate::geometry::boolean;
use crate::geometry::edge::{Curve, SourceId};
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::transform::{Pose, Rotation};
use crate::geometry::units;
use crate::model::cutter::Turns;
use crate::model::nesting::{Item, Problem};
use crate::nest::jigsaw::board::{Board, LEAST_SLIP, grown};
use crate::nest::jigsaw::gap::TURN;
use crate::nest::jigsaw::search::Laid;

/// Times that edges are listed anew.
const PASSES: usize = 16;

/// A piece in a joined one: its turn in degrees and its shift there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Member {
    item: usize,
    deg: f64,
    shift: Point,
}

/// Pieces joined where they must lie beside one another.
#[derive(Clone, Debug)]
pub(super) struct Joined {
    pub(super) problem: Problem,
    members: Vec<Vec<Member>>,
}

/// Pieces joined to one, or one alone.
#[derive(Clone, Debug)]
struct Body {
    region: Region,
    members: Vec<Member>,
}

/// An edge of a body.
#[derive(Clone, Copy, Debug)]
struct Slant {
    /// The way it runs, within the least turn.
    along: f64,
    body: usize,
    from: Point,
    to: Point,
}

impl Joined {
    /// Joins what can be joined; `None` where that is nothing, or pieces may be turned otherwise.
    pub(super) fn new(problem: &Problem) -> Option<Self> {
        let first = problem.items.first()?;
        let step = match first.turns {
            Turns::Quarter => FRAC_PI_2,
            Turns::Half | Turns::None => PI,
            Turns::Any => return None,
        };
        let is_alike = |i: &Item| {
            i.turns == first.turns && i.class == first.class && i.grain.is_none() && !i.fill
        };
        let is_straight = |r: &Region| r.edges().all(|e| e.curve == Curve::Line);
        let is_fit = |i: &Item| is_alike(i) && is_straight(&i.shape);
        if problem.flip || !problem.items.iter().all(is_fit) {
            return None;
        }
        let half = problem.spacing / 2.0;
        let mut bodies = Vec::with_capacity(problem.items.len());
        for (item, i) in problem.items.iter().enumerate() {
            bodies.push(Body {
                region: region_of(grown(&i.shape, half)?)?,
                members: vec![Member {
                    item,
                    deg: 0.0,
                    shift: Point::default(),
                }],
            });
        }
        let barred: Vec<f64> = problem
            .stock
            .iter()
            .filter(|s| s.class == first.class)
            .flat_map(|s| &s.region)
            .flat_map(Region::edges)
            .map(|e| within((e.end - e.start).angle(), step))
            .collect();
        for _ in 0..PASSES {
            if !join_all(&mut bodies, step, &barred, first.turns) {
                break;
            }
        }
        (bodies.len() < problem.items.len()).then(|| Self::of(problem, bodies))
    }

    fn of(problem: &Problem, bodies: Vec<Body>) -> Self {
        let like = &problem.items[0];
        let items = bodies.iter().enumerate().map(|(kind, b)| Item {
            shape: b.region.clone(),
            nominal_area_mm2: b.region.area_mm2(),
            kind,
            ..like.clone()
        });
        Self {
            problem: Problem {
                items: items.collect(),
                stock: problem.stock.clone(),
                // Shapes are grown already.
                spacing: 0.0,
                edge_margin: problem.edge_margin - problem.spacing / 2.0,
                ..*problem
            },
            members: bodies.into_iter().map(|b| b.members).collect(),
        }
    }

    /// The pieces themselves, where joined ones lie.
    pub(super) fn parted(&self, board: &Board, laid: &[Laid]) -> Vec<Laid> {
        let mut out = Vec::new();
        for l in laid {
            let turn = l.form.pose.rotation;
            for m in &self.members[l.item] {
                let rotation = Rotation::from_degrees((turn.degrees() + m.deg) % 360.0);
                out.push(Laid {
                    item: m.item,
                    form: Arc::new(board.form_of(m.item, rotation)),
                    shift: l.shift + turn.apply(m.shift),
                });
            }
        }
        out
    }
}

fn region_of(rings: Vec<Ring>) -> Option<Region> {
    let mut rings = rings.into_iter();
    let outer = rings.next()?;
    Some(Region::new(outer, rings.collect()))
}

/// A direction brought into one step, what lies just below a whole step next to what lies just above none.
fn within(way: f64, step: f64) -> f64 {
    let along = angle::positive(way) % step;
    if step - along <= TURN {
        along - step
    } else {
        along
    }
}

/// Joins bodies along edges that have but one match, each body once; whether any was.
fn join_all(bodies: &mut Vec<Body>, step: f64, barred: &[f64], turns: Turns) -> bool {
    let mut slants: Vec<Slant> = Vec::new();
    for (body, b) in bodies.iter().enumerate() {
        for e in b.region.edges() {
            let along = within((e.end - e.start).angle(), step);
            if barred.iter().all(|b| (b - along).abs() > 2.0 * TURN) {
                slants.push(Slant {
                    along,
                    body,
                    from: e.start,
                    to: e.end,
                });
            }
        }
    }
    slants.sort_by(|a, b| a.along.total_cmp(&b.along).then(a.body.cmp(&b.body)));
    let mut is_done = vec![false; bodies.len()];
    let mut gone = Vec::new();
    for alike in slants.chunk_by(|a, b| b.along - a.along <= TURN) {
        let [a, b] = alike else {
            continue;
        };
        let lengths = a.from.distance(a.to) - b.from.distance(b.to);
        if a.body == b.body
            || is_done[a.body]
            || is_done[b.body]
            || lengths.abs() > 2.0 * LEAST_SLIP
        {
            continue;
        }
        if let Some(both) = joined(bodies, (a, b), step, turns) {
            is_done[a.body] = true;
            is_done[b.body] = true;
            bodies[a.body] = both;
            gone.push(b.body);
        }
    }
    gone.sort_unstable();
    for k in gone.iter().rev() {
        bodies.remove(*k);
    }
    !gone.is_empty()
}

/// Two bodies with an edge of one on an edge of the other; `None` where the turn is not allowed, or they do not fit.
fn joined(bodies: &[Body], (a, b): (&Slant, &Slant), step: f64, turns: Turns) -> Option<Body> {
    let turn = (a.to - a.from).angle() + PI - (b.to - b.from).angle();
    let deg = units::degrees((turn / step).round() * step).rem_euclid(360.0);
    if turns == Turns::None && deg != 0.0 {
        return None;
    }
    let rotation = Rotation::from_degrees(deg.round());
    let shift = a.from - rotation.apply(b.to);
    let pose = Pose {
        mirrored: false,
        rotation,
        shift,
    };
    let (own, other) = (&bodies[a.body], &bodies[b.body]);
    let moved = other.region.posed(pose);
    let area = own.region.area_mm2() + moved.area_mm2();
    let both = boolean::union(&[own.region.clone(), moved]).ok()?;
    let [one] = both.as_slice() else {
        return None;
    };
    let rings: Option<Vec<Ring>> = one.rings().map(straightened).collect();
    let region = region_of(rings?)?;
    // What they share beside the edge would be missing.
    let slip = LEAST_SLIP * region.edges().map(|e| e.length()).sum::<f64>();
    if (region.area_mm2() - area).abs() > slip {
        return None;
    }
    let mut members = own.members.clone();
    members.extend(other.members.iter().map(|m| Member {
        item: m.item,
        deg: (m.deg + rotation.degrees()) % 360.0,
        shift: rotation.apply(m.shift) + shift,
    }));
    Some(Body { region, members })
}

/// A ring without the corners that lie in line with their neighbours.
fn straightened(ring: &Ring) -> Option<Ring> {
    let mut points: Vec<Point> = ring.edges().iter().map(|e| e.start).collect();
    let mut k = 0;
    while k < points.len() && points.len() > 3 {
        let n = points.len();
        let (a, b, c) = (points[(k + n - 1) % n], points[k], points[(k + 1) % n]);
        let (s, t) = ((b - a).unit(), (c - b).unit());
        let is_short = b.distance(c) < LEAST_SLIP;
        if is_short || s.cross(t).abs() < TURN / 4.0 && s.dot(t) > 0.0 {
            points.remove(k);
            // Neighbours may be in line now.
            k = k.saturating_sub(1);
        } else {
            k += 1;
        }
    }
    Ring::polygon(&points, SourceId::default())
}
