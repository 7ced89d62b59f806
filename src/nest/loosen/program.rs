//! A small linear program: numbers between bounds, as cheap as can be, where rows hold or are paid for.
//!
//! The least of Σ cost · x + Σ price · shortfall over low ≤ x ≤ high, where a row's shortfall is how much Σ terms falls short
//! of what it asks. So there always is a solution. Solved by the simplex method on the multipliers of rows, of which each
//! lies between 0 and its price: every number begins at the bound that is cheapest for it, and row after row that falls short is brought
//! in. A row has four terms at the most, so a step costs little more than changing the inverse of the basis.

/// What a row may fall short and still holds, in mm: far below the digits of a plan.
const HOLDS: f64 = 1e-9;
/// Numbers that count as nothing in a step.
const NOTHING: f64 = 1e-9;
/// Rows that are looked at side by side.
const ABREAST: usize = 4;
/// A line of the inverse that has fewer numbers than one in so many is gone through number by number: elsewhere the compiler
/// reckons two at a time.
const SPARSE: usize = 4;

/// Σ factor · number ≥ least, of four terms at the most.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    pub(super) terms: [(usize, f64); 4],
    pub(super) least: f64,
    /// What a shortfall costs.
    pub(super) price: f64,
}

/// A program before it is solved.
#[derive(Clone, Debug, Default)]
pub(super) struct Program {
    pub(super) cost: Vec<f64>,
    pub(super) low: Vec<f64>,
    pub(super) high: Vec<f64>,
    pub(super) rows: Vec<Row>,
}

/// How far the multiplier of a row or bound has come.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Stand {
    Zero,
    Basic,
    Most,
}

/// The rows that name each number, so that a step looks again at those alone whose numbers it changed.
struct Naming {
    /// Where the rows of each number begin in `rows`, and where the last ones end.
    begin: Vec<u32>,
    rows: Vec<u32>,
}

/// The state of a solution. Rows are called by their places; then come lower bounds, then upper ones.
struct Tableau<'a> {
    program: &'a Program,
    n: usize,
    x: Vec<f64>,
    basis: Vec<usize>,
    stand: Vec<Stand>,
    /// How much the multiplier of each row wants to change; nothing where it is in the basis.
    want: Vec<f64>,
    naming: Naming,
    /// Multipliers of the basis.
    y: Vec<f64>,
    /// The inverse of the basis, row by row.
    inverse: Vec<f64>,
    column: Vec<f64>,
    /// Where the line of the inverse that was exchanged last is not 0: those numbers changed.
    filled: Vec<usize>,
    /// By row of the program: the exchange after which it was looked at again, counted from 1.
    seen: Vec<u32>,
    exchanges: u32,
}

impl Program {
    /// The numbers, and how many steps it took; the best known after so many steps.
    pub(super) fn solve(&self, most_steps: usize) -> (Vec<f64>, usize) {
        let mut tableau = Tableau::new(self);
        for step in 0..most_steps {
            let Some((row, gap)) = tableau.worst() else {
                return (tableau.x, step);
            };
            if !tableau.bring_in(row, gap) {
                return (tableau.x, step);
            }
        }
        (tableau.x, most_steps)
    }
}

impl Naming {
    fn new(program: &Program) -> Self {
        let n = program.cost.len();
        let named = |r: &Row| r.terms.into_iter().filter(|t| t.1 != 0.0).map(|t| t.0);
        let mut begin = vec![0; n + 1];
        for j in program.rows.iter().flat_map(named) {
            begin[j + 1] += 1;
        }
        for j in 0..n {
            begin[j + 1] += begin[j];
        }
        let mut next = begin.clone();
        let mut rows = vec![0; begin[n] as usize];
        for (row, r) in program.rows.iter().enumerate() {
            for j in named(r) {
                rows[next[j] as usize] = row as u32;
                next[j] += 1;
            }
        }
        Self { begin, rows }
    }

    fn of(&self, j: usize) -> &[u32] {
        &self.rows[self.begin[j] as usize..self.begin[j + 1] as usize]
    }
}

