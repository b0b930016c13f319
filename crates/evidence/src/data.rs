//! Data compiled into the program.

use std::collections::BTreeMap;

include!(concat!(env!("OUT_DIR"), "/studies.rs"));

pub const CONSTANTS: &str = include_str!("../../../data/evidence/constants.csv");
pub const CALIBRATION: &str = include_str!("../../../data/evidence/calibration.csv");
pub const REASONS: &str = include_str!("../../../data/evidence/reasons.csv");
pub const READINGS: &str = include_str!("../../../data/evidence/condition_map.csv");
pub const TRIAL_MOVEMENTS: &str = include_str!("../../../data/evidence/trial_movements.csv");
pub const TRIALS: &str = include_str!("../../../data/evidence/trials.csv");

/// Column `value` by `key`.
pub fn constants(text: &str) -> BTreeMap<String, f64> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.records().flatten().filter_map(|r| Some((r.get(0)?.to_string(), r.get(1)?.parse::<f64>().ok()?))).collect()
}
