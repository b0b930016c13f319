//! Tables of body measures: parsed from the texts of `data/body/`, every problem reported with file and line.
//!
//! 1. de Leva 1996, J Biomech 29:1223–1230: masses, centres of mass, radii of gyration, joint-centre lengths.
//! 2. Dempster 1955 as tabulated by Winter: the older set, kept for worked examples and comparison.
//! 3. Gordon et al. 2014 (ANSUR II): landmark lengths of 4,082 men and 1,986 women, regressions, percentiles, and how
//!    the proportions vary together.

use super::{Part, Sex, Tape};
use crate::heads::Problem;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Parts, sitting height and span: what varies together at one stature.
pub(super) const MEASURES: usize = Part::COUNT + 2;

/// Mass properties of one segment, relative to body mass and to the segment's own length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SegmentRow {
    pub mass_fraction: f64,
    /// Centre of mass from the first endpoint, part of the length.
    pub com_from_first: f64,
    /// Radii of gyration about axes through the centre of mass, parts of the length.
    pub rg_anteroposterior: f64,
    pub rg_mediolateral: f64,
    pub rg_longitudinal: f64,
    /// Length between the endpoints, part of stature; `None` where the table gives no length.
    pub length_fraction: Option<f64>,
}

/// A segment of the Dempster–Winter table; radii are about a transverse axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WinterRow {
    pub mass_fraction: f64,
    pub com_from_proximal: f64,
    /// `None` where the table leaves a blank.
    pub rg_com: Option<f64>,
    pub rg_proximal: Option<f64>,
    pub rg_distal: Option<f64>,
    pub density_kg_m3: Option<f64>,
}

/// Mean, spread and percentiles of one quantity in a population.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distribution {
    pub mean: f64,
    pub sd: f64,
    pub p5: f64,
    pub p50: f64,
    pub p95: f64,
}

/// A length between landmarks of the skin in ANSUR II, m.
#[derive(Clone, Debug, PartialEq)]
pub struct LandmarkLength {
    pub length_m: Distribution,
    /// The same as part of stature.
    pub ratio: Distribution,
    /// Mean length = per_stature × stature + intercept_m.
    pub per_stature: f64,
    pub intercept_m: f64,
    /// Spread about that line, m.
    pub residual_sd_m: f64,
    /// What the tape runs between.
    pub endpoints: String,
}

impl LandmarkLength {
    /// Mean length at a stature, m.
    pub fn at_m(&self, stature_m: f64) -> f64 {
        self.per_stature * stature_m + self.intercept_m
    }
}

/// Mean of a landmark length from stature and one or two further measures.
#[derive(Clone, Debug, PartialEq)]
pub struct Prediction {
    pub target: String,
    pub intercept_m: f64,
    pub per_stature: f64,
    /// Further measures with their slopes.
    pub further: Vec<(String, f64)>,
    pub residual_sd_m: f64,
}

/// What is known of one sex.
#[derive(Clone, Debug)]
pub struct SexTables {
    pub segments: BTreeMap<String, SegmentRow>,
    pub lengths: BTreeMap<String, LandmarkLength>,
    /// Stature (m), body mass (kg), body-mass index (kg/m²), age (years), girths (m), indices (1), by name.
    pub population: BTreeMap<String, Distribution>,
    pub predictions: Vec<Prediction>,
    /// Means of a civil population: `stature_m`, `mass_kg` (NHANES).
    pub civil_mean: BTreeMap<String, f64>,
    /// Correlation at equal stature of the parts ([`Part::ALL`] order), sitting height and span.
    pub(super) correlation: [[f64; MEASURES]; MEASURES],
}

macro_rules! constants {
    ($($name:ident),* $(,)?) => {
        /// Numbers of `body_constants.csv`; unit, meaning and source of each stand in the file.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct BodyConstants { $(#[allow(missing_docs)] pub $name: f64,)* }
        impl BodyConstants {
            pub(super) const NAMES: &[&str] = &[$(stringify!($name)),*];
            pub(super) fn slot(&mut self, name: &str) -> Option<&mut f64> {
                match name { $(stringify!($name) => Some(&mut self.$name),)* _ => None }
            }
        }
    };
}

constants!(
    reference_stature_m,
    reference_mass_kg,
    notch_x_mm,
    trunk_axis_x_mm,
    head_com_x_mm,
    foot_com_height,
    trunk_depth_mm,
    grip_mm,
    leg_volume_slope,
    leg_volume_intercept,
    excess_bmi,
    excess_share,
    woman_stature_m,
    woman_mass_kg,
    woman_arm,
    woman_trunk,
    age_from_years,
    age_to_years,
    age_loss_leg,
    age_loss_arm,
    age_loss_trunk,
    trained_full_years,
    trained_volume,
    stature_low_m,
    stature_high_m,
    mass_low_kg,
    mass_high_kg,
    bmi_low,
    bmi_high,
    age_low_years,
    age_high_years,
    tape_limit_sd,
    closure_note,
);

