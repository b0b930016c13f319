//! The tables of `data/body/` against the publications they come from, and against each other.

use anatomy::body::{Body, BodySpec, BodyTables, Distribution, Sex, Tape, inertia_about, normal_cumulative};
use anatomy::body::{SegmentInertia, centre_between};
use anatomy::heads::TableError;
use numerics::sample::normal_quantile;
use std::collections::BTreeMap;
use units::{M3, V3};

/// Half of the last printed digit of a value.
fn check(what: &str, got: f64, expected: f64, half_digit: f64) {
    assert!((got - expected).abs() <= half_digit * 1.000_001, "{what}: got {got}, expected {expected} ± {half_digit}");
}

const FILES: [(&str, &str); 11] = {
    macro_rules! file {
        ($folder:literal, $name:literal) => {
            (concat!("data/", $folder, "/", $name), include_str!(concat!("../../../data/", $folder, "/", $name)))
        };
    }
    [
        file!("body", "segments_de_leva.csv"),
        file!("body", "sample_de_leva.csv"),
        file!("body", "segments_dempster_winter.csv"),
        file!("body", "ansur_lengths.csv"),
        file!("body", "ansur_population.csv"),
        file!("body", "ansur_predict.csv"),
        file!("body", "ansur_joint.csv"),
        file!("body", "nhanes.csv"),
        file!("body", "tape_error.csv"),
        file!("body", "body_constants.csv"),
        file!("anatomy", "joint_centres.csv"),
    ]
};

#[test]
fn the_shipped_tables_have_no_problem() {
    if let Err(problems) = BodyTables::parse(&FILES) {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"));
    }
    let names: Vec<_> = FILES.iter().map(|f| f.0.rsplit('/').next().unwrap()).collect();
    assert_eq!(names, BodyTables::FILES);
}

/// de Leva 1996, J Biomech 29:1223–1230, table 4: masses of a body add up to 100 %.
#[test]
fn segment_masses_add_up() {
    let once = ["head", "upper-trunk", "middle-trunk", "lower-trunk"];
    let twice = ["upper-arm", "forearm", "hand", "thigh", "shank", "foot"];
    for sex in [Sex::Male, Sex::Female] {
        let s = &BodyTables::shipped().of(sex).segments;
        let sum = |names: &[&str]| names.iter().map(|n| s[*n].mass_fraction).sum::<f64>();
        check("whole body", sum(&once) + 2.0 * sum(&twice), 1.0, 1e-3);
        check("trunk", sum(&once[1..]), s["trunk"].mass_fraction, 2e-4);
        let length = |name: &str| s[name].length_fraction.unwrap();
        let parts: f64 = once[1..].iter().map(|n| length(n)).sum();
        check("trunk length", parts, length("trunk"), 1e-4);
    }
}

/// Rows of de Leva 1996, table 4, as printed (mass %, centre of mass %, radii about anteroposterior, mediolateral and
/// longitudinal axis %), and the adjusted lengths (mm).
#[test]
fn published_rows_of_the_segment_table() {
    for (sex, name, row) in [
        (Sex::Female, "thigh", [14.78, 36.12, 36.9, 36.4, 16.2, 368.5]),
        (Sex::Male, "thigh", [14.16, 40.95, 32.9, 32.9, 14.9, 422.2]),
        (Sex::Female, "shank", [4.81, 43.52, 26.7, 26.3, 9.2, 432.3]),
        (Sex::Male, "shank", [4.33, 43.95, 25.1, 24.6, 10.2, 434.0]),
        (Sex::Female, "upper-arm", [2.55, 57.54, 27.8, 26.0, 14.8, 275.1]),
        (Sex::Male, "upper-arm", [2.71, 57.72, 28.5, 26.9, 15.8, 281.7]),
        (Sex::Female, "forearm", [1.38, 45.59, 26.1, 25.7, 9.4, 264.3]),
        (Sex::Male, "forearm", [1.62, 45.74, 27.6, 26.5, 12.1, 268.9]),
        (Sex::Male, "hand", [0.61, 79.00, 62.8, 51.3, 40.1, 86.2]),
        (Sex::Male, "foot", [1.37, 44.15, 25.7, 24.5, 12.4, 258.1]),
        (Sex::Male, "trunk", [43.46, 44.86, 37.2, 34.7, 19.1, 531.9]),
    ] {
        let stature_mm = if sex == Sex::Male { 1741.0 } else { 1735.0 };
        let s = &BodyTables::shipped().of(sex).segments[name];
        let got = [s.mass_fraction, s.com_from_first, s.rg_anteroposterior, s.rg_mediolateral, s.rg_longitudinal];
        for (got, expected) in got.iter().zip(row) {
            check(name, 100.0 * got, expected, 1e-9);
        }
        check(name, s.length_fraction.unwrap() * stature_mm, row[5], 1e-9);
    }
}

