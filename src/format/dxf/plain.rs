//! Lines, arcs, circles and lightweight polylines, read from the scanner's pairs as they come.
//!
//! In: the pairs of one entity. Out: its curve; or nothing where any of its pairs is not of the everyday ones whose meaning is
//! plain, or lacks: such an entity is left to the crate `dxf`, whose answer and whose errors count then. Most large files hold
//! nothing but these four kinds, and the crate takes several times as long for them as all else together.
//!
//! Guarantee: what is read here is to the bit what the crate reads; a test holds that on all drawings at hand.

use dxf::Vector;

use crate::format::dxf::pairs::{Pair, Value};
use crate::format::dxf::read::{Frame, frame, placed, vertex};
use crate::format::dxf::{Shape, Vertex};
use crate::geometry::point::Point;
use crate::geometry::tolerance::GRID;

/// Most vertices for which room is made because a file says that they follow.
const MOST_PROMISED: usize = 1024;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Line,
    Arc,
    Circle,
    LwPolyline,
}

/// An entity being read.
#[derive(Debug)]
pub(super) struct Plain {
    kind: Kind,
    /// Whether all pairs so far were everyday ones.
    is_plain: bool,
    /// Between 102/{ and 102/}: what programs keep with an entity.
    in_group: bool,
    /// First and second point; of arcs and circles the first is the centre.
    points: [[f64; 3]; 2],
    radius: f64,
    deg: [f64; 2],
    normal: [f64; 3],
    closed: bool,
    vertices: Vec<Vertex>,
    /// Which group codes from 10 to 51 there were, one bit each.
    seen: u64,
}

impl Plain {
    /// Nothing yet of an entity of a kind; `None` for kinds that are not read here.
    pub(super) fn new(kind: &[u8]) -> Option<Self> {
        let kind = match kind {
            b"LINE" => Kind::Line,
            b"ARC" => Kind::Arc,
            b"CIRCLE" => Kind::Circle,
            b"LWPOLYLINE" => Kind::LwPolyline,
            _ => return None,
        };
        Some(Self {
            kind,
            is_plain: true,
            in_group: false,
            points: [[0.0; 3]; 2],
            radius: 0.0,
            deg: [0.0; 2],
            normal: [0.0, 0.0, 1.0],
            closed: false,
            vertices: Vec::new(),
            seen: 0,
        })
    }

    /// Takes a pair; `number` is its value where that is a finite number.
    pub(super) fn take(&mut self, pair: &Pair<'_>, number: Option<f64>) {
        if !self.is_plain {
            return;
        }
        self.is_plain = match (pair.code, number) {
            (102, _) => self.group(pair),
            _ if self.in_group => matches!(pair.code, 330 | 360) && pair.is_ascii(),
            (10..=59, Some(number)) if self.geometry(pair.code, number) => {
                self.seen |= 1 << pair.code;
                true
            }
            (70 | 90 | 91, Some(number)) if self.kind == Kind::LwPolyline => {
                self.count(pair, number)
            }
            (code, number) => everyday(code, number, pair) || self.extrusion(code, number),
        };
    }

    /// The beginning or end of what programs keep with an entity.
    fn group(&mut self, pair: &Pair<'_>) -> bool {
        let is_next = if self.in_group {
            pair.word() == b"}"
        } else {
            pair.word().starts_with(b"{")
        };
        self.in_group = !self.in_group;
        is_next && pair.is_ascii()
    }

