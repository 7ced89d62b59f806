//! `plan.json`: the whole result, for other programs.
//!
//! In: the plan. Out: JSON text, keys in one fixed order, one ring a line. Outlines are flattened within
//! `tolerance::FLAT_PLAN`; lengths and costs are written to 1e-6, turns to 1e-9,
//! positions of seams under `splits` with all digits.

use std::fmt::Write as _;

use crate::format::number;
use crate::geometry::{point::Point, region::Region, ring::Ring, tolerance};
use crate::model::cutter::{Axis, Cutter, CutterKind, Turns};
use crate::model::finding::Finding;
use crate::model::layer::{Hole, Layer};
use crate::model::part::Part;
use crate::model::piece::{Owner, Piece};
use crate::model::plan::{Plan, SeamLimits};
use crate::model::seam::LayerSplit;
use crate::output::judged_json::judged;

/// What every `plan.json` names as its format.
pub const FORMAT: &str = "seamwright-plan/1";

/// The text of `plan.json`; `inputs` are the paths in `inputs/`, by which the folder is known again as a whole.
pub(crate) fn plan_json(plan: &Plan, inputs: &[&str]) -> String {
    let mut out = format!("{{\n  \"format\": {},\n", text(FORMAT));
    if plan.recut {
        out.push_str("  \"recut\": true,\n");
    }
    let _ = writeln!(out, "  \"settings\": {},", settings(plan));
    list(&mut out, "layers", layers(plan), true);
    list(
        &mut out,
        "parts",
        plan.parts.iter().map(part).collect(),
        true,
    );
    list(
        &mut out,
        "seams",
        plan.seams.iter().map(|s| seam(plan, s)).collect(),
        true,
    );
    list(
        &mut out,
        "pieces",
        plan.pieces
            .iter()
            .map(|p| piece(&plan.fixture.layers, &plan.parts, p))
            .collect(),
        true,
    );
    list(
        &mut out,
        "sheets",
        (0..plan.sheets.len()).map(|k| sheet(plan, k)).collect(),
        true,
    );
    list(
        &mut out,
        "placements",
        plan.placements.iter().map(|p| placement(plan, p)).collect(),
        true,
    );
    list(
        &mut out,
        "pockets",
        plan.fixture.pockets.iter().map(pocket).collect(),
        true,
    );
    let _ = writeln!(out, "  \"metrics\": {},", metrics(plan));
    list(
        &mut out,
        "findings",
        plan.findings.iter().map(finding).collect(),
        true,
    );
    list(&mut out, "splits", splits(plan), true);
    list(
        &mut out,
        "inputs",
        inputs.iter().map(|n| text(n)).collect(),
        false,
    );
    out.push_str("}\n");
    out
}

fn list(out: &mut String, name: &str, items: Vec<String>, more: bool) {
    let comma = if more { "," } else { "" };
    if items.is_empty() {
        let _ = writeln!(out, "  \"{name}\": []{comma}");
    } else {
        let _ = writeln!(
            out,
            "  \"{name}\": [\n    {}\n  ]{comma}",
            items.join(",\n    ")
        );
    }
}

/// A JSON object on one line; values are JSON already.
pub(crate) fn object(fields: &[(&str, String)]) -> String {
    let fields: Vec<String> = fields
        .iter()
        .map(|(k, v)| format!("\"{k}\": {v}"))
        .collect();
    format!("{{ {} }}", fields.join(", "))
}

/// A JSON string.
pub(crate) fn text(value: &str) -> String {
    serde_json::Value::from(value).to_string()
}

/// A length, a cost or a time.
pub(crate) fn mm(value: f64) -> String {
    number::length(value)
}

fn settings(plan: &Plan) -> String {
    let mut fields = kept_settings(&plan.cutter, &plan.limits);
    fields.extend([
        ("seed", plan.seed.to_string()),
        ("lanes", plan.lanes.to_string()),
        ("rounds", plan.rounds.to_string()),
    ]);
    object(&fields)
}

