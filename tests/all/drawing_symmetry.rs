//! A drawing turned, mirrored, run backwards, begun elsewhere or written in another unit has the same figures.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use std::fmt::Write;
use std::fs;

use seamwright::drawing::{self, Drawing, DrawingOptions, limits::Limits};
use seamwright::geometry::tolerance::FLAT_FIT;

fn read(name: &str, text: &str) -> Result<Drawing, String> {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    drawing::read(name, text.as_bytes(), options)
        .map_err(|e| e.iter().map(ToString::to_string).collect())
}

/// Regions, rings, area, length.
fn figures(drawing: &Drawing) -> [f64; 4] {
    let rings = || drawing.regions.iter().flat_map(|r| r.rings());
    [
        drawing.regions.len() as f64,
        rings().count() as f64,
        drawing.regions.iter().map(|r| r.area_mm2()).sum(),
        rings().map(|r| r.length()).sum(),
    ]
}

/// Fitted arcs stray by up to `FLAT_FIT` either way in both readings; lengths by far less than a thousandth.
fn assert_same(name: &str, found: [f64; 4], expected: [f64; 4]) {
    assert_eq!(found[..2], expected[..2], "{name}: regions and rings");
    let length = expected[3];
    let area_off = (found[2] - expected[2]).abs();
    assert!(
        area_off <= 2.0 * FLAT_FIT * length,
        "{name}: area {} for {}",
        found[2],
        expected[2]
    );
    assert!(
        (found[3] - length).abs() <= 0.4 * FLAT_FIT * length,
        "{name}: length {} for {length}",
        found[3]
    );
}

#[test]
fn svg_samples_turned_or_mirrored_have_the_same_figures() {
    let mut n = 0;
    for folder in fs::read_dir("fixtures/drawings/svg").unwrap() {
        let folder = folder.unwrap().path();
        if !folder.is_dir() {
            continue;
        }
        for file in fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()) {
            // Latin-1 and UTF-16 are no text here.
            let Ok(text) = fs::read_to_string(&file) else {
                continue;
            };
            // A page that is stretched one way only stretches what is turned inside of it in another direction.
            if text.contains("preserveAspectRatio=\"none\"") {
                continue;
            }
            let name = file.to_str().unwrap();
            // One sample names the name space by a prefix.
            let Some(start) = text.find("<svg") else {
                continue;
            };
            let open = start + text[start..].find('>').unwrap();
            let Some(close) = text.rfind("</svg>") else {
                continue;
            };
            let Ok(plain) = read(name, &text) else {
                continue;
            };
            let plain = figures(&plain);
            for around in [
                "rotate(17)",
                "scale(-1 1)",
                "matrix(0.6 0.8 0.8 -0.6 5 -7)",
                "translate(31.7 -12.3) rotate(90)",
            ] {
                let wrapped = format!(
                    "{}><g transform=\"{around}\">{}</g>{}",
                    &text[..open],
                    &text[open + 1..close],
                    &text[close..]
                );
                let found = read(name, &wrapped).unwrap_or_else(|e| panic!("{name} {around}: {e}"));
                assert_same(&format!("{name} {around}"), figures(&found), plain);
                n += 1;
            }
        }
    }
    assert!(n > 500, "only {n} readings");
}

/// One closed LWPOLYLINE and one SPLINE as a DXF file.
struct Plate {
    unit: u8,
    /// x, y and bulge.
    vertices: Vec<[f64; 3]>,
    /// Control points of a closed quadratic curve with simple knots, begun anywhere.
    control: Vec<[f64; 2]>,
}

impl Plate {
    fn new() -> Self {
        Self {
            unit: 4,
            vertices: vec![
                [0.0, 0.0, 0.0],
                [120.0, 0.0, 0.5],
                [120.0, 70.0, -0.2],
                [60.0, 90.0, 0.0],
                [0.0, 70.0, 0.31],
            ],
            control: vec![
                [30.0, 20.0],
                [70.0, 15.0],
                [85.0, 40.0],
                [55.0, 60.0],
                [28.0, 45.0],
            ],
        }
    }

    fn mapped(mut self, map: &dyn Fn(f64, f64) -> (f64, f64), mirrors: bool) -> Self {
        for v in &mut self.vertices {
            (v[0], v[1]) = map(v[0], v[1]);
            v[2] = if mirrors { -v[2] } else { v[2] };
        }
        for c in &mut self.control {
            (c[0], c[1]) = map(c[0], c[1]);
        }
        self
    }

    fn reversed(mut self) -> Self {
        let n = self.vertices.len();
        // The bulge belongs to the way onward.
        self.vertices = (0..n)
            .map(|k| {
                let (here, before) = (self.vertices[n - 1 - k], self.vertices[(2 * n - 2 - k) % n]);
                [here[0], here[1], -before[2]]
            })
            .collect();
        self.control.reverse();
        self
    }

    fn begun_at(mut self, k: usize) -> Self {
        self.vertices.rotate_left(k);
        self.control.rotate_left(k);
        self
    }

    fn text(&self) -> String {
        let mut out = format!(
            "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n{}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n",
            self.unit
        );
        write!(
            out,
            "0\nLWPOLYLINE\n5\nA0\n8\n0\n90\n{}\n70\n1\n",
            self.vertices.len()
        )
        .unwrap();
        for [x, y, bulge] in &self.vertices {
            write!(out, "10\n{x:.15e}\n20\n{y:.15e}\n42\n{bulge:.15e}\n").unwrap();
        }
        // Closed: the first control points come again at the end, and knots are simple.
        let n = self.control.len();
        let all: Vec<_> = (0..n + 2).map(|k| self.control[k % n]).collect();
        let knots = all.len() + 3;
        write!(
            out,
            "0\nSPLINE\n5\nB0\n8\n0\n70\n3\n71\n2\n72\n{knots}\n73\n{}\n",
            all.len()
        )
        .unwrap();
        for k in 0..knots {
            write!(out, "40\n{k}\n").unwrap();
        }
        for [x, y] in all {
            write!(out, "10\n{x:.15e}\n20\n{y:.15e}\n30\n0\n").unwrap();
        }
        out + "0\nENDSEC\n0\nEOF\n"
    }
}

#[test]
fn a_dxf_plate_has_the_same_figures_whichever_way_it_is_written() {
    let plain = figures(&read("plate.dxf", &Plate::new().text()).unwrap());
    assert_eq!(plain[..2], [1.0, 2.0]);
    // A quadratic B-spline with simple knots: shoelace of the middles of control edges plus 2/3 of each corner's triangle,
    // the segment of a parabola (Archimedes); here only that the hole is a tenth to a third of the plate.
    let turned = |x: f64, y: f64| (0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y);
    let mirrored = |x: f64, y: f64| (-x, y);
    let inches = |x: f64, y: f64| (x / 25.4, y / 25.4);
    let mut others = vec![
        ("turned", Plate::new().mapped(&turned, false)),
        ("mirrored", Plate::new().mapped(&mirrored, true)),
        ("run backwards", Plate::new().reversed()),
        (
            "in inches",
            Plate {
                unit: 1,
                ..Plate::new().mapped(&inches, false)
            },
        ),
    ];
    others.extend((1..5).map(|k| ("begun elsewhere", Plate::new().begun_at(k))));
    for (what, plate) in others {
        let found = read("plate.dxf", &plate.text()).unwrap_or_else(|e| panic!("{what}: {e}"));
        assert_same(what, figures(&found), plain);
    }
}
