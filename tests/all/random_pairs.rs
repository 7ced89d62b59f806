//! Random pairs of regions through booleans and offsets. Ordinarily 500 pairs; where the environment variable
//! `SEAMWRIGHT_PAIRS` names a file, 10,000, which are written to it with all results for `tests/outside/check_pairs.py`; for a
//! longer run `SEAMWRIGHT_PAIRS_ROUNDS=first..last` tells other rounds of each family, which are other pairs.
#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::fmt::Write as _;

use rayon::prelude::*;
use seamwright::geometry::{
    boolean::{difference, intersection, union},
    check::{check, check_with_touching},
    crossing::deviation,
    distance::point_edge,
    edge::{Curve, Edge, SourceId},
    error::GeometryError,
    offset::offset,
    point::Point,
    region::Region,
    tolerance::{COINCIDENT, FLAT_BOOLEAN, SLIVER_AREA_MM2},
};

use crate::geometry_properties::families::Draw;

/// The ten families, and how each makes a pair.
mod families;

use families::{FAMILIES, Pair};

const A: SourceId = SourceId(1);
const B: SourceId = SourceId(2);

/// Pairs of each family.
const FEW: u64 = 50;
const ALL: u64 = 1000;

/// The families whose two outlines may run side by side.
const HARDLY_DIFFERENT: [&str; 2] = ["combs", "dense and noisy"];

/// How far outlines are moved, either way.
const DISTANCES: [f64; 5] = [0.05, 0.1, 0.5, 1.5, 3.0];

type Outcome = Result<Vec<Region>, GeometryError>;

/// A pair with all that was made of it.
struct Case {
    family: usize,
    round: u64,
    pair: Pair,
    by: f64,
    outcomes: [(&'static str, Outcome); 5],
}

impl Case {
    /// Odd rounds have arcs.
    fn new(family: usize, round: u64) -> Self {
        let mut draw = Draw::new(1_000_000 * (family as u64 + 1) + round);
        let by = DISTANCES[draw.below(5) as usize];
        let pair = FAMILIES[family].1(&mut draw, round % 2 == 1, by);
        let (a, b) = (std::slice::from_ref(&pair.a), std::slice::from_ref(&pair.b));
        let outcomes = [
            ("union", union(&[pair.a.clone(), pair.b.clone()])),
            ("common", intersection(a, b)),
            ("rest", difference(a, b)),
            ("grown", offset(a, by)),
            ("shrunk", offset(a, -by)),
        ];
        Self {
            family,
            round,
            pair,
            by,
            outcomes,
        }
    }

    fn name(&self) -> String {
        format!(
            "{}, round {}, by {}",
            FAMILIES[self.family].0, self.round, self.by
        )
    }

    /// All that is wrong with it, in words.
    fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        let mut areas = Vec::new();
        for region in [&self.pair.a, &self.pair.b] {
            if let Err(fault) = check(region) {
                faults.push(format!("the pair itself: {fault}"));
            }
        }
        for (what, outcome) in &self.outcomes {
            match outcome {
                Ok(regions) => {
                    areas.push(area(regions));
                    faults.extend(unsound(regions).map(|fault| format!("{what}: {fault}")));
                }
                Err(fault) => faults.push(format!("{what} gave up: {fault}")),
            }
        }
        if let [both, common, rest, grown, shrunk] = areas[..] {
            let (a, b) = (self.pair.a.area_mm2(), self.pair.b.area_mm2());
            let room = self.room();
            let mut ask = |what: &str, off: f64, room: f64| {
                if off.abs() > room {
                    faults.push(format!("{what}: off by {off:e}, room {room:e}"));
                }
            };
            ask("union and common make both", both + common - a - b, room);
            ask("rest and common make the first", rest + common - a, room);
            let length: f64 = self.pair.a.edges().map(Edge::length).sum();
            let slack = room + FLAT_BOOLEAN * length;
            ask("growing adds", (a - grown).max(0.0), slack);
            ask("shrinking takes", (shrunk - a).max(0.0), slack);
        }
        faults
    }

    /// What may be lost in area: each coordinate is rounded to 1e-6 mm and lines within 1.5e-6 mm are one, along all
    /// outlines; and slivers below 1e-3 mm² are dropped, rarely more than one in general position. Two outlines that hardly
    /// differ leave one between a crossing and the next, at most as many as they have edges; each of them is looked at from
    /// outside.
    fn room(&self) -> f64 {
        let edges = || self.pair.a.edges().chain(self.pair.b.edges());
        let length: f64 = edges().map(Edge::length).sum();
        let n_slivers = if HARDLY_DIFFERENT.contains(&FAMILIES[self.family].0) {
            edges().count()
        } else {
            2
        };
        2e-6 * length + n_slivers as f64 * SLIVER_AREA_MM2
    }

    /// The case as one line of JSON. A ring is a list of edges: where each begins, and of an arc the centre, the radius and
    /// 1 for counter-clockwise, −1 for clockwise.
    fn line(&self) -> String {
        let mut out = format!(
            "{{\"family\":\"{}\",\"round\":{},\"by\":{:?}",
            FAMILIES[self.family].0, self.round, self.by
        );
        for (what, region) in [("a", &self.pair.a), ("b", &self.pair.b)] {
            write!(out, ",\"{what}\":").unwrap();
            write_regions(&mut out, std::slice::from_ref(region));
        }
        for (what, outcome) in &self.outcomes {
            write!(out, ",\"{what}\":").unwrap();
            match outcome {
                Ok(regions) => write_regions(&mut out, regions),
                Err(_) => out.push_str("null"),
            }
        }
        out.push_str("}\n");
        out
    }
}

fn area(regions: &[Region]) -> f64 {
    regions.iter().map(Region::area_mm2).sum()
}

/// What is wrong with a result: rings that cross, arcs that leave their circles.
fn unsound(regions: &[Region]) -> Option<String> {
    regions.iter().find_map(|region| {
        let stray =
            |e: &&Edge| deviation(e.start, e) > COINCIDENT || deviation(e.end, e) > COINCIDENT;
        match check_with_touching(region) {
            Err(fault) => Some(fault.to_string()),
            Ok(()) => region
                .edges()
                .find(stray)
                .map(|e| format!("an end off its circle: {e:?}")),
        }
    })
}

pub(crate) fn write_regions(out: &mut String, regions: &[Region]) {
    let list = |out: &mut String, k: usize| out.push_str(if k == 0 { "[" } else { "," });
    if regions.is_empty() {
        out.push('[');
    }
    for (k, region) in regions.iter().enumerate() {
        list(out, k);
        for (k, ring) in region.rings().enumerate() {
            list(out, k);
            for (k, edge) in ring.edges().iter().enumerate() {
                list(out, k);
                let Point { x, y } = edge.start;
                match edge.curve {
                    Curve::Line => write!(out, "[{x:?},{y:?}]").unwrap(),
                    Curve::Arc {
                        center: c,
                        radius,
                        ccw,
                    } => write!(
                        out,
                        "[{x:?},{y:?},{:?},{:?},{radius:?},{}]",
                        c.x,
                        c.y,
                        if ccw { 1 } else { -1 }
                    )
                    .unwrap(),
                }
            }
            out.push(']');
        }
        out.push(']');
    }
    out.push(']');
}

#[test]
fn random_pairs_of_ten_families_keep_the_algebra_of_areas() {
    let file = std::env::var_os("SEAMWRIGHT_PAIRS");
    let rounds = match std::env::var("SEAMWRIGHT_PAIRS_ROUNDS") {
        Ok(asked) => {
            let (first, last) = asked.split_once("..").unwrap();
            first.parse().unwrap()..last.parse().unwrap()
        }
        Err(_) => 0..if file.is_some() { ALL } else { FEW },
    };
    let all: Vec<(usize, u64)> = (0..FAMILIES.len())
        .flat_map(|family| rounds.clone().map(move |round| (family, round)))
        .collect();
    let judged: Vec<(String, Vec<String>)> = all
        .par_iter()
        .map(|&(family, round)| {
            let case = Case::new(family, round);
            let line = if file.is_some() {
                case.line()
            } else {
                String::new()
            };
            let name = case.name();
            let faults = case.faults();
            (
                line,
                faults.iter().map(|f| format!("{name}: {f}")).collect(),
            )
        })
        .collect();
    if let Some(path) = file {
        let text: Vec<&str> = judged.iter().map(|j| j.0.as_str()).collect();
        std::fs::write(path, text.concat()).unwrap();
    }
    let faults: Vec<&str> = judged
        .iter()
        .flat_map(|j| j.1.iter().map(String::as_str))
        .collect();
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        faults.join("\n")
    );
}

