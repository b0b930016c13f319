//! Reads `data/body/*.csv`. All problems of all files are collected before anything is refused.

use super::tables::{
    BodyConstants, BodyTables, Distribution, LENGTH_NAMES, LandmarkLength, Landmarks, MEASURES, POPULATION_NAMES,
    Prediction, SEGMENT_NAMES, SegmentRow, SexTables, WinterRow,
};
use super::{Part, Sex, Tape};
use crate::heads::table::{Line, Problems, Table};
use crate::heads::{Problem, TableError};
use numerics::dense::cholesky;
use std::collections::BTreeMap;
use units::V3;

type Files<'a> = &'a [(&'a str, &'a str)];
/// Rows of men and of women, by name.
type BySex<T> = [BTreeMap<String, T>; 2];

const SEXES: [(&str, Sex); 2] = [("male", Sex::Male), ("female", Sex::Female)];
const LARGE: f64 = 1e4;

pub(super) fn parse(files: Files) -> Result<BodyTables, Vec<Problem>> {
    let p = Problems::default();
    let samples = samples_m(files, &p);
    let [men_segments, women_segments] = segments(files, samples, &p);
    let [men_lengths, women_lengths] = lengths(files, &p);
    let [men_population, women_population] = population(files, &p);
    let [men_civil, women_civil] = civil(files, &p);
    let [men_predict, women_predict] = predictions(files, &p);
    let [men_correlation, women_correlation] = correlations(files, &p);
    let sexes = [
        SexTables {
            segments: men_segments,
            lengths: men_lengths,
            population: men_population,
            predictions: men_predict,
            civil_mean: men_civil,
            correlation: men_correlation,
        },
        SexTables {
            segments: women_segments,
            lengths: women_lengths,
            population: women_population,
            predictions: women_predict,
            civil_mean: women_civil,
            correlation: women_correlation,
        },
    ];
    let tables =
        BodyTables::new(sexes, winter(files, &p), constants(files, &p), tape_errors(files, &p), landmarks(files, &p));
    let problems = std::mem::take(&mut *p.0.borrow_mut());
    if problems.is_empty() { Ok(tables) } else { Err(problems) }
}

fn sex_index(l: &Line) -> Option<usize> {
    l.one_of("sex", "a sex (male, female)", &SEXES).map(|s| if s == Sex::Male { 0 } else { 1 })
}

/// Every row must say where it comes from.
fn sourced(l: &Line) {
    l.text("source");
    l.text("how");
}

/// A number, or `None` for an empty cell.
fn optional(l: &Line, column: &'static str, low: f64, high: f64) -> Option<f64> {
    (!l.raw(column).is_empty()).then(|| l.number(column, low, high))
}

/// Adds a row; a second one of the same name is a problem.
fn insert<T>(l: &Line, column: &'static str, map: &mut BTreeMap<String, T>, name: &str, row: T) {
    if map.insert(name.to_string(), row).is_some() {
        l.problem(column, TableError::Duplicate { got: name.to_string() });
    }
}

/// Every name must be there for both sexes.
fn require<T>(table: &Table, column: &'static str, what: &'static str, names: &[&str], rows: &BySex<T>, p: &Problems) {
    for (rows, (sex, _)) in rows.iter().zip(SEXES) {
        for name in names.iter().filter(|n| !rows.contains_key(**n)) {
            p.add(table.file, 1, column, TableError::Missing { what, name: format!("{sex} {name}") });
        }
    }
}

/// Mean stature of the men and women behind the segment table, m.
fn samples_m(files: Files, p: &Problems) -> [f64; 2] {
    let table = Table::read(files, "sample_de_leva.csv", &["sex", "stature_mm", "source", "how"], p);
    let mut out = [f64::NAN; 2];
    for l in table.lines(p) {
        sourced(&l);
        if let Some(i) = sex_index(&l) {
            out[i] = l.number("stature_mm", 1000.0, 2500.0) * 1e-3;
        }
    }
    for (stature, (sex, _)) in out.iter().zip(SEXES) {
        if stature.is_nan() {
            p.add(table.file, 1, "sex", TableError::Missing { what: "stature", name: sex.to_string() });
        }
    }
    out
}

