//! Every data row says where it comes from, and every table is described in `data/README.md`.

use crate::tree::Tree;
use crate::{Failed, Problem};
use std::collections::BTreeSet;

/// Words in a table's line of `data/README.md` that excuse it from `source` and `how`.
pub const EXCUSES: [&str; 2] = ["(words)", "(computed)"];

pub fn check(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    let readme = tree.text("data/README.md")?;
    let mut tables = Vec::new();
    for path in tree.files("data", &[".csv"])? {
        let text = tree.text(&path)?;
        tables.push((path.trim_start_matches("data/").to_string(), text));
    }
    let mut problems = described(&readme, &tables.iter().map(|t| t.0.as_str()).collect::<Vec<_>>());
    for (name, text) in &tables {
        let ids = source_ids(&tables, name);
        problems.extend(rows(name, text, excused(&readme, name), ids.as_ref()));
    }
    Ok(problems)
}

/// The line of `data/README.md` that describes a table.
fn line_of<'a>(readme: &'a str, table: &str) -> Option<&'a str> {
    readme.lines().find(|l| l.contains(&format!("`{table}`")))
}

fn excused(readme: &str, table: &str) -> bool {
    line_of(readme, table).is_some_and(|l| EXCUSES.iter().any(|e| l.contains(e)))
}

/// Tables without a line in the README, and lines of the README without a table.
pub fn described(readme: &str, tables: &[&str]) -> Vec<Problem> {
    let mut out: Vec<Problem> = tables
        .iter()
        .filter(|t| line_of(readme, t).is_none())
        .map(|t| Problem::new("data/README.md", format!("no line describes `{t}`")))
        .collect();
    for (i, line) in readme.lines().enumerate() {
        let named = line.split('`').skip(1).step_by(2).filter(|w| w.ends_with(".csv") && w.contains('/'));
        for name in named.filter(|w| !tables.contains(w)) {
            out.push(Problem::at("data/README.md", i + 1, format!("there is no table `{name}`")));
        }
    }
    out
}

/// Ids of the `sources.csv` beside a table, if its folder has one.
fn source_ids(tables: &[(String, String)], table: &str) -> Option<BTreeSet<String>> {
    let folder = table.split('/').next()?;
    let text = &tables.iter().find(|t| t.0 == format!("{folder}/sources.csv"))?.1;
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    Some(reader.records().flatten().filter_map(|r| r.get(0).map(str::to_string)).collect())
}

/// A column that says where a row comes from or how it is known.
fn tells(column: &str) -> bool {
    ["source", "how"].iter().any(|w| column == *w || column.ends_with(&format!("_{w}")))
}

/// `x_source` and `x_how` tell about the columns that have `x` in their names; where those are empty, so may they be.
fn about_nothing(header: &[String], record: &csv::StringRecord, column: usize) -> bool {
    let Some((topic, _)) = header[column].rsplit_once('_') else { return false };
    let topics = (0..header.len()).filter(|&i| i != column && !tells(&header[i]) && header[i].contains(topic));
    let mut values = topics.map(|i| record.get(i).unwrap_or("").trim()).peekable();
    values.peek().is_some() && values.all(str::is_empty)
}

