//! What is uncertain in the muscle tables, and how much.

use super::{AnatomyTables, Head};
use units::V3;

/// One draw of the uncertain numbers. Vectors hold one entry per head; an empty vector (or a missing entry) leaves the
/// table's value. [`Variation::none`] is the mid.
#[derive(Clone, Debug, PartialEq)]
pub struct Variation {
    /// Which trained strength: 0 = A (isometric torques), 1 = B (plausible training loads), between = mixture.
    pub trained_blend: f64,
    /// Factor on a head's force.
    pub strength_factor: Vec<f64>,
    /// Added to the lever-arm vector of the head's ball joint (hip or shoulder) in the zero posture, m. In other
    /// postures the arm and the length follow from the length −offset·φ, φ the rotation vector of the joint (femur in
    /// the pelvis, humerus against the scapula), so that the lever arm stays the derivative of the length.
    pub arm_offset_m: Vec<V3>,
    /// Factor on the lever arms of the head's hinge and spine tables, and on their part of the length.
    pub hinge_arm_factor: Vec<f64>,
    /// Added to the girdle arms (elevation, protraction, upward rotation), m; lengths do not follow.
    pub girdle_arm_offset_m: Vec<V3>,
    /// Added to the length anchor, fibre lengths.
    pub anchor_offset: Vec<f64>,
}

impl Variation {
    /// The tables as they stand, trained strength B.
    pub fn none() -> Variation {
        Variation {
            trained_blend: 1.0,
            strength_factor: Vec::new(),
            arm_offset_m: Vec::new(),
            hinge_arm_factor: Vec::new(),
            girdle_arm_offset_m: Vec::new(),
            anchor_offset: Vec::new(),
        }
    }
}

/// How far the numbers of one head may lie from the table. Zero where the head has no such number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Standard deviation of the logarithm of the strength factor.
    pub strength_sd: f64,
    /// Half-width of the box in which the arm offset of the ball joint lies evenly, m per component.
    pub arm_half_width_m: f64,
    /// Standard deviation of the hinge arm factor.
    pub hinge_arm_sd: f64,
    /// Half-width of the box of the girdle arm offset, m per component.
    pub girdle_arm_half_width_m: f64,
    /// Standard deviation of the anchor offset, fibre lengths.
    pub anchor_sd: f64,
}

impl AnatomyTables {
    /// Spread of every head, in the order of the heads. The blend of the trained strengths is even from 0 to 1.
    pub fn spreads(&self) -> Vec<Spread> {
        self.heads.iter().map(|h| self.spread(h)).collect()
    }

    fn spread(&self, head: &Head) -> Spread {
        let path = head.path_joint();
        let girdle_only = path == Some(crate::skeleton::Joint::Girdle);
        let on = |yes: bool| if yes { head.arm_uncertainty_m } else { 0.0 };
        // Relative spread of the table with the largest arms: one factor serves all tables of a head.
        let largest = head.hinges.iter().map(|t| (t.sd_m, rms(&t.knots))).max_by(|a, b| a.1.total_cmp(&b.1));
        Spread {
            strength_sd: self.strength_sd,
            arm_half_width_m: on(path.is_some() && !girdle_only),
            hinge_arm_sd: largest.map_or(0.0, |(sd, arm)| (sd / arm).min(self.hinge_arm_sd_limit)),
            girdle_arm_half_width_m: on(head.crosses(crate::skeleton::Joint::Girdle)),
            anchor_sd: self.anchor_sd,
        }
    }
}

fn rms(knots: &[(f64, f64)]) -> f64 {
    (knots.iter().map(|k| k.1 * k.1).sum::<f64>() / knots.len() as f64).sqrt()
}
