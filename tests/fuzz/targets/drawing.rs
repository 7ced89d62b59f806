//! What the targets of both drawing formats share: regions that hold the check, or errors that name the file.

use seamwright::drawing::{self, DrawingOptions, limits::Limits};
use seamwright::geometry::check::check;

/// Reads bytes under a name that says the format.
pub(crate) fn read(name: &str, bytes: &[u8]) {
    let options = DrawingOptions {
        layer: None,
        bare_unit_mm: 1.0,
        limits: Limits::default(),
    };
    match drawing::read(name, bytes, options) {
        Ok(drawing) => {
            for region in &drawing.regions {
                assert!(check(region).is_ok(), "{region:?}");
            }
        }
        Err(errors) => assert!(errors.iter().all(|e| e.file() == name)),
    }
}
