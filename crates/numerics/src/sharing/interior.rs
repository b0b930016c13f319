//! Primal–dual interior point with Mehrotra's predictor and corrector: the last resort of the chain.
//!
//! Written for the slack form: z_lo, z_hi ≥ 0 are the bounds' multipliers,
//! columnᵀλ − cost′(x) + z_lo − z_hi = 0, z_lo (x − lo) = z_hi (hi − x) = μ → 0, b − A a − E x − λ/W = 0.

use super::newton::Run;
use super::{Power, Problem, Workspace};
use crate::dense::{add_outer, cholesky, cholesky_solve, dot, norm_max, subtract_scaled};

/// Per-column state, allocated once.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scratch(Vec<Column>);

#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Column {
    /// Multipliers of the two bounds.
    z_lo: f64,
    z_hi: f64,
    /// 1 / (cost″ + z_lo/(x − lo) + z_hi/(hi − x)).
    theta: f64,
    /// columnᵀλ − cost′ + z_lo − z_hi.
    stationarity: f64,
    /// Second-order terms of the complementarity equations.
    second_lo: f64,
    second_hi: f64,
    /// Right-hand side after eliminating the bound multipliers, and the resulting steps.
    rhs: f64,
    dx: f64,
    dz_lo: f64,
    dz_hi: f64,
}

impl Scratch {
    pub(super) fn new(columns: usize) -> Self {
        Scratch(vec![Column::default(); columns])
    }
}

const TOLERANCE: f64 = 1e-9;
/// Narrower columns are constants.
const FIXED_WIDTH: f64 = 1e-9;

/// From a cold start; leaves `ws.x` and `ws.lambda` at the last iterate.
pub(super) fn minimise<const M: usize>(p: &Problem<M>, ws: &mut Workspace<M>, max_iterations: usize) -> Run {
    let softness = 1.0 / p.stiffness;
    let n = p.columns.len();
    let free = |j: usize| p.hi[j] - p.lo[j] > FIXED_WIDTH;
    let free_columns = (0..n).filter(|&j| free(j)).count().max(1) as f64;
    for j in 0..n {
        let share = if j < p.muscles { 0.3 } else { 0.5 };
        ws.x[j] = p.lo[j] + if free(j) { share * (p.hi[j] - p.lo[j]) } else { 0.0 };
        ws.interior.0[j] = Column { z_lo: 0.5, z_hi: 0.5, ..Column::default() };
    }
    ws.lambda = [0.0; M];
    let mut run = Run { iterations: 0, converged: false, gradient: f64::INFINITY };
    for _ in 0..max_iterations {
        // Residuals and the reduced matrix.
        let mut balance = p.b;
        subtract_scaled(&mut balance, softness, &ws.lambda);
        let mut h = [[0.0; M]; M];
        for i in 0..M {
            h[i][i] = softness + 1e-13;
        }
        let (mut mu, mut worst) = (0.0, 0.0f64);
        for j in 0..n {
            let (x, column, s) = (ws.x[j], &p.columns[j], &mut ws.interior.0[j]);
            subtract_scaled(&mut balance, x, column);
            if !free(j) {
                continue;
            }
            let (below, above) = (x - p.lo[j], p.hi[j] - x);
            s.stationarity = dot(column, &ws.lambda) - marginal_cost(p, j, x) + s.z_lo - s.z_hi;
            worst = worst.max(s.stationarity.abs());
            mu += s.z_lo * below + s.z_hi * above;
            s.theta = 1.0 / (cost_curvature(p, j, x) + s.z_lo / below + s.z_hi / above);
            add_outer(&mut h, s.theta, column);
        }
        mu /= 2.0 * free_columns;
        let imbalance = norm_max(&balance);
        run.gradient = imbalance.max(worst).max(mu);
        if imbalance < TOLERANCE && worst < TOLERANCE && mu < TOLERANCE {
            run.converged = true;
            return run;
        }
        if !cholesky(&mut h) {
            return run;
        }
        run.iterations += 1;

        // Predictor (μ = 0), then corrector with the second-order terms the predictor found.
        let predicted = direction(p, ws, &h, &balance, 0.0, false);
        let (reach_x, reach_z) = predicted.reach;
        let mut mu_after = 0.0;
        for j in (0..n).filter(|&j| free(j)) {
            let s = &ws.interior.0[j];
            let (below, above) = (ws.x[j] - p.lo[j], p.hi[j] - ws.x[j]);
            mu_after += (s.z_lo + reach_z * s.dz_lo) * (below + reach_x * s.dx);
            mu_after += (s.z_hi + reach_z * s.dz_hi) * (above - reach_x * s.dx);
        }
        mu_after /= 2.0 * free_columns;
        let target = (mu_after / mu).powi(3).min(1.0) * mu;
        let step = direction(p, ws, &h, &balance, target, true);

        let keep_inside = 0.995f64.max(1.0 - mu).min(0.99999);
        let t = (keep_inside * step.reach.0.min(step.reach.1)).min(1.0);
        for j in (0..n).filter(|&j| free(j)) {
            let s = &mut ws.interior.0[j];
            let margin = 1e-13 * (p.hi[j] - p.lo[j]);
            ws.x[j] = (ws.x[j] + t * s.dx).max(p.lo[j] + margin).min(p.hi[j] - margin);
            s.z_lo = (s.z_lo + t * s.dz_lo).max(1e-14);
            s.z_hi = (s.z_hi + t * s.dz_hi).max(1e-14);
        }
        for i in 0..M {
            ws.lambda[i] += t * step.d_lambda[i];
        }
    }
    run
}

