//! Pages as PDF: lines, curves, Helvetica.
//!
//! Arcs become cubic curves of at most 45° each, whose radius errs by less than 5e-6 of itself (the usual
//! k = 4/3 · tan(θ/4)): 0.5 µm at a radius of 100 mm. `/PrintScaling /None` asks viewers not to fit pages; the trim box is the
//! tile. There is no date in the file, so the same plan gives the same bytes.

use pdf_writer::types::LineCapStyle;
use pdf_writer::{Content, Name, Pdf, Rect, Ref, Str, TextStr};

use crate::geometry::angle;
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::units::POINTS_PER_MM;
use crate::output::proof::Ink;
use crate::output::proof::tiles::{Page, reaches};
use crate::output::scene::Scene;
use crate::output::scene::{Draw, Mark, Text};

/// Largest side of a page in points that every viewer takes; larger ones count in larger units (PDF 1.6, UserUnit).
const MOST_POINTS: f64 = 14_400.0;

/// Widths of Helvetica's characters from space to tilde, in thousandths of the size (Adobe's metrics of the standard fonts,
/// from memory).
const WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278,
    278, // ␠ … /
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, // 0 … ?
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722,
    778, // @ … O
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, // P … _
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, // ` … o
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, // p … ~
];

/// Width of a text at a size.
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    let codes = coded(text);
    let sum: f64 = codes
        .iter()
        .map(|c| {
            f64::from(
                c.checked_sub(b' ')
                    .and_then(|k| WIDTHS.get(usize::from(k)))
                    .copied()
                    .unwrap_or(556),
            )
        })
        .sum();
    sum * size / 1000.0
}

/// A text in the font's own code: Latin letters as they are, what it lacks as `?`.
fn coded(text: &str) -> Vec<u8> {
    text.chars()
        .map(|c| match u32::from(c) {
            code @ (0x20..=0x7e | 0xa1..=0xff) => code as u8,
            _ => b'?',
        })
        .collect()
}

/// Writes the pages. Objects: 1 catalogue, 2 page tree, 3 font, 4 information, then a page and its content each.
pub(super) fn write(scene: &Scene, pages: &[Page], title: &str) -> Vec<u8> {
    let mut pdf = Pdf::new();
    pdf.set_version(1, 6);
    let (catalog, tree, font, info) = (Ref::new(1), Ref::new(2), Ref::new(3), Ref::new(4));
    let page_ref = |k: usize| Ref::new(5 + 2 * k as i32);
    let content_ref = |k: usize| Ref::new(6 + 2 * k as i32);
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.viewer_preferences()
        .pair(Name(b"PrintScaling"), Name(b"None"));
    drop(root);
    pdf.pages(tree)
        .kids((0..pages.len()).map(page_ref))
        .count(pages.len() as i32);
    pdf.type1_font(font)
        .base_font(Name(b"Helvetica"))
        .encoding_predefined(Name(b"WinAnsiEncoding"));
    pdf.document_info(info)
        .title(TextStr(&format!("{title}: proof at 1:1")));
    for (k, page) in pages.iter().enumerate() {
        let longest = page.paper[0].max(page.paper[1]) * POINTS_PER_MM;
        let unit = (longest / MOST_POINTS).ceil().max(1.0);
        let pen = Pen {
            per_mm: POINTS_PER_MM / unit,
        };
        let mut p = pdf.page(page_ref(k));
        p.parent(tree);
        if unit > 1.0 {
            p.user_unit(unit as f32);
        }
        p.media_box(pen.rect(Bounds::new(
            Point::new(0.0, 0.0),
            Point::new(page.paper[0], page.paper[1]),
        )));
        p.trim_box(pen.rect(page.trim));
        p.contents(content_ref(k));
        p.resources().fonts().pair(Name(b"F"), font);
        drop(p);
        pdf.stream(content_ref(k), &pen.page(scene, page));
    }
    pdf.finish()
}

/// From mm to the page's units.
struct Pen {
    per_mm: f64,
}

impl Pen {
    fn at(&self, mm: f64) -> f32 {
        (mm * self.per_mm) as f32
    }

    fn rect(&self, b: Bounds) -> Rect {
        Rect::new(
            self.at(b.min.x),
            self.at(b.min.y),
            self.at(b.max.x),
            self.at(b.max.y),
        )
    }

