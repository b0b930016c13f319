//! Lists the data files, so that `sources` shows exactly what the program was built with.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let here = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").ok_or_else(|| io::Error::other("no manifest folder"))?);
    let data = here.join("../../data").canonicalize()?;
    let mut files = Vec::new();
    collect(&data, &mut files)?;
    files.sort();
    let mut text =
        String::from("/// Path under `data/` and text of every data file.\npub const FILES: &[(&str, &str)] = &[\n");
    for path in &files {
        let short = path.strip_prefix(&data).map_err(io::Error::other)?;
        let short = short.components().map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/");
        writeln!(text, "    ({short:?}, include_str!({:?})),", path.display().to_string()).map_err(io::Error::other)?;
    }
    text.push_str("];\n");
    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no output folder"))?);
    fs::write(out.join("data_files.rs"), text)
}

/// Tables and families under a folder; cargo looks at every folder again when something in it changes.
fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    println!("cargo:rerun-if-changed={}", folder.display());
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else if path.extension().is_some_and(|e| e == "csv" || e == "toml") {
            files.push(path);
        }
    }
    Ok(())
}
