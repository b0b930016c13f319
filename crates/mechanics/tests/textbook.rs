//! Textbook problems of muscles and joints, W01–W21 of `golden/worked_examples_statics.csv` (setup, expected numbers and
//! source in each row), through the tree: the recursion, the sharing and the joint forces of the real code.

use mechanics::tree::Link;
use mechanics::tree::adhoc::{AdhocError, Effort, Line, Load, Muscle, Problem, Solution};
use serde::Deserialize;
use std::collections::BTreeMap;
use units::{M3, V3, deg, rad};

/// Relative, to the number recomputed by hand.
const AGREE: f64 = 0.005;
/// The books use 9.80 m/s².
const G: f64 = 9.8;

#[derive(Deserialize)]
struct Row {
    id: String,
    quantity: String,
    unit: String,
    expected: f64,
    /// As printed, with half of its last digit; empty where no answer is printed.
    book: Option<f64>,
    book_tolerance: Option<f64>,
    source: String,
}

type Found = BTreeMap<(String, String), f64>;

fn at(x_cm: f64, y_cm: f64) -> V3 {
    V3::new(x_cm / 100.0, y_cm / 100.0, 0.0)
}

/// A direction in the plane, degrees above the forward horizontal.
fn towards(angle_deg: f64) -> V3 {
    let (s, c) = rad(angle_deg).sin_cos();
    V3::new(c, s, 0.0)
}

fn weight(mass_kg: f64, x_cm: f64) -> Load {
    Load::Mass { link: 0, point_m: at(x_cm, 0.0), mass_kg }
}

fn push(force_n: V3, point_m: V3) -> Load {
    Load::Force { link: 0, point_m, force_n }
}

fn muscle(line: Line, effort: Effort) -> Muscle {
    Muscle { name: "muscle".into(), link: 0, origin_link: None, line, effort }
}

fn along(insertion_m: V3, direction: V3) -> Line {
    Line::Along { insertion_m, direction }
}

fn known(force_n: f64) -> Effort {
    Effort::Known { force_n }
}