struct Step<const M: usize> {
    d_lambda: [f64; M],
    /// Longest steps that keep x inside its bounds, and the bounds' multipliers positive.
    reach: (f64, f64),
}

/// One Newton direction towards complementarity `target`; dx and dz stay in the scratch.
fn direction<const M: usize>(
    p: &Problem<M>,
    ws: &mut Workspace<M>,
    factor: &[[f64; M]; M],
    balance: &[f64; M],
    target: f64,
    second_order: bool,
) -> Step<M> {
    let n = p.columns.len();
    let free = |j: usize| p.hi[j] - p.lo[j] > FIXED_WIDTH;
    let mut d_lambda = *balance;
    for j in (0..n).filter(|&j| free(j)) {
        let s = &mut ws.interior.0[j];
        let (below, above) = (ws.x[j] - p.lo[j], p.hi[j] - ws.x[j]);
        (s.second_lo, s.second_hi) = if second_order { (s.dx * s.dz_lo, -s.dx * s.dz_hi) } else { (0.0, 0.0) };
        s.rhs = s.stationarity - s.z_lo + s.z_hi + (target - s.second_lo) / below - (target - s.second_hi) / above;
        subtract_scaled(&mut d_lambda, s.theta * s.rhs, &p.columns[j]);
    }
    cholesky_solve(factor, &mut d_lambda);
    let mut reach = (1.0f64, 1.0f64);
    for j in (0..n).filter(|&j| free(j)) {
        let s = &mut ws.interior.0[j];
        let (below, above) = (ws.x[j] - p.lo[j], p.hi[j] - ws.x[j]);
        s.dx = s.theta * (dot(&p.columns[j], &d_lambda) + s.rhs);
        s.dz_lo = (target - s.second_lo) / below - s.z_lo - s.z_lo * s.dx / below;
        s.dz_hi = (target - s.second_hi) / above - s.z_hi + s.z_hi * s.dx / above;
        if s.dx < 0.0 {
            reach.0 = reach.0.min(-below / s.dx);
        } else if s.dx > 0.0 {
            reach.0 = reach.0.min(above / s.dx);
        }
        if s.dz_lo < 0.0 {
            reach.1 = reach.1.min(-s.z_lo / s.dz_lo);
        }
        if s.dz_hi < 0.0 {
            reach.1 = reach.1.min(-s.z_hi / s.dz_hi);
        }
    }
    Step { d_lambda, reach }
}

fn marginal_cost<const M: usize>(p: &Problem<M>, j: usize, x: f64) -> f64 {
    match p.power {
        _ if j >= p.muscles => p.weight[j] * x,
        Power::Two => 2.0 * p.weight[j] * x,
        Power::Three => 3.0 * p.weight[j] * x * x,
    }
}

fn cost_curvature<const M: usize>(p: &Problem<M>, j: usize, x: f64) -> f64 {
    match p.power {
        _ if j >= p.muscles => p.weight[j],
        Power::Two => 2.0 * p.weight[j],
        Power::Three => 6.0 * p.weight[j] * x,
    }
}
