//! Items in every way in which they may lie, and sheets, ready for tests.
//!
//! In: a problem. Out: orientations by kind and grain, made once; sheets as bodies and as rasters; where irregular sheets give
//! contacts, and where their defects are in the way.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::model::cutter::Axis;
use crate::model::nesting::Problem;
use crate::nest::lean::leaning;
use crate::nest::orientation::{Body, Orientation, orientations};
use crate::nest::pins::{Cover, pins};
use crate::nest::raster::Raster;
use crate::parallel::map_in_order;

/// Corners of irregular sheets that give contacts, at the most.
const CORNERS: usize = 48;

/// All orientations and sheets of a problem, ready for tests; made once, they serve for as long as the problem stays the same.
#[derive(Debug)]
pub struct Shapes {
    pub(crate) ways: BTreeMap<(usize, Option<u8>), Vec<Orientation>>,
    pub(crate) sheets: Vec<Vec<Body>>,
    pub(crate) corners: Vec<Vec<Point>>,
    pub(crate) rasters: Vec<Raster>,
    /// Corners of each sheet's defects.
    pub(crate) pins: Vec<Vec<Point>>,
    /// For a kind and a sheet with pins what each orientation covers; made when it is first asked for.
    pub(crate) covers: BTreeMap<(usize, usize), Vec<OnceLock<Cover>>>,
    /// Area of each sheet.
    pub(crate) usable: Vec<f64>,
    /// Whether all items are rectangles: then corners of contact are enough.
    pub(crate) boxes: bool,
}

impl Shapes {
    /// Makes them.
    pub fn new(problem: &Problem) -> Self {
        Self::with(problem, f64::INFINITY)
    }

    /// Makes them; items from such an area on are turned finely where they may be.
    pub(crate) fn with(problem: &Problem, finely_from: f64) -> Self {
        let mut wanted: BTreeMap<(usize, Option<u8>), (usize, Option<Axis>)> = BTreeMap::new();
        let mut grains: Vec<(usize, Option<Axis>)> =
            problem.stock.iter().map(|s| (s.class, s.grain)).collect();
        grains.sort_by_key(|(class, grain)| (*class, grain_key(*grain)));
        grains.dedup();
        for (k, item) in problem.items.iter().enumerate() {
            for (_, grain) in grains.iter().filter(|g| g.0 == item.class) {
                wanted
                    .entry((item.kind, grain_key(*grain)))
                    .or_insert((k, *grain));
            }
        }
        let leans = leaning(problem);
        let ways = map_in_order(wanted.into_iter().collect(), |(key, (item, grain))| {
            let item = &problem.items[item];
            let leans = leans.get(&item.kind).map_or(&[][..], Vec::as_slice);
            let finely = item.shape.area_mm2() >= finely_from;
            let made = orientations(item, grain, problem.flip, (finely, leans));
            (key, made)
        });
        let is_box = |r: &Region| {
            let b = r.bounds();
            r.holes().is_empty() && (b.width() * b.depth() - r.area_mm2()).abs() < 1e-6
        };
        let ways: BTreeMap<_, Vec<Orientation>> = ways.into_iter().collect();
        let pins: Vec<Vec<Point>> = problem.stock.iter().map(|s| pins(&s.region)).collect();
        Self {
            covers: covers(problem, &ways, &pins),
            pins,
            ways,
            sheets: problem
                .stock
                .iter()
                .map(|s| s.region.iter().map(Body::new).collect())
                .collect(),
            corners: problem
                .stock
                .iter()
                .map(|s| irregular_corners(&s.region))
                .collect(),
            rasters: problem
                .stock
                .iter()
                .map(|s| Raster::of_sheet(&s.region))
                .collect(),
            usable: problem
                .stock
                .iter()
                .map(|s| s.region.iter().map(Region::area_mm2).sum())
                .collect(),
            boxes: problem.items.iter().all(|i| is_box(&i.shape)),
        }
    }
}

/// Room for what orientations cover, on sheets with pins.
fn covers(
    problem: &Problem,
    ways: &BTreeMap<(usize, Option<u8>), Vec<Orientation>>,
    pins: &[Vec<Point>],
) -> BTreeMap<(usize, usize), Vec<OnceLock<Cover>>> {
    let mut out = BTreeMap::new();
    for (k, stock) in problem.stock.iter().enumerate() {
        if pins[k].is_empty() {
            continue;
        }
        let grain = grain_key(stock.grain);
        for ((kind, _), ways) in ways.iter().filter(|w| w.0.1 == grain) {
            out.insert((*kind, k), vec![OnceLock::new(); ways.len()]);
        }
    }
    out
}

/// Corners of sheets that are no plain rectangles.
fn irregular_corners(region: &[Region]) -> Vec<Point> {
    let mut out: Vec<Point> = Vec::new();
    for r in region {
        let b = r.bounds();
        let plain = (b.width() * b.depth() - r.area_mm2()).abs() < 1e-6;
        if !plain {
            out.extend(r.edges().map(|e| e.start).take(CORNERS));
            out.extend(
                r.holes()
                    .iter()
                    .flat_map(|h| [h.bounds().min, h.bounds().max]),
            );
        }
    }
    out.truncate(CORNERS);
    out
}

/// The way a grain runs, for a key.
pub(crate) fn grain_key(along: Option<Axis>) -> Option<u8> {
    along.map(|a| a as u8)
}
