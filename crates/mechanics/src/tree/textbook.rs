//! Textbook problems of muscles and joints as ad-hoc trees: what the books ask, by the recursion, the sharing and the
//! joint forces of the real code. Set-ups, expected numbers and sources stand in `data/proof/textbook-statics.csv`.

use super::Link;
use super::adhoc::{AdhocError, Effort, Line, Load, Muscle, Problem, Solution};
use units::{M3, V3, deg, rad};

/// The books use 9.80 m/s².
pub const G: f64 = 9.8;

pub fn at(x_cm: f64, y_cm: f64) -> V3 {
    V3::new(x_cm / 100.0, y_cm / 100.0, 0.0)
}

/// A direction in the plane, degrees above the forward horizontal.
pub fn towards(angle_deg: f64) -> V3 {
    let (s, c) = rad(angle_deg).sin_cos();
    V3::new(c, s, 0.0)
}

pub fn weight(mass_kg: f64, x_cm: f64) -> Load {
    Load::Mass { link: 0, point_m: at(x_cm, 0.0), mass_kg }
}

pub fn push(force_n: V3, point_m: V3) -> Load {
    Load::Force { link: 0, point_m, force_n }
}

pub fn muscle(line: Line, effort: Effort) -> Muscle {
    Muscle { name: "muscle".into(), link: 0, origin_link: None, line, effort }
}

pub fn along(insertion_m: V3, direction: V3) -> Line {
    Line::Along { insertion_m, direction }
}

pub fn known(force_n: f64) -> Effort {
    Effort::Known { force_n }
}

/// One link on a hinge, its muscle to be found.
pub fn lever(loads: Vec<Load>, line: Line) -> Problem {
    Problem {
        links: vec![Link::PLANE],
        angle_rad: vec![0.0],
        gravity_m_s2: V3::new(0.0, -G, 0.0),
        balanced: vec![0],
        loads,
        muscles: vec![muscle(line, Effort::UNKNOWN)],
    }
}

/// One link held at a point, every force known: only the joint force is asked.
pub fn held(loads: Vec<Load>, muscles: Vec<Muscle>) -> Problem {
    let fixed = Link { axis: V3::zeros(), ..Link::PLANE };
    Problem { links: vec![fixed], balanced: vec![], muscles, ..lever(loads, along(V3::zeros(), V3::y())) }
}

pub fn joint_force(solution: &Solution) -> V3 {
    solution.joints[0].force_on_link_n
}

/// Angle above the forward horizontal, 0 to 360 degrees.
pub fn angle_deg(v: V3) -> f64 {
    deg(v.y.atan2(v.x)).rem_euclid(360.0)
}

