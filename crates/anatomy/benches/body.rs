//! Building and drawing a body.

use anatomy::body::{BODY_DIMENSIONS, Body, BodySampler, BodySpec, BodySpread, BodyTables, Sex, Tape};
use divan::{Bencher, black_box};

fn main() {
    BodyTables::shipped();
    divan::main();
}

fn woman() -> BodySpec {
    BodySpec::new(Sex::Female, 1.65, 62.0).with_tape(Tape::Thigh, 0.40).with_tape(Tape::Span, 1.70)
}

#[divan::bench]
fn from_measures(bencher: Bencher) {
    let spec = woman();
    bencher.bench_local(|| Body::new(black_box(&spec), BodyTables::shipped()));
}

#[divan::bench]
fn one_draw(bencher: Bencher) {
    let sampler = BodySampler::new(&woman(), BodyTables::shipped(), BodySpread::published()).expect("a possible body");
    bencher.bench_local(|| sampler.draw(black_box(&[0.3; BODY_DIMENSIONS])));
}
