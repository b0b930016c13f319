//! Quadratic sharing on random problems against Clarabel, a general interior-point solver (0.11, Rust).

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettingsBuilder, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus, ZeroConeT};
use numerics::sample::Draws;
use numerics::sharing::{Options, Power, Problem, Workspace};

/// Largest difference of an activation or a cheap column (the reference's own accuracy near a bound).
const AGREE: f64 = 1e-6;
const PROBLEMS: u32 = 300;
const ROWS: usize = 8;

/// A random problem: 1–8 rows, up to 40 muscles of which most act on a few rows, up to 5 cheap columns. Every third
/// demand is far from what random activations give, so that columns saturate and some of it is left over.
fn random_problem(index: u32) -> Problem<ROWS> {
    let mut next_dimension = 0;
    let mut uniform = |lo: f64, hi: f64| {
        next_dimension += 1;
        lo + (hi - lo) * Draws::new(20_260_101).uniform(index, next_dimension)
    };
    let rows = 1 + (index as usize) % ROWS;
    let (muscles, cheap) = (rows + uniform(1.0, 33.0) as usize, uniform(0.0, 6.0) as usize);
    let mut p = Problem { muscles, power: Power::Two, ..Problem::with_capacity(muscles + cheap) };
    for j in 0..muscles + cheap {
        let mut column = [0.0; ROWS];
        for v in &mut column[..rows] {
            if rows < 3 || uniform(0.0, 1.0) < 0.5 {
                *v = uniform(-1.0, 1.0);
            }
        }
        let is_muscle = j < muscles;
        let target = uniform(0.0, 1.0);
        p.lo.push(if is_muscle { 0.0 } else { uniform(-1.0, 0.0) });
        p.hi.push(if is_muscle { uniform(0.3, 1.0) } else { uniform(0.0, 1.0) });
        p.weight.push(if is_muscle { uniform(0.3, 3.0) } else { uniform(0.01, 0.1) });
        let x = p.lo[j] + target * (p.hi[j] - p.lo[j]);
        for i in 0..rows {
            p.b[i] += column[i] * x;
        }
        p.columns.push(column);
    }
    let overloaded = index.is_multiple_of(3);
    if overloaded {
        p.b = p.b.map(|v| 2.0 * v);
    }
    // The reference stops on its objective: a price of 1e6 on a large rest would drown the activations it is to judge.
    p.stiffness = if overloaded { 30.0 } else { 1e6 };
    p
}

/// Variables: columns x, then u = √W (b − columns x); minimise ½ xᵀPx + ½ uᵀu.
fn reference(p: &Problem<ROWS>) -> Vec<f64> {
    let n = p.columns.len();
    let diagonal: Vec<f64> = (0..n).map(|j| if j < p.muscles { 2.0 * p.weight[j] } else { p.weight[j] }).collect();
    let variables = n + ROWS;
    let (mut row, mut col, mut val) = (vec![], vec![], vec![]);
    let mut entry = |i: usize, j: usize, v: f64| {
        row.push(i);
        col.push(j);
        val.push(v);
    };
    let mut rhs = p.b.to_vec();
    for j in 0..n {
        for i in 0..ROWS {
            entry(i, j, p.columns[j][i]);
        }
        for (sign, bound) in [(1.0, p.hi[j]), (-1.0, -p.lo[j])] {
            entry(rhs.len(), j, sign);
            rhs.push(bound);
        }
    }
    for i in 0..ROWS {
        entry(i, n + i, 1.0 / p.stiffness.sqrt());
    }
    let matrix = CscMatrix::new_from_triplets(rhs.len(), variables, row, col, val);
    let hessian = CscMatrix::new_from_triplets(
        variables,
        variables,
        (0..variables).collect(),
        (0..variables).collect(),
        diagonal.into_iter().chain([1.0; ROWS]).collect(),
    );
    let cones = [ZeroConeT(ROWS), NonnegativeConeT(2 * n)];
    let settings = DefaultSettingsBuilder::default()
        .verbose(false)
        .tol_gap_abs(1e-13)
        .tol_gap_rel(1e-13)
        .tol_feas(1e-13)
        .reduced_tol_gap_abs(1e-9)
        .reduced_tol_gap_rel(1e-9)
        .reduced_tol_feas(1e-9)
        .static_regularization_constant(1e-13)
        .iterative_refinement_abstol(1e-17)
        .iterative_refinement_reltol(1e-17)
        .iterative_refinement_max_iter(50)
        .presolve_enable(false)
        .build()
        .expect("valid settings");
    let mut solver =
        DefaultSolver::new(&hessian, &vec![0.0; variables], &matrix, &rhs, &cones, settings).expect("valid problem");
    solver.solve();
    let status = solver.solution.status;
    assert!(matches!(status, SolverStatus::Solved | SolverStatus::AlmostSolved), "the reference ended {status:?}");
    solver.solution.x[..n].to_vec()
}

#[test]
fn square_cost_agrees_with_a_general_solver() {
    let mut ws = Workspace::<ROWS>::new(64);
    let (mut at_top, mut left_over, mut worst) = (0, 0, 0.0f64);
    for index in 0..PROBLEMS {
        let p = random_problem(index);
        ws.lambda = [0.0; ROWS];
        let outcome = p.solve(&mut ws, &Options::default());
        assert!(outcome.converged, "problem {index}: {outcome:?}");
        let want = reference(&p);
        for j in 0..want.len() {
            let off = (ws.x[j] - want[j]).abs();
            assert!(off <= AGREE, "problem {index}, column {j}: {} for {}, {outcome:?}", ws.x[j], want[j]);
            worst = worst.max(off);
            at_top += usize::from(j < p.muscles && ws.x[j] == p.hi[j]);
        }
        let (_, _, rest) = p.values(&ws.x, &ws.lambda);
        left_over += usize::from(rest.iter().any(|r| r.abs() > 1e-2));
    }
    println!("largest difference {worst:.1e}; {at_top} muscles at their limit, {left_over} problems overloaded");
    assert!(at_top > 200 && left_over > 30, "the set must contain saturation: {at_top}, {left_over}");
}
