//! Drawings read: every sample has the figures that an independent reader measures, every malformed one is refused with its
//! place, and no bytes make the reader panic.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::collections::BTreeMap;
use std::fs;

use seamwright::drawing::error::DrawingError;
use seamwright::drawing::{self, Drawing, DrawingOptions};
use seamwright::geometry::bounds::Bounds;
use seamwright::geometry::check::check;
use seamwright::geometry::edge::Curve;
use seamwright::geometry::point::Point;
use seamwright::geometry::ring::Ring;
use seamwright::model::fault::Place;
use seamwright::model::source::{SourceKind, meaning};

const SAMPLES: &str = "fixtures/drawings/dxf";
const MALFORMED: &str = "fixtures/malformed/dxf";

fn read_bytes(bytes: &[u8], layer: Option<&str>) -> Result<Drawing, Vec<DrawingError>> {
    let options = DrawingOptions {
        layer,
        bare_unit_mm: 1.0,
    };
    drawing::read("plate.dxf", bytes, options)
}

fn sample(name: &str) -> Vec<u8> {
    fs::read(format!("{SAMPLES}/{name}.dxf")).unwrap()
}

fn sound(name: &str, layer: Option<&str>) -> Drawing {
    read_bytes(&sample(name), layer).unwrap_or_else(|e| panic!("{name}: {e:#?}"))
}

/// The only ring of a drawing.
fn ring(name: &str) -> Ring {
    let drawing = sound(name, None);
    assert_eq!(drawing.regions.len(), 1, "{name}");
    drawing.regions[0].outer().clone()
}

fn codes(drawing: &Drawing) -> Vec<&'static str> {
    drawing.findings.iter().map(|f| f.code).collect()
}

fn assert_near(found: f64, expected: f64, tolerance: f64, what: &str) {
    let off = (found - expected).abs();
    assert!(
        off <= tolerance,
        "{what}: {found}, expected {expected}, off by {off:e}"
    );
}

#[test]
fn every_sample_measures_what_an_independent_reader_measures() {
    // ezdxf and Shapely, by tests/outside/make_drawings.py, which flattens arcs with a sagitta of 1e-6 mm: the area is off by
    // less than that times the length, a box by less than it; both are written to six decimals. Where a gap of at most
    // 0.1 mm is closed, the two may close it in different ways.
    let table = fs::read_to_string(format!("{SAMPLES}/figures.csv")).unwrap();
    let mut names = Vec::new();
    for row in table.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let (name, layer) = (cells[0], Some(cells[1]).filter(|l| !l.is_empty()));
        let figure = |i: usize| cells[i].parse::<f64>().unwrap();
        let drawing = sound(name, layer);
        let regions = &drawing.regions;
        assert_eq!(regions.len() as f64, figure(2), "{name}: regions");
        let rings: Vec<&Ring> = regions.iter().flat_map(|r| r.rings()).collect();
        assert_eq!(rings.len() as f64, figure(3), "{name}: rings");
        let gap = if name.starts_with("gap/") { 0.1 } else { 0.0 };
        let (length, area): (f64, f64) = (
            rings.iter().map(|r| r.length()).sum(),
            regions.iter().map(|r| r.area_mm2()).sum(),
        );
        assert_near(
            area,
            figure(4),
            (2e-6 + gap) * length,
            &format!("{name}: area"),
        );
        assert_near(
            length,
            figure(5),
            1e-6 * length + 2.0 * gap,
            &format!("{name}: length"),
        );
        let found = regions
            .iter()
            .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
        for (i, v) in [found.min.x, found.min.y, found.max.x, found.max.y]
            .into_iter()
            .enumerate()
        {
            assert_near(v, figure(6 + i), 2e-6 + gap, &format!("{name}: box"));
        }
        for region in regions {
            assert_eq!(check(region), Ok(()), "{name}");
        }
        names.push(name.to_owned());
    }
    let mut files = Vec::new();
    for folder in fs::read_dir(SAMPLES)
        .unwrap()
        .map(|f| f.unwrap().path())
        .filter(|p| p.is_dir())
    {
        for file in fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()) {
            let name = file.strip_prefix(SAMPLES).unwrap().with_extension("");
            files.push(name.to_str().unwrap().replace('\\', "/"));
        }
    }
    files.sort();
    names.sort();
    assert_eq!(files, names, "every file is in the table");
}

