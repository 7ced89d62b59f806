//! Strip and pieces in whole millionths of a millimetre.

use crate::geometry::bounds::Bounds;
use crate::geometry::point::Point;
use crate::model::nesting::{Layout, Placed, Problem, SheetUse};
use crate::nest::orientation::{Orientation, orientations};

/// Units in a millimetre.
const UNIT: f64 = 1e6;
/// More pieces than this are left to other searches.
pub(super) const MOST: usize = 200;
/// A box whose area differs by no more than this share from its shape's is that shape.
const SAME: f64 = 1e-9;

/// A piece in one of its turns.
#[derive(Clone, Debug)]
pub(super) struct Way {
    /// Extent along the strip, spacing included.
    pub(super) along: i64,
    /// Extent across it, spacing included.
    pub(super) across: i64,
    orientation: Orientation,
}

/// A piece that was laid: which, in which way, and where its corner is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Laid {
    pub(super) item: usize,
    pub(super) way: usize,
    pub(super) along: i64,
    pub(super) across: i64,
}

impl Laid {
    /// The piece on a sheet whose pieces may begin at `origin`.
    pub(super) fn placed(&self, ways: &[Vec<Way>], (sheet, origin): (SheetUse, Point)) -> Placed {
        let corner = Point::new(self.along as f64 / UNIT, self.across as f64 / UNIT);
        Placed {
            item: self.item,
            sheet,
            pose: ways[self.item][self.way].orientation.at(origin + corner),
        }
    }
}

/// The strip with all pieces.
#[derive(Clone, Debug)]
pub(super) struct Plate {
    /// Ways of each piece.
    pub(super) ways: Vec<Vec<Way>>,
    /// Breadth of the strip, spacing included.
    pub(super) breadth: i64,
    /// Sum of the pieces' areas.
    pub(super) area: i128,
    /// No layout of upright boxes is shorter than this.
    pub(super) least: i64,
    /// Every extent is a multiple of this.
    pub(super) step: i64,
    sheet: SheetUse,
    origin: Point,
}

impl Plate {
    /// Reads a problem; `None` where sheet or a piece is not a rectangle along the axes.
    pub(super) fn read(problem: &Problem, sheet: SheetUse) -> Option<Self> {
        let stock = &problem.stock[sheet.stock];
        let [region] = stock.region.as_slice() else {
            return None;
        };
        let bounds = region.bounds();
        if problem.items.len() > MOST || !fills(bounds, region.area_mm2()) {
            return None;
        }
        let ways = ways(problem, sheet.stock)?;
        let breadth = within(problem, bounds.depth());
        let margin = Point::new(problem.edge_margin, problem.edge_margin);
        Self::of(ways, breadth, sheet, bounds.min + margin)
    }

    fn of(ways: Vec<Vec<Way>>, breadth: i64, sheet: SheetUse, origin: Point) -> Option<Self> {
        let extents = || ways.iter().flatten().flat_map(|w| [w.along, w.across]);
        if breadth <= 0 || extents().any(|e| e <= 0) {
            return None;
        }
        let step = extents().fold(0, divisor);
        let area: i128 = ways
            .iter()
            .map(|of| i128::from(of[0].along) * i128::from(of[0].across))
            .sum();
        // Pieces reach multiples of the step across, so what the breadth leaves over is never used.
        let breadth = breadth / step * step;
        let widest = ways
            .iter()
            .map(|of| of.iter().filter(|w| w.across <= breadth))
            .map(|of| of.map(|w| w.along).min())
            .collect::<Option<Vec<i64>>>()?
            .into_iter()
            .max()?;
        let full = i64::try_from((area + i128::from(breadth) - 1) / i128::from(breadth)).ok()?;
        Some(Self {
            least: ((full + step - 1) / step * step).max(widest),
            ways,
            breadth,
            area,
            step,
            sheet,
            origin,
        })
    }

    /// A used length as one between the corner of the first piece and the end of the last one's spacing.
    pub(super) fn length(&self, problem: &Problem, used: f64) -> i64 {
        ((used - 2.0 * problem.edge_margin + problem.spacing) * UNIT).round() as i64
    }

    /// What was laid, as a layout.
    pub(super) fn layout(&self, problem: &Problem, laid: &[Laid]) -> Layout {
        let mut placed: Vec<Placed> = laid
            .iter()
            .map(|l| l.placed(&self.ways, (self.sheet, self.origin)))
            .collect();
        placed.sort_by_key(|p| p.item);
        debug_assert_eq!(placed.len(), problem.items.len());
        Layout { placed }
    }
}

/// A length in whole units, not less than it is.
fn up(length: f64) -> i64 {
    (length * UNIT - 1e-3).ceil() as i64
}

/// What an extent of a sheet has within its margins, with the spacing behind the last piece.
pub(super) fn within(problem: &Problem, extent: f64) -> i64 {
    let inner = extent - 2.0 * problem.edge_margin;
    (inner * UNIT + 1e-3).floor() as i64 + up(problem.spacing)
}

/// The ways of each piece to lie on a kind of sheet; `None` where one of them is no rectangle along the axes.
pub(super) fn ways(problem: &Problem, stock: usize) -> Option<Vec<Vec<Way>>> {
    let space = up(problem.spacing);
    let of = |item| {
        let ways: Vec<Way> =
            orientations(item, problem.stock[stock].grain, problem.flip, (false, &[]))
                .into_iter()
                .filter(|o| fills(o.body.bounds, item.shape.area_mm2()))
                .map(|o| Way {
                    along: up(o.size.x) + space,
                    across: up(o.size.y) + space,
                    orientation: o,
                })
                .collect();
        (!ways.is_empty()).then_some(ways)
    };
    problem.items.iter().map(of).collect()
}

/// Whether a shape of this area fills its box.
pub(super) fn fills(bounds: Bounds, area: f64) -> bool {
    let full = bounds.width() * bounds.depth();
    (full - area).abs() <= SAME * full
}

/// Greatest common divisor.
fn divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { divisor(b, a % b) }
}
