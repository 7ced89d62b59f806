//! The lines of the fixture's outline files: what whoever places artwork needs to see.
//!
//! In: the fixture. Out: strokes in the bed's frame, each with what it belongs to: the bed, the layers' outline, pockets
//! without notches, notches as the discs they are drawn with, locating holes and reliefs, further openings, and a cross at
//! the datum. What several layers have in common is drawn once.

use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Edge;
use crate::geometry::path::Path;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::transform::Rotation;
use crate::model::cut_path::Stroke;
use crate::model::fixture::Fixture;
use crate::model::layer::Hole;
use crate::model::source::{SourceKind, meaning};

/// Length of each arm of the cross at the datum, in mm: seen at a glance, and short of any blank.
const ARM: f64 = 10.0;

/// What a line of the outline belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The bed, for reference.
    Bed,
    /// The outline of the layers.
    Outline,
    /// Pockets.
    Pocket,
    /// Notches.
    Notch,
    /// Locating holes and reliefs.
    Hole,
    /// Further openings.
    Opening,
    /// The cross at the datum.
    Datum,
}

impl Part {
    /// All of them, in the order in which they are drawn.
    pub const ALL: [Self; 7] = [
        Self::Bed,
        Self::Outline,
        Self::Pocket,
        Self::Notch,
        Self::Hole,
        Self::Opening,
        Self::Datum,
    ];

    /// The name of its DXF layer and SVG group.
    pub fn word(self) -> &'static str {
        match self {
            Self::Bed => "BED",
            Self::Outline => "OUTLINE",
            Self::Pocket => "POCKET",
            Self::Notch => "NOTCH",
            Self::Hole => "HOLE",
            Self::Opening => "OPENING",
            Self::Datum => "DATUM",
        }
    }
}

/// The strokes, part by part.
pub fn strokes(fixture: &Fixture) -> Vec<(Part, Stroke)> {
    let mut strokes = Vec::new();
    if fixture.has_bed {
        let [width, depth] = fixture.bed;
        let bed = Bounds::new(Point::new(0.0, 0.0), Point::new(width, depth));
        let ring = Ring::rounded_box(bed, 0.0, SourceKind::Outline.id(0));
        strokes.push((Part::Bed, Stroke::Closed(ring)));
    }
    let rings = |part: Part, regions: &mut dyn Iterator<Item = &Region>| {
        let rings = regions.flat_map(Region::rings);
        rings
            .map(|r| (part, Stroke::Closed(r.clone())))
            .collect::<Vec<_>>()
    };
    strokes.extend(rings(Part::Outline, &mut fixture.outline.iter()));
    strokes.extend(rings(
        Part::Pocket,
        &mut fixture.pockets.iter().map(|p| &p.region),
    ));
    strokes.extend(rings(Part::Notch, &mut fixture.notches.iter()));
    strokes.extend(holes(fixture));
    strokes.extend(openings(fixture));
    let reach = [Point::new(ARM, 0.0), Point::new(0.0, ARM)];
    for arm in reach {
        let (from, to) = (fixture.datum - arm, fixture.datum + arm);
        let line = Path::new(vec![Edge::line(from, to, SourceKind::Outline.id(0))]);
        strokes.extend(line.map(|l| (Part::Datum, Stroke::Open(l))));
    }
    strokes
}

/// Locating holes and reliefs of all layers, each once.
fn holes(fixture: &Fixture) -> Vec<(Part, Stroke)> {
    let mut seen: Vec<Hole> = Vec::new();
    for layer in &fixture.layers {
        for hole in layer.locating.iter().chain(&layer.relief) {
            if !seen.contains(hole) {
                seen.push(*hole);
            }
        }
    }
    let rings = seen.iter().filter_map(hole_ring);
    rings.map(|r| (Part::Hole, Stroke::Closed(r))).collect()
}

/// The edge of a hole: a circle, or two half circles with lines between.
fn hole_ring(hole: &Hole) -> Option<Ring> {
    let (radius, source) = (hole.diameter / 2.0, SourceKind::Locating.id(0));
    if hole.slot == 0.0 {
        return Some(Ring::circle(hole.center, radius, source));
    }
    let along = Rotation::from_degrees(hole.slot_deg).apply(Point::new(1.0, 0.0));
    let (half, side) = (along * (hole.slot / 2.0), along.left() * radius);
    let (a, b) = (hole.center - half, hole.center + half);
    Ring::new(vec![
        Edge::line(a - side, b - side, source),
        Edge::arc(b - side, b + side, b, radius, true, source),
        Edge::line(b + side, a + side, source),
        Edge::arc(a + side, a - side, a, radius, true, source),
    ])
}

/// What else is open in a layer: whole rings, or the runs of their edges that belong to an opening.
fn openings(fixture: &Fixture) -> Vec<(Part, Stroke)> {
    let is_opening =
        |e: &Edge| matches!(meaning(e.source).0, SourceKind::Opening | SourceKind::Drawn);
    let mut strokes: Vec<Stroke> = Vec::new();
    let regions = fixture.layers.iter().flat_map(|l| &l.shape);
    for ring in regions.flat_map(Region::holes) {
        let drawn = if ring.edges().iter().all(is_opening) {
            vec![Stroke::Closed(ring.clone())]
        } else {
            runs(ring, &is_opening)
        };
        for stroke in drawn {
            if !strokes.contains(&stroke) {
                strokes.push(stroke);
            }
        }
    }
    strokes.into_iter().map(|s| (Part::Opening, s)).collect()
}

