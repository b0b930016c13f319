//! From a family file, settings and a body to a plan, and from the plan to a rep.

use crate::expr::Item;
use crate::family::{Contact, FamilyFile, Formula, FreeComponent, Hold, Lift, Load, Placed, Problem, Track, TrackValue, line_column};
use crate::posture::{
    Angle, Curve, Dof, Given, Held, LeanOf, PostureProblem, Requirement, SolverMemory, standing,
};
use crate::ranges::Ranges;
use crate::rep::{AppliedForce, Carrier, Free, FreeAction, FreeSpan, LoadMeaning, Rep, RepFrame};
use crate::scope::Scope;
use crate::things::{Anchor, ThingPlan, grip_local};
use anatomy::body::Body;
use anatomy::skeleton::{Figure, Joint, Segment, Side, shoulder_angles};
use answer::Settings;
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
}

#[derive(Clone, Debug)]
enum Line {
    Down,
    Towards(V3),
    /// Stretches: force grows with length from the shortest frame on; (anchor, slack m).
    Band(V3, f64),
    InSegment(V3),
    World(V3),
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Cam {
    Constant,
    Bell,
    Rising,
    Falling,
}

impl Cam {
    /// Relative force at `u` of the lift (0 its start, 1 its end). Shapes are own estimates of common machines.
    fn at(self, u: f64) -> f64 {
        match self {
            Cam::Constant => 1.0,
            Cam::Bell => 0.8 + 0.2 * (std::f64::consts::PI * u).sin(),
            Cam::Rising => 0.75 + 0.25 * u,
            Cam::Falling => 1.0 - 0.25 * u,
        }
    }
}

#[derive(Clone, Debug)]
struct ContactPlan {
    id: usize,
    on: Segment,
    points_m: Vec<V3>,
    normal: V3,
    shear: f64,
    readiness: f64,
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
    BarPush,
    AxialHip,
    AxialShoulder,
    TrunkStop,
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

/// Collects problems with their places while formulas are evaluated.
struct Reader<'a> {
    family: &'a Family,
    scope: Scope<'a>,
    body: &'a Body,
    problems: Vec<Problem>,
}

impl Reader<'_> {
    fn problem(&mut self, at: usize, text: String) {
        let (line, column) = line_column(&self.family.text, at);
        let p = Problem { file: self.family.path.clone(), line, column, text };
        if !self.problems.contains(&p) {
            self.problems.push(p);
        }
    }
    fn item(&mut self, f: &Placed) -> Option<Item> {
        self.item_at(f.get_ref(), f.span().start)
    }
    fn item_at(&mut self, f: &Formula, at: usize) -> Option<Item> {
        match self.scope.value(&f.text()) {
            Ok(v) => Some(v),
            Err(e) => {
                self.problem(at, format!("\"{}\": {e}", f.text()));
                None
            }
        }
    }
    fn number(&mut self, f: &Placed) -> f64 {
        self.number_at(f.get_ref(), f.span().start)
    }
    fn number_at(&mut self, f: &Formula, at: usize) -> f64 {
        match self.item_at(f, at) {
            Some(Item::Number(n)) if n.is_finite() => n,
            Some(Item::Number(n)) => {
                self.problem(at, format!("gives {n}, a finite number is needed"));
                0.0
            }
            Some(Item::Word(w)) => {
                self.problem(at, format!("gives the word '{w}', a number is needed"));
                0.0
            }
            None => 0.0,
        }
    }
    fn number_or(&mut self, f: &Option<Placed>, default: f64) -> f64 {
        f.as_ref().map_or(default, |f| self.number(f))
    }
    fn word(&mut self, f: &Placed) -> String {
        match self.item(f) {
            Some(Item::Word(w)) => w,
            // A bare word in a formula place reads as an unknown name; here it is the word itself.
            Some(Item::Number(n)) => n.to_string(),
            None => String::new(),
        }
    }
    fn holds(&mut self, when: &Option<Placed>) -> bool {
        when.as_ref().is_none_or(|f| self.number(f) != 0.0)
    }
    fn curve(&mut self, t: &Track) -> Curve {
        let at = t.span().start;
        match t.get_ref() {
            TrackValue::Plain(f) => Curve(vec![self.number_at(f, at)]),
            TrackValue::Ends { start, turn } => Curve(vec![self.number_at(start, at), self.number_at(turn, at)]),
            TrackValue::Keys { keys } if !keys.is_empty() => {
                Curve(keys.iter().map(|k| self.number_at(k, at)).collect())
            }
            TrackValue::Keys { .. } => Curve(vec![0.0]),
        }
    }
    fn curve_deg(&mut self, t: &Option<Track>, default: f64) -> Curve {
        match t {
            Some(t) => {
                let c = self.curve(t);
                Curve(c.0.iter().map(|v| rad(*v)).collect())
            }
            None => Curve::constant(rad(default)),
        }
    }
    fn sides(&mut self, s: &Option<Spanned<String>>, symmetric: bool) -> Vec<Side> {
        match s.as_ref().map(|s| (s.get_ref().as_str(), s.span().start)) {
            None | Some(("both", _)) if symmetric => vec![Side::Right],
            None | Some(("both", _)) => vec![Side::Right, Side::Left],
            Some(("right", _)) => vec![Side::Right],
            Some(("left", _)) => vec![Side::Left],
            Some((w, at)) => {
                self.problem(at, format!("side \"{w}\": expected both, right or left"));
                vec![Side::Right]
            }
        }
    }
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
        let (name, side) = match word.get_ref().split_once(' ') {
            Some((n, "right")) => (n, vec![Side::Right]),
            Some((n, "left")) => (n, vec![Side::Left]),
            _ => (word.get_ref().as_str(), sides.to_vec()),
        };
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
            kinds.insert(l.kind.get_ref().as_str());
            resolve_load(&mut r, l, &mut loads);
        }
    }
    let extra: Vec<(Segment, V3, f64)> = loads
        .iter()
        .filter(|l| matches!(l.line, Line::Down))
        .map(|l| (l.on, l.local_m, nominal_kg * l.share + l.constant_n / GRAVITY_M_S2))
        .collect();
    for h in &file.hold {
        if r.holds(&h.when) {
            resolve_hold(&mut r, h, symmetric, &solved, &extra, &mut problem);
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
                        r.problem(at, format!("thing at \"{n}\": expected world, hands, a body point or \"in segment\""));
                        Anchor::World
                    }
                },
            };
            let flip = |c: &[Curve; 3]| {
                if side == Side::Left { [c[0].clone(), c[1].clone(), c[2].scaled(-1.0)] } else { c.clone() }
            };
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
    let unit = load_unit(&kinds, &loads, body_weight);
    let notes = Vec::new();
    Ok(Plan {
        movement: movement.to_string(),
        problem,
        lift: file.lift,
        words: file.words.clone(),
        begin_at_turn,
        nominal_kg,
        lift_s: tempo_up.max(0.2),
        balanced,
        load: LoadMeaning { unit, body_weight, cap: if body_weight { 6.0 } else { 900.0 } },
        things,
        notes,
        loads,
        contacts,
        frees,
    })
}

