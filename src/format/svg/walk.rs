//! The elements of a file in the order in which they are painted.
//!
//! In: the tree, already counted. Out: shapes with their maps, one after the other, and what was left out. What is only referred to (`defs`,
//! `symbol`, `clipPath`, `marker` and the like) draws nothing by itself; what draws no outline (`text`, `image`) is counted;
//! other name spaces belong to the programs that wrote them. Of a `switch` one branch is drawn, the others are counted.

use std::rc::Rc;

use roxmltree::Node;

use crate::format::shown::{MOST_TOLD, shown};
use crate::format::svg::context::Context;
use crate::format::svg::error::SvgError;
use crate::format::svg::frame;
use crate::format::svg::read::{Text, href};
use crate::format::svg::shape::{SHAPES, curves};
use crate::format::svg::sheet::Sheet;
use crate::format::svg::style::{Style, sized_otherwise};
use crate::format::svg::style_sheets::style_sheets;
use crate::format::svg::{Bounds, Document, Group, Shape};
use crate::geometry::affine::Affine;
use crate::geometry::course::Step;
use crate::geometry::point::Point;

/// The name space of SVG; files written by hand often go without.
pub(super) const SVG: &str = "http://www.w3.org/2000/svg";

/// Elements that draw nothing by themselves.
const SILENT: [&str; 27] = [
    "defs",
    "symbol",
    "clipPath",
    "mask",
    "marker",
    "pattern",
    "linearGradient",
    "radialGradient",
    "meshgradient",
    "hatch",
    "filter",
    "style",
    "script",
    "title",
    "desc",
    "metadata",
    "view",
    "font",
    "font-face",
    "animate",
    "animateTransform",
    "animateMotion",
    "set",
    "cursor",
    "color-profile",
    "solidcolor",
    "stop",
];

/// Elements that hold others in the same frame.
const HOLDERS: [&str; 3] = ["g", "a", "switch"];

/// Most `use` elements without a target that are told by name.
const MOST_WITHOUT_TARGET: usize = 3;

/// By how little, for its size, a map may keep areas and still be one that leaves nothing of them.
const COLLAPSED: f64 = 1.0e-14;

/// Walks a file.
///
/// # Errors
/// `TooMany` rules of style sheets, or matches with elements.
pub(super) fn document(
    text: &Text<'_, '_>,
    limits: &Bounds,
    take: &mut dyn FnMut(Shape),
) -> Result<Document, SvgError> {
    let root = text.doc.root_element();
    let mut out = Document::default();
    let sheet = style_sheets(text, limits, &mut out)?;
    let mut walk = Walk {
        text,
        sheet: &sheet,
        out,
        take,
        has_drawn: false,
        room: Vec::new(),
    };
    if let Some(context) = walk.page(root) {
        walk.children(root, &context);
    }
    if !walk.has_drawn {
        let is_shape = |n: &Node<'_, '_>| SHAPES.contains(&n.tag_name().name());
        let is_silent = |n: Node<'_, '_>| SILENT.contains(&n.tag_name().name());
        let shapes = root.descendants().filter(is_shape);
        walk.out.n_defined = shapes.filter(|n| n.ancestors().any(is_silent)).count();
    }
    Ok(walk.out)
}

/// Whether a map leaves nothing of an area.
fn collapses(map: &Affine) -> bool {
    let size = map.x.length().max(map.y.length());
    map.determinant().abs() <= COLLAPSED * size * size
}

/// The branches of a `switch`.
fn branches<'t, 'i>(switch: Node<'t, 'i>) -> impl Iterator<Item = Node<'t, 'i>> {
    switch.children().filter(|n| {
        let space = n.tag_name().namespace();
        n.is_element() && space.is_none_or(|s| s == SVG) && !SILENT.contains(&n.tag_name().name())
    })
}

/// The one branch of a `switch` that is shown: the first that asks for no language and for no extension of the program that
/// wrote it; else the first that asks for no extension.
fn branch<'t, 'i>(switch: Node<'t, 'i>) -> Option<Node<'t, 'i>> {
    let known = || branches(switch).filter(|n| !n.has_attribute("requiredExtensions"));
    let plain = known().find(|n| !n.has_attribute("systemLanguage"));
    plain.or_else(|| known().next())
}

