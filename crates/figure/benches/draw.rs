//! Times of drawing: a posture, a whole card, a picture.
#[path = "../tests/common/mod.rs"]
mod common;

use common::answers as a;
use figure::*;

fn main() {
    divan::main();
}

#[divan::bench]
fn posture(b: divan::Bencher) {
    let s = common::squat();
    b.bench(|| posture_svg(&s, View::Side, Frames::Hardest, &Options::default()));
}

#[divan::bench]
fn look(b: divan::Bencher) {
    let l = a::squat_look();
    b.bench(|| look_card(&l, &Card::default()));
}

#[divan::bench]
fn audit(b: divan::Bencher) {
    let w = a::audit();
    b.bench(|| ledger(&w, Opened::Heads, &Card::default()));
}

#[cfg(feature = "png")]
#[divan::bench(args = [300, 1080])]
fn picture(b: divan::Bencher, width: u32) {
    let d = posture_svg(&common::squat(), View::Side, Frames::Hardest, &Options::default());
    b.bench(|| png::png(&d.svg, png::Size::Width(width)));
}
