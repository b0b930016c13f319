//! Every movement on the checked list, in three bodies: solvable, possible for a person, finite, loaded.
//!
//! The small woman and the large man stand near the 5th and the 95th percentile of stature and mass of adults in
//! large surveys (figures from memory, rounded outward).

use library::{Ask, Library, Person, gate_bodies, unbalanced_limit_nm};
use movement::check::{Finding, check as findings};
use movement::posture::Angle;
use std::sync::OnceLock;
use stimulus::range::Widths;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

fn ask(movement: &str, person: Person) -> Ask {
    Ask { person, ..Ask::middle(movement) }
}

/// Everything wrong with a movement in a body.
fn check(movement: &str, person: Person) -> Vec<String> {
    let lib = library();
    let study = match lib.study(&ask(movement, person), &Widths::default()) {
        Ok(s) => s,
        Err(e) => return vec![e.to_string()],
    };
    let mut wrong: Vec<String> = findings(&study.plan, &study.rep, &study.body, &lib.ranges)
        .into_iter()
        .map(|Finding { what, phase, text, .. }| format!("{what:?} at {phase:.2}: {text}"))
        .collect();
    let (load, residual) = (study.solved.load.load, study.solved.shares.residual_nm);
    let limit = unbalanced_limit_nm(&study.body);
    if !(load.is_finite() && load > 0.0) {
        wrong.push(format!("load {load}"));
    }
    if study.solved.load.unlimited {
        wrong.push("no muscle limits it".into());
    }
    if residual.is_nan() || residual >= limit {
        wrong.push(format!("{residual:.1} N·m stay unbalanced"));
    }
    if study.stimulus.iter().any(|s| !s.mid.is_finite()) {
        wrong.push("a stimulus is not a number".into());
    }
    wrong
}

#[test]
fn every_checked_movement_is_sound_in_three_bodies() {
    let lib = library();
    let mut wrong = Vec::new();
    for id in &lib.checked {
        for (who, person) in gate_bodies() {
            wrong.extend(check(id, person).into_iter().map(|w| format!("{id}, {who}: {w}")));
        }
    }
    assert!(wrong.is_empty(), "{} problems:\n{}", wrong.len(), wrong.join("\n"));
}

/// Prints what would keep each movement of the catalogue off the list; run with `--ignored --nocapture`.
#[test]
#[ignore = "a report for whoever writes movement files"]
fn report_on_all_movements() {
    for m in &library().catalogue.movements {
        let wrong: Vec<String> = gate_bodies()
            .into_iter()
            .flat_map(|(who, p)| check(&m.id, p).into_iter().map(move |w| format!("{who}: {w}")))
            .collect();
        println!("{} {}", if wrong.is_empty() { "PASS" } else { "FAIL" }, m.id);
        wrong.iter().for_each(|w| println!("     {w}"));
    }
}

/// The first movement of each family on the list against the table of usual angles (own trade knowledge, from memory).
/// Counted and printed, not required: settings move the angles, and the table is a memory.
#[test]
fn usual_angles_are_compared() {
    let lib = library();
    let table = include_str!("../../../data/movements/family_angles.csv");
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let (mut within, mut total) = (0, 0);
    for row in reader.records() {
        let row = row.expect("the table parses");
        let Some((axis, sign)) = axis_of(&row[1], &row[2]) else { continue };
        let Some(id) = lib.checked.iter().find(|id| lib.catalogue.movement(id).is_some_and(|m| m.family == row[0]))
        else {
            continue;
        };
        let study =
            lib.study(&ask(id, Person::average_man()), &Widths::default()).unwrap_or_else(|e| panic!("{id}: {e}"));
        let angle = Angle::from_axis(axis, anatomy::skeleton::Side::Right).expect("a known axis");
        let number = |i: usize| row[i].parse::<f64>().expect("a number of degrees");
        // The table starts an overhead press at the shoulders, the family file with the bar overhead.
        let ends = if &row[0] == "overhead-press" { [(1.0, 3), (0.0, 4)] } else { [(0.0, 3), (1.0, 4)] };
        for (phase, column) in ends {
            let frame = study.rep.frames.iter().find(|f| (f.phase - phase).abs() < 1e-9).expect("both ends are solved");
            let got = sign * units::deg(angle.read(&frame.posture));
            total += 1;
            if (got - number(column)).abs() <= number(5) {
                within += 1;
            } else {
                println!("{id} {axis} at {phase}: {got:.0}, usual {} ± {}", &row[column], &row[5]);
            }
        }
    }
    println!("{within} of {total} usual angles within their tolerance");
    assert!(total > 100, "only {total} angles compared: the table or the list lost its names");
}

