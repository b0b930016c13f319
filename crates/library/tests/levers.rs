//! Lever arms of a cable against hand arithmetic: straight arm in the frontal plane, pulley 0.40 m beyond the mid-line on
//! the other side (own arithmetic of this project, written before any movement was modelled; sizes within 5 cm).

use answer::{SettingValue, Settings};
use library::{Ask, Library, Person};
use stimulus::range::Widths;

/// Stature in m, pulley height in m, arm angle of the longest lever in degrees, that lever and the one at 90° in cm.
const BY_HAND: [[f64; 5]; 8] = [
    [1.80, 0.10, 40.0, 69.4, 49.9],
    [1.80, 0.45, 20.0, 69.4, 42.4],
    [1.80, 0.80, 0.0, 69.4, 31.4],
    [1.80, 1.20, 0.0, 57.8, 14.0],
    [1.55, 0.10, 40.0, 59.7, 41.8],
    [1.55, 0.45, 20.0, 59.8, 33.7],
    [1.55, 0.80, 0.0, 58.5, 21.8],
    [1.55, 1.20, 0.0, 44.8, 3.4],
];

/// (arm angle in degrees, lever in cm) over the lift.
fn levers(lib: &Library, stature_m: f64, pulley_h_m: f64) -> Vec<(f64, f64)> {
    let values = [("pulley_h_m", pulley_h_m), ("pulley_dist_m", 0.4), ("plane_deg", 0.0), ("elbow_fix_deg", 0.0)];
    let ends = [("start_el_deg", 0.0), ("top_el_deg", 95.0)];
    let settings: Settings =
        values.iter().chain(&ends).map(|(k, v)| (k.to_string(), SettingValue::Number(*v))).collect();
    let man = Person::average_man();
    let person = Person { stature_m, mass_kg: man.mass_kg * (stature_m / man.stature_m).powi(2), ..man };
    let ask = Ask { settings, person, frames: 41, ..Ask::middle("cable-lateral-raise") };
    let study = lib.study(&ask, &Widths::default()).expect("it is solved");
    let frames = study.rep.frames.iter().map(|f| {
        let p = movement::scene::points(f, &study.body);
        let (s, e) = (p["shoulder-right"], p["elbow-right"]);
        let force = &f.forces[0];
        let (y, z) = (force.at_m.y - s[1], force.at_m.z - s[2]);
        let pull = force.per_load_n;
        let lever_m = (y * pull.z - z * pull.y).abs() / pull.y.hypot(pull.z);
        ((e[2] - s[2]).atan2(s[1] - e[1]).to_degrees(), 100.0 * lever_m)
    });
    frames.collect()
}

#[test]
fn the_lever_of_a_cable_peaks_where_hand_arithmetic_puts_it() {
    let lib = Library::embedded().expect("the shipped data parses");
    for [stature_m, pulley_h_m, peak_deg, peak_cm, level_cm] in BY_HAND {
        let list = levers(&lib, stature_m, pulley_h_m);
        let (at, most) = list.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).expect("frames");
        let near = |a: &&(f64, f64), b: &&(f64, f64)| (a.0 - 90.0).abs().total_cmp(&(b.0 - 90.0).abs());
        let level = list.iter().min_by(near).expect("frames").1;
        let what = format!("{stature_m} m, pulley at {pulley_h_m} m: {most:.1} cm at {at:.0}°, {level:.1} cm at 90°");
        println!("{what}; by hand {peak_cm} at {peak_deg}, {level_cm}");
        assert!(
            (at - peak_deg).abs() < 12.0 && (most - peak_cm).abs() < 5.0 && (level - level_cm).abs() < 7.0,
            "{what}"
        );
    }
}
