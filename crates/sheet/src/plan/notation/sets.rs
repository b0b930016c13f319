//! Sets and repetitions.

use super::cursor::{Cursor, Next, TO_FAILURE, back_off_end, is_unit, reps_unit};
use super::{Group, Reader, Slot};

/// "(2+2+2)": its parts and what comes next.
fn cluster(c: &Cursor, i: usize) -> Option<(Vec<f64>, usize)> {
    if c.sign(i) != '(' {
        return None;
    }
    let mut parts = vec![c.number(i + 1)?];
    let mut k = i + 2;
    while c.sign(k) == '+'
        && let Some(n) = c.number(k + 1)
    {
        parts.push(n);
        k += 2;
    }
    (parts.len() > 1 && c.sign(k) == ')').then_some((parts, k + 1))
}

impl Reader {
    pub(super) fn sets_and_reps(&mut self, c: &Cursor, i: usize) -> Next {
        if matches!(c.slot, Slot::Load(_) | Slot::Rir | Slot::Rpe | Slot::Percent) {
            return None;
        }
        if c.is(i, &["top"]) && c.is(i + 1, &["set", "single", "double", "triple"]) {
            let of = c.skip(i + 2, &[':'], &["of", "x"]);
            let reps = c.range(of).filter(|(.., n)| !c.is(*n, &["x", "back", "backoff", "sets", "set"]));
            // "1x5 top set" has its sets already
            if self.groups.is_empty() {
                self.add(c, i, (1.0, 1.0), reps.map(|r| (r.0, r.1)), false);
            }
            return Some(reps.map_or(i + 2, |r| r.2));
        }
        if let Some(next) = self.per_set_list(c, i) {
            return Some(next);
        }
        let Some((low, high, next)) = c.range(i) else {
            return back_off_end(c, i).or_else(|| {
                let alone = c.is(i, &["amrap", "amap", "amraps"]) || c.is(i, &["max"]) && c.is(i + 1, &["reps"]);
                alone.then(|| {
                    self.failure_alone = true;
                    c.skip(i + 1, &[], &["reps"])
                })
            });
        };
        if let Some(end) = back_off_end(c, next) {
            let of = c.skip(end, &[':'], &["of", "x"]);
            let reps = if of > end { c.range(of) } else { None };
            self.add(c, i, (low, high), reps.map(|r| (r.0, r.1)), false);
            return Some(reps.map_or(end, |r| r.2));
        }
        if c.is(next, &["x"]) {
            return self.scheme(c, i, (low, high), next + 1);
        }
        if c.is(next, &["set", "sets"]) {
            let of = c.skip(next + 1, &[':', ','], &["of", "x"]);
            if c.is(of, &TO_FAILURE) || c.range(of).is_some_and(|(.., n)| !is_unit(c, n) && c.sign(n) != '%') {
                return self.scheme(c, i, (low, high), of);
            }
            self.add(c, i, (low, high), None, false);
            return Some(next + 1);
        }
        None
    }

    /// After "3 x": repetitions, with unit, "+" and continuations.
    pub(super) fn scheme(&mut self, c: &Cursor, i: usize, sets: (f64, f64), at: usize) -> Next {
        if c.is(at, &TO_FAILURE) {
            self.add(c, i, sets, None, true);
            return Some(c.skip(at + 1, &[], &["reps"]));
        }
        if let Some((parts, next)) = cluster(c, at) {
            let reps: f64 = parts.iter().sum();
            self.add(c, i, sets, Some((reps, reps)), false);
            let written = c.written(at, next);
            self.out.assumptions.push(format!("“{written}”: {reps} repetitions with short pauses, counted as one set"));
            return Some(next);
        }
        let Some((low, high, next)) = c.range(at) else {
            self.add(c, i, sets, None, false);
            return Some(at);
        };
        // "3x8, 8, 6": one number per set
        let mut each = vec![low];
        let mut k = next;
        while [',', '/'].contains(&c.sign(k))
            && let Some(v) = c.number(k + 1).filter(|_| !c.is(k + 2, &["x", "sets", "set"]) && !is_unit(c, k + 2))
        {
            each.push(v);
            k += 2;
        }
        if each.len() > 1 && each.len() as f64 == sets.0 && sets.0 == sets.1 {
            self.add_list(c, i, &each);
            return Some(k);
        }
        let (scale, unit, mut next) = reps_unit(c, next);
        if let Some(u) = unit {
            self.unit = Some(u);
        }
        self.add(c, i, sets, Some((low * scale, high * scale)), false);
        if c.sign(next) == '+' && c.t.get(next).is_some_and(|t| t.start == c.t[next - 1].end) {
            let mut continuations = 0;
            while c.sign(next) == '+'
                && c.number(next + 1).is_some()
                && !c.is(next + 2, &["x", "drop", "drops", "back", "backoff", "sets", "set"])
                && !is_unit(c, next + 2)
            {
                continuations += 1;
                next += 2;
            }
            if continuations > 0 {
                self.halves += 0.5 * f64::from(continuations);
                self.out.assumptions.push(format!("{continuations} continuations, counted as half a set each"));
            } else if c.number(next + 1).is_none() && !c.is(next + 1, &["drop", "drops", "back", "top"]) {
                self.open_last_set = true;
                next += 1;
            }
        }
        Some(next)
    }

