//! Lists the studies, so that a new study is one new file.
use std::{env, fs, path::Path};

fn main() {
    let root = Path::new(&env::var("CARGO_MANIFEST_DIR").unwrap_or_default()).join("../../data/evidence/studies");
    println!("cargo:rerun-if-changed={}", root.display());
    let mut names: Vec<String> = fs::read_dir(&root)
        .map(|d| d.flatten().filter_map(|e| e.file_name().into_string().ok()).collect())
        .unwrap_or_default();
    names.retain(|n| n.ends_with(".toml"));
    names.sort();
    let mut out = String::from("/// (path, text) of every shipped study.\npub const STUDIES: &[(&str, &str)] = &[\n");
    for n in &names {
        let path = root.join(n);
        let shown = format!("data/evidence/studies/{n}");
        out.push_str(&format!("    ({shown:?}, include_str!({:?})),\n", path.display().to_string()));
    }
    out.push_str("];\n");
    let to = Path::new(&env::var("OUT_DIR").unwrap_or_default()).join("studies.rs");
    if let Err(e) = fs::write(&to, out) {
        println!("cargo:warning=cannot write {}: {e}", to.display());
    }
}
