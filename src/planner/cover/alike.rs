//! Tilings of one set of sheets.
//!
//! In: tilings as numbers of columns. Out: those of one set of sheets together. What they use is told once for all of them: they use the same
//! places, as far as that matters to others. They are built when they are laid, since of a hundred thousand few ever are.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use crate::nest::seed::Draws;
use crate::parallel::map_in_order;
use crate::planner::cover::column::{Column, Field, MOST_DEEP};
use crate::planner::cover::order::{Ground, Laying, some_layings};
use crate::planner::cover::seat::{Give, Kinds, Offer};
use crate::planner::cover::slide;

/// Orders that are looked at to tell whether a tiling can lie beside voids.
const ORDERS: usize = 48;
/// Room beyond its need that a seat that gives is laid with, in mm; what the sheet really has is asked when positions are
/// settled.
const GIVEN: f64 = 6.0;

/// Columns side by side.
#[derive(Clone, Debug)]
pub(crate) struct Tiling {
    pub(crate) columns: Vec<Column>,
    pub(crate) uses: Uses,
}

/// What a tiling uses of the sheets.
#[derive(Clone, Debug)]
pub(crate) struct Uses {
    pub(crate) lost: f64,
    /// Kinds of which there is one sheet.
    pub(crate) kinds: Kinds,
    /// Those of them that have no other place to offer.
    pub(crate) solid: Kinds,
    /// Places beside which others of their sheet can be used.
    pub(crate) partial: Vec<usize>,
    /// Area in mm² of sheets that is left for others.
    pub(crate) left: f64,
    /// Pieces.
    pub(crate) pieces: usize,
    /// The places of all pieces, and what of a length that is shared they need at the least.
    pub(crate) places: Vec<(usize, f64)>,
    /// Whether pieces lie beside voids.
    pub(crate) bound: bool,
    /// Whether it had to be asked if sheets suffice: there are several of a kind, or a sheet offers more than one place.
    asks: bool,
}

/// Tilings of one set of sheets, the least lost first; they are built when they are asked for.
#[derive(Clone, Debug)]
pub(crate) struct Alike {
    source: Arc<Source>,
    lights: Vec<Light>,
    /// Whether one of them can lie, once it was asked.
    lies: OnceLock<bool>,
    /// What the first of them uses: they use the same places, as far as that matters to others.
    pub(crate) uses: Uses,
    /// The fewest pieces of them.
    pub(crate) fewest: usize,
}

/// The columns that tilings are made of.
#[derive(Debug)]
struct Source {
    field: Field,
    columns: Vec<Column>,
}

impl Alike {
    /// Whether one of the tilings has an order in which all pieces fit their sheets; beside voids alone that is a question, and it is
    /// asked once.
    pub(crate) fn lies(&self, on: &Ground<'_>) -> bool {
        let fits = |l: &Laying| slide::fits_sheets(on.offer, &[l], &[on.adds]);
        !self.uses.bound
            || *self.lies.get_or_init(|| {
                self.tilings(on.offer).iter().any(|tiling| {
                    // The same whoever asks first.
                    let mut draws = Draws::new([ORDERS as u64, 0, 0]);
                    some_layings(on, tiling, &mut draws, ORDERS)
                        .iter()
                        .any(fits)
                })
            })
    }

    /// How many tilings there are.
    pub(super) fn count(&self) -> usize {
        self.lights.len()
    }

    /// The tilings.
    pub(crate) fn tilings(&self, offer: &Offer) -> Vec<Tiling> {
        let Source { field, columns } = &*self.source;
        let built = |l: &Light| {
            let chosen: Vec<&Column> = l.chosen(columns).collect();
            built(offer, *field, &chosen, l.lost)
        };
        self.lights.iter().filter_map(built).collect()
    }
}

/// A tiling before it is built.
#[derive(Clone, Debug)]
pub(super) struct Light {
    pub(super) lost: f64,
    /// The number of its set of sheets.
    pub(super) set: u64,
    /// Whether columns lie beside voids.
    pub(super) bound: bool,
    pub(super) columns: [u32; MOST_DEEP],
    pub(super) n: usize,
}

