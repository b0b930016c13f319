//! Where a sheet keeps what: tables with headings, days side by side, weeks as columns, plain lines.
//!
//! Rows are walked from the top with a state: nothing yet, a table, or a grid of days. A row with headings starts a
//! table, a row of day names a grid; a lone day name changes the day. At the end every cell that is not empty has a
//! fate; one without becomes an unknown entry, so that nothing can vanish.

use super::line::{Place, Written, ignored, names_two, pair_mark, several_lines, unknown};
use super::notation::Slot;
use super::words::{Role, is_day, not_training, role, week};
use super::{CellFate, Fate, PartAt, PlanOptions, PlanRead, note, place, text};
use crate::grid::{Grid, Value};
use movement::names::NameIndex;

/// One exercise column with the columns that belong to it.
#[derive(Clone, Debug)]
struct Segment {
    exercise: usize,
    columns: Vec<(usize, Role, Option<u32>)>,
    day: Option<String>,
}

#[derive(Clone, Debug)]
enum Mode {
    Lines,
    Table(Vec<Segment>),
    /// Column and name of each day.
    Days(Vec<(usize, String)>),
}

struct Sheet<'a> {
    grid: &'a Grid,
    index: &'a NameIndex,
    options: &'a PlanOptions<'a>,
    plan: &'a mut PlanRead,
    fates: Vec<Vec<Option<Fate>>>,
    mode: Mode,
    day: String,
    /// Days were numbered because none was named.
    unnamed_days: u32,
    day_was_named: bool,
    week: u32,
    /// A week was named since the last headings.
    week_began: bool,
    weeks_above: Vec<(usize, u32)>,
    days_above: Vec<(usize, String)>,
    entries_before: usize,
    entries_at_header: usize,
}

pub(super) fn read_sheet(grid: &Grid, sheets: usize, index: &NameIndex, options: &PlanOptions, plan: &mut PlanRead) {
    let named = is_day(&grid.name) || sheets > 1 && week(&grid.name).is_none() && !generic(&grid.name);
    let day = if named { grid.name.clone() } else { "Day 1".to_string() };
    let fates = grid.rows.iter().map(|r| vec![None; r.len()]).collect();
    let entries_before = plan.entries.len();
    let mut s = Sheet {
        grid,
        index,
        options,
        plan,
        fates,
        mode: Mode::Lines,
        day,
        unnamed_days: 1,
        day_was_named: named,
        week: week(&grid.name).unwrap_or(1),
        week_began: false,
        weeks_above: Vec::new(),
        days_above: Vec::new(),
        entries_before,
        entries_at_header: entries_before,
    };
    for r in 0..grid.rows.len() {
        let filled = s.filled(r);
        if !filled.is_empty() {
            s.row(r, &filled);
        }
    }
    s.close();
}

fn generic(name: &str) -> bool {
    let words = super::words::plain(name);
    let known = ["sheet", "plan", "program", "programme", "block", "training", "week", "workouts", "table", "main"];
    words.first().is_none_or(|w| known.iter().any(|k| w.trim_end_matches(|c: char| c.is_ascii_digit()) == *k))
}

fn is_dash(text: &str) -> bool {
    text.chars().all(|c| !c.is_alphanumeric()) || matches!(text.to_lowercase().as_str(), "n/a" | "na" | "x" | "none")
}

