//! The largest load that bounded columns can balance: one linear programme per frame, warm-started.
//!
//! ```text
//! maximise L   with   A a + E x = b0 + L b1,   0 ≤ a ≤ 1,   lo0 + L lo1 ≤ x ≤ hi0 + L hi1,   0 ≤ L ≤ cap
//! ```
//!
//! Dual simplex with bound flipping (the long-step ratio test; Koberstein 2005, *The dual simplex method*, ch. 3) on a
//! dense tableau. Every variable has two finite bounds, so any basis is dual feasible once each non-basic variable
//! sits at the bound its reduced cost asks for: no first phase, and the same loop runs cold and warm (the last basis
//! is factored again). Cheap columns are measured from their lower bound, x′ = x − lo(L) ≥ 0; where a column's width
//! changes with the load, an extra row x′ + s = width(L) says so.
//!
//! Tolerances are absolute (1e-9): give rows in units that make the columns of order one.

use crate::dense::norm_max;
use thiserror::Error;

/// Bounds of the cheap columns as straight lines in the load, lo0 + L lo1 ≤ x ≤ hi0 + L hi1; four slices of one length.
#[derive(Debug, Clone, Copy)]
pub struct Bounds<'a> {
    pub lo0: &'a [f64],
    pub lo1: &'a [f64],
    pub hi0: &'a [f64],
    pub hi1: &'a [f64],
}

impl Bounds<'_> {
    /// For problems without cheap columns.
    pub const NONE: Bounds<'static> = Bounds { lo0: &[], lo1: &[], hi0: &[], hi1: &[] };
}

