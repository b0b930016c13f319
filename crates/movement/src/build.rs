//! From a family file, settings and a body to a plan, and from the plan to a rep.

mod attach;
mod resolve;

use crate::expr::Item;
use crate::family::{
    Contact, FamilyFile, Formula, FreeComponent, Hold, Lift, Load, Placed, Problem, Track, TrackValue, line_column,
};
use crate::posture::{
    Angle, Curve, Dof, Given, Held, LeanOf, PostureProblem, Pull, PullLine, Requirement, SolverMemory, standing,
};
use crate::ranges::Ranges;
use crate::rep::{AppliedForce, Carrier, Free, FreeAction, FreeSpan, LoadMeaning, Pace, Rep, RepFrame};
use crate::scope::Scope;
use crate::things::{Anchor, KINDS, ThingPlan, grip_local};
use anatomy::body::Body;
use anatomy::skeleton::{Figure, Joint, Segment, Side, shoulder_angles};
use answer::Settings;
use resolve::*;
use std::collections::BTreeSet;
use toml::Spanned;
use units::{GRAVITY_M_S2, V3, rad};

/// A family file with its text, for placed messages.
#[derive(Clone, Debug)]
pub struct Family {
    pub file: FamilyFile,
    pub text: String,
    pub path: String,
}

impl Family {
    /// Parse a family from text; `path` names it in messages.
    pub fn parse(text: &str, path: &str) -> Result<Family, Problem> {
        let file = crate::family::parse_family(text, path)?;
        Ok(Family { file, text: text.to_string(), path: path.to_string() })
    }
}

/// Weight of a held place, 1/m, relative to a held angle, 1/rad: 1 mm counts like 0.6°.
const PLACE_WEIGHT: f64 = 10.0;
/// Weak pulls that settle what no constraint settles.
const COMFORT_WEIGHT: f64 = 0.02;

/// Everything resolved for one movement in one body, ready to solve any phase.
#[derive(Clone, Debug)]
pub struct Plan {
    pub movement: String,
    pub problem: PostureProblem,
    pub lift: Lift,
    pub words: [String; 2],
    begin_at_turn: bool,
    nominal_kg: f64,
    pub lift_s: f64,
    pub pace: Pace,
    pub balanced: Vec<Joint>,
    pub load: LoadMeaning,
    pub things: Vec<ThingPlan>,
    pub notes: Vec<String>,
    loads: Vec<LoadPlan>,
    contacts: Vec<ContactPlan>,
    frees: Vec<FreePlan>,
}

#[derive(Clone, Debug)]
struct LoadPlan {
    on: Segment,
    local_m: V3,
    share: f64,
    line: Line,
    cam: Cam,
    constant_n: f64,
    /// Both hands hold one handle on one cable: equal, parallel forces along the line from its middle.
    one_handle: bool,
}

#[derive(Clone, Debug)]
enum Line {
    Down,
    Towards(V3),
    /// Stretches: force grows with length from the shortest frame on; (anchor, slack m).
    Band(V3, f64),
    /// A band between this hand and the other one.
    BandTo(Segment, V3),
    /// A weight at the end of a bar hinged here: its part square to the bar; the hinge carries the rest.
    Hinge(V3),
    InSegment(V3),
    World(V3),
    /// Square to the line from a pivot, in the sense of the axis. A weight on a lever pushes with the part of gravity
    /// that turns it, the cosine of the lever's slope; its inertia is left out.
    Lever {
        pivot_m: V3,
        axis: V3,
        weighs: bool,
    },
}

impl LoadPlan {
    /// What balance must know of a load that does not hang. Bands are left out: they end at the feet or at a rack that
    /// steadies the body, and their pull changes over the rep.
    fn pull(&self, load_kg: f64) -> Option<Pull> {
        let line = match &self.line {
            Line::Towards(to) => PullLine::Towards(*to),
            Line::Hinge(hinge) => PullLine::Hinge(*hinge),
            Line::Lever { pivot_m, axis, weighs } => {
                PullLine::Lever { pivot_m: *pivot_m, axis: *axis, weighs: *weighs }
            }
            _ => return None,
        };
        let kg = load_kg * self.share + self.constant_n / GRAVITY_M_S2;
        Some(Pull { on: self.on, local_m: self.local_m, line, kg })
    }
}

