//! The lever arm is the derivative of the length: r = −∂L/∂q, by central finite differences.

mod heads_support;

use anatomy::body::{Body, PathScale};
use anatomy::heads::{HeadMask, MuscleModel, Variation};
use anatomy::skeleton::{Joint, Pose, ROWS, Row, SidePosture, spine_angles, spine_matrix};
use heads_support::{Random, random_posture, tables};
use std::collections::BTreeMap;
use units::{M3, V3, exp_rotation};

/// Step of the differences, rad, and the largest accepted difference, m.
const STEP_RAD: f64 = 1e-6;
const TOLERANCE_M: f64 = 1e-6;
const POSTURES: usize = 10_000;

/// Rows that may be left out, as a part of all rows with a lever arm.
const LEFT_OUT: f64 = 1e-3;

/// Heads that may be left out, only where a path point touches the surface of its obstacle to within [`TOUCH_M`]: there
/// the arm changes like a square root and a finite difference over the touch is not its value. No other head, no other
/// cause. With the scapula held no row is left out.
const LISTED: &[(&str, &str)] = &[(
    "serratus-anterior-inferior-part",
    "1 girdle row of 480,000: the scapula's border touches the rib-cage cylinder",
)];
const TOUCH_M: f64 = 1e-6;

/// Rotates a pose about a point by a rotation in the same axes.
fn turned(p: &Pose, r: &M3, about: &V3) -> Pose {
    Pose::new(r * p.rotation, about + r * (p.origin_m - about))
}

/// The posture with one row moved by `step`. Ball joints turn in proximal axes with the scapula held; the girdle
/// turns the clavicle about the sternum with scapula and arm going along unturned (up) or turning (forward), or scapula and
/// arm about the collar-bone's outer end.
fn moved(body: &Body, p: &SidePosture, row: Row, step: f64) -> SidePosture {
    let mut q = *p;
    let l = &mut q.limbs;
    let g = &mut q.girdle_pose;
    let spine = |r: &M3, f: f64, b: f64, t: f64| {
        let (x, y, z) = spine_angles(r);
        spine_matrix(x + f, y + b, z + t)
    };
    match row {
        Row::HipX => l.hip = exp_rotation(&(V3::x() * step)) * l.hip,
        Row::HipY => l.hip = exp_rotation(&(V3::y() * step)) * l.hip,
        Row::HipZ => l.hip = exp_rotation(&(V3::z() * step)) * l.hip,
        Row::ShoulderX => l.shoulder = exp_rotation(&(V3::x() * step)) * l.shoulder,
        Row::ShoulderY => l.shoulder = exp_rotation(&(V3::y() * step)) * l.shoulder,
        Row::ShoulderZ => l.shoulder = exp_rotation(&(V3::z() * step)) * l.shoulder,
        Row::KneeFlexion => l.knee_flexion_rad += step,
        Row::AnklePlantarflexion => l.ankle_plantarflexion_rad += step,
        Row::AnkleInversion => l.ankle_inversion_rad += step,
        Row::ElbowFlexion => l.elbow_flexion_rad += step,
        Row::ForearmPronation => l.forearm_pronation_rad += step,
        Row::WristFlexion => l.wrist_flexion_rad += step,
        Row::LumbarFlexion => q.lumbar = spine(&p.lumbar, step, 0.0, 0.0),
        Row::LumbarSideBend => q.lumbar = spine(&p.lumbar, 0.0, step, 0.0),
        Row::LumbarRotation => q.lumbar = spine(&p.lumbar, 0.0, 0.0, step),
        Row::NeckFlexion => q.neck = spine(&p.neck, step, 0.0, 0.0),
        Row::NeckSideBend => q.neck = spine(&p.neck, 0.0, step, 0.0),
        Row::NeckRotation => q.neck = spine(&p.neck, 0.0, 0.0, step),
        Row::GirdleElevation => {
            let c = body.sc_m;
            let r = exp_rotation(&(-V3::x() * step));
            let rise = c + r * (g.ac_m - c) - g.ac_m;
            g.clavicle = turned(&g.clavicle, &r, &c);
            g.scapula.origin_m += rise;
            g.gh_m += rise;
            g.ac_m += rise;
        }
        Row::GirdleProtraction => {
            let r = exp_rotation(&(V3::y() * step));
            let c = body.sc_m;
            g.clavicle = turned(&g.clavicle, &r, &c);
            g.scapula = turned(&g.scapula, &r, &c);
            g.gh_m = c + r * (g.gh_m - c);
            l.shoulder = r * l.shoulder;
        }
        Row::GirdleUpwardRotation => {
            let r = exp_rotation(&(-g.scapula_normal * step));
            let c = g.ac_m;
            g.scapula = turned(&g.scapula, &r, &c);
            g.gh_m = c + r * (g.gh_m - c);
            l.shoulder = r * l.shoulder;
        }
    }
    q
}