fn segments(files: Files, sample_m: [f64; 2], p: &Problems) -> BySex<SegmentRow> {
    let columns = &[
        "sex",
        "segment",
        "mass_fraction",
        "com_from_first",
        "rg_anteroposterior",
        "rg_mediolateral",
        "rg_longitudinal",
        "sample_length_mm",
        "endpoints",
        "source",
        "how",
    ];
    let table = Table::read(files, "segments_de_leva.csv", columns, p);
    let mut out = BySex::default();
    for l in table.lines(p) {
        sourced(&l);
        l.text("endpoints");
        let Some(i) = sex_index(&l) else { continue };
        let row = SegmentRow {
            mass_fraction: l.number("mass_fraction", 0.0, 1.0),
            com_from_first: l.number("com_from_first", 0.0, 1.0),
            rg_anteroposterior: l.number("rg_anteroposterior", 0.01, 1.0),
            rg_mediolateral: l.number("rg_mediolateral", 0.01, 1.0),
            rg_longitudinal: l.number("rg_longitudinal", 0.01, 1.0),
            length_fraction: optional(&l, "sample_length_mm", 10.0, 1500.0).map(|mm| mm * 1e-3 / sample_m[i]),
        };
        insert(&l, "segment", &mut out[i], l.text("segment"), row);
    }
    require(&table, "segment", "segment row", &SEGMENT_NAMES, &out, p);
    for (rows, (sex, _)) in out.iter().zip(SEXES) {
        // A joint-centre length is wanted of all but the head, whose length comes from landmarks.
        for name in SEGMENT_NAMES.iter().skip(1) {
            if rows.get(*name).is_some_and(|r| r.length_fraction.is_none()) {
                let error = TableError::Missing { what: "length", name: format!("{sex} {name}") };
                p.add(table.file, 1, "sample_length_mm", error);
            }
        }
    }
    out
}

fn winter(files: Files, p: &Problems) -> BTreeMap<String, WinterRow> {
    let columns = &[
        "segment",
        "mass_fraction",
        "com_from_proximal",
        "rg_com",
        "rg_proximal",
        "rg_distal",
        "density_g_cm3",
        "source",
        "how",
    ];
    let table = Table::read(files, "segments_dempster_winter.csv", columns, p);
    let mut out = BTreeMap::new();
    for l in table.lines(p) {
        sourced(&l);
        let row = WinterRow {
            mass_fraction: l.number("mass_fraction", 0.0, 1.0),
            com_from_proximal: l.number("com_from_proximal", 0.0, 1.0),
            rg_com: optional(&l, "rg_com", 0.01, 2.0),
            rg_proximal: optional(&l, "rg_proximal", 0.01, 2.0),
            rg_distal: optional(&l, "rg_distal", 0.01, 2.0),
            density_kg_m3: optional(&l, "density_g_cm3", 0.5, 2.0).map(|d| d * 1e3),
        };
        insert(&l, "segment", &mut out, l.text("segment"), row);
    }
    out
}

