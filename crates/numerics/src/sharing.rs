//! Sharing a load between columns: a strictly convex programme solved by Newton's method on its dual.
//!
//! ```text
//! minimise   Σ w aᵖ  +  ½ Σ e x²  +  ½ W |A a + E x − b|²      0 ≤ a ≤ hi,   lo ≤ x ≤ hi
//! ```
//!
//! with p = 2 or 3, *muscles* a (weights w) and *cheap columns* x (weights e). The last term makes every demand `b`
//! solvable: what the columns cannot balance is left over, and reported.
//!
//! **Dual.** One multiplier λ per row. With c = Aᵀλ the inner minimum is explicit,
//! a = clamp((c₊ / p w)^(1/(p−1)), 0, hi), x = clamp(Eᵀλ / e, lo, hi), left over = λ / W, so only λ is unknown: the
//! dual is concave, its gradient is g = b − A a − E x − λ/W, its generalised Hessian −H,
//! H = Σ D col colᵀ + I/W, D = da/dc. Primal minus dual value bounds the error of both (see [`Problem::values`]).
//! Theory: Rockafellar 1970, *Convex Analysis*, §31; Newton on such piecewise smooth equations: Qi & Sun 1993,
//! *Mathematical Programming* 58, 353–367.
//!
//! **Chain.** Newton from the last answer; where it does not converge, Newton by stages of stiffness W = 10, 300, …
//! from zero (at once where the load is known to exceed capacity); where that fails too, a primal–dual interior point
//! (Mehrotra 1992, *SIAM J. Optim.* 2, 575–601) polished by Newton.
//!
//! **Scale.** Tolerances are absolute: give rows in units that make `b` and the columns of order one (100 N·m for
//! joint torques), cheap columns in units of their bounds, with e ≥ 1e-3. W = 1e6 is stiff enough that activations
//! stay within rounding of the exactly balanced ones; below 1e5 they visibly do not.

mod interior;
mod newton;

use crate::dense::{dot, norm_max, subtract_scaled};
use thiserror::Error;

/// Exponent of the muscles' cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Power {
    Two,
    Three,
}

/// One problem with at most `M` rows. Unused rows are zero in every column and in `b`.
///
/// Muscles come first in `columns`, cheap columns after them. `weight` is w for a muscle (cost w aᵖ) and e for a cheap
/// column (cost ½ e x²), always positive. `lo` of a muscle is 0. All numbers are finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem<const M: usize> {
    /// How many of the columns are muscles.
    pub muscles: usize,
    pub columns: Vec<[f64; M]>,
    pub weight: Vec<f64>,
    pub lo: Vec<f64>,
    pub hi: Vec<f64>,
    /// Demand per row.
    pub b: [f64; M],
    /// W, the price of what is left over; positive.
    pub stiffness: f64,
    /// The demand is known to be more than the columns can balance: begin with the stages.
    pub over_capacity: bool,
    pub power: Power,
}

/// Which link of the chain gave the answer, in the order they are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Route {
    /// Newton from the workspace's multipliers.
    Newton,
    /// Newton by stages of stiffness, from zero.
    Stages,
    /// Interior point, then Newton from its multipliers.
    Interior,
    /// Not attempted: the problem is malformed, see [`Problem::check`].
    Refused,
}

/// Knobs of the solver. The defaults are meant for every use; the rest is for tests and measurements.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Largest gradient entry accepted, times (1 + 1e-3 |λ|).
    pub tolerance: f64,
    /// Newton steps allowed (per stage).
    pub max_iterations: usize,
    /// Activation below which the curvature of a cubic cost is held, since D → ∞ at a = 0.
    pub activation_floor: f64,
    /// Added to the Hessian's diagonal: this times the gradient, at most 1e-4.
    pub damping: f64,
    /// First link of the chain to try.
    pub start: Route,
}

impl Default for Options {
    fn default() -> Self {
        Options { tolerance: 1e-9, max_iterations: 60, activation_floor: 1e-6, damping: 1e-3, start: Route::Newton }
    }
}

/// How a solve ended. The answer itself stands in the [`Workspace`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Steps over all links tried.
    pub iterations: usize,
    pub converged: bool,
    /// Largest entry of the dual gradient at the answer (what row balance is violated by, beyond the priced slack).
    pub gradient: f64,
    pub route: Route,
}

/// Multipliers, answer and scratch; reused from frame to frame, which is also the warm start.
#[derive(Debug, Clone, PartialEq)]
pub struct Workspace<const M: usize> {
    /// In: where to start (zero = cold). Out: what one more unit of demand would cost, per row.
    pub lambda: [f64; M],
    /// Out: the answer, muscles first. Longer than the problem where an earlier one had more columns.
    pub x: Vec<f64>,
    /// c = columnsᵀ λ, kept up to date along the search.
    c: Vec<f64>,
    /// columnsᵀ (direction).
    dc: Vec<f64>,
    interior: interior::Scratch,
}

