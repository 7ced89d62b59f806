//! The lap that a bond between layers needs.
//!
//! Where a seam of one layer lies beside whole material of the next, the load passes over the bond. By shear lag it has
//! passed to 95 % after 3/λ, with λ² = (G/a)·(1/(E₁t₁) + 1/(E₂t₂)) for a bond of modulus G and thickness a between sheets of
//! modulus E and thickness t. A sheet whose modulus is not known is taken to be as stiff as acrylic.
//!
//! Sources: shear lag is Volkersen's of 1938, the formula from memory; acrylic 3300 MPa, film 0.5 MPa and 0.13 mm, weld
//! 1200 MPa and 0.05 mm from memory. For glue there is no figure, and a dry stack passes nothing.

use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::seam::options::Bond;

/// Modulus of acrylic in MPa.
const ACRYLIC: f64 = 3300.0;

/// Modulus in MPa and thickness in mm of a bond.
fn figures(bond: Bond) -> Option<(f64, f64)> {
    match bond {
        Bond::Film => Some((0.5, 0.13)),
        Bond::Weld => Some((1200.0, 0.05)),
        Bond::Dry | Bond::Glue => None,
    }
}

/// The lap in mm that a bond needs between two layers; `moduli` in MPa, where they are known. `None` where there is no figure.
pub fn needed_lap(bond: Bond, layers: [&Layer; 2], moduli: [Option<f64>; 2]) -> Option<f64> {
    let (modulus, thickness) = figures(bond)?;
    let give = |k: usize| 1.0 / (moduli[k].unwrap_or(ACRYLIC) * layers[k].thickness);
    let squared = modulus / thickness * (give(0) + give(1));
    Some(3.0 / squared.sqrt())
}

/// Tells where the seams of two neighbouring layers lie nearer together, `lap` in mm, than the bond between them needs.
pub(crate) fn finding(
    bond: Bond,
    layers: [&Layer; 2],
    moduli: [Option<f64>; 2],
    lap: f64,
) -> Option<Finding> {
    let needed = needed_lap(bond, layers, moduli).filter(|needed| lap < *needed)?;
    let [lower, upper] = layers;
    let what = format!(
        "a {} between `{}` ({:.2} mm) and `{}` ({:.2} mm) passes 95 % of the load over {needed:.1} mm; their seams lie {lap:.1} mm apart",
        bond.word(),
        lower.name,
        lower.thickness,
        upper.name,
        upper.thickness,
    );
    let hint = format!("a `min_lap` of {:.0} or a stiffer bond", needed.ceil());
    let at = format!("layers {} and {}", lower.name, upper.name);
    Some(Finding::new("S105", what, at, hint).figures(lap, needed))
}
