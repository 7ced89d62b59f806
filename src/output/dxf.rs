//! DXF files of sheets and of the fixture's outline.
//!
//! In: what is cut from a sheet, in the order of cutting; or the fixture. Out: bytes. One layer for each operation, told
//! apart by name; everything black and by layer unless the job sets a colour. The sheet's own outline is for reference and
//! marked as not to be plotted.

use crate::format::dxf::{Contour, Drawn, Layer, Output, Release, write};
use crate::model::cut_path::{Operation, SheetCut, Stroke};
use crate::model::fixture::Fixture;
use crate::output::options::{DxfRelease, Options};
use crate::output::outline::{self, Part};

/// The colour that shows on any background.
const PLAIN: u8 = 7;

/// The cut file of a sheet, in the sheet's frame.
pub fn sheet_dxf(cut: &SheetCut, options: &Options) -> Vec<u8> {
    let layers = Operation::ALL.map(|operation| {
        let style = options.style(operation);
        Layer {
            name: style.name.clone(),
            color: style.color.unwrap_or(PLAIN),
            plotted: operation != Operation::Sheet,
        }
    });
    let entities = cut.paths.iter().map(|path| Drawn {
        layer: options.style(path.operation).name.clone(),
        shape: shape(&path.stroke),
    });
    write(&Output {
        release: release(options),
        layers: layers.to_vec(),
        entities: entities.collect(),
    })
}

/// The fixture as whoever places artwork needs it, in the bed's frame.
pub fn outline_dxf(fixture: &Fixture, options: &Options) -> Vec<u8> {
    let layers = Part::ALL.map(|part| Layer {
        name: part.word().to_owned(),
        color: PLAIN,
        plotted: part != Part::Bed,
    });
    let strokes = outline::strokes(fixture);
    let entities = strokes.iter().map(|(part, stroke)| Drawn {
        layer: part.word().to_owned(),
        shape: match stroke {
            // Artwork is clipped at pockets: a polyline ends where it begins to the bit, whoever flattens it.
            Stroke::Closed(ring) if *part == Part::Pocket => Contour::closed_polyline(ring),
            _ => shape(stroke),
        },
    });
    write(&Output {
        release: release(options),
        layers: layers.to_vec(),
        entities: entities.collect(),
    })
}

fn release(options: &Options) -> Release {
    match options.dxf {
        DxfRelease::R2000 => Release::R2000,
        DxfRelease::R12 => Release::R12,
    }
}

fn shape(stroke: &Stroke) -> Contour {
    match stroke {
        Stroke::Closed(ring) => Contour::of_ring(ring),
        Stroke::Open(path) => Contour::of_path(path),
    }
}
