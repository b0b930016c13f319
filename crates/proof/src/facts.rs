//! Facts about signs and orders, as rows of a table. Rows with one id are parts of one fact, which holds when all of
//! them do.
//!
//! A part says: `statistic` of `quantity` of `heads` over `posture` is `op` `limit`, or `op` the same of `heads_b`,
//! about `axis_b`, over `posture_b` (an empty cell: as on the left). With several heads every one is asked; a head
//! whose every second cell is empty is compared with itself.

use crate::cases::{CaseError, Row, Table, judged};
use crate::model::Subject;
use crate::posture::{Axis, Stance};
use answer::ProofRow;
use library::Library;

/// What is asked of a head or an axis.
#[derive(Clone, Copy, PartialEq)]
enum Quantity {
    /// Lever arm, m.
    Arm,
    /// Lever arm without its sign, m.
    ArmSize,
    /// Active force factor.
    Active,
    /// Normalised fibre length.
    Length,
    /// Length of muscle and tendon, m.
    LengthM,
    /// Part of an axis' torque at full activation.
    Share,
    /// Largest torque about the axis; the heads cell holds its direction, + or −. N·m.
    Torque,
    /// Smallest torque over the postures ÷ largest.
    Evenness,
}

const QUANTITIES: [(&str, Quantity); 8] = [
    ("arm", Quantity::Arm),
    ("arm-size", Quantity::ArmSize),
    ("active", Quantity::Active),
    ("length", Quantity::Length),
    ("length-m", Quantity::LengthM),
    ("share", Quantity::Share),
    ("torque", Quantity::Torque),
    ("torque-evenness", Quantity::Evenness),
];

/// Judges a table of facts: one comparison per id, 1 when it holds, −1 when a part fails.
///
/// # Errors
/// A row that cannot be read.
pub fn judge(group: &str, library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let man = Subject::table_man(library);
    let mut out: Vec<ProofRow> = Vec::new();
    for row in table.cases() {
        let failed = part(&man, &row)?;
        let fresh = row.comparison(group)?;
        let known = out.last_mut().filter(|last| last.id == fresh.id);
        let holds = known.as_ref().is_none_or(|k| k.pass) && failed.is_none();
        let mut fact = judged(known.as_ref().map_or(fresh, |k| (**k).clone()), "sign", 0.0, 1.0, 0.0);
        if let Some(why) = failed {
            fact.note.push_str(&format!("; fails: {why}"));
        }
        fact.value = Some(if holds { 1.0 } else { -1.0 });
        fact.pass = holds;
        match known {
            Some(k) => *k = fact,
            None => out.push(fact),
        }
    }
    Ok(out)
}

/// Why a part fails; `None` when it holds.
fn part(man: &Subject, row: &Row) -> Result<Option<String>, CaseError> {
    let name = row.text("quantity")?;
    if name == "absent" {
        return Ok(Some("the program cannot say".into()));
    }
    let quantity = QUANTITIES.iter().find(|q| q.0 == name).map(|q| q.1).ok_or_else(|| {
        row.wrong("quantity", format!("\"{name}\", expected absent, {}", QUANTITIES.map(|q| q.0).join(", ")))
    })?;
    let (op, statistic) = (row.text("op")?, row.text("statistic")?);
    let left = sides(man, row, quantity, "heads", "axis", "posture")?;
    let value = |s: &Asked| s.value(man, quantity, statistic).map_err(|e| row.wrong("statistic", e));
    let number = |v: f64| match quantity {
        Quantity::Arm | Quantity::ArmSize | Quantity::LengthM if statistic != "positive" => {
            format!("{:.1} mm", v * 1e3)
        }
        Quantity::Torque => format!("{v:.1} N·m"),
        _ => format!("{v:.3}"),
    };
    let mut failed = Vec::new();
    match op {
        "above" | "below" => {
            let sign = if op == "above" { 1.0 } else { -1.0 };
            let limit = row.maybe("limit")?;
            let right = match limit {
                Some(_) => Vec::new(),
                None => sides(man, row, quantity, "heads_b", "axis_b", "posture_b")?,
            };
            let own = row.text("heads_b")?.is_empty();
            for (i, a) in left.iter().enumerate() {
                let got = value(a)?;
                let mut against = Vec::new();
                match limit {
                    Some(l) => against.push((number(l), l)),
                    None => {
                        for (_, b) in right.iter().enumerate().filter(|(j, _)| !own || *j == i) {
                            let v = value(b)?;
                            against.push((format!("{} {}", b.what, number(v)), v));
                        }
                    }
                }
                for (text, v) in against.iter().filter(|(_, v)| sign * (got - v) <= 0.0) {
                    let _ = v;
                    failed.push(format!("{} {} is not {op} {text}", a.what, number(got)));
                }
            }
        }
        "first" | "last" => {
            let sign = if op == "first" { 1.0 } else { -1.0 };
            let count = row.number("limit")? as usize;
            let field = sides(man, row, quantity, "heads_b", "axis_b", "posture_b")?;
            let mut ranked = Vec::new();
            for b in &field {
                ranked.push((sign * value(b)?, &b.what));
            }
            ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
            for a in &left {
                let Some(place) = ranked.iter().position(|r| *r.1 == a.what) else {
                    return Err(row.wrong("heads_b", format!("{} is not among the ranked heads", a.what)));
                };
                if place >= count {
                    let before: Vec<String> =
                        ranked[..count].iter().map(|(v, what)| format!("{what} {}", number(sign * v))).collect();
                    let own = number(sign * ranked[place].0);
                    failed.push(format!("{} is number {} with {own}, after {}", a.what, place + 1, before.join(", ")));
                }
            }
        }
        other => return Err(row.wrong("op", format!("\"{other}\", expected above, below, first or last"))),
    }
    Ok((!failed.is_empty()).then(|| failed.join("; ")))
}

