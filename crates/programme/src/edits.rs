//! One change of a week. In: a plan and an edit; out: the plan after it, and the same edit as a [`Change`] that a program
//! can apply to the entries of a file.

use crate::effort::effort_of;
use crate::rules::Rules;
use crate::week::{Line, Plan, Table};
use answer::{Change, Entry, EntryExtra, Range, Status};

/// One change of a week.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Edit {
    /// Line done with other settings.
    Setting { line: usize, movement: usize },
    /// Line becomes another movement, with this many sets: fewer than it had where the new one is new to the client.
    Swap { line: usize, movement: usize, sets: f64 },
    /// Some sets of a line become another movement.
    Move { line: usize, movement: usize, sets: f64 },
    /// New line on a day.
    Add { day: usize, movement: usize, sets: f64 },
    /// More sets of a line.
    More { line: usize, sets: f64 },
    /// Fewer sets of a line; all of them take it out.
    Fewer { line: usize, sets: f64 },
    /// The line is done on another day.
    Shift { line: usize, day: usize },
    /// Two lines of a day share their rest.
    Pair { line: usize, with: usize },
}

impl Edit {
    /// The day whose work changes; of a shift the day it goes to.
    pub fn day(self, plan: &Plan) -> usize {
        match self {
            Edit::Add { day, .. } | Edit::Shift { day, .. } => day,
            _ => self.line().map_or(0, |line| plan.lines[line].day),
        }
    }
    /// The line it changes; none for a new one.
    pub fn line(self) -> Option<usize> {
        match self {
            Edit::Add { .. } => None,
            Edit::Setting { line, .. }
            | Edit::Swap { line, .. }
            | Edit::Move { line, .. }
            | Edit::More { line, .. }
            | Edit::Fewer { line, .. }
            | Edit::Shift { line, .. }
            | Edit::Pair { line, .. } => Some(line),
        }
    }
    /// The same edit with its lines counted elsewhere.
    pub fn with_line(self, place: impl Fn(usize) -> usize) -> Edit {
        match self {
            Edit::Setting { line, movement } => Edit::Setting { line: place(line), movement },
            Edit::Swap { line, movement, sets } => Edit::Swap { line: place(line), movement, sets },
            Edit::Move { line, movement, sets } => Edit::Move { line: place(line), movement, sets },
            Edit::More { line, sets } => Edit::More { line: place(line), sets },
            Edit::Fewer { line, sets } => Edit::Fewer { line: place(line), sets },
            Edit::Pair { line, with } => Edit::Pair { line: place(line), with: place(with) },
            whole @ (Edit::Add { .. } | Edit::Shift { .. }) => whole,
        }
    }
    pub fn adds_sets(self) -> bool {
        matches!(self, Edit::Add { .. } | Edit::More { .. })
    }
    /// The movement done after it.
    pub fn movement(self, plan: &Plan) -> usize {
        match self {
            Edit::Setting { movement, .. }
            | Edit::Swap { movement, .. }
            | Edit::Move { movement, .. }
            | Edit::Add { movement, .. } => movement,
            _ => self.line().map_or(0, |line| plan.lines[line].movement),
        }
    }
    /// As [`answer::Proposal::kind`].
    pub fn kind(self) -> &'static str {
        match self {
            Edit::Setting { .. } => "setting",
            Edit::Swap { .. } => "swap",
            Edit::Move { .. } => "move",
            Edit::Add { .. } | Edit::More { .. } => "add",
            Edit::Fewer { .. } => "fewer",
            Edit::Shift { .. } => "shift",
            Edit::Pair { .. } => "pair",
        }
    }
    /// Whether it takes a line out altogether.
    pub fn removes(self, plan: &Plan) -> bool {
        matches!(self, Edit::Fewer { line, sets } if sets >= plan.lines[line].effort.sets.high)
    }

    /// The same edit for a program; rows count in the plan before it.
    pub fn change(self, plan: &Plan, table: &Table) -> Change {
        let at = |line: usize| plan.lines[line].at as u32;
        let (week, day) = plan.days.get(self.day(plan)).cloned().unwrap_or((1, String::new()));
        let mut change =
            Change { kind: self.kind().into(), entry: self.line().map(at), day, week, ..Change::default() };
        if matches!(self, Edit::Setting { .. } | Edit::Swap { .. } | Edit::Move { .. } | Edit::Add { .. }) {
            let m = &table.movements[self.movement(plan)];
            change.movement.clone_from(&m.movement);
            change.name.clone_from(&m.name);
            change.settings.clone_from(&m.settings);
        }
        match self {
            Edit::Swap { line, sets, .. } if sets < plan.lines[line].sets() => change.sets = sets,
            Edit::Move { sets, .. } | Edit::Add { sets, .. } | Edit::More { sets, .. } | Edit::Fewer { sets, .. } => {
                change.sets = sets;
            }
            Edit::Pair { with, .. } => change.with = Some(at(with)),
            _ => {}
        }
        match self {
            Edit::Add { day, .. } => change.at = Some(end_of_day(plan, day).1 as u32),
            Edit::Shift { line, day } => {
                let to = end_of_day(plan, day).1;
                change.at = Some((to - usize::from(to > plan.lines[line].at)) as u32);
            }
            _ => {}
        }
        change
    }
}

