//! Weeks with every state they ever had.

use crate::clients::{NOW, same, version};
use crate::{ClientId, Result, Store, StoreError, Version, WeekId};
use answer::{Entry, Message};
use programme::screening::PainWord;
use rusqlite::{OptionalExtension, Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// States kept of one week; the oldest go first.
const MOST_STATES: i64 = 500;

/// What a week holds.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WeekContent {
    pub entries: Vec<Entry>,
    /// What the reader of the sheet said.
    #[serde(default)]
    pub messages: Vec<Message>,
    #[serde(default)]
    pub pain_words: Vec<PainWord>,
    /// Order of the days as the plan names them, also those without entries.
    #[serde(default)]
    pub days: Vec<String>,
}

/// A line of the list of weeks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeekRow {
    pub id: WeekId,
    pub client: ClientId,
    pub name: String,
    /// "2026-03-02"; `None` for a plan without dates.
    pub starts: Option<String>,
    pub version: Version,
    /// Universal Time.
    pub changed: String,
    pub put_away: bool,
}

/// A week with its content.
#[derive(Clone, Debug, PartialEq)]
pub struct Week {
    pub row: WeekRow,
    pub content: WeekContent,
    /// What undo and redo would take back or bring back, in the words of the change.
    pub undo: Option<String>,
    pub redo: Option<String>,
}

/// One state of a week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    pub at: i64,
    /// The change that led to it.
    pub what: String,
    pub made: String,
    pub shown: bool,
}

const COLUMNS: &str = "id, client, name, starts, version, changed, put_away";

fn row(r: &Row) -> rusqlite::Result<WeekRow> {
    Ok(WeekRow {
        id: r.get(0)?,
        client: r.get(1)?,
        name: r.get(2)?,
        starts: r.get(3)?,
        version: r.get(4)?,
        changed: r.get(5)?,
        put_away: r.get(6)?,
    })
}

