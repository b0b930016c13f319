//! Required muscle moments: what the external wrenches ask of each balanced row of the right side.

use crate::wrench::{Wrench, Wrenches};
use anatomy::body::Body;
use anatomy::skeleton::{Joint, ROWS, Row, Segment, Side, SidePosture};
use movement::rep::RepFrame;
use units::V3;

/// Segments beyond a joint of the right side, seen from the pelvis.
fn beyond(joint: Joint) -> &'static [Segment] {
    use Segment::*;
    const R: Side = Side::Right;
    const L: Side = Side::Left;
    match joint {
        Joint::Hip => &[Femur(R), Tibia(R), Foot(R)],
        Joint::Knee => &[Tibia(R), Foot(R)],
        Joint::Ankle => &[Foot(R)],
        Joint::Lumbar => &[
            Thorax,
            Head,
            Clavicle(R),
            Scapula(R),
            Humerus(R),
            Forearm(R),
            Hand(R),
            Clavicle(L),
            Scapula(L),
            Humerus(L),
            Forearm(L),
            Hand(L),
        ],
        Joint::Neck => &[Head],
        Joint::Girdle => &[Clavicle(R), Scapula(R), Humerus(R), Forearm(R), Hand(R)],
        Joint::Shoulder => &[Humerus(R), Forearm(R), Hand(R)],
        Joint::Elbow | Joint::Forearm => &[Forearm(R), Hand(R)],
        Joint::Wrist => &[Hand(R)],
    }
}

/// Axes and centres of one frame, world.
pub struct Geometry {
    hip: V3,
    knee: V3,
    ankle: V3,
    lumbar: V3,
    neck: V3,
    shoulder: V3,
    elbow: V3,
    wrist: V3,
    sc: V3,
    ac: V3,
    pelvis: units::M3,
    thorax: units::M3,
    femur_z: V3,
    tibia_z: V3,
    foot_x: V3,
    humerus_z: V3,
    forearm_y: V3,
    hand_x: V3,
    scapula_up: V3,
}

impl Geometry {
    pub fn new(body: &Body, f: &RepFrame, side: &SidePosture) -> Geometry {
        let fig = &f.figure;
        let r = Side::Right;
        let t = fig.pose(Segment::Thorax);
        let axis = |s: Segment, v: V3| fig.pose(s).turn(&v);
        Geometry {
            hip: fig.pose(Segment::Femur(r)).origin_m,
            knee: fig.pose(Segment::Tibia(r)).origin_m,
            ankle: fig.pose(Segment::Foot(r)).origin_m,
            lumbar: fig.at(Segment::Pelvis, &body.lumbar_m),
            neck: fig.pose(Segment::Head).origin_m,
            shoulder: fig.pose(Segment::Humerus(r)).origin_m,
            elbow: fig.pose(Segment::Forearm(r)).origin_m,
            wrist: fig.pose(Segment::Hand(r)).origin_m,
            sc: t.at(&body.sc_m),
            ac: t.at(&side.girdle_pose.ac_m),
            pelvis: fig.pose(Segment::Pelvis).rotation,
            thorax: t.rotation,
            femur_z: axis(Segment::Femur(r), V3::z()),
            tibia_z: axis(Segment::Tibia(r), V3::z()),
            foot_x: axis(Segment::Foot(r), V3::x()),
            humerus_z: axis(Segment::Humerus(r), V3::z()),
            forearm_y: axis(Segment::Forearm(r), V3::y()),
            hand_x: axis(Segment::Hand(r), V3::x()),
            scapula_up: -(t.turn(&side.girdle_pose.scapula_normal)),
        }
    }

    /// World axis of a row's positive direction and the centre it turns about.
    fn axis(&self, row: Row) -> (V3, V3) {
        match row {
            Row::HipX => (self.pelvis * V3::x(), self.hip),
            Row::HipY => (self.pelvis * V3::y(), self.hip),
            Row::HipZ => (self.pelvis * V3::z(), self.hip),
            Row::KneeFlexion => (-self.femur_z, self.knee),
            Row::AnklePlantarflexion => (-self.tibia_z, self.ankle),
            Row::AnkleInversion => (self.foot_x, self.ankle),
            Row::LumbarFlexion => (-(self.pelvis * V3::z()), self.lumbar),
            Row::LumbarSideBend => (self.pelvis * V3::x(), self.lumbar),
            Row::LumbarRotation => (self.pelvis * V3::y(), self.lumbar),
            Row::NeckFlexion => (-(self.thorax * V3::z()), self.neck),
            Row::NeckSideBend => (self.thorax * V3::x(), self.neck),
            Row::NeckRotation => (self.thorax * V3::y(), self.neck),
            Row::ShoulderX => (self.thorax * V3::x(), self.shoulder),
            Row::ShoulderY => (self.thorax * V3::y(), self.shoulder),
            Row::ShoulderZ => (self.thorax * V3::z(), self.shoulder),
            Row::ElbowFlexion => (self.humerus_z, self.elbow),
            Row::ForearmPronation => (self.forearm_y, self.elbow),
            Row::WristFlexion => (self.hand_x, self.wrist),
            Row::GirdleElevation => (-(self.thorax * V3::x()), self.sc),
            Row::GirdleProtraction => (self.thorax * V3::y(), self.sc),
            Row::GirdleUpwardRotation => (self.scapula_up, self.ac),
        }
    }

    /// Moment the right side's muscles must make about a row, N·m, against external wrenches.
    pub fn required(&self, w: &Wrenches, row: Row) -> f64 {
        let (axis, centre) = self.axis(row);
        let mut sum = Wrench::default();
        for s in beyond(row.joint()) {
            sum.add(&w[s.index()]);
        }
        let mut moment = sum.about(&centre);
        if row == Row::GirdleElevation {
            // Blade and arm go up without turning (see `Row::GirdleElevation`).
            moment -= sum.about(&self.ac);
        }
        -axis.dot(&moment)
    }

    /// Resultant external wrench beyond a joint, and the joint's centre.
    pub fn resultant(&self, w: &Wrenches, joint: Joint) -> Wrench {
        let mut sum = Wrench::default();
        for s in beyond(joint) {
            sum.add(&w[s.index()]);
        }
        sum
    }

    /// Part of a world moment vector acting on everything beyond a joint in each of its rows.
    pub fn torque(&self, joint: Joint, moment: &V3) -> [f64; ROWS] {
        let mut out = [0.0; ROWS];
        for r in Row::ALL {
            if r.joint() == joint {
                out[r.index()] = self.axis(r).0.dot(moment);
            }
        }
        out
    }

    /// Centre of a joint, world, m.
    pub fn centre(&self, joint: Joint) -> V3 {
        match joint {
            Joint::Hip => self.hip,
            Joint::Knee => self.knee,
            Joint::Ankle => self.ankle,
            Joint::Lumbar => self.lumbar,
            Joint::Neck => self.neck,
            Joint::Girdle => self.sc,
            Joint::Shoulder => self.shoulder,
            Joint::Elbow | Joint::Forearm => self.elbow,
            Joint::Wrist => self.wrist,
        }
    }
}
