//! Laws that hold for every week, whatever its numbers.

mod common;

use common::{demanding, week};
use planner::{Effort, SolveError, Task, TaskError, Wish, apply, changes, exact, free, solve, undo};
use proptest::prelude::*;

/// Value; rows of the solver are held to 1e-7.
const TOLERANCE: f64 = 1e-4;

fn best(task: &Task) -> f64 {
    exact(task).expect("a week").value
}

/// Value of one head's dose.
fn of_head(task: &Task, pieces_of: &Task, head: usize) -> f64 {
    let answer = exact(task).expect("a week");
    pieces_of.heads[head].value(task.sums(&answer.week).credited[head])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn more_minutes_never_worsen_the_best_week(seed in any::<u64>(), more in 0.0..1800.0f64) {
        let task = week(seed);
        let mut longer = task.clone();
        for d in &mut longer.days {
            d.available_s = d.available_s.map(|s| s + more);
        }
        // The dearest reserve is none: time is paid by the minute used, not by the minute there.
        prop_assert!(best(&longer) >= best(&task) - TOLERANCE);
    }

    #[test]
    fn more_kit_never_worsens_the_best_week(seed in any::<u64>()) {
        let task = week(seed);
        let mut fewer = task.clone();
        let last = fewer.choices.len() - 1;
        fewer.choices.pop();
        fewer.present.retain(|l| l.choice != last);
        prop_assert!(best(&task) >= best(&fewer) - TOLERANCE);
    }

    #[test]
    fn a_head_that_counts_more_gets_no_less(seed in any::<u64>(), factor in 1.0..4.0f64) {
        let task = week(seed);
        let mut heavier = task.clone();
        heavier.heads[0].pieces.iter_mut().for_each(|p| p.gain *= factor);
        prop_assert!(of_head(&heavier, &task, 0) >= of_head(&task, &task, 0) - TOLERANCE * 10.0);
    }

    #[test]
    fn no_limit_is_broken_and_the_bound_holds(seed in any::<u64>()) {
        let task = week(seed);
        let answer = solve(&task, &Effort::default(), &mut |_| true).expect("a week");
        prop_assert_eq!(task.broken(&answer.week), Vec::<String>::new());
        let optimum = best(&task);
        prop_assert!(answer.value <= optimum + TOLERANCE, "{} above {}", answer.value, optimum);
        prop_assert!(answer.bound >= optimum - TOLERANCE, "bound {} below {}", answer.bound, optimum);
    }

    #[test]
    fn the_same_task_has_the_same_answer_and_undo_restores_the_week(seed in any::<u64>()) {
        let task = week(seed);
        let first = solve(&task, &Effort::default(), &mut |_| true).expect("a week");
        let again = solve(&task, &Effort::default(), &mut |_| true).expect("a week");
        prop_assert_eq!(format!("{:?}", first), format!("{:?}", again));
        let mut present = task.present.clone();
        present.sort_unstable();
        let steps = changes(&present, &first.week);
        let there = apply(&present, &steps).expect("steps that fit");
        prop_assert_eq!(&there, &first.week);
        prop_assert_eq!(apply(&there, &undo(&steps)), Some(present));
    }

    #[test]
    fn what_is_freed_frees_and_is_least(seed in any::<u64>(), sets in 2.0..25.0f64) {
        let mut task = demanding(seed, sets);
        // One kept line makes wishes that compete for the same minutes.
        task.kept.extend(task.present.first().copied());
        let feasible = |t: &Task| !matches!(exact(t), Err(SolveError::Clash));
        let freed = free(&task, &[], 5000, &mut || true).expect("an answer");
        if feasible(&task) {
            prop_assert!(freed.wishes.is_empty(), "{:?}", freed.wishes);
            return Ok(());
        }
        prop_assert!(!freed.wishes.is_empty());
        let mut relaxed = task.clone();
        let mut gone = Vec::new();
        for (wish, amount) in &freed.wishes {
            match wish {
                Wish::Kept(i) => gone.push((*i, *amount)),
                Wish::Must(i) => relaxed.musts[*i].at_least -= amount + 1e-6,
                Wish::Minutes(d) => relaxed.days[*d].available_s = relaxed.days[*d].available_s.map(|s| s + amount + 0.1),
                Wish::New => relaxed.most_new = relaxed.most_new.map(|n| n + amount.ceil() as u32),
                Wish::Avoided(_) => {}
            }
        }
        for (i, _) in gone.iter().rev() {
            relaxed.kept.remove(*i);
        }
        prop_assert!(feasible(&relaxed), "{:?}", freed.wishes);
        // By hand: when giving up one wish alone is enough, no more than one is named.
        let mut alone: Vec<Task> = Vec::new();
        let without = |change: &dyn Fn(&mut Task)| {
            let mut t = task.clone();
            change(&mut t);
            t
        };
        alone.push(without(&|t| t.musts.clear()));
        alone.push(without(&|t| t.kept.clear()));
        alone.push(without(&|t| t.most_new = None));
        for d in 0..task.days.len() {
            alone.push(without(&|t| t.days[d].available_s = t.days[d].available_s.map(|s| s + 4.0 * 3600.0)));
        }
        if freed.proven && alone.iter().any(feasible) {
            prop_assert_eq!(freed.wishes.len(), 1, "{:?}", freed.wishes);
        }
    }
}

#[test]
fn work_can_be_ended_early_and_still_answers() {
    let task = week(7);
    let answer = solve(&task, &Effort::default(), &mut |_| false).expect("the quick week");
    assert!(task.broken(&answer.week).is_empty() && answer.bound >= answer.value);
}

#[test]
fn a_task_that_is_none_says_what_to_change() {
    let check = |change: &dyn Fn(&mut Task), expected: &str| {
        let mut task = week(3);
        change(&mut task);
        let error = solve(&task, &Effort::default(), &mut |_| true).expect_err("no task").to_string();
        assert!(error.contains(expected), "{error}");
    };
    check(&|t| t.days.clear(), "the week has no day");
    check(&|t| t.days[0].available_s = Some(0.0), "day 0 has 0 min");
    check(&|t| t.days[0].available_s = Some(-600.0), "day 0 has -10 min");
    check(&|t| t.days[0].available_s = Some(f64::NAN), "min; give it more than 0");
    check(&|t| t.choices.clear(), "no movement is left");
    check(&|t| t.choices[0].set_s = -1.0, "the time of a set of movement 0 is -1");
    check(&|t| t.choices[0].credits = vec![(99, 1.0, false)], "head number 99 is not in a list");
    check(&|t| t.choices[0].credits = vec![(0, f64::NAN, false)], "a credit of movement 0 is NaN");
    check(&|t| t.heads[0].session_most = -2.0, "the session limit of head 0 is -2");
    check(&|t| t.kept = vec![planner::Line { day: 9, choice: 0, sets: 2 }], "day number 9 is not in a list");
    assert_eq!(Task::default().check(), Err(TaskError::NoDays));
}
