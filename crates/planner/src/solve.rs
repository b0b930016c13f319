//! The two stages, the search beside them, and what they prove together.

use crate::local::Local;
use crate::place::place;
use crate::task::{Line, ROUNDING, Task, TaskError};
use crate::totals::totals;
use microlp::{
    Error, Problem, ResumeOptions, Solution, SolveOptions, SolveOutcome, Stats, TerminationReason, Variable,
};
use serde::{Deserialize, Serialize};
use std::sync::atomic::{AtomicBool, Ordering};

/// How much work is spent; counted in steps, not in seconds, so that the same task has the same answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Relative gap at which the work ends.
    pub gap: f64,
    /// Nodes of the programme of totals, and of that of days.
    pub totals_nodes: u64,
    pub place_nodes: u64,
    /// Fresh starts of the search.
    pub kicks: usize,
}

impl Default for Effort {
    fn default() -> Effort {
        Effort { gap: 0.01, totals_nodes: 400, place_nodes: 200, kicks: 60 }
    }
}

/// What found the week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Found {
    /// The integer programme.
    Programme,
    /// The search over small changes.
    Search,
}

/// A week and what is proven of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// In the order of days and choices.
    pub week: Vec<Line>,
    pub value: f64,
    /// No week inside the limits has more value: the solver's own bound.
    pub bound: f64,
    pub found: Found,
    /// Nodes the solver looked at in both stages.
    pub nodes: u64,
    /// `go_on` said no before the work was done.
    pub stopped: bool,
}

impl Answer {
    /// Value that may still be missing, as a share of the bound; 0 where nothing can be gained.
    pub fn gap(&self) -> f64 {
        if self.bound <= ROUNDING { 0.0 } else { ((self.bound - self.value) / self.bound).max(0.0) }
    }
}

/// Why there is no week.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolveError {
    #[error(transparent)]
    Task(#[from] TaskError),
    /// Proven: no week fulfils every wish.
    #[error("no week fulfils every wish")]
    Clash,
    /// Not proven impossible, but none was found.
    #[error("no week that fulfils every wish was found, and none was proven impossible: {broken}")]
    NotFound { broken: String },
    #[error("stopped before a week was found")]
    Stopped,
    #[error("the solver failed: {0}")]
    Solver(String),
}

/// Nodes between two questions whether to go on.
const CHUNK: u64 = 25;
/// Choices that help a head most, taken into the search for each head.
const BEST_OF_HEAD: usize = 3;
/// Choices of the second stage.
const PLACE_CHOICES: usize = 40;

/// What a run of the solver gave.
pub(crate) struct Run {
    pub solution: Option<Solution>,
    pub stats: Stats,
    pub stopped: bool,
}

/// Runs a programme in chunks of nodes until the gap, the nodes or the patience end.
pub(crate) fn run(
    problem: &Problem,
    start: Option<Vec<(Variable, f64)>>,
    gap: f64,
    nodes: u64,
    go_on: &mut dyn FnMut(&Stats) -> bool,
) -> Result<Run, SolveError> {
    let failed = |e: Error| match e {
        Error::Infeasible => SolveError::Clash,
        other => SolveError::Solver(other.to_string()),
    };
    let chunk = CHUNK.min(nodes);
    let mut options = SolveOptions::default();
    (options.node_limit, options.mip_gap, options.warm_start) = (Some(chunk), gap, start);
    let mut outcome = problem.solve_with(options).map_err(failed)?;
    let mut stopped = false;
    while outcome.termination_reason() == TerminationReason::NodeLimit && outcome.stats().nodes_solved < nodes {
        if !go_on(&outcome.stats()) {
            stopped = true;
            break;
        }
        let mut more = ResumeOptions::default();
        (more.node_limit, more.mip_gap) = (Some(chunk), Some(gap));
        outcome = outcome.resume_with(more).map_err(failed)?;
    }
    let stats = outcome.stats();
    let solution = match outcome {
        SolveOutcome::Solution(s) => Some(s),
        SolveOutcome::Interrupted(_) => None,
    };
    Ok(Run { solution, stats, stopped })
}

/// Words of the work at hand, value and bound so far.
pub type Step<'a> = (&'a str, f64, f64);

