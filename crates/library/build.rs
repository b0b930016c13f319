//! Lists the family files, so that a new family is one new file.
use std::{env, fs, path::Path};

fn main() {
    let root = Path::new(&env::var("CARGO_MANIFEST_DIR").unwrap_or_default()).join("../../data/movements/families");
    println!("cargo:rerun-if-changed={}", root.display());
    let mut names: Vec<String> = fs::read_dir(&root)
        .map(|d| d.flatten().filter_map(|e| e.file_name().into_string().ok()).collect())
        .unwrap_or_default();
    names.retain(|n| n.ends_with(".toml"));
    names.sort();
    let mut out =
        String::from("/// (family id, file text) of every shipped family.\npub const FAMILIES: &[(&str, &str)] = &[\n");
    for n in &names {
        let path = root.join(n);
        out.push_str(&format!(
            "    ({:?}, include_str!({:?})),\n",
            n.trim_end_matches(".toml"),
            path.display().to_string()
        ));
    }
    out.push_str("];\n");
    let to = Path::new(&env::var("OUT_DIR").unwrap_or_default()).join("families.rs");
    if let Err(e) = fs::write(&to, out) {
        println!("cargo:warning=cannot write {}: {e}", to.display());
    }
}
