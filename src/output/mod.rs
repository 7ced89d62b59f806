//! From a plan to the bytes of every output file.
//!
//! In: the plan, the options, the inputs as they were read, the stock file as written. Out: relative paths with bytes. The
//! files hold no clock, no host, no path, nothing of the budget. Steps: `plan.json`; a DXF and an SVG for each sheet used;
//! outline and proof where there are layers; `pockets.csv` where there are pockets; the report; the stock that is left;
//! the inputs. Of pieces that are cut once more no proof, outline and pockets: the fixture is the one that stands.

mod cautions;
pub mod comparison;
pub mod dxf;
mod judged_json;
pub mod options;
pub mod outline;
mod pictures;
mod plan_json;
pub mod plan_told;
mod pockets;
mod proof;
mod report;
mod scene;
mod stock_after;
pub mod svg;

use crate::format::stock_toml::StockDoc;
use crate::model::plan::Plan;
use crate::output::options::Options;

pub use plan_json::FORMAT;
pub(crate) use plan_json::{kept_settings, piece as piece_json};

/// Every file of the output folder: relative path and bytes.
pub fn write(
    plan: &Plan,
    options: &Options,
    inputs: &[(String, Vec<u8>)],
    stock_doc: &StockDoc,
) -> Vec<(String, Vec<u8>)> {
    let names: Vec<&str> = inputs.iter().map(|(n, _)| n.as_str()).collect();
    let mut files = vec![(
        "plan.json".to_owned(),
        plan_json::plan_json(plan, &names).into_bytes(),
    )];
    for (k, sheet) in plan.sheets.iter().enumerate() {
        let region = &plan.stock[sheet.sheet].region;
        files.push((
            format!("sheets/{}.dxf", sheet.id),
            dxf::sheet_dxf(&plan.cuts[k], options),
        ));
        files.push((
            format!("sheets/{}.svg", sheet.id),
            svg::sheet_svg(&plan.cuts[k], region, options).into_bytes(),
        ));
    }
    if !plan.fixture.layers.is_empty() && !plan.recut {
        files.push((
            "outline.dxf".to_owned(),
            dxf::outline_dxf(&plan.fixture, options),
        ));
        files.push((
            "outline.svg".to_owned(),
            svg::outline_svg(&plan.fixture).into_bytes(),
        ));
        files.push(("proof.svg".to_owned(), proof::proof_svg(plan).into_bytes()));
        files.push(("proof.pdf".to_owned(), proof::proof_pdf(plan, options)));
    }
    if !plan.fixture.pockets.is_empty() && !plan.recut {
        files.push((
            "pockets.csv".to_owned(),
            pockets::pockets_csv(&plan.fixture.pockets).into_bytes(),
        ));
    }
    files.push((
        "report.html".to_owned(),
        report::report(plan, stock_doc).into_bytes(),
    ));
    files.push((
        "stock-after.toml".to_owned(),
        stock_after::stock_after(plan, stock_doc, options.inches).into_bytes(),
    ));
    files.extend(
        inputs
            .iter()
            .map(|(name, bytes)| (format!("inputs/{name}"), bytes.clone())),
    );
    files
}
