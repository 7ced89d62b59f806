//! From a loop of chords back to a ring of true edges.
//!
//! In: a loop on the grid, each chord with its source edge. Out: a ring whose arcs keep centre and radius to the bit and
//! whose ends are exact. Steps:
//! 1. Chords of one source edge form a *run*; runs on one line or circle with one id are joined.
//! 2. The *corner* between two runs is a welded vertex, as it was given, if one lies there and on both edges; otherwise
//!    the crossing of the two true curves that lies nearest and turns the way the chords turn. Where the curves run back
//!    over one another from that vertex, the corner is where they part.
//! 3. A run that thereby vanishes or runs backward was a trace of flattening or rounding: it is dropped, and the corner
//!    of its neighbours is sought. So is the shorter side of a spike no wider than a rounding.
//! 4. What is left becomes edges. A lone run round a circle is the circle.

use std::f64::consts::PI;

use crate::geometry::{
    angle,
    crossing::{carrier_crossings, deviation},
    distance::point_edge,
    edge::{Curve, Edge},
    overlay::Loop,
    point::Point,
    ring::Ring,
    tolerance::{COINCIDENT, GRID},
    weld::{Frame, Node, Source, Vertices},
};

/// Edges no longer than this are traces of rounding.
const TRACE: f64 = 3.0 * GRID;

/// By how much the exact crossing of two lines may lie off that of their chords: the chords' ends are rounded to the
/// grid, and lines at an angle of 1e-4 magnify that ten thousandfold.
const SLIDE: f64 = 1.0e-2;

/// What a loop turned out to be.
#[derive(Debug)]
pub(super) enum Traced {
    /// A ring, or several where it would touch itself.
    Rings(Vec<Ring>),
    /// Nothing but rounding.
    Nothing,
    /// The true curves do not meet where the chords do.
    Doubtful(Point),
}

/// The chords of one source edge in succession.
#[derive(Clone, Debug)]
struct Run {
    /// The source edge in the direction of travel.
    carrier: Edge,
    /// Length of its chords.
    length: f64,
    /// The angle that the chords of an arc turn through about its centre.
    swept: f64,
    /// Direction of the first and the last chord.
    first: Point,
    last: Point,
    /// The corner at which it begins.
    corner: Corner,
}

/// Where two runs meet on the chords.
#[derive(Clone, Debug)]
struct Corner {
    hint: Point,
    /// Given vertices that lie here.
    vertices: Vec<Point>,
    /// Whether the chords that meet here still tell which way the true curves turn.
    turns: bool,
    /// The exact end of the run before and beginning of the run after, once found.
    found: Option<(Point, Point)>,
}

impl Corner {
    /// The corner that is left where the run between two corners goes.
    fn between(start: &Self, end: &Self) -> Self {
        Self {
            hint: start.hint.toward(end.hint, 0.5),
            vertices: start
                .vertices
                .iter()
                .chain(&end.vertices)
                .copied()
                .collect(),
            turns: false,
            found: None,
        }
    }
}

/// Makes rings of a loop. Where `lenient`, curves that miss one another by the flatness are joined by a short line.
pub(super) fn rings(
    chords: &Loop,
    sources: &[Source],
    vertices: &Vertices,
    frame: &Frame,
    lenient: bool,
) -> Traced {
    let mut runs = runs(chords, sources, vertices, frame);
    join_all(&mut runs);
    loop {
        match runs.len() {
            0 => return Traced::Nothing,
            1 => return lone(&runs[0]),
            _ => {}
        }
        if let Err(place) = find_corners(&mut runs, lenient) {
            return Traced::Doubtful(place);
        }
        match faulty(&runs, lenient) {
            Fault::None => break,
            Fault::Drop(i, keep) => drop_run(&mut runs, i, keep),
            Fault::Stuck(place) => return Traced::Doubtful(place),
        }
    }
    Traced::Rings(part(edges(&runs)))
}

fn lone(run: &Run) -> Traced {
    match run.carrier.curve {
        Curve::Arc { center, radius, .. } if run.swept.abs() > PI => {
            Traced::Rings(vec![Ring::circle(center, radius, run.carrier.source)])
        }
        _ => Traced::Nothing,
    }
}

