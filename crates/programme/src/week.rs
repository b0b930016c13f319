//! A week as numbers. In: entries and a source of credits; out: lines (entry × effort × movement) over a table of
//! movements in which each head has a fixed index, so that a search can evaluate thousands of edits.

use crate::effort::{EFFORT_NOT_SAID, Effort, effort_of, tame};
use crate::rules::Rules;
use answer::{Entry, Message, MovementCredit, Range, Settings, Status};
use std::collections::BTreeMap;

/// Where the credit of a movement done with some settings comes from.
pub trait CreditSource {
    /// Credit of one hard set, or a plain sentence why there is none.
    fn credit(&self, movement: &str, settings: &Settings) -> Result<MovementCredit, String>;
}

impl<F: Fn(&str, &Settings) -> Result<MovementCredit, String>> CreditSource for F {
    fn credit(&self, movement: &str, settings: &Settings) -> Result<MovementCredit, String> {
        self(movement, settings)
    }
}

/// What the ledger needs to know of a head.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeadFacts {
    pub head: String,
    /// Coach's name.
    pub plain: String,
    /// Coach groups, the one it is shown under first.
    pub groups: Vec<String>,
    pub volume_cm3: f64,
    /// Joints crossed, as ids or as the names of the muscle table.
    pub joints: Vec<String>,
    pub low_confidence: bool,
}

/// Which week of a block is judged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum WeekChoice {
    /// The only week, or the first.
    #[default]
    First,
    /// A week by its number.
    Week(u32),
    /// Mean over all weeks of the file.
    Mean,
}

/// Credit of one hard set for one head.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Cell {
    pub mechanics: Range,
    pub convention: f64,
    pub trials: Option<f64>,
    pub pooled: Range,
    pub long: bool,
}

/// Movements with their credits by head index.
pub(crate) struct Table {
    pub movements: Vec<MovementCredit>,
    /// `cells[movement][head]`.
    pub cells: Vec<Vec<Cell>>,
    index: BTreeMap<String, usize>,
    heads: BTreeMap<String, usize>,
    /// Heads that were credited and are in no list of heads.
    pub strangers: std::collections::BTreeSet<String>,
}

impl Table {
    pub fn new(heads: &[HeadFacts]) -> Table {
        let heads = heads.iter().enumerate().map(|(i, h)| (h.head.clone(), i)).collect();
        Table { heads, movements: Vec::new(), cells: Vec::new(), index: BTreeMap::new(), strangers: Default::default() }
    }

    /// Index of a movement with these settings; the same credit is kept once.
    pub fn add(&mut self, credit: MovementCredit) -> usize {
        let key = key_of(&credit.movement, &credit.settings);
        if let Some(&i) = self.index.get(&key) {
            return i;
        }
        let mut cells = vec![Cell::default(); self.heads.len()];
        for h in &credit.heads {
            let Some(&i) = self.heads.get(&h.head) else {
                self.strangers.insert(h.head.clone());
                continue;
            };
            cells[i] = Cell {
                mechanics: tame_range(h.credit.mechanics),
                convention: tame(h.credit.convention, MOST_CREDIT),
                trials: h.credit.trials.map(|t| tame(t, MOST_CREDIT)),
                pooled: tame_range(h.credit.pooled),
                long: h.long,
            };
        }
        self.movements.push(credit);
        self.cells.push(cells);
        self.index.insert(key, self.movements.len() - 1);
        self.movements.len() - 1
    }
}

/// A credit is 0 to 1 by definition; a ratio of trials may exceed it a little.
const MOST_CREDIT: f64 = 2.0;

fn tame_range(r: Range) -> Range {
    let [a, mid, b] = [r.low, r.mid, r.high].map(|v| tame(v, MOST_CREDIT));
    Range { low: a.min(mid), mid, high: b.max(mid) }
}

fn key_of(movement: &str, settings: &Settings) -> String {
    let mut key = movement.to_string();
    for (name, value) in settings {
        key.push_str(&format!(";{name}={value}"));
    }
    key
}

