//! Segments, joints and forward kinematics of both body sides.
//!
//! Frames (ISB axes, X forward, Y up, Z right):
//! * pelvis: origin half-way between the hip centres; standing, both ASIS and the pubis lie in one frontal plane;
//! * thorax: origin at the sternal notch;
//! * clavicle, scapula: points are given in thorax coordinates **at rest**, the pose maps rest to now;
//! * humerus: origin at the glenohumeral centre, −Y to the elbow; forearm: origin at the elbow, −Y to the wrist;
//! * femur: origin at the hip centre, −Y to the knee; tibia: origin at the knee, −Y to the ankle;
//! * foot: origin at the ankle centre, X to the toes.
//!
//! A left limb is kept as the mirror image of a right one (z → −z), so one set of formulas serves both sides:
//! [`Limbs`] of the left side hold the numbers a right limb in the mirrored posture would have.
//!
//! Source of frames and rotation orders: own landmark placements, `data/anatomy/joint_centres.csv`.

use crate::body::Body;
use units::{M3, V3, mirror_point, mirror_rotation, rot_axis, rot_x, rot_y, rot_z};

/// Body side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    Right,
    Left,
}

impl Side {
    pub const BOTH: [Side; 2] = [Side::Right, Side::Left];
    /// +1 for the right side, −1 for the left.
    pub fn sign(self) -> f64 {
        match self {
            Side::Right => 1.0,
            Side::Left => -1.0,
        }
    }
    pub fn other(self) -> Side {
        match self {
            Side::Right => Side::Left,
            Side::Left => Side::Right,
        }
    }
}

/// A rigid part of the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Segment {
    Pelvis,
    Thorax,
    Head,
    Clavicle(Side),
    Scapula(Side),
    Humerus(Side),
    Forearm(Side),
    Hand(Side),
    Femur(Side),
    Tibia(Side),
    Foot(Side),
}

/// Number of segments, both sides.
pub const SEGMENTS: usize = 19;

impl Segment {
    pub const ALL: [Segment; SEGMENTS] = {
        use Segment::*;
        use Side::*;
        [
            Pelvis,
            Thorax,
            Head,
            Clavicle(Right),
            Scapula(Right),
            Humerus(Right),
            Forearm(Right),
            Hand(Right),
            Femur(Right),
            Tibia(Right),
            Foot(Right),
            Clavicle(Left),
            Scapula(Left),
            Humerus(Left),
            Forearm(Left),
            Hand(Left),
            Femur(Left),
            Tibia(Left),
            Foot(Left),
        ]
    };

    /// Position in [`Segment::ALL`].
    pub fn index(self) -> usize {
        let side = |s: Side| if s == Side::Right { 0 } else { 8 };
        match self {
            Segment::Pelvis => 0,
            Segment::Thorax => 1,
            Segment::Head => 2,
            Segment::Clavicle(s) => 3 + side(s),
            Segment::Scapula(s) => 4 + side(s),
            Segment::Humerus(s) => 5 + side(s),
            Segment::Forearm(s) => 6 + side(s),
            Segment::Hand(s) => 7 + side(s),
            Segment::Femur(s) => 8 + side(s),
            Segment::Tibia(s) => 9 + side(s),
            Segment::Foot(s) => 10 + side(s),
        }
    }

    /// The segment nearer to the pelvis; `None` for the pelvis itself.
    pub fn parent(self) -> Option<Segment> {
        Some(match self {
            Segment::Pelvis => return None,
            Segment::Thorax => Segment::Pelvis,
            Segment::Head => Segment::Thorax,
            Segment::Clavicle(_) => Segment::Thorax,
            Segment::Scapula(s) => Segment::Clavicle(s),
            Segment::Humerus(s) => Segment::Scapula(s),
            Segment::Forearm(s) => Segment::Humerus(s),
            Segment::Hand(s) => Segment::Forearm(s),
            Segment::Femur(_) => Segment::Pelvis,
            Segment::Tibia(s) => Segment::Femur(s),
            Segment::Foot(s) => Segment::Tibia(s),
        })
    }

