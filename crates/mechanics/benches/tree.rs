//! Inverse dynamics of the 20-axis golden tree: 200 states per iteration, states per second as items.

#[path = "../tests/support/mod.rs"]
#[allow(dead_code)]
mod support;

use divan::{Bencher, counter::ItemsCount};
use mechanics::tree::Workspace;
use support::file;

fn main() {
    divan::main();
}

#[divan::bench]
fn inverse_dynamics_200_states(bencher: Bencher) {
    let (tree, gravity, samples) = file();
    let (mut ws, mut torque_nm) = (Workspace::default(), vec![0.0; tree.links().len()]);
    bencher.counter(ItemsCount::new(samples.len())).bench_local(|| {
        for sample in &samples {
            let done = tree.inverse_dynamics(&sample.state(), &gravity, &[], &mut ws, &mut torque_nm);
            assert!(divan::black_box(done).is_ok());
        }
    });
}
