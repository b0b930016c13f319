//! Answers to a coach's questions. In: nothing; out: one serialisable type per question, rendered alike by
//! command line, page, report and figure. Must never know: how the numbers came about.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub mod audit;
pub mod evidence;
pub mod faults;
pub mod lay_out;
pub mod look;
pub mod proof;
pub mod propose;
pub mod rebuild;
pub mod search;
pub mod similar;
pub mod sources;
pub mod sure;
pub mod technique;
pub mod why;
pub mod words;

pub use audit::*;
pub use evidence::*;
pub use faults::*;
pub use lay_out::*;
pub use look::*;
pub use proof::*;
pub use propose::*;
pub use rebuild::*;
pub use search::*;
pub use similar::*;
pub use sources::*;
pub use sure::*;
pub use technique::*;
pub use why::*;
pub use words::*;

/// Low, mid and high of an estimate. A range, never a promise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Range {
    pub low: f64,
    pub mid: f64,
    pub high: f64,
}

impl Range {
    /// A range of no width.
    pub fn point(v: f64) -> Range {
        Range { low: v, mid: v, high: v }
    }
    /// Every number multiplied by `k` ≥ 0.
    pub fn times(self, k: f64) -> Range {
        Range { low: self.low * k, mid: self.mid * k, high: self.high * k }
    }
    pub fn plus(self, o: Range) -> Range {
        Range { low: self.low + o.low, mid: self.mid + o.mid, high: self.high + o.high }
    }
    pub fn width(self) -> f64 {
        self.high - self.low
    }
    /// Neither middle value lies in the other's range.
    pub fn apart(self, o: Range) -> bool {
        let inside = |m: f64, r: Range| m >= r.low && m <= r.high;
        !(inside(o.mid, self) || inside(self.mid, o))
    }
}

/// Smallest and largest value reached.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Span {
    pub min: f64,
    pub max: f64,
}

/// Value of a movement's setting.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum SettingValue {
    Number(f64),
    Word(String),
}

impl std::fmt::Display for SettingValue {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            SettingValue::Number(v) => write!(f, "{v}"),
            SettingValue::Word(w) => f.write_str(w),
        }
    }
}

/// Settings by key, in alphabetical order.
pub type Settings = BTreeMap<String, SettingValue>;

/// How much one hard set does for a head.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Class {
    Little,
    Some,
    Strong,
    Prime,
}

impl Class {
    pub fn word(self) -> &'static str {
        match self {
            Class::Little => "little",
            Class::Some => "some",
            Class::Strong => "strong",
            Class::Prime => "prime",
        }
    }
    /// Filled squares of the class mark, 1 to 4.
    pub fn squares(self) -> usize {
        self as usize + 1
    }
}

/// The credit columns of one hard set for a head.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Credit {
    /// From mechanics, with its range.
    pub mechanics: Range,
    /// By the convention 1 / ½ / 0.
    pub convention: f64,
    /// From trials of this movement or a near neighbour; `None` until trials are in.
    pub trials: Option<f64>,
    /// What the ledger counts.
    pub pooled: Range,
}
