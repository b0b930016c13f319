//! A rebuilt week as a workbook: the plan as a coach writes one, the heads before and after, changes and proof.

use crate::problem::{Problem, Report};
use crate::text::short;
use answer::{Rebuild, RebuiltLine};
use sheet::write::{CellOut, Look, SheetOut, WorkbookOut};

fn text(t: &str) -> CellOut {
    if t.is_empty() { CellOut::empty() } else { CellOut::text(t) }
}

fn header(titles: &[&str]) -> Vec<CellOut> {
    titles.iter().map(|t| CellOut::text(*t).looking(Look::Header)).collect()
}

/// The workbook's bytes. Its first sheet reads back as the same week.
pub fn rebuilt_workbook(r: &Rebuild) -> Result<Vec<u8>, Report> {
    if r.days.is_empty() {
        return Err(Problem::error("--write", "there is no rebuilt week to write").into());
    }
    let book = WorkbookOut { title: r.finding.clone(), sheets: vec![plan(r), heads(r), changes(r)] };
    sheet::write::write_book(&book).map_err(|e| Problem::error("--write", e.to_string()).into())
}

fn name(l: &RebuiltLine) -> String {
    if l.settings.is_empty() {
        return l.name.clone();
    }
    let pairs: Vec<String> = l.settings.iter().map(|(k, v)| format!("{k}={v}")).collect();
    format!("{}{{{}}}", l.movement, pairs.join(","))
}

fn reps(l: &RebuiltLine) -> String {
    let unit = match l.reps_unit.as_str() {
        "" | "reps" => "",
        "s" => " s",
        unit => unit,
    };
    match (l.reps_low, l.reps_high) {
        (Some(a), Some(b)) if a != b => format!("{}-{}{unit}", short(a, 0), short(b, 0)),
        (Some(a), _) | (None, Some(a)) => format!("{}{unit}", short(a, 0)),
        _ => String::new(),
    }
}

fn plan(r: &Rebuild) -> SheetOut {
    let mut rows = Vec::new();
    for day in r.days.iter().filter(|d| !d.lines.is_empty()) {
        rows.push(vec![CellOut::text(day.day.as_str()).looking(Look::Title)]);
        rows.push(header(&["Exercise", "Sets", "Reps", "RIR", "Rest", "Notes"]));
        for l in &day.lines {
            rows.push(vec![
                text(&name(l)),
                CellOut::number(f64::from(l.sets), 0),
                text(&reps(l)),
                l.rir.map_or_else(CellOut::empty, |v| CellOut::number(v, 0)),
                l.rest_s.map_or_else(CellOut::empty, |s| CellOut::text(format!("{} s", short(s, 0)))),
                text(if l.each_side { "each side" } else { "" }),
            ]);
        }
        rows.push(Vec::new());
    }
    SheetOut {
        name: "Plan".into(),
        widths_chars: vec![44.0, 7.0, 10.0, 7.0, 9.0, 20.0],
        frozen_rows: 0,
        frozen_cols: 1,
        rows,
    }
}

fn heads(r: &Rebuild) -> SheetOut {
    let mut rows = vec![header(&["Head", "Coach group", "Aim", "Before", "After", "Band from", "Band to", "Verdict"])];
    for h in &r.heads {
        rows.push(vec![
            text(if h.plain.is_empty() { &h.head } else { &h.plain }),
            text(&h.group),
            text(&h.aim),
            h.before.map_or_else(CellOut::empty, |v| CellOut::number(v, 1)),
            CellOut::number(h.after, 1),
            CellOut::number(h.band.low, 1),
            CellOut::number(h.band.high, 1),
            text(&h.verdict),
        ]);
    }
    let widths_chars = vec![44.0, 22.0, 8.0, 9.0, 9.0, 10.0, 9.0, 10.0];
    SheetOut { name: "Before and after".into(), widths_chars, frozen_rows: 1, frozen_cols: 1, rows }
}

fn changes(r: &Rebuild) -> SheetOut {
    let mut rows: Vec<Vec<CellOut>> = Vec::new();
    for f in &r.flags {
        let line = format!("{}: {}", f.level.to_uppercase(), f.text);
        rows.push(vec![CellOut::text(line).looking(Look::Caution)]);
        if !f.stop_signs.is_empty() {
            rows.push(vec![CellOut::text(format!("stop when: {}", f.stop_signs.join("; "))).looking(Look::Caution)]);
        }
    }
    let mut part = |title: &str, lines: &[String]| {
        if !lines.is_empty() {
            rows.push(vec![CellOut::text(title).looking(Look::Header)]);
            rows.extend(lines.iter().map(|l| vec![text(l)]));
        }
    };
    part("Finding", std::slice::from_ref(&r.finding));
    part("Changes", &r.changes);
    let cautions: Vec<String> = r
        .days
        .iter()
        .flat_map(|d| d.lines.iter().map(move |l| (d, l)))
        .filter(|(_, l)| !l.cautions.is_empty())
        .map(|(d, l)| format!("{}: {}: {}", d.day, l.name, l.cautions.join("; ")))
        .collect();
    part("Look out for", &cautions);
    part("Below its band, and why", &r.open);
    let p = &r.proof;
    let proof = format!(
        "Value {:.2}, bound {:.2}, gap {:.2} %, {} nodes, {} movements",
        p.value,
        p.bound,
        100.0 * p.gap,
        p.nodes,
        p.movements
    );
    part("Proof", &[proof]);
    part("How this was reckoned", &r.notes);
    SheetOut { name: sheet::plan::REPORT_SHEET.into(), widths_chars: vec![110.0], frozen_rows: 0, frozen_cols: 0, rows }
}
