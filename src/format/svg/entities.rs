//! What the entities of a document type grow to.
//!
//! In: the text of a file. Out: nothing, or an error before a kilobyte has become a gigabyte. Only entities with a value in
//! the file count; those that lie in other files are never opened, and the XML reader refuses what refers to them.

use std::collections::{BTreeMap, BTreeSet};

use crate::format::shown::shown;
use crate::format::svg::error::SvgError;

/// Most bytes that references may grow to: editors write a few name spaces as entities, some hundred bytes each.
const MOST_BYTES: u64 = 8 << 20;

/// Most times the file that they may grow to, so that small files stay small.
const MOST_TIMES: u64 = 100;

/// Levels of entities inside of entities. No option raises it, as it is the XML reader's own: a drawing program writes one.
const MOST_LEVELS: usize = 10;

/// Levels that are looked through for entities that hold themselves: each takes room on the stack.
const MOST_FOLLOWED: usize = 64;

/// What an entity comes to.
#[derive(Clone, Copy, Default)]
struct Grown {
    /// The weights of it and of those that it refers to.
    weight: u64,
    /// How deep those lie in it, itself counted.
    levels: usize,
}

/// Checks the entities of a file, which may grow to `most` bytes where those are given; those that hold themselves, an
/// `EntityCycle` for each, are given back.
///
/// # Errors
/// `Entities`, `EntityLevels`.
pub(super) fn check(text: &str, most: Option<u64>) -> Result<Vec<SvgError>, SvgError> {
    if !text.contains("<!ENTITY") {
        return Ok(Vec::new());
    }
    let values = declared(text);
    let weights = values
        .iter()
        .map(|(name, value)| (*name, value.len() as u64));
    let mut sizes = Sizes::new(&values, weights.collect());
    let grown = sizes.of_all(text)?;
    if !sizes.cycles.is_empty() {
        let cycle = |name: &str| SvgError::EntityCycle { name: shown(name) };
        return Ok(sizes.cycles.into_iter().map(cycle).collect());
    }
    let limit = most.unwrap_or(MOST_BYTES.min(MOST_TIMES * text.len() as u64));
    if grown > limit {
        return Err(SvgError::Entities { grown, limit });
    }
    Ok(Vec::new())
}

/// The sum of weights of all entities that a text and what it refers to refer to, each as often as it is referred to.
///
/// # Errors
/// `EntityLevels`.
pub(super) fn weigh<'a>(
    text: &str,
    values: &BTreeMap<&'a str, &'a str>,
    weights: BTreeMap<&'a str, u64>,
) -> Result<u64, SvgError> {
    Sizes::new(values, weights).of_all(text)
}

/// Whether an entity, named in a text or in its document type, is declared to lie in another file.
pub(super) fn lies_outside(text: &str, name: &str) -> bool {
    text.split("<!ENTITY").skip(1).any(|part| {
        let mut words = part.split_whitespace().peekable();
        words.next_if_eq(&"%");
        words.next() == Some(name) && matches!(words.next(), Some("SYSTEM" | "PUBLIC"))
    })
}

/// Names and values.
pub(super) fn declared(text: &str) -> BTreeMap<&str, &str> {
    let mut out = BTreeMap::new();
    for part in text.split("<!ENTITY").skip(1) {
        let part = part.trim_start();
        let Some(end) = part.find(|c: char| c.is_whitespace()) else {
            continue;
        };
        let (name, rest) = part.split_at(end);
        let rest = rest.trim_start();
        let quote = rest.chars().next().filter(|c| *c == '"' || *c == '\'');
        if let Some(quote) = quote
            && let Some(length) = rest[1..].find(quote)
        {
            // The first of a name counts.
            out.entry(name).or_insert(&rest[1..=length]);
        }
    }
    out
}

/// The names after `&`.
fn references(text: &str) -> impl Iterator<Item = &str> {
    text.split('&').skip(1).filter_map(|part| {
        let end = part.find(';')?;
        Some(&part[..end])
    })
}

/// Weights of entities, with those that they refer to.
struct Sizes<'a, 'v> {
    values: &'v BTreeMap<&'a str, &'a str>,
    own: BTreeMap<&'a str, u64>,
    known: BTreeMap<&'a str, Grown>,
    /// Those being weighed, each inside of the one before.
    open: Vec<&'a str>,
    /// Those that hold themselves.
    cycles: BTreeSet<&'a str>,
}

impl<'a, 'v> Sizes<'a, 'v> {
    fn new(values: &'v BTreeMap<&'a str, &'a str>, own: BTreeMap<&'a str, u64>) -> Self {
        Self {
            values,
            own,
            known: BTreeMap::new(),
            open: Vec::new(),
            cycles: BTreeSet::new(),
        }
    }

    /// Of what a text refers to. Where its document type ends, that type's own text counted once more does no harm.
    fn of_all(&mut self, text: &str) -> Result<u64, SvgError> {
        for name in self.values.keys() {
            self.of(name)?;
        }
        let mut sum = 0_u64;
        for name in references(text) {
            let grown = self.known.get(name).copied().unwrap_or_default();
            if grown.levels > MOST_LEVELS {
                return Err(too_deep(name));
            }
            sum = sum.saturating_add(grown.weight);
        }
        Ok(sum)
    }

    fn of(&mut self, name: &str) -> Result<Grown, SvgError> {
        if let Some(known) = self.known.get(name) {
            return Ok(*known);
        }
        let Some((name, value)) = self.values.get_key_value(name) else {
            return Ok(Grown::default());
        };
        if self.open.contains(name) {
            self.cycles.insert(name);
            return Ok(Grown::default());
        }
        if self.open.len() >= MOST_FOLLOWED {
            return Err(too_deep(name));
        }
        self.open.push(name);
        let weight = self.own.get(name).copied().unwrap_or(0);
        let mut grown = Grown { weight, levels: 1 };
        for inner in references(value) {
            let inner = self.of(inner)?;
            grown.weight = grown.weight.saturating_add(inner.weight);
            grown.levels = grown.levels.max(1 + inner.levels);
        }
        self.open.pop();
        self.known.insert(name, grown);
        Ok(grown)
    }
}

fn too_deep(name: &str) -> SvgError {
    SvgError::EntityLevels {
        name: shown(name),
        limit: MOST_LEVELS,
    }
}
