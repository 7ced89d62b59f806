//! Families of pairs of shapes from fixed seeds: what drawings and seams make, and what is hard for booleans.

use rand::Rng;
use rand_pcg::Pcg64Mcg;
use seamwright::geometry::{
    bounds::Bounds,
    check::check,
    edge::{Edge, SourceId},
    point::Point,
    region::Region,
    ring::Ring,
    transform::{Pose, Rotation},
};

use super::{A, B, p};

/// A generator for one round of one family.
pub(crate) struct Draw(Pcg64Mcg);

impl Draw {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::new(
            0x5eed_0000_0000_0001 | (u128::from(seed) << 1),
        ))
    }

    /// A number in [low, high).
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64 * (high - low)
    }

    /// A whole number in [0, n).
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        self.0.next_u64() % n
    }
}

/// A pair of shapes.
pub(crate) struct Pair {
    pub(crate) a: Region,
    pub(crate) b: Region,
}

/// A family's name, and how it makes a pair.
type Family = (&'static str, fn(&mut Draw) -> Pair);

pub(crate) const FAMILIES: [Family; 9] = [
    ("random stars", stars),
    ("boxes on a coarse grid", boxes),
    (
        "boxes with round corners on a coarse grid, turned",
        turned_boxes,
    ),
    ("plates with holes", plates),
    ("one whole edge in common, turned", common_edge),
    ("a corner in common", common_corner),
    ("corners on the other's edge, turned", tees),
    ("combs 1e-12 to 1e-3 apart", combs),
    ("discs on a coarse grid, touching and coinciding", discs),
];

/// A star-shaped outline about a centre, half of them with arcs; always sound.
pub(crate) fn star(
    draw: &mut Draw,
    center: Point,
    least: f64,
    most: f64,
    source: SourceId,
) -> Region {
    let mut bend = if draw.below(2) == 0 { 0.0 } else { 0.25 };
    loop {
        let n = 5 + draw.below(12) as usize;
        let points: Vec<Point> = (0..n)
            .map(|k| {
                let angle = (k as f64 + draw.between(-0.3, 0.3)) / n as f64 * std::f64::consts::TAU;
                center + Point::at_angle(angle) * draw.between(least, most)
            })
            .collect();
        let edges = (0..n)
            .map(|k| {
                Edge::from_bulge(
                    points[k],
                    points[(k + 1) % n],
                    draw.between(-bend, bend),
                    source,
                )
            })
            .collect();
        let region = Region::solid(Ring::new(edges).unwrap());
        if check(&region).is_ok() {
            return region;
        }
        bend *= 0.7;
    }
}

fn stars(draw: &mut Draw) -> Pair {
    let at = p(draw.between(-15.0, 15.0), draw.between(-15.0, 15.0));
    Pair {
        a: star(draw, p(0.0, 0.0), 8.0, 20.0, A),
        b: star(draw, at, 5.0, 20.0, B),
    }
}

fn grid_box(draw: &mut Draw, step: f64, r: f64, source: SourceId) -> Region {
    let mut whole = |n: u64| step * draw.below(n) as f64;
    let min = p(whole(12), whole(12));
    let max = min + p(4.0 * step + whole(10), 4.0 * step + whole(10));
    Region::solid(Ring::rounded_box(Bounds::new(min, max), r, source))
}

fn boxes(draw: &mut Draw) -> Pair {
    // A tenth of a millimetre and a sixteenth of an inch: neither has an exact binary form.
    let step = if draw.below(2) == 0 { 0.1 } else { 25.4 / 16.0 };
    Pair {
        a: grid_box(draw, step, 0.0, A),
        b: grid_box(draw, step, 0.0, B),
    }
}

fn turned(draw: &mut Draw, pair: Pair) -> Pair {
    let pose = Pose {
        mirrored: draw.below(2) == 0,
        rotation: Rotation::from_degrees(draw.between(0.0, 360.0)),
        shift: p(draw.between(-300.0, 300.0), draw.between(-300.0, 300.0)),
    };
    Pair {
        a: pair.a.posed(pose),
        b: pair.b.posed(pose),
    }
}

fn turned_boxes(draw: &mut Draw) -> Pair {
    let r = [0.0, 1.5, 3.0][draw.below(3) as usize];
    let s = [0.0, 1.5, 3.0][draw.below(3) as usize];
    let pair = Pair {
        a: grid_box(draw, 2.0, r, A),
        b: grid_box(draw, 2.0, s, B),
    };
    turned(draw, pair)
}

fn plate(draw: &mut Draw, source: SourceId) -> Region {
    let outer = Ring::rounded_box(
        Bounds::new(p(0.0, 0.0), p(60.0, 40.0)),
        draw.between(0.0, 10.0),
        source,
    );
    let mut holes = Vec::new();
    for k in 0..6 {
        let center = p(
            10.0 + 20.0 * f64::from(k % 3),
            10.0 + 20.0 * f64::from(k / 3),
        ) + p(draw.between(-2.0, 2.0), draw.between(-2.0, 2.0));
        match draw.below(3) {
            0 => holes.push(Ring::circle(center, draw.between(0.5, 7.0), source)),
            1 => holes.push(star(draw, center, 2.0, 7.0, source).outer().clone()),
            _ => {}
        }
    }
    Region::new(outer, holes)
}

fn plates(draw: &mut Draw) -> Pair {
    let (a, b) = (plate(draw, A), plate(draw, B));
    let pose = Pose {
        mirrored: false,
        rotation: Rotation::from_degrees(draw.between(0.0, 360.0)),
        shift: p(draw.between(-20.0, 40.0), draw.between(-20.0, 30.0)),
    };
    Pair {
        a,
        b: b.posed(pose),
    }
}

fn common_edge(draw: &mut Draw) -> Pair {
    let a = star(draw, p(0.0, 0.0), 8.0, 20.0, A);
    let edges = a.outer().edges();
    let k = draw.below(edges.len() as u64) as usize;
    let edge = edges[k];
    // On the other side of the edge, or on the same side.
    let side = if draw.below(2) == 0 { 1.0 } else { -1.0 };
    let apex = edge.at(0.5) + (edge.end - edge.start).left() * (side * draw.between(0.6, 1.5));
    let ring = Ring::new(vec![
        Edge { source: B, ..edge },
        Edge::line(edge.end, apex, B),
        Edge::line(apex, edge.start, B),
    ])
    .unwrap();
    let pair = Pair {
        a,
        b: Region::solid(ring),
    };
    turned(draw, pair)
}

fn common_corner(draw: &mut Draw) -> Pair {
    let a = star(draw, p(0.0, 0.0), 8.0, 20.0, A);
    let center = p(draw.between(-20.0, 20.0), draw.between(-20.0, 20.0));
    let b = star(draw, center, 8.0, 20.0, B);
    let of = |r: &Region, k: u64| r.outer().edges()[k as usize % r.outer().edges().len()].start;
    let shift = of(&a, draw.below(50)) - of(&b, draw.below(50));
    Pair {
        a,
        b: b.posed(Pose::shifted(shift)),
    }
}

fn tees(draw: &mut Draw) -> Pair {
    let a = star(draw, p(0.0, 0.0), 8.0, 20.0, A);
    let edges = a.outer().edges();
    let on =
        |draw: &mut Draw| edges[draw.below(edges.len() as u64) as usize].at(draw.between(0.1, 0.9));
    let b = loop {
        let corners = [on(draw), on(draw), on(draw)];
        let ring = Ring::polygon(&corners, B);
        // No needle: its corner angles would leave the crossings ill placed.
        if let Some(ring) = ring.filter(|r| r.area_mm2().abs() > 10.0) {
            break Region::solid(ring);
        }
    };
    let pair = Pair { a, b };
    turned(draw, pair)
}

fn comb(teeth: usize, shift: f64, source: SourceId) -> Region {
    let mut points = vec![p(0.0, 0.0), p(4.0 * teeth as f64, 0.0)];
    for k in (0..teeth).rev() {
        let x = 4.0 * k as f64;
        points.extend(
            [
                p(x + 3.0, 10.0),
                p(x + 1.0, 10.0),
                p(x + 1.0, 2.0),
                p(x, 2.0),
            ]
            .map(|q| p(q.x, q.y + shift)),
        );
    }
    let last = points.len() - 1;
    points[last] = p(0.0, 2.0 + shift);
    Region::solid(Ring::polygon(&points, source).unwrap())
}

fn combs(draw: &mut Draw) -> Pair {
    let gap = 10.0_f64.powi(-(3 + draw.below(10) as i32));
    let sideways = gap * draw.between(-1.0, 1.0);
    let pose = Pose {
        mirrored: false,
        rotation: Rotation::from_degrees([0.0, 180.0][draw.below(2) as usize]),
        shift: p(sideways, [0.0, 8.0][draw.below(2) as usize]),
    };
    let pair = Pair {
        a: comb(8, 0.0, A),
        b: comb(8, gap, B).posed(pose),
    };
    turned(draw, pair)
}

fn discs(draw: &mut Draw) -> Pair {
    let mut disc = |source: SourceId| {
        let radius = [2.0, 3.0, 5.0, 7.0][draw.below(4) as usize];
        Region::solid(Ring::circle(
            p(draw.below(9) as f64, draw.below(9) as f64),
            radius,
            source,
        ))
    };
    let pair = Pair {
        a: disc(A),
        b: disc(B),
    };
    turned(draw, pair)
}
