//! Path data as chains.
//!
//! In: the text of `d`. Out: chains of lines, elliptic arcs and cubic curves in user units. Every command is read, relative
//! and absolute; quadratic curves are raised to cubic ones.
//!
//! Arcs are given by their ends; centre and angles follow by the formulas of F.6.5 and F.6.6 of the recommendation: in the
//! frame turned with the ellipse and squeezed to a unit circle, the centre lies on the perpendicular of the chord. Radii too
//! small to reach from end to end are scaled up to the least that does.

use svgtypes::{PathParser, PathSegment};

use crate::format::svg::plain_path::segments;
use crate::geometry::affine::Affine;
use crate::geometry::angle;
use crate::geometry::bezier::Bezier;
use crate::geometry::course::{Course, Step};
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;
use crate::geometry::transform::Rotation;

/// Reads path data; chains without a step are left out. `steps` is room for those of one chain, which all chains of a file
/// use: what is handed on of each is as large as it must be.
///
/// # Errors
/// What is wrong, in words.
pub(super) fn courses(d: &str, steps: &mut Vec<Step>) -> Result<Vec<Course>, String> {
    let mut pen = Pen::new(steps);
    let mut is_finite = true;
    let is_plain = segments(d, |segment| {
        pen.take(segment);
        is_finite &= pen.at.is_finite();
    });
    if is_plain && is_finite {
        pen.end(false);
        return Ok(pen.done);
    }
    let mut pen = Pen::new(steps);
    for segment in PathParser::from(d) {
        let segment = segment.map_err(|e| format!("is no path data: {e}"))?;
        pen.take(segment);
        if !pen.at.is_finite() {
            return Err(String::from("holds a number that is not finite"));
        }
    }
    pen.end(false);
    Ok(pen.done)
}

/// What the last command leaves for a smooth one.
#[derive(Clone, Copy, Default)]
enum Handle {
    #[default]
    None,
    Cubic(Point),
    Quadratic(Point),
}

struct Pen<'s> {
    at: Point,
    /// Where the chain began.
    start: Point,
    /// Where its first step did.
    from: Point,
    /// The chain's steps.
    steps: &'s mut Vec<Step>,
    handle: Handle,
    done: Vec<Course>,
}

impl<'s> Pen<'s> {
    fn new(steps: &'s mut Vec<Step>) -> Self {
        steps.clear();
        Self {
            at: Point::default(),
            start: Point::default(),
            from: Point::default(),
            steps,
            handle: Handle::None,
            done: Vec::new(),
        }
    }

    /// Ends the chain.
    fn end(&mut self, closed: bool) {
        if !self.steps.is_empty() {
            // No more room than needed: large drawings hold many short chains.
            let steps = self.steps.drain(..).collect();
            self.done.push(Course {
                from: self.from,
                steps,
                closed,
            });
        }
    }

    fn to(&self, abs: bool, x: f64, y: f64) -> Point {
        let p = Point::new(x, y);
        if abs { p } else { self.at + p }
    }

    fn step(&mut self, step: Step, handle: Handle) {
        if self.steps.is_empty() {
            self.from = self.at;
        }
        self.at = step.end();
        self.steps.push(step);
        self.handle = handle;
    }

    fn cubic(&mut self, b: Point, c: Point, d: Point) {
        let curve = Bezier([self.at, b, c, d]);
        self.step(Step::Bezier(curve), Handle::Cubic(d + d - c));
    }

    fn quadratic(&mut self, b: Point, c: Point) {
        let curve = Bezier::quadratic(self.at, b, c);
        self.step(Step::Bezier(curve), Handle::Quadratic(c + c - b));
    }

    fn take(&mut self, segment: PathSegment) {
        match segment {
            PathSegment::MoveTo { abs, x, y } => {
                self.at = self.to(abs, x, y);
                self.end(false);
                self.start = self.at;
                self.handle = Handle::None;
            }
            PathSegment::LineTo { abs, x, y } => {
                self.step(Step::Line(self.to(abs, x, y)), Handle::None);
            }
            PathSegment::HorizontalLineTo { abs, x } => {
                let x = if abs { x } else { self.at.x + x };
                self.step(Step::Line(Point::new(x, self.at.y)), Handle::None);
            }
            PathSegment::VerticalLineTo { abs, y } => {
                let y = if abs { y } else { self.at.y + y };
                self.step(Step::Line(Point::new(self.at.x, y)), Handle::None);
            }
            PathSegment::CurveTo {
                abs,
                x1,
                y1,
                x2,
                y2,
                x,
                y,
            } => self.cubic(
                self.to(abs, x1, y1),
                self.to(abs, x2, y2),
                self.to(abs, x, y),
            ),
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                let first = match self.handle {
                    Handle::Cubic(handle) => handle,
                    _ => self.at,
                };
                self.cubic(first, self.to(abs, x2, y2), self.to(abs, x, y));
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => {
                self.quadratic(self.to(abs, x1, y1), self.to(abs, x, y));
            }
            PathSegment::SmoothQuadratic { abs, x, y } => {
                let first = match self.handle {
                    Handle::Quadratic(handle) => handle,
                    _ => self.at,
                };
                self.quadratic(first, self.to(abs, x, y));
            }
            PathSegment::EllipticalArc {
                abs,
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
            } => {
                let to = self.to(abs, x, y);
                if let Some(step) = arc(self.at, to, [rx, ry], x_axis_rotation, large_arc, sweep) {
                    self.step(step, Handle::None);
                }
            }
            PathSegment::ClosePath { .. } => {
                self.end(true);
                self.at = self.start;
                self.handle = Handle::None;
            }
        }
    }
}

/// An arc by its ends; the line where a radius is 0, nothing where the ends are one.
fn arc(
    from: Point,
    to: Point,
    radii: [f64; 2],
    deg: f64,
    large: bool,
    sweep: bool,
) -> Option<Step> {
    if from == to {
        return None;
    }
    let [rx, ry] = radii.map(f64::abs);
    if rx == 0.0 || ry == 0.0 {
        return Some(Step::Line(to));
    }
    let turn = Rotation::from_degrees(deg);
    // Half the chord, on the unit circle of radii before they are scaled up.
    let half = turn.undo((from - to) * 0.5);
    let half = Point::new(half.x / rx, half.y / ry);
    let reach = half.length_squared();
    let grow = reach.max(1.0).sqrt();
    let (rx, ry) = (rx * grow, ry * grow);
    let half = half * (1.0 / grow);
    let reach = reach.min(1.0);
    let rise = ((1.0 - reach) / reach).sqrt();
    let side = if large == sweep { -1.0 } else { 1.0 };
    // The centre as seen from the chord's middle, on the unit circle.
    let center = Point::new(half.y, -half.x) * (rise * side);
    let (start, end) = (half - center, -half - center);
    let swept = angle::atan2(start.cross(end), start.dot(end));
    let swept = match (sweep, swept < 0.0) {
        (true, true) => swept + std::f64::consts::TAU,
        (false, false) => swept - std::f64::consts::TAU,
        _ => swept,
    };
    let begin = start.angle();
    let squeezed = Affine::scaled(rx, ry).then(&Affine::turned(turn.apply(Point::new(1.0, 0.0))));
    let arc = EllipticArc {
        center: from.toward(to, 0.5) + squeezed.turn(center),
        u: squeezed.x,
        v: squeezed.y,
        from: begin,
        to: begin + swept,
    };
    Some(Step::Arc(arc, to))
}
