//! Judges tables of the common shape: a number read off one movement, or its ratio to another, inside limits.
//!
//! Columns: `id, part, measure, movement, frames, load, measure_b, movement_b, frames_b, load_b, low, high, published,
//! unit, scan, source, how, note`. `frames` is `0.2-0.5` of the lift or empty; `load` is empty (hard set), a number,
//! `x0.7` (of the own hard set) or `b` (the other's load). Without `movement_b` and `measure_b` the number itself is
//! judged; else A / B. An empty `low` or `high` is open; a lone limit of 1 asks for an order. `scan` lists further
//! settings, `|` between them, for what an experiment did not report: shown, never judged.

use crate::cases::{CaseError, Row, Table};
use crate::solved::{Loaded, Solved, Window, off_posture, with_settings};
use answer::ProofRow;
use library::Library;

/// Added to both sides of a ratio of activations, so that two silent muscles count as equal.
const SILENT: f64 = 0.01;

/// An order counts when the two differ by this much.
const LEAST_DIFFERENCE: f64 = 0.02;

/// One side of a comparison.
struct Reading<'r> {
    measure: &'r str,
    movement: &'r str,
    window: Window,
    load: &'r str,
}

struct Case<'r> {
    a: Reading<'r>,
    b: Option<Reading<'r>>,
    low: Option<f64>,
    high: Option<f64>,
    scan: Vec<&'r str>,
}

