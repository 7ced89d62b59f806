//! Reading typed values from a parsed TOML file, gathering every fault instead of stopping at the first.
//!
//! In: tables with the place of each key. Out: values in mm, or nothing where there is none or it is wrong. A wrong value
//! leaves its fault here and reads as absent; whoever needs it asks `Table::has` before it calls it missing, so one fault
//! is said once.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use crate::job::error::JobError;
use crate::job::files::Files;
use crate::job::limits::{Limit, Limits, Most};
use crate::job::places::{Places, join};
use crate::model::fault::{Fault, Place};
use crate::model::finding::Finding;

/// Farthest that a misspelt word may be from the one that is meant, in edits.
const NEAR_EDITS: usize = 2;

/// What is read, and what was found wrong so far.
pub(crate) struct Walk<'f> {
    /// The file that is being read.
    pub(crate) file: String,
    /// What a number without a unit is in mm.
    pub(crate) bare_mm: f64,
    /// How much may be asked for.
    pub(crate) limits: Limits,
    /// Faults so far.
    pub(crate) faults: Vec<Fault>,
    /// Doubts so far.
    pub(crate) findings: Vec<Finding>,
    /// Places of all keys.
    pub(crate) places: Places,
    /// Files that the job names.
    pub(crate) files: Files<'f>,
}

/// A table, and where it is.
#[derive(Clone)]
pub(crate) struct Table<'a> {
    entries: &'a DeTable<'a>,
    /// The keys that it may have.
    known: &'static [&'static str],
    /// Its path.
    pub(crate) path: String,
    /// Its bytes.
    span: Range<usize>,
}

/// A value, and where it is.
#[derive(Clone)]
pub(crate) struct Item<'a> {
    pub(super) value: &'a DeValue<'a>,
    /// Its path.
    pub(crate) path: String,
    /// Its bytes.
    span: Range<usize>,
}

impl<'a> Table<'a> {
    /// Whether a key stands in it, right or wrong.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Whether an unknown key stands in it that is told to be meant as this one.
    fn has_misspelt(&self, key: &str) -> bool {
        let meant = |other: &str| {
            !self.known.contains(&other) && nearest(other, self.known.iter().copied()) == Some(key)
        };
        self.entries.keys().any(|other| meant(other.get_ref()))
    }

    /// The value of a key.
    pub(crate) fn get(&self, key: &str) -> Option<Item<'a>> {
        let value = self.entries.get(key)?;
        Some(Item {
            value: value.get_ref(),
            path: join(&self.path, key),
            span: value.span(),
        })
    }

    /// The table in words: `[grid]`, `[[layer]] 2`, `` `blank.shape` ``.
    fn words(&self, file: &str) -> String {
        let parts: Vec<&str> = self.path.split('.').collect();
        let number = |text: &str| text.parse::<usize>().ok().map(|n| n + 1);
        match parts.as_slice() {
            [""] => file.to_owned(),
            [name] => format!("[{name}]"),
            [name, index] if number(index).is_some() => {
                format!("[[{name}]] {}", number(index).unwrap_or(0))
            }
            _ => format!("`{}`", self.path),
        }
    }
}

impl<'a> Item<'a> {
    /// The last part of its path that is a name.
    pub(super) fn name(&self) -> String {
        let named = self
            .path
            .rsplit('.')
            .find(|part| part.parse::<usize>().is_err());
        named.unwrap_or(&self.path).to_owned()
    }

    /// Whether it is a text.
    pub(crate) fn is_text(&self) -> bool {
        self.value.is_str()
    }

    /// Whether it is a list without entries.
    pub(crate) fn is_empty_list(&self) -> bool {
        matches!(self.value, DeValue::Array(items) if items.is_empty())
    }

    fn kind(&self) -> &'static str {
        match self.value {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        }
    }
}

