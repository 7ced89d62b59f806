//! Drawings of many thousand outlines, generated here: what comes of them, by closed forms, or why they are refused.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::f64::consts::PI;
use std::fmt::Write;

use seamwright::drawing::limits::Limits;
use seamwright::drawing::{self, DrawingOptions};

/// Regions, rings and area of a drawing, or code and text of its first fault and the number of faults.
type Read = Result<(usize, usize, f64), (&'static str, String, usize)>;

fn read(name: &str, text: &str) -> Read {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    match drawing::read(name, text.as_bytes(), options) {
        Ok(drawing) => {
            let regions = &drawing.regions;
            let rings = regions.iter().map(|r| r.rings().count()).sum();
            let area = regions.iter().map(|r| r.area_mm2()).sum();
            Ok((regions.len(), rings, area))
        }
        Err(errors) => {
            let fault = errors[0].fault();
            Err((fault.code, fault.what, errors.len()))
        }
    }
}

fn assert_read(name: &str, text: &str, regions: usize, rings: usize, area: f64) {
    let found = read(name, text).unwrap();
    assert_eq!((found.0, found.1), (regions, rings));
    let off = (found.2 - area).abs();
    assert!(off <= 1e-9 * area, "{} mm², expected {area}", found.2);
}

fn assert_refused(name: &str, text: &str, code: &str, part: &str) {
    let (found, what, _) = read(name, text).unwrap_err();
    assert_eq!(found, code, "{what}");
    assert!(what.contains(part), "{what}");
}

fn dxf(blocks: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

fn all(n: usize, entity: impl Fn(usize) -> String) -> String {
    (0..n).map(entity).collect()
}

fn circle(x: f64, y: f64, r: f64) -> String {
    format!("0\nCIRCLE\n8\n0\n10\n{x}\n20\n{y}\n40\n{r}\n")
}

fn line(from: (f64, f64), to: (f64, f64)) -> String {
    let (a, b) = (from, to);
    format!(
        "0\nLINE\n8\n0\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n",
        a.0, a.1, b.0, b.1
    )
}

fn svg(inner: &str) -> String {
    format!("<svg width=\"500mm\" height=\"500mm\" viewBox=\"0 0 500 500\">{inner}</svg>")
}

#[test]
fn circles_about_one_centre_nest_in_turn() {
    let n = 1000;
    let text = dxf("", &all(n, |k| circle(0.0, 0.0, 1.0 + k as f64)));
    // From outside in: every second ring of width 1 is material, of radii r and r − 1: π (2 r − 1).
    let area: f64 = (0..n / 2)
        .map(|k| PI * (2.0 * (2 * k + 2) as f64 - 1.0))
        .sum();
    assert_read("a.dxf", &text, n / 2, n, area);
}

#[test]
fn circles_too_close_to_be_compared_are_refused() {
    let text = dxf(
        "",
        &all(20_000, |k| circle(0.0, 0.0, 0.1 + 0.002 * k as f64)),
    );
    assert_refused("a.dxf", &text, "D027", "50000000 pairs");
}

#[test]
fn circles_side_by_side_and_blocks_placed_often_are_all_there() {
    let n = 20_000;
    let at = |k: usize| ((k % 200) as f64 * 3.0, (k / 200) as f64 * 3.0);
    let text = dxf("", &all(n, |k| circle(at(k).0, at(k).1, 1.0)));
    assert_read("a.dxf", &text, n, n, n as f64 * PI);
    let bolt = format!(
        "0\nBLOCK\n8\n0\n2\nB\n10\n0\n20\n0\n{}0\nENDBLK\n",
        circle(0.0, 0.0, 1.0)
    );
    let insert = |x: f64, y: f64| format!("0\nINSERT\n8\n0\n2\nB\n10\n{x}\n20\n{y}\n");
    let placed = all(n, |k| insert(at(k).0, at(k).1));
    assert_read("a.dxf", &dxf(&bolt, &placed), n, n, n as f64 * PI);
    let same = all(n, |_| insert(7.0, 9.0));
    assert_read("a.dxf", &dxf(&bolt, &same), 1, 1, PI);
    let array = "0\nINSERT\n8\n0\n2\nB\n10\n0\n20\n0\n70\n1000\n71\n1000\n44\n3\n45\n3\n";
    assert_refused("a.dxf", &dxf(&bolt, array), "D027", "1000000 entities");
}

#[test]
fn lines_that_cross_or_lie_upon_one_another_by_thousands_are_refused() {
    let crossing = all(3000, |k| {
        line(
            (k as f64 * 0.5, 0.0),
            ((k * 7919 % 3000) as f64 * 0.5, 500.0),
        )
    });
    assert_refused("a.dxf", &dxf("", &crossing), "D020", "open by");
    let along = all(3000, |k| {
        line((k as f64 * 0.001, 0.0), (100.0 + k as f64 * 0.001, 0.0))
    });
    assert_refused("a.dxf", &dxf("", &along), "D021", "loose ends");
}

#[test]
fn an_outline_of_lines_by_the_thousand_is_one_ring() {
    let n = 10_000;
    let corner = |k: usize| {
        let t = 2.0 * PI * (k % n) as f64 / n as f64;
        (50.0 * t.cos(), 50.0 * t.sin())
    };
    let text = dxf("", &all(n, |k| line(corner(k), corner(k + 1))));
    let area = 0.5 * n as f64 * 2500.0 * (2.0 * PI / n as f64).sin();
    assert_read("a.dxf", &text, 1, 1, area);
}

#[test]
fn a_path_of_many_parts_is_taken_apart() {
    let n = 30_000;
    let mut d = String::new();
    for k in 0..n {
        let _ = write!(d, "M{} {}h1v1z", k % 200 * 2, k / 200 * 2);
    }
    let text = svg(&format!("<path d=\"{d}\"/>"));
    assert_read("a.svg", &text, n, n, 0.5 * n as f64);
    // Painted squares one inside of the other, all of one direction: only the largest bounds paint.
    let mut d = String::new();
    for k in 0..4000 {
        let side = 400.0 - 0.1 * f64::from(k) + 0.05;
        let at = 0.05 * f64::from(k);
        let _ = write!(d, "M{at:.3} {at:.3}h{side:.3}v{side:.3}h-{side:.3}z");
    }
    let text = svg(&format!("<path d=\"{d}\"/>"));
    assert_read("a.svg", &text, 1, 1, 400.05 * 400.05);
}

#[test]
fn curves_beyond_the_edges_admitted_are_refused_before_all_are_made() {
    let mut d = String::from("M0 0");
    for k in 0..100_000 {
        let _ = write!(
            d,
            "c{},{},{},-{},{},{}",
            k % 7,
            k % 11,
            k % 13,
            k % 5,
            k % 3,
            k % 2
        );
    }
    let text = svg(&format!("<path fill=\"none\" d=\"{d}\"/>"));
    let (code, what, _) = read("a.svg", &text).unwrap_err();
    assert_eq!(code, "D027", "{what}");
    assert!(what.contains("edges") && what.contains("1000000"), "{what}");
}

#[test]
fn declarations_attributes_and_layers_by_the_thousand() {
    let rect = "<rect width=\"9\" height=\"4\"/>";
    let many = "fill:none;".repeat(50_000);
    let text = svg(&format!("<style>rect{{{many}}}</style>{rect}"));
    assert_read("a.svg", &text, 1, 1, 36.0);
    let attributes = all(20_000, |k| format!("a{k}=\"\" "));
    let text = svg(&format!("<g {attributes}>{rect}</g>"));
    assert_refused("a.svg", &text, "D027", "20000 attributes");
    let layers = all(10_000, |k| format!("0\nLAYER\n2\nL{k}\n70\n1\n62\n7\n"));
    let hidden = all(10_000, |k| {
        line((0.0, 0.0), (1.0, 1.0)).replace("8\n0\n", &format!("8\nL{k}\n"))
    });
    let text = format!("0\nSECTION\n2\nTABLES\n{layers}0\nENDSEC\n")
        + &dxf("", &(hidden + &circle(0.0, 0.0, 5.0)));
    assert_read("a.dxf", &text, 1, 1, 25.0 * PI);
}

#[test]
fn name_spaces_by_the_thousand_are_refused_and_dozens_are_not() {
    let declared = |n| all(n, |k| format!(" xmlns:n{k}=\"u{k}\""));
    let child = |k: usize| format!("<n{}:g xmlns:m=\"u\"/>", k % 12);
    let file = |n, children: String| {
        format!(
            "<svg width=\"9mm\" viewBox=\"0 0 9 9\" xmlns=\"http://www.w3.org/2000/svg\"{}>{children}<rect width=\"9\" height=\"4\"/></svg>",
            declared(n)
        )
    };
    let text = file(4_990, all(60_000, child));
    assert_refused("a.svg", &text, "D027", "name spaces");
    // Prefixes alone are looked for among all of them.
    let text = file(4_990, all(60_000, |_| String::from("<n4989:g/>")));
    assert_refused("a.svg", &text, "D027", "name spaces");
    assert_read("a.svg", &file(12, all(60_000, child)), 1, 1, 36.0);
}

#[test]
fn entities_that_hold_themselves_are_told_together() {
    let circles = |n| {
        let pair = |k| format!("<!ENTITY a{k} \"&b{k};\"><!ENTITY b{k} \"&a{k};\">");
        format!(
            "<!DOCTYPE svg [{}]>{}",
            all(n, pair),
            svg("<desc>&a0;</desc>")
        )
    };
    let (code, what, n) = read("a.svg", &circles(3)).unwrap_err();
    assert_eq!((code, n), ("D018", 3), "{what}");
    let (code, what, n) = read("a.svg", &circles(4000)).unwrap_err();
    assert_eq!((code, n), ("D018", 21), "{what}");
    let chain = all(100, |k| format!("<!ENTITY e{k} \"&e{};\">", k + 1));
    let text = format!("<!DOCTYPE svg [{chain}]>{}", svg("<desc>&e0;</desc>"));
    assert_refused("a.svg", &text, "D028", "10 levels");
}

#[test]
fn what_is_wrong_far_behind_is_told_with_its_line() {
    // Some megabytes of circles, then one with a colour beyond the format: told as in a short file.
    let before = all(80_000, |k| circle(3.0 * k as f64, 0.0, 1.0));
    let wrong = "0\nCIRCLE\n8\n0\n420\n3000000000\n10\n0\n20\n90\n40\n5\n";
    let text = dxf("", &(before + wrong));
    let line = text.lines().position(|l| l == "3000000000").unwrap() + 1;
    let short = dxf("", wrong);
    let in_short = short.lines().position(|l| l == "3000000000").unwrap() + 1;
    let (_, what, _) = read("a.dxf", &short).unwrap_err();
    let told: usize = what.rsplit(' ').next().unwrap().parse().unwrap();
    assert!(
        told.abs_diff(in_short) <= 2,
        "{what}; it stands in line {in_short}"
    );
    let line = line + told - in_short;
    assert!(text.len() > 2 << 20, "{} bytes", text.len());
    assert_refused("a.dxf", &text, "D007", &format!("at line {line}"));
}

#[test]
fn faults_by_the_thousand_are_told_twenty_times_and_counted() {
    let text = dxf("", &all(4000, |_| circle(0.0, 0.0, -5.0)));
    let (code, what, n) = read("a.dxf", &text).unwrap_err();
    assert_eq!((code, n), ("D016", 21), "{what}");
}
