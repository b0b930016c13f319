//! One movement as JSON for `tools/python_pipeline`: the model, what this program makes of it, and how long that takes.
//! Movements with free weights, alike on both sides.

use anatomy::body::Body;
use anatomy::heads::MuscleModel;
use anatomy::path::{Obstacle, Path};
use anatomy::skeleton::{Joint, Posture, Row};
use library::{Ask, Library};
use mechanics::system::Block;
use movement::posture::{Angle, Curve, Dof, Given, Held, LeanOf, PostureProblem};
use movement::rep::{FreeSpan, Rep};
use serde_json::{Value, json};
use stimulus::lengths::HeadLengths;
use stimulus::range::Widths;
use units::{M3, V3};

const FRAMES: usize = 21;
const REPEATS: usize = 201;

fn v(x: &V3) -> Value {
    json!([x.x, x.y, x.z])
}
fn m(r: &M3) -> Value {
    json!([[r.m11, r.m12, r.m13], [r.m21, r.m22, r.m23], [r.m31, r.m32, r.m33]])
}
fn curve(c: &Curve) -> Value {
    json!(c.0)
}

fn body(b: &Body) -> Value {
    let inertia: Vec<Value> = b
        .inertia
        .iter()
        .map(|i| json!({"mass_kg": i.mass_kg, "com_m": v(&i.com_m), "inertia_kg_m2": m(&i.inertia_kg_m2)}))
        .collect();
    json!({
        "mass_kg": b.mass_kg, "thigh_m": b.thigh_m, "shank_m": b.shank_m, "half_hip_m": b.half_hip_m,
        "heel_x_m": b.heel_x_m, "toe_x_m": b.toe_x_m, "ankle_height_m": b.ankle_height_m, "lumbar_m": v(&b.lumbar_m),
        "notch_from_lumbar_m": v(&b.notch_from_lumbar_m), "neck_m": v(&b.neck_m), "sc_m": v(&b.sc_m),
        "ac_m": v(&b.ac_m), "gh_m": v(&b.gh_m), "scapula_normal": v(&b.scapula_normal),
        "scapula_spine": v(&b.scapula_spine), "upper_arm_m": b.upper_arm_m, "forearm_m": b.forearm_m,
        "grip_m": b.grip_m, "stature_m": b.stature_m, "inertia": inertia,
    })
}

fn posture(p: &Posture) -> Value {
    let r = &p.right;
    json!({
        "pelvis_m": v(&p.pelvis.origin_m), "pelvis": m(&p.pelvis.rotation), "lumbar": m(&p.lumbar),
        "neck": m(&p.neck), "hip": m(&r.hip), "shoulder": m(&r.shoulder), "knee": r.knee_flexion_rad,
        "tibia": r.tibia_rotation_rad, "ankle": r.ankle_plantarflexion_rad, "inversion": r.ankle_inversion_rad,
        "elbow": r.elbow_flexion_rad, "forearm": r.forearm_pronation_rad, "wrist": r.wrist_flexion_rad,
        "girdle": [r.girdle.elevation_rad, r.girdle.protraction_rad, r.girdle.upward_rotation_rad],
    })
}

fn angle(a: Angle) -> &'static str {
    match a {
        Angle::HipFlexion(_) => "hip.flexion",
        Angle::HipAbduction(_) => "hip.abduction",
        Angle::HipInternalRotation(_) => "hip.internal-rotation",
        Angle::Knee(_) => "knee",
        Angle::TibiaRotation(_) => "tibia",
        Angle::AnklePlantarflexion(_) => "ankle",
        Angle::AnkleInversion(_) => "inversion",
        Angle::LumbarFlexion => "lumbar.flexion",
        Angle::LumbarSideBend => "lumbar.side-bend",
        Angle::LumbarRotation => "lumbar.rotation",
        Angle::NeckFlexion => "neck.flexion",
        Angle::NeckSideBend => "neck.side-bend",
        Angle::NeckRotation => "neck.rotation",
        Angle::ShoulderPlane(_) => "shoulder.plane",
        Angle::ShoulderElevation(_) => "shoulder.elevation",
        Angle::ShoulderInternalRotation(_) => "shoulder.internal-rotation",
        Angle::Elbow(_) => "elbow",
        Angle::Forearm(_) => "forearm",
        Angle::Wrist(_) => "wrist",
        Angle::GirdleElevation(_) => "girdle.elevation",
        Angle::GirdleProtraction(_) => "girdle.protraction",
        Angle::GirdleUpwardRotation(_) => "girdle.upward-rotation",
    }
}

