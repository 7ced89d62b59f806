//! The keys of a job and of a stock file. A table's list is what its reader takes from and what its unknown keys are held
//! against, so a key that is not listed here cannot be read, and one that is listed here is never called unknown.

/// The job file's own keys.
pub(crate) const JOB: &[&str] = &[
    "title", "units", "stock", "copies", "order", "bed", "fixture", "fastener", "blank", "grid",
    "notch", "opening", "layer", "part", "seams", "cutter", "marks", "output", "search",
];
pub(crate) const ORDER: &[&str] = &["quantity"];
pub(crate) const BED: &[&str] = &["size", "datum", "head_gap", "clear_height", "locating"];
pub(crate) const LOCATING: &[&str] = &["at", "thread", "fit", "diameter", "slot"];
pub(crate) const FIXTURE: &[&str] = &["size", "drawing", "at", "corner_radius"];
pub(crate) const FASTENER: &[&str] = &["head_diameter", "head_height", "reach"];
pub(crate) const BLANK: &[&str] = &["shape", "thickness", "clearance", "angle"];
pub(crate) const SHAPE: &[&str] = &["rect", "radius", "circle", "drawing"];
pub(crate) const GRID: &[&str] = &[
    "pitch", "spacing", "columns", "rows", "first", "shift", "margin", "skip",
];
pub(crate) const NOTCH: &[&str] = &["diameter", "side"];
pub(crate) const OPENING: &[&str] = &["name", "shape", "grow", "each", "offset", "at"];
pub(crate) const LAYER: &[&str] = &[
    "name",
    "material",
    "thickness",
    "features",
    "seam",
    "drawing",
    "drawing_layer",
    "kerf",
    "turns",
    "grain",
];
pub(crate) const PART: &[&str] = &[
    "name",
    "material",
    "thickness",
    "drawing",
    "drawing_layer",
    "quantity",
    "fill",
    "kerf",
    "turns",
    "grain",
];
pub(crate) const SEAMS: &[&str] = &[
    "pattern",
    "tooth",
    "depth",
    "corner_radius",
    "min_lap",
    "keep_clear",
    "min_web",
    "min_piece",
    "gap",
    "bond",
];
pub(crate) const CUTTER: &[&str] = &[
    "kind",
    "kerf",
    "tool_diameter",
    "area",
    "pass_through",
    "spacing",
    "edge_margin",
    "flip",
    "turns",
    "compensate",
    "corner_relief",
    "tabs",
    "lead_in",
    "speed",
    "travel_speed",
    "acceleration",
    "pierce_s",
];
pub(crate) const TABS: &[&str] = &["count", "width"];
pub(crate) const MARKS: &[&str] = &["labels", "text_height"];
pub(crate) const OUTPUT: &[&str] = &[
    "paper",
    "paper_margin",
    "dxf",
    "cut_outer",
    "cut_inner",
    "engrave",
    "sheet",
];
pub(crate) const STYLE: &[&str] = &["layer", "color"];
pub(crate) const SEARCH: &[&str] = &["seconds", "rounds", "seed", "lanes", "remnant"];

/// The stock file's own keys.
pub(crate) const STOCK: &[&str] = &["sheet"];
pub(crate) const SHEET: &[&str] = &[
    "id",
    "material",
    "thickness",
    "measured",
    "size",
    "outline",
    "drawing",
    "quantity",
    "cost",
    "defects",
    "finish",
    "grain",
    "sold_by",
    "from",
];
pub(crate) const DEFECT: &[&str] = &["circle", "at", "outline"];

/// Tables below the root: their path, and their keys. `[]` marks a list of tables.
const JOB_TABLES: &[(&str, &[&str])] = &[
    ("order", ORDER),
    ("bed", BED),
    ("bed.locating[]", LOCATING),
    ("fixture", FIXTURE),
    ("fastener", FASTENER),
    ("blank", BLANK),
    ("blank.shape", SHAPE),
    ("grid", GRID),
    ("notch", NOTCH),
    ("opening[]", OPENING),
    ("opening[].shape", SHAPE),
    ("layer[]", LAYER),
    ("part[]", PART),
    ("seams", SEAMS),
    ("cutter", CUTTER),
    ("cutter.tabs", TABS),
    ("marks", MARKS),
    ("output", OUTPUT),
    ("output.cut_outer", STYLE),
    ("output.cut_inner", STYLE),
    ("output.engrave", STYLE),
    ("output.sheet", STYLE),
    ("search", SEARCH),
];

/// Every key of a job that holds a value of its own, as a path: `grid.columns`, `layer[].kerf`, `cutter.tabs.count`.
pub fn job_keys() -> Vec<String> {
    leaves(JOB, JOB_TABLES)
}

/// Every key of a stock file that holds a value of its own.
pub fn stock_keys() -> Vec<String> {
    leaves(STOCK, &[("sheet[]", SHEET), ("sheet[].defects[]", DEFECT)])
}

/// The keys of a root and its tables, without those that are tables themselves.
fn leaves(root: &[&str], tables: &[(&str, &[&str])]) -> Vec<String> {
    let is_table = |path: &str| {
        tables
            .iter()
            .any(|(t, _)| *t == path || t.strip_suffix("[]") == Some(path))
    };
    let mut keys: Vec<String> = root.iter().map(|k| (*k).to_owned()).collect();
    for (table, names) in tables {
        keys.extend(names.iter().map(|name| format!("{table}.{name}")));
    }
    keys.retain(|key| !is_table(key));
    keys
}
