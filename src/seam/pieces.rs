//! Pieces: what the seams make of a layer.
//!
//! Each cell between the bare base lines is cut out of the layer; every connected part of it is a piece, and gets its teeth. Pieces that a seam touches are held to
//! `min_piece`, their areas must add up to the layer's, their seam faces are drawn in by half the gap, and they are
//! numbered by rows from the front, within a row from the left.

use crate::geometry::boolean::{difference, intersection};
use crate::geometry::bounds::Bounds;
use crate::geometry::edge::Edge;
use crate::geometry::error::GeometryError;
use crate::geometry::offset::draw_in;
use crate::geometry::predicate::{Location, point_in_region, point_in_ring};
use crate::geometry::region::Region;
use crate::geometry::ring::Ring;
use crate::geometry::tolerance::{CERTIFIED, COINCIDENT, SLIVER_AREA_MM2};
use crate::model::layer::Layer;
use crate::model::piece::{Owner, Piece};
use crate::model::source::is_seam;
use crate::seam::error::SeamFault;
use crate::seam::layout::Layout;
use crate::seam::options::Options;

/// Front edges that lie no farther apart than this are one row's.
const ROW: f64 = 1.0;
/// Area in mm² that rounding may account for: half of the least sliver that booleans drop, and per mm of outline a share
/// ten times what is seen where nothing is lost.
const LOST_MM2: f64 = SLIVER_AREA_MM2 / 2.0;
const LOST_PER_MM: f64 = 1.0e-8;

/// A region cut along bare base lines, and the same with its teeth.
struct Cut {
    /// The group of cells that it was cut from.
    group: usize,
    bare: Region,
    region: Region,
}

/// Cuts the layer along its seams; without any, every region stays as it is. With the pieces come the numbers of the groups
/// of cells that they were cut from.
pub(crate) fn pieces(
    layer: &Layer,
    owner: Owner,
    layout: Option<&Layout>,
    options: &Options,
) -> Result<(Vec<Piece>, Vec<usize>), SeamFault> {
    let mut cuts: Vec<Cut> = Vec::new();
    match layout {
        None => cuts.extend(layer.shape.iter().map(|r| Cut {
            group: 0,
            bare: r.clone(),
            region: r.clone(),
        })),
        Some(layout) => {
            for (group, cell) in layout.cells() {
                for bare in cut_out(layer, &cell)? {
                    let region = dressed(layer, layout, &bare)?;
                    cuts.push(Cut {
                        group,
                        bare,
                        region,
                    });
                }
            }
        }
    }
    check(layer, &cuts, options)?;
    sort(&mut cuts);
    let groups = cuts.iter().map(|c| c.group).collect();
    let pieces: Result<Vec<Piece>, SeamFault> = cuts
        .into_iter()
        .enumerate()
        .map(|(k, cut)| piece(layer, owner, k, cut, layout, options))
        .collect();
    Ok((pieces?, groups))
}

fn dressed(layer: &Layer, layout: &Layout, bare: &Region) -> Result<Region, SeamFault> {
    layout.dressed(bare).ok_or_else(|| SeamFault::Lost {
        layer: layer.name.clone(),
        found_mm2: 0.0,
        expected_mm2: bare.area_mm2(),
    })
}

/// The layer within a cell, region by region: one may lie in a hole of another.
fn cut_out(layer: &Layer, cell: &Ring) -> Result<Vec<Region>, SeamFault> {
    let bounds = cell.bounds();
    let mut parts = Vec::new();
    for region in layer.shape.iter().filter(|r| r.bounds().touches(bounds)) {
        let found = cut_region(region, cell).map_err(|source| SeamFault::Shape {
            layer: layer.name.clone(),
            source,
        })?;
        parts.extend(found);
    }
    Ok(parts)
}

/// One region within a cell. Holes that no seam comes near are set aside while the rest is cut, and put back as they were
/// drawn into the part that surrounds them.
fn cut_region(region: &Region, cell: &Ring) -> Result<Vec<Region>, GeometryError> {
    let sides: Vec<Bounds> = cell
        .edges()
        .iter()
        .map(|e| e.bounds().grown(COINCIDENT))
        .collect();
    let crossed = |ring: &Ring| sides.iter().any(|s| s.touches(ring.bounds()));
    let inside = |ring: &Ring| point_in_ring(ring.edges()[0].start, cell) == Location::Inside;
    if !crossed(region.outer()) {
        return Ok(if inside(region.outer()) {
            vec![region.clone()]
        } else {
            Vec::new()
        });
    }
    let (near, far): (Vec<&Ring>, Vec<&Ring>) = region.holes().iter().partition(|h| crossed(h));
    let mut aside: Vec<&Ring> = far.into_iter().filter(|h| inside(h)).collect();
    let near = Region::new(region.outer().clone(), near.into_iter().cloned().collect());
    let mut parts = intersection(&[near], &[Region::solid(cell.clone())])?;
    for part in &mut parts {
        let held = |h: &&Ring| point_in_region(h.edges()[0].start, part) == Location::Inside;
        let (mine, others): (Vec<&Ring>, Vec<&Ring>) = aside.into_iter().partition(held);
        let holes = part.holes().iter().chain(mine).cloned().collect();
        *part = Region::new(part.outer().clone(), holes);
        aside = others;
    }
    Ok(parts)
}

