//! Largest isometric torques, published and by our muscles at full activation, in N·m, over the curve's peak, and as
//! ratios between postures or directions.

use crate::cases::{CaseError, Row, Table, judged};
use crate::model::Subject;
use crate::posture::{Axis, Stance};
use answer::ProofRow;
use library::Library;
use rayon::prelude::*;
use std::collections::BTreeMap;

pub const NAME: &str = "torque-angle";
pub const CASES: &str = include_str!("../../../../data/proof/torque-angle.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let rows: Vec<_> = table.cases().collect();
    // Bodies are few, rows many.
    let mut people = BTreeMap::new();
    for row in &rows {
        for text in row.optional("person").split(';') {
            if !people.contains_key(text.trim()) {
                let subject = Subject::parse(library, text.trim()).map_err(|e| row.wrong("person", e))?;
                people.insert(text.trim(), subject);
            }
        }
    }
    rows.par_iter().map(|row| judge_row(&people, row)).collect()
}

fn judge_row(people: &BTreeMap<&str, Subject>, row: &Row) -> Result<ProofRow, CaseError> {
    let subjects: Vec<&Subject> = row.optional("person").split(';').map(|t| &people[t.trim()]).collect();
    let (axis, sign, here) = (row.axis("axis")?, sign(row, "sign")?, row.stances("posture")?);
    let passive = row.yes("passive")?;
    // Mean over people, then over postures (a sweep of one cell is one test).
    let torque = |axis: Axis, sign: f64, s: &Stance, per_kg: bool| -> Result<f64, CaseError> {
        let mut sum = 0.0;
        for subject in &subjects {
            let t = subject.torque_nm(axis, sign, s, passive).map_err(|e| row.error(e))?;
            sum += if per_kg { t / subject.body.mass_kg } else { t };
        }
        Ok(sum / subjects.len() as f64)
    };
    let mean = |axis: Axis, sign: f64, list: &[Stance], per_kg: bool| -> Result<f64, CaseError> {
        let values: Vec<f64> = list.iter().map(|s| torque(axis, sign, s, per_kg)).collect::<Result<_, _>>()?;
        Ok(values.iter().sum::<f64>() / values.len() as f64)
    };
    let (value, unit) = match row.text("kind")? {
        "torque" => (mean(axis, sign, &here, false)?, "N·m"),
        "torque-per-kg" => (mean(axis, sign, &here, true)?, "N·m/kg"),
        "shape" => {
            let mut peak = 0.0_f64;
            for s in row.stances("posture_b")? {
                peak = peak.max(torque(axis, sign, &s, false)?);
            }
            (mean(axis, sign, &here, false)? / peak, "of peak")
        }
        "ratio" => {
            let other = if row.text("axis_b")?.is_empty() { axis } else { row.axis("axis_b")? };
            let against = if row.text("sign_b")?.is_empty() { sign } else { self::sign(row, "sign_b")? };
            let below = mean(other, against, &row.stances("posture_b")?, false)?;
            (mean(axis, sign, &here, false)? / below, "ratio")
        }
        other => {
            return Err(row.wrong("kind", format!("\"{other}\", expected torque, torque-per-kg, shape or ratio")));
        }
    };
    let tolerance = row.number("tolerance")?;
    if tolerance <= 0.0 {
        return Err(row.wrong("tolerance", format!("{tolerance}, expected a number above 0")));
    }
    Ok(judged(row.comparison(NAME)?, unit, value, row.number("value")?, tolerance))
}

fn sign(row: &Row, column: &str) -> Result<f64, CaseError> {
    match row.text(column)? {
        "+" => Ok(1.0),
        "-" => Ok(-1.0),
        other => Err(row.wrong(column, format!("\"{other}\", expected + or -"))),
    }
}
