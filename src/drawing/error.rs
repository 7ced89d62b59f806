//! What the drawing stage refuses, with the place in the drawing.

use crate::drawing::limits::Limit;
use crate::drawing::told::Told;
use crate::format::dxf::EntityName;
use crate::format::dxf::error::DxfError;
use crate::format::file_kind::FileKind;
use crate::format::shown::shown;
use crate::format::svg::error::SvgError;
use crate::geometry::nurbs::NurbsFault;
use crate::model::fault::{Fault, Place};

/// Code of outlines that cross.
pub(super) const CROSSING: &str = "D023";
/// Code of outlines that touch.
pub(super) const TOUCHING: &str = "D024";

/// A place in a drawing and the entity that is there.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Where.
    pub at: Told,
    /// The entity.
    pub entity: EntityName,
}

impl std::fmt::Display for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}, an end of {}", self.at, self.entity)
    }
}

/// Why a drawing is refused. `file` is the drawing's name as the job has it.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// A file of no bytes, or of blanks only.
    #[error("{file}: the file is empty")]
    Empty {
        /// The drawing.
        file: String,
    },
    /// Too large to be read.
    #[error("{file}: the file has {bytes} bytes; at most {limit} are read")]
    TooLarge {
        /// The drawing.
        file: String,
        /// Its size.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
    /// Something else under the name of a drawing.
    #[error("{file}: the file is not {}: it looks like {}", drawing(*format), kind.name())]
    OtherFormat {
        /// The drawing.
        file: String,
        /// What its name says.
        format: FileKind,
        /// What it is.
        kind: FileKind,
    },
    /// Further faults of a code.
    #[error("{file}: {}{count} more {} not listed", if *least { "at least " } else { "" }, if *count == 1 { "fault of this kind is" } else { "faults of this kind are" })]
    More {
        /// The drawing.
        file: String,
        /// Their code.
        code: &'static str,
        /// How many.
        count: usize,
        /// Whether there may be more.
        least: bool,
    },
    /// The file itself, a DXF, cannot be read.
    #[error("{file}: {source}")]
    File {
        /// The drawing.
        file: String,
        /// Why.
        source: Box<DxfError>,
    },
    /// The file itself, an SVG, cannot be read.
    #[error("{file}: {source}")]
    Svg {
        /// The drawing.
        file: String,
        /// Why.
        source: Box<SvgError>,
    },
    /// The layer that is asked for is not in the file.
    #[error("{file}: the drawing has no layer {layer:?}{}", nearest.as_ref().map(|n| format!(", but one named {n:?}")).unwrap_or_default())]
    UnknownLayer {
        /// The drawing.
        file: String,
        /// As the job writes it.
        layer: String,
        /// The one that may be meant.
        nearest: Option<String>,
        /// All that the file has.
        known: Vec<String>,
    },
    /// A unit that the format does not have.
    #[error("{file}: the drawing's unit, $INSUNITS {code}, is not one of the format's")]
    UnknownUnit {
        /// The drawing.
        file: String,
        /// The code.
        code: i64,
    },
    /// Entities that draw, but are not read yet.
    #[error("{file}: {} not yet supported: {first}{}", plural(*count, &shown(&first.kind)), if *count > 1 { " is the first" } else { "" })]
    UnsupportedEntity {
        /// The drawing.
        file: String,
        /// How many of this kind.
        count: usize,
        /// The first.
        first: EntityName,
    },
    /// A curve that does not lie in the plane of the drawing.
    #[error("{file}: {entity} does not lie in the x-y plane")]
    Tilted {
        /// The drawing.
        file: String,
        /// Whose.
        entity: EntityName,
    },
    /// A coordinate or a radius beyond what is admitted.
    #[error("{file}: {entity} reaches {value:e} mm; at most {limit:e} are admitted")]
    OutOfRange {
        /// The drawing.
        file: String,
        /// Whose.
        entity: EntityName,
        /// How far.
        value: f64,
        /// The limit.
        limit: f64,
    },
    /// An INSERT of a block that is not in the file.
    #[error(
        "{file}: {entity} places the block {:?}, which the drawing does not have",
        shown(block)
    )]
    MissingBlock {
        /// The drawing.
        file: String,
        /// The block.
        block: String,
        /// What places it.
        entity: Box<EntityName>,
    },
    /// Something inside of itself.
    #[error("{file}: {} places itself: {}", names[0], names.join(", which places "))]
    Cycle {
        /// The drawing.
        file: String,
        /// The members of the circle, the first one again at the end.
        names: Vec<String>,
    },
    /// Things inside of things, too many levels of them.
    #[error("{file}: {entity} lies more than {limit} levels deep")]
    TooDeep {
        /// The drawing.
        file: String,
        /// The limit.
        limit: usize,
        /// Where it is exceeded.
        entity: EntityName,
    },
    /// More entities or edges than are admitted.
    #[error("{file}: the drawing comes to {count} {what}; at most {limit} are admitted")]
    TooMany {
        /// The drawing.
        file: String,
        /// Entities, elements or edges, as the limit is called.
        what: &'static str,
        /// How many.
        count: u64,
        /// The limit.
        limit: u64,
    },
    /// More edges within the boxes of others than are compared.
    #[error(
        "{file}: curves lie so close that more than the {limit} pairs of edges that are admitted would have to be compared, the last of them at ({x:.3}, {y:.3})"
    )]
    Dense {
        /// The drawing.
        file: String,
        /// Where, x.
        x: f64,
        /// Where, y.
        y: f64,
        /// The limit.
        limit: u64,
    },
    /// The numbers of a spline make no curve.
    #[error("{file}: {entity} is no curve: {source}")]
    Spline {
        /// The drawing.
        file: String,
        /// Whose.
        entity: EntityName,
        /// Why.
        source: Box<NurbsFault>,
    },
    /// An ellipse that is a line.
    #[error("{file}: {entity} encloses nothing: its half axes measure {:.3} mm and {:.3} mm", half_axes[0], half_axes[1])]
    Flat {
        /// The drawing.
        file: String,
        /// Whose.
        entity: Box<EntityName>,
        /// The larger one and the smaller one, in mm.
        half_axes: [f64; 2],
    },
    /// An INSERT that leaves nothing of its block.
    #[error("{file}: {entity} leaves nothing of its block: it scales it by {} and {}", scale[0], scale[1])]
    Squeezed {
        /// The drawing.
        file: String,
        /// Which.
        entity: Box<EntityName>,
        /// Along x and y.
        scale: [f64; 2],
    },
    /// A radius below 0.
    #[error("{file}: {entity} has the radius {radius}")]
    NegativeRadius {
        /// The drawing.
        file: String,
        /// Whose.
        entity: EntityName,
        /// In mm.
        radius: f64,
    },
    /// A chain of entities that does not close.
    #[error("{file}: the outline{} is open by {gap:.3} mm: from {}, to {}", in_layer(&ends[0].entity), ends[0], ends[1])]
    Open {
        /// The drawing.
        file: String,
        /// Distance of the two ends.
        gap: f64,
        /// A loose end, and the one nearest to it.
        ends: Box<[Spot; 2]>,
        /// How many further gaps are not told.
        more: usize,
    },
    /// More loose ends in one place than an outline can have.
    #[error(
        "{file}: {count} loose ends lie within {within} mm of one another at {at}, one of them of {entity}"
    )]
    Crowded {
        /// The drawing.
        file: String,
        /// How many.
        count: usize,
        /// In what distance.
        within: f64,
        /// Where.
        at: Told,
        /// One of them.
        entity: Box<EntityName>,
    },
    /// A closed chain without an area.
    #[error("{file}: the outline at {at}, of {entity}, encloses no area")]
    NoArea {
        /// The drawing.
        file: String,
        /// Where.
        at: Told,
        /// Its first entity.
        entity: Box<EntityName>,
    },
    /// Outlines that cross themselves or one another.
    #[error("{file}: outlines cross at {at}{}", of(entities))]
    Crossing {
        /// The drawing.
        file: String,
        /// Where.
        at: Told,
        /// The entities there.
        entities: Vec<EntityName>,
    },
    /// Outlines that touch themselves or one another.
    #[error("{file}: outlines touch at {at}{}", of(entities))]
    Touching {
        /// The drawing.
        file: String,
        /// Where.
        at: Told,
        /// The entities there.
        entities: Vec<EntityName>,
    },
    /// Nothing that encloses an area.
    #[error("{file}: {} holds no closed outline; {found}", layer.as_ref().map_or(String::from("the drawing"), |l| format!("layer {:?}", shown(l))))]
    NoOutline {
        /// The drawing.
        file: String,
        /// The layer that is asked for.
        layer: Option<String>,
        /// What is there instead.
        found: String,
        /// What to do about it.
        remedy: &'static str,
    },
}

