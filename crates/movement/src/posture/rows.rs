//! Requirements as rows: how far one is missed, and how fast each coordinate changes that.

use super::*;

/// Horizontal part of the direction of the toes.
fn toes(side: Side, f: &Figure) -> V3 {
    let t = f.pose(Segment::Foot(side)).rotation * V3::x();
    V3::new(t.x, 0.0, t.z)
}

/// Direction whose lean is held, and the horizontal direction it is measured in.
fn lean_axes(of: LeanOf, f: &Figure) -> (Segment, V3, V3) {
    let (seg, sign) = match of {
        LeanOf::Trunk => (Segment::Thorax, 1.0),
        LeanOf::Pelvis => (Segment::Pelvis, 1.0),
        LeanOf::Shank(s) => (Segment::Tibia(s), 1.0),
        LeanOf::Thigh(s) => (Segment::Femur(s), 1.0),
        LeanOf::UpperArm(s) => (Segment::Humerus(s), -1.0),
        LeanOf::Forearm(s) => (Segment::Forearm(s), -1.0),
    };
    let u = f.pose(seg).rotation * V3::new(0.0, sign, 0.0);
    let h = match of {
        LeanOf::Shank(s) => toes(s, f).try_normalize(1e-6).unwrap_or(V3::x()),
        _ => V3::x(),
    };
    (seg, u, h)
}

/// Lean of a segment from the vertical, forward positive, rad (upper arm and forearm: from hanging).
pub fn lean_rad(of: LeanOf, f: &Figure) -> f64 {
    let (_, u, h) = lean_axes(of, f);
    let v = if matches!(of, LeanOf::UpperArm(_) | LeanOf::Forearm(_)) { -V3::y() } else { V3::y() };
    u.dot(&h).atan2(u.dot(&v))
}

/// Target orientation of a right (or mirrored left) foot.
fn foot_target(toe_out: f64, pitch: f64, slope: f64) -> M3 {
    rot_z(slope) * rot_y(-toe_out) * rot_z(-pitch)
}

impl PostureProblem {
    pub(super) fn angle_row(&self, a: Angle, f: &Figure, p: &Posture, motions: &[Motion], row: &mut [f64]) {
        row.fill(0.0);
        for (i, d) in self.dofs[..motions.len()].iter().enumerate() {
            row[i] = match (a, *d) {
                (Angle::Knee(s), Dof::Knee(t)) if s == t => 1.0,
                (Angle::TibiaRotation(s), Dof::TibiaRotation(t)) if s == t => 1.0,
                (Angle::AnklePlantarflexion(s), Dof::AnklePlantarflexion(t)) if s == t => 1.0,
                (Angle::AnkleInversion(s), Dof::AnkleInversion(t)) if s == t => 1.0,
                (Angle::Elbow(s), Dof::Elbow(t)) if s == t => 1.0,
                (Angle::Forearm(s), Dof::Forearm(t)) if s == t => 1.0,
                (Angle::GirdleElevation(s), Dof::GirdleElevation(t)) if s == t => 1.0,
                (Angle::GirdleProtraction(s), Dof::GirdleProtraction(t)) if s == t => 1.0,
                (Angle::HipFlexion(s) | Angle::HipAbduction(s) | Angle::HipInternalRotation(s), Dof::Hip(t, _))
                    if s == t =>
                {
                    ball_derivative(a, *d, f, p)
                }
                (Angle::HipFlexion(_) | Angle::HipAbduction(_) | Angle::HipInternalRotation(_), Dof::RootTurn(_)) => {
                    0.0
                }
                (
                    Angle::ShoulderPlane(s) | Angle::ShoulderElevation(s) | Angle::ShoulderInternalRotation(s),
                    Dof::Shoulder(t, _),
                ) if s == t => ball_derivative(a, *d, f, p),
                (Angle::LumbarFlexion | Angle::LumbarSideBend | Angle::LumbarRotation, Dof::Lumbar(_)) => {
                    ball_derivative(a, *d, f, p)
                }
                _ => 0.0,
            };
        }
    }

