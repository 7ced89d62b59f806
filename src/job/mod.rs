//! From the text of a job to what each stage is told.
//!
//! In: the job's text, and a function that reads the files it names. Out: a `Job`: the fixture's brief, parts, seams,
//! cutter, marks, output, search, stock, all lengths in mm and all defaults filled in; or every fault, each with its
//! place, caret and remedy.
//!
//! Steps: 1. `parse` the text, with the place of every key. 2. Read table by table (`fixture_tables`, `cutter_tables`,
//! `owner_tables`), holding each key to `schema` and each number to `limits`; drawings are read on the way (`files`).
//! 3. Read the `stock` file likewise. 4. Hold the tables against one another (`cross_check`) and fill in the `defaults`
//! that depend on several. 5. Sort the faults by file and place.
//!
//! Assumes nothing about its input. Guarantees: no panic; a `Job` only where there is no fault; every number finite and
//! within `limits`; the same text and files give the same `Job`. No disk, clock or environment is touched here.

use crate::cut::options::Marks;
use crate::fixture::brief::Brief;
use crate::format::stock_toml::StockDoc;
use crate::geometry::units::MM_PER_INCH;
use crate::job::error::JobError;
use crate::job::files::{Files, Reading};
use crate::job::limits::{Limit, Limits};
use crate::job::places::Places;
use crate::job::reader::{Table, Walk};
use crate::model::cutter::Cutter;
use crate::model::fault::{Fault, Place};
use crate::model::finding::Finding;
use crate::model::part::Part;
use crate::model::sheet::Sheet;
use crate::planner::options::Budget;

mod cross_check;
mod cutter_tables;
mod defaults;
pub mod error;
pub mod files;
mod fixture_tables;
pub mod limits;
mod measures;
mod owner_tables;
mod parse;
pub mod places;
mod reader;
pub mod schema;
mod stock;

pub(crate) use reader::near;
pub use stock::stock_drawings;

/// A job as meant.
#[derive(Clone, Debug)]
pub struct Job {
    /// Its title.
    pub title: Option<String>,
    /// Whether bare numbers of the job and its stock file are inches.
    pub inches: bool,
    /// How many fixtures.
    pub copies: usize,
    /// What the fixture stage is told.
    pub brief: Brief,
    /// Parts.
    pub parts: Vec<Part>,
    /// What the seam stage is told.
    pub seams: crate::seam::options::Options,
    /// The machine.
    pub cutter: Cutter,
    /// What the cut stage is told.
    pub marks: Marks,
    /// What the output stage is told.
    pub output: crate::output::options::Options,
    /// What the planner is told.
    pub search: crate::planner::options::Options,
    /// The stock.
    pub stock: Vec<Sheet>,
    /// The stock file as written.
    pub stock_doc: StockDoc,
    /// Every file that was read, the job first: path kept under, and bytes.
    pub inputs: Vec<(String, Vec<u8>)>,
    /// Doubts about drawings and stock.
    pub findings: Vec<Finding>,
    /// Where each key stands.
    pub places: Places,
}

/// What a command line says over the job's `[search]`, and of its drawings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Overrides {
    /// How long.
    pub budget: Option<Budget>,
    /// Seed.
    pub seed: Option<u64>,
    /// Searches side by side.
    pub lanes: Option<usize>,
    /// How much the job and its drawings may ask for.
    pub limits: Limits,
}

impl Overrides {
    /// Puts what is told in place of what the job says.
    pub fn apply(&self, search: &mut crate::planner::options::Options) {
        search.budget = self.budget.unwrap_or(search.budget);
        search.seed = self.seed.unwrap_or(search.seed);
        search.lanes = self.lanes.unwrap_or(search.lanes);
    }
}

