//! The tables of the machine and of what is written: `[cutter]`, `[seams]`, `[marks]`, `[output]`, `[search]`.
//!
//! Spacing, margin and seam limits have defaults that depend on the widest cut and the thickest layer; they are filled
//! in once layers and parts are known.

use crate::cut::options::Marks;
use crate::job::defaults;
use crate::job::error::JobError;
use crate::job::limits::{self, Limit, Span};
use crate::job::reader::{Item, Table, Walk};
use crate::job::schema;
use crate::model::comparison::PATTERNS;
use crate::model::cutter::{Axis, Cutter, CutterKind, Pace, Turns};
use crate::model::plan::SeamLimits;
use crate::model::seam::Bond;
use crate::model::seam::Pattern;
use crate::output::options::{DxfRelease, LayerStyle, Options as OutputOptions, Paper};
use crate::planner::options::{Budget, Options as SearchOptions};
use crate::seam::options::Options as SeamOptions;

pub(crate) const TURNS: [(&str, Turns); 4] = [
    ("none", Turns::None),
    ("half", Turns::Half),
    ("quarter", Turns::Quarter),
    ("any", Turns::Any),
];
pub(crate) const AXES: [(&str, Axis); 2] = [("x", Axis::X), ("y", Axis::Y)];
const KINDS: [(&str, CutterKind); 2] =
    [("laser", CutterKind::Laser), ("router", CutterKind::Router)];
const BONDS: [(&str, Bond); 4] = [
    ("dry", Bond::Dry),
    ("film", Bond::Film),
    ("weld", Bond::Weld),
    ("glue", Bond::Glue),
];
const PAPERS: [(&str, Paper); 4] = [
    ("a4", Paper::A4),
    ("letter", Paper::Letter),
    ("a3", Paper::A3),
    ("bed", Paper::Bed),
];
const RELEASES: [(&str, DxfRelease); 2] = [("R2000", DxfRelease::R2000), ("R12", DxfRelease::R12)];
/// Keys of `[output]` that style an operation, in the order of `Operation`, and the default name.
const STYLES: [(&str, &str); 4] = [
    ("engrave", "ENGRAVE"),
    ("cut_inner", "CUT_INNER"),
    ("cut_outer", "CUT_OUTER"),
    ("sheet", "SHEET"),
];
/// Seeds fit a TOML integer.
const MAX_SEED: usize = i64::MAX as usize;

/// `[cutter]` before the widest cut is known.
pub(crate) struct CutterTable {
    /// All but spacing and margin.
    pub(crate) cutter: Cutter,
    /// As told.
    pub(crate) spacing: Option<f64>,
    /// As told.
    pub(crate) edge_margin: Option<f64>,
    /// Whether the width of the cut was told.
    pub(crate) has_cut_width: bool,
}

/// `[seams]` before the thickest layer is known.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SeamTable {
    /// Of layers that do not say otherwise.
    pub(crate) pattern: Pattern,
    /// As told.
    pub(crate) min_web: Option<f64>,
    tooth: Option<f64>,
    depth: Option<f64>,
    corner_radius: Option<f64>,
    min_lap: Option<f64>,
    keep_clear: Option<f64>,
    min_piece: Option<f64>,
    gap: f64,
    bond: Bond,
}

impl SeamTable {
    /// The options, for the thickest layer and the cutter.
    pub(crate) fn options(&self, thickest: f64, cutter: &Cutter) -> SeamOptions {
        SeamOptions {
            tooth: self.tooth,
            depth: self.depth,
            corner_radius: self
                .corner_radius
                .unwrap_or_else(|| defaults::corner_radius(cutter.kind, cutter.cut_width)),
            bond: self.bond,
            limits: SeamLimits {
                gap: self.gap,
                min_lap: self.min_lap.unwrap_or_else(|| defaults::min_lap(thickest)),
                keep_clear: self
                    .keep_clear
                    .unwrap_or_else(|| defaults::keep_clear(thickest)),
                min_piece: self
                    .min_piece
                    .unwrap_or_else(|| defaults::min_piece(thickest)),
            },
        }
    }
}

