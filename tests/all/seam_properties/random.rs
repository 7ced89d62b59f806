#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use seamwright::geometry::{
    boolean::difference, bounds::Bounds, point::Point, region::Region, ring::Ring,
};
use seamwright::model::cutter::{Axis, Turns};
use seamwright::model::layer::{Hole, Layer};
use seamwright::model::legal::LegalSpace;
use seamwright::model::plan::SeamLimits;
use seamwright::model::seam::{Joined, LayerSplit, Pattern};
use seamwright::model::source::SourceKind;
use seamwright::seam::legal::legal_space;
use seamwright::seam::options::{Bond, Options};

/// Numbers that are the same in every run: the multiplier and step of Knuth's MMIX generator, from memory.
pub(crate) struct Draws(pub(crate) u64);

impl Draws {
    pub(crate) fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }
}

pub(crate) fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Bounds {
    Bounds::new(Point::new(x0, y0), Point::new(x1, y1))
}

pub(crate) fn options(gap: f64) -> Options {
    Options {
        tooth: None,
        depth: None,
        corner_radius: 0.5,
        bond: Bond::Dry,
        limits: SeamLimits {
            gap,
            min_lap: 40.0,
            keep_clear: 8.0,
            min_piece: 60.0,
        },
    }
}

pub(crate) fn layer(shape: Vec<Region>, thickness: f64) -> Layer {
    Layer {
        name: "core".to_owned(),
        material: "MDF".to_owned(),
        thickness,
        shape,
        locating: Vec::new(),
        relief: Vec::new(),
        cut_width: 0.16,
        turns: Turns::Quarter,
        grain: None,
        own_kerf: None,
        own_turns: None,
        pattern: Some(Pattern::Knob),
        min_web: 2.0 * thickness,
    }
}

pub(crate) fn plate(width: f64, depth: f64, radius: f64) -> Region {
    Region::solid(Ring::rounded_box(
        rect(0.0, 0.0, width, depth),
        radius,
        SourceKind::Outline.id(0),
    ))
}

/// A plate, sometimes L-shaped, with pockets in a grid or round, and locating holes.
pub(crate) fn random_layer(draws: &mut Draws) -> Layer {
    let (w, d) = (draws.between(350.0, 800.0), draws.between(300.0, 600.0));
    let outer = match draws.below(3) {
        0 => {
            let (a, b) = (w * draws.between(0.4, 0.6), d * draws.between(0.4, 0.6));
            let corners = [(0.0, 0.0), (w, 0.0), (w, b), (a, b), (a, d), (0.0, d)]
                .map(|(x, y)| Point::new(x, y));
            Region::solid(Ring::polygon(&corners, SourceKind::Drawn.id(0)).unwrap())
        }
        1 => plate(w, d, 0.0),
        _ => plate(w, d, draws.between(2.0, 40.0)),
    };
    let mut out = layer(Vec::new(), [3.0, 4.0, 6.0][draws.below(3)]);
    let mut cut = Vec::new();
    let (px, py) = (draws.between(55.0, 130.0), draws.between(55.0, 130.0));
    let (hx, hy) = (
        px - draws.between(20.0, 45.0),
        py - draws.between(20.0, 45.0),
    );
    let (radius, round) = (draws.between(0.0, 15.0), draws.below(2) == 0);
    let mut index = 0;
    let mut y = 35.0;
    while draws.below(8) > 0 && y + hy < d - 35.0 {
        let mut x = 35.0;
        while x + hx < w - 35.0 {
            let place = rect(x, y, x + hx, y + hy);
            let id = SourceKind::Pocket.id(index);
            let pocket = if round {
                Ring::circle(place.center(), hx.min(hy) / 2.0, id)
            } else {
                Ring::rounded_box(place, radius, id)
            };
            cut.push(Region::solid(pocket));
            index += 1;
            x += px;
        }
        y += py;
    }
    for (k, center) in [Point::new(16.0, 16.0), Point::new(w / 3.0, 16.0)]
        .into_iter()
        .enumerate()
    {
        cut.push(Region::solid(Ring::circle(
            center,
            3.3,
            SourceKind::Locating.id(k),
        )));
        out.locating.push(Hole {
            center,
            diameter: 6.6,
            slot: 0.0,
            slot_deg: 0.0,
        });
    }
    out.shape = difference(&[outer], &cut).unwrap();
    out
}

pub(crate) fn draw_from(space: &LegalSpace, draws: &mut Draws, low: f64, high: f64) -> Option<f64> {
    let fit: Vec<(f64, f64)> = space
        .intervals
        .iter()
        .map(|i| (i.low.max(low), i.high.min(high)))
        .filter(|i| i.1 > i.0)
        .collect();
    let (a, b) = *fit.get(draws.below(fit.len().max(1)))?;
    Some(draws.between(a, b))
}

