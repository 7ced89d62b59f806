//! Every key of a job and of a stock file changes some byte of what is written, or is refused: none is accepted and idle.
#![allow(
    clippy::unwrap_used,
    reason = "a test stops where its surroundings fail it"
)]

use std::collections::BTreeMap;
use std::path::Path;

use seamwright::job::error::ReadFault;
use seamwright::job::{Overrides, schema};
use seamwright::model::progress::{Event, Watch};
use seamwright::pipeline;

struct Quiet;

impl Watch for Quiet {
    fn elapsed_s(&self) -> f64 {
        1.0
    }
    fn stop_asked(&self) -> bool {
        false
    }
    fn tell(&self, _: Event) {}
}

const JOB: &str = r#"title = "Pin tray"
units = "mm"
stock = "stock.toml"
copies = 1
[order]
quantity = 30
[bed]
size = [420, 320]
datum = "front-left"
head_gap = 0
clear_height = 40
locating = [ { at = [26, 28], thread = "M5", fit = "medium" }, { at = [394, 292], diameter = 5.5, slot = 3 } ]
[fixture]
size = [400, 300]
at = [10, 10]
corner_radius = 8
[fastener]
head_diameter = 8.72
head_height = 5
reach = 1.5
[blank]
shape = { rect = [60, 40], radius = 3 }
thickness = 7
clearance = 0.2
angle = 0
[grid]
pitch = [100, 75]
columns = 3
rows = 3
first = [70, 55]
shift = 0
margin = 10
skip = [[0, 0]]
[notch]
diameter = 12
side = ["left"]
[[opening]]
name = "eject"
shape = { circle = 12 }
each = "blank"
offset = [0, 0]
[[opening]]
name = "rim"
grow = -3
each = "blank"
[[opening]]
name = "cable"
shape = { rect = [20, 8], radius = 2 }
at = [[210, 26]]
[[layer]]
name = "base"
material = "MDF"
thickness = 6
features = ["locating", "eject", "cable"]
seam = "straight"
kerf = 0.2
turns = "half"
grain = "x"
[[layer]]
name = "face"
material = "acrylic"
thickness = 6
features = ["relief", "pocket", "notch"]
[[part]]
name = "foot"
material = "MDF"
thickness = 6
drawing = "two.dxf"
drawing_layer = "BASE"
quantity = 2
fill = false
kerf = 0.2
turns = "half"
grain = "x"
[seams]
pattern = "knob"
tooth = 50
depth = 16
corner_radius = 0.6
min_lap = 40
keep_clear = 8
min_web = 8
min_piece = 60
gap = 0.1
bond = "dry"
[cutter]
kind = "laser"
kerf = 0.16
area = [700, 500]
spacing = 2.5
edge_margin = 6
flip = false
turns = "quarter"
compensate = true
corner_relief = "none"
tabs = { count = 0, width = 4 }
lead_in = 0
speed = 12
travel_speed = 100
acceleration = 500
pierce_s = 0.3
[marks]
labels = true
text_height = 6
[output]
paper = "a4"
paper_margin = 12
dxf = "R2000"
cut_outer = { layer = "OUT", color = 3 }
cut_inner = { layer = "IN", color = 4 }
engrave = { layer = "MARK", color = 5 }
sheet = { layer = "EDGE", color = 6 }
[search]
rounds = 0
seed = 1
lanes = 2
remnant = [100, 100]
"#;

const STOCK: &str = r#"[[sheet]]
id = "board"
material = "MDF"
thickness = 6
measured = 6.05
size = [300, 340]
quantity = 3
cost = 4.5
defects = [ { circle = 10, at = [40, 300] }, { outline = [[0, 0], [8, 0], [0, 8]] } ]
finish = "matte"
grain = "x"
from = "an older sheet"
[[sheet]]
id = "clear"
material = "acrylic"
thickness = 6
outline = [[0, 0], [320, 0], [320, 340], [0, 340]]
quantity = 3
cost = 9
[[sheet]]
id = "band"
material = "MDF"
thickness = 6
size = [900, 340]
cost = 20
sold_by = "length"
"#;

