//! Joint contact forces: what the joint surfaces carry when muscles and outside forces are known.

use anatomy::body::Body;
use anatomy::heads::MuscleModel;
use anatomy::skeleton::{Joint, Segment, Side};
use mechanics::solve::{Prepared, Shares};
use movement::rep::Rep;
use units::GRAVITY_M_S2;

/// Largest contact force per balanced joint over the lift, × body weight.
///
/// Force on the distal side = −(muscle pull + outside forces beyond the joint, weight and inertia included). Free
/// contact components change it little and are left out; a mid-line joint carries both sides' muscles.
pub fn peak_contact_bw(
    rep: &Rep,
    prepared: &Prepared,
    shares: &Shares,
    load: f64,
    body: &Body,
    model: &MuscleModel,
) -> Vec<(Joint, f64)> {
    let weight_n = body.mass_kg * GRAVITY_M_S2;
    let mut out = Vec::new();
    for joint in [Joint::Hip, Joint::Knee, Joint::Ankle, Joint::Lumbar, Joint::Shoulder, Joint::Elbow] {
        if !rep.balanced.contains(&joint) {
            continue;
        }
        let mut peak = 0.0f64;
        for (f, (e, a)) in rep.frames.iter().zip(prepared.frames.iter().zip(&shares.activation)) {
            let forces: Vec<f64> = e.muscles.heads.iter().zip(a).map(|(s, a)| s.force_n(*a)).collect();
            let Some(pull) = model.net_pull_n(joint, &e.side, &e.muscles, &forces) else { continue };
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
            peak = peak.max((pull + outside).norm());
        }
        out.push((joint, peak / weight_n));
    }
    out
}
