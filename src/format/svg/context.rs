//! What an element of an SVG file inherits from those around it.

use std::rc::Rc;

use crate::format::svg::frame::Viewport;
use crate::format::svg::{Group, Window};
use crate::geometry::affine::Affine;
use crate::geometry::point::Point;

/// What an element inherits.
#[derive(Clone)]
pub(super) struct Context {
    pub(super) map: Affine,
    pub(super) viewport: Viewport,
    pub(super) painted: bool,
    pub(super) nonzero: bool,
    pub(super) visible: bool,
    pub(super) hidden_at: Option<usize>,
    pub(super) group: Option<Rc<Group>>,
    pub(super) window: Option<Rc<Window>>,
    /// Whether the element shows what lies outside of its own viewport.
    pub(super) overflows: bool,
}

impl Context {
    /// The same within a viewport; `map` is that of the frame in which its corner and size are.
    pub(super) fn within(mut self, map: &Affine, corner: Point, size: [f64; 2]) -> Self {
        let [w, h] = size;
        let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
        if !self.overflows {
            let corners = corners.map(|(x, y)| map.apply(corner + Point::new(x, y)));
            self.window = Some(Rc::new(Window::new(corners, self.window.take())));
        }
        self
    }
}
