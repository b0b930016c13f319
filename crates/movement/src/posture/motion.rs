//! What one coordinate moves: which segments, and how fast each of them turns and goes; and a step along it.

use super::*;
use anatomy::skeleton::{GirdlePose, Pose, girdle_pose};

/// Bit set of segments that a coordinate moves.
pub(super) fn moved_by(d: Dof) -> u32 {
    const fn bit(s: usize) -> u32 {
        1 << s
    }
    let shift = |s: Side| if s == Side::Right { 0 } else { 8 };
    let arm = |s: Side, from: usize| (from..=7).map(|i| bit(i + shift(s))).fold(0, |a, b| a | b);
    let leg = |s: Side, from: usize| (from..=10).map(|i| bit(i + shift(s))).fold(0, |a, b| a | b);
    match d {
        Dof::Root(_) | Dof::RootTurn(_) => (1 << SEGMENTS) - 1,
        Dof::Lumbar(_) => bit(1) | bit(2) | arm(Side::Right, 3) | arm(Side::Left, 3),
        Dof::Hip(s, _) => leg(s, 8),
        Dof::Knee(s) | Dof::TibiaRotation(s) => leg(s, 9),
        Dof::AnklePlantarflexion(s) | Dof::AnkleInversion(s) => leg(s, 10),
        // Collar bone and blade follow the upper arm.
        Dof::GirdleElevation(s) | Dof::GirdleProtraction(s) | Dof::Shoulder(s, _) => arm(s, 3),
        Dof::Elbow(s) | Dof::Forearm(s) => arm(s, 6),
    }
}

/// Velocity of a rigid part per unit of a coordinate: a point at x goes with `origin + turn × x`.
#[derive(Clone, Copy, Default)]
pub(super) struct Twist {
    turn: V3,
    origin: V3,
}

impl Twist {
    fn about(axis: V3, centre: &V3) -> Twist {
        Twist { turn: axis, origin: -axis.cross(centre) }
    }
    fn along(v: V3) -> Twist {
        Twist { turn: V3::zeros(), origin: v }
    }
    fn plus(&self, o: &Twist, k: f64) -> Twist {
        Twist { turn: self.turn + o.turn * k, origin: self.origin + o.origin * k }
    }
    fn mirrored(&self) -> Twist {
        Twist { turn: sided(self.turn, Side::Left), origin: units::mirror_point(&self.origin) }
    }
    /// The motion that carries one pose into a near one, per `h`.
    fn between(from: &Pose, to: &Pose, h: f64) -> Twist {
        let d = (to.rotation - from.rotation) * from.rotation.transpose() / h;
        let turn = V3::new(d.m32 - d.m23, d.m13 - d.m31, d.m21 - d.m12) * 0.5;
        Twist { turn, origin: (to.origin_m - from.origin_m) / h - turn.cross(&from.origin_m) }
    }
    /// The same motion of things that are written in the coordinates of `frame`.
    fn seen_from(&self, frame: &Pose) -> Twist {
        let turn = frame.rotation * self.turn;
        Twist { turn, origin: frame.rotation * self.origin - turn.cross(&frame.origin_m) }
    }
}

#[derive(Clone, Copy)]
pub(super) struct Motion {
    moved: u32,
    /// In a symmetric posture a limb coordinate moves its mirror image too.
    pub(super) twin: bool,
    main: Twist,
    /// Collar bone and blade, which go their own way with a moving upper arm.
    clavicle: Twist,
    scapula: Twist,
}

fn unit(i: usize) -> V3 {
    match i {
        0 => V3::x(),
        1 => V3::y(),
        _ => V3::z(),
    }
}

/// World axis of a hinge of a possibly mirrored limb: rotation vectors mirror as (−x, −y, z).
fn sided(axis: V3, side: Side) -> V3 {
    match side {
        Side::Right => axis,
        Side::Left => V3::new(-axis.x, -axis.y, axis.z),
    }
}

fn mirrored(p: &Pose) -> Pose {
    Pose::new(units::mirror_rotation(&p.rotation), units::mirror_point(&p.origin_m))
}

/// How the girdle of one side answers: to two turns of the upper arm across its own line (one along it changes
/// nothing), and to its own two coordinates. World axes of the side's own, possibly mirrored, world.
struct GirdleAnswer {
    across: [V3; 2],
    turned: [[Twist; 3]; 2],
    raised: [Twist; 3],
    drawn: [Twist; 3],
}

/// Turn over which the rhythm is differenced, rad: of its error the curvature gives 1e-7, rounding 1e-9.
const RHYTHM_STEP: f64 = 1e-7;

