//! How long large drawings take to read, and how much memory: a DXF of 50 MB and an SVG of 20 MB of rounded outlines.
//!
//! `cargo bench --bench drawings` writes both below `target/tmp`, reads each once in this process, and prints megabytes,
//! seconds, megabytes a second, and the peak of resident memory as a multiple of the file (Linux only). Other readers can be
//! timed on the same files.

use std::fmt::Write;
use std::fs;
use std::time::Instant;

use seamwright::drawing::limits::{Limit, Limits};
use seamwright::drawing::{self, DrawingOptions};

/// Corners of an outline about (x, y): twenty vertices on a rounded square, some of their edges bulged.
fn corners(x: f64, y: f64) -> impl Iterator<Item = (f64, f64)> {
    const AT: [(f64, f64); 5] = [
        (-3.0, -4.0),
        (-1.5, -4.0),
        (0.0, -4.0),
        (1.5, -4.0),
        (3.0, -4.0),
    ];
    (0..4).flat_map(move |quarter| {
        AT.into_iter().map(move |(u, v)| {
            let (u, v) = match quarter {
                0 => (u, v),
                1 => (-v, u),
                2 => (-u, -v),
                _ => (v, -u),
            };
            (x + u + 0.123_456, y + v + 0.654_321)
        })
    })
}

fn dxf(bytes: usize) -> String {
    let mut out = String::from(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n",
    );
    let mut k = 0;
    while out.len() < bytes {
        let (x, y) = (10.0 * f64::from(k % 1000), 10.0 * f64::from(k / 1000));
        let _ = write!(
            out,
            "0\nLWPOLYLINE\n5\n{:X}\n100\nAcDbEntity\n8\nFACE\n100\nAcDbPolyline\n90\n20\n70\n1\n",
            k + 256
        );
        for (i, (x, y)) in corners(x, y).enumerate() {
            let _ = write!(out, "10\n{x:.6}\n20\n{y:.6}\n");
            if i % 5 == 0 {
                out.push_str("42\n0.1\n");
            }
        }
        k += 1;
    }
    out + "0\nENDSEC\n0\nEOF\n"
}

fn svg(bytes: usize) -> String {
    let mut out = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"9000mm\" height=\"9000mm\" viewBox=\"0 0 9000 9000\">\n",
    );
    let mut k = 0;
    while out.len() < bytes {
        let (x, y) = (
            10.0 * f64::from(k % 900) + 5.0,
            10.0 * f64::from(k / 900) + 5.0,
        );
        out.push_str("<path d=\"");
        for (i, (x, y)) in corners(x, y).enumerate() {
            let command = match i {
                0 => String::from("M"),
                _ if i % 5 == 1 => String::from("A6 6 0 0 1 "),
                _ => String::from("L"),
            };
            let _ = write!(out, "{command}{x:.6} {y:.6}");
        }
        out.push_str("Z\"/>\n");
        k += 1;
    }
    out + "</svg>\n"
}

fn peak_mb() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM"))?;
    let kb: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kb / 1000.0)
}

/// How often both files are read once more.
const AGAIN: u32 = 5;

/// The drawing that a file holds, and in how many seconds it was read.
fn read(folder: &str, name: &str) -> (Result<usize, String>, f64) {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default().with(Limit::Nodes, 4_000_000),
    };
    let start = Instant::now();
    let bytes = fs::read(format!("{folder}/{name}")).expect("it was just written");
    let drawing = drawing::read(name, &bytes, options);
    let seconds = start.elapsed().as_secs_f64();
    let regions = drawing.map(|d| d.regions.len());
    (regions.map_err(|errors| errors[0].to_string()), seconds)
}

#[allow(
    clippy::print_stdout,
    clippy::expect_used,
    reason = "a bench talks, and stops where it cannot go on"
)]
fn main() {
    let folder = env!("CARGO_TARGET_TMPDIR");
    println!("file, MB, regions, seconds, MB/s, peak memory in MB, times the file");
    // The smaller first: the peak of memory is that of the whole process.
    let mut sizes = Vec::new();
    for (name, text) in [
        ("large.svg", svg(20_000_000)),
        ("large.dxf", dxf(50_000_000)),
    ] {
        fs::write(format!("{folder}/{name}"), &text).expect("the target folder can be written");
        let mb = text.len() as f64 / 1e6;
        drop(text);
        let (regions, seconds) = read(folder, name);
        let peak = peak_mb().unwrap_or(f64::NAN);
        match regions {
            Ok(n) => println!(
                "{name}, {mb:.1}, {n}, {seconds:.2}, {:.1}, {peak:.0}, {:.1}",
                mb / seconds,
                peak / mb
            ),
            Err(error) => println!("{name}: {error}"),
        }
        sizes.push((name, mb, 0.0));
    }
    // The first file also pays for what the process takes from the system; so both again, in turn.
    for _ in 0..AGAIN {
        for (name, _, seconds) in &mut sizes {
            *seconds += read(folder, name).1;
        }
    }
    println!("again, in turn, mean of {AGAIN}: file, MB/s");
    for (name, mb, seconds) in sizes {
        println!("{name}, {:.1}", mb * f64::from(AGAIN) / seconds);
    }
}
