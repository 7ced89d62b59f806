//! The curves of a DXF drawing.
//!
//! In: the bytes of a file, and what the job says of it. Out: strands in mm with what names them, and findings.
//!
//! Steps: 1. `format::dxf` reads entities and blocks; 2. `blocks` places them; 3. `coverage` says which are used; 4. `strand`
//! makes edges of them; 5. `solids` unites what is filled corner by corner.

use std::cell::Cell;

use crate::drawing::blocks::{Placed, placed};
use crate::drawing::coverage::{Hidden, choose, place, same_layer};
use crate::drawing::error::DrawingError;
use crate::drawing::faults::Faults;
use crate::drawing::gathered::Gathered;
use crate::drawing::solids::{United, unite};
use crate::drawing::strand::{Frame, Strand, TooFar, bulged, circular};
use crate::drawing::{DrawingOptions, limits::Limits};
use crate::format::dxf::{self as format, Shape, Spline, Vertex, insunits};
use crate::geometry::affine::Affine;
use crate::geometry::bezier::{Ends, through};
use crate::geometry::course::{Course, Step};
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::nurbs::{Nurbs, NurbsFault};
use crate::geometry::point::Point;
use crate::geometry::tolerance::{COINCIDENT, MAX_COORDINATE};
use crate::geometry::transform::Rotation;
use crate::geometry::{angle, units};
use crate::model::finding::Finding;
use crate::model::source::SourceKind;

/// By how little, in degrees, an arc may miss a full turn and still be a circle: as for angles in plans.
const FULL_TURN_SLACK_DEG: f64 = 1.0e-9;

/// Areas of three or four corners.
const SOLIDS: [&str; 2] = ["SOLID", "TRACE"];

/// Gathers what a file draws.
///
/// # Errors
/// All that is wrong, as far as one fault does not hide the next.
pub(super) fn gather(
    file: &str,
    bytes: &[u8],
    options: &DrawingOptions<'_>,
) -> Result<Gathered, Vec<DrawingError>> {
    let document = format::read(bytes).map_err(|source| {
        vec![DrawingError::File {
            file: file.to_owned(),
            source: Box::new(source),
        }]
    })?;
    let document = &document;
    let mut findings = Vec::new();
    let mut faults = Faults::new(file);
    let where_ = place(file, options.layer);
    let scale = scale(file, document.unit, options, (&mut faults, &mut findings));
    let hidden = Hidden::of(document);
    let limits: &Limits = &options.limits;
    // What is asked for by name is used, frozen or not.
    let asked = |layer: &str| options.layer.is_some_and(|asked| same_layer(asked, layer));
    let is_frozen = |layer: &str| hidden.freezes(layer) && !asked(layer);
    let placed = placed(file, document, limits, &is_frozen)?;
    let coverage = choose(file, document, &hidden, &placed, options.layer)?;
    findings.extend(coverage.findings);
    coverage
        .unsupported
        .into_iter()
        .for_each(|error| faults.push(error));
    let mut out = Gathered::default();
    out.findings = findings;
    out.unused = coverage.unused;
    let used: Vec<&Placed<'_>> = coverage.used.into_iter().map(|i| &placed[i]).collect();
    let n_fitted = draw(file, &used, scale, limits, (&mut out, &mut faults));
    let n_fitted = n_fitted.map_err(|error| vec![error])?;
    if n_fitted > 0 {
        out.findings.push(smooth(n_fitted, &where_));
    }
    faults.into_result()?;
    let is_solid = |item: &Placed<'_>| SOLIDS.contains(&&*item.entity.name.kind);
    let solids = (0..used.len()).filter(|i| is_solid(used[*i])).collect();
    let united = unite(&mut out.strands, &solids, limits.pairs);
    if united.n_solids > 0 {
        let finding = told(united, &where_);
        out.findings.push(finding);
    }
    Ok(out)
}

/// What a unit of the drawing is in mm; a unit that is none is a fault, one that is not told a finding.
fn scale(
    file: &str,
    unit: Option<i64>,
    options: &DrawingOptions<'_>,
    (faults, findings): (&mut Faults, &mut Vec<Finding>),
) -> f64 {
    let Some(code) = unit.filter(|code| *code != 0) else {
        let (mm, where_) = (options.bare_unit_mm, place(file, options.layer));
        let what = format!("{where_}: the drawing tells no unit: taken as {mm} mm, the job's own");
        let hint = "set the drawing's unit ($INSUNITS) to rule out a mistake";
        findings.push(Finding::new("D101", what, where_, hint));
        return mm;
    };
    match insunits::unit(code) {
        Some((mm, _)) => mm,
        None => {
            faults.push(DrawingError::UnknownUnit {
                file: file.to_owned(),
                code,
            });
            1.0
        }
    }
}

