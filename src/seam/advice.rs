//! What the trade would say of the teeth.
//!
//! Source: head of a knob at least 4 × thickness and 10 mm wide; pattern corners in sheet plastic with a radius of 0.5 mm
//! or more: common practice without a published source.

use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::seam::{Pattern, Seam};
use crate::seam::layout::Layout;
use crate::seam::options::Options;
use crate::seam::teeth::{advised_head, least_head};

/// Least radius of corners that the trade advises.
const ADVISED_RADIUS: f64 = 0.5;

/// Findings about the teeth of a layer.
pub(crate) fn findings(
    layer: &Layer,
    layout: &Layout,
    seams: &[Seam],
    options: &Options,
) -> Vec<Finding> {
    if layer.pattern != Some(Pattern::Knob) || seams.is_empty() {
        return Vec::new();
    }
    let place = format!("layer {}", layer.name);
    let mut out = Vec::new();
    if seams.iter().all(|s| s.pattern == Pattern::Straight) {
        let what = format!(
            "the seams of layer `{}` stay flat: no tooth fits between its edges, openings and seams",
            layer.name
        );
        let hint = format!(
            "wider webs, a smaller `min_web`, `tooth` or `depth` would make room; heads below {:.1} mm are not laid",
            least_head(layer.thickness)
        );
        out.push(Finding::new("S102", what, &place, hint));
    }
    let (head, advised) = (layout.least_head(), advised_head(layer.thickness));
    if head < advised - 1e-9 {
        let what = format!(
            "the least heads of the teeth of layer `{}` are {head:.2} mm wide; {advised:.2} is common practice for this thickness",
            layer.name
        );
        let hint = "a larger `tooth` and `depth`, or wider webs, give stronger teeth";
        out.push(Finding::new("S103", what, &place, hint).figures(head, advised));
    }
    if options.corner_radius < ADVISED_RADIUS {
        let radius = options.corner_radius;
        let what = format!(
            "`corner_radius` = {radius} for the teeth of layer `{}` is below the {ADVISED_RADIUS} mm that are common practice; cracks start at sharp corners",
            layer.name
        );
        out.push(
            Finding::new(
                "S104",
                what,
                &place,
                "a `corner_radius` of 0.5 or more is common practice",
            )
            .figures(radius, ADVISED_RADIUS),
        );
    }
    out
}
