//! What a rebuilt week changes, as steps that can be taken back.

use crate::task::Line;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Sets of a choice on a day, before and after; 0 where it does not stand there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    pub day: usize,
    pub choice: usize,
    pub from: u32,
    pub to: u32,
}

/// What leads from one week to another, by day and choice.
pub fn changes(from: &[Line], to: &[Line]) -> Vec<Change> {
    let mut cells: BTreeMap<(usize, usize), (u32, u32)> = BTreeMap::new();
    from.iter().for_each(|l| cells.entry((l.day, l.choice)).or_default().0 += l.sets);
    to.iter().for_each(|l| cells.entry((l.day, l.choice)).or_default().1 += l.sets);
    cells
        .into_iter()
        .filter(|(_, (from, to))| from != to)
        .map(|((day, choice), (from, to))| Change { day, choice, from, to })
        .collect()
}

/// The week after some changes, in the order of days and choices; `None` where a change does not fit the week.
pub fn apply(week: &[Line], changes: &[Change]) -> Option<Vec<Line>> {
    let mut out = week.to_vec();
    for c in changes {
        let at = out.iter().position(|l| l.day == c.day && l.choice == c.choice);
        if at.map_or(0, |i| out[i].sets) != c.from {
            return None;
        }
        match at {
            Some(i) if c.to == 0 => {
                out.remove(i);
            }
            Some(i) => out[i].sets = c.to,
            None => out.push(Line { day: c.day, choice: c.choice, sets: c.to }),
        }
    }
    out.sort_unstable();
    Some(out)
}

/// The changes that take changes back.
pub fn undo(changes: &[Change]) -> Vec<Change> {
    changes.iter().rev().map(|c| Change { from: c.to, to: c.from, ..*c }).collect()
}
