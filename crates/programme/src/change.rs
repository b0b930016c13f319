//! A proposal applied to the entries of a plan, and taken back. In: entries, a [`Change`]; out: the entries after it and
//! what undoes it. The whole ledger of the entries after it is the ledger the proposal showed.

use crate::edits::new_entry;
use crate::rules::Rules;
use answer::{Change, Entry};

/// What takes a change back: rows to put back at their places after some are taken out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Undo {
    /// Rows the change put in, by place, as they stand after it.
    inserted: Vec<usize>,
    /// Rows as they were, by place before the change.
    was: Vec<(usize, Entry)>,
    /// Rows the change took out, by place before the change.
    removed: Vec<(usize, Entry)>,
}

impl Undo {
    /// Takes the change back.
    pub fn apply(self, entries: &mut Vec<Entry>) {
        for at in self.inserted.into_iter().rev().filter(|at| *at < entries.len()).collect::<Vec<_>>() {
            entries.remove(at);
        }
        for (at, entry) in self.removed {
            entries.insert(at.min(entries.len()), entry);
        }
        for (at, entry) in self.was {
            if let Some(slot) = entries.get_mut(at) {
                *slot = entry;
            }
        }
    }
}

/// Applies a change to the entries of a plan.
///
/// # Errors
/// The row is not there, or the kind of change is not known: one sentence that says which.
pub fn apply_change(entries: &mut Vec<Entry>, change: &Change, rules: &Rules) -> Result<Undo, String> {
    let mut undo = Undo::default();
    let place = |len: usize| change.at.map_or(len, |at| at as usize).min(len);
    if change.kind == "add" && change.entry.is_none() {
        let at = place(entries.len());
        entries.insert(at, new_entry(change, rules));
        undo.inserted.push(at);
        return Ok(undo);
    }
    let count = entries.len();
    let row = |at: Option<u32>| {
        let at = at.map(|at| at as usize).filter(|at| *at < count);
        at.ok_or_else(|| format!("the plan has {count} rows; the change \"{}\" means another", change.kind))
    };
    let at = row(change.entry)?;
    let before = entries[at].clone();
    match change.kind.as_str() {
        "setting" | "swap" => {
            if change.sets > 0.0 {
                (entries[at].sets_low, entries[at].sets_high) = (change.sets, change.sets);
            }
            rename(&mut entries[at], change);
            undo.was.push((at, before));
        }
        "move" => {
            let mut moved = before.clone();
            less(&mut entries[at], change.sets);
            (moved.sets_low, moved.sets_high) = (change.sets, change.sets);
            moved.extra.pair = None;
            rename(&mut moved, change);
            entries.insert(at + 1, moved);
            undo.inserted.push(at + 1);
            undo.was.push((at, before));
        }
        "add" => {
            entries[at].sets_low += change.sets;
            entries[at].sets_high += change.sets;
            undo.was.push((at, before));
        }
        "fewer" if change.sets >= before.sets_high => undo.removed.push((at, entries.remove(at))),
        "fewer" => {
            less(&mut entries[at], change.sets);
            undo.was.push((at, before));
        }
        "shift" => {
            let mut gone = entries.remove(at);
            let to = place(entries.len());
            (gone.day, gone.week) = (change.day.clone(), change.week);
            gone.extra.pair = None;
            entries.insert(to, gone);
            undo.inserted.push(to);
            undo.removed.push((at, before));
        }
        "pair" => {
            let with = row(change.with)?;
            let mark = free_mark(entries, &before);
            for at in [at, with] {
                undo.was.push((at, entries[at].clone()));
                entries[at].extra.pair = Some(mark.clone());
            }
        }
        other => return Err(format!("no change of the kind \"{other}\" is known")),
    }
    Ok(undo)
}

fn rename(entry: &mut Entry, change: &Change) {
    let other = entry.movement.as_deref() != Some(change.movement.as_str());
    entry.movement = Some(change.movement.clone());
    entry.name.clone_from(&change.name);
    entry.settings.clone_from(&change.settings);
    if other && entry.unit.as_deref() != Some("%1RM") {
        (entry.load, entry.unit) = (None, None);
    }
}

fn less(entry: &mut Entry, sets: f64) {
    entry.sets_low = (entry.sets_low - sets).max(0.0);
    entry.sets_high = (entry.sets_high - sets).max(0.0);
}

fn free_mark(entries: &[Entry], like: &Entry) -> String {
    let mut here = entries.iter().filter(|e| e.day == like.day && e.week == like.week);
    let used: Vec<String> = here.by_ref().filter_map(|e| e.extra.pair.as_ref().map(|p| p.to_uppercase())).collect();
    let free = |mark: &String| !used.iter().any(|u| u.starts_with(mark.as_str()));
    ('A'..='Z').map(String::from).find(free).unwrap_or_else(|| "Z".into())
}