    pub fn side(self) -> Option<Side> {
        match self {
            Segment::Pelvis | Segment::Thorax | Segment::Head => None,
            Segment::Clavicle(s)
            | Segment::Scapula(s)
            | Segment::Humerus(s)
            | Segment::Forearm(s)
            | Segment::Hand(s)
            | Segment::Femur(s)
            | Segment::Tibia(s)
            | Segment::Foot(s) => Some(s),
        }
    }
}

/// Position and orientation of a segment: x_world = rotation · x_local + origin_m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    pub rotation: M3,
    pub origin_m: V3,
}

impl Pose {
    pub const fn new(rotation: M3, origin_m: V3) -> Self {
        Pose { rotation, origin_m }
    }
    pub fn identity() -> Self {
        Pose { rotation: M3::identity(), origin_m: V3::zeros() }
    }
    /// World position of a point given in segment coordinates, m.
    #[inline]
    pub fn at(&self, local_m: &V3) -> V3 {
        self.rotation * local_m + self.origin_m
    }
    /// World direction of a vector given in segment coordinates.
    #[inline]
    pub fn turn(&self, local: &V3) -> V3 {
        self.rotation * local
    }
    fn mirrored(&self) -> Pose {
        Pose { rotation: mirror_rotation(&self.rotation), origin_m: mirror_point(&self.origin_m) }
    }
}

/// Voluntary offsets of the shoulder girdle on top of the rhythm, radians.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Girdle {
    pub elevation_rad: f64,
    pub protraction_rad: f64,
    pub upward_rotation_rad: f64,
}

/// Joint positions of one body side, written as for a right side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limbs {
    /// Femur in the pelvis: Rz(flexion) · Rx(−abduction) · Ry(internal rotation).
    pub hip: M3,
    pub knee_flexion_rad: f64,
    /// Rotation of the shank about its long axis in the bent knee, internal positive; passive, a few degrees.
    pub tibia_rotation_rad: f64,
    pub ankle_plantarflexion_rad: f64,
    pub ankle_inversion_rad: f64,
    pub girdle: Girdle,
    /// Humerus in the thorax: Ry(plane) · Rx(−elevation) · Ry(−plane) · Ry(internal rotation), see [`shoulder_matrix`].
    pub shoulder: M3,
    pub elbow_flexion_rad: f64,
    /// Pronation positive, 0 = thumb up.
    pub forearm_pronation_rad: f64,
    pub wrist_flexion_rad: f64,
}

impl Default for Limbs {
    fn default() -> Self {
        Limbs {
            hip: M3::identity(),
            knee_flexion_rad: 0.0,
            tibia_rotation_rad: 0.0,
            ankle_plantarflexion_rad: 0.0,
            ankle_inversion_rad: 0.0,
            girdle: Girdle::default(),
            shoulder: M3::identity(),
            elbow_flexion_rad: 0.0,
            forearm_pronation_rad: 0.0,
            wrist_flexion_rad: 0.0,
        }
    }
}

/// All joint positions and the place of the pelvis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Posture {
    pub pelvis: Pose,
    /// Thorax in the pelvis: Rz(−flexion) · Rx(side-bend) · Ry(rotation), see [`spine_matrix`].
    pub lumbar: M3,
    /// Head in the thorax, same order.
    pub neck: M3,
    pub right: Limbs,
    pub left: Limbs,
}

impl Default for Posture {
    fn default() -> Self {
        Posture {
            pelvis: Pose::identity(),
            lumbar: M3::identity(),
            neck: M3::identity(),
            right: Limbs::default(),
            left: Limbs::default(),
        }
    }
}

impl Posture {
    pub fn limbs(&self, side: Side) -> &Limbs {
        match side {
            Side::Right => &self.right,
            Side::Left => &self.left,
        }
    }
    pub fn limbs_mut(&mut self, side: Side) -> &mut Limbs {
        match side {
            Side::Right => &mut self.right,
            Side::Left => &mut self.left,
        }
    }
}

/// Humerus in the thorax from plane of elevation (0 sideways, 90° forward), elevation and internal rotation, radians.
/// Swing, then spin about the humerus: no jump at zero elevation.
pub fn shoulder_matrix(plane_rad: f64, elevation_rad: f64, internal_rotation_rad: f64) -> M3 {
    rot_y(plane_rad) * rot_x(-elevation_rad) * rot_y(-plane_rad) * rot_y(internal_rotation_rad)
}

