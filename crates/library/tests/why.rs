//! Reasons: what drives a verdict, and whether what is said to change it does.

use answer::{SettingValue, Settings, Why};
use library::{Ask, Library, Person};
use std::sync::OnceLock;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

fn ask(movement: &str, settings: Settings) -> Ask {
    Ask {
        movement: movement.into(),
        settings,
        person: Person::average_man(),
        draws: 0,
        seed: 1,
        frames: 21,
        scene: false,
    }
}

fn why(movement: &str, head: &str) -> Why {
    library().why(&ask(movement, Settings::new()), head).unwrap_or_else(|e| panic!("{movement}, {head}: {e}"))
}

fn pull(w: &Why, joint: &str) -> f64 {
    w.joints.iter().find(|j| j.joint == joint).map_or(f64::NAN, |j| j.pull)
}

/// Common practice, no source: the two-joint heads of the thigh are called by one joint and held back by the other.
#[test]
fn joints_that_hold_a_two_joint_head_back_are_named() {
    let rectus = why("back-squat", "rectus-femoris");
    assert!(pull(&rectus, "knee") > 0.0 && pull(&rectus, "hip") < 0.0, "{:?}", rectus.joints);
    let hamstring = why("back-squat", "semitendinosus");
    assert!(pull(&hamstring, "hip") > 0.0 && pull(&hamstring, "knee") < 0.0, "{:?}", hamstring.joints);
    let alone = why("leg-extension", "vastus-lateralis");
    assert!((pull(&alone, "knee") - 1.0).abs() < 1e-9, "{:?}", alone.joints);
}

/// The price of a row times the head's moment is what makes it active: no call, no activation.
#[test]
fn pulls_agree_with_activation() {
    for (movement, head) in
        [("back-squat", "gluteus-maximus-inferior-part"), ("seated-cable-row", "biceps-brachii-long-head")]
    {
        let w = why(movement, head);
        let sum: f64 = w.joints.iter().map(|j| j.pull).sum();
        let size: f64 = w.joints.iter().map(|j| j.pull.abs()).sum();
        assert!((size - 1.0).abs() < 1e-9, "{movement}, {head}: sizes add up to {size}");
        assert!(w.activation < 0.01 || sum > 0.0, "{movement}, {head}: active without a call: {:?}", w.joints);
    }
}

#[test]
fn what_is_said_to_change_the_verdict_changes_it() {
    let mut seen = 0;
    for (movement, head) in [("back-squat", "rectus-femoris"), ("lat-pull-down", "biceps-brachii-long-head")] {
        let w = why(movement, head);
        for f in &w.flips {
            let settings = Settings::from([(f.setting.clone(), f.to.clone())]);
            let look = library().look(&ask(movement, settings)).expect("the flip was solved before");
            let h = look.heads.iter().find(|h| h.id == head).expect("the head is loaded");
            assert_ne!(h.class, w.class, "{movement}, {head}: {} = {}: still {:?}", f.setting, f.to, h.class);
            seen += 1;
        }
        assert!(w.flips.iter().all(|f| matches!(f.to, SettingValue::Word(_)) || f.to != f.from));
    }
    assert!(seen > 0, "no flip to check");
}

#[test]
fn heads_that_are_not_loaded_are_refused_with_the_reason() {
    let e = library().why(&ask("leg-extension", Settings::new()), "biceps-brachii-long-head").expect_err("no arm work");
    assert!(e.to_string().contains("supported or held"), "{e}");
    let e = library().why(&ask("leg-extension", Settings::new()), "rectus-femurus").expect_err("no such head");
    assert!(e.to_string().contains("rectus-femoris"), "{e}");
}
