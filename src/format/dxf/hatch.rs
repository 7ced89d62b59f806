//! The outlines of a HATCH.
//!
//! In: its pairs of group code and number, in the order of the file. Out: one chain of curves for each outline, in the
//! drawing's unit. The crate `dxf` does not know the entity.
//!
//! Pairs: 91 how many outlines; for each 92 its kind (bit 2: a polyline), then either 72, 73 closed, 93 how many vertices and
//! for each 10, 20 and 42 the bulge; or 93 how many curves and for each 72 its kind: 1 line (10, 20, 11, 21); 2 arc (10, 20,
//! radius 40, angles 50 and 51, 73 counter-clockwise); 3 elliptic arc (10, 20, end of the major axis 11 and 21, ratio 40,
//! angles 50 and 51, 73); 4 spline (94 degree, 73 rational, 74 periodic, 40 knots, 10 and 20 with weight 42, 11 and 21 fit
//! points). Angles of what runs clockwise are written as 360° less the angle. What follows the outlines begins with 75.
//!
//! Source: Autodesk's "DXF Reference", HATCH, from memory; compared with what ezdxf writes and reads.

use crate::format::dxf::{Shape, Spline, Vertex};
use crate::geometry::affine::Affine;
use crate::geometry::ellipse::EllipticArc;
use crate::geometry::point::Point;
use crate::geometry::{angle, units};

/// What is collected of one outline.
#[derive(Default)]
struct Outline {
    polyline: bool,
    closed: bool,
    vertices: Vec<Vertex>,
    curves: Vec<Raw>,
}

/// The numbers of one curve.
#[derive(Default)]
struct Raw {
    kind: i64,
    at: Vec<Point>,
    to: Vec<Point>,
    sizes: Vec<f64>,
    weights: Vec<f64>,
    angles: [f64; 2],
    flag_73: bool,
    periodic: bool,
    degree: i64,
}

/// The outlines, x mirrored where the entity's plane is seen from below.
pub(super) fn outlines(pairs: &[(i32, f64)], mirrored: bool) -> Vec<Vec<Shape>> {
    let mut found: Vec<Outline> = Vec::new();
    for &(code, value) in pairs.iter().skip_while(|p| p.0 != 91).skip(1) {
        match code {
            92 => found.push(Outline {
                polyline: value as i64 & 2 != 0,
                ..Outline::default()
            }),
            75 => break,
            _ => {
                if let Some(outline) = found.last_mut() {
                    outline.take(code, value);
                }
            }
        }
    }
    let frame = Affine::scaled(if mirrored { -1.0 } else { 1.0 }, 1.0);
    found.into_iter().map(|o| o.shapes(&frame)).collect()
}

impl Outline {
    fn take(&mut self, code: i32, value: f64) {
        if self.polyline {
            match (code, self.vertices.last_mut()) {
                (10, _) => self.vertices.push(Vertex {
                    at: Point::new(value, 0.0),
                    bulge: 0.0,
                }),
                (20, Some(last)) => last.at.y = value,
                (42, Some(last)) => last.bulge = value,
                (73, _) => self.closed = value != 0.0,
                _ => {}
            }
            return;
        }
        if code == 72 {
            self.curves.push(Raw {
                kind: value as i64,
                ..Raw::default()
            });
        } else if let Some(curve) = self.curves.last_mut() {
            curve.take(code, value);
        }
    }

    fn shapes(self, frame: &Affine) -> Vec<Shape> {
        if !self.polyline {
            return self.curves.iter().filter_map(|c| c.shape(frame)).collect();
        }
        let flip = frame.determinant().signum();
        let vertices = self.vertices.iter().map(|v| Vertex {
            at: frame.apply(v.at),
            bulge: v.bulge * flip,
        });
        vec![Shape::Polyline {
            vertices: vertices.collect(),
            closed: self.closed,
        }]
    }
}

impl Raw {
    fn take(&mut self, code: i32, value: f64) {
        let set_y = |points: &mut Vec<Point>| {
            if let Some(last) = points.last_mut() {
                last.y = value;
            }
        };
        match code {
            10 => self.at.push(Point::new(value, 0.0)),
            20 => set_y(&mut self.at),
            11 => self.to.push(Point::new(value, 0.0)),
            21 => set_y(&mut self.to),
            40 => self.sizes.push(value),
            42 => self.weights.push(value),
            50 => self.angles[0] = value,
            51 => self.angles[1] = value,
            73 => self.flag_73 = value != 0.0,
            74 => self.periodic = value != 0.0,
            94 => self.degree = value as i64,
            _ => {}
        }
    }

    /// Angles counter-clockwise.
    fn turned(&self) -> [f64; 2] {
        let [from, to] = self.angles;
        if self.flag_73 {
            [from, to]
        } else {
            [360.0 - to, 360.0 - from]
        }
    }

    fn shape(&self, frame: &Affine) -> Option<Shape> {
        let mirrored = frame.determinant() < 0.0;
        match self.kind {
            1 => Some(Shape::Line {
                from: frame.apply(*self.at.first()?),
                to: frame.apply(*self.to.first()?),
            }),
            2 => Some(Shape::Arc {
                center: frame.apply(*self.at.first()?),
                radius: *self.sizes.first()?,
                from_deg: self.turned()[0],
                to_deg: self.turned()[1],
                mirrored,
            }),
            3 => {
                let (axis, ratio) = (*self.to.first()?, *self.sizes.first()?);
                // The angle is that of the point, θ that of the circle which is squeezed.
                let [from, to] = self.turned().map(|deg| {
                    let (sin, cos) = angle::sin_cos(units::radians(deg));
                    angle::atan2(sin / ratio, cos)
                });
                let turn = angle::positive(to - from);
                let whole = (self.angles[1] - self.angles[0]).abs() >= 360.0 - 1e-9;
                let arc = EllipticArc {
                    center: *self.at.first()?,
                    u: axis,
                    v: axis.left() * ratio,
                    from,
                    to: from + if whole { std::f64::consts::TAU } else { turn },
                };
                Some(Shape::Ellipse(arc.mapped(frame)))
            }
            4 => {
                let map = |points: &[Point]| points.iter().map(|p| frame.apply(*p)).collect();
                Some(Shape::Spline(Box::new(Spline {
                    degree: self.degree,
                    knots: self.sizes.clone(),
                    points: map(&self.at),
                    weights: self.weights.clone(),
                    fit: map(&self.to),
                    closed: self.periodic,
                    ..Spline::default()
                })))
            }
            _ => None,
        }
    }
}
