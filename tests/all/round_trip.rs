//! Cut files written and read back: the same curves, the same bytes, the same drawing in SVG.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::f64::consts::TAU;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use seamwright::drawing::{self, DrawingOptions};
use seamwright::geometry::bounds::Bounds;
use seamwright::geometry::edge::{Curve, Edge, SourceId};
use seamwright::geometry::path::Path;
use seamwright::geometry::point::Point;
use seamwright::geometry::region::Region;
use seamwright::geometry::ring::Ring;
use seamwright::model::cut_path::{CutPath, Operation, SheetCut, Stroke};
use seamwright::output::dxf::sheet_dxf;
use seamwright::output::options::{DxfRelease, LayerStyle, Options, Paper};
use seamwright::output::svg::sheet_svg;

const S: SourceId = SourceId(0);

/// Coordinates are written to 1e-9 mm: half of the last digit in x and y, plus the rounding of f64 at 1e3 mm.
const WRITTEN: f64 = 1.0e-9;

fn options(dxf: DxfRelease) -> Options {
    let style = |o: Operation| LayerStyle {
        name: o.word().to_owned(),
        color: None,
    };
    Options {
        paper: Paper::A4,
        paper_margin: 12.0,
        dxf,
        layers: Operation::ALL.map(style),
        inches: false,
    }
}

/// A star of lines and arcs around a centre: radii and bulges are held so that it does not cross itself.
fn star(draw: &mut Pcg64Mcg, center: Point, radius: f64) -> Ring {
    let n = draw.random_range(3..12);
    let corner = |k: usize, share: f64| {
        center + Point::at_angle(TAU * k as f64 / n as f64) * (radius * share)
    };
    let corners: Vec<Point> = (0..n)
        .map(|k| corner(k, draw.random_range(0.6..1.0)))
        .collect();
    let edges = (0..n).map(|k| {
        let bulge = if draw.random_range(0.0..1.0) < 0.5 {
            0.0
        } else {
            draw.random_range(-0.1..0.1)
        };
        Edge::from_bulge(corners[k], corners[(k + 1) % n], bulge, S)
    });
    Ring::new(edges.collect()).unwrap()
}

fn closed(operation: Operation, ring: Ring) -> CutPath {
    CutPath {
        operation,
        stroke: Stroke::Closed(ring),
        piece: None,
    }
}

/// The bare sheet.
fn plate() -> Region {
    let page = Bounds::new(Point::new(0.0, 0.0), Point::new(480.0, 360.0));
    Region::solid(Ring::rounded_box(page, 0.0, S))
}

/// A sheet with stars, circles and marks, the cut files' own order.
fn sheet(seed: u64) -> SheetCut {
    let mut draw = Pcg64Mcg::seed_from_u64(seed);
    let mut paths = Vec::new();
    for k in 0..12 {
        let center = Point::new(
            60.0 + 120.0 * f64::from(k % 4),
            60.0 + 120.0 * f64::from(k / 4),
        );
        let mark = Edge::line(
            center,
            center + Point::new(3.0, draw.random_range(1.0..4.0)),
            S,
        );
        paths.push(CutPath {
            operation: Operation::Engrave,
            stroke: Stroke::Open(Path::new(vec![mark]).unwrap()),
            piece: None,
        });
        let hole = Ring::circle(center, draw.random_range(1.0..20.0), S).reversed();
        paths.push(closed(Operation::CutInner, hole));
        paths.push(closed(Operation::CutOuter, star(&mut draw, center, 50.0)));
    }
    let page = Bounds::new(Point::new(0.0, 0.0), Point::new(480.0, 360.0));
    paths.push(closed(Operation::Sheet, Ring::rounded_box(page, 0.0, S)));
    SheetCut {
        paths,
        cut_length: 0.0,
        cut_time_s: 0.0,
    }
}

fn rings(cut: &SheetCut, operation: Operation) -> Vec<&Ring> {
    let own = cut.paths.iter().filter(|p| p.operation == operation);
    own.map(|p| match &p.stroke {
        Stroke::Closed(ring) => ring,
        Stroke::Open(_) => panic!("an open contour"),
    })
    .collect()
}