/// Files of a plan without the inputs, or the messages with which the job is refused.
fn outcome(job: &str, stock: &str) -> Result<BTreeMap<String, Vec<u8>>, String> {
    let drawings = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/drawings/dxf");
    let files = |name: &str| match name {
        "stock.toml" | "other.toml" => Ok(stock
            .replace(
                "board",
                if name == "other.toml" {
                    "plank"
                } else {
                    "board"
                },
            )
            .into_bytes()),
        "two.dxf" => {
            std::fs::read(drawings.join("layer/one_of_two.dxf")).map_err(|_| ReadFault::Missing)
        }
        "plate.dxf" => {
            std::fs::read(drawings.join("lwpolyline/rectangle.dxf")).map_err(|_| ReadFault::Missing)
        }
        _ => Err(ReadFault::Missing),
    };
    match pipeline::plan("job.toml", job, &files, &Overrides::default(), &Quiet) {
        Ok(done) => Ok(done
            .files
            .into_iter()
            .filter(|(name, _)| !name.starts_with("inputs/"))
            .collect()),
        Err(e) => Err(format!("{e:?}")),
    }
}

/// A key, what is changed for both runs, and what the second one changes.
type Case = (
    &'static str,
    &'static [(&'static str, &'static str)],
    &'static [(&'static str, &'static str)],
);

fn changed(text: &str, edits: &[(&str, &str)]) -> (String, usize) {
    let mut n = 0;
    let text = edits.iter().fold(text.to_owned(), |t, (from, to)| {
        n += usize::from(t.contains(from));
        t.replacen(from, to, 1)
    });
    (text, n)
}

