//! Basic shapes as curves, in user units.

use std::f64::consts::{FRAC_PI_2, PI};

use roxmltree::Node;
use svgtypes::PointsParser;

use crate::format::svg::Curve;
use crate::format::svg::frame::{Along, Viewport, length};
use crate::format::svg::path_data;
use crate::geometry::course::{Course, Step};
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;

/// The elements that draw outlines.
pub(super) const SHAPES: [&str; 7] = [
    "path", "rect", "circle", "ellipse", "line", "polyline", "polygon",
];

/// An attribute and what is wrong with it.
pub(super) type Wrong = (&'static str, String);

/// The curves of an element; `room` is for the steps of one chain, and used for all elements.
///
/// # Errors
/// The attribute that cannot be read.
pub(super) fn curves(
    node: Node<'_, '_>,
    viewport: Viewport,
    room: &mut Vec<Step>,
) -> Result<Vec<Curve>, Wrong> {
    let of = Lengths { node, viewport };
    match node.tag_name().name() {
        "path" => path(node, room),
        "rect" => of.rect(),
        "circle" => {
            let r = of.size("r", Along::Both)?;
            Ok(ellipse(of.at("cx", "cy")?, r, r))
        }
        "ellipse" => {
            let (rx, ry) = (
                of.radius("rx", Along::Width)?,
                of.radius("ry", Along::Height)?,
            );
            let both = rx.or(ry).unwrap_or(0.0);
            Ok(ellipse(
                of.at("cx", "cy")?,
                rx.unwrap_or(both),
                ry.unwrap_or(both),
            ))
        }
        "line" => Ok(chain(of.at("x1", "y1")?, vec![of.at("x2", "y2")?], false)),
        name => points(node, name == "polygon"),
    }
}

fn path(node: Node<'_, '_>, room: &mut Vec<Step>) -> Result<Vec<Curve>, Wrong> {
    let d = node.attribute("d").unwrap_or("");
    // `none` is how a style sheet says that there is nothing.
    if d.trim() == "none" {
        return Ok(Vec::new());
    }
    let courses = path_data::courses(d, room).map_err(|why| ("d", why))?;
    Ok(courses.into_iter().map(Curve::Course).collect())
}

fn points(node: Node<'_, '_>, closed: bool) -> Result<Vec<Curve>, Wrong> {
    let text = node.attribute("points").unwrap_or("");
    let mut parser = PointsParser::from(text);
    let mut found: Vec<Point> = Vec::new();
    for (x, y) in parser.by_ref() {
        found.push(Point::new(x, y));
    }
    // The parser ends where it meets something else; numbers tell whether it has seen all.
    let numbers = text
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|t| !t.is_empty());
    let sound = numbers
        .clone()
        .all(|t| t.bytes().all(|b| b"+-.0123456789eE".contains(&b)));
    if !sound || found.iter().any(|p| !p.is_finite()) {
        return Err(("points", String::from("is no list of points")));
    }
    if numbers.clone().all(|t| t.parse::<f64>().is_ok()) && numbers.count() != 2 * found.len() {
        return Err(("points", String::from("has an odd count of numbers")));
    }
    match found.split_first() {
        Some((first, rest)) if !rest.is_empty() => Ok(chain(*first, rest.to_vec(), closed)),
        _ => Ok(Vec::new()),
    }
}

fn chain(from: Point, to: Vec<Point>, closed: bool) -> Vec<Curve> {
    vec![Curve::Course(Course {
        from,
        steps: to.into_iter().map(Step::Line).collect(),
        closed,
    })]
}

fn ellipse(center: Point, rx: f64, ry: f64) -> Vec<Curve> {
    if rx == 0.0 || ry == 0.0 {
        return Vec::new();
    }
    vec![Curve::Ellipse(EllipticArc::whole(
        center,
        Point::new(rx, 0.0),
        Point::new(0.0, ry),
    ))]
}

/// The lengths of an element.
struct Lengths<'a, 'i> {
    node: Node<'a, 'i>,
    viewport: Viewport,
}

impl Lengths<'_, '_> {
    fn given(&self, name: &'static str, along: Along) -> Result<Option<f64>, Wrong> {
        match self.node.attribute(name) {
            None => Ok(None),
            Some(text) => length(text, along, self.viewport)
                .map(Some)
                .map_err(|why| (name, why.to_owned())),
        }
    }

    fn at(&self, x: &'static str, y: &'static str) -> Result<Point, Wrong> {
        Ok(Point::new(
            self.given(x, Along::Width)?.unwrap_or(0.0),
            self.given(y, Along::Height)?.unwrap_or(0.0),
        ))
    }

    fn size(&self, name: &'static str, along: Along) -> Result<f64, Wrong> {
        let size = self.given(name, along)?.unwrap_or(0.0);
        if size < 0.0 {
            return Err((name, String::from("is below 0")));
        }
        Ok(size)
    }

    /// A radius that `auto` leaves to the other one.
    fn radius(&self, name: &'static str, along: Along) -> Result<Option<f64>, Wrong> {
        match self.node.attribute(name).map(str::trim) {
            None | Some("auto") => Ok(None),
            Some(_) => self.size(name, along).map(Some),
        }
    }

    fn rect(&self) -> Result<Vec<Curve>, Wrong> {
        let at = self.at("x", "y")?;
        let (w, h) = (
            self.size("width", Along::Width)?,
            self.size("height", Along::Height)?,
        );
        let (rx, ry) = (
            self.radius("rx", Along::Width)?,
            self.radius("ry", Along::Height)?,
        );
        let both = rx.or(ry).unwrap_or(0.0);
        let rx = rx.unwrap_or(both).min(w / 2.0);
        let ry = ry.unwrap_or(both).min(h / 2.0);
        if w == 0.0 || h == 0.0 {
            return Ok(Vec::new());
        }
        let p = |x: f64, y: f64| at + Point::new(x, y);
        if rx == 0.0 || ry == 0.0 {
            return Ok(chain(
                p(0.0, 0.0),
                vec![p(w, 0.0), p(w, h), p(0.0, h)],
                true,
            ));
        }
        // From the upper edge on, the way that the recommendation draws it.
        let corner = |center: Point, from: f64, to: Point| {
            let arc = EllipticArc {
                center,
                u: Point::new(rx, 0.0),
                v: Point::new(0.0, ry),
                from,
                to: from + FRAC_PI_2,
            };
            Step::Arc(arc, to)
        };
        let steps = vec![
            Step::Line(p(w - rx, 0.0)),
            corner(p(w - rx, ry), -FRAC_PI_2, p(w, ry)),
            Step::Line(p(w, h - ry)),
            corner(p(w - rx, h - ry), 0.0, p(w - rx, h)),
            Step::Line(p(rx, h)),
            corner(p(rx, h - ry), FRAC_PI_2, p(0.0, h - ry)),
            Step::Line(p(0.0, ry)),
            corner(p(rx, ry), PI, p(rx, 0.0)),
        ];
        Ok(vec![Curve::Course(Course {
            from: p(rx, 0.0),
            steps,
            closed: true,
        })])
    }
}