impl Store {
    /// Weeks of a client, newest first.
    pub fn weeks(&self, client: ClientId) -> Result<Vec<WeekRow>> {
        self.read(|c| {
            let sql = format!(
                "SELECT {COLUMNS} FROM week WHERE client = ?1 AND NOT put_away ORDER BY coalesce(starts, '') DESC, id DESC"
            );
            let mut statement = c.prepare_cached(&sql)?;
            let rows = statement.query_map([client], row)?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// The newest week of every client, by client.
    pub fn newest_weeks(&self) -> Result<Vec<WeekRow>> {
        self.read(|c| {
            let sql = format!(
                "SELECT {COLUMNS} FROM (SELECT *, row_number() OVER (PARTITION BY client ORDER BY coalesce(starts, '') DESC, \
                 id DESC) AS place FROM week WHERE NOT put_away) WHERE place = 1 ORDER BY client"
            );
            let mut statement = c.prepare_cached(&sql)?;
            let rows = statement.query_map([], row)?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    pub fn week(&self, id: WeekId) -> Result<Week> {
        self.read(|c| {
            let sql = format!("SELECT {COLUMNS} FROM week WHERE id = ?1");
            let found = c.prepare_cached(&sql)?.query_row([id], row).optional()?;
            let row = found.ok_or(StoreError::Missing { what: "week", id })?;
            let (at, text, undo): (i64, String, String) = c
                .prepare_cached(
                    "SELECT s.at, s.content, s.what FROM state s JOIN week w ON s.week = w.id AND s.at = w.at WHERE w.id = ?1",
                )?
                .query_row([id], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?;
            let word = |at: i64| -> rusqlite::Result<Option<String>> {
                let mut statement = c.prepare_cached("SELECT what FROM state WHERE week = ?1 AND at = ?2")?;
                statement.query_row([id, at], |r| r.get(0)).optional()
            };
            let undo = word(at - 1)?.map(|_| undo);
            Ok(Week { row, content: serde_json::from_str(&text)?, undo, redo: word(at + 1)? })
        })
    }

    /// A new week; `what` says where it came from ("imported from plan.xlsx").
    pub fn add_week(
        &self,
        client: ClientId,
        name: &str,
        starts: Option<&str>,
        content: &WeekContent,
        what: &str,
    ) -> Result<WeekId> {
        is_day(starts)?;
        let text = serde_json::to_string(content)?;
        self.write(|t| {
            version(t, "client", client)?;
            let sql = format!("INSERT INTO week (client, name, starts, at, changed) VALUES (?1, ?2, ?3, 1, {NOW})");
            t.execute(&sql, params![client, name.trim(), starts])?;
            let id = t.last_insert_rowid();
            put_state(t, id, 1, what, &text)?;
            Ok(id)
        })
    }

    /// Saves over the version that was seen; what could have been redone is gone, as in every editor.
    pub fn save_week(&self, id: WeekId, content: &WeekContent, seen: Version, what: &str) -> Result<Version> {
        let text = serde_json::to_string(content)?;
        self.write(|t| {
            let (at, stored) = place(t, id, seen)?;
            t.execute("DELETE FROM state WHERE week = ?1 AND at > ?2", params![id, at])?;
            put_state(t, id, at + 1, what, &text)?;
            t.execute("DELETE FROM state WHERE week = ?1 AND at <= ?2", params![id, at + 1 - MOST_STATES])?;
            show(t, id, at + 1)?;
            Ok(stored + 1)
        })
    }

    /// Goes one state back.
    pub fn undo(&self, id: WeekId, seen: Version) -> Result<Version> {
        self.step(id, seen, -1, "undo")
    }

    /// Goes one state forward again.
    pub fn redo(&self, id: WeekId, seen: Version) -> Result<Version> {
        self.step(id, seen, 1, "redo")
    }

    fn step(&self, id: WeekId, seen: Version, by: i64, word: &'static str) -> Result<Version> {
        self.write(|t| {
            let (at, stored) = place(t, id, seen)?;
            go(t, id, at + by, word)?;
            Ok(stored + 1)
        })
    }

    /// Shows any state of the history; the others stay.
    pub fn go_to_state(&self, id: WeekId, at: i64, seen: Version) -> Result<Version> {
        self.write(|t| {
            let (_, stored) = place(t, id, seen)?;
            go(t, id, at, "go to")?;
            Ok(stored + 1)
        })
    }

    /// States of a week, newest first.
    pub fn history(&self, id: WeekId) -> Result<Vec<State>> {
        self.read(|c| {
            let mut statement = c.prepare_cached(
                "SELECT s.at, s.what, s.made, s.at = w.at FROM state s JOIN week w ON w.id = s.week WHERE w.id = ?1 ORDER BY s.at DESC",
            )?;
            let state = |r: &Row| Ok(State { at: r.get(0)?, what: r.get(1)?, made: r.get(2)?, shown: r.get(3)? });
            let rows = statement.query_map([id], state)?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    pub fn rename_week(&self, id: WeekId, name: &str, starts: Option<&str>, seen: Version) -> Result<Version> {
        is_day(starts)?;
        self.write(|t| {
            let (_, stored) = place(t, id, seen)?;
            let sql =
                format!("UPDATE week SET name = ?2, starts = ?3, version = version + 1, changed = {NOW} WHERE id = ?1");
            t.execute(&sql, params![id, name.trim(), starts])?;
            Ok(stored + 1)
        })
    }

    /// Takes a week off the list, or puts it back.
    pub fn put_away_week(&self, id: WeekId, away: bool) -> Result<()> {
        self.write(|t| {
            version(t, "week", id)?;
            let sql = format!("UPDATE week SET put_away = ?2, version = version + 1, changed = {NOW} WHERE id = ?1");
            t.execute(&sql, params![id, away])?;
            Ok(())
        })
    }

    /// The same week for another (or the same) client, as a new one.
    pub fn copy_week(&self, id: WeekId, to: ClientId, name: &str) -> Result<WeekId> {
        let week = self.week(id)?;
        self.add_week(to, name, None, &week.content, &format!("copied from {}", week.row.name))
    }
}

/// A first day, where there is one, must be a day of the calendar.
fn is_day(starts: Option<&str>) -> Result<()> {
    let wrong = starts.filter(|day| programme::Date::parse(day).is_none());
    wrong.map_or(Ok(()), |day| Err(StoreError::Invalid(format!("\"{day}\" is not a day; write it as 2026-03-02"))))
}

/// Shown state and stored version, when the version seen is the stored one.
fn place(t: &Transaction, id: WeekId, seen: Version) -> Result<(i64, Version)> {
    let found = t
        .prepare_cached("SELECT at, version, name FROM week WHERE id = ?1")?
        .query_row([id], |r| Ok((r.get::<_, i64>(0)?, r.get::<_, i64>(1)?, r.get::<_, String>(2)?)))
        .optional()?;
    let (at, stored, name) = found.ok_or(StoreError::Missing { what: "week", id })?;
    same(&name, seen, stored)?;
    Ok((at, stored))
}

fn put_state(t: &Transaction, id: WeekId, at: i64, what: &str, text: &str) -> Result<()> {
    let sql = format!("INSERT INTO state (week, at, what, content, made) VALUES (?1, ?2, ?3, ?4, {NOW})");
    t.prepare_cached(&sql)?.execute(params![id, at, what, text])?;
    Ok(())
}

fn go(t: &Transaction, id: WeekId, at: i64, word: &'static str) -> Result<()> {
    let there: bool =
        t.query_row("SELECT EXISTS (SELECT 1 FROM state WHERE week = ?1 AND at = ?2)", params![id, at], |r| r.get(0))?;
    if !there {
        return Err(StoreError::NoFurther(word));
    }
    show(t, id, at)
}

fn show(t: &Transaction, id: WeekId, at: i64) -> Result<()> {
    let sql = format!("UPDATE week SET at = ?2, version = version + 1, changed = {NOW} WHERE id = ?1");
    t.prepare_cached(&sql)?.execute(params![id, at])?;
    Ok(())
}
