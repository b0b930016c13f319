//! Search over single edits of a week. In: lines, table of movements, weights; out: the best edit. Works on pooled mid
//! values and one session at a time, so that an edit costs one pass over the heads it touches; what is shown to a coach
//! is evaluated again with the whole ledger.

use crate::client::Client;
use crate::edits::{Edit, apply};
use crate::joint_of;
use crate::ledger::capped;
use crate::minutes::{day_minutes, share_rest};
use crate::planning::head_weights;
use crate::rules::{Aim, Rules};
use crate::screening::{Gate, Objections, objections};
use crate::week::{HeadFacts, Line, Plan, Table};
use answer::{Band, MovementCredit};

/// A plan's sums: credited sets per day and head before the cap, per head, per head at long length.
type Sums<'a> = (&'a [Vec<f64>], &'a [f64], &'a [f64]);

/// What the search knows.
pub(crate) struct Search<'a> {
    pub table: &'a Table,
    pub heads: &'a [HeadFacts],
    pub aims: &'a [Aim],
    pub bands: &'a [Band],
    pub rules: &'a Rules,
    pub gate: &'a Gate,
    /// Whose wishes hold: what stays, what is never brought in.
    pub client: Option<&'a Client>,
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
    /// How many watched joints (pain 3 to 5 of 10) each movement loads.
    watched: Vec<f64>,
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

/// Load of a movement on joints with a pain to be watched: 1 is the largest moment there among the movements of the plan
/// and the library; 1 where no moment is known.
fn watched(m: &MovementCredit, table: &Table, gate: &Gate, rules: &Rules) -> f64 {
    let c = &rules.constants;
    let loads = |joint: &str| m.loaded_axes.iter().any(|a| joint_of(a) == joint);
    let watch = |score: f64| score >= c.pain_watch_from && score <= c.pain_change_above;
    let peak = |m: &MovementCredit, joint: &str| m.joint_peak_nm.get(joint).copied().filter(|nm| nm.is_finite());
    let share = |joint: &str| {
        let most = table.movements.iter().filter_map(|m| peak(m, joint)).fold(0.0, f64::max);
        peak(m, joint).filter(|_| most > 0.0).map_or(1.0, |nm| (nm / most).clamp(0.0, 1.0))
    };
    gate.pains.iter().filter(|(joint, score)| watch(*score) && loads(joint)).map(|(joint, _)| share(joint)).sum()
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
    /// Worth of what it takes from joints whose pain is watched.
    eases: f64,
    /// Most that a focus head inside its band loses, credited sets.
    focus_falls: f64,
}

