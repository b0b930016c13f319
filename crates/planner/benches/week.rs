//! Time of a rebuilt week with invented credits of the shape of the library's: 400 movements, 80 heads, 6 days. The same
//! with the library's own credits is timed in `crates/desk/benches/rebuild.rs`.

use planner::{Choice, Day, Effort, Head, Piece, Prices, Task, solve};

fn main() {
    divan::main();
}

fn week(seed: u64, movements: usize, heads: usize, days: usize) -> Task {
    let mut state = seed;
    let mut random = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1u32 << 31)
    };
    let heads: Vec<Head> = (0..heads)
        .map(|i| {
            let weight = [1.0, 2.0, 3.0][(random() * 3.0) as usize % 3] * (0.1 + 0.5 * random());
            let low = [2.0, 6.0, 10.0][i % 3];
            let gain = |k: f64| weight * 0.5 * (1.0 + (7.0 - 2.0 * k) / 4.0);
            let mut pieces: Vec<Piece> = (0..4).map(|k| Piece { width: low / 4.0, gain: gain(f64::from(k)) }).collect();
            pieces.push(Piece { width: low / 3.0, gain: 0.075 * weight });
            pieces.push(Piece { width: low / 3.0, gain: 0.0 });
            pieces.push(Piece { width: 1e3, gain: -0.3 * weight });
            Head { name: format!("head {i}"), pieces, session_most: 11.0, ..Head::default() }
        })
        .collect();
    let choices = (0..movements)
        .map(|i| Choice {
            name: format!("movement {i}"),
            movement: i,
            credits: (0..12)
                .map(|k| ((i * 7 + k * (k + 3) / 2) % heads.len(), 0.1 + 0.9 * random() * random(), random() < 0.4))
                .collect(),
            set_s: 130.0 + 110.0 * random(),
            once_s: 90.0 * random(),
            least: 2,
            most: 3,
            new: true,
        })
        .collect();
    let days = (0..days).map(|d| Day { name: format!("day {d}"), available_s: Some(3600.0) }).collect();
    let prices = Prices { line: 0.1, new: 0.3, stay: 0.3, minute: 0.03 };
    Task { heads, choices, days, most_lines: 10, prices, ..Task::default() }
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn six_days_of_the_whole_library(bencher: divan::Bencher) {
    let task = week(5, 400, 80, 6);
    bencher.bench_local(|| solve(divan::black_box(&task), &Effort::default(), &mut |_| true));
}

#[divan::bench(sample_count = 1, sample_size = 1)]
fn fifty_clients(bencher: divan::Bencher) {
    use rayon::prelude::*;
    // Untimed, as a check that it still runs, three are enough.
    let clients = if std::env::args().any(|a| a == "--bench") { 50 } else { 3 };
    let tasks: Vec<Task> = (0..clients).map(|i| week(100 + i, 150 + 5 * i as usize, 80, 2 + i as usize % 5)).collect();
    bencher.bench_local(|| {
        tasks.par_iter().map(|t| solve(t, &Effort::default(), &mut |_| true).map(|a| a.gap())).collect::<Vec<_>>()
    });
}