/// A row that a proposal brings in: usual repetitions, away from failure.
pub(crate) fn new_entry(change: &Change, rules: &Rules) -> Entry {
    let c = &rules.constants;
    Entry {
        day: change.day.clone(),
        week: change.week,
        movement: Some(change.movement.clone()),
        name: change.name.clone(),
        settings: change.settings.clone(),
        confidence: 1.0,
        sets_low: change.sets,
        sets_high: change.sets,
        reps_low: Some(c.reps_low_default),
        reps_high: Some(c.reps_high_default),
        reps_unit: "reps".into(),
        rir: Some(c.new_rir),
        status: Status::Certain,
        extra: EntryExtra::default(),
        ..Entry::default()
    }
}

fn rename(line: &mut Line, m: usize, table: &Table) {
    let movement = &table.movements[m];
    let other = line.entry.movement.as_deref() != Some(movement.movement.as_str());
    line.movement = m;
    line.touched = true;
    line.entry.movement = Some(movement.movement.clone());
    line.entry.name.clone_from(&movement.name);
    line.entry.settings.clone_from(&movement.settings);
    // A load belongs to its movement; a part of one's best does not.
    if other && line.entry.unit.as_deref() != Some("%1RM") {
        (line.entry.load, line.entry.unit) = (None, None);
    }
}

/// The plan after an edit.
pub(crate) fn apply(plan: &Plan, edit: Edit, table: &Table, rules: &Rules) -> Plan {
    let mut out = plan.clone();
    // Rows behind a new or lost one count differently afterwards.
    let room = |out: &mut Plan, from: usize| out.lines.iter_mut().filter(|l| l.at >= from).for_each(|l| l.at += 1);
    let close = |out: &mut Plan, at: usize| out.lines.iter_mut().filter(|l| l.at > at).for_each(|l| l.at -= 1);
    match edit {
        Edit::Setting { line, movement } => rename(&mut out.lines[line], movement, table),
        Edit::Swap { line, movement, sets } => {
            if sets < out.lines[line].sets() {
                out.lines[line].effort.sets = Range::point(sets);
            }
            rename(&mut out.lines[line], movement, table);
        }
        Edit::Move { line, movement, sets } => {
            let mut moved = out.lines[line].clone();
            out.lines[line].effort.sets = less(out.lines[line].effort.sets, sets);
            moved.effort.sets = Range::point(sets);
            // The moved sets leave a pair: their partner's rest is no longer theirs to share.
            moved.entry.extra.pair = None;
            rename(&mut moved, movement, table);
            moved.at += 1;
            room(&mut out, moved.at);
            out.lines.insert(line + 1, moved);
        }
        Edit::More { line, sets } => {
            let r = &mut out.lines[line].effort.sets;
            *r = Range { low: r.low + sets, mid: r.mid + sets, high: r.high + sets };
            out.lines[line].touched = true;
        }
        Edit::Fewer { line, .. } if edit.removes(plan) => {
            let gone = out.lines.remove(line);
            close(&mut out, gone.at);
        }
        Edit::Fewer { line, sets } => {
            out.lines[line].effort.sets = less(out.lines[line].effort.sets, sets);
            out.lines[line].touched = true;
        }
        Edit::Shift { line, day } => {
            let mut gone = out.lines.remove(line);
            close(&mut out, gone.at);
            let (place, at) = end_of_day(&out, day);
            (gone.day, gone.touched, gone.at) = (day, true, at);
            (gone.entry.week, gone.entry.day) = out.days[day].clone();
            gone.entry.extra.pair = None;
            room(&mut out, at);
            out.lines.insert(place, gone);
        }
        Edit::Pair { line, with } => {
            let mark = free_mark(&out, plan.lines[line].day);
            for l in [line, with] {
                out.lines[l].entry.extra.pair = Some(mark.clone());
                out.lines[l].touched = true;
            }
        }
        Edit::Add { day, .. } => {
            let change = edit.change(plan, table);
            let entry = new_entry(&change, rules);
            let effort = effort_of(&entry, rules);
            let (place, at) = end_of_day(&out, day);
            room(&mut out, at);
            let movement = edit.movement(plan);
            out.lines.insert(place, Line { entry, effort, movement, day, certain: true, at, touched: true });
        }
    }
    out
}

fn less(r: Range, sets: f64) -> Range {
    Range { low: (r.low - sets).max(0.0), mid: (r.mid - sets).max(0.0), high: (r.high - sets).max(0.0) }
}

/// Where a new line of a day comes: its place among the lines and its row among the entries.
fn end_of_day(plan: &Plan, day: usize) -> (usize, usize) {
    let last = plan.lines.iter().rposition(|l| l.day == day);
    last.map_or((plan.lines.len(), plan.lines.iter().map(|l| l.at + 1).max().unwrap_or(0)), |i| {
        (i + 1, plan.lines[i].at + 1)
    })
}

/// A letter that no pair of the day has yet.
fn free_mark(plan: &Plan, day: usize) -> String {
    let used = |mark: &str| {
        plan.lines
            .iter()
            .filter(|l| l.day == day)
            .any(|l| l.entry.extra.pair.as_deref().is_some_and(|p| p.to_uppercase().starts_with(mark)))
    };
    ('A'..='Z').map(String::from).find(|m| !used(m)).unwrap_or_else(|| "Z".into())
}
