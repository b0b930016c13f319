//! Search over single edits of a week. In: lines, table of movements, weights; out: the best edit. Works on pooled mid
//! values and one session at a time, so that an edit costs one pass over the heads it touches; what is shown to a coach
//! is evaluated again with the whole ledger.

use crate::ledger::capped;
use crate::minutes::day_minutes;
use crate::planning::head_weights;
use crate::rules::{Aim, Rules};
use crate::screening::{Gate, Objections, objections};
use crate::week::{HeadFacts, Line, Plan, Table};
use answer::{Band, Entry, EntryExtra, Range, Status};

/// One change of a week.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Edit {
    /// Line done with other settings.
    Setting { line: usize, movement: usize },
    /// Line becomes another movement, with this many sets: fewer than it had where the new one is new to the client.
    Swap { line: usize, movement: usize, sets: f64 },
    /// Some sets of a line become another movement.
    Move { line: usize, movement: usize, sets: f64 },
    /// New line on a day.
    Add { day: usize, movement: usize, sets: f64 },
    /// More sets of a line.
    More { line: usize, sets: f64 },
}

impl Edit {
    pub fn day(self, plan: &Plan) -> usize {
        match self {
            Edit::Add { day, .. } => day,
            Edit::Setting { line, .. }
            | Edit::Swap { line, .. }
            | Edit::Move { line, .. }
            | Edit::More { line, .. } => plan.lines[line].day,
        }
    }
    /// The same edit with its line counted elsewhere.
    fn with_line(self, place: impl Fn(usize) -> usize) -> Edit {
        match self {
            Edit::Setting { line, movement } => Edit::Setting { line: place(line), movement },
            Edit::Swap { line, movement, sets } => Edit::Swap { line: place(line), movement, sets },
            Edit::Move { line, movement, sets } => Edit::Move { line: place(line), movement, sets },
            Edit::More { line, sets } => Edit::More { line: place(line), sets },
            add @ Edit::Add { .. } => add,
        }
    }
    pub fn adds_sets(self) -> bool {
        matches!(self, Edit::Add { .. } | Edit::More { .. })
    }
    pub fn movement(self, plan: &Plan) -> usize {
        match self {
            Edit::More { line, .. } => plan.lines[line].movement,
            Edit::Setting { movement, .. }
            | Edit::Swap { movement, .. }
            | Edit::Move { movement, .. }
            | Edit::Add { movement, .. } => movement,
        }
    }
}

/// What the search knows.
pub(crate) struct Search<'a> {
    pub table: &'a Table,
    pub heads: &'a [HeadFacts],
    pub aims: &'a [Aim],
    pub bands: &'a [Band],
    pub rules: &'a Rules,
    pub gate: &'a Gate,
    /// Movements that may come in anew (indices into the table).
    pub candidates: Vec<usize>,
    /// Movements that are others' settings.
    pub variants: Vec<usize>,
    /// Ids of movements the client has done for more than two weeks.
    pub familiar: Vec<String>,
    /// Minutes available by day index; `None` = no limit known.
    pub available: Vec<Option<f64>>,
    weights: Vec<f64>,
    pub objections: Vec<Objections>,
    /// Heads each movement credits: (head, pooled mid).
    credits: Vec<Vec<(usize, f64)>>,
    /// The head each movement is done for.
    purposes: Vec<Option<usize>>,
}

/// The head a movement is done for: the one it credits most by volume.
fn purpose(credits: &[(usize, f64)], heads: &[HeadFacts]) -> Option<usize> {
    let work = |&(h, credit): &(usize, f64)| crate::effort::tame(heads[h].volume_cm3, 1e6) * credit;
    credits.iter().max_by(|a, b| work(a).total_cmp(&work(b))).map(|(h, _)| *h)
}

/// What an edit is worth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Gain {
    /// Weighted gain less the price.
    net: f64,
    /// Weighted gain in the heads of each aim, those with low confidence left out.
    serves: [f64; 4],
    /// Price of the edit and weighted losses of every head together.
    spent: f64,
    /// It takes away work that an objection speaks against.
    relieves: bool,
}

