//! Wishes that clash. An elastic programme: every wish may give way at a price, and the fewest that must are found, each
//! with its smallest amount. What protects the client (sessions, jumps of dose, gates) never gives way.

use crate::local::Local;
use crate::solve::{SolveError, run, shortlist};
use crate::task::{Line, ROUNDING, Task};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Stats, Variable};
use std::collections::BTreeMap;

/// A wish that may give way.
#[derive(Clone, Debug, PartialEq)]
pub enum Wish {
    /// Number of a kept line of the task.
    Kept(usize),
    /// Number of a demanded dose.
    Must(usize),
    /// Number of a day: its minutes.
    Minutes(usize),
    /// The number of new movements.
    New,
    /// Number of a choice that the client does not want (`avoided`).
    Avoided(usize),
}

/// What has to give way.
#[derive(Clone, Debug, PartialEq)]
pub struct Freed {
    /// Each wish with its amount: sets for a kept line, credited sets for a dose, seconds for a day, movements for new ones,
    /// 1 for a choice that is not wanted.
    pub wishes: Vec<(Wish, f64)>,
    /// No smaller number of wishes would do, by the solver's bound.
    pub proven: bool,
}

/// Most a day may be lengthened, s.
const MOST_MORE_S: f64 = 4.0 * 3600.0;
/// Price of amounts against the price 1 of giving up one more wish: the whole of one wish costs at most this.
const AMOUNT: f64 = 0.05;
/// Choices that help a demanded dose most, taken into the programme.
const BEST: usize = 6;

