//! Files in and out, with plain words when it does not work.

use crate::problem::{Problem, Report};
use std::io::{ErrorKind, Read, Write};
use std::path::Path;

/// Largest input read, bytes: a coach's workbook has well under one megabyte.
pub const MOST_BYTES: u64 = 32 * 1024 * 1024;

/// Why reading or writing failed, in a coach's words.
fn because(e: &std::io::Error) -> String {
    match e.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "no permission".into(),
        ErrorKind::IsADirectory => "this is a folder, not a file".into(),
        ErrorKind::AlreadyExists => "it exists already and is not overwritten".into(),
        ErrorKind::StorageFull => "the disk is full".into(),
        _ => e.to_string(),
    }
}

fn problem(path: &Path, doing: &str, e: &std::io::Error) -> Report {
    let remedy = match e.kind() {
        ErrorKind::NotFound if doing == "read" => "check the name and the folder you are in",
        ErrorKind::AlreadyExists => "choose another name, or remove the old file first",
        _ => "",
    };
    Problem::error(path.display().to_string(), format!("cannot {doing} it: {}", because(e))).remedy(remedy).into()
}

/// Bytes of a file up to [`MOST_BYTES`].
pub fn read(path: &Path) -> Result<Vec<u8>, Report> {
    let file = std::fs::File::open(path).map_err(|e| problem(path, "read", &e))?;
    let mut bytes = Vec::new();
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|e| problem(path, "read", &e))?;
    if bytes.len() as u64 > MOST_BYTES {
        let limit = MOST_BYTES / (1024 * 1024);
        let too_big = Problem::error(path.display().to_string(), format!("the file is larger than {limit} MB"));
        return Err(too_big.remedy("save the sheet with the plan alone in a new workbook").into());
    }
    Ok(bytes)
}

/// Text of a file; must be UTF-8.
pub fn read_text(path: &Path) -> Result<String, Report> {
    text(&path.display().to_string(), read(path)?)
}

/// Every `.toml` and `.csv` of a folder and its direct subfolders, as (path, text), in the order of their names.
pub fn folder(path: &Path) -> Result<Vec<(String, String)>, Report> {
    let list = |p: &Path| -> Result<Vec<std::path::PathBuf>, Report> {
        let entries = std::fs::read_dir(p).map_err(|e| problem(p, "read", &e))?;
        let mut all: Vec<_> = entries.flatten().map(|e| e.path()).collect();
        all.sort();
        Ok(all)
    };
    let mut out = Vec::new();
    for entry in list(path)? {
        let files = if entry.is_dir() { list(&entry)? } else { vec![entry] };
        for f in files.iter().filter(|f| matches!(extension(f).as_str(), "toml" | "csv")) {
            out.push((f.display().to_string(), read_text(f)?));
        }
    }
    Ok(out)
}

/// Bytes of the file `name` as text; must be UTF-8.
pub fn text(name: &str, bytes: Vec<u8>) -> Result<String, Report> {
    String::from_utf8(bytes).map_err(|e| {
        let bytes = e.as_bytes();
        let at = e.utf8_error().valid_up_to();
        let line = 1 + bytes[..at].iter().filter(|b| **b == b'\n').count();
        let problem = Problem::error(format!("{name}:{line}"), "the file is not UTF-8 text");
        problem.remedy("save it as plain text with UTF-8 encoding").into()
    })
}

/// Writes a whole file, over an older one.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Report> {
    std::fs::write(path, bytes).map_err(|e| problem(path, "write", &e))
}

/// Writes a file that must not be there yet.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Report> {
    let made = std::fs::OpenOptions::new().write(true).create_new(true).open(path);
    made.and_then(|mut f| f.write_all(bytes)).map_err(|e| problem(path, "write", &e))
}

/// Makes a folder with all its parents.
pub fn make_folder(path: &Path) -> Result<(), Report> {
    std::fs::create_dir_all(path).map_err(|e| problem(path, "make", &e))
}

/// Lower-case extension, empty when there is none.
pub fn extension(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}