/// Cost of a set that an objection speaks against (pain above the limit, a restriction): it outweighs a missing set of
/// one head, not the whole plan.
const OBJECTED_SET: f64 = 3.0;
/// Credited sets a head already below its band may lose to an edit.
const MAY_LOSE: f64 = 0.5;
/// Credited sets by which a head must rise to be a reason for an edit: less is within any estimate's error.
const WORTH_TELLING: f64 = 0.5;
/// Least net gain, weighted credited sets, for which a week is changed at all.
const LEAST_GAIN: f64 = 0.1;

impl<'a> Search<'a> {
    pub fn new(
        table: &'a Table,
        heads: &'a [HeadFacts],
        aims: &'a [Aim],
        bands: &'a [Band],
        rules: &'a Rules,
        gate: &'a Gate,
    ) -> Search<'a> {
        let credits: Vec<Vec<(usize, f64)>> = table
            .cells
            .iter()
            .map(|cells| {
                cells.iter().enumerate().filter(|(_, c)| c.pooled.mid > 0.0).map(|(h, c)| (h, c.pooled.mid)).collect()
            })
            .collect();
        Search {
            objections: table.movements.iter().map(|m| objections(m, gate, rules)).collect(),
            table,
            heads,
            aims,
            bands,
            rules,
            gate,
            candidates: Vec::new(),
            variants: Vec::new(),
            familiar: Vec::new(),
            available: Vec::new(),
            purposes: credits.iter().map(|c| purpose(c, heads)).collect(),
            weights: head_weights(heads, aims, &rules.constants),
            credits,
        }
    }

    fn head_cost(&self, head: usize, credited: f64) -> f64 {
        let band = self.bands[head];
        let short = (band.low - credited).max(0.0);
        let excess = (credited - band.high).max(0.0);
        let low = band.low.max(1e-6);
        self.weights[head] * (0.5 * (short + short * short / low) + self.rules.constants.excess_cost * excess)
    }

    /// Credited sets (before the cap) per day and head.
    fn day_sums(&self, plan: &Plan) -> Vec<Vec<f64>> {
        let mut sums = vec![vec![0.0; self.heads.len()]; plan.days.len()];
        for line in &plan.lines {
            let counted = line.effort.counted().mid;
            for &(h, credit) in &self.credits[line.movement] {
                sums[line.day][h] += credit * counted;
            }
        }
        sums
    }

    /// The best edit of a plan, if one is worth its price.
    pub fn best(&self, plan: &Plan) -> Option<Edit> {
        let sums = self.day_sums(plan);
        let c = &self.rules.constants;
        let total: Vec<f64> = (0..self.heads.len()).map(|h| sums.iter().map(|d| capped(d[h], c)).sum()).collect();
        let gap: Vec<bool> =
            (0..self.heads.len()).map(|h| crate::gaps::is_gap(total[h], self.aims[h], self.bands[h])).collect();
        let scored: Vec<(Gain, Edit)> = self
            .edits(plan, &gap)
            .into_iter()
            .filter_map(|edit| self.gain(plan, &sums, &total, edit).map(|g| (g, edit)))
            .filter(|(gain, _)| gain.net > LEAST_GAIN)
            .collect();
        // What hurts is changed first; then the focus heads are served, then those to grow, then those to keep.
        let relieving = self.most_worth(plan, scored.iter().filter(|(g, _)| g.relieves).map(|(g, e)| (g.net, *e)));
        relieving.or_else(|| {
            [Aim::Focus, Aim::Grow, Aim::Keep].into_iter().find_map(|aim| {
                // An edit pays for itself by the heads of this aim alone; what it does besides is no reason for it.
                let worth = |g: &Gain| g.serves[aim as usize] - g.spent;
                self.most_worth(plan, scored.iter().map(|(g, e)| (worth(g), *e)).filter(|(w, _)| *w > LEAST_GAIN))
            })
        })
    }

    fn most_worth(&self, plan: &Plan, edits: impl Iterator<Item = (f64, Edit)>) -> Option<Edit> {
        let c = &self.rules.constants;
        let mut scored: Vec<(f64, Edit)> = edits.collect();
        scored.sort_by(|a, b| b.0.total_cmp(&a.0));
        // Minutes are the dear part: only the promising ones are timed, until none left can win.
        let mut best: Option<(f64, Edit)> = None;
        for (gain, edit) in scored {
            if best.is_some_and(|(g, _)| g >= gain) {
                break;
            }
            if let Some(minutes) = self.minutes_added(plan, edit) {
                let net = gain - c.cost_minute * minutes.max(0.0);
                if net > LEAST_GAIN && best.is_none_or(|(g, _)| net > g) {
                    best = Some((net, edit));
                }
            }
        }
        best.map(|(_, edit)| edit)
    }

    /// Whether sets could be added for a head if the days had no limit.
    pub fn would_fit_without_clock(&self, plan: &Plan, head: usize) -> bool {
        let mut gap = vec![false; self.heads.len()];
        gap[head] = true;
        let sums = self.day_sums(plan);
        let c = &self.rules.constants;
        let total: Vec<f64> = (0..self.heads.len()).map(|h| sums.iter().map(|d| capped(d[h], c)).sum()).collect();
        self.edits(plan, &gap)
            .into_iter()
            .filter(|e| e.adds_sets() && self.minutes_added(plan, *e).is_none())
            .any(|e| self.gain(plan, &sums, &total, e).is_some_and(|g| g.net > LEAST_GAIN))
    }

    /// Most sets an edit may bring to a line of this movement: few while it is new (rhabdomyolysis gate of `safety.csv`).
    fn most_sets(&self, movement: usize) -> f64 {
        if self.is_new(movement) { self.rules.constants.new_sets } else { f64::INFINITY }
    }

    /// Whether the client has not done this movement for two weeks yet, as far as the plan tells.
    pub fn is_new(&self, movement: usize) -> bool {
        !self.familiar.contains(&self.table.movements[movement].movement)
    }

    /// Whether a movement does enough of what another was done for: by volume, at least `replaces_share` of its credit.
    pub fn replaces(&self, old: usize, new: usize) -> bool {
        let volume = |h: usize| crate::effort::tame(self.heads[h].volume_cm3, 1e6);
        let (mut done, mut kept) = (0.0, 0.0);
        for &(h, credit) in &self.credits[old] {
            done += volume(h) * credit;
            kept += volume(h) * credit.min(self.table.cells[new][h].pooled.mid);
        }
        done > 0.0 && kept >= self.rules.constants.replaces_share * done
    }

    /// Sets may go to another movement that does their work, or to one done for what the client wants more.
    fn may_move(&self, old: usize, new: usize) -> bool {
        let aim = |m: usize| self.purposes[m].map(|h| self.aims[h]);
        self.replaces(old, new) || aim(old) < aim(new)
    }

    fn covers(&self, movement: usize, gap: &[bool]) -> bool {
        self.credits[movement].iter().any(|&(h, credit)| gap[h] && credit >= self.rules.constants.useful_credit)
    }

    fn edits(&self, plan: &Plan, gap: &[bool]) -> Vec<Edit> {
        let c = &self.rules.constants;
        let free = |m: &usize| self.objections[*m].leave_out.is_none();
        let allowed = |m: &usize| free(m) && (self.objections[*m].not_new.is_none() || !self.is_new(*m));
        let useful: Vec<usize> =
            self.candidates.iter().copied().filter(|m| allowed(m) && self.covers(*m, gap)).collect();
        let mut out = Vec::new();
        for (i, line) in plan.lines.iter().enumerate() {
            let id = &self.table.movements[line.movement].movement;
            for &m in self.variants.iter().filter(|m| allowed(m) && **m != line.movement) {
                if self.table.movements[m].movement == *id {
                    out.push(Edit::Setting { line: i, movement: m });
                }
            }
            let objected = self.objections[line.movement].leave_out.is_some();
            let replacements = if objected { &self.candidates } else { &useful };
            for &m in replacements.iter().filter(|m| allowed(m)) {
                // The same movement twice on a day is no swap.
                if plan.lines.iter().any(|l| {
                    l.day == line.day && self.table.movements[l.movement].movement == self.table.movements[m].movement
                }) {
                    continue;
                }
                if self.replaces(line.movement, m) {
                    out.push(Edit::Swap { line: i, movement: m, sets: line.sets().min(self.most_sets(m)) });
                }
                let half = (line.sets() / 2.0).ceil().min(self.most_sets(m));
                if line.sets() >= 4.0 && !objected && self.may_move(line.movement, m) {
                    out.push(Edit::Move { line: i, movement: m, sets: half });
                }
            }
            if !self.gate.hold_volume && allowed(&line.movement) && self.covers(line.movement, gap) {
                out.extend(
                    [1.0, 2.0, 3.0]
                        .into_iter()
                        .filter(|s| line.sets() + s <= self.most_sets(line.movement))
                        .map(|sets| Edit::More { line: i, sets }),
                );
            }
        }
        if !self.gate.hold_volume {
            for day in 0..plan.days.len() {
                for &m in &useful {
                    let id = &self.table.movements[m].movement;
                    if !plan.lines.iter().any(|l| l.day == day && self.table.movements[l.movement].movement == *id) {
                        out.push(Edit::Add { day, movement: m, sets: 2.0 });
                        out.push(Edit::Add { day, movement: m, sets: c.new_sets });
                    }
                }
            }
        }
        out
    }

    /// What an edit is worth; `None` when it breaks a rule.
    fn gain(&self, plan: &Plan, sums: &[Vec<f64>], total: &[f64], edit: Edit) -> Option<Gain> {
        let c = &self.rules.constants;
        let day = edit.day(plan);
        let mut delta = vec![0.0; self.heads.len()];
        let mut touched: Vec<usize> = Vec::new();
        let mut put = |movement: usize, counted: f64| {
            for &(h, credit) in &self.credits[movement] {
                delta[h] += credit * counted;
                touched.push(h);
            }
        };
        let mut gain = 0.0;
        let mut replaces_objected = false;
        let mut lose_objected = |line: usize, sets: f64| {
            if self.objections[plan.lines[line].movement].leave_out.is_some() {
                replaces_objected = true;
                gain += OBJECTED_SET * sets;
            }
        };
        let price = match edit {
            Edit::Setting { line, movement } | Edit::Swap { line, movement, .. } => {
                let effort = &plan.lines[line].effort;
                let (sets, price) = match edit {
                    Edit::Swap { sets, .. } => (sets, c.cost_swap),
                    _ => (effort.sets.mid, c.cost_setting),
                };
                put(plan.lines[line].movement, -effort.counted().mid);
                put(movement, sets * effort.value.mid);
                lose_objected(line, plan.lines[line].sets());
                price
            }
            Edit::Move { line, movement, sets } => {
                let counted = sets * plan.lines[line].effort.value.mid;
                put(plan.lines[line].movement, -counted);
                put(movement, counted);
                c.cost_move
            }
            Edit::Add { movement, sets, .. } => {
                put(movement, sets);
                c.cost_add
            }
            Edit::More { line, sets } => {
                put(plan.lines[line].movement, sets * plan.lines[line].effort.value.mid);
                c.cost_add
            }
        };
        gain -= price;
        touched.sort_unstable();
        touched.dedup();
        let (mut serves, mut spent) = ([0.0; 4], price);
        for h in touched {
            let (old, new) = (sums[day][h], (sums[day][h] + delta[h]).max(0.0));
            let after = total[h] - capped(old, c) + capped(new, c);
            if new > c.session_cap && new > old && self.aims[h] > Aim::Leave {
                return None;
            }
            if !replaces_objected && self.aims[h] > Aim::Leave && after < total[h] {
                let was_gap = crate::gaps::is_gap(total[h], self.aims[h], self.bands[h]);
                let is_gap = crate::gaps::is_gap(after, self.aims[h], self.bands[h]);
                // A focus head that is short does not fall at all.
                let focus = was_gap && self.aims[h] == Aim::Focus && total[h] - after > 1e-9;
                if focus || (is_gap && !was_gap) || (was_gap && total[h] - after > MAY_LOSE) {
                    return None;
                }
            }
            let served = self.head_cost(h, total[h]) - self.head_cost(h, after);
            gain += served;
            spent -= served.min(0.0);
            if !self.heads[h].low_confidence && after - total[h] >= WORTH_TELLING {
                serves[self.aims[h] as usize] += served;
            }
        }
        Some(Gain { net: gain, serves, spent, relieves: replaces_objected })
    }

    /// Minutes (mid) an edit adds to its day; `None` when the day would be over its limit.
    pub fn minutes_added(&self, plan: &Plan, edit: Edit) -> Option<f64> {
        let day = edit.day(plan);
        let c = &self.rules.constants;
        // Only the day's own lines are copied: this runs for thousands of edits.
        let here = |l: &&Line| l.day == day;
        let lines: Vec<Line> = plan.lines.iter().filter(here).cloned().collect();
        let small = Plan { lines, days: plan.days.clone(), weeks: Vec::new() };
        let edit = edit.with_line(|line| plan.lines[..line].iter().filter(here).count());
        let mid = |p: &Plan| {
            let m = day_minutes(p.lines.iter(), self.table, c);
            0.5 * (m.low + m.high)
        };
        let (before, after) = (mid(&small), mid(&self.apply(&small, edit)));
        let over =
            self.available.get(day).copied().flatten().is_some_and(|limit| after > limit && after > before + 0.01);
        (!over).then_some(after - before)
    }

    /// The plan after an edit.
    pub fn apply(&self, plan: &Plan, edit: Edit) -> Plan {
        let mut out = plan.clone();
        let rename = |line: &mut Line, m: usize| {
            line.movement = m;
            line.entry.movement = Some(self.table.movements[m].movement.clone());
            line.entry.name.clone_from(&self.table.movements[m].name);
            line.entry.settings.clone_from(&self.table.movements[m].settings);
        };
        let add = |r: &mut Range, sets: f64| *r = Range { low: r.low + sets, mid: r.mid + sets, high: r.high + sets };
        match edit {
            Edit::Setting { line, movement } => rename(&mut out.lines[line], movement),
            Edit::Swap { line, movement, sets } => {
                let fewer = sets < out.lines[line].sets();
                if fewer {
                    out.lines[line].effort.sets = Range::point(sets);
                }
                rename(&mut out.lines[line], movement);
            }
            Edit::Move { line, movement, sets } => {
                let mut moved = out.lines[line].clone();
                let r = &mut out.lines[line].effort.sets;
                *r = Range { low: (r.low - sets).max(0.0), mid: r.mid - sets, high: r.high - sets };
                moved.effort.sets = Range::point(sets);
                // The moved sets leave a pair: their partner's rest is no longer theirs to share.
                moved.entry.extra.pair = None;
                rename(&mut moved, movement);
                out.lines.insert(line + 1, moved);
            }
            Edit::More { line, sets } => add(&mut out.lines[line].effort.sets, sets),
            Edit::Add { day, movement, sets } => {
                let m = &self.table.movements[movement];
                let c = &self.rules.constants;
                let entry = Entry {
                    day: plan.days[day].1.clone(),
                    week: plan.days[day].0,
                    movement: Some(m.movement.clone()),
                    name: m.name.clone(),
                    settings: m.settings.clone(),
                    sets_low: sets,
                    sets_high: sets,
                    reps_low: Some(c.reps_low_default),
                    reps_high: Some(c.reps_high_default),
                    reps_unit: "reps".into(),
                    rir: Some(c.new_rir),
                    status: Status::Certain,
                    extra: EntryExtra::default(),
                    ..Entry::default()
                };
                let effort = crate::effort::effort_of(&entry, self.rules);
                out.lines.push(Line { entry, effort, movement, day, certain: true });
            }
        }
        out
    }
}