/// What to do about an SVG file that cannot be read.
fn svg_remedy(error: &SvgError) -> String {
    match error {
        SvgError::NotSvg { .. } => String::from("export the drawing as SVG, not compressed"),
        SvgError::Xml { .. } => {
            String::from("mend the place in an editor of text, or save the drawing again")
        }
        SvgError::OutsideEntity { .. } => String::from(
            "write what it stands for into the drawing, or save it without a document type",
        ),
        SvgError::TooMany {
            what: what @ ("matches" | "rules"),
            count,
            limit,
        } => format!(
            "save the drawing with plain attributes instead of style sheets{}",
            or_admit(what, count.unwrap_or(2 * limit))
        ),
        SvgError::TooMany {
            what: what @ ("attributes" | "name-spaces"),
            count,
            limit,
        } => format!(
            "save the drawing as plain SVG{}",
            or_admit(what, count.unwrap_or(2 * limit))
        ),
        SvgError::TooMany { what, count, limit } => format!(
            "ungroup, or look for what is repeated more often than meant{}",
            or_admit(what, count.unwrap_or(2 * limit))
        ),
        SvgError::NameSpaces { .. } => String::from(
            "save the drawing as plain SVG, or declare each name space once, in the outermost element",
        ),
        SvgError::Cycle { .. } => String::from("let it refer to something else"),
        SvgError::Entities { grown, .. } => format!(
            "save the drawing without a document type{}",
            or_admit("text", *grown)
        ),
        SvgError::EntityCycle { .. } | SvgError::EntityLevels { .. } => {
            String::from("save the drawing without a document type")
        }
        SvgError::Attribute { .. } => String::from("correct the value, or draw the element anew"),
    }
}

