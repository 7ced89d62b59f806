//! Why there is no plan.

use thiserror::Error;

/// Why there is no plan.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum PlannerError {
    /// No plan exists, and why is known; one sentence a reason, with figures.
    #[error("no plan is possible: {}", .0.join("; "))]
    Impossible(Vec<String>),
    /// No plan was found; what came nearest and what would help, a sentence each.
    #[error("no plan was found: {}", .0.join("; "))]
    NotFound(Vec<String>),
    /// The user stopped the search before a plan was found.
    #[error("stopped before a plan was found")]
    Stopped,
}
