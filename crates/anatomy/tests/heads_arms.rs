//! Hip and shoulder paths against lengths and arms computed elsewhere.

mod heads_support;

use anatomy::body::{Body, PathScale};
use anatomy::heads::{HeadMask, MuscleModel, Variation};
use anatomy::skeleton::{Limbs, Posture, Row, Side, SidePosture, hip_matrix, shoulder_matrix};
use heads_support::{head, tables};
use units::{V3, rad};

/// Golden values are printed to 0.0001 mm; their arms are central differences.
const TOLERANCE_MM: f64 = 0.001;

/// The adult of the path tables: all scales 1, joint centres of `data/anatomy/joint_centres.csv`.
fn table_adult() -> Body {
    let mut body = Body::average_man();
    body.path_scale = PathScale { pelvis: 1.0, femur: 1.0, tibia: 1.0, thorax: 1.0, humerus: 1.0, forearm: 1.0 };
    body.thigh_m = 0.425;
    body.sc_m = V3::new(0.0, 0.0, 0.025);
    body.ac_m = V3::new(-0.054, 0.021, 0.165);
    body.gh_m = V3::new(-0.045, -0.022, 0.180);
    body
}

/// `golden_arms.csv` is written by `golden_arms.py` (numpy, inverse trigonometric functions, finite differences).
#[test]
fn lengths_and_arms_agree_with_an_independent_program() {
    let (tables, body) = (tables(), table_adult());
    let model = MuscleModel::new(&tables, &body, &Variation::none());
    let mut frame = model.frame();
    let mut rows = 0;
    for line in include_str!("heads_support/golden_arms.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |i: usize| cells[i].parse::<f64>().expect("a number");
        let angles = [1, 2, 3].map(|i| rad(number(i)));
        let mut right = Limbs::default();
        let hip = cells[0] == "hip";
        if hip {
            right.hip = hip_matrix(angles[0], angles[1], angles[2]);
        } else {
            right.shoulder = shoulder_matrix(angles[0], angles[1], angles[2]);
        }
        let posture = SidePosture::new(&body, &Posture { right, ..Posture::default() }, Side::Right);
        model.evaluate(&posture, HeadMask::all(model.len()), &mut frame);
        let state = &frame.heads[head(&tables, cells[4])];
        let first = if hip { Row::HipX } else { Row::ShoulderX }.index();
        let got = [state.path_length_m, state.arms_m[first], state.arms_m[first + 1], state.arms_m[first + 2]];
        for (i, v) in got.iter().enumerate() {
            let want = number(5 + i);
            assert!((v * 1e3 - want).abs() < TOLERANCE_MM, "{line}: value {i} is {:.4} mm", v * 1e3);
        }
        rows += 1;
    }
    assert!(rows > 200, "{rows}");
}

struct Check<'a> {
    model: &'a MuscleModel,
    body: &'a Body,
    tables: &'a anatomy::heads::AnatomyTables,
}

impl Check<'_> {
    /// Lever arm in mm at a shoulder posture (plane, elevation, internal rotation in degrees).
    fn arm(&self, id: &str, angles: [f64; 3], row: Row) -> f64 {
        let right =
            Limbs { shoulder: shoulder_matrix(rad(angles[0]), rad(angles[1]), rad(angles[2])), ..Limbs::default() };
        let p = SidePosture::new(self.body, &Posture { right, ..Posture::default() }, Side::Right);
        let mut frame = self.model.frame();
        self.model.evaluate(&p, HeadMask::all(self.model.len()), &mut frame);
        frame.heads[head(self.tables, id)].arm_m(row) * 1e3
    }
    fn abduction(&self, id: &str, angles: [f64; 3]) -> f64 {
        -self.arm(id, angles, Row::ShoulderX)
    }
    fn flexion(&self, id: &str, angles: [f64; 3]) -> f64 {
        self.arm(id, angles, Row::ShoulderZ)
    }
    /// About the humerus; only for arms hanging down, where its axis is the thorax's Y.
    fn internal_rotation_hanging(&self, id: &str) -> f64 {
        self.arm(id, [0.0, 0.0, 0.0], Row::ShoulderY)
    }
}

/// Signs and orders published in abstracts: Ackland et al. 2008 (J Anat 213:383), Kuechle et al. 1997 (J Shoulder
/// Elbow Surg 6:429), Hik & Ackland 2019 (J Anat 234:1), Johnson et al. 1994 (Clin Biomech 9:44).
#[test]
fn shoulder_arms_have_the_published_signs_and_order() {
    let (tables, body) = (tables(), table_adult());
    let model = MuscleModel::new(&tables, &body, &Variation::none());
    let c = Check { model: &model, body: &body, tables: &tables };
    let side = [0.0, 60.0, 0.0];
    // Ackland 2008: middle deltoid abducts most; teres major, lower latissimus and sternal pectoralis adduct.
    assert!(c.abduction("deltoid-acromial-part", side) > 15.0);
    let best = tables.heads.iter().filter(|h| h.crosses(anatomy::skeleton::Joint::Shoulder));
    let best = best.max_by(|a, b| c.abduction(&a.id, side).total_cmp(&c.abduction(&b.id, side))).expect("heads");
    assert_eq!(best.id, "deltoid-acromial-part");
    for id in [
        "teres-major",
        "latissimus-dorsi-lumbar-part",
        "latissimus-dorsi-iliac-part",
        "pectoralis-major-abdominal-part",
    ] {
        assert!(c.abduction(id, side) < -15.0, "{id}");
    }
    // Ackland 2008: clavicular pectoralis and clavicular deltoid flex, teres major and spinal deltoid extend.
    let front = [90.0, 45.0, 0.0];
    for id in ["pectoralis-major-clavicular-part", "deltoid-clavicular-part"] {
        assert!(c.flexion(id, front) > 10.0, "{id}");
    }
    for id in ["teres-major", "deltoid-spinal-part"] {
        assert!(c.flexion(id, front) < -10.0, "{id}");
    }
    // Kuechle 1997: pectoralis adducts across at 90° of elevation; spinal deltoid and infraspinatus do the opposite.
    let raised = [0.0, 90.0, 0.0];
    assert!(c.arm("pectoralis-major-sternocostal-part", raised, Row::ShoulderY) > 20.0);
    for id in ["deltoid-spinal-part", "infraspinatus"] {
        assert!(c.arm(id, raised, Row::ShoulderY) < -5.0, "{id}");
    }
    // Hik & Ackland 2019: cuff rotates.
    assert!(c.internal_rotation_hanging("subscapularis") > 10.0);
    for id in ["infraspinatus", "teres-minor"] {
        assert!(c.internal_rotation_hanging(id) < -10.0, "{id}");
    }
    // Johnson 1994 and anatomy texts: descending trapezius lifts and draws back; serratus protracts and turns upward.
    let rest = [0.0, 0.0, 0.0];
    assert!(c.arm("trapezius-descending-part", rest, Row::GirdleElevation) > 20.0);
    assert!(c.arm("trapezius-descending-part", rest, Row::GirdleProtraction) < 0.0);
    assert!(c.arm("trapezius-ascending-part", rest, Row::GirdleElevation) < 0.0);
    assert!(c.arm("serratus-anterior-inferior-part", rest, Row::GirdleProtraction) > 20.0);
    assert!(c.arm("serratus-anterior-inferior-part", rest, Row::GirdleUpwardRotation) > 50.0);
    assert!(c.arm("rhomboids", rest, Row::GirdleProtraction) < -20.0);
    assert!(c.arm("rhomboids", rest, Row::GirdleUpwardRotation) < 0.0);
}
