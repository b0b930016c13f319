//! Fibre force over normalised length.

/// Constants of the force–length relation (`data/anatomy/constants.csv`).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FibreLaw {
    active_width: f64,
    active_floor: f64,
    passive_limit: f64,
    /// Shape over strain.
    passive_rate: f64,
    /// 1/(exp(shape) − 1).
    passive_scale: f64,
}

impl FibreLaw {
    /// Width of the active curve in fibre lengths, least active force; shape of the passive curve, stretch at which it
    /// reaches the maximal active force, and normalised length beyond which it is held constant.
    pub fn new(
        active_width: f64,
        active_floor: f64,
        passive_shape: f64,
        passive_strain: f64,
        passive_limit: f64,
    ) -> FibreLaw {
        let (passive_rate, passive_scale) = (passive_shape / passive_strain, 1.0 / passive_shape.exp_m1());
        FibreLaw { active_width, active_floor, passive_limit, passive_rate, passive_scale }
    }

    /// Active force factor f_L(l) = exp(−((l − 1)/width)²), at least the floor; no unit.
    #[inline]
    pub fn active(&self, l: f64) -> f64 {
        let x = (l - 1.0) / self.active_width;
        (-x * x).exp().max(self.active_floor)
    }

    /// Passive force factor f_P(l) = (exp(k·(l − 1)/strain) − 1)/(exp(k) − 1) for l > 1, else 0; no unit.
    #[inline]
    pub fn passive(&self, l: f64) -> f64 {
        if l <= 1.0 {
            return 0.0;
        }
        let stretch = l.min(self.passive_limit) - 1.0;
        ((self.passive_rate * stretch).exp() - 1.0) * self.passive_scale
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values by hand: f_L at half a width below and above optimum = exp(−0.25); f_P at full strain = 1.
    #[test]
    fn force_length_relation_takes_its_known_values() {
        let law = FibreLaw::new(0.45, 0.03, 4.0, 0.6, 1.45);
        let check = |got: f64, want: f64| assert!((got - want).abs() < 1e-9, "{got} {want}");
        check(law.active(1.0), 1.0);
        check(law.active(0.775), (-0.25f64).exp());
        check(law.active(1.225), (-0.25f64).exp());
        check(law.active(3.0), 0.03);
        check(law.passive(0.9), 0.0);
        check(FibreLaw::new(0.45, 0.03, 4.0, 0.6, 2.0).passive(1.6), 1.0);
        check(law.passive(1.45), law.passive(2.0));
        // (e² − 1)/(e⁴ − 1) = 1/(e² + 1) at half the strain.
        check(law.passive(1.3), 1.0 / (2f64.exp() + 1.0));
    }
}
