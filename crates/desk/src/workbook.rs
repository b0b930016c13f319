//! An audit as a workbook the coach can send on: ledger, proposals, plan as read, notes.

use crate::text::{many, minutes_in_plan_order, sentence_case};
use answer::{Audit, Band, CreditedSets, LedgerRow, Status};
use sheet::write::{CellOut, Look, SheetOut, WorkbookOut};

/// Empty where a number is missing or no number.
fn number(v: Option<f64>, decimals: u8) -> CellOut {
    v.filter(|v| v.is_finite()).map_or_else(CellOut::empty, |v| CellOut::number(v, decimals))
}

fn text(t: &str) -> CellOut {
    if t.is_empty() { CellOut::empty() } else { CellOut::text(t) }
}

fn header(titles: &[&str]) -> Vec<CellOut> {
    titles.iter().map(|t| CellOut::text(*t).looking(Look::Header)).collect()
}

fn title(t: &str) -> Vec<CellOut> {
    vec![CellOut::text(t).looking(Look::Title)]
}

fn quiet(t: impl Into<String>) -> Vec<CellOut> {
    vec![CellOut::text(t).looking(Look::Quiet)]
}

/// The sheets, the finding as title of the first.
pub fn of(a: &Audit, finding: &str) -> WorkbookOut {
    WorkbookOut { title: finding.into(), sheets: vec![ledger(a, finding), proposals(a), plan(a), notes(a)] }
}

fn sets_cells(c: &CreditedSets, band: Band, verdict: &str) -> Vec<CellOut> {
    let mut cells: Vec<CellOut> =
        [c.pooled.mid, c.pooled.low, c.pooled.high].iter().map(|v| number(Some(*v), 1)).collect();
    cells.extend([number(Some(band.low), 1), number(Some(band.high), 1), text(verdict)]);
    cells.extend([c.mechanics.mid, c.mechanics.low, c.mechanics.high].iter().map(|v| number(Some(*v), 1)));
    cells.extend([number(Some(c.convention), 1), number(c.trials, 1)]);
    cells
}

/// Cautions as the first rows of a sheet.
pub(super) fn flag_rows(flags: &[answer::Flag]) -> Vec<Vec<CellOut>> {
    let mut rows = Vec::new();
    for f in flags {
        let line = format!("{}: {} ({})", f.level.to_uppercase(), f.text, f.place);
        rows.push(vec![CellOut::text(line).looking(Look::Caution)]);
        if !f.who_lifts.is_empty() {
            rows.push(quiet(format!("lifted by: {}", f.who_lifts)));
        }
        if !f.stop_signs.is_empty() {
            rows.push(vec![CellOut::text(format!("stop when: {}", f.stop_signs.join("; "))).looking(Look::Caution)]);
        }
    }
    rows
}

/// Entries as a table with one row an exercise.
pub(super) fn plain_plan(name: &str, entries: &[answer::Entry]) -> SheetOut {
    let mut rows = vec![header(&["Day", "Exercise", "Sets", "Reps", "RIR", "Load"])];
    let span = |low: f64, high: f64| {
        if low == high {
            CellOut::number(low, u8::from(low.fract() != 0.0))
        } else {
            CellOut::text(format!("{low}-{high}"))
        }
    };
    for e in entries.iter().filter(|e| e.movement.is_some()) {
        let reps = e.reps_low.zip(e.reps_high.or(e.reps_low)).map_or_else(CellOut::empty, |(l, h)| span(l, h));
        let load = e.load.map_or(String::new(), |l| format!("{l} {}", e.unit.as_deref().unwrap_or("kg")));
        rows.push(vec![
            text(&e.day),
            text(&e.name),
            span(e.sets_low, e.sets_high),
            reps,
            number(e.rir, 0),
            text(&load),
        ]);
    }
    let widths_chars = vec![14.0, 40.0, 8.0, 10.0, 8.0, 12.0];
    SheetOut { name: name.into(), widths_chars, frozen_rows: 1, frozen_cols: 0, rows }
}