/// (plane, elevation, internal rotation) of a humerus in the thorax, radians. At zero elevation the plane is 0.
pub fn shoulder_angles(r: &M3) -> (f64, f64, f64) {
    let u = -r.column(1);
    let elevation = (-u.y).clamp(-1.0, 1.0).acos();
    let plane = if u.x.hypot(u.z) < 1e-9 { 0.0 } else { u.x.atan2(u.z) };
    let swing = rot_y(plane) * rot_x(-elevation) * rot_y(-plane);
    let q = swing.transpose() * r;
    (plane, elevation, q.m13.atan2(q.m11))
}

/// Femur in the pelvis from flexion, abduction and internal rotation, radians.
pub fn hip_matrix(flexion_rad: f64, abduction_rad: f64, internal_rotation_rad: f64) -> M3 {
    rot_z(flexion_rad) * rot_x(-abduction_rad) * rot_y(internal_rotation_rad)
}

/// (flexion, abduction, internal rotation) of a femur in the pelvis, radians.
pub fn hip_angles(r: &M3) -> (f64, f64, f64) {
    (f64::atan2(-r.m12, r.m22), -r.m32.clamp(-1.0, 1.0).asin(), f64::atan2(-r.m31, r.m33))
}

/// Upper part of the spine in the lower one from flexion, side-bend to the right and rotation to the left, radians.
pub fn spine_matrix(flexion_rad: f64, side_bend_rad: f64, rotation_rad: f64) -> M3 {
    rot_z(-flexion_rad) * rot_x(side_bend_rad) * rot_y(rotation_rad)
}

/// (flexion, side-bend to the right, rotation to the left), radians.
pub fn spine_angles(r: &M3) -> (f64, f64, f64) {
    (-f64::atan2(-r.m12, r.m22), r.m32.clamp(-1.0, 1.0).asin(), f64::atan2(-r.m31, r.m33))
}

/// Clavicle and scapula on the thorax, in thorax coordinates (rest → now).
#[derive(Clone, Copy, Debug)]
pub struct GirdlePose {
    pub clavicle: Pose,
    pub scapula: Pose,
    /// Forward normal of the scapular plane, thorax coordinates; upward rotation turns about its negative.
    pub scapula_normal: V3,
    /// Glenohumeral centre, thorax coordinates, m.
    pub gh_m: V3,
    /// Acromioclavicular joint, thorax coordinates, m.
    pub ac_m: V3,
}

/// Constants of the shoulder rhythm.
///
/// Glenohumeral : scapulothoracic 2.3 (Braman 2009, looked up); clavicle 0.06 elevation and 0.13 retraction per
/// degree (Ludewig 2009, from memory, medium); posterior tilt 0.16 per degree of elevation (from memory, medium),
/// anterior tilt 0.25 per degree of extension (from memory, low).
pub mod rhythm {
    pub const SCAPULA_SHARE: f64 = 1.0 / 3.3;
    pub const CLAVICLE_ELEVATION: f64 = 0.06;
    pub const CLAVICLE_RETRACTION: f64 = 0.13;
    pub const TILT_ELEVATION: f64 = 0.16;
    pub const TILT_EXTENSION: f64 = 0.25;
}

