//! Facts of the trade (common practice, no source), on the mechanics column alone.

use answer::{Look, SettingValue, Settings};
use library::{Ask, Library};
use std::sync::OnceLock;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

fn settings(list: &[(&str, f64)]) -> Settings {
    list.iter().map(|(k, v)| (k.to_string(), SettingValue::Number(*v))).collect()
}

fn look_with(movement: &str, set: &[(&str, f64)], draws: usize) -> Look {
    let ask = Ask { settings: settings(set), draws, ..Ask::middle(movement) };
    library().look(&ask).unwrap_or_else(|e| panic!("{movement}: {e}"))
}

fn look(movement: &str) -> Look {
    look_with(movement, &[], 0)
}

fn stimulus(l: &Look, head: &str) -> f64 {
    l.heads.iter().find(|h| h.id == head).map_or(0.0, |h| h.stimulus.mid)
}

fn at_joint(l: &Look, head: &str, joint: &str) -> f64 {
    l.heads.iter().find(|h| h.id == head).map_or(f64::NAN, |h| h.length_change_mm.by_joint[joint])
}

/// Heads that cross hip and knee among the hamstrings.
const TWO_JOINT_HAMSTRINGS: [&str; 3] = ["biceps-femoris-long-head", "semitendinosus", "semimembranosus"];

#[test]
fn three_of_four_hamstring_heads_cross_hip_and_knee() {
    let m = library().muscles();
    let joints = |id: &str| m.iter().find(|h| h.id == id).map(|h| h.joints.clone()).expect(id);
    for h in TWO_JOINT_HAMSTRINGS {
        assert_eq!(joints(h), ["hip", "knee"], "{h}");
    }
    assert_eq!(joints("biceps-femoris-short-head"), ["knee"]);
}

#[test]
fn the_two_joint_muscles_programmed_for_size_are_marked() {
    let marked: Vec<&str> =
        library().tables.heads.iter().filter(|h| h.two_joint_for_size).map(|h| h.id.as_str()).collect();
    let mut expected = vec![
        "biceps-femoris-long-head",
        "semitendinosus",
        "semimembranosus",
        "rectus-femoris",
        "gastrocnemius-medial-head",
        "gastrocnemius-lateral-head",
        "biceps-brachii-long-head",
        "biceps-brachii-short-head",
        "triceps-brachii-long-head",
    ];
    let mut got = marked.clone();
    got.sort_unstable();
    expected.sort_unstable();
    assert_eq!(got, expected);
}

#[test]
fn rising_from_a_squat_the_hamstrings_shorten_at_the_hip_and_lengthen_at_the_knee() {
    let squat = look("back-squat");
    for h in TWO_JOINT_HAMSTRINGS {
        let (hip, knee) = (at_joint(&squat, h, "hip"), at_joint(&squat, h, "knee"));
        assert!(hip < -30.0 && knee > 15.0, "{h}: hip {hip:.0} mm, knee {knee:.0} mm");
        let in_squat = stimulus(&squat, h);
        let hinge = stimulus(&look("romanian-deadlift"), h);
        let curl = stimulus(&look("seated-leg-curl"), h);
        println!("{h}: squat {in_squat:.2}, hinge {hinge:.2}, seated curl {curl:.2}");
        assert!(in_squat < 0.75 * hinge.max(curl), "{h}: squat {in_squat:.2}, hinge {hinge:.2}, curl {curl:.2}");
    }
}

/// Both pulls lengthen the biceps at the shoulder. How much that costs depends on how high the arm is: its arm at the
/// shoulder is near zero from 60° of elevation (Landin 2008, stimulated alone). Mannarino et al. 2021 measured less
/// growth from rows than from curls, Gentil et al. 2015 no difference between pull-downs and curls (6.1 v 5.8 %).
#[test]
fn in_a_pull_the_biceps_opposes_itself_and_in_a_row_it_gets_less_than_in_a_curl() {
    for pull in ["seated-cable-row", "lat-pull-down"] {
        let p = look(pull);
        for h in ["biceps-brachii-long-head", "biceps-brachii-short-head"] {
            let (elbow, shoulder) = (at_joint(&p, h, "elbow"), at_joint(&p, h, "shoulder"));
            assert!(elbow < -10.0 && shoulder > 0.0, "{pull} {h}: elbow {elbow:.0} mm, shoulder {shoulder:.0} mm");
            let curl = stimulus(&look("barbell-curl"), h);
            let here = stimulus(&p, h);
            println!("{pull} {h}: {here:.2} v curl {curl:.2}");
            assert!(pull == "lat-pull-down" || here < curl - 0.05, "{pull} {h}: {here:.2} v curl {curl:.2}");
        }
    }
}

/// A push-down that becomes a press costs the long head more than the other two; how that compares with the range is
/// printed, because statics alone shows little of it.
#[test]
fn a_push_down_that_becomes_a_press_costs_the_long_head_most() {
    let strict = look_with("push-down", &[], 32);
    let pressed = look_with("push-down", &[("drift_deg", 45.0), ("trunk_lean_deg", 40.0)], 32);
    let share = |h: &str| stimulus(&pressed, h) / stimulus(&strict, h);
    let (long, lateral, medial) = (
        share("triceps-brachii-long-head"),
        share("triceps-brachii-lateral-head"),
        share("triceps-brachii-medial-head"),
    );
    let range =
        |l: &Look| l.heads.iter().find(|h| h.id == "triceps-brachii-long-head").map(|h| h.stimulus).expect("long head");
    println!("kept of the strict push-down: long {long:.2}, lateral {lateral:.2}, medial {medial:.2}");
    println!("long head strict {:?}, pressed {:?}", range(&strict), range(&pressed));
    assert!(long < lateral && long < medial, "long {long:.2}, lateral {lateral:.2}, medial {medial:.2}");
}

#[test]
fn a_straight_knee_gives_gastrocnemius_the_calf_raise() {
    let ratio = |h: &str| stimulus(&look("standing-calf-raise"), h) / stimulus(&look("seated-calf-raise"), h);
    let (medial, soleus) = (ratio("gastrocnemius-medial-head"), ratio("soleus"));
    println!("standing / seated: gastrocnemius {medial:.2}, soleus {soleus:.2}");
    assert!(medial > 1.5 && medial > 1.5 * soleus);
}
