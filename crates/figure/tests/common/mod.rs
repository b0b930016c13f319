//! Invented scenes by plain two-bone kinematics, for looking at figures and testing them. Not data of anybody.
#![allow(dead_code)]

use answer::{ForceArrow, Lever, Scene, SceneFrame, Thing};
use std::collections::BTreeMap;

pub mod answers;

pub type P = [f64; 3];

pub fn add(a: P, b: P) -> P {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub fn mul(a: P, k: f64) -> P {
    [a[0] * k, a[1] * k, a[2] * k]
}
fn dot(a: P, b: P) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
fn unit(a: P) -> P {
    mul(a, 1.0 / dot(a, a).sqrt().max(1e-9))
}

// Lengths of a man of 1.75 m by de Leva 1996, m.
const THIGH: f64 = 0.4244;
const SHANK: f64 = 0.4363;
const UPPER_ARM: f64 = 0.2832;
const FOREARM: f64 = 0.2704;

/// Middle joint of a two-bone chain from `a` to `b`, bent towards `pole`; the end is pulled in where out of reach.
fn bend(a: P, b: P, l1: f64, l2: f64, pole: P) -> (P, P) {
    let d = sub(b, a);
    let reach = dot(d, d).sqrt().clamp(0.05, 0.999 * (l1 + l2));
    let u = unit(d);
    let end = add(a, mul(u, reach));
    let x = (l1 * l1 - l2 * l2 + reach * reach) / (2.0 * reach);
    let h = (l1 * l1 - x * x).max(0.0).sqrt();
    let side = unit(sub(pole, mul(u, dot(pole, u))));
    (add(a, add(mul(u, x), mul(side, h))), end)
}

/// A posture in few numbers: degrees, metres. Angles of pelvis, trunk and head are from upright, positive forward.
#[derive(Clone, Copy)]
pub struct Pose {
    pub hip: [f64; 2],
    pub pelvis_deg: f64,
    pub trunk_deg: f64,
    pub head_deg: f64,
    pub ankle: [f64; 2],
    pub foot_deg: f64,
    pub half_stance: f64,
    pub knee_pole: P,
    /// Grip of the right hand.
    pub grip: P,
    pub elbow_pole: P,
    /// Direction from wrist to grip.
    pub hand: P,
}

fn lean(deg: f64, x: f64, y: f64) -> [f64; 2] {
    let (s, c) = deg.to_radians().sin_cos();
    [x * c + y * s, y * c - x * s]
}

pub fn frame(p: &Pose) -> SceneFrame {
    let mut points: BTreeMap<String, P> = BTreeMap::new();
    let at = |o: [f64; 2], d: [f64; 2], z: f64| [o[0] + d[0], o[1] + d[1], z];
    let lumbar = lean(p.pelvis_deg, -0.02, 0.11);
    let lumbar = [p.hip[0] + lumbar[0], p.hip[1] + lumbar[1]];
    let n = lean(p.trunk_deg, 0.06, 0.407);
    let notch = [lumbar[0] + n[0], lumbar[1] + n[1]];
    let nk = lean(p.trunk_deg, -0.075, 0.045);
    let neck = [notch[0] + nk[0], notch[1] + nk[1]];
    points.insert("pelvis".into(), at(p.hip, [0.0, 0.0], 0.0));
    points.insert("lumbar".into(), at(lumbar, [0.0, 0.0], 0.0));
    points.insert("notch".into(), at(notch, [0.0, 0.0], 0.0));
    points.insert("neck".into(), at(neck, [0.0, 0.0], 0.0));
    points.insert("head-top".into(), at(neck, lean(p.head_deg, 0.02, 0.255), 0.0));
    points.insert("head-centre".into(), at(neck, lean(p.head_deg, 0.02, 0.14), 0.0));
    for (side, s) in [("right", 1.0), ("left", -1.0)] {
        let mut put = |name: &str, v: P| {
            points.insert(format!("{name}-{side}"), v);
        };
        let mirror = |v: P| [v[0], v[1], v[2] * s];
        let hip = at(p.hip, [0.0, 0.0], 0.085 * s);
        let ankle = [p.ankle[0], p.ankle[1], p.half_stance * s];
        let (knee, ankle) = bend(hip, ankle, THIGH, SHANK, mirror(p.knee_pole));
        put("hip", hip);
        put("knee", knee);
        put("ankle", ankle);
        let foot = |x: f64, y: f64| {
            let d = lean(p.foot_deg, x, y);
            let splay = 0.15 * (x / 0.2).max(0.0) * 0.35;
            [ankle[0] + d[0], ankle[1] + d[1], ankle[2] + splay * s]
        };
        put("heel", foot(-0.055, -0.08));
        put("toe", foot(0.211, -0.08));
        let gh = lean(p.trunk_deg, -0.054, -0.005);
        let shoulder = at(notch, gh, 0.19 * s);
        let grip = mirror(p.grip);
        let hand = mirror(unit(p.hand));
        let (elbow, wrist) = bend(shoulder, sub(grip, mul(hand, 0.08)), UPPER_ARM, FOREARM, mirror(p.elbow_pole));
        put("shoulder", shoulder);
        put("elbow", elbow);
        put("wrist", wrist);
        put("grip", add(wrist, mul(hand, 0.08)));
    }
    SceneFrame {
        points,
        things: Vec::new(),
        forces: Vec::new(),
        levers: Vec::new(),
        centre_of_mass: Some([0.05, 0.95, 0.0]),
    }
}

impl Pose {
    pub fn standing() -> Pose {
        Pose {
            hip: [0.0, 0.92],
            pelvis_deg: 0.0,
            trunk_deg: 0.0,
            head_deg: 0.0,
            ankle: [0.0, 0.08],
            foot_deg: 0.0,
            half_stance: 0.11,
            knee_pole: [1.0, 0.0, 0.1],
            grip: [0.02, 0.80, 0.26],
            elbow_pole: [-1.0, 0.0, 0.2],
            hand: [0.0, -1.0, 0.0],
        }
    }
    fn mix(a: &Pose, b: &Pose, t: f64) -> Pose {
        let m = |x: f64, y: f64| x + (y - x) * t;
        let m2 = |x: [f64; 2], y: [f64; 2]| [m(x[0], y[0]), m(x[1], y[1])];
        let m3 = |x: P, y: P| [m(x[0], y[0]), m(x[1], y[1]), m(x[2], y[2])];
        Pose {
            hip: m2(a.hip, b.hip),
            pelvis_deg: m(a.pelvis_deg, b.pelvis_deg),
            trunk_deg: m(a.trunk_deg, b.trunk_deg),
            head_deg: m(a.head_deg, b.head_deg),
            ankle: m2(a.ankle, b.ankle),
            foot_deg: m(a.foot_deg, b.foot_deg),
            half_stance: m(a.half_stance, b.half_stance),
            knee_pole: m3(a.knee_pole, b.knee_pole),
            grip: m3(a.grip, b.grip),
            elbow_pole: m3(a.elbow_pole, b.elbow_pole),
            hand: m3(a.hand, b.hand),
        }
    }
}

fn lever(f: &mut SceneFrame, joint: &str, x_m: f64) {
    let at = f.points[&format!("{joint}-right")];
    let line_at = [x_m, at[1], at[2]];
    f.levers.push(Lever { joint: joint.into(), joint_at: at, line_at, length_m: (at[0] - x_m).abs() });
}

fn scene(turn: Pose, end: Pose, words: [&str; 2], dress: impl Fn(&mut SceneFrame, f64)) -> Scene {
    let frames = (0..21)
        .map(|i| {
            let t = i as f64 / 20.0;
            let mut f = frame(&Pose::mix(&turn, &end, t));
            dress(&mut f, t);
            f
        })
        .collect();
    Scene {
        frames,
        floor_y_m: 0.0,
        from_word: words[0].into(),
        to_word: words[1].into(),
        hardest_frame: 2,
        ..Scene::default()
    }
}

fn mid_grip(f: &SceneFrame) -> P {
    let (r, l) = (f.points["grip-right"], f.points["grip-left"]);
    mul(add(r, l), 0.5)
}

fn weight(at: P, n: f64) -> ForceArrow {
    ForceArrow { at, force_n: [0.0, -n, 0.0], what: "load".into() }
}

/// High-bar squat; the frame's hands are on the bar.
pub fn squat() -> Scene {
    let on_back = |p: Pose| {
        // Bar behind and below the neck, hands on it wider than the shoulders.
        let lum = lean(p.pelvis_deg, -0.02, 0.11);
        let n = lean(p.trunk_deg, 0.06 - 0.075 - 0.085, 0.407 + 0.025);
        let bar = [p.hip[0] + lum[0] + n[0], p.hip[1] + lum[1] + n[1], 0.34];
        let hand = lean(p.trunk_deg, -0.35, 0.9);
        Pose { grip: bar, hand: [hand[0], hand[1], 0.1], elbow_pole: [-0.5, -1.0, 0.3], ..p }
    };
    let base = Pose { half_stance: 0.17, knee_pole: [1.0, 0.0, 0.45], ..Pose::standing() };
    let turn = on_back(Pose { hip: [-0.235, 0.475], pelvis_deg: 30.0, trunk_deg: 38.0, head_deg: 12.0, ..base });
    let end = on_back(Pose { hip: [0.0, 0.935], trunk_deg: 5.0, ..base });
    // Linear in the hip path, the bar is put back on the back in every frame.
    let frames = (0..21)
        .map(|i| {
            let p = on_back(Pose::mix(&turn, &end, i as f64 / 20.0));
            let mut f = frame(&p);
            let at = mid_grip(&f);
            f.things.push(Thing::Bar { at, half_length_m: 1.1, plate_radius_m: 0.225 });
            f.forces.push(weight(at, 1000.0));
            lever(&mut f, "hip", at[0]);
            lever(&mut f, "knee", at[0]);
            f
        })
        .collect();
    Scene {
        frames,
        floor_y_m: 0.0,
        from_word: "bottom".into(),
        to_word: "standing".into(),
        hardest_frame: 3,
        ..Scene::default()
    }
}

pub fn bench_press() -> Scene {
    let lying = Pose {
        hip: [0.0, 0.55],
        pelvis_deg: -90.0,
        trunk_deg: -86.0,
        head_deg: -88.0,
        ankle: [0.42, 0.08],
        foot_deg: 0.0,
        half_stance: 0.24,
        knee_pole: [0.3, 1.0, 0.3],
        grip: [-0.36, 0.78, 0.38],
        elbow_pole: [0.5, -1.0, 0.5],
        hand: [0.0, 1.0, 0.0],
    };
    let end = Pose { grip: [-0.45, 1.19, 0.38], ..lying };
    scene(lying, end, ["chest", "arms straight"], |f, _| {
        f.things.push(Thing::Board {
            from: [-0.82, 0.40, 0.0],
            to: [0.06, 0.40, 0.0],
            thickness_m: 0.08,
            width_m: 0.28,
        });
        f.things.push(Thing::Block { at: [-0.65, 0.0, 0.0], half_length_m: 0.03, height_m: 0.36, half_width_m: 0.12 });
        f.things.push(Thing::Block { at: [-0.1, 0.0, 0.0], half_length_m: 0.03, height_m: 0.36, half_width_m: 0.12 });
        let at = mid_grip(f);
        f.things.push(Thing::Bar { at, half_length_m: 1.1, plate_radius_m: 0.225 });
        f.forces.push(weight(at, 800.0));
        lever(f, "shoulder", at[0]);
        lever(f, "elbow", at[0]);
    })
}

pub fn curl() -> Scene {
    let turn = Pose { grip: [0.06, 0.83, 0.25], ..Pose::standing() };
    let end = Pose { grip: [0.24, 1.33, 0.25], hand: [0.1, 1.0, 0.0], ..Pose::standing() };
    let mid = Pose { grip: [0.36, 1.08, 0.25], hand: [1.0, 0.1, 0.0], ..Pose::standing() };
    let mut s = scene(turn, mid, ["arms straight", "top"], |_, _| {});
    let half = scene(mid, end, ["", ""], |_, _| {});
    s.frames = s.frames.iter().step_by(2).chain(half.frames.iter().skip(2).step_by(2)).cloned().collect();
    for f in &mut s.frames {
        for side in ["right", "left"] {
            let at = f.points[&format!("grip-{side}")];
            f.things.push(Thing::DumbBell { at, axis: [0.0, 0.0, 1.0] });
            f.forces.push(weight(at, 120.0));
        }
        let x = f.points["grip-right"][0];
        lever(f, "elbow", x);
    }
    s.hardest_frame = 10;
    s
}

pub fn pull_down() -> Scene {
    let sitting = Pose {
        hip: [0.0, 0.56],
        pelvis_deg: -8.0,
        trunk_deg: -10.0,
        head_deg: -4.0,
        ankle: [0.36, 0.08],
        foot_deg: 0.0,
        half_stance: 0.12,
        knee_pole: [1.0, 0.6, 0.0],
        grip: [0.06, 1.62, 0.36],
        elbow_pole: [0.6, -0.3, 0.6],
        hand: [0.05, 1.0, 0.1],
    };
    let end = Pose { grip: [0.10, 1.17, 0.36], elbow_pole: [-0.2, -1.0, 0.6], trunk_deg: -16.0, ..sitting };
    scene(sitting, end, ["arms overhead", "bar at the chest"], |f, _| {
        let at = mid_grip(f);
        let top = [0.22, 2.2, 0.0];
        f.things.push(Thing::Board {
            from: [-0.14, 0.42, 0.0],
            to: [0.22, 0.42, 0.0],
            thickness_m: 0.08,
            width_m: 0.3,
        });
        f.things.push(Thing::Block { at: [0.02, 0.0, 0.0], half_length_m: 0.03, height_m: 0.38, half_width_m: 0.1 });
        f.things.push(Thing::Rail { from: [0.75, 0.0, 0.0], to: [0.75, 2.28, 0.0] });
        f.things.push(Thing::Rail { from: [0.75, 2.28, 0.0], to: [0.18, 2.28, 0.0] });
        f.things.push(Thing::Pad { at: [0.32, 0.68, 0.0], radius_m: 0.06 });
        f.things.push(Thing::Cable { from: at, to: top });
        f.things.push(Thing::Pulley { at: top });
        f.things.push(Thing::Bar { at, half_length_m: 0.5, plate_radius_m: 0.0 });
        let d = unit(sub(top, at));
        f.forces.push(ForceArrow { at, force_n: mul(d, 600.0), what: "load".into() });
        let s = f.points["shoulder-right"];
        let foot = add(at, mul(d, dot(sub(s, at), d)));
        let line_at = [foot[0], foot[1], s[2]];
        let length_m = ((s[0] - foot[0]).powi(2) + (s[1] - foot[1]).powi(2)).sqrt();
        f.levers.push(Lever { joint: "shoulder".into(), joint_at: s, line_at, length_m });
    })
}

pub fn leg_extension() -> Scene {
    let sitting = Pose {
        hip: [0.0, 0.62],
        pelvis_deg: -12.0,
        trunk_deg: -18.0,
        head_deg: -6.0,
        ankle: [0.36, 0.16],
        foot_deg: 8.0,
        half_stance: 0.10,
        knee_pole: [1.0, 0.8, 0.0],
        grip: [0.10, 0.58, 0.26],
        elbow_pole: [-1.0, 0.0, 0.4],
        hand: [0.3, -1.0, 0.0],
    };
    let end = Pose { ankle: [0.84, 0.62], foot_deg: -78.0, ..sitting };
    let mid = Pose { ankle: [0.73, 0.34], foot_deg: -40.0, ..sitting };
    let mut s = scene(sitting, mid, ["knees bent", "knees straight"], |_, _| {});
    let half = scene(mid, end, ["", ""], |_, _| {});
    s.frames = s.frames.iter().step_by(2).chain(half.frames.iter().skip(2).step_by(2)).cloned().collect();
    for f in &mut s.frames {
        f.things.push(Thing::Board {
            from: [-0.14, 0.49, 0.0],
            to: [0.32, 0.50, 0.0],
            thickness_m: 0.08,
            width_m: 0.4,
        });
        f.things.push(Thing::Board {
            from: [-0.16, 0.54, 0.0],
            to: [-0.36, 1.16, 0.0],
            thickness_m: 0.08,
            width_m: 0.36,
        });
        f.things.push(Thing::Block { at: [0.05, 0.0, 0.0], half_length_m: 0.05, height_m: 0.45, half_width_m: 0.15 });
        let (k, a) = (f.points["knee-right"], f.points["ankle-right"]);
        let d = unit(sub(a, k));
        let n = [-d[1], d[0], 0.0];
        let at = add(add(k, mul(d, 0.36)), mul(n, 0.085));
        let at = [at[0], at[1], 0.0];
        f.things.push(Thing::Pad { at, radius_m: 0.05 });
        f.forces.push(ForceArrow { at, force_n: mul(n, -400.0), what: "load".into() });
        let line_at = add(k, [d[0] * 0.36, d[1] * 0.36, 0.0]);
        f.levers.push(Lever { joint: "knee".into(), joint_at: k, line_at, length_m: 0.36 });
    }
    s.hardest_frame = s.frames.len() - 1;
    s
}

pub fn hip_thrust() -> Scene {
    let low = Pose {
        hip: [-0.02, 0.24],
        pelvis_deg: -38.0,
        trunk_deg: -46.0,
        head_deg: -10.0,
        ankle: [0.42, 0.08],
        foot_deg: 0.0,
        half_stance: 0.15,
        knee_pole: [0.4, 1.0, 0.2],
        grip: [0.05, 0.37, 0.30],
        elbow_pole: [-0.6, 0.6, 0.9],
        hand: [1.0, -0.5, 0.0],
    };
    let high = Pose {
        hip: [0.02, 0.44],
        pelvis_deg: -92.0,
        trunk_deg: -84.0,
        head_deg: -50.0,
        grip: [0.02, 0.56, 0.30],
        ..low
    };
    scene(low, high, ["hips low", "hips high"], |f, _| {
        f.things.push(Thing::Block { at: [-0.62, 0.0, 0.0], half_length_m: 0.22, height_m: 0.30, half_width_m: 0.5 });
        let at = mid_grip(f);
        f.things.push(Thing::Bar { at, half_length_m: 1.1, plate_radius_m: 0.225 });
        f.forces.push(weight(at, 1200.0));
        lever(f, "hip", at[0]);
    })
}

pub fn standing() -> Scene {
    scene(Pose::standing(), Pose::standing(), ["", ""], |_, _| {})
}

pub fn all() -> Vec<(&'static str, Scene)> {
    vec![
        ("Back squat", squat()),
        ("Bench press", bench_press()),
        ("Dumb-bell curl", curl()),
        ("Pull-down", pull_down()),
        ("Leg extension", leg_extension()),
        ("Hip thrust", hip_thrust()),
    ]
}
