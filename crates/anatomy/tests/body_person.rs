//! Bodies of persons: published parameters, men and women, tape, percentiles, refusals.

use anatomy::body::{Body, BodyError, BodyProblem, BodySpec, BodyTables, Part, Sex, Tape, Training};
use anatomy::skeleton::{Posture, Segment, Side, figure};
use proptest::prelude::*;
use units::{GRAVITY_M_S2, V3};

fn check(what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{what}: got {got}, expected {expected} ± {tolerance}");
}

fn refused(spec: &BodySpec, expected: &str) {
    let text = Body::new(spec, BodyTables::shipped()).unwrap_err().to_string();
    assert_eq!(text, expected);
}

fn man(stature_m: f64, mass_kg: f64) -> BodySpec {
    BodySpec::new(Sex::Male, stature_m, mass_kg)
}

/// de Leva 1996, table 4: the table's own man (1.741 m, 73 kg) gets the table's own numbers.
#[test]
fn segments_of_the_tables_man() {
    let b = Body::from_fractions(Sex::Male, 1.741, 73.0);
    for (segment, mass, com, rg, length_m) in [
        (Segment::Femur(Side::Right), 0.1416, 0.4095, [0.329, 0.149, 0.329], 0.4222),
        (Segment::Tibia(Side::Left), 0.0433, 0.4395, [0.251, 0.102, 0.246], 0.4340),
        (Segment::Humerus(Side::Right), 0.0271, 0.5772, [0.285, 0.158, 0.269], 0.2817),
        (Segment::Forearm(Side::Left), 0.0162, 0.4574, [0.276, 0.121, 0.265], 0.2689),
        (Segment::Hand(Side::Right), 0.0061, 0.7900, [0.628, 0.401, 0.513], 0.0862),
    ] {
        let s = &b.inertia[segment.index()];
        check("mass", s.mass_kg, mass * 73.0, 1e-9);
        check("centre", s.com_m.y, -com * length_m, 1e-9);
        for axis in 0..3 {
            let expected = mass * 73.0 * (rg[axis] * length_m).powi(2);
            check("inertia", s.inertia_kg_m2[(axis, axis)], expected, 1e-9);
        }
    }
}

/// de Leva 1996: pelvis and thorax together are the table's whole trunk (notch to mid-hip), which is a row of its own.
#[test]
fn trunk_parts_together_are_the_whole_trunk() {
    // The table's parts and its whole were adjusted one by one; men's agree to 0.6 % of the length.
    for (sex, stature_m, tolerance) in [(Sex::Male, 1.741, 0.006), (Sex::Female, 1.735, 0.002)] {
        let b = Body::from_fractions(sex, stature_m, 70.0);
        let row = &BodyTables::shipped().of(sex).segments["trunk"];
        let length_m = row.length_fraction.unwrap() * stature_m;
        let f = figure(&b, &Posture::default());
        let notch = f.pose(Segment::Thorax).origin_m;
        check("trunk length", notch.y - f.pose(Segment::Pelvis).origin_m.y, length_m, 1e-9);
        let [pelvis, thorax] = [Segment::Pelvis, Segment::Thorax].map(|s| (b.inertia[s.index()], s));
        let mass_kg = pelvis.0.mass_kg + thorax.0.mass_kg;
        check("trunk mass", mass_kg, row.mass_fraction * 70.0, 1e-3 * mass_kg);
        let com = |(i, s): &(anatomy::body::SegmentInertia, Segment)| f.at(*s, &i.com_m);
        let centre = (com(&pelvis) * pelvis.0.mass_kg + com(&thorax) * thorax.0.mass_kg) / mass_kg;
        let down = (notch.y - centre.y) / length_m;
        println!("{sex:?}: trunk centre of mass at {down:.4} of the length, table {:.4}", row.com_from_first);
        check("trunk centre of mass", down, row.com_from_first, tolerance);
        // Upright inertia about the frontal axis through the centre; the parts lie a little apart from front to back.
        let about: f64 = [&pelvis, &thorax]
            .map(|p| {
                let d = com(p) - centre;
                p.0.inertia_kg_m2[(2, 2)] + p.0.mass_kg * (d.x * d.x + d.y * d.y)
            })
            .iter()
            .sum();
        let radius = (about / mass_kg).sqrt() / length_m;
        println!("{sex:?}: trunk radius of gyration {radius:.4}, table {:.4}", row.rg_mediolateral);
        check("trunk radius", radius, row.rg_mediolateral, 0.01 * row.rg_mediolateral);
    }
}

