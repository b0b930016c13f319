//! Newton's method on the concave dual, with a bracketed search along each direction.

use super::{Options, Outcome, Problem, Route, Workspace};
use crate::dense::{add_outer, cholesky, cholesky_solve, dot, norm_max, subtract_scaled};

/// One attempt.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub iterations: usize,
    pub converged: bool,
    pub gradient: f64,
}

impl Run {
    pub(super) fn outcome(self, iterations: usize, route: Route) -> Outcome {
        Outcome { iterations, converged: self.converged, gradient: self.gradient, route }
    }
}

/// Multipliers beyond this size belong to overloaded problems, where λ ≈ W · left over.
const LARGE_MULTIPLIER: f64 = 30.0;

/// Newton from `ws.lambda` at the problem's own stiffness.
pub(super) fn maximise<const M: usize>(p: &Problem<M>, ws: &mut Workspace<M>, options: &Options) -> Run {
    let run = climb(p, ws, options, p.stiffness, Accept::Scaled(options.tolerance), false);
    verify(p, ws, options, run)
}

/// Newton at W = 10, 300, … up to the problem's stiffness, each from the last.
pub(super) fn maximise_by_stages<const M: usize>(p: &Problem<M>, ws: &mut Workspace<M>, options: &Options) -> Run {
    let mut iterations = 0;
    let mut stage = 10.0;
    while stage < p.stiffness && stage < 1e6 {
        // A stage only has to lead the way; one that stops early is no failure.
        iterations += climb(p, ws, options, stage, Accept::Plain(1e-3), true).iterations;
        stage *= 30.0;
    }
    let run = climb(p, ws, options, p.stiffness, Accept::Scaled(options.tolerance), true);
    verify(p, ws, options, Run { iterations: iterations + run.iterations, ..run })
}

/// Which gradient is small enough.
#[derive(Clone, Copy)]
enum Accept {
    Plain(f64),
    /// Times (1 + 1e-3 |λ|): rounding grows with the multipliers.
    Scaled(f64),
}

impl Accept {
    fn limit(self, lambda_size: f64) -> f64 {
        match self {
            Accept::Plain(limit) => limit,
            Accept::Scaled(limit) => limit * (1.0 + 1e-3 * lambda_size),
        }
    }
}

fn climb<const M: usize>(
    p: &Problem<M>,
    ws: &mut Workspace<M>,
    options: &Options,
    stiffness: f64,
    accept: Accept,
    radial_first: bool,
) -> Run {
    let columns = p.columns.len();
    let softness = 1.0 / stiffness;
    let mut run = Run { iterations: 0, converged: false, gradient: f64::INFINITY };
    for j in 0..columns {
        ws.c[j] = dot(&p.columns[j], &ws.lambda);
    }
    let mut zigzag = radial_first;
    for _ in 0..options.max_iterations {
        if zigzag {
            radial_step(p, ws, softness);
        }
        let mut g = p.b;
        subtract_scaled(&mut g, softness, &ws.lambda);
        let mut h = [[0.0; M]; M];
        let mut value = dot(&ws.lambda, &p.b) - 0.5 * softness * dot(&ws.lambda, &ws.lambda);
        for j in 0..columns {
            let (c, column) = (ws.c[j], &p.columns[j]);
            let x = p.inner_minimiser(j, c);
            ws.x[j] = x;
            if x != 0.0 {
                subtract_scaled(&mut g, x, column);
                value += p.cost(j, x) - c * x;
            }
            let slope = p.inner_slope(j, c, x, options.activation_floor);
            if slope > 0.0 {
                add_outer(&mut h, slope, column);
            }
        }
        run.gradient = norm_max(&g);
        let lambda_size = norm_max(&ws.lambda);
        if run.gradient <= accept.limit(lambda_size) {
            run.converged = true;
            return run;
        }
        run.iterations += 1;

        let largest = (0..M).fold(0.0, |t: f64, i| t.max(h[i][i]));
        let lift = softness + (options.damping * run.gradient).clamp(1e-10, 1e-4) + 1e-14 * largest;
        for i in 0..M {
            h[i][i] += lift;
        }
        let mut direction = g;
        if !cholesky(&mut h) {
            return run;
        }
        cholesky_solve(&h, &mut direction);
        let slope = dot(&g, &direction);
        if slope.is_nan() || slope <= 0.0 {
            return run;
        }
        for j in 0..columns {
            ws.dc[j] = dot(&p.columns[j], &direction);
        }
        let t = search(p, ws, &direction, slope, value, softness, 0.5);
        advance(ws, columns, &direction, t);
        zigzag = t < 0.5 && lambda_size > LARGE_MULTIPLIER;
    }
    run
}

