//! Where every number comes from.

use serde::{Deserialize, Serialize};

/// Answer to `sources` without an id: one row a data file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SourceFile {
    /// Path under `data/`.
    pub file: String,
    pub rows: usize,
    /// Rows by how the number is known ("looked-up", "from memory", …), most frequent first.
    pub how: Vec<(String, usize)>,
}

/// A data row that names what was asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SourceRow {
    pub file: String,
    /// 1-based.
    pub line: usize,
    /// Column and value, in the order of the file.
    pub cells: Vec<(String, String)>,
}

/// Answer to `sources`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Sources {
    pub schema: String,
    /// What was asked for; `None` for the list of files.
    pub id: Option<String>,
    pub files: Vec<SourceFile>,
    pub rows: Vec<SourceRow>,
}
