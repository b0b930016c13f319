//! Statements of experts about technique, run and set beside ours (`data/movements/technique_facts.csv`).
//!
//! A statement changes one setting of a movement (`key from>to`) or goes from one movement to another; its items say
//! which way a moment, a head's load, length or excursion, or the load of a hard set must turn. What each item is read
//! off, at which loads, and when two numbers count as the same stands in `technique/read.rs` and in `docs/technique.md`. An item
//! that cannot be said is wrong, and a row is right only when all its items are.

mod loads;
mod read;
mod reasons;

use crate::cases::{CaseError, Row, Table};
use crate::groups::joint_angle_proof::largest_difference_deg;
use crate::solved::{Solved, off_posture};
use answer::{TechniqueItem, TechniqueRow};
use library::{Library, Study};
use loads::Loads;
use rayon::prelude::*;

pub use reasons::{CannotBe, Reason, shipped as reasons_shipped};

const FILE: &str = "data/movements/technique_facts.csv";
const FACTS: &str = include_str!("../../../data/movements/technique_facts.csv");

/// Where a row keeps all joint angles, those of the two lifts differ by less than this, or the difference is told, degrees.
const SAME_POSTURE_DEG: f64 = 0.5;
/// Equilibrium may move them by this much, degrees: pressure cannot wander under a foot while the body stands as it stood.
/// Beyond it the two lifts are no answer to the statement.
const NEAR_POSTURE_DEG: f64 = 10.0;

/// What stands for an item without an answer.
pub const CANNOT_SAY: &str = "cannot-say";

const KINDS: [&str; 6] = ["moment", "head-length", "head-load", "head-excursion", "capacity", "other"];
const TURNS: [&str; 7] = ["up", "down", "same", "zero", "flip", "peak-earlier", "peak-later"];

