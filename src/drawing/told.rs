//! Places as messages tell them: as the program shows them that the drawing was made with.
//!
//! A drawing program has y up. A page has its origin in its upper left corner, and y down; where it has a size, editors show
//! millimetres, where it has none they show pixels.

use crate::format::svg::MM_PER_PX;
use crate::geometry::point::Point;

/// How a drawing's own program counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Axes {
    /// In mm, y up.
    #[default]
    Up,
    /// In mm from the page's upper left corner, y down.
    Page,
    /// In CSS pixels from the page's upper left corner, y down.
    Pixels,
}

/// A place to be told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// In mm, y up.
    pub at: Point,
    /// How it is told.
    pub axes: Axes,
}

impl Axes {
    /// A place in mm, y up.
    pub(super) const fn told(self, at: Point) -> Told {
        Told { at, axes: self }
    }
}

impl std::fmt::Display for Told {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Point { x, y } = self.at;
        // Adding zero turns −0 into 0.
        match self.axes {
            Axes::Up => write!(f, "({x:.3}, {y:.3})"),
            Axes::Page => write!(f, "({x:.3}, {:.3}) mm from the top left", 0.0 - y),
            Axes::Pixels => {
                let [x, y] = [x / MM_PER_PX, 0.0 - y / MM_PER_PX];
                write!(f, "({x:.3}, {y:.3}) px from the top left")
            }
        }
    }
}