/// Groups chords by source, beginning where the source changes.
fn runs(chords: &Loop, sources: &[Source], vertices: &Vertices, frame: &Frame) -> Vec<Run> {
    let n = chords.len();
    let first = (0..n)
        .find(|&i| chords[i].1 != chords[(i + n - 1) % n].1)
        .unwrap_or(0);
    let mut runs: Vec<Run> = Vec::new();
    let mut source = u32::MAX;
    for k in 0..n {
        let (node, of) = chords[(first + k) % n];
        let (a, b) = (
            frame.point(node),
            frame.point(chords[(first + k + 1) % n].0),
        );
        if of != source || runs.is_empty() {
            source = of;
            runs.push(begin(&sources[of as usize].edge, node, a, b, vertices));
        }
        if let Some(run) = runs.last_mut() {
            run.length += a.distance(b);
            run.last = b - a;
            if let Curve::Arc { center, .. } = run.carrier.curve {
                let (u, v) = (a - center, b - center);
                run.swept += angle::atan2(u.cross(v), u.dot(v));
            }
        }
    }
    for run in &mut runs {
        orient(run);
    }
    runs
}

fn begin(edge: &Edge, node: Node, a: Point, b: Point, vertices: &Vertices) -> Run {
    let corner = Corner {
        hint: a,
        vertices: vertices.at(node).into_iter().collect(),
        turns: true,
        found: None,
    };
    Run {
        carrier: *edge,
        length: 0.0,
        swept: 0.0,
        first: b - a,
        last: b - a,
        corner,
    }
}

/// Turns the carrier the way the chords run.
fn orient(run: &mut Run) {
    let along = match run.carrier.curve {
        Curve::Line => (run.carrier.end - run.carrier.start).dot(run.first) >= 0.0,
        Curve::Arc { ccw, .. } => (run.swept >= 0.0) == ccw,
    };
    if !along {
        run.carrier = run.carrier.reversed();
    }
}

/// Whether two runs in succession are one: the same id, and one line or one circle run the same way.
fn are_one(a: &Run, b: &Run) -> bool {
    if a.carrier.source != b.carrier.source {
        return false;
    }
    match (a.carrier.curve, b.carrier.curve) {
        (Curve::Line, Curve::Line) => {
            let (u, v) = (
                a.carrier.end - a.carrier.start,
                b.carrier.end - b.carrier.start,
            );
            u.dot(v) > 0.0
                && deviation(b.carrier.start, &a.carrier) <= COINCIDENT
                && deviation(b.carrier.end, &a.carrier) <= COINCIDENT
        }
        (Curve::Arc { .. }, Curve::Arc { .. }) => a.carrier.curve == b.carrier.curve,
        _ => false,
    }
}

/// Joins run `i + 1` to run `i` (cyclically) if they are one.
fn join(runs: &mut Vec<Run>, i: usize) -> bool {
    let n = runs.len();
    let next = (i + 1) % n;
    if n < 2 || !are_one(&runs[i], &runs[next]) {
        return false;
    }
    let (length, swept, last, end) = (
        runs[next].length,
        runs[next].swept,
        runs[next].last,
        runs[next].carrier.end,
    );
    let run = &mut runs[i];
    run.length += length;
    run.swept += swept;
    run.last = last;
    if run.carrier.curve == Curve::Line {
        // The longer reach tells the line's direction better; on an arc the ends do not matter here.
        run.carrier.end = end;
    }
    runs.remove(next);
    true
}

fn join_all(runs: &mut Vec<Run>) {
    let mut i = 0;
    while i < runs.len() && runs.len() > 1 {
        if !join(runs, i) {
            i += 1;
        }
    }
}

/// Finds the exact place of every corner that has none yet.
fn find_corners(runs: &mut [Run], lenient: bool) -> Result<(), Point> {
    let n = runs.len();
    for i in 0..n {
        if runs[i].corner.found.is_some() {
            continue;
        }
        let before = (i + n - 1) % n;
        let found = corner(&runs[before], &runs[i], lenient).ok_or(runs[i].corner.hint)?;
        runs[i].corner.found = Some(found);
    }
    Ok(())
}

