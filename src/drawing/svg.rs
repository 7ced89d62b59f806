//! The curves of an SVG drawing.
//!
//! In: the bytes of a file, and what the job says of it. Out: strands in mm with what names them, and findings. Strokes and
//! fills alike are outlines to cut along their middle. A layer that is asked for is a group of that `id` or label.

use std::cell::Cell;
use std::collections::BTreeMap;

use crate::drawing::DrawingOptions;
use crate::drawing::coverage::{list, place, same_layer, unknown_layer};
use crate::drawing::error::DrawingError;
use crate::drawing::gathered::Gathered;
use crate::drawing::strand::Frame;
use crate::format::svg::{self, Bounds, Curve, Document, Group, Shape};
use crate::geometry::tolerance::MAX_COORDINATE;
use crate::model::finding::Finding;
use crate::model::source::SourceKind;

/// Gathers what a file draws.
///
/// # Errors
/// All that is wrong, as far as one fault does not hide the next.
pub(super) fn gather(
    file: &str,
    bytes: &[u8],
    options: &DrawingOptions<'_>,
) -> Result<Gathered, Vec<DrawingError>> {
    let limits = &options.limits;
    let bounds = Bounds {
        bytes: limits.bytes,
        nodes: limits.nodes,
        depth: limits.depth,
        elements: limits.entities(),
        text: limits.text,
        matches: limits.matches,
        rules: limits.rules,
        attributes: limits.attributes,
    };
    let mut document = svg::read(bytes, &bounds).map_err(|faults| {
        let error = |source| DrawingError::Svg {
            file: file.to_owned(),
            source: Box::new(source),
        };
        faults.into_iter().map(error).collect::<Vec<_>>()
    })?;
    if let Some(layer) = options.layer
        && !document.groups.iter().any(|g| same_layer(g, layer))
    {
        return Err(vec![unknown_layer(file, layer, document.groups)]);
    }
    let mut out = Gathered::default();
    let mut errors = Vec::new();
    let mut told = Told::default();
    let fitted = Cell::new(false);
    let room = Cell::new(limits.edges().saturating_add(1));
    for shape in std::mem::take(&mut document.shapes) {
        match told.standing(&shape, options.layer) {
            Standing::Used => {}
            Standing::Left => continue,
        }
        let origin = out.names.len();
        out.names.push(shape.name.clone());
        if shape.nonzero && shape.curves.len() > 1 {
            out.painted.insert(origin);
        }
        let frame = Frame {
            map: &shape.map,
            source: SourceKind::Drawn.id(origin),
            fitted: &fitted,
            room: &room,
        };
        let strands = shape.curves.into_iter().map(|curve| match curve {
            Curve::Ellipse(arc) => frame.arc(&arc, None),
            Curve::Course(course) => frame.chain(&course),
        });
        match strands.collect::<Result<Vec<_>, _>>() {
            Ok(strands) => out.add(origin, strands),
            Err(far) => errors.push(DrawingError::OutOfRange {
                file: file.to_owned(),
                entity: shape.name,
                value: far.0,
                limit: MAX_COORDINATE,
            }),
        }
        out.check_edges(file, limits).map_err(|error| vec![error])?;
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    out.fitted = fitted.get();
    out.findings = findings(&document, &told, &out, &place(file, options.layer));
    Ok(out)
}

/// Whether a shape is used.
enum Standing {
    Used,
    Left,
}

/// What is left out of what is asked for.
#[derive(Default)]
struct Told {
    hidden: BTreeMap<String, usize>,
    hidden_but_named: bool,
}

impl Told {
    fn standing(&mut self, shape: &Shape, asked: Option<&str>) -> Standing {
        let named = |group: &Group| {
            let mut names = group.names.iter().flatten();
            asked.is_some_and(|asked| names.any(|n| same_layer(n, asked)))
        };
        let groups = || std::iter::successors(shape.group.as_deref(), |g| g.parent.as_deref());
        let within = groups().find(|g| named(g));
        if asked.is_some() && within.is_none() {
            return Standing::Left;
        }
        let Some(at) = shape.hidden_at else {
            return Standing::Used;
        };
        // What the named group itself, or one around it, hides is used because it is named.
        if within.is_some_and(|group| at <= group.depth) {
            self.hidden_but_named = true;
            return Standing::Used;
        }
        *self.hidden.entry(shape.name.kind.to_string()).or_insert(0) += 1;
        Standing::Left
    }
}

fn findings(document: &Document, told: &Told, gathered: &Gathered, place: &str) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut say = |code, what: String, hint: &str| {
        out.push(Finding::new(code, format!("{place}{what}"), place, hint));
    };
    if !document.sized {
        let size = gathered.bounds();
        say(
            "D113",
            format!(
                ": the page has no size in mm or another unit: its units are taken as CSS pixels, 96 to the inch, and the drawing measures {:.2} × {:.2} mm",
                size.width(),
                size.depth()
            ),
            "give the outermost element `width`, `height` and `viewBox` to rule out a mistake",
        );
    }
    if !document.left_out.is_empty() {
        say(
            "D102",
            format!(
                ": left out, as it draws no outline: {}",
                list(&document.left_out)
            ),
            "convert letters into paths if they are to be cut",
        );
    }
    if !document.not_followed.is_empty() {
        say(
            "D114",
            format!(
                ": not followed, what is cut off is cut all the same: {}",
                list(&document.not_followed)
            ),
            "trim the outlines themselves",
        );
    }
    if !told.hidden.is_empty() {
        say(
            "D104",
            format!(": left out, as it is not shown: {}", list(&told.hidden)),
            "show what is to be cut",
        );
    }
    if told.hidden_but_named {
        say(
            "D108",
            String::from(" is not shown in the drawing; it is used because it is named"),
            "show the group in the drawing",
        );
    }
    out
}
