//! The best week inside a client's limits, with a bound that proves how good it is. In: a client's targets, movements with
//! credits, minutes and limits; out: a week, its bound and gap, or the wishes that clash. Must never know: how a credit
//! is computed, files, clocks, screens.
//!
//! [`Task`] is the programme in plain numbers, [`solve`] answers it, [`free`] says which wishes to give up when no week
//! fulfils them all, [`task_of`] makes the task of a client. The formulas: `docs/rebuild.md`.

mod changes;
mod client;
mod constants;
mod elastic;
mod local;
mod place;
mod solve;
mod task;
mod totals;

pub use changes::{Change, apply, changes, undo};
pub use client::{Built, Given, Present, task_of};
pub use constants::Constants;
pub use elastic::{Freed, Wish, free};
pub use solve::{Answer, Effort, Found, SolveError, exact, solve};
pub use task::{Choice, Day, Head, Line, Must, Piece, Prices, Sums, Task, TaskError};
