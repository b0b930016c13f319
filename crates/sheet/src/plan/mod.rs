//! A written week, understood: every exercise cell becomes one entry, every other cell gets a fate, every assumption
//! is put in words. Nothing here knows what a movement trains.

pub mod alarm;
pub mod layout;
pub mod line;
pub mod notation;
pub mod token;
pub mod toml_plan;
pub mod words;

use crate::grid::{Book, Grid, Value};
use answer::{Entry, Message, Status};
use movement::catalogue::Kit;
use movement::names::NameIndex;
use std::collections::{BTreeMap, BTreeSet};

/// How to read a plan.
#[derive(Clone, Copy, Debug, Default)]
pub struct PlanOptions<'a> {
    /// Week of a block to judge, 1-based; the first if not given.
    pub week: Option<u32>,
    /// `kg` or `lb` for loads without a unit. Without it kg is assumed and said.
    pub unit: Option<&'a str>,
    /// What the client has; settles some ambiguous names.
    pub kit: Option<&'a Kit>,
}

/// What became of a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// Stands as an entry of its own: the index into [`PlanRead::entries`].
    Entry(usize),
    /// Feeds an entry of its row.
    Part,
    /// Exercise name that several weeks' entries share.
    Name,
    /// Column heading or row label.
    Head,
    Day,
    Week,
    /// Key or value of a client sheet.
    Client,
}

/// A cell that is not empty, with what became of it. Row and column 1-based.
#[derive(Clone, Debug, PartialEq)]
pub struct CellFate {
    pub sheet: String,
    pub row: u32,
    pub col: u32,
    pub fate: Fate,
}

/// A word of pain or warning.
#[derive(Clone, Debug, PartialEq)]
pub struct PainFlag {
    /// "Push!E5".
    pub place: String,
    pub word: String,
    /// The cell's text.
    pub text: String,
}

impl PainFlag {
    /// Every word of pain or warning in a text.
    pub fn all(text: &str, place: &str) -> Vec<PainFlag> {
        let flag = |word| PainFlag { place: place.to_string(), word, text: text.trim().to_string() };
        alarm::alarm_words(text).into_iter().map(flag).collect()
    }
}

/// A field of a client sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct ClientField {
    pub key: String,
    pub value: String,
    pub place: String,
}

/// A plan as read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PlanRead {
    /// Of all weeks; [`PlanRead::week_chosen`] says which one to judge.
    pub entries: Vec<Entry>,
    pub messages: Vec<Message>,
    pub pain_flags: Vec<PainFlag>,
    /// Number of weeks in the file.
    pub weeks: u32,
    pub week_chosen: u32,
    pub client_fields: Vec<ClientField>,
    /// Every cell that is not empty.
    pub cells: Vec<CellFate>,
    /// Where the parts of each entry stand, for writing them anew.
    pub parts: Vec<PartAt>,
}

/// A part of an entry and its cell.
#[derive(Clone, Debug, PartialEq)]
pub struct PartAt {
    /// Index into [`PlanRead::entries`].
    pub entry: usize,
    pub sheet: String,
    /// 0-based.
    pub row: usize,
    /// 0-based.
    pub col: usize,
    /// What the cell holds; `None` for the name alone.
    pub slot: Option<notation::Slot>,
}

/// Largest number of entries a plan may have; the rest is refused with a message.
pub const MOST_ENTRIES: usize = 20_000;

/// Reads a week or block of weeks out of a workbook. Never fails: what is not understood comes back as unknown.
pub fn read_week(book: &Book, index: &NameIndex, options: &PlanOptions) -> PlanRead {
    let mut plan = PlanRead::default();
    plan.messages.extend(book.notes.iter().map(|n| note("note", "", n.clone())));
    for sheet in &book.sheets {
        flag_pain(sheet, &mut plan);
        if is_client_sheet(sheet) {
            read_client(sheet, &mut plan);
        } else if sheet.name.trim().eq_ignore_ascii_case(REPORT_SHEET) {
            plan.messages.push(note("note", &sheet.name, "a report of ours: not read as a plan".to_string()));
        } else {
            layout::read_sheet(sheet, book.sheets.len(), index, options, &mut plan);
        }
    }
    finish(&mut plan, options);
    plan
}

/// Sheet of a rebuilt week that tells its changes line by line; read as a plan it would count every set twice.
pub const REPORT_SHEET: &str = "Changes and proof";

