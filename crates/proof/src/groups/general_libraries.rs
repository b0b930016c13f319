//! The solvers against general-purpose libraries: worst difference over a file of recorded answers.

use crate::cases::{CaseError, Table, judged};
use answer::ProofRow;
use library::Library;
use mechanics::tree::Workspace as TreeWorkspace;
use numerics::capacity::Capacity;
use numerics::sharing::{Options, Workspace};
use rayon::prelude::*;

#[path = "../../../numerics/tests/support/mod.rs"]
mod sharing_file;
/// The recorded answers and their reader belong to the tests of the solvers; nothing is copied.
#[path = "../../../mechanics/tests/support/mod.rs"]
mod tree_file;

use sharing_file::{Criterion, Golden};

pub const NAME: &str = "general-libraries";
pub const CASES: &str = include_str!("../../../../data/proof/general-libraries.csv");

pub fn judge(_: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let golden = sharing_file::golden();
    let rows: Vec<_> = table.cases().collect();
    rows.par_iter()
        .map(|row| {
            let worst = match row.text("what")? {
                "dynamics" => dynamics(),
                "sharing-square" => sharing(&golden, Criterion::Square),
                "sharing-volume" => sharing(&golden, Criterion::VolumeSquare),
                "sharing-cube" => sharing(&golden, Criterion::Cube),
                "capacity" => capacity(&golden),
                "smallest-peak" => smallest_peak(&golden),
                other => {
                    return Err(row.wrong(
                        "what",
                        format!(
                            "\"{other}\", expected dynamics, sharing-square, sharing-volume, sharing-cube, capacity or \
                             smallest-peak"
                        ),
                    ));
                }
            };
            Ok(judged(row.comparison(NAME)?, "error", worst, 0.0, row.number("tolerance")?))
        })
        .collect()
}

/// A solve that fails is infinitely wrong.
const FAILED: f64 = f64::INFINITY;

fn dynamics() -> f64 {
    let (tree, gravity, samples) = tree_file::file();
    let mut ws = TreeWorkspace::default();
    let mut worst = 0.0_f64;
    for (sample, want) in samples.iter().zip(tree_file::torques()) {
        let mut got = vec![0.0; want.len()];
        if tree.inverse_dynamics(&sample.state(), &gravity, &[], &mut ws, &mut got).is_err() {
            return FAILED;
        }
        let largest = sharing_file::largest(want.iter().copied());
        let off = sharing_file::largest(got.iter().zip(&want).map(|(a, b)| a - b));
        worst = worst.max(off / largest);
    }
    worst
}

fn sharing(golden: &Golden, criterion: Criterion) -> f64 {
    let mut worst = 0.0_f64;
    for movement in &golden.movements {
        let mut ws = Workspace::<8>::new(64);
        for frame in &movement.frames {
            for solve in &frame.sol {
                let p = frame.sharing(solve.load, &movement.volume_weight, criterion, golden.stiffness);
                if !p.solve(&mut ws, &Options::default()).converged {
                    return FAILED;
                }
                let want = &solve.answer(criterion).a;
                worst = worst.max(sharing_file::largest((0..p.muscles).map(|j| ws.x[j] - want[j])));
            }
        }
    }
    worst
}

fn capacity(golden: &Golden) -> f64 {
    let mut worst = 0.0_f64;
    for movement in &golden.movements {
        let mut solver = Capacity::new();
        for frame in &movement.frames {
            let c = frame.columns::<8>();
            let bounds = frame.bounds();
            let got = solver.solve(c.rows, &c.muscles, &c.cheap, &bounds, &c.b0, &c.b1, movement.cap, true);
            worst = worst.max(match (got, frame.capacity) {
                (Ok(None), None) => 0.0,
                (Ok(Some(got)), Some(want)) => (got - want).abs() / want.abs().max(1e-3 * movement.cap.min(1000.0)),
                (Ok(_), _) => 1.0,
                (Err(_), _) => FAILED,
            });
        }
    }
    worst
}

fn smallest_peak(golden: &Golden) -> f64 {
    let mut worst = 0.0_f64;
    for movement in &golden.movements {
        let mut solver = Capacity::new();
        for frame in &movement.frames {
            for solve in &frame.sol {
                let c = frame.columns::<8>();
                let b = std::array::from_fn(|i| c.b0[i] + solve.load * c.b1[i]);
                let (lo, hi) = frame.cheap_bounds(solve.load);
                worst =
                    worst.max(match (solver.min_max(c.rows, &c.muscles, &c.cheap, &lo, &hi, &b, true), solve.minmax) {
                        (Ok(None), None) => 0.0,
                        (Ok(Some(got)), Some(want)) => (got - want).abs() / want.max(1.0),
                        (Ok(_), _) => 1.0,
                        (Err(_), _) => FAILED,
                    });
            }
        }
    }
    worst
}
