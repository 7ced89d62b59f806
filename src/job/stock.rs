//! The stock file: which sheets there are, what they are worth, and which of them the machine takes.
//!
//! In: the file's text, the cutter, and the materials and thicknesses that the job needs. Out: the file as written, and
//! sheets with their regions and costs; doubts about prices and about sheets that are too large for the machine.

use crate::format::stock_toml::{DefectDoc, SheetDoc, SheetShape, StockDoc};
use crate::geometry::boolean;
use crate::geometry::region::Region;
use crate::geometry::{bounds::Bounds, point::Point, ring::Ring};
use crate::job::cutter_tables::AXES;
use crate::job::error::JobError;
use crate::job::files::beside;
use crate::job::limits::{self, Limit, Span};
use crate::job::owner_tables::placeholder;
use crate::job::parse;
use crate::job::reader::{Item, Table, Walk};
use crate::job::schema;
use crate::model::cutter::{Axis, Cutter};
use crate::model::finding::Finding;
use crate::model::sheet::{Finish, Sheet};
use crate::model::source::SourceKind;

const FINISHES: [(&str, Finish); 3] = [
    ("matte", Finish::Matte),
    ("gloss", Finish::Gloss),
    ("mirror", Finish::Mirror),
];
/// Thicknesses nearer than this are one: they are written to it.
const SAME_THICKNESS: f64 = 1.0e-6;
/// By how much a sheet may exceed the machine and still be taken: rounding of a unit conversion.
const AREA_SLACK: f64 = 1.0e-6;
/// Area in mm² of a square metre.
const SQUARE_METRE_MM2: f64 = 1.0e6;

/// Whether two materials and thicknesses are one class of sheets.
pub(crate) fn same_class(a: (&str, f64), b: (&str, f64)) -> bool {
    (a.1 - b.1).abs() <= SAME_THICKNESS && a.0.to_lowercase() == b.0.to_lowercase()
}

/// The drawings that a stock file names: as written, and relative to the job's folder, where `path` is the stock file's. None
/// of a file that has faults: those are told when it is read as a whole.
pub fn stock_drawings(path: &str, text: &str) -> Vec<(String, String)> {
    let Ok(table) = parse::parse(path, text) else {
        return Vec::new();
    };
    let sheets = table.get("sheet").and_then(|s| s.get_ref().as_array());
    let drawing = |sheet: &toml::Spanned<toml::de::DeValue<'_>>| {
        let written = sheet.get_ref().get("drawing")?.get_ref().as_str()?;
        Some((written.to_owned(), beside(path, written)))
    };
    sheets.into_iter().flatten().filter_map(drawing).collect()
}

