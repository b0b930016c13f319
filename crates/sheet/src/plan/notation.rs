//! Sets, repetitions, effort, load, tempo and rest as coaches write them.
//!
//! One [`Reader`] takes all cells of an exercise, each with the [`Slot`] its column says, and gives one
//! [`Prescription`] with every assumption in words. Counting rules (common practice, no source): AMRAP is 0 in
//! reserve; RPE n leaves 10 − n; a drop or a continuation after a pause counts half a set; a ladder "5/4/3/2/1" is
//! five sets; "each side" is the same sets in double the time.

mod cursor;
mod effort;
mod load;
mod sets;

use super::token::{plain_signs, tokens};
use cursor::{Cursor, Next, leftover, warm_up_end};

/// What a column (or a whole cell) holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// A line or cell with everything in it, name first.
    Line,
    /// "3x8 @2"
    Scheme,
    Sets,
    Reps,
    Rir,
    Rpe,
    /// "Intensity": RIR, RPE or per cent.
    Effort,
    Percent,
    /// Load; the unit where the heading states one.
    Load(Option<&'static str>),
    Tempo,
    /// Rest; whether the heading says minutes (`Some(60)`) or seconds (`Some(1)`).
    Rest(Option<u32>),
    /// Remarks: only sides and techniques are taken from them.
    Notes,
}

/// Sets that are alike.
#[derive(Clone, Debug, PartialEq)]
struct Group {
    sets: (f64, f64),
    reps: Option<(f64, f64)>,
    /// One number was written per set.
    per_set: bool,
    to_failure: bool,
}

/// What is asked of an exercise.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prescription {
    /// Low and high; `None` where no number of sets is written.
    pub sets: Option<(f64, f64)>,
    pub reps: Option<(f64, f64)>,
    /// `reps`, `s`, `m`.
    pub reps_unit: String,
    pub rir: Option<f64>,
    pub load: Option<f64>,
    pub unit: Option<String>,
    pub tempo_s: Option<[f64; 4]>,
    pub rest_s: Option<f64>,
    pub each_side: bool,
    pub assumptions: Vec<String>,
    /// Words of the line that say nothing about sets, effort or load.
    pub leftover: String,
}

/// More sets than this are a slip of the pen.
const MOST_SETS: f64 = 50.0;

/// Takes the cells of one exercise.
#[derive(Debug, Default)]
pub struct Reader {
    out: Prescription,
    groups: Vec<Group>,
    sets: Option<(f64, f64)>,
    reps: Option<(f64, f64)>,
    unit: Option<&'static str>,
    percent: Option<f64>,
    failure_alone: bool,
    open_last_set: bool,
    halves: f64,
    /// Drops of the cell with most: a remark says again what the repetitions said.
    drops: f64,
    cell_drops: f64,
    /// The sets that follow are for warming up.
    warming_up: bool,
    /// Character at which the first sets × reps of a line starts.
    pub first_group_at: Option<usize>,
}

impl Reader {
    pub fn new() -> Reader {
        Reader::default()
    }

    /// Reads one cell.
    pub fn read(&mut self, text: &str, slot: Slot) {
        let text = plain_signs(text);
        let decimal = matches!(slot, Slot::Load(_) | Slot::Rir | Slot::Rpe | Slot::Percent | Slot::Rest(_));
        let t = tokens(&text, decimal);
        let used = vec![false; t.len()];
        let mut c = Cursor { text: &text, t, used, slot };
        let mut i = 0;
        self.cell_drops = 0.0;
        while i < c.t.len() {
            let groups = self.groups.len();
            match self.step(&c, i).filter(|&n| n > i) {
                Some(next) => {
                    let next =
                        if self.groups.len() > groups { self.without_warm_up(&c, i, next, groups) } else { next };
                    c.used[i..next.min(c.t.len())].iter_mut().for_each(|u| *u = true);
                    i = next;
                }
                None => i += 1,
            }
        }
        self.drops = self.drops.max(self.cell_drops);
        let untouched = !c.used.iter().any(|u| *u);
        let rest = if untouched && slot == Slot::Line { text.iter().collect() } else { leftover(&c) };
        if !rest.is_empty() {
            let told = match slot {
                Slot::Notes => None,
                Slot::Line | Slot::Scheme => {
                    self.out.leftover = [self.out.leftover.as_str(), &rest].join(" ").trim().to_string();
                    None
                }
                _ => Some(format!("“{rest}” was not used")),
            };
            self.out.assumptions.extend(told);
        }
    }

    /// A date the spreadsheet made of "8-10": both numbers, the smaller first.
    pub fn read_date(&mut self, iso: &str, slot: Slot) {
        let mut parts = iso.get(..10).unwrap_or("").splitn(3, '-').skip(1).map(|p| p.parse::<u32>().unwrap_or(0));
        if let (Some(month), Some(day)) = (parts.next(), parts.next())
            && month > 0
            && day > 0
        {
            let (low, high) = (month.min(day), month.max(day));
            self.out.assumptions.push(format!("the cell holds a date ({}); read as {low}-{high}", &iso[..10]));
            self.read(&format!("{low}-{high}"), slot);
        } else {
            self.read(iso, slot);
        }
    }

