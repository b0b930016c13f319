//! Sample quantile by linear interpolation between order statistics.

/// The `q`-quantile of `values`, as numpy's default method ("linear", definition 7 of Hyndman & Fan 1996,
/// *The American Statistician* 50, 361–365): h = (n − 1) q, interpolated between the order statistics around h.
///
/// `scratch` is overwritten; once it has held as many values it allocates no more. `None` where `values` is empty,
/// holds a NaN, or `q` lies outside 0..=1.
///
/// ```
/// let q = numerics::quantile::quantile(&[3.0, 1.0, 2.0, 10.0], &mut Vec::new(), 0.5);
/// assert_eq!(q, Some(2.5));
/// ```
pub fn quantile(values: &[f64], scratch: &mut Vec<f64>, q: f64) -> Option<f64> {
    if values.is_empty() || !(0.0..=1.0).contains(&q) || values.iter().any(|v| v.is_nan()) {
        return None;
    }
    scratch.clear();
    scratch.extend_from_slice(values);
    scratch.sort_unstable_by(f64::total_cmp);
    let position = (values.len() - 1) as f64 * q;
    let below = position.floor() as usize;
    let (low, high) = (scratch[below], scratch[(below + 1).min(values.len() - 1)]);
    let t = position - below as f64;
    if low == high {
        return Some(low); // also keeps two equal infinities from giving NaN
    }
    // From whichever end is nearer, so that t = 1 gives `high` exactly.
    Some(if t < 0.5 { low + (high - low) * t } else { high - (high - low) * (1.0 - t) })
}
