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
    check(words::lower_first("Front-side hip (TFL)"), "front-side hip (TFL)");
    check(words::lower_first("T-bar row"), "T-bar row");
}

/// A squat that coaches count wholly for the first two heads and by half for the rectus.
fn squat_as_known() -> answer::Look {
    let mut l = a::squat_look();
    for (plain, convention) in [("Vastus lateralis", 1.0), ("Vastus medialis", 1.0), ("Rectus femoris", 0.5)] {
        l.heads.iter_mut().filter(|h| h.plain == plain).for_each(|h| h.credit.convention = convention);
    }
    l
}

#[test]
fn what_a_movement_is_known_for_leads_and_the_surprise_follows() {
    check(
        finding(&squat_as_known()),
        "Back squat: thigh 0.80–0.93 (two heads) of their reference movements; rectus femoris gets little (0.05–0.15): \
         shortens 33 mm at the knee and lengthens 38 mm at the hip; the hip limits the set",
    );
}

#[test]
fn a_head_it_is_known_for_that_gets_little_is_the_surprise() {
    let mut l = squat_as_known();
    l.heads[1].class = Class::Little;
    l.heads[1].stimulus = Range { low: 0.02, mid: 0.08, high: 0.12 };
    check(
        finding(&l),
        "Back squat: vastus lateralis 0.84–0.93 of its reference movement; but vastus medialis gets little (0.02–0.12); \
         the hip limits the set",
    );
}

#[test]
fn heads_of_low_confidence_never_lead_unless_the_movement_is_known_for_them() {
    let mut l = a::bench_look();
    let mut neck = l.heads[0].clone();
    neck.plain = "side of the neck".into();
    neck.stimulus = Range { low: 1.1, mid: 1.2, high: 1.2 };
    neck.marks = vec![answer::LOW_CONFIDENCE.into()];
    l.heads.insert(0, neck);
    let text = finding(&l);
    assert!(text.starts_with("Bench press: most goes to pectoralis major, sternal part, 0.80–1.00"), "{text}");
    l.heads[0].credit.convention = 0.5;
    let text = finding(&l);
    assert!(text.starts_with("Bench press: side of the neck 1.10–1.20 of its reference movement"), "{text}");
    let drawn = look_card(&l, &Card::default());
    let words: Vec<&str> = drawn.labels.iter().map(|t| t.text.as_str()).collect();
    assert!(words.join(" ").contains("(low confidence)"), "{words:?}");
}

#[test]
fn without_a_convention_the_best_is_named() {
    let mut l = a::bench_look();
    l.heads.retain(|h| h.plain.starts_with("Triceps, lateral"));
    check(
        finding(&l),
        "Bench press: most goes to triceps, lateral head, 0.50–0.69 of its reference movement; the shoulder limits the \
         set",
    );
    l.heads.clear();
    check(finding(&l), "No muscle is loaded in bench press");
}

#[test]
fn settings_are_said_in_coachs_words() {
    let said = |key: &str, v: f64| figure::setting_said_and_typed(key, &answer::SettingValue::Number(v));
    check(said("heel_m", 0.04), "heels raised 4 cm (heel_m 0.04)");
    check(said("stance_x", 1.5), "stance width 1.5 × shoulder width (stance_x)");
    check(said("my_own_deg", 1.5), "my_own_deg 1.5");
    let bar = answer::SettingValue::Word("rails".into());
    check(figure::setting_said_and_typed("guide", &bar), "bar path: rails (guide)");
}

/// Every setting a coach may type has words: the table is held against the list of settings.
#[test]
fn every_setting_has_words() {
    let column = |table: &'static str, n: usize| -> std::collections::BTreeSet<&str> {
        table.lines().skip(1).filter_map(|l| l.split(',').nth(n)).collect()
    };
    let keys = column(include_str!("../../../data/movements/family_settings.csv"), 1);
    let worded = column(include_str!("../../../data/movements/setting_words.csv"), 0);
    let without: Vec<&&str> = keys.difference(&worded).collect();
    assert!(keys.len() > 100 && without.is_empty(), "{without:?}");
}

#[test]
fn variants_of_one_movement_are_told_apart() {
    let mut c = a::compare();
    c.looks = vec![a::squat_look(), a::squat_look()];
    c.differences.iter_mut().for_each(|d| d.matters = false);
    check(compare_finding(&c), "Back squat is asked for twice, with the same settings");
    c.looks[1].settings.insert("stance_x".into(), answer::SettingValue::Number(1.0));
    check(
        compare_finding(&c),
        "No head differs between back squat (stance width 1.8 × shoulder width) and back squat (stance width 1 × \
         shoulder width) in a way that matters",
    );
}

#[test]
fn other_answers_have_their_number_in_the_title() {
    check(
        compare_finding(&a::compare()),
        "Rectus femoris: 0.12 (0.05–0.15) in back squat, 0.95 (0.86–1.00) in leg extension",
    );
    check(
        rank_finding(&a::rank()),
        "Seated leg curl does most for semimembranosus: 0.93 (0.85–1.00) of its reference movement",
    );
    check(
        audit_finding(&a::audit()),
        "Three heads in two groups are short of their band; biceps femoris, short head comes first, 5.9 credited sets short",
    );
}

#[test]
fn hostile_names_are_escaped() {
    let mut l = a::squat_look();
    l.name = "<script>alert('x')</script> & \u{0} \"q\"".into();
    let svg = look_card(&l, &Card::default()).svg;
    assert!(!svg.contains("<script") && !svg.contains('\u{0}') && svg.contains("&lt;script&gt;"));
}
