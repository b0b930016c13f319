//! A person's segments: lengths, masses, inertia, joint centres.

use crate::skeleton::{SEGMENTS, Segment, Side};
use units::{M3, V3};

/// Sex, as the anthropometric tables use the word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sex {
    Male,
    Female,
}

/// Mass properties of one segment in its own frame.
#[derive(Clone, Copy, Debug)]
pub struct SegmentInertia {
    pub mass_kg: f64,
    /// Centre of mass, segment coordinates, m. For the scapula and clavicle: none, their mass is in the thorax.
    pub com_m: V3,
    /// Inertia tensor about the centre of mass, segment axes, kg·m².
    pub inertia_kg_m2: M3,
}

/// A person's skeleton. Lengths run between joint centres.
#[derive(Clone, Debug)]
pub struct Body {
    pub sex: Sex,
    pub stature_m: f64,
    pub mass_kg: f64,
    pub thigh_m: f64,
    pub shank_m: f64,
    /// Ankle centre above the sole, m.
    pub ankle_height_m: f64,
    /// Heel, ball and toe tip along the foot from the ankle centre (X), m; the heel is negative.
    pub heel_x_m: f64,
    pub ball_x_m: f64,
    pub toe_x_m: f64,
    /// From the mid-plane to a hip centre, m.
    pub half_hip_m: f64,
    /// Lumbar joint (L4–L5) in the pelvis frame, m.
    pub lumbar_m: V3,
    /// Sternal notch from the lumbar joint, thorax axes, m.
    pub notch_from_lumbar_m: V3,
    /// Neck joint (C7–T1) in the thorax frame, m.
    pub neck_m: V3,
    /// Vertex of the head above the neck joint, m.
    pub head_m: f64,
    /// Sternoclavicular, acromioclavicular and glenohumeral centres, thorax frame at rest, m.
    pub sc_m: V3,
    pub ac_m: V3,
    pub gh_m: V3,
    /// Unit vectors of the scapula at rest: forward normal of its plane, and along its spine.
    pub scapula_normal: V3,
    pub scapula_spine: V3,
    pub upper_arm_m: f64,
    /// Elbow to wrist, m.
    pub forearm_m: f64,
    /// Wrist to the centre of the closed fist, m.
    pub grip_m: f64,
    /// Distance between the acromia, m: the unit of grip and stance settings.
    pub biacromial_m: f64,
    /// Depth of trunk and thigh used for contact and drawing, m.
    pub trunk_depth_m: f64,
    pub inertia: [SegmentInertia; SEGMENTS],
    /// Muscle path scale of pelvis, femur, tibia, thorax and humerus relative to the 1.75 m adult of the path tables.
    pub path_scale: PathScale,
    /// Muscle volume relative to the start table, by region (before any training factor).
    pub volume_scale: VolumeScale,
}

/// Scale of path coordinates per segment, 1 for the 1.75 m adult of the tables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathScale {
    pub pelvis: f64,
    pub femur: f64,
    pub tibia: f64,
    pub thorax: f64,
    pub humerus: f64,
    pub forearm: f64,
}

/// Muscle volume relative to the start table's young man of 1.75 m and 75 kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumeScale {
    pub leg: f64,
    pub arm: f64,
    pub trunk: f64,
}

/// Length fractions of stature between joint centres (de Leva 1996, table 4, men 1.741 m; from memory, high).
mod de_leva {
    pub const THIGH: f64 = 0.4222 / 1.741;
    pub const SHANK: f64 = 0.4340 / 1.741;
    pub const UPPER_ARM: f64 = 0.2817 / 1.741;
    pub const FOREARM: f64 = 0.2689 / 1.741;
    pub const TRUNK: f64 = 0.5155 / 1.741;
    pub const HEAD: f64 = 0.2429 / 1.741;
}

impl Body {
    /// A man of 1.75 m and 75 kg by the male fractions: the person the muscle tables were written for.
    pub fn average_man() -> Body {
        Body::from_fractions(Sex::Male, 1.75, 75.0)
    }

