//! Any text as a job or, after a line of `%%%`, as its stock file: a job, or faults with a place.
#![no_main]

use libfuzzer_sys::fuzz_target;
use seamwright::job;
use seamwright::job::error::ReadFault;
use seamwright::job::limits::Limits;

fuzz_target!(|text: &str| {
    let (job, stock) = text.split_once("%%%\n").unwrap_or((text, STOCK));
    let files = |name: &str| match name {
        "stock.toml" => Ok(stock.as_bytes().to_vec()),
        _ => Err(ReadFault::Missing),
    };
    if let Err(faults) = job::read("job.toml", job, &files, &Limits::default()) {
        assert!(!faults.is_empty());
    }
});

const STOCK: &str = "[[sheet]]\nid = \"a\"\nmaterial = \"m\"\nthickness = 3\nsize = [600, 400]\n";