/// Mean, SD and percentiles from columns of one unit.
fn distribution(l: &Line, columns: [&'static str; 5], scale: f64) -> Distribution {
    let [mean, sd, p5, p50, p95] = columns.map(|c| l.number(c, 0.0, LARGE) * scale);
    for (low, high) in [(p5, p50), (p50, p95)] {
        if high <= low {
            l.problem(columns[3], TableError::NotIncreasing { previous: low, got: high });
        }
    }
    Distribution { mean, sd, p5, p50, p95 }
}

fn lengths(files: Files, p: &Problems) -> BySex<LandmarkLength> {
    let columns = &[
        "sex",
        "measure",
        "mean_mm",
        "sd_mm",
        "p5_mm",
        "p50_mm",
        "p95_mm",
        "ratio_mean",
        "ratio_sd",
        "ratio_p5",
        "ratio_p50",
        "ratio_p95",
        "per_stature",
        "intercept_mm",
        "residual_sd_mm",
        "endpoints",
        "source",
        "how",
    ];
    let table = Table::read(files, "ansur_lengths.csv", columns, p);
    let mut out = BySex::default();
    for l in table.lines(p) {
        sourced(&l);
        let Some(i) = sex_index(&l) else { continue };
        let row = LandmarkLength {
            length_m: distribution(&l, ["mean_mm", "sd_mm", "p5_mm", "p50_mm", "p95_mm"], 1e-3),
            ratio: distribution(&l, ["ratio_mean", "ratio_sd", "ratio_p5", "ratio_p50", "ratio_p95"], 1.0),
            per_stature: l.number("per_stature", -2.0, 2.0),
            intercept_m: l.number("intercept_mm", -1000.0, 1000.0) * 1e-3,
            residual_sd_m: l.number("residual_sd_mm", 0.1, 200.0) * 1e-3,
            endpoints: l.text("endpoints").to_string(),
        };
        insert(&l, "measure", &mut out[i], l.text("measure"), row);
    }
    let parts = Part::ALL.map(Part::landmark);
    require(&table, "measure", "length row", &parts, &out, p);
    require(&table, "measure", "length row", &LENGTH_NAMES, &out, p);
    out
}

fn population(files: Files, p: &Problems) -> BySex<Distribution> {
    let columns = &["sex", "what", "unit", "mean", "sd", "p5", "p50", "p95", "source", "how"];
    let table = Table::read(files, "ansur_population.csv", columns, p);
    let units = [("mm", 1e-3), ("kg", 1.0), ("kg/m2", 1.0), ("y", 1.0), ("ratio", 1.0)];
    let mut out = BySex::default();
    for l in table.lines(p) {
        sourced(&l);
        let (Some(i), Some(scale)) = (sex_index(&l), l.one_of("unit", "a unit (mm, kg, kg/m2, y, ratio)", &units))
        else {
            continue;
        };
        let row = distribution(&l, ["mean", "sd", "p5", "p50", "p95"], scale);
        insert(&l, "what", &mut out[i], l.text("what"), row);
    }
    require(&table, "what", "row", &POPULATION_NAMES, &out, p);
    out
}

fn civil(files: Files, p: &Problems) -> BySex<f64> {
    let table = Table::read(files, "nhanes.csv", &["sex", "what", "mean", "source", "how"], p);
    let mut out = BySex::default();
    for l in table.lines(p) {
        sourced(&l);
        if let Some(i) = sex_index(&l) {
            insert(&l, "what", &mut out[i], l.text("what"), l.number("mean", 0.1, 500.0));
        }
    }
    require(&table, "what", "row", &["stature_m", "mass_kg"], &out, p);
    out
}

fn predictions(files: Files, p: &Problems) -> [Vec<Prediction>; 2] {
    let columns = &[
        "sex",
        "target",
        "intercept_mm",
        "per_stature",
        "second",
        "per_second",
        "third",
        "per_third",
        "residual_sd_mm",
        "source",
        "how",
    ];
    let table = Table::read(files, "ansur_predict.csv", columns, p);
    let mut out = [Vec::new(), Vec::new()];
    for l in table.lines(p) {
        sourced(&l);
        let Some(i) = sex_index(&l) else { continue };
        let pairs = [("second", "per_second"), ("third", "per_third")];
        let given = pairs.iter().filter(|(name, _)| !l.raw(name).is_empty());
        out[i].push(Prediction {
            target: l.text("target").to_string(),
            intercept_m: l.number("intercept_mm", -1000.0, 1000.0) * 1e-3,
            per_stature: l.number("per_stature", -2.0, 2.0),
            further: given.map(|(name, slope)| (l.raw(name).to_string(), l.number(slope, -2.0, 2.0))).collect(),
            residual_sd_m: l.number("residual_sd_mm", 0.1, 200.0) * 1e-3,
        });
    }
    out
}

/// Correlations of parts, sitting height and span at equal stature, from those of the whole population:
/// (r_ij − r_is r_js) / sqrt((1 − r_is²)(1 − r_js²)).
fn correlations(files: Files, p: &Problems) -> [[[f64; MEASURES]; MEASURES]; 2] {
    let table = Table::read(files, "ansur_joint.csv", JOINT_COLUMNS, p);
    let names = &JOINT_COLUMNS[5..];
    let mut seen = [[false; MEASURES]; 2];
    let mut stature = [[0.0; MEASURES]; 2];
    let mut r = [[[0.0; MEASURES]; MEASURES]; 2];
    for l in table.lines(p) {
        sourced(&l);
        let Some(s) = sex_index(&l) else { continue };
        let name = l.text("variable");
        let Some(i) = names.iter().position(|n| n.strip_prefix("r_") == Some(name)) else { continue };
        seen[s][i] = true;
        stature[s][i] = l.number("r_stature", -0.99, 0.99);
        for (j, column) in names.iter().enumerate() {
            r[s][i][j] = l.number(column, -1.0, 1.0);
        }
    }
    let mut out = r;
    for (s, (sex, _)) in SEXES.iter().enumerate() {
        for (i, _) in seen[s].iter().enumerate().filter(|(_, seen)| !**seen) {
            let error = TableError::Missing { what: "row", name: format!("{sex} {}", names[i]) };
            p.add(table.file, 1, "variable", error);
        }
        for i in 0..MEASURES {
            for j in 0..MEASURES {
                let (a, b) = (stature[s][i], stature[s][j]);
                let symmetric = 0.5 * (r[s][i][j] + r[s][j][i]);
                out[s][i][j] = (symmetric - a * b) / ((1.0 - a * a) * (1.0 - b * b)).sqrt();
            }
            out[s][i][i] = 1.0;
        }
        if seen[s].iter().all(|&x| x) && !cholesky(&mut out[s].clone()) {
            let error = TableError::Missing { what: "positive definite correlation matrix", name: sex.to_string() };
            p.add(table.file, 1, "r_*", error);
        }
    }
    out
}

/// The last eleven in the order of [`Part::ALL`], sitting height, span.
const JOINT_COLUMNS: &[&str] = &[
    "sex",
    "variable",
    "r_stature",
    "source",
    "how",
    "r_thigh",
    "r_shank",
    "r_trunk-acromion-trochanter",
    "r_upper-arm",
    "r_forearm",
    "r_hand",
    "r_foot",
    "r_biacromial",
    "r_bicristal",
    "r_sitting-height",
    "r_arm-span",
];

fn constants(files: Files, p: &Problems) -> BodyConstants {
    let table = Table::read(files, "body_constants.csv", &["key", "value", "source", "how"], p);
    let mut out = BodyConstants::default();
    let mut seen = Vec::new();
    for l in table.lines(p) {
        sourced(&l);
        let key = l.text("key");
        match out.slot(key) {
            Some(slot) => *slot = l.number("value", -LARGE, LARGE),
            None => l.unknown("key", "a constant of the body", key, BodyConstants::NAMES.iter().copied()),
        }
        if seen.contains(&key) {
            l.problem("key", TableError::Duplicate { got: key.to_string() });
        }
        seen.push(key);
    }
    for name in BodyConstants::NAMES.iter().filter(|n| !seen.contains(n)) {
        p.add(table.file, 1, "key", TableError::Missing { what: "row", name: name.to_string() });
    }
    out
}

fn tape_errors(files: Files, p: &Problems) -> [f64; Tape::ALL.len()] {
    let table = Table::read(files, "tape_error.csv", &["measure", "error_sd_mm", "source", "how"], p);
    let mut out = [f64::NAN; Tape::ALL.len()];
    for l in table.lines(p) {
        sourced(&l);
        let name = l.text("measure");
        match Tape::ALL.iter().position(|t| t.name() == name) {
            Some(i) => out[i] = l.number("error_sd_mm", 0.1, 100.0) * 1e-3,
            None => l.unknown("measure", "a tape measure", name, Tape::ALL.iter().map(|t| t.name())),
        }
    }
    for (tape, _) in Tape::ALL.iter().zip(out).filter(|(_, e)| e.is_nan()) {
        p.add(table.file, 1, "measure", TableError::Missing { what: "error", name: tape.name().to_string() });
    }
    out
}

fn landmarks(files: Files, p: &Problems) -> Landmarks {
    let table = Table::read(files, "joint_centres.csv", &["point", "x_mm", "y_mm", "z_mm", "source", "how"], p);
    let find = |name: &str| match table.lines(p).find(|l| l.raw("point") == name) {
        Some(l) => l.point("x_mm", "y_mm", "z_mm"),
        None => {
            p.add(table.file, 1, "point", TableError::Missing { what: "row", name: name.to_string() });
            V3::zeros()
        }
    };
    let lumbar = find("L4-L5 (lumbar joint)");
    Landmarks {
        sc_m: find("sternoclavicular (SC)"),
        ac_m: find("acromioclavicular (AC)"),
        gh_m: find("glenohumeral (GH)"),
        acromial_angle_m: find("acromial angle"),
        spine_root_m: find("spine root of the scapula"),
        inferior_angle_m: find("inferior angle of the scapula"),
        half_hip_m: find("half hip distance").z.abs(),
        // The table counts from the right hip; the pelvis frame starts between the hips.
        lumbar_m: V3::new(lumbar.x, lumbar.y, 0.0),
        neck_m: find("C7-T1 (neck joint)"),
        heel_x_m: find("heel (rear end of the foot)").x,
    }
}
