//! The groups of comparisons, one module each.

use crate::Group;

/// Every group, in the order of the report.
pub const ALL: &[Group] = &[];