/// `a DXF drawing`.
fn drawing(format: FileKind) -> String {
    format!("{} drawing", format.name())
}

/// What to do about a file that is something else than its name says.
fn other_remedy(kind: FileKind) -> String {
    String::from(match kind {
        FileKind::Dxf => "let its name end in `.dxf`",
        FileKind::Svg => "let its name end in `.svg`",
        FileKind::Dwg => "save it as DXF (R12 to R2018)",
        FileKind::Pdf => {
            "export the drawing as DXF or SVG with the program that it was drawn with; a PDF is not read"
        }
        FileKind::Zip | FileKind::Gzip => "unpack it, and name the drawing that it holds",
        FileKind::Png | FileKind::Jpeg => {
            "a picture holds no outlines: draw them over it, and save them as DXF or SVG"
        }
        FileKind::Xml => "export the drawing as DXF or SVG",
        FileKind::Wide(_) => "save the drawing as text in UTF-8, or in letters of one byte",
    })
}

/// What to do about a DXF that cannot be read.
fn dxf_remedy(error: &DxfError) -> String {
    String::from(match error {
        DxfError::NotDxf => "export the drawing as DXF (R12 to R2018, as text or binary)",
        DxfError::Truncated { .. } => "copy or export the drawing again: its end is missing",
        DxfError::NotFinite { .. } | DxfError::Lost { .. } => {
            "delete the entity or draw it anew; or save the drawing again, as DXF R2000 or R12"
        }
        _ => "mend the place in an editor of text; or save the drawing again, as DXF R2000 or R12",
    })
}

