//! Chords in, loops around the result out, on the integer grid.
//!
//! The arrangement and its winding numbers come from the crate `i_overlay` in 64-bit integers; coinciding chords are
//! merged there and keep the source of lesser rank. Loops are put together here: at a node with several ways on the walk
//! keeps to the sharpest left, so that areas that touch in a node stay apart, and a loop that comes back to a node is
//! parted there. Loops then run with the area on their left, counter-clockwise around it and clockwise around holes, and
//! no loop visits a node twice.

use i_overlay::{
    core::{
        edge_data::{EdgeDataMerge, OverlayEdgeData},
        edge_overlay::{EdgeOverlay, InputEdge},
        fill_rule::FillRule,
        overlay::{IntOverlayOptions, ShapeType},
        overlay_rule::OverlayRule,
        solver::Solver,
    },
    i_float::int::point::IntPoint,
    segm::boolean::ShapeCountBoolean,
    vector::edge::{CLIP_LEFT, CLIP_RIGHT, SUBJ_LEFT, SUBJ_RIGHT},
};

use crate::geometry::weld::{Chord, Node, Source};

/// What is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// What lies in the subject or in the clip.
    Union,
    /// What lies in the subject and not in the clip.
    Difference,
    /// What lies in both.
    Intersection,
}

impl Rule {
    fn keeps(self, subject: bool, clip: bool) -> bool {
        match self {
            Self::Union => subject || clip,
            Self::Difference => subject && !clip,
            Self::Intersection => subject && clip,
        }
    }
}

/// The source of a chord, and its rank where chords coincide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Tag {
    rank: u32,
    source: u32,
}

impl OverlayEdgeData for Tag {
    type Store = ();

    fn merge(ctx: EdgeDataMerge<ShapeCountBoolean, Self>, _: &mut ()) -> Self {
        // What cancelled out before has no say.
        let counts = |c: ShapeCountBoolean| c.subj != 0 || c.clip != 0;
        match (counts(ctx.lhs_count), counts(ctx.rhs_count)) {
            (false, true) => ctx.rhs_data,
            (true, false) => ctx.lhs_data,
            _ => ctx.lhs_data.min(ctx.rhs_data),
        }
    }
}

/// A closed loop: each chord's beginning and source; it ends where the next begins.
pub(super) type Loop = Vec<(Node, u32)>;

/// A directed chord with the result on its left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Step {
    a: Node,
    b: Node,
    source: u32,
}

/// The loops around what the rule keeps, or the node at which the arrangement does not close.
pub(super) fn loops(chords: &[Chord], sources: &[Source], rule: Rule) -> Result<Vec<Loop>, Node> {
    let steps = steps(chords, sources, rule);
    let mut walk = Walk::new(&steps)?;
    let mut out = Vec::new();
    for first in 0..steps.len() {
        if !walk.used[first] {
            let round = walk.round(first)?;
            part(&steps, &walk, round, &mut out);
        }
    }
    Ok(out)
}

fn steps(chords: &[Chord], sources: &[Source], rule: Rule) -> Vec<Step> {
    let mut overlay = EdgeOverlay::<i64, Tag>::new(chords.len());
    overlay.options = IntOverlayOptions::keep_all_points();
    overlay.solver = Solver {
        multithreading: None,
        ..Solver::AUTO
    };
    for chord in chords {
        let source = &sources[chord.source as usize];
        let data = Tag {
            rank: source.rank,
            source: chord.source,
        };
        let side = if source.clip {
            ShapeType::Clip
        } else {
            ShapeType::Subject
        };
        overlay.add_edge(
            InputEdge {
                a: IntPoint::new(chord.a.0, chord.a.1),
                b: IntPoint::new(chord.b.0, chord.b.1),
                data,
            },
            side,
        );
    }
    let engine_rule = match rule {
        Rule::Union => OverlayRule::Union,
        Rule::Difference => OverlayRule::Difference,
        Rule::Intersection => OverlayRule::Intersect,
    };
    let mut steps = Vec::new();
    for edge in overlay.build_vectors(engine_rule, FillRule::NonZero) {
        let left = rule.keeps(edge.fill & SUBJ_LEFT != 0, edge.fill & CLIP_LEFT != 0);
        let right = rule.keeps(edge.fill & SUBJ_RIGHT != 0, edge.fill & CLIP_RIGHT != 0);
        let (a, b) = ((edge.a.x, edge.a.y), (edge.b.x, edge.b.y));
        match (left, right) {
            (true, false) => steps.push(Step {
                a,
                b,
                source: edge.data.source,
            }),
            (false, true) => steps.push(Step {
                a: b,
                b: a,
                source: edge.data.source,
            }),
            _ => {}
        }
    }
    steps.sort_unstable();
    steps
}