/// ANSUR II (Gordon et al. 2014), public data of 4,082 men and 1,986 women.
#[test]
fn mean_proportions_of_the_survey() {
    for (sex, stature, thigh, shank) in [(Sex::Male, 1.756_21, 0.233, 0.2384), (Sex::Female, 1.628_47, 0.2329, 0.2475)]
    {
        let t = BodyTables::shipped().of(sex);
        check("stature", t.population["stature"].mean, stature, 1e-9);
        check("thigh / stature", t.lengths["thigh"].ratio.mean, thigh, 1e-9);
        check("shank / stature", t.lengths["shank"].ratio.mean, shank, 1e-9);
        for (name, length) in &t.lengths {
            // A least-squares line passes through the means; printed to a tenth of a millimetre.
            let slack = 0.000_05 * stature + 0.000_15;
            check(name, length.at_m(stature), length.length_m.mean, slack);
        }
    }
}

/// Percentiles printed with the survey, and the rule between them.
#[test]
fn percentiles_meet_the_survey_and_rise() {
    for sex in [Sex::Male, Sex::Female] {
        let t = BodyTables::shipped().of(sex);
        let lengths = t.lengths.values().flat_map(|l| [l.length_m, l.ratio]);
        for d in lengths.chain(t.population.values().copied()) {
            for (value, percentile) in [(d.p5, 5.0), (d.p50, 50.0), (d.p95, 95.0)] {
                check("percentile", d.percentile(value), percentile, 1e-4);
                check("quantile", d.quantile(percentile), value, 1e-9 * value.abs());
            }
            let quantiles: Vec<f64> = (1..1000).map(|i| d.quantile(0.1 * f64::from(i))).collect();
            assert!(quantiles.windows(2).all(|w| w[0] < w[1]));
            check("there and back", d.percentile(quantiles[122]), 12.3, 1e-4);
        }
    }
    let d = Distribution { mean: 0.0, sd: 1.0, p5: -1.0, p50: 0.0, p95: 3.0 };
    assert!(d.quantile(99.0) > -d.quantile(1.0), "skew is kept");
}

/// Standard normal table values, and Wichura's AS 241 in the crate of numerics.
#[test]
fn normal_distribution_function() {
    for (z, p) in [(0.0, 0.5), (1.0, 0.841_344_746), (1.959_963_985, 0.975), (-2.575_829_304, 0.005)] {
        check("table", normal_cumulative(z), p, 1e-7);
    }
    for i in 1..200 {
        let p = f64::from(i) / 200.0;
        check("inverse", normal_cumulative(normal_quantile(p)), p, 1e-7);
    }
}

/// Winter, Biomechanics and Motor Control of Human Movement, ch. 4: leg of an 80-kg man, 0.435 m long.
#[test]
fn winter_example_inertia_of_a_leg() {
    let row = BodyTables::shipped().winter("leg").unwrap();
    let (length_m, mass_kg) = (0.435, 80.0 * row.mass_fraction);
    let com_m = V3::new(0.0, -row.com_from_proximal * length_m, 0.0);
    let about_com = mass_kg * (row.rg_com.unwrap() * length_m).powi(2);
    let leg = SegmentInertia { mass_kg, com_m, inertia_kg_m2: M3::from_diagonal_element(about_com) };
    check("mass", mass_kg, 3.72, 0.005);
    check("about the centre of mass", about_com, 0.064, 0.0005);
    check("about the knee", inertia_about(&leg, &com_m)[(2, 2)], 0.196, 0.0005);
    let to_ankle = com_m - V3::new(0.0, -length_m, 0.0);
    check("about the ankle", inertia_about(&leg, &to_ankle)[(2, 2)], 0.291, 0.001);
    check("table: knee", mass_kg * (row.rg_proximal.unwrap() * length_m).powi(2), 0.196, 0.0005);
    check("table: ankle", mass_kg * (row.rg_distal.unwrap() * length_m).powi(2), 0.291, 0.0005);
}

/// Winter, ch. 4: centres of mass of foot and thigh from markers, cm.
#[test]
fn winter_example_centres_of_foot_and_thigh() {
    let fraction = |name: &str| BodyTables::shipped().winter(name).unwrap().com_from_proximal;
    let point = |x: f64, y: f64| V3::new(x, y, 0.0);
    let foot = centre_between(&point(84.9, 11.0), &point(101.1, 1.3), fraction("foot"));
    check("foot x", foot.x, 93.0, 0.051);
    check("foot y", foot.y, 6.15, 0.0051);
    let thigh = centre_between(&point(72.1, 92.8), &point(86.4, 54.9), fraction("thigh"));
    check("thigh x", thigh.x, 78.3, 0.05);
    check("thigh y", thigh.y, 76.4, 0.05);
}

