//! The rule files: complete, sourced, and refused when broken.

mod common;
use common::{TEXTS, rules};
use programme::{RuleTexts, Rules};

/// Problems of the rules with one file replaced.
fn check(texts: RuleTexts, expected: &[&str]) {
    let problems = Rules::parse(&texts).expect_err("broken rules are refused");
    let all: Vec<String> = problems.iter().map(|p| p.to_string()).collect();
    for want in expected {
        assert!(all.iter().any(|p| p.contains(want)), "{want} not in {all:#?}");
    }
}

#[test]
fn broken_files_name_line_and_nearest() {
    let slip = TEXTS.constants.replace("rir_4_value", "rir_4_vlaue");
    check(
        RuleTexts { constants: &slip, ..TEXTS },
        &["constants.csv:3: no constant called \"rir_4_vlaue\"; nearest: rir_4_value", "\"rir_4_value\" is missing"],
    );
    let words = TEXTS.bands.replace("grow,adult,6", "grow,adult,six");
    check(RuleTexts { bands: &words, ..TEXTS }, &["\"six\" is no number"]);
    let nobody = TEXTS.safety.replace("parent or guardian", "");
    check(RuleTexts { safety: &nobody, ..TEXTS }, &["nobody is named who can lift it"]);
    check(RuleTexts { safety: "id,kind\nx,y\n", ..TEXTS }, &["the column \"level\" is missing"]);
    let tag = TEXTS.safety.replace("spinal-twist", "spinal-twits");
    check(RuleTexts { safety: &tag, ..TEXTS }, &["restricts \"spinal-twits\""]);
    check(RuleTexts { load_reps: "load_pct_1rm,reps,source,how\n80,9,a,b\n90,5,a,b\n", ..TEXTS }, &["load must fall"]);
    check(RuleTexts { constants: "", ..TEXTS }, &["the column \"key\" is missing"]);
}

#[test]
fn every_constant_has_a_source_and_how_it_is_known() {
    for text in [TEXTS.constants, TEXTS.bands, TEXTS.load_reps, TEXTS.safety, TEXTS.restrictions, TEXTS.head_actions] {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        let of = |name: &str| header.iter().position(|h| h == name).unwrap();
        let (source, how) = (of("source"), of("how"));
        for record in reader.records().map(Result::unwrap) {
            assert!(!record[source].is_empty() && !record[how].is_empty(), "{record:?}");
        }
    }
}

#[test]
fn pain_places_find_joints() {
    let rules = rules();
    for (place, joint) in [
        ("Left knee, inner side", Some("knee")),
        ("front shoulder", Some("shoulder")),
        ("under the left shoulder blade", Some("girdle")),
        ("low back", Some("lumbar")),
        ("upper back", Some("girdle")),
        ("Achilles", Some("ankle")),
        ("jaw", None),
    ] {
        assert_eq!(rules.joint_of_pain(place), joint, "{place}");
    }
}

#[test]
fn bands_are_those_agreed() {
    // keep 2-4 (3-5 over 60), grow 6-10, focus 10-18, beginners 4-8 and 6-12; sources stand in the rows.
    let got: Vec<(f64, f64)> = rules().bands.iter().map(|b| (b.band.low, b.band.high)).collect();
    assert_eq!(got, [(2.0, 4.0), (3.0, 5.0), (6.0, 10.0), (4.0, 8.0), (10.0, 18.0), (6.0, 12.0)]);
}
