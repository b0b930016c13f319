//! Muscle heads of one person in one posture.

mod parts;

use super::curve::ArmCurve;
use super::pull::PullCurves;
use super::{AnatomyTables, Bone, FibreLaw, Head, HeadMask, Region, Strand, Variation};
use crate::body::Body;
use crate::path::{Obstacle, Path, PathPoint, Pull};
use crate::skeleton::{Girdle, JOINTS, Joint, Limbs, Pose, ROWS, Row, SidePosture, girdle_pose, spine_angles};
pub use parts::HeadParts;
use units::{M3, V3, log_rotation};

/// The heads of one body side of a person.
#[derive(Clone, Debug)]
pub struct MuscleModel {
    pub(super) heads: Vec<HeadModel>,
    law: FibreLaw,
    sc_m: V3,
    /// Whether any head has an offset of its ball joint's arm.
    varied: bool,
    pub(super) pull_curves: PullCurves,
}

/// One head, scaled to the person and to one draw.
#[derive(Clone, Debug)]
pub(super) struct HeadModel {
    /// Paths over pelvis and femur, with shares.
    leg: Vec<(Path, f64)>,
    /// Paths over thorax, clavicle, scapula and humerus, with shares.
    arm: Vec<(Path, f64)>,
    /// Whether a path crosses the sternoclavicular, acromioclavicular, glenohumeral joint.
    crosses: [bool; 3],
    pub(super) hinges: Vec<(Row, ArmCurve)>,
    anchor: f64,
    zero_path_m: f64,
    /// 1/(fibre length·excursion divisor), 1/m.
    per_length: f64,
    max_force_n: f64,
    volume_cm3: f64,
    fibre_length_m: f64,
    arm_offset_m: V3,
    girdle_offset_m: V3,
    pub(super) joints: HeadJoints,
}

/// Joints a head acts on, as a bit set.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct HeadJoints(u16);

impl HeadJoints {
    fn insert(&mut self, j: Joint) {
        self.0 |= 1 << j as u16;
    }
    pub(super) fn has(self, j: Joint) -> bool {
        self.0 >> (j as u16) & 1 == 1
    }
}

/// One head in one posture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeadState {
    /// Length of the muscle with its tendon, m: path length + Σ hinge lengths. Heads without a path: relative to the
    /// zero posture. Changes are exact: Δlength = Δpath + Σ Δhinge.
    pub length_m: f64,
    /// Mean length of the strands (knee, elbow and spine as in the zero posture), m; 0 without a path.
    pub path_length_m: f64,
    /// Part of each hinge or spine joint, relative to the zero posture, m.
    pub hinge_length_m: [f64; JOINTS],
    /// Normalised fibre length, 1 = optimal.
    pub fibre_norm: f64,
    /// Active force factor f_L.
    pub active: f64,
    /// Passive force factor f_P.
    pub passive: f64,
    /// Force at full activation and optimal length, N.
    pub max_force_n: f64,
    /// Lever arms by row, m; positive turns the joint in the row's positive direction.
    pub arms_m: [f64; ROWS],
    /// Force of unit tension on the femur, pelvis axes (no unit). Zero for heads without a path to the femur.
    pub pull_on_femur: V3,
    /// Force of unit tension on the humerus, thorax axes (no unit). Zero for heads without a path to the humerus.
    pub pull_on_humerus: V3,
}

impl HeadState {
    const EMPTY: HeadState = HeadState {
        length_m: 0.0,
        path_length_m: 0.0,
        hinge_length_m: [0.0; JOINTS],
        fibre_norm: 1.0,
        active: 0.0,
        passive: 0.0,
        max_force_n: 0.0,
        arms_m: [0.0; ROWS],
        pull_on_femur: V3::new(0.0, 0.0, 0.0),
        pull_on_humerus: V3::new(0.0, 0.0, 0.0),
    };

    /// Muscle force at an activation from 0 to 1, N: F₀·(a·f_L + f_P).
    pub fn force_n(&self, activation: f64) -> f64 {
        self.max_force_n * (activation * self.active + self.passive)
    }
    /// Lever arm of a row, m.
    pub fn arm_m(&self, row: Row) -> f64 {
        self.arms_m[row.index()]
    }
}

