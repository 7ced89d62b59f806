//! What seams are worth: how far pieces can move, whether they hold, how stiff the stack is, what the seams cost.
//!
//! In: layers, the seams and pieces of a plan, gap, moduli. Out: figures for each layer, each stack and each pair of pieces
//! that meet. Nothing is looked up by a pattern's name: all of it comes from the edges that were made.
//!
//! 1. `contact` finds the faces that each pair of pieces shares; all seams between the two act together.
//! 2. `play` turns the faces into half spaces and lets a small linear program (`program`) find how far they let go.
//! 3. `hold` makes of the joints of a layer what holds its pieces together.
//! 4. `length` measures the seams and how much of them carries teeth, `neck` the narrowest material beside them.
//! 5. `stiffness` compares sections at the seams with the same sections without them.
//! 6. `located` tells pieces that nothing but seams locates, `joint` pairs that meet without a hold, `crossed` edges that seams
//!    cross at a flat angle.
//!
//! Assumes that neighbours have the edges of their seam in common. A pair is looked at alone: what other layers, or three
//! pieces that wedge one another, add to its hold is not counted, so a layer may hold better than it is told.

mod contact;
mod crossed;
mod hold;
mod joint;
mod length;
pub mod located;
mod neck;
mod play;
mod program;
mod stiffness;

pub use play::{play, reach};
pub use stiffness::{Strip, rigidity};

use crate::geometry::tolerance::CERTIFIED;
use crate::model::cutter::Axis;
use crate::model::finding::Finding;
use crate::model::judged::{Figures, Joint, Judged, LayerFigures, Play, Stiffness};
use crate::model::layer::Layer;
use crate::model::piece::{Owner, Piece};
use crate::model::seam::Seam;
use crate::seam::judge::contact::contacts;
use crate::seam::judge::length::Lengths;
use crate::seam::judge::neck::narrowest;
use crate::seam::judge::stiffness::Sections;
use crate::seam::options::Options;

/// What is judged.
#[derive(Clone, Copy, Debug)]
pub struct Made<'a> {
    /// The layers, bottom up.
    pub layers: &'a [Layer],
    /// How many fixtures.
    pub copies: usize,
    /// Seams of all copies.
    pub seams: &'a [Seam],
    /// Pieces of all copies; parts are passed over.
    pub pieces: &'a [Piece],
    /// Finished clearance between mating faces.
    pub gap: f64,
    /// Least distance between seams of neighbouring layers.
    pub min_lap: f64,
    /// Each layer's modulus in MPa, where it is known.
    pub moduli: &'a [Option<f64>],
    /// Cutting time that seams add, in s, layer by layer, copy by copy; what is missing counts as 0.
    pub added_s: &'a [f64],
}

/// Judges the seams of a plan.
pub fn judge(made: &Made<'_>) -> Judged {
    let mut out = Judged {
        no_modulus: without_modulus(made),
        ..Judged::default()
    };
    for copy in 1..=made.copies {
        let from = out.layers.len();
        for layer in 0..made.layers.len() {
            let (figures, joints) = one_layer(made, layer, copy);
            out.joints.extend(joints);
            out.layers.push(LayerFigures {
                layer,
                copy,
                figures,
            });
        }
        stiffen(made, copy, &mut out.layers[from..]);
        out.stacks.push(together(made, copy, &out.layers[from..]));
    }
    out
}

/// What is doubtful of what was judged: joints that hold nothing, necks below `min_web`, edges crossed at flat angles.
pub fn doubts(made: &Made<'_>, judged: &Judged, options: &Options) -> Vec<Finding> {
    let mut out = joint::findings(made, &judged.joints, options);
    out.extend(judged.layers.iter().filter_map(|l| thin(made, l)));
    out.extend(crossed::findings(made));
    out
}

/// What is doubtful of one layer's teeth as pieces and joints show it: joints that hold nothing, necks below `min_web`.
pub(crate) fn of_teeth(made: &Made<'_>, layer: usize, options: &Options) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut all = Vec::new();
    for copy in 1..=made.copies {
        let (figures, joints) = one_layer(made, layer, copy);
        let of = LayerFigures {
            layer,
            copy,
            figures,
        };
        out.extend(thin(made, &of));
        all.extend(joints);
    }
    out.extend(joint::findings(made, &all, options));
    out
}

/// A neck of a layer's pieces below its `min_web`.
fn thin(made: &Made<'_>, of: &LayerFigures) -> Option<Finding> {
    let layer = &made.layers[of.layer];
    let limit = layer.min_web;
    let measured = of.figures.neck.filter(|n| *n < limit - CERTIFIED)?;
    let owner = Owner::Layer {
        layer: of.layer,
        copy: of.copy,
    };
    let own = made.pieces.iter().filter(|p| p.owner == owner);
    let necks = own.filter_map(|p| narrowest(&p.finished, limit).map(|n| (n, p)));
    let ((_, at), piece) = necks.min_by(|a, b| a.0.0.total_cmp(&b.0.0))?;
    let what = format!(
        "piece {} is only {measured:.2} mm wide at ({:.2}, {:.2}), less than the `min_web` of {limit:.2}, which does not count between two seams or close to where a seam meets an edge",
        piece.id, at.x, at.y
    );
    let hint = "do not force the piece there; another seed or a longer search may leave more";
    let told = Finding::new("S114", what, format!("layer {}", layer.name), hint);
    Some(told.figures(measured, limit))
}