impl Walk<'_> {
    /// Reads the stock file that the job names.
    pub(crate) fn stock(&mut self, root: &Table<'_>) -> (StockDoc, Vec<Sheet>) {
        let none = (StockDoc::default(), Vec::new());
        self.need(
            root,
            &["stock"],
            "the sheets that you own, a path relative to this file: `stock = \"stock.toml\"`",
        );
        let Some(item) = root.get("stock") else {
            return none;
        };
        let Some((_, path)) = self.path(root, "stock", "") else {
            return none;
        };
        let Some(text) = self.read_text(&item, &path) else {
            return none;
        };
        let job_file = std::mem::replace(&mut self.file, path.clone());
        let read = self.stock_text(&text, &path);
        self.file = job_file;
        read
    }

    fn stock_text(&mut self, text: &str, path: &str) -> (StockDoc, Vec<Sheet>) {
        let table = match parse::parse(path, text) {
            Ok(table) => table,
            Err(faults) => {
                self.faults.extend(faults);
                return (StockDoc::default(), Vec::new());
            }
        };
        self.places.register(path, &table);
        let root = self.root(&table, schema::STOCK);
        let tables = self.tables(
            &root,
            "sheet",
            schema::SHEET,
            self.limits.most(Limit::Sheets),
        );
        if tables.is_empty() && root.get("sheet").is_none_or(|item| item.is_empty_list()) {
            let fault =
                JobError::EmptyStock.fault(crate::model::fault::Place::File(path.to_owned()));
            self.faults.push(fault);
        }
        let read: Vec<(SheetDoc, Sheet)> =
            tables.iter().map(|table| self.sheet(table, path)).collect();
        let (docs, sheets): (Vec<SheetDoc>, Vec<Sheet>) = read.into_iter().unzip();
        self.check_ids(&docs);
        (StockDoc { sheets: docs }, sheets)
    }

    fn sheet(&mut self, table: &Table<'_>, base: &str) -> (SheetDoc, Sheet) {
        self.need(
            table,
            &["id"],
            "letters, digits, `.`, `_`, `-`: `id = \"mdf-600x400\"`",
        );
        self.need(table, &["material"], "`material = \"MDF\"`");
        self.need(table, &["thickness"], "`thickness = 3`");
        self.need(
            table,
            &["size", "outline", "drawing"],
            "`size = [600, 400]`, `outline = [[0, 0], …]` or `drawing = \"offcut.dxf\"`",
        );
        for (first, second) in [
            ("size", "outline"),
            ("size", "drawing"),
            ("outline", "drawing"),
        ] {
            self.not_both(table, first, second, "a sheet's shape is told once");
        }
        let by_length = self.word(table, "sold_by", &[("length", ())]).is_some();
        if !table.has("size") {
            self.idle(
                table,
                "sold_by",
                "only a rectangle given by `size` is cut to length",
            );
        }
        let (shape, outline) = self
            .sheet_shape(table, base)
            .unwrap_or_else(|| (SheetShape::Size([1.0, 1.0]), placeholder()));
        let defects = self.tables(
            table,
            "defects",
            schema::DEFECT,
            self.limits.most(Limit::Entries),
        );
        let defects: Vec<(DefectDoc, Region)> = defects
            .iter()
            .enumerate()
            .filter_map(|(i, d)| self.defect(d, i))
            .collect();
        let finish = self.word(table, "finish", &FINISHES);
        let grain = self.word(table, "grain", &AXES);
        let doc = SheetDoc {
            id: self.sheet_id(table).unwrap_or_default(),
            material: self.name(table, "material").unwrap_or_default(),
            thickness: self
                .length(table, "thickness", Span::THICKNESS)
                .unwrap_or_default(),
            measured: self.length(table, "measured", Span::THICKNESS),
            shape,
            quantity: self
                .count(table, "quantity", 0, self.limits.most(Limit::SheetsAlike))
                .unwrap_or(1),
            cost: self.number(table, "cost", Span::from_zero(limits::MAX_COST)),
            defects: defects.iter().map(|(doc, _)| doc.clone()).collect(),
            finish: finish.map(Finish::word),
            grain: grain.map(Axis::word),
            by_length,
            from: self.name(table, "from"),
        };
        let defects: Vec<Region> = defects.into_iter().map(|(_, region)| region).collect();
        let region = self.less_defects(table, &doc.id, &outline, &defects);
        let sheet = Sheet {
            finish,
            grain,
            ..sheet_of(&doc, outline, region)
        };
        (doc, sheet)
    }

    fn sheet_shape(&mut self, table: &Table<'_>, base: &str) -> Option<(SheetShape, Region)> {
        let source = SourceKind::Sheet.id(0);
        if let Some(size) = self.pair(table, "size", Span::SIZE) {
            let bounds = Bounds::new(Point::new(0.0, 0.0), Point::new(size[0], size[1]));
            return Some((
                SheetShape::Size(size),
                Region::solid(Ring::rounded_box(bounds, 0.0, source)),
            ));
        }
        if table.has("outline") {
            let (corners, ring) = self.polygon(table, source)?;
            return Some((SheetShape::Outline(corners), Region::solid(ring)));
        }
        let region = self.one_region(table, None, base, "a sheet")?;
        let written = self.text(table, "drawing")?;
        let ring = |r: &Ring| r.with_source(source);
        let region = Region::new(
            ring(region.outer()),
            region.holes().iter().map(ring).collect(),
        );
        Some((SheetShape::Drawing(written), region))
    }

    /// The corners under `outline`, and the ring through them.
    fn polygon(
        &mut self,
        table: &Table<'_>,
        source: crate::geometry::edge::SourceId,
    ) -> Option<(Vec<[f64; 2]>, Ring)> {
        let item = table.get("outline")?;
        let corners = self.points(table, "outline", self.limits.most(Limit::Points))?;
        let points: Vec<Point> = corners.iter().map(|[x, y]| Point::new(*x, *y)).collect();
        let why = match Ring::polygon(&points, source) {
            None if points.len() < 3 => {
                format!("{} corners make no outline; at least 3 do", points.len())
            }
            None => String::from(
                "two neighbouring corners are one point (the first is not repeated at the end)",
            ),
            Some(ring) if ring.area_mm2() == 0.0 => String::from("its corners lie on one line"),
            Some(ring) => match sound(&ring) {
                Ok(()) => return Some((corners, ring)),
                Err(why) => why,
            },
        };
        self.outline_fault(&item, why);
        None
    }

    fn outline_fault(&mut self, item: &Item<'_>, why: String) {
        self.fault(
            &JobError::Outline {
                key: String::from("outline"),
                why,
            },
            item,
        );
    }

    fn defect(&mut self, table: &Table<'_>, index: usize) -> Option<(DefectDoc, Region)> {
        let source = SourceKind::Defect.id(index);
        self.need(
            table,
            &["circle", "outline"],
            "`circle = 12, at = [80, 60]` or `outline = [[0, 0], [30, 0], [0, 30]]`",
        );
        self.not_both(
            table,
            "circle",
            "outline",
            "a defect is a disc or an outline",
        );
        if table.has("outline") {
            self.idle(table, "at", "an outline stands where its corners are");
            let (corners, ring) = self.polygon(table, source)?;
            return Some((DefectDoc::Outline(corners), Region::solid(ring)));
        }
        self.need(
            table,
            &["at"],
            "the disc's centre on the sheet: `at = [80, 60]`",
        );
        let diameter = self.length(table, "circle", Span::SIZE)?;
        let at = self.pair(table, "at", Span::COORDINATE)?;
        let ring = Ring::circle(Point::new(at[0], at[1]), diameter / 2.0, source);
        Some((DefectDoc::Circle { diameter, at }, Region::solid(ring)))
    }

    fn less_defects(
        &mut self,
        table: &Table<'_>,
        id: &str,
        outline: &Region,
        defects: &[Region],
    ) -> Vec<Region> {
        let whole = vec![outline.clone()];
        let Some(item) = table.get("defects").filter(|_| !defects.is_empty()) else {
            return whole;
        };
        match boolean::difference(&whole, defects) {
            Ok(rest) if rest.is_empty() => {
                self.fault(&JobError::NothingLeft { id: id.to_owned() }, &item);
                whole
            }
            Ok(rest) => rest,
            Err(error) => {
                self.outline_fault(&item, error.to_string());
                whole
            }
        }
    }

    /// An id that can be a file name everywhere.
    fn sheet_id(&mut self, table: &Table<'_>) -> Option<String> {
        let item = table.get("id")?;
        let text = self.as_text(&item)?;
        let sound = text
            .bytes()
            .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'_' | b'-'));
        if sound && (1..=limits::MAX_SHEET_ID).contains(&text.len()) {
            return Some(text);
        }
        let why = format!(
            "{text:?} would be a file name; it takes 1 to {} letters, digits, `.`, `_` and `-`",
            limits::MAX_SHEET_ID
        );
        self.fault(
            &JobError::Name {
                key: String::from("id"),
                why,
            },
            &item,
        );
        None
    }

    fn check_ids(&mut self, sheets: &[SheetDoc]) {
        for (i, sheet) in sheets.iter().enumerate() {
            let same =
                |other: &SheetDoc| !sheet.id.is_empty() && other.id.eq_ignore_ascii_case(&sheet.id);
            let Some(before) = sheets[..i].iter().position(same) else {
                continue;
            };
            let what = if sheets[before].id == sheet.id {
                "the sheet"
            } else {
                "but for upper and lower case the sheet"
            };
            let mut fault = JobError::Twice {
                what,
                name: sheet.id.clone(),
            }
            .fault(self.places.of(&format!("sheet.{i}.id")));
            fault.also.push((
                self.places.of(&format!("sheet.{before}.id")),
                String::from("first here"),
            ));
            self.faults.push(fault);
        }
    }

    /// Fills in costs that the file does not tell, and what the cutter takes; tells what the job's classes are concerned by.
    pub(crate) fn finish_stock(
        &mut self,
        sheets: &mut [Sheet],
        cutter: &Cutter,
        needed: &[(&str, f64)],
    ) {
        let rates: Vec<Option<f64>> = sheets
            .iter()
            .map(|sheet| lowest_rate(sheets, sheet))
            .collect();
        for (sheet, rate) in sheets.iter_mut().zip(rates) {
            let is_needed = needed
                .iter()
                .any(|class| same_class(*class, (&sheet.material, sheet.thickness)));
            if !sheet.has_cost {
                sheet.cost = sheet.outline.area_mm2() * rate.unwrap_or(1.0 / SQUARE_METRE_MM2);
            }
            sheet.usable_length = usable_length(sheet, cutter);
            sheet.taken = sheet.usable_length > 0.0;
            if is_needed
                && !sheet.has_cost
                && let Some(rate) = rate
            {
                self.findings.push(guessed_cost(sheet, rate));
            }
            if is_needed
                && !sheet.taken
                && let Some(area) = cutter.area
            {
                self.findings.push(left_aside(sheet, area));
            }
        }
    }
}

