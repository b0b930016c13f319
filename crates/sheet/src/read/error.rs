//! What can be wrong with a file as a file. Every problem says what was met, what was expected, and what to do.

use std::fmt;
use thiserror::Error;

/// A file could not be read. Nothing of it was used.
#[derive(Clone, Debug, PartialEq, Error)]
pub struct ReadError {
    /// Name of the file as the user gave it.
    pub file: String,
    /// Where in the file ("sheet \"Week 1\", cell C5", "line 7"); empty when the whole file is meant.
    pub place: String,
    pub problem: Problem,
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let comma = if self.place.is_empty() { "" } else { ", " };
        write!(f, "{}{comma}{}: {}. {}", self.file, self.place, self.problem, self.problem.what_to_do())
    }
}

/// The kinds of trouble, with the numbers met and allowed.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Problem {
    #[error("the file is empty; expected a workbook (.xlsx, .ods) or a text table (.csv)")]
    Empty,
    #[error("this is {looks_like}, not a table; expected .xlsx, .ods or .csv")]
    WrongType { looks_like: &'static str, instead: &'static str },
    #[error("this is a workbook in an older or binary format ({looks_like}); expected .xlsx, .ods or .csv")]
    OldWorkbook { looks_like: &'static str },
    #[error("the workbook is protected with a password, so its cells cannot be read; expected an open workbook")]
    Encrypted,
    #[error("the end of the file is missing ({got_bytes} bytes arrived); expected a complete workbook")]
    Truncated { got_bytes: u64 },
    #[error("damaged: {got}; expected {expected}")]
    Damaged { got: String, expected: &'static str },
    #[error("a zip archive without a workbook inside; expected .xlsx, .ods or .csv")]
    NoWorkbookInside,
    #[error("the file has {got_bytes} bytes; at most {allowed_bytes} are read")]
    FileTooLarge { got_bytes: u64, allowed_bytes: u64 },
    #[error("the archive lists {got} parts; at most {allowed} are read")]
    TooManyParts { got: u64, allowed: u64 },
    #[error("this part unpacks to more than {allowed_bytes} bytes")]
    PartTooLarge { allowed_bytes: u64 },
    #[error("the parts together unpack to more than {allowed_bytes} bytes")]
    TotalTooLarge { allowed_bytes: u64 },
    #[error(
        "this part swells {ratio}-fold when unpacked, at most {allowed}-fold is accepted: a file made to exhaust memory"
    )]
    Bomb { ratio: u64, allowed: u64 },
    #[error("a part is named \"{name}\", a path that leads out of the archive; expected a path inside it")]
    ClimbingPath { name: String },
    #[error("the sheets spread over more than {allowed} cells")]
    TooManyCells { allowed: usize },
    #[error("the cells hold more than {allowed_bytes} bytes of text")]
    TooMuchText { allowed_bytes: usize },
    #[error("a NUL byte stands in the text; expected a text table (.csv) in UTF-8, UTF-16 or Windows-1252")]
    NulByte,
}

impl Problem {
    /// The next step for the person who has the file.
    pub fn what_to_do(&self) -> &'static str {
        match self {
            Problem::Empty => "Save or send the file again.",
            Problem::WrongType { instead, .. } => instead,
            Problem::OldWorkbook { .. } => "Open it in a spreadsheet program and save as .xlsx.",
            Problem::Encrypted => "Open it with its password, save it without one as .xlsx, and try again.",
            Problem::Truncated { .. } => "Download or send it again; it was probably cut off on the way.",
            Problem::Damaged { .. } => "Open it in a spreadsheet program, let it repair the file, and save as .xlsx.",
            Problem::NoWorkbookInside => "Unpack the archive and give the workbook inside it.",
            Problem::FileTooLarge { .. } | Problem::TooManyCells { .. } | Problem::TooMuchText { .. } => {
                "Copy the weeks to be read into a new workbook, without pictures and old logs."
            }
            Problem::TooManyParts { .. } | Problem::PartTooLarge { .. } | Problem::TotalTooLarge { .. } => {
                "Copy the weeks to be read into a new workbook and save as .xlsx."
            }
            Problem::Bomb { .. } | Problem::ClimbingPath { .. } => {
                "Do not trust this file: ask its sender for a fresh copy saved from a spreadsheet program."
            }
            Problem::NulByte => "Open it in a spreadsheet program and save as .xlsx, or as CSV in UTF-8.",
        }
    }

    pub(crate) fn at(self, place: impl Into<String>) -> Fault {
        Fault { place: place.into(), problem: self }
    }

    pub(crate) fn damaged(got: impl Into<String>, expected: &'static str) -> Problem {
        Problem::Damaged { got: got.into(), expected }
    }
}

/// A problem with its place; the file's name is added where it is known.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fault {
    pub place: String,
    pub problem: Problem,
}

impl From<Problem> for Fault {
    fn from(problem: Problem) -> Fault {
        Fault { place: String::new(), problem }
    }
}

impl Fault {
    pub fn in_file(self, file: &str) -> ReadError {
        ReadError { file: file.to_owned(), place: self.place, problem: self.problem }
    }
}