/// Worked with the segment table's male values: arm straight and horizontal, man of 80 kg and 1.78 m, g = 9.81: 11.82 N·m
/// at the shoulder, and 63.00 N·m from 10 kg held at 0.9 of the hand.
#[test]
fn moment_of_a_straight_arm() {
    let b = Body::from_fractions(Sex::Male, 1.78, 80.0);
    let hand_m = 0.0862 / 1.741 * 1.78;
    let starts = [(Segment::Humerus(Side::Right), 0.0), (Segment::Forearm(Side::Right), b.upper_arm_m)];
    let hand = (Segment::Hand(Side::Right), b.upper_arm_m + b.forearm_m);
    let moment: f64 = starts
        .iter()
        .chain([&hand])
        .map(|(s, start)| {
            let i = &b.inertia[s.index()];
            i.mass_kg * GRAVITY_M_S2 * (start - i.com_m.y)
        })
        .sum();
    check("arm", moment, 11.82, 0.005);
    check("dumb-bell", 10.0 * GRAVITY_M_S2 * (hand.1 + 0.9 * hand_m), 63.00, 0.05);
}

/// The average man is the man of the muscle tables; the tables' landmark man has his shoulder centres 0.87 biacromial
/// breadths apart.
#[test]
fn the_average_man_is_the_reference() {
    let b = Body::average_man();
    let n = Body::new(&man(1.75, 75.0), BodyTables::shipped()).unwrap().body;
    assert_eq!(format!("{b:?}"), format!("{n:?}"));
    let s = b.path_scale;
    for scale in [s.pelvis, s.femur, s.tibia, s.thorax, s.humerus, s.forearm] {
        check("path scale", scale, 1.0, 1e-12);
    }
    check("leg volume", b.volume_scale.leg, 1.0, 1e-12);
    check("shoulder span", 2.0 * b.gh_m.z / b.biacromial_m, 0.87, 0.005);
    check("standing height", b.standing_height_m(), 1.75, 0.01);
}

/// Handsfield et al. 2014: 47.05 × mass × height + 1289.6 cm³; worked: 75 kg, 1.78 m 7571 cm³; 62 kg, 1.65 m 6103 cm³.
#[test]
fn leg_volume_follows_mass_and_height() {
    let tables = BodyTables::shipped();
    let leg = |sex, h, m| Body::new(&BodySpec::new(sex, h, m), tables).unwrap().body.volume_scale;
    let reference_cm3 = 47.05 * 75.0 * 1.75 + 1289.6;
    check("man", leg(Sex::Male, 1.78, 75.0).leg * reference_cm3, 7571.0, 1.0);
    check("woman", leg(Sex::Female, 1.65, 62.0).leg * reference_cm3, 6103.0, 1.0);
    check("woman's arm", leg(Sex::Female, 1.65, 62.0).arm, 0.60, 1e-9);
    check("woman's trunk", leg(Sex::Female, 1.65, 62.0).trunk, 0.65, 1e-9);
    let (lean, heavy, heavier) = (leg(Sex::Male, 1.75, 91.0), leg(Sex::Male, 1.75, 130.0), leg(Sex::Male, 1.75, 140.0));
    assert!(lean.leg < heavy.leg && heavy.leg < heavier.leg);
    // 39 kg beyond the limit of 30 kg/m² (91.9 kg) must not count like muscle.
    assert!(heavy.leg / lean.leg < 1.2, "{}", heavy.leg / lean.leg);
    let old = BodySpec { age_years: Some(75.0), ..man(1.75, 75.0) };
    let old = Body::new(&old, tables).unwrap().body.volume_scale;
    check("old legs", old.leg, 0.80, 1e-9);
}