    /// Whether a number belongs to the curve or its line width, and is taken.
    fn geometry(&mut self, code: i32, number: f64) -> bool {
        let axis = match code / 10 {
            1 => 0,
            2 => 1,
            _ => 2,
        };
        match (self.kind, code) {
            (Kind::LwPolyline, 10) => self.vertices.push(Vertex {
                at: Point::new(number, 0.0),
                bulge: 0.0,
            }),
            (Kind::LwPolyline, 20 | 40 | 41 | 42) => {
                let Some(last) = self.vertices.last_mut() else {
                    return false;
                };
                match code {
                    20 => last.at.y = number,
                    42 => last.bulge = number,
                    _ => {}
                }
            }
            (Kind::LwPolyline, 43) | (_, 38 | 39 | 48) => {}
            (Kind::LwPolyline, _) => return false,
            (_, 10 | 20 | 30) => self.points[0][axis] = number,
            (Kind::Line, 11 | 21 | 31) => self.points[1][axis] = number,
            (Kind::Arc | Kind::Circle, 40) => self.radius = number,
            (Kind::Arc, 50) => self.deg[0] = number,
            (Kind::Arc, 51) => self.deg[1] = number,
            _ => return false,
        }
        true
    }

    /// Flags, number and names of vertices.
    fn count(&mut self, pair: &Pair<'_>, number: f64) -> bool {
        match pair.code {
            // As the crate has it, which takes a fraction too.
            70 => self.closed = number as i16 & 1 != 0,
            90 => {
                let promised = pair.whole().and_then(|n| usize::try_from(n).ok());
                let promised = promised.unwrap_or(0).min(MOST_PROMISED);
                self.vertices.reserve_exact(promised);
                return is_int(pair);
            }
            _ => return !self.vertices.is_empty() && is_int(pair),
        }
        true
    }

    fn extrusion(&mut self, code: i32, number: Option<f64>) -> bool {
        let (Some(number), 210 | 220 | 230) = (number, code) else {
            return false;
        };
        self.normal[(code / 10 - 21) as usize] = number;
        true
    }

    /// Whether all of some group codes from 10 to 51 were there.
    fn has(&self, codes: &[i32]) -> bool {
        codes.iter().all(|code| self.seen & 1 << code != 0)
    }

    /// The curve.
    pub(super) fn finish(self) -> Option<Shape> {
        if !self.is_plain || self.in_group {
            return None;
        }
        let [x, y, z] = self.normal;
        let frame = match self.kind {
            // A line is in the drawing's frame whatever its extrusion says.
            Kind::Line => Frame::Upright,
            _ => frame(&Vector { x, y, z }),
        };
        let is_whole = match self.kind {
            Kind::Line => self.has(&[10, 20, 11, 21]),
            Kind::Arc => self.has(&[10, 20, 40, 50, 51]),
            Kind::Circle => self.has(&[10, 20, 40]),
            Kind::LwPolyline => true,
        };
        if !is_whole {
            return None;
        }
        let [a, b] = self.points;
        if frame == Frame::Tilted || self.kind == Kind::Line && (a[2] - b[2]).abs() > GRID {
            return Some(Shape::Tilted);
        }
        let center = placed(frame, a[0], a[1]);
        Some(match self.kind {
            Kind::Line => Shape::Line {
                from: center,
                to: placed(frame, b[0], b[1]),
            },
            Kind::Circle => Shape::Circle {
                center,
                radius: self.radius,
            },
            Kind::Arc => Shape::Arc {
                center,
                radius: self.radius,
                from_deg: self.deg[0],
                to_deg: self.deg[1],
                mirrored: frame == Frame::Mirrored,
            },
            Kind::LwPolyline => {
                let mut vertices = self.vertices;
                for v in &mut vertices {
                    *v = vertex(frame, v.at.x, v.at.y, v.bulge);
                }
                Shape::Polyline {
                    vertices,
                    closed: self.closed,
                }
            }
        })
    }
}

/// Whether a pair is one that any entity may have, and draws nothing: handle, layer, line type, colour, width, owner.
fn everyday(code: i32, number: Option<f64>, pair: &Pair<'_>) -> bool {
    match code {
        5 | 330 | 347 | 390 => {
            let word = pair.word();
            (1..=16).contains(&word.len()) && word.iter().all(u8::is_ascii_hexdigit)
        }
        6 | 8 | 100 | 410 | 430 => pair.is_letters(),
        60 | 62 | 67 | 370 => number.is_some(),
        420 | 440 => is_int(pair),
        _ => false,
    }
}

