//! A drawing turned into regions.
//!
//! In: the bytes of a DXF or SVG file, the layer that is asked for, what a bare unit is. Out: regions in mm, in the drawing's
//! own frame, and findings; or everything that is wrong with the drawing.
//!
//! Steps:
//! 1. `dxf` and `svg` gather what the file draws: `format` reads it, blocks and repeated elements take their places
//!    (`blocks`), what is not used is told (`coverage`), and each curve becomes edges in mm that carry what drew them
//!    (`strand`). Areas filled corner by corner are united (`solids`).
//! 2. `duplicate` and `overlap`: what stands there twice is used once.
//! 3. `chain` and `join`: loose ends become rings.
//! 4. `containment` and `around`: rings become regions; crossings and contacts are refused.
//!
//! `faults` gathers what is wrong, of each kind no more than a screen holds; `told` says places as the drawing's own program
//! shows them.
//!
//! Guarantees: circles stay exact circles and arcs keep centre and radius; other curves become arcs within
//! `tolerance::FLAT_FIT`; the ends of neighbours are equal to the bit; regions hold `geometry::check`; nothing is ignored
//! without a finding; no other file is opened. The file's name is used in messages only. SVG's y runs down: there it is
//! turned upside down about the page's upper edge.

use crate::drawing::coverage::place;
use crate::drawing::duplicate::repeated;
use crate::drawing::error::{CROSSING, DrawingError, TOUCHING};
use crate::drawing::faults::Faults;
use crate::drawing::gathered::{Gathered, Unused};
use crate::drawing::limits::Limits;
use crate::drawing::strand::{Strand, as_circle};
use crate::drawing::told::Axes;
use crate::format::dxf::EntityName;
use crate::format::file_kind::{FileKind, decoded};
use crate::geometry::distance::point_edge;
use crate::geometry::edge::Edge;
use crate::geometry::error::GeometryError;
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::{COINCIDENT, FLAT_FIT};
use crate::model::finding::Finding;

mod around;
mod beyond;
mod blocks;
mod chain;
mod containment;
mod coverage;
mod duplicate;
mod dxf;
pub mod error;
mod faults;
mod gathered;
mod join;
pub mod limits;
mod overlap;
mod painted;
mod solids;
mod strand;
mod svg;
pub mod told;

/// What the job says of a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrawingOptions<'a> {
    /// The one layer to take, compared without case; `None` takes all that are switched on.
    pub layer: Option<&'a str>,
    /// Millimetres in the unit of a drawing that tells none.
    pub bare_unit_mm: f64,
    /// How much it may ask for.
    pub limits: Limits,
}

/// What a drawing holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Its regions, one or more, in the order of their outlines in the file.
    pub regions: Vec<Region>,
    /// By how much, in mm, an outline may differ from the curves as drawn: 0 where all are lines and circular arcs.
    pub stray: f64,
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
    let mut options = options;
    options.limits.of_bytes = bytes.len() as u64;
    let format = format(file_name, bytes, &options.limits).map_err(|error| vec![error])?;
    let mut gathered = match format {
        FileKind::Svg => svg::gather(file_name, bytes, &options)?,
        _ => dxf::gather(file_name, bytes, &options)?,
    };
    let mut work = Work {
        file: file_name,
        place: place(file_name, options.layer),
        names: std::mem::take(&mut gathered.names),
        findings: std::mem::take(&mut gathered.findings),
        most_pairs: options.limits.pairs,
        axes: gathered.axes,
    };
    let unused = std::mem::take(&mut gathered.unused);
    let stray = if gathered.fitted { FLAT_FIT } else { 0.0 };
    let rings = work.rings(gathered)?;
    if rings.is_empty() {
        return Err(vec![work.no_outline(options.layer, unused)]);
    }
    let regions = containment::regions(rings, options.limits.pairs).map_err(|refused| {
        let edges: Vec<Edge> = refused
            .rings
            .iter()
            .flat_map(|r| r.edges().iter().copied())
            .collect();
        let mut faults = Faults::new(file_name);
        if refused.more {
            faults.add_unknown();
        }
        for fault in &refused.faults {
            faults.push_with(code_of(fault), || work.refused(fault, &edges));
        }
        faults.into_errors()
    })?;
    Ok(Drawing {
        regions,
        stray,
        findings: work.findings,
    })
}

/// The code of what geometry refuses, as far as there may be many of it.
const fn code_of(fault: &GeometryError) -> Option<&'static str> {
    match fault {
        GeometryError::Crossing { .. } => Some(CROSSING),
        GeometryError::Touching { .. } => Some(TOUCHING),
        _ => None,
    }
}

/// Most letters that tell what a drawing without an outline holds.
const MOST_FOUND: usize = 260;