    pub(super) fn rows(
        &self,
        held: &Held,
        body: &Body,
        phase: f64,
        f: &Figure,
        p: &Posture,
        motions: &[Motion],
        way: Way,
        row: &mut [f64],
        emit: &mut dyn FnMut(&[f64], f64),
    ) {
        match held {
            Held::Point { on, local_m, frame, slope_rad, value_m } => {
                let x = f.at(*on, local_m);
                let (rt, o) = match frame {
                    None => (M3::identity(), V3::zeros()),
                    Some(s) => (f.pose(*s).rotation.transpose(), f.pose(*s).origin_m),
                };
                let rt = rot_z(-slope_rad) * rt;
                let y = rt * (x - o);
                for k in 0..3 {
                    let Some(c) = &value_m[k] else { continue };
                    for (i, m) in motions.iter().enumerate() {
                        // A frame that goes along takes the point with it.
                        let v = m.at(*on, &x) - frame.map_or(V3::zeros(), |s| m.at(s, &x));
                        row[i] = rt.row(k).dot(&v.transpose());
                    }
                    emit(row, y[k] - c.at(phase));
                }
            }
            Held::Lean { of, value } => {
                let (seg, u, h) = lean_axes(*of, f);
                let arm = matches!(of, LeanOf::UpperArm(_) | LeanOf::Forearm(_));
                let v = if arm { -V3::y() } else { V3::y() };
                let (a, b) = (u.dot(&h), u.dot(&v));
                let s2 = (a * a + b * b).max(1e-9);
                for (i, m) in motions.iter().enumerate() {
                    let du = m.turning(seg).cross(&u);
                    // The direction that a shank's lean is measured in turns with the foot.
                    let dh = match of {
                        LeanOf::Shank(s) => {
                            let t = f.pose(Segment::Foot(*s)).rotation * V3::x();
                            let dt = m.turning(Segment::Foot(*s)).cross(&t);
                            let dt = V3::new(dt.x, 0.0, dt.z);
                            (dt - h * h.dot(&dt)) / toes(*s, f).norm().max(1e-6)
                        }
                        _ => V3::zeros(),
                    };
                    row[i] = ((du.dot(&h) + u.dot(&dh)) * b - du.dot(&v) * a) / s2;
                }
                emit(row, wrap(a.atan2(b) - value.at(phase)));
            }
            Held::Foot { side, toe_out, pitch, slope } => {
                let seg = Segment::Foot(*side);
                let t = foot_target(toe_out.at(phase), pitch.at(phase), slope.at(phase));
                let t = if *side == Side::Left { units::mirror_rotation(&t) } else { t };
                let e = units::log_rotation(&(f.pose(seg).rotation * t.transpose()));
                for k in 0..3 {
                    for (i, m) in motions.iter().enumerate() {
                        row[i] = log_rate(&e, &m.turning(seg))[k];
                    }
                    emit(row, e[k]);
                }
            }
            Held::Angle { of, value } => {
                self.angle_row(*of, f, p, motions, row);
                emit(row, wrap(of.read(p) - value.at(phase)));
            }
            Held::Balance { x_m, extra, pulls } => {
                let mut mass = 0.0;
                let mut moment = 0.0;
                for s in Segment::ALL {
                    let i = &body.inertia[s.index()];
                    mass += i.mass_kg;
                    moment += i.mass_kg * f.at(s, &i.com_m).x;
                }
                for (s, x, kg) in extra {
                    mass += kg;
                    moment += kg * f.at(*s, x).x;
                }
                // A force (fx, fy) at (x, y) tips about the floor like fx y − fy x.
                for q in pulls {
                    let x = f.at(q.on, &q.local_m);
                    let force = q.line.at(&x) * q.kg;
                    mass -= force.y;
                    moment += force.x * x.y - force.y * x.x;
                }
                let at_x_m = moment / mass;
                for (i, m) in motions.iter().enumerate() {
                    let mut d = 0.0;
                    for s in Segment::ALL {
                        let q = &body.inertia[s.index()];
                        if m.moves(s) && q.mass_kg > 0.0 {
                            d += q.mass_kg * m.at(s, &f.at(s, &q.com_m)).x;
                        }
                    }
                    for (s, x, kg) in extra {
                        // Loads on both hands are listed once a side.
                        d += kg * m.at(*s, &f.at(*s, x)).x;
                    }
                    for q in pulls.iter().filter(|q| m.moves(q.on)) {
                        let x = f.at(q.on, &q.local_m);
                        let v = m.at(q.on, &x);
                        let force = q.line.at(&x) * q.kg;
                        let line = |h: f64| q.line.at(&(x + v * h));
                        let turned = match way {
                            Way::Coarse => V3::zeros(),
                            Way::Whole => (line(NUDGE) - line(-NUDGE)) * (q.kg / (2.0 * NUDGE)),
                        };
                        d += turned.x * x.y + force.x * v.y - turned.y * (x.x - at_x_m) - force.y * v.x;
                    }
                    row[i] = if m.twin { 2.0 * d } else { d } / mass;
                }
                emit(row, at_x_m - x_m.at(phase));
            }
            Held::Pole { side, direction } => {
                let points = Pole::of(*side, direction, phase, f);
                let (swivel, radius) = points.swivel();
                let whole = way == Way::Whole && points.is_plain() && swivel.abs() < POLE_NEAR;
                let arm = [Segment::Humerus(*side), Segment::Forearm(*side), Segment::Hand(*side)];
                for (i, m) in motions.iter().enumerate() {
                    if !m.moves(arm[2]) || m.moves(Segment::Thorax) {
                        row[i] = 0.0;
                        continue;
                    }
                    let swung = |h: f64| {
                        let elbow = points.elbow + (m.at(arm[1], &points.elbow) - m.at(arm[0], &points.shoulder)) * h;
                        Pole { elbow, ..points }.swivel()
                    };
                    let nudged = |h: f64| {
                        let shoulder = points.shoulder + m.at(arm[0], &points.shoulder) * h;
                        let elbow = points.elbow + m.at(arm[1], &points.elbow) * h;
                        let wrist = points.wrist + m.at(arm[2], &points.wrist) * h;
                        Pole { shoulder, elbow, wrist, ..points }.swivel()
                    };
                    // Far on the wrong side the elbow is to swing over, not to be straightened, nor the hand to be moved.
                    let ((a, r), (b, q)) =
                        if whole { (nudged(NUDGE), nudged(-NUDGE)) } else { (swung(NUDGE), swung(-NUDGE)) };
                    let straightened = if whole { (r - q) * swivel } else { 0.0 };
                    row[i] = (wrap(a - b) * radius + straightened) / (2.0 * NUDGE);
                }
                emit(row, swivel * radius);
            }
        }
    }
}