/// The joint distribution against the survey's own two-measure regressions: sitting height moves thigh, shank and
/// trunk, span moves the arm, as `ansur_predict.csv` says. What the tape cannot tell (its error) shrinks the move.
#[test]
fn further_measures_act_as_the_published_regressions() {
    let tables = BodyTables::shipped();
    let errors = BTreeMap::from([(Tape::SittingHeight, 0.006), (Tape::Span, 0.010)]);
    for (sex, stature_m) in [(Sex::Male, 1.756), (Sex::Female, 1.628)] {
        let t = tables.of(sex);
        for (tape, target, length, part) in [
            (Tape::SittingHeight, "thigh", "thigh", 0),
            (Tape::SittingHeight, "shank", "shank", 1),
            (Tape::SittingHeight, "trunk-acromion-trochanter", "trunk", 2),
            (Tape::Span, "upper-arm", "upper-arm", 3),
            (Tape::Span, "forearm", "forearm", 4),
        ] {
            let (row, measure) = (&t.lengths[length], &t.lengths[tape.landmark()]);
            let off_m = 2.0 * measure.residual_sd_m;
            let spec = BodySpec::new(sex, stature_m, 75.0);
            let taped = spec.clone().with_tape(tape, measure.at_m(stature_m) + off_m);
            let mid = |s: &BodySpec| Body::new(s, tables).unwrap().lengths[part];
            let moved_m = (mid(&taped).mid_m / mid(&spec).mid_m - 1.0) * row.at_m(stature_m);
            let line = t.predictions.iter().find(|p| p.target == target && p.further.len() == 1);
            let line = line.filter(|p| p.further[0].0 == tape.landmark()).unwrap();
            let trust = 1.0 / (1.0 + (errors[&tape] / measure.residual_sd_m).powi(2));
            let expected_m = line.further[0].1 * off_m * trust;
            println!("{sex:?} {target}: moved {:.1} mm, regression {:.1} mm", 1e3 * moved_m, 1e3 * expected_m);
            check(target, moved_m, expected_m, 0.03 * expected_m.abs());
            let remains_m = mid(&taped).person_sd_m / mid(&taped).mid_m * row.at_m(stature_m);
            check("what remains", remains_m, line.residual_sd_m, 0.08 * line.residual_sd_m);
        }
    }
}

/// Drillis & Contini 1966 (after Winter), another population: fractions agree within a few per cent where the
/// landmarks agree.
#[test]
fn joint_centre_lengths_lie_near_the_older_fractions() {
    let text = include_str!("../../../data/body/lengths_drillis_contini.csv");
    let old = |part: &str| -> f64 {
        let row = text.lines().find(|l| l.starts_with(&format!("{part},"))).unwrap();
        row.split(',').nth(1).unwrap().parse().unwrap()
    };
    let man = Body::average_man();
    for (part, length_m, share) in
        [("thigh", man.thigh_m, 0.02), ("shank", man.shank_m, 0.02), ("foot-length", man.toe_x_m - man.heel_x_m, 0.02)]
    {
        check(part, length_m / man.stature_m, old(part), share * old(part));
    }
}

/// Every problem of every file is reported, with its line.
#[test]
fn all_problems_are_reported_at_once() {
    let mut files = FILES;
    let segments = FILES[0].1.replacen("0.1416", "1.416", 1).replacen("female,shank", "femal,shank", 1);
    let constants = FILES[9].1.replacen("trunk_depth_mm", "trunk_dept_mm", 1);
    files[0].1 = &segments;
    files[9].1 = &constants;
    files[7].1 = "sex,what,mean,source,how\nmale,mass_kg,heavy,x,y\n";
    let problems = BodyTables::parse(&files).unwrap_err();
    let text: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let thigh_line = 1 + FILES[0].1.lines().position(|l| l.starts_with("male,thigh,")).unwrap();
    assert!(
        text.contains(&format!(
            "data/body/segments_de_leva.csv, line {thigh_line}, mass_fraction: 1.416 is outside 0 to 1"
        )),
        "{text:#?}"
    );
    assert!(text.iter().any(|t| t.contains("\"femal\" is not a sex") && t.contains("nearest: female")), "{text:#?}");
    assert!(text.iter().any(|t| t.contains("nearest: trunk_depth_mm")), "{text:#?}");
    assert!(text.contains(&"data/body/nhanes.csv, line 2, mean: \"heavy\" is not a number".to_string()), "{text:#?}");
    assert!(problems.iter().any(|p| p.error == TableError::Missing { what: "row", name: "female stature_m".into() }));
    let gone = BodyTables::parse(&FILES[1..]).unwrap_err();
    assert!(gone.iter().any(|p| p.error == TableError::MissingFile && p.file == "segments_de_leva.csv"));
}
