//! Textbook problems of muscles and joints, W01–W21 of `data/proof/textbook-statics.csv` (set-up, expected numbers and
//! source in each row), through the tree: the recursion, the sharing and the joint forces of the real code.

use mechanics::tree::Link;
use mechanics::tree::adhoc::{AdhocError, Effort, Line, Load, Muscle, Problem, Solution};
use mechanics::tree::textbook::{G, along, any_angle, at, joint_force, lever, muscle, weight, worked_examples};
use serde::Deserialize;
use std::collections::BTreeMap;
use units::V3;

/// Relative, to the number recomputed by hand.
const AGREE: f64 = 0.005;

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

fn solve(problem: &Problem) -> Solution {
    problem.forces().expect("solvable")
}

#[test]
fn worked_examples_come_out() {
    let all = worked_examples().expect("solvable");
    let mut found: BTreeMap<(String, String), f64> =
        all.iter().map(|(id, quantity, value)| ((id.to_string(), quantity.to_string()), *value)).collect();
    assert_eq!(found.len(), all.len(), "an answer stands twice");
    let mut ids = std::collections::BTreeSet::new();
    let text = include_str!("../../../data/proof/textbook-statics.csv");
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
