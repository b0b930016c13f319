//! Small dense linear algebra on arrays whose size is known at compile time.

/// Scalar product.
#[inline]
pub fn dot<const M: usize>(a: &[f64; M], b: &[f64; M]) -> f64 {
    let mut sum = 0.0;
    for i in 0..M {
        sum += a[i] * b[i];
    }
    sum
}

/// Largest absolute value; NaN when any entry is NaN.
#[inline]
pub fn norm_max<const M: usize>(a: &[f64; M]) -> f64 {
    a.iter().fold(0.0, |largest: f64, v| if v.is_nan() { f64::NAN } else { largest.max(v.abs()) })
}

/// `target -= factor * column`.
#[inline]
pub fn subtract_scaled<const M: usize>(target: &mut [f64; M], factor: f64, column: &[f64; M]) {
    for i in 0..M {
        target[i] -= factor * column[i];
    }
}

/// `h += weight * column columnᵀ`, the whole square, so that the inner loop has a fixed length.
#[inline]
pub fn add_outer<const M: usize>(h: &mut [[f64; M]; M], weight: f64, column: &[f64; M]) {
    for i in 0..M {
        let scaled = weight * column[i];
        for k in 0..M {
            h[i][k] += scaled * column[k];
        }
    }
}

/// Replaces the lower triangle of a symmetric matrix by its Cholesky factor; false where it is not positive definite.
#[inline]
pub fn cholesky<const M: usize>(h: &mut [[f64; M]; M]) -> bool {
    for i in 0..M {
        for k in 0..=i {
            let mut sum = h[i][k];
            for q in 0..k {
                sum -= h[i][q] * h[k][q];
            }
            if i == k {
                if sum.is_nan() || sum <= 0.0 {
                    return false;
                }
                h[i][i] = sum.sqrt();
            } else {
                h[i][k] = sum / h[k][k];
            }
        }
    }
    true
}

/// Solves L Lᵀ x = r in place, with L from [`cholesky`].
#[inline]
pub fn cholesky_solve<const M: usize>(l: &[[f64; M]; M], r: &mut [f64; M]) {
    for i in 0..M {
        let mut sum = r[i];
        for k in 0..i {
            sum -= l[i][k] * r[k];
        }
        r[i] = sum / l[i][i];
    }
    for i in (0..M).rev() {
        let mut sum = r[i];
        for k in i + 1..M {
            sum -= l[k][i] * r[k];
        }
        r[i] = sum / l[i][i];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cholesky_solves_a_system_whose_answer_is_known_by_hand() {
        // [4 2; 2 3] x = [8; 7] has x = [1.25; 1.5].
        let mut h = [[4.0, 2.0], [2.0, 3.0]];
        let mut x = [8.0, 7.0];
        assert!(cholesky(&mut h));
        cholesky_solve(&h, &mut x);
        assert!((x[0] - 1.25).abs() < 1e-15 && (x[1] - 1.5).abs() < 1e-15);
    }

    #[test]
    fn cholesky_refuses_indefinite_and_nan_matrices() {
        assert!(!cholesky(&mut [[1.0, 2.0], [2.0, 1.0]]));
        assert!(!cholesky(&mut [[f64::NAN, 0.0], [0.0, 1.0]]));
    }
}
