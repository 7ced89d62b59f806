//! Which entities of a file are used, and what is said of the others.
//!
//! In: a document, its entities where they lie, and the layer that is asked for. Out: which of them are used, or errors;
//! findings for everything that is left out. Nothing is left out without a word, except what lies on other layers than the
//! one asked for. The outlines of filled areas (HATCH, SOLID, TRACE) are used where nothing else is drawn: beside outlines
//! they are hatching, arrow heads and shades. What a MLINE draws hangs on a style of its own, its ends above all: it is left
//! out and told, since lines that nobody closes would have the whole drawing refused.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::blocks::Placed;
use crate::drawing::error::DrawingError;
use crate::drawing::gathered::Unused;
use crate::format::dxf::{Document, EntityName, FILLED};
use crate::format::shown::shown;
use crate::model::finding::Finding;

/// Kinds that draw no outline: letters, dimensions, points, construction lines, pictures, views.
const NO_OUTLINE: [&str; 28] = [
    "TEXT",
    "ATTRIB",
    "MTEXT",
    "RTEXT",
    "ARCALIGNEDTEXT",
    "ATTDEF",
    "DIMENSION",
    "ARC_DIMENSION",
    "LARGE_RADIAL_DIMENSION",
    "LEADER",
    "MLEADER",
    "MULTILEADER",
    "TOLERANCE",
    "POINT",
    "RAY",
    "XLINE",
    "VIEWPORT",
    "IMAGE",
    "WIPEOUT",
    "OLEFRAME",
    "OLE2FRAME",
    "ACAD_TABLE",
    "PDFUNDERLAY",
    "DWFUNDERLAY",
    "DGNUNDERLAY",
    "LIGHT",
    "SUN",
    "SECTION",
];

/// Kinds of parallel lines, whose number and ends a style decides.
const PARALLEL: [&str; 1] = ["MLINE"];

/// What is used of a file.
pub(super) struct Coverage {
    /// Places in `Document::entities`.
    pub(super) used: Vec<usize>,
    /// What is left out.
    pub(super) findings: Vec<Finding>,
    /// The same, and what else is not used.
    pub(super) unused: Vec<Unused>,
    /// Each kind that draws but is not read.
    pub(super) unsupported: Vec<DrawingError>,
}