/// The best week found, with the bound that holds for every week. `go_on` is told of each step; `false` ends the work with
/// the best week so far.
pub fn solve(task: &Task, effort: &Effort, go_on: &mut dyn FnMut(Step) -> bool) -> Result<Answer, SolveError> {
    task.check()?;
    let most: f64 = task.heads.iter().map(|h| h.best()).sum();
    let stay: f64 = task.present.len() as f64 * task.prices.stay;
    let ceiling = most + stay;
    let first = totals(task);
    let kept: Vec<Line> = task.kept.clone();
    let all: Vec<usize> = (0..task.choices.len()).collect();

    // A quick week first: it is there when the patience ends early.
    let quick = shortlist(task, &[]);
    let mut local = Local::new(task, &quick, &kept);
    local.climb();
    let mut best = tidy(local.week.clone());
    let mut found = Found::Search;
    let mut stopped = false;
    let mut told = |words: &str, value: f64, bound: f64| go_on((words, value, bound));

    // The totals on this thread; the search from the quick week beside them. Each runs its own steps, so that the answer
    // does not depend on which ends first.
    let value = task.value(&best);
    let halt = AtomicBool::new(false);
    let (stage, ahead) = beside(
        || searched(task, &quick, &best, effort.kicks / 2, &mut |_| !halt.load(Ordering::Relaxed)),
        || {
            let stage = run(&first.problem, None, 0.2 * effort.gap, effort.totals_nodes, &mut |s: &Stats| {
                told("weekly totals", value, s.best_bound.unwrap_or(ceiling))
            });
            halt.store(stage.as_ref().map_or(true, |s| s.stopped), Ordering::Relaxed);
            stage
        },
    );
    let stage = stage?;
    if better(task, &ahead, &best) {
        best = ahead;
    }
    let mut nodes = stage.stats.nodes_solved;
    stopped |= stage.stopped;
    let bound = match &stage.solution {
        Some(s) if stage.stats.best_bound.is_none() => s.objective(),
        _ => stage.stats.best_bound.unwrap_or(ceiling),
    }
    .min(ceiling);
    let support: Vec<usize> = stage
        .solution
        .as_ref()
        .map_or_else(Vec::new, |s| all.iter().copied().filter(|&o| s.var_value(first.sets[o]) > 0.5).collect());
    let good = |value: f64| bound - value <= effort.gap * bound.max(0.0);

    // The search, from the quick week, over what the totals like too.
    let wider = shortlist(task, &support);
    if !stopped && !good(value) {
        let spread = spread(task, &first, stage.solution.as_ref());
        let (from_totals, further) = beside(
            || searched(task, &wider, &best, effort.kicks / 2, &mut |v| !good(v) && !halt.load(Ordering::Relaxed)),
            || {
                searched(task, &wider, &spread, effort.kicks / 2, &mut |v| {
                    let enough = good(v);
                    stopped |= !enough && !told("search", v, bound);
                    halt.store(stopped, Ordering::Relaxed);
                    !enough && !stopped
                })
            },
        );
        for week in [further, from_totals] {
            if better(task, &week, &best) {
                best = week;
            }
        }
    }

    // Exact days for the movements both like.
    if !stopped && (!good(task.value(&best)) || !task.broken(&best).is_empty()) {
        let choices = few(task, &best, &support);
        let second = place(task, &choices);
        let start = task.broken(&best).is_empty().then(|| second.start(task, &best));
        let value = task.value(&best);
        let result = run(&second.problem, start, 0.2 * effort.gap, effort.place_nodes, &mut |_: &Stats| {
            told("days", value, bound)
        });
        match result {
            Ok(r) => {
                nodes += r.stats.nodes_solved;
                stopped |= r.stopped;
                if let Some(s) = r.solution {
                    let week = second.week(&s);
                    if task.broken(&week).is_empty() && better(task, &week, &best) {
                        (best, found) = (week, Found::Programme);
                        let mut local = Local::new(task, &wider, &best);
                        local.climb();
                        let week = tidy(local.week.clone());
                        if better(task, &week, &best) {
                            best = week;
                        }
                    }
                }
            }
            // These choices alone may not fulfil the wishes; others may.
            Err(SolveError::Clash | SolveError::Solver(_)) => {}
            Err(e) => return Err(e),
        }
    }
    let broken = task.broken(&best);
    if !broken.is_empty() {
        return Err(if stopped { SolveError::Stopped } else { SolveError::NotFound { broken: broken.join("; ") } });
    }
    let value = task.value(&best);
    Ok(Answer { week: best, value, bound: bound.max(value), found, nodes, stopped })
}

/// The whole programme at once, to the end: for small tasks and for checks.
pub fn exact(task: &Task) -> Result<Answer, SolveError> {
    task.check()?;
    let all: Vec<usize> = (0..task.choices.len()).collect();
    let whole = place(task, &all);
    let run = run(&whole.problem, None, 0.0, u64::MAX, &mut |_| true)?;
    let Some(solution) = run.solution else { return Err(SolveError::Stopped) };
    let week = whole.week(&solution);
    let value = task.value(&week);
    let bound = run.stats.best_bound.unwrap_or(value).max(value);
    Ok(Answer { week, value, bound, found: Found::Programme, nodes: run.stats.nodes_solved, stopped: false })
}

/// Two works at a time: the first on a thread of its own, the second, which may tell how far it is, on this one.
fn beside<A: Send, B>(other: impl FnOnce() -> A + Send, here: impl FnOnce() -> B) -> (B, A) {
    std::thread::scope(|s| {
        let other = s.spawn(other);
        let here = here();
        (here, other.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)))
    })
}