impl GirdleAnswer {
    fn new(body: &Body, thorax: &Pose, l: &anatomy::skeleton::Limbs) -> GirdleAnswer {
        let now = girdle_pose(body, &l.shoulder, &l.girdle);
        let parts = |g: &GirdlePose| [g.clavicle, g.scapula, Pose::new(M3::identity(), g.gh_m)];
        let line = -l.shoulder.column(1).into_owned();
        let aside = if line.x.abs() < 0.7 { V3::x() } else { V3::z() };
        let e1 = line.cross(&aside).normalize();
        let across = [e1, line.cross(&e1)];
        let from = parts(&now);
        let turned = across.map(|axis| {
            let moved = exp_rotation(&(axis * RHYTHM_STEP)) * l.shoulder;
            let to = parts(&girdle_pose(body, &moved, &l.girdle));
            std::array::from_fn(|k| Twist::between(&from[k], &to[k], RHYTHM_STEP).seen_from(thorax))
        });
        // Raised, the collar bone turns about the sternum; blade and arm go with its outer end and do not turn.
        let axis = now.clavicle.rotation * -V3::x();
        let up = Twist::along(axis.cross(&(now.ac_m - body.sc_m)));
        let raised = [Twist::about(axis, &body.sc_m), up, up].map(|t| t.seen_from(thorax));
        // Drawn forward, collar bone and blade turn together; the arm keeps its direction.
        let round = Twist::about(V3::y(), &body.sc_m);
        let carried = Twist::along(V3::y().cross(&(now.gh_m - body.sc_m)));
        let drawn = [round, round, carried].map(|t| t.seen_from(thorax));
        GirdleAnswer { across: across.map(|a| thorax.rotation * a), turned, raised, drawn }
    }

    /// Collar bone, blade and shoulder joint while the upper arm turns about a world axis.
    fn to_turn(&self, axis: &V3) -> [Twist; 3] {
        let (a, b) = (axis.dot(&self.across[0]), axis.dot(&self.across[1]));
        std::array::from_fn(|k| Twist::default().plus(&self.turned[0][k], a).plus(&self.turned[1][k], b))
    }
}

/// Motions of all coordinates in a posture, in their order.
pub(super) fn motions(
    dofs: &[Dof],
    f: &Figure,
    p: &Posture,
    body: &Body,
    symmetric: bool,
    way: Way,
    out: &mut Vec<Motion>,
) {
    out.clear();
    let mut girdles: [Option<GirdleAnswer>; 2] = [None, None];
    for &d in dofs {
        let twin = symmetric && !matches!(d, Dof::Root(_) | Dof::RootTurn(_) | Dof::Lumbar(_));
        let moved = moved_by(d);
        let whole = |main: Twist| Motion { moved, twin, main, clavicle: main, scapula: main };
        let motion = match d {
            Dof::Shoulder(s, i) if way == Way::Coarse => {
                whole(Twist::about(unit(i), &f.pose(Segment::Humerus(s)).origin_m))
            }
            Dof::Shoulder(s, _) | Dof::GirdleElevation(s) | Dof::GirdleProtraction(s) => {
                let mirror = |t: Twist| if s == Side::Left { t.mirrored() } else { t };
                let answer = girdles[usize::from(s == Side::Left)].get_or_insert_with(|| {
                    let t = f.pose(Segment::Thorax);
                    let t = if s == Side::Left { mirrored(t) } else { *t };
                    GirdleAnswer::new(body, &t, p.limbs(s))
                });
                let (parts, turn) = match d {
                    Dof::Shoulder(_, i) => (answer.to_turn(&sided(unit(i), s)), unit(i)),
                    Dof::GirdleElevation(_) => (answer.raised, V3::zeros()),
                    _ => (answer.drawn, V3::zeros()),
                };
                let [clavicle, scapula, carried] = parts.map(mirror);
                let main = Twist::about(turn, &f.pose(Segment::Humerus(s)).origin_m).plus(&carried, 1.0);
                Motion { moved, twin, main, clavicle, scapula }
            }
            _ => whole(rigid(d, f, p, body)),
        };
        out.push(motion);
    }
}

