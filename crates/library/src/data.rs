//! Data compiled into the program.

include!(concat!(env!("OUT_DIR"), "/families.rs"));

macro_rules! table {
    ($path:literal) => {
        ($path, include_str!(concat!("../../../data/", $path)))
    };
}

/// Tables of the muscle heads.
pub const ANATOMY: &[(&str, &str)] = &[
    table!("anatomy/heads.csv"),
    table!("anatomy/hinge_arms.csv"),
    table!("anatomy/paths.csv"),
    table!("anatomy/obstacles.csv"),
    table!("anatomy/tension_classes.csv"),
    table!("anatomy/strength.csv"),
    table!("anatomy/shoulder_anchors.csv"),
    table!("anatomy/joint_centres.csv"),
    table!("anatomy/lines_of_pull.csv"),
    table!("anatomy/constants.csv"),
    table!("anatomy/sources.csv"),
];

pub const JOINT_RANGES: (&str, &str) = table!("anatomy/joint_ranges.csv");
pub const HEAD_GROUPS: &str = table!("anatomy/head_groups.csv").1;
pub const STOPS: &str = table!("mechanics/stops.csv").1;
pub const POSTURE_SPREAD: &str = table!("stimulus/posture_spread.csv").1;
pub const RULES: &str = table!("stimulus/rules.csv").1;
pub const MOVEMENTS: &str = table!("movements/movements.csv").1;
pub const FAMILY_SETTINGS: &str = table!("movements/family_settings.csv").1;
pub const FAMILY_FAULTS: (&str, &str) = table!("movements/family_faults.csv");
pub const SEARCHABLE_SETTINGS: (&str, &str) = table!("movements/searchable_settings.csv");
pub const KITS: &str = table!("movements/kits.csv").1;
pub const LOAD_BANDS: &str = table!("movements/load_bands.csv").1;
pub const SHEET_SHORTHAND: &str = table!("movements/sheet_shorthand.csv").1;
pub const AMBIGUOUS_TERMS: &str = table!("movements/ambiguous_terms.csv").1;
pub const CHECKED: &str = table!("movements/checked.csv").1;
pub const REFERENCE_MOVEMENTS: &str = table!("reference/reference_movements.csv").1;
pub const REFERENCE_VALUES: &str = table!("reference/reference_values.csv").1;