    /// A body by plain length fractions of stature.
    pub fn from_fractions(sex: Sex, stature_m: f64, mass_kg: f64) -> Body {
        let k = stature_m / 1.75;
        let v = |x: f64, y: f64, z: f64| V3::new(x, y, z) * (k * 1e-3);
        let (aa, ts, ai) = (v(-80.0, 14.0, 192.0), v(-150.0, -30.0, 78.0), v(-150.0, -155.0, 85.0));
        let n = (ai - aa).cross(&(ts - aa)).normalize();
        let normal = if n.x > 0.0 { n } else { -n };
        let foot = 0.152 * stature_m;
        let lumbar = v(-20.0, 110.0, 0.0);
        let trunk = de_leva::TRUNK * stature_m;
        let thigh_m = de_leva::THIGH * stature_m;
        let shank_m = de_leva::SHANK * stature_m;
        let (upper_arm_m, forearm_m) = (de_leva::UPPER_ARM * stature_m, de_leva::FOREARM * stature_m);
        let mut b = Body {
            sex,
            stature_m,
            mass_kg,
            thigh_m,
            shank_m,
            ankle_height_m: 0.080 * k,
            heel_x_m: -0.055 * k,
            ball_x_m: 0.135 * k,
            toe_x_m: foot - 0.055 * k,
            half_hip_m: 0.085 * k,
            lumbar_m: lumbar,
            notch_from_lumbar_m: V3::new(0.040 * k, trunk, 0.0) - lumbar,
            neck_m: v(-75.0, 45.0, 0.0),
            head_m: de_leva::HEAD * stature_m * 1.05,
            sc_m: v(0.0, 0.0, 25.0),
            ac_m: v(-54.0, 21.0, 165.0),
            gh_m: v(-45.0, -22.0, 180.0),
            scapula_normal: normal,
            scapula_spine: (aa - ts).normalize(),
            upper_arm_m,
            forearm_m,
            grip_m: 0.080 * k,
            biacromial_m: 2.0 * 0.180 * k / 0.87,
            trunk_depth_m: 0.22 * k,
            inertia: [SegmentInertia { mass_kg: 0.0, com_m: V3::zeros(), inertia_kg_m2: M3::zeros() }; SEGMENTS],
            path_scale: PathScale { pelvis: k, femur: k, tibia: k, thorax: k, humerus: k, forearm: k },
            volume_scale: VolumeScale { leg: 1.0, arm: 1.0, trunk: 1.0 },
        };
        // de Leva 1996 table 4, men: mass %, centre of mass % of the length, radii of gyration % (sagittal, transverse, longitudinal).
        let mut set = |s: Segment, mass: f64, com: V3, length: f64, gyr: [f64; 3]| {
            let m = mass * mass_kg;
            let i = |r: f64| m * (r * length).powi(2);
            b.inertia[s.index()] = SegmentInertia {
                mass_kg: m,
                com_m: com,
                inertia_kg_m2: M3::from_diagonal(&V3::new(i(gyr[0]), i(gyr[2]), i(gyr[1]))),
            };
        };
        set(Segment::Pelvis, 0.1117, V3::new(0.0, 0.07 * k, 0.0), 0.1457 * k, [0.615, 0.551, 0.587]);
        set(
            Segment::Thorax,
            0.4346 - 0.1117,
            V3::new(-0.045 * k, -0.22 * k, 0.0),
            0.386 * k,
            [0.40, 0.38, 0.26],
        );
        set(Segment::Head, 0.0694, V3::new(0.02 * k, 0.14 * k, 0.0), 0.2429 * k, [0.303, 0.315, 0.261]);
        for side in Side::BOTH {
            let down = |f: f64, l: f64| V3::new(0.0, -f * l, 0.0);
            set(Segment::Humerus(side), 0.0271, down(0.5772, upper_arm_m), upper_arm_m, [0.285, 0.269, 0.158]);
            set(Segment::Forearm(side), 0.0162, down(0.4574, forearm_m), forearm_m, [0.276, 0.265, 0.121]);
            set(Segment::Hand(side), 0.0061, down(1.0, 0.068 * k), 0.0862 * k, [0.628, 0.513, 0.401]);
            set(Segment::Femur(side), 0.1416, down(0.4095, thigh_m), thigh_m, [0.329, 0.329, 0.149]);
            set(Segment::Tibia(side), 0.0433, down(0.4459, shank_m), shank_m, [0.255, 0.249, 0.103]);
            set(Segment::Foot(side), 0.0137, V3::new(0.05 * k, -0.04 * k, 0.0), foot, [0.257, 0.245, 0.124]);
        }
        b
    }

    /// Sum of the segment masses, kg.
    pub fn total_mass_kg(&self) -> f64 {
        self.inertia.iter().map(|s| s.mass_kg).sum()
    }
}
