//! What would do away with a doubt about teeth, with numbers that were tried.
//!
//! In: findings about the teeth of layers, how the layers are split, what is asked. Out: the same findings; the hint of each
//! begins with a setting that would do, or says that none was found.
//!
//! 1. Sizes of teeth (`tooth` and `depth`) are sorted by how little they differ from those asked. Sizes whose shape alone breaks
//!    a rule of the trade, and those too long for the seam that the finding speaks of, are passed over.
//! 2. All layers are split with them at the places where their seams lie, and looked at by the same rules (`advice`, `judge`).
//!    The first size is told with which the finding is gone and no graver one of another kind has come, on any layer.
//! 3. Where no size does, `min_web` is tried in the same way.
//!
//! Guarantees: what is told was tried on these seams. A new search may lay others.

use crate::format::number;
use crate::model::finding::Finding;
use crate::model::layer::Layer;
use crate::model::seam::LayerSplit;
use crate::seam::advice::is_advised;
use crate::seam::judge::{Made, of_teeth};
use crate::seam::options::Options;
use crate::seam::split;
use crate::seam::teeth::{CLEAR_OF_THICKNESS, least_run, shape, size};

/// Findings that other teeth do away with.
const ABOUT_TEETH: [&str; 6] = ["S102", "S103", "S111", "S112", "S114", "S122"];
/// Findings that no remedy may bring.
const UNWANTED: [&str; 7] = ["S102", "S103", "S104", "S111", "S112", "S114", "S122"];
/// Lengths of teeth, and depths, that are tried besides those asked.
const TOOTH: [f64; 22] = [
    8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0, 28.0, 32.0, 36.0, 40.0, 45.0, 50.0, 56.0,
    60.0, 70.0, 80.0, 90.0, 100.0, 120.0,
];
const DEPTH: [f64; 19] = [
    4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 28.0, 32.0, 36.0,
    40.0, 50.0,
];
/// Webs that are tried where they are less than asked.
const WEBS: [f64; 8] = [10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0];
/// Sizes that are tried on the layers.
const MOST_TRIALS: usize = 24;

/// What findings are about.
struct Looked<'a> {
    made: &'a Made<'a>,
    splits: &'a [LayerSplit],
    options: &'a Options,
    /// Codes of the findings that there are, by the layer's name.
    codes: Vec<(&'static str, String)>,
}

/// Puts numbers that work into the hints of findings about teeth. `splits` say how each layer of each copy is split, copy by
/// copy, layer by layer; the layers are those of `made`.
pub fn with_numbers(
    made: &Made<'_>,
    splits: &[LayerSplit],
    options: &Options,
    findings: &mut [Finding],
) {
    let looked = Looked {
        made,
        splits,
        options,
        codes: findings
            .iter()
            .map(|f| (f.code, f.where_.clone()))
            .collect(),
    };
    let about = findings
        .iter_mut()
        .filter(|f| ABOUT_TEETH.contains(&f.code));
    for finding in about {
        let of = made.layers.iter().position(|l| finding.where_ == place(l));
        let Some(layer) = of else { continue };
        let found = looked
            .size(layer, finding)
            .or_else(|| looked.web(layer, finding));
        let first = found.unwrap_or_else(|| {
            let or_web = match finding.code {
                "S102" | "S112" | "S122" => " and no `min_web`",
                _ => "",
            };
            format!("no size of teeth{or_web} was found that does away with this here")
        });
        finding.hint = format!("{first}; {}", finding.hint);
    }
}

fn place(layer: &Layer) -> String {
    format!("layer {}", layer.name)
}

fn told(key: &str, figure: f64) -> String {
    format!("`{key} = \"{} mm\"`", number::short(figure))
}