#[test]
fn training_counts_once() {
    let tables = BodyTables::shipped();
    let share = |training| Body::new(&BodySpec { training, ..man(1.75, 75.0) }, tables).unwrap().body;
    check("untrained", share(Training::Untrained).trained_share, 0.0, 0.0);
    check("half-way", share(Training::Trained { years: 1.5 }).trained_share, 0.5, 1e-12);
    check("long", share(Training::Trained { years: 12.0 }).trained_share, 1.0, 0.0);
    let long = share(Training::Trained { years: 12.0 });
    check("volume is that before training", long.volume_scale.leg, 1.0, 1e-12);
    check("shown volume", long.trained_volume_scale(tables).leg, 1.25, 1e-12);
}

/// de Leva's women (thigh 368.5 mm at 1.735 m) against ANSUR II women (407 mm between landmarks, converted by the men's
/// offset): the mean of both, with the difference as spread.
#[test]
fn womens_lengths_lie_between_both_sources() {
    let tables = BodyTables::shipped();
    let women = tables.of(Sex::Female);
    check("table", women.segments["thigh"].length_fraction.unwrap() * 1.735, 0.3685, 1e-4);
    check("survey", women.lengths["thigh"].at_m(1.735), 0.407, 5e-4);
    let r = Body::new(&BodySpec::new(Sex::Female, 1.735, 62.0), tables).unwrap();
    let thigh = r.lengths[Part::Thigh.index()];
    let men = tables.of(Sex::Male);
    let offset = men.segments["thigh"].length_fraction.unwrap() - men.lengths["thigh"].at_m(1.756_21) / 1.756_21;
    let converted = women.lengths["thigh"].at_m(1.735) + offset * 1.735;
    check("mean", thigh.mid_m, 0.5 * (0.3685 + converted), 1e-6);
    check("spread", thigh.method_sd_m, 0.5 * (converted - 0.3685), 1e-6);
    let m = Body::new(&man(1.735, 62.0), tables).unwrap();
    assert!(m.lengths.iter().all(|l| l.method_sd_m == 0.0));
    assert!(r.body.biacromial_m < m.body.biacromial_m && r.body.gh_m.z < m.body.gh_m.z);
    assert!(r.body.thigh_m < m.body.thigh_m);
}

/// A tape changes the joint-centre length in its ratio to the usual tape length, whatever the landmarks' offset.
#[test]
fn tape_scales_the_joint_centre_length() {
    let tables = BodyTables::shipped();
    let usual = &tables.of(Sex::Male).lengths;
    let mid = Body::new(&man(1.80, 82.0), tables).unwrap().body;
    let tape = |t: Tape, k: f64| {
        let spec = man(1.80, 82.0).with_tape(t, k * usual[t.landmark()].at_m(1.80));
        Body::new(&spec, tables).unwrap().body
    };
    check("thigh", tape(Tape::Thigh, 1.05).thigh_m, 1.05 * mid.thigh_m, 1e-12);
    check("shank", tape(Tape::Shank, 0.96).shank_m, 0.96 * mid.shank_m, 1e-12);
    check("upper arm", tape(Tape::UpperArm, 1.04).upper_arm_m, 1.04 * mid.upper_arm_m, 1e-12);
    check("path of the humerus", tape(Tape::UpperArm, 1.04).path_scale.humerus, 1.04 * mid.path_scale.humerus, 1e-12);
    check("shoulders", tape(Tape::Biacromial, 1.1).gh_m.z, 1.1 * mid.gh_m.z, 1e-12);
    check("grip", tape(Tape::Hand, 1.06).grip_m, 1.06 * mid.grip_m, 1e-12);
    let foot = tape(Tape::Foot, 1.06);
    check("foot", foot.toe_x_m - foot.heel_x_m, 1.06 * (mid.toe_x_m - mid.heel_x_m), 1e-12);
    // A usual tape changes nothing anywhere.
    let same = tape(Tape::Thigh, 1.0);
    check("trunk", same.notch_from_lumbar_m.y, mid.notch_from_lumbar_m.y, 1e-12);
}

