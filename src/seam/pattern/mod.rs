//! The shapes of teeth.

pub(crate) mod knob;
