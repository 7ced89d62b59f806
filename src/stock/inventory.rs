//! Which sheets serve which material and thickness.
//!
//! In: the stock, and what each layer and part is cut from. Out: classes (a material in a thickness) with the sheets that
//! the cutter takes, and the class of each user. Classes are numbered in the order in which users first ask for them.
//!
//! Materials are compared without case, thicknesses to 1e-6 mm, as fine as lengths are written.

use crate::model::sheet::Sheet;
use crate::stock::error::StockError;

/// Lengths are written to this many mm.
const WRITTEN: f64 = 1.0e-6;

/// Something that is cut from sheet: a layer or a part.
#[derive(Clone, Debug, PartialEq)]
pub struct User<'a> {
    /// How messages name it: `layer "base"`.
    pub name: String,
    /// Its material.
    pub material: &'a str,
    /// Its thickness.
    pub thickness: f64,
}

/// A material in a thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// The material, as its first user writes it.
    pub material: String,
    /// The thickness.
    pub thickness: f64,
    /// Places in the stock of the sheets that serve it: of this material and thickness, some left, taken by the cutter.
    pub sheets: Vec<usize>,
}

impl Class {
    /// Whether the class is of this material and thickness.
    pub fn is_of(&self, material: &str, thickness: f64) -> bool {
        is_same(&self.material, self.thickness, material, thickness)
    }
}

/// The classes that a job needs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Inventory {
    /// The classes.
    pub classes: Vec<Class>,
    /// The class of each user, in their order.
    pub class_of: Vec<usize>,
    /// The class of each sheet of the stock; `None` where no user asks for it.
    pub class_of_sheet: Vec<Option<usize>>,
}

/// Whether two materials and thicknesses are one.
fn is_same(a: &str, a_thickness: f64, b: &str, b_thickness: f64) -> bool {
    (a_thickness - b_thickness).abs() < WRITTEN && a.to_lowercase() == b.to_lowercase()
}

/// Sorts the stock by what the users need.
///
/// # Errors
/// One [`StockError`] for each class that no sheet can serve, naming its first user.
pub fn inventory(stock: &[Sheet], users: &[User]) -> Result<Inventory, Vec<StockError>> {
    let mut found = Inventory {
        class_of_sheet: vec![None; stock.len()],
        ..Inventory::default()
    };
    let mut errors = Vec::new();
    for user in users {
        let known = found
            .classes
            .iter()
            .position(|c| c.is_of(user.material, user.thickness));
        found.class_of.push(known.unwrap_or(found.classes.len()));
        if known.is_some() {
            continue;
        }
        let of_class: Vec<usize> = (0..stock.len())
            .filter(|&i| {
                is_same(
                    &stock[i].material,
                    stock[i].thickness,
                    user.material,
                    user.thickness,
                )
            })
            .collect();
        let left: Vec<usize> = of_class
            .iter()
            .copied()
            .filter(|&i| stock[i].quantity > 0)
            .collect();
        let sheets: Vec<usize> = left
            .iter()
            .copied()
            .filter(|&i| stock[i].taken && !stock[i].region.is_empty())
            .collect();
        if sheets.is_empty() {
            errors.push(why_none(stock, user, &of_class, &left));
        }
        for &i in &of_class {
            found.class_of_sheet[i] = Some(found.classes.len());
        }
        found.classes.push(Class {
            material: user.material.to_owned(),
            thickness: user.thickness,
            sheets,
        });
    }
    if errors.is_empty() {
        Ok(found)
    } else {
        Err(errors)
    }
}

fn why_none(stock: &[Sheet], user: &User, of_class: &[usize], left: &[usize]) -> StockError {
    let (name, material, thickness) = (user.name.clone(), user.material.to_owned(), user.thickness);
    let ids = |places: &[usize]| {
        places
            .iter()
            .map(|&i| stock[i].id.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    if of_class.is_empty() {
        let mut thicknesses: Vec<f64> = stock
            .iter()
            .filter(|s| s.quantity > 0 && s.material.to_lowercase() == material.to_lowercase())
            .map(|s| s.thickness)
            .collect();
        thicknesses.sort_by(f64::total_cmp);
        thicknesses.dedup();
        StockError::NoSuchSheet {
            user: name,
            material,
            thickness,
            thicknesses,
        }
    } else if left.is_empty() {
        StockError::NoneLeft {
            user: name,
            material,
            thickness,
            ids: ids(of_class),
        }
    } else {
        StockError::AllTooLarge {
            user: name,
            material,
            thickness,
            ids: ids(left),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop where it fails")]
mod tests {
    use super::*;
    use crate::stock::window::tests::sheet;

    fn user(material: &str, thickness: f64) -> User<'_> {
        User {
            name: format!("layer {material:?}"),
            material,
            thickness,
        }
    }

    #[test]
    fn sheets_are_found_whatever_the_case_of_their_material() {
        let stock = [
            sheet("a", "Acrylic", 3.0),
            sheet("b", "acrylic", 3.0),
            sheet("c", "acrylic", 4.0),
            sheet("d", "MDF", 3.0),
        ];
        let found = inventory(
            &stock,
            &[user("ACRYLIC", 3.0), user("mdf", 3.0), user("acrylic", 3.0)],
        )
        .unwrap();
        assert_eq!(
            found
                .classes
                .iter()
                .map(|c| c.sheets.clone())
                .collect::<Vec<_>>(),
            [vec![0, 1], vec![3]]
        );
        assert_eq!(found.class_of, [0, 1, 0]);
        assert_eq!(found.class_of_sheet, [Some(0), Some(0), None, Some(1)]);
    }

    #[test]
    fn what_no_sheet_can_serve_is_told_with_its_reason_and_all_at_once() {
        let mut stock = [
            sheet("a", "acrylic", 3.0),
            sheet("b", "MDF", 6.0),
            sheet("c", "felt", 2.0),
        ];
        stock[1].quantity = 0;
        stock[2].taken = false;
        let errors = inventory(
            &stock,
            &[user("acrylic", 5.0), user("MDF", 6.0), user("felt", 2.0)],
        )
        .unwrap_err();
        assert_eq!(
            errors.iter().map(|e| e.fault().code).collect::<Vec<_>>(),
            ["K101", "K102", "K103"]
        );
        assert!(
            errors[0].fault().hint.unwrap().contains("3 mm"),
            "the thickness that is there is named"
        );
    }
}
