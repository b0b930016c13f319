//! A shared error of our landmark placement: every attachment on a bone is moved by the same few numbers, before the
//! heads are moved one by one. Where the joint centre lies in the bone, how a humerus or femur is twisted and how far
//! the pelvis is tilted are seen by all muscles of the joint, so that one muscle's rows help to predict another's.

use anatomy::heads::Bone;
use units::{V3, rad, rot_y, rot_z};

/// Largest shift of all attachments of a bone, m per axis (own estimate of a placement error).
pub const MOST_SHIFT_M: f64 = 0.010;
/// Largest twist about the long axis of humerus and femur, tilt of the pelvis, turn of the blade, degrees: the spread
/// of people (retroversion 25 to 45, anteversion 0 to 25, pelvic tilt ±10; from memory, medium).
pub const MOST_TURN_DEG: f64 = 15.0;

/// Bones that move as one: clavicle and scapula go together, tibia with the femur.
const BONES: [(&str, &[Bone]); 5] = [
    ("pelvis", &[Bone::Pelvis]),
    ("femur", &[Bone::Femur, Bone::Tibia]),
    ("thorax", &[Bone::Thorax]),
    ("scapula", &[Bone::Scapula, Bone::Clavicle]),
    ("humerus", &[Bone::Humerus]),
];

/// Number of unknowns: three shifts and a turn per bone.
pub const UNKNOWNS: usize = 4 * BONES.len();

/// Centre of the resting glenohumeral joint, about which the blade turns, m (`data/anatomy/joint_centres.csv`).
const GH_M: V3 = V3::new(-0.045, -0.022, 0.180);

/// One shared movement of all bones; values in [−1, 1].
#[derive(Clone, Debug)]
pub struct Shift(pub Vec<f64>);

impl Shift {
    /// Where a point of a bone goes, m.
    pub fn point(&self, bone: Bone, x: &V3) -> V3 {
        let Some(k) = BONES.iter().position(|b| b.1.contains(&bone)) else { return *x };
        let v = &self.0[4 * k..4 * k + 4];
        let turn = v[3] * rad(MOST_TURN_DEG);
        let turned = match bone {
            Bone::Pelvis => rot_z(turn) * x,
            Bone::Thorax => *x,
            Bone::Scapula | Bone::Clavicle => rot_y(turn) * (x - GH_M) + GH_M,
            Bone::Femur | Bone::Tibia | Bone::Humerus => rot_y(turn) * x,
        };
        turned + V3::new(v[0], v[1], v[2]) * MOST_SHIFT_M
    }

    /// What the numbers mean, with their values: shifts in mm, turns in degrees.
    pub fn told(&self) -> Vec<(String, f64)> {
        let mut out = Vec::new();
        for (b, v) in BONES.iter().zip(self.0.chunks(4)) {
            for (axis, x) in ["x", "y", "z"].iter().zip(v) {
                out.push((format!("{} {axis}, mm", b.0), 1e3 * MOST_SHIFT_M * x));
            }
            if b.0 != "thorax" {
                out.push((format!("{} turn, degrees", b.0), MOST_TURN_DEG * v[3]));
            }
        }
        out
    }
}
