//! Findings and numbers as words.
mod common;

use answer::{Class, Range};
use common::answers as a;
use figure::words;
use figure::*;

fn check(got: impl AsRef<str>, want: &str) {
    assert_eq!(got.as_ref(), want);
}

#[test]
fn numbers_read_properly() {
    check(words::num(-3.04, 1), "−3.0");
    check(words::num(-0.02, 1), "0.0");
    check(words::num(f64::NAN, 1), "–");
    check(words::signed(30.6, 0), "+31");
    check(words::signed(0.2, 0), "0");
    check(words::signed(-33.0, 0), "−33");
    check(words::range(Range { low: 9.1, mid: 11.0, high: 12.6 }, 1), "11.0 (9.1–12.6)");
    check(words::between(0.501, 0.499, 2), "0.50");
    check(words::load(117.5), "117.5");
    check(words::load(100.0), "100");
}

#[test]
fn a_cancelling_head_with_little_is_the_finding() {
    check(
        finding(&a::squat_look()),
        "Rectus femoris shortens 33 mm at the knee and lengthens 38 mm at the hip: back squat leaves it little to do",
    );
}

#[test]
fn a_cancelling_head_that_is_strong_is_no_finding() {
    let mut l = a::squat_look();
    for h in &mut l.heads {
        if h.opposition > 0.5 {
            h.class = Class::Strong;
        }
    }
    check(
        finding(&l),
        "Vastus lateralis and Vastus medialis are prime, the first at 0.84–0.93 of its best; the hip limits the set",
    );
}

#[test]
fn without_a_prime_head_the_best_is_named() {
    let mut l = a::bench_look();
    l.heads.retain(|h| h.plain.starts_with("Triceps, lateral"));
    check(
        finding(&l),
        "Nothing is prime in bench press: triceps, lateral head gets most, 0.50–0.69 of its best; the shoulder limits the set",
    );
    l.heads.clear();
    check(finding(&l), "No muscle is loaded in bench press");
}

#[test]
fn other_answers_have_their_number_in_the_title() {
    check(
        compare_finding(&a::compare()),
        "Rectus femoris: 0.12 (0.05–0.15) in back squat, 0.95 (0.86–1.00) in leg extension",
    );
    check(rank_finding(&a::rank()), "Seated leg curl does most for semimembranosus: 0.93 (0.85–1.00) of its best");
    check(
        audit_finding(&a::audit()),
        "Three heads are short of their band; biceps femoris, short head lacks most, 5.9 credited sets",
    );
}

#[test]
fn hostile_names_are_escaped() {
    let mut l = a::squat_look();
    l.name = "<script>alert('x')</script> & \u{0} \"q\"".into();
    let svg = look_card(&l, &Card::default()).svg;
    assert!(!svg.contains("<script") && !svg.contains('\u{0}') && svg.contains("&lt;script&gt;"));
}
