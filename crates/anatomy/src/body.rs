//! A person's segments: lengths, masses, inertia, joint centres.
//!
//! * [`BodyTables::parse`] reads the tables of `data/body/`.
//! * [`BodySpec`] says who: sex, stature, mass, and any tape measures; [`Body::new`] builds the body, or says why such a
//!   body is impossible, and gives the percentile of every proportion.
//! * [`BodySampler`] draws bodies of people who would give the same measures.
//!
//! Lengths run between joint centres (de Leva 1996); a tape runs between landmarks of the skin. The two are never
//! mixed: a tape changes the joint-centre length in the ratio tape : mean tape length at that stature. Fractions of a
//! length at which a centre of mass lies belong to joint-centre lengths only.

mod build;
mod parse;
mod percentile;
mod sample;
mod segments;
mod spec;
mod tables;

pub use build::{BodyReport, LengthEstimate};
pub use percentile::{Proportion, normal_cumulative};
pub use sample::{BODY_DIMENSIONS, BodySampler, BodySpread, DIMENSION_NAMES};
pub use segments::{centre_between, inertia_about};
pub use spec::{BodyError, BodyProblem, BodySpec, Tape, Training};
pub use tables::{
    BodyConstants, BodyTables, Distribution, LandmarkLength, Prediction, SegmentRow, SexTables, WinterRow,
};

use crate::skeleton::SEGMENTS;
use units::{M3, V3};

/// Sex, as the anthropometric tables use the word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
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
    /// How much of the trained strength factors applies: 0 untrained, 1 in full.
    pub trained_share: f64,
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

/// A length of the body that differs between people of one stature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    Thigh,
    Shank,
    /// Hips to sternal notch.
    Trunk,
    UpperArm,
    Forearm,
    /// Wrist to the third knuckle.
    Hand,
    /// Heel to the longest toe.
    Foot,
    /// Acromion to acromion.
    ShoulderBreadth,
    /// Iliac crest to iliac crest.
    HipBreadth,
}

impl Part {
    pub const COUNT: usize = 9;
    pub const ALL: [Part; Part::COUNT] = [
        Part::Thigh,
        Part::Shank,
        Part::Trunk,
        Part::UpperArm,
        Part::Forearm,
        Part::Hand,
        Part::Foot,
        Part::ShoulderBreadth,
        Part::HipBreadth,
    ];

    /// Place in [`Part::ALL`].
    pub fn index(self) -> usize {
        self as usize
    }

    /// Name in data files and reports.
    pub fn id(self) -> &'static str {
        match self {
            Part::Thigh => "thigh",
            Part::Shank => "shank",
            Part::Trunk => "trunk",
            Part::UpperArm => "upper-arm",
            Part::Forearm => "forearm",
            Part::Hand => "hand",
            Part::Foot => "foot",
            Part::ShoulderBreadth => "biacromial",
            Part::HipBreadth => "bicristal",
        }
    }

    /// The landmark length of the survey that tells about this part.
    pub fn landmark(self) -> &'static str {
        match self {
            Part::Hand => "hand-length",
            Part::Foot => "foot-length",
            Part::ShoulderBreadth => "biacromial-breadth",
            Part::HipBreadth => "bicristal-breadth",
            other => other.id(),
        }
    }

    /// The segment whose joint-centre length this is; `None` where the landmark length itself is used.
    fn segment(self) -> Option<&'static str> {
        match self {
            Part::Foot | Part::ShoulderBreadth | Part::HipBreadth => None,
            other => Some(other.id()),
        }
    }
}

impl Body {
    /// A man of 1.75 m and 75 kg, trained: the person the muscle tables were written for.
    pub fn average_man() -> Body {
        let c = &BodyTables::shipped().constants;
        Body::from_fractions(Sex::Male, c.reference_stature_m, c.reference_mass_kg)
    }

    /// A trained body by plain length fractions of stature (de Leva 1996; breadths and feet by the survey's
    /// regression), for quick trials. Nothing is checked: for a person use [`Body::new`].
    pub fn from_fractions(sex: Sex, stature_m: f64, mass_kg: f64) -> Body {
        let tables = BodyTables::shipped();
        let lengths_m = build::fraction_lengths(tables, sex, stature_m);
        segments::assemble(
            tables,
            &segments::Person { sex, stature_m, mass_kg, age_years: None, trained_share: 1.0 },
            &lengths_m,
        )
    }

    /// Sum of the segment masses, kg.
    pub fn total_mass_kg(&self) -> f64 {
        self.inertia.iter().map(|s| s.mass_kg).sum()
    }

    /// Height of the vertex over the sole with straight legs and upright trunk, m. Segment lengths come from several
    /// samples: it misses the stature by a centimetre or two.
    pub fn standing_height_m(&self) -> f64 {
        self.ankle_height_m
            + self.shank_m
            + self.thigh_m
            + self.lumbar_m.y
            + self.notch_from_lumbar_m.y
            + self.neck_m.y
            + self.head_m
    }

    /// Muscle volume relative to the start table with training, for showing sizes. Strength has its own trained
    /// factors, which contain this growth: never use both.
    pub fn trained_volume_scale(&self, tables: &BodyTables) -> VolumeScale {
        let f = 1.0 + self.trained_share * (tables.constants.trained_volume - 1.0);
        let v = self.volume_scale;
        VolumeScale { leg: v.leg * f, arm: v.arm * f, trunk: v.trunk * f }
    }
}
