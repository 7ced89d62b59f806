//! What only shows when several tables are held together: names, widths of cut against distances, numbers of pieces.

use crate::fixture::brief::LayerBrief;
use crate::job::cutter_tables::CutterTable;
use crate::job::defaults;
use crate::job::error::JobError;
use crate::job::limits::Limit;
use crate::job::reader::Walk;
use crate::model::cutter::Cutter;
use crate::model::part::Part;

impl Walk<'_> {
    /// Names of layers and parts: each once, and none that another copy's pieces would take.
    pub(crate) fn check_names(&mut self, layers: &[LayerBrief], parts: &[Part], copies: usize) {
        let names: Vec<(String, String)> = layers
            .iter()
            .enumerate()
            .map(|(i, l)| (format!("layer.{i}.name"), l.name.clone()))
            .chain(
                parts
                    .iter()
                    .enumerate()
                    .map(|(i, p)| (format!("part.{i}.name"), p.name.clone())),
            )
            .filter(|(_, name)| !name.is_empty())
            .collect();
        for (i, (path, name)) in names.iter().enumerate() {
            if let Some((before, _)) = names[..i].iter().find(|(_, other)| other == name) {
                let what = if before.starts_with("part") == path.starts_with("part") {
                    "the name"
                } else {
                    "among layers and parts the name"
                };
                let mut fault = JobError::Twice {
                    what,
                    name: name.clone(),
                }
                .fault(self.places.of(path));
                fault
                    .also
                    .push((self.places.of(before), String::from("first here")));
                self.faults.push(fault);
            }
        }
        // Pieces of copy 2 of `base` are called `base-c2-1`: so would be those of a layer `base-c2`.
        for (path, name) in &names {
            let Some((layer, copy)) = name
                .rsplit_once("-c")
                .and_then(|(layer, copy)| Some((layer, copy.parse::<usize>().ok()?)))
            else {
                continue;
            };
            if (2..=copies).contains(&copy)
                && *name == format!("{layer}-c{copy}")
                && layers.iter().any(|l| l.name == layer)
            {
                let why = format!("the pieces of copy {copy} of layer {layer:?} are called so");
                self.fault_at(
                    &JobError::Name {
                        key: String::from("name"),
                        why,
                    },
                    path,
                );
            }
        }
    }

    /// Layers without a drawing take the outline of `[fixture]`.
    pub(crate) fn check_outlines(&mut self, layers: &[LayerBrief]) {
        let told = self.places.has("fixture.size") || self.places.has("fixture.drawing");
        let plain = (0..layers.len()).find(|i| !self.places.has(&format!("layer.{i}.drawing")));
        if let Some(i) = plain.filter(|_| !told) {
            let hint = "layers without a `drawing` take their outline from it: `[fixture]` with `size = [880, 600]`";
            let error = JobError::Missing {
                key: String::from("size` or `drawing"),
                table: String::from("[fixture]"),
                hint,
            };
            let at = if self.places.has("fixture") {
                String::from("fixture")
            } else {
                format!("layer.{i}")
            };
            self.fault_at(&error, &at);
        }
    }

    /// The number of pieces that the job is sure to make.
    pub(crate) fn check_pieces(&mut self, layers: usize, parts: &[Part], copies: usize) {
        if layers + parts.len() == 0 && !self.places.has("layer") && !self.places.has("part") {
            self.fault_at(&JobError::NothingToCut, "");
        }
        let n = parts.iter().fold(layers.saturating_mul(copies), |n, part| {
            n.saturating_add(part.quantity)
        });
        let most = self.limits.most(Limit::Pieces);
        if n > most.count {
            let at = if layers.saturating_mul(copies) > most.count {
                "copies"
            } else {
                "part"
            };
            self.fault_at(
                &JobError::TooMany {
                    what: "pieces",
                    n,
                    most,
                },
                at,
            );
        }
    }

    /// The cutter with its spacing and margin, which no cut of the job may eat.
    pub(crate) fn finish_cutter(
        &mut self,
        table: CutterTable,
        layers: &[LayerBrief],
        parts: &[Part],
    ) -> Cutter {
        let own = layers
            .iter()
            .map(|l| l.cut_width)
            .chain(parts.iter().map(|p| p.cut_width));
        let cut = own.fold(table.cutter.cut_width, f64::max);
        let spacing = table.spacing.unwrap_or_else(|| defaults::spacing(cut));
        let margin = table
            .edge_margin
            .unwrap_or_else(|| defaults::edge_margin(cut));
        if table.has_cut_width && spacing < cut {
            self.fault_at(&JobError::Spacing { spacing, cut }, "cutter.spacing");
        }
        if table.has_cut_width && margin < cut / 2.0 {
            self.fault_at(&JobError::EdgeMargin { margin, cut }, "cutter.edge_margin");
        }
        Cutter {
            spacing,
            edge_margin: margin,
            ..table.cutter
        }
    }
}