/// The settings that pieces cut once more are held to: all but those of the search.
pub(crate) fn kept_settings(cutter: &Cutter, limits: &SeamLimits) -> Vec<(&'static str, String)> {
    let (kind, width) = match cutter.kind {
        CutterKind::Laser => ("laser", "kerf"),
        CutterKind::Router => ("router", "tool_diameter"),
    };
    vec![
        ("kind", text(kind)),
        (width, mm(cutter.cut_width)),
        ("seam_gap", mm(limits.gap)),
        ("spacing", mm(cutter.spacing)),
        ("edge_margin", mm(cutter.edge_margin)),
        ("min_lap", mm(limits.min_lap)),
        ("keep_clear", mm(limits.keep_clear)),
        ("min_piece", mm(limits.min_piece)),
        ("flip", cutter.flip.to_string()),
        ("turns", text(turns_word(cutter.turns))),
        ("compensate", cutter.compensate.to_string()),
        ("corner_relief", text("none")),
        (
            "tabs",
            object(&[("count", "0".to_owned()), ("width", mm(cutter.tab_width))]),
        ),
        ("lead_in", "0".to_owned()),
    ]
}

/// The job's word for how pieces may be turned.
pub(crate) fn turns_word(turns: Turns) -> &'static str {
    match turns {
        Turns::None => "none",
        Turns::Half => "half",
        Turns::Quarter => "quarter",
        Turns::Any => "any",
    }
}

/// Points as written; two neighbours that are one after rounding are written once.
fn points(flat: &[Point]) -> Vec<String> {
    let mut points: Vec<String> = flat
        .iter()
        .map(|p| format!("[{}, {}]", mm(p.x), mm(p.y)))
        .collect();
    points.dedup();
    points
}

fn ring(ring: &Ring) -> String {
    let mut points = points(&ring.flatten(tolerance::FLAT_PLAN));
    if points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    format!("[{}]", points.join(", "))
}

fn region(region: &Region) -> String {
    let holes: Vec<String> = region.holes().iter().map(ring).collect();
    format!(
        "{{ \"exterior\": {},\n        \"holes\": [{}] }}",
        ring(region.outer()),
        holes.join(",\n          ")
    )
}

fn regions(shape: &[Region]) -> (&'static str, String) {
    match shape {
        [one] => ("region", region(one)),
        many => (
            "regions",
            format!(
                "[{}]",
                many.iter()
                    .map(region)
                    .collect::<Vec<_>>()
                    .join(",\n      ")
            ),
        ),
    }
}

fn own(
    kerf: Option<f64>,
    turns: Option<Turns>,
    grain: Option<Axis>,
) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    out.extend(turns.map(|t| ("turns", text(turns_word(t)))));
    out.extend(grain.map(|g| ("grain", text(g.word()))));
    out.extend(kerf.map(|k| ("kerf", mm(k))));
    out
}

fn holes(holes: &[Hole]) -> String {
    let one = |h: &Hole| {
        let mut fields = vec![
            ("x", mm(h.center.x)),
            ("y", mm(h.center.y)),
            ("diameter", mm(h.diameter)),
        ];
        if h.slot > 0.0 {
            fields.push(("slot", mm(h.slot)));
            fields.push(("angle", number::degrees(h.slot_deg)));
        }
        object(&fields)
    };
    format!("[{}]", holes.iter().map(one).collect::<Vec<_>>().join(", "))
}

