//! Muscle heads: what the tables say, and lengths, lever arms and force of every head in a posture.
//!
//! * [`AnatomyTables::parse`] reads the tables of `data/anatomy/` (texts handed in by the caller) and reports all
//!   problems of all tables at once.
//! * [`MuscleModel::new`] fits them to a [`crate::body::Body`] and to a [`Variation`] of the uncertain numbers.
//! * [`MuscleModel::evaluate`] gives every wanted head's length, lever arms and fibre force factors in a posture.
//!
//! Conventions: a lever arm is positive when the muscle turns the joint in the row's positive direction, r = −∂L/∂q.
//! Hip and shoulder arms are vectors in the axes of pelvis and thorax. Everything is written for the right side; a
//! left side is evaluated in its mirrored posture ([`crate::skeleton::SidePosture`]).
//!
//! Force of a head: F = F₀·(a·f_L(l) + f_P(l)), F₀ = PCSA·tension·trained factor, PCSA = volume·cos(pennation)/fibre
//! length: the cosine of pennation appears once.

mod anchors;
mod curve;
mod force;
mod model;
mod parse;
mod pull;
pub(crate) mod table;
mod variation;

pub use anchors::{ShoulderAnchor, range_postures, shoulder_anchors};
pub use force::FibreLaw;
pub use model::{HeadParts, HeadState, MuscleFrame, MuscleModel};
pub use pull::LinesOfPull;
pub use table::{Problem, TableError};
pub use variation::{Spread, Variation};

use crate::path::Obstacle;
use crate::skeleton::{Joint, Row};
use units::V3;

/// Part of the body a head belongs to: decides which size factor of the person applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Region {
    Hip,
    Thigh,
    Leg,
    Trunk,
    Neck,
    Girdle,
    Shoulder,
    Arm,
    Forearm,
}

impl Region {
    pub const ALL: [Region; 9] = [
        Region::Hip,
        Region::Thigh,
        Region::Leg,
        Region::Trunk,
        Region::Neck,
        Region::Girdle,
        Region::Shoulder,
        Region::Arm,
        Region::Forearm,
    ];

    pub fn id(self) -> &'static str {
        match self {
            Region::Hip => "hip",
            Region::Thigh => "thigh",
            Region::Leg => "leg",
            Region::Trunk => "trunk",
            Region::Neck => "neck",
            Region::Girdle => "girdle",
            Region::Shoulder => "shoulder",
            Region::Arm => "arm",
            Region::Forearm => "forearm",
        }
    }
}

/// A bone that carries path points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bone {
    Pelvis,
    Femur,
    Tibia,
    Thorax,
    Clavicle,
    Scapula,
    Humerus,
}

impl Bone {
    pub const ALL: [Bone; 7] =
        [Bone::Pelvis, Bone::Femur, Bone::Tibia, Bone::Thorax, Bone::Clavicle, Bone::Scapula, Bone::Humerus];

    pub fn id(self) -> &'static str {
        match self {
            Bone::Pelvis => "pelvis",
            Bone::Femur => "femur",
            Bone::Tibia => "tibia",
            Bone::Thorax => "thorax",
            Bone::Clavicle => "clavicle",
            Bone::Scapula => "scapula",
            Bone::Humerus => "humerus",
        }
    }

    /// Place in its chain: pelvis 0, femur and tibia 1 (paths see a straight knee); thorax 0 … humerus 3.
    fn chain_index(self) -> usize {
        match self {
            Bone::Pelvis | Bone::Thorax => 0,
            Bone::Femur | Bone::Tibia | Bone::Clavicle => 1,
            Bone::Scapula => 2,
            Bone::Humerus => 3,
        }
    }

    fn of_leg(self) -> bool {
        matches!(self, Bone::Pelvis | Bone::Femur | Bone::Tibia)
    }
}

/// Index into [`AnatomyTables::sources`].
pub type SourceIndex = usize;