/// Answers of the worked examples W01–W21 of `data/proof/textbook-statics.csv`, as (id, quantity, value in the unit of
/// the table).
///
/// # Errors
/// A problem that cannot be solved; impossible in a tested build.
pub fn worked_examples() -> Result<Vec<(&'static str, &'static str, f64)>, AdhocError> {
    let mut found = Vec::new();
    let mut put = |id: &'static str, quantity: &'static str, value: f64| found.push((id, quantity, value));

    // Forearm level, elbow at the hinge, hand forward.
    let forearm = lever(vec![weight(2.5, 16.0), weight(4.0, 38.0)], along(at(4.0, 0.0), V3::y()));
    let s = forearm.forces()?;
    put("W01", "muscle", s.muscle_force_n[0]);
    put("W01", "ratio to weight held", s.muscle_force_n[0] / (6.5 * G));
    put("W02", "joint", -joint_force(&s).y);
    let sloping = Problem { angle_rad: vec![rad(-30.0)], ..forearm };
    put("W03", "muscle", sloping.forces()?.muscle_force_n[0]);

    // Trunk bent forward over the hips; the muscle pulls backwards and down.
    let line = Line::Lever { lever_m: 0.08, direction: towards(180.0 + 29.0) };
    let s = lever(vec![weight(55.0, 35.0), weight(30.0, 50.0)], line).forces()?;
    put("W04", "muscle", s.muscle_force_n[0]);
    put("W04", "ratio to weight", s.muscle_force_n[0] / (85.0 * G));
    put("W05", "joint", joint_force(&s).norm());
    put("W05", "joint angle", angle_deg(joint_force(&s)));
    put("W05", "ratio to weight", joint_force(&s).norm() / (85.0 * G));

    // Two heads on one tendon, along X.
    let head = |angle: f64| muscle(along(V3::zeros(), towards(angle)), known(200.0));
    put("W06", "total", -joint_force(&held(vec![], vec![head(20.0), head(-20.0)]).forces()?).x);

    // Knee-cap: what its two tendons press it on the thigh bone with.
    let tendon = |angle: f64| muscle(along(V3::zeros(), towards(angle)), known(1250.0));
    let on_bone = -joint_force(&held(vec![], vec![tendon(180.0 - 55.0), tendon(180.0 + 75.0)]).forces()?);
    put("W07", "joint", on_bone.norm());
    put("W07", "joint angle", angle_deg(on_bone));

    // Hanging shank, cable pulling backwards at the ankle, patellar tendon 2 cm in front of the axis.
    let cable = push(V3::new(-10.0 * G, 0.0, 0.0), at(0.0, -35.0));
    let tendon = Line::Lever { lever_m: 0.02, direction: V3::y() };
    put("W08", "muscle", lever(vec![cable], tendon.clone()).forces()?.muscle_force_n[0]);

    // Head bent forward: three forces through one point.
    let head = vec![push(V3::new(0.0, -50.0, 0.0), V3::zeros())];
    let neck = muscle(along(V3::zeros(), towards(180.0 + 33.0)), known(60.0));
    let force = joint_force(&held(head, vec![neck]).forces()?);
    put("W09", "joint", force.norm());
    put("W09", "joint angle", angle_deg(force));

    let head = vec![push(V3::new(0.0, -50.0, 0.0), at(2.5, 0.0))];
    let s = lever(head, along(at(-5.0, 0.0), -V3::y())).forces()?;
    put("W10", "muscle", s.muscle_force_n[0]);
    put("W10", "joint", joint_force(&s).y);

    // Foot, ankle at the hinge, toes forward.
    let floor = vec![push(V3::new(0.0, 75.0 * G, 0.0), at(12.0, 0.0))];
    let s = lever(floor, along(at(-4.0, 0.0), V3::y())).forces()?;
    put("W11", "muscle", s.muscle_force_n[0]);
    put("W11", "joint", -joint_force(&s).y);

    put("W12", "muscle", lever(vec![weight(4.0, 20.0), weight(10.0, 38.0)], tendon).forces()?.muscle_force_n[0]);

    // Jaw: the muscle is known, the bite (the food's push down) is asked.
    let mut jaw = lever(vec![], along(at(5.0, 0.0), -V3::y()));
    jaw.muscles.push(muscle(along(at(2.9, 0.0), V3::y()), known(200.0)));
    let s = jaw.forces()?;
    put("W13", "bite", s.muscle_force_n[0]);
    put("W13", "joint", -joint_force(&s).y);

    // Push-up: the whole body turns about the feet; then one forearm turns about the elbow.
    let body = lever(vec![weight(50.0, 90.0)], along(at(150.0, 0.0), V3::y())).forces()?;
    let hand_n = body.muscle_force_n[0] / 2.0;
    put("W14", "hand", hand_n);
    let triceps = Line::Lever { lever_m: -0.0175, direction: V3::y() };
    let s = lever(vec![push(V3::new(0.0, hand_n, 0.0), at(20.0, 0.0))], triceps).forces()?;
    put("W14", "muscle", s.muscle_force_n[0]);
    put("W14", "ratio to weight", s.muscle_force_n[0] / (50.0 * G));

    // Prone leg curl from level; the shank's own weight is left out, its inertia is about the knee.
    let mut curl = lever(vec![weight(10.0, 28.0)], Line::Lever { lever_m: 0.03, direction: V3::x() });
    curl.links[0].inertia_kg_m2 = M3::identity() * 0.9;
    curl.muscles[0].effort = known(1500.0);
    put("W15", "acceleration", curl.accelerations()?[0]);

    // Forearm at 60 degrees from level; inches in the book.
    const INCH_CM: f64 = 2.54;
    let down = |n: f64, inches: f64| push(V3::new(0.0, -n, 0.0), at(inches * INCH_CM, 0.0));
    let bent = |loads| Problem { angle_rad: vec![rad(60.0)], ..lever(loads, along(at(1.5 * INCH_CM, 0.0), V3::y())) };
    for (id, loads) in [("W16", vec![down(222.4, 13.0)]), ("W17", vec![down(222.4, 13.0), down(8.896, 6.5)])] {
        let s = bent(loads).forces()?;
        put(id, "muscle", s.muscle_force_n[0]);
        put(id, "joint", -joint_force(&s).y);
    }

    let s = any_angle(35.0).forces()?;
    put("W18", "muscle", s.muscle_force_n[0]);
    put("W18", "joint", -joint_force(&s).y);

    // Pelvis on the stance hip; the rest of the body to one side, the abductor on the other.
    let line = Line::Lever { lever_m: 0.05, direction: towards(-(180.0 - 70.0)) };
    let s = lever(vec![weight(0.84 * 75.0, 10.0)], line).forces()?;
    put("W19", "muscle", s.muscle_force_n[0]);
    put("W19", "muscle in body weights", s.muscle_force_n[0] / (75.0 * G));
    put("W19", "joint", joint_force(&s).norm());
    put("W19", "joint in body weights", joint_force(&s).norm() / (75.0 * G));

    // Arm held out level; the abductor pulls towards the body and 15 degrees up.
    let line = Line::Lever { lever_m: 0.03, direction: towards(180.0 - 15.0) };
    let s = lever(vec![weight(3.75, 30.0), weight(2.0, 60.0)], line).forces()?;
    put("W20", "muscle", s.muscle_force_n[0]);
    put("W20", "joint", joint_force(&s).norm());

    // Trunk leaning 40 degrees from upright; compression is along the spine, whose muscle pulls down along it.
    let spine = towards(90.0 - 40.0);
    let line = Line::Lever { lever_m: 0.05, direction: -spine };
    let s = lever(vec![weight(0.55 * 75.0, 20.0), weight(20.0, 45.0)], line).forces()?;
    put("W21", "muscle", s.muscle_force_n[0]);
    put("W21", "compression", joint_force(&s).dot(&spine));
    Ok(found)
}

/// Forearm of W18 at some angle above level.
pub fn any_angle(angle_deg: f64) -> Problem {
    let forearm = lever(vec![weight(5.0, 35.0), weight(3.0, 15.0)], along(at(4.0, 0.0), V3::y()));
    Problem { angle_rad: vec![rad(angle_deg)], ..forearm }
}