#[test]
fn a_circle_stays_an_exact_circle() {
    for (name, center, radius) in [
        ("circle/one", (30.0, 40.0), 3.3),
        ("arc/full_turn", (10.0, 20.0), 6.6),
        ("extrusion/circle_mirrored", (30.0, 40.0), 7.0),
        ("unit/feet", (304.8, 304.8), 152.4),
        ("unit/mils", (25.4, 50.8), 12.7),
    ] {
        let (c, r) = ring(name).as_circle().unwrap();
        assert_eq!((c.x, c.y), center, "{name}: as drawn, times the unit");
        // One multiplication by the unit rounds once.
        assert_near(r, radius, radius * f64::EPSILON, name);
    }
    for name in [
        "arc/two_halves_of_a_circle",
        "arc/angles_below_zero",
        "lwpolyline/circle_of_two_bulges",
    ] {
        assert!(ring(name).as_circle().is_some(), "{name}");
    }
}

#[test]
fn a_quarter_arc_has_the_figures_of_its_bulge() {
    // Closed form for chord c = 10 and bulge b = tan(90°/4) = 0.414214: sagitta c·b/2 = 2.07107, radius c·(1 + b²)/(4 b) = 7.07107.
    let ring = ring("lwpolyline/quarter_arc");
    let arcs: Vec<_> = ring
        .edges()
        .iter()
        .filter(|e| e.curve != Curve::Line)
        .collect();
    let [arc] = arcs[..] else { panic!("{arcs:?}") };
    let Curve::Arc { center, radius, .. } = arc.curve else {
        unreachable!()
    };
    assert_near(radius, 50.0_f64.sqrt(), 1e-12, "radius 10/√2");
    // The arc bulges to the right of the way from (0, 0) to (10, 0): downward, so that its centre is at (5, 5).
    assert_near(center.distance(Point::new(5.0, 5.0)), 0.0, 1e-12, "centre");
    assert_near(
        arc.at(0.5).y,
        -10.0 * (2.0_f64.sqrt() - 1.0) / 2.0,
        1e-12,
        "sagitta 2.07107",
    );
}

#[test]
fn half_and_more_than_half_turns_keep_their_side() {
    // Bulge 1: half circles of radius 5 about (0, 5) and (30, 5); area 30·10 + π·25.
    let slot = ring("lwpolyline/slot");
    assert_near(
        slot.area_mm2(),
        300.0 + 25.0 * std::f64::consts::PI,
        1e-10,
        "slot",
    );
    // Bulge 2 on a chord of 10: radius 10·(1 + 4)/8 = 6.25, sagitta 10, so the lowest point is at y = −10.
    let more = ring("lwpolyline/more_than_a_half_turn");
    assert_near(more.bounds().min.y, -10.0, 1e-12, "sagitta c·b/2");
}