/// As what a file is read, a DXF or an SVG: by its name or, where that does not tell, by how it begins.
///
/// # Errors
/// `Empty`, `TooLarge`, and `OtherFormat` where it begins as something else.
fn format(file_name: &str, bytes: &[u8], limits: &Limits) -> Result<FileKind, DrawingError> {
    let file = || file_name.to_owned();
    if bytes.trim_ascii().is_empty() {
        return Err(DrawingError::Empty { file: file() });
    }
    if bytes.len() as u64 > limits.bytes {
        return Err(DrawingError::TooLarge {
            file: file(),
            bytes: bytes.len() as u64,
            limit: limits.bytes,
        });
    }
    let kind = FileKind::of(bytes);
    // What text in wide letters says; nothing, where it is damaged.
    let inner = match kind {
        Some(FileKind::Wide(_)) => decoded(bytes)
            .ok()
            .and_then(|text| FileKind::of(text.as_bytes())),
        _ => None,
    };
    let is = |wanted: FileKind| kind == Some(wanted) || inner == Some(wanted);
    let named = |end: &str| file_name.to_ascii_lowercase().ends_with(end);
    let format = if named(".svg") || !named(".dxf") && (is(FileKind::Svg) || is(FileKind::Xml)) {
        FileKind::Svg
    } else {
        FileKind::Dxf
    };
    let other = match (format, kind, inner) {
        (FileKind::Svg, Some(FileKind::Svg | FileKind::Xml), _) => None,
        (FileKind::Svg, Some(FileKind::Wide(_)), inner) => {
            inner.filter(|inner| !matches!(inner, FileKind::Svg | FileKind::Xml))
        }
        (FileKind::Dxf, Some(FileKind::Wide(_)), Some(inner)) if inner != FileKind::Dxf => {
            Some(inner)
        }
        (_, kind, _) => kind.filter(|kind| *kind != format),
    };
    match other {
        Some(kind) => Err(DrawingError::OtherFormat {
            file: file(),
            format,
            kind,
        }),
        None => Ok(format),
    }
}

/// Leaves out curves that repeat an earlier one; their number.
fn drop_repeated<T>(curves: &mut Vec<(usize, T)>, edges: impl Fn(&T) -> &[Edge]) -> usize {
    let again = repeated(curves.iter().map(|(_, curve)| edges(curve)));
    let mut place = 0;
    curves.retain(|_| {
        place += 1;
        !again[place - 1]
    });
    again.into_iter().filter(|a| *a).count()
}

/// What the steps share.
struct Work<'a> {
    file: &'a str,
    /// Where findings lie.
    place: String,
    /// What drew the edges.
    names: Vec<EntityName>,
    findings: Vec<Finding>,
    /// How many pairs of edges are compared.
    most_pairs: u64,
    /// How places are told.
    axes: Axes,
}