/// Pose of the girdle for a humerus orientation and voluntary offsets: the one shoulder rhythm of the program.
pub fn girdle_pose(body: &Body, shoulder: &M3, girdle: &Girdle) -> GirdlePose {
    let (p, h, _) = shoulder_angles(shoulder);
    // Near the hanging arm the plane is undefined; its effects are multiplied by h and vanish there.
    let f = ((p.to_degrees() + 90.0) / 60.0).clamp(0.0, 1.0);
    let f = f * f * (3.0 - 2.0 * f);
    let hh = h * f;
    let cor = 0.5 + 0.5 * p.cos();
    let drawn = rot_y(-(rhythm::CLAVICLE_RETRACTION * hh * cor - girdle.protraction_rad));
    let rc = drawn * rot_x(-(rhythm::CLAVICLE_ELEVATION * hh + girdle.elevation_rad));
    let tc = body.sc_m - rc * body.sc_m;
    let pd = p.to_degrees();
    let ext = h
        * (-p.sin()).clamp(0.0, 1.0)
        * ((-pd).clamp(0.0, 90.0) / 90.0)
        * ((130.0 - h.to_degrees()) / 50.0).clamp(0.0, 1.0);
    // Raised or lowered at will, the blade goes with the collar bone's outer end and does not turn with it.
    let up = hh * rhythm::SCAPULA_SHARE - rhythm::CLAVICLE_ELEVATION * hh + girdle.upward_rotation_rad;
    let normal = body.scapula_normal;
    let rs = drawn
        * rot_x(-rhythm::CLAVICLE_ELEVATION * hh)
        * rot_axis(&normal, -up)
        * rot_axis(&body.scapula_spine, rhythm::TILT_ELEVATION * hh - rhythm::TILT_EXTENSION * ext * (1.0 - f));
    let ac = rc * body.ac_m + tc;
    let ts = ac - rs * body.ac_m;
    GirdlePose {
        clavicle: Pose::new(rc, tc),
        scapula: Pose::new(rs, ts),
        scapula_normal: rs * normal,
        gh_m: rs * body.gh_m + ts,
        ac_m: ac,
    }
}

/// World poses of all segments.
#[derive(Clone, Debug)]
pub struct Figure {
    pub poses: [Pose; SEGMENTS],
}

impl Figure {
    pub fn pose(&self, s: Segment) -> &Pose {
        &self.poses[s.index()]
    }
    /// World position of a local point, m.
    pub fn at(&self, s: Segment, local_m: &V3) -> V3 {
        self.pose(s).at(local_m)
    }
}

/// Poses of one side's segments for a right-handed (or mirrored) pelvis and thorax.
fn side_poses(body: &Body, pelvis: &Pose, thorax: &Pose, l: &Limbs) -> [Pose; 8] {
    let g = girdle_pose(body, &l.shoulder, &l.girdle);
    let to_world = |p: &Pose| Pose::new(thorax.rotation * p.rotation, thorax.at(&p.origin_m));
    let clavicle = to_world(&g.clavicle);
    let scapula = to_world(&g.scapula);
    let humerus = Pose::new(thorax.rotation * l.shoulder, thorax.at(&g.gh_m));
    let elbow = humerus.at(&V3::new(0.0, -body.upper_arm_m, 0.0));
    // Pronation turns the palm side of a right forearm backward: about +Y with the thumb moving inward.
    let forearm = Pose::new(humerus.rotation * rot_z(l.elbow_flexion_rad) * rot_y(l.forearm_pronation_rad), elbow);
    let wrist = forearm.at(&V3::new(0.0, -body.forearm_m, 0.0));
    // Thumb-up hand: the palm faces the mid-line (−Z of a right hand), so wrist flexion turns about +X.
    let hand = Pose::new(forearm.rotation * rot_x(l.wrist_flexion_rad), wrist);
    let femur = Pose::new(pelvis.rotation * l.hip, pelvis.at(&V3::new(0.0, 0.0, body.half_hip_m)));
    let knee = femur.at(&V3::new(0.0, -body.thigh_m, 0.0));
    let tibia = Pose::new(femur.rotation * rot_z(-l.knee_flexion_rad) * rot_y(l.tibia_rotation_rad), knee);
    let ankle = tibia.at(&V3::new(0.0, -body.shank_m, 0.0));
    // Inversion of a right foot turns the sole inward: about +X.
    let foot = Pose::new(tibia.rotation * rot_z(-l.ankle_plantarflexion_rad) * rot_x(l.ankle_inversion_rad), ankle);
    [clavicle, scapula, humerus, forearm, hand, femur, tibia, foot]
}

/// Forward kinematics of the whole body.
pub fn figure(body: &Body, p: &Posture) -> Figure {
    let thorax_rotation = p.pelvis.rotation * p.lumbar;
    let lumbar_joint = p.pelvis.at(&body.lumbar_m);
    let thorax = Pose::new(thorax_rotation, lumbar_joint + thorax_rotation * body.notch_from_lumbar_m);
    let neck_joint = thorax.at(&body.neck_m);
    let head = Pose::new(thorax_rotation * p.neck, neck_joint);
    let mut poses = [Pose::identity(); SEGMENTS];
    poses[0] = p.pelvis;
    poses[1] = thorax;
    poses[2] = head;
    poses[3..11].copy_from_slice(&side_poses(body, &p.pelvis, &thorax, &p.right));
    for (i, pose) in side_poses(body, &p.pelvis.mirrored(), &thorax.mirrored(), &p.left).iter().enumerate() {
        poses[11 + i] = pose.mirrored();
    }
    Figure { poses }
}