    /// Everything read, as one prescription.
    pub fn finish(mut self) -> Prescription {
        self.count();
        let o = &mut self.out;
        if o.reps_unit.is_empty() {
            o.reps_unit = self.unit.unwrap_or("reps").to_string();
        }
        if let (None, Some(p)) = (o.load, self.percent) {
            (o.load, o.unit) = (Some(p), Some("%1RM".into()));
        }
        self.out
    }

    fn count(&mut self) {
        let o = &mut self.out;
        o.reps = self.reps;
        if self.groups.is_empty() {
            o.sets = self.sets;
            if self.failure_alone && o.rir.is_none() {
                o.rir = Some(0.0);
            }
        } else {
            let sum = self.groups.iter().fold((0.0, 0.0), |a, g| (a.0 + g.sets.0, a.1 + g.sets.1));
            let listed = self.groups.iter().all(|g| g.per_set);
            match self.sets {
                Some(s) if listed && s != sum => {
                    o.assumptions.push(format!(
                        "{} numbers of repetitions but {} sets written: {} sets counted",
                        sum.1,
                        show(s),
                        show(s)
                    ));
                    o.sets = Some(s);
                }
                Some(s) if s != sum => {
                    o.assumptions.push(format!(
                        "{} sets in one column, {} in another: {0} counted",
                        show(s),
                        show(sum)
                    ));
                    o.sets = Some(s);
                }
                _ => o.sets = Some(sum),
            }
            let known: Vec<(f64, f64)> = self.groups.iter().filter_map(|g| g.reps).chain(self.reps).collect();
            o.reps = known.iter().copied().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
            let failing = self.groups.iter().filter(|g| g.to_failure).count();
            if failing == self.groups.len() || self.failure_alone && failing == 0 {
                o.rir = o.rir.or(Some(0.0));
            } else if failing > 0 {
                o.assumptions.push("some sets to failure; the effort of the others is taken as written".into());
            }
        }
        if self.open_last_set {
            o.assumptions.push("“+”: the last set as many as possible; the others' effort is not written".into());
        }
        let halves = self.halves + 0.5 * self.drops;
        if halves > 0.0 {
            o.sets = o.sets.map(|(a, b)| (a + halves, b + halves));
        }
        if o.sets.is_some_and(|(_, high)| high > MOST_SETS) {
            o.assumptions.push(format!("{} sets cannot be meant", show(o.sets.unwrap_or_default())));
            o.sets = None;
        }
    }

    fn step(&mut self, c: &Cursor, i: usize) -> Next {
        match c.slot {
            Slot::Tempo => return self.tempo(c, i, true),
            Slot::Rest(unit) => return self.rest_column(c, i, unit),
            Slot::Notes => return self.technique(c, i).or_else(|| self.sides(c, i)),
            _ => {}
        }
        let tempo = if matches!(c.slot, Slot::Line | Slot::Scheme) { self.tempo(c, i, false) } else { None };
        tempo
            .or_else(|| self.effort(c, i))
            .or_else(|| self.technique(c, i))
            .or_else(|| {
                // At the head of a line the words may say that the whole line warms up.
                let next = warm_up_end(c, i).filter(|_| c.slot == Slot::Scheme)?;
                self.warming_up = true;
                Some(next)
            })
            .or_else(|| self.rest(c, i))
            .or_else(|| self.sides(c, i))
            .or_else(|| self.load(c, i))
            .or_else(|| self.sets_and_reps(c, i))
            .or_else(|| self.bare(c, i))
    }
}

/// "3" or "2-3".
pub fn show((low, high): (f64, f64)) -> String {
    if low == high { format!("{low}") } else { format!("{low}-{high}") }
}

impl Reader {
    /// Takes out the sets just read where the words beside them say that they warm up ("2x5 w/u"): they train nothing.
    fn without_warm_up(&mut self, c: &Cursor, i: usize, next: usize, groups: usize) -> usize {
        let after = warm_up_end(c, next);
        if after.is_some() || std::mem::take(&mut self.warming_up) {
            self.groups.truncate(groups);
            self.out.assumptions.push(format!("“{}” is a warm-up: not counted", c.written(i, next)));
        }
        after.unwrap_or(next)
    }

    /// Words read so far that say nothing about sets, effort or load.
    pub fn leftover(&mut self) -> &mut String {
        &mut self.out.leftover
    }

    pub fn has_sets(&self) -> bool {
        self.sets.is_some() || !self.groups.is_empty()
    }

    pub fn groups(&self) -> usize {
        self.groups.len()
    }

    pub fn assume(&mut self, text: String) {
        self.out.assumptions.push(text);
    }
}