/// Reads a job; `job_name` is the name that faults give its file, `files` reads what it names, relative to its folder;
/// `limits` are the job's own and those of drawings.
///
/// # Errors
/// All faults of the job, its stock file and its drawings, sorted by file and place.
pub fn read(
    job_name: &str,
    text: &str,
    files: Reading<'_>,
    limits: &Limits,
) -> Result<Job, Vec<Fault>> {
    let most = limits.most(Limit::TomlBytes);
    if text.len() > most.count {
        let (path, bytes) = (job_name.to_owned(), text.len());
        let long = JobError::LongText { path, bytes, most };
        return Err(vec![long.fault(Place::File(job_name.to_owned()))]);
    }
    let table = parse::parse(job_name, text)?;
    let mut walk = Walk {
        file: job_name.to_owned(),
        bare_mm: 1.0,
        limits: *limits,
        faults: Vec::new(),
        findings: Vec::new(),
        places: Places::default(),
        files: Files::new(job_name, text, files),
    };
    walk.places.register(job_name, &table);
    let root = walk.root(&table, schema::JOB);
    let job = resolve(&mut walk, &root);
    let Walk {
        mut faults,
        findings,
        places,
        files,
        ..
    } = walk;
    if faults.is_empty() {
        return Ok(Job {
            inputs: files.into_inputs(),
            findings,
            places,
            ..job
        });
    }
    sort(&mut faults, &places);
    Err(faults)
}

/// Reads all tables; what is wrong is replaced by something harmless, its fault stays in the walk.
fn resolve(walk: &mut Walk<'_>, root: &Table<'_>) -> Job {
    let inches = walk
        .word(root, "units", &[("mm", false), ("in", true)])
        .unwrap_or(false);
    walk.bare_mm = if inches { MM_PER_INCH } else { 1.0 };
    let copies = walk
        .count(root, "copies", 1, walk.limits.most(Limit::Pieces))
        .unwrap_or(1);
    let cutter = walk.cutter(root);
    let seams = walk.seams(root);
    let openings = walk.openings(root);
    let layers = walk.layers(root, &openings, &cutter.cutter, &seams);
    let parts = walk.parts(root, &cutter.cutter);
    walk.check_names(&layers, &parts, copies);
    walk.check_outlines(&layers);
    walk.check_pieces(layers.len(), &parts, copies);
    let cutter = walk.finish_cutter(cutter, &layers, &parts);
    let thickest = layers.iter().map(|l| l.thickness).fold(0.0, f64::max);
    let (stock_doc, mut stock) = walk.stock(root);
    let needed: Vec<(&str, f64)> = layers
        .iter()
        .map(|l| (l.material.as_str(), l.thickness))
        .chain(parts.iter().map(|p| (p.material.as_str(), p.thickness)))
        .collect();
    walk.finish_stock(&mut stock, &cutter, &needed);
    let brief = Brief {
        bed: walk.bed(root),
        outline: walk.outline(root),
        fastener: walk.fastener(root),
        blank: walk.blank(root),
        grid: walk.grid(root),
        notch: walk.notch(root),
        kind: cutter.kind,
        part_materials: parts
            .iter()
            .map(|p| (p.name.clone(), p.material.clone()))
            .collect(),
        order_quantity: order(walk, root),
        openings,
        layers,
        most_blanks: walk.limits.of(Limit::Pockets),
    };
    Job {
        title: walk.name(root, "title"),
        inches,
        copies,
        seams: seams.options(thickest, &cutter),
        marks: walk.marks(root),
        output: walk.output(root, inches),
        search: walk.search(root),
        brief,
        parts,
        cutter,
        stock,
        stock_doc,
        inputs: Vec::new(),
        findings: Vec::new(),
        places: Places::default(),
    }
}

/// `[order]`.
fn order(walk: &mut Walk<'_>, root: &Table<'_>) -> Option<usize> {
    let table = walk.table(root, "order", schema::ORDER)?;
    walk.need(
        &table,
        &["quantity"],
        "how many blanks are ordered: `quantity = 300`",
    );
    walk.count(&table, "quantity", 1, limits::MAX_ORDER)
}