/// Cost of a set that an objection speaks against (pain above the limit, a restriction): it outweighs a missing set of
/// one head, not the whole plan.
const OBJECTED_SET: f64 = 3.0;
/// Credited sets a head already below its band may lose to an edit.
const MAY_LOSE: f64 = 0.5;
/// Credited sets by which a head must rise to be a reason for an edit: less is within any estimate's error.
const WORTH_TELLING: f64 = 0.5;
/// What a change must leave of a watched joint's load at most: less is within any estimate's error.
const EASED: f64 = 0.85;
/// Credited sets a focus head inside its band may lose to a change that eases a joint.
const MAY_LOSE_EASED: f64 = 1.0;
/// What a replacement may do less than the most like one, as a share of the work: within any estimate's error.
const NEARLY_AS_LIKE: f64 = 0.15;
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
            watched: table.movements.iter().map(|m| watched(m, table, gate, rules)).collect(),
            table,
            heads,
            aims,
            bands,
            rules,
            gate,
            client: None,
            candidates: Vec::new(),
            variants: Vec::new(),
            familiar: Vec::new(),
            available: Vec::new(),
            purposes: credits.iter().map(|c| purpose(c, heads)).collect(),
            weights: head_weights(heads, aims, &rules.constants),
            credits,
        }
    }

    /// Movements that this kit does not allow are left out like work that hurts; a line for each.
    pub fn leave_out_lacking(&mut self, ids: &std::collections::BTreeSet<String>) -> Vec<String> {
        let mut said = Vec::new();
        for (m, movement) in self.table.movements.iter().enumerate().filter(|(_, m)| ids.contains(&m.movement)) {
            let why = format!("it needs {}, not all of which this kit holds", movement.equipment.join(", "));
            let line = format!("{}: {why}", movement.name);
            if !said.contains(&line) {
                said.push(line);
            }
            // What speaks against it for the client's sake is said first.
            let other = self.objections[m].leave_out.take();
            let both = other.map_or(why.clone(), |other| format!("{other}; {why}"));
            (self.objections[m].leave_out, self.objections[m].by_pain) = (Some(both), false);
        }
        said
    }

    fn head_cost(&self, head: usize, credited: f64) -> f64 {
        let band = self.bands[head];
        let short = (band.low - credited).max(0.0);
        let excess = (credited - band.high).max(0.0);
        let low = band.low.max(1e-6);
        self.weights[head] * (0.5 * (short + short * short / low) + self.rules.constants.excess_cost * excess)
    }

    /// Price of too little work at long length: only focus heads are asked for it.
    fn length_cost(&self, head: usize, credited: f64, long: f64) -> f64 {
        let c = &self.rules.constants;
        if self.aims[head] != Aim::Focus {
            return 0.0;
        }
        self.weights[head] * c.long_cost * (c.long_share_wanted * credited - long).max(0.0)
    }

    /// Credited sets at long length, per head.
    fn long_sums(&self, plan: &Plan) -> Vec<f64> {
        let mut sums = vec![0.0; self.heads.len()];
        for line in &plan.lines {
            let counted = line.effort.counted().mid;
            for &(h, credit) in
                self.credits[line.movement].iter().filter(|(h, _)| self.table.cells[line.movement][*h].long)
            {
                sums[h] += credit * counted;
            }
        }
        sums
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
        let long = self.long_sums(plan);
        let all: Sums = (&sums, &total, &long);
        let gap: Vec<bool> = (0..self.heads.len())
            .map(|h| {
                self.length_cost(h, total[h], long[h]) > LEAST_GAIN
                    || crate::gaps::is_gap(total[h], self.aims[h], self.bands[h])
            })
            .collect();
        let scored: Vec<(Gain, Edit)> = self
            .edits(plan, &gap)
            .into_iter()
            .filter_map(|edit| self.gain(plan, all, edit, true).map(|g| (g, edit)))
            .filter(|(gain, _)| gain.net > LEAST_GAIN)
            .collect();
        let chase = |aim: Aim| {
            // While less is eaten than spent nothing new is chased.
            if self.client.is_some_and(|c| c.energy_deficit) {
                return None;
            }
            // An edit pays for itself by the heads of this aim alone; what it does besides is no reason for it.
            let worth = |g: &Gain| g.serves[aim as usize] - g.spent;
            // What a client wants most does not pay for what is wanted less.
            let allowed = |g: &Gain| aim == Aim::Focus || g.focus_falls < 1e-9;
            // A joint whose pain is watched bears no more, and what it comes with is changed for its ease alone.
            let at_ease =
                |g: &Gain, e: &Edit| g.eases > -1e-9 && !e.line().is_some_and(|line| self.hurting(&plan.lines[line]));
            let edits = scored.iter().filter(|(g, e)| allowed(g) && at_ease(g, e)).map(|(g, e)| (worth(g), *e));
            self.most_worth(plan, edits.filter(|(w, _)| *w > LEAST_GAIN))
        };
        let spare = || {
            let leaner = self.leaner(plan).into_iter().filter(|e| self.spares(plan, &sums, *e));
            let worth = leaner.filter_map(|edit| {
                let gain = self.gain(plan, all, edit, true)?;
                (gain.focus_falls < 1e-9).then_some((gain.net, edit))
            });
            self.most_worth(plan, worth.filter(|(net, _)| *net > LEAST_GAIN))
        };
        // What hurts is changed first; then the days are made to fit; then the focus heads are served, then those to
        // grow; then what is more than counts goes; last those to keep.
        let relieving = self.most_worth(plan, scored.iter().filter(|(g, _)| g.relieves).map(|(g, e)| (g.net, *e)));
        let without = || {
            let out = self.leaner(plan).into_iter().filter(|e| e.removes(plan));
            let out = out.filter_map(|e| self.gain(plan, all, e, true).filter(|g| g.relieves).map(|g| (g.net, e)));
            self.most_worth(plan, out)
        };
        relieving
            .or_else(without)
            .or_else(|| {
                // Another setting or movement for what hurts a little, or less of it: the exercise the client named with
                // the pain first, then whatever else loads the joint. The work stays, the joint bears less.
                let named = |e: &Edit| e.line().is_some_and(|line| self.hurting(&plan.lines[line]));
                let easier = self.easier(plan);
                let less = self.leaner(plan).into_iter().filter(|e| named(e) && self.spares(plan, &sums, *e));
                let first: Vec<Edit> = easier.iter().copied().filter(named).chain(less).collect();
                [first, easier].into_iter().find_map(|edits| {
                    let eased = edits.into_iter().filter_map(|e| self.gain(plan, all, e, false).map(|g| (g, e)));
                    let eased = eased.filter(|(g, _)| g.focus_falls <= MAY_LOSE_EASED);
                    self.most_worth(plan, eased.map(|(g, e)| (g.eases - g.spent, e)).filter(|(w, _)| *w > LEAST_GAIN))
                })
            })
            .or_else(|| self.fitting_the_clock(plan, all))
            .or_else(|| chase(Aim::Focus))
            .or_else(|| chase(Aim::Grow))
            .or_else(spare)
            .or_else(|| chase(Aim::Keep))
    }

    /// Whether the client named this row's movement with a pain that is watched.
    fn hurting(&self, line: &Line) -> bool {
        let c = &self.rules.constants;
        let m = &self.table.movements[line.movement];
        let same = |n: &String| n.eq_ignore_ascii_case(&m.movement) || n.eq_ignore_ascii_case(&m.name);
        let pains = self.client.map_or(&[][..], |client| &client.pains[..]);
        let scored = |p: &&crate::client::Pain| p.score.is_some_and(|s| s >= c.pain_watch_from);
        pains.iter().filter(scored).any(|p| p.movement.as_ref().is_some_and(same))
    }

    /// Settings and swaps of rows that load a watched joint.
    fn easier(&self, plan: &Plan) -> Vec<Edit> {
        let mut out = Vec::new();
        for (i, line) in plan.lines.iter().enumerate() {
            if line.touched || !self.free_line(line) || self.watched[line.movement] <= 0.0 {
                continue;
            }
            let id = &self.table.movements[line.movement].movement;
            let free = |m: &usize| self.objections[*m].leave_out.is_none();
            let less = |m: &usize| self.watched[*m] <= EASED * self.watched[line.movement];
            let of = |m: &usize| self.table.movements[*m].movement == *id;
            let settings = self.variants.iter().copied().filter(|m| free(m) && less(m) && of(m));
            out.extend(settings.map(|movement| Edit::Setting { line: i, movement }));
            let there = |m: &usize| {
                let new = &self.table.movements[*m].movement;
                plan.lines.iter().any(|l| l.day == line.day && self.table.movements[l.movement].movement == *new)
            };
            let not_new = |m: &usize| self.objections[*m].not_new.is_some() && self.is_new(*m);
            let others = self.candidates.iter().copied().filter(|m| free(m) && less(m) && !there(m) && !not_new(m));
            let others = others.filter(|m| self.replaces(line.movement, *m) && self.alike(line.movement, *m));
            for m in others {
                out.push(Edit::Swap { line: i, movement: m, sets: line.sets().min(self.most_sets(m)) });
                // Some of the sets, so that the work as a whole stays.
                let some = self.most_sets(m).min(line.sets() - 1.0);
                if some >= 1.0 {
                    out.push(Edit::Move { line: i, movement: m, sets: some });
                }
            }
        }
        out
    }

    /// Whether less of a row is worth a proposal though the days have room: sets are held back, a joint is watched, or a
    /// session goes beyond what counts in full. More than a head's band alone is no reason to change a week.
    fn spares(&self, plan: &Plan, sums: &[Vec<f64>], edit: Edit) -> bool {
        let (Edit::Fewer { sets, .. }, Some(line)) = (edit, edit.line()) else { return false };
        let l = &plan.lines[line];
        // The exercise stays: at most half of its sets go.
        if sets > (0.5 * l.sets()).ceil() || sets >= l.sets() {
            return false;
        }
        let cap = self.rules.constants.session_cap;
        let beyond =
            || self.credits[l.movement].iter().any(|&(h, _)| sums[l.day][h] > cap && self.aims[h] > Aim::Leave);
        self.gate.hold_volume || self.watched[l.movement] > 0.0 || beyond()
    }

    /// The edit that brings a day nearest to its minutes at the least loss; none where every day fits.
    fn fitting_the_clock(&self, plan: &Plan, sums: Sums) -> Option<Edit> {
        let over: Vec<f64> = (0..plan.days.len()).map(|day| self.over(plan, day)).collect();
        if over.iter().all(|m| *m <= 0.0) {
            return None;
        }
        let c = &self.rules.constants;
        let from = |edit: &Edit| edit.line().map(|line| plan.lines[line].day);
        // What costs no set comes first: pairs, another day, then fewer sets.
        let stages = [self.pairs(plan), self.shifts(plan), self.leaner(plan)];
        stages.into_iter().find_map(|edits| {
            let scored = edits.into_iter().filter(|e| from(e).is_some_and(|day| over[day] > 0.0)).filter_map(|edit| {
                let gain = self.gain(plan, sums, edit, false)?;
                self.minutes_added(plan, edit)?;
                let day = from(&edit)?;
                let saved = over[day] - self.over(&apply(plan, edit, self.table, self.rules), day);
                // More than asked for is no reason to take more away than the clock asks.
                let worth = if matches!(edit, Edit::Fewer { .. }) { -gain.spent } else { gain.net };
                (saved > 0.5).then_some((worth + c.cost_over_minute * saved, edit))
            });
            scored.filter(|(score, _)| *score > LEAST_GAIN).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, edit)| edit)
        })
    }

    /// Minutes (mid) by which a day is over its limit.
    fn over(&self, plan: &Plan, day: usize) -> f64 {
        let Some(limit) = self.available.get(day).copied().flatten() else { return 0.0 };
        (self.mid_minutes(plan, day) - limit).max(0.0)
    }

    pub fn mid_minutes(&self, plan: &Plan, day: usize) -> f64 {
        let m = day_minutes(plan.lines.iter().filter(|l| l.day == day), self.table, &self.rules.constants);
        0.5 * (m.low + m.high)
    }

    /// Whether the client lets a line change.
    fn free_line(&self, line: &Line) -> bool {
        let m = &self.table.movements[line.movement];
        !self.client.is_some_and(|c| c.keeps(&m.movement, &m.name) || c.keeps(&m.movement, &line.entry.name))
    }

    /// Rows of a day that may share their rest.
    fn pairs(&self, plan: &Plan) -> Vec<Edit> {
        let alone = |l: &Line| l.entry.extra.pair.is_none() && self.free_line(l);
        let mut out = Vec::new();
        for (i, a) in plan.lines.iter().enumerate().filter(|(_, l)| alone(l)) {
            for (k, b) in plan.lines.iter().enumerate().skip(i + 1).filter(|(_, l)| l.day == a.day && alone(l)) {
                if share_rest(a, b, self.table, &self.rules.constants) {
                    out.push(Edit::Pair { line: i, with: k });
                }
            }
        }
        out
    }

    /// Rows that may go to another day: one where the movement is not done yet and that stays within its minutes.
    fn shifts(&self, plan: &Plan) -> Vec<Edit> {
        let mut out = Vec::new();
        for (line, l) in plan.lines.iter().enumerate().filter(|(_, l)| self.free_line(l) && !l.touched) {
            for day in (0..plan.days.len()).filter(|d| *d != l.day && plan.days[*d].0 == plan.days[l.day].0) {
                let id = |l: &Line| &self.table.movements[l.movement].movement;
                if !plan.lines.iter().any(|o| o.day == day && id(o) == id(l)) {
                    out.push(Edit::Shift { line, day });
                }
            }
        }
        out
    }

    /// Fewer sets of a row that no proposal has touched.
    fn leaner(&self, plan: &Plan) -> Vec<Edit> {
        let lines = plan.lines.iter().enumerate().filter(|(_, l)| self.free_line(l) && !l.touched);
        lines
            .flat_map(|(line, l)| {
                let all = l.effort.sets.high;
                let some = [1.0, 2.0, 3.0].into_iter().filter(move |s| *s < l.sets());
                some.chain(std::iter::once(all)).map(move |sets| Edit::Fewer { line, sets })
            })
            .collect()
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
        let long = self.long_sums(plan);
        let all: Sums = (&sums, &total, &long);
        self.edits(plan, &gap)
            .into_iter()
            .filter(|e| e.adds_sets() && self.minutes_added(plan, *e).is_none())
            .any(|e| self.gain(plan, all, e, true).is_some_and(|g| g.net > LEAST_GAIN))
    }

    /// Most sets an edit may bring to a line of this movement: few while it is new (rhabdomyolysis gate of `safety.csv`).
    fn most_sets(&self, movement: usize) -> f64 {
        let c = &self.rules.constants;
        if self.is_new(movement) {
            c.new_sets
        } else if self.gate.youth {
            c.youth_sets
        } else {
            f64::INFINITY
        }
    }

    /// Whether the client has not done this movement for two weeks yet, as far as the plan tells.
    pub fn is_new(&self, movement: usize) -> bool {
        !self.familiar.contains(&self.table.movements[movement].movement)
    }

    /// Whether a movement does enough of what another was done for: by volume, at least `replaces_share` of its credit.
    pub fn replaces(&self, old: usize, new: usize) -> bool {
        self.kept_share(old, new) >= self.rules.constants.replaces_share
    }

    /// Share of a movement's credit, weighted by volume, that another gives too; 0 where there is none.
    fn kept_share(&self, old: usize, new: usize) -> f64 {
        let volume = |h: usize| crate::effort::tame(self.heads[h].volume_cm3, 1e6);
        let (mut done, mut kept) = (0.0, 0.0);
        for &(h, credit) in &self.credits[old] {
            done += volume(h) * credit;
            kept += volume(h) * credit.min(self.table.cells[new][h].pooled.mid);
        }
        if done > 0.0 { kept / done } else { 0.0 }
    }

    /// Whether two movements are done for the same coach group.
    fn alike(&self, old: usize, new: usize) -> bool {
        let group = |m: usize| self.purposes[m].and_then(|h| self.heads[h].groups.first());
        group(old) == group(new)
    }

    /// Sets may go to another movement that does their work, or to one done for what the client wants more.
    fn may_move(&self, old: usize, new: usize) -> bool {
        let aim = |m: usize| self.purposes[m].map(|h| self.aims[h]);
        self.replaces(old, new) || aim(old) < aim(new)
    }

    /// Whether two entries of the table are ways to do the same movement.
    fn same(&self, a: usize, b: usize) -> bool {
        self.table.movements[a].movement == self.table.movements[b].movement
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
        for (i, line) in plan.lines.iter().enumerate().filter(|(_, l)| self.free_line(l)) {
            let id = &self.table.movements[line.movement].movement;
            // What a proposal has changed is not changed again.
            let fresh = !line.touched;
            for &m in self.variants.iter().filter(|m| fresh && allowed(m) && **m != line.movement) {
                if self.table.movements[m].movement == *id {
                    out.push(Edit::Setting { line: i, movement: m });
                }
            }
            let objected = self.objections[line.movement].leave_out.is_some();
            let replacements = if objected { &self.candidates } else { &useful };
            // What has to go is replaced like for like: by what does nearly as much of its work as the best can.
            let there = |m: &usize| plan.lines.iter().any(|l| l.day == line.day && self.same(l.movement, *m));
            let fits = |m: &usize| allowed(m) && !there(m) && self.replaces(line.movement, *m);
            let likeness = |m: usize| self.kept_share(line.movement, m);
            let all = replacements.iter().filter(|m| objected && fits(m));
            let nearest = all.map(|m| likeness(*m)).fold(0.0, f64::max);
            let like = |m: usize| {
                if objected { likeness(m) >= nearest - NEARLY_AS_LIKE } else { self.alike(line.movement, m) }
            };
            for &m in replacements.iter().filter(|m| allowed(m)) {
                // The same movement twice on a day is no swap.
                if there(&m) {
                    continue;
                }
                if fresh && self.replaces(line.movement, m) && like(m) {
                    out.push(Edit::Swap { line: i, movement: m, sets: line.sets().min(self.most_sets(m)) });
                }
                let half = (line.sets() / 2.0).ceil().min(self.most_sets(m));
                if fresh && line.sets() >= 4.0 && !objected && self.may_move(line.movement, m) {
                    out.push(Edit::Move { line: i, movement: m, sets: half });
                }
            }
            if !self.gate.hold_volume && allowed(&line.movement) && self.covers(line.movement, gap) {
                out.extend(
                    [1.0, 2.0, 3.0]
                        .into_iter()
                        .filter(|s| line.sets() + s <= self.most_sets(line.movement).min(c.most_sets_row))
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

    /// What an edit is worth; `None` when it breaks a rule. Not `strict`: a head may fall below its band, and pays for it.
    fn gain(&self, plan: &Plan, (sums, total, long): Sums, edit: Edit, strict: bool) -> Option<Gain> {
        let c = &self.rules.constants;
        // What comes and goes: (day, movement, counted sets), goings negative.
        let (moved, price): (Vec<(usize, usize, f64)>, f64) = match edit {
            Edit::Setting { line, movement } | Edit::Swap { line, movement, .. } => {
                let l = &plan.lines[line];
                let (sets, price) = match edit {
                    Edit::Swap { sets, .. } => (sets, c.cost_swap),
                    _ => (l.sets(), c.cost_setting),
                };
                let goes = (l.day, l.movement, -l.effort.counted().mid);
                (vec![goes, (l.day, movement, sets * l.effort.value.mid)], price)
            }
            Edit::Move { line, movement, sets } => {
                let l = &plan.lines[line];
                let counted = sets * l.effort.value.mid;
                (vec![(l.day, l.movement, -counted), (l.day, movement, counted)], c.cost_move)
            }
            Edit::Add { day, movement, sets } => (vec![(day, movement, sets)], c.cost_add),
            Edit::More { line, sets } => {
                let l = &plan.lines[line];
                (vec![(l.day, l.movement, sets * l.effort.value.mid)], c.cost_add)
            }
            Edit::Fewer { line, sets } => {
                let l = &plan.lines[line];
                (vec![(l.day, l.movement, -sets.min(l.sets()) * l.effort.value.mid)], c.cost_fewer)
            }
            Edit::Shift { line, day } => {
                let l = &plan.lines[line];
                let counted = l.effort.counted().mid;
                (vec![(l.day, l.movement, -counted), (day, l.movement, counted)], c.cost_shift)
            }
            Edit::Pair { .. } => (Vec::new(), c.cost_pair),
        };
        // Something to learn, and a log that starts anew.
        let comes = edit.movement(plan);
        let known = plan
            .lines
            .iter()
            .any(|l| self.table.movements[l.movement].movement == self.table.movements[comes].movement);
        let price = price + if known { 0.0 } else { c.cost_new };
        let mut days: Vec<usize> = moved.iter().map(|m| m.0).collect();
        days.sort_unstable();
        days.dedup();
        let mut delta = vec![[0.0; 2]; self.heads.len()];
        let mut longer = vec![0.0; self.heads.len()];
        let mut touched: Vec<usize> = Vec::new();
        let mut out = Gain { net: -price, spent: price, ..Gain::default() };
        for &(day, movement, counted) in &moved {
            let slot = usize::from(days.first() != Some(&day));
            for &(h, credit) in &self.credits[movement] {
                delta[h][slot] += credit * counted;
                longer[h] += if self.table.cells[movement][h].long { credit * counted } else { 0.0 };
                touched.push(h);
            }
            out.eases -= c.watched_set * self.watched[movement] * counted;
        }
        if let Some(line) = edit.line().filter(|line| self.hurting(&plan.lines[*line])) {
            // The pain comes with this very movement.
            let l = &plan.lines[line];
            let id = &self.table.movements[l.movement].movement;
            let same = moved.iter().filter(|m| self.table.movements[m.1].movement == *id);
            let away = -same.map(|m| m.2).sum::<f64>();
            out.eases += c.watched_set * away;
        }
        out.net += out.eases;
        // Sets that an objection speaks against count for what goes away, whether or not they count as hard.
        let objected = |line: usize| self.objections[plan.lines[line].movement].leave_out.is_some();
        match edit {
            Edit::Setting { line, .. } | Edit::Swap { line, .. } if objected(line) => {
                out.relieves = true;
                out.net += OBJECTED_SET * plan.lines[line].sets();
            }
            // What only hurts has easier ways to be done first.
            Edit::Fewer { line, .. } if edit.removes(plan) && objected(line) => {
                if self.objections[plan.lines[line].movement].by_pain {
                    return None;
                }
                out.relieves = true;
                out.net += OBJECTED_SET * plan.lines[line].sets();
            }
            _ => {}
        }
        touched.sort_unstable();
        touched.dedup();
        for h in touched {
            let mut after = total[h];
            for (slot, &day) in days.iter().enumerate() {
                let (old, new) = (sums[day][h], (sums[day][h] + delta[h][slot]).max(0.0));
                after += capped(new, c) - capped(old, c);
                if new > c.session_cap && new > old + 1e-9 && self.aims[h] > Aim::Leave {
                    return None;
                }
            }
            let lengthened = self.length_cost(h, total[h], long[h]) - self.length_cost(h, after, long[h] + longer[h]);
            let served = self.head_cost(h, total[h]) - self.head_cost(h, after) + lengthened;
            if !out.relieves && self.aims[h] > Aim::Leave && after < total[h] {
                let was_gap = crate::gaps::is_gap(total[h], self.aims[h], self.bands[h]);
                let is_gap = crate::gaps::is_gap(after, self.aims[h], self.bands[h]);
                // A focus head that is short does not fall, but for the long length it lacks more.
                let focus = was_gap && self.aims[h] == Aim::Focus && total[h] - after > 1e-9 && served <= 0.0;
                if strict && (focus || (is_gap && !was_gap) || (was_gap && total[h] - after > MAY_LOSE)) {
                    return None;
                }
                if self.aims[h] == Aim::Focus && total[h] <= self.bands[h].high {
                    out.focus_falls = out.focus_falls.max(total[h] - after);
                }
            }
            out.net += served;
            out.spent -= served.min(0.0);
            let telling = after - total[h] >= WORTH_TELLING || lengthened > 0.0 && longer[h] >= WORTH_TELLING;
            if !self.heads[h].low_confidence && telling {
                out.serves[self.aims[h] as usize] += served;
            }
        }
        Some(out)
    }

    /// Minutes (mid) an edit adds to the week; `None` when it lengthens a day beyond its limit.
    pub fn minutes_added(&self, plan: &Plan, edit: Edit) -> Option<f64> {
        let day = edit.day(plan);
        let over = |day: usize, before: f64, after: f64| {
            let limit = self.available.get(day).copied().flatten();
            limit.is_some_and(|limit| after > limit && after > before + 0.01)
        };
        if let Edit::Shift { line, .. } = edit {
            let after = apply(plan, edit, self.table, self.rules);
            let change = |d: usize| (self.mid_minutes(plan, d), self.mid_minutes(&after, d));
            let ((was_to, to), (was_from, from)) = (change(day), change(plan.lines[line].day));
            return (!over(day, was_to, to)).then_some(to - was_to + from - was_from);
        }
        // Only the day's own lines are copied: this runs for thousands of edits.
        let here = |l: &&Line| l.day == day;
        let lines: Vec<Line> = plan.lines.iter().filter(here).cloned().collect();
        let small = Plan { lines, days: plan.days.clone(), weeks: Vec::new() };
        let edit = edit.with_line(|line| plan.lines[..line].iter().filter(here).count());
        let before = self.mid_minutes(&small, day);
        let after = self.mid_minutes(&apply(&small, edit, self.table, self.rules), day);
        (!over(day, before, after)).then_some(after - before)
    }
}