impl Sheet<'_> {
    fn filled(&self, r: usize) -> Vec<(usize, String)> {
        let cells = self.grid.rows[r].iter().enumerate();
        cells.map(|(c, cell)| (c, text(&cell.value))).filter(|(_, t)| !t.is_empty()).collect()
    }

    fn text(&self, r: usize, c: usize) -> String {
        self.grid.cell(r, c).map(|cell| text(&cell.value)).unwrap_or_default()
    }

    fn set(&mut self, r: usize, c: usize, fate: Fate) {
        if let Some(slot) = self.fates.get_mut(r).and_then(|row| row.get_mut(c)) {
            *slot = Some(fate);
        }
    }

    fn at(&self, r: usize, c: usize) -> Place {
        Place {
            sheet: self.grid.name.clone(),
            row: r as u32 + 1,
            col: c as u32 + 1,
            day: self.day.clone(),
            week: self.week,
            name: place(&self.grid.name, r, c),
        }
    }

    fn row(&mut self, r: usize, filled: &[(usize, String)]) {
        let roles: Vec<(usize, Option<Role>)> = filled.iter().map(|(c, t)| (*c, self.role_at(r, *c, t))).collect();
        if let [(c, t)] = filled
            && let [(_, Some(Role::Week(w)))] = roles[..]
            && self.is_week_heading(r, *c)
        {
            return self.week_heading(r, *c, t, w);
        }
        if self.is_week_row(r, &roles) {
            self.weeks_above = roles.iter().filter_map(|(c, x)| week_of(*x).map(|w| (*c, w))).collect();
            for (c, x) in &roles {
                self.set(r, *c, if week_of(*x).is_some() { Fate::Week } else { Fate::Head });
            }
            return;
        }
        if is_header(&roles) {
            return self.header(r, filled, &roles);
        }
        let days: Vec<usize> = filled.iter().filter(|(_, t)| is_day(t)).map(|(c, _)| *c).collect();
        if days.len() >= 2 && days.len() * 2 > filled.len() {
            return self.day_row(r, filled, &days);
        }
        if let [(c, t)] = filled
            && is_day(t)
            && !self.day_and_movement(t)
        {
            return self.named_day(r, *c, t);
        }
        match self.mode.clone() {
            Mode::Lines => self.lines(r, filled),
            Mode::Table(segments) => self.table_row(r, filled, &segments),
            Mode::Days(days) => self.days_row(r, filled, &days),
        }
    }

    /// "Wed: bench press" holds more than a day.
    fn day_and_movement(&self, t: &str) -> bool {
        let named = |rest: &str| self.index.find(rest, &Default::default()).best.is_some_and(|b| b.confidence >= 0.9);
        t.split_once(':').is_some_and(|(day, rest)| is_day(day) && !is_day(rest) && named(rest))
    }

    /// Numbers are no headings, whatever they look like.
    fn role_at(&self, r: usize, c: usize, t: &str) -> Option<Role> {
        match self.grid.cell(r, c).map(|cell| &cell.value) {
            Some(Value::Text(_)) => role(t),
            _ => None,
        }
    }

    /// Weeks above a second row of headings.
    fn is_week_row(&self, r: usize, roles: &[(usize, Option<Role>)]) -> bool {
        let weeks = roles.iter().filter(|(_, x)| week_of(*x).is_some()).count();
        let others = roles.iter().filter(|(_, x)| x.is_some()).count() - weeks;
        if weeks == 0 || others > 0 {
            return false;
        }
        let below = (r + 1..self.grid.rows.len()).find(|&k| !self.filled(k).is_empty());
        below.is_some_and(|k| {
            let roles: Vec<_> = self.filled(k).iter().map(|(c, t)| (*c, self.role_at(k, *c, t))).collect();
            let reads = roles.iter().filter(|(_, x)| matches!(x, Some(Role::Read(_)))).count();
            is_header(&roles) && reads >= 2
        })
    }

    /// A week named above rows, not above columns: it stands no further right than what comes below it.
    fn is_week_heading(&self, r: usize, c: usize) -> bool {
        let below = (r + 1..self.grid.rows.len()).map(|k| self.filled(k)).find(|f| !f.is_empty());
        below.and_then(|f| f.first().map(|(first, _)| *first)).is_none_or(|first| c <= first)
    }

    fn week_heading(&mut self, r: usize, c: usize, t: &str, week: u32) {
        self.week = week;
        self.weeks_above.clear();
        self.set(r, c, Fate::Week);
        self.week_began = true;
        if !self.day_was_named {
            self.unnamed_days = 1;
            self.day = "Day 1".into();
        }
        // "Week 2 - Monday"
        let digits = week.to_string();
        let rest = t.split_once(digits.as_str()).map_or("", |(_, rest)| rest);
        let rest = rest.trim_start_matches([' ', '-', '–', ':', ',', '/', '|', '.']).trim();
        if is_day(rest) {
            self.day = rest.to_string();
            self.day_was_named = true;
        }
        if matches!(self.mode, Mode::Days(_)) {
            self.mode = Mode::Lines;
        }
    }

    fn named_day(&mut self, r: usize, c: usize, t: &str) {
        self.day = t.to_string();
        self.day_was_named = true;
        self.set(r, c, Fate::Day);
        // A new day's lines may come without headings; a table's headings hold until others come.
        if matches!(self.mode, Mode::Days(_)) {
            self.mode = Mode::Lines;
        }
    }

    fn day_row(&mut self, r: usize, filled: &[(usize, String)], days: &[usize]) {
        let subtitle = matches!(self.mode, Mode::Days(_)) && self.plan.entries.len() == self.entries_at_header;
        if subtitle {
            for (c, t) in filled {
                self.push_ignored(r, *c, t, "a heading");
            }
            self.entries_at_header = self.plan.entries.len();
            return;
        }
        for (c, t) in filled {
            if days.contains(c) {
                self.set(r, *c, Fate::Day);
            } else {
                // "Exercise" or a corner label beside the days; a rest day among them.
                match not_training(t) {
                    Some(kind) => self.push_ignored(r, *c, t, kind),
                    None => self.set(r, *c, Fate::Head),
                }
            }
        }
        self.days_above = filled.iter().filter(|(c, _)| days.contains(c)).cloned().collect();
        self.mode = Mode::Days(self.days_above.clone());
        self.entries_at_header = self.plan.entries.len();
    }

    fn header(&mut self, r: usize, filled: &[(usize, String)], roles: &[(usize, Option<Role>)]) {
        let mut starts: Vec<usize> =
            roles.iter().filter(|(_, x)| *x == Some(Role::Exercise)).map(|(c, _)| *c).collect();
        let mut day_in_header = None;
        if starts.is_empty() {
            // "Push day | Sets | Reps": the nameless column left of the first known one holds the exercises.
            let first = roles.iter().find(|(_, x)| matches!(x, Some(Role::Read(_) | Role::Week(_)))).map_or(0, |x| x.0);
            let title = filled.iter().rev().find(|(c, _)| *c < first && role(&self.text(r, *c)).is_none());
            day_in_header = title.filter(|(_, t)| is_day(t)).map(|(_, t)| t.clone());
            starts.push(title.map_or(first.saturating_sub(1), |(c, _)| *c));
        }
        for (c, x) in roles {
            let fate = match x {
                Some(Role::Week(_)) => Fate::Week,
                None if day_in_header.is_some() && starts.contains(c) => Fate::Day,
                _ => Fate::Head,
            };
            self.set(r, *c, fate);
        }
        let repeated = matches!(self.mode, Mode::Table(_)) && !self.day_was_named && !self.week_began;
        self.week_began = false;
        if repeated {
            self.unnamed_days += 1;
            self.day = format!("Day {}", self.unnamed_days);
        }
        if let Some(d) = day_in_header {
            self.day = d;
            self.day_was_named = true;
        }
        let several = starts.len() > 1;
        let segments = starts.iter().enumerate().map(|(k, &exercise)| {
            let marked = |c: usize| roles.iter().any(|(x, role)| *x == c && *role == Some(Role::Mark));
            let left = |e: usize| if several && e > 0 && marked(e - 1) { e - 1 } else { e };
            let from = if k == 0 { 0 } else { left(exercise) };
            let to = starts.get(k + 1).map_or(usize::MAX, |&e| left(e));
            let mut columns: Vec<(usize, Role, Option<u32>)> = roles
                .iter()
                .filter(|(c, _)| (from..to).contains(c) && *c != exercise)
                .filter_map(|(c, x)| x.map(|x| (*c, x, week_of(Some(x)).or_else(|| self.week_above(x, *c)))))
                .collect();
            number_repeats(&mut columns);
            let day = self.days_above.iter().rev().find(|(c, _)| several && *c < to && *c + 1 >= from);
            Segment { exercise, columns, day: day.map(|(_, d)| d.clone()) }
        });
        self.mode = Mode::Table(segments.collect());
        self.weeks_above.clear();
        self.entries_at_header = self.plan.entries.len();
    }

    fn week_above(&self, role: Role, c: usize) -> Option<u32> {
        let reads = matches!(role, Role::Read(_));
        self.weeks_above.iter().rev().find(|(w, _)| reads && *w <= c).map(|(_, n)| *n)
    }

    fn table_row(&mut self, r: usize, filled: &[(usize, String)], segments: &[Segment]) {
        let row_day = self.day.clone();
        for segment in segments {
            if let Some(d) = &segment.day {
                self.day = d.clone();
            }
            self.segment_row(r, segment, segments.len() == 1);
        }
        if segments.iter().any(|s| s.day.is_some()) {
            self.day = row_day;
        }
        for (c, t) in filled {
            if self.fates[r][*c].is_none() {
                let lone = filled.len() == 1
                    || !segments.iter().any(|s| self.fates[r].get(s.exercise).is_some_and(|f| f.is_some()));
                if lone {
                    self.lone_cell(r, *c, t);
                } else {
                    self.set(r, *c, Fate::Part);
                    let at = place(&self.grid.name, r, *c);
                    self.plan.messages.push(note("note", &at, format!("“{t}” stands under no heading: not read")));
                }
            }
        }
    }

    /// A row of a table that has nothing in the exercise column.
    fn lone_cell(&mut self, r: usize, c: usize, t: &str) {
        match not_training(t).or_else(|| legend(t)) {
            Some(kind) => self.push_ignored(r, c, t, kind),
            None => self.push_line(r, c, t),
        }
    }

    fn segment_row(&mut self, r: usize, s: &Segment, alone: bool) {
        let mut pair = None;
        for (c, x, _) in &s.columns {
            let t = self.text(r, *c);
            match x {
                _ if t.is_empty() => {}
                Role::Day => {
                    self.day = t;
                    self.day_was_named = true;
                    self.set(r, *c, Fate::Day);
                }
                Role::WeekOfRow => {
                    let n = t.chars().filter(char::is_ascii_digit).collect::<String>().parse().unwrap_or(0);
                    self.week = if (1..=104).contains(&n) { n } else { self.week };
                    self.set(r, *c, Fate::Week);
                }
                Role::Mark => {
                    pair = pair_mark(&t);
                    self.set(r, *c, Fate::Part);
                }
                _ => {}
            }
        }
        let held = s.columns.iter().filter(|(_, x, _)| matches!(x, Role::Read(_) | Role::Week(_) | Role::Aside));
        let held: Vec<usize> = held.map(|(c, ..)| *c).filter(|c| !self.text(r, *c).is_empty()).collect();
        let own = self.text(r, s.exercise);
        let (name, name_cell) =
            if own.is_empty() { self.name_from_above(r, s.exercise) } else { (own.clone(), s.exercise) };
        if name.is_empty() {
            if let Some(&c) = held.first() {
                let all: Vec<String> = held.iter().map(|&c| self.text(r, c)).collect();
                let all = all.join(" | ");
                match held.iter().find_map(|&c| not_training(&self.text(r, c))).or_else(|| legend(&all)) {
                    Some(kind) => self.push_ignored(r, c, &all, kind),
                    None => {
                        let e = unknown(&all, "no exercise is named in this row", self.at(r, c));
                        self.push(r, c, e);
                    }
                }
                held[1..].iter().for_each(|&c| self.set(r, c, Fate::Part));
            }
            return;
        }
        let kind = if own.is_empty() { None } else { not_training(&own).or_else(|| legend(&own)) };
        if let Some(kind) = kind.filter(|_| !(alone && own.is_empty())) {
            self.push_ignored(r, s.exercise, &own, kind);
            held.iter().for_each(|&c| self.set(r, c, Fate::Part));
            return;
        }
        if !own.is_empty() && is_dash(&own) && held.is_empty() {
            return self.push_ignored(r, s.exercise, &own, "a mark");
        }
        let mut weeks: Vec<u32> = s.columns.iter().filter_map(|(_, _, w)| *w).collect();
        weeks.sort_unstable();
        weeks.dedup();
        if weeks.is_empty() {
            let c = if own.is_empty() { held.first().copied().unwrap_or(name_cell) } else { s.exercise };
            self.push_written(r, c, &name, s, None, pair);
            return;
        }
        let mut any = false;
        for w in weeks {
            let of_week = s.columns.iter().filter(|(_, _, x)| *x == Some(w)).map(|(c, ..)| *c);
            let cells: Vec<usize> = of_week.filter(|c| !self.text(r, *c).is_empty()).collect();
            if cells.iter().all(|&c| is_dash(&self.text(r, c))) {
                cells.iter().for_each(|&c| self.set(r, c, Fate::Part));
                continue;
            }
            self.push_written(r, cells[0], &name, s, Some(w), pair.clone());
            any = true;
        }
        if any {
            self.set(r, s.exercise, Fate::Name);
        } else {
            self.push_written(r, s.exercise, &name, s, None, pair);
        }
    }

    /// The name in a merged cell that reaches down to this row.
    fn name_from_above(&self, r: usize, c: usize) -> (String, usize) {
        for k in (0..r).rev().take(50) {
            if let Some(cell) = self.grid.cell(k, c)
                && !cell.value.is_empty()
            {
                let reaches = k + cell.span.0 as usize > r;
                return (if reaches { text(&cell.value) } else { String::new() }, c);
            }
        }
        (String::new(), c)
    }

    fn push_written(&mut self, r: usize, c: usize, name: &str, s: &Segment, week: Option<u32>, pair: Option<String>) {
        let mut w = Written::from_cell(name);
        w.pair = pair.or(w.pair);
        if !self.text(r, s.exercise).is_empty() {
            self.part(r, s.exercise, w.has_sets().then_some(Slot::Line));
        }
        let mut scheme = Vec::new();
        for (col, x, of) in &s.columns {
            if week.is_some() && of.is_some() && *of != week {
                continue;
            }
            let t = self.text(r, *col);
            let slot = match x {
                _ if t.is_empty() => continue,
                Role::Read(slot) => *slot,
                Role::Week(_) => Slot::Scheme,
                Role::Aside => Slot::Notes,
                _ => continue,
            };
            self.set(r, *col, Fate::Part);
            self.part(r, *col, Some(slot));
            if is_dash(&t) {
                continue;
            }
            if week.is_some() && of.is_some() {
                scheme.push(t.clone());
            }
            match self.grid.cell(r, *col).map(|cell| &cell.value) {
                Some(Value::Date(iso)) if !matches!(slot, Slot::Rest(_)) => w.read_date(iso, slot),
                Some(Value::Number(v)) if slot == Slot::Percent && *v <= 1.2 => {
                    w.read(&format!("{}%", v * 100.0), slot)
                }
                _ => w.read(&t, slot),
            }
        }
        if !scheme.is_empty() {
            w.text = format!("{}: {}", w.text, scheme.join(" | "));
        }
        let mut at = self.at(r, c);
        at.week = week.unwrap_or(at.week);
        let e = w.entry(at, self.index, self.options, &mut self.plan.messages);
        self.push(r, c, e);
    }

    fn days_row(&mut self, r: usize, filled: &[(usize, String)], days: &[(usize, String)]) {
        let named = self.day.clone();
        for (c, t) in filled {
            let Some((k, (day_col, day))) = days.iter().enumerate().rev().find(|(_, (d, _))| d <= c) else {
                // Left of the days: a row's number or label.
                let number = t.trim_end_matches(['.', ')']).parse::<f64>().is_ok();
                if number {
                    self.set(r, *c, Fate::Head)
                } else {
                    self.push_ignored(r, *c, t, "a label")
                }
                continue;
            };
            self.day = day.clone();
            if c != day_col && !self.text(r, *day_col).is_empty() {
                continue;
            }
            let to = days.get(k + 1).map_or(usize::MAX, |(d, _)| *d);
            let beside: Vec<(usize, String)> = filled.iter().filter(|(x, _)| x > c && *x < to).cloned().collect();
            if self.fates[r][*c].is_none() {
                self.lines_cell(r, *c, t, &beside);
            }
        }
        self.day = named;
    }

    /// Lines without headings.
    fn lines(&mut self, r: usize, filled: &[(usize, String)]) {
        let (c, t) = &filled[0];
        let each_its_own =
            filled.len() > 1 && filled.iter().all(|(_, t)| Written::from_cell(t).has_sets() && has_name(t));
        if each_its_own {
            for (c, t) in filled {
                self.lines_cell(r, *c, t, &[]);
            }
        } else {
            self.lines_cell(r, *c, t, &filled[1..]);
        }
    }

    /// A cell that may hold one line or several, with the cells beside it.
    fn lines_cell(&mut self, r: usize, c: usize, t: &str, beside: &[(usize, String)]) {
        if let Some((day, rest)) = t
            .split_once(':')
            .filter(|(d, rest)| is_day(d) && (Written::from_cell(rest).has_sets() || self.day_and_movement(t)))
        {
            // "Mon: squat 5x5, leg curl 3x10"
            let named = std::mem::replace(&mut self.day, day.trim().to_string());
            self.lines_cell(r, c, rest.trim(), beside);
            self.day = named;
            return;
        }
        let several = several_lines(t);
        if several.len() > 1 && beside.is_empty() {
            for line in several {
                if is_dash(line) {
                    self.push_ignored(r, c, line, "a mark");
                } else {
                    self.push_line(r, c, line);
                }
            }
            return;
        }
        beside.iter().for_each(|(x, _)| self.set(r, *x, Fate::Part));
        let whole = || std::iter::once(t).chain(beside.iter().map(|(_, b)| b.as_str())).collect::<Vec<_>>().join(" | ");
        if is_dash(t) && beside.is_empty() || is_day(t) {
            return self.push_ignored(r, c, &whole(), if is_day(t) { "a heading" } else { "a mark" });
        }
        if let Some(kind) = not_training(t).or_else(|| legend(t)) {
            return self.push_ignored(r, c, &whole(), kind);
        }
        let mut w = Written::from_cell(t);
        let numbers: Vec<f64> = beside.iter().map_while(|(_, b)| b.parse().ok()).collect();
        if !w.has_sets() && numbers.len() >= 2 && numbers.iter().all(|n| n.fract() == 0.0) {
            w.read(&beside[0].1, Slot::Sets);
            w.read(&beside[1].1, Slot::Reps);
            w.assume("no headings: the first number read as sets, the second as repetitions".into());
            w.read_as_two = true;
            beside[2..].iter().for_each(|(_, b)| w.read(b, Slot::Scheme));
        } else {
            beside.iter().for_each(|(_, b)| w.read(b, Slot::Scheme));
        }
        let nothing_yet = self.plan.entries.len() == self.entries_at_header.max(self.entries_before)
            || !self.plan.entries[self.entries_before..].iter().any(|e| e.movement.is_some());
        let title = matches!(self.mode, Mode::Lines) && nothing_yet && !w.has_sets();
        let sure = |name: &str| self.index.find(name, &Default::default()).best.is_some_and(|b| b.confidence >= 0.9);
        if title && !sure(&w.name) && !names_two(&w.name, self.index) {
            return self.push_ignored(r, c, &whole(), "a title");
        }
        let beside_holds = !beside.is_empty();
        self.part(r, c, (!beside_holds).then_some(Slot::Line));
        let slots = |k: usize| match (w.read_as_two, k) {
            (true, 0) => Slot::Sets,
            (true, 1) => Slot::Reps,
            _ => Slot::Scheme,
        };
        beside.iter().enumerate().for_each(|(k, (x, _))| self.part(r, *x, Some(slots(k))));
        let e = w.entry(self.at(r, c), self.index, self.options, &mut self.plan.messages);
        self.push(r, c, e);
    }

    /// Notes where a part of the next entry stands.
    fn part(&mut self, row: usize, col: usize, slot: Option<Slot>) {
        let (entry, sheet) = (self.plan.entries.len(), self.grid.name.clone());
        self.plan.parts.push(PartAt { entry, sheet, row, col, slot });
    }

    fn push_line(&mut self, r: usize, c: usize, t: &str) {
        let e = match not_training(t) {
            Some(kind) => ignored(t, kind, self.at(r, c)),
            None => {
                self.part(r, c, Some(Slot::Line));
                Written::from_cell(t).entry(self.at(r, c), self.index, self.options, &mut self.plan.messages)
            }
        };
        self.push(r, c, e);
    }

    fn push_ignored(&mut self, r: usize, c: usize, t: &str, kind: &str) {
        let e = ignored(t, kind, self.at(r, c));
        self.push(r, c, e);
    }

    fn push(&mut self, r: usize, c: usize, e: answer::Entry) {
        if !matches!(self.fates.get(r).and_then(|row| row.get(c)), Some(Some(Fate::Entry(_)))) {
            self.set(r, c, Fate::Entry(self.plan.entries.len()));
        }
        self.plan.entries.push(e);
    }

    /// Whatever no rule took becomes an unknown entry.
    fn close(mut self) {
        for r in 0..self.grid.rows.len() {
            for (c, t) in self.filled(r) {
                if self.fates[r][c].is_none() {
                    let e = unknown(&t, "this cell was not understood", self.at(r, c));
                    self.push(r, c, e);
                }
                if let Some(fate) = self.fates[r][c] {
                    let sheet = self.grid.name.clone();
                    self.plan.cells.push(CellFate { sheet, row: r as u32 + 1, col: c as u32 + 1, fate });
                }
            }
        }
    }
}

