//! Whatever the numbers, the solvers return: no panic, no endless loop, and no claim of convergence on nonsense.

use numerics::capacity::{Bounds, Capacity};
use numerics::sharing::{Options, Power, Problem, Route, SharingError, Workspace};
use proptest::prelude::*;

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -2.0..2.0f64,
        1 => prop::num::f64::ANY,
        1 => Just(0.0),
        1 => Just(1e300),
        1 => Just(f64::NAN),
    ]
}

fn tame() -> impl Strategy<Value = f64> {
    prop_oneof![4 => -2.0..2.0f64, 1 => Just(0.0)]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sharing_never_panics(
        muscles in 0usize..6,
        columns in prop::collection::vec(prop::array::uniform3(any_number()), 0..6),
        weight in prop::collection::vec(any_number(), 0..6),
        lo in prop::collection::vec(any_number(), 0..6),
        hi in prop::collection::vec(any_number(), 0..6),
        b in prop::array::uniform3(any_number()),
        stiffness in any_number(),
        lambda in prop::array::uniform3(any_number()),
    ) {
        let p = Problem { muscles, columns, weight, lo, hi, b, stiffness, over_capacity: false, power: Power::Three };
        let mut ws = Workspace::new(2);
        ws.lambda = lambda;
        let outcome = p.solve(&mut ws, &Options::default());
        prop_assert_eq!(p.check().is_err(), outcome.route == Route::Refused);
        prop_assert!(p.check().is_ok() || !outcome.converged);
    }

    /// Well-posed problems converge from any start, and the duality gap certifies them.
    #[test]
    fn sharing_certifies_itself_from_any_start(
        columns in prop::collection::vec(prop::array::uniform4(tame()), 1..20),
        muscles in 0usize..20,
        b in prop::array::uniform4(-5.0..5.0f64),
        lambda in prop::array::uniform4(-100.0..100.0f64),
        cube in any::<bool>(),
    ) {
        let n = columns.len();
        let muscles = muscles.min(n);
        let p = Problem {
            muscles,
            columns,
            weight: (0..n).map(|j| if j < muscles { 1.0 } else { 1e-2 }).collect(),
            lo: (0..n).map(|j| if j < muscles { 0.0 } else { -1.0 }).collect(),
            hi: vec![1.0; n],
            b,
            stiffness: 1e6,
            over_capacity: false,
            power: if cube { Power::Three } else { Power::Two },
        };
        let mut ws = Workspace::new(n);
        ws.lambda = lambda;
        let outcome = p.solve(&mut ws, &Options::default());
        let (primal, dual, _) = p.values(&ws.x, &ws.lambda);
        prop_assert!(outcome.converged, "{:?}", outcome);
        prop_assert!(primal - dual <= 1e-8 * primal.max(1e-2), "primal {} dual {}", primal, dual);
        prop_assert!(primal - dual >= -1e-8 * primal.max(1e-2));
    }

    #[test]
    fn capacity_never_panics(
        muscles in prop::collection::vec(prop::array::uniform3(any_number()), 0..6),
        cheap in prop::collection::vec(prop::array::uniform3(any_number()), 0..4),
        bounds in prop::collection::vec(any_number(), 16),
        b0 in prop::array::uniform3(any_number()),
        b1 in prop::array::uniform3(any_number()),
        cap in any_number(),
        rows in 0usize..5,
    ) {
        let k = cheap.len();
        let bounds = Bounds { lo0: &bounds[..k], lo1: &bounds[4..4 + k], hi0: &bounds[8..8 + k], hi1: &bounds[12..12 + k] };
        let mut solver = Capacity::new();
        for warm in [false, true] {
            if let Ok(Some(load)) = solver.solve(rows, &muscles, &cheap, &bounds, &b0, &b1, cap, warm) {
                prop_assert!(load.is_finite());
            }
        }
    }

    /// Cold and warm, from the basis of an unrelated problem, give the same load.
    #[test]
    fn capacity_does_not_depend_on_its_start(
        first in prop::collection::vec(prop::array::uniform4(tame()), 12),
        second in prop::collection::vec(prop::array::uniform4(tame()), 12),
        cheap in prop::collection::vec(prop::array::uniform4(tame()), 2),
        b1 in prop::array::uniform4(-1.0..1.0f64),
    ) {
        let bounds = Bounds { lo0: &[-0.1, 0.0], lo1: &[-0.1, 0.0], hi0: &[0.1, 0.2], hi1: &[0.1, 0.0] };
        let mut warm = Capacity::new();
        let _ = warm.solve(4, &first, &cheap, &bounds, &[0.0; 4], &b1, 100.0, false);
        let warm = warm.solve(4, &second, &cheap, &bounds, &[0.0; 4], &b1, 100.0, true).expect("solvable");
        let cold = Capacity::new().solve(4, &second, &cheap, &bounds, &[0.0; 4], &b1, 100.0, false).expect("solvable");
        match (warm, cold) {
            (Some(w), Some(c)) => prop_assert!((w - c).abs() <= 1e-6 * (1.0 + c.abs()), "warm {} cold {}", w, c),
            (w, c) => prop_assert_eq!(w, c),
        }
    }
}

