//! Bounded least squares by damped Gauss–Newton steps (Levenberg 1944, Marquardt 1963) with forward differences.
//!
//! Unknowns live in the box [−1, 1]ⁿ. A step is taken in the unknowns that are not held at a bound by the gradient,
//! then cut to the box; it is accepted when the sum of squares falls. Deterministic.

use nalgebra::{DMatrix, DVector};

const STEP: f64 = 1e-5;
const MOST_STEPS: usize = 80;
/// Relative fall of the sum of squares below which the search ends.
const SMALL_FALL: f64 = 1e-7;

/// Where a search ended.
#[derive(Clone, Debug)]
pub struct Found {
    /// Unknowns in [−1, 1].
    pub at: Vec<f64>,
    /// Sum of squared residuals there.
    pub cost: f64,
}

/// A residual whose square grows like a logarithm beyond `cap`: c²·ln(1 + e²/c²) (Cauchy's loss).
pub fn robust(e: f64, cap: f64) -> f64 {
    e.signum() * (cap * cap * (e * e / (cap * cap)).ln_1p()).sqrt()
}

/// Minimises Σ residual² over the box, from `start`. `residuals` fills its second argument, always equally long.
pub fn minimise(start: &[f64], residuals: &mut dyn FnMut(&[f64], &mut Vec<f64>)) -> Found {
    let n = start.len();
    let mut x: Vec<f64> = start.iter().map(|v| v.clamp(-1.0, 1.0)).collect();
    let (mut r, mut trial) = (Vec::new(), Vec::new());
    residuals(&x, &mut r);
    let squares = |r: &[f64]| r.iter().map(|v| v * v).sum::<f64>();
    let mut cost = squares(&r);
    let mut damping = 1e-2;
    for _ in 0..MOST_STEPS {
        let mut jacobian = DMatrix::zeros(r.len(), n);
        for j in 0..n {
            let old = x[j];
            // Away from the nearer bound, so that the difference stays inside the box.
            let step = if old > 0.0 { -STEP } else { STEP };
            x[j] = old + step;
            residuals(&x, &mut trial);
            x[j] = old;
            for (i, v) in trial.iter().enumerate() {
                jacobian[(i, j)] = (v - r[i]) / step;
            }
        }
        let gradient = jacobian.tr_mul(&DVector::from_column_slice(&r));
        let normal = jacobian.tr_mul(&jacobian);
        let held = |j: usize, x: &[f64]| (x[j] >= 1.0 && gradient[j] < 0.0) || (x[j] <= -1.0 && gradient[j] > 0.0);
        let free: Vec<usize> = (0..n).filter(|&j| !held(j, &x)).collect();
        let mut fell = false;
        while damping < 1e8 {
            let mut a = DMatrix::zeros(free.len(), free.len());
            for (i, &fi) in free.iter().enumerate() {
                for (j, &fj) in free.iter().enumerate() {
                    a[(i, j)] = normal[(fi, fj)];
                }
                a[(i, i)] += damping * (normal[(fi, fi)] + 1e-9);
            }
            let b = DVector::from_iterator(free.len(), free.iter().map(|&j| -gradient[j]));
            if let Some(step) = a.cholesky().map(|c| c.solve(&b)) {
                let mut next = x.clone();
                for (&j, s) in free.iter().zip(step.iter()) {
                    next[j] = (next[j] + s).clamp(-1.0, 1.0);
                }
                residuals(&next, &mut trial);
                let new_cost = squares(&trial);
                if new_cost < cost {
                    fell = cost - new_cost > SMALL_FALL * cost;
                    (x, cost) = (next, new_cost);
                    std::mem::swap(&mut r, &mut trial);
                    damping = (damping * 0.3).max(1e-9);
                    break;
                }
            }
            damping *= 4.0;
        }
        if !fell {
            break;
        }
    }
    Found { at: x, cost }
}

/// The best of several searches: from the middle of the box, and from `more` seeded places in its inner half.
pub fn minimise_from_many(n: usize, more: u32, residuals: &mut dyn FnMut(&[f64], &mut Vec<f64>)) -> Found {
    let mut best = minimise(&vec![0.0; n], residuals);
    let draws = numerics::sample::Draws::new(20);
    for k in 0..more {
        let mut start = vec![0.0; n];
        draws.fill_uniform(k, &mut start);
        start.iter_mut().for_each(|v| *v -= 0.5);
        let found = minimise(&start, residuals);
        // Strictly better by more than rounding, so that ties do not depend on the machine.
        if found.cost < best.cost * (1.0 - 1e-6) {
            best = found;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(residuals: &mut dyn FnMut(&[f64], &mut Vec<f64>), n: usize, want: &[f64]) {
        let got = minimise(&vec![0.0; n], residuals);
        for (g, w) in got.at.iter().zip(want) {
            assert!((g - w).abs() < 1e-4, "{:?}, expected {want:?}", got.at);
        }
    }

    /// Minima by hand: a line of least squares, a bound that holds, and the curved valley of Rosenbrock 1960 (scaled
    /// so that its minimum lies in the box).
    #[test]
    fn known_minima_are_found() {
        check(&mut |x, r| *r = vec![x[0] - 0.3, x[0] - 0.5], 1, &[0.4]);
        check(&mut |x, r| *r = vec![x[0] - 3.0, x[1] + x[0] - 0.5], 2, &[1.0, -0.5]);
        check(&mut |x, r| *r = vec![10.0 * (2.0 * x[1] - 4.0 * x[0] * x[0]), 1.0 - 2.0 * x[0]], 2, &[0.5, 0.5]);
    }
}
