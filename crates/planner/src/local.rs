//! Search over small changes of a week: the fallback when the integer programme is not finished in time, and the polish
//! after it. Finds good weeks, proves nothing. Deterministic: the kicks come from a fixed sequence.

use crate::task::{Line, ROUNDING, Task};

/// Value of a credited set that a demanded dose lacks: above any value of a set.
const MUST_PRICE: f64 = 1e4;
/// Lines taken out by one kick.
const KICK: usize = 3;

/// A week with its sums, kept up to date change by change.
pub(crate) struct Local<'a> {
    task: &'a Task,
    choices: &'a [usize],
    pub week: Vec<Line>,
    credited: Vec<f64>,
    long: Vec<f64>,
    session: Vec<Vec<f64>>,
    seconds: Vec<f64>,
    lines: Vec<u32>,
    /// `held[day][movement]`
    held: Vec<Vec<bool>>,
    /// Lines of a new movement in the week.
    uses: Vec<u32>,
    new: u32,
    sets: u32,
    /// Musts each head belongs to.
    musts: Vec<Vec<usize>>,
    scratch: Scratch,
}

#[derive(Default)]
struct Scratch {
    dose: Vec<f64>,
    long: Vec<f64>,
    touched: Vec<usize>,
}

impl<'a> Local<'a> {
    /// Starts from a week that breaks no limit; `choices` may come in.
    pub fn new(task: &'a Task, choices: &'a [usize], week: &[Line]) -> Local<'a> {
        let heads = task.heads.len();
        let movements = task.choices.iter().map(|c| c.movement + 1).max().unwrap_or(0);
        let mut musts = vec![Vec::new(); heads];
        for (m, must) in task.musts.iter().enumerate() {
            must.heads.iter().for_each(|&(h, _)| musts[h].push(m));
        }
        let days = task.days.len();
        let mut local = Local {
            task,
            choices,
            week: Vec::new(),
            credited: vec![0.0; heads],
            long: vec![0.0; heads],
            session: vec![vec![0.0; heads]; days],
            seconds: vec![0.0; days],
            lines: vec![0; days],
            held: vec![vec![false; movements]; days],
            uses: vec![0; movements],
            new: 0,
            sets: 0,
            musts,
            scratch: Scratch { dose: vec![0.0; heads], long: vec![0.0; heads], touched: Vec::new() },
        };
        week.iter().for_each(|l| local.put(*l));
        local
    }

    fn put(&mut self, l: Line) {
        self.count(l, 1.0);
        let c = &self.task.choices[l.choice];
        self.lines[l.day] += 1;
        self.held[l.day][c.movement] = true;
        if c.new {
            self.new += u32::from(self.uses[c.movement] == 0);
            self.uses[c.movement] += 1;
        }
        self.sets += l.sets;
        self.week.push(l);
    }

    fn take(&mut self, at: usize) -> Line {
        let l = self.week.swap_remove(at);
        self.count(l, -1.0);
        let c = &self.task.choices[l.choice];
        self.lines[l.day] -= 1;
        self.held[l.day][c.movement] = false;
        if c.new {
            self.uses[c.movement] -= 1;
            self.new -= u32::from(self.uses[c.movement] == 0);
        }
        self.sets -= l.sets;
        l
    }

    fn count(&mut self, l: Line, sign: f64) {
        self.seconds[l.day] += sign * self.task.seconds(&l);
        for &(h, credit, long) in &self.task.choices[l.choice].credits {
            let dose = sign * credit * f64::from(l.sets);
            self.credited[h] += dose;
            self.session[l.day][h] += dose;
            self.long[h] += if long { dose } else { 0.0 };
        }
    }

    /// What a change of one line on one day is worth; `None` when it breaks a limit. `out` is an index of the week.
    fn gain(&mut self, out: Option<usize>, put: Option<Line>) -> Option<f64> {
        let task = self.task;
        let old = out.map(|at| self.week[at]);
        let mut value = 0.0;
        let (mut new, mut sets) = (self.new, self.sets);
        if let Some(l) = old {
            if task.kept_on(l.choice, l.day).is_some() {
                return None;
            }
            value -= task.line_value(&l);
            let c = &task.choices[l.choice];
            if c.new && self.uses[c.movement] == 1 {
                new -= 1;
                value += task.prices.new;
            }
            sets -= l.sets;
        }
        if let Some(l) = put {
            let c = &task.choices[l.choice];
            let same = old.is_some_and(|o| o.day == l.day);
            let frees = same && old.is_some_and(|o| task.choices[o.choice].movement == c.movement);
            if (self.held[l.day][c.movement] && !frees) || (!same && self.lines[l.day] >= task.most_lines) {
                return None;
            }
            if let Some(most) = task.days[l.day].available_s {
                let freed = old.filter(|_| same).map_or(0.0, |o| task.seconds(&o));
                if self.seconds[l.day] + task.seconds(&l) - freed > most + ROUNDING {
                    return None;
                }
            }
            value += task.line_value(&l);
            let leaves = old.is_some_and(|o| task.choices[o.choice].movement == c.movement);
            let stays = u32::from(leaves);
            if c.new && self.uses[c.movement] == stays {
                new += 1;
                value -= task.prices.new;
            }
            sets += l.sets;
        }
        let grows = |now: u32, then: u32, most: Option<u32>| then > now && most.is_some_and(|m| then > m);
        if grows(self.new, new, task.most_new) || grows(self.sets, sets, task.most_sets) {
            return None;
        }
        let dose = self.doses(old, put)?;
        Some(value + dose)
    }

    /// Change of the heads' value; `None` when a session or the week would exceed a head's limit.
    fn doses(&mut self, old: Option<Line>, put: Option<Line>) -> Option<f64> {
        let task = self.task;
        let s = &mut self.scratch;
        for (line, sign) in old.iter().map(|l| (l, -1.0)).chain(put.iter().map(|l| (l, 1.0))) {
            for &(h, credit, long) in &task.choices[line.choice].credits {
                let dose = sign * credit * f64::from(line.sets);
                if s.dose[h] == 0.0 && s.long[h] == 0.0 {
                    s.touched.push(h);
                }
                s.dose[h] += dose;
                s.long[h] += if long { dose } else { 0.0 };
            }
        }
        let mut fits = true;
        if let Some(l) = put {
            let same = old.filter(|o| o.day == l.day);
            for &(h, credit, _) in &task.choices[l.choice].credits {
                let less = same.map_or(0.0, |o| {
                    let find = task.choices[o.choice].credits.iter().find(|c| c.0 == h);
                    find.map_or(0.0, |c| c.1 * f64::from(o.sets))
                });
                let added = credit * f64::from(l.sets) - less;
                if added > ROUNDING && self.session[l.day][h] + added > task.heads[h].session_most + ROUNDING {
                    fits = false;
                    break;
                }
            }
        }
        let mut value = 0.0;
        let mut musts: Vec<(usize, f64)> = Vec::new();
        for &h in &s.touched {
            let head = &task.heads[h];
            let (now, long) = (self.credited[h], self.long[h]);
            let (then, long_then) = (now + s.dose[h], long + s.long[h]);
            if s.dose[h] > ROUNDING && head.week_most.is_some_and(|most| then > most + ROUNDING) {
                fits = false;
            }
            value += head.value(then) - head.value(now);
            if head.long_price > 0.0 {
                value -= head.long_price * (task.long_lack(h, then, long_then) - task.long_lack(h, now, long));
            }
            for &m in &self.musts[h] {
                let weight = task.musts[m].heads.iter().find(|x| x.0 == h).map_or(0.0, |x| x.1);
                match musts.iter_mut().find(|x| x.0 == m) {
                    Some(x) => x.1 += weight * s.dose[h],
                    None => musts.push((m, weight * s.dose[h])),
                }
            }
        }
        for &h in &s.touched {
            (s.dose[h], s.long[h]) = (0.0, 0.0);
        }
        s.touched.clear();
        for (m, change) in musts {
            let must = &task.musts[m];
            let now: f64 = must.heads.iter().map(|&(h, w)| w * self.credited[h]).sum();
            let lack = |dose: f64| (must.at_least - dose).max(0.0);
            value += MUST_PRICE * (lack(now) - lack(now + change));
        }
        fits.then_some(value)
    }

    /// The best line that may be added, again and again.
    fn fill(&mut self) -> bool {
        let mut any = false;
        loop {
            let mut best: Option<(f64, Line)> = None;
            for day in 0..self.task.days.len() {
                if self.lines[day] >= self.task.most_lines {
                    continue;
                }
                for &choice in self.choices {
                    let c = &self.task.choices[choice];
                    for sets in [c.least, c.most] {
                        let line = Line { day, choice, sets };
                        let better = |gain: f64, of: &Option<(f64, Line)>| of.is_none_or(|(g, _)| gain > g + ROUNDING);
                        if let Some(gain) = self.gain(None, Some(line))
                            && gain > ROUNDING
                            && better(gain / self.task.seconds(&line).max(60.0), &best)
                        {
                            best = Some((gain / self.task.seconds(&line).max(60.0), line));
                        }
                    }
                }
            }
            let Some((_, line)) = best else { return any };
            self.put(line);
            any = true;
        }
    }

    /// One pass over changes of single lines; whether one was worth it.
    fn pass(&mut self) -> bool {
        let mut any = false;
        let mut at = 0;
        while at < self.week.len() {
            let l = self.week[at];
            let c = &self.task.choices[l.choice];
            let mut best: Option<(f64, Option<Line>)> = self.gain(Some(at), None).map(|g| (g, None));
            let mut options: Vec<Line> = (c.least..=c.most).map(|sets| Line { sets, ..l }).collect();
            options.extend((0..self.task.days.len()).filter(|d| *d != l.day).map(|day| Line { day, ..l }));
            for &choice in self.choices.iter().filter(|o| **o != l.choice) {
                let other = &self.task.choices[choice];
                let sets = l.sets.clamp(other.least, other.most);
                options.push(Line { choice, sets, ..l });
                if sets != other.most {
                    options.push(Line { choice, sets: other.most, ..l });
                }
            }
            for option in options.into_iter().filter(|o| *o != l) {
                if let Some(gain) = self.gain(Some(at), Some(option))
                    && best.is_none_or(|(g, _)| gain > g + ROUNDING)
                {
                    best = Some((gain, Some(option)));
                }
            }
            match best {
                Some((gain, put)) if gain > ROUNDING => {
                    self.take(at);
                    put.into_iter().for_each(|p| self.put(p));
                    any = true;
                }
                _ => at += 1,
            }
        }
        any
    }

    /// To where no change of a line helps.
    pub fn climb(&mut self) {
        while self.fill() | self.pass() {}
    }

    /// Takes out a few lines and climbs anew, `kicks` times; the best week is kept. `go_on` is asked before each kick.
    pub fn kicks(&mut self, kicks: usize, go_on: &mut dyn FnMut(f64) -> bool) {
        let mut best = self.week.clone();
        let mut best_value = self.worth(&best);
        let mut random = 0x9E37_79B9_7F4A_7C15_u64;
        for _ in 0..kicks {
            if !go_on(best_value) {
                break;
            }
            for _ in 0..KICK {
                // Knuth's linear congruential generator (The Art of Computer Programming, vol. 2, 3.3.4).
                random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                let free: Vec<usize> = (0..self.week.len())
                    .filter(|&i| self.task.kept_on(self.week[i].choice, self.week[i].day).is_none())
                    .collect();
                if !free.is_empty() {
                    self.take(free[(random >> 33) as usize % free.len()]);
                }
            }
            self.climb();
            let value = self.worth(&self.week);
            if value > best_value + ROUNDING {
                (best, best_value) = (self.week.clone(), value);
            } else {
                while !self.week.is_empty() {
                    self.take(self.week.len() - 1);
                }
                best.iter().for_each(|l| self.put(*l));
            }
        }
        while !self.week.is_empty() {
            self.take(self.week.len() - 1);
        }
        best.iter().for_each(|l| self.put(*l));
    }

    /// Value with the price of demanded doses that lack.
    fn worth(&self, week: &[Line]) -> f64 {
        let sums = self.task.sums(week);
        let lack =
            |m: &crate::Must| (m.at_least - m.heads.iter().map(|&(h, w)| w * sums.credited[h]).sum::<f64>()).max(0.0);
        self.task.value(week) - MUST_PRICE * self.task.musts.iter().map(lack).sum::<f64>()
    }
}