impl<const M: usize> Workspace<M> {
    /// A cold workspace for problems of up to `max_columns` columns; it grows when given a larger one.
    pub fn new(max_columns: usize) -> Self {
        let zeros = vec![0.0; max_columns];
        Workspace {
            lambda: [0.0; M],
            x: zeros.clone(),
            c: zeros.clone(),
            dc: zeros,
            interior: interior::Scratch::new(max_columns),
        }
    }

    fn fit(&mut self, columns: usize) {
        if self.x.len() < columns {
            let lambda = self.lambda;
            *self = Workspace::new(columns);
            self.lambda = lambda;
        }
    }
}

/// What is wrong with a [`Problem`].
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SharingError {
    #[error("{columns} columns, but {field} has {got} entries")]
    Length { field: &'static str, columns: usize, got: usize },
    #[error("{muscles} muscles among {columns} columns")]
    Muscles { muscles: usize, columns: usize },
    #[error("column {column}: weight {weight} must be positive and finite")]
    Weight { column: usize, weight: f64 },
    #[error("column {column}: bounds {lo} to {hi} must be finite and in order, and begin at 0 for a muscle")]
    BoundsOfColumn { column: usize, lo: f64, hi: f64 },
    #[error("column {column} holds a number that is not finite")]
    ColumnNotFinite { column: usize },
    #[error("the demand or the stiffness ({stiffness}) is not finite, or the stiffness not positive")]
    Demand { stiffness: f64 },
}

impl<const M: usize> Problem<M> {
    /// An empty problem with room for `max_columns`, to be filled frame by frame; W = 1e6, cubic cost.
    pub fn with_capacity(max_columns: usize) -> Self {
        let room = || Vec::with_capacity(max_columns);
        Problem {
            muscles: 0,
            columns: Vec::with_capacity(max_columns),
            weight: room(),
            lo: room(),
            hi: room(),
            b: [0.0; M],
            stiffness: 1e6,
            over_capacity: false,
            power: Power::Three,
        }
    }

    /// Says what is malformed; [`Self::solve`] refuses such a problem without saying why.
    pub fn check(&self) -> Result<(), SharingError> {
        let columns = self.columns.len();
        for (field, got) in [("weight", self.weight.len()), ("lo", self.lo.len()), ("hi", self.hi.len())] {
            if got != columns {
                return Err(SharingError::Length { field, columns, got });
            }
        }
        if self.muscles > columns {
            return Err(SharingError::Muscles { muscles: self.muscles, columns });
        }
        if !(self.stiffness.is_finite() && self.stiffness > 0.0 && self.b.iter().all(|v| v.is_finite())) {
            return Err(SharingError::Demand { stiffness: self.stiffness });
        }
        for column in 0..columns {
            let (weight, lo, hi) = (self.weight[column], self.lo[column], self.hi[column]);
            if !(weight.is_finite() && weight > 0.0) {
                return Err(SharingError::Weight { column, weight });
            }
            if !(lo.is_finite() && hi.is_finite() && lo <= hi) || column < self.muscles && lo != 0.0 {
                return Err(SharingError::BoundsOfColumn { column, lo, hi });
            }
            if !self.columns[column].iter().all(|v| v.is_finite()) {
                return Err(SharingError::ColumnNotFinite { column });
            }
        }
        Ok(())
    }

    /// Solves the problem, starting from `ws.lambda`; the answer is left in `ws.x` and `ws.lambda`.
    ///
    /// Where the outcome is not converged, `ws` holds the best attempt; reset `ws.lambda` before the next frame.
    /// Allocates nothing once the workspace is large enough.
    ///
    /// ```
    /// use numerics::sharing::{Options, Power, Problem, Workspace};
    /// // Two muscles with lever arms 2 and 1 carry a demand of 0.5: Σ a² is least at a = 0.5 (2, 1) / (2² + 1²).
    /// let problem = Problem { columns: vec![[2.0], [1.0]], muscles: 2, weight: vec![1.0; 2], lo: vec![0.0; 2],
    ///     hi: vec![1.0; 2], b: [0.5], stiffness: 1e6, over_capacity: false, power: Power::Two };
    /// let mut ws = Workspace::new(2);
    /// assert!(problem.solve(&mut ws, &Options::default()).converged);
    /// assert!((ws.x[0] - 0.2).abs() < 1e-6 && (ws.x[1] - 0.1).abs() < 1e-6);
    /// ```
    pub fn solve(&self, ws: &mut Workspace<M>, options: &Options) -> Outcome {
        if self.check().is_err() {
            return Outcome { iterations: 0, converged: false, gradient: f64::NAN, route: Route::Refused };
        }
        ws.fit(self.columns.len());
        if !ws.lambda.iter().all(|v| v.is_finite()) {
            ws.lambda = [0.0; M];
        }
        let mut iterations = 0;
        if options.start <= Route::Newton && !self.over_capacity {
            let run = newton::maximise(self, ws, options);
            iterations += run.iterations;
            if run.converged {
                return run.outcome(iterations, Route::Newton);
            }
        }
        if options.start <= Route::Stages {
            ws.lambda = [0.0; M];
            let run = newton::maximise_by_stages(self, ws, options);
            iterations += run.iterations;
            if run.converged {
                return run.outcome(iterations, Route::Stages);
            }
        }
        let rough = interior::minimise(self, ws, 60);
        let rough_lambda = ws.lambda;
        let polish = newton::maximise(self, ws, options);
        iterations += rough.iterations + polish.iterations;
        if polish.converged || !rough.converged {
            return polish.outcome(iterations, Route::Interior);
        }
        ws.lambda = rough_lambda;
        for j in 0..self.columns.len() {
            ws.x[j] = self.inner_minimiser(j, dot(&self.columns[j], &ws.lambda));
        }
        // The interior point's own accuracy is lower; the gradient says by how much.
        let gradient = norm_max(&self.gradient(&ws.x, &ws.lambda));
        newton::Run { gradient, ..rough }.outcome(iterations, Route::Interior)
    }

    /// Primal value at `x` (left-over included), dual value at `lambda`, and what `x` leaves over per row (b − A a − E x).
    ///
    /// Primal ≥ optimum ≥ dual for any `x` within bounds and any `lambda`, so the gap between the two certifies both.
    pub fn values(&self, x: &[f64], lambda: &[f64; M]) -> (f64, f64, [f64; M]) {
        let mut primal = 0.0;
        let mut dual = dot(lambda, &self.b) - 0.5 * dot(lambda, lambda) / self.stiffness;
        let mut left_over = self.b;
        for (j, column) in self.columns.iter().enumerate() {
            primal += self.cost(j, x[j]);
            subtract_scaled(&mut left_over, x[j], column);
            let c = dot(column, lambda);
            let inner = self.inner_minimiser(j, c);
            dual += self.cost(j, inner) - c * inner;
        }
        (primal + 0.5 * self.stiffness * dot(&left_over, &left_over), dual, left_over)
    }

    /// Dual gradient b − A a − E x − λ/W.
    fn gradient(&self, x: &[f64], lambda: &[f64; M]) -> [f64; M] {
        let mut g = self.b;
        subtract_scaled(&mut g, 1.0 / self.stiffness, lambda);
        for (j, column) in self.columns.iter().enumerate() {
            subtract_scaled(&mut g, x[j], column);
        }
        g
    }

    /// Cost of column `j` at `x`.
    #[inline]
    fn cost(&self, j: usize, x: f64) -> f64 {
        if j >= self.muscles {
            return 0.5 * self.weight[j] * x * x;
        }
        match self.power {
            Power::Two => self.weight[j] * x * x,
            Power::Three => self.weight[j] * x * x * x,
        }
    }

    /// The x within bounds that minimises cost(x) − c x.
    #[inline]
    fn inner_minimiser(&self, j: usize, c: f64) -> f64 {
        if j >= self.muscles {
            return (c / self.weight[j]).max(self.lo[j]).min(self.hi[j]);
        }
        let pull = c.max(0.0);
        let free = match self.power {
            Power::Two => pull / (2.0 * self.weight[j]),
            Power::Three => (pull / (3.0 * self.weight[j])).sqrt(),
        };
        free.min(self.hi[j])
    }

    /// D, the derivative of [`Self::inner_minimiser`] at `c` where its value is `x`; a cheap column exactly at a kink
    /// counts as free, or the first step from λ = 0 would find a singular Hessian.
    #[inline]
    fn inner_slope(&self, j: usize, c: f64, x: f64, floor: f64) -> f64 {
        if j >= self.muscles {
            let free = c / self.weight[j];
            let open = x > self.lo[j] && x < self.hi[j];
            let kink = self.hi[j] > self.lo[j] && free >= self.lo[j] && free <= self.hi[j];
            return if open || kink { 1.0 / self.weight[j] } else { 0.0 };
        }
        if c <= 0.0 || x >= self.hi[j] {
            return 0.0;
        }
        match self.power {
            Power::Two => 0.5 / self.weight[j],
            Power::Three => 1.0 / (6.0 * self.weight[j] * x.max(floor)),
        }
    }
}
