//! The working tree: files by their path under the root.

use crate::Failed;
use std::fs;
use std::path::{Path, PathBuf};

/// Folders that are not part of the repository's text.
const SKIPPED: [&str; 2] = ["target", ".git"];

/// The repository on disk.
pub struct Tree {
    pub root: PathBuf,
}

impl Tree {
    /// The tree this program was built from.
    pub fn here() -> Tree {
        let here = Path::new(env!("CARGO_MANIFEST_DIR"));
        Tree { root: here.parent().unwrap_or(here).to_path_buf() }
    }

    /// Text of a file by its path under the root.
    pub fn text(&self, path: &str) -> Result<String, Failed> {
        fs::read_to_string(self.root.join(path)).map_err(|e| format!("{path}: {e}").into())
    }

    pub fn write(&self, path: &str, text: &str) -> Result<(), Failed> {
        let full = self.root.join(path);
        if let Some(folder) = full.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(full, text).map_err(|e| format!("{path}: {e}").into())
    }

    /// Paths under a folder, with `/`, sorted, that end in one of the endings.
    pub fn files(&self, under: &str, endings: &[&str]) -> Result<Vec<String>, Failed> {
        let mut out = Vec::new();
        self.collect(&self.root.join(under), endings, &mut out)?;
        out.sort();
        Ok(out)
    }

    fn collect(&self, folder: &Path, endings: &[&str], out: &mut Vec<String>) -> Result<(), Failed> {
        for entry in fs::read_dir(folder).map_err(|e| format!("{}: {e}", folder.display()))? {
            let path = entry?.path();
            let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
            if path.is_dir() {
                if !SKIPPED.contains(&name.as_str()) {
                    self.collect(&path, endings, out)?;
                }
            } else if endings.iter().any(|e| name.ends_with(e)) {
                let short = path.strip_prefix(&self.root)?;
                let parts: Vec<_> = short.components().map(|c| c.as_os_str().to_string_lossy()).collect();
                out.push(parts.join("/"));
            }
        }
        Ok(())
    }
}