/// The fewest wishes to give up, with the least amounts. `avoided` are choices of the task that the client does not want.
pub fn free(task: &Task, avoided: &[usize], nodes: u64, go_on: &mut dyn FnMut() -> bool) -> Result<Freed, SolveError> {
    task.check()?;
    // A week that leaves the limits alone and comes as near to the wishes as the search gets: the solver begins there.
    let near = nearest(task, avoided);
    let choices = useful(task, avoided, &near);
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let mut wishes: Vec<(Wish, Variable, Variable)> = Vec::new();
    // One wish: given up or not, and by how much.
    let wish = |problem: &mut Problem, of: Wish, most: f64| -> Variable {
        let given_up = problem.add_binary_var(1.0);
        let amount = problem.add_var(AMOUNT / most.max(1e-6), (0.0, most));
        problem.add_constraint([(amount, 1.0), (given_up, -most)], ComparisonOp::Le, 0.0);
        wishes.push((of, given_up, amount));
        amount
    };
    let mut wish = wish;
    let kept: Vec<Variable> =
        task.kept.iter().enumerate().map(|(i, l)| wish(&mut problem, Wish::Kept(i), f64::from(l.sets))).collect();
    let mut doses: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); task.heads.len()];
    let mut movements: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
    let mut of_avoided: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
    let mut all = Vec::new();
    let mut cells: Vec<(usize, usize, Variable, Variable)> = Vec::new();
    let mut new: Vec<(usize, Variable)> = Vec::new();
    for (d, day) in task.days.iter().enumerate() {
        let (mut time, mut lines) = (Vec::new(), Vec::new());
        let mut sessions: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); task.heads.len()];
        let mut here: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
        for &o in &choices {
            let c = &task.choices[o];
            let line = task.kept.iter().position(|l| l.choice == o && l.day == d);
            let (low, high) = line.map_or((c.least, c.most), |i| (1, task.kept[i].sets));
            let x = problem.add_integer_var(0.0, (0, high as i32));
            let y = problem.add_binary_var(0.0);
            cells.push((o, d, x, y));
            problem.add_constraint([(x, 1.0), (y, -f64::from(high))], ComparisonOp::Le, 0.0);
            problem.add_constraint([(x, 1.0), (y, -f64::from(low))], ComparisonOp::Ge, 0.0);
            if let Some(i) = line {
                problem.add_constraint([(x, 1.0), (kept[i], 1.0)], ComparisonOp::Ge, f64::from(high));
            }
            time.extend([(x, c.set_s / 60.0), (y, c.once_s / 60.0)]);
            lines.push((y, 1.0));
            all.push((x, 1.0));
            for &(h, credit, _) in &c.credits {
                doses[h].push((x, credit));
                sessions[h].push((x, credit));
            }
            here.entry(c.movement).or_default().push(y);
            movements.entry(c.movement).or_default().push(y);
            if avoided.contains(&o) {
                of_avoided.entry(o).or_default().push(y);
            }
        }
        if let Some(t) = day.available_s {
            let more = wish(&mut problem, Wish::Minutes(d), MOST_MORE_S / 60.0);
            time.push((more, -1.0));
            problem.add_constraint(&time, ComparisonOp::Le, t / 60.0);
        }
        problem.add_constraint(&lines, ComparisonOp::Le, f64::from(task.most_lines));
        for same in here.values().filter(|s| s.len() > 1) {
            let row: Vec<(Variable, f64)> = same.iter().map(|y| (*y, 1.0)).collect();
            problem.add_constraint(&row, ComparisonOp::Le, 1.0);
        }
        for (h, row) in sessions.iter().enumerate().filter(|(_, r)| !r.is_empty()) {
            problem.add_constraint(row, ComparisonOp::Le, task.heads[h].session_most);
        }
    }
    for (h, head) in task.heads.iter().enumerate() {
        if let (Some(most), false) = (head.week_most, doses[h].is_empty()) {
            problem.add_constraint(&doses[h], ComparisonOp::Le, most);
        }
    }
    if let Some(most) = task.most_sets {
        problem.add_constraint(&all, ComparisonOp::Le, f64::from(most));
    }
    for (m, must) in task.musts.iter().enumerate() {
        let lack = wish(&mut problem, Wish::Must(m), must.at_least);
        let mut row: Vec<(Variable, f64)> = vec![(lack, 1.0)];
        for &(h, weight) in &must.heads {
            for &(v, credit) in &doses[h] {
                match row.iter_mut().find(|t| t.0 == v) {
                    Some(t) => t.1 += weight * credit,
                    None => row.push((v, weight * credit)),
                }
            }
        }
        problem.add_constraint(&row, ComparisonOp::Ge, must.at_least - ROUNDING);
    }
    for (o, lines) in &of_avoided {
        let used = wish(&mut problem, Wish::Avoided(*o), 1.0);
        let mut row: Vec<(Variable, f64)> = lines.iter().map(|y| (*y, 1.0)).collect();
        row.push((used, -(task.days.len() as f64)));
        problem.add_constraint(&row, ComparisonOp::Le, 0.0);
    }
    if let Some(most) = task.most_new {
        let is_new = |m: usize| task.choices.iter().any(|c| c.movement == m && c.new);
        let mut row = vec![];
        for (m, lines) in movements.iter().filter(|(m, _)| is_new(**m)) {
            let z = problem.add_binary_var(0.0);
            new.push((*m, z));
            let mut link: Vec<(Variable, f64)> = lines.iter().map(|y| (*y, 1.0)).collect();
            link.push((z, -(task.days.len() as f64)));
            problem.add_constraint(&link, ComparisonOp::Le, 0.0);
            row.push((z, 1.0));
        }
        if !row.is_empty() {
            let more = wish(&mut problem, Wish::New, row.len() as f64);
            row.push((more, -1.0));
            problem.add_constraint(&row, ComparisonOp::Le, f64::from(most));
        }
    }
    let start = start(task, &near, &cells, &new, &wishes);
    // One wish fewer would cost this at most, amounts and all: a bound beyond it proves the number, and the work ends once
    // the amounts have had their share of it.
    let fewer = |count: f64| (count - 1.0).max(0.0) * (1.0 + AMOUNT);
    let result = run(&problem, Some(start), 1e-6, nodes, &mut |s: &Stats| {
        // The gap is told as a share of the cost at hand.
        let at_hand = s.best_bound.zip(s.gap.filter(|g| *g < 1.0)).map(|(bound, gap)| (bound, bound / (1.0 - gap)));
        let counted = at_hand.is_some_and(|(bound, cost)| s.nodes_solved >= nodes / 10 && bound > fewer(cost.floor()));
        go_on() && !counted
    })?;
    let Some(solution) = result.solution else { return Err(SolveError::Stopped) };
    let given_up = |w: &(Wish, Variable, Variable)| {
        let amount = solution.var_value(w.2);
        let amount = if matches!(w.0, Wish::Minutes(_)) { 60.0 * amount } else { amount };
        (solution.var_value(w.1) > 0.5).then(|| (w.0.clone(), amount))
    };
    let freed: Vec<(Wish, f64)> = wishes.iter().filter_map(given_up).collect();
    let bound = result.stats.best_bound.unwrap_or(0.0);
    let proven = bound > fewer(freed.len() as f64) + ROUNDING || result.stats.gap.is_some_and(|g| g <= 1e-5);
    Ok(Freed { wishes: freed, proven })
}

