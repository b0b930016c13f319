//! Text of `sources`: where every number comes from.

use super::table::{Row, numbers, table, words};
use super::text::{Page, many};
use answer::{SourceFile, Sources};

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
    use super::*;
    use desk::invented;

    #[test]
    fn files_say_how_their_rows_are_known_and_rows_say_everything() {
        insta::assert_snapshot!(sources(&invented::source_files()));
        insta::assert_snapshot!(sources(&invented::source_rows()));
    }
}
