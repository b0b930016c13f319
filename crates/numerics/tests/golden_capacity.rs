//! Capacity and the smallest peak activation against HiGHS (through SciPy; `golden/make_golden.py`).

mod support;

use numerics::capacity::{Bounds, Capacity, CapacityError};
use support::{Columns, Frame, golden, largest};

/// Relative to the load; the file's feasibility tolerance is 1e-9 in rows of order one.
const CAPACITY: f64 = 1e-9;
/// Relative gap between load and dual bound.
const CERTIFICATE: f64 = 1e-8;
const PEAK: f64 = 1e-9;
/// Rows are of order one.
const FEASIBLE: f64 = 1e-8;

fn capacities(warm: bool) {
    let golden = golden();
    let (mut infeasible, mut unlimited, mut compared) = (0, 0, 0);
    for movement in &golden.movements {
        let mut solver = Capacity::new();
        for (t, frame) in movement.frames.iter().enumerate() {
            let what = format!("{} frame {t}", movement.name);
            let c = frame.columns::<8>();
            let got = solver
                .solve(c.rows, &c.muscles, &c.cheap, &frame.bounds(), &c.b0, &c.b1, movement.cap, warm)
                .unwrap_or_else(|e| panic!("{what}: {e}"));
            compared += 1;
            match (got, frame.capacity) {
                (None, None) => infeasible += 1,
                (Some(got), Some(want)) => {
                    unlimited += usize::from(want >= movement.cap);
                    let off = (got - want).abs() / want.abs().max(1e-3 * movement.cap.min(1000.0));
                    assert!(off <= CAPACITY, "{what}: {got} for {want}, off by {off:.1e}");
                    check_answer(&what, &c, frame, &solver, got, movement.cap);
                }
                other => panic!("{what}: got and want {other:?}"),
            }
        }
    }
    assert_eq!((compared, infeasible), (343, 3));
    assert!(unlimited > 0, "the file should hold frames that reach the cap");
}

/// The answer balances, keeps its bounds, and its multipliers prove that no larger load exists (weak duality).
fn check_answer(what: &str, c: &Columns<8>, frame: &Frame, solver: &Capacity, load: f64, cap: f64) {
    let (lo, hi) = frame.cheap_bounds(load);
    for i in 0..c.rows {
        let muscles: f64 = c.muscles.iter().zip(solver.activations()).map(|(col, a)| col[i] * a).sum();
        let cheap: f64 = c.cheap.iter().zip(solver.cheap_values()).map(|(col, x)| col[i] * x).sum();
        let off = c.b0[i] + load * c.b1[i] - muscles - cheap;
        assert!(off.abs() <= FEASIBLE, "{what}: row {i} off by {off:.1e}");
    }
    assert!(solver.activations().iter().all(|a| (-FEASIBLE..=1.0 + FEASIBLE).contains(a)), "{what}: activations");
    for (j, x) in solver.cheap_values().iter().enumerate() {
        assert!(*x >= lo[j] - FEASIBLE && *x <= hi[j] + FEASIBLE, "{what}: cheap column {j}");
    }
    // Lagrange: for any y, no load exceeds the maximum over the box of L − yᵀ(A a + E x − b0 − L b1). The inner maximum
    // is explicit and convex in L, so it is attained at L = 0 or at the cap. At the true multipliers it equals the load.
    let y = solver.row_multipliers();
    let price = |column: &[f64; 8]| -> f64 { (0..c.rows).map(|i| y[i] * column[i]).sum() };
    let bound_at = |l: f64| -> f64 {
        let (lo, hi) = frame.cheap_bounds(l);
        let muscles: f64 = c.muscles.iter().map(|col| (-price(col)).max(0.0)).sum();
        let cheap: f64 = (0..c.cheap.len())
            .map(|j| {
                let p = -price(&c.cheap[j]);
                (p * lo[j]).max(p * hi[j])
            })
            .sum();
        l + muscles + cheap + price(&c.b0) + l * price(&c.b1)
    };
    let bound = bound_at(0.0).max(bound_at(cap));
    let gap = (bound - load) / (1.0 + load);
    assert!((-1e-9..=CERTIFICATE).contains(&gap), "{what}: load {load}, dual bound {bound}");
}

#[test]
fn capacity_cold() {
    capacities(false);
}

#[test]
fn capacity_warm() {
    capacities(true);
}

