//! Postures and joint axes as case tables write them: degrees at this edge, radians behind it.
//!
//! A posture is words `joint=a/b/c`, joints that are not named stand as in the zero posture (upright, arms hanging,
//! thumbs forward, feet at right angles):
//!
//! | word | components, degrees |
//! |---|---|
//! | `hip` | flexion / abduction / internal rotation |
//! | `knee` | flexion |
//! | `ankle` | plantarflexion / inversion |
//! | `lumbar`, `neck` | flexion / side-bend to the right / rotation to the left |
//! | `girdle` | elevation / protraction / upward rotation, on top of the rhythm |
//! | `shoulder` | plane of elevation (0 sideways, 90 forward, −90 backward) / elevation / internal rotation |
//! | `elbow`, `forearm`, `wrist` | flexion, pronation, flexion |
//!
//! One component may be a sweep `from..to`, read at [`SWEEP`] equal steps; several postures stand between bars `|`.

use anatomy::body::Body;
use anatomy::heads::HeadState;
use anatomy::skeleton::{
    Girdle, Limbs, Posture, ROWS, Row, Side, SidePosture, hip_matrix, shoulder_matrix, spine_matrix,
};
use units::{V3, rad, rot_z};

/// Postures read along a sweep.
pub const SWEEP: usize = 13;

/// A posture of the right side, with the angles that an axis needs and a matrix forgets.
#[derive(Clone, Copy, Debug)]
pub struct Stance {
    posture: Posture,
    hip_flexion_rad: f64,
    /// Plane of elevation, defined even where the arm hangs.
    plane_rad: f64,
}

impl Stance {
    /// Right side of this posture in a body.
    pub fn side(&self, body: &Body) -> SidePosture {
        SidePosture::new(body, &self.posture, Side::Right)
    }
}

/// Reads postures.
///
/// # Errors
/// What is wrong and what was expected, in words.
pub fn stances(text: &str) -> Result<Vec<Stance>, String> {
    let mut out = Vec::new();
    for one in text.split('|') {
        match sweep(one)? {
            None => out.push(stance(one, None)?),
            Some(_) => {
                for i in 0..SWEEP {
                    out.push(stance(one, Some(i as f64 / (SWEEP - 1) as f64))?);
                }
            }
        }
    }
    Ok(out)
}

/// The sweep of a posture, if it has one.
fn sweep(text: &str) -> Result<Option<(f64, f64)>, String> {
    let mut found = None;
    for part in text.split([' ', '/', '=']).filter(|p| p.contains("..")) {
        if found.is_some() {
            return Err(format!("posture \"{}\" sweeps two angles, expected one `from..to` at most", text.trim()));
        }
        let (a, b) = part.split_once("..").unwrap_or_default();
        found = Some((number(a)?, number(b)?));
    }
    Ok(found)
}

fn number(text: &str) -> Result<f64, String> {
    let v: Option<f64> = text.parse().ok().filter(|v: &f64| v.is_finite() && v.abs() <= 360.0);
    v.ok_or_else(|| format!("\"{text}\" is no angle, expected degrees from -360 to 360"))
}

