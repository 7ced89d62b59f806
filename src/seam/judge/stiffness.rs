//! How stiff the stack is where seams cross it.
//!
//! In: layers, seams of one copy, moduli. Out: bending stiffness at each seam as a share of the same section without seams.
//!
//! A section is taken along the base line of each seam, through all layers. Of each layer it has the width that is material
//! there; a seam of that layer which runs the same way and lies in line with it (`stagger::in_line_within`), teeth included, takes
//! its length from it: teeth carry no bending, and what lies so near hinges together. Then
//!
//! - *dry*, each layer by itself: EI = Σ E·b·t³/12;
//! - *bonded*, as one: EI = Σ E·(b·t³/12 + b·t·(z − z̄)²), with z̄ = ΣE·b·t·z / ΣE·b·t over the layers that run through,
//!   about their own neutral axis.
//!
//! The truth lies between the two: a bond gives way in shear and needs a length to hand the load over.
//!
//! Sources: beam theory, parallel axis theorem. For n equal layers bonded / dry is n², a closed form.

use crate::geometry::bounds::Bounds;
use crate::model::cutter::Axis;
use crate::model::judged::Stiffness;
use crate::model::layer::Layer;
use crate::model::seam::Seam;
use crate::seam::ground::{Ground, turned, turned_edge};
use crate::seam::stagger::in_line_within;

/// What of a layer a section passes through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// Width of the material, in mm; 0 where the layer is cut all the way.
    pub width: f64,
    /// Thickness, in mm.
    pub thickness: f64,
    /// Modulus of elasticity, in MPa or as a share of another.
    pub modulus: f64,
}

/// Bending stiffness of a section, bottom layer first, bonded and dry: N mm² where moduli are MPa.
pub fn rigidity(strips: &[Strip]) -> Stiffness {
    let (mut base, mut area, mut moment, mut second, mut dry) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for s in strips {
        let z = base + s.thickness / 2.0;
        let weight = s.modulus * s.width * s.thickness;
        area += weight;
        moment += weight * z;
        second += weight * z * z;
        dry += weight * s.thickness * s.thickness / 12.0;
        base += s.thickness;
    }
    let apart: f64 = if area > 0.0 {
        second - moment * moment / area
    } else {
        0.0
    };
    Stiffness {
        bonded: dry + apart.max(0.0),
        dry,
    }
}

/// Layers seen along seams that run one way, with the seams.
pub(crate) struct Sections<'a> {
    layers: &'a [Layer],
    moduli: &'a [f64],
    grounds: Vec<Ground>,
    /// All seams of the copy that run this way.
    cuts: Vec<Cut>,
    near: f64,
}

impl<'a> Sections<'a> {
    /// The sections that seams of one copy cross.
    pub(crate) fn new(
        layers: &'a [Layer],
        moduli: &'a [f64],
        seams: &[&Seam],
        runs: Axis,
        min_lap: f64,
    ) -> Self {
        Self {
            layers,
            moduli,
            grounds: layers.iter().map(|l| Ground::new(l, runs)).collect(),
            cuts: seams
                .iter()
                .filter(|s| s.runs == runs)
                .map(|s| Cut::new(s))
                .collect(),
            near: in_line_within(layers, min_lap),
        }
    }

    /// Stiffness of the section along a seam's base line, as a share of the same section without seams.
    pub(crate) fn at(&self, seam: &Seam) -> Stiffness {
        let cut = Cut::new(seam);
        let (mut whole, mut left) = (Vec::new(), Vec::new());
        for (k, layer) in self.layers.iter().enumerate() {
            let (all, through) = self.widths(k, &cut);
            let strip = |width: f64| Strip {
                width,
                thickness: layer.thickness,
                modulus: self.moduli[k],
            };
            whole.push(strip(all));
            left.push(strip(through));
        }
        let (whole, left) = (rigidity(&whole), rigidity(&left));
        let share = |a: f64, b: f64| if b > 0.0 { a / b } else { 1.0 };
        Stiffness {
            bonded: share(left.bonded, whole.bonded),
            dry: share(left.dry, whole.dry),
        }
    }

    /// Width of a layer's material along a base line, and what of it no seam near it takes.
    fn widths(&self, layer: usize, at: &Cut) -> (f64, f64) {
        let near = |c: &&Cut| {
            c.layer == layer && c.side.0 < at.side.1 + self.near && at.side.0 < c.side.1 + self.near
        };
        let mut cut: Vec<(f64, f64)> = self.cuts.iter().filter(near).map(|c| c.along).collect();
        cut.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut all, mut through) = (0.0, 0.0);
        let span = (f64::NEG_INFINITY, f64::INFINITY);
        for (from, to) in self.grounds[layer].material(at.base, span) {
            all += to - from;
            let mut done = from;
            for c in &cut {
                through += (c.0.min(to) - done).max(0.0);
                done = done.max(c.1);
            }
            through += (to - done).max(0.0);
        }
        (all, through)
    }
}

/// Where a seam cuts its layer, in the frame of the seams.
struct Cut {
    layer: usize,
    /// Its base line.
    base: f64,
    /// How far it reaches to both sides, teeth included.
    side: (f64, f64),
    /// Where it begins and ends along itself.
    along: (f64, f64),
}

impl Cut {
    fn new(seam: &Seam) -> Self {
        let bounds = seam
            .path
            .edges()
            .iter()
            .map(|e| turned_edge(e, seam.runs).bounds())
            .fold(Bounds::EMPTY, Bounds::join);
        let ends = [seam.path.start(), seam.path.end()].map(|p| turned(p, seam.runs).x);
        Self {
            layer: seam.layer,
            base: turned(seam.path.start(), seam.runs).y,
            side: (bounds.min.y, bounds.max.y),
            along: (ends[0].min(ends[1]), ends[0].max(ends[1])),
        }
    }
}