/// Materials whose modulus is not known.
fn without_modulus(made: &Made<'_>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for (layer, modulus) in made.layers.iter().zip(made.moduli) {
        if modulus.is_none() && !out.contains(&layer.material) {
            out.push(layer.material.clone());
        }
    }
    out
}

fn seams_of<'a>(made: &Made<'a>, layer: Option<usize>, copy: usize) -> Vec<&'a Seam> {
    let own = |s: &&Seam| s.copy == copy && layer.is_none_or(|l| s.layer == l);
    made.seams.iter().filter(own).collect()
}

/// All figures of a layer but its stiffness.
fn one_layer(made: &Made<'_>, layer: usize, copy: usize) -> (Figures, Vec<Joint>) {
    let seams = seams_of(made, Some(layer), copy);
    let places: Vec<usize> = (0..made.pieces.len())
        .filter(|&k| made.pieces[k].owner == Owner::Layer { layer, copy })
        .collect();
    let pieces: Vec<&Piece> = places.iter().map(|&k| &made.pieces[k]).collect();
    let joint = |c: contact::Contact| Joint {
        pieces: c.pieces.map(|k| places[k]),
        runs: c.runs,
        length: c
            .faces
            .iter()
            .map(crate::geometry::edge::Edge::length)
            .sum(),
        play: play(&c.faces, c.runs, made.gap),
    };
    let joints: Vec<Joint> = contacts(&pieces, &seams).into_iter().map(joint).collect();
    let lengths = Lengths::of(&made.layers[layer], &seams);
    let neck = pieces.iter().fold(f64::INFINITY, |least, p| {
        narrowest(&p.finished, least).map_or(least, |n| n.0)
    });
    let figures = Figures {
        pieces: pieces.len(),
        length: lengths.curve,
        toothed: lengths.toothed(),
        neck: neck.is_finite().then_some(neck),
        play: hold::of_layer(&joints),
        stiffness: [Stiffness::WHOLE; 2],
        added_s: made
            .added_s
            .get((copy - 1) * made.layers.len() + layer)
            .copied()
            .unwrap_or_default(),
    };
    (figures, joints)
}

/// Puts the least stiffness of the stack at each layer's seams into the figures of one copy.
fn stiffen(made: &Made<'_>, copy: usize, layers: &mut [LayerFigures]) {
    let seams = seams_of(made, None, copy);
    for (seam, beam, at) in at_seams(made.layers, made.moduli, &seams, made.min_lap) {
        let own = &mut layers[seam.layer].figures.stiffness[beam];
        *own = own.or_less(at);
    }
}

/// Bending stiffness of one copy at its weakest section, as a share of the same section without seams: of beams along x, and
/// along y. Where a modulus is not known all count as equal.
pub fn weakest(
    layers: &[Layer],
    moduli: &[Option<f64>],
    seams: &[Seam],
    copy: usize,
    min_lap: f64,
) -> [Stiffness; 2] {
    let own: Vec<&Seam> = seams.iter().filter(|s| s.copy == copy).collect();
    let mut out = [Stiffness::WHOLE; 2];
    for (_, beam, at) in at_seams(layers, moduli, &own, min_lap) {
        out[beam] = out[beam].or_less(at);
    }
    out
}

/// The stiffness of the stack at each seam of one copy, with the beam that the seam cuts: 0 along x, 1 along y.
fn at_seams<'a>(
    layers: &[Layer],
    moduli: &[Option<f64>],
    seams: &[&'a Seam],
    min_lap: f64,
) -> Vec<(&'a Seam, usize, Stiffness)> {
    let equal = moduli.iter().any(Option::is_none);
    let moduli: Vec<f64> = (0..layers.len())
        .map(|k| match moduli.get(k) {
            Some(Some(modulus)) if !equal => *modulus,
            _ => 1.0,
        })
        .collect();
    let mut out = Vec::new();
    // A beam along x is cut by seams along y.
    for (beam, runs) in [Axis::Y, Axis::X].into_iter().enumerate() {
        if seams.iter().all(|s| s.runs != runs) {
            continue;
        }
        let sections = Sections::new(layers, &moduli, seams, runs, min_lap);
        let crossing = seams.iter().filter(|s| s.runs == runs);
        out.extend(crossing.map(|s| (*s, beam, sections.at(s))));
    }
    out
}

/// The figures of a copy's stack: sums, and the worst of its layers.
fn together(made: &Made<'_>, copy: usize, layers: &[LayerFigures]) -> Figures {
    let mut lengths = Lengths::default();
    for (k, layer) in made.layers.iter().enumerate() {
        lengths.add(Lengths::of(layer, &seams_of(made, Some(k), copy)));
    }
    let all = || layers.iter().map(|l| l.figures);
    let worst = |beam: usize| {
        all()
            .map(|f| f.stiffness[beam])
            .fold(Stiffness::WHOLE, Stiffness::or_less)
    };
    Figures {
        pieces: all().map(|f| f.pieces).sum(),
        length: lengths.curve,
        toothed: lengths.toothed(),
        neck: all().filter_map(|f| f.neck).reduce(f64::min),
        play: all().filter_map(|f| f.play).reduce(Play::or_more),
        stiffness: [worst(0), worst(1)],
        added_s: all().map(|f| f.added_s).sum(),
    }
}
