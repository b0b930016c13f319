//! Reference movements: what a head's stimulus is measured against, and their shipped values.

use anatomy::heads::AnatomyTables;
use std::collections::BTreeMap;

/// Seed and number of draws of the shipped values.
pub const DEFAULT_SEED: u64 = 1;
pub const DEFAULT_DRAWS: usize = 32;
/// Draws of one source alone.
pub const SOURCE_DRAWS: usize = 6;

/// Reference movements and values.
#[derive(Clone, Debug, Default)]
pub struct ReferenceTable {
    /// (movement, heads measured by it), in the order of the file.
    pub movements: Vec<(String, Vec<usize>)>,
    /// Raw stimulus of each head in its best reference movement, mid anatomy; `None` = no direct movement.
    pub mid: Vec<Option<f64>>,
    /// `[draw][head]` for the default seed; the mid where a head has no direct movement.
    pub draws: Vec<Vec<Option<f64>>>,
    /// The same by source (its id), where that source alone varies.
    pub alone: BTreeMap<String, Vec<Vec<Option<f64>>>>,
}

/// A line that could not be read.
#[derive(Debug, thiserror::Error)]
#[error("{file}, line {line}: {text}")]
pub struct ReferenceError {
    file: &'static str,
    line: u64,
    text: String,
}

impl ReferenceTable {
    /// Parse the list of movements and the table of values (head, mid, d0, d1, …, strength0, …).
    pub fn parse(movements: &str, values: &str, tables: &AnatomyTables) -> Result<ReferenceTable, ReferenceError> {
        let mut by_movement: Vec<(String, Vec<usize>)> = Vec::new();
        let mut reader = csv::Reader::from_reader(movements.as_bytes());
        let file = "reference_movements.csv";
        for r in reader.records() {
            let r = r.map_err(|e| ReferenceError { file, line: 0, text: e.to_string() })?;
            let line = r.position().map_or(0, |p| p.line());
            let head = r.get(0).unwrap_or("");
            let Some(h) = tables.head_index(head) else {
                return Err(ReferenceError { file, line, text: format!("no head \"{head}\"") });
            };
            let movement = r.get(1).unwrap_or("").to_string();
            match by_movement.iter_mut().find(|m| m.0 == movement) {
                Some(m) => m.1.push(h),
                None => by_movement.push((movement, vec![h])),
            }
        }
        let n = tables.heads.len();
        let mut out = ReferenceTable { movements: by_movement, mid: vec![None; n], ..ReferenceTable::default() };
        let file = "reference_values.csv";
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(values.as_bytes());
        let columns: Vec<String> = match reader.headers() {
            Ok(names) => names.iter().map(str::to_string).collect(),
            Err(e) => return Err(ReferenceError { file, line: 1, text: e.to_string() }),
        };
        for r in reader.records() {
            let r = r.map_err(|e| ReferenceError { file, line: 0, text: e.to_string() })?;
            let line = r.position().map_or(0, |p| p.line());
            let head = r.get(0).unwrap_or("");
            let Some(h) = tables.head_index(head) else {
                return Err(ReferenceError { file, line, text: format!("no head \"{head}\"") });
            };
            for (k, field) in r.iter().skip(1).enumerate() {
                let Ok(v) = field.parse::<f64>() else {
                    return Err(ReferenceError { file, line, text: format!("\"{field}\" is not a number") });
                };
                let column = columns.get(k + 1).map_or("", String::as_str);
                let name = column.trim_end_matches(|c: char| c.is_ascii_digit());
                let list = match name {
                    "mid" => {
                        out.mid[h] = Some(v);
                        continue;
                    }
                    "d" => &mut out.draws,
                    _ => out.alone.entry(name.to_string()).or_default(),
                };
                let Ok(draw) = column[name.len()..].parse::<usize>() else {
                    return Err(ReferenceError { file, line, text: format!("the column \"{column}\" is not known") });
                };
                while list.len() <= draw {
                    list.push(vec![None; n]);
                }
                list[draw][h] = Some(v);
            }
        }
        Ok(out)
    }

    /// Text of the values table: the mid, then draws under a name each.
    pub fn write(mid: &BTreeMap<String, f64>, columns: &[(&str, Vec<BTreeMap<String, f64>>)]) -> String {
        let mut out = String::from("head,mid");
        for (name, draws) in columns {
            for i in 0..draws.len() {
                out.push_str(&format!(",{name}{i}"));
            }
        }
        out.push('\n');
        for (head, v) in mid {
            out.push_str(&format!("{head},{v:.6}"));
            for d in columns.iter().flat_map(|c| &c.1) {
                out.push_str(&format!(",{:.6}", d.get(head).copied().unwrap_or(*v)));
            }
            out.push('\n');
        }
        out
    }
}
