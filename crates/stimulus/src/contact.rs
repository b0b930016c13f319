//! Joint contact forces: what the joint surfaces carry when muscles and outside forces are known.

use anatomy::body::Body;
use anatomy::heads::MuscleModel;
use anatomy::skeleton::{Joint, Segment, Side};
use mechanics::solve::{Prepared, Shares};
use movement::rep::Rep;
use units::{GRAVITY_M_S2, V3};

/// Joints whose contact force is computed where they are balanced.
const JOINTS: [Joint; 6] = [Joint::Hip, Joint::Knee, Joint::Ankle, Joint::Lumbar, Joint::Shoulder, Joint::Elbow];

/// Contact force of every balanced joint in every frame, N, world axes.
///
/// Sign: muscle pull + outside forces on the distal side (weight and inertia included); the joint surfaces push back
/// with the opposite. Free contact components change it little and are left out; a mid-line joint carries both sides'
/// muscles.
pub fn contact_forces_n(
    rep: &Rep,
    prepared: &Prepared,
    shares: &Shares,
    load: f64,
    model: &MuscleModel,
) -> Vec<(Joint, Vec<V3>)> {
    let mut out = Vec::new();
    for joint in JOINTS.into_iter().filter(|j| rep.balanced.contains(j)) {
        let mut frames = Vec::with_capacity(rep.frames.len());
        for (f, (e, a)) in rep.frames.iter().zip(prepared.frames.iter().zip(&shares.activation)) {
            let forces: Vec<f64> = e.muscles.heads.iter().zip(a).map(|(s, a)| s.force_n(*a)).collect();
            let pull = model.net_pull_n(joint, &e.side, &e.muscles, &forces).unwrap_or_else(V3::zeros);
            let r = Side::Right;
            let axes = match joint {
                Joint::Hip => Segment::Pelvis,
                Joint::Knee | Joint::Ankle => Segment::Tibia(r),
                Joint::Shoulder | Joint::Lumbar => Segment::Thorax,
                _ => Segment::Humerus(r),
            };
            let sides = if joint == Joint::Lumbar && rep.symmetric { 2.0 } else { 1.0 };
            let pull = f.figure.pose(axes).turn(&pull) * sides;
            let outside = e.geometry.resultant(&e.wrenches.constant, joint).force_n
                + e.geometry.resultant(&e.wrenches.per_load, joint).force_n * load;
            frames.push(pull + outside);
        }
        out.push((joint, frames));
    }
    out
}

/// Largest contact force per balanced joint over the lift, × body weight.
pub fn peak_contact_bw(
    rep: &Rep,
    prepared: &Prepared,
    shares: &Shares,
    load: f64,
    body: &Body,
    model: &MuscleModel,
) -> Vec<(Joint, f64)> {
    let weight_n = body.mass_kg * GRAVITY_M_S2;
    contact_forces_n(rep, prepared, shares, load, model)
        .into_iter()
        .map(|(joint, frames)| (joint, frames.iter().map(|f| f.norm()).fold(0.0, f64::max) / weight_n))
        .collect()
}
