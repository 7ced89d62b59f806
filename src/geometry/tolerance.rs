//! Tolerances in three families that are never mixed. *Coincidence*: rounding, when two points are one. *Flatness*: the
//! chord error of a flattened curve, a budget shared out among the steps that spend it. *Allowance* (kerf, gap,
//! clearance, spacing) is the user's, comes from the job, and has no constant here.

/// Largest coordinate admitted, in mm. Products of two stay exact enough for the predicates, and the integer grid of the
/// booleans (1e-6 mm) stays far inside 64 bits. Larger numbers are refused when they are read. It is fixed, and no option of
/// the command line raises it: nothing that is promised of geometry is proved beyond.
pub const MAX_COORDINATE: f64 = 1.0e6;

/// Coincidence: the grid of the booleans in mm. Coarser would show in cut files, finer would not survive the rounding of
/// coordinates of 1e6 mm through a rotation (1e6 · 2⁻⁵² · a few operations ≈ 1e-9) with a margin of a thousand.
pub const GRID: f64 = 1.0e-6;

/// Coincidence: two computed points nearer than this are one. A point that was rounded to the grid lies up to GRID/√2
/// from where it was computed, so two roundings of one point differ by at most 1.5 GRID; twice GRID covers it.
pub const COINCIDENT: f64 = 2.0 * GRID;

/// Coincidence: by how much a distance in a certified plan may fall short of what is asked, or a depth exceed zero. Plans
/// are written to 1e-6 mm.
pub const CERTIFIED: f64 = 1.0e-6;

/// Flatness: chord error of curves that go through a boolean or an offset. The decision which of two curves lies outside
/// is taken on the chords; their true crossings are computed again afterwards. Errs at most this much either way.
pub const FLAT_BOOLEAN: f64 = 0.0005;

/// Flatness: by how much arcs that stand for an ellipse or a spline may err, a tenth of what cut geometry may.
pub const FLAT_FIT: f64 = 0.0005;

/// Flatness: chord error of outlines in `plan.json`, half of the 0.01 that readers of the file may rely on.
pub const FLAT_PLAN: f64 = 0.005;

/// Flatness: chord error of shapes in reports and proofs, a tenth of the finest line that is printed.
pub const FLAT_PICTURE: f64 = 0.02;

/// Coincidence: an area in mm² below which what a boolean leaves is a sliver of rounding: 1e-3 mm times 1 mm.
pub const SLIVER_AREA_MM2: f64 = 1.0e-3;