impl Looked<'_> {
    /// Teeth of another size with which a finding is gone, in words.
    fn size(&self, layer_idx: usize, finding: &Finding) -> Option<String> {
        let layer = &self.made.layers[layer_idx];
        let now = size(layer, self.options)?;
        let with = |tooth: f64, depth: f64| Options {
            tooth: Some(tooth),
            depth: Some(depth),
            ..*self.options
        };
        let off = |a: f64, b: f64| (a / b).max(b / a);
        let mut sizes: Vec<(f64, f64)> = TOOTH
            .into_iter()
            .chain([now.0])
            .flat_map(|t| DEPTH.into_iter().chain([now.1]).map(move |d| (t, d)))
            .filter(|s| *s != now && self.may_do(layer, finding, &with(s.0, s.1)))
            .collect();
        let far = |s: &(f64, f64)| off(s.0, now.0) * off(s.1, now.1);
        sizes.sort_by(|a, b| far(a).total_cmp(&far(b)));
        let found = sizes
            .into_iter()
            .take(MOST_TRIALS)
            .find(|s| self.is_cured(finding, self.made.layers, &with(s.0, s.1)))?;
        let mut words = Vec::new();
        if self.options.tooth != Some(found.0) {
            words.push(told("tooth", found.0));
        }
        if self.options.depth != Some(found.1) {
            words.push(told("depth", found.1));
        }
        Some(format!(
            "{} would do, tried with the seams where they lie",
            words.join(" and ")
        ))
    }

    /// Whether the teeth that are asked may do away with a finding, by their shape alone.
    fn may_do(&self, layer: &Layer, finding: &Finding, options: &Options) -> bool {
        let Some(made) = shape(layer, options).filter(|s| is_advised(layer, *s, options)) else {
            return false;
        };
        match finding.code {
            // Of a seam or a joint this long.
            "S102" | "S122" => {
                let run = least_run(layer, options);
                run.is_some_and(|r| finding.measured.is_none_or(|long| r <= long))
            }
            // Only less takes less room.
            "S112" | "S114" => {
                shape(layer, self.options).is_none_or(|now| made.half_width() <= now.half_width())
            }
            _ => true,
        }
    }

    /// A web with which a finding is gone, in words.
    fn web(&self, layer_idx: usize, finding: &Finding) -> Option<String> {
        let layer = &self.made.layers[layer_idx];
        let webs: Vec<f64> = match finding.code {
            "S102" | "S122" => WEBS.into_iter().filter(|w| *w < layer.min_web).collect(),
            "S112" => vec![CLEAR_OF_THICKNESS * layer.thickness],
            _ => Vec::new(),
        };
        let found = webs.into_iter().find(|web| {
            let layers: Vec<Layer> = self
                .made
                .layers
                .iter()
                .map(|l| Layer {
                    min_web: *web,
                    ..l.clone()
                })
                .collect();
            self.is_cured(finding, &layers, self.options)
        })?;
        let price = if finding.code == "S112" {
            ""
        } else {
            "; teeth may then be narrower, or nearer to edges, than common practice"
        };
        Some(format!(
            "{} would do, tried with the seams where they lie{price}",
            told("min_web", found)
        ))
    }

    /// Whether a finding is gone, and none of another kind has come on any layer, with these layers and options.
    fn is_cured(&self, finding: &Finding, layers: &[Layer], options: &Options) -> bool {
        let is_own = |k: &usize| finding.where_ == place(&layers[*k]);
        let first = (0..layers.len()).filter(is_own);
        let others = (0..layers.len()).filter(|k| !is_own(k));
        first.chain(others).all(|k| {
            let after = self.looked_at(k, layers, options);
            after.is_some_and(|after| after.iter().all(|f| self.is_borne(finding, f)))
        })
    }

    /// Whether a finding that there is with a remedy is none that it was to do away with, and no new one.
    fn is_borne(&self, cured: &Finding, found: &Finding) -> bool {
        let is =
            |code: &str, of: &Finding| self.codes.iter().any(|c| c.0 == code && c.1 == of.where_);
        // Some joints without a tooth are better than no tooth at all, and narrow ones or ones near an edge than none.
        let less = match found.code {
            "S122" => is("S102", found),
            "S103" | "S112" => ["S102", "S122"].contains(&cured.code),
            _ => false,
        };
        let same = found.code == cured.code && found.where_ == cured.where_;
        !UNWANTED.contains(&found.code) || !same && (less || is(found.code, found))
    }

    /// What is told of a layer's teeth, all copies; `None` where it cannot be split so.
    fn looked_at(&self, k: usize, layers: &[Layer], options: &Options) -> Option<Vec<Finding>> {
        let (mut seams, mut pieces, mut out) = (Vec::new(), Vec::new(), Vec::new());
        for copy in 1..=self.made.copies {
            let how = self.splits.get((copy - 1) * layers.len() + k)?;
            let made = split(&layers[k], k, copy, how, options).ok()?;
            seams.extend(made.seams);
            pieces.extend(made.pieces);
            out.extend(made.findings);
        }
        let made = Made {
            layers,
            seams: &seams,
            pieces: &pieces,
            ..*self.made
        };
        out.extend(of_teeth(&made, k, options));
        Some(out)
    }
}
