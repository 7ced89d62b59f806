//! Layers for tests of this stage.

use crate::geometry::region::Region;
use crate::model::cutter::Turns;
use crate::model::layer::Layer;
use crate::model::seam::Pattern;

/// A layer of 3 mm with this shape, knobs along its seams and a web of 6 mm.
pub(crate) fn layer_of(shape: Vec<Region>) -> Layer {
    Layer {
        name: "core".to_owned(),
        material: "MDF".to_owned(),
        thickness: 3.0,
        shape,
        locating: Vec::new(),
        relief: Vec::new(),
        cut_width: 0.16,
        turns: Turns::Quarter,
        grain: None,
        own_kerf: None,
        own_turns: None,
        pattern: Some(Pattern::Knob),
        min_web: 6.0,
    }
}