/// A split along legal base lines, seams at least 70 mm apart.
pub(crate) fn random_split(
    layer: &Layer,
    options: &Options,
    draws: &mut Draws,
) -> Option<LayerSplit> {
    let b = layer
        .shape
        .iter()
        .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
    let runs = [Axis::X, Axis::Y][draws.below(2)];
    let (along, over) = match runs {
        Axis::Y => ((b.min.y, b.max.y), (b.min.x, b.max.x)),
        Axis::X => ((b.min.x, b.max.x), (b.min.y, b.max.y)),
    };
    let space = legal_space(layer, runs, along, options);
    let n = draws.below(3);
    let mut at = Vec::new();
    let mut low = over.0 + 70.0;
    for k in 0..n {
        let high = over.1 - 70.0 * (n - k) as f64;
        at.push(draw_from(&space, draws, low, high.min(low + 250.0))?);
        low = at[k] + 70.0;
    }
    let mut across = Vec::new();
    for i in 0..=n {
        let strip = (
            if i == 0 { over.0 } else { at[i - 1] },
            at.get(i).copied().unwrap_or(over.1),
        );
        let space = legal_space(layer, runs.other(), strip, options);
        let place = draw_from(&space, draws, along.0 + 70.0, along.1 - 70.0);
        across.push(if draws.below(4) > 0 {
            place.into_iter().collect()
        } else {
            Vec::new()
        });
    }
    // Now and then a step: the strip between two through seams is shared out to both sides of it.
    let mut joined = Vec::new();
    if n == 2 && across[1].len() == 1 && draws.below(2) == 0 {
        let far = draws.below(2);
        let beside = |strip: usize, k: usize| {
            // The cell of the strip that lies there.
            across[strip]
                .iter()
                .filter(|at| {
                    if k == 0 {
                        **at <= along.0
                    } else {
                        **at <= across[1][0]
                    }
                })
                .count()
        };
        joined = vec![
            Joined {
                seam: 0,
                before: beside(0, far),
                behind: far,
            },
            Joined {
                seam: 1,
                before: 1 - far,
                behind: beside(2, 1 - far),
            },
        ];
    }
    let mut split = LayerSplit {
        runs,
        at,
        across,
        joined: Vec::new(),
    };
    // A neck between two seams is refused by the layout; it has a test of its own.
    let is_wide = |s: &Joined| {
        let (a, b) = (
            split.span_of((s.seam, s.before), along),
            split.span_of((s.seam + 1, s.behind), along),
        );
        a.1.min(b.1) - a.0.max(b.0) >= layer.min_web
    };
    if joined.iter().all(is_wide) {
        split.joined = joined;
    }
    Some(split)
}

/// A hole of 6.6 mm with what tells of it.
fn locate(layer: &mut Layer, center: Point) {
    layer.locating.push(Hole {
        center,
        diameter: 6.6,
        slot: 0.0,
        slot_deg: 0.0,
    });
}

fn circle(x: f64, y: f64, radius: f64, kind: SourceKind, index: usize) -> Region {
    Region::solid(Ring::circle(Point::new(x, y), radius, kind.id(index)))
}

/// Pockets in rows and columns that keep 24 mm from the edges of a plate: round ones, or square ones with round corners.
fn pockets(w: f64, d: f64, size: f64, web: f64, round: bool) -> Vec<Region> {
    let mut out = Vec::new();
    let (across, rows) = (
        (w - 48.0 + web) / (size + web),
        (d - 48.0 + web) / (size + web),
    );
    for k in 0..across as usize * rows as usize {
        let (i, j) = (k % across as usize, k / across as usize);
        let at = |i: usize| 24.0 + i as f64 * (size + web);
        let place = rect(at(i), at(j), at(i) + size, at(j) + size);
        let radius = if round { size / 2.0 } else { 4.0 };
        let pocket = Ring::rounded_box(place, radius, SourceKind::Pocket.id(k));
        out.push(Region::solid(pocket));
    }
    out
}

/// A layer of one of six kinds: a disc, an L, a plate with a hole of half its width, round pockets, webs narrower than teeth
/// are deep, a bare plate with locating holes.
pub(crate) fn varied_layer(draws: &mut Draws, kind: usize) -> Layer {
    let (w, d) = (draws.between(280.0, 520.0), draws.between(280.0, 520.0));
    let t = [2.0, 3.0, 4.0, 6.0][draws.below(4)];
    let mut out = layer(Vec::new(), t);
    let mut outer = plate(w, d, draws.between(0.0, 30.0));
    let mut cut = Vec::new();
    match kind % 6 {
        0 => {
            outer = circle(w / 2.0, w / 2.0, w / 2.0, SourceKind::Drawn, 0);
            cut.push(circle(w / 2.0, w * 0.7, w / 12.0, SourceKind::Opening, 0));
        }
        1 => {
            let (a, b) = (w * draws.between(0.4, 0.6), d * draws.between(0.4, 0.6));
            let corners = [(0.0, 0.0), (w, 0.0), (w, b), (a, b), (a, d), (0.0, d)]
                .map(|(x, y)| Point::new(x, y));
            outer = Region::solid(Ring::polygon(&corners, SourceKind::Drawn.id(0)).unwrap());
            locate(&mut out, Point::new(w * 0.8, b / 2.0));
        }
        2 => {
            let r = w.min(d) / 4.0;
            let x = draws.between(r + 20.0, w - r - 20.0);
            cut.push(circle(x, d / 2.0, r, SourceKind::Opening, 0));
        }
        3 => {
            let size = draws.between(45.0, 90.0);
            cut = pockets(w, d, size, draws.between(18.0, 45.0), true);
        }
        4 => {
            let web = draws.between(2.0 * t, 2.0 * t + 4.0);
            cut = pockets(w, d, draws.between(30.0, 70.0), web, draws.below(2) == 0);
        }
        _ => {
            for (x, y) in [(0.1, 0.1), (0.9, 0.1), (0.5, 0.55), (0.1, 0.9), (0.9, 0.9)] {
                locate(&mut out, Point::new(w * x, d * y));
            }
        }
    }
    cut.extend(
        out.locating
            .iter()
            .enumerate()
            .map(|(k, h)| circle(h.center.x, h.center.y, 3.3, SourceKind::Locating, k)),
    );
    out.shape = difference(&[outer], &cut).unwrap();
    out
}