fn corner(before: &Run, after: &Run, lenient: bool) -> Option<(Point, Point)> {
    if let Some(p) = meeting(before, after, &after.corner) {
        return Some((p, p));
    }
    let at = after.corner.hint;
    lenient.then(|| (foot(at, &before.carrier), foot(at, &after.carrier)))
}

/// The point in which two runs meet near a corner of the chords, if there is one.
fn meeting(before: &Run, after: &Run, at: &Corner) -> Option<Point> {
    let (a, b) = (&before.carrier, &after.carrier);
    if let Some(&v) = at
        .vertices
        .iter()
        .find(|&&v| deviation(v, a) <= COINCIDENT && deviation(v, b) <= COINCIDENT)
    {
        return Some(parting(a, b, v).unwrap_or(v));
    }
    let turn = before.last.cross(after.first);
    // The ends of a chord are rounded to the grid: what is left of one may be too short to tell where it runs.
    let noise = 2.0 * GRID * (before.last.length() + after.first.length());
    let mut best: Option<(f64, Point)> = None;
    for p in carrier_crossings(a, b) {
        let true_turn = a.tangent_at(p).cross(b.tangent_at(p));
        // Curves that all but graze one another have no telling turn.
        let is_telling = at.turns && true_turn.abs() > 1e-3 && turn.abs() > noise;
        let distance = p.distance(at.hint);
        if (!is_telling || (true_turn > 0.0) == (turn > 0.0))
            && best.is_none_or(|(d, _)| distance < d)
        {
            best = Some((distance, p));
        }
    }
    let are_lines = a.curve == Curve::Line && b.curve == Curve::Line;
    // Lines cross where their chords do; where curves graze one another the crossing may slide, but not farther than the
    // runs are long.
    let reach = if are_lines {
        SLIDE
    } else {
        SLIDE + 0.5 * before.length.max(after.length)
    };
    if let Some((_, crossing)) = best.filter(|b| b.0 <= reach) {
        return Some(crossing);
    }
    // Side by side within a rounding: the point on an arc must keep to its circle; a line may give way.
    let (p, q) = (foot(at.hint, a), foot(at.hint, b));
    (p.distance(q) <= COINCIDENT).then_some(if b.curve == Curve::Line { p } else { q })
}

/// Where two curves part that from a vertex run back over one another, side by side within a rounding: the cusp between an
/// arc and what all but touches it would end in a spike that crosses itself. `None` where the vertex is the tip.
fn parting(a: &Edge, b: &Edge, v: Point) -> Option<Point> {
    let (out, back) = (a.tangent_at(v), b.tangent_at(v));
    if out.dot(back) >= 0.0 {
        return None;
    }
    let is_behind = |p: &Point| {
        let way = *p - v;
        let length = way.length();
        length > 4.0 * COINCIDENT
            && length <= SLIDE
            && way.dot(out) < 0.0
            && way.dot(back) > 0.0
            && deviation(foot(v.toward(*p, 0.5), a), b) <= COINCIDENT
    };
    carrier_crossings(a, b)
        .into_iter()
        .filter(is_behind)
        .max_by(|p, q| p.distance(v).total_cmp(&q.distance(v)))
}

/// The point of a carrier nearest to a point.
fn foot(p: Point, carrier: &Edge) -> Point {
    match carrier.curve {
        Curve::Line => {
            let unit = (carrier.end - carrier.start).unit();
            carrier.start + unit * (p - carrier.start).dot(unit)
        }
        Curve::Arc { center, radius, .. } => center + (p - center).unit() * radius,
    }
}

/// The exact ends of a run.
fn ends(runs: &[Run], i: usize) -> (Point, Point) {
    let hint = |run: &Run| (run.corner.hint, run.corner.hint);
    let start = runs[i].corner.found.unwrap_or_else(|| hint(&runs[i])).1;
    let next = &runs[(i + 1) % runs.len()];
    (start, next.corner.found.unwrap_or_else(|| hint(next)).0)
}

