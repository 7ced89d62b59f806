//! The tables that place things on the bed: `[bed]`, `[fixture]`, `[fastener]`, `[blank]`, `[grid]`, `[notch]`, `[[opening]]`.

use std::sync::Arc;

use crate::drawing::Drawing;
use crate::fixture::brief::{
    Bed, Blank, Datum, Fastener, Fit, Grid, HoleSize, Locating, Notch, Opening, OpeningPlace,
    OpeningShape, Outline, Shape, Side, Step,
};
use crate::geometry::point::Point;
use crate::job::defaults;
use crate::job::error::JobError;
use crate::job::limits::{Limit, Span};
use crate::job::reader::{Item, Table, Walk};
use crate::job::schema;

const DATUMS: [(&str, Datum); 4] = [
    ("front-left", Datum::FrontLeft),
    ("front-right", Datum::FrontRight),
    ("back-left", Datum::BackLeft),
    ("back-right", Datum::BackRight),
];
const SIDES: [(&str, Side); 4] = [
    ("left", Side::Left),
    ("right", Side::Right),
    ("front", Side::Front),
    ("back", Side::Back),
];
const METRIC_FITS: [(&str, Fit); 3] = [
    ("fine", Fit::Fine),
    ("medium", Fit::Medium),
    ("coarse", Fit::Coarse),
];
const INCH_FITS: [(&str, Fit); 3] = [
    ("close", Fit::Fine),
    ("normal", Fit::Medium),
    ("loose", Fit::Coarse),
];
const ORIGIN: Point = Point::new(0.0, 0.0);

/// Words that `features` takes for what is no opening.
pub(crate) const FEATURE_WORDS: [&str; 4] = ["locating", "relief", "pocket", "notch"];

