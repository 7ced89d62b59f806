//! The lap that a bond between layers needs.
//!
//! Where a seam of one layer lies beside whole material of the next, the load passes over the bond. By shear lag it has
//! passed to 95 % after 3/λ, with λ² = (G/a)·(1/(E₁t₁) + 1/(E₂t₂)) for a bond of modulus G and thickness a between sheets of
//! modulus E and thickness t. Both sheets are taken as thick as the layer and as stiff as acrylic.
//!
//! Sources: shear lag is Volkersen's of 1938, the formula from memory; acrylic 3300 MPa, film 0.5 MPa and 0.13 mm, weld
//! 1200 MPa and 0.05 mm from memory. For glue there is no figure, and a dry stack passes nothing.

use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::seam::Seam;
use crate::seam::options::{Bond, Options};

/// Modulus of the sheets in MPa.
const SHEET: f64 = 3300.0;

/// Modulus in MPa and thickness in mm of a bond.
fn figures(bond: Bond) -> Option<(f64, f64)> {
    match bond {
        Bond::Film => Some((0.5, 0.13)),
        Bond::Weld => Some((1200.0, 0.05)),
        Bond::Dry | Bond::Glue => None,
    }
}

/// Tells where `min_lap` is shorter than the bond needs.
pub(crate) fn finding(layer: &Layer, seams: &[Seam], options: &Options) -> Option<Finding> {
    let (modulus, thickness) = figures(options.bond).filter(|_| !seams.is_empty())?;
    let squared = modulus / thickness * 2.0 / (SHEET * layer.thickness);
    let (needed, lap) = (3.0 / squared.sqrt(), options.limits.min_lap);
    let what = format!(
        "a {} between sheets of {:.2} mm passes 95 % of the load over {needed:.1} mm; `min_lap` lets seams beside layer `{}` lie {lap:.1} mm apart",
        options.bond.word(),
        layer.thickness,
        layer.name
    );
    let hint = format!("a `min_lap` of {:.0} or a stiffer bond", needed.ceil());
    let told = Finding::new("S105", what, format!("layer {}", layer.name), hint);
    (lap < needed).then(|| told.figures(lap, needed))
}