#[test]
fn smallest_peak_has_the_golden_value() {
    let golden = golden();
    for warm in [false, true] {
        let (mut compared, mut impossible) = (0, 0);
        for movement in &golden.movements {
            let mut solver = Capacity::new();
            for (t, frame) in movement.frames.iter().enumerate() {
                for solve in &frame.sol {
                    let c = frame.columns::<8>();
                    let b = std::array::from_fn(|i| c.b0[i] + solve.load * c.b1[i]);
                    let (lo, hi) = frame.cheap_bounds(solve.load);
                    let got = solver.min_max(c.rows, &c.muscles, &c.cheap, &lo, &hi, &b, warm).expect("solvable");
                    let what = format!("{} frame {t} load {}", movement.name, solve.load);
                    match (got, solve.minmax) {
                        (Some(got), Some(want)) => {
                            let off = (got - want).abs();
                            assert!(off <= PEAK * want.max(1.0), "{what}: peak {got} for {want}, off by {off:.1e}");
                            let peak = largest(solver.activations().iter().map(|a| a * got));
                            assert!(peak <= got + 1e-9, "{what}: activations reach {peak}");
                            compared += 1;
                        }
                        (None, None) => impossible += 1,
                        other => panic!("{what}: got and want {other:?}"),
                    }
                }
            }
        }
        assert_eq!(compared + impossible, 434);
        assert!(compared > 400, "{compared} compared, {impossible} impossible");
    }
}

/// Row multipliers say how the load changes with the demand: compared with differences of the load itself.
#[test]
fn row_multipliers_are_derivatives_of_the_load() {
    let golden = golden();
    let (mut agree, mut rows) = (0, 0);
    for movement in &golden.movements {
        for frame in movement.frames.iter().step_by(3) {
            let c = frame.columns::<8>();
            let mut solver = Capacity::new();
            let mut solve = |b0: &[f64; 8]| {
                let load = solver
                    .solve(c.rows, &c.muscles, &c.cheap, &frame.bounds(), b0, &c.b1, movement.cap, false)
                    .expect("solvable");
                load.map(|load| (load, solver.row_multipliers().to_vec()))
            };
            let Some((load, y)) = solve(&c.b0) else { continue };
            for i in 0..c.rows {
                const STEP: f64 = 1e-6;
                let (mut up, mut down) = (c.b0, c.b0);
                up[i] += STEP;
                down[i] -= STEP;
                let (Some((up, _)), Some((down, _))) = (solve(&up), solve(&down)) else { continue };
                rows += 1;
                // At a kink the two sides differ and the multiplier lies between them.
                let (left, right) = ((load - down) / STEP, (up - load) / STEP);
                let slack = 1e-4 * (1.0 + y[i].abs());
                agree += usize::from(y[i] >= left.min(right) - slack && y[i] <= left.max(right) + slack);
            }
        }
    }
    assert!(rows > 300 && agree == rows, "{agree} of {rows} rows agree");
}

/// 160 muscles, 8 rows, 24 load-dependent cheap columns: above the size any movement needs.
#[test]
fn large_problems_fit() {
    let muscles: Vec<[f64; 8]> =
        (0..160).map(|j| std::array::from_fn(|i| ((j * 7 + i * 13) % 11) as f64 / 11.0 - 0.4)).collect();
    let cheap: Vec<[f64; 8]> = (0..24).map(|j| std::array::from_fn(|i| if i == j % 8 { 1.0 } else { 0.0 })).collect();
    let (zero, minus, plus) = (vec![0.0; 24], vec![-0.01; 24], vec![0.01; 24]);
    let bounds = Bounds { lo0: &zero, lo1: &minus, hi0: &zero, hi1: &plus };
    let load = Capacity::new().solve(8, &muscles, &cheap, &bounds, &[0.1; 8], &[1.0; 8], 1e4, false);
    assert!(load.expect("solvable").expect("feasible") > 1.0);
}

#[test]
fn malformed_problems_are_refused_with_their_numbers() {
    let one = [[1.0, 0.0]];
    let mut solver = Capacity::new();
    let mut solve = |rows, cheap: &[[f64; 2]], b0: [f64; 2], cap| {
        solver.solve(rows, &one, cheap, &Bounds::NONE, &b0, &[1.0, 0.0], cap, true)
    };
    assert_eq!(solve(3, &[], [0.0; 2], 1.0), Err(CapacityError::Rows { got: 3, allowed: 2 }));
    assert_eq!(solve(1, &one, [0.0; 2], 1.0), Err(CapacityError::Length { field: "lo0", cheap: 1, got: 0 }));
    assert_eq!(solve(1, &[], [f64::NAN, 0.0], 1.0), Err(CapacityError::NotFinite));
    assert!(matches!(solve(1, &[], [0.0; 2], f64::NAN), Err(CapacityError::Cap { .. })));
    // After refusals the solver still works: 1 muscle of strength 1 against L.
    assert_eq!(solve(1, &[], [0.0; 2], 10.0), Ok(Some(1.0)));
    // Twice its strength is needed before any load: nothing is feasible.
    assert_eq!(solve(1, &[], [2.0, 0.0], 10.0), Ok(None));
}
