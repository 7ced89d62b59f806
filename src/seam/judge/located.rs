//! Pieces that nothing locates when the stack is joined.
//!
//! In: layers, pieces of all copies. Out: a finding for each layer in several pieces of which some have no locating hole and
//! no relief: no screw or pin then holds them to their place while the bond sets, only their seams do. Where no layer has
//! any that is told once. Of drawn layers without one nothing is known where something else is cut out of them, which may
//! locate them as well.

use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::piece::{Owner, Piece};
use crate::model::source::{SourceKind, meaning};

/// How many names are told before the rest is counted.
const NAMES: usize = 12;

/// Tells the pieces that nothing locates, once for each layer.
pub fn findings(layers: &[Layer], copies: usize, pieces: &[Piece]) -> Vec<Finding> {
    if layers.iter().all(|l| l.locating.is_empty()) {
        return of_none(layers, copies, pieces).into_iter().collect();
    }
    let told = |(k, layer)| finding(k, layer, copies, pieces);
    layers.iter().enumerate().filter_map(told).collect()
}

/// Tells that no layer has a locating hole, where some layer is in several pieces.
fn of_none(layers: &[Layer], copies: usize, pieces: &[Piece]) -> Option<Finding> {
    let own = |k: usize| {
        let is_own = |p: &&Piece| matches!(p.owner, Owner::Layer { layer, .. } if layer == k);
        pieces.iter().filter(is_own).count()
    };
    let is_cut = |l: &Layer| l.shape.iter().any(|r| !r.holes().is_empty());
    let split: Vec<&str> = (0..layers.len())
        .filter(|k| own(*k) > copies && !(is_drawn(&layers[*k]) && is_cut(&layers[*k])))
        .map(|k| layers[k].name.as_str())
        .collect();
    let mut names = split[..split.len().min(NAMES)].join(", ");
    if split.len() > NAMES {
        names.push_str(&format!(" and {} more", split.len() - NAMES));
    }
    let (of, where_) = if split.len() == 1 {
        ("layer", "layer")
    } else {
        ("layers", "layers")
    };
    let what = format!(
        "no layer has a locating hole: nothing but seams locates the pieces of {of} {names}, neither to the bed nor to one another"
    );
    let hint = "add locating holes to the bed, so that each piece has one, or hold the sides to a straight edge while the bond sets";
    (!split.is_empty()).then(|| Finding::new("S121", what, format!("{where_} {names}"), hint))
}

/// Whether a layer comes from a drawing.
fn is_drawn(layer: &Layer) -> bool {
    let mut outlines = layer.shape.iter().flat_map(|r| r.outer().edges());
    outlines.all(|e| meaning(e.source).0 == SourceKind::Drawn)
}

fn finding(k: usize, layer: &Layer, copies: usize, pieces: &[Piece]) -> Option<Finding> {
    if is_drawn(layer) && layer.locating.is_empty() && layer.relief.is_empty() {
        return None;
    }
    let own = |p: &&Piece| matches!(p.owner, Owner::Layer { layer, .. } if layer == k);
    let own: Vec<&Piece> = pieces.iter().filter(own).collect();
    let loose: Vec<&str> = own
        .iter()
        .filter(|p| !is_located(p))
        .map(|p| p.id.as_str())
        .collect();
    if own.len() <= copies || loose.is_empty() {
        return None;
    }
    let mut names = loose[..loose.len().min(NAMES)].join(", ");
    if loose.len() > NAMES {
        names.push_str(&format!(" and {} more", loose.len() - NAMES));
    }
    let those = if loose.len() == 1 { "it" } else { "them" };
    let what = format!(
        "no locating hole or relief passes through {names}: when the stack is joined nothing but seams locates {those}"
    );
    let hint = "hold the sides to a straight edge while the bond sets, or add a locating hole to the bed where such a piece lies";
    Some(Finding::new(
        "S121",
        what,
        format!("layer {}", layer.name),
        hint,
    ))
}

/// Whether a hole for a screw, or room for its head, is cut in a piece.
fn is_located(piece: &Piece) -> bool {
    piece.region.edges().any(|e| {
        matches!(
            meaning(e.source).0,
            SourceKind::Locating | SourceKind::Relief
        )
    })
}
