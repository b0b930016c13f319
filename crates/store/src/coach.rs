//! What belongs to the coach and to no client: corrected names, templates, own bands, settings.

use crate::clients::NOW;
use crate::weeks::WeekContent;
use crate::{Result, Store, StoreError};
use answer::Settings;
use rusqlite::{OptionalExtension, params};

/// A name a coach has corrected once.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// As written in the sheet, in small letters.
    pub typed: String,
    pub movement: String,
    pub settings: Settings,
}

/// A week to start from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Template {
    pub id: i64,
    pub name: String,
    pub made: String,
}

/// Own default band of an aim, credited sets a week.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnBand {
    pub aim: String,
    pub low: f64,
    pub high: f64,
}

/// A typed name as it is kept: small letters, single spaces.
fn plain(typed: &str) -> String {
    typed.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

impl Store {
    /// Remembers what a coach meant by a name; a later correction replaces the earlier one.
    pub fn remember_match(&self, typed: &str, movement: &str, settings: &Settings) -> Result<()> {
        let settings = serde_json::to_string(settings)?;
        self.write(|t| {
            let sql = format!(
                "INSERT INTO name_match (typed, movement, settings, made) VALUES (?1, ?2, ?3, {NOW}) ON CONFLICT(typed) DO UPDATE \
                 SET movement = excluded.movement, settings = excluded.settings, made = excluded.made"
            );
            t.execute(&sql, params![plain(typed), movement, settings])?;
            Ok(())
        })
    }

    /// Forgets a correction.
    pub fn forget_match(&self, typed: &str) -> Result<()> {
        self.write(|t| {
            t.execute("DELETE FROM name_match WHERE typed = ?1", [plain(typed)])?;
            Ok(())
        })
    }

    pub fn matches(&self) -> Result<Vec<Match>> {
        self.read(|c| {
            let mut statement = c.prepare_cached("SELECT typed, movement, settings FROM name_match ORDER BY typed")?;
            let rows = statement.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get::<_, String>(2)?)))?;
            rows.map(|r| {
                let (typed, movement, settings) = r?;
                Ok(Match { typed, movement, settings: serde_json::from_str(&settings)? })
            })
            .collect()
        })
    }

    /// Keeps a week as a template; one of the same name is replaced.
    pub fn save_template(&self, name: &str, content: &WeekContent) -> Result<()> {
        if name.trim().is_empty() {
            return Err(StoreError::Invalid("a template needs a name".into()));
        }
        let text = serde_json::to_string(content)?;
        self.write(|t| {
            let sql = format!(
                "INSERT INTO template (name, content, made) VALUES (?1, ?2, {NOW}) ON CONFLICT(name) DO UPDATE SET content = \
                 excluded.content, made = excluded.made"
            );
            t.execute(&sql, params![name.trim(), text])?;
            Ok(())
        })
    }

    pub fn templates(&self) -> Result<Vec<Template>> {
        self.read(|c| {
            let mut statement = c.prepare_cached("SELECT id, name, made FROM template ORDER BY name COLLATE NOCASE")?;
            let rows = statement.query_map([], |r| Ok(Template { id: r.get(0)?, name: r.get(1)?, made: r.get(2)? }))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    pub fn template(&self, id: i64) -> Result<WeekContent> {
        self.read(|c| {
            let mut statement = c.prepare_cached("SELECT content FROM template WHERE id = ?1")?;
            let text: Option<String> = statement.query_row([id], |r| r.get(0)).optional()?;
            Ok(serde_json::from_str(&text.ok_or(StoreError::Missing { what: "template", id })?)?)
        })
    }

    pub fn remove_template(&self, id: i64) -> Result<()> {
        self.write(|t| {
            t.execute("DELETE FROM template WHERE id = ?1", [id])?;
            Ok(())
        })
    }

    /// Sets the coach's own default band of an aim; `None` goes back to the shipped one.
    pub fn set_own_band(&self, aim: &str, band: Option<(f64, f64)>) -> Result<()> {
        let fits = |l: f64, h: f64| l.is_finite() && h.is_finite() && 0.0 <= l && l <= h && h <= 60.0;
        if let Some((low, high)) = band.filter(|(l, h)| !fits(*l, *h)) {
            let what = format!("a band from {low} to {high} sets; it needs 0 ≤ low ≤ high ≤ 60");
            return Err(StoreError::Invalid(what));
        }
        self.write(|t| {
            t.execute("DELETE FROM own_band WHERE aim = ?1", [aim])?;
            if let Some((low, high)) = band {
                t.execute("INSERT INTO own_band (aim, low, high) VALUES (?1, ?2, ?3)", params![aim, low, high])?;
            }
            Ok(())
        })
    }

    pub fn own_bands(&self) -> Result<Vec<OwnBand>> {
        self.read(|c| {
            let mut statement = c.prepare_cached("SELECT aim, low, high FROM own_band ORDER BY aim")?;
            let rows = statement.query_map([], |r| Ok(OwnBand { aim: r.get(0)?, low: r.get(1)?, high: r.get(2)? }))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// A setting of the coach by name.
    pub fn setting(&self, key: &str) -> Result<Option<String>> {
        self.read(|c| {
            let mut statement = c.prepare_cached("SELECT value FROM coach WHERE key = ?1")?;
            Ok(statement.query_row([key], |r| r.get(0)).optional()?)
        })
    }

    pub fn set_setting(&self, key: &str, value: &str) -> Result<()> {
        self.write(|t| {
            let sql =
                "INSERT INTO coach (key, value) VALUES (?1, ?2) ON CONFLICT(key) DO UPDATE SET value = excluded.value";
            t.execute(sql, params![key, value])?;
            Ok(())
        })
    }
}
