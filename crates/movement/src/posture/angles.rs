//! Angles a posture is asked for by name, read from it and written to it.

use super::*;

/// A segment direction whose lean can be held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeanOf {
    Trunk,
    Pelvis,
    Shank(Side),
    Thigh(Side),
    UpperArm(Side),
    Forearm(Side),
}

/// A single anatomical angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Angle {
    HipFlexion(Side),
    HipAbduction(Side),
    HipInternalRotation(Side),
    Knee(Side),
    TibiaRotation(Side),
    AnklePlantarflexion(Side),
    AnkleInversion(Side),
    LumbarFlexion,
    LumbarSideBend,
    LumbarRotation,
    NeckFlexion,
    NeckSideBend,
    NeckRotation,
    ShoulderPlane(Side),
    ShoulderElevation(Side),
    ShoulderInternalRotation(Side),
    Elbow(Side),
    Forearm(Side),
    Wrist(Side),
    GirdleElevation(Side),
    GirdleProtraction(Side),
    GirdleUpwardRotation(Side),
}

impl Angle {
    /// An axis by its dotted name, e.g. `knee.flexion`.
    pub fn from_axis(axis: &str, side: Side) -> Option<Angle> {
        Some(match axis {
            "hip.flexion" => Angle::HipFlexion(side),
            "hip.abduction" => Angle::HipAbduction(side),
            "hip.internal-rotation" => Angle::HipInternalRotation(side),
            "knee.flexion" => Angle::Knee(side),
            "knee.rotation" => Angle::TibiaRotation(side),
            "ankle.plantarflexion" => Angle::AnklePlantarflexion(side),
            "ankle.inversion" => Angle::AnkleInversion(side),
            "lumbar.flexion" => Angle::LumbarFlexion,
            "lumbar.side-bend" => Angle::LumbarSideBend,
            "lumbar.rotation" => Angle::LumbarRotation,
            "neck.flexion" => Angle::NeckFlexion,
            "neck.side-bend" => Angle::NeckSideBend,
            "neck.rotation" => Angle::NeckRotation,
            "shoulder.plane" => Angle::ShoulderPlane(side),
            "shoulder.elevation" => Angle::ShoulderElevation(side),
            "shoulder.internal-rotation" => Angle::ShoulderInternalRotation(side),
            "elbow.flexion" => Angle::Elbow(side),
            "forearm.pronation" => Angle::Forearm(side),
            "wrist.flexion" => Angle::Wrist(side),
            "girdle.elevation" => Angle::GirdleElevation(side),
            "girdle.protraction" => Angle::GirdleProtraction(side),
            "girdle.upward-rotation" => Angle::GirdleUpwardRotation(side),
            _ => return None,
        })
    }

    pub fn joint(self) -> Joint {
        match self {
            Angle::HipFlexion(_) | Angle::HipAbduction(_) | Angle::HipInternalRotation(_) => Joint::Hip,
            Angle::Knee(_) | Angle::TibiaRotation(_) => Joint::Knee,
            Angle::AnklePlantarflexion(_) | Angle::AnkleInversion(_) => Joint::Ankle,
            Angle::LumbarFlexion | Angle::LumbarSideBend | Angle::LumbarRotation => Joint::Lumbar,
            Angle::NeckFlexion | Angle::NeckSideBend | Angle::NeckRotation => Joint::Neck,
            Angle::ShoulderPlane(_) | Angle::ShoulderElevation(_) | Angle::ShoulderInternalRotation(_) => {
                Joint::Shoulder
            }
            Angle::Elbow(_) => Joint::Elbow,
            Angle::Forearm(_) => Joint::Forearm,
            Angle::Wrist(_) => Joint::Wrist,
            Angle::GirdleElevation(_) | Angle::GirdleProtraction(_) | Angle::GirdleUpwardRotation(_) => Joint::Girdle,
        }
    }