fn dof(d: Dof) -> (&'static str, usize) {
    match d {
        Dof::Root(i) => ("root", i),
        Dof::RootTurn(i) => ("root-turn", i),
        Dof::Lumbar(i) => ("lumbar", i),
        Dof::Hip(_, i) => ("hip", i),
        Dof::Knee(_) => ("knee", 0),
        Dof::TibiaRotation(_) => ("tibia", 0),
        Dof::AnklePlantarflexion(_) => ("ankle", 0),
        Dof::AnkleInversion(_) => ("inversion", 0),
        Dof::Shoulder(_, i) => ("shoulder", i),
        Dof::Elbow(_) => ("elbow", 0),
        Dof::Forearm(_) => ("forearm", 0),
        Dof::GirdleElevation(_) => ("girdle.elevation", 0),
        Dof::GirdleProtraction(_) => ("girdle.protraction", 0),
    }
}

fn lean(of: LeanOf) -> &'static str {
    match of {
        LeanOf::Trunk => "trunk",
        LeanOf::Pelvis => "pelvis",
        LeanOf::Shank(_) => "shank",
        LeanOf::Thigh(_) => "thigh",
        LeanOf::UpperArm(_) => "upper-arm",
        LeanOf::Forearm(_) => "forearm",
    }
}

fn problem(p: &PostureProblem, nominal_kg: f64) -> Value {
    let given: Vec<Value> = p
        .given
        .iter()
        .map(|g| match g {
            Given::Angle(a, c) => json!({"angle": angle(*a), "curve": curve(c)}),
            Given::Shoulder(_, c) => json!({"shoulder": c.each_ref().map(curve)}),
            Given::Hip(_, c) => json!({"hip": c.each_ref().map(curve)}),
            Given::Place { position, turn } => json!({
                "position": position.each_ref().map(|c| c.as_ref().map(curve)),
                "turn": turn.as_ref().map(|t| t.each_ref().map(curve)),
            }),
        })
        .collect();
    let required: Vec<Value> = p
        .required
        .iter()
        .map(|q| {
            let mut out = match &q.held {
                Held::Point { on, local_m, frame, slope_rad, value_m } => json!({
                    "point": on.index(), "local_m": v(local_m), "frame": frame.map(|s| s.index()), "slope": slope_rad,
                    "value": value_m.each_ref().map(|c| c.as_ref().map(curve)),
                }),
                Held::Lean { of, value } => json!({"lean": lean(*of), "value": curve(value)}),
                Held::Foot { toe_out, pitch, slope, .. } => {
                    json!({"foot": [curve(toe_out), curve(pitch), curve(slope)]})
                }
                Held::Angle { of, value } => json!({"angle": angle(*of), "value": curve(value)}),
                Held::Balance { x_m, extra, .. } => {
                    let share = |e: &(anatomy::skeleton::Segment, V3, f64)| {
                        json!({"on": e.0.index(), "local_m": v(&e.1), "share": e.2 / nominal_kg})
                    };
                    json!({"balance": curve(x_m), "extra": extra.iter().map(share).collect::<Vec<_>>()})
                }
                Held::Pole { direction, .. } => json!({"pole": direction.each_ref().map(curve)}),
            };
            out["weight"] = curve(&q.weight);
            out
        })
        .collect();
    json!({
        "dofs": p.dofs.iter().map(|d| dof(*d)).collect::<Vec<_>>(), "given": given, "required": required,
        "comfort": p.comfort.iter().map(|(a, x, w)| json!([angle(*a), x, w])).collect::<Vec<_>>(),
        "bounds": p.bounds.iter().map(|(d, lo, hi)| json!([dof(*d).0, lo, hi])).collect::<Vec<_>>(),
    })
}