fn load_unit(kinds: &BTreeSet<&str>, loads: &[LoadPlan], body_weight: bool) -> String {
    if body_weight {
        return "x body weight".into();
    }
    let hands = loads.iter().filter(|l| matches!(l.on, Segment::Hand(_))).count();
    let each = hands > 1 && loads.iter().all(|l| (l.share - 1.0).abs() < 1e-9);
    let each_limb = loads.len() > 1 && !each && loads.iter().all(|l| (l.share - 1.0).abs() < 1e-9);
    match () {
        _ if each => "kg in each hand".into(),
        _ if each_limb => "kg a side".into(),
        _ if kinds.contains("pad") => "kg at the pad".into(),
        _ if kinds.contains("rail") => "kg along the rails".into(),
        _ if kinds.contains("cable") && hands > 0 => "kg on the cable".into(),
        _ if kinds.contains("cable") => "kg on the cable".into(),
        _ if kinds.contains("band") => "kg of band pull at full stretch".into(),
        _ => "kg".into(),
    }
}

fn resolve_load(r: &mut Reader, l: &Load, out: &mut Vec<LoadPlan>) {
    let kind = l.kind.get_ref().as_str();
    if kind == "body" {
        return;
    }
    let Some(on) = &l.on else {
        r.problem(l.kind.span().start, format!("load of kind {kind} needs `on`: hands, thorax, pelvis, shank …"));
        return;
    };
    let name = on.get_ref().as_str();
    let both = matches!(name, "hands" | "each-hand" | "feet" | "each-foot" | "thighs" | "shanks" | "forearms" | "upper-arms");
    let each = name.starts_with("each-");
    let side = match l.side.as_ref().map(|s| s.get_ref().as_str()) {
        Some("left") => Side::Left,
        _ => Side::Right,
    };
    let share = r.number_or(&l.share, 1.0);
    let local = V3::new(r.number_or(&l.x_m, f64::NAN), r.number_or(&l.y_m, f64::NAN), r.number_or(&l.z_m, f64::NAN));
    let vector = |r: &mut Reader, d: &[Placed; 3]| {
        let v = V3::new(r.number(&d[0]), r.number(&d[1]), r.number(&d[2]));
        v.try_normalize(1e-9)
    };
    let line = match kind {
        "weight" => Line::Down,
        "cable" | "band" => {
            let to = V3::new(r.number_or(&l.to_x_m, 0.0), r.number_or(&l.to_y_m, 0.0), r.number_or(&l.to_z_m, 0.0));
            if kind == "cable" { Line::Towards(to) } else { Line::Band(to, 0.0) }
        }
        "pad" | "rail" => match l.dir.as_ref().and_then(|d| vector(r, d)) {
            Some(v) if kind == "pad" => Line::InSegment(v),
            Some(v) => Line::World(v),
            None => {
                r.problem(l.kind.span().start, format!("load of kind {kind} needs `dir` = [x, y, z], not all zero"));
                return;
            }
        },
        _ => {
            r.problem(
                l.kind.span().start,
                format!("load kind \"{kind}\": expected weight, cable, band, pad, rail or body"),
            );
            return;
        }
    };
    let cam = match l.cam.as_ref().map(|c| r.word(c)).as_deref() {
        None | Some("constant" | "") => Cam::Constant,
        Some("bell") => Cam::Bell,
        Some("rising") => Cam::Rising,
        Some("falling") => Cam::Falling,
        Some(w) => {
            r.problem(l.kind.span().start, format!("cam \"{w}\": expected constant, bell, rising or falling"));
            Cam::Constant
        }
    };
    let constant_n = r.number_or(&l.constant_n, 0.0);
    let sides = if both { vec![Side::Right, Side::Left] } else { vec![side] };
    for s in &sides {
        let Some(seg) = segment(name, *s) else {
            r.problem(on.span().start, format!("load on \"{name}\": no such part of the body"));
            return;
        };
        let base = match seg {
            Segment::Hand(_) => grip_local(r.body),
            Segment::Foot(_) => V3::new(r.body.ball_x_m, -r.body.ankle_height_m, 0.0),
            _ => V3::zeros(),
        };
        let mut local_m = base;
        for k in 0..3 {
            if local[k].is_finite() {
                local_m[k] = local[k];
            }
        }
        let mirror = |v: &V3| if *s == Side::Left { V3::new(v.x, v.y, -v.z) } else { *v };
        // Anchors given for the right side are mirrored for the left when each side has its own line.
        let line = match &line {
            Line::Towards(to) if each || both && name != "hands" => Line::Towards(mirror(to)),
            Line::Band(to, slack) if each || both && name != "hands" => Line::Band(mirror(to), *slack),
            Line::InSegment(d) => Line::InSegment(mirror(d)),
            other => other.clone(),
        };
        let part = if both && !each { share * 0.5 } else { share };
        let constant_n = if both && !each { constant_n * 0.5 } else { constant_n };
        out.push(LoadPlan { on: seg, local_m: mirror(&local_m), share: part, line, cam, constant_n });
    }
}