/// Rows of one table: as many cells as the header, and nothing empty where origin is told.
///
/// `ids`: sources by id, for tables that cite instead of carrying a `how` of their own.
pub fn rows(table: &str, text: &str, excused: bool, ids: Option<&BTreeSet<String>>) -> Vec<Problem> {
    let place = format!("data/{table}");
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header: Vec<String> = match reader.headers() {
        Ok(h) => h.iter().map(|c| c.trim().to_string()).collect(),
        Err(e) => return vec![Problem::new(place, e.to_string())],
    };
    let mut out = Vec::new();
    let mut seen = BTreeSet::new();
    for column in header.iter().filter(|c| !seen.insert(c.as_str())) {
        out.push(Problem::at(&place, 1, format!("column `{column}` stands twice")));
    }
    let telling: Vec<usize> = (0..header.len()).filter(|&i| tells(&header[i])).collect();
    let own_how = header.iter().any(|c| c == "how" || c.ends_with("_how"));
    if telling.is_empty() && !excused {
        out.push(Problem::at(&place, 1, "neither a `source` nor a `how` column, and not excused in data/README.md"));
    }
    if !telling.is_empty() && !own_how && ids.is_none() {
        out.push(Problem::at(&place, 1, "no `how` column, and no sources.csv beside it that would tell"));
    }
    let mut count = 0;
    for record in reader.records() {
        let record = match record {
            Ok(r) => r,
            Err(e) => {
                out.push(Problem::new(&place, e.to_string()));
                continue;
            }
        };
        count += 1;
        let line = record.position().map_or(0, |p| p.line() as usize);
        if record.len() != header.len() {
            let what = format!("{} cells under {} columns", record.len(), header.len());
            out.push(Problem::at(&place, line, what));
            continue;
        }
        for &i in &telling {
            let cell = record.get(i).unwrap_or("").trim();
            if cell.is_empty() {
                if about_nothing(&header, &record, i) {
                    continue;
                }
                out.push(Problem::at(&place, line, format!("`{}` is empty", header[i])));
            } else if let (false, true, Some(ids)) = (own_how, header[i].ends_with("source"), ids)
                && !ids.contains(cell)
            {
                out.push(Problem::at(&place, line, format!("`{cell}` is not an id of sources.csv")));
            }
        }
    }
    if count == 0 {
        out.push(Problem::new(&place, "no rows"));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, excused: bool, ids: &[&str], expected: &[&str]) {
        let ids: BTreeSet<String> = ids.iter().map(|i| i.to_string()).collect();
        let ids = (!ids.is_empty()).then_some(&ids);
        let got: Vec<String> = rows("a/t.csv", text, excused, ids).iter().map(Problem::to_string).collect();
        assert_eq!(got, expected);
    }

    #[test]
    fn rows_without_origin_are_found() {
        check("key,value,source,how\na,1,a paper,from memory\n", false, &[], &[]);
        check("key,value,source,how\na,1,,from memory\n", false, &[], &["data/a/t.csv:2: `source` is empty"]);
        check("key,source,how\na,b,c\nd,e, \n", false, &[], &["data/a/t.csv:3: `how` is empty"]);
        check("length_mm,length_how,how\n,,b\n", false, &[], &[]);
        check("length_mm,length_how,how\n1,,b\n", false, &[], &["data/a/t.csv:2: `length_how` is empty"]);
        check("key,how,how\na,x,y\n", false, &[], &["data/a/t.csv:1: column `how` stands twice"]);
        check("key,how\na,x,y\n", false, &[], &["data/a/t.csv:2: 3 cells under 2 columns"]);
        check("key,how\n", false, &[], &["data/a/t.csv: no rows"]);
        check("key,source\na,s-1\n", false, &["s-1"], &[]);
        check("key,source\na,s-2\n", false, &["s-1"], &["data/a/t.csv:2: `s-2` is not an id of sources.csv"]);
        check("word,means\na,b\n", true, &[], &[]);
    }

    #[test]
    fn tables_that_tell_nothing_need_an_excuse() {
        assert_eq!(rows("t.csv", "word,means\na,b\n", false, None).len(), 1);
        assert_eq!(rows("t.csv", "word,source\na,b\n", false, None).len(), 1);
        assert!(excused("| `a/t.csv` | (words) spellings |", "a/t.csv"));
        assert!(!excused("| `a/t.csv` | numbers |", "a/t.csv"));
    }

    #[test]
    fn readme_and_folder_agree() {
        assert!(described("`a/t.csv` is one", &["a/t.csv"]).is_empty());
        assert_eq!(described("", &["a/t.csv"])[0].what, "no line describes `a/t.csv`");
        assert_eq!(described("`a/u.csv`", &[])[0].what, "there is no table `a/u.csv`");
    }
}
