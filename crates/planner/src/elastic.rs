//! Wishes that clash. An elastic programme: every wish may give way at a price, and the fewest that must are found, each
//! with its smallest amount. What protects the client (sessions, jumps of dose, gates) never gives way.

use crate::solve::{SolveError, run};
use crate::task::{Line, ROUNDING, Task};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};
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
    let choices = useful(task, avoided);
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let mut wishes: Vec<(Wish, Variable, Variable)> = Vec::new();
    // Giving up every wish leaves the empty week: the solver begins there, so that a solution exists.
    let mut start: Vec<(Variable, f64)> = Vec::new();
    let mut given: Vec<(Variable, f64)> = Vec::new();
    // One wish: given up or not, and by how much.
    let wish = |problem: &mut Problem, of: Wish, most: f64| -> Variable {
        let given_up = problem.add_binary_var(1.0);
        let amount = problem.add_var(AMOUNT / most.max(1e-6), (0.0, most));
        problem.add_constraint([(amount, 1.0), (given_up, -most)], ComparisonOp::Le, 0.0);
        wishes.push((of, given_up, amount));
        given.extend([(given_up, 1.0), (amount, most)]);
        amount
    };
    let mut wish = wish;
    let kept: Vec<Variable> =
        task.kept.iter().enumerate().map(|(i, l)| wish(&mut problem, Wish::Kept(i), f64::from(l.sets))).collect();
    let mut doses: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); task.heads.len()];
    let mut movements: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
    let mut of_avoided: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
    let mut all = Vec::new();
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
            start.extend([(x, 0.0), (y, 0.0)]);
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
        for (_, lines) in movements.iter().filter(|(m, _)| is_new(**m)) {
            let z = problem.add_binary_var(0.0);
            start.push((z, 0.0));
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
    start.extend(given);
    let result = run(&problem, Some(start), 1e-6, nodes, &mut |_| go_on())?;
    let Some(solution) = result.solution else { return Err(SolveError::Stopped) };
    let given_up = |w: &(Wish, Variable, Variable)| {
        let amount = solution.var_value(w.2);
        let amount = if matches!(w.0, Wish::Minutes(_)) { 60.0 * amount } else { amount };
        (solution.var_value(w.1) > 0.5).then(|| (w.0.clone(), amount))
    };
    let freed: Vec<(Wish, f64)> = wishes.iter().filter_map(given_up).collect();
    let proven = result.stats.gap.is_some_and(|g| g <= 1e-5);
    Ok(Freed { wishes: freed, proven })
}

/// Choices that may matter to a wish: kept, not wanted, present, and the best for each demanded head.
fn useful(task: &Task, avoided: &[usize]) -> Vec<usize> {
    let mut keep: Vec<usize> = task.kept.iter().map(|l: &Line| l.choice).chain(avoided.iter().copied()).collect();
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