/// What says on which side of the line shoulder–hand an elbow lies.
#[derive(Clone, Copy)]
pub(super) struct Pole {
    shoulder: V3,
    elbow: V3,
    wrist: V3,
    direction: V3,
}

impl Pole {
    pub(super) fn of(side: Side, direction: &[Curve; 3], phase: f64, f: &Figure) -> Pole {
        let d = V3::new(direction[0].at(phase), direction[1].at(phase), direction[2].at(phase) * side.sign());
        Pole {
            shoulder: f.pose(Segment::Humerus(side)).origin_m,
            elbow: f.pose(Segment::Forearm(side)).origin_m,
            wrist: f.pose(Segment::Hand(side)).origin_m,
            direction: f.pose(Segment::Thorax).rotation * d,
        }
    }

    /// Angle by which the elbow is off, rad, and the line it swings about. `hinge` is the axis of flexion: a straight arm
    /// is judged by the side to which it would bend.
    pub(super) fn swing_to(self, hinge: &V3) -> (f64, V3) {
        let bent = self.elbow - hinge.cross(&(self.wrist - self.elbow)) * 0.5;
        let line = (self.wrist - self.shoulder).try_normalize(1e-9).unwrap_or(V3::x());
        (Pole { elbow: bent, ..self }.swivel().0, line)
    }