/// One side of a part: heads that pull as one (or the direction of a torque), an axis, postures.
struct Asked {
    what: String,
    heads: Vec<usize>,
    sign: f64,
    axis: Option<Axis>,
    stances: Vec<Stance>,
}

fn sides(
    man: &Subject,
    row: &Row,
    quantity: Quantity,
    heads: &str,
    axis: &str,
    posture: &str,
) -> Result<Vec<Asked>, CaseError> {
    let or_left = |column: &str, left: &'static str| -> Result<&str, CaseError> {
        Ok(match row.text(column)? {
            "" => row.text(left)?,
            text => text,
        })
    };
    let axis = match or_left(axis, "axis")? {
        "" => None,
        name => Some(Axis::parse(name).map_err(|e| row.wrong(axis, e))?),
    };
    let stances = crate::posture::stances(or_left(posture, "posture")?).map_err(|e| row.wrong(posture, e))?;
    let cell = or_left(heads, "heads")?;
    if matches!(quantity, Quantity::Torque | Quantity::Evenness) {
        let sign = match cell {
            "+" => 1.0,
            "-" => -1.0,
            other => return Err(row.wrong(heads, format!("\"{other}\", expected the direction + or -"))),
        };
        return Ok(vec![Asked { what: format!("direction {cell}"), heads: Vec::new(), sign, axis, stances }]);
    }
    let groups = man.heads(cell).map_err(|e| row.wrong(heads, e))?;
    Ok(cell
        .split(';')
        .zip(groups)
        .map(|(what, heads)| Asked { what: what.trim().into(), heads, sign: 1.0, axis, stances: stances.clone() })
        .collect())
}

impl Asked {
    fn value(&self, man: &Subject, quantity: Quantity, statistic: &str) -> Result<f64, String> {
        let axis = || self.axis.ok_or_else(|| "this quantity needs an axis".to_string());
        let of_heads = |s: &Stance, f: fn(&anatomy::heads::HeadState) -> f64| {
            let frame = man.frame(s);
            let (mut sum, mut weight) = (0.0, 0.0);
            for &i in &self.heads {
                sum += frame.heads[i].max_force_n * f(&frame.heads[i]);
                weight += frame.heads[i].max_force_n;
            }
            sum / weight
        };
        let mut values = Vec::with_capacity(self.stances.len());
        for s in &self.stances {
            values.push(match quantity {
                Quantity::Arm => man.arm_m(&self.heads, axis()?, s),
                Quantity::ArmSize => man.arm_m(&self.heads, axis()?, s).abs(),
                Quantity::Active => of_heads(s, |h| h.active),
                Quantity::Length => of_heads(s, |h| h.fibre_norm),
                Quantity::LengthM => of_heads(s, |h| h.length_m),
                Quantity::Share => man.torque_share(&self.heads, axis()?, self.sign, s),
                Quantity::Torque | Quantity::Evenness => man.torque_nm(axis()?, self.sign, s, false)?,
            });
        }
        let count = values.len() as f64;
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if quantity == Quantity::Evenness {
            return Ok(least / greatest);
        }
        Ok(match statistic {
            "mean" => values.iter().sum::<f64>() / count,
            "least" => least,
            "greatest" => greatest,
            "span" => greatest - least,
            "positive" => values.iter().filter(|v| **v > 0.0).count() as f64 / count,
            other => return Err(format!("\"{other}\", expected mean, least, greatest, span or positive")),
        })
    }
}