/// Walking from step to step.
struct Walk<'a> {
    steps: &'a [Step],
    /// The first step that begins where a step ends.
    onward: Vec<u32>,
    used: Vec<bool>,
}

impl<'a> Walk<'a> {
    fn new(steps: &'a [Step]) -> Result<Self, Node> {
        let mut onward = Vec::with_capacity(steps.len());
        for step in steps {
            let first = steps.partition_point(|s| s.a < step.b);
            if steps.get(first).is_none_or(|s| s.a != step.b) {
                return Err(step.b);
            }
            onward.push(first as u32);
        }
        Ok(Self {
            steps,
            onward,
            used: vec![false; steps.len()],
        })
    }

    /// The unused step that follows a step: of several the sharpest to the left.
    fn next(&self, step: usize) -> Option<usize> {
        let at = self.steps[step].b;
        let first = self.onward[step] as usize;
        let back = (self.steps[step].a.0 - at.0, self.steps[step].a.1 - at.1);
        let mut best: Option<usize> = None;
        for i in first..self.steps.len() {
            if self.steps[i].a != at {
                break;
            }
            if self.used[i] {
                continue;
            }
            if best.is_none_or(|b| is_sharper(back, self.direction(i), self.direction(b))) {
                best = Some(i);
            }
        }
        best
    }

    fn direction(&self, step: usize) -> Node {
        let s = &self.steps[step];
        (s.b.0 - s.a.0, s.b.1 - s.a.1)
    }

    /// Whether more than one step begins at the beginning of this one.
    fn is_branching(&self, step: usize) -> bool {
        let at = self.steps[step].a;
        self.steps.get(step + 1).is_some_and(|s| s.a == at)
            || (step > 0 && self.steps[step - 1].a == at)
    }

    /// The steps of one way round, which are used up.
    fn round(&mut self, first: usize) -> Result<Vec<usize>, Node> {
        let mut round = vec![first];
        self.used[first] = true;
        let mut last = first;
        while self.steps[last].b != self.steps[first].a || self.is_branching(first) {
            // At a branching the way round is over only when the walk would begin again with the first step.
            if self.steps[last].b == self.steps[first].a {
                self.used[first] = false;
                let again = self.next(last);
                self.used[first] = true;
                if again == Some(first) {
                    break;
                }
            }
            let Some(next) = self.next(last) else {
                return Err(self.steps[last].b);
            };
            self.used[next] = true;
            round.push(next);
            last = next;
        }
        Ok(round)
    }
}

/// Whether, turning clockwise from `back`, `u` comes before `v`.
fn is_sharper(back: Node, u: Node, v: Node) -> bool {
    let half = |w: Node| {
        let cross = cross(back, w);
        let ahead = i128::from(back.0) * i128::from(w.0) + i128::from(back.1) * i128::from(w.1);
        // Right of `back`, opposite, left of it, along it.
        match (cross.signum(), ahead > 0) {
            (-1, _) => 0,
            (0, false) => 1,
            (1, _) => 2,
            _ => 3,
        }
    };
    let (hu, hv) = (half(u), half(v));
    if hu == hv { cross(u, v) < 0 } else { hu < hv }
}

fn cross(u: Node, v: Node) -> i128 {
    i128::from(u.0) * i128::from(v.1) - i128::from(u.1) * i128::from(v.0)
}

/// Parts a way round into loops that visit no node twice.
fn part(steps: &[Step], walk: &Walk, round: Vec<usize>, out: &mut Vec<Loop>) {
    let close = |part: &[usize]| {
        part.iter()
            .map(|&i| (steps[i].a, steps[i].source))
            .collect::<Loop>()
    };
    if !round.iter().any(|&i| walk.is_branching(i)) {
        out.push(close(&round));
        return;
    }
    let mut open: Vec<usize> = Vec::new();
    for i in round {
        open.push(i);
        let at = steps[i].b;
        // Only branching nodes can come twice; the innermost visit is the latest.
        if let Some(from) = open
            .iter()
            .rposition(|&k| steps[k].a == at && (walk.is_branching(k) || k == open[0]))
        {
            out.push(close(&open[from..]));
            open.truncate(from);
        }
    }
}