    /// The side is clear: the direction does not run along the line shoulder–hand, and the elbow is bent.
    fn is_plain(&self) -> bool {
        let k = (self.wrist - self.shoulder).try_normalize(1e-9).unwrap_or(V3::x());
        k.cross(&self.direction).norm() > 0.3 * self.direction.norm() && self.swivel().1 > 0.02
    }

    /// Swivel of the elbow about the line shoulder–hand, rad, and its distance from that line, m. Their product is what is
    /// held: nothing where the arm is straight, no false zero on the wrong side.
    fn swivel(&self) -> (f64, f64) {
        let k = (self.wrist - self.shoulder).try_normalize(1e-9).unwrap_or(V3::x());
        let q = (self.direction - k * self.direction.dot(&k)).try_normalize(1e-9).unwrap_or(V3::y());
        let b = k.cross(&q);
        let e = self.elbow - self.shoulder;
        let (eb, eq) = (e.dot(&b), e.dot(&q));
        (eb.atan2(eq), (eb * eb + eq * eq).max(1e-8).sqrt())
    }
}

/// Rate of the rotation vector of exp(e) turned at the velocity w: the inverse left Jacobian of the rotation group
/// (Barfoot 2017, *State estimation for robotics*, eq. 7.76; from memory, high).
fn log_rate(e: &V3, w: &V3) -> V3 {
    let a = e.norm();
    let k = if a < 1e-4 { 1.0 / 12.0 } else { (1.0 - 0.5 * a / (0.5 * a).tan()) / (a * a) };
    let c = e.cross(w);
    w - c * 0.5 + e.cross(&c) * k
}

/// Swivel within which the pole's row is the whole derivative, rad.
const POLE_NEAR: f64 = 0.6;

/// Half step of the few differences taken here, per unit of a coordinate.
const NUDGE: f64 = 1e-6;

