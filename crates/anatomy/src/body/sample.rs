//! Bodies of people who would give the same measures: the body part of every range.

use super::build::{Known, known, mid_lengths};
use super::segments::{Lengths, Person, assemble};
use super::spec::{BodyError, BodyProblem, BodySpec};
use super::tables::BodyTables;
use super::{Body, Part};
use numerics::dense::cholesky;

/// Standard normal inputs of one draw.
pub const BODY_DIMENSIONS: usize = Part::COUNT + 1;

/// What each input moves, in order. The first nine act together: input k moves part k and, by their correlation, the
/// parts after it. The last moves all of a woman's joint-centre lengths from one published way
/// (−1) to the other (+1); for men it does nothing.
pub const DIMENSION_NAMES: [&str; BODY_DIMENSIONS] =
    ["thigh", "shank", "trunk", "upper-arm", "forearm", "hand", "foot", "biacromial", "bicristal", "length method"];

/// Factor on each spread, in [`DIMENSION_NAMES`] order; 1 as published, 0 none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodySpread(pub [f64; BODY_DIMENSIONS]);

impl BodySpread {
    /// All spreads as published.
    pub fn published() -> BodySpread {
        BodySpread([1.0; BODY_DIMENSIONS])
    }
    /// No spread: every draw is the mid body.
    pub fn none() -> BodySpread {
        BodySpread([0.0; BODY_DIMENSIONS])
    }
    /// All spreads times a factor.
    pub fn scaled(factor: f64) -> BodySpread {
        BodySpread([factor; BODY_DIMENSIONS])
    }
}

/// Draws bodies around a person's mid body.
///
/// A part without a tape varies by the residual SD of its regression on stature, together with the others and less
/// where the tapes given tell about it (ANSUR II); a taped part by the error of the tape, alone. Stature and mass are
/// the person's; segments keep their share of the mass, and their centres and inertia follow the drawn lengths.
#[derive(Clone, Debug)]
pub struct BodySampler<'t> {
    tables: &'t BodyTables,
    person: Person,
    mid: Lengths,
    half: Lengths,
    known: Known,
    /// Lower Cholesky factor of what is uncertain.
    factor: [[f64; Part::COUNT]; Part::COUNT],
    spread: BodySpread,
}

impl<'t> BodySampler<'t> {
    /// Errors: as [`Body::new`].
    pub fn new(spec: &BodySpec, tables: &'t BodyTables, spread: BodySpread) -> Result<BodySampler<'t>, BodyError> {
        spec.check(tables)?;
        let known = known(spec, tables);
        let (mid, half) = mid_lengths(tables, spec.sex, spec.stature_m);
        let mut factor = known.covariance;
        let positive = cholesky(&mut factor);
        debug_assert!(positive, "what tapes leave of a positive definite matrix is positive definite");
        Ok(BodySampler { tables, person: spec.person(tables), mid, half, known, factor, spread })
    }

    /// The body of one draw of standard normal numbers, in [`DIMENSION_NAMES`] order; further numbers are ignored.
    /// Errors: too few numbers, or one that is not finite.
    pub fn draw(&self, z: &[f64]) -> Result<Body, BodyProblem> {
        let usable = z.iter().take(BODY_DIMENSIONS).take_while(|v| v.is_finite()).count();
        if usable < BODY_DIMENSIONS {
            return Err(BodyProblem::Draw { got: usable, expected: BODY_DIMENSIONS });
        }
        let BodySpread(spread) = &self.spread;
        let method = spread[Part::COUNT] * z[Part::COUNT];
        let mut lengths = [0.0; Part::COUNT];
        for i in 0..Part::COUNT {
            let score: f64 = (0..=i).map(|j| self.factor[i][j] * z[j]).sum();
            let landmark_m = self.known.landmark_m[i] + spread[i] * self.known.residual_sd_m[i] * score;
            let ratio = self.known.ratio(i, landmark_m);
            // Half to one and a half of the usual length: no draw, however far out, is without a leg.
            lengths[i] = (self.mid[i] + method * self.half[i]).max(0.5 * self.mid[i]) * ratio.clamp(0.5, 1.5);
        }
        Ok(assemble(self.tables, &self.person, &lengths))
    }
}