fn resolve_hold(
    r: &mut Reader,
    h: &Hold,
    symmetric: bool,
    solved: &[(String, Vec<Side>)],
    extra: &[(Segment, V3, f64)],
    out: &mut PostureProblem,
) {
    let at = h.what.span().start;
    let what = h.what.get_ref().clone();
    let of = h.of.as_ref().map(|o| o.get_ref().clone()).unwrap_or_default();
    let of_at = h.of.as_ref().map_or(at, |o| o.span().start);
    let sides = r.sides(&h.side, symmetric);
    let is_solved = |name: &str, s: Side| solved.iter().any(|(n, sides)| n == name && sides.contains(&s));
    let weight = |r: &mut Reader, default: f64| match &h.weight {
        Some(w) => r.curve(w).scaled(default),
        None => Curve::constant(default),
    };
    let mut require = |held: Held, weight: Curve, name: String| out.required.push(Requirement { held, weight, name });
    match what.as_str() {
        "angle" => {
            let value = r.curve_deg(&h.angle_deg, 0.0);
            for s in sides {
                // Coaches' signs at the edge: dorsiflexion, external rotation, supination, wrist extension.
                let (axis, sign) = match of.as_str() {
                    "ankle.dorsiflexion" => ("ankle.plantarflexion", -1.0),
                    "hip.external-rotation" => ("hip.internal-rotation", -1.0),
                    "shoulder.external-rotation" => ("shoulder.internal-rotation", -1.0),
                    "forearm.supination" => ("forearm.pronation", -1.0),
                    "wrist.extension" => ("wrist.flexion", -1.0),
                    o => (o, 1.0),
                };
                let Some(angle) = Angle::from_axis(axis, s) else {
                    r.problem(of_at, format!("angle of \"{of}\": no such axis (knee.flexion, hip.abduction, …)"));
                    return;
                };
                let v = value.scaled(sign);
                let joint = angle.joint();
                if is_solved(joint.id(), s) && joint != Joint::Ankle
                    || joint == Joint::Ankle && is_solved("ankle", s)
                {
                    let w = weight(r, 1.0);
                    require(Held::Angle { of: angle, value: v }, w, of.clone());
                } else {
                    out.given.push(Given::Angle(angle, v));
                }
            }
        }
        "shoulder" => {
            let plane = r.curve_deg(&h.plane_deg, 90.0);
            let elevation = r.curve_deg(&h.elevation_deg, 0.0);
            let rotation = r.curve_deg(&h.external_rotation_deg, 0.0).scaled(-1.0);
            for s in sides {
                out.given.push(Given::Shoulder(s, [plane.clone(), elevation.clone(), rotation.clone()]));
            }
        }
        "hip" => {
            let flexion = r.curve_deg(&h.flexion_deg, 0.0);
            let abduction = r.curve_deg(&h.abduction_deg, 0.0);
            let rotation = r.curve_deg(&h.external_rotation_deg, 0.0).scaled(-1.0);
            for s in sides {
                out.given.push(Given::Hip(s, [flexion.clone(), abduction.clone(), rotation.clone()]));
            }
        }
        "place" => {
            let mut one = |t: &Option<Track>| t.as_ref().map(|t| r.curve(t));
            let position = [one(&h.x_m), one(&h.y_m), one(&h.z_m)];
            let turn = h.lean_deg.is_some().then(|| {
                [
                    r.curve_deg(&h.lean_deg, 0.0),
                    r.curve_deg(&h.side_lean_deg, 0.0),
                    r.curve_deg(&h.turn_deg, 0.0),
                ]
            });
            out.given.push(Given::Place { position, turn });
        }
        "lean" => {
            let value = r.curve_deg(&h.angle_deg, 0.0);
            for s in sides {
                let lean = match of.as_str() {
                    "trunk" => LeanOf::Trunk,
                    "pelvis" => LeanOf::Pelvis,
                    "shank" => LeanOf::Shank(s),
                    "thigh" => LeanOf::Thigh(s),
                    "upper-arm" => LeanOf::UpperArm(s),
                    "forearm" => LeanOf::Forearm(s),
                    _ => {
                        r.problem(of_at, format!("lean of \"{of}\": trunk, pelvis, shank, thigh, upper-arm or forearm"));
                        return;
                    }
                };
                let w = weight(r, 1.0);
                require(Held::Lean { of: lean, value: value.clone() }, w, format!("lean of the {of}"));
                if matches!(lean, LeanOf::Trunk | LeanOf::Pelvis) {
                    break;
                }
            }
        }
        "point" => {
            let mut one = |t: &Option<Track>| t.as_ref().map(|t| r.curve(t));
            let value = [one(&h.x_m), one(&h.y_m), one(&h.z_m)];
            let slope_rad = r.curve_deg(&h.slope_deg, 0.0).at(0.0);
            let frame_name = h.frame.as_ref().map_or("world", |f| f.get_ref().as_str()).to_string();
            for s in sides {
                let Some((on, local_m)) = body_point(&of, s, r.body) else {
                    r.problem(of_at, format!("point of \"{of}\": hand, elbow, knee, ankle, heel, toe, hip, shoulder …"));
                    return;
                };
                let frame = match frame_name.as_str() {
                    "world" => None,
                    n => match segment(n, s) {
                        Some(f) => Some(f),
                        None => {
                            r.problem(at, format!("in \"{n}\": world, thorax, pelvis or another segment"));
                            return;
                        }
                    },
                };
                let v = if s == Side::Left {
                    [value[0].clone(), value[1].clone(), value[2].as_ref().map(|c| c.scaled(-1.0))]
                } else {
                    value.clone()
                };
                let w = weight(r, PLACE_WEIGHT);
                require(Held::Point { on, local_m, frame, slope_rad, value_m: v }, w, format!("place of the {of}"));
            }
        }
        "foot" => {
            let toe_out = r.curve_deg(&h.toe_out_deg, 0.0);
            let pitch = r.curve_deg(&h.pitch_deg, 0.0);
            let x = h.x_m.as_ref().map_or(Curve::constant(0.0), |t| r.curve(t));
            let y = h.y_m.as_ref().map_or(Curve::constant(0.0), |t| r.curve(t));
            let z = h.z_m.as_ref().map_or(Curve::constant(r.body.half_hip_m), |t| r.curve(t));
            let body = r.body;
            for s in sides {
                // x, y: ankle centre ahead of the origin, sole above the floor; z: heel beside the mid-line.
                let n = x.0.len().max(y.0.len()).max(z.0.len()).max(pitch.0.len()).max(toe_out.0.len());
                let mut ankle = [Vec::new(), Vec::new(), Vec::new()];
                for i in 0..n {
                    let ph = if n == 1 { 0.0 } else { i as f64 / (n - 1) as f64 };
                    let p = pitch.at(ph);
                    // Raised heel: the ball stays on the surface, the ankle moves up and forward about it.
                    let (bx, h0) = (body.ball_x_m, body.ankle_height_m);
                    let up = h0 * p.cos() + bx * p.sin();
                    let along = bx - bx * p.cos() + h0 * p.sin();
                    let toe = toe_out.at(ph);
                    ankle[0].push(x.at(ph) + along * toe.cos());
                    ankle[1].push(y.at(ph) + up);
                    ankle[2].push(s.sign() * (z.at(ph) + (-body.heel_x_m + along) * toe.sin()));
                }
                let value_m = ankle.map(|v| Some(Curve(v)));
                let w = weight(r, PLACE_WEIGHT);
                require(
                    Held::Point { on: Segment::Foot(s), local_m: V3::zeros(), frame: None, slope_rad: 0.0, value_m },
                    w,
                    "place of the foot".into(),
                );
                let w = weight(r, 1.0);
                let slope = Curve::constant(0.0);
                let held = Held::Foot { side: s, toe_out: toe_out.clone(), pitch: pitch.clone(), slope };
                require(held, w, "foot flat".into());
            }
        }
        "sole" => {
            let toe_out = r.curve_deg(&h.toe_out_deg, 0.0);
            let pitch = r.curve_deg(&h.pitch_deg, 0.0);
            let slope = r.curve_deg(&h.slope_deg, 0.0);
            for s in sides {
                let w = weight(r, 1.0);
                let (toe_out, pitch, slope) = (toe_out.clone(), pitch.clone(), slope.clone());
                require(Held::Foot { side: s, toe_out, pitch, slope }, w, "sole on its surface".into());
            }
        }
        "balance" => {
            let at_pct = h.at_pct.as_ref().map_or(Curve::constant(48.0), |t| r.curve(t));
            let x = h.x_m.as_ref().map_or(Curve::constant(0.0), |t| r.curve(t));
            let body = r.body;
            let n = at_pct.0.len().max(x.0.len());
            let x_m = Curve(
                (0..n)
                    .map(|i| {
                        let ph = if n == 1 { 0.0 } else { i as f64 / (n - 1) as f64 };
                        x.at(ph) + body.heel_x_m + at_pct.at(ph) / 100.0 * (body.toe_x_m - body.heel_x_m)
                    })
                    .collect(),
            );
            let w = weight(r, PLACE_WEIGHT);
            require(Held::Balance { x_m, extra: extra.to_vec() }, w, "balance over the feet".into());
        }
        "pole" => {
            let direction = [&h.x_m, &h.y_m, &h.z_m].map(|t| t.as_ref().map_or(Curve::constant(0.0), |t| r.curve(t)));
            for s in sides {
                let w = weight(r, 1.0);
                require(Held::Pole { side: s, direction: direction.clone() }, w, "elbow direction".into());
            }
        }
        _ => r.problem(
            at,
            format!("hold \"{what}\": expected angle, shoulder, hip, place, lean, point, foot, sole, balance or pole"),
        ),
    }
}