/// One balanced rotational degree of freedom ("row") of one body side.
///
/// Ball joints use the three axes of their proximal frame (pelvis for the hip, thorax for the shoulder): the moment
/// is a vector, anatomical words are projections made at the edge. Hinges and spine rows are positive in the named
/// direction. A lever arm is positive when the muscle turns the joint in the positive direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Row {
    HipX,
    HipY,
    HipZ,
    KneeFlexion,
    AnklePlantarflexion,
    AnkleInversion,
    LumbarFlexion,
    LumbarSideBend,
    LumbarRotation,
    NeckFlexion,
    NeckSideBend,
    NeckRotation,
    ShoulderX,
    ShoulderY,
    ShoulderZ,
    ElbowFlexion,
    ForearmPronation,
    WristFlexion,
    /// The collar bone turns up about the sternum; blade and arm go along without turning. The blade lies on the rib
    /// cage: turned with the collar bone its spinal border would leave the ribs by 5 cm per rad (ellipsoid of
    /// `girdle_glide.csv`). So the ribs' push drops out, and levator and rhomboids have arms of 0.11 to 0.12 m.
    GirdleElevation,
    GirdleProtraction,
    GirdleUpwardRotation,
}

/// Number of rows of one side.
pub const ROWS: usize = 21;

/// A joint as a coach names it: the part of a dotted axis before the dot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Joint {
    Ankle,
    Knee,
    Hip,
    Lumbar,
    Neck,
    Girdle,
    Shoulder,
    Elbow,
    Forearm,
    Wrist,
}

/// Number of joints.
pub const JOINTS: usize = 10;

impl Joint {
    pub const ALL: [Joint; JOINTS] = [
        Joint::Ankle,
        Joint::Knee,
        Joint::Hip,
        Joint::Lumbar,
        Joint::Neck,
        Joint::Girdle,
        Joint::Shoulder,
        Joint::Elbow,
        Joint::Forearm,
        Joint::Wrist,
    ];

    /// Binding id, as used in files and JSON.
    pub fn id(self) -> &'static str {
        match self {
            Joint::Ankle => "ankle",
            Joint::Knee => "knee",
            Joint::Hip => "hip",
            Joint::Lumbar => "lumbar",
            Joint::Neck => "neck",
            Joint::Girdle => "girdle",
            Joint::Shoulder => "shoulder",
            Joint::Elbow => "elbow",
            Joint::Forearm => "forearm",
            Joint::Wrist => "wrist",
        }
    }

    /// A joint by its id or by another name that data files use for it.
    pub fn from_name(name: &str) -> Option<Joint> {
        Some(match name {
            "ankle" | "subtalar" => Joint::Ankle,
            "knee" => Joint::Knee,
            "hip" => Joint::Hip,
            "lumbar" | "lumbar-flexion" | "lumbar-side-bend" | "lumbar-rotation" => Joint::Lumbar,
            "neck" | "neck-flexion" | "neck-side-bend" | "neck-rotation" => Joint::Neck,
            "girdle" | "sternoclavicular" | "acromioclavicular" | "scapula-thorax" => Joint::Girdle,
            "shoulder" | "glenohumeral" => Joint::Shoulder,
            "elbow" => Joint::Elbow,
            "forearm" => Joint::Forearm,
            "wrist" => Joint::Wrist,
            _ => return None,
        })
    }
}

impl Row {
    pub const ALL: [Row; ROWS] = {
        use Row::*;
        [
            HipX,
            HipY,
            HipZ,
            KneeFlexion,
            AnklePlantarflexion,
            AnkleInversion,
            LumbarFlexion,
            LumbarSideBend,
            LumbarRotation,
            NeckFlexion,
            NeckSideBend,
            NeckRotation,
            ShoulderX,
            ShoulderY,
            ShoulderZ,
            ElbowFlexion,
            ForearmPronation,
            WristFlexion,
            GirdleElevation,
            GirdleProtraction,
            GirdleUpwardRotation,
        ]
    };