/// Squat with horizontal thighs at 1.756 m, shank leaning 30°: with thighs 2 SD longer the trunk leans 38.5° instead of
/// 29.6° (worked with ANSUR II means; the bar stays over the same place of the foot). At one stature the trunk gives
/// what the thigh takes: told of the thigh alone, the body must find that by itself.
#[test]
fn long_thighs_lean_the_trunk_forward() {
    let tables = BodyTables::shipped();
    let l = |name: &str| &tables.of(Sex::Male).lengths[name];
    let (thigh, shank, trunk) = (l("thigh"), l("shank"), l("trunk"));
    let bar_x_m = 0.0672;
    let lean = |thigh_m: f64, trunk_m: f64, shank_deg: f64| {
        let knee_x = shank.length_m.mean * shank_deg.to_radians().sin();
        ((thigh_m - (knee_x - bar_x_m)) / trunk_m).asin().to_degrees()
    };
    let (mean, sd, t) = (thigh.length_m.mean, thigh.residual_sd_m, trunk.length_m.mean);
    for (shank_deg, expected) in [(20.0, 38.1), (30.0, 29.6), (40.0, 22.6)] {
        check("usual thighs", lean(mean, t, shank_deg), expected, 0.1);
    }
    check("published sum", lean(mean + 2.0 * sd, t - 2.0 * sd, 30.0), 38.5, 0.1);
    let stature_m = 1.756_21;
    let mid = Body::new(&man(stature_m, 80.0), tables).unwrap().lengths[Part::Trunk.index()].mid_m;
    let long = man(stature_m, 80.0).with_tape(Tape::Thigh, mean + 2.0 * sd);
    let ratio = Body::new(&long, tables).unwrap().lengths[Part::Trunk.index()].mid_m / mid;
    let own = lean(mean + 2.0 * sd, t * ratio, 30.0);
    println!("trunk lean with thighs +2 SD: {own:.1}°, trunk × {ratio:.3}");
    check("own estimate", own, 38.5, 1.5);
}

/// ANSUR II: 5th-percentile woman 1.525 m and 51.3 kg, 95th-percentile man 1.870 m and 110.69 kg.
#[test]
fn bodies_of_a_percentile() {
    let tables = BodyTables::shipped();
    let small = Body::percentile(Sex::Female, 5.0, tables).unwrap();
    check("stature", small.stature_m, 1.525, 1e-9);
    check("mass", small.mass_kg, 51.3, 1e-9);
    let large = Body::percentile(Sex::Male, 95.0, tables).unwrap();
    check("stature", large.stature_m, 1.870, 1e-9);
    check("mass", large.mass_kg, 110.69, 1e-9);
    for (name, s, l) in [("thigh", small.thigh_m, large.thigh_m), ("span", small.gh_m.z, large.gh_m.z)] {
        assert!(s < l, "{name}");
    }
    for percentile in [0.0, 100.0, f64::NAN, -3.0] {
        let e = Body::percentile(Sex::Male, percentile, tables).unwrap_err();
        assert!(matches!(e.problems[..], [BodyProblem::Percentile { .. }]), "{e}");
    }
}

/// Span of 1.08 statures is the 95th percentile of men (ANSUR II: 1.0807), thigh of 0.233 the middle.
#[test]
fn every_measure_gets_its_percentile() {
    let spec = man(1.80, 82.0)
        .with_tape(Tape::Span, 1.0807 * 1.80)
        .with_tape(Tape::Thigh, 0.2325 * 1.80)
        .with_tape(Tape::Shank, 0.238 * 1.80);
    let r = Body::new(&spec, BodyTables::shipped()).unwrap();
    let p = |what: &str| r.percentiles.iter().find(|p| p.what == what).unwrap_or_else(|| panic!("{what}")).percentile;
    check("span", p("span / stature"), 95.0, 0.01);
    check("thigh", p("thigh / stature"), 50.0, 0.01);
    check("shank", p("shank / stature"), 50.0, 0.01);
    assert!((40.0..60.0).contains(&p("thigh / shank")));
    assert_eq!(r.percentiles.len(), 3 + 3 + 1);
}

