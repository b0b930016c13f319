//! Formulas of a family file evaluated and its parts resolved: loads, holds, contacts, free components.

use super::*;

/// Collects problems with their places while formulas are evaluated.
pub(super) struct Reader<'a> {
    pub(super) family: &'a Family,
    pub(super) scope: Scope<'a>,
    pub(super) body: &'a Body,
    pub(super) problems: Vec<Problem>,
}

/// Keys of an expression that runs over the rep: as many as a rep usually has frames.
const ALONG_KEYS: usize = 21;

impl Reader<'_> {
    pub(super) fn problem(&mut self, at: usize, text: String) {
        let (line, column) = line_column(&self.family.text, at);
        let p = Problem { file: self.family.path.clone(), line, column, text };
        if !self.problems.contains(&p) {
            self.problems.push(p);
        }
    }
    pub(super) fn item(&mut self, f: &Placed) -> Option<Item> {
        self.item_at(f.get_ref(), f.span().start)
    }
    pub(super) fn item_at(&mut self, f: &Formula, at: usize) -> Option<Item> {
        match self.scope.value(&f.text()) {
            Ok(v) => Some(v),
            Err(e) => {
                self.problem(at, format!("\"{}\": {e}", f.text()));
                None
            }
        }
    }
    pub(super) fn number(&mut self, f: &Placed) -> f64 {
        self.number_at(f.get_ref(), f.span().start)
    }
    pub(super) fn number_at(&mut self, f: &Formula, at: usize) -> f64 {
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
    /// An expression of the phase at one of its keys; a problem is told once, not at every key.
    fn number_along(&mut self, f: &Formula, at: usize, key: usize) -> f64 {
        self.scope.set_phase(Some(key as f64 / (ALONG_KEYS - 1) as f64));
        let before = self.problems.len();
        let v = self.number_at(f, at);
        self.scope.set_phase(None);
        if key > 0 {
            self.problems.truncate(before);
        }
        v
    }
    pub(super) fn number_or(&mut self, f: &Option<Placed>, default: f64) -> f64 {
        f.as_ref().map_or(default, |f| self.number(f))
    }
    pub(super) fn word(&mut self, f: &Placed) -> String {
        match self.item(f) {
            Some(Item::Word(w)) => w,
            // A bare word in a formula place reads as an unknown name; here it is the word itself.
            Some(Item::Number(n)) => n.to_string(),
            None => String::new(),
        }
    }
    pub(super) fn holds(&mut self, when: &Option<Placed>) -> bool {
        when.as_ref().is_none_or(|f| self.number(f) != 0.0)
    }
    pub(super) fn curve(&mut self, t: &Track) -> Curve {
        let at = t.span().start;
        match t.get_ref() {
            TrackValue::Plain(f) => Curve(vec![self.number_at(f, at)]),
            TrackValue::Ends { start, turn } => Curve(vec![self.number_at(start, at), self.number_at(turn, at)]),
            TrackValue::Keys { keys } if !keys.is_empty() => {
                Curve(keys.iter().map(|k| self.number_at(k, at)).collect())
            }
            TrackValue::Keys { .. } => Curve(vec![0.0]),
            TrackValue::Along { along } => Curve((0..ALONG_KEYS).map(|i| self.number_along(along, at, i)).collect()),
        }
    }
    pub(super) fn curve_deg(&mut self, t: &Option<Track>, default: f64) -> Curve {
        match t {
            Some(t) => {
                let c = self.curve(t);
                Curve(c.0.iter().map(|v| rad(*v)).collect())
            }
            None => Curve::constant(rad(default)),
        }
    }
    pub(super) fn sides(&mut self, s: &Option<Spanned<String>>, symmetric: bool) -> Vec<Side> {
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

pub(super) fn load_unit(kinds: &BTreeSet<&str>, loads: &[LoadPlan], body_weight: bool) -> String {
    if body_weight {
        return "x body weight".into();
    }
    let loads: Vec<&LoadPlan> = loads.iter().filter(|l| l.share != 0.0).collect();
    let hands = loads.iter().filter(|l| matches!(l.on, Segment::Hand(_))).count();
    let each = hands > 1 && loads.iter().all(|l| (l.share - 1.0).abs() < 1e-9);
    let each_limb = loads.len() > 1 && !each && loads.iter().all(|l| (l.share - 1.0).abs() < 1e-9);
    match () {
        _ if each => "kg in each hand".into(),
        _ if each_limb => "kg a side".into(),
        _ if kinds.contains("pad") => "kg at the pad".into(),
        _ if kinds.contains("rail") || kinds.contains("lever") => "kg along its path".into(),
        _ if kinds.contains("hinged-weight") => "kg at the end of the lever".into(),
        _ if kinds.contains("cable") && hands > 0 => "kg on the cable".into(),
        _ if kinds.contains("cable") => "kg on the cable".into(),
        _ if kinds.contains("band") => "kg of band pull at full stretch".into(),
        _ => "kg".into(),
    }
}

pub(super) fn resolve_load(r: &mut Reader, l: &Load, out: &mut Vec<LoadPlan>) {
    let kind = l.kind.get_ref().as_str();
    if kind == "body" {
        return;
    }
    let Some(on) = &l.on else {
        r.problem(l.kind.span().start, format!("load of kind {kind} needs `on`: hands, thorax, pelvis, shank …"));
        return;
    };
    let name = on.get_ref().as_str();
    let both =
        matches!(name, "hands" | "each-hand" | "feet" | "each-foot" | "thighs" | "shanks" | "forearms" | "upper-arms");
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
        "band" if l.to.as_ref().is_some_and(|t| t.get_ref() == "other-hand") => {
            if name != "each-hand" {
                r.problem(on.span().start, "a band to the other hand needs on = \"each-hand\"".into());
                return;
            }
            Line::BandTo(Segment::Hand(Side::Left), grip_local(r.body))
        }
        "hinged-weight" if l.dir.is_none() => {
            Line::Hinge(V3::new(r.number_or(&l.to_x_m, 0.0), r.number_or(&l.to_y_m, 0.0), r.number_or(&l.to_z_m, 0.0)))
        }
        "cable" | "band" => {
            if let Some(t) = &l.to {
                r.problem(t.span().start, format!("to \"{}\": expected other-hand, of a band", t.get_ref()));
                return;
            }
            let to = V3::new(r.number_or(&l.to_x_m, 0.0), r.number_or(&l.to_y_m, 0.0), r.number_or(&l.to_z_m, 0.0));
            if kind == "cable" { Line::Towards(to) } else { Line::Band(to, 0.0) }
        }
        "pad" | "rail" | "lever" | "hinged-weight" => match l.dir.as_ref().and_then(|d| vector(r, d)) {
            Some(v) if kind == "pad" => Line::InSegment(v),
            Some(v) if kind == "rail" => Line::World(v),
            Some(axis) => {
                let to = V3::new(r.number_or(&l.to_x_m, 0.0), r.number_or(&l.to_y_m, 0.0), r.number_or(&l.to_z_m, 0.0));
                Line::Lever { pivot_m: to, axis, weighs: kind == "hinged-weight" }
            }
            None => {
                r.problem(l.kind.span().start, format!("load of kind {kind} needs `dir` = [x, y, z], not all zero"));
                return;
            }
        },
        _ => {
            r.problem(
                l.kind.span().start,
                format!("load kind \"{kind}\": expected weight, cable, band, pad, rail, lever, hinged-weight or body"),
            );
            return;
        }
    };
    let cam = match l.cam.as_ref().map(|c| r.word(c)).as_deref() {
        None | Some("constant" | "") => Cam::Constant,
        Some("bell") => Cam::Bell,
        Some("rising") => Cam::Rising,
        Some("falling") => Cam::Falling,
        Some("runs-out") => Cam::RunsOut,
        Some("stroke") => Cam::Stroke,
        Some(w) => {
            r.problem(
                l.kind.span().start,
                format!("cam \"{w}\": expected constant, bell, rising, falling, runs-out or stroke"),
            );
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
            Line::Hinge(to) if each || both && name != "hands" => Line::Hinge(mirror(to)),
            Line::BandTo(_, local) if *s == Side::Left => {
                Line::BandTo(Segment::Hand(Side::Right), V3::new(local.x, local.y, -local.z))
            }
            other => other.clone(),
        };
        let part = if both && !each { share * 0.5 } else { share };
        let constant_n = if both && !each { constant_n * 0.5 } else { constant_n };
        let one_handle = name == "hands";
        out.push(LoadPlan { on: seg, local_m: mirror(&local_m), share: part, line, cam, constant_n, one_handle });
    }
}

pub(super) fn resolve_hold(
    r: &mut Reader,
    h: &Hold,
    symmetric: bool,
    solved: &[(String, Vec<Side>)],
    (extra, pulls): (&[(Segment, V3, f64)], &[Pull]),
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
                if is_solved(joint.id(), s) && joint != Joint::Ankle || joint == Joint::Ankle && is_solved("ankle", s) {
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
                [r.curve_deg(&h.lean_deg, 0.0), r.curve_deg(&h.side_lean_deg, 0.0), r.curve_deg(&h.turn_deg, 0.0)]
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
                        r.problem(
                            of_at,
                            format!("lean of \"{of}\": trunk, pelvis, shank, thigh, upper-arm or forearm"),
                        );
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
                    r.problem(
                        of_at,
                        format!("point of \"{of}\": hand, elbow, knee, ankle, heel, toe, hip, shoulder …"),
                    );
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
            require(
                Held::Balance { x_m, extra: extra.to_vec(), pulls: pulls.to_vec() },
                w,
                "balance over the feet".into(),
            );
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

pub(super) fn resolve_contact(r: &mut Reader, c: &Contact, out: &mut Vec<ContactPlan>) {
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
    let normal = match &c.normal {
        Some([x, y, z]) => [r.curve(x), r.curve(y), r.curve(z)],
        None => [0.0, 1.0, 0.0].map(Curve::constant),
    };
    let shear = r.number_or(&c.shear, 0.0);
    let readiness = match &c.readiness {
        Some(t) => Curve(r.curve(t).0.iter().map(|v| v.max(0.0)).collect()),
        None => Curve::constant(1.0),
    };
    // Rubber on rubber or iron: definitions of the contact rules (from memory, order of magnitude).
    let friction = r.number_or(&c.friction, 0.6).max(0.0);
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
                r.problem(
                    at,
                    format!("contact on \"{name}\": feet, balls, toes, heels, hands, knees, thorax, pelvis …"),
                );
                return;
            }
        };
        let (normal, readiness) = (normal.clone(), readiness.clone());
        out.push(ContactPlan { id: out.len(), on, points_m, normal, shear, readiness, friction });
    }
}