/// An entry that counts.
#[derive(Clone, Debug)]
pub(crate) struct Line {
    pub entry: Entry,
    pub effort: Effort,
    /// Index into the table.
    pub movement: usize,
    /// Index into `Plan::days`.
    pub day: usize,
    pub certain: bool,
    /// Its row among the entries of the plan.
    pub at: usize,
    /// A proposal has changed it already.
    pub touched: bool,
}

impl Line {
    pub fn sets(&self) -> f64 {
        self.effort.sets.mid
    }
}

/// The lines of the judged week or weeks.
#[derive(Clone, Debug, Default)]
pub(crate) struct Plan {
    pub lines: Vec<Line>,
    /// (week, day as written) in order of appearance.
    pub days: Vec<(u32, String)>,
    /// Weeks judged, ascending.
    pub weeks: Vec<u32>,
}

impl Plan {
    /// How many weeks the totals are divided by.
    pub fn week_count(&self) -> f64 {
        self.weeks.len().max(1) as f64
    }
    /// Only the lines of one week.
    pub fn only(&self, week: u32) -> Plan {
        let days: Vec<(u32, String)> = self.days.iter().filter(|(w, _)| *w == week).cloned().collect();
        let mut lines: Vec<Line> = self.lines.iter().filter(|l| l.entry.week == week).cloned().collect();
        for line in &mut lines {
            line.day = days.iter().position(|(_, d)| *d == line.entry.day).unwrap_or(0);
        }
        Plan { lines, days, weeks: vec![week] }
    }
}

/// Turns entries into lines. Assumptions about effort are written into the entries; a movement without credit becomes a
/// question and counts nowhere.
pub(crate) fn plan_of(
    entries: &mut [Entry],
    credits: &dyn CreditSource,
    table: &mut Table,
    rules: &Rules,
    messages: &mut Vec<Message>,
) -> Plan {
    let mut plan = Plan::default();
    let mut asked: BTreeMap<String, Result<usize, String>> = BTreeMap::new();
    for (at, entry) in entries.iter_mut().enumerate() {
        if matches!(entry.status, Status::Unknown | Status::Ignored) {
            continue;
        }
        let Some(movement) = entry.movement.clone() else { continue };
        let effort = effort_of(entry, rules);
        // Effort that is not said is told once for the whole file; all else makes the row an assumed one.
        for note in effort.assumptions.iter().filter(|n| *n != EFFORT_NOT_SAID) {
            entry.status = Status::Assumed;
            if !entry.assumptions.contains(note) {
                entry.assumptions.push(note.clone());
            }
        }
        let found = asked
            .entry(key_of(&movement, &entry.settings))
            .or_insert_with(|| credits.credit(&movement, &entry.settings).map(|c| table.add(c)));
        let index = match found {
            Ok(index) => *index,
            Err(why) => {
                messages.push(Message {
                    level: "question".into(),
                    place: place_of(entry),
                    text: format!("{} is counted nowhere: {why}", entry.name),
                });
                continue;
            }
        };
        let key = (entry.week, entry.day.clone());
        let day = plan.days.iter().position(|d| *d == key).unwrap_or_else(|| {
            plan.days.push(key);
            plan.days.len() - 1
        });
        let certain = entry.status == Status::Certain;
        plan.lines.push(Line { entry: entry.clone(), effort, movement: index, day, certain, at, touched: false });
    }
    plan.weeks = plan.days.iter().map(|(w, _)| *w).collect();
    plan.weeks.sort_unstable();
    plan.weeks.dedup();
    plan
}

/// "Plan!B7"; "line 7" without a sheet name.
pub(crate) fn place_of(entry: &Entry) -> String {
    if entry.sheet.is_empty() {
        return format!("line {}", entry.row);
    }
    let mut column = entry.col;
    let mut letters = String::new();
    while column > 0 {
        letters.insert(0, char::from(b'A' + ((column - 1) % 26) as u8));
        column = (column - 1) / 26;
    }
    format!("{}!{letters}{}", entry.sheet, entry.row)
}
