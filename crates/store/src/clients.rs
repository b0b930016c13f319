//! Clients: the text of a client file with its version.

use crate::{ClientId, Result, Store, StoreError, Version};
use rusqlite::{OptionalExtension, Row, params};

/// A stored client.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClientRow {
    pub id: ClientId,
    pub name: String,
    /// The client file (TOML), as `programme::parse_client` reads it.
    pub file: String,
    pub put_away: bool,
    pub version: Version,
    /// Universal Time, "2026-03-01T09:30:00Z".
    pub changed: String,
}

/// A client that is not stored yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewClient<'a> {
    pub name: &'a str,
    pub file: &'a str,
}

/// Now, as every table writes it.
pub(crate) const NOW: &str = "strftime('%Y-%m-%dT%H:%M:%SZ', 'now')";

fn row(r: &Row) -> rusqlite::Result<ClientRow> {
    Ok(ClientRow {
        id: r.get(0)?,
        name: r.get(1)?,
        file: r.get(2)?,
        put_away: r.get(3)?,
        version: r.get(4)?,
        changed: r.get(5)?,
    })
}

const COLUMNS: &str = "id, name, file, put_away, version, changed";

impl Store {
    /// All clients by name, without or with those put away.
    pub fn clients(&self, with_put_away: bool) -> Result<Vec<ClientRow>> {
        self.read(|c| {
            let sql = format!("SELECT {COLUMNS} FROM client WHERE ?1 OR NOT put_away ORDER BY name COLLATE NOCASE, id");
            let mut statement = c.prepare_cached(&sql)?;
            let rows = statement.query_map([with_put_away], row)?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        })
    }

    pub fn client(&self, id: ClientId) -> Result<ClientRow> {
        self.read(|c| {
            let sql = format!("SELECT {COLUMNS} FROM client WHERE id = ?1");
            let found = c.prepare_cached(&sql)?.query_row([id], row).optional()?;
            found.ok_or(StoreError::Missing { what: "client", id })
        })
    }

    pub fn add_client(&self, new: &NewClient) -> Result<ClientId> {
        named(new.name)?;
        self.write(|t| {
            let sql = format!("INSERT INTO client (name, file, changed) VALUES (?1, ?2, {NOW})");
            t.execute(&sql, params![new.name.trim(), new.file])?;
            Ok(t.last_insert_rowid())
        })
    }

    /// Saves over the version that was seen.
    pub fn save_client(&self, id: ClientId, new: &NewClient, seen: Version) -> Result<Version> {
        named(new.name)?;
        self.write(|t| {
            let stored = version(t, "client", id)?;
            same(new.name, seen, stored)?;
            let sql =
                format!("UPDATE client SET name = ?2, file = ?3, version = version + 1, changed = {NOW} WHERE id = ?1");
            t.execute(&sql, params![id, new.name.trim(), new.file])?;
            Ok(stored + 1)
        })
    }

    /// Takes a client off the list, or puts it back; everything stays stored.
    pub fn put_away_client(&self, id: ClientId, away: bool) -> Result<()> {
        self.write(|t| {
            version(t, "client", id)?;
            let sql = format!("UPDATE client SET put_away = ?2, version = version + 1, changed = {NOW} WHERE id = ?1");
            t.execute(&sql, params![id, away])?;
            Ok(())
        })
    }
}

fn named(name: &str) -> Result<()> {
    if name.trim().is_empty() { Err(StoreError::Invalid("a name is needed".into())) } else { Ok(()) }
}

/// Stored version of a row of `client` or `week`.
pub(crate) fn version(t: &rusqlite::Connection, what: &'static str, id: i64) -> Result<Version> {
    let sql = format!("SELECT version FROM {what} WHERE id = ?1");
    let found = t.prepare_cached(&sql)?.query_row([id], |r| r.get(0)).optional()?;
    found.ok_or(StoreError::Missing { what, id })
}

/// What was seen must be what is stored.
pub(crate) fn same(what: &str, seen: Version, stored: Version) -> Result<()> {
    if seen == stored { Ok(()) } else { Err(StoreError::Conflict { what: what.to_string(), seen, stored }) }
}
