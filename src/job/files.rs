//! The files that a job names: each read once, kept as it was read, drawings turned into regions.
//!
//! In: a function that gives the bytes of a named file. Out: texts, regions, and the list of inputs with the path under
//! which each is kept: relative paths stay, what lies outside the job's folder gets a number and its name.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::drawing::{self, Drawing, DrawingOptions};
use crate::geometry::region::Region;
use crate::job::error::{JobError, ReadFault};
use crate::job::limits::Limit;
use crate::job::reader::{Item, Table, Walk};
use crate::model::fault::{Fault, Place};

/// Gives the bytes of a file by its path relative to the job's folder.
pub type Reading<'f> = &'f dyn Fn(&str) -> Result<Vec<u8>, ReadFault>;

/// A drawing; `None` where it was refused before.
type Drawn = Option<Arc<Drawing>>;

/// What has been read.
pub(crate) struct Files<'f> {
    read: Reading<'f>,
    /// By path: the bytes, or why there are none.
    bytes: BTreeMap<String, Result<Arc<Vec<u8>>, ReadFault>>,
    /// By path and layer.
    drawings: BTreeMap<(String, Option<String>), Drawn>,
    /// Path kept under, and bytes, in the order of reading.
    inputs: Vec<(String, Vec<u8>)>,
}

impl<'f> Files<'f> {
    /// Nothing read but the job itself.
    pub(crate) fn new(job_name: &str, job_text: &str, read: Reading<'f>) -> Self {
        let name = job_name.rsplit('/').next().unwrap_or(job_name).to_owned();
        Self {
            read,
            bytes: BTreeMap::new(),
            drawings: BTreeMap::new(),
            inputs: vec![(name, job_text.as_bytes().to_vec())],
        }
    }

    /// The inputs: path kept under, and bytes.
    pub(crate) fn into_inputs(self) -> Vec<(String, Vec<u8>)> {
        self.inputs
    }

    fn bytes(&mut self, path: &str) -> Result<Arc<Vec<u8>>, ReadFault> {
        if let Some(known) = self.bytes.get(path) {
            return known.clone();
        }
        let result = (self.read)(path).map(Arc::new);
        if let Ok(bytes) = &result {
            let kept = self.kept_name(path);
            self.inputs.push((kept, bytes.as_ref().clone()));
        }
        self.bytes.insert(path.to_owned(), result.clone());
        result
    }

    /// The path under which a file is kept: its own where that stays inside, else a number and its name.
    fn kept_name(&self, path: &str) -> String {
        let free = |name: &str| {
            self.inputs
                .iter()
                .all(|(kept, _)| !kept.eq_ignore_ascii_case(name))
        };
        if !is_outside(path) && free(path) {
            return path.to_owned();
        }
        let name = path.rsplit('/').next().unwrap_or("file");
        (1..)
            .map(|n| format!("{n}-{name}"))
            .find(|name| free(name))
            .unwrap_or_default()
    }
}

/// Whether a tidied path leads out of the job's folder.
fn is_outside(path: &str) -> bool {
    path.starts_with('/')
        || path == ".."
        || path.starts_with("../")
        || path.as_bytes().get(1) == Some(&b':')
}

/// The path without `.`, doubled `/`, and `x/..`; what leads outside keeps its leading `..`.
fn tidy(path: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." if parts.last().is_some_and(|last| *last != "..") => {
                parts.pop();
            }
            part => parts.push(part),
        }
    }
    let lead = if path.starts_with('/') { "/" } else { "" };
    format!("{lead}{}", parts.join("/"))
}

/// The path of a file that is named in another one: relative to that one's folder.
pub(crate) fn beside(file: &str, path: &str) -> String {
    match file.rsplit_once('/') {
        Some((folder, _)) if !path.starts_with('/') => tidy(&format!("{folder}/{path}")),
        _ => tidy(path),
    }
}

