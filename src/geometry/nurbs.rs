//! B-spline curves, rational or not.
//!
//! Evaluated by de Boor's scheme in homogeneous coordinates; its last step also gives the derivative.
//!
//! Source: C. de Boor, "On calculating with B-splines", Journal of Approximation Theory 6 (1972), from memory.

use crate::geometry::affine::Affine;
use crate::geometry::biarc::Smooth;
use crate::geometry::point::Point;

/// Highest degree that is read: drawing programs write 1 to 5; higher ones swing.
pub const MAX_DEGREE: usize = 25;

/// Most control points times the square of the degree: what a point of the curve takes grows with that square. Of degree 3
/// these are a million points, of degree 25 some ten thousand.
pub const MOST_EFFORT: usize = 9_000_000;

/// A curve over its knots. Knots ascend, there are as many as control points + degree + 1, and no knot is repeated more
/// than degree + 1 times; weights are above 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Nurbs {
    degree: usize,
    knots: Vec<f64>,
    points: Vec<Point>,
    weights: Vec<f64>,
}

/// What is wrong with the numbers of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum NurbsFault {
    /// The degree is not admitted.
    #[error("its degree is {0}; 1 to {MAX_DEGREE} are read")]
    Degree(i64),
    /// Fewer control points than a curve of this degree needs.
    #[error("it has {0} control points; a curve of degree {1} needs {2}")]
    Points(usize, usize, usize),
    /// Not as many knots as control points and degree ask for.
    #[error("it has {0} knots for {1} control points of degree {2}; {3} are needed")]
    Knots(usize, usize, usize, usize),
    /// More control points than are read at such a degree.
    #[error("it has {0} control points of degree {1}; at most {most} of that degree are read", most = MOST_EFFORT / (.1 * .1))]
    Effort(usize, usize),
    /// A knot below the one before.
    #[error("its knots do not ascend")]
    Order,
    /// Weights missing, or not above 0.
    #[error("its weights are not one above 0 for each control point")]
    Weights,
    /// A knot repeated so often that the curve falls apart.
    #[error("a knot inside of it is repeated more than degree times")]
    Repeated,
}

impl Nurbs {
    /// A curve; no weights mean that all are 1.
    ///
    /// # Errors
    /// See [`NurbsFault`].
    pub fn new(
        degree: i64,
        knots: Vec<f64>,
        points: Vec<Point>,
        weights: Vec<f64>,
    ) -> Result<Self, NurbsFault> {
        let p = match usize::try_from(degree) {
            Ok(p) if (1..=MAX_DEGREE).contains(&p) => p,
            _ => return Err(NurbsFault::Degree(degree)),
        };
        let n = points.len();
        if n < p + 1 {
            return Err(NurbsFault::Points(n, p, p + 1));
        }
        if n.saturating_mul(p * p) > MOST_EFFORT {
            return Err(NurbsFault::Effort(n, p));
        }
        if knots.len() != n + p + 1 {
            return Err(NurbsFault::Knots(knots.len(), n, p, n + p + 1));
        }
        if knots.windows(2).any(|w| w[0] > w[1]) || knots[p] >= knots[n] {
            return Err(NurbsFault::Order);
        }
        let inner = |w: &[f64]| w[0] == w[p] && w[0] > knots[p] && w[0] < knots[n];
        if knots.windows(p + 1).any(inner) {
            return Err(NurbsFault::Repeated);
        }
        let weights = if weights.is_empty() {
            vec![1.0; n]
        } else {
            weights
        };
        if weights.len() != n || weights.iter().any(|w| w.is_nan() || *w <= 0.0) {
            return Err(NurbsFault::Weights);
        }
        Ok(Self {
            degree: p,
            knots,
            points,
            weights,
        })
    }

    /// The curve after an affine map.
    pub fn mapped(&self, map: &Affine) -> Self {
        Self {
            points: self.points.iter().map(|p| map.apply(*p)).collect(),
            ..self.clone()
        }
    }

    /// Its control points.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Point and derivative, both homogeneous: (x w, y w) and w; at a knot those of the side of `toward`.
    fn homogeneous(&self, t: f64, toward: f64) -> [(Point, f64); 2] {
        let (p, u) = (self.degree, &self.knots);
        let n = self.points.len();
        // The span [u_k, u_k+1] that holds t: above a knot from which the curve goes on, else below it.
        let above = |knot: &f64| {
            if toward > t { *knot <= t } else { *knot < t }
        };
        let k = u.partition_point(above).clamp(p + 1, n) - 1;
        let k = (p..=k).rev().find(|k| u[*k] < u[*k + 1]).unwrap_or(k);
        let mut d = [(Point::default(), 0.0); MAX_DEGREE + 1];
        for (d, i) in d.iter_mut().zip(k - p..=k) {
            *d = (self.points[i] * self.weights[i], self.weights[i]);
        }
        let mut slope = (Point::default(), 0.0);
        for r in 1..=p {
            if r == p {
                let rate = p as f64 / (u[k + 1] - u[k]);
                let (a, b) = (d[p - 1], d[p]);
                slope = ((b.0 - a.0) * rate, (b.1 - a.1) * rate);
            }
            for j in (r..=p).rev() {
                let i = j + k - p;
                let share = (t - u[i]) / (u[i + p + 1 - r] - u[i]);
                d[j] = (
                    d[j - 1].0.toward(d[j].0, share),
                    d[j - 1].1 + (d[j].1 - d[j - 1].1) * share,
                );
            }
        }
        [d[p], slope]
    }
}

impl Smooth for Nurbs {
    fn at(&self, t: f64) -> Point {
        let [(p, w), _] = self.homogeneous(t, f64::INFINITY);
        p * (1.0 / w)
    }

    fn slope(&self, t: f64, toward: f64) -> Point {
        let [(p, w), (dp, dw)] = self.homogeneous(t, toward);
        (dp - p * (dw / w)) * (1.0 / w)
    }

    fn breaks(&self) -> Vec<f64> {
        let mut breaks = self.knots[self.degree..=self.points.len()].to_vec();
        breaks.dedup();
        breaks
    }
}
