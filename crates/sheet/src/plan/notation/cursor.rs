//! The text being read, and the small things that stand in it: numbers, ranges, units, seconds.

use super::Slot;
use crate::plan::token::{Kind, Token};

/// The text being read and where.
pub(super) struct Cursor<'a> {
    pub text: &'a [char],
    pub t: Vec<Token>,
    pub used: Vec<bool>,
    pub slot: Slot,
}

pub(super) type Next = Option<usize>;

impl Cursor<'_> {
    pub(super) fn number(&self, i: usize) -> Option<f64> {
        match self.t.get(i)?.kind {
            Kind::Number(v) if v.is_finite() && v < 1e6 => Some(v),
            _ => None,
        }
    }
    pub(super) fn word(&self, i: usize) -> &str {
        match self.t.get(i).map(|t| &t.kind) {
            Some(Kind::Word(w)) => w,
            _ => "",
        }
    }
    pub(super) fn sign(&self, i: usize) -> char {
        match self.t.get(i).map(|t| &t.kind) {
            Some(Kind::Sign(c)) => *c,
            _ => ' ',
        }
    }
    pub(super) fn is(&self, i: usize, words: &[&str]) -> bool {
        !self.word(i).is_empty() && words.contains(&self.word(i))
    }
    pub(super) fn skip(&self, i: usize, signs: &[char], words: &[&str]) -> usize {
        let mut i = i;
        while signs.contains(&self.sign(i)) && self.sign(i) != ' ' || self.is(i, words) {
            i += 1;
        }
        i
    }
    /// "8", "8-10", "8 to 10": low, high, next.
    pub(super) fn range(&self, i: usize) -> Option<(f64, f64, usize)> {
        let low = self.number(i)?;
        if (self.sign(i + 1) == '-' || self.is(i + 1, &["to"]))
            && let Some(high) = self.number(i + 2)
        {
            return Some((low.min(high), low.max(high), i + 3));
        }
        Some((low, low, i + 1))
    }
    pub(super) fn touching(&self, i: usize) -> bool {
        i + 1 < self.t.len() && self.t[i].end == self.t[i + 1].start
    }
    pub(super) fn written(&self, from: usize, to: usize) -> String {
        match (self.t.get(from), self.t.get(to.saturating_sub(1))) {
            (Some(a), Some(b)) if b.end >= a.start => self.text[a.start..b.end].iter().collect(),
            _ => String::new(),
        }
    }
}

pub(super) const TO_FAILURE: [&str; 8] = ["amrap", "amap", "max", "failure", "tf", "fail", "f", "amraps"];
pub(super) const KG: [&str; 5] = ["kg", "kgs", "kilo", "kilos", "k"];
pub(super) const LB: [&str; 5] = ["lb", "lbs", "pound", "pounds", "lbf"];
pub(super) const FILLER: [&str; 30] = [
    "of", "x", "reps", "rep", "r", "sets", "set", "with", "then", "and", "to", "per", "top", "last", "work", "working",
    "hard", "at", "for", "each", "target", "do", "the", "on", "w", "a", "goal", "aim", "final", "straight",
];

pub(super) fn unit_of(c: &Cursor, i: usize) -> Option<&'static str> {
    match () {
        _ if c.is(i, &KG) => Some("kg"),
        _ if c.is(i, &LB) || c.sign(i) == '#' => Some("lb"),
        _ => None,
    }
}

pub(super) fn is_unit(c: &Cursor, i: usize) -> bool {
    unit_of(c, i).is_some()
}

pub(super) fn skip_one_rm(c: &Cursor, i: usize) -> usize {
    let at = c.skip(i, &[], &["of"]);
    if c.number(at) == Some(1.0) && c.is(at + 1, &["rm"]) { at + 2 } else { i }
}