/// Whether a value is a whole number of 32 bits.
fn is_int(pair: &Pair<'_>) -> bool {
    matches!(pair.value, Value::Text(_) | Value::Whole(_))
        && pair.whole().is_some_and(|n| i32::try_from(n).is_ok())
}

#[cfg(test)]
mod tests {
    use std::fmt::Write;
    use std::fs;
    use std::path::{Path, PathBuf};

    use crate::format::dxf::read::{document, read};
    use crate::format::dxf::scan::{listed, scan};

    /// What is read, and the same with all curves read by the crate, as text with every digit.
    fn both(bytes: &[u8]) -> [String; 2] {
        let by_crate = listed(bytes, false).and_then(|listing| document(bytes, listing));
        [read(bytes), by_crate].map(|read| format!("{read:?}"))
    }

    /// How many curves of a file are read here.
    fn n_plain(bytes: &[u8]) -> usize {
        scan(bytes).map_or(0, |listing| listing.plain.iter().flatten().count())
    }

    fn files_below(folder: &Path, files: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
            if entry.path().is_dir() {
                files_below(&entry.path(), files);
            } else {
                files.push(entry.path());
            }
        }
    }

    #[test]
    fn all_drawings_at_hand_read_as_the_crate_reads_them() {
        let mut files = Vec::new();
        files_below(
            &Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures"),
            &mut files,
        );
        files.sort_unstable();
        let (mut n_files, mut n_curves) = (0, 0);
        for path in files {
            let bytes = fs::read(&path).unwrap_or_default();
            let [own, by_crate] = both(&bytes);
            assert_eq!(own, by_crate, "{}", path.display());
            n_files += usize::from(own.starts_with("Ok"));
            n_curves += n_plain(&bytes);
        }
        // Recorded: 179 drawings and more; what is asserted is that the comparison is not empty.
        assert!(
            n_files > 150 && n_curves > 500,
            "{n_files} files, {n_curves} curves"
        );
    }

    /// Numbers in a fixed order without a pattern (a linear congruence modulo 2^64, upper half).
    struct Draws(u64);

    impl Draws {
        fn below(&mut self, n: usize) -> usize {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((self.0 >> 33) % n as u64) as usize
        }

        fn of<'a>(&mut self, all: &[&'a str]) -> &'a str {
            all[self.below(all.len())]
        }
    }

    const NUMBERS: [&str; 20] = [
        "1.5",
        "-3",
        "0",
        "-0.0",
        "12.345678",
        "  7.25 ",
        "1e3",
        "+4",
        ".5",
        "5.",
        "2.0",
        "-1",
        "0.1234567890123456789",
        "123456789012345678",
        "1",
        "1.",
        "1e-300",
        "007",
        "0.000001",
        "x",
    ];

    fn pair(draws: &mut Draws, out: &mut String) {
        let (code, value) = match draws.below(30) {
            0 => ("62", draws.of(&NUMBERS)),
            1 => (
                "8",
                draws.of(&["FACE", "Gr\u{f6}\u{df}e", "^J", "\\U+00E4"]),
            ),
            2 => ("5", draws.of(&["2F", "", "XYZ", "123456789ABCDEF01", "a"])),
            3 => ("102", draws.of(&["{ACAD_REACTORS", "}", "none"])),
            4 => ("330", draws.of(&["1F", "-", "0"])),
            5 => ("1001", "PROGRAM"),
            6 => ("1040", draws.of(&NUMBERS)),
            7 => ("67", draws.of(&NUMBERS)),
            8 => ("60", draws.of(&["0", "1", "2"])),
            9 => ("70", draws.of(&["0", "1", "129", "1.9", "-1", "70000"])),
            10 => (
                "90",
                draws.of(&["4", "2000000000", "-5", "4.0", "99999999999"]),
            ),
            11 => ("91", draws.of(&["1", "2.5"])),
            12 => (
                draws.of(&["210", "220"]),
                draws.of(&["0", "0.0", "1e-12", "1"]),
            ),
            13 => ("230", draws.of(&["1", "-1", "-1.0", "0", "2"])),
            14 => (
                draws.of(&["370", "420", "440", "284", "310", "999"]),
                draws.of(&NUMBERS),
            ),
            15 => (draws.of(&["100", "6", "410", "1", "2"]), "AcDbEntity"),
            16 => (
                draws.of(&["30", "31", "38", "39", "48"]),
                draws.of(&NUMBERS),
            ),
            17 => (draws.of(&["40", "41", "42", "43"]), draws.of(&NUMBERS)),
            18 => (draws.of(&["50", "51"]), draws.of(&NUMBERS)),
            19..=23 => (draws.of(&["10", "20"]), draws.of(&NUMBERS[..17])),
            _ => (
                draws.of(&["11", "21", "10", "20"]),
                draws.of(&NUMBERS[..10]),
            ),
        };
        let _ = write!(out, "{code}\n{value}\n");
    }

    /// The pairs that a curve needs, one of them missing at times.
    fn curve(draws: &mut Draws, out: &mut String) {
        let kind = draws.of(&["LINE", "ARC", "CIRCLE", "LWPOLYLINE", "LWPOLYLINE"]);
        let _ = write!(out, "0\n{kind}\n");
        let codes: &[&str] = match kind {
            "LINE" => &["10", "20", "30", "11", "21", "31"],
            "ARC" => &["10", "20", "40", "50", "51"],
            "CIRCLE" => &["10", "20", "40"],
            _ => &["90", "70", "10", "20", "42", "10", "20", "42", "10", "20"],
        };
        for code in codes {
            let value = match *code {
                "90" => "3",
                "70" => draws.of(&["0", "1"]),
                _ => draws.of(&NUMBERS[..17]),
            };
            if draws.below(40) > 0 {
                let _ = write!(out, "{code}\n{value}\n");
            }
            if draws.below(8) == 0 {
                pair(draws, out);
            }
        }
    }

    #[test]
    fn drawn_entities_read_as_the_crate_reads_them() {
        let mut draws = Draws(20);
        let (mut n_read, mut n_refused, mut n_plain_curves) = (0, 0, 0);
        for _ in 0..20_000 {
            let mut text = String::from("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\n");
            text += draws.of(&["AC1009", "AC1015", "AC1021", "AC1032"]);
            text += "\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n";
            for _ in 0..1 + draws.below(3) {
                curve(&mut draws, &mut text);
                if draws.below(12) == 0 {
                    text += draws.of(&[
                        "0\nVERTEX\n10\n3\n20\n4\n",
                        "0\nATTRIB\n10\n3\n20\n4\n1\nA\n",
                        "0\nSEQEND\n8\n0\n",
                        "0\nTEXT\n10\n3\n20\n4\n1\nA\n",
                        "0\nSPLINE\n71\n1\n40\n0\n40\n0\n40\n1\n40\n1\n10\n0\n20\n0\n10\n4\n20\n4\n",
                    ]);
                }
            }
            text += "0\nENDSEC\n0\nEOF\n";
            let [own, by_crate] = both(text.as_bytes());
            assert_eq!(own, by_crate, "{text}");
            if own.starts_with("Ok") {
                n_read += 1;
            } else {
                n_refused += 1;
            }
            n_plain_curves += n_plain(text.as_bytes());
        }
        // So that neither way is left out.
        assert!(
            n_read > 2000 && n_refused > 2000 && n_plain_curves > 2000,
            "{n_read} read, {n_refused} refused, {n_plain_curves} curves read here"
        );
    }
}
