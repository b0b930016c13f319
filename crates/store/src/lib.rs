//! What a coach keeps: clients, weeks, history, in one embedded database file. In: clients and weeks as values; out: the
//! same after any crash, with their history. Must never know: how a number is computed, web pages.
//!
//! One file, `lengthwise.db`, in one folder. Every write is one transaction with a full flush: what was answered with
//! `Ok` is on the disk. Rows carry a version; who saves says which version they saw, and a save over a newer one is a
//! [`StoreError::Conflict`] that carries the newer version, never a silent overwrite. Nothing is deleted: a client is
//! put away, a week's states stay in its history.

mod clients;
mod coach;
mod copies;
mod open;
mod schema;
mod weeks;

pub use clients::{ClientRow, NewClient};
pub use coach::{Match, OwnBand, Template};
pub use copies::{Inside, inspect, restore};
pub use open::{FILE, Opened, Store};
pub use schema::LATEST;
pub use weeks::{State, Week, WeekContent, WeekRow};

/// Number of a client.
pub type ClientId = i64;
/// Number of a week.
pub type WeekId = i64;
/// Counts the changes of a row, from 1.
pub type Version = i64;

/// Why the store could not do it. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Somebody else changed it since it was read.
    #[error("{what} was changed elsewhere meanwhile: you saw version {seen}, stored is version {stored}")]
    Conflict { what: String, seen: Version, stored: Version },
    #[error("there is no {what} with number {id}")]
    Missing { what: &'static str, id: i64 },
    /// Undo at the oldest or redo at the newest state.
    #[error("there is nothing to {0}")]
    NoFurther(&'static str),
    #[error("the data can only be read at the moment: {0}")]
    ReadOnly(String),
    #[error("{0}")]
    Invalid(String),
    #[error("{path}: {what}; {remedy}")]
    File { path: String, what: String, remedy: String },
    #[error("the database: {0}")]
    Database(#[from] rusqlite::Error),
    #[error("a stored value cannot be read: {0}")]
    Json(#[from] serde_json::Error),
}

pub type Result<T> = std::result::Result<T, StoreError>;
