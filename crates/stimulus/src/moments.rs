//! Required muscle moments in anatomical words.

use anatomy::skeleton::{ROWS, Row, hip_angles};
use mechanics::solve::{Prepared, Shares};
use mechanics::system::{Block, FrameSystem, ROW_NM, required_rows};
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

/// Words for a row's two directions.
const WORDS: [(Row, &str, &str); 12] = [
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
];

/// Opposite directions of one axis.
const OPPOSITES: [(&str, &str); 9] = [
    ("flexion", "extension"),
    ("abduction", "adduction"),
    ("internal-rotation", "external-rotation"),
    ("horizontal-adduction", "horizontal-abduction"),
    ("plantarflexion", "dorsiflexion"),
    ("pronation", "supination"),
    ("side-bend-right", "side-bend-left"),
    ("rotation-left", "rotation-right"),
    ("elevation", "depression"),
];

/// The axis that turns the other way, `hip.extension` for `hip.flexion`.
pub fn opposite_axis(axis: &str) -> Option<String> {
    let (joint, direction) = axis.split_once('.')?;
    let other = OPPOSITES.iter().find_map(|(a, b)| match direction {
        d if d == *a => Some(*b),
        d if d == *b => Some(*a),
        _ => None,
    })?;
    Some(format!("{joint}.{other}"))
}

/// Signed moments of one frame at a load by anatomical axis: (positive direction, negative direction, N·m). Free contact
/// forces count as `shares` found them, or as zero.
fn signed_moments(
    rep: &Rep,
    prepared: &Prepared,
    blocks: &[(&Block, &FrameSystem)],
    shares: Option<&Shares>,
    frame: usize,
    load: f64,
) -> Vec<(&'static str, &'static str, f64)> {
    let f = &prepared.frames[frame];
    let mut rows = [0.0; ROWS];
    let mut seen: Vec<Row> = Vec::new();
    for (b, system) in blocks {
        let mut r = required_rows(rep, b, f, load);
        if let Some(shares) = shares {
            // A passive torque inside the body (no wrench) is the joint's own and stays.
            let contacts = system.cheap.iter().filter_map(|c| Some((c, c.free.filter(|i| f.free[*i].is_some())?)));
            for (c, i) in contacts {
                for (k, &row) in b.rows.iter().enumerate() {
                    r[row.index()] -= c.column[k] * ROW_NM * shares.free[frame][i];
                }
            }
        }
        for &row in &b.rows {
            rows[row.index()] = r[row.index()];
            seen.push(row);
        }
    }
    let mut out = Vec::new();
    let get = |r: Row| rows[r.index()];
    if seen.contains(&Row::HipZ) {
        let m = V3::new(get(Row::HipX), get(Row::HipY), get(Row::HipZ));
        let (flexion, _, _) = hip_angles(&f.side.limbs.hip);
        let abduction = -V3::new(flexion.cos(), flexion.sin(), 0.0);
        out.push(("hip.flexion", "hip.extension", m.z));
        out.push(("hip.abduction", "hip.adduction", m.dot(&abduction)));
        let turn = m.dot(&f.side.limbs.hip.column(1));
        out.push(("hip.internal-rotation", "hip.external-rotation", turn));
    }
    if seen.contains(&Row::ShoulderZ) {
        let m = V3::new(get(Row::ShoulderX), get(Row::ShoulderY), get(Row::ShoulderZ));
        out.push(("shoulder.flexion", "shoulder.extension", m.z));
        out.push(("shoulder.abduction", "shoulder.adduction", -m.x));
        out.push(("shoulder.horizontal-adduction", "shoulder.horizontal-abduction", m.y));
        let turn = m.dot(&f.side.limbs.shoulder.column(1));
        out.push(("shoulder.internal-rotation", "shoulder.external-rotation", turn));
    }
    out.extend(WORDS.into_iter().filter(|w| seen.contains(&w.0)).map(|(row, plus, minus)| (plus, minus, get(row))));
    out
}

/// Moments that muscles must make in one frame at a load, N·m, each named by the direction in which it is positive; the
/// girdle's second stage is among them.
pub fn frame_moments(rep: &Rep, prepared: &Prepared, frame: usize, load: f64) -> Vec<(&'static str, f64)> {
    let second = prepared.second.iter().map(|s| (&s.0, &s.1[frame]));
    let blocks: Vec<_> = first_stage(prepared, frame).chain(second).collect();
    signed_moments(rep, prepared, &blocks, None, frame, load)
        .into_iter()
        .map(|(plus, minus, v)| if v >= 0.0 { (plus, v) } else { (minus, -v) })
        .collect()
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

fn first_stage(prepared: &Prepared, frame: usize) -> impl Iterator<Item = (&Block, &FrameSystem)> {
    prepared.blocks.iter().zip(prepared.systems.iter().map(move |s| &s[frame]))
}

fn moments(rep: &Rep, prepared: &Prepared, shares: Option<&Shares>, load: f64) -> Vec<AxisMoment> {
    let mut out: Vec<(&'static str, &'static str, Vec<f64>)> = Vec::new();
    for t in 0..prepared.frames.len() {
        let blocks: Vec<_> = first_stage(prepared, t).collect();
        let signed = signed_moments(rep, prepared, &blocks, shares, t, load);
        for (k, (plus, minus, v)) in signed.into_iter().enumerate() {
            match out.get_mut(k) {
                Some(axis) => axis.2.push(v),
                None => out.push((plus, minus, vec![v])),
            }
        }
    }
    out.into_iter()
        .map(|(plus, minus, v)| {
            if v.iter().sum::<f64>() >= 0.0 {
                AxisMoment { axis: plus, values_nm: v }
            } else {
                AxisMoment { axis: minus, values_nm: v.into_iter().map(|x| -x).collect() }
            }
        })
        .collect()
}
