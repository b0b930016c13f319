//! Cases in which two variants have the same joint angles in every frame and differ in the direction of a force, a
//! load curve or a contact. A rule that sees joint angles alone cannot tell them apart; statics can.
//!
//! Columns: `id, movement, movement_b, measure, frames, load, want, source, how, note`. `want`: `up` or `down`, what
//! the second variant does to the measure; `load`: `same` (both at the smaller of their hard sets), empty (each at its
//! own).

use crate::Group;
use crate::cases::{CaseError, Row, Table};
use crate::solved::{Solved, Window};
use answer::ProofRow;
use library::{Library, Study};
use units::log_rotation;

pub const GROUP: Group = Group {
    name: "joint-angle-proof",
    title: "Same joint angles, other force: does the answer turn the right way?",
    cases: include_str!("../../../../data/proof/joint-angle-proof.csv"),
    judge,
};

/// Joint angles of two variants may differ by this much and still count as the same, degrees.
const SAME_DEG: f64 = 0.5;
/// A smaller relative change than this is no change.
const LEAST_CHANGE: f64 = 0.02;

/// A smaller change of activation than this is no change, whatever its ratio.
const LEAST_ACTIVATION: f64 = 0.02;

fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let mut words = Vec::new();
    for row in table.rows() {
        words.extend([row.text("movement")?.to_string(), row.text("movement_b")?.to_string()]);
    }
    let postures = crate::postures::library().map_err(|e| CaseError { file: table.file.clone(), line: 0, text: e })?;
    let solved = Solved::new(library, Some(postures), words);
    table.rows().map(|row| one(&row, &solved)).collect()
}

fn one(row: &Row, solved: &Solved) -> Result<ProofRow, CaseError> {
    let want = match row.text("want")? {
        "up" => 1.0,
        "down" => -1.0,
        w => return Err(row.error(format!("`want` is \"{w}\", expected up or down"))),
    };
    let window = Window::read(row, "frames")?;
    let same_load = match row.text("load")? {
        "" => false,
        "same" => true,
        w => return Err(row.error(format!("`load` is \"{w}\", expected same or nothing"))),
    };
    let mut out = ProofRow {
        group: GROUP.name.into(),
        id: row.text("id")?.into(),
        source: row.text("source")?.into(),
        how: row.text("how")?.into(),
        published: want,
        unit: "sign".into(),
        ..ProofRow::default()
    };
    let measure = row.text("measure")?;
    let value = || -> Result<(f64, f64, f64, f64), String> {
        let a = solved.study(row.text("movement").map_err(|e| e.to_string())?)?;
        let b = solved.study(row.text("movement_b").map_err(|e| e.to_string())?)?;
        // The smaller of the two hard sets: both variants can carry it.
        let load = same_load.then_some(a.solved.load.load.min(b.solved.load.load));
        let va = solved.at(a, load).measure(measure, window)?;
        let vb = solved.at(b, load).measure(measure, window)?;
        Ok((va, vb, largest_difference_deg(a, b), rule_difference(solved, a, b)))
    };
    match value() {
        Ok((a, b, apart_deg, rule)) => {
            let change = (b - a) / a.abs().max(b.abs()).max(1e-9);
            let small = measure.starts_with("activation") && (b - a).abs() < LEAST_ACTIVATION;
            let sign = if small || change.abs() < LEAST_CHANGE { 0.0 } else { change.signum() };
            out.value = Some(sign);
            let same = apart_deg <= SAME_DEG;
            out.pass = same && sign == want;
            out.note = format!("{measure} {a:.3} to {b:.3}; joint angles differ by at most {apart_deg:.2} degrees");
            if !same {
                out.note += ", too much to count";
            }
            out.note += if rule < LEAST_CHANGE {
                "; joint angles alone: no difference, wrong"
            } else {
                "; joint angles alone: see a difference"
            };
        }
        Err(e) => out.note = format!("not computed: {e}"),
    }
    let note = row.text("note")?;
    if !note.is_empty() {
        out.note += &format!("; {note}");
    }
    Ok(out)
}

/// Largest difference of any joint of the right side, the lumbar spine and the neck over the lift, degrees.
pub fn largest_difference_deg(a: &Study, b: &Study) -> f64 {
    if a.rep.frames.len() != b.rep.frames.len() {
        return f64::INFINITY;
    }
    let mut worst = 0.0f64;
    for (x, y) in a.rep.frames.iter().zip(&b.rep.frames) {
        let (p, q) = (&x.posture, &y.posture);
        for (r, s) in
            [(p.lumbar, q.lumbar), (p.neck, q.neck), (p.right.hip, q.right.hip), (p.right.shoulder, q.right.shoulder)]
        {
            worst = worst.max(log_rotation(&(r * s.transpose())).norm());
        }
        let (l, m) = (&p.right, &q.right);
        for d in [
            l.knee_flexion_rad - m.knee_flexion_rad,
            l.tibia_rotation_rad - m.tibia_rotation_rad,
            l.ankle_plantarflexion_rad - m.ankle_plantarflexion_rad,
            l.ankle_inversion_rad - m.ankle_inversion_rad,
            l.girdle.elevation_rad - m.girdle.elevation_rad,
            l.girdle.protraction_rad - m.girdle.protraction_rad,
            l.girdle.upward_rotation_rad - m.girdle.upward_rotation_rad,
            l.elbow_flexion_rad - m.elbow_flexion_rad,
            l.forearm_pronation_rad - m.forearm_pronation_rad,
            l.wrist_flexion_rad - m.wrist_flexion_rad,
        ] {
            worst = worst.max(d.abs());
        }
    }
    worst.to_degrees()
}

/// Largest relative difference that the joint-angle rule (net shortening × mean length) sees in any head.
fn rule_difference(solved: &Solved, a: &Study, b: &Study) -> f64 {
    (0..solved.library.tables.heads.len())
        .filter(|&h| a.lengths[h].is_some() && b.lengths[h].is_some())
        .map(|h| {
            let (x, y) = (solved.angle_rule(a, &[h]), solved.angle_rule(b, &[h]));
            // Below a hundredth of a fibre length the rule says "not used" either way.
            (x - y).abs() / x.max(y).max(0.01)
        })
        .fold(0.0, f64::max)
}