/// Sorts faults by file in the order of reading, then by place; a fault that is said twice stays once.
fn sort(faults: &mut Vec<Fault>, places: &Places) {
    let key = |fault: &Fault| match &fault.place {
        Place::Span { file, span } => (places.file_order(file), file.clone(), span.start + 1),
        Place::File(file) => (places.file_order(file), file.clone(), 0),
        Place::Key(_) | Place::None => (0, String::new(), 0),
    };
    faults.sort_by_key(key);
    faults.dedup();
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

    use super::*;
    use crate::fixture::brief::{Feature, Shape};
    use crate::job::error::ReadFault;

    const STOCK: &str =
        "[[sheet]]\nid = \"a\"\nmaterial = \"mdf\"\nthickness = 3\nsize = [600, 400]\n";
    const LEAST: &str = "stock = \"s.toml\"\n[fixture]\nsize = [300, 200]\n[cutter]\nkerf = 0.2\n[[layer]]\nname = \"base\"\nmaterial = \"MDF\"\nthickness = 3\n";

    fn read_with(job: &str, stock: &str) -> Result<Job, Vec<Fault>> {
        read(
            "job.toml",
            job,
            &|name: &str| {
                if name == "s.toml" {
                    Ok(stock.as_bytes().to_vec())
                } else {
                    Err(ReadFault::Missing)
                }
            },
            &Limits::default(),
        )
    }

    /// Each fault as `code text`, with the text that its span covers.
    fn told(faults: &[Fault], text: &str) -> Vec<(String, String)> {
        let covered = |fault: &Fault| match &fault.place {
            Place::Span { span, .. } => text[span.clone()].to_owned(),
            _ => String::new(),
        };
        faults
            .iter()
            .map(|f| (format!("{} {}", f.code, f.what), covered(f)))
            .collect()
    }

    #[test]
    fn a_least_job_gets_the_defaults() {
        let job = read_with(LEAST, STOCK).unwrap();
        assert_eq!(job.cutter.spacing, 2.0, "max(2, 1.5 · 0.2)");
        assert_eq!(job.cutter.edge_margin, 5.0, "max(5, 0.2)");
        assert_eq!(job.seams.limits.min_lap, 40.0, "max(40, 10 · 3)");
        assert_eq!(job.seams.limits.keep_clear, 6.0, "max(5, 2 · 3)");
        assert_eq!(job.seams.limits.min_piece, 60.0, "max(60, 10 · 3)");
        assert_eq!(job.brief.layers[0].min_web, 6.0, "2 · 3");
        assert_eq!(job.seams.corner_radius, 0.5, "of a laser");
        assert_eq!(job.search.remnant, [100.0, 100.0]);
        assert!(
            (job.stock[0].cost - 0.24).abs() < 1e-12,
            "0.6 m · 0.4 m, no sheet has a cost"
        );
        assert!(job.findings.is_empty());
        let names: Vec<&str> = job.inputs.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["job.toml", "s.toml"]);
    }

    #[test]
    fn defaults_stay_in_mm_where_the_job_is_in_inches() {
        let text = LEAST
            .replace("stock =", "units = \"in\"\nstock =")
            .replace("thickness = 3", "thickness = \"1/8 in\"")
            .replace("0.2", "\"0.2 mm\"");
        let job = read_with(&text, &STOCK.replace("thickness = 3", "thickness = 0.125")).unwrap();
        assert_eq!(job.cutter.spacing, 2.0);
        assert_eq!(job.brief.layers[0].thickness, 3.175, "1/8 · 25.4");
        assert_eq!(job.search.remnant, [100.0, 100.0]);
        let Some(Shape::Rect { size, .. }) = job.brief.outline.unwrap().shape else {
            panic!("a rectangle was told")
        };
        assert_eq!(size, [7620.0, 5080.0], "300 in · 25.4, 200 in · 25.4");
    }

    #[test]
    fn a_router_has_its_tool_and_the_tools_radius() {
        let text = LEAST.replace("kerf = 0.2", "kind = \"router\"\ntool_diameter = 4");
        let job = read_with(&text, STOCK).unwrap();
        assert_eq!(job.seams.corner_radius, 2.1, "4 / 2 · 1.05");
        assert_eq!(job.cutter.spacing, 6.0, "1.5 · 4");
        let wrong = LEAST.replace("kerf = 0.2", "kind = \"router\"\nkerf = 0.2");
        let faults = read_with(&wrong, STOCK).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:#?}");
        assert!(faults[0].hint.as_ref().unwrap().contains("`tool_diameter`"));
    }

    #[test]
    fn every_fault_is_told_at_its_place_and_in_order() {
        let text = "stock = \"s.toml\"\ncopys = 2\n[fixture]\nsize = [300, -1]\ncorner_radus = 8\n[cutter]\nkerf = \"3,5 mm\"\nturns = \"halb\"\n[[layer]]\nname = \"base\"\nmaterial = 3\nthickness = inf\nfeatures = [\"pockets\"]\n";
        let faults = read_with(text, STOCK).unwrap_err();
        let expected = [
            ("J014 unknown key `copys` in job.toml", "copys"),
            ("J013 `size` is -1 mm; it must be above 0 mm", "-1"),
            (
                "J014 unknown key `corner_radus` in [fixture]",
                "corner_radus",
            ),
            (
                "J012 `kerf` is no length: decimals take a point: `3.5 mm`",
                "\"3,5 mm\"",
            ),
            (
                "J015 `turns` is \"halb\"; it must be one of `none`, `half`, `quarter`, `any`",
                "\"halb\"",
            ),
            (
                "J011 `material` must be a text in quotes, not a whole number",
                "3",
            ),
            (
                "J013 `thickness` is inf mm; it must be a finite number of mm",
                "inf",
            ),
            (
                "J025 layer \"base\" lists the unknown feature \"pockets\"",
                "\"pockets\"",
            ),
        ];
        let expected: Vec<(String, String)> =
            expected.map(|(a, b)| (a.to_owned(), b.to_owned())).to_vec();
        assert_eq!(told(&faults, text), expected);
        assert_eq!(faults[2].label, "did you mean `corner_radius`?");
    }

    #[test]
    fn missing_keys_are_told_at_their_table() {
        let faults = read_with("[cutter]\n[[layer]]\nname = \"a\"\n", STOCK).unwrap_err();
        let texts: Vec<&str> = faults.iter().map(|f| f.what.as_str()).collect();
        assert_eq!(
            texts,
            [
                "job.toml has no `stock`",
                "[cutter] has no `kerf`",
                "[[layer]] 1 has no `material`",
                "[[layer]] 1 has no `thickness`",
                "[fixture] has no `size` or `drawing`",
            ]
        );
    }

    #[test]
    fn features_name_openings() {
        let text = format!(
            "{LEAST}features = [\"eject\"]\n[[opening]]\nname = \"eject\"\nshape = {{ circle = 9 }}\nat = [[40, 40]]\n"
        );
        let job = read_with(&text, STOCK).unwrap();
        assert_eq!(job.brief.layers[0].features, [Feature::Opening(0)]);
    }

    #[test]
    fn broken_toml_is_told_by_line_and_nothing_else() {
        let faults = read_with("stock = \nunknown = 3\n[cutter\nkerf = = 2\n", STOCK).unwrap_err();
        assert!(faults.iter().all(|f| f.code == "J010"), "{faults:#?}");
        assert!((2..=5).contains(&faults.len()));
    }

    #[test]
    fn a_sheet_without_a_cost_takes_the_lowest_price_of_its_kind() {
        let stock = format!(
            "{STOCK}cost = 4.8\n{}{}",
            STOCK
                .replace("\"a\"", "\"b\"")
                .replace("mdf", "MDF")
                .replace("[600, 400]", "[1000, 300]"),
            STOCK
                .replace("\"a\"", "\"c\"")
                .replace("size", "cost = 12\nsize")
                .replace("3\n", "9\n")
        );
        let job = read_with(LEAST, &stock).unwrap();
        assert!(
            (job.stock[1].cost - 6.0).abs() < 1e-12,
            "4.8 / 0.24 m² = 20 per m², · 0.3 m²"
        );
        assert_eq!(job.findings.len(), 1);
        assert!(job.findings[0].what.contains("\"b\"") && job.findings[0].what.contains("cost"));
    }

    #[test]
    fn the_cutter_takes_what_fits_either_way_round_and_rolls_in_lengths() {
        let sheets = |sold: &str| format!("{STOCK}{sold}");
        let with = |cutter: &str| LEAST.replace("kerf = 0.2", &format!("kerf = 0.2\n{cutter}"));
        let usable = |cutter: &str, sold: &str| {
            let job = read_with(&with(cutter), &sheets(sold)).unwrap();
            (job.stock[0].taken, job.stock[0].usable_length)
        };
        let roll = "sold_by = \"length\"\n";
        assert_eq!(usable("area = [600, 400]", ""), (true, 600.0));
        assert_eq!(
            usable("area = [400, 600]", ""),
            (true, 600.0),
            "turned by a quarter"
        );
        assert_eq!(usable("area = [500, 500]", ""), (false, 0.0));
        assert_eq!(
            usable("area = [500, 400]\npass_through = \"x\"", ""),
            (true, 600.0)
        );
        assert_eq!(usable("area = [500, 400]", roll), (true, 500.0));
        assert_eq!(usable("area = [350, 400]", roll), (true, 350.0));
        assert_eq!(
            usable("area = [350, 350]", roll),
            (false, 0.0),
            "the roll is 400 wide"
        );
        assert_eq!(
            usable("area = [300, 450]", roll),
            (true, 300.0),
            "450 only across the roll"
        );
    }
}
