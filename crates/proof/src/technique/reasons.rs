//! Why our answer differs from the expert's: the mechanical cause we believe, from `data/movements/technique_reasons.csv`.
//!
//! Columns: `id, item, ours, class, reason, how`. One row explains one wrong item (`*`: every wrong item) of one
//! statement as long as our direction is the one under `ours` (`*`: any). Items that cannot be said carry their own
//! cause, found by the program, unless a row says more.

use crate::cases::{CaseError, Row, Table};
use crate::reasons::fits;
use answer::{TechniqueItem, TechniqueRow};

const FILE: &str = "data/movements/technique_reasons.csv";
const REASONS: &str = include_str!("../../../../data/movements/technique_reasons.csv");

/// Why nothing can be said, found by the program itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CannotBe {
    NotWritten,
    NotChecked,
    NoSetting,
    NotSolved,
    OtherPosture,
    NotModelled,
}

impl CannotBe {
    pub const ALL: [CannotBe; 6] = [
        CannotBe::NotWritten,
        CannotBe::NotChecked,
        CannotBe::NoSetting,
        CannotBe::NotSolved,
        CannotBe::OtherPosture,
        CannotBe::NotModelled,
    ];

    pub fn word(self) -> &'static str {
        match self {
            CannotBe::NotWritten => "movement not written",
            CannotBe::NotChecked => "movement not checked",
            CannotBe::NoSetting => "setting not modelled",
            CannotBe::NotSolved => "lift not solved",
            CannotBe::OtherPosture => "other posture",
            CannotBe::NotModelled => "quantity not modelled",
        }
    }
}

/// A cause of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    pub line: usize,
    pub id: String,
    pub item: String,
    pub ours: String,
    pub class: String,
    pub text: String,
}

impl Reason {
    fn read(row: &Row) -> Result<Reason, CaseError> {
        row.filled("how")?;
        Ok(Reason {
            line: row.line,
            id: row.filled("id")?,
            item: row.filled("item")?,
            ours: row.filled("ours")?,
            class: row.filled("class")?,
            text: row.filled("reason")?,
        })
    }

    /// Whether the reason explains this item of a row.
    pub fn explains(&self, row: &TechniqueRow, item: &TechniqueItem) -> bool {
        !item.right && self.id == row.id && fits(&self.item, &item.item) && fits(&self.ours, &item.ours)
    }
}

/// The shipped table.
///
/// # Errors
/// A row that cannot be read.
pub fn shipped() -> Result<Vec<Reason>, CaseError> {
    parse(FILE, REASONS)
}

/// # Errors
/// A row that cannot be read, with its line and column.
pub fn parse(file: &str, text: &str) -> Result<Vec<Reason>, CaseError> {
    Table::parse(file, text)?.rows().map(|row| Reason::read(&row)).collect()
}

/// Gives every wrong item the first cause that fits.
pub fn attach(rows: &mut [TechniqueRow], reasons: &[Reason]) {
    for row in rows {
        let found: Vec<Option<&Reason>> =
            row.items.iter().map(|item| reasons.iter().find(|r| r.explains(row, item))).collect();
        for (item, reason) in row.items.iter_mut().zip(found) {
            if let Some(r) = reason {
                (item.class, item.reason) = (r.class.clone(), r.text.clone());
            }
        }
    }
}
