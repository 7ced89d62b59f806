//! What the stages hand on to one another: data without algorithms. Lengths in mm, turns as a plan writes them.

pub mod comparison;
pub mod cut_path;
pub mod cutter;
pub mod fault;
pub mod finding;
pub mod fixture;
pub mod judged;
pub mod layer;
pub mod legal;
pub mod nesting;
pub mod part;
pub mod piece;
pub mod plan;
pub mod progress;
pub mod seam;
pub mod sheet;
pub mod source;
pub mod window;