impl Walk<'_> {
    /// The path under a key, relative to the job's folder; `base` is the file that names it, relative to the same.
    pub(crate) fn path(
        &mut self,
        table: &Table<'_>,
        key: &str,
        base: &str,
    ) -> Option<(String, String)> {
        let item = table.get(key)?;
        let written = self.as_text(&item)?;
        if written.trim().is_empty()
            || written.contains('\\')
            || written.chars().any(char::is_control)
        {
            self.fault(&JobError::Path { path: written }, &item);
            return None;
        }
        let path = beside(base, &written);
        Some((written, path))
    }

    /// The text of a file.
    pub(crate) fn read_text(&mut self, item: &Item<'_>, path: &str) -> Option<String> {
        let bytes = self.read_bytes(item, path)?;
        let most = self.limits.most(Limit::TomlBytes);
        if bytes.len() > most.count {
            self.fault(
                &JobError::LongText {
                    path: path.to_owned(),
                    bytes: bytes.len(),
                    most,
                },
                item,
            );
            return None;
        }
        match std::str::from_utf8(&bytes) {
            Ok(text) => Some(text.to_owned()),
            Err(error) => {
                self.fault(
                    &JobError::NotText {
                        path: path.to_owned(),
                        at: error.valid_up_to(),
                    },
                    item,
                );
                None
            }
        }
    }

    fn read_bytes(&mut self, item: &Item<'_>, path: &str) -> Option<Arc<Vec<u8>>> {
        match self.files.bytes(path) {
            Ok(bytes) => Some(bytes),
            Err(fault) => {
                self.fault(
                    &JobError::File {
                        path: path.to_owned(),
                        fault,
                    },
                    item,
                );
                None
            }
        }
    }

    /// The drawing under `drawing`, of one of its layers where a name is given.
    pub(crate) fn drawing(
        &mut self,
        table: &Table<'_>,
        layer: Option<&str>,
        base: &str,
    ) -> Option<Arc<Drawing>> {
        let item = table.get("drawing")?;
        let (_, path) = self.path(table, "drawing", base)?;
        let bytes = self.read_bytes(&item, &path)?;
        let key = (path.clone(), layer.map(str::to_owned));
        if let Some(known) = self.files.drawings.get(&key) {
            return known.clone();
        }
        let options = DrawingOptions {
            layer,
            bare_unit_mm: self.bare_mm,
            limits: self.limits.drawings,
        };
        let drawn = match drawing::read(&path, &bytes, options) {
            Ok(drawing) => {
                self.findings.extend(drawing.findings.iter().cloned());
                Some(Arc::new(drawing))
            }
            Err(errors) => {
                let asked = self.places.of(&item.path);
                self.faults
                    .extend(errors.iter().map(|error| asked_for(error.fault(), &asked)));
                None
            }
        };
        self.files.drawings.insert(key, drawn.clone());
        drawn
    }

    /// The same, where one region is wanted.
    pub(crate) fn one_region(
        &mut self,
        table: &Table<'_>,
        layer: Option<&str>,
        base: &str,
        what: &'static str,
    ) -> Option<Region> {
        let drawn = self.drawing(table, layer, base)?;
        if let [region] = drawn.regions.as_slice() {
            return Some(region.clone());
        }
        let item = table.get("drawing")?;
        let path = self.as_text(&item)?;
        self.fault(
            &JobError::Shapes {
                path,
                n: drawn.regions.len(),
                what,
            },
            &item,
        );
        None
    }
}

/// A drawing's fault with the key that asked for the drawing.
fn asked_for(mut fault: Fault, asked: &Place) -> Fault {
    fault
        .also
        .push((asked.clone(), String::from("asked for here")));
    fault
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_tidied_without_leaving_what_they_leave() {
        for (path, tidied) in [
            ("a/b.dxf", "a/b.dxf"),
            ("./a//b.dxf", "a/b.dxf"),
            ("a/../b.dxf", "b.dxf"),
            ("../b.dxf", "../b.dxf"),
            ("a/../../b.dxf", "../b.dxf"),
            ("../../b.dxf", "../../b.dxf"),
            ("/etc/../x", "/x"),
        ] {
            assert_eq!(tidy(path), tidied, "{path}");
        }
        assert_eq!(beside("stock/mine.toml", "offcut.dxf"), "stock/offcut.dxf");
        assert_eq!(beside("stock.toml", "offcut.dxf"), "offcut.dxf");
    }

    #[test]
    fn what_lies_outside_is_kept_under_a_number_and_its_name() {
        let read = |_: &str| Ok(Vec::new());
        let mut files = Files::new("tray/job.toml", "", &read);
        for path in ["sub/a.dxf", "../a.dxf", "/elsewhere/a.dxf", "Job.toml"] {
            assert!(files.bytes(path).is_ok());
        }
        let names: Vec<String> = files
            .into_inputs()
            .into_iter()
            .map(|(name, _)| name)
            .collect();
        assert_eq!(
            names,
            ["job.toml", "sub/a.dxf", "1-a.dxf", "2-a.dxf", "1-Job.toml"]
        );
    }
}