/// The rings of one layer of a written file, in the order of the file.
fn read_back(bytes: &[u8], layer: &str) -> Vec<Ring> {
    let options = DrawingOptions {
        layer: Some(layer),
        bare_unit_mm: 1.0,
        limits: seamwright::drawing::limits::Limits::default(),
    };
    let drawing = drawing::read("sheet.dxf", bytes, options).unwrap();
    assert!(drawing.findings.is_empty(), "{:?}", drawing.findings);
    let mut rings = drawing.regions.iter().map(|r| {
        assert!(r.holes().is_empty());
        r.outer().clone()
    });
    rings.by_ref().collect()
}

fn assert_same(found: &Edge, written: &Edge, what: &str) {
    for (a, b) in [
        (found.start, written.start),
        (found.end, written.end),
        (found.at(0.5), written.at(0.5)),
    ] {
        // The middle of an arc moves with both ends and with its bulge, written to 1e-12.
        assert!(
            a.distance(b) <= 4.0 * WRITTEN,
            "{what}: {a:?}, written {b:?}"
        );
    }
    match (found.curve, written.curve) {
        (Curve::Line, Curve::Line) => {}
        (Curve::Arc { radius: a, .. }, Curve::Arc { radius: b, ccw, .. }) => {
            assert_eq!(ccw, found.sweep() > 0.0, "{what}: sense");
            // A radius follows from chord and bulge: dr/r ≈ db/b + dc/c.
            let bulge = written.bulge().abs();
            let share = 1e-12 / bulge + 2.0 * WRITTEN / written.start.distance(written.end);
            assert!(
                (a - b).abs() <= 2.0 * b * share,
                "{what}: radius {a}, written {b}"
            );
        }
        other => panic!("{what}: {other:?}"),
    }
}

#[test]
fn a_cut_file_reads_back_as_the_contours_that_were_written() {
    for seed in 0..40 {
        let cut = sheet(seed);
        let bytes = sheet_dxf(&cut, &options(DxfRelease::R2000));
        for operation in [Operation::CutInner, Operation::CutOuter, Operation::Sheet] {
            let written = rings(&cut, operation);
            let found = read_back(&bytes, operation.word());
            assert_eq!(found.len(), written.len());
            for (a, b) in found.iter().zip(written) {
                let b = b.oriented(true);
                if let Some((center, radius)) = b.as_circle() {
                    let (c, r) = a.as_circle().unwrap();
                    assert!(c.distance(center) <= WRITTEN && (r - radius).abs() <= WRITTEN);
                    continue;
                }
                assert_eq!(a.edges().len(), b.edges().len(), "seed {seed}");
                // Turned round, a clockwise contour begins with its last edge.
                let begin = a
                    .edges()
                    .iter()
                    .position(|e| e.start.distance(b.edges()[0].start) < 1e-6)
                    .unwrap();
                for (i, written) in b.edges().iter().enumerate() {
                    let found = &a.edges()[(begin + i) % b.edges().len()];
                    assert_same(found, written, &format!("seed {seed}, edge {i}"));
                }
            }
        }
    }
}

#[test]
fn an_arc_of_almost_a_full_turn_keeps_its_circle() {
    // 350° of radius 10 and the chord that closes it; written as two halves of it.
    let (a, b) = (
        Point::at_angle(0.0) * 10.0,
        Point::at_angle(TAU * 350.0 / 360.0) * 10.0,
    );
    let ring = Ring::new(vec![
        Edge::arc(a, b, Point::new(0.0, 0.0), 10.0, true, S),
        Edge::line(b, a, S),
    ])
    .unwrap();
    let mut cut = sheet(0);
    cut.paths = vec![closed(Operation::CutOuter, ring)];
    let found = read_back(&sheet_dxf(&cut, &options(DxfRelease::R2000)), "CUT_OUTER");
    let arcs = found[0].edges().iter().filter_map(|e| match e.curve {
        Curve::Arc { center, radius, .. } => Some((center, radius)),
        Curve::Line => None,
    });
    for (center, radius) in arcs {
        assert!(
            center.length() <= 2.0 * WRITTEN && (radius - 10.0).abs() <= 2.0 * WRITTEN,
            "{center:?} {radius}"
        );
    }
    assert_eq!(found[0].edges().len(), 3);
}