fn ledger(a: &Audit, finding: &str) -> SheetOut {
    let mut rows = flag_rows(&a.flags);
    rows.push(title(finding));
    let demo = if a.client.demo { " (invented)" } else { "" };
    let name = if a.client.name.is_empty() { "An unnamed client" } else { &a.client.name };
    let summary = if a.client.summary.is_empty() { String::new() } else { format!(": {}", a.client.summary) };
    rows.push(quiet(format!("{name}{demo}{summary}. {}.", sentence_case(&a.week))));
    rows.extend(a.gaps.iter().map(|g| vec![text(&g.reason)]));
    rows.push(header(&[
        "Group and head",
        "Sets",
        "Sets, low",
        "Sets, high",
        "Band from",
        "Band to",
        "Verdict",
        "Mechanics",
        "Mechanics, low",
        "Mechanics, high",
        "Convention",
        "Trials",
        "Sessions",
        "At long length",
        "From",
    ]));
    let head_row = |r: &LedgerRow| {
        let from: Vec<String> = r.from.iter().map(|(m, sets)| format!("{m} {sets:.1}")).collect();
        let mut cells = vec![text(if r.plain.is_empty() { &r.head } else { &r.plain })];
        cells.extend(sets_cells(&r.credited_sets, r.band, &r.verdict));
        cells.push(number(Some(f64::from(r.sessions)), 0));
        cells.push(if r.long_length_share.is_finite() {
            CellOut::share(r.long_length_share, 0)
        } else {
            CellOut::empty()
        });
        cells.push(text(&from.join(", ")));
        cells
    };
    for g in &a.groups {
        let mut cells = vec![text(&g.group)];
        cells.extend(sets_cells(&g.credited_sets, g.band, &g.verdict));
        rows.push(cells.into_iter().map(|c| c.looking(Look::Group)).collect());
        let heads = g.heads.iter().filter_map(|h| a.ledger.iter().find(|r| r.head == *h));
        rows.extend(heads.map(head_row));
    }
    let listed = |r: &&LedgerRow| !a.groups.iter().any(|g| g.heads.contains(&r.head));
    rows.extend(a.ledger.iter().filter(listed).map(head_row));
    let mut widths = vec![34.0];
    widths.extend([9.0; 13]);
    widths.push(60.0);
    SheetOut { name: "Ledger".into(), widths_chars: widths, frozen_rows: 0, frozen_cols: 1, rows }
}

fn proposals(a: &Audit) -> SheetOut {
    let mut rows = vec![header(&["Proposal", "Reason", "Head", "Before", "After", "Minutes", "Look out for"])];
    for p in &a.proposals {
        let mut first = true;
        let heads: std::collections::BTreeSet<&str> =
            p.before.keys().chain(p.after.keys()).map(String::as_str).collect();
        let change = |head: &str| {
            let of = |map: &std::collections::BTreeMap<String, f64>| map.get(head).copied().unwrap_or(0.0);
            (of(&p.after) - of(&p.before)).abs()
        };
        let mut keys: Vec<&str> = if heads.is_empty() { vec![""] } else { heads.into_iter().collect() };
        // Most affected first.
        keys.sort_by(|x, y| change(y).total_cmp(&change(x)));
        for head in keys {
            let plain = a.ledger.iter().find(|r| r.head == head && !r.plain.is_empty()).map_or(head, |r| &r.plain);
            let lead = |t: &str| if first { text(t) } else { CellOut::empty() };
            let mut cells = vec![lead(&p.edit), lead(&p.reason), text(plain)];
            cells.extend([number(p.before.get(head).copied(), 1), number(p.after.get(head).copied(), 1)]);
            cells.extend([number(first.then_some(p.minutes), 0), lead(&p.cautions.join("; "))]);
            rows.push(cells);
            first = false;
        }
    }
    if a.proposals.is_empty() {
        rows.push(quiet("No proposal"));
    }
    let widths_chars = vec![44.0, 50.0, 34.0, 9.0, 9.0, 9.0, 40.0];
    SheetOut { name: "Proposals".into(), widths_chars, frozen_rows: 1, frozen_cols: 0, rows }
}

