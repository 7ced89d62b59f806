//! What the trade would say of the teeth.
//!
//! In: a layer's teeth as laid, what was asked. Out: a finding with the figure for each rule that they break: widths of heads,
//! necks and fingers, angles of flanks, fingers as deep as wide, radii, distances from edges. That tail and pin of a dovetail
//! are equal and its slope lies between 1:3 and 1:6 holds by its shape. Which sizes of teeth break no rule is told by `remedy`.
//!
//! Sources: heads of 4 × thickness and 10 mm, necks of 2 × thickness and 6 mm, fingers of one thickness and more, 10 to 40
//! wide and as deep as wide, corners of 0.5 mm or more in sheet plastic, no tooth nearer to a corner, hole or pocket than
//! 2 × thickness, and that an inside corner has at least the tool's radius with 5 % to spare: common practice without a
//! published source. Necks of knobs and tails no longer than wide: carried over from fingers; the knob of common practice has
//! a head that sits on the seam, with no neck below it at all. Flank angles of 30° to 60°: calculated from the play that they leave.

use crate::geometry::units;
use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::seam::{Pattern, Seam};
use crate::seam::layout::Layout;
use crate::seam::options::Options;
use crate::seam::pattern::{Shape, advised_width, finger, least_width};
use crate::seam::teeth::{CLEAR_OF_THICKNESS, Tooth, least_run};

/// Least radius of corners that the trade advises.
const ADVISED_RADIUS: f64 = 0.5;
/// A tool turns in an inside corner of so many times its radius.
const ROOM_FOR_TOOL: f64 = 1.05;
/// Angles of wave and zigzag flanks from the base line, degrees.
const FLANKS_DEG: (f64, f64) = (30.0, 60.0);
/// A finger counts as deep as wide up to this share of its width.
const AS_DEEP: f64 = 0.1;
/// Rounding of a figure.
const SLACK: f64 = 1e-6;

/// What is looked at.
struct Look<'a> {
    layer: &'a Layer,
    pattern: Pattern,
    teeth: Vec<Tooth>,
    options: &'a Options,
    place: String,
    /// Length of the longest seam.
    longest: f64,
}

/// Findings about the teeth of a layer.
pub(crate) fn findings(
    layer: &Layer,
    layout: &Layout,
    seams: &[Seam],
    options: &Options,
) -> Vec<Finding> {
    let pattern = layer.pattern.filter(|p| *p != Pattern::Straight);
    let Some(pattern) = pattern.filter(|_| !seams.is_empty()) else {
        return Vec::new();
    };
    let look = Look {
        layer,
        pattern,
        teeth: layout.teeth().copied().collect(),
        options,
        place: format!("layer {}", layer.name),
        longest: seams.iter().map(|s| s.path.length()).fold(0.0, f64::max),
    };
    let told = [
        look.flat(),
        look.narrow(),
        look.wide(),
        look.flanks(),
        look.depth(),
        look.slender(),
        look.near(),
        look.radius(),
        look.tool(),
    ];
    told.into_iter().flatten().collect()
}

/// Whether teeth of a shape, wherever they stand, break none of the trade's rules.
pub(crate) fn is_advised(layer: &Layer, shape: Shape, options: &Options) -> bool {
    let look = Look {
        layer,
        pattern: shape.pattern(),
        teeth: vec![Tooth {
            u: 0.0,
            shape,
            near: f64::INFINITY,
        }],
        options,
        place: String::new(),
        longest: 0.0,
    };
    let told = [
        look.narrow(),
        look.wide(),
        look.flanks(),
        look.depth(),
        look.slender(),
        look.tool(),
    ];
    told.iter().all(Option::is_none)
}

