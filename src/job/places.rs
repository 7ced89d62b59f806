//! Where each key of the job and its stock file stands, so that later stages can name a key and the user sees a place.
//!
//! In: tables as they were parsed. Out: for a key path (`grid.columns`, `layer.2.kerf`, `sheet.0.size`) the file and the
//! bytes of its value. A path whose key is not in the file leads to the nearest table that holds it.

use std::collections::BTreeMap;
use std::ops::Range;

use toml::de::{DeTable, DeValue};

use crate::model::fault::Place;

/// Key paths and their places.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    files: Vec<String>,
    values: BTreeMap<String, (usize, Range<usize>)>,
}

impl Places {
    /// Takes in all keys of a file's root table.
    pub(crate) fn register(&mut self, file: &str, root: &DeTable<'_>) {
        self.files.push(file.to_owned());
        self.table("", root);
    }

    fn table(&mut self, path: &str, table: &DeTable<'_>) {
        for (key, value) in table {
            let path = join(path, key.get_ref());
            self.value(path, value.get_ref(), value.span());
        }
    }

    fn value(&mut self, path: String, value: &DeValue<'_>, span: Range<usize>) {
        match value {
            DeValue::Table(table) => self.table(&path, table),
            DeValue::Array(items) => {
                for (i, item) in items.iter().enumerate() {
                    self.value(join(&path, &i.to_string()), item.get_ref(), item.span());
                }
            }
            _ => {}
        }
        self.values.insert(path, (self.files.len() - 1, span));
    }

    /// The place of a key, or of the nearest table around it; the job as a whole where there is none.
    pub fn of(&self, path: &str) -> Place {
        let mut path = path;
        loop {
            if let Some((file, span)) = self.values.get(path) {
                return Place::Span {
                    file: self.files[*file].clone(),
                    span: span.clone(),
                };
            }
            match path.rsplit_once('.') {
                Some((parent, _)) => path = parent,
                None => {
                    return self
                        .files
                        .first()
                        .map_or(Place::None, |file| Place::File(file.clone()));
                }
            }
        }
    }

    /// Whether a key stands in the file.
    pub fn has(&self, path: &str) -> bool {
        self.values.contains_key(path)
    }

    /// A place with its key, where it is one, turned into a span.
    pub fn fault_place(&self, place: &Place) -> Place {
        match place {
            Place::Key(path) => self.of(path),
            other => other.clone(),
        }
    }

    /// Where a file comes in the order of reading; files that are no job or stock file come last.
    pub fn file_order(&self, file: &str) -> usize {
        self.files
            .iter()
            .position(|f| f == file)
            .unwrap_or(self.files.len())
    }
}

/// `a.b`, or `b` where `a` is empty.
pub(crate) fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}
