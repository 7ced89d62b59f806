//! Doubts that do not stop the work.

/// A doubt, shown by the terminal, the plan and the report alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Stable code: the stage's letter and three digits.
    pub code: &'static str,
    /// What is the matter, one sentence with figures and units.
    pub what: String,
    /// Where: a layer, a pocket, a key of the job.
    pub where_: String,
    /// What was measured.
    pub measured: Option<f64>,
    /// What it is held against.
    pub limit: Option<f64>,
    /// What to do about it.
    pub hint: String,
}

impl Finding {
    /// A finding without figures.
    pub fn new(
        code: &'static str,
        what: impl Into<String>,
        where_: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            code,
            what: what.into(),
            where_: where_.into(),
            measured: None,
            limit: None,
            hint: hint.into(),
        }
    }

    /// The same with what was measured and its limit.
    pub fn figures(mut self, measured: f64, limit: f64) -> Self {
        self.measured = Some(measured);
        self.limit = Some(limit);
        self
    }
}