/// Motion of a coordinate that carries everything beyond its joint as one piece.
fn rigid(d: Dof, f: &Figure, p: &Posture, body: &Body) -> Twist {
    // Local axis of a limb segment in the (mirrored) frame it is written in.
    let local = |seg: Segment, side: Side, v: V3| match side {
        Side::Right => f.pose(seg).rotation * v,
        Side::Left => sided(units::mirror_rotation(&f.pose(seg).rotation) * v, Side::Left),
    };
    let at = |s: Segment| &f.pose(s).origin_m;
    match d {
        Dof::Root(i) => Twist::along(unit(i)),
        Dof::RootTurn(i) => Twist::about(unit(i), &p.pelvis.origin_m),
        Dof::Lumbar(i) => Twist::about(unit(i), &f.at(Segment::Pelvis, &body.lumbar_m)),
        Dof::Hip(s, i) => Twist::about(unit(i), at(Segment::Femur(s))),
        Dof::Knee(s) => Twist::about(-local(Segment::Femur(s), s, V3::z()), at(Segment::Tibia(s))),
        Dof::TibiaRotation(s) => Twist::about(local(Segment::Tibia(s), s, V3::y()), at(Segment::Tibia(s))),
        Dof::AnklePlantarflexion(s) => Twist::about(-local(Segment::Tibia(s), s, V3::z()), at(Segment::Foot(s))),
        Dof::AnkleInversion(s) => Twist::about(local(Segment::Foot(s), s, V3::x()), at(Segment::Foot(s))),
        Dof::Elbow(s) => Twist::about(local(Segment::Humerus(s), s, V3::z()), at(Segment::Forearm(s))),
        Dof::Forearm(s) => Twist::about(local(Segment::Forearm(s), s, V3::y()), at(Segment::Forearm(s))),
        Dof::Shoulder(..) | Dof::GirdleElevation(_) | Dof::GirdleProtraction(_) => Twist::default(),
    }
}

/// World axis of a hinge.
pub(super) fn turning_axis(d: Dof, f: &Figure, p: &Posture, body: &Body) -> V3 {
    rigid(d, f, p, body).turn
}

impl Motion {
    #[inline]
    pub(super) fn moves(&self, s: Segment) -> bool {
        self.moved >> s.index() & 1 == 1
    }
    #[inline]
    fn twist(&self, s: Segment) -> &Twist {
        match s {
            Segment::Clavicle(_) => &self.clavicle,
            Segment::Scapula(_) => &self.scapula,
            _ => &self.main,
        }
    }
    /// Velocity of a point of a segment, world, m per unit of the coordinate.
    #[inline]
    pub(super) fn at(&self, s: Segment, x: &V3) -> V3 {
        if self.moves(s) {
            let t = self.twist(s);
            t.origin + t.turn.cross(x)
        } else {
            V3::zeros()
        }
    }
    /// Angular velocity of a segment, world, rad per unit of the coordinate.
    #[inline]
    pub(super) fn turning(&self, s: Segment) -> V3 {
        if self.moves(s) { self.twist(s).turn } else { V3::zeros() }
    }
}

/// Turn an upper arm about a world axis, rad.
pub(super) fn turn_shoulder(side: Side, turn: &V3, p: &mut Posture, f: &Figure) {
    let r = f.pose(Segment::Thorax).rotation;
    let (r, w) = match side {
        Side::Right => (r, *turn),
        Side::Left => (units::mirror_rotation(&r), sided(*turn, side)),
    };
    let l = p.limbs_mut(side);
    l.shoulder = r.transpose() * exp_rotation(&w) * r * l.shoulder;
}

pub(super) fn apply(d: Dof, step: f64, p: &mut Posture, f: &Figure) {
    let turn_ball = |local: &M3, parent: &M3, side: Side, axis: usize, step: f64| -> M3 {
        let w = sided(unit(axis) * step, side);
        let parent = if side == Side::Left { units::mirror_rotation(parent) } else { *parent };
        parent.transpose() * exp_rotation(&w) * parent * local
    };
    match d {
        Dof::Root(i) => p.pelvis.origin_m[i] += step,
        Dof::RootTurn(i) => p.pelvis.rotation = exp_rotation(&(unit(i) * step)) * p.pelvis.rotation,
        Dof::Lumbar(i) => {
            let r = f.pose(Segment::Pelvis).rotation;
            p.lumbar = r.transpose() * exp_rotation(&(unit(i) * step)) * r * p.lumbar;
        }
        Dof::Hip(s, i) => {
            let h = turn_ball(&p.limbs(s).hip, &f.pose(Segment::Pelvis).rotation, s, i, step);
            p.limbs_mut(s).hip = h;
        }
        Dof::Knee(s) => p.limbs_mut(s).knee_flexion_rad += step,
        Dof::TibiaRotation(s) => p.limbs_mut(s).tibia_rotation_rad += step,
        Dof::AnklePlantarflexion(s) => p.limbs_mut(s).ankle_plantarflexion_rad += step,
        Dof::AnkleInversion(s) => p.limbs_mut(s).ankle_inversion_rad += step,
        Dof::Shoulder(s, i) => {
            let h = turn_ball(&p.limbs(s).shoulder, &f.pose(Segment::Thorax).rotation, s, i, step);
            p.limbs_mut(s).shoulder = h;
        }
        Dof::Elbow(s) => p.limbs_mut(s).elbow_flexion_rad += step,
        Dof::Forearm(s) => p.limbs_mut(s).forearm_pronation_rad += step,
        Dof::GirdleElevation(s) => p.limbs_mut(s).girdle.elevation_rad += step,
        Dof::GirdleProtraction(s) => p.limbs_mut(s).girdle.protraction_rad += step,
    }
}