impl<'a> Tableau<'a> {
    fn new(program: &'a Program) -> Self {
        let (n, m) = (program.cost.len(), program.rows.len());
        let mut out = Self {
            program,
            n,
            x: vec![0.0; n],
            basis: vec![0; n],
            stand: vec![Stand::Zero; m + 2 * n],
            want: vec![0.0; m + 2 * n],
            naming: Naming::new(program),
            y: vec![0.0; n],
            inverse: vec![0.0; n * n],
            column: vec![0.0; n],
            filled: Vec::with_capacity(n),
            seen: vec![0; m],
            exchanges: 0,
        };
        for j in 0..n {
            let is_low = program.cost[j] >= 0.0;
            out.x[j] = if is_low {
                program.low[j]
            } else {
                program.high[j]
            };
            out.basis[j] = m + j + if is_low { 0 } else { n };
            out.stand[out.basis[j]] = Stand::Basic;
            out.y[j] = program.cost[j].abs();
            out.inverse[j * n + j] = if is_low { 1.0 } else { -1.0 };
        }
        for row in 0..m + 2 * n {
            out.look(row);
        }
        out
    }

    /// How much a row falls short.
    fn gap(&self, row: usize) -> f64 {
        let m = self.program.rows.len();
        if row < m {
            let r = &self.program.rows[row];
            return r.least - r.terms.iter().map(|&(j, f)| f * self.x[j]).sum::<f64>();
        }
        let j = row - m;
        if j < self.n {
            self.program.low[j] - self.x[j]
        } else {
            self.x[j - self.n] - self.program.high[j - self.n]
        }
    }

    /// Finds out anew how much the multiplier of a row wants to change.
    fn look(&mut self, row: usize) {
        self.want[row] = match self.stand[row] {
            Stand::Basic => 0.0,
            Stand::Zero => self.gap(row),
            Stand::Most => -self.gap(row),
        };
    }

    /// The row whose multiplier most wants to change, the first of equal ones, and how much it falls short.
    fn worst(&self) -> Option<(usize, f64)> {
        let mut most = [HOLDS; ABREAST];
        let fours = self.want.chunks_exact(ABREAST);
        let rest = fours.remainder();
        for four in fours {
            for (m, &w) in most.iter_mut().zip(four) {
                *m = if w > *m { w } else { *m };
            }
        }
        let most = most.iter().chain(rest);
        let most = most.fold(HOLDS, |most, &w| if w > most { w } else { most });
        if most <= HOLDS {
            return None;
        }
        let row = self.want.iter().position(|&w| w == most)?;
        let sign = if self.stand[row] == Stand::Zero {
            1.0
        } else {
            -1.0
        };
        Some((row, sign * most))
    }

    /// The column of a row in terms of the basis.
    fn set_column(&mut self, row: usize) {
        let (n, m) = (self.n, self.program.rows.len());
        if row >= m {
            let j = row - m;
            let (j, sign) = if j < n { (j, 1.0) } else { (j - n, -1.0) };
            for (i, c) in self.column.iter_mut().enumerate() {
                *c = sign * self.inverse[i * n + j];
            }
            return;
        }
        let [a, b, c, d] = self.program.rows[row].terms;
        for (out, line) in self.column.iter_mut().zip(self.inverse.chunks_exact(n)) {
            *out = a.1 * line[a.0] + b.1 * line[b.0] + c.1 * line[c.0] + d.1 * line[d.0];
        }
    }

    /// The most that a multiplier may be.
    fn most(&self, row: usize) -> f64 {
        self.program
            .rows
            .get(row)
            .map_or(f64::INFINITY, |r| r.price)
    }

    /// Changes the multiplier of a row until it, or one of the basis, meets its bound; whether there is such a bound.
    fn bring_in(&mut self, row: usize, gap: f64) -> bool {
        self.set_column(row);
        let sign = if gap > 0.0 { 1.0 } else { -1.0 };
        let mut least = (self.most(row), 0.0);
        let mut leaves: Option<usize> = None;
        for i in 0..self.n {
            let by = sign * self.column[i];
            let room = if by > NOTHING {
                self.y[i].max(0.0) / by
            } else if by < -NOTHING {
                (self.most(self.basis[i]) - self.y[i]).max(0.0) / -by
            } else {
                continue;
            };
            if room < least.0 - NOTHING || (room < least.0 + NOTHING && by.abs() > least.1) {
                least = (room.min(least.0), by.abs());
                leaves = Some(i);
            }
        }
        let t = least.0;
        if !t.is_finite() {
            return false;
        }
        for (y, c) in self.y.iter_mut().zip(&self.column) {
            *y -= t * sign * c;
        }
        let Some(i) = leaves else {
            self.stand[row] = if sign > 0.0 { Stand::Most } else { Stand::Zero };
            self.look(row);
            return true;
        };
        let left = self.basis[i];
        self.stand[left] = if sign * self.column[i] > 0.0 {
            Stand::Zero
        } else {
            Stand::Most
        };
        self.y[i] = if sign > 0.0 { t } else { self.most(row) - t };
        self.stand[row] = Stand::Basic;
        self.basis[i] = row;
        self.exchange(i, gap);
        self.look(left);
        self.look(row);
        self.look_where_moved();
        true
    }

