//! The curves of an SVG drawing.
//!
//! In: the bytes of a file, and what the job says of it. Out: strands in mm with what names them, and findings. Strokes and
//! fills alike are outlines to cut along their middle. A layer that is asked for is a group of that `id` or label.

use std::cell::Cell;
use std::collections::BTreeMap;

use crate::drawing::DrawingOptions;
use crate::drawing::beyond::reach;
use crate::drawing::coverage::{FEW, MANY, list, place, same_layer, unknown_layer};
use crate::drawing::error::DrawingError;
use crate::drawing::faults::Faults;
use crate::drawing::gathered::{Gathered, Unused};
use crate::drawing::limits::Limits;
use crate::drawing::strand::{Frame, Strand};
use crate::drawing::told::Axes;
use crate::format::dxf::EntityName;
use crate::format::shown::shown;
use crate::format::svg::{self, Bounds, Curve, Document, Group, Shape, Window};
use crate::geometry::tolerance::{FLAT_FIT, MAX_COORDINATE};
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
    let refused = |source| DrawingError::Svg {
        file: file.to_owned(),
        source: Box::new(source),
    };
    let mut taken = Taken::new(file, options);
    let document = svg::read(bytes, &bounds(&options.limits), &mut |shape| {
        taken.take(shape)
    });
    let mut document = document.map_err(|source| vec![refused(source)])?;
    let mut faults = Faults::new(file);
    for source in std::mem::take(&mut document.faults) {
        faults.push(refused(source));
    }
    if document.n_more_faults > 0 {
        faults.add_count("D010", document.n_more_faults);
    }
    if !document.cycles.is_empty() {
        for source in document.cycles {
            faults.push(refused(source));
        }
        return Err(faults.into_errors());
    }
    if let Some(layer) = options.layer
        && !document.groups.iter().any(|g| same_layer(g, layer))
    {
        return Err(vec![unknown_layer(file, layer, document.groups)]);
    }
    let Taken {
        mut out,
        told,
        fitted,
        far,
        too_many,
        ..
    } = taken;
    if let Some(error) = too_many {
        return Err(vec![error]);
    }
    far.into_iter().for_each(|error| faults.push(error));
    faults.into_result()?;
    out.axes = if document.sized {
        Axes::Page
    } else {
        Axes::Pixels
    };
    out.unused = unused(&document, &told);
    out.fitted = fitted.get();
    out.findings = findings(&document, &told, &out, &place(file, options.layer));
    Ok(out)
}

/// What the reader of SVG is told of the limits.
fn bounds(limits: &Limits) -> Bounds {
    Bounds {
        nodes: limits.nodes,
        depth: limits.depth,
        elements: limits.entities(),
        text: limits.text,
        matches: limits.matches,
        rules: limits.rules,
        attributes: limits.attributes,
        name_spaces: limits.name_spaces,
    }
}

/// What has become of the shapes so far. Each is made into edges as soon as it is read, and given up.
struct Taken<'a> {
    file: &'a str,
    options: &'a DrawingOptions<'a>,
    out: Gathered,
    told: Told,
    fitted: Cell<bool>,
    room: Cell<u64>,
    /// Shapes beyond the coordinates admitted.
    far: Vec<DrawingError>,
    /// Why the others are not looked at.
    too_many: Option<DrawingError>,
}

impl<'a> Taken<'a> {
    fn new(file: &'a str, options: &'a DrawingOptions<'a>) -> Self {
        Self {
            file,
            options,
            out: Gathered::default(),
            told: Told::default(),
            fitted: Cell::new(false),
            room: Cell::new(options.limits.edges().saturating_add(1)),
            far: Vec::new(),
            too_many: None,
        }
    }

    fn take(&mut self, shape: Shape) {
        if self.too_many.is_some() {
            return;
        }
        match self.told.standing(&shape, self.options.layer) {
            Standing::Used => {}
            Standing::Left => return,
        }
        let origin = self.out.names.len();
        if shape.nonzero && shape.curves.len() > 1 {
            self.out.painted.insert(origin);
        }
        let frame = Frame {
            map: &shape.map,
            source: SourceKind::Drawn.id(origin),
            fitted: &self.fitted,
            room: &self.room,
        };
        let strands = shape.curves.into_iter().map(|curve| match curve {
            Curve::Ellipse(arc) => frame.arc(&arc, None),
            Curve::Course(course) => frame.chain(&course),
        });
        match strands.collect::<Result<Vec<_>, _>>() {
            Ok(strands) => {
                self.told
                    .beyond(shape.window.as_deref(), &shape.name, &strands);
                self.out.add(origin, strands);
            }
            Err(far) => self.far.push(DrawingError::OutOfRange {
                file: self.file.to_owned(),
                entity: shape.name.clone(),
                value: far.0,
                limit: MAX_COORDINATE,
            }),
        }
        self.out.names.push(shape.name);
        let limits = &self.options.limits;
        self.too_many = self.out.check_edges(self.file, limits).err();
    }
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
    /// Shapes outside of the group that is asked for.
    n_elsewhere: usize,
    /// Shapes that reach out of a page or viewport.
    n_beyond: usize,
    /// By how much the farthest of them does, and which it is.
    farthest: Option<(f64, EntityName)>,
}

impl Told {
    /// Notes a shape that reaches out of what holds it.
    fn beyond(&mut self, window: Option<&Window>, name: &EntityName, strands: &[Strand]) {
        let reach = window.map_or(0.0, |window| reach(window, strands));
        if reach <= FLAT_FIT {
            return;
        }
        self.n_beyond += 1;
        if self.farthest.as_ref().is_none_or(|f| f.0 < reach) {
            self.farthest = Some((reach, name.clone()));
        }
    }

