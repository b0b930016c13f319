//! Loads: kg, lb, body weight, pins, pairs.

use super::cursor::{Cursor, Next, unit_of};
use super::{Reader, Slot, show};

const KG_PER_LB: f64 = 0.453_592_37;

impl Reader {
    pub(super) fn set_load(&mut self, load: f64, unit: Option<&str>) {
        if let Some(first) = self.out.load {
            self.out.assumptions.push(format!("several loads written; {first} is shown"));
            return;
        }
        self.out.load = Some(load);
        self.out.unit = unit.map(String::from);
    }

    pub(super) fn load(&mut self, c: &Cursor, i: usize) -> Next {
        let at = c.skip(i, &['@'], &[]);
        if c.is(at, &["bw", "bodyweight"]) {
            let signed = c.sign(at + 1);
            let added = if ['+', '-'].contains(&signed) { c.number(at + 2) } else { None };
            let Some(v) = added else {
                // "BW squat": a word of the name
                if c.slot == Slot::Line {
                    return None;
                }
                self.set_load(0.0, Some("bw"));
                return Some(at + 1);
            };
            let v = if signed == '-' { -v } else { v };
            let (value, next) = match unit_of(c, at + 3) {
                Some("lb") => (v * KG_PER_LB, at + 4),
                Some(_) => (v, at + 4),
                None => {
                    self.out.assumptions.push(format!("“{}” read in kg", c.written(at, at + 3)));
                    (v, at + 3)
                }
            };
            self.set_load((value * 10.0).round() / 10.0, Some("bw"));
            return Some(next);
        }
        if c.is(at, &["pin", "stack", "plate", "p"]) && (c.word(at) != "p" || c.touching(at)) {
            let v = c.number(c.skip(at + 1, &['#', ':'], &[]))?;
            self.set_load(v, Some("pin"));
            return Some(c.skip(at + 1, &['#', ':'], &[]) + 1);
        }
        // "2x16 kg": one in each hand
        let pair = c.number(at) == Some(2.0) && c.is(at + 1, &["x"]);
        let from = if pair { at + 2 } else { at };
        let from = if c.sign(from) == '#' { from + 1 } else { from };
        let (low, high, next) = c.range(from)?;
        let column = match c.slot {
            Slot::Load(u) => Some(u),
            _ => None,
        };
        let unit = unit_of(c, next);
        if unit.is_none() && column.is_none() {
            return None;
        }
        if pair {
            self.out.assumptions.push(format!("“{}” read as {low} in each hand", c.written(at, next)));
        }
        if low != high {
            let middle = (low + high) / 2.0;
            self.out.assumptions.push(format!("load {} shown as {middle}", show((low, high))));
        }
        let plus =
            i > 0 && c.sign(i - 1) == '+' && self.groups.is_empty() && matches!(c.slot, Slot::Load(_) | Slot::Line);
        if plus {
            self.out.assumptions.push(format!("“+{low}” read as added to the body's weight"));
        }
        let shown = if plus { Some("bw") } else { unit.or(column.flatten()) };
        self.set_load((low + high) / 2.0, shown);
        let next = next + usize::from(unit.is_some());
        Some(self.per_hand(c, next))
    }

    pub(super) fn per_hand(&mut self, c: &Cursor, at: usize) -> usize {
        let next = match () {
            _ if c.is(at, &["p"]) && c.sign(at + 1) == '/' && c.is(at + 2, &["h"]) => at + 3,
            _ if c.is(at, &["ph"]) => at + 1,
            _ if c.is(at, &["per", "each"]) && c.is(at + 1, &["hand", "db", "dumbbell", "bell"]) => at + 2,
            _ if c.sign(at) == '/' && c.is(at + 1, &["hand", "db"]) => at + 2,
            _ => return at,
        };
        self.out.assumptions.push(format!("“{}”: the load in each hand", c.written(at, next)));
        next
    }
}