fn resolve_contact(r: &mut Reader, c: &Contact, out: &mut Vec<ContactPlan>) {
    let name = c.on.get_ref().clone();
    let at = c.on.span().start;
    let sides: Vec<Side> = match (name.as_str(), c.side.as_ref().map(|s| s.get_ref().as_str())) {
        ("thorax" | "pelvis" | "head", _) => vec![Side::Right],
        (_, Some("right")) => vec![Side::Right],
        (_, Some("left")) => vec![Side::Left],
        _ => vec![Side::Right, Side::Left],
    };
    let x = c.x_m.as_ref().map(|f| r.number(f));
    let y = c.y_m.as_ref().map(|f| r.number(f));
    let z = c.z_m.as_ref().map(|f| r.number(f));
    let normal = c.normal.as_ref().map_or(V3::y(), |n| {
        V3::new(r.number(&n[0]), r.number(&n[1]), r.number(&n[2])).try_normalize(1e-9).unwrap_or(V3::y())
    });
    let shear = r.number_or(&c.shear, 0.0);
    let readiness = r.number_or(&c.readiness, 1.0).max(1e-6);
    let body = r.body;
    for s in sides {
        let local = |d: V3| V3::new(x.unwrap_or(d.x), y.unwrap_or(d.y), z.unwrap_or(d.z) * s.sign());
        let point = |n: &str| body_point(n, s, body).map(|(_, v)| v).unwrap_or_default();
        let (on, points_m) = match name.as_str() {
            "feet" | "foot" => (Segment::Foot(s), vec![point("heel"), point("ball")]),
            "balls" => (Segment::Foot(s), vec![local(point("ball"))]),
            "mid-foot" => (Segment::Foot(s), vec![local(point("mid-foot"))]),
            "toes" => (Segment::Foot(s), vec![local(point("toe"))]),
            "heels" => (Segment::Foot(s), vec![local(point("heel"))]),
            "hands" => (Segment::Hand(s), vec![local(grip_local(body))]),
            "knees" => (Segment::Tibia(s), vec![local(V3::new(0.04, -0.04, 0.0))]),
            "shank" => (Segment::Tibia(s), vec![local(V3::new(0.0, -0.9 * body.shank_m, 0.0))]),
            "elbows" => (Segment::Forearm(s), vec![local(V3::zeros())]),
            "thorax" => (Segment::Thorax, vec![local(V3::zeros())]),
            "pelvis" => (Segment::Pelvis, vec![local(V3::zeros())]),
            "thigh" => (Segment::Femur(s), vec![local(V3::zeros())]),
            "head" => (Segment::Head, vec![local(V3::zeros())]),
            _ => {
                r.problem(at, format!("contact on \"{name}\": feet, balls, toes, heels, hands, knees, thorax, pelvis …"));
                return;
            }
        };
        out.push(ContactPlan { id: out.len(), on, points_m, normal, shear, readiness });
    }
}

