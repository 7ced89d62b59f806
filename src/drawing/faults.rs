//! Faults gathered: of each code the first few one by one, the others as a number.

use std::collections::BTreeMap;

use crate::drawing::error::DrawingError;
use crate::format::shown::MOST_TOLD;

/// What is wrong with a drawing.
pub(super) struct Faults<'a> {
    file: &'a str,
    told: Vec<DrawingError>,
    counts: BTreeMap<&'static str, usize>,
}

impl<'a> Faults<'a> {
    /// None yet.
    pub(super) const fn new(file: &'a str) -> Self {
        Self {
            file,
            told: Vec::new(),
            counts: BTreeMap::new(),
        }
    }

    /// Adds one.
    pub(super) fn push(&mut self, error: DrawingError) {
        let count = self.counts.entry(error.code()).or_insert(0);
        *count += 1;
        if *count <= MOST_TOLD {
            self.told.push(error);
        }
    }

    /// Adds those of a code that nobody kept, behind as many as are told one by one.
    pub(super) fn add_count(&mut self, code: &'static str, more: usize) {
        *self.counts.entry(code).or_insert(0) += more;
    }

    /// Nothing, or the errors.
    pub(super) fn into_result(mut self) -> Result<(), Vec<DrawingError>> {
        for (code, count) in &self.counts {
            if *count > MOST_TOLD {
                self.told.push(DrawingError::More {
                    file: self.file.to_owned(),
                    code,
                    count: count - MOST_TOLD,
                });
            }
        }
        if self.told.is_empty() {
            Ok(())
        } else {
            Err(self.told)
        }
    }
}