/// Where a number comes from and how it is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    pub id: String,
    pub citation: String,
    /// `looked-up`, `from-memory` with a confidence, `own-estimate`, `fitted`, or a mixture in words.
    pub how: String,
}

/// A strand of a head: a path with a share of the head's force.
#[derive(Clone, Debug, PartialEq)]
pub struct Strand {
    pub name: String,
    /// Shares of one head add up to 1.
    pub share: f64,
    /// Points in order from the origin, coordinates of a 1.75 m adult, m; tibia points in the tibia's own axes.
    pub points: Vec<(Bone, V3)>,
    /// Obstacle after point i, on a bone; the body number inside is the place of the bone in its chain.
    pub obstacles: Vec<(usize, Bone, Obstacle)>,
    pub source: SourceIndex,
}

/// Tabulated lever arm of a hinge or spine axis.
#[derive(Clone, Debug, PartialEq)]
pub struct HingeTable {
    pub row: Row,
    /// (angle in rad, lever arm in m), increasing angle, at least 2.
    pub knots: Vec<(f64, f64)>,
    /// Spread of the arm, m: mean of the table's rows.
    pub sd_m: f64,
    pub source: SourceIndex,
}

/// Sources of a head's numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeadSources {
    pub volume: SourceIndex,
    pub fibre: SourceIndex,
    pub anchor: SourceIndex,
    pub divisor: SourceIndex,
    pub strength: SourceIndex,
}

/// A muscle head as the tables give it: right side of a young man of 1.75 m and 75 kg.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// Binding id, used in files and JSON.
    pub id: String,
    pub latin: String,
    /// Coach's name.
    pub plain: String,
    pub region: Region,
    /// Joints the head acts on, nearest to the origin first.
    pub joints: Vec<Joint>,
    /// Crosses two joints or more.
    pub two_joint: bool,
    /// One of the seven two-joint muscles that coaches programme for size (common practice, no source).
    pub two_joint_for_size: bool,
    pub superficial: bool,
    /// Girdle, rotator cuff and neck: answers carry the mark "low confidence".
    pub confidence_low: bool,
    pub volume_cm3: f64,
    pub volume_sd_cm3: f64,
    /// Optimal fibre length, m.
    pub fibre_length_m: f64,
    pub pennation_rad: f64,
    pub tension_class: String,
    /// Effective tension of the class, N/cm².
    pub tension_n_cm2: f64,
    /// Normalised length of the active fibre in the zero posture (standing, ankle at a right angle, thumb forward).
    pub anchor_length: f64,
    /// The same from measured sarcomere lengths or own estimate, before any fit.
    pub anchor_unfitted: f64,
    /// Path change per fibre-length change (tendon stretch, fibre rotation).
    pub excursion_divisor: f64,
    /// Half-width of the uncertainty of path lever arms, m.
    pub arm_uncertainty_m: f64,
    /// Force of a trained man relative to the table: by isometric torques (A), by plausible training loads (B).
    pub trained_a: f64,
    pub trained_b: f64,
    /// For shoulder heads: normalised length given to the middle of the range ([`shoulder_anchors`]).
    pub range_centre: Option<f64>,
    pub strands: Vec<Strand>,
    pub hinges: Vec<HingeTable>,
    pub sources: HeadSources,
    pub note: String,
}

impl Head {
    /// Physiological cross-section, cm²: volume·cos(pennation)/fibre length.
    pub fn pcsa_cm2(&self) -> f64 {
        self.volume_cm3 * self.pennation_rad.cos() / (self.fibre_length_m * 100.0)
    }
    /// Force at optimal length before any training or body factor, N.
    pub fn table_force_n(&self) -> f64 {
        self.pcsa_cm2() * self.tension_n_cm2
    }
    /// Whether the head acts on a joint.
    pub fn crosses(&self, joint: Joint) -> bool {
        self.joints.contains(&joint)
    }
    /// The joint to which changes of the path's length are booked: hip; shoulder; or girdle for heads that end on
    /// the scapula or clavicle. `None` without a path.
    pub fn path_joint(&self) -> Option<Joint> {
        let last = self.strands.first()?.points.last()?.0;
        Some(match last {
            Bone::Pelvis | Bone::Femur | Bone::Tibia => Joint::Hip,
            Bone::Humerus => Joint::Shoulder,
            Bone::Thorax | Bone::Clavicle | Bone::Scapula => Joint::Girdle,
        })
    }
}

