//! The data files the program was built with.

use crate::problem::Report;

include!(concat!(env!("OUT_DIR"), "/data_files.rs"));

/// Text of a data file by its path under `data/`.
pub fn text(path: &str) -> Result<&'static str, Report> {
    let found = FILES.iter().find(|(p, _)| *p == path).map(|(_, text)| *text);
    found.ok_or_else(|| Report::internal(format!("data/{path} is not in this build")))
}