pub(super) fn resolve_free(r: &mut Reader, f: &FreeComponent, set: &BTreeSet<String>, out: &mut Vec<FreePlan>) {
    let kind = match f.kind.get_ref().as_str() {
        "side-push" => FreeKind::SidePush,
        "fore-push" => FreeKind::ForePush,
        "pressure" => FreeKind::Pressure,
        "twist" => FreeKind::Twist,
        "bar-push" => FreeKind::BarPush,
        "axial-hip" => FreeKind::AxialHip,
        "axial-shoulder" => FreeKind::AxialShoulder,
        "trunk-stop" => FreeKind::TrunkStop,
        "seat-push" => FreeKind::SeatPush,
        w => {
            r.problem(
                f.kind.span().start,
                format!("free \"{w}\": side-push, fore-push, pressure, twist, bar-push, axial-hip, seat-push …"),
            );
            return;
        }
    };
    // Half widths: definitions of the contact rules (own studies of contact freedom; see docs/model.md).
    let default = match kind {
        FreeKind::SidePush | FreeKind::ForePush => 0.15,
        FreeKind::BarPush => 0.3,
        FreeKind::Pressure => 0.025,
        // Friction 0.6 under an evenly pressed sole holds 0.6 × a quarter of its length, 0.039 m: half of that (own estimate).
        FreeKind::Twist => 0.02,
        FreeKind::AxialHip | FreeKind::AxialShoulder => 0.035,
        FreeKind::TrunkStop => 400.0,
        // A seat carries a thigh and all that hangs on it: a fifth of a heavy body (own estimate), N.
        FreeKind::SeatPush => 250.0,
    };
    let usual = r.number_or(&f.usual, 0.0);
    let fixed = f.setting.as_ref().is_some_and(|s| set.contains(s));
    let half = if fixed { 0.0 } else { r.number_or(&f.span, default) };
    out.push(FreePlan { kind, usual, half });
}