/// What the search makes of the wishes with what is kept. Empty where that breaks more than wishes.
fn nearest(task: &Task, avoided: &[usize]) -> Vec<Line> {
    let choices: Vec<usize> = shortlist(task, &[]).into_iter().filter(|o| !avoided.contains(o)).collect();
    let mut local = Local::new(task, &choices, &task.kept);
    local.climb();
    let sums = task.sums(&local.week);
    // All but the wishes must hold.
    let mut bare = Task { musts: Vec::new(), most_new: None, ..task.clone() };
    for (d, day) in bare.days.iter_mut().enumerate() {
        let beyond = day.available_s.is_some_and(|t| sums.seconds[d] > t + MOST_MORE_S);
        day.available_s = if beyond { Some(0.0) } else { None };
    }
    if bare.broken(&local.week).is_empty() { local.week } else { Vec::new() }
}

/// A start for the solver: a week, with every wish given up as far as the week needs it. The empty week gives up all of what
/// is kept and demanded.
fn start(
    task: &Task,
    week: &[Line],
    cells: &[(usize, usize, Variable, Variable)],
    new: &[(usize, Variable)],
    wishes: &[(Wish, Variable, Variable)],
) -> Vec<(Variable, f64)> {
    let used = task.new_movements(week);
    let sums = task.sums(week);
    let bit = |yes: bool| if yes { 1.0 } else { 0.0 };
    let mut out: Vec<(Variable, f64)> = new.iter().map(|(m, z)| (*z, bit(used.contains(m)))).collect();
    for &(choice, day, x, y) in cells {
        let sets = week.iter().find(|l| l.choice == choice && l.day == day).map_or(0, |l| l.sets);
        out.extend([(x, f64::from(sets)), (y, bit(sets > 0))]);
    }
    for (wish, given_up, amount) in wishes {
        let lacks: f64 = match wish {
            Wish::Kept(i) => {
                let k = &task.kept[*i];
                let there = week.iter().find(|l| l.choice == k.choice && l.day == k.day).map_or(0, |l| l.sets);
                f64::from(k.sets.saturating_sub(there))
            }
            Wish::Must(m) => {
                let must = &task.musts[*m];
                must.at_least - must.heads.iter().map(|&(h, w)| w * sums.credited[h]).sum::<f64>()
            }
            Wish::Minutes(d) => task.days[*d].available_s.map_or(0.0, |t| (sums.seconds[*d] - t) / 60.0),
            Wish::New => used.len() as f64 - task.most_new.map_or(f64::MAX, f64::from),
            Wish::Avoided(_) => 0.0,
        };
        let lacks = if lacks > ROUNDING { lacks } else { 0.0 };
        out.extend([(*given_up, bit(lacks > 0.0)), (*amount, lacks)]);
    }
    out
}

/// Choices that may matter to a wish: kept, not wanted, those of a week at hand, and the best for each demanded head.
fn useful(task: &Task, avoided: &[usize], week: &[Line]) -> Vec<usize> {
    let mut keep: Vec<usize> = task.kept.iter().chain(week).map(|l| l.choice).chain(avoided.iter().copied()).collect();
    let wanted: std::collections::BTreeSet<usize> =
        task.musts.iter().flat_map(|m| m.heads.iter().filter(|x| x.1 > 0.05).map(|x| x.0)).collect();
    let musts = |o: usize| -> f64 {
        let credit = |h: usize| task.choices[o].credits.iter().find(|x| x.0 == h).map_or(0.0, |x| x.1);
        task.musts.iter().flat_map(|m| &m.heads).map(|&(h, w)| w * credit(h)).sum()
    };
    let mut top = |score: &dyn Fn(usize) -> f64, from: &dyn Fn(usize) -> bool| {
        let mut by: Vec<(f64, usize)> =
            (0..task.choices.len()).filter(|&o| from(o)).map(|o| (score(o), o)).filter(|x| x.0 > 1e-6).collect();
        by.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        keep.extend(by.into_iter().take(BEST).map(|x| x.1));
    };
    let old = |o: usize| !task.choices[o].new;
    for &h in &wanted {
        let credit = |o: usize| task.choices[o].credits.iter().find(|x| x.0 == h).map_or(0.0, |x| x.1);
        top(&credit, &|_| true);
        top(&credit, &old);
    }
    top(&musts, &|_| true);
    top(&musts, &old);
    top(&|o| musts(o) / task.choices[o].set_s.max(1.0), &|_| true);
    keep.sort_unstable();
    keep.dedup();
    keep
}