/// Chooses the entities of one layer (compared without case), or of all.
///
/// # Errors
/// `UnknownLayer`.
pub(super) fn choose(
    file: &str,
    document: &Document,
    hidden: &Hidden,
    placed: &[Placed<'_>],
    layer: Option<&str>,
) -> Result<Coverage, Vec<DrawingError>> {
    if let Some(layer) = layer {
        check_layer(file, document, placed, layer)?;
    }
    let mut out = Outside::default();
    let (mut used, mut filled) = (Vec::new(), Vec::new());
    let mut unsupported: BTreeMap<usize, (usize, EntityName)> = BTreeMap::new();
    let mut first_of: BTreeMap<&str, usize> = BTreeMap::new();
    let mut standings: BTreeMap<&str, Standing> = BTreeMap::new();
    for (i, item) in placed.iter().enumerate() {
        let kind = &*item.entity.name.kind;
        let standing = standings.entry(item.layer);
        let standing = *standing.or_insert_with(|| Standing::of(hidden, layer, item.layer));
        match standing {
            Standing::NotAsked => {
                *out.other_layers.entry(item.layer.to_owned()).or_insert(0) += 1;
                continue;
            }
            Standing::Shown | Standing::HiddenButNamed if item.hidden => {
                out.hide(item.layer);
                continue;
            }
            Standing::Hidden => {
                out.hide(item.layer);
                continue;
            }
            Standing::HiddenButNamed => out.hidden_but_named = true,
            Standing::Shown => {}
        }
        if item.invisible {
            *out.unseen.entry(kind.to_owned()).or_insert(0) += 1;
            continue;
        }
        match &item.entity.shape {
            Some(_) if FILLED.contains(&kind) => filled.push(i),
            Some(_) => used.push(i),
            None if NO_OUTLINE.contains(&kind) => {
                *out.no_outline.entry(kind.to_owned()).or_insert(0) += 1;
            }
            None if PARALLEL.contains(&kind) => {
                *out.parallel.entry(kind.to_owned()).or_insert(0) += 1;
            }
            None => {
                let first = *first_of.entry(kind).or_insert(i);
                unsupported.entry(first).or_insert((0, item.name())).0 += 1;
            }
        }
    }
    out.fills_are_cut = used.is_empty();
    for i in &filled {
        let kind = placed[*i].entity.name.kind.to_string();
        *out.filled.entry(kind).or_insert(0) += 1;
    }
    if out.fills_are_cut {
        used = filled;
    }
    out.n_in_blocks = if placed.is_empty() {
        document.blocks.iter().map(|b| b.entities.len()).sum()
    } else {
        0
    };
    let error = |(count, first)| DrawingError::UnsupportedEntity {
        file: file.to_owned(),
        count,
        first,
    };
    Ok(Coverage {
        used,
        findings: out.findings(&place(file, layer)),
        unused: out.unused(),
        unsupported: unsupported.into_values().map(error).collect(),
    })
}

/// Where a finding lies: the file, and the layer if one is asked for.
pub(super) fn place(file: &str, layer: Option<&str>) -> String {
    layer.map_or_else(|| file.to_owned(), |l| format!("{file}, layer {l}"))
}

pub(super) fn same_layer(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

fn check_layer(
    file: &str,
    document: &Document,
    placed: &[Placed<'_>],
    layer: &str,
) -> Result<(), Vec<DrawingError>> {
    let table = document.layers.iter().map(|l| &*l.name);
    let in_use = placed.iter().map(|e| e.layer);
    let mut known: Vec<String> = Vec::new();
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for name in table.chain(in_use) {
        // Entities name the same layers over and over.
        if !seen.insert(name) {
            continue;
        }
        if same_layer(name, layer) {
            return Ok(());
        }
        known.push(name.to_owned());
    }
    Err(vec![unknown_layer(file, layer, known)])
}

/// A layer that is not there, with the one that may be meant.
pub(super) fn unknown_layer(file: &str, layer: &str, known: Vec<String>) -> DrawingError {
    let near =
        |name: &&String| strsim::damerau_levenshtein(&name.to_lowercase(), &layer.to_lowercase());
    let nearest = known
        .iter()
        .min_by_key(near)
        .filter(|n| near(n) <= 3.max(layer.len() / 3))
        .cloned();
    DrawingError::UnknownLayer {
        file: file.to_owned(),
        layer: layer.to_owned(),
        nearest,
        known,
    }
}

/// The layers of a drawing, by name without case: whether they are not shown, and whether they are frozen, so that not even
/// what a block on them has on other layers is.
pub(super) struct Hidden(BTreeMap<String, (bool, bool)>);

impl Hidden {
    /// Those of a drawing.
    pub(super) fn of(document: &Document) -> Self {
        let mut by_name = BTreeMap::new();
        for layer in &document.layers {
            // The first of a name counts, as for those who search from the beginning.
            let hidden = layer.frozen || layer.off;
            let found = (hidden, layer.frozen);
            by_name.entry(layer.name.to_lowercase()).or_insert(found);
        }
        Self(by_name)
    }

    /// Whether a layer is frozen or switched off.
    pub(super) fn holds(&self, layer: &str) -> bool {
        self.0.get(&layer.to_lowercase()).is_some_and(|l| l.0)
    }

    /// Whether a layer is frozen.
    pub(super) fn freezes(&self, layer: &str) -> bool {
        self.0.get(&layer.to_lowercase()).is_some_and(|l| l.1)
    }
}

/// How a layer stands to what is asked for.
#[derive(Clone, Copy, PartialEq)]
enum Standing {
    Shown,
    /// Frozen or switched off.
    Hidden,
    /// The same, but asked for by name.
    HiddenButNamed,
    /// Another layer is asked for.
    NotAsked,
}

impl Standing {
    fn of(hidden: &Hidden, asked: Option<&str>, layer: &str) -> Self {
        let hidden = hidden.holds(layer);
        match asked {
            Some(asked) if !same_layer(asked, layer) => Self::NotAsked,
            Some(_) if hidden => Self::HiddenButNamed,
            None if hidden => Self::Hidden,
            _ => Self::Shown,
        }
    }
}

/// What is left out, counted.
#[derive(Default)]
struct Outside {
    /// The layer is switched off, but used because it is named.
    hidden_but_named: bool,
    no_outline: BTreeMap<String, usize>,
    unseen: BTreeMap<String, usize>,
    hidden_layers: BTreeMap<String, usize>,
    /// Entities on layers that are not asked for.
    other_layers: BTreeMap<String, usize>,
    /// Filled areas.
    filled: BTreeMap<String, usize>,
    /// Whether their outlines are cut, since nothing else is drawn.
    fills_are_cut: bool,
    /// Parallel lines.
    parallel: BTreeMap<String, usize>,
    /// Entities of blocks where nothing is placed.
    n_in_blocks: usize,
}

impl Outside {
    fn hide(&mut self, layer: &str) {
        *self.hidden_layers.entry(layer.to_owned()).or_insert(0) += 1;
    }

    /// What there is, where nothing is cut.
    fn unused(&self) -> Vec<Unused> {
        let mut unused = Vec::new();
        let mut say = |why: &str, counts: &BTreeMap<String, usize>, remedy| {
            if !counts.is_empty() {
                let what = format!("{why}: {}", list(counts, FEW));
                unused.push(Unused { what, remedy });
            }
        };
        say(
            "on layers frozen or switched off",
            &self.hidden_layers,
            "switch the layer on, or name it with `drawing_layer`",
        );
        say(
            "on other layers",
            &self.other_layers,
            "name one of these layers with `drawing_layer`, or draw the outline on this one",
        );
        say(
            "invisible or on a paper layout",
            &self.unseen,
            "move to the model what is to be cut, and make it visible",
        );
        say(
            "drawing no outline",
            &self.no_outline,
            "draw the outline with lines and arcs, or convert letters into them",
        );
        say(
            "parallel lines, which are not read",
            &self.parallel,
            EXPLODE,
        );
        if self.n_in_blocks > 0 {
            let what = format!(
                "entities in blocks that are placed nowhere: {}",
                self.n_in_blocks
            );
            let remedy = "place the block in the drawing";
            unused.push(Unused { what, remedy });
        }
        unused
    }

    fn findings(&self, place: &str) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut say = |code, counts: &BTreeMap<String, usize>, why: &str, hint: &str| {
            if !counts.is_empty() {
                let what = format!("{place}: left out, {why}: {}", list(counts, MANY));
                findings.push(Finding::new(code, what, place, hint));
            }
        };
        say(
            "D102",
            &self.no_outline,
            "as it draws no outline",
            "convert letters into lines and arcs if they are to be cut",
        );
        say(
            "D103",
            &self.hidden_layers,
            "as its layer is frozen or switched off",
            "switch the layer on, or name it with `drawing_layer`",
        );
        say(
            "D104",
            &self.unseen,
            "as it is invisible or lies on a paper layout",
            "move to the model what is to be cut",
        );
        say(
            "D119",
            &self.parallel,
            "as its parallel lines are not read",
            EXPLODE,
        );
        if !self.filled.is_empty() {
            let kinds = list(&self.filled, MANY);
            let (code, what) = if self.fills_are_cut {
                let what = format!("{place}: no lines are drawn: cut are the outlines of {kinds}");
                ("D120", what)
            } else {
                let what = format!("{place}: left out, as other curves are drawn: {kinds}");
                ("D109", what)
            };
            let hint = "the outline of a filled area is cut only where nothing else is drawn";
            findings.push(Finding::new(code, what, place, hint));
        }
        if self.hidden_but_named {
            let what = format!(
                "{place} is frozen or switched off in the drawing; it is used because it is named"
            );
            let hint = "switch the layer on in the drawing";
            findings.push(Finding::new("D108", what, place, hint));
        }
        findings
    }
}

/// What to do with parallel lines.
const EXPLODE: &str = "take parallel lines apart into single ones if they are to be cut";

/// Most names of a list in a finding.
pub(super) const MANY: usize = 12;

/// Most names of a list that is one of several in a message.
pub(super) const FEW: usize = 3;

/// `3 TEXT, 1 DIMENSION`: the first few, and how many others there are.
pub(super) fn list(counts: &BTreeMap<String, usize>, most: usize) -> String {
    let named = counts.iter().take(most);
    let mut parts: Vec<String> = named
        .map(|(name, n)| format!("{n} {}", shown(name)))
        .collect();
    let others: usize = counts.values().skip(most).sum();
    if others > 0 {
        parts.push(format!("{others} others"));
    }
    parts.join(", ")
}