fn plan(a: &Audit) -> SheetOut {
    let mut rows = vec![header(&[
        "Sheet",
        "Row",
        "Column",
        "Week",
        "Day",
        "As written",
        "Read as",
        "Sets from",
        "Sets to",
        "Reps from",
        "Reps to",
        "Unit",
        "RIR",
        "Load",
        "Load unit",
        "Status",
        "Assumptions",
        "Nearest names",
        "Remarks",
    ])];
    for e in &a.entries {
        let (status, look) = match e.status {
            Status::Certain => ("certain", Look::Plain),
            Status::Assumed => ("assumed", Look::Plain),
            Status::Unknown => ("not understood", Look::Caution),
            Status::Ignored => ("not counted", Look::Quiet),
        };
        let near: Vec<&str> = e.extra.nearest.iter().map(|(n, _)| n.as_str()).collect();
        let read = e.movement.as_ref().map_or_else(String::new, |m| match e.settings.is_empty() {
            true => m.clone(),
            false => {
                let pairs: Vec<String> = e.settings.iter().map(|(k, v)| format!("{k}={v}")).collect();
                format!("{m}{{{}}}", pairs.join(","))
            }
        });
        let counted = e.movement.is_some();
        let whole = |v: u32| number(Some(f64::from(v)), 0);
        let cells = vec![
            text(&e.sheet),
            whole(e.row),
            whole(e.col),
            whole(e.week),
            text(&e.day),
            text(&e.text),
            text(&read),
            number(counted.then_some(e.sets_low), 1),
            number(counted.then_some(e.sets_high), 1),
            number(e.reps_low, 0),
            number(e.reps_high, 0),
            text(&e.reps_unit),
            number(e.rir, 1),
            number(e.load, 2),
            text(e.unit.as_deref().unwrap_or("")),
            text(status),
            text(&e.assumptions.join("; ")),
            text(&near.join(", ")),
            text(&remarks(e)),
        ];
        rows.push(cells.into_iter().map(|c| c.looking(look)).collect());
    }
    let widths_chars =
        vec![14.0, 6.0, 8.0, 6.0, 12.0, 34.0, 34.0, 9.0, 9.0, 9.0, 9.0, 7.0, 6.0, 8.0, 9.0, 14.0, 50.0, 40.0, 40.0];
    SheetOut { name: "Plan as read".into(), widths_chars, frozen_rows: 1, frozen_cols: 0, rows }
}

/// What else a row says: pair, tempo, rest, sides.
fn remarks(e: &answer::Entry) -> String {
    let x = &e.extra;
    let mut out = Vec::new();
    out.extend(x.pair.as_ref().map(|p| format!("pair {p}")));
    out.extend(x.tempo_s.map(|t| format!("tempo {}", t.map(|s| format!("{s:.0}")).join("-"))));
    out.extend(x.rest_s.map(|s| format!("rest {s:.0} s")));
    out.extend(x.each_side.then(|| "each side".to_string()));
    out.extend((!x.remarks.is_empty()).then(|| x.remarks.clone()));
    out.join("; ")
}

fn notes(a: &Audit) -> SheetOut {
    let mut rows = vec![header(&["What", "Text"])];
    let mut add = |what: &str, t: String| rows.push(vec![text(what), text(&t)]);
    for m in &a.messages {
        add(&m.level, if m.place.is_empty() { m.text.clone() } else { format!("{}: {}", m.place, m.text) });
    }
    for (day, m) in minutes_in_plan_order(a) {
        let has = m.available.map_or_else(String::new, |v| format!(" of {v:.0}"));
        add("minutes", format!("{day}: {:.0}–{:.0}{has}", m.low, m.high));
    }
    let t = &a.totals;
    add(
        "totals",
        format!(
            "{:.1} hard sets from certain rows alone, {:.1} with the assumed ones; {} not understood",
            t.sets_certain,
            t.sets_with_assumed,
            many(t.entries_unknown as usize, "row", "rows")
        ),
    );
    a.client.missing.iter().for_each(|m| add("not said", m.clone()));
    for p in &a.client.percentiles {
        add("body", format!("{} {:.1} {}: percentile {:.0} ({})", p.what, p.value, p.unit, p.percentile, p.source));
    }
    a.notes.iter().for_each(|n| add("note", n.clone()));
    SheetOut { name: "Notes".into(), widths_chars: vec![14.0, 110.0], frozen_rows: 1, frozen_cols: 0, rows }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::invented;

    #[test]
    fn the_written_workbook_can_be_read_back() {
        let audit = invented::audit();
        let bytes = sheet::write::write_book(&of(&audit, "The finding")).expect("writable");
        let book = sheet::read::read_book(&bytes, "out.xlsx").expect("readable");
        let names: Vec<&str> = book.sheets.iter().map(|s| s.name.as_str()).collect();
        assert_eq!(names, ["Ledger", "Proposals", "Plan as read", "Notes"]);
        let all = format!("{book:?}");
        for part in ["CLEARANCE", "The finding", "zercher thing 3x8", "Add 3 sets of seated leg curl on Monday"] {
            assert!(all.contains(part), "{part}");
        }
    }
}
