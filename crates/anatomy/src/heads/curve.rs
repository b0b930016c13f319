//! Lever-arm curve of a hinge: monotone cubic through the table, constant beyond it, with its exact integral.

use numerics::cubic::Cubic;

/// Lever arm over joint angle.
#[derive(Clone, Debug)]
pub(super) struct ArmCurve(Cubic);

/// A constant piece of this length is added at both ends, so that the curve is flat where the table ends and joins
/// the constant beyond it smoothly.
const FLAT_END_RAD: f64 = 0.7;

impl ArmCurve {
    /// Curve through (angle in rad, arm) knots in increasing angle, at least one; arms times `scale`.
    pub(super) fn new(knots: &[(f64, f64)], scale: f64) -> ArmCurve {
        let (first, last) = (knots[0], knots[knots.len() - 1]);
        let before = (first.0 - FLAT_END_RAD, first.1);
        let after = (last.0 + FLAT_END_RAD, last.1);
        let all = std::iter::once(before).chain(knots.iter().copied()).chain(std::iter::once(after));
        let (x, y): (Vec<f64>, Vec<f64>) = all.map(|(angle, arm)| (angle, arm * scale)).unzip();
        ArmCurve(Cubic::new(&x, &y).expect("the tables were parsed: finite numbers, increasing angles"))
    }

    /// Lever arm, and its integral from angle 0.
    #[inline]
    pub(super) fn at(&self, angle_rad: f64) -> (f64, f64) {
        self.0.value_and_integral(angle_rad)
    }
}