/// Joint centres and bone points of the reference man, m; frames as in [`crate::skeleton`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Landmarks {
    pub sc_m: units::V3,
    pub ac_m: units::V3,
    pub gh_m: units::V3,
    pub acromial_angle_m: units::V3,
    pub spine_root_m: units::V3,
    pub inferior_angle_m: units::V3,
    pub half_hip_m: f64,
    pub lumbar_m: units::V3,
    pub neck_m: units::V3,
    pub heel_x_m: f64,
}

/// All tables a body is built from.
#[derive(Clone, Debug)]
pub struct BodyTables {
    men: SexTables,
    women: SexTables,
    winter: BTreeMap<String, WinterRow>,
    pub constants: BodyConstants,
    /// Standard error of a tape measure in [`Tape::ALL`] order, m.
    pub(super) tape_error_m: [f64; Tape::ALL.len()],
    pub(super) landmarks: Landmarks,
}

/// Segments every sex must have.
pub(super) const SEGMENT_NAMES: [&str; 11] = [
    "head-(to-c7)",
    "trunk",
    "upper-trunk",
    "middle-trunk",
    "lower-trunk",
    "upper-arm",
    "forearm",
    "hand",
    "thigh",
    "shank",
    "foot",
];

/// Lengths every sex must have, besides those of the parts.
pub(super) const LENGTH_NAMES: [&str; 7] = [
    "ankle-height",
    "ball-of-foot-length",
    "cervicale-height",
    "trochanterion-height",
    "acromial-height",
    "sitting-height",
    "arm-span",
];

/// Distributions every sex must have.
pub(super) const POPULATION_NAMES: [&str; 3] = ["stature", "body-mass", "bmi"];

impl BodyTables {
    /// Names of the files that [`BodyTables::parse`] wants; `joint_centres.csv` stands in `data/anatomy/`, the others
    /// in `data/body/`.
    pub const FILES: [&'static str; 11] = [
        "segments_de_leva.csv",
        "sample_de_leva.csv",
        "segments_dempster_winter.csv",
        "ansur_lengths.csv",
        "ansur_population.csv",
        "ansur_predict.csv",
        "ansur_joint.csv",
        "nhanes.csv",
        "tape_error.csv",
        "body_constants.csv",
        "joint_centres.csv",
    ];

    /// Tables from (label, text) pairs, as [`crate::heads::AnatomyTables::parse`]. Errors: every problem of every file.
    pub fn parse(files: &[(&str, &str)]) -> Result<BodyTables, Vec<Problem>> {
        super::parse::parse(files)
    }

    /// The tables compiled into the program: the bodies of [`super::Body::average_man`] and
    /// [`super::Body::from_fractions`] come from them.
    pub fn shipped() -> &'static BodyTables {
        static SHIPPED: LazyLock<BodyTables> =
            LazyLock::new(|| BodyTables::parse(&shipped_files()).expect("a test parses the shipped tables"));
        &SHIPPED
    }

    /// Everything known of one sex.
    pub fn of(&self, sex: Sex) -> &SexTables {
        match sex {
            Sex::Male => &self.men,
            Sex::Female => &self.women,
        }
    }

    /// A segment of the Dempster–Winter table by name (`thigh`, `leg`, `foot`, …).
    pub fn winter(&self, segment: &str) -> Option<&WinterRow> {
        self.winter.get(segment)
    }

    pub(super) fn new(
        sexes: [SexTables; 2],
        winter: BTreeMap<String, WinterRow>,
        constants: BodyConstants,
        tape_error_m: [f64; Tape::ALL.len()],
        landmarks: Landmarks,
    ) -> BodyTables {
        let [men, women] = sexes;
        BodyTables { men, women, winter, constants, tape_error_m, landmarks }
    }
}

impl SexTables {
    /// A segment that [`BodyTables::parse`] has made sure of.
    pub(super) fn segment(&self, name: &str) -> &SegmentRow {
        self.segments.get(name).expect("required segments are checked when the tables are parsed")
    }
    /// A landmark length that [`BodyTables::parse`] has made sure of.
    pub(super) fn length(&self, name: &str) -> &LandmarkLength {
        self.lengths.get(name).expect("required lengths are checked when the tables are parsed")
    }
    /// A distribution that [`BodyTables::parse`] has made sure of.
    pub(super) fn spread(&self, name: &str) -> &Distribution {
        self.population.get(name).expect("required distributions are checked when the tables are parsed")
    }
}

/// (label, text) of the tables compiled into the program.
fn shipped_files() -> [(&'static str, &'static str); 11] {
    macro_rules! file {
        ($folder:literal, $name:literal) => {
            (concat!("data/", $folder, "/", $name), include_str!(concat!("../../../../data/", $folder, "/", $name)))
        };
    }
    [
        file!("body", "segments_de_leva.csv"),
        file!("body", "sample_de_leva.csv"),
        file!("body", "segments_dempster_winter.csv"),
        file!("body", "ansur_lengths.csv"),
        file!("body", "ansur_population.csv"),
        file!("body", "ansur_predict.csv"),
        file!("body", "ansur_joint.csv"),
        file!("body", "nhanes.csv"),
        file!("body", "tape_error.csv"),
        file!("body", "body_constants.csv"),
        file!("anatomy", "joint_centres.csv"),
    ]
}
