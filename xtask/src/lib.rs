//! Checks of the house and generated files. In: the working tree; out: problems with their place, or files written anew.
//! Every check is a function of texts, so that its tests can hand it something broken.

pub mod arrows;
mod catalogue;
pub mod code;
pub mod evidence_page;
pub mod fit;
pub mod licences;
pub mod pages;
pub mod reference;
pub mod tables;
pub mod technique_page;
pub mod tree;

use std::fmt;

/// Something wrong, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Path under the root, with a line where there is one.
    pub place: String,
    pub what: String,
}

impl Problem {
    pub fn new(place: impl Into<String>, what: impl Into<String>) -> Problem {
        Problem { place: place.into(), what: what.into() }
    }
    pub fn at(path: &str, line: usize, what: impl Into<String>) -> Problem {
        Problem { place: format!("{path}:{line}"), what: what.into() }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.what)
    }
}

/// A step that could not be carried out at all.
pub type Failed = Box<dyn std::error::Error>;
