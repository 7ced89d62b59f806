//! What is in stock, before and after.
//!
//! In: the sheets as read. Out: before the search, the clear boxes of each ([`windows`]); after it, the leftovers worth
//! keeping ([`remnant::remnants`]).
//!
//! Assumes sheets as `job` reads them: outline and defects checked, defects taken off in `region`. Lengths in mm, each
//! sheet in its own frame.

pub mod error;
pub mod remnant;
mod window;

pub use window::{apart, windows};
