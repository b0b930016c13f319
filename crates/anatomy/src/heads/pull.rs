//! Net muscle force across a joint, for joint contact forces.
//!
//! Contact force on the distal segment = −(net muscle pull + all outside forces and weights on the distal side,
//! less mass × acceleration). At hip and shoulder the pull comes from the paths. Heads that have only tabulated arms
//! pull along a segment, an approximation good for the force along the segment and rough for shear:
//! * knee extensors along the patellar tendon, its force and angle from a table; heads that also cross the ankle along
//!   the shank; the other flexors along the femur;
//! * ankle along the shank; elbow along the humerus; lumbar along the trunk, slanting muscles with a cosine.

use super::curve::ArmCurve;
use super::model::{MuscleFrame, MuscleModel};
use crate::skeleton::{Joint, Row, SidePosture};
use units::V3;

/// Tables behind the lines of pull (`data/anatomy/lines_of_pull.csv`).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LinesOfPull {
    /// (knee flexion in rad, patellar tendon force / quadriceps force).
    pub tendon_ratio: Vec<(f64, f64)>,
    /// (knee flexion in rad, angle of the patellar tendon against the shank in rad, positive pulls it forward).
    pub tendon_angle_rad: Vec<(f64, f64)>,
    /// (head, part of its force that acts along the lumbar spine); 1 for lumbar heads that are not listed.
    pub lumbar_cosine: Vec<(usize, f64)>,
}

#[derive(Clone, Debug)]
pub(super) struct PullCurves {
    tendon_ratio: ArmCurve,
    tendon_angle: ArmCurve,
    lumbar_cosine: Vec<(usize, f64)>,
}

impl PullCurves {
    pub(super) fn new(lines: &LinesOfPull) -> PullCurves {
        PullCurves {
            tendon_ratio: ArmCurve::new(&lines.tendon_ratio, 1.0),
            tendon_angle: ArmCurve::new(&lines.tendon_angle_rad, 1.0),
            lumbar_cosine: lines.lumbar_cosine.clone(),
        }
    }
}

impl MuscleModel {
    /// Sum of the muscle forces of one side on the segments distal to a joint, N, for forces `forces_n` per head in a
    /// posture evaluated in `frame`. Axes and receiver:
    /// hip: pelvis axes, on the femur; knee: tibia axes, on the shank; ankle: tibia axes, on the foot; shoulder:
    /// thorax axes, on the humerus; elbow: humerus axes, on the forearm; lumbar: thorax axes, on the trunk above.
    /// `None` for the other joints. Heads that `frame` did not evaluate count as slack.
    pub fn net_pull_n(&self, joint: Joint, posture: &SidePosture, frame: &MuscleFrame, forces_n: &[f64]) -> Option<V3> {
        let heads = frame.evaluated.iter().filter_map(|i| Some((i, *forces_n.get(i)?, frame.heads.get(i)?)));
        let up = V3::y();
        let knee = posture.limbs.knee_flexion_rad;
        Some(match joint {
            Joint::Hip => heads.map(|(_, f, s)| s.pull_on_femur * f).sum(),
            Joint::Shoulder => heads.map(|(_, f, s)| s.pull_on_humerus * f).sum(),
            Joint::Knee => {
                let along = |angle: f64| V3::new(angle.sin(), angle.cos(), 0.0);
                let tendon = along(self.pull_curves.tendon_angle.at(knee).0) * self.pull_curves.tendon_ratio.at(knee).0;
                heads
                    .filter(|h| self.heads[h.0].joints.has(Joint::Knee))
                    .map(|(i, f, s)| {
                        let direction = if s.arm_m(Row::KneeFlexion) < 0.0 {
                            tendon
                        } else if self.heads[i].joints.has(Joint::Ankle) {
                            up
                        } else {
                            along(-knee)
                        };
                        direction * f
                    })
                    .sum()
            }
            Joint::Ankle | Joint::Elbow => {
                heads.filter(|h| self.heads[h.0].joints.has(joint)).map(|(_, f, _)| up * f).sum()
            }
            Joint::Lumbar => heads
                .map(|(i, f, _)| {
                    let listed = self.pull_curves.lumbar_cosine.iter().find(|c| c.0 == i).map(|c| c.1);
                    let whole = if self.heads[i].joints.has(Joint::Lumbar) { 1.0 } else { 0.0 };
                    up * (-f * listed.unwrap_or(whole))
                })
                .sum(),
            Joint::Neck | Joint::Girdle | Joint::Forearm | Joint::Wrist => return None,
        })
    }
}
