//! The shipped values of the reference movements: what every stimulus is measured against.

use crate::tree::Tree;
use crate::{Failed, Problem};
use library::Library;

pub const PATH: &str = "data/reference/reference_values.csv";
/// Largest relative difference that is not a change: solvers stop at 1e-6, and processors round differently.
pub const TOLERANCE: f64 = 1e-4;

fn computed() -> Result<String, Failed> {
    Ok(Library::embedded()?.reference_values()?)
}

pub fn write(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    tree.write(PATH, &computed()?)?;
    Ok(Vec::new())
}

pub fn check(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    compare(&tree.text(PATH)?, &computed()?)
}

type Rows = Vec<(String, Vec<f64>)>;

fn rows(text: &str) -> Result<Rows, Failed> {
    let mut out = Vec::new();
    for record in csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes()).records() {
        let record = record?;
        let values = record.iter().skip(1).map(str::parse).collect::<Result<Vec<f64>, _>>();
        out.push((record.get(0).unwrap_or("").to_string(), values.map_err(|e| format!("{PATH}: {e}"))?));
    }
    Ok(out)
}

/// Rows that differ by more than the tolerance, or stand in one table only.
pub fn compare(shipped: &str, fresh: &str) -> Result<Vec<Problem>, Failed> {
    let columns: Vec<&str> = fresh.lines().next().unwrap_or("").split(',').collect();
    let (shipped, fresh) = (rows(shipped)?, rows(fresh)?);
    let mut out = Vec::new();
    for (head, new) in &fresh {
        let Some((_, old)) = shipped.iter().find(|r| r.0 == *head) else {
            out.push(Problem::new(PATH, format!("{head} is missing")));
            continue;
        };
        if old.len() != new.len() {
            out.push(Problem::new(PATH, format!("{head}: {} values, computed {}", old.len(), new.len())));
            continue;
        }
        let far = |a: f64, b: f64| (a - b).abs() / a.abs().max(b.abs()).max(0.01);
        let worst =
            old.iter().zip(new).enumerate().map(|(k, (a, b))| (far(*a, *b), k)).max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((d, k)) = worst.filter(|(d, _)| *d > TOLERANCE || d.is_nan()) {
            let column = columns.get(k + 1).copied().unwrap_or("?");
            let what = format!("{head}: {column} is {}, computed {} ({:.2} %)", old[k], new[k], d * 100.0);
            out.push(Problem::new(PATH, what));
        }
    }
    for (head, _) in shipped.iter().filter(|r| !fresh.iter().any(|f| f.0 == r.0)) {
        out.push(Problem::new(PATH, format!("{head} is no longer computed")));
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_that_differ_are_named() {
        let shipped = "head,mid,d0\nsoleus,0.500000,0.4\nbrachialis,0.7,0.6\n";
        let check = |fresh: &str, want: &[&str]| {
            let got = compare(shipped, fresh).expect("readable tables");
            assert_eq!(got.iter().map(|p| p.what.as_str()).collect::<Vec<_>>(), want);
        };
        check(shipped, &[]);
        check("head,mid,d0\nsoleus,0.50004,0.4\nbrachialis,0.7,0.6\n", &[]);
        check(
            "head,mid,d0\nsoleus,0.5,0.41\ngracilis,0.7,0.6\n",
            &["soleus: d0 is 0.4, computed 0.41 (2.44 %)", "gracilis is missing", "brachialis is no longer computed"],
        );
    }
}
