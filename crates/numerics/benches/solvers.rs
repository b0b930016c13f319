//! Sharing and capacity on the 343 golden frames, draws and quantile. Sharing and capacity report frames per second
//! (items): microseconds per frame are the median time divided by 343.

#[path = "../tests/support/mod.rs"]
mod support;

use divan::{Bencher, counter::ItemsCount};
use numerics::capacity::Capacity;
use numerics::sample::Draws;
use numerics::sharing::{Options, Problem, Workspace};
use support::{Columns, Criterion, Golden, golden};

fn main() {
    divan::main();
}

/// Movements, each a run of frames at the movement's set load.
fn sharing_problems(criterion: Criterion) -> Vec<Vec<Problem<8>>> {
    let golden = golden();
    let frames = |m: &support::Movement| {
        m.frames.iter().map(|f| f.sharing(m.load, &m.volume_weight, criterion, golden.stiffness)).collect()
    };
    golden.movements.iter().map(frames).collect()
}

fn share(bencher: Bencher, criterion: Criterion, warm: bool) {
    let movements = sharing_problems(criterion);
    let frames: usize = movements.iter().map(Vec::len).sum();
    let mut ws = Workspace::<8>::new(64);
    let options = Options::default();
    bencher.counter(ItemsCount::new(frames)).bench_local(|| {
        for movement in &movements {
            ws.lambda = [0.0; 8];
            for problem in movement {
                if !warm {
                    ws.lambda = [0.0; 8];
                }
                divan::black_box(problem.solve(&mut ws, &options));
            }
        }
    });
}

#[divan::bench(args = [false, true])]
fn cube_warm(bencher: Bencher, warm: bool) {
    share(bencher, Criterion::Cube, warm);
}

#[divan::bench(args = [false, true])]
fn square_warm(bencher: Bencher, warm: bool) {
    share(bencher, Criterion::Square, warm);
}

fn frames_of(golden: &Golden) -> Vec<Vec<Columns<8>>> {
    golden.movements.iter().map(|m| m.frames.iter().map(|f| f.columns()).collect()).collect()
}

#[divan::bench(args = [false, true])]
fn capacity_warm(bencher: Bencher, warm: bool) {
    let golden = golden();
    let columns = frames_of(&golden);
    let frames: usize = columns.iter().map(Vec::len).sum();
    let mut solver = Capacity::new();
    bencher.counter(ItemsCount::new(frames)).bench_local(|| {
        for (movement, columns) in golden.movements.iter().zip(&columns) {
            for (frame, c) in movement.frames.iter().zip(columns) {
                let bounds = frame.bounds();
                let load = solver.solve(c.rows, &c.muscles, &c.cheap, &bounds, &c.b0, &c.b1, movement.cap, warm);
                let _ = divan::black_box(load);
            }
        }
    });
}

#[divan::bench(args = [false, true])]
fn min_max_warm(bencher: Bencher, warm: bool) {
    let golden = golden();
    let columns = frames_of(&golden);
    let frames: usize = columns.iter().map(Vec::len).sum();
    let loads: Vec<f64> = golden.movements.iter().map(|m| m.load).collect();
    let bounds: Vec<Vec<_>> =
        golden.movements.iter().map(|m| m.frames.iter().map(|f| f.cheap_bounds(m.load)).collect()).collect();
    let mut solver = Capacity::new();
    bencher.counter(ItemsCount::new(frames)).bench_local(|| {
        for ((columns, bounds), load) in columns.iter().zip(&bounds).zip(&loads) {
            for (c, (lo, hi)) in columns.iter().zip(bounds) {
                let b = std::array::from_fn(|i| c.b0[i] + load * c.b1[i]);
                let _ = divan::black_box(solver.min_max(c.rows, &c.muscles, &c.cheap, lo, hi, &b, warm));
            }
        }
    });
}

#[divan::bench]
fn draw_of_300_normals(bencher: Bencher) {
    let draws = Draws::new(1);
    let mut i = 0;
    bencher.bench_local(|| {
        i += 1;
        (0..300).map(|d| draws.normal(i, d)).sum::<f64>()
    });
}
