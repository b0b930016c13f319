//! Seeded quasi-random draws in any number of dimensions, and the normal quantile.
//!
//! Every dimension is a base-2 radical inverse (van der Corput 1935) under Owen's nested scrambling, read in an order
//! that is itself shuffled by nested scrambling, independently per dimension. So the first 2ᵏ draws, for every k, fall
//! one by one into the 2ᵏ equal cells of each dimension (a Latin hypercube, source 3), while the pairing between dimensions
//! is random up to that. Sums of one-dimensional effects are averaged far better than by independent draws; products
//! of two dimensions with up to 1.5 times their variance, since draws 2i and 2i + 1 lie in opposite halves of *every*
//! dimension (any design that is stratified at two draws does that). Joint low-discrepancy sequences (Sobol', Halton,
//! additive recurrences) promise less in hundreds of dimensions at a few dozen draws: their later dimensions march in
//! step.
//!
//! 1. Owen 1995, "Randomly permuted (t,m,s)-nets and (t,s)-sequences": nested uniform scrambling.
//! 2. Burley 2020, *J. Comput. Graph. Tech.* 9(4), 1–20: scrambling by hashing, and shuffled orders per dimension.
//! 3. McKay, Beckman & Conover 1979, *Technometrics* 21, 239–245: Latin hypercube sampling.
//! 4. Steele, Lea & Flood 2014 (SplitMix64): the mixing function.
//! 5. Wichura 1988, Algorithm AS 241, *Applied Statistics* 37, 477–484: the normal quantile.

/// Draws are stratified in blocks of 2²⁰; later blocks are scrambled anew.
const LEVELS: u32 = 20;

/// A seeded family of draws. The value of (draw, dimension) depends on the seed, the draw and the dimension only:
/// asking for more draws or more dimensions changes none of the earlier numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    seed: u64,
}

impl Draws {
    pub fn new(seed: u64) -> Self {
        Draws { seed }
    }

    /// Uniform value strictly between 0 and 1.
    pub fn uniform(&self, draw: u32, dimension: u32) -> f64 {
        let block = u64::from(draw >> LEVELS);
        let key = mix(mix(self.seed) ^ (u64::from(dimension) << 32) ^ block);
        let place = nested_scramble(draw & ((1 << LEVELS) - 1), mix(key ^ 1));
        let cell = nested_scramble(place.reverse_bits() >> (32 - LEVELS), mix(key ^ 2));
        // Where inside the cell: 32 random bits, so that the sum below is exact and stays under 2^LEVELS.
        let within = ((mix(mix(key ^ 3) ^ u64::from(cell)) >> 32) as f64 + 0.5) / 4_294_967_296.0;
        (f64::from(cell) + within) / f64::from(1u32 << LEVELS)
    }

    /// Standard normal value.
    pub fn normal(&self, draw: u32, dimension: u32) -> f64 {
        normal_quantile(self.uniform(draw, dimension))
    }

    /// Fills `values` with the uniform values of dimensions 0, 1, 2, …
    pub fn fill_uniform(&self, draw: u32, values: &mut [f64]) {
        for (dimension, value) in values.iter_mut().enumerate() {
            *value = self.uniform(draw, dimension as u32);
        }
    }
}

/// SplitMix64's finaliser after its additive step.
fn mix(z: u64) -> u64 {
    let z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A random permutation of 0..2^LEVELS under which every aligned block of 2ᵏ numbers maps to an aligned block: each
/// bit is flipped or not depending on the bits above it.
fn nested_scramble(bits: u32, key: u64) -> u32 {
    let mut scrambled = 0;
    for level in 0..LEVELS {
        let above = u64::from(bits >> (level + 1));
        // The level is marked by a leading one, so that prefixes of different length never share a hash.
        let flip = (mix(key ^ (above | 1 << (LEVELS - 1 - level))) >> 63) as u32;
        scrambled |= (((bits >> level) & 1) ^ flip) << level;
    }
    scrambled
}

/// Inverse of the standard normal distribution function, relative error about 1e-16 (source 5).
///
/// ±infinity at 0 and 1; NaN outside 0..=1.
///
/// ```
/// assert!((numerics::sample::normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
/// ```
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(0.180625 - q * q, &CENTRE_NUMERATOR, &CENTRE_DENOMINATOR);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    let r = (-tail.ln()).sqrt();
    let size = if r <= 5.0 {
        ratio(r - 1.6, &TAIL_NUMERATOR, &TAIL_DENOMINATOR)
    } else {
        ratio(r - 5.0, &FAR_NUMERATOR, &FAR_DENOMINATOR)
    };
    size.copysign(q)
}

fn ratio(r: f64, numerator: &[f64; 8], denominator: &[f64; 8]) -> f64 {
    let horner = |c: &[f64; 8]| c.iter().rev().fold(0.0, |sum, c| sum * r + c);
    horner(numerator) / horner(denominator)
}

// Coefficients of source 5 with the digits printed there, constant term first.
#[allow(clippy::excessive_precision)]
const CENTRE_NUMERATOR: [f64; 8] = [
    3.387132872796366608,
    133.14166789178437745,
    1971.5909503065514427,
    13731.693765509461125,
    45921.953931549871457,
    67265.770927008700853,
    33430.575583588128105,
    2509.0809287301226727,
];
#[allow(clippy::excessive_precision)]
const CENTRE_DENOMINATOR: [f64; 8] = [
    1.0,
    42.313330701600911252,
    687.1870074920579083,
    5394.1960214247511077,
    21213.794301586595867,
    39307.89580009271061,
    28729.085735721942674,
    5226.495278852545925,
];
#[allow(clippy::excessive_precision)]
const TAIL_NUMERATOR: [f64; 8] = [
    1.42343711074968357734,
    4.6303378461565452959,
    5.7694972214606914055,
    3.64784832476320460504,
    1.27045825245236838258,
    0.24178072517745061177,
    0.0227238449892691845833,
    7.7454501427834140764e-4,
];
#[allow(clippy::excessive_precision)]
const TAIL_DENOMINATOR: [f64; 8] = [
    1.0,
    2.05319162663775882187,
    1.6763848301838038494,
    0.68976733498510000455,
    0.14810397642748007459,
    0.0151986665636164571966,
    5.475938084995344946e-4,
    1.05075007164441684324e-9,
];
#[allow(clippy::excessive_precision)]
const FAR_NUMERATOR: [f64; 8] = [
    6.6579046435011037772,
    5.4637849111641143699,
    1.7848265399172913358,
    0.29656057182850489123,
    0.026532189526576123093,
    0.0012426609473880784386,
    2.71155556874348757815e-5,
    2.01033439929228813265e-7,
];
#[allow(clippy::excessive_precision)]
const FAR_DENOMINATOR: [f64; 8] = [
    1.0,
    0.59983220655588793769,
    0.13692988092273580531,
    0.0148753612908506148525,
    7.868691311456132591e-4,
    1.8463183175100546818e-5,
    1.4215117583164458887e-7,
    2.04426310338993978564e-15,
];
