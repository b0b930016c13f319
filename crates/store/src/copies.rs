//! Copies of the whole store: backup while it is in use, and restore of one.

use crate::open::{FILE, file};
use crate::schema::LATEST;
use crate::{Result, Store};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::{Path, PathBuf};
use std::time::Duration;

impl Store {
    /// A consistent copy of everything into a new file; an older file is never overwritten.
    pub fn backup(&self, to: &Path) -> Result<()> {
        if to.exists() {
            return Err(file(to, "it exists already and is not overwritten", "choose another name"));
        }
        copy(&self.writer(), to)
    }
}

/// Copies a database page by page, then flushes it.
pub(crate) fn copy(from: &Connection, to: &Path) -> Result<()> {
    from.backup(rusqlite::MAIN_DB, to, None).map_err(|e| {
        file(
            to,
            format!("the copy could not be written: {e}"),
            "look whether the disk is full or the folder is missing",
        )
    })?;
    let flushed = std::fs::File::open(to).and_then(|f| f.sync_all());
    flushed.map_err(|e| file(to, format!("the copy could not be flushed: {e}"), "nothing else was changed"))
}

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Inside {
    /// Clients, with those put away.
    pub clients: i64,
    pub weeks: i64,
    /// Last change of a client or a week, Universal Time; `None` when there is neither.
    pub changed: Option<String>,
    /// Bytes of the file.
    pub bytes: u64,
}

/// Looks a backup through, without changing it: one that is damaged, of a newer program or something else is refused.
pub fn inspect(from: &Path) -> Result<Inside> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let unreadable = |e: rusqlite::Error| {
        file(from, format!("this is no backup of Lengthwise: {e}"), "choose a file that lengthwise backup wrote")
    };
    let backup = Connection::open_with_flags(from, flags).map_err(unreadable)?;
    let version: i64 = backup.query_row("PRAGMA user_version", [], |r| r.get(0)).map_err(unreadable)?;
    let check: String = backup.query_row("PRAGMA quick_check(1)", [], |r| r.get(0)).map_err(unreadable)?;
    let count = "SELECT (SELECT count(*) FROM client), (SELECT count(*) FROM week), \
                 (SELECT max(changed) FROM (SELECT changed FROM client UNION ALL SELECT changed FROM week))";
    let (clients, weeks, changed) =
        backup.query_row(count, [], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?))).map_err(unreadable)?;
    if check != "ok" {
        return Err(file(from, format!("the backup is damaged: {check}"), "choose another backup"));
    }
    if version > LATEST {
        let what = format!("the backup is of a newer Lengthwise (shape {version}, this program knows {LATEST})");
        return Err(file(from, what, "update Lengthwise first"));
    }
    let bytes = std::fs::metadata(from).map_or(0, |m| m.len());
    Ok(Inside { clients, weeks, changed, bytes })
}

/// Puts a backup in the place of the store of a folder. What was there before is kept beside it; its name comes back.
/// Refused while a program has the store open: what that program saves afterwards would land in the file kept aside.
pub fn restore(folder: &Path, from: &Path) -> Result<Option<PathBuf>> {
    inspect(from)?;
    std::fs::create_dir_all(folder)
        .map_err(|e| file(folder, format!("the data folder cannot be made: {e}"), "choose another with --data DIR"))?;
    let (place, fresh) = (folder.join(FILE), folder.join("lengthwise.restored"));
    if place.exists() && in_use(&place) {
        return Err(file(&place, "a running Lengthwise has it open", "end that one first, with Ctrl-C in its window"));
    }
    if fresh.exists() {
        std::fs::remove_file(&fresh)
            .map_err(|e| file(&fresh, format!("left over and cannot be removed: {e}"), "remove it by hand"))?;
    }
    let backup = Connection::open_with_flags(from, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    copy(&backup, &fresh)?;
    let kept = keep_aside(folder, &place)?;
    std::fs::rename(&fresh, &place)
        .map_err(|e| file(&place, format!("cannot be put in place: {e}"), "the former file lies beside it"))?;
    Ok(kept)
}

/// Whether another connection holds the database: a connection that must be alone is then told "busy". Any other
/// trouble (a damaged file) means that no program can work with it.
fn in_use(place: &Path) -> bool {
    let alone = || -> rusqlite::Result<()> {
        let connection = Connection::open_with_flags(place, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        connection.busy_timeout(Duration::ZERO)?;
        // Looking must not write the log into a file that may be damaged.
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
        connection.pragma_update_and_check(None, "locking_mode", "EXCLUSIVE", |_| Ok(()))?;
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))
    };
    alone().is_err_and(|e| {
        let code = e.sqlite_error_code();
        code == Some(ErrorCode::DatabaseBusy) || code == Some(ErrorCode::DatabaseLocked)
    })
}

/// Moves the present files (with their log) to a free name.
fn keep_aside(folder: &Path, place: &Path) -> Result<Option<PathBuf>> {
    if !place.exists() {
        return Ok(None);
    }
    let name = |n: u32| folder.join(format!("lengthwise-before-restore-{n}.db"));
    let aside = (1..).map(name).find(|p| !p.exists()).unwrap_or_else(|| name(0));
    // What still lies in the log belongs to the old file.
    for tail in ["", "-wal", "-shm"] {
        let beside = |p: &Path| PathBuf::from(format!("{}{tail}", p.display()));
        let (from, to) = (beside(place), beside(&aside));
        if from.exists() {
            std::fs::rename(&from, &to)
                .map_err(|e| file(&from, format!("cannot be kept aside: {e}"), "close Lengthwise first"))?;
        }
    }
    Ok(Some(aside))
}
