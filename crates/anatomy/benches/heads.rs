//! Evaluation of the muscle heads in one posture.

#[path = "../tests/heads_support/mod.rs"]
mod heads_support;

use anatomy::body::Body;
use anatomy::heads::{HeadMask, MuscleModel, Variation};
use anatomy::skeleton::{Joint, SidePosture};
use divan::{Bencher, black_box};
use heads_support::{Random, random_posture, tables};

fn main() {
    divan::main();
}

fn evaluate(bencher: Bencher, mask: impl Fn(&MuscleModel) -> HeadMask) {
    let body = Body::average_man();
    let model = MuscleModel::new(&tables(), &body, &Variation::none());
    let mut random = Random(1);
    let postures: Vec<SidePosture> = (0..64).map(|_| random_posture(&body, &mut random)).collect();
    let (wanted, mut frame) = (mask(&model), model.frame());
    let mut i = 0;
    bencher.bench_local(|| {
        i = (i + 1) % postures.len();
        model.evaluate(black_box(&postures[i]), wanted, &mut frame);
        black_box(frame.heads[0].length_m)
    });
}

#[divan::bench]
fn all_82_heads(bencher: Bencher) {
    evaluate(bencher, |m| HeadMask::all(m.len()));
}

#[divan::bench]
fn hip_heads(bencher: Bencher) {
    evaluate(bencher, |m| m.heads_at(&[Joint::Hip]));
}

#[divan::bench]
fn shoulder_heads(bencher: Bencher) {
    evaluate(bencher, |m| m.heads_at(&[Joint::Shoulder]));
}

#[divan::bench]
fn a_new_draw(bencher: Bencher) {
    let (tables, body) = (tables(), Body::average_man());
    bencher.bench(|| MuscleModel::new(&tables, black_box(&body), &Variation::none()));
}

#[divan::bench]
fn parse_the_tables(bencher: Bencher) {
    bencher.bench(tables);
}