impl Look<'_> {
    fn finding(&self, code: &'static str, what: String, hint: String) -> Finding {
        Finding::new(code, what, &self.place, hint)
    }

    /// The least and the greatest of a measure of the teeth; `None` where there are none.
    fn span(&self, measure: &dyn Fn(&Tooth) -> Option<f64>) -> Option<(f64, f64)> {
        self.teeth.iter().filter_map(measure).fold(None, |s, x| {
            Some(s.map_or((x, x), |(low, high): (f64, f64)| (low.min(x), high.max(x))))
        })
    }

    /// The parts whose width counts, and of what.
    fn parts(&self) -> &'static str {
        match self.pattern {
            Pattern::Knob => "heads",
            Pattern::Dovetail => "necks",
            Pattern::Finger => "fingers",
            Pattern::Straight | Pattern::Wave | Pattern::Zigzag => "teeth",
        }
    }

    /// No tooth at all.
    fn flat(&self) -> Option<Finding> {
        let needed = least_run(self.layer, self.options);
        let what = format!(
            "the seams of layer `{}` stay flat: no tooth fits between its edges, openings and seams; the longest seam runs {:.2} mm through material, {}",
            self.layer.name,
            self.longest,
            needed.map_or_else(
                || "and no tooth would be strong enough".to_owned(),
                |n| format!(
                    "and the smallest tooth takes {n:.2} with its distances from both ends"
                )
            )
        );
        let hint = format!(
            "wider webs make room for teeth; {} below {:.1} mm are not laid unless asked",
            self.parts(),
            least_width(self.pattern, self.layer.thickness)
        );
        let told = || {
            let found = self.finding("S102", what, hint);
            match needed {
                Some(n) => found.figures(self.longest, n),
                None => found,
            }
        };
        self.teeth.is_empty().then(told)
    }

    /// Heads, necks or fingers too narrow for the thickness.
    fn narrow(&self) -> Option<Finding> {
        let advised = advised_width(self.pattern, self.layer.thickness);
        let (width, _) = self.span(&|t| Some(t.shape.width()))?;
        let what = format!(
            "the least {} of the teeth of layer `{}` are {width:.2} mm wide; {advised:.2} is common practice for this thickness",
            self.parts(),
            self.layer.name
        );
        let hint = "wider webs give room for stronger teeth".to_owned();
        (width < advised - SLACK).then(|| self.finding("S103", what, hint).figures(width, advised))
    }

    /// Fingers too wide for a flat seam.
    fn wide(&self) -> Option<Finding> {
        let advised = finger::ADVISED_WIDTH.1;
        let (_, width) = self.span(&|t| Some(t.shape.width()))?;
        let what = format!(
            "the widest fingers of layer `{}` are {width:.2} mm wide; up to {advised:.0} is common practice in a flat seam",
            self.layer.name
        );
        let hint = format!(
            "fingers are half a `tooth` wide: {:.0} or less",
            2.0 * advised
        );
        (self.pattern == Pattern::Finger && width > advised + SLACK)
            .then(|| self.finding("S103", what, hint).figures(width, advised))
    }

    /// Flanks of waves and zigzags too flat or too steep.
    fn flanks(&self) -> Option<Finding> {
        if !matches!(self.pattern, Pattern::Wave | Pattern::Zigzag) {
            return None;
        }
        let angle = |t: &Tooth| t.shape.flanked().map(|f| units::degrees(f.flank.angle()));
        let (low, high) = self.span(&angle)?;
        let (angle, limit, hint) = if low < FLANKS_DEG.0 - SLACK {
            (
                low,
                FLANKS_DEG.0,
                "flat flanks let the pieces slide past one another",
            )
        } else if high > FLANKS_DEG.1 + SLACK {
            (high, FLANKS_DEG.1, "steep flanks make slender teeth")
        } else {
            return None;
        };
        let what = format!(
            "flanks of the {} of layer `{}` stand at {angle:.1}° to the seam; {:.0}° to {:.0}° keep the play small and the teeth strong",
            self.pattern.word(),
            self.layer.name,
            FLANKS_DEG.0,
            FLANKS_DEG.1
        );
        Some(
            self.finding("S111", what, hint.to_owned())
                .figures(angle, limit),
        )
    }

    /// Fingers much deeper or shallower than wide.
    fn depth(&self) -> Option<Finding> {
        let off = |t: &Tooth| t.shape.flanked().map(|f| f.depth / t.shape.width());
        let (low, high) = self
            .span(&off)
            .filter(|_| self.pattern == Pattern::Finger)?;
        let ratio = if 1.0 - low > high - 1.0 { low } else { high };
        let what = format!(
            "fingers of layer `{}` are {ratio:.2} times as deep as wide; as deep as wide is common practice",
            self.layer.name
        );
        let hint = "a `depth` of half the `tooth`".to_owned();
        ((ratio - 1.0).abs() > AS_DEEP)
            .then(|| self.finding("S111", what, hint).figures(ratio, 1.0))
    }

    /// Knobs and tails on slender necks.
    fn slender(&self) -> Option<Finding> {
        let (_, ratio) = self.span(&|t| t.shape.slenderness())?;
        let what = format!(
            "necks of the {} teeth of layer `{}` are {ratio:.2} times as long as wide; longer than wide they bend and break sooner, as long fingers do",
            self.pattern.word(),
            self.layer.name
        );
        let hint = "a smaller `depth`, or a larger `tooth`".to_owned();
        (ratio > 1.0 + AS_DEEP).then(|| self.finding("S111", what, hint).figures(ratio, 1.0))
    }

    /// Teeth close to an edge.
    fn near(&self) -> Option<Finding> {
        let limit = CLEAR_OF_THICKNESS * self.layer.thickness;
        let (near, _) = self.span(&|t| Some(t.near))?;
        let what = format!(
            "teeth of layer `{}` come as near as {near:.2} mm to a corner, hole or pocket; {limit:.2} is common practice for this thickness",
            self.layer.name
        );
        let hint = "wider webs, or a larger `min_web`, which leaves such places flat";
        (near < limit - SLACK).then(|| {
            self.finding("S112", what, hint.to_owned())
                .figures(near, limit)
        })
    }

    /// Corners asked sharper than the trade advises.
    fn radius(&self) -> Option<Finding> {
        let radius = self.options.corner_radius;
        let what = format!(
            "`corner_radius` = {radius} for the teeth of layer `{}` is below the {ADVISED_RADIUS} mm that are common practice; cracks start at sharp corners",
            self.layer.name
        );
        let hint = "a `corner_radius` of 0.5 or more is common practice".to_owned();
        (radius < ADVISED_RADIUS).then(|| {
            self.finding("S104", what, hint)
                .figures(radius, ADVISED_RADIUS)
        })
    }

    /// Corners sharper than the cut is wide.
    fn tool(&self) -> Option<Finding> {
        let limit = self.layer.cut_width / 2.0 * ROOM_FOR_TOOL;
        let (made, _) = self.span(&|t| Some(t.shape.radius()))?;
        let what = format!(
            "corners of the teeth of layer `{}` have a radius of {made:.2} mm; a cut {:.2} mm wide cannot make inside corners below {:.2}, and the faces will not mate",
            self.layer.name,
            self.layer.cut_width,
            self.layer.cut_width / 2.0
        );
        let hint = format!("a `corner_radius` of {limit:.2}, or a thinner tool");
        (made < limit - SLACK).then(|| self.finding("S104", what, hint).figures(made, limit))
    }
}
