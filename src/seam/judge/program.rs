//! A small linear program: how far a point can go in one direction among many half spaces.
//!
//! In: planes a with a · m ≤ 1, which all hold at the origin with room to spare, and a direction c. Out: the greatest
//! c · m, or nothing where it has no limit.
//!
//! Three planes at a time meet in a corner. The first corner is that of a large box, on the side of c; then the plane that
//! is broken most comes in, and of the three the one goes out that keeps c between them (the dual simplex method). Each
//! corner lies no farther along c than the last, and a corner that breaks no plane is the answer. Where it still leans on
//! the box there is no limit. After `PATIENCE` exchanges the first broken plane comes in instead, which cannot go round in
//! circles (R. G. Bland's rule of 1977, from memory). Nothing is drawn at random: the same planes give the same bits.

/// Half the size of the box: play beyond this many gaps, in mm or at the end of the seam, counts as none that is limited.
/// Faces that are parallel to within a ten-thousandth limit nothing between them.
pub(crate) const NO_LIMIT: f64 = 1.0e4;
/// By how much a plane may be broken: rounding of sums of three products near 1, with a margin of a million.
const BROKEN: f64 = 1.0e-9;
/// Share of the direction that may lean on the box by rounding alone.
const LEAN: f64 = 1.0e-9;
/// Exchanges with the worst plane before the first one is taken instead.
const PATIENCE: usize = 200;
/// Exchanges at most; the corner reached then promises more than there is, never less.
const EXCHANGES: usize = 20_000;

/// A vector of the program.
pub(crate) type Vector = [f64; 3];

/// One of the three planes that meet in the corner.
#[derive(Clone, Copy)]
struct Tight {
    plane: Vector,
    bound: f64,
    of_box: bool,
}

/// The greatest c · m with a · m ≤ 1 for every plane a; `None` where it has no limit.
pub(crate) fn most(planes: &[Vector], direction: Vector) -> Option<f64> {
    let mut tight = box_corner(direction);
    for exchange in 0..EXCHANGES {
        let inverse = inverse(tight.map(|t| t.plane));
        let corner = times(inverse, tight.map(|t| t.bound));
        let leaving = broken(planes, corner, exchange < PATIENCE)
            .and_then(|plane| leaving(&inverse, direction, plane).map(|k| (k, plane)));
        let Some((k, plane)) = leaving else {
            let weights = across(inverse, direction);
            let leans = (0..3).any(|k| tight[k].of_box && weights[k] > LEAN);
            return (!leans).then(|| dot(direction, corner));
        };
        tight[k] = Tight {
            plane,
            bound: 1.0,
            of_box: false,
        };
    }
    let inverse = inverse(tight.map(|t| t.plane));
    Some(dot(direction, times(inverse, tight.map(|t| t.bound))))
}

/// The planes of the box that meet in its corner on the side of a direction.
fn box_corner(direction: Vector) -> [Tight; 3] {
    std::array::from_fn(|k| {
        let mut plane = [0.0; 3];
        plane[k] = if direction[k] < 0.0 { -1.0 } else { 1.0 };
        Tight {
            plane,
            bound: NO_LIMIT,
            of_box: true,
        }
    })
}

/// A plane that a corner breaks: the one that is broken most, or the first.
fn broken(planes: &[Vector], corner: Vector, worst: bool) -> Option<Vector> {
    let over = |p: &Vector| dot(*p, corner) - 1.0;
    if !worst {
        return planes.iter().find(|p| over(p) > BROKEN).copied();
    }
    let mut found: Option<(f64, Vector)> = None;
    for plane in planes {
        let by = over(plane);
        if by > found.map_or(BROKEN, |f| f.0) {
            found = Some((by, *plane));
        }
    }
    found.map(|f| f.1)
}