/// ` in layer FACE`; nothing where the format has no layers.
fn in_layer(entity: &EntityName) -> String {
    match &*entity.layer {
        "" => String::new(),
        layer => format!(" in layer {}", shown(layer)),
    }
}

/// ` or admit more with …`, as far as that can be admitted.
fn or_admit(what: &str, count: u64) -> String {
    let limit = Limit::ALL.into_iter().find(|l| l.name() == what);
    match limit {
        Some(limit) if count <= limit.most() => {
            format!(", or admit more with `--allow {what}={count}`")
        }
        _ => String::new(),
    }
}

fn plural(count: usize, kind: &str) -> String {
    match count {
        1 if kind.starts_with(['A', 'E', 'I', 'O', 'U']) => format!("an {kind} is"),
        1 => format!("a {kind} is"),
        n => format!("{n} {kind} entities are"),
    }
}

fn of(entities: &[EntityName]) -> String {
    let names: Vec<String> = entities.iter().map(EntityName::to_string).collect();
    if names.is_empty() {
        String::new()
    } else {
        format!(": {}", names.join(" and "))
    }
}

impl DrawingError {
    /// Code, place and remedy.
    pub fn fault(&self) -> Fault {
        // The place names the file, so the text need not.
        let text = self.to_string();
        let what = text.strip_prefix(&format!("{}: ", self.file()));
        let what = what.unwrap_or(&text).to_owned();
        let place = Place::File(self.file().to_owned());
        Fault::new(self.code(), what, place).hint(self.remedy())
    }

    /// The drawing's name.
    pub fn file(&self) -> &str {
        match self {
            Self::Empty { file }
            | Self::TooLarge { file, .. }
            | Self::OtherFormat { file, .. }
            | Self::More { file, .. }
            | Self::Flat { file, .. }
            | Self::Squeezed { file, .. }
            | Self::File { file, .. }
            | Self::Svg { file, .. }
            | Self::UnknownLayer { file, .. }
            | Self::UnknownUnit { file, .. }
            | Self::UnsupportedEntity { file, .. }
            | Self::Tilted { file, .. }
            | Self::OutOfRange { file, .. }
            | Self::MissingBlock { file, .. }
            | Self::Cycle { file, .. }
            | Self::TooDeep { file, .. }
            | Self::TooMany { file, .. }
            | Self::Dense { file, .. }
            | Self::Spline { file, .. }
            | Self::NegativeRadius { file, .. }
            | Self::Open { file, .. }
            | Self::Crowded { file, .. }
            | Self::NoArea { file, .. }
            | Self::Crossing { file, .. }
            | Self::Touching { file, .. }
            | Self::NoOutline { file, .. } => file,
        }
    }