#[rustfmt::skip]
const JOB_CASES: &[Case] = &[
    ("title", &[], &[("Pin tray", "Peg tray")]),
    ("units", &[], &[("units = \"mm\"", "units = \"in\"")]),
    ("stock", &[], &[("stock.toml", "other.toml")]),
    ("copies", &[], &[("copies = 1", "copies = 2")]),
    ("order.quantity", &[], &[("quantity = 30", "quantity = 31")]),
    ("bed.size", &[], &[("[420, 320]", "[430, 330]")]),
    ("bed.datum", &[], &[("front-left", "back-right")]),
    ("bed.head_gap", &[], &[("head_gap = 0", "head_gap = 2")]),
    ("bed.clear_height", &[], &[("clear_height = 40", "clear_height = 9")]),
    ("bed.locating[].at", &[], &[("at = [26, 28]", "at = [27, 28]")]),
    ("bed.locating[].thread", &[], &[("\"M5\"", "\"M4\"")]),
    ("bed.locating[].fit", &[], &[("\"medium\"", "\"coarse\"")]),
    ("bed.locating[].diameter", &[], &[("diameter = 5.5", "diameter = 5.6")]),
    ("bed.locating[].slot", &[], &[("slot = 3", "slot = 4")]),
    ("fixture.size", &[], &[("[400, 300]", "[399, 300]")]),
    ("fixture.drawing", &[], &[("size = [400, 300]\n", "drawing = \"plate.dxf\"\n"), ("corner_radius = 8\n", "")]),
    ("fixture.at", &[], &[("at = [10, 10]", "at = [11, 10]")]),
    ("fixture.corner_radius", &[], &[("corner_radius = 8", "corner_radius = 7")]),
    ("fastener.head_diameter", &[], &[("head_diameter = 8.72", "head_diameter = 9")]),
    ("fastener.head_height", &[], &[("head_height = 5", "head_height = 8")]),
    ("fastener.reach", &[], &[("reach = 1.5", "reach = 2")]),
    ("blank.shape.rect", &[], &[("rect = [60, 40]", "rect = [61, 40]")]),
    ("blank.shape.radius", &[], &[("radius = 3 }", "radius = 4 }")]),
    ("blank.shape.circle", &[], &[("{ rect = [60, 40], radius = 3 }", "{ circle = 50 }")]),
    ("blank.shape.drawing", &[], &[("{ rect = [60, 40], radius = 3 }", "{ drawing = \"plate.dxf\" }")]),
    ("blank.thickness", &[], &[("thickness = 7", "thickness = 6")]),
    ("blank.clearance", &[], &[("clearance = 0.2", "clearance = 0.3")]),
    ("blank.angle", &[], &[("angle = 0", "angle = 90")]),
    ("grid.pitch", &[], &[("[100, 75]", "[101, 75]")]),
    ("grid.spacing", &[], &[("pitch = [100, 75]", "spacing = [41, 35]")]),
    ("grid.columns", &[], &[("columns = 3", "columns = 2")]),
    ("grid.rows", &[], &[("rows = 3", "rows = 2")]),
    ("grid.first", &[], &[("[70, 55]", "[71, 55]")]),
    ("grid.shift", &[], &[("shift = 0", "shift = 4")]),
    ("grid.margin", &[], &[("margin = 10", "margin = 80")]),
    ("grid.skip", &[], &[("skip = [[0, 0]]", "skip = [[1, 0]]")]),
    ("notch.diameter", &[], &[("diameter = 12", "diameter = 13")]),
    ("notch.side", &[], &[("[\"left\"]", "[\"right\"]")]),
    ("opening[].name", &[], &[("name = \"cable\"", "name = \"wire\"")]),
    ("opening[].shape.circle", &[], &[("{ circle = 12 }", "{ circle = 13 }")]),
    ("opening[].shape.rect", &[], &[("rect = [20, 8]", "rect = [21, 8]")]),
    ("opening[].shape.radius", &[], &[("radius = 2 }", "radius = 3 }")]),
    ("opening[].shape.drawing", &[], &[("{ circle = 12 }", "{ drawing = \"two.dxf\" }")]),
    ("opening[].grow", &[("\"eject\", \"cable\"", "\"rim\", \"cable\"")], &[("grow = -3", "grow = -4")]),
    ("opening[].each", &[], &[("each = \"blank\"\noffset = [0, 0]", "at = [[100, 100]]")]),
    ("opening[].offset", &[], &[("offset = [0, 0]", "offset = [1, 0]")]),
    ("opening[].at", &[], &[("[[210, 26]]", "[[212, 26]]")]),
    ("layer[].name", &[], &[("name = \"face\"", "name = \"top\"")]),
    ("layer[].material", &[], &[("name = \"face\"\nmaterial = \"acrylic\"", "name = \"face\"\nmaterial = \"MDF\"")]),
    ("layer[].thickness", &[], &[("material = \"acrylic\"\nthickness = 6", "material = \"acrylic\"\nthickness = 5")]),
    ("layer[].features", &[], &[("\"relief\", \"pocket\", \"notch\"", "\"relief\", \"pocket\"")]),
    ("layer[].seam", &[], &[("seam = \"straight\"", "seam = \"knob\"")]),
    ("layer[].drawing", &[], &[("material = \"acrylic\"\nthickness = 6\nfeatures = [\"relief\", \"pocket\", \"notch\"]", "material = \"acrylic\"\nthickness = 6\ndrawing = \"plate.dxf\"")]),
    ("layer[].drawing_layer", &[("material = \"acrylic\"\nthickness = 6\nfeatures = [\"relief\", \"pocket\", \"notch\"]", "material = \"acrylic\"\nthickness = 6\ndrawing = \"two.dxf\""), ("features = [\"locating\", \"eject\", \"cable\"]\n", "")], &[("drawing = \"two.dxf\"\n[[part]]", "drawing = \"two.dxf\"\ndrawing_layer = \"BASE\"\n[[part]]")]),
    ("layer[].kerf", &[], &[("kerf = 0.2\nturns = \"half\"\ngrain = \"x\"\n[[layer]]", "kerf = 0.3\nturns = \"half\"\ngrain = \"x\"\n[[layer]]")]),
    ("layer[].turns", &[], &[("turns = \"half\"\ngrain = \"x\"\n[[layer]]", "turns = \"none\"\ngrain = \"x\"\n[[layer]]")]),
    ("layer[].grain", &[], &[("grain = \"x\"\n[[layer]]", "grain = \"y\"\n[[layer]]")]),
    ("part[].name", &[], &[("\"foot\"", "\"leg\"")]),
    ("part[].material", &[], &[("name = \"foot\"\nmaterial = \"MDF\"", "name = \"foot\"\nmaterial = \"acrylic\"")]),
    ("part[].thickness", &[], &[("name = \"foot\"\nmaterial = \"MDF\"\nthickness = 6", "name = \"foot\"\nmaterial = \"MDF\"\nthickness = 5")]),
    ("part[].drawing", &[], &[("drawing = \"two.dxf\"\ndrawing_layer = \"BASE\"\nquantity", "drawing = \"plate.dxf\"\nquantity")]),
    ("part[].drawing_layer", &[], &[("drawing_layer = \"BASE\"", "drawing_layer = \"NONE\"")]),
    ("part[].quantity", &[], &[("quantity = 2", "quantity = 3")]),
    ("part[].fill", &[("quantity = 2", "quantity = 60")], &[("fill = false", "fill = true")]),
    ("part[].kerf", &[], &[("kerf = 0.2\nturns = \"half\"\ngrain = \"x\"\n[seams]", "kerf = 0.3\nturns = \"half\"\ngrain = \"x\"\n[seams]")]),
    ("part[].turns", &[], &[("turns = \"half\"\ngrain = \"x\"\n[seams]", "turns = \"none\"\ngrain = \"x\"\n[seams]")]),
    ("part[].grain", &[], &[("grain = \"x\"\n[seams]", "grain = \"y\"\n[seams]")]),
    ("seams.pattern", &[], &[("pattern = \"knob\"", "pattern = \"straight\"")]),
    ("seams.tooth", &[], &[("tooth = 50", "tooth = 70")]),
    ("seams.depth", &[], &[("depth = 16", "depth = 14")]),
    ("seams.corner_radius", &[], &[("corner_radius = 0.6", "corner_radius = 0.9")]),
    ("seams.min_lap", &[], &[("min_lap = 40", "min_lap = 41")]),
    ("seams.keep_clear", &[], &[("keep_clear = 8", "keep_clear = 9")]),
    ("seams.min_web", &[], &[("min_web = 8", "min_web = 7")]),
    ("seams.min_piece", &[], &[("min_piece = 60", "min_piece = 61")]),
    ("seams.gap", &[], &[("gap = 0.1", "gap = 0.12")]),
    ("seams.bond", &[], &[("bond = \"dry\"", "bond = \"film\"")]),
    ("cutter.kind", &[], &[("kind = \"laser\"\nkerf = 0.16", "kind = \"router\"\ntool_diameter = 2")]),
    ("cutter.kerf", &[], &[("kerf = 0.16", "kerf = 0.18")]),
    ("cutter.tool_diameter", &[("kind = \"laser\"\nkerf = 0.16", "kind = \"router\"\ntool_diameter = 2")], &[("tool_diameter = 2", "tool_diameter = 2.2")]),
    ("cutter.area", &[], &[("area = [700, 500]", "area = [280, 330]")]),
    ("cutter.pass_through", &[("area = [700, 500]", "area = [330, 350]")], &[("area = [330, 350]", "area = [330, 350]\npass_through = \"x\"")]),
    ("cutter.spacing", &[], &[("spacing = 2.5", "spacing = 3")]),
    ("cutter.edge_margin", &[], &[("edge_margin = 6", "edge_margin = 7")]),
    ("cutter.flip", &[], &[("flip = false", "flip = true")]),
    ("cutter.turns", &[], &[("turns = \"quarter\"", "turns = \"half\"")]),
    ("cutter.compensate", &[], &[("compensate = true", "compensate = false")]),
    ("cutter.corner_relief", &[], &[("corner_relief = \"none\"", "corner_relief = \"dogbone\"")]),
    ("cutter.tabs.count", &[], &[("count = 0", "count = 3")]),
    ("cutter.tabs.width", &[], &[("width = 4", "width = 5")]),
    ("cutter.lead_in", &[], &[("lead_in = 0", "lead_in = 2")]),
    ("cutter.speed", &[], &[("\nspeed = 12", "\nspeed = 10")]),
    ("cutter.travel_speed", &[], &[("travel_speed = 100", "travel_speed = 90")]),
    ("cutter.acceleration", &[], &[("acceleration = 500", "acceleration = 400")]),
    ("cutter.pierce_s", &[], &[("pierce_s = 0.3", "pierce_s = 0.5")]),
    ("marks.labels", &[], &[("labels = true", "labels = false")]),
    ("marks.text_height", &[], &[("text_height = 6", "text_height = 5")]),
    ("output.paper", &[], &[("paper = \"a4\"", "paper = \"a3\"")]),
    ("output.paper_margin", &[], &[("paper_margin = 12", "paper_margin = 14")]),
    ("output.dxf", &[], &[("R2000", "R12")]),
    ("output.cut_outer.layer", &[], &[("\"OUT\"", "\"OUTER\"")]),
    ("output.cut_outer.color", &[], &[("color = 3", "color = 2")]),
    ("output.cut_inner.layer", &[], &[("\"IN\"", "\"INNER\"")]),
    ("output.cut_inner.color", &[], &[("color = 4", "color = 2")]),
    ("output.engrave.layer", &[], &[("\"MARK\"", "\"MARKS\"")]),
    ("output.engrave.color", &[], &[("color = 5", "color = 2")]),
    ("output.sheet.layer", &[], &[("\"EDGE\"", "\"RIM\"")]),
    ("output.sheet.color", &[], &[("color = 6", "color = 2")]),
    ("search.seconds", &[("rounds = 0", "rounds = 2")], &[("rounds = 2", "seconds = 0")]),
    ("search.rounds", &[], &[("rounds = 0", "rounds = 2")]),
    ("search.seed", &[], &[("seed = 1", "seed = 2")]),
    ("search.lanes", &[], &[("lanes = 2", "lanes = 3")]),
    ("search.remnant", &[], &[("remnant = [100, 100]", "remnant = [40, 40]")]),
];

