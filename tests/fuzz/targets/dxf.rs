//! Any bytes as a DXF drawing.
#![no_main]

mod drawing;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| drawing::read("fuzz.dxf", bytes));