/// One statement as read from the table.
struct Statement<'r> {
    row: Row<'r>,
    movement: &'r str,
    compare_to: &'r str,
    /// key, from, to.
    change: Option<(&'r str, &'r str, &'r str)>,
    /// (kind, target, direction).
    items: Vec<(&'r str, &'r str, &'r str)>,
}

impl<'r> Statement<'r> {
    fn read(row: Row<'r>, library: &Library) -> Result<Statement<'r>, CaseError> {
        let named = |column: &str| -> Result<&'r str, CaseError> {
            let id = row.text(column)?;
            if id.is_empty() || library.catalogue.movement(id).is_some() {
                return Ok(id);
            }
            let known = library.catalogue.movements.iter().map(|m| m.id.as_str());
            let near = movement::names::nearest_words(id, known, 3).join(", ");
            Err(row.wrong(column, format!("no movement \"{id}\"; nearest: {near}")))
        };
        let (movement, compare_to) = (named("movement")?, named("compare_to")?);
        if movement.is_empty() {
            return Err(row.wrong("movement", "the cell is empty, expected the id of a movement"));
        }
        let text = row.text("setting_change")?;
        let change = match text {
            "-" | "" => None,
            text => {
                let parts = text.split_once(' ').and_then(|(k, v)| Some((k, v.trim().split_once('>')?)));
                let (key, (from, to)) = parts
                    .ok_or_else(|| row.wrong("setting_change", format!("\"{text}\", expected key from>to or -")))?;
                Some((key, from, to))
            }
        };
        if change.is_some() != compare_to.is_empty() {
            return Err(row.error("expected either a setting that changes or another movement to compare with"));
        }
        let mut items = Vec::new();
        for item in row.text("expected")?.split(';').map(str::trim).filter(|t| !t.is_empty()) {
            let parts: Vec<&str> = item.split(':').collect();
            match parts.as_slice() {
                [kind, target, turn] if KINDS.contains(kind) && TURNS.contains(turn) => {
                    items.push((*kind, *target, *turn));
                }
                _ => {
                    let (kinds, turns) = (KINDS.join(", "), TURNS.join(", "));
                    let what = format!("\"{item}\", expected kind:target:direction with {kinds} and {turns}");
                    return Err(row.wrong("expected", what));
                }
            }
        }
        if items.is_empty() {
            return Err(row.wrong("expected", "nothing is expected"));
        }
        let one_of = |column: &str, words: &[&str]| match row.text(column)? {
            w if words.contains(&w) => Ok(()),
            w => Err(row.wrong(column, format!("\"{w}\", expected {}", words.join(", ")))),
        };
        one_of("use", &["test", "discuss"])?;
        one_of("angle_rule_fails", &["yes", "partly", "no"])?;
        Ok(Statement { row, movement, compare_to, change, items })
    }

    /// The two lifts as words of a case table.
    fn words(&self) -> [String; 2] {
        match self.change {
            _ if self.loads_kg().is_some() => [self.movement.to_string(), self.movement.to_string()],
            Some((key, from, to)) => [from, to].map(|v| format!("{}{{{key}={v}}}", self.movement)),
            None => [self.movement.to_string(), self.compare_to.to_string()],
        }
    }

    /// The two loads of a statement whose setting is the load itself.
    fn loads_kg(&self) -> Option<(f64, f64)> {
        let (key, from, to) = self.change?;
        (key == "load_kg").then(|| Some((from.parse().ok()?, to.parse().ok()?)))?
    }

    /// Why the two lifts cannot be solved at all, with the class of that cause.
    fn impossible(&self, library: &Library) -> Option<(CannotBe, String)> {
        for id in [self.movement, self.compare_to].into_iter().filter(|id| !id.is_empty()) {
            let family = library.catalogue.movement(id).map_or("", |m| m.family.as_str());
            if library.family(family).is_err() {
                return Some((CannotBe::NotWritten, format!("the mechanics of {id} are not written yet")));
            }
            if !library.checked.iter().any(|c| c == id) {
                return Some((CannotBe::NotChecked, format!("the posture of {id} has not passed the checks yet")));
            }
        }
        let (key, _, _) = self.change?;
        if self.loads_kg().is_some() {
            return None;
        }
        let family = library.catalogue.movement(self.movement).map_or("", |m| m.family.as_str());
        if library.catalogue.setting(family, key).is_none() {
            return Some((CannotBe::NoSetting, format!("{} has no setting {key}", self.movement)));
        }
        match library.reads(self.movement, key) {
            Ok(true) => None,
            _ => Some((CannotBe::NoSetting, format!("the mechanics of {} do not use {key}", self.movement))),
        }
    }
}

/// Runs the shipped statements. Every wrong item has its cause where one is known.
///
/// # Errors
/// A table that cannot be read, with line and column.
pub fn technique(library: &Library) -> Result<Vec<TechniqueRow>, CaseError> {
    let mut rows = judge(library, &Table::parse(FILE, FACTS)?)?;
    reasons::attach(&mut rows, &reasons::shipped()?);
    Ok(rows)
}

/// Runs the statements of one table, without causes from the table of reasons.
///
/// # Errors
/// A row that cannot be read, with line and column.
pub fn judge(library: &Library, table: &Table) -> Result<Vec<TechniqueRow>, CaseError> {
    let statements: Vec<Statement> = table.rows().map(|row| Statement::read(row, library)).collect::<Result<_, _>>()?;
    let able = statements.iter().filter(|s| s.impossible(library).is_none());
    let solved = Solved::new(library, None, able.flat_map(|s| s.words()));
    statements.par_iter().map(|s| one(s, &solved)).collect()
}

fn one(s: &Statement, solved: &Solved) -> Result<TechniqueRow, CaseError> {
    let text = |column: &str| s.row.text(column).map(str::to_string);
    let change = text("setting_change")?;
    let held = s.row.text("held_equal")?;
    let mut out = TechniqueRow {
        id: text("id")?,
        movement: s.movement.into(),
        compare_to: s.compare_to.into(),
        setting_change: if change == "-" { String::new() } else { change },
        held_equal: if held == "-" { String::new() } else { held.into() },
        statement: text("statement")?,
        angle_rule_fails: text("angle_rule_fails")?,
        purpose: text("use")?,
        confidence: text("confidence")?,
        source: text("source")?,
        how: text("how")?,
        ..TechniqueRow::default()
    };
    let blank = |kind: &str, target: &str, turn: &str| TechniqueItem {
        item: format!("{kind}:{target}"),
        expected: turn.into(),
        ours: CANNOT_SAY.into(),
        ..TechniqueItem::default()
    };
    let [words_a, words_b] = s.words();
    let both = match s.impossible(solved.library) {
        Some(why) => Err(why),
        None => lifts(solved, &words_a, &words_b, held),
    };
    match both {
        Err((class, why)) => {
            for (kind, target, turn) in &s.items {
                let cannot = blank(kind, target, turn);
                out.items.push(TechniqueItem { class: class.word().into(), reason: why.clone(), ..cannot });
            }
        }
        Ok((a, b, moved)) => {
            let loads = Loads::of(a, b, held, s.loads_kg());
            out.loads = loads.words.clone();
            let notes: Vec<String> = [moved, off_posture(a), off_posture(b)].into_iter().flatten().collect();
            out.note = notes.join("; ");
            let (x, y) = (solved.at(a, Some(loads.a)), solved.at(b, Some(loads.b)));
            for (kind, target, turn) in &s.items {
                let mut item = blank(kind, target, turn);
                match read::read(&x, &y, kind, target) {
                    Ok(seen) => {
                        item.ours = seen.turn(turn).into();
                        (item.before, item.after) = (Some(seen.before), Some(seen.after));
                        item.unit = seen.unit.into();
                        item.by_activation = seen.by_activation.unwrap_or_default().into();
                        item.right = item.ours == item.expected;
                    }
                    Err(why) => {
                        item.class = CannotBe::NotModelled.word().into();
                        item.reason = why;
                    }
                }
                out.items.push(item);
            }
        }
    }
    let list = |direction: &dyn Fn(&TechniqueItem) -> String| {
        out.items.iter().map(|i| format!("{}:{}", i.item, direction(i))).collect::<Vec<_>>().join(";")
    };
    (out.expected, out.ours) = (list(&|i| i.expected.clone()), list(&|i| i.ours.clone()));
    out.right = out.items.iter().all(|i| i.right);
    Ok(out)
}

/// Both lifts, and how far equilibrium moves the joint angles that the row wants equal.
fn lifts<'s>(
    solved: &'s Solved,
    a: &str,
    b: &str,
    held: &str,
) -> Result<(&'s Study, &'s Study, Option<String>), (CannotBe, String)> {
    let study = |w: &str| solved.study(w).map_err(|e| (CannotBe::NotSolved, e));
    let (a, b) = (study(a)?, study(b)?);
    if !held.contains("all joint angles") {
        return Ok((a, b, None));
    }
    let apart = largest_difference_deg(a, b);
    if apart > NEAR_POSTURE_DEG {
        let why = format!(
            "the row keeps all joint angles, but solved anew the two lifts differ by {apart:.1} degrees: the posture \
             follows from the setting"
        );
        return Err((CannotBe::OtherPosture, why));
    }
    let note = (apart > SAME_POSTURE_DEG).then(|| format!("balance moves the joint angles by {apart:.1} degrees"));
    Ok((a, b, note))
}

/// How many rows are right: (right, all) of rows that `keep` lets through.
pub fn share(rows: &[TechniqueRow], keep: impl Fn(&TechniqueRow) -> bool) -> (usize, usize) {
    let kept: Vec<&TechniqueRow> = rows.iter().filter(|r| keep(r)).collect();
    (kept.iter().filter(|r| r.right).count(), kept.len())
}
