//! What one coordinate moves: which segments, about which axis; and a step along it.

use super::*;

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
        Dof::GirdleElevation(s) | Dof::GirdleProtraction(s) => arm(s, 3),
        Dof::Shoulder(s, _) => arm(s, 5),
        Dof::Elbow(s) => arm(s, 6),
        Dof::Forearm(s) => arm(s, 6),
    }
}

#[derive(Clone, Copy)]
pub(super) struct Motion {
    pub(super) axis: V3,
    pub(super) centre: V3,
    pub(super) moved: u32,
    pub(super) translation: bool,
    /// In a symmetric posture a limb coordinate moves its mirror image too.
    pub(super) twin: bool,
}

pub(super) fn unit(i: usize) -> V3 {
    match i {
        0 => V3::x(),
        1 => V3::y(),
        _ => V3::z(),
    }
}

/// World axis of a hinge of a possibly mirrored limb: rotation vectors mirror as (−x, −y, z).
pub(super) fn sided(axis: V3, side: Side) -> V3 {
    match side {
        Side::Right => axis,
        Side::Left => V3::new(-axis.x, -axis.y, axis.z),
    }
}

pub(super) fn motion(d: Dof, f: &Figure, p: &Posture, body: &Body, symmetric: bool) -> Motion {
    let moved = moved_by(d);
    let pose = |s: Segment| *f.pose(s);
    // Local axis of a limb segment in the (mirrored) frame it is written in.
    let local = |seg: Segment, side: Side, v: V3| match side {
        Side::Right => pose(seg).rotation * v,
        Side::Left => {
            let r = units::mirror_rotation(&pose(seg).rotation);
            sided(r * v, Side::Left)
        }
    };
    let (axis, centre, translation) = match d {
        Dof::Root(i) => (unit(i), V3::zeros(), true),
        Dof::RootTurn(i) => (unit(i), p.pelvis.origin_m, false),
        Dof::Lumbar(i) => (unit(i), f.at(Segment::Pelvis, &body.lumbar_m), false),
        Dof::Hip(s, i) => (unit(i), pose(Segment::Femur(s)).origin_m, false),
        Dof::Knee(s) => (-local(Segment::Femur(s), s, V3::z()), pose(Segment::Tibia(s)).origin_m, false),
        Dof::TibiaRotation(s) => (local(Segment::Tibia(s), s, V3::y()), pose(Segment::Tibia(s)).origin_m, false),
        Dof::AnklePlantarflexion(s) => (-local(Segment::Tibia(s), s, V3::z()), pose(Segment::Foot(s)).origin_m, false),
        Dof::AnkleInversion(s) => (local(Segment::Foot(s), s, V3::x()), pose(Segment::Foot(s)).origin_m, false),
        Dof::Shoulder(s, i) => (unit(i), pose(Segment::Humerus(s)).origin_m, false),
        Dof::Elbow(s) => (local(Segment::Humerus(s), s, V3::z()), pose(Segment::Forearm(s)).origin_m, false),
        Dof::Forearm(s) => (local(Segment::Forearm(s), s, V3::y()), pose(Segment::Forearm(s)).origin_m, false),
        Dof::GirdleElevation(s) | Dof::GirdleProtraction(s) => {
            let sc = V3::new(body.sc_m.x, body.sc_m.y, body.sc_m.z * s.sign());
            let t = pose(Segment::Thorax);
            let v = if matches!(d, Dof::GirdleElevation(_)) { -V3::x() } else { V3::y() };
            (sided(t.rotation * v, s), t.at(&sc), false)
        }
    };
    let twin = symmetric && !matches!(d, Dof::Root(_) | Dof::RootTurn(_) | Dof::Lumbar(_));
    Motion { axis, centre, moved, translation, twin }
}

impl Motion {
    #[inline]
    pub(super) fn moves(&self, s: Segment) -> bool {
        self.moved >> s.index() & 1 == 1
    }
    #[inline]
    pub(super) fn at(&self, x: &V3) -> V3 {
        if self.translation { self.axis } else { self.axis.cross(&(x - self.centre)) }
    }
    #[inline]
    pub(super) fn turn(&self, v: &V3) -> V3 {
        if self.translation { V3::zeros() } else { self.axis.cross(v) }
    }
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