/// What is met so far.
pub(super) struct Walk<'a, 't, 'i> {
    text: &'a Text<'t, 'i>,
    sheet: &'a Sheet<'t>,
    pub(super) out: Document,
    /// Who takes the shapes.
    take: &'a mut dyn FnMut(Shape),
    /// Whether there was one.
    has_drawn: bool,
    /// Room for the steps of a chain.
    room: Vec<Step>,
}

impl<'t> Walk<'_, 't, '_> {
    /// Takes an attribute that cannot be read.
    pub(super) fn wrong(&mut self, node: Node<'t, '_>, attribute: &str, why: &str) {
        let value = node.attribute(attribute).unwrap_or("");
        self.wrong_value(node, attribute, value, why);
    }

    fn wrong_value(&mut self, node: Node<'t, '_>, attribute: &str, value: &str, why: &str) {
        if self.out.faults.len() == MOST_TOLD {
            self.out.n_more_faults += 1;
            return;
        }
        let mut short: String = value.chars().take(40).collect();
        if short.len() < value.len() {
            short.push('…');
        }
        self.out.faults.push(SvgError::Attribute {
            element: Box::new(self.text.name(node)),
            attribute: attribute.to_owned(),
            value: short,
            why: why.to_owned(),
        });
    }

    /// The context with an element's own map and style.
    pub(super) fn styled(&mut self, node: Node<'t, '_>, around: &Context) -> Option<Context> {
        let mut context = around.clone();
        if let Some(own) = node.attribute("transform") {
            match frame::transform(own) {
                Ok(map) => context.map = map.then(&context.map),
                Err(why) => {
                    self.wrong(node, "transform", why);
                    return None;
                }
            }
        }
        let style = Style::of(node, self.sheet);
        if let Some(value) = style.get("transform").filter(|t| *t != "none") {
            let why = "is set by a style; a transform is read as an attribute only";
            self.wrong_value(node, "transform", value, why);
            return None;
        }
        if let Some((name, value)) = sized_otherwise(node, &style) {
            let why = "is set by a style; sizes are read as attributes only";
            self.wrong_value(node, name, value, why);
            return None;
        }
        if let Some(fill) = style.get("fill") {
            context.painted = fill != "none";
        }
        if let Some(rule) = style.get("fill-rule") {
            context.nonzero = rule != "evenodd";
        }
        if let Some(visibility) = style.get("visibility") {
            context.visible = visibility == "visible";
        }
        let depth = context.group.as_ref().map_or(0, |g| g.depth + 1);
        if style.get("display") == Some("none") && context.hidden_at.is_none() {
            context.hidden_at = Some(depth);
        }
        context.overflows = matches!(style.get("overflow"), Some("visible" | "auto"));
        for property in ["clip-path", "mask"] {
            if style.get(property).is_some_and(|v| v != "none") {
                *self
                    .out
                    .not_followed
                    .entry(property.to_owned())
                    .or_insert(0) += 1;
            }
        }
        Some(context)
    }

    /// What stands in an element.
    pub(super) fn children(&mut self, node: Node<'t, '_>, context: &Context) {
        if node.tag_name().name() == "switch" {
            let shown = branch(node);
            if context.hidden_at.is_none() {
                for other in branches(node).filter(|n| Some(*n) != shown) {
                    let name = other.tag_name().name().to_owned();
                    *self.out.other_branches.entry(name).or_insert(0) += 1;
                }
            }
            if let Some(branch) = shown {
                self.element(branch, context);
            }
            return;
        }
        for child in node.children().filter(Node::is_element) {
            self.element(child, context);
        }
    }