/// Found by the property above: flips that repair a row exactly, but for rounding, once passed for infeasibility.
#[test]
fn a_row_repaired_by_flips_alone_is_feasible() {
    let muscles = [
        [0.0, -1.9047754421315344, 0.0, 0.0],
        [-1.1602601398297592, -1.857388081348532, 0.0, 0.0],
        [1.193638541512295, 0.0, 0.0, -1.3820648467257988],
        [0.9348826499625956, 0.0, 0.0, -0.2879046471193564],
        [1.9797144080805806, 0.0, 0.0, -1.6669119073394105],
        [0.0, -1.5737443145018055, 0.0, 0.0],
        [1.8131273699489872, 0.0, -1.5622254808320726, -1.5404205567334166],
    ];
    let cheap =
        [[-0.800882494196342, -1.871544507267488, 0.0, 0.3991281876254417], [0.0, 0.0, 0.0, -1.0720051366230903]];
    let bounds = Bounds { lo0: &[-0.1, 0.0], lo1: &[-0.1, 0.0], hi0: &[0.1, 0.2], hi1: &[0.1, 0.0] };
    let b1 = [0.5782213205114753, 0.0, -0.6121396230318715, 0.0];
    // Nothing at all balances zero load, so some load is feasible.
    let load = Capacity::new().solve(4, &muscles, &cheap, &bounds, &[0.0; 4], &b1, 100.0, false);
    assert!(load.expect("solvable").is_some());
}

#[test]
fn check_names_what_is_wrong() {
    let good = || Problem::<1> {
        muscles: 1,
        columns: vec![[1.0]],
        weight: vec![1.0],
        lo: vec![0.0],
        hi: vec![1.0],
        ..Problem::with_capacity(1)
    };
    assert_eq!(good().check(), Ok(()));
    let check = |change: fn(&mut Problem<1>), expected: SharingError| {
        let mut p = good();
        change(&mut p);
        assert_eq!(p.check(), Err(expected));
    };
    check(|p| p.weight.clear(), SharingError::Length { field: "weight", columns: 1, got: 0 });
    check(|p| p.muscles = 2, SharingError::Muscles { muscles: 2, columns: 1 });
    check(|p| p.weight[0] = 0.0, SharingError::Weight { column: 0, weight: 0.0 });
    check(|p| p.lo[0] = 0.5, SharingError::BoundsOfColumn { column: 0, lo: 0.5, hi: 1.0 });
    check(|p| p.columns[0][0] = f64::INFINITY, SharingError::ColumnNotFinite { column: 0 });
    check(|p| p.stiffness = 0.0, SharingError::Demand { stiffness: 0.0 });
}