impl Light {
    fn chosen<'c>(&'c self, columns: &'c [Column]) -> impl Iterator<Item = &'c Column> {
        self.columns[..self.n].iter().map(|c| &columns[*c as usize])
    }
}

impl Uses {
    /// Of a length that two boxes share no more is asked than another tiling of the same places asks.
    fn ask_least(&mut self, offer: &Offer, other: &Self) {
        let shares = |p: usize| offer.places[p].share.is_some();
        for (p, need) in self.places.iter_mut().filter(|p| shares(p.0)) {
            let same = other.places.iter().filter(|q| q.0 == *p);
            *need = same.fold(*need, |least, q| least.min(q.1));
        }
    }
}

/// The tiling of columns that were put together; `None` where sheets do not suffice.
pub(super) fn tiling_of(offer: &Offer, field: Field, columns: &[&Column]) -> Option<Tiling> {
    let lost = columns.iter().map(|c| c.lost).sum();
    built(offer, field, columns, lost)
}

/// A tiling of columns that lose so much together; `None` where sheets do not suffice.
fn built(offer: &Offer, field: Field, chosen: &[&Column], lost: f64) -> Option<Tiling> {
    let uses = uses(offer, field, chosen, lost)?;
    let widths = Widths::of(field, chosen);
    let mut columns: Vec<Column> = chosen.iter().map(|c| (*c).clone()).collect();
    for c in &mut columns {
        if c.free {
            c.width = widths.most_of(c) + GIVEN;
        }
        for s in &mut c.seats {
            match s.give {
                Give::None => {}
                Give::Along => s.along += GIVEN,
                Give::Across => s.across = c.width + GIVEN,
            }
        }
    }
    Some(Tiling { columns, uses })
}

/// What columns side by side have of the width that they need.
struct Widths {
    /// What they need together.
    need: f64,
    /// Those that are not free.
    sum: f64,
    /// What each free one leaves to the other free ones at the least.
    others: f64,
    /// Free ones together at the most.
    most: f64,
    least: f64,
}

impl Widths {
    fn of(field: Field, chosen: &[&Column]) -> Self {
        let fixed = chosen.iter().filter(|c| !c.free);
        let free = chosen.iter().filter(|c| c.free);
        let mut out = Self {
            need: field.need(field.across, chosen.len()),
            sum: fixed.map(|c| c.width).sum(),
            others: (free.clone().count() as f64 - 1.0) * field.least,
            most: 0.0,
            least: field.least,
        };
        out.most = free.map(|c| out.most_of(c)).sum();
        out
    }

    /// What a free column is wide at the most.
    fn most_of(&self, c: &Column) -> f64 {
        c.width.min(self.need - self.sum - self.others)
    }

    /// What a column is wide at the least.
    fn least_of(&self, c: &Column) -> f64 {
        if c.free {
            (self.most_of(c) - (self.most - (self.need - self.sum))).max(self.least)
        } else {
            c.width - (self.sum - self.need).max(0.0)
        }
    }
}

