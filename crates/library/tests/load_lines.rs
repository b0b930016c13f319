//! Directions of loads that a family file states by what they hang on: hinged bars, bands between the hands, help under
//! the knees, a knee under the elbow; and the ways in which a movement for the blade is judged.
//!
//! Expectations come from statics: a hinge carries no moment, a stretched band pulls its ends together alike.

use library::{Ask, Library};
use movement::rep::{AppliedForce, Rep};
use std::sync::OnceLock;
use stimulus::range::Widths;
use units::{GRAVITY_M_S2, V3};

/// Forces are compared within this, N per unit load or N.
const AGREE_N: f64 = 1e-9;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

fn rep(movement: &str) -> Rep {
    let ask = Ask::middle(movement);
    library().study(&ask, &Widths::default()).unwrap_or_else(|e| panic!("{movement}: {e}")).rep
}

fn check(what: &str, got: V3, expected: V3) {
    assert!((got - expected).norm() < AGREE_N, "{what}: {got:?}, expected {expected:?}");
}

#[test]
fn a_hinged_bar_loads_the_hands_with_the_moment_of_its_weight() {
    // Where the family file puts it for a man of 1.75 m.
    let hinge = V3::new(-1.6, 0.0, 0.0);
    for f in &rep("t-bar-row").frames {
        let [a, b]: [&AppliedForce; 2] = [&f.forces[0], &f.forces[1]];
        let arm = (a.at_m + b.at_m) * 0.5 - hinge;
        let force = a.per_load_n + b.per_load_n;
        let weight = V3::new(0.0, -GRAVITY_M_S2, 0.0);
        check("moment about the hinge", arm.cross(&force), arm.cross(&weight));
        check("nothing along the bar", arm * force.dot(&arm), V3::zeros());
    }
}

#[test]
fn a_band_between_the_hands_pulls_them_together_the_harder_the_wider() {
    let frames = rep("band-pull-apart").frames;
    let mut last = (0.0, 0.0);
    for f in &frames {
        let (a, b) = (&f.forces[0], &f.forces[1]);
        check("both ends alike", a.per_load_n, -b.per_load_n);
        check("along the band", a.per_load_n.cross(&(b.at_m - a.at_m)), V3::zeros());
        assert!(a.per_load_n.dot(&(b.at_m - a.at_m)) > 0.0, "a band pulls");
        let (wide, pull) = ((b.at_m - a.at_m).norm(), a.per_load_n.norm());
        assert!((wide > last.0) == (pull > last.1), "{wide:.3} m, {pull:.2} N after {last:?}");
        last = (wide, pull);
    }
    assert!((last.1 - GRAVITY_M_S2).abs() < 1e-6, "the load is the pull at full stretch, got {} N", last.1);
}

#[test]
fn help_under_the_knees_is_what_the_setting_says() {
    let up = |f: &AppliedForce| f.constant_n.y;
    let machine: Vec<f64> = rep("assisted-pull-up").frames.iter().map(|f| f.forces.iter().map(up).sum()).collect();
    assert!(machine.iter().all(|n| (n - 250.0).abs() < 1e-6), "a machine helps alike all the way: {machine:?} N");
    let band: Vec<f64> = rep("band-assisted-pull-up")
        .frames
        .iter()
        .map(|f| f.forces.iter().map(|g| g.constant_n.norm()).sum())
        .collect();
    let most = band.iter().copied().fold(0.0, f64::max);
    assert!((most - 200.0).abs() < 1e-6 && band[0] == most, "a band helps most at the bottom: {band:?} N");
}

#[test]
fn an_elbow_on_the_knee_is_carried() {
    let tags = |m: &str| rep(m).frames[0].free.iter().map(|f| f.tag).collect::<Vec<_>>();
    assert!(tags("knee-supported-external-rotation").contains(&"rest under the elbow"));
    assert!(!tags("cable-external-rotation").contains(&"rest under the elbow"));
}

#[test]
fn a_movement_of_the_blade_is_judged_the_way_the_blade_moves() {
    let axes = |m: &str| {
        let ask = Ask::middle(m);
        let look = library().look(&ask).unwrap_or_else(|e| panic!("{m}: {e}"));
        look.moments.iter().map(|m| m.axis.clone()).collect::<Vec<_>>()
    };
    assert_eq!(axes("barbell-shrug"), ["girdle.elevation"]);
    assert_eq!(axes("serratus-punch"), ["girdle.protraction"]);
    assert_eq!(axes("scapular-retraction-row"), ["girdle.retraction"]);
    assert_eq!(axes("leaning-shrug"), ["girdle.elevation", "girdle.retraction"]);
    // Hanging, arm and blade are one chain.
    let hang = axes("scapular-pull-up");
    assert!(["girdle.depression", "shoulder.extension"].iter().all(|a| hang.iter().any(|h| h == a)), "{hang:?}");
}
