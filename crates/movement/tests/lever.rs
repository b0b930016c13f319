//! Loads on levers against plane statics: a weight at the end of a hinged bar turns it with W cos(slope), square to it.

use movement::posture::PullLine;
use units::{V3, rad};

/// Force per unit weight at the end of a bar of 2 m that slopes up backward from a pivot in front.
fn check(weighs: bool, slope_deg: f64, expected: V3) {
    let line = PullLine::Lever { pivot_m: V3::new(2.0, 0.0, 0.0), axis: V3::z(), weighs };
    let slope = rad(slope_deg);
    let end = V3::new(2.0 - 2.0 * slope.cos(), 2.0 * slope.sin(), 0.0);
    let got = line.at(&end);
    assert!((got - expected).norm() < 1e-12, "slope {slope_deg}: {got:?}, expected {expected:?}");
}

#[test]
fn a_hinged_weight_presses_square_to_its_bar() {
    // Level: the whole weight, straight down. Upright: nothing.
    check(true, 0.0, V3::new(0.0, -1.0, 0.0));
    check(true, 90.0, V3::zeros());
    // Sloping by 30 degrees: cos 30 square to the bar, that is back by cos 30 sin 30 and down by cos² 30.
    check(true, 30.0, V3::new(-0.75f64.sqrt() * 0.5, -0.75, 0.0));
}

#[test]
fn a_machine_arm_pushes_alike_at_every_slope() {
    for slope_deg in [0.0f64, 30.0, 75.0] {
        let slope = rad(slope_deg);
        check(false, slope_deg, V3::new(-slope.sin(), -slope.cos(), 0.0));
    }
}
