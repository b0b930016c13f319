//! The week as an integer programme in plain numbers. Times in seconds, doses in credited sets a week, value in weighted
//! credited sets. The programme in formulas: `docs/rebuild.md`.

use serde::{Deserialize, Serialize};

/// A stretch of a concave value: `gain` per credited set over `width` credited sets.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Credited sets; the last piece of a head has no end.
    pub width: f64,
    /// Value of one credited set; falls from piece to piece, below zero beyond the band.
    pub gain: f64,
}

/// A muscle head with what its credited sets are worth.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Head {
    pub name: String,
    pub pieces: Vec<Piece>,
    /// Most credited sets of one session.
    pub session_most: f64,
    /// Most credited sets of the week, so that no dose jumps; `None` without a present week.
    pub week_most: Option<f64>,
    /// Share of its credited sets wanted at long length, 0 to 1, and the price of a credited set that lacks to it.
    pub long_share: f64,
    pub long_price: f64,
}

impl Head {
    /// Value of `credited` sets; each piece is filled before the next.
    pub fn value(&self, credited: f64) -> f64 {
        let mut left = credited.max(0.0);
        let mut value = 0.0;
        for (i, p) in self.pieces.iter().enumerate() {
            let take = if i + 1 == self.pieces.len() { left } else { left.min(p.width) };
            value += p.gain * take;
            left -= take;
            if left <= 0.0 {
                break;
            }
        }
        value
    }
    /// The most value this head can have.
    pub fn best(&self) -> f64 {
        self.pieces.iter().filter(|p| p.gain > 0.0 && p.width.is_finite()).map(|p| p.gain * p.width).sum()
    }
}

/// A movement, done one way, that may stand in the week.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Choice {
    pub name: String,
    /// Ways to do the same movement share this number: a day holds one of them.
    pub movement: usize,
    /// (head, credited sets of one hard set, at long length).
    pub credits: Vec<(usize, f64, bool)>,
    /// Work, rest and getting ready of one set, s.
    pub set_s: f64,
    /// Once per exercise and day, s; below zero where the last set has no getting ready.
    pub once_s: f64,
    /// Fewest and most sets of one exercise on one day.
    pub least: u32,
    pub most: u32,
    /// The client does not do it yet.
    pub new: bool,
}

/// A day with its time.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Day {
    pub name: String,
    /// `None`: no limit is known.
    pub available_s: Option<f64>,
}

/// Sets of a choice on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Line {
    pub day: usize,
    pub choice: usize,
    pub sets: u32,
}

/// A dose the week must reach: weighted credited sets of some heads.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Must {
    pub name: String,
    /// (head, weight); the weights of a coach group add to 1.
    pub heads: Vec<(usize, f64)>,
    /// Credited sets a week.
    pub at_least: f64,
}

/// What changes and time cost, in value.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Prices {
    /// Each exercise of a day.
    pub line: f64,
    /// Each movement the client does not do yet.
    pub new: f64,
    /// What is gained by each exercise that stays on its day.
    pub stay: f64,
    /// One minute.
    pub minute: f64,
}

/// The programme.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Task {
    pub heads: Vec<Head>,
    pub choices: Vec<Choice>,
    pub days: Vec<Day>,
    /// The week as it is.
    pub present: Vec<Line>,
    /// Lines that stay as they are.
    pub kept: Vec<Line>,
    pub musts: Vec<Must>,
    /// Movements that may come in anew.
    pub most_new: Option<u32>,
    /// Sets of the whole week, where none may be added.
    pub most_sets: Option<u32>,
    /// Exercises of a day.
    pub most_lines: u32,
    pub prices: Prices,
}