#[test]
fn impossible_bodies_are_refused_with_what_is_possible() {
    refused(
        &man(178.0, 75.0),
        "stature 178.00 m is not possible: 1.20 to 2.30 m can be handled; give it in metres (178 cm is 1.78)",
    );
    refused(
        &man(2.6, 12.0),
        "stature 2.60 m is not possible: 1.20 to 2.30 m can be handled; give it in metres (178 cm is 1.78)\n\
         body mass 12.0 kg is not possible: 30 to 250 kg can be handled; give it in kilograms",
    );
    refused(
        &man(2.2, 31.0),
        "31.0 kg at 2.20 m is not possible: at that stature 53 to 250 kg can be handled; check both",
    );
    refused(
        &man(1.75, 75.0).with_tape(Tape::Thigh, 0.60),
        "thigh_m 0.600 m is not possible at 1.75 m: 0.302 to 0.514 m can be handled, 0.408 m is usual; measure again \
         (trochanterion to lateral femoral epicondyle; difference of two standing heights) or leave it out",
    );
    refused(
        &man(1.75, 75.0).with_tape(Tape::Thigh, 0.50).with_tape(Tape::Shank, 0.47).with_tape(Tape::Trunk, 0.65),
        "thigh_m and shank_m add up to 0.970 m, which contradicts the stature of 1.75 m: 0.693 to 0.956 m can be \
         handled; measure again or leave one of them out\n\
         thigh_m, shank_m and trunk_m add up to 1.620 m, which contradicts the stature of 1.75 m: 1.278 to 1.447 m can \
         be handled; measure again or leave one of them out",
    );
    refused(
        &BodySpec { age_years: Some(140.0), training: Training::Trained { years: -1.0 }, ..man(1.75, 75.0) },
        "age 140 is outside 12 to 110 years; correct it or leave it out\n\
         -1 years of training is not possible: 0 to 110; correct it or leave it out",
    );
    let e = Tape::from_id("upperarm_m").unwrap_err();
    assert_eq!(e.to_string(), "no tape measure is called \"upperarm_m\"; nearest: upper_arm_m");
    assert!(Tape::ALL.into_iter().all(|t| Tape::from_id(t.id()) == Ok(t)));
    for not_a_number in [man(f64::NAN, 75.0), man(1.75, f64::NAN), man(1.75, 75.0).with_tape(Tape::Span, f64::NAN)] {
        let BodyError { problems } = Body::new(&not_a_number, BodyTables::shipped()).unwrap_err();
        assert_eq!(problems.len(), 1);
    }
}

#[test]
fn assumptions_are_said() {
    let r = Body::new(&BodySpec::new(Sex::Female, 1.62, 95.0), BodyTables::shipped()).unwrap();
    let notes = r.notes.join("\n");
    for part in ["US soldiers", "No tape measures", "Two published ways", "Body-mass index 36", "Training unknown"] {
        assert!(notes.contains(part), "{part} not in\n{notes}");
    }
}