/// Why no answer can be given. (That no load is feasible is an answer: `Ok(None)`.)
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CapacityError {
    #[error("{got} rows asked for, at most {allowed} fit the columns")]
    Rows { got: usize, allowed: usize },
    #[error("{cheap} cheap columns, but {field} has {got} entries")]
    Length { field: &'static str, cheap: usize, got: usize },
    #[error("load cap {cap} must be positive and finite")]
    Cap { cap: f64 },
    #[error("a column, a bound or the demand holds a number that is not finite")]
    NotFinite,
    #[error("no answer after {pivots} pivots: the rows are badly scaled or nearly dependent")]
    Numerical { pivots: usize },
}

/// Pivots allowed per solve; the largest count seen on real frames is a tenth of it.
const MAX_PIVOTS: usize = 300;
/// Largest violation of a bound, and smallest pivot, accepted.
const EPS: f64 = 1e-9;

/// The solver with its tableau; keep one per movement, so that each frame starts from the last.
#[derive(Debug, Clone, Default)]
pub struct Capacity {
    // Layout: columns are muscles, cheap, slacks of width rows, the load, logicals of the m demand rows.
    muscles: usize,
    cheap: usize,
    width_rows: usize,
    demand_rows: usize,
    /// Row stride of `raw` and `tableau`: grows, never shrinks.
    stride: usize,
    raw: Vec<f64>,
    raw_rhs: Vec<f64>,
    tableau: Vec<f64>,
    /// Value of each row's basic variable.
    rhs: Vec<f64>,
    upper: Vec<f64>,
    reduced_cost: Vec<f64>,
    basis: Vec<usize>,
    is_basic: Vec<bool>,
    at_upper: Vec<bool>,
    candidates: Vec<(f64, usize)>,
    pivoted: Vec<bool>,
    zeros: Vec<f64>,
    /// The load is carried as L × scale, so that its column is of order one.
    load_scale: f64,
    basis_is_optimal: bool,
    answer: Vec<f64>,
    multipliers: Vec<f64>,
    pivots: usize,
    started_warm: bool,
}

enum Ending {
    Optimal,
    Infeasible,
    Trouble,
}

impl Capacity {
    pub fn new() -> Self {
        Self::default()
    }

    /// Solves the programme at the head of this module. `rows` of the `M` are used; `muscles` and `cheap` are the
    /// columns. With `warm` the last optimal basis is tried first where the shape is the same.
    ///
    /// `Ok(Some(load))`, where `load == cap` means *not limited*; `Ok(None)` where no load is feasible, not even 0.
    /// Allocates only when a problem is larger than any before.
    ///
    /// ```
    /// use numerics::capacity::{Bounds, Capacity};
    /// // Two muscles of torque 30 and 20 against 10 + L × 2: L = (50 − 10) / 2.
    /// let mut c = Capacity::new();
    /// let load = c.solve(1, &[[30.0], [20.0]], &[], &Bounds::NONE, &[10.0], &[2.0], 1e3, false);
    /// assert!((load.unwrap().unwrap() - 20.0).abs() < 1e-9);
    /// ```
    pub fn solve<const M: usize>(
        &mut self,
        rows: usize,
        muscles: &[[f64; M]],
        cheap: &[[f64; M]],
        bounds: &Bounds,
        b0: &[f64; M],
        b1: &[f64; M],
        cap: f64,
        warm: bool,
    ) -> Result<Option<f64>, CapacityError> {
        check_shape::<M>(rows, cheap.len(), bounds, cap)?;
        let width_rows = (0..cheap.len()).filter(|&j| bounds.hi1[j] != bounds.lo1[j]).count();
        let same = (self.muscles, self.cheap, self.width_rows, self.demand_rows)
            == (muscles.len(), cheap.len(), width_rows, rows);
        let warm = warm && same && self.basis_is_optimal;
        (self.muscles, self.cheap, self.width_rows, self.demand_rows) = (muscles.len(), cheap.len(), width_rows, rows);
        self.basis_is_optimal = false;
        self.pivots = 0;
        self.make_room();
        self.load_problem(muscles, cheap, bounds, b0, b1, cap)?;

        for attempt in 0..2 {
            let factor = warm && attempt == 0;
            if attempt == 1 && !warm {
                break;
            }
            if !factor {
                self.reset_basis();
            }
            self.started_warm = factor;
            match self.run(factor) {
                Ending::Optimal => {
                    self.extract(bounds);
                    let load = self.answer[self.load_column()];
                    if !load.is_finite() {
                        return Err(CapacityError::NotFinite);
                    }
                    self.basis_is_optimal = true;
                    return Ok(Some(load));
                }
                // A basis factored from another frame may be ill-conditioned: believe only the cold answer.
                Ending::Infeasible if factor => {}
                Ending::Infeasible => return Ok(None),
                Ending::Trouble => {}
            }
        }
        Err(CapacityError::Numerical { pivots: self.pivots })
    }

    /// The smallest peak activation that balances `b` exactly with cheap columns between `lo` and `hi`:
    /// the programme above with b0 = 0, b1 = b and bounds proportional to the load, since scaling a solution of peak
    /// p by 1/p fills the box exactly; peak = 1/L. Above 1 means overload.
    ///
    /// `Ok(None)` where the columns cannot balance `b` at any activation up to 1000. A demand so small that its peak
    /// is below 1e-3 gives 1e-3. The answer's activations, scaled back, are [`Self::activations`] × peak.
    pub fn min_max<const M: usize>(
        &mut self,
        rows: usize,
        muscles: &[[f64; M]],
        cheap: &[[f64; M]],
        lo: &[f64],
        hi: &[f64],
        b: &[f64; M],
        warm: bool,
    ) -> Result<Option<f64>, CapacityError> {
        const LARGEST: f64 = 1e3;
        if self.zeros.len() < cheap.len() {
            self.zeros.resize(cheap.len(), 0.0);
        }
        let zeros = std::mem::take(&mut self.zeros);
        let bounds = Bounds { lo0: &zeros[..cheap.len()], lo1: lo, hi0: &zeros[..cheap.len()], hi1: hi };
        let load = self.solve(rows, muscles, cheap, &bounds, &[0.0; M], b, LARGEST, warm);
        self.zeros = zeros;
        // L = 0 (nothing can carry any part of b) is feasible here, but no peak.
        Ok(load?.filter(|load| *load > 1.0 / LARGEST).map(|load| 1.0 / load))
    }

    /// Activations of the last solve, 0..=1.
    pub fn activations(&self) -> &[f64] {
        self.answer.get(..self.muscles).unwrap_or(&[])
    }

    /// Values of the cheap columns of the last solve, in their own measure (lower bound included).
    pub fn cheap_values(&self) -> &[f64] {
        self.answer.get(self.muscles..self.muscles + self.cheap).unwrap_or(&[])
    }

    /// ∂L/∂b0 per demand row of the last solve. Zero where a row does not limit.
    ///
    /// The share of row i in the limit is −y_i b1_i; without load-dependent bounds these shares add up to 1 (0 where
    /// the cap limits).
    pub fn row_multipliers(&self) -> &[f64] {
        self.multipliers.get(..self.demand_rows).unwrap_or(&[])
    }

    /// Pivots of the last solve, and whether the last basis served.
    pub fn effort(&self) -> (usize, bool) {
        (self.pivots, self.started_warm)
    }

    fn load_column(&self) -> usize {
        self.muscles + self.cheap + self.width_rows
    }

    fn rows(&self) -> usize {
        self.demand_rows + self.width_rows
    }

    fn columns(&self) -> usize {
        self.load_column() + 1 + self.demand_rows
    }

    fn make_room(&mut self) {
        let (rows, columns) = (self.rows(), self.columns());
        if columns > self.stride || rows > self.rhs.len() {
            self.stride = columns.max(self.stride).next_multiple_of(8);
            let rows = rows.max(self.rhs.len());
            for matrix in [&mut self.raw, &mut self.tableau] {
                matrix.clear();
                matrix.resize(rows * self.stride, 0.0);
            }
            for vector in [&mut self.raw_rhs, &mut self.rhs, &mut self.multipliers] {
                vector.resize(rows, 0.0);
            }
            for vector in [&mut self.upper, &mut self.reduced_cost, &mut self.answer] {
                vector.resize(self.stride, 0.0);
            }
            for flags in [&mut self.is_basic, &mut self.at_upper] {
                flags.resize(self.stride, false);
            }
            self.basis.resize(rows, 0);
            self.pivoted.resize(rows, false);
            self.candidates.reserve(self.stride);
        }
    }

    /// Writes matrix, right-hand side and upper bounds.
    fn load_problem<const M: usize>(
        &mut self,
        muscles: &[[f64; M]],
        cheap: &[[f64; M]],
        bounds: &Bounds,
        b0: &[f64; M],
        b1: &[f64; M],
        cap: f64,
    ) -> Result<(), CapacityError> {
        let (n, k, m, stride) = (self.muscles, self.cheap, self.demand_rows, self.stride);
        let (load, columns) = (self.load_column(), self.columns());
        let scale = norm_max(b1).max(1e-12);
        self.load_scale = scale;
        for row in 0..self.rows() {
            self.raw[row * stride..row * stride + columns].fill(0.0);
        }
        // Any NaN or infinity ends up in `probe`.
        let mut probe = [0.0; M];
        for column in muscles.iter().chain(cheap) {
            for i in 0..M {
                probe[i] += column[i] * 0.0;
            }
        }
        let mut finite = probe.iter().sum::<f64>() == 0.0;
        for i in 0..m {
            let row = &mut self.raw[i * stride..(i + 1) * stride];
            let (mut rhs, mut load_entry) = (b0[i], -b1[i]);
            for j in 0..n {
                row[j] = muscles[j][i];
            }
            for j in 0..k {
                let entry = cheap[j][i];
                row[n + j] = entry;
                rhs -= entry * bounds.lo0[j];
                load_entry += entry * bounds.lo1[j];
            }
            row[load] = load_entry / scale;
            row[load + 1 + i] = 1.0;
            self.raw_rhs[i] = rhs;
            self.upper[load + 1 + i] = 0.0;
            finite &= rhs.is_finite() && load_entry.is_finite();
        }
        self.upper[..n].fill(1.0);
        self.upper[load] = cap * scale;
        let mut extra = 0;
        for j in 0..k {
            let (width0, width1) = (bounds.hi0[j] - bounds.lo0[j], bounds.hi1[j] - bounds.lo1[j]);
            let upper = width0.max(width0 + width1 * cap).max(0.0);
            finite &= (width0 + width1).is_finite();
            self.upper[n + j] = upper;
            if width1 != 0.0 {
                let row = &mut self.raw[(m + extra) * stride..(m + extra + 1) * stride];
                row[n + j] = 1.0;
                row[n + k + extra] = 1.0;
                row[load] = -width1 / scale;
                self.raw_rhs[m + extra] = width0;
                self.upper[n + k + extra] = upper;
                extra += 1;
            }
        }
        if finite { Ok(()) } else { Err(CapacityError::NotFinite) }
    }

    /// The all-logical basis with everything else at its lower bound.
    fn reset_basis(&mut self) {
        let (m, load) = (self.demand_rows, self.load_column());
        for row in 0..self.rows() {
            self.basis[row] = if row < m { load + 1 + row } else { self.muscles + self.cheap + row - m };
        }
        let columns = self.columns();
        self.at_upper[..columns].fill(false);
    }

    fn run(&mut self, factor: bool) -> Ending {
        let (rows, columns, stride) = (self.rows(), self.columns(), self.stride);
        for row in 0..rows {
            let span = row * stride..row * stride + columns;
            self.tableau[span.clone()].copy_from_slice(&self.raw[span]);
        }
        self.rhs[..rows].copy_from_slice(&self.raw_rhs[..rows]);
        self.reduced_cost[..columns].fill(0.0);
        let load = self.load_column();
        self.reduced_cost[load] = 1.0;
        self.is_basic[..columns].fill(false);
        for row in 0..rows {
            self.is_basic[self.basis[row]] = true;
        }
        if factor && !self.factor_basis() {
            return Ending::Trouble;
        }
        self.place_nonbasic();
        for _ in 0..MAX_PIVOTS {
            let Some((row, violation)) = self.leaving_row() else { return Ending::Optimal };
            let Some(entering) = self.entering_column(row, violation) else { return Ending::Infeasible };
            self.exchange(row, entering);
        }
        Ending::Trouble
    }

    /// Reduces the raw tableau to the remembered basis, choosing the largest pivot for each of its columns.
    fn factor_basis(&mut self) -> bool {
        let (rows, stride) = (self.rows(), self.stride);
        self.pivoted[..rows].fill(false);
        // The basis is a set; which row each member ends in is decided here, so it is rebuilt in place from a copy
        // kept in the candidates' scratch.
        self.candidates.clear();
        self.candidates.extend(self.basis[..rows].iter().map(|&column| (0.0, column)));
        for s in 0..rows {
            let column = self.candidates[s].1;
            let (mut pivot_row, mut largest) = (usize::MAX, 1e-7);
            for row in 0..rows {
                let size = self.tableau[row * stride + column].abs();
                if !self.pivoted[row] && size > largest {
                    (pivot_row, largest) = (row, size);
                }
            }
            if pivot_row == usize::MAX {
                return false;
            }
            let value = self.rhs[pivot_row] / self.tableau[pivot_row * stride + column];
            for row in 0..rows {
                if row != pivot_row {
                    self.rhs[row] -= self.tableau[row * stride + column] * value;
                }
            }
            self.rhs[pivot_row] = value;
            self.eliminate(pivot_row, column);
            self.pivoted[pivot_row] = true;
            self.basis[pivot_row] = column;
        }
        true
    }

    /// Puts every non-basic variable at the bound its reduced cost asks for, which makes the basis dual feasible.
    fn place_nonbasic(&mut self) {
        const FLAT: f64 = 1e-12;
        let (rows, stride) = (self.rows(), self.stride);
        for j in 0..self.columns() {
            if self.is_basic[j] {
                continue;
            }
            if self.reduced_cost[j] > FLAT {
                self.at_upper[j] = true;
            } else if self.reduced_cost[j] < -FLAT {
                self.at_upper[j] = false;
            }
            let upper = self.upper[j];
            if self.at_upper[j] && upper != 0.0 {
                for row in 0..rows {
                    self.rhs[row] -= self.tableau[row * stride + j] * upper;
                }
            }
        }
    }

    /// The row whose basic variable violates a bound most, and by how much.
    fn leaving_row(&self) -> Option<(usize, f64)> {
        let mut leaving = None;
        let mut largest = EPS;
        for row in 0..self.rows() {
            let violation = (-self.rhs[row]).max(self.rhs[row] - self.upper[self.basis[row]]);
            if violation > largest {
                largest = violation;
                leaving = Some((row, violation));
            }
        }
        leaving
    }

    /// Dual ratio test. Variables whose whole range does not repair the row are flipped to their other bound and
    /// passed; the one that does repair it enters. `None`: the row cannot be repaired, nothing is feasible.
    fn entering_column(&mut self, row: usize, violation: f64) -> Option<usize> {
        let (stride, columns) = (self.stride, self.columns());
        let sign = if self.rhs[row] < 0.0 { -1.0 } else { 1.0 };
        self.candidates.clear();
        let entries = &self.tableau[row * stride..row * stride + columns];
        for (j, entry) in entries.iter().enumerate() {
            if self.is_basic[j] || self.upper[j] <= 0.0 {
                continue;
            }
            let alpha = sign * entry;
            if if self.at_upper[j] { alpha < -EPS } else { alpha > EPS } {
                self.candidates.push((self.reduced_cost[j].abs() / alpha.abs(), j));
            }
        }
        let mut slope = violation;
        let mut flipped = None;
        loop {
            // The list is short: the next break point is found by looking, ties go to the larger pivot.
            let mut best: Option<(usize, f64)> = None;
            let mut limit = f64::INFINITY;
            for (place, &(ratio, j)) in self.candidates.iter().enumerate() {
                let size = self.tableau[row * stride + j].abs();
                if best.is_none_or(|(_, s)| ratio < limit - 1e-13 || ratio <= limit + 1e-13 && size > s) {
                    limit = limit.min(ratio);
                    best = Some((place, size));
                }
            }
            let Some((place, size)) = best else {
                // All passed. If they repair the row but for rounding, the last one should have entered.
                let last = flipped.filter(|_| slope <= EPS)?;
                self.flip(last);
                return Some(last);
            };
            let j = self.candidates[place].1;
            if slope <= size * self.upper[j] {
                return Some(j);
            }
            slope -= size * self.upper[j];
            self.flip(j);
            flipped = Some(j);
            self.candidates.swap_remove(place);
        }
    }

    /// Moves a non-basic variable to its other bound.
    fn flip(&mut self, j: usize) {
        let (rows, stride) = (self.rows(), self.stride);
        let shift = if self.at_upper[j] { -self.upper[j] } else { self.upper[j] };
        self.at_upper[j] = !self.at_upper[j];
        for row in 0..rows {
            self.rhs[row] -= self.tableau[row * stride + j] * shift;
        }
    }

    /// `entering` takes the place of the basic variable of `row`, which goes to the bound it violated.
    fn exchange(&mut self, row: usize, entering: usize) {
        let (rows, stride) = (self.rows(), self.stride);
        let leaving = self.basis[row];
        let below = self.rhs[row] < 0.0;
        let bound = if below { 0.0 } else { self.upper[leaving] };
        let step = (self.rhs[row] - bound) / self.tableau[row * stride + entering];
        for i in 0..rows {
            if i != row {
                self.rhs[i] -= self.tableau[i * stride + entering] * step;
            }
        }
        self.rhs[row] = step + if self.at_upper[entering] { self.upper[entering] } else { 0.0 };
        self.at_upper[leaving] = !below;
        self.at_upper[entering] = false;
        self.is_basic[leaving] = false;
        self.is_basic[entering] = true;
        self.basis[row] = entering;
        self.eliminate(row, entering);
        self.pivots += 1;
    }

    /// Makes `column` a unit vector with its one in `row`, by row operations on tableau and reduced costs.
    fn eliminate(&mut self, row: usize, column: usize) {
        let (rows, stride, columns) = (self.rows(), self.stride, self.columns());
        let (before, rest) = self.tableau.split_at_mut(row * stride);
        let (pivot_row, after) = rest.split_at_mut(stride);
        let inverse = 1.0 / pivot_row[column];
        for v in &mut pivot_row[..columns] {
            *v *= inverse;
        }
        pivot_row[column] = 1.0;
        let others = before.chunks_exact_mut(stride).chain(after.chunks_exact_mut(stride).take(rows - row - 1));
        for other in others.chain(std::iter::once(&mut self.reduced_cost[..])) {
            let factor = other[column];
            if factor != 0.0 {
                for (v, p) in other[..columns].iter_mut().zip(&pivot_row[..columns]) {
                    *v -= factor * p;
                }
                other[column] = 0.0;
            }
        }
    }

    /// Reads primal values and row multipliers off the final tableau.
    fn extract(&mut self, bounds: &Bounds) {
        let load_column = self.load_column();
        for j in 0..self.columns() {
            self.answer[j] = if !self.is_basic[j] && self.at_upper[j] { self.upper[j] } else { 0.0 };
        }
        for row in 0..self.rows() {
            self.answer[self.basis[row]] = self.rhs[row];
        }
        let load = self.answer[load_column] / self.load_scale;
        self.answer[load_column] = load;
        for j in 0..self.cheap {
            self.answer[self.muscles + j] += bounds.lo0[j] + load * bounds.lo1[j];
        }
        for row in 0..self.demand_rows {
            self.multipliers[row] = -self.reduced_cost[load_column + 1 + row] / self.load_scale;
        }
    }
}

fn check_shape<const M: usize>(rows: usize, cheap: usize, bounds: &Bounds, cap: f64) -> Result<(), CapacityError> {
    if rows > M {
        return Err(CapacityError::Rows { got: rows, allowed: M });
    }
    let fields = [("lo0", bounds.lo0), ("lo1", bounds.lo1), ("hi0", bounds.hi0), ("hi1", bounds.hi1)];
    for (field, slice) in fields {
        if slice.len() != cheap {
            return Err(CapacityError::Length { field, cheap, got: slice.len() });
        }
        if !slice.iter().all(|v| v.is_finite()) {
            return Err(CapacityError::NotFinite);
        }
    }
    if cap > 0.0 && cap.is_finite() { Ok(()) } else { Err(CapacityError::Cap { cap }) }
}