/// Loads, supports and free components as they lie in the segments; taken from the first frame.
fn outside(rep: &Rep) -> Value {
    let f = &rep.frames[0];
    let local = |on: anatomy::skeleton::Segment, at: &V3| {
        let pose = f.figure.pose(on);
        v(&(pose.rotation.transpose() * (at - pose.origin_m)))
    };
    let forces: Vec<Value> = f
        .forces
        .iter()
        .map(|q| {
            assert!(q.mass_per_load_kg > 0.0 && q.constant_n.norm() == 0.0, "free weights only");
            json!({"on": q.on.index(), "local_m": local(q.on, &q.at_m), "per_load_n": v(&q.per_load_n),
                   "mass_per_load_kg": q.mass_per_load_kg})
        })
        .collect();
    let carriers: Vec<Value> = f
        .carriers
        .iter()
        .map(|c| {
            json!({"contact": c.contact, "on": c.on.index(), "local_m": local(c.on, &c.at_m), "push_only": c.push_only,
                   "reluctance": c.reluctance, "direction": v(&c.direction)})
        })
        .collect();
    let free: Vec<Value> = f
        .free
        .iter()
        .map(|c| {
            let span = match c.span {
                FreeSpan::OfNormal { contact, usual, half } => json!({"normal": contact, "usual": usual, "half": half}),
                FreeSpan::OfLoad { usual, half, constant_n, per_load_n } => {
                    json!({"usual": usual, "half": half, "constant_n": constant_n, "per_load_n": per_load_n})
                }
                // The trunk's push fades with the posture: its full size is the largest over the lift.
                FreeSpan::Absolute { low, .. } => json!({"low": low, "high": 400.0}),
            };
            json!({"tag": c.tag, "span": span, "cost": c.cost})
        })
        .collect();
    json!({"forces": forces, "carriers": carriers, "free": free})
}

fn paths(list: &[(Path, f64)]) -> Vec<Value> {
    let one = |(p, share): &(Path, f64)| {
        let obstacles: Vec<Value> = p
            .obstacles()
            .iter()
            .map(|o| match o {
                None => Value::Null,
                Some(Obstacle::Sphere { body, centre_m, radius_m }) => {
                    json!({"body": body, "centre_m": v(centre_m), "radius_m": radius_m})
                }
                Some(Obstacle::Cylinder { body, centre_m, axis, radius_m, side }) => {
                    json!({"body": body, "centre_m": v(centre_m), "radius_m": radius_m, "axis": v(axis), "side": side})
                }
            })
            .collect();
        let points: Vec<Value> = p.points().iter().map(|q| json!([q.body, v(&q.local_m)])).collect();
        json!({"share": share, "points": points, "obstacles": obstacles})
    };
    list.iter().map(one).collect()
}

fn heads(lib: &Library, b: &Body, model: &MuscleModel) -> Vec<Value> {
    let law = &lib.tables.fibre_law;
    let l = lib.rules.free_length;
    let free = law.active(l) * lib.rules.length_weight(l);
    lib.tables
        .heads
        .iter()
        .enumerate()
        .map(|(i, h)| {
            let p = model.parts(&lib.tables, b, i);
            let hinges: Vec<Value> = h
                .hinges
                .iter()
                .zip(&p.hinge_scales)
                .map(|(t, k)| {
                    let knots: Vec<Value> = t.knots.iter().map(|(x, y)| json!([x, y * k])).collect();
                    json!({"row": t.row.index(), "knots": knots})
                })
                .collect();
            json!({
                "id": h.id, "hinges": hinges, "leg": paths(p.leg), "arm": paths(p.arm), "crosses": p.crosses,
                "anchor": p.anchor, "per_length": p.per_length, "max_force_n": p.max_force_n,
                "reference": lib.reference.mid[i].unwrap_or(free).max(lib.rules.reference_floor),
            })
        })
        .collect()
}

fn block(b: &Block) -> Value {
    json!({"rows": b.rows.iter().map(|r| r.index()).collect::<Vec<_>>(),
           "heads": b.heads.iter().map(|h| h.0).collect::<Vec<_>>()})
}