/// Weeks, and what to say about the plan as a whole.
pub(crate) fn finish(plan: &mut PlanRead, options: &PlanOptions) {
    if plan.entries.len() > MOST_ENTRIES {
        let dropped = plan.entries.len() - MOST_ENTRIES;
        plan.messages.push(note("warning", "", format!("{dropped} rows beyond {MOST_ENTRIES} were not read")));
        plan.entries.truncate(MOST_ENTRIES);
    }
    let counted = |e: &&Entry| matches!(e.status, Status::Certain | Status::Assumed);
    plan.weeks = plan.entries.iter().filter(counted).map(|e| e.week).max().unwrap_or(1);
    plan.week_chosen = options.week.unwrap_or(1).clamp(1, plan.weeks);
    if let Some(asked) = options.week.filter(|w| *w != plan.week_chosen) {
        let text =
            format!("week {asked} is not in the file ({} weeks); week {} is judged", plan.weeks, plan.week_chosen);
        plan.messages.push(note("warning", "", text));
    }
    if plan.weeks > 1 && options.week.is_none() {
        plan.messages.push(note("note", "", format!("{} weeks found; week 1 is judged", plan.weeks)));
    }
    let no_effort = plan.entries.iter().filter(counted).filter(|e| e.rir.is_none()).count();
    if no_effort > 0 {
        let rows = if no_effort == 1 { "1 row gives".to_string() } else { format!("{no_effort} rows give") };
        let text = format!("{rows} no effort; their sets count fully, as if 0 to 3 in reserve");
        plan.messages.push(note("note", "", text));
    }
    // The same question once, at its first place.
    let mut asked = BTreeSet::new();
    plan.messages.retain(|m| m.level != "question" || asked.insert(m.text.clone()));
    let units: BTreeMap<&str, usize> =
        plan.entries.iter().filter_map(|e| e.unit.as_deref()).fold(BTreeMap::new(), |mut m, u| {
            *m.entry(u).or_default() += 1;
            m
        });
    if let (Some(kg), Some(lb)) = (units.get("kg"), units.get("lb")) {
        plan.messages.push(note("note", "", format!("loads in kg ({kg} rows) and in lb ({lb} rows) are mixed")));
    }
    if plan.entries.iter().filter(counted).count() == 0 {
        plan.messages.push(note("warning", "", "no exercise with sets was found in this file".into()));
    }
}

pub(crate) fn note(level: &str, place: &str, text: String) -> Message {
    Message { level: level.into(), place: place.into(), text }
}

/// "Push!E5" from 0-based row and column.
pub fn place(sheet: &str, row: usize, col: usize) -> String {
    format!("{sheet}!{}{}", column_letters(col), row + 1)
}

fn column_letters(mut col: usize) -> String {
    let mut letters = Vec::new();
    loop {
        // The remainder is below 26.
        letters.push(char::from(b'A' + (col % 26) as u8));
        if col < 26 {
            break;
        }
        col = col / 26 - 1;
    }
    letters.iter().rev().collect()
}

/// A cell's text as a coach sees it; empty where nothing stands.
pub fn text(value: &Value) -> String {
    match value {
        Value::Empty => String::new(),
        Value::Text(t) => t.trim().to_string(),
        Value::Number(v) if v.fract() == 0.0 && v.abs() < 1e15 => format!("{v:.0}"),
        // Binary fractions of a spreadsheet ("0.30000000000000004") are shown with six digits.
        Value::Number(v) => format!("{}", (v * 1e6).round() / 1e6),
        Value::Date(d) => d.clone(),
        Value::Bool(b) => if *b { "TRUE" } else { "FALSE" }.into(),
        Value::Error(e) => e.clone(),
    }
}

fn flag_pain(sheet: &Grid, plan: &mut PlanRead) {
    for (r, row) in sheet.rows.iter().enumerate() {
        for (c, cell) in row.iter().enumerate() {
            if let Value::Text(t) = &cell.value {
                plan.pain_flags.extend(PainFlag::all(t, &place(&sheet.name, r, c)));
            }
        }
    }
}

/// Named so, or a list of keys of which most are a client's.
fn is_client_sheet(sheet: &Grid) -> bool {
    let keys: Vec<String> =
        sheet.rows.iter().filter_map(|r| r.iter().map(|c| text(&c.value)).find(|t| !t.is_empty())).collect();
    let known = keys.iter().filter(|k| words::is_client_field(k.trim_end_matches(':'))).count();
    let named =
        words::plain(&sheet.name).iter().any(|w| ["client", "profile", "intake", "athlete"].contains(&w.as_str()));
    named && known >= 1 || known >= 4 && known * 2 > keys.len()
}

fn read_client(sheet: &Grid, plan: &mut PlanRead) {
    for (r, row) in sheet.rows.iter().enumerate() {
        let filled: Vec<(usize, String)> =
            row.iter().enumerate().map(|(c, cell)| (c, text(&cell.value))).filter(|(_, t)| !t.is_empty()).collect();
        for (c, _) in &filled {
            plan.cells.push(CellFate {
                sheet: sheet.name.clone(),
                row: r as u32 + 1,
                col: *c as u32 + 1,
                fate: Fate::Client,
            });
        }
        if let Some((c, key)) = filled.first() {
            let value = filled[1..].iter().map(|(_, t)| t.as_str()).collect::<Vec<_>>().join(" ");
            let place = place(&sheet.name, r, *c);
            plan.client_fields.push(ClientField { key: key.trim_end_matches(':').trim().into(), value, place });
        }
    }
}