fn sound(b: &Body) {
    let close = (b.total_mass_kg() - b.mass_kg).abs();
    assert!(close < 1e-9 * b.mass_kg, "masses add up to {} of {}", b.total_mass_kg(), b.mass_kg);
    for s in Segment::ALL {
        let i = &b.inertia[s.index()];
        if matches!(s, Segment::Clavicle(_) | Segment::Scapula(_)) {
            assert_eq!(i.mass_kg, 0.0);
            continue;
        }
        assert!(i.mass_kg > 0.0 && i.com_m.iter().all(|x| x.is_finite() && x.abs() < 1.0), "{s:?} {i:?}");
        let d = i.inertia_kg_m2.diagonal();
        // A rigid body's moments of inertia obey the triangle inequality.
        let triangle = |a: f64, b: f64, c: f64| a > 0.0 && a < b + c;
        assert!(triangle(d.x, d.y, d.z) && triangle(d.y, d.z, d.x) && triangle(d.z, d.x, d.y), "{s:?} {d:?}");
        assert!((i.inertia_kg_m2 - i.inertia_kg_m2.transpose()).amax() < 1e-12);
    }
    let p = b.path_scale;
    let v = b.volume_scale;
    let numbers = [p.pelvis, p.femur, p.tibia, p.thorax, p.humerus, p.forearm, v.leg, v.arm, v.trunk];
    let lengths = [b.thigh_m, b.shank_m, b.upper_arm_m, b.forearm_m, b.grip_m, b.head_m, b.half_hip_m, b.trunk_depth_m];
    assert!(numbers.iter().chain(&lengths).all(|x| x.is_finite() && *x > 0.0), "{b:?}");
    let points: [V3; 6] = [b.lumbar_m, b.notch_from_lumbar_m, b.neck_m, b.sc_m, b.ac_m, b.gh_m];
    assert!(points.iter().all(|q| q.iter().all(|x| x.is_finite())));
    assert!(b.heel_x_m < 0.0 && 0.0 < b.ball_x_m && b.ball_x_m < b.toe_x_m);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    /// Any body that is not refused is sound; those without extreme tapes are never refused.
    #[test]
    fn bodies_are_sound(
        female in any::<bool>(),
        stature_m in 1.20..2.30f64,
        bmi in 12.0..47.0f64,
        scores in prop::collection::vec(prop::option::of(-2.5..2.5f64), 10),
        age in prop::option::of(12.0..100.0f64),
    ) {
        let tables = BodyTables::shipped();
        let sex = if female { Sex::Female } else { Sex::Male };
        let mass_kg = (bmi * stature_m * stature_m).clamp(30.0, 250.0);
        let mut spec = BodySpec { age_years: age, ..BodySpec::new(sex, stature_m, mass_kg) };
        for (tape, score) in Tape::ALL.into_iter().zip(&scores) {
            if let Some(z) = score {
                let row = &tables.of(sex).lengths[tape.landmark()];
                spec = spec.with_tape(tape, row.at_m(stature_m) + z * row.residual_sd_m);
            }
        }
        match Body::new(&spec, tables) {
            Ok(r) => {
                sound(&r.body);
                prop_assert!(r.percentiles.iter().all(|p| (0.0..=100.0).contains(&p.percentile)));
            }
            // Thigh, shank and trunk all long: only their sum may be refused.
            Err(e) => prop_assert!(e.problems.iter().all(|p| matches!(p, BodyProblem::TapeSum { .. })), "{}", e),
        }
    }

    /// No number, however silly, makes the builder panic, and what it accepts is sound.
    #[test]
    fn silly_numbers_are_refused(
        stature in prop::num::f64::ANY, mass in prop::num::f64::ANY, tape in prop::num::f64::ANY, which in 0..10usize,
        sane in any::<bool>(),
    ) {
        let spec = if sane { man(1.75, 75.0) } else { man(stature, mass) }.with_tape(Tape::ALL[which], tape);
        match Body::new(&spec, BodyTables::shipped()) {
            Ok(r) => sound(&r.body),
            Err(e) => prop_assert!(!e.to_string().is_empty()),
        }
    }

    /// A damaged table is refused or read, never a panic.
    #[test]
    fn damaged_tables_never_panic(file in 0..2usize, at in 0.0..1.0f64, byte in 0u8..128) {
        let texts = [
            ("segments_de_leva.csv", include_str!("../../../data/body/segments_de_leva.csv")),
            ("ansur_joint.csv", include_str!("../../../data/body/ansur_joint.csv")),
        ];
        let (name, text) = texts[file];
        let mut bytes = text.as_bytes().to_vec();
        let place = (at * (bytes.len() - 1) as f64) as usize;
        bytes[place] = byte;
        let text = String::from_utf8_lossy(&bytes);
        let _ = BodyTables::parse(&[(name, &text)]);
    }
}