/// All heads of one side in one posture; filled by [`MuscleModel::evaluate`], reusable.
#[derive(Clone, Debug)]
pub struct MuscleFrame {
    pub heads: Vec<HeadState>,
    /// Heads that were evaluated last; the others hold old or empty states.
    pub evaluated: HeadMask,
}

impl MuscleModel {
    /// The heads of a person: paths, lever arms and fibre lengths scaled by the segments they lie on, volumes by the
    /// person's region factors, force by the trained factors as far as the person is trained; `variation` moves the uncertain numbers.
    ///
    /// Fibre lengths follow the segment so that a shorter person uses the same part of the fibres' range (geometric
    /// similarity, own assumption).
    pub fn new(tables: &AnatomyTables, body: &Body, variation: &Variation) -> MuscleModel {
        let heads = tables.heads.iter().enumerate();
        let mut model = MuscleModel {
            heads: heads.map(|(i, h)| HeadModel::new(tables, h, i, body, variation)).collect(),
            law: tables.fibre_law,
            sc_m: body.sc_m,
            varied: variation.arm_offset_m.iter().any(|o| *o != V3::zeros()),
            pull_curves: PullCurves::new(&tables.lines_of_pull),
        };
        let limbs = Limbs::default();
        let zero = SidePosture {
            limbs,
            lumbar: M3::identity(),
            neck: M3::identity(),
            girdle_pose: girdle_pose(body, &limbs.shoulder, &Girdle::default()),
        };
        let mut frame = model.frame();
        model.evaluate(&zero, HeadMask::all(model.heads.len()), &mut frame);
        for (h, s) in model.heads.iter_mut().zip(&frame.heads) {
            h.zero_path_m = s.path_length_m;
        }
        model
    }

    /// Number of heads.
    pub fn len(&self) -> usize {
        self.heads.len()
    }
    pub fn is_empty(&self) -> bool {
        self.heads.is_empty()
    }
    /// An empty frame of the right size.
    pub fn frame(&self) -> MuscleFrame {
        MuscleFrame { heads: vec![HeadState::EMPTY; self.heads.len()], evaluated: HeadMask::none() }
    }
    /// Volume of a head in this person, cm³.
    pub fn volume_cm3(&self, head: usize) -> f64 {
        self.heads[head].volume_cm3
    }
    /// Optimal fibre length of a head in this person, m.
    pub fn fibre_length_m(&self, head: usize) -> f64 {
        self.heads[head].fibre_length_m
    }
    /// Force at full activation and optimal length of a head in this person, N.
    pub fn max_force_n(&self, head: usize) -> f64 {
        self.heads[head].max_force_n
    }
    /// Heads with a lever arm at any of these joints.
    pub fn heads_at(&self, joints: &[Joint]) -> HeadMask {
        let mut mask = HeadMask::none();
        for (i, h) in self.heads.iter().enumerate() {
            if joints.iter().any(|&j| h.joints.has(j)) {
                mask.insert(i);
            }
        }
        mask
    }

    /// Smallest distance of a head's path points from the surface of the obstacle next to them, m; negative: a point
    /// lies inside and was lifted to the surface, the arm is less to be trusted. Infinite without obstacles.
    pub fn clearance_m(&self, posture: &SidePosture, head: usize) -> f64 {
        let here = Here::new(posture, self.sc_m, false);
        let h = &self.heads[head];
        let leg = h.leg.iter().map(|p| p.0.clearance_m(&here.leg));
        leg.chain(h.arm.iter().map(|p| p.0.clearance_m(&here.arm))).fold(f64::INFINITY, f64::min)
    }

    /// Lengths, lever arms and force factors of the wanted heads in a posture. Right side as it is; a left side in
    /// its mirrored posture. Allocates nothing.
    pub fn evaluate(&self, posture: &SidePosture, wanted: HeadMask, out: &mut MuscleFrame) {
        out.heads.resize(self.heads.len(), HeadState::EMPTY);
        out.evaluated = wanted;
        let here = Here::new(posture, self.sc_m, self.varied);
        for i in wanted.iter().take_while(|&i| i < self.heads.len()) {
            self.heads[i].evaluate(&here, &self.law, &mut out.heads[i]);
        }
    }
}

