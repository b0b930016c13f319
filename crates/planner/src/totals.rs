//! First stage: sets a week and days of each choice, without saying which days. Every week is a point of this programme
//! with the same value or more, so that its bound holds for all weeks.

use crate::task::{ROUNDING, Task};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

/// The programme of weekly totals with its variables.
pub(crate) struct Totals {
    pub problem: Problem,
    /// Sets of the week and days of each choice.
    pub sets: Vec<Variable>,
    pub days: Vec<Variable>,
}

/// Doses of the heads as terms: `terms[head]` = (variable, credit, long).
pub(crate) type Doses = Vec<Vec<(Variable, f64, bool)>>;

/// Rows that say what the doses are worth, what they may be and what they must be.
pub(crate) fn head_rows(problem: &mut Problem, task: &Task, doses: &Doses) {
    for (h, head) in task.heads.iter().enumerate() {
        let terms: Vec<(Variable, f64)> = doses[h].iter().map(|&(v, credit, _)| (v, credit)).collect();
        if terms.is_empty() {
            continue;
        }
        if let Some(most) = head.week_most {
            problem.add_constraint(&terms, ComparisonOp::Le, most);
        }
        if head.pieces.iter().any(|p| p.gain != 0.0) {
            let mut row = terms.clone();
            for (i, p) in head.pieces.iter().enumerate() {
                let most = if i + 1 == head.pieces.len() { f64::INFINITY } else { p.width };
                row.push((problem.add_var(p.gain, (0.0, most)), -1.0));
            }
            problem.add_constraint(&row, ComparisonOp::Eq, 0.0);
        }
        if head.long_price > 0.0 && head.long_share > 0.0 {
            let lack = problem.add_var(-head.long_price, (0.0, f64::INFINITY));
            let share = |credit: f64, long: bool| (head.long_share - if long { 1.0 } else { 0.0 }) * credit;
            let mut row: Vec<(Variable, f64)> = doses[h].iter().map(|&(v, c, long)| (v, share(c, long))).collect();
            row.push((lack, -1.0));
            problem.add_constraint(&row, ComparisonOp::Le, 0.0);
        }
    }
    for must in &task.musts {
        let mut row: Vec<(Variable, f64)> = Vec::new();
        for &(h, weight) in &must.heads {
            for &(v, credit, _) in &doses[h] {
                match row.iter_mut().find(|t| t.0 == v) {
                    Some(t) => t.1 += weight * credit,
                    None => row.push((v, weight * credit)),
                }
            }
        }
        problem.add_constraint(&row, ComparisonOp::Ge, must.at_least - ROUNDING);
    }
}

