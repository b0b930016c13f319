//! Answers as text for 80 columns. No number is computed here: numbers are chosen, sorted and written.

pub mod audit;
pub mod compare;
pub mod evidence;
pub mod faults;
pub mod lay_out;
pub mod lists;
pub mod look;
pub mod proof;
pub mod propose;
pub mod rank;
pub mod rebuild;
pub mod scenario;
pub mod search;
pub mod similar;
pub mod sources;
pub mod sure;
pub mod table;
pub mod technique;
pub mod why;

pub use desk::text;