/// What all heads need of a posture.
struct Here {
    leg: [Pose; 2],
    arm: [Pose; 4],
    sc_m: V3,
    ac_m: V3,
    gh_m: V3,
    /// Axis of upward rotation of the scapula, thorax axes.
    upward: V3,
    /// Angle of every hinge and spine row, rad; 0 for ball joints and girdle.
    angle_rad: [f64; ROWS],
    /// Hip and shoulder, for draws with arm offsets.
    turns: Option<[Turn; 2]>,
}

/// Rotation vector φ of a ball joint (humerus against scapula, femur against pelvis), and the matrix that turns an
/// offset δ of the length −δ·φ into its lever-arm vector in the axes of thorax or pelvis.
struct Turn {
    vector: V3,
    gradient: M3,
}

impl Turn {
    fn new(r: &M3) -> Turn {
        let vector = log_rotation(r);
        let angle = vector.norm();
        let k = vector.cross_matrix();
        let c = if angle < 1e-4 {
            1.0 / 12.0
        } else {
            (1.0 - 0.5 * angle * (0.5 * angle).cos() / (0.5 * angle).sin()) / (angle * angle)
        };
        Turn { vector, gradient: M3::identity() + k * 0.5 + k * k * c }
    }

    /// The same joint, arms in the axes in which its proximal bone is turned by `r`.
    fn seen_through(self, r: &M3) -> Turn {
        Turn { vector: self.vector, gradient: r * self.gradient }
    }
}

impl Here {
    fn new(p: &SidePosture, sc_m: V3, varied: bool) -> Here {
        let l = &p.limbs;
        let g = &p.girdle_pose;
        let scapula = g.scapula.rotation;
        let mut angle_rad = [0.0; ROWS];
        let mut set = |row: Row, angle: f64| angle_rad[row.index()] = angle;
        set(Row::KneeFlexion, l.knee_flexion_rad);
        set(Row::AnklePlantarflexion, l.ankle_plantarflexion_rad);
        set(Row::AnkleInversion, l.ankle_inversion_rad);
        let (flexion, bend, turn) = spine_angles(&p.lumbar);
        set(Row::LumbarFlexion, flexion);
        set(Row::LumbarSideBend, bend);
        set(Row::LumbarRotation, turn);
        let (flexion, bend, turn) = spine_angles(&p.neck);
        set(Row::NeckFlexion, flexion);
        set(Row::NeckSideBend, bend);
        set(Row::NeckRotation, turn);
        set(Row::ElbowFlexion, l.elbow_flexion_rad);
        set(Row::ForearmPronation, l.forearm_pronation_rad);
        set(Row::WristFlexion, l.wrist_flexion_rad);
        let turns = varied.then(|| {
            let shoulder = Turn::new(&(scapula.transpose() * l.shoulder)).seen_through(&scapula);
            [Turn::new(&l.hip), shoulder]
        });
        Here {
            leg: [Pose::identity(), Pose::new(l.hip, V3::zeros())],
            arm: [Pose::identity(), g.clavicle, g.scapula, Pose::new(l.shoulder, g.gh_m)],
            sc_m,
            ac_m: g.ac_m,
            gh_m: g.gh_m,
            upward: -g.scapula_normal,
            angle_rad,
            turns,
        }
    }
}

/// Cuts of the arm chain.
const SC: usize = 0;
const AC: usize = 1;
const GH: usize = 2;

fn set_vector(arms: &mut [f64; ROWS], x: Row, v: &V3) {
    arms[x.index()..x.index() + 3].copy_from_slice(v.as_slice());
}

