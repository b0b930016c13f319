//! Tempo, effort, drop sets, rest and sides.

use super::cursor::{Cursor, Next, is_unit, seconds, skip_one_rm};
use super::{Reader, Slot, show};

/// Seconds of a lift "as fast as possible" (X): a hard repetition is slow however fast it is meant; own estimate.
const FAST_LIFT_S: f64 = 1.0;

impl Reader {
    pub(super) fn tempo(&mut self, c: &Cursor, i: usize, column: bool) -> Next {
        let said = c.is(i, &["tempo", "t"]);
        let at = if said { c.skip(i + 1, &[':', '=', '@'], &[]) } else { i };
        let sure = said || column;
        // "3-0-1-0", "3-0-X-0"
        let piece = |k: usize| match c.number(k) {
            Some(v) if v < 10.0 && v.fract() == 0.0 => Some(v),
            None if c.is(k, &["x"]) => Some(FAST_LIFT_S),
            _ => None,
        };
        let separator = c.sign(at + 1);
        if (separator == '-' || sure && ['/', '.', ':'].contains(&separator))
            && [3, 5].iter().all(|k| c.sign(at + k) == separator)
            && c.sign(at + 7) != separator
            && let (Some(a), Some(b), Some(x), Some(d)) = (piece(at), piece(at + 2), piece(at + 4), piece(at + 6))
            && (sure || !self.groups.is_empty() || [a, b, x, d].contains(&0.0))
        {
            self.out.tempo_s = Some([a, b, x, d]);
            return Some(at + 7);
        }
        // "3010", "30X0": four characters in one piece
        let mut to = at;
        while to < c.t.len() && (c.number(to).is_some() || c.is(to, &["x"])) && (to == at || c.touching(to - 1)) {
            to += 1;
        }
        let four: Vec<char> = c.written(at, to).chars().collect();
        if !four.iter().all(|ch| ch.is_ascii_digit() || ch.eq_ignore_ascii_case(&'x')) {
            return None;
        }
        let fast = four.iter().any(|ch| ch.eq_ignore_ascii_case(&'x'));
        // "3x10" is sets and repetitions; no one does 30 sets or none.
        let scheme = fast && c.number(at).is_some_and(|n| n <= 12.0) && c.number(at + 2).is_some_and(|n| n > 0.0);
        if to == at || four.len() != 4 || (!sure && (scheme || !fast && self.groups.is_empty())) {
            return None;
        }
        let mut seconds = [0.0; 4];
        for (s, ch) in seconds.iter_mut().zip(&four) {
            *s = ch.to_digit(10).map_or(FAST_LIFT_S, f64::from);
        }
        self.out.tempo_s = Some(seconds);
        Some(to)
    }

    pub(super) fn effort(&mut self, c: &Cursor, i: usize) -> Next {
        let at = c.skip(i, &['@', '('], &[]);
        let named = |k: usize| if c.is(k, &["rir"]) { Some(true) } else { c.is(k, &["rpe"]).then_some(false) };
        if let Some(rir) = named(at) {
            let from = c.skip(at + 1, &[':', '=', '@', '-'], &["of"]);
            if c.is(from, &["f", "failure"]) {
                self.out.rir = Some(0.0);
                return Some(from + 1);
            }
            let (low, high, next) = c.range(from)?;
            self.reserve(low, high, rir);
            return Some(next);
        }
        if let Some((low, high, next)) = c.range(at) {
            if let Some(rir) = named(next) {
                self.reserve(low, high, rir);
                return Some(next + 1);
            }
            let end = c.skip(next, &[], &["reps", "rep"]);
            if c.is(end, &["in"]) && c.is(c.skip(end + 1, &[], &["the"]), &["reserve", "tank"]) {
                self.reserve(low, high, true);
                return Some(c.skip(end + 1, &[], &["the", "reserve", "tank"]));
            }
            if c.sign(next) == '%' {
                self.set_percent(low, high);
                return Some(c.skip(next + 1, &[], &["of", "rm", "max", "orm"]).max(skip_one_rm(c, next + 1)));
            }
            if at > i && c.sign(at - 1) == '@' && !is_unit(c, next) {
                return self.at_number(c, i, low, high, next);
            }
        }
        let end = c.skip(i, &[], &["to"]);
        if c.is(end, &["failure", "tf"]) && (end > i || c.word(end) == "tf" || c.slot != Slot::Line) {
            self.failure_alone = true;
            return Some(end + 1);
        }
        None
    }