#[test]
fn r12_holds_the_same_contours_as_polylines() {
    let cut = sheet(7);
    let bytes = sheet_dxf(&cut, &options(DxfRelease::R12));
    let drawing = dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
    assert_eq!(drawing.header.version, dxf::enums::AcadVersion::R12);
    let mut outers = rings(&cut, Operation::CutOuter).into_iter();
    for entity in drawing.entities().filter(|e| e.common.layer == "CUT_OUTER") {
        let dxf::entities::EntityType::Polyline(chain) = &entity.specific else {
            panic!("{:?}", entity.specific)
        };
        let written = outers.next().unwrap();
        assert!(chain.is_closed());
        let vertices: Vec<_> = chain.vertices().collect();
        assert_eq!(vertices.len(), written.edges().len());
        for (vertex, edge) in vertices.iter().zip(written.edges()) {
            let at = Point::new(vertex.location.x, vertex.location.y);
            assert!(at.distance(edge.start) <= WRITTEN);
            assert!(
                (vertex.bulge - edge.bulge()).abs() <= 1e-12,
                "written to twelve decimals"
            );
        }
    }
    assert_eq!(outers.next(), None);
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    for release in [DxfRelease::R2000, DxfRelease::R12] {
        let first = sheet_dxf(&sheet(3), &options(release));
        assert_eq!(first, sheet_dxf(&sheet(3), &options(release)));
        assert!(first.is_ascii());
    }
}

#[test]
fn layers_are_told_apart_by_name_and_colour_only_where_asked_for() {
    let mut options = options(DxfRelease::R2000);
    options.layers[1] = LayerStyle {
        name: String::from("Löcher: 1 → 2"),
        color: Some(3),
    };
    let bytes = sheet_dxf(&sheet(1), &options);
    let drawing = dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
    let layers: Vec<_> = drawing
        .layers()
        .map(|l| (l.name.as_str(), l.color.index(), l.is_layer_plotted))
        .collect();
    for expected in [
        ("ENGRAVE", Some(7), true),
        ("Löcher_ 1 → 2", Some(3), true),
        ("CUT_OUTER", Some(7), true),
        ("SHEET", Some(7), false),
    ] {
        assert!(layers.contains(&expected), "{expected:?} in {layers:?}");
    }
    assert!(drawing.entities().all(|e| e.common.color.is_by_layer()));
    let kinds = drawing.entities().map(|e| e.common.layer.as_str());
    let expected = sheet(1)
        .paths
        .iter()
        .map(|p| options.style(p.operation).name.replace(':', "_"))
        .collect::<Vec<_>>();
    assert_eq!(kinds.collect::<Vec<_>>(), expected, "the order of cutting");
    let svg = sheet_svg(&sheet(1), &[plate()], &options);
    assert!(svg.contains("stroke=\"#00ff00\""), "3 is green");
}

#[test]
fn an_svg_sheet_has_true_size_and_the_operations_as_groups() {
    let cut = sheet(2);
    let svg = sheet_svg(&cut, &[plate()], &options(DxfRelease::R2000));
    assert!(
        svg.contains("width=\"480mm\"")
            && svg.contains("height=\"360mm\"")
            && svg.contains("viewBox=\"0 0 480 360\"")
    );
    let mut groups: Vec<&str> = svg.split("<g").skip(1).collect();
    assert_eq!(groups.len(), 4);
    for (group, operation) in groups.drain(..).zip(Operation::ALL) {
        assert!(group.contains(&format!("id=\"{}\"", operation.word())));
        assert!(
            group.contains("stroke=\"#000\"")
                && group.contains("fill=\"none\"")
                && group.contains("stroke-width=\"0.1\"")
        );
        let drawn = group.matches("<path").count() + group.matches("<circle").count();
        assert_eq!(
            drawn,
            cut.paths
                .iter()
                .filter(|p| p.operation == operation)
                .count(),
            "{operation:?}"
        );
    }
    // The sheet runs counter-clockwise from its front-right corner: at the bottom in the file, which counts downward.
    assert!(svg.contains("M 480 360 L 480 0 L 0 0 L 0 360 Z"), "{svg}");
}
