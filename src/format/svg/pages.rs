//! Pages: the outermost one, and those inside of it.
//!
//! In: an `svg` or `symbol` element. Out: the map from its user units, what percentages refer to, and where it cuts off. What
//! cannot be read is told in the document.

use roxmltree::Node;
use svgtypes::{AspectRatio, ViewBox};

use crate::format::svg::context::Context;
use crate::format::svg::frame::{self, Along, MM_PER_PX, Viewport, length, page};
use crate::format::svg::walk::Walk;
use crate::geometry::affine::Affine;
use crate::geometry::point::Point;

/// The size of a page that is unknown: where a page has no view box, percentages have nothing to refer to but this.
const PAGE_PX: Viewport = Viewport {
    width: 300.0,
    height: 150.0,
};

impl<'t> Walk<'_, 't, '_> {
    /// The page: from user units to mm, y up.
    pub(super) fn page(&mut self, root: Node<'t, '_>) -> Option<Context> {
        let mut side = |name: &str| match page(root.attribute(name)) {
            Ok(side) => side,
            Err(why) => {
                self.wrong(root, name, why);
                None
            }
        };
        let (width, height) = (side("width"), side("height"));
        self.out.sized = [width, height].iter().flatten().any(|side| side.1);
        let (width, height) = (width.map(|s| s.0), height.map(|s| s.0));
        let upright = Affine::scaled(1.0, -1.0);
        let (view, ratio) = self.view(root)?;
        let (map, viewport, size) = match view {
            Some(view) => {
                let (w, h) = match (width, height) {
                    (Some(w), Some(h)) => (w, h),
                    (Some(w), None) => (w, w * view.h / view.w),
                    (None, Some(h)) => (h * view.w / view.h, h),
                    (None, None) => (view.w * MM_PER_PX, view.h * MM_PER_PX),
                };
                let viewport = Viewport {
                    width: view.w,
                    height: view.h,
                };
                (frame::view(view, ratio, w, h), viewport, Some([w, h]))
            }
            None => {
                let px =
                    |side: Option<f64>, missing: f64| side.map_or(missing, |mm| mm / MM_PER_PX);
                let viewport = Viewport {
                    width: px(width, PAGE_PX.width),
                    height: px(height, PAGE_PX.height),
                };
                let size = width.zip(height).map(|(w, h)| [w, h]);
                (Affine::scaled(MM_PER_PX, MM_PER_PX), viewport, size)
            }
        };
        let context = Context {
            map: map.then(&upright),
            viewport,
            painted: true,
            nonzero: true,
            visible: true,
            hidden_at: None,
            group: None,
            window: None,
            overflows: false,
        };
        let context = self.styled(root, &context)?;
        // A page without a size is as large as whatever shows it.
        Some(match size.filter(|_| self.out.sized) {
            Some(size) => context.within(&upright, Point::default(), size),
            None => context,
        })
    }

    /// View box and its fitting; `None` where they cannot be read, which has been told.
    fn view(&mut self, node: Node<'t, '_>) -> Option<(Option<ViewBox>, AspectRatio)> {
        let view = match node.attribute("viewBox").map(str::parse::<ViewBox>) {
            None => None,
            Some(Ok(view)) if view.w > 0.0 && view.h > 0.0 && (view.w * view.h).is_finite() => {
                Some(view)
            }
            Some(_) => {
                self.wrong(node, "viewBox", "is not four numbers, the last two above 0");
                return None;
            }
        };
        let ratio = node.attribute("preserveAspectRatio").unwrap_or("xMidYMid");
        match ratio.parse::<AspectRatio>() {
            Ok(ratio) => Some((view, ratio)),
            Err(_) => {
                self.wrong(
                    node,
                    "preserveAspectRatio",
                    "is not one of the recommendation's",
                );
                None
            }
        }
    }

    /// A page inside of the page; `sizer` says how large it is.
    pub(super) fn inner_page(
        &mut self,
        node: Node<'t, '_>,
        sizer: Node<'t, '_>,
        context: &Context,
    ) {
        let around = context.viewport;
        let own = node == sizer;
        // A page or symbol that `use` repeats keeps its own corner beside that of `use`.
        let corner = self.lengths(node, ["x", "y"], around, [0.0, 0.0]);
        let full = [around.width, around.height];
        if let Some(name) = ["refX", "refY"]
            .into_iter()
            .find(|n| node.has_attribute(*n))
        {
            self.wrong(
                node,
                name,
                "shifts a symbol by a point of its own, which is not read",
            );
            return;
        }
        // Its own size stands where `use` gives none.
        let names = ["width", "height"];
        let fallback = if own {
            Some(full)
        } else {
            self.lengths(node, names, around, full)
        };
        let size = fallback.and_then(|f| self.lengths(sizer, names, around, f));
        let (Some([x, y]), Some([width, height]), Some((view, ratio))) =
            (corner, size, self.view(node))
        else {
            return;
        };
        if let Some(i) = [width, height].iter().position(|side| *side < 0.0) {
            self.wrong(sizer, names[i], "is below 0");
            return;
        }
        if width == 0.0 || height == 0.0 {
            self.count_empty(sizer);
            return;
        }
        let corner = Point::new(x, y);
        let mut inner = context
            .clone()
            .within(&context.map, corner, [width, height]);
        let shift = Affine::shifted(corner);
        let fit = view.map_or(Affine::IDENTITY, |v| frame::view(v, ratio, width, height));
        inner.map = fit.then(&shift).then(&context.map);
        inner.viewport = view.map_or(Viewport { width, height }, |v| Viewport {
            width: v.w,
            height: v.h,
        });
        self.children(node, &inner);
    }

    /// Two lengths, along the width and along the height; what is missing is as given.
    pub(super) fn lengths(
        &mut self,
        node: Node<'t, '_>,
        names: [&str; 2],
        viewport: Viewport,
        missing: [f64; 2],
    ) -> Option<[f64; 2]> {
        let mut out = missing;
        for (i, along) in [Along::Width, Along::Height].into_iter().enumerate() {
            if let Some(text) = node.attribute(names[i]).filter(|t| t.trim() != "auto") {
                match length(text, along, viewport) {
                    Ok(value) => out[i] = value,
                    Err(why) => {
                        self.wrong(node, names[i], why);
                        return None;
                    }
                }
            }
        }
        Some(out)
    }
}