fn resolve_free(r: &mut Reader, f: &FreeComponent, set: &BTreeSet<String>, out: &mut Vec<FreePlan>) {
    let kind = match f.kind.get_ref().as_str() {
        "side-push" => FreeKind::SidePush,
        "fore-push" => FreeKind::ForePush,
        "pressure" => FreeKind::Pressure,
        "bar-push" => FreeKind::BarPush,
        "axial-hip" => FreeKind::AxialHip,
        "axial-shoulder" => FreeKind::AxialShoulder,
        "trunk-stop" => FreeKind::TrunkStop,
        w => {
            r.problem(f.kind.span().start, format!("free \"{w}\": side-push, fore-push, pressure, bar-push, axial-hip …"));
            return;
        }
    };
    // Half widths: definitions of the contact rules (own studies of contact freedom; see docs/model.md).
    let default = match kind {
        FreeKind::SidePush | FreeKind::ForePush => 0.15,
        FreeKind::BarPush => 0.3,
        FreeKind::Pressure => 0.025,
        FreeKind::AxialHip | FreeKind::AxialShoulder => 0.035,
        FreeKind::TrunkStop => 400.0,
    };
    let usual = r.number_or(&f.usual, 0.0);
    let fixed = f.setting.as_ref().is_some_and(|s| set.contains(s));
    let half = if fixed { 0.0 } else { r.number_or(&f.span, default) };
    out.push(FreePlan { kind, usual, half });
}