fn check(layer: &Layer, cuts: &[Cut], options: &Options) -> Result<(), SeamFault> {
    let regions = || cuts.iter().map(|c| &c.region);
    let limit = options.limits.min_piece;
    for region in regions().filter(|r| r.edges().any(|e| is_seam(e.source))) {
        let bounds = region.bounds();
        if bounds.width().min(bounds.depth()) < limit - CERTIFIED {
            return Err(SeamFault::PieceTooSmall {
                layer: layer.name.clone(),
                place: bounds.center(),
                width: bounds.width(),
                depth: bounds.depth(),
                limit,
            });
        }
    }
    let expected_mm2: f64 = layer.shape.iter().map(Region::area_mm2).sum();
    let found_mm2: f64 = regions().map(Region::area_mm2).sum();
    let along: f64 = regions().flat_map(Region::rings).map(Ring::length).sum();
    if (found_mm2 - expected_mm2).abs() > LOST_MM2 + LOST_PER_MM * along {
        return Err(SeamFault::Lost {
            layer: layer.name.clone(),
            found_mm2,
            expected_mm2,
        });
    }
    Ok(())
}

/// Orders pieces by rows from the front, each from the left. Front edges that follow one another within 1 mm are a row's.
fn sort(cuts: &mut [Cut]) {
    let corner = |c: &Cut| c.region.bounds().min;
    cuts.sort_by(|a, b| {
        let (a, b) = (corner(a), corner(b));
        a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x))
    });
    let mut from = 0;
    for k in 1..=cuts.len() {
        if k == cuts.len() || corner(&cuts[k]).y - corner(&cuts[k - 1]).y > ROW {
            cuts[from..k].sort_by(|a, b| {
                let (a, b) = (corner(a), corner(b));
                a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
            });
            from = k;
        }
    }
}

fn piece(
    layer: &Layer,
    owner: Owner,
    k: usize,
    cut: Cut,
    layout: Option<&Layout>,
    options: &Options,
) -> Result<Piece, SeamFault> {
    let id = match owner {
        Owner::Layer { copy, .. } if copy > 1 => format!("{}-c{copy}-{}", layer.name, k + 1),
        _ => format!("{}-{}", layer.name, k + 1),
    };
    let finished = match layout {
        Some(layout) if options.limits.gap > 0.0 => {
            finished(layer, &cut, layout, options.limits.gap / 2.0)?
        }
        _ => cut.region.clone(),
    };
    Ok(Piece {
        id,
        owner,
        region: cut.region,
        finished,
    })
}

/// Takes from a piece what lies within half the gap of a seam that bridges an opening close to its edge.
fn clear_of_bridges(
    parts: Vec<Region>,
    layout: &Layout,
    by: f64,
) -> Result<Vec<Region>, GeometryError> {
    let bands = layout.bands(by);
    let inner: Vec<Bounds> = bands
        .iter()
        .map(|b| b.bounds().grown(-2.0 * COINCIDENT))
        .collect();
    let meets = |e: &Edge| !is_seam(e.source) && inner.iter().any(|b| b.touches(e.bounds()));
    if parts.iter().any(|p| p.edges().any(meets)) {
        difference(&parts, &bands)
    } else {
        Ok(parts)
    }
}

/// The piece with its seam faces drawn in: the bare one is, and then dressed with teeth that much smaller or sockets that
/// much wider.
fn finished(layer: &Layer, cut: &Cut, layout: &Layout, by: f64) -> Result<Region, SeamFault> {
    if !cut.bare.edges().any(|e| is_seam(e.source)) {
        return Ok(cut.region.clone());
    }
    let lost = |source| SeamFault::Shape {
        layer: layer.name.clone(),
        source,
    };
    let drawn = draw_in(&cut.bare, by, &is_seam).map_err(lost)?;
    let parts = clear_of_bridges(drawn, layout, by).map_err(lost)?;
    match parts.as_slice() {
        [one] => dressed(layer, layout, one),
        _ => Err(SeamFault::GapParts {
            layer: layer.name.clone(),
            place: cut.region.bounds().center(),
            by,
            parts: parts.len(),
        }),
    }
}