#[rustfmt::skip]
const STOCK_CASES: &[Case] = &[
    ("sheet[].id", &[], &[("\"board\"", "\"plank\"")]),
    ("sheet[].material", &[], &[("material = \"MDF\"", "material = \"cork\"")]),
    ("sheet[].thickness", &[], &[("thickness = 6", "thickness = 5")]),
    ("sheet[].measured", &[], &[("measured = 6.05", "measured = 5.5")]),
    ("sheet[].size", &[], &[("[300, 340]", "[310, 340]")]),
    ("sheet[].outline", &[], &[("[320, 0], [320, 340]", "[330, 0], [330, 340]")]),
    ("sheet[].drawing", &[], &[("outline = [[0, 0], [320, 0], [320, 340], [0, 340]]", "drawing = \"plate.dxf\"")]),
    ("sheet[].quantity", &[], &[("quantity = 3", "quantity = 4")]),
    ("sheet[].cost", &[], &[("cost = 4.5", "cost = 4.6")]),
    ("sheet[].defects[].circle", &[], &[("circle = 10", "circle = 11")]),
    ("sheet[].defects[].at", &[], &[("at = [40, 300]", "at = [41, 300]")]),
    ("sheet[].defects[].outline", &[], &[("[8, 0], [0, 8]", "[7, 0], [0, 7]")]),
    ("sheet[].finish", &[], &[("finish = \"matte\"", "finish = \"gloss\"")]),
    ("sheet[].grain", &[], &[("grain = \"x\"", "grain = \"y\"")]),
    ("sheet[].sold_by", &[], &[("sold_by = \"length\"\n", "")]),
    ("sheet[].from", &[], &[("an older sheet", "another sheet")]),
];

