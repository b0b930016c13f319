//! The two stages against a general solver for mixed-integer programmes on 50 random weeks. `tests/golden/weeks.json` was
//! made by `tests/golden/weeks.py` (SciPy `milp`, which calls HiGHS), which writes the programme down by itself.

use planner::{Effort, Task, exact, solve};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    task: Task,
    /// Best value by the general solver and its own bound.
    value: f64,
    bound: f64,
}

fn cases() -> Vec<Case> {
    serde_json::from_str(include_str!("golden/weeks.json")).expect("golden weeks")
}

/// The general solver's own gap was 1e-6; both sides work in rows held to 1e-7.
const TOLERANCE: f64 = 2e-4;

#[test]
fn fifty_weeks_agree_with_a_general_solver() {
    let all = cases();
    assert_eq!(all.len(), 50);
    let mut gaps = Vec::new();
    for (i, case) in all.iter().enumerate() {
        let answer = solve(&case.task, &Effort::default(), &mut |_| true).expect("a week");
        assert!(case.task.broken(&answer.week).is_empty(), "{i}: {:?}", case.task.broken(&answer.week));
        assert!((case.task.value(&answer.week) - answer.value).abs() < 1e-9);
        // Neither may be better than the optimum, and the bound may not be below it.
        assert!(answer.value <= case.bound + TOLERANCE, "{i}: {} above {}", answer.value, case.bound);
        assert!(answer.bound >= case.value - TOLERANCE, "{i}: bound {} below {}", answer.bound, case.value);
        gaps.push(((case.value - answer.value) / case.value, answer.gap()));
    }
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0));
    let worst = gaps[0].0;
    let mean = gaps.iter().map(|g| g.0).sum::<f64>() / 50.0;
    let stated = gaps.iter().map(|g| g.1).fold(0.0, f64::max);
    println!("below the optimum: worst {worst:.4}, mean {mean:.4}; largest stated gap {stated:.4}");
    assert!(worst < 0.03 && mean < 0.01, "worst {worst}, mean {mean}");
}

#[test]
fn the_whole_programme_reaches_the_optimum() {
    for (i, case) in cases().iter().enumerate().filter(|(_, c)| c.task.choices.len() <= 8) {
        let answer = exact(&case.task).expect("a week");
        assert!(case.task.broken(&answer.week).is_empty(), "{i}");
        assert!((answer.value - case.value).abs() < TOLERANCE, "{i}: {} v {}", answer.value, case.value);
    }
}
