//! What a drawing's curves have become, whichever format they came in.

use std::collections::BTreeSet;

use crate::drawing::error::DrawingError;
use crate::drawing::limits::Limits;
use crate::drawing::strand::Strand;
use crate::drawing::told::Axes;
use crate::format::dxf::EntityName;
use crate::geometry::bounds::Bounds;
use crate::model::finding::Finding;

/// Something that a drawing holds and that is not cut.
pub(super) struct Unused {
    /// Why, and what: `drawing no outline: 3 TEXT`.
    pub(super) what: String,
    /// What to do if it is to be cut.
    pub(super) remedy: &'static str,
}

/// Strands with what drew them.
#[derive(Default)]
pub(super) struct Gathered {
    /// In the order of the file, each with the place of what drew it in `names`.
    pub(super) strands: Vec<(usize, Strand)>,
    /// What drew them, for messages.
    pub(super) names: Vec<EntityName>,
    /// Those of which the painted area counts, not each outline: places in `names`.
    pub(super) painted: BTreeSet<usize>,
    /// Whether arcs were fitted to any curve.
    pub(super) fitted: bool,
    /// What is doubtful.
    pub(super) findings: Vec<Finding>,
    /// What is not used, told where there is nothing else.
    pub(super) unused: Vec<Unused>,
    /// How the drawing's own program tells places.
    pub(super) axes: Axes,
    n_edges: u64,
}

impl Gathered {
    /// Adds what one entity draws.
    pub(super) fn add(&mut self, origin: usize, strands: Vec<Strand>) {
        for strand in strands {
            self.n_edges += match &strand {
                Strand::Ring(ring) => ring.edges().len() as u64,
                Strand::Open(edges) => edges.len() as u64,
                Strand::Nothing => 0,
            };
            self.strands.push((origin, strand));
        }
    }

    /// The least box around everything.
    pub(super) fn bounds(&self) -> Bounds {
        let boxes = self.strands.iter().map(|(_, strand)| match strand {
            Strand::Ring(ring) => ring.bounds(),
            Strand::Open(edges) => edges.iter().fold(Bounds::EMPTY, |b, e| b.join(e.bounds())),
            Strand::Nothing => Bounds::EMPTY,
        });
        boxes.fold(Bounds::EMPTY, Bounds::join)
    }

    /// Whether there are more edges than are admitted.
    pub(super) fn check_edges(&self, file: &str, limits: &Limits) -> Result<(), DrawingError> {
        if self.n_edges <= limits.edges() {
            return Ok(());
        }
        Err(DrawingError::TooMany {
            file: file.to_owned(),
            what: "edges",
            count: self.n_edges,
            limit: limits.edges(),
        })
    }
}