    /// "12, 10, 8", "5/4/3/2/1", "12-10-8".
    pub(super) fn per_set_list(&mut self, c: &Cursor, i: usize) -> Next {
        let separator = c.sign(i + 1);
        if ![',', '/', '-'].contains(&separator) {
            return None;
        }
        let mut each = vec![c.number(i)?];
        let mut k = i + 1;
        while c.sign(k) == separator
            && let Some(v) = c.number(k + 1)
        {
            if c.is(k + 2, &["x"]) || is_unit(c, k + 2) {
                break;
            }
            each.push(v);
            k += 2;
        }
        let two = each.len() == 2 && separator != '-' && matches!(c.slot, Slot::Reps | Slot::Scheme);
        if each.len() < 3 && !two || !self.groups.is_empty() || each.iter().any(|&v| v > 100.0 || v.fract() != 0.0) {
            return None;
        }
        if two && self.sets.is_some_and(|(_, s)| s != 2.0) {
            self.reps = Some((each[0].min(each[1]), each[0].max(each[1])));
            self.out.assumptions.push(format!("“{}” read as a range", c.written(i, k)));
            return Some(k);
        }
        self.add_list(c, i, &each);
        if each == [5.0, 3.0, 1.0] {
            let text =
                "“5/3/1” read as three sets of 5, 3 and 1; where it names a block of weeks, one scheme a week is meant";
            self.out.assumptions.push(text.into());
        }
        let (scale, unit, next) = reps_unit(c, k);
        if let (Some(u), Some(g)) = (unit, self.groups.last_mut()) {
            self.unit = Some(u);
            g.reps = g.reps.map(|(a, b)| (a * scale, b * scale));
        }
        Some(next)
    }

    /// A number by itself: what it is depends on the column.
    pub(super) fn bare(&mut self, c: &Cursor, i: usize) -> Next {
        let (low, high, next) = c.range(i)?;
        match c.slot {
            Slot::Sets => {
                self.sets = Some((low, high));
                Some(c.skip(next, &[], &["set", "sets"]))
            }
            Slot::Reps => {
                let (scale, unit, mut next) = reps_unit(c, next);
                self.unit = unit.or(self.unit);
                self.reps = Some((low * scale, high * scale));
                if c.sign(next) == '+' && next + 1 == c.t.len() {
                    self.open_last_set = true;
                    next += 1;
                }
                Some(next)
            }
            Slot::Rir => {
                self.reserve(low, high, true);
                Some(next)
            }
            Slot::Rpe => {
                self.reserve(low, high, false);
                Some(next)
            }
            Slot::Percent => {
                // A percentage cell is stored as a fraction of one.
                let scale = if high <= 1.2 { 100.0 } else { 1.0 };
                self.set_percent(low * scale, high * scale);
                Some(next)
            }
            Slot::Effort if high > 10.0 => {
                self.out.assumptions.push(format!("“{}” read as per cent of 1RM", c.written(i, next)));
                self.set_percent(low, high);
                Some(next)
            }
            Slot::Effort => self.at_number(c, i, low, high, next),
            _ => None,
        }
    }

    pub(super) fn add(&mut self, c: &Cursor, i: usize, sets: (f64, f64), reps: Option<(f64, f64)>, to_failure: bool) {
        self.note_place(c, i);
        self.groups.push(Group { sets, reps, per_set: false, to_failure });
    }

    pub(super) fn add_list(&mut self, c: &Cursor, i: usize, each: &[f64]) {
        self.note_place(c, i);
        let n = each.len() as f64;
        let reps = each.iter().fold((f64::INFINITY, 0.0f64), |a, &v| (a.0.min(v), a.1.max(v)));
        self.groups.push(Group { sets: (n, n), reps: Some(reps), per_set: true, to_failure: false });
    }

    pub(super) fn note_place(&mut self, c: &Cursor, i: usize) {
        if c.slot == Slot::Line && self.first_group_at.is_none() {
            self.first_group_at = c.t.get(i).map(|t| t.start);
        }
    }
}