fn stance(text: &str, along: Option<f64>) -> Result<Stance, String> {
    let mut p = Posture::default();
    let mut limbs = Limbs::default();
    let (mut hip_flexion_rad, mut plane_rad) = (0.0, 0.0);
    for word in text.split_whitespace() {
        let Some((joint, values)) = word.split_once('=') else {
            return Err(format!("\"{word}\" in a posture, expected joint=degrees, for instance hip=45/10/0"));
        };
        let mut a = [0.0; 3];
        let mut count = 0;
        for value in values.split('/') {
            let degrees = match (value.split_once(".."), along) {
                (Some((from, to)), Some(t)) => {
                    let (from, to) = (number(from)?, number(to)?);
                    from + t * (to - from)
                }
                _ => number(value)?,
            };
            let place = a.get_mut(count).ok_or_else(|| format!("\"{word}\" has more than three angles"))?;
            *place = rad(degrees);
            count += 1;
        }
        let most = match joint {
            "hip" | "lumbar" | "neck" | "girdle" | "shoulder" => 3,
            "ankle" => 2,
            "knee" | "elbow" | "forearm" | "wrist" => 1,
            _ => {
                return Err(format!(
                    "\"{joint}\" is no joint of a posture, expected hip, knee, ankle, lumbar, neck, girdle, shoulder, \
                     elbow, forearm or wrist"
                ));
            }
        };
        if count > most {
            return Err(format!("\"{word}\" has {count} angles, expected at most {most}"));
        }
        match joint {
            "hip" => {
                limbs.hip = hip_matrix(a[0], a[1], a[2]);
                hip_flexion_rad = a[0];
            }
            "knee" => limbs.knee_flexion_rad = a[0],
            "ankle" => (limbs.ankle_plantarflexion_rad, limbs.ankle_inversion_rad) = (a[0], a[1]),
            "lumbar" => p.lumbar = spine_matrix(a[0], a[1], a[2]),
            "neck" => p.neck = spine_matrix(a[0], a[1], a[2]),
            "girdle" => {
                limbs.girdle = Girdle { elevation_rad: a[0], protraction_rad: a[1], upward_rotation_rad: a[2] };
            }
            "shoulder" => {
                limbs.shoulder = shoulder_matrix(a[0], a[1], a[2]);
                plane_rad = a[0];
            }
            "elbow" => limbs.elbow_flexion_rad = a[0],
            "forearm" => limbs.forearm_pronation_rad = a[0],
            _ => limbs.wrist_flexion_rad = a[0],
        }
    }
    p.right = limbs;
    Ok(Stance { posture: p, hip_flexion_rad, plane_rad })
}

/// A joint axis by its dotted name, positive in the named direction. Ball joints: hip flexion about the pelvis' Z, hip
/// abduction about the flexed −X, rotations about the long axis of the moving bone, shoulder axes in the thorax.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Axis {
    Hinge(Row),
    HipFlexion,
    HipAbduction,
    HipRotation,
    /// About the posture's own plane of elevation.
    ShoulderElevation,
    /// About a fixed plane of elevation, rad: 0 is abduction, 90° flexion.
    ShoulderIn(f64),
    /// Forward turn of the plane of elevation: horizontal adduction of the raised arm.
    ShoulderPlane,
    ShoulderRotation,
}

/// Names of the axes.
const AXES: [(&str, Axis); 23] = [
    ("hip.flexion", Axis::HipFlexion),
    ("hip.abduction", Axis::HipAbduction),
    ("hip.internal-rotation", Axis::HipRotation),
    ("knee.flexion", Axis::Hinge(Row::KneeFlexion)),
    ("ankle.plantarflexion", Axis::Hinge(Row::AnklePlantarflexion)),
    ("ankle.inversion", Axis::Hinge(Row::AnkleInversion)),
    ("lumbar.flexion", Axis::Hinge(Row::LumbarFlexion)),
    ("lumbar.side-bend", Axis::Hinge(Row::LumbarSideBend)),
    ("lumbar.rotation", Axis::Hinge(Row::LumbarRotation)),
    ("neck.flexion", Axis::Hinge(Row::NeckFlexion)),
    ("neck.side-bend", Axis::Hinge(Row::NeckSideBend)),
    ("neck.rotation", Axis::Hinge(Row::NeckRotation)),
    ("girdle.elevation", Axis::Hinge(Row::GirdleElevation)),
    ("girdle.protraction", Axis::Hinge(Row::GirdleProtraction)),
    ("girdle.upward-rotation", Axis::Hinge(Row::GirdleUpwardRotation)),
    ("shoulder.elevation", Axis::ShoulderElevation),
    ("shoulder.abduction", Axis::ShoulderIn(0.0)),
    ("shoulder.flexion", Axis::ShoulderIn(std::f64::consts::FRAC_PI_2)),
    ("shoulder.plane", Axis::ShoulderPlane),
    ("shoulder.internal-rotation", Axis::ShoulderRotation),
    ("elbow.flexion", Axis::Hinge(Row::ElbowFlexion)),
    ("forearm.pronation", Axis::Hinge(Row::ForearmPronation)),
    ("wrist.flexion", Axis::Hinge(Row::WristFlexion)),
];