    /// Looks again at the rows whose numbers the last exchange changed.
    fn look_where_moved(&mut self) {
        let (n, m) = (self.n, self.program.rows.len());
        self.exchanges += 1;
        for f in 0..self.filled.len() {
            let j = self.filled[f];
            self.look(m + j);
            self.look(m + n + j);
            for k in 0..self.naming.of(j).len() {
                let row = self.naming.of(j)[k] as usize;
                if self.seen[row] != self.exchanges {
                    self.seen[row] = self.exchanges;
                    self.look(row);
                }
            }
        }
    }

    /// The column takes place `i` of the basis.
    fn exchange(&mut self, i: usize, gap: f64) {
        let n = self.n;
        let pivot = self.column[i];
        let (before, rest) = self.inverse.split_at_mut(i * n);
        let (own, after) = rest.split_at_mut(n);
        let theta = gap / pivot;
        for (v, x) in own.iter_mut().zip(&mut self.x) {
            *x += theta * *v;
            *v /= pivot;
        }
        let others = before.chunks_exact_mut(n).chain(after.chunks_exact_mut(n));
        let columns = self.column[..i].iter().chain(&self.column[i + 1..]);
        self.filled.clear();
        self.filled.extend((0..n).filter(|&j| own[j] != 0.0));
        if self.filled.len() < n / SPARSE {
            for (line, &by) in others.zip(columns) {
                if by != 0.0 {
                    for &j in &self.filled {
                        line[j] -= by * own[j];
                    }
                }
            }
            return;
        }
        for (line, &by) in others.zip(columns) {
            if by != 0.0 {
                for (v, o) in line.iter_mut().zip(own.iter()) {
                    *v -= by * o;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(terms: &[(usize, f64)], least: f64) -> Row {
        let mut all = [(0, 0.0); 4];
        all[..terms.len()].copy_from_slice(terms);
        Row {
            terms: all,
            least,
            price: 10.0,
        }
    }

    #[test]
    fn three_in_a_row_are_pushed_to_the_left() {
        // x0 ≥ 0, x1 ≥ x0 + 2, x2 ≥ x1 + 3, length ≥ x2 + 1: by hand 0, 2, 5, 6.
        let program = Program {
            cost: vec![0.001, 0.001, 0.001, 1.0],
            low: vec![0.0, -10.0, -10.0, -100.0],
            high: vec![10.0, 10.0, 10.0, 100.0],
            rows: vec![
                row(&[(1, 1.0), (0, -1.0)], 2.0),
                row(&[(2, 1.0), (1, -1.0)], 3.0),
                row(&[(3, 1.0), (2, -1.0)], 1.0),
            ],
        };
        let (x, _) = program.solve(100);
        for (got, by_hand) in x.iter().zip([0.0, 2.0, 5.0, 6.0]) {
            assert!((got - by_hand).abs() < 1e-9, "{x:?}");
        }
    }

    #[test]
    fn a_row_that_cannot_hold_falls_short_as_little_as_can_be() {
        // x0 + x1 ≥ 5 with both at most 2, and 2·x0 ≤ 3 that costs as much a mm: 1.5 and 2 fall short by 1.5, or
        // 2 and 2 by 1 and by 1; by hand the first is best.
        let program = Program {
            cost: vec![0.01, 0.01],
            low: vec![0.0, 0.0],
            high: vec![2.0, 2.0],
            rows: vec![row(&[(0, 1.0), (1, 1.0)], 5.0), row(&[(0, -2.0)], -3.0)],
        };
        let (x, _) = program.solve(100);
        assert!(
            (x[0] - 1.5).abs() < 1e-9 && (x[1] - 2.0).abs() < 1e-9,
            "{x:?}"
        );
    }
}