impl Line {
    /// Both end at the same pulley or anchor.
    fn same_end(&self, other: &Line) -> bool {
        match (self, other) {
            (
                Line::Towards(a) | Line::Band(a, _) | Line::Hinge(a),
                Line::Towards(b) | Line::Band(b, _) | Line::Hinge(b),
            ) => a == b,
            _ => false,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Cam {
    Constant,
    Bell,
    Rising,
    Falling,
    RunsOut,
    Stroke,
}

impl Cam {
    /// Relative force at `u` of the lift (0 its start, 1 its end). Shapes are own estimates of common machines.
    fn at(self, u: f64) -> f64 {
        match self {
            Cam::Constant => 1.0,
            Cam::Bell => 0.8 + 0.2 * (std::f64::consts::PI * u).sin(),
            Cam::Rising => 0.75 + 0.25 * u,
            Cam::Falling => 1.0 - 0.25 * u,
            // A flywheel pulls as hard as it is sped up: most at the turn, next to nothing once the strap is out.
            Cam::RunsOut => 1.0 - 0.85 * u * u,
            // Torque of a crank over the push: next to nothing at the dead centres.
            Cam::Stroke => 0.15 + 0.85 * (std::f64::consts::PI * u).sin(),
        }
    }
}

#[derive(Clone, Debug)]
struct ContactPlan {
    id: usize,
    on: Segment,
    points_m: Vec<V3>,
    /// Direction of the push over the rep, world, of any length.
    normal: [Curve; 3],
    shear: f64,
    /// Over the rep; 0 where it does not touch.
    readiness: Curve,
    /// Largest ratio of shear to normal force.
    friction: f64,
}

impl ContactPlan {
    /// Unit direction of the push at a phase, world; up where the file gives none.
    fn normal_at(&self, phase: f64) -> V3 {
        let [x, y, z] = self.normal.each_ref().map(|c| c.at(phase));
        V3::new(x, y, z).try_normalize(1e-9).unwrap_or(V3::y())
    }
}

#[derive(Clone, Debug)]
struct FreePlan {
    kind: FreeKind,
    usual: f64,
    half: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum FreeKind {
    SidePush,
    ForePush,
    Pressure,
    Twist,
    BarPush,
    AxialHip,
    AxialShoulder,
    TrunkStop,
    SeatPush,
}

/// A point of the body by its name.
pub fn body_point(name: &str, side: Side, body: &Body) -> Option<(Segment, V3)> {
    let o = V3::zeros();
    let sole = -body.ankle_height_m;
    Some(match name {
        "hand" | "grip" => (Segment::Hand(side), grip_local(body)),
        "wrist" => (Segment::Hand(side), o),
        "elbow" => (Segment::Forearm(side), o),
        "shoulder" => (Segment::Humerus(side), o),
        "hip" => (Segment::Femur(side), o),
        "knee" => (Segment::Tibia(side), o),
        "ankle" => (Segment::Foot(side), o),
        "heel" => (Segment::Foot(side), V3::new(body.heel_x_m, sole, 0.0)),
        "ball" => (Segment::Foot(side), V3::new(body.ball_x_m, sole, 0.0)),
        "toe" => (Segment::Foot(side), V3::new(body.toe_x_m, sole, 0.0)),
        "mid-foot" => (Segment::Foot(side), V3::new(0.5 * (body.heel_x_m + body.toe_x_m), sole, 0.0)),
        "pelvis" => (Segment::Pelvis, o),
        "back" => (Segment::Thorax, V3::new(-0.115, -0.11, 0.0) * (body.stature_m / 1.75)),
        "notch" => (Segment::Thorax, o),
        "neck" => (Segment::Head, o),
        "head" => (Segment::Head, V3::new(0.02, 0.6 * body.head_m, 0.0)),
        _ => return None,
    })
}

fn segment(name: &str, side: Side) -> Option<Segment> {
    Some(match name {
        "thorax" | "trunk" => Segment::Thorax,
        "pelvis" => Segment::Pelvis,
        "head" => Segment::Head,
        "hand" | "hands" | "each-hand" => Segment::Hand(side),
        "forearm" | "forearms" => Segment::Forearm(side),
        "upper-arm" | "upper-arms" => Segment::Humerus(side),
        "thigh" | "thighs" => Segment::Femur(side),
        "shank" | "shanks" => Segment::Tibia(side),
        "foot" | "feet" | "each-foot" => Segment::Foot(side),
        _ => return None,
    })
}

/// Resolve a movement: family, complete settings, the keys a coach set himself, a body.
///
/// # Errors
/// Every problem of the file at once, with line and column.
pub fn plan(
    family: &Family,
    movement: &str,
    settings: &Settings,
    set_by_coach: &BTreeSet<String>,
    body: &Body,
    ranges: &Ranges,
) -> Result<Plan, Vec<Problem>> {
    let file = &family.file;
    let scope = Scope::new(file, settings, body);
    let mut r = Reader { family, scope, body, problems: Vec::new() };
    let symmetric = r.number_or(&file.symmetric, 1.0) != 0.0;
    let mut problem = PostureProblem {
        symmetric,
        dofs: Vec::new(),
        given: Vec::new(),
        required: Vec::new(),
        comfort: Vec::new(),
        bounds: Vec::new(),
    };
    let sides: &[Side] = if symmetric { &[Side::Right] } else { &Side::BOTH };
    let mut solved: Vec<(String, Vec<Side>)> = Vec::new();
    for word in &file.solve {
        // "knee left when TEST": a coordinate that only some variants of the family leave to the solver.
        let (coordinate, test) = match word.get_ref().split_once(" when ") {
            Some((c, t)) => (c, Some(t)),
            None => (word.get_ref().as_str(), None),
        };
        if test.is_some_and(|t| r.number_at(&Formula::Text(t.into()), word.span().start) == 0.0) {
            continue;
        }
        let (name, side) = match coordinate.split_once(' ') {
            Some((n, "right")) => (n, vec![Side::Right]),
            Some((n, "left")) => (n, vec![Side::Left]),
            _ => (coordinate, sides.to_vec()),
        };
        // A single side moves on its own only where the sides differ.
        if symmetric && side == [Side::Left] {
            continue;
        }
        solved.push((name.to_string(), side.clone()));
        let before = problem.dofs.len();
        match name {
            "root" => {
                problem.dofs.extend([Dof::Root(0), Dof::Root(1), Dof::RootTurn(2)]);
                if !symmetric {
                    problem.dofs.extend([Dof::Root(2), Dof::RootTurn(0), Dof::RootTurn(1)]);
                }
            }
            "root.x" => problem.dofs.push(Dof::Root(0)),
            "root.y" => problem.dofs.push(Dof::Root(1)),
            "root.z" => problem.dofs.push(Dof::Root(2)),
            "root.lean" => problem.dofs.push(Dof::RootTurn(2)),
            "root.side-lean" => problem.dofs.push(Dof::RootTurn(0)),
            "root.turn" => problem.dofs.push(Dof::RootTurn(1)),
            "lumbar" if symmetric => problem.dofs.push(Dof::Lumbar(2)),
            "lumbar" => problem.dofs.extend([Dof::Lumbar(0), Dof::Lumbar(1), Dof::Lumbar(2)]),
            _ => {
                for &s in &side {
                    match name {
                        "hip" => problem.dofs.extend((0..3).map(|i| Dof::Hip(s, i))),
                        "knee" => problem.dofs.push(Dof::Knee(s)),
                        "ankle" => problem.dofs.extend([
                            Dof::AnklePlantarflexion(s),
                            Dof::AnkleInversion(s),
                            Dof::TibiaRotation(s),
                        ]),
                        "shoulder" => problem.dofs.extend((0..3).map(|i| Dof::Shoulder(s, i))),
                        "elbow" => problem.dofs.push(Dof::Elbow(s)),
                        "forearm" => problem.dofs.push(Dof::Forearm(s)),
                        "girdle" => problem.dofs.extend([Dof::GirdleElevation(s), Dof::GirdleProtraction(s)]),
                        _ => {}
                    }
                }
            }
        }
        if problem.dofs.len() == before {
            r.problem(
                word.span().start,
                format!(
                    "solve: \"{name}\" is not a coordinate; use root, root.x, root.y, root.lean, lumbar, hip, knee, ankle, \
                     shoulder, elbow, forearm or girdle"
                ),
            );
        }
    }
    for &d in &problem.dofs {
        let bound = |axis: &str| ranges.get(axis).map(|a| (a.training_low_rad, a.training_high_rad));
        let b = match d {
            Dof::Knee(_) => bound("knee.flexion").map(|(_, h)| (0.0, h)),
            Dof::Elbow(_) => bound("elbow.flexion").map(|(_, h)| (0.0, h)),
            Dof::AnklePlantarflexion(_) => bound("ankle.plantarflexion"),
            Dof::AnkleInversion(_) => bound("ankle.inversion"),
            Dof::TibiaRotation(_) => Some((rad(-25.0), rad(25.0))),
            Dof::Forearm(_) => bound("forearm.pronation"),
            Dof::GirdleElevation(_) => bound("girdle.elevation"),
            Dof::GirdleProtraction(_) => bound("girdle.protraction"),
            _ => None,
        };
        if let Some((lo, hi)) = b {
            problem.bounds.push((d, lo, hi));
        }
        match d {
            Dof::AnkleInversion(s) => problem.comfort.push((Angle::AnkleInversion(s), 0.0, COMFORT_WEIGHT)),
            Dof::TibiaRotation(s) => problem.comfort.push((Angle::TibiaRotation(s), 0.0, COMFORT_WEIGHT)),
            Dof::GirdleElevation(s) => problem.comfort.push((Angle::GirdleElevation(s), 0.0, COMFORT_WEIGHT)),
            Dof::GirdleProtraction(s) => problem.comfort.push((Angle::GirdleProtraction(s), 0.0, COMFORT_WEIGHT)),
            Dof::Forearm(s) => problem.comfort.push((Angle::Forearm(s), 0.0, COMFORT_WEIGHT)),
            _ => {}
        }
    }
    // Loads first: the balance requirement needs them.
    let nominal_kg = r.number_or(&file.nominal_load_kg, 0.0);
    let mut loads = Vec::new();
    let mut body_weight = false;
    let mut kinds: BTreeSet<&str> = BTreeSet::new();
    for l in &file.load {
        if r.holds(&l.when) {
            body_weight |= l.kind.get_ref() == "body";
            let first = loads.len();
            resolve_load(&mut r, l, &mut loads);
            // What is there whatever the load says nothing about its unit.
            if loads.len() == first || loads[first..].iter().any(|l: &LoadPlan| l.share != 0.0) {
                kinds.insert(l.kind.get_ref().as_str());
            }
        }
    }
    let extra: Vec<(Segment, V3, f64)> = loads
        .iter()
        .filter(|l| matches!(l.line, Line::Down))
        .map(|l| (l.on, l.local_m, nominal_kg * l.share + l.constant_n / GRAVITY_M_S2))
        .collect();
    let pulls: Vec<Pull> = loads.iter().filter_map(|l| l.pull(nominal_kg)).collect();
    for h in &file.hold {
        if r.holds(&h.when) {
            resolve_hold(&mut r, h, symmetric, &solved, (&extra, &pulls), &mut problem);
        }
    }
    for d in &problem.dofs {
        if let Dof::Shoulder(s, 0) = d {
            let poled = problem.required.iter().any(|q| matches!(q.held, Held::Pole { side, .. } if side == *s));
            if !poled {
                problem.comfort.push((Angle::ShoulderInternalRotation(*s), 0.0, COMFORT_WEIGHT));
            }
        }
    }
    let begin_at_turn = match file.begin.as_ref().map(|b| (b.get_ref().as_str(), b.span().start)) {
        None | Some(("start", _)) => false,
        Some(("turn", _)) => true,
        Some((w, at)) => {
            r.problem(at, format!("begin \"{w}\": expected start or turn"));
            false
        }
    };
    let mut contacts = Vec::new();
    for c in &file.contact {
        if r.holds(&c.when) {
            resolve_contact(&mut r, c, &mut contacts);
        }
    }
    let mut frees = Vec::new();
    for f in &file.free {
        if r.holds(&f.when) {
            resolve_free(&mut r, f, set_by_coach, &mut frees);
        }
    }
    let mut balanced = Vec::new();
    for b in &file.balanced {
        match Joint::from_name(b.get_ref()) {
            Some(j) => {
                let off = file.supported_when.get(b.get_ref().as_str()).is_some_and(|f| r.number(f) != 0.0);
                if !off {
                    balanced.push(j);
                }
            }
            None => r.problem(b.span().start, format!("balanced: \"{}\" is not a joint", b.get_ref())),
        }
    }
    let mut things = Vec::new();
    for t in &file.thing {
        if !r.holds(&t.when) {
            continue;
        }
        let xyz = |r: &mut Reader, a: &Option<Track>, b: &Option<Track>, c: &Option<Track>| -> [Curve; 3] {
            [a, b, c].map(|t| t.as_ref().map_or(Curve::constant(0.0), |t| r.curve(t)))
        };
        let at_m = xyz(&mut r, &t.x_m, &t.y_m, &t.z_m);
        let to_m = xyz(&mut r, &t.to_x_m, &t.to_y_m, &t.to_z_m);
        let size_m = r.number_or(&t.size_m, 0.05);
        let width_m = r.number_or(&t.width_m, 0.3);
        let thing_sides = match t.side.as_ref().map(|s| s.get_ref().as_str()) {
            Some("both") => vec![Side::Right, Side::Left],
            Some("left") => vec![Side::Left],
            _ => vec![Side::Right],
        };
        for side in thing_sides {
            let anchor = match t.at.as_ref().map(|a| (a.get_ref().as_str(), a.span().start)) {
                None | Some(("world", _)) => Anchor::World,
                Some(("hands", _)) => Anchor::Hands,
                Some((n, at)) => match (n.strip_prefix("in "), body_point(n, side, body)) {
                    (Some(s), _) => match segment(s, side) {
                        Some(s) => Anchor::Segment(s),
                        None => {
                            r.problem(at, format!("thing at \"{n}\": no such segment"));
                            Anchor::World
                        }
                    },
                    (None, Some((s, v))) => Anchor::Point(s, v),
                    (None, None) => {
                        r.problem(
                            at,
                            format!("thing at \"{n}\": expected world, hands, a body point or \"in segment\""),
                        );
                        Anchor::World
                    }
                },
            };
            let flip = |c: &[Curve; 3]| {
                if side == Side::Left { [c[0].clone(), c[1].clone(), c[2].scaled(-1.0)] } else { c.clone() }
            };
            if !KINDS.contains(&t.kind.get_ref().as_str()) {
                let what = format!("thing \"{}\": {}", t.kind.get_ref(), KINDS.join(", "));
                r.problem(t.kind.span().start, what);
            }
            things.push(ThingPlan {
                kind: t.kind.get_ref().clone(),
                anchor,
                at_m: flip(&at_m),
                to_m: flip(&to_m),
                size_m,
                width_m,
            });
        }
    }
    if problem.dofs.len() > crate::posture::MAX_DOF {
        r.problem(0, format!("{} unknown coordinates, at most {}", problem.dofs.len(), crate::posture::MAX_DOF));
    }
    if !r.problems.is_empty() {
        return Err(r.problems);
    }
    let tempo_up = match settings.get("tempo_up_s") {
        Some(answer::SettingValue::Number(n)) => *n,
        _ => file.tempo.up_s,
    };
    let lift_s = r.number_or(&file.lift_s, tempo_up);
    let pace = match file.pace.as_ref().map(|f| (r.word(f), f.span().start)) {
        None => Pace::Rests,
        Some((w, _)) if w == "rests" => Pace::Rests,
        Some((w, _)) if w == "thrown" => Pace::Thrown,
        Some((w, _)) if w == "steady" => Pace::Steady,
        Some((w, at)) => {
            r.problem(at, format!("pace \"{w}\": expected 'rests', 'thrown' or 'steady'"));
            Pace::Rests
        }
    };
    if !r.problems.is_empty() {
        return Err(r.problems);
    }
    let unit = load_unit(&kinds, &loads, body_weight);
    let notes = Vec::new();
    Ok(Plan {
        movement: movement.to_string(),
        problem,
        lift: file.lift,
        words: file.words.clone(),
        begin_at_turn,
        nominal_kg,
        lift_s: lift_s.max(0.2),
        pace,
        balanced,
        load: LoadMeaning { unit, body_weight, cap: if body_weight { 6.0 } else { 900.0 } },
        things,
        notes,
        loads,
        contacts,
        frees,
    })
}
