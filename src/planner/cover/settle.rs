//! From layings and positions to a guess: which sheet each piece lies on, and where.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::model::cutter::Axis;
use crate::model::seam::LayerSplit;
use crate::planner::boxes::cell_boxes;
use crate::planner::cover::order::Laying;
use crate::planner::cover::place::Place;
use crate::planner::cover::seat::Offer;
use crate::planner::packing::{Packed, Spot, pack, take};
use crate::planner::prepared::Prepared;
use crate::planner::state::{Order, StandsFor, State, Worth, stands};

/// Splits and the places of their pieces, as a guess; parts are packed beside them.
pub(super) fn settle(
    prepared: &Prepared<'_>,
    offer: &Offer,
    layings: &[&Laying],
    splits: Vec<LayerSplit>,
) -> Option<(State, Worth)> {
    let mut used: Vec<(usize, usize)> = Vec::new();
    let mut rows: Vec<(usize, f64)> = Vec::new();
    let mut worth = Worth::default();
    for class in 0..prepared.classes.len() {
        let packed = packed(
            prepared, offer, class, layings, &splits, &mut used, &mut rows,
        )?;
        worth.pieces.push(packed.spots.len());
        worth.packed.push(packed);
    }
    let orders = prepared
        .classes
        .iter()
        .zip(&worth.packed)
        .map(|(class, packed)| {
            let mut bins: Vec<usize> = packed.spots.iter().flatten().map(|s| s.bin).collect();
            bins.sort_unstable();
            bins.dedup();
            let rest: Vec<usize> = (0..class.bins.len())
                .filter(|b| !bins.contains(b))
                .collect();
            bins.extend(rest);
            Order {
                bins,
                rule: 0,
                salt: 0,
            }
        })
        .collect();
    Some((State { splits, orders }, worth))
}

fn packed(
    prepared: &Prepared<'_>,
    offer: &Offer,
    class: usize,
    layings: &[&Laying],
    splits: &[LayerSplit],
    used: &mut Vec<(usize, usize)>,
    rows: &mut Vec<(usize, f64)>,
) -> Option<Packed> {
    let of_class = &prepared.classes[class];
    let stands = stands(prepared, splits, class);
    let mut packed = Packed {
        spots: vec![None; stands.len()],
        ..Packed::default()
    };
    let mut opened: Vec<(usize, Vec<Bounds>)> = Vec::new();
    for (k, stand) in stands.iter().enumerate() {
        let StandsFor::Cell(unit, cell) = stand.what else {
            continue;
        };
        let (i, j) = splits[unit].groups()[cell][0];
        let seat = layings[unit].seats[i][j];
        let place = &offer.places[seat.place];
        let kind = &offer.kinds[place.kind];
        let bin = if kind.bins.len() == 1 {
            kind.bins[0]
        } else {
            let n = used.iter().filter(|u| u.0 == place.kind).count();
            *kind.bins.get(n)?
        };
        used.push((place.kind, bin));
        let size = if seat.turned {
            [stand.item.size[1], stand.item.size[0]]
        } else {
            stand.item.size
        };
        let spacing = prepared.task.cutter.spacing;
        let high = place.anchor();
        let at = match place.parted {
            Some(_) => row_start(rows, seat.place, place, size, spacing),
            None => match offer.fit_of(&seat) {
                Some(fit) => {
                    let shape = &prepared.shapes[prepared.units[unit].shape];
                    let gap = prepared.task.seams.limits.gap;
                    let boxes = cell_boxes(shape, &splits[unit], gap);
                    let (bounds, _) = boxes.iter().find(|b| b.1 == cell)?;
                    let [x, y] = fit.shift(*bounds);
                    place.window.min + Point::new(x, y)
                }
                None => end_of(place.window, high),
            },
        };
        packed.spots[k] = Some(Spot {
            bin,
            at,
            turned: seat.turned,
            half: seat.half,
            high,
        });
        // An L counts with its whole box, and so does what lacks a corner.
        let taken = if place.notch.is_some() || !place.is_clear() {
            place.window
        } else {
            let toward = |high: bool, size: f64| if high { -size } else { size };
            let far = Point::new(toward(high[0], size[0]), toward(high[1], size[1]));
            Bounds::of_points([at, at + far])
        };
        let at = opened.iter().position(|o| o.0 == bin).unwrap_or_else(|| {
            packed.cost += of_class.bins[bin].cost;
            opened.push((bin, of_class.bins[bin].windows.clone()));
            opened.len() - 1
        });
        take(&mut opened[at].1, taken.grown(prepared.task.cutter.spacing));
    }
    if !of_class.parts.is_empty() {
        parts(
            prepared,
            class,
            &opened,
            stands.len() - of_class.parts.len(),
            &mut packed,
        )?;
    }
    Some(packed)
}

/// The corner of a box at the high end of x, and of y, or at the low one.
fn end_of(window: Bounds, high: [bool; 2]) -> Point {
    let pick = |high: bool, low_end: f64, high_end: f64| if high { high_end } else { low_end };
    Point::new(
        pick(high[0], window.min.x, window.max.x),
        pick(high[1], window.min.y, window.max.y),
    )
}

/// Packs the parts of a class into what is left; `None` where one finds no place.
fn parts(
    prepared: &Prepared<'_>,
    class: usize,
    opened: &[(usize, Vec<Bounds>)],
    first: usize,
    packed: &mut Packed,
) -> Option<()> {
    let of_class = &prepared.classes[class];
    let task = &prepared.task;
    let mut bins = of_class.bins.clone();
    let mut order: Vec<usize> = opened.iter().map(|o| o.0).collect();
    for (bin, windows) in opened {
        bins[*bin].windows.clone_from(windows);
        bins[*bin].cost = 0.0;
    }
    order.extend((0..bins.len()).filter(|b| opened.iter().all(|o| o.0 != *b)));
    let items: Vec<_> = of_class.parts.iter().map(|p| p.0).collect();
    let mut by_size: Vec<usize> = (0..items.len()).collect();
    by_size.sort_by(|a, b| {
        let area = |k: usize| items[k].size[0] * items[k].size[1];
        area(*b).total_cmp(&area(*a))
    });
    let found = pack(
        &items,
        &by_size,
        &bins,
        &order,
        task.cutter.spacing,
        task.cutter.edge_margin,
        task.search.remnant,
    );
    packed.cost += found.cost;
    for (k, spot) in found.spots.iter().enumerate() {
        packed.spots[first + k] = Some((*spot)?);
    }
    Some(())
}

/// The corner at which the next piece in a row on a parted place lies: behind those before.
fn row_start(
    rows: &mut Vec<(usize, f64)>,
    number: usize,
    place: &Place,
    size: [f64; 2],
    spacing: f64,
) -> Point {
    let k = rows.iter().position(|r| r.0 == number).unwrap_or_else(|| {
        rows.push((number, 0.0));
        rows.len() - 1
    });
    let corner = place.window.min;
    let from = rows[k].1;
    let along_x = place.parted == Some(Axis::X);
    rows[k].1 += spacing + if along_x { size[0] } else { size[1] };
    if along_x {
        Point::new(corner.x + from, corner.y)
    } else {
        Point::new(corner.x, corner.y + from)
    }
}