fn week_of(role: Option<Role>) -> Option<u32> {
    match role {
        Some(Role::Week(w)) => Some(w),
        _ => None,
    }
}

fn has_name(t: &str) -> bool {
    !Written::from_cell(t).name.is_empty()
}

/// "RIR = reps left in the tank": explains, trains nothing.
fn legend(t: &str) -> Option<&'static str> {
    (t.contains('=') && !t.contains('{')).then_some("a legend")
}

/// Sets and repetitions that stand twice without weeks above are weeks in order.
fn number_repeats(columns: &mut [(usize, Role, Option<u32>)]) {
    let Some(first) = columns.iter().find(|(_, x, _)| matches!(x, Role::Read(_))).map(|(_, x, _)| *x) else { return };
    let count = columns.iter().filter(|(_, x, _)| *x == first).count();
    if count < 2 || columns.iter().any(|(_, _, w)| w.is_some()) {
        return;
    }
    let mut week = 0;
    for (_, x, w) in columns.iter_mut().filter(|(_, x, _)| matches!(x, Role::Read(_))) {
        week += u32::from(*x == first);
        *w = Some(week.max(1));
    }
}

fn is_header(roles: &[(usize, Option<Role>)]) -> bool {
    let count = |f: &dyn Fn(&Role) -> bool| roles.iter().filter(|(_, x)| x.as_ref().is_some_and(f)).count();
    let exercises = count(&|x| *x == Role::Exercise);
    let reads = count(&|x| matches!(x, Role::Read(_)));
    let weeks = count(&|x| matches!(x, Role::Week(_)));
    let others = count(&|x| *x != Role::Exercise);
    let unnamed = roles.iter().filter(|(_, x)| x.is_none()).count();
    exercises >= 1 && others >= 1 || reads >= 2 && unnamed <= reads || weeks >= 2 && unnamed <= 2
}
