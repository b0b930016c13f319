//! Monotone cubic interpolation of a table, with derivative and exact integral.
//!
//! 1. Fritsch & Carlson 1980, *SIAM J. Numer. Anal.* 17, 238–246: when a piecewise cubic keeps the data's monotony.
//! 2. Fritsch & Butland 1984, *SIAM J. Sci. Stat. Comput.* 5, 300–304: the weighted harmonic mean for inner slopes.
//! 3. Moler 2004, *Numerical Computing with MATLAB*, ch. 3: the three-point end slopes.
//!
//! The same choices as SciPy's `PchipInterpolator`, against which the tests compare.

use thiserror::Error;

/// Why a table cannot be interpolated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CubicError {
    #[error("the table has {x} abscissae and {y} values; it needs equally many, at least one")]
    Lengths { x: usize, y: usize },
    #[error("entry {index} of the table is not a finite number")]
    NotFinite { index: usize },
    #[error("abscissa {index} ({value}) does not lie above the one before it ({before})")]
    NotIncreasing { index: usize, before: f64, value: f64 },
}

/// One piece: value = c0 + s (c1 + s (c2 + s c3)) with s measured from the piece's left end.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    c: [f64; 4],
    /// Integral from the table's left end to the piece's left end.
    before: f64,
}

/// A monotone cubic through a table. Outside the table the value is held constant, the slope is zero and the integral
/// goes on linearly.
#[derive(Debug, Clone, PartialEq)]
pub struct Cubic {
    x: Vec<f64>,
    pieces: Vec<Piece>,
    first: f64,
    last: f64,
    /// Integral over the whole table.
    whole: f64,
    /// Integral from the table's left end to zero.
    origin: f64,
}

impl Cubic {
    /// Interpolates `y` over the strictly increasing `x`. One point gives a constant, two a straight line.
    ///
    /// ```
    /// let c = numerics::cubic::Cubic::new(&[0.0, 1.0, 2.0], &[0.0, 1.0, 1.0]).unwrap();
    /// assert_eq!(c.value(1.0), 1.0);
    /// assert_eq!(c.value(9.0), 1.0); // constant outside
    /// assert_eq!(c.slope(1.5), 0.0); // no overshoot on the plateau
    /// ```
    pub fn new(x: &[f64], y: &[f64]) -> Result<Self, CubicError> {
        let n = x.len();
        if n == 0 || n != y.len() {
            return Err(CubicError::Lengths { x: n, y: y.len() });
        }
        for index in 0..n {
            if !x[index].is_finite() || !y[index].is_finite() {
                return Err(CubicError::NotFinite { index });
            }
            if index > 0 && x[index] <= x[index - 1] {
                return Err(CubicError::NotIncreasing { index, before: x[index - 1], value: x[index] });
            }
        }
        let slopes = node_slopes(x, y);
        let mut pieces = Vec::with_capacity(n - 1);
        let mut whole = 0.0;
        for k in 0..n - 1 {
            let h = x[k + 1] - x[k];
            let secant = (y[k + 1] - y[k]) / h;
            let excess = (slopes[k] + slopes[k + 1] - 2.0 * secant) / h;
            let piece = Piece { c: [y[k], slopes[k], (secant - slopes[k]) / h - excess, excess / h], before: whole };
            whole = piece.integral(h);
            pieces.push(piece);
        }
        let mut cubic = Cubic { x: x.to_vec(), pieces, first: y[0], last: y[n - 1], whole, origin: 0.0 };
        cubic.origin = cubic.since_left_end(0.0);
        Ok(cubic)
    }

    /// The interval covered by the table.
    pub fn range(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }

    /// Value at `x`; constant outside the table.
    pub fn value(&self, x: f64) -> f64 {
        match self.locate(x) {
            Place::Left => self.first,
            Place::Right => self.last,
            Place::Inside(k, s) => {
                let c = &self.pieces[k].c;
                c[0] + s * (c[1] + s * (c[2] + s * c[3]))
            }
        }
    }

    /// Derivative of [`Self::value`]; zero outside the table, the inner one at its two ends.
    pub fn slope(&self, x: f64) -> f64 {
        match self.locate(x) {
            Place::Left | Place::Right => 0.0,
            Place::Inside(k, s) => {
                let c = &self.pieces[k].c;
                c[1] + s * (2.0 * c[2] + 3.0 * s * c[3])
            }
        }
    }

    /// ∫ value from 0 to `x`, exact; linear outside the table.
    pub fn integral(&self, x: f64) -> f64 {
        self.since_left_end(x) - self.origin
    }

    /// [`Self::value`] and [`Self::integral`] with one search.
    #[inline]
    pub fn value_and_integral(&self, x: f64) -> (f64, f64) {
        match self.locate(x) {
            Place::Left => (self.first, (x - self.x[0]) * self.first - self.origin),
            Place::Right => (self.last, self.whole + (x - self.range().1) * self.last - self.origin),
            Place::Inside(k, s) => {
                let c = &self.pieces[k].c;
                (c[0] + s * (c[1] + s * (c[2] + s * c[3])), self.pieces[k].integral(s) - self.origin)
            }
        }
    }

    fn since_left_end(&self, x: f64) -> f64 {
        let (left, right) = self.range();
        match self.locate(x) {
            Place::Left => (x - left) * self.first,
            Place::Right => self.whole + (x - right) * self.last,
            Place::Inside(k, s) => self.pieces[k].integral(s),
        }
    }

    fn locate(&self, x: f64) -> Place {
        let (left, right) = self.range();
        if x < left || self.pieces.is_empty() {
            return if x < left { Place::Left } else { Place::Right };
        }
        if x > right {
            return Place::Right;
        }
        let k = self.x.partition_point(|node| *node <= x).clamp(1, self.pieces.len()) - 1;
        Place::Inside(k, x - self.x[k])
    }
}

enum Place {
    Left,
    Right,
    /// Index of the piece and distance from its left end.
    Inside(usize, f64),
}

impl Piece {
    fn integral(&self, s: f64) -> f64 {
        let c = &self.c;
        self.before + s * (c[0] + s * (c[1] / 2.0 + s * (c[2] / 3.0 + s * c[3] / 4.0)))
    }
}

fn node_slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let secant: Vec<f64> = (0..n.saturating_sub(1)).map(|k| (y[k + 1] - y[k]) / h[k]).collect();
    match n {
        1 => return vec![0.0],
        2 => return vec![secant[0]; 2],
        _ => {}
    }
    let mut slopes = vec![0.0; n];
    for k in 1..n - 1 {
        let (left, right) = (secant[k - 1], secant[k]);
        // A change of direction, or a plateau, is an extremum of the interpolant.
        if left * right > 0.0 {
            let (w_left, w_right) = (2.0 * h[k] + h[k - 1], h[k] + 2.0 * h[k - 1]);
            slopes[k] = (w_left + w_right) / (w_left / left + w_right / right);
        }
    }
    slopes[0] = end_slope(h[0], h[1], secant[0], secant[1]);
    slopes[n - 1] = end_slope(h[n - 2], h[n - 3], secant[n - 2], secant[n - 3]);
    slopes
}

/// One-sided three-point slope, held back so that the first piece keeps the data's direction.
fn end_slope(h_near: f64, h_far: f64, secant_near: f64, secant_far: f64) -> f64 {
    let slope = ((2.0 * h_near + h_far) * secant_near - h_near * secant_far) / (h_near + h_far);
    if slope * secant_near <= 0.0 {
        0.0
    } else if secant_near * secant_far <= 0.0 && slope.abs() > 3.0 * secant_near.abs() {
        3.0 * secant_near
    } else {
        slope
    }
}
