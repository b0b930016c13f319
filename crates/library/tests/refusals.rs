//! Questions that have no answer are refused with numbers, names and what to do.

use answer::{SettingValue, Settings};
use library::{Ask, Library, Person};
use std::sync::OnceLock;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

/// The error text of a question must hold every one of these pieces.
fn check(movement: &str, set: &[(&str, f64)], person: Person, expected: &[&str]) {
    let settings: Settings = set.iter().map(|(k, v)| (k.to_string(), SettingValue::Number(*v))).collect();
    let ask = Ask { settings, person, ..Ask::middle(movement) };
    let text = match library().look(&ask) {
        Ok(_) => "an answer".to_string(),
        Err(e) => e.to_string(),
    };
    for piece in expected {
        assert!(text.contains(piece), "{movement} {set:?}: \"{text}\" lacks \"{piece}\"");
    }
}

#[test]
fn unknown_movements_name_the_nearest() {
    check("bakc sqaut machine", &[], Person::average_man(), &["no movement called", "nearest"]);
}

#[test]
fn unknown_heads_name_the_nearest() {
    let ask = Ask::middle("");
    let e = library().rank("biceps-femoris-longhead", None, &ask).expect_err("no such head").to_string();
    assert!(e.contains("biceps-femoris-long-head"), "{e}");
}

#[test]
fn settings_out_of_range_say_the_range() {
    check("back-squat", &[("depth_knee_deg", 170.0)], Person::average_man(), &["depth_knee_deg", "50", "140"]);
    check("back-squat", &[("depth_kne_deg", 100.0)], Person::average_man(), &["depth_kne_deg", "depth_knee_deg"]);
}

#[test]
fn impossible_bodies_say_what_is_possible() {
    let short = Person { stature_m: 0.9, ..Person::average_man() };
    check("back-squat", &[], short, &["0.9", "1.2"]);
    let light = Person { mass_kg: 12.0, ..Person::average_man() };
    check("back-squat", &[], light, &["12", "30"]);
}

#[test]
fn a_pulley_inside_the_body_is_refused() {
    let inside = [("pulley_h_m", 1.1), ("pulley_dist_m", 0.0)];
    check("cable-curl", &inside, Person::average_man(), &["pulley", "inside the trunk", "pulley_dist_m"]);
}
