//! Drawn bodies: published spreads, no spread, wider spread.

use anatomy::body::{BODY_DIMENSIONS, Body, BodyProblem, BodySampler, BodySpec, BodySpread, BodyTables, Sex, Tape};
use numerics::sample::Draws;

const DRAWS: u32 = 4096;

fn check(what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{what}: got {got}, expected {expected} ± {tolerance}");
}

fn bodies(spec: &BodySpec, spread: BodySpread) -> Vec<Body> {
    let sampler = BodySampler::new(spec, BodyTables::shipped(), spread).unwrap();
    let draws = Draws::new(7);
    let normals = |i| (0..BODY_DIMENSIONS).map(|d| draws.normal(i, d as u32)).collect::<Vec<_>>();
    (0..DRAWS).map(|i| sampler.draw(&normals(i)).unwrap()).collect()
}

fn mean_sd(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let n = f64::from(DRAWS);
    let mean = values.clone().sum::<f64>() / n;
    (mean, (values.map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt())
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let ((ma, sa), (mb, sb)) = (mean_sd(a.iter().copied()), mean_sd(b.iter().copied()));
    a.iter().zip(b).map(|(x, y)| (x - ma) * (y - mb)).sum::<f64>() / (f64::from(DRAWS) * sa * sb)
}

fn trunk_m(b: &Body) -> f64 {
    b.lumbar_m.y + b.notch_from_lumbar_m.y
}

/// ANSUR II men: residual SD of thigh 21.2 mm on 409 mm at 1.756 m, shank 14.0 on 419, trunk 27.2 on 540; thigh and
/// trunk correlate with −0.748 over all statures, −0.75 at one.
#[test]
fn drawn_lengths_spread_as_the_survey() {
    let all = bodies(&BodySpec::new(Sex::Male, 1.756_21, 80.0), BodySpread::published());
    for (what, f, sd_mm, of_mm) in [
        ("thigh", (|b: &Body| b.thigh_m) as fn(&Body) -> f64, 21.2, 409.3),
        ("shank", |b| b.shank_m, 14.0, 418.8),
        ("trunk", trunk_m, 27.2, 539.8),
        ("upper arm", |b| b.upper_arm_m, 10.6, 335.2),
        ("forearm", |b| b.forearm_m, 10.8, 267.9),
        ("foot", |b| b.toe_x_m - b.heel_x_m, 9.1, 271.2),
        ("shoulders", |b| b.gh_m.z, 16.2, 415.7),
    ] {
        let (mean, sd) = mean_sd(all.iter().map(f));
        println!("{what}: {:.1} ± {:.1} mm", 1e3 * mean, 1e3 * sd);
        check(what, sd / mean, sd_mm / of_mm, 0.03 * sd_mm / of_mm);
    }
    let (thighs, trunks): (Vec<_>, Vec<_>) = all.iter().map(|b| (b.thigh_m, trunk_m(b))).unzip();
    check("thigh with trunk", correlation(&thighs, &trunks), -0.748, 0.03);
    let mid = Body::new(&BodySpec::new(Sex::Male, 1.756_21, 80.0), BodyTables::shipped()).unwrap().body;
    check("middle", mean_sd(thighs.iter().copied()).0, mid.thigh_m, 0.0005);
    // Mass properties stay: every segment keeps its share.
    assert!(all.iter().all(|b| (b.total_mass_kg() - 80.0).abs() < 1e-9));
    assert!(all.iter().all(|b| b.inertia[9].mass_kg == mid.inertia[9].mass_kg));
}

#[test]
fn a_taped_length_is_uncertain_by_the_tape_only() {
    let tables = BodyTables::shipped();
    let thigh_m = tables.of(Sex::Male).lengths["thigh"].at_m(1.80) + 0.01;
    let spec = BodySpec::new(Sex::Male, 1.80, 80.0).with_tape(Tape::Thigh, thigh_m);
    let (taped, free) = (bodies(&spec, BodySpread::published()), BodySpec::new(Sex::Male, 1.80, 80.0));
    let free = bodies(&free, BodySpread::published());
    let (mean, sd) = mean_sd(taped.iter().map(|b| b.thigh_m));
    check("error of the tape: 8 mm", sd / mean, 0.008 / thigh_m, 0.03 * 0.008 / thigh_m);
    let spread = |bodies: &[Body]| mean_sd(bodies.iter().map(trunk_m)).1;
    println!("trunk SD {:.1} mm, with the thigh known {:.1} mm", 1e3 * spread(&free), 1e3 * spread(&taped));
    assert!(spread(&taped) < 0.8 * spread(&free), "a known thigh tells about the trunk");
}

#[test]
fn without_spread_every_draw_is_the_mid_body() {
    for spec in [
        BodySpec::new(Sex::Male, 1.82, 90.0).with_tape(Tape::Span, 1.93).with_tape(Tape::Shank, 0.45),
        BodySpec::new(Sex::Female, 1.63, 60.0).with_tape(Tape::Hand, 0.18),
    ] {
        let mid = format!("{:?}", Body::new(&spec, BodyTables::shipped()).unwrap().body);
        let all = bodies(&spec, BodySpread::none());
        assert!(all.iter().take(64).all(|b| format!("{b:?}") == mid));
        let sampler = BodySampler::new(&spec, BodyTables::shipped(), BodySpread::published()).unwrap();
        assert_eq!(format!("{:?}", sampler.draw(&[0.0; BODY_DIMENSIONS]).unwrap()), mid);
    }
}

#[test]
fn the_range_widens_with_each_spread() {
    let spec = BodySpec::new(Sex::Female, 1.65, 62.0);
    let thigh = |spread: BodySpread| mean_sd(bodies(&spec, spread).iter().map(|b| b.thigh_m)).1;
    let at = |k: f64| thigh(BodySpread::scaled(k));
    check("twice the spread", at(1.0) / at(0.5), 2.0, 0.05);
    let mut one = BodySpread::none();
    one.0[0] = 1.0;
    let person = thigh(one);
    one.0[9] = 1.0;
    let both = thigh(one);
    println!("thigh of a woman: people {:.1} mm, with both published ways {:.1} mm", 1e3 * person, 1e3 * both);
    assert!(both > 1.3 * person);
    // Each spread widens its own measure and nothing else's.
    let measures: [fn(&Body) -> f64; 9] = [
        |b| b.thigh_m,
        |b| b.shank_m,
        trunk_m,
        |b| b.upper_arm_m,
        |b| b.forearm_m,
        |b| b.grip_m,
        |b| b.toe_x_m,
        |b| b.gh_m.z,
        |b| b.half_hip_m,
    ];
    for i in 0..9 {
        let mut only = BodySpread::none();
        only.0[i] = 1.0;
        let all = bodies(&spec, only);
        for (j, f) in measures.iter().enumerate() {
            let sd = mean_sd(all.iter().map(f)).1;
            assert_eq!(i == j, sd > 1e-6, "spread {i}, measure {j}: {sd}");
        }
    }
}

#[test]
fn draws_that_cannot_be_used_are_refused() {
    let spec = BodySpec::new(Sex::Male, 1.75, 75.0);
    let sampler = BodySampler::new(&spec, BodyTables::shipped(), BodySpread::published()).unwrap();
    let few = sampler.draw(&[0.0; 4]).unwrap_err();
    assert_eq!(few, BodyProblem::Draw { got: 4, expected: BODY_DIMENSIONS });
    assert_eq!(few.to_string(), "a draw needs 10 finite numbers, got 4");
    assert!(sampler.draw(&[f64::NAN; BODY_DIMENSIONS]).is_err());
    // Far out in the tails a body still has all its parts.
    for z in [-40.0, 40.0] {
        let b = sampler.draw(&[z; BODY_DIMENSIONS]).unwrap();
        assert!(b.thigh_m > 0.2 && b.thigh_m < 0.7);
    }
    assert!(BodySampler::new(&BodySpec::new(Sex::Male, 3.0, 75.0), BodyTables::shipped(), BodySpread::none()).is_err());
}