/// A week climbed to where no change of a line helps, and kicked from there.
fn searched(
    task: &Task,
    choices: &[usize],
    start: &[Line],
    kicks: usize,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Vec<Line> {
    let mut local = Local::new(task, choices, start);
    local.climb();
    local.kicks(kicks, go_on);
    tidy(local.week)
}

fn tidy(mut week: Vec<Line>) -> Vec<Line> {
    week.sort_unstable();
    week
}

/// A week without a broken limit goes before one with; then value counts.
fn better(task: &Task, week: &[Line], than: &[Line]) -> bool {
    let (a, b) = (task.broken(week).len(), task.broken(than).len());
    a < b || (a == b && task.value(week) > task.value(than) + ROUNDING)
}

/// Choices worth a look: those of the present week, of the totals, and the best of each head per set and per second.
pub(crate) fn shortlist(task: &Task, support: &[usize]) -> Vec<usize> {
    let mut keep = vec![false; task.choices.len()];
    task.present.iter().chain(&task.kept).for_each(|l| keep[l.choice] = true);
    support.iter().for_each(|&o| keep[o] = true);
    let worth = |o: usize| -> f64 {
        let c = &task.choices[o];
        let gain = |&(h, credit, _): &(usize, f64, bool)| credit * task.heads[h].pieces.first().map_or(0.0, |p| p.gain);
        c.credits.iter().map(gain).sum()
    };
    for h in (0..task.heads.len()).filter(|&h| task.heads[h].pieces.first().is_some_and(|p| p.gain > 0.0)) {
        let mut by: Vec<(f64, f64, usize)> = task
            .choices
            .iter()
            .enumerate()
            .filter_map(|(o, c)| {
                c.credits.iter().find(|x| x.0 == h).map(|x| (x.1, x.1 * worth(o) / c.set_s.max(1.0), o))
            })
            .collect();
        by.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.2.cmp(&b.2)));
        by.iter().take(BEST_OF_HEAD).for_each(|x| keep[x.2] = true);
        by.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.2.cmp(&b.2)));
        by.iter().take(BEST_OF_HEAD).for_each(|x| keep[x.2] = true);
    }
    let mut out: Vec<usize> = (0..task.choices.len()).filter(|&o| keep[o]).collect();
    // The most work for all heads together first.
    out.sort_by(|a, b| worth(*b).total_cmp(&worth(*a)).then(a.cmp(b)));
    out
}

/// Choices of the second stage: those of the best week and of the totals, at most [`PLACE_CHOICES`] beside the kept.
fn few(task: &Task, best: &[Line], support: &[usize]) -> Vec<usize> {
    let mut out: Vec<usize> = task.kept.iter().chain(best).map(|l| l.choice).collect();
    out.extend(support.iter().copied().chain(task.present.iter().map(|l| l.choice)));
    let mut seen = std::collections::BTreeSet::new();
    out.retain(|o| seen.insert(*o));
    out.truncate(PLACE_CHOICES.max(task.kept.len()));
    out.sort_unstable();
    out
}

/// The totals laid on days: the longest lines first, each on the day that has most time left.
fn spread(task: &Task, first: &crate::totals::Totals, solution: Option<&Solution>) -> Vec<Line> {
    let mut week = task.kept.clone();
    let Some(solution) = solution else { return week };
    let mut lines: Vec<(usize, u32)> = Vec::new();
    for (o, c) in task.choices.iter().enumerate() {
        let kept = week.iter().filter(|l| l.choice == o).map(|l| l.sets).sum::<u32>();
        let mut left = (solution.var_value(first.sets[o]).round().max(0.0) as u32).saturating_sub(kept);
        let mut days = (solution.var_value(first.days[o]).round().max(0.0) as u32).max(1);
        while left >= c.least && days > 0 {
            let sets = left.div_ceil(days).clamp(c.least, c.most);
            lines.push((o, sets.min(left)));
            left = left.saturating_sub(sets);
            days -= 1;
        }
    }
    lines.sort_by(|a, b| {
        let s = |l: &(usize, u32)| task.choices[l.0].set_s * f64::from(l.1);
        s(b).total_cmp(&s(a)).then(a.cmp(b))
    });
    for (choice, sets) in lines {
        let mut days: Vec<usize> = (0..task.days.len()).collect();
        let left = |d: usize, week: &[Line]| {
            let used: f64 = week.iter().filter(|l| l.day == d).map(|l| task.seconds(l)).sum();
            task.days[d].available_s.unwrap_or(1e9) - used
        };
        days.sort_by(|a, b| left(*b, &week).total_cmp(&left(*a, &week)).then(a.cmp(b)));
        // Musts may be unfulfilled on the way; the limits may not be broken.
        let loose = Task { musts: Vec::new(), ..task.clone() };
        let day = days.into_iter().find(|&day| {
            let mut then = week.clone();
            then.push(Line { day, choice, sets });
            loose.broken(&then).is_empty()
        });
        week.extend(day.map(|day| Line { day, choice, sets }));
    }
    week
}
