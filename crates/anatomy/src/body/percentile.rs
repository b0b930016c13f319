//! Where a value stands in a population.

use super::tables::Distribution;
use numerics::sample::normal_quantile;

/// A measure of a person and its place among people of the same sex.
#[derive(Clone, Debug, PartialEq)]
pub struct Proportion {
    /// `stature`, `thigh / stature`, `thigh / shank`, …
    pub what: String,
    pub value: f64,
    /// `m`, `kg`, `kg/m²`, or `1` for a ratio.
    pub unit: &'static str,
    /// 0 to 100.
    pub percentile: f64,
    pub source: &'static str,
}

/// Standard normal quantile of 0.95.
const Z95: f64 = 1.644_853_626_951_472_7;

impl Distribution {
    /// Percentile (0 to 100) of a value: two half normal curves that meet in the median and pass through the 5th and
    /// 95th percentile, so that skew is kept.
    pub fn percentile(&self, value: f64) -> f64 {
        100.0 * normal_cumulative(Z95 * (value - self.p50) / self.half_width(value > self.p50))
    }

    /// Value at a percentile; inverse of [`Distribution::percentile`]. `percentile` lies strictly between 0 and 100.
    pub fn quantile(&self, percentile: f64) -> f64 {
        let z = normal_quantile(percentile / 100.0);
        self.p50 + z / Z95 * self.half_width(z > 0.0)
    }

    fn half_width(&self, above: bool) -> f64 {
        if above { self.p95 - self.p50 } else { self.p50 - self.p5 }
    }
}

/// Standard normal distribution function, absolute error below 1e-7 (Abramowitz & Stegun 1964, 26.2.17).
pub fn normal_cumulative(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let polynomial =
        t * (0.319_381_530 + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let upper = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt() * polynomial;
    if z > 0.0 { 1.0 - upper } else { upper }
}
