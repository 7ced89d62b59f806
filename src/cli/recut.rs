//! What `recut` reads: a plan's folder, and the stock to cut from.

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use seamwright::disk::{self, MOST_BYTES, MOST_PLAN_BYTES, Reader};
use seamwright::error::Error;
use seamwright::job::{error::ReadFault, limits::Limit};
use seamwright::model::fault::{Fault, Place};
use seamwright::pipeline::{PLAN_NAME, STOCK_NAME};

use crate::cli::arguments::{Recut, Run};
use crate::cli::sources::Sources;

/// A plan's folder and a stock file.
pub(crate) struct Folder {
    /// The folder, as typed.
    path: PathBuf,
    /// The text of its `plan.json`.
    pub(crate) plan: String,
    /// The text of the stock file.
    pub(crate) stock: String,
    /// The stock file.
    pub(crate) stock_path: PathBuf,
    inputs: Reader,
    beside: Reader,
    /// Bytes of the largest file that is kept for messages.
    most_text: usize,
    /// Texts for messages.
    pub(crate) sources: RefCell<Sources>,
}

impl Folder {
    /// Reads plan and stock; all faults of that come with the sources that their messages need.
    pub(crate) fn open(recut: &Recut) -> Result<Self, (Error, Sources)> {
        let inputs = recut.out.join("inputs");
        let plan_path = recut.out.join("plan.json");
        let own = || recut.out.join("stock-after.toml");
        let stock_path = recut.stock.clone().unwrap_or_else(own);
        let mut sources = Sources::new(&inputs);
        let hint = "name a folder that `plan` wrote";
        let plan = text(&plan_path, MOST_PLAN_BYTES, PLAN_NAME, ("plan", hint));
        let hint = "name a stock file with `--stock FILE`";
        let stock = text(&stock_path, MOST_BYTES, STOCK_NAME, ("stock", hint));
        let text_of = |read: &Result<String, Box<Fault>>| read.clone().unwrap_or_default();
        sources.insert_at(PLAN_NAME, &plan_path, String::new());
        sources.insert_at(STOCK_NAME, &stock_path, text_of(&stock));
        let (plan, stock) = match (plan, stock) {
            (Ok(plan), Ok(stock)) => (plan, stock),
            (plan, stock) => {
                let faults = [plan.err(), stock.err()].into_iter().flatten().map(|f| *f);
                return Err((Error::Faults(faults.collect()), sources));
            }
        };
        let limits = recut.reading.limits();
        let root = recut.reading.root.as_deref();
        let folder = stock_path.parent().unwrap_or(Path::new(""));
        Ok(Self {
            inputs: Reader::new(&inputs, None).admitting(limits.drawings.bytes),
            beside: Reader::new(folder, root).admitting(limits.drawings.bytes),
            most_text: limits.of(Limit::TomlBytes),
            path: recut.out.clone(),
            sources: RefCell::new(sources),
            plan,
            stock,
            stock_path,
        })
    }

    /// Reads one of the plan's inputs.
    pub(crate) fn read(&self, name: &str) -> Result<Vec<u8>, ReadFault> {
        let bytes = self.inputs.read(name)?;
        // Only TOML is pointed into.
        if bytes.len() <= self.most_text
            && let Ok(text) = std::str::from_utf8(&bytes)
        {
            self.sources.borrow_mut().insert(name, text.to_owned());
        }
        Ok(bytes)
    }

    /// Reads a drawing that the stock file names.
    pub(crate) fn read_beside(&self, name: &str) -> Result<Vec<u8>, ReadFault> {
        self.beside.read(name)
    }

    /// The folder to write: the one named, or the plan's name with `-recut` behind.
    pub(crate) fn target(&self, run: &Run) -> Result<PathBuf, Error> {
        if let Some(out) = &run.output {
            return Ok(out.clone());
        }
        let whole = self.path.canonicalize();
        // `.` and `..` have no name of their own.
        let path = match self.path.file_name() {
            Some(_) => self.path.clone(),
            None => whole.unwrap_or_else(|_| self.path.clone()),
        };
        let name = path.file_name().ok_or_else(|| Error::Output {
            what: format!("{} has no folder beside it", self.path.display()),
            hint: "name the folder to write with `-o`".to_owned(),
        })?;
        let mut name = name.to_owned();
        name.push("-recut");
        Ok(path.with_file_name(name))
    }
}

fn text(
    path: &Path,
    most: u64,
    name: &str,
    (what, hint): (&str, &str),
) -> Result<String, Box<Fault>> {
    let fault = |why: String| {
        let told = format!("the {what} cannot be read: {why}");
        Box::new(Fault::new("J032", told, Place::File(name.to_owned())).hint(hint))
    };
    let bytes = disk::read_regular(path, most).map_err(|e| fault(e.to_string()))?;
    String::from_utf8(bytes).map_err(|_| fault("it is no text".to_owned()))
}