#[test]
fn gaps_are_closed_and_told_and_arcs_keep_centre_and_radius() {
    for (name, n, width) in [
        ("gap/lines_0.05", 2, 0.05),
        ("gap/line_and_arc_0.08", 1, 0.08),
        ("gap/arcs_0.03", 2, 0.03),
    ] {
        let drawing = sound(name, None);
        let finding = drawing.findings.iter().find(|f| f.code == "D107").unwrap();
        assert!(
            finding.what.starts_with(&format!("plate.dxf: {n} gap")),
            "{}",
            finding.what
        );
        assert_near(finding.measured.unwrap(), width, 1e-9, name);
        for edge in drawing.regions[0].edges() {
            if let Curve::Arc { center, radius, .. } = edge.curve {
                assert_eq!(radius, 20.0, "{name}: as drawn");
                for end in [edge.start, edge.end] {
                    assert_near(
                        end.distance(center),
                        radius,
                        2e-6,
                        "an end lies on its circle to within coincidence",
                    );
                }
            }
        }
    }
    let fine = sound("gap/arcs_to_six_decimals", None);
    assert_eq!(
        fine.regions[0].outer().edges().len(),
        3,
        "rounding adds no edge"
    );
}

#[test]
fn edges_tell_the_entity_that_they_came_from() {
    // The circle is the first entity of the file, the plate the eight that follow.
    let drawing = sound("circle/hole_in_a_plate", None);
    let mut entities: Vec<usize> = Vec::new();
    for edge in drawing.regions[0].outer().edges() {
        let (kind, index) = meaning(edge.source);
        assert_eq!(kind, SourceKind::Drawn);
        entities.push(index);
    }
    entities.sort_unstable();
    assert_eq!(entities, (1..=8).collect::<Vec<_>>());
    assert_eq!(
        drawing.regions[0].holes()[0].edges()[0].source,
        SourceKind::Drawn.id(0)
    );
}

#[test]
fn what_is_left_out_or_taken_as_something_is_told() {
    let told = |name: &str| {
        let drawing = sound(name, None);
        let findings: BTreeMap<_, _> = drawing
            .findings
            .into_iter()
            .map(|f| (f.code, f.what))
            .collect();
        findings
    };
    assert!(told("text/left_out")["D102"].contains("1 MTEXT, 1 POINT, 2 TEXT"));
    assert!(told("layer/frozen")["D103"].contains("1 GUIDE"));
    assert!(told("layer/off")["D103"].contains("1 GUIDE"));
    assert!(told("layer/invisible_and_paper")["D104"].contains("CIRCLE"));
    assert!(told("unit/none")["D101"].contains("no unit"));
    assert!(
        told("version/R12")["D101"].contains("no unit"),
        "R12 has no unit"
    );
    assert!(told("duplicate/lines_twice")["D106"].contains(": 4 curves"));
    assert!(told("duplicate/circle_twice")["D106"].contains(": 1 curve"));
    assert_eq!(
        codes(&sound("layer/off_but_named", Some("guide"))),
        ["D108"]
    );
    for name in ["version/R2018", "unit/inches", "circle/one"] {
        assert!(told(name).is_empty(), "{name}: nothing to tell");
    }
}

#[test]
fn a_unitless_drawing_takes_the_bare_unit() {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 25.4,
    };
    let drawing = drawing::read("plate.dxf", &sample("unit/none"), options).unwrap();
    let (_, radius) = drawing.regions[0].outer().as_circle().unwrap();
    assert_near(radius, 127.0, 1e-12, "5 in");
}

#[test]
fn an_unknown_layer_names_the_nearest() {
    let errors = read_bytes(&sample("layer/one_of_two"), Some("BAES")).unwrap_err();
    let fault = errors[0].fault();
    assert_eq!(fault.code, "D011");
    assert!(
        fault
            .what
            .contains("no layer \"BAES\", but one named \"BASE\""),
        "{}",
        fault.what
    );
    let errors = read_bytes(&sample("layer/one_of_two"), Some("engraving by hand")).unwrap_err();
    assert!(errors[0].fault().hint.unwrap().contains("BASE, Face"));
}

#[test]
fn versions_and_forms_of_a_file_give_the_same_regions() {
    let first = sound("version/R2000", None);
    for name in [
        "R12",
        "R2004",
        "R2007",
        "R2010",
        "R2013",
        "R2018",
        "R12_binary",
        "R2000_binary",
        "R2018_binary",
    ] {
        assert_eq!(
            sound(&format!("version/{name}"), None).regions,
            first.regions,
            "{name}"
        );
    }
}

