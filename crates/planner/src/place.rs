//! Second stage: sets of some choices on each day. With all choices it is the whole programme.

use crate::task::{Line, ROUNDING, Task};
use crate::totals::{Doses, head_rows, new_rows};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Solution, Variable};
use std::collections::BTreeMap;

/// The programme of days with its variables.
pub(crate) struct Place {
    pub problem: Problem,
    /// (choice, day, sets, used).
    cells: Vec<(usize, usize, Variable, Variable)>,
    new: Vec<(usize, Variable)>,
}

/// Builds the programme over `choices`, which hold every kept one.
pub(crate) fn place(task: &Task, choices: &[usize]) -> Place {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let p = &task.prices;
    let mut doses: Doses = vec![Vec::new(); task.heads.len()];
    let mut cells = Vec::new();
    let mut movements: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
    for (d, day) in task.days.iter().enumerate() {
        let mut time = Vec::new();
        let mut lines = Vec::new();
        let mut sessions: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); task.heads.len()];
        let mut here: BTreeMap<usize, Vec<Variable>> = BTreeMap::new();
        for &o in choices {
            let c = &task.choices[o];
            let kept = task.kept_on(o, d);
            let smallest = Line { day: d, choice: o, sets: c.least };
            if kept.is_none() && day.available_s.is_some_and(|t| task.seconds(&smallest) > t + ROUNDING) {
                continue;
            }
            let (low, high) = kept.map_or((c.least, c.most), |s| (s, s));
            let stay = if task.stays(o, d) { p.stay } else { 0.0 };
            let x = problem.add_integer_var(-p.minute * c.set_s / 60.0, (0, high as i32));
            let y = problem.add_integer_var(stay - p.line - p.minute * c.once_s / 60.0, (i32::from(kept.is_some()), 1));
            problem.add_constraint([(x, 1.0), (y, -f64::from(high))], ComparisonOp::Le, 0.0);
            problem.add_constraint([(x, 1.0), (y, -f64::from(low))], ComparisonOp::Ge, 0.0);
            time.extend([(x, c.set_s / 60.0), (y, c.once_s / 60.0)]);
            lines.push((y, 1.0));
            for &(h, credit, long) in &c.credits {
                doses[h].push((x, credit, long));
                sessions[h].push((x, credit));
            }
            here.entry(c.movement).or_default().push(y);
            movements.entry(c.movement).or_default().push(y);
            cells.push((o, d, x, y));
        }
        if lines.is_empty() {
            continue;
        }
        if let Some(t) = day.available_s {
            problem.add_constraint(&time, ComparisonOp::Le, t / 60.0);
        }
        problem.add_constraint(&lines, ComparisonOp::Le, f64::from(task.most_lines));
        for same in here.values().filter(|s| s.len() > 1) {
            let row: Vec<(Variable, f64)> = same.iter().map(|y| (*y, 1.0)).collect();
            problem.add_constraint(&row, ComparisonOp::Le, 1.0);
        }
        for (h, row) in sessions.iter().enumerate().filter(|(_, r)| !r.is_empty()) {
            let most = task.heads[h].session_most;
            if most.is_finite() {
                problem.add_constraint(row, ComparisonOp::Le, most);
            }
        }
    }
    head_rows(&mut problem, task, &doses);
    let all: Vec<(Variable, f64)> = cells.iter().map(|c| (c.2, 1.0)).collect();
    if let Some(most) = task.most_sets
        && !all.is_empty()
    {
        problem.add_constraint(&all, ComparisonOp::Le, f64::from(most));
    }
    let new = new_rows(&mut problem, task, &movements, task.days.len() as f64);
    Place { problem, cells, new }
}

impl Place {
    /// A week as a start for the solver.
    pub fn start(&self, task: &Task, week: &[Line]) -> Vec<(Variable, f64)> {
        let used = task.new_movements(week);
        let mut out: Vec<(Variable, f64)> =
            self.new.iter().map(|(m, z)| (*z, if used.contains(m) { 1.0 } else { 0.0 })).collect();
        for &(choice, day, x, y) in &self.cells {
            let sets = week.iter().find(|l| l.choice == choice && l.day == day).map_or(0, |l| l.sets);
            out.extend([(x, f64::from(sets)), (y, if sets > 0 { 1.0 } else { 0.0 })]);
        }
        out
    }

    /// The week of a solution.
    pub fn week(&self, solution: &Solution) -> Vec<Line> {
        let line = |&(choice, day, x, _): &(usize, usize, Variable, Variable)| {
            let sets = solution.var_value(x).round().max(0.0) as u32;
            (sets > 0).then_some(Line { day, choice, sets })
        };
        let mut week: Vec<Line> = self.cells.iter().filter_map(line).collect();
        week.sort_unstable();
        week
    }
}
