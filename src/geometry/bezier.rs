//! Cubic Bézier curves, and the smooth curve through given points.
//!
//! Quadratic curves are raised to cubic ones, which draws the same curve.
//!
//! Source: the conditions of a natural, clamped or periodic cubic spline through points are those of any text on numerical
//! analysis; `through` states them.

use crate::geometry::affine::Affine;
use crate::geometry::biarc::Smooth;
use crate::geometry::point::Point;
use crate::geometry::tolerance::COINCIDENT;

/// A cubic Bézier curve by its four control points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bezier(pub [Point; 4]);

impl Bezier {
    /// The cubic that draws the same curve as a quadratic one.
    pub fn quadratic(a: Point, b: Point, c: Point) -> Self {
        Self([a, a.toward(b, 2.0 / 3.0), c.toward(b, 2.0 / 3.0), c])
    }

    /// The curve after an affine map.
    pub fn mapped(&self, map: &Affine) -> Self {
        Self(self.0.map(|p| map.apply(p)))
    }
}

impl Smooth for Bezier {
    fn at(&self, t: f64) -> Point {
        let [a, b, c, d] = self.0;
        let (ab, bc, cd) = (a.toward(b, t), b.toward(c, t), c.toward(d, t));
        ab.toward(bc, t).toward(bc.toward(cd, t), t)
    }

    fn slope(&self, t: f64, _toward: f64) -> Point {
        let [a, b, c, d] = self.0;
        let (p, q, r) = (b - a, c - b, d - c);
        p.toward(q, t).toward(q.toward(r, t), t) * 3.0
    }

    fn breaks(&self) -> Vec<f64> {
        vec![0.0, 0.5, 1.0]
    }
}

/// How a curve through points ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// It runs on to its first point, smoothly.
    Closed,
    /// With these directions; without bending where there is none.
    Open(Option<Point>, Option<Point>),
}

/// The curve through points that is smooth to its second derivative, cubic between two points, with the straight distances
/// between points as steps of its parameter. Points that repeat the one before are left out; none or one gives none.
pub fn through(points: &[Point], ends: Ends) -> Vec<Bezier> {
    let mut p: Vec<Point> = Vec::with_capacity(points.len() + 1);
    for q in points {
        if p.last().is_none_or(|l| l.distance(*q) > COINCIDENT) {
            p.push(*q);
        }
    }
    let closed = ends == Ends::Closed && p.len() > 2;
    if closed && p[0].distance(p[p.len() - 1]) > COINCIDENT {
        p.push(p[0]);
    }
    if p.len() < 2 {
        return Vec::new();
    }
    let h: Vec<f64> = p.windows(2).map(|w| w[0].distance(w[1])).collect();
    let m = slopes(&p, &h, closed, ends);
    (0..h.len())
        .map(|i| {
            let third = h[i] / 3.0;
            Bezier([
                p[i],
                p[i] + m[i] * third,
                p[i + 1] - m[i + 1] * third,
                p[i + 1],
            ])
        })
        .collect()
}

/// The derivatives at the points. Equal second derivatives on both sides of a point ask for
/// m₋ / h₋ + 2 m (1/h₋ + 1/h) + m₊ / h = 3 (d₋ / h₋² + d / h²), with the steps h and the chords d.
fn slopes(p: &[Point], h: &[f64], closed: bool, ends: Ends) -> Vec<Point> {
    let n = p.len();
    let chord = |i: usize| p[i + 1] - p[i];
    let pull = |i: usize| chord(i) * (3.0 / (h[i] * h[i]));
    if closed {
        // The last point is the first one again.
        let m = n - 1;
        let before = |i: usize| if i == 0 { m - 1 } else { i - 1 };
        let low: Vec<f64> = (0..m).map(|i| 1.0 / h[before(i)]).collect();
        let high: Vec<f64> = (0..m).map(|i| 1.0 / h[i]).collect();
        let mid: Vec<f64> = (0..m).map(|i| 2.0 * (low[i] + high[i])).collect();
        let right: Vec<Point> = (0..m).map(|i| pull(before(i)) + pull(i)).collect();
        let mut out = periodic(&low, mid, &high, right);
        out.push(out[0]);
        return out;
    }
    let (mut low, mut mid, mut high) = (vec![0.0; n], vec![1.0; n], vec![0.0; n]);
    let mut right = vec![Point::default(); n];
    for i in 1..n - 1 {
        (low[i], high[i]) = (1.0 / h[i - 1], 1.0 / h[i]);
        mid[i] = 2.0 * (low[i] + high[i]);
        right[i] = pull(i - 1) + pull(i);
    }
    let (first, last) = match ends {
        Ends::Open(first, last) => (first, last),
        Ends::Closed => (None, None),
    };
    match first {
        Some(direction) => right[0] = direction.unit(),
        None => {
            (mid[0], high[0]) = (2.0, 1.0);
            right[0] = chord(0) * (3.0 / h[0]);
        }
    }
    match last {
        Some(direction) => right[n - 1] = direction.unit(),
        None => {
            (mid[n - 1], low[n - 1]) = (2.0, 1.0);
            right[n - 1] = chord(n - 2) * (3.0 / h[n - 2]);
        }
    }
    tridiagonal(&low, mid, &high, right)
}

/// Solves a system with three diagonals, diagonally dominant.
fn tridiagonal<T>(low: &[f64], mut mid: Vec<f64>, high: &[f64], mut right: Vec<T>) -> Vec<T>
where
    T: Copy + std::ops::Mul<f64, Output = T> + std::ops::Sub<Output = T>,
{
    let n = mid.len();
    for i in 1..n {
        let share = low[i] / mid[i - 1];
        mid[i] -= share * high[i - 1];
        right[i] = right[i] - right[i - 1] * share;
    }
    right[n - 1] = right[n - 1] * (1.0 / mid[n - 1]);
    for i in (0..n - 1).rev() {
        right[i] = (right[i] - right[i + 1] * high[i]) * (1.0 / mid[i]);
    }
    right
}

/// The same where the first and the last unknown are neighbours too: the corners are taken off as a product of two
/// vectors, the system is solved twice, and the second solution takes away what the first has too much.
fn periodic(low: &[f64], mut mid: Vec<f64>, high: &[f64], right: Vec<Point>) -> Vec<Point> {
    let n = mid.len();
    let (corner_low, corner_high) = (low[0], high[n - 1]);
    let gamma = -mid[0];
    mid[0] -= gamma;
    mid[n - 1] -= corner_low * corner_high / gamma;
    let x = tridiagonal(low, mid.clone(), high, right);
    let mut u = vec![0.0; n];
    u[0] = gamma;
    u[n - 1] = corner_high;
    let z = tridiagonal(low, mid, high, u);
    let share = corner_low / gamma;
    let along = (x[0] + x[n - 1] * share) * (1.0 / (1.0 + z[0] + z[n - 1] * share));
    x.iter().zip(&z).map(|(x, z)| *x - along * *z).collect()
}