/// What a run gives: files, or why it is refused.
type Ran = Result<BTreeMap<String, Vec<u8>>, String>;

fn walk(cases: &[Case], keys: &[String], base: &str, run: &dyn Fn(&str) -> Ran) -> Vec<String> {
    let mut faults: Vec<String> = keys
        .iter()
        .filter(|k| cases.iter().all(|c| c.0 != **k))
        .map(|k| format!("`{k}` has no case"))
        .collect();
    faults.extend(
        cases
            .iter()
            .filter(|c| !keys.contains(&c.0.to_owned()))
            .map(|c| format!("`{}` is no key", c.0)),
    );
    for (key, before, edit) in cases {
        let (first, n) = changed(base, before);
        let (second, m) = changed(&first, edit);
        if n != before.len() || m != edit.len() {
            faults.push(format!("`{key}`: the case changes nothing"));
            continue;
        }
        match (run(&first), run(&second)) {
            (Err(e), _) => faults.push(format!(
                "`{key}`: the base is refused: {}",
                e.chars().take(300).collect::<String>()
            )),
            (Ok(a), Ok(b)) if a == b => faults.push(format!("`{key}` changes nothing")),
            _ => {}
        }
    }
    faults
}

#[test]
#[cfg_attr(
    debug_assertions,
    ignore = "hundreds of runs of the program, which say nothing about how it is built"
)]
fn every_key_of_a_job_has_an_effect_or_is_refused() {
    let faults = walk(JOB_CASES, &schema::job_keys(), JOB, &|job| {
        outcome(job, STOCK)
    });
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn every_key_of_a_stock_file_has_an_effect_or_is_refused() {
    let faults = walk(STOCK_CASES, &schema::stock_keys(), STOCK, &|stock| {
        outcome(JOB, stock)
    });
    assert!(faults.is_empty(), "{faults:#?}");
}
