//! Loads and repetitions over several weeks, and the plan with them in the client's own layout.

use super::audit::{self, AuditRequest};
use super::{Desk, client, data, workbook};
use crate::json;
use crate::problem::{Problem, Report};
use crate::wish::Wish;
use answer::{Entry, LayOut, LayOutRow, LayOutWeek, MovementCredit, Settings};
use library::Ask;
use movement::catalogue::Kit;
use programme::{Client, LayOutInputs, LoadRules};
use sheet::fill::{Fill, fill};
use sheet::write::{CellOut, Look, SheetOut, WorkbookOut};

/// What is asked of `lay-out`.
#[derive(Clone, Copy)]
pub struct LayOutRequest<'a> {
    pub plan: AuditRequest<'a>,
    pub weeks: u32,
    /// Weeks the coach wants easy, 1-based.
    pub easy: &'a [u32],
    /// Id of a rule of `progression.csv`.
    pub rule: &'a str,
}

/// Loads and rules from the shipped tables.
pub fn load_rules() -> Result<LoadRules, Report> {
    let (curves, progression) = (data::text("programme/load_curves.csv")?, data::text("programme/progression.csv")?);
    LoadRules::parse(curves, progression).map_err(|problems| {
        let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
        Report::internal(format!("the shipped tables of loads: {}", all.join("; ")))
    })
}

/// Loads that can be set for a movement: the client's own list goes before the kit's.
fn steps_kg(movement: &MovementCredit, client: &Client, kit: Option<&Kit>) -> Vec<f64> {
    for word in &movement.equipment {
        if let Some((_, loads)) = client.loads_kg.iter().find(|(w, _)| w.eq_ignore_ascii_case(word)) {
            return loads.clone();
        }
        let items = kit.map_or(&[][..], |k| &k.items[..]).iter().filter(|i| i.provides.contains(word));
        let mut loads: Vec<f64> = items.flat_map(|i| i.loads_kg.iter().copied()).collect();
        loads.sort_by(f64::total_cmp);
        loads.dedup();
        if !loads.is_empty() {
            return loads;
        }
    }
    Vec::new()
}

pub(super) fn lay_out(desk: &Desk, request: &LayOutRequest) -> Result<LayOut, Report> {
    let (plan, client, kit) = audit::read(desk, &request.plan)?;
    let (rules, loads) = (audit::rules()?, load_rules()?);
    let person = client::person(&client);
    let credits = |movement: &str, settings: &Settings| -> Result<MovementCredit, String> {
        let wish = Wish { movement: movement.into(), settings: settings.clone() };
        (*desk.house.credit(&Ask { person: person.clone(), draws: 0, ..desk.ask(&wish, false) })).clone()
    };
    let steps = |m: &MovementCredit| steps_kg(m, &client, kit.as_ref());
    let out = programme::lay_out(LayOutInputs {
        entries: &plan.entries,
        messages: plan.messages,
        pain_words: &plan.pain_words,
        client: &client,
        today: client::today(),
        credits: &credits,
        steps_kg: &steps,
        rules: &rules,
        loads: &loads,
        weeks: request.weeks,
        easy: request.easy.to_vec(),
        rule: request.rule,
    })
    .map_err(|what| Report::from(Problem::error("lay-out", what)))?;
    Ok(LayOut { schema: json::LAY_OUT.into(), ..out })
}

fn fill_of(row: &LayOutRow, week: &LayOutWeek) -> Fill {
    Fill {
        source: Some(row.entry as usize),
        sets: (week.sets, week.sets),
        reps: Some((week.reps_low, week.reps_high)),
        reps_unit: row.reps_unit.clone(),
        rir: Some(week.rir),
        load_kg: week.load_kg,
        ..Fill::default()
    }
}

