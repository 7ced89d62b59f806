//! Ten families of pairs: what drawings and seams make, and what is hard for booleans.

use std::f64::consts::TAU;

use seamwright::geometry::{
    bounds::Bounds,
    check::check,
    edge::{Edge, SourceId},
    point::Point,
    region::Region,
    ring::Ring,
    transform::{Pose, Rotation},
};

use super::{A, B, Draw};

/// A pair of shapes.
pub(super) struct Pair {
    pub(super) a: Region,
    pub(super) b: Region,
}

/// A family's name, and how it makes a pair: with arcs or without, and by how much the first shape will be moved.
type Family = (&'static str, fn(&mut Draw, bool, f64) -> Pair);

pub(super) const FAMILIES: [Family; 10] = [
    ("stars", stars),
    ("tenths of a millimetre", tenths),
    ("sixteenths of an inch", sixteenths),
    ("collinear and turned", turned_grid),
    ("holes", holes),
    ("a whole edge in common", common_edge),
    ("corners in common", common_corners),
    ("corners on edges", tees),
    ("combs", combs),
    ("dense and noisy", noisy),
];

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn chance(draw: &mut Draw) -> bool {
    draw.below(2) == 0
}

fn pose(draw: &mut Draw) -> Pose {
    Pose {
        mirrored: chance(draw),
        rotation: Rotation::from_degrees(draw.between(0.0, 360.0)),
        shift: p(draw.between(-300.0, 300.0), draw.between(-300.0, 300.0)),
    }
}

/// Both in one pose; the second by way of another place half the time, so that what coincides differs in the last bits.
fn posed(draw: &mut Draw, a: &Region, b: &Region) -> Pair {
    let pose = pose(draw);
    let mut b = b.posed(pose);
    if chance(draw) {
        let away = p(draw.between(-99.0, 99.0), draw.between(-99.0, 99.0));
        b = b.posed(Pose::shifted(away)).posed(Pose::shifted(-away));
    }
    Pair {
        a: a.posed(pose),
        b,
    }
}

/// Draws until the shape is sound.
fn sound(mut make: impl FnMut() -> Option<Region>) -> Region {
    for _ in 0..1000 {
        if let Some(region) = make().filter(|r| check(r).is_ok()) {
            return region;
        }
    }
    panic!("a thousand shapes, none of them sound")
}

/// A polygon whose edges are bent, by bulges up to `bend`.
fn bent(draw: &mut Draw, points: &[Point], bend: f64, source: SourceId) -> Option<Ring> {
    let n = points.len();
    Ring::new(
        (0..n)
            .map(|k| {
                // Some edges stay straight.
                let bulge = if draw.below(4) == 0 {
                    0.0
                } else {
                    draw.between(-bend, bend)
                };
                Edge::from_bulge(points[k], points[(k + 1) % n], bulge, source)
            })
            .collect(),
    )
}

/// A polygon with round corners, tangent to its edges; they begin `reach` before each corner, or halfway along an edge.
fn rounded(points: &[Point], reach: f64, source: SourceId) -> Option<Ring> {
    let n = points.len();
    let mut pieces: Vec<Edge> = Vec::with_capacity(2 * n);
    // Of each corner: where its arc begins and ends, and the arc.
    let corners: Vec<(Point, Point, Option<Edge>)> = (0..n)
        .map(|k| {
            let (before, v, after) = (points[(k + n - 1) % n], points[k], points[(k + 1) % n]);
            let (u, w) = ((before - v).unit(), (after - v).unit());
            let cos = u.dot(w);
            if cos.abs() > 0.999 {
                return (v, v, None);
            }
            let reach = reach
                .min(0.5 * v.distance(before))
                .min(0.5 * v.distance(after));
            let radius = reach * ((1.0 - cos) / (1.0 + cos)).sqrt();
            let center = v + (u + w).unit() * (reach * reach + radius * radius).sqrt();
            let (from, to) = (v + u * reach, v + w * reach);
            let ccw = (v - before).cross(after - v) > 0.0;
            (
                from,
                to,
                Some(Edge::arc(from, to, center, radius, ccw, source)),
            )
        })
        .collect();
    for k in 0..n {
        let next = corners[(k + 1) % n].0;
        let mut end = corners[k].1;
        if end.distance(next) < 1e-9 {
            end = next;
        }
        if let Some(arc) = corners[k].2 {
            pieces.push(Edge { end, ..arc });
        }
        if end != next {
            pieces.push(Edge::line(end, next, source));
        }
    }
    Ring::new(pieces)
}

/// A ring through points, as they are or with one of the sorts of arcs.
fn ring(draw: &mut Draw, points: &[Point], curved: bool, source: SourceId) -> Option<Ring> {
    match (curved, draw.below(2)) {
        (false, _) => Ring::polygon(points, source),
        (true, 0) => {
            let bend = [0.02, 0.1, 0.25][draw.below(3) as usize];
            bent(draw, points, bend, source)
        }
        (true, _) => {
            let reach = [0.1, 0.5, 2.0][draw.below(3) as usize];
            rounded(points, reach, source)
        }
    }
}

/// Corners in order of their angle about a centre.
fn around(draw: &mut Draw, center: Point, least: f64, most: f64) -> Vec<Point> {
    let n = 5 + draw.below(12) as usize;
    (0..n)
        .map(|k| {
            let angle = (k as f64 + draw.between(-0.3, 0.3)) / n as f64 * TAU;
            center + Point::at_angle(angle) * draw.between(least, most)
        })
        .collect()
}

fn star(
    draw: &mut Draw,
    center: Point,
    radii: (f64, f64),
    curved: bool,
    source: SourceId,
) -> Region {
    sound(|| {
        let points = around(draw, center, radii.0, radii.1);
        ring(draw, &points, curved, source).map(Region::solid)
    })
}

fn disc(center: Point, radius: f64, source: SourceId) -> Region {
    Region::solid(Ring::circle(center, radius, source))
}

fn stars(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    let at = p(draw.between(-15.0, 15.0), draw.between(-15.0, 15.0));
    let a = star(draw, p(0.0, 0.0), (8.0, 20.0), curved, A);
    let b = if curved && draw.below(4) == 0 {
        disc(at, draw.between(1.0, 15.0), B)
    } else {
        star(draw, at, (5.0, 20.0), curved, B)
    };
    Pair { a, b }
}

/// Columns side by side, each with its own bottom and top, on a grid.
fn skyline(draw: &mut Draw, step: f64, curved: bool, source: SourceId) -> Region {
    let at = |x: u64, y: u64| p(step * x as f64, step * y as f64);
    sound(|| {
        let mut x = draw.below(12);
        let lift = draw.below(12);
        let (mut below, mut above) = (Vec::new(), Vec::new());
        for _ in 0..3 + draw.below(6) {
            let width = 1 + draw.below(10);
            let (bottom, top) = (lift + draw.below(6), lift + 7 + draw.below(12));
            below.extend([at(x, bottom), at(x + width, bottom)]);
            above.extend([at(x, top), at(x + width, top)]);
            x += width;
        }
        below.extend(above.into_iter().rev());
        below.dedup();
        let reach = step * [0.5, 1.0, 2.0][draw.below(3) as usize];
        let ring = if curved {
            rounded(&below, reach, source)
        } else {
            Ring::polygon(&below, source)
        };
        ring.map(Region::solid)
    })
}

fn on_grid(draw: &mut Draw, step: f64, curved: bool) -> Pair {
    let a = skyline(draw, step, curved, A);
    let b = if curved && draw.below(3) == 0 {
        let at = p(
            step * draw.below(40) as f64,
            step * (5 + draw.below(20)) as f64,
        );
        disc(at, step * (1 + draw.below(15)) as f64, B)
    } else {
        skyline(draw, step, curved, B)
    };
    Pair { a, b }
}

fn tenths(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    // Wholes of the grid, as small and as large shapes are drawn.
    let step = 0.1 * [1.0, 5.0, 20.0][draw.below(3) as usize];
    on_grid(draw, step, curved)
}

fn sixteenths(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    on_grid(draw, 25.4 / 16.0, curved)
}

fn turned_grid(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    let step = draw.between(0.3, 3.0);
    let Pair { a, b } = on_grid(draw, step, curved);
    posed(draw, &a, &b)
}

fn plate(draw: &mut Draw, curved: bool, source: SourceId) -> Region {
    let (round, sharp) = (draw.between(0.5, 10.0), 0.0);
    let outer = Ring::rounded_box(
        Bounds::new(p(0.0, 0.0), p(60.0, 40.0)),
        if curved { round } else { sharp },
        source,
    );
    let mut holes = Vec::new();
    for k in 0..6 {
        let center = p(
            10.0 + 20.0 * f64::from(k % 3),
            10.0 + 20.0 * f64::from(k / 3),
        ) + p(draw.between(-2.0, 2.0), draw.between(-2.0, 2.0));
        match draw.below(4) {
            0 => {}
            1 if curved => holes.push(Ring::circle(center, draw.between(0.5, 7.0), source)),
            _ => holes.push(
                star(draw, center, (1.0, 7.0), curved, source)
                    .outer()
                    .clone(),
            ),
        }
    }
    Region::new(outer, holes)
}

fn holes(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    let a = sound(|| Some(plate(draw, curved, A)));
    let b = sound(|| Some(plate(draw, curved, B)));
    let place = match draw.below(3) {
        // The same place: rims coincide and holes lie in one another; beside; anyhow.
        0 => Pose::shifted(p(0.0, 0.0)),
        1 => Pose::shifted(p(20.0, 20.0 * draw.below(2) as f64)),
        _ => Pose {
            mirrored: false,
            rotation: Rotation::from_degrees(draw.between(0.0, 360.0)),
            shift: p(draw.between(-20.0, 40.0), draw.between(-20.0, 30.0)),
        },
    };
    posed(draw, &a, &b.posed(place))
}

fn picked(draw: &mut Draw, region: &Region) -> Edge {
    let edges = region.outer().edges();
    edges[draw.below(edges.len() as u64) as usize]
}

fn common_edge(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    let a = star(draw, p(0.0, 0.0), (8.0, 20.0), curved, A);
    let edge = picked(draw, &a);
    let b = sound(|| {
        // On the other side of the edge or on the same side; from a sharp to a blunt apex, with a corner on the way.
        let side = if chance(draw) { 1.0 } else { -1.0 };
        let apex = edge.at(0.5) + (edge.end - edge.start).left() * (side * draw.between(0.3, 2.5));
        let way = edge.end.toward(apex, draw.between(0.3, 0.7))
            + p(draw.between(-3.0, 3.0), draw.between(-3.0, 3.0));
        Ring::new(vec![
            Edge { source: B, ..edge },
            Edge::line(edge.end, way, B),
            Edge::line(way, apex, B),
            Edge::line(apex, edge.start, B),
        ])
        .map(Region::solid)
    });
    posed(draw, &a, &b)
}

/// A shape through some given points and some of its own, in order of angle about a centre.
fn through(draw: &mut Draw, given: &[Point], curved: bool) -> Option<Region> {
    let center = p(draw.between(-15.0, 15.0), draw.between(-15.0, 15.0));
    let own = around(draw, center, 5.0, 20.0);
    let n_own = 2 + draw.below(4) as usize;
    let mut points: Vec<Point> = own
        .into_iter()
        .take(n_own)
        .chain(given.iter().copied())
        .collect();
    points.sort_by(|u, v| (*u - center).angle().total_cmp(&(*v - center).angle()));
    points.dedup();
    let ring = if curved {
        bent(draw, &points, 0.2, B)
    } else {
        Ring::polygon(&points, B)
    };
    ring.map(Region::solid)
}

fn common_corners(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    let a = star(draw, p(0.0, 0.0), (8.0, 20.0), curved, A);
    let b = sound(|| {
        let given: Vec<Point> = (0..1 + draw.below(3))
            .map(|_| picked(draw, &a).start)
            .collect();
        through(draw, &given, curved)
    });
    posed(draw, &a, &b)
}

fn tees(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    let a = star(draw, p(0.0, 0.0), (8.0, 20.0), curved, A);
    let b = if draw.below(3) > 0 {
        sound(|| {
            let given: Vec<Point> = (0..1 + draw.below(3))
                .map(|_| {
                    let share = [0.5, 1.0 / 3.0, draw.between(0.05, 0.95)][draw.below(3) as usize];
                    picked(draw, &a).at(share)
                })
                .collect();
            through(draw, &given, curved)
        })
    } else {
        // The other way: an edge of the second runs through corners of the first.
        sound(|| {
            let (v, w) = (picked(draw, &a).start, picked(draw, &a).start);
            let along = if v == w || chance(draw) {
                Point::at_angle(draw.between(0.0, TAU))
            } else {
                (w - v).unit()
            };
            let (from, to) = (
                v - along * draw.between(1.0, 20.0),
                v + along * draw.between(1.0, 40.0),
            );
            let apex =
                from.toward(to, draw.between(0.0, 1.0)) + along.left() * draw.between(-20.0, 20.0);
            Ring::polygon(&[from, to, apex], B).map(Region::solid)
        })
    };
    posed(draw, &a, &b)
}

fn comb(teeth: usize, gap: f64, reach: Option<f64>, source: SourceId) -> Region {
    let mut points = vec![p(0.0, 0.0), p(4.0 * teeth as f64, 0.0)];
    for k in (0..teeth).rev() {
        let x = 4.0 * k as f64;
        points.extend([
            p(x + 3.0, 10.0 + gap),
            p(x + 1.0, 10.0 + gap),
            p(x + 1.0, 2.0 + gap),
            p(x, 2.0 + gap),
        ]);
    }
    let ring = match reach {
        Some(reach) => rounded(&points, reach, source),
        None => Ring::polygon(&points, source),
    };
    Region::solid(ring.unwrap())
}

fn combs(draw: &mut Draw, curved: bool, _: f64) -> Pair {
    // 1e-12 to 1e-3.
    let gap = 10.0_f64.powi(-(3 + draw.below(10) as i32)) * draw.between(0.1, 1.0);
    let sideways = gap * draw.between(-1.0, 1.0);
    let teeth = 2 + draw.below(8) as usize;
    let reach = curved.then(|| [0.25, 0.5, 1.0][draw.below(3) as usize]);
    let facing = draw.below(3);
    let place = match facing {
        0 => Pose::shifted(p(sideways, 0.0)),
        1 => Pose::shifted(p(sideways + 4.0, 0.0)),
        // Teeth into gaps.
        _ => Pose {
            mirrored: false,
            rotation: Rotation::from_degrees(180.0),
            shift: p(4.0 * teeth as f64 + 2.0 + sideways, 12.0),
        },
    };
    let (a, b) = (comb(teeth, 0.0, reach, A), comb(teeth, gap, reach, B));
    posed(draw, &a, &b.posed(place))
}

/// A noisy outline with holes that growing by `by` closes just so, not quite, or easily.
fn rough(draw: &mut Draw, curved: bool, by: f64, n: usize, source: SourceId) -> Region {
    let size = draw.between(12.0, 40.0);
    let (lobes, phase) = (2.0 + draw.below(4) as f64, draw.between(0.0, TAU));
    let noise = [0.001, 0.01, 0.05][draw.below(3) as usize];
    sound(|| {
        let points: Vec<Point> = (0..n)
            .map(|k| {
                let angle = k as f64 / n as f64 * TAU;
                let radius = size * (1.0 + 0.2 * (lobes * angle + phase).cos());
                Point::at_angle(angle) * (radius + draw.between(-noise, noise))
            })
            .collect();
        let outer = if curved {
            bent(draw, &points, 0.05, source)?
        } else {
            Ring::polygon(&points, source)?
        };
        let mut holes = Vec::new();
        let reach = by.min(size / 8.0);
        for k in 0..4 {
            let angle = (f64::from(k) + draw.between(-0.1, 0.1)) / 4.0 * TAU;
            let center = Point::at_angle(angle) * (0.4 * size);
            let radius = reach * [0.3, 0.999, 1.0, 1.001, 1.2][draw.below(5) as usize];
            match draw.below(3) {
                0 => {}
                1 if curved => holes.push(Ring::circle(center, radius, source)),
                _ => {
                    let corner = p(radius * draw.between(1.0, 1.5), radius);
                    let bounds = Bounds::new(center - corner, center + corner);
                    let round = if curved { radius } else { 0.0 };
                    holes.push(Ring::rounded_box(bounds, round, source));
                }
            }
        }
        Some(Region::new(outer, holes))
    })
}

fn relabelled(region: &Region) -> Region {
    let holes = region.holes().iter().map(|h| h.with_source(B)).collect();
    Region::new(region.outer().with_source(B), holes)
}

fn noisy(draw: &mut Draw, curved: bool, by: f64) -> Pair {
    let n = 100 + draw.below(300) as usize;
    let a = rough(draw, curved, by, n, A);
    let b = if chance(draw) {
        // The same outline, hardly moved: hundreds of crossings.
        let off = [0.001, 0.01, 0.1][draw.below(3) as usize];
        let other = Pose {
            mirrored: false,
            rotation: Rotation::from_degrees(draw.between(0.0, 0.1)),
            shift: p(off, draw.between(-off, off)),
        };
        relabelled(&a.posed(other))
    } else {
        let n = 100 + draw.below(300) as usize;
        let shift = p(draw.between(-20.0, 20.0), draw.between(-20.0, 20.0));
        rough(draw, curved, by, n, B).posed(Pose::shifted(shift))
    };
    posed(draw, &a, &b)
}
