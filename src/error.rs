//! How a command can fail, one variant for each exit status.

use thiserror::Error;

use crate::model::fault::Fault;

/// Why there is no result.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// A file or an option is wrong.
    #[error("{} of the input", counted(.0.len()))]
    Faults(Vec<Fault>),
    /// The files are right, but stock and limits allow no plan.
    #[error("no plan: {}", if *.proved { "proved" } else { "not found in the time given" })]
    NoPlan {
        /// Whether that is proved, rather than not found in the time given.
        proved: bool,
        /// The message: piece, limit, nearest miss; then what would help, cheapest first.
        lines: Vec<String>,
    },
    /// The output could not be written; nothing is left half done.
    #[error("{what}")]
    Output {
        /// What failed, with the path.
        what: String,
        /// What to do.
        hint: String,
    },
    /// The user stopped before there was a plan, or twice.
    #[error("stopped before there was a plan")]
    Stopped,
}

impl From<Vec<Fault>> for Error {
    fn from(faults: Vec<Fault>) -> Self {
        Self::Faults(faults)
    }
}

fn counted(n: usize) -> String {
    if n == 1 {
        String::from("1 fault")
    } else {
        format!("{n} faults")
    }
}