    /// What is drawn on a page: the face clipped to its view, then the page's own marks.
    fn page(&self, scene: &Scene, page: &Page) -> Vec<u8> {
        let mut out = Content::new();
        out.set_line_cap(LineCapStyle::ButtCap);
        let (part, place, scale) = page.view;
        let view = View {
            from: part.min,
            to: place,
            scale,
        };
        out.save_state();
        let (w, d) = (part.width() * scale, part.depth() * scale);
        out.rect(self.at(place.x), self.at(place.y), self.at(w), self.at(d));
        out.clip_nonzero();
        out.end_path();
        for mark in scene.marks.iter().filter(|m| reaches(m, part)) {
            self.mark(&mut out, mark, view);
        }
        out.restore_state();
        for mark in &page.own.marks {
            self.mark(&mut out, mark, View::SAME);
        }
        out.finish().to_vec()
    }

    fn mark(&self, out: &mut Content, mark: &Mark, view: View) {
        let ink = Ink::of(mark.kind);
        // Lines of a view that is drawn small stay fine, but never finer than a printer's dot.
        out.set_line_width(self.at((ink.width * view.scale.sqrt()).max(0.08)));
        let dashes = ink.dashes.map(|d| d.map(|mm| self.at(mm * view.scale)));
        out.set_dash_pattern(dashes.into_iter().flatten(), 0.0);
        match &mark.draw {
            Draw::Area(region) => {
                for ring in region.rings() {
                    self.edges(out, ring.edges(), view);
                    out.close_path();
                }
                out.stroke();
            }
            Draw::Line(path) => {
                self.edges(out, path.edges(), view);
                out.stroke();
            }
            Draw::Stroke(a, b) => {
                self.move_to(out, view.apply(*a));
                self.line_to(out, view.apply(*b));
                out.stroke();
            }
            Draw::Text(text) => self.text(out, text, view),
            // The proof shows no pieces.
            Draw::Shared(..) => {}
        }
    }

    fn move_to(&self, out: &mut Content, p: Point) {
        out.move_to(self.at(p.x), self.at(p.y));
    }

    fn line_to(&self, out: &mut Content, p: Point) {
        out.line_to(self.at(p.x), self.at(p.y));
    }

    fn edges(&self, out: &mut Content, edges: &[Edge], view: View) {
        if let Some(first) = edges.first() {
            self.move_to(out, view.apply(first.start));
        }
        for edge in edges {
            match edge.curve {
                Curve::Line => self.line_to(out, view.apply(edge.end)),
                Curve::Arc { center, radius, .. } => self.arc(out, edge, center, radius, view),
            }
        }
    }

    /// An arc as cubic curves of at most 45° each.
    fn arc(&self, out: &mut Content, edge: &Edge, center: Point, radius: f64, view: View) {
        let sweep = edge.sweep();
        let n = (sweep.abs() / std::f64::consts::FRAC_PI_4).ceil().max(1.0);
        let step = sweep / n;
        let reach = 4.0 / 3.0 * angle::tan(step / 4.0) * radius;
        let from = (edge.start - center).angle();
        let mut out_of = Point::at_angle(from);
        for k in 1..=(n as usize) {
            let into = Point::at_angle(from + step * k as f64);
            let a = view.apply(center + out_of * radius + out_of.left() * reach);
            let b = view.apply(center + into * radius - into.left() * reach);
            let end = view.apply(center + into * radius);
            out.cubic_to(
                self.at(a.x),
                self.at(a.y),
                self.at(b.x),
                self.at(b.y),
                self.at(end.x),
                self.at(end.y),
            );
            out_of = into;
        }
    }

    /// Text about its middle: half its width back, and down by half the height of a capital, 0.36 of the size.
    fn text(&self, out: &mut Content, text: &Text, view: View) {
        let size = text.height * view.scale;
        let (right, up) = if text.upright {
            (Point::new(0.0, 1.0), Point::new(-1.0, 0.0))
        } else {
            (Point::new(1.0, 0.0), Point::new(0.0, 1.0))
        };
        let half = text_width(&text.words, size) / 2.0;
        let at = view.apply(text.at) - right * half - up * (0.36 * size);
        out.begin_text();
        out.set_font(Name(b"F"), self.at(size));
        out.set_text_matrix([
            right.x as f32,
            right.y as f32,
            up.x as f32,
            up.y as f32,
            self.at(at.x),
            self.at(at.y),
        ]);
        out.show(Str(&coded(&text.words)));
        out.end_text();
    }
}

/// From the face to the page.
#[derive(Clone, Copy)]
struct View {
    from: Point,
    to: Point,
    scale: f64,
}

impl View {
    const SAME: Self = Self {
        from: Point::new(0.0, 0.0),
        to: Point::new(0.0, 0.0),
        scale: 1.0,
    };

    fn apply(self, p: Point) -> Point {
        self.to + (p - self.from) * self.scale
    }
}