/// Axis of the skeleton for a joint and axis of the table, with the sign between them.
fn axis_of(joint: &str, axis: &str) -> Option<(&'static str, f64)> {
    Some(match (joint, axis) {
        ("ankle", "DF") => ("ankle.plantarflexion", -1.0),
        ("knee", "F") => ("knee.flexion", 1.0),
        ("hip", "F") => ("hip.flexion", 1.0),
        ("hip", "Ab") => ("hip.abduction", 1.0),
        ("hip", "ER") => ("hip.internal-rotation", -1.0),
        ("lumbar", "F") => ("lumbar.flexion", 1.0),
        ("neck", "F") => ("neck.flexion", 1.0),
        ("shoulder", "pl") => ("shoulder.plane", 1.0),
        ("shoulder", "el") => ("shoulder.elevation", 1.0),
        ("elbow", "F") => ("elbow.flexion", 1.0),
        ("forearm", "Sup") => ("forearm.pronation", -1.0),
        ("wrist", "Ext") => ("wrist.flexion", -1.0),
        _ => return None,
    })
}

/// Below the least capacity of its frames a lift is balanced by muscles alone.
const BALANCED_NM: f64 = 1.0;
/// Between two frames (5 % of the way) no joint or hand changes its speed by more than this, m a frame, in a man of 1.75 m:
/// an elbow that changes sides moves 5 to 20 cm. Head and neck are left out: they swing at the
/// end of the trunk.
const JUMP_M: f64 = 0.05;

/// At a load that every frame can carry nothing stays unbalanced, and no part of the body jumps from one frame to the next.
#[test]
fn every_checked_movement_is_balanced_and_smooth() {
    let lib = library();
    let mut wrong = Vec::new();
    for id in &lib.checked {
        let study =
            lib.study(&ask(id, Person::average_man()), &Widths::default()).unwrap_or_else(|e| panic!("{id}: {e}"));
        let capacity = &study.solved.load.capacity;
        let least = capacity.iter().copied().fold(f64::INFINITY, f64::min);
        let shares = study.solved.prepared.share(
            0.98 * least,
            capacity,
            mechanics::solve::Criterion::Cubic,
            &study.model,
            &mut mechanics::solve::Memory::default(),
        );
        if study.solved.load.impossible.is_empty() && shares.residual_nm > BALANCED_NM {
            wrong.push(format!("{id}: {:.2} N·m stay unbalanced at {:.1}", shares.residual_nm, 0.98 * least));
        }
        let frames: Vec<_> = study.rep.frames.iter().map(|f| movement::scene::points(f, &study.body)).collect();
        for name in frames[0].keys().filter(|n| !n.starts_with("head") && *n != "neck") {
            let at = |k: usize| units::V3::from(frames[k][name]);
            let jump = (1..frames.len() - 1).map(|k| (at(k + 1) - at(k) * 2.0 + at(k - 1)).norm()).fold(0.0, f64::max);
            if jump > JUMP_M {
                wrong.push(format!("{id}: {name} changes its speed by {:.0} mm a frame", jump * 1e3));
            }
        }
    }
    assert!(wrong.is_empty(), "{} problems:\n{}", wrong.len(), wrong.join("\n"));
}