/// What of the corners at a dropped run's ends is kept.
#[derive(Clone, Copy, Debug)]
enum Keep {
    /// Both: the runs before and after meet somewhere between.
    Both,
    /// The one at its beginning: its end was the tip of a spike.
    Start,
    /// The one at its end: its beginning was the tip of a spike.
    End,
}

/// What is wrong with the runs.
enum Fault {
    None,
    /// This run is a trace of flattening or rounding.
    Drop(usize, Keep),
    /// A run goes backward, yet its neighbours do not meet without it.
    Stuck(Point),
}

/// The shortest run that vanishes or runs backward, or the first that is one side of a spike.
fn faulty(runs: &[Run], lenient: bool) -> Fault {
    let mut traces: Vec<usize> = (0..runs.len()).filter(|&i| vanishes(runs, i)).collect();
    traces.sort_by(|&a, &b| runs[a].length.total_cmp(&runs[b].length));
    for i in traces {
        let n = runs.len();
        let (before, after) = (&runs[(i + n - 1) % n], &runs[(i + 1) % n]);
        let at = Corner::between(&runs[i].corner, &after.corner);
        if n == 2 || are_one(before, after) || meeting(before, after, &at).is_some() {
            return Fault::Drop(i, Keep::Both);
        }
        // A short step between two lines side by side is no trace, if it runs forward.
        let (a, b) = ends(runs, i);
        if (b - a).dot(runs[i].carrier.tangent_at(a)) < 0.0 {
            // Its neighbours, side by side, may be joined where they miss one another.
            return if lenient {
                Fault::Drop(i, Keep::Both)
            } else {
                Fault::Stuck(a)
            };
        }
    }
    (0..runs.len())
        .find_map(|i| spike(runs, i))
        .map_or(Fault::None, |(i, keep)| Fault::Drop(i, keep))
}

fn vanishes(runs: &[Run], i: usize) -> bool {
    let (a, b) = ends(runs, i);
    let run = &runs[i];
    match run.carrier.curve {
        Curve::Line => (b - a).dot((run.carrier.end - run.carrier.start).unit()) <= TRACE,
        Curve::Arc { .. } if is_full_turn(runs, i) => false,
        Curve::Arc { radius, .. } => {
            let sweep = Edge {
                start: a,
                end: b,
                ..run.carrier
            }
            .sweep();
            // Run backward, an arc would go nearly all the way round.
            (sweep.abs() - run.swept.abs()).abs() > PI || sweep.abs() * radius <= TRACE
        }
    }
}

/// Whether an arc goes all the way round, from a point where another curve touches it and back.
fn is_full_turn(runs: &[Run], i: usize) -> bool {
    let (a, b) = ends(runs, i);
    runs[i].swept.abs() > PI && a.distance(b) <= TRACE
}

/// Whether runs `i` and `i + 1` are the sides of a spike no wider than a rounding; then the shorter one.
fn spike(runs: &[Run], i: usize) -> Option<(usize, Keep)> {
    let next = (i + 1) % runs.len();
    if is_full_turn(runs, i) || is_full_turn(runs, next) {
        return None;
    }
    let (edge, after) = (exact(runs, i), exact(runs, next));
    let (out, back) = (edge.end_tangent(), after.start_tangent());
    // Sides no wider apart than a rounding over a length of 0.01 mm, at least.
    if out.dot(back) >= 0.0 || out.cross(back).abs() > 1e-3 {
        return None;
    }
    if edge.length() <= after.length() {
        let lies_on = point_edge(edge.start, &after).0 <= TRACE
            && point_edge(edge.at(0.5), &after).0 <= TRACE;
        lies_on.then_some((i, Keep::Start))
    } else {
        let lies_on =
            point_edge(after.end, &edge).0 <= TRACE && point_edge(after.at(0.5), &edge).0 <= TRACE;
        lies_on.then_some((next, Keep::End))
    }
}

fn exact(runs: &[Run], i: usize) -> Edge {
    let (start, end) = ends(runs, i);
    Edge {
        start,
        end,
        ..runs[i].carrier
    }
}

