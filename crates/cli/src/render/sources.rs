//! Text of `sources`: where every number comes from.

use super::table::{Row, numbers, table, words};
use super::text::{Page, many};
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

/// Kinds of knowledge shown per file; the rest is summed.
const KINDS: usize = 3;

/// Files with how their rows are known, or the rows of one id.
pub fn sources(s: &Sources) -> String {
    let mut page = Page::default();
    if let Some(id) = &s.id {
        page.prose(&format!("{} about \"{id}\"", many(s.rows.len(), "data row", "data rows")));
        for row in &s.rows {
            page.gap();
            page.prose(&format!("data/{}:{}", row.file, row.line));
            for (column, value) in row.cells.iter().filter(|(_, v)| !v.is_empty()) {
                page.lines(&super::text::wrap(&format!("{column}: {value}"), super::text::WIDTH, "  ", "    "));
            }
        }
        return page.text;
    }
    page.prose("Where the numbers come from. lengthwise sources ID shows the rows of one muscle, movement or setting.");
    page.gap();
    let known = |f: &SourceFile| {
        let mut words: Vec<String> = f.how.iter().take(KINDS).map(|(h, n)| format!("{h}\u{a0}{n}")).collect();
        let rest: usize = f.how.iter().skip(KINDS).map(|(_, n)| n).sum();
        if rest > 0 {
            words.push(format!("other\u{a0}{rest}"));
        }
        words.join("; ")
    };
    let rows: Vec<Row> = s.files.iter().map(|f| Row::new(vec![f.file.clone(), f.rows.to_string(), known(f)])).collect();
    page.lines(&table(&[words("File under data/"), numbers("Rows"), words("How known")], &rows));
    page.text
}

#[cfg(test)]
mod tests {
    use super::super::invented;
    use super::*;

    #[test]
    fn files_say_how_their_rows_are_known_and_rows_say_everything() {
        insta::assert_snapshot!(sources(&invented::source_files()));
        insta::assert_snapshot!(sources(&invented::source_rows()));
    }
}