pub(super) fn wrap(a: f64) -> f64 {
    let t = std::f64::consts::TAU;
    a - t * (a / t).round()
}
/// Derivative of one anatomical angle of a ball joint to a small world rotation, by a central difference.
fn ball_derivative(a: Angle, d: Dof, f: &Figure, p: &Posture) -> f64 {
    const H: f64 = 1e-6;
    let mut q = *p;
    apply(d, H, &mut q, f);
    let plus = a.read(&q);
    let mut q = *p;
    apply(d, -H, &mut q, f);
    wrap(plus - a.read(&q)) / (2.0 * H)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lopsided posture with every joint away from its zero.
    fn posture(body: &Body) -> Posture {
        let mut p = standing(body);
        p.pelvis.rotation = spine_matrix(rad(25.0), rad(6.0), rad(-9.0));
        p.lumbar = spine_matrix(rad(12.0), rad(-5.0), rad(7.0));
        for (s, k) in [(Side::Right, 1.0), (Side::Left, 0.7)] {
            let l = p.limbs_mut(s);
            l.hip = hip_matrix(rad(70.0 * k), rad(14.0), rad(9.0));
            l.knee_flexion_rad = rad(45.0 * k);
            l.tibia_rotation_rad = rad(6.0);
            l.ankle_plantarflexion_rad = rad(-12.0);
            l.ankle_inversion_rad = rad(5.0);
            l.girdle.elevation_rad = rad(8.0 * k);
            l.girdle.protraction_rad = rad(-11.0);
            l.shoulder = shoulder_matrix(rad(25.0), rad(65.0 * k), rad(20.0));
            l.elbow_flexion_rad = rad(75.0);
            l.forearm_pronation_rad = rad(30.0);
        }
        p
    }

    const DOFS: [Dof; 24] = {
        use Dof::*;
        use Side::*;
        [
            Root(0),
            Root(1),
            RootTurn(0),
            RootTurn(2),
            Lumbar(0),
            Lumbar(2),
            Hip(Right, 0),
            Hip(Left, 2),
            Knee(Right),
            TibiaRotation(Left),
            AnklePlantarflexion(Right),
            AnkleInversion(Left),
            Shoulder(Right, 0),
            Shoulder(Right, 1),
            Shoulder(Right, 2),
            Shoulder(Left, 0),
            Shoulder(Left, 1),
            Shoulder(Left, 2),
            GirdleElevation(Right),
            GirdleElevation(Left),
            GirdleProtraction(Right),
            GirdleProtraction(Left),
            Elbow(Right),
            Forearm(Left),
        ]
    };

    /// Every row is the derivative of what it says is missed, to the error of a central difference.
    fn check(held: Held) {
        let body = Body::average_man();
        let p = posture(&body);
        let f = figure(&body, &p);
        let problem = PostureProblem {
            symmetric: false,
            dofs: DOFS.to_vec(),
            given: vec![],
            required: vec![],
            comfort: vec![],
            bounds: vec![],
        };
        let missed = |p: &Posture| {
            let mut out = Vec::new();
            problem.rows(&held, &body, 0.0, &figure(&body, p), p, &[], Way::Whole, &mut [], &mut |_, r| out.push(r));
            out
        };
        let mut m = Vec::new();
        motions(&DOFS, &f, &p, &body, false, Way::Whole, &mut m);
        let mut rows: Vec<Vec<f64>> = Vec::new();
        let mut row = vec![0.0; DOFS.len()];
        problem.rows(&held, &body, 0.0, &f, &p, &m, Way::Whole, &mut row, &mut |row, _| rows.push(row.to_vec()));
        const H: f64 = 1e-5;
        for (i, d) in DOFS.into_iter().enumerate() {
            let at = |h: f64| {
                let mut q = p;
                apply(d, h, &mut q, &f);
                missed(&q)
            };
            for ((k, plus), minus) in at(H).iter().enumerate().zip(at(-H)) {
                let want = (plus - minus) / (2.0 * H);
                assert!((rows[k][i] - want).abs() < 1e-5, "{held:?} row {k} {d:?}: {} v {want}", rows[k][i]);
            }
        }
    }

    fn at(on: Segment, frame: Option<Segment>) {
        let value_m = [0.1, -0.2, 0.3].map(|v| Some(Curve::constant(v)));
        check(Held::Point { on, local_m: V3::new(0.05, -0.1, 0.03), frame, slope_rad: 0.2, value_m });
    }

    #[test]
    fn places_are_followed_through_the_rhythm() {
        for s in Side::BOTH {
            at(Segment::Hand(s), None);
            at(Segment::Hand(s), Some(Segment::Thorax));
            at(Segment::Hand(s), Some(Segment::Hand(s.other())));
            at(Segment::Hand(s), Some(Segment::Humerus(s)));
            at(Segment::Scapula(s), None);
            at(Segment::Clavicle(s), Some(Segment::Thorax));
            at(Segment::Foot(s), Some(Segment::Pelvis));
        }
    }

    #[test]
    fn directions_are_followed() {
        let value = Curve::constant(0.1);
        for s in Side::BOTH {
            for of in [LeanOf::Trunk, LeanOf::Shank(s), LeanOf::Thigh(s), LeanOf::UpperArm(s), LeanOf::Forearm(s)] {
                check(Held::Lean { of, value: value.clone() });
            }
            let zero = Curve::constant(0.0);
            check(Held::Foot { side: s, toe_out: Curve::constant(0.4), pitch: zero.clone(), slope: zero });
            check(Held::Pole { side: s, direction: [0.3, -0.5, 0.8].map(Curve::constant) });
        }
    }

    #[test]
    fn balance_is_followed_with_lines_that_turn() {
        let (r, l) = (Segment::Hand(Side::Right), Segment::Hand(Side::Left));
        let pull = |on, line| Pull { on, local_m: V3::new(0.0, -0.08, 0.02), line, kg: 30.0 };
        let axis = V3::new(0.1, 0.2, 0.97);
        check(Held::Balance {
            x_m: Curve::constant(0.05),
            extra: vec![(r, V3::new(0.0, -0.08, 0.0), 20.0), (Segment::Thorax, V3::new(0.1, 0.0, 0.0), 40.0)],
            pulls: vec![
                pull(l, PullLine::Towards(V3::new(0.9, 0.3, 0.1))),
                pull(r, PullLine::Lever { pivot_m: V3::new(-0.4, 0.2, 0.1), axis: axis.normalize(), weighs: true }),
            ],
        });
    }
}