    fn element(&mut self, node: Node<'t, '_>, around: &Context) {
        let space = node.tag_name().namespace();
        if space.is_some_and(|s| s != SVG) {
            return;
        }
        let name = node.tag_name().name();
        if SILENT.contains(&name) {
            return;
        }
        let known = SHAPES.contains(&name) || HOLDERS.contains(&name);
        if !known && name != "svg" && name != "use" {
            if around.hidden_at.is_none() {
                *self.out.left_out.entry(name.to_owned()).or_insert(0) += 1;
            }
            return;
        }
        let Some(mut context) = self.styled(node, around) else {
            return;
        };
        if SHAPES.contains(&name) {
            self.shape(node, &context);
            return;
        }
        context.group = Some(self.group(node, around));
        match name {
            "use" => self.repeat(node, &context),
            "svg" => self.inner_page(node, node, &context),
            _ => self.children(node, &context),
        }
    }

    fn group(&mut self, node: Node<'t, '_>, around: &Context) -> Rc<Group> {
        let label = node.attributes().find(|a| a.name() == "label");
        let names = [node.attribute("id"), label.map(|a| a.value())];
        for name in names.into_iter().flatten() {
            if !self.out.groups.iter().any(|g| g == name) && self.out.groups.len() < 1000 {
                self.out.groups.push(name.to_owned());
            }
        }
        Rc::new(Group {
            names: names.map(|n| n.map(Into::into)),
            parent: around.group.clone(),
            depth: around.group.as_ref().map_or(0, |g| g.depth + 1),
        })
    }

    fn shape(&mut self, node: Node<'t, '_>, context: &Context) {
        let curves = match curves(node, context.viewport, &mut self.room) {
            Ok(curves) => curves,
            Err((attribute, why)) => {
                self.wrong(node, attribute, &why);
                return;
            }
        };
        let depth = context.group.as_ref().map_or(0, |g| g.depth + 1);
        let hidden = context.hidden_at.or((!context.visible).then_some(depth));
        // The recommendation displays nothing of what a map leaves without an area.
        if curves.is_empty() || collapses(&context.map) {
            if hidden.is_none() {
                self.count_empty(node);
            }
            return;
        }
        let mut name = self.text.name(node);
        let named = std::iter::successors(context.group.as_deref(), |g| g.parent.as_deref())
            .find_map(|g| g.names[0].as_deref().or(g.names[1].as_deref()));
        name.layer = named.unwrap_or("").into();
        self.has_drawn = true;
        (self.take)(Shape {
            name,
            map: context.map,
            curves,
            nonzero: context.painted && context.nonzero,
            group: context.group.clone(),
            window: context.window.clone(),
            hidden_at: hidden,
        });
    }

    /// `use`: what it refers to, shifted.
    fn repeat(&mut self, node: Node<'t, '_>, context: &Context) {
        let target = href(node).and_then(|id| self.text.ids.get(id));
        let Some(target) = target.and_then(|id| self.text.doc.get_node(*id)) else {
            self.without_target(node, context);
            return;
        };
        let Some([x, y]) = self.lengths(node, ["x", "y"], context.viewport, [0.0, 0.0]) else {
            return;
        };
        let mut inner = context.clone();
        inner.map = Affine::shifted(Point::new(x, y)).then(&context.map);
        match target.tag_name().name() {
            "svg" | "symbol" => {
                if let Some(styled) = self.styled(target, &inner) {
                    self.inner_page(target, node, &styled);
                }
            }
            _ => self.element(target, &inner),
        }
    }

    fn without_target(&mut self, node: Node<'t, '_>, context: &Context) {
        if context.hidden_at.is_some() {
            return;
        }
        self.out.n_without_target += 1;
        if self.out.without_target.len() < MOST_WITHOUT_TARGET {
            let target = node.attributes().find(|a| a.name() == "href");
            let target = target.map_or_else(String::new, |a| format!(" of {:?}", shown(a.value())));
            let told = format!("{}{target}", self.text.name(node));
            self.out.without_target.push(told);
        }
    }

    /// Counts an element of which there is nothing.
    pub(super) fn count_empty(&mut self, node: Node<'t, '_>) {
        let name = node.tag_name().name().to_owned();
        *self.out.empty.entry(name).or_insert(0) += 1;
    }
}
