//! A drawing turned into regions.
//!
//! In: the bytes of a DXF file, the layer that is asked for, what a bare unit is. Out: regions in mm, in the drawing's own
//! frame, and findings; or everything that is wrong with the drawing.
//!
//! Steps:
//! 1. `format::dxf` reads the entities.
//! 2. `coverage`: those of the layer, and what is said of the others.
//! 3. `strand`: each entity as edges in mm that carry its place in the file (`SourceKind::Drawn`).
//! 4. `duplicate`: what stands there twice is used once.
//! 5. `chain` and `join`: loose ends become rings.
//! 6. `containment`: rings become regions; crossings and contacts are refused.
//!
//! Guarantees: circles stay exact circles and arcs keep centre and radius; the ends of neighbours are equal to the bit;
//! regions hold `geometry::check`; nothing is ignored without a finding. The file's name is used in messages only.

use crate::drawing::coverage::{choose, place};
use crate::drawing::duplicate::Seen;
use crate::drawing::error::DrawingError;
use crate::drawing::strand::{Strand, as_circle, strand};
use crate::format::dxf::{self, Document, EntityName, insunits};
use crate::geometry::distance::point_edge;
use crate::geometry::edge::Edge;
use crate::geometry::error::GeometryError;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::COINCIDENT;
use crate::model::finding::Finding;
use crate::model::source::SourceKind;

mod chain;
mod containment;
mod coverage;
mod duplicate;
pub mod error;
mod join;
mod strand;

/// What the job says of a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrawingOptions<'a> {
    /// The one layer to take, compared without case; `None` takes all that are switched on.
    pub layer: Option<&'a str>,
    /// Millimetres in the unit of a drawing that tells none.
    pub bare_unit_mm: f64,
}

/// What a drawing holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Its regions, one or more, in the order of their outlines in the file.
    pub regions: Vec<Region>,
    /// What is doubtful about it.
    pub findings: Vec<Finding>,
}

/// Reads a drawing; `file_name` is how messages call it.
///
/// # Errors
/// All that is wrong, as far as one fault does not hide the next.
pub fn read(
    file_name: &str,
    bytes: &[u8],
    options: DrawingOptions<'_>,
) -> Result<Drawing, Vec<DrawingError>> {
    let file = || file_name.to_owned();
    if is_svg(file_name, bytes) {
        return Err(vec![DrawingError::SvgNotYet { file: file() }]);
    }
    let document = dxf::read(bytes).map_err(|source| {
        vec![DrawingError::File {
            file: file(),
            source,
        }]
    })?;
    let mut work = Work {
        file: file_name,
        place: place(file_name, options.layer),
        document: &document,
        findings: Vec::new(),
    };
    let scale = work.scale(options.bare_unit_mm)?;
    let coverage = choose(file_name, &document, options.layer)?;
    work.findings.extend(coverage.findings);
    let rings = work.rings(&coverage.used, scale)?;
    if rings.is_empty() {
        return Err(vec![DrawingError::NoOutline {
            file: file(),
            layer: options.layer.map(str::to_owned),
        }]);
    }
    let edges: Vec<Edge> = rings
        .iter()
        .flat_map(|r| r.edges().iter().copied())
        .collect();
    let regions =
        containment::regions(rings).map_err(|error| vec![work.refused(&error, &edges)])?;
    Ok(Drawing {
        regions,
        findings: work.findings,
    })
}

/// Whether a file is an SVG, by its name or by how it begins.
fn is_svg(file_name: &str, bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(1000)];
    let named = file_name.to_ascii_lowercase().ends_with(".svg");
    named || (head.trim_ascii_start().starts_with(b"<") && head.windows(4).any(|w| w == b"<svg"))
}

/// What the steps share.
struct Work<'a> {
    file: &'a str,
    /// Where findings lie.
    place: String,
    document: &'a Document,
    findings: Vec<Finding>,
}

