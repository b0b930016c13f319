//! Load sharing against general solvers: all 434 solves of the golden file, three costs, saturated and overloaded
//! frames included. Reference: Clarabel 0.11 (second-order cones for the cube), multipliers polished with MINPACK;
//! `golden/make_golden.py`.

mod support;

use numerics::sharing::{Options, Outcome, Problem, Route, Workspace};
use support::{CRITERIA, Criterion, golden, largest};

/// The activations in the file are rounded to 1e-6, and the reference's own gap is up to 1e-13.
const ACTIVATION: f64 = 1e-5;
/// Relative, the objective being printed with ten digits.
const OBJECTIVE: f64 = 2e-9;
/// Relative gap between our own primal and dual value: a certificate that needs no reference.
const OWN_GAP: f64 = 1e-10;
/// How far cold and warm answers may lie apart.
const COLD_WARM: f64 = 1e-5;

struct Case<'a, const M: usize> {
    what: String,
    problem: Problem<M>,
    answer: &'a support::Answer,
}

fn check<const M: usize>(case: &Case<M>, ws: &Workspace<M>, outcome: Outcome) {
    let Case { what, problem, answer } = case;
    assert!(outcome.converged, "{what}: not converged, {outcome:?}");
    let off = largest((0..problem.muscles).map(|j| ws.x[j] - answer.a[j]));
    assert!(off <= ACTIVATION, "{what}: activation off by {off:.1e}, {outcome:?}");
    let (primal, dual, _) = problem.values(&ws.x, &ws.lambda);
    let off = (primal - answer.obj).abs() / answer.obj.max(1e-3);
    assert!(off <= OBJECTIVE, "{what}: objective off by {off:.1e}");
    let gap = (primal - dual) / primal.max(1e-3);
    assert!(gap <= OWN_GAP, "{what}: own gap {gap:.1e}");
    for j in 0..problem.columns.len() {
        assert!(ws.x[j] >= problem.lo[j] && ws.x[j] <= problem.hi[j], "{what}: column {j} = {} out of bounds", ws.x[j]);
    }
}

/// Solves every case of the file whose rows fit `M`, in the order of the frames, and returns how many there were.
fn solve_all<const M: usize>(start: Route, warm: bool) -> usize {
    let golden = golden();
    let options = Options { start, ..Options::default() };
    let mut solved = 0;
    for movement in golden.movements.iter().filter(|m| m.frames[0].b0.len() <= M) {
        for criterion in CRITERIA {
            let mut ws = Workspace::<M>::new(16); // smaller than needed: it has to grow
            let solves = movement.frames.iter().enumerate().flat_map(|(t, f)| f.sol.iter().map(move |s| (t, f, s)));
            for (t, frame, solve) in solves {
                let case = Case {
                    what: format!("{} frame {t} load {} {criterion:?}", movement.name, solve.load),
                    problem: frame.sharing::<M>(solve.load, &movement.volume_weight, criterion, golden.stiffness),
                    answer: solve.answer(criterion),
                };
                if !warm {
                    ws.lambda = [0.0; M];
                }
                let outcome = case.problem.solve(&mut ws, &options);
                check(&case, &ws, outcome);
                solved += 1;
            }
        }
    }
    solved
}

#[test]
fn all_434_solves_cold() {
    assert_eq!(solve_all::<8>(Route::Newton, false), 3 * 434);
}

#[test]
fn all_434_solves_warm() {
    assert_eq!(solve_all::<8>(Route::Newton, true), 3 * 434);
}

#[test]
fn the_number_of_padded_rows_does_not_matter() {
    assert_eq!(solve_all::<6>(Route::Newton, true), 3 * 434);
    assert!(solve_all::<4>(Route::Newton, true) > 300);
}

/// Each later link of the chain must be able to do the whole work alone.
#[test]
fn stages_alone_solve_everything() {
    assert_eq!(solve_all::<8>(Route::Stages, false), 3 * 434);
}

#[test]
fn interior_point_with_polish_alone_solves_everything() {
    assert_eq!(solve_all::<8>(Route::Interior, false), 3 * 434);
}

#[test]
fn cold_and_warm_agree() {
    let golden = golden();
    let (mut worst, mut compared) = (0.0f64, 0);
    for movement in &golden.movements {
        for criterion in CRITERIA {
            let (mut warm, mut cold) = (Workspace::<8>::new(64), Workspace::<8>::new(64));
            for frame in &movement.frames {
                let p = frame.sharing(movement.load, &movement.volume_weight, criterion, golden.stiffness);
                cold.lambda = [0.0; 8];
                assert!(p.solve(&mut cold, &Options::default()).converged);
                assert!(p.solve(&mut warm, &Options::default()).converged);
                worst = worst.max(largest((0..p.muscles).map(|j| cold.x[j] - warm.x[j])));
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 3 * 343);
    assert!(worst <= COLD_WARM, "cold and warm differ by {worst:.1e}");
}

/// Strengths × 0.2 to 2 and loads × 0.3 to 4, also with a duplicated row: always converged, always certified.
#[test]
fn stressed_frames_converge_and_certify_themselves() {
    let golden = golden();
    let mut solved = 0;
    for movement in &golden.movements {
        for (strength, load, duplicate) in
            [(0.2, 1.0, false), (0.5, 4.0, false), (1.0, 1.5, true), (2.0, 0.3, true), (0.5, 1.0, true)]
        {
            let mut ws = Workspace::<8>::new(64);
            for frame in &movement.frames {
                let mut p =
                    frame.sharing(movement.load * load, &movement.volume_weight, Criterion::Cube, golden.stiffness);
                for column in &mut p.columns[..p.muscles] {
                    for v in column.iter_mut() {
                        *v *= strength;
                    }
                }
                let rows = frame.b0.len();
                if duplicate && rows < 8 {
                    for column in &mut p.columns {
                        column[rows] = column[0];
                    }
                    p.b[rows] = p.b[0];
                }
                let outcome = p.solve(&mut ws, &Options::default());
                let (primal, dual, _) = p.values(&ws.x, &ws.lambda);
                let gap = (primal - dual) / primal.max(1e-3);
                let what = format!("{}, strength {strength}, load {load}", movement.name);
                assert!(outcome.converged && gap <= 1e-9, "{what}: {outcome:?}, gap {gap:.1e}");
                solved += 1;
            }
        }
    }
    assert_eq!(solved, 5 * 343);
}