    pub(super) fn code(&self) -> &'static str {
        match self {
            Self::Empty { .. } => "D001",
            Self::TooLarge { .. } => "D002",
            Self::OtherFormat { .. } => "D003",
            Self::More { code, .. } => code,
            Self::Flat { .. } | Self::Squeezed { .. } => "D029",
            Self::File { source, .. } => match **source {
                DxfError::NotDxf => "D003",
                DxfError::Malformed { .. } => "D004",
                DxfError::Truncated { .. } => "D005",
                DxfError::NotFinite { .. } => "D006",
                DxfError::Broken { .. } => "D007",
                DxfError::Lost { .. } => "D008",
            },
            Self::Svg { source, .. } => match **source {
                SvgError::NotSvg { .. } => "D003",
                SvgError::Xml { .. } => "D004",
                SvgError::Entities { .. } | SvgError::EntityLevels { .. } => "D028",
                SvgError::OutsideEntity { .. } => "D030",
                SvgError::TooMany { .. } | SvgError::NameSpaces { .. } => "D027",
                SvgError::Cycle { .. } | SvgError::EntityCycle { .. } => "D018",
                SvgError::Attribute { .. } => "D010",
            },
            Self::UnknownLayer { .. } => "D011",
            Self::UnknownUnit { .. } => "D012",
            Self::UnsupportedEntity { .. } => "D013",
            Self::Tilted { .. } => "D014",
            Self::OutOfRange { .. } => "D015",
            Self::NegativeRadius { .. } => "D016",
            Self::MissingBlock { .. } => "D017",
            Self::Cycle { .. } => "D018",
            Self::Spline { .. } => "D019",
            Self::TooDeep { .. } => "D026",
            Self::TooMany { .. } | Self::Dense { .. } => "D027",
            Self::Open { .. } => "D020",
            Self::Crowded { .. } => "D021",
            Self::NoArea { .. } => "D022",
            Self::Crossing { .. } => CROSSING,
            Self::Touching { .. } => TOUCHING,
            Self::NoOutline { .. } => "D025",
        }
    }

    fn remedy(&self) -> String {
        match self {
            Self::Empty { .. } => {
                String::from("save the drawing again; an export that failed leaves an empty file")
            }
            Self::TooLarge { bytes, .. } => format!(
                "leave out of the file what is not cut, or admit more with `--allow bytes={bytes}`"
            ),
            Self::OtherFormat { kind, .. } => other_remedy(*kind),
            Self::More { .. } => String::from("mend those above first"),
            Self::Flat { .. } => {
                String::from("delete it, draw it as a line, or give it the width that is meant")
            }
            Self::Squeezed { .. } => String::from("delete it, or give it the scale that is meant"),
            Self::File { source, .. } => dxf_remedy(source),
            Self::Svg { source, .. } => svg_remedy(source),
            Self::UnknownLayer { nearest, known, .. } => match nearest {
                Some(name) => format!("write `drawing_layer = {name:?}`"),
                None => format!("the drawing's layers are: {}", known.join(", ")),
            },
            Self::UnknownUnit { .. } => {
                String::from("set the drawing's unit to millimetres or inches")
            }
            Self::UnsupportedEntity { first, .. } if first.kind.ends_with("mesh)") => {
                String::from("a mesh is a surface: delete it, or draw its outline as a polyline")
            }
            Self::UnsupportedEntity { .. } => String::from(
                "delete it, explode it into lines and arcs, or move it to a layer that is switched off",
            ),
            Self::MissingBlock { .. } => {
                String::from("bind outside references into the drawing, or delete what places them")
            }
            Self::Cycle { .. } => String::from("take one of them out of the circle"),
            Self::Spline { .. } => String::from("draw it anew, or convert it into arcs"),
            Self::TooDeep { limit, .. } => format!(
                "explode blocks or groups{}",
                or_admit("depth", 2 * *limit as u64)
            ),
            Self::TooMany { what, count, .. } => format!(
                "look for an array that is larger than meant{}",
                or_admit(what, *count)
            ),
            Self::Dense { limit, .. } => format!(
                "delete hatching and other fine detail that is no outline{}",
                or_admit("pairs", 2 * *limit)
            ),
            Self::Tilted { .. } => {
                String::from("flatten the drawing: set all z to 0 and all extrusions to (0, 0, 1)")
            }
            Self::OutOfRange { .. } => {
                String::from("look at the drawing's unit, and move the drawing to the origin")
            }
            Self::NegativeRadius { .. } => String::from("delete the entity or draw it anew"),
            Self::Open { more: 0, .. } => {
                String::from("join the two ends, or delete what is no outline")
            }
            Self::Open { more, .. } => format!(
                "join the ends, or delete what is no outline; {more} more {} not listed",
                if *more == 1 { "gap is" } else { "gaps are" }
            ),
            Self::Crowded { .. } => {
                String::from("delete hatching and other fine detail that is no outline")
            }
            Self::NoArea { .. } => String::from("delete it"),
            Self::Crossing { .. } => String::from(
                "trim the outlines, or put those of other shapes on a layer of their own",
            ),
            Self::Touching { .. } => String::from("move them apart, or join them into one outline"),
            Self::NoOutline { remedy, .. } => (*remedy).to_owned(),
        }
    }
}