impl HeadModel {
    fn new(tables: &AnatomyTables, head: &Head, index: usize, body: &Body, v: &Variation) -> HeadModel {
        let scaled: Vec<(bool, Path, f64)> =
            head.strands.iter().map(|s| (s.points[0].0.of_leg(), scale_strand(tables, s, body), s.share)).collect();
        let pick = |leg: bool| scaled.iter().filter(|s| s.0 == leg).map(|s| (s.1.clone(), s.2)).collect::<Vec<_>>();
        let (leg, arm) = (pick(true), pick(false));
        let crosses = [SC, AC, GH].map(|cut| arm.iter().any(|(p, _)| p.crosses(cut)));
        let factor = v.hinge_arm_factor.get(index).copied().unwrap_or(1.0);
        let hinge = |t: &super::HingeTable| (t.row, ArmCurve::new(&t.knots, factor * hinge_scale(body, t.row.joint())));
        let mut joints = HeadJoints::default();
        for &j in &head.joints {
            joints.insert(j);
        }
        if crosses[SC] || crosses[AC] {
            joints.insert(Joint::Girdle);
        }
        let (length_scale, volume_scale) = region_scales(body, head.region);
        let fibre_length_m = head.fibre_length_m * length_scale;
        let volume_cm3 = head.volume_cm3 * volume_scale;
        let trained = head.trained_a + v.trained_blend * (head.trained_b - head.trained_a);
        let trained = 1.0 + body.trained_share * (trained - 1.0);
        let strength = trained * v.strength_factor.get(index).copied().unwrap_or(1.0);
        let vector = |list: &[V3]| list.get(index).copied().unwrap_or_else(V3::zeros);
        HeadModel {
            leg,
            arm,
            crosses,
            hinges: head.hinges.iter().map(hinge).collect(),
            anchor: head.anchor_length + v.anchor_offset.get(index).copied().unwrap_or(0.0),
            zero_path_m: 0.0,
            per_length: 1.0 / (fibre_length_m * head.excursion_divisor),
            max_force_n: head.table_force_n() * strength * volume_scale / length_scale,
            volume_cm3,
            fibre_length_m,
            arm_offset_m: vector(&v.arm_offset_m),
            girdle_offset_m: vector(&v.girdle_arm_offset_m),
            joints,
        }
    }

    fn evaluate(&self, here: &Here, law: &FibreLaw, out: &mut HeadState) {
        *out = HeadState::EMPTY;
        let mut path = 0.0;
        if !self.leg.is_empty() {
            let mut pulls = [Pull::default(); 1];
            for (strand, share) in &self.leg {
                path += share * strand.evaluate(&here.leg, *share, &mut pulls);
            }
            // The hip centre is the origin of the common axes.
            let mut arm = pulls[0].moment_m;
            if let Some([hip, _]) = &here.turns {
                path -= self.arm_offset_m.dot(&hip.vector);
                arm += hip.gradient * self.arm_offset_m;
            }
            set_vector(&mut out.arms_m, Row::HipX, &arm);
            out.pull_on_femur = pulls[0].force;
        }
        if !self.arm.is_empty() {
            let mut pulls = [Pull::default(); 3];
            for (strand, share) in &self.arm {
                path += share * strand.evaluate(&here.arm, *share, &mut pulls);
            }
            if self.crosses[GH] {
                let mut arm = pulls[GH].about(&here.gh_m);
                if let Some([_, shoulder]) = &here.turns {
                    path -= self.arm_offset_m.dot(&shoulder.vector);
                    arm += shoulder.gradient * self.arm_offset_m;
                }
                set_vector(&mut out.arms_m, Row::ShoulderX, &arm);
                out.pull_on_humerus = pulls[GH].force;
            }
            if self.crosses[SC] || self.crosses[AC] {
                let sc = pulls[SC].about(&here.sc_m);
                let ac = pulls[AC].about(&here.ac_m);
                // Raising: the collar bone turns, the blade goes along without turning.
                let arms = V3::new(ac.x - sc.x, sc.y, ac.dot(&here.upward)) + self.girdle_offset_m;
                set_vector(&mut out.arms_m, Row::GirdleElevation, &arms);
            }
        }
        let mut length = path;
        for (row, curve) in &self.hinges {
            let (arm, integral) = curve.at(here.angle_rad[row.index()]);
            out.arms_m[row.index()] = arm;
            out.hinge_length_m[row.joint() as usize] -= integral;
            length -= integral;
        }
        out.path_length_m = path;
        out.length_m = length;
        let l = self.anchor + (length - self.zero_path_m) * self.per_length;
        out.fibre_norm = l;
        out.active = law.active(l);
        out.passive = law.passive(l);
        out.max_force_n = self.max_force_n;
    }
}

