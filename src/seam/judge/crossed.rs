//! Edges that seams cross at a flat angle.
//!
//! In: layers and seams of a plan. Out: for each layer a finding with the flattest place and how many there are, where a seam
//! meets the edge of an opening or of the layer at less than 30°. The search keeps to 14.5° and more; between the two the
//! pieces are sound, but run out into thin tips, which chip in acrylic and char in board (common practice, no source).

use crate::geometry::point::Point;
use crate::geometry::{angle, units};
use crate::model::cutter::Axis;
use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::seam::Seam;
use crate::seam::ground::{Cut, Ground, turned, turned_edge};
use crate::seam::judge::Made;
use crate::seam::legal::word;

/// Below this angle, in degrees, a tip is told.
const SOUND_DEG: f64 = 30.0;
/// Its sine, less a rounding.
const SOUND_SINE: f64 = 0.5 - 1e-9;

/// Rounding of a place where a seam ends on an edge.
const NEAR: f64 = 1e-4;

/// A place where a seam crosses an edge.
struct Place {
    sine: f64,
    at: Point,
    what: String,
}

/// Tells flat crossings, once for each layer.
pub(crate) fn findings(made: &Made<'_>) -> Vec<Finding> {
    let told = |(k, layer): (usize, &Layer)| {
        let own: Vec<&Seam> = made.seams.iter().filter(|s| s.layer == k).collect();
        finding(layer, flat_places(layer, &own))
    };
    made.layers.iter().enumerate().filter_map(told).collect()
}

fn finding(layer: &Layer, places: Vec<Place>) -> Option<Finding> {
    let n = places.len();
    let flattest = places
        .into_iter()
        .min_by(|a, b| a.sine.total_cmp(&b.sine))?;
    let measured = units::degrees(angle::asin(flattest.sine));
    let count = if n == 1 {
        "there".to_owned()
    } else {
        format!(
            "there and at {} more {}",
            n - 1,
            if n == 2 { "place" } else { "places" }
        )
    };
    let what = format!(
        "a seam of layer `{}` meets an edge at {measured:.1}° ({}, at ({:.2}, {:.2})): {count} pieces end in tips below {SOUND_DEG:.0}°, which chip easily",
        layer.name, flattest.what, flattest.at.x, flattest.at.y
    );
    let hint = "handle these tips with care and break them with a file, or move the openings, so that seams pass closer to their middles";
    Some(
        Finding::new("S113", what, format!("layer {}", layer.name), hint)
            .figures(measured, SOUND_DEG),
    )
}

/// Where the base lines of seams cross edges of the layer at less than the sound angle.
fn flat_places(layer: &Layer, seams: &[&Seam]) -> Vec<Place> {
    let mut out = Vec::new();
    for runs in [Axis::X, Axis::Y] {
        let mut own = seams.iter().filter(|s| s.runs == runs).peekable();
        if own.peek().is_none() {
            continue;
        }
        let ground = Ground::new(layer, runs);
        for seam in own {
            let edges = seam.path.edges();
            let ends = [edges[0], edges[edges.len() - 1]].map(|e| turned_edge(&e, runs));
            let (v, from, to) = (ends[0].start.y, ends[0].start.x, ends[1].end.x);
            for ring in &ground.rings {
                let flat = |c: &&Cut| {
                    c.sine < SOUND_SINE && c.u >= from.min(to) - NEAR && c.u <= from.max(to) + NEAR
                };
                out.extend(ring.cuts(v).iter().filter(flat).map(|c| Place {
                    sine: c.sine,
                    at: turned(Point::new(c.u, v), runs),
                    what: word(ring.edges[c.edge_idx].source),
                }));
            }
        }
    }
    out
}
