//! Path data as nearly all programs write it, read quickly.
//!
//! In: the text of `d`. Out: its segments, or word that something in it is not plain: a number with an exponent, a sign `+` or
//! more than fifteen digits, anything that is no path data. Then the crate `svgtypes` reads the whole of it, and its answer and
//! its errors count. It looks at each number twice and at each letter through a text, and takes several times as long.
//!
//! Guarantee: what is read here is to the bit what the crate reads; a test holds that on texts drawn at random.

use svgtypes::PathSegment;

use crate::format::number::decimal;

/// Tells all segments; whether the text was plain to its end.
pub(super) fn segments(d: &str, take: impl FnMut(PathSegment)) -> bool {
    let text = d.as_bytes();
    Reader { text }.all(take).is_some()
}

struct Reader<'d> {
    /// What is still to be read.
    text: &'d [u8],
}

impl Reader<'_> {
    fn all(&mut self, mut take: impl FnMut(PathSegment)) -> Option<()> {
        let mut command = None;
        self.blanks();
        while let Some(&first) = self.text.first() {
            if first.is_ascii_alphabetic() {
                // Before the first `moveto` nothing is drawn.
                if command.is_none() && !matches!(first, b'M' | b'm') {
                    return None;
                }
                command = Some(first);
                self.text = &self.text[1..];
            } else {
                command = Some(repeated(command?)?);
            }
            take(self.segment(command?)?);
            self.blanks();
        }
        Some(())
    }

    fn segment(&mut self, command: u8) -> Option<PathSegment> {
        let abs = command.is_ascii_uppercase();
        Some(match command.to_ascii_lowercase() {
            b'm' => {
                let [x, y] = self.numbers()?;
                PathSegment::MoveTo { abs, x, y }
            }
            b'l' => {
                let [x, y] = self.numbers()?;
                PathSegment::LineTo { abs, x, y }
            }
            b'h' => {
                let [x] = self.numbers()?;
                PathSegment::HorizontalLineTo { abs, x }
            }
            b'v' => {
                let [y] = self.numbers()?;
                PathSegment::VerticalLineTo { abs, y }
            }
            b'c' => {
                let [x1, y1, x2, y2, x, y] = self.numbers()?;
                PathSegment::CurveTo {
                    abs,
                    x1,
                    y1,
                    x2,
                    y2,
                    x,
                    y,
                }
            }
            b's' => {
                let [x2, y2, x, y] = self.numbers()?;
                PathSegment::SmoothCurveTo { abs, x2, y2, x, y }
            }
            b'q' => {
                let [x1, y1, x, y] = self.numbers()?;
                PathSegment::Quadratic { abs, x1, y1, x, y }
            }
            b't' => {
                let [x, y] = self.numbers()?;
                PathSegment::SmoothQuadratic { abs, x, y }
            }
            b'a' => {
                let [rx, ry, x_axis_rotation] = self.numbers()?;
                let (large_arc, sweep) = (self.flag()?, self.flag()?);
                let [x, y] = self.numbers()?;
                PathSegment::EllipticalArc {
                    abs,
                    rx,
                    ry,
                    x_axis_rotation,
                    large_arc,
                    sweep,
                    x,
                    y,
                }
            }
            b'z' => PathSegment::ClosePath { abs },
            _ => return None,
        })
    }

    fn numbers<const N: usize>(&mut self) -> Option<[f64; N]> {
        let mut out = [0.0; N];
        for number in &mut out {
            self.blanks();
            let (value, length) = decimal(self.text)?;
            self.text = &self.text[length..];
            if matches!(self.text.first(), Some(b'e' | b'E')) {
                return None;
            }
            *number = value;
            self.gap();
        }
        Some(out)
    }

    /// 0 or 1, which may stand right before the next number.
    fn flag(&mut self) -> Option<bool> {
        self.blanks();
        let flag = match self.text.first() {
            Some(b'0') => false,
            Some(b'1') => true,
            _ => return None,
        };
        self.text = &self.text[1..];
        self.gap();
        Some(flag)
    }

    fn blanks(&mut self) {
        while let [b' ' | b'\t' | b'\n' | b'\r', rest @ ..] = self.text {
            self.text = rest;
        }
    }

    /// What may stand after a number: blanks, and one comma.
    fn gap(&mut self) {
        self.blanks();
        if let [b',', rest @ ..] = self.text {
            self.text = rest;
        }
    }
}

/// The command of a segment that is given by its numbers alone, after one of another.
const fn repeated(command: u8) -> Option<u8> {
    match command {
        b'M' => Some(b'L'),
        b'm' => Some(b'l'),
        b'Z' | b'z' => None,
        other => Some(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use svgtypes::PathParser;

    /// Both readers' segments as text with every digit; `None` for what cannot be read.
    fn both(d: &str) -> [Option<String>; 2] {
        let mut own = Vec::new();
        let is_plain = segments(d, |s| own.push(s));
        let by_crate: Result<Vec<_>, _> = PathParser::from(d).collect();
        [
            is_plain.then(|| format!("{own:?}")),
            by_crate.ok().map(|all| format!("{all:?}")),
        ]
    }

    #[test]
    fn plain_data_reads_as_the_crate_reads_it() {
        for d in [
            "",
            " \n",
            "M1 2",
            "m1-2.5.5,3L4,5,6 7H8V-9h.5v1.z",
            "M0,0 C1 2,3 4,5 6 7 8 9 10 11 12 S1 2 3 4 q1,2,3,4 T5 6Z M9 9l1 1",
            "M1 2A6 6 0 0 1 3 4a5,5,30,10-3-4 1 1 0 01.5.5",
            "M1,2,L3,4 ,",
        ] {
            let [own, by_crate] = both(d);
            assert_eq!(own, by_crate, "{d}");
            assert!(d == "M1,2,L3,4 ," || own.is_some(), "{d} is plain");
        }
    }

    #[test]
    fn what_is_drawn_at_random_reads_as_the_crate_reads_it_or_is_left_to_it() {
        const PARTS: [&str; 40] = [
            "M",
            "m",
            "L",
            "l",
            "H",
            "v",
            "C",
            "s",
            "Q",
            "t",
            "A",
            "a",
            "Z",
            "z",
            " ",
            " ",
            " ",
            ",",
            ", ",
            "\n",
            "0",
            "1",
            "0",
            "1",
            "-1",
            "12.5",
            ".5",
            "5.",
            "-.25",
            "007",
            "123456.789012",
            "1234567890123456",
            "1e2",
            "+3",
            "-",
            ".",
            "1-2",
            "0 0 1 3 4",
            "x",
            "3 4 5 6",
        ];
        let mut state = 20_u64;
        let mut below = |n: usize| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 33) % n as u64) as usize
        };
        let (mut n_plain, mut n_sound) = (0, 0);
        for _ in 0..200_000 {
            let mut d = String::from("M0 0");
            for _ in 0..1 + below(9) {
                d.push_str(PARTS[below(PARTS.len())]);
            }
            let [own, by_crate] = both(&d);
            n_sound += usize::from(by_crate.is_some());
            if own.is_some() {
                assert_eq!(own, by_crate, "{d:?}");
                n_plain += 1;
            }
        }
        assert!(
            n_plain > 10_000 && n_sound > n_plain,
            "{n_plain} of {n_sound}"
        );
    }
}