    pub fn index(self) -> usize {
        self as usize
    }

    pub fn joint(self) -> Joint {
        match self {
            Row::HipX | Row::HipY | Row::HipZ => Joint::Hip,
            Row::KneeFlexion => Joint::Knee,
            Row::AnklePlantarflexion | Row::AnkleInversion => Joint::Ankle,
            Row::LumbarFlexion | Row::LumbarSideBend | Row::LumbarRotation => Joint::Lumbar,
            Row::NeckFlexion | Row::NeckSideBend | Row::NeckRotation => Joint::Neck,
            Row::ShoulderX | Row::ShoulderY | Row::ShoulderZ => Joint::Shoulder,
            Row::ElbowFlexion => Joint::Elbow,
            Row::ForearmPronation => Joint::Forearm,
            Row::WristFlexion => Joint::Wrist,
            Row::GirdleElevation | Row::GirdleProtraction | Row::GirdleUpwardRotation => Joint::Girdle,
        }
    }
}

/// What the muscle paths of one side need to know of a posture (written as for a right side).
#[derive(Clone, Copy, Debug)]
pub struct SidePosture {
    pub limbs: Limbs,
    pub lumbar: M3,
    pub neck: M3,
    pub girdle_pose: GirdlePose,
}

impl SidePosture {
    pub fn new(body: &Body, p: &Posture, side: Side) -> SidePosture {
        let limbs = *p.limbs(side);
        let (lumbar, neck) = match side {
            Side::Right => (p.lumbar, p.neck),
            Side::Left => (mirror_rotation(&p.lumbar), mirror_rotation(&p.neck)),
        };
        SidePosture { limbs, lumbar, neck, girdle_pose: girdle_pose(body, &limbs.shoulder, &limbs.girdle) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::rad;

    #[test]
    fn anatomical_angles_survive_the_matrix() {
        let (f, a, i) = hip_angles(&hip_matrix(rad(80.0), rad(20.0), rad(-15.0)));
        assert!((f - rad(80.0)).abs() + (a - rad(20.0)).abs() + (i - rad(-15.0)).abs() < 1e-12);
        let (p, h, r) = shoulder_angles(&shoulder_matrix(rad(70.0), rad(100.0), rad(-30.0)));
        assert!((p - rad(70.0)).abs() + (h - rad(100.0)).abs() + (r - rad(-30.0)).abs() < 1e-12);
        let (f, s, r) = spine_angles(&spine_matrix(rad(30.0), rad(10.0), rad(-8.0)));
        assert!((f - rad(30.0)).abs() + (s - rad(10.0)).abs() + (r - rad(-8.0)).abs() < 1e-12);
    }

    #[test]
    fn left_and_right_are_mirror_images() {
        let body = Body::average_man();
        let mut p = Posture::default();
        let l = Limbs {
            hip: hip_matrix(rad(70.0), rad(20.0), rad(5.0)),
            shoulder: shoulder_matrix(rad(40.0), rad(80.0), rad(10.0)),
            elbow_flexion_rad: rad(60.0),
            forearm_pronation_rad: rad(40.0),
            ..Limbs::default()
        };
        p.right = l;
        p.left = l;
        let f = figure(&body, &p);
        for s in Segment::ALL {
            if s.side() == Some(Side::Right) {
                let twin = Segment::ALL[s.index() + 8];
                assert!((f.pose(s).origin_m - mirror_point(&f.pose(twin).origin_m)).norm() < 1e-12);
            }
        }
    }

    #[test]
    fn a_straight_body_stands_upright() {
        let body = Body::average_man();
        let f = figure(&body, &Posture::default());
        let ankle = f.pose(Segment::Foot(Side::Right)).origin_m;
        assert!((ankle.y + body.thigh_m + body.shank_m).abs() < 1e-12);
        assert!((ankle.z - body.half_hip_m).abs() < 1e-12);
        assert!(f.pose(Segment::Humerus(Side::Right)).origin_m.z > 0.1);
    }
}