/// What columns side by side use of the sheets; `None` where sheets do not suffice.
fn uses(offer: &Offer, field: Field, chosen: &[&Column], lost: f64) -> Option<Uses> {
    let widths = Widths::of(field, chosen);
    let mut places = Vec::with_capacity(chosen.iter().map(|c| c.seats.len()).sum());
    let mut taken = 0.0;
    // Of others the room depends on where pieces lie.
    let is_told = chosen.iter().all(|c| !c.is_bound() && c.step.is_none());
    for c in chosen {
        let least = widths.least_of(c);
        for s in &c.seats {
            let parts = offer.places[s.place].parts > 1;
            match s.give {
                Give::None => {
                    let need = match offer.shares(s, field.runs).filter(|_| is_told) {
                        Some(Give::Across) => least,
                        Some(Give::Along) => (s.along - c.over(&field)).max(field.least),
                        _ => 0.0,
                    };
                    places.push((s.place, need));
                    taken += if parts { s.across * s.along } else { 0.0 };
                }
                Give::Along => {
                    places.push((s.place, (s.along - c.spare).max(field.least)));
                    taken += s.along * least;
                }
                Give::Across => {
                    places.push((s.place, least));
                    taken += s.along * least;
                }
            }
        }
    }
    let (mut solid, mut partial, mut several) = (Kinds::default(), Vec::new(), false);
    let mut left = -taken;
    for (place, _) in &places {
        let p = &offer.places[*place];
        if offer.kinds[p.kind].bins.len() > 1 {
            several = true;
        } else if p.parts > 1 {
            partial.push(*place);
            left += offer.usable_of(p.kind);
        } else {
            solid = solid.with(p.kind);
        }
    }
    let asks = several || !partial.is_empty();
    let uses = Uses {
        solid,
        partial,
        left,
        lost,
        kinds: chosen.iter().fold(Kinds::default(), |k, c| k.or(&c.kinds)),
        pieces: places.len(),
        places,
        bound: chosen.iter().any(|c| c.is_bound()),
        asks,
    };
    (!asks || offer.suffices(&uses.places)).then_some(uses)
}

/// Sets that one thread puts together at a time.
const SETS_AT_ONCE: usize = 500;

/// Tilings of one set of sheets together, at most so many sets.
pub(super) fn put_together(
    offer: &Offer,
    field: Field,
    columns: &[Column],
    lights: Vec<Light>,
    most: usize,
) -> Vec<Alike> {
    let mut sets: HashMap<u64, usize> = HashMap::new();
    let mut found: Vec<Vec<Light>> = Vec::new();
    for light in lights {
        let next = found.len();
        let at = *sets.entry(light.set).or_insert(next);
        if at == next {
            found.push(Vec::new());
        }
        found[at].push(light);
    }
    found.truncate(most);
    // Of the columns only those are kept that are used.
    let mut numbers: Vec<Option<u32>> = vec![None; columns.len()];
    let mut used: Vec<Column> = Vec::new();
    for light in found.iter_mut().flatten() {
        for c in &mut light.columns[..light.n] {
            let old = *c as usize;
            *c = *numbers[old].get_or_insert_with(|| {
                used.push(columns[old].clone());
                used.len() as u32 - 1
            });
        }
    }
    let source = Arc::new(Source {
        field,
        columns: used,
    });
    let alike = |mut lights: Vec<Light>| {
        let columns = &source.columns;
        let mut first: Option<Uses> = None;
        let mut fewest = usize::MAX;
        lights.retain(|l| {
            // They use the same sheets: where it is no question whether these suffice, the first tells all.
            if first.as_ref().is_some_and(|f| !f.asks) {
                fewest = fewest.min(l.chosen(columns).map(|c| c.seats.len()).sum());
                return true;
            }
            let chosen: Vec<&Column> = l.chosen(columns).collect();
            let Some(uses) = uses(offer, field, &chosen, l.lost) else {
                return false;
            };
            fewest = fewest.min(uses.pieces);
            match &mut first {
                Some(first) => first.ask_least(offer, &uses),
                None => first = Some(uses),
            }
            true
        });
        first.map(|uses| Alike {
            source: Arc::clone(&source),
            lights,
            lies: OnceLock::new(),
            uses,
            fewest,
        })
    };
    let mut found = found.into_iter();
    let chunks = std::iter::from_fn(|| {
        let chunk: Vec<Vec<Light>> = found.by_ref().take(SETS_AT_ONCE).collect();
        (!chunk.is_empty()).then_some(chunk)
    });
    map_in_order(chunks.collect(), |chunk: Vec<Vec<Light>>| {
        chunk.into_iter().filter_map(alike).collect::<Vec<Alike>>()
    })
    .into_iter()
    .flatten()
    .collect()
}