/// Family and round of pairs that failed once: the difference would not pass its own check, because a cusp between an arc and
/// what all but touches it ended in a spike that crossed itself by less than a rounding.
#[test]
fn cusps_between_an_arc_and_what_all_but_touches_it_do_not_cross_themselves() {
    for (family, round) in [
        ("combs", 379),
        ("combs", 417),
        ("combs", 541),
        ("dense and noisy", 163),
        ("dense and noisy", 323),
    ] {
        assert_eq!(case(family, round).faults(), Vec::<String>::new());
    }
}

/// A pair that failed once: an arc that all but touches a line ran backward, and the lines beside it, which are 2.4e-6 mm
/// apart, do not meet.
#[test]
fn lines_side_by_side_are_joined_by_a_step_where_an_arc_between_them_vanishes() {
    assert_eq!(case("combs", 661).faults(), Vec::<String>::new());
}

/// Pairs whose first shape, of hundreds of arcs, was moved by up to 1e-3 mm too much or too little in places. Of the two points
/// in which arcs cross the wrong one was taken, as the rest of a chord that was hardly longer than the grid's step told the
/// turn; in round 293 the chords could not tell that a third arc lies outside both. In the last three an arc went on where
/// another lies up to 3.5e-4 mm nearer, between places that were measured.
#[test]
fn offsets_of_many_arcs_keep_to_the_distance() {
    for round in [23, 293, 533, 605, 717, 893, 945, 1243, 1545, 1739] {
        let case = case("dense and noisy", round);
        let source: Vec<&Edge> = case.pair.a.edges().collect();
        for (what, outcome) in &case.outcomes[3..] {
            for edge in outcome.as_ref().unwrap().iter().flat_map(Region::edges) {
                for share in [0.0, 1.0 / 7.0, 0.15, 0.3, 0.5, 0.6, 0.75, 0.85] {
                    let p = edge.at(share);
                    let distance = source
                        .iter()
                        .map(|e| point_edge(p, e).0)
                        .fold(f64::INFINITY, f64::min);
                    // Two points within `COINCIDENT` are one, at either end of an edge.
                    assert!(
                        (distance - case.by).abs() <= 2.0 * COINCIDENT,
                        "{}: {what} lies {distance} off at {p:?}",
                        case.name()
                    );
                }
            }
        }
    }
}

fn case(family: &str, round: u64) -> Case {
    let found = FAMILIES.iter().position(|f| f.0 == family);
    Case::new(found.unwrap(), round)
}
