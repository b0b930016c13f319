//! Where every number comes from: read straight out of the data files the program was built with.

use super::data;
use crate::json;
use crate::problem::{Problem, Report};
use answer::{SourceFile, SourceRow, Sources};
use std::collections::BTreeMap;

/// All rows of a table: header, then (line, cells).
type Table = (Vec<String>, Vec<(usize, Vec<String>)>);

fn table(file: &str, text: &str) -> Result<Table, Report> {
    let wrong = |e: csv::Error| Report::internal(format!("data/{file}: {e}"));
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header = reader.headers().map_err(wrong)?.iter().map(str::to_string).collect();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(wrong)?;
        let line = record.position().map_or(0, |p| p.line() as usize);
        rows.push((line, record.iter().map(str::to_string).collect()));
    }
    Ok((header, rows))
}

/// Citation and how-known by the short ids that the tables of a folder use.
type Cited = BTreeMap<String, (String, String)>;

/// Every `sources.csv`, whose rows are id, citation, how.
fn cited() -> Result<Cited, Report> {
    let mut out = Cited::new();
    for (file, text) in data::FILES.iter().filter(|(f, _)| f.ends_with("/sources.csv")) {
        for (_, cells) in table(file, text)?.1 {
            if let [id, citation, how, ..] = cells.as_slice() {
                out.insert(id.clone(), (citation.clone(), how.clone()));
            }
        }
    }
    Ok(out)
}

/// The first word or two of a how-known text: "from memory, high" is "from memory".
fn kind(text: &str) -> String {
    let word = text.split([',', ';', '(', ':']).next().unwrap_or(text).trim().replace("from-memory", "from memory");
    let word = ["fraction", "second-hand", "high", "low", "-", "medium"]
        .iter()
        .fold(word.as_str(), |w, tail| w.strip_suffix(tail).map_or(w, str::trim_end));
    if word.is_empty() { "not said".into() } else { word.to_string() }
}

/// How a row is known: by its column `how`, else by the source it cites by id.
fn how(header: &[String], cells: &[String], cited: &Cited) -> String {
    let at = header.iter().position(|h| h == "how").or_else(|| header.iter().position(|h| h.ends_with("_how")));
    let own = at.and_then(|i| cells.get(i));
    let by_id = || {
        let mut sources = header.iter().zip(cells).filter(|(h, _)| h.ends_with("source"));
        sources.find_map(|(_, c)| cited.get(c.trim())).map(|(_, how)| how)
    };
    own.or_else(by_id).map_or_else(|| "no column".into(), |text| kind(text))
}

/// A cell with the citation behind its id, if it is one.
fn spelled_out(column: &str, cell: String, cited: &Cited) -> String {
    match cited.get(cell.trim()) {
        Some((citation, how)) if column.ends_with("source") => format!("{cell}: {citation} [{how}]"),
        _ => cell,
    }
}

/// Whether a cell names `id`: the whole cell, or one item of its list.
fn names(cell: &str, id: &str) -> bool {
    let same = |t: &str| t.trim().eq_ignore_ascii_case(id);
    same(cell) || cell.split([';', ',', '|', '+', ':', ' ']).any(same)
}

/// Columns that name things, by place: the first three, which hold ids, names and keys; row codes stand in `source`.
fn row_names(header: &[String], cells: &[String], id: &str) -> bool {
    let first = cells.iter().take(3).any(|c| names(c, id));
    first || header.iter().zip(cells).any(|(h, c)| h.contains("source") && names(c, id))
}

/// All files, or every row that names `id`.
pub fn sources(id: Option<&str>) -> Result<Sources, Report> {
    let mut out = Sources { schema: json::SOURCES.into(), id: id.map(str::to_string), ..Sources::default() };
    let wanted = id.map(|i| i.trim());
    let cited = cited()?;
    for (file, text) in data::FILES.iter().filter(|(f, _)| f.ends_with(".csv")) {
        let (header, rows) = table(file, text)?;
        match wanted {
            None => {
                let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
                rows.iter().for_each(|(_, cells)| *kinds.entry(how(&header, cells, &cited)).or_default() += 1);
                let mut kinds: Vec<(String, usize)> = kinds.into_iter().collect();
                kinds.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
                out.files.push(SourceFile { file: file.to_string(), rows: rows.len(), how: kinds });
            }
            Some(id) => {
                for (line, cells) in rows.into_iter().filter(|(_, cells)| row_names(&header, cells, id)) {
                    let pair = |(column, cell): (&String, String)| (column.clone(), spelled_out(column, cell, &cited));
                    let cells = header.iter().zip(cells).map(pair).collect();
                    out.rows.push(SourceRow { file: file.to_string(), line, cells });
                }
            }
        }
    }
    match wanted {
        Some(id) if out.rows.is_empty() => Err(unknown(id)?),
        _ => Ok(out),
    }
}

fn unknown(id: &str) -> Result<Report, Report> {
    let mut known = Vec::new();
    for (file, text) in data::FILES.iter().filter(|(f, _)| f.ends_with(".csv")) {
        known.extend(table(file, text)?.1.into_iter().filter_map(|(_, cells)| cells.into_iter().next()));
    }
    known.sort_unstable();
    known.dedup();
    let nearest = super::nearest(id, &known.iter().map(String::as_str).collect::<Vec<_>>());
    let problem = Problem::error("", format!("no data row names \"{id}\"")).nearest(nearest);
    Ok(problem.remedy("lengthwise sources lists the files").into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_known_is_told_in_a_word_or_two() {
        let check = |text: &str, want: &str| assert_eq!(kind(text), want);
        check("from memory, high", "from memory");
        check("from-memory high (own judgement)", "from memory");
        check("looked-up second-hand fraction; split from-memory medium", "looked-up");
        check("own-estimate", "own-estimate");
        check("from-memory medium-low", "from memory");
        check("", "not said");
    }

    #[test]
    fn every_table_is_listed_and_a_row_is_found_by_its_name() {
        let all = sources(None).expect("the shipped tables are readable");
        assert!(all.files.iter().any(|f| f.file == "programme/bands.csv" && f.rows > 3));
        let soleus = sources(Some("soleus")).expect("a known head");
        let head = soleus.rows.iter().find(|r| r.cells.iter().any(|(k, _)| k == "volume_cm3")).expect("its row");
        let source = head.cells.iter().find(|(k, _)| k == "volume_source").expect("its source");
        assert!(source.1.contains(": ") && source.1.ends_with(']'), "{source:?}");
        let report = sources(Some("soleuss")).expect_err("no such head");
        assert_eq!(report.problems[0].nearest.first().map(String::as_str), Some("soleus"));
    }
}
