//! Layered sheet fixtures, from a job file to sheets that can be cut.

pub mod cut;
pub mod disk;
pub mod drawing;
pub mod error;
pub mod fixture;
pub mod format;
pub mod geometry;
pub mod job;
pub mod model;
pub mod nest;
pub mod output;
pub mod parallel;
pub mod pipeline;
pub mod planner;
pub mod seam;
pub mod stock;
