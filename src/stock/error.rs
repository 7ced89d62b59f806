//! Why the stock cannot serve a job.

use thiserror::Error;

use crate::model::fault::{Fault, Place};

/// A material and thickness that the stock cannot serve, whatever is searched.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum StockError {
    /// No entry of the stock has the material in that thickness.
    #[error("no sheet of {thickness} mm {material} is in stock, which {user} is cut from")]
    NoSuchSheet {
        /// The layer or part.
        user: String,
        /// Its material.
        material: String,
        /// Its thickness.
        thickness: f64,
        /// Thicknesses in which the stock has the material.
        thicknesses: Vec<f64>,
    },
    /// There are entries, but none is left.
    #[error(
        "no sheet of {thickness} mm {material} is left, which {user} is cut from: {ids} have quantity 0"
    )]
    NoneLeft {
        /// The layer or part.
        user: String,
        /// Its material.
        material: String,
        /// Its thickness.
        thickness: f64,
        /// The entries.
        ids: String,
    },
    /// All that are left are larger than the machine takes.
    #[error(
        "every sheet of {thickness} mm {material}, which {user} is cut from, is larger than the cutter's area: {ids}"
    )]
    AllTooLarge {
        /// The layer or part.
        user: String,
        /// Its material.
        material: String,
        /// Its thickness.
        thickness: f64,
        /// The entries.
        ids: String,
    },
}

impl StockError {
    /// Code, place and remedy.
    pub fn fault(&self) -> Fault {
        let (code, hint) = match self {
            Self::NoSuchSheet { thicknesses, .. } if thicknesses.is_empty() => {
                ("K101", "add a sheet of it to the stock file, or choose a material that is in stock".to_owned())
            }
            Self::NoSuchSheet { material, thicknesses, .. } => {
                let words: Vec<String> = thicknesses.iter().map(|t| format!("{t} mm")).collect();
                ("K101", format!("the stock has {material} in {}; add a sheet, or change the thickness", words.join(", ")))
            }
            Self::NoneLeft { .. } => ("K102", "raise the quantity once there are sheets again, or add another sheet".to_owned()),
            Self::AllTooLarge { .. } => {
                ("K103", "cut the sheets down and enter them so, raise `area`, or set `pass_through` if the machine is open on one side".to_owned())
            }
        };
        Fault::new(code, self.to_string(), Place::Key("stock".to_owned())).hint(hint)
    }
}
