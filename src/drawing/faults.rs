//! Faults gathered: of each code the first few one by one, the others as a number.

use std::collections::BTreeMap;

use crate::drawing::error::DrawingError;
use crate::format::shown::MOST_TOLD;

/// What is wrong with a drawing.
pub(super) struct Faults<'a> {
    file: &'a str,
    told: Vec<DrawingError>,
    counts: BTreeMap<&'static str, usize>,
    /// Whether there may be more than were counted.
    unknown: bool,
}

impl<'a> Faults<'a> {
    /// None yet.
    pub(super) const fn new(file: &'a str) -> Self {
        Self {
            file,
            told: Vec::new(),
            counts: BTreeMap::new(),
            unknown: false,
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

    /// Adds one whose making takes time: it is made if it is told. Without a code it always is.
    pub(super) fn push_with(
        &mut self,
        code: Option<&'static str>,
        error: impl FnOnce() -> DrawingError,
    ) {
        match code {
            Some(code) if self.counts.get(code).is_some_and(|n| *n >= MOST_TOLD) => {
                self.add_count(code, 1);
            }
            _ => self.push(error()),
        }
    }

    /// There may be more than are added: the numbers are told as the least.
    pub(super) const fn add_unknown(&mut self) {
        self.unknown = true;
    }

    /// Adds those of a code that nobody kept, behind as many as are told one by one.
    pub(super) fn add_count(&mut self, code: &'static str, more: usize) {
        *self.counts.entry(code).or_insert(0) += more;
    }

    /// Nothing, or the errors.
    pub(super) fn into_result(self) -> Result<(), Vec<DrawingError>> {
        let errors = self.into_errors();
        if errors.is_empty() {
            Ok(())
        } else {
            Err(errors)
        }
    }

    /// The errors.
    pub(super) fn into_errors(mut self) -> Vec<DrawingError> {
        for (code, count) in &self.counts {
            if *count > MOST_TOLD {
                self.told.push(DrawingError::More {
                    file: self.file.to_owned(),
                    code,
                    count: count - MOST_TOLD,
                    least: self.unknown,
                });
            }
        }
        self.told
    }
}
