//! The job of a finished plan, read again as it lies in `inputs/`: with its own stock, and with the one to cut from.
//!
//! Files that lay outside the job's folder are kept under other names than the job gives them, and which is which follows from the
//! order of reading: the same text asks for the same files in the same order. So the job is read with its own stock first.
//! The stock to cut from then takes the place of the job's own, under its name, so that the new folder can be cut from again.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::job::error::ReadFault;
use crate::job::{self, stock_drawings};
use crate::model::fault::{Fault, Place};
use crate::output::plan_told::Told;
use crate::pipeline::recut::{Recutting, STOCK_NAME};

/// Reads the job with its own stock, then with the one to cut from.
pub(super) fn read_twice(
    of: &Recutting<'_>,
    told: &Told,
    overrides: &job::Overrides,
) -> Result<(job::Job, job::Job), Vec<Fault>> {
    let name = told.inputs.first().map_or("job.toml", String::as_str);
    let bytes = (of.inputs)(name).map_err(|e| {
        let fault = format!("the plan's job cannot be read: {e}");
        vec![
            Fault::new("J032", fault, Place::File(name.to_owned()))
                .hint("leave `inputs/` as `plan` wrote it"),
        ]
    })?;
    let text = String::from_utf8_lossy(&bytes);
    let kept: RefCell<BTreeMap<String, String>> = RefCell::default();
    let in_order = |asked: &str| {
        let n = kept.borrow().len() + 1;
        let name = told.inputs.get(n).ok_or(ReadFault::Missing)?;
        kept.borrow_mut().insert(asked.to_owned(), name.clone());
        (of.inputs)(name)
    };
    let first = job::read(name, &text, &in_order, &overrides.limits)?;
    let kept = kept.into_inner();
    let stock_path = match first.places.of("sheet.0.id") {
        Place::Span { file, .. } | Place::File(file) => file,
        Place::Key(_) | Place::None => String::new(),
    };
    let among_inputs = |asked: &str| (of.inputs)(kept.get(asked).ok_or(ReadFault::Missing)?);
    let named = stock_drawings(&stock_path, of.stock);
    if let Some(beside) = of.beside {
        let other = |(written, path): &&(String, String)| matches!((among_inputs(path), beside(written)), (Ok(a), Ok(b)) if a != b);
        let faults: Vec<Fault> = named
            .iter()
            .filter(other)
            .map(|(w, _)| another_drawing(w))
            .collect();
        if !faults.is_empty() {
            return Err(faults);
        }
    }
    let replaced = |asked: &str| {
        if asked == stock_path {
            return Ok(of.stock.as_bytes().to_vec());
        }
        match (of.beside, named.iter().find(|(_, path)| path == asked)) {
            (Some(beside), Some((written, _))) if !kept.contains_key(asked) => beside(written),
            _ => among_inputs(asked),
        }
    };
    let again = job::read(name, &text, &replaced, &overrides.limits);
    let again = again.map_err(|faults| {
        faults
            .into_iter()
            .map(|f| renamed(f, &stock_path))
            .collect::<Vec<_>>()
    })?;
    Ok((first, again))
}

/// A fault whose places in the job's own stock file are those of the stock that took its place.
fn renamed(mut fault: Fault, stock_path: &str) -> Fault {
    let rename = |place: &mut Place| {
        if let Place::Span { file, .. } | Place::File(file) = place
            && file == stock_path
        {
            STOCK_NAME.clone_into(file);
        }
    };
    rename(&mut fault.place);
    fault.also.iter_mut().for_each(|(place, _)| rename(place));
    fault
}

fn another_drawing(written: &str) -> Fault {
    let what = format!(
        "the drawing `{written}` that the stock names is another one than the plan's of that name"
    );
    Fault::new("J033", what, Place::File(STOCK_NAME.to_owned()))
        .hint("give the sheet's drawing another name")
}