/// Makes edges of what is used, entity by entity; of those that make none a fault is told. Gives how many splines had only
/// points to go through.
///
/// # Errors
/// `TooMany` edges.
fn draw(
    file: &str,
    used: &[&Placed<'_>],
    scale: f64,
    limits: &Limits,
    (out, faults): (&mut Gathered, &mut Faults),
) -> Result<usize, DrawingError> {
    let unit = Affine::scaled(scale, scale);
    let mut n_fitted = 0;
    let fitted = Cell::new(false);
    let room = Cell::new(limits.edges().saturating_add(1));
    for item in used {
        let origin = out.names.len();
        out.names.push(item.name());
        let map = item.map.then(&unit);
        let frame = Frame {
            map: &map,
            source: SourceKind::Drawn.id(origin),
            fitted: &fitted,
            room: &room,
        };
        let Some(shape) = &item.entity.shape else {
            continue;
        };
        match strands(shape, &frame, &mut n_fitted) {
            Ok(strands) => out.add(origin, strands),
            Err(fault) => faults.push(fault.error(file, item, scale)),
        }
        out.check_edges(file, limits)?;
    }
    out.fitted = fitted.get();
    Ok(n_fitted)
}

/// What is said of splines that have no control points.
fn smooth(n_fitted: usize, place: &str) -> Finding {
    let what = format!(
        "{place}: {n_fitted} SPLINE {} only points to go through: between them the smooth curve through them is cut",
        if n_fitted == 1 { "has" } else { "have" }
    );
    let hint = "save the drawing with control points if its own curve matters";
    Finding::new("D110", what, place, hint)
}

/// What is said of areas that were united.
fn told(united: United, place: &str) -> Finding {
    let (n, shapes) = (united.n_solids, united.n_shapes);
    let what = format!(
        "{place}: {n} areas of three or four corners that touch or overlap are cut as the {} that they fill together",
        match shapes {
            1 => String::from("1 shape"),
            n => format!("{n} shapes"),
        }
    );
    let hint = "draw the outline itself if an edge between two of them is to be cut";
    Finding::new("D122", what, place, hint)
}

/// Why an entity makes no curve.
enum Fault {
    TooFar(f64),
    Tilted,
    Radius(f64),
    Flat([f64; 2]),
    Squeezed([f64; 2]),
    Spline(NurbsFault),
}

impl From<TooFar> for Fault {
    fn from(far: TooFar) -> Self {
        Self::TooFar(far.0)
    }
}

impl Fault {
    fn error(self, file: &str, item: &Placed<'_>, scale: f64) -> DrawingError {
        let (file, entity) = (file.to_owned(), item.name());
        match self {
            Self::TooFar(value) => DrawingError::OutOfRange {
                file,
                entity,
                value,
                limit: MAX_COORDINATE,
            },
            Self::Tilted => DrawingError::Tilted { file, entity },
            Self::Radius(radius) => DrawingError::NegativeRadius {
                file,
                entity,
                radius: radius * scale,
            },
            Self::Flat(half_axes) => DrawingError::Flat {
                file,
                entity: Box::new(entity),
                half_axes,
            },
            Self::Squeezed(scale) => DrawingError::Squeezed {
                file,
                entity: Box::new(entity),
                scale,
            },
            Self::Spline(source) => DrawingError::Spline {
                file,
                entity,
                source: Box::new(source),
            },
        }
    }
}

/// The strands of an entity; `n_fitted` counts splines that are known by points only.
fn strands(shape: &Shape, frame: &Frame<'_>, n_fitted: &mut usize) -> Result<Vec<Strand>, Fault> {
    let one = |strand: Strand| Ok(vec![strand]);
    match shape {
        Shape::Line { from, to } => one(frame.line(*from, *to)?),
        Shape::Circle { center, radius } => {
            sized(*radius)?;
            let (u, v) = (Point::new(*radius, 0.0), Point::new(0.0, *radius));
            one(frame.arc(&EllipticArc::whole(*center, u, v), None)?)
        }
        Shape::Arc {
            center,
            radius,
            from_deg,
            to_deg,
            mirrored,
        } => {
            sized(*radius)?;
            one(arc(
                frame,
                *center,
                *radius,
                [*from_deg, *to_deg],
                *mirrored,
            )?)
        }
        Shape::Polyline { vertices, closed } => one(polyline(frame, vertices, *closed)?),
        Shape::Ellipse(arc) => {
            wide(&arc.mapped(frame.map))?;
            one(frame.arc(arc, None)?)
        }
        Shape::Spline(spline) => one(splined(frame, spline, n_fitted)?),
        Shape::Filled(outlines) => {
            let curves = outlines.iter().flatten();
            let mut all = Vec::new();
            for curve in curves {
                all.extend(strands(curve, frame, n_fitted)?);
            }
            Ok(all)
        }
        // Where it leaves anything of its block, that has taken its place.
        Shape::Insert(insert) => Err(Fault::Squeezed(insert.scale)),
        Shape::Tilted => Err(Fault::Tilted),
    }
}

fn sized(radius: f64) -> Result<(), Fault> {
    if radius >= 0.0 {
        Ok(())
    } else {
        Err(Fault::Radius(radius))
    }
}

/// Whether an ellipse in mm is more than a line.
fn wide(arc: &EllipticArc) -> Result<(), Fault> {
    let larger = arc.u.length().max(arc.v.length());
    let smaller = arc.u.cross(arc.v).abs() / larger;
    // What has no length at all is left out, and what is too large is told as such.
    if larger > COINCIDENT && larger <= MAX_COORDINATE && smaller <= COINCIDENT {
        return Err(Fault::Flat([larger, smaller]));
    }
    Ok(())
}

fn arc(
    frame: &Frame<'_>,
    center: Point,
    radius: f64,
    deg: [f64; 2],
    mirrored: bool,
) -> Result<Strand, Fault> {
    let turn = deg[1] - deg[0];
    let turn = turn - 360.0 * (turn / 360.0).floor();
    let whole = !(FULL_TURN_SLACK_DEG..=360.0 - FULL_TURN_SLACK_DEG).contains(&turn);
    let flip = |p: Point| if mirrored { Point::new(-p.x, p.y) } else { p };
    let turn = if whole { 360.0 } else { turn };
    let mut arc = circular(center, radius, units::radians(deg[0]), units::radians(turn));
    arc.u = flip(arc.u);
    let ends = deg.map(|d| center + flip(direction(d)) * radius);
    if whole {
        arc = EllipticArc::whole(arc.center, arc.u, arc.v);
    }
    Ok(frame.arc(&arc, Some(ends))?)
}

/// The unit vector at an angle in degrees, exact at quarter turns.
fn direction(deg: f64) -> Point {
    if deg % 90.0 == 0.0 {
        return Rotation::from_degrees(deg).apply(Point::new(1.0, 0.0));
    }
    let (sin, cos) = angle::sin_cos(units::radians(deg));
    Point::new(cos, sin)
}

fn polyline(frame: &Frame<'_>, vertices: &[Vertex], closed: bool) -> Result<Strand, Fault> {
    // Vertices that repeat the one before: the later one's bulge is that of the way onward.
    let mut kept: Vec<Vertex> = Vec::with_capacity(vertices.len());
    let near = |a: Point, b: Point| frame.map.turn(a - b).is_near(Point::default(), COINCIDENT);
    for vertex in vertices {
        match kept.last_mut() {
            Some(last) if near(last.at, vertex.at) => last.bulge = vertex.bulge,
            _ => kept.push(*vertex),
        }
    }
    if closed {
        while kept.len() > 1 && near(kept[0].at, kept[kept.len() - 1].at) {
            kept.pop();
        }
    }
    if kept.len() < 2 {
        return Ok(Strand::Nothing);
    }
    let n = if closed { kept.len() } else { kept.len() - 1 };
    let steps: Vec<Step> = (0..n)
        .map(|i| bulged(kept[i].at, kept[(i + 1) % kept.len()].at, kept[i].bulge))
        .collect();
    let from = kept[0].at;
    Ok(frame.chain(&Course {
        from,
        steps,
        closed,
    })?)
}

fn splined(frame: &Frame<'_>, spline: &Spline, n_fitted: &mut usize) -> Result<Strand, Fault> {
    if spline.points.is_empty() && spline.fit.len() > 1 {
        *n_fitted += 1;
        let ends = if spline.closed {
            Ends::Closed
        } else {
            Ends::Open(spline.start, spline.end)
        };
        let curves = through(&spline.fit, ends);
        let Some(first) = curves.first() else {
            return Ok(Strand::Nothing);
        };
        let steps: Vec<Step> = curves.iter().map(|c| Step::Bezier(*c)).collect();
        let (from, closed) = (first.0[0], spline.closed);
        return Ok(frame.chain(&Course {
            from,
            steps,
            closed,
        })?);
    }
    let (knots, points) = (spline.knots.clone(), spline.points.clone());
    let curve = Nurbs::new(spline.degree, knots, points, spline.weights.clone());
    Ok(frame.spline(&curve.map_err(Fault::Spline)?)?)
}
