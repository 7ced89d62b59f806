//! Stock files: what stands in one, and how one is written.
//!
//! In: sheets in mm. Out: TOML whose lengths are in mm or inches, sheets in the order given, every key on its own line
//! and in one fixed order, so that the same stock gives the same bytes.
//!
//! Numbers are written by `format::number`: six decimals in mm, nine in inches, so that a thickness read back is still
//! the same one to 1e-6 mm.

use crate::format::number;
use crate::geometry::units::MM_PER_INCH;

/// A stock file as written, lengths in mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StockDoc {
    /// `[[sheet]]`, in the file's order.
    pub sheets: Vec<SheetDoc>,
}

/// One `[[sheet]]` as written.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetDoc {
    /// Its id.
    pub id: String,
    /// Its material.
    pub material: String,
    /// Nominal thickness.
    pub thickness: f64,
    /// What the caliper says.
    pub measured: Option<f64>,
    /// Its shape.
    pub shape: SheetShape,
    /// How many there are.
    pub quantity: usize,
    /// Value of the whole sheet, where told.
    pub cost: Option<f64>,
    /// What cannot be used.
    pub defects: Vec<DefectDoc>,
    /// Its face, in the file's word.
    pub finish: Option<&'static str>,
    /// Its grain, in the file's word.
    pub grain: Option<&'static str>,
    /// Whether it is sold by length.
    pub by_length: bool,
    /// Of a remnant: the sheet that it is the rest of.
    pub from: Option<String>,
}

/// The shape of a sheet as written.
#[derive(Clone, Debug, PartialEq)]
pub enum SheetShape {
    /// Extents along x and y.
    Size([f64; 2]),
    /// Corners.
    Outline(Vec<[f64; 2]>),
    /// A drawing's path, as written.
    Drawing(String),
}

/// A defect as written.
#[derive(Clone, Debug, PartialEq)]
pub enum DefectDoc {
    /// A disc.
    Circle {
        /// Its diameter.
        diameter: f64,
        /// Its centre.
        at: [f64; 2],
    },
    /// Corners.
    Outline(Vec<[f64; 2]>),
}

/// Writes a stock file, with bare numbers in inches or in mm.
pub fn write(doc: &StockDoc, inches: bool) -> String {
    let tables: Vec<String> = doc
        .sheets
        .iter()
        .map(|sheet| sheet_table(sheet, inches))
        .collect();
    tables.join("\n")
}

fn sheet_table(sheet: &SheetDoc, inches: bool) -> String {
    let mut lines = vec![
        String::from("[[sheet]]"),
        format!("id = {}", quoted(&sheet.id)),
        format!("material = {}", quoted(&sheet.material)),
        format!("thickness = {}", length(sheet.thickness, inches)),
    ];
    lines.extend(
        sheet
            .from
            .as_ref()
            .map(|from| format!("from = {}", quoted(from))),
    );
    lines.extend(
        sheet
            .measured
            .map(|m| format!("measured = {}", length(m, inches))),
    );
    lines.push(match &sheet.shape {
        SheetShape::Size(size) => format!("size = {}", pair(*size, inches)),
        SheetShape::Outline(corners) => format!("outline = {}", pairs(corners, inches)),
        SheetShape::Drawing(path) => format!("drawing = {}", quoted(path)),
    });
    if sheet.by_length {
        lines.push(String::from("sold_by = \"length\""));
    }
    lines.push(format!("quantity = {}", sheet.quantity));
    lines.extend(
        sheet
            .cost
            .map(|cost| format!("cost = {}", number::length(cost))),
    );
    if !sheet.defects.is_empty() {
        let defects: Vec<String> = sheet.defects.iter().map(|d| defect(d, inches)).collect();
        lines.push(format!("defects = [ {} ]", defects.join(", ")));
    }
    lines.extend(sheet.finish.map(|finish| format!("finish = \"{finish}\"")));
    lines.extend(sheet.grain.map(|grain| format!("grain = \"{grain}\"")));
    lines.push(String::new());
    lines.join("\n")
}

fn defect(defect: &DefectDoc, inches: bool) -> String {
    match defect {
        DefectDoc::Circle { diameter, at } => format!(
            "{{ circle = {}, at = {} }}",
            length(*diameter, inches),
            pair(*at, inches)
        ),
        DefectDoc::Outline(corners) => format!("{{ outline = {} }}", pairs(corners, inches)),
    }
}

fn length(mm: f64, inches: bool) -> String {
    if inches {
        number::number(mm / MM_PER_INCH, number::FINE_DECIMALS)
    } else {
        number::length(mm)
    }
}

fn pair(p: [f64; 2], inches: bool) -> String {
    format!("[{}, {}]", length(p[0], inches), length(p[1], inches))
}

fn pairs(points: &[[f64; 2]], inches: bool) -> String {
    let points: Vec<String> = points.iter().map(|p| pair(*p, inches)).collect();
    format!("[{}]", points.join(", "))
}

/// A basic TOML string: quotes, backslashes and control characters escaped, so that no text can add a key.
pub fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", c as u32)),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_of_any_characters_reads_back_as_one_string() {
        for text in [
            "plain",
            "with \"quotes\"",
            "back\\slash",
            "line\nbreak",
            "\u{7f}\u{85}\u{0}",
            "\"\nquantity = 9",
        ] {
            let table: toml::Table =
                toml::from_str(&format!("a = {}", quoted(text))).unwrap_or_default();
            assert_eq!(table.get("a").and_then(|v| v.as_str()), Some(text));
            assert_eq!(table.len(), 1, "nothing else was added");
        }
    }
}