/// Size of the person's segment for lever arms at a joint, relative to the 1.75 m adult.
fn hinge_scale(body: &Body, joint: Joint) -> f64 {
    let s = &body.path_scale;
    match joint {
        Joint::Hip => s.pelvis,
        Joint::Knee => s.femur,
        Joint::Ankle => s.tibia,
        Joint::Lumbar | Joint::Neck | Joint::Girdle | Joint::Shoulder => s.thorax,
        Joint::Elbow => s.humerus,
        Joint::Forearm | Joint::Wrist => s.forearm,
    }
}

/// (length, volume) of a region relative to the table's man.
fn region_scales(body: &Body, region: Region) -> (f64, f64) {
    let (s, v) = (&body.path_scale, &body.volume_scale);
    match region {
        Region::Hip | Region::Thigh => (s.femur, v.leg),
        Region::Leg => (s.tibia, v.leg),
        Region::Trunk | Region::Girdle => (s.thorax, v.trunk),
        // Neck strength of women relative to men goes with the arm's, not the trunk's (from memory, low).
        Region::Neck | Region::Shoulder => (s.thorax, v.arm),
        Region::Arm => (s.humerus, v.arm),
        Region::Forearm => (s.forearm, v.arm),
    }
}

fn scale_strand(tables: &AnatomyTables, strand: &Strand, body: &Body) -> Path {
    let points = strand
        .points
        .iter()
        .map(|&(bone, x)| PathPoint { body: bone.chain_index(), local_m: scale_point(tables, body, bone, &x) });
    let obstacles: Vec<(usize, Obstacle)> = strand
        .obstacles
        .iter()
        .map(|&(after, bone, o)| {
            let scale = bone_scale(body, bone);
            let moved = match o {
                Obstacle::Sphere { body: b, centre_m, radius_m } => Obstacle::Sphere {
                    body: b,
                    centre_m: scale_point(tables, body, bone, &centre_m),
                    radius_m: radius_m * scale,
                },
                Obstacle::Cylinder { body: b, centre_m, axis, radius_m, side } => Obstacle::Cylinder {
                    body: b,
                    centre_m: scale_point(tables, body, bone, &centre_m),
                    axis,
                    radius_m: radius_m * scale,
                    side,
                },
            };
            (after, moved)
        })
        .collect();
    Path::new(points.collect(), &obstacles).expect("the tables were parsed and their paths checked")
}

fn bone_scale(body: &Body, bone: Bone) -> f64 {
    let s = &body.path_scale;
    match bone {
        Bone::Pelvis => s.pelvis,
        Bone::Femur => s.femur,
        Bone::Tibia => s.tibia,
        Bone::Thorax | Bone::Clavicle | Bone::Scapula => s.thorax,
        Bone::Humerus => s.humerus,
    }
}

/// A table point on this person's bone, m. Tibia points are given in femur axes with a straight knee. Scapula and
/// clavicle follow the person's own joint centres.
fn scale_point(tables: &AnatomyTables, body: &Body, bone: Bone, x: &V3) -> V3 {
    let s = bone_scale(body, bone);
    let own = &tables.path_landmarks;
    match bone {
        Bone::Pelvis | Bone::Femur | Bone::Thorax | Bone::Humerus => x * s,
        Bone::Tibia => x * s - V3::new(0.0, body.thigh_m, 0.0),
        Bone::Scapula => (x - own.gh_m) * s + body.gh_m,
        Bone::Clavicle => {
            let along = own.ac_m - own.sc_m;
            let t = ((x - own.sc_m).dot(&along) / along.norm_squared()).clamp(0.0, 1.0);
            x * s + (body.sc_m - own.sc_m * s) * (1.0 - t) + (body.ac_m - own.ac_m * s) * t
        }
    }
}