/// Axes that muscles of both sides pull about together: a torque counts both.
pub fn midline(axis: Axis) -> bool {
    matches!(axis, Axis::Hinge(Row::LumbarFlexion | Row::NeckFlexion))
}

impl Axis {
    /// # Errors
    /// An unknown name, with all known ones.
    pub fn parse(name: &str) -> Result<Axis, String> {
        AXES.iter()
            .find(|(n, _)| *n == name)
            .map(|a| a.1)
            .ok_or_else(|| format!("\"{name}\" is no axis, expected one of {}", AXES.map(|a| a.0).join(", ")))
    }

    /// Weights of the rows that make up the arm about this axis.
    fn weights(self, s: &Stance, side: &SidePosture) -> [f64; ROWS] {
        let mut w = [0.0; ROWS];
        let mut set = |first: Row, v: V3| w[first.index()..first.index() + 3].copy_from_slice(v.as_slice());
        let turn = |plane: f64| V3::new(-plane.cos(), 0.0, plane.sin());
        match self {
            Axis::Hinge(row) => w[row.index()] = 1.0,
            Axis::HipFlexion => set(Row::HipX, V3::z()),
            Axis::HipAbduction => set(Row::HipX, rot_z(s.hip_flexion_rad) * -V3::x()),
            Axis::HipRotation => set(Row::HipX, side.limbs.hip * V3::y()),
            Axis::ShoulderElevation => set(Row::ShoulderX, turn(s.plane_rad)),
            Axis::ShoulderIn(plane) => set(Row::ShoulderX, turn(plane)),
            Axis::ShoulderPlane => set(Row::ShoulderX, V3::y()),
            Axis::ShoulderRotation => set(Row::ShoulderX, side.limbs.shoulder * V3::y()),
        }
        w
    }

    /// Lever arm of a head about this axis, m, positive in the named direction.
    pub fn arm_m(self, stance: &Stance, side: &SidePosture, head: &HeadState) -> f64 {
        self.weights(stance, side).iter().zip(&head.arms_m).map(|(w, r)| w * r).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Result<usize, &str>) {
        match (stances(text), expected) {
            (Ok(got), Ok(want)) => assert_eq!(got.len(), want, "{text}"),
            (Err(e), Err(part)) => assert!(e.contains(part), "{text}: {e}"),
            (got, want) => panic!("{text}: {got:?} instead of {want:?}"),
        }
    }

    #[test]
    fn postures_are_read_or_refused_with_what_was_expected() {
        check("", Ok(1));
        check("hip=45/10/-5 knee=90", Ok(1));
        check("knee=0..120", Ok(SWEEP));
        check("shoulder=0/0..90/0 | shoulder=90/45/0", Ok(SWEEP + 1));
        check("hip=0..90 knee=0..90", Err("two angles"));
        check("toe=10", Err("expected hip, knee"));
        check("knee", Err("joint=degrees"));
        check("knee=fast", Err("degrees from -360"));
        check("knee=NaN", Err("degrees from -360"));
        check("knee=1/2", Err("at most 1"));
        check("hip=1/2/3/4", Err("more than three"));
    }

    #[test]
    fn a_sweep_runs_from_end_to_end() {
        let all = stances("hip=0..90 knee=10").expect("a posture");
        let flexion = |s: &Stance| s.hip_flexion_rad.to_degrees();
        assert!((flexion(&all[0])).abs() < 1e-9 && (flexion(&all[SWEEP - 1]) - 90.0).abs() < 1e-9);
        assert!((flexion(&all[6]) - 45.0).abs() < 1e-9);
    }
}
