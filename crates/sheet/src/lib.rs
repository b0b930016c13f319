//! Spreadsheets in and out. In: bytes of xlsx, ods, csv or toml as coaches keep them; out: plain grids, the entries
//! of a written week with every assumption, and workbooks to send on. Must never know: mechanics, credits, files
//! on disk (bytes are handed in).

pub mod fill;
pub mod grid;
pub mod plan;
pub mod read;
pub mod write;