impl Plan {
    /// Load for which balance is found, kg; `None` where balance does not depend on the load.
    pub fn balance_load_kg(&self) -> Option<f64> {
        let balances =
            self.problem.required.iter().any(|q| matches!(&q.held, Held::Balance { extra, .. } if !extra.is_empty()));
        (balances && self.nominal_kg > 0.0 && !self.load.body_weight).then_some(self.nominal_kg)
    }

    /// Find balance for another load, kg.
    pub fn set_balance_load_kg(&mut self, load_kg: f64) {
        let loads = &self.loads;
        for q in &mut self.problem.required {
            if let Held::Balance { extra, .. } = &mut q.held {
                let carried = loads.iter().filter(|l| matches!(l.line, Line::Down));
                for (e, l) in extra.iter_mut().zip(carried) {
                    e.2 = load_kg * l.share + l.constant_n / GRAVITY_M_S2;
                }
            }
        }
        self.nominal_kg = load_kg;
    }

    /// Solve `frames` postures over the lift and attach loads, contacts and free components.
    pub fn rep(&self, body: &Body, frames: usize, memory: &mut SolverMemory) -> Rep {
        let n = frames.max(2);
        let mut posture = standing(body);
        let mut out: Vec<RepFrame> = Vec::with_capacity(n);
        for i in 0..n {
            let phase = i as f64 / (n - 1) as f64;
            let phase = if self.begin_at_turn { 1.0 - phase } else { phase };
            let (figure, fit) = self.problem.solve(body, phase, &mut posture, memory);
            out.push(RepFrame {
                phase,
                posture,
                figure,
                forces: Vec::new(),
                carriers: Vec::new(),
                free: Vec::new(),
                miss_m: fit.miss_m,
                miss_rad: fit.miss_rad,
            });
        }
        if (self.lift == Lift::FromTurn) != self.begin_at_turn {
            out.reverse();
        }
        let band = self.band_lengths(&out);
        for (i, f) in out.iter_mut().enumerate() {
            let u = i as f64 / (n - 1) as f64;
            self.attach(f, u, body, &band);
        }
        let (from, to) = match self.lift {
            Lift::FromTurn => (1, 0),
            Lift::ToTurn => (0, 1),
        };
        Rep {
            movement: self.movement.clone(),
            frames: out,
            symmetric: self.problem.symmetric,
            lift_s: self.lift_s,
            balanced: self.balanced.clone(),
            load: self.load.clone(),
            from_word: self.words[from].clone(),
            to_word: self.words[to].clone(),
            notes: self.notes.clone(),
        }
    }