/// Faults with code and a part of the message, in the order in which they are told.
const FAULTS: [(&str, &[(&str, &str)]); 48] = [
    ("empty", &[("D001", "the file is empty")]),
    ("blank", &[("D001", "the file is empty")]),
    ("pdf_renamed", &[("D003", "looks like a PDF")]),
    (
        "xml_renamed",
        &[("D003", "looks like an SVG or another XML file")],
    ),
    (
        "svg_renamed",
        &[("D010", "SVG drawings are not yet supported")],
    ),
    ("dwg_renamed", &[("D003", "looks like a DWG")]),
    ("text", &[("D003", "not a DXF drawing")]),
    ("utf_16", &[("D003", "looks like text in UTF-16")]),
    ("only_carriage_returns", &[("D003", "not a DXF drawing")]),
    ("begins_with_an_entity", &[("D003", "not a DXF drawing")]),
    ("ends_in_the_header", &[("D005", "cut short")]),
    ("ends_in_an_entity", &[("D005", "cut short")]),
    ("ends_after_a_code", &[("D005", "cut short")]),
    ("no_end_mark", &[("D005", "without its end mark")]),
    (
        "code_that_is_no_number",
        &[("D004", "a group code is no number at line 27")],
    ),
    ("line_left_out", &[("D004", "a group code is no number")]),
    ("binary_cut_short", &[("D005", "byte")]),
    (
        "binary_with_an_unknown_code",
        &[("D004", "an unknown group code at byte")],
    ),
    (
        "coordinate_nan",
        &[(
            "D006",
            "LINE 20 in layer FACE: the value of group 10 at line 22 is not a finite number",
        )],
    ),
    (
        "coordinate_inf",
        &[("D006", "CIRCLE 20 in layer FACE: the value of group 20")],
    ),
    (
        "coordinate_is_a_word",
        &[("D006", "LINE 20 in layer FACE: the value of group 10")],
    ),
    (
        "coordinate_1e300",
        &[("D015", "CIRCLE 20 in layer FACE reaches 1e300 mm")],
    ),
    (
        "coordinate_beyond_a_kilometre",
        &[("D015", "CIRCLE 20 in layer FACE reaches 1.000001e6 mm")],
    ),
    (
        "radius_below_zero",
        &[("D016", "CIRCLE 20 in layer FACE has the radius -5")],
    ),
    ("unit_99", &[("D012", "$INSUNITS 99")]),
    (
        "tilted_circle",
        &[("D014", "CIRCLE 20 in layer FACE does not lie")],
    ),
    (
        "line_that_climbs",
        &[("D014", "LINE 20 in layer FACE does not lie")],
    ),
    (
        "spline",
        &[(
            "D013",
            "a SPLINE is not yet supported: SPLINE B7 in layer FACE",
        )],
    ),
    (
        "ellipse",
        &[("D013", "an ELLIPSE is not yet supported: ELLIPSE B7")],
    ),
    (
        "old_polyline",
        &[("D013", "a POLYLINE is not yet supported: POLYLINE B7")],
    ),
    (
        "block",
        &[("D013", "an INSERT is not yet supported: INSERT B7")],
    ),
    (
        "hatch",
        &[("D013", "a HATCH is not yet supported: HATCH B7")],
    ),
    (
        "unknown_entity",
        &[("D013", "a WOBBLE is not yet supported: WOBBLE B7")],
    ),
    (
        "two_splines_and_a_block",
        &[
            ("D013", "2 SPLINE entities are not yet supported"),
            ("D013", "INSERT B7"),
        ],
    ),
    (
        "text_only",
        &[("D025", "the drawing holds no closed outline")],
    ),
    ("no_entities", &[("D025", "no closed outline")]),
    ("header_only", &[("D025", "no closed outline")]),
    (
        "open_by_0.183",
        &[(
            "D020",
            "the outline in layer FACE is open by 0.183 mm: from (50.000, 0.000), an end of LINE 20 in layer FACE, to (50.000, 0.183), an end of LINE 21",
        )],
    ),
    (
        "open_polyline",
        &[(
            "D020",
            "open by 70.711 mm: from (0.000, 0.000), an end of LWPOLYLINE A0",
        )],
    ),
    ("one_line", &[("D020", "open by 50.000 mm")]),
    ("three_at_a_corner", &[("D020", "an end of LINE 30")]),
    ("ten_lines", &[("D020", "open by 3.000 mm"); 8]),
    (
        "hatching",
        &[("D021", "loose ends lie within 0.2 mm of one another")],
    ),
    (
        "there_and_back",
        &[("D022", "LWPOLYLINE A0 in layer FACE, encloses no area")],
    ),
    (
        "bow_tie",
        &[("D023", "outlines cross at (25.000, 25.000): LWPOLYLINE A0")],
    ),
    ("circles_cross", &[("D023", "outlines cross at (7.500, ")]),
    (
        "hole_touches_the_edge",
        &[("D024", "outlines touch at (0.000, 25.000): ")],
    ),
    (
        "squares_share_an_edge",
        &[("D024", "outlines touch at (50.000, ")],
    ),
];