impl Work<'_> {
    fn find(&mut self, code: &'static str, what: String, hint: &str) {
        let finding = self.finding(code, what, hint);
        self.findings.push(finding);
    }

    fn finding(&self, code: &'static str, what: String, hint: &str) -> Finding {
        let what = format!("{}: {what}", self.place);
        Finding::new(code, what, self.place.clone(), hint)
    }

    fn name(&self, edge: &Edge) -> EntityName {
        self.names[chain::entity_of(edge)].clone()
    }

    /// The rings that strands make, in the order of what drew them first.
    fn rings(&mut self, gathered: Gathered) -> Result<Vec<Ring>, Vec<DrawingError>> {
        let mut rings: Vec<(usize, Ring)> = Vec::new();
        let mut open: Vec<(usize, Vec<Edge>)> = Vec::new();
        let (mut n_without_length, mut n_twice) = (0, 0);
        for (i, strand) in gathered.strands {
            match strand {
                Strand::Ring(ring) => rings.push((i, ring)),
                Strand::Open(edges) => open.push((i, edges)),
                Strand::Nothing => n_without_length += 1,
            }
        }
        n_twice += drop_repeated(&mut open, |edges| edges);
        let n_overlaps = overlap::merge(&mut open, &rings);
        let (first, strands): (Vec<usize>, Vec<Vec<Edge>>) = open.into_iter().unzip();
        let chained = chain::chain(self.file, self.axes, &strands, &|edge| self.name(edge))?;
        rings.extend(
            chained
                .rings
                .into_iter()
                .map(|(k, ring)| (first[k], as_circle(ring))),
        );
        rings.sort_by_key(|(i, _)| *i);
        n_twice += drop_repeated(&mut rings, |ring| ring.edges());
        let n_inside = painted::retain(&mut rings, &gathered.painted, self.most_pairs);
        self.tell(n_without_length, n_twice, n_overlaps, &chained.gaps);
        if n_inside > 0 {
            let what = format!(
                "{n_inside} {} inside of a painted area, as the fill rule has it, and {} not cut",
                if n_inside == 1 {
                    "outline lies"
                } else {
                    "outlines lie"
                },
                if n_inside == 1 { "is" } else { "are" }
            );
            self.find("D112", what, "use `fill-rule=\"evenodd\"` if it is a hole");
        }
        Ok(rings.into_iter().map(|(_, ring)| ring).collect())
    }

    /// Findings of what was healed.
    fn tell(
        &mut self,
        n_without_length: usize,
        n_twice: usize,
        n_overlaps: usize,
        gaps: &[chain::Gap],
    ) {
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
        if n_overlaps > 0 {
            let what = format!(
                "{n_overlaps} {} along another and {} cut once",
                if n_overlaps == 1 {
                    "curve runs"
                } else {
                    "curves run"
                },
                if n_overlaps == 1 { "is" } else { "are" }
            );
            self.find("D111", what, "trim what lies on top of one another");
        }
        if let Some(largest) = gaps.iter().max_by(|a, b| a.width.total_cmp(&b.width)) {
            let n = gaps.len();
            let (width, at) = (largest.width, largest.at);
            let what = format!(
                "{} closed; the largest, {width:.4} mm, was at {}",
                if n == 1 {
                    String::from("1 gap in an outline was")
                } else {
                    format!("{n} gaps in outlines were")
                },
                self.axes.told(at)
            );
            let hint = "join the ends in the drawing if the gap matters";
            let finding = self.finding("D107", what, hint);
            self.findings.push(finding.figures(width, chain::JOIN));
        }
    }

    /// That there is nothing to cut, and what there is instead.
    fn no_outline(&self, layer: Option<&str>, unused: Vec<Unused>) -> DrawingError {
        let mut parts: Vec<(String, &'static str)> =
            unused.into_iter().map(|u| (u.what, u.remedy)).collect();
        if let Some(finding) = self.findings.iter().find(|f| f.code == "D105") {
            let what = finding.what.strip_prefix(&format!("{}: ", self.place));
            let what = what.unwrap_or(&finding.what).to_owned();
            parts.push((what, "draw the outline anew"));
        }
        let remedy = parts.first().map_or(
            "draw the outline, or look whether this is the file that is meant",
            |part| part.1,
        );
        let mut found = String::new();
        for (what, _) in &parts {
            if found.len() + what.len() > MOST_FOUND {
                found.push_str("; and more");
                break;
            }
            found.push_str(if found.is_empty() { "" } else { "; " });
            found.push_str(what);
        }
        if found.is_empty() {
            found.push_str("nothing is drawn in it");
        }
        DrawingError::NoOutline {
            file: self.file.to_owned(),
            layer: layer.map(str::to_owned),
            found,
            remedy,
        }
    }

    /// What geometry refuses, with the entities at its place.
    fn refused(&self, error: &GeometryError, edges: &[Edge]) -> DrawingError {
        let file = self.file.to_owned();
        let (x, y) = error.place();
        if let GeometryError::Dense { limit, .. } = error {
            return DrawingError::Dense {
                file,
                x,
                y,
                limit: *limit,
            };
        }
        let at = self.axes.told(Point::new(x, y));
        // Where something crosses or touches, only what is there is asked: there may be many edges and many places.
        let reach = 10.0 * COINCIDENT;
        let is_one_of_many = code_of(error).is_some();
        let mut here: Vec<(f64, &Edge)> = edges
            .iter()
            .filter(|e| !is_one_of_many || e.bounds().grown(reach).holds(Point::new(x, y)))
            .map(|e| (point_edge(Point::new(x, y), e).0, e))
            .collect();
        here.sort_by(|a, b| {
            a.0.total_cmp(&b.0)
                .then(chain::entity_of(a.1).cmp(&chain::entity_of(b.1)))
        });
        let mut entities: Vec<EntityName> = Vec::new();
        for (_, edge) in here.iter().filter(|(distance, _)| *distance <= reach) {
            let name = self.name(edge);
            if entities.len() < 2 && !entities.contains(&name) {
                entities.push(name);
            }
        }
        let nearest = here.first().map(|(_, edge)| self.name(edge));
        match (error, nearest) {
            (GeometryError::Turned { .. }, Some(entity)) => DrawingError::NoArea {
                file,
                at,
                entity: Box::new(entity),
            },
            (GeometryError::Touching { .. }, _) => DrawingError::Touching { file, at, entities },
            (GeometryError::OutOfRange { limit, .. }, Some(entity)) => DrawingError::OutOfRange {
                file,
                entity,
                value: x.abs().max(y.abs()),
                limit: *limit,
            },
            _ => DrawingError::Crossing { file, at, entities },
        }
    }
}