impl<'r> Case<'r> {
    fn read(row: &Row<'r>) -> Result<Case<'r>, CaseError> {
        let a = Reading {
            measure: row.text("measure")?,
            movement: row.text("movement")?,
            window: Window::read(row, "frames")?,
            load: row.text("load")?,
        };
        let (measure_b, movement_b) = (row.text("measure_b")?, row.text("movement_b")?);
        let b = if measure_b.is_empty() && movement_b.is_empty() && row.text("frames_b")?.is_empty() {
            None
        } else {
            let or = |t: &'r str, other: &'r str| if t.is_empty() { other } else { t };
            Some(Reading {
                measure: or(measure_b, a.measure),
                movement: or(movement_b, a.movement),
                window: Window::read(row, "frames_b")?,
                load: row.text("load_b")?,
            })
        };
        let (low, high) = (row.maybe("low")?, row.maybe("high")?);
        if low.is_none() && high.is_none() {
            return Err(row.error("neither `low` nor `high`: nothing is expected"));
        }
        let scan = row.text("scan")?.split('|').map(str::trim).filter(|s| !s.is_empty()).collect();
        Ok(Case { a, b, low, high, scan })
    }

    fn words(&self) -> Vec<String> {
        let mut out = vec![self.a.movement.to_string()];
        out.extend(self.scan.iter().map(|s| with_settings(self.a.movement, s)));
        if let Some(b) = &self.b {
            out.push(b.movement.to_string());
            out.extend(self.scan.iter().map(|s| with_settings(b.movement, s)));
        }
        out
    }

    /// Inside the limits; an order asks for a difference.
    fn inside(&self, v: f64) -> bool {
        if self.is_order() {
            return order(v) == if self.low.is_some() { 1.0 } else { -1.0 };
        }
        match (self.low, self.high) {
            (Some(l), Some(h)) => l <= v && v <= h,
            (Some(l), None) => v > l,
            (None, Some(h)) => v < h,
            (None, None) => false,
        }
    }

    fn is_order(&self) -> bool {
        self.b.is_some() && matches!((self.low, self.high), (Some(1.0), None) | (None, Some(1.0)))
    }

    fn value(&self, solved: &Solved, more: Option<&str>) -> Result<f64, String> {
        let words = |r: &Reading| more.map_or(r.movement.to_string(), |m| with_settings(r.movement, m));
        let load = |r: &Reading, other: Option<&Reading>| -> Result<Option<f64>, String> {
            let own = |r: &Reading| solved.study(&words(r)).map(|s| s.solved.load.load);
            Ok(match r.load {
                "" => None,
                "b" => Some(own(other.ok_or("there is no other movement")?)?),
                t => match t.strip_prefix('x') {
                    Some(k) => Some(own(r)? * k.parse::<f64>().map_err(|_| format!("load \"{t}\""))?),
                    None => Some(t.parse().map_err(|_| format!("load \"{t}\""))?),
                },
            })
        };
        let read = |r: &Reading, other: Option<&Reading>| -> Result<f64, String> {
            let at: Loaded = solved.at(solved.study(&words(r))?, load(r, other)?);
            at.measure(r.measure, r.window)
        };
        let a = read(&self.a, self.b.as_ref())?;
        let Some(b) = &self.b else { return Ok(a) };
        let b = read(b, Some(&self.a))?;
        Ok(ratio(self.a.measure, a, b))
    }

    /// What rules that do not compute forces say about the same heads: joint angles alone, and the 1–½–0 convention.
    fn simple_rules(&self, solved: &Solved) -> Option<String> {
        let heads = |m: &str| {
            let (kind, list) = m.split_once(' ')?;
            matches!(kind, "activation" | "stimulus").then(|| solved.heads(list).ok()).flatten()
        };
        let ha = heads(self.a.measure)?;
        let a = solved.study(self.a.movement).ok()?;
        let verdict = |v: f64| format!("{} ({v:.2})", if self.inside(v) { "right" } else { "wrong" });
        let (angles, convention) = match &self.b {
            Some(b) => {
                let hb = heads(b.measure)?;
                let b = solved.study(b.movement).ok()?;
                let of = |x: f64, y: f64| (x + SILENT) / (y + SILENT);
                (
                    of(solved.angle_rule(a, &ha), solved.angle_rule(b, &hb)),
                    of(solved.convention(a, &ha), solved.convention(b, &hb)),
                )
            }
            None => (solved.angle_rule(a, &ha), solved.convention(a, &ha)),
        };
        Some(format!("joint angles alone {}, convention {}", verdict(angles), verdict(convention)))
    }
}

/// Sign of a ratio about 1; 0 where the two hardly differ.
fn order(ratio: f64) -> f64 {
    if (ratio - 1.0).abs() < LEAST_DIFFERENCE { 0.0 } else { (ratio - 1.0).signum() }
}

fn ratio(measure: &str, a: f64, b: f64) -> f64 {
    let silent = if measure.starts_with("activation") || measure.starts_with("stimulus") { SILENT } else { 0.0 };
    let b = b + silent;
    (a + silent) / if b.abs() < 1e-9 { 1e-9 } else { b }
}

/// Judge every row of a table.
///
/// # Errors
/// A cell that cannot be read; a movement that cannot be solved is a row without a value.
pub fn judge(
    group: &str,
    library: &Library,
    postures: Option<&Library>,
    table: &Table,
) -> Result<Vec<ProofRow>, CaseError> {
    let cases: Vec<(Row, Case)> =
        table.rows().map(|row| Case::read(&row).map(|c| (row, c))).collect::<Result<_, _>>()?;
    let solved = Solved::new(library, postures, cases.iter().flat_map(|(_, c)| c.words()));
    cases.iter().map(|(row, case)| one(group, row, case, &solved)).collect()
}

fn one(group: &str, row: &Row, case: &Case, solved: &Solved) -> Result<ProofRow, CaseError> {
    let mut out = ProofRow {
        group: group.into(),
        id: row.text("id")?.into(),
        source: row.text("source")?.into(),
        how: row.text("how")?.into(),
        part: row.text("part")?.into(),
        ..ProofRow::default()
    };
    let mut notes = Vec::new();
    let unit = row.text("unit")?;
    let (low, high) = (case.low, case.high);
    if case.is_order() {
        out.unit = "sign".into();
        out.published = if low.is_some() { 1.0 } else { -1.0 };
    } else {
        out.unit = match (low, high) {
            (Some(_), None) => format!("{unit}, at least"),
            (None, Some(_)) => format!("{unit}, at most"),
            _ => unit.into(),
        };
        out.tolerance = match (low, high) {
            (Some(l), Some(h)) => 0.5 * (h - l),
            _ => 0.0,
        };
        out.published = match (row.maybe("published")?, low, high) {
            (Some(p), _, _) => {
                if let (Some(l), Some(h)) = (low, high) {
                    // Limits need not lie evenly about the published number.
                    out.tolerance = (h - p).max(p - l);
                    notes.push(format!("accepted {l} to {h}"));
                }
                p
            }
            (None, Some(l), Some(h)) => 0.5 * (l + h),
            (None, l, h) => l.or(h).unwrap_or(0.0),
        };
    }
    match case.value(solved, None) {
        Ok(v) => {
            out.pass = case.inside(v);
            if case.is_order() {
                notes.push(format!("ratio {v:.2}"));
                out.value = Some(order(v));
            } else {
                out.value = Some(v);
            }
        }
        Err(e) => notes.push(format!("not computed: {e}")),
    }
    for movement in [Some(case.a.movement), case.b.as_ref().map(|b| b.movement)].into_iter().flatten() {
        notes.extend(solved.study(movement).ok().and_then(off_posture));
    }
    let scanned: Vec<f64> = case.scan.iter().filter_map(|s| case.value(solved, Some(s)).ok()).collect();
    if let (Some(lo), Some(hi)) = (scanned.iter().copied().reduce(f64::min), scanned.iter().copied().reduce(f64::max)) {
        notes.push(format!("{lo:.2} to {hi:.2} over {}", case.scan.join(", ")));
    }
    if let Some(rules) = case.simple_rules(solved) {
        notes.push(rules);
    }
    let note = row.text("note")?;
    if !note.is_empty() {
        notes.push(note.into());
    }
    out.note = notes.join("; ");
    Ok(out)
}
