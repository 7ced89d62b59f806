//! Faults of the input, with their place: what stops the work with exit status 2.

/// Where a fault lies.
#[derive(Clone, Debug, PartialEq)]
pub enum Place {
    /// A file as a whole, or a place in it that the message tells (an entity, a byte).
    File(String),
    /// A byte range of a text file.
    Span {
        /// The file's name as the user typed it or the job names it.
        file: String,
        /// Bytes of the text.
        span: std::ops::Range<usize>,
    },
    /// A key of the job, as a path: `grid.columns`, `layer.2.features`, `bed.locating.0`. `job` turns it into a span.
    Key(String),
    /// Nowhere: a command line, an environment.
    None,
}

/// One fault of the input.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Stable code: the stage's letter (J job, D drawing, F fixture, S seam, K stock, N nest, C cut, O output), three digits.
    pub code: &'static str,
    /// What is wrong, with figures.
    pub what: String,
    /// Where.
    pub place: Place,
    /// What stands under the caret.
    pub label: String,
    /// A second place that explains the first, with its text.
    pub also: Vec<(Place, String)>,
    /// What to do.
    pub hint: Option<String>,
}

impl Fault {
    /// A fault at a place.
    pub fn new(code: &'static str, what: impl Into<String>, place: Place) -> Self {
        Self {
            code,
            what: what.into(),
            place,
            label: String::new(),
            also: Vec::new(),
            hint: None,
        }
    }

    /// The same with a text under the caret.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// The same with a remedy.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}