/// Builds the programme. `whole`: sets and days are whole numbers; else the relaxation in real numbers.
pub(crate) fn totals(task: &Task) -> Totals {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let days_n = task.days.len() as i32;
    let p = &task.prices;
    let mut doses: Doses = vec![Vec::new(); task.heads.len()];
    let (mut sets, mut days) = (Vec::new(), Vec::new());
    let mut time = Vec::new();
    let mut movements: std::collections::BTreeMap<usize, Vec<Variable>> = std::collections::BTreeMap::new();
    for (o, c) in task.choices.iter().enumerate() {
        let kept: Vec<u32> = task.kept.iter().filter(|l| l.choice == o).map(|l| l.sets).collect();
        let (kept_sets, kept_days) = (kept.iter().sum::<u32>(), kept.len() as i32);
        // Only days whose time holds the smallest line can hold one: a valid cut.
        let fits =
            |d: &crate::Day| d.available_s.is_none_or(|t| c.set_s * f64::from(c.least) + c.once_s <= t + ROUNDING);
        let possible = (task.days.iter().filter(|d| fits(d)).count() as i32).max(kept_days).min(days_n);
        let most_a_day = c.most.max(kept.iter().copied().max().unwrap_or(0)) as i32;
        let x = problem.add_integer_var(-p.minute * c.set_s / 60.0, (kept_sets as i32, possible * most_a_day));
        let k = problem.add_integer_var(-p.line - p.minute * c.once_s / 60.0, (kept_days, possible));
        // Each kept line may lie outside the span of a free one.
        let (mut over, mut under) = (0.0, 0.0);
        for s in &kept {
            over += (f64::from(*s) - f64::from(c.most)).max(0.0);
            under += (f64::from(c.least) - f64::from(*s)).max(0.0);
        }
        problem.add_constraint([(x, 1.0), (k, -f64::from(c.most))], ComparisonOp::Le, over);
        problem.add_constraint([(x, 1.0), (k, -f64::from(c.least))], ComparisonOp::Ge, -under);
        let was = task.present.iter().filter(|l| l.choice == o).count();
        if was > 0 && p.stay > 0.0 {
            let stay = problem.add_var(p.stay, (0.0, was as f64));
            problem.add_constraint([(stay, 1.0), (k, -1.0)], ComparisonOp::Le, 0.0);
        }
        time.extend([(x, c.set_s), (k, c.once_s)]);
        for &(h, credit, long) in &c.credits {
            doses[h].push((x, credit, long));
        }
        movements.entry(c.movement).or_default().push(k);
        sets.push(x);
        days.push(k);
    }
    if let Some(all) = task.days.iter().map(|d| d.available_s).sum::<Option<f64>>() {
        // In minutes, so that the row's numbers keep near those of the others.
        let row: Vec<(Variable, f64)> = time.iter().map(|&(v, s)| (v, s / 60.0)).collect();
        problem.add_constraint(&row, ComparisonOp::Le, all / 60.0);
    }
    head_rows(&mut problem, task, &doses);
    for (h, head) in task.heads.iter().enumerate() {
        let most = head.session_most * f64::from(days_n);
        let row: Vec<(Variable, f64)> = doses[h].iter().map(|&(v, credit, _)| (v, credit)).collect();
        if !row.is_empty() && most.is_finite() && head.week_most.is_none_or(|w| w > most) {
            problem.add_constraint(&row, ComparisonOp::Le, most);
        }
    }
    for same in movements.values().filter(|s| s.len() > 1) {
        let row: Vec<(Variable, f64)> = same.iter().map(|k| (*k, 1.0)).collect();
        problem.add_constraint(&row, ComparisonOp::Le, f64::from(days_n));
    }
    let lines: Vec<(Variable, f64)> = days.iter().map(|k| (*k, 1.0)).collect();
    problem.add_constraint(&lines, ComparisonOp::Le, f64::from(task.most_lines) * f64::from(days_n));
    if let Some(most) = task.most_sets {
        let row: Vec<(Variable, f64)> = sets.iter().map(|x| (*x, 1.0)).collect();
        problem.add_constraint(&row, ComparisonOp::Le, f64::from(most));
    }
    new_rows(&mut problem, task, &movements, f64::from(days_n));
    Totals { problem, sets, days }
}

/// Use of new movements: one yes or no a movement.
pub(crate) fn new_rows(
    problem: &mut Problem,
    task: &Task,
    movements: &std::collections::BTreeMap<usize, Vec<Variable>>,
    most: f64,
) -> Vec<(usize, Variable)> {
    if task.most_new.is_none() && task.prices.new <= 0.0 {
        return Vec::new();
    }
    let is_new = |m: usize| task.choices.iter().any(|c| c.movement == m && c.new);
    let mut new = Vec::new();
    for (&m, lines) in movements.iter().filter(|(m, _)| is_new(**m)) {
        let z = problem.add_binary_var(-task.prices.new);
        let mut row: Vec<(Variable, f64)> = lines.iter().map(|v| (*v, 1.0)).collect();
        row.push((z, -most));
        problem.add_constraint(&row, ComparisonOp::Le, 0.0);
        new.push((m, z));
    }
    if let Some(most) = task.most_new {
        let row: Vec<(Variable, f64)> = new.iter().map(|(_, z)| (*z, 1.0)).collect();
        if !row.is_empty() {
            problem.add_constraint(&row, ComparisonOp::Le, f64::from(most));
        }
    }
    new
}
