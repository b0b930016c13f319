//! The tables, forward only. A migration that was shipped is never edited; the next one is added.

use rusqlite_migration::{M, Migrations};

/// Version of the newest schema: the number of migrations.
pub const LATEST: i64 = 2;

/// First shape.
const V1: &str = "
CREATE TABLE client (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    -- The client file, as `lengthwise new client` writes one.
    file TEXT NOT NULL,
    put_away INTEGER NOT NULL DEFAULT 0,
    version INTEGER NOT NULL DEFAULT 1,
    changed TEXT NOT NULL
) STRICT;
CREATE TABLE week (
    id INTEGER PRIMARY KEY,
    client INTEGER NOT NULL REFERENCES client(id),
    name TEXT NOT NULL,
    -- First day, YYYY-MM-DD; unknown for a plan without dates.
    starts TEXT,
    -- The state that is shown; later ones can be redone.
    at INTEGER NOT NULL,
    put_away INTEGER NOT NULL DEFAULT 0,
    version INTEGER NOT NULL DEFAULT 1,
    changed TEXT NOT NULL
) STRICT;
CREATE INDEX week_of_client ON week(client, put_away);
CREATE TABLE state (
    week INTEGER NOT NULL REFERENCES week(id),
    at INTEGER NOT NULL,
    what TEXT NOT NULL,
    content TEXT NOT NULL,
    made TEXT NOT NULL,
    PRIMARY KEY (week, at)
) STRICT, WITHOUT ROWID;
CREATE TABLE name_match (
    typed TEXT PRIMARY KEY,
    movement TEXT NOT NULL,
    settings TEXT NOT NULL,
    made TEXT NOT NULL
) STRICT;
CREATE TABLE template (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    content TEXT NOT NULL,
    made TEXT NOT NULL
) STRICT;
CREATE TABLE coach (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
";

/// Own default bands.
const V2: &str = "
CREATE TABLE own_band (
    aim TEXT PRIMARY KEY,
    low REAL NOT NULL,
    high REAL NOT NULL
) STRICT;
";

pub fn migrations() -> Migrations<'static> {
    Migrations::new(vec![M::up(V1), M::up(V2)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_migrations_are_sound_and_counted() {
        migrations().validate().expect("migrations run on an empty database");
        let mut c = rusqlite::Connection::open_in_memory().expect("memory");
        migrations().to_latest(&mut c).expect("all run");
        let version: i64 = c.query_row("PRAGMA user_version", [], |r| r.get(0)).expect("a version");
        assert_eq!(version, LATEST);
    }
}