#[test]
fn malformed_drawings_are_refused_with_their_place() {
    let mut names = Vec::new();
    for (name, expected) in &FAULTS {
        names.push(format!("{name}.dxf"));
        let bytes = fs::read(format!("{MALFORMED}/{name}.dxf")).unwrap();
        let errors = read_bytes(&bytes, None).unwrap_err();
        let found: Vec<_> = errors.iter().map(|e| e.fault()).collect();
        assert_eq!(found.len(), expected.len(), "{name}: {found:#?}");
        for (fault, (code, part)) in found.iter().zip(*expected) {
            assert_eq!(fault.code, *code, "{name}: {}", fault.what);
            assert!(fault.what.contains(part), "{name}: {}", fault.what);
            assert_eq!(
                fault.place,
                Place::File(String::from("plate.dxf")),
                "{name}"
            );
        }
    }
    let files = fs::read_dir(MALFORMED)
        .unwrap()
        .map(|f| f.unwrap().file_name());
    let mut files: Vec<String> = files.map(|f| f.into_string().unwrap()).collect();
    files.sort();
    names.sort();
    assert_eq!(files, names, "every malformed file is tested");
}

#[test]
fn a_file_cut_short_anywhere_is_refused() {
    for name in ["version/R12", "version/R2018", "version/R2000_binary"] {
        let whole = sample(name);
        let end = whole.trim_ascii_end().len();
        for n in (0..end).step_by(61) {
            let found = read_bytes(&whole[..n], None);
            assert!(
                found.is_err(),
                "{name}: the first {n} of {end} bytes were taken for a drawing"
            );
        }
    }
}

#[test]
fn no_changed_byte_makes_the_reader_panic() {
    // Bytes changed at places from a fixed generator (xorshift, G. Marsaglia 2003, shifts 13, 7, 17).
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut draw = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state as usize
    };
    let mut outcomes = [0, 0];
    for name in [
        "version/R12",
        "version/R12_binary",
        "lwpolyline/slot",
        "gap/arcs_0.03",
    ] {
        let whole = sample(name);
        for _ in 0..150 {
            let mut bytes = whole.clone();
            for _ in 0..1 + draw() % 4 {
                let at = draw() % bytes.len();
                bytes[at] = draw() as u8;
            }
            outcomes[usize::from(read_bytes(&bytes, None).is_ok())] += 1;
        }
    }
    assert!(
        outcomes[0] > 0 && outcomes[1] > 0,
        "some are refused, some are not: {outcomes:?}"
    );
}