impl Walk<'_> {
    /// `[cutter]`.
    pub(crate) fn cutter(&mut self, root: &Table<'_>) -> CutterTable {
        let empty = toml::de::DeTable::new();
        let table = match self.table(root, "cutter", schema::CUTTER) {
            Some(table) => table,
            None => self.root(&empty, schema::CUTTER),
        };
        let kind = self
            .word(&table, "kind", &KINDS)
            .unwrap_or(CutterKind::Laser);
        let width = self.cut_width(root, &table, kind);
        if !table.has("area") {
            self.idle(
                &table,
                "pass_through",
                "without `area` sheets of any size are taken",
            );
        }
        let tab_width = self.tabs(&table);
        self.refuse_later_work(&table);
        let cutter = Cutter {
            kind,
            cut_width: width.unwrap_or_default(),
            area: self.pair(&table, "area", Span::SIZE),
            pass_through: self.word(&table, "pass_through", &AXES),
            spacing: 0.0,
            edge_margin: 0.0,
            flip: self.flag(&table, "flip").unwrap_or(false),
            turns: self
                .word(&table, "turns", &TURNS)
                .unwrap_or(defaults::TURNS),
            compensate: self.flag(&table, "compensate").unwrap_or(true),
            tab_width,
            pace: self.pace(&table),
        };
        CutterTable {
            cutter,
            spacing: self.length(&table, "spacing", Span::DISTANCE),
            edge_margin: self.length(&table, "edge_margin", Span::DISTANCE),
            has_cut_width: width.is_some(),
        }
    }

    /// The width of the cut, under the key of this kind of machine.
    fn cut_width(&mut self, root: &Table<'_>, table: &Table<'_>, kind: CutterKind) -> Option<f64> {
        let (key, other, word, belongs, hint) = match kind {
            CutterKind::Laser => (
                "kerf",
                "tool_diameter",
                "laser",
                "router",
                "the width of the cut, measured on a test piece; it is never guessed: `kerf = 0.16`",
            ),
            CutterKind::Router => (
                "tool_diameter",
                "kerf",
                "router",
                "laser",
                "the diameter of the tool; it is never guessed: `tool_diameter = 3.175`",
            ),
        };
        if let Some(item) = table.get(other) {
            self.fault(
                &JobError::CutKey {
                    key: other,
                    belongs,
                    kind: word,
                    instead: key,
                },
                &item,
            );
        } else if root.has("cutter") {
            self.need(table, &[key], hint);
        } else {
            let hint = "a table `[cutter]` tells how wide the cut is; it is never guessed: `kerf = 0.16` for a laser, or `kind = \"router\"` and `tool_diameter = 3.175`";
            self.need(root, &["cutter"], hint);
        }
        self.length(table, key, Span::CUT)
    }

    /// `tabs = { … }`: the narrowest place of a tab.
    fn tabs(&mut self, table: &Table<'_>) -> f64 {
        let Some(tabs) = self.table(table, "tabs", schema::TABS) else {
            return defaults::TAB_WIDTH;
        };
        let count = self.count(&tabs, "count", 0, self.limits.most(Limit::Entries));
        if let Some(item) = tabs.get("count").filter(|_| count.unwrap_or(0) > 0) {
            self.not_yet(
                "leaving tabs",
                "set `count = 0`, and hold the pieces by tape or vacuum",
                &item,
            );
        }
        self.length(&tabs, "width", Span::SIZE)
            .unwrap_or(defaults::TAB_WIDTH)
    }

    fn refuse_later_work(&mut self, table: &Table<'_>) {
        let relief = self.word(
            table,
            "corner_relief",
            &[("none", false), ("dogbone", true), ("tbone", true)],
        );
        if let Some(item) = table.get("corner_relief").filter(|_| relief == Some(true)) {
            self.not_yet(
                "corner relief",
                "leave it out, or round the blank's corners by at least the tool's radius",
                &item,
            );
        }
        let lead = self
            .length(table, "lead_in", Span::DISTANCE)
            .unwrap_or_default();
        if let Some(item) = table.get("lead_in").filter(|_| lead > 0.0) {
            self.not_yet("a lead-in", "set `lead_in = 0`", &item);
        }
    }

    fn not_yet(&mut self, what: &str, hint: &'static str, item: &Item<'_>) {
        self.fault(
            &JobError::NotYet {
                what: what.to_owned(),
                hint,
            },
            item,
        );
    }

    fn pace(&mut self, table: &Table<'_>) -> Pace {
        let above = Span::above_zero(limits::MAX_PACE);
        Pace {
            speed: self
                .number(table, "speed", above)
                .unwrap_or(defaults::SPEED),
            travel_speed: self
                .number(table, "travel_speed", above)
                .unwrap_or(defaults::TRAVEL_SPEED),
            acceleration: self
                .number(table, "acceleration", above)
                .unwrap_or(defaults::ACCELERATION),
            pierce_s: self
                .number(table, "pierce_s", Span::from_zero(limits::MAX_SECONDS))
                .unwrap_or(defaults::PIERCE_S),
        }
    }

    /// `[seams]`.
    pub(crate) fn seams(&mut self, root: &Table<'_>) -> SeamTable {
        let empty = toml::de::DeTable::new();
        let table = match self.table(root, "seams", schema::SEAMS) {
            Some(table) => table,
            None => self.root(&empty, schema::SEAMS),
        };
        SeamTable {
            pattern: table
                .get("pattern")
                .and_then(|item| self.pattern(&item, false))
                .flatten()
                .unwrap_or(defaults::PATTERN),
            min_web: self.length(&table, "min_web", Span::DISTANCE),
            tooth: self.length(&table, "tooth", Span::SIZE),
            depth: self.length(&table, "depth", Span::SIZE),
            corner_radius: self.length(&table, "corner_radius", Span::DISTANCE),
            min_lap: self.length(&table, "min_lap", Span::DISTANCE),
            keep_clear: self.length(&table, "keep_clear", Span::DISTANCE),
            min_piece: self.length(&table, "min_piece", Span::DISTANCE),
            gap: self
                .length(&table, "gap", Span::DISTANCE)
                .unwrap_or(defaults::GAP),
            bond: self.word(&table, "bond", &BONDS).unwrap_or(Bond::Dry),
        }
    }

    /// A pattern; of a layer, `none` keeps it whole and reads as `Some(None)`.
    pub(crate) fn pattern(&mut self, item: &Item<'_>, or_none: bool) -> Option<Option<Pattern>> {
        let mut words: Vec<(&'static str, Option<Pattern>)> =
            PATTERNS.iter().map(|p| (p.word(), Some(*p))).collect();
        if or_none {
            words.push(("none", None));
        }
        self.as_word(item, &words)
    }

    /// `[marks]`.
    pub(crate) fn marks(&mut self, root: &Table<'_>) -> Marks {
        let Some(table) = self.table(root, "marks", schema::MARKS) else {
            return Marks {
                labels: true,
                text_height: defaults::TEXT_HEIGHT,
            };
        };
        Marks {
            labels: self.flag(&table, "labels").unwrap_or(true),
            text_height: self
                .length(&table, "text_height", Span::SIZE)
                .unwrap_or(defaults::TEXT_HEIGHT),
        }
    }

    /// `[output]`.
    pub(crate) fn output(&mut self, root: &Table<'_>, inches: bool) -> OutputOptions {
        let empty = toml::de::DeTable::new();
        let table = match self.table(root, "output", schema::OUTPUT) {
            Some(table) => table,
            None => self.root(&empty, schema::OUTPUT),
        };
        let paper_margin = self.length(
            &table,
            "paper_margin",
            Span::from_zero(limits::MAX_PAPER_MARGIN),
        );
        let layers = STYLES.map(|(key, name)| self.style(&table, key, name));
        self.style_names_differ(&layers);
        OutputOptions {
            paper: self.word(&table, "paper", &PAPERS).unwrap_or(Paper::A4),
            paper_margin: paper_margin.unwrap_or(defaults::PAPER_MARGIN),
            dxf: self
                .word(&table, "dxf", &RELEASES)
                .unwrap_or(DxfRelease::R2000),
            layers,
            inches,
        }
    }

    fn style(&mut self, parent: &Table<'_>, key: &str, name: &str) -> LayerStyle {
        let default = LayerStyle {
            name: name.to_owned(),
            color: None,
        };
        let Some(table) = self.table(parent, key, schema::STYLE) else {
            return default;
        };
        let color = self
            .count(&table, "color", 1, 255)
            .and_then(|c| u8::try_from(c).ok());
        LayerStyle {
            name: self.layer_name(&table).unwrap_or(default.name),
            color,
        }
    }

    /// A name that every DXF release and SVG take: letters, digits, `_` and `-`.
    fn layer_name(&mut self, table: &Table<'_>) -> Option<String> {
        let item = table.get("layer")?;
        let text = self.as_text(&item)?;
        let sound = text
            .bytes()
            .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'_' | b'-'));
        if sound && (1..=limits::MAX_LAYER_NAME).contains(&text.len()) {
            return Some(text);
        }
        let why = format!(
            "a layer's name has 1 to {} letters, digits, `_` and `-`",
            limits::MAX_LAYER_NAME
        );
        self.fault(
            &JobError::Name {
                key: String::from("layer"),
                why,
            },
            &item,
        );
        None
    }

    fn style_names_differ(&mut self, layers: &[LayerStyle; 4]) {
        for (i, style) in layers.iter().enumerate() {
            let Some(j) = layers[..i]
                .iter()
                .position(|other| other.name.eq_ignore_ascii_case(&style.name))
            else {
                continue;
            };
            let told = |k: usize| format!("output.{}.layer", STYLES[k].0);
            let (at, also) = if self.places.has(&told(i)) {
                (i, j)
            } else {
                (j, i)
            };
            let mut fault = JobError::Twice {
                what: "the layer",
                name: style.name.clone(),
            }
            .fault(self.places.of(&told(at)));
            fault.label = format!(
                "`{}` has this name too; operations are told apart by it",
                STYLES[also].0
            );
            self.faults.push(fault);
        }
    }

    /// `[search]`.
    pub(crate) fn search(&mut self, root: &Table<'_>) -> SearchOptions {
        let empty = toml::de::DeTable::new();
        let table = match self.table(root, "search", schema::SEARCH) {
            Some(table) => table,
            None => self.root(&empty, schema::SEARCH),
        };
        self.not_both(
            &table,
            "seconds",
            "rounds",
            "a search is granted time or rounds",
        );
        let seconds = self.seconds(&table, "seconds").unwrap_or(defaults::SECONDS);
        let rounds = self.count(&table, "rounds", 0, self.limits.most(Limit::Rounds));
        SearchOptions {
            budget: rounds.map_or(Budget::Seconds(seconds), |rounds| {
                Budget::Rounds(rounds as u64)
            }),
            seed: self
                .count(&table, "seed", 0, MAX_SEED)
                .map_or(defaults::SEED, |seed| seed as u64),
            lanes: self
                .count(&table, "lanes", 1, self.limits.most(Limit::Lanes))
                .unwrap_or(defaults::LANES),
            remnant: self
                .pair(&table, "remnant", Span::SIZE)
                .unwrap_or(defaults::REMNANT),
        }
    }
}
