//! Any bytes as a DXF drawing: regions that hold the check, or an error that names the file.
#![no_main]

use libfuzzer_sys::fuzz_target;
use seamwright::drawing::{self, DrawingOptions, limits::Limits};
use seamwright::geometry::check::check;

fuzz_target!(|bytes: &[u8]| {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    match drawing::read("fuzz.dxf", bytes, options) {
        Ok(drawing) => {
            for region in &drawing.regions {
                assert!(check(region).is_ok(), "{region:?}");
            }
        }
        Err(errors) => assert!(errors.iter().all(|e| e.file() == "fuzz.dxf")),
    }
});
