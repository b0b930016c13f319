//! Training studies beside what the mechanics predict. In: studies and contrasts as data, a library; out: predictions,
//! agreement per class, beside two trivial rules. Must never know: files, terminals, pages, clients.

pub mod bench;
pub mod data;
pub mod format;
pub mod import;
pub mod judge;
mod matching;
mod order;
pub mod predict;
pub mod reasons;
pub mod seen;
mod sentence;
pub mod study;
pub mod trials;