impl Walk<'_> {
    /// The bytes of the current file as a place.
    pub(crate) fn place(&self, span: Range<usize>) -> Place {
        Place::Span {
            file: self.file.clone(),
            span,
        }
    }

    /// Takes a fault at an item.
    pub(crate) fn fault(&mut self, error: &JobError, item: &Item<'_>) {
        let fault = error.fault(self.place(item.span.clone()));
        self.faults.push(fault);
    }

    /// Takes a fault at a key path.
    pub(crate) fn fault_at(&mut self, error: &JobError, path: &str) {
        let fault = error.fault(self.places.of(path));
        self.faults.push(fault);
    }

    /// The root table of a parsed file, its keys checked.
    pub(crate) fn root<'a>(
        &mut self,
        entries: &'a DeTable<'a>,
        keys: &'static [&'static str],
    ) -> Table<'a> {
        let table = Table {
            entries,
            known: keys,
            path: String::new(),
            span: 0..0,
        };
        self.check_keys(&table);
        table
    }

    /// A table under a key, its keys checked.
    pub(crate) fn table<'a>(
        &mut self,
        parent: &Table<'a>,
        key: &str,
        keys: &'static [&'static str],
    ) -> Option<Table<'a>> {
        self.as_table(parent.get(key)?, keys)
    }

    fn as_table<'a>(&mut self, item: Item<'a>, keys: &'static [&'static str]) -> Option<Table<'a>> {
        let DeValue::Table(entries) = item.value else {
            return self.wrong_type(&item, "a table");
        };
        let table = Table {
            entries,
            known: keys,
            path: item.path,
            span: item.span,
        };
        self.check_keys(&table);
        Some(table)
    }

    /// A list of tables under a key; those that are none are told and left out.
    pub(crate) fn tables<'a>(
        &mut self,
        parent: &Table<'a>,
        key: &str,
        keys: &'static [&'static str],
        most: impl Into<Most>,
    ) -> Vec<Table<'a>> {
        let Some(item) = parent.get(key) else {
            return Vec::new();
        };
        let items = if item.value.is_table() {
            self.wrong_type(&item, "a list of tables, `[[ ]]`")
                .unwrap_or_default()
        } else {
            self.list(&item, most)
        };
        items
            .into_iter()
            .filter_map(|item| self.as_table(item, keys))
            .collect()
    }

    fn check_keys(&mut self, table: &Table<'_>) {
        let known = table.known;
        for (key, _) in table.entries {
            let name = key.get_ref().as_ref();
            if !known.contains(&name) {
                let error = JobError::UnknownKey {
                    key: name.to_owned(),
                    table: table.words(&self.file),
                    nearest: nearest(name, known.iter().copied()),
                    known,
                };
                let fault = error.fault(self.place(key.span()));
                self.faults.push(fault);
            }
        }
    }

    /// Says that a key is missing, unless it is there and wrong, or misspelt and told as such.
    pub(crate) fn need(&mut self, table: &Table<'_>, keys: &[&str], hint: &'static str) {
        if keys
            .iter()
            .any(|key| table.has(key) || table.has_misspelt(key))
        {
            return;
        }
        let error = JobError::Missing {
            key: keys.join("` or `"),
            table: table.words(&self.file),
            hint,
        };
        let place = if table.path.is_empty() {
            Place::File(self.file.clone())
        } else {
            self.place(table.span.clone())
        };
        self.faults.push(error.fault(place));
    }

    /// Says that two keys exclude one another, where both are there.
    pub(crate) fn not_both(
        &mut self,
        table: &Table<'_>,
        first: &str,
        second: &str,
        hint: &'static str,
    ) {
        let (Some(a), Some(b)) = (table.get(first), table.get(second)) else {
            return;
        };
        let error = JobError::Both {
            first: first.to_owned(),
            second: second.to_owned(),
            table: table.words(&self.file),
            hint,
        };
        let (earlier, later) = if a.span.start < b.span.start {
            (&a, &b)
        } else {
            (&b, &a)
        };
        let mut fault = error.fault(self.place(later.span.clone()));
        fault.label = String::from("either this");
        fault
            .also
            .push((self.place(earlier.span.clone()), String::from("or this")));
        self.faults.push(fault);
    }

    /// Says that a key has no effect, where it is there.
    pub(crate) fn idle(&mut self, table: &Table<'_>, key: &str, why: &str) {
        if let Some(item) = table.get(key) {
            self.fault(
                &JobError::Idle {
                    key: key.to_owned(),
                    why: why.to_owned(),
                },
                &item,
            );
        }
    }

    /// Says that a value is of another type.
    pub(crate) fn wrong_type<T>(&mut self, item: &Item<'_>, wanted: &'static str) -> Option<T> {
        self.fault(
            &JobError::WrongType {
                key: item.name(),
                wanted,
                found: item.kind(),
            },
            item,
        );
        None
    }

    /// Says that a value lies out of its range.
    pub(super) fn out_of_range<T>(
        &mut self,
        item: &Item<'_>,
        value: String,
        range: String,
    ) -> Option<T> {
        self.out_of_reach(item, value, range, None)
    }

    /// The same, of a range whose upper end may be one that can be lifted.
    pub(super) fn out_of_reach<T>(
        &mut self,
        item: &Item<'_>,
        value: String,
        range: String,
        above: Option<(Most, u64)>,
    ) -> Option<T> {
        self.fault(
            &JobError::Range {
                key: item.name(),
                value,
                range,
                above,
            },
            item,
        );
        None
    }

    /// The items of a list.
    pub(crate) fn list<'a>(&mut self, item: &Item<'a>, most: impl Into<Most>) -> Vec<Item<'a>> {
        let most = most.into();
        let DeValue::Array(items) = item.value else {
            return self.wrong_type(item, "a list").unwrap_or_default();
        };
        if items.len() > most.count {
            self.fault(
                &JobError::TooMany {
                    what: "entries",
                    n: items.len(),
                    most,
                },
                item,
            );
            return Vec::new();
        }
        let entry = |(i, v): (usize, &'a toml::Spanned<DeValue<'a>>)| Item {
            value: v.get_ref(),
            path: join(&item.path, &i.to_string()),
            span: v.span(),
        };
        items.iter().enumerate().map(entry).collect()
    }

    /// A text.
    pub(crate) fn text(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let item = table.get(key)?;
        self.as_text(&item)
    }

    pub(crate) fn as_text(&mut self, item: &Item<'_>) -> Option<String> {
        match item.value {
            DeValue::String(text) => Some(text.clone().into_owned()),
            _ => self.wrong_type(item, "a text in quotes"),
        }
    }

    /// A name: not empty, of bounded length, without control characters.
    pub(crate) fn name(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let item = table.get(key)?;
        let text = self.as_text(&item)?;
        let length = text.chars().count();
        let most = self.limits.most(Limit::NameLength);
        let why = match () {
            () if text.trim().is_empty() => String::from("it is empty"),
            () if length > most.count => {
                let key = key.to_owned();
                self.fault(&JobError::LongName { key, length, most }, &item);
                return None;
            }
            () if text.chars().any(char::is_control) => {
                String::from("it holds a control character")
            }
            () => return Some(text),
        };
        self.fault(
            &JobError::Name {
                key: key.to_owned(),
                why,
            },
            &item,
        );
        None
    }

    /// One of a few words.
    pub(crate) fn word<T: Copy>(
        &mut self,
        table: &Table<'_>,
        key: &str,
        words: &[(&'static str, T)],
    ) -> Option<T> {
        let item = table.get(key)?;
        self.as_word(&item, words)
    }

    pub(crate) fn as_word<T: Copy>(
        &mut self,
        item: &Item<'_>,
        words: &[(&'static str, T)],
    ) -> Option<T> {
        let text = self.as_text(item)?;
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == text) {
            return Some(*value);
        }
        let list: Vec<String> = words.iter().map(|(word, _)| format!("`{word}`")).collect();
        let near = nearest(&text, words.iter().map(|(word, _)| *word)).map(str::to_owned);
        self.fault(
            &JobError::Word {
                key: item.name(),
                value: text,
                words: list.join(", "),
                nearest: near,
            },
            item,
        );
        None
    }

    /// `true` or `false`.
    pub(crate) fn flag(&mut self, table: &Table<'_>, key: &str) -> Option<bool> {
        let item = table.get(key)?;
        match item.value {
            DeValue::Boolean(value) => Some(*value),
            _ => self.wrong_type(&item, "true or false"),
        }
    }
}

/// The nearest of some words, where it is near enough to be meant; the first of equally near ones.
pub(crate) fn nearest<'w>(word: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    near(word, words).first().copied()
}

/// The words that are near enough to be meant, the nearest first, equally near ones in their order.
pub(crate) fn near<'w>(word: &str, words: impl Iterator<Item = &'w str>) -> Vec<&'w str> {
    let lower = word.to_lowercase();
    let mut near: Vec<(usize, &str)> = words
        .map(|w| (strsim::damerau_levenshtein(&lower, &w.to_lowercase()), w))
        .filter(|(edits, w)| *edits <= NEAR_EDITS && *edits < w.chars().count())
        .collect();
    near.sort_by_key(|(edits, _)| *edits);
    near.into_iter().map(|(_, w)| w).collect()
}