/// Rows of one group (scapula held, or girdle).
#[derive(Default)]
struct Tally {
    rows: usize,
    worst_m: f64,
    /// Head and row → rows left out, worst difference.
    left_out: BTreeMap<String, (usize, f64)>,
}

fn compare(body: &Body, variation: &Variation, postures: usize, seed: u64) -> [Tally; 2] {
    let tables = tables();
    let model = MuscleModel::new(&tables, body, variation);
    let mut here = model.frame();
    let (mut plus, mut minus) = (model.frame(), model.frame());
    let mut random = Random(seed);
    let mut tallies = [Tally::default(), Tally::default()];
    let masks: Vec<HeadMask> = Row::ALL.iter().map(|r| model.heads_at(&[r.joint()])).collect();
    for _ in 0..postures {
        let p = random_posture(body, &mut random);
        model.evaluate(&p, HeadMask::all(model.len()), &mut here);
        for (row, &mask) in Row::ALL.iter().zip(&masks) {
            let tally = &mut tallies[usize::from(row.joint() == Joint::Girdle)];
            model.evaluate(&moved(body, &p, *row, STEP_RAD), mask, &mut plus);
            model.evaluate(&moved(body, &p, *row, -STEP_RAD), mask, &mut minus);
            for i in mask.iter() {
                let slope = (plus.heads[i].length_m - minus.heads[i].length_m) / (2.0 * STEP_RAD);
                let off = (here.heads[i].arm_m(*row) + slope).abs();
                tally.rows += 1;
                if off <= TOLERANCE_M {
                    tally.worst_m = tally.worst_m.max(off);
                    continue;
                }
                let id = &tables.heads[i].id;
                let listed = LISTED.iter().any(|(head, _)| head == id);
                let touching = model.clearance_m(&p, i).abs() < TOUCH_M;
                assert!(
                    listed && touching,
                    "{id} {row:?}: {off} m off, clearance {} m in {p:?}",
                    model.clearance_m(&p, i)
                );
                let e = tally.left_out.entry(format!("{id} {row:?}")).or_insert((0, 0.0));
                *e = (e.0 + 1, e.1.max(off));
            }
        }
    }
    tallies
}

fn check(body: &Body, variation: &Variation, postures: usize, seed: u64) {
    let tallies = compare(body, variation, postures, seed);
    for tally in &tallies {
        let count: usize = tally.left_out.values().map(|v| v.0).sum();
        let share = count as f64 / tally.rows as f64;
        println!("{} rows, worst {:.1e} m; {count} left out ({:.3} %)", tally.rows, tally.worst_m, 100.0 * share);
        for (name, (count, worst)) in &tally.left_out {
            println!("  {name}: {count} rows, up to {:.4} mm", worst * 1e3);
        }
        assert!(share < LEFT_OUT, "{count} of {} rows left out", tally.rows);
    }
}

#[test]
fn every_lever_arm_is_the_derivative_of_its_length() {
    assert_eq!(ROWS, Row::ALL.len());
    check(&Body::average_man(), &Variation::none(), POSTURES, 1);
}

#[test]
fn also_on_another_body_and_with_varied_arms() {
    let mut body = Body::average_man();
    body.path_scale = PathScale { pelvis: 0.97, femur: 1.05, tibia: 0.95, thorax: 0.93, humerus: 1.04, forearm: 0.9 };
    body.gh_m += V3::new(0.0, 0.0, 0.012);
    let mut random = Random(9);
    let mut offset = || random.between(-0.01, 0.01);
    let variation = Variation {
        arm_offset_m: (0..82).map(|_| V3::new(offset(), offset(), offset())).collect(),
        hinge_arm_factor: (0..82).map(|i| 0.8 + 0.005 * f64::from(i)).collect(),
        ..Variation::none()
    };
    check(&body, &variation, 300, 2);
}
