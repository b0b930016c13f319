//! Lever arms over an angle, for pictures: cases of one muscle and axis whose postures differ in one angle only make a
//! curve.

use crate::cases::{CaseError, Table};
use crate::model::Subject;
use crate::posture::stances;
use answer::{ArmCurve, ArmPoint, ProofRow};
use library::Library;
use std::collections::BTreeMap;

/// Steps of our curve between the outermost published angles.
const STEPS: usize = 40;
/// Fewer different angles make no curve.
const FEWEST: usize = 3;

/// Words of a posture with its numbers taken out, and the numbers.
fn apart(posture: &str) -> (String, Vec<f64>) {
    let (mut words, mut numbers) = (String::new(), Vec::new());
    for part in posture.split_inclusive([' ', '/', '=']) {
        let bare = part.trim_end_matches([' ', '/', '=']);
        match bare.parse::<f64>() {
            Ok(v) => {
                numbers.push(v);
                words.push('#');
                words.push_str(&part[bare.len()..]);
            }
            Err(_) => words.push_str(part),
        }
    }
    (words, numbers)
}

fn together(words: &str, numbers: &[f64]) -> String {
    let mut out = String::new();
    let mut rest = numbers.iter();
    for c in words.chars() {
        match (c, rest.as_slice().first()) {
            ('#', Some(v)) => {
                out.push_str(&v.to_string());
                rest.next();
            }
            _ => out.push(c),
        }
    }
    out
}

/// Curves through the cases of the table of lever arms that `rows` hold, in the order of the table. Cases of other
/// people than the table's man, sweeps and peaks belong to no curve.
///
/// # Errors
/// A row that cannot be read.
pub fn arm_curves(library: &Library, table: &Table, rows: &[ProofRow]) -> Result<Vec<ArmCurve>, CaseError> {
    let man = Subject::table_man(library);
    let judged: BTreeMap<&str, &ProofRow> = rows.iter().map(|r| (r.id.as_str(), r)).collect();
    let mut families: Vec<((&str, &str, String), Vec<(Vec<f64>, ArmPoint)>)> = Vec::new();
    for row in table.cases() {
        let Some(known) = judged.get(row.text("id")?) else { continue };
        let posture = row.text("posture")?;
        if posture.contains("..") || row.text("statistic")? == "peak" || !row.optional("person").is_empty() {
            continue;
        }
        let (words, numbers) = apart(posture);
        let point = ArmPoint {
            angle_deg: 0.0,
            arm_mm: known.published,
            tolerance_mm: known.tolerance,
            inside: known.pass,
            fitted: known.fitted,
        };
        let key = (row.text("heads")?, row.text("axis")?, words);
        match families.iter_mut().find(|f| f.0 == key) {
            Some(f) => f.1.push((numbers, point)),
            None => families.push((key, vec![(numbers, point)])),
        }
    }
    let mut out = Vec::new();
    for ((heads, axis_name, words), points) in families {
        // One curve per setting of the angles that stand still; the moving one takes the most values.
        let count = points[0].0.len();
        let values = |i: usize| {
            let mut v: Vec<f64> = points.iter().map(|p| p.0[i]).collect();
            v.sort_by(f64::total_cmp);
            v.dedup();
            v
        };
        let Some(moving) = (0..count).max_by_key(|&i| (values(i).len(), count - i)) else { continue };
        let mut fixed: Vec<Vec<f64>> = Vec::new();
        for p in &points {
            let mut f = p.0.clone();
            f[moving] = 0.0;
            if !fixed.contains(&f) {
                fixed.push(f);
            }
        }
        let axis = crate::posture::Axis::parse(axis_name).map_err(|e| table_error(table, e))?;
        let groups = man.heads(heads).map_err(|e| table_error(table, e))?.concat();
        for still in fixed {
            let mut published: Vec<ArmPoint> = Vec::new();
            for (numbers, point) in &points {
                let mut f = numbers.clone();
                f[moving] = 0.0;
                if f == still {
                    published.push(ArmPoint { angle_deg: numbers[moving], ..point.clone() });
                }
            }
            published.sort_by(|a, b| a.angle_deg.total_cmp(&b.angle_deg));
            let mut angles: Vec<f64> = published.iter().map(|p| p.angle_deg).collect();
            angles.dedup();
            if angles.len() < FEWEST {
                continue;
            }
            let (from, to) = (angles[0], angles[angles.len() - 1]);
            let mut ours = Vec::with_capacity(STEPS + 1);
            for i in 0..=STEPS {
                let angle = from + (to - from) * i as f64 / STEPS as f64;
                let mut numbers = still.clone();
                numbers[moving] = angle;
                let s = stances(&together(&words, &numbers)).map_err(|e| table_error(table, e))?;
                ours.push([angle, man.arm_m(&groups, axis, &s[0]) * 1e3]);
            }
            let mut shown = still.clone();
            shown[moving] = f64::NAN;
            let moving = together(&words, &shown).replace("NaN", "…");
            out.push(ArmCurve { heads: heads.into(), axis: axis_name.into(), moving, ours, published });
        }
    }
    Ok(out)
}

fn table_error(table: &Table, text: String) -> CaseError {
    CaseError { file: table.file.clone(), line: 0, text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_posture_comes_apart_and_together() {
        let check = |text: &str, words: &str, numbers: &[f64]| {
            assert_eq!(apart(text), (words.to_string(), numbers.to_vec()));
            assert_eq!(together(words, numbers), text);
        };
        check("hip=45/0/-5 knee=90", "hip=#/#/# knee=#", &[45.0, 0.0, -5.0, 90.0]);
        check("", "", &[]);
        check("shoulder=33/12.5/0", "shoulder=#/#/#", &[33.0, 12.5, 0.0]);
    }
}
