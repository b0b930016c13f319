//! Postures of experiments that no movement of the library has, as family files beside the cases.

use library::{AskError, Library};
use std::sync::OnceLock;

macro_rules! posture {
    ($id:literal) => {
        ($id, include_str!(concat!("../../../data/proof/postures/", $id, ".toml")))
    };
}

/// (family id, file). Each is also a movement of the same name with the settings of the file.
const POSTURES: &[(&str, &str)] = &[
    posture!("one-leg-stance"),
    posture!("standing-hold"),
    posture!("elbow-bend"),
    posture!("forearm-turn"),
    posture!("scaption-push"),
    posture!("outward-push"),
    posture!("heel-push"),
    posture!("strap-squat"),
    posture!("hung-shin"),
    posture!("hanging-arm"),
];

/// The shipped library with the postures.
///
/// # Errors
/// A posture file that does not parse, with line and column.
pub fn library() -> Result<&'static Library, String> {
    static LIBRARY: OnceLock<Result<Library, String>> = OnceLock::new();
    LIBRARY.get_or_init(|| load().map_err(|e| e.to_string())).as_ref().map_err(Clone::clone)
}

fn load() -> Result<Library, AskError> {
    let mut files: Vec<(String, String)> =
        POSTURES.iter().map(|(id, text)| (format!("data/proof/postures/{id}.toml"), (*text).to_string())).collect();
    let mut rows = String::from("id,name,family,settings\n");
    for (id, _) in POSTURES {
        // Columns of the list of movements; what a posture has no use for stays empty.
        rows.push_str(&format!("{id},{id},{id},,,bilateral,,,1,30,,,,own-estimate,,\n"));
    }
    files.push(("movements.csv".into(), rows));
    Library::with(&files)
}
