//! Shared by the head tests: the shipped tables, seeded random postures.
#![allow(dead_code)]

use anatomy::body::Body;
use anatomy::heads::AnatomyTables;
use anatomy::skeleton::{Girdle, Limbs, Posture, Side, SidePosture, hip_matrix, shoulder_matrix, spine_matrix};
use units::rad;

macro_rules! table {
    ($name:literal) => {
        (concat!("data/anatomy/", $name), include_str!(concat!("../../../../data/anatomy/", $name)))
    };
}

pub const FILES: [(&str, &str); 11] = [
    table!("heads.csv"),
    table!("hinge_arms.csv"),
    table!("paths.csv"),
    table!("obstacles.csv"),
    table!("tension_classes.csv"),
    table!("strength.csv"),
    table!("shoulder_anchors.csv"),
    table!("joint_centres.csv"),
    table!("lines_of_pull.csv"),
    table!("constants.csv"),
    table!("sources.csv"),
];

pub fn tables() -> AnatomyTables {
    AnatomyTables::parse(&FILES).unwrap_or_else(|problems| {
        let text: Vec<_> = problems.iter().map(|p| p.to_string()).collect();
        panic!("the shipped tables have problems:\n{}", text.join("\n"))
    })
}

pub fn head(tables: &AnatomyTables, id: &str) -> usize {
    tables.head_index(id).unwrap_or_else(|| panic!("no head {id}"))
}

/// SplitMix64 (Steele, Lea & Flood 2014): seeded, the same on every machine.
pub struct Random(pub u64);

impl Random {
    /// Even in [low, high).
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        low + (high - low) * ((z >> 11) as f64 / (1u64 << 53) as f64)
    }
    pub fn degrees(&mut self, low: f64, high: f64) -> f64 {
        rad(self.between(low, high))
    }
}

/// A random posture inside the ranges of training (AAOS 1965, Boone & Azen 1979, White & Panjabi 1990, from memory).
/// One in five reaches behind the body, up to 50°.
pub fn random_posture(body: &Body, r: &mut Random) -> SidePosture {
    let shoulder = if r.between(0.0, 1.0) < 0.2 {
        shoulder_matrix(r.degrees(-110.0, -60.0), r.degrees(0.0, 50.0), r.degrees(-60.0, 60.0))
    } else {
        shoulder_matrix(r.degrees(-35.0, 125.0), r.degrees(0.0, 175.0), r.degrees(-95.0, 80.0))
    };
    let right = Limbs {
        hip: hip_matrix(r.degrees(-20.0, 135.0), r.degrees(-30.0, 50.0), r.degrees(-60.0, 45.0)),
        knee_flexion_rad: r.degrees(-5.0, 150.0),
        tibia_rotation_rad: 0.0,
        ankle_plantarflexion_rad: r.degrees(-45.0, 50.0),
        ankle_inversion_rad: r.degrees(-15.0, 30.0),
        girdle: Girdle {
            elevation_rad: r.degrees(-8.0, 35.0),
            protraction_rad: r.degrees(-22.0, 22.0),
            upward_rotation_rad: r.degrees(-5.0, 5.0),
        },
        shoulder,
        elbow_flexion_rad: r.degrees(-5.0, 150.0),
        forearm_pronation_rad: r.degrees(-85.0, 80.0),
        wrist_flexion_rad: r.degrees(-65.0, 70.0),
    };
    let lumbar = spine_matrix(r.degrees(-25.0, 55.0), r.degrees(-25.0, 25.0), r.degrees(-45.0, 45.0));
    let neck = spine_matrix(r.degrees(-50.0, 45.0), r.degrees(-40.0, 40.0), r.degrees(-60.0, 60.0));
    SidePosture::new(body, &Posture { lumbar, neck, right, ..Posture::default() }, Side::Right)
}