    /// Value in a posture, radians.
    pub fn read(self, p: &Posture) -> f64 {
        match self {
            Angle::HipFlexion(s) => hip_angles(&p.limbs(s).hip).0,
            Angle::HipAbduction(s) => hip_angles(&p.limbs(s).hip).1,
            Angle::HipInternalRotation(s) => hip_angles(&p.limbs(s).hip).2,
            Angle::Knee(s) => p.limbs(s).knee_flexion_rad,
            Angle::TibiaRotation(s) => p.limbs(s).tibia_rotation_rad,
            Angle::AnklePlantarflexion(s) => p.limbs(s).ankle_plantarflexion_rad,
            Angle::AnkleInversion(s) => p.limbs(s).ankle_inversion_rad,
            Angle::LumbarFlexion => spine_angles(&p.lumbar).0,
            Angle::LumbarSideBend => spine_angles(&p.lumbar).1,
            Angle::LumbarRotation => spine_angles(&p.lumbar).2,
            Angle::NeckFlexion => spine_angles(&p.neck).0,
            Angle::NeckSideBend => spine_angles(&p.neck).1,
            Angle::NeckRotation => spine_angles(&p.neck).2,
            Angle::ShoulderPlane(s) => shoulder_angles(&p.limbs(s).shoulder).0,
            Angle::ShoulderElevation(s) => shoulder_angles(&p.limbs(s).shoulder).1,
            Angle::ShoulderInternalRotation(s) => shoulder_angles(&p.limbs(s).shoulder).2,
            Angle::Elbow(s) => p.limbs(s).elbow_flexion_rad,
            Angle::Forearm(s) => p.limbs(s).forearm_pronation_rad,
            Angle::Wrist(s) => p.limbs(s).wrist_flexion_rad,
            Angle::GirdleElevation(s) => p.limbs(s).girdle.elevation_rad,
            Angle::GirdleProtraction(s) => p.limbs(s).girdle.protraction_rad,
            Angle::GirdleUpwardRotation(s) => p.limbs(s).girdle.upward_rotation_rad,
        }
    }

    /// Set it, the other angles of the joint kept.
    pub fn write(self, p: &mut Posture, v: f64) {
        match self {
            Angle::HipFlexion(s) | Angle::HipAbduction(s) | Angle::HipInternalRotation(s) => {
                let (mut f, mut a, mut i) = hip_angles(&p.limbs(s).hip);
                match self {
                    Angle::HipFlexion(_) => f = v,
                    Angle::HipAbduction(_) => a = v,
                    _ => i = v,
                }
                p.limbs_mut(s).hip = hip_matrix(f, a, i);
            }
            Angle::Knee(s) => p.limbs_mut(s).knee_flexion_rad = v,
            Angle::TibiaRotation(s) => p.limbs_mut(s).tibia_rotation_rad = v,
            Angle::AnklePlantarflexion(s) => p.limbs_mut(s).ankle_plantarflexion_rad = v,
            Angle::AnkleInversion(s) => p.limbs_mut(s).ankle_inversion_rad = v,
            Angle::LumbarFlexion | Angle::LumbarSideBend | Angle::LumbarRotation => {
                let (mut f, mut b, mut r) = spine_angles(&p.lumbar);
                match self {
                    Angle::LumbarFlexion => f = v,
                    Angle::LumbarSideBend => b = v,
                    _ => r = v,
                }
                p.lumbar = spine_matrix(f, b, r);
            }
            Angle::NeckFlexion | Angle::NeckSideBend | Angle::NeckRotation => {
                let (mut f, mut b, mut r) = spine_angles(&p.neck);
                match self {
                    Angle::NeckFlexion => f = v,
                    Angle::NeckSideBend => b = v,
                    _ => r = v,
                }
                p.neck = spine_matrix(f, b, r);
            }
            Angle::ShoulderPlane(s) | Angle::ShoulderElevation(s) | Angle::ShoulderInternalRotation(s) => {
                let (mut pl, mut e, mut i) = shoulder_angles(&p.limbs(s).shoulder);
                match self {
                    Angle::ShoulderPlane(_) => pl = v,
                    Angle::ShoulderElevation(_) => e = v,
                    _ => i = v,
                }
                p.limbs_mut(s).shoulder = shoulder_matrix(pl, e, i);
            }
            Angle::Elbow(s) => p.limbs_mut(s).elbow_flexion_rad = v,
            Angle::Forearm(s) => p.limbs_mut(s).forearm_pronation_rad = v,
            Angle::Wrist(s) => p.limbs_mut(s).wrist_flexion_rad = v,
            Angle::GirdleElevation(s) => p.limbs_mut(s).girdle.elevation_rad = v,
            Angle::GirdleProtraction(s) => p.limbs_mut(s).girdle.protraction_rad = v,
            Angle::GirdleUpwardRotation(s) => p.limbs_mut(s).girdle.upward_rotation_rad = v,
        }
    }
}