/// Twice the signed area of a loop in square grid steps.
pub(super) fn doubled_area(nodes: &[(Node, u32)]) -> i128 {
    let Some(&(about, _)) = nodes.first() else {
        return 0;
    };
    let vector = |n: Node| (n.0 - about.0, n.1 - about.1);
    (0..nodes.len())
        .map(|i| cross(vector(nodes[i].0), vector(nodes[(i + 1) % nodes.len()].0)))
        .sum()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::geometry::{
        edge::{Edge, SourceId},
        point::Point,
    };

    /// Loops of polygons: each corner list is one ring; `clip` marks those of the clip.
    fn run(rings: &[(&[Node], bool)], rule: Rule) -> Vec<Loop> {
        let edge = Edge::line(Point::default(), Point::default(), SourceId(0));
        let (mut chords, mut sources) = (Vec::new(), Vec::new());
        for (ring, clip) in rings {
            for i in 0..ring.len() {
                chords.push(Chord {
                    a: ring[i],
                    b: ring[(i + 1) % ring.len()],
                    source: sources.len() as u32,
                });
                sources.push(Source {
                    edge,
                    clip: *clip,
                    rank: u32::from(*clip),
                });
            }
        }
        loops(&chords, &sources, rule).unwrap()
    }

    fn areas(found: &[Loop]) -> Vec<i128> {
        let mut areas: Vec<i128> = found.iter().map(|l| doubled_area(l) / 2).collect();
        areas.sort_unstable();
        areas
    }

    const SQUARE: [Node; 4] = [(0, 0), (10, 0), (10, 10), (0, 10)];

    #[test]
    fn coinciding_chords_keep_the_id_of_lesser_rank_and_cancel_where_they_face() {
        let right: [Node; 4] = [(10, 0), (20, 0), (20, 10), (10, 10)];
        let found = run(&[(&SQUARE, false), (&right, true)], Rule::Union);
        assert_eq!(areas(&found), [200]);
        // Source 1 is the square's right edge, 7 the neighbour's left: neither remains.
        assert!(found[0].iter().all(|s| s.1 != 1 && s.1 != 7), "{found:?}");
        let found = run(&[(&SQUARE, false), (&right, true)], Rule::Difference);
        assert_eq!(areas(&found), [100]);
        assert!(
            found[0].iter().all(|s| s.1 < 4),
            "the subject's ids win: {found:?}"
        );
        let found = run(&[(&SQUARE, true), (&SQUARE, false)], Rule::Union);
        assert!(
            found[0].iter().all(|s| s.1 >= 4),
            "the subject's ids win whatever the order: {found:?}"
        );
    }

    #[test]
    fn squares_that_touch_in_a_corner_stay_apart() {
        let other: [Node; 4] = [(10, 10), (20, 10), (20, 20), (10, 20)];
        assert_eq!(
            areas(&run(&[(&SQUARE, false), (&other, false)], Rule::Union)),
            [100, 100]
        );
    }

    #[test]
    fn a_hole_that_touches_the_rim_is_parted_from_it() {
        let hole: [Node; 3] = [(0, 0), (8, 4), (4, 8)];
        // 8 · 8 − 4 · 4 = 48, halved (hand calculation).
        assert_eq!(
            areas(&run(&[(&SQUARE, false), (&hole, true)], Rule::Difference)),
            [-24, 100]
        );
        let pinched: [Node; 6] = [(1, 1), (5, 1), (5, 5), (9, 9), (5, 9), (5, 5)];
        let found = run(&[(&SQUARE, false), (&pinched, true)], Rule::Difference);
        assert_eq!(found.len(), 3, "the rim and two holes: {found:?}");
    }

    #[test]
    fn a_ring_of_holes_that_touch_leaves_an_island() {
        // Three triangles around a middle, touching corner to corner.
        let (a, b, c): ([Node; 3], [Node; 3], [Node; 3]) = (
            [(2, 2), (4, 1), (8, 2)],
            [(8, 2), (9, 5), (5, 8)],
            [(5, 8), (1, 6), (2, 2)],
        );
        let found = run(
            &[(&SQUARE, false), (&a, true), (&b, true), (&c, true)],
            Rule::Difference,
        );
        // Doubled areas by shoelace: the island (2, 2), (8, 2), (5, 8) 6 · 6 = 36; the triangles 6, 15 and 18.
        let doubled: Vec<i128> = found.iter().map(|l| doubled_area(l)).collect();
        assert_eq!(found.len(), 3, "{found:?}");
        assert!(
            doubled.contains(&36) && doubled.contains(&200),
            "{doubled:?}"
        );
        assert_eq!(
            doubled.iter().sum::<i128>(),
            200 - 6 - 15 - 18,
            "{doubled:?}"
        );
    }
}
