//! What drops out when a muscle is lost: the same solver with the strength of those heads at zero.
//!
//! Columns: `id, movement, lost, measure, frames, low, high, published, unit, source, how, note`. `measure`: `torque-loss`
//! (% of the mean capacity over `frames`), `peak-loss` (% of the best frame's capacity), `rise HEADS` (ratio of the
//! activation of heads, lesioned to intact, with nothing in the hand), `rise-ratio HEADS` (that ratio in `frames` to
//! the one in `frames_b`).

use crate::Group;
use crate::cases::{CaseError, Row, Table};
use crate::solved::{Solved, Window, without};
use answer::ProofRow;
use library::{Library, Study};
use mechanics::solve::{Criterion, Memory, prepare};
use mechanics::system::ContactFreedom;

pub const GROUP: Group = Group {
    name: "lesion-facts",
    title: "What is lost with a muscle?",
    cases: include_str!("../../../../data/proof/lesion-facts.csv"),
    judge,
};

fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let postures = crate::postures::library().map_err(|e| CaseError { file: table.file.clone(), line: 0, text: e })?;
    let mut words = Vec::new();
    for row in table.rows() {
        words.push(row.text("movement")?.to_string());
    }
    let solved = Solved::new(library, Some(postures), words);
    table.rows().map(|row| one(&row, &solved)).collect()
}

fn one(row: &Row, solved: &Solved) -> Result<ProofRow, CaseError> {
    let (low, high) = (row.maybe("low")?, row.maybe("high")?);
    let bounds = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
    let published = row.maybe("published")?.or(low).or(high).unwrap_or(0.0);
    let mut out = ProofRow {
        group: GROUP.name.into(),
        id: row.text("id")?.into(),
        source: row.text("source")?.into(),
        how: row.text("how")?.into(),
        published,
        tolerance: high.map_or(0.0, |h| (h - published).max(published - bounds.0.max(-1e9))),
        unit: row.text("unit")?.into(),
        note: row.text("note")?.into(),
        ..ProofRow::default()
    };
    let window = Window::read(row, "frames")?;
    let window_b = Window::read(row, "frames_b")?;
    let (movement, lost, measure) = (row.text("movement")?, row.text("lost")?, row.text("measure")?);
    let found = solved.study(movement).and_then(|s| value(solved, s, &solved.heads(lost)?, measure, window, window_b));
    match found {
        Ok(v) => {
            out.value = Some(v);
            out.pass = v > bounds.0 && v < bounds.1;
        }
        Err(e) => out.note = format!("not computed: {e}"),
    }
    Ok(out)
}

fn value(solved: &Solved, s: &Study, lost: &[usize], measure: &str, w: Window, v: Window) -> Result<f64, String> {
    let library = solved.library;
    let model = without(s, library, lost);
    let mut memory = Memory::default();
    let prepared = prepare(&s.rep, &s.body, &model, ContactFreedom::Usual, &library.stops);
    let after = prepared.set_load(&library.rules.load_rule(), &mut memory);
    let n = s.rep.frames.len();
    let inside = |w: Window| (0..n).filter(move |t| w.has(*t, n));
    let (kind, heads) = measure.split_once(' ').unwrap_or((measure, ""));
    let percent = |a: f64, b: f64| 100.0 * (1.0 - a / b.max(1e-9));
    Ok(match kind {
        "torque-loss" => {
            percent(inside(w).map(|t| after.capacity[t]).sum(), inside(w).map(|t| s.solved.load.capacity[t]).sum())
        }
        "peak-loss" => percent(
            inside(w).map(|t| after.capacity[t]).fold(0.0, f64::max),
            inside(w).map(|t| s.solved.load.capacity[t]).fold(0.0, f64::max),
        ),
        "rise" | "rise-ratio" => {
            let heads = solved.heads(heads)?;
            let intact = solved.at(s, Some(0.0));
            let lesioned = prepared.share(0.0, &after.capacity, Criterion::Cubic, &model, &mut memory);
            let mean =
                |a: &[Vec<f64>], w: Window| inside(w).map(|t| solved.mean(&heads, |h| a[t][h])).sum::<f64>() + 1e-3;
            let rise = |w: Window| mean(&lesioned.activation, w) / mean(&intact.shares().activation, w);
            if kind == "rise" { rise(w) } else { rise(w) / rise(v) }
        }
        _ => return Err(format!("\"{kind}\": expected torque-loss, peak-loss, rise or rise-ratio")),
    })
}