/// Median and shortest wall time of a call, s.
fn times_s(mut call: impl FnMut()) -> (f64, f64) {
    let mut times: Vec<f64> = (0..REPEATS)
        .map(|_| {
            let t = std::time::Instant::now();
            call();
            t.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[REPEATS / 2], times[0])
}

fn main() {
    let Some(movement) = std::env::args().nth(1) else {
        eprintln!("usage: dump_movement MOVEMENT");
        std::process::exit(2);
    };
    let lib = Library::embedded().unwrap_or_else(|e| panic!("{e}"));
    let ask = Ask { frames: FRAMES, ..Ask::middle(&movement) };
    let s = lib.study(&ask, &Widths::default()).unwrap_or_else(|e| panic!("{e}"));
    assert!(s.rep.symmetric, "movements alike on both sides only");
    let start = lib.plan(&s.resolved, &s.body).unwrap_or_else(|e| panic!("{e}"));
    let start_kg = start.balance_load_kg();
    let family = lib.catalogue.movement(&s.resolved.id).and_then(|m| lib.family(&m.family).ok());
    let begin_at_turn = family.and_then(|f| f.file.begin.as_ref()).is_some_and(|b| b.get_ref() == "turn");
    let (look_s, look_min_s) = times_s(|| {
        std::hint::black_box(lib.look(&ask)).ok();
    });
    let prepared = &s.solved.prepared;
    let frames: Vec<Value> = (0..FRAMES)
        .map(|t| {
            let f = &prepared.frames[t];
            let required: Vec<f64> = Row::ALL
                .iter()
                .map(|r| {
                    let at = |w| f.geometry.required(w, *r);
                    at(&f.wrenches.constant) + s.solved.load.load * at(&f.wrenches.per_load)
                })
                .collect();
            json!({
                "phase": s.rep.frames[t].phase, "posture": posture(&s.rep.frames[t].posture),
                "fibre": f.muscles.heads.iter().map(|h| h.fibre_norm).collect::<Vec<_>>(),
                "length_m": f.muscles.heads.iter().map(|h| h.length_m).collect::<Vec<_>>(),
                "arms_m": f.muscles.heads.iter().map(|h| h.arms_m).collect::<Vec<_>>(),
                "required_nm": required, "activation": s.solved.shares.activation[t],
            })
        })
        .collect();
    let change = |l: &Option<HeadLengths>| l.as_ref().map(HeadLengths::change_m);
    let stops: Vec<Value> = lib
        .stops
        .stops
        .iter()
        .map(|q| {
            json!({"row": q.row.index(), "sign": q.sign, "from_rad": q.from_rad, "width_rad": q.width_rad,
                   "torque_nm": q.torque_nm})
        })
        .collect();
    let r = &lib.rules;
    let midline: Vec<usize> =
        Row::ALL.iter().filter(|r| matches!(r.joint(), Joint::Lumbar | Joint::Neck)).map(|r| r.index()).collect();
    let constants: serde_json::Map<String, Value> = include_str!("../../../data/anatomy/constants.csv")
        .lines()
        .skip(1)
        .filter_map(|l| {
            let mut f = l.split(',');
            Some((f.next()?.to_string(), json!(f.next()?.parse::<f64>().ok()?)))
        })
        .collect();
    let out = json!({
        "movement": s.resolved.id, "body": body(&s.body), "standing": posture(&movement::posture::standing(&s.body)),
        "problem": problem(&start.problem, start_kg.unwrap_or(1.0)), "balance_load_kg": start_kg, "lift_s": s.rep.lift_s,
        "begin_at_turn": begin_at_turn, "from_turn": s.rep.frames[0].phase > 0.5, "cap": s.rep.load.cap, "outside": outside(&s.rep),
        "blocks": prepared.blocks.iter().map(block).collect::<Vec<_>>(),
        "second": prepared.second.as_ref().map(|b| block(&b.0)), "midline_rows": midline,
        "stops": stops, "lumbar_a_nm": lib.stops.lumbar_a_nm, "lumbar_b_rad": lib.stops.lumbar_b_rad,
        "fibre": constants, "heads": heads(&lib, &s.body, &s.model),
        "rules": {"slope": r.length_weight_slope, "centre": r.length_weight_centre, "floor": r.length_weight_floor,
                  "ceiling": r.length_weight_ceiling, "cap": r.stimulus_cap, "quantile": r.load_quantile,
                  "effort": r.load_effort, "credit_from": r.credit_from, "credit_width": r.credit_width},
        "expected": {
            "look_s": look_s, "look_min_s": look_min_s, "load": s.solved.load.load, "capacity": s.solved.load.capacity, "frames": frames,
            "stimulus": s.stimulus.iter().map(|r| r.mid).collect::<Vec<_>>(),
            "change_m": s.lengths.iter().map(change).collect::<Vec<_>>(),
        },
    });
    println!("{out}");
}