/// One sheet a week in the plan's own layout, then how it was reckoned.
pub(super) fn book(desk: &Desk, request: &LayOutRequest, out: &LayOut) -> Result<WorkbookOut, Report> {
    let read = audit::read_with_book(desk, &request.plan)?;
    let (entries, ..) = audit::read(desk, &request.plan).map(|(p, c, k)| (p.entries, c, k))?;
    let mut sheets = Vec::new();
    for week in 1..=out.weeks {
        let cells: Vec<(&LayOutRow, &LayOutWeek)> =
            out.rows.iter().filter_map(|r| r.weeks.iter().find(|w| w.week == week).map(|w| (r, w))).collect();
        let easy = if out.easy.contains(&week) { " (easy)" } else { "" };
        match &read {
            // A plan with weeks side by side keeps one table; several copies of it would contradict themselves.
            Some((book, read)) if read.weeks <= 1 => {
                let fills: Vec<Fill> = cells.iter().map(|(r, w)| fill_of(r, w)).collect();
                for mut sheet in fill(book, read, &fills) {
                    let several = book.sheets.len() > 1;
                    let own = if several { format!(" {}", sheet.name) } else { String::new() };
                    sheet.name = format!("Week {week}{easy}{own}");
                    sheets.push(sheet);
                }
            }
            _ => {
                let rows: Vec<Entry> = cells.iter().map(|(r, w)| entry_of(&entries, r, w)).collect();
                sheets.push(workbook::plain_plan(&format!("Week {week}{easy}"), &rows));
            }
        }
    }
    sheets.push(reckoning(out));
    Ok(WorkbookOut { title: format!("{} weeks for {}", out.weeks, client::name_of(&out.client)), sheets })
}

fn entry_of(entries: &[Entry], row: &LayOutRow, week: &LayOutWeek) -> Entry {
    let mut e = entries.get(row.entry as usize).cloned().unwrap_or_default();
    (e.sets_low, e.sets_high) = (week.sets, week.sets);
    (e.reps_low, e.reps_high) = (Some(week.reps_low), Some(week.reps_high));
    e.name.clone_from(&row.name);
    e.rir = Some(week.rir);
    (e.load, e.unit) = (week.load_kg, week.load_kg.map(|_| "kg".to_string()));
    e
}

fn reckoning(out: &LayOut) -> SheetOut {
    let mut rows: Vec<Vec<CellOut>> = workbook::flag_rows(&out.flags);
    let title = |t: String| vec![CellOut::text(t).looking(Look::Title)];
    rows.push(title(format!("{}: when {}, {}", out.rule.name, out.rule.trigger, out.rule.action)));
    rows.push(vec![CellOut::text(format!("Source: {} ({})", out.rule.source, out.rule.how)).looking(Look::Quiet)]);
    let head = ["Day", "Exercise", "Repetitions", "Why", "One repetition, kg", "From", "Remarks"];
    rows.push(head.iter().map(|t| CellOut::text(*t).looking(Look::Header)).collect());
    for r in &out.rows {
        let one = r.one_rep_kg.map_or(String::new(), |o| format!("{:.0} ({:.0}–{:.0})", o.mid, o.low, o.high));
        let reps = format!("{:.0}–{:.0}", r.reps_low, r.reps_high);
        let cells = [&r.day, &r.name, &reps, &r.range_reason, &one, &r.basis, &r.notes.join("; ")];
        rows.push(cells.iter().map(|t| CellOut::text(t.as_str())).collect());
    }
    rows.extend(out.notes.iter().map(|n| vec![CellOut::text(n)]));
    rows.push(title("Other rules, and what each needs".into()));
    for r in &out.others {
        let text = format!("{}: when {}, {}. Needs {}. {} ({})", r.name, r.trigger, r.action, r.needs, r.source, r.how);
        rows.push(vec![CellOut::text(text).looking(Look::Quiet)]);
    }
    SheetOut {
        name: "How it was reckoned".into(),
        widths_chars: vec![14.0, 30.0, 12.0, 60.0, 18.0, 30.0, 60.0],
        frozen_rows: 0,
        frozen_cols: 0,
        rows,
    }
}