/// Why a task is none.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TaskError {
    #[error("the week has no day: name the days or their number")]
    NoDays,
    #[error("{day} has {minutes:.0} min; give it more than 0 or leave the day out")]
    NoMinutes { day: String, minutes: f64 },
    #[error("no movement is left to choose from: allow more equipment, or fewer movements to avoid")]
    NoChoices,
    #[error("{what} is {value}, which is no usable number; expected {expected}")]
    BadNumber { what: String, value: f64, expected: &'static str },
    #[error("{what} number {index} is not in a list of {count}")]
    Stray { what: &'static str, index: usize, count: usize },
}

/// Room for rounding, in credited sets, seconds and value.
pub(crate) const ROUNDING: f64 = 1e-7;

impl Task {
    /// All numbers are finite and in order, all numbers of heads, days and choices exist.
    pub fn check(&self) -> Result<(), TaskError> {
        let number = |what: String, value: f64, low: f64, expected: &'static str| {
            if value.is_finite() && value >= low { Ok(()) } else { Err(TaskError::BadNumber { what, value, expected }) }
        };
        if self.days.is_empty() {
            return Err(TaskError::NoDays);
        }
        if self.choices.is_empty() {
            return Err(TaskError::NoChoices);
        }
        for d in &self.days {
            if let Some(s) = d.available_s
                && (!s.is_finite() || s <= 0.0)
            {
                return Err(TaskError::NoMinutes { day: d.name.clone(), minutes: s / 60.0 });
            }
        }
        for h in &self.heads {
            number(format!("the session limit of {}", h.name), h.session_most, 0.0, "0 or more credited sets")?;
            for pair in h.pieces.windows(2) {
                number(format!("a width of {}", h.name), pair[0].width, 0.0, "0 or more credited sets")?;
                let fall = pair[0].gain - pair[1].gain;
                number(format!("the fall of gains of {}", h.name), fall, 0.0, "gains that do not rise")?;
            }
        }
        for c in &self.choices {
            number(format!("the time of a set of {}", c.name), c.set_s, 0.0, "0 s or more")?;
            for &(h, credit, _) in &c.credits {
                if h >= self.heads.len() {
                    return Err(TaskError::Stray { what: "head", index: h, count: self.heads.len() });
                }
                number(format!("a credit of {}", c.name), credit, 0.0, "0 or more")?;
            }
        }
        for l in self.present.iter().chain(&self.kept) {
            if l.choice >= self.choices.len() {
                return Err(TaskError::Stray { what: "choice", index: l.choice, count: self.choices.len() });
            }
            if l.day >= self.days.len() {
                return Err(TaskError::Stray { what: "day", index: l.day, count: self.days.len() });
            }
        }
        Ok(())
    }

    /// Seconds of a line.
    pub fn seconds(&self, line: &Line) -> f64 {
        let c = &self.choices[line.choice];
        c.set_s * f64::from(line.sets) + c.once_s
    }

    /// Whether a choice stands on a day of the present week.
    pub(crate) fn stays(&self, choice: usize, day: usize) -> bool {
        self.present.iter().any(|l| l.choice == choice && l.day == day)
    }

    /// The line a kept movement holds.
    pub(crate) fn kept_on(&self, choice: usize, day: usize) -> Option<u32> {
        self.kept.iter().find(|l| l.choice == choice && l.day == day).map(|l| l.sets)
    }

    /// What a line earns or costs beside the heads.
    pub(crate) fn line_value(&self, line: &Line) -> f64 {
        let stay = if self.stays(line.choice, line.day) { self.prices.stay } else { 0.0 };
        stay - self.prices.line - self.prices.minute * self.seconds(line) / 60.0
    }

    /// Sums of a week.
    pub fn sums(&self, week: &[Line]) -> Sums {
        let mut s = Sums {
            credited: vec![0.0; self.heads.len()],
            long: vec![0.0; self.heads.len()],
            session: vec![vec![0.0; self.heads.len()]; self.days.len()],
            seconds: vec![0.0; self.days.len()],
        };
        for l in week {
            s.seconds[l.day] += self.seconds(l);
            for &(h, credit, long) in &self.choices[l.choice].credits {
                let dose = credit * f64::from(l.sets);
                s.credited[h] += dose;
                s.session[l.day][h] += dose;
                s.long[h] += if long { dose } else { 0.0 };
            }
        }
        s
    }

    /// Value of a week: doses, less what changes and time cost.
    pub fn value(&self, week: &[Line]) -> f64 {
        let s = self.sums(week);
        let heads: f64 = self
            .heads
            .iter()
            .enumerate()
            .map(|(h, head)| head.value(s.credited[h]) - head.long_price * self.long_lack(h, s.credited[h], s.long[h]))
            .sum();
        let lines: f64 = week.iter().map(|l| self.line_value(l)).sum();
        heads + lines - self.prices.new * self.new_movements(week).len() as f64
    }

    /// Credited sets that lack to the wanted share at long length.
    pub(crate) fn long_lack(&self, head: usize, credited: f64, long: f64) -> f64 {
        (self.heads[head].long_share * credited - long).max(0.0)
    }

    /// Numbers of the new movements of a week, each once.
    pub fn new_movements(&self, week: &[Line]) -> std::collections::BTreeSet<usize> {
        let choices = week.iter().map(|l| &self.choices[l.choice]);
        choices.filter(|c| c.new).map(|c| c.movement).collect()
    }

    /// Every hard limit a week breaks, in plain words; empty for a week that may be.
    pub fn broken(&self, week: &[Line]) -> Vec<String> {
        let mut out = Vec::new();
        let s = self.sums(week);
        for (d, day) in self.days.iter().enumerate() {
            if day.available_s.is_some_and(|t| s.seconds[d] > t + 1e-3) {
                out.push(format!("{} takes {:.1} min", day.name, s.seconds[d] / 60.0));
            }
            let here: Vec<&Line> = week.iter().filter(|l| l.day == d).collect();
            if here.len() > self.most_lines as usize {
                out.push(format!("{} has {} exercises, at most {}", day.name, here.len(), self.most_lines));
            }
            let mut movements: Vec<usize> = here.iter().map(|l| self.choices[l.choice].movement).collect();
            movements.sort_unstable();
            if movements.windows(2).any(|w| w[0] == w[1]) {
                out.push(format!("{} has a movement twice", day.name));
            }
            for (h, head) in self.heads.iter().enumerate() {
                if s.session[d][h] > head.session_most + 1e-6 {
                    out.push(format!("{} on {}: {:.2} in one session", head.name, day.name, s.session[d][h]));
                }
            }
        }
        for l in week {
            let c = &self.choices[l.choice];
            if self.kept_on(l.choice, l.day) != Some(l.sets) && (l.sets < c.least || l.sets > c.most) {
                out.push(format!("{} has {} sets, from {} to {}", c.name, l.sets, c.least, c.most));
            }
        }
        for k in self.kept.iter().filter(|k| !week.contains(k)) {
            out.push(format!("{} is not kept", self.choices[k.choice].name));
        }
        for (h, head) in self.heads.iter().enumerate() {
            if head.week_most.is_some_and(|most| s.credited[h] > most + 1e-6) {
                out.push(format!("{} rises to {:.2}", head.name, s.credited[h]));
            }
        }
        for must in &self.musts {
            let dose: f64 = must.heads.iter().map(|&(h, w)| w * s.credited[h]).sum();
            if dose < must.at_least - 1e-6 {
                out.push(format!("{} {dose:.2} of at least {:.2}", must.name, must.at_least));
            }
        }
        let new = self.new_movements(week).len();
        if self.most_new.is_some_and(|most| new > most as usize) {
            out.push(format!("{new} new movements"));
        }
        let sets: u32 = week.iter().map(|l| l.sets).sum();
        if self.most_sets.is_some_and(|most| sets > most) {
            out.push(format!("{sets} sets"));
        }
        out
    }
}

/// Sums of a week.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sums {
    /// Credited sets by head.
    pub credited: Vec<f64>,
    /// Those at long length.
    pub long: Vec<f64>,
    /// `session[day][head]`, credited sets.
    pub session: Vec<Vec<f64>>,
    /// Seconds by day.
    pub seconds: Vec<f64>,
}