/// All tables of the muscle heads, parsed and checked.
#[derive(Clone, Debug, PartialEq)]
pub struct AnatomyTables {
    pub heads: Vec<Head>,
    pub sources: Vec<Source>,
    pub fibre_law: FibreLaw,
    pub lines_of_pull: LinesOfPull,
    /// Spread (standard deviation of the logarithm) of a head's strength.
    pub strength_sd: f64,
    /// Upper limit of the relative spread of hinge arms.
    pub hinge_arm_sd_limit: f64,
    /// Spread of a length anchor, in fibre lengths.
    pub anchor_sd: f64,
    /// Sternoclavicular, acromioclavicular and glenohumeral centres of the path tables, thorax axes at rest, m.
    pub(crate) path_landmarks: PathLandmarks,
}

/// Joint centres of the 1.75 m adult of the path tables, thorax axes at rest, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PathLandmarks {
    pub sc_m: V3,
    pub ac_m: V3,
    pub gh_m: V3,
}

impl AnatomyTables {
    /// Index of a head by its id.
    pub fn head_index(&self, id: &str) -> Option<usize> {
        self.heads.iter().position(|h| h.id == id)
    }
    /// A source by its index in a head, strand or table.
    pub fn source(&self, index: SourceIndex) -> &Source {
        &self.sources[index]
    }
}

/// A set of heads by index (at most 128).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct HeadMask(u128);

impl HeadMask {
    /// Largest number of heads.
    pub const CAPACITY: usize = 128;

    pub fn none() -> HeadMask {
        HeadMask(0)
    }
    /// The first `count` heads.
    pub fn all(count: usize) -> HeadMask {
        HeadMask(if count >= Self::CAPACITY { u128::MAX } else { (1 << count) - 1 })
    }
    pub fn insert(&mut self, head: usize) {
        self.0 |= 1 << head;
    }
    pub fn contains(self, head: usize) -> bool {
        head < Self::CAPACITY && self.0 >> head & 1 == 1
    }
    pub fn union(self, other: HeadMask) -> HeadMask {
        HeadMask(self.0 | other.0)
    }
    pub fn len(self) -> usize {
        self.0.count_ones() as usize
    }
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }
    /// Heads of the set in increasing order.
    pub fn iter(self) -> impl Iterator<Item = usize> {
        let mut rest = self.0;
        std::iter::from_fn(move || {
            (rest != 0).then(|| {
                let i = rest.trailing_zeros() as usize;
                rest &= rest - 1;
                i
            })
        })
    }
}

/// The row of a dotted axis (`knee.flexion`) that lever-arm tables may use.
pub fn hinge_row(axis: &str) -> Option<Row> {
    HINGE_AXES.iter().find(|(name, _)| *name == axis).map(|&(_, row)| row)
}

/// Dotted names of the tabulated axes.
pub const HINGE_AXES: [(&str, Row); 12] = [
    ("knee.flexion", Row::KneeFlexion),
    ("ankle.plantarflexion", Row::AnklePlantarflexion),
    ("ankle.inversion", Row::AnkleInversion),
    ("lumbar.flexion", Row::LumbarFlexion),
    ("lumbar.side-bend", Row::LumbarSideBend),
    ("lumbar.rotation", Row::LumbarRotation),
    ("neck.flexion", Row::NeckFlexion),
    ("neck.side-bend", Row::NeckSideBend),
    ("neck.rotation", Row::NeckRotation),
    ("elbow.flexion", Row::ElbowFlexion),
    ("forearm.pronation", Row::ForearmPronation),
    ("wrist.flexion", Row::WristFlexion),
];
