//! Drawings read: every sample has the figures that an independent reader measures, every malformed one is refused with its
//! place, and no bytes make the reader panic.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::collections::BTreeMap;
use std::fs;

use seamwright::drawing::error::DrawingError;
use seamwright::drawing::limits::Limits;
use seamwright::drawing::{self, Drawing, DrawingOptions};
use seamwright::geometry::bounds::Bounds;
use seamwright::geometry::check::check;
use seamwright::geometry::edge::Curve;
use seamwright::geometry::point::Point;
use seamwright::geometry::ring::Ring;
use seamwright::geometry::tolerance::FLAT_FIT;
use seamwright::model::fault::Place;
use seamwright::model::source::{SourceKind, meaning};

const SAMPLES: &str = "fixtures/drawings/dxf";
const MALFORMED: &str = "fixtures/malformed";

fn read_bytes(bytes: &[u8], layer: Option<&str>) -> Result<Drawing, Vec<DrawingError>> {
    let options = DrawingOptions {
        layer,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
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

/// Features whose curves are fitted by arcs: off by as much as `tolerance::FLAT_FIT` either way, which changes an area by less
/// than that times the length, and a length, over arcs that cross the curve several times, by far less than a thousandth.
const FITTED: [&str; 14] = [
    "block",
    "ellipse",
    "hatch",
    "spline",
    "extrusion",
    "fill",
    "group",
    "nested_svg",
    "path",
    "rect",
    "symbol",
    "transform",
    "use",
    "view_box",
];

#[test]
fn every_sample_measures_what_an_independent_reader_measures() {
    // ezdxf and Shapely, by tests/outside/make_drawings.py, and svgelements, closed forms and Shapely, by
    // make_svg_drawings.py, flattened with a sagitta of 1e-6 mm: the area is off by less than that times the length, a box by
    // less than it; both are written to six decimals. Where a gap of at most 0.1 mm is closed, the two may close it in
    // different ways.
    let mut faults = Vec::new();
    for format in ["dxf", "svg"] {
        let folder = format!("fixtures/drawings/{format}");
        let table = fs::read_to_string(format!("{folder}/figures.csv")).unwrap();
        let mut names = Vec::new();
        for row in table.lines().skip(1) {
            let cells: Vec<&str> = row.split(',').collect();
            if let Err(fault) = measured(&folder, format, &cells) {
                faults.push(format!("{format} {}: {fault}", cells[0]));
            }
            names.push(cells[0].to_owned());
        }
        names.sort();
        assert_eq!(files_below(&folder), names, "every file is in the table");
    }
    assert!(
        faults.is_empty(),
        "{} faults\n{}",
        faults.len(),
        faults.join("\n")
    );
}

/// One sample against its row.
fn measured(folder: &str, format: &str, cells: &[&str]) -> Result<(), String> {
    let (name, layer) = (cells[0], Some(cells[1]).filter(|l| !l.is_empty()));
    let options = DrawingOptions {
        layer,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    let file = format!("{name}.{format}");
    let bytes = fs::read(format!("{folder}/{file}")).unwrap();
    let drawing = drawing::read(&file, &bytes, options).map_err(|e| {
        e.iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("; ")
    })?;
    let regions = &drawing.regions;
    let rings: Vec<&Ring> = regions.iter().flat_map(|r| r.rings()).collect();
    let length: f64 = rings.iter().map(|r| r.length()).sum();
    let area: f64 = regions.iter().map(|r| r.area_mm2()).sum();
    let found = regions
        .iter()
        .fold(Bounds::EMPTY, |b, r| b.join(r.bounds()));
    let gap = if name.contains("gap") { 0.1 } else { 0.0 };
    let feature = name.split('/').next().unwrap();
    let fit = if FITTED.contains(&feature) {
        FLAT_FIT
    } else {
        0.0
    };
    let off = 2e-6 + gap + fit;
    let figures = [
        ("regions", regions.len() as f64, 0.0),
        ("rings", rings.len() as f64, 0.0),
        ("area", area, off * length),
        (
            "length",
            length,
            1e-6 * length + 2.0 * gap + 0.2 * fit * length,
        ),
        ("left", found.min.x, off),
        ("front", found.min.y, off),
        ("right", found.max.x, off),
        ("back", found.max.y, off),
    ];
    for (i, (what, value, tolerance)) in figures.into_iter().enumerate() {
        let expected: f64 = cells[2 + i].parse().unwrap();
        if (value - expected).abs() > tolerance {
            return Err(format!("{what} is {value}, expected {expected}"));
        }
    }
    for region in regions {
        check(region).map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// Names of the samples in a folder's folders, in order.
fn files_below(folder: &str) -> Vec<String> {
    let mut files = Vec::new();
    for inner in fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().path())
        .filter(|p| p.is_dir())
    {
        for file in fs::read_dir(inner).unwrap().map(|f| f.unwrap().path()) {
            let name = file.strip_prefix(folder).unwrap().with_extension("");
            files.push(name.to_str().unwrap().replace('\\', "/"));
        }
    }
    files.sort();
    files
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
    assert!(told("left_out/parallel_lines")["D119"].contains("not read: 1 MLINE"));
    assert!(
        told("solid/beside_outlines")["D109"].contains("other curves are drawn: 1 SOLID, 1 TRACE")
    );
    assert!(told("solid/hole_in_one")["D120"].contains("cut are the outlines of 2 SOLID"));
    assert!(told("hatch/polyline_path")["D120"].contains("cut are the outlines of 1 HATCH"));
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
fn what_an_svg_leaves_out_or_does_not_read_is_told() {
    for (name, code, part) in [
        (
            "shapes_of_no_size",
            "D115",
            "no width, height, radius or points, or its transform leaves nothing of it: 2 circle, 1 ellipse, 1 rect",
        ),
        (
            "use_without_a_target",
            "D116",
            "not in the file: use u at line 3 of \"#bolt\", the use at line 4 of \"parts.svg#nut\"",
        ),
        (
            "rules_of_a_style_sheet",
            "D117",
            "not read in style sheets: 1 @import, 1 @media",
        ),
        (
            "style_sheet_not_closed",
            "D118",
            "the style sheet at line 2 is not closed",
        ),
        (
            "branches_of_a_switch",
            "D104",
            "as it is not shown: 2 circle; branches of a switch beside the one that is drawn (1 foreignObject, 2 rect)",
        ),
    ] {
        let bytes = fs::read(format!("fixtures/drawings/svg/left_out/{name}.svg")).unwrap();
        let options = DrawingOptions {
            layer: None,
            bare_unit_mm: 1.0,
            limits: Limits::default(),
        };
        let drawing = drawing::read("plate.svg", &bytes, options).unwrap();
        let found = drawing.findings.iter().find(|f| f.code == code);
        let found = found.unwrap_or_else(|| panic!("{name}: {:?}", codes(&drawing)));
        assert!(found.what.contains(part), "{}", found.what);
        assert!(!found.hint.contains("letters"), "{}", found.hint);
    }
}

#[test]
fn what_a_page_or_viewport_cuts_off_is_told_with_how_far_it_reaches() {
    // 40 × 20 user units onto a page of 200 mm: 5 mm each. A box of 20 × 20 fills the viewport's 40 across and 40 down,
    // 10 of them above it and 10 below; the square's edges lie 4 inside of the box's: 6 outside, 30 mm.
    let slice = r#"viewBox="0 0 20 20" preserveAspectRatio="xMidYMid slice""#;
    let square = r#"<rect id="plate" x="2" y="2" width="16" height="16"/>"#;
    let page = |inner: &str, more: &str| {
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 40 40" {more}>{inner}</svg>"#
        )
    };
    let nested = |more: &str| {
        format!(
            r#"<g transform="translate(0 10) rotate(10 20 10)"><svg width="40" height="20" {slice} {more}>{square}</svg></g>"#
        )
    };
    let symbol = format!(
        r##"<symbol id="s" {slice}>{square}</symbol><use href="#s" y="10" width="40" height="20"/>"##
    );
    let outer = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" {slice}>{square}{}</svg>"#,
        r#"<circle cx="10" cy="10" r="3"/>"#
    );
    // Off the page: 3 units of 5 mm beyond its left edge, which the viewport inside does not hide.
    let off = page(r#"<circle cx="1" cy="9" r="4"/>"#, "");
    for (text, told) in [
        (page(&nested(""), ""), Some((30.0, "rect plate at line 1"))),
        (
            page(&nested(r#"overflow="hidden""#), ""),
            Some((30.0, "1 element reaches")),
        ),
        (page(&nested(r#"overflow="visible""#), ""), None),
        (page(&nested(r#"style="overflow: visible""#), ""), None),
        (page(&symbol, ""), Some((30.0, "1 element reaches"))),
        (outer, Some((30.0, "1 element reaches"))),
        (off, Some((15.0, "the circle at line 1"))),
        (page(r#"<rect width="40" height="40"/>"#, ""), None),
    ] {
        let options = DrawingOptions {
            layer: None,
            bare_unit_mm: 1.0,
            limits: Limits::default(),
        };
        let drawing = drawing::read("plate.svg", text.as_bytes(), options).unwrap();
        let found = drawing.findings.iter().find(|f| f.code == "D121");
        match (found, told) {
            (None, None) => {}
            (Some(found), Some((reach, part))) => {
                assert_near(found.measured.unwrap(), reach, 1e-9, &text);
                let by = format!("by {reach:.3} mm");
                assert!(
                    found.what.contains(&by) && found.what.contains(part),
                    "{}",
                    found.what
                );
            }
            _ => panic!("{text}: {found:?}"),
        }
    }
}

#[test]
fn a_gap_in_an_svg_is_told_as_an_editor_shows_it() {
    // The sample's path begins at (10, 10) and ends at (10, 10.05), y down: its middle is (10, 10.025).
    let bytes = fs::read("fixtures/drawings/svg/path/gap_of_0.05.svg").unwrap();
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    let drawing = drawing::read("plate.svg", &bytes, options).unwrap();
    let gap = drawing.findings.iter().find(|f| f.code == "D107").unwrap();
    let part = "0.0500 mm, was at (10.000, 10.025) mm from the top left";
    assert!(gap.what.contains(part), "{}", gap.what);
}

#[test]
fn the_remedy_for_another_format_names_it() {
    let hint = |name: &str| {
        let bytes = fs::read(format!("{MALFORMED}/{name}")).unwrap();
        let options = DrawingOptions {
            layer: None,
            bare_unit_mm: 1.0,
            limits: Limits::default(),
        };
        let errors = drawing::read(name, &bytes, options).unwrap_err();
        errors[0].fault().hint.unwrap()
    };
    for (name, part) in [
        ("svg/dxf_renamed.svg", ".dxf"),
        ("dxf/svg_renamed.dxf", ".svg"),
        ("svg/pdf_renamed.svg", "a PDF is not read"),
        ("dxf/pdf_renamed.dxf", "a PDF is not read"),
        ("svg/compressed.svg", "unpack"),
        ("dxf/dwg_renamed.dxf", "save it as DXF"),
        ("dxf/utf_32.dxf", "UTF-8"),
        ("dxf/polyline_mesh.dxf", "a mesh is a surface"),
        ("dxf/layers_switched_off.dxf", "switch the layer on"),
        ("svg/use_without_a_target.svg", "let `use` refer"),
    ] {
        assert!(hint(name).contains(part), "{name}: {}", hint(name));
    }
}

#[test]
fn a_layer_without_an_outline_tells_what_others_hold() {
    let table = |layer: &str| {
        format!(
            "0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n0\nLAYER\n2\n{layer}\n70\n0\n62\n7\n0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nBASE\n10\n0\n20\n0\n40\n5\n0\nENDSEC\n0\nEOF\n"
        )
    };
    let errors = read_bytes(table("FACE").as_bytes(), Some("face")).unwrap_err();
    let what = errors[0].fault().what;
    assert_eq!(
        what,
        "layer \"face\" holds no closed outline; on other layers: 1 BASE"
    );
    assert!(errors[0].fault().hint.unwrap().contains("`drawing_layer`"));
}

#[test]
fn thousands_of_faults_are_twenty_and_a_number() {
    // Each of three codes 4000 times; twenty of each and one line for the others.
    let circles: String = (0..4000)
        .map(|i| {
            let x = 20 * i;
            format!("0\nCIRCLE\n8\n0\n10\n{x}\n20\n0\n40\n-5\n0\nKIND{i}\n8\n0\n0\nCIRCLE\n8\n0\n10\n1e9\n20\n0\n40\n5\n")
        })
        .collect();
    let text = format!("0\nSECTION\n2\nENTITIES\n{circles}0\nENDSEC\n0\nEOF\n");
    let errors = read_bytes(text.as_bytes(), None).unwrap_err();
    let faults: Vec<_> = errors.iter().map(DrawingError::fault).collect();
    for code in ["D013", "D015", "D016"] {
        let here: Vec<_> = faults.iter().filter(|f| f.code == code).collect();
        assert_eq!(here.len(), 21, "{code}");
        assert!(here[20].what.starts_with("3980 more"), "{:?}", here[20]);
    }
    assert_eq!(faults.len(), 63);
}

#[test]
fn a_unitless_drawing_takes_the_bare_unit() {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 25.4,
        limits: Limits::default(),
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

/// The rows of `expected.csv` below its head: file, code and a part of the message.
fn expected_faults() -> Vec<[String; 3]> {
    let table = fs::read_to_string(format!("{MALFORMED}/expected.csv")).unwrap();
    let mut rows = table.lines().map(cells);
    assert_eq!(rows.next().unwrap(), ["file", "code", "part"]);
    rows.map(|row| row.try_into().unwrap()).collect()
}

/// The cells of a line of a table; one in quotes may hold commas, and quotes written twice.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        let cell = cells.last_mut().unwrap();
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            other => cell.push(other),
        }
    }
    assert!(!quoted, "{line}");
    cells
}

#[test]
fn malformed_drawings_are_refused_with_their_place() {
    let mut expected: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
    for [file, code, part] in expected_faults() {
        assert!(!part.is_empty(), "{file}: a part of the message");
        expected.entry(file).or_default().push((code, part));
    }
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    let mut wrong = Vec::new();
    for (file, expected) in &expected {
        let bytes = fs::read(format!("{MALFORMED}/{file}")).unwrap();
        let errors = match drawing::read(file, &bytes, options) {
            Ok(_) => {
                wrong.push(format!("{file}: taken for a drawing"));
                continue;
            }
            Err(errors) => errors,
        };
        if errors.len() != expected.len() {
            wrong.push(format!("{file}: {errors:#?}"));
        }
        for (error, (code, part)) in errors.iter().zip(expected) {
            let fault = error.fault();
            if fault.code != code || !fault.what.contains(part) {
                wrong.push(format!("{file}: {} {:?}", fault.code, fault.what));
            }
            if fault.place != Place::File(file.clone()) {
                wrong.push(format!("{file}: its place is {:?}", fault.place));
            }
            for text in [Some(&fault.what), fault.hint.as_ref()]
                .into_iter()
                .flatten()
            {
                let length = text.chars().count();
                if length > 400 {
                    wrong.push(format!("{file}: a text of {length} characters"));
                }
                if text.chars().any(char::is_control) {
                    wrong.push(format!("{file}: control characters in {text:?}"));
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} faults\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    let mut files = Vec::new();
    for folder in ["dxf", "svg"] {
        for file in fs::read_dir(format!("{MALFORMED}/{folder}")).unwrap() {
            let name = file.unwrap().file_name().into_string().unwrap();
            files.push(format!("{folder}/{name}"));
        }
    }
    files.sort();
    let names: Vec<String> = expected.into_keys().collect();
    assert_eq!(files, names, "every malformed file is in the table");
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