    /// Tells what reaches out of what holds it, and how far.
    fn say_beyond(&self, place: &str) -> Option<Finding> {
        let (reach, name) = self.farthest.as_ref()?;
        let what = format!(
            "{place}: {} beyond the page or the viewport around {}, the farthest by {reach:.3} mm ({name}): what a viewer hides there is cut all the same",
            if self.n_beyond == 1 {
                String::from("1 element reaches")
            } else {
                format!("{} elements reach", self.n_beyond)
            },
            if self.n_beyond == 1 { "it" } else { "them" },
        );
        let hint = "trim or delete what lies outside if it is not to be cut";
        Some(Finding::new("D121", what, place, hint).figures(*reach, 0.0))
    }

    fn standing(&mut self, shape: &Shape, asked: Option<&str>) -> Standing {
        let named = |group: &Group| {
            let mut names = group.names.iter().flatten();
            asked.is_some_and(|asked| names.any(|n| same_layer(n, asked)))
        };
        let groups = || std::iter::successors(shape.group.as_deref(), |g| g.parent.as_deref());
        let within = groups().find(|g| named(g));
        if asked.is_some() && within.is_none() {
            self.n_elsewhere += 1;
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

/// What there is, where nothing is cut.
fn unused(document: &Document, told: &Told) -> Vec<Unused> {
    let mut unused = Vec::new();
    let mut say = |what: String, remedy| unused.push(Unused { what, remedy });
    if !told.hidden.is_empty() {
        let what = format!("not shown: {}", list(&told.hidden, FEW));
        say(what, "show what is to be cut");
    }
    if !document.other_branches.is_empty() {
        let what = format!(
            "in other branches of a switch: {}",
            list(&document.other_branches, FEW)
        );
        say(what, "take what is to be cut out of the `switch`");
    }
    if told.n_elsewhere > 0 {
        let groups = document.groups.iter().take(FEW);
        let groups: Vec<String> = groups.map(|g| format!("{:?}", shown(g))).collect();
        let what = format!(
            "elements outside of this group: {}, in groups such as {}",
            told.n_elsewhere,
            groups.join(", ")
        );
        say(
            what,
            "name another group with `drawing_layer`, or move the outline into this one",
        );
    }
    if document.n_without_target > 0 {
        let what = format!("repeating nothing: {}", document.without_target.join(", "));
        say(what, "let `use` refer to an element of this file");
    }
    if !document.empty.is_empty() {
        let what = format!("without any extent: {}", list(&document.empty, FEW));
        say(what, "give it the size that is meant");
    }
    if document.n_defined > 0 {
        let what = format!("shapes defined, but drawn nowhere: {}", document.n_defined);
        say(what, "draw with `use` what `defs` or `symbol` define");
    }
    if !document.left_out.is_empty() {
        let what = format!("drawing no outline: {}", list(&document.left_out, FEW));
        say(
            what,
            "draw the outline with paths or shapes, or convert letters into paths",
        );
    }
    unused
}

/// Findings of what other files would have to bring, and of style sheets.
fn say_unread(document: &Document, say: &mut dyn FnMut(&'static str, String, &str)) {
    if document.n_without_target > 0 {
        let more = document.n_without_target - document.without_target.len();
        let more = match more {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        say(
            "D116",
            format!(
                ": left out, as what it repeats is not in the file: {}{more}",
                document.without_target.join(", ")
            ),
            "let it refer to an element of this file; other files are never read",
        );
    }
    if !document.unread.is_empty() {
        say(
            "D117",
            format!(
                ": not read in style sheets: {}",
                list(&document.unread, MANY)
            ),
            "write rules that hide or fill into a plain style sheet of the drawing; other files are never read",
        );
    }
    if let Some(line) = document.open_sheet {
        say(
            "D118",
            format!(
                ": the style sheet at line {line} is not closed: what follows the open block, comment or string is not read"
            ),
            "close it",
        );
    }
}

/// What is not shown, as it is hidden or stands in a branch of a `switch` that is not drawn.
fn not_shown(document: &Document, told: &Told) -> Option<String> {
    let hidden = (!told.hidden.is_empty()).then(|| list(&told.hidden, MANY));
    let branches = (!document.other_branches.is_empty()).then(|| {
        let branches = list(&document.other_branches, MANY);
        format!("branches of a switch beside the one that is drawn ({branches})")
    });
    let both: Vec<String> = hidden.into_iter().chain(branches).collect();
    (!both.is_empty()).then(|| both.join("; "))
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
                list(&document.left_out, MANY)
            ),
            "convert letters into paths if they are to be cut",
        );
    }
    if !document.not_followed.is_empty() {
        say(
            "D114",
            format!(
                ": not followed, what is cut off is cut all the same: {}",
                list(&document.not_followed, MANY)
            ),
            "trim the outlines themselves",
        );
    }
    if let Some(what) = not_shown(document, told) {
        let what = format!(": left out, as it is not shown: {what}");
        say("D104", what, "show what is to be cut");
    }
    if !document.empty.is_empty() {
        say(
            "D115",
            format!(
                ": left out, as it has no width, height, radius or points, or its transform leaves nothing of it: {}",
                list(&document.empty, MANY)
            ),
            "delete it, or give it the size that is meant",
        );
    }
    say_unread(document, &mut say);
    if told.hidden_but_named {
        say(
            "D108",
            String::from(" is not shown in the drawing; it is used because it is named"),
            "show the group in the drawing",
        );
    }
    out.extend(told.say_beyond(place));
    out
}
