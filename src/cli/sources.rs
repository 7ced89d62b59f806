//! Texts that faults point into, and how their files are called on the terminal.
//!
//! A job names its files relative to its own folder; the user typed the job's path relative to the working folder. Shown
//! is the path that leads there from the working folder, so that it can be opened as it stands.

use std::collections::BTreeMap;
use std::path::Path;

/// Texts by the name that faults give them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sources {
    folder: String,
    texts: BTreeMap<String, String>,
    /// Names whose files are called otherwise, with the path to show.
    elsewhere: BTreeMap<String, String>,
}

impl Sources {
    /// None so far; names are relative to this folder, as the user typed it.
    pub(crate) fn new(folder: &Path) -> Self {
        Self {
            folder: folder.display().to_string(),
            texts: BTreeMap::new(),
            elsewhere: BTreeMap::new(),
        }
    }

    /// Keeps a text.
    pub(crate) fn insert(&mut self, name: &str, text: String) {
        self.texts.insert(name.to_owned(), text);
    }

    /// Keeps the text of a name whose file lies at this path.
    pub(crate) fn insert_at(&mut self, name: &str, path: &Path, text: String) {
        self.insert(name, text);
        let path = path.display().to_string();
        self.elsewhere.insert(name.to_owned(), path);
    }

    /// The text of a name.
    pub(crate) fn text(&self, name: &str) -> Option<&str> {
        self.texts.get(name).map(String::as_str)
    }

    /// The path to show for a name.
    pub(crate) fn shown(&self, name: &str) -> String {
        if let Some(path) = self.elsewhere.get(name) {
            path.clone()
        } else if self.folder.is_empty() || name.starts_with('/') {
            name.to_owned()
        } else {
            Path::new(&self.folder).join(name).display().to_string()
        }
    }
}