fn sheet_of(doc: &SheetDoc, outline: Region, region: Vec<Region>) -> Sheet {
    Sheet {
        id: doc.id.clone(),
        material: doc.material.clone(),
        thickness: doc.thickness,
        measured: doc.measured,
        usable_length: outline.bounds().width(),
        outline,
        region,
        quantity: doc.quantity,
        cost: doc.cost.unwrap_or_default(),
        has_cost: doc.cost.is_some(),
        by_length: doc.by_length,
        grain: None,
        finish: None,
        taken: true,
    }
}

/// Whether a ring is simple, or why not.
fn sound(ring: &Ring) -> Result<(), String> {
    crate::geometry::check::check(&Region::solid(ring.clone())).map_err(|error| error.to_string())
}

/// The lowest price per mm² among the sheets of one class that tell theirs.
fn lowest_rate(sheets: &[Sheet], of: &Sheet) -> Option<f64> {
    sheets
        .iter()
        .filter(|s| {
            s.has_cost && same_class((&s.material, s.thickness), (&of.material, of.thickness))
        })
        .map(|s| s.cost / s.outline.area_mm2())
        .reduce(f64::min)
}

/// How far along x the cutter takes a sheet: all of it or nothing, except for one sold by length, which is cut before it
/// goes into the machine. A sheet may be turned by a quarter to fit.
fn usable_length(sheet: &Sheet, cutter: &Cutter) -> f64 {
    let bounds = sheet.outline.bounds();
    let (length, depth) = (bounds.width(), bounds.depth());
    let Some([along_x, along_y]) = cutter.area else {
        return length;
    };
    let most = |axis: Axis, most: f64| {
        if cutter.pass_through == Some(axis) {
            f64::INFINITY
        } else {
            most
        }
    };
    let (along_x, along_y) = (most(Axis::X, along_x), most(Axis::Y, along_y));
    let reach = |for_length: f64, for_depth: f64| {
        if depth <= for_depth + AREA_SLACK {
            for_length
        } else {
            0.0
        }
    };
    let reach = reach(along_x, along_y).max(reach(along_y, along_x));
    match () {
        () if length <= reach + AREA_SLACK => length,
        () if sheet.by_length => reach,
        () => 0.0,
    }
}

fn guessed_cost(sheet: &Sheet, rate: f64) -> Finding {
    let what = format!(
        "sheet {:?} of {} {} mm has no cost, others of its kind have: it counts as {:.2}, by the lowest price of {:.2} per m²",
        sheet.id,
        sheet.material,
        sheet.thickness,
        sheet.cost,
        rate * SQUARE_METRE_MM2
    );
    Finding::new(
        "K111",
        what,
        format!("sheet {}", sheet.id),
        "give every sheet of a kind its `cost`, or none",
    )
}

fn left_aside(sheet: &Sheet, area: [f64; 2]) -> Finding {
    let bounds = sheet.outline.bounds();
    let what = format!(
        "sheet {:?} measures {} × {} mm and the cutter takes {} × {} mm: it is left aside",
        sheet.id,
        bounds.width(),
        bounds.depth(),
        area[0],
        area[1]
    );
    Finding::new(
        "K112",
        what,
        format!("sheet {}", sheet.id),
        "cut it to size first and tell its parts in the stock file, or set `pass_through`",
    )
}
