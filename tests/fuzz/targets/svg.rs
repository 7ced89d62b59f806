//! Any bytes as an SVG drawing.
#![no_main]

mod drawing;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| drawing::read("fuzz.svg", bytes));