/// Which of the three planes gives way to a new one so that the direction stays a sum of what is left with weights that are
/// not negative; of equals the first. `None` where no plane can: then no point keeps all of them.
fn leaving(inverse: &[Vector; 3], direction: Vector, plane: Vector) -> Option<usize> {
    let (weights, shares) = (across(*inverse, direction), across(*inverse, plane));
    let mut best: Option<(f64, usize)> = None;
    for k in 0..3 {
        if shares[k] > 1.0e-12 {
            let ratio = weights[k].max(0.0) / shares[k];
            if best.is_none_or(|b| ratio < b.0) {
                best = Some((ratio, k));
            }
        }
    }
    best.map(|b| b.1)
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: Vector, b: Vector) -> Vector {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// The inverse of the matrix with these rows, as columns: column k is square to the other two rows and 1 along row k.
fn inverse(rows: [Vector; 3]) -> [Vector; 3] {
    let [a, b, c] = rows;
    let columns = [cross(b, c), cross(c, a), cross(a, b)];
    let volume = dot(a, columns[0]);
    columns.map(|col| col.map(|v| v / volume))
}

/// The point with these products with the rows.
fn times(columns: [Vector; 3], by: Vector) -> Vector {
    std::array::from_fn(|k| columns[0][k] * by[0] + columns[1][k] * by[1] + columns[2][k] * by[2])
}

/// The weights with which the rows sum up to a vector.
fn across(columns: [Vector; 3], vector: Vector) -> Vector {
    columns.map(|col| dot(col, vector))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers that are the same in every run: the multiplier and step of Knuth's MMIX generator, from memory.
    fn draws(n: usize) -> Vec<f64> {
        let mut state = 7_u64;
        let next = |_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
        };
        (0..n).map(next).collect()
    }

    /// Independent method: of all corners of three planes, the farthest that breaks none.
    fn by_trying_all(planes: &[Vector], direction: Vector) -> f64 {
        let mut best = f64::NEG_INFINITY;
        for i in 0..planes.len() {
            for j in 0..i {
                for k in 0..j {
                    let corner = times(inverse([planes[i], planes[j], planes[k]]), [1.0; 3]);
                    if planes.iter().all(|p| dot(*p, corner) <= 1.0 + 1e-9) {
                        best = best.max(dot(direction, corner));
                    }
                }
            }
        }
        best
    }

    #[test]
    fn the_answer_is_the_best_of_all_corners() {
        for (k, numbers) in draws(50 * 40 * 3).chunks_exact(40 * 3).enumerate() {
            let planes: Vec<Vector> = numbers
                .chunks_exact(3)
                .map(|c| [c[0], c[1], c[2]])
                .collect();
            for direction in [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.3, 0.5, -0.8]] {
                let expected = by_trying_all(&planes, direction);
                let found = most(&planes, direction).unwrap_or(f64::NAN);
                // Forty planes all round leave no corner far away; 1e-6 of it covers flat corners.
                assert!(
                    (found - expected).abs() < 1e-6 * expected,
                    "{k}: {found}, {expected}"
                );
            }
        }
    }

    #[test]
    fn a_cube_is_as_long_as_it_is_and_an_open_box_has_no_limit() {
        let mut planes: Vec<Vector> = Vec::new();
        for k in 0..3 {
            for side in [-1.0, 1.0] {
                let mut plane = [0.0; 3];
                plane[k] = side / 2.0;
                planes.push(plane);
            }
        }
        let long = most(&planes, [1.0, 0.0, 0.0]);
        assert!(
            (long.unwrap_or(f64::NAN) - 2.0).abs() < 1e-12,
            "x / 2 ≤ 1: {long:?}"
        );
        let corner = most(&planes, [1.0, 1.0, 1.0]);
        assert!(
            (corner.unwrap_or(f64::NAN) - 6.0).abs() < 1e-12,
            "{corner:?}"
        );
        planes.remove(1);
        assert_eq!(
            most(&planes, [1.0, 0.0, 0.0]),
            None,
            "the side at +x is gone"
        );
        assert_eq!(most(&planes, [-1.0, 0.0, 0.0]).map(f64::round), Some(2.0));
        assert_eq!(most(&[], [0.0, 1.0, 0.0]), None);
    }

    #[test]
    fn a_wedge_that_opens_limits_only_the_way_into_it() {
        // Two flanks at 45°: x and w together, so without a floor w opens for ever and takes x along.
        let planes = [[-1.0, -1.0, 0.0], [1.0, -1.0, 0.0]];
        assert_eq!(most(&planes, [0.0, 1.0, 0.0]), None);
        assert_eq!(most(&planes, [1.0, 0.0, 0.0]), None);
        let closing = most(&planes, [0.0, -1.0, 0.0]);
        assert!(
            (closing.unwrap_or(f64::NAN) - 1.0).abs() < 1e-12,
            "by hand: ±x + w ≥ −1: {closing:?}"
        );
    }
}