impl Walk<'_> {
    /// `[bed]`.
    pub(crate) fn bed(&mut self, root: &Table<'_>) -> Option<Bed> {
        let table = self.table(root, "bed", schema::BED)?;
        self.need(
            &table,
            &["size"],
            "the bed's extents along x and y: `size = [900, 620]`",
        );
        let locating = self.tables(
            &table,
            "locating",
            schema::LOCATING,
            self.limits.most(Limit::Entries),
        );
        Some(Bed {
            size: self.pair(&table, "size", Span::SIZE).unwrap_or_default(),
            datum: self
                .word(&table, "datum", &DATUMS)
                .unwrap_or(Datum::FrontLeft),
            head_gap: self
                .length(&table, "head_gap", Span::DISTANCE)
                .unwrap_or_default(),
            clear_height: self.length(&table, "clear_height", Span::SIZE),
            locating: locating
                .iter()
                .enumerate()
                .map(|(i, hole)| self.locating(hole, i == 0))
                .collect(),
        })
    }

    fn locating(&mut self, table: &Table<'_>, first: bool) -> Locating {
        self.need(table, &["at"], "inward from the datum: `at = [22, 24]`");
        self.need(
            table,
            &["thread", "diameter"],
            "`thread = \"M6\"`, `thread = \"1/4-20\"` or `diameter = 7`",
        );
        self.not_both(
            table,
            "thread",
            "diameter",
            "a thread gives the hole its size by the standard, a diameter by itself",
        );
        if first {
            self.idle(
                table,
                "slot",
                "the first locating hole is round, and the slots of the others point at it",
            );
        }
        let size = match self.text(table, "thread") {
            Some(name) => {
                let fits = if name.starts_with(['M', 'm']) {
                    METRIC_FITS
                } else {
                    INCH_FITS
                };
                HoleSize::Thread {
                    fit: self.word(table, "fit", &fits).unwrap_or(Fit::Medium),
                    name,
                }
            }
            None => {
                self.idle(table, "fit", "the hole is given by its diameter");
                HoleSize::Diameter(
                    self.length(table, "diameter", Span::SIZE)
                        .unwrap_or_default(),
                )
            }
        };
        Locating {
            at: self.point(table, "at").unwrap_or_default(),
            size,
            slot: self
                .length(table, "slot", Span::DISTANCE)
                .unwrap_or_default(),
        }
    }

    /// `[fixture]`.
    pub(crate) fn outline(&mut self, root: &Table<'_>) -> Option<Outline> {
        let table = self.table(root, "fixture", schema::FIXTURE)?;
        self.not_both(
            &table,
            "size",
            "drawing",
            "the outline is a rectangle or a drawing",
        );
        let size = self.pair(&table, "size", Span::SIZE);
        if !table.has("size") {
            self.idle(&table, "corner_radius", "it rounds the rectangle of `size`");
        }
        let radius = self
            .length(&table, "corner_radius", Span::DISTANCE)
            .unwrap_or_default();
        if let Some(size) = size {
            self.radius_fits(&table, "corner_radius", radius, size);
        }
        let shape = match size {
            Some(size) => Some(Shape::Rect { size, radius }),
            None => self.drawing(&table, None, "").map(drawn_shape),
        };
        Some(Outline {
            shape,
            at: self.point(&table, "at").unwrap_or(ORIGIN),
        })
    }

    fn radius_fits(&mut self, table: &Table<'_>, key: &str, radius: f64, size: [f64; 2]) {
        let most = size[0].min(size[1]) / 2.0;
        if let Some(item) = table.get(key).filter(|_| radius > most) {
            let range = format!("at most {most} mm, half of the lesser side");
            self.fault(
                &JobError::Range {
                    key: key.to_owned(),
                    value: format!("{radius} mm"),
                    range,
                    above: None,
                },
                &item,
            );
        }
    }

    /// `[fastener]`.
    pub(crate) fn fastener(&mut self, root: &Table<'_>) -> Fastener {
        let Some(table) = self.table(root, "fastener", schema::FASTENER) else {
            return Fastener {
                reach: defaults::REACH,
                ..Fastener::default()
            };
        };
        Fastener {
            head_diameter: self.length(&table, "head_diameter", Span::SIZE),
            head_height: self.length(&table, "head_height", Span::DISTANCE),
            reach: self
                .length(&table, "reach", Span::DISTANCE)
                .unwrap_or(defaults::REACH),
        }
    }

    /// `[blank]`.
    pub(crate) fn blank(&mut self, root: &Table<'_>) -> Option<Blank> {
        let table = self.table(root, "blank", schema::BLANK)?;
        self.need(&table, &["shape"], "`shape = { rect = [85, 54], radius = 3 }`, `{ circle = 95 }` or `{ drawing = \"badge.dxf\" }`");
        self.need(
            &table,
            &["thickness"],
            "the stack is checked with it: `thickness = 3`",
        );
        let shape = self.shape(&table);
        Some(Blank {
            shape: shape.unwrap_or(Shape::Circle { diameter: 1.0 }),
            thickness: self
                .length(&table, "thickness", Span::THICKNESS)
                .unwrap_or_default(),
            clearance: self
                .length(&table, "clearance", Span::DISTANCE)
                .unwrap_or(defaults::CLEARANCE),
            angle_deg: self
                .number(&table, "angle", Span::ANGLE_DEG)
                .unwrap_or_default(),
        })
    }

    /// `shape = { … }` of a blank or an opening.
    fn shape(&mut self, parent: &Table<'_>) -> Option<Shape> {
        let table = self.table(parent, "shape", schema::SHAPE)?;
        self.need(
            &table,
            &["rect", "circle", "drawing"],
            "`rect = [85, 54]`, `circle = 95` or `drawing = \"badge.dxf\"`",
        );
        for (first, second) in [
            ("rect", "circle"),
            ("rect", "drawing"),
            ("circle", "drawing"),
        ] {
            self.not_both(&table, first, second, "a shape is one of the three");
        }
        if !table.has("rect") {
            self.idle(&table, "radius", "it rounds the corners of a `rect`");
        }
        if let Some(size) = self.pair(&table, "rect", Span::SIZE) {
            let radius = self
                .length(&table, "radius", Span::DISTANCE)
                .unwrap_or_default();
            self.radius_fits(&table, "radius", radius, size);
            return Some(Shape::Rect { size, radius });
        }
        if let Some(diameter) = self.length(&table, "circle", Span::SIZE) {
            return Some(Shape::Circle { diameter });
        }
        self.drawing(&table, None, "").map(drawn_shape)
    }

    /// `[grid]`.
    pub(crate) fn grid(&mut self, root: &Table<'_>) -> Option<Grid> {
        let table = self.table(root, "grid", schema::GRID)?;
        self.need(&table, &["pitch", "spacing"], "`pitch = [110, 80]`, centre to centre, or `spacing = [25, 26]`, the room between two blanks");
        self.not_both(
            &table,
            "pitch",
            "spacing",
            "the pitch is the blank's extent and the spacing",
        );
        let step = match self.pair(&table, "pitch", Span::SIZE) {
            Some(pitch) => Step::Pitch(pitch),
            None => Step::Spacing(
                self.pair(&table, "spacing", Span::DISTANCE)
                    .unwrap_or_default(),
            ),
        };
        let most = self.limits.most(Limit::Pockets);
        let columns = self.count(&table, "columns", 1, most);
        let rows = self.count(&table, "rows", 1, most);
        let n_pockets = columns.unwrap_or(1).saturating_mul(rows.unwrap_or(1));
        if n_pockets > most.count {
            let error = JobError::TooMany {
                what: "pockets",
                n: n_pockets,
                most,
            };
            self.fault_at(&error, "grid.columns");
        }
        Some(Grid {
            step,
            columns,
            rows,
            first: self.point(&table, "first"),
            shift: self
                .length(&table, "shift", Span::COORDINATE)
                .unwrap_or_default(),
            margin: self
                .length(&table, "margin", Span::DISTANCE)
                .unwrap_or(defaults::MARGIN),
            skip: self.skip(&table),
        })
    }

    fn skip(&mut self, table: &Table<'_>) -> Vec<[usize; 2]> {
        let Some(item) = table.get("skip") else {
            return Vec::new();
        };
        let cells = self.list(&item, self.limits.most(Limit::Pockets));
        cells.iter().filter_map(|cell| self.cell(cell)).collect()
    }

    /// `[column, row]`.
    fn cell(&mut self, item: &Item<'_>) -> Option<[usize; 2]> {
        let numbers = self.list(item, 2);
        if numbers.len() == 1 {
            return self.wrong_type(item, "a list of column and row, `[0, 0]`");
        }
        let counts: Vec<usize> = numbers
            .iter()
            .filter_map(|n| self.as_count(n, 0, self.limits.most(Limit::Pockets)))
            .collect();
        <[usize; 2]>::try_from(counts).ok()
    }

    /// `[notch]`.
    pub(crate) fn notch(&mut self, root: &Table<'_>) -> Option<Notch> {
        let table = self.table(root, "notch", schema::NOTCH)?;
        self.need(
            &table,
            &["diameter"],
            "the disc about the middle of the pocket's side: `diameter = 16`",
        );
        self.need(
            &table,
            &["side"],
            "`side = \"front\"`, or a list: `side = [\"front\", \"back\"]`",
        );
        let sides = match table.get("side") {
            Some(item) if item.is_text() => self.as_word(&item, &SIDES).into_iter().collect(),
            Some(item) => self.sides(&item),
            None => Vec::new(),
        };
        Some(Notch {
            diameter: self
                .length(&table, "diameter", Span::SIZE)
                .unwrap_or_default(),
            sides,
        })
    }

    fn sides(&mut self, list: &Item<'_>) -> Vec<Side> {
        let mut sides = Vec::new();
        for item in self.list(list, self.limits.most(Limit::Entries)) {
            let Some(side) = self.as_word(&item, &SIDES) else {
                continue;
            };
            if sides.contains(&side) {
                let name = self.as_text(&item).unwrap_or_default();
                self.fault(
                    &JobError::Twice {
                        what: "the side",
                        name,
                    },
                    &item,
                );
            }
            sides.push(side);
        }
        sides
    }

    /// `[[opening]]`.
    pub(crate) fn openings(&mut self, root: &Table<'_>) -> Vec<Opening> {
        let tables = self.tables(
            root,
            "opening",
            schema::OPENING,
            self.limits.most(Limit::Entries),
        );
        let openings: Vec<Opening> = tables.iter().map(|table| self.opening(table)).collect();
        self.names_differ(
            "opening",
            &openings.iter().map(|o| o.name.clone()).collect::<Vec<_>>(),
        );
        for (table, opening) in tables.iter().zip(&openings) {
            if let Some(item) = table
                .get("name")
                .filter(|_| FEATURE_WORDS.contains(&opening.name.as_str()))
            {
                let why = format!("`features` takes {:?} for something else", opening.name);
                self.fault(
                    &JobError::Name {
                        key: String::from("name"),
                        why,
                    },
                    &item,
                );
            }
        }
        openings
    }

    fn opening(&mut self, table: &Table<'_>) -> Opening {
        self.need(
            table,
            &["name"],
            "a layer takes the opening by it: `name = \"eject\"`",
        );
        self.need(table, &["shape", "grow"], "`shape = { circle = 14 }`, or `grow = -3` for the blank's outline, smaller by 3 all round");
        self.not_both(
            table,
            "shape",
            "grow",
            "an opening has a shape of its own or the blank's",
        );
        self.need(
            table,
            &["each", "at"],
            "`each = \"blank\"`, or its middle: `at = [[120, 80]]`",
        );
        self.not_both(
            table,
            "each",
            "at",
            "an opening is at every blank or at places of its own",
        );
        if !table.has("each") {
            self.idle(table, "offset", "it moves what is at each blank");
        }
        let name = self.name(table, "name").unwrap_or_default();
        let grow = self.length(table, "grow", Span::COORDINATE);
        let shape = match grow {
            Some(grow) => OpeningShape::Grow(grow),
            None => OpeningShape::Own(self.shape(table).unwrap_or(Shape::Circle { diameter: 1.0 })),
        };
        let each = self.word(table, "each", &[("blank", ())]).is_some();
        let offset = self.point(table, "offset").unwrap_or(ORIGIN);
        let at = self
            .points(table, "at", self.limits.most(Limit::Entries))
            .unwrap_or_default();
        let place = if each {
            OpeningPlace::EachBlank(offset)
        } else {
            OpeningPlace::At(at.into_iter().map(|[x, y]| Point::new(x, y)).collect())
        };
        Opening { name, shape, place }
    }

    /// Says which names of a list of tables stand there before.
    pub(crate) fn names_differ(&mut self, tables: &'static str, names: &[String]) {
        for (i, name) in names.iter().enumerate() {
            let Some(before) = names[..i]
                .iter()
                .position(|other| other == name)
                .filter(|_| !name.is_empty())
            else {
                continue;
            };
            let mut fault = JobError::Twice {
                what: tables,
                name: name.clone(),
            }
            .fault(self.places.of(&format!("{tables}.{i}.name")));
            fault.also.push((
                self.places.of(&format!("{tables}.{before}.name")),
                String::from("first here"),
            ));
            self.faults.push(fault);
        }
    }
}

/// A shape as a drawing has it.
fn drawn_shape(drawn: Arc<Drawing>) -> Shape {
    Shape::Drawn {
        regions: Arc::new(drawn.regions.clone()),
        stray: drawn.stray,
    }
}
