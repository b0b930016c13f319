//! Opening the file, in whatever state it is found.

use crate::schema::{LATEST, migrations};
use crate::{Result, StoreError};
use rusqlite::{Connection, OpenFlags};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// Name of the database in the data folder.
pub const FILE: &str = "lengthwise.db";

/// Connections that read while another one writes.
const READERS: usize = 4;
/// How long a write waits for another process.
const WAIT: Duration = Duration::from_secs(5);

/// The open store. Shared by reference between threads.
pub struct Store {
    pub(crate) path: PathBuf,
    writer: Mutex<Connection>,
    readers: Vec<Mutex<Connection>>,
    /// Why nothing can be written; `None` when it can.
    read_only: Option<String>,
}

/// How the file was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Opened {
    /// There was none; an empty one was made.
    New,
    Ready,
    /// Brought to the newest schema; the older file lies beside it.
    Migrated {
        from: i64,
        backup: PathBuf,
    },
    /// Can be looked at, not changed; the sentence says why and what to do.
    ReadOnly(String),
}

impl Store {
    /// Opens the store of a folder; makes folder and file when they are not there. A file that is damaged or newer than
    /// this program is opened for reading where that works at all.
    pub fn open(folder: &Path) -> Result<(Store, Opened)> {
        let path = folder.join(FILE);
        std::fs::create_dir_all(folder).map_err(|e| {
            file(folder, format!("the data folder cannot be made: {e}"), "choose another with --data DIR")
        })?;
        let fresh = !path.exists();
        let connection = match connect(&path, false) {
            Ok(c) => c,
            Err(e) => return Store::rescue(&path, &format!("it cannot be opened for writing: {e}")),
        };
        let version = match version_of(&connection) {
            Ok(v) => v,
            Err(e) => {
                drop(connection);
                return Store::rescue(&path, &format!("it is damaged: {e}"));
            }
        };
        if version > LATEST {
            drop(connection);
            let why = format!("it was written by a newer Lengthwise (shape {version}, this program knows {LATEST})");
            return Store::rescue(&path, &why);
        }
        if let Err(what) = sound(&connection) {
            drop(connection);
            return Store::rescue(&path, &format!("it is damaged: {what}"));
        }
        let mut connection = connection;
        let mut found = if fresh { Opened::New } else { Opened::Ready };
        if !fresh && version < LATEST {
            let backup = free_name(folder, version);
            crate::copies::copy(&connection, &backup)?;
            found = Opened::Migrated { from: version, backup };
        }
        prepare(&connection)?;
        migrations().to_latest(&mut connection).map_err(|e| {
            file(
                &path,
                format!("it cannot be brought to the newest shape: {e}"),
                "nothing was changed; please report this",
            )
        })?;
        let readers =
            (0..READERS).map(|_| connect(&path, true).map(Mutex::new)).collect::<rusqlite::Result<Vec<_>>>()?;
        Ok((Store { path, writer: Mutex::new(connection), readers, read_only: None }, found))
    }

    /// A store for looking only.
    fn rescue(path: &Path, why: &str) -> Result<(Store, Opened)> {
        let remedy = "restore a backup with lengthwise restore FILE, or update Lengthwise; nothing was changed";
        let connection =
            connect(path, true).map_err(|e| file(path, format!("{why}; it cannot be read either: {e}"), remedy))?;
        // A file whose tables cannot be listed has nothing to show.
        connection
            .query_row("SELECT count(*) FROM client", [], |r| r.get::<_, i64>(0))
            .map_err(|e| file(path, format!("{why}; its clients cannot be read: {e}"), remedy))?;
        let said = format!("{}: {why}; {remedy}", path.display());
        let store = Store {
            path: path.to_path_buf(),
            writer: Mutex::new(connection),
            readers: Vec::new(),
            read_only: Some(said.clone()),
        };
        Ok((store, Opened::ReadOnly(said)))
    }

    /// Where the data lies.
    pub fn path(&self) -> &Path {
        &self.path
    }
    /// Why nothing can be changed at the moment.
    pub fn read_only(&self) -> Option<&str> {
        self.read_only.as_deref()
    }

    /// A connection to read with: the first idle one.
    pub(crate) fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T>) -> Result<T> {
        for reader in &self.readers {
            if let Ok(connection) = reader.try_lock() {
                return work(&connection);
            }
        }
        let lock = self.readers.first().unwrap_or(&self.writer);
        work(&held(lock))
    }

    /// One transaction; whatever fails leaves everything as it was.
    pub(crate) fn write<T>(&self, work: impl FnOnce(&rusqlite::Transaction) -> Result<T>) -> Result<T> {
        if let Some(why) = &self.read_only {
            return Err(StoreError::ReadOnly(why.clone()));
        }
        let mut connection = held(&self.writer);
        let transaction = connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        let out = work(&transaction)?;
        transaction.commit()?;
        Ok(out)
    }

    pub(crate) fn writer(&self) -> MutexGuard<'_, Connection> {
        held(&self.writer)
    }
}

/// A lock survives a panic elsewhere: a transaction that was not committed is rolled back.
fn held(lock: &Mutex<Connection>) -> MutexGuard<'_, Connection> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

fn connect(path: &Path, read: bool) -> rusqlite::Result<Connection> {
    let flags = if read {
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX
    } else {
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX
    };
    let connection = Connection::open_with_flags(path, flags)?;
    connection.busy_timeout(WAIT)?;
    Ok(connection)
}

/// Write-ahead log, full flush at every commit, references checked.
fn prepare(connection: &Connection) -> rusqlite::Result<()> {
    connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", "ON")
}

fn version_of(connection: &Connection) -> rusqlite::Result<i64> {
    connection.query_row("PRAGMA user_version", [], |r| r.get(0))
}

/// The database's own check of its pages; the first complaint is enough.
fn sound(connection: &Connection) -> std::result::Result<(), String> {
    let answer: rusqlite::Result<String> = connection.query_row("PRAGMA quick_check(1)", [], |r| r.get(0));
    match answer {
        Ok(word) if word == "ok" => Ok(()),
        Ok(word) => Err(word),
        Err(e) => Err(e.to_string()),
    }
}

/// "lengthwise-before-shape-2.db", with a number when it is taken.
fn free_name(folder: &Path, version: i64) -> PathBuf {
    let name = |n: u32| {
        let tail = if n == 0 { String::new() } else { format!("-{n}") };
        folder.join(format!("lengthwise-shape-{version}{tail}.db"))
    };
    (0..).map(name).find(|p| !p.exists()).unwrap_or_else(|| name(0))
}

pub(crate) fn file(path: &Path, what: impl Into<String>, remedy: &str) -> StoreError {
    StoreError::File { path: path.display().to_string(), what: what.into(), remedy: remedy.into() }
}
