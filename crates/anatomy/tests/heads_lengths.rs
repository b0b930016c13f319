//! Lengths and lever arms against figures from outside this crate.

mod heads_support;

use anatomy::body::{Body, PathScale};
use anatomy::heads::{HeadMask, HeadState, MuscleModel, Variation};
use anatomy::skeleton::{Joint, Limbs, Posture, Row, Side, SidePosture, hip_matrix};
use heads_support::{head, tables};
use units::rad;

/// Legs as angles in degrees: hip flexion, abduction, internal rotation, knee flexion, plantarflexion.
type Leg = [f64; 5];

fn leg(body: &Body, a: Leg) -> SidePosture {
    let right = Limbs {
        hip: hip_matrix(rad(a[0]), rad(a[1]), rad(a[2])),
        knee_flexion_rad: rad(a[3]),
        ankle_plantarflexion_rad: rad(a[4]),
        ..Limbs::default()
    };
    SidePosture::new(body, &Posture { right, ..Posture::default() }, Side::Right)
}

fn state(model: &MuscleModel, posture: &SidePosture, head: usize) -> HeadState {
    let mut frame = model.frame();
    model.evaluate(posture, HeadMask::all(model.len()), &mut frame);
    frame.heads[head]
}

/// Change from bottom to top, mm: hip part, knee part, ankle part; normalised length at the bottom and at the top.
struct Row5(&'static str, [f64; 3], [f64; 2]);

/// Printed by `heads_support/golden_lifts.py`, an independent program in numpy and scipy (inverse trigonometric
/// functions, PCHIP), for first and last frame of four lifts.
const LIFTS: &[(&str, Leg, Leg, &[Row5])] = &[
    (
        "back squat, thighs below parallel",
        [113.4405, 22.2238, -1.9078, 113.0, -31.0],
        [3.2039, 12.3282, -20.4829, 4.7309, -2.86],
        &[
            Row5("biceps-femoris-long-head", [-99.4, 47.2, 0.0], [0.8892, 0.6744]),
            Row5("semitendinosus", [-95.2, 80.2, 0.0], [0.8020, 0.7574]),
            Row5("semimembranosus", [-88.6, 80.2, 0.0], [0.7252, 0.6850]),
            Row5("rectus-femoris", [64.5, -60.2, 0.0], [0.6500, 0.6791]),
            Row5("gastrocnemius-medial-head", [0.0, 31.2, -19.5], [0.8026, 0.9129]),
            Row5("gracilis", [-46.5, 70.7, 0.0], [1.1781, 1.2571]),
            Row5("sartorius", [138.4, 45.1, 0.0], [0.6476, 1.0772]),
            Row5("gluteus-maximus-superior-part", [-52.4, 0.0, 0.0], [1.0144, 0.7339]),
            Row5("adductor-magnus-adductor-part", [-79.3, 0.0, 0.0], [1.2143, 0.7960]),
        ],
    ),
    (
        "straight-leg hinge",
        [88.6453, 1.2207, -7.2131, 19.8931, 5.7019],
        [9.8123, 2.1452, -7.9448, 7.9149, -0.8701],
        &[
            Row5("biceps-femoris-long-head", [-79.7, 5.2, 0.0], [0.9904, 0.6839]),
            Row5("semitendinosus", [-74.5, 6.5, 0.0], [0.9644, 0.7619]),
            Row5("semimembranosus", [-69.0, 6.4, 0.0], [0.9970, 0.6947]),
            Row5("rectus-femoris", [50.9, -7.5, 0.0], [0.4080, 0.6978]),
            Row5("gracilis", [-22.4, 6.3, 0.0], [1.2572, 1.2046]),
        ],
    ),
    (
        "seated leg curl",
        [85.0, 0.0, 0.0, 5.0, 0.0],
        [85.0, 0.0, 0.0, 100.0, 0.0],
        &[
            Row5("biceps-femoris-long-head", [0.0, -41.5, 0.0], [1.0073, 0.8367]),
            Row5("semitendinosus", [0.0, -69.5, 0.0], [0.9789, 0.7720]),
            Row5("semimembranosus", [0.0, -69.5, 0.0], [1.0209, 0.6853]),
            Row5("rectus-femoris", [0.0, 54.1, 0.0], [0.3627, 0.7242]),
        ],
    ),
    (
        "standing calf raise",
        [0.0, 0.0, 0.0, 2.0, -18.0],
        [0.0, 0.0, 0.0, 2.0, 32.0],
        &[Row5("gastrocnemius-medial-head", [0.0, 0.0, -38.6], [1.0244, 0.6581])],
    ),
];

/// The other program prints 0.1 mm and has the knee 0.6 mm further down.
const LENGTH_TOLERANCE_MM: f64 = 0.3;
const FIBRE_TOLERANCE: f64 = 0.002;

#[test]
fn lengths_over_known_lifts_agree_with_an_independent_program() {
    let (tables, body) = (tables(), Body::average_man());
    let model = MuscleModel::new(&tables, &body, &Variation::none());
    let mut worst = [0.0_f64; 2];
    for (lift, bottom, top, rows) in LIFTS {
        for Row5(id, parts, lengths) in *rows {
            let i = head(&tables, id);
            let (b, t) = (state(&model, &leg(&body, *bottom), i), state(&model, &leg(&body, *top), i));
            let knee = |s: &HeadState| s.hinge_length_m[Joint::Knee as usize];
            let ankle = |s: &HeadState| s.hinge_length_m[Joint::Ankle as usize];
            let got = [t.path_length_m - b.path_length_m, knee(&t) - knee(&b), ankle(&t) - ankle(&b)].map(|d| d * 1e3);
            for (got, want) in got.iter().zip(parts) {
                worst[0] = worst[0].max((got - want).abs());
                assert!((got - want).abs() < LENGTH_TOLERANCE_MM, "{lift}, {id}: {got:.2} mm, expected {want}");
            }
            for (got, want) in [b.fibre_norm, t.fibre_norm].iter().zip(lengths) {
                worst[1] = worst[1].max((got - want).abs());
                assert!((got - want).abs() < FIBRE_TOLERANCE, "{lift}, {id}: length {got:.4}, expected {want}");
            }
            let whole = (t.length_m - b.length_m) * 1e3;
            assert!((whole - got.iter().sum::<f64>()).abs() < 1e-9, "{id}: parts do not add up");
        }
    }
    println!("worst difference {:.3} mm, {:.5} fibre lengths", worst[0], worst[1]);
}

/// Elbow arms in cm over flexion in rad: coefficients published by the Institute of Biophysics and Biomedical
/// Engineering, Bulgarian Academy of Sciences (looked-up). Between 20° and 130° the table follows them unsmoothed.
#[test]
fn elbow_arms_follow_the_published_polynomials() {
    let (tables, body) = (tables(), Body::average_man());
    let model = MuscleModel::new(&tables, &body, &Variation::none());
    let curves: [(&str, [f64; 6]); 4] = [
        ("biceps-brachii-short-head", [1.963, -1.44, 3.031, 0.887, -1.418, 0.285]),
        ("brachialis", [1.554, 0.0813, -1.689, 3.523, -1.811, 0.276]),
        ("brachioradialis", [2.015, -0.458, 3.058, -1.081, 0.159, -0.0187]),
        ("triceps-brachii-lateral-head", [-2.365, -1.015, 1.92, -1.035, 0.257, -0.0262]),
    ];
    for (id, c) in curves {
        let i = head(&tables, id);
        for degrees in (20..=130).step_by(10) {
            let q = rad(f64::from(degrees));
            let want = c.iter().rev().fold(0.0, |sum, k| sum * q + k) * 1e-2;
            let right = Limbs { elbow_flexion_rad: q, ..Limbs::default() };
            let p = SidePosture::new(&body, &Posture { right, ..Posture::default() }, Side::Right);
            let got = state(&model, &p, i).arm_m(Row::ElbowFlexion);
            assert!((got - want).abs() < 1.5e-3, "{id} at {degrees}°: {got:.4} m, published {want:.4} m");
        }
    }
}

/// A body of another size: all lengths, arms and fibres in proportion, so normalised lengths stay.
#[test]
fn a_body_twice_as_long_has_arms_twice_as_long_and_the_same_fibre_lengths() {
    let tables = tables();
    let (one, mut two) = (Body::average_man(), Body::average_man());
    let s = &one.path_scale;
    two.path_scale = PathScale {
        pelvis: 2.0 * s.pelvis,
        femur: 2.0 * s.femur,
        tibia: 2.0 * s.tibia,
        thorax: 2.0 * s.thorax,
        humerus: 2.0 * s.humerus,
        forearm: 2.0 * s.forearm,
    };
    two.thigh_m *= 2.0;
    (two.sc_m, two.ac_m, two.gh_m) = (one.sc_m * 2.0, one.ac_m * 2.0, one.gh_m * 2.0);
    let small = MuscleModel::new(&tables, &one, &Variation::none());
    let large = MuscleModel::new(&tables, &two, &Variation::none());
    let mut random = heads_support::Random(4);
    for _ in 0..50 {
        let a = heads_support::random_posture(&one, &mut random);
        let girdle_pose = anatomy::skeleton::girdle_pose(&two, &a.limbs.shoulder, &a.limbs.girdle);
        let b = SidePosture { girdle_pose, ..a };
        for i in 0..tables.heads.len() {
            let (s, l) = (state(&small, &a, i), state(&large, &b, i));
            assert!((s.fibre_norm - l.fibre_norm).abs() < 1e-9, "{}", tables.heads[i].id);
            for r in Row::ALL {
                assert!((2.0 * s.arm_m(r) - l.arm_m(r)).abs() < 1e-9, "{} {r:?}", tables.heads[i].id);
            }
        }
    }
}