fn layers(plan: &Plan) -> Vec<String> {
    let copies = if plan.fixture.layers.is_empty() {
        0
    } else {
        plan.copies
    };
    let shapes: Vec<(&'static str, String)> = plan
        .fixture
        .layers
        .iter()
        .map(|l| regions(&l.shape))
        .collect();
    (1..=copies)
        .flat_map(|copy| {
            plan.fixture
                .layers
                .iter()
                .zip(&shapes)
                .map(move |(l, shape)| layer(l, copy, shape))
        })
        .collect()
}

fn layer(layer: &Layer, copy: usize, shape: &(&'static str, String)) -> String {
    let mut fields = vec![
        ("name", text(&layer.name)),
        ("copy", copy.to_string()),
        ("material", text(&layer.material)),
        ("thickness", mm(layer.thickness)),
        ("min_web", mm(layer.min_web)),
    ];
    fields.extend(own(layer.own_kerf, layer.own_turns, layer.grain));
    fields.push(("locating", holes(&layer.locating)));
    fields.push(("relief", holes(&layer.relief)));
    fields.push(shape.clone());
    object(&fields)
}

fn part(part: &Part) -> String {
    let mut fields = vec![
        ("name", text(&part.name)),
        ("material", text(&part.material)),
        ("thickness", mm(part.thickness)),
    ];
    fields.extend(own(part.own_kerf, part.own_turns, part.grain));
    fields.push(("region", region(&part.region)));
    object(&fields)
}

/// How layers are split. Positions stand with all their digits, since pieces are made of them again: a piece cut once more is
/// then the first one bit by bit, arcs included.
fn splits(plan: &Plan) -> Vec<String> {
    let n_layers = plan.fixture.layers.len().max(1);
    let one = |(unit, split): (usize, &LayerSplit)| {
        object(&[
            ("layer", text(&plan.fixture.layers[unit % n_layers].name)),
            ("copy", (unit / n_layers + 1).to_string()),
            ("runs", text(split.runs.word())),
            ("at", positions(&split.at)),
            ("across", row(split.across.iter().map(|a| positions(a)))),
            (
                "joined",
                row(split
                    .joined
                    .iter()
                    .map(|j| format!("[{}, {}, {}]", j.seam, j.before, j.behind))),
            ),
        ])
    };
    plan.splits.iter().enumerate().map(one).collect()
}

fn positions(at: &[f64]) -> String {
    row(at.iter().map(|p| number::exact(*p)))
}

fn row(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

fn seam(plan: &Plan, seam: &crate::model::seam::Seam) -> String {
    let points = points(&seam.path.flatten(tolerance::FLAT_PLAN));
    object(&[
        ("layer", text(&plan.fixture.layers[seam.layer].name)),
        ("copy", seam.copy.to_string()),
        ("pattern", text(seam.pattern.word())),
        ("runs", text(seam.runs.word())),
        ("points", format!("[{}]", points.join(", "))),
    ])
}

/// A piece.
pub(crate) fn piece(layers: &[Layer], parts: &[Part], piece: &Piece) -> String {
    let mut fields = vec![("id", text(&piece.id))];
    match piece.owner {
        Owner::Layer { layer, copy } => {
            fields.push(("layer", text(&layers[layer].name)));
            fields.push(("copy", copy.to_string()));
        }
        Owner::Part { part } => fields.push(("part", text(&parts[part].name))),
    }
    fields.push(("region", region(&piece.region)));
    object(&fields)
}

fn sheet(plan: &Plan, k: usize) -> String {
    let used = &plan.sheets[k];
    let stock = &plan.stock[used.sheet];
    object(&[
        ("id", text(&used.id)),
        ("stock", text(&stock.id)),
        ("material", text(&stock.material)),
        ("thickness", mm(stock.thickness)),
        ("cost", mm(stock.cost)),
        ("dxf", text(&format!("sheets/{}.dxf", used.id))),
        ("svg", text(&format!("sheets/{}.svg", used.id))),
        (
            "used_length",
            used.used_length.map_or_else(|| "null".to_owned(), mm),
        ),
        regions(&stock.region),
    ])
}

fn placement(plan: &Plan, placement: &crate::model::plan::Placement) -> String {
    object(&[
        ("piece", text(&plan.pieces[placement.piece].id)),
        ("sheet", text(&plan.sheets[placement.sheet].id)),
        ("mirrored", placement.pose.mirrored.to_string()),
        (
            "rotation",
            number::degrees(placement.pose.rotation.degrees()),
        ),
        ("x", mm(placement.pose.shift.x)),
        ("y", mm(placement.pose.shift.y)),
    ])
}

fn pocket(pocket: &crate::model::fixture::Pocket) -> String {
    object(&[
        ("column", pocket.column.to_string()),
        ("row", pocket.row.to_string()),
        ("region", region(&pocket.region)),
    ])
}

/// The object under `metrics`.
pub(crate) fn metrics(plan: &Plan) -> String {
    let m = &plan.metrics;
    object(&[
        ("stock_cost", mm(m.stock_cost)),
        ("yield", mm(m.yield_)),
        ("sheets_used", plan.sheets.len().to_string()),
        ("cut_length", mm(m.cut_length)),
        ("cut_time_s", mm(m.cut_time_s)),
        (
            "bound",
            object(&[
                ("stock_cost", mm(m.bound.stock_cost)),
                ("why", text(&m.bound.why)),
            ]),
        ),
        ("seams", judged(plan)),
    ])
}

/// A finding.
pub(crate) fn finding(finding: &Finding) -> String {
    let figure = |v: Option<f64>| v.map_or_else(|| "null".to_owned(), mm);
    object(&[
        ("code", text(finding.code)),
        ("what", text(&finding.what)),
        ("where", text(&finding.where_)),
        ("measured", figure(finding.measured)),
        ("limit", figure(finding.limit)),
        ("hint", text(&finding.hint)),
    ])
}