impl Work<'_> {
    /// Millimetres in the drawing's unit.
    fn scale(&mut self, bare_unit_mm: f64) -> Result<f64, Vec<DrawingError>> {
        match self.document.unit {
            None | Some(0) => {
                let what =
                    format!("the drawing tells no unit: taken as {bare_unit_mm} mm, the job's own");
                let hint = "set the drawing's unit ($INSUNITS) to rule out a mistake";
                self.find("D101", what, hint);
                Ok(bare_unit_mm)
            }
            Some(code) => insunits::unit(code).map(|(mm, _)| mm).ok_or_else(|| {
                vec![DrawingError::UnknownUnit {
                    file: self.file.to_owned(),
                    code,
                }]
            }),
        }
    }

    fn find(&mut self, code: &'static str, what: String, hint: &str) {
        let finding = self.finding(code, what, hint);
        self.findings.push(finding);
    }

    fn finding(&self, code: &'static str, what: String, hint: &str) -> Finding {
        let what = format!("{}: {what}", self.place);
        Finding::new(code, what, self.place.clone(), hint)
    }

    fn name(&self, edge: &Edge) -> EntityName {
        self.document.entities[chain::entity_of(edge)].name.clone()
    }

    /// The rings that entities make, in the order of their first entity.
    fn rings(&mut self, used: &[usize], scale: f64) -> Result<Vec<Ring>, Vec<DrawingError>> {
        let mut rings: Vec<(usize, Ring)> = Vec::new();
        let mut open: Vec<(usize, Vec<Edge>)> = Vec::new();
        let mut errors = Vec::new();
        let (mut n_without_length, mut n_twice) = (0, 0);
        let mut seen = Seen::default();
        for &i in used {
            let source = SourceKind::Drawn.id(i);
            match strand(self.file, &self.document.entities[i], scale, source) {
                Ok(Strand::Ring(ring)) => rings.push((i, ring)),
                Ok(Strand::Open(edges)) if seen.again(&edges) => n_twice += 1,
                Ok(Strand::Open(edges)) => open.push((i, edges)),
                Ok(Strand::Nothing) => n_without_length += 1,
                Err(error) => errors.push(error),
            }
        }
        if !errors.is_empty() {
            return Err(errors);
        }
        let (first, strands): (Vec<usize>, Vec<Vec<Edge>>) = open.into_iter().unzip();
        let chained = chain::chain(self.file, &strands, &|edge| self.name(edge))?;
        rings.extend(
            chained
                .rings
                .into_iter()
                .map(|(k, ring)| (first[k], as_circle(ring))),
        );
        rings.sort_by_key(|(i, _)| *i);
        let mut seen = Seen::default();
        let n_all = rings.len();
        let rings: Vec<Ring> = rings
            .into_iter()
            .map(|(_, r)| r)
            .filter(|r| !seen.again(r.edges()))
            .collect();
        self.tell(
            n_without_length,
            n_twice + n_all - rings.len(),
            &chained.gaps,
        );
        Ok(rings)
    }

    /// Findings of what was healed.
    fn tell(&mut self, n_without_length: usize, n_twice: usize, gaps: &[chain::Gap]) {
        if n_without_length > 0 {
            let what = match n_without_length {
                1 => String::from("1 entity without any length is left out"),
                n => format!("{n} entities without any length are left out"),
            };
            self.find("D105", what, "delete them from the drawing");
        }
        if n_twice > 0 {
            let what = match n_twice {
                1 => String::from("1 curve stands in the drawing twice and is cut once"),
                n => format!("{n} curves stand in the drawing twice and are cut once"),
            };
            self.find("D106", what, "delete one of each two");
        }
        if let Some(largest) = gaps.iter().max_by(|a, b| a.width.total_cmp(&b.width)) {
            let n = gaps.len();
            let (width, at) = (largest.width, largest.at);
            let what = format!(
                "{} closed; the largest, {width:.4} mm, was at ({:.3}, {:.3})",
                if n == 1 {
                    String::from("1 gap in an outline was")
                } else {
                    format!("{n} gaps in outlines were")
                },
                at.x,
                at.y
            );
            let hint = "join the ends in the drawing if the gap matters";
            let finding = self.finding("D107", what, hint);
            self.findings.push(finding.figures(width, chain::JOIN));
        }
    }

    /// What geometry refuses, with the entities at its place.
    fn refused(&self, error: &GeometryError, edges: &[Edge]) -> DrawingError {
        let file = self.file.to_owned();
        let (x, y) = error.place();
        let mut here: Vec<(f64, &Edge)> = edges
            .iter()
            .map(|e| (point_edge(Point::new(x, y), e).0, e))
            .collect();
        here.sort_by(|a, b| {
            a.0.total_cmp(&b.0)
                .then(chain::entity_of(a.1).cmp(&chain::entity_of(b.1)))
        });
        let mut entities: Vec<EntityName> = Vec::new();
        for (_, edge) in here
            .iter()
            .filter(|(distance, _)| *distance <= 10.0 * COINCIDENT)
        {
            let name = self.name(edge);
            if entities.len() < 2 && !entities.contains(&name) {
                entities.push(name);
            }
        }
        let nearest = here.first().map(|(_, edge)| self.name(edge));
        match (error, nearest) {
            (GeometryError::Turned { .. }, Some(entity)) => {
                DrawingError::NoArea { file, x, y, entity }
            }
            (GeometryError::Touching { .. }, _) => DrawingError::Touching {
                file,
                x,
                y,
                entities,
            },
            (GeometryError::OutOfRange { limit, .. }, Some(entity)) => DrawingError::OutOfRange {
                file,
                entity,
                value: x.abs().max(y.abs()),
                limit: *limit,
            },
            _ => DrawingError::Crossing {
                file,
                x,
                y,
                entities,
            },
        }
    }
}
