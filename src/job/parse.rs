//! TOML with the place of every key, or its faults.

use toml::de::{DeTable, Error};

use crate::job::error::JobError;
use crate::model::fault::{Fault, Place};

/// Most syntax faults that are told of one file: one broken bracket makes dozens of them.
const MOST_FAULTS: usize = 5;

/// Parses a file.
///
/// # Errors
/// Its syntax faults: the first of each line, at most five.
pub(crate) fn parse<'t>(file: &str, text: &'t str) -> Result<DeTable<'t>, Vec<Fault>> {
    let (table, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Ok(table.into_inner());
    }
    let mut faults: Vec<(usize, Fault)> = Vec::new();
    for (line, fault) in errors.iter().map(|error| located(file, text, error)) {
        if faults.iter().all(|(other, _)| *other != line) {
            faults.push((line, fault));
        }
    }
    faults.sort_by_key(|(line, _)| *line);
    Err(faults
        .into_iter()
        .take(MOST_FAULTS)
        .map(|(_, fault)| fault)
        .collect())
}

/// A syntax fault and its line.
fn located(file: &str, text: &str, error: &Error) -> (usize, Fault) {
    let span = error.span().unwrap_or(text.len()..text.len());
    let line = text
        .as_bytes()
        .iter()
        .take(span.start)
        .filter(|b| **b == b'\n')
        .count();
    let place = Place::Span {
        file: file.to_owned(),
        span,
    };
    (
        line,
        JobError::Syntax {
            message: error.message().to_owned(),
        }
        .fault(place),
    )
}
