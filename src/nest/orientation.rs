//! The ways in which an item may lie on a sheet.

use std::sync::Arc;

use crate::geometry::angle;
use crate::geometry::bounds::Bounds;
use crate::geometry::distance::BoxedEdges;
use crate::geometry::edge::{Curve, Edge};
use crate::geometry::point::Point;
use crate::geometry::region::Region;
use crate::geometry::transform::{Pose, Rotation};
use crate::geometry::units;
use crate::model::cutter::{Axis, Turns};
use crate::model::nesting::Item;
use crate::nest::raster::Footprint;

/// Edges longer than this share of the longest one are laid along the axes where any turn is allowed.
const LONG: f64 = 0.5;
/// Degrees from one turn to the next where turns are asked for finely.
const FINE: usize = 15;
/// The most directions of long edges that are tried.
const DIRECTIONS: usize = 4;

/// An item mirrored and turned, its box's front-left corner at the origin.
#[derive(Clone, Debug)]
pub(crate) struct Orientation {
    /// Mirror and turn; its shift brings the box's corner to the origin.
    pub(crate) pose: Pose,
    /// The shape so.
    pub(crate) body: Body,
    /// Boxes of its holes.
    pub(crate) holes: Vec<Bounds>,
    /// Its extents.
    pub(crate) size: Point,
    /// The shape for rasters.
    pub(crate) print: Arc<Footprint>,
    /// Its area.
    pub(crate) area: f64,
}

impl Orientation {
    fn new(item: &Item, mirrored: bool, rotation: Rotation) -> Self {
        let turned = Pose {
            mirrored,
            rotation,
            shift: Point::new(0.0, 0.0),
        };
        let bounds = item.shape.posed(turned).bounds();
        let pose = Pose {
            shift: -bounds.min,
            ..turned
        };
        let region = item.shape.posed(pose);
        Self {
            pose,
            body: Body::new(&region),
            holes: region.holes().iter().map(|h| h.bounds()).collect(),
            size: bounds.max - bounds.min,
            print: Arc::new(Footprint::of(&region)),
            area: region.area_mm2(),
        }
    }

    /// The pose that lays the box's corner at a point, its shift rounded to 1e-6 as a plan writes it.
    pub(crate) fn at(&self, corner: Point) -> Pose {
        let shift = self.pose.shift + corner;
        let round = |v: f64| (v * 1e6).round() / 1e6;
        Pose {
            shift: Point::new(round(shift.x), round(shift.y)),
            ..self.pose
        }
    }
}

/// A shape in its place, ready for tests: edges made once for an orientation, and by how much they are shifted.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    /// Edges with boxes, before the shift.
    pub(crate) edges: Arc<BoxedEdges>,
    /// The shift.
    pub(crate) shift: Point,
    /// The box after the shift.
    pub(crate) bounds: Bounds,
}

impl Body {
    pub(crate) fn new(region: &Region) -> Self {
        let edges = Arc::new(BoxedEdges::new(region.edges()));
        Self {
            bounds: edges.bounds(),
            shift: Point::new(0.0, 0.0),
            edges,
        }
    }

    /// The same shape shifted by `by` from where its edges were made.
    pub(crate) fn shifted(&self, by: Point) -> Self {
        Self {
            edges: self.edges.clone(),
            shift: by,
            bounds: self.edges.bounds().moved(by),
        }
    }

    /// Edges with boxes in their place.
    pub(crate) fn placed(&self) -> BoxedEdges {
        let edges: Vec<Edge> = self
            .edges
            .edges()
            .iter()
            .map(|(e, _)| e.posed(Pose::shifted(self.shift)))
            .collect();
        BoxedEdges::new(&edges)
    }
}

/// Turns in degrees that an item may have on a sheet of this grain; where it is any, those at which it `leans` are among them.
pub(crate) fn turns(item: &Item, along: Option<Axis>, leans: &[f64]) -> Vec<f64> {
    if let (Some(own), Some(sheet)) = (item.grain, along) {
        return if own == sheet {
            vec![0.0, 180.0]
        } else {
            vec![90.0, 270.0]
        };
    }
    match item.turns {
        Turns::None => vec![0.0],
        Turns::Half => vec![0.0, 180.0],
        Turns::Quarter => vec![0.0, 90.0, 180.0, 270.0],
        Turns::Any => [any_turns(item).as_slice(), leans].concat(),
    }
}

/// Quarter turns, and turns that lay the item's long edges along the axes.
fn any_turns(item: &Item) -> Vec<f64> {
    let mut edges: Vec<(f64, f64)> = Vec::new();
    for edge in item
        .shape
        .outer()
        .edges()
        .iter()
        .filter(|e| e.curve == Curve::Line)
    {
        let way = edge.end - edge.start;
        let quarter = std::f64::consts::FRAC_PI_2;
        let turn = angle::positive(-way.angle()) % quarter;
        let turn = if quarter - turn < 1e-6 { 0.0 } else { turn };
        match edges.iter_mut().find(|(t, _)| (*t - turn).abs() < 1e-6) {
            Some((_, length)) => *length += way.length(),
            None => edges.push((turn, way.length())),
        }
    }
    edges.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.total_cmp(&b.0)));
    let longest = edges.first().map_or(0.0, |e| e.1);
    let mut out = vec![0.0];
    out.extend(
        edges
            .iter()
            .filter(|e| e.1 >= LONG * longest && e.0 > 1e-6)
            .take(DIRECTIONS)
            .map(|e| units::degrees(e.0)),
    );
    out.iter()
        .flat_map(|t| (0..4).map(move |q| t + 90.0 * f64::from(q)))
        .collect()
}

/// All orientations of an item on a sheet of this grain; equal shapes once. Where any turn is allowed and all were asked for
/// `finely`, turns by steps of 15° too, which come last, and those at which it `leans`.
pub(crate) fn orientations(
    item: &Item,
    along: Option<Axis>,
    flip: bool,
    (finely, leans): (bool, &[f64]),
) -> Vec<Orientation> {
    let mut degrees = turns(item, along, leans);
    let has_own_turns = item.grain.is_none() || along.is_none();
    if finely && item.turns == Turns::Any && has_own_turns {
        degrees.extend((0..360).step_by(FINE).map(f64::from));
    }
    let mut out: Vec<Orientation> = Vec::new();
    for mirrored in if flip {
        &[false, true][..]
    } else {
        &[false][..]
    } {
        for &deg in &degrees {
            let made = Orientation::new(item, *mirrored, Rotation::from_degrees(deg));
            if !out.iter().any(|o| same(&o.body, &made.body)) {
                out.push(made);
            }
        }
    }
    out
}

/// Whether two shapes with their corners at the origin are one shape, told by their vertices.
fn same(a: &Body, b: &Body) -> bool {
    let points = |r: &Body| {
        let mut p: Vec<(i64, i64)> = r
            .edges
            .edges()
            .iter()
            .flat_map(|(e, _)| [e.start, e.at(0.5)])
            .map(|m| ((m.x * 1e5).round() as i64, (m.y * 1e5).round() as i64))
            .collect();
        p.sort_unstable();
        p
    };
    points(a) == points(b)
}
