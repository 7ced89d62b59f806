//! Why a layer cannot be split as asked.

use thiserror::Error;

use crate::geometry::error::GeometryError;
use crate::geometry::point::Point;
use crate::model::cutter::Axis;
use crate::model::fault::{Fault, Place};

/// A base line: which layer, which way, where.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The layer's name.
    pub layer: String,
    /// The way the seam runs.
    pub runs: Axis,
    /// The position of its base line.
    pub at: f64,
}

impl std::fmt::Display for Line {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let across = self.runs.other().word();
        write!(
            f,
            "layer `{}`: the seam at {across} = {:.2}",
            self.layer, self.at
        )
    }
}

/// A split that breaks a limit. Places are in mm in the bed frame.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum SeamFault {
    /// A seam passes too near to a locating hole or a relief.
    #[error(
        "{line} passes {measured:.2} mm from the {what} at ({:.2}, {:.2}); `keep_clear` asks for {limit:.2}",
        place.x, place.y
    )]
    TooNear {
        /// The seam.
        line: Line,
        /// `locating hole` or `relief`, with its number in the job.
        what: String,
        /// Its middle.
        place: Point,
        /// Distance of the seam from its edge; negative where it passes through.
        measured: f64,
        /// `keep_clear`.
        limit: f64,
    },
    /// A seam runs beside an edge with too little material between.
    #[error(
        "{line} leaves {measured:.2} mm of material beside the {what} at ({:.2}, {:.2}); `min_web` asks for {limit:.2}",
        place.x, place.y
    )]
    ThinWeb {
        /// The seam.
        line: Line,
        /// What the edge came from.
        what: String,
        /// Where on the seam.
        place: Point,
        /// Width of the material.
        measured: f64,
        /// `min_web`.
        limit: f64,
    },
    /// A seam meets an edge at too flat an angle.
    #[error(
        "{line} meets the {what} at ({:.2}, {:.2}) at {measured:.1}°; {limit:.1}° is the least",
        place.x, place.y
    )]
    FlatAngle {
        /// The seam.
        line: Line,
        /// What the edge came from.
        what: String,
        /// Where.
        place: Point,
        /// The angle in degrees.
        measured: f64,
        /// The least angle in degrees.
        limit: f64,
    },
    /// A base line lies outside the layer, or nearer than coincidence to another.
    #[error("{line} cuts nothing, or not in order")]
    Idle {
        /// The seam.
        line: Line,
    },
    /// The split does not have one list of seams across for each strip.
    #[error("layer `{layer}`: {strips} strips and {lists} lists of seams across them")]
    Lists {
        /// The layer.
        layer: String,
        /// Strips between the through seams.
        strips: usize,
        /// Lists.
        lists: usize,
    },
    /// Cells are joined that have no side in common, or one that leaves a neck narrower than `min_web`.
    #[error(
        "layer `{layer}`: cells {before} and {behind} beside seam {seam} have no {least:.2} mm of a side in common, which `min_web` asks for"
    )]
    NoSide {
        /// The layer.
        layer: String,
        /// The through seam, from 1.
        seam: usize,
        /// The cell before it, from 1.
        before: usize,
        /// The cell behind it, from 1.
        behind: usize,
        /// `min_web` of the layer, mm.
        least: f64,
    },
    /// Seams are asked of a layer that is to stay whole.
    #[error("layer `{layer}` is to stay whole")]
    KeptWhole {
        /// The layer.
        layer: String,
    },
    /// A piece that seams make is too small.
    #[error(
        "layer `{layer}`: the piece around ({:.2}, {:.2}) measures {width:.2} × {depth:.2} mm; `min_piece` asks for {limit:.2} both ways",
        place.x, place.y
    )]
    PieceTooSmall {
        /// The layer.
        layer: String,
        /// The middle of the piece's box.
        place: Point,
        /// Extent along x.
        width: f64,
        /// Extent along y.
        depth: f64,
        /// `min_piece`.
        limit: f64,
    },
    /// The gap parts a piece in two, or leaves nothing of it.
    #[error(
        "layer `{layer}`: with seam faces drawn in by {by:.3} mm the piece around ({:.2}, {:.2}) falls into {parts} parts",
        place.x, place.y
    )]
    GapParts {
        /// The layer.
        layer: String,
        /// The middle of the piece's box.
        place: Point,
        /// Half the gap.
        by: f64,
        /// How many parts.
        parts: usize,
    },
    /// The pieces do not add up to the layer.
    #[error(
        "layer `{layer}`: the pieces measure {found_mm2:.3} mm² in all, the layer {expected_mm2:.3} mm²"
    )]
    Lost {
        /// The layer.
        layer: String,
        /// Area of the pieces.
        found_mm2: f64,
        /// Area of the layer.
        expected_mm2: f64,
    },
    /// Geometry gave up.
    #[error("layer `{layer}`: the pieces could not be cut out")]
    Shape {
        /// The layer.
        layer: String,
        /// What geometry says.
        #[source]
        source: GeometryError,
    },
}

impl SeamFault {
    /// Code, place and remedy.
    pub fn fault(&self) -> Fault {
        let to = |least: f64| ((least * 100.0).floor() / 100.0).max(0.0);
        let (code, key, hint) = match self {
            Self::TooNear { measured, .. } => (
                "S201",
                "seams.keep_clear",
                format!("a `keep_clear` of {} or less would allow it", to(*measured)),
            ),
            Self::ThinWeb { measured, .. } => (
                "S202",
                "seams.min_web",
                format!("a `min_web` of {} or less would allow it", to(*measured)),
            ),
            Self::FlatAngle { .. } => (
                "S203",
                "seams",
                "move the opening, or let the seam run elsewhere".to_owned(),
            ),
            Self::Idle { .. } | Self::Lists { .. } | Self::NoSide { .. } => (
                "S204",
                "seams",
                "seams lie in ascending order inside the layer".to_owned(),
            ),
            Self::KeptWhole { .. } => (
                "S205",
                "layer",
                "give the layer a seam pattern other than \"none\"".to_owned(),
            ),
            Self::PieceTooSmall { width, depth, .. } => (
                "S206",
                "seams.min_piece",
                format!(
                    "a `min_piece` of {} or less would allow it",
                    to(width.min(*depth))
                ),
            ),
            Self::GapParts { .. } => (
                "S207",
                "seams.gap",
                "a smaller `gap` would keep it in one".to_owned(),
            ),
            Self::Lost { .. } | Self::Shape { .. } => (
                "S208",
                "layer",
                "look at the layer's drawing for edges that touch".to_owned(),
            ),
        };
        Fault::new(code, self.to_string(), Place::Key(key.to_owned())).hint(hint)
    }
}
