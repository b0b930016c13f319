//! All studies solved and judged, with and without the halves.

use evidence::bench::{Bench, Calibration};
use evidence::data;
use library::Library;
use std::sync::OnceLock;

fn main() {
    divan::main();
}

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

/// What `lengthwise evidence` does.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn whole() {
    divan::black_box(evidence::bench::shipped(library()).expect("calibrated"));
}

/// Reading and solving alone.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn solving() {
    divan::black_box(Bench::shipped(library()));
}

/// Judging with the shipped calibration.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn judging(bencher: divan::Bencher) {
    let bench = Bench::shipped(library());
    let calibration = Calibration::parse(data::CALIBRATION).expect("calibrated");
    bencher.bench_local(|| bench.evidence(&calibration, None));
}
