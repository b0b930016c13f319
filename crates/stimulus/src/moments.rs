//! Required muscle moments in anatomical words.

use anatomy::skeleton::{ROWS, Row, hip_angles};
use mechanics::solve::{Prepared, Shares};
use mechanics::system::{ROW_NM, required_rows};
use movement::rep::Rep;
use units::V3;

/// One anatomical axis over the lift; positive in the named direction.
#[derive(Clone, Debug)]
pub struct AxisMoment {
    /// Dotted name of the direction the muscles must turn, e.g. `hip.extension`.
    pub axis: &'static str,
    /// N·m per frame, positive in that direction.
    pub values_nm: Vec<f64>,
}

impl AxisMoment {
    pub fn peak(&self) -> (f64, usize) {
        self.values_nm
            .iter()
            .enumerate()
            .fold((f64::NEG_INFINITY, 0), |best, (i, v)| if *v > best.0 { (*v, i) } else { best })
    }
    pub fn mean(&self) -> f64 {
        self.values_nm.iter().sum::<f64>() / self.values_nm.len().max(1) as f64
    }
}

/// Required moments of the right side at a load, every balanced axis in the direction in which its mean is positive.
/// Free contact components count as zero.
pub fn axis_moments(rep: &Rep, prepared: &Prepared, load: f64) -> Vec<AxisMoment> {
    moments(rep, prepared, None, load)
}

/// The same with the free contact forces that the sharing found (side and fore-aft push of the feet, push along a bar):
/// what a force plate and a camera would measure.
pub fn net_axis_moments(rep: &Rep, prepared: &Prepared, shares: &Shares, load: f64) -> Vec<AxisMoment> {
    moments(rep, prepared, Some(shares), load)
}

fn moments(rep: &Rep, prepared: &Prepared, shares: Option<&Shares>, load: f64) -> Vec<AxisMoment> {
    let n = prepared.frames.len();
    let mut by_axis: Vec<(&'static str, &'static str, Vec<f64>)> = Vec::new();
    for (t, f) in prepared.frames.iter().enumerate() {
        let mut rows = [0.0; ROWS];
        let mut seen: Vec<Row> = Vec::new();
        for (b, systems) in prepared.blocks.iter().zip(&prepared.systems) {
            let mut r = required_rows(rep, b, f, load);
            // A passive torque inside the body (no wrench) is the joint's own and stays.
            let contacts = systems[t].cheap.iter().filter_map(|c| Some((c, c.free.filter(|i| f.free[*i].is_some())?)));
            for (c, i) in contacts {
                let force = shares.map_or(0.0, |s| s.free[t][i]);
                for (k, &row) in b.rows.iter().enumerate() {
                    r[row.index()] -= c.column[k] * ROW_NM * force;
                }
            }
            for &row in &b.rows {
                rows[row.index()] = r[row.index()];
                seen.push(row);
            }
        }
        let mut put = |plus: &'static str, minus: &'static str, v: f64| {
            if let Some(e) = by_axis.iter_mut().find(|e| e.0 == plus) {
                e.2.push(v);
            } else {
                let mut values = vec![0.0; t];
                values.push(v);
                by_axis.push((plus, minus, values));
            }
        };
        let get = |r: Row| rows[r.index()];
        if seen.contains(&Row::HipZ) {
            let m = V3::new(get(Row::HipX), get(Row::HipY), get(Row::HipZ));
            let (flexion, _, _) = hip_angles(&f.side.limbs.hip);
            let abduction = -V3::new(flexion.cos(), flexion.sin(), 0.0);
            put("hip.flexion", "hip.extension", m.z);
            put("hip.abduction", "hip.adduction", m.dot(&abduction));
            put("hip.internal-rotation", "hip.external-rotation", m.dot(&f.side.limbs.hip.column(1)));
        }
        if seen.contains(&Row::ShoulderZ) {
            let m = V3::new(get(Row::ShoulderX), get(Row::ShoulderY), get(Row::ShoulderZ));
            put("shoulder.flexion", "shoulder.extension", m.z);
            put("shoulder.abduction", "shoulder.adduction", -m.x);
            put("shoulder.horizontal-adduction", "shoulder.horizontal-abduction", m.y);
            put("shoulder.internal-rotation", "shoulder.external-rotation", m.dot(&f.side.limbs.shoulder.column(1)));
        }
        for (row, plus, minus) in [
            (Row::KneeFlexion, "knee.flexion", "knee.extension"),
            (Row::AnklePlantarflexion, "ankle.plantarflexion", "ankle.dorsiflexion"),
            (Row::LumbarFlexion, "lumbar.flexion", "lumbar.extension"),
            (Row::LumbarSideBend, "lumbar.side-bend-right", "lumbar.side-bend-left"),
            (Row::LumbarRotation, "lumbar.rotation-left", "lumbar.rotation-right"),
            (Row::NeckFlexion, "neck.flexion", "neck.extension"),
            (Row::ElbowFlexion, "elbow.flexion", "elbow.extension"),
            (Row::ForearmPronation, "forearm.pronation", "forearm.supination"),
            (Row::WristFlexion, "wrist.flexion", "wrist.extension"),
            (Row::GirdleElevation, "girdle.elevation", "girdle.depression"),
            (Row::GirdleProtraction, "girdle.protraction", "girdle.retraction"),
            (Row::GirdleUpwardRotation, "girdle.upward-rotation", "girdle.downward-rotation"),
        ] {
            if seen.contains(&row) {
                put(plus, minus, get(row));
            }
        }
    }
    by_axis
        .into_iter()
        .filter(|(_, _, v)| v.len() == n)
        .map(|(plus, minus, v)| {
            if v.iter().sum::<f64>() >= 0.0 {
                AxisMoment { axis: plus, values_nm: v }
            } else {
                AxisMoment { axis: minus, values_nm: v.into_iter().map(|x| -x).collect() }
            }
        })
        .collect()
}