fn drop_run(runs: &mut Vec<Run>, i: usize, keep: Keep) {
    let dropped = runs.remove(i);
    let n = runs.len();
    let after = i % n;
    let before = (after + n - 1) % n;
    let (start, end) = (dropped.corner, &runs[after].corner);
    let corner = match keep {
        Keep::Both => Corner::between(&start, end),
        Keep::Start => Corner {
            turns: false,
            found: None,
            ..start
        },
        Keep::End => Corner {
            turns: false,
            found: None,
            ..end.clone()
        },
    };
    runs[after].corner = corner;
    // The neighbours may be one now: an edge that a trace had interrupted.
    join(runs, before);
}

/// Edges of the runs; arcs over three quarters of a circle in two halves, so that their ends stay well apart.
fn edges(runs: &[Run]) -> Vec<Edge> {
    let mut edges = Vec::with_capacity(runs.len() + 2);
    for i in 0..runs.len() {
        let edge = exact(runs, i);
        let middle = match edge.curve {
            Curve::Arc { center, .. } if is_full_turn(runs, i) => {
                Some(center + center - edge.start)
            }
            Curve::Arc { .. } if edge.sweep().abs() > 1.5 * PI => Some(edge.at(0.5)),
            _ => None,
        };
        if let Some(middle) = middle {
            edges.push(Edge {
                end: middle,
                ..edge
            });
            edges.push(Edge {
                start: middle,
                ..edge
            });
        } else if edge.start != edge.end {
            edges.push(edge);
        }
        let start = ends(runs, (i + 1) % runs.len()).0;
        if edge.end != start {
            edges.push(Edge::line(edge.end, start, edge.source));
        }
    }
    edges
}

/// Parts a chain where it comes back to a point, as it does where curves touch, into rings that visit no point twice.
fn part(mut edges: Vec<Edge>) -> Vec<Ring> {
    let places = places(&edges);
    if places.iter().enumerate().all(|(i, &k)| i == k) {
        return finish(edges).into_iter().collect();
    }
    let starts: Vec<Point> = places.iter().map(|&k| edges[k].start).collect();
    let n = edges.len();
    let (mut rings, mut open) = (Vec::new(), Vec::<usize>::new());
    for i in 0..n {
        edges[i].start = starts[i];
        edges[i].end = starts[(i + 1) % n];
        open.push(i);
        if let Some(from) = open.iter().rposition(|&k| starts[k] == starts[(i + 1) % n]) {
            let part: Vec<Edge> = open[from..].iter().map(|&k| edges[k]).collect();
            rings.extend(finish(part));
            open.truncate(from);
        }
    }
    rings
}

/// For the start of each edge the first start in the chain that is the same point but for rounding.
fn places(edges: &[Edge]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..edges.len()).collect();
    order.sort_by(|&a, &b| {
        edges[a]
            .start
            .x
            .total_cmp(&edges[b].start.x)
            .then(a.cmp(&b))
    });
    let mut places: Vec<usize> = (0..edges.len()).collect();
    for (k, &i) in order.iter().enumerate() {
        for &j in order[..k].iter().rev() {
            let (p, q) = (edges[i].start, edges[j].start);
            if p.x - q.x > COINCIDENT {
                break;
            }
            if p.distance(q) <= COINCIDENT {
                let first = places[i].min(places[j]);
                places[i] = first;
                places[j] = first;
            }
        }
    }
    places
}

/// A ring of a closed chain, begun at its first point from the left; a whole circle as such.
fn finish(mut edges: Vec<Edge>) -> Option<Ring> {
    edges.retain(|e| e.start != e.end);
    let first = (0..edges.len()).min_by(|&a, &b| {
        let (p, q) = (edges[a].start, edges[b].start);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    })?;
    edges.rotate_left(first);
    let ring = Ring::new(edges)?;
    let source = ring.edges()[0].source;
    match ring.as_circle() {
        Some((center, radius)) if ring.edges().iter().all(|e| e.source == source) => {
            Some(Ring::circle(center, radius, source).oriented(ring.area_mm2() > 0.0))
        }
        _ => Some(ring),
    }
}