/// One link on a hinge, its muscle to be found.
fn lever(loads: Vec<Load>, line: Line) -> Problem {
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
fn held(loads: Vec<Load>, muscles: Vec<Muscle>) -> Problem {
    let fixed = Link { axis: V3::zeros(), ..Link::PLANE };
    Problem { links: vec![fixed], balanced: vec![], muscles, ..lever(loads, along(V3::zeros(), V3::y())) }
}

fn solve(problem: &Problem) -> Solution {
    problem.forces().expect("solvable")
}

fn joint_force(solution: &Solution) -> V3 {
    solution.joints[0].force_on_link_n
}

/// Angle above the forward horizontal, 0 to 360 degrees.
fn angle_deg(v: V3) -> f64 {
    deg(v.y.atan2(v.x)).rem_euclid(360.0)
}

fn all_examples() -> Found {
    let mut found = Found::new();
    let mut put = |id: &str, quantity: &str, value: f64| {
        assert!(found.insert((id.into(), quantity.into()), value).is_none(), "{id} {quantity} twice");
    };

    // Forearm level, elbow at the hinge, hand forward.
    let forearm = lever(vec![weight(2.5, 16.0), weight(4.0, 38.0)], along(at(4.0, 0.0), V3::y()));
    let s = solve(&forearm);
    put("W01", "muscle", s.muscle_force_n[0]);
    put("W01", "ratio to weight held", s.muscle_force_n[0] / (6.5 * G));
    put("W02", "joint", -joint_force(&s).y);
    let sloping = Problem { angle_rad: vec![rad(-30.0)], ..forearm };
    put("W03", "muscle", solve(&sloping).muscle_force_n[0]);

    // Trunk bent forward over the hips; the muscle pulls backwards and down.
    let line = Line::Lever { lever_m: 0.08, direction: towards(180.0 + 29.0) };
    let s = solve(&lever(vec![weight(55.0, 35.0), weight(30.0, 50.0)], line));
    put("W04", "muscle", s.muscle_force_n[0]);
    put("W04", "ratio to weight", s.muscle_force_n[0] / (85.0 * G));
    put("W05", "joint", joint_force(&s).norm());
    put("W05", "joint angle", angle_deg(joint_force(&s)));
    put("W05", "ratio to weight", joint_force(&s).norm() / (85.0 * G));

    // Two heads on one tendon, along X.
    let head = |angle: f64| muscle(along(V3::zeros(), towards(angle)), known(200.0));
    put("W06", "total", -joint_force(&solve(&held(vec![], vec![head(20.0), head(-20.0)]))).x);

    // Knee-cap: what its two tendons press it on the thigh bone with.
    let tendon = |angle: f64| muscle(along(V3::zeros(), towards(angle)), known(1250.0));
    let on_bone = -joint_force(&solve(&held(vec![], vec![tendon(180.0 - 55.0), tendon(180.0 + 75.0)])));
    put("W07", "joint", on_bone.norm());
    put("W07", "joint angle", angle_deg(on_bone));

    // Hanging shank, cable pulling backwards at the ankle, patellar tendon 2 cm in front of the axis.
    let cable = push(V3::new(-10.0 * G, 0.0, 0.0), at(0.0, -35.0));
    let tendon = Line::Lever { lever_m: 0.02, direction: V3::y() };
    put("W08", "muscle", solve(&lever(vec![cable], tendon.clone())).muscle_force_n[0]);

    // Head bent forward: three forces through one point.
    let head = vec![push(V3::new(0.0, -50.0, 0.0), V3::zeros())];
    let neck = muscle(along(V3::zeros(), towards(180.0 + 33.0)), known(60.0));
    let force = joint_force(&solve(&held(head, vec![neck])));
    put("W09", "joint", force.norm());
    put("W09", "joint angle", angle_deg(force));

    let head = vec![push(V3::new(0.0, -50.0, 0.0), at(2.5, 0.0))];
    let s = solve(&lever(head, along(at(-5.0, 0.0), -V3::y())));
    put("W10", "muscle", s.muscle_force_n[0]);
    put("W10", "joint", joint_force(&s).y);

    // Foot, ankle at the hinge, toes forward.
    let floor = vec![push(V3::new(0.0, 75.0 * G, 0.0), at(12.0, 0.0))];
    let s = solve(&lever(floor, along(at(-4.0, 0.0), V3::y())));
    put("W11", "muscle", s.muscle_force_n[0]);
    put("W11", "joint", -joint_force(&s).y);

    put("W12", "muscle", solve(&lever(vec![weight(4.0, 20.0), weight(10.0, 38.0)], tendon)).muscle_force_n[0]);

    // Jaw: the muscle is known, the bite (the food's push down) is asked.
    let mut jaw = lever(vec![], along(at(5.0, 0.0), -V3::y()));
    jaw.muscles.push(muscle(along(at(2.9, 0.0), V3::y()), known(200.0)));
    let s = solve(&jaw);
    put("W13", "bite", s.muscle_force_n[0]);
    put("W13", "joint", -joint_force(&s).y);

    // Push-up: the whole body turns about the feet; then one forearm turns about the elbow.
    let body = solve(&lever(vec![weight(50.0, 90.0)], along(at(150.0, 0.0), V3::y())));
    let hand_n = body.muscle_force_n[0] / 2.0;
    put("W14", "hand", hand_n);
    let triceps = Line::Lever { lever_m: -0.0175, direction: V3::y() };
    let s = solve(&lever(vec![push(V3::new(0.0, hand_n, 0.0), at(20.0, 0.0))], triceps));
    put("W14", "muscle", s.muscle_force_n[0]);
    put("W14", "ratio to weight", s.muscle_force_n[0] / (50.0 * G));

    // Prone leg curl from level; the shank's own weight is left out, its inertia is about the knee.
    let mut curl = lever(vec![weight(10.0, 28.0)], Line::Lever { lever_m: 0.03, direction: V3::x() });
    curl.links[0].inertia_kg_m2 = M3::identity() * 0.9;
    curl.muscles[0].effort = known(1500.0);
    put("W15", "acceleration", curl.accelerations().expect("solvable")[0]);

    // Forearm at 60 degrees from level; inches in the book.
    const INCH_CM: f64 = 2.54;
    let down = |n: f64, inches: f64| push(V3::new(0.0, -n, 0.0), at(inches * INCH_CM, 0.0));
    let bent = |loads| Problem { angle_rad: vec![rad(60.0)], ..lever(loads, along(at(1.5 * INCH_CM, 0.0), V3::y())) };
    for (id, loads) in [("W16", vec![down(222.4, 13.0)]), ("W17", vec![down(222.4, 13.0), down(8.896, 6.5)])] {
        let s = solve(&bent(loads));
        put(id, "muscle", s.muscle_force_n[0]);
        put(id, "joint", -joint_force(&s).y);
    }

    let s = solve(&any_angle(35.0));
    put("W18", "muscle", s.muscle_force_n[0]);
    put("W18", "joint", -joint_force(&s).y);

    // Pelvis on the stance hip; the rest of the body to one side, the abductor on the other.
    let line = Line::Lever { lever_m: 0.05, direction: towards(-(180.0 - 70.0)) };
    let s = solve(&lever(vec![weight(0.84 * 75.0, 10.0)], line));
    put("W19", "muscle", s.muscle_force_n[0]);
    put("W19", "muscle in body weights", s.muscle_force_n[0] / (75.0 * G));
    put("W19", "joint", joint_force(&s).norm());
    put("W19", "joint in body weights", joint_force(&s).norm() / (75.0 * G));

    // Arm held out level; the abductor pulls towards the body and 15 degrees up.
    let line = Line::Lever { lever_m: 0.03, direction: towards(180.0 - 15.0) };
    let s = solve(&lever(vec![weight(3.75, 30.0), weight(2.0, 60.0)], line));
    put("W20", "muscle", s.muscle_force_n[0]);
    put("W20", "joint", joint_force(&s).norm());

    // Trunk leaning 40 degrees from upright; compression is along the spine, whose muscle pulls down along it.
    let spine = towards(90.0 - 40.0);
    let line = Line::Lever { lever_m: 0.05, direction: -spine };
    let s = solve(&lever(vec![weight(0.55 * 75.0, 20.0), weight(20.0, 45.0)], line));
    put("W21", "muscle", s.muscle_force_n[0]);
    put("W21", "compression", joint_force(&s).dot(&spine));
    found
}

/// Forearm of W18 at some angle above level.
fn any_angle(angle_deg: f64) -> Problem {
    let forearm = lever(vec![weight(5.0, 35.0), weight(3.0, 15.0)], along(at(4.0, 0.0), V3::y()));
    Problem { angle_rad: vec![rad(angle_deg)], ..forearm }
}

#[test]
fn worked_examples_come_out() {
    let mut found = all_examples();
    let mut ids = std::collections::BTreeSet::new();
    let text = include_str!("golden/worked_examples_statics.csv");
    for row in csv::Reader::from_reader(text.as_bytes()).deserialize() {
        let row: Row = row.expect("a good row");
        let what = format!("{} {} [{}] ({})", row.id, row.quantity, row.unit, row.source);
        let key = (row.id.clone(), row.quantity.clone());
        let got = found.remove(&key).unwrap_or_else(|| panic!("{what}: not computed"));
        let off = (got - row.expected).abs() / row.expected.abs();
        println!(
            "{:4} {:24} {got:10.3} for {:8} {:6} ({:.3} %)",
            row.id,
            row.quantity,
            row.expected,
            row.unit,
            off * 100.0
        );
        assert!(off <= AGREE, "{what}: {got} for {}", row.expected);
        if let (Some(book), Some(tolerance)) = (row.book, row.book_tolerance) {
            assert!((got - book).abs() <= tolerance * 1.001, "{what}: {got}, the book prints {book} ± {tolerance}");
        }
        ids.insert(row.id);
    }
    assert!(found.is_empty(), "computed, but not in the file: {found:?}");
    assert_eq!(ids.len(), 21);
}

/// The question behind W18: with every force vertical, the angle makes no difference.
#[test]
fn vertical_forces_do_not_care_about_the_angle() {
    let level = solve(&any_angle(0.0)).muscle_force_n[0];
    for angle in [-60.0, -20.0, 45.0, 80.0] {
        assert!((solve(&any_angle(angle)).muscle_force_n[0] - level).abs() < 1e-6 * level, "at {angle} degrees");
    }
}

/// Two links in a row: a muscle from the ground to the outer one acts on both hinges, one from the inner link only on
/// the outer hinge. Levels by hand: 3 kg at 20 cm of the outer link, 20 kg at 25 cm of the 30 cm inner one.
#[test]
fn a_two_joint_muscle_acts_on_both_hinges() {
    let outer = Link { parent: Some(0), offset_m: at(30.0, 0.0), ..Link::PLANE };
    let with_origin_on = |origin_link| Problem {
        links: vec![Link::PLANE, outer.clone()],
        angle_rad: vec![0.0; 2],
        balanced: vec![0, 1],
        loads: vec![Load::Mass { link: 1, point_m: at(20.0, 0.0), mass_kg: 3.0 }, weight(20.0, 25.0)],
        muscles: vec![
            muscle(along(at(4.0, 0.0), V3::y()), Effort::UNKNOWN),
            Muscle { link: 1, origin_link, ..muscle(along(at(5.0, 0.0), V3::y()), Effort::UNKNOWN) },
        ],
        ..lever(vec![], along(V3::zeros(), V3::y()))
    };
    let check = |origin_link, inner: f64, outer: f64, ground: f64, between: f64| {
        let s = solve(&with_origin_on(origin_link));
        let got = [s.muscle_force_n[0], s.muscle_force_n[1], joint_force(&s).y, s.joints[1].force_on_link_n.y];
        for (got, want) in got.iter().zip([inner, outer, ground, between]) {
            assert!((got - want * G).abs() < 1e-9 * want.abs() * G, "{got} for {}", want * G);
        }
        assert!(s.joints.iter().all(|j| j.torque_nm.abs() < 1e-9));
    };
    // Outer hinge: F 5 = 3 g 20. Inner hinge, muscle from the ground: F' 4 = 3 g 50 + 20 g 25 − F 35.
    check(None, 57.5, 12.0, 23.0 - 57.5 - 12.0, 3.0 - 12.0);
    // From the inner link: F' 4 = 3 g 50 + 20 g 25.
    check(Some(0), 162.5, 12.0, 23.0 - 162.5, 3.0 - 12.0);
}

/// Redundant muscles share by least Σ (F / strength)³: by hand, F_i ∝ strength_i^(3/2) lever_i^(1/2).
#[test]
fn redundant_muscles_share_as_the_formula_says() {
    let mut problem = lever(vec![weight(2.0, 30.0)], along(at(4.0, 0.0), V3::y()));
    problem.muscles[0].effort = Effort::Unknown { strength_n: 400.0 };
    problem.muscles.push(muscle(along(at(2.0, 0.0), V3::y()), Effort::Unknown { strength_n: 900.0 }));
    let forces = solve(&problem).muscle_force_n;
    let share = |lever_m: f64, strength_n: f64| strength_n.powf(1.5) * lever_m.sqrt();
    let (a, b) = (share(0.04, 400.0), share(0.02, 900.0));
    let scale = 2.0 * G * 0.3 / (a * 0.04 + b * 0.02);
    assert!((forces[0] - a * scale).abs() < 1e-4 * forces[0], "{forces:?}, {}", a * scale);
    assert!((forces[1] - b * scale).abs() < 1e-4 * forces[1], "{forces:?}, {}", b * scale);
    // All of both strengths: 400 · 0.04 + 900 · 0.02 = 34 N·m hold 34 / 5.88 of the load.
    let factor = problem.largest_factor(0, 100.0).expect("solvable").expect("feasible");
    assert!((factor - 34.0 / (2.0 * G * 0.3)).abs() < 1e-9);
    problem.loads = vec![weight(60.0, 30.0)];
    assert!(matches!(problem.forces(), Err(AdhocError::TooWeak { link: 0, .. })));
}

#[test]
fn impossible_problems_say_why() {
    let check = |problem: Problem, expected: fn(&AdhocError) -> bool| {
        let error = problem.forces().expect_err("impossible");
        assert!(expected(&error), "{error}");
    };
    let forearm = || lever(vec![weight(2.0, 30.0)], along(at(4.0, 0.0), V3::y()));
    check(lever(vec![weight(2.0, 30.0)], along(at(4.0, 0.0), -V3::y())), |e| matches!(e, AdhocError::Pushes { .. }));
    check(lever(vec![weight(2.0, 30.0)], along(at(4.0, 0.0), V3::x())), |e| matches!(e, AdhocError::NoLever));
    check(lever(vec![], along(at(4.0, 0.0), V3::zeros())), |e| matches!(e, AdhocError::NoDirection { .. }));
    check(lever(vec![], Line::Lever { lever_m: 0.1, direction: V3::z() }), |e| {
        matches!(e, AdhocError::NoDirection { .. })
    });
    check(Problem { muscles: vec![], ..forearm() }, |e| {
        matches!(e, AdhocError::TooFewMuscles { unknown: 0, hinges: 1 })
    });
    check(Problem { balanced: vec![3], ..forearm() }, |e| {
        matches!(e, AdhocError::NoSuchLink { link: 3, links: 1, .. })
    });
    check(Problem { balanced: vec![0; 9], ..forearm() }, |e| {
        matches!(e, AdhocError::TooManyHinges { got: 9, allowed: 8 })
    });
    check(lever(vec![weight(f64::NAN, 1.0)], along(V3::x(), V3::y())), |e| matches!(e, AdhocError::BadNumber { .. }));
    check(Problem { angle_rad: vec![], ..forearm() }, |e| matches!(e, AdhocError::Tree(_)));
}