/// Factor, unit and next of what follows a number of repetitions.
pub(super) fn reps_unit(c: &Cursor, i: usize) -> (f64, Option<&'static str>, usize) {
    match () {
        _ if c.is(i, &["s", "sec", "secs", "second", "seconds"]) => (1.0, Some("s"), i + 1),
        _ if c.sign(i) == '"' => (1.0, Some("s"), i + 1),
        _ if c.is(i, &["min", "mins", "minute", "minutes"]) => (60.0, Some("s"), i + 1),
        _ if c.is(i, &["m", "meter", "meters", "metre", "metres"]) => (1.0, Some("m"), i + 1),
        _ if c.is(i, &["yd", "yds", "yards"]) => (0.9144, Some("m"), i + 1),
        _ if c.is(i, &["reps", "rep", "r"]) => (1.0, None, i + 1),
        _ => (1.0, None, i),
    }
}

/// "90 s", "2-3 min", "2'", "1:30" → seconds (middle of a range). `column`: inside a rest column, with its unit.
pub(super) fn seconds(c: &Cursor, i: usize, column: Option<Option<u32>>) -> Option<(f64, usize)> {
    let (low, high, next) = c.range(i)?;
    let middle = (low + high) / 2.0;
    if c.sign(next) == ':' && low == high {
        let s = c.number(next + 1).filter(|s| *s < 60.0)?;
        // A clock time "01:30:00" was typed as 1:30.
        let end = if c.sign(next + 2) == ':' { next + 4 } else { next + 2 };
        return Some((low * 60.0 + s, end));
    }
    match () {
        _ if c.is(next, &["min", "mins", "minute", "minutes", "m"]) || c.sign(next) == '\'' => {
            Some((middle * 60.0, next + 1))
        }
        _ if c.is(next, &["s", "sec", "secs", "seconds"]) || c.sign(next) == '"' => Some((middle, next + 1)),
        _ => {
            let factor = column?.map_or(if high < 10.0 { 60.0 } else { 1.0 }, f64::from);
            Some((middle * factor, next))
        }
    }
}

pub(super) fn back_off_end(c: &Cursor, i: usize) -> Next {
    if c.is(i, &["backoff", "backoffs", "bo", "bos"]) {
        return Some(c.skip(i + 1, &[], &["set", "sets"]));
    }
    let off = c.skip(i + 1, &['-'], &[]);
    (c.is(i, &["back"]) && c.is(off, &["off", "offs"])).then(|| c.skip(off + 1, &[], &["set", "sets"]))
}

/// "w/u", "warm-up", "(warm up)".
pub(super) fn warm_up_end(c: &Cursor, i: usize) -> Next {
    let at = c.skip(i, &['('], &[]);
    let end = match () {
        _ if c.is(at, &["wu", "warmup", "warmups"]) => at + 1,
        _ if c.is(at, &["w"]) && c.sign(at + 1) == '/' && c.is(at + 2, &["u", "up"]) => at + 3,
        _ if c.is(at, &["warm"]) => {
            let up = c.skip(at + 1, &['-'], &[]);
            if !c.is(up, &["up", "ups"]) {
                return None;
            }
            up + 1
        }
        _ => return None,
    };
    Some(c.skip(end, &[')'], &["set", "sets"]))
}

pub(super) fn leftover(c: &Cursor) -> String {
    let mut out = String::new();
    let mut end = 0;
    for (t, _) in c.t.iter().zip(&c.used).filter(|(_, used)| !**used) {
        let said = match &t.kind {
            Kind::Word(w) => !FILLER.contains(&w.as_str()),
            Kind::Number(_) => true,
            Kind::Sign(_) => false,
        };
        // Signs inside words ("T-bar", "one's") stay.
        let inside = matches!(t.kind, Kind::Sign(_)) && end == t.start && !out.is_empty() && t.kind != Kind::Sign(',');
        if said || inside && c.text.get(t.end).is_some_and(|ch| ch.is_alphanumeric()) {
            if end != t.start && !out.is_empty() {
                out.push(' ');
            }
            out.extend(&c.text[t.start..t.end]);
            end = t.end;
        }
    }
    out.trim().to_string()
}