    /// "@2", "@8", "@75": what is meant depends on the size.
    pub(super) fn at_number(&mut self, c: &Cursor, i: usize, low: f64, high: f64, next: usize) -> Next {
        let written = c.written(i, next);
        if high <= 5.0 {
            self.reserve(low, high, true);
            self.out.assumptions.push(format!("“{written}” read as {} in reserve", show((low, high))));
        } else if high <= 10.0 {
            self.reserve(low, high, false);
            let left = (10.0 - high, 10.0 - low);
            self.out.assumptions.push(format!(
                "“{written}” read as RPE {}, {} in reserve",
                show((low, high)),
                show(left)
            ));
        } else {
            self.set_load((low + high) / 2.0, None);
        }
        Some(next)
    }

    pub(super) fn reserve(&mut self, low: f64, high: f64, rir: bool) {
        let name = if rir { "RIR" } else { "RPE" };
        let middle = (low + high) / 2.0;
        if low != high {
            self.out.assumptions.push(format!("{name} {} counted as {middle}", show((low, high))));
        }
        if !rir && middle > 10.0 {
            self.out.assumptions.push(format!("RPE {middle} is above 10: not used"));
            return;
        }
        self.out.rir = Some(if rir { middle } else { 10.0 - middle });
    }

    pub(super) fn set_percent(&mut self, low: f64, high: f64) {
        if low != high {
            self.out.assumptions.push(format!("{} % counted as {} %", show((low, high)), (low + high) / 2.0));
        }
        self.percent = Some((low + high) / 2.0);
    }

    pub(super) fn technique(&mut self, c: &Cursor, i: usize) -> Next {
        let at = c.skip(i, &['+'], &["with"]);
        let (count, word) = match c.number(at) {
            Some(n) => (Some(n), at + 1),
            None => (None, at),
        };
        let count_or_one = count.unwrap_or(1.0).min(6.0);
        if c.is(word, &["drop", "drops", "dropset", "dropsets", "ds"]) {
            let next = c.skip(word + 1, &['-'], &["set", "sets"]);
            let said = self.drops > 0.0;
            self.cell_drops += count_or_one;
            let n = if count_or_one == 1.0 { "a drop".to_string() } else { format!("{count_or_one} drops") };
            // Said in an earlier cell, it is the same drop.
            if !said {
                self.out.assumptions.push(format!("{n} after the last set, counted as half a set each"));
            }
            return Some(match (c.sign(next), c.number(next + 1)) {
                ('x', Some(_)) => next + 2,
                _ => next,
            });
        }
        let paused = c.is(word, &["rest"]) && c.is(c.skip(word + 1, &['-', '/'], &[]), &["pause", "pauses"]);
        if count.is_none() && (paused || c.is(word, &["rp", "restpause"]) || c.is(word, &["cluster", "clusters"])) {
            if self.halves == 0.0 {
                self.halves = 0.5;
                self.out.assumptions.push("one continuation after a short pause, counted as half a set".into());
            }
            return Some(if paused { c.skip(word + 1, &['-', '/'], &["pause", "pauses"]) } else { word + 1 });
        }
        None
    }

    pub(super) fn rest(&mut self, c: &Cursor, i: usize) -> Next {
        let at = c.skip(i, &['('], &[]);
        if c.is(at, &["rest"]) {
            let from = c.skip(at + 1, &[':', '='], &["of"]);
            let (s, next) = seconds(c, from, None)?;
            self.out.rest_s = Some(s);
            return Some(c.skip(next, &[')'], &["between", "sets"]));
        }
        let (s, next) = seconds(c, at, None)?;
        if c.is(next, &["rest"]) {
            self.out.rest_s = Some(s);
            return Some(next + 1);
        }
        None
    }

    pub(super) fn rest_column(&mut self, c: &Cursor, i: usize, unit: Option<u32>) -> Next {
        let (s, next) = seconds(c, i, Some(unit))?;
        self.out.rest_s = Some(s);
        Some(next)
    }

    pub(super) fn sides(&mut self, c: &Cursor, i: usize) -> Next {
        const SIDE: [&str; 9] = ["side", "sides", "leg", "legs", "arm", "arms", "direction", "way", "s"];
        let at = c.skip(i, &['('], &[]);
        let each = c.is(at, &["each", "per", "every"]) && c.is(at + 1, &SIDE[..8]);
        let short = c.is(at, &["e"]) && c.sign(at + 1) == '/' && c.is(at + 2, &["s", "l", "a"]);
        let slash = c.sign(at) == '/' && c.is(at + 1, &SIDE[..8]);
        let next = match () {
            _ if each => at + 2,
            _ if short => at + 3,
            _ if slash => at + 2,
            _ if c.is(at, &["es", "ea", "ps", "eachside"]) && i > 0 => at + 1,
            // "30s each" at the end of the cell
            _ if c.is(at, &["each"]) && i > 0 && at + 1 >= c.t.len() => at + 1,
            _ => return None,
        };
        self.out.each_side = true;
        Some(next)
    }
}
