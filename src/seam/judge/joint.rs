//! Joints that hold nothing.
//!
//! In: layers, pieces and joints of a plan. Out: for each layer with teeth, and each copy, a finding that names the pairs of
//! pieces that meet without a tooth between them, along how much, and whether either is held by others: two seams across that end on
//! a through seam from both sides, close to one another, leave such a pair, sometimes with a fraction of a millimetre.
//!
//! A layer without a joint that holds is told as flat by the teeth themselves, and straight seams hold nothing anywhere.

use crate::model::finding::Finding;
use crate::model::judged::Joint;
use crate::model::layer::Layer;
use crate::model::piece::Owner;
use crate::model::seam::Pattern;
use crate::seam::judge::{Made, hold};
use crate::seam::options::Options;
use crate::seam::teeth::least_run;

/// How many pairs are told before the rest is counted.
const PAIRS: usize = 6;

/// Tells the joints that hold nothing, once for each layer of each copy.
pub(crate) fn findings(made: &Made<'_>, joints: &[Joint], options: &Options) -> Vec<Finding> {
    let mut out = Vec::new();
    for copy in 1..=made.copies {
        for (layer, of) in made.layers.iter().enumerate() {
            let owner = Owner::Layer { layer, copy };
            let is_own = |j: &&Joint| made.pieces[j.pieces[0]].owner == owner;
            let own: Vec<&Joint> = joints.iter().filter(is_own).collect();
            if of.pattern.is_some_and(|p| p != Pattern::Straight) {
                out.extend(finding(made, of, copy, &own, options));
            }
        }
    }
    out
}

fn finding(
    made: &Made<'_>,
    layer: &Layer,
    copy: usize,
    joints: &[&Joint],
    options: &Options,
) -> Option<Finding> {
    let (firm, mut idle): (Vec<&Joint>, Vec<&Joint>) =
        joints.iter().partition(|j| j.play.along.is_some());
    if firm.is_empty() || idle.is_empty() {
        return None;
    }
    idle.sort_by(|a, b| a.length.total_cmp(&b.length));
    let name = |k: usize| made.pieces[k].id.as_str();
    let pair = |j: &&Joint| {
        let [a, b] = j.pieces.map(name);
        format!("{a} and {b} along {:.2} mm", j.length)
    };
    let mut pairs: Vec<String> = idle.iter().take(PAIRS).map(pair).collect();
    if idle.len() > PAIRS {
        pairs.push(format!("{} more pairs", idle.len() - PAIRS));
    }
    let links: Vec<[usize; 2]> = firm.iter().map(|j| j.pieces).collect();
    let apart = |j: &&&Joint| !hold::are_linked(&links, j.pieces);
    let (held, hint) = match idle.iter().find(apart) {
        None => (
            "their other neighbours hold them".to_owned(),
            "nothing to do where the other neighbours are enough; wider webs make room for a tooth",
        ),
        Some(j) => {
            let [a, b] = j.pieces.map(name);
            (
                format!("between {a} and {b} no other seam holds either"),
                "let a screw, a pin or another layer hold them, or make room for a tooth by wider webs",
            )
        }
    };
    let of_copy = if copy > 1 {
        format!(" of copy {copy}")
    } else {
        String::new()
    };
    let what = format!(
        "pieces of layer `{}`{of_copy} meet without a tooth that holds them: {}; {held}",
        layer.name,
        pairs.join(", ")
    );
    let told = Finding::new("S122", what, format!("layer {}", layer.name), hint);
    Some(match least_run(layer, options) {
        Some(run) => told.figures(idle[0].length, run),
        None => told,
    })
}
