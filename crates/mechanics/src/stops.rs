//! Passive torques near the ends of a joint's range: one-sided stops, and the passive lumbar spine.

use crate::system::{Cheap, FrameSystem, M, ROW_NM};
use anatomy::skeleton::{Row, SidePosture, hip_angles, spine_angles};
use units::rad;

/// A one-sided stop: up to `torque_nm` in a fixed direction, growing over `width_rad` once the angle passes `from_rad`.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    pub tag: &'static str,
    pub row: Row,
    /// +1: pushes the joint in the row's positive direction.
    pub sign: f64,
    pub from_rad: f64,
    /// Positive: the stop acts above `from_rad`; negative: below.
    pub width_rad: f64,
    pub torque_nm: f64,
}

/// All passive parts that the mechanics adds by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Stops {
    pub stops: Vec<Stop>,
    /// Passive extension torque of the whole lumbar spine: torque = a · exp(flexion / b).
    pub lumbar_a_nm: f64,
    pub lumbar_b_rad: f64,
}

/// A line of the stops table that could not be used.
#[derive(Clone, Debug, PartialEq)]
pub struct StopsError {
    pub line: usize,
    pub text: String,
}

impl Stops {
    /// Parse `stops.csv`: columns tag, row, sign, from_deg, width_deg, torque_nm, source, how.
    pub fn parse(text: &str) -> Result<Stops, Vec<StopsError>> {
        let mut out = Stops { stops: Vec::new(), lumbar_a_nm: 0.0, lumbar_b_rad: 1.0 };
        let mut errors = Vec::new();
        for (i, line) in text.lines().enumerate().skip(1).filter(|(_, l)| !l.trim().is_empty()) {
            let f: Vec<&str> = line.splitn(7, ',').collect();
            let number = |k: usize| f.get(k).and_then(|v| v.trim().parse::<f64>().ok());
            let (Some(&tag), Some(&row), Some(sign), Some(from_deg), Some(width_deg), Some(torque_nm)) =
                (f.first(), f.get(1), number(2), number(3), number(4), number(5))
            else {
                errors.push(StopsError { line: i + 1, text: format!("expected six fields before the source: {line}") });
                continue;
            };
            let known = |t: &str| -> Option<&'static str> {
                ["knee straight", "hip straight", "calf against thigh", "elbow straight", "ankle bent up"]
                    .into_iter()
                    .find(|k| *k == t)
            };
            match (tag, row) {
                ("passive lumbar spine", _) => {
                    out.lumbar_a_nm = torque_nm;
                    out.lumbar_b_rad = rad(width_deg);
                }
                (t, r) => {
                    let row = match r {
                        "knee.flexion" => Some(Row::KneeFlexion),
                        "hip.flexion" => Some(Row::HipZ),
                        "elbow.flexion" => Some(Row::ElbowFlexion),
                        "ankle.plantarflexion" => Some(Row::AnklePlantarflexion),
                        _ => None,
                    };
                    match (known(t), row) {
                        (Some(tag), Some(row)) => {
                            out.stops.push(Stop {
                                tag,
                                row,
                                sign,
                                from_rad: rad(from_deg),
                                width_rad: rad(width_deg),
                                torque_nm,
                            });
                        }
                        _ => errors.push(StopsError { line: i + 1, text: format!("unknown stop \"{t}\" on \"{r}\"") }),
                    }
                }
            }
        }
        if errors.is_empty() { Ok(out) } else { Err(errors) }
    }

    /// Add stops as cheap columns and the passive spine to the right side of a block's equations.
    pub fn passive_into(&self, rows: &[Row], side: &SidePosture, symmetric: bool, s: &mut FrameSystem) {
        for (k, &row) in rows.iter().enumerate() {
            if row == Row::LumbarFlexion {
                let flexion_rad = spine_angles(&side.lumbar).0.clamp(rad(-20.0), rad(60.0));
                let torque = self.lumbar_a_nm * (flexion_rad / self.lumbar_b_rad).exp();
                // The spine pulls towards extension: so much less to do for the muscles.
                s.b0[k] += torque * if symmetric { 0.5 } else { 1.0 } / ROW_NM;
            }
            let angle = match row {
                Row::KneeFlexion => side.limbs.knee_flexion_rad,
                Row::HipZ => hip_angles(&side.limbs.hip).0,
                Row::ElbowFlexion => side.limbs.elbow_flexion_rad,
                Row::AnklePlantarflexion => side.limbs.ankle_plantarflexion_rad,
                _ => continue,
            };
            for stop in self.stops.iter().filter(|q| q.row == row) {
                let part = ((angle - stop.from_rad) / stop.width_rad).clamp(0.0, 1.0);
                let mut column = [0.0; M];
                column[k] = stop.sign / ROW_NM;
                s.cheap.push(Cheap {
                    tag: stop.tag,
                    column,
                    lo: (0.0, 0.0),
                    hi: (part * stop.torque_nm, 0.0),
                    cost: 1e-5,
                    free: None,
                });
            }
        }
    }
}