    /// Shortest and longest length of each band over the rep, m.
    fn band_lengths(&self, frames: &[RepFrame]) -> Vec<(f64, f64)> {
        self.loads
            .iter()
            .map(|l| match &l.line {
                Line::Band(to, _) => frames.iter().fold((f64::INFINITY, 0.0f64), |(lo, hi), f| {
                    let d = (to - f.figure.at(l.on, &l.local_m)).norm();
                    (lo.min(d), hi.max(d))
                }),
                _ => (0.0, 0.0),
            })
            .collect()
    }

    fn attach(&self, f: &mut RepFrame, u: f64, body: &Body, band: &[(f64, f64)]) {
        let fig = f.figure.clone();
        for (l, (shortest, longest)) in self.loads.iter().zip(band) {
            let at_m = fig.at(l.on, &l.local_m);
            let unit = |v: V3| v.try_normalize(1e-9).unwrap_or(-V3::y());
            let (direction, scale) = match &l.line {
                Line::Down => (-V3::y(), 1.0),
                Line::Towards(to) => (unit(to - at_m), 1.0),
                Line::Band(to, _) => {
                    // Rest length a fifth below the shortest length of the rep: the band is never slack (own estimate).
                    let rest = 0.8 * shortest;
                    let d = to - at_m;
                    (unit(d), ((d.norm() - rest) / (longest - rest).max(1e-6)).max(0.0))
                }
                Line::InSegment(d) => (fig.pose(l.on).turn(d), 1.0),
                Line::World(d) => (*d, 1.0),
            };
            let per_load = direction * (GRAVITY_M_S2 * l.share * scale * l.cam.at(u));
            f.forces.push(AppliedForce {
                on: l.on,
                at_m,
                constant_n: direction * l.constant_n,
                per_load_n: per_load,
                mass_per_load_kg: if matches!(l.line, Line::Down) { l.share } else { 0.0 },
            });
        }
        for c in &self.contacts {
            let fore = {
                let x = match c.on {
                    Segment::Foot(_) => fig.pose(c.on).turn(&V3::x()),
                    _ => V3::x(),
                };
                (x - c.normal * x.dot(&c.normal)).try_normalize(1e-6).unwrap_or(V3::x())
            };
            let side = c.normal.cross(&fore);
            for p in &c.points_m {
                let at_m = fig.at(c.on, p);
                let mut add = |direction: V3, push_only: bool, reluctance: f64| {
                    f.carriers.push(Carrier { contact: c.id, on: c.on, at_m, direction, push_only, reluctance });
                };
                add(c.normal, true, 1.0 / c.readiness);
                if c.shear > 0.0 {
                    add(fore, false, 1.0 / (c.shear * c.readiness));
                    add(side, false, 1.0 / (c.shear * c.readiness));
                }
            }
        }
        for free in &self.frees {
            self.attach_free(free, f, &fig, body);
        }
    }

    /// Force of the load on a segment, N constant and per unit load, for bounds of free components.
    fn load_on(&self, f: &RepFrame, s: Segment) -> (f64, f64) {
        let on = |g: &&AppliedForce| g.on == s;
        f.forces
            .iter()
            .filter(on)
            .fold((0.0, 0.0), |(c, p), g| (c + g.constant_n.norm(), p + g.per_load_n.norm()))
    }

