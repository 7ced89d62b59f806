//! What is cut: `[[layer]]` and `[[part]]`.

use std::sync::Arc;

use crate::fixture::brief::{Feature, LayerBrief, Opening};
use crate::geometry::region::Region;
use crate::geometry::{bounds::Bounds, point::Point, ring::Ring};
use crate::job::cutter_tables::{AXES, SeamTable, TURNS};
use crate::job::defaults;
use crate::job::error::JobError;
use crate::job::fixture_tables::FEATURE_WORDS;
use crate::job::limits::{Limit, Span};
use crate::job::reader::{Item, Table, Walk, nearest};
use crate::job::schema;
use crate::model::cutter::{Axis, Cutter, Turns};
use crate::model::part::Part;
use crate::model::seam::Pattern;
use crate::model::source::SourceKind;

/// What layers and parts have in common.
struct Owner {
    name: String,
    material: String,
    thickness: f64,
    own_kerf: Option<f64>,
    own_turns: Option<Turns>,
    grain: Option<Axis>,
}

impl Walk<'_> {
    fn owner(&mut self, table: &Table<'_>) -> Owner {
        self.need(
            table,
            &["name"],
            "its pieces are called by it: `name = \"base\"`",
        );
        self.need(
            table,
            &["material"],
            "as the stock file calls it: `material = \"MDF\"`",
        );
        self.need(
            table,
            &["thickness"],
            "as the stock file tells it: `thickness = 3`",
        );
        if !table.has("drawing") {
            self.idle(table, "drawing_layer", "there is no `drawing`");
        }
        Owner {
            name: self.name(table, "name").unwrap_or_default(),
            material: self.name(table, "material").unwrap_or_default(),
            thickness: self
                .length(table, "thickness", Span::THICKNESS)
                .unwrap_or_default(),
            own_kerf: self.length(table, "kerf", Span::CUT),
            own_turns: self.word(table, "turns", &TURNS),
            grain: self.word(table, "grain", &AXES),
        }
    }

    /// `[[layer]]`, bottom up.
    pub(crate) fn layers(
        &mut self,
        root: &Table<'_>,
        openings: &[Opening],
        cutter: &Cutter,
        seams: &SeamTable,
    ) -> Vec<LayerBrief> {
        let tables = self.tables(
            root,
            "layer",
            schema::LAYER,
            self.limits.most(Limit::Entries),
        );
        tables
            .iter()
            .map(|table| self.layer(table, openings, cutter, seams))
            .collect()
    }

    fn layer(
        &mut self,
        table: &Table<'_>,
        openings: &[Opening],
        cutter: &Cutter,
        seams: &SeamTable,
    ) -> LayerBrief {
        let owner = self.owner(table);
        let drawing_layer = self.name(table, "drawing_layer");
        let pattern: Option<Pattern> = match table.get("seam") {
            Some(item) => self.pattern(&item, true).flatten(),
            None => Some(seams.pattern),
        };
        LayerBrief {
            features: self.features(table, &owner.name, openings),
            drawn: self
                .drawing(table, drawing_layer.as_deref(), "")
                .map(|d| Arc::new(d.regions.clone())),
            pattern,
            cut_width: owner.own_kerf.unwrap_or(cutter.cut_width),
            turns: owner.own_turns.unwrap_or(cutter.turns),
            min_web: seams
                .min_web
                .unwrap_or_else(|| defaults::min_web(owner.thickness)),
            name: owner.name,
            material: owner.material,
            thickness: owner.thickness,
            grain: owner.grain,
            own_kerf: owner.own_kerf,
            own_turns: owner.own_turns,
        }
    }

    fn features(&mut self, table: &Table<'_>, layer: &str, openings: &[Opening]) -> Vec<Feature> {
        let Some(list) = table.get("features") else {
            return Vec::new();
        };
        let mut features = Vec::new();
        for item in self.list(&list, self.limits.most(Limit::Entries)) {
            let Some(word) = self.as_text(&item) else {
                continue;
            };
            let Some(feature) = feature(&word, openings) else {
                self.unknown_feature(&item, layer, word, openings);
                continue;
            };
            if features.contains(&feature) {
                self.fault(
                    &JobError::Twice {
                        what: "the feature",
                        name: word,
                    },
                    &item,
                );
            } else {
                features.push(feature);
            }
        }
        features
    }

    fn unknown_feature(
        &mut self,
        item: &Item<'_>,
        layer: &str,
        feature: String,
        openings: &[Opening],
    ) {
        let known = || {
            FEATURE_WORDS.into_iter().chain(
                openings
                    .iter()
                    .map(|o| o.name.as_str())
                    .filter(|name| !name.is_empty()),
            )
        };
        let error = JobError::Feature {
            layer: layer.to_owned(),
            known: known()
                .map(|word| format!("`{word}`"))
                .collect::<Vec<_>>()
                .join(", "),
            nearest: nearest(&feature, known()).map(str::to_owned),
            feature,
        };
        self.fault(&error, item);
    }

    /// `[[part]]`.
    pub(crate) fn parts(&mut self, root: &Table<'_>, cutter: &Cutter) -> Vec<Part> {
        let tables = self.tables(root, "part", schema::PART, self.limits.most(Limit::Entries));
        tables
            .iter()
            .map(|table| self.part(table, cutter))
            .collect()
    }

    fn part(&mut self, table: &Table<'_>, cutter: &Cutter) -> Part {
        let owner = self.owner(table);
        self.need(
            table,
            &["drawing"],
            "a part is drawn: `drawing = \"spacer.dxf\"`",
        );
        let drawing_layer = self.name(table, "drawing_layer");
        let region = self.one_region(table, drawing_layer.as_deref(), "", "a part");
        Part {
            region: region.unwrap_or_else(placeholder),
            quantity: self
                .count(table, "quantity", 1, self.limits.most(Limit::Pieces))
                .unwrap_or(1),
            fill: self.flag(table, "fill").unwrap_or(false),
            cut_width: owner.own_kerf.unwrap_or(cutter.cut_width),
            turns: owner.own_turns.unwrap_or(cutter.turns),
            name: owner.name,
            material: owner.material,
            thickness: owner.thickness,
            grain: owner.grain,
            own_kerf: owner.own_kerf,
            own_turns: owner.own_turns,
        }
    }
}

fn feature(word: &str, openings: &[Opening]) -> Option<Feature> {
    match word {
        "locating" => Some(Feature::Locating),
        "relief" => Some(Feature::Relief),
        "pocket" => Some(Feature::Pocket),
        "notch" => Some(Feature::Notch),
        name => openings
            .iter()
            .position(|o| o.name == name)
            .map(Feature::Opening),
    }
}

/// What stands for a shape that could not be read, so that the rest is still checked; it never leaves `job`, because its
/// fault stands beside it.
pub(crate) fn placeholder() -> Region {
    let unit = Bounds::new(Point::new(0.0, 0.0), Point::new(1.0, 1.0));
    Region::solid(Ring::rounded_box(unit, 0.0, SourceKind::Drawn.id(0)))
}
