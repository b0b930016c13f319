//! Published segment lengths, masses and centres against the body of the same stature and mass.

use crate::cases::{CaseError, Table, judged};
use crate::model::Subject;
use anatomy::body::Body;
use anatomy::skeleton::{Segment, Side};
use answer::ProofRow;
use library::Library;
use std::collections::BTreeMap;

pub const NAME: &str = "anthropometry";
pub const CASES: &str = include_str!("../../../../data/proof/anthropometry.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let mut people = BTreeMap::new();
    let mut out = Vec::new();
    for row in table.cases() {
        let text = row.text("person")?;
        if !people.contains_key(text) {
            people.insert(text, Subject::parse(library, text).map_err(|e| row.wrong("person", e))?);
        }
        let name = row.text("what")?;
        let (_, unit, of) = WHAT.iter().find(|w| w.0 == name).ok_or_else(|| {
            let known: Vec<&str> = WHAT.iter().map(|w| w.0).collect();
            row.wrong("what", format!("\"{name}\", expected one of {}", known.join(", ")))
        })?;
        let (published, tolerance) = (row.number("value")?, row.number("tolerance")?);
        out.push(judged(row.comparison(NAME)?, unit, of(&people[text].body), published, tolerance));
    }
    Ok(out)
}

const SIDE: Side = Side::Right;

fn mass_kg(b: &Body, s: Segment) -> f64 {
    b.inertia[s.index()].mass_kg
}

/// Distance of the centre of mass below the upper joint, as a part of the length.
fn centre(b: &Body, s: Segment, length_m: f64) -> f64 {
    -b.inertia[s.index()].com_m.y / length_m
}

type What = (&'static str, &'static str, fn(&Body) -> f64);

/// Word of the table, unit, and how the body tells it.
const WHAT: &[What] = &[
    ("thigh", "mm", |b| b.thigh_m * 1e3),
    ("shank", "mm", |b| b.shank_m * 1e3),
    ("ankle-height", "mm", |b| b.ankle_height_m * 1e3),
    ("foot-length", "mm", |b| (b.toe_x_m - b.heel_x_m) * 1e3),
    ("upper-arm", "mm", |b| b.upper_arm_m * 1e3),
    ("forearm", "mm", |b| b.forearm_m * 1e3),
    ("biacromial-breadth", "mm", |b| b.biacromial_m * 1e3),
    ("hip-height", "mm", |b| (b.ankle_height_m + b.shank_m + b.thigh_m) * 1e3),
    ("knee-height", "mm", |b| (b.ankle_height_m + b.shank_m) * 1e3),
    ("standing-height", "mm", |b| b.standing_height_m() * 1e3),
    ("hand-mass", "kg", |b| mass_kg(b, Segment::Hand(SIDE))),
    ("forearm-mass", "kg", |b| mass_kg(b, Segment::Forearm(SIDE))),
    ("upper-arm-mass", "kg", |b| mass_kg(b, Segment::Humerus(SIDE))),
    ("foot-mass", "kg", |b| mass_kg(b, Segment::Foot(SIDE))),
    ("shank-mass", "kg", |b| mass_kg(b, Segment::Tibia(SIDE))),
    ("thigh-mass", "kg", |b| mass_kg(b, Segment::Femur(SIDE))),
    ("trunk-and-head-mass", "kg", |b| {
        let limbs = [Segment::Humerus, Segment::Forearm, Segment::Hand, Segment::Femur, Segment::Tibia, Segment::Foot];
        b.total_mass_kg() - 2.0 * limbs.iter().map(|s| mass_kg(b, s(SIDE))).sum::<f64>()
    }),
    ("forearm-centre", "of length", |b| centre(b, Segment::Forearm(SIDE), b.forearm_m)),
    ("upper-arm-centre", "of length", |b| centre(b, Segment::Humerus(SIDE), b.upper_arm_m)),
    ("shank-centre", "of length", |b| centre(b, Segment::Tibia(SIDE), b.shank_m)),
    ("thigh-centre", "of length", |b| centre(b, Segment::Femur(SIDE), b.thigh_m)),
];