    fn attach_free(&self, free: &FreePlan, f: &mut RepFrame, fig: &Figure, body: &Body) {
        let zero = V3::zeros();
        let foot = |s: Side| self.contacts.iter().find(|c| c.on == Segment::Foot(s));
        let hand_contact = self.contacts.iter().find(|c| c.on == Segment::Hand(Side::Right)).map(|c| c.id);
        let mid_foot = |s: Side, body: &Body| {
            let (seg, v) = body_point("mid-foot", s, body).unwrap_or((Segment::Foot(s), V3::zeros()));
            fig.at(seg, &v)
        };
        let (usual, half) = (free.usual, free.half);
        // A foot on the floor is bounded by its normal force, a foot on a sled by the load it pushes.
        let foot_span = |usual: f64, f: &RepFrame| match foot(Side::Right) {
            Some(c) => Some(FreeSpan::OfNormal { contact: c.id, usual, half }),
            None => {
                let (constant_n, per_load_n) = self.load_on(f, Segment::Foot(Side::Right));
                (per_load_n > 0.0).then_some(FreeSpan::OfLoad { usual, half, constant_n, per_load_n })
            }
        };
        let sole_up = |s: Side| foot(s).map_or_else(|| fig.pose(Segment::Foot(s)).turn(&V3::y()), |c| c.normal);
        match free.kind {
            FreeKind::SidePush => {
                let Some(span) = foot_span(usual, f) else { return };
                let (r, l) = (Segment::Foot(Side::Right), Segment::Foot(Side::Left));
                f.free.push(Free {
                    tag: "feet push apart",
                    action: FreeAction::Wrenches(vec![
                        (r, mid_foot(Side::Right, body), -V3::z(), zero),
                        (l, mid_foot(Side::Left, body), V3::z(), zero),
                    ]),
                    span,
                    cost: 1e-4,
                    rebalance: false,
                    contact_choice: true,
                });
            }
            FreeKind::ForePush => {
                let Some(span) = foot_span(usual, f) else { return };
                let fore = |s: Side| {
                    let x = fig.pose(Segment::Foot(s)).turn(&V3::x());
                    let n = sole_up(s);
                    (x - n * x.dot(&n)).try_normalize(1e-6).unwrap_or(V3::x())
                };
                let mut w = vec![(Segment::Foot(Side::Right), mid_foot(Side::Right, body), fore(Side::Right), zero)];
                if self.problem.symmetric {
                    w.push((Segment::Foot(Side::Left), mid_foot(Side::Left, body), fore(Side::Left), zero));
                }
                f.free.push(Free {
                    tag: "feet push along the floor",
                    action: FreeAction::Wrenches(w),
                    span,
                    cost: 1e-4,
                    rebalance: true,
                    contact_choice: true,
                });
            }
            FreeKind::Pressure => {
                let Some(span) = foot_span(0.0, f) else { return };
                // Moment about the foot's long direction in the surface it stands on.
                let along = |s: Side| {
                    let x = fig.pose(Segment::Foot(s)).turn(&V3::x());
                    let n = sole_up(s);
                    (x - n * x.dot(&n)).try_normalize(1e-6).unwrap_or(V3::x())
                };
                let mut w = vec![(Segment::Foot(Side::Right), zero, zero, along(Side::Right))];
                if self.problem.symmetric {
                    w.push((Segment::Foot(Side::Left), zero, zero, -along(Side::Left)));
                }
                f.free.push(Free {
                    tag: "pressure moves across the foot",
                    action: FreeAction::Wrenches(w),
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::BarPush => {
                let g = grip_local(body);
                let (r, l) = (Segment::Hand(Side::Right), Segment::Hand(Side::Left));
                let span = match hand_contact {
                    Some(contact) => FreeSpan::OfNormal { contact, usual, half },
                    None => {
                        let (constant_n, per_load_n) = self.load_on(f, Segment::Hand(Side::Right));
                        FreeSpan::OfLoad { usual, half, constant_n, per_load_n }
                    }
                };
                f.free.push(Free {
                    tag: "hands push along the bar",
                    action: FreeAction::Wrenches(vec![
                        (r, fig.at(r, &g), -V3::z(), zero),
                        (l, fig.at(l, &g), V3::z(), zero),
                    ]),
                    span,
                    cost: 1e-4,
                    rebalance: false,
                    contact_choice: true,
                });
            }
            FreeKind::AxialHip => {
                let Some(span) = foot_span(0.0, f) else { return };
                f.free.push(Free {
                    tag: "slack about the thigh's axis",
                    action: FreeAction::JointTorque {
                        joint: Joint::Hip,
                        side: Side::Right,
                        axis: fig.pose(Segment::Femur(Side::Right)).turn(&V3::y()),
                    },
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::AxialShoulder => {
                let span = match hand_contact {
                    Some(contact) => FreeSpan::OfNormal { contact, usual: 0.0, half },
                    None => {
                        let (constant_n, per_load_n) = self.load_on(f, Segment::Hand(Side::Right));
                        FreeSpan::OfLoad { usual: 0.0, half, constant_n, per_load_n }
                    }
                };
                f.free.push(Free {
                    tag: "slack about the upper arm's axis",
                    action: FreeAction::JointTorque {
                        joint: Joint::Shoulder,
                        side: Side::Right,
                        axis: fig.pose(Segment::Humerus(Side::Right)).turn(&V3::y()),
                    },
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::TrunkStop => {
                // The trunk can push outward on an arm that hangs beside it.
                let t = fig.pose(Segment::Thorax);
                let e = t.rotation.transpose() * (fig.pose(Segment::Forearm(Side::Right)).origin_m - t.origin_m);
                let k = body.stature_m / 1.75;
                let (_, elevation, _) = shoulder_angles(&f.posture.right.shoulder);
                let near = ((0.30 * k - e.z) / (0.05 * k)).clamp(0.0, 1.0)
                    * ((-0.10 * k - e.y) / (0.05 * k)).clamp(0.0, 1.0)
                    * ((0.20 * k - (e.x + 0.06 * k).abs()) / (0.05 * k)).clamp(0.0, 1.0)
                    * ((rad(60.0) - elevation) / rad(10.0)).clamp(0.0, 1.0);
                let seg = Segment::Humerus(Side::Right);
                let x = fig.at(seg, &V3::new(0.0, -0.6 * body.upper_arm_m, 0.0));
                f.free.push(Free {
                    tag: "trunk holds the arm",
                    action: FreeAction::Wrenches(vec![(seg, x, t.turn(&V3::z()), zero)]),
                    span: FreeSpan::Absolute { low: 0.0, high: half * near },
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
        }
    }
}