/// The runs of a ring's edges that are picked; one edge at least is not.
fn runs(ring: &Ring, pick: &dyn Fn(&Edge) -> bool) -> Vec<Stroke> {
    let edges = ring.edges();
    let n = edges.len();
    let begin = edges.iter().position(|e| !pick(e)).unwrap_or(0);
    let mut runs: Vec<Vec<Edge>> = vec![Vec::new()];
    for i in 0..n {
        let edge = &edges[(begin + i) % n];
        match runs.last_mut() {
            Some(run) if pick(edge) => run.push(*edge),
            _ => runs.push(Vec::new()),
        }
    }
    runs.into_iter()
        .filter_map(Path::new)
        .map(Stroke::Open)
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
mod tests {
    use super::*;
    use crate::model::cutter::Turns;
    use crate::model::fixture::Pocket;
    use crate::model::layer::Layer;

    fn layer(holes: Vec<Ring>, locating: Vec<Hole>) -> Layer {
        let page = Bounds::new(Point::new(0.0, 0.0), Point::new(200.0, 100.0));
        let outer = Ring::rounded_box(page, 0.0, SourceKind::Outline.id(0));
        Layer {
            name: String::from("base"),
            material: String::from("MDF"),
            thickness: 3.0,
            shape: vec![Region::new(outer, holes)],
            locating,
            relief: Vec::new(),
            cut_width: 0.2,
            turns: Turns::Any,
            grain: None,
            own_kerf: None,
            own_turns: None,
            pattern: None,
            min_web: 6.0,
        }
    }

    fn fixture(layers: Vec<Layer>, has_bed: bool) -> Fixture {
        let pocket = Ring::circle(Point::new(50.0, 50.0), 20.0, SourceKind::Pocket.id(0));
        let center = Point::new(50.0, 50.0);
        Fixture {
            outline: vec![layers[0].shape[0].filled()],
            layers,
            pockets: vec![Pocket {
                column: 0,
                row: 0,
                region: Region::solid(pocket),
                corner: Point::new(30.0, 30.0),
                center,
                bed_center: center,
                angle_deg: 0.0,
            }],
            notches: Vec::new(),
            bed: [220.0, 120.0],
            has_bed,
            datum: Point::new(220.0, 0.0),
            datum_word: "front-right",
            setup: None,
        }
    }

    fn of(part: Part, fixture: &Fixture) -> Vec<Stroke> {
        let all = strokes(fixture).into_iter().filter(|(p, _)| *p == part);
        all.map(|(_, stroke)| stroke).collect()
    }

    #[test]
    fn an_opening_that_two_layers_share_is_drawn_once() {
        let opening = Ring::circle(Point::new(50.0, 50.0), 7.0, SourceKind::Opening.id(0));
        let layers = vec![layer(vec![opening.clone()], Vec::new()); 2];
        let drawn = of(Part::Opening, &fixture(layers, true));
        let [Stroke::Closed(ring)] = &drawn[..] else {
            panic!("{drawn:?}")
        };
        assert_eq!(ring.as_circle(), opening.as_circle());
    }

    #[test]
    fn of_an_opening_joined_with_a_pocket_its_own_edges_are_drawn() {
        let (pocket, opening) = (SourceKind::Pocket.id(0), SourceKind::Opening.id(0));
        let p = |x: f64, y: f64| Point::new(x, y);
        let corners = [p(30.0, 30.0), p(70.0, 30.0), p(70.0, 70.0), p(30.0, 70.0)];
        // The first and the last edge belong to the opening: one run across the ring's beginning.
        let edges = (0..4).map(|i| {
            let source = if i % 3 == 0 { opening } else { pocket };
            Edge::line(corners[i], corners[(i + 1) % 4], source)
        });
        let hole = Ring::new(edges.collect()).unwrap();
        let drawn = of(
            Part::Opening,
            &fixture(vec![layer(vec![hole], Vec::new())], true),
        );
        let [Stroke::Open(path)] = &drawn[..] else {
            panic!("{drawn:?}")
        };
        assert_eq!((path.start(), path.end()), (p(70.0, 30.0), p(30.0, 70.0)));
    }

    #[test]
    fn a_slot_has_the_outline_of_two_half_circles_and_two_lines() {
        let slot = Hole {
            center: Point::new(150.0, 50.0),
            diameter: 6.6,
            slot: 3.0,
            slot_deg: 30.0,
        };
        let drawn = of(
            Part::Hole,
            &fixture(vec![layer(Vec::new(), vec![slot, slot])], true),
        );
        let [Stroke::Closed(ring)] = &drawn[..] else {
            panic!("{drawn:?}")
        };
        let pi = std::f64::consts::PI;
        assert!(
            (ring.length() - (6.6 * pi + 6.0)).abs() < 1e-12,
            "closed form π·d + 2·s"
        );
        assert!(
            (ring.area_mm2() - (3.3 * 3.3 * pi + 3.0 * 6.6)).abs() < 1e-11,
            "closed form π·r² + s·d"
        );
    }

    #[test]
    fn the_cross_stands_at_the_datum_and_the_bed_is_drawn_where_there_is_one() {
        let layers = vec![layer(Vec::new(), Vec::new())];
        for has_bed in [true, false] {
            let fixture = fixture(layers.clone(), has_bed);
            assert_eq!(of(Part::Bed, &fixture).len(), usize::from(has_bed));
            for arm in of(Part::Datum, &fixture) {
                let Stroke::Open(path) = arm else {
                    panic!("a closed arm")
                };
                assert_eq!(path.start().toward(path.end(), 0.5), fixture.datum);
            }
        }
    }
}
