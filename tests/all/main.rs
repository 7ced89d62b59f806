//! One test binary; each part says in a sentence what it holds.

#![allow(
    clippy::disallowed_methods,
    reason = "a closed form may come from the platform's own functions: nothing is written"
)]

/// What is wrong with a job is told at its place, by the built program, with its exit status.
mod bad_job;
/// Lower bounds are what a calculation by hand says, and no more than a plan costs.
mod bounds;
/// Commands, options and exit statuses, as scripts use them.
mod cli;
/// A job planned with each pattern says of each what `plan` says, in files that agree.
mod compare;
/// A round that the time granted cuts off leaves nothing behind.
mod cut_off;
/// Contours, marks, order and figures of a sheet hold their closed forms.
mod cutting;
/// The same job gives the same bytes, whatever the machine does beside.
mod determinism;
/// Files are read where they may be, and a folder is written whole or not at all.
#[cfg(unix)]
mod disk_faults;
/// Each limit of a drawing holds at its figure and says how to raise it.
mod drawing_faults;
mod drawing_limits;
mod drawing_scale;
/// Drawings turned, mirrored or written another way have the same figures.
mod drawing_symmetry;
/// Drawings are read as an independent reader measures them, and refused with the place.
mod drawings;
/// A fixture is drawn as its job says, and what cannot be cut is refused.
mod fixture_rules;
/// Booleans, offsets and distances hold their closed forms, their symmetries, and the opinion of other libraries.
mod geometry_properties;
/// What is hard to split or to place is planned at the least cost; what cannot be split is told with numbers that work.
mod hard_cases;
/// Pieces that fill a sheet as a jigsaw does are found.
mod jigsaws;
/// Each limit of a job holds at its figure, says how it is lifted, and is lifted so.
mod job_limits;
/// Modules use what lies below them, and no stage uses a stage.
mod layering;
mod materials;
/// Published nesting instances are certified, spoilt ones refused, bounds true.
mod nesting;
/// Files of a plan say what they should, and no name adds anything to them.
mod output_files;
/// Offcuts that were made to fit are found.
mod planted;
/// Runs the built program for other parts.
mod program;
/// Ten families of random pairs keep the algebra of areas; all of them go to a file for another library to judge.
mod random_pairs;
/// Pieces cut once more are the first ones, lie on what is left, and change nothing else.
mod recut;
/// What findings about teeth advise does away with them.
mod remedies;
/// What is written reads back equal.
mod round_trip;
/// No key is accepted and idle.
mod schema_walk;
/// Play, hold and stiffness of seams are what closed forms and moved shapes say.
mod seam_judged;
/// Seams keep their distances, pieces tile, teeth hold; looked at a second way by sampling.
mod seam_properties;
/// Booleans agree with two other engines.
mod second_opinion;
/// Several sheets: loose layouts are brought together on fewer and cheaper ones.
mod several_sheets;
/// The tables of standards give the figures that handbooks print.
mod standards;
/// Sheets sold by length: densities of published strips, spacing, the same bytes.
mod strips;