/// One search along ±λ. Above capacity λ grows like W · left over with hardly a free column, and Newton zigzags;
/// scaling λ as a whole gets out of that.
fn radial_step<const M: usize>(p: &Problem<M>, ws: &mut Workspace<M>, softness: f64) {
    const LENGTH: f64 = 0.3;
    let columns = p.columns.len();
    let mut g = p.b;
    subtract_scaled(&mut g, softness, &ws.lambda);
    let mut value = dot(&ws.lambda, &p.b) - 0.5 * softness * dot(&ws.lambda, &ws.lambda);
    for j in 0..columns {
        let x = p.inner_minimiser(j, ws.c[j]);
        value += p.cost(j, x) - ws.c[j] * x;
        subtract_scaled(&mut g, x, &p.columns[j]);
    }
    let slope = dot(&g, &ws.lambda);
    if slope == 0.0 {
        return;
    }
    let factor = LENGTH.copysign(slope);
    let direction = ws.lambda.map(|v| v * factor);
    for j in 0..columns {
        ws.dc[j] = factor * ws.c[j];
    }
    let t = search(p, ws, &direction, LENGTH * slope.abs(), value, softness, 0.1);
    advance(ws, columns, &direction, t);
}

fn advance<const M: usize>(ws: &mut Workspace<M>, columns: usize, direction: &[f64; M], t: f64) {
    for i in 0..M {
        ws.lambda[i] += t * direction[i];
    }
    for j in 0..columns {
        ws.c[j] += t * ws.dc[j];
    }
}

/// The dual along λ + t d. With c and columnsᵀ d at hand a trial costs one inner minimum per column, no product.
struct Ray<'a, const M: usize> {
    problem: &'a Problem<M>,
    c: &'a [f64],
    dc: &'a [f64],
    softness: f64,
    lambda_b: f64,
    lambda_lambda: f64,
    lambda_d: f64,
    d_d: f64,
    d_b: f64,
}

impl<const M: usize> Ray<'_, M> {
    /// Slope and value at `t`.
    #[inline]
    fn at(&self, t: f64) -> (f64, f64) {
        let mut slope = self.d_b - self.softness * (self.lambda_d + t * self.d_d);
        let square = self.lambda_lambda + 2.0 * t * self.lambda_d + t * t * self.d_d;
        let mut value = self.lambda_b + t * self.d_b - 0.5 * self.softness * square;
        for j in 0..self.c.len() {
            let c = self.c[j] + t * self.dc[j];
            let x = self.problem.inner_minimiser(j, c);
            slope -= self.dc[j] * x;
            value += self.problem.cost(j, x) - c * x;
        }
        (slope, value)
    }
}

/// Bracketed false position on the slope, which falls monotonically: stops once |slope| ≤ `accept` × the slope at zero
/// and the value has not fallen. The step may grow beyond one.
fn search<const M: usize>(
    p: &Problem<M>,
    ws: &Workspace<M>,
    direction: &[f64; M],
    slope_at_zero: f64,
    value_at_zero: f64,
    softness: f64,
    accept: f64,
) -> f64 {
    let columns = p.columns.len();
    let ray = Ray {
        problem: p,
        c: &ws.c[..columns],
        dc: &ws.dc[..columns],
        softness,
        lambda_b: dot(&ws.lambda, &p.b),
        lambda_lambda: dot(&ws.lambda, &ws.lambda),
        lambda_d: dot(&ws.lambda, direction),
        d_d: dot(direction, direction),
        d_b: dot(direction, &p.b),
    };
    let rounding = 1e-14 * (1.0 + value_at_zero.abs());
    let (mut left, mut slope_left) = (0.0, slope_at_zero);
    let (mut right, mut slope_right) = (f64::INFINITY, 0.0);
    let mut t = 1.0;
    let (mut slope, mut value) = ray.at(t);
    for _ in 0..40 {
        if slope > 0.0 {
            if slope <= accept * slope_at_zero {
                break;
            }
            (left, slope_left) = (t, slope);
            if right.is_infinite() && t > 1e6 {
                break;
            }
        } else {
            let flat = slope >= -accept * slope_at_zero && value >= value_at_zero - rounding;
            if flat || slope_at_zero * t < 1e-22 {
                break;
            }
            (right, slope_right) = (t, slope);
        }
        t = if right.is_finite() {
            let width = right - left;
            let crossing = left + width * slope_left / (slope_left - slope_right);
            crossing.max(left + 0.05 * width).min(right - 0.05 * width)
        } else {
            4.0 * t
        };
        (slope, value) = ray.at(t);
        if right.is_finite() && right - left < 1e-15 * right {
            break;
        }
    }
    t
}

/// c was updated step by step; the answer is computed again from λ, and accepted on that.
fn verify<const M: usize>(p: &Problem<M>, ws: &mut Workspace<M>, options: &Options, mut run: Run) -> Run {
    if !run.converged {
        return run;
    }
    for j in 0..p.columns.len() {
        ws.x[j] = p.inner_minimiser(j, dot(&p.columns[j], &ws.lambda));
    }
    run.gradient = norm_max(&p.gradient(&ws.x, &ws.lambda));
    run.converged = run.gradient <= 10.0 * Accept::Scaled(options.tolerance).limit(norm_max(&ws.lambda));
    run
}
